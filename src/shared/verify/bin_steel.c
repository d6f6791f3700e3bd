/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/verify/bin_steel.h"

#include "shared/verify/bin_volume.h"

#include <math.h>
#include <string.h>

/* Half a step of what dimensions are rounded to, m. */
#define DIMENSION_TOL 1e-9

static double tangent(double deg)
{
    return tan(deg * EF_PI / 180.0);
}

/* The bin that is claimed, with nothing in it. */
static efi_columns columns_of(const ef_steel_size *size)
{
    const bool flat = strcmp(size->hopper, "flat") == 0;
    efi_columns b = {.is_round = strcmp(size->shape, "round") == 0,
                     .half_x = size->length_m / 2.0,
                     .half_y = size->width_m / 2.0,
                     .open_x = size->outlet_length_m / 2.0,
                     .open_y = size->outlet_m / 2.0,
                     .wall_m = size->wall_m,
                     .inlet_x = size->inlet_offset_m,
                     .inlet_y = size->inlet_across_m};
    const double run_x = b.half_x - b.open_x;
    const double run_y = b.half_y - b.open_y;
    b.hopper_m = flat ? 0.0 : (run_x > run_y ? run_x : run_y) * tangent(size->hopper_deg);
    return b;
}

/* Sheet by the rule of Pappus for the round, side by side for the rectangular. */
static double sheet_of(const efi_columns *b)
{
    const double run_x = b->half_x - b->open_x;
    const double run_y = b->half_y - b->open_y;
    if (b->is_round) {
        const double side = sqrt(b->hopper_m * b->hopper_m + run_y * run_y);
        return 2.0 * EF_PI * b->half_y * b->wall_m + 2.0 * EF_PI * (b->half_y + b->open_y) / 2.0 * side;
    }
    const double walls = 4.0 * (b->half_x + b->half_y) * b->wall_m;
    if (!(b->hopper_m > 0.0))
        return walls + 4.0 * (b->half_x * b->half_y - b->open_x * b->open_y);
    return walls + 2.0 * (b->half_x + b->open_x) * sqrt(b->hopper_m * b->hopper_m + run_y * run_y) +
           2.0 * (b->half_y + b->open_y) * sqrt(b->hopper_m * b->hopper_m + run_x * run_x);
}

static void check_size(const ef_steel_size *size, efi_differences *list)
{
    efi_columns b = columns_of(size);
    double slack_m3 = 0.0;
    efi_differ_number(list, "the height of the hopper", "m", size->hopper_m, b.hopper_m, DIMENSION_TOL);
    efi_differ_number(list, "the height", "m", size->height_m, size->clearance_m + b.hopper_m + size->wall_m,
                      DIMENSION_TOL);
    efi_differ_number(list, "the sheet", "m2", size->steel_m2, sheet_of(&b), 0.0);
    efi_differ_number(list, "the flattest line of the hopper", "degrees", size->valley_deg,
                      atan(efi_columns_flattest(&b)) * 180.0 / EF_PI, DIMENSION_TOL);
    b.peak_m = b.hopper_m + b.wall_m;
    const double level_m3 = efi_columns_add_up(&b, &slack_m3);
    efi_differ_number(list, "the volume filled level", "m3", size->level_m3, level_m3, slack_m3);
}

/* Beverloo's law as in model/bin_flow.h, written out for a hydraulic diameter. */
static double passes(const ef_steel_size *size, const efi_crop *crop)
{
    const double lost = 1.4 * crop->particle_m.value;
    const double a = size->outlet_length_m - lost;
    const double b = size->outlet_m - lost;
    if (a <= 0.0 || b <= 0.0)
        return 0.0;
    const bool is_round = strcmp(size->shape, "round") == 0;
    const double open = is_round ? EF_PI * b * b / 4.0 : a * b;
    const double girth = is_round ? EF_PI * b : 2.0 * (a + b);
    const double level = 0.58 * 4.0 / EF_PI * sqrt(9.80665 * 4.0 * open / girth) * open *
                         crop->density_tpm3.value * 3600.0;
    return size->side_gate ? 0.37 * level : level;
}

