/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of learning as text share. */
#ifndef EFI_LEARN_VIEW_H
#define EFI_LEARN_VIEW_H

#include "base/pieces.h"
#include "report/paper.h"
#include "report/report.h"

#include <evenfeed/learn.h>

/* "9.52 h", "7.4 min"; "n/a" for what is not finite. */
efi_piece efi_learn_hours(double hours);

/* "12.3 %" */
efi_piece efi_learn_percent(double share);

/* Scales, rates and shares (learn_totals_text.c); nothing without a log of totals. */
void efi_learn_add_totals(efi_paper *paper, const ef_learn *learn, ef_units units);

/* Sentences about them, for the lists of disagreements and of what is short. */
void efi_learn_add_total_disagreements(efi_paper *paper, const ef_learn *learn, ef_units units);

#endif
