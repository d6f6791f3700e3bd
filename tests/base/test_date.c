/* SPDX-License-Identifier: GPL-3.0-or-later
 * Outside references: the C library's gmtime_r and strftime (%u, %G, %V; POSIX) for dates, weekdays and ISO
 * weeks; published week dates: ISO 8601 puts 4 January and the year's first Thursday into week 1, so
 * 2005-01-01 is 2004-W53-6, 2007-01-01 is 2007-W01-1, 2008-12-31 is 2009-W01-3, 2010-01-03 is 2009-W53-7 (the
 * usual examples of the standard's week dates; from memory, and confirmed by strftime below). */
#include "base/date.h"
#include "base/random.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

static void assert_as_gmtime(int64_t day)
{
    const time_t moment = (time_t)(day * EFI_DAY_S);
    struct tm tm;
    char iso[40];
    char ours[60];
    assert_non_null(gmtime_r(&moment, &tm));
    const efi_civil civil = efi_civil_of(day);
    const efi_iso_week week = efi_day_week(day);
    assert_int_equal(civil.year, (int64_t)tm.tm_year + 1900);
    assert_int_equal(civil.month, tm.tm_mon + 1);
    assert_int_equal(civil.day, tm.tm_mday);
    assert_true(efi_civil_exists(civil));
    assert_int_equal(efi_day_of(civil), day);
    assert_int_equal((efi_day_weekday(day) + 1) % 7, tm.tm_wday);
    assert_true(strftime(iso, sizeof iso, "%V %u", &tm) > 0);
    (void)snprintf(ours, sizeof ours, "%02d %d", week.week, (int)efi_day_weekday(day) + 1);
    assert_string_equal(ours, iso);
    assert_true(strftime(iso, sizeof iso, "%G", &tm) > 0);
    assert_int_equal(week.year, strtoll(iso, NULL, 10));
}

static void every_day_of_1_to_4000_is_that_of_gmtime(void **state)
{
    (void)state;
    const int64_t first = efi_day_of((efi_civil){1, 1, 1});
    const int64_t last = efi_day_of((efi_civil){4000, 12, 31});
    assert_int_equal(last - first + 1, 10 * 146097);
    for (int64_t day = first; day <= last; day++)
        assert_as_gmtime(day);
}

static void days_far_away_are_those_of_gmtime(void **state)
{
    (void)state;
    efi_random random = efi_random_stream(20261125, 0, 0);
    for (int i = 0; i < 200000; i++)
        assert_as_gmtime((int64_t)(efi_random_bits(&random) % 400000000000u) - 200000000000);
}

static void published_week_dates_hold(void **state)
{
    (void)state;
    static const struct {
        efi_civil civil;
        int year, week, weekday;
    } dates[] = {{{2005, 1, 1}, 2004, 53, 6},   {{2005, 1, 2}, 2004, 53, 7},   {{2005, 12, 31}, 2005, 52, 6},
                 {{2007, 1, 1}, 2007, 1, 1},    {{2007, 12, 30}, 2007, 52, 7}, {{2008, 12, 31}, 2009, 1, 3},
                 {{2009, 12, 31}, 2009, 53, 4}, {{2010, 1, 3}, 2009, 53, 7},   {{2026, 12, 31}, 2026, 53, 4}};
    for (size_t i = 0; i < EF_COUNT(dates); i++) {
        const int64_t day = efi_day_of(dates[i].civil);
        assert_int_equal(efi_day_week(day).year, dates[i].year);
        assert_int_equal(efi_day_week(day).week, dates[i].week);
        assert_int_equal(efi_day_weekday(day) + 1, dates[i].weekday);
    }
}

static void century_years_are_leap_years_each_fourth_time(void **state)
{
    (void)state;
    assert_true(efi_civil_exists((efi_civil){2000, 2, 29}));
    assert_false(efi_civil_exists((efi_civil){1900, 2, 29}));
    assert_true(efi_civil_exists((efi_civil){2028, 2, 29}));
    assert_false(efi_civil_exists((efi_civil){2026, 2, 29}));
    assert_false(efi_civil_exists((efi_civil){2026, 0, 1}));
    assert_false(efi_civil_exists((efi_civil){2026, 13, 1}));
    assert_false(efi_civil_exists((efi_civil){2026, 1, 0}));
}

