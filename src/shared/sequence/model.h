/* SPDX-License-Identifier: GPL-3.0-or-later
 * The engine's own form of a sequencing problem: checked, defaults filled in, consequences drawn. */
#ifndef EFI_SEQUENCE_MODEL_H
#define EFI_SEQUENCE_MODEL_H

#include "base/memory.h"
#include "shared/sequence/sequence.h"

/* Larger than any sum of prices or any time of a checked problem, small enough to be added a few times. */
#define EFI_FAR (INT64_C(1) << 61)

/*
 * n lots; index n is "nothing": before the first lot and after the last. All arrays live in `arena`.
 * A forbidden changeover has time 0 and price `forbidden_price`, more than any order that keeps all limits
 * can cost.
 */
typedef struct efi_model {
    efi_arena *arena;
    int n;
    int words;        /* 64-bit words in a set of lots */
    bool early;       /* cleaned_before_release */
    bool timed;       /* the price or a limit depends on times */
    bool has_limits;  /* some lot has a latest start */
    bool has_pairs;   /* some lot must run before another */
    bool impossible;  /* limits contradict each other: no order exists */
    int64_t constant; /* part of every price: makespan_price * work, when the pairs carry the rest */
    int64_t makespan_price;
    int64_t forbidden_price;
    int64_t horizon;   /* no order without needless waiting ends later */
    int64_t *work;     /* [n+1]; work[n] = 0 */
    int64_t *weight;   /* [n+1] */
    int64_t *release;  /* [n+1] */
    int64_t *due;      /* [n+1]; EFI_FAR when none */
    int64_t *latest;   /* [n+1] latest start of work; EFI_FAR when none */
    int64_t *earliest; /* [n+1] no order starts work earlier */
    int64_t *refusal;  /* [n] or NULL */
    int64_t *time;     /* [n+1, n+1] ticks of changeover */
    int64_t *price;    /* [n+1, n+1] setup_price * cost, or forbidden_price */
    int64_t *least;    /* [n+1] least changeover ticks into a lot */
    int64_t *way; /* [n, n] least ticks from start to start, over any lots between; NULL unless has_limits */
    /* When neither times nor refusals count, else NULL: duals of the assignment problem of `price`
     * (assignment.h) and its value, so that price[i, j] - row_dual[i] - column_dual[j] >= 0 off the diagonal.
     */
    int64_t *row_dual;    /* [n+1] */
    int64_t *column_dual; /* [n+1] */
    int64_t assignment;
    uint64_t *before; /* [n, words] lots that must run before this one, closed under "before" */
    uint64_t *after;  /* [n, words] lots that must run after this one */
} efi_model;

/*
 * Checks `problem` and fills `model`. EF_OK, EF_USAGE (out of range) or EF_MEMORY; then nothing is held.
 * Free with efi_model_free.
 */
ef_status efi_model_build(const efi_sequence_problem *problem, efi_model *model);
void efi_model_free(efi_model *model);

/* Price of `order` (all n lots, the first `run` of them run) and how far it breaks limits (0: not at all). */
int64_t efi_model_price(const efi_model *model, const int *order, int run, int64_t *broken);

/* Start of work on `to` when `from` (n: nothing) ends at `end`. */
static inline int64_t efi_model_start(const efi_model *model, int from, int64_t end, int to)
{
    const int64_t setup = model->time[(size_t)from * (size_t)(model->n + 1) + (size_t)to];
    const int64_t release = model->release[to];
    if (model->early)
        return end + setup > release ? end + setup : release;
    return (end > release ? end : release) + setup;
}

static inline bool efi_set_has(const uint64_t *set, int lot)
{
    return (set[lot >> 6] >> (lot & 63)) & 1u;
}

static inline void efi_set_add(uint64_t *set, int lot)
{
    set[lot >> 6] |= UINT64_C(1) << (lot & 63);
}

#endif
