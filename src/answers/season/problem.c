/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answers/season/problem.h"

#include "base/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MONEY 1000.0 /* thousandths */
#define KILOS 1000.0

int64_t efi_season_whole(double value, double per)
{
    const double whole = value * per;
    if (!(whole > 0.0))
        return 0;
    return whole < (double)EFI_SEASON_MOST ? llround(whole) : EFI_SEASON_MOST;
}

int64_t efi_season_to_second(const ef_scenario *scenario, int64_t moment)
{
    return moment - scenario->calendar->start.value * EFI_DAY_S;
}

int64_t efi_season_to_moment(const ef_scenario *scenario, int64_t second)
{
    return second + scenario->calendar->start.value * EFI_DAY_S;
}

static double value_or(efi_value value, double otherwise)
{
    return value.given ? value.value : otherwise;
}

/* ---- reasons --------------------------------------------------------------------------------------------
 */

static ef_status refuse(efi_text *words, char **reason)
{
    if (words->failed || !reason) {
        const bool failed = words->failed;
        efi_text_free(words);
        return failed ? EF_MEMORY : EF_NO_ANSWER;
    }
    *reason = words->bytes;
    return EF_NO_ANSWER;
}

static ef_status check_sizes(const efi_season_case *of, char **reason)
{
    efi_text words = {0};
    if (of->lot_count == 0)
        efi_text_add(&words, "the scenario has no lots; they belong under `lots`");
    else if (of->lot_count > EFI_SEASON_MOST_LOTS)
        efi_text_addf(&words, "the scenario has %d lots; a season is planned for %d at the most",
                      of->lot_count, (int)EFI_SEASON_MOST_LOTS);
    else if (of->lines > EFI_SEASON_MOST_LINES)
        efi_text_addf(&words, "the plant has %d lines; a season is planned for %d at the most", of->lines,
                      (int)EFI_SEASON_MOST_LINES);
    else if (of->at >= of->to)
        efi_text_add(&words, "the season has ended by the moment from which it is to be planned");
    else
        return EF_OK;
    return refuse(&words, reason);
}

static ef_status check_stores(const efi_season_case *of, char **reason)
{
    efi_text words = {0};
    if (of->problem.raws <= EFI_SEASON_MOST_STORES && of->problem.finisheds <= EFI_SEASON_MOST_STORES)
        return EF_OK;
    efi_text_addf(&words, "there are more than %d stores of a kind; describe small ones together",
                  (int)EFI_SEASON_MOST_STORES);
    return refuse(&words, reason);
}

/* Why no line can run a lot. */
static ef_status refuse_lot(const efi_season_case *of, const efi_scenario_lot *lot, char **reason)
{
    efi_text words = {0};
    bool passes = false;
    for (int line = 0; line < of->lines; line++)
        passes = passes || of->rates->crop[lot->crop].passes[line];
    efi_text_addf(&words, "no line can run lot %s: ", lot->name);
    if (!passes)
        efi_text_addf(&words, "%s passes none of them", of->scenario->crops[lot->crop].name);
    else if (lot->lines.count > 0)
        efi_text_addf(&words, "those that it may use have no rate for %s",
                      of->scenario->crops[lot->crop].name);
    else
        efi_text_addf(&words,
                      "the balance finds no rate for %s; see evenfeed balance, or give a planning rate",
                      of->scenario->crops[lot->crop].name);
    return refuse(&words, reason);
}

/* ---- which lots -----------------------------------------------------------------------------------------
 */

/* Lots that take part, in the order of the case. */
static ef_status number_lots(efi_season_case *of, char **reason)
{
    efi_text words = {0};
    of->lot_of = efi_arena_get(of->arena, (size_t)of->lot_count, sizeof *of->lot_of);
    if (!of->lot_of)
        return EF_MEMORY;
    for (int l = 0; l < of->lot_count; l++) {
        of->now[l].engine = -1;
        if (of->now[l].state == EF_SEASON_DONE)
            continue;
        of->now[l].engine = of->problem.lots;
        of->lot_of[of->problem.lots++] = l;
    }
    if (of->problem.lots > 0)
        return EF_OK;
    efi_text_add(&words, "all lots are done");
    return refuse(&words, reason);
}

/* The lot that a line has been cleaned after last: the done one that ended last; -1: none is known. */
static int last_done(const efi_season_case *of, int line)
{
    int last = -1;
    for (int l = 0; l < of->lot_count; l++) {
        const efi_lot_now *now = &of->now[l];
        if (now->state != EF_SEASON_DONE || now->line != line)
            continue;
        const int64_t mine = now->start == EF_SEASON_NONE ? INT64_MIN : now->start;
        const int64_t theirs = last < 0 || of->now[last].start == EF_SEASON_NONE ? INT64_MIN
                                                                                 : of->now[last].start;
        if (last < 0 || mine >= theirs)
            last = l;
    }
    return last;
}

