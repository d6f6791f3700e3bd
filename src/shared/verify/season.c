/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a season: times, rules, stores and cost from the scenario and the order of the lots alone,
 * without the engine and without the answer's own code. Taken as given are the order, how far each lot had
 * come at the moment of the plan, planning rates that were simulated or come from the balance, and which of
 * the stores that the rule allows each lot lies in; all that is checked against the scenario is worked out
 * here anew. */
#include "shared/verify/season.h"
#include "base/locale.h"

#include <math.h>
#include <string.h>

/* Hours as the engine counts them, whole seconds. */
static int64_t seconds(double hours)
{
    return (int64_t)(hours * 3600.0 + 0.5);
}

static double given_or(efi_value value, double otherwise)
{
    return value.given ? value.value : otherwise;
}

/* ---- what was asked for ---------------------------------------------------------------------------------
 */

static int64_t moment_or(efi_by_date date, int64_t otherwise)
{
    return date.moment.given ? date.moment.value : otherwise;
}

static const ef_season_rate *rate_of(const efi_season_check *c, int crop, int line)
{
    for (int r = 0; r < c->claim->rate_count; r++) {
        const ef_season_rate *rate = &c->claim->rates[r];
        const char *name = c->scenario->line_count > 0 ? c->scenario->lines[line].name : NULL;
        if (strcmp(rate->crop, c->scenario->crops[crop].name) == 0 &&
            (!name || strcmp(rate->line, name) == 0))
            return rate;
    }
    return NULL;
}

static void check_asked(efi_season_check *c, int l)
{
    const efi_scenario_lot *lot = &c->scenario->lots[l];
    const ef_season_lot *claim = &c->claim->lots[l];
    const efi_crop *crop = &c->scenario->crops[lot->crop];
    const efi_season *season = c->scenario->season;
    const ef_season_rate *rate = rate_of(c, lot->crop, 0);
    const double late_ph = lot->late_ph.given ? lot->late_ph.value
                                              : given_or(season->late_ph, 0.0) * given_or(lot->priority, 1.0);
    c->list->subject = lot->name;
    efi_differ_words(c->list, "name", claim->name, lot->name);
    efi_differ_words(c->list, "crop", claim->crop, crop->name);
    efi_differ_number(c->list, "amount", "t", claim->amount_t, lot->amount_t.value, 1e-9);
    efi_differ_number(c->list, "price of a day late", "", claim->late_per_day, late_ph * 24.0, 1e-9);
    if (claim->due != moment_or(lot->due, EF_SEASON_NONE))
        efi_differ(c->list, "its due moment is not that of the scenario");
    if (claim->latest_start != moment_or(lot->latest_start, EF_SEASON_NONE))
        efi_differ(c->list, "its latest start is not that of the scenario");
    if (!rate) {
        efi_differ(c->list, "its crop has no rate");
        return;
    }
    efi_differ_number(c->list, "product", "t", claim->product_t, lot->amount_t.value * rate->product_share,
                      1e-9);
    if (crop->lot_t.given && crop->lot_t.value > 0.0 &&
        (claim->certification_lots * crop->lot_t.value <
             claim->product_t * (1.0 - 1e-9) - 1e-3 * crop->lot_t.value ||
         (claim->certification_lots > 1 &&
          (claim->certification_lots - 1) * crop->lot_t.value >= claim->product_t)))
        efi_differ(c->list, "%d certification lots do not hold its product as few as can be",
                   claim->certification_lots);
    if (lot->state == EFI_LOT_DONE && claim->state != EF_SEASON_DONE)
        efi_differ(c->list, "it is done, and is planned again");
}

/* ---- one lot on its line --------------------------------------------------------------------------------
 */

static bool has_begun(const efi_season_check *c, int l)
{
    return c->claim->lots[l].state == EF_SEASON_DONE || c->claim->lots[l].state == EF_SEASON_RUNNING;
}

