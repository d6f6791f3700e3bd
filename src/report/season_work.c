/* SPDX-License-Identifier: GPL-3.0-or-later
 * The order of work of a season for a spreadsheet: one table, a row for each run, moments as moments and
 * amounts in one unit, so that it can be sorted, filtered and counted. */
#include "base/number.h"
#include "report/season_view.h"

static void add_moment(efi_paper *paper, bool known, int64_t moment)
{
    efi_text words = {0};
    if (known) {
        efi_season_add_when(&words, moment);
        efi_paper_take(paper, &words);
        efi_paper_moment(paper, moment);
    } else {
        efi_paper_cell(paper, NULL);
    }
}

static void add_number(efi_paper *paper, double value, int decimals, const char *unit)
{
    efi_text words = {0};
    efi_number_add_fixed(&words, value, decimals);
    efi_paper_take(paper, &words);
    efi_paper_value(paper, value, decimals, unit);
}

static void add_names(efi_paper *paper, const ef_season *season, const int *stores, double missing_t)
{
    efi_text words = {0};
    efi_season_add_stores(&words, season, stores, " + ");
    if (missing_t > 0.0) {
        efi_text_add(&words, words.length ? "; NO ROOM " : "NO ROOM ");
        efi_number_add_fixed(&words, missing_t, 1);
        efi_text_add(&words, " t");
    }
    efi_paper_take(paper, &words);
    if (missing_t > 0.0)
        efi_paper_strong(paper);
}

static void add_run(efi_paper *paper, const ef_season *season, const ef_season_run *run)
{
    const ef_season_lot *lot = &season->lots[run->lot];
    const bool late = run->late_days > 0.0;
    const bool cleaned = efi_season_is_cleaned(run);
    efi_text kind = {0};
    efi_paper_cell(paper, season->lines[run->line].name);
    efi_paper_count(paper, run->place + 1);
    efi_paper_cell(paper, lot->name);
    efi_season_add_kind(&kind, lot);
    efi_paper_take(paper, &kind);
    efi_paper_cell(paper, lot->treatment);
    add_moment(paper, cleaned, run->clean_from);
    efi_paper_cell(paper, run->forbidden ? "FORBIDDEN" : cleaned ? run->rule : "");
    add_moment(paper, true, run->start);
    add_moment(paper, true, run->end);
    add_number(paper, lot->state == EF_SEASON_DONE ? lot->amount_t : lot->left_t, 3, "t");
    add_number(paper, lot->product_t, 3, "t");
    add_names(paper, season, run->raw, run->raw_missing_t);
    add_names(paper, season, run->finished, run->finished_missing_t);
    add_moment(paper, lot->due != EF_SEASON_NONE, lot->due);
    add_number(paper, run->late_days, 2, "d");
    if (late)
        efi_paper_strong(paper);
    if (run->chance_late >= 0.0)
        efi_paper_percent(paper, run->chance_late, 0);
    else
        efi_paper_cell(paper, NULL);
}

void efi_season_work_put(efi_paper *paper, const ef_season *season)
{
    static const efi_column columns[] = {
        {"Line", 'l', 0, false},        {"Place", 'r', 0, false},     {"Lot", 'l', 0, false},
        {"What", 'l', 0, false},        {"Treatment", 'l', 0, false}, {"Clean-down from", 'l', 0, false},
        {"By the rule", 'l', 0, false}, {"Starts", 'l', 0, false},    {"Ends", 'l', 0, false},
        {"Amount", 'r', 0, false},      {"Product", 'r', 0, false},   {"From", 'l', 0, false},
        {"To", 'l', 0, false},          {"Due", 'l', 0, false},       {"Late", 'r', 0, false},
        {"Chance late", 'r', 0, false}};
    static const efi_table_form form = {
        .name = "work",
        .caption = "Order of work, by the plant's clock; due at the moment shown, 00:00 being "
                   "the end of the day before"};
    efi_paper_table(paper, &form, columns, (int)EF_COUNT(columns));
    for (int r = 0; r < season->run_count; r++)
        add_run(paper, season, &season->runs[r]);
}
