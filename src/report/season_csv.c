/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season as tables for a spreadsheet, and the plan that a person edits and hands back. */
#include "base/date.h"
#include "base/number.h"
#include "report/csv_text.h"
#include "report/report.h"
#include "report/season_view.h"

#include <assert.h>

/* ---- cells ----------------------------------------------------------------------------------------------
 */

/* A number of which nobody needs more than the hundredth; nothing for 0. */
static void add_rounded(efi_text *out, double value)
{
    if (value >= 0.005)
        efi_number_add_significant(out, (double)(long long)(value * 100.0 + 0.5) / 100.0, 12);
    efi_csv_next(out);
}

static void add_moment(efi_text *out, int64_t moment)
{
    efi_season_add_moment(out, moment);
    efi_csv_next(out);
}

static void add_flag(efi_text *out, bool flag)
{
    efi_csv_text_next(out, flag ? "yes" : "no");
}

/* A due moment as it is written by hand: of the end of a day its date. */
static void add_due(efi_text *out, int64_t due)
{
    if (due != EF_SEASON_NONE && efi_moment_clock(due) == 0)
        efi_date_add(out, efi_moment_day(due) - 1);
    else
        efi_season_add_moment(out, due);
    efi_csv_next(out);
}

/* A text that is made for one cell; frees it. */
static void take(efi_text *out, efi_text *words)
{
    efi_csv_text_next(out, efi_text_get(words));
    out->failed = out->failed || words->failed;
    efi_text_free(words);
}

static void add_stores(efi_text *out, const ef_season *season, const int *stores)
{
    efi_text words = {0};
    efi_season_add_stores(&words, season, stores, " + ");
    take(out, &words);
}

static const char *name_of(const ef_season *season, int lot)
{
    return lot >= 0 ? season->lots[lot].name : "";
}

static const ef_season_run *run_of(const ef_season *season, int lot)
{
    for (int r = 0; r < season->run_count; r++)
        if (season->runs[r].lot == lot)
            return &season->runs[r];
    return NULL;
}

/* ---- the plan -------------------------------------------------------------------------------------------
 */

ef_status ef_report_season_plan(const ef_season *season, char **text)
{
    efi_text out = {0};
    efi_text_add(&out, "line,lot,state,crop,variety,class,tonnes,clean-down [h],rule,start,end,from,to,due,"
                       "late [d],note\n");
    for (int r = 0; r < season->run_count; r++) {
        const ef_season_run *run = &season->runs[r];
        const ef_season_lot *lot = &season->lots[run->lot];
        efi_csv_text_next(&out, season->lines[run->line].name);
        efi_csv_text_next(&out, lot->name);
        efi_csv_text_next(&out, efi_season_state_word(lot->state));
        efi_csv_text_next(&out, lot->crop);
        efi_csv_text_next(&out, lot->variety);
        efi_csv_text_next(&out, lot->seed_class);
        efi_csv_number_next(&out, lot->amount_t);
        add_rounded(&out, run->clean_h);
        efi_csv_text_next(&out, run->rule);
        add_moment(&out, run->start);
        add_moment(&out, run->end);
        add_stores(&out, season, run->raw);
        add_stores(&out, season, run->finished);
        add_due(&out, lot->due);
        add_rounded(&out, run->late_days);
        efi_csv_add_text(&out, lot->note);
        efi_csv_end(&out);
    }
    return efi_report_give(&out, text);
}

/* ---- tables ---------------------------------------------------------------------------------------------
 */

static void add_lot(efi_text *out, const ef_season_lot *lot)
{
    const char *const words[] = {lot->name,     lot->crop,  lot->variety, lot->seed_class, lot->treatment,
                                 lot->allergen, lot->trait, lot->colour,  lot->product};
    for (size_t i = 0; i < EF_COUNT(words); i++)
        efi_csv_text_next(out, words[i]);
    efi_csv_text_next(out, efi_season_state_word(lot->state));
    efi_csv_number_next(out, lot->amount_t);
    efi_csv_number_next(out, lot->left_t);
    efi_csv_number_next(out, lot->product_t);
    efi_csv_number_next(out, lot->moisture);
    efi_text_addf(out, "%d,", lot->certification_lots);
    add_moment(out, lot->arrives);
    add_moment(out, lot->arrives_latest);
    add_moment(out, lot->due);
    add_moment(out, lot->latest_start);
    efi_csv_number_next(out, lot->late_per_day);
    efi_csv_number_next(out, lot->wet_per_day);
    efi_csv_text_next(out, lot->after);
    efi_csv_number_next(out, lot->wait_h);
}

