/* SPDX-License-Identifier: GPL-3.0-or-later
 * Of sized bins: how quantities are shown, how the answer was come by, and what else a person should know. */
#include "base/number.h"
#include "base/pieces.h"
#include "base/tongue.h"
#include "report/bins_view.h"
#include "report/words_list.h"

#include <math.h>

efi_piece efi_bins_volume(const efi_bins_view *v, double m3)
{
    static const efi_piece none[] = {[EF_UNITS_METRIC] = {"0 m3"}, [EF_UNITS_US] = {"0 ft3"}};
    return m3 > 0.0 ? efi_piece_alone(EFI_KIND_VOLUME, v->units, m3, 0.0, NULL) : none[v->units];
}

efi_piece efi_bins_rate(const efi_bins_view *v, const ef_bins_crop *crop, double tph)
{
    return efi_piece_alone(EFI_KIND_MASS_RATE, v->units, tph, crop->trade_weight_tpbu, NULL);
}

efi_piece efi_bins_minutes(double hours)
{
    const double minutes = fmax(hours, 0.0) * 60.0;
    efi_piece piece = {""};
    efi_text words = efi_text_fixed(piece.words, sizeof piece.words);
    efi_number_say_fixed(&words, minutes, minutes < 9.95 ? 1 : 0);
    efi_text_add(&words, " min");
    return piece;
}

/* ---- how it was come by ---------------------------------------------------------------------------------
 */

/* Why the way of the feed is no plain series. */
static void list_ways(efi_words_list *list, const ef_bins_feed *feed)
{
    if (feed->split_before)
        efi_words_list_add(list, efi_tr("it parts before other lines"));
    if (feed->parallel_before)
        efi_words_list_add(list, efi_tr("several ways meet before it"));
    if (feed->parallel_behind)
        efi_words_list_add(list, efi_tr("several bins take what leaves it"));
    if (feed->long_loop)
        efi_words_list_add(list, efi_tr("what comes back passes more than one bin"));
    if (list->count == 0)
        efi_words_list_add(list, efi_tr("it shares a bin with such a one"));
}

/* Where the recursion would be inexact, and that the whole network was taken instead. */
static void add_network(efi_text *words, const efi_bins_view *v, const ef_bins_feed *feed)
{
    efi_words_list ways = {0};
    const efi_piece gap = efi_piece_percent(feed->gap_share, 4);
    list_ways(&ways, feed);
    if (feed->program_traces < v->bins->traces)
        efi_words_say(
            words,
            efi_tr("The way of the feed is no plain series (%s), so cuts came from a linear program "
                   "of the whole network for each of the first %d traces, not from the recursion "
                   "(%d cuts, gap %s)."),
            efi_words_list_get(&ways, EFI_JOINT_SEMICOLONS), feed->program_traces, feed->cuts, gap.words);
    else
        efi_words_say(
            words,
            efi_tr("The way of the feed is no plain series (%s), so cuts came from a linear program "
                   "of the whole network for each of %d traces, not from the recursion (%d cuts, "
                   "gap %s)."),
            efi_words_list_get(&ways, EFI_JOINT_SEMICOLONS), feed->program_traces, feed->cuts, gap.words);
    efi_words_list_free(&ways, words);
    if (feed->together > 1)
        efi_words_say(words,
                      efi_tr("All %d steady feeds are in it, so that none is served at the cost of another."),
                      feed->together);
    if (v->bins->with_receipts)
        efi_words_say(
            words, efi_tr("It takes material as always there; only the event engine knows of late loads."));
}

/* What the way of finding the volumes leaves out. */
static void add_left_out(efi_text *words, const ef_bins_feed *feed)
{
    const bool recursion = feed->form == EF_BINS_RECURSION;
    if (feed->batches)
        efi_words_say(words,
                      efi_tr("Machines that work batch by batch are taken at their mean rate, so a bin "
                             "before one needs room for a charge on top."));
    if (feed->timed)
        efi_words_say(words, efi_tr("Waiting for crews and the time on conveyors are left out."));
    if (feed->many_intakes)
        efi_words_say(words, efi_tr("With several intakes, material is taken as always there."));
    if (feed->feed_between && recursion)
        efi_words_say(words, efi_tr("Another steady-feed station on the way counts as a plain machine."));
    if (recursion &&
        (feed->split_before || feed->parallel_before || feed->parallel_behind || feed->long_loop))
        efi_words_say(words,
                      efi_tr("The way is no plain series, but the network has too many bins to be sized "
                             "as a whole: of several ways the greatest is followed, and the event "
                             "engine judges."));
}

