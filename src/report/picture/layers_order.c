/* SPDX-License-Identifier: GPL-3.0-or-later
 * The order within each layer, and where its nodes stand.
 *
 * Order: K. Sugiyama, S. Tagawa, M. Toda, Methods for visual understanding of hierarchical system structures,
 * IEEE Transactions on Systems, Man, and Cybernetics 11 (1981) 109-125, section on barycentres. Places: for
 * wishes t[i] and least distances d[i] between neighbours, the x[i] nearest to them in weighted least squares
 * with x[i+1] - x[i] >= d[i] come from isotonic regression of t[i] - (d[0] + ... + d[i-1]). */
#include "report/picture/layers_inside.h"

#include <stdlib.h>
#include <string.h>

enum {
    SWEEPS = 24,
    ROUNDS = 300,
    ONE_SIDED = 60
};

/* ---- order ----------------------------------------------------------------------------------------------
 */

static void number_places(const efi_layers_work *work)
{
    for (int l = 0; l < work->layers; l++)
        for (int i = work->first[l]; i < work->first[l + 1]; i++)
            work->node[work->order[i]].place = i - work->first[l];
}

static ef_status first_order(efi_layers_work *work)
{
    work->order = efi_arena_get(work->arena, (size_t)work->nodes, sizeof *work->order);
    work->first = efi_arena_get(work->arena, (size_t)work->layers + 1, sizeof *work->first);
    if (!work->order || !work->first)
        return EF_MEMORY;
    int count = 0;
    for (int l = 0; l < work->layers; l++) {
        work->first[l] = count;
        for (int n = 0; n < work->nodes; n++)
            if (work->node[n].layer == l)
                work->order[count++] = n;
    }
    work->first[work->layers] = count;
    number_places(work);
    return EF_OK;
}

static int count_crossings(const efi_layers_work *work)
{
    int crossings = 0;
    for (int i = 0; i < work->pieces; i++) {
        const efi_layers_piece *a = &work->piece[i];
        for (int j = i + 1; j < work->pieces; j++) {
            const efi_layers_piece *b = &work->piece[j];
            if (work->node[a->upper].layer != work->node[b->upper].layer)
                continue;
            const int above = work->node[a->upper].place - work->node[b->upper].place;
            const int below = work->node[a->lower].place - work->node[b->lower].place;
            crossings += (above > 0 && below < 0) || (above < 0 && below > 0);
        }
    }
    return crossings;
}

/* Wish of every node of a layer: the mean place of its neighbours in the layer above (or below); its own
 * place where it has none. */
static void wish_for_place(const efi_layers_work *work, int layer, bool from_above)
{
    for (int i = work->first[layer]; i < work->first[layer + 1]; i++) {
        efi_layers_node *node = &work->node[work->order[i]];
        node->wish = 0.0;
        node->weight = 0.0;
    }
    for (int p = 0; p < work->pieces; p++) {
        const int mine = from_above ? work->piece[p].lower : work->piece[p].upper;
        const int theirs = from_above ? work->piece[p].upper : work->piece[p].lower;
        if (work->node[mine].layer != layer)
            continue;
        work->node[mine].wish += work->node[theirs].place;
        work->node[mine].weight += 1.0;
    }
    for (int i = work->first[layer]; i < work->first[layer + 1]; i++) {
        efi_layers_node *node = &work->node[work->order[i]];
        node->wish = node->weight > 0.0 ? node->wish / node->weight : node->place;
    }
}

/* Sorts a layer by its wishes; equal ones keep their places. Insertion: layers are short. */
static void sort_layer(const efi_layers_work *work, int layer)
{
    int *order = work->order + work->first[layer];
    const int count = work->first[layer + 1] - work->first[layer];
    for (int i = 1; i < count; i++) {
        const int moving = order[i];
        int place = i;
        for (; place > 0 && work->node[order[place - 1]].wish > work->node[moving].wish; place--)
            order[place] = order[place - 1];
        order[place] = moving;
    }
    for (int i = 0; i < count; i++)
        work->node[order[i]].place = i;
}

