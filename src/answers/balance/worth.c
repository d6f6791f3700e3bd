/* SPDX-License-Identifier: GPL-3.0-or-later
 * The worth of one more unit of what limits.
 *
 * The one-sided derivative of the optimum when C[s] grows comes from the lp floor, exact also where several
 * stations limit at once. Where shares are chosen it is taken of the program loosened around the best shares:
 * there its optimum is the true one, and to first order both answer alike to a change of capacity. What that
 * means in intake and product is the derivative along the solution: the program is solved again with a
 * slightly larger C[s], small enough that the aim still grows at that slope. */
#include "answers/balance/balance.h"

#include <math.h>

enum {
    MOST_HALVINGS = 24
};
#define FIRST_STEP_SHARE 1e-3
#define SLOPE_TOLERANCE  1e-6
#define WORTH_TRUST      0.25

/* Aim, intake and product of the present solution. */
typedef struct reached {
    double aim;
    double intake;
    double product;
} reached;

static reached read(const efi_steady_model *model, double aim)
{
    const double *values = efi_lp_values(model->lp);
    reached r = {.aim = aim, .product = efi_steady_product(model)};
    for (int i = 0; i < model->line->intake_count; i++)
        r.intake += values[model->rate[i]];
    return r;
}

static ef_status solve_with(efi_steady_model *model, int row, double limit, reached *r)
{
    efi_lp_result result;
    EF_TRY(efi_lp_set_row_bounds(model->lp, row, efi_lp_at_most(limit)));
    EF_TRY(efi_steady_optimise(model->lp, &result));
    if (result.outcome != EFI_LP_OPTIMAL)
        return EF_INTERNAL;
    *r = read(model, result.objective);
    return EF_OK;
}

ef_status efi_balance_worth_of(efi_steady_model *model, int row, double *aim_slope, double *intake_slope,
                               double *product_slope)
{
    const double limit = efi_lp_row_bounds(model->lp, row).upper;
    const efi_lp_bound bound = {.side = EFI_LP_ROW_UPPER, .index = row};
    reached here;
    EF_TRY(solve_with(model, row, limit, &here));
    EF_TRY(efi_lp_right_slope(model->lp, bound, aim_slope));
    *aim_slope = fmax(*aim_slope, 0.0);
    *intake_slope = *product_slope = 0.0;
    double step = FIRST_STEP_SHARE * limit;
    for (int i = 0; i<MOST_HALVINGS && * aim_slope> 0.0; i++) {
        reached there;
        EF_TRY(solve_with(model, row, limit + step, &there));
        *intake_slope = (there.intake - here.intake) / step;
        *product_slope = (there.product - here.product) / step;
        if (fabs((there.aim - here.aim) / step - *aim_slope) <= SLOPE_TOLERANCE * (1.0 + *aim_slope))
            break;
        step *= 0.5;
    }
    return solve_with(model, row, limit, &here);
}

ef_status efi_balance_worth(efi_steady_model *model, ef_balance_crop *crop, ef_balance_station *stations)
{
    if (model->line->split_count > 0)
        EF_TRY(efi_steady_loosen(model, WORTH_TRUST, false));
    for (int s = 0; s < model->line->station_count; s++) {
        ef_balance_station *station = &stations[s];
        if (!station->limits)
            continue;
        double aim;
        EF_TRY(efi_balance_worth_of(model, model->capacity_row[s], &aim, &station->worth_intake_tph,
                                    &station->worth_product_tph));
        station->worth_value = model->aim == EF_BALANCE_VALUE ? aim : 0.0;
    }
    if (crop->power_limits) {
        double aim;
        EF_TRY(efi_balance_worth_of(model, model->power_row, &aim, &crop->power_worth_intake_tph,
                                    &crop->power_worth_product_tph));
        crop->power_worth_value = model->aim == EF_BALANCE_VALUE ? aim : 0.0;
    }
    return efi_steady_reshare(model);
}
