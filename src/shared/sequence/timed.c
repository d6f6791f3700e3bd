/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/sequence/descent.h"
#include "shared/sequence/walk.h"

#include <string.h>

/*
 * Iterated local search over orders whose price depends on times: an order is shaken and descended from
 * (descent.h), and kept unless it came out worse. When many shakes in a row gain nothing it joins a small
 * pool of good and different orders, and the walk goes on from a new one, later from a child of two of the
 * pool.
 */

enum {
    POOL = 10,
    SHAKE_LENGTH = 10,
    SHAKES_IDLE = 4, /* for each lot */
    ALIKE = 12
};

/* One of the good and different orders a walk keeps. */
typedef struct member {
    int *order; /* [n] */
    int64_t price;
    int64_t broken;
} member;

typedef struct timed_walk {
    efi_arena *arena;
    const efi_model *model;
    efi_random random;
    efi_descent at; /* the order at hand */
    int *kept;      /* [n] the order to come back to */
    int *spare;     /* [n] */
    bool *marked;   /* [n] */
    int64_t kept_price;
    int64_t late_price_least;
    int64_t late_price_most;
    member pool[POOL];
    int members;
    int idle;      /* shakes in a row without a gain */
    int idle_most; /* so many: time for a new start */
    bool is_fresh; /* a new order to descend from */
    efi_walk_best best;
} timed_walk;

static int random_below(timed_walk *w, int count)
{
    return (int)efi_random_below(&w->random, (uint32_t)count);
}

/* The same with all lots waiting, in random order: ends where no move gains. */
static void descend_fully(timed_walk *w)
{
    const int n = w->model->n;
    for (int64_t before = w->at.price + 1; w->at.price < before;) {
        before = w->at.price;
        for (int k = 0; k < n; k++)
            efi_descent_enqueue(&w->at, w->at.order[random_below(w, n)]);
        for (int k = 0; k < n; k++)
            efi_descent_enqueue(&w->at, w->at.order[k]);
        efi_descent_run(&w->at);
    }
}

/* Short segments B C D in a row become D C B, which no single move undoes. */
static void shake(timed_walk *w)
{
    const int n = w->model->n;
    const int most = n / 4 + 1 < SHAKE_LENGTH ? n / 4 + 1 : SHAKE_LENGTH;
    const int b = 1 + random_below(w, most);
    const int c = 1 + random_below(w, most);
    const int d = 1 + random_below(w, most);
    w->at.steps++;
    if (b + c + d > n)
        return;
    const int a = random_below(w, n - b - c - d + 1);
    if (!efi_descent_may_exchange(&w->at, a, a + b, a + b + c + d) ||
        !efi_descent_may_exchange(&w->at, a + b, a + b + c, a + b + c + d))
        return;
    efi_descent_exchange(&w->at, a, a + b, a + b + c + d);
    efi_descent_exchange(&w->at, a, a + c, a + c + d);
    efi_descent_enqueue_around(&w->at, a);
    efi_descent_enqueue_around(&w->at, a + d);
    efi_descent_enqueue_around(&w->at, a + d + c);
    efi_descent_enqueue_around(&w->at, a + b + c + d);
    efi_descent_renew(&w->at, a, a + b + c + d);
}

static void note_best(timed_walk *w)
{
    efi_walk_best now = {.order = w->best.order, .run = w->model->n};
    now.price = efi_model_price(w->model, w->at.order, w->model->n, &now.broken);
    if (!efi_walk_better(&now, &w->best))
        return;
    w->best = now;
    memcpy(w->best.order, w->at.order, (size_t)w->model->n * sizeof *w->at.order);
}

static void keep(timed_walk *w)
{
    memcpy(w->kept, w->at.order, (size_t)w->model->n * sizeof *w->at.order);
    w->kept_price = w->at.price;
}

/* Is the place of every lot in `order` after those that must run before it? */
static bool keeps_pairs(const efi_model *m, const int *order)
{
    for (int k = 0; k < m->n && m->has_pairs; k++)
        for (int l = 0; l < k; l++)
            if (efi_set_has(m->before + (size_t)order[l] * (size_t)m->words, order[k]))
                return false;
    return true;
}

