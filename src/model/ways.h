/* SPDX-License-Identifier: GPL-3.0-or-later
 * The spouts of a scenario as a graph: who feeds whom, for one crop or for all. */
#ifndef EFI_WAYS_H
#define EFI_WAYS_H

#include "model/scenario.h"

/* One spout: from a discharge of a station to a station. */
typedef struct efi_way {
    int from;      /* station */
    int discharge; /* of that station */
    int to;        /* station */
} efi_way;

/* All spouts, in order of station and discharge. */
typedef struct efi_ways {
    efi_way *way; /* shape [count] */
    int count;
    int *
        first_out; /* shape [station + 1]: the ways out of a station are first_out[s] .. first_out[s+1] - 1 */
    int *into;     /* shape [count]: ways ordered by the station they lead to */
    int *first_in; /* shape [station + 1]: into[first_in[s] .. first_in[s+1] - 1] lead to s */
} efi_ways;

enum {
    EFI_ALL_CROPS = -1
};

/* The spouts that `crop` uses, or that any crop uses (EFI_ALL_CROPS), in `arena`. EF_OK or EF_MEMORY. */
ef_status efi_ways_build(efi_ways *ways, efi_arena *arena, const ef_scenario *scenario, int crop);

/* Does a way take some of `material` for `crop`? Every way does when `material` is below 0. */
bool efi_ways_carries(const ef_scenario *scenario, const efi_way *way, int crop, int material);

/* Marks in `reached` (shape [station], cleared by the caller) every station that material from the intakes
 * that receive `crop` comes to. With `material` >= 0 only spouts that take some of it for `crop` count.
 * `stack` has room for a station each. */
void efi_ways_down(const efi_ways *ways, const ef_scenario *scenario, int crop, int material, bool *reached,
                   int *stack);

/* Marks in `drained` every station from which an outlet can be reached, in the same sense. */
void efi_ways_up(const efi_ways *ways, const ef_scenario *scenario, int crop, int material, bool *drained,
                 int *stack);

/*
 * The bins above a station: those from which its feed comes over splits and over stations with a single way
 * on alone. Writes up to `room` stations to `bins`, nearest first, and returns how many there are. `seen`
 * (shape [station]) is false throughout before and after; `stack` is scratch.
 */
int efi_ways_bins_above(const efi_ways *ways, const ef_scenario *scenario, int station, int *bins, int room,
                        bool *seen, int *stack);

/*
 * Finds the rings: sets of two or more stations each of which leads to every other one, over the ways with
 * `used` (shape [way]) alone. `ring` (shape [station]) gets the first station of the ring that a station
 * belongs to, -1 for none. EF_OK or EF_MEMORY. Source: Tarjan, Depth-first search and linear graph
 * algorithms, SIAM J. Comput. 1(2), 1972; linear in stations and ways.
 */
ef_status efi_ways_rings(const efi_ways *ways, int stations, const bool *used, int *ring);

#endif
