/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/sequence/tour_cuts.h"

#include <string.h>

/*
 * For a set S of lots, P(S) the lots that must run before one of S, and F(S) those that must run after one of
 * S, an order leaves S for the last time towards a lot that need not run earlier, and enters it for the first
 * time from one that need not run later (E. Balas, M. Fischetti, W. R. Pulleyblank, Mathematical Programming
 * 68, 1995):
 *
 *   sum of x[i,j] over i in S \ P(S), j outside S and P(S)  >=  1
 *   sum of x[i,j] over i outside S and F(S), j in S \ F(S)  >=  1
 *
 * Without pairs both are the cuts against closed parts of a tour (Dantzig, Fulkerson & Johnson, Operations
 * Research 2, 1954). The set that breaks one the most for a given lot is a least cut between that lot and
 * "nothing" with the lots of P or F left out, found by augmenting paths; flows end at 1, so a few paths do.
 */

/* A cut is broken when its sum is below 1 by more than this. */
#define BROKEN 1e-4

struct efi_tour_cuts {
    efi_arena *arena;
    const efi_model *model;
    const efi_tour_arc *arc;
    int arcs;
    int size;
    int words;        /* of a set of nodes */
    int *first;       /* [size + 1] where the used arcs at a node begin in `list` */
    int *list;        /* [2 arcs] used arcs at each node, either direction */
    int *used;        /* [arcs] columns with x > 0 */
    double *rest;     /* [arcs] capacity left */
    double *back;     /* [arcs] flow that may be taken back */
    int *via;         /* [size] arc by which a node was reached, -1 not, -2 the start */
    int *queue;       /* [size] */
    bool *shut;       /* [size] nodes left out */
    uint64_t *set;    /* [words] */
    uint64_t *kin;    /* [words] P(S) or F(S) */
    uint64_t *hashes; /* [2 size] of the sets found in this round */
    int hash_count;
    efi_lp_entry *entries; /* [arcs] */
};

efi_tour_cuts *efi_tour_cuts_new(const efi_model *model, const efi_tour_arc *arc, int arcs)
{
    efi_arena *const arena = efi_arena_new();
    efi_tour_cuts *const c = arena ? efi_arena_get(arena, 1, sizeof *c) : NULL;
    if (!c) {
        efi_arena_free(arena);
        return NULL;
    }
    const size_t size = (size_t)model->n + 1;
    const size_t count = (size_t)arcs;
    *c = (efi_tour_cuts){.arena = arena, .model = model, .arc = arc, .arcs = arcs, .size = (int)size};
    c->words = (int)(size + 63) / 64;
    c->first = efi_arena_get(arena, size + 1, sizeof *c->first);
    c->list = efi_arena_get(arena, 2 * count, sizeof *c->list);
    c->used = efi_arena_get(arena, count, sizeof *c->used);
    c->rest = efi_arena_get(arena, count, sizeof *c->rest);
    c->back = efi_arena_get(arena, count, sizeof *c->back);
    c->via = efi_arena_get(arena, size, sizeof *c->via);
    c->queue = efi_arena_get(arena, size, sizeof *c->queue);
    c->shut = efi_arena_get(arena, size, sizeof *c->shut);
    c->set = efi_arena_get(arena, (size_t)c->words, sizeof *c->set);
    c->kin = efi_arena_get(arena, (size_t)c->words, sizeof *c->kin);
    c->hashes = efi_arena_get(arena, 2 * size, sizeof *c->hashes);
    c->entries = efi_arena_get(arena, count, sizeof *c->entries);
    if (c->first && c->list && c->used && c->rest && c->back && c->via && c->queue && c->shut && c->set &&
        c->kin && c->hashes && c->entries)
        return c;
    efi_arena_free(arena);
    return NULL;
}

void efi_tour_cuts_free(efi_tour_cuts *cuts)
{
    if (cuts)
        efi_arena_free(cuts->arena);
}

/* Lists the arcs of x at their nodes; returns how many are used. */
static int list_arcs(efi_tour_cuts *c, const double *x)
{
    int used = 0;
    memset(c->first, 0, ((size_t)c->size + 1) * sizeof *c->first);
    for (int a = 0; a < c->arcs; a++) {
        if (!(x[a] > 1e-9))
            continue;
        c->used[used++] = a;
        c->first[c->arc[a].from]++;
        c->first[c->arc[a].to]++;
    }
    int sum = 0;
    for (int i = 0; i <= c->size; i++) {
        const int count = c->first[i];
        c->first[i] = sum;
        sum += count;
    }
    memcpy(c->queue, c->first, (size_t)c->size * sizeof *c->queue);
    for (int u = 0; u < used; u++) {
        c->list[c->queue[c->arc[c->used[u]].from]++] = c->used[u];
        c->list[c->queue[c->arc[c->used[u]].to]++] = c->used[u];
    }
    return used;
}

/* Capacity from `node` over arc a, in the direction asked for; *other is where it leads. */
static double capacity(const efi_tour_cuts *c, int a, int node, bool leave, int *other)
{
    const int tail = leave ? c->arc[a].from : c->arc[a].to;
    const int head = leave ? c->arc[a].to : c->arc[a].from;
    *other = tail == node ? head : tail;
    return tail == node ? c->rest[a] : c->back[a];
}