/* The lot that it waits for, -1: none. One that is done on a line nobody knows is not waited for. */
static int waits_for(const efi_season_check *c, int l)
{
    const int after = c->scenario->lots[l].after;
    if (after < 0 || has_begun(c, l))
        return -1;
    if (!c->lot[after].claim &&
        !(c->claim->lots[after].state == EF_SEASON_DONE && c->scenario->lots[after].line >= 0))
        return -1;
    return after;
}

static void find_arrival(const efi_season_check *c, int l, efi_lot_check *lot)
{
    const efi_scenario_lot *of = &c->scenario->lots[l];
    const int64_t own = moment_or(of->arrives_latest, moment_or(of->arrives, c->claim->from));
    const int after = waits_for(c, l);
    lot->arrives = lot->comes = own;
    if (c->claim->lots[l].state == EF_SEASON_RUNNING && own > c->claim->at)
        lot->arrives = lot->comes = c->claim->at;
    if (after < 0)
        return;
    const int64_t end = c->lot[after].claim ? c->lot[after].end : c->claim->at;
    const int64_t ready = end + seconds(given_or(of->wait_h, 0.0));
    lot->comes = end;
    if (!lot->waits_in_vain && ready > own)
        lot->arrives = ready;
}

static void check_rate(const efi_season_check *c, int l, const ef_season_run *run)
{
    const efi_scenario_lot *lot = &c->scenario->lots[l];
    const efi_value *planning = c->scenario->season->rate_tph;
    const ef_season_rate *rate = rate_of(c, lot->crop, run->line);
    double expected = rate ? rate->rate_tph : 0.0;
    if (planning && planning[lot->crop].given)
        expected = planning[lot->crop].value;
    if (lot->rate_tph.given)
        expected = lot->rate_tph.value;
    efi_differ_number(c->list, "planning rate", "t/h", run->rate_tph, expected, 1e-9);
    if (run->rate_source != (lot->rate_tph.given ? EF_SEASON_RATE_LOT
                             : rate              ? rate->source
                                                 : EF_SEASON_RATE_NONE))
        efi_differ(c->list, "its rate is not from where the answer says");
    bool may = lot->lines.count == 0;
    for (int i = 0; i < lot->lines.count; i++)
        may = may || lot->lines.items[i] == run->line;
    if (!may)
        efi_differ(c->list, "it runs on a line that it may not use");
}

static void differ_moment(const efi_season_check *c, const char *what, int64_t claimed, int64_t expected)
{
    if (claimed != expected)
        efi_differ(c->list, "%s: the answer says %lld s, worked out anew it is %lld s from the plan's moment",
                   what, (long long)(claimed - c->claim->at), (long long)(expected - c->claim->at));
}

/* What is cleaned before a lot: hours in whole seconds, and what they cost. */
static efi_rule_check check_cleaning(efi_season_check *c, int l, int before, const ef_season_run *run)
{
    if (has_begun(c, l))
        return (efi_rule_check){0};
    const efi_rule_check rule = efi_season_check_rule(c->scenario, before, l, run->line);
    const bool never = rule.rule && rule.rule->never;
    efi_differ_words(c->list, "rule for cleaning", run->rule, rule.rule ? rule.rule->name : "");
    efi_differ_number(c->list, "hours of cleaning", "h", run->clean_h, rule.clean_h, 1.0 / 3600.0);
    efi_differ_number(c->list, "flushed seed", "t", run->flush_t, rule.flush_t, 1e-9);
    efi_differ_number(c->list, "cost of cleaning", "", run->clean_cost, rule.cost, EFI_VERIFY_MONEY);
    efi_differ_flag(c->list, "must not follow", run->forbidden, never);
    c->forbidden += never;
    c->term[EF_SEASON_CLEANING] += rule.cost;
    return rule;
}

int64_t efi_season_check_frozen(const efi_season_check *c, int l)
{
    const int64_t wanted = moment_or(c->scenario->lots[l].starts, c->claim->at);
    return wanted > c->claim->at ? wanted : c->claim->at;
}

