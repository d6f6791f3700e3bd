/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/bin_steel.h"

#include "model/bin_flow.h"

#include <math.h>

#define RAD_PER_DEG (EF_PI / 180.0)
#define SLOPE_TOL   1e-12 /* of a slope: as steep as */

enum {
    MOST_VOLUMES = 4000 /* computed for one scenario */
};

static double or_zero(efi_value value)
{
    return value.given ? value.value : 0.0;
}

static bool is_flat(const efi_steel *steel)
{
    return steel->hopper == EFI_HOPPER_FLAT;
}

bool efi_steel_is_complete(const efi_steel *steel)
{
    const bool plan = steel->shape == EFI_SHAPE_ROUND ? steel->diameter_m.given : steel->width_m.given;
    return plan && steel->wall_m.given && steel->outlet_m.given && !steel->length_m.bad &&
           !steel->outlet_length_m.bad && (is_flat(steel) || steel->hopper_deg.given);
}

/* Plan and outlet of a shape whose hopper is still to come. */
static efi_bin_shape shape_above(const efi_steel *steel)
{
    const bool is_round = steel->shape == EFI_SHAPE_ROUND;
    const double width = is_round ? steel->diameter_m.value : steel->width_m.value;
    const double length = !is_round && steel->length_m.given ? steel->length_m.value : width;
    const double outlet = steel->outlet_m.value;
    const double slot = steel->outlet_length_m.given ? steel->outlet_length_m.value : outlet;
    const bool wedge = steel->hopper == EFI_HOPPER_WEDGE;
    return (efi_bin_shape){.is_round = is_round,
                           .is_flat = is_flat(steel),
                           .length_m = length,
                           .width_m = width,
                           .wall_m = steel->wall_m.value,
                           .outlet_x_m = (is_round ? outlet
                                          : wedge  ? length
                                                   : slot) /
                                         2.0,
                           .outlet_y_m = outlet / 2.0,
                           .inlet_x_m = or_zero(steel->inlet_offset_m),
                           .inlet_y_m = is_round ? 0.0 : or_zero(steel->inlet_across_m),
                           .freeboard_m = or_zero(steel->freeboard_m)};
}

efi_bin_shape efi_steel_shape(const efi_steel *steel)
{
    efi_bin_shape shape = shape_above(steel);
    if (shape.is_flat)
        return shape;
    const double run_x = shape.length_m / 2.0 - shape.outlet_x_m;
    const double run_y = shape.width_m / 2.0 - shape.outlet_y_m;
    const double run = shape.is_round ? run_y : fmax(run_x, run_y);
    shape.hopper_m = run * tan(steel->hopper_deg.value * RAD_PER_DEG);
    shape.slope_x = run_x > 0.0 ? shape.hopper_m / run_x : INFINITY;
    shape.slope_y = run_y > 0.0 ? shape.hopper_m / run_y : INFINITY;
    return shape;
}

efi_steel_fault efi_steel_look(const efi_steel *steel)
{
    const efi_bin_shape shape = efi_steel_shape(steel);
    const bool wedge = steel->hopper == EFI_HOPPER_WEDGE;
    const double widest_m = fmax(shape.length_m, shape.width_m);
    if (!(fmin(shape.length_m, shape.width_m) >= EFI_BIN_LEAST_M && widest_m <= EFI_BIN_MOST_M &&
          shape.wall_m <= EFI_BIN_MOST_M))
        return EFI_STEEL_NO_SIZE;
    if (shape.outlet_y_m >= shape.width_m / 2.0 || (!wedge && shape.outlet_x_m >= shape.length_m / 2.0))
        return EFI_STEEL_OUTLET_WIDE;
    if (!(shape.hopper_m <= EFI_BIN_MOST_M))
        return EFI_STEEL_NO_SIZE;
    const bool outside = shape.is_round ? shape.inlet_x_m > shape.width_m / 2.0
                                        : shape.inlet_x_m > shape.length_m / 2.0 ||
                                              shape.inlet_y_m > shape.width_m / 2.0;
    if (outside)
        return EFI_STEEL_INLET_OUTSIDE;
    return shape.freeboard_m < shape.wall_m + shape.hopper_m ? EFI_STEEL_SOUND : EFI_STEEL_NO_ROOM;
}

efi_steel efi_steel_placed(const efi_steel *standard, const efi_steel *own)
{
    efi_steel placed = *standard;
    if (!own)
        return placed;
    placed.gate = own->gate;
    placed.inlet_offset_m = own->inlet_offset_m;
    placed.inlet_across_m = own->inlet_across_m;
    placed.freeboard_m = own->freeboard_m;
    placed.clearance_m = own->clearance_m;
    placed.headroom_m = own->headroom_m;
    placed.most_width_m = own->most_width_m;
    placed.wall_friction = own->wall_friction;
    return placed;
}

double efi_steel_height(const efi_steel *steel)
{
    return or_zero(steel->clearance_m) + efi_steel_shape(steel).hopper_m + steel->wall_m.value;
}

