/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/sequence/exact.h"

#include <stdlib.h>
#include <string.h>

/*
 * Dynamic programme over subsets (M. Held and R. M. Karp, J. SIAM 10, 1962; R. Bellman, J. ACM 9, 1962) with
 * labels: a state is (lots placed, last lot, its end, price so far). A state is dropped when another with the
 * same lots and last lot ends no later and costs no more, when a lot left out can no longer start in time,
 * and when price so far plus a bound for the rest reaches `upper`. Cost: O(2^n n^2) labels at most, far fewer
 * with limits or pairs. When a layer holds more than `width` states those of the least sum are kept (beam
 * search), and the least sum dropped is a bound.
 */

enum {
    Z_STEPS = 8
};

typedef struct state {
    int64_t end;
    int64_t price;
    int64_t sum;   /* price and bound for the rest */
    int32_t trace; /* of the step that led here; -1 at the start */
    int32_t last;
    int32_t next; /* in the chain of its hash, -1 at the end */
    bool dropped;
} state;

typedef struct step {
    int32_t before;
    int32_t lot;
} step;

typedef struct layer {
    state *states;
    uint64_t *sets; /* [states, words] */
    size_t count;
    size_t room;
} layer;

typedef struct search {
    const efi_model *m;
    efi_exact *result;
    int64_t upper;
    int width;
    int64_t *cheapest; /* [n] least price of a changeover into a lot */
    int64_t last_end;  /* of refusal_bound */
    int64_t z_step;
    layer now;
    layer then;
    int32_t *heads; /* [heads_count] chains of `then` */
    size_t heads_count;
    step *steps;
    size_t step_count;
    size_t step_room;
    int32_t best_trace;
    int64_t dropped_least;
} search;

static void layer_free(layer *l)
{
    efi_free(l->states);
    efi_free(l->sets);
}

static bool layer_grow(layer *l, int words)
{
    if (l->count < l->room)
        return true;
    const size_t room = l->room ? l->room * 2 : 1024;
    state *const states = efi_resize(l->states, room, sizeof *states);
    if (!states)
        return false;
    l->states = states;
    uint64_t *const sets = efi_resize(l->sets, room, (size_t)words * sizeof *sets);
    if (!sets)
        return false;
    l->sets = sets;
    l->room = room;
    return true;
}

static size_t hash_of(const uint64_t *set, int words, int last)
{
    uint64_t h = (uint64_t)last * 0x9e3779b97f4a7c15u;
    for (int w = 0; w < words; w++) {
        h ^= set[w];
        h *= 0xbf58476d1ce4e5b9u;
        h ^= h >> 29;
    }
    return (size_t)h;
}

/* The end of the last lot that can be run in time, when every lot has a limit; else the end of all time. */
static int64_t last_end(const efi_model *m)
{
    int64_t last = 0;
    for (int j = 0; j < m->n; j++) {
        const int64_t end = m->latest[j] < EFI_FAR ? m->latest[j] + m->work[j] : EFI_FAR;
        last = end > last ? end : last;
    }
    return last;
}

static void fill_cheapest(search *s)
{
    const efi_model *const m = s->m;
    const size_t size = (size_t)m->n + 1;
    s->last_end = last_end(m);
    for (int j = 0; j < m->n && m->refusal; j++) {
        const int64_t density = m->refusal[j] / (m->work[j] + m->least[j] + 1);
        s->z_step = density / Z_STEPS > s->z_step ? density / Z_STEPS : s->z_step;
    }
    const int64_t longest = s->last_end < EFI_FAR && s->last_end > m->horizon ? s->last_end : m->horizon;
    if (s->z_step > EFI_FAR / 16 / Z_STEPS / (longest + 1))
        s->z_step = 0;
    for (int j = 0; j < m->n; j++) {
        s->cheapest[j] = m->forbidden_price;
        for (int i = 0; i <= m->n; i++)
            if (i != j && m->price[(size_t)i * size + (size_t)j] < s->cheapest[j])
                s->cheapest[j] = m->price[(size_t)i * size + (size_t)j];
    }
}

