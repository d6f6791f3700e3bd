/* SPDX-License-Identifier: GPL-3.0-or-later
 * What is wrong with a text that is no date or time: for the readers of date.h alone. */
#ifndef EFI_DATE_EXPLAIN_H
#define EFI_DATE_EXPLAIN_H

#include "base/date.h"

/* Each fills all of `*error` (not NULL) for a text that its reader has refused. */
void efi_date_explain(const char *text, size_t length, efi_date_error *error);
void efi_clock_explain(const char *text, size_t length, efi_date_error *error);
void efi_moment_explain(const char *text, size_t length, efi_date_error *error);

/* Sets fault and culprit, without likely text. */
void efi_date_refuse(efi_date_error *error, efi_date_fault fault, size_t start, size_t end);

/* The number that `count` (1 to 9) digits make, or -1 when one of them is none. */
int efi_date_digits(const char *text, size_t count);

#endif
