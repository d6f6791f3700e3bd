/* SPDX-License-Identifier: GPL-3.0-or-later
 * The least arborescence, on a full table of prices.
 *
 * Each node takes the cheapest edge into it, and that price comes off all edges there. Nodes in a circle of
 * such edges become one, and so on until there is no circle. Joined nodes are numbered on; looking at them
 * from the last to the first then tells each node in them its edge. */
#include "shared/sequence/arborescence.h"

#include "base/memory.h"

#include <stdbool.h>

#define NO_EDGE (INT64_C(1) << 60)

/* An edge between the first nodes, and what it costs by now. */
typedef struct edge {
    int64_t price;
    int32_t from, to;
} edge;

struct efi_arborescence {
    int64_t *price;       /* shape [to][from] of the first nodes */
    int64_t *least;       /* shape [left]: of the edge into each, which is still to come off the others */
    edge *table, *joined; /* the same of those that are left once some are joined, the root last */
    int nodes;            /* as asked for */
    int left;             /* nodes now */
    int ids;              /* given out */
    int *id;              /* shape [left] */
    int *up;              /* by id: the one that it was joined into, -1: none */
    int *from, *to;       /* by id: the edge into it, by first nodes */
    int *before;          /* shape [left]: where the edge into it comes from now */
    int *mark, *group;
};

efi_arborescence *efi_arborescence_new(int nodes)
{
    const size_t most = (size_t)nodes;
    efi_arborescence *a = efi_new(1, sizeof *a);
    if (!a)
        return NULL;
    a->price = efi_new(most * most, sizeof *a->price);
    a->least = efi_new(most, sizeof *a->least);
    a->table = efi_new(most * most, sizeof *a->table);
    a->joined = efi_new(most * most, sizeof *a->joined);
    a->id = efi_new(most, sizeof *a->id);
    a->up = efi_new(2 * most, sizeof *a->up);
    a->from = efi_new(2 * most, sizeof *a->from);
    a->to = efi_new(2 * most, sizeof *a->to);
    a->before = efi_new(most, sizeof *a->before);
    a->mark = efi_new(most, sizeof *a->mark);
    a->group = efi_new(most, sizeof *a->group);
    if (a->price && a->least && a->table && a->joined && a->id && a->up && a->from && a->to && a->before &&
        a->mark && a->group)
        return a;
    efi_arborescence_free(a);
    return NULL;
}

void efi_arborescence_free(efi_arborescence *a)
{
    if (!a)
        return;
    efi_free(a->price);
    efi_free(a->least);
    efi_free(a->table);
    efi_free(a->joined);
    efi_free(a->id);
    efi_free(a->up);
    efi_free(a->from);
    efi_free(a->to);
    efi_free(a->before);
    efi_free(a->mark);
    efi_free(a->group);
    efi_free(a);
}

int64_t *efi_arborescence_prices(efi_arborescence *a, int nodes)
{
    a->nodes = nodes;
    return a->price;
}

static void open_nodes(efi_arborescence *a)
{
    a->left = a->ids = a->nodes;
    for (int v = 0; v < a->nodes; v++) {
        a->id[v] = v;
        a->up[v] = -1;
    }
}

/* The cheapest edge into each of the first nodes; returns the sum of their prices. */
static int64_t take_first(efi_arborescence *a)
{
    int64_t sum = 0;
    for (int to = 0; to < a->nodes - 1; to++) {
        const int64_t *row = a->price + (size_t)to * (size_t)a->nodes;
        int best = to == 0 ? 1 : 0;
        for (int from = best + 1; from < a->nodes; from++)
            if (row[from] < row[best] && from != to)
                best = from;
        a->before[to] = a->from[to] = best;
        a->to[to] = to;
        a->least[to] = row[best];
        sum += row[best];
    }
    return sum;
}

