/* SPDX-License-Identifier: GPL-3.0-or-later
 * The order of work of a season: for each line, by day and shift, what is cleaned and what runs. */
#include "base/date.h"
#include "base/number.h"
#include "report/season_view.h"

enum {
    WORK_WIDTH = 34 /* of the column that says what is to be done, on a terminal */
};

/* "Mon 08-03" */
static void add_short_day(efi_text *words, int64_t moment)
{
    efi_text day = {0};
    efi_season_add_day(&day, moment);
    const char *text = efi_text_get(&day);
    if (day.length > 9)
        efi_text_addf(words, "%.4s%s", text, text + day.length - 5);
    words->failed = words->failed || day.failed;
    efi_text_free(&day);
}

/* Day, shift, and from when to when. */
static void add_time(efi_sheet *sheet, int64_t from, int64_t to, const char *shift)
{
    efi_text words = {0};
    add_short_day(&words, from);
    efi_sheet_take(sheet, &words);
    efi_sheet_cell(sheet, shift);
    efi_season_add_near(&words, from, from);
    efi_text_add(&words, "-");
    efi_season_add_near(&words, to, from);
    efi_sheet_take(sheet, &words);
}

static void add_empty(efi_sheet *sheet, int count)
{
    for (int i = 0; i < count; i++)
        efi_sheet_cell(sheet, NULL);
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

static void add_cleaning(efi_sheet *sheet, const efi_season_view *v, const ef_season_run *run)
{
    efi_text words = {0};
    add_time(sheet, run->clean_from, run->clean_to, NULL);
    add_clean_words(&words, v, run);
    efi_sheet_take(sheet, &words);
    if (run->forbidden)
        efi_sheet_strong(sheet);
    add_empty(sheet, 5);
}

static void add_last_cleaning(efi_sheet *sheet, const ef_season_line *line)
{
    add_time(sheet, line->last_clean_from, line->last_clean_to, NULL);
    efi_sheet_cellf(sheet, "clean-down after the last lot%s%s", *line->last_rule ? "\n" : "",
                    line->last_rule);
    add_empty(sheet, 5);
}

/* ---- lots -----------------------------------------------------------------------------------------------
 */

/* "W12 (running)", "wheat Tamar C1", "treated, bags of 25 kg" */
static void add_lot(efi_sheet *sheet, const ef_season_run *run, const ef_season_lot *lot)
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
    efi_sheet_take(sheet, &words);
}

static void add_amount(efi_sheet *sheet, const efi_season_view *v, const ef_season_lot *lot)
{
    efi_text words = {0};
    efi_season_add_amount(&words, v, lot, lot->left_t);
    efi_sheet_take(sheet, &words);
    efi_sheet_value(sheet, lot->left_t, 3, "t");
}

static void add_stores(efi_sheet *sheet, const efi_season_view *v, const ef_season_lot *lot,
                       const int *stores, double missing_t)
{
    efi_text words = {0};
    efi_season_add_stores(&words, v->season, stores, "\n");
    if (missing_t > 0.0) {
        efi_text_add(&words, words.length ? "\nNO ROOM " : "NO ROOM ");
        efi_season_add_amount(&words, v, lot, missing_t);
    }
    efi_sheet_take(sheet, &words);
    if (missing_t > 0.0)
        efi_sheet_strong(sheet);
}

/* "late 2.4 d", "late 2.4 d (95 %)", "12 %" */
static void add_late(efi_sheet *sheet, const ef_season_run *run)
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
    efi_sheet_take(sheet, &words);
    if (late)
        efi_sheet_strong(sheet);
}

static void add_run(efi_sheet *sheet, const efi_season_view *v, const ef_season_run *run)
{
    const ef_season_lot *lot = &v->season->lots[run->lot];
    efi_text words = {0};
    add_time(sheet, run->start, run->end, run->shift);
    add_lot(sheet, run, lot);
    add_amount(sheet, v, lot);
    add_stores(sheet, v, lot, run->raw, run->raw_missing_t);
    add_stores(sheet, v, lot, run->finished, run->finished_missing_t);
    if (lot->due != EF_SEASON_NONE)
        add_short_day(&words, lot->due > 0 ? lot->due - 1 : lot->due);
    efi_sheet_take(sheet, &words);
    add_late(sheet, run);
}

static void add_line(efi_sheet *sheet, const efi_season_view *v, int number)
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
    efi_sheet_table(sheet, &form, columns, (int)EF_COUNT(columns));
    for (int r = 0; r < season->run_count; r++) {
        const ef_season_run *run = &season->runs[r];
        if (run->line != number)
            continue;
        if (efi_season_is_cleaned(run) || run->forbidden)
            add_cleaning(sheet, v, run);
        add_run(sheet, v, run);
    }
    if (efi_season_is_last_cleaned(line))
        add_last_cleaning(sheet, line);
    sheet->failed = sheet->failed || caption.failed;
    efi_text_free(&caption);
    efi_sheet_gap(sheet);
}

void efi_season_add_order(efi_sheet *sheet, const efi_season_view *v)
{
    for (int l = 0; l < v->season->line_count; l++)
        add_line(sheet, v, l);
}
