/* SPDX-License-Identifier: GPL-3.0-or-later
 * A walk through plans: small changes, each worked out from the first place it touches. */
#ifndef EFI_SEASON_WALK_H
#define EFI_SEASON_WALK_H

#include "base/random.h"
#include "shared/season/model.h"

/* A forbidden changeover weighs more than any price. */
#define EFI_SEASON_FORBIDDEN_WEIGHT (INT64_C(1) << 52)

/* The lots of one line, in order, and where the line stands after each. */
typedef struct efi_season_row {
    int *lot;                /* shape [count], room for all lots */
    efi_season_state *state; /* shape [count] */
    int count;
    int fixed;     /* the first so many must stay */
    int64_t value; /* price and forbidden changeovers of the line */
} efi_season_row;

typedef struct efi_season_walk {
    const efi_season_model *model;
    efi_random random;
    efi_season_row row[EFI_SEASON_MOST_LINES];
    efi_season_row trial[2]; /* what a change makes of one or two lines */
    efi_season_moment *moment;
    efi_season_moment *moment_before; /* of the lots that a change moves, to put them back */
    int *moved;
    int *by_end;
    int *line_of, *place_of; /* shape [lots] */
    int64_t value;
    int64_t *history; /* of late acceptance: values so many steps ago */
    int histories;
    uint64_t steps;
    int64_t best_value;
    int *best; /* lots line by line */
    int best_first[EFI_SEASON_MOST_LINES + 1];
} efi_season_walk;

/* Prepares a walk (memory from the model's arena), its plan not set yet. `histories` >= 1. EF_OK, EF_MEMORY.
 */
ef_status efi_season_walk_build(efi_season_walk *walk, efi_season_model *model, int histories);

/* Takes over a plan that is an order of all lots; the walk goes on from there. */
void efi_season_walk_set(efi_season_walk *walk, const int *lot, const int *first);

/* A first plan: the lot that suits the line that is free first, one after the other. */
void efi_season_walk_first(efi_season_walk *walk);

/* Tries `steps` changes; keeps the best plan in `best`. With `shake` the first so many are taken whatever
 * they cost. */
void efi_season_walk_go(efi_season_walk *walk, int steps, int shake);

#endif
