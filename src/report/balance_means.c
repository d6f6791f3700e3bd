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
    efi_text_addf(&words, "These are the best shares found from %d starts; none can reach more than ",
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
    if (crop->air_m3ph > 0.0) {
        efi_display air = efi_display_choose(EFI_KIND_VOLUME_RATE, v->units, crop->air_m3ph, 0.0, NULL);
        if (v->units == EF_UNITS_US) /* air is counted by the minute there */
            (void)efi_display_in(EFI_KIND_VOLUME_RATE, "ft3/min", crop->air_m3ph, 0.0, &air);
        efi_text_addf(&words, "%sAir: ", words.length ? " " : "");
        efi_display_add(&words, &air, crop->air_m3ph);
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
    efi_text_add(&words, "Value: ");
    add_kind(&words, v, EFI_KIND_MONEY_PER_TIME, v->crop->value_per_h);
    if (v->crop->intake.total_tph > 0.0) {
        efi_text_add(&words, " (");
        add_kind(&words, v, EFI_KIND_MONEY_PER_MASS, v->crop->value_per_h / v->crop->intake.total_tph);
        efi_text_add(&words, " of intake)");
    }
    efi_text_add(&words, " for what leaves, less receipt and energy; ");
    efi_text_add(&words, v->balance->aim == EF_BALANCE_VALUE ? "the aim was the most of it."
                                                             : "the aim was the rate.");
    say(out, &words);
}

/* Of the outlets that fill up, the one after `last` (NULL: the first) in the order of time; NULL at the end.
 */
static const ef_balance_outlet *next_full(const ef_balance_crop *crop, const ef_balance_outlet *last)
{
    const ef_balance_outlet *next = NULL;
    for (int o = 0; o < crop->outlet_count; o++) {
        const ef_balance_outlet *outlet = &crop->outlets[o];
        const bool fills = outlet->has_holds && outlet->fills_h > 0.0;
        const bool left = !last || outlet->fills_h > last->fills_h ||
                          (outlet->fills_h == last->fills_h && outlet > last);
        if (fills && left && (!next || outlet->fills_h < next->fills_h))
            next = outlet;
    }
    return next;
}

/* "Full first: Screenings after 50 min (1.5 t), then Seed after 2 h (5 t)." What they hold is in the words of
 * the scenario: the size of a cart is known in one unit, whatever the rates are shown in. */
static void add_carts(efi_text *out, const efi_balance_view *v)
{
    efi_text words = {0};
    for (const ef_balance_outlet *outlet = next_full(v->crop, NULL); outlet;
         outlet = next_full(v->crop, outlet)) {
        efi_text_addf(&words, "%s%s after ", words.length ? ", then " : "Full first: ", outlet->name);
        efi_display_add_duration(&words, outlet->fills_h);
        efi_text_add(&words, " (");
        efi_text_add(&words, outlet->holds_words);
        efi_text_add(&words, ")");
    }
    if (words.length)
        efi_text_add(&words, ".");
    say(out, &words);
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

static void add_rate_cell(efi_table *table, const efi_balance_view *v, double rate_tph)
{
    efi_text cell = {0};
    efi_balance_add_rate(&cell, v, rate_tph);
    efi_table_add(table, efi_text_get(&cell));
    efi_text_free(&cell);
}

/* The last two cells of row `row` of a rung: one station that limits, and one purchase. */
static void add_row_end(efi_table *table, const efi_balance_view *v, const ef_balance_rung *rung, int row)
{
    if (row < rung->limit_count)
        efi_table_add(table, rung->limits[row] ? rung->limits[row] : "power");
    else
        efi_table_add(table, row == 0 ? "nothing" : NULL);
    efi_text cell = {0};
    if (row < rung->purchase_count)
        add_purchase(&cell, v, &rung->purchases[row]);
    efi_table_add(table, efi_text_get(&cell));
    efi_text_free(&cell);
}

/* A rung; what limits and what to buy go on in rows of their own, whose other cells are empty. */
static void add_rung(efi_table *table, const efi_balance_view *v, int number, const ef_balance_rung *rung)
{
    const bool value = v->balance->aim == EF_BALANCE_VALUE;
    efi_table_addf(table, "%d", number);
    if (value) {
        efi_text cell = {0};
        add_kind(&cell, v, EFI_KIND_MONEY_PER_TIME, rung->value_per_h);
        efi_table_add(table, efi_text_get(&cell));
        efi_text_free(&cell);
    }
    add_rate_cell(table, v, rung->intake_tph);
    add_rate_cell(table, v, rung->product_tph);
    add_row_end(table, v, rung, 0);
    const int rows = rung->limit_count > rung->purchase_count ? rung->limit_count : rung->purchase_count;
    for (int row = 1; row < rows; row++) {
        for (int empty = 0; empty < table->columns - 2; empty++)
            efi_table_add(table, NULL);
        add_row_end(table, v, rung, row);
    }
}

void efi_balance_add_ladder(efi_text *out, const efi_balance_view *v)
{
    const ef_balance_crop *crop = v->crop;
    if (crop->rung_count == 0)
        return;
    efi_text_add(out,
                 "\n  The ladder: what the line reaches with purchases, counted from the plant as it is\n");
    const bool value = v->balance->aim == EF_BALANCE_VALUE;
    efi_table table = {.columns = value ? 6 : 5, .align = value ? "rrrrll" : "rrrll"};
    static const char *const heading[] = {"Rung", "Value", "Intake", "Product", "Then limits", "Buy in all"};
    for (size_t i = 0; i < sizeof heading / sizeof heading[0]; i++)
        if (value || i != 1)
            efi_table_add(&table, heading[i]);
    for (int r = 0; r < crop->rung_count; r++)
        add_rung(&table, v, r + 1, &crop->rungs[r]);
    efi_table_print(&table, out, 2, true);
    efi_text_add(out, "  Each rung was checked by balancing the plant with these purchases afresh.\n");
}
