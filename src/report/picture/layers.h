/* SPDX-License-Identifier: GPL-3.0-or-later
 * A layered layout: places the boxes of a flow diagram so that material runs downwards with few crossings. */
#ifndef EFI_LAYERS_H
#define EFI_LAYERS_H

#include <evenfeed/status.h>
#include <stdbool.h>

/* One box. Lengths in pixels, y downwards. */
typedef struct efi_layers_box {
    double width, height; /* given */
    double x, y;          /* found: its centre */
    int layer;            /* found: 0 at the top */
} efi_layers_box;

/* One point of a line. */
typedef struct efi_layers_point {
    double x, y;
} efi_layers_point;

/* One arrow. `closes_loop` ones do not count for the layers: they are led back up outside the boxes. */
typedef struct efi_layers_arrow {
    int from, to;     /* boxes; different ones */
    double width;     /* of its stroke, > 0 */
    bool closes_loop; /* given: every loop has one */
    /* found: its points from the edge of one box to that of the other; of an arrow that runs down, the points
     * are to be joined by curves that are vertical in each of them; of one that closes a loop by straight
     * lines with rounded corners. Borrowed from the layout. */
    efi_layers_point *point;
    int points;
} efi_layers_arrow;

typedef struct efi_layers {
    efi_layers_box *box; /* shape [boxes] */
    int boxes;
    efi_layers_arrow *arrow; /* shape [arrows] */
    int arrows;
    double gap_x, gap_y;  /* given: least space between boxes beside, and above, each other */
    double width, height; /* found: of all; the top left is 0, 0 */
    int crossings;        /* found: of arrows that run down, between layers */
    void *memory;         /* of the points */
} efi_layers;

/*
 * Places everything. Layers by the longest way down; sources as low as their first user lets them; long
 * arrows bend at each layer they pass; 24 sweeps by the means of the neighbours, of which the order with
 * fewest crossings is kept; then 300 rounds of "mean of the neighbours, then push apart", where pushing apart
 * is the least-squares fit that keeps order and distance (isotonic regression, exact). Ties go to the lower
 * number, so the picture is always the same. EF_OK, EF_MEMORY; EF_USAGE when a loop has no arrow that closes
 * it.
 */
ef_status efi_layers_place(efi_layers *layers);

/* Frees the points; the layout may be placed again. */
void efi_layers_free(efi_layers *layers);

#endif
