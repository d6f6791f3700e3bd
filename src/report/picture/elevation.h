/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the bin's elevation share. */
#ifndef EFI_ELEVATION_H
#define EFI_ELEVATION_H

#include "base/display.h"
#include "report/picture/frame.h"

#include <evenfeed/bins.h>
#include <evenfeed/steel.h>
#include <evenfeed/units.h>

/* One view of a bin. Heights z are counted from the outlet up. */
typedef struct efi_elevation {
    const ef_steel_size *size;
    const ef_steel_crop *crop; /* that it is filled with */
    ef_units units;
    bool across;        /* seen across the length */
    double wide_m;      /* of the bin in this view */
    double outlet_m;    /* of the outlet */
    double inlet_m;     /* fill point, from the middle */
    double high_m;      /* from the floor to the top of what is drawn */
    bool shows_roof;    /* the headroom is drawn */
    double scale;       /* px for each m */
    double middle;      /* px: x of the outlet */
    double top, floor;  /* px */
    double left, right; /* px: what words may take */
} efi_elevation;

/* A point of the view on the sheet. */
double efi_elevation_x(const efi_elevation *e, double x_m);
double efi_elevation_y(const efi_elevation *e, double z_m);

/* What is to be seen, with the dimensions in words. */
void efi_elevation_describe(efi_text *words, const efi_elevation *e);

/* Lines with arrows and words for the dimensions, the floor, the headroom. */
void efi_elevation_draw_dimensions(efi_text *out, const efi_elevation *e);

/* What it holds of each crop, and the cautions, from a baseline on; returns the last baseline. */
double efi_elevation_write_notes(efi_text *out, const efi_elevation *e, const ef_steel *steel, double y);

#endif