/* ---- lots -----------------------------------------------------------------------------------------------
 */

static int64_t arrival_of(const efi_season_case *of, const efi_scenario_lot *lot)
{
    if (lot->arrives_latest.moment.given)
        return lot->arrives_latest.moment.value;
    return lot->arrives.moment.given ? lot->arrives.moment.value : of->from;
}

static int64_t limit_of(const efi_season_case *of, efi_by_date date)
{
    return date.moment.given ? efi_season_to_second(of->scenario, date.moment.value) : EFI_SEASON_NONE;
}

/* Does some lot come after it? Then its material goes on to lie in a raw store, and leaves no product. */
static bool is_first_pass(const efi_season_case *of, int lot)
{
    for (int l = 0; l < of->lot_count; l++)
        if (of->lots[l].after == lot)
            return true;
    return false;
}

static void fix(const efi_season_case *of, const efi_lot_now *now, efi_season_lot *lot)
{
    if (now->state != EF_SEASON_RUNNING && now->state != EF_SEASON_FROZEN)
        return;
    lot->fixed_line = now->line >= 0 ? now->line : 0;
    if (now->state == EF_SEASON_RUNNING)
        return;
    for (int l = 0; l < of->lot_count; l++) {
        const efi_lot_now *other = &of->now[l];
        lot->fixed_place += other->state == EF_SEASON_RUNNING ||
                            (other->state == EF_SEASON_FROZEN &&
                             (other->start < now->start || (other->start == now->start && other < now)));
    }
    if (now->start != EF_SEASON_NONE)
        lot->fixed_start_s = efi_season_to_second(of->scenario, now->start < of->at ? of->at : now->start);
}

static void fill_lot(const efi_season_case *of, int l, efi_season_lot *into)
{
    const efi_season *season = of->scenario->season;
    const efi_scenario_lot *lot = &of->lots[l];
    const efi_lot_now *now = &of->now[l];
    const double late_ph = lot->late_ph.given ? lot->late_ph.value
                                              : value_or(season->late_ph, 0.0) * value_or(lot->priority, 1.0);
    const double product_t = lot->amount_t.value * of->rates->crop[lot->crop].product_share;
    *into = (efi_season_lot){
        .arrives_s = efi_season_to_second(of->scenario, arrival_of(of, lot)),
        .due_s = limit_of(of, lot->due),
        .latest_start_s = limit_of(of, lot->latest_start),
        .late_price = efi_season_whole(late_ph, 24.0 * MONEY),
        .wet_price = efi_season_whole(value_or(lot->wet_ph, value_or(season->wet_ph, 0.0)), 24.0 * MONEY),
        .raw_kg = efi_season_whole(now->left_t, KILOS),
        .product_kg = is_first_pass(of, l) ? 0 : efi_season_whole(product_t, KILOS),
        .leaves_s = efi_season_whole(value_or(season->collected_h, 0.0), EFI_HOUR_S),
        .fixed_line = -1,
        .fixed_start_s = EFI_SEASON_NONE,
        .after = -1};
    fix(of, now, into);
    const int after = lot->after;
    if (after < 0 || after >= of->lot_count)
        return;
    const int64_t wait_s = efi_season_whole(value_or(lot->wait_h, 0.0), EFI_HOUR_S);
    into->after = of->now[after].engine;
    into->after_s = wait_s;
    if (into->after < 0 && of->now[after].end != EF_SEASON_NONE) {
        const int64_t ready_s = efi_season_to_second(of->scenario, of->now[after].end) + wait_s;
        into->arrives_s = ready_s > into->arrives_s ? ready_s : into->arrives_s;
    }
}

/* Hours of work of each lot on each line. */
static ef_status fill_work(efi_season_case *of, char **reason)
{
    const size_t lots = (size_t)of->problem.lots;
    int64_t *work = efi_arena_get(of->arena, lots * (size_t)of->lines, sizeof *work);
    if (!work)
        return EF_MEMORY;
    of->problem.work_s = work;
    for (int e = 0; e < of->problem.lots; e++) {
        const int l = of->lot_of[e];
        const int fixed = of->problem.lot[e].fixed_line;
        bool runs = false;
        for (int line = 0; line < of->lines; line++) {
            ef_season_rate_source source;
            const double rate_tph = efi_season_rate(of->rates, &of->lots[l], line, &source);
            const bool may = rate_tph > 0.0 && (fixed < 0 || fixed == line);
            const int64_t work_s = may ? efi_season_whole(of->now[l].left_t / rate_tph, EFI_HOUR_S) : 0;
            work[(size_t)line * lots + (size_t)e] = !may ? EFI_SEASON_NEVER : work_s > 0 ? work_s : 1;
            runs = runs || may;
        }
        if (!runs)
            return refuse_lot(of, &of->lots[l], reason);
    }
    return EF_OK;
}

