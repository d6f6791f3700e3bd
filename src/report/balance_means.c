/* SPDX-License-Identifier: GPL-3.0-or-later
 * What a balance says about chosen shares, power, people and money, and its ladder. */
#include "report/balance_view.h"

#include <string.h>

static void add_kind(efi_text *words, const efi_balance_view *v, efi_kind kind, double value)
{
    efi_display_add_alone(words, kind, v->units, value, v->tpbu, v->balance->currency);
}

/* ---- splits -----------------------------------------------------------------------------------------------
 */

static void add_split(efi_paper *paper, const efi_balance_view *v, const ef_balance_split *split)
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
    efi_paper_say(paper, EFI_DETAIL, &words);
}

void efi_balance_add_splits(efi_paper *paper, const efi_balance_view *v)
{
    const ef_balance_crop *crop = v->crop;
    for (int s = 0; s < crop->split_count; s++)
        if (crop->splits[s].chosen)
            add_split(paper, v, &crop->splits[s]);
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
    efi_paper_say(paper, EFI_DETAIL, &words);
}

/* ---- power, people, money ---------------------------------------------------------------------------------
 */

static void add_power(efi_paper *paper, const efi_balance_view *v)
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
    efi_paper_say(paper, EFI_DETAIL, &words);
}

static void add_people(efi_paper *paper, const efi_balance_view *v)
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
    efi_paper_say(paper, EFI_DETAIL, &words);
}

static bool has_prices(const ef_balance_crop *crop)
{
    for (int o = 0; o < crop->outlet_count; o++)
        if (crop->outlets[o].has_price)
            return true;
    return false;
}

static void add_value(efi_paper *paper, const efi_balance_view *v)
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
    efi_paper_say(paper, EFI_DETAIL, &words);
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
static void add_carts(efi_paper *paper, const efi_balance_view *v)
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
    efi_paper_say(paper, EFI_DETAIL, &words);
}

void efi_balance_add_means(efi_paper *paper, const efi_balance_view *v)
{
    add_carts(paper, v);
    add_power(paper, v);
    add_people(paper, v);
    add_value(paper, v);
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

static void add_rate_cell(efi_paper *paper, const efi_balance_view *v, double rate_tph)
{
    efi_display display;
    if (!efi_display_in(EFI_KIND_MASS_RATE, v->mass.name, rate_tph, v->tpbu, &display))
        display = v->mass;
    efi_paper_show(paper, &display, rate_tph);
}

static void add_rung(efi_paper *paper, const efi_balance_view *v, int number, const ef_balance_rung *rung)
{
    efi_paper_count(paper, number);
    if (v->balance->aim == EF_BALANCE_VALUE) {
        const efi_display money = efi_display_choose(EFI_KIND_MONEY_PER_TIME, v->units, rung->value_per_h,
                                                     v->tpbu, v->balance->currency);
        efi_paper_show(paper, &money, rung->value_per_h);
    }
    add_rate_cell(paper, v, rung->intake_tph);
    add_rate_cell(paper, v, rung->product_tph);
    efi_text limits = {0};
    for (int i = 0; i < rung->limit_count; i++)
        efi_text_addf(&limits, "%s%s", i ? "\n" : "", rung->limits[i] ? rung->limits[i] : "power");
    if (rung->limit_count == 0)
        efi_text_add(&limits, "nothing");
    efi_paper_take(paper, &limits);
    efi_text buy = {0};
    for (int i = 0; i < rung->purchase_count; i++) {
        efi_text_add(&buy, i ? "\n" : "");
        add_purchase(&buy, v, &rung->purchases[i]);
    }
    efi_paper_take(paper, &buy);
}

void efi_balance_add_ladder(efi_paper *paper, const efi_balance_view *v)
{
    const ef_balance_crop *crop = v->crop;
    if (crop->rung_count == 0)
        return;
    static const efi_table_form form = {
        .name = "ladder",
        .caption = "The ladder: what the line reaches with purchases, counted from the plant as it is"};
    static const efi_column rung = {"Rung", 'r', 0, false};
    static const efi_column others[] = {{"Value", 'r', 0, false},
                                        {"Intake", 'r', 0, false},
                                        {"Product", 'r', 0, false},
                                        {"Then limits", 'l', 0, false},
                                        {"Buy in all", 'l', 0, false}};
    const int skipped = v->balance->aim == EF_BALANCE_VALUE ? 0 : 1;
    efi_column columns[1 + EF_COUNT(others)] = {rung};
    memcpy(columns + 1, others + skipped, sizeof others - (size_t)skipped * sizeof *others);
    efi_paper_gap(paper);
    efi_paper_table(paper, &form, columns, (int)EF_COUNT(columns) - skipped);
    for (int r = 0; r < crop->rung_count; r++)
        add_rung(paper, v, r + 1, &crop->rungs[r]);
    efi_paper_words(paper, EFI_NOTE,
                    "Each rung was checked by balancing the plant with these purchases afresh.");
}
