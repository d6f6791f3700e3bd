/* SPDX-License-Identifier: GPL-3.0-or-later
 * Why demands cannot be met, in stations and rates.
 *
 * The program is the relaxation where shares are to be chosen, so that what is said to be out of reach is out
 * of reach for every choice. Least rates are made elastic, sum_m x[o,m] + e[o] >= L[o], and sum e[o] is
 * minimised. Where e[o] > 0 the demand is part of the conflict; what its outlet could get alone, and the
 * stations that are at capacity then, come from maximising that outlet without any least rate. */
#include "answers/balance/balance.h"

/* A shortfall below this share of the demand is rounding. */
#define SHORTFALL_SHARE 1e-7

static ef_status solve(efi_steady_whole *whole)
{
    efi_lp_result result;
    efi_lp_forget_basis(whole->lp);
    EF_TRY(efi_steady_optimise(whole->lp, &result));
    return result.outcome == EFI_LP_OPTIMAL ? EF_OK : EF_INTERNAL;
}

/* The most that an outlet can get alone, and who holds it there. Least rates are off by then. */
static ef_status explain_rate(efi_steady_whole *whole, efi_arena *arena, int outlet,
                              ef_balance_conflict *conflict)
{
    const efi_line *line = whole->line;
    const efi_line_station *station = &line->stations[outlet];
    *conflict = (ef_balance_conflict){
        .demand = EF_BALANCE_LEAST_RATE,
        .outlet = station->of->name,
        .place = efi_tree_place(&line->scenario->tree,
                                efi_node_find_key(station->of->origin.value, "least rate")),
        .demanded_tph = station->least_rate.value};
    EF_TRY(efi_steady_whole_aim(whole, outlet));
    EF_TRY(solve(whole));
    const double *activities = efi_lp_activities(whole->lp);
    const char **limiting = efi_arena_get(arena, (size_t)line->station_count, sizeof *limiting);
    if (!limiting)
        return EF_MEMORY;
    conflict->most_tph = activities[whole->least_row[outlet]];
    if (conflict->most_tph < SHORTFALL_SHARE * conflict->demanded_tph)
        conflict->most_tph = 0.0;
    conflict->limiting = limiting;
    for (int s = 0; s < line->station_count; s++) {
        const efi_value capacity = line->stations[s].capacity;
        if (capacity.given &&
            activities[whole->capacity_row[s]] >= capacity.value * (1.0 - EFI_STEADY_LIMIT_SHARE))
            limiting[conflict->limiting_count++] = line->stations[s].of->name;
    }
    return EF_OK;
}

static ef_status explain_rates(efi_steady_whole *whole, efi_arena *arena, ef_balance_crop *crop,
                               ef_balance_conflict *conflicts)
{
    const efi_line *line = whole->line;
    double *shortfall = efi_arena_get(arena, (size_t)line->station_count, sizeof *shortfall);
    if (!shortfall)
        return EF_MEMORY;
    EF_TRY(efi_steady_whole_elastic(whole, true));
    EF_TRY(solve(whole));
    for (int s = 0; s < line->station_count; s++)
        if (whole->least_row[s] >= 0)
            shortfall[s] = efi_lp_values(whole->lp)[whole->short_column[s]];
    EF_TRY(efi_steady_whole_elastic(whole, false));
    for (int s = 0; s < line->station_count; s++)
        if (whole->least_row[s] >= 0)
            EF_TRY(efi_lp_set_row_bounds(whole->lp, whole->least_row[s], efi_lp_free_bounds()));
    for (int s = 0; s < line->station_count; s++) {
        if (whole->least_row[s] < 0 || !(shortfall[s] > SHORTFALL_SHARE * line->stations[s].least_rate.value))
            continue;
        EF_TRY(explain_rate(whole, arena, s, &conflicts[crop->conflict_count++]));
    }
    return EF_OK;
}

ef_status efi_balance_explain(efi_steady_whole *whole, efi_arena *arena, ef_balance_crop *crop)
{
    const efi_line *line = whole->line;
    ef_balance_conflict *conflicts = efi_arena_get(arena, (size_t)line->station_count + 1, sizeof *conflicts);
    if (!conflicts)
        return EF_MEMORY;
    crop->conflicts = conflicts;
    if (efi_line_lacks_power(line)) {
        const efi_node *key = efi_node_find_key(line->scenario->plant->origin.value, "power limit");
        conflicts[crop->conflict_count++] = (ef_balance_conflict){
            .demand = EF_BALANCE_POWER,
            .place = efi_tree_place(&line->scenario->tree, key ? key : line->of->origin.key),
            .idle_kw = line->idle_kw,
            .limit_kw = line->power_limit_kw};
        return EF_OK;
    }
    EF_TRY(explain_rates(whole, arena, crop, conflicts));
    return EF_OK;
}

ef_status efi_balance_explain_purity(efi_steady_model *model, efi_arena *arena, ef_balance_crop *crop)
{
    const efi_line *line = model->line;
    for (int s = 0; s < line->station_count; s++)
        if (model->purity_row[s] >= 0)
            EF_TRY(efi_lp_set_row_bounds(model->lp, model->purity_row[s], efi_lp_free_bounds()));
    ef_balance_conflict *conflicts = efi_arena_get(arena, (size_t)line->station_count, sizeof *conflicts);
    if (!conflicts)
        return EF_MEMORY;
    efi_lp_outcome outcome;
    double value;
    efi_steady_search counts;
    EF_TRY(efi_steady_choose(model, arena, &outcome, &value, &counts));
    if (outcome != EFI_LP_OPTIMAL)
        return EF_OK;
    for (int s = 0; s < line->station_count; s++) {
        const double *feed = model->feeds + (size_t)s * (size_t)line->materials;
        const double total = efi_line_total(line, feed);
        double wanted = 0.0;
        for (int m = 0; m < line->materials; m++)
            wanted += line->scenario->materials[m].wanted ? feed[m] : 0.0;
        if (model->purity_row[s] < 0 || !(total > 0.0) ||
            wanted >= line->stations[s].least_purity.value * total)
            continue;
        const efi_station *of = line->stations[s].of;
        conflicts[crop->conflict_count++] = (ef_balance_conflict){
            .demand = EF_BALANCE_LEAST_PURITY,
            .outlet = of->name,
            .place = efi_tree_place(&line->scenario->tree,
                                    efi_node_find_key(of->origin.value, "least purity")),
            .demanded_share = line->stations[s].least_purity.value,
            .reached_share = wanted / total};
    }
    crop->conflicts = conflicts;
    return EF_OK;
}
