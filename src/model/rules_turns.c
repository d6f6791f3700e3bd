/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on machines that turn one material into others, and what the checks of flows ask about them. */
#include "model/rules_turns.h"
#include "model/turns.h"

#include <string.h>

static void clear_pairs(const efi_rules *rules, bool *pairs)
{
    const ef_scenario *scenario = rules->scenario;
    memset(pairs, 0, (size_t)scenario->station_count * (size_t)scenario->material_count * sizeof *pairs);
}

static size_t pair_of(const efi_rules *rules, int station, int material)
{
    return (size_t)station * (size_t)rules->scenario->material_count + (size_t)material;
}

/* Marks in rules->pairs where a material of a crop is received and where it goes from where it is made, and
 * follows it from there. */
static void follow(efi_rules *rules, int crop, int material)
{
    const ef_scenario *scenario = rules->scenario;
    const efi_ways *ways = &rules->by_crop[crop];
    bool *comes = rules->pairs_too;
    clear_pairs(rules, rules->pairs);
    clear_pairs(rules, comes);
    efi_turns_receive(scenario, crop, -1, comes);
    efi_turns_down(ways, scenario, crop, comes, rules->pair_stack);
    efi_turns_receive(scenario, crop, material, rules->pairs);
    for (int w = 0; w < ways->count; w++) {
        const efi_way *way = &ways->way[w];
        const efi_station *from = &scenario->stations[way->from];
        for (int m = 0; from->turns && m < scenario->material_count; m++)
            if (m != material && comes[pair_of(rules, way->from, m)] &&
                efi_station_turned(scenario, from, crop, m, material) > 0.0 &&
                efi_ways_carries(scenario, way, crop, material))
                rules->pairs[pair_of(rules, way->to, material)] = true;
    }
    efi_turns_down(ways, scenario, crop, rules->pairs, rules->pair_stack);
}

void efi_rule_follow_turned(efi_rules *rules, int crop, int material, bool *reached)
{
    const ef_scenario *scenario = rules->scenario;
    follow(rules, crop, material);
    for (int s = 0; s < scenario->station_count; s++)
        for (int m = 0; m < scenario->material_count; m++)
            if (m == material || scenario->materials[m].wanted)
                reached[s] = reached[s] || rules->pairs[pair_of(rules, s, m)];
}

bool efi_rule_is_turned(efi_rules *rules, int crop, int material)
{
    const ef_scenario *scenario = rules->scenario;
    if (!scenario->has_turns)
        return false;
    follow(rules, crop, material);
    for (int s = 0; s < scenario->station_count; s++)
        if (rules->pairs[pair_of(rules, s, material)] &&
            efi_station_turned(scenario, &scenario->stations[s], crop, material, material) < 1.0)
            return true;
    return false;
}

/* ---- loops -----------------------------------------------------------------------------------------------
 */

/* A way on of a material that comes to a station, by which some of it leaves as `*into`; NULL when there is
 * none. */
static const efi_way *way_on(const efi_rules *rules, int crop, int station, int material, int *into)
{
    const ef_scenario *scenario = rules->scenario;
    const efi_ways *ways = &rules->by_crop[crop];
    for (int w = ways->first_out[station]; w < ways->first_out[station + 1]; w++)
        for (int k = 0; k < scenario->material_count; k++)
            if (efi_station_turned(scenario, &scenario->stations[station], crop, material, k) > 0.0 &&
                efi_ways_carries(scenario, &ways->way[w], crop, k)) {
                *into = k;
                return &ways->way[w];
            }
    return NULL;
}

/* Walks on from a material at a station, from where no outlet is reached, to what closes the ring. */
static void report_ring(efi_rules *rules, int crop, int station, int material)
{
    bool *walked = rules->pairs;
    clear_pairs(rules, walked);
    for (;;) {
        walked[pair_of(rules, station, material)] = true;
        const efi_way *way = way_on(rules, crop, station, material, &material);
        if (!way)
            return;
        station = way->to;
        if (walked[pair_of(rules, station, material)]) {
            efi_rule_report_loop(rules, crop, material, way);
            return;
        }
    }
}

bool efi_rule_turned_loop(efi_rules *rules, int crop, int material)
{
    const ef_scenario *scenario = rules->scenario;
    const efi_ways *ways = &rules->by_crop[crop];
    clear_pairs(rules, rules->pairs);
    clear_pairs(rules, rules->pairs_too);
    efi_turns_receive(scenario, crop, material, rules->pairs);
    efi_turns_down(ways, scenario, crop, rules->pairs, rules->pair_stack);
    efi_turns_up(ways, scenario, crop, rules->pairs_too, rules->pair_stack);
    for (int s = 0; s < scenario->station_count; s++) {
        for (int m = 0; m < scenario->material_count; m++) {
            if (!rules->pairs[pair_of(rules, s, m)] || rules->pairs_too[pair_of(rules, s, m)])
                continue;
            report_ring(rules, crop, s, m);
            return true;
        }
    }
    return false;
}

/* ---- turned, but never there ------------------------------------------------------------------------------
 */

/* Does any crop that comes to the station bring the material, or is it made of what one brings? */
static bool brought(const efi_rules *rules, int station, int material)
{
    const ef_scenario *scenario = rules->scenario;
    for (int crop = 0; crop < scenario->crop_count; crop++)
        if (efi_rule_reached(rules, crop, station) &&
            (!scenario->crops[crop].receipt || efi_crop_passes(scenario, crop, material)))
            return true;
    return false;
}

static void check_turned(efi_rules *rules, int s)
{
    const ef_scenario *scenario = rules->scenario;
    const efi_node *map = efi_node_find(scenario->stations[s].origin.value, "turns");
    for (int m = 0; map && m < scenario->material_count; m++) {
        const efi_node *key = efi_node_find_key(map, scenario->materials[m].name);
        if (!key || brought(rules, s, m) || efi_rule_only_counted(rules, EFI_DIAG_TURNS_NOTHING))
            continue;
        ef_diag draft = efi_rule_station(rules, s, "turns");
        if (!efi_tree_point(&scenario->tree, key, &draft))
            rules->binder->failed = true;
        draft.message = efi_diags_textf(rules->diags, "no crop that comes here brings %s to be turned",
                                        scenario->materials[m].name);
        draft.likely = "a material that a receipt holds or another machine makes, or take it out";
        efi_diags_add(rules->diags, EFI_DIAG_TURNS_NOTHING, &draft);
    }
}

void efi_rule_turns_nothing(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++)
        if (rules->scenario->stations[s].turns)
            check_turned(rules, s);
}
