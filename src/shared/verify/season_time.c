/* SPDX-License-Identifier: GPL-3.0-or-later
 * Working time of a line, from the calendar of the scenario: looked at between any two of its clock times. */
#include "shared/verify/season.h"

#include <stdlib.h>

#define DAY_S INT64_C(86400)

static int64_t day_of(int64_t moment)
{
    return moment >= 0 ? moment / DAY_S : -((-moment + DAY_S - 1) / DAY_S);
}

/* Monday is 0; 1970-01-01 was a Thursday. */
static int weekday_of(int64_t day)
{
    return (int)(((day + 3) % 7 + 7) % 7);
}

static bool has_day(efi_when days, int64_t day)
{
    return ((uint64_t)days.value >> weekday_of(day) & 1u) != 0;
}

/* Does what begins on `day` at `from` and lasts until `to` cover the moment? */
static bool covers(int64_t day, efi_when from, efi_when to, int64_t moment)
{
    int64_t length_s = to.value - from.value;
    if (length_s < 0)
        length_s += DAY_S;
    const int64_t begin = day * DAY_S + from.value;
    return moment >= begin && moment - begin < length_s;
}

static bool is_holiday(const efi_calendar *calendar, int64_t day)
{
    for (int h = 0; h < calendar->holiday_count; h++)
        if (calendar->holidays[h].date.value <= day && day <= calendar->holidays[h].last.value)
            return true;
    return false;
}

/* What is on duty at a moment: the day to which it belongs; overtime -1 for a shift. */
typedef struct duty {
    bool on;
    int64_t day;
    int overtime;
} duty;

static duty duty_at(const efi_calendar *calendar, int64_t moment)
{
    const int64_t today = day_of(moment);
    for (int64_t day = today - 1; day <= today; day++)
        for (int s = 0; s < calendar->shift_count && !is_holiday(calendar, day); s++)
            if (has_day(calendar->shifts[s].days, day) &&
                covers(day, calendar->shifts[s].from, calendar->shifts[s].to, moment))
                return (duty){true, day, -1};
    for (int64_t day = today - 1; day <= today; day++) {
        for (int o = 0; o < calendar->overtime_count; o++) {
            const efi_overtime *one = &calendar->overtimes[o];
            if (one->date.value <= day && day <= one->last.value && has_day(one->days, day) &&
                covers(day, one->from, one->to, moment))
                return (duty){true, day, o};
        }
    }
    return (duty){.overtime = -1};
}

static bool is_break(const efi_calendar *calendar, int64_t moment)
{
    const int64_t today = day_of(moment);
    for (int64_t day = today - 1; day <= today; day++)
        for (int b = 0; b < calendar->break_count; b++)
            if (!calendar->breaks[b].staggered && has_day(calendar->breaks[b].days, day) &&
                covers(day, calendar->breaks[b].from, calendar->breaks[b].to, moment))
                return true;
    return false;
}

static bool is_on(const efi_maintenance *one, int64_t moment)
{
    if (!one->days.given)
        return one->begin.value <= moment && moment < one->end.value;
    const int64_t first_monday = one->first.value - weekday_of(one->first.value);
    const int64_t today = day_of(moment);
    for (int64_t day = today - 1; day <= today; day++) {
        const int64_t week = (day - weekday_of(day) - first_monday) / 7;
        if (day >= one->first.value && week % one->weeks == 0 && has_day(one->days, day) &&
            covers(day, one->from, one->to, moment))
            return true;
    }
    return false;
}

/* Does a maintenance concern a line: the whole plant, one of its stations, or a shared one? */
static bool concerns(const ef_scenario *scenario, const efi_maintenance *one, int line)
{
    for (int i = 0; i < one->stations.count; i++) {
        const int of = scenario->stations[one->stations.items[i]].line;
        if (scenario->line_count == 0 || of < 0 || of == line)
            return true;
    }
    return one->stations.count == 0;
}

static bool is_maintained(const ef_scenario *scenario, int line, int64_t moment)
{
    const efi_calendar *calendar = scenario->calendar;
    for (int m = 0; m < calendar->maintenance_count; m++)
        if (concerns(scenario, &calendar->maintenances[m], line) && is_on(&calendar->maintenances[m], moment))
            return true;
    return false;
}

/* ---- clock times ----------------------------------------------------------------------------------------
 */

typedef struct times {
    int64_t *at;
    size_t count, room;
    bool failed;
} times;

static void add_time(times *list, int64_t moment)
{
    if (list->failed)
        return;
    list->failed = efi_grow(&list->at, list->count, &list->room, sizeof *list->at) != 0;
    if (!list->failed)
        list->at[list->count++] = moment;
}

static void add_clock(times *list, int64_t day, efi_when from, efi_when to)
{
    add_time(list, day * DAY_S + from.value);
    add_time(list, day * DAY_S + to.value);
}

static int by_time(const void *left, const void *right)
{
    const int64_t a = *(const int64_t *)left;
    const int64_t b = *(const int64_t *)right;
    return a < b ? -1 : a > b;
}

