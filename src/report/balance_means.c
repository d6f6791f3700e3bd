/* SPDX-License-Identifier: GPL-3.0-or-later
 * What a balance says about chosen shares, power, people and money, and its ladder. */
#include "report/balance_view.h"

#include <string.h>

static void say(efi_text *out, efi_text *words)
{
    if (words->length > 0)
        efi_report_wrap(out, efi_text_get(words), 2, EFI_BALANCE_WIDTH);
    efi_text_free(words);
}

static void add_kind(efi_text *words, const efi_balance_view *v, efi_kind kind, double value)
{
    efi_display_add_alone(words, kind, v->units, value, v->tpbu, v->balance->currency);
}

/* ---- splits -----------------------------------------------------------------------------------------------
 */

static void add_split(efi_text *out, const efi_balance_view *v, const ef_balance_split *split)
{
    efi_text words = {0};
    efi_text_addf(&words, "%s (", split->name);
    efi_balance_add_place(&words, v, &split->place);
    efi_text_addf(&words, ", %s): ", split->rule);
    for (int b = 0; b < split->branch_count; b++) {
        const ef_balance_branch *branch = &split->branches[b];
        efi_text_addf(&words, "%s%s ", b ? ", " : "", branch->to);
        efi_balance_add_percent(&words, branch->share, 1);
    }
    efi_text_add(&words, ".");
    say(out, &words);
}

void efi_balance_add_splits(efi_text *out, const efi_balance_view *v)
{
    const ef_balance_crop *crop = v->crop;
    for (int s = 0; s < crop->split_count; s++)
        if (crop->splits[s].chosen)
            add_split(out, v, &crop->splits[s]);
    if (!crop->has_bound)
        return;
    efi_text words = {0};
    efi_text_addf(&words, "These shares are the best of %d starts; no choice of shares can reach more than ",
                  crop->search_starts);
    add_kind(&words, v, v->balance->aim == EF_BALANCE_VALUE ? EFI_KIND_MONEY_PER_TIME : EFI_KIND_MASS_RATE,
             crop->bound);
    efi_text_add(&words, " (gap ");
    efi_balance_add_percent(&words, crop->gap, 2);
    efi_text_add(&words, ").");
    say(out, &words);
}

/* ---- power, people, money ---------------------------------------------------------------------------------
 */

static void add_power(efi_text *out, const efi_balance_view *v)
{
    const ef_balance_crop *crop = v->crop;
    efi_text words = {0};
    if (crop->power_kw > 0.0) {
        efi_text_add(&words, "Power: ");
        add_kind(&words, v, EFI_KIND_POWER, crop->power_kw);
        if (crop->has_power_limit) {
            efi_text_add(&words, " of the ");
            add_kind(&words, v, EFI_KIND_POWER, crop->power_limit_kw);
            efi_text_add(&words, " there are");
        }
        efi_text_add(&words, ", ");
        add_kind(&words, v, EFI_KIND_ENERGY_PER_MASS, crop->kwh_per_t);
        efi_text_add(&words, " of product.");
    }
    if (crop->power_limits) {
        efi_text_add(&words, " POWER LIMITS the line: one kW more is worth ");
        efi_balance_add_rate(&words, v, crop->power_worth_intake_tph);
        efi_text_add(&words, " more intake.");
    }
    if (crop->air_m3ph > 0.0) {
        efi_text_addf(&words, "%sAir: ", words.length ? " " : "");
        add_kind(&words, v, EFI_KIND_VOLUME_RATE, crop->air_m3ph);
        efi_text_add(&words, " in all.");
    }
    say(out, &words);
}

static void add_people(efi_text *out, const efi_balance_view *v)
{
    const ef_balance_crop *crop = v->crop;
    efi_text words = {0};
    if (crop->people > 0.0) {
        efi_text_add(&words, "People: the stations ask for ");
        efi_number_add_significant(&words, crop->people, 3);
        if (crop->has_people_limit) {
            efi_text_add(&words, crop->people > crop->people_limit ? ", MORE than the " : " of the ");
            efi_number_add_significant(&words, crop->people_limit, 3);
            efi_text_add(&words, " on a shift");
        }
        efi_text_add(&words, ".");
    }
    say(out, &words);
}

static bool has_prices(const ef_balance_crop *crop)
{
    for (int o = 0; o < crop->outlet_count; o++)
        if (crop->outlets[o].has_price)
            return true;
    return false;
}

