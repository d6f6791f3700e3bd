/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on what bins in steel do with the crops that pass them. */
#include "model/bin_flow.h"
#include "model/bin_steel.h"
#include "model/rules.h"

#include <math.h>

#define RAD_PER_DEG (EF_PI / 180.0)

/* A live volume that differs by more than this share from what follows from the dimensions is told. */
#define APART 0.05

/* Less than this share of a bin that stays behind is not worth a word. */
#define LITTLE 1e-3

/* The bin of a station whose volume follows from its dimensions; NULL when it does not. */
static const efi_station *sound_bin(const efi_rules *rules, int s)
{
    const efi_station *bin = &rules->scenario->stations[s];
    const bool sound = bin->kind == EFI_STATION_BIN && bin->steel && efi_steel_is_complete(bin->steel) &&
                       efi_steel_look(bin->steel) == EFI_STEEL_SOUND;
    return sound ? bin : NULL;
}

void efi_rule_repose_missing(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int crop = 0; crop < scenario->crop_count; crop++) {
        const efi_crop *of = &scenario->crops[crop];
        int s = 0;
        while (s < scenario->station_count && !(efi_rule_reached(rules, crop, s) && sound_bin(rules, s) &&
                                                !scenario->stations[s].live_m3.given))
            s++;
        if (of->repose_deg.given || of->repose_deg.bad || s == scenario->station_count)
            continue;
        ef_diag draft = efi_rule_draft(rules, "crops", of->name, of->origin, NULL);
        draft.message = efi_diags_textf(
            rules->diags, "how much of %s \"%s\" holds goes by its angle of repose, which is not given",
            of->name, scenario->stations[s].name);
        draft.likely = "repose: 28 deg (as measured)";
        efi_rule_second(rules, &draft, efi_node_find_key(scenario->stations[s].origin.value, "steel"),
                        "the dimensions");
        efi_diags_add(rules->diags, EFI_DIAG_REPOSE_MISSING, &draft);
    }
}

/* Adds the finding of a bin whose live volume differs from what its dimensions hold of a crop. */
static void check_apart(efi_rules *rules, int s, int crop)
{
    const efi_station *bin = &rules->scenario->stations[s];
    const efi_crop *of = &rules->scenario->crops[crop];
    const double follows = efi_steel_fill(bin->steel, of, crop).live_m3;
    if (fabs(bin->live_m3.value - follows) <= APART * follows)
        return;
    ef_diag draft = efi_rule_station(rules, s, "live volume");
    draft.message = efi_diags_textf(rules->diags,
                                    "from the dimensions of the bin %s m3 follow for %s; this volume counts",
                                    efi_rule_number(rules, follows), of->name);
    draft.likely = "keep it if it was measured, else leave it out";
    efi_rule_second(rules, &draft, efi_node_find_key(bin->origin.value, "steel"), "the dimensions");
    efi_diags_add(rules->diags, EFI_DIAG_LIVE_VOLUME_APART, &draft);
}

void efi_rule_live_volume_apart(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_station *bin = sound_bin(rules, s);
        if (!bin || !bin->live_m3.given || efi_rule_only_counted(rules, EFI_DIAG_LIVE_VOLUME_APART))
            continue;
        int crop = 0;
        while (crop < scenario->crop_count &&
               !(efi_rule_reached(rules, crop, s) && scenario->crops[crop].repose_deg.given))
            crop++;
        if (crop < scenario->crop_count)
            check_apart(rules, s, crop);
    }
}

/* Adds the finding of a hopper on which a crop, and `others` more, stay behind. */
static void report_flat(efi_rules *rules, int s, int crop, int others)
{
    const efi_steel *steel = rules->scenario->stations[s].steel;
    const efi_crop *of = &rules->scenario->crops[crop];
    const efi_bin_shape shape = efi_steel_shape(steel);
    const efi_bin_volumes volumes = efi_steel_fill(steel, of, crop);
    if (!(volumes.dead_m3 > LITTLE * volumes.level_m3))
        return;
    const bool valleys = steel->hopper == EFI_HOPPER_PYRAMID;
    const double slides = efi_steel_slides_deg(steel, of, crop);
    ef_diag draft = efi_rule_within(rules, s, "steel", "hopper angle");
    draft.message = efi_diags_textf(rules->diags,
                                    "%s%s slides from %s degrees on, but %s %s degrees: %s m3 stay behind",
                                    of->name, efi_rule_others(rules, others), efi_rule_number(rules, slides),
                                    valleys ? "the valleys of this hopper lie at" : "this hopper lies at",
                                    efi_rule_number(rules, atan(efi_bin_valley(&shape)) / RAD_PER_DEG),
                                    efi_rule_number(rules, volumes.dead_m3));
    draft.allowed = "40 to 45 deg for dry free-flowing seed, 60 deg for wet or trashy (from memory)";
    draft.likely = "a steeper hopper; or the \"wall friction\", if it was measured";
    efi_diags_add(rules->diags, EFI_DIAG_HOPPER_FLAT, &draft);
}

