/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on what outlets ask for and earn, and on what stations ask of the intakes. */
#include "model/rules.h"

/* Rates this close to what the intakes may take keep it. */
#define RATE_TOLERANCE 1e-9

void efi_rule_product_to_waste(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_station *station = &rules->scenario->stations[s];
        if (!station->product || station->use != EFI_USE_WASTE ||
            efi_rule_only_counted(rules, EFI_DIAG_PRODUCT_TO_WASTE))
            continue;
        ef_diag draft = efi_rule_station(rules, s, "use");
        draft.message = "this outlet is for a product, but its use is waste";
        draft.likely = "use: seed, or no \"product: yes\"";
        efi_rule_second(rules, &draft, efi_node_find_key(station->origin.value, "product"),
                        "said to be a product");
        efi_diags_add(rules->diags, EFI_DIAG_PRODUCT_TO_WASTE, &draft);
    }
}

void efi_rule_purity_of_reject(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_station *station = &rules->scenario->stations[s];
        if (station->product || !station->least_purity || efi_rule_flag_unread(station->origin, "product") ||
            efi_rule_only_counted(rules, EFI_DIAG_PURITY_OF_REJECT))
            continue;
        ef_diag draft = efi_rule_station(rules, s, "least purity");
        draft.message = "a least share of wanted material is asked for where no product arrives";
        draft.likely = "\"product: yes\" here, or the purity at a product outlet";
        efi_diags_add(rules->diags, EFI_DIAG_PURITY_OF_REJECT, &draft);
    }
}

/* ---- rates above what the intakes may take ---------------------------------------------------------------
 */

/* Reports a rate, asked for by `count` machines each, that no intake can feed; true when it does. */
static bool check_rate(efi_rules *rules, efi_diag_code code, int s, int crop, const char *key, double each,
                       int count)
{
    const double most = rules->intakes_tph[crop];
    if (!efi_rule_reached(rules, crop, s) || !(each * count > most * (1.0 + RATE_TOLERANCE)))
        return false;
    ef_diag draft = efi_rule_station(rules, s, key);
    const char *machines = count == 1 ? "" : efi_diags_textf(rules->diags, " of %d machines together", count);
    draft.message = efi_diags_textf(
        rules->diags, "the %s%s, %s t/h, is more than the %s t/h of %s that all intakes together may take",
        key, machines ? machines : "", efi_rule_number(rules, each * count), efi_rule_number(rules, most),
        rules->scenario->crops[crop].name);
    draft.allowed = efi_diags_textf(rules->diags, "at most %s t/h", efi_rule_number(rules, most / count));
    efi_diags_add(rules->diags, code, &draft);
    return true;
}

void efi_rule_least_rate_over(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_value *least = rules->scenario->stations[s].least_rate;
        for (int crop = 0; least && crop < rules->scenario->crop_count; crop++)
            if (least[crop].given &&
                check_rate(rules, EFI_DIAG_LEAST_RATE_OVER, s, crop, "least rate", least[crop].value, 1))
                break;
    }
}

/* Stations inside a loop may get more than comes in, so they are left out. */
static void check_feeds(efi_rules *rules, int crop, bool *told)
{
    int *ring = rules->number;
    if (!rules->repeats[crop] && efi_ways_rings(&rules->by_crop[crop], rules->scenario->station_count,
                                                rules->carries[crop], ring) != EF_OK)
        rules->binder->failed = true;
    for (int s = 0; s < rules->scenario->station_count && !rules->binder->failed; s++) {
        const efi_station *station = &rules->scenario->stations[s];
        if (!station->least_feed || !station->least_feed[crop].given || ring[s] >= 0 || told[s] ||
            efi_diags_full(rules->diags, EF_WARNING))
            continue;
        told[s] = check_rate(rules, EFI_DIAG_LEAST_FEED_UNMET, s, crop, "least feed",
                             station->least_feed[crop].value, station->count);
    }
}

