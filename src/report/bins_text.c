/* SPDX-License-Identifier: GPL-3.0-or-later
 * Sized bins for a designer. */
#include "base/pieces.h"
#include "base/tongue.h"
#include "report/bins_view.h"
#include "report/report.h"
#include "report/steel.h"
#include "report/words_list.h"

#include <evenfeed/bins.h>
#include <math.h>
#include <string.h>

/* Program and engine differ by more than this share of the shift: told. */
#define APART_SHARE 0.01
/* Full-feed hours that would be told as 0.0 min. */
#define LEAST_TOLD_H (0.05 / 60.0)

/* ---- one steady-feed station ----------------------------------------------------------------------------
 */

/* A phrase about the aim; frees nothing. */
static void add_aim(efi_text *words, const ef_bins *bins)
{
    switch (bins->aim) {
    case EF_BINS_NONE_SHORT:
        efi_text_add(words, efi_tr("nothing short in any trace that volume can prevent"));
        break;
    case EF_BINS_MEAN:
        efi_text_addf(words, efi_tr("at most %s of full feed short a shift in the mean"),
                      efi_bins_minutes(bins->aim_h).words);
        break;
    case EF_BINS_TAIL:
        efi_text_addf(words, efi_tr("the worst %s of shifts short by at most %s of full feed in the mean"),
                      efi_piece_percent(bins->tail_share, bins->tail_share < 0.01 ? 1 : 0).words,
                      efi_bins_minutes(bins->aim_h).words);
        break;
    case EF_BINS_PRICE:
        efi_text_addf(words,
                      efi_tr("the least cost of volume and of tonnes short together, at %s %s for each tonne "
                             "short a shift"),
                      efi_piece_fixed(bins->price, 0).words, bins->has_costs ? bins->currency : "m3");
        break;
    }
}

static void add_rates(const efi_bins_view *v, const ef_bins_crop *crop, const ef_bins_feed *feed)
{
    efi_text words = {0};
    const efi_piece set = efi_bins_rate(v, crop, feed->set_tph);
    const efi_piece steady = efi_bins_rate(v, crop, feed->balance_tph);
    if (!feed->lowered) {
        efi_words_say(&words, efi_tr("%s on %s: set to %s, its rate in the steady balance."), feed->name,
                      crop->name, set.words);
    } else if (!feed->slow) {
        efi_words_say(&words, efi_tr("%s on %s: set to %s, not to the %s of the steady balance."), feed->name,
                      crop->name, set.words, steady.words);
    } else {
        efi_words_say(&words,
                      efi_tr("%s on %s: set to %s, not to the %s of the steady balance: with its stops the "
                             "line round %s passes less than that in the mean, and no bin makes up for what "
                             "never comes."),
                      feed->name, crop->name, set.words, steady.words, feed->slow);
        efi_words_say(&words, efi_tr("A reserve of 5 %% lets bins fill again between stops."));
    }
    efi_paper_say(v->paper, EFI_VERDICT, &words);
}

static void say_aim(efi_text *words, const ef_bins *bins, const ef_bins_feed *feed)
{
    efi_text aim = {0};
    const bool each = feed->together > 1 && bins->aim != EF_BINS_PRICE;
    const bool more = bins->aim != EF_BINS_PRICE && feed->unavoidable_h >= LEAST_TOLD_H;
    const efi_piece unavoidable = efi_bins_minutes(feed->unavoidable_h);
    add_aim(&aim, bins);
    if (each && more)
        efi_words_say(words, efi_tr("Aim: %s, at each, on top of %s that no volume prevents."),
                      efi_text_get(&aim), unavoidable.words);
    else if (more)
        efi_words_say(words, efi_tr("Aim: %s, on top of %s that no volume prevents."), efi_text_get(&aim),
                      unavoidable.words);
    else if (each)
        efi_words_say(words, efi_tr("Aim: %s, at each."), efi_text_get(&aim));
    else
        efi_words_say(words, efi_tr("Aim: %s."), efi_text_get(&aim));
    words->failed = words->failed || aim.failed;
    efi_text_free(&aim);
}

