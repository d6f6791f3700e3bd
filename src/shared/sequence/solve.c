/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/threads.h"
#include "shared/sequence/exact.h"
#include "shared/sequence/timed_bound.h"
#include "shared/sequence/tour_bound.h"
#include "shared/sequence/walk.h"

#include <string.h>

/*
 * The search goes in rounds. In each, every walk makes a fixed number of steps on whatever thread is free;
 * then their best orders are compared in the order of their numbers, and the bound is worked on for a fixed
 * number of programs. Nothing in a round depends on the clock or on the number of threads; `go_on` alone may
 * end the rounds early.
 */

enum {
    MOST_WALKS = 64,
    TOUR_STEPS = 1000000, /* of a walk in a round, some hundredths of a second */
    TIMED_STEPS = 400000,
    CHOICE_STEPS = 200000,
    FIRST_STEPS = 20000,     /* in the first round, so that an order is there soon */
    PROOF_NEAR = 50,         /* the gap is small when it is a part of the value like this or less: */
    PROOF_SHARE = 4,         /* then the bound may take so many times the work of the walks, */
    OTHER_SHARE = 8,         /* else one part in so many of it, */
    WORK_AT_ONCE = 30000000, /* in a round no more than this and one program */
    SETTLED_ROUNDS =
        3, /* rounds without a gain after which programs begin: they are small only when the order is good */
    LATEST_START = 16, /* and the round after which they begin in any case */
    EXACT_LOTS = 20,   /* up to so many lots the search by subsets is tried without latest starts */
    TINY_LOTS = 10,    /* up to so many it is tried at once */
    LATE_ROUND = 100,
    FULL_WIDTH_LOTS = 16, /* and up to so many it is not narrowed */
    NARROW = 1000,        /* states a layer at first */
    MEET_ROUNDS = 16 /* rounds after which a walk that lags goes on from the best order, or from a new one */
};

typedef struct solve {
    const efi_model *m;
    const efi_sequence_settings *settings;
    efi_sequence_result *result;
    efi_walk_best best;
    void *walk[MOST_WALKS];
    const efi_walk_kind *kind[MOST_WALKS];
    int walks;
    uint64_t round_steps;
    uint64_t other_steps;
    efi_tour_bound *tour_bound;
    bool bound_done;
    bool tour_bound_begun;
    int gain_round; /* the round that found the best order */
    bool stopped;
} solve;

static ef_status run_walk(void *context, int index)
{
    const solve *const s = context;
    s->kind[index]->run(s->walk[index], s->round_steps);
    return EF_OK;
}

static uint64_t count_steps(const solve *s)
{
    uint64_t sum = s->other_steps;
    for (int i = 0; i < s->walks; i++)
        sum += s->kind[i]->steps(s->walk[i]);
    return sum;
}

/* Takes an order over as the best when it is; all n lots, the first `run` of them run. */
static void offer(solve *s, const int *order, int run)
{
    efi_walk_best fresh = {.order = s->best.order, .run = run};
    fresh.price = efi_model_price(s->m, order, run, &fresh.broken);
    if (!efi_walk_better(&fresh, &s->best))
        return;
    memcpy(s->best.order, order, (size_t)s->m->n * sizeof *order);
    s->best = fresh;
    s->gain_round = s->result->rounds;
}

static bool is_found(const solve *s)
{
    return s->best.broken == 0;
}

/* The price that a better order must stay below. */
static int64_t upper_of(const solve *s)
{
    return is_found(s) ? s->best.price : EFI_FAR;
}

static void raise_bound(solve *s, int64_t bound)
{
    if (bound > s->result->bound)
        s->result->bound = bound;
    if (is_found(s) && s->result->bound >= s->best.price) {
        s->result->bound = s->best.price;
        s->result->proven = true;
    }
}

static bool wants_more(solve *s)
{
    if (s->stopped || s->result->proven)
        return false;
    const efi_sequence_progress progress = {.found = is_found(s),
                                            .value = s->best.price,
                                            .bound = s->result->bound,
                                            .rounds = s->result->rounds,
                                            .steps = count_steps(s)};
    s->stopped = s->settings->go_on && !s->settings->go_on(s->settings->context, &progress);
    return !s->stopped;
}

static bool exact_goes_on(void *context)
{
    return wants_more(context);
}

