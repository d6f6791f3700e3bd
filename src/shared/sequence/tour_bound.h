/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bound for orders priced by pairs alone: assignment, then linear programs with cuts, then branching. */
#ifndef EFI_SEQUENCE_TOUR_BOUND_H
#define EFI_SEQUENCE_TOUR_BOUND_H

#include "shared/sequence/model.h"

typedef struct efi_tour_bound efi_tour_bound;

/*
 * A bound for `model`, which is borrowed; the assignment bound is ready at once. EF_OK, EF_MEMORY.
 * Free with efi_tour_bound_free. One thread.
 */
ef_status efi_tour_bound_new(const efi_model *model, efi_tour_bound **bound);
void efi_tour_bound_free(efi_tour_bound *bound);

/* No order is cheaper than this, or than the `upper` last given. */
int64_t efi_tour_bound_value(const efi_tour_bound *bound);

/* The work done so far, in steps of a walk: the same on every machine. */
uint64_t efi_tour_bound_work(const efi_tour_bound *bound);

/*
 * Solves one more linear program, adding the cuts it breaks or branching. `upper` is the price of the best
 * order known (it may fall from call to call). Returns EF_OK with *order != NULL, borrowed, when it came upon
 * a cheaper order that keeps all pairs; EF_OK with *done when the bound has reached `upper` or no more can be
 * done; EF_MEMORY, EF_INTERNAL.
 */
ef_status efi_tour_bound_step(efi_tour_bound *bound, int64_t upper, const int **order, bool *done);

#endif