static void collect_times(const efi_calendar *calendar, int64_t from, int64_t to, times *list)
{
    for (int64_t day = day_of(from); day <= day_of(to) + 1; day++) {
        add_time(list, day * DAY_S);
        for (int i = 0; i < calendar->shift_count; i++)
            add_clock(list, day, calendar->shifts[i].from, calendar->shifts[i].to);
        for (int i = 0; i < calendar->overtime_count; i++)
            add_clock(list, day, calendar->overtimes[i].from, calendar->overtimes[i].to);
        for (int i = 0; i < calendar->break_count; i++)
            add_clock(list, day, calendar->breaks[i].from, calendar->breaks[i].to);
        for (int i = 0; i < calendar->maintenance_count; i++)
            if (calendar->maintenances[i].days.given)
                add_clock(list, day, calendar->maintenances[i].from, calendar->maintenances[i].to);
    }
    for (int i = 0; i < calendar->maintenance_count; i++) {
        if (!calendar->maintenances[i].days.given) {
            add_time(list, calendar->maintenances[i].begin.value);
            add_time(list, calendar->maintenances[i].end.value);
        }
    }
    if (!list->failed)
        qsort(list->at, list->count, sizeof *list->at, by_time);
}

/* ---- spans ----------------------------------------------------------------------------------------------
 */

typedef struct maker {
    efi_work_time *time;
    size_t room;
    int64_t day, clean_s; /* of the daily cleaning: for which day, what is still to be taken off */
    bool failed;
} maker;

/* Money for an hour of an overtime; -1: a shift. */
static double price_at(const ef_scenario *scenario, int overtime)
{
    if (overtime < 0)
        return 0.0;
    const efi_overtime *one = &scenario->calendar->overtimes[overtime];
    const efi_plant *plant = scenario->plant;
    const efi_value people = one->people.given ? one->people : plant->people;
    const double price = one->cost_ph.given ? one->cost_ph.value : 0.0;
    if (!people.given || !plant->labour_price.given)
        return price;
    return price + people.value * plant->labour_price.value *
                       (one->price_factor.given ? one->price_factor.value : 1.0);
}

static void add_span(maker *m, efi_work_span span)
{
    efi_work_time *time = m->time;
    if (span.to <= span.from || m->failed)
        return;
    if (time->count > 0) {
        efi_work_span *last = &time->span[time->count - 1];
        if (last->to == span.from && last->overtime == span.overtime) {
            last->to = span.to;
            return;
        }
    }
    m->failed = efi_grow(&time->span, (size_t)time->count, &m->room, sizeof *time->span) != 0;
    if (!m->failed)
        time->span[time->count++] = span;
}

ef_status efi_season_check_time(const efi_season_check *c, int line, efi_work_time *time)
{
    const ef_scenario *scenario = c->scenario;
    const int64_t from = c->claim->at;
    const int64_t to = c->claim->to;
    const efi_value daily_h = scenario->season->daily_clean_h;
    const int64_t daily_s = daily_h.given ? (int64_t)(daily_h.value * 3600.0 + 0.5) : 0;
    maker m = {.time = time, .day = INT64_MIN};
    times list = {0};
    collect_times(scenario->calendar, from - 2 * DAY_S, to, &list);
    for (size_t i = 0; !list.failed && i + 1 < list.count; i++) {
        const duty on = duty_at(scenario->calendar, list.at[i]);
        efi_work_span span = {list.at[i], list.at[i + 1], on.overtime >= 0, on.overtime,
                              price_at(scenario, on.overtime)};
        if (!on.on || is_break(scenario->calendar, list.at[i]) || is_maintained(scenario, line, list.at[i]) ||
            span.from == span.to)
            continue;
        if (on.day != m.day)
            m.clean_s = daily_s;
        m.day = on.day;
        const int64_t off_s = m.clean_s < span.to - span.from ? m.clean_s : span.to - span.from;
        m.clean_s -= off_s;
        span.from += off_s;
        span.from = span.from < from ? from : span.from;
        span.to = span.to > to ? to : span.to;
        add_span(&m, span);
    }
    m.failed = m.failed || list.failed;
    efi_free(list.at);
    add_span(&m, (efi_work_span){to, INT64_MAX, false, -2, 0.0});
    return m.failed ? EF_MEMORY : EF_OK;
}

int64_t efi_work_next(const efi_work_time *time, int64_t moment)
{
    for (int i = 0; i < time->count; i++)
        if (time->span[i].to > moment)
            return time->span[i].from > moment ? time->span[i].from : moment;
    return moment;
}

void efi_over_add(efi_over_check *over, const efi_work_span *span, int64_t seconds)
{
    over->s += span->is_overtime ? seconds : 0;
    over->money += (double)seconds / 3600.0 * span->price_ph;
}

int64_t efi_work_add(const efi_work_time *time, int64_t moment, int64_t work_s, int64_t restart_s,
                     efi_over_check *over, int *restarts)
{
    int64_t left_s = work_s;
    for (int i = 0; i < time->count && left_s > 0; i++) {
        const efi_work_span *span = &time->span[i];
        if (span->to <= moment)
            continue;
        const bool pause = span->from > moment;
        const int64_t begin = pause ? span->from : moment;
        if (pause && left_s < work_s) {
            left_s += restart_s;
            work_s += restart_s;
            *restarts += 1;
        }
        const int64_t most_s = span->to - begin;
        const int64_t done_s = left_s < most_s ? left_s : most_s;
        efi_over_add(over, span, done_s);
        left_s -= done_s;
        moment = begin + done_s;
    }
    return moment;
}