/* The same once some are joined. */
static int64_t take_cheapest(efi_arborescence *a)
{
    int64_t sum = 0;
    for (int to = 0; to < a->left - 1; to++) {
        const edge *row = a->table + (size_t)to * (size_t)a->left;
        int best = to == 0 ? 1 : 0;
        for (int from = best + 1; from < a->left; from++)
            if (row[from].price < row[best].price && from != to)
                best = from;
        a->before[to] = best;
        a->from[a->id[to]] = row[best].from;
        a->to[a->id[to]] = row[best].to;
        a->least[to] = row[best].price;
        sum += row[best].price;
    }
    return sum;
}

/* Numbers nodes anew, those of a circle alike and under a new id, the root last. Returns how many are left.
 */
static int find_circles(efi_arborescence *a)
{
    const int root = a->left - 1;
    int groups = 0;
    for (int v = 0; v < root; v++)
        a->mark[v] = a->group[v] = -1;
    for (int v = 0; v < root; v++) {
        int u = v;
        for (; u != root && a->mark[u] < 0; u = a->before[u])
            a->mark[u] = v;
        if (u == root || a->mark[u] != v || a->group[u] >= 0)
            continue;
        for (int w = u; a->group[w] < 0; w = a->before[w]) {
            a->group[w] = groups;
            a->up[a->id[w]] = a->ids;
        }
        a->up[a->ids++] = -1;
        groups++;
    }
    for (int v = 0; v < root; v++)
        if (a->group[v] < 0)
            a->group[v] = groups++;
    a->group[root] = groups++;
    return groups;
}

static void join_first(efi_arborescence *a, int groups)
{
    for (int to = 0; to < a->nodes - 1; to++) {
        const int64_t *row = a->price + (size_t)to * (size_t)a->nodes;
        edge *into = a->joined + (size_t)a->group[to] * (size_t)groups;
        for (int from = 0; from < a->nodes; from++) {
            edge *cell = &into[a->group[from]];
            if (from != to && row[from] - a->least[to] < cell->price)
                *cell = (edge){row[from] - a->least[to], (int32_t)from, (int32_t)to};
        }
    }
}

static void join_more(efi_arborescence *a, int groups)
{
    for (int to = 0; to < a->left - 1; to++) {
        const edge *row = a->table + (size_t)to * (size_t)a->left;
        edge *into = a->joined + (size_t)a->group[to] * (size_t)groups;
        for (int from = 0; from < a->left; from++) {
            edge *cell = &into[a->group[from]];
            if (from != to && row[from].price - a->least[to] < cell->price)
                *cell = (edge){row[from].price - a->least[to], row[from].from, row[from].to};
        }
    }
}

/* Puts groups in the place of nodes. */
static void join(efi_arborescence *a, int groups, bool is_first)
{
    const size_t cells = (size_t)groups * (size_t)groups;
    for (size_t i = 0; i < cells; i++)
        a->joined[i].price = NO_EDGE;
    if (is_first)
        join_first(a, groups);
    else
        join_more(a, groups);
    for (int v = 0; v < a->left; v++) /* a group is numbered no higher than the nodes in it */
        a->mark[v] = a->up[a->id[v]] >= 0 ? a->up[a->id[v]] : a->id[v];
    for (int v = 0; v < a->left; v++)
        a->id[a->group[v]] = a->mark[v];
    edge *spent = a->table;
    a->table = a->joined;
    a->joined = spent;
    a->left = groups;
}

/* From the last joined to the first nodes: the edge into a joined node is that into one of its own. */
static void tell(efi_arborescence *a, int *from)
{
    for (int id = a->ids - 1; id >= a->nodes; id--) {
        int inner = a->to[id];
        while (a->up[inner] != id)
            inner = a->up[inner];
        a->from[inner] = a->from[id];
        a->to[inner] = a->to[id];
    }
    for (int v = 0; v < a->nodes - 1; v++)
        from[v] = a->from[v];
}

int64_t efi_arborescence_solve(efi_arborescence *a, int *from)
{
    open_nodes(a);
    if (a->nodes < 2)
        return 0;
    int64_t sum = take_first(a);
    bool is_first = true;
    for (int groups = find_circles(a); groups < a->left; groups = find_circles(a)) {
        join(a, groups, is_first);
        is_first = false;
        sum += take_cheapest(a);
    }
    if (from)
        tell(a, from);
    return sum;
}
