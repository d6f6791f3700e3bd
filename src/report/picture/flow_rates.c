/* SPDX-License-Identifier: GPL-3.0-or-later
 * The rates beside the strokes of the flow diagram. */
#include "base/base.h"
#include "report/picture/flow.h"

#include <math.h>

#define HALF_LETTER 6.0 /* px: half the height that a rate takes */
#define BESIDE      3.0 /* px: least space between two rates */
enum {
    STEPS = 12 /* samples of each piece of a stroke */
};

/* A point of a piece of an arrow, `part` of the way. */
static efi_layers_point point_of(const efi_layers_arrow *arrow, int piece, double part)
{
    const efi_layers_point *from = &arrow->point[piece];
    const efi_layers_point *to = from + 1;
    if (arrow->closes_loop)
        return (efi_layers_point){from->x + part * (to->x - from->x), from->y + part * (to->y - from->y)};
    /* the cubic with upright ends */
    const double left = 1.0 - part;
    const double smooth = part * part * (3.0 - 2.0 * part);
    const double half = 0.5 * (from->y + to->y);
    const double y = left * left * left * from->y + 3.0 * left * part * half + part * part * part * to->y;
    return (efi_layers_point){from->x + smooth * (to->x - from->x), y};
}

/* How far a point lies outside a place, px; 0 inside. */
static double distance(const efi_layers_point *at, const efi_spot *spot)
{
    const double x = fmax(0.0, fmax(spot->left - at->x, at->x - spot->right));
    const double y = fmax(0.0, fmax(spot->top - at->y, at->y - spot->bottom));
    return hypot(x, y);
}

/* Does a stroke come near a place? */
static bool crosses(const efi_layers_arrow *arrow, const efi_spot *spot)
{
    for (int i = 0; i + 1 < arrow->points; i++) {
        for (int step = 0; step <= STEPS; step++) {
            const efi_layers_point at = point_of(arrow, i, (double)step / STEPS);
            if (distance(&at, spot) < 0.5 * arrow->width + 0.5)
                return true;
        }
    }
    return false;
}

/* How bad a place is: -1 where words may not stand, else the number of strokes they hide. */
static int badness(const efi_picture *p, const efi_spot *spot)
{
    const efi_spot wide = {spot->left - BESIDE, spot->top, spot->right + BESIDE, spot->bottom};
    if (spot->left < p->room.left || spot->right > p->room.right)
        return -1;
    for (int i = 0; i < p->spots; i++)
        if (efi_spot_meets(&wide, &p->spot[i]))
            return -1;
    int count = 0;
    for (int a = 0; a < p->layers.arrows; a++)
        count += crosses(&p->layers.arrow[a], spot);
    return count;
}

static bool leaves_alone(const efi_picture *p, int arrow)
{
    int count = 0;
    for (int a = 0; a < p->layers.arrows; a++)
        count += p->layers.arrow[a].from == p->layers.arrow[arrow].from;
    return count == 1;
}

/* Places beside a point of a stroke: to its right and left, above and below it. */
static efi_spot place_at(efi_layers_point at, double stroke, double width, int side)
{
    const double off = 0.5 * stroke + 3.0;
    const double left[] = {at.x + off, at.x - off - width, at.x - 0.5 * width, at.x - 0.5 * width};
    const double middle[] = {at.y, at.y, at.y - off - HALF_LETTER, at.y + off + HALF_LETTER};
    return (efi_spot){left[side], middle[side] - HALF_LETTER, left[side] + width, middle[side] + HALF_LETTER};
}

/* The best place beside a piece of an arrow; better than `*best` (-1: none yet) or nothing changes. */
static void look_along(const efi_picture *p, const efi_layers_arrow *arrow, int piece, double width,
                       int *best, efi_spot *found)
{
    static const double parts[] = {0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9};
    for (size_t i = 0; i < 4 * EF_COUNT(parts) && *best != 0; i++) {
        const efi_spot spot = place_at(point_of(arrow, piece, parts[i / 4]), arrow->width, width,
                                       (int)(i % 4));
        const int bad = badness(p, &spot);
        if (bad >= 0 && (*best < 0 || bad < *best)) {
            *best = bad;
            *found = spot;
        }
    }
}

/* The piece to look along first: the lane of an arrow that goes back, else the first. */
static int first_piece(const efi_layers_arrow *arrow)
{
    return arrow->closes_loop && arrow->points > 2 ? arrow->points / 2 - 1 : 0;
}

static void write_rate(efi_picture *p, int a)
{
    const efi_layers_arrow *arrow = &p->layers.arrow[a];
    if (leaves_alone(p, a) && !arrow->closes_loop)
        return;
    efi_text words = {0};
    efi_picture_add_rate(p, &words, p->crop->spouts[p->spout[a]].flow.total_tph, false);
    const double width = efi_svg_width(efi_text_get(&words), EFI_FRAME_NOTE);
    int best = -1;
    efi_spot spot = {0};
    const int pieces = arrow->points - 1;
    for (int i = 0; i < pieces && best != 0; i++)
        look_along(p, arrow, (first_piece(arrow) + i) % pieces, width, &best, &spot);
    if (best >= 0) {
        efi_svg_text(p->out, spot.left, spot.top + HALF_LETTER + 4.0, "start", "rate", efi_text_get(&words));
        p->spot[p->spots++] = spot;
    }
    p->out->failed = p->out->failed || words.failed;
    efi_text_free(&words);
}

ef_status efi_picture_write_rates(efi_picture *p)
{
    const size_t most = (size_t)p->layers.boxes + (size_t)p->layers.arrows;
    p->spot = efi_arena_get(p->arena, most, sizeof *p->spot);
    if (!p->spot)
        return EF_MEMORY;
    for (int b = 0; b < p->layers.boxes; b++) {
        const efi_layers_box *box = &p->layers.box[b];
        p->spot[p->spots++] = (efi_spot){box->x - 0.5 * box->width, box->y - 0.5 * box->height,
                                         box->x + 0.5 * box->width, box->y + 0.5 * box->height};
    }
    for (int a = 0; a < p->layers.arrows; a++)
        write_rate(p, a);
    return EF_OK;
}
