/* SPDX-License-Identifier: GPL-3.0-or-later
 * The season engine: which lot runs on which line, in which order, from and into which store, when.
 *
 * Times are seconds from the start of the calendar (shared/calendar), amounts kilograms, money thousandths of
 * the currency, all whole numbers, so that every machine gets the same plan. A plan is an order of lots for
 * each line; everything else follows from it:
 *
 *   arrival
 *     the lot's own; of a lot that waits for another one (`has_passes`, `after`) the later of its own and
 *     `after_s` after the end of that one. Orders in which a lot can never be reached (the second pass before
 *     the first on one line, lines that wait for each other) are forbidden.
 *   cleaning
 *     begins when the lot before has ended (where `cleaned_before_arrival` is not set: not before the lot has
 *     arrived), and takes working time of its line.
 *   start
 *     the first working moment after the cleaning at which the lot has arrived.
 *   end
 *     once its work has been done in working time of its line; each time the line starts again after a pause
 *     within the lot, `restart_s` more.
 *   raw stores
 *     lots in the order in which their material comes: at the arrival; of a lot that waits for another one,
 *     at the end of that one, so that the time in the laboratory is spent in the store too. A lot takes the
 *     smallest single store that holds it and is free, else the largest free ones until it has room; they are
 *     free again `clean_s` after the last of it has gone into the line (when the run ends; on a line with
 *     stations when the first station has ended it). A lot that starts within `straight_s` of that moment
 *     needs none. So between two passes the material is counted once when the first pass has no `product_kg`
 *     (what the first pass gives off for good can be counted there).
 *   finished stores
 *     the same for its product from the end of the run until it leaves; a shared store (a floor) holds what
 *     there is room for.
 *
 * On a line with stations (`stations`) the line need not be clear: each station is cleaned once the lot
 * before has left it, while the others may work on. In working time of the line, with c(m) the cleaning of
 * station m, d(m) the delay from the station before, t(m) its work on the lot, a the lot before and b the
 * lot:
 *
 *   cleaning of m
 *     asks for a team at end_m(a) (see `cleaned_before_arrival`): first asked, first served, then by number;
 *     changeovers one after the other; at most `teams` stations at once.
 *   start_m(b)
 *     = max(end of the cleaning of m, start_(m-1)(b) + d(m)); the first one not before the arrival.
 *   end_m(b)
 *     from the least times at which each station has passed each part x of the lot, 0 <= x <= 1, with no
 *     station faster than its t(m), none ahead of the one before (+ d), and none further ahead of the one
 *     after than there is room between. That is the greatest, over stations k and j, of
 *     start_k(b) + (delays from k to m) + (1 - F) t(j), where F <= 1 is the share of the lot that the rooms
 *     hold which are passed backwards on the way from k to j and on to m; (1 - F) t(j) to the nearest second.
 *     None ends before the one before it has (+ d).
 *
 * The run starts with the first station and ends with the last. A pause within (1 - F) t(j) costs
 * `restart_s`. With one station all this is what it is without.
 *
 * A plan costs the sum of
 *
 *   cleaning   the price of each changeover
 *   late       price a day of each lot, from its due moment to its end
 *   wet        price a day of each lot, from its latest start to its start
 *   overtime   price an hour of cleaning and work in overtime, of the overtime that it is in (on a line with
 *              stations: of time in which any of them is cleaned or works, each hour once)
 *   raw        price for a tonne and day without room, from when the material comes to the start of the run
 *   finished   the same for the product that finds no room, until it leaves
 *   moves      a price for each lot that an earlier plan (`was_line`, `was_place`) had elsewhere: that now
 * runs on another line, or is not among the greatest number of lots of its line that are in the order of that
 * plan (of the lots that it had there). So one lot taken out and put in elsewhere on its line is one lot
 * moved, however many it passes.
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
    EFI_SEASON_MOST_STATIONS = 8,
    EFI_SEASON_STORES_OF_LOT = 8 /* stores that one lot may lie in */
};

