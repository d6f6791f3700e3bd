/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on conveyors whose capacity follows from their size. */
#include "model/rules.h"

/* Steeper than this no share of the level capacity is known: the table of a trade guide ends here (see
 * model/conveying.h). */
#define MOST_INCLINE_DEG 30.0

static const char *const sizes[] = {"buckets", "screw", "belt", "batch"};

void efi_rule_capacity_twice(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_origin origin = rules->scenario->stations[s].origin;
        for (size_t i = 0; i < EF_COUNT(sizes); i++) {
            const efi_node *size = efi_node_find_key(origin.value, sizes[i]);
            if (!size || !efi_rule_has(origin, "capacity"))
                continue;
            ef_diag draft = efi_rule_station(rules, s, "capacity");
            draft.message = efi_diags_textf(rules->diags,
                                            "the capacity is given, and follows from \"%s\" too", sizes[i]);
            draft.likely = efi_diags_textf(rules->diags, "keep the capacity if it was measured, else \"%s\"",
                                           sizes[i]);
            efi_rule_second(rules, &draft, size, "the other way to say it");
            efi_diags_add(rules->diags, EFI_DIAG_CAPACITY_TWICE, &draft);
        }
    }
}

void efi_rule_screw_steep(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_screw *screw = rules->scenario->stations[s].screw;
        if (!screw || !screw->incline_deg.given || screw->incline_deg.value <= MOST_INCLINE_DEG)
            continue;
        ef_diag draft = efi_rule_within(rules, s, "screw", "incline");
        draft.message = efi_diags_textf(
            rules->diags, "what a screw at %s degrees moves does not follow from its size by any known rule",
            efi_rule_number(rules, screw->incline_deg.value));
        draft.allowed = "up to 30 deg";
        draft.likely = "a measured \"capacity\" instead of \"screw\"";
        efi_diags_add(rules->diags, EFI_DIAG_SCREW_STEEP, &draft);
    }
}

void efi_rule_screw_shaft(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_screw *screw = rules->scenario->stations[s].screw;
        if (!screw || !screw->shaft_m.given || !screw->diameter_m.given ||
            screw->shaft_m.value < screw->diameter_m.value)
            continue;
        ef_diag draft = efi_rule_within(rules, s, "screw", "shaft");
        draft.message = efi_diags_textf(rules->diags, "a shaft of %s mm leaves no room in a screw of %s mm",
                                        efi_rule_number(rules, screw->shaft_m.value * 1000.0),
                                        efi_rule_number(rules, screw->diameter_m.value * 1000.0));
        draft.allowed = "less than the diameter of the screw";
        draft.likely = "look at the units";
        const efi_node *block = efi_node_find(rules->scenario->stations[s].origin.value, "screw");
        efi_rule_second(rules, &draft, efi_node_find_key(block, "diameter"), "the diameter");
        efi_diags_add(rules->diags, EFI_DIAG_SCREW_SHAFT, &draft);
    }
}

static void check_fill(efi_rules *rules, int s, const char *block, efi_value fill)
{
    if (!fill.given || fill.value > 0.0)
        return;
    ef_diag draft = efi_rule_within(rules, s, block, "fill");
    draft.message = "filled to 0 %, it moves nothing";
    draft.allowed = "more than 0 %";
    draft.likely = "45 % for a screw, 80 % for buckets, or no \"fill\"";
    efi_diags_add(rules->diags, EFI_DIAG_CONVEYING_NOTHING, &draft);
}

void efi_rule_conveying_nothing(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_station *station = &rules->scenario->stations[s];
        if (station->buckets)
            check_fill(rules, s, "buckets", station->buckets->fill);
        if (station->screw)
            check_fill(rules, s, "screw", station->screw->fill);
    }
}
