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

static void add_when(efi_text *words, const efi_bins_view *v, const ef_bins_reason *reason, double at_h)
{
    const int shift = (int)(at_h / v->bins->shift_h);
    const long long minutes = llround((at_h - shift * v->bins->shift_h) * 60.0);
    efi_text_addf(words, "at %lld:%02lld of shift %d, trace %d", minutes / 60, minutes % 60, shift + 1,
                  reason->trace + 1);
}

static void add_reason(efi_text *words, const efi_bins_view *v, const ef_bins_bin *bin)
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
    add_when(words, v, reason, from_h);
    if (reason->from_start)
        efi_text_addf(words, ", before it has been %s for the first time", bin->before ? "full" : "empty");
    efi_text_add(words, ".");
}

static void add_sized(efi_text *words, const efi_bins_view *v, const ef_bins_whole *whole)
{
    efi_bins_add_volume(words, v, whole->recommended_m3);
    efi_text_add(words, " recommended");
    if (whole->crop < 0) {
        efi_text_add(words, ".");
        return;
    }
    const ef_bins_crop *crop = &v->bins->crops[whole->crop];
    for (int b = 0; b < crop->bin_count; b++) {
        const ef_bins_bin *bin = &crop->bins[b];
        if (strcmp(bin->name, whole->name) != 0)
            continue;
        if (whole->recommended_m3 > 0.0) {
            efi_text_add(words, " (");
            efi_display_add_duration(words, bin->lasts_h);
            efi_text_add(words, " of feed)");
        }
        if (v->bins->crop_count > 1 && whole->recommended_m3 > 0.0)
            efi_text_addf(words, ", set by %s", crop->name);
        efi_text_add(words, ".");
        if (!(whole->recommended_m3 > 0.0))
            efi_text_addf(words,
                          " The steady feed of %s does not need it: the other bins do its work, or cheaper.",
                          bin->feed);
        else if (bin->has_reason && bin->reason.used_share > LEAST_USED_SHARE)
            add_reason(words, v, bin);
        if (bin->at_most)
            efi_text_add(words, " It may not be larger.");
    }
}

static void add_whole(const efi_bins_view *v, const ef_bins_whole *whole)
{
    efi_text words = {0};
    efi_text_addf(&words, "%s: ", whole->name);
    if (whole->has_now)
        efi_bins_add_volume(&words, v, whole->now_m3);
    efi_text_add(&words, whole->has_now ? " now, " : "no volume given now, ");
    if (whole->has_rule) {
        efi_bins_add_volume(&words, v, whole->rule_m3);
        efi_text_add(&words, " by the rule of ");
        efi_display_add_duration(&words, v->bins->rule_h);
        efi_text_add(&words, ", ");
    }
    switch (whole->choice) {
    case EF_BINS_SIZED:
        add_sized(&words, v, whole);
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
    efi_paper_say(v->paper, EFI_VERDICT, &words);
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
        efi_bins_add_minutes(words, bins->aim_h);
        efi_text_add(words, " of full feed short a shift in the mean");
        break;
    case EF_BINS_TAIL:
        efi_text_add(words, "the worst ");
        efi_bins_add_percent(words, bins->tail_share, bins->tail_share < 0.01 ? 1 : 0);
        efi_text_add(words, " of shifts short by at most ");
        efi_bins_add_minutes(words, bins->aim_h);
        efi_text_add(words, " of full feed in the mean");
        break;
    case EF_BINS_PRICE:
        efi_text_add(words, "the least cost of volume and of tonnes short together, at ");
        efi_number_add_fixed(words, bins->price, 0);
        efi_text_addf(words, " %s for each tonne short a shift", bins->has_costs ? bins->currency : "m3");
        break;
    }
}

