/* SPDX-License-Identifier: GPL-3.0-or-later
 * The order of work of a season for a spreadsheet: one table, a row for each run, moments as moments and
 * amounts in one unit, so that it can be sorted, filtered and counted. */
#include "base/tongue.h"
#include "report/season_view.h"

static void add_moment(efi_paper *paper, bool known, int64_t moment)
{
    if (known) {
        efi_paper_cell(paper, efi_piece_when(moment).words);
        efi_paper_moment(paper, moment);
    } else {
        efi_paper_cell(paper, NULL);
    }
}

static void add_number(efi_paper *paper, double value, int decimals, const char *unit)
{
    efi_paper_cell(paper, efi_piece_fixed(value, decimals).words);
    efi_paper_value(paper, value, decimals, unit);
}

static void add_names(efi_paper *paper, const ef_season *season, const int *stores, double missing_t)
{
    efi_text words = {0};
    efi_season_add_stores(&words, season, stores, " + ");
    if (missing_t > 0.0) {
        efi_text_add(&words, words.length ? "; " : "");
        efi_text_addf(&words, efi_tr("NO ROOM %s t"), efi_piece_fixed(missing_t, 1).words);
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
    efi_paper_cell(paper, efi_season_line_said(season, run->line));
    efi_paper_count(paper, run->place + 1);
    efi_paper_cell(paper, lot->name);
    efi_season_add_kind(&kind, lot);
    efi_paper_take(paper, &kind);
    efi_paper_cell(paper, lot->treatment);
    add_moment(paper, cleaned, run->clean_from);
    efi_paper_cell(paper, run->forbidden ? efi_tr("FORBIDDEN") : cleaned ? run->rule : "");
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
    const efi_column columns[] = {{.title = EFI_TR("Line"), .align = 'l'},
                                  {.title = EFI_TR("Place"), .align = 'r'},
                                  {.title = EFI_TR("Lot"), .align = 'l'},
                                  {.title = EFI_TR("What"), .align = 'l'},
                                  {.title = EFI_TR("Treatment"), .align = 'l'},
                                  {.title = EFI_TR("Clean-down from"), .align = 'l'},
                                  {.title = EFI_TR("By the rule"), .align = 'l'},
                                  {.title = EFI_TR("Starts"), .align = 'l'},
                                  {.title = EFI_TR("Ends"), .align = 'l'},
                                  {.title = efi_tr_in("lot", "Amount"), .align = 'r'},
                                  {.title = EFI_TR("Product"), .align = 'r'},
                                  {.title = efi_tr_in("store", "From"), .align = 'l'},
                                  {.title = efi_tr_in("store", "To"), .align = 'l'},
                                  {.title = EFI_TR("Due"), .align = 'l'},
                                  {.title = EFI_TR("Late"), .align = 'r'},
                                  {.title = EFI_TR("Chance late"), .align = 'r'}};
    static const efi_table_form form = {
        .name = "work",
        .caption = EFI_TR(
            "Order of work, by the plant's clock; due at the moment shown, 00:00 being the end of "
            "the day before")};
    efi_paper_table(paper, &form, columns, (int)EF_COUNT(columns));
    for (int r = 0; r < season->run_count; r++)
        add_run(paper, season, &season->runs[r]);
}
