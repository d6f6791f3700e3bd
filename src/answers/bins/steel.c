/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answers/bins/steel.h"

#include "answers/bins/steel_find.h"
#include "base/base.h"
#include "base/tongue.h"
#include "model/bin_flow.h"

#include <math.h>

#define RAD_PER_DEG (EF_PI / 180.0)

/* Common practice, from memory: kept from the limit of mass flow; wedges need so much less than cones. */
#define MASS_FLOW_MARGIN_DEG 3.0
#define WEDGE_LESS_DEG       10.0

static const char *const cautions[] = {
    EFI_TR(
        "Structural loads are not computed here: walls, hopper, supports and foundations belong to a "
        "licensed engineer, to EN 1991-4 or ANSI/ASAE EP433 and local codes. Off-centre filling and emptying "
        "load a bin unevenly."),
    EFI_TR(
        "Bin entry kills: flowing grain buries a person in seconds, and bridged or hung-up grain collapses. "
        "Lock out every conveyor, test the air, use harness, lifeline and an observer, and keep to local "
        "rules for confined spaces. Better, clear the bin from outside."),
    EFI_TR(
        "Dust explodes: venting or suppression, bonding and earthing, and housekeeping to local codes and by "
        "licensed practice.")};

static double above_zero(efi_value value)
{
    return value.given ? value.value : 0.0;
}

static double degrees_of(double slope)
{
    return atan(slope) / RAD_PER_DEG;
}

/* ---- what a bin is --------------------------------------------------------------------------------------
 */

static void tell_size(const efi_steel *bin, ef_steel_size *size)
{
    const efi_bin_shape shape = efi_steel_shape(bin);
    size->shape = efi_shape_word((efi_shape)bin->shape);
    size->hopper = efi_hopper_word((efi_hopper)bin->hopper);
    size->width_m = shape.width_m;
    size->length_m = shape.length_m;
    size->wall_m = shape.wall_m;
    size->hopper_m = shape.hopper_m;
    size->hopper_deg = shape.is_flat ? 0.0 : bin->hopper_deg.value;
    size->valley_deg = bin->hopper == EFI_HOPPER_PYRAMID ? degrees_of(efi_bin_valley(&shape))
                                                         : size->hopper_deg;
    size->outlet_m = 2.0 * shape.outlet_y_m;
    size->outlet_length_m = 2.0 * shape.outlet_x_m;
    size->side_gate = bin->gate == EFI_GATE_SIDE;
    size->inlet_offset_m = shape.inlet_x_m;
    size->inlet_across_m = shape.inlet_y_m;
    size->freeboard_m = shape.freeboard_m;
    size->clearance_m = above_zero(bin->clearance_m);
    size->height_m = efi_steel_height(bin);
    size->has_headroom = bin->headroom_m.given;
    size->headroom_m = above_zero(bin->headroom_m);
    size->steel_m2 = efi_bin_area(&shape);
    size->level_m3 = efi_bin_level(&shape);
}

/* The angle that decides on mass flow, from level, on the scale of a cone: a wedge counts as steeper, a
 * pyramid by its valleys. */
static double as_cone_deg(const efi_steel *bin, const ef_steel_size *size)
{
    switch ((efi_hopper)bin->hopper) {
    case EFI_HOPPER_CONE:
        return size->hopper_deg;
    case EFI_HOPPER_PYRAMID:
        return size->valley_deg;
    case EFI_HOPPER_WEDGE:
        return size->hopper_deg + WEDGE_LESS_DEG;
    case EFI_HOPPER_FLAT:
    case EFI_HOPPER_UNSAID:
        break;
    }
    return 0.0;
}

