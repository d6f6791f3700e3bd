/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of a list of lots share: what is watched while one run goes on, and all runs together. */
#ifndef EFI_SHIFT_LOTS_H
#define EFI_SHIFT_LOTS_H

#include "answers/shift/shift.h"
#include "shared/calendar/calendar.h"
#include "shared/lots/list.h"

#include <evenfeed/shift_lots.h>

/*
 * Runs one list: `order` (shape [count], NULL: those that wait) on a line of a plant of several, or -1. Fills
 * `out`, whose parts are in `arena`. As ef_shift_lots_run (lots.c).
 */
typedef struct efi_lots_one {
    const ef_scenario *scenario;
    const ef_shift_lots_settings *settings;
    int line;
    const int *order;
    int count;
} efi_lots_one;
ef_status efi_lots_run_one(const efi_lots_one *one, efi_arena *arena, ef_shift_lots *out, char **reason);

/* Runs a list on each line of a plant of several, and puts them together (lots_lines.c). */
ef_status efi_lots_run_lines(const ef_scenario *scenario, const ef_shift_lots_settings *settings,
                             efi_arena *arena, ef_shift_lots *out, char **reason);

/* Mean and quantiles of a value a run, shape [runs]; `sorted` is scratch of that shape. */
ef_shift_spread efi_lots_spread(const double *values, int runs, double *sorted);

/* Hours of one station. */
typedef struct efi_lots_account {
    double hours[EF_SHIFT_HOURS_COUNT];
    double planned_h;
    double taken_t;
} efi_lots_account;

/* What is looked for; the same for all runs. */
typedef struct efi_lots_watch_plan {
    const efi_lot_list *list;
    efi_watch_plan material; /* who feeds whom */
    int intake;              /* station of the network */
    int outlets;
    int *outlet_of; /* shape [stations]: number of an outlet, -1 */
    int *outlet;    /* shape [outlets]: station of the network */
    int *way;       /* shape [ways]: spouts that lead to outlets */
    int ways;
    int takers; /* stations that take part in lots: all but outlets that take any */
} efi_lots_watch_plan;

ef_status efi_lots_watch_plan_build(efi_lots_watch_plan *plan, efi_arena *arena, const efi_lot_list *list);

/* One run under watch; belongs to a thread. */
typedef struct efi_lots_watch {
    const efi_lots_watch_plan *plan;
    efi_engine *engine;
    double at_h;
    unsigned char *state; /* shape [stations], since at_h */
    bool *lacks;          /* shape [stations] */
    double *rate_tph;     /* shape [stations] */
    double *way_tph;      /* shape [ways] */
    int *way_lot;         /* shape [ways] */
    int intake_lot;
    int *passed;               /* shape [lots]: stations that have ended it */
    int ended;                 /* lots that have left */
    efi_lots_account *account; /* shape [stations], up to the end of the list */
    double *begin_h;           /* shape [lots]; < 0: not yet */
    double *end_h;             /* shape [lots] */
    double *in_t;              /* shape [lots] */
    double *outlet_t;          /* shape [lots][outlets] */
    double *total_t;           /* shape [1 + outlets]: taken in, then come out by each outlet */
} efi_lots_watch;

/* Takes its memory, which efi_lots_watch_free gives back. EF_OK or EF_MEMORY. */
ef_status efi_lots_watch_build(efi_lots_watch *watch, const efi_lots_watch_plan *plan);
void efi_lots_watch_free(efi_lots_watch *watch);

/* Begins to watch an engine that is about to be started, with accounts at zero. */
void efi_lots_watch_begin(efi_lots_watch *watch, efi_engine *engine);

/* Brings everything up to the engine's present, between runs. */
void efi_lots_watch_settle(efi_lots_watch *watch);

/* All runs. Arrays are the caller's. */
typedef struct efi_lots_runs {
    const efi_lot_list *list;
    const efi_lots_watch_plan *watch;
    uint64_t seed;
    int runs;
    int threads;
    bool has_past;                  /* hour 0 lies anywhere between two stops */
    const ef_shift_period *periods; /* shape [periods_most], from the beginning of the list */
    int periods_most;
    double horizon_h;
    double *begin_h; /* shape [runs][lots]; so are the next two */
    double *end_h;
    double *in_t;
    double *outlet_t;      /* shape [runs][lots][outlets] */
    double *period_t;      /* shape [runs][periods_most][1 + outlets] */
    int *whole;            /* shape [runs]: the first so many periods lie within the list */
    efi_lots_account *sum; /* shape [stations], over all runs */
    bool *is_late;         /* receives whether some run had not ended by the horizon */
} efi_lots_runs;

/* Runs them in blocks on threads, adding up in the order of the blocks. As efi_replicas_run. */
ef_status efi_lots_runs_run(const efi_lots_runs *runs, efi_trouble *trouble);

#endif