static void add_value(efi_text *out, const efi_balance_view *v)
{
    if (!has_prices(v->crop))
        return;
    efi_text words = {0};
    efi_text_add(&words, "Value: what leaves, less receipt and energy, is ");
    add_kind(&words, v, EFI_KIND_MONEY_PER_TIME, v->crop->value_per_h);
    if (v->crop->intake.total_tph > 0.0) {
        efi_text_add(&words, ", or ");
        add_kind(&words, v, EFI_KIND_MONEY_PER_MASS, v->crop->value_per_h / v->crop->intake.total_tph);
        efi_text_add(&words, " of intake");
    }
    efi_text_add(&words, v->balance->aim == EF_BALANCE_VALUE
                             ? "; the aim was to make this as large as possible."
                             : "; the aim was the rate, not this.");
    say(out, &words);
}

/* "The screenings cart of 1.5 t fills in 50 min." */
static void add_carts(efi_text *out, const efi_balance_view *v)
{
    for (int o = 0; o < v->crop->outlet_count; o++) {
        const ef_balance_outlet *outlet = &v->crop->outlets[o];
        if (!outlet->has_holds || !(outlet->fills_h > 0.0))
            continue;
        efi_text words = {0};
        efi_text_addf(&words, "%s (", outlet->name);
        efi_balance_add_place(&words, v, &outlet->place);
        efi_text_add(&words, ") holds ");
        add_kind(&words, v, outlet->holds_by_volume ? EFI_KIND_VOLUME : EFI_KIND_MASS, outlet->holds);
        efi_text_add(&words, " and is full after ");
        efi_display_add_duration(&words, outlet->fills_h);
        efi_text_add(&words, ".");
        say(out, &words);
    }
}

void efi_balance_add_means(efi_text *out, const efi_balance_view *v)
{
    add_carts(out, v);
    add_power(out, v);
    add_people(out, v);
    add_value(out, v);
}

/* ---- the ladder -------------------------------------------------------------------------------------------
 */

static void add_purchase(efi_text *words, const efi_balance_view *v, const ef_balance_purchase *purchase)
{
    if (!purchase->station) {
        efi_text_add(words, "power +");
        add_kind(words, v, EFI_KIND_POWER, purchase->more);
    } else {
        efi_text_addf(words, "%s +", purchase->station);
        add_kind(words, v, purchase->by_volume ? EFI_KIND_VOLUME_RATE : EFI_KIND_MASS_RATE, purchase->more);
    }
}

static void add_limits_cell(efi_table *table, const ef_balance_rung *rung)
{
    efi_text cell = {0};
    for (int i = 0; i < rung->limit_count; i++)
        efi_text_addf(&cell, "%s%s", i ? ", " : "", rung->limits[i] ? rung->limits[i] : "power");
    efi_table_add(table, rung->limit_count ? efi_text_get(&cell) : "nothing");
    efi_text_free(&cell);
}

static void add_rate_cell(efi_table *table, const efi_balance_view *v, double rate_tph)
{
    efi_text cell = {0};
    efi_balance_add_rate(&cell, v, rate_tph);
    efi_table_add(table, efi_text_get(&cell));
    efi_text_free(&cell);
}

/* A rung; each purchase after the first has a row of its own, whose other cells are empty. */
static void add_rung(efi_table *table, const efi_balance_view *v, int number, const ef_balance_rung *rung)
{
    efi_table_addf(table, "%d", number);
    add_rate_cell(table, v, rung->intake_tph);
    add_rate_cell(table, v, rung->product_tph);
    add_limits_cell(table, rung);
    for (int i = 0; i < rung->purchase_count; i++) {
        for (int empty = 0; i > 0 && empty < table->columns - 1; empty++)
            efi_table_add(table, NULL);
        efi_text cell = {0};
        add_purchase(&cell, v, &rung->purchases[i]);
        efi_table_add(table, efi_text_get(&cell));
        efi_text_free(&cell);
    }
    if (rung->purchase_count == 0)
        efi_table_add(table, NULL);
}

void efi_balance_add_ladder(efi_text *out, const efi_balance_view *v)
{
    const ef_balance_crop *crop = v->crop;
    if (crop->rung_count == 0)
        return;
    efi_text_add(out, "\n  The ladder: with these purchases, against the plant as it is, the line reaches\n");
    efi_table table = {.columns = 5, .align = "rrrll"};
    static const char *const heading[] = {"Rung", "Intake", "Product", "Then limits", "Buy in all"};
    for (int i = 0; i < table.columns; i++)
        efi_table_add(&table, heading[i]);
    for (int r = 0; r < crop->rung_count; r++)
        add_rung(&table, v, r + 1, &crop->rungs[r]);
    efi_table_print(&table, out, 2, true);
    efi_text_add(out, "  Each rung was checked by balancing the plant with these purchases afresh.\n");
}
