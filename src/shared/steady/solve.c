/* SPDX-License-Identifier: GPL-3.0-or-later
 * Solving the program of a balance at given shares, and loosening it around them. */
#include "shared/steady/steady.h"

#include <math.h>

/* The rates of the solver are scaled so that what limits is exactly at its limit; a larger correction than
 * this would mean that the solver's answer was wrong. */
#define MOST_CORRECTION 1e-6

static size_t cell(const efi_steady_model *model, int station, int material)
{
    return (size_t)station * (size_t)model->line->materials + (size_t)material;
}

/* What all spouts between two stations take together of a material: two branches may lead to one station. */
static double joint_share(const efi_line *line, int spout, int material)
{
    const efi_line_spout *of = &line->spouts[spout];
    double share = 0.0;
    for (int k = line->first_out[of->from]; k < line->first_out[of->from + 1]; k++)
        if (line->spouts[k].to == of->to)
            share += line->spouts[k].share[material];
    return share;
}

/* Rows of least purities and rates with what may be missing of them: nothing where shares are proposed, a
 * little where they are judged, so that proposed shares do not fall through by rounding (the row of a purity
 * is homogeneous: missed by a hair it allows no rate). */
static ef_status set_demands(efi_steady_model *model, double purity_slack, double rate_slack)
{
    const efi_line *line = model->line;
    for (int s = 0; s < line->station_count; s++) {
        for (int m = 0; model->purity_row[s] >= 0 && m < line->materials; m++) {
            const int column = model->feed[cell(model, s, m)];
            const double wanted = line->scenario->materials[m].wanted ? 1.0 : 0.0;
            if (column >= 0)
                EF_TRY(efi_lp_set_entry(model->lp, model->purity_row[s], column,
                                        wanted - line->stations[s].least_purity.value + purity_slack));
        }
        if (model->least_row[s] >= 0 && efi_lp_row_bounds(model->lp, model->least_row[s]).has_lower)
            EF_TRY(efi_lp_set_row_bounds(
                model->lp, model->least_row[s],
                efi_lp_at_least(line->stations[s].least_rate.value * (1.0 - rate_slack))));
    }
    return EF_OK;
}

ef_status efi_steady_reshare(efi_steady_model *model)
{
    const efi_line *line = model->line;
    for (int k = 0; k < line->spout_count; k++) {
        if (model->change[k] < 0)
            continue;
        const efi_line_spout *spout = &line->spouts[k];
        for (int m = 0; m < line->materials; m++) {
            const int row = model->flow_row[cell(model, spout->to, m)];
            if (row >= 0)
                EF_TRY(efi_lp_set_entry(model->lp, row, model->feed[cell(model, spout->from, m)],
                                        -joint_share(line, k, m)));
        }
        EF_TRY(efi_lp_set_column_bounds(model->lp, model->change[k], efi_lp_exactly(0.0)));
    }
    return set_demands(model, EFI_STEADY_PURITY_SLACK, EFI_STEADY_RATE_SLACK);
}

ef_status efi_steady_loosen(efi_steady_model *model, double trust)
{
    const efi_line *line = model->line;
    for (int k = 0; k < line->spout_count; k++) {
        if (model->change[k] < 0)
            continue;
        const efi_line_spout *spout = &line->spouts[k];
        for (int m = 0; m < line->materials; m++) {
            const int row = model->flow_row[cell(model, spout->to, m)];
            if (row >= 0)
                EF_TRY(efi_lp_set_entry(model->lp, row, model->change[k],
                                        -model->feeds[cell(model, spout->from, m)]));
        }
        const double share = efi_line_branch(line, k);
        const double down = fmin(trust, share - efi_line_branch_least(line, k));
        const double up = fmin(trust, efi_line_branch_most(line, k) - share);
        EF_TRY(efi_lp_set_column_bounds(model->lp, model->change[k],
                                        efi_lp_between(-fmax(down, 0.0), fmax(up, 0.0))));
    }
    return set_demands(model, 0.0, 0.0);
}

/* The factor by which all rates may grow until the first limit is met. */
static double room_to_grow(const efi_steady_model *model, const double *feeds)
{
    const efi_line *line = model->line;
    double factor = INFINITY;
    for (int s = 0; s < line->station_count; s++) {
        const efi_value capacity = line->stations[s].capacity;
        if (!capacity.given)
            continue;
        const efi_lp_bounds bounds = efi_lp_row_bounds(model->lp, model->capacity_row[s]);
        const double *feed = feeds + cell(model, s, 0);
        const double used = capacity.of == EFI_KIND_VOLUME_RATE ? efi_line_volume(line, feed)
                                                                : efi_line_total(line, feed);
        if (bounds.has_upper && used > 0.0)
            factor = fmin(factor, bounds.upper / used);
    }
    if (model->power_row >= 0) {
        const efi_lp_bounds bounds = efi_lp_row_bounds(model->lp, model->power_row);
        const double used = efi_line_power(line, feeds) - line->idle_kw;
        if (bounds.has_upper && used > 0.0)
            factor = fmin(factor, bounds.upper / used);
    }
    return factor;
}

/* The aim at the exact rates and feeds. */
static double aim_of(const efi_steady_model *model)
{
    const efi_line *line = model->line;
    double aim = 0.0;
    for (int i = 0; i < line->intake_count; i++)
        aim += efi_lp_objective(model->lp, model->rate[i]) * model->rates[i];
    for (int s = 0; s < line->station_count; s++) {
        for (int m = 0; m < line->materials; m++) {
            const int column = model->feed[cell(model, s, m)];
            aim += column >= 0 ? efi_lp_objective(model->lp, column) * model->feeds[cell(model, s, m)] : 0.0;
        }
    }
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
static ef_status solve_finely(efi_steady_model *model, efi_lp_result *result)
{
    efi_lp_options options = efi_lp_defaults();
    options.is_fine = true;
    EF_TRY(efi_lp_solve(model->lp, &options, result));
    if (result->outcome != EFI_LP_FAILED)
        return EF_OK;
    efi_lp_forget_basis(model->lp);
    return efi_lp_solve(model->lp, NULL, result);
}

ef_status efi_steady_optimise(efi_steady_model *model, efi_lp_result *result)
{
    EF_TRY(solve_finely(model, result));
    if (result->outcome != EFI_LP_OPTIMAL || result->primal_error <= ROUNDING)
        return EF_OK;
    return solve_finely(model, result);
}

ef_status efi_steady_solve(efi_steady_model *model, efi_lp_outcome *outcome, double *value)
{
    const efi_line *line = model->line;
    efi_lp_result result;
    EF_TRY(efi_steady_optimise(model, &result));
    *outcome = result.outcome;
    if (result.outcome != EFI_LP_OPTIMAL)
        return EF_OK;
    const double *values = efi_lp_values(model->lp);
    for (int i = 0; i < line->intake_count; i++)
        model->rates[i] = fmax(values[model->rate[i]], 0.0);
    EF_TRY(efi_line_flows(line, model->rates, model->feeds));
    const double factor = room_to_grow(model, model->feeds);
    if (fabs(factor - 1.0) <= MOST_CORRECTION) { /* else nothing limits, as when running does not pay */
        for (int i = 0; i < line->intake_count; i++)
            model->rates[i] *= factor;
        EF_TRY(efi_line_flows(line, model->rates, model->feeds));
    }
    *value = aim_of(model) + elastic_part(model, values);
    return EF_OK;
}