ef_status efi_layers_sort(efi_layers_work *work)
{
    EF_TRY(first_order(work));
    int *best = efi_arena_get(work->arena, (size_t)work->nodes, sizeof *best);
    if (!best)
        return EF_MEMORY;
    int fewest = count_crossings(work);
    memcpy(best, work->order, (size_t)work->nodes * sizeof *best);
    for (int sweep = 0; sweep < SWEEPS && fewest > 0; sweep++) {
        const bool down = sweep % 2 == 0;
        for (int step = 1; step < work->layers; step++) {
            const int layer = down ? step : work->layers - 1 - step;
            wish_for_place(work, layer, down);
            sort_layer(work, layer);
        }
        const int crossings = count_crossings(work);
        if (crossings < fewest) {
            fewest = crossings;
            memcpy(best, work->order, (size_t)work->nodes * sizeof *best);
        }
    }
    memcpy(work->order, best, (size_t)work->nodes * sizeof *best);
    number_places(work);
    work->of->crossings = fewest;
    return EF_OK;
}

/* ---- places ---------------------------------------------------------------------------------------------
 */

/* Wish of every node of a layer: the mean x of its neighbours on the sides asked for, thick arrows counting
 * more. */
static void wish_for_x(const efi_layers_work *work, int layer, bool above, bool below)
{
    for (int i = work->first[layer]; i < work->first[layer + 1]; i++) {
        efi_layers_node *node = &work->node[work->order[i]];
        node->wish = 0.0;
        node->weight = 0.0;
    }
    for (int p = 0; p < work->pieces; p++) {
        const efi_layers_piece *piece = &work->piece[p];
        efi_layers_node *upper = &work->node[piece->upper];
        efi_layers_node *lower = &work->node[piece->lower];
        if (above && lower->layer == layer) {
            lower->wish += piece->weight * upper->x;
            lower->weight += piece->weight;
        }
        if (below && upper->layer == layer) {
            upper->wish += piece->weight * lower->x;
            upper->weight += piece->weight;
        }
    }
    for (int i = work->first[layer]; i < work->first[layer + 1]; i++) {
        efi_layers_node *node = &work->node[work->order[i]];
        node->wish = node->weight > 0.0 ? node->wish / node->weight : node->x;
        node->weight = node->weight > 0.0 ? node->weight : 1.0;
    }
}

static double distance(const efi_layers_work *work, int left, int right)
{
    return 0.5 * (work->node[left].width + work->node[right].width) + work->of->gap_x;
}

/* Blocks of nodes that push against each other; each has the weighted mean of its wishes. */
typedef struct block {
    double mean;
    double weight;
    int count;
} block;

static void push_apart(const efi_layers_work *work, int layer, block *blocks)
{
    const int *order = work->order + work->first[layer];
    const int count = work->first[layer + 1] - work->first[layer];
    int used = 0;
    double offset = 0.0;
    for (int i = 0; i < count; i++) {
        offset += i > 0 ? distance(work, order[i - 1], order[i]) : 0.0;
        blocks[used++] = (block){work->node[order[i]].wish - offset, work->node[order[i]].weight, 1};
        while (used > 1 && blocks[used - 2].mean > blocks[used - 1].mean) {
            block *into = &blocks[used - 2];
            const block *last = &blocks[used - 1];
            const double weight = into->weight + last->weight;
            into->mean = (into->mean * into->weight + last->mean * last->weight) / weight;
            into->weight = weight;
            into->count += last->count;
            used--;
        }
    }
    offset = 0.0;
    int node = 0;
    for (int b = 0; b < used; b++) {
        for (int i = 0; i < blocks[b].count; i++, node++) {
            offset += node > 0 ? distance(work, order[node - 1], order[node]) : 0.0;
            work->node[order[node]].x = blocks[b].mean + offset;
        }
    }
}

ef_status efi_layers_spread(efi_layers_work *work)
{
    block *blocks = efi_arena_get(work->arena, (size_t)work->nodes, sizeof *blocks);
    if (!blocks)
        return EF_MEMORY;
    for (int round = 0; round <= ROUNDS; round++) {
        const bool down = round % 2 == 0;
        const bool last = round >= ONE_SIDED; /* then both sides count */
        for (int step = 0; step < work->layers; step++) {
            const int layer = down ? step : work->layers - 1 - step;
            wish_for_x(work, layer, down || last, !down || last);
            push_apart(work, layer, blocks);
        }
    }
    return EF_OK;
}
