/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/sequence/heat.h"
#include "shared/sequence/walk.h"

#include <string.h>

/*
 * Iterated local search over orders priced by pairs alone. The order is a closed tour through node n
 * ("nothing"), which stays at position 0. A move exchanges two neighbouring segments, which is the one
 * 3-exchange that keeps all directions: with arcs into positions i < j < k removed,
 *
 *     ... t[i-1] | t[i] ... t[j-1] | t[j] ... t[k-1] | t[k] ...  ->  ... t[i-1] t[j] ... t[k-1] t[i] ...
 * t[j-1] t[k] ...
 *
 * Moves are found from the tail of one removed arc by the gain criterion over short lists of near successors
 * (S. Lin and B. W. Kernighan, Operations Research 21, 1973; P. C. Kanellakis and C. H. Papadimitriou,
 * Operations Research 28, 1980, for asymmetric tours). Tails wait in a queue and are looked at again only
 * after an arc near them changed. A local optimum is shaken by reversing the order of three short
 * neighbouring segments, which no such move undoes. With pairs most moves are not allowed, valleys are many
 * and deep, and what is worse is gone on from by annealing.
 */

/* Pairs rule out many moves, so with them more successors are looked at. */
enum {
    MOST_NEAR = 12,
    MOST_NEAR_PAIRS = 30,
    SHAKE_LENGTH = 30,
    SCATTER_ONE_IN = 8, /* shakes */
    SCATTERED = 4       /* exchanges tried */
};

/* Of the walks in turn, without pairs: much slack crosses from one valley to the next, none is best where
 * many arcs cost the same. */
static const int darings[] = {36, 20, 28, 0};

/* The longest segment of a shake with pairs: long ones are mostly not allowed, and those that are change too
 * much. */
static const int shake_lengths_pairs[] = {4, 4, 4, 10};

/* Sixteenths of a mean arc that one unit of heat (heat.h) is, with pairs: one walk stays cold, for where many
 * arcs cost the same or a few cost nearly all. */
static const int heats_pairs[] = {16, 16, 16, 2};

typedef struct near_node {
    int64_t price;
    int node;
} near_node;

typedef struct tour_walk {
    efi_arena *arena;
    const efi_model *model;
    efi_random random;
    int size;           /* nodes, n + 1 */
    int64_t *arc;       /* [size, size] price less the duals of the assignment problem, >= 0 */
    int near_count;     /* entries per node in near_to */
    near_node *near_to; /* [size, near_count] cheapest successors, cheapest first */
    int *tour;          /* [size] node at position; tour[0] = n */
    int *place;         /* [size] position of node */
    int *spare;         /* [size] */
    int *kept;          /* [size] the tour to come back to */
    int *queue;         /* [size] ring of tails to look at */
    bool *queued;       /* [size] */
    int queue_first;
    int queue_count;
    int changed_from; /* positions changed since `kept`: changed_from .. changed_to - 1 */
    int changed_to;
    uint64_t *marks; /* [words] */
    int64_t price;
    uint64_t steps;
    int daring;       /* how much worse a shaken order may be, sixteenths of a mean arc */
    efi_heat heat;    /* the same by annealing, with pairs */
    int shake_length; /* longest segment of a shake */
    efi_walk_best best;
} tour_walk;

static int64_t arc(const tour_walk *w, int from, int to)
{
    return w->arc[(size_t)from * (size_t)w->size + (size_t)to];
}

static int node_at(const tour_walk *w, int position)
{
    return w->tour[position == w->size ? 0 : position];
}

static void enqueue(tour_walk *w, int node)
{
    if (w->queued[node])
        return;
    w->queued[node] = true;
    int at = w->queue_first + w->queue_count++;
    if (at >= w->size)
        at -= w->size;
    w->queue[at] = node;
}

static int dequeue(tour_walk *w)
{
    const int node = w->queue[w->queue_first];
    w->queue_first = w->queue_first + 1 == w->size ? 0 : w->queue_first + 1;
    w->queue_count--;
    w->queued[node] = false;
    return node;
}

/* May the lots at positions j .. k-1 run before those at i .. j-1? */
static bool may_exchange(tour_walk *w, int i, int j, int k)
{
    const efi_model *const m = w->model;
    if (!m->has_pairs)
        return true;
    const size_t words = (size_t)m->words;
    memset(w->marks, 0, words * sizeof *w->marks);
    for (int p = i; p < j; p++)
        efi_set_add(w->marks, w->tour[p]);
    for (int p = j; p < k; p++) {
        const uint64_t *const before = m->before + (size_t)w->tour[p] * words;
        for (size_t word = 0; word < words; word++)
            if (before[word] & w->marks[word])
                return false;
    }
    return true;
}

