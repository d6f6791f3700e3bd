/* SPDX-License-Identifier: GPL-3.0-or-later
 * The live volume of a bin, computed again by adding up small columns. */
#ifndef EFI_VERIFY_BIN_VOLUME_H
#define EFI_VERIFY_BIN_VOLUME_H

#include "model/scenario.h"

/* How far the sum of columns may be from the true volume, as a share of it, and of a bin's size, m3. */
#define EFI_COLUMNS_SHARE 1e-4

/*
 * Live volume of a bin with a crop, m3: as the file gives it, else from the bin's dimensions. Not given when
 * neither is known. Method: columns on a grid over the plan (of a round bin over radius and direction), each
 * as high as the heap stands above hopper and left-overs; none of the loader's geometry is used. `*slack_m3`:
 * how far it may be off, 0 when the file gives it.
 */
efi_value efi_verify_live_m3(const efi_station *bin, const efi_crop *crop, int number, double *slack_m3);

#endif