/* Least price for lot j when it comes some time after `end`; EFI_FAR when it cannot keep its limit. */
static int64_t least_price(const search *s, int64_t end, int j)
{
    const efi_model *const m = s->m;
    int64_t start = end + m->least[j];
    if (start < m->earliest[j])
        start = m->earliest[j];
    if (start > m->latest[j] || s->cheapest[j] >= m->forbidden_price)
        return EFI_FAR;
    const int64_t late = start + m->work[j] - m->due[j];
    return s->cheapest[j] + (late > 0 ? m->weight[j] * late : 0);
}

/*
 * Where lots may be refused: what the rest can at most save. The lots run share the time until the last of
 * them must end, so with any price z >= 0 of that time the saving is at most z * time + sum of max(0,
 * saving[j] - z * span[j]); the least of a few z is taken (Lagrangian relaxation of the knapsack).
 */
static int64_t refusal_bound(const search *s, const uint64_t *set, int64_t end)
{
    const efi_model *const m = s->m;
    int64_t most[Z_STEPS];
    const int64_t time = s->last_end > end ? s->last_end - end : 0;
    const int steps = s->last_end < EFI_FAR ? Z_STEPS : 1;
    for (int z = 0; z < steps; z++)
        most[z] = z > 0 ? s->z_step * z * time : 0;
    for (int j = 0; j < m->n; j++) {
        if (efi_set_has(set, j))
            continue;
        const int64_t saving = m->refusal[j] - least_price(s, end, j);
        const int64_t span = m->work[j] + m->least[j];
        for (int z = 0; z < steps && saving > s->z_step * z * span; z++)
            most[z] += saving - s->z_step * z * span;
    }
    int64_t least = most[0];
    for (int z = 1; z < steps; z++)
        least = most[z] < least ? most[z] : least;
    return -least;
}

/* A bound for what is still to come after `last` started at `start` and ended at `end`; EFI_FAR: it cannot go
 * well. */
static int64_t rest_bound(const search *s, const uint64_t *set, int last, int64_t start, int64_t end)
{
    const efi_model *const m = s->m;
    int64_t sum = 0;
    int64_t work = 0;
    if (m->refusal)
        return refusal_bound(s, set, end) + m->makespan_price * end;
    for (int j = 0; j < m->n; j++) {
        if (efi_set_has(set, j))
            continue;
        const int64_t least = least_price(s, end, j);
        if (least >= EFI_FAR)
            return EFI_FAR;
        if (m->way && last < m->n && start + m->way[(size_t)last * (size_t)m->n + (size_t)j] > m->latest[j])
            return EFI_FAR;
        sum += least;
        work += m->work[j] + m->least[j];
    }
    return sum + m->makespan_price * (end + work);
}

/* Adds a state to the next layer unless one there is as good; drops those it makes needless. */
static bool add_state(search *s, const uint64_t *set, state fresh, int32_t parent_trace)
{
    const int words = s->m->words;
    int32_t *const head = &s->heads[hash_of(set, words, fresh.last) & (s->heads_count - 1)];
    for (int32_t i = *head; i >= 0; i = s->then.states[i].next) {
        if (EF_NEVER(!s->then.states))
            return false;
        state *const other = &s->then.states[i];
        if (other->dropped || other->last != fresh.last ||
            memcmp(s->then.sets + (size_t)i * (size_t)words, set, (size_t)words * sizeof *set) != 0)
            continue;
        if (other->end <= fresh.end && other->price <= fresh.price)
            return true;
        if (fresh.end <= other->end && fresh.price <= other->price)
            other->dropped = true;
    }
    if (!layer_grow(&s->then, words))
        return false;
    fresh.trace = parent_trace;
    fresh.next = *head;
    *head = (int32_t)s->then.count;
    memcpy(s->then.sets + s->then.count * (size_t)words, set, (size_t)words * sizeof *set);
    s->then.states[s->then.count++] = fresh;
    return true;
}