efi_value efi_steel_wall_deg(const efi_steel *steel, int crop)
{
    efi_value wall = steel->wall_friction ? steel->wall_friction[crop] : (efi_value){0};
    if (wall.given && wall.of == EFI_KIND_COUNT) {
        wall.value = atan(wall.value) / RAD_PER_DEG;
        wall.of = EFI_KIND_ANGLE;
    }
    return wall;
}

double efi_steel_slides_deg(const efi_steel *steel, const efi_crop *crop, int number)
{
    const efi_value wall = efi_steel_wall_deg(steel, number);
    return wall.given ? fmin(wall.value, crop->emptying_deg.value) : crop->emptying_deg.value;
}

bool efi_steel_cleans_out(const efi_steel *steel, const efi_crop *crop, int number)
{
    const efi_bin_shape shape = efi_steel_shape(steel);
    const double slides = tan(efi_steel_slides_deg(steel, crop, number) * RAD_PER_DEG);
    return !shape.is_flat && efi_bin_valley(&shape) >= slides * (1.0 - SLOPE_TOL);
}

efi_bin_volumes efi_steel_fill(const efi_steel *steel, const efi_crop *crop, int number)
{
    const efi_bin_shape shape = efi_steel_shape(steel);
    return efi_bin_fill(&shape, crop->repose_deg.value, crop->emptying_deg.value,
                        efi_steel_cleans_out(steel, crop, number));
}

/* Do two crops lie in the bin in the same way? */
static bool lie_alike(const efi_steel *steel, const ef_scenario *scenario, int one, int two)
{
    const efi_crop *a = &scenario->crops[one];
    const efi_crop *b = &scenario->crops[two];
    return a->repose_deg.value == b->repose_deg.value && a->emptying_deg.value == b->emptying_deg.value &&
           efi_steel_slides_deg(steel, a, one) == efi_steel_slides_deg(steel, b, two);
}

/* Counts one computation of volumes; reports once and returns false when they become too many. */
static bool count_volumes(efi_binder *b, const efi_station *bin)
{
    if (++b->volumes <= MOST_VOLUMES)
        return true;
    efi_bind_report(b, EFI_DIAG_TOO_LARGE, NULL, bin->origin.key,
                    "so many bins with dimensions for so many crops are too many", NULL,
                    "a \"live volume\" instead of \"steel\"");
    return false;
}

const efi_value *efi_steel_live(efi_binder *b, const efi_station *bin)
{
    const ef_scenario *scenario = b->scenario;
    const int crops = scenario->crop_count;
    if (b->volumes > MOST_VOLUMES || !bin->steel || !efi_steel_is_complete(bin->steel) ||
        efi_steel_look(bin->steel) != EFI_STEEL_SOUND || !efi_bind_cells(b, (size_t)crops, bin->origin.key))
        return NULL;
    efi_value *live = efi_bind_get(b, (size_t)crops, sizeof *live);
    for (int crop = 0; live && crop < crops; crop++) {
        if (!scenario->crops[crop].repose_deg.given)
            continue;
        int like = 0;
        while (like < crop && !(live[like].given && lie_alike(bin->steel, scenario, like, crop)))
            like++;
        if (like < crop) {
            live[crop] = live[like];
        } else if (!count_volumes(b, bin)) {
            return NULL;
        } else {
            const double live_m3 = efi_steel_fill(bin->steel, &scenario->crops[crop], crop).live_m3;
            live[crop] = (efi_value){.value = round(live_m3 / EFI_LIVE_STEP_M3) * EFI_LIVE_STEP_M3,
                                     .given = true,
                                     .of = EFI_KIND_VOLUME};
        }
    }
    return live;
}

efi_value efi_steel_outlet_tph(const efi_steel *steel, const efi_crop *crop, bool high)
{
    if (!crop->particle_m.given || !crop->density_tpm3.given)
        return (efi_value){0};
    const efi_bin_shape shape = efi_steel_shape(steel);
    const double level = efi_outlet_tph(2.0 * shape.outlet_x_m, 2.0 * shape.outlet_y_m, shape.is_round,
                                        crop->particle_m.value, crop->density_tpm3.value);
    const double gate = high ? EFI_SIDE_GATE_HIGH : EFI_SIDE_GATE_LOW;
    return (efi_value){.value = steel->gate == EFI_GATE_SIDE ? gate * level : level,
                       .given = true,
                       .of = EFI_KIND_MASS_RATE};
}

efi_value efi_bin_asked_tph(const ef_scenario *scenario, const efi_station *bin, int crop)
{
    const int to = bin->to ? bin->to[crop] : EFI_NOWHERE;
    const efi_station *next = to >= 0 ? &scenario->stations[to] : NULL;
    if (!next || !next->capacity || !next->capacity[crop].given)
        return (efi_value){0};
    efi_value asked = next->capacity[crop];
    asked.value *= next->count;
    if (asked.of == EFI_KIND_VOLUME_RATE) {
        const efi_value density = scenario->crops[crop].density_tpm3;
        if (!density.given)
            return (efi_value){0};
        asked.value *= density.value;
        asked.of = EFI_KIND_MASS_RATE;
    }
    return asked;
}
