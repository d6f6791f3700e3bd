/* SPDX-License-Identifier: GPL-3.0-or-later
 * The part of the language that says when the plant works. */
#include "model/language_table.h"

#define WHEN(key_, type_, struct_, member)                                                                   \
    .key = key_, .type = EFI_FIELD_##type_, .slot = SLOT(struct_, member)

static void prepare_shift(void *item)
{
    efi_shift *shift = item;
    shift->days = (efi_when){.value = EFI_WEEKDAYS_WORK, .given = true};
}

static void prepare_break(void *item)
{
    efi_break *pause = item;
    pause->days = (efi_when){.value = EFI_WEEKDAYS_ALL, .given = true};
}

static void prepare_overtime(void *item)
{
    efi_overtime *overtime = item;
    overtime->days = (efi_when){.value = EFI_WEEKDAYS_ALL, .given = true};
}

static void prepare_maintenance(void *item)
{
    efi_maintenance *maintenance = item;
    maintenance->weeks = 1;
}

static const efi_field shift_fields[] = {
    {WHEN("days", WEEKDAYS, efi_shift, days), .fallback = "mon-fri",
     .meaning = "The days on which it begins.", .example = "mon-fri"},
    {WHEN("from", CLOCK, efi_shift, from), .required = true, .meaning = "When it begins.",
     .example = "06:00"},
    {WHEN("to", CLOCK, efi_shift, to), .required = true,
     .meaning = "When it ends; at or before `from` means the next day.", .example = "14:00"},
    {QUANTITY("people", OF(COUNT), efi_shift, people, POSITIVE), .fallback = "those of the plant",
     .meaning = "How many people it has.", .example = "4"},
    NOTE(efi_shift, "from October only two"),
};
static const efi_block shift_block = {
    .title = "shifts",
    .intro = "The shifts of a week, by name. A shift belongs to the day on which it begins and may run past "
             "midnight. Two shifts never overlap.",
    FIELDS(shift_fields),
    .size = sizeof(efi_shift),
    .most = 20,
    .prepare = prepare_shift};

static const efi_field break_fields[] = {
    {WHEN("days", WEEKDAYS, efi_break, days), .fallback = "daily",
     .meaning = "The days on which it begins, by the clock: a break at 02:00 of Friday's night shift is on "
                "Saturday.",
     .example = "mon-thu"},
    {WHEN("from", CLOCK, efi_break, from), .required = true, .meaning = "When it begins.",
     .example = "09:00"},
    {WHEN("to", CLOCK, efi_break, to), .required = true, .meaning = "When it ends.", .example = "09:15"},
    {.key = "staggered",
     .type = EFI_FIELD_FLAG,
     .slot = SLOT(efi_break, staggered),
     .fallback = "no: all stop",
     .meaning = "Do people take turns, so that the line goes on?",
     .example = "yes"},
    NOTE(efi_break, "breakfast"),
};
static const efi_block break_block = {.title = "breaks",
                                      .intro = "Pauses, by name. A break counts where it lies within a shift "
                                               "or overtime; the rest of it has no effect.",
                                      FIELDS(break_fields),
                                      .size = sizeof(efi_break),
                                      .most = 50,
                                      .prepare = prepare_break};

static const efi_field holiday_fields[] = {
    {WHEN("date", DATE, efi_holiday, date), .required = true, .meaning = "The day, or the first of several.",
     .example = "2026-12-24"},
    {WHEN("last", DATE, efi_holiday, last), .fallback = "that one day",
     .meaning = "The last of several days.", .example = "2026-12-26"},
    NOTE(efi_holiday, "the shed is locked"),
};
static const efi_block holiday_block = {.title = "holidays",
                                        .intro = "Days on which no shift begins, by name. A shift that began "
                                                 "the day before runs to its end. Overtime on a "
                                                 "holiday is worked.",
                                        FIELDS(holiday_fields),
                                        .size = sizeof(efi_holiday),
                                        .most = 300};

