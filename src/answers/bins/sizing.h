/* SPDX-License-Identifier: GPL-3.0-or-later
 * The volumes of least cost for a set of traces: a master program with cuts from the fluid recursion. */
#ifndef EFI_SIZING_H
#define EFI_SIZING_H

#include "answers/bins/fluid.h"
#include "shared/lp/lp.h"

/* What may be done about one bin. Volumes in t of the line's measure. */
typedef struct efi_sizing_bin {
    double cost;        /* of a tonne of volume, >= 0 */
    double fixed_cost;  /* of having it at all, >= 0 */
    double least_t;     /* >= 0 */
    double most_t;      /* >= least_t; equal: the volume is not to be chosen */
    const double *size; /* shape [sizes]: standard sizes, one of which is taken, or none; NULL: any volume */
    const double *size_cost; /* shape [sizes]: of each, in place of the two above; NULL: by them */
    int sizes;
} efi_sizing_bin;

/*
 * For a trace i with shortfall L_i(S), convex in the volumes S, and the measure
 *   L(S) = mean over i of L_i(S)                    tail_share 1
 *        = mean over the worst tail_share of them   tail_share < 1 (CVaR: Rockafellar and Uryasev, J. of Risk
 * 2, 2000) minimise cost(S) subject to L(S) <= target, or cost(S) + price max(0, L(S) - target).
 */
/* Another source of shortfalls than the recursion: of all traces at these volumes, shape [traces], and a
 * subgradient of each, shape [traces][bins]. */
typedef ef_status efi_sizing_pass(void *program, const double *volume_t, double *shortfall_t,
                                  double *gradient);

/* Adds one trace to the plain form; `volume`: columns, shape [bins]; `short_column` receives that of its
 * shortfall. */
typedef ef_status efi_sizing_add(void *program, int trace, efi_lp *lp, const int *volume, int *short_column);

typedef struct efi_sizing {
    int traces;
    const efi_fluid_line *line; /* shape [traces]: the same line but for the stops; counted from hour 0 */
    int bins;                   /* with `pass`; else segments of the line - 1 */
    efi_sizing_pass *pass;      /* in place of `line`, with `add`; NULL: by the recursion */
    efi_sizing_add *add;
    void *program;             /* of both */
    double gap_share;          /* good enough; 0: 1e-8 */
    const efi_sizing_bin *bin; /* shape [bins] */
    double tail_share;         /* 0 < .. <= 1 */
    int threads;
    bool (*go_on)(void *context); /* called between passes; false ends the search. NULL: goes on */
    void *context;
} efi_sizing;

typedef struct efi_sizing_aim {
    double target_t;
    bool priced;
    double price; /* of a tonne of L beyond the target */
} efi_sizing_aim;

typedef struct efi_sizing_result {
    double shortfall_t; /* L at the volumes */
    double cost;        /* of the volumes */
    double bound;       /* no volumes have cost and price together below this */
    int cuts;           /* so far */
    bool stopped;       /* go_on said no: the best so far, perhaps not the best of all */
} efi_sizing_result;

/* A shortfall over the target by no more than this, t, is none. */
#define EFI_SIZING_SLACK_T 1e-6

static inline int efi_sizing_bins(const efi_sizing *sizing)
{
    return sizing->pass ? sizing->bins : sizing->line[0].segments - 1;
}

/* L and, where not NULL, a subgradient; the same for any number of threads. */
ef_status efi_sizing_shortfall(const efi_sizing *sizing, const double *volume_t, double *shortfall_t,
                               double *gradient);

/* A search that keeps what it has learned from one aim to the next. `sizing` is borrowed. */
typedef struct efi_sizing_search efi_sizing_search;

/* NULL without memory. */
efi_sizing_search *efi_sizing_open(const efi_sizing *sizing);

/* On the thread that opened it; NULL is allowed. */
void efi_sizing_close(efi_sizing_search *search);

/*
 * The optimum to 1e-8 relative (1e-6 where the tolerance of the master program allows no more): Kelley's
 * cutting planes, each round also cut half way between the best point and that of the master program. A
 * target below L at the greatest volumes counts as that. EF_OK; EF_NO_ANSWER when the optimum is not reached;
 * EF_STOPPED when stopped before there was anything to go by; EF_MEMORY, EF_INTERNAL, EF_USAGE as
 * efi_fluid_run. `volume_t` has shape [bins].
 */
ef_status efi_sizing_solve(efi_sizing_search *search, const efi_sizing_aim *aim, double *volume_t,
                           efi_sizing_result *result);

/* Cost of volumes, 0 for a bin of no volume. */
double efi_sizing_cost(const efi_sizing *sizing, const double *volume_t);

/* ---- what both forms of the program share ---- */

/* Adds the columns and rows that choose volumes, at their cost; `column` receives those of the volumes, shape
 * [bins]. */
ef_status efi_sizing_add_volumes(efi_lp *lp, const efi_sizing *sizing, int *column);

/*
 * The plain form: one linear program for all traces, on the event-aligned grid. Within an interval e of a
 * trace in which no stop begins or ends rates may be taken as constant: 0 <= x[i,e] <= capacity[i,e] hours[e]
 * tonnes through segment i level[j,e] = level[j,e-1] + x[j,e] - x[j+1,e],  0 <= level[j,e] <= S[j],
 * level[j,-1] = share[j] S[j] short[i] = set tonnes - sum over e of x[feed,e] L = mean of short[i], or  L = a
 * + (1 / tail) mean of z[i],  z[i] >= short[i] - a, z[i] >= 0 Builds it into a new lp, to be freed by the
 * caller; `column` receives the volumes. EF_OK, EF_MEMORY, EF_USAGE.
 */
ef_status efi_sizing_plain(const efi_sizing *sizing, const efi_sizing_aim *aim, efi_lp **lp, int *column);

#endif
