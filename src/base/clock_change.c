/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/clock_change.h"

#include <stddef.h>

/* Both rules change the clock at this second of the day. */
#define CHANGE_AT_S (2 * EFI_HOUR_S)

/* The n-th Sunday (from 1) on or after the day. */
static int64_t sunday_from(int64_t day, int n)
{
    const int64_t first = day + (EFI_SUNDAY - (int)efi_day_weekday(day));
    return first + (int64_t)EFI_WEEK_DAYS * (n - 1);
}

static int64_t moment_of(int64_t year, int month, int day, int n)
{
    return sunday_from(efi_day_of((efi_civil){year, month, day}), n) * EFI_DAY_S + CHANGE_AT_S;
}

int64_t efi_clock_missing_hour(efi_clock_rule rule, int64_t year)
{
    assert(rule != EFI_CHANGE_NONE);
    /* the last Sunday of a month of 31 days is the first on or after the 25th */
    return rule == EFI_CHANGE_EU ? moment_of(year, 3, 25, 1) : moment_of(year, 3, 1, 2);
}

int64_t efi_clock_double_hour(efi_clock_rule rule, int64_t year)
{
    assert(rule != EFI_CHANGE_NONE);
    /* put back by an hour at that moment, in Europe at what is then 03:00: the hour before comes twice */
    return rule == EFI_CHANGE_EU ? moment_of(year, 10, 25, 1) : moment_of(year, 11, 1, 1) - EFI_HOUR_S;
}

static int64_t year_of(int64_t moment_s)
{
    return efi_civil_of(efi_moment_day(moment_s)).year;
}

static bool is_in_hour(int64_t moment_s, int64_t hour_s)
{
    return moment_s >= hour_s && moment_s < hour_s + EFI_HOUR_S;
}

bool efi_clock_is_missing(efi_clock_rule rule, int64_t moment_s)
{
    return rule != EFI_CHANGE_NONE && is_in_hour(moment_s, efi_clock_missing_hour(rule, year_of(moment_s)));
}

bool efi_clock_is_double(efi_clock_rule rule, int64_t moment_s)
{
    return rule != EFI_CHANGE_NONE && is_in_hour(moment_s, efi_clock_double_hour(rule, year_of(moment_s)));
}

int64_t efi_clock_elapsed(efi_clock_rule rule, int64_t from_s, int64_t to_s, bool *unsure)
{
    int64_t elapsed = to_s - from_s;
    if (rule == EFI_CHANGE_NONE)
        return elapsed;
    for (int64_t year = year_of(from_s); year <= year_of(to_s); year++) {
        const int64_t missing = efi_clock_missing_hour(rule, year) + EFI_HOUR_S;
        const int64_t twice = efi_clock_double_hour(rule, year);
        if (from_s < missing && to_s >= missing)
            elapsed -= EFI_HOUR_S;
        if (from_s < twice && to_s >= twice + EFI_HOUR_S)
            elapsed += EFI_HOUR_S;
        const bool from_in = is_in_hour(from_s, twice);
        const bool to_in = is_in_hour(to_s, twice);
        if (from_in && to_in && to_s < from_s)
            elapsed += EFI_HOUR_S;
        if (unsure && from_in != to_in)
            *unsure = true;
    }
    return elapsed;
}
