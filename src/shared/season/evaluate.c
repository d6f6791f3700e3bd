/* SPDX-License-Identifier: GPL-3.0-or-later
 * What follows from an order of lots for each line. */
#include "shared/season/play.h"

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

static int64_t price_of_setup(const efi_season_model *model, int from, int to, int *forbidden)
{
    const int64_t value = efi_season_setup_of(model, from, to)->value;
    const bool never = value >= EFI_SEASON_FORBIDDEN_WEIGHT;
    *forbidden += never;
    return never ? value - EFI_SEASON_FORBIDDEN_WEIGHT : value;
}

static void add_run(const efi_season_model *model, const efi_season_run *run, int lot, efi_season_cost *cost)
{
    const efi_season_problem *p = model->problem;
    cost->cleaning += price_of_setup(model, run->before, lot, &cost->forbidden);
    cost->late += efi_season_scale(run->late_s, p->lot[lot].late_price, EFI_SEASON_DAY_S);
    cost->wet += efi_season_scale(run->wet_s, p->lot[lot].wet_price, EFI_SEASON_DAY_S);
    cost->overtime += efi_season_scale(run->overtime_s, p->overtime_price, EFI_SEASON_HOUR_S);
    cost->forbidden += !run->fits + run->waits_in_vain;
}

static void evaluate(efi_season_play *play, const efi_season_order *order, int *scratch,
                     efi_season_cost *cost)
{
    const efi_season_model *model = play->model;
    const efi_season_problem *p = model->problem;
    *cost = (efi_season_cost){0};
    (void)efi_season_play_all(play);
    for (int l = 0; l < p->lots; l++) {
        add_run(model, &play->run[l], l, cost);
        scratch[l] = l;
    }
    for (int line = 0; line < p->lines; line++)
        if (order->first[line + 1] > order->first[line])
            cost->cleaning += price_of_setup(model, order->lot[order->first[line + 1] - 1], p->lots,
                                             &cost->forbidden);
    cost->raw = efi_season_store_raw(model, play->moment, scratch, INT64_MAX, play->run);
    cost->finished = efi_season_store_finished(model, play->moment, scratch, INT64_MAX, play->run);
    cost->total = cost->cleaning + cost->late + cost->wet + cost->overtime + cost->raw + cost->finished;
}

static ef_status prepare(efi_season_play *play, const efi_season_model *model, const efi_season_order *order)
{
    const size_t lots = (size_t)model->problem->lots;
    efi_season_state *state = efi_arena_get(model->arena, lots, sizeof *state);
    play->model = model;
    play->limit = INT64_MAX;
    play->pending = efi_arena_get(model->arena, lots, sizeof *play->pending);
    play->moment = efi_arena_get(model->arena, lots, sizeof *play->moment);
    if (!play->run)
        play->run = efi_arena_get(model->arena, lots, sizeof *play->run);
    if (!state || !play->pending || !play->moment || !play->run)
        return EF_MEMORY;
    for (int line = 0; line < model->problem->lines; line++) {
        const int first = order->first[line];
        efi_season_part *part = &play->part[line];
        *part = (efi_season_part){
            .lot = order->lot + first, .count = order->first[line + 1] - first, .state = state + first};
        if (model->through[line].stations == 0)
            continue;
        part->depth = efi_arena_get(model->arena, (size_t)part->count, sizeof *part->depth);
        if (!part->depth)
            return EF_MEMORY;
    }
    return EF_OK;
}

ef_status efi_season_evaluate(const efi_season_problem *problem, const efi_season_order *order,
                              efi_season_run *run, efi_season_cost *cost)
{
    efi_season_model model;
    ef_status status = efi_season_model_build(&model, problem);
    if (status == EF_OK) {
        efi_season_play play = {.run = run};
        const size_t lots = (size_t)problem->lots;
        bool *seen = efi_arena_get(model.arena, lots, sizeof *seen);
        int *scratch = efi_arena_get(model.arena, lots, sizeof *scratch);
        if (!seen || !scratch)
            status = EF_MEMORY;
        else if (!order_is_good(problem, order, seen))
            status = EF_USAGE;
        else
            status = prepare(&play, &model, order);
        if (status == EF_OK)
            evaluate(&play, order, scratch, cost);
    }
    efi_season_model_free(&model);
    return status;
}