/* What is short with the volumes found, in the program and in the event engine. */
static void say_sized(efi_text *words, const ef_bins *bins, const ef_bins_feed *feed)
{
    const double apart_share = fabs(feed->engine_h - feed->sized_h) / bins->shift_h;
    const efi_piece engine = efi_bins_minutes(feed->engine_h);
    efi_text sized = {0};
    if (feed->together > 1)
        efi_text_addf(&sized, efi_tr("%s for the %d steady feeds together"),
                      efi_bins_minutes(feed->sized_h).words, feed->together);
    else
        efi_text_add(&sized, efi_bins_minutes(feed->sized_h).words);
    if (!feed->recommended.is_run)
        efi_words_say(words, efi_tr("Sized to %s."), efi_text_get(&sized));
    else if (!(apart_share > APART_SHARE))
        efi_words_say(words, efi_tr("Sized to %s; the event engine makes %s of the same draws."),
                      efi_text_get(&sized), engine.words);
    else
        efi_words_say(words,
                      efi_tr("Sized to %s; the event engine makes %s of the same draws: they differ by %s of "
                             "the shift (%s)."),
                      efi_text_get(&sized), engine.words, efi_piece_percent(apart_share, 1).words,
                      feed->form == EF_BINS_RECURSION
                          ? efi_tr("the program knows neither restart levels nor warm-up, and lays stops on "
                                   "the clock")
                          : efi_tr("the program knows the stops to come and has all flows at its will, but "
                                   "neither restart levels nor warm-up, and lays stops on the clock"));
    words->failed = words->failed || sized.failed;
    efi_text_free(&sized);
}

static void add_achieved(const efi_bins_view *v, const ef_bins_feed *feed)
{
    efi_text words = {0};
    say_aim(&words, v->bins, feed);
    say_sized(&words, v->bins, feed);
    if (feed->tightened > 0)
        efi_words_say(&words,
                      efi_tr_n("The aim was tightened %d time, since fresh traces missed it.",
                               "The aim was tightened %d times, since fresh traces missed it.",
                               feed->tightened),
                      feed->tightened);
    if (feed->recommended.is_run && !feed->met && v->bins->aim != EF_BINS_PRICE)
        efi_words_say(&words, efi_tr("On fresh traces the aim is still missed: see the table."));
    efi_paper_say(v->paper, EFI_DETAIL, &words);
}

static void add_estimate(const efi_bins_view *v, ef_bins_estimate e, double scale, int decimals,
                         const char *unit)
{
    efi_text cell = {0};
    efi_text_add(&cell, efi_piece_fixed(e.value * scale, decimals).words);
    if (isfinite(e.low) && isfinite(e.high))
        efi_text_addf(&cell, " (%s-%s)", efi_piece_fixed(fmax(e.low, 0.0) * scale, decimals).words,
                      efi_piece_fixed(e.high * scale, decimals).words);
    efi_paper_take(v->paper, &cell);
    efi_paper_value(v->paper, e.value * scale, decimals, unit);
    efi_paper_limits(v->paper, fmax(e.low, 0.0) * scale, e.high * scale);
}