typedef struct efi_season_lot {
    int64_t arrives_s;
    int64_t due_s;                    /* or NONE */
    int64_t latest_start_s;           /* or NONE */
    int64_t late_price;               /* a day late, >= 0 */
    int64_t wet_price;                /* a day after the latest start, >= 0 */
    int64_t raw_kg;                   /* to be stored before the run, >= 0 */
    int64_t product_kg;               /* to be stored after it, >= 0 */
    int64_t leaves_s;                 /* so long after the end of the run, >= 0 */
    int64_t raw_kgpm3, product_kgpm3; /* of what is stored, > 0 where stores are by volume */
    int fixed_line;  /* the lots that are fixed to a line run first on it, in the order of `fixed_place`;
                        -1: free */
    int fixed_place; /* below 0: it runs anywhere on its line, but at its fixed start; a line that is not
                        clean for it by then makes the plan one that may not be followed */
    int64_t fixed_start_s; /* of a fixed lot: it starts then, whatever the calendar says; NONE: as it comes */
    bool has_run; /* of one with a place and a fixed start: it ended at `ended_s` and takes no time of its
                     line any more (what the tables say of the cleaning before it is counted: 0, as a rule) */
    int64_t ended_s;
    bool was_planned; /* an earlier plan had it on `was_line`, at `was_place` */
    int was_line, was_place;
    int after;       /* with `has_passes`: the lot that must have ended before; -1: none */
    int64_t after_s; /* so long before, >= 0 (elapsed time, say of the laboratory) */
} efi_season_lot;

typedef struct efi_season_store {
    int64_t holds_kg; /* > 0 */
    int64_t holds_l;  /* instead, by volume, at the density of each lot; 0: by mass */
    int64_t clean_s;  /* between two lots, >= 0 */
    bool is_shared;   /* holds several lots at once (finished stores only) */
} efi_season_store;

/* A line that is cleaned station by station. */
typedef struct efi_season_stations {
    int stations;           /* 1 .. EFI_SEASON_MOST_STATIONS; 0: this line is cleared instead */
    int teams;              /* stations that may be cleaned at once, >= 1 */
    const int64_t *delay_s; /* shape [stations]: from the station before, >= 0; [0] is not read */
    const int64_t *work_s;  /* shape [lots][stations], > 0; a lot that may not run here: not read */
    const int64_t *room_s;  /* shape [lots][stations], >= 0: so long the station can work on the lot while the
                               next takes nothing, because there is a bin between; the last is not read */
    const int64_t *clean_s; /* shape [classes][stations], >= 0 */
} efi_season_stations;

/* What to plan. Arrays are borrowed. */
typedef struct efi_season_problem {
    int lots, lines;
    const efi_season_lot *lot;        /* shape [lots] */
    const int64_t *work_s;            /* shape [lines][lots], > 0 or NEVER */
    const efi_timetable *const *time; /* shape [lines]; all over the same stretch */
    const int64_t *clean_s;     /* shape [lots + 1][lots + 1]: from, to; `lots`: nothing before or after.
                                   >= 0 or NEVER; the diagonal is not read */
    const int64_t *clean_price; /* the same shape, >= 0 */
    const int64_t *const *line_clean_s; /* shape [lines]: instead, tables like clean_s for each line; NULL: */
    const int64_t *const *line_clean_price; /* those above hold for all */
    const efi_season_store *raw;            /* shape [raws] */
    int raws;
    const efi_season_store *finished; /* shape [finisheds] */
    int finisheds;
    bool has_raw, has_finished; /* room is counted at all */
    bool cleaned_before_arrival;
    bool has_passes;                     /* `after` of the lots is read at all */
    const efi_season_stations *stations; /* shape [lines]; NULL: all lines are cleared. `work_s` and `clean_s`
                                            above then say only what must not be on those with stations */
    int classes;                         /* of changeovers, with stations */
    const uint16_t *clean_class;         /* shape [lots + 1][lots + 1]: rows of `clean_s` of the stations; the
                                            diagonal and changeovers that must not be are not read */
    int64_t restart_s;
    int64_t straight_s;
    int64_t overtime_price;         /* an hour, to 2^30 */
    const int64_t *overtime_prices; /* shape [as the intervals of `time` number overtimes]: instead, the
                                       price of each; NULL: */
    int overtimes;                  /* that above holds for all */
    int64_t raw_price;              /* a tonne and day */
    int64_t finished_price;         /* the same */
    int64_t move_price;             /* a lot */
} efi_season_problem;

