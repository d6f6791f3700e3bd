/* SPDX-License-Identifier: GPL-3.0-or-later
 * Several walks that meet between rounds, and a bound for each term. */
#include "base/threads.h"
#include "shared/season/walk.h"
#include "shared/sequence/assignment.h"

#include <string.h>

enum {
    STEPS = 2000000, /* lots placed by a walk in a round, about: changes tried times lots */
    LEAST_STEPS = 1000,
    SHAKE = 8,         /* changes taken blindly when a walk starts anew */
    PATIENCE = 6,      /* rounds without progress before it does */
    LEAST_HISTORY = 64 /* of the first walk; each further one has four times as many */
};

efi_season_settings efi_season_defaults(void)
{
    return (efi_season_settings){.seed = 1, .walks = 2, .threads = 1, .rounds = 200};
}

/* ---- bounds ---------------------------------------------------------------------------------------------
 */

/* Cleaning: each lot has one before it and one after it, each line a beginning and an end: the assignment
 * problem of the prices. */
static ef_status bound_cleaning(const efi_season_model *model, int64_t *bound)
{
    const efi_season_problem *p = model->problem;
    const size_t side = (size_t)p->lots + (size_t)p->lines;
    const int64_t far = INT64_C(1) << 48;
    int64_t *price = efi_arena_get(model->arena, side * side, sizeof *price);
    int *column = efi_arena_get(model->arena, side, sizeof *column);
    int64_t *dual = efi_arena_get(model->arena, 2 * side, sizeof *dual);
    if (!price || !column || !dual)
        return EF_MEMORY;
    for (size_t i = 0; i < side; i++) {
        for (size_t j = 0; j < side; j++) {
            const size_t from = i < (size_t)p->lots ? i : (size_t)p->lots;
            const size_t to = j < (size_t)p->lots ? j : (size_t)p->lots;
            const size_t pair = from * ((size_t)p->lots + 1) + to;
            const bool unused = i >= (size_t)p->lots && j >= (size_t)p->lots;
            const bool never = !unused && (from == to || p->clean_s[pair] == EFI_SEASON_NEVER);
            price[i * side + j] = unused ? 0 : never ? far : p->clean_price[pair];
        }
    }
    EF_TRY(efi_assignment_solve((int)side, price, column, dual, dual + side, bound));
    if (*bound >= far)
        *bound = 0;
    return EF_OK;
}

/* Late and wet: each lot alone on the line that suits it best, without cleaning. */
static void bound_lots(const efi_season_model *model, efi_season_cost *bound)
{
    const efi_season_problem *p = model->problem;
    for (int l = 0; l < p->lots; l++) {
        int64_t late = INT64_MAX;
        int64_t wet = INT64_MAX;
        for (int line = 0; line < p->lines; line++) {
            if (p->work_s[(size_t)line * (size_t)p->lots + (size_t)l] < 0)
                continue;
            efi_season_run run;
            efi_season_alone(model, line, l, &run);
            const int64_t mine_late = efi_season_scale(run.late_s, p->lot[l].late_price, 86400);
            const int64_t mine_wet = efi_season_scale(run.wet_s, p->lot[l].wet_price, 86400);
            late = mine_late < late ? mine_late : late;
            wet = mine_wet < wet ? mine_wet : wet;
        }
        bound->late += late;
        bound->wet += wet;
    }
}

static ef_status find_bound(const efi_season_model *model, efi_season_cost *bound)
{
    *bound = (efi_season_cost){0};
    EF_TRY(bound_cleaning(model, &bound->cleaning));
    bound_lots(model, bound);
    bound->total = bound->cleaning + bound->late + bound->wet;
    return EF_OK;
}

/* ---- walks ----------------------------------------------------------------------------------------------
 */

typedef struct search {
    efi_season_walk *walk; /* shape [walks] */
    int *idle;             /* shape [walks]: rounds without progress */
    int walks;
    int round;
    int best; /* walk */
} search;

static ef_status run_walk(void *context, int index)
{
    const search *s = context;
    efi_season_walk *walk = &s->walk[index];
    const int64_t before = walk->best_value;
    const bool anew = s->idle[index] >= PATIENCE;
    const int steps = STEPS / walk->model->problem->lots;
    efi_season_walk_go(walk, steps > LEAST_STEPS ? steps : LEAST_STEPS, anew ? SHAKE : 0);
    s->idle[index] = walk->best_value < before || anew ? 0 : s->idle[index] + 1;
    return EF_OK;
}

