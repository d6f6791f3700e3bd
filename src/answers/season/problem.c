/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answers/season/problem.h"

#include "base/text.h"
#include "base/tongue.h"

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
        efi_text_add(&words, EFI_TR("the scenario has no lots; they belong under `lots`"));
    else if (of->lot_count > EFI_SEASON_MOST_LOTS)
        efi_text_addf(&words, "the scenario has %d lots; a season is planned for %d at the most",
                      of->lot_count, (int)EFI_SEASON_MOST_LOTS);
    else if (of->lines > EFI_SEASON_MOST_LINES)
        efi_text_addf(&words, "the plant has %d lines; a season is planned for %d at the most", of->lines,
                      (int)EFI_SEASON_MOST_LINES);
    else if (of->at >= of->to)
        efi_text_add(&words, EFI_TR("the season has ended by the moment from which it is to be planned"));
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

/* Lots that take part, in the order of the case: all but those that are done nobody knows on which line. */
static ef_status number_lots(efi_season_case *of, char **reason)
{
    efi_text words = {0};
    bool any = false;
    of->lot_of = efi_arena_get(of->arena, (size_t)of->lot_count, sizeof *of->lot_of);
    if (!of->lot_of)
        return EF_MEMORY;
    for (int l = 0; l < of->lot_count; l++) {
        const bool is_done = of->now[l].state == EF_SEASON_DONE;
        of->now[l].engine = -1;
        if (is_done && (of->now[l].line < 0 || of->now[l].line >= of->lines))
            continue;
        any = any || !is_done;
        of->now[l].engine = of->problem.lots;
        of->lot_of[of->problem.lots++] = l;
    }
    if (any)
        return EF_OK;
    efi_text_add(&words, EFI_TR("all lots are done"));
    return refuse(&words, reason);
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

/* Does a done or running lot come before another on its line? Running ones come last. */
static bool comes_before(const efi_lot_now *a, const efi_lot_now *b)
{
    if (a->state != b->state)
        return a->state == EF_SEASON_DONE;
    const int64_t mine = a->start == EF_SEASON_NONE ? INT64_MIN : a->start;
    const int64_t theirs = b->start == EF_SEASON_NONE ? INT64_MIN : b->start;
    return mine < theirs || (mine == theirs && a < b);
}

static bool has_begun(const efi_lot_now *now)
{
    return now->state == EF_SEASON_DONE || now->state == EF_SEASON_RUNNING;
}

/* Lots that have begun come first on their line, those that have ended with the times they had; a frozen one
 * keeps its line and start. */
static void fix(const efi_season_case *of, const efi_lot_now *now, efi_season_lot *lot)
{
    const int64_t at_s = efi_season_to_second(of->scenario, of->at);
    if (now->state == EF_SEASON_WAITING)
        return;
    lot->fixed_line = now->line >= 0 ? now->line : 0;
    if (now->state == EF_SEASON_FROZEN) {
        lot->fixed_place = -1;
        lot->fixed_start_s = now->start == EF_SEASON_NONE || now->start < of->at
                                 ? at_s
                                 : efi_season_to_second(of->scenario, now->start);
        return;
    }
    for (int l = 0; l < of->lot_count; l++)
        lot->fixed_place += of->now[l].line == now->line && has_begun(&of->now[l]) &&
                            comes_before(&of->now[l], now);
    if (now->state == EF_SEASON_RUNNING) { /* it is there, and its start is past */
        lot->arrives_s = lot->arrives_s > at_s ? at_s : lot->arrives_s;
        lot->latest_start_s = EFI_SEASON_NONE;
        return;
    }
    const int64_t end = now->end == EF_SEASON_NONE ? now->start : now->end;
    lot->has_run = true;
    lot->fixed_start_s = now->start == EF_SEASON_NONE ? at_s : efi_season_to_second(of->scenario, now->start);
    lot->ended_s = end == EF_SEASON_NONE ? at_s : efi_season_to_second(of->scenario, end);
    lot->ended_s = lot->ended_s < lot->fixed_start_s ? lot->fixed_start_s : lot->ended_s;
    lot->raw_kg = 0;
    lot->late_price = lot->wet_price = 0;
    if (now->end == EF_SEASON_NONE) /* nobody knows whether its product is still there */
        lot->product_kg = 0;
}

/* Where the plan that is taken up has a lot. */
static void note_planned(const efi_season_case *of, int l, efi_season_lot *into)
{
    const ef_season_plan *plan = of->settings->plan;
    for (int line = 0; plan && line < plan->line_count; line++) {
        for (int i = 0; i < plan->lines[line].count; i++) {
            if (plan->lines[line].lots[i].lot != l)
                continue;
            into->was_planned = true;
            into->was_line = line;
            into->was_place = i;
        }
    }
}

/* Kilograms in a cubic metre of a crop; as much as water where nobody says. */
static int64_t density_of(const efi_season_case *of, int crop)
{
    const efi_value density = of->scenario->crops[crop].density_tpm3;
    const int64_t kgpm3 = efi_season_whole(value_or(density, 1.0), KILOS);
    return kgpm3 > 0 ? kgpm3 : 1;
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
        .raw_kgpm3 = density_of(of, lot->crop),
        .product_kgpm3 = density_of(of, lot->crop),
        .fixed_line = -1,
        .fixed_start_s = EFI_SEASON_NONE,
        .after = -1};
    fix(of, now, into);
    note_planned(of, l, into);
    const int after = lot->after;
    if (after < 0 || after >= of->lot_count)
        return;
    const int64_t wait_s = efi_season_whole(value_or(lot->wait_h, 0.0), EFI_HOUR_S);
    into->after = of->now[after].engine;
    into->after_s = wait_s;
    if (has_begun(now)) /* it did not wait, or no longer does */
        into->after = -1;
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
            const bool is_done = of->now[l].state == EF_SEASON_DONE;
            const bool may = (rate_tph > 0.0 || is_done) && (fixed < 0 || fixed == line);
            const int64_t work_s = may && !is_done
                                       ? efi_season_whole(of->now[l].left_t / rate_tph, EFI_HOUR_S)
                                       : 0;
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

static ef_status fill_table(efi_season_case *of, int line)
{
    const int lots = of->problem.lots;
    const size_t side = (size_t)lots + 1;
    int64_t *hours = efi_arena_get(of->arena, side * side, sizeof *hours);
    int64_t *price = efi_arena_get(of->arena, side * side, sizeof *price);
    if (!hours || !price)
        return EF_MEMORY;
    of->line_clean_s[line] = hours;
    of->line_clean_price[line] = price;
    for (int from = 0; from <= lots; from++) {
        for (int to = 0; to <= lots; to++) {
            if (from == to || (to < lots && has_begun(&of->now[of->lot_of[to]])))
                continue;
            const efi_clean_down clean = efi_season_clean_down(
                of->scenario, from < lots ? &of->lots[of->lot_of[from]] : NULL,
                to < lots ? &of->lots[of->lot_of[to]] : NULL, line);
            const size_t pair = (size_t)from * side + (size_t)to;
            hours[pair] = clean.never ? EFI_SEASON_NEVER : efi_season_whole(clean.clean_h, EFI_HOUR_S);
            price[pair] = efi_season_whole(clean.cost, MONEY);
        }
    }
    return EF_OK;
}

static ef_status fill_cleaning(efi_season_case *of)
{
    const bool by_line = efi_season_rules_by_line(of->scenario);
    of->line_clean_s = efi_arena_get(of->arena, (size_t)of->lines, sizeof *of->line_clean_s);
    of->line_clean_price = efi_arena_get(of->arena, (size_t)of->lines, sizeof *of->line_clean_price);
    if (!of->line_clean_s || !of->line_clean_price)
        return EF_MEMORY;
    for (int line = 0; line < of->lines; line++) {
        of->line_clean_s[line] = of->line_clean_s[0];
        of->line_clean_price[line] = of->line_clean_price[0];
        if (line == 0 || by_line)
            EF_TRY(fill_table(of, line));
    }
    of->problem.clean_s = of->line_clean_s[0];
    of->problem.clean_price = of->line_clean_price[0];
    if (by_line) {
        of->problem.line_clean_s = (const int64_t *const *)of->line_clean_s;
        of->problem.line_clean_price = (const int64_t *const *)of->line_clean_price;
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

static ef_status fill_prices(efi_season_case *of)
{
    const efi_season *season = of->scenario->season;
    efi_season_problem *p = &of->problem;
    p->cleaned_before_arrival = season->cleaned_before_arrival;
    p->restart_s = efi_season_whole(value_or(season->restart_h, 0.0), EFI_HOUR_S);
    p->straight_s = efi_season_whole(value_or(season->straight_h, 0.0), EFI_HOUR_S);
    p->raw_price = efi_season_whole(value_or(season->no_room_pth, 0.0), 24.0 * MONEY);
    p->finished_price = p->raw_price;
    /* beside an order that is only priced any other may be laid out */
    p->move_price = of->settings->keep_order ? 0 : efi_season_whole(value_or(season->move_cost, 0.0), MONEY);
    return efi_season_price_overtime(of);
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
    EF_TRY(efi_season_fill_stations(of));
    EF_TRY(fill_prices(of));
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