/* Nothing in the cell of what is not known. */
static void add_known(efi_text *out, bool known, double value)
{
    if (known)
        efi_csv_add_number(out, value);
    efi_csv_next(out);
}

static void add_run(efi_text *out, const ef_season *season, const ef_season_run *run)
{
    efi_csv_text_next(out, season->lines[run->line].name);
    efi_text_addf(out, "%d,", run->place + 1);
    efi_csv_text_next(out, run->shift);
    add_moment(out, run->start);
    add_moment(out, run->end);
    add_flag(out, run->fits);
    add_flag(out, run->misses_start);
    add_flag(out, run->waits_in_vain);
    efi_csv_number_next(out, run->work_h);
    efi_text_addf(out, "%d,", run->restarts);
    efi_csv_number_next(out, run->rate_tph);
    efi_csv_text_next(out, efi_season_rate_word(run->rate_source));
    add_stores(out, season, run->raw);
    efi_csv_number_next(out, run->raw_missing_t);
    add_stores(out, season, run->finished);
    efi_csv_number_next(out, run->finished_missing_t);
    efi_csv_number_next(out, run->late_days);
    efi_csv_number_next(out, run->wet_days);
    add_known(out, run->chance_late >= 0.0, run->chance_late);
    add_known(out, run->chance_late >= 0.0, run->late_days_p90);
    efi_csv_text_next(out, efi_season_holds_word(run->held_by));
    efi_csv_number_next(out, run->late_cost);
    efi_csv_number_next(out, run->wet_cost);
    efi_csv_number_next(out, run->overtime_h);
    efi_csv_number_next(out, run->overtime_cost);
    efi_csv_number_next(out, run->raw_cost);
    efi_csv_number_next(out, run->finished_cost);
    add_known(out, run->has_earlier, run->earlier_cost);
    add_known(out, run->has_later, run->later_cost);
    add_flag(out, run->is_moved);
}

static void add_lots(efi_text *out, const ef_season *season)
{
    efi_text_add(out, "lot,crop,variety,class,treatment,allergen,trait,colour,product,state,amount_t,left_t,"
                      "product_t,moisture_share,certification_lots,arrives,arrives_latest,due,latest_start,"
                      "late_per_day,wet_per_day,after,wait_h,line,place,shift,start,end,fits,misses_start,"
                      "waits_in_vain,work_h,restarts,"
                      "rate_tph,rate_source,from,raw_missing_t,to,finished_missing_t,late_days,wet_days,"
                      "chance_late_share,late_p90_days,held_by,late_cost,wet_cost,overtime_h,overtime_cost,"
                      "raw_cost,finished_cost,earlier_cost,later_cost,moved,note\n");
    enum {
        RUN_COLUMNS = 30
    };
    for (int l = 0; l < season->lot_count; l++) {
        const ef_season_run *run = run_of(season, l);
        add_lot(out, &season->lots[l]);
        if (run)
            add_run(out, season, run);
        else
            efi_text_fill(out, ',', RUN_COLUMNS);
        efi_csv_add_text(out, season->lots[l].note);
        efi_csv_end(out);
    }
}

static void add_cleaning(efi_text *out, const ef_season *season, const ef_season_run *run)
{
    efi_csv_text_next(out, season->lines[run->line].name);
    efi_text_addf(out, "%d,", run->place + 1);
    efi_csv_text_next(out, name_of(season, run->before));
    efi_csv_text_next(out, name_of(season, run->lot));
    efi_csv_text_next(out, run->rule);
    add_flag(out, run->forbidden);
    add_moment(out, run->clean_from);
    add_moment(out, run->clean_to);
    efi_csv_number_next(out, run->clean_h);
    efi_csv_number_next(out, run->flush_t);
    efi_csv_number_next(out, run->clean_people);
    efi_csv_number_end(out, run->clean_cost);
}

/* The lot that runs last on a line; -1 without one. */
static int last_lot(const ef_season *season, int line)
{
    int last = -1;
    for (int r = 0; r < season->run_count; r++)
        if (season->runs[r].line == line)
            last = season->runs[r].lot;
    return last;
}

static void add_changeovers(efi_text *out, const ef_season *season)
{
    efi_text_add(out, "line,place,from_lot,to_lot,rule,forbidden,start,end,clean_h,flush_t,people,cost\n");
    for (int r = 0; r < season->run_count; r++)
        add_cleaning(out, season, &season->runs[r]);
    for (int l = 0; l < season->line_count; l++) {
        const ef_season_line *line = &season->lines[l];
        if (!efi_season_is_last_cleaned(line))
            continue;
        efi_csv_text_next(out, line->name);
        efi_csv_next(out);
        efi_csv_text_next(out, name_of(season, last_lot(season, l)));
        efi_csv_next(out);
        efi_csv_text_next(out, line->last_rule);
        add_flag(out, false);
        add_moment(out, line->last_clean_from);
        add_moment(out, line->last_clean_to);
        efi_text_add(out, ",,,");
        efi_csv_number_end(out, line->last_clean_cost);
    }
}

