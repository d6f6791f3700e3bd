/* SPDX-License-Identifier: GPL-3.0-or-later
 * Runs, lines, stretches of the calendar, costs. */
#include "answers/season/fill.h"

#include "shared/season/model.h"

#include <string.h>

#define THOUSANDTHS 1000.0

ef_status efi_season_work_out(const efi_season_case *of, const int *lot, const int *first,
                              efi_season_worked *worked)
{
    const size_t lots = (size_t)of->problem.lots;
    worked->order.lot = efi_arena_get(of->arena, lots, sizeof *worked->order.lot);
    worked->run = efi_arena_get(of->arena, lots, sizeof *worked->run);
    if (!worked->order.lot || !worked->run)
        return EF_MEMORY;
    memcpy(worked->order.lot, lot, lots * sizeof *lot);
    memcpy(worked->order.first, first, ((size_t)of->lines + 1) * sizeof *first);
    return efi_season_evaluate(&of->problem, &worked->order, worked->run, &worked->cost);
}

int64_t efi_season_price(int64_t a, int64_t b, int64_t c)
{
    return efi_season_scale(a, b, c);
}

int64_t efi_season_room_price(int64_t kg, int64_t seconds, int64_t price)
{
    if (kg == 0 || seconds <= 0)
        return 0;
    return efi_season_scale(efi_season_scale(kg, seconds, EFI_DAY_S), price, 1000);
}

static double money(int64_t thousandths)
{
    return (double)thousandths / THOUSANDTHS;
}

ef_season_cost efi_season_money(const efi_season_cost *cost)
{
    ef_season_cost found = {.total = money(cost->total)};
    found.term[EF_SEASON_CLEANING] = money(cost->cleaning);
    found.term[EF_SEASON_LATE] = money(cost->late);
    found.term[EF_SEASON_WET] = money(cost->wet);
    found.term[EF_SEASON_OVERTIME] = money(cost->overtime);
    found.term[EF_SEASON_RAW] = money(cost->raw);
    found.term[EF_SEASON_FINISHED] = money(cost->finished);
    found.term[EF_SEASON_MOVES] = money(cost->moves);
    return found;
}

/* ---- one run --------------------------------------------------------------------------------------------
 */

static int64_t moment_of(const efi_season_case *of, int64_t second)
{
    return efi_season_to_moment(of->scenario, second);
}

/* The shift or overtime on duty at a second of a line. */
static const char *shift_at(const efi_season_case *of, int line, int64_t second)
{
    const efi_timetable *time = &of->ahead[line];
    const efi_calendar *calendar = of->scenario->calendar;
    if (second < time->from_s || second >= time->to_s)
        return "";
    const efi_time_interval *one = &time->items[efi_timetable_find(time, second)];
    if (one->shift != EFI_NO_ITEM)
        return calendar->shifts[one->shift].name;
    return one->overtime != EFI_NO_ITEM ? calendar->overtimes[one->overtime].name : "";
}

static ef_season_holds held_by(const efi_season_case *of, const efi_season_worked *worked, int e)
{
    const efi_season_run *run = &worked->run[e];
    const efi_season_lot *lot = &of->problem.lot[e];
    const bool is_first = run->before == of->problem.lots;
    const int64_t begin_s = of->problem.time[run->line]->from_s;
    const int64_t before_s = is_first ? begin_s : worked->run[run->before].fed_s;
    const bool is_begin = before_s <= begin_s;
    const int64_t line_s = is_begin ? begin_s : before_s;
    const bool cleans = run->clean_to_s > run->clean_from_s;
    const bool before = cleans && !of->problem.cleaned_before_arrival;
    const int64_t ready_s = of->problem.cleaned_before_arrival && cleans ? run->clean_to_s : line_s;
    if (lot->fixed_line >= 0)
        return EF_SEASON_HELD_BY_STATE;
    if (run->arrives_s > ready_s) { /* and then at once, or when the plant works again */
        if ((before ? run->clean_from_s : run->start_s) != run->arrives_s)
            return EF_SEASON_HELD_BY_CALENDAR;
        return run->arrives_s > lot->arrives_s ? EF_SEASON_HELD_BY_FIRST_PASS : EF_SEASON_HELD_BY_ARRIVAL;
    }
    if (!is_begin)
        return EF_SEASON_HELD_BY_LINE;
    return (cleans ? run->clean_from_s : run->start_s) > begin_s ? EF_SEASON_HELD_BY_CALENDAR
                                                                 : EF_SEASON_HELD_BY_NOTHING;
}

