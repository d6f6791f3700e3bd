/* SPDX-License-Identifier: GPL-3.0-or-later
 * What several answers say together: all crops and bins in one look, rates to plan with, cautions. */
#include "base/tongue.h"
#include "report/html/html.h"
#include "report/season_view.h"

#include <string.h>

/* ---- where an answer speaks of a crop -------------------------------------------------------------------
 */

static const ef_shift *shift_of(const ef_report_answers *a, const char *crop)
{
    for (int i = 0; crop && i < a->shift_count; i++)
        if (strcmp(a->shifts[i]->crop, crop) == 0)
            return a->shifts[i];
    return NULL;
}

static const ef_balance_crop *balance_of(const ef_report_answers *a, const char *crop)
{
    for (int c = 0; crop && a->balance && c < a->balance->crop_count; c++)
        if (strcmp(a->balance->crops[c].name, crop) == 0)
            return &a->balance->crops[c];
    return NULL;
}

/* Crops in the order of the balance, or without one of the shifts; NULL behind the last. */
static const char *crop_at(const ef_report_answers *a, int i)
{
    if (a->balance)
        return i < a->balance->crop_count ? a->balance->crops[i].name : NULL;
    return i < a->shift_count ? a->shifts[i]->crop : NULL;
}

static double trade_weight(const ef_balance_crop *crop)
{
    return crop->has_trade_weight ? crop->trade_weight_tpbu : 0.0;
}

/* A quantity in the unit that suits it. */
static void show(efi_paper *paper, const ef_report_answers *a, efi_kind kind, double value, double tpbu)
{
    const efi_display display = efi_display_choose(kind, a->units, value, tpbu, NULL);
    efi_paper_show(paper, &display, value);
}

/* ---- crops ----------------------------------------------------------------------------------------------
 */

static void add_limits(efi_paper *paper, const ef_balance_crop *crop)
{
    efi_text words = {0};
    for (int i = 0; i < crop->station_count; i++)
        if (crop->stations[i].limits)
            efi_text_addf(&words, "%s%s", words.length ? "\n" : "", crop->stations[i].name);
    if (crop->power_limits)
        efi_text_addf(&words, "%s%s", words.length ? "\n" : "", efi_tr("power"));
    if (!crop->feasible)
        efi_text_add(&words, efi_tr("no rate meets all demands"));
    else if (words.length == 0)
        efi_text_add(&words, efi_tr("nothing"));
    efi_paper_take(paper, &words);
    efi_paper_strong(paper);
}

static void add_balance_cells(efi_paper *paper, const ef_report_answers *a, const ef_balance_crop *crop)
{
    if (crop->feasible) {
        show(paper, a, EFI_KIND_MASS_RATE, crop->intake.total_tph, trade_weight(crop));
        show(paper, a, EFI_KIND_MASS_RATE, crop->product.total_tph, trade_weight(crop));
    } else {
        efi_paper_cell(paper, NULL);
        efi_paper_cell(paper, NULL);
    }
    add_limits(paper, crop);
}

/* Three cells: what a poor, a middling and a good shift makes. */
static void add_shift_cells(efi_paper *paper, const ef_report_answers *a, const ef_shift *shift)
{
    if (!shift) {
        for (int i = 0; i < 3; i++)
            efi_paper_cell(paper, NULL);
        return;
    }
    const ef_shift_stream *product = &shift->groups[0].streams[1];
    const efi_display t = efi_display_choose(EFI_KIND_MASS, a->units, product->p90_t.value,
                                             shift->trade_weight_tpbu, NULL);
    efi_paper_show(paper, &t, product->p10_t.value);
    efi_paper_show(paper, &t, product->p50_t.value);
    efi_paper_strong(paper);
    efi_paper_show(paper, &t, product->p90_t.value);
}

