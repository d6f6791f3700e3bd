/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season for a scheduler: costs, rates, certification, stores, and what else to know. */
#include "base/number.h"
#include "report/season_view.h"

#include <string.h>

/* ---- costs ----------------------------------------------------------------------------------------------
 */

static void add_money(efi_paper *paper, const efi_season_view *v, double money)
{
    efi_paper_number(paper, &v->money, money);
}

static void add_cost_row(efi_paper *paper, const efi_season_view *v, const char *word, double cost,
                         double bound, double ours)
{
    efi_paper_cell(paper, word);
    add_money(paper, v, cost);
    if (v->season->has_ours) {
        add_money(paper, v, ours);
        add_money(paper, v, cost - ours);
    }
    add_money(paper, v, bound);
}

void efi_season_add_costs(efi_paper *paper, const efi_season_view *v)
{
    const ef_season *season = v->season;
    const efi_column plain[] = {{.title = "What", .align = 'l'},
                                {.title = "Cost", .align = 'r'},
                                {.title = "At least", .align = 'r'},
                                {.title = "That is", .align = 'l'}};
    const efi_column compared[] = {{.title = "What", .align = 'l'},     {.title = "As given", .align = 'r'},
                                   {.title = "Ours", .align = 'r'},     {.title = "Difference", .align = 'r'},
                                   {.title = "At least", .align = 'r'}, {.title = "That is", .align = 'l'}};
    efi_text caption = {0};
    efi_text_addf(&caption, "Costs in %s; \"at least\" is what no plan comes below", v->money.name);
    if (season->gap_share > 0.0) {
        efi_text_add(&caption, "; the gap is ");
        efi_number_add_fixed(&caption, season->gap_share * 100.0, 1);
        efi_text_add(&caption, " %");
    }
    const efi_table_form form = {.name = "costs"};
    efi_paper_table_say(paper, &form, &caption, season->has_ours ? compared : plain,
                        season->has_ours ? (int)EF_COUNT(compared) : (int)EF_COUNT(plain));
    for (int t = 0; t < EF_SEASON_TERMS; t++) {
        if (t == EF_SEASON_MOVES && !season->has_previous)
            continue;
        add_cost_row(paper, v, ef_season_term_word((ef_season_term)t), season->cost.term[t],
                     season->bound.term[t], season->ours.term[t]);
        efi_paper_cell(paper, ef_season_term_meaning((ef_season_term)t));
    }
    add_cost_row(paper, v, "together", season->cost.total, season->bound.total, season->ours.total);
    efi_paper_strong(paper);
    efi_paper_cell(paper, NULL);
    efi_paper_gap(paper);
}

/* ---- rates ----------------------------------------------------------------------------------------------
 */

/* Where the lines' shares of a rate come from, if any line has but a part. */
static void add_shares(efi_paper *paper, const ef_season *season)
{
    bool parts = false;
    for (int i = 0; i < season->rate_count; i++)
        parts = parts || (season->rates[i].line_share > 0.0 && season->rates[i].line_share < 1.0 - 1e-9);
    if (parts)
        efi_paper_words(
            paper, EFI_DETAIL,
            "Each line has the share of the plant's rate that it takes in a steady balance in which "
            "all lines run. Where a split is free, other shares may do as well: shares given at the "
            "split, or a lot's own rate, go before.");
}