void efi_rule_least_feed_unmet(efi_rules *rules)
{
    efi_rule_clear(rules, rules->mark);
    for (int crop = 0; crop < rules->scenario->crop_count && !rules->binder->failed; crop++)
        check_feeds(rules, crop, rules->mark);
}

/* ---- prices ----------------------------------------------------------------------------------------------
 */

/* Is the station an outlet for a product of the crop? */
static bool is_product(const efi_rules *rules, int crop, int s)
{
    return rules->scenario->stations[s].product && efi_rule_reached(rules, crop, s);
}

static bool has_price(const efi_station *outlet, int crop)
{
    return outlet->price && outlet->price[crop].given;
}

/* A product outlet of the crop that has a price; -1 when none has, or one cannot be read. */
static int priced_product(const efi_rules *rules, int crop)
{
    int priced = -1;
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_station *station = &rules->scenario->stations[s];
        if (!is_product(rules, crop, s))
            continue;
        if (efi_rule_has(station->origin, "price") && (!station->price || station->price[crop].bad))
            return -1;
        if (priced < 0 && has_price(station, crop))
            priced = s;
    }
    return priced;
}

void efi_rule_price_missing(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    efi_rule_clear(rules, rules->mark);
    for (int crop = 0; crop < scenario->crop_count; crop++) {
        const int priced = priced_product(rules, crop);
        for (int s = 0; priced >= 0 && s < scenario->station_count; s++) {
            if (!is_product(rules, crop, s) || has_price(&scenario->stations[s], crop) || rules->mark[s] ||
                efi_rule_only_counted(rules, EFI_DIAG_PRICE_MISSING))
                continue;
            rules->mark[s] = true;
            ef_diag draft = efi_rule_station(rules, s, "price");
            draft.message = efi_diags_textf(
                rules->diags,
                "this product of %s has no price, so it counts as worth nothing; \"%s\" has one",
                scenario->crops[crop].name, scenario->stations[priced].name);
            draft.likely = "a price here too, 0 if it is given away";
            efi_rule_second(rules, &draft,
                            efi_node_find_key(scenario->stations[priced].origin.value, "price"),
                            "the price of the other one");
            efi_diags_add(rules->diags, EFI_DIAG_PRICE_MISSING, &draft);
        }
    }
}

/* The product outlet that pays most for a crop; -1 when one has no price. */
static int dearest_product(const efi_rules *rules, int crop)
{
    int dearest = -1;
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_station *station = &rules->scenario->stations[s];
        if (!is_product(rules, crop, s))
            continue;
        if (!has_price(station, crop))
            return -1;
        if (dearest < 0 || station->price[crop].value > rules->scenario->stations[dearest].price[crop].value)
            dearest = s;
    }
    return dearest;
}

void efi_rule_price_inverted(efi_rules *rules)
{
    for (int crop = 0; crop < rules->scenario->crop_count; crop++) {
        const efi_crop *of = &rules->scenario->crops[crop];
        const int s = of->price.given ? dearest_product(rules, crop) : -1;
        if (s < 0)
            continue;
        const efi_station *outlet = &rules->scenario->stations[s];
        if (of->price.value <= outlet->price[crop].value ||
            efi_rule_only_counted(rules, EFI_DIAG_PRICE_INVERTED))
            continue;
        const char *currency = rules->scenario->currency;
        ef_diag draft = efi_rule_draft(rules, "crops", of->name, of->origin, "price");
        draft.message = efi_diags_textf(
            rules->diags, "the receipt costs %s %s/t, but no product of %s earns more than %s %s/t",
            efi_rule_number(rules, of->price.value), currency, of->name,
            efi_rule_number(rules, outlet->price[crop].value), currency);
        draft.likely = "look whether the two prices are for the same unit of weight";
        efi_rule_second(rules, &draft, efi_node_find_key(outlet->origin.value, "price"),
                        "the best price of a product");
        efi_diags_add(rules->diags, EFI_DIAG_PRICE_INVERTED, &draft);
    }
}