static void add_crops(efi_paper *paper, const ef_report_answers *a)
{
    static const efi_table_form form = {
        .name = "crops", .caption = EFI_TR("Each crop: what the line holds, and what a shift makes")};
    efi_column columns[7] = {{EFI_TR("Crop"), 'l', 0, false}};
    int count = 1;
    if (a->balance) {
        columns[count++] = (efi_column){EFI_TR("Intake"), 'r', 0, false};
        columns[count++] = (efi_column){EFI_TR("Product"), 'r', 0, false};
        columns[count++] = (efi_column){EFI_TR("What limits"), 'l', 0, false};
    }
    if (a->shift_count > 0) {
        columns[count++] = (efi_column){EFI_TR("A poor shift makes"), 'r', 0, false};
        columns[count++] = (efi_column){EFI_TR("A middling one"), 'r', 0, false};
        columns[count++] = (efi_column){EFI_TR("A good one"), 'r', 0, false};
    }
    if (!crop_at(a, 0))
        return;
    efi_paper_table(paper, &form, columns, count);
    for (int i = 0; crop_at(a, i); i++) {
        efi_paper_cell(paper, crop_at(a, i));
        if (a->balance)
            add_balance_cells(paper, a, &a->balance->crops[i]);
        if (a->shift_count > 0)
            add_shift_cells(paper, a, shift_of(a, crop_at(a, i)));
    }
    if (a->balance && a->shift_count > 0)
        efi_paper_words(
            paper, EFI_NOTE,
            efi_tr("Intake and product are steady rates before stops; what a shift makes has its stops "
                   "in it. One shift in ten makes less than the poor one, one in ten more than the good "
                   "one."));
}

/* ---- bins -----------------------------------------------------------------------------------------------
 */

static void add_volume(efi_paper *paper, const ef_report_answers *a, bool known, double m3)
{
    if (known)
        show(paper, a, EFI_KIND_VOLUME, m3, 0.0);
    else
        efi_paper_cell(paper, efi_tr("not given"));
}

static const char *choice_words(const ef_bins *bins, const ef_bins_whole *whole)
{
    switch (whole->choice) {
    case EF_BINS_SIZED:
        return whole->crop >= 0 && whole->recommended_m3 > 0.0
                   ? bins->crops[whole->crop].name
                   : efi_tr("not needed: other bins do its work, or cheaper");
    case EF_BINS_KEPT:
        return efi_tr("kept, as the scenario asks");
    case EF_BINS_NOTHING_STOPS:
        return efi_tr("left as it is: nothing beyond it stops");
    case EF_BINS_OFF_PATH:
        return efi_tr("left as it is: not on the way of a steady feed");
    }
    return "";
}

static void add_bins(efi_paper *paper, const ef_report_answers *a)
{
    static const efi_table_form form = {
        .name = "bins", .caption = EFI_TR("Each bin: live volume now, by the usual rule, and recommended")};
    static const efi_column columns[] = {{EFI_TR("Bin"), 'l', 0, false},
                                         {EFI_TR("Now"), 'r', 0, false},
                                         {EFI_TR("By the rule"), 'r', 0, false},
                                         {EFI_TR("Recommended"), 'r', 0, false},
                                         {EFI_TR("Set by"), 'l', 0, false}};
    if (!a->bins || a->bins->bin_count == 0)
        return;
    efi_paper_table(paper, &form, columns, EF_COUNT(columns));
    for (int b = 0; b < a->bins->bin_count; b++) {
        const ef_bins_whole *whole = &a->bins->bins[b];
        efi_paper_cell(paper, whole->name);
        add_volume(paper, a, whole->has_now, whole->now_m3);
        if (whole->has_rule)
            add_volume(paper, a, true, whole->rule_m3);
        else
            efi_paper_cell(paper, NULL);
        if (whole->choice == EF_BINS_SIZED) {
            add_volume(paper, a, true, whole->recommended_m3);
            efi_paper_strong(paper);
        } else {
            efi_paper_cell(paper, NULL);
        }
        efi_paper_cell(paper, choice_words(a->bins, whole));
    }
}

void efi_overview_put(efi_paper *paper, const ef_report_answers *answers)
{
    add_crops(paper, answers);
    add_bins(paper, answers);
    if (answers->season)
        efi_season_verdict_put(paper, answers->season, answers->units);
}

/* ---- planning -------------------------------------------------------------------------------------------
 */