static void add_stay_rows(efi_text *out, const ef_season *season)
{
    efi_text_add(out, "store,for,holds_t,holds_m3,shared,clean_h,lot,from,to,amount_t\n");
    for (int i = 0; i < season->stay_count; i++) {
        const ef_season_stay *stay = &season->stays[i];
        const ef_season_store *store = stay->store >= 0 ? &season->stores[stay->store] : NULL;
        efi_csv_text_next(out, store ? store->name : "no room");
        efi_csv_text_next(out, stay->finished ? "finished" : "raw");
        add_known(out, store && store->holds_t > 0.0, store ? store->holds_t : 0.0);
        add_known(out, store && store->holds_m3 > 0.0, store ? store->holds_m3 : 0.0);
        efi_csv_text_next(out, !store ? "" : store->shared ? "yes" : "no");
        add_known(out, store != NULL, store ? store->clean_h : 0.0);
        efi_csv_text_next(out, name_of(season, stay->lot));
        add_moment(out, stay->from);
        add_moment(out, stay->to);
        efi_csv_number_end(out, stay->amount_t);
    }
}

static void add_cost_row(efi_text *out, const ef_season *season, const char *what, double cost, double bound,
                         double ours)
{
    efi_csv_text_next(out, what);
    efi_csv_number_next(out, cost);
    efi_csv_add_number(out, bound);
    if (season->has_ours) {
        efi_csv_next(out);
        efi_csv_add_number(out, ours);
    }
    efi_csv_end(out);
}

static void add_cost(efi_text *out, const ef_season *season)
{
    efi_text_add(out, "what,");
    efi_csv_add_text(out, *season->currency ? season->currency : "money");
    efi_text_add(out, ",no_plan_costs_less_than");
    efi_text_add(out, season->has_ours ? ",ours\n" : "\n");
    for (int t = 0; t < EF_SEASON_TERMS; t++)
        add_cost_row(out, season, ef_season_term_word((ef_season_term)t), season->cost.term[t],
                     season->bound.term[t], season->ours.term[t]);
    add_cost_row(out, season, "together", season->cost.total, season->bound.total, season->ours.total);
}

static void add_lines(efi_text *out, const ef_season *season)
{
    efi_text_add(out, "line,open_h,work_h,clean_h,idle_h,overtime_h\n");
    for (int l = 0; l < season->line_count; l++) {
        const ef_season_line *line = &season->lines[l];
        efi_csv_text_next(out, line->name);
        efi_csv_number_next(out, line->open_h);
        efi_csv_number_next(out, line->work_h);
        efi_csv_number_next(out, line->clean_h);
        efi_csv_number_next(out, line->idle_h);
        efi_csv_number_end(out, line->overtime_h);
    }
}

static void add_rates(efi_text *out, const ef_season *season)
{
    efi_text_add(out, "crop,line,rate_tph,line_share,product_share,source,spread_share\n");
    for (int i = 0; i < season->rate_count; i++) {
        const ef_season_rate *rate = &season->rates[i];
        efi_csv_text_next(out, rate->crop);
        efi_csv_text_next(out, rate->line);
        efi_csv_number_next(out, rate->rate_tph);
        efi_csv_number_next(out, rate->line_share);
        efi_csv_number_next(out, rate->product_share);
        efi_csv_text_next(out, efi_season_rate_word(rate->source));
        efi_csv_number_end(out, rate->spread);
    }
}

static const struct {
    const char *file;
    void (*add)(efi_text *out, const ef_season *season);
} tables[] = {{"lots.csv", add_lots},        {"changeovers.csv", add_changeovers},
              {"stores.csv", add_stay_rows}, {"cost.csv", add_cost},
              {"lines.csv", add_lines},      {"rates.csv", add_rates}};

const char *ef_report_season_table(int index)
{
    return index >= 0 && (size_t)index < EF_COUNT(tables) ? tables[index].file : NULL;
}

ef_status ef_report_season_csv(const ef_season *season, int index, char **text)
{
    efi_text out = {0};
    assert(ef_report_season_table(index) != NULL);
    tables[index].add(&out, season);
    return efi_report_give(&out, text);
}
