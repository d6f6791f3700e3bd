/* SPDX-License-Identifier: GPL-3.0-or-later
 * Shares that an answer chose: what other shares would do, and how limits and aim change with them. */
#ifndef EFI_VERIFY_SHARES_H
#define EFI_VERIFY_SHARES_H

#include "shared/verify/limits.h"

/* A branch whose share was chosen. */
typedef struct efi_branch {
    int discharge; /* in the reference */
    int split;     /* number among the chosen splits */
    double share;  /* claimed */
    double least;
    double most;
} efi_branch;

/* The branches of all chosen splits; those of one split stand together. */
typedef struct efi_branches {
    efi_branch *items; /* shape [count] */
    int count;
    int *first;            /* shape [splits + 1] */
    bool *first_with_room; /* shape [splits] */
    int splits;
} efi_branches;

/* Lists them from the claim. EF_OK or EF_MEMORY. */
ef_status efi_branches_list(efi_branches *branches, const efi_verify *verify);

/* The limits when `step` of one branch's share goes to another of the same split. */
typedef struct efi_trial {
    efi_arena *arena;
    efi_verify verify;
    efi_limits limits;
    bool flows; /* false: with these shares some material has no way out */
} efi_trial;

/* Builds it, with `purity_slack` of least purities left out. `from` and `to` may be the same for no change.
 * EF_OK, EF_MEMORY; either way it is freed with efi_trial_free. */
ef_status efi_trial_build(efi_trial *trial, const efi_verify *verify, const efi_branches *branches, int from,
                          int to, double step, double purity_slack);
void efi_trial_free(efi_trial *trial);

/*
 * How limits, aim and product change with the shares, at the claimed rates and to first order: column n is
 * for a share that goes from the largest branch of its split, `from[n]`, to another, `to[n]`. By differences
 * of second order, central where both shares have room and one-sided at 0.
 */
typedef struct efi_slopes {
    int count;
    int *from;           /* shape [count]: branch */
    int *to;             /* shape [count]: branch */
    double *used;        /* shape [item][count]: of limit, as efi_limit.used */
    double *aim;         /* shape [count] */
    double *product_tph; /* shape [count] */
} efi_slopes;

/* Computes them. EF_OK, EF_MEMORY. */
ef_status efi_slopes_find(efi_slopes *slopes, const efi_limits *l, const efi_branches *branches);

/* Checks that no small change of the shares does better, that none does better than the bound, and that
 * splits by `first with room` are in order. Without an answer: that no shares tried meet the demands. EF_OK
 * or EF_MEMORY. */
ef_status efi_limits_check_shares(const efi_limits *l);

#endif
