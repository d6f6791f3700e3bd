/* SPDX-License-Identifier: GPL-3.0-or-later
 * What all pictures share: the sheet with its heading and style, axes and bars. */
#ifndef EFI_FRAME_H
#define EFI_FRAME_H

#include "base/display.h"
#include "report/picture/svg.h"

#include <stdbool.h>

#define EFI_FRAME_MARGIN 14.0 /* px around everything */
#define EFI_FRAME_HEAD   58.0 /* px: where what is drawn begins, below the heading */
#define EFI_FRAME_NOTE   11.0 /* px: size of small letters */

/*
 * Begins a picture of this size in pixels: `title` and, where not NULL, a line below it are its heading;
 * `description` tells in words what is to be seen, for those who do not see it. efi_frame_end ends it.
 */
void efi_frame_begin(efi_text *out, double width, double height, const char *title, const char *below,
                     const char *description);
void efi_frame_end(efi_text *out);

/* A scale: values `from` .. `to` (in the unit shown) lie at pixels at_from .. at_to; marks every `step`. */
typedef struct efi_axis {
    double from, to;
    double at_from, at_to;
    double step;
    int decimals;
} efi_axis;

/* A scale with some `marks` marks at round numbers (1, 2 or 5 times a power of ten); from < to. With
 * `outward` its ends move out to marks. */
efi_axis efi_axis_make(double from, double to, double at_from, double at_to, int marks, bool outward);

double efi_axis_at(const efi_axis *axis, double value);

/* Draws a scale below (at height y) or to the left (at x) of a plot, a thin line across the plot at each mark
 * to `across`, and its words with the unit. */
void efi_axis_draw_below(efi_text *out, const efi_axis *axis, double y, double across, const char *words);
void efi_axis_draw_left(efi_text *out, const efi_axis *axis, double x, double across, const char *words);

/* A filled rectangle that tells `words` when pointed at. */
void efi_frame_bar(efi_text *out, const char *classes, double left, double top, double right, double bottom,
                   const char *words);

/* A straight line. */
void efi_frame_line(efi_text *out, const char *classes, double from_x, double from_y, double to_x,
                    double to_y);

#endif
