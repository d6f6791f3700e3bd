/* SPDX-License-Identifier: GPL-3.0-or-later
 * Several walks that meet between descents: each cools down from some heat, again and again, every time more
 * slowly. In a long season each walk has a stretch of the plan to itself, in which after the first descent it
 * descends in one part after the other; where they meet what all have found is put together in one plan. */
#include "base/threads.h"
#include "shared/season/bound.h"
#include "shared/season/exact.h"
#include "shared/season/walk.h"

#include <math.h>
#include <string.h>

enum {
    CHANGES_OF_LOT = 250, /* changes of a round for each lot */
    LEAST_CHANGES = 1000,
    MOST_CHANGES = 100000, /* of a round: a long season has shorter ones, and more of them */
    ROUNDS_BEFORE = 12,    /* all orders of a small season are looked through */
    FIRST_ROUNDS = 4,      /* of the first descent; each has twice as many as the one before */
    LEAST_LONG = 1000,     /* lots that are free to move: a long season */
    FIRST_LONG = 5,        /* rounds of its first descent */
    MOST_DOUBLINGS = 10,   /* of those of its descents by parts */
    LOTS_OF_PART = 100
};
/* Heat at the beginning, in what a lot costs above the bounds of the terms on average, and after each of the
 * coolings of the first descent: 2^-8 of it at the end. */
#define HOT     1.0
#define HOTTER  6.0 /* of parts: each is cooled alone, and what gets no better is undone */
#define COOLING 0.97857206208770013451

efi_season_settings efi_season_defaults(void)
{
    return (efi_season_settings){
        .seed = 1, .walks = 2, .threads = 1, .rounds = 200, .least_long = LEAST_LONG};
}

/* ---- walks ----------------------------------------------------------------------------------------------
 */

