/* SPDX-License-Identifier: GPL-3.0-or-later
 * The "C" locale for the time of a public call, so that no library below us reads or writes a decimal comma.
 */
#ifndef EFI_LOCALE_H
#define EFI_LOCALE_H

#include "base/base.h"

#include <locale.h>

/* What efi_locale_leave needs to put things back; a plain value on the caller's stack. */
typedef struct efi_locale {
    locale_t own;    /* the "C" locale in force since efi_locale_enter, or 0 */
    locale_t before; /* the thread's locale until then */
} efi_locale;

/*
 * Puts the calling thread, and no other, under the "C" locale. Calls may be nested; each success needs its
 * efi_locale_leave on the same thread. Returns EF_OK, or EF_MEMORY with nothing changed (leaving is then
 * allowed and does nothing).
 */
ef_status efi_locale_enter(efi_locale *locale);

/* Gives the thread the locale it had before the matching efi_locale_enter. */
void efi_locale_leave(efi_locale *locale);

#endif
