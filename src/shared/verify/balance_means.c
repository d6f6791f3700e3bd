/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a balance: splits and their shares, power, air, people, money. */
#include "shared/verify/limits.h"

#include <math.h>
#include <string.h>

/* Chosen shares may miss their bounds and their sum by this much. */
#define SHARE_ROUNDING 1e-9
/* The power limit limits when less than the first is left, as a share of it less the idle power, and does not
 * when more than the second is. */
#define POWER_BELOW     5e-8
#define POWER_NOT_ABOVE 2e-7

/* ---- splits ---------------------------------------------------------------------------------------------
 */

static double given_or(efi_value value, double fallback)
{
    return value.given ? value.value : fallback;
}

static void check_branch(const efi_verify *verify, const ef_balance_branch *claim, int split, int branch,
                         bool chosen)
{
    const efi_reference *reference = &verify->reference;
    const efi_discharge *discharge = &reference->scenario->stations[split].discharges.items[branch];
    const double own = efi_reference_share(reference, split, branch)[0];
    efi_differences *list = verify->list;
    efi_differ_words(list, "a branch", claim->name, discharge->name);
    efi_differ_words(list, "where a branch leads", claim->to,
                     reference->scenario->stations[discharge->to[reference->crop]].name);
    efi_differ_flag(list, "by-pass", claim->by_pass, discharge->by_pass);
    efi_differ_number(list, "the least share of a branch", "", claim->least_share,
                      chosen ? given_or(discharge->least_share, 0.0) : own, 0.0);
    efi_differ_number(list, "the most share of a branch", "", claim->most_share,
                      chosen ? given_or(discharge->most_share, 1.0) : own, 0.0);
    if (!chosen)
        efi_differ_number(list, "the share of a branch", "", claim->share, own, 0.0);
    else if (!(claim->share >= claim->least_share - SHARE_ROUNDING &&
               claim->share <= claim->most_share + SHARE_ROUNDING))
        efi_differ(list, "the share of branch \"%s\", %.10g, is not between %.10g and %.10g", claim->name,
                   claim->share, claim->least_share, claim->most_share);
}

/* Takes a chosen share over, the same for every material. EF_OK or EF_MEMORY. */
static ef_status take_share(efi_verify *verify, int split, int branch, double share)
{
    efi_reference *reference = &verify->reference;
    double *each = efi_arena_get(verify->arena, (size_t)reference->materials, sizeof *each);
    if (!each)
        return EF_MEMORY;
    for (int m = 0; m < reference->materials; m++)
        each[m] = share > 0.0 ? share : 0.0;
    reference->share[reference->first_discharge[split] + branch] = each;
    return EF_OK;
}

static ef_status check_split(efi_verify *verify, const ef_balance_split *claim, int split)
{
    const efi_reference *reference = &verify->reference;
    const efi_station *station = &reference->scenario->stations[split];
    const bool chosen = station->split_rule != EFI_SPLIT_FIXED;
    efi_differences *list = verify->list;
    double sum = 0.0;
    int at = 0;
    list->subject = claim->name;
    efi_differ_place(list, "its place", claim->place,
                     efi_tree_place(&reference->scenario->tree, station->origin.key));
    efi_differ_words(list, "the rule", claim->rule, efi_split_word((efi_split_rule)station->split_rule));
    efi_differ_flag(list, "shares chosen", claim->chosen, chosen);
    for (int d = 0; d < station->discharges.count; d++) {
        if (station->discharges.items[d].to[reference->crop] < 0)
            continue;
        if (at < claim->branch_count) {
            check_branch(verify, &claim->branches[at], split, d, chosen);
            sum += claim->branches[at].share;
            if (chosen)
                EF_TRY(take_share(verify, split, d, claim->branches[at].share));
        }
        at++;
    }
    efi_differ_count(list, "the number of branches", claim->branch_count, at);
    if (!(fabs(sum - 1.0) <= SHARE_ROUNDING))
        efi_differ(list, "the shares of its branches add up to %.10g", sum);
    verify->chosen = verify->chosen || chosen;
    list->subject = NULL;
    return EF_OK;
}

