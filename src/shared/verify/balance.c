/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a balance: names and places, then the crop as a whole; the parts are in the other files. */
#include "shared/verify/balance.h"
#include "base/locale.h"

#include <math.h>
#include <string.h>

/* The solver may say it was off by this much. */
#define MOST_PRIMAL_ERROR 1e-6
/* Of a capacity, however wet or trashy the receipt. */
#define LEAST_LEFT 0.1

const double *efi_verify_feed(const efi_verify *verify, int station)
{
    return verify->feed_tph + (size_t)station * (size_t)verify->reference.materials;
}

double efi_verify_total(const efi_verify *verify, const double *material_tph)
{
    double total = 0.0;
    for (int m = 0; m < verify->reference.materials; m++)
        total += material_tph[m];
    return total;
}

double efi_verify_volume(const efi_verify *verify, const double *material_tph)
{
    double volume = 0.0;
    for (int m = 0; m < verify->reference.materials; m++)
        volume += material_tph[m] * verify->reference.m3_per_t[m];
    return volume;
}

void efi_verify_stream(const efi_verify *verify, const char *what, ef_stream claimed,
                       const double *material_tph)
{
    efi_text name = {0};
    efi_differ_number(verify->list, what, "t/h", claimed.total_tph, efi_verify_total(verify, material_tph),
                      verify->floor_tph);
    for (int m = 0; m < verify->reference.materials; m++) {
        if (efi_differ_same(claimed.material_tph[m], material_tph[m], verify->floor_tph))
            continue;
        name.length = 0;
        efi_text_addf(&name, "%s of %s", what, verify->reference.scenario->materials[m].name);
        efi_differ_number(verify->list, efi_text_get(&name), "t/h", claimed.material_tph[m], material_tph[m],
                          verify->floor_tph);
    }
    verify->list->text.failed = verify->list->text.failed || name.failed;
    efi_text_free(&name);
}

int efi_verify_find(const efi_verify *verify, const char *name)
{
    return efi_index_find(&verify->reference.scenario->station_index, name, strlen(name));
}

efi_value efi_verify_value(const efi_verify *verify, const efi_value *by_crop, int count)
{
    efi_value value = {0};
    if (by_crop && by_crop[verify->reference.crop].given)
        value = by_crop[verify->reference.crop];
    value.value *= count;
    return value;
}

/* What is left of a capacity when `found` is above `allowed`: so much less for each percentage point. */
static double share_lost(efi_value found, efi_value allowed, efi_value per_point)
{
    const double points = found.given ? 100.0 * (found.value - allowed.value) : 0.0;
    return per_point.given ? fmax(points, 0.0) * per_point.value : 0.0;
}

double efi_verify_derating(const efi_verify *verify, const efi_station *station)
{
    const ef_scenario *scenario = verify->reference.scenario;
    const efi_crop *crop = &scenario->crops[verify->reference.crop];
    const efi_derating *less = station->derating;
    efi_value trash = {.value = 1.0, .given = true};
    if (!less)
        return 1.0;
    for (int m = 0; m < verify->reference.materials; m++)
        if (scenario->materials[m].wanted)
            trash.value -= crop->receipt[m];
    return fmax(LEAST_LEFT, 1.0 - share_lost(crop->moisture, less->moisture_above, less->per_moisture) -
                                share_lost(trash, less->trash_above, less->per_trash));
}

double efi_verify_peak(const efi_station *station)
{
    return station->peak_factor.given ? station->peak_factor.value : 1.0;
}

efi_value efi_verify_capacity(const efi_verify *verify, const efi_station *station, int count)
{
    efi_value capacity = efi_verify_nominal(verify, station, count);
    capacity.value *= efi_verify_derating(verify, station) / efi_verify_peak(station);
    return capacity;
}

/* ---- which stations -------------------------------------------------------------------------------------
 */

/* Fills in claimed_at and station. False when the stations are not those the crop passes: then nothing else
 * can be compared. */