void efi_rule_hopper_flat(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_station *bin = sound_bin(rules, s);
        if (!bin || bin->steel->hopper == EFI_HOPPER_FLAT ||
            efi_rule_only_counted(rules, EFI_DIAG_HOPPER_FLAT))
            continue;
        int worst = -1;
        int count = 0;
        double worst_deg = 0.0;
        for (int crop = 0; crop < scenario->crop_count; crop++) {
            const efi_crop *of = &scenario->crops[crop];
            if (!efi_rule_reached(rules, crop, s) || !of->repose_deg.given ||
                efi_steel_cleans_out(bin->steel, of, crop))
                continue;
            count++;
            if (of->emptying_deg.value > worst_deg) {
                worst = crop;
                worst_deg = of->emptying_deg.value;
            }
        }
        if (worst >= 0)
            report_flat(rules, s, worst, count - 1);
    }
}

/* The crop of those that come to a station for which a value is largest, and above 0; -1: none. `count`: for
 * how many it is. */
typedef double value_of(const efi_rules *rules, const efi_station *bin, int crop);

static int worst_crop(const efi_rules *rules, int s, value_of *value, int *count)
{
    int worst = -1;
    double most = 0.0;
    *count = 0;
    for (int crop = 0; crop < rules->scenario->crop_count; crop++) {
        const double here = efi_rule_reached(rules, crop, s)
                                ? value(rules, &rules->scenario->stations[s], crop)
                                : 0.0;
        *count += here > 0.0;
        if (here > most) {
            most = here;
            worst = crop;
        }
    }
    return worst;
}

/* By how much the outlet is too narrow against bridging, m. */
static double narrow_by(const efi_rules *rules, const efi_station *bin, int crop)
{
    const efi_bin_shape shape = efi_steel_shape(bin->steel);
    const efi_value particle = rules->scenario->crops[crop].particle_m;
    const double outlet_m = 2.0 * fmin(shape.outlet_x_m, shape.outlet_y_m);
    const double length_m = 2.0 * fmax(shape.outlet_x_m, shape.outlet_y_m);
    return particle.given ? efi_outlet_least_m(length_m, outlet_m, particle.value) - outlet_m : 0.0;
}

void efi_rule_outlet_arches(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_station *bin = sound_bin(rules, s);
        if (!bin || efi_rule_only_counted(rules, EFI_DIAG_OUTLET_ARCHES))
            continue;
        int count = 0;
        const int crop = worst_crop(rules, s, narrow_by, &count);
        if (crop < 0)
            continue;
        const efi_bin_shape shape = efi_steel_shape(bin->steel);
        const double least_m = narrow_by(rules, bin, crop) + 2.0 * fmin(shape.outlet_x_m, shape.outlet_y_m);
        ef_diag draft = efi_rule_within(rules, s, "steel", "outlet");
        draft.message = efi_diags_textf(
            rules->diags, "kernels of %s mm (%s%s) can bridge this outlet",
            efi_rule_number(rules, rules->scenario->crops[crop].particle_m.value * 1e3),
            rules->scenario->crops[crop].name, efi_rule_others(rules, count - 1));
        draft.allowed = efi_diags_textf(rules->diags,
                                        "at least %s mm: 6 kernels, 4 for a slot (common practice)",
                                        efi_rule_number(rules, least_m * 1e3));
        efi_diags_add(rules->diags, EFI_DIAG_OUTLET_ARCHES, &draft);
    }
}

/* By how much the outlet passes less than the next station takes, t/h. */
static double short_by(const efi_rules *rules, const efi_station *bin, int crop)
{
    const efi_value asked = efi_bin_asked_tph(rules->scenario, bin, crop);
    const efi_value passes = efi_steel_outlet_tph(bin->steel, &rules->scenario->crops[crop], false);
    return asked.given && passes.given ? asked.value - passes.value : 0.0;
}

