/* SPDX-License-Identifier: GPL-3.0-or-later
 * Walks: independent local searches that meet between rounds, of several kinds. */
#ifndef EFI_SEQUENCE_WALK_H
#define EFI_SEQUENCE_WALK_H

#include "base/random.h"
#include "shared/sequence/model.h"

/* The best order a walk has seen. `broken` 0 means that it keeps all limits; less broken is better, then
 * cheaper. */
typedef struct efi_walk_best {
    int *order; /* [n] */
    int run;    /* how many of them are run */
    int64_t price;
    int64_t broken;
} efi_walk_best;

static inline bool efi_walk_better(const efi_walk_best *a, const efi_walk_best *b)
{
    return a->broken < b->broken || (a->broken == b->broken && a->price < b->price);
}

/* An order that keeps all pairs, greedy by changeover price with random ties and slips. `order` has room for
 * n. */
void efi_walk_start(const efi_model *model, efi_random *random, int *order);

/*
 * A kind of walk. `walk` below is what `make` returned. A round is one call of `run`; `adopt` and `restart`
 * come between rounds and may be NULL where the kind has no use for them.
 */
typedef struct efi_walk_kind {
    /* Walk number `index` of a search; NULL without memory. `model` is borrowed. */
    void *(*make)(const efi_model *model, uint64_t seed, int index);
    void (*free)(void *walk); /* NULL is allowed */
    /* About `steps` moves. */
    void (*run)(void *walk, uint64_t steps);
    /* Goes on from `order`, which keeps all pairs. */
    void (*adopt)(void *walk, const int *order);
    /* Goes on from a new greedy order. */
    void (*restart)(void *walk);
    const efi_walk_best *(*best)(const void *walk);
    uint64_t (*steps)(const void *walk);
} efi_walk_kind;

extern const efi_walk_kind efi_tour_walk;   /* prices of changeovers alone */
extern const efi_walk_kind efi_pairs_walk;  /* the same with lots that run before others */
extern const efi_walk_kind efi_timed_walk;  /* prices that depend on times, every lot is run */
extern const efi_walk_kind efi_choice_walk; /* lots may be refused */

#endif
