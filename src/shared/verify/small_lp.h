/* SPDX-License-Identifier: GPL-3.0-or-later
 * A small dense linear program, solved without the lp floor, so that verifiers depend on no solver they
 * verify. */
#ifndef EFI_SMALL_LP_H
#define EFI_SMALL_LP_H

#include "base/base.h"

/*
 *   maximise sum_j aim[j] x[j]   subject to   sum_j cell[i][j] x[j] <= limit[i],   x >= 0
 *
 * Meant for few columns and coefficients near 1: the caller scales.
 */
typedef struct efi_small_lp {
    int rows;
    int columns;
    double *cell;  /* shape [rows][columns] */
    double *limit; /* shape [rows] */
    double *aim;   /* shape [columns] */
} efi_small_lp;

typedef enum efi_small_outcome {
    EFI_SMALL_OPTIMAL,
    EFI_SMALL_INFEASIBLE,
    EFI_SMALL_UNBOUNDED
} efi_small_outcome;

/* A new program of this size with all zeros, or NULL without memory. Freed with efi_small_lp_free. */
efi_small_lp *efi_small_lp_new(int rows, int columns);
void efi_small_lp_free(efi_small_lp *lp);

/* Sets cell, limit and aim to 0 again. */
void efi_small_lp_clear(efi_small_lp *lp);

/*
 * Solves it. On EFI_SMALL_OPTIMAL `*best` is the greatest value and `x` (shape [columns], NULL allowed) where
 * it is reached. Method: the simplex on a dictionary, one artificial variable for the first phase; after many
 * steps smallest index first, which cannot cycle (Bland, "New finite pivoting rules for the simplex method",
 * Mathematics of Operations Research 2, 1977). Cost: rows times columns for each pivot. EF_OK or EF_MEMORY.
 */
ef_status efi_small_lp_solve(const efi_small_lp *lp, efi_small_outcome *outcome, double *best, double *x);

#endif