static void add_rates(const efi_bins_view *v, const ef_bins_crop *crop, const ef_bins_feed *feed)
{
    efi_text words = {0};
    efi_text_addf(&words, "%s on %s: set to ", feed->name, crop->name);
    efi_bins_add_rate(&words, v, crop, feed->set_tph);
    if (feed->lowered) {
        efi_text_add(&words, ", not to the ");
        efi_bins_add_rate(&words, v, crop, feed->balance_tph);
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
    efi_paper_say(v->paper, EFI_VERDICT, &words);
}

static void add_achieved(const efi_bins_view *v, const ef_bins_feed *feed)
{
    efi_text words = {0};
    efi_text_add(&words, "Aim: ");
    add_aim(&words, v->bins);
    if (v->bins->aim != EF_BINS_PRICE) {
        efi_text_add(&words, ", on top of ");
        efi_bins_add_minutes(&words, feed->unavoidable_h);
        efi_text_add(&words, " that no volume prevents");
    }
    efi_text_add(&words, ". Sized to ");
    efi_bins_add_minutes(&words, feed->sized_h);
    if (feed->recommended.is_run) {
        efi_text_add(&words, "; the event engine makes ");
        efi_bins_add_minutes(&words, feed->engine_h);
        efi_text_add(&words, " of the same draws");
    }
    if (feed->recommended.is_run && fabs(feed->engine_h - feed->sized_h) > APART_SHARE * v->bins->shift_h) {
        efi_text_add(&words, ": they differ by ");
        efi_bins_add_percent(&words, fabs(feed->engine_h - feed->sized_h) / v->bins->shift_h, 1);
        efi_text_add(&words,
                     " of the shift (the program knows neither restart levels nor warm-up, and lays stops on "
                     "the clock)");
    }
    efi_text_add(&words, ".");
    if (feed->tightened > 0)
        efi_text_addf(&words, " The aim was tightened %d time%s, since fresh traces missed it.",
                      feed->tightened, feed->tightened > 1 ? "s" : "");
    if (feed->recommended.is_run && !feed->met && v->bins->aim != EF_BINS_PRICE)
        efi_text_add(&words, " On fresh traces the aim is still missed: see the table.");
    efi_paper_say(v->paper, EFI_DETAIL, &words);
}

static void add_estimate(const efi_bins_view *v, ef_bins_estimate e, double scale, int decimals,
                         const char *unit)
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
    efi_paper_take(v->paper, &cell);
    efi_paper_value(v->paper, e.value * scale, decimals, unit);
    efi_paper_limits(v->paper, fmax(e.low, 0.0) * scale, e.high * scale);
}

static void add_volume_cell(const efi_bins_view *v, double m3)
{
    const efi_display volume = efi_display_choose(EFI_KIND_VOLUME, v->units, m3, 0.0, NULL);
    efi_text cell = {0};
    efi_bins_add_volume(&cell, v, m3);
    efi_paper_take(v->paper, &cell);
    efi_paper_value(v->paper, efi_display_value(&volume, m3), volume.decimals, volume.name);
}

static void add_check(const efi_bins_view *v, const char *name, const ef_bins_check *check,
                      const efi_display *tonnes)
{
    efi_paper_cell(v->paper, name);
    add_volume_cell(v, check->volume_m3);
    add_estimate(v, check->short_share, 100.0, 0, "%");
    add_estimate(v, check->short_h, 60.0, 1, "min");
    add_estimate(v, check->out_of_band_h, 60.0, 1, "min");
    add_estimate(v, check->out_of_band_p95_h, 60.0, 1, "min");
    add_estimate(v, check->lost_t, efi_display_value(tonnes, 1.0), tonnes->decimals, tonnes->name);
}

