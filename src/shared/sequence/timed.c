/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/sequence/suffix.h"
#include "shared/sequence/walk.h"

#include <string.h>

/*
 * Iterated local search over orders whose price depends on times. Two neighbourhoods:
 *
 *   exchange of the neighbouring segments at positions a .. b-1 and b .. c-1 (all moves of one lot or a
 * block), swap of the lots at two positions.
 *
 * A move is priced in O(log n): the segment that comes first is timed lot by lot while it grows, everything
 * behind it through the suffix functions F_k of suffix.h. The price of positions a .. b-1 when work on a
 * starts at x is F_a(x) - F_b(start of b), and the start of b is max(x + shift, least), where shift and least
 * grow with b. So also with release dates no lot is timed twice. Compare B. Liao, Tsou & Huang, European
 * Journal of Operational Research 220 (2012), and A. Kramer & A. Subramanian, Journal of Scheduling 22
 * (2019), for the same idea without and with idle time.
 */

enum {
    LONGEST_BLOCK = 12,
    POOL = 10,
    SHAKE_LENGTH = 10,
    SHAKES_IDLE = 4, /* for each lot */
    ALIKE = 12,
    NEAR = 3
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
    efi_suffixes suffixes;
    int *order;      /* [n] */
    int64_t *end;    /* [n] end of the lot at a position */
    int64_t *so_far; /* [n] price up to and with the lot at a position, broken limits priced */
    int *kept;       /* [n] the order to come back to */
    int *spare;      /* [n] */
    int *queue;      /* [n] ring of lots to look at */
    bool *queued;    /* [n] */
    int queue_first;
    int queue_count;
    bool *follows; /* [n] must run after a lot of the segment at hand */
    int64_t price; /* of `order`, broken limits priced */
    int64_t kept_price;
    int64_t late_price_least;
    int64_t late_price_most;
    uint64_t steps;
    member pool[POOL];
    int members;
    int idle;      /* shakes in a row without a gain */
    int idle_most; /* so many: time for a new start */
    bool is_fresh; /* a new order to descend from */
    efi_walk_best best;
} timed_walk;

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
static int lot_at(const timed_walk *w, int position)
{
    return position >= 0 && position < w->model->n ? w->order[position] : w->model->n;
}

/* Times and prices from position `from` on. */
static void retime(timed_walk *w, int from)
{
    const efi_model *const m = w->model;
    int64_t end = from > 0 ? w->end[from - 1] : 0;
    int64_t price = from > 0 ? w->so_far[from - 1] : m->constant;
    for (int k = from; k < m->n; k++) {
        const int64_t start = efi_model_start(m, lot_at(w, k - 1), end, w->order[k]);
        price += arc(m, lot_at(w, k - 1), w->order[k]) +
                 efi_suffix_lot_price(&w->suffixes, w->order[k], start);
        end = start + m->work[w->order[k]];
        w->end[k] = end;
        w->so_far[k] = price;
    }
    const int last = w->order[m->n - 1];
    w->price = price + arc(m, last, m->n) + m->makespan_price * efi_model_start(m, last, end, m->n);
}

