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

/* The program that is asked: of the line as it is, or relaxed where shares are to be chosen. */
typedef struct asked {
    const efi_line *line;
    efi_lp *lp;
    const int *capacity_row;
    const int *least_row;
    const int *short_column;
    efi_steady_model *exact;   /* one of the two */
    efi_steady_whole *relaxed; /* NULL without shares to choose */
} asked;

static ef_status set_elastic(const asked *a, bool elastic)
{
    return a->relaxed ? efi_steady_whole_elastic(a->relaxed, elastic) : efi_steady_elastic(a->exact, elastic);
}

static ef_status set_aim(const asked *a, int outlet)
{
    return a->relaxed ? efi_steady_whole_aim(a->relaxed, outlet) : efi_steady_aim(a->exact, outlet);
}

static ef_status solve(const asked *a)
{
    efi_lp_result result;
    efi_lp_forget_basis(a->lp);
    EF_TRY(efi_steady_optimise(a->lp, &result));
    return result.outcome == EFI_LP_OPTIMAL ? EF_OK : EF_INTERNAL;
}

/* The most that an outlet can get alone, and who holds it there. Least rates are off by then. */
static ef_status explain_rate(const asked *a, efi_arena *arena, int outlet, ef_balance_conflict *conflict)
{
    const efi_line *line = a->line;
    const efi_line_station *station = &line->stations[outlet];
    *conflict = (ef_balance_conflict){
        .demand = EF_BALANCE_LEAST_RATE,
        .outlet = station->of->name,
        .place = efi_tree_place(&line->scenario->tree,
                                efi_node_find_key(station->of->origin.value, "least rate")),
        .demanded_tph = station->least_rate.value};
    EF_TRY(set_aim(a, outlet));
    EF_TRY(solve(a));
    const double *activities = efi_lp_activities(a->lp);
    const char **limiting = efi_arena_get(arena, (size_t)line->station_count, sizeof *limiting);
    if (!limiting)
        return EF_MEMORY;
    conflict->most_tph = activities[a->least_row[outlet]];
    if (conflict->most_tph < SHORTFALL_SHARE * conflict->demanded_tph)
        conflict->most_tph = 0.0;
    conflict->limiting = limiting;
    for (int s = 0; s < line->station_count; s++) {
        const efi_value capacity = line->stations[s].capacity;
        if (capacity.given &&
            activities[a->capacity_row[s]] >= capacity.value * (1.0 - EFI_STEADY_LIMIT_SHARE))
            limiting[conflict->limiting_count++] = line->stations[s].of->name;
    }
    return EF_OK;
}

static ef_status explain_rates(const asked *a, efi_arena *arena, ef_balance_crop *crop,
                               ef_balance_conflict *conflicts)
{
    const efi_line *line = a->line;
    double *shortfall = efi_arena_get(arena, (size_t)line->station_count, sizeof *shortfall);
    if (!shortfall)
        return EF_MEMORY;
    EF_TRY(set_elastic(a, true));
    EF_TRY(solve(a));
    for (int s = 0; s < line->station_count; s++)
        if (a->least_row[s] >= 0)
            shortfall[s] = efi_lp_values(a->lp)[a->short_column[s]];
    EF_TRY(set_elastic(a, false));
    for (int s = 0; s < line->station_count; s++)
        if (a->least_row[s] >= 0)
            EF_TRY(efi_lp_set_row_bounds(a->lp, a->least_row[s], efi_lp_free_bounds()));
    for (int s = 0; s < line->station_count; s++) {
        if (a->least_row[s] < 0 || !(shortfall[s] > SHORTFALL_SHARE * line->stations[s].least_rate.value))
            continue;
        EF_TRY(explain_rate(a, arena, s, &conflicts[crop->conflict_count++]));
    }
    return EF_OK;
}

static ef_status explain(const asked *a, efi_arena *arena, ef_balance_crop *crop)
{
    const efi_line *line = a->line;
    ef_balance_conflict *conflicts = efi_arena_get(arena, (size_t)line->station_count + 1, sizeof *conflicts);
    if (!conflicts)
        return EF_MEMORY;
    crop->conflicts = conflicts;
    if (!efi_line_lacks_power(line))
        return explain_rates(a, arena, crop, conflicts);
    const efi_node *key = efi_node_find_key(line->scenario->plant->origin.value, "power limit");
    conflicts[crop->conflict_count++] = (ef_balance_conflict){
        .demand = EF_BALANCE_POWER,
        .place = efi_tree_place(&line->scenario->tree, key ? key : line->of->origin.key),
        .idle_kw = line->idle_kw,
        .limit_kw = line->power_limit_kw};
    return EF_OK;
}

ef_status efi_balance_explain(efi_steady_model *model, efi_arena *arena, ef_balance_crop *crop)
{
    const efi_line *line = model->line;
    if (line->split_count == 0) {
        const asked exact = {.line = line,
                             .lp = model->lp,
                             .capacity_row = model->capacity_row,
                             .least_row = model->least_row,
                             .short_column = model->short_column,
                             .exact = model};
        return explain(&exact, arena, crop);
    }
    efi_steady_whole whole;
    ef_status status = efi_steady_whole_build(&whole, arena, line, EFI_STEADY_RELAXED, model->aim);
    const asked relaxed = {.line = line,
                           .lp = whole.lp,
                           .capacity_row = whole.capacity_row,
                           .least_row = whole.least_row,
                           .short_column = whole.short_column,
                           .relaxed = &whole};
    if (status == EF_OK)
        status = explain(&relaxed, arena, crop);
    efi_lp_free(whole.lp);
    return status;
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
            wanted += efi_station_wants(line->scenario, line->stations[s].of, m) ? feed[m] : 0.0;
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
    for (int s = 0; s < line->station_count && crop->conflict_count == 0; s++)
        if (model->purity_row[s] >= 0)
            EF_TRY(efi_lp_set_row_bounds(model->lp, model->purity_row[s], efi_lp_at_least(0.0)));
    return EF_OK;
}
