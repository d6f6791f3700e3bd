/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks along the spouts: who feeds whom, and what that needs. */
#include "base/text.h"
#include "model/rules.h"

#include <string.h>

void efi_rule_intake_fed(efi_rules *rules)
{
    for (int w = 0; w < rules->all.count; w++) {
        const efi_way *way = &rules->all.way[w];
        const efi_station *to = &rules->scenario->stations[way->to];
        if (to->kind != EFI_STATION_INTAKE)
            continue;
        ef_diag draft = efi_rule_discharge(rules, way->from, way->discharge, "to");
        draft.message = efi_diags_textf(rules->diags, "\"%s\" is an intake; nothing inside the line feeds it",
                                        to->name);
        draft.likely = "lead the spout to the station after the intake";
        efi_rule_second(rules, &draft, to->origin.key, "the intake");
        efi_diags_add(rules->diags, EFI_DIAG_INTAKE_FED, &draft);
    }
}

void efi_rule_feeds_itself(efi_rules *rules)
{
    for (int w = 0; w < rules->all.count; w++) {
        const efi_way *way = &rules->all.way[w];
        if (way->from != way->to)
            continue;
        ef_diag draft = efi_rule_discharge(rules, way->from, way->discharge, "to");
        draft.message = "a station cannot discharge straight into itself";
        draft.likely = "lead the return to the bin or conveyor above";
        efi_diags_add(rules->diags, EFI_DIAG_FEEDS_ITSELF, &draft);
    }
}

/* A station whose block holds neither `to` nor discharges. */
static void check_no_way(efi_rules *rules, int s)
{
    const efi_station *station = &rules->scenario->stations[s];
    if (station->kind == EFI_STATION_OUTLET || station->kind == EFI_STATION_UNKNOWN)
        return;
    if (efi_rule_has(station->origin, "to") || efi_rule_has(station->origin, "discharges"))
        return;
    ef_diag draft = efi_rule_station(rules, s, NULL);
    draft.message = "the material has no way on from here";
    draft.allowed = station->kind == EFI_STATION_BIN
                        ? "to: the next station"
                        : "to: the next station; or discharges, each with a way of its own";
    efi_diags_add(rules->diags, EFI_DIAG_WAY_MISSING, &draft);
}

/* A crop that comes to a station but is given no way on. */
static void check_crop_way(efi_rules *rules, int crop, int s)
{
    const efi_station *station = &rules->scenario->stations[s];
    for (int d = 0; d < station->discharges.count; d++) {
        const efi_discharge *out = &station->discharges.items[d];
        if (!out->to || out->to[crop] >= 0)
            continue;
        ef_diag draft = efi_rule_discharge(rules, s, d, "to");
        draft.message = efi_diags_textf(rules->diags, "%s comes here but is given no way on",
                                        rules->scenario->crops[crop].name);
        draft.likely = efi_diags_textf(rules->diags, "a line for %s, or for \"%s\"",
                                       rules->scenario->crops[crop].name, EFI_WORD_OTHER_CROPS);
        efi_diags_add(rules->diags, EFI_DIAG_WAY_MISSING, &draft);
    }
}

void efi_rule_way_missing(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        check_no_way(rules, s);
        for (int crop = 0; crop < rules->scenario->crop_count; crop++)
            if (efi_rule_reached(rules, crop, s))
                check_crop_way(rules, crop, s);
    }
}

static bool reached_by_any(const efi_rules *rules, int s)
{
    for (int crop = 0; crop < rules->scenario->crop_count; crop++)
        if (efi_rule_reached(rules, crop, s))
            return true;
    return rules->scenario->crop_count == 0;
}

void efi_rule_unreached(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        if (reached_by_any(rules, s))
            continue;
        ef_diag draft = efi_rule_station(rules, s, NULL);
        draft.message = efi_diags_textf(rules->diags, "nothing leads to \"%s\"",
                                        rules->scenario->stations[s].name);
        draft.likely = "lead a spout here, or take the station out";
        efi_diags_add(rules->diags, EFI_DIAG_UNREACHED, &draft);
    }
}

void efi_rule_dead_end(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    const size_t bytes = (size_t)scenario->station_count * sizeof *rules->mark;
    for (int crop = 0; crop < scenario->crop_count; crop++) {
        memset(rules->mark, 0, bytes);
        efi_ways_up(&rules->by_crop[crop], scenario, crop, -1, rules->mark, rules->stack);
        for (int s = 0; s < scenario->station_count; s++) {
            if (!efi_rule_reached(rules, crop, s) || rules->mark[s])
                continue;
            ef_diag draft = efi_rule_station(rules, s, NULL);
            draft.message = efi_diags_textf(rules->diags, "from here %s can reach no outlet",
                                            scenario->crops[crop].name);
            draft.likely = "lead a spout on to an outlet";
            efi_diags_add(rules->diags, EFI_DIAG_DEAD_END, &draft);
        }
    }
}