static void add_volume_cell(const efi_bins_view *v, double m3)
{
    const efi_display volume = efi_display_choose(EFI_KIND_VOLUME, v->units, m3, 0.0, NULL);
    efi_paper_cell(v->paper, efi_bins_volume(v, m3).words);
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
    static const efi_table_form form = {
        .name = "checks",
        /* xgettext:no-c-format */
        .caption = EFI_TR("On fresh traces, a shift, with 95 % confidence limits")};
    efi_text lost = {0};
    efi_text_addf(&lost, efi_tr("Lost, %s"), tonnes.name);
    const efi_column columns[] = {{EFI_TR("Bins"), 'l', 0, false},
                                  {EFI_TR("Volume"), 'r', 0, false},
                                  /* xgettext:no-c-format */
                                  {EFI_TR("Short, % of shifts"), 'r', 0, false},
                                  {EFI_TR("Short, min"), 'r', 0, false},
                                  {EFI_TR("Out of band, min"), 'r', 0, false},
                                  {EFI_TR("1 in 20 over, min"), 'r', 0, false},
                                  {efi_text_get(&lost), 'r', 0, false}};
    efi_paper_gap(v->paper);
    efi_paper_table(v->paper, &form, columns, EF_COUNT(columns));
    efi_text_free(&lost);
    add_check(v, efi_tr("now"), &feed->now, &tonnes);
    add_check(v, efi_tr("by the rule"), &feed->rule, &tonnes);
    add_check(v, efi_tr("recommended"), &feed->recommended, &tonnes);
}

static void add_verdict(const efi_bins_view *v, const ef_bins_feed *feed)
{
    efi_text words = {0};
    efi_text effect = {0};
    const efi_piece rule = efi_piece_duration(v->bins->rule_h);
    const efi_piece lost = efi_bins_minutes(feed->rule.short_h.value);
    if (feed->together == 1 && feed->unavoidable_h >= LEAST_TOLD_H)
        efi_text_addf(&effect, efi_tr("%s of full feed short a shift, some %s of them whatever is built"),
                      lost.words, efi_bins_minutes(feed->unavoidable_h).words);
    else
        efi_text_addf(&effect, efi_tr("%s of full feed short a shift"), lost.words);
    switch (feed->verdict) {
    case EF_BINS_RULE_UNTRIED:
        break;
    case EF_BINS_RULE_SHORT:
        efi_text_addf(&words,
                      efi_tr("The rule of %s is not enough here, with all other bins as they are: %s."),
                      rule.words, efi_text_get(&effect));
        break;
    case EF_BINS_RULE_ENOUGH:
        efi_text_addf(&words, efi_tr("The rule of %s is enough here, with all other bins as they are: %s."),
                      rule.words, efi_text_get(&effect));
        break;
    case EF_BINS_RULE_GENEROUS:
        efi_text_addf(&words,
                      efi_tr("The rule of %s is more than enough here, with all other bins as they are: %s."),
                      rule.words, efi_text_get(&effect));
        break;
    }
    words.failed = words.failed || effect.failed;
    efi_text_free(&effect);
    efi_paper_say(v->paper, EFI_VERDICT, &words);
}

static void add_point(const efi_bins_view *v, const ef_bins_feed *feed, int point)
{
    efi_paper_cell(v->paper, efi_bins_minutes(feed->curve[point].short_h).words);
    efi_paper_value(v->paper, feed->curve[point].short_h * 60.0, 1, "min");
    add_volume_cell(v, feed->curve[point].volume_m3);
    if (v->bins->has_costs) {
        efi_paper_cell(v->paper, efi_piece_fixed(feed->curve[point].cost, 0).words);
        efi_paper_value(v->paper, feed->curve[point].cost, 0, v->bins->currency);
    }
    efi_paper_cell(v->paper, point == feed->knee ? efi_tr("knee: less is dear from here on") : "");
}

static void add_curve(const efi_bins_view *v, const ef_bins_feed *feed)
{
    static const efi_table_form form = {.name = "curve"};
    if (feed->curve_count < 2)
        return;
    const bool money = v->bins->has_costs;
    efi_text cost = {0};
    efi_text caption = {0};
    if (feed->together > 1)
        efi_text_addf(
            &caption,
            efi_tr("Volume against minutes short of all %d steady feeds together, on the traces for "
                   "sizing"),
            feed->together);
    else
        efi_text_add(&caption, efi_tr("Volume against minutes short, on the traces for sizing"));
    efi_text_addf(&cost, efi_tr("Cost, %s"), v->bins->currency);
    efi_column columns[4] = {{EFI_TR("Short a shift"), 'r', 0, false}, {EFI_TR("Volume"), 'r', 0, false}};
    int count = 2;
    if (money)
        columns[count++] = (efi_column){efi_text_get(&cost), 'r', 0, false};
    columns[count++] = (efi_column){"", 'l', 0, false};
    efi_paper_gap(v->paper);
    efi_paper_table_say(v->paper, &form, &caption, columns, count);
    efi_text_free(&cost);
    for (int i = 0; i < feed->curve_count; i++)
        add_point(v, feed, i);
}