/* From where a line stands to the lot's start. */
static int64_t find_start(efi_season_check *c, int l, int before, int64_t stands, efi_over_check *over,
                          efi_lot_check *lot)
{
    const ef_season_lot *claim = &c->claim->lots[l];
    const efi_work_time *time = &c->time[lot->claim->line];
    const efi_rule_check rule = check_cleaning(c, l, before, lot->claim);
    const int64_t clean_s = seconds(rule.clean_h);
    const bool is_frozen = claim->state == EF_SEASON_FROZEN;
    int64_t at = stands;
    int restarts = 0;
    if (!c->scenario->season->cleaned_before_arrival && !is_frozen && lot->arrives > at)
        at = lot->arrives;
    if (clean_s > 0) {
        differ_moment(c, "cleaning begins", lot->claim->clean_from, efi_work_next(time, at));
        at = efi_work_add(time, at, clean_s, 0, over, &restarts);
        differ_moment(c, "cleaning ends", lot->claim->clean_to, at);
    }
    if (is_frozen) {
        const int64_t wanted = efi_season_check_frozen(c, l);
        if (efi_work_next(time, at) <= efi_work_next(time, wanted))
            return wanted;
        c->forbidden++;
        return efi_work_next(time, at);
    }
    return efi_work_next(time, lot->arrives > at ? lot->arrives : at);
}

static void add_costs(efi_season_check *c, int l, const efi_lot_check *lot, const efi_over_check *over)
{
    const efi_scenario_lot *of = &c->scenario->lots[l];
    const efi_season *season = c->scenario->season;
    const ef_season_run *run = lot->claim;
    const int64_t due = moment_or(of->due, EF_SEASON_NONE);
    const int64_t latest = moment_or(of->latest_start, EF_SEASON_NONE);
    const bool runs = c->claim->lots[l].state == EF_SEASON_RUNNING;
    const double late_days = due != EF_SEASON_NONE && lot->end > due ? (double)(lot->end - due) / 86400.0
                                                                     : 0.0;
    const double wet_days = !runs && latest != EF_SEASON_NONE && lot->start > latest
                                ? (double)(lot->start - latest) / 86400.0
                                : 0.0;
    const double wet_pd = given_or(of->wet_ph, given_or(season->wet_ph, 0.0)) * 24.0;
    const double late = late_days * c->claim->lots[l].late_per_day;
    efi_differ_number(c->list, "days late", "d", run->late_days, late_days, 1e-9);
    efi_differ_number(c->list, "days after the latest start", "d", run->wet_days, wet_days, 1e-9);
    efi_differ_number(c->list, "cost of being late", "", run->late_cost, late, EFI_VERIFY_MONEY);
    efi_differ_number(c->list, "cost of being wet", "", run->wet_cost, wet_days * wet_pd, EFI_VERIFY_MONEY);
    efi_differ_number(c->list, "overtime", "h", run->overtime_h, (double)over->s / 3600.0, 1e-9);
    efi_differ_number(c->list, "cost of overtime", "", run->overtime_cost, over->money, EFI_VERIFY_MONEY);
    c->term[EF_SEASON_LATE] += late;
    c->term[EF_SEASON_WET] += wet_days * wet_pd;
    c->term[EF_SEASON_OVERTIME] += over->money;
}

/* Is some lot a later pass of this one? */
static bool is_first_pass(const efi_season_check *c, int lot)
{
    for (int l = 0; l < c->scenario->lot_count; l++)
        if (c->scenario->lots[l].after == lot)
            return true;
    return false;
}

/* A lot that has run: as the answer says, which must be before the moment of the plan. */
static void note_done(const efi_season_check *c, efi_lot_check *lot)
{
    lot->start = lot->claim->start;
    lot->end = lot->fed = lot->claim->end;
    lot->raw_t = 0.0;
    if (lot->start > c->claim->at || lot->end < lot->start)
        efi_differ(c->list, "it is said to be done before it has run");
}

