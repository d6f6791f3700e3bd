/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lists of lots on a plant of several lines, for a manager: together, then line by line. */
#include "base/tongue.h"
#include "report/shift_lots_view.h"
#include "report/shift_view.h"

#include <string.h>

typedef efi_lots_view view;

static efi_piece quantity(const view *v, efi_kind kind, double value)
{
    return efi_piece_alone(kind, v->units, value, v->trade_weight_tpbu, NULL);
}

/* ---- what is and is not simulated ------------------------------------------------------------------------
 */

void efi_lots_say_shared(efi_paper *paper)
{
    efi_paper_words(
        paper, EFI_WARNING,
        efi_tr(
            "The lines share stations. Each line is given its part of them, by the steady balance in which "
            "all lines run, as though they took turns there in short order. With different crops on the "
            "lines the parts may make a little more or less than the whole. Not simulated: that such a "
            "station or bin can hold one lot at a time, the waiting for a turn, and cleaning between "
            "turns."));
}

void efi_lots_say_beside(efi_paper *paper, bool is_dealt)
{
    efi_paper_words(
        paper, EFI_NOTE,
        efi_tr("The lines run beside each other, each its own list. Crews that see to stops, and teams that "
               "clean, work for each line as though it were the only one."));
    if (is_dealt)
        efi_paper_words(
            paper, EFI_NOTE,
            efi_tr(
                "No plan says which line runs a lot, so each in its turn went to the line, of those that "
                "may run it, where it would be done first by the balance and the rules. A plan of evenfeed "
                "season looks further: --plan."));
}

/* ---- together -------------------------------------------------------------------------------------------
 */

static void add_title(efi_paper *paper, const ef_shift_lots *lots)
{
    efi_text words = {0};
    efi_text_addf(
        &words,
        lots->is_dealt
            ? efi_tr("%s: %s, its waiting lots dealt out to the lines, %d runs, seed %llu")
            : efi_tr("%s: %s, its lots on the lines and in the order of a plan, %d runs, seed %llu"),
        lots->plant, lots->scenario_file, lots->runs, (unsigned long long)lots->seed);
    efi_paper_title(paper, &words);
}

static void add_hours(efi_paper *paper, const view *v)
{
    const ef_shift_lots *lots = v->lots;
    const efi_piece tonnes = quantity(v, EFI_KIND_MASS, lots->tonnes_t);
    const efi_piece middle = efi_piece_duration(lots->work_h.p50.value);
    if (efi_lots_are_sure(&lots->work_h))
        efi_paper_wordsf(paper, EFI_VERDICT,
                         efi_tr("The lists of all lines, %d lots and %s together, run beside each other and "
                                "take %s of work in every run, until the last line has ended."),
                         lots->lot_count, tonnes.words, middle.words);
    else
        efi_paper_wordsf(
            paper, EFI_VERDICT,
            efi_tr("The lists of all lines, %d lots and %s together, run beside each other and take %s of "
                   "work in the middle, %s in a poor run and %s in a good one, until the last line has "
                   "ended."),
            lots->lot_count, tonnes.words, middle.words, efi_piece_duration(lots->work_h.p90.value).words,
            efi_piece_duration(lots->work_h.p10.value).words);
}

/* Names the lines that have nothing to do. */
static void add_idle(efi_paper *paper, const ef_shift_lots *lots)
{
    const char *names = "";
    for (int i = 0; i < lots->idle_line_count; i++)
        names = efi_paper_phrase(paper, "%s%s%s", names, i ? ", " : "", lots->idle_lines[i]);
    if (lots->idle_line_count > 0)
        efi_paper_wordsf(paper, EFI_VERDICT, efi_tr("Lines without lots: %s."), names);
}

static void add_lines(efi_paper *paper, const view *v)
{
    static const efi_table_form form = {
        .name = "lines",
        .caption = EFI_TR(
            "The lines: hours of work, by the balance and the rules without stops, and simulated")};
    static const efi_column columns[] = {{EFI_TR("Line"), 'l', 0, false},
                                         {EFI_TR("Lots"), 'r', 0, false},
                                         {EFI_TR_IN("lot", "Amount"), 'r', 0, false},
                                         {EFI_TR("Balance"), 'r', 0, false},
                                         {EFI_TR("Clean-downs"), 'r', 0, false},
                                         {EFI_TR("Work"), 'r', 0, false},
                                         {EFI_TR("Poor"), 'r', 0, false},
                                         {EFI_TR("Ends (P50)"), 'r', 0, false}};
    const ef_shift_lots *lots = v->lots;
    paper->depth = 1;
    efi_paper_table(paper, &form, columns, EF_COUNT(columns));
    for (int i = 0; i < lots->line_count; i++) {
        const ef_shift_lots *line = &lots->lines[i];
        const efi_display mass = efi_display_choose(EFI_KIND_MASS, v->units, line->tonnes_t,
                                                    v->trade_weight_tpbu, NULL);
        efi_paper_cell(paper, line->line);
        efi_paper_count(paper, line->lot_count);
        efi_paper_show(paper, &mass, line->tonnes_t);
        efi_paper_duration(paper, line->balance_h);
        efi_paper_duration(paper, line->clean_h);
        efi_paper_duration(paper, line->work_h.p50.value);
        efi_paper_duration(paper, line->work_h.p90.value);
        efi_lots_add_end(paper, line, line->list_h.p50.value);
    }
    efi_paper_gap(paper);
    paper->depth = 0;
}

