/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the text about sized bins is written with: figures, and the sentence about each bin. */
#ifndef EFI_REPORT_BINS_WORDS_H
#define EFI_REPORT_BINS_WORDS_H

#include "base/text.h"

#include <evenfeed/bins.h>
#include <evenfeed/units.h>

typedef struct efi_bins_writer {
    const ef_bins *bins;
    ef_units units;
    efi_text *out;
} efi_bins_writer;

/* A volume in words: "4.20 m3", "0 m3". */
void efi_bins_add_volume(efi_text *words, const efi_bins_writer *w, double m3);

/* The paragraph about one bin over all crops: its volume now, by the rule, recommended, and why. */
void efi_bins_add_whole(const efi_bins_writer *w, const ef_bins_whole *whole);

#endif