static void tell_flow(const efi_steel *bin, const ef_steel_size *size, const efi_crop *crop, int number,
                      ef_steel_crop *out)
{
    const double internal_deg = crop->internal_deg.given ? crop->internal_deg.value
                                                         : crop->emptying_deg.value;
    out->cleans_out = efi_steel_cleans_out(bin, crop, number);
    out->margin_deg = size->valley_deg - efi_steel_slides_deg(bin, crop, number);
    out->has_wall = efi_steel_wall_deg(bin, number, &out->wall_deg);
    out->mass_from_deg = out->has_wall ? efi_mass_flow_from_deg(internal_deg, out->wall_deg) : 90.0;
    const double cone_deg = as_cone_deg(bin, size);
    if (!out->cleans_out)
        out->flow = EF_STEEL_FLOW_FUNNEL;
    else if (!out->has_wall)
        out->flow = EF_STEEL_FLOW_UNKNOWN;
    else
        out->flow = cone_deg >= out->mass_from_deg + MASS_FLOW_MARGIN_DEG ? EF_STEEL_FLOW_MASS
                                                                          : EF_STEEL_FLOW_FUNNEL;
}

static void tell_outlet(const efi_steel *bin, const ef_steel_size *size, const efi_crop *crop,
                        ef_steel_crop *out)
{
    const double particle_m = crop->particle_m.value;
    const double narrow_m = fmin(size->outlet_m, size->outlet_length_m);
    const double long_m = fmax(size->outlet_m, size->outlet_length_m);
    out->has_particle = crop->particle_m.given;
    if (!out->has_particle)
        return;
    out->particle_mm = particle_m * 1000.0;
    (void)efi_steel_outlet_tph(bin, crop, false, &out->outlet_tph);
    (void)efi_steel_outlet_tph(bin, crop, true, &out->outlet_high_tph);
    out->outlet_in_range = efi_outlet_in_range(narrow_m, fmin(size->width_m, size->length_m), particle_m);
    out->least_outlet_m = efi_outlet_least_m(long_m, narrow_m, particle_m);
    out->arches = narrow_m < out->least_outlet_m;
}

static void tell_crop(const ef_scenario *scenario, const efi_steel *bin, const ef_steel_size *size,
                      const efi_steel_need *need, ef_steel_crop *out)
{
    const efi_crop *crop = &scenario->crops[need->crop];
    const efi_bin_volumes volumes = efi_steel_fill(bin, crop, need->crop);
    *out = (ef_steel_crop){.crop = crop->name,
                           .number = need->crop,
                           .repose_deg = crop->repose_deg.value,
                           .emptying_deg = crop->emptying_deg.value,
                           .asked_m3 = need->live_m3,
                           .live_m3 = volumes.live_m3,
                           .filled_m3 = volumes.filled_m3,
                           .headspace_m3 = volumes.level_m3 - volumes.filled_m3,
                           .dead_m3 = volumes.dead_m3,
                           .asked_tph = need->rate_tph};
    if (size->inlet_offset_m > 0.0 || size->inlet_across_m > 0.0) {
        efi_steel centred = *bin;
        centred.inlet_offset_m.value = centred.inlet_across_m.value = 0.0;
        out->off_centre_m3 = efi_steel_fill(&centred, crop, need->crop).live_m3 - volumes.live_m3;
    }
    tell_flow(bin, size, crop, need->crop, out);
    tell_outlet(bin, size, crop, out);
}

/* Fills in size and crops of a bin that is complete and sound. */
static ef_status tell(const ef_scenario *scenario, const efi_steel *bin, const efi_steel_need *need,
                      int needs, efi_arena *arena, ef_steel *steel)
{
    ef_steel_crop *crops = efi_arena_get(arena, (size_t)needs, sizeof *crops);
    if (!crops)
        return EF_MEMORY;
    tell_size(bin, &steel->size);
    for (int k = 0; k < needs; k++)
        tell_crop(scenario, bin, &steel->size, &need[k], &crops[k]);
    steel->crops = crops;
    steel->crop_count = needs;
    return EF_OK;
}

/* ---- the two questions ----------------------------------------------------------------------------------
 */

static ef_steel begin(const efi_station *station)
{
    return (ef_steel){
        .station = station->name, .cautions = cautions, .caution_count = (int)EF_COUNT(cautions)};
}

