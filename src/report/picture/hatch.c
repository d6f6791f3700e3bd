/* SPDX-License-Identifier: GPL-3.0-or-later
 * Hatching. The lines lie on one grid over the whole sheet, so that neighbours go on in each other. */
#include "base/base.h"
#include "report/picture/frame.h"

#include <math.h>

#define GAP   6.0 /* px between upright lines */
#define SLANT 8.4 /* px between slanted ones, along an edge */
#define LEVEL 4.8 /* px between level ones */
#define DOT   1.6 /* px */

static void add_stroke(efi_text *path, double from_x, double from_y, double to_x, double to_y)
{
    efi_svg_step(path, 'M', (double[]){from_x, from_y}, 2);
    efi_svg_step(path, 'L', (double[]){to_x, to_y}, 2);
}

/* Number of the first line of a grid at or behind a place. */
static int first_line(double from, double gap)
{
    return (int)ceil(from / gap);
}

/* Lines x + y = c (rising to the right) or y - x = c, cut off at the edges. */
static void add_slanted(efi_text *path, bool rising, const efi_spot *a)
{
    const double first = rising ? a->left + a->top : a->top - a->right;
    const double last = rising ? a->right + a->bottom : a->bottom - a->left;
    for (int i = first_line(first, SLANT); i * SLANT < last; i++) {
        const double c = i * SLANT;
        const double upper = fmax(a->top, rising ? c - a->right : a->left + c);
        const double lower = fmin(a->bottom, rising ? c - a->left : a->right + c);
        if (upper < lower)
            add_stroke(path, rising ? c - upper : upper - c, upper, rising ? c - lower : lower - c, lower);
    }
}

static double level_y(const efi_spot *a, int i)
{
    return a->top + 0.5 * GAP + i * LEVEL;
}

static void add_level(efi_text *path, const efi_spot *a)
{
    for (int i = 0; level_y(a, i) < a->bottom; i++)
        add_stroke(path, a->left, level_y(a, i), a->right, level_y(a, i));
}

static void add_upright(efi_text *path, const efi_spot *a)
{
    for (int i = first_line(a->left, GAP); i * GAP < a->right; i++)
        add_stroke(path, i * GAP, a->top, i * GAP, a->bottom);
}

static void add_dots(efi_text *path, const efi_spot *a)
{
    for (int i = 0; level_y(a, i) < a->bottom; i++)
        for (int j = first_line(a->left, GAP); j * GAP + DOT < a->right; j++)
            add_stroke(path, j * GAP, level_y(a, i), j * GAP + DOT, level_y(a, i));
}

void efi_frame_hatch(efi_text *out, efi_hatch hatch, bool dark, const efi_spot *area)
{
    efi_text path = {0};
    switch (hatch) {
    case EFI_HATCH_NONE:
        break;
    case EFI_HATCH_CROSS:
        add_slanted(&path, false, area);
        add_slanted(&path, true, area);
        break;
    case EFI_HATCH_RISING:
        add_slanted(&path, true, area);
        break;
    case EFI_HATCH_FALLING:
        add_slanted(&path, false, area);
        break;
    case EFI_HATCH_LEVEL:
        add_level(&path, area);
        break;
    case EFI_HATCH_UPRIGHT:
        add_upright(&path, area);
        break;
    case EFI_HATCH_DOTS:
        add_dots(&path, area);
        break;
    }
    if (path.length > 0)
        efi_text_addf(out, "<path class=\"hatch%s\" d=\"", dark ? " dark" : "");
    const bool any = path.length > 0;
    efi_frame_take(out, &path);
    if (any)
        efi_text_add(out, "\"/>\n");
}