static void note_change(tour_walk *w, int from, int to)
{
    if (from < w->changed_from)
        w->changed_from = from;
    if (to > w->changed_to)
        w->changed_to = to;
}

/* Exchanges positions i .. j-1 with j .. k-1, 1 <= i < j < k <= size. */
static void exchange(tour_walk *w, int i, int j, int k)
{
    const size_t left = (size_t)(j - i);
    const size_t right = (size_t)(k - j);
    if (left <= right) {
        memcpy(w->spare, w->tour + i, left * sizeof *w->tour);
        memmove(w->tour + i, w->tour + j, right * sizeof *w->tour);
        memcpy(w->tour + (size_t)i + right, w->spare, left * sizeof *w->tour);
    } else {
        memcpy(w->spare, w->tour + j, right * sizeof *w->tour);
        memmove(w->tour + (size_t)i + right, w->tour + i, left * sizeof *w->tour);
        memcpy(w->tour + i, w->spare, right * sizeof *w->tour);
    }
    for (int p = i; p < k; p++)
        w->place[w->tour[p]] = p;
    note_change(w, i, k);
}

static void enqueue_around(tour_walk *w, int position)
{
    enqueue(w, node_at(w, position));
    enqueue(w, w->tour[position - 1]);
}

/* Sorts three arc positions. */
static void sort_three(int *a, int *b, int *c)
{
    int swap;
    if (*a > *b)
        swap = *a, *a = *b, *b = swap;
    if (*b > *c)
        swap = *b, *b = *c, *c = swap;
    if (*a > *b)
        swap = *a, *a = *b, *b = swap;
}

/* Arcs are named by the position of their head, 1 .. size. Do they lie in this cyclic order? */
static bool in_cyclic_order(int a, int b, int c)
{
    return (a < b && b < c) || (b < c && c < a) || (c < a && a < b);
}

static int arc_into(const tour_walk *w, int node)
{
    return w->place[node] == 0 ? w->size : w->place[node];
}

typedef struct best_move {
    int64_t gain;
    int a, b, c;
} best_move;

/* The second half of a move: tail of `b` gets a new head at arc c, tail of c the head of a. */
static void close_move(tour_walk *w, int a, int b, int64_t gain, best_move *best)
{
    const int tail = w->tour[b - 1];
    const int first = node_at(w, a);
    const near_node *const near_to = w->near_to + (size_t)tail * (size_t)w->near_count;
    for (int i = 0; i < w->near_count && gain > near_to[i].price; i++) {
        w->steps++;
        const int c = arc_into(w, near_to[i].node);
        if (!in_cyclic_order(a, b, c))
            continue;
        const int last = w->tour[c - 1];
        const int64_t all = gain - near_to[i].price + arc(w, last, near_to[i].node) - arc(w, last, first);
        if (all <= best->gain)
            continue;
        int x = a;
        int y = b;
        int z = c;
        sort_three(&x, &y, &z);
        if (may_exchange(w, x, y, z))
            *best = (best_move){all, x, y, z};
    }
}

/* The best move that takes the arc out of `tail` away; true when it was made. */
static bool improve(tour_walk *w, int tail)
{
    const int a = w->place[tail] + 1;
    const int64_t out = arc(w, tail, node_at(w, a));
    const near_node *const near_to = w->near_to + (size_t)tail * (size_t)w->near_count;
    best_move best = {0};
    for (int i = 0; i < w->near_count && near_to[i].price < out; i++) {
        const int b = arc_into(w, near_to[i].node);
        if (b != a)
            close_move(w, a, b, out - near_to[i].price + arc(w, w->tour[b - 1], near_to[i].node), &best);
    }
    if (best.gain <= 0)
        return false;
    exchange(w, best.a, best.b, best.c);
    w->price -= best.gain;
    enqueue_around(w, best.a);
    enqueue_around(w, best.a + best.c - best.b);
    enqueue_around(w, best.c);
    return true;
}

static void descend(tour_walk *w)
{
    while (w->queue_count > 0) {
        const int tail = dequeue(w);
        while (improve(w, tail))
            continue;
    }
}

static int random_below(tour_walk *w, int count)
{
    return (int)efi_random_below(&w->random, (uint32_t)count);
}

