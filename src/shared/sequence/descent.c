/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/sequence/descent.h"

#include <string.h>

/*
 * A move is priced in O(log n): the segment that comes first is timed lot by lot while it grows, everything
 * behind it through the suffix functions F_k of suffix.h. The price of positions a .. b-1 when work on a
 * starts at x is F_a(x) - F_b(start of b), and the start of b is max(x + shift, least), where shift and least
 * grow with b. So also with release dates no lot is timed twice. Compare B. Liao, Tsou & Huang, European
 * Journal of Operational Research 220 (2012), and A. Kramer & A. Subramanian, Journal of Scheduling 22
 * (2019), for the same idea without and with idle time.
 */

enum {
    LONGEST_BLOCK = 12,
    NEAR = 3
};

/* max(x + shift, least): a time as a function of an earlier one. */
typedef struct passage {
    int64_t shift;
    int64_t least;
} passage;

static int64_t pass(passage p, int64_t x)
{
    return x + p.shift > p.least ? x + p.shift : p.least;
}

/* The passage from the start of `lot` to its end. */
static passage passage_of(const efi_model *m, int lot)
{
    return (passage){m->work[lot], m->work[lot]};
}

/* The passage to the start of `to`, for a passage p that leads to the end of `from`. */
static passage passage_to_start(const efi_model *m, passage p, int from, int to)
{
    const int64_t setup = m->time[(size_t)from * (size_t)(m->n + 1) + (size_t)to];
    const int64_t release = m->early ? m->release[to] : m->release[to] + setup;
    const int64_t least = p.least + setup;
    return (passage){p.shift + setup, least > release ? least : release};
}

static passage passage_through(const efi_model *m, passage p, int lot)
{
    return (passage){p.shift + m->work[lot], p.least + m->work[lot]};
}

static int64_t arc(const efi_model *m, int from, int to)
{
    return m->price[(size_t)from * (size_t)(m->n + 1) + (size_t)to];
}

/* The lot at a position; "nothing" before the first and after the last. */
static int lot_at(const efi_descent *d, int position)
{
    return position >= 0 && position < d->model->n ? d->order[position] : d->model->n;
}

/* Times and prices from position `from` on. */
static void retime(efi_descent *d, int from)
{
    const efi_model *const m = d->model;
    int64_t end = from > 0 ? d->end[from - 1] : 0;
    int64_t price = from > 0 ? d->so_far[from - 1] : m->constant;
    for (int k = from; k < m->n; k++) {
        const int64_t start = efi_model_start(m, lot_at(d, k - 1), end, d->order[k]);
        price += arc(m, lot_at(d, k - 1), d->order[k]) +
                 efi_suffix_lot_price(&d->suffixes, d->order[k], start);
        end = start + m->work[d->order[k]];
        d->end[k] = end;
        d->so_far[k] = price;
    }
    const int last = d->order[m->n - 1];
    d->price = price + arc(m, last, m->n) + m->makespan_price * efi_model_start(m, last, end, m->n);
}

void efi_descent_renew(efi_descent *d, int from, int to)
{
    efi_suffixes_build(&d->suffixes, d->order, to < d->model->n ? to - 1 : d->model->n);
    retime(d, from);
}

typedef struct move {
    int64_t price;
    int a, b, c;
    bool swap; /* lots at a and b change places; else segments a .. b-1 and b .. c-1 */
} move;

/* What comes before position a. */
typedef struct prefix {
    int lot;
    int64_t end;
    int64_t price;
} prefix;

static prefix prefix_of(const efi_descent *d, int a)
{
    if (a == 0)
        return (prefix){d->model->n, 0, d->model->constant};
    return (prefix){d->order[a - 1], d->end[a - 1], d->so_far[a - 1]};
}

/* Segments a .. b-1 and b .. c-1 for all c; `through` leads from the start of the lot at a to the end of the
 * one at b-1. */