/* A path with capacity from `lot` to "nothing" (breadth first). Reached nodes have via != -1. */
static bool find_path(efi_tour_cuts *c, int lot, bool leave)
{
    for (int i = 0; i < c->size; i++)
        c->via[i] = -1;
    c->via[lot] = -2;
    c->queue[0] = lot;
    int last = 1;
    for (int q = 0; q < last; q++) {
        const int node = c->queue[q];
        for (int k = c->first[node]; k < c->first[node + 1]; k++) {
            int other;
            const double left = capacity(c, c->list[k], node, leave, &other);
            if (!(left > 1e-9) || c->via[other] != -1 || c->shut[other])
                continue;
            c->via[other] = c->list[k];
            if (other == c->size - 1)
                return true;
            c->queue[last++] = other;
        }
    }
    return false;
}

/* Sends as much as fits along the path found; returns it. */
static double send(efi_tour_cuts *c, int lot, bool leave)
{
    double least = 1.0;
    for (int pass = 0; pass < 2; pass++)
        for (int node = c->size - 1; node != lot;) {
            const int a = c->via[node];
            const int head = leave ? c->arc[a].to : c->arc[a].from;
            const int tail = leave ? c->arc[a].from : c->arc[a].to;
            const bool forward = head == node;
            double *const room = forward ? &c->rest[a] : &c->back[a];
            double *const gain = forward ? &c->back[a] : &c->rest[a];
            if (pass == 0 && *room < least)
                least = *room;
            if (pass == 1) {
                *room -= least;
                *gain += least;
            }
            node = forward ? tail : head;
        }
    return least;
}

static uint64_t hash_set(const efi_tour_cuts *c, bool leave)
{
    uint64_t h = leave ? 1 : 2;
    for (int w = 0; w < c->words; w++) {
        h = (h ^ c->set[w]) * 0xbf58476d1ce4e5b9u;
        h ^= h >> 31;
    }
    return h;
}

/* The row for the set found; broken as it is, it is added. */
static ef_status add_row(efi_tour_cuts *c, efi_lp *lp, const double *x, bool leave, int *added)
{
    const efi_model *const m = c->model;
    memset(c->set, 0, (size_t)c->words * sizeof *c->set);
    memset(c->kin, 0, (size_t)c->words * sizeof *c->kin);
    for (int i = 0; i < m->n; i++) {
        if (c->via[i] == -1)
            continue;
        efi_set_add(c->set, i);
        const uint64_t *const kin = (leave ? m->before : m->after) + (size_t)i * (size_t)m->words;
        for (int w = 0; w < m->words; w++)
            c->kin[w] |= kin[w];
    }
    const uint64_t hash = hash_set(c, leave);
    for (int i = 0; i < c->hash_count; i++)
        if (c->hashes[i] == hash)
            return EF_OK;
    c->hashes[c->hash_count++] = hash;
    int count = 0;
    double sum = 0.0;
    for (int a = 0; a < c->arcs; a++) {
        const int in = leave ? c->arc[a].from : c->arc[a].to;
        const int out = leave ? c->arc[a].to : c->arc[a].from;
        if (!efi_set_has(c->set, in) || efi_set_has(c->kin, in) || efi_set_has(c->set, out) ||
            efi_set_has(c->kin, out))
            continue;
        c->entries[count++] = (efi_lp_entry){a, 1.0};
        sum += x[a];
    }
    if (!(sum < 1.0 - BROKEN))
        return EF_OK;
    (*added)++;
    return efi_lp_add_row(lp, NULL, efi_lp_at_least(1.0), c->entries, count, NULL);
}

static ef_status cut_for(efi_tour_cuts *c, efi_lp *lp, const double *x, int used, int lot, bool leave,
                         int *added)
{
    const efi_model *const m = c->model;
    for (int u = 0; u < used; u++) {
        c->rest[c->used[u]] = x[c->used[u]];
        c->back[c->used[u]] = 0.0;
    }
    const uint64_t *const kin = (leave ? m->before : m->after) + (size_t)lot * (size_t)m->words;
    for (int i = 0; i < m->n; i++)
        c->shut[i] = m->has_pairs && efi_set_has(kin, i);
    double flow = 0.0;
    while (flow < 1.0 - BROKEN && find_path(c, lot, leave))
        flow += send(c, lot, leave);
    return flow < 1.0 - BROKEN ? add_row(c, lp, x, leave, added) : EF_OK;
}

ef_status efi_tour_cuts_add(efi_tour_cuts *c, efi_lp *lp, const double *x, int *added)
{
    const int used = list_arcs(c, x);
    *added = 0;
    c->hash_count = 0;
    for (int lot = 0; lot < c->model->n; lot++) {
        EF_TRY(cut_for(c, lp, x, used, lot, true, added));
        if (c->model->has_pairs)
            EF_TRY(cut_for(c, lp, x, used, lot, false, added));
    }
    return EF_OK;
}
