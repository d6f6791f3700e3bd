/* SPDX-License-Identifier: GPL-3.0-or-later
 * What scales say: rates, adjustments, shares. */
#include "report/learn_view.h"

#include "base/number.h"
#include "base/tongue.h"
#include "report/words_list.h"

#include <math.h>

/* "9.19 (9.02-9.34)" */
static void add_rate(efi_paper *paper, const efi_display *rate, ef_learn_limits limits)
{
    efi_text cell = {0};
    efi_text_add(&cell, efi_piece_number(rate, limits.value).words);
    if (limits.low > 0.0 && isfinite(limits.high))
        efi_text_addf(&cell, " (%s-%s)", efi_piece_number(rate, limits.low).words,
                      efi_piece_number(rate, limits.high).words);
    efi_paper_take(paper, &cell);
    efi_paper_value(paper, efi_display_value(rate, limits.value), rate->decimals, rate->name);
    efi_paper_limits(paper, efi_display_value(rate, limits.low), efi_display_value(rate, limits.high));
}

static void add_adjusted(efi_paper *paper, const ef_learn_scale *scale)
{
    efi_text cell = {0};
    if (!scale->checked) {
        efi_paper_cell(paper, efi_tr("not checked"));
        return;
    }
    efi_text_add(&cell, scale->off_share > 0.0 ? "+" : "");
    efi_number_say_fixed(&cell, 100.0 * scale->off_share, 2);
    efi_text_add(&cell, scale->seems_off ? " % !" : " %");
    efi_paper_take(paper, &cell);
    efi_paper_value(paper, 100.0 * scale->off_share, 2, "%");
}

static void add_capacity(efi_paper *paper, const efi_display *rate, const ef_learn_scale *scale)
{
    efi_text cell = {0};
    if (scale->has_capacity)
        efi_display_add_number(&cell, rate, scale->capacity_tph);
    efi_text_add(&cell, scale->capacity_disagrees ? " !" : "");
    efi_paper_take(paper, &cell);
    if (scale->has_capacity)
        efi_paper_value(paper, efi_display_value(rate, scale->capacity_tph), rate->decimals, rate->name);
}

static void add_scale(efi_paper *paper, const efi_display *mass, const efi_display *rate,
                      const ef_learn_scale *scale)
{
    efi_paper_cell(paper, scale->name);
    efi_paper_count(paper, scale->intervals);
    efi_paper_number(paper, mass, scale->measured_t);
    add_adjusted(paper, scale);
    if (scale->has_rate) {
        add_rate(paper, rate, scale->rate_tph);
        efi_paper_number(paper, rate, scale->good_rate_tph);
    } else {
        efi_paper_cell(paper, "");
        efi_paper_cell(paper, "");
    }
    add_capacity(paper, rate, scale);
}

static void add_scales(efi_paper *paper, const ef_learn *learn, ef_units units)
{
    static const efi_table_form form = {.name = "scales", .caption = EFI_TR("Scales"), .quiet = true};
    static const efi_column columns[] = {
        {EFI_TR("Scale"), 'l', 0, false},       {EFI_TR("Totals"), 'r', 0, false},
        {EFI_TR("Measured"), 'r', 0, false},    {EFI_TR("Adjusted by"), 'r', 0, false},
        {EFI_TR("Rate (95 %)"), 'r', 0, false}, {EFI_TR("One in ten over"), 'r', 0, false},
        {EFI_TR("Capacity"), 'r', 0, false}};
    double most_t = 0.0;
    double most_tph = 0.0;
    for (int i = 0; i < learn->scale_count; i++) {
        most_t = fmax(most_t, learn->scales[i].measured_t);
        most_tph = fmax(most_tph, fmax(learn->scales[i].good_rate_tph, learn->scales[i].capacity_tph));
    }
    const efi_display mass = efi_display_choose(EFI_KIND_MASS, units, most_t, learn->trade_weight_tpbu, NULL);
    const efi_display rate = efi_display_choose(EFI_KIND_MASS_RATE, units, most_tph, learn->trade_weight_tpbu,
                                                NULL);
    efi_text heading = {0};
    efi_text_addf(&heading, efi_tr("Scales, on %s: %s, and %s while running"), learn->crop, mass.name,
                  rate.name);
    paper->depth = 1;
    efi_paper_heading(paper, 2, false, efi_text_get(&heading));
    paper->failed = paper->failed || heading.failed;
    efi_text_free(&heading);
    paper->depth = 2;
    efi_paper_table(paper, &form, columns, EF_COUNT(columns));
    for (int i = 0; i < learn->scale_count; i++)
        add_scale(paper, &mass, &rate, &learn->scales[i]);
}

/* "4.87 % (4.68-5.01)" */
static void add_share_limits(efi_text *out, ef_learn_limits share)
{
    efi_text_add(out, efi_piece_percent(share.value, 2).words);
    if (share.low > 0.0 || share.high < 1.0)
        efi_text_addf(out, " (%s-%s)", efi_piece_fixed(100.0 * share.low, 2).words,
                      efi_piece_fixed(100.0 * share.high, 2).words);
}

