/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the verifier of lists of lots share. */
#ifndef EFI_VERIFY_SHIFT_LOTS_H
#define EFI_VERIFY_SHIFT_LOTS_H

#include "model/scenario.h"
#include "shared/verify/differences.h"
#include "shared/verify/sample.h"

#include <evenfeed/shift_lots.h>

/* One list, or of a plant of several lines all of them. */
typedef struct efi_lots_check {
    const ef_scenario *scenario;
    const ef_shift_lots *claim;
    efi_differences *list;
    int line;       /* of a plant of several, else -1 */
    int *number;    /* shape [lots]: in the scenario */
    double *values; /* shape [runs][periods, at least 1] */
    double *sorted; /* the same */
} efi_lots_check;

/* Compares mean and quantiles of c->values, one a run. */
void efi_lots_check_spread(const efi_lots_check *c, const char *what, const ef_shift_spread *spread);

/* Compares a stream of c->values, shape [runs][periods]; `means` is scratch, shape [runs]. */
void efi_lots_check_stream(const efi_lots_check *c, const ef_shift_stream *stream, double *means);

/* Recomputes one list; EF_OK (what differs is in c->list), EF_MEMORY. */
ef_status efi_lots_check_one(efi_lots_check *c);

/* Recomputes those of a plant of several lines, and what they make together; as before
 * (shift_lots_lines.c). */
ef_status efi_lots_check_lines(efi_lots_check *c);

#endif
