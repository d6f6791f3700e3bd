/* SPDX-License-Identifier: GPL-3.0-or-later
 * Sized bins as text for a designer. */
#include "base/display.h"
#include "report/bins_words.h"
#include "report/report.h"
#include "report/steel.h"

#include <evenfeed/bins.h>
#include <math.h>
#include <string.h>

enum {
    WIDTH = 100
};
/* Program and engine differ by more than this share of the shift: told. */
#define APART_SHARE 0.01
/* Full-feed hours that would be told as 0.0 min. */
#define LEAST_TOLD_H (0.05 / 60.0)

typedef efi_bins_writer writer;

static void add_rate(efi_text *words, const writer *w, const ef_bins_crop *crop, double tph)
{
    efi_display_add_alone(words, EFI_KIND_MASS_RATE, w->units, tph, crop->trade_weight_tpbu, NULL);
}

static void add_percent(efi_text *out, double share, int decimals)
{
    efi_number_add_fixed(out, share * 100.0, decimals);
    efi_text_add(out, " %");
}

/* Full-feed minutes: "1.4 min", "0 min". */
static void add_minutes(efi_text *out, double hours)
{
    const double minutes = fmax(hours, 0.0) * 60.0;
    efi_number_add_fixed(out, minutes, minutes < 9.95 ? 1 : 0);
    efi_text_add(out, " min");
}

static void finish(efi_text *out, efi_text *words, int indent)
{
    efi_report_wrap(out, efi_text_get(words), indent, WIDTH);
    efi_text_free(words);
}

/* ---- one steady-feed station ----------------------------------------------------------------------------
 */

static void add_aim(efi_text *words, const ef_bins *bins)
{
    switch (bins->aim) {
    case EF_BINS_NONE_SHORT:
        efi_text_add(words, "nothing short in any trace that volume can prevent");
        break;
    case EF_BINS_MEAN:
        efi_text_add(words, "at most ");
        add_minutes(words, bins->aim_h);
        efi_text_add(words, " of full feed short a shift in the mean");
        break;
    case EF_BINS_TAIL:
        efi_text_add(words, "the worst ");
        add_percent(words, bins->tail_share, bins->tail_share < 0.01 ? 1 : 0);
        efi_text_add(words, " of shifts short by at most ");
        add_minutes(words, bins->aim_h);
        efi_text_add(words, " of full feed in the mean");
        break;
    case EF_BINS_PRICE:
        efi_text_add(words, "the least cost of volume and of tonnes short together, at ");
        efi_number_add_fixed(words, bins->price, 0);
        efi_text_addf(words, " %s for each tonne short a shift", bins->has_costs ? bins->currency : "m3");
        break;
    }
}

static void add_rates(const writer *w, const ef_bins_crop *crop, const ef_bins_feed *feed)
{
    efi_text words = {0};
    efi_text_addf(&words, "%s on %s: set to ", feed->name, crop->name);
    add_rate(&words, w, crop, feed->set_tph);
    if (feed->lowered) {
        efi_text_add(&words, ", not to the ");
        add_rate(&words, w, crop, feed->balance_tph);
        efi_text_add(&words, " of the steady balance");
        if (feed->slow)
            efi_text_addf(
                &words,
                ": with its stops the line round %s passes less than that in the mean, and no bin makes up "
                "for what never comes. A reserve of 5 %% lets bins fill again between stops",
                feed->slow);
    } else {
        efi_text_add(&words, ", its rate in the steady balance");
    }
    efi_text_add(&words, ".");
    finish(w->out, &words, 2);
}

static void add_achieved(const writer *w, const ef_bins_feed *feed)
{
    efi_text words = {0};
    efi_text_add(&words, "Aim: ");
    add_aim(&words, w->bins);
    if (feed->together > 1 && w->bins->aim != EF_BINS_PRICE)
        efi_text_add(&words, ", at each");
    if (w->bins->aim != EF_BINS_PRICE && feed->unavoidable_h >= LEAST_TOLD_H) {
        efi_text_add(&words, ", on top of ");
        add_minutes(&words, feed->unavoidable_h);
        efi_text_add(&words, " that no volume prevents");
    }
    efi_text_add(&words, ". Sized to ");
    add_minutes(&words, feed->sized_h);
    if (feed->together > 1)
        efi_text_addf(&words, " for the %d steady feeds together", feed->together);
    if (feed->recommended.is_run) {
        efi_text_add(&words, "; the event engine makes ");
        add_minutes(&words, feed->engine_h);
        efi_text_add(&words, " of the same draws");
    }
    if (feed->recommended.is_run && fabs(feed->engine_h - feed->sized_h) > APART_SHARE * w->bins->shift_h) {
        efi_text_add(&words, ": they differ by ");
        add_percent(&words, fabs(feed->engine_h - feed->sized_h) / w->bins->shift_h, 1);
        efi_text_add(&words,
                     feed->form == EF_BINS_RECURSION
                         ? " of the shift (the program knows neither restart levels nor warm-up, and "
                           "lays stops on the clock)"
                         : " of the shift (the program knows the stops to come and has all flows at its "
                           "will, but neither restart levels nor warm-up, and lays stops on the clock)");
    }
    efi_text_add(&words, ".");
    if (feed->tightened > 0)
        efi_text_addf(&words, " The aim was tightened %d time%s, since fresh traces missed it.",
                      feed->tightened, feed->tightened > 1 ? "s" : "");
    if (feed->recommended.is_run && !feed->met && w->bins->aim != EF_BINS_PRICE)
        efi_text_add(&words, " On fresh traces the aim is still missed: see the table.");
    finish(w->out, &words, 2);
}