static bool match_stations(efi_verify *verify)
{
    const ef_balance_crop *claim = verify->claim;
    const ef_scenario *scenario = verify->reference.scenario;
    const long before = verify->list->count;
    for (int s = 0; s < scenario->station_count; s++)
        verify->claimed_at[s] = -1;
    for (int i = 0; i < claim->station_count; i++) {
        const int s = efi_verify_find(verify, claim->stations[i].name);
        verify->station[i] = s;
        if (s < 0)
            efi_differ(verify->list, "there is no station \"%s\" in the scenario", claim->stations[i].name);
        else if (!verify->reference.reached[s])
            efi_differ(verify->list, "\"%s\" is listed, but this crop does not come there",
                       claim->stations[i].name);
        else if (verify->claimed_at[s] >= 0)
            efi_differ(verify->list, "\"%s\" is listed twice", claim->stations[i].name);
        else
            verify->claimed_at[s] = i;
    }
    for (int s = 0; s < scenario->station_count; s++)
        if (verify->reference.reached[s] && verify->claimed_at[s] < 0)
            efi_differ(verify->list, "\"%s\" is missing, though this crop comes there",
                       scenario->stations[s].name);
    return verify->list->count == before;
}

/* The feeds that the claimed intake rates bring about. */
static void compute_feeds(efi_verify *verify)
{
    const efi_reference *reference = &verify->reference;
    double intake_tph = 0.0;
    for (int i = 0; i < reference->intake_count; i++) {
        const ef_balance_station *intake = &verify->claim->stations[verify->claimed_at[reference->intake[i]]];
        verify->rate_tph[i] = intake->feed.total_tph;
        intake_tph += fabs(verify->rate_tph[i]);
        if (!(verify->rate_tph[i] >= 0.0 && isfinite(verify->rate_tph[i]))) {
            verify->list->subject = intake->name;
            efi_differ(verify->list, "a rate of %.10g t/h cannot be", verify->rate_tph[i]);
            verify->list->subject = NULL;
        }
    }
    verify->floor_tph = EFI_VERIFY_ROUNDING_SHARE * intake_tph;
    for (int s = 0; s < reference->stations; s++) {
        for (int m = 0; m < reference->materials; m++) {
            const double *unit = efi_reference_unit(reference, s, m);
            double feed = 0.0;
            for (int i = 0; i < reference->intake_count; i++)
                feed += unit[i] * verify->rate_tph[i];
            verify->feed_tph[(size_t)s * (size_t)reference->materials + (size_t)m] = feed;
        }
    }
}

/* ---- outlets and totals ---------------------------------------------------------------------------------
 */

/* Of an outlet by its own list, where it has one; of the plant for NULL. */
static double wanted_of(const efi_verify *verify, const efi_station *outlet, const double *material_tph)
{
    double wanted = 0.0;
    for (int m = 0; m < verify->reference.materials; m++) {
        bool counts = verify->reference.scenario->materials[m].wanted;
        if (outlet && outlet->wanted.count > 0) {
            counts = false;
            for (int i = 0; i < outlet->wanted.count; i++)
                counts = counts || outlet->wanted.items[i] == m;
        }
        wanted += counts ? material_tph[m] : 0.0;
    }
    return wanted;
}

/* What the stations make of it out of what does not count. */
static double wanted_made(const efi_verify *verify, const efi_station *outlet, double *unit)
{
    const efi_reference *reference = &verify->reference;
    const size_t materials = (size_t)reference->materials;
    double made = 0.0;
    for (int s = 0; s < reference->stations; s++) {
        const double *turns = reference->scenario->stations[s].turns;
        for (size_t m = 0; turns && reference->reached[s] && m < materials; m++) {
            memset(unit, 0, materials * sizeof *unit);
            unit[m] = 1.0;
            if (wanted_of(verify, outlet, unit) > 0.0)
                continue;
            const double *row = turns + ((size_t)reference->crop * materials + m) * materials;
            made += wanted_of(verify, outlet, row) * efi_verify_feed(verify, s)[m];
        }
    }
    return made;
}

