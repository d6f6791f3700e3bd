/* SPDX-License-Identifier: GPL-3.0-or-later
 * Solving the program of a balance. */
#include "shared/steady/steady.h"

#include <math.h>

/* The rates of the solver are scaled so that what limits is exactly at its limit; a larger correction than
 * this would mean that the solver's answer was wrong. */
#define MOST_CORRECTION 1e-6

static const double *feed_of(const efi_steady_model *model, int station)
{
    return model->feeds + (size_t)station * (size_t)model->line->materials;
}

/* The factor by which all rates may grow until the first limit is met. */
static double room_to_grow(const efi_steady_model *model)
{
    const efi_line *line = model->line;
    double factor = INFINITY;
    for (int s = 0; s < line->station_count; s++) {
        const efi_value capacity = line->stations[s].capacity;
        if (!capacity.given)
            continue;
        const efi_lp_bounds bounds = efi_lp_row_bounds(model->lp, model->capacity_row[s]);
        const double *feed = feed_of(model, s);
        const double used = capacity.of == EFI_KIND_VOLUME_RATE ? efi_line_volume(line, feed)
                                                                : efi_line_total(line, feed);
        if (bounds.has_upper && used > 0.0)
            factor = fmin(factor, bounds.upper / used);
    }
    if (model->power_row >= 0) {
        const efi_lp_bounds bounds = efi_lp_row_bounds(model->lp, model->power_row);
        const double used = efi_line_power(line, model->feeds) - line->idle_kw;
        if (bounds.has_upper && used > 0.0)
            factor = fmin(factor, bounds.upper / used);
    }
    return factor;
}

/* The aim at the rates. */
static double aim_of(const efi_steady_model *model)
{
    double aim = 0.0;
    for (int i = 0; i < model->line->intake_count; i++)
        aim += efi_lp_objective(model->lp, model->rate[i]) * model->rates[i];
    return aim;
}

/* What missed least rates cost where the program is elastic, else 0. */
static double elastic_part(const efi_steady_model *model, const double *values)
{
    double part = 0.0;
    for (int s = 0; s < model->line->station_count; s++)
        if (model->short_column[s] >= 0)
            part += efi_lp_objective(model->lp, model->short_column[s]) * values[model->short_column[s]];
    return part;
}

/* An error of the solver up to this is rounding, on the scale of EFI_LP_PRIMAL_TOLERANCE. */
#define ROUNDING 1e-12

/* Solves to fine tolerances; where that fails, afresh and to the usual ones. */
static ef_status solve_finely(efi_lp *lp, efi_lp_result *result)
{
    efi_lp_options options = efi_lp_defaults();
    options.is_fine = true;
    options.keeps_scale = true;
    EF_TRY(efi_lp_solve(lp, &options, result));
    if (result->outcome != EFI_LP_FAILED)
        return EF_OK;
    efi_lp_forget_basis(lp);
    return efi_lp_solve(lp, NULL, result);
}

ef_status efi_steady_optimise(efi_lp *lp, efi_lp_result *result)
{
    EF_TRY(solve_finely(lp, result));
    if (result->outcome != EFI_LP_OPTIMAL || result->primal_error <= ROUNDING)
        return EF_OK;
    return solve_finely(lp, result);
}

/* The t/h of product among feeds. */
static double product_in(const efi_line *line, const double *feeds)
{
    double product = 0.0;
    for (int s = 0; s < line->station_count; s++)
        if (line->stations[s].of->product)
            product += efi_line_total(line, feeds + (size_t)s * (size_t)line->materials);
    return product;
}

double efi_steady_product(const efi_steady_model *model)
{
    const efi_line *line = model->line;
    const size_t cells = (size_t)line->station_count * (size_t)line->materials;
    const double *values = efi_lp_values(model->lp);
    double product = 0.0;
    for (int i = 0; i < line->intake_count; i++)
        product += values[model->rate[i]] * product_in(line, model->of_rate + (size_t)i * cells);
    for (int b = 0; b < model->branch_count; b++) {
        const double change = values[model->change[model->branches[b]]];
        if (change != 0.0)
            product += change * product_in(line, model->of_change + (size_t)b * cells);
    }
    return product;
}

/* Feeds at the rates: sums of what each t/h causes. */
static void set_feeds(const efi_steady_model *model)
{
    const efi_line *line = model->line;
    const size_t cells = (size_t)line->station_count * (size_t)line->materials;
    for (size_t c = 0; c < cells; c++) {
        model->feeds[c] = 0.0;
        for (int i = 0; i < line->intake_count; i++)
            model->feeds[c] += model->rates[i] * model->of_rate[(size_t)i * cells + c];
    }
}

void efi_steady_stand(const efi_steady_model *model, const double *rates)
{
    for (int i = 0; i < model->line->intake_count; i++)
        model->rates[i] = fmax(rates[i], 0.0);
    set_feeds(model);
}

ef_status efi_steady_solve(efi_steady_model *model, efi_lp_outcome *outcome, double *value)
{
    const efi_line *line = model->line;
    efi_lp_result result;
    EF_TRY(efi_steady_optimise(model->lp, &result));
    *outcome = result.outcome;
    if (result.outcome != EFI_LP_OPTIMAL)
        return EF_OK;
    const double *values = efi_lp_values(model->lp);
    efi_steady_stand(model, values + model->rate[0]);
    const double factor = room_to_grow(model);
    model->correction = 0.0;
    if (fabs(factor - 1.0) <= MOST_CORRECTION) { /* else nothing limits, as when running does not pay */
        model->correction = fabs(factor - 1.0) > ROUNDING ? fabs(factor - 1.0) : 0.0;
        for (int i = 0; i < line->intake_count; i++)
            model->rates[i] *= factor;
        set_feeds(model);
    }
    *value = aim_of(model) + elastic_part(model, values);
    return EF_OK;
}
