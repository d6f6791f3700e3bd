/* SPDX-License-Identifier: GPL-3.0-or-later
 * Several walks that meet between descents: each cools down from some heat, again and again, every time more
 * slowly. */
#include "base/threads.h"
#include "shared/season/bound.h"
#include "shared/season/exact.h"
#include "shared/season/walk.h"

#include <math.h>
#include <string.h>

enum {
    CHANGES_OF_LOT = 250, /* changes of a round for each lot */
    LEAST_CHANGES = 1000,
    ROUNDS_BEFORE = 12, /* all orders of a small season are looked through */
    FIRST_ROUNDS = 4    /* of the first descent; each has twice as many as the one before */
};
/* Heat at the beginning, in what a lot costs above the bounds of the terms on average, and after each of the
 * coolings of the first descent: 2^-8 of it at the end. */
#define HOT     1.0
#define COOLING 0.97857206208770013451

efi_season_settings efi_season_defaults(void)
{
    return (efi_season_settings){.seed = 1, .walks = 2, .threads = 1, .rounds = 200};
}

/* ---- walks ----------------------------------------------------------------------------------------------
 */

typedef struct search {
    efi_season_walk *walk; /* shape [walks] */
    int walks;
    int changes; /* of a round */
    int round;
    int rounds_left; /* of this descent */
    int descent;     /* its rounds */
    int best;        /* walk */
    int64_t bound;
    int64_t sum;   /* of the terms of the bound: what heat goes by */
    bool is_tried; /* to look through all orders */
} search;

static ef_status run_walk(void *context, int index)
{
    const search *s = context;
    efi_season_walk_go(&s->walk[index], s->changes);
    return EF_OK;
}

/* -ln u, by ln(m 2^-e) = 2 artanh((m - 1) / (m + 1)) - e ln 2 with the series of artanh: nothing but the four
 * operations, so the same everywhere. 0 < u < 1. */
static double minus_ln(double u)
{
    double sum = 0.0;
    while (u < 0.5) {
        u *= 2.0;
        sum += 0.69314718055994530942;
    }
    const double z = (1.0 - u) / (1.0 + u);
    double power = z;
    for (int n = 1; n < 40; n += 2) {
        sum += 2.0 * power / n;
        power *= z * z;
    }
    return sum;
}

static void fill_chills(efi_season_walk *walk)
{
    for (int i = 0; i < EFI_SEASON_CHILLS; i++)
        walk->chill[i] = (int64_t)(1048576.0 * minus_ln((i + 0.5) / EFI_SEASON_CHILLS));
}

/* The walk sets out from the best plan of all: hot at first, cooler to the end of the descent. */
static void set_out(search *s, int index)
{
    efi_season_walk *walk = &s->walk[index];
    const efi_season_walk *best = &s->walk[s->best];
    const int lots = walk->model->problem->lots;
    if (index != s->best) {
        efi_season_walk_set(walk, best->best, best->best_first);
    } else { /* from its own best, which setting it would overwrite while reading it */
        int first[EFI_SEASON_MOST_LINES + 1];
        memcpy(walk->moved, best->best, (size_t)lots * sizeof *best->best);
        memcpy(first, best->best_first, sizeof first);
        efi_season_walk_set(walk, walk->moved, first);
    }
    double heat = (double)(walk->best_value - s->sum) / lots;
    if (walk->best_value >= EFI_SEASON_FORBIDDEN_WEIGHT) /* what is forbidden has no price to go by */
        heat = (double)(walk->best_value % EFI_SEASON_FORBIDDEN_WEIGHT) / lots;
    walk->heat = heat * HOT;
}

/* Between rounds: who is best, and at the end of a descent all set out anew. */
static void meet(search *s)
{
    for (int w = 0; w < s->walks; w++)
        if (s->walk[w].best_value < s->walk[s->best].best_value)
            s->best = w;
    if (s->rounds_left > 0)
        return;
    for (int w = 0; w < s->walks; w++) {
        if (w != s->best)
            set_out(s, w);
        s->walk[w].cooling = s->descent == 0 ? COOLING : sqrt(s->walk[w].cooling);
    }
    set_out(s, s->best);
    s->descent = s->descent == 0 ? FIRST_ROUNDS : 2 * s->descent;
    s->rounds_left = s->descent;
}

static ef_status start(search *s, efi_season_model *model, const efi_season_settings *settings)
{
    const int lots = model->problem->lots;
    s->walks = settings->walks;
    s->changes = lots * CHANGES_OF_LOT > LEAST_CHANGES ? lots * CHANGES_OF_LOT : LEAST_CHANGES;
    s->walk = efi_arena_get(model->arena, (size_t)s->walks, sizeof *s->walk);
    if (!s->walk)
        return EF_MEMORY;
    for (int w = 0; w < s->walks; w++) {
        EF_TRY(efi_season_walk_build(&s->walk[w], model));
        s->walk[w].random = efi_random_stream(settings->seed, (uint64_t)w, 0);
        fill_chills(&s->walk[w]);
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
        steps += s->walk[w].changes;
    return steps;
}

/* Where the bound leaves a gap small seasons are looked through to the end: then the best is the bound. */
static ef_status prove(efi_season_model *model, search *s)
{
    efi_season_walk *walk = &s->walk[s->best];
    const int first[EFI_SEASON_MOST_LINES + 1] = {0, model->problem->lots};
    int lot[EFI_SEASON_MOST_EXACT];
    int64_t value = walk->best_value;
    bool proven = false;
    s->is_tried = true;
    if (model->problem->lines != 1 || model->problem->lots > EFI_SEASON_MOST_EXACT || value <= s->bound ||
        value >= EFI_SEASON_FORBIDDEN_WEIGHT)
        return EF_OK;
    memcpy(lot, walk->best, (size_t)model->problem->lots * sizeof *lot);
    EF_TRY(efi_season_exact(model, lot, &value, &proven));
    if (!proven)
        return EF_OK;
    s->bound = value;
    if (value < walk->best_value)
        efi_season_walk_set(walk, lot, first);
    return EF_OK;
}

static ef_status run(efi_season_model *model, search *s, const efi_season_settings *settings)
{
    meet(s);
    while (s->round < settings->rounds && s->walk[s->best].best_value > s->bound) {
        const efi_season_progress progress = {s->walk[s->best].best_value, s->bound, s->round, steps_of(s)};
        if (settings->go_on && !settings->go_on(settings->context, &progress))
            break;
        EF_TRY(efi_threads_run(settings->threads, s->walks, run_walk, s));
        s->round++;
        s->rounds_left--;
        meet(s);
        if (s->round == ROUNDS_BEFORE)
            EF_TRY(prove(model, s));
    }
    return s->round > 0 && !s->is_tried ? prove(model, s) : EF_OK;
}

static ef_status solve(efi_season_model *model, const efi_season_settings *settings,
                       efi_season_result *result)
{
    search s = {0};
    const efi_season_problem *p = model->problem;
    efi_season_cost bound;
    EF_TRY(efi_season_bound(model, &bound));
    s.bound = bound.total;
    s.sum = bound.cleaning + bound.late + bound.wet + bound.overtime + bound.raw + bound.finished;
    EF_TRY(start(&s, model, settings));
    EF_TRY(run(model, &s, settings));
    bound.total = s.bound;
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
