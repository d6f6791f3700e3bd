/* SPDX-License-Identifier: GPL-3.0-or-later
 * The calendar of a scenario as data: shifts, breaks, holidays, overtime, maintenance. */
#ifndef EFI_MODEL_CALENDAR_H
#define EFI_MODEL_CALENDAR_H

#include "base/date.h"
#include "model/value.h"

/* A date (days from 1970-01-01), a time of the day (seconds of it), a moment (seconds from 1970-01-01T00:00)
 * or a set of weekdays (bits of efi_weekdays), as the field's type says. */
typedef struct efi_when {
    int64_t value;
    bool given;
    bool bad;         /* the file gives it, but it cannot be used; already reported */
    bool is_relative; /* a moment given in hours from the start of the calendar */
} efi_when;

/* Times of the day, seconds of it, as the file gives them; `bad` when one cannot be read (already reported).
 */
typedef struct efi_clock_list {
    const int *items; /* shape [count] */
    int count;
    bool bad;
} efi_clock_list;

/* Stations by number; `bad` when one of the names cannot be found (already reported). */
typedef struct efi_station_list {
    const int *items; /* shape [count] */
    int count;
    bool bad;
} efi_station_list;

/* Crops, materials and lines by number, in the same sense. */
typedef efi_station_list efi_crop_list;
typedef efi_station_list efi_material_list;
typedef efi_station_list efi_line_list;

/* A shift belongs to the day on which it begins. `to` at or before `from` lies on the next day. */
typedef struct efi_shift {
    const char *name;
    efi_origin origin;
    efi_when days; /* given, unless bad */
    efi_when from;
    efi_when to;
    efi_value people; /* who work on it; else the plant's */
    const char *note;
} efi_shift;

/* A pause within shifts and overtime, on the days on which it begins. */
typedef struct efi_break {
    const char *name;
    efi_origin origin;
    efi_when days;
    efi_when from;
    efi_when to;
    bool staggered; /* people take turns, and the line goes on */
    const char *note;
} efi_break;

/* Days on which no shift begins. */
typedef struct efi_holiday {
    const char *name;
    efi_origin origin;
    efi_when date;
    efi_when last; /* given after `finish`: the same as date for a single day */
    const char *note;
} efi_holiday;

/* Work outside the shifts, on dates `date` to `last` that are among `days`. */
typedef struct efi_overtime {
    const char *name;
    efi_origin origin;
    efi_when date;
    efi_when last; /* as for holidays */
    efi_when days;
    efi_when from;
    efi_when to;
    efi_value people;
    efi_value price_factor; /* labour costs so many times the usual */
    efi_value cost_ph;      /* money per hour, on top */
    const char *note;
} efi_overtime;

/* A time at which the plant, or some stations, cannot run: once (begin, end), or on weekdays of each so many
 * weeks. */
typedef struct efi_maintenance {
    const char *name;
    efi_origin origin;
    efi_when begin; /* moment */
    efi_when end;   /* moment */
    efi_when days;
    efi_when from;
    efi_when to;
    int weeks;      /* 1: every week */
    efi_when first; /* a date in the first such week; after `finish` the calendar's start when absent */
    efi_station_list stations; /* none: the whole plant */
    const char *note;
} efi_maintenance;

typedef struct efi_calendar {
    bool is_given;     /* by the scenario; else it is the usual one */
    efi_when start;    /* the day from whose beginning hours count */
    efi_shift *shifts; /* shape [shift_count] */
    int shift_count;
    efi_break *breaks; /* shape [break_count] */
    int break_count;
    efi_holiday *holidays; /* shape [holiday_count] */
    int holiday_count;
    efi_overtime *overtimes; /* shape [overtime_count] */
    int overtime_count;
    efi_maintenance *maintenances; /* shape [maintenance_count] */
    int maintenance_count;
} efi_calendar;

/* How long from one time of the day to another is, s: on the next day where `to` is not after `from`; 0 where
 * they are the same. */
int efi_clock_span(int64_t from_s, int64_t to_s);

/* Does the maintenance recur? */
static inline bool efi_maintenance_recurs(const efi_maintenance *one)
{
    return one->days.given;
}

#endif
