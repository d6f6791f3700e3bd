/* SPDX-License-Identifier: GPL-3.0-or-later
 * The steady rates of one crop: the linear program of its line, and the choice of shares at free splits. */
#ifndef EFI_STEADY_H
#define EFI_STEADY_H

#include "shared/line/line.h"
#include "shared/lp/lp.h"

#include <evenfeed/balance.h>

/*
 * The linear program of one crop.
 *
 *   sets       s stations of the line, m materials of the receipt, i intakes, k spouts, b branches of splits
 * whose shares are to be chosen (they are spouts too), o outlets variables  R[i] >= 0      intake rate, t/h
 *              x[s,m] >= 0    feed of a station, t/h
 *              d[b]           change of a branch's share against its present share a[b] (0 when solved
 * exactly) f[b,m] >= 0    what a branch carries (only in the relaxation) e[o] >= 0      shortfall of a least
 * rate, t/h (0 unless the program is elastic; then at a high price) maximise   rate:  sum_i R[i] value: sum_o
 * price[o] sum_m x[o,m] - paid sum_i R[i] - energy price sum_s kWh/t[s] sum_m x[s,m] flow[s,m]      x[s,m] -
 * sum over k into s of share[k,m] x[from(k),m] - sum over b into s of d[b] X[from(b),m]
 *                  - [s = i] receipt[m] R[i] = 0
 *   capacity[s]    sum_m x[s,m] <= C[s]  (t/h),  or  sum_m x[s,m] / density[m] <= V[s]  (m3/h)
 *   least[o]       sum_m x[o,m] + e[o] >= L[o]
 *   purity[o]      sum over wanted m of x[o,m] >= p[o] sum_m x[o,m]
 *   power          sum_s kWh/t[s] sum_m x[s,m] <= limit - idle
 *   shares[split]  sum over its b of d[b] = 0
 *
 * X are the feeds at the shares a. With d = 0 the program is exact for those shares; with d free it is its
 * first-order model around them, which the successive linear programs of choose.c step along. In the
 * relaxation a branch may pick materials apart: flow rows take f[b,m] instead of a[b] x[s,m], with sum_b
 * f[b,m] = x[s,m], and the least and most shares hold for totals. Its optimum is never below the true one.
 */
typedef enum efi_steady_form {
    EFI_STEADY_EXACT,
    EFI_STEADY_RELAXED
} efi_steady_form;

typedef struct efi_steady_model {
    efi_line *line;
    efi_steady_form form;
    ef_balance_aim aim;
    efi_lp *lp;
    int *rate;     /* shape [intake]: column */
    int *feed;     /* shape [station][material]: column, -1 for a material that the receipt does not hold */
    int *flow_row; /* the same shape */
    int *change;   /* shape [spout]: column of d, -1 for a spout that is no free branch */
    int *capacity_row; /* shape [station], -1 without capacity */
    int *least_row;    /* shape [station], -1 without least rate */
    int *short_column; /* shape [station]: column of e, -1 without least rate */
    int *purity_row;   /* shape [station], -1 without least purity */
    int power_row;     /* -1 without limit */
    double *rates;     /* shape [intake]: intake rates at the present shares */
    double *feeds;     /* shape [station][material]: feeds at the present shares, X */
} efi_steady_model;

/* Builds it; its arrays in `arena`. The lp is freed with efi_lp_free, also after a failure. */
ef_status efi_steady_build(efi_steady_model *model, efi_arena *arena, efi_line *line, efi_steady_form form,
                           ef_balance_aim aim);

/* Maximises the model's aim (outlet < 0) or what one outlet of the line gets. */
ef_status efi_steady_aim(efi_steady_model *model, int outlet);

/* Money per hour for the power that the stations draw before a tonne passes: part of the value, but not of
 * the aim, since no rate changes it. */
double efi_steady_idle_cost(const efi_line *line);

/* A least purity counts as met when no more than this share is missing. */
#define EFI_STEADY_PURITY_SLACK 1e-8
/* Where shares are chosen, a least rate counts as met when no more than this share of it is missing. */
#define EFI_STEADY_RATE_SLACK 1e-8

/* Puts the line's present shares into the flow rows, changes fixed at 0. */
ef_status efi_steady_reshare(efi_steady_model *model);

/*
 * Solves the program as it stands; afresh when the basis of earlier shares leads nowhere, and when the answer
 * is off by more than rounding once more from the basis that was found: the presolver may leave errors near
 * the tolerance of the lp floor, which then hide stations that limit. As efi_lp_solve.
 */
ef_status efi_steady_optimise(efi_steady_model *model, efi_lp_result *result);

/*
 * Solves at the present shares. EF_OK with the outcome in `outcome` and, when it is optimal, the aim in
 * `value`, and the exact rates and feeds in the model; EF_MEMORY, EF_INTERNAL.
 */
ef_status efi_steady_solve(efi_steady_model *model, efi_lp_outcome *outcome, double *value);

/* Lets the changes of the shares go up to `trust` either way, within least and most, with X as they are. */
ef_status efi_steady_loosen(efi_steady_model *model, double trust);

/* Lets least rates be missed, each tonne at a price above all that it could bring; or not. */
ef_status efi_steady_elastic(efi_steady_model *model, bool elastic);

/* How a search over the shares of free splits ended. */
typedef struct efi_steady_search {
    int starts;
    int steps;
} efi_steady_search;

/*
 * Chooses the shares of the free splits for the aim of the model: successive linear programs from several
 * starts, then the order of `first with room`. Leaves line and model at the best shares, solved. Without free
 * splits it only solves. EF_OK with the outcome, EF_MEMORY, EF_INTERNAL.
 */
ef_status efi_steady_choose(efi_steady_model *model, efi_arena *arena, efi_lp_outcome *outcome, double *value,
                            efi_steady_search *search);

/* A capacity or the power limit binds when what is left is at most this share of it. */
#define EFI_STEADY_LIMIT_SHARE 1e-7

#endif
