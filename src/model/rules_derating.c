/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on the derating of machines by moisture and trash. */
#include "model/rules.h"

static bool slope_given(efi_value per_point)
{
    return per_point.given || per_point.bad;
}

void efi_rule_derating_empty(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_derating *derating = rules->scenario->stations[s].derating;
        if (!derating || slope_given(derating->per_moisture) || slope_given(derating->per_trash) ||
            efi_rule_only_counted(rules, EFI_DIAG_DERATING_EMPTY))
            continue;
        ef_diag draft = efi_rule_station(rules, s, "derating");
        draft.message = "nothing says how much capacity is lost, so none is";
        draft.allowed = "\"per point of moisture\", \"per point of trash\", or both";
        draft.likely = "per point of moisture: 3 %";
        efi_diags_add(rules->diags, EFI_DIAG_DERATING_EMPTY, &draft);
    }
}

/* The first station that a crop passes whose capacity goes by moisture; -1 when there is none. */
static int wet_station(const efi_rules *rules, int crop)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_derating *derating = rules->scenario->stations[s].derating;
        if (derating && derating->per_moisture.given && efi_rule_reached(rules, crop, s))
            return s;
    }
    return -1;
}

void efi_rule_moisture_missing(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int crop = 0; crop < scenario->crop_count; crop++) {
        const efi_crop *of = &scenario->crops[crop];
        const int s = of->moisture.given || of->moisture.bad ? -1 : wet_station(rules, crop);
        if (s < 0 || efi_rule_only_counted(rules, EFI_DIAG_MOISTURE_MISSING))
            continue;
        ef_diag draft = efi_rule_draft(rules, "crops", of->name, of->origin, NULL);
        draft.message = efi_diags_textf(
            rules->diags, "the capacity of \"%s\" goes by moisture, but %s has none, so nothing is lost",
            scenario->stations[s].name, of->name);
        draft.likely = "moisture: 14 %";
        efi_rule_second(rules, &draft, efi_node_find_key(scenario->stations[s].origin.value, "derating"),
                        "the derating");
        efi_diags_add(rules->diags, EFI_DIAG_MOISTURE_MISSING, &draft);
    }
}

/* Share of the capacity lost: `per_point` for each percentage point of `value` above `above`. */
static double lost(double value, efi_value above, efi_value per_point)
{
    const double over = value - (above.given ? above.value : 0.0);
    return per_point.given && over > 0.0 ? over * 100.0 * per_point.value : 0.0;
}

static double trash_of(const ef_scenario *scenario, int crop)
{
    double trash = 0.0;
    for (int m = 0; scenario->crops[crop].receipt && m < scenario->material_count; m++)
        trash += scenario->materials[m].wanted ? 0.0 : scenario->crops[crop].receipt[m];
    return trash;
}

/* Returns whether a crop is so wet or trashy that the floor holds. */
static bool check_floor(efi_rules *rules, int s, int crop)
{
    const ef_scenario *scenario = rules->scenario;
    const efi_derating *derating = scenario->stations[s].derating;
    const efi_value moisture = scenario->crops[crop].moisture;
    const double left = 1.0 -
                        lost(moisture.given ? moisture.value : 0.0, derating->moisture_above,
                             derating->per_moisture) -
                        lost(trash_of(scenario, crop), derating->trash_above, derating->per_trash);
    if (left >= EFI_LEAST_DERATING || !efi_rule_reached(rules, crop, s))
        return false;
    if (efi_rule_only_counted(rules, EFI_DIAG_DERATING_FLOOR))
        return true;
    ef_diag draft = efi_rule_station(rules, s, "derating");
    draft.message = efi_diags_textf(
        rules->diags, "%s is so wet or trashy that only %s %% of the capacity would be left; a tenth is kept",
        scenario->crops[crop].name, efi_rule_number(rules, left > 0.0 ? left * 100.0 : 0.0));
    draft.likely = "a capacity for this crop instead, or smaller losses for each point";
    efi_rule_second(rules, &draft, scenario->crops[crop].origin.key, "the crop");
    efi_diags_add(rules->diags, EFI_DIAG_DERATING_FLOOR, &draft);
    return true;
}

void efi_rule_derating_floor(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++)
        for (int crop = 0; rules->scenario->stations[s].derating && crop < rules->scenario->crop_count;
             crop++)
            if (check_floor(rules, s, crop))
                break;
}