static bool may_follow(const efi_model *m, const uint64_t *set, int j)
{
    if (efi_set_has(set, j))
        return false;
    const uint64_t *const before = m->before + (size_t)j * (size_t)m->words;
    const uint64_t *const after = m->after + (size_t)j * (size_t)m->words;
    for (int w = 0; w < m->words; w++)
        if (m->refusal ? (after[w] & set[w]) != 0 : (before[w] & ~set[w]) != 0)
            return false;
    return true;
}

/* The state is a whole order when nothing is left or what is left may be refused: is it the best one? */
static void note_order(search *s, const state *from, int placed)
{
    const efi_model *const m = s->m;
    if (placed < m->n && !m->refusal)
        return;
    const int64_t last = m->price[(size_t)from->last * (size_t)(m->n + 1) + (size_t)m->n];
    if (last >= m->forbidden_price)
        return;
    const int64_t price = from->price + last +
                          m->makespan_price * efi_model_start(m, from->last, from->end, m->n);
    if (price >= s->upper)
        return;
    s->upper = price;
    s->best_trace = from->trace;
    s->result->found = true;
    s->result->price = price;
    s->result->run = placed;
}

static bool expand(search *s, size_t index, uint64_t *set)
{
    const efi_model *const m = s->m;
    const size_t words = (size_t)m->words;
    const state from = s->now.states[index];
    for (int j = 0; j < m->n; j++) {
        memcpy(set, s->now.sets + index * words, words * sizeof *set);
        const int64_t arc = m->price[(size_t)from.last * (size_t)(m->n + 1) + (size_t)j];
        if (arc >= m->forbidden_price || !may_follow(m, set, j))
            continue;
        s->result->steps++;
        const int64_t start = efi_model_start(m, from.last, from.end, j);
        if (start > m->latest[j])
            continue;
        state fresh = {.last = j, .end = m->timed ? start + m->work[j] : 0};
        const int64_t late = start + m->work[j] - m->due[j];
        fresh.price = from.price + arc + (late > 0 ? m->weight[j] * late : 0) -
                      (m->refusal ? m->refusal[j] : 0);
        efi_set_add(set, j);
        const int64_t rest = rest_bound(s, set, j, start, fresh.end);
        if (rest >= EFI_FAR || fresh.price + rest >= s->upper)
            continue;
        fresh.sum = fresh.price + rest;
        if (!add_state(s, set, fresh, (int32_t)index))
            return false;
    }
    return true;
}

static int by_sum(const void *left, const void *right)
{
    const state *const a = left;
    const state *const b = right;
    if (a->dropped != b->dropped)
        return a->dropped ? 1 : -1;
    if (a->sum != b->sum)
        return a->sum < b->sum ? -1 : 1;
    return (a->next > b->next) - (a->next < b->next);
}

/* Turns `then` into `now`: needless states out, at most `width` kept, each with its step. */
static bool close_layer(search *s)
{
    const size_t words = (size_t)s->m->words;
    layer *const made = &s->then;
    for (size_t i = 0; i < made->count; i++)
        made->states[i].next = (int32_t)i; /* where its set stands */
    if (made->count > 0)
        qsort(made->states, made->count, sizeof *made->states, by_sum);
    size_t kept = 0;
    while (kept < made->count && !made->states[kept].dropped && kept < (size_t)s->width)
        kept++;
    if (kept < made->count && !made->states[kept].dropped) {
        s->result->complete = false;
        if (made->states[kept].sum < s->dropped_least)
            s->dropped_least = made->states[kept].sum;
    }
    uint64_t *const sets = efi_new(kept + 1, words * sizeof *sets);
    step *const steps = efi_resize(s->steps, s->step_count + kept + 1, sizeof *steps);
    if (steps)
        s->steps = steps;
    if (!sets || !steps) {
        efi_free(sets);
        return false;
    }
    for (size_t i = 0; i < kept; i++) {
        state *const one = &made->states[i];
        memcpy(sets + i * words, made->sets + (size_t)one->next * words, words * sizeof *sets);
        s->steps[s->step_count] = (step){s->now.states[one->trace].trace, one->last};
        one->trace = (int32_t)s->step_count++;
    }
    efi_free(made->sets);
    made->sets = sets;
    made->room = made->room > kept + 1 ? kept + 1 : made->room;
    made->count = kept;
    layer_free(&s->now);
    s->now = s->then;
    s->then = (layer){0};
    return true;
}