typedef struct search {
    efi_season_walk *walk; /* shape [walks + 1]: the last has what the others found in their stretches */
    int walks;
    int changes;  /* of a round: */
    int halvings; /* so often halved */
    bool is_long;
    bool is_gathered;               /* the last walk has a plan */
    efi_random random;              /* where long seasons are cut */
    int *lot, *lot_before;          /* shape [lots], scratch */
    int cut[EFI_SEASON_MOST_LINES]; /* lots of each line before the next stretch */
    int round;
    int rounds_left; /* of this descent */
    int descent;     /* its rounds */
    int descents;    /* so far, this one too */
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

static double heat_of(const search *s, const efi_season_walk *walk)
{
    const int lots = walk->model->problem->lots;
    if (walk->best_value >= EFI_SEASON_FORBIDDEN_WEIGHT) /* what is forbidden has no price to go by */
        return HOT * (double)(walk->best_value % EFI_SEASON_FORBIDDEN_WEIGHT) / lots;
    return HOT * (double)(walk->best_value - s->sum) / lots;
}

/* The walk sets out from the best plan of all: hot at first, cooler to the end of the descent. */
static void set_out(search *s, int index)
{
    efi_season_walk *walk = &s->walk[index];
    const efi_season_walk *best = &s->walk[s->best];
    if (index != s->best)
        efi_season_walk_set(walk, best->best, best->best_first);
    else
        efi_season_walk_return(walk);
    walk->heat = heat_of(s, walk);
}

static void find_best(search *s)
{
    for (int w = 0; w < s->walks + s->is_gathered; w++)
        if (s->walk[w].best_value < s->walk[s->best].best_value)
            s->best = w;
}

/* ---- long seasons ---------------------------------------------------------------------------------------
 */

/* Lots that are free to move. */
static int count_free(const efi_season_walk *walk, int line)
{
    return walk->row[line].count - walk->row[line].fixed;
}

/* Where the stretch of a walk ends: about its share of the plan on, at the same time on all lines. */
static void find_cut(search *s, int index)
{
    const efi_season_walk *walk = &s->walk[index];
    const int lines = walk->model->problem->lines;
    const int shares = 4 * s->walks;
    int most = 0;
    for (int line = 0; line < lines; line++)
        if (count_free(walk, line) > count_free(walk, most))
            most = line;
    const efi_season_row *row = &walk->row[most];
    const int free = count_free(walk, most);
    const int least = free * (4 * index + 3) / shares; /* half a share either way */
    const int spread = free * 2 / shares;
    const int place = row->fixed + least + (int)efi_random_below(&s->random, (uint32_t)spread + 1);
    const int64_t start_s = walk->moment[row->lot[place < row->count ? place : row->count - 1]].start_s;
    for (int line = 0; line < lines; line++) {
        const int at = line == most ? place : efi_season_place_at(walk, line, start_s);
        s->cut[line] = at > s->cut[line] ? at : s->cut[line];
    }
}

/* Each walk gets a stretch of the plan, the same to all. */
static void share_out(search *s)
{
    const int lines = s->walk[0].model->problem->lines;
    const int lots = s->walk[0].model->problem->lots;
    for (int line = 0; line < lines; line++)
        s->cut[line] = s->walk[0].row[line].fixed;
    for (int w = 0; w < s->walks; w++) {
        efi_season_walk *walk = &s->walk[w];
        walk->parts = (efi_season_parts){.of_lot = s->descent * CHANGES_OF_LOT,
                                         .lots = s->descents > 1 ? LOTS_OF_PART : 2 * lots,
                                         .at = -1,
                                         .heat = (s->descents > 1 ? HOTTER : 1.0) * heat_of(s, walk)};
        for (int line = 0; line < lines; line++)
            walk->parts.before[line] = s->cut[line];
        if (w + 1 < s->walks)
            find_cut(s, w);
        for (int line = 0; line < lines; line++)
            walk->parts.after[line] = w + 1 < s->walks ? walk->row[line].count - s->cut[line] : 0;
    }
}

/* The stretches of all walks in one plan, from the best plan of each. */
static void put_together(search *s, int *first)
{
    const int lines = s->walk[0].model->problem->lines;
    int count = 0;
    for (int line = 0; line < lines; line++) {
        first[line] = count;
        for (int w = 0; w < s->walks; w++) {
            const efi_season_walk *walk = &s->walk[w];
            const int from = walk->best_first[line] + (w > 0 ? walk->parts.before[line] : 0);
            const int to = walk->best_first[line + 1] - walk->parts.after[line];
            memcpy(s->lot + count, walk->best + from, (size_t)(to - from) * sizeof *s->lot);
            count += to - from;
        }
    }
    first[lines] = count;
}

/* All that has been found in the stretches so far goes to a walk apart, unless that has a better plan. */
static void gather(search *s)
{
    efi_season_walk *all = &s->walk[s->walks];
    const size_t lots = (size_t)s->walk[0].model->problem->lots;
    int first[EFI_SEASON_MOST_LINES + 1];
    int first_before[EFI_SEASON_MOST_LINES + 1];
    if (!s->is_long || s->walks < 2 || s->descents == 0)
        return;
    put_together(s, first);
    const int64_t before = s->is_gathered ? all->best_value : INT64_MAX;
    if (s->is_gathered) {
        memcpy(s->lot_before, all->best, lots * sizeof *s->lot);
        memcpy(first_before, all->best_first, sizeof first_before);
    }
    efi_season_walk_set(all, s->lot, first);
    if (all->best_value > before)
        efi_season_walk_set(all, s->lot_before, first_before);
    s->is_gathered = true;
}

/* Rounds of a descent: twice those of the one before. In a long season the second, which is the first by
 * parts, is shorter than the first, as parts begin in a good plan; and two are as long before the next is
 * longer. */
static int rounds_of(const search *s)
{
    if (s->descents == 1)
        return s->is_long ? FIRST_LONG : FIRST_ROUNDS;
    if (!s->is_long)
        return 2 * s->descent;
    const int doublings = s->descents / 2 - 1;
    return FIRST_ROUNDS << (doublings < MOST_DOUBLINGS ? doublings : MOST_DOUBLINGS);
}

/* Between rounds: who is best, and at the end of a descent all set out anew. */
static void meet(search *s)
{
    gather(s);
    find_best(s);
    if (s->rounds_left > 0)
        return;
    for (int w = 0; w < s->walks; w++) {
        if (w != s->best)
            set_out(s, w);
        s->walk[w].cooling = sqrt(s->walk[w].cooling);
    }
    set_out(s, s->best);
    s->descents++;
    s->descent = rounds_of(s);
    s->rounds_left = s->descent << s->halvings;
    if (s->is_long) {
        s->rounds_left = s->rounds_left / s->walks > 1 ? s->rounds_left / s->walks : 1;
        share_out(s);
    }
}

static void begin_cooling(search *s)
{
    for (int w = 0; w < s->walks; w++) {
        s->walk[w].cooling = COOLING * COOLING; /* of which the first descent takes the root */
        for (int i = 0; i < s->halvings; i++)
            s->walk[w].cooling = sqrt(s->walk[w].cooling);
    }
}

static ef_status start(search *s, efi_season_model *model, const efi_season_settings *settings)
{
    const int lots = model->problem->lots;
    s->walks = settings->walks;
    s->changes = lots * CHANGES_OF_LOT > LEAST_CHANGES ? lots * CHANGES_OF_LOT : LEAST_CHANGES;
    for (; s->changes > MOST_CHANGES; s->halvings++)
        s->changes /= 2;
    s->random = efi_random_stream(settings->seed, (uint64_t)s->walks, 1);
    s->lot = efi_arena_get(model->arena, (size_t)lots, sizeof *s->lot);
    s->lot_before = efi_arena_get(model->arena, (size_t)lots, sizeof *s->lot_before);
    s->walk = efi_arena_get(model->arena, (size_t)s->walks + 1, sizeof *s->walk);
    if (!s->walk || !s->lot || !s->lot_before)
        return EF_MEMORY;
    for (int w = 0; w < s->walks; w++) {
        EF_TRY(efi_season_walk_build(&s->walk[w], model));
        s->walk[w].random = efi_random_stream(settings->seed, (uint64_t)w, 0);
        fill_chills(&s->walk[w]);
        efi_season_walk_first(&s->walk[w]);
    }
    int free = 0;
    for (int line = 0; line < model->problem->lines; line++)
        free += count_free(&s->walk[0], line);
    s->is_long = free >= settings->least_long;
    if (s->is_long && s->walks > 1)
        EF_TRY(efi_season_walk_build(&s->walk[s->walks], model));
    for (int w = 0; w < s->walks; w++)
        s->walk[w].is_long = s->is_long;
    begin_cooling(s);
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
