/* SPDX-License-Identifier: GPL-3.0-or-later
 * The layers: who stands above whom, and the pieces of long arrows. */
#include "report/picture/layers_inside.h"

#include <string.h>

static bool runs_down(const efi_layers_arrow *arrow)
{
    return !arrow->closes_loop;
}

/* Layers by the longest way from the top: each box below all that lead to it. */
static ef_status find_layers(efi_layers_work *work)
{
    const efi_layers *of = work->of;
    for (int round = 0; round <= of->boxes; round++) {
        bool moved = false;
        for (int a = 0; a < of->arrows; a++) {
            const efi_layers_arrow *arrow = &of->arrow[a];
            const int below = work->node[arrow->from].layer + 1;
            if (runs_down(arrow) && work->node[arrow->to].layer < below) {
                work->node[arrow->to].layer = below;
                moved = true;
            }
        }
        if (!moved)
            return EF_OK;
    }
    return EF_USAGE;
}

/* Sources go down to right above their first user. */
static void lower_sources(const efi_layers_work *work)
{
    const efi_layers *of = work->of;
    for (int b = 0; b < of->boxes; b++) {
        bool source = true;
        int user = -1;
        for (int a = 0; a < of->arrows; a++) {
            const efi_layers_arrow *arrow = &of->arrow[a];
            if (!runs_down(arrow))
                continue;
            source = source && arrow->to != b;
            if (arrow->from == b && (user < 0 || work->node[arrow->to].layer < user))
                user = work->node[arrow->to].layer;
        }
        if (source && user > 0)
            work->node[b].layer = user - 1;
    }
}

static int span_of(const efi_layers_work *work, const efi_layers_arrow *arrow)
{
    return runs_down(arrow) ? work->node[arrow->to].layer - work->node[arrow->from].layer : 0;
}

/* Cuts arrows into pieces from layer to layer, with a node at each layer they pass. */
static ef_status cut_arrows(efi_layers_work *work)
{
    /* wide arrows keep straight rather than thin ones, and pieces between bends rather than others */
    static const double straight[] = {1.0, 2.0, 8.0};
    const efi_layers *of = work->of;
    size_t pieces = 0;
    for (int a = 0; a < of->arrows; a++)
        pieces += (size_t)span_of(work, &of->arrow[a]);
    efi_layers_node *node = efi_arena_get(work->arena, (size_t)of->boxes + pieces, sizeof *node);
    work->piece = efi_arena_get(work->arena, pieces, sizeof *work->piece);
    if (!node || !work->piece)
        return EF_MEMORY;
    memcpy(node, work->node, (size_t)of->boxes * sizeof *node);
    work->node = node;
    for (int a = 0; a < of->arrows; a++) {
        const efi_layers_arrow *arrow = &of->arrow[a];
        const int span = span_of(work, arrow);
        int upper = arrow->from;
        for (int step = 1; step <= span; step++) {
            int lower = arrow->to;
            if (step < span) {
                lower = work->nodes++;
                node[lower] = (efi_layers_node){.layer = node[arrow->from].layer + step,
                                                .width = arrow->width};
            }
            const int bends = (upper >= of->boxes) + (lower >= of->boxes);
            work->piece[work->pieces++] = (efi_layers_piece){upper, lower, a,
                                                             straight[bends] * arrow->width * arrow->width};
            upper = lower;
        }
    }
    return EF_OK;
}

static ef_status find_bands(efi_layers_work *work)
{
    efi_layers *of = work->of;
    for (int n = 0; n < work->nodes; n++)
        work->layers = work->node[n].layer >= work->layers ? work->node[n].layer + 1 : work->layers;
    work->top = efi_arena_get(work->arena, (size_t)work->layers, sizeof *work->top);
    work->bottom = efi_arena_get(work->arena, (size_t)work->layers, sizeof *work->bottom);
    if (!work->top || !work->bottom)
        return EF_MEMORY;
    double y = 0.0;
    for (int l = 0; l < work->layers; l++) {
        double height = 0.0;
        for (int b = 0; b < of->boxes; b++)
            height = of->box[b].height > height && work->node[b].layer == l ? of->box[b].height : height;
        work->top[l] = y;
        work->bottom[l] = y + height;
        y += height + of->gap_y;
    }
    of->height = y - of->gap_y;
    return EF_OK;
}

static ef_status place(efi_layers_work *work, efi_arena *points)
{
    const efi_layers *of = work->of;
    work->nodes = of->boxes;
    work->node = efi_arena_get(work->arena, (size_t)of->boxes, sizeof *work->node);
    if (!work->node)
        return EF_MEMORY;
    for (int b = 0; b < of->boxes; b++)
        work->node[b].width = of->box[b].width;
    EF_TRY(find_layers(work));
    lower_sources(work);
    EF_TRY(cut_arrows(work));
    EF_TRY(find_bands(work));
    EF_TRY(efi_layers_sort(work));
    EF_TRY(efi_layers_spread(work));
    for (int b = 0; b < of->boxes; b++) {
        const int layer = work->node[b].layer;
        of->box[b].layer = layer;
        of->box[b].x = work->node[b].x;
        of->box[b].y = 0.5 * (work->top[layer] + work->bottom[layer]);
    }
    return efi_layers_route(work, points);
}

ef_status efi_layers_place(efi_layers *layers)
{
    efi_layers_free(layers);
    layers->width = layers->height = 0.0;
    layers->crossings = 0;
    if (layers->boxes == 0)
        return EF_OK;
    efi_layers_work work = {.of = layers, .arena = efi_arena_new()};
    efi_arena *points = efi_arena_new();
    const ef_status status = work.arena && points ? place(&work, points) : EF_MEMORY;
    efi_arena_free(work.arena);
    layers->memory = points;
    if (status != EF_OK)
        efi_layers_free(layers);
    return status;
}

void efi_layers_free(efi_layers *layers)
{
    efi_arena_free(layers->memory);
    layers->memory = NULL;
    for (int a = 0; a < layers->arrows; a++)
        layers->arrow[a].points = 0;
}
