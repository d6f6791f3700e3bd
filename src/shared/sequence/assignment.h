/* SPDX-License-Identifier: GPL-3.0-or-later
 * The assignment problem: rows to columns at least price, with the duals that prove it. */
#ifndef EFI_SEQUENCE_ASSIGNMENT_H
#define EFI_SEQUENCE_ASSIGNMENT_H

#include "base/base.h"

#include <stdint.h>

/*
 * Least sum of price[i * size + column_of[i]] over all permutations column_of. Shortest augmenting paths,
 * O(size^3) (N. Tomizawa, Networks 1, 1971; H. W. Kuhn, Naval Research Logistics Quarterly 2, 1955). On
 * return row_dual[i] + column_dual[j] <= price[i, j] for all i, j, with equality where j = column_of[i]; the
 * sum of all duals is
 * `*least`. Prices to EF_FAR / 64 in size; arrays of `size`, none NULL. EF_OK or EF_MEMORY (arrays
 * undefined).
 */
ef_status efi_assignment_solve(int size, const int64_t *price, int *column_of, int64_t *row_dual,
                               int64_t *column_dual, int64_t *least);

#endif