static void add_rates(efi_paper *paper, const efi_season_view *v)
{
    const ef_season *season = v->season;
    const efi_column columns[] = {{.title = "Crop", .align = 'l'},   {.title = "Line", .align = 'l'},
                                  {.title = "Rate", .align = 'r'},   {.title = "Product", .align = 'r'},
                                  {.title = "Spread", .align = 'r'}, {.title = "From", .align = 'l'}};
    const efi_table_form form = {.name = "rates",
                                 .caption = "Planning rates: intake an hour of work, stops included; the "
                                            "share that becomes product; the spread from shift to shift"};
    if (season->rate_count == 0)
        return;
    efi_paper_table(paper, &form, columns, (int)EF_COUNT(columns));
    for (int i = 0; i < season->rate_count; i++) {
        const ef_season_rate *rate = &season->rates[i];
        efi_text words = {0};
        efi_paper_cell(paper, rate->crop);
        efi_paper_cell(paper, rate->line);
        if (rate->source == EF_SEASON_RATE_NONE) {
            efi_paper_cell(paper, NULL);
            efi_paper_cell(paper, NULL);
        } else {
            efi_display_add_alone(&words, EFI_KIND_MASS_RATE, v->units, rate->rate_tph,
                                  efi_season_trade_weight(season, rate->crop), NULL);
            efi_paper_take(paper, &words);
            efi_paper_value(paper, rate->rate_tph, 3, "t/h");
            efi_paper_percent(paper, rate->product_share, 1);
        }
        if (rate->spread > 0.0)
            efi_paper_percent(paper, rate->spread, 1);
        else
            efi_paper_cell(paper, NULL);
        efi_paper_cell(paper, efi_season_rate_word(rate->source));
    }
    add_shares(paper, season);
    efi_paper_gap(paper);
}

/* ---- certification --------------------------------------------------------------------------------------
 */

static void add_certification(efi_paper *paper, const efi_season_view *v)
{
    const ef_season *season = v->season;
    efi_text words = {0};
    int lots = 0;
    int parts = 0;
    bool first = true;
    for (int l = 0; l < season->lot_count; l++) {
        lots += season->lots[l].certification_lots > 0;
        parts += season->lots[l].certification_lots;
    }
    if (lots == 0)
        return;
    efi_text_add(&words, "By the greatest weight of a certification lot the product of ");
    efi_season_add_lots(&words, lots);
    efi_text_addf(&words, " makes %d certification lot%s; runs are not cut for that.", parts,
                  parts == 1 ? "" : "s");
    for (int l = 0; l < season->lot_count; l++) {
        if (season->lots[l].certification_lots < 2)
            continue;
        efi_text_addf(&words, "%s%s %d", first ? " More than one: " : ", ", season->lots[l].name,
                      season->lots[l].certification_lots);
        first = false;
    }
    if (!first)
        efi_text_add(&words, ".");
    efi_paper_say(paper, EFI_DETAIL, &words);
    efi_paper_gap(paper);
}

/* ---- stores ---------------------------------------------------------------------------------------------
 */

static void add_holds(efi_paper *paper, const efi_season_view *v, const ef_season_store *store)
{
    efi_text words = {0};
    const bool by_mass = store->holds_t > 0.0;
    const double holds = by_mass ? store->holds_t : store->holds_m3;
    efi_display_add_alone(&words, by_mass ? EFI_KIND_MASS : EFI_KIND_VOLUME, v->units, holds, 0.0, NULL);
    efi_paper_take(paper, &words);
    efi_paper_value(paper, holds, 3, by_mass ? "t" : "m3");
}

static int count_stays(const ef_season *season, int store)
{
    int count = 0;
    for (int i = 0; i < season->stay_count; i++)
        count += season->stays[i].store == store;
    return count;
}

static void add_stores(efi_paper *paper, const efi_season_view *v)
{
    const ef_season *season = v->season;
    const efi_column columns[] = {{.title = "Store", .align = 'l'}, {.title = "For", .align = 'l'},
                                  {.title = "Holds", .align = 'r'}, {.title = "Most at once", .align = 'r'},
                                  {.title = "Lots", .align = 'r'},  {.title = "Cleaning", .align = 'r'}};
    const efi_table_form form = {.name = "stores", .caption = "Stores over the season"};
    if (season->store_count == 0)
        return;
    efi_paper_table(paper, &form, columns, (int)EF_COUNT(columns));
    for (int s = 0; s < season->store_count; s++) {
        const ef_season_store *store = &season->stores[s];
        efi_text words = {0};
        efi_paper_cell(paper, store->name);
        efi_paper_cell(paper,
                       store->finished ? (store->shared ? "finished, several lots" : "finished") : "raw");
        add_holds(paper, v, store);
        efi_display_add_alone(&words, EFI_KIND_MASS, v->units, store->most_t, 0.0, NULL);
        efi_paper_take(paper, &words);
        efi_paper_value(paper, store->most_t, 3, "t");
        efi_paper_count(paper, count_stays(season, s));
        if (store->clean_h > 0.0)
            efi_paper_duration(paper, store->clean_h);
        else
            efi_paper_cell(paper, NULL);
    }
    efi_paper_gap(paper);
}

