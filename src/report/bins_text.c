/* SPDX-License-Identifier: GPL-3.0-or-later
 * Sized bins for a designer. */
#include "base/display.h"
#include "report/bins_view.h"
#include "report/report.h"
#include "report/steel.h"

#include <evenfeed/bins.h>
#include <math.h>
#include <string.h>

/* Of a bin: a reason that uses less of it than this says nothing. */
#define LEAST_USED_SHARE 0.3
/* Program and engine differ by more than this share of the shift: told. */
#define APART_SHARE 0.01

typedef struct writer {
    const ef_bins *bins;
    ef_units units;
    efi_paper *paper;
} writer;

static void add_volume(efi_text *words, const writer *w, double m3)
{
    if (!(m3 > 0.0)) {
        efi_text_add(words, w->units == EF_UNITS_US ? "0 ft3" : "0 m3");
        return;
    }
    efi_display_add_alone(words, EFI_KIND_VOLUME, w->units, m3, 0.0, NULL);
}

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

/* ---- one sentence for each bin --------------------------------------------------------------------------
 */

static void add_stop(efi_text *words, const ef_bins_stop *stop)
{
    if (!stop->stop) {
        efi_text_addf(words, "no load at %s for ", stop->station);
        efi_display_add_duration(words, stop->to_h - stop->from_h);
        return;
    }
    efi_text_addf(words, "%s: %s", stop->station, stop->stop);
    if (stop->machine > 0)
        efi_text_addf(words, " of machine %d", stop->machine);
    efi_text_add(words, " (");
    efi_display_add_duration(words, stop->to_h - stop->from_h);
    efi_text_add(words, ")");
}

static void add_when(efi_text *words, const writer *w, const ef_bins_reason *reason, double at_h)
{
    const int shift = (int)(at_h / w->bins->shift_h);
    const long long minutes = llround((at_h - shift * w->bins->shift_h) * 60.0);
    efi_text_addf(words, "at %lld:%02lld of shift %d, trace %d", minutes / 60, minutes % 60, shift + 1,
                  reason->trace + 1);
}

static void add_reason(efi_text *words, const writer *w, const ef_bins_bin *bin)
{
    const ef_bins_reason *reason = &bin->reason;
    double from_h = INFINITY;
    efi_text_add(words, reason->met ? " It then just bridges " : " It falls short at ");
    for (int i = 0; i < reason->stop_count; i++) {
        efi_text_add(words, i == 0                                                 ? ""
                            : i + 1 < reason->stop_count || reason->more_stops > 0 ? ", "
                                                                                   : " and ");
        add_stop(words, &reason->stops[i]);
        from_h = fmin(from_h, reason->stops[i].from_h);
    }
    if (reason->more_stops > 0)
        efi_text_addf(words, " and %d more", reason->more_stops);
    efi_text_add(words, " ");
    add_when(words, w, reason, from_h);
    if (reason->from_start)
        efi_text_addf(words, ", before it has been %s for the first time", bin->before ? "full" : "empty");
    efi_text_add(words, ".");
}

static void add_sized(efi_text *words, const writer *w, const ef_bins_whole *whole)
{
    add_volume(words, w, whole->recommended_m3);
    efi_text_add(words, " recommended");
    if (whole->crop < 0) {
        efi_text_add(words, ".");
        return;
    }
    const ef_bins_crop *crop = &w->bins->crops[whole->crop];
    for (int b = 0; b < crop->bin_count; b++) {
        const ef_bins_bin *bin = &crop->bins[b];
        if (strcmp(bin->name, whole->name) != 0)
            continue;
        if (whole->recommended_m3 > 0.0) {
            efi_text_add(words, " (");
            efi_display_add_duration(words, bin->lasts_h);
            efi_text_add(words, " of feed)");
        }
        if (w->bins->crop_count > 1 && whole->recommended_m3 > 0.0)
            efi_text_addf(words, ", set by %s", crop->name);
        efi_text_add(words, ".");
        if (!(whole->recommended_m3 > 0.0))
            efi_text_addf(words,
                          " The steady feed of %s does not need it: the other bins do its work, or cheaper.",
                          bin->feed);
        else if (bin->has_reason && bin->reason.used_share > LEAST_USED_SHARE)
            add_reason(words, w, bin);
        if (bin->at_most)
            efi_text_add(words, " It may not be larger.");
    }
}

