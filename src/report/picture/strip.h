/* SPDX-License-Identifier: GPL-3.0-or-later
 * A strip: the level of one bin over time, from empty to full. */
#ifndef EFI_STRIP_H
#define EFI_STRIP_H

#include "report/picture/frame.h"

#include <evenfeed/units.h>

#define EFI_STRIP_WIDTH 760.0 /* px of the sheet */
#define EFI_STRIP_GAP   26.0  /* px between strips */

/* A level that is known at some moments, straight in between. */
typedef struct efi_strip_series {
    const double *at_h;    /* shape [count], rising */
    const double *level_t; /* of moment i: level_t[i * stride] */
    size_t stride;
    int count;
} efi_strip_series;

/* The scale of time that strips on one sheet share, with room for their names at the left. `names` px: the
 * widest. */
efi_axis efi_strip_hours(double hours, double names);

/* The strip's frame, its scale in the unit of a full bin, its name and the words below it at the left. */
typedef struct efi_strip {
    const char *name;
    double full_t;
    double empty_h, full_h; /* standing at empty and at full, of so many hours */
    double trade_weight_tpbu;
    ef_units units;
    double top, height; /* px */
} efi_strip;

/* Draws that; gives the scale of tonnes. */
efi_axis efi_strip_draw(efi_text *out, const efi_strip *strip, const efi_axis *hours);

/* Adds the way of a level as steps of a path, from `begin` ('M' or 'L'), backwards in time when asked. Of the
 * moments in one column of pixels the lowest and the highest are kept. */
void efi_strip_path(efi_text *path, const efi_strip_series *series, const efi_axis *hours,
                    const efi_axis *tonnes, char begin, bool backwards);

/* Marks where a level stands at full (above the strip) and at empty (below it). */
void efi_strip_mark(efi_text *out, const efi_strip_series *series, const efi_strip *strip,
                    const efi_axis *hours);

/* Samples of these two marks and what they mean. */
void efi_strip_explain_marks(efi_text *out, efi_legend *legend);

#endif
