/* SPDX-License-Identifier: GPL-3.0-or-later
 * The working time of each line. */
#include "answers/season/problem.h"

/* Is the station named by some maintenance, and does it concern the line? */
static bool concerns(const ef_scenario *scenario, int station, int line)
{
    const efi_calendar *calendar = scenario->calendar;
    const int its_line = scenario->stations[station].line;
    if (scenario->line_count > 0 && its_line >= 0 && its_line != line)
        return false;
    for (int m = 0; m < calendar->maintenance_count; m++) {
        const efi_station_list *list = &calendar->maintenances[m].stations;
        for (int i = 0; i < list->count; i++)
            if (list->items[i] == station)
                return true;
    }
    return false;
}

/* The interval of the line at a second: the plant's, or that of the first station that is in maintenance. */
static efi_time_interval interval_at(const ef_scenario *scenario, int line, int64_t second)
{
    efi_time_interval found = efi_calendar_at(scenario->calendar, EFI_WHOLE_PLANT, second);
    int64_t to_s = found.to_s;
    for (int s = 0; s < scenario->station_count; s++) {
        if (!concerns(scenario, s, line))
            continue;
        const efi_time_interval one = efi_calendar_at(scenario->calendar, s, second);
        to_s = one.to_s < to_s ? one.to_s : to_s;
        if (one.state == EFI_TIME_MAINTENANCE && found.state != EFI_TIME_MAINTENANCE)
            found = one;
    }
    found.to_s = to_s;
    return found;
}

typedef struct collector {
    efi_timetable *time;
    size_t room;
    int64_t day;     /* whose first work is being cleaned for */
    int64_t clean_s; /* still to be taken off it */
    int64_t daily_s;
    bool failed;
} collector;

static bool same_kind(const efi_time_interval *a, const efi_time_interval *b)
{
    return a->to_s == b->from_s && a->state == b->state && a->shift == b->shift &&
           a->overtime == b->overtime && a->pause == b->pause && a->maintenance == b->maintenance &&
           a->day == b->day;
}

static void add(collector *c, efi_time_interval one)
{
    efi_timetable *t = c->time;
    if (one.from_s < t->from_s)
        one.from_s = t->from_s;
    if (c->failed || one.to_s <= one.from_s)
        return;
    if (t->count > 0 && same_kind(&t->items[t->count - 1], &one)) {
        t->items[t->count - 1].to_s = one.to_s;
        return;
    }
    c->failed = efi_grow(&t->items, (size_t)t->count, &c->room, sizeof *t->items) != 0;
    if (!c->failed)
        t->items[t->count++] = one;
}

/* Adds an interval, the cleaning of the day taken off its beginning. */
static void add_cleaned(collector *c, efi_time_interval one)
{
    if (efi_time_works(one.state)) {
        if (one.day != c->day)
            c->clean_s = c->daily_s;
        c->day = one.day;
        const int64_t length_s = one.to_s - one.from_s;
        const int64_t off_s = c->clean_s < length_s ? c->clean_s : length_s;
        efi_time_interval cleaning = one;
        cleaning.to_s = one.from_s + off_s;
        cleaning.state = EFI_TIME_MAINTENANCE;
        c->clean_s -= off_s;
        one.from_s = cleaning.to_s;
        add(c, cleaning);
    }
    add(c, one);
}

bool efi_time_is_daily(const efi_time_interval *one)
{
    return one->state == EFI_TIME_MAINTENANCE && one->maintenance == EFI_NO_ITEM;
}

static ef_status close_table(efi_timetable *time)
{
    time->worked_s = efi_new((size_t)time->count + 1, sizeof *time->worked_s);
    if (!time->worked_s)
        return EF_MEMORY;
    for (int i = 0; i < time->count; i++) {
        const efi_time_interval *one = &time->items[i];
        time->worked_s[i + 1] = time->worked_s[i] +
                                (efi_time_works(one->state) ? one->to_s - one->from_s : 0);
    }
    return EF_OK;
}

ef_status efi_season_time(const ef_scenario *scenario, int line, int64_t from, int64_t to,
                          efi_timetable *time)
{
    const efi_value daily_h = scenario->season->daily_clean_h;
    efi_timetable built = {.from_s = efi_season_to_second(scenario, from),
                           .to_s = efi_season_to_second(scenario, to)};
    collector c = {.time = &built,
                   .day = INT64_MIN,
                   .daily_s = daily_h.given ? efi_season_whole(daily_h.value, EFI_HOUR_S) : 0};
    /* from two days before, so that the first work of a day that has begun is known */
    for (int64_t at = built.from_s - 2 * EFI_DAY_S; at < built.to_s && !c.failed;) {
        efi_time_interval one = interval_at(scenario, line, at);
        at = one.to_s;
        if (one.to_s > built.to_s)
            one.to_s = built.to_s;
        add_cleaned(&c, one);
    }
    const ef_status status = c.failed ? EF_MEMORY : close_table(&built);
    if (status == EF_OK)
        *time = built;
    else
        efi_timetable_free(&built);
    return status;
}

/* ---- overtime -------------------------------------------------------------------------------------------
 */

#define MOST_PRICE (INT64_C(1) << 30) /* that the engine takes */

static double price_ph(const ef_scenario *scenario, const efi_overtime *one)
{
    const efi_plant *plant = scenario->plant;
    const efi_value people = one->people.given ? one->people : plant->people;
    double price = one->cost_ph.given ? one->cost_ph.value : 0.0;
    if (plant->labour_price.given && people.given)
        price += plant->labour_price.value * people.value *
                 (one->price_factor.given ? one->price_factor.value : 1.0);
    return price;
}

ef_status efi_season_price_overtime(efi_season_case *of)
{
    const efi_calendar *calendar = of->scenario->calendar;
    const int count = calendar ? calendar->overtime_count : 0;
    int64_t *price = efi_arena_get(of->arena, (size_t)count, sizeof *price);
    if (!price)
        return EF_MEMORY;
    for (int i = 0; i < count; i++) {
        const int64_t mine = efi_season_whole(price_ph(of->scenario, &calendar->overtimes[i]), 1000.0);
        price[i] = mine < MOST_PRICE ? mine : MOST_PRICE;
    }
    of->problem.overtime_prices = price;
    of->problem.overtimes = count;
    return EF_OK;
}
