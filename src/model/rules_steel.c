/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on the dimensions of bins in steel. */
#include "model/bin_steel.h"
#include "model/rules.h"

#include <math.h>

/* A finding about a key of a standard bin (s < 0, number `bin`), or of a station's steel. */
static ef_diag draft_at(efi_rules *rules, int s, int bin, const char *key)
{
    if (s >= 0)
        return efi_rule_within(rules, s, "steel", key);
    const efi_steel *standard = &rules->scenario->standard_bins[bin];
    return efi_rule_draft(rules, "standard bins", standard->name, standard->origin, key);
}

/* The keys of a standard bin or of a station's steel. */
static const efi_node *keys_of(const efi_rules *rules, int s, int bin)
{
    return s >= 0 ? efi_node_find(rules->scenario->stations[s].origin.value, "steel")
                  : rules->scenario->standard_bins[bin].origin.value;
}

typedef void check_steel(efi_rules *rules, const efi_steel *steel, int s, int bin);

/* Calls a check for every bin in steel, those of stations and the standard ones. */
static void for_each(efi_rules *rules, check_steel *check)
{
    const ef_scenario *scenario = rules->scenario;
    for (int s = 0; s < scenario->station_count; s++)
        if (scenario->stations[s].kind == EFI_STATION_BIN && scenario->stations[s].steel)
            check(rules, scenario->stations[s].steel, s, -1);
    for (int bin = 0; bin < scenario->standard_bin_count; bin++)
        check(rules, &scenario->standard_bins[bin], -1, bin);
}

/* ---- keys that do not go together -----------------------------------------------------------------------
 */

static void unfit(efi_rules *rules, int s, int bin, const char *key, const char *why, const char *likely)
{
    if (!efi_node_find(keys_of(rules, s, bin), key))
        return;
    ef_diag draft = draft_at(rules, s, bin, key);
    draft.message = efi_diags_textf(rules->diags, "\"%s\" does not go with %s", key, why);
    draft.likely = likely;
    efi_diags_add(rules->diags, EFI_DIAG_STEEL_UNFIT, &draft);
}

static void check_unfit(efi_rules *rules, const efi_steel *steel, int s, int bin)
{
    const bool is_round = steel->shape == EFI_SHAPE_ROUND;
    if (is_round) {
        unfit(rules, s, bin, "width", "a round bin", "diameter");
        unfit(rules, s, bin, "length", "a round bin", NULL);
        unfit(rules, s, bin, "outlet length", "a round bin, whose outlet is round", NULL);
        unfit(rules, s, bin, "inlet offset across", "a round bin", "inlet offset");
        if (steel->hopper == EFI_HOPPER_PYRAMID || steel->hopper == EFI_HOPPER_WEDGE)
            unfit(rules, s, bin, "hopper", "a round bin, unless it is a cone or flat", "cone");
    } else {
        unfit(rules, s, bin, "diameter", "a rectangular bin", "width");
        if (steel->hopper == EFI_HOPPER_CONE)
            unfit(rules, s, bin, "hopper", "a rectangular bin, if it is a cone", "pyramid");
    }
    if (steel->hopper == EFI_HOPPER_WEDGE)
        unfit(rules, s, bin, "outlet length", "a wedge, whose slot is as long as the bin", NULL);
    if (steel->hopper == EFI_HOPPER_FLAT) {
        unfit(rules, s, bin, "hopper angle", "a flat floor", NULL);
        if (steel->gate == EFI_GATE_SIDE)
            unfit(rules, s, bin, "gate",
                  "a flat floor, if it is a side gate: what stays behind it is not known", "bottom");
    }
}

void efi_rule_steel_unfit(efi_rules *rules)
{
    for_each(rules, check_unfit);
}

/* ---- dimensions that are missing ------------------------------------------------------------------------
 */

