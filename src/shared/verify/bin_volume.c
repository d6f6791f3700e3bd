/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/verify/bin_volume.h"

#include <math.h>

enum {
    COLUMNS = 700 /* each way */
};

static double tangent(double deg)
{
    return tan(deg * EF_PI / 180.0);
}

static double given_or(efi_value value, double other)
{
    return value.given ? value.value : other;
}

/* Height of the hopper's wall at a place: what its sides say that face the length, and the width. */
static double wall_height(const efi_columns *b, double out_x, double out_y)
{
    const double run_x = b->half_x - b->open_x;
    const double run_y = b->half_y - b->open_y;
    const double by_x = run_x > 0.0 && out_x > 0.0 ? b->hopper_m * out_x / run_x : 0.0;
    const double by_y = run_y > 0.0 && out_y > 0.0 ? b->hopper_m * out_y / run_y : 0.0;
    return by_x > by_y ? by_x : by_y;
}

static double column(const efi_columns *b, double x, double y)
{
    double out_x = fabs(x) - b->open_x;
    double out_y = fabs(y) - b->open_y;
    if (b->is_round) {
        out_x = 0.0;
        out_y = sqrt(x * x + y * y) - b->open_y;
    }
    out_x = out_x > 0.0 ? out_x : 0.0;
    out_y = out_y > 0.0 ? out_y : 0.0;
    const double hopper = wall_height(b, out_x, out_y);
    const double left = b->rest * sqrt(out_x * out_x + out_y * out_y);
    const double to_x = x - b->inlet_x;
    const double to_y = y - b->inlet_y;
    const double top = b->peak_m - b->heap * sqrt(to_x * to_x + to_y * to_y);
    const double floor_m = left > hopper ? left : hopper;
    return top > floor_m ? top - floor_m : 0.0;
}

double efi_columns_add_up(const efi_columns *b, double *slack_m3)
{
    double sum = 0.0;
    for (int i = 0; i < COLUMNS; i++) {
        double row = 0.0;
        for (int k = 0; k < COLUMNS; k++) {
            const double u = (i + 0.5) / COLUMNS;
            const double v = (k + 0.5) / COLUMNS;
            if (b->is_round) {
                const double r = u * b->half_x;
                row += r * column(b, r * cos(2.0 * EF_PI * v), r * sin(2.0 * EF_PI * v));
            } else {
                row += column(b, (2.0 * u - 1.0) * b->half_x, (2.0 * v - 1.0) * b->half_y);
            }
        }
        sum += row;
    }
    const double each = b->is_round ? 2.0 * EF_PI * b->half_x : 4.0 * b->half_x * b->half_y;
    *slack_m3 = EFI_COLUMNS_SHARE * 4.0 * b->half_x * b->half_y * (b->hopper_m + b->wall_m);
    return sum * each / COLUMNS / COLUMNS;
}

double efi_columns_flattest(const efi_columns *b)
{
    const double run_x = b->is_round ? 0.0 : b->half_x - b->open_x;
    const double run_y = b->half_y - b->open_y;
    return b->hopper_m > 0.0 ? b->hopper_m / sqrt(run_x * run_x + run_y * run_y) : 0.0;
}

double efi_columns_slides(const efi_steel *steel, const efi_crop *crop, int number)
{
    const double needed = tangent(crop->emptying_deg.value);
    const efi_value *wall = steel ? steel->wall_friction : NULL;
    if (!wall || !wall[number].given)
        return needed;
    const double rub = wall[number].of == EFI_KIND_ANGLE ? tangent(wall[number].value) : wall[number].value;
    return rub < needed ? rub : needed;
}

/* The bin as the scenario says, empty. */
static efi_columns columns_of(const efi_steel *steel)
{
    const bool is_round = steel->shape == EFI_SHAPE_ROUND;
    const double width = is_round ? steel->diameter_m.value : steel->width_m.value;
    efi_columns b = {.is_round = is_round, .half_x = width / 2.0, .half_y = width / 2.0};
    if (!is_round)
        b.half_x = given_or(steel->length_m, width) / 2.0;
    b.open_y = steel->outlet_m.value / 2.0;
    b.open_x = given_or(steel->outlet_length_m, steel->outlet_m.value) / 2.0;
    if (steel->hopper == EFI_HOPPER_WEDGE)
        b.open_x = b.half_x;
    const double run_x = b.half_x - b.open_x;
    const double run_y = b.half_y - b.open_y;
    if (steel->hopper != EFI_HOPPER_FLAT)
        b.hopper_m = (run_x > run_y ? run_x : run_y) * tangent(steel->hopper_deg.value);
    b.wall_m = steel->wall_m.value;
    b.peak_m = b.hopper_m + b.wall_m - given_or(steel->freeboard_m, 0.0);
    b.inlet_x = given_or(steel->inlet_offset_m, 0.0);
    b.inlet_y = is_round ? 0.0 : given_or(steel->inlet_across_m, 0.0);
    return b;
}

bool efi_verify_live_m3(const efi_station *station, const efi_crop *crop, int number, double *live_m3,
                        double *slack_m3)
{
    const efi_steel *steel = station->steel;
    *live_m3 = station->live_m3.value;
    *slack_m3 = 0.0;
    if (station->live_m3.given || !station->live_by_crop_m3 || !steel || !crop->repose_deg.given)
        return station->live_m3.given;
    efi_columns b = columns_of(steel);
    b.heap = tangent(crop->repose_deg.value);
    if (efi_columns_flattest(&b) < efi_columns_slides(steel, crop, number) * (1.0 - 1e-12))
        b.rest = tangent(crop->emptying_deg.value);
    *live_m3 = efi_columns_add_up(&b, slack_m3);
    return true;
}

void efi_verify_full(efi_differences *list, const ef_scenario *scenario, const efi_station *bin, int crop,
                     double full_t, double t_per_m3, double floor_t)
{
    double live_m3;
    double slack_m3;
    (void)efi_verify_live_m3(bin, &scenario->crops[crop], crop, &live_m3, &slack_m3);
    efi_differ_number(list, "what it holds", "t", full_t, live_m3 * t_per_m3,
                      fmax(floor_t, slack_m3 * t_per_m3));
}