/* Works out one lot after `before` (-1: none), the line standing at `stands`. */
static void work_out(efi_season_check *c, int l, int before, int64_t *stands)
{
    efi_lot_check *lot = &c->lot[l];
    const ef_season_lot *claim = &c->claim->lots[l];
    const ef_season_run *run = lot->claim;
    const efi_work_time *time = &c->time[run->line];
    efi_over_check over = {0};
    int restarts = 0;
    c->list->subject = c->scenario->lots[l].name;
    lot->is_worked_out = true;
    lot->raw_t = claim->left_t;
    lot->product_t = is_first_pass(c, l) ? 0.0 : claim->product_t;
    if (run->before != before)
        efi_differ(c->list, "another lot runs before it than the answer says");
    if (claim->state == EF_SEASON_DONE) {
        note_done(c, lot);
        if (lot->end == lot->start)
            lot->product_t = 0.0; /* nobody knows when it ended */
        return;
    }
    check_rate(c, l, run);
    find_arrival(c, l, lot);
    int64_t work_s = run->rate_tph > 0.0 ? seconds(claim->left_t / run->rate_tph) : 1;
    work_s = work_s > 0 ? work_s : 1;
    if (c->through[run->line].count > 0) {
        const efi_rule_check rule = check_cleaning(c, l, before, run);
        efi_season_check_pass(c, l, &rule, work_s, &over, &restarts);
    } else {
        lot->start = find_start(c, l, before, *stands, &over, lot);
        lot->end = lot->fed = efi_work_add(time, lot->start, work_s,
                                           seconds(given_or(c->scenario->season->restart_h, 0.0)), &over,
                                           &restarts);
    }
    if (claim->state != EF_SEASON_RUNNING)
        differ_moment(c, "start", run->start, lot->start);
    differ_moment(c, "end", run->end, lot->end);
    efi_differ_count(c->list, "restarts", run->restarts, restarts);
    efi_differ_number(
        c->list, "hours of work", "h", run->work_h,
        (double)(work_s + restarts * seconds(given_or(c->scenario->season->restart_h, 0.0))) / 3600.0, 1e-9);
    efi_differ_flag(c->list, "fits", run->fits, lot->end <= c->claim->to);
    c->forbidden += lot->end > c->claim->to;
    add_costs(c, l, lot, &over);
    *stands = lot->end;
}

/* ---- lines ----------------------------------------------------------------------------------------------
 */

/* How far the walk along a line has come. */
typedef struct at_line {
    int run; /* next of the answer's runs; -1: none is left */
    int before;
    int64_t stands;
} at_line;

/* The run with a place on a line; -1: none. */
static int run_at(const efi_season_check *c, int line, int place)
{
    const bool is_place = place >= 0 && place < c->claim->run_count;
    return is_place ? c->run_of[(size_t)line * (size_t)c->claim->run_count + (size_t)place] : -1;
}

static ef_status index_runs(efi_season_check *c)
{
    const size_t runs = (size_t)c->claim->run_count;
    c->run_of = efi_arena_get(c->arena, (size_t)c->lines * runs, sizeof *c->run_of);
    if (!c->run_of)
        return EF_MEMORY;
    for (size_t i = 0; i < (size_t)c->lines * runs; i++)
        c->run_of[i] = -1;
    for (int r = 0; r < c->claim->run_count; r++) {
        const ef_season_run *run = &c->claim->runs[r];
        if (run->line < 0 || run->line >= c->lines || run->place < 0 || run->place >= c->claim->run_count ||
            run_at(c, run->line, run->place) >= 0)
            efi_differ(c->list, "run %d has a place that is none, or another's", r);
        else
            c->run_of[(size_t)run->line * runs + (size_t)run->place] = r;
    }
    return EF_OK;
}

static bool has_to_wait(const efi_season_check *c, int l)
{
    const int after = waits_for(c, l);
    return after >= 0 && c->lot[after].claim && !c->lot[after].is_worked_out;
}

