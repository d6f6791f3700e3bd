/* SPDX-License-Identifier: GPL-3.0-or-later
 * Of sized bins: how quantities are shown, how the answer was come by, and what else a person should know. */
#include "report/bins_view.h"

#include <math.h>

void efi_bins_add_volume(efi_text *words, const efi_bins_view *v, double m3)
{
    if (!(m3 > 0.0)) {
        efi_text_add(words, v->units == EF_UNITS_US ? "0 ft3" : "0 m3");
        return;
    }
    efi_display_add_alone(words, EFI_KIND_VOLUME, v->units, m3, 0.0, NULL);
}

void efi_bins_add_rate(efi_text *words, const efi_bins_view *v, const ef_bins_crop *crop, double tph)
{
    efi_display_add_alone(words, EFI_KIND_MASS_RATE, v->units, tph, crop->trade_weight_tpbu, NULL);
}

void efi_bins_add_percent(efi_text *out, double share, int decimals)
{
    efi_number_add_fixed(out, share * 100.0, decimals);
    efi_text_add(out, " %");
}

/* Full-feed minutes: "1.4 min", "0 min". */
void efi_bins_add_minutes(efi_text *out, double hours)
{
    const double minutes = fmax(hours, 0.0) * 60.0;
    efi_number_add_fixed(out, minutes, minutes < 9.95 ? 1 : 0);
    efi_text_add(out, " min");
}

/* ---- how it was come by ---------------------------------------------------------------------------------
 */

/* Where the recursion would be inexact, and that the whole network was taken instead. */
static void add_network(efi_text *words, const efi_bins_view *v, const ef_bins_feed *feed)
{
    efi_text_add(words, "The way of the feed is no plain series (");
    const char *between = "";
    if (feed->split_before) {
        efi_text_add(words, "it parts before other lines");
        between = "; ";
    }
    if (feed->parallel_before) {
        efi_text_addf(words, "%sseveral ways meet before it", between);
        between = "; ";
    }
    if (feed->parallel_behind) {
        efi_text_addf(words, "%sseveral bins take what leaves it", between);
        between = "; ";
    }
    if (feed->long_loop) {
        efi_text_addf(words, "%swhat comes back passes more than one bin", between);
        between = "; ";
    }
    if (between[0] == '\0')
        efi_text_add(words, "it shares a bin with such a one");
    efi_text_addf(
        words,
        "), so cuts came from a linear program of the whole network for each of %s%d traces, not from "
        "the recursion (%d cuts, gap ",
        feed->program_traces < v->bins->traces ? "the first " : "", feed->program_traces, feed->cuts);
    efi_bins_add_percent(words, feed->gap_share, 4);
    efi_text_add(words, ").");
    if (feed->together > 1)
        efi_text_addf(words, " All %d steady feeds are in it, so that none is served at the cost of another.",
                      feed->together);
    if (v->bins->with_receipts)
        efi_text_add(words, " It takes material as always there; only the event engine knows of late loads.");
}

void efi_bins_add_form(const efi_bins_view *v, const ef_bins_feed *feed)
{
    efi_text words = {0};
    if (feed->form == EF_BINS_TRACE_PROGRAMS) {
        add_network(&words, v, feed);
    } else {
        efi_text_addf(&words,
                      "Worked out as a series line of %d stations in %d segments, by cutting planes from the "
                      "fluid recursion (%d cuts, gap ",
                      feed->stations, feed->segments, feed->cuts);
        efi_bins_add_percent(&words, feed->gap_share, 6);
        efi_text_add(&words, ").");
    }
    if (feed->batches)
        efi_text_add(&words,
                     " Machines that work batch by batch are taken at their mean rate, so a bin before "
                     "one needs room for a charge on top.");
    if (feed->timed)
        efi_text_add(&words, " Waiting for crews and the time on conveyors are left out.");
    if (feed->many_intakes)
        efi_text_add(&words, " With several intakes, material is taken as always there.");
    if (feed->feed_between && feed->form == EF_BINS_RECURSION)
        efi_text_add(&words, " Another steady-feed station on the way counts as a plain machine.");
    if (feed->form == EF_BINS_RECURSION &&
        (feed->split_before || feed->parallel_before || feed->parallel_behind || feed->long_loop))
        efi_text_add(&words,
                     " The way is no plain series, but the network has too many bins to be sized as a "
                     "whole: of several ways the greatest is followed, and the event engine judges.");
    efi_paper_say(v->paper, EFI_NOTE, &words);
}

/* ---- notes ----------------------------------------------------------------------------------------------
 */

void efi_bins_add_note(const efi_bins_view *v, const ef_bins_crop *crop, const ef_bins_note *note)
{
    efi_text words = {0};
    switch (note->kind) {
    case EF_BINS_LONG_STOP:
        efi_text_addf(&words, "%s: %s lasts ", note->station, note->stop);
        efi_display_add_duration(&words, note->value);
        efi_text_add(&words, " in the mean, longer than a shift of ");
        efi_display_add_duration(&words, v->bins->shift_h);
        efi_text_add(&words, ". No surge bin is meant for that: spare parts or a second machine are.");
        break;
    case EF_BINS_NO_BIN_BETWEEN:
        efi_text_addf(
            &words,
            "%s stops, and there is no bin between it and %s: each of its stops stops the feed, whatever "
            "the bins hold. A bin between them would end that.",
            note->station, note->feed);
        break;
    case EF_BINS_SLOW_REFILL:
        efi_text_addf(&words, "Round %s the line passes ", note->station);
        efi_bins_add_percent(&words, note->value, 0);
        efi_text_addf(&words,
                      " of what %s takes at this set rate, stops included: %s. A lower set rate or a faster "
                      "station helps; more volume only puts it off.",
                      note->feed,
                      note->value < 1.0 ? "bins run down and do not fill again"
                                        : "too little for bins to fill again between stops");
        break;
    case EF_BINS_BELOW_LEAST:
        efi_text_addf(&words, "%s would be set to ", note->feed);
        efi_bins_add_rate(&words, v, crop, note->value);
        efi_text_add(&words, ", below its least feed of ");
        efi_bins_add_rate(&words, v, crop, note->other);
        efi_text_add(&words,
                     ": its deck would not be covered. The rest of the line is too slow for this machine.");
        break;
    case EF_BINS_AT_MOST:
        efi_text_addf(&words, "%s takes all the room there is, ", note->station);
        efi_bins_add_volume(&words, v, note->value);
        efi_text_add(&words, "; more would help.");
        break;
    case EF_BINS_NO_ROOM:
        efi_text_addf(&words, "There is too little room for bins such as %s: with all there is, ",
                      note->station);
        efi_bins_add_minutes(&words, note->value);
        efi_text_addf(&words, " of full feed of %s are short a shift; with as much as one likes it would be ",
                      note->feed);
        efi_bins_add_minutes(&words, note->other);
        efi_text_add(&words, ".");
        break;
    case EF_BINS_WITHOUT_DENSITY:
        efi_text_addf(&words, "%s is left out: %s has no density, so its volume holds no known tonnes.",
                      note->station, crop->name);
        break;
    case EF_BINS_TOO_LONG:
        efi_text_addf(&words, "%s has more bins or machines in a row than can be sized together.",
                      note->feed);
        break;
    }
    efi_paper_say(v->paper, EFI_WARNING, &words);
}
