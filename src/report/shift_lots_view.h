/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files that print lists of lots for people share. */
#ifndef EFI_SHIFT_LOTS_VIEW_H
#define EFI_SHIFT_LOTS_VIEW_H

#include "report/paper.h"
#include "report/report.h"

#include <evenfeed/shift_lots.h>

typedef struct efi_lots_view {
    const ef_shift_lots *lots; /* one list, or those of a plant of several lines */
    ef_units units;
    double trade_weight_tpbu; /* where all crops have the same, else 0 */
} efi_lots_view;

efi_lots_view efi_lots_view_of(const ef_shift_lots *lots, ef_units units);

/* Is it the same in all runs, to the minute? */
bool efi_lots_are_sure(const ef_shift_spread *hours);

/* A cell: a moment, or without a calendar the hours since the beginning. */
void efi_lots_add_end(efi_paper *paper, const ef_shift_lots *lots, double hours);

/* All of one list but title and notes; the notes of one, or of all lists of a plant. */
void efi_lots_put_list(efi_paper *paper, const efi_lots_view *v);
void efi_lots_add_notes(efi_paper *paper, const efi_lots_view *v);

/* Parts that a plant of several lines has too: when it begins and ends, what a shift makes, its streams. */
void efi_lots_add_dates(efi_paper *paper, const efi_lots_view *v);
void efi_lots_add_shift(efi_paper *paper, const efi_lots_view *v);
void efi_lots_add_streams(efi_paper *paper, const efi_lots_view *v);

/* A plant of several lines: together, then line by line (shift_lots_lines.c). */
void efi_lots_put_lines(efi_paper *paper, const efi_lots_view *v);

/* Of several lines: that they share stations, and how that is simulated; that they run beside each other, and
 * how lots that were dealt out came to them. */
void efi_lots_say_shared(efi_paper *paper);
void efi_lots_say_beside(efi_paper *paper, bool is_dealt);

#endif
