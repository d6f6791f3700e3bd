/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the layered layout share. */
#ifndef EFI_LAYERS_INSIDE_H
#define EFI_LAYERS_INSIDE_H

#include "base/base.h"
#include "base/memory.h"
#include "report/picture/layers.h"

/* A box, or a place where a long arrow passes a layer. */
typedef struct efi_layers_node {
    int layer;
    int place; /* within its layer, from the left */
    double width;
    double x;
    double wish; /* while sorting or placing */
    double weight;
} efi_layers_node;

/* A piece of an arrow from one layer to the next. */
typedef struct efi_layers_piece {
    int upper, lower; /* nodes */
    int arrow;
    double weight;
} efi_layers_piece;

typedef struct efi_layers_work {
    efi_layers *of;
    efi_arena *arena; /* of the work */
    efi_layers_node *node;
    int nodes; /* the first `of->boxes` are the boxes */
    efi_layers_piece *piece;
    int pieces;
    int layers;
    int *order;           /* shape [nodes]: nodes layer by layer from the left */
    int *first;           /* shape [layers + 1]: where each layer begins in `order` */
    double *top, *bottom; /* shape [layers] */
} efi_layers_work;

/* Orders the nodes of every layer so that few pieces cross; sets `order`, the places and `crossings`. */
ef_status efi_layers_sort(efi_layers_work *work);

/* Gives every node its x, in the order found. */
ef_status efi_layers_spread(efi_layers_work *work);

/* Gives every arrow its points, and the whole its size. */
ef_status efi_layers_route(efi_layers_work *work, efi_arena *points);

#endif
