/* SPDX-License-Identifier: GPL-3.0-or-later
 * Anderson's acceleration of a fixed-point iteration x <- F(x) that converges slowly or swings. */
#ifndef EFI_ANDERSON_H
#define EFI_ANDERSON_H

#include "base/base.h"
#include "base/memory.h"

#include <stdbool.h>

#define EFI_ANDERSON_DEPTH 5

/*
 * With f = F(x) - x and the last few differences dx, df of x and f as columns, the next iterate is
 *   F(x) - (dX + dF) g,   g = argmin |f - dF g|,
 * that is, what a secant through those iterates predicts; exact after as many steps as the linear part has
 * distinct factors. The least squares are solved by modified Gram-Schmidt. Nothing but + - * / and square
 * roots, so the same on every machine. Source: D. G. Anderson, "Iterative procedures for nonlinear integral
 * equations", J. ACM 12 (1965); H. F. Walker and P. Ni, SIAM J. Numer. Anal. 49 (2011), algorithm AA.
 * Convergence is not certain: the caller checks f.
 */
typedef struct efi_anderson {
    int n;      /* length of x */
    int stored; /* columns in use */
    int next;   /* column to be written next */
    bool has_last;
    double *x_last; /* shape [n] */
    double *f_last; /* shape [n] */
    double *dx;     /* shape [EFI_ANDERSON_DEPTH, n] */
    double *df;     /* shape [EFI_ANDERSON_DEPTH, n] */
    double *q;      /* shape [EFI_ANDERSON_DEPTH, n]: orthonormal columns */
} efi_anderson;

/* Takes memory for vectors of length n from the arena. EF_OK or EF_MEMORY. */
ef_status efi_anderson_build(efi_anderson *anderson, int n, efi_arena *arena);

/* Forgets what was learnt. */
void efi_anderson_start(efi_anderson *anderson);

/* From x and F(x), in `fx`, to the next iterate, written to `fx`. Entries that are infinite in x or F(x) are
 * left as F(x). */
void efi_anderson_next(efi_anderson *anderson, const double *x, double *fx);

#endif
