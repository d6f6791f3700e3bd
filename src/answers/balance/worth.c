/* SPDX-License-Identifier: GPL-3.0-or-later
 * The worth of one more unit of capacity at the stations that limit.
 *
 * The one-sided derivative of the greatest intake when C[s] grows comes from the lp floor, exact also where
 * several stations limit at once. What it brings in product is the same derivative along the solution: the
 * program is solved again with a slightly larger C[s], small enough that the intake still grows at that
 * slope. */
#include "answers/balance/balance.h"

#include <math.h>

enum {
    MOST_HALVINGS = 24
};
#define FIRST_STEP_SHARE 1e-3
#define SLOPE_TOLERANCE  1e-6

static double product_of(const efi_balance_lp *model)
{
    const efi_line *line = model->line;
    const double *values = efi_lp_values(model->lp);
    double product = 0.0;
    for (int s = 0; s < line->station_count; s++) {
        if (!line->stations[s].of->product)
            continue;
        for (int m = 0; m < line->materials; m++) {
            const int column = model->feed[(size_t)s * (size_t)line->materials + (size_t)m];
            product += column >= 0 ? values[column] : 0.0;
        }
    }
    return product;
}

static ef_status solve_with(efi_balance_lp *model, int s, double capacity, double *intake, double *product)
{
    efi_lp_result result;
    EF_TRY(efi_lp_set_row_bounds(model->lp, model->capacity_row[s], efi_lp_at_most(capacity)));
    EF_TRY(efi_balance_lp_solve(model, &result));
    if (result.outcome != EFI_LP_OPTIMAL)
        return EF_INTERNAL;
    *intake = result.objective;
    *product = product_of(model);
    return EF_OK;
}

/* Slope of the product where the intake grows by `slope` for each unit of capacity of station `s`. */
static ef_status product_slope(efi_balance_lp *model, int s, double slope, double *product_slope_out)
{
    const double capacity = model->line->stations[s].capacity.value;
    double intake;
    double product;
    EF_TRY(solve_with(model, s, capacity, &intake, &product));
    double step = FIRST_STEP_SHARE * capacity;
    *product_slope_out = 0.0;
    for (int i = 0; i < MOST_HALVINGS && slope > 0.0; i++, step *= 0.5) {
        double more_intake;
        double more_product;
        EF_TRY(solve_with(model, s, capacity + step, &more_intake, &more_product));
        *product_slope_out = (more_product - product) / step;
        if (fabs((more_intake - intake) / step - slope) <= SLOPE_TOLERANCE * (1.0 + slope))
            break;
    }
    return solve_with(model, s, capacity, &intake, &product);
}

ef_status efi_balance_worth(efi_balance_lp *model, ef_balance_station *stations)
{
    for (int s = 0; s < model->line->station_count; s++) {
        ef_balance_station *station = &stations[s];
        if (!station->limits)
            continue;
        const efi_lp_bound bound = {.side = EFI_LP_ROW_UPPER, .index = model->capacity_row[s]};
        double slope;
        EF_TRY(efi_lp_right_slope(model->lp, bound, &slope));
        station->worth_intake_tph = slope > 0.0 ? slope : 0.0;
        EF_TRY(product_slope(model, s, station->worth_intake_tph, &station->worth_product_tph));
    }
    return EF_OK;
}
