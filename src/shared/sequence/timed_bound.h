/* SPDX-License-Identifier: GPL-3.0-or-later
 * Bounds for prices that depend on times: one for each term of the price, added up. */
#ifndef EFI_SEQUENCE_TIMED_BOUND_H
#define EFI_SEQUENCE_TIMED_BOUND_H

#include "shared/sequence/model.h"

/*
 * A price that no order of all lots goes below. The model refuses nothing. EF_OK or EF_MEMORY (nothing
 * written). changeovers  the assignment problem of their prices lateness     lots to positions: the lot at
 * position k ends no sooner than its own work and least changeover and the k shortest of the others allow,
 * nor sooner than its earliest start allows; the assignment problem of those makespan     all work and the
 * assignment problem of the changeover times; or the lot that can end last
 */
ef_status efi_timed_bound(const efi_model *model, int64_t *bound);

#endif
