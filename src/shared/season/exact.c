/* SPDX-License-Identifier: GPL-3.0-or-later
 * Depth first: lot after lot is put behind those that stand. What stands has its cost, which more lots only
 * add to: each has at least its cheapest cleaning before it, and where the line is cleared it cannot start
 * before the line stands free, nor end before its work from then on. */
#include "shared/season/exact.h"

#include <string.h>

enum {
    MOST_STEPS = 1000000
};

typedef struct exact {
    const efi_season_model *model;
    efi_season_judge *judge;
    int lots, fixed;                      /* the first ones keep their places */
    int lot[EFI_SEASON_MOST_EXACT];       /* those that stand */
    int tried[EFI_SEASON_MOST_EXACT];     /* at each place: the last lot that was tried */
    bool stands[EFI_SEASON_MOST_EXACT];   /* by lot */
    int64_t entry[EFI_SEASON_MOST_EXACT]; /* by lot: its cheapest cleaning */
    efi_season_state state[EFI_SEASON_MOST_EXACT];
    efi_season_depth depth[EFI_SEASON_MOST_EXACT];
    efi_season_moment moment[EFI_SEASON_MOST_EXACT];
    int64_t value; /* of the best */
    int best[EFI_SEASON_MOST_EXACT];
    int steps;
} exact;

/* Puts a lot behind those that stand. */
static void put(exact *x, int place, int lot)
{
    const efi_season_model *model = x->model;
    const efi_season_lot *of = &model->problem->lot[lot];
    efi_season_step step = efi_season_step_of(model, 0, lot);
    if (place == 0) {
        efi_season_begin(model, 0, &x->state[0], &x->depth[0]);
    } else {
        x->state[place] = x->state[place - 1];
        x->depth[place] = x->depth[place - 1];
    }
    if (model->hot[0][lot].waits) {
        const int64_t ready_s = x->moment[of->after].end_s + of->after_s;
        if (ready_s > of->arrives_s)
            step.arrives_w = efi_season_clock_work(&model->clock[0], ready_s);
    }
    efi_season_next(model, &step, &x->state[place], &x->depth[place], &x->moment[lot], NULL);
    x->lot[place] = lot;
    x->stands[lot] = true;
    x->steps++;
}

/* The least that a lot which does not stand yet adds, the line standing as it does. */
static int64_t least_of(const exact *x, int lot, const efi_season_state *state)
{
    const efi_season_model *model = x->model;
    const efi_season_hot *hot = &model->hot[0][lot];
    int64_t least = x->entry[lot];
    if (model->through[0].stations > 0 || hot->fixed_w >= 0 || hot->has_run)
        return least;
    const int64_t start_w = state->at_w > hot->arrives_w ? state->at_w : hot->arrives_w;
    const int64_t start_s = efi_season_clock_begin(&model->clock[0], start_w);
    const int64_t end_s = efi_season_clock_end(&model->clock[0], start_w + hot->work_s);
    if (end_s > hot->due_s)
        least += efi_season_scale(end_s - hot->due_s, hot->late_price, EFI_SEASON_DAY_S);
    if (start_s > hot->latest_start_s)
        least += efi_season_scale(start_s - hot->latest_start_s, hot->wet_price, EFI_SEASON_DAY_S);
    return least;
}

/* Can no order that begins like this one cost less than the best? */
static bool is_hopeless(const exact *x, int place)
{
    int64_t least = x->state[place].value;
    for (int l = 0; l < x->lots && least < x->value; l++)
        if (!x->stands[l])
            least += least_of(x, l, &x->state[place]);
    return least >= x->value;
}

/* A whole order: is it the best? */
static ef_status judge_all(exact *x)
{
    efi_season_order order = {.lot = x->lot, .first = {0, x->lots}};
    efi_season_cost cost;
    EF_TRY(efi_season_judge_order(x->judge, &order, NULL, &cost));
    x->steps++;
    if (cost.forbidden > 0 || cost.total >= x->value)
        return EF_OK;
    x->value = cost.total;
    memcpy(x->best, x->lot, sizeof x->best);
    return EF_OK;
}

/* The next lot that may stand at a place; -1: none. */
static int next_lot(const exact *x, int place)
{
    for (int l = x->tried[place] + 1; l < x->lots; l++)
        if (!x->stands[l] && !(x->model->hot[0][l].waits && !x->stands[x->model->problem->lot[l].after]))
            return l;
    return -1;
}

/* False past the limit of steps. */
static ef_status look_through(exact *x, bool *proven)
{
    int place = x->fixed;
    x->tried[place] = -1;
    while (place >= x->fixed) {
        if (x->steps > MOST_STEPS)
            return EF_OK;
        const int lot = next_lot(x, place);
        if (lot < 0) { /* back */
            if (--place >= x->fixed)
                x->stands[x->lot[place]] = false;
            continue;
        }
        x->tried[place] = lot;
        put(x, place, lot);
        if (!is_hopeless(x, place) && place + 1 == x->lots)
            EF_TRY(judge_all(x));
        if (place + 1 < x->lots && !is_hopeless(x, place))
            x->tried[++place] = -1;
        else
            x->stands[lot] = false;
    }
    *proven = true;
    return EF_OK;
}

static void find_entries(exact *x)
{
    for (int l = 0; l < x->lots; l++) {
        x->entry[l] = INT64_MAX;
        for (int from = 0; from <= x->lots; from++) {
            if (from == l)
                continue;
            const int64_t value = efi_season_setup_of(x->model, 0, from, l)->value;
            x->entry[l] = value < x->entry[l] ? value : x->entry[l];
        }
    }
}

ef_status efi_season_exact(const efi_season_model *model, int *lot, int64_t *value, bool *proven)
{
    const efi_season_problem *p = model->problem;
    exact x = {.model = model, .lots = p->lots, .value = *value};
    *proven = false;
    if (p->lines != 1 || p->lots > EFI_SEASON_MOST_EXACT)
        return EF_OK;
    memcpy(x.best, lot, (size_t)p->lots * sizeof *lot);
    find_entries(&x);
    while (x.fixed < x.lots && p->lot[lot[x.fixed]].fixed_line >= 0 &&
           p->lot[lot[x.fixed]].fixed_place >= 0) {
        put(&x, x.fixed, lot[x.fixed]);
        x.fixed++;
    }
    if (x.fixed == x.lots) {
        *proven = true;
        return EF_OK;
    }
    EF_TRY(efi_season_judge_new(p, &x.judge));
    const ef_status status = look_through(&x, proven);
    efi_season_judge_free(x.judge);
    if (status != EF_OK || !*proven)
        return status == EF_USAGE ? EF_INTERNAL : status;
    memcpy(lot, x.best, (size_t)p->lots * sizeof *lot);
    *value = x.value;
    return EF_OK;
}