ef_status efi_verify_splits(efi_verify *verify)
{
    const efi_reference *reference = &verify->reference;
    const ef_balance_crop *claim = verify->claim;
    int count = 0;
    for (int at = 0; at < claim->station_count; at++)
        count += reference->scenario->stations[verify->station[at]].kind == EFI_STATION_SPLIT;
    efi_differ_count(verify->list, "the number of splits", claim->split_count, count);
    bool *listed = efi_arena_get(verify->arena, (size_t)reference->stations, sizeof *listed);
    if (!listed)
        return EF_MEMORY;
    for (int i = 0; i < claim->split_count; i++) {
        const int s = efi_verify_find(verify, claim->splits[i].name);
        if (s < 0 || !reference->reached[s] || reference->scenario->stations[s].kind != EFI_STATION_SPLIT ||
            listed[s]) {
            efi_differ(verify->list, "\"%s\" is listed as a split %s", claim->splits[i].name,
                       s >= 0 && listed[s] ? "twice" : "but is none that this crop comes to");
            continue;
        }
        listed[s] = true;
        EF_TRY(check_split(verify, &claim->splits[i], s));
    }
    return EF_OK;
}

/* ---- what conveyors move --------------------------------------------------------------------------------
 */

/* Buckets: volume x fill x speed / spacing x rows. */
static double lifted(const efi_buckets *of)
{
    const double each_m = of->volume_m3.value * given_or(of->fill, 1.0) / of->spacing_m.value; /* m3 per m */
    return each_m * of->rows * of->speed_mph.value;
}

/* Screw: the ring between flight and shaft, as long as the pitch at each turn, part full; less on a slope. */
static double screwed(const efi_screw *of)
{
    static const struct {
        double to_deg;
        double share;
    } slopes[] = {{10.0, 1.0}, {20.0, 0.8}, {30.0, 0.6}};
    const double outer_m = of->diameter_m.value / 2.0;
    const double inner_m = given_or(of->shaft_m, 0.0) / 2.0;
    const double turn_m3 = EF_PI * (outer_m - inner_m) * (outer_m + inner_m) *
                           given_or(of->pitch_m, 2.0 * outer_m);
    double m3ph = 0.0;
    for (size_t k = EF_COUNT(slopes); k-- > 0;)
        if (given_or(of->incline_deg, 0.0) <= slopes[k].to_deg)
            m3ph = turn_m3 * given_or(of->fill, 0.45) * of->speed_per_h.value * slopes[k].share;
    return m3ph;
}

/* Batch by batch: the hours a tonne takes to fill, be worked on and be given off. */
static double batched(const efi_batch *of, double charge_t)
{
    return 1.0 / (1.0 / of->fill_tph.value + of->work_h.value / charge_t + 1.0 / of->discharge_tph.value);
}

efi_value efi_verify_nominal(const efi_verify *verify, const efi_station *station, int count)
{
    if (efi_node_find(station->origin.value, "capacity"))
        return efi_verify_value(verify, station->capacity, count);
    if (station->batch) {
        const efi_value charge = efi_verify_value(verify, station->batch->charge_t, 1);
        if (!charge.given)
            return (efi_value){0};
        return (efi_value){
            .value = count * batched(station->batch, charge.value), .given = true, .of = EFI_KIND_MASS_RATE};
    }
    double m3ph = 0.0;
    if (station->buckets)
        m3ph = lifted(station->buckets);
    else if (station->screw)
        m3ph = screwed(station->screw);
    else if (station->belt)
        m3ph = station->belt->area_m2.value * station->belt->speed_mph.value;
    return (efi_value){.value = count * m3ph, .given = m3ph > 0.0, .of = EFI_KIND_VOLUME_RATE};
}

/* ---- power, air, people, money --------------------------------------------------------------------------
 */

double efi_verify_energy(const efi_verify *verify, const efi_station *station)
{
    return efi_verify_value(verify, station->energy_kwhpt, 1).value;
}

double efi_verify_price(const efi_verify *verify, const efi_station *outlet)
{
    return efi_verify_value(verify, outlet->price, 1).value;
}