/* Three short segments B C D in a row become D C B. False when pairs or the length forbid it. */
static bool shake(tour_walk *w)
{
    const int size = w->size;
    if (size < 5)
        return false;
    const int most = size - 1 < 3 * w->shake_length ? (size - 1) / 3 : w->shake_length;
    const int b = 1 + random_below(w, most);
    const int c = 1 + random_below(w, most);
    const int d = 1 + random_below(w, most);
    const int i = 1 + random_below(w, size - b - c - d);
    if (!may_exchange(w, i, i + b, i + b + c + d) || !may_exchange(w, i + b, i + b + c, i + b + c + d))
        return false;
    const int around[] = {i, i + b, i + b + c, i + b + c + d};
    for (size_t k = 0; k < EF_COUNT(around); k++)
        w->price -= arc(w, w->tour[around[k] - 1], node_at(w, around[k]));
    exchange(w, i, i + b, i + b + c + d);
    exchange(w, i, i + c, i + c + d);
    const int then[] = {i, i + d, i + d + c, i + d + c + b};
    for (size_t k = 0; k < EF_COUNT(then); k++) {
        w->price += arc(w, w->tour[then[k] - 1], node_at(w, then[k]));
        enqueue_around(w, then[k]);
    }
    return true;
}

/* Exchanges two short neighbouring segments here and there, the way out where pairs allow no shake. False
 * when they allow none of these either. */
static bool scatter(tour_walk *w)
{
    const int most = w->size - 1 < 2 * w->shake_length ? (w->size - 1) / 2 : w->shake_length;
    bool changed = false;
    for (int tries = 0; tries < SCATTERED && most > 0; tries++) {
        const int b = 1 + random_below(w, most);
        const int c = 1 + random_below(w, most);
        const int i = 1 + random_below(w, w->size - b - c);
        if (!may_exchange(w, i, i + b, i + b + c))
            continue;
        const int before = w->tour[i - 1];
        const int left = w->tour[i];
        const int left_end = w->tour[i + b - 1];
        const int right = w->tour[i + b];
        const int right_end = w->tour[i + b + c - 1];
        const int after = node_at(w, i + b + c);
        w->price += arc(w, before, right) + arc(w, right_end, left) + arc(w, left_end, after) -
                    arc(w, before, left) - arc(w, left_end, right) - arc(w, right_end, after);
        exchange(w, i, i + b, i + b + c);
        enqueue_around(w, i);
        enqueue_around(w, i + c);
        enqueue_around(w, i + b + c);
        changed = true;
    }
    return changed;
}

static void keep(tour_walk *w)
{
    if (w->changed_to > w->changed_from)
        memcpy(w->kept + w->changed_from, w->tour + w->changed_from,
               (size_t)(w->changed_to - w->changed_from) * sizeof *w->tour);
    w->changed_from = w->size;
    w->changed_to = 0;
}

static void come_back(tour_walk *w)
{
    for (int p = w->changed_from; p < w->changed_to; p++) {
        w->tour[p] = w->kept[p];
        w->place[w->tour[p]] = p;
    }
    w->changed_from = w->size;
    w->changed_to = 0;
}

/* Takes the tour over as the best when it is; forbidden arcs count as broken. */
static void note_best(tour_walk *w)
{
    efi_walk_best now = {w->best.order, w->model->n, w->price, 0};
    while (now.price >= w->model->forbidden_price) {
        now.price -= w->model->forbidden_price;
        now.broken++;
    }
    if (!efi_walk_better(&now, &w->best))
        return;
    w->best = now;
    memcpy(w->best.order, w->tour + 1, (size_t)w->model->n * sizeof *w->tour);
}

/* How much worse a shaken order may be to go on from it, drawn anew each time: mostly little. */
static int64_t slack(tour_walk *w)
{
    if (w->model->has_pairs) {
        const int64_t unit = (w->best.price - w->model->constant) * w->daring / (16 * w->size);
        return efi_heat_slack(&w->heat, &w->random, w->steps, unit);
    }
    const uint32_t draw = efi_random_below(&w->random, 1u << 10);
    const int64_t mean = (w->price - w->model->constant) / w->size;
    return mean * draw / 1024 * draw / 1024 * w->daring / 16;
}

static void run(void *walk, uint64_t steps)
{
    tour_walk *const w = walk;
    const uint64_t until = w->steps + steps;
    descend(w);
    note_best(w);
    keep(w);
    while (w->steps < until) {
        const int64_t before = w->price;
        w->steps += 10;
        const bool scatters = w->model->has_pairs && random_below(w, SCATTER_ONE_IN) == 0;
        if (!(scatters ? scatter(w) : shake(w)))
            continue;
        descend(w);
        note_best(w);
        if (w->price <= before || w->price - before < slack(w)) {
            keep(w);
        } else {
            w->price = before;
            come_back(w);
        }
    }
}