static void add_estimate(efi_table *table, ef_bins_estimate e, double scale, int decimals)
{
    efi_text cell = {0};
    efi_number_add_fixed(&cell, e.value * scale, decimals);
    if (isfinite(e.low) && isfinite(e.high)) {
        efi_text_add(&cell, " (");
        efi_number_add_fixed(&cell, fmax(e.low, 0.0) * scale, decimals);
        efi_text_add(&cell, "-");
        efi_number_add_fixed(&cell, e.high * scale, decimals);
        efi_text_add(&cell, ")");
    }
    efi_table_add(table, efi_text_get(&cell));
    efi_text_free(&cell);
}

static void add_check(efi_table *table, const writer *w, const char *name, const ef_bins_check *check,
                      const efi_display *tonnes)
{
    efi_text cell = {0};
    efi_table_add(table, name);
    efi_bins_add_volume(&cell, w, check->volume_m3);
    efi_table_add(table, efi_text_get(&cell));
    efi_text_free(&cell);
    add_estimate(table, check->short_share, 100.0, 0);
    add_estimate(table, check->short_h, 60.0, 1);
    add_estimate(table, check->out_of_band_h, 60.0, 1);
    add_estimate(table, check->out_of_band_p95_h, 60.0, 1);
    add_estimate(table, check->lost_t, efi_display_value(tonnes, 1.0), tonnes->decimals);
}

static void add_checks(const writer *w, const ef_bins_crop *crop, const ef_bins_feed *feed)
{
    if (!feed->recommended.is_run)
        return;
    const efi_display tonnes = efi_display_choose(EFI_KIND_MASS, w->units, fmax(feed->now.lost_t.value, 0.01),
                                                  crop->trade_weight_tpbu, NULL);
    efi_text_add(w->out, "\n  On fresh traces, a shift, with 95 % confidence limits\n");
    efi_table table = {.columns = 7, .align = "lrrrrrr"};
    efi_table_add(&table, "Bins");
    efi_table_add(&table, "Volume");
    efi_table_add(&table, "Short, % of shifts");
    efi_table_add(&table, "Short, min");
    efi_table_add(&table, "Out of band, min");
    efi_table_add(&table, "1 in 20 over, min");
    efi_table_addf(&table, "Lost, %s", tonnes.name);
    add_check(&table, w, "now", &feed->now, &tonnes);
    add_check(&table, w, "by the rule", &feed->rule, &tonnes);
    add_check(&table, w, "recommended", &feed->recommended, &tonnes);
    efi_table_print(&table, w->out, 2, true);
}

static void add_verdict(const writer *w, const ef_bins_feed *feed)
{
    efi_text words = {0};
    efi_text_add(&words, "The rule of ");
    efi_display_add_duration(&words, w->bins->rule_h);
    switch (feed->verdict) {
    case EF_BINS_RULE_UNTRIED:
        efi_text_free(&words);
        return;
    case EF_BINS_RULE_SHORT:
        efi_text_add(&words, " is not enough here, with all other bins as they are: ");
        break;
    case EF_BINS_RULE_ENOUGH:
        efi_text_add(&words, " is enough here, with all other bins as they are: ");
        break;
    case EF_BINS_RULE_GENEROUS:
        efi_text_add(&words, " is more than enough here, with all other bins as they are: ");
        break;
    }
    add_minutes(&words, feed->rule.short_h.value);
    efi_text_add(&words, " of full feed short a shift");
    if (feed->together == 1 && feed->unavoidable_h >= LEAST_TOLD_H) {
        efi_text_add(&words, ", some ");
        add_minutes(&words, feed->unavoidable_h);
        efi_text_add(&words, " of them whatever is built");
    }
    efi_text_add(&words, ".");
    finish(w->out, &words, 2);
}