static void what_is_written_reads_back(void **state)
{
    (void)state;
    const int64_t first = efi_day_of((efi_civil){1, 1, 1});
    const int64_t last = efi_day_of((efi_civil){9999, 12, 31});
    for (int64_t day = first; day <= last; day += 97) {
        efi_text text = {0};
        int64_t back = 0;
        efi_date_add(&text, day);
        assert_true(efi_date_parse(text.bytes, text.length, &back, NULL));
        assert_int_equal(back, day);
        efi_text_free(&text);
        efi_moment_add(&text, day * EFI_DAY_S + day % 40000 + 43000);
        assert_true(efi_moment_parse(text.bytes, text.length, &back, NULL));
        assert_int_equal(back, day * EFI_DAY_S + day % 40000 + 43000);
        efi_text_free(&text);
    }
    for (int clock = 0; clock <= EFI_DAY_S; clock++) {
        efi_text text = {0};
        int back = -1;
        efi_clock_add(&text, clock);
        assert_true(efi_clock_parse(text.bytes, text.length, &back, NULL));
        assert_int_equal(back, clock);
        efi_text_free(&text);
    }
    for (efi_weekdays days = 1; days <= EFI_WEEKDAYS_ALL; days++) {
        efi_text text = {0};
        efi_weekdays back = 0;
        efi_weekdays_add(&text, days);
        assert_true(efi_weekdays_parse(text.bytes, text.length, &back, NULL));
        assert_int_equal(back, days);
        efi_text_free(&text);
    }
}

/* "weekdays" as a set of letters: MTWTFSS with "." for days not in it. */
static void assert_weekdays(const char *text, const char *expected)
{
    efi_weekdays days = 0;
    efi_date_error error;
    if (!efi_weekdays_parse(text, strlen(text), &days, &error))
        fail_msg("\"%s\": %s", text, efi_date_fault_name(error.fault));
    for (int i = 0; i < 7; i++)
        assert_int_equal((days & 1u << i) != 0, expected[i] != '.');
}

static void weekdays_are_read_in_their_forms(void **state)
{
    (void)state;
    assert_weekdays("mon-fri", "MTWTF..");
    assert_weekdays("Monday - Friday", "MTWTF..");
    assert_weekdays("sat, sun", ".....SS");
    assert_weekdays("SUN,wed", "..W...S");
    assert_weekdays("fri-mon", "M...FSS");
    assert_weekdays("daily", "MTWTFSS");
    assert_weekdays("mon-sun", "MTWTFSS");
}

static void moments_are_read_with_t_or_blank(void **state)
{
    (void)state;
    int64_t with_t = 0;
    int64_t with_blank = 1;
    int64_t end_of_day = 2;
    int64_t next_day = 3;
    assert_true(efi_moment_parse("2026-11-25T06:30", 16, &with_t, NULL));
    assert_true(efi_moment_parse("2026-11-25 06:30:00", 19, &with_blank, NULL));
    assert_int_equal(with_t, with_blank);
    /* 1795588200 s: date -u -d 2026-11-25T06:30 +%s (GNU coreutils) */
    assert_int_equal(with_t, 1795588200);
    assert_true(efi_moment_parse("2026-12-31T24:00", 16, &end_of_day, NULL));
    assert_true(efi_moment_parse("2027-01-01T00:00", 16, &next_day, NULL));
    assert_int_equal(end_of_day, next_day);
    assert_int_equal(efi_moment_day(-1), -1);
    assert_int_equal(efi_moment_clock(-1), EFI_DAY_S - 1);
    assert_int_equal(efi_day_monday(efi_moment_day(with_t)), efi_day_of((efi_civil){2026, 11, 23}));
}

typedef enum what {
    DATE,
    CLOCK,
    MOMENT,
    DAYS
} what;

static bool read_any(what kind, const char *text, size_t length, efi_date_error *error)
{
    int64_t number;
    int clock;
    efi_weekdays days;
    switch (kind) {
    case DATE:
        return efi_date_parse(text, length, &number, error);
    case CLOCK:
        return efi_clock_parse(text, length, &clock, error);
    case MOMENT:
        return efi_moment_parse(text, length, &number, error);
    case DAYS:
        return efi_weekdays_parse(text, length, &days, error);
    }
    return false;
}

