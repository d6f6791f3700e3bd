/* SPDX-License-Identifier: GPL-3.0-or-later
 * Heat: how much worse an order may be for a walk to go on from it, falling in cycles (annealing). */
#ifndef EFI_SEQUENCE_HEAT_H
#define EFI_SEQUENCE_HEAT_H

#include "base/random.h"

/* Where a walk stands in its cycles; {0} before the first. Whole numbers only: every machine goes the same
 * way. */
typedef struct efi_heat {
    uint64_t began; /* step at which the cycle began */
    uint64_t steps; /* of the cycle */
} efi_heat;

/*
 * How much worse the next order may be at step `step`, which never falls: 0 or more, and more than k times
 * the heat with a chance of 2^-k. The heat falls from 3/4 to 3/8 of `unit` (>= 0, at most 2^56) in each
 * cycle. The first cycles are short, so that short searches cool as well, and each is twice as long as the
 * one before, up to a limit.
 */
int64_t efi_heat_slack(efi_heat *heat, efi_random *random, uint64_t step, int64_t unit);

#endif
