/* SPDX-License-Identifier: GPL-3.0-or-later
 * The rates of a network at one instant: what every spout carries, given what runs and which bins are full or
 * empty. */
#ifndef EFI_RATES_H
#define EFI_RATES_H

#include "base/memory.h"
#include "shared/engine/anderson.h"
#include "shared/engine/network.h"
#include "shared/engine/recall.h"

/*
 * The mathematics.
 *
 * Every spout e carries two messages: the offer o_e, the most that would come down it if what lies behind
 * took everything, and the room r_e, the most that would be taken from it if what lies before offered
 * everything. It carries f_e = min(o_e, r_e). A station computes the messages it sends from those it
 * receives, leaving out the one that came along the same spout:
 *
 * - station with capacity C (0 when stopped), shares s_e, S = sum of the offers to it:
 *   o_e = s_e min(C, S, r_k/s_k over its other spouts k), as any discharge blocked stops the machine;
 *   R = min(C, r_k/s_k over all its spouts), divided among the streams that meet there
 * - batch machine, which cuts the messages: o_e = s_e min(D, r_k/s_k over its other spouts k),
 *   D what it would discharge now; R = C
 * - conveyor with a delay, which cuts the offers: the same with D what it brings at full speed; its speed is
 *   v = min(1, r_k/(s_k D) over all its spouts), 1 when it brings nothing; R = v C
 * - bin, which cuts the messages too unless it stands at a bound: o = sum of the offers to it when
 *   empty, else unlimited, and 0 while it waits for its restart level; R = r of its spout when full, else
 *   unlimited, and 0 for all but returns while it waits for its refill level
 * - split, T = min(C, S), first with room: o_k = T less the sum of r_j over the branches before k,
 *   at least 0; R = min(C, sum of r_k)
 * - split by capacity: T poured into the branches in proportion to the capacities of the machines next on
 *   them, a branch with no more room leaving its part to the others; those whose machine stands still after
 *   those that run; o_k is what k would get with unlimited room; R as before
 * - streams that meet (any station with several spouts leading in) and R to divide: returns first, in
 *   proportion to the capacities they come from, each at most its offer, what one leaves going to the others;
 *   then the rest in the same way; r_e is what e would get if it offered everything
 *
 * Pouring has the property min(o_e, r_e) = what e gets when all offers are as they are, so at a fixed point
 * of the messages the flows add up at every station and no station could take more by the rules. Where the
 * stations joined without a store between form a tree, the fixed point is unique and reached after as many
 * rounds as the tree is deep, as each message depends only on what lies on its own side. For a plain series
 * line two sweeps give it. Loops: all messages start unlimited and the one with the greatest flows is
 * approached; through a loop that returns the share g < 1 the error falls as g^n (an empty bin above a deck
 * that returns middlings: X = F + g X), and rounds go on until no message changes by more than 1e-15 of
 * itself. Should rounds swing (only seen where streams part and meet again under contrary rules), steps are
 * halved; should that not help, the stations concerned are named.
 *
 * Cost: O(spouts) a sweep; spouts meeting at one station are poured in O(k^3).
 */

/*
 * Loops that choke. What meets on a loop can hold up what comes round it until all the loop stands still,
 * with no stop in it: by taking its part of a room that is divided by capacity, or at a bin that waits for
 * its refill level. A loop that stands is eased and solved anew. First, wherever streams meet on it, what
 * comes round goes before what is fresh, in proportion to what would come round by each way if a tonne passed
 * the station and nothing fresh came in; as less than a tonne comes round, each gets more than it needs. That
 * holds for the rest of the run. Where the loop still stands and a bin on it waits for its refill level,
 * nothing fresh is let in, and refill levels let pass what comes round, so that the loop runs itself down
 * until none waits any more.
 */
typedef enum efi_loop_ease {
    EFI_LOOP_PLAIN,
    EFI_LOOP_FIRST,  /* what comes round goes first */
    EFI_LOOP_CLOSED, /* and nothing fresh is let in */
    EFI_LOOP_EASES
} efi_loop_ease;

/* Where the level of a bin stands. EFI_AT_BOTH: a bin of no volume. */
typedef enum efi_level_at {
    EFI_AT_BETWEEN = 0,
    EFI_AT_EMPTY = 1,
    EFI_AT_FULL = 2,
    EFI_AT_BOTH = 3
} efi_level_at;

/* Network and workspace; made once, then solved again and again without allocating. Not shared between
 * threads. */
