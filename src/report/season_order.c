/* SPDX-License-Identifier: GPL-3.0-or-later
 * The order of work of a season: for each line, by day and shift, what is cleaned and what runs. */
#include "base/tongue.h"
#include "report/season_view.h"

enum {
    WORK_WIDTH = 34 /* of the column that says what is to be done, on a terminal */
};

/* Day, shift, and from when to when. */
static void add_time(efi_paper *paper, int64_t from, int64_t to, const char *shift)
{
    efi_paper_cell(paper, efi_season_short_day(from).words);
    efi_paper_moment(paper, from);
    efi_paper_cell(paper, shift);
    efi_paper_cellf(paper, "%s-%s", efi_season_near(from, from).words, efi_season_near(to, from).words);
    efi_paper_moment(paper, from);
}

static void add_empty(efi_paper *paper, int count)
{
    for (int i = 0; i < count; i++)
        efi_paper_cell(paper, NULL);
}

/* ---- clean-downs ----------------------------------------------------------------------------------------
 */

static void add_clean_words(efi_text *words, const efi_season_view *v, const ef_season_run *run)
{
    const efi_piece takes = efi_piece_duration(run->clean_h);
    if (run->forbidden && *run->rule)
        efi_text_addf(words, efi_tr("FORBIDDEN: %s"), run->rule);
    else if (run->forbidden)
        efi_text_add(words, efi_tr("FORBIDDEN"));
    else if (*run->rule)
        efi_text_addf(words, efi_tr("clean-down %s: %s"), takes.words, run->rule);
    else
        efi_text_addf(words, efi_tr("clean-down %s"), takes.words);
    if (run->flush_t > 0.0) {
        efi_text_add(words, "\n");
        efi_text_addf(words, efi_tr("flush %s"), efi_season_mass(v, run->flush_t).words);
    }
    if (run->clean_people > 0.0) {
        efi_text_add(words, "\n");
        efi_text_addf(words, efi_tr_n("%s person", "%s people", run->clean_people == 1.0 ? 1 : 2),
                      efi_piece_significant(run->clean_people, 3).words);
    }
}

/* Each on a line: "Cleaner 06:00-06:30", "slowest station stands 40 min" */
static void add_stations(efi_text *words, const ef_season_run *run)
{
    if (run->cleaned_count > 0) {
        efi_text_add(words, "\n");
        efi_text_add(words, efi_tr("station by station"));
    }
    for (int i = 0; i < run->cleaned_count; i++) {
        const ef_season_cleaned *one = &run->cleaned[i];
        efi_text_addf(words, "\n%s %s-%s", one->station, efi_season_near(one->from, run->clean_from).words,
                      efi_season_near(one->to, run->clean_from).words);
    }
    if (run->cleaned_count == 0 || run->before < 0)
        return;
    efi_text_add(words, "\n");
    efi_text_addf(words, efi_tr("slowest station stands %s"), efi_piece_duration(run->stands_h).words);
}

static void add_cleaning(efi_paper *paper, const efi_season_view *v, const ef_season_run *run)
{
    efi_text words = {0};
    add_time(paper, run->clean_from, run->clean_to, NULL);
    add_clean_words(&words, v, run);
    add_stations(&words, run);
    efi_paper_take(paper, &words);
    if (run->forbidden)
        efi_paper_strong(paper);
    add_empty(paper, 5);
}

static void add_last_cleaning(efi_paper *paper, const ef_season_line *line)
{
    add_time(paper, line->last_clean_from, line->last_clean_to, NULL);
    efi_paper_cellf(paper, "%s%s%s", efi_tr("clean-down after the last lot"), *line->last_rule ? "\n" : "",
                    line->last_rule);
    add_empty(paper, 5);
}

/* ---- lots -----------------------------------------------------------------------------------------------
 */

static void add_on_line(efi_text *words, bool applies, const char *line)
{
    if (applies)
        efi_text_addf(words, "\n%s", line);
}

/* "W12 (running)", "wheat Tamar C1", "treated, bags of 25 kg" */
static void add_lot(efi_paper *paper, const ef_season_run *run, const ef_season_lot *lot)
{
    efi_text words = {0};
    efi_text_add(&words, lot->name);
    if (lot->state != EF_SEASON_WAITING)
        efi_text_addf(&words, " (%s)", efi_season_state_said(lot->state));
    else if (run->is_moved)
        efi_text_addf(&words, " (%s)", efi_tr_in("lot", "moved"));
    efi_text_add(&words, "\n");
    efi_season_add_kind(&words, lot);
    if (*lot->treatment) {
        efi_text_add(&words, "\n");
        efi_text_addf(&words, efi_tr("treat: %s"), lot->treatment);
    }
    add_on_line(&words, *lot->product != '\0', lot->product);
    add_on_line(&words, !run->fits, efi_tr("DOES NOT FIT"));
    add_on_line(&words, run->misses_start, efi_tr("MISSES ITS START"));
    add_on_line(&words, run->waits_in_vain, efi_tr("FIRST PASS NOT DONE"));
    efi_paper_take(paper, &words);
}