/* The best plan of all walks; those that have come to a standstill start from it. */
static void meet(search *s)
{
    for (int w = 0; w < s->walks; w++)
        if (s->walk[w].best_value < s->walk[s->best].best_value)
            s->best = w;
    const efi_season_walk *best = &s->walk[s->best];
    for (int w = 0; w < s->walks; w++) {
        if (s->idle[w] < PATIENCE)
            continue;
        if (w != s->best) {
            efi_season_walk_set(&s->walk[w], best->best, best->best_first);
        } else { /* from its own best, which setting it would overwrite while reading it */
            memcpy(s->walk[w].moved, best->best, (size_t)best->model->problem->lots * sizeof *best->best);
            int first[EFI_SEASON_MOST_LINES + 1];
            memcpy(first, best->best_first, sizeof first);
            efi_season_walk_set(&s->walk[w], s->walk[w].moved, first);
        }
    }
}

static ef_status start(search *s, efi_season_model *model, const efi_season_settings *settings)
{
    s->walks = settings->walks;
    s->walk = efi_arena_get(model->arena, (size_t)s->walks, sizeof *s->walk);
    s->idle = efi_arena_get(model->arena, (size_t)s->walks, sizeof *s->idle);
    if (!s->walk || !s->idle)
        return EF_MEMORY;
    int histories = LEAST_HISTORY;
    for (int w = 0; w < s->walks; w++) {
        EF_TRY(efi_season_walk_build(&s->walk[w], model, histories));
        histories = histories < 16384 ? histories * 4 : histories;
        s->walk[w].random = efi_random_stream(settings->seed, (uint64_t)w, 0);
        efi_season_walk_first(&s->walk[w]);
    }
    if (!settings->start)
        return EF_OK;
    const int64_t found = s->walk[0].best_value;
    efi_season_walk_set(&s->walk[0], settings->start, settings->start_first);
    if (s->walk[0].best_value > found && s->walks == 1)
        efi_season_walk_first(&s->walk[0]);
    return EF_OK;
}

static uint64_t steps_of(const search *s)
{
    uint64_t steps = 0;
    for (int w = 0; w < s->walks; w++)
        steps += s->walk[w].steps;
    return steps;
}

static ef_status run(search *s, const efi_season_settings *settings, int64_t bound)
{
    meet(s);
    while (s->round < settings->rounds && s->walk[s->best].best_value > bound) {
        const efi_season_progress progress = {s->walk[s->best].best_value, bound, s->round, steps_of(s)};
        if (settings->go_on && !settings->go_on(settings->context, &progress))
            break;
        EF_TRY(efi_threads_run(settings->threads, s->walks, run_walk, s));
        s->round++;
        meet(s);
    }
    return EF_OK;
}

static ef_status solve(efi_season_model *model, const efi_season_settings *settings,
                       efi_season_result *result)
{
    search s = {0};
    const efi_season_problem *p = model->problem;
    efi_season_cost bound;
    EF_TRY(find_bound(model, &bound));
    EF_TRY(start(&s, model, settings));
    EF_TRY(run(&s, settings, bound.total));
    const efi_season_walk *best = &s.walk[s.best];
    int *lot = efi_new((size_t)p->lots, sizeof *lot);
    if (!lot)
        return EF_MEMORY;
    memcpy(lot, best->best, (size_t)p->lots * sizeof *lot);
    *result = (efi_season_result){.lot = lot, .bound = bound, .rounds = s.round, .steps = steps_of(&s)};
    memcpy(result->first, best->best_first, sizeof result->first);
    efi_season_order order = {.lot = lot};
    memcpy(order.first, result->first, sizeof order.first);
    const ef_status status = efi_season_evaluate(p, &order, NULL, &result->cost);
    if (status != EF_OK)
        efi_season_result_free(result);
    return status;
}

/* Is the start that is given an order that may be followed? */
static ef_status check_start(const efi_season_problem *p, const efi_season_settings *settings)
{
    if (!settings->start)
        return EF_OK;
    efi_season_cost cost;
    int *lot = efi_new((size_t)p->lots, sizeof *lot);
    if (!lot)
        return EF_MEMORY;
    memcpy(lot, settings->start, (size_t)p->lots * sizeof *lot);
    efi_season_order order = {.lot = lot};
    memcpy(order.first, settings->start_first, ((size_t)p->lines + 1) * sizeof order.first[0]);
    const ef_status status = efi_season_evaluate(p, &order, NULL, &cost);
    efi_free(lot);
    return status;
}

ef_status efi_season_solve(const efi_season_problem *problem, const efi_season_settings *settings,
                           efi_season_result *result)
{
    efi_season_model model;
    if (settings->walks < 1 || settings->threads < 1 || settings->rounds < 0)
        return EF_USAGE;
    ef_status status = efi_season_model_build(&model, problem);
    if (status == EF_OK)
        status = check_start(problem, settings);
    if (status == EF_OK)
        status = solve(&model, settings, result);
    efi_season_model_free(&model);
    return status;
}

void efi_season_result_free(efi_season_result *result)
{
    efi_free(result->lot);
    *result = (efi_season_result){0};
}