typedef struct efi_rates {
    const efi_network *network;
    int *order;           /* shape [stations], onwards */
    int *in_start;        /* shape [stations + 1] into in_spout */
    int *in_spout;        /* shape [spouts] */
    int *out_start;       /* shape [stations + 1] into out_spout */
    int *out_spout;       /* shape [spouts] */
    bool has_one_sweep;   /* messages one way do not depend on those the other way */
    int *branch_machine;  /* shape [spouts]: the machine next on a branch of a split by capacity, or -1 */
    double *merge_weight; /* shape [spouts]: capacity the stream comes from */
    double *loop_weight;  /* shape [spouts]: what comes round by it, while a loop is eased */
    bool has_weights;     /* loop_weight is up to date */
    double *round;        /* shape [spouts], for loop_weight */
    double *split_weight; /* shape [spouts]: capacity of the machine next on the branch */
    int *loop;            /* shape [stations]: first station of the loop, itself where there is none */
    bool has_loops;
    unsigned char *ease; /* shape [stations], of the loop's first station: efi_loop_ease */
    /* state, set by the engine before solving */
    double *capacity_tph;   /* shape [stations], bins unused */
    double *discharge_tph;  /* shape [stations], batch machines: most they give now, 0 but while discharging;
                               conveyors with a delay: what they bring at full speed */
    unsigned char *at;      /* shape [stations], efi_level_at of bins */
    unsigned char *in_shut; /* shape [stations], bins: waits for its refill level */
    unsigned char *out_shut;
    double *described_share; /* shape [spouts] */
    double *base_share;      /* shape [spouts], as described */
    double *share;           /* shape [spouts], as in force */
    bool has_shut;
    unsigned char *shut;   /* shape [spouts]: carries nothing, whatever is offered */
    double *share_inverse; /* 1/share, INFINITY for 0 */
    /* messages, t/h */
    double *message;     /* shape [2, spouts]: offers, then rooms */
    double *offer_tph;   /* shape [spouts], the first half of message */
    double *room_tph;    /* shape [spouts], the second half */
    double *old_message; /* shape [2, spouts] */
    double *kept_message;
    efi_anderson anderson;
    /* answers, t/h */
    double *flow_tph;    /* shape [spouts] */
    double *supply_tph;  /* shape [stations], offered to it, INFINITY at intakes; bins unused */
    double *through_tph; /* shape [stations], taken by it; bins: coming out */
    double *inflow_tph;  /* shape [stations], bins: going in */
    double *given_tph;   /* shape [stations], batch machines, conveyors with a delay: coming out */
    double *belt_speed;  /* shape [stations], conveyors with a delay: share of full speed */
    double *accept_tph;  /* shape [stations], R above; bins unused */
    double scale_tph;    /* greatest capacity */
    /* The state that answers depend on lies in one block, the answers in another: the same states come again
     * and again. In both is `ease`, which solving may change. */
    size_t question_words;
    size_t answer_words;
    double *question;           /* shape [question_words]: capacity, discharge, share, then at .. shut */
    double *asked;              /* the same, as it was before it was solved */
    double *answer;             /* shape [answer_words]: the answers above, then solved_ease */
    unsigned char *solved_ease; /* shape [stations] */
    efi_recall recall;          /* no slots: nothing is remembered */
    bool is_first_round;
    int unsettled_spout; /* after a failure: a spout whose messages do not settle */
} efi_rates;

/* Builds the workspace for a checked network in the arena; the network is borrowed. EF_OK or EF_MEMORY. */
ef_status efi_rates_build(efi_rates *rates, const efi_network *network, efi_arena *arena);

/* Gets ready to recall answers: worth it where a solve takes more than one sweep. EF_OK or EF_MEMORY. */
ef_status efi_rates_remember(efi_rates *rates, efi_arena *arena);

/* Sets the shares of a station's spouts, base_share and share, from `share` (shape [spouts]); the last takes
 * the rest. */
void efi_rates_set_base(efi_rates *rates, int station, const double *share);

/* Sets the share of a spout, 0 .. 1. */
void efi_rates_set_share(efi_rates *rates, int spout, double share);

/* loops.c */

/* Before solving: ends the run-down of loops where no bin waits for its refill level any more. */
void efi_rates_tighten(efi_rates *rates);
/* Eases loops that stand still, after the rates have been solved. */
void efi_rates_ease(efi_rates *rates);

/* Solves with loops eased as they are. EF_OK, or EF_NO_ANSWER when the messages do not settle. */
ef_status efi_rates_solve_eased(efi_rates *rates);

/* Solves for the present state. EF_OK, or EF_NO_ANSWER when the messages do not settle. */
ef_status efi_rates_solve(efi_rates *rates);

/*
 * The same for plain series lines, in one pass back and one forth over a flat list: every station has at
 * most one spout leading in and at most one leading out to anything but a free outlet; no splits by rule. The
 * answers have the same bytes as those of efi_rates_solve, except that offers, rooms and flows of spouts are
 * not filled in.
 */
typedef struct efi_series efi_series;

/* The flat list in the arena, or EF_OK with `*series` NULL where the network is not plain enough; EF_MEMORY.
 */
ef_status efi_series_build(const efi_rates *rates, efi_arena *arena, efi_series **series);

/* Solves for the state in `rates`. */
void efi_series_solve(const efi_series *series, efi_rates *rates);

/* Does a split divide by a rule other than fixed shares? */
static inline bool efi_station_splits_by_rule(const efi_network_station *station)
{
    return station->kind == EFI_NETWORK_SPLIT && station->split != EFI_NETWORK_BY_SHARES;
}

/* Is the station a batch machine? */
static inline bool efi_station_is_batch(const efi_network_station *station)
{
    return station->kind == EFI_NETWORK_MACHINE && station->batch.is_used;
}

/* Is the station a conveyor with a delay? */
static inline bool efi_station_is_belt(const efi_network_station *station)
{
    return station->kind == EFI_NETWORK_CONVEYOR && station->delay_h > 0.0;
}

/* Does what a station gives not depend on what it takes at the same time? */
static inline bool efi_station_cuts(const efi_network_station *station)
{
    return efi_station_is_batch(station) || efi_station_is_belt(station);
}

/* May a station be reached freely: an outlet without capacity or stops? */
bool efi_station_is_free(const efi_network_station *station);

#endif