static void check_crop(const ef_scenario *scenario, const efi_steel *own, const ef_steel_size *size,
                       const ef_steel_crop *claim, efi_differences *list)
{
    const efi_crop *crop = &scenario->crops[claim->number];
    efi_columns b = columns_of(size);
    double slack_m3 = 0.0;
    b.peak_m = b.hopper_m + b.wall_m - size->freeboard_m;
    b.heap = tangent(crop->repose_deg.value);
    const double filled_m3 = efi_columns_add_up(&b, &slack_m3);
    const bool slides = efi_columns_flattest(&b) >=
                        efi_columns_slides(own, crop, claim->number) * (1.0 - 1e-12);
    b.rest = slides ? 0.0 : tangent(crop->emptying_deg.value);
    const double live_m3 = efi_columns_add_up(&b, &slack_m3);
    efi_differ_number(list, "what fills it", "m3", claim->filled_m3, filled_m3, slack_m3);
    efi_differ_number(list, "the live volume", "m3", claim->live_m3, live_m3, slack_m3);
    efi_differ_number(list, "what stays behind", "m3", claim->dead_m3, filled_m3 - live_m3, 2.0 * slack_m3);
    efi_differ_number(list, "the headspace", "m3", claim->headspace_m3, size->level_m3 - filled_m3, slack_m3);
    efi_differ_flag(list, "it cleans out", claim->cleans_out, slides && b.hopper_m > 0.0);
    if (claim->live_m3 < claim->asked_m3 * (1.0 - 1e-5))
        efi_differ(list, "it holds %.6g m3 of %s, %.6g m3 are asked", claim->live_m3, claim->crop,
                   claim->asked_m3);
    if (crop->particle_m.given && crop->density_tpm3.given)
        efi_differ_number(list, "what the outlet passes", "t/h", claim->outlet_tph, passes(size, crop), 0.0);
}

static void check_given(const char *what, efi_value given, double claimed_m, efi_differences *list)
{
    if (given.given)
        efi_differ_number(list, what, "m", claimed_m, given.value, DIMENSION_TOL);
}

/* Does it keep within what its station gives and limits? A standard bin has its own dimensions. */
static void check_limits(const efi_steel *own, const ef_steel_size *size, efi_differences *list)
{
    const double widest_m = size->length_m > size->width_m ? size->length_m : size->width_m;
    if (own->headroom_m.given && size->height_m > own->headroom_m.value + DIMENSION_TOL)
        efi_differ(list, "it is higher than its headroom");
    if (own->most_width_m.given && widest_m > own->most_width_m.value + DIMENSION_TOL)
        efi_differ(list, "it is wider than the most width");
    efi_differ_words(list, "the shape", size->shape, own->shape == EFI_SHAPE_ROUND ? "round" : "rectangular");
    check_given("the inlet offset", own->inlet_offset_m, size->inlet_offset_m, list);
    check_given("the freeboard", own->freeboard_m, size->freeboard_m, list);
    check_given("the clearance", own->clearance_m, size->clearance_m, list);
    if (size->standard)
        return;
    check_given("the diameter", own->diameter_m, size->width_m, list);
    check_given("the width", own->width_m, size->width_m, list);
    check_given("the length", own->length_m, size->length_m, list);
    check_given("the height of the walls", own->wall_m, size->wall_m, list);
    check_given("the outlet", own->outlet_m, size->outlet_m, list);
    if (own->hopper_deg.given)
        efi_differ_number(list, "the hopper angle", "degrees", size->hopper_deg, own->hopper_deg.value, 0.0);
}

void efi_verify_steel(const ef_scenario *scenario, int station, const ef_steel *steel, efi_differences *list)
{
    const efi_steel *own = scenario->stations[station].steel;
    if (steel->why != EF_STEEL_FITS)
        return;
    list->subject = steel->station;
    check_size(&steel->size, list);
    for (int k = 0; k < steel->crop_count; k++)
        check_crop(scenario, own, &steel->size, &steel->crops[k], list);
    if (own)
        check_limits(own, &steel->size, list);
    list->subject = NULL;
}
