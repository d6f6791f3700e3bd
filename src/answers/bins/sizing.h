/* SPDX-License-Identifier: GPL-3.0-or-later
 * The volumes of least cost for a set of traces: a master program with cuts from the fluid recursion. */
#ifndef EFI_SIZING_H
#define EFI_SIZING_H

#include "answers/bins/fluid.h"

typedef struct efi_sizing {
    int traces;
    const efi_fluid_line *line; /* shape [traces]: the same line but for the stops; counted from hour 0 */
    const double *cost;         /* shape [bins], > 0: of a tonne of volume */
    const double *most_t;       /* shape [bins]: greatest volume */
    double target_t;            /* the mean shortfall of a trace may be this */
    double price;               /* of a tonne of mean shortfall beyond that */
    int threads;
} efi_sizing;

typedef struct efi_sizing_result {
    double shortfall_t; /* mean over the traces, at the volumes */
    double cost;        /* of the volumes */
    double bound;       /* no volumes have cost and price together below this */
    int cuts;
} efi_sizing_result;

/* Mean shortfall and, where not NULL, its gradient; the same for any number of threads. */
ef_status efi_sizing_mean(const efi_sizing *sizing, const double *volume_t, double *shortfall_t,
                          double *gradient);

/*
 * Minimises cost volume + price max(0, mean shortfall - target) to 1e-8 relative: Kelley's cutting planes,
 * each round also cut half way between the best point and that of the master program. EF_OK; EF_NO_ANSWER
 * when that is not reached; EF_MEMORY, EF_INTERNAL, EF_USAGE as efi_fluid_run.
 */
ef_status efi_sizing_solve(const efi_sizing *sizing, double *volume_t, efi_sizing_result *result);

#endif
