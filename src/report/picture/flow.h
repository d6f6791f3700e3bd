/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the flow diagram share. */
#ifndef EFI_FLOW_H
#define EFI_FLOW_H

#include "base/display.h"
#include "base/memory.h"
#include "report/picture/frame.h"
#include "report/picture/layers.h"
#include "report/picture/svg.h"

#include <evenfeed/balance.h>

enum {
    EFI_PICTURE_NAME_LINES = 2,
    EFI_PICTURE_NAME_ROOM = 128
};

/* Where material on a spout goes; each has a stroke of its own (solid, dotted, dashed) besides its colour. */
typedef enum efi_stream_kind {
    EFI_TO_PRODUCT,
    EFI_TO_REJECT,
    EFI_RETURNS
} efi_stream_kind;

/* What is written in one box. */
typedef struct efi_picture_label {
    char name[EFI_PICTURE_NAME_LINES][EFI_PICTURE_NAME_ROOM];
    int names;
    efi_text note;
} efi_picture_label;

typedef struct efi_picture {
    const ef_balance *balance;
    const ef_balance_crop *crop;
    efi_display mass; /* unit of the rates */
    double largest_tph;
    efi_layers layers;        /* a box for each station, an arrow for each spout drawn */
    const int *spout;         /* shape [arrows]: spout of the crop */
    efi_stream_kind *kind;    /* shape [arrows] */
    efi_picture_label *label; /* shape [boxes] */
    efi_spot *spot;           /* shape [boxes + arrows]: what boxes and words take */
    int spots;
    efi_spot room; /* where words may stand */
    efi_arena *arena;
    efi_text *out;
} efi_picture;

/* Class of a kind of stream in the style sheet; never NULL. */
const char *efi_stream_class(efi_stream_kind kind);

/* A rate in the unit of the picture, with digits that suit its own size. */
void efi_picture_add_rate(const efi_picture *p, efi_text *out, double rate_tph, bool with_unit);

/* Sizes of the boxes and what is written in them; frees with efi_picture_free_boxes. */
ef_status efi_picture_make_boxes(efi_picture *p);
void efi_picture_free_boxes(efi_picture *p);
void efi_picture_draw_box(const efi_picture *p, int station);

/* The arrows, before the layout; then their strokes. */
ef_status efi_picture_make_arrows(efi_picture *p);
void efi_picture_draw_stroke(const efi_picture *p, int arrow);

/* The rates beside the strokes, once the boxes are drawn: where they hide neither boxes nor each other, and
 * as few strokes as can be; where there is no such place the stroke tells its rate when pointed at. */
ef_status efi_picture_write_rates(efi_picture *p);

#endif
