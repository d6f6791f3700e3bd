/* SPDX-License-Identifier: GPL-3.0-or-later
 * What a balance says about chosen shares, power, people and money, and its ladder. */
#include "base/tongue.h"
#include "report/balance_view.h"

#include <string.h>

/* ---- splits -----------------------------------------------------------------------------------------------
 */

static void add_split(efi_paper *paper, const efi_balance_view *v, const ef_balance_split *split)
{
    efi_text words = {0};
    efi_text_addf(&words, "%s (%s, %s): ", split->name, efi_balance_place(paper, v, &split->place),
                  efi_tr(split->rule));
    for (int b = 0; b < split->branch_count; b++)
        efi_text_addf(&words, "%s%s %s", b ? ", " : "", split->branches[b].to,
                      efi_piece_percent(split->branches[b].share, 1).words);
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
    const efi_kind kind = v->balance->aim == EF_BALANCE_VALUE ? EFI_KIND_MONEY_PER_TIME : EFI_KIND_MASS_RATE;
    efi_paper_wordsf(
        paper, EFI_DETAIL,
        efi_tr("These are the best shares found from %d starts; none can reach more than %s (gap %s)."),
        crop->search_starts, efi_balance_kind(v, kind, crop->bound).words,
        efi_piece_percent(crop->gap, 2).words);
}

/* ---- power, people, money ---------------------------------------------------------------------------------
 */

static void add_power(efi_paper *paper, const efi_balance_view *v)
{
    const ef_balance_crop *crop = v->crop;
    efi_text words = {0};
    const efi_piece power = efi_balance_kind(v, EFI_KIND_POWER, crop->power_kw);
    const efi_piece energy = efi_balance_kind(v, EFI_KIND_ENERGY_PER_MASS, crop->kwh_per_t);
    if (crop->power_kw > 0.0 && crop->has_power_limit)
        efi_text_addf(&words, efi_tr("Power: %s of the %s there are, %s of product."), power.words,
                      efi_balance_kind(v, EFI_KIND_POWER, crop->power_limit_kw).words, energy.words);
    else if (crop->power_kw > 0.0)
        efi_text_addf(&words, efi_tr("Power: %s, %s of product."), power.words, energy.words);
    if (crop->air_m3ph > 0.0) {
        efi_display air = efi_display_choose(EFI_KIND_VOLUME_RATE, v->units, crop->air_m3ph, 0.0, NULL);
        if (v->units == EF_UNITS_US) /* air is counted by the minute there */
            (void)efi_display_in(EFI_KIND_VOLUME_RATE, "ft3/min", crop->air_m3ph, 0.0, &air);
        efi_text_add(&words, words.length ? " " : "");
        efi_text_addf(&words, efi_tr("Air: %s in all."), efi_piece_quantity(&air, crop->air_m3ph).words);
    }
    efi_paper_say(paper, EFI_DETAIL, &words);
}

static void add_people(efi_paper *paper, const efi_balance_view *v)
{
    const ef_balance_crop *crop = v->crop;
    const efi_piece people = efi_piece_significant(crop->people, 3);
    if (!(crop->people > 0.0))
        return;
    if (!crop->has_people_limit)
        efi_paper_wordsf(paper, EFI_DETAIL, efi_tr("People: the stations ask for %s."), people.words);
    else
        efi_paper_wordsf(paper, EFI_DETAIL,
                         crop->people > crop->people_limit
                             ? efi_tr("People: the stations ask for %s, MORE than the %s on a shift.")
                             : efi_tr("People: the stations ask for %s of the %s on a shift."),
                         people.words, efi_piece_significant(crop->people_limit, 3).words);
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
    const efi_piece value = efi_balance_kind(v, EFI_KIND_MONEY_PER_TIME, v->crop->value_per_h);
    const char *aim = v->balance->aim == EF_BALANCE_VALUE ? efi_tr("the aim was the most of it")
                                                          : efi_tr("the aim was the rate");
    if (v->crop->intake.total_tph > 0.0)
        efi_text_addf(
            &words, efi_tr("Value: %s (%s of intake) for what leaves, less receipt and energy; %s."),
            value.words,
            efi_balance_kind(v, EFI_KIND_MONEY_PER_MASS, v->crop->value_per_h / v->crop->intake.total_tph)
                .words,
            aim);
    else
        efi_text_addf(&words, efi_tr("Value: %s for what leaves, less receipt and energy; %s."), value.words,
                      aim);
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
    const char *list = "";
    for (const ef_balance_outlet *outlet = next_full(v->crop, NULL); outlet;
         outlet = next_full(v->crop, outlet)) {
        const char *one = efi_paper_phrase(paper, efi_tr("%s after %s (%s)"), outlet->name,
                                           efi_piece_duration(outlet->fills_h).words, outlet->holds_words);
        list = *list ? efi_paper_phrase(paper, efi_tr("%s, then %s"), list, one) : one;
    }
    if (*list)
        efi_paper_wordsf(paper, EFI_DETAIL, efi_tr("Full first: %s."), list);
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
    const efi_kind kind = !purchase->station    ? EFI_KIND_POWER
                          : purchase->by_volume ? EFI_KIND_VOLUME_RATE
                                                : EFI_KIND_MASS_RATE;
    efi_text_addf(words, "%s +%s", purchase->station ? purchase->station : efi_tr("power"),
                  efi_balance_kind(v, kind, purchase->more).words);
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
        efi_text_addf(&limits, "%s%s", i ? "\n" : "", rung->limits[i] ? rung->limits[i] : efi_tr("power"));
    if (rung->limit_count == 0)
        efi_text_add(&limits, efi_tr("nothing"));
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
        .caption = EFI_TR(
            "The ladder: what the line reaches with purchases, counted from the plant as it is")};
    static const efi_column rung = {EFI_TR("Rung"), 'r', 0, false};
    static const efi_column others[] = {{EFI_TR("Value"), 'r', 0, false},
                                        {EFI_TR("Intake"), 'r', 0, false},
                                        {EFI_TR("Product"), 'r', 0, false},
                                        {EFI_TR("Then limits"), 'l', 0, false},
                                        {EFI_TR("Buy in all"), 'l', 0, false}};
    const int skipped = v->balance->aim == EF_BALANCE_VALUE ? 0 : 1;
    efi_column columns[1 + EF_COUNT(others)] = {rung};
    memcpy(columns + 1, others + skipped, sizeof others - (size_t)skipped * sizeof *others);
    efi_paper_gap(paper);
    efi_paper_table(paper, &form, columns, (int)EF_COUNT(columns) - skipped);
    for (int r = 0; r < crop->rung_count; r++)
        add_rung(paper, v, r + 1, &crop->rungs[r]);
    efi_paper_words(paper, EFI_NOTE,
                    efi_tr("Each rung was checked by balancing the plant with these purchases afresh."));
}