static void refused_texts_name_culprit_and_fix(void **state)
{
    (void)state;
    static const struct {
        what kind;
        const char *text;
        efi_date_fault fault;
        const char *culprit;
        const char *likely;
        const char *offered;
    } cases[] = {
        {DATE, "25.11.2026", EFI_DATE_ORDER, "25.11.2026", "2026-11-25", ""},
        {DATE, "4.3.2026", EFI_DATE_ORDER, "4.3.2026", "2026-03-04", ""},
        {DATE, "11/25/2026", EFI_DATE_ORDER, "11/25/2026", "2026-11-25", ""},
        {DATE, "03/04/2026", EFI_DATE_AMBIGUOUS, "03/04/2026", "", "2026-03-04, 2026-04-03"},
        {DATE, "25.11.26", EFI_DATE_YEAR, "25.11.26", "2026-11-25", ""},
        {DATE, "2026-1-5", EFI_DATE_FORM, "2026-1-5", "2026-01-05", ""},
        {DATE, "2026/11/25", EFI_DATE_FORM, "2026/11/25", "2026-11-25", ""},
        {DATE, "20261125", EFI_DATE_FORM, "20261125", "2026-11-25", ""},
        {DATE, "25 Nov 2026", EFI_DATE_FORM, "25 Nov 2026", "2026-11-25", ""},
        {DATE, "November 25, 2026", EFI_DATE_FORM, "November 25, 2026", "2026-11-25", ""},
        {DATE, "2026-02-29", EFI_DATE_NONE, "29", "2026-02-28", ""},
        {DATE, "2026-25-11", EFI_DATE_NONE, "25", "2026-11-25", ""},
        {DATE, "2026-11-25T06:30", EFI_DATE_TRAILING, "T06:30", "2026-11-25", ""},
        {DATE, "tomorrow", EFI_DATE_FORM, "tomorrow", "", ""},
        {DATE, "", EFI_DATE_FORM, "", "", ""},
        {DATE, "0000-01-01", EFI_DATE_NONE, "0000", "", ""},
        {CLOCK, "6:30", EFI_CLOCK_FORM, "6:30", "06:30", ""},
        {CLOCK, "6.30 pm", EFI_CLOCK_HALF, "6.30 pm", "18:30", ""},
        {CLOCK, "12 a.m.", EFI_CLOCK_HALF, "12 a.m.", "00:00", ""},
        {CLOCK, "0630", EFI_CLOCK_FORM, "0630", "06:30", ""},
        {CLOCK, "6h30", EFI_CLOCK_FORM, "6h30", "06:30", ""},
        {CLOCK, "18", EFI_CLOCK_FORM, "18", "18:00", ""},
        {CLOCK, "24:01", EFI_CLOCK_NONE, "01", "", ""},
        {CLOCK, "25:00", EFI_CLOCK_NONE, "25", "", ""},
        {CLOCK, "06:75", EFI_CLOCK_NONE, "75", "", ""},
        {CLOCK, "06:30Z", EFI_DATE_ZONE, "Z", "06:30", ""},
        {CLOCK, "06:30 UTC", EFI_DATE_ZONE, " UTC", "06:30", ""},
        {CLOCK, "noon", EFI_CLOCK_FORM, "noon", "", ""},
        {MOMENT, "2026-11-25", EFI_CLOCK_MISSING, "2026-11-25", "2026-11-25T00:00", ""},
        {MOMENT, "25.11.2026 6:30", EFI_DATE_ORDER, "25.11.2026", "2026-11-25T06:30", ""},
        {MOMENT, "2026-11-25 6:30 pm", EFI_CLOCK_HALF, "6:30 pm", "2026-11-25T18:30", ""},
        {MOMENT, "2026-11-25T06:30+01:00", EFI_DATE_ZONE, "+01:00", "2026-11-25T06:30", ""},
        {MOMENT, "2026-11-25t06:30", EFI_CLOCK_FORM, "t", "2026-11-25T06:30", ""},
        {DAYS, "mon to fri", EFI_WEEKDAYS_FORM, "to fri", "mon-fri", ""},
        {DAYS, "sat & sun", EFI_WEEKDAYS_FORM, "& sun", "sat,sun", ""},
        {DAYS, "weekend", EFI_WEEKDAY_UNKNOWN, "weekend", "sat, sun", ""},
        {DAYS, "tues, thurs", EFI_WEEKDAY_UNKNOWN, "tues", "tue, thu", ""},
        {DAYS, "mon, Wendesday", EFI_WEEKDAY_UNKNOWN, "Wendesday", "mon, wed", ""},
        {DAYS, "mon-wed, tue", EFI_WEEKDAY_TWICE, "tue", "", ""},
        {DAYS, "mon,", EFI_WEEKDAYS_MISSING, "", "", ""},
        {DAYS, "", EFI_WEEKDAYS_MISSING, "", "", ""},
        {DAYS, "xyzzy", EFI_WEEKDAY_UNKNOWN, "xyzzy", "", ""},
    };
    for (size_t i = 0; i < EF_COUNT(cases); i++) {
        const char *text = cases[i].text;
        efi_date_error error;
        memset(&error, 0x55, sizeof error);
        if (read_any(cases[i].kind, text, strlen(text), &error))
            fail_msg("\"%s\" was read", text);
        const size_t length = error.end - error.start;
        if (error.fault != cases[i].fault || length != strlen(cases[i].culprit) ||
            memcmp(text + error.start, cases[i].culprit, length) != 0 ||
            strcmp(error.likely, cases[i].likely) != 0 || strcmp(error.offered, cases[i].offered) != 0)
            fail_msg("\"%s\": %s at \"%.*s\", likely \"%s\", offered \"%s\"", text,
                     efi_date_fault_name(error.fault), (int)length, text + error.start, error.likely,
                     error.offered);
        assert_true(error.likely[0] == '\0' ||
                    read_any(cases[i].kind, error.likely, strlen(error.likely), NULL));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_day_of_1_to_4000_is_that_of_gmtime),
        cmocka_unit_test(days_far_away_are_those_of_gmtime),
        cmocka_unit_test(published_week_dates_hold),
        cmocka_unit_test(century_years_are_leap_years_each_fourth_time),
        cmocka_unit_test(what_is_written_reads_back),
        cmocka_unit_test(weekdays_are_read_in_their_forms),
        cmocka_unit_test(moments_are_read_with_t_or_blank),
        cmocka_unit_test(refused_texts_name_culprit_and_fix),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
