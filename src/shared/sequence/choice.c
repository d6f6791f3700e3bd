/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/sequence/walk.h"

#include <string.h>

/*
 * Iterated local search where lots may be refused: the first `run` lots of the order are run. A lot is moved
 * to another place among them, taken out or put in, or changes places with another, run or not; what gains is
 * kept, and every order keeps all limits. An order is evaluated from the first place that differs, and no
 * further than where it can be told from the order at hand: a lot that ends as it does there has the same
 * behind it, one that ends later, at a price no lower, has nothing better. From a local optimum a few random
 * lots are taken out and others exchanged; what comes out is kept unless it is worse.
 */

enum {
    LONGEST_BLOCK = 3,
    MOST_OUT = 3,
    RESTART_IDLE = 400
};

/* Of the walks in turn: where few lots are refused, slack crosses from one valley to the next. */
static const int darings[] = {10, 10, 8, 12};

typedef struct choice_walk {
    efi_arena *arena;
    const efi_model *model;
    efi_random random;
    int *order;       /* [n] */
    int *tried;       /* [n] */
    int *kept;        /* [n] */
    int64_t *end;     /* [n] of each lot that is run, by place */
    int64_t *so_far;  /* [n] price of the order up to and with it, without refusals */
    int64_t refusals; /* of the lots that are not run */
    int run;
    int kept_run;
    int64_t price;
    int64_t kept_price;
    uint64_t steps;
    int idle;
    int daring; /* how much worse an order may be, sixty-fourths of its price */
    efi_walk_best best;
} choice_walk;

/* How `tried` differs from the order at hand: not before place `first`; from place `behind` on each lot has
 * the one before it that it has there, `offset` places further to the front. */
typedef struct difference {
    int run;
    int first;
    int behind;
    int offset;
    int64_t refusals;
} difference;

/* Do the lots that are run keep all pairs? Only those given count where lots may be refused. */
static bool keeps_pairs(const efi_model *m, const int *order, int run)
{
    for (int k = 1; k < run && m->has_pairs; k++)
        for (int l = 0; l < k; l++)
            if (efi_set_has(m->before + (size_t)order[l] * (size_t)m->words, order[k]))
                return false;
    return true;
}

/* Works the order at hand out from the beginning; its price is EFI_FAR when it breaks a limit. */
static void work_out(choice_walk *w)
{
    const efi_model *const m = w->model;
    const size_t size = (size_t)m->n + 1;
    int64_t broken;
    int64_t end = 0;
    int64_t price = m->constant;
    int from = m->n;
    w->steps++;
    w->price = efi_model_price(m, w->order, w->run, &broken);
    if (broken > 0 || !keeps_pairs(m, w->order, w->run))
        w->price = EFI_FAR;
    for (int k = 0; k < w->run; k++) {
        const int to = w->order[k];
        end = efi_model_start(m, from, end, to) + m->work[to];
        price += m->price[(size_t)from * size + (size_t)to];
        price += end > m->due[to] ? m->weight[to] * (end - m->due[to]) : 0;
        w->end[k] = end;
        w->so_far[k] = price;
        from = to;
    }
    w->refusals = 0;
    for (int k = w->run; k < m->n; k++)
        w->refusals += m->refusal ? m->refusal[w->order[k]] : 0;
}

/* The price of `tried` when it is less than that of the order at hand and keeps its limits, pairs aside; else
 * EFI_FAR. */
static int64_t price_of(choice_walk *w, const difference *d)
{
    const efi_model *const m = w->model;
    const size_t size = (size_t)m->n + 1;
    int64_t end = d->first > 0 ? w->end[d->first - 1] : 0;
    int64_t price = (d->first > 0 ? w->so_far[d->first - 1] : m->constant) + d->refusals;
    int from = d->first > 0 ? w->tried[d->first - 1] : m->n;
    w->steps++;
    for (int k = d->first; k <= d->run; k++) {
        const int to = k < d->run ? w->tried[k] : m->n;
        const int64_t arc = m->price[(size_t)from * size + (size_t)to];
        const int64_t start = efi_model_start(m, from, end, to);
        end = start + m->work[to];
        price += arc + (end > m->due[to] ? m->weight[to] * (end - m->due[to]) : 0);
        if (arc >= m->forbidden_price || start > m->latest[to] || price >= w->price)
            return EFI_FAR;
        if (k >= d->behind && k < d->run) {
            const int there = k - d->offset;
            const int64_t before = w->so_far[there] + w->refusals;
            if (end == w->end[there])
                return price < before ? w->price - before + price : EFI_FAR;
            if (end > w->end[there] && price >= before)
                return EFI_FAR;
        }
        from = to;
    }
    price += m->makespan_price * end;
    return price < w->price ? price : EFI_FAR;
}

/* `tried` becomes the order at hand with the lot at `from` put at place `to` of the others. */
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

static bool take_if_better(choice_walk *w, const difference *d)
{
    if (price_of(w, d) == EFI_FAR || !keeps_pairs(w->model, w->tried, d->run))
        return false;
    memcpy(w->order, w->tried, (size_t)w->model->n * sizeof *w->order);
    w->run = d->run;
    work_out(w);
    return true;
}