/*
 * A child of two members: a run of positions from one, the others in the order of the other (linear order
 * crossover: E. Falkenauer and S. Bouffouix, IEEE ICRA 1991).
 */
static void cross(timed_walk *w)
{
    const int n = w->model->n;
    const int first = random_below(w, w->members);
    const int second = (first + 1 + random_below(w, w->members - 1)) % w->members;
    const int *const x = w->pool[first].order;
    const int *const y = w->pool[second].order;
    const int length = n / 4 + random_below(w, n / 2 + 1);
    const int a = random_below(w, n - length + 1);
    memset(w->marked, 0, (size_t)n * sizeof *w->marked);
    for (int k = a; k < a + length; k++) {
        w->marked[x[k]] = true;
        w->spare[k] = x[k];
    }
    int at = a > 0 ? 0 : length;
    for (int k = 0; k < n; k++) {
        if (w->marked[y[k]])
            continue;
        w->spare[at++] = y[k];
        if (at == a)
            at += length;
    }
    efi_descent_take(&w->at, keeps_pairs(w->model, w->spare) ? w->spare : x);
}

/* How many lots are followed by another lot in x than in y. */
static int difference(timed_walk *w, const int *x, const int *y)
{
    const int n = w->model->n;
    int count = 0;
    for (int k = 0; k < n; k++)
        w->spare[x[k]] = k + 1 < n ? x[k + 1] : n;
    for (int k = 0; k < n; k++)
        count += w->spare[y[k]] != (k + 1 < n ? y[k + 1] : n);
    return count;
}

/* What counts among members: broken limits at their present price. */
static int64_t rank(const timed_walk *w, const member *one)
{
    return one->price + w->at.suffixes.late_price * one->broken;
}

/* Keeps the order at hand among the members: in place of one that is nearly the same and no better, or of the
 * worst. */
static void join_pool(timed_walk *w)
{
    const int n = w->model->n;
    int alike = -1;
    int worst = 0;
    member fresh = {.order = w->at.order};
    fresh.price = efi_model_price(w->model, w->at.order, n, &fresh.broken);
    for (int i = 0; i < w->members; i++) {
        const bool near_one = difference(w, w->pool[i].order, w->at.order) <= n / ALIKE;
        if (near_one && (alike < 0 || rank(w, &w->pool[i]) < rank(w, &w->pool[alike])))
            alike = i;
        if (rank(w, &w->pool[i]) > rank(w, &w->pool[worst]))
            worst = i;
    }
    const bool has_room = alike < 0 && w->members < POOL;
    const int to = alike >= 0 ? alike : has_room ? w->members++ : worst;
    if (!has_room && rank(w, &fresh) > rank(w, &w->pool[to]))
        return;
    fresh.order = w->pool[to].order;
    w->pool[to] = fresh;
    memcpy(fresh.order, w->at.order, (size_t)n * sizeof *w->at.order);
}

/* Broken limits become dearer after an order that breaks some, cheaper after one that keeps them all, so that
 * the walk moves along the border of what is allowed. */
static void adapt_late_price(timed_walk *w)
{
    const efi_model *const m = w->model;
    if (!m->has_limits)
        return;
    int64_t broken;
    (void)efi_model_price(m, w->at.order, m->n, &broken);
    int64_t *const price = &w->at.suffixes.late_price;
    if (broken > 0 && *price <= w->late_price_most / 2)
        *price *= 2;
    else if (broken == 0 && *price >= w->late_price_least * 2)
        *price /= 2;
}

/* A new place to search from: greedy or random while the pool fills, then children. */
static void start_anew(timed_walk *w)
{
    if (w->members >= POOL || (w->members >= 2 && random_below(w, 4) == 0)) {
        cross(w);
        return;
    }
    efi_walk_start(w->model, &w->random, w->kept);
    efi_descent_take(&w->at, w->kept);
    for (int i = 0; i < w->model->n; i++)
        shake(w);
}

