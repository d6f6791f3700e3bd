/* SPDX-License-Identifier: GPL-3.0-or-later
 * Walks: independent local searches that meet between rounds. One kind for prices of pairs alone (tour.c),
 * one for prices that depend on times (timed.c). */
#ifndef EFI_SEQUENCE_WALK_H
#define EFI_SEQUENCE_WALK_H

#include "base/random.h"
#include "shared/sequence/model.h"

/* The best order a walk has seen. `broken` 0 means that it keeps all limits; less broken is better, then
 * cheaper. */
typedef struct efi_walk_best {
    int *order; /* [n] */
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

typedef struct efi_tour_walk efi_tour_walk;

/* A walk for a model without times; NULL without memory. Free with efi_tour_walk_free. `model` is borrowed.
 */
efi_tour_walk *efi_tour_walk_new(const efi_model *model, uint64_t seed, int index);
void efi_tour_walk_free(efi_tour_walk *walk);

/* One round of about `steps` moves looked at. */
void efi_tour_walk_run(efi_tour_walk *walk, uint64_t steps);

/* Goes on from `order`, which keeps all pairs. */
void efi_tour_walk_adopt(efi_tour_walk *walk, const int *order);

/* Goes on from a new greedy order. */
void efi_tour_walk_restart(efi_tour_walk *walk);

const efi_walk_best *efi_tour_walk_best(const efi_tour_walk *walk);
uint64_t efi_tour_walk_steps(const efi_tour_walk *walk);

typedef struct efi_timed_walk efi_timed_walk;

/* The same for prices that depend on times; every lot is run (no refusal). */
efi_timed_walk *efi_timed_walk_new(const efi_model *model, uint64_t seed, int index);
void efi_timed_walk_free(efi_timed_walk *walk);
void efi_timed_walk_run(efi_timed_walk *walk, uint64_t steps);
void efi_timed_walk_adopt(efi_timed_walk *walk, const int *order);
const efi_walk_best *efi_timed_walk_best(const efi_timed_walk *walk);
uint64_t efi_timed_walk_steps(const efi_timed_walk *walk);

typedef struct efi_choice_walk efi_choice_walk;

/* The same where lots may be refused; `run` takes how many lots of the best order are run. */
efi_choice_walk *efi_choice_walk_new(const efi_model *model, uint64_t seed, int index);
void efi_choice_walk_free(efi_choice_walk *walk);
void efi_choice_walk_run(efi_choice_walk *walk, uint64_t steps);
const efi_walk_best *efi_choice_walk_best(const efi_choice_walk *walk, int *run);
uint64_t efi_choice_walk_steps(const efi_choice_walk *walk);

#endif
