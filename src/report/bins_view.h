/* SPDX-License-Identifier: GPL-3.0-or-later
 * Sized bins as a paper: a sentence for each bin first. */
#ifndef EFI_BINS_VIEW_H
#define EFI_BINS_VIEW_H

#include "report/paper.h"

#include <evenfeed/bins.h>

void efi_bins_put(efi_paper *paper, const ef_bins *bins, ef_units units);

#endif