/* Shakes and descends from the order at hand until `idle_most` shakes in a row gained nothing or the steps
 * are used up. */
static void improve(timed_walk *w, uint64_t until)
{
    while (w->idle < w->idle_most && w->at.steps < until) {
        shake(w);
        efi_descent_run(&w->at);
        if (w->at.price < w->kept_price)
            descend_fully(w);
        w->idle = w->at.price < w->kept_price ? 0 : w->idle + 1;
        if (w->at.price <= w->kept_price)
            keep(w);
        else
            efi_descent_take(&w->at, w->kept);
    }
}

static void run(void *walk, uint64_t steps)
{
    timed_walk *const w = walk;
    const uint64_t until = w->at.steps + steps;
    while (w->at.steps < until) {
        if (w->is_fresh) {
            w->is_fresh = false;
            w->idle = 0;
            descend_fully(w);
            keep(w);
        }
        improve(w, until);
        note_best(w);
        if (w->idle >= w->idle_most) {
            join_pool(w);
            adapt_late_price(w);
            start_anew(w);
            w->is_fresh = true;
        }
    }
}

static void adopt(void *walk, const int *order)
{
    timed_walk *const w = walk;
    efi_descent_take(&w->at, order);
    w->is_fresh = true;
}

/* The range in which one tick past a latest start is priced: never less than other prices of a tick, and so
 * that sums fit. */
static void set_late_prices(timed_walk *w)
{
    const efi_model *const m = w->model;
    int64_t dearest = m->makespan_price;
    int64_t latest = 0;
    for (int j = 0; j < m->n; j++) {
        dearest = m->weight[j] > dearest ? m->weight[j] : dearest;
        latest = m->latest[j] < latest ? m->latest[j] : latest;
    }
    w->late_price_most = EFI_FAR / 16 / (m->horizon - latest + 1) / m->n;
    w->late_price_least = dearest + 1 < w->late_price_most ? dearest + 1 : w->late_price_most;
    w->at.suffixes.late_price = w->late_price_least * 8 < w->late_price_most ? w->late_price_least * 8
                                                                             : w->late_price_most;
}

static bool get_walk(timed_walk *w)
{
    const size_t n = (size_t)w->model->n;
    int **const rows[] = {&w->kept, &w->spare, &w->best.order};
    for (size_t i = 0; i < EF_COUNT(rows); i++)
        if (!(*rows[i] = efi_arena_get(w->arena, n, sizeof(int))))
            return false;
    for (int i = 0; i < POOL; i++)
        if (!(w->pool[i].order = efi_arena_get(w->arena, n, sizeof(int))))
            return false;
    w->marked = efi_arena_get(w->arena, n, sizeof *w->marked);
    return w->marked && efi_descent_get(&w->at, w->model, w->arena);
}

static void *make(const efi_model *model, uint64_t seed, int index)
{
    efi_arena *const arena = efi_arena_new();
    timed_walk *const w = arena ? efi_arena_get(arena, 1, sizeof *w) : NULL;
    if (!w) {
        efi_arena_free(arena);
        return NULL;
    }
    w->arena = arena;
    w->model = model;
    w->random = efi_random_stream(seed, (uint64_t)index, 2);
    w->idle_most = SHAKES_IDLE * model->n;
    w->best.broken = EFI_FAR;
    if (!get_walk(w)) {
        efi_arena_free(arena);
        return NULL;
    }
    set_late_prices(w);
    efi_walk_start(model, &w->random, w->spare);
    adopt(w, w->spare);
    return w;
}

static void free_walk(void *walk)
{
    timed_walk *const w = walk;
    if (w)
        efi_arena_free(w->arena);
}

static const efi_walk_best *best(const void *walk)
{
    const timed_walk *const w = walk;
    return &w->best;
}

static uint64_t steps(const void *walk)
{
    const timed_walk *const w = walk;
    return w->at.steps;
}

const efi_walk_kind efi_timed_walk = {make, free_walk, run, adopt, NULL, best, steps};
