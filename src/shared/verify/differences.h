/* SPDX-License-Identifier: GPL-3.0-or-later
 * What a verifier found to differ between an answer and the scenario: one line each, in words. */
#ifndef EFI_DIFFERENCES_H
#define EFI_DIFFERENCES_H

#include "base/text.h"

#include <evenfeed/diag.h>

/* Numbers that differ by more than this relative to the larger are told. */
#define EFI_DIFFERENCE_SHARE 1e-6

/* The list so far, and what is being looked at. Zero-initialise it; ended with efi_differences_end. */
typedef struct efi_differences {
    efi_text text;
    const char *crop;    /* NULL: the answer as a whole */
    const char *subject; /* a station, say; NULL: the crop as a whole */
    long count;          /* all of them; the text stops after EFI_MOST_DIFFERENCES */
} efi_differences;

enum {
    EFI_MOST_DIFFERENCES = 200
};

/* Adds a line: crop and subject, then these words. */
void efi_differ(efi_differences *list, const char *format, ...) EF_PRINTF(2, 3);

/* Adds a line unless the claimed number is the expected one: within EFI_DIFFERENCE_SHARE, or within `floor`
 * (in the unit of the number, >= 0), below which a difference is rounding. What is not finite always differs.
 * `unit` may be
 * "". */
void efi_differ_number(efi_differences *list, const char *what, const char *unit, double claimed,
                       double expected, double floor);

/* The same comparison without a line. */
bool efi_differ_same(double claimed, double expected, double floor);

void efi_differ_flag(efi_differences *list, const char *what, bool claimed, bool expected);
void efi_differ_count(efi_differences *list, const char *what, int claimed, int expected);
void efi_differ_words(efi_differences *list, const char *what, const char *claimed, const char *expected);
void efi_differ_place(efi_differences *list, const char *what, ef_place claimed, ef_place expected);

/* Ends a check that went as `status` says, and frees the list. EF_INTERNAL with the lines in `*text`, to be
 * freed with ef_report_free, where it found any; else `status` and NULL there; EF_MEMORY. */
ef_status efi_differences_end(efi_differences *list, ef_status status, char **text);

#endif