/* Is the angle of repose of every crop known? Says so in `steel` when not. */
static bool lies_known(const ef_scenario *scenario, const efi_steel_need *need, int needs, ef_steel *steel)
{
    for (int k = 0; k < needs; k++) {
        if (scenario->crops[need[k].crop].repose_deg.given)
            continue;
        steel->why = EF_STEEL_NO_REPOSE;
        steel->crop = scenario->crops[need[k].crop].name;
        steel->asked_m3 = need[k].live_m3;
        return false;
    }
    return true;
}

ef_status efi_steel_of(const ef_scenario *scenario, int station, const efi_steel_need *need, int needs,
                       efi_arena *arena, ef_steel *steel)
{
    const efi_station *bin = &scenario->stations[station];
    if (bin->kind != EFI_STATION_BIN || needs < 1 || !bin->steel || !efi_steel_is_complete(bin->steel))
        return EF_USAGE;
    ef_steel result = begin(bin);
    if (efi_steel_look(bin->steel) != EFI_STEEL_SOUND)
        result.why = EF_STEEL_CONTRADICT;
    else if (lies_known(scenario, need, needs, &result))
        EF_TRY(tell(scenario, bin->steel, need, needs, arena, &result));
    *steel = result;
    return EF_OK;
}

ef_status efi_steel_for(const ef_scenario *scenario, int station, const efi_steel_need *need, int needs,
                        efi_arena *arena, ef_steel *steel)
{
    const efi_station *bin = &scenario->stations[station];
    if (bin->kind != EFI_STATION_BIN || needs < 1)
        return EF_USAGE;
    const efi_steel plain = {.shape = EFI_SHAPE_ROUND, .hopper = EFI_HOPPER_CONE};
    const efi_steel_search search = {
        .scenario = scenario, .own = bin->steel ? bin->steel : &plain, .need = need, .needs = needs};
    ef_steel result = begin(bin);
    efi_steel found = *search.own;
    if (!lies_known(scenario, need, needs, &result)) {
        *steel = result;
        return EF_OK;
    }
    if (bin->steel && efi_steel_is_complete(bin->steel)) {
        efi_steel_test(&search, &result, &found);
    } else {
        result.found = true;
        if (scenario->standard_bin_count > 0)
            efi_steel_pick(&search, &result, &found);
        else
            efi_steel_measure(&search, &result, &found);
    }
    if (result.why == EF_STEEL_FITS)
        EF_TRY(tell(scenario, &found, need, needs, arena, &result));
    *steel = result;
    return EF_OK;
}

int efi_steel_standards(const ef_scenario *scenario, int station, const efi_steel_need *need, int needs,
                        double *live_m3, int *standard)
{
    const efi_station *bin = &scenario->stations[station];
    const efi_steel plain = {.shape = EFI_SHAPE_ROUND, .hopper = EFI_HOPPER_CONE};
    const efi_steel_search search = {
        .scenario = scenario, .own = bin->steel ? bin->steel : &plain, .need = need, .needs = needs};
    ef_steel unused = {0};
    int count = 0;
    if (bin->kind != EFI_STATION_BIN || needs < 1 || (bin->steel && efi_steel_is_complete(bin->steel)) ||
        !lies_known(scenario, need, needs, &unused))
        return 0;
    for (int i = 0; i < scenario->standard_bin_count; i++) {
        const double live = efi_steel_standard_live(&search, i);
        int at = count;
        if (!(live > 0.0))
            continue;
        for (; at > 0 && live_m3[at - 1] > live; at--) {
            live_m3[at] = live_m3[at - 1];
            standard[at] = standard[at - 1];
        }
        live_m3[at] = live;
        standard[at] = i;
        count++;
    }
    return count;
}

double efi_steel_dearest(const ef_scenario *scenario)
{
    double most = 0.0;
    for (int i = 0; i < scenario->standard_bin_count; i++) {
        const efi_steel *bin = &scenario->standard_bins[i];
        const efi_bin_shape shape = efi_steel_shape(bin);
        if (bin->cost.given && efi_bin_level(&shape) > 0.0)
            most = fmax(most, bin->cost.value / efi_bin_level(&shape));
    }
    return most;
}
