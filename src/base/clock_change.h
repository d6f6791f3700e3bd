/* SPDX-License-Identifier: GPL-3.0-or-later
 * Nights on which the clock on the wall is put forward or back: how long it really was between two of its
 * readings.
 *
 * The rest of the program knows no such nights (base/date.h); they matter where times were written down from
 * a clock. */
#ifndef EFI_CLOCK_CHANGE_H
#define EFI_CLOCK_CHANGE_H

#include "base/date.h"

/*
 * rule, word, words. In the European Union the last Sundays of March and October (Directive 2000/84/EC), at
 * 01:00 UTC: 02:00 of the clock by Central European time, which is what is taken here. In the United States
 * the second Sunday of March and the first of November at 02:00 of the clock (Energy Policy Act of 2005,
 * section 110; 15 U.S.C. 260a), in force since 2007.
 */
#define EFI_CLOCK_RULE_LIST(X)                                                                               \
    X(EFI_CHANGE_NONE, "none", "the clock is never changed")                                                 \
    X(EFI_CHANGE_EU, "eu", "European Union, Central European time")                                          \
    X(EFI_CHANGE_US, "us", "United States")

typedef enum efi_clock_rule {
#define EFI_CLOCK_RULE_ENUM(name, word, words) name,
    EFI_CLOCK_RULE_LIST(EFI_CLOCK_RULE_ENUM)
#undef EFI_CLOCK_RULE_ENUM
} efi_clock_rule;

/* The moment of the clock from which an hour is missing in this year, and the moment from which an hour comes
 * twice. The rule is not "none". */
int64_t efi_clock_missing_hour(efi_clock_rule rule, int64_t year);
int64_t efi_clock_double_hour(efi_clock_rule rule, int64_t year);

/* Does the clock never show this moment, or show it twice? */
bool efi_clock_is_missing(efi_clock_rule rule, int64_t moment_s);
bool efi_clock_is_double(efi_clock_rule rule, int64_t moment_s);

/*
 * Seconds from one reading of the clock to a later one. Negative when `to_s` lies before, also counted with a
 * double hour in between. Where a reading may be meant twice the shorter time is taken and `*unsure` is set
 * (NULL allowed); else that is left alone. The readings lie within 200 years of each other.
 */
int64_t efi_clock_elapsed(efi_clock_rule rule, int64_t from_s, int64_t to_s, bool *unsure);

#endif