/* What is cleaned before a lot. */
static void fill_cleaning(const efi_season_case *of, const efi_season_run *from, int e, ef_season_run *run)
{
    const size_t pair = (size_t)from->before * (size_t)(of->problem.lots + 1) + (size_t)e;
    const bool is_first = from->before == of->problem.lots;
    const efi_clean_down clean = efi_season_clean_down(of->scenario,
                                                       is_first ? NULL : &of->lots[of->lot_of[from->before]],
                                                       &of->lots[of->lot_of[e]], from->line);
    const bool cleans = from->clean_to_s > from->clean_from_s;
    run->clean_from = moment_of(of, cleans ? from->clean_from_s : from->start_s);
    run->clean_to = moment_of(of, cleans ? from->clean_to_s : from->start_s);
    run->rule = "";
    run->forbidden = of->line_clean_s[from->line][pair] == EFI_SEASON_NEVER;
    run->misses_start = from->misses_start;
    run->waits_in_vain = from->waits_in_vain;
    run->clean_cost = money(of->line_clean_price[from->line][pair]);
    if (of->now[of->lot_of[e]].state == EF_SEASON_RUNNING || of->now[of->lot_of[e]].state == EF_SEASON_DONE ||
        !clean.rule)
        return;
    run->rule = clean.rule->name;
    run->clean_h = run->forbidden ? 0.0 : efi_hours_of(of->line_clean_s[from->line][pair]);
    run->flush_t = clean.flush_t;
    run->clean_people = clean.people;
}

/* When the material of a lot comes: at its arrival, or at the end of its first pass. */
static int64_t comes_s(const efi_season_case *of, const efi_season_worked *worked, int e)
{
    const efi_season_lot *lot = &of->problem.lot[e];
    if (!of->problem.has_passes || lot->after < 0)
        return lot->arrives_s;
    return worked->run[lot->after].end_s;
}

static void fill_room(const efi_season_case *of, const efi_season_worked *worked, int e, ef_season_run *run)
{
    const efi_season_problem *p = &of->problem;
    const efi_season_run *from = &worked->run[e];
    const int64_t come_s = comes_s(of, worked, e);
    run->raw_missing_t = (double)from->raw_missing_kg / 1000.0;
    run->finished_missing_t = (double)from->finished_missing_kg / 1000.0;
    run->raw_cost = money(efi_season_room_price(from->raw_missing_kg, from->start_s - come_s, p->raw_price));
    run->finished_cost = money(
        efi_season_room_price(from->finished_missing_kg, p->lot[e].leaves_s, p->finished_price));
    for (int i = 0; i < EF_SEASON_MOST_STORES; i++) {
        run->raw[i] = from->raw[i] >= 0 ? of->store_of[0][from->raw[i]] : -1;
        run->finished[i] = from->finished[i] >= 0 ? of->store_of[1][from->finished[i]] : -1;
    }
    const bool lies = p->has_raw && from->start_s - come_s > p->straight_s && p->lot[e].raw_kg > 0;
    run->raw_from = moment_of(of, lies ? come_s : from->start_s);
    run->raw_to = moment_of(of, lies ? from->fed_s : from->start_s);
    const bool stays = p->has_finished && p->lot[e].product_kg > 0;
    run->finished_from = moment_of(of, from->end_s);
    run->finished_to = moment_of(of, from->end_s + (stays ? p->lot[e].leaves_s : 0));
}