static void try_exchanges(efi_descent *d, int a, int b, passage through, move *best)
{
    const efi_model *const m = d->model;
    const efi_suffixes *const s = &d->suffixes;
    const prefix before = prefix_of(d, a);
    const int first = d->order[a];
    const int last = d->order[b - 1];
    const int head = d->order[b];
    const passage to_b = passage_to_start(m, through, last, head);
    const int64_t inner = arc(m, last, head);
    int64_t start = efi_model_start(m, before.lot, before.end, head);
    int64_t price = before.price + arc(m, before.lot, head);
    const int farthest = b - a <= LONGEST_BLOCK || b + LONGEST_BLOCK > m->n ? m->n : b + LONGEST_BLOCK;
    for (int c = b + 1; c <= farthest; c++) {
        const int tail = d->order[c - 1];
        price += efi_suffix_lot_price(s, tail, start);
        if (price >= best->price || d->follows[tail])
            return;
        d->steps++;
        const int64_t end = start + m->work[tail];
        const int next = lot_at(d, c);
        const int64_t x = efi_model_start(m, tail, end, first);
        const int64_t then = efi_model_start(m, last, pass(through, x), next);
        int64_t all = price + arc(m, tail, first) + arc(m, last, next) - inner;
        if (all < best->price) {
            all += efi_suffix_price(s, a, x) - efi_suffix_price(s, b, pass(to_b, x));
            if (all < best->price) {
                all += efi_suffix_price(s, c, then);
                if (all < best->price)
                    *best = (move){all, a, b, c, false};
            }
        }
        if (c < m->n) {
            start = efi_model_start(m, tail, end, next);
            price += arc(m, tail, next);
        }
    }
}

/* The lots at a and j > a + 1 change places; `through` leads over positions a+1 .. j-1. */
static void try_swap(efi_descent *d, int a, int j, passage through, move *best)
{
    const efi_model *const m = d->model;
    const efi_suffixes *const s = &d->suffixes;
    const prefix before = prefix_of(d, a);
    const int late = d->order[j];
    const int early = d->order[a];
    const int first = d->order[a + 1];
    const int last = d->order[j - 1];
    const int next = lot_at(d, j + 1);
    d->steps++;
    const int64_t start = efi_model_start(m, before.lot, before.end, late);
    int64_t all = before.price + arc(m, before.lot, late) + efi_suffix_lot_price(s, late, start) +
                  arc(m, late, first) - arc(m, last, late) + arc(m, last, early) + arc(m, early, next);
    if (all >= best->price)
        return;
    const int64_t x = efi_model_start(m, late, start + m->work[late], first);
    const int64_t end = pass(through, x);
    const passage to_j = passage_to_start(m, through, last, late);
    all += efi_suffix_price(s, a + 1, x) - efi_suffix_price(s, j, pass(to_j, x));
    if (all >= best->price)
        return;
    const int64_t again = efi_model_start(m, last, end, early);
    all += efi_suffix_lot_price(s, early, again);
    if (all >= best->price)
        return;
    all += efi_suffix_price(s, j + 1, efi_model_start(m, early, again + m->work[early], next));
    if (all < best->price)
        *best = (move){all, a, j, j + 1, true};
}

/* Marks the lots that must run after `lot`. */
static void mark_followers(efi_descent *d, int lot)
{
    const efi_model *const m = d->model;
    if (!m->has_pairs)
        return;
    for (int j = 0; j < m->n; j++)
        d->follows[j] = d->follows[j] || efi_set_has(m->after + (size_t)lot * (size_t)m->words, j);
}

/* May the lot at j run before all at a .. j-1? */
static bool may_lead(const efi_descent *d, int a, int j)
{
    const efi_model *const m = d->model;
    const uint64_t *const before = m->before + (size_t)d->order[j] * (size_t)m->words;
    for (int k = a; k < j; k++)
        if (efi_set_has(before, d->order[k]))
            return false;
    return true;
}

