/* SPDX-License-Identifier: GPL-3.0-or-later
 * Nights on which the clock is changed, against the C library with the rules as POSIX zone texts. */
#include "base/clock_change.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

static int64_t moment(const char *text)
{
    int64_t moment_s;
    assert_true(efi_moment_parse(text, strlen(text), &moment_s, NULL));
    return moment_s;
}

/* Seconds since 1970 in UTC of a reading of the clock; `summer` tells which of two is meant. */
static int64_t utc_of(int64_t moment_s, int summer)
{
    const efi_civil day = efi_civil_of(efi_moment_day(moment_s));
    const int clock_s = efi_moment_clock(moment_s);
    struct tm tm = {.tm_year = (int)day.year - 1900,
                    .tm_mon = day.month - 1,
                    .tm_mday = day.day,
                    .tm_hour = clock_s / 3600,
                    .tm_min = clock_s / 60 % 60,
                    .tm_sec = clock_s % 60,
                    .tm_isdst = summer};
    return (int64_t)mktime(&tm);
}

static void compare_with_library(efi_clock_rule rule, const char *zone)
{
    assert_int_equal(setenv("TZ", zone, 1), 0);
    tzset();
    const int64_t first = moment("2025-01-01T00:07");
    int compared = 0;
    for (int64_t from_s = first; from_s < first + 730 * (int64_t)EFI_DAY_S;
         from_s += 5 * EFI_HOUR_S + 11 * 60) {
        for (int64_t length_s = 7 * 60; length_s < 40 * EFI_DAY_S; length_s = length_s * 7 / 2) {
            const int64_t to_s = from_s + length_s;
            if (efi_clock_is_missing(rule, from_s) || efi_clock_is_missing(rule, to_s) ||
                efi_clock_is_double(rule, from_s) || efi_clock_is_double(rule, to_s))
                continue;
            bool unsure = false;
            assert_int_equal(efi_clock_elapsed(rule, from_s, to_s, &unsure),
                             utc_of(to_s, -1) - utc_of(from_s, -1));
            assert_false(unsure);
            compared++;
        }
    }
    assert_true(compared > 10000);
    assert_int_equal(unsetenv("TZ"), 0);
    tzset();
}

static void elapsed_time_is_that_of_the_c_library_in_central_europe(void **state)
{
    (void)state;
    compare_with_library(EFI_CHANGE_EU, "CET-1CEST,M3.5.0,M10.5.0/3");
}

static void elapsed_time_is_that_of_the_c_library_in_the_united_states(void **state)
{
    (void)state;
    compare_with_library(EFI_CHANGE_US, "EST5EDT,M3.2.0,M11.1.0");
}

/* Dates of 2026 from public calendars: 29 March and 25 October, 8 March and 1 November. */
static void the_hours_of_2026_are_where_calendars_have_them(void **state)
{
    (void)state;
    assert_int_equal(efi_clock_missing_hour(EFI_CHANGE_EU, 2026), moment("2026-03-29T02:00"));
    assert_int_equal(efi_clock_double_hour(EFI_CHANGE_EU, 2026), moment("2026-10-25T02:00"));
    assert_int_equal(efi_clock_missing_hour(EFI_CHANGE_US, 2026), moment("2026-03-08T02:00"));
    assert_int_equal(efi_clock_double_hour(EFI_CHANGE_US, 2026), moment("2026-11-01T01:00"));
    assert_true(efi_clock_is_missing(EFI_CHANGE_EU, moment("2026-03-29T02:59")));
    assert_false(efi_clock_is_missing(EFI_CHANGE_EU, moment("2026-03-29T03:00")));
    assert_true(efi_clock_is_double(EFI_CHANGE_US, moment("2026-11-01T01:00")));
    assert_false(efi_clock_is_double(EFI_CHANGE_US, moment("2026-11-01T02:00")));
}

static void what_ends_before_it_begins_in_the_double_hour_went_through_it_twice(void **state)
{
    (void)state;
    bool unsure = false;
    assert_int_equal(
        efi_clock_elapsed(EFI_CHANGE_EU, moment("2026-10-25T02:50"), moment("2026-10-25T02:10"), &unsure),
        20 * 60);
    assert_false(unsure);
    assert_int_equal(
        efi_clock_elapsed(EFI_CHANGE_EU, moment("2026-10-25T02:10"), moment("2026-10-25T02:50"), &unsure),
        40 * 60);
    assert_int_equal(
        efi_clock_elapsed(EFI_CHANGE_EU, moment("2026-10-25T01:50"), moment("2026-10-25T02:10"), &unsure),
        20 * 60);
    assert_true(unsure);
}

static void without_a_rule_the_clock_is_taken_as_it_is(void **state)
{
    (void)state;
    assert_int_equal(
        efi_clock_elapsed(EFI_CHANGE_NONE, moment("2026-10-24T12:00"), moment("2026-10-25T12:00"), NULL),
        EFI_DAY_S);
    assert_false(efi_clock_is_double(EFI_CHANGE_NONE, moment("2026-10-25T02:10")));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(elapsed_time_is_that_of_the_c_library_in_central_europe),
        cmocka_unit_test(elapsed_time_is_that_of_the_c_library_in_the_united_states),
        cmocka_unit_test(the_hours_of_2026_are_where_calendars_have_them),
        cmocka_unit_test(what_ends_before_it_begins_in_the_double_hour_went_through_it_twice),
        cmocka_unit_test(without_a_rule_the_clock_is_taken_as_it_is),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