static double ratio(double part, double whole)
{
    return whole > 0.0 ? part / whole : 0.0;
}

static void check_outlet(const efi_verify *verify, const ef_balance_outlet *outlet, int s,
                         const double *intake_tph, double *unit)
{
    efi_differences *list = verify->list;
    const efi_station *station = &verify->reference.scenario->stations[s];
    const double *feed = efi_verify_feed(verify, s);
    const double total = efi_verify_total(verify, feed);
    const double wanted = wanted_of(verify, station, feed);
    const double received = wanted_of(verify, station, intake_tph) + wanted_made(verify, station, unit);
    const efi_value least = efi_verify_value(verify, station->least_rate, 1);
    list->subject = outlet->name;
    efi_differ_place(list, "its place", outlet->place,
                     efi_tree_place(&verify->reference.scenario->tree, station->origin.key));
    efi_differ_flag(list, "product", outlet->product, station->product);
    efi_verify_stream(verify, "what leaves here", outlet->flow, feed);
    efi_differ_number(list, "its share of the intake", "", outlet->share_of_intake,
                      ratio(total, efi_verify_total(verify, intake_tph)), EFI_VERIFY_ROUNDING_SHARE);
    efi_differ_number(list, "the wanted share in it", "", outlet->wanted_share, ratio(wanted, total),
                      EFI_VERIFY_ROUNDING_SHARE);
    efi_differ_number(list, "the share of the wanted material that leaves here", "", outlet->wanted_recovered,
                      ratio(wanted, received), EFI_VERIFY_ROUNDING_SHARE);
    efi_differ_flag(list, "has a least rate", outlet->has_least_rate, least.given);
    efi_differ_number(list, "the least rate", "t/h", outlet->least_rate_tph, least.value, 0.0);
    efi_verify_outlet_means(verify, outlet, s);
    list->subject = NULL;
}

/* Every outlet that the crop reaches, once, products first. `product_tph` receives the sum of the products.
 */
static ef_status check_outlets(const efi_verify *verify, const double *intake_tph, double *product_tph,
                               double *unit)
{
    const efi_reference *reference = &verify->reference;
    const ef_balance_crop *claim = verify->claim;
    bool *listed = efi_arena_get(verify->arena, (size_t)reference->stations, sizeof *listed);
    if (!listed)
        return EF_MEMORY;
    for (int o = 0; o < claim->outlet_count; o++) {
        const int s = efi_verify_find(verify, claim->outlets[o].name);
        if (s < 0 || !reference->reached[s] || reference->scenario->stations[s].kind != EFI_STATION_OUTLET ||
            listed[s]) {
            efi_differ(verify->list, "\"%s\" is listed as an outlet %s", claim->outlets[o].name,
                       s >= 0 && listed[s] ? "twice" : "but is none that this crop comes to");
            continue;
        }
        listed[s] = true;
        check_outlet(verify, &claim->outlets[o], s, intake_tph, unit);
        if (o > 0 && claim->outlets[o].product && !claim->outlets[o - 1].product)
            efi_differ(verify->list, "the product outlet \"%s\" does not stand before the others",
                       claim->outlets[o].name);
    }
    for (int s = 0; s < reference->stations; s++) {
        const efi_station *station = &reference->scenario->stations[s];
        if (station->kind != EFI_STATION_OUTLET || !reference->reached[s])
            continue;
        if (!listed[s])
            efi_differ(verify->list, "the outlet \"%s\" is missing", station->name);
        for (int m = 0; station->product && m < reference->materials; m++)
            product_tph[m] += efi_verify_feed(verify, s)[m];
    }
    return EF_OK;
}

