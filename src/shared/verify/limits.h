/* SPDX-License-Identifier: GPL-3.0-or-later
 * What holds the intake rates of a crop, as rows of a small program; shared by the files of the verifier of a
 * balance.
 *
 * Feeds follow from the intake rates R, so what is asked is a program in as many variables as there are
 * intakes:
 *
 *   maximise sum_i aim[i] R[i]   subject to   sum_i used[r,i] R[i] <= 1   for every capacity and the power
 * limit sum_i used[r,i] R[i] >= 1   for every least rate sum_i used[r,i] R[i] >= 0   for every least purity,
 * R >= 0
 *
 * with used[r,i] the share of the capacity, of the power above idle or of the least rate that 1 t/h at intake
 * i brings; of a purity the wanted material above it, as a share of what the outlet gets from the intake that
 * gives it most. With one intake and the rate as aim this is R = min 1 / used. Columns are scaled so that 1
 * is the rate at which that intake alone fills some station. */
#ifndef EFI_VERIFY_LIMITS_H
#define EFI_VERIFY_LIMITS_H

#include "shared/verify/balance.h"
#include "shared/verify/small_lp.h"

/* By this much, as a share of it, a least rate may be missed before that counts. */
#define EFI_VERIFY_DEMAND_SHARE 1e-6
/* A shortfall of a demand, as a share of it, that is more than rounding. */
#define EFI_VERIFY_SHORTFALL_SHARE 5e-8
/* A limit is reached, and a rate is 0, within one of these shares: the first is rounding, the second the
 * width within which stations that limit count as equal. */
#define EFI_VERIFY_TIGHT 1e-9
#define EFI_VERIFY_LOOSE 1e-6

typedef enum efi_limit_kind {
    EFI_LIMIT_CAPACITY,
    EFI_LIMIT_POWER,
    EFI_LIMIT_LEAST_RATE,
    EFI_LIMIT_LEAST_PURITY
} efi_limit_kind;

typedef struct efi_limit {
    efi_limit_kind kind;
    int station;  /* of the scenario; -1 for power */
    double value; /* capacity, power above idle in kW, least rate, least purity */
    double *used; /* shape [intake] */
} efi_limit;

typedef struct efi_limits {
    const efi_verify *verify;
    efi_limit *items; /* shape [count] */
    int count;
    int intakes;
    double *scale_tph;   /* shape [intake] */
    double *aim;         /* shape [intake]: of 1 t/h, t/h or money per h */
    double *product_tph; /* shape [intake]: product of 1 t/h */
    int *demands;        /* shape [demand_count]: the items that are least rates */
    int demand_count;
} efi_limits;

/* Is it an upper limit: a capacity or power? */
bool efi_limit_is_upper(efi_limit_kind kind);

/* Builds them. EF_OK or EF_MEMORY. */
ef_status efi_limits_build(efi_limits *l, const efi_verify *verify);

/* Which limits a program has. */
typedef struct efi_limits_form {
    double demand;      /* share of the least rates that is asked for, 0 for none */
    bool purities;      /* least purities are asked for */
    const bool *only;   /* shape [station of the scenario]: only these capacities; NULL for all */
    const double *more; /* shape [item]: capacity or power on top; NULL for none */
} efi_limits_form;

/* Writes the limits as the rows 0 .. count - 1; those that are off become rows of zeros. */
void efi_limits_write(const efi_limits *l, const efi_small_lp *lp, const efi_limits_form *form);

/* Writes `sign` times the use of a limit into a row, for the rates in columns from `first` on. */
void efi_limits_use(const efi_limits *l, const efi_small_lp *lp, int row, int r, double sign, int first);

/* The use that the claimed rates make of a limit. */
double efi_limits_used(const efi_limits *l, int r);

/* The greatest sum of each[i] R[i] (shape [intake]); *best is INFINITY without end, -INFINITY when nothing is
 * allowed. `x` (shape [intake], NULL allowed) receives the rates, t/h. EF_OK or EF_MEMORY. */
ef_status efi_limits_best(const efi_limits *l, const efi_limits_form *form, const double *each, double *best,
                          double *x);

/* What is claimed about worth, about conflicts, about the ladder. EF_OK or EF_MEMORY. */
ef_status efi_limits_check_worths(const efi_limits *l);
ef_status efi_limits_check_conflicts(const efi_limits *l);
ef_status efi_limits_check_ladder(const efi_limits *l);

/* Row of a program. */
static inline double *efi_small_lp_row(const efi_small_lp *lp, int row)
{
    return lp->cell + (size_t)row * (size_t)lp->columns;
}

#endif
