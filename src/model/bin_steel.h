/* SPDX-License-Identifier: GPL-3.0-or-later
 * From what a scenario says about a bin in steel to its shape and its live volume. */
#ifndef EFI_BIN_STEEL_H
#define EFI_BIN_STEEL_H

#include "model/bin_shape.h"
#include "model/bind.h"

/* What is wrong with dimensions that are all given. */
typedef enum efi_steel_fault {
    EFI_STEEL_SOUND,
    EFI_STEEL_NO_SIZE,       /* smaller or larger than any bin */
    EFI_STEEL_OUTLET_WIDE,   /* the outlet is as wide as the bin */
    EFI_STEEL_INLET_OUTSIDE, /* the fill point lies outside the walls */
    EFI_STEEL_NO_ROOM        /* the freeboard leaves nothing */
} efi_steel_fault;

/* Inside width, length and height of a bin, m: beyond these a number has a wrong unit. The largest bins are
 * some 50 m wide (from memory). */
#define EFI_BIN_LEAST_M 0.02
#define EFI_BIN_MOST_M  100.0

/* Does the bin give all dimensions? Then its shape follows, and where it is sound its live volume. */
bool efi_steel_is_complete(const efi_steel *steel);
efi_steel_fault efi_steel_look(const efi_steel *steel);

/* The shape of a bin whose dimensions are complete. */
efi_bin_shape efi_steel_shape(const efi_steel *steel);

/* A standard bin where a station's bin would stand: its size with the station's inlet, freeboard, gate, walls
 * and headroom. `own` may be NULL. */
efi_steel efi_steel_placed(const efi_steel *standard, const efi_steel *own);

/* Floor to the top of the walls, m; the dimensions are complete. */
double efi_steel_height(const efi_steel *steel);

/* Friction angle of a crop on the wall, degrees; not given when the scenario does not say. */
efi_value efi_steel_wall_deg(const efi_steel *steel, int crop);

/* Slope from which material slides out of the hopper, degrees: its friction angle on the wall where that is
 * given and below the angle of repose when emptying, else the latter. */
double efi_steel_slides_deg(const efi_steel *steel, const efi_crop *crop, int number);

/* The volumes of a bin that is complete and sound, with a crop whose angle of repose is given. */
efi_bin_volumes efi_steel_fill(const efi_steel *steel, const efi_crop *crop, int number);

/* Does the hopper clean out: is it, valleys included, at least as steep as a crop slides? */
bool efi_steel_cleans_out(const efi_steel *steel, const efi_crop *crop, int number);

/* The most that a bin's outlet passes of a crop, t/h, at the low or high end of what a side gate does. Not
 * given when the crop has no particle size or density. The dimensions are complete. */
efi_value efi_steel_outlet_tph(const efi_steel *steel, const efi_crop *crop, bool high);

/* What the station after a bin takes of a crop at the most, t/h, all its machines together; not given when
 * its capacity is not. */
efi_value efi_bin_asked_tph(const ef_scenario *scenario, const efi_station *bin, int crop);

/* Volumes that follow are rounded to this, m3, so that they are the same on every machine. */
#define EFI_LIVE_STEP_M3 (1.0 / 1048576.0)

/* The live volume by crop, shape [crop], that follows from a bin's steel; NULL when it does not, or memory is
 * short. */
const efi_value *efi_steel_live(efi_binder *b, const efi_station *bin);

#endif