static void add_curve(const writer *w, const ef_bins_feed *feed)
{
    if (feed->curve_count < 2)
        return;
    efi_text_add(w->out, "\n  Volume against minutes short");
    if (feed->together > 1)
        efi_text_addf(w->out, " of all %d steady feeds together", feed->together);
    efi_text_add(w->out, ", on the traces for sizing\n");
    const bool money = w->bins->has_costs;
    efi_table table = {.columns = money ? 4 : 3, .align = money ? "rrrl" : "rrl"};
    efi_table_add(&table, "Short a shift");
    efi_table_add(&table, "Volume");
    if (money)
        efi_table_addf(&table, "Cost, %s", w->bins->currency);
    efi_table_add(&table, "");
    for (int i = 0; i < feed->curve_count; i++) {
        efi_text cell = {0};
        add_minutes(&cell, feed->curve[i].short_h);
        efi_table_add(&table, efi_text_get(&cell));
        cell.length = 0;
        efi_bins_add_volume(&cell, w, feed->curve[i].volume_m3);
        efi_table_add(&table, efi_text_get(&cell));
        cell.length = 0;
        if (money) {
            efi_number_add_fixed(&cell, feed->curve[i].cost, 0);
            efi_table_add(&table, efi_text_get(&cell));
        }
        efi_text_free(&cell);
        efi_table_add(&table, i == feed->knee ? "knee: less is dear from here on" : "");
    }
    efi_table_print(&table, w->out, 2, true);
}

/* Where the recursion would be inexact, and that the whole network was taken instead. */
static void add_network(efi_text *words, const writer *w, const ef_bins_feed *feed)
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
        feed->program_traces < w->bins->traces ? "the first " : "", feed->program_traces, feed->cuts);
    add_percent(words, feed->gap_share, 4);
    efi_text_add(words, ").");
    if (feed->together > 1)
        efi_text_addf(words, " All %d steady feeds are in it, so that none is served at the cost of another.",
                      feed->together);
    if (w->bins->with_receipts)
        efi_text_add(words, " It takes material as always there; only the event engine knows of late loads.");
}

