/* SPDX-License-Identifier: GPL-3.0-or-later
 * The season engine: which lot runs on which line, in which order, from and into which store, when.
 *
 * Times are seconds from the start of the calendar (shared/calendar), amounts kilograms, money thousandths of
 * the currency, all whole numbers, so that every machine gets the same plan. A plan is an order of lots for
 * each line; everything else follows from it:
 *
 *   cleaning   begins when the lot before has ended (where `cleaned_before_arrival` is not set: not before
 * the lot has arrived), and takes working time of its line start      the first working moment after the
 * cleaning at which the lot has arrived end        once its work has been done in working time of its line;
 * each time the line starts again after a pause within the lot, `restart_s` more raw stores lots in the order
 * of arrival: a lot takes the smallest single store that holds it and is free from its arrival, else the
 * largest free ones until it has room; they are free again `clean_s` after the lot has ended. A lot that
 * starts within `straight_s` of its arrival needs none finished   the same for its product from the end of
 * the run until it leaves; a shared store (a floor) holds what there is room for
 *
 * and it costs the sum of
 *
 *   cleaning   the price of each changeover
 *   late       price a day of each lot, from its due moment to its end
 *   wet        price a day of each lot, from its latest start to its start
 *   overtime   price an hour of work in overtime
 *   raw        price for a tonne and day without room, from arrival to the start of the run
 *   finished   the same for the product that finds no room, until it leaves
 */
#ifndef EFI_SEASON_H
#define EFI_SEASON_H

#include "base/base.h"
#include "shared/calendar/calendar.h"

#include <stdbool.h>
#include <stdint.h>

#define EFI_SEASON_NEVER INT64_C(-1)        /* a changeover that must not be; a line a lot must not use */
#define EFI_SEASON_NONE  INT64_MAX          /* no such moment */
#define EFI_SEASON_MOST  (INT64_C(1) << 42) /* the largest time, amount, price */

enum {
    EFI_SEASON_MOST_LOTS = 2000,
    EFI_SEASON_MOST_LINES = 4,
    EFI_SEASON_MOST_STORES = 200,
    EFI_SEASON_STORES_OF_LOT = 8 /* stores that one lot may lie in */
};

typedef struct efi_season_lot {
    int64_t arrives_s;
    int64_t due_s;          /* or NONE */
    int64_t latest_start_s; /* or NONE */
    int64_t late_price;     /* a day late, >= 0 */
    int64_t wet_price;      /* a day after the latest start, >= 0 */
    int64_t raw_kg;         /* to be stored before the run, >= 0 */
    int64_t product_kg;     /* to be stored after it, >= 0 */
    int64_t leaves_s;       /* so long after the end of the run, >= 0 */
    int fixed_line; /* the lots that are fixed to a line run first on it, in the order of `fixed_place`;
                       -1: free */
    int fixed_place;
    int64_t fixed_start_s; /* of a fixed lot: it starts then, whatever the calendar says; NONE: as it comes */
} efi_season_lot;

typedef struct efi_season_store {
    int64_t holds_kg; /* > 0 */
    int64_t clean_s;  /* between two lots, >= 0 */
    bool is_shared;   /* holds several lots at once (finished stores only) */
} efi_season_store;

/* What to plan. Arrays are borrowed. */
typedef struct efi_season_problem {
    int lots, lines;
    const efi_season_lot *lot;        /* shape [lots] */
    const int64_t *work_s;            /* shape [lines][lots], > 0 or NEVER */
    const efi_timetable *const *time; /* shape [lines]; all over the same stretch */
    const int64_t *clean_s;      /* shape [lots + 1][lots + 1]: from, to; `lots`: nothing before or after.
                                    >= 0 or NEVER; the diagonal is not read */
    const int64_t *clean_price;  /* the same shape, >= 0 */
    const efi_season_store *raw; /* shape [raws] */
    int raws;
    const efi_season_store *finished; /* shape [finisheds] */
    int finisheds;
    bool has_raw, has_finished; /* room is counted at all */
    bool cleaned_before_arrival;
    int64_t restart_s;
    int64_t straight_s;
    int64_t overtime_price; /* an hour */
    int64_t raw_price;      /* a tonne and day */
    int64_t finished_price; /* the same */
} efi_season_problem;

/* One lot in a plan. */
typedef struct efi_season_run {
    int line;
    int place;                        /* on its line, from 0 */
    int before;                       /* lot that ran before it on its line; `lots`: none */
    int64_t clean_from_s, clean_to_s; /* equal without cleaning */
    int64_t start_s, end_s;
    int64_t late_s;     /* after its due moment, 0 or more */
    int64_t wet_s;      /* after its latest start */
    int64_t overtime_s; /* of its cleaning and work */
    int restarts;
    bool fits; /* within the calendar; else the end is that of the calendar and what is left of its work */
    int64_t raw_missing_kg; /* that found no room */
    int64_t finished_missing_kg;
    int raw[EFI_SEASON_STORES_OF_LOT];      /* stores, -1 after the last */
    int finished[EFI_SEASON_STORES_OF_LOT]; /* the same */
} efi_season_run;

/* What a plan costs, by term. */
typedef struct efi_season_cost {
    int64_t cleaning, late, wet, overtime, raw, finished;
    int64_t total;
    int forbidden; /* changeovers that must not be, and lots that do not fit in the calendar: 0 in a plan that
                      may be followed */
} efi_season_cost;

/* An order of lots for each line. */
typedef struct efi_season_order {
    int *lot;                             /* shape [lots]: those of line 0, then of line 1 ... */
    int first[EFI_SEASON_MOST_LINES + 1]; /* where the lots of each line begin in `lot` */
} efi_season_order;

/*
 * Works out what follows from an order: `run` has shape [lots] and may be NULL. EF_OK; EF_USAGE when it is no
 * order of all lots, puts one on a line it must not use, or moves a fixed lot; EF_MEMORY. Any thread.
 */
ef_status efi_season_evaluate(const efi_season_problem *problem, const efi_season_order *order,
                              efi_season_run *run, efi_season_cost *cost);

/* How far a search has come. */
typedef struct efi_season_progress {
    int64_t value;
    int64_t bound;
    int rounds;
    uint64_t steps;
} efi_season_progress;

typedef struct efi_season_settings {
    uint64_t seed;
    int walks;              /* independent searches that meet between rounds, >= 1 */
    int threads;            /* no influence on the result */
    int rounds;             /* most rounds, >= 0: 0 gives the first plan */
    const int *start;       /* shape [lots]: the plan to start from as an order; NULL: none */
    const int *start_first; /* shape [lines + 1] */
    bool (*go_on)(void *context, const efi_season_progress *progress); /* between rounds; NULL: always */
    void *context;
} efi_season_settings;

/* Seed 1, 2 walks, 1 thread, 200 rounds. */
efi_season_settings efi_season_defaults(void);

typedef struct efi_season_result {
    int *lot; /* shape [lots], see efi_season_order; free with efi_season_result_free */
    int first[EFI_SEASON_MOST_LINES + 1];
    efi_season_cost cost;
    efi_season_cost bound; /* by term; no plan costs less in that term, none less in all than `total` */
    int rounds;
    uint64_t steps;
} efi_season_result;

/*
 * Searches for a plan of least cost; plans with fewer forbidden changeovers always go first. EF_OK with the
 * best plan found, however early `go_on` ends it; EF_USAGE: a value out of range, a lot without a line, or a
 * start that is none; EF_MEMORY.
 */
ef_status efi_season_solve(const efi_season_problem *problem, const efi_season_settings *settings,
                           efi_season_result *result);

void efi_season_result_free(efi_season_result *result);

#endif
