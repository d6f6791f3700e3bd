/* SPDX-License-Identifier: GPL-3.0-or-later
 * The plant's own clock: dates, times of the day and weekdays, as numbers and as ISO 8601 text.
 *
 * There are no time zones and no daylight-saving hours: a day has 24 hours, and 06:30 is what the clock on
 * the wall shows. Days count from 1970-01-01 (day 0), moments are seconds from its beginning; both may be
 * negative. The calendar is the Gregorian one, carried back before 1582 as ISO 8601 asks (proleptic).
 *
 *   date     = YYYY "-" MM "-" DD                   2026-11-25; years 0001 to 9999
 *   clock    = hh ":" mm [":" ss]                   06:30; 24:00 is the end of the day
 *   moment   = date ("T" | " ") clock               2026-11-25T06:30; with 24:00 it is the next day's
 * beginning weekdays = "daily" | span ("," span)*           mon-fri, sun; blanks around "," and "-" do not
 * matter span     = day ["-" day]                        sat-mon runs over the end of the week day      =
 * "mon" | "monday" | ...               in any case
 *
 * No function here allocates (but for texts it adds to), and all may be called from any thread and in any
 * locale. */
#ifndef EFI_DATE_H
#define EFI_DATE_H

#include "base/text.h"

#include <stdint.h>

#define EFI_DAY_S  86400
#define EFI_HOUR_S 3600

/* Monday is the first day of the week, as in ISO 8601. */
typedef enum efi_weekday {
    EFI_MONDAY,
    EFI_TUESDAY,
    EFI_WEDNESDAY,
    EFI_THURSDAY,
    EFI_FRIDAY,
    EFI_SATURDAY,
    EFI_SUNDAY
} efi_weekday;

enum {
    EFI_WEEK_DAYS = 7
};

/* A set of weekdays: bit 1 << efi_weekday for each. */
typedef unsigned efi_weekdays;
#define EFI_WEEKDAYS_ALL   0x7Fu
#define EFI_WEEKDAYS_WORK  0x1Fu /* Monday to Friday */
#define EFI_WEEKDAY_SET(w) (1u << (w))

/* A date by its parts; months and days count from 1. */
typedef struct efi_civil {
    int64_t year;
    int month;
    int day;
} efi_civil;

/* A week by ISO 8601: week 1 is the one that holds the year's first Thursday. */
typedef struct efi_iso_week {
    int64_t year; /* to which the week belongs; near New Year not always that of the date */
    int week;     /* 1 to 53 */
} efi_iso_week;

/* Is there such a day? Years are not limited here. */
bool efi_civil_exists(efi_civil civil);

/* The day's number, and back. `civil` must exist; |day| at most 10^15. */
int64_t efi_day_of(efi_civil civil);
efi_civil efi_civil_of(int64_t day);

efi_weekday efi_day_weekday(int64_t day);
efi_iso_week efi_day_week(int64_t day);

/* The Monday of the week that holds the day. */
int64_t efi_day_monday(int64_t day);

/* The day that holds a moment, and the second of that day, 0 to 86399. */
int64_t efi_moment_day(int64_t moment_s);
int efi_moment_clock(int64_t moment_s);

/* fault, stable name, words that follow the quoted culprit */
#define EFI_DATE_FAULT_LIST(X)                                                                               \
    X(EFI_DATE_FORM, "date-form", "is not written as a date")                                                \
    X(EFI_DATE_ORDER, "date-order", "is a date, but not written year first")                                 \
    X(EFI_DATE_AMBIGUOUS, "date-ambiguous", "can mean two days; write the year first")                       \
    X(EFI_DATE_YEAR, "date-year", "has a year of two digits; write four, and the year first")                \
    X(EFI_DATE_NONE, "date-none", "is no day of the calendar")                                               \
    X(EFI_DATE_ZONE, "date-zone", "names a time zone; times here are those of the plant's own clock")        \
    X(EFI_DATE_TRAILING, "date-trailing", "does not belong to a date")                                       \
    X(EFI_CLOCK_MISSING, "clock-missing", "has no time of the day")                                          \
    X(EFI_CLOCK_FORM, "clock-form", "is not written as a time of the day")                                   \
    X(EFI_CLOCK_HALF, "clock-half", "counts the hours twice a day; write them from 00 to 24")                \
    X(EFI_CLOCK_NONE, "clock-none", "is no time of the day")                                                 \
    X(EFI_WEEKDAYS_MISSING, "weekdays-missing", "names no day of the week")                                  \
    X(EFI_WEEKDAYS_FORM, "weekdays-form", "is not how days are joined here")                                 \
    X(EFI_WEEKDAY_UNKNOWN, "weekday-unknown", "is not a day of the week")                                    \
    X(EFI_WEEKDAY_TWICE, "weekday-twice", "is named already")

typedef enum efi_date_fault {
#define EFI_DATE_ENUM(name, stable, words) name,
    EFI_DATE_FAULT_LIST(EFI_DATE_ENUM)
#undef EFI_DATE_ENUM
    EFI_DATE_FAULT_LIMIT
} efi_date_fault;

/* The stable name ("date-form") and the words of a fault; valid for ever. */
const char *efi_date_fault_name(efi_date_fault fault);
const char *efi_date_fault_words(efi_date_fault fault);

enum {
    EFI_DATE_LIKELY_ROOM = 80
};

/* What is wrong with a text. */
typedef struct efi_date_error {
    efi_date_fault fault;
    size_t start, end; /* the culprit: bytes start .. end-1; equal where something is missing */
    char offered[EFI_DATE_LIKELY_ROOM]; /* the readings of an ambiguous one, or "" */
    char likely[EFI_DATE_LIKELY_ROOM]; /* the whole text as it was likely meant; it can be read; "" if unknown
                                        */
} efi_date_error;

/*
 * Each reads `length` bytes of `text` (not NULL; need not end with NUL) as a whole; blanks around it are not
 * allowed. On success the last but one is filled and `*error` left alone, on failure the reverse. `error` may
 * be NULL.
 *
 * day       days from 1970-01-01
 * clock_s   second of the day, 0 to 86400
 * moment_s  seconds from the beginning of 1970-01-01
 * weekdays  at least one
 */
bool efi_date_parse(const char *text, size_t length, int64_t *day, efi_date_error *error);
bool efi_clock_parse(const char *text, size_t length, int *clock_s, efi_date_error *error);
bool efi_moment_parse(const char *text, size_t length, int64_t *moment_s, efi_date_error *error);
bool efi_weekdays_parse(const char *text, size_t length, efi_weekdays *weekdays, efi_date_error *error);

/*
 * Add the text that reads back as the same: "2026-11-25", "06:30" (seconds only where there are any),
 * "2026-11-25T06:30", "mon-fri, sun". Years of a day and moment 1 to 9999, clock_s 0 to 86400, at least one
 * weekday.
 */
void efi_date_add(efi_text *text, int64_t day);
void efi_clock_add(efi_text *text, int clock_s);
void efi_moment_add(efi_text *text, int64_t moment_s);
void efi_weekdays_add(efi_text *text, efi_weekdays weekdays);

/* "Monday" and "mon"; valid for ever. */
const char *efi_weekday_name(efi_weekday weekday);
const char *efi_weekday_short(efi_weekday weekday);

#endif