static void add_whole(const writer *w, const ef_bins_whole *whole)
{
    efi_text words = {0};
    efi_text_addf(&words, "%s: ", whole->name);
    if (whole->has_now)
        add_volume(&words, w, whole->now_m3);
    efi_text_add(&words, whole->has_now ? " now, " : "no volume given now, ");
    if (whole->has_rule) {
        add_volume(&words, w, whole->rule_m3);
        efi_text_add(&words, " by the rule of ");
        efi_display_add_duration(&words, w->bins->rule_h);
        efi_text_add(&words, ", ");
    }
    switch (whole->choice) {
    case EF_BINS_SIZED:
        add_sized(&words, w, whole);
        break;
    case EF_BINS_KEPT:
        efi_text_add(&words, "kept as the scenario asks.");
        break;
    case EF_BINS_NOTHING_STOPS:
        efi_text_add(
            &words,
            "left as it is: what lies beyond it never stops and keeps up, so there is nothing to size it "
            "against.");
        break;
    case EF_BINS_OFF_PATH:
        efi_text_add(&words, "left as it is: it does not lie on the way of a steady feed.");
        break;
    }
    efi_paper_say(w->paper, EFI_VERDICT, &words);
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
    efi_paper_say(w->paper, EFI_VERDICT, &words);
}

static void add_achieved(const writer *w, const ef_bins_feed *feed)
{
    efi_text words = {0};
    efi_text_add(&words, "Aim: ");
    add_aim(&words, w->bins);
    if (w->bins->aim != EF_BINS_PRICE) {
        efi_text_add(&words, ", on top of ");
        add_minutes(&words, feed->unavoidable_h);
        efi_text_add(&words, " that no volume prevents");
    }
    efi_text_add(&words, ". Sized to ");
    add_minutes(&words, feed->sized_h);
    if (feed->recommended.is_run) {
        efi_text_add(&words, "; the event engine makes ");
        add_minutes(&words, feed->engine_h);
        efi_text_add(&words, " of the same draws");
    }
    if (feed->recommended.is_run && fabs(feed->engine_h - feed->sized_h) > APART_SHARE * w->bins->shift_h) {
        efi_text_add(&words, ": they differ by ");
        add_percent(&words, fabs(feed->engine_h - feed->sized_h) / w->bins->shift_h, 1);
        efi_text_add(&words,
                     " of the shift (the program knows neither restart levels nor warm-up, and lays stops on "
                     "the clock)");
    }
    efi_text_add(&words, ".");
    if (feed->tightened > 0)
        efi_text_addf(&words, " The aim was tightened %d time%s, since fresh traces missed it.",
                      feed->tightened, feed->tightened > 1 ? "s" : "");
    if (feed->recommended.is_run && !feed->met && w->bins->aim != EF_BINS_PRICE)
        efi_text_add(&words, " On fresh traces the aim is still missed: see the table.");
    efi_paper_say(w->paper, EFI_DETAIL, &words);
}

static void add_estimate(const writer *w, ef_bins_estimate e, double scale, int decimals, const char *unit)
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
    efi_paper_take(w->paper, &cell);
    efi_paper_value(w->paper, e.value * scale, decimals, unit);
    efi_paper_limits(w->paper, fmax(e.low, 0.0) * scale, e.high * scale);
}

static void add_volume_cell(const writer *w, double m3)
{
    const efi_display volume = efi_display_choose(EFI_KIND_VOLUME, w->units, m3, 0.0, NULL);
    efi_text cell = {0};
    add_volume(&cell, w, m3);
    efi_paper_take(w->paper, &cell);
    efi_paper_value(w->paper, efi_display_value(&volume, m3), volume.decimals, volume.name);
}

static void add_check(const writer *w, const char *name, const ef_bins_check *check,
                      const efi_display *tonnes)
{
    efi_paper_cell(w->paper, name);
    add_volume_cell(w, check->volume_m3);
    add_estimate(w, check->short_share, 100.0, 0, "%");
    add_estimate(w, check->short_h, 60.0, 1, "min");
    add_estimate(w, check->out_of_band_h, 60.0, 1, "min");
    add_estimate(w, check->out_of_band_p95_h, 60.0, 1, "min");
    add_estimate(w, check->lost_t, efi_display_value(tonnes, 1.0), tonnes->decimals, tonnes->name);
}