void efi_bins_add_form(const efi_bins_view *v, const ef_bins_feed *feed)
{
    efi_text words = {0};
    if (feed->form == EF_BINS_TRACE_PROGRAMS)
        add_network(&words, v, feed);
    else
        efi_words_say(&words,
                      efi_tr("Worked out as a series line of %d stations in %d segments, by cutting planes "
                             "from the fluid recursion (%d cuts, gap %s)."),
                      feed->stations, feed->segments, feed->cuts,
                      efi_piece_percent(feed->gap_share, 6).words);
    add_left_out(&words, feed);
    efi_paper_say(v->paper, EFI_NOTE, &words);
}

/* ---- notes ----------------------------------------------------------------------------------------------
 */

static void say_slow_refill(efi_text *words, const ef_bins_note *note)
{
    const efi_piece share = efi_piece_percent(note->value, 0);
    if (note->value < 1.0)
        efi_words_say(words,
                      efi_tr("Round %s the line passes %s of what %s takes at this set rate, stops included: "
                             "bins run down and do not fill again."),
                      note->station, share.words, note->feed);
    else
        efi_words_say(words,
                      efi_tr("Round %s the line passes %s of what %s takes at this set rate, stops included: "
                             "too little for bins to fill again between stops."),
                      note->station, share.words, note->feed);
    efi_words_say(words, efi_tr("A lower set rate or a faster station helps; more volume only puts it off."));
}

static void say_no_room(efi_text *words, const ef_bins_note *note)
{
    efi_words_say(
        words,
        efi_tr("There is too little room for bins such as %s: with all there is, %s of full feed of "
               "%s are short a shift; with as much as one likes it would be %s."),
        note->station, efi_bins_minutes(note->value).words, note->feed, efi_bins_minutes(note->other).words);
}

void efi_bins_add_note(const efi_bins_view *v, const ef_bins_crop *crop, const ef_bins_note *note)
{
    efi_text words = {0};
    switch (note->kind) {
    case EF_BINS_LONG_STOP:
        efi_words_say(&words,
                      efi_tr("%s: %s lasts %s in the mean, longer than a shift of %s. No surge bin is meant "
                             "for that: spare parts or a second machine are."),
                      note->station, note->stop, efi_piece_duration(note->value).words,
                      efi_piece_duration(v->bins->shift_h).words);
        break;
    case EF_BINS_NO_BIN_BETWEEN:
        efi_words_say(&words,
                      efi_tr("%s stops, and there is no bin between it and %s: each of its stops stops the "
                             "feed, whatever the bins hold. A bin between them would end that."),
                      note->station, note->feed);
        break;
    case EF_BINS_SLOW_REFILL:
        say_slow_refill(&words, note);
        break;
    case EF_BINS_BELOW_LEAST:
        efi_words_say(&words,
                      efi_tr("%s would be set to %s, below its least feed of %s: its deck would not be "
                             "covered. The rest of the line is too slow for this machine."),
                      note->feed, efi_bins_rate(v, crop, note->value).words,
                      efi_bins_rate(v, crop, note->other).words);
        break;
    case EF_BINS_AT_MOST:
        efi_words_say(&words, efi_tr("%s takes all the room there is, %s; more would help."), note->station,
                      efi_bins_volume(v, note->value).words);
        break;
    case EF_BINS_NO_ROOM:
        say_no_room(&words, note);
        break;
    case EF_BINS_WITHOUT_DENSITY:
        efi_words_say(&words,
                      efi_tr("%s is left out: %s has no density, so its volume holds no known tonnes."),
                      note->station, crop->name);
        break;
    case EF_BINS_TOO_LONG:
        efi_words_say(&words, efi_tr("%s has more bins or machines in a row than can be sized together."),
                      note->feed);
        break;
    }
    efi_paper_say(v->paper, EFI_WARNING, &words);
}