/* Reports the first station where a material of a crop goes round for ever. */
static bool check_loop(efi_rules *rules, int crop, int material)
{
    const ef_scenario *scenario = rules->scenario;
    const size_t bytes = (size_t)scenario->station_count * sizeof *rules->mark;
    const efi_ways *ways = &rules->by_crop[crop];
    memset(rules->mark, 0, bytes);
    memset(rules->mark_too, 0, bytes);
    efi_ways_down(ways, scenario, crop, material, rules->mark, rules->stack);
    efi_ways_up(ways, scenario, crop, material, rules->mark_too, rules->stack);
    for (int s = 0; s < scenario->station_count; s++) {
        if (!rules->mark[s] || rules->mark_too[s])
            continue;
        ef_diag draft = efi_rule_station(rules, s, NULL);
        draft.message = efi_diags_textf(rules->diags, "%s of %s that comes here goes round for ever",
                                        scenario->materials[material].name, scenario->crops[crop].name);
        draft.allowed = "every material of every crop reaches an outlet in the end";
        draft.likely = "let a discharge on its way take less than 100 % back";
        efi_diags_add(rules->diags, EFI_DIAG_LOOP_CLOSED, &draft);
        return true;
    }
    return false;
}

void efi_rule_loop_closed(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int crop = 0; crop < scenario->crop_count; crop++)
        for (int material = 0; scenario->crops[crop].receipt && material < scenario->material_count;
             material++)
            if (scenario->crops[crop].receipt[material] > 0.0 && check_loop(rules, crop, material))
                break;
}

void efi_rule_product_unreached(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int crop = 0; crop < scenario->crop_count; crop++) {
        bool arrives = false;
        for (int s = 0; s < scenario->station_count && !arrives; s++)
            arrives = scenario->stations[s].kind == EFI_STATION_OUTLET && scenario->stations[s].product &&
                      efi_rule_reached(rules, crop, s);
        if (arrives)
            continue;
        const efi_crop *of = &scenario->crops[crop];
        ef_diag draft = efi_rule_draft(rules, "crops", of->name, of->origin, NULL);
        draft.message = efi_diags_textf(rules->diags, "%s reaches no outlet marked \"product: yes\"",
                                        of->name);
        draft.likely = "look at the ways on that depend on the crop";
        efi_diags_add(rules->diags, EFI_DIAG_PRODUCT_UNREACHED, &draft);
    }
}

void efi_rule_capacity_missing(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_station *station = &scenario->stations[s];
        const efi_class class = efi_station_class((efi_station_kind)station->kind);
        if (class == EFI_CLASS_BIN || class == EFI_CLASS_OUTLET || station->kind == EFI_STATION_UNKNOWN)
            continue;
        const bool absent = !efi_rule_has(station->origin, "capacity");
        for (int crop = 0; crop < scenario->crop_count; crop++) {
            const efi_node *given = efi_node_find(station->origin.value, "capacity");
            const bool for_crop = !absent && (given->kind != EFI_NODE_MAP ||
                                              efi_node_find(given, EFI_WORD_OTHER_CROPS) ||
                                              efi_node_find(given, scenario->crops[crop].name));
            if (!efi_rule_reached(rules, crop, s) || for_crop)
                continue;
            ef_diag draft = efi_rule_station(rules, s, "capacity");
            draft.message = efi_diags_textf(rules->diags, "%s passes here, but no capacity is given for it",
                                            scenario->crops[crop].name);
            draft.allowed = "a rate such as 12 t/h or 40 m3/h, the same for all crops or one for each";
            draft.likely = absent ? "capacity: 12 t/h"
                                  : efi_diags_textf(rules->diags, "%s: 12 t/h", scenario->crops[crop].name);
            efi_diags_add(rules->diags, EFI_DIAG_CAPACITY_MISSING, &draft);
            if (absent)
                break;
        }
    }
}

void efi_rule_density_missing(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_station *station = &scenario->stations[s];
        for (int crop = 0; station->capacity && crop < scenario->crop_count; crop++) {
            const efi_crop *of = &scenario->crops[crop];
            const efi_value capacity = station->capacity[crop];
            if (!efi_rule_reached(rules, crop, s) || !capacity.given || capacity.of != EFI_KIND_VOLUME_RATE ||
                of->density_tpm3.given || efi_rule_has(of->origin, "density") ||
                efi_rule_has(of->origin, "test weight"))
                continue;
            ef_diag draft = efi_rule_station(rules, s, "capacity");
            draft.message = efi_diags_textf(rules->diags, "the capacity is by volume, but %s has no density",
                                            of->name);
            draft.likely = efi_diags_textf(rules->diags, "density: 0.75 t/m3 (measured, under crops.%s)",
                                           of->name);
            efi_rule_second(rules, &draft, of->origin.key, "the crop is described here");
            efi_diags_add(rules->diags, EFI_DIAG_DENSITY_MISSING, &draft);
        }
    }
}

void efi_rule_steady_without_bin(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int s = 0; s < scenario->station_count; s++) {
        if (!scenario->stations[s].steady_band.given || !reached_by_any(rules, s))
            continue;
        int bin;
        if (efi_ways_bins_above(&rules->all, scenario, s, &bin, 1, rules->mark, rules->stack) > 0)
            continue;
        ef_diag draft = efi_rule_station(rules, s, NULL);
        draft.message = "a steady feed is asked for, but no bin stands above to even it out";
        draft.likely = "a station of kind \"bin\" that leads here";
        efi_diags_add(rules->diags, EFI_DIAG_STEADY_WITHOUT_BIN, &draft);
    }
}