static void add_form(const writer *w, const ef_bins_feed *feed)
{
    efi_text words = {0};
    if (feed->form == EF_BINS_TRACE_PROGRAMS) {
        add_network(&words, w, feed);
    } else {
        efi_text_addf(&words,
                      "Worked out as a series line of %d stations in %d segments, by cutting planes from the "
                      "fluid recursion (%d cuts, gap ",
                      feed->stations, feed->segments, feed->cuts);
        add_percent(&words, feed->gap_share, 6);
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
    finish(w->out, &words, 2);
}

/* ---- notes ----------------------------------------------------------------------------------------------
 */

static void add_note(const writer *w, const ef_bins_crop *crop, const ef_bins_note *note)
{
    efi_text words = {0};
    switch (note->kind) {
    case EF_BINS_LONG_STOP:
        efi_text_addf(&words, "%s: %s lasts ", note->station, note->stop);
        efi_display_add_duration(&words, note->value);
        efi_text_add(&words, " in the mean, longer than a shift of ");
        efi_display_add_duration(&words, w->bins->shift_h);
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
        add_percent(&words, note->value, 0);
        efi_text_addf(&words,
                      " of what %s takes at this set rate, stops included: %s. A lower set rate or a faster "
                      "station helps; more volume only puts it off.",
                      note->feed,
                      note->value < 1.0 ? "bins run down and do not fill again"
                                        : "too little for bins to fill again between stops");
        break;
    case EF_BINS_BELOW_LEAST:
        efi_text_addf(&words, "%s would be set to ", note->feed);
        add_rate(&words, w, crop, note->value);
        efi_text_add(&words, ", below its least feed of ");
        add_rate(&words, w, crop, note->other);
        efi_text_add(&words,
                     ": its deck would not be covered. The rest of the line is too slow for this machine.");
        break;
    case EF_BINS_AT_MOST:
        efi_text_addf(&words, "%s takes all the room there is, ", note->station);
        efi_bins_add_volume(&words, w, note->value);
        efi_text_add(&words, "; more would help.");
        break;
    case EF_BINS_NO_ROOM:
        efi_text_addf(&words, "There is too little room for bins such as %s: with all there is, ",
                      note->station);
        add_minutes(&words, note->value);
        efi_text_addf(&words, " of full feed of %s are short a shift; with as much as one likes it would be ",
                      note->feed);
        add_minutes(&words, note->other);
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
    finish(w->out, &words, 2);
}

/* ---- the text -------------------------------------------------------------------------------------------
 */

static void add_crop(const writer *w, const ef_bins_crop *crop)
{
    efi_text words = {0};
    efi_text_add(w->out, "\n");
    if (!crop->feasible)
        efi_text_addf(&words,
                      "%s: the demands on the steady balance contradict each other, see evenfeed balance.",
                      crop->name);
    else if (crop->trouble)
        efi_text_addf(&words, "%s: the line cannot run as described: %s", crop->name, crop->trouble);
    else if (!crop->anything_stops)
        efi_text_addf(&words,
                      "%s: nothing to size against: no station stops and no load is late. Give the stations "
                      "their `stops`.",
                      crop->name);
    else if (crop->feed_count == 0)
        efi_text_addf(&words, "%s: no station is a steady feed, so no bin has to keep one.", crop->name);
    if (words.length > 0) {
        finish(w->out, &words, 0);
        return;
    }
    for (int i = 0; i < crop->note_count; i++)
        add_note(w, crop, &crop->notes[i]);
    for (int f = 0; f < crop->feed_count; f++) {
        const ef_bins_feed *feed = &crop->feeds[f];
        efi_text_add(w->out, f > 0 || crop->note_count > 0 ? "\n" : "");
        add_rates(w, crop, feed);
        if (feed->cuts > 0)
            add_achieved(w, feed);
        add_checks(w, crop, feed);
        add_verdict(w, feed);
        add_curve(w, feed);
        if (feed->cuts > 0) {
            efi_text_add(w->out, "\n");
            add_form(w, feed);
        }
    }
}

static const char cautions[] =
    "Live volume is what can be used between empty and full; the heap above, the dead corners below and the "
    "freeboard "
    "come on top. Structural loads of bins belong to a licensed engineer (EN 1991-4, ANSI/ASAE EP433). "
    "Nobody enters a "
    "bin that is not locked out and tested: flowing seed buries a person within seconds, and bridged seed "
    "falls. Grain "
    "dust explodes: venting, bonding and hot work go by local codes, which come first.";

/* Returns whether the cautions have been printed. */
static bool add_steel(const writer *w)
{
    const ef_steel *any = NULL;
    for (int b = 0; b < w->bins->bin_count; b++) {
        const ef_steel *steel = w->bins->bins[b].steel;
        if (!steel)
            continue;
        if (!any)
            efi_text_add(w->out, "\nIn steel\n");
        any = steel;
        efi_steel_add_text(w->out, steel, w->units);
    }
    efi_text_add(w->out, any ? "\n" : "");
    if (any)
        efi_steel_add_cautions(w->out, any);
    return any;
}

static void add_basis(const writer *w, bool cautioned)
{
    const ef_bins *bins = w->bins;
    efi_text words = {0};
    efi_text_addf(
        &words,
        "Sized on %d traces of %d shift%s in a row, counted from the first hour; tried on as many others. "
        "Stops that count running time were laid on the "
        "clock at the expected load of their station. ",
        bins->traces, bins->shifts, bins->shifts > 1 ? "s" : "");
    efi_text_add(&words,
                 bins->with_receipts
                     ? "Loads came when they came; bins started empty unless the scenario gives a start "
                       "level, so the time until the first loads have come is short whatever is built. "
                     : "Bins started half full unless the scenario gives a start level. Material was taken "
                       "as always there: what late loads need comes on top. ");
    if (bins->stopped)
        efi_text_add(
            &words, "The search was interrupted: these are the best volumes so far, and not all was tried. ");
    finish(w->out, &words, 0);
    if (!cautioned)
        efi_report_wrap(w->out, cautions, 0, WIDTH);
}

ef_status ef_report_bins_text(const ef_bins *bins, ef_units units, char **text)
{
    efi_text out = {0};
    const writer w = {bins, units, &out};
    efi_text_addf(&out, "%s: %s, seed %llu\n\n", bins->plant, bins->scenario_file,
                  (unsigned long long)bins->seed);
    for (int b = 0; b < bins->bin_count; b++)
        efi_bins_add_whole(&w, &bins->bins[b]);
    if (bins->bin_count == 0)
        efi_text_add(&out, "There are no bins to size.\n");
    for (int c = 0; c < bins->crop_count; c++)
        add_crop(&w, &bins->crops[c]);
    const bool cautioned = add_steel(&w);
    efi_text_add(&out, "\n");
    add_basis(&w, cautioned);
    return efi_report_give(&out, text);
}
