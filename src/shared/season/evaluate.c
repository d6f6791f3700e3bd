/* SPDX-License-Identifier: GPL-3.0-or-later
 * What follows from an order of lots for each line. */
#include "shared/season/model.h"

/* Is it an order of all lots, each on a line it may use, the fixed ones first? */
static bool order_is_good(const efi_season_problem *p, const efi_season_order *order, bool *seen)
{
    if (order->first[0] != 0 || order->first[p->lines] != p->lots)
        return false;
    for (int line = 0; line < p->lines; line++) {
        if (order->first[line] > order->first[line + 1])
            return false;
        bool free_before = false;
        int last_place = -1;
        for (int i = order->first[line]; i < order->first[line + 1]; i++) {
            const int l = order->lot[i];
            if (l < 0 || l >= p->lots || seen[l] || p->work_s[(size_t)line * (size_t)p->lots + (size_t)l] < 0)
                return false;
            seen[l] = true;
            const efi_season_lot *lot = &p->lot[l];
            if (lot->fixed_line >= 0 &&
                (lot->fixed_line != line || free_before || lot->fixed_place < last_place))
                return false;
            free_before = free_before || lot->fixed_line < 0;
            last_place = lot->fixed_line >= 0 ? lot->fixed_place : last_place;
        }
    }
    return true;
}

static void add_run(const efi_season_problem *p, const efi_season_run *run, int lot, efi_season_cost *cost)
{
    const size_t pair = (size_t)run->before * (size_t)(p->lots + 1) + (size_t)lot;
    cost->cleaning += p->clean_price[pair];
    cost->late += efi_season_scale(run->late_s, p->lot[lot].late_price, 86400);
    cost->wet += efi_season_scale(run->wet_s, p->lot[lot].wet_price, 86400);
    cost->overtime += efi_season_scale(run->overtime_s, p->overtime_price, 3600);
}

static void evaluate(const efi_season_model *model, const efi_season_order *order, efi_season_run *run,
                     efi_season_moment *moment, int *by_end, efi_season_cost *cost)
{
    const efi_season_problem *p = model->problem;
    *cost = (efi_season_cost){0};
    for (int line = 0; line < p->lines; line++) {
        efi_season_state state = efi_season_begin(model, line);
        for (int i = order->first[line]; i < order->first[line + 1]; i++) {
            const int l = order->lot[i];
            state = efi_season_next(model, line, &state, l, &moment[l], &run[l]);
            run[l].place = i - order->first[line];
            add_run(p, &run[l], l, cost);
        }
        cost->forbidden += state.forbidden;
        efi_season_close(model, &state, &cost->cleaning, &cost->forbidden);
    }
    for (int l = 0; l < p->lots; l++)
        by_end[l] = l;
    cost->raw = efi_season_store_raw(model, moment, run);
    cost->finished = efi_season_store_finished(model, moment, by_end, run);
    cost->total = cost->cleaning + cost->late + cost->wet + cost->overtime + cost->raw + cost->finished;
}

ef_status efi_season_evaluate(const efi_season_problem *problem, const efi_season_order *order,
                              efi_season_run *run, efi_season_cost *cost)
{
    efi_season_model model;
    ef_status status = efi_season_model_build(&model, problem);
    if (status == EF_OK) {
        const size_t lots = (size_t)problem->lots;
        bool *seen = efi_arena_get(model.arena, lots, sizeof *seen);
        efi_season_run *runs = run ? run : efi_arena_get(model.arena, lots, sizeof *runs);
        efi_season_moment *moment = efi_arena_get(model.arena, lots, sizeof *moment);
        int *by_end = efi_arena_get(model.arena, lots, sizeof *by_end);
        if (!seen || !runs || !moment || !by_end)
            status = EF_MEMORY;
        else if (!order_is_good(problem, order, seen))
            status = EF_USAGE;
        else
            evaluate(&model, order, runs, moment, by_end, cost);
    }
    efi_season_model_free(&model);
    return status;
}