/* The first dimension that is missing; NULL when all are there or unreadable. */
static const char *missing(const efi_steel *steel)
{
    const bool is_round = steel->shape == EFI_SHAPE_ROUND;
    const efi_value plan = is_round ? steel->diameter_m : steel->width_m;
    const efi_value *const wanted[] = {&plan, &steel->wall_m, &steel->outlet_m, &steel->hopper_deg};
    const char *const keys[] = {is_round ? "diameter" : "width", "wall height", "outlet", "hopper angle"};
    const size_t count = EF_COUNT(keys) - (steel->hopper == EFI_HOPPER_FLAT ? 1 : 0);
    for (size_t i = 0; i < count; i++)
        if (!wanted[i]->given && !wanted[i]->bad)
            return keys[i];
    return NULL;
}

static const char *example(const char *key)
{
    switch (key[0]) {
    case 'h':
        return "hopper angle: 55 deg";
    case 'o':
        return "outlet: 250 mm";
    case 'd':
        return "diameter: 2 m";
    default:
        return key[1] == 'i' ? "width: 1.5 m" : "wall height: 2.4 m";
    }
}

void efi_rule_standard_bin_incomplete(efi_rules *rules)
{
    for (int bin = 0; bin < rules->scenario->standard_bin_count; bin++) {
        const char *key = missing(&rules->scenario->standard_bins[bin]);
        if (!key)
            continue;
        ef_diag draft = draft_at(rules, -1, bin, NULL);
        draft.message = efi_diags_textf(rules->diags,
                                        "a standard bin is all dimensions, but its \"%s\" is missing", key);
        draft.likely = example(key);
        efi_diags_add(rules->diags, EFI_DIAG_STANDARD_BIN_INCOMPLETE, &draft);
    }
}

void efi_rule_steel_incomplete(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_station *bin = &rules->scenario->stations[s];
        if (bin->kind != EFI_STATION_BIN || !bin->steel || !bin->steel->wall_m.given ||
            efi_rule_has(bin->origin, "live volume"))
            continue;
        const char *key = missing(bin->steel);
        if (!key || efi_rule_only_counted(rules, EFI_DIAG_STEEL_INCOMPLETE))
            continue;
        ef_diag draft = draft_at(rules, s, -1, NULL);
        draft.message = efi_diags_textf(
            rules->diags, "the live volume does not follow from these dimensions: \"%s\" is missing", key);
        draft.likely = efi_diags_textf(rules->diags, "%s; or a measured \"live volume\"", example(key));
        efi_diags_add(rules->diags, EFI_DIAG_STEEL_INCOMPLETE, &draft);
    }
}

/* ---- dimensions that cannot be --------------------------------------------------------------------------
 */

static void check_size(efi_rules *rules, const efi_steel *steel, int s, int bin)
{
    const efi_value sizes[] = {steel->diameter_m, steel->width_m, steel->length_m, steel->wall_m};
    static const char *const keys[] = {"diameter", "width", "length", "wall height"};
    const char *odd = NULL;
    for (size_t i = 0; i < EF_COUNT(keys); i++) {
        const double least_m = i + 1 < EF_COUNT(keys) ? EFI_BIN_LEAST_M : 0.0;
        if (sizes[i].given && !(sizes[i].value >= least_m && sizes[i].value <= EFI_BIN_MOST_M))
            odd = keys[i];
    }
    if (!odd && efi_steel_is_complete(steel) && efi_steel_look(steel) == EFI_STEEL_NO_SIZE)
        odd = "hopper angle";
    if (!odd)
        return;
    ef_diag draft = draft_at(rules, s, bin, odd);
    draft.message = odd[0] == 'h' ? efi_diags_textf(rules->diags, "so steep a hopper would be %s m high",
                                                    efi_rule_number(rules, efi_steel_shape(steel).hopper_m))
                                  : "no bin is of such a size";
    draft.allowed = "from 20 mm to 100 m";
    draft.likely = odd[0] == 'h' ? "hopper angle: 60 deg" : "look at the unit";
    efi_diags_add(rules->diags, EFI_DIAG_BIN_SIZE_ODD, &draft);
}

void efi_rule_bin_size_odd(efi_rules *rules)
{
    for_each(rules, check_size);
}