/* Search by subsets with at most `width` states a layer. */
static ef_status try_exact(solve *s, int width)
{
    int *const order = efi_new((size_t)s->m->n, sizeof *order);
    efi_exact exact;
    ef_status status = order ? EF_OK : EF_MEMORY;
    if (status == EF_OK)
        status = efi_exact_search(s->m, width, upper_of(s), exact_goes_on, s, order, &exact);
    if (status == EF_OK) {
        s->other_steps += exact.steps;
        if (exact.found)
            offer(s, order, exact.run);
        if (exact.complete && !is_found(s))
            s->result->proven = true;
        raise_bound(s, exact.bound);
    }
    efi_free(order);
    return status;
}

static int full_width(const solve *s)
{
    return s->m->n <= FULL_WIDTH_LOTS ? s->settings->states : s->settings->states / s->m->n;
}

/* Narrow first, for a good order, then wider up to the limit on states. */
static ef_status run_exact(solve *s)
{
    ef_status status = EF_OK;
    for (int width = NARROW; status == EF_OK && wants_more(s); width *= 10) {
        const int most = full_width(s);
        status = try_exact(s, width < most ? width : most);
        if (width >= most)
            break;
    }
    return status;
}

static const efi_walk_kind *kind_of(const efi_model *m)
{
    if (m->refusal)
        return &efi_choice_walk;
    if (m->timed)
        return &efi_timed_walk;
    return m->has_pairs ? &efi_pairs_walk : &efi_tour_walk;
}

static ef_status start_walks(solve *s)
{
    s->walks = s->settings->walks < MOST_WALKS ? s->settings->walks : MOST_WALKS;
    for (int i = 0; i < s->walks; i++) {
        s->kind[i] = kind_of(s->m);
        s->walk[i] = s->kind[i]->make(s->m, s->settings->seed, i);
        if (!s->walk[i]) {
            s->walks = i;
            return EF_MEMORY;
        }
    }
    return EF_OK;
}

static ef_status start_bound(solve *s)
{
    int64_t bound = 0;
    s->bound_done = true;
    if (s->m->refusal)
        return EF_OK;
    if (s->m->timed) {
        EF_TRY(efi_timed_bound(s->m, &bound));
    } else {
        EF_TRY(efi_tour_bound_new(s->m, &s->tour_bound));
        s->bound_done = !s->settings->prove;
        bound = efi_tour_bound_value(s->tour_bound);
    }
    raise_bound(s, bound);
    return EF_OK;
}

/* The work that the bound may have taken by now: most of it where a proof is near or, without pairs, soon
 * will be; little where it is far. */
static uint64_t work_for_bound(const solve *s)
{
    const uint64_t walked = count_steps(s);
    const int64_t gap = s->best.price - s->result->bound;
    const bool is_near = !s->m->has_pairs || gap <= s->best.price / PROOF_NEAR;
    return is_near ? walked * PROOF_SHARE : walked / OTHER_SHARE;
}

static ef_status work_on_bound(solve *s)
{
    const bool settled = s->result->rounds - s->gain_round >= SETTLED_ROUNDS ||
                         s->result->rounds >= LATEST_START;
    if (s->bound_done || (!s->tour_bound_begun && !settled))
        return EF_OK;
    s->tour_bound_begun = true;
    const uint64_t before = efi_tour_bound_work(s->tour_bound);
    while (!s->bound_done && is_found(s) && !s->result->proven &&
           efi_tour_bound_work(s->tour_bound) < work_for_bound(s) &&
           efi_tour_bound_work(s->tour_bound) - before < WORK_AT_ONCE) {
        const int *order;
        EF_TRY(efi_tour_bound_step(s->tour_bound, s->best.price, &order, &s->bound_done));
        s->other_steps++;
        if (order)
            offer(s, order, s->m->n);
        const int64_t bound = efi_tour_bound_value(s->tour_bound);
        raise_bound(s, bound < s->best.price ? bound : s->best.price);
    }
    return EF_OK;
}

/*
 * Does a walk go on from the best order of all at its meeting number `turn`, and not from a new one? By
 * turns; of walks that anneal every other always does, as it gains most there, and the rest always begin
 * anew, for where the best lies in the wrong valley.
 */
static bool adopts_at(const solve *s, int walk, int turn)
{
    return s->kind[walk] == &efi_pairs_walk ? walk % 2 == 0 : turn % 2 == 0;
}

