/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the verifier of a season share. All moments are seconds from 1970-01-01T00:00. */
#ifndef EFI_VERIFY_SEASON_H
#define EFI_VERIFY_SEASON_H

#include "base/memory.h"
#include "model/scenario.h"
#include "shared/verify/differences.h"

#include <evenfeed/season.h>

/* Money may miss by this much: costs are counted in thousandths, rounded down lot by lot. */
#define EFI_VERIFY_MONEY 0.01

/* Working time of a line. */
typedef struct efi_work_span {
    int64_t from, to;
    bool is_overtime;
    int overtime; /* of the calendar; -1 */
    double price_ph;
} efi_work_span;

typedef struct efi_work_time {
    efi_work_span *span; /* shape [count]; the last begins where the season ends and never does */
    int count;
} efi_work_time;

/* One lot as it is worked out here. */
typedef struct efi_lot_check {
    const ef_season_run *claim; /* NULL: the plan has none */
    bool is_worked_out;
    bool waits_in_vain;
    int64_t arrives, comes; /* when it may run, when its material is there */
    int64_t start, end;     /* as planned: of a running lot from the moment of the plan on */
    int64_t fed;            /* the last of it has gone into the line */
    double product_t;       /* to be stored after the run */
    double raw_t;           /* to be stored before it */
} efi_lot_check;

/* A line that is cleaned station by station, after some of its lots. Working seconds from the plan's moment.
 */
typedef struct efi_through_check {
    int count;       /* 0: the line is cleared */
    int station[8];  /* of the scenario */
    int64_t end[8];  /* of the last lot */
    int64_t busy[8]; /* ends of cleaning, the last first: as many as there are teams */
    bool has_lot;
} efi_through_check;

typedef struct efi_season_check {
    const ef_scenario *scenario;
    const ef_season *claim;
    efi_differences *list;
    efi_arena *arena;
    int lines;
    efi_work_time *time;        /* shape [lines] */
    efi_lot_check *lot;         /* shape [lots] */
    efi_through_check *through; /* shape [lines] */
    int *run_of;                /* shape [lines][runs]: by place; -1: none */
    double term[EF_SEASON_TERMS];
    int forbidden;
} efi_season_check;

/* The working time of a line from the moment of the plan to the end of the season (season_time.c). EF_OK,
 * EF_MEMORY. */
ef_status efi_season_check_time(const efi_season_check *c, int line, efi_work_time *time);

/* The first working moment from `moment` on. */
int64_t efi_work_next(const efi_work_time *time, int64_t moment);

/* Overtime, and what it costs: each hour at the price of its own. */
typedef struct efi_over_check {
    int64_t s;
    double money;
} efi_over_check;

/* Adds seconds of a span. */
void efi_over_add(efi_over_check *over, const efi_work_span *span, int64_t seconds);

/* Where `work_s` are done from a moment on, `restart_s` more after each pause within; counts overtime. */
int64_t efi_work_add(const efi_work_time *time, int64_t moment, int64_t work_s, int64_t restart_s,
                     efi_over_check *over, int *restarts);

/* What has to be cleaned, from the rules of the scenario alone (season_rules.c). */
typedef struct efi_rule_check {
    const efi_changeover *rule; /* NULL: none */
    double clean_h, people, flush_t, cost;
} efi_rule_check;
efi_rule_check efi_season_check_rule(const ef_scenario *scenario, int from, int to, int line);

/* Lines that are cleaned station by station: which stations, in which order (season_ways.c). EF_OK,
 * EF_MEMORY. */
ef_status efi_season_check_ways(efi_season_check *c);

/* Runs one more lot on such a line, with the rule before it and so many seconds of work at the slowest
 * station: its start, end and `fed`, compared with the answer's (season_stations.c). */
void efi_season_check_pass(efi_season_check *c, int l, const efi_rule_check *rule, int64_t work_s,
                           efi_over_check *over, int *restarts);

/* When a frozen lot has to start. */
int64_t efi_season_check_frozen(const efi_season_check *c, int l);

/* Planning rates and how they are shared out (season_rates.c). */
void efi_season_check_rates(const efi_season_check *c);

/* Who lies where (season_stores.c). */
void efi_season_check_stores(efi_season_check *c);

#endif