static void check_outlet_wide(efi_rules *rules, const efi_steel *steel, int s, int bin)
{
    if (!efi_steel_is_complete(steel) || efi_steel_look(steel) != EFI_STEEL_OUTLET_WIDE)
        return;
    const efi_bin_shape shape = efi_steel_shape(steel);
    const bool wide = shape.outlet_y_m >= shape.width_m / 2.0;
    ef_diag draft = draft_at(rules, s, bin, wide ? "outlet" : "outlet length");
    const double outlet_mm = 2000.0 * (wide ? shape.outlet_y_m : shape.outlet_x_m);
    const double bin_mm = 1000.0 * (wide ? shape.width_m : shape.length_m);
    draft.message = efi_diags_textf(rules->diags, "an outlet of %s mm does not go into a bin of %s mm",
                                    efi_rule_number(rules, outlet_mm), efi_rule_number(rules, bin_mm));
    draft.allowed = "less than the bin measures";
    draft.likely = "look at the units";
    const char *plan = shape.is_round ? "diameter" : wide ? "width" : "length";
    efi_rule_second(rules, &draft, efi_node_find_key(keys_of(rules, s, bin), plan), "the bin");
    efi_diags_add(rules->diags, EFI_DIAG_OUTLET_WIDE, &draft);
}

void efi_rule_outlet_wide(efi_rules *rules)
{
    for_each(rules, check_outlet_wide);
}

static void check_inlet(efi_rules *rules, const efi_steel *steel, int s, int bin)
{
    if (!efi_steel_is_complete(steel) || efi_steel_look(steel) != EFI_STEEL_INLET_OUTSIDE)
        return;
    const efi_bin_shape shape = efi_steel_shape(steel);
    const bool by_length = shape.inlet_x_m > shape.length_m / 2.0;
    ef_diag draft = draft_at(rules, s, bin, by_length ? "inlet offset" : "inlet offset across");
    draft.message = efi_diags_textf(
        rules->diags, "the wall is %s m from the middle, so material would fall outside the bin",
        efi_rule_number(rules, by_length ? shape.length_m / 2.0 : shape.width_m / 2.0));
    draft.allowed = "from 0 m in the middle to the wall";
    efi_diags_add(rules->diags, EFI_DIAG_INLET_OUTSIDE, &draft);
}

void efi_rule_inlet_outside(efi_rules *rules)
{
    for_each(rules, check_inlet);
}

static void check_freeboard(efi_rules *rules, const efi_steel *steel, int s, int bin)
{
    if (!efi_steel_is_complete(steel) || efi_steel_look(steel) != EFI_STEEL_NO_ROOM)
        return;
    const efi_bin_shape shape = efi_steel_shape(steel);
    ef_diag draft = draft_at(rules, s, bin, steel->freeboard_m.given ? "freeboard" : "wall height");
    draft.message = efi_diags_textf(rules->diags, "the bin is %s m high inside, so nothing is left to fill",
                                    efi_rule_number(rules, shape.hopper_m + shape.wall_m));
    draft.likely = "freeboard: 150 mm";
    efi_diags_add(rules->diags, EFI_DIAG_FREEBOARD_OVER, &draft);
}

void efi_rule_freeboard_over(efi_rules *rules)
{
    for_each(rules, check_freeboard);
}

static void check_headroom(efi_rules *rules, const efi_steel *steel, int s, int bin)
{
    if (!efi_steel_is_complete(steel) || !steel->headroom_m.given ||
        !(efi_steel_height(steel) > steel->headroom_m.value))
        return;
    const efi_bin_shape shape = efi_steel_shape(steel);
    ef_diag draft = draft_at(rules, s, bin, "headroom");
    draft.message = efi_diags_textf(
        rules->diags, "the bin needs %s m: %s m below the outlet, a hopper of %s m, walls of %s m",
        efi_rule_number(rules, efi_steel_height(steel)),
        efi_rule_number(rules, steel->clearance_m.given ? steel->clearance_m.value : 0.0),
        efi_rule_number(rules, shape.hopper_m), efi_rule_number(rules, shape.wall_m));
    draft.allowed = "at least that much headroom";
    draft.likely = "lower walls, or a wider bin";
    efi_diags_add(rules->diags, EFI_DIAG_HEADROOM_SHORT, &draft);
}

void efi_rule_headroom_short(efi_rules *rules)
{
    for_each(rules, check_headroom);
}
