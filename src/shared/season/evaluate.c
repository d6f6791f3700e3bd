/* SPDX-License-Identifier: GPL-3.0-or-later
 * What follows from an order of lots for each line. */
#include "shared/season/play.h"
#include "shared/season/stores.h"

#include <string.h>

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
            const bool is_fixed = lot->fixed_line >= 0 && lot->fixed_place >= 0;
            if (lot->fixed_line >= 0 && lot->fixed_line != line)
                return false;
            if (is_fixed && (free_before || lot->fixed_place < last_place))
                return false;
            free_before = free_before || !is_fixed;
            last_place = is_fixed ? lot->fixed_place : last_place;
        }
    }
    return true;
}

static int64_t price_of_setup(const efi_season_model *model, int line, int from, int to, int *forbidden)
{
    const int64_t value = efi_season_setup_of(model, line, from, to)->value;
    const bool never = value >= EFI_SEASON_FORBIDDEN_WEIGHT;
    *forbidden += never;
    return never ? value - EFI_SEASON_FORBIDDEN_WEIGHT : value;
}

static void add_run(const efi_season_model *model, const efi_season_run *run, int lot, efi_season_cost *cost)
{
    const efi_season_problem *p = model->problem;
    cost->cleaning += price_of_setup(model, run->line, run->before, lot, &cost->forbidden);
    cost->late += efi_season_scale(run->late_s, p->lot[lot].late_price, EFI_SEASON_DAY_S);
    cost->wet += efi_season_scale(run->wet_s, p->lot[lot].wet_price, EFI_SEASON_DAY_S);
    cost->overtime += run->overtime;
    cost->forbidden += !run->fits + run->misses_start + run->waits_in_vain;
}

struct efi_season_judge {
    efi_season_model model;
    bool *seen;              /* shape [lots] */
    int *scratch;            /* shape [2 lots] */
    efi_season_state *state; /* shape [lots] */
    efi_season_depth *depth; /* the same; NULL without stations */
    efi_season_run *run;     /* the same, for callers that want none */
    efi_season_hold *hold;
    efi_season_play play;
};

static void evaluate(efi_season_judge *judge, const efi_season_order *order, efi_season_cost *cost)
{
    efi_season_play *play = &judge->play;
    const efi_season_model *model = &judge->model;
    const efi_season_problem *p = model->problem;
    int moved = 0;
    *cost = (efi_season_cost){0};
    (void)efi_season_play_all(play);
    for (int line = 0; line < p->lines; line++) {
        const int count = order->first[line + 1] - order->first[line];
        efi_season_mark_moved(p, line, order->lot + order->first[line], count, judge->scratch, play->run);
    }
    for (int l = 0; l < p->lots; l++) {
        add_run(model, &play->run[l], l, cost);
        moved += play->run[l].is_moved;
    }
    for (int line = 0; line < p->lines; line++)
        if (order->first[line + 1] > order->first[line])
            cost->cleaning += price_of_setup(model, line, order->lot[order->first[line + 1] - 1], p->lots,
                                             &cost->forbidden);
    memcpy(judge->scratch, model->by_arrival, (size_t)p->lots * sizeof *judge->scratch);
    efi_season_hold_open(judge->hold, model, false);
    cost->raw = efi_season_hold_all(judge->hold, play->moment, judge->scratch, play->run);
    efi_season_hold_open(judge->hold, model, true);
    cost->finished = efi_season_hold_all(judge->hold, play->moment, judge->scratch, play->run);
    cost->moves = moved * p->move_price;
    cost->total = cost->cleaning + cost->late + cost->wet + cost->overtime + cost->raw + cost->finished +
                  cost->moves;
}

static ef_status prepare(efi_season_judge *judge)
{
    efi_season_model *model = &judge->model;
    const size_t lots = (size_t)model->problem->lots;
    bool any = false;
    for (int line = 0; line < model->problem->lines; line++)
        any = any || model->through[line].stations > 0;
    judge->seen = efi_arena_get(model->arena, lots, sizeof *judge->seen);
    judge->scratch = efi_arena_get(model->arena, 2 * lots, sizeof *judge->scratch);
    judge->state = efi_arena_get(model->arena, lots, sizeof *judge->state);
    judge->run = efi_arena_get(model->arena, lots, sizeof *judge->run);
    judge->hold = efi_arena_get(model->arena, 1, sizeof *judge->hold);
    judge->play.pending = efi_arena_get(model->arena, lots, sizeof *judge->play.pending);
    judge->play.moment = efi_arena_get(model->arena, lots, sizeof *judge->play.moment);
    judge->play.model = model;
    judge->play.limit = INT64_MAX;
    if (!judge->seen || !judge->scratch || !judge->state || !judge->run || !judge->hold ||
        !judge->play.pending || !judge->play.moment)
        return EF_MEMORY;
    judge->depth = any ? efi_arena_get(model->arena, lots, sizeof *judge->depth) : NULL;
    return any && !judge->depth ? EF_MEMORY : EF_OK;
}

ef_status efi_season_judge_new(const efi_season_problem *problem, efi_season_judge **judge)
{
    efi_season_judge *made = efi_new(1, sizeof *made);
    if (!made)
        return EF_MEMORY;
    ef_status status = efi_season_model_build(&made->model, problem);
    if (status == EF_OK)
        status = prepare(made);
    if (status == EF_OK)
        *judge = made;
    else
        efi_season_judge_free(made);
    return status;
}

void efi_season_judge_free(efi_season_judge *judge)
{
    if (!judge)
        return;
    efi_season_model_free(&judge->model);
    efi_free(judge);
}

ef_status efi_season_judge_again(efi_season_judge *judge)
{
    return judge->model.problem->stations ? EF_USAGE : efi_season_model_again(&judge->model);
}

ef_status efi_season_judge_order(efi_season_judge *judge, const efi_season_order *order, efi_season_run *run,
                                 efi_season_cost *cost)
{
    const efi_season_problem *p = judge->model.problem;
    memset(judge->seen, 0, (size_t)p->lots * sizeof *judge->seen);
    if (!order_is_good(p, order, judge->seen))
        return EF_USAGE;
    judge->play.run = run ? run : judge->run;
    for (int line = 0; line < p->lines; line++) {
        const int first = order->first[line];
        judge->play.part[line] = (efi_season_part){
            .lot = order->lot + first,
            .count = order->first[line + 1] - first,
            .state = judge->state + first,
            .depth = judge->model.through[line].stations > 0 ? judge->depth + first : NULL};
    }
    evaluate(judge, order, cost);
    return EF_OK;
}

ef_status efi_season_evaluate(const efi_season_problem *problem, const efi_season_order *order,
                              efi_season_run *run, efi_season_cost *cost)
{
    efi_season_judge *judge;
    EF_TRY(efi_season_judge_new(problem, &judge));
    const ef_status status = efi_season_judge_order(judge, order, run, cost);
    efi_season_judge_free(judge);
    return status;
}
