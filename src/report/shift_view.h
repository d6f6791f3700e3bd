/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files that print a shift for people share. */
#ifndef EFI_SHIFT_VIEW_H
#define EFI_SHIFT_VIEW_H

#include "base/pieces.h"
#include "report/report.h"
#include "report/paper.h"

#include <evenfeed/shift.h>

typedef struct efi_shift_view {
    const ef_shift *shift;
    ef_units units;
    efi_display t; /* of amounts of a shift */
} efi_shift_view;

efi_shift_view efi_shift_view_of(const ef_shift *shift, ef_units units);

/* A cell "65.3 (65.2-65.3)". */
void efi_shift_add_estimate(efi_paper *paper, const efi_display *display, ef_shift_estimate estimate);

/* A shift as a paper: the sentence to repeat first. */
void efi_shift_put(efi_paper *paper, const ef_shift *shift, ef_units units);

/* Its parts after the amounts. */
void efi_shift_add_hours(efi_paper *paper, const efi_shift_view *v);
void efi_shift_add_cost(efi_paper *paper, const efi_shift_view *v);
void efi_shift_add_levels(efi_paper *paper, const efi_shift_view *v);

#endif
