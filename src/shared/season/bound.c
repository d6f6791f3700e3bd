/* SPDX-License-Identifier: GPL-3.0-or-later
 * Bounds of each term of the cost. */
#include "shared/season/bound.h"
#include "shared/sequence/assignment.h"

/* ---- bounds ---------------------------------------------------------------------------------------------
 */

/* Cleaning: each lot has one before it and one after it, each line a beginning and an end: the assignment
 * problem of the prices. */
static ef_status bound_cleaning(const efi_season_model *model, int64_t *bound)
{
    const efi_season_problem *p = model->problem;
    const size_t side = (size_t)p->lots + (size_t)p->lines;
    const int64_t far = INT64_C(1) << 48;
    int64_t *price = efi_arena_get(model->arena, side * side, sizeof *price);
    int *column = efi_arena_get(model->arena, side, sizeof *column);
    int64_t *dual = efi_arena_get(model->arena, 2 * side, sizeof *dual);
    if (!price || !column || !dual)
        return EF_MEMORY;
    for (size_t i = 0; i < side; i++) {
        for (size_t j = 0; j < side; j++) {
            const size_t from = i < (size_t)p->lots ? i : (size_t)p->lots;
            const size_t to = j < (size_t)p->lots ? j : (size_t)p->lots;
            const size_t pair = from * ((size_t)p->lots + 1) + to;
            const bool unused = i >= (size_t)p->lots && j >= (size_t)p->lots;
            const bool never = !unused && (from == to || p->clean_s[pair] == EFI_SEASON_NEVER);
            price[i * side + j] = unused ? 0 : never ? far : p->clean_price[pair];
        }
    }
    EF_TRY(efi_assignment_solve((int)side, price, column, dual, dual + side, bound));
    if (*bound >= far)
        *bound = 0;
    return EF_OK;
}

/* Late and wet: each lot alone on the line that suits it best, without cleaning, restarts and waiting. */
static int64_t alone_end_w(const efi_season_model *model, int line, int lot, int64_t start_w)
{
    const efi_season_through *t = &model->through[line];
    const size_t n = (size_t)t->stations;
    if (n == 0)
        return start_w + model->hot[line][lot].work_s;
    int64_t end_w = start_w;
    for (size_t k = 0; k < n; k++) {
        const int64_t mine_w = start_w + t->delay_s[n - 1] + t->least_s[((size_t)lot * n + k) * n + n - 1];
        end_w = mine_w > end_w ? mine_w : end_w;
    }
    return end_w;
}

static void bound_lots(const efi_season_model *model, efi_season_cost *bound)
{
    const efi_season_problem *p = model->problem;
    for (int l = 0; l < p->lots; l++) {
        int64_t late = INT64_MAX;
        int64_t wet = INT64_MAX;
        for (int line = 0; line < p->lines; line++) {
            const efi_season_hot *hot = &model->hot[line][l];
            if (hot->work_s < 0)
                continue;
            const efi_season_clock *clock = &model->clock[line];
            const int64_t start_w = hot->fixed_w >= 0 ? hot->fixed_w : hot->arrives_w;
            const int64_t start_s = hot->fixed_w >= 0 ? p->lot[l].fixed_start_s
                                                      : efi_season_clock_begin(clock, start_w);
            const int64_t end_s = efi_season_clock_end(clock, alone_end_w(model, line, l, start_w));
            const int64_t mine_late = end_s > hot->due_s ? efi_season_scale(end_s - hot->due_s,
                                                                            hot->late_price, EFI_SEASON_DAY_S)
                                                         : 0;
            const int64_t mine_wet = start_s > hot->latest_start_s
                                         ? efi_season_scale(start_s - hot->latest_start_s, hot->wet_price,
                                                            EFI_SEASON_DAY_S)
                                         : 0;
            late = mine_late < late ? mine_late : late;
            wet = mine_wet < wet ? mine_wet : wet;
        }
        bound->late += late;
        bound->wet += wet;
    }
}

ef_status efi_season_bound(const efi_season_model *model, efi_season_cost *bound)
{
    *bound = (efi_season_cost){0};
    EF_TRY(bound_cleaning(model, &bound->cleaning));
    bound_lots(model, bound);
    bound->total = bound->cleaning + bound->late + bound->wet;
    return EF_OK;
}
