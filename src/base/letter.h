/* SPDX-License-Identifier: GPL-3.0-or-later
 * Letters and digits of ASCII, whatever the locale says. */
#ifndef EFI_LETTER_H
#define EFI_LETTER_H

#include <stdbool.h>

static inline bool efi_is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static inline bool efi_is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

static inline char efi_lower(char c)
{
    return (char)(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
}

#endif
