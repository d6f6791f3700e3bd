/* SPDX-License-Identifier: GPL-3.0-or-later
 * Orders of a case: from a plan that is taken up, changed a little, and judged. */
#ifndef EFI_SEASON_ORDER_H
#define EFI_SEASON_ORDER_H

#include "answers/season/fill.h"

/* Less is better: what must not be goes before money. */
static inline bool efi_season_is_better(const efi_season_cost *a, const efi_season_cost *b)
{
    return a->forbidden != b->forbidden ? a->forbidden < b->forbidden : a->total < b->total;
}

/*
 * The order of the plan in the settings of the case: lots that have begun first, then those of the plan that
 * are still to be run and may run on its line; the others one after the other where each costs least. In the
 * arena of the case. EF_OK, EF_MEMORY, EF_INTERNAL.
 */
ef_status efi_season_order_of_plan(const efi_season_case *of, efi_season_order *order);

/* The lots of a line that must stay in front. */
int efi_season_fixed(const efi_season_case *of, const efi_season_order *order, int line);

/* A lot that is not in the order goes before place `place` of a line; `into` has room for it. */
void efi_season_insert(const efi_season_case *of, const efi_season_order *order, int lot, int line, int place,
                       efi_season_order *into);

/* Takes a lot out of an order. */
void efi_season_take_out(const efi_season_case *of, efi_season_order *order, int lot);

/* The chances of being late, into the runs (chance.c). EF_OK, EF_MEMORY, EF_INTERNAL. */
ef_status efi_season_fill_chances(const efi_season_case *of, const efi_season_worked *worked,
                                  ef_season *season);

/* What it costs that neighbours change places, into the runs (neighbours.c). As above. */
ef_status efi_season_fill_neighbours(const efi_season_case *of, const efi_season_worked *worked,
                                     ef_season *season);

/* The whole answer of a case that is set up but for its arena's fields (plan.c). `worked` (NULL: not wanted)
 * gets the plan. */
ef_status efi_season_answer_case(efi_season_case *of, efi_season_worked *worked, ef_season *season,
                                 char **reason);

/* A season with an arena of its own; freed with ef_season_free (plan.c). NULL without memory. */
ef_season *efi_season_new(efi_arena **arena);
bool efi_season_settings_are_valid(const ef_season_settings *settings);

#endif