static void add_checks(const efi_bins_view *v, const ef_bins_crop *crop, const ef_bins_feed *feed)
{
    if (!feed->recommended.is_run)
        return;
    const efi_display tonnes = efi_display_choose(EFI_KIND_MASS, v->units, fmax(feed->now.lost_t.value, 0.01),
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
    efi_paper_gap(v->paper);
    efi_paper_table(v->paper, &form, columns, EF_COUNT(columns));
    efi_text_free(&lost);
    add_check(v, "now", &feed->now, &tonnes);
    add_check(v, "by the rule", &feed->rule, &tonnes);
    add_check(v, "recommended", &feed->recommended, &tonnes);
}

static void add_verdict(const efi_bins_view *v, const ef_bins_feed *feed)
{
    efi_text words = {0};
    efi_text_add(&words, "The rule of ");
    efi_display_add_duration(&words, v->bins->rule_h);
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
    efi_bins_add_minutes(&words, feed->rule.short_h.value);
    efi_text_add(&words, " of full feed short a shift.");
    efi_paper_say(v->paper, EFI_VERDICT, &words);
}

static void add_point(const efi_bins_view *v, const ef_bins_feed *feed, int point)
{
    efi_text words = {0};
    efi_bins_add_minutes(&words, feed->curve[point].short_h);
    efi_paper_take(v->paper, &words);
    efi_paper_value(v->paper, feed->curve[point].short_h * 60.0, 1, "min");
    add_volume_cell(v, feed->curve[point].volume_m3);
    if (v->bins->has_costs) {
        efi_number_add_fixed(&words, feed->curve[point].cost, 0);
        efi_paper_take(v->paper, &words);
        efi_paper_value(v->paper, feed->curve[point].cost, 0, v->bins->currency);
    }
    efi_paper_cell(v->paper, point == feed->knee ? "knee: less is dear from here on" : "");
}

static void add_curve(const efi_bins_view *v, const ef_bins_feed *feed)
{
    static const efi_table_form form = {.name = "curve",
                                        .caption = "Volume against minutes short, on the traces for sizing"};
    if (feed->curve_count < 2)
        return;
    const bool money = v->bins->has_costs;
    efi_text cost = {0};
    efi_text_addf(&cost, "Cost, %s", v->bins->currency);
    efi_column columns[4] = {{"Short a shift", 'r', 0, false}, {"Volume", 'r', 0, false}};
    int count = 2;
    if (money)
        columns[count++] = (efi_column){efi_text_get(&cost), 'r', 0, false};
    columns[count++] = (efi_column){"", 'l', 0, false};
    efi_paper_gap(v->paper);
    efi_paper_table(v->paper, &form, columns, count);
    efi_text_free(&cost);
    for (int i = 0; i < feed->curve_count; i++)
        add_point(v, feed, i);
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

static void draw_curve(const efi_bins_view *v, const ef_bins_crop *crop, const ef_bins_feed *feed)
{
    const int c = (int)(crop - v->bins->crops);
    const int f = (int)(feed - crop->feeds);
    char *svg = NULL;
    if (v->paper->with_pictures)
        efi_paper_picture(v->paper, "curve", ef_report_curve_svg(v->bins, c, f, v->units, &svg), &svg);
}

static void add_feed(const efi_bins_view *v, const ef_bins_crop *crop, const ef_bins_feed *feed)
{
    add_rates(v, crop, feed);
    if (feed->cuts > 0)
        add_achieved(v, feed);
    draw_curve(v, crop, feed);
    add_checks(v, crop, feed);
    add_verdict(v, feed);
    add_curve(v, feed);
    if (feed->cuts > 0) {
        efi_paper_gap(v->paper);
        efi_bins_add_form(v, feed);
    }
}

static void add_crop(const efi_bins_view *v, const ef_bins_crop *crop)
{
    efi_text words = {0};
    if (!crop->name) /* interrupted before it was looked at */
        return;
    efi_paper_gap(v->paper);
    v->paper->depth = 0;
    efi_paper_heading(v->paper, 2, true, crop->name);
    add_nothing(&words, crop);
    if (words.length > 0) {
        efi_paper_say(v->paper, EFI_WARNING, &words);
        return;
    }
    v->paper->depth = 1;
    for (int i = 0; i < crop->note_count; i++)
        efi_bins_add_note(v, crop, &crop->notes[i]);
    for (int f = 0; f < crop->feed_count; f++) {
        if (f > 0 || crop->note_count > 0)
            efi_paper_gap(v->paper);
        add_feed(v, crop, &crop->feeds[f]);
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

static void draw_elevation(const efi_bins_view *v, int bin)
{
    char *svg = NULL;
    if (v->paper->with_pictures)
        efi_paper_picture(v->paper, "elevation", ef_report_elevation_svg(v->bins, bin, v->units, &svg), &svg);
}

/* Returns whether the cautions have been told. */
static bool add_steel(const efi_bins_view *v)
{
    const ef_steel *any = NULL;
    v->paper->depth = 0;
    for (int b = 0; b < v->bins->bin_count; b++) {
        const ef_steel *steel = v->bins->bins[b].steel;
        if (!steel)
            continue;
        if (!any) {
            efi_paper_gap(v->paper);
            efi_paper_heading(v->paper, 2, false, "In steel");
        }
        any = steel;
        v->paper->depth = 1;
        efi_steel_put(v->paper, steel, v->units);
        draw_elevation(v, b);
    }
    if (any) {
        efi_paper_gap(v->paper);
        efi_steel_put_cautions(v->paper, any);
    }
    v->paper->depth = 0;
    return any;
}

static void add_basis(const efi_bins_view *v, bool cautioned)
{
    const ef_bins *bins = v->bins;
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
    efi_paper_say(v->paper, EFI_NOTE, &words);
    if (!cautioned)
        efi_paper_words(v->paper, EFI_CAUTION, cautions);
}

void efi_bins_put(efi_paper *paper, const ef_bins *bins, ef_units units)
{
    const efi_bins_view v = {bins, units, paper};
    efi_text title = {0};
    efi_text_addf(&title, "%s: %s, seed %llu", bins->plant, bins->scenario_file,
                  (unsigned long long)bins->seed);
    efi_paper_title(paper, &title);
    for (int b = 0; b < bins->bin_count; b++)
        add_whole(&v, &bins->bins[b]);
    if (bins->bin_count == 0)
        efi_paper_words(paper, EFI_VERDICT, "There are no bins to size.");
    for (int c = 0; c < bins->crop_count; c++)
        add_crop(&v, &bins->crops[c]);
    const bool cautioned = add_steel(&v);
    efi_paper_gap(paper);
    add_basis(&v, cautioned);
}

ef_status ef_report_bins_text(const ef_bins *bins, ef_units units, char **text)
{
    efi_paper paper = {0};
    efi_bins_put(&paper, bins, units);
    return efi_paper_give_text(&paper, text);
}