double efi_verify_idle(const efi_verify *verify)
{
    double idle_kw = 0.0;
    for (int at = 0; at < verify->claim->station_count; at++) {
        const efi_station *station = &verify->reference.scenario->stations[verify->station[at]];
        idle_kw += station->idle_kw.value * station->count;
    }
    return idle_kw;
}

double efi_verify_power_left(const efi_verify *verify)
{
    const double limit_kw = verify->reference.scenario->plant->power_limit_kw.value;
    const double left_kw = limit_kw - efi_verify_idle(verify);
    return left_kw > EFI_VERIFY_TIGHT * limit_kw ? left_kw : 0.0;
}

static double power_of(const efi_verify *verify, int s)
{
    const efi_station *station = &verify->reference.scenario->stations[s];
    return station->idle_kw.value * station->count +
           efi_verify_energy(verify, station) * efi_verify_total(verify, efi_verify_feed(verify, s));
}

void efi_verify_station_means(const efi_verify *verify, const ef_balance_station *claim, int s)
{
    const ef_scenario *scenario = verify->reference.scenario;
    const efi_station *station = &scenario->stations[s];
    efi_differences *list = verify->list;
    if ((claim->line != NULL) != (station->line >= 0))
        efi_differ(list, "it is given as %s",
                   claim->line ? "of one line, but is shared" : "shared, but is of one line");
    else if (claim->line)
        efi_differ_words(list, "its line", claim->line, scenario->lines[station->line].name);
    efi_differ_number(list, "its power", "kW", claim->power_kw, power_of(verify, s), 0.0);
    efi_differ_number(list, "its air", "m3/h", claim->air_m3ph, station->air_m3ph.value * station->count,
                      0.0);
    efi_differ_number(list, "the people at it", "", claim->people, station->people.value, 0.0);
}

/* The words must be the quantity that is held. */
static void check_holds_words(const efi_verify *verify, const ef_balance_outlet *claim)
{
    const efi_crop *crop = &verify->reference.scenario->crops[verify->reference.crop];
    const efi_kinds kinds = EFI_KIND_SET(claim->holds_by_volume ? EFI_KIND_VOLUME : EFI_KIND_MASS);
    efi_quantity quantity = {0};
    if (!claim->has_holds || !claim->holds_words) {
        efi_differ_flag(verify->list, "has words for what it holds", claim->holds_words != NULL,
                        claim->has_holds);
        return;
    }
    if (!efi_quantity_parse(claim->holds_words, strlen(claim->holds_words), kinds, &quantity, NULL))
        efi_differ(verify->list, "\"%s\" does not say what it holds", claim->holds_words);
    else if (efi_quantity_needs_trade_weight(&quantity))
        quantity = efi_quantity_weigh(quantity, crop->trade_weight_tpbu.value);
    efi_differ_number(verify->list, "what it holds in words", "", quantity.value, claim->holds, 0.0);
}

void efi_verify_outlet_means(const efi_verify *verify, const ef_balance_outlet *claim, int s)
{
    const efi_station *station = &verify->reference.scenario->stations[s];
    const double *feed = efi_verify_feed(verify, s);
    const efi_value purity = efi_verify_value(verify, station->least_purity, 1);
    const efi_value price = efi_verify_value(verify, station->price, 1);
    const efi_value holds = efi_verify_value(verify, station->holds, 1);
    const bool by_volume = holds.given && holds.of == EFI_KIND_VOLUME;
    efi_differences *list = verify->list;
    double rate = efi_verify_total(verify, feed);
    if (by_volume)
        rate = verify->reference.has_density ? efi_verify_volume(verify, feed) : 0.0;
    efi_differ_flag(list, "has a least purity", claim->has_least_purity, purity.given);
    efi_differ_number(list, "the least purity", "", claim->least_purity, purity.value, 0.0);
    efi_differ_flag(list, "use said", claim->use != NULL, station->use != EFI_USE_UNSAID);
    if (claim->use && station->use != EFI_USE_UNSAID)
        efi_differ_words(list, "the use", claim->use, efi_use_word((efi_use)station->use));
    efi_differ_flag(list, "has a price", claim->has_price, price.given);
    efi_differ_number(list, "the price", "money per t", claim->price, price.value, 0.0);
    efi_differ_number(list, "the value of what leaves", "money per h", claim->value_per_h,
                      price.value * efi_verify_total(verify, feed), 0.0);
    efi_differ_flag(list, "holds so much", claim->has_holds, holds.given);
    efi_differ_flag(list, "holds by volume", claim->holds_by_volume, by_volume);
    efi_differ_number(list, "what it holds", by_volume ? "m3" : "t", claim->holds, holds.value, 0.0);
    check_holds_words(verify, claim);
    efi_differ_number(list, "how long until it is full", "h", claim->fills_h,
                      holds.given && rate > 0.0 ? holds.value / rate : 0.0, 0.0);
}

