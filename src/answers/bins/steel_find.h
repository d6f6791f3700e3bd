/* SPDX-License-Identifier: GPL-3.0-or-later
 * The search for the dimensions of a bin that holds a live volume. */
#ifndef EFI_STEEL_FIND_H
#define EFI_STEEL_FIND_H

#include "answers/bins/steel.h"
#include "model/bin_steel.h"

/* What is asked, and what is fixed. */
typedef struct efi_steel_search {
    const ef_scenario *scenario;
    const efi_steel *own;       /* of the station; a round bin without dimensions when it has none */
    const efi_steel_need *need; /* shape [needs], needs >= 1; each crop has an angle of repose */
    int needs;
} efi_steel_search;

/* Live volume of a bin that is complete and sound for a need's crop, m3. */
double efi_steel_search_live(const efi_steel_search *search, const efi_steel *bin, int need);

/* A bin made to measure. Sets `why`, the numbers beside it, `chose_...` in `steel`, and when it fits `*bin`.
 */
void efi_steel_measure(const efi_steel_search *search, ef_steel *steel, efi_steel *bin);

/* What standard bin `number` of the scenario holds of the crop that it holds least of, m3; 0 where it does
 * not go. */
double efi_steel_standard_live(const efi_steel_search *search, int number);

/* The same from the standard bins of the scenario; sets `size.standard` too. */
void efi_steel_pick(const efi_steel_search *search, ef_steel *steel, efi_steel *bin);

/* Does a bin that is complete hold enough? */
void efi_steel_test(const efi_steel_search *search, ef_steel *steel, const efi_steel *bin);

#endif
