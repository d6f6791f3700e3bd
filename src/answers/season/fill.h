/* SPDX-License-Identifier: GPL-3.0-or-later
 * From the engine's numbers to what a planner reads. */
#ifndef EFI_SEASON_FILL_H
#define EFI_SEASON_FILL_H

#include "answers/season/problem.h"

/* A plan worked out. */
typedef struct efi_season_worked {
    efi_season_order order;
    efi_season_run *run; /* shape [problem.lots] */
    efi_season_cost cost;
} efi_season_worked;

/* Works an order out (copied), in the arena of the case. EF_OK, EF_MEMORY, EF_USAGE. */
ef_status efi_season_work_out(const efi_season_case *of, const int *lot, const int *first,
                              efi_season_worked *worked);

/* Thousandths of money: a times b over c, as the engine counts; and of tonnes that find no room. */
int64_t efi_season_price(int64_t a, int64_t b, int64_t c);
int64_t efi_season_room_price(int64_t kg, int64_t seconds, int64_t price);

/* Money of the engine's costs. */
ef_season_cost efi_season_money(const efi_season_cost *cost);

/* Everything of the answer that follows from the case and a plan; in the arena of the case. EF_OK, EF_MEMORY.
 */
ef_status efi_season_fill(const efi_season_case *of, const efi_season_worked *worked, ef_season *season);

/* The parts of it: lots (fill_lots.c), runs and lines (fill.c), stores (fill_stores.c). */
ef_status efi_season_fill_lots(const efi_season_case *of, ef_season *season);
ef_status efi_season_fill_stays(const efi_season_case *of, const efi_season_worked *worked,
                                ef_season *season);

/* What is cleaned where on lines that are cleaned station by station, once all runs are there, and how crops
 * pass them (fill_stations.c). */
ef_status efi_season_fill_cleaned(const efi_season_case *of, const efi_season_worked *worked,
                                  ef_season_run *runs, int run_count, ef_season_line *lines);
ef_status efi_season_fill_passages(const efi_season_case *of, ef_season *season);

#endif
