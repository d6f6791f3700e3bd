/* SPDX-License-Identifier: GPL-3.0-or-later
 * Exact search by subsets with a limit on states: proof when the limit is never met, else a good order and a
 * bound. */
#ifndef EFI_SEQUENCE_EXACT_H
#define EFI_SEQUENCE_EXACT_H

#include "shared/sequence/model.h"

/* What a search gave. */
typedef struct efi_exact {
    bool found;    /* an order cheaper than `upper`, in `order` */
    bool complete; /* nothing was left out: without `found`, no order is cheaper than `upper` */
    int64_t price;
    int64_t bound;  /* no order is cheaper than min(bound, upper) */
    int run;        /* lots of `order` that are run; those refused follow */
    uint64_t steps; /* states looked at */
} efi_exact;

/*
 * Looks for an order that keeps all limits and costs less than `upper`, keeping at most `width` states for
 * each number of lots placed. `go_on` (NULL: always) is asked after each of them; false leaves the search
 * incomplete. `order` has room for n. EF_OK or EF_MEMORY (nothing written).
 */
ef_status efi_exact_search(const efi_model *model, int width, int64_t upper, bool (*go_on)(void *context),
                           void *context, int *order, efi_exact *result);

#endif
