/* SPDX-License-Identifier: GPL-3.0-or-later
 * Beside a running engine: levels of the bins at fixed hours, and whether a station that gets nothing does so
 * for want of loads or lots at the intakes. */
#ifndef EFI_WATCH_H
#define EFI_WATCH_H

#include "base/memory.h"
#include "shared/engine/engine.h"

/* What is looked for; the same for all runs. */
typedef struct efi_watch_plan {
    const efi_network *network;
    int bins;
    int *bin; /* shape [bins]: station of the network */
    int grid;
    double *grid_h;      /* shape [grid], from the beginning of what is counted */
    bool seeks_material; /* some intake may be without */
    int *order;          /* shape [stations]: every station after those that feed it, returns aside */
    int *first_feeder;   /* shape [stations + 1] into feeder */
    int *feeder;         /* stations that feed it by a spout that is no return */
} efi_watch_plan;

/* Builds it in `arena`, with `grid` hours in each of `parts` parts of counted_h, both ends included. EF_OK,
 * EF_MEMORY, EF_SCENARIO as efi_network_order. */
ef_status efi_watch_plan_build(efi_watch_plan *plan, efi_arena *arena, const efi_network *network,
                               double counted_h, int grid, int parts);

/* From what each station does (shape [stations], efi_state) to whether it gets nothing for want of material
 * at the intakes. */
void efi_watch_find_lacking(const efi_watch_plan *plan, const unsigned char *state, bool *lacks);

/* Starved and waiting time of a station, by whether the intakes lacked material. All 0 where no intake ever
 * may. */
typedef struct efi_watch_hours {
    double starved_h[2];
    double waiting_h[2];
} efi_watch_hours;

/* One run under watch; belongs to a thread. */
typedef struct efi_watch {
    const efi_watch_plan *plan;
    double origin_h; /* hour of the engine at which counting began */
    double at_h;
    efi_watch_hours *hours; /* shape [stations] */
    unsigned char *state;   /* shape [stations], since at_h */
    bool *lacks;            /* shape [stations]: gets nothing for want of material */
    double *before_t;       /* shape [bins]: levels at at_h */
    double *gain_tph;       /* shape [bins]: what they gain from then on */
    int next;               /* of the grid */
    double *level_t;        /* shape [grid][bins], the run's; NULL: not wanted */
} efi_watch;

/* Takes its memory, which efi_watch_free gives back. EF_OK or EF_MEMORY. */
ef_status efi_watch_build(efi_watch *watch, const efi_watch_plan *plan);
void efi_watch_free(efi_watch *watch);

/* Begins to watch an engine that has just been run; `level_t` NULL: no levels wanted. */
void efi_watch_begin(efi_watch *watch, efi_engine *engine, double *level_t);

/* Brings the hours up to the present, between runs; and ends the watch with the levels still wanted. */
void efi_watch_settle(efi_watch *watch, const efi_engine *engine);
void efi_watch_end(efi_watch *watch, efi_engine *engine);

#endif