static void step(efi_season_check *c, int line, at_line *at)
{
    const ef_season_run *run = &c->claim->runs[at->run];
    work_out(c, run->lot, at->before, &at->stands);
    at->before = run->lot;
    at->run = run_at(c, line, run->place + 1);
}

/* A done lot that the answer leaves out, because nobody knows when it ran, is the one that was cleaned after
 * last where no other lot of the line is done. */
static int left_out(const efi_season_check *c, int line)
{
    int found = -1;
    for (int l = 0; l < c->scenario->lot_count; l++) {
        const efi_scenario_lot *lot = &c->scenario->lots[l];
        if (lot->state == EFI_LOT_DONE && lot->line == line && !lot->starts.moment.given)
            found = l;
    }
    return found;
}

/* When the material of each lot comes, now that all ends are known. */
static void find_comings(efi_season_check *c)
{
    for (int l = 0; l < c->scenario->lot_count; l++) {
        const int after = c->lot[l].claim ? waits_for(c, l) : -1;
        if (after >= 0 && c->lot[after].claim)
            c->lot[l].comes = c->lot[after].end;
    }
}

static void check_last(efi_season_check *c, int line, int last)
{
    const ef_season_line *claim = &c->claim->lines[line];
    const efi_rule_check rule = last >= 0 ? efi_season_check_rule(c->scenario, last, -1, line)
                                          : (efi_rule_check){0};
    c->list->subject = claim->name;
    efi_differ_words(c->list, "rule for the last cleaning", claim->last_rule,
                     rule.rule ? rule.rule->name : "");
    efi_differ_number(c->list, "cost of the last cleaning", "", claim->last_clean_cost, rule.cost,
                      EFI_VERIFY_MONEY);
    c->term[EF_SEASON_CLEANING] += rule.cost;
}

/* All lines side by side, since lots may wait for those of another line. */
static void walk_lines(efi_season_check *c)
{
    at_line at[64] = {{0}};
    for (int line = 0; line < c->lines; line++)
        at[line] = (at_line){run_at(c, line, 0), left_out(c, line), c->claim->at};
    for (bool left = true; left;) {
        bool goes = false;
        left = false;
        for (int line = 0; line < c->lines; line++) {
            while (at[line].run >= 0 && !has_to_wait(c, c->claim->runs[at[line].run].lot)) {
                step(c, line, &at[line]);
                goes = true;
            }
            left = left || at[line].run >= 0;
        }
        for (int line = 0; line < c->lines && left && !goes; line++) {
            if (at[line].run < 0)
                continue;
            c->lot[c->claim->runs[at[line].run].lot].waits_in_vain = true;
            c->forbidden++;
            step(c, line, &at[line]);
            goes = true;
        }
    }
    for (int line = 0; line < c->lines; line++)
        check_last(c, line, at[line].before);
}

/* Each lot runs once, or is done. */
static void find_runs(efi_season_check *c)
{
    for (int r = 0; r < c->claim->run_count; r++) {
        const ef_season_run *run = &c->claim->runs[r];
        if (run->lot < 0 || run->lot >= c->scenario->lot_count || run->line < 0 || run->line >= c->lines) {
            efi_differ(c->list, "run %d is of no lot or line of the scenario", r);
            continue;
        }
        c->list->subject = c->scenario->lots[run->lot].name;
        if (c->lot[run->lot].claim)
            efi_differ(c->list, "it runs twice");
        c->lot[run->lot].claim = run;
    }
    for (int l = 0; l < c->scenario->lot_count; l++) {
        c->list->subject = c->scenario->lots[l].name;
        if (!c->lot[l].claim && c->claim->lots[l].state != EF_SEASON_DONE)
            efi_differ(c->list, "it has no run");
    }
    c->list->subject = NULL;
}

/* ---- moved lots -----------------------------------------------------------------------------------------
 */

