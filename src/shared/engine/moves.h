/* SPDX-License-Identifier: GPL-3.0-or-later
 * Moves of a plain line from state to state, remembered: the rates of each, and whom an event concerns. */
#ifndef EFI_MOVES_H
#define EFI_MOVES_H

#include "base/memory.h"
#include "shared/engine/engine.h"

/*
 * The rates of a plain line follow from how many machines run at each station and from which bins are empty
 * or full (or wait for their refill level): a state, told by some bits, its key. The same states come again
 * and again, and from each of them an event at one place leads to the same next one. So a state is remembered
 * with what is in force in it, and for every station and bin that an event may come from with the key it led
 * to and the set of stations and bins for which anything changed. The first time, both are found by solving
 * the rates and looking at every station and bin; from then on only those of the set are looked at, and
 * nothing is solved. A move is taken from memory only at an instant of one event and where the key is the one
 * remembered. A state whose place in the table is wanted by another is forgotten, and solved again to the
 * same bytes.
 */
#define EFI_MOVES_PLACES 32 /* stations and bins, each at most; sets of them are words, a bit for each */
#define EFI_MOVES_BITS   63 /* of a key, at most */

/* What is in force in a state at a station that is no bin ... */
typedef struct efi_move_station {
    double rate_tph;
    double share_tph; /* of each machine that runs */
    double ageing;    /* the same, running hours an hour */
    efi_state state;  /* where some machine runs */
} efi_move_station;

/* ... and at a bin; see efi_run_bin. */
typedef struct efi_move_bin {
    double net_tph;
    double inflow_tph;
    double outflow_tph;
    double target_t;
    double aim_t; /* the target less the level, divided by the rate, gives the time until the event; INFINITY
                     and 1 where none comes */
    double aim_tph;
    efi_event_kind target;
    unsigned char at;
} efi_move_bin;

/* Where an event leads to. */
typedef struct efi_move {
    uint32_t stations; /* others for which anything changes, by their place in the engine's list of passes */
    uint32_t bins;
    int to; /* the state, if it still lies there; -1: not known */
} efi_move;

typedef struct efi_move_state {
    uint64_t key;              /* 0: nothing here */
    uint64_t after_key;        /* the same but for bins that leave empty or full */
    bool is_live;              /* some flow, or some machine stopped */
    efi_move_station *station; /* shape [passes] */
    efi_move_bin *bin;         /* shape [bins] */
    efi_move *move;            /* shape [stations of the network] */
} efi_move_state;

typedef struct efi_moves {
    int stations;
    int *number;    /* shape [stations]: its place among the passes or bins */
    int *shift;     /* shape [stations]: place of its bits within the key */
    uint64_t *mask; /* shape [stations]: its bits within the key */
    uint64_t key;   /* of the present state */
    int present;    /* where that lies; -1: nowhere */
    int state_bits;
    efi_move_state *state; /* shape [2^state_bits] */
} efi_moves;

/* Remembers moves from now on, where the engine's network allows it: a plain line without loads, crews and
 * restart levels. EF_OK or EF_MEMORY. */
ef_status efi_moves_build(efi_engine *engine);

/* The present state may be any, as after a start; what is remembered stays good. */
void efi_moves_start(efi_engine *engine);

/* Is there any flow or stop in the present state? */
static inline bool efi_moves_live(const efi_moves *moves)
{
    return moves->state[moves->present].is_live;
}

/* New rates and candidates after the events of an instant. */
void efi_moves_put(efi_engine *engine);

#endif
