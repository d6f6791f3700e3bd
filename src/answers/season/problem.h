/* SPDX-License-Identifier: GPL-3.0-or-later
 * From a scenario to the engine's problem: what has become of each lot, the time of each line, stores,
 * changeovers, prices. */
#ifndef EFI_SEASON_PROBLEM_H
#define EFI_SEASON_PROBLEM_H

#include "answers/season/rates.h"
#include "shared/lots/rules.h"
#include "answers/season/stations.h"

/* How far a lot has come at the moment from which is planned. */
typedef struct efi_lot_now {
    ef_season_state state;
    int line;           /* of a frozen, running or done lot; -1 */
    int64_t start, end; /* moments of the same; EF_SEASON_NONE: not known */
    double left_t;      /* still to be run */
    int engine;         /* its number in the problem; -1: it takes no part */
} efi_lot_now;

/* What is planned: the lots of the scenario, or those and one more. */
typedef struct efi_season_case {
    const ef_scenario *scenario;
    const ef_season_settings *settings;
    const efi_season_rates *rates;
    efi_arena *arena;
    const efi_scenario_lot *lots; /* shape [lot_count] */
    int lot_count;
    int lines;
    int64_t from, at, to;        /* moments: of the season, and from which is planned */
    const efi_plan_lot *planned; /* shape [lot_count]: start and end of each lot in the plan that is taken up;
                                    NULL: no such plan */
    efi_lot_now *now;            /* shape [lot_count] */
    efi_timetable *time;         /* shape [lines]: from the first day of the season or that of `at` on */
    efi_timetable *ahead;        /* shape [lines]: the same from `at` on */
    efi_season_problem problem;
    int *lot_of;                                /* shape [problem.lots]: lot of the case */
    int64_t **line_clean_s, **line_clean_price; /* shape [lines]: tables, the same one for all where rules do
                                                   not differ by line */
    efi_line_way *way;                          /* shape [lines]; NULL: all lines are cleared */
    int *store_of[2];              /* shape [problem.raws], [problem.finisheds]: store of the answer */
    const ef_season_store *stores; /* shape [store_count] */
    int store_count;
} efi_season_case;

/*
 * Sets up a case in its arena: scenario, settings, rates, arena and lots are given, the rest is filled in.
 * EF_OK; EF_NO_ANSWER with `*reason`; EF_MEMORY, EF_INTERNAL. Free it in any case with efi_season_case_free.
 */
ef_status efi_season_case_build(efi_season_case *of, char **reason);
void efi_season_case_free(efi_season_case *of);

/* ---- the steps of that, each in its file ----------------------------------------------------------------
 */

/*
 * The time of a line from moment `from` to `to`: the plant's, closed while a station on the line or a shared
 * one is in maintenance, and the cleaning before the first work of each day taken off (state maintenance
 * without a maintenance: efi_time_is_daily). The caller frees it. EF_OK, EF_MEMORY (clock.c).
 */
ef_status efi_season_time(const ef_scenario *scenario, int line, int64_t from, int64_t to,
                          efi_timetable *time);
bool efi_time_is_daily(const efi_time_interval *one);

/* Thousandths of money for an hour of each overtime of the calendar, from the arena of the case: crew at the
 * price of labour times the factor, and the cost on top (clock.c). EF_OK, EF_MEMORY. */
ef_status efi_season_price_overtime(efi_season_case *of);

/* What has become of each lot (state.c). */
ef_status efi_season_find_states(efi_season_case *of);

/* Stores, identical ones one by one (stores.c). */
ef_status efi_season_find_stores(efi_season_case *of);

/* Lines that are cleaned station by station, after lots, work and changeovers (problem_stations.c). */
ef_status efi_season_fill_stations(efi_season_case *of);

/* Is a line cleaned station by station? */
bool efi_season_by_station(const efi_season_case *of, int line);

/* Lots, hours of work, changeovers, prices (problem.c). */

/* ---- whole numbers of the engine ------------------------------------------------------------------------
 */

/* The nearest whole number to value x per, from 0 to the most that the engine takes. */
int64_t efi_season_whole(double value, double per);

/* Seconds of the calendar of a moment, and back. */
int64_t efi_season_to_second(const ef_scenario *scenario, int64_t moment);
int64_t efi_season_to_moment(const ef_scenario *scenario, int64_t second);

#endif
