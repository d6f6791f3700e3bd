/* SPDX-License-Identifier: GPL-3.0-or-later
 * A walk through plans: small changes, each worked out from the first place it touches until the line stands
 * where it stood before. */
#ifndef EFI_SEASON_WALK_H
#define EFI_SEASON_WALK_H

#include "base/random.h"
#include "shared/season/play.h"

enum {
    EFI_SEASON_CHILLS = 1024, /* table of the logarithms of chance */
    EFI_SEASON_COOLINGS = 64  /* of a round */
};

/* The lots of one line, in order, and where the line stands after each. */
typedef struct efi_season_row {
    int *lot;                /* shape [count], room for all lots */
    efi_season_state *state; /* shape [count] */
    efi_season_depth *depth; /* the same; NULL on a line without stations */
    int count;
    int fixed;     /* the first so many must stay */
    int64_t value; /* of the line, its last changeover included */
    int64_t sure;  /* what of it does not depend on times */
    int kept;      /* lots that are where an earlier plan had them */
} efi_season_row;

/* A change of one line: its places from .. until - 1 are replaced by other lots. */
typedef struct efi_season_trial {
    int line;
    int from, until;
    int *lot; /* shape [count], room for all lots */
    int count;
    /* what comes of it */
    efi_season_state *state; /* shape [played]: from place `from` on */
    efi_season_depth *depth; /* the same */
    int played;
    int64_t value, sure; /* of the line */
} efi_season_trial;

typedef struct efi_season_walk {
    const efi_season_model *model;
    efi_random random;
    efi_season_row row[EFI_SEASON_MOST_LINES];
    efi_season_trial trial[EFI_SEASON_MOST_LINES]; /* at most one of a line */
    int trials;
    efi_season_play play; /* with passes: the lots of all lines as the trials would have them */
    int *sequence[EFI_SEASON_MOST_LINES];
    int vain;
    efi_season_moment *moment;
    efi_season_moment *moment_before; /* of the lots that a change moves, to put them back */
    int *moved;
    int moves;
    int *by_coming, *by_end;
    int *line_of, *place_of;         /* shape [lots] */
    int *least;                      /* the same, scratch */
    int kept[EFI_SEASON_MOST_LINES]; /* of the rows as the trials would have them */
    int64_t value;
    uint64_t steps;                   /* lots placed */
    uint64_t changes;                 /* tried */
    int64_t chill[EFI_SEASON_CHILLS]; /* -ln of chance, in 2^-20 */
    double heat;                      /* temperature, in price */
    double cooling;                   /* by this factor, so many times a round */
    int64_t best_value;
    int *best; /* lots line by line */
    int best_first[EFI_SEASON_MOST_LINES + 1];
} efi_season_walk;

/* Prepares a walk (memory from the model's arena), its plan not set yet. EF_OK, EF_MEMORY. */
ef_status efi_season_walk_build(efi_season_walk *walk, efi_season_model *model);

/* Takes over a plan that is an order of all lots; the walk goes on from there. */
void efi_season_walk_set(efi_season_walk *walk, const int *lot, const int *first);

/* A first plan: the lot that suits the line that is free first, one after the other. */
void efi_season_walk_first(efi_season_walk *walk);

/* Makes the plan in the rows the walk's plan, from scratch, and the best so far. */
void efi_season_walk_begin(efi_season_walk *walk);

/* Tries the trials, taken if they lead to a plan of at most `limit`; else everything is as it was. */
bool efi_season_walk_try(efi_season_walk *walk, int64_t limit);

/* Draws a change into the trials; false when the draw is none. */
bool efi_season_walk_draw(efi_season_walk *walk);

/* Tries so many changes (at least EFI_SEASON_COOLINGS), ever cooler; keeps the best plan in `best`. */
void efi_season_walk_go(efi_season_walk *walk, int changes);

#endif