/* What the products hold that counts as wanted in them. */
static double wanted_in_products(const efi_verify *verify)
{
    const efi_reference *reference = &verify->reference;
    double wanted = 0.0;
    for (int s = 0; s < reference->stations; s++)
        if (reference->reached[s] && reference->scenario->stations[s].product)
            wanted += wanted_of(verify, &reference->scenario->stations[s], efi_verify_feed(verify, s));
    return wanted;
}

static ef_status check_totals(const efi_verify *verify)
{
    const ef_balance_crop *claim = verify->claim;
    const ef_scenario *scenario = verify->reference.scenario;
    const efi_crop *crop = &scenario->crops[verify->reference.crop];
    const size_t materials = (size_t)verify->reference.materials;
    efi_differences *list = verify->list;
    double *intake = efi_arena_get(verify->arena, materials, sizeof *intake);
    double *product = efi_arena_get(verify->arena, materials, sizeof *product);
    double *unit = efi_arena_get(verify->arena, materials, sizeof *unit);
    if (!intake || !product || !unit)
        return EF_MEMORY;
    for (size_t m = 0; m < materials; m++)
        for (int i = 0; i < verify->reference.intake_count; i++)
            intake[m] += crop->receipt[m] * verify->rate_tph[i];
    EF_TRY(check_outlets(verify, intake, product, unit));
    const double intake_total = efi_verify_total(verify, intake);
    const double product_total = efi_verify_total(verify, product);
    const double wanted = wanted_in_products(verify);
    const double shift_h = scenario->plant->shift_h.value;
    efi_verify_stream(verify, "the intake", claim->intake, intake);
    efi_verify_stream(verify, "the product", claim->product, product);
    efi_differ_number(list, "the yield", "", claim->yield, ratio(product_total, intake_total), 0.0);
    const double made = wanted_made(verify, NULL, unit);
    efi_differ_number(list, "the wanted material made", "t/h", claim->wanted_made_tph, made,
                      verify->floor_tph);
    efi_differ_number(list, "the wanted material recovered", "", claim->wanted_recovered,
                      ratio(wanted, wanted_of(verify, NULL, intake) + made), 0.0);
    efi_differ_number(list, "the purity", "", claim->purity, ratio(wanted, product_total), 0.0);
    efi_differ_number(list, "the shift", "h", claim->shift_h, shift_h, 0.0);
    efi_differ_number(list, "the intake of a shift", "t", claim->intake_per_shift_t, intake_total * shift_h,
                      0.0);
    efi_differ_number(list, "the product of a shift", "t", claim->product_per_shift_t,
                      product_total * shift_h, 0.0);
    efi_differ_flag(list, "has a trade weight", claim->has_trade_weight, crop->trade_weight_tpbu.given);
    efi_differ_number(list, "the trade weight", "t/bu", claim->trade_weight_tpbu,
                      crop->trade_weight_tpbu.value, 0.0);
    efi_differ_place(list, "its place", claim->place, efi_tree_place(&scenario->tree, crop->origin.key));
    if (!(claim->primal_error >= 0.0 && claim->primal_error <= MOST_PRIMAL_ERROR))
        efi_differ(list, "the solver's own error is given as %.3g, which is too much", claim->primal_error);
    return EF_OK;
}

/* ---- one crop, all crops --------------------------------------------------------------------------------
 */

static ef_status check_parts(efi_verify *verify)
{
    const size_t stations = (size_t)verify->reference.stations;
    const size_t cells = stations * (size_t)verify->reference.materials;
    verify->claimed_at = efi_arena_get(verify->arena, stations, sizeof *verify->claimed_at);
    verify->station = efi_arena_get(verify->arena, (size_t)verify->claim->station_count,
                                    sizeof *verify->station);
    verify->rate_tph = efi_arena_get(verify->arena, (size_t)verify->reference.intake_count, sizeof(double));
    verify->feed_tph = efi_arena_get(verify->arena, cells, sizeof *verify->feed_tph);
    if (!verify->claimed_at || !verify->station || !verify->rate_tph || !verify->feed_tph)
        return EF_MEMORY;
    if (!match_stations(verify))
        return EF_OK;
    EF_TRY(efi_verify_splits(verify));
    verify->purity_slack = verify->chosen ? EFI_VERIFY_PURITY_SLACK_CHOSEN : EFI_VERIFY_PURITY_SLACK;
    const ef_status status = efi_reference_solve(&verify->reference, verify->arena);
    if (status == EF_INTERNAL) {
        efi_differ(verify->list, "some material goes round for ever, so there is no balance");
        return EF_OK;
    }
    EF_TRY(status);
    compute_feeds(verify);
    EF_TRY(check_totals(verify));
    efi_verify_crop_means(verify);
    EF_TRY(efi_verify_stations(verify));
    EF_TRY(efi_verify_spouts(verify));
    EF_TRY(efi_verify_bins(verify));
    return efi_verify_limits(verify);
}