static void fill_run(const efi_season_case *of, const efi_season_worked *worked, int e, ef_season_run *run)
{
    const efi_season_problem *p = &of->problem;
    const efi_season_run *from = &worked->run[e];
    const efi_season_lot *lot = &p->lot[e];
    const int64_t work_s = p->work_s[(size_t)from->line * (size_t)p->lots + (size_t)e];
    *run = (ef_season_run){.lot = of->lot_of[e],
                           .line = from->line,
                           .before = from->before < p->lots ? of->lot_of[from->before] : -1,
                           .shift = shift_at(of, from->line, from->start_s),
                           .start = moment_of(of, from->start_s),
                           .end = moment_of(of, from->end_s),
                           .work_h = lot->has_run ? 0.0
                                                  : efi_hours_of(work_s + from->restarts * p->restart_s),
                           .late_cost = money(efi_season_price(from->late_s, lot->late_price, EFI_DAY_S)),
                           .wet_cost = money(efi_season_price(from->wet_s, lot->wet_price, EFI_DAY_S)),
                           .overtime_cost = money(from->overtime),
                           .late_days = (double)from->late_s / EFI_DAY_S,
                           .wet_days = (double)from->wet_s / EFI_DAY_S,
                           .overtime_h = efi_hours_of(from->overtime_s),
                           .restarts = from->restarts,
                           .fits = from->fits,
                           .was_line = lot->was_planned ? lot->was_line : -1,
                           .was_place = lot->was_planned ? lot->was_place : -1,
                           .is_moved = from->is_moved,
                           .chance_late = -1.0,
                           .held_by = held_by(of, worked, e)};
    run->rate_tph = efi_season_rate(of->rates, &of->lots[run->lot], run->line, &run->rate_source);
    fill_cleaning(of, from, e, run);
    fill_room(of, worked, e, run);
    if (of->now[run->lot].state == EF_SEASON_RUNNING && of->now[run->lot].start != EF_SEASON_NONE)
        run->start = run->clean_from = run->clean_to = of->now[run->lot].start;
}

/* ---- runs of all lines ----------------------------------------------------------------------------------
 */

static void fill_line(const efi_season_case *of, const efi_season_worked *worked, int line,
                      ef_season_line *into)
{
    const efi_season_problem *p = &of->problem;
    const efi_timetable *time = p->time[line];
    const efi_season_order *order = &worked->order;
    *into = (ef_season_line){.name = efi_season_line_name(of->scenario, line),
                             .by_station = efi_season_by_station(of, line),
                             .cleared = of->way ? of->way[line].cleared : "",
                             .cleared_by = of->way ? of->way[line].cleared_by : "",
                             .cleared_why = of->way ? of->way[line].cleared_why : "",
                             .last_rule = ""};
    if (order->first[line] == order->first[line + 1])
        return;
    for (int i = order->first[line]; i < order->first[line + 1]; i++) {
        const int e = order->lot[i];
        const efi_season_run *run = &worked->run[e];
        const size_t pair = (size_t)run->before * (size_t)(p->lots + 1) + (size_t)e;
        const int64_t clean_s = of->line_clean_s[line][pair];
        if (p->lot[e].has_run)
            continue;
        into->work_h += efi_hours_of(p->work_s[(size_t)line * (size_t)p->lots + (size_t)e] +
                                     run->restarts * p->restart_s);
        into->clean_h += clean_s > 0 ? efi_hours_of(clean_s) : 0.0;
        into->overtime_h += efi_hours_of(run->overtime_s);
    }
    const int last = order->lot[order->first[line + 1] - 1];
    int64_t end_s = worked->run[last].end_s;
    end_s = end_s < time->from_s ? time->from_s : end_s > time->to_s ? time->to_s : end_s;
    into->open_h = efi_hours_of(efi_timetable_worked(time, time->from_s, end_s));
    into->idle_h = into->open_h - into->work_h - into->clean_h;
    into->idle_h = into->idle_h > 0.0 ? into->idle_h : 0.0;
    const size_t close = (size_t)last * (size_t)(p->lots + 1) + (size_t)p->lots;
    const efi_clean_down clean = efi_season_clean_down(of->scenario, &of->lots[of->lot_of[last]], NULL, line);
    into->last_clean_from = into->last_clean_to = moment_of(of, worked->run[last].end_s);
    if (!clean.rule)
        return;
    int64_t from_s = end_s;
    into->last_rule = clean.rule->name;
    into->last_clean_cost = money(of->line_clean_price[line][close]);
    if (of->line_clean_s[line][close] > 0 && efi_timetable_next_work(time, end_s, &from_s) &&
        efi_timetable_add_work(time, from_s, of->line_clean_s[line][close], &end_s)) {
        into->last_clean_from = moment_of(of, from_s);
        into->last_clean_to = moment_of(of, end_s);
    }
}

/* Lots that are done nobody knows when are left out. */
static bool is_shown(const efi_season_case *of, int e)
{
    const efi_lot_now *now = &of->now[of->lot_of[e]];
    return now->state != EF_SEASON_DONE || now->start != EF_SEASON_NONE;
}

