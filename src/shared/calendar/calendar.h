/* SPDX-License-Identifier: GPL-3.0-or-later
 * The plant's time: from a scenario's calendar to intervals of work, break, maintenance and rest.
 *
 * Time is counted in whole seconds from the beginning (00:00) of the calendar's start date, so that adding
 * and comparing are exact; it may be negative. An hour is 3600 of them: efi_hours_of divides with one
 * rounding, so whole hours, and every time that is a multiple of 1/4096 h or so, are exact, and others are
 * the nearest double.
 *
 * The rules, in order:
 *   - A shift runs on the days of its set, unless that day is a holiday. It belongs to the day on which it
 *     begins: one that began before a holiday runs to its end; none begins on the evening of the holiday.
 *   - Overtime runs on its dates, holidays or not. A shift goes before overtime; of two of a sort the one
 *     that began on the earlier day, then the first named (checked scenarios have no such overlap).
 *   - Whatever is neither is closed.
 *   - Within shifts and overtime, maintenance goes before breaks, and a break at which all stop before
 *     work. In a staggered break the work goes on. Breaks go by the days of the clock.
 *   - Maintenance of single stations holds for these stations alone.
 *
 * All functions are pure; a calendar or timetable that nobody changes may be read from any number of threads.
 */
#ifndef EFI_CALENDAR_H
#define EFI_CALENDAR_H

#include "base/base.h"
#include "model/calendar.h"
#include "shared/stops/stops.h"

typedef enum efi_calendar_state {
    EFI_TIME_CLOSED,
    EFI_TIME_SHIFT,
    EFI_TIME_OVERTIME,
    EFI_TIME_BREAK,
    EFI_TIME_MAINTENANCE
} efi_calendar_state;

enum {
    EFI_TIME_STATES = 5,
    EFI_NO_ITEM = -1,
    EFI_WHOLE_PLANT = -1
};

/* A stretch of time, from_s <= t < to_s, within which nothing changes. */
typedef struct efi_time_interval {
    int64_t from_s;
    int64_t to_s;
    efi_calendar_state state;
    int shift;       /* on duty, also in breaks and maintenance; EFI_NO_ITEM: none */
    int overtime;    /* the same */
    int pause;       /* the break that is on, staggered or not; EFI_NO_ITEM: none */
    int maintenance; /* EFI_NO_ITEM: none */
    int64_t day;     /* on which the shift or overtime began: days from the start date; 0 when closed */
    double people;   /* on duty; 0 when closed, and where `has_people` is false */
    bool has_people;
} efi_time_interval;

/* Does the line run in this state? */
static inline bool efi_time_works(efi_calendar_state state)
{
    return state == EFI_TIME_SHIFT || state == EFI_TIME_OVERTIME;
}

/* Seconds to hours, and hours (finite, |hours| at most 10^9) to the nearest second. */
double efi_hours_of(int64_t seconds);
int64_t efi_seconds_of(double hours);

/* The moment (seconds from 1970-01-01T00:00, see base/date.h) of a second of the calendar. */
int64_t efi_calendar_moment(const efi_calendar *calendar, int64_t second);

/*
 * The interval that begins at `second`, for a station, or EFI_WHOLE_PLANT for what all have in common. It
 * ends when anything changes, at the latest at midnight; the next may be of the same kind. |second| at most
 * 10^13.
 */
efi_time_interval efi_calendar_at(const efi_calendar *calendar, int station, int64_t second);

/* The first second at or after `second` at which work goes on; `second` itself when there is none within ten
 * years. */
int64_t efi_calendar_next_work(const efi_calendar *calendar, int64_t second);

/* All intervals of a stretch of time, in order, without gaps; those of the same kind are joined. */
typedef struct efi_timetable {
    efi_time_interval *items; /* shape [count] */
    int64_t *worked_s;        /* shape [count + 1]: seconds of work before each interval */
    int count;                /* 1 or more */
    int64_t from_s, to_s;
} efi_timetable;

/*
 * The timetable of from_s <= t < to_s for a station or EFI_WHOLE_PLANT. The caller frees it with
 * efi_timetable_free. EF_OK; EF_MEMORY; EF_USAGE when the stretch is empty or longer than 100 years; on
 * failure
 * `*timetable` is left as it was.
 */
ef_status efi_timetable_build(efi_timetable *timetable, const efi_calendar *calendar, int station,
                              int64_t from_s, int64_t to_s);
/* Frees what a timetable holds; one of zeros is allowed. */
void efi_timetable_free(efi_timetable *timetable);

/* The number of the interval that holds `second`, which must lie within the timetable. By bisection. */
int efi_timetable_find(const efi_timetable *timetable, int64_t second);

/* Seconds of work within from_s <= t < to_s, both within the timetable or at its end, from_s <= to_s. */
int64_t efi_timetable_worked(const efi_timetable *timetable, int64_t from_s, int64_t to_s);

/* The same by state: seconds[efi_calendar_state]; together they are to_s - from_s. A day is 86400 s from a
 * multiple of 86400, a week seven of those. */
void efi_timetable_totals(const efi_timetable *timetable, int64_t from_s, int64_t to_s,
                          int64_t seconds[EFI_TIME_STATES]);

/* The first second at or after `second` at which work goes on. False, `*next_s` unchanged, when there is none
 * left in the timetable. `second` lies within it or at its end. */
bool efi_timetable_next_work(const efi_timetable *timetable, int64_t second, int64_t *next_s);

/*
 * The earliest moment by which `work_s` (0 or more) seconds of work have been done since `second`, running
 * across breaks and shift ends; `second` itself for 0. False, `*end_s` unchanged, when the timetable ends
 * before.
 */
bool efi_timetable_add_work(const efi_timetable *timetable, int64_t second, int64_t work_s, int64_t *end_s);

/* How often work begins anew, after any pause, within from_s < t < to_s: what restarts a job would see. */
int efi_timetable_restarts(const efi_timetable *timetable, int64_t from_s, int64_t to_s);

/* A set of states: bit EFI_TIME_SET(state) for each. */
#define EFI_TIME_SET(state) (1u << (state))

/*
 * The stretches, in hours from second `zero_s` on, in which the state is one of `states`, as long as they can
 * be, rising and apart, for a list of stops of the engine. `*intervals` is for the caller to free with
 * efi_free. EF_OK or EF_MEMORY (outputs unchanged).
 */
ef_status efi_timetable_stops(const efi_timetable *timetable, unsigned states, int64_t zero_s,
                              efi_interval **intervals, int *count);

#endif