/* One lot in a plan. */
typedef struct efi_season_run {
    int line;
    int place;                        /* on its line, from 0 */
    int before;                       /* lot that ran before it on its line; `lots`: none */
    int64_t clean_from_s, clean_to_s; /* equal without cleaning; with stations of the first to begin and the
                                         last to end, which may be after the start */
    int64_t start_s, end_s;
    int64_t arrives_s;  /* in this plan */
    int64_t fed_s;      /* the last of it has gone into the line; `end_s` without stations */
    int64_t late_s;     /* after its due moment, 0 or more */
    int64_t wet_s;      /* after its latest start */
    int64_t overtime_s; /* of its cleaning and work, */
    int64_t overtime;   /* and its price */
    int restarts;
    bool fits; /* within the calendar; else the end is that of the calendar and what is left of its work */
    int64_t raw_missing_kg; /* that found no room */
    int64_t finished_missing_kg;
    int raw[EFI_SEASON_STORES_OF_LOT];        /* stores, -1 after the last */
    int finished[EFI_SEASON_STORES_OF_LOT];   /* the same */
    int64_t raw_kg[EFI_SEASON_STORES_OF_LOT]; /* what lies in each of them */
    int64_t finished_kg[EFI_SEASON_STORES_OF_LOT];
    bool is_moved;      /* against the earlier plan */
    bool misses_start;  /* the line is not ready at its fixed start: forbidden */
    bool waits_in_vain; /* for a lot that comes later: forbidden, it runs without waiting */
    int64_t station_clean_s[EFI_SEASON_MOST_STATIONS]; /* with stations: when the cleaning of each begins, */
    int64_t station_start_s[EFI_SEASON_MOST_STATIONS]; /* when it starts */
    int64_t station_end_s[EFI_SEASON_MOST_STATIONS];   /* and when it has ended the lot */
} efi_season_run;

/* What a plan costs, by term. */
typedef struct efi_season_cost {
    int64_t cleaning, late, wet, overtime, raw, finished, moves;
    int64_t total;
    int forbidden; /* changeovers that must not be, lots that do not fit in the calendar, miss their fixed
                      start or wait in vain: 0 in a plan that may be followed */
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

/* Works out many orders of one problem; not shared between threads. */
typedef struct efi_season_judge efi_season_judge;

/* EF_OK; EF_USAGE: a value out of range; EF_MEMORY. The problem must outlive it. */
ef_status efi_season_judge_new(const efi_season_problem *problem, efi_season_judge **judge);
void efi_season_judge_free(efi_season_judge *judge);

/* As efi_season_evaluate. */
ef_status efi_season_judge_order(efi_season_judge *judge, const efi_season_order *order, efi_season_run *run,
                                 efi_season_cost *cost);

/* Lots and hours of work of the problem have changed (in place): looks at them anew. As efi_season_judge_new.
 * A problem with stations needs a new judge instead. */
ef_status efi_season_judge_again(efi_season_judge *judge);

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
    int least_long;         /* so many lots that are free to move are searched by parts */
    const int *start;       /* shape [lots]: the plan to start from as an order; NULL: none */
    const int *start_first; /* shape [lines + 1] */
    bool (*go_on)(void *context, const efi_season_progress *progress); /* between rounds; NULL: always */
    void *context;
} efi_season_settings;

/* Seed 1, 2 walks, 1 thread, 200 rounds, by parts from 1000 lots on. */
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
