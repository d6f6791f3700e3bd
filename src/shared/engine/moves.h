/* SPDX-License-Identifier: GPL-3.0-or-later
 * Moves of a plain line from state to state, remembered: the rates of each, and whom an event concerns. */
#ifndef EFI_MOVES_H
#define EFI_MOVES_H

#include "base/memory.h"
#include "shared/engine/engine.h"
#include "shared/engine/flow.h"

/*
 * The rates of a plain line follow from how many machines run at each station and from which bins are empty
 * or full (or wait for their refill level): a state, told by some bits, its key. The same states come again
 * and again, and from each of them an event at one place leads to the same next one. So a state is remembered
 * with what is in force in it, and for every station and bin that an event may come from with the key it led
 * to and the set of stations and bins for which anything changed. The first time, both are found by solving
 * the rates and looking at every station and bin; from then on only those of the set are looked at, and
 * nothing is solved. A move is taken from memory only at an instant of one event and where the key is the one
 * remembered. Stations and bins then point to what the state has for them, nothing is copied. When there is
 * no room for another state all are forgotten, and found again to the same bytes.
 */
#define EFI_MOVES_PLACES 32 /* stations and bins, each at most; sets of them are words, a bit for each */
#define EFI_MOVES_BITS   63 /* of a key, at most */

/* What is in force in a state at a station that is no bin. */
typedef struct efi_move_station {
    efi_station_flow flow;
    double age_rate;   /* running hours an hour of each machine that runs; t/h where its only source counts
                          those */
    double hours_each; /* the reciprocal */
    double least_left; /* see efi_source_aim */
} efi_move_station;

typedef struct efi_move_state efi_move_state;

/* Where an event leads to. */
typedef struct efi_move {
    efi_move_state *to; /* if that still lies there; NULL: not known */
    uint32_t stations;  /* others for which anything changes, by their place in the engine's list of passes */
    uint32_t bins;
} efi_move;

/* A state, followed in memory by its stations, bins and moves. */
struct efi_move_state {
    uint64_t key;       /* 0: nothing here */
    uint64_t after_key; /* the same but for bins that leave empty or full */
    bool is_live;       /* some flow, or some machine stopped */
};

typedef struct efi_moves {
    int stations;
    int *shift;              /* shape [stations of the network]: place of its bits within the key */
    uint64_t *mask;          /* shape [stations of the network]: its bits within the key */
    int *pass;               /* shape [stations of the network]: its place among the passes; bins unused */
    uint64_t key;            /* of the present state */
    efi_move_state *present; /* NULL: unknown */
    size_t bin_at;           /* bytes from a state to its bins; stations come right behind it */
    size_t move_at;
    size_t state_bytes;
    int room;              /* states */
    int count;             /* states known */
    uint16_t *number;      /* a table by key: 1 + number of the state, 0: none */
    unsigned char *states; /* shape [room, state_bytes] */
} efi_moves;

/* Remembers moves from now on, where the engine's network allows it: a plain line without loads, crews and
 * restart levels. EF_OK or EF_MEMORY. */
ef_status efi_moves_build(efi_engine *engine);

/* The present state may be any, as after a start; what is remembered stays good. */
void efi_moves_start(efi_engine *engine);

/* Is there any flow or stop in the present state? */
static inline bool efi_moves_live(const efi_moves *moves)
{
    return moves->present->is_live;
}

/* New rates and candidates at the start of a run. */
void efi_moves_begin(efi_engine *engine);

/* Applies the events of the present instant, `now_h`, and the same; the slot is any of those that are due. */
void efi_moves_step(efi_engine *engine, int slot, double now_h);

#endif