static void check_power_limit(const efi_verify *verify, double power_kw)
{
    const efi_value limit = verify->reference.scenario->plant->power_limit_kw;
    const ef_balance_crop *claim = verify->claim;
    const double idle_kw = efi_verify_idle(verify);
    const double left_kw = limit.value - power_kw;
    efi_differ_flag(verify->list, "has a power limit", claim->has_power_limit, limit.given);
    efi_differ_number(verify->list, "the power limit", "kW", claim->power_limit_kw, limit.value, 0.0);
    if (!limit.given || left_kw > POWER_NOT_ABOVE * fabs(limit.value - idle_kw))
        efi_differ_flag(verify->list, "power limits", claim->power_limits, false);
    else if (left_kw <= POWER_BELOW * (limit.value - idle_kw))
        efi_differ_flag(verify->list, "power limits", claim->power_limits, true);
    if (limit.given && claim->feasible && !(left_kw >= -EFI_DIFFERENCE_SHARE * limit.value))
        efi_differ(verify->list, "the power of %.10g kW is more than the limit of %.10g kW", power_kw,
                   limit.value);
}

void efi_verify_crop_means(const efi_verify *verify)
{
    const efi_reference *reference = &verify->reference;
    const ef_scenario *scenario = reference->scenario;
    const efi_plant *plant = scenario->plant;
    const ef_balance_crop *claim = verify->claim;
    efi_differences *list = verify->list;
    double power_kw = 0.0;
    double air_m3ph = 0.0;
    double people = 0.0;
    double value = 0.0;
    double size = 0.0; /* of the terms of the value, which may cancel */
    double product_tph = 0.0;
    for (int at = 0; at < claim->station_count; at++) {
        const int s = verify->station[at];
        const efi_station *station = &scenario->stations[s];
        const double total = efi_verify_total(verify, efi_verify_feed(verify, s));
        power_kw += power_of(verify, s);
        air_m3ph += station->air_m3ph.value * station->count;
        people += station->people.value;
        value += efi_verify_price(verify, station) * total;
        size += fabs(efi_verify_price(verify, station)) * total;
        product_tph += station->product ? total : 0.0;
    }
    for (int i = 0; i < reference->intake_count; i++)
        value -= scenario->crops[reference->crop].price.value * verify->rate_tph[i];
    value -= plant->energy_price.value * power_kw;
    size += fabs(plant->energy_price.value) * power_kw;
    efi_differ_number(list, "the value", "money per h", claim->value_per_h, value,
                      EFI_VERIFY_ROUNDING_SHARE * size);
    efi_differ_number(list, "the power", "kW", claim->power_kw, power_kw, 0.0);
    efi_differ_number(list, "the energy for each tonne of product", "kWh/t", claim->kwh_per_t,
                      product_tph > 0.0 ? power_kw / product_tph : 0.0, 0.0);
    efi_differ_number(list, "the air", "m3/h", claim->air_m3ph, air_m3ph, 0.0);
    efi_differ_number(list, "the people", "", claim->people, people, 0.0);
    efi_differ_flag(list, "has so many people", claim->has_people_limit, plant->people.given);
    efi_differ_number(list, "the people there are", "", claim->people_limit, plant->people.value, 0.0);
    check_power_limit(verify, power_kw);
}
