/* SPDX-License-Identifier: GPL-3.0-or-later
 * Sized bins on a paper: a sentence for each bin first. */
#ifndef EFI_BINS_VIEW_H
#define EFI_BINS_VIEW_H

#include "base/pieces.h"
#include "report/paper.h"

#include <evenfeed/bins.h>

void efi_bins_put(efi_paper *paper, const ef_bins *bins, ef_units units);

/* ---- what the files that do so share (bins_notes.c) -----------------------------------------------------
 */

typedef struct efi_bins_view {
    const ef_bins *bins;
    ef_units units;
    efi_paper *paper;
} efi_bins_view;

efi_piece efi_bins_volume(const efi_bins_view *v, double m3);
efi_piece efi_bins_rate(const efi_bins_view *v, const ef_bins_crop *crop, double tph);

/* Full-feed minutes: "1.4 min", "0.0 min". */
efi_piece efi_bins_minutes(double hours);

/* The paragraph about one bin over all crops: its volume now, by the rule, recommended, and why
 * (bins_words.c). */
void efi_bins_add_whole(const efi_bins_view *v, const ef_bins_whole *whole);

/* How the answer was come by, and what it leaves out; something a person should know. */
void efi_bins_add_form(const efi_bins_view *v, const ef_bins_feed *feed);
void efi_bins_add_note(const efi_bins_view *v, const ef_bins_crop *crop, const ef_bins_note *note);

#endif