static int64_t refusal_of(const choice_walk *w, int place)
{
    return w->model->refusal ? w->model->refusal[w->order[place]] : 0;
}

/* Another place for the lot at `from`, or none, or one for a lot that is refused. */
static bool try_places(choice_walk *w, int from)
{
    const bool is_run = from < w->run;
    const int others = w->run - is_run;
    difference d = {.run = others + 1, .offset = is_run ? 0 : 1};
    d.refusals = w->refusals - (is_run ? 0 : refusal_of(w, from));
    shift(w, from, 0);
    for (int to = 0; to <= others; to++) {
        if (to > 0) { /* one place further back */
            const int lot = w->tried[to];
            w->tried[to] = w->tried[to - 1];
            w->tried[to - 1] = lot;
        }
        d.first = is_run && from < to ? from : to;
        d.behind = (is_run && from > to ? from : to) + 1;
        if (!(is_run && to == from) && take_if_better(w, &d))
            return true;
    }
    if (!is_run)
        return false;
    shift(w, from, w->model->n - 1);
    d = (difference){others, from, from, -1, w->refusals + refusal_of(w, from)};
    return take_if_better(w, &d);
}

/* The lot at `from` and any later one, run or refused, change places. */
static bool try_swaps(choice_walk *w, int from)
{
    const int n = w->model->n;
    memcpy(w->tried, w->order, (size_t)n * sizeof *w->order);
    for (int to = from + 1; to < n && from < w->run; to++) {
        const bool is_run = to < w->run;
        difference d = {w->run, from, (is_run ? to : from) + 1, 0, w->refusals};
        d.refusals += is_run ? 0 : refusal_of(w, from) - refusal_of(w, to);
        w->tried[from] = w->order[to];
        w->tried[to] = w->order[from];
        if (take_if_better(w, &d))
            return true;
        w->tried[from] = w->order[from];
        w->tried[to] = w->order[to];
    }
    return false;
}

/* The lots at `from` and behind it, two or three of them, go to another place together. */
static bool try_blocks(choice_walk *w, int from)
{
    for (int length = 2; length <= LONGEST_BLOCK && from + length <= w->run; length++) {
        const size_t bytes = (size_t)length * sizeof *w->order;
        difference d = {w->run, 0, 0, 0, w->refusals};
        /* the others in their order, the block before the first of them */
        memcpy(w->tried, w->order, (size_t)w->model->n * sizeof *w->order);
        memmove(w->tried + length, w->order, (size_t)from * sizeof *w->order);
        memcpy(w->tried, w->order + from, bytes);
        for (int to = 0; to + length <= w->run; to++) {
            if (to > 0) {
                const int lot = w->tried[to + length - 1];
                memmove(w->tried + to, w->tried + to - 1, bytes);
                w->tried[to - 1] = lot;
            }
            d.first = from < to ? from : to;
            d.behind = (from > to ? from : to) + length;
            if (to != from && take_if_better(w, &d))
                return true;
        }
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
        idle = try_places(w, k) || try_swaps(w, k) || try_blocks(w, k) ? 0 : idle + 1;
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
    work_out(w);
    if (w->price < EFI_FAR)
        return;
    w->run = 0;
    work_out(w);
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

/* How much worse an order may be to go on from it, drawn anew each time: mostly very little. */
static int64_t slack(choice_walk *w)
{
    const int64_t draw = efi_random_below(&w->random, 1u << 10);
    return w->kept_price / 1024 * draw / 1024 * draw / 64 * w->daring;
}

static void run(void *walk, uint64_t steps)
{
    choice_walk *const w = walk;
    const size_t bytes = (size_t)w->model->n * sizeof *w->order;
    const uint64_t until = w->steps + steps;
    while (w->steps < until) {
        if (w->idle++ >= RESTART_IDLE) {
            w->run = 0;
            work_out(w);
            w->kept_price = w->price;
            w->idle = 0;
        } else {
            shake(w);
        }
        descend(w);
        note_best(w);
        if (w->price < w->kept_price)
            w->idle = 0;
        if (w->price <= w->kept_price || w->price - w->kept_price <= slack(w)) {
            memcpy(w->kept, w->order, bytes);
            w->kept_run = w->run;
            w->kept_price = w->price;
        } else {
            memcpy(w->order, w->kept, bytes);
            w->run = w->kept_run;
            work_out(w);
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
    w->daring = darings[(size_t)index % EF_COUNT(darings)];
    int **const rows[] = {&w->order, &w->tried, &w->kept, &w->best.order};
    for (size_t i = 0; i < EF_COUNT(rows); i++)
        if (!(*rows[i] = efi_arena_get(arena, (size_t)model->n, sizeof(int)))) {
            efi_arena_free(arena);
            return NULL;
        }
    w->end = efi_arena_get(arena, (size_t)model->n, sizeof *w->end);
    w->so_far = efi_arena_get(arena, (size_t)model->n, sizeof *w->so_far);
    if (!w->end || !w->so_far) {
        efi_arena_free(arena);
        return NULL;
    }
    for (int j = 0; j < model->n; j++)
        w->order[j] = w->kept[j] = j;
    work_out(w);
    w->kept_price = w->price;
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
