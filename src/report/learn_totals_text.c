/* SPDX-License-Identifier: GPL-3.0-or-later
 * What scales say: rates, adjustments, shares. */
#include "report/learn_view.h"

#include <math.h>

/* "9.19 (9.02-9.34)" */
static void add_rate(efi_paper *paper, const efi_display *rate, ef_learn_limits limits)
{
    efi_text cell = {0};
    efi_display_add_number(&cell, rate, limits.value);
    if (limits.low > 0.0 && isfinite(limits.high)) {
        efi_text_add(&cell, " (");
        efi_display_add_number(&cell, rate, limits.low);
        efi_text_add(&cell, "-");
        efi_display_add_number(&cell, rate, limits.high);
        efi_text_add(&cell, ")");
    }
    efi_paper_take(paper, &cell);
    efi_paper_value(paper, efi_display_value(rate, limits.value), rate->decimals, rate->name);
    efi_paper_limits(paper, efi_display_value(rate, limits.low), efi_display_value(rate, limits.high));
}

static void add_off(efi_paper *paper, const ef_learn_scale *scale)
{
    efi_text cell = {0};
    if (!scale->checked) {
        efi_paper_cell(paper, "not checked");
        return;
    }
    efi_text_add(&cell, scale->off_share > 0.0 ? "+" : "");
    efi_number_add_fixed(&cell, 100.0 * scale->off_share, 2);
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
    add_off(paper, scale);
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
    static const efi_table_form form = {.name = "scales", .caption = "Scales", .quiet = true};
    static const efi_column columns[] = {{"Scale", 'l', 0, false},       {"Totals", 'r', 0, false},
                                         {"Measured", 'r', 0, false},    {"Adjusted by", 'r', 0, false},
                                         {"Rate (95 %)", 'r', 0, false}, {"One in ten over", 'r', 0, false},
                                         {"Capacity", 'r', 0, false}};
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
    efi_text_addf(&heading, "Scales, on %s: %s, and %s while running", learn->crop, mass.name, rate.name);
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
    efi_number_add_fixed(out, 100.0 * share.value, 2);
    efi_text_add(out, " %");
    if (!(share.low > 0.0 || share.high < 1.0))
        return;
    efi_text_add(out, " (");
    efi_number_add_fixed(out, 100.0 * share.low, 2);
    efi_text_add(out, "-");
    efi_number_add_fixed(out, 100.0 * share.high, 2);
    efi_text_add(out, ")");
}

static void add_shares(efi_paper *paper, const ef_learn *learn)
{
    static const efi_table_form form = {.name = "shares", .caption = "Shares by weight", .quiet = true};
    static const efi_column columns[] = {{"Station", 'l', 0, false},
                                         {"Discharge", 'l', 0, false},
                                         {"Share (95 %)", 'r', 0, false},
                                         {"Scenario", 'r', 0, false}};
    if (learn->share_count == 0)
        return;
    efi_paper_gap(paper);
    paper->depth = 1;
    efi_paper_heading(paper, 2, false, "Shares by weight, common to all intervals");
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
            efi_text_add(&cell, "not seen");
        efi_paper_take(paper, &cell);
        if (share->seen)
            efi_paper_value(paper, 100.0 * share->share.value, 2, "%");
        efi_number_add_fixed(&cell, 100.0 * share->scenario_share, 2);
        efi_text_add(&cell, share->disagrees ? " % !" : " %");
        efi_paper_take(paper, &cell);
        efi_paper_value(paper, 100.0 * share->scenario_share, 2, "%");
    }
}

/* Balances of few scales show that they disagree, not which is wrong. */
static void add_rivals(efi_text *words, const ef_learn_scale *scale)
{
    for (int i = 0; i < scale->rival_count; i++)
        efi_text_addf(words, "%s%s", i == 0 ? "; the balances alone cannot tell it from " : ", ",
                      scale->rivals[i]);
    efi_text_add(words, ". ");
}

/* Scales whose adjustments are all to one side, and those that nothing speaks about. */
static void add_scale_notes(efi_paper *paper, const ef_learn *learn)
{
    efi_text words = {0};
    int unchecked = 0;
    for (int i = 0; i < learn->scale_count; i++) {
        const ef_learn_scale *scale = &learn->scales[i];
        unchecked += !scale->checked;
        if (!scale->seems_off)
            continue;
        efi_text_addf(&words, "%s seems off: it was adjusted %s in %d of %d intervals, by ", scale->name,
                      scale->off_share > 0.0 ? "up" : "down",
                      scale->off_share > 0.0 ? scale->up : scale->down, scale->intervals);
        efi_learn_add_percent(&words, fabs(scale->off_share));
        efi_text_addf(&words, " in all, and likely shows too %s", scale->off_share > 0.0 ? "little" : "much");
        add_rivals(&words, scale);
    }
    if (unchecked > 0)
        efi_text_addf(
            &words, "%d of %d scales stand%s alone: no balance of the others speaks for or against %s. ",
            unchecked, learn->scale_count, unchecked == 1 ? "s" : "", unchecked == 1 ? "it" : "them");
    if (!learn->stops_file)
        efi_text_add(&words, "Without a log of stops the hours of these rates hold the stops, too. ");
    efi_text_add(
        &words,
        "Totals were adjusted as little as balances allow, each in per cent of what its scale usually "
        "shows, bins filling and emptying within their live volume. Shares hold for the receipts and "
        "rates of these intervals.");
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

void efi_learn_add_total_disagreements(efi_paper *paper, const ef_learn *learn, ef_units units)
{
    efi_text words = {0};
    for (int i = 0; i < learn->scale_count; i++) {
        const ef_learn_scale *scale = &learn->scales[i];
        if (!scale->capacity_disagrees)
            continue;
        efi_text_addf(&words, "%s: made ", scale->name);
        efi_display_add_alone(&words, EFI_KIND_MASS_RATE, units, scale->rate_tph.value,
                              learn->trade_weight_tpbu, NULL);
        efi_text_add(&words, " while running, more than its capacity of ");
        efi_display_add_alone(&words, EFI_KIND_MASS_RATE, units, scale->capacity_tph,
                              learn->trade_weight_tpbu, NULL);
        efi_paper_item(paper, &words);
    }
    for (int i = 0; i < learn->share_count; i++) {
        const ef_learn_share *share = &learn->shares[i];
        if (!share->disagrees)
            continue;
        efi_text_addf(&words, "%s, %s: takes ", share->station, share->discharge);
        efi_number_add_fixed(&words, 100.0 * share->scenario_share, 2);
        efi_text_add(&words, " % of its feed in the scenario, by the scales ");
        add_share_limits(&words, share->share);
        if (share->place.file)
            efi_text_addf(&words, " (%s line %d)", share->place.file, share->place.line);
        efi_paper_item(paper, &words);
    }
}
