/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the calendar says at one moment, and until when. */
#include "shared/calendar/calendar.h"

#include <math.h>

double efi_hours_of(int64_t seconds)
{
    return (double)seconds / EFI_HOUR_S;
}

int64_t efi_seconds_of(double hours)
{
    assert(fabs(hours) <= 1e9);
    return llround(hours * EFI_HOUR_S);
}

int64_t efi_calendar_moment(const efi_calendar *calendar, int64_t second)
{
    return calendar->start.value * EFI_DAY_S + second;
}

/* A moment that is looked at, and the nearest change after it found so far; both moments of base/date.h. */
typedef struct look {
    int64_t at;
    int64_t until;
} look;

/* Does the moment lie within from <= t < to? Notes the ends that lie ahead. */
static bool within(look *l, int64_t from, int64_t to)
{
    if (from > l->at && from < l->until)
        l->until = from;
    if (to > l->at && to < l->until)
        l->until = to;
    return from <= l->at && l->at < to;
}

/* The same for a time of the day that begins on `day`. */
static bool within_clock(look *l, int64_t day, efi_when from, efi_when to)
{
    const int64_t begin = day * EFI_DAY_S + from.value;
    return within(l, begin, begin + efi_clock_span(from.value, to.value));
}

static bool on_weekday(efi_when days, int64_t day)
{
    return (days.value & 1 << efi_day_weekday(day)) != 0;
}

static bool is_holiday(const efi_calendar *c, int64_t day)
{
    for (int i = 0; i < c->holiday_count; i++)
        if (day >= c->holidays[i].date.value && day <= c->holidays[i].last.value)
            return true;
    return false;
}

/* The days whose times may hold at the moment or begin soon after it: nothing lasts longer than a day. */
#define EACH_DAY(l, day) for (int64_t day = efi_moment_day((l)->at) - 1, last_ = day + 2; day <= last_; day++)

static void look_at_shifts(const efi_calendar *c, look *l, efi_time_interval *found)
{
    EACH_DAY(l, day)
    {
        const bool holiday = is_holiday(c, day);
        for (int i = 0; i < c->shift_count && !holiday; i++) {
            const efi_shift *one = &c->shifts[i];
            if (!on_weekday(one->days, day) || !within_clock(l, day, one->from, one->to) ||
                found->shift != EFI_NO_ITEM)
                continue;
            found->state = EFI_TIME_SHIFT;
            found->shift = i;
            found->day = day - c->start.value;
            found->has_people = one->people.given;
            found->people = one->people.given ? one->people.value : 0.0;
        }
    }
}

static void look_at_overtime(const efi_calendar *c, look *l, efi_time_interval *found)
{
    EACH_DAY(l, day)
    for (int i = 0; i < c->overtime_count; i++) {
        const efi_overtime *one = &c->overtimes[i];
        if (day < one->date.value || day > one->last.value || !on_weekday(one->days, day) ||
            !within_clock(l, day, one->from, one->to) || found->state != EFI_TIME_CLOSED)
            continue;
        found->state = EFI_TIME_OVERTIME;
        found->overtime = i;
        found->day = day - c->start.value;
        found->has_people = one->people.given;
        found->people = one->people.given ? one->people.value : 0.0;
    }
}

static void look_at_breaks(const efi_calendar *c, look *l, efi_time_interval *found)
{
    EACH_DAY(l, day)
    for (int i = 0; i < c->break_count; i++) {
        const efi_break *one = &c->breaks[i];
        if (!on_weekday(one->days, day) || !within_clock(l, day, one->from, one->to) ||
            found->state == EFI_TIME_CLOSED)
            continue;
        const bool stops_first = !one->staggered && found->state != EFI_TIME_BREAK;
        if (found->pause == EFI_NO_ITEM || stops_first)
            found->pause = i;
        if (!one->staggered)
            found->state = EFI_TIME_BREAK;
    }
}

static bool concerns(const efi_maintenance *one, int station)
{
    for (int i = 0; i < one->stations.count; i++)
        if (one->stations.items[i] == station)
            return true;
    return one->stations.count == 0;
}

/* Does a recurring maintenance begin on the day? */
static bool begins_on(const efi_maintenance *one, int64_t day)
{
    const int64_t weeks = (efi_day_monday(day) - efi_day_monday(one->first.value)) / EFI_WEEK_DAYS;
    return day >= one->first.value && weeks % one->weeks == 0 && on_weekday(one->days, day);
}

static bool maintained(const efi_maintenance *one, look *l)
{
    if (!efi_maintenance_recurs(one))
        return within(l, one->begin.value, one->end.value);
    bool on = false;
    EACH_DAY(l, day)
    on = (begins_on(one, day) && within_clock(l, day, one->from, one->to)) || on;
    return on;
}

static void look_at_maintenance(const efi_calendar *c, int station, look *l, efi_time_interval *found)
{
    for (int i = 0; i < c->maintenance_count; i++) {
        const efi_maintenance *one = &c->maintenances[i];
        if (!concerns(one, station) || !maintained(one, l) || found->state == EFI_TIME_CLOSED ||
            found->maintenance != EFI_NO_ITEM)
            continue;
        found->maintenance = i;
        found->state = EFI_TIME_MAINTENANCE;
    }
}

efi_time_interval efi_calendar_at(const efi_calendar *calendar, int station, int64_t second)
{
    efi_time_interval found = {.from_s = second,
                               .state = EFI_TIME_CLOSED,
                               .shift = EFI_NO_ITEM,
                               .overtime = EFI_NO_ITEM,
                               .pause = EFI_NO_ITEM,
                               .maintenance = EFI_NO_ITEM};
    look l = {.at = efi_calendar_moment(calendar, second)};
    l.until = (efi_moment_day(l.at) + 1) * EFI_DAY_S; /* all that may change before is looked at */
    look_at_shifts(calendar, &l, &found);
    look_at_overtime(calendar, &l, &found);
    look_at_breaks(calendar, &l, &found);
    look_at_maintenance(calendar, station, &l, &found);
    found.to_s = second + (l.until - l.at);
    return found;
}

int64_t efi_calendar_next_work(const efi_calendar *calendar, int64_t second)
{
    const int64_t last_s = second + INT64_C(3653) * EFI_DAY_S;
    for (int64_t at = second; at < last_s;) {
        const efi_time_interval one = efi_calendar_at(calendar, EFI_WHOLE_PLANT, at);
        if (efi_time_works(one.state))
            return at;
        at = one.to_s;
    }
    return second;
}