static ef_status check_crop(const ef_scenario *scenario, int crop, ef_balance_aim aim,
                            const ef_balance_crop *claim, efi_differences *list)
{
    efi_verify verify = {.list = list, .aim = aim, .claim = claim, .arena = efi_arena_new()};
    list->crop = claim->name;
    list->subject = NULL;
    ef_status status = verify.arena ? efi_reference_prepare(&verify.reference, verify.arena, scenario, crop)
                                    : EF_MEMORY;
    if (status == EF_OK)
        status = check_parts(&verify);
    efi_arena_free(verify.arena);
    list->crop = list->subject = NULL;
    return status;
}

static void check_head(const ef_scenario *scenario, const ef_balance *balance, efi_differences *list)
{
    bool feasible = true;
    for (int c = 0; c < balance->crop_count; c++)
        feasible = feasible && balance->crops[c].feasible;
    efi_differ_flag(list, "feasible", balance->feasible, feasible);
    efi_differ_words(list, "the plant", balance->plant, scenario->plant->name);
    efi_differ_words(list, "the file", balance->scenario_file, scenario->tree.sources[0].name);
    efi_differ_words(list, "the currency", balance->currency, scenario->currency);
    if (balance->aim != EF_BALANCE_RATE && balance->aim != EF_BALANCE_VALUE)
        efi_differ(list, "the aim is neither the rate nor the value");
    efi_differ_count(list, "the number of materials", balance->material_count, scenario->material_count);
    for (int m = 0; m < balance->material_count && m < scenario->material_count; m++) {
        efi_differ_words(list, "a material", balance->materials[m], scenario->materials[m].name);
        list->subject = scenario->materials[m].name;
        efi_differ_flag(list, "wanted", balance->wanted[m], scenario->materials[m].wanted);
        list->subject = NULL;
    }
}

static ef_status check_all(const ef_scenario *scenario, const ef_balance *balance, efi_differences *list)
{
    check_head(scenario, balance, list);
    if (balance->material_count != scenario->material_count)
        return EF_OK;
    if (balance->crop_count != 1 && balance->crop_count != scenario->crop_count)
        efi_differ(list, "there are %d crops; it should be one, or all %d", balance->crop_count,
                   scenario->crop_count);
    for (int c = 0; c < balance->crop_count; c++) {
        const char *name = balance->crops[c].name;
        const int crop = efi_index_find(&scenario->crop_index, name, strlen(name));
        if (crop < 0 || (balance->crop_count > 1 && crop != c))
            efi_differ(list, "the crop \"%s\" %s", name,
                       crop < 0 ? "is not in the scenario" : "does not stand where the scenario has it");
        else
            EF_TRY(check_crop(scenario, crop, balance->aim, &balance->crops[c], list));
    }
    return EF_OK;
}

ef_status ef_balance_verify(const ef_scenario *scenario, const ef_balance *balance, char **differences)
{
    efi_locale locale;
    EF_TRY(efi_locale_enter(&locale));
    efi_differences list = {0};
    ef_status status = check_all(scenario, balance, &list);
    status = efi_differences_end(&list, status, differences);
    efi_locale_leave(&locale);
    return status;
}