/* ---- the text -------------------------------------------------------------------------------------------
 */

/* Why there is nothing to say about a crop; empty when there is. */
static void add_nothing(efi_text *words, const ef_bins_crop *crop)
{
    if (!crop->feasible) {
        efi_text_addf(
            words,
            efi_tr("%s: the demands on the steady balance contradict each other, see evenfeed balance."),
            crop->name);
    } else if (crop->trouble) {
        efi_text_addf(words, efi_tr("%s: the line cannot run as described: %s"), crop->name,
                      efi_tr(crop->trouble_words));
        efi_text_addf(words, "%s%s", *crop->trouble_where ? ": " : "", crop->trouble_where);
    } else if (!crop->anything_stops) {
        efi_text_addf(words,
                      efi_tr("%s: nothing to size against: no station stops and no load is late. Give the "
                             "stations their `stops`."),
                      crop->name);
    } else if (crop->feed_count == 0) {
        efi_text_addf(words, efi_tr("%s: no station is a steady feed, so no bin has to keep one."),
                      crop->name);
    }
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

static const char cautions[] = EFI_TR(
    "Live volume is what can be used between empty and full; the heap above, the dead corners below "
    "and the freeboard come on top. Structural loads of bins belong to a licensed engineer (EN 1991-4, "
    "ANSI/ASAE EP433). Nobody enters a bin that is not locked out and tested: flowing seed buries a "
    "person within seconds, and bridged seed falls. Grain dust explodes: venting, bonding and hot work "
    "go by local codes, which come first.");

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
            efi_paper_heading(v->paper, 2, false, efi_tr("In steel"));
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
    efi_words_say(
        &words,
        efi_tr_n("Sized on %d traces of %d shift in a row, counted from the first hour; tried on as "
                 "many others.",
                 "Sized on %d traces of %d shifts in a row, counted from the first hour; tried on "
                 "as many others.",
                 bins->shifts),
        bins->traces, bins->shifts);
    efi_words_say(&words,
                  efi_tr("Stops that count running time were laid on the clock at the expected load of "
                         "their station."));
    if (bins->with_receipts)
        efi_words_say(&words,
                      efi_tr("Loads came when they came; bins started empty unless the scenario gives "
                             "a start level, so the time until the first loads have come is short "
                             "whatever is built."));
    else
        efi_words_say(&words,
                      efi_tr("Bins started half full unless the scenario gives a start level. "
                             "Material was taken as always there: what late loads need comes on top."));
    if (bins->stopped)
        efi_words_say(&words, efi_tr("The search was interrupted: these are the best volumes so far, and not "
                                     "all was tried."));
    efi_paper_say(v->paper, EFI_NOTE, &words);
    if (!cautioned)
        efi_paper_words(v->paper, EFI_CAUTION, efi_tr(cautions));
}

void efi_bins_put(efi_paper *paper, const ef_bins *bins, ef_units units)
{
    const efi_bins_view v = {bins, units, paper};
    efi_text title = {0};
    efi_text_addf(&title, efi_tr("%s: %s, seed %llu"), bins->plant, bins->scenario_file,
                  (unsigned long long)bins->seed);
    efi_paper_title(paper, &title);
    for (int b = 0; b < bins->bin_count; b++)
        efi_bins_add_whole(&v, &bins->bins[b]);
    if (bins->bin_count == 0)
        efi_paper_words(paper, EFI_VERDICT, efi_tr("There are no bins to size."));
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
