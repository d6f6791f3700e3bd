/* SPDX-License-Identifier: GPL-3.0-or-later
 * Cuts that a solution of the linear program of tour_bound.c breaks: no closed part of a tour, pairs in
 * order. */
#ifndef EFI_SEQUENCE_TOUR_CUTS_H
#define EFI_SEQUENCE_TOUR_CUTS_H

#include "shared/lp/lp.h"
#include "shared/sequence/model.h"

typedef struct efi_tour_arc {
    int from;
    int to;
} efi_tour_arc;

typedef struct efi_tour_cuts efi_tour_cuts;

/* For columns 0 .. arcs - 1 of a program, `arc` borrowed; NULL without memory. Free with efi_tour_cuts_free.
 */
efi_tour_cuts *efi_tour_cuts_new(const efi_model *model, const efi_tour_arc *arc, int arcs);
void efi_tour_cuts_free(efi_tour_cuts *cuts);

/*
 * Adds to `lp` the cuts that x[arcs] breaks, at most one for each lot and direction, and tells how many.
 * Without any, a whole x is a tour that keeps all pairs. EF_OK, EF_MEMORY, EF_USAGE.
 */
ef_status efi_tour_cuts_add(efi_tour_cuts *cuts, efi_lp *lp, const double *x, int *added);

#endif
