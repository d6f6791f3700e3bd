/* SPDX-License-Identifier: GPL-3.0-or-later
 * What scales say, as text: rates, adjustments, shares. */
#include "report/learn_view.h"

#include <math.h>

static void add_cell(efi_table *table, efi_text *cell)
{
    efi_table_add(table, efi_text_get(cell));
    table->cells.failed = table->cells.failed || cell->failed;
    efi_text_free(cell);
}

/* "9.19 (9.02-9.34)" */
static void add_rate(efi_table *table, const efi_display *rate, ef_learn_limits limits)
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
    add_cell(table, &cell);
}

static void add_off(efi_table *table, const ef_learn_scale *scale)
{
    efi_text cell = {0};
    if (!scale->checked) {
        efi_text_add(&cell, "not checked");
    } else {
        efi_text_add(&cell, scale->off_share > 0.0 ? "+" : "");
        efi_number_add_fixed(&cell, 100.0 * scale->off_share, 2);
        efi_text_add(&cell, scale->seems_off ? " % !" : " %");
    }
    add_cell(table, &cell);
}

static void add_scales(efi_text *out, const ef_learn *learn, ef_units units)
{
    double most_t = 0.0;
    double most_tph = 0.0;
    for (int i = 0; i < learn->scale_count; i++) {
        most_t = fmax(most_t, learn->scales[i].measured_t);
        most_tph = fmax(most_tph, fmax(learn->scales[i].good_rate_tph, learn->scales[i].capacity_tph));
    }
    const efi_display mass = efi_display_choose(EFI_KIND_MASS, units, most_t, learn->trade_weight_tpbu, NULL);
    const efi_display rate = efi_display_choose(EFI_KIND_MASS_RATE, units, most_tph, learn->trade_weight_tpbu,
                                                NULL);
    efi_text_addf(out, "  Scales, on %s: %s, and %s while running\n", learn->crop, mass.name, rate.name);
    efi_table table = {.columns = 7, .align = "lrrrrrr"};
    static const char *const heading[] = {"Scale",       "Totals",          "Measured", "Adjusted by",
                                          "Rate (95 %)", "One in ten over", "Capacity"};
    for (int i = 0; i < table.columns; i++)
        efi_table_add(&table, heading[i]);
    for (int i = 0; i < learn->scale_count; i++) {
        const ef_learn_scale *scale = &learn->scales[i];
        efi_text cell = {0};
        efi_table_add(&table, scale->name);
        efi_table_addf(&table, "%d", scale->intervals);
        efi_display_add_number(&cell, &mass, scale->measured_t);
        add_cell(&table, &cell);
        add_off(&table, scale);
        if (scale->has_rate)
            add_rate(&table, &rate, scale->rate_tph);
        else
            efi_table_add(&table, "");
        if (scale->has_rate)
            efi_display_add_number(&cell, &rate, scale->good_rate_tph);
        add_cell(&table, &cell);
        if (scale->has_capacity)
            efi_display_add_number(&cell, &rate, scale->capacity_tph);
        efi_text_add(&cell, scale->capacity_disagrees ? " !" : "");
        add_cell(&table, &cell);
    }
    efi_table_print(&table, out, 4, true);
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

static void add_shares(efi_text *out, const ef_learn *learn)
{
    if (learn->share_count == 0)
        return;
    efi_text_add(out, "\n  Shares by weight, common to all intervals\n");
    efi_table table = {.columns = 4, .align = "llrr"};
    static const char *const heading[] = {"Station", "Discharge", "Share (95 %)", "Scenario"};
    for (int i = 0; i < table.columns; i++)
        efi_table_add(&table, heading[i]);
    for (int i = 0; i < learn->share_count; i++) {
        const ef_learn_share *share = &learn->shares[i];
        efi_text cell = {0};
        efi_table_add(&table, share->station);
        efi_table_add(&table, share->discharge);
        if (share->seen)
            add_share_limits(&cell, share->share);
        else
            efi_text_add(&cell, "not seen");
        add_cell(&table, &cell);
        efi_number_add_fixed(&cell, 100.0 * share->scenario_share, 2);
        efi_text_add(&cell, share->disagrees ? " % !" : " %");
        add_cell(&table, &cell);
    }
    efi_table_print(&table, out, 4, true);
}

/* Scales whose adjustments are all to one side, and those that nothing speaks about. */
static void add_scale_notes(efi_text *out, const ef_learn *learn)
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
        efi_text_addf(&words, " in all, and likely shows too %s. ",
                      scale->off_share > 0.0 ? "little" : "much");
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
    efi_report_wrap(out, efi_text_get(&words), 4, EFI_LEARN_WIDTH);
    out->failed = out->failed || words.failed;
    efi_text_free(&words);
}

void efi_learn_add_totals(efi_text *out, const ef_learn *learn, ef_units units)
{
    if (learn->scale_count == 0)
        return;
    add_scales(out, learn, units);
    add_shares(out, learn);
    add_scale_notes(out, learn);
    efi_text_add(out, "\n");
}

static void add_item(efi_text *out, efi_text *words)
{
    efi_report_wrap(out, efi_text_get(words), 4, EFI_LEARN_WIDTH);
    out->failed = out->failed || words->failed;
    efi_text_free(words);
}

void efi_learn_add_total_disagreements(efi_text *out, const ef_learn *learn, ef_units units)
{
    efi_text words = {0};
    for (int i = 0; i < learn->scale_count; i++) {
        const ef_learn_scale *scale = &learn->scales[i];
        if (!scale->capacity_disagrees)
            continue;
        efi_text_addf(&words, "- %s: made ", scale->name);
        efi_display_add_alone(&words, EFI_KIND_MASS_RATE, units, scale->rate_tph.value,
                              learn->trade_weight_tpbu, NULL);
        efi_text_add(&words, " while running, more than its capacity of ");
        efi_display_add_alone(&words, EFI_KIND_MASS_RATE, units, scale->capacity_tph,
                              learn->trade_weight_tpbu, NULL);
        add_item(out, &words);
    }
    for (int i = 0; i < learn->share_count; i++) {
        const ef_learn_share *share = &learn->shares[i];
        if (!share->disagrees)
            continue;
        efi_text_addf(&words, "- %s, %s: takes ", share->station, share->discharge);
        efi_number_add_fixed(&words, 100.0 * share->scenario_share, 2);
        efi_text_add(&words, " % of its feed in the scenario, by the scales ");
        add_share_limits(&words, share->share);
        if (share->place.file)
            efi_text_addf(&words, " (%s line %d)", share->place.file, share->place.line);
        add_item(out, &words);
    }
}
