/* SPDX-License-Identifier: GPL-3.0-or-later
 * What one run is: shifts one after the other, or the plant's own weeks. */
#include "answers/shift/shift.h"
#include "shared/calendar/calendar.h"

#include <math.h>
#include <string.h>

enum {
    COUNTED_SHIFTS = 50, /* many, so that most of what is simulated counts */
    WARM_UP_SINGLE = 3,  /* of a shift on its own */
    WARM_UP_DAYS = 7,
    USUAL_DAYS = 7
};

/* People of a shift that says nothing: the plant's, else those of the stations that the crop passes. */
static double usual_people(const efi_line *line)
{
    if (line->scenario->plant->people.given)
        return line->scenario->plant->people.value;
    double people = 0.0;
    for (int s = 0; s < line->station_count; s++)
        people += line->stations[s].of->people.given ? line->stations[s].of->people.value : 0.0;
    return people;
}

bool efi_shift_goes_by_clock(const ef_scenario *scenario)
{
    bool by_clock = scenario->record_count > 0;
    for (int s = 0; s < scenario->station_count; s++)
        for (int i = 0; i < scenario->stations[s].stops.count; i++)
            by_clock = by_clock || scenario->stations[s].stops.items[i].at.count > 0;
    return by_clock;
}

ef_status efi_shift_plan_shifts(efi_shift_plan *plan, efi_arena *arena, const efi_running *running,
                                const ef_shift_settings *settings)
{
    const efi_line *line = &running->line;
    const int count = settings->single || efi_shift_goes_by_clock(line->scenario) ? 1 : COUNTED_SHIFTS;
    ef_shift_period *periods = efi_arena_get(arena, (size_t)count, sizeof *periods);
    if (!periods)
        return EF_MEMORY;
    const double shift_h = line->scenario->plant->shift_h.value;
    const double crew_h = usual_people(line) * shift_h;
    for (int p = 0; p < count; p++)
        periods[p] = (ef_shift_period){.name = "shift",
                                       .from_h = p * shift_h,
                                       .to_h = (p + 1) * shift_h,
                                       .work_h = shift_h,
                                       .crew_h = crew_h,
                                       .paid_h = crew_h};
    /* what goes by the time of the day is laid as if the shift began when work does */
    const int64_t begin_s = efi_calendar_next_work(line->scenario->calendar, 0);
    double warm_up_h = WARM_UP_SINGLE * shift_h;
    if (count > 1)
        warm_up_h = fmax(efi_shift_warm_up_h(running, shift_h), settings->least_warm_up_h);
    *plan = (efi_shift_plan){.from_s = begin_s - efi_seconds_of(warm_up_h),
                             .warm_up_h = warm_up_h,
                             .counted_h = shift_h,
                             .parts = count,
                             .periods = periods,
                             .period_count = count};
    return EF_OK;
}

/* ---- weeks ----------------------------------------------------------------------------------------------
 */

/* The shifts of a timetable, one after the other. */
typedef struct collector {
    const efi_calendar *calendar;
    const efi_timetable *timetable;
    double usual_people;
    int64_t begin_s; /* what is counted begins here */
    int64_t first_day;
    int64_t last_day;
    ef_shift_period *periods;
    int count;
    int shift, overtime; /* of the last one */
} collector;

/* Adds an interval on duty to the shift that it belongs to, which it may begin. */
static void collect(collector *c, const efi_time_interval *one)
{
    const int64_t day = c->calendar->start.value + one->day;
    const efi_overtime *overtime = one->overtime >= 0 ? &c->calendar->overtimes[one->overtime] : NULL;
    const bool goes_on = c->count > 0 && c->periods[c->count - 1].day == day && c->shift == one->shift &&
                         c->overtime == one->overtime;
    if (!goes_on) {
        c->periods[c->count++] = (ef_shift_period){.name = overtime ? overtime->name
                                                                    : c->calendar->shifts[one->shift].name,
                                                   .day = day,
                                                   .from_h = efi_hours_of(one->from_s - c->begin_s)};
        c->shift = one->shift;
        c->overtime = one->overtime;
    }
    ef_shift_period *period = &c->periods[c->count - 1];
    const double hours = efi_hours_of(one->to_s - one->from_s);
    const double crew_h = hours * (one->has_people ? one->people : c->usual_people);
    period->to_h = efi_hours_of(one->to_s - c->begin_s);
    period->work_h += efi_time_works(one->state) ? hours : 0.0;
    period->crew_h += crew_h;
    period->paid_h += crew_h *
                      (overtime && overtime->price_factor.given ? overtime->price_factor.value : 1.0);
    period->extra += overtime && overtime->cost_ph.given ? overtime->cost_ph.value * hours : 0.0;
}

static ef_status collect_all(collector *c, efi_arena *arena)
{
    c->periods = efi_arena_get(arena, (size_t)c->timetable->count, sizeof *c->periods);
    if (!c->periods)
        return EF_MEMORY;
    for (int i = 0; i < c->timetable->count; i++) {
        const efi_time_interval *one = &c->timetable->items[i];
        const int64_t day = c->calendar->start.value + one->day;
        const bool on_duty = one->shift >= 0 || one->overtime >= 0;
        if (on_duty && day >= c->first_day && day < c->last_day)
            collect(c, one);
    }
    return EF_OK;
}

ef_status efi_shift_plan_weeks(efi_shift_plan *plan, efi_arena *arena, const efi_line *line,
                               const ef_shift_settings *settings)
{
    const efi_calendar *calendar = line->scenario->calendar;
    const int days = settings->days > 0 ? settings->days : USUAL_DAYS;
    const int64_t from_day = settings->has_from ? settings->from_day : calendar->start.value;
    const int64_t begin_s = (from_day - calendar->start.value) * EFI_DAY_S;
    efi_timetable timetable;
    /* a shift that begins on the last day may end on the next */
    EF_TRY(efi_timetable_build(&timetable, calendar, EFI_WHOLE_PLANT, begin_s,
                               begin_s + (int64_t)(days + 1) * EFI_DAY_S));
    collector c = {.calendar = calendar,
                   .timetable = &timetable,
                   .usual_people = usual_people(line),
                   .begin_s = begin_s,
                   .first_day = from_day,
                   .last_day = from_day + days};
    const ef_status status = collect_all(&c, arena);
    efi_timetable_free(&timetable);
    EF_TRY(status);
    *plan = (efi_shift_plan){.warm_up_h = WARM_UP_DAYS * 24.0,
                             .counted_h = days * 24.0,
                             .parts = 1,
                             .periods = c.periods,
                             .period_count = c.count,
                             .on_calendar = true,
                             .from_s = begin_s - (int64_t)WARM_UP_DAYS * EFI_DAY_S,
                             .from_day = from_day,
                             .days = days};
    return c.count > 0 ? EF_OK : EF_USAGE;
}