static const efi_field overtime_fields[] = {
    {WHEN("date", DATE, efi_overtime, date), .required = true, .meaning = "The day, or the first of several.",
     .example = "2026-10-03"},
    {WHEN("last", DATE, efi_overtime, last), .fallback = "that one day",
     .meaning = "The last of several days.", .example = "2026-10-31"},
    {WHEN("days", WEEKDAYS, efi_overtime, days), .fallback = "daily",
     .meaning = "Which of several days are meant.", .example = "sat"},
    {WHEN("from", CLOCK, efi_overtime, from), .required = true, .meaning = "When it begins.",
     .example = "06:00"},
    {WHEN("to", CLOCK, efi_overtime, to), .required = true,
     .meaning = "When it ends; at or before `from` means the next day.", .example = "12:00"},
    {QUANTITY("people", OF(COUNT), efi_overtime, people, POSITIVE), .fallback = "those of the plant",
     .meaning = "How many people work.", .example = "3"},
    {QUANTITY("price factor", OF(COUNT), efi_overtime, price_factor, NOT_NEGATIVE),
     .fallback = "labour costs as usual", .meaning = "Labour costs so many times the usual.",
     .example = "1.5"},
    {QUANTITY("cost", OF(MONEY_PER_TIME), efi_overtime, cost_ph, NOT_NEGATIVE), .fallback = "nothing on top",
     .meaning = "What an hour costs on top of that.", .example = "60 EUR/h"},
    NOTE(efi_overtime, "agreed with the crew"),
};
static const efi_block overtime_block = {.title = "overtime",
                                         .intro = "Work outside the shifts, by name. Breaks hold for it too.",
                                         FIELDS(overtime_fields),
                                         .size = sizeof(efi_overtime),
                                         .most = 300,
                                         .prepare = prepare_overtime};

static const efi_field maintenance_fields[] = {
    {WHEN("begin", MOMENT, efi_maintenance, begin), .meaning = "Once: when it begins.",
     .example = "2026-07-06T06:00"},
    {WHEN("end", MOMENT, efi_maintenance, end), .meaning = "Once: when it ends.",
     .example = "2026-07-10T14:00"},
    {WHEN("days", WEEKDAYS, efi_maintenance, days),
     .meaning = "Again and again: the days on which it begins.", .example = "fri"},
    {WHEN("from", CLOCK, efi_maintenance, from), .meaning = "Again and again: when it begins.",
     .example = "12:00"},
    {WHEN("to", CLOCK, efi_maintenance, to),
     .meaning = "Again and again: when it ends; at or before `from` means the next day.", .example = "14:00"},
    {.key = "weeks",
     .type = EFI_FIELD_COUNT,
     .slot = SLOT(efi_maintenance, weeks),
     .fallback = "1: every week",
     .meaning = "Again and again: every so many weeks.",
     .example = "2"},
    {WHEN("first", DATE, efi_maintenance, first), .fallback = "the start of the calendar",
     .meaning = "Again and again: from this day on, in its week the first time.", .example = "2026-09-04"},
    {.key = "stations",
     .type = EFI_FIELD_STATIONS,
     .slot = SLOT(efi_maintenance, stations),
     .fallback = "the whole plant stands",
     .meaning = "The stations that cannot run.",
     .example = "[Deck, Cleaner]"},
    NOTE(efi_maintenance, "belts and bearings"),
};
static const efi_block maintenance_block = {
    .title = "maintenance",
    .intro = "Times at which the plant or some of its stations cannot run, by name: once (`begin`, `end`) or "
             "again and "
             "again (`days`, `from`, `to`).",
    FIELDS(maintenance_fields),
    .size = sizeof(efi_maintenance),
    .most = 300,
    .prepare = prepare_maintenance};

static const efi_field calendar_fields[] = {
    {WHEN("start", DATE, efi_calendar, start), .required = true,
     .meaning = "The day from whose beginning hours count.", .example = "2026-08-31"},
    {.key = "shifts",
     .type = EFI_FIELD_NAMED,
     .block = &shift_block,
     .slot = SLOT(efi_calendar, shifts),
     .count_slot = SLOT(efi_calendar, shift_count),
     .fallback = "one shift of the plant's shift length, Monday to Friday from 06:00 (common practice)",
     .meaning = "The shifts of a week."},
    {.key = "breaks",
     .type = EFI_FIELD_NAMED,
     .block = &break_block,
     .slot = SLOT(efi_calendar, breaks),
     .count_slot = SLOT(efi_calendar, break_count),
     .meaning = "Pauses within the shifts."},
    {.key = "holidays",
     .type = EFI_FIELD_NAMED,
     .block = &holiday_block,
     .slot = SLOT(efi_calendar, holidays),
     .count_slot = SLOT(efi_calendar, holiday_count),
     .meaning = "Days without shifts."},
    {.key = "overtime",
     .type = EFI_FIELD_NAMED,
     .block = &overtime_block,
     .slot = SLOT(efi_calendar, overtimes),
     .count_slot = SLOT(efi_calendar, overtime_count),
     .meaning = "Work outside the shifts."},
    {.key = "maintenance",
     .type = EFI_FIELD_NAMED,
     .block = &maintenance_block,
     .slot = SLOT(efi_calendar, maintenances),
     .count_slot = SLOT(efi_calendar, maintenance_count),
     .meaning = "Times at which stations cannot run."},
};

const efi_block efi_language_calendar = {.title = "calendar",
                                         .intro = "When the plant works, by its own clock: no time zones, no "
                                                  "daylight-saving hours. The page on calendars "
                                                  "(calendar.md) shows a whole one.",
                                         FIELDS(calendar_fields),
                                         .size = sizeof(efi_calendar)};