static ef_status fill_lots(efi_season_case *of)
{
    efi_season_lot *lots = efi_arena_get(of->arena, (size_t)of->problem.lots, sizeof *lots);
    if (!lots)
        return EF_MEMORY;
    for (int e = 0; e < of->problem.lots; e++) {
        fill_lot(of, of->lot_of[e], &lots[e]);
        of->problem.has_passes = of->problem.has_passes || lots[e].after >= 0;
    }
    of->problem.lot = lots;
    return EF_OK;
}

/* ---- changeovers ----------------------------------------------------------------------------------------
 */

static ef_status fill_cleaning(efi_season_case *of)
{
    const int side = of->problem.lots + 1;
    const int done = last_done(of, 0);
    int64_t *hours = efi_arena_get(of->arena, (size_t)side * (size_t)side, sizeof *hours);
    int64_t *price = efi_arena_get(of->arena, (size_t)side * (size_t)side, sizeof *price);
    if (!hours || !price)
        return EF_MEMORY;
    of->problem.clean_s = hours;
    of->problem.clean_price = price;
    for (int from = 0; from < side; from++) {
        for (int to = 0; to < side; to++) {
            const int before = from < side - 1 ? of->lot_of[from] : done;
            const bool is_running = to < side - 1 && of->now[of->lot_of[to]].state == EF_SEASON_RUNNING;
            if (from == to || is_running)
                continue;
            const efi_clean_down clean = efi_season_clean_down(
                of->scenario, before >= 0 ? &of->lots[before] : NULL,
                to < side - 1 ? &of->lots[of->lot_of[to]] : NULL, 0);
            const size_t pair = (size_t)from * (size_t)side + (size_t)to;
            hours[pair] = clean.never ? EFI_SEASON_NEVER : efi_season_whole(clean.clean_h, EFI_HOUR_S);
            price[pair] = efi_season_whole(clean.cost, MONEY);
        }
    }
    return EF_OK;
}

/* ---- all of it ------------------------------------------------------------------------------------------
 */

static ef_status build_times(efi_season_case *of)
{
    const int64_t first = of->from < of->at ? of->from : of->at;
    const efi_timetable **ahead = efi_arena_get(of->arena, (size_t)of->lines, sizeof *ahead);
    of->time = efi_arena_get(of->arena, (size_t)of->lines, sizeof *of->time);
    of->ahead = efi_arena_get(of->arena, (size_t)of->lines, sizeof *of->ahead);
    if (!ahead || !of->time || !of->ahead)
        return EF_MEMORY;
    for (int line = 0; line < of->lines; line++) {
        EF_TRY(efi_season_time(of->scenario, line, first, of->to, &of->time[line]));
        EF_TRY(efi_season_time(of->scenario, line, of->at, of->to, &of->ahead[line]));
        ahead[line] = &of->ahead[line];
    }
    of->problem.time = ahead;
    return EF_OK;
}

static void find_span(efi_season_case *of)
{
    const efi_season *season = of->scenario->season;
    const int64_t first_day = season->from.given ? season->from.value : of->scenario->calendar->start.value;
    const int64_t last_day = season->to.given ? season->to.value : first_day + 365;
    of->from = first_day * EFI_DAY_S;
    of->to = (last_day + 1) * EFI_DAY_S;
    of->at = of->settings->has_at ? of->settings->at : of->from;
}

static void fill_prices(efi_season_case *of)
{
    const efi_season *season = of->scenario->season;
    efi_season_problem *p = &of->problem;
    p->cleaned_before_arrival = season->cleaned_before_arrival;
    p->restart_s = efi_season_whole(value_or(season->restart_h, 0.0), EFI_HOUR_S);
    p->straight_s = efi_season_whole(value_or(season->straight_h, 0.0), EFI_HOUR_S);
    p->overtime_price = efi_season_overtime_price(of);
    p->raw_price = efi_season_whole(value_or(season->no_room_pth, 0.0), 24.0 * MONEY);
    p->finished_price = p->raw_price;
}

ef_status efi_season_case_build(efi_season_case *of, char **reason)
{
    of->lines = efi_season_lines(of->scenario);
    find_span(of);
    EF_TRY(check_sizes(of, reason));
    of->problem.lines = of->lines;
    EF_TRY(build_times(of));
    EF_TRY(efi_season_find_states(of));
    EF_TRY(efi_season_find_stores(of));
    EF_TRY(check_stores(of, reason));
    EF_TRY(number_lots(of, reason));
    EF_TRY(fill_lots(of));
    EF_TRY(fill_work(of, reason));
    EF_TRY(fill_cleaning(of));
    fill_prices(of);
    return EF_OK;
}

void efi_season_case_free(efi_season_case *of)
{
    for (int line = 0; line < of->lines; line++) {
        if (of->time)
            efi_timetable_free(&of->time[line]);
        if (of->ahead)
            efi_timetable_free(&of->ahead[line]);
    }
}
