/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/date.h"

static const struct {
    const char *name;
    const char *words;
} faults[] = {
#define ROW(name, stable, words) [name] = {stable, words},
    EFI_DATE_FAULT_LIST(ROW)
#undef ROW
};

const char *efi_date_fault_name(efi_date_fault fault)
{
    return faults[fault].name;
}

const char *efi_date_fault_words(efi_date_fault fault)
{
    return faults[fault].words;
}

/* ---- days and dates -------------------------------------------------------------------------------------
 */

/* A year that begins with March ends with the leap day; 400 of them are always as long. */
enum {
    DAYS_OF_400_YEARS = 146097,
    DAYS_TO_MARCH_0000 = 719468, /* from 0000-03-01 to 1970-01-01 */
    MONTH_MARCH = 3
};

/* Division that rounds down. */
static int64_t floor_divide(int64_t value, int64_t by)
{
    return value / by - (value % by < 0);
}

static bool is_leap(int64_t year)
{
    return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

static int days_of_month(int64_t year, int month)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    return days[month - 1] + (month == 2 && is_leap(year));
}

bool efi_civil_exists(efi_civil civil)
{
    return civil.month >= 1 && civil.month <= 12 && civil.day >= 1 &&
           civil.day <= days_of_month(civil.year, civil.month);
}

/* Days from 1 March to the first of the month that is `months` later: 0, 31, 61, 92, ... 337. */
static int days_before_month(int months)
{
    return (153 * months + 2) / 5;
}

int64_t efi_day_of(efi_civil civil)
{
    assert(efi_civil_exists(civil));
    const int64_t year = civil.year - (civil.month < MONTH_MARCH);
    const int64_t era = floor_divide(year, 400);
    const int64_t year_of_era = year - era * 400;
    const int months = (civil.month + 12 - MONTH_MARCH) % 12;
    const int64_t day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 +
                               days_before_month(months) + civil.day - 1;
    return era * DAYS_OF_400_YEARS + day_of_era - DAYS_TO_MARCH_0000;
}

efi_civil efi_civil_of(int64_t day)
{
    const int64_t shifted = day + DAYS_TO_MARCH_0000;
    const int64_t era = floor_divide(shifted, DAYS_OF_400_YEARS);
    const int64_t day_of_era = shifted - era * DAYS_OF_400_YEARS;
    /* the leap days before: each 1461st, but for each 36525th, but for the 146097th day */
    const int64_t year_of_era = (day_of_era - day_of_era / 1460 + day_of_era / 36524 - day_of_era / 146096) /
                                365;
    const int day_of_year = (int)(day_of_era - (year_of_era * 365 + year_of_era / 4 - year_of_era / 100));
    const int months = (5 * day_of_year + 2) / 153;
    const int month = (months + MONTH_MARCH - 1) % 12 + 1;
    return (efi_civil){.year = era * 400 + year_of_era + (month < MONTH_MARCH),
                       .month = month,
                       .day = day_of_year - days_before_month(months) + 1};
}

efi_weekday efi_day_weekday(int64_t day)
{
    /* 1970-01-01 was a Thursday */
    const int64_t since_monday = day + EFI_THURSDAY;
    return (efi_weekday)(since_monday - 7 * floor_divide(since_monday, 7));
}

int64_t efi_day_monday(int64_t day)
{
    return day - (int64_t)efi_day_weekday(day);
}

efi_iso_week efi_day_week(int64_t day)
{
    const int64_t thursday = efi_day_monday(day) + EFI_THURSDAY;
    const int64_t year = efi_civil_of(thursday).year;
    const int64_t new_year = efi_day_of((efi_civil){.year = year, .month = 1, .day = 1});
    return (efi_iso_week){.year = year, .week = (int)((thursday - new_year) / 7) + 1};
}

int64_t efi_moment_day(int64_t moment_s)
{
    return floor_divide(moment_s, EFI_DAY_S);
}

int efi_moment_clock(int64_t moment_s)
{
    return (int)(moment_s - EFI_DAY_S * efi_moment_day(moment_s));
}

/* ---- to text --------------------------------------------------------------------------------------------
 */

static const char *const weekday_names[] = {"Monday", "Tuesday",  "Wednesday", "Thursday",
                                            "Friday", "Saturday", "Sunday"};
static const char *const weekday_shorts[] = {"mon", "tue", "wed", "thu", "fri", "sat", "sun"};

const char *efi_weekday_name(efi_weekday weekday)
{
    return weekday_names[weekday];
}

const char *efi_weekday_short(efi_weekday weekday)
{
    return weekday_shorts[weekday];
}

void efi_date_add(efi_text *text, int64_t day)
{
    const efi_civil civil = efi_civil_of(day);
    efi_text_addf(text, "%04d-%02d-%02d", (int)civil.year, civil.month, civil.day);
}

void efi_clock_add(efi_text *text, int clock_s)
{
    assert(clock_s >= 0 && clock_s <= EFI_DAY_S);
    efi_text_addf(text, "%02d:%02d", clock_s / EFI_HOUR_S, clock_s / 60 % 60);
    if (clock_s % 60)
        efi_text_addf(text, ":%02d", clock_s % 60);
}

void efi_moment_add(efi_text *text, int64_t moment_s)
{
    efi_date_add(text, efi_moment_day(moment_s));
    efi_text_add(text, "T");
    efi_clock_add(text, efi_moment_clock(moment_s));
}

void efi_weekdays_add(efi_text *text, efi_weekdays weekdays)
{
    assert(weekdays != 0 && (weekdays & ~EFI_WEEKDAYS_ALL) == 0);
    if (weekdays == EFI_WEEKDAYS_ALL) {
        efi_text_add(text, "daily");
        return;
    }
    bool first = true;
    for (int day = 0; day < EFI_WEEK_DAYS; day++) {
        if (!(weekdays & 1u << day))
            continue;
        int last = day;
        while (last + 1 < EFI_WEEK_DAYS && (weekdays & 1u << (last + 1)))
            last++;
        efi_text_addf(text, "%s%s", first ? "" : ", ", weekday_shorts[day]);
        if (last > day)
            efi_text_addf(text, "%s%s", last > day + 1 ? "-" : ", ", weekday_shorts[last]);
        first = false;
        day = last;
    }
}