/* The order changed at positions from .. to - 1. */
static void renew(timed_walk *w, int from, int to)
{
    efi_suffixes_build(&w->suffixes, w->order, to < w->model->n ? to - 1 : w->model->n);
    retime(w, from);
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

static prefix prefix_of(const timed_walk *w, int a)
{
    if (a == 0)
        return (prefix){w->model->n, 0, w->model->constant};
    return (prefix){w->order[a - 1], w->end[a - 1], w->so_far[a - 1]};
}

/* Segments a .. b-1 and b .. c-1 for all c; `through` leads from the start of the lot at a to the end of the
 * one at b-1. */
static void try_exchanges(timed_walk *w, int a, int b, passage through, move *best)
{
    const efi_model *const m = w->model;
    const efi_suffixes *const s = &w->suffixes;
    const prefix before = prefix_of(w, a);
    const int first = w->order[a];
    const int last = w->order[b - 1];
    const int head = w->order[b];
    const passage to_b = passage_to_start(m, through, last, head);
    const int64_t inner = arc(m, last, head);
    int64_t start = efi_model_start(m, before.lot, before.end, head);
    int64_t price = before.price + arc(m, before.lot, head);
    const int farthest = b - a <= LONGEST_BLOCK || b + LONGEST_BLOCK > m->n ? m->n : b + LONGEST_BLOCK;
    for (int c = b + 1; c <= farthest; c++) {
        const int tail = w->order[c - 1];
        price += efi_suffix_lot_price(s, tail, start);
        if (price >= best->price || w->follows[tail])
            return;
        w->steps++;
        const int64_t end = start + m->work[tail];
        const int next = lot_at(w, c);
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
static void try_swap(timed_walk *w, int a, int j, passage through, move *best)
{
    const efi_model *const m = w->model;
    const efi_suffixes *const s = &w->suffixes;
    const prefix before = prefix_of(w, a);
    const int late = w->order[j];
    const int early = w->order[a];
    const int first = w->order[a + 1];
    const int last = w->order[j - 1];
    const int next = lot_at(w, j + 1);
    w->steps++;
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
static void mark_followers(timed_walk *w, int lot)
{
    const efi_model *const m = w->model;
    if (!m->has_pairs)
        return;
    for (int j = 0; j < m->n; j++)
        w->follows[j] = w->follows[j] || efi_set_has(m->after + (size_t)lot * (size_t)m->words, j);
}

/* May the lot at j run before all at a .. j-1? */
static bool may_lead(const timed_walk *w, int a, int j)
{
    const efi_model *const m = w->model;
    const uint64_t *const before = m->before + (size_t)w->order[j] * (size_t)m->words;
    for (int k = a; k < j; k++)
        if (efi_set_has(before, w->order[k]))
            return false;
    return true;
}

/* The best move whose first changed position is a. */
static move best_move_at(timed_walk *w, int a)
{
    const efi_model *const m = w->model;
    move best = {.price = w->price};
    memset(w->follows, 0, (size_t)m->n * sizeof *w->follows);
    passage through = passage_of(m, w->order[a]);
    for (int b = a + 1; b < m->n; b++) {
        mark_followers(w, w->order[b - 1]);
        try_exchanges(w, a, b, through, &best);
        through = passage_through(m, passage_to_start(m, through, w->order[b - 1], w->order[b]), w->order[b]);
    }
    if (a + 2 >= m->n)
        return best;
    const uint64_t *const after = m->after + (size_t)w->order[a] * (size_t)m->words;
    through = passage_of(m, w->order[a + 1]);
    for (int j = a + 2; j < m->n; j++) {
        if (efi_set_has(after, w->order[j - 1]))
            break;
        if (!m->has_pairs || may_lead(w, a, j))
            try_swap(w, a, j, through, &best);
        through = passage_through(m, passage_to_start(m, through, w->order[j - 1], w->order[j]), w->order[j]);
    }
    return best;
}

static void exchange(timed_walk *w, int a, int b, int c)
{
    const size_t left = (size_t)(b - a);
    const size_t right = (size_t)(c - b);
    memcpy(w->spare, w->order + a, left * sizeof *w->order);
    memmove(w->order + a, w->order + b, right * sizeof *w->order);
    memcpy(w->order + (size_t)a + right, w->spare, left * sizeof *w->order);
}

static void enqueue(timed_walk *w, int lot)
{
    if (w->queued[lot])
        return;
    w->queued[lot] = true;
    int at = w->queue_first + w->queue_count++;
    if (at >= w->model->n)
        at -= w->model->n;
    w->queue[at] = lot;
}

static int dequeue(timed_walk *w)
{
    const int lot = w->queue[w->queue_first];
    w->queue_first = w->queue_first + 1 == w->model->n ? 0 : w->queue_first + 1;
    w->queue_count--;
    w->queued[lot] = false;
    return lot;
}

/* The changeover into a position changed: blocks that begin near it are worth another look. */
static void enqueue_around(timed_walk *w, int position)
{
    for (int k = position - NEAR; k <= position + 1; k++)
        if (k >= 0 && k < w->model->n)
            enqueue(w, w->order[k]);
}

static void make_move(timed_walk *w, move made)
{
    if (made.swap) {
        const int lot = w->order[made.a];
        w->order[made.a] = w->order[made.b];
        w->order[made.b] = lot;
        enqueue_around(w, made.b);
    } else {
        exchange(w, made.a, made.b, made.c);
        enqueue_around(w, made.a + made.c - made.b);
    }
    enqueue_around(w, made.a);
    enqueue_around(w, made.c);
    renew(w, made.a, made.c);
}

static int random_below(timed_walk *w, int count)
{
    return (int)efi_random_below(&w->random, (uint32_t)count);
}

static int position_of(const timed_walk *w, int lot)
{
    int k = 0;
    while (w->order[k] != lot)
        k++;
    return k;
}

/* Makes the best move at the position of one waiting lot after the other until none waits. */
static void descend(timed_walk *w)
{
    while (w->queue_count > 0) {
        const int lot = dequeue(w);
        const move found = best_move_at(w, position_of(w, lot));
        if (found.price < w->price) {
            enqueue(w, lot);
            make_move(w, found);
        }
    }
}

/* The same with all lots waiting, in random order: ends where no move gains. */
static void descend_fully(timed_walk *w)
{
    const int n = w->model->n;
    for (int64_t before = w->price + 1; w->price < before;) {
        before = w->price;
        for (int k = 0; k < n; k++)
            enqueue(w, w->order[random_below(w, n)]);
        for (int k = 0; k < n; k++)
            enqueue(w, w->order[k]);
        descend(w);
    }
}

/* May segment b .. c-1 run before a .. b-1? */
static bool may_exchange(const timed_walk *w, int a, int b, int c)
{
    for (int j = b; j < c && w->model->has_pairs; j++)
        if (!may_lead(w, a, b) || !may_lead(w, a, j))
            return false;
    return true;
}

/* Short segments B C D in a row become D C B, which no single move undoes. */
static void shake(timed_walk *w)
{
    const int n = w->model->n;
    const int most = n / 4 + 1 < SHAKE_LENGTH ? n / 4 + 1 : SHAKE_LENGTH;
    const int b = 1 + random_below(w, most);
    const int c = 1 + random_below(w, most);
    const int d = 1 + random_below(w, most);
    w->steps++;
    if (b + c + d > n)
        return;
    const int a = random_below(w, n - b - c - d + 1);
    if (!may_exchange(w, a, a + b, a + b + c + d) || !may_exchange(w, a + b, a + b + c, a + b + c + d))
        return;
    exchange(w, a, a + b, a + b + c + d);
    exchange(w, a, a + c, a + c + d);
    enqueue_around(w, a);
    enqueue_around(w, a + d);
    enqueue_around(w, a + d + c);
    enqueue_around(w, a + b + c + d);
    renew(w, a, a + b + c + d);
}

static void note_best(timed_walk *w)
{
    efi_walk_best now = {.order = w->best.order, .run = w->model->n};
    now.price = efi_model_price(w->model, w->order, w->model->n, &now.broken);
    if (!efi_walk_better(&now, &w->best))
        return;
    w->best = now;
    memcpy(w->best.order, w->order, (size_t)w->model->n * sizeof *w->order);
}

static void keep(timed_walk *w)
{
    memcpy(w->kept, w->order, (size_t)w->model->n * sizeof *w->order);
    w->kept_price = w->price;
}

static void take(timed_walk *w, const int *order)
{
    memcpy(w->order, order, (size_t)w->model->n * sizeof *order);
    renew(w, 0, w->model->n);
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
    memset(w->follows, 0, (size_t)n * sizeof *w->follows);
    for (int k = a; k < a + length; k++) {
        w->follows[x[k]] = true;
        w->spare[k] = x[k];
    }
    int at = a > 0 ? 0 : length;
    for (int k = 0; k < n; k++) {
        if (w->follows[y[k]])
            continue;
        w->spare[at++] = y[k];
        if (at == a)
            at += length;
    }
    take(w, keeps_pairs(w->model, w->spare) ? w->spare : x);
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
    return one->price + w->suffixes.late_price * one->broken;
}

/* Keeps the order at hand among the members: in place of one that is nearly the same and no better, or of the
 * worst. */
static void join_pool(timed_walk *w)
{
    const int n = w->model->n;
    int alike = -1;
    int worst = 0;
    member fresh = {.order = w->order};
    fresh.price = efi_model_price(w->model, w->order, n, &fresh.broken);
    for (int i = 0; i < w->members; i++) {
        const bool near_one = difference(w, w->pool[i].order, w->order) <= n / ALIKE;
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
    memcpy(fresh.order, w->order, (size_t)n * sizeof *w->order);
}

/* Broken limits become dearer after an order that breaks some, cheaper after one that keeps them all, so that
 * the walk moves along the border of what is allowed. */
static void adapt_late_price(timed_walk *w)
{
    const efi_model *const m = w->model;
    if (!m->has_limits)
        return;
    int64_t broken;
    (void)efi_model_price(m, w->order, m->n, &broken);
    int64_t *const price = &w->suffixes.late_price;
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
    take(w, w->kept);
    for (int i = 0; i < w->model->n; i++)
        shake(w);
}

/* Shakes and descends from the order at hand until `idle_most` shakes in a row gained nothing or the steps
 * are used up. */
static void improve(timed_walk *w, uint64_t until)
{
    while (w->idle < w->idle_most && w->steps < until) {
        shake(w);
        descend(w);
        if (w->price < w->kept_price)
            descend_fully(w);
        w->idle = w->price < w->kept_price ? 0 : w->idle + 1;
        if (w->price <= w->kept_price)
            keep(w);
        else
            take(w, w->kept);
    }
}

static void run(void *walk, uint64_t steps)
{
    timed_walk *const w = walk;
    const uint64_t until = w->steps + steps;
    while (w->steps < until) {
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
    take(w, order);
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
    w->suffixes.late_price = w->late_price_least * 8 < w->late_price_most ? w->late_price_least * 8
                                                                          : w->late_price_most;
}

static bool get_walk(timed_walk *w)
{
    const size_t n = (size_t)w->model->n;
    int **const rows[] = {&w->order, &w->kept, &w->spare, &w->queue, &w->best.order};
    for (size_t i = 0; i < EF_COUNT(rows); i++)
        if (!(*rows[i] = efi_arena_get(w->arena, n, sizeof(int))))
            return false;
    w->end = efi_arena_get(w->arena, n, sizeof *w->end);
    w->so_far = efi_arena_get(w->arena, n, sizeof *w->so_far);
    w->follows = efi_arena_get(w->arena, n, sizeof *w->follows);
    w->queued = efi_arena_get(w->arena, n, sizeof *w->queued);
    for (int i = 0; i < POOL; i++)
        if (!(w->pool[i].order = efi_arena_get(w->arena, n, sizeof(int))))
            return false;
    return w->end && w->so_far && w->follows && w->queued &&
           efi_suffixes_get(&w->suffixes, w->model, w->arena);
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
    return w->steps;
}

const efi_walk_kind efi_timed_walk = {make, free_walk, run, adopt, NULL, best, steps};
