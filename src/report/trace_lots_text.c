/* SPDX-License-Identifier: GPL-3.0-or-later
 * The lots of a trace for people. */
#include "base/tongue.h"
#include "report/season_view.h"
#include "report/trace_view.h"

#include <math.h>
#include <string.h>

enum {
    PICTURE = 48 /* columns of a lot's picture */
};

static efi_piece mass(const ef_trace *trace, ef_units units, double tonnes)
{
    return efi_piece_alone(EFI_KIND_MASS, units, tonnes, trace->trade_weight_tpbu, NULL);
}

bool efi_trace_is_shown(const ef_trace *trace, const ef_trace_event *event)
{
    static const char *const words[] = {"lot begins", "lot ended", "lot has left", "clean-down", "cleaned"};
    bool is_of_lot = trace->lot_count == 0;
    for (size_t i = 0; i < EF_COUNT(words); i++)
        is_of_lot = is_of_lot || strcmp(event->what, words[i]) == 0;
    return is_of_lot && !event->is_routine;
}

static int lots_that_left(const ef_trace *trace)
{
    int count = 0;
    for (int i = 0; i < trace->line_count; i++)
        count += lots_that_left(&trace->lines[i]);
    for (int k = 0; k < trace->lot_count && trace->line_count == 0; k++)
        count += trace->lots[k].end_h >= 0.0;
    return count;
}

void efi_trace_add_list(efi_paper *paper, const ef_trace *trace, ef_units units)
{
    efi_paper_wordsf(
        paper, EFI_VERDICT,
        trace->line_count > 0
            ? efi_tr("Lists of lots, one for each line: in %s, of which %s are worked, %d of %d lots have "
                     "gone through; the lines took in %s and made %s of product.")
            : efi_tr("A list of lots: in %s, of which %s are worked, %d of %d lots have gone through the "
                     "line; it took in %s and made %s of product."),
        efi_piece_duration(trace->hours).words, efi_piece_duration(trace->worked_h).words,
        lots_that_left(trace), trace->lot_count, mass(trace, units, trace->intake_t).words,
        mass(trace, units, trace->product_t).words);
}

void efi_trace_add_list_notes(efi_paper *paper, const ef_trace *trace)
{
    efi_paper_words(paper, EFI_NOTE,
                    trace->line_clear ? efi_tr("Line clear: a clean-down begins when the last of a lot has "
                                               "left, and the next lot enters when "
                                               "it is over.")
                                      : efi_tr("Station by station: each is cleaned when it has ended a lot, "
                                               "and takes the next when it is "
                                               "clean."));
    efi_paper_words(paper, EFI_NOTE,
                    efi_tr("The line is empty and clean at the start, and each lot is there when its turn "
                           "comes, whole: loads, "
                           "arrivals and due dates are left out, and batch machines take all the time what "
                           "their batches make "
                           "of it in the mean."));
}

/* Full while its last has not been taken in, thin while the rest of it runs out, ~ while something is cleaned
 * for it. */
static void add_picture(efi_paper *paper, const ef_trace *trace, const ef_trace_lot *lot)
{
    efi_text cell = {0};
    const double in_h = lot->in_h < 0.0 ? trace->hours : lot->in_h;
    const double end_h = lot->end_h < 0.0 ? trace->hours : lot->end_h;
    const double clean_h = lot->clean_to_h < 0.0 ? trace->hours : lot->clean_to_h;
    for (int column = 0; column < PICTURE; column++) {
        const double from_h = trace->hours * column / PICTURE;
        const double to_h = trace->hours * (column + 1) / PICTURE;
        const bool comes = lot->begin_h >= 0.0 && lot->begin_h < to_h && in_h > from_h;
        const bool runs = lot->begin_h >= 0.0 && lot->begin_h < to_h && end_h > from_h;
        const bool cleaned = lot->clean_from_h >= 0.0 && lot->clean_from_h < to_h && clean_h > from_h;
        efi_text_add(&cell, comes ? "█" : runs ? "▄" : cleaned ? "~" : "·");
    }
    efi_paper_take(paper, &cell);
}

static void add_moment(efi_paper *paper, const ef_trace *trace, double hours)
{
    if (hours < 0.0) {
        efi_paper_cell(paper, "");
        return;
    }
    if (!trace->on_calendar) {
        efi_paper_duration(paper, hours);
        return;
    }
    const int64_t moment_s = trace->from_moment_s + (int64_t)floor(hours * 60.0 + 0.5) * 60;
    efi_paper_cellf(paper, "%s %s", efi_season_short_day(moment_s).words,
                    efi_piece_clock(efi_moment_clock(moment_s)).words);
    efi_paper_moment(paper, moment_s);
}

void efi_trace_add_lots(efi_paper *paper, const ef_trace *trace, ef_units units)
{
    static const efi_table_form form = {
        .name = "lots",
        .caption = EFI_TR(
            "The lots, from the start to the end: █ comes in, ▄ the rest of it runs out, ~ cleaned for it")};
    static const efi_column columns[] = {{EFI_TR("Lot"), 'l', 0, false},
                                         {EFI_TR("On the line"), 'l', 0, true},
                                         {EFI_TR_IN("lot", "Amount"), 'r', 0, false},
                                         {EFI_TR("Begins"), 'r', 0, false},
                                         {EFI_TR("Has left"), 'r', 0, false}};
    paper->depth = 1;
    efi_paper_table(paper, &form, columns, EF_COUNT(columns));
    for (int k = 0; k < trace->lot_count; k++) {
        const ef_trace_lot *lot = &trace->lots[k];
        const efi_display t = efi_display_choose(EFI_KIND_MASS, units, lot->tonnes_t,
                                                 trace->trade_weight_tpbu, NULL);
        efi_paper_cell(paper, lot->name);
        add_picture(paper, trace, lot);
        efi_paper_show(paper, &t, lot->tonnes_t);
        add_moment(paper, trace, lot->begin_h);
        add_moment(paper, trace, lot->end_h);
    }
    efi_paper_gap(paper);
    paper->depth = 0;
}
