/* SPDX-License-Identifier: GPL-3.0-or-later
 * The sequencing engine: in which order one line runs its lots, with a proven bound beside the value.
 *
 * Times and prices are whole numbers (`int64_t`): the caller chooses the tick, so that every machine gets the
 * same order and the bound is exact. With c(j) the end of lot j, i(j) the lot before it and `lots` standing
 * for "nothing" before the first and after the last lot, an order costs
 *
 *     setup_price * sum of setup_cost(i(j), j)  (the one after the last lot included)
 *   + sum of weight(j) * max(0, c(j) - due(j))
 *   + makespan_price * (end of the last lot + setup after it)
 *   + sum of refusal(j) over the lots that are not run.
 *
 * A lot starts at max(c(i) + setup, release) when cleaning may begin before the lot is there, else at
 * max(c(i), release) + setup; c(j) = start + work(j). Latest starts and ends, forbidden changeovers and
 * "this lot before that one" always hold. */
#ifndef EFI_SEQUENCE_H
#define EFI_SEQUENCE_H

#include "base/base.h"

#include <stdbool.h>
#include <stdint.h>

/* In a setup matrix: this changeover must not happen. */
#define EFI_SEQUENCE_FORBIDDEN INT64_C(-1)

/* No limit, for `due`, `start_latest` and `end_latest`. */
#define EFI_SEQUENCE_NONE INT64_MAX

/* The largest time, price or weight that is accepted; sums are checked as well. */
#define EFI_SEQUENCE_MOST (INT64_C(1) << 40)

enum {
    EFI_SEQUENCE_MOST_LOTS = 1000
};

/* What to order. All arrays are borrowed. An array that may be NULL says what NULL means. */
typedef struct efi_sequence_problem {
    int lots;                    /* n, 1 .. EFI_SEQUENCE_MOST_LOTS */
    bool cleaned_before_release; /* the clean-down may begin before the lot is there */
    int64_t setup_price;         /* >= 0, for one unit of setup_cost */
    int64_t makespan_price;      /* >= 0, for one tick */
    const int64_t *work;         /* [n] ticks >= 0; NULL: 0 */
    const int64_t *weight;       /* [n] >= 0, for one tick late; NULL: 0 */
    const int64_t *release;      /* [n] ticks >= 0; NULL: 0 */
    const int64_t *due;          /* [n] ticks or NONE; NULL: none */
    const int64_t *start_latest; /* [n] ticks or NONE; NULL: none */
    const int64_t *end_latest;   /* [n] ticks or NONE; NULL: none */
    const int64_t *refusal;      /* [n] >= 0, price of not running the lot; NULL: every lot is run */
    const int64_t *setup_time;   /* [n+1, n+1] from, to; ticks >= 0 or FORBIDDEN; the diagonal is not read */
    const int64_t *setup_cost;   /* [n+1, n+1] >= 0; NULL: setup_time */
    int pairs;                   /* number of `before` pairs */
    const int (*before)[2]; /* [pairs] the first lot of a pair runs before the second, another lot; a cycle:
                             * no order. Binds lots that are both run */
} efi_sequence_problem;

/* How far a search has come; given to `go_on` between rounds. */
typedef struct efi_sequence_progress {
    bool found;     /* an order that keeps all limits is known */
    int64_t value;  /* its price */
    int64_t bound;  /* no order costs less */
    int rounds;     /* rounds done */
    uint64_t steps; /* moves, states and branches looked at */
} efi_sequence_progress;

/* How to search. Results depend on `seed`, `walks`, `states`, `prove` and the number of rounds alone. */
typedef struct efi_sequence_settings {
    uint64_t seed;
    int walks;   /* independent searches that meet between rounds, >= 1 */
    int threads; /* >= 1; no influence on the result */
    int rounds;  /* most rounds of search, >= 0 */
    int states;  /* most states the exact search keeps, >= 1000 */
    bool prove;  /* spend part of the work on the bound */
    /* Called between rounds by the calling thread; false ends the search with the best so far. NULL: go on.
     */
    bool (*go_on)(void *context, const efi_sequence_progress *progress);
    void *context;
} efi_sequence_settings;

/* The order found. Free with efi_sequence_result_free. */
typedef struct efi_sequence_result {
    bool found;     /* `order` keeps all limits */
    bool proven;    /* value == bound, or no order exists when !found */
    int *order;     /* [lots] lots as they run, then those refused */
    int run;        /* how many are run */
    int64_t value;  /* price of `order` when found */
    int64_t bound;  /* no order costs less */
    int rounds;     /* rounds of search done: asking for as many again gives the same order */
    uint64_t steps; /* moves, states and branches looked at */
} efi_sequence_result;

/* Seed 1, 4 walks, 1 thread, 1000 rounds, 1,000,000 states, prove. */
efi_sequence_settings efi_sequence_defaults(void);

/*
 * Searches until the value is proven, `settings->rounds` are done or `go_on` says no. Always EF_OK with the
 * best order so far
 * (`found` may be false: none kept all limits, `order` is then the nearest one) and a bound, or
 * EF_USAGE (a value out of its range), EF_MEMORY; then `result` is left as it was. Any thread.
 */
ef_status efi_sequence_solve(const efi_sequence_problem *problem, const efi_sequence_settings *settings,
                             efi_sequence_result *result);

/* Frees what a result owns; a zeroed result is allowed. */
void efi_sequence_result_free(efi_sequence_result *result);

#endif