/* ---- shared stations ------------------------------------------------------------------------------------
 */

static const ef_shift_lots_part *find_part(const ef_shift_lots *line, const char *station)
{
    for (int p = 0; p < line->part_count; p++)
        if (strcmp(line->parts[p].station, station) == 0)
            return &line->parts[p];
    return NULL;
}

/* "North 48 %", where it differs from crop to crop "North 48 % to 53 %". */
static void add_part(efi_text *out, const ef_shift_lots *line, const ef_shift_lots_part *part)
{
    const efi_piece least = efi_piece_percent(part->least, 0);
    const efi_piece most = efi_piece_percent(part->most, 0);
    const char *next = out->length > 0 ? "\n" : "";
    efi_text_addf(out, "%s%s ", next, line->line);
    if (strcmp(least.words, most.words) == 0)
        efi_text_add(out, least.words);
    else
        efi_text_addf(out, efi_tr_in("shares", "%s to %s"), least.words, most.words);
}

static void add_row(efi_paper *paper, const ef_shift_lots *lots, const char *station)
{
    efi_text cell = {0};
    for (int i = 0; i < lots->line_count; i++) {
        const ef_shift_lots_part *part = find_part(&lots->lines[i], station);
        if (part)
            add_part(&cell, &lots->lines[i], part);
    }
    efi_paper_cell(paper, station);
    efi_paper_take(paper, &cell);
}

/* Has a line before this one the station too? */
static bool is_told(const ef_shift_lots *lots, int line, const char *station)
{
    for (int i = 0; i < line; i++)
        if (find_part(&lots->lines[i], station))
            return true;
    return false;
}

static void add_parts(efi_paper *paper, const ef_shift_lots *lots)
{
    static const efi_table_form form = {.name = "shared",
                                        .caption = EFI_TR("Stations that lines share, and the part of each")};
    static const efi_column columns[] = {{EFI_TR("Station"), 'l', 0, false},
                                         {EFI_TR("Each line has"), 'l', 70, false}};
    bool any = false;
    for (int i = 0; i < lots->line_count; i++)
        any = any || lots->lines[i].part_count > 0;
    if (!any)
        return;
    efi_lots_say_shared(paper);
    efi_paper_gap(paper);
    paper->depth = 1;
    efi_paper_table(paper, &form, columns, EF_COUNT(columns));
    for (int i = 0; i < lots->line_count; i++)
        for (int p = 0; p < lots->lines[i].part_count; p++)
            if (!is_told(lots, i, lots->lines[i].parts[p].station))
                add_row(paper, lots, lots->lines[i].parts[p].station);
    efi_paper_gap(paper);
    paper->depth = 0;
}

/* ---- against the balance ---------------------------------------------------------------------------------
 */

static bool beats_balance(const ef_shift_lots *line)
{
    for (int k = 0; k < line->lot_count; k++)
        if (line->lots[k].rate_tph > line->lots[k].balance_tph)
            return true;
    return false;
}

static void add_faster(efi_paper *paper, const ef_shift_lots *lots)
{
    const char *names = "";
    for (int i = 0; i < lots->line_count; i++)
        if (beats_balance(&lots->lines[i]))
            names = efi_paper_phrase(paper, "%s%s%s", names, names[0] ? ", " : "", lots->lines[i].line);
    if (names[0])
        efi_paper_wordsf(
            paper, EFI_NOTE,
            efi_tr("Lots run faster than by the balance here: %s. In the balance lines hold each other back "
                   "by what they have in common, such as fixed shares of a split or the power limit; a list "
                   "is held back by stations alone. A plan of evenfeed season counts with the balance."),
            names);
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

void efi_lots_put_lines(efi_paper *paper, const efi_lots_view *v)
{
    const ef_shift_lots *lots = v->lots;
    add_title(paper, lots);
    add_hours(paper, v);
    efi_lots_add_dates(paper, v);
    efi_lots_add_shift(paper, v);
    add_idle(paper, lots);
    efi_paper_gap(paper);
    add_lines(paper, v);
    add_parts(paper, lots);
    paper->depth = 1;
    efi_lots_add_streams(paper, v);
    paper->depth = 0;
    for (int i = 0; i < lots->line_count; i++) {
        const efi_lots_view line = efi_lots_view_of(&lots->lines[i], v->units);
        efi_paper_heading(paper, 2, false, efi_paper_phrase(paper, efi_tr("Line %s"), line.lots->line));
        efi_paper_gap(paper);
        efi_lots_put_list(paper, &line);
    }
    efi_lots_say_beside(paper, lots->is_dealt);
    add_faster(paper, lots);
    efi_lots_add_notes(paper, v);
}
