/* SPDX-License-Identifier: GPL-3.0-or-later
 * What it would cost that a lot runs before or after its neighbour on the line. */
#include "answers/season/order.h"

static void swap(int *lot, int i)
{
    const int kept = lot[i];
    lot[i] = lot[i + 1];
    lot[i + 1] = kept;
}

static ef_season_run *run_of(const ef_season *season, ef_season_run *runs, int lot)
{
    for (int r = 0; r < season->run_count; r++)
        if (runs[r].lot == lot)
            return &runs[r];
    return NULL;
}

static ef_status try_all(const efi_season_case *of, efi_season_judge *judge, const efi_season_worked *worked,
                         const ef_season *season, ef_season_run *runs)
{
    efi_season_order order = worked->order;
    for (int line = 0; line < of->lines; line++) {
        const int first = order.first[line] + efi_season_fixed(of, &order, line);
        for (int i = first; i + 1 < order.first[line + 1]; i++) {
            efi_season_cost cost;
            swap(order.lot, i);
            const ef_status status = efi_season_judge_order(judge, &order, NULL, &cost);
            swap(order.lot, i);
            if (status != EF_OK)
                return status;
            ef_season_run *run = run_of(season, runs, of->lot_of[order.lot[i]]);
            ef_season_run *next = run_of(season, runs, of->lot_of[order.lot[i + 1]]);
            if (EF_NEVER(!run || !next))
                return EF_INTERNAL;
            if (cost.forbidden > worked->cost.forbidden)
                continue;
            run->has_later = next->has_earlier = true;
            run->later_cost = next->earlier_cost = (double)(cost.total - worked->cost.total) / 1000.0;
        }
    }
    return EF_OK;
}

ef_status efi_season_fill_neighbours(const efi_season_case *of, const efi_season_worked *worked,
                                     ef_season *season)
{
    efi_season_judge *judge;
    ef_season_run *runs = efi_arena_get(of->arena, (size_t)season->run_count, sizeof *runs);
    if (!runs)
        return EF_MEMORY;
    for (int r = 0; r < season->run_count; r++)
        runs[r] = season->runs[r];
    EF_TRY(efi_season_judge_new(&of->problem, &judge));
    const ef_status status = try_all(of, judge, worked, season, runs);
    efi_season_judge_free(judge);
    season->runs = runs;
    return status;
}
