/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the balance share: the linear program of one crop. */
#ifndef EFI_BALANCE_H
#define EFI_BALANCE_H

#include "shared/line/line.h"
#include "shared/lp/lp.h"

#include <evenfeed/balance.h>

/*
 * The linear program of one crop.
 *
 *   sets       s stations of the line, m materials of the receipt, i intakes, k spouts, o outlets with a
 * least rate variables  R[i] >= 0      intake rate, t/h x[s,m] >= 0    feed of a station, t/h maximise sum_i
 * R[i] flow[s,m]      x[s,m] - sum over k into s of share[k,m] x[from(k),m] - [s = i] receipt[m] R[i] = 0
 *   capacity[s]    sum_m x[s,m] <= C[s]  (t/h),  or  sum_m x[s,m] / density[m] <= V[s]  (m3/h)
 *   least[o]       sum_m x[o,m] >= L[o]
 */
typedef struct efi_balance_lp {
    const efi_line *line;
    efi_lp *lp;
    int *rate; /* shape [intake]: column */
    int *feed; /* shape [station][material]: column, -1 for a material that the receipt does not hold */
    int *capacity_row; /* shape [station], -1 without capacity */
    int *least_row;    /* shape [station], -1 without least rate */
} efi_balance_lp;

/* Builds it; its arrays in `arena`. The lp is freed with efi_lp_free, also after a failure. */
ef_status efi_balance_lp_build(efi_balance_lp *model, efi_arena *arena, const efi_line *line);

/*
 * Solves it, and when the answer is off by more than rounding once more from the basis that was found: the
 * presolver may leave errors near the tolerance of the lp floor, which then hide stations that limit. As
 * efi_lp_solve.
 */
ef_status efi_balance_lp_solve(efi_balance_lp *model, efi_lp_result *result);

/* Maximises one thing: the intake (outlet < 0) or what one outlet of the line gets. */
ef_status efi_balance_lp_aim(efi_balance_lp *model, int outlet);

/* Intake rates of the last solution, shape [intake]; not below 0. */
void efi_balance_lp_rates(const efi_balance_lp *model, double *rate_tph);

/* A station is at its capacity when what is left is at most this share of it. */
#define EFI_BALANCE_LIMIT_SHARE 1e-7

/*
 * Explains why the least rates cannot be met: for each that cannot, the most that its outlet can get and the
 * stations that hold it there. The model is changed and of no further use. EF_OK, EF_MEMORY, EF_INTERNAL.
 */
ef_status efi_balance_explain(efi_balance_lp *model, efi_arena *arena, ef_balance_crop *crop);

/* Fills in a crop of the answer from exact feeds, shape [station][material]; `*stations` are its stations,
 * for the worth. */
ef_status efi_balance_fill(ef_balance_crop *crop, efi_arena *arena, const efi_line *line,
                           const double *rate_tph, const double *feed_tph, double surge_rule_h,
                           ef_balance_station **stations);

/* Fills in the worth of the stations that limit; the model was solved last for the greatest intake. */
ef_status efi_balance_worth(efi_balance_lp *model, ef_balance_station *stations);

#endif
