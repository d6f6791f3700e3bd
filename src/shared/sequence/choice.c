/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/sequence/walk.h"

#include <string.h>

/*
 * Iterated local search where lots may be refused: the first `run` lots of the order are run. A lot is moved
 * to another place among them, taken out or put in, or changes places with another, run or not; what gains is
 * kept. Every order is evaluated as a whole, O(n), and keeps all limits. From a local optimum a few random
 * lots are taken out and others exchanged; what comes out is kept unless it is worse.
 */

enum {
    MOST_OUT = 2,
    RESTART_IDLE = 400
};

typedef struct choice_walk {
    efi_arena *arena;
    const efi_model *model;
    efi_random random;
    int *order; /* [n] */
    int *tried; /* [n] */
    int *kept;  /* [n] */
    int run;
    int kept_run;
    int64_t price;
    int64_t kept_price;
    uint64_t steps;
    int idle;
    efi_walk_best best;
} choice_walk;

/* Do the lots that are run keep all pairs? Only those given count where lots may be refused. */
static bool keeps_pairs(const efi_model *m, const int *order, int run)
{
    for (int k = 1; k < run && m->has_pairs; k++)
        for (int l = 0; l < k; l++)
            if (efi_set_has(m->before + (size_t)order[l] * (size_t)m->words, order[k]))
                return false;
    return true;
}

/* The price of an order; EFI_FAR when it breaks a limit. */
static int64_t price_of(choice_walk *w, const int *order, int run)
{
    int64_t broken;
    w->steps++;
    const int64_t price = efi_model_price(w->model, order, run, &broken);
    return broken == 0 && keeps_pairs(w->model, order, run) ? price : EFI_FAR;
}

/* `tried` becomes the order with the lot at `from` put at place `to` of the others. */
static void shift(const choice_walk *w, int from, int to)
{
    const int n = w->model->n;
    int at = 0;
    for (int k = 0; k < n; k++) {
        if (k == from)
            continue;
        if (at == to)
            w->tried[at++] = w->order[from];
        w->tried[at++] = w->order[k];
    }
    if (at < n)
        w->tried[at] = w->order[from];
}

static bool take_if_better(choice_walk *w, int run)
{
    const int64_t price = price_of(w, w->tried, run);
    if (price >= w->price)
        return false;
    memcpy(w->order, w->tried, (size_t)w->model->n * sizeof *w->order);
    w->run = run;
    w->price = price;
    return true;
}

/* Another place for the lot at `from`, or none, or one for a lot that is refused. */
static bool try_places(choice_walk *w, int from)
{
    const bool is_run = from < w->run;
    const int others = w->run - is_run;
    for (int to = 0; to <= others; to++) {
        shift(w, from, to);
        if (take_if_better(w, others + 1))
            return true;
    }
    if (!is_run)
        return false;
    shift(w, from, w->model->n - 1);
    return take_if_better(w, others);
}

/* The lot at `from` and any later one, run or refused, change places. */
static bool try_swaps(choice_walk *w, int from)
{
    const int n = w->model->n;
    for (int to = from + 1; to < n && from < w->run; to++) {
        memcpy(w->tried, w->order, (size_t)n * sizeof *w->order);
        w->tried[from] = w->order[to];
        w->tried[to] = w->order[from];
        if (take_if_better(w, w->run))
            return true;
    }
    return false;
}

static int random_below(choice_walk *w, int count)
{
    return (int)efi_random_below(&w->random, (uint32_t)count);
}

static void descend(choice_walk *w)
{
    const int n = w->model->n;
    int idle = 0;
    for (int k = random_below(w, n); idle < n; k = k + 1 < n ? k + 1 : 0)
        idle = try_places(w, k) || try_swaps(w, k) ? 0 : idle + 1;
}

/* Takes a few random lots out; what is left keeps its limits or is emptied. */
static void shake(choice_walk *w)
{
    const int out = 1 + random_below(w, MOST_OUT);
    for (int i = 0; i < out && w->run > 0; i++) {
        shift(w, random_below(w, w->run), w->model->n - 1);
        memcpy(w->order, w->tried, (size_t)w->model->n * sizeof *w->order);
        w->run--;
    }
    if (w->run > 1) {
        const int a = random_below(w, w->run);
        const int b = random_below(w, w->run);
        const int lot = w->order[a];
        w->order[a] = w->order[b];
        w->order[b] = lot;
    }
    w->price = price_of(w, w->order, w->run);
    if (w->price < EFI_FAR)
        return;
    w->run = 0;
    w->price = price_of(w, w->order, 0);
}

static void note_best(choice_walk *w)
{
    if (w->best.broken == 0 && w->price >= w->best.price)
        return;
    w->best.broken = 0;
    w->best.price = w->price;
    w->best.run = w->run;
    memcpy(w->best.order, w->order, (size_t)w->model->n * sizeof *w->order);
}

static void run(void *walk, uint64_t steps)
{
    choice_walk *const w = walk;
    const size_t bytes = (size_t)w->model->n * sizeof *w->order;
    const uint64_t until = w->steps + steps;
    while (w->steps < until) {
        if (w->idle++ >= RESTART_IDLE) {
            w->run = 0;
            w->price = w->kept_price = price_of(w, w->order, 0);
            w->idle = 0;
        } else {
            shake(w);
        }
        descend(w);
        note_best(w);
        if (w->price < w->kept_price)
            w->idle = 0;
        if (w->price <= w->kept_price) {
            memcpy(w->kept, w->order, bytes);
            w->kept_run = w->run;
            w->kept_price = w->price;
        } else {
            memcpy(w->order, w->kept, bytes);
            w->run = w->kept_run;
            w->price = w->kept_price;
        }
    }
}

static void *make(const efi_model *model, uint64_t seed, int index)
{
    efi_arena *const arena = efi_arena_new();
    choice_walk *const w = arena ? efi_arena_get(arena, 1, sizeof *w) : NULL;
    if (!w) {
        efi_arena_free(arena);
        return NULL;
    }
    *w = (choice_walk){.arena = arena, .model = model, .random = efi_random_stream(seed, (uint64_t)index, 3)};
    w->best.broken = EFI_FAR;
    int **const rows[] = {&w->order, &w->tried, &w->kept, &w->best.order};
    for (size_t i = 0; i < EF_COUNT(rows); i++)
        if (!(*rows[i] = efi_arena_get(arena, (size_t)model->n, sizeof(int)))) {
            efi_arena_free(arena);
            return NULL;
        }
    for (int j = 0; j < model->n; j++)
        w->order[j] = w->kept[j] = j;
    w->price = w->kept_price = price_of(w, w->order, 0);
    return w;
}

static void free_walk(void *walk)
{
    choice_walk *const w = walk;
    if (w)
        efi_arena_free(w->arena);
}

static const efi_walk_best *best(const void *walk)
{
    const choice_walk *const w = walk;
    return &w->best;
}

static uint64_t steps(const void *walk)
{
    const choice_walk *const w = walk;
    return w->steps;
}

const efi_walk_kind efi_choice_walk = {make, free_walk, run, NULL, NULL, best, steps};