/* To two digits, as the law of the outlet is no better. */
static double about(double value)
{
    const double step = value > 0.0 ? pow(10.0, floor(log10(value)) - 1.0) : 1.0;
    return round(value / step) * step;
}

void efi_rule_outlet_short(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_station *bin = sound_bin(rules, s);
        if (!bin || efi_rule_only_counted(rules, EFI_DIAG_OUTLET_SHORT))
            continue;
        int count = 0;
        const int crop = worst_crop(rules, s, short_by, &count);
        if (crop < 0)
            continue;
        const efi_crop *of = &rules->scenario->crops[crop];
        const efi_station *next = &rules->scenario->stations[bin->to[crop]];
        ef_diag draft = efi_rule_within(rules, s, "steel", "outlet");
        draft.message = efi_diags_textf(
            rules->diags, "it passes about %s t/h of %s%s, but \"%s\" after it takes up to %s t/h",
            efi_rule_number(rules, about(efi_steel_outlet_tph(bin->steel, of, false).value)), of->name,
            efi_rule_others(rules, count - 1), next->name,
            efi_rule_number(rules, efi_bin_asked_tph(rules->scenario, bin, crop).value));
        draft.likely = bin->steel->gate == EFI_GATE_SIDE ? "a wider outlet, or a gate at the bottom"
                                                         : "a wider outlet";
        efi_rule_second(rules, &draft, next->origin.key, "the station after it");
        efi_diags_add(rules->diags, EFI_DIAG_OUTLET_SHORT, &draft);
    }
}

/* ---- odd numbers ----------------------------------------------------------------------------------------
 */

/* From dry barley on a smooth coating, 0.11, to wet wheat on concrete, 0.5 (Journal of Agricultural
 * Engineering Research, friction of cereal grain on silo walls); the margin is ours. */
#define LEAST_FRICTION 0.08
#define MOST_FRICTION  0.8

void efi_rule_wall_friction_odd(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_steel *steel = scenario->stations[s].steel;
        int crop = 0;
        for (; steel && steel->wall_friction && crop < scenario->crop_count; crop++) {
            const efi_value wall = efi_steel_wall_deg(steel, crop);
            const double friction = wall.given ? tan(wall.value * RAD_PER_DEG) : LEAST_FRICTION;
            if (!(friction >= LEAST_FRICTION && friction <= MOST_FRICTION))
                break;
        }
        if (!steel || !steel->wall_friction || crop == scenario->crop_count ||
            efi_rule_only_counted(rules, EFI_DIAG_WALL_FRICTION_ODD))
            continue;
        ef_diag draft = efi_rule_within(rules, s, "steel", "wall friction");
        draft.message = efi_diags_textf(
            rules->diags, "a wall friction of %s is none of seed on a wall",
            efi_rule_number(rules, tan(efi_steel_wall_deg(steel, crop).value * RAD_PER_DEG)));
        draft.allowed = "about 0.1 to 0.5, that is 6 to 27 deg";
        draft.likely = "0.35";
        efi_diags_add(rules->diags, EFI_DIAG_WALL_FRICTION_ODD, &draft);
    }
}

/* From fine grass and clover seed to large beans; from memory, the margin is ours. */
#define LEAST_PARTICLE_M 0.0003
#define MOST_PARTICLE_M  0.025

void efi_rule_particle_size_odd(efi_rules *rules)
{
    for (int c = 0; c < rules->scenario->crop_count; c++) {
        const efi_crop *crop = &rules->scenario->crops[c];
        const double size_m = crop->particle_m.value;
        if (!crop->particle_m.given || (size_m >= LEAST_PARTICLE_M && size_m <= MOST_PARTICLE_M) ||
            efi_rule_only_counted(rules, EFI_DIAG_PARTICLE_SIZE_ODD))
            continue;
        ef_diag draft = efi_rule_draft(rules, "crops", crop->name, crop->origin, "particle size");
        draft.message = "no seed has kernels of this size";
        draft.allowed = "from about 0.5 mm for fine grass seed to 15 mm for large beans";
        draft.likely = "4 mm (wheat), or look at the unit";
        efi_diags_add(rules->diags, EFI_DIAG_PARTICLE_SIZE_ODD, &draft);
    }
}
