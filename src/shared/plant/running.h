/* SPDX-License-Identifier: GPL-3.0-or-later
 * From a scenario and one of its crops to what the event engine runs: line, steady rates, network. */
#ifndef EFI_RUNNING_H
#define EFI_RUNNING_H

#include "shared/plant/plant.h"
#include "shared/steady/steady.h"

/* Its parts point at each other: it stays where it is. Zero-initialise it. */
typedef struct efi_running {
    efi_line line;
    efi_steady_model model; /* solved: rates and feeds of the steady balance */
    double rate_tph;        /* intake of the steady balance */
    double *part;           /* shape [line stations]: what of a station this line has; NULL: all of all */
    efi_plant_network plant;
} efi_running;

/* Where one line cannot be told from the others: stations of the line, -1 for none. */
typedef struct efi_running_tangle {
    int from; /* what leaves it goes into several lines, by no split */
    int to;   /* of another line */
} efi_running_tangle;

/*
 * Builds the line and solves its steady rates, arrays in `arena`. To be freed with efi_running_free also
 * after a failure, on the same thread. EF_OK; EF_NO_ANSWER when the demands of the steady balance contradict
 * each other; EF_MEMORY, EF_INTERNAL.
 */
ef_status efi_running_build(efi_running *running, efi_arena *arena, const ef_scenario *scenario, int crop);

/*
 * Leaves one line of a plant of several: the stations of that line and the shared ones before and after it.
 * Splits send all to that line; what it takes is what comes to it in the steady balance in which all lines
 * run (as the planning rates of a season). Of a shared station it has the part of its feed that
 * is on the way to or from this line:
 *
 *   part[s] = feed of s with this line alone at those rates / the same of all lines together
 *
 * so that capacities, the room of bins and tonnes between stops are so many parts of the whole: the parts of
 * all lines make no more than one plant, as though they took turns there in short order. EF_OK; EF_NO_ANSWER
 * when the balance sends nothing to the line, or with a tangle in `tangle` (never NULL); EF_MEMORY,
 * EF_INTERNAL.
 */
ef_status efi_running_keep_line(efi_running *running, efi_arena *arena, int line, efi_running_tangle *tangle);

/* Then builds the network, as efi_plant_build. */
ef_status efi_running_lay(efi_running *running, efi_arena *arena, const efi_plant_options *options);

/* Frees what is not in the arena. */
void efi_running_free(efi_running *running);

/* A sentence about a trouble in `*reason` (NULL: not wanted), to be freed with ef_report_free; left alone
 * without memory. */
void efi_running_explain(const efi_network *network, const efi_trouble *trouble, char **reason);

#endif
