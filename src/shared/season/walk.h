/* SPDX-License-Identifier: GPL-3.0-or-later
 * A walk through plans: small changes, each worked out from the first place it touches until the line stands
 * where it stood before. */
#ifndef EFI_SEASON_WALK_H
#define EFI_SEASON_WALK_H

#include "base/random.h"
#include "shared/season/keep.h"
#include "shared/season/play.h"

#include <limits.h>

enum {
    EFI_SEASON_CHILLS = 1024, /* table of the logarithms of chance */
    EFI_SEASON_COOLINGS = 64, /* of a round */
    EFI_SEASON_NOWHERE = INT_MAX
};

/* What lots cost together. */
typedef struct efi_season_sum {
    int64_t value;
    int64_t sure; /* what of it does not depend on times */
    int64_t over; /* what of it is overtime */
} efi_season_sum;

/* The lots of one line, in order, and where the line stands after each. */
typedef struct efi_season_row {
    int *lot;                /* shape [count], room for all lots */
    efi_season_state *state; /* shape [count]; their costs are those of each lot alone */
    efi_season_sum *sum;     /* shape [count]: of all lots up to each */
    efi_season_depth *depth; /* shape [count]; NULL on a line without stations */
    int count;
    int fixed;     /* the first so many must stay */
    int64_t value; /* of the line, its last changeover included */
    int kept;      /* lots that are where an earlier plan had them */
} efi_season_row;

/* A change of one line: its places from .. until - 1 are replaced by other lots. */
typedef struct efi_season_trial {
    int line;
    int from, until;
    int *lot; /* shape [count], room for all lots */
    int count;
} efi_season_trial;

/* A line while a change is worked out. Places are those of the changed line. */
typedef struct efi_season_lane {
    const efi_season_trial *trial; /* NULL: its lots stay where they are */
    int from, until;               /* places of the lots of the trial */
    int shift;                     /* of those behind, against the row */
    int count;
    int at;          /* the first place that is to be played; NOWHERE: none */
    uint64_t *queue; /* a bit for each place to be played after that */
    int queued;
    bool early;              /* some lots may come earlier than they did */
    int64_t slack;           /* no more can be saved by what is still to be played */
    int free_from, free_to;  /* of the row's places between them none holds (efi_season_state), the last does,
                                or is the end */
    efi_season_state *state; /* shape [count]: of places that have been played, by `played` */
    efi_season_depth *depth; /* the same */
    uint64_t *played;        /* shape [lots]: number of the change in which it was */
    int *list;               /* shape [listed]: those places */
    int listed;
} efi_season_lane;

/* A walk through one part of the plan after the other, from hot to cold in each; what makes nothing better is
 * undone. So a search of a long season is a search of short ones. */
typedef struct efi_season_parts {
    int of_lot;                        /* changes for each lot; 0: the plan is not taken by parts */
    int before[EFI_SEASON_MOST_LINES]; /* parts are of the lots between those, */
    int after[EFI_SEASON_MOST_LINES];  /* and those */
    int lots;                          /* of a part, about */
    int at;                            /* lots before the middle of the next, of the line with most */
    int changes, left;                 /* of this part */
    double heat;                       /* of each at first */
} efi_season_parts;

typedef struct efi_season_walk {
    const efi_season_model *model;
    efi_random random;
    efi_season_row row[EFI_SEASON_MOST_LINES];
    efi_season_trial trial[EFI_SEASON_MOST_LINES]; /* at most one of a line */
    int trials;
    efi_season_lane lane[EFI_SEASON_MOST_LINES];
    bool plays_all;       /* each change is played from the beginning: lots that wait and fixed starts */
    efi_season_play play; /* all lots of all lines, where need be */
    int *sequence[EFI_SEASON_MOST_LINES];
    int vain;       /* lots that wait in vain */
    int64_t lines;  /* value of the lines as the trials would have them, as far as it is known */
    int64_t ahead;  /* what changeovers of places that are still to be played will add to it */
    int64_t others; /* what lanes that are not being played may save */
    efi_season_moment *moment;
    efi_season_moment *moment_before; /* of the lots that a change moves, to put them back */
    int *moved;
    int moves;
    uint64_t *seen; /* shape [lots]: number of the change that moved it last */
    uint64_t *laid; /* shape [lots]: number of the change that had it in a trial last, and where */
    int *laid_line, *laid_place;
    efi_season_keep raw, finished;
    int *line_of, *place_of;           /* shape [lots] */
    int *least;                        /* the same, scratch */
    int kept[EFI_SEASON_MOST_LINES];   /* of the rows as the trials would have them */
    int before[EFI_SEASON_MOST_LINES]; /* so many lots at the beginning of each line stay where they are, */
    int after[EFI_SEASON_MOST_LINES];  /* so many at its end */
    efi_season_parts parts;
    bool is_long;                      /* so many lots that changes are drawn near each other */
    int stays;                         /* so many changes more are drawn near .. */
    int around[EFI_SEASON_MOST_LINES]; /* .. this place of each line */
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

/* How the lines have been played. */
typedef enum efi_season_played {
    EFI_SEASON_PLAYED_WELL,
    EFI_SEASON_PLAYED_DEAR, /* past the limit */
    EFI_SEASON_PLAYED_VAIN  /* lots wait for each other */
} efi_season_played;

/* Lays out the trials in the lanes, and plays what they change (lanes.c): `lines` becomes the value of all
 * lines, `moment` that of all lots. */
efi_season_played efi_season_lanes_play(efi_season_walk *walk, int64_t limit);

/* Notes the moment of a lot before the change moves it. */
static inline void efi_season_note_moved(efi_season_walk *walk, int lot)
{
    if (walk->seen[lot] == walk->changes)
        return;
    walk->seen[lot] = walk->changes;
    walk->moved[walk->moves] = lot;
    walk->moment_before[walk->moves++] = walk->moment[lot];
}

/* Draws a change into the trials; false when the draw is none. */
bool efi_season_walk_draw(efi_season_walk *walk);

/* Takes up the best plan so far. */
void efi_season_walk_return(efi_season_walk *walk);

/* The place on a line at which it is as late as `second`. */
int efi_season_place_at(const efi_season_walk *walk, int line, int64_t second);

/* Goes on to the next part of the plan (parts.c). */
void efi_season_next_part(efi_season_walk *walk);

/* Tries so many changes (at least EFI_SEASON_COOLINGS), ever cooler; keeps the best plan in `best`. */
void efi_season_walk_go(efi_season_walk *walk, int changes);

#endif
