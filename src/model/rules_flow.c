/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on where materials end, on discharges that take nothing, and on loops. */
#include "model/rules_turns.h"

/* ---- where materials end ---------------------------------------------------------------------------------
 */

/* Where a material of a crop leaves the line: the first outlet of each sort in the order of the file, or
 * EFI_NOWHERE. */
typedef struct ends {
    int product;
    int other;
} ends;

static ends ends_of(efi_rules *rules, int crop, int material)
{
    const ef_scenario *scenario = rules->scenario;
    ends found = {EFI_NOWHERE, EFI_NOWHERE};
    bool *reached = rules->mark;
    efi_rule_clear(rules, reached);
    if (scenario->has_turns)
        efi_rule_follow_turned(rules, crop, material, reached);
    else
        efi_ways_down(&rules->by_crop[crop], scenario, crop, material, reached, rules->stack);
    for (int s = scenario->station_count - 1; s >= 0; s--) {
        const efi_station *station = &scenario->stations[s];
        if (!reached[s] || station->kind != EFI_STATION_OUTLET)
            continue;
        if (station->product || efi_rule_flag_unread(station->origin, "product"))
            found.product = s;
        else
            found.other = s;
    }
    return found;
}

static void check_wanted(efi_rules *rules, int crop, int material)
{
    const ef_scenario *scenario = rules->scenario;
    const ends found = ends_of(rules, crop, material);
    if (found.product != EFI_NOWHERE)
        return;
    ef_diag draft = efi_rule_receipt(rules, crop, material);
    draft.message = efi_diags_textf(rules->diags,
                                    "%s of %s is wanted, but none of it reaches a product outlet",
                                    scenario->materials[material].name, scenario->crops[crop].name);
    draft.likely = "a share under 100 % where it is taken out, or a spout that leads to a product outlet";
    if (found.other != EFI_NOWHERE)
        efi_rule_second(rules, &draft, scenario->stations[found.other].origin.key, "it ends here");
    efi_diags_add(rules->diags, EFI_DIAG_WANTED_LOST, &draft);
}

void efi_rule_wanted_lost(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int crop = 0; crop < scenario->crop_count; crop++)
        for (int m = 0; m < scenario->material_count; m++)
            if (scenario->materials[m].wanted && efi_crop_passes(scenario, crop, m))
                check_wanted(rules, crop, m);
}

/* A material that stays in the product for some crops: reported once, at the first. */
static void check_unwanted(efi_rules *rules, int material)
{
    const ef_scenario *scenario = rules->scenario;
    int first = -1;
    int others = 0;
    for (int crop = 0; crop < scenario->crop_count; crop++) {
        if (!efi_crop_passes(scenario, crop, material) || efi_rule_is_turned(rules, crop, material) ||
            ends_of(rules, crop, material).other != EFI_NOWHERE)
            continue;
        others += first >= 0;
        first = first < 0 ? crop : first;
    }
    if (first < 0 || efi_rule_only_counted(rules, EFI_DIAG_NEVER_REMOVED))
        return;
    ef_diag draft = efi_rule_receipt(rules, first, material);
    draft.message = efi_diags_textf(
        rules->diags, "no station takes %s of %s%s out; all of it ends in the product",
        scenario->materials[material].name, scenario->crops[first].name, efi_rule_others(rules, others));
    draft.likely = "its share at the machine that takes it out";
    efi_diags_add(rules->diags, EFI_DIAG_NEVER_REMOVED, &draft);
}

void efi_rule_never_removed(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int m = 0; m < scenario->material_count; m++)
        if (!scenario->materials[m].wanted && !efi_rule_flag_unread(scenario->materials[m].origin, "wanted"))
            check_unwanted(rules, m);
}

/* ---- discharges that take nothing ------------------------------------------------------------------------
 */

/* Does a discharge get some of what any crop brings that comes here? */
static bool gets_some(const efi_rules *rules, int s, int d)
{
    const ef_scenario *scenario = rules->scenario;
    const double *share = scenario->stations[s].discharges.items[d].share;
    const size_t materials = (size_t)scenario->material_count;
    for (int crop = 0; share && crop < scenario->crop_count; crop++) {
        for (size_t m = 0; efi_rule_reached(rules, crop, s) && m < materials; m++)
            if (efi_crop_passes(scenario, crop, (int)m) &&
                share[(size_t)crop * materials + m] > EFI_RULE_NO_SHARE)
                return true;
    }
    return !share;
}

void efi_rule_takes_nothing(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_discharges *out = &scenario->stations[s].discharges;
        const bool split = scenario->stations[s].kind == EFI_STATION_SPLIT;
        for (int d = 0; d < out->count; d++) {
            if (out->items[d].rest || gets_some(rules, s, d) ||
                efi_rule_only_counted(rules, EFI_DIAG_TAKES_NOTHING))
                continue;
            ef_diag draft = efi_rule_discharge(rules, s, d, split ? NULL : "takes");
            draft.message = split ? "this branch never gets anything"
                                  : "this takes nothing of what the crops bring";
            draft.likely = split ? "a share above 0 %, or take the branch out"
                                 : "shares of materials that a receipt holds, or take it out";
            efi_diags_add(rules->diags, EFI_DIAG_TAKES_NOTHING, &draft);
        }
    }
}

void efi_rule_rest_takes_nothing(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_discharges *out = &scenario->stations[s].discharges;
        for (int d = 0; out->count > 1 && d < out->count; d++) {
            if (!out->items[d].rest || gets_some(rules, s, d) ||
                efi_rule_only_counted(rules, EFI_DIAG_REST_TAKES_NOTHING))
                continue;
            ef_diag draft = efi_rule_discharge(rules, s, d, "takes");
            draft.message = "the other discharges take all of everything, so nothing is left for the rest";
            draft.likely = "let the others take what they are there for";
            efi_diags_add(rules->diags, EFI_DIAG_REST_TAKES_NOTHING, &draft);
        }
    }
}