static void add_rates(efi_paper *paper, const ef_report_answers *a)
{
    static const efi_table_form form = {.name = "rates", .caption = EFI_TR("Rates to plan lots with")};
    static const efi_column columns[] = {{EFI_TR("Crop"), 'l', 0, false},
                                         {EFI_TR("Steady intake, before stops"), 'r', 0, false},
                                         {EFI_TR("Intake to plan with"), 'r', 0, false},
                                         {EFI_TR("Hours of work in a shift"), 'r', 0, false},
                                         {EFI_TR("A middling shift makes"), 'r', 0, false}};
    if (a->shift_count == 0)
        return;
    efi_paper_table(paper, &form, columns, EF_COUNT(columns));
    for (int i = 0; i < a->shift_count; i++) {
        const ef_shift *shift = a->shifts[i];
        const ef_balance_crop *crop = balance_of(a, shift->crop);
        efi_paper_cell(paper, shift->crop);
        if (crop)
            show(paper, a, EFI_KIND_MASS_RATE, crop->intake.total_tph, trade_weight(crop));
        else
            efi_paper_cell(paper, NULL);
        show(paper, a, EFI_KIND_MASS_RATE, shift->planning_rate_tph, shift->trade_weight_tpbu);
        efi_paper_strong(paper);
        efi_paper_duration(paper, shift->groups[0].work_h);
        show(paper, a, EFI_KIND_MASS, shift->groups[0].streams[1].p50_t.value, shift->trade_weight_tpbu);
    }
    efi_paper_words(
        paper, EFI_NOTE,
        efi_tr("The intake to plan with is that of the hours of work with their stops: the hours of a "
               "lot are its tonnes over this rate. Clean-downs between lots come on top."));
}

static bool fills(const ef_balance_outlet *outlet)
{
    return outlet->has_holds && outlet->fills_h > 0.0;
}

/* Carts, boxes and bays that fill up, crop by crop. */
static void add_carts(efi_paper *paper, const ef_report_answers *a)
{
    static const efi_table_form form = {
        .name = "carts", .caption = EFI_TR("When carts, boxes and bays are full, at the steady rate")};
    static const efi_column columns[] = {{EFI_TR("Crop"), 'l', 0, false},
                                         {EFI_TR("Outlet"), 'l', 0, false},
                                         {EFI_TR("Holds"), 'r', 0, false},
                                         {EFI_TR("Full after"), 'r', 0, false}};
    bool any = false;
    for (int c = 0; a->balance && c < a->balance->crop_count; c++) {
        const ef_balance_crop *crop = &a->balance->crops[c];
        for (int o = 0; o < crop->outlet_count; o++) {
            if (!fills(&crop->outlets[o]))
                continue;
            if (!any)
                efi_paper_table(paper, &form, columns, EF_COUNT(columns));
            any = true;
            efi_paper_cell(paper, crop->name);
            efi_paper_cell(paper, crop->outlets[o].name);
            efi_paper_cell(paper, crop->outlets[o].holds_words);
            efi_paper_duration(paper, crop->outlets[o].fills_h);
        }
    }
}

void efi_planning_put(efi_paper *paper, const ef_report_answers *answers)
{
    add_rates(paper, answers);
    add_carts(paper, answers);
}

/* ---- cautions -------------------------------------------------------------------------------------------
 */

static const struct {
    bool said_by_bins;
    const char *words;
} cautions[] = {
    {false, EFI_TR("These are planning figures from a model of the line. They replace no structural design, "
                   "no assessment "
                   "of explosion risk, no certification and no competent engineer. Local codes and licensed "
                   "practice come "
                   "first.")},
    {true,
     EFI_TR(
         "Bins and pits are confined spaces, and flowing grain buries a person in seconds; bridged or "
         "hung-up "
         "grain falls. Nobody enters without a permit, lock-out of everything that feeds or empties, an air "
         "test, "
         "harness, lifeline and somebody who watches. Better, clear the bin from outside.")},
    {true,
     EFI_TR("Dust explodes. Venting or suppression, bonding and earthing, hot work and housekeeping go by "
            "local codes and licensed practice.")},
    {false, EFI_TR("Guards stay on. Whoever opens, cleans or unblocks a machine locks it out first; that "
                   "time belongs into "
                   "the length of its stops, and no figure here asks anybody to be faster.")},
    {false,
     EFI_TR(
         "Treated seed is no food and no feed. Treatment, its dust, and all rejects behind the treater are "
         "handled, labelled and kept apart as the label of the treatment and local law say.")},
};

void efi_cautions_put(efi_paper *paper, const ef_report_answers *answers)
{
    for (size_t i = 0; i < EF_COUNT(cautions); i++)
        if (!answers->bins || !cautions[i].said_by_bins)
            efi_paper_words(paper, EFI_CAUTION, efi_tr(cautions[i].words));
}
