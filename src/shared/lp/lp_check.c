/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checking a solution against the model, with nothing of the solver's but values x and row duals y.
 *
 * Recomputed are the activities a_i x, the reduced costs d_j = c_j - sum_i a_ij y_i and both objectives.
 * For a program that minimises, y_i and d_j are the multipliers of a lower bound when positive and of an
 * upper when negative, and by weak duality no feasible point is below
 *
 *   D = constant + sum_i y_i b_i + sum_j d_j b_j,   b the lower or upper bound that the sign tells
 *
 * (for one that maximises the signs turn and D is above). So feasible x, multipliers only where there is
 * a bound, and D equal to the objective of x prove the optimum, for a vertex or any other point.
 *
 * Source: weak duality, for instance V. Chvatal, Linear Programming, 1983, chapter 5 (from memory). */
#include "shared/lp/lp_inside.h"

#include <math.h>
#include <string.h>

/* A sum with its rounding error beside it (Neumaier 1974), and the sum of its absolute terms. */
typedef struct account {
    double sum;
    double rest;
    double size;
} account;

static void account_add(account *a, double term)
{
    const double sum = a->sum + term;
    if (fabs(a->sum) >= fabs(term))
        a->rest += (a->sum - sum) + term;
    else
        a->rest += (term - sum) + a->sum;
    a->sum = sum;
    a->size += fabs(term);
}

static double account_total(const account *a)
{
    return a->sum + a->rest;
}

/* The larger of the two; no number when either is none. */
static double larger(double a, double b)
{
    return b <= a || isnan(a) ? a : b;
}

/* By how much `value` misses its bounds, as a share of the scale; `size` is the sum of its absolute terms. */
static double miss(efi_lp_bounds bounds, double value, double size)
{
    double worst = isfinite(value) ? 0.0 : INFINITY;
    const double scale = 1.0 + EFI_LP_CANCEL_SHARE * size;
    if (bounds.has_lower)
        worst = larger(worst, (bounds.lower - value) / (scale + fabs(bounds.lower)));
    if (bounds.has_upper)
        worst = larger(worst, (value - bounds.upper) / (scale + fabs(bounds.upper)));
    return worst;
}

static double primal_check(efi_lp *lp)
{
    double worst = 0.0;
    for (int j = 0; j < lp->column_count; j++)
        worst = larger(worst, miss(lp->columns[j].bounds, lp->values[j], 0.0));
    for (int i = 0; i < lp->row_count; i++) {
        const efi_lp_row *row = &lp->rows[i];
        account activity = {0};
        for (int k = 0; k < row->count; k++)
            account_add(&activity, row->entries[k].value * lp->values[row->entries[k].column]);
        lp->activities[i] = account_total(&activity);
        worst = larger(worst, miss(row->bounds, lp->activities[i], activity.size));
    }
    return worst;
}

static account objective_account(const efi_lp *lp)
{
    account objective = {0};
    account_add(&objective, lp->constant);
    for (int j = 0; j < lp->column_count; j++)
        account_add(&objective, lp->columns[j].objective * lp->values[j]);
    return objective;
}

/* Reduced costs into lp->reduced_costs, the sums of their absolute terms into sizes[column]. */
static void reduce_costs(efi_lp *lp, double *sizes)
{
    double *rests = sizes + lp->column_count;
    for (int j = 0; j < lp->column_count; j++) {
        lp->reduced_costs[j] = lp->columns[j].objective;
        sizes[j] = fabs(lp->columns[j].objective);
        rests[j] = 0.0;
    }
    for (int i = 0; i < lp->row_count; i++) {
        const efi_lp_row *row = &lp->rows[i];
        for (int k = 0; k < row->count; k++) {
            const int j = row->entries[k].column;
            account cost = {lp->reduced_costs[j], rests[j], sizes[j]};
            account_add(&cost, -row->entries[k].value * lp->duals[i]);
            lp->reduced_costs[j] = cost.sum;
            rests[j] = cost.rest;
            sizes[j] = cost.size;
        }
    }
    for (int j = 0; j < lp->column_count; j++)
        lp->reduced_costs[j] += rests[j];
}

/*
 * Adds one multiplier's share to the dual objective and returns by how much it stands without a bound, as a
 * share of the scale. Such a remainder is taken at the present value, where it makes no gap of its own.
 */
static double dual_add(account *dual, double multiplier, efi_lp_bounds bounds, double value, double size,
                       bool minimises)
{
    const bool wants_lower = minimises ? multiplier > 0.0 : multiplier < 0.0;
    if (multiplier == 0.0)
        return 0.0;
    if (wants_lower && bounds.has_lower) {
        account_add(dual, multiplier * bounds.lower);
        return 0.0;
    }
    if (!wants_lower && bounds.has_upper) {
        account_add(dual, multiplier * bounds.upper);
        return 0.0;
    }
    account_add(dual, multiplier * value);
    return fabs(multiplier) / (1.0 + size);
}

static void dual_check(efi_lp *lp, const account *objective, efi_lp_result *result)
{
    double *sizes = lp->check_space;
    const bool minimises = lp->sense == EFI_LP_MINIMISE;
    double worst = 0.0;
    account dual = {0};
    reduce_costs(lp, sizes);
    account_add(&dual, lp->constant);
    for (int i = 0; i < lp->row_count; i++)
        worst = larger(worst,
                       dual_add(&dual, lp->duals[i], lp->rows[i].bounds, lp->activities[i], 0.0, minimises));
    for (int j = 0; j < lp->column_count; j++) {
        const double size = fabs(lp->columns[j].objective) + EFI_LP_CANCEL_SHARE * sizes[j];
        worst = larger(worst, dual_add(&dual, lp->reduced_costs[j], lp->columns[j].bounds, lp->values[j],
                                       size, minimises));
    }
    const double bound = account_total(&dual);
    const double scale = 1.0 + fabs(account_total(objective)) +
                         EFI_LP_CANCEL_SHARE * larger(objective->size, dual.size);
    result->dual_error = worst;
    result->gap = larger(0.0, fabs(account_total(objective) - bound) / scale);
    result->bound = bound;
    result->has_bound = worst <= EFI_LP_DUAL_TOLERANCE && isfinite(bound);
}

bool efi_lp_check(efi_lp *lp, efi_lp_result *result)
{
    result->primal_error = primal_check(lp);
    const account objective = objective_account(lp);
    result->objective = account_total(&objective);
    result->dual_error = 0.0;
    result->gap = 0.0;
    result->has_bound = false;
    if (lp->has_duals)
        dual_check(lp, &objective, result);
    return result->primal_error <= EFI_LP_PRIMAL_TOLERANCE && isfinite(result->objective) &&
           result->dual_error <= EFI_LP_DUAL_TOLERANCE && result->gap <= EFI_LP_GAP_TOLERANCE;
}