/* The greatest number of lots of a line that are in the order of the earlier plan. */
static int kept_on(const efi_season_check *c, int line, int *best)
{
    int most = 0;
    for (int place = 0, r; (r = run_at(c, line, place)) >= 0; place++) {
        const ef_season_run *run = &c->claim->runs[r];
        best[r] = 0;
        if (run->was_line != line)
            continue;
        best[r] = 1;
        for (int before = 0; before < place; before++) {
            const int b = run_at(c, line, before);
            if (best[b] >= best[r] && c->claim->runs[b].was_line == line &&
                c->claim->runs[b].was_place < run->was_place)
                best[r] = best[b] + 1;
        }
        most = best[r] > most ? best[r] : most;
    }
    return most;
}

static ef_status check_moves(efi_season_check *c)
{
    const efi_value price = c->scenario->season->move_cost;
    int *best = efi_arena_get(c->arena, (size_t)c->claim->run_count, sizeof *best);
    int planned = 0;
    int marked = 0;
    int kept = 0;
    if (!best)
        return EF_MEMORY;
    for (int r = 0; r < c->claim->run_count; r++) {
        planned += c->claim->runs[r].was_line >= 0;
        marked += c->claim->runs[r].is_moved;
    }
    for (int line = 0; line < c->lines; line++) {
        int last = -1;
        kept += kept_on(c, line, best);
        for (int place = 0, r; (r = run_at(c, line, place)) >= 0; place++) {
            const ef_season_run *run = &c->claim->runs[r];
            if (run->is_moved || run->was_line < 0)
                continue;
            if (run->was_line != line || run->was_place < last)
                efi_differ(c->list, "%s has moved, which is not told", c->scenario->lots[run->lot].name);
            last = run->was_place;
        }
    }
    efi_differ_count(c->list, "moved lots", c->claim->moved_lots, planned - kept);
    efi_differ_count(c->list, "runs told to be moved", marked, planned - kept);
    c->term[EF_SEASON_MOVES] = (planned - kept) * (price.given && !c->claim->kept_order ? price.value : 0.0);
    return EF_OK;
}

/* ---- totals ---------------------------------------------------------------------------------------------
 */

static void check_totals(const efi_season_check *c)
{
    const ef_season *claim = c->claim;
    const double floor = EFI_VERIFY_MONEY * (claim->lot_count + 1);
    double sum = 0.0;
    double bound = 0.0;
    double clean_h = 0.0;
    double flush_t = 0.0;
    double overtime_h = 0.0;
    int late = 0;
    int wet = 0;
    int roomless = 0;
    for (int t = 0; t < EF_SEASON_TERMS; t++) {
        efi_differ_number(c->list, ef_season_term_word((ef_season_term)t), "", claim->cost.term[t],
                          c->term[t], floor);
        sum += claim->cost.term[t];
        bound += claim->bound.term[t];
        if (claim->forbidden == 0 && claim->bound.term[t] > claim->cost.term[t] + floor)
            efi_differ(c->list, "the bound of \"%s\" is above what the plan costs",
                       ef_season_term_word((ef_season_term)t));
    }
    efi_differ_number(c->list, "cost in all", "", claim->cost.total, sum, floor);
    if (claim->bound.total < bound - floor)
        efi_differ(c->list, "the bound in all is below the sum of its terms");
    efi_differ_number(c->list, "gap", "", claim->gap_share,
                      claim->cost.total > 0.0 ? 1.0 - claim->bound.total / claim->cost.total : 0.0, 1e-9);
    efi_differ_count(c->list, "forbidden", claim->forbidden, c->forbidden);
    for (int r = 0; r < claim->run_count; r++) {
        const ef_season_run *run = &claim->runs[r];
        late += run->late_days > 0.0;
        wet += run->wet_days > 0.0;
        roomless += run->raw_missing_t > 0.0 || run->finished_missing_t > 0.0;
        clean_h += run->clean_h;
        flush_t += run->flush_t;
        overtime_h += run->overtime_h;
    }
    efi_differ_count(c->list, "late lots", claim->late_lots, late);
    efi_differ_count(c->list, "wet lots", claim->wet_lots, wet);
    efi_differ_count(c->list, "lots without room", claim->roomless_lots, roomless);
    efi_differ_number(c->list, "hours of cleaning in all", "h", claim->clean_h, clean_h, 1e-9);
    efi_differ_number(c->list, "flushed seed in all", "t", claim->flush_t, flush_t, 1e-9);
    efi_differ_number(c->list, "overtime in all", "h", claim->overtime_h, overtime_h, 1e-9);
    if (claim->has_ours && claim->forbidden == 0 && claim->ours.total > claim->cost.total + floor)
        efi_differ(c->list, "the order that was found costs more than the one it was to better");
}

