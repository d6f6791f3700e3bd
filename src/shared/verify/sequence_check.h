/* SPDX-License-Identifier: GPL-3.0-or-later
 * An order of lots evaluated from the problem alone, with none of the engine's code. */
#ifndef EFI_SEQUENCE_CHECK_H
#define EFI_SEQUENCE_CHECK_H

#include "shared/sequence/sequence.h"

/* What an order comes to. */
typedef struct efi_sequence_account {
    bool is_order;     /* every lot once, none unknown; else nothing below is filled */
    int late_starts;   /* lots that start after their latest start or end after their latest end */
    int forbidden;     /* changeovers that must not happen */
    int pairs_broken;  /* pairs in the wrong order */
    int64_t setup;     /* sum of setup costs, before their price */
    int64_t tardiness; /* weighted */
    int64_t makespan;  /* end of the last lot and what follows it */
    int64_t refusal;   /* price of lots not run */
    int64_t price;     /* all of it */
} efi_sequence_account;

/*
 * Evaluates `order` [lots], of which the first `run` are run (lots when nothing may be refused). `start` and
 * `end` [lots] take the times of each run lot by its place in the order; NULL allowed. Any thread.
 */
efi_sequence_account efi_sequence_check(const efi_sequence_problem *problem, const int *order, int run,
                                        int64_t *start, int64_t *end);

/* Does the order keep all limits? */
static inline bool efi_sequence_keeps(const efi_sequence_account *account)
{
    return account->is_order && account->late_starts == 0 && account->forbidden == 0 &&
           account->pairs_broken == 0;
}

#endif