/* ---- moves ----------------------------------------------------------------------------------------------
 */

static void add_moves(efi_paper *paper, const efi_season_view *v)
{
    const ef_season *season = v->season;
    efi_text words = {0};
    if (!season->has_previous || season->moved_lots == 0)
        return;
    bool first = true;
    efi_text_add(&words, "Moved against the plan that was taken up: ");
    for (int r = 0; r < season->run_count; r++) {
        if (!season->runs[r].is_moved)
            continue;
        efi_text_addf(&words, "%s%s", first ? "" : ", ", season->lots[season->runs[r].lot].name);
        first = false;
    }
    efi_text_add(&words, "; that is counted at ");
    efi_season_add_money(&words, v, season->cost.term[EF_SEASON_MOVES]);
    efi_text_add(&words, ".");
    efi_paper_say(paper, EFI_DETAIL, &words);
    efi_paper_gap(paper);
}

/* ---- what else to know ----------------------------------------------------------------------------------
 */

static const char cautions[] = "Isolate and lock out before any cleaning. Entering a bin, pit or leg is "
                               "confined-space entry: permit, air "
                               "test, somebody on watch and a way out, by local rules. Seed and grain dust "
                               "can explode: no open flame, no "
                               "blowing down with air. Local codes come before any time in this plan.";
static const char treated[] = "Lots here are treated: treated seed, its sweepings and flushed seed stay out "
                              "of food and feed, and labels "
                              "and protective gear follow the product's own rules.";

static bool any_treated(const ef_season *season)
{
    for (int l = 0; l < season->lot_count; l++)
        if (*season->lots[l].treatment)
            return true;
    return false;
}

static void add_notes(efi_paper *paper, const efi_season_view *v)
{
    const ef_season *season = v->season;
    efi_text words = {0};
    bool by_station = false;
    paper->depth = 0;
    for (int l = 0; l < season->line_count; l++)
        by_station = by_station || season->lines[l].by_station;
    if (by_station)
        efi_text_add(
            &words,
            "Cleaned station by station, a lot enters the line while the one before still runs further on, "
            "so "
            "their times overlap. Lock out each station by itself, and whatever could feed it, while its "
            "neighbours run. ");
    for (int l = 0; l < season->line_count; l++) {
        const ef_season_line *line = &season->lines[l];
        if (line->cleared && *line->cleared)
            efi_text_addf(&words,
                          "The scenario cleans station by station, but %s is cleared as a whole before the "
                          "next lot enters, which loses no less time: %s. ",
                          season->line_count > 1 ? line->name : "the line", line->cleared);
    }
    if (season->seasons_simulated > 0)
        efi_text_addf(&words,
                      "Chances of being late come from %d simulated seasons in this order, with the rates "
                      "scattered as simulated shifts scatter. ",
                      season->seasons_simulated);
    efi_text_addf(
        &words,
        "The search took %d round%s; the same scenario with --seed %llu --steps %llu gives the same "
        "plan again.",
        season->rounds, season->rounds == 1 ? "" : "s", (unsigned long long)season->seed,
        (unsigned long long)season->steps);
    efi_paper_say(paper, EFI_NOTE, &words);
    efi_paper_words(paper, EFI_CAUTION, cautions);
    if (any_treated(season))
        efi_paper_words(paper, EFI_CAUTION, treated);
}

void efi_season_add_tables(efi_paper *paper, const efi_season_view *v)
{
    efi_season_add_costs(paper, v);
    add_rates(paper, v);
    add_certification(paper, v);
    add_stores(paper, v);
    add_moves(paper, v);
    add_notes(paper, v);
}
