/* SPDX-License-Identifier: GPL-3.0-or-later
 * A long time wrapped into rows of days, as a page of text is into lines. */
#ifndef EFI_BANDS_H
#define EFI_BANDS_H

#include "report/picture/frame.h"

#include <stdint.h>

#define EFI_BANDS_WIDTH 1000.0 /* px of the sheet */
#define EFI_BANDS_HEAD  34.0   /* px that the days of one band take above it */

typedef struct efi_bands {
    int64_t from; /* moment at which the first band begins, midnight */
    int days;     /* of a band */
    int count;
    double left, right; /* px of every band */
} efi_bands;

/* Bands from the day of `from` to `to`, so that `things` beside each other in each row have room for a name
 * of about `room` px each; `names` px: the widest name of a row. */
efi_bands efi_bands_make(int64_t from, int64_t to, double things, double room, double names);

/* Where a moment lies in a band that it may be outside of. */
double efi_bands_x(const efi_bands *bands, int band, int64_t moment);

/* The part of [from, to) in a band: false when there is none. */
bool efi_bands_clip(const efi_bands *bands, int band, int64_t from, int64_t to, double *left, double *right);

/* Is a moment in a band? */
bool efi_bands_holds(const efi_bands *bands, int band, int64_t moment);

/* Writes the days above a band whose rows stand between `top` and `bottom`, and draws a line at each. */
void efi_bands_draw_days(efi_text *out, const efi_bands *bands, int band, double top, double bottom);

/* Height of a band with its days, px. */
typedef double efi_band_height(const void *context, int band);

/* The bands [first, end) that stand on page number `page`, from 0 on: as many as fit on a sheet that prints
 * on one page of paper, at least one; page -1: all. False when there is no such page. */
bool efi_bands_page(const efi_bands *bands, efi_band_height *height, const void *context, int page,
                    int *first, int *end);

/* How a crop is shown, by its number among the crops: its class and hatching. */
typedef struct efi_crop_look {
    const char *classes;
    efi_hatch hatch;
} efi_crop_look;
efi_crop_look efi_crop_look_of(int crop);

#endif