static bool first_state(search *s)
{
    const efi_model *const m = s->m;
    if (!layer_grow(&s->now, m->words))
        return false;
    memset(s->now.sets, 0, (size_t)m->words * sizeof *s->now.sets);
    s->now.states[0] = (state){.last = m->n, .trace = -1, .price = m->constant};
    for (int j = 0; j < m->n && m->refusal; j++)
        s->now.states[0].price += m->refusal[j];
    s->now.count = 1;
    return true;
}

static ef_status run_layers(search *s, bool (*go_on)(void *), void *context)
{
    const efi_model *const m = s->m;
    uint64_t *const set = efi_new((size_t)m->words, sizeof *set);
    ef_status status = set && first_state(s) ? EF_OK : EF_MEMORY;
    if (status == EF_OK)
        note_order(s, &s->now.states[0], 0);
    for (int placed = 0; placed < m->n && s->now.count > 0 && status == EF_OK; placed++) {
        if (placed > 0 && go_on && !go_on(context)) {
            s->result->complete = false;
            if (s->now.states[0].sum < s->dropped_least)
                s->dropped_least = s->now.states[0].sum;
            break;
        }
        memset(s->heads, 0xff, s->heads_count * sizeof *s->heads);
        for (size_t i = 0; i < s->now.count && status == EF_OK; i++)
            status = expand(s, i, set) ? EF_OK : EF_MEMORY;
        if (status == EF_OK && !close_layer(s))
            status = EF_MEMORY;
        for (size_t i = 0; i < s->now.count && status == EF_OK; i++)
            note_order(s, &s->now.states[i], placed + 1);
    }
    efi_free(set);
    return status;
}

/* Writes the best order from its steps, then the lots it refuses. */
static void write_order(const search *s, int *order)
{
    const efi_model *const m = s->m;
    int at = s->result->run;
    for (int32_t i = s->best_trace; i >= 0; i = s->steps[i].before)
        order[--at] = s->steps[i].lot;
    int next = s->result->run;
    for (int j = 0; j < m->n; j++) {
        bool run = false;
        for (int k = 0; k < s->result->run && !run; k++)
            run = order[k] == j;
        if (!run)
            order[next++] = j;
    }
}

ef_status efi_exact_search(const efi_model *model, int width, int64_t upper, bool (*go_on)(void *context),
                           void *context, int *order, efi_exact *result)
{
    efi_exact made = {.complete = true};
    search s = {.m = model,
                .result = &made,
                .upper = upper,
                .width = width,
                .dropped_least = EFI_FAR,
                .best_trace = -1};
    s.heads_count = 1u << 12;
    while (s.heads_count < (size_t)width && s.heads_count < (1u << 20))
        s.heads_count *= 2;
    s.heads = efi_new(s.heads_count, sizeof *s.heads);
    s.cheapest = efi_new((size_t)model->n, sizeof *s.cheapest);
    ef_status status = s.heads && s.cheapest ? EF_OK : EF_MEMORY;
    if (status == EF_OK) {
        fill_cheapest(&s);
        status = run_layers(&s, go_on, context);
    }
    if (status == EF_OK) {
        if (made.found)
            write_order(&s, order);
        made.bound = s.upper < s.dropped_least ? s.upper : s.dropped_least;
        *result = made;
    }
    layer_free(&s.now);
    layer_free(&s.then);
    efi_free(s.heads);
    efi_free(s.cheapest);
    efi_free(s.steps);
    return status;
}