static void add_shares(efi_paper *paper, const ef_learn *learn)
{
    static const efi_table_form form = {
        .name = "shares", .caption = EFI_TR("Shares by weight"), .quiet = true};
    static const efi_column columns[] = {{EFI_TR("Station"), 'l', 0, false},
                                         {EFI_TR("Discharge"), 'l', 0, false},
                                         {EFI_TR("Share (95 %)"), 'r', 0, false},
                                         {EFI_TR("Scenario"), 'r', 0, false}};
    if (learn->share_count == 0)
        return;
    efi_paper_gap(paper);
    paper->depth = 1;
    efi_paper_heading(paper, 2, false, efi_tr("Shares by weight, common to all intervals"));
    paper->depth = 2;
    efi_paper_table(paper, &form, columns, EF_COUNT(columns));
    for (int i = 0; i < learn->share_count; i++) {
        const ef_learn_share *share = &learn->shares[i];
        efi_text cell = {0};
        efi_paper_cell(paper, share->station);
        efi_paper_cell(paper, share->discharge);
        if (share->seen)
            add_share_limits(&cell, share->share);
        else
            efi_text_add(&cell, efi_tr("not seen"));
        efi_paper_take(paper, &cell);
        if (share->seen)
            efi_paper_value(paper, 100.0 * share->share.value, 2, "%");
        efi_number_say_fixed(&cell, 100.0 * share->scenario_share, 2);
        efi_text_add(&cell, share->disagrees ? " % !" : " %");
        efi_paper_take(paper, &cell);
        efi_paper_value(paper, 100.0 * share->scenario_share, 2, "%");
    }
}

static void add_off(efi_text *words, const ef_learn_scale *scale)
{
    const efi_piece off = efi_learn_percent(fabs(scale->off_share));
    if (scale->off_share > 0.0)
        efi_text_addf(
            words,
            efi_tr("%s seems off: it was adjusted up in %d of %d intervals, by %s in all, and likely "
                   "shows too little"),
            scale->name, scale->up, scale->intervals, off.words);
    else
        efi_text_addf(words,
                      efi_tr("%s seems off: it was adjusted down in %d of %d intervals, by %s in all, and "
                             "likely shows too much"),
                      scale->name, scale->down, scale->intervals, off.words);
}

/* A scale whose adjustments are all to one side. Balances of few scales show that they disagree, not which is
 * wrong. */
static void say_off(efi_text *words, const ef_learn_scale *scale)
{
    efi_words_list rivals = {0};
    efi_text off = {0};
    add_off(&off, scale);
    for (int i = 0; i < scale->rival_count; i++)
        efi_words_list_add(&rivals, scale->rivals[i]);
    if (rivals.count > 0)
        efi_words_say(words, efi_tr("%s; the balances alone cannot tell it from %s."), efi_text_get(&off),
                      efi_words_list_get(&rivals, EFI_JOINT_COMMAS));
    else
        efi_words_say(words, "%s.", efi_text_get(&off));
    words->failed = words->failed || off.failed;
    efi_text_free(&off);
    efi_words_list_free(&rivals, words);
}

/* Scales whose adjustments are all to one side, and those that nothing speaks about. */
static void add_scale_notes(efi_paper *paper, const ef_learn *learn)
{
    efi_text words = {0};
    int unchecked = 0;
    for (int i = 0; i < learn->scale_count; i++) {
        unchecked += !learn->scales[i].checked;
        if (learn->scales[i].seems_off)
            say_off(&words, &learn->scales[i]);
    }
    if (unchecked > 0)
        efi_words_say(
            &words,
            efi_tr_n("%d of %d scales stands alone: no balance of the others speaks for or against it.",
                     "%d of %d scales stand alone: no balance of the others speaks for or against them.",
                     unchecked),
            unchecked, learn->scale_count);
    if (!learn->stops_file)
        efi_words_say(&words, efi_tr("Without a log of stops the hours of these rates hold the stops, too."));
    efi_words_say(&words,
                  efi_tr("Totals were adjusted as little as balances allow, each in per cent of what its "
                         "scale usually shows, bins filling and emptying within their live volume. "
                         "Shares hold for the receipts and rates of these intervals."));
    efi_paper_say(paper, EFI_NOTE, &words);
}

void efi_learn_add_totals(efi_paper *paper, const ef_learn *learn, ef_units units)
{
    if (learn->scale_count == 0)
        return;
    add_scales(paper, learn, units);
    add_shares(paper, learn);
    add_scale_notes(paper, learn);
    efi_paper_gap(paper);
}

static void say_share(efi_text *words, const ef_learn_share *share)
{
    const efi_piece scenario = efi_piece_percent(share->scenario_share, 2);
    efi_text scales = {0};
    add_share_limits(&scales, share->share);
    if (share->place.file)
        efi_text_addf(words,
                      efi_tr("%s, %s: takes %s of its feed in the scenario, by the scales %s (%s line %d)"),
                      share->station, share->discharge, scenario.words, efi_text_get(&scales),
                      share->place.file, share->place.line);
    else
        efi_text_addf(words, efi_tr("%s, %s: takes %s of its feed in the scenario, by the scales %s"),
                      share->station, share->discharge, scenario.words, efi_text_get(&scales));
    words->failed = words->failed || scales.failed;
    efi_text_free(&scales);
}

static efi_piece rate_of(const ef_learn *learn, ef_units units, double tph)
{
    return efi_piece_alone(EFI_KIND_MASS_RATE, units, tph, learn->trade_weight_tpbu, NULL);
}

void efi_learn_add_total_disagreements(efi_paper *paper, const ef_learn *learn, ef_units units)
{
    efi_text words = {0};
    for (int i = 0; i < learn->scale_count; i++) {
        const ef_learn_scale *scale = &learn->scales[i];
        if (!scale->capacity_disagrees)
            continue;
        efi_text_addf(&words, efi_tr("%s: made %s while running, more than its capacity of %s"), scale->name,
                      rate_of(learn, units, scale->rate_tph.value).words,
                      rate_of(learn, units, scale->capacity_tph).words);
        efi_paper_item(paper, &words);
    }
    for (int i = 0; i < learn->share_count; i++) {
        if (!learn->shares[i].disagrees)
            continue;
        say_share(&words, &learn->shares[i]);
        efi_paper_item(paper, &words);
    }
}