static void adopt(void *walk, const int *order)
{
    tour_walk *const w = walk;
    w->tour[0] = w->model->n;
    memcpy(w->tour + 1, order, (size_t)w->model->n * sizeof *order);
    w->price = w->model->constant + w->model->assignment;
    for (int p = 0; p < w->size; p++) {
        w->place[w->tour[p]] = p;
        w->price += arc(w, w->tour[p], node_at(w, p + 1));
        enqueue(w, w->tour[p]);
    }
    w->changed_from = 0;
    w->changed_to = w->size;
    keep(w);
}

static void restart(void *walk)
{
    tour_walk *const w = walk;
    w->heat = (efi_heat){0};
    efi_walk_start(w->model, &w->random, w->kept);
    memcpy(w->spare, w->kept, (size_t)w->model->n * sizeof *w->spare);
    adopt(w, w->spare);
}

/* Every tour takes one arc out of and one into each node, so less the duals all tours differ by the same: but
 * the arcs of good tours cost little or nothing then. */
static void fill_arcs(tour_walk *w)
{
    const efi_model *const m = w->model;
    for (int i = 0; i < w->size; i++)
        for (int j = 0; j < w->size; j++) {
            const size_t at = (size_t)i * (size_t)w->size + (size_t)j;
            w->arc[at] = i == j ? 0 : m->price[at] - m->row_dual[i] - m->column_dual[j];
        }
}

static void fill_near(tour_walk *w)
{
    for (int i = 0; i < w->size; i++) {
        near_node *const list = w->near_to + (size_t)i * (size_t)w->near_count;
        const int first = random_below(w, w->size); /* many may be equal: each walk takes others */
        int count = 0;
        for (int k = 0; k < w->size; k++) {
            const int j = (first + k) % w->size;
            if (i == j)
                continue;
            const int64_t price = arc(w, i, j);
            if (count == w->near_count && list[count - 1].price <= price)
                continue;
            int at = count < w->near_count ? count++ : count - 1;
            for (; at > 0 && list[at - 1].price > price; at--)
                list[at] = list[at - 1];
            list[at] = (near_node){price, j};
        }
    }
}

static bool get_walk(tour_walk *w)
{
    const size_t size = (size_t)w->size;
    const size_t most = w->model->has_pairs ? MOST_NEAR_PAIRS : MOST_NEAR;
    const size_t near_count = size - 1 < most ? size - 1 : most;
    w->near_count = (int)near_count;
    int **const rows[] = {&w->tour, &w->place, &w->spare, &w->kept, &w->queue, &w->best.order};
    for (size_t i = 0; i < EF_COUNT(rows); i++)
        if (!(*rows[i] = efi_arena_get(w->arena, size, sizeof(int))))
            return false;
    w->queued = efi_arena_get(w->arena, size, sizeof *w->queued);
    w->arc = efi_arena_get(w->arena, size * size, sizeof *w->arc);
    w->near_to = efi_arena_get(w->arena, size * near_count, sizeof *w->near_to);
    w->marks = efi_arena_get(w->arena, (size_t)w->model->words, sizeof *w->marks);
    return w->queued && w->arc && w->near_to && w->marks;
}

static void *make(const efi_model *model, uint64_t seed, int index)
{
    efi_arena *const arena = efi_arena_new();
    tour_walk *const w = arena ? efi_arena_get(arena, 1, sizeof *w) : NULL;
    if (!w) {
        efi_arena_free(arena);
        return NULL;
    }
    w->arena = arena;
    w->model = model;
    w->random = efi_random_stream(seed, (uint64_t)index, 1);
    w->size = model->n + 1;
    w->shake_length = model->has_pairs ? shake_lengths_pairs[(size_t)index % EF_COUNT(shake_lengths_pairs)]
                                       : SHAKE_LENGTH;
    w->daring = model->has_pairs ? heats_pairs[(size_t)index % EF_COUNT(heats_pairs)]
                                 : darings[(size_t)index % EF_COUNT(darings)];
    w->best.broken = EFI_FAR;
    if (!get_walk(w)) {
        efi_arena_free(arena);
        return NULL;
    }
    fill_arcs(w);
    fill_near(w);
    restart(w);
    return w;
}

static void free_walk(void *walk)
{
    tour_walk *const w = walk;
    if (w)
        efi_arena_free(w->arena);
}

static const efi_walk_best *best(const void *walk)
{
    const tour_walk *const w = walk;
    return &w->best;
}

static uint64_t steps(const void *walk)
{
    const tour_walk *const w = walk;
    return w->steps;
}

const efi_walk_kind efi_tour_walk = {make, free_walk, run, adopt, restart, best, steps};
const efi_walk_kind efi_pairs_walk = {make, free_walk, run, adopt, restart, best, steps};