/* Now and then one walk goes on from another order. */
static void meet(solve *s)
{
    if (s->result->rounds % MEET_ROUNDS != 0)
        return;
    const int meeting = s->result->rounds / MEET_ROUNDS;
    const int lagging = meeting % s->walks;
    const bool adopts = adopts_at(s, lagging, meeting / s->walks);
    if (adopts && s->kind[lagging]->adopt)
        s->kind[lagging]->adopt(s->walk[lagging], s->best.order);
    else if (!adopts && s->kind[lagging]->restart)
        s->kind[lagging]->restart(s->walk[lagging]);
}

static ef_status run_round(solve *s)
{
    s->round_steps = s->result->rounds == 0 ? FIRST_STEPS
                     : s->m->refusal        ? CHOICE_STEPS
                     : s->m->timed          ? TIMED_STEPS
                                            : TOUR_STEPS;
    EF_TRY(efi_threads_run(s->settings->threads, s->walks, run_walk, s));
    for (int i = 0; i < s->walks; i++) {
        const efi_walk_best *const best = s->kind[i]->best(s->walk[i]);
        offer(s, best->order, best->run);
    }
    s->result->rounds++;
    raise_bound(s, s->result->bound);
    EF_TRY(work_on_bound(s));
    meet(s);
    return EF_OK;
}

/* Is it worth trying every subset? Only where few of them are possible. */
static bool suits_exact(const solve *s)
{
    return s->settings->prove && (s->m->n <= EXACT_LOTS || s->m->has_limits || s->m->refusal);
}

/* After which round: at once where it takes no time, later where it may not come to an end. */
static int exact_round(const solve *s)
{
    if (s->m->n <= TINY_LOTS)
        return 1;
    const bool short_enough = s->m->n <= FULL_WIDTH_LOTS || (s->m->has_limits && !s->m->refusal);
    return short_enough ? 2 : LATE_ROUND;
}

static ef_status run_all(solve *s)
{
    EF_TRY(start_bound(s));
    EF_TRY(start_walks(s));
    while (s->result->rounds < s->settings->rounds && (s->result->rounds == 0 || wants_more(s))) {
        EF_TRY(run_round(s));
        if (s->result->rounds == exact_round(s) && suits_exact(s))
            EF_TRY(run_exact(s));
    }
    return EF_OK;
}

static bool is_valid(const efi_sequence_settings *settings)
{
    return settings->walks >= 1 && settings->threads >= 1 && settings->rounds >= 0 &&
           settings->states >= 1000;
}

static ef_status prepare(const efi_model *m, efi_sequence_result *made)
{
    made->order = efi_new((size_t)m->n, sizeof *made->order);
    if (!made->order)
        return EF_MEMORY;
    for (int i = 0; i < m->n; i++)
        made->order[i] = i;
    made->bound = 0;
    return EF_OK;
}

ef_status efi_sequence_solve(const efi_sequence_problem *problem, const efi_sequence_settings *settings,
                             efi_sequence_result *result)
{
    if (!is_valid(settings))
        return EF_USAGE;
    efi_model model;
    EF_TRY(efi_model_build(problem, &model));
    efi_sequence_result made = {0};
    ef_status status = prepare(&model, &made);
    solve s = {.m = &model, .settings = settings, .result = &made, .best = {made.order, model.n, 0, EFI_FAR}};
    if (status == EF_OK && model.impossible)
        made.proven = true;
    else if (status == EF_OK)
        status = run_all(&s);
    made.steps = count_steps(&s);
    for (int i = 0; i < s.walks; i++)
        s.kind[i]->free(s.walk[i]);
    efi_tour_bound_free(s.tour_bound);
    efi_model_free(&model);
    if (status != EF_OK) {
        efi_sequence_result_free(&made);
        return status;
    }
    made.found = is_found(&s);
    made.value = s.best.price;
    made.run = s.best.run;
    *result = made;
    return EF_OK;
}

void efi_sequence_result_free(efi_sequence_result *result)
{
    efi_free(result->order);
    memset(result, 0, sizeof *result);
}

efi_sequence_settings efi_sequence_defaults(void)
{
    return (efi_sequence_settings){
        .seed = 1, .walks = 4, .threads = 1, .rounds = 1000, .states = 1000000, .prove = true};
}