/* ---- loops -----------------------------------------------------------------------------------------------
 */

/* The sorts of stations that a loop may consist of. */
typedef bool of_sort(const efi_station *station);

static bool is_conveying(const efi_station *station)
{
    const efi_class class = efi_station_class((efi_station_kind)station->kind);
    return class == EFI_CLASS_CONVEYOR || class == EFI_CLASS_SPLIT;
}

static bool is_no_bin(const efi_station *station)
{
    return station->kind != EFI_STATION_BIN;
}

/* Finds the rings of a crop that consist of one sort of stations; false without memory. */
static bool find_rings(efi_rules *rules, int crop, of_sort *sort, int *ring)
{
    const ef_scenario *scenario = rules->scenario;
    const efi_ways *ways = &rules->by_crop[crop];
    for (int w = 0; w < ways->count; w++)
        rules->way_mark[w] = rules->carries[crop][w] && sort(&scenario->stations[ways->way[w].from]) &&
                             sort(&scenario->stations[ways->way[w].to]);
    const bool found = efi_ways_rings(ways, scenario->station_count, rules->way_mark, ring) == EF_OK;
    rules->binder->failed = rules->binder->failed || !found;
    return found;
}

/* Marks the stations of rings that a station outside their ring leads to. */
static void mark_entrances(const efi_rules *rules, int crop, const int *ring, bool *entrance)
{
    const efi_ways *ways = &rules->by_crop[crop];
    efi_rule_clear(rules, entrance);
    for (int w = 0; w < ways->count; w++)
        if (ring[ways->way[w].from] != ring[ways->way[w].to])
            entrance[ways->way[w].to] = true;
}

static void report_conveyors(efi_rules *rules, int crop, const efi_way *way)
{
    const ef_scenario *scenario = rules->scenario;
    if (efi_rule_only_counted(rules, EFI_DIAG_LOOP_OF_CONVEYORS))
        return;
    ef_diag draft = efi_rule_discharge(rules, way->from, way->discharge, "to");
    draft.message = efi_diags_textf(rules->diags, "%s goes round here over conveyors alone",
                                    scenario->crops[crop].name);
    draft.likely = "a spout that leads on, or back to a machine";
    efi_rule_second(rules, &draft, scenario->stations[way->to].origin.key, "the loop begins again here");
    efi_diags_add(rules->diags, EFI_DIAG_LOOP_OF_CONVEYORS, &draft);
}

static void report_unsteady(efi_rules *rules, int crop, const efi_way *way, const efi_station *steady)
{
    const ef_scenario *scenario = rules->scenario;
    if (efi_rule_only_counted(rules, EFI_DIAG_LOOP_WITHOUT_BIN))
        return;
    ef_diag draft = efi_rule_discharge(rules, way->from, way->discharge, "to");
    draft.message = efi_diags_textf(
        rules->diags, "this return of %s passes no bin before \"%s\", whose feed must be steady",
        scenario->crops[crop].name, steady->name);
    draft.likely = efi_diags_textf(rules->diags, "lead it to the bin above \"%s\"", steady->name);
    efi_rule_second(rules, &draft, steady->origin.key, "the steady-feed station");
    efi_diags_add(rules->diags, EFI_DIAG_LOOP_WITHOUT_BIN, &draft);
}

/* For each ring, at its first station: the first steady-feed station in it, -1 when there is none. */
static void find_steady(const efi_rules *rules, const int *ring, int *steady)
{
    const ef_scenario *scenario = rules->scenario;
    for (int s = 0; s < scenario->station_count; s++)
        steady[s] = -1;
    for (int s = scenario->station_count - 1; s >= 0; s--)
        if (ring[s] >= 0 && scenario->stations[s].steady_band.given)
            steady[ring[s]] = s;
}

/* Reports each ring once, by the first spout that leads back to where it is entered. With `steady`, shape
 * [station], only rings with a steady-feed station. */
static void check_rings(efi_rules *rules, int crop, const int *ring, const int *steady, bool *told)
{
    const efi_ways *ways = &rules->by_crop[crop];
    const bool *entrance = rules->mark_too;
    mark_entrances(rules, crop, ring, rules->mark_too);
    for (int w = 0; w < ways->count; w++) {
        const efi_way *way = &ways->way[w];
        const int at = ring[way->to];
        if (!rules->way_mark[w] || at < 0 || ring[way->from] != at || told[at] ||
            !efi_rule_reached(rules, crop, at) || !entrance[way->to] || (steady && steady[at] < 0))
            continue;
        told[at] = true;
        if (steady)
            report_unsteady(rules, crop, way, &rules->scenario->stations[steady[at]]);
        else
            report_conveyors(rules, crop, way);
    }
}

void efi_rule_loop_of_conveyors(efi_rules *rules)
{
    bool *told = rules->mark;
    efi_rule_clear(rules, told);
    for (int crop = 0; crop < rules->scenario->crop_count; crop++)
        if (!rules->repeats[crop] && find_rings(rules, crop, is_conveying, rules->number))
            check_rings(rules, crop, rules->number, NULL, told);
}

void efi_rule_loop_without_bin(efi_rules *rules)
{
    bool *told = rules->mark;
    efi_rule_clear(rules, told);
    for (int crop = 0; crop < rules->scenario->crop_count; crop++) {
        if (rules->repeats[crop] || !find_rings(rules, crop, is_no_bin, rules->number))
            continue;
        find_steady(rules, rules->number, rules->number_too);
        check_rings(rules, crop, rules->number, rules->number_too, told);
    }
}