static void add_checks(const writer *w, const ef_bins_crop *crop, const ef_bins_feed *feed)
{
    if (!feed->recommended.is_run)
        return;
    const efi_display tonnes = efi_display_choose(EFI_KIND_MASS, w->units, fmax(feed->now.lost_t.value, 0.01),
                                                  crop->trade_weight_tpbu, NULL);
    static const efi_table_form form = {.name = "checks",
                                        .caption = "On fresh traces, a shift, with 95 % confidence limits"};
    efi_text lost = {0};
    efi_text_addf(&lost, "Lost, %s", tonnes.name);
    const efi_column columns[] = {{"Bins", 'l', 0, false},
                                  {"Volume", 'r', 0, false},
                                  {"Short, % of shifts", 'r', 0, false},
                                  {"Short, min", 'r', 0, false},
                                  {"Out of band, min", 'r', 0, false},
                                  {"1 in 20 over, min", 'r', 0, false},
                                  {efi_text_get(&lost), 'r', 0, false}};
    efi_paper_gap(w->paper);
    efi_paper_table(w->paper, &form, columns, EF_COUNT(columns));
    efi_text_free(&lost);
    add_check(w, "now", &feed->now, &tonnes);
    add_check(w, "by the rule", &feed->rule, &tonnes);
    add_check(w, "recommended", &feed->recommended, &tonnes);
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
    efi_text_add(&words, " of full feed short a shift.");
    efi_paper_say(w->paper, EFI_VERDICT, &words);
}

static void add_point(const writer *w, const ef_bins_feed *feed, int point)
{
    efi_text words = {0};
    add_minutes(&words, feed->curve[point].short_h);
    efi_paper_take(w->paper, &words);
    efi_paper_value(w->paper, feed->curve[point].short_h * 60.0, 1, "min");
    add_volume_cell(w, feed->curve[point].volume_m3);
    if (w->bins->has_costs) {
        efi_number_add_fixed(&words, feed->curve[point].cost, 0);
        efi_paper_take(w->paper, &words);
        efi_paper_value(w->paper, feed->curve[point].cost, 0, w->bins->currency);
    }
    efi_paper_cell(w->paper, point == feed->knee ? "knee: less is dear from here on" : "");
}

static void add_curve(const writer *w, const ef_bins_feed *feed)
{
    static const efi_table_form form = {.name = "curve",
                                        .caption = "Volume against minutes short, on the traces for sizing"};
    if (feed->curve_count < 2)
        return;
    const bool money = w->bins->has_costs;
    efi_text cost = {0};
    efi_text_addf(&cost, "Cost, %s", w->bins->currency);
    efi_column columns[4] = {{"Short a shift", 'r', 0, false}, {"Volume", 'r', 0, false}};
    int count = 2;
    if (money)
        columns[count++] = (efi_column){efi_text_get(&cost), 'r', 0, false};
    columns[count++] = (efi_column){"", 'l', 0, false};
    efi_paper_gap(w->paper);
    efi_paper_table(w->paper, &form, columns, count);
    efi_text_free(&cost);
    for (int i = 0; i < feed->curve_count; i++)
        add_point(w, feed, i);
}

static void add_form(const writer *w, const ef_bins_feed *feed)
{
    efi_text words = {0};
    efi_text_addf(&words,
                  "Worked out as a line of %d stations in %d segments, by cutting planes (%d cuts, gap ",
                  feed->stations, feed->segments, feed->cuts);
    add_percent(&words, feed->gap_share, 6);
    efi_text_add(&words, ").");
    if (feed->batches || feed->timed || feed->split_before || feed->parallel_before ||
        feed->parallel_behind || feed->long_loop || feed->many_intakes || feed->feed_between)
        efi_text_add(&words,
                     " The plant is no plain line, so this is an approximation, judged by the event engine:");
    if (feed->batches)
        efi_text_add(
            &words,
            " machines that work batch by batch are taken at their mean rate, so a bin before one needs "
            "room for a charge on top;");
    if (feed->timed)
        efi_text_add(&words, " waiting for crews and the time on conveyors are left out;");
    if (feed->split_before)
        efi_text_add(
            &words, " what goes to other lines goes there in the shares of the balance, and never backs up;");
    if (feed->parallel_before)
        efi_text_add(&words, " of several bins that feed one station the one that brings most is followed;");
    if (feed->parallel_behind)
        efi_text_add(&words,
                     " of several bins behind one station the one that gets most is followed, the others are "
                     "taken as never full;");
    if (feed->long_loop)
        efi_text_add(&words, " what returns over more than one bin is taken as in the steady balance;");
    if (feed->many_intakes)
        efi_text_add(&words, " with several intakes, material is taken as always there;");
    if (feed->feed_between)
        efi_text_add(&words, " another steady-feed station on the way counts as a plain machine;");
    efi_paper_say(w->paper, EFI_NOTE, &words);
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
        add_volume(&words, w, note->value);
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
    efi_paper_say(w->paper, EFI_WARNING, &words);
}

/* ---- the text -------------------------------------------------------------------------------------------
 */

