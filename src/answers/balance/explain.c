/* SPDX-License-Identifier: GPL-3.0-or-later
 * Why least rates cannot be met, in stations and rates.
 *
 * Elastic program: each least rate L[o] gets a shortfall e[o] >= 0, sum_m x[o,m] + e[o] >= L[o]; minimise
 * sum e[o] / L[o]. Where e[o] > 0 the demand is part of the conflict; what its outlet could get alone, and
 * the stations that are at capacity then, come from maximising that outlet without any least rate. */
#include "answers/balance/balance.h"

/* A shortfall below this share of the demand is rounding. */
#define SHORTFALL_SHARE 1e-7

static ef_status solve(efi_balance_lp *model)
{
    efi_lp_result result;
    EF_TRY(efi_balance_lp_solve(model, &result));
    return result.outcome == EFI_LP_OPTIMAL ? EF_OK : EF_INTERNAL;
}

/* Adds the shortfalls and minimises them. short_column has shape [station]. */
static ef_status solve_elastic(efi_balance_lp *model, int *short_column)
{
    const efi_line *line = model->line;
    EF_TRY(efi_balance_lp_aim(model, -1));
    for (int i = 0; i < line->intake_count; i++)
        EF_TRY(efi_lp_set_objective(model->lp, model->rate[i], 0.0));
    for (int s = 0; s < line->station_count; s++) {
        if (model->least_row[s] < 0)
            continue;
        const double least = line->stations[s].least_rate.value;
        EF_TRY(efi_lp_add_column(model->lp, "shortfall", efi_lp_at_least(0.0), -1.0 / least, false,
                                 &short_column[s]));
        EF_TRY(efi_lp_set_entry(model->lp, model->least_row[s], short_column[s], 1.0));
    }
    efi_lp_forget_basis(model->lp);
    return solve(model);
}

/* The most that an outlet can get alone, and who holds it there. Least rates are off by then. */
static ef_status explain_one(efi_balance_lp *model, efi_arena *arena, int outlet,
                             ef_balance_conflict *conflict)
{
    const efi_line *line = model->line;
    EF_TRY(efi_balance_lp_aim(model, outlet));
    efi_lp_forget_basis(model->lp);
    EF_TRY(solve(model));
    const double *activities = efi_lp_activities(model->lp);
    const char **limiting = efi_arena_get(arena, (size_t)line->station_count, sizeof *limiting);
    if (!limiting)
        return EF_MEMORY;
    conflict->most_tph = activities[model->least_row[outlet]];
    conflict->limiting = limiting;
    for (int s = 0; s < line->station_count; s++) {
        const efi_value capacity = line->stations[s].capacity;
        if (capacity.given &&
            activities[model->capacity_row[s]] >= capacity.value * (1.0 - EFI_BALANCE_LIMIT_SHARE))
            limiting[conflict->limiting_count++] = line->stations[s].of->name;
    }
    return EF_OK;
}

ef_status efi_balance_explain(efi_balance_lp *model, efi_arena *arena, ef_balance_crop *crop)
{
    const efi_line *line = model->line;
    const size_t stations = (size_t)line->station_count;
    int *short_column = efi_arena_get(arena, stations, sizeof *short_column);
    double *shortfall = efi_arena_get(arena, stations, sizeof *shortfall);
    ef_balance_conflict *conflicts = efi_arena_get(arena, stations, sizeof *conflicts);
    if (!short_column || !shortfall || !conflicts)
        return EF_MEMORY;
    EF_TRY(solve_elastic(model, short_column));
    for (int s = 0; s < line->station_count; s++)
        if (model->least_row[s] >= 0)
            shortfall[s] = efi_lp_values(model->lp)[short_column[s]];
    for (int s = 0; s < line->station_count; s++)
        if (model->least_row[s] >= 0)
            EF_TRY(efi_lp_set_row_bounds(model->lp, model->least_row[s], efi_lp_free_bounds()));
    for (int s = 0; s < line->station_count; s++)
        if (model->least_row[s] >= 0)
            EF_TRY(efi_lp_set_column_bounds(model->lp, short_column[s], efi_lp_exactly(0.0)));
    crop->conflicts = conflicts;
    for (int s = 0; s < line->station_count; s++) {
        const efi_line_station *station = &line->stations[s];
        if (model->least_row[s] < 0 || !(shortfall[s] > SHORTFALL_SHARE * station->least_rate.value))
            continue;
        ef_balance_conflict *conflict = &conflicts[crop->conflict_count++];
        conflict->outlet = station->of->name;
        conflict->demanded_tph = station->least_rate.value;
        conflict->place = efi_tree_place(&line->scenario->tree,
                                         efi_node_find_key(station->of->origin.value, "least rate"));
        EF_TRY(explain_one(model, arena, s, conflict));
    }
    return crop->conflict_count > 0 ? EF_OK : EF_INTERNAL;
}
