/* SPDX-License-Identifier: GPL-3.0-or-later
 * The order of work of a season: for each line, by day and shift, what is cleaned and what runs. */
#include "base/date.h"
#include "base/number.h"
#include "report/season_view.h"

enum {
    WORK_WIDTH = 34 /* of the column that says what is to be done, on a terminal */
};

/* Day, shift, and from when to when. */
static void add_time(efi_paper *paper, int64_t from, int64_t to, const char *shift)
{
    efi_text words = {0};
    efi_season_add_short_day(&words, from);
    efi_paper_take(paper, &words);
    efi_paper_moment(paper, from);
    efi_paper_cell(paper, shift);
    efi_season_add_near(&words, from, from);
    efi_text_add(&words, "-");
    efi_season_add_near(&words, to, from);
    efi_paper_take(paper, &words);
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
    efi_text_add(words, run->forbidden ? "FORBIDDEN" : "clean-down ");
    if (!run->forbidden)
        efi_display_add_duration(words, run->clean_h);
    efi_text_addf(words, "%s%s", *run->rule ? ": " : "", run->rule);
    if (run->flush_t > 0.0) {
        efi_text_add(words, "\nflush ");
        efi_display_add_alone(words, EFI_KIND_MASS, v->units, run->flush_t, 0.0, NULL);
    }
    if (run->clean_people > 0.0) {
        efi_text_add(words, "\n");
        efi_number_add_significant(words, run->clean_people, 3);
        efi_text_add(words, run->clean_people == 1.0 ? " person" : " people");
    }
}

/* Each on a line: "Cleaner 06:00-06:30", "slowest station stands 40 min" */
static void add_stations(efi_text *words, const ef_season_run *run)
{
    if (run->cleaned_count > 0)
        efi_text_add(words, "\nstation by station");
    for (int i = 0; i < run->cleaned_count; i++) {
        const ef_season_cleaned *one = &run->cleaned[i];
        efi_text_addf(words, "\n%s ", one->station);
        efi_season_add_near(words, one->from, run->clean_from);
        efi_text_add(words, "-");
        efi_season_add_near(words, one->to, run->clean_from);
    }
    if (run->cleaned_count == 0 || run->before < 0)
        return;
    efi_text_add(words, "\nslowest station stands ");
    efi_display_add_duration(words, run->stands_h);
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
    efi_paper_cellf(paper, "clean-down after the last lot%s%s", *line->last_rule ? "\n" : "",
                    line->last_rule);
    add_empty(paper, 5);
}

/* ---- lots -----------------------------------------------------------------------------------------------
 */

/* "W12 (running)", "wheat Tamar C1", "treated, bags of 25 kg" */
static void add_lot(efi_paper *paper, const ef_season_run *run, const ef_season_lot *lot)
{
    efi_text words = {0};
    efi_text_add(&words, lot->name);
    if (lot->state != EF_SEASON_WAITING)
        efi_text_addf(&words, " (%s)", efi_season_state_word(lot->state));
    else if (run->is_moved)
        efi_text_add(&words, " (moved)");
    efi_text_add(&words, "\n");
    efi_season_add_kind(&words, lot);
    if (*lot->treatment)
        efi_text_addf(&words, "\ntreat: %s", lot->treatment);
    if (*lot->product)
        efi_text_addf(&words, "\n%s", lot->product);
    if (!run->fits)
        efi_text_add(&words, "\nDOES NOT FIT");
    if (run->misses_start)
        efi_text_add(&words, "\nMISSES ITS START");
    if (run->waits_in_vain)
        efi_text_add(&words, "\nFIRST PASS NOT DONE");
    efi_paper_take(paper, &words);
}

/* What is still to be run; of a lot that is done what was. */
static void add_amount(efi_paper *paper, const efi_season_view *v, const ef_season_lot *lot)
{
    efi_text words = {0};
    const double amount_t = lot->state == EF_SEASON_DONE ? lot->amount_t : lot->left_t;
    efi_season_add_amount(&words, v, lot, amount_t);
    efi_paper_take(paper, &words);
    efi_paper_value(paper, amount_t, 3, "t");
}

/* Where it comes from or goes to; `without` where it needs no store. */
static void add_stores(efi_paper *paper, const efi_season_view *v, const ef_season_lot *lot,
                       const int *stores, double missing_t, const char *without)
{
    efi_text words = {0};
    efi_season_add_stores(&words, v->season, stores, "\n");
    if (missing_t > 0.0) {
        efi_text_add(&words, words.length ? "\nNO ROOM " : "NO ROOM ");
        efi_season_add_amount(&words, v, lot, missing_t);
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

/* "late 2.4 d", "late 2.4 d (95 %)", "12 %" */
static void add_late(efi_paper *paper, const ef_season_run *run)
{
    efi_text words = {0};
    const bool late = run->late_days > 0.0;
    if (late) {
        efi_text_add(&words, "late ");
        efi_season_add_days(&words, run->late_days);
    }
    if (run->chance_late >= 0.0) {
        efi_text_add(&words, late ? ", " : "");
        efi_number_add_fixed(&words, run->chance_late * 100.0, 0);
        efi_text_add(&words, " %");
    }
    efi_paper_take(paper, &words);
    if (late)
        efi_paper_strong(paper);
}

static void add_run(efi_paper *paper, const efi_season_view *v, const ef_season_run *run)
{
    const ef_season_lot *lot = &v->season->lots[run->lot];
    efi_text words = {0};
    add_time(paper, run->start, run->end, run->shift);
    add_lot(paper, run, lot);
    add_amount(paper, v, lot);
    add_stores(paper, v, lot, run->raw, run->raw_missing_t,
               lot->state != EF_SEASON_DONE && has_raw_stores(v->season) ? "straight in" : "");
    add_stores(paper, v, lot, run->finished, run->finished_missing_t, "");
    efi_season_add_due(&words, lot->due);
    efi_paper_take(paper, &words);
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
        {.title = "Day", .align = 'l'},         {.title = "Shift", .align = 'l'},
        {.title = "From-to", .align = 'l'},     {.title = "Work", .align = 'l', .wrap = WORK_WIDTH},
        {.title = "Amount", .align = 'r'},      {.title = "From", .align = 'l'},
        {.title = "To", .align = 'l'},          {.title = "Due", .align = 'l'},
        {.title = "Late, chance", .align = 'l'}};
    if (season->line_count > 1)
        efi_text_addf(&caption, "%s: ", line->name);
    efi_text_add(&caption, "order of work; lots ");
    efi_display_add_duration(&caption, line->work_h);
    efi_text_add(&caption, ", clean-downs ");
    efi_display_add_duration(&caption, line->clean_h);
    efi_text_add(&caption, ", idle ");
    efi_display_add_duration(&caption, line->idle_h);
    efi_text_add(&caption, " of ");
    efi_display_add_duration(&caption, line->open_h);
    efi_text_add(&caption, " of working time");
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