/* Why there is nothing to say about a crop; empty when there is. */
static void add_nothing(efi_text *words, const ef_bins_crop *crop)
{
    if (!crop->feasible)
        efi_text_addf(words,
                      "%s: the demands on the steady balance contradict each other, see evenfeed balance.",
                      crop->name);
    else if (crop->trouble)
        efi_text_addf(words, "%s: the line cannot run as described: %s", crop->name, crop->trouble);
    else if (!crop->anything_stops)
        efi_text_addf(words,
                      "%s: nothing to size against: no station stops and no load is late. Give the stations "
                      "their `stops`.",
                      crop->name);
    else if (crop->feed_count == 0)
        efi_text_addf(words, "%s: no station is a steady feed, so no bin has to keep one.", crop->name);
}

static void add_feed(const writer *w, const ef_bins_crop *crop, const ef_bins_feed *feed)
{
    add_rates(w, crop, feed);
    if (feed->cuts > 0)
        add_achieved(w, feed);
    add_checks(w, crop, feed);
    add_verdict(w, feed);
    add_curve(w, feed);
    if (feed->cuts > 0) {
        efi_paper_gap(w->paper);
        add_form(w, feed);
    }
}

static void add_crop(const writer *w, const ef_bins_crop *crop)
{
    efi_text words = {0};
    efi_paper_gap(w->paper);
    w->paper->depth = 0;
    efi_paper_heading(w->paper, 2, true, crop->name);
    add_nothing(&words, crop);
    if (words.length > 0) {
        efi_paper_say(w->paper, EFI_WARNING, &words);
        return;
    }
    w->paper->depth = 1;
    for (int i = 0; i < crop->note_count; i++)
        add_note(w, crop, &crop->notes[i]);
    for (int f = 0; f < crop->feed_count; f++) {
        if (f > 0 || crop->note_count > 0)
            efi_paper_gap(w->paper);
        add_feed(w, crop, &crop->feeds[f]);
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

/* Returns whether the cautions have been told. */
static bool add_steel(const writer *w)
{
    const ef_steel *any = NULL;
    w->paper->depth = 0;
    for (int b = 0; b < w->bins->bin_count; b++) {
        const ef_steel *steel = w->bins->bins[b].steel;
        if (!steel)
            continue;
        if (!any) {
            efi_paper_gap(w->paper);
            efi_paper_heading(w->paper, 2, false, "In steel");
        }
        any = steel;
        w->paper->depth = 1;
        efi_steel_put(w->paper, steel, w->units);
    }
    if (any) {
        efi_paper_gap(w->paper);
        efi_steel_put_cautions(w->paper, any);
    }
    w->paper->depth = 0;
    return any;
}

static void add_basis(const writer *w, bool cautioned)
{
    const ef_bins *bins = w->bins;
    efi_text words = {0};
    efi_text_addf(
        &words,
        "Sized on %d traces of %d shift%s in a row, counted from the first hour, bins starting as the "
        "scenario says; tried on as many others. Stops that count running time were laid on the "
        "clock at the expected load of their station. ",
        bins->traces, bins->shifts, bins->shifts > 1 ? "s" : "");
    efi_text_add(&words, bins->with_receipts
                             ? "Loads came when they came. "
                             : "Material was taken as always there: what late loads need comes on top. ");
    if (bins->stopped)
        efi_text_add(
            &words, "The search was interrupted: these are the best volumes so far, and not all was tried. ");
    efi_paper_say(w->paper, EFI_NOTE, &words);
    if (!cautioned)
        efi_paper_words(w->paper, EFI_CAUTION, cautions);
}

void efi_bins_put(efi_paper *paper, const ef_bins *bins, ef_units units)
{
    const writer w = {bins, units, paper};
    efi_text title = {0};
    efi_text_addf(&title, "%s: %s, seed %llu", bins->plant, bins->scenario_file,
                  (unsigned long long)bins->seed);
    efi_paper_title(paper, &title);
    for (int b = 0; b < bins->bin_count; b++)
        add_whole(&w, &bins->bins[b]);
    if (bins->bin_count == 0)
        efi_paper_words(paper, EFI_VERDICT, "There are no bins to size.");
    for (int c = 0; c < bins->crop_count; c++)
        add_crop(&w, &bins->crops[c]);
    const bool cautioned = add_steel(&w);
    efi_paper_gap(paper);
    add_basis(&w, cautioned);
}

ef_status ef_report_bins_text(const ef_bins *bins, ef_units units, char **text)
{
    efi_paper paper = {0};
    efi_bins_put(&paper, bins, units);
    return efi_paper_give_text(&paper, text);
}
