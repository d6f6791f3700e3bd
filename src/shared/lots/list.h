/* SPDX-License-Identifier: GPL-3.0-or-later
 * A list of lots run one after the other on one line: what the event engine is given for it. */
#ifndef EFI_LOTS_LIST_H
#define EFI_LOTS_LIST_H

#include "shared/engine/engine.h"
#include "shared/lots/rules.h"
#include "shared/plant/running.h"

/*
 * Each crop of the list has its own steady balance, and from it rates, shares and levels in tonnes at every
 * station; the network holds all stations and spouts that any of them passes, and a lot brings those of its
 * crop with it. What does not change with the lot is that of the first crop of the list that passes the
 * station: stops after so many tonnes, and where a product in warm-up goes.
 *
 * The line is empty and clean before the first lot. A lot is there when its turn comes: arrivals, due dates
 * and waits for a laboratory are the season's business. Loads are left out, and batch machines take all the
 * time what their batches make of it in the mean.
 *
 * Clean-downs are those of the season's rules. Line clear: of the whole line, begun when the last of the lot
 * before has left. Station by station: of the stations that the rule names, by so many teams; of a rule that
 * names none what it takes, at the most loaded station that any rule names. Where no rule names any the line
 * is cleared.
 *
 * On a plant of several lines each has a list of its own, run by itself: on its own stations, and on its
 * parts of those that it shares (efi_running_keep_line). Crews and teams see to each list as though it were
 * alone.
 */
typedef struct efi_listed_lot {
    int lot; /* of the scenario */
    const efi_scenario_lot *of;
    double tonnes_t;      /* still to be run */
    double balance_tph;   /* intake of the steady balance of its crop */
    double product_share; /* product over intake in that balance */
    efi_clean_down clean; /* before it; nothing before the first */
} efi_listed_lot;

typedef struct efi_lot_list {
    const ef_scenario *scenario;
    int on_line;          /* of a plant of several; -1: the plant is one line */
    efi_listed_lot *lots; /* shape [count], in the order of the list */
    int count;
    int left_out;         /* lots of the scenario that are not in it (on the other lines too) */
    int crop_count;       /* crops in the list */
    int *crops;           /* shape [crop_count], in the order in which they come */
    efi_running *running; /* shape [crop_count] */
    bool is_line_clear;
    bool is_cleared_after_all; /* the scenario cleans station by station, but no rule names a station */
    bool has_batches;          /* some machine works in batches */
    bool has_loads;            /* some intake would take loads */
    /* after efi_lot_list_lay */
    efi_line line;           /* the stations of the network, in its order; no spouts */
    efi_plant_network plant; /* of that line */
    efi_lot *engine_lots;    /* shape [count] */
} efi_lot_list;

/*
 * Picks the lots: `order` (shape [count], numbers of lots; those that are done are left out), or those of the
 * scenario that are waiting, in their order, where it is NULL; finds the clean-downs between them and solves
 * the steady balances. To be freed with efi_lot_list_free in any case, on the same thread; zero-initialise
 * it. `line` is that of a plant of several lines, else -1. EF_OK; EF_NO_ANSWER with a sentence in `*reason`
 * (NULL: not wanted) to be freed with ef_report_free: no lots, a lot that cannot run, two that must not
 * follow each other, lines that cannot be told apart, several intakes; EF_MEMORY, EF_INTERNAL.
 */
ef_status efi_lot_list_build(efi_lot_list *list, efi_arena *arena, const ef_scenario *scenario, int line,
                             const int *order, int count, char **reason);

/* EF_NO_ANSWER with the sentence that says why there is no lot to run. */
ef_status efi_lot_list_refuse_empty(const ef_scenario *scenario, char **reason);

/* Lays the network; receipts, batches and the start level of bins are as said above whatever `options` says.
 * EF_OK; EF_NO_ANSWER with a reason as above; EF_MEMORY. */
ef_status efi_lot_list_lay(efi_lot_list *list, efi_arena *arena, const efi_plant_options *options,
                           char **reason);

void efi_lot_list_free(efi_lot_list *list);

/* The engine for it, by the general solver. As efi_engine_build. */
ef_status efi_lot_list_engine(const efi_lot_list *list, bool has_past, efi_engine **engine,
                              efi_trouble *trouble);

/* Hours of work that the list takes without stops, by the balance and the rules: tonnes over rates, and for
 * line clear the clean-downs; station by station without these. */
double efi_lot_list_least_h(const efi_lot_list *list);

/* What the line of the list has of a station of the network for a crop of the list; 0: the crop does not pass
 * it, 1 on a plant of one line. */
double efi_lot_list_part(const efi_lot_list *list, int crop, int station);

/* The least and the most of that over the crops that pass it. Does the line share the station with others?
 * Outlets without a capacity of their own are nobody's. */
bool efi_lot_list_shares(const efi_lot_list *list, int station, double *least, double *most);

/* The number of a crop of the list by that of the scenario; -1: none of its lots is of it. */
int efi_lot_list_crop(const efi_lot_list *list, int crop);

#endif