/* What is still to be run; of a lot that is done what was. */
static void add_amount(efi_paper *paper, const efi_season_view *v, const ef_season_lot *lot)
{
    const double amount_t = lot->state == EF_SEASON_DONE ? lot->amount_t : lot->left_t;
    efi_paper_cell(paper, efi_season_amount(v, lot, amount_t).words);
    efi_paper_value(paper, amount_t, 3, "t");
}

/* Where it comes from or goes to; `without` where it needs no store. */
static void add_stores(efi_paper *paper, const efi_season_view *v, const ef_season_lot *lot,
                       const int *stores, double missing_t, const char *without)
{
    efi_text words = {0};
    efi_season_add_stores(&words, v->season, stores, "\n");
    if (missing_t > 0.0) {
        efi_text_add(&words, words.length ? "\n" : "");
        efi_text_addf(&words, efi_tr("NO ROOM %s"), efi_season_amount(v, lot, missing_t).words);
    } else if (words.length == 0) {
        efi_text_add(&words, without);
    }
    efi_paper_take(paper, &words);
    if (missing_t > 0.0)
        efi_paper_strong(paper);
}

/* Are there stores for lots before their run at all? */
static bool has_raw_stores(const ef_season *season)
{
    for (int s = 0; s < season->store_count; s++)
        if (!season->stores[s].finished)
            return true;
    return false;
}

/* "late 2.4 d", "late 2.4 d, 95 %", "12 %" */
static void add_late(efi_paper *paper, const ef_season_run *run)
{
    const bool late = run->late_days > 0.0;
    const efi_piece days = efi_season_days(run->late_days);
    const efi_piece chance = efi_piece_percent(run->chance_late, 0);
    if (late && run->chance_late >= 0.0)
        efi_paper_cellf(paper, efi_tr("late %s, %s"), days.words, chance.words);
    else if (late)
        efi_paper_cellf(paper, efi_tr("late %s"), days.words);
    else
        efi_paper_cell(paper, run->chance_late >= 0.0 ? chance.words : NULL);
    if (late)
        efi_paper_strong(paper);
}

static void add_run(efi_paper *paper, const efi_season_view *v, const ef_season_run *run)
{
    const ef_season_lot *lot = &v->season->lots[run->lot];
    add_time(paper, run->start, run->end, run->shift);
    add_lot(paper, run, lot);
    add_amount(paper, v, lot);
    add_stores(paper, v, lot, run->raw, run->raw_missing_t,
               lot->state != EF_SEASON_DONE && has_raw_stores(v->season) ? efi_tr("straight in") : "");
    add_stores(paper, v, lot, run->finished, run->finished_missing_t, "");
    efi_paper_cell(paper, efi_season_due(lot->due).words);
    if (lot->due != EF_SEASON_NONE)
        efi_paper_moment(paper, lot->due);
    add_late(paper, run);
}

static void add_line(efi_paper *paper, const efi_season_view *v, int number)
{
    const ef_season *season = v->season;
    const ef_season_line *line = &season->lines[number];
    efi_text caption = {0};
    const efi_column columns[] = {
        {.title = EFI_TR("Day"), .align = 'l'},
        {.title = EFI_TR("Shift"), .align = 'l'},
        {.title = EFI_TR("From-to"), .align = 'l'},
        {.title = efi_tr_in("to be done", "Work"), .align = 'l', .wrap = WORK_WIDTH},
        {.title = efi_tr_in("lot", "Amount"), .align = 'r'},
        {.title = efi_tr_in("store", "From"), .align = 'l'},
        {.title = efi_tr_in("store", "To"), .align = 'l'},
        {.title = EFI_TR("Due"), .align = 'l'},
        {.title = EFI_TR("Late, chance"), .align = 'l'}};
    if (season->line_count > 1)
        efi_text_addf(&caption, "%s: ", line->name);
    efi_text_addf(&caption, efi_tr("order of work; lots %s, clean-downs %s, idle %s of %s of working time"),
                  efi_piece_duration(line->work_h).words, efi_piece_duration(line->clean_h).words,
                  efi_piece_duration(line->idle_h).words, efi_piece_duration(line->open_h).words);
    const efi_table_form form = {.name = "order", .caption = efi_text_get(&caption)};
    efi_paper_table(paper, &form, columns, (int)EF_COUNT(columns));
    for (int r = 0; r < season->run_count; r++) {
        const ef_season_run *run = &season->runs[r];
        if (run->line != number)
            continue;
        if (efi_season_is_cleaned(run) || run->forbidden)
            add_cleaning(paper, v, run);
        add_run(paper, v, run);
    }
    if (efi_season_is_last_cleaned(line))
        add_last_cleaning(paper, line);
    paper->failed = paper->failed || caption.failed;
    efi_text_free(&caption);
    efi_paper_gap(paper);
}

void efi_season_add_order(efi_paper *paper, const efi_season_view *v)
{
    for (int l = 0; l < v->season->line_count; l++)
        add_line(paper, v, l);
}