static void check_chances(const efi_season_check *c)
{
    for (int r = 0; r < c->claim->run_count; r++) {
        const ef_season_run *run = &c->claim->runs[r];
        const double seasons = run->chance_late * c->claim->seasons_simulated;
        c->list->subject = c->scenario->lots[run->lot].name;
        if (run->chance_late >= 0.0 &&
            (run->chance_late > 1.0 || fabs(seasons - floor(seasons + 0.5)) > 1e-6 ||
             c->scenario->lots[run->lot].due.moment.given == false))
            efi_differ(c->list, "its chance of being late is no share of the simulated seasons");
        if (run->chance_late >= 0.0 &&
            (run->late_days_p90 > 0.0) !=
                (run->chance_late * c->claim->seasons_simulated >=
                 c->claim->seasons_simulated - ceil(c->claim->seasons_simulated * 0.9 - 1e-9) + 1.0 - 1e-6))
            efi_differ(c->list, "its days late in one season of ten do not go with its chance");
    }
    c->list->subject = NULL;
}

/* ---- all of it ------------------------------------------------------------------------------------------
 */

static ef_status check_all(efi_season_check *c)
{
    c->lines = c->scenario->line_count > 0 ? c->scenario->line_count : 1;
    if (c->claim->lot_count != c->scenario->lot_count || c->claim->line_count != c->lines) {
        efi_differ(c->list, "lots and lines are not those of the scenario");
        return EF_OK;
    }
    c->lot = efi_arena_get(c->arena, (size_t)c->scenario->lot_count, sizeof *c->lot);
    c->time = efi_arena_get(c->arena, (size_t)c->lines, sizeof *c->time);
    c->through = efi_arena_get(c->arena, (size_t)c->lines, sizeof *c->through);
    if (!c->lot || !c->time || !c->through)
        return EF_MEMORY;
    for (int line = 0; line < c->lines; line++)
        EF_TRY(efi_season_check_time(c, line, &c->time[line]));
    for (int l = 0; l < c->scenario->lot_count; l++)
        check_asked(c, l);
    efi_season_check_rates(c);
    EF_TRY(efi_season_check_ways(c));
    find_runs(c);
    EF_TRY(index_runs(c));
    if (c->list->count > 0)
        return EF_OK; /* without an order there is nothing to work out */
    walk_lines(c);
    find_comings(c);
    efi_season_check_stores(c);
    EF_TRY(check_moves(c));
    check_chances(c);
    check_totals(c);
    return EF_OK;
}

ef_status ef_season_verify(const ef_scenario *scenario, const ef_season *season, char **differences)
{
    efi_locale locale;
    EF_TRY(efi_locale_enter(&locale));
    efi_differences list = {.crop = "the season"};
    efi_season_check c = {.scenario = scenario, .claim = season, .list = &list, .arena = efi_arena_new()};
    ef_status status = c.arena ? check_all(&c) : EF_MEMORY;
    for (int line = 0; c.time && line < c.lines; line++)
        efi_free(c.time[line].span);
    efi_arena_free(c.arena);
    status = efi_differences_end(&list, status, differences);
    efi_locale_leave(&locale);
    return status;
}