/* The best move whose first changed position is a. */
static move best_move_at(efi_descent *d, int a)
{
    const efi_model *const m = d->model;
    move best = {.price = d->price};
    memset(d->follows, 0, (size_t)m->n * sizeof *d->follows);
    passage through = passage_of(m, d->order[a]);
    for (int b = a + 1; b < m->n; b++) {
        mark_followers(d, d->order[b - 1]);
        try_exchanges(d, a, b, through, &best);
        through = passage_through(m, passage_to_start(m, through, d->order[b - 1], d->order[b]), d->order[b]);
    }
    if (a + 2 >= m->n)
        return best;
    const uint64_t *const after = m->after + (size_t)d->order[a] * (size_t)m->words;
    through = passage_of(m, d->order[a + 1]);
    for (int j = a + 2; j < m->n; j++) {
        if (efi_set_has(after, d->order[j - 1]))
            break;
        if (!m->has_pairs || may_lead(d, a, j))
            try_swap(d, a, j, through, &best);
        through = passage_through(m, passage_to_start(m, through, d->order[j - 1], d->order[j]), d->order[j]);
    }
    return best;
}

void efi_descent_exchange(efi_descent *d, int a, int b, int c)
{
    const size_t left = (size_t)(b - a);
    const size_t right = (size_t)(c - b);
    memcpy(d->spare, d->order + a, left * sizeof *d->order);
    memmove(d->order + a, d->order + b, right * sizeof *d->order);
    memcpy(d->order + (size_t)a + right, d->spare, left * sizeof *d->order);
}

void efi_descent_enqueue(efi_descent *d, int lot)
{
    if (d->queued[lot])
        return;
    d->queued[lot] = true;
    int at = d->queue_first + d->queue_count++;
    if (at >= d->model->n)
        at -= d->model->n;
    d->queue[at] = lot;
}

static int dequeue(efi_descent *d)
{
    const int lot = d->queue[d->queue_first];
    d->queue_first = d->queue_first + 1 == d->model->n ? 0 : d->queue_first + 1;
    d->queue_count--;
    d->queued[lot] = false;
    return lot;
}

void efi_descent_enqueue_around(efi_descent *d, int position)
{
    for (int k = position - NEAR; k <= position + 1; k++)
        if (k >= 0 && k < d->model->n)
            efi_descent_enqueue(d, d->order[k]);
}

static void make_move(efi_descent *d, move made)
{
    if (made.swap) {
        const int lot = d->order[made.a];
        d->order[made.a] = d->order[made.b];
        d->order[made.b] = lot;
        efi_descent_enqueue_around(d, made.b);
    } else {
        efi_descent_exchange(d, made.a, made.b, made.c);
        efi_descent_enqueue_around(d, made.a + made.c - made.b);
    }
    efi_descent_enqueue_around(d, made.a);
    efi_descent_enqueue_around(d, made.c);
    efi_descent_renew(d, made.a, made.c);
}

static int position_of(const efi_descent *d, int lot)
{
    int k = 0;
    while (d->order[k] != lot)
        k++;
    return k;
}

void efi_descent_run(efi_descent *d)
{
    while (d->queue_count > 0) {
        const int lot = dequeue(d);
        const move found = best_move_at(d, position_of(d, lot));
        if (found.price < d->price) {
            efi_descent_enqueue(d, lot);
            make_move(d, found);
        }
    }
}

bool efi_descent_may_exchange(const efi_descent *d, int a, int b, int c)
{
    for (int j = b; j < c && d->model->has_pairs; j++)
        if (!may_lead(d, a, b) || !may_lead(d, a, j))
            return false;
    return true;
}

void efi_descent_take(efi_descent *d, const int *order)
{
    memcpy(d->order, order, (size_t)d->model->n * sizeof *order);
    efi_descent_renew(d, 0, d->model->n);
}

bool efi_descent_get(efi_descent *d, const efi_model *model, efi_arena *arena)
{
    const size_t n = (size_t)model->n;
    d->model = model;
    d->order = efi_arena_get(arena, n, sizeof *d->order);
    d->spare = efi_arena_get(arena, n, sizeof *d->spare);
    d->queue = efi_arena_get(arena, n, sizeof *d->queue);
    d->end = efi_arena_get(arena, n, sizeof *d->end);
    d->so_far = efi_arena_get(arena, n, sizeof *d->so_far);
    d->follows = efi_arena_get(arena, n, sizeof *d->follows);
    d->queued = efi_arena_get(arena, n, sizeof *d->queued);
    return d->order && d->spare && d->queue && d->end && d->so_far && d->follows && d->queued &&
           efi_suffixes_get(&d->suffixes, model, arena);
}
