/* SPDX-License-Identifier: GPL-3.0-or-later
 * One-sided worth of a bound, exact on degenerate optima.
 *
 * Let x be an optimum and z(b) the optimum as a function of one bound b. Take the constraints active at x:
 * rows and columns at their lower or upper bound. For a program that maximises (for minimising read min), the
 * derivative from the right is the optimum of the directional program
 *
 *   z'(b+) = max c d   subject to  a d >= 0 for each lower bound active at x,
 *                                  a d <= 0 for each upper bound active at x,
 *            except that the side of b itself, if active, has +1 in place of 0
 *
 * and the derivative from the left is minus its optimum with -1 in place of 0.
 * Proof. Inactive constraints leave room for small t. (1) If d is feasible, x + t d is so in the program with
 * b + t, hence z(b + t) >= z(b) + t c d. (2) If x_t is an optimum for b + t, then d = (x_t - x) / t is
 * feasible and c d = (z(b + t) - z(b)) / t. Since z is piecewise linear, the quotient is the derivative for
 * small t. The argument holds for every optimum x, unique or not, vertex or not, and needs no step length.
 * The optimum is finite wherever the directional program is feasible, because c d <= 0 on its recession cone
 * (x is optimal). By duality it is the least multiplier of b over all optimal duals, the greatest from the
 * left.
 *
 * The basis of x is a basis of d = 0 in the directional program, optimal while every side is 0: each slope
 * is a dual simplex run of a few pivots from there. `lp` itself is only read.
 *
 * Source of the derivative as extreme multiplier: A. C. Williams, Marginal values in linear programming,
 * J. SIAM 11 (1963) 82-94 (from memory). */
#include "shared/lp/lp_inside.h"

#include <math.h>
#include <string.h>

static bool is_at(double value, double bound)
{
    return fabs(value - bound) <= EFI_LP_ACTIVE_TOLERANCE * (1.0 + fabs(bound));
}

/* The sides of a constraint's direction when nothing moves: 0 where it is active at `value`. */
static efi_lp_bounds direction_bounds(efi_lp_bounds b, double value)
{
    return (efi_lp_bounds){
        .has_lower = b.has_lower && (is_at(value, b.lower) || value < b.lower),
        .has_upper = b.has_upper && (is_at(value, b.upper) || value > b.upper),
    };
}

/* The directional program with all sides 0. */
static ef_status directions_build(const efi_lp *lp, efi_lp *directions)
{
    efi_lp_set_sense(directions, lp->sense);
    for (int j = 0; j < lp->column_count; j++)
        EF_TRY(efi_lp_add_column(directions, NULL, direction_bounds(lp->columns[j].bounds, lp->values[j]),
                                 lp->columns[j].objective, false, NULL));
    for (int i = 0; i < lp->row_count; i++)
        EF_TRY(efi_lp_add_row(directions, NULL, direction_bounds(lp->rows[i].bounds, lp->activities[i]),
                              lp->rows[i].entries, lp->rows[i].count, NULL));
    return efi_lp_basis_borrow(directions, lp);
}

static bool is_column_side(efi_lp_side side)
{
    return side == EFI_LP_COLUMN_LOWER || side == EFI_LP_COLUMN_UPPER;
}

static bool is_lower_side(efi_lp_side side)
{
    return side == EFI_LP_COLUMN_LOWER || side == EFI_LP_ROW_LOWER;
}

/* Bounds of the constraint that `bound` belongs to. */
static efi_lp_bounds bounds_of(const efi_lp *lp, efi_lp_bound bound)
{
    return is_column_side(bound.side) ? lp->columns[bound.index].bounds : lp->rows[bound.index].bounds;
}

static bool bound_is_there(const efi_lp *lp, efi_lp_bound bound)
{
    const int count = is_column_side(bound.side) ? lp->column_count : lp->row_count;
    if (bound.index < 0 || bound.index >= count)
        return false;
    const efi_lp_bounds b = bounds_of(lp, bound);
    return is_lower_side(bound.side) ? b.has_lower : b.has_upper;
}

static ef_status bounds_set(efi_lp *lp, efi_lp_bound bound, efi_lp_bounds bounds)
{
    return is_column_side(bound.side) ? efi_lp_set_column_bounds(lp, bound.index, bounds)
                                      : efi_lp_set_row_bounds(lp, bound.index, bounds);
}

/* Optimum of the directional program when one active side moves by `step`, +1 or -1, as a slope. */
static ef_status slope_of(efi_lp *directions, efi_lp_bound bound, double step, double *slope)
{
    const efi_lp_bounds still = bounds_of(directions, bound);
    efi_lp_bounds moved = still;
    if (is_lower_side(bound.side))
        moved.lower = step;
    else
        moved.upper = step;
    const efi_lp_options options = {.method = EFI_LP_DUAL, .presolve = EFI_LP_PRESOLVE_OFF};
    efi_lp_result result;
    EF_TRY(bounds_set(directions, bound, moved));
    EF_TRY(efi_lp_solve(directions, &options, &result));
    EF_TRY(bounds_set(directions, bound, still));
    if (result.outcome == EFI_LP_OPTIMAL) {
        *slope = step * result.objective;
    } else if (result.outcome == EFI_LP_INFEASIBLE) {
        const double worst = directions->sense == EFI_LP_MINIMISE ? INFINITY : -INFINITY;
        *slope = step * worst;
    } else {
        return EF_INTERNAL;
    }
    return EF_OK;
}

static bool can_tell(const efi_lp *lp, const efi_lp_bound *bounds, int count)
{
    if (!lp->is_current || !lp->is_optimal || !lp->has_duals || count < 0)
        return false;
    for (int k = 0; k < count; k++)
        if (!bound_is_there(lp, bounds[k]))
            return false;
    return true;
}

ef_status efi_lp_slopes(const efi_lp *lp, const efi_lp_bound *bounds, int count, efi_lp_direction direction,
                        double *slopes)
{
    if (!can_tell(lp, bounds, count))
        return EF_USAGE;
    const double step = direction == EFI_LP_GROW ? 1.0 : -1.0;
    double *found = efi_new((size_t)count, sizeof *found);
    efi_lp *directions = efi_lp_new();
    ef_status status = found && directions ? directions_build(lp, directions) : EF_MEMORY;
    for (int k = 0; status == EF_OK && k < count; k++) {
        const efi_lp_bounds active = bounds_of(directions, bounds[k]);
        if (is_lower_side(bounds[k].side) ? active.has_lower : active.has_upper)
            status = slope_of(directions, bounds[k], step, &found[k]);
    }
    if (status == EF_OK && count > 0)
        memcpy(slopes, found, (size_t)count * sizeof *found);
    efi_lp_free(directions);
    efi_free(found);
    return status;
}

ef_status efi_lp_right_slope(const efi_lp *lp, efi_lp_bound bound, double *slope)
{
    return efi_lp_slopes(lp, &bound, 1, EFI_LP_GROW, slope);
}
