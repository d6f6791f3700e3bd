/* SPDX-License-Identifier: GPL-3.0-or-later
 * The least arborescence: a way in for each node, all of them from one root. */
#ifndef EFI_SEQUENCE_ARBORESCENCE_H
#define EFI_SEQUENCE_ARBORESCENCE_H

#include "base/base.h"

#include <stdint.h>

/* Room for arborescences of up to so many nodes. */
typedef struct efi_arborescence efi_arborescence;

/* NULL: out of memory. */
efi_arborescence *efi_arborescence_new(int nodes);
void efi_arborescence_free(efi_arborescence *a);

/* The prices to be filled in, shape [nodes][nodes], to and from: price[to * nodes + from]. Node `nodes` - 1
 * is the root: its own row and the diagonal are not read. Prices to 2^50 in size. */
int64_t *efi_arborescence_prices(efi_arborescence *a, int nodes);

/*
 * Least sum of the prices of one edge into each node but the root, without circles; `from` (shape [nodes],
 * NULL: not wanted) says where each comes from, the root's is not written. By joining circles (J. Edmonds,
 * Optimum branchings, Journal of Research of the National Bureau of Standards 71B (1967) 233-240).
 */
int64_t efi_arborescence_solve(efi_arborescence *a, int *from);

#endif