static ef_status fill_runs(const efi_season_case *of, const efi_season_worked *worked, ef_season *season)
{
    const efi_season_order *order = &worked->order;
    ef_season_run *runs = efi_arena_get(of->arena, (size_t)of->lot_count, sizeof *runs);
    ef_season_line *lines = efi_arena_get(of->arena, (size_t)of->lines, sizeof *lines);
    if (!runs || !lines)
        return EF_MEMORY;
    season->runs = runs;
    for (int line = 0; line < of->lines; line++) {
        ef_season_run *first = &runs[season->run_count];
        for (int i = order->first[line]; i < order->first[line + 1]; i++)
            if (is_shown(of, order->lot[i]))
                fill_run(of, worked, order->lot[i], &runs[season->run_count++]);
        for (int place = 0; first + place < runs + season->run_count; place++)
            first[place].place = place;
        fill_line(of, worked, line, &lines[line]);
    }
    season->lines = lines;
    season->line_count = of->lines;
    return efi_season_fill_cleaned(of, worked, runs, season->run_count, lines);
}

/* ---- totals and stretches -------------------------------------------------------------------------------
 */

static void fill_totals(const efi_season_case *of, const efi_season_worked *worked, ef_season *season)
{
    season->end = of->at;
    season->forbidden = worked->cost.forbidden;
    season->cost = efi_season_money(&worked->cost);
    for (int r = 0; r < season->run_count; r++) {
        const ef_season_run *run = &season->runs[r];
        season->late_lots += run->late_days > 0.0;
        season->wet_lots += run->wet_days > 0.0;
        season->roomless_lots += run->raw_missing_t > 0.0 || run->finished_missing_t > 0.0;
        season->late_days += run->late_days;
        season->clean_h += run->clean_h;
        season->flush_t += run->flush_t;
        season->overtime_h += run->overtime_h;
        season->end = run->end > season->end ? run->end : season->end;
        season->moved_lots += run->is_moved;
    }
}

static ef_season_time time_of(const efi_time_interval *one)
{
    switch (one->state) {
    case EFI_TIME_SHIFT:
        return EF_SEASON_SHIFT;
    case EFI_TIME_OVERTIME:
        return EF_SEASON_OVERTIME_TIME;
    case EFI_TIME_BREAK:
        return EF_SEASON_BREAK;
    case EFI_TIME_MAINTENANCE:
        return efi_time_is_daily(one) ? EF_SEASON_DAILY_CLEAN : EF_SEASON_MAINTENANCE;
    case EFI_TIME_CLOSED:
        break;
    }
    return EF_SEASON_CLOSED;
}

static ef_status fill_stretches(const efi_season_case *of, ef_season *season)
{
    size_t most = 0;
    for (int line = 0; line < of->lines; line++)
        most += (size_t)of->time[line].count;
    ef_season_stretch *list = efi_arena_get(of->arena, most, sizeof *list);
    if (!list)
        return EF_MEMORY;
    int count = 0;
    for (int line = 0; line < of->lines; line++) {
        const efi_timetable *time = &of->time[line];
        const int first = count;
        for (int i = 0; i < time->count && moment_of(of, time->items[i].from_s) < season->end; i++) {
            const ef_season_stretch one = {.line = line,
                                           .from = moment_of(of, time->items[i].from_s),
                                           .to = moment_of(of, time->items[i].to_s),
                                           .state = time_of(&time->items[i])};
            if (count > first && list[count - 1].state == one.state)
                list[count - 1].to = one.to;
            else
                list[count++] = one;
        }
    }
    season->stretches = list;
    season->stretch_count = count;
    return EF_OK;
}

ef_status efi_season_fill(const efi_season_case *of, const efi_season_worked *worked, ef_season *season)
{
    const ef_scenario *scenario = of->scenario;
    season->plant = scenario->plant->name;
    season->scenario_file = scenario->tree.sources[0].name;
    season->currency = scenario->currency;
    season->seed = of->settings->seed;
    season->from = of->from;
    season->to = of->to;
    season->at = of->at;
    for (int line = 0; of->way && line < of->lines; line++)
        season->cleared_lines = season->cleared_lines || !efi_season_by_station(of, line);
    EF_TRY(efi_season_fill_lots(of, season));
    EF_TRY(efi_season_fill_passages(of, season));
    EF_TRY(fill_runs(of, worked, season));
    EF_TRY(efi_season_fill_stays(of, worked, season));
    fill_totals(of, worked, season);
    return fill_stretches(of, season);
}
