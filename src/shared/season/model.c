/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checking a problem and preparing what the search reads often. */
#include "shared/season/model.h"

#include <string.h>

/* ---- checks ---------------------------------------------------------------------------------------------
 */

static bool in_range(int64_t value, int64_t least)
{
    return value >= least && value <= EFI_SEASON_MOST;
}

static bool may_be_none(int64_t moment)
{
    return moment == EFI_SEASON_NONE || in_range(moment, -EFI_SEASON_MOST);
}

/* Lots that wait for each other in a circle can be in no order. */
static bool wait_is_good(const efi_season_problem *p, int l)
{
    const efi_season_lot *lot = &p->lot[l];
    if (!p->has_passes || lot->after == -1)
        return true;
    int at = l;
    for (int count = 0; at >= 0; count++) {
        if (count > p->lots || p->lot[at].after < -1 || p->lot[at].after >= p->lots)
            return false;
        at = p->lot[at].after;
    }
    return in_range(lot->after_s, 0);
}

static bool fixed_is_good(const efi_season_lot *lot)
{
    const bool starts = lot->fixed_line >= 0 && lot->fixed_start_s != EFI_SEASON_NONE;
    if (lot->has_run && !(starts && lot->fixed_place >= 0 && lot->ended_s >= lot->fixed_start_s))
        return false;
    return lot->fixed_line < 0 || lot->fixed_place >= 0 || starts;
}

static bool lot_is_good(const efi_season_problem *p, int l)
{
    const efi_season_lot *lot = &p->lot[l];
    bool has_line = false;
    for (int line = 0; line < p->lines; line++) {
        const int64_t work_s = p->work_s[(size_t)line * (size_t)p->lots + (size_t)l];
        if (work_s != EFI_SEASON_NEVER && !in_range(work_s, 1))
            return false;
        has_line = has_line || (work_s > 0 && (lot->fixed_line < 0 || lot->fixed_line == line));
    }
    const bool moments = may_be_none(lot->due_s) && may_be_none(lot->latest_start_s) &&
                         in_range(lot->arrives_s, -EFI_SEASON_MOST);
    return has_line && moments && in_range(lot->late_price, 0) && in_range(lot->wet_price, 0) &&
           in_range(lot->raw_kg, 0) && in_range(lot->product_kg, 0) && in_range(lot->leaves_s, 0) &&
           lot->fixed_line >= -1 && lot->fixed_line < p->lines && fixed_is_good(lot) && wait_is_good(p, l);
}

static bool stores_are_good(const efi_season_store *store, int stores)
{
    if (stores < 0 || stores > EFI_SEASON_MOST_STORES)
        return false;
    for (int s = 0; s < stores; s++)
        if (!in_range(store[s].holds_l, 0) || !in_range(store[s].clean_s, 0) ||
            (store[s].holds_l == 0 && !in_range(store[s].holds_kg, 1)))
            return false;
    return true;
}

/* Lots have a density where some store is by volume. */
static bool densities_are_good(const efi_season_problem *p)
{
    bool raw = false;
    bool finished = false;
    for (int s = 0; s < p->raws; s++)
        raw = raw || p->raw[s].holds_l > 0;
    for (int s = 0; s < p->finisheds; s++)
        finished = finished || p->finished[s].holds_l > 0;
    for (int l = 0; l < p->lots; l++)
        if ((raw && !(p->lot[l].raw_kgpm3 > 0 && p->lot[l].raw_kgpm3 <= 100000)) ||
            (finished && !(p->lot[l].product_kgpm3 > 0 && p->lot[l].product_kgpm3 <= 100000)))
            return false;
    return true;
}

static const int64_t *hours_of(const efi_season_problem *p, int line)
{
    return p->line_clean_s ? p->line_clean_s[line] : p->clean_s;
}

static const int64_t *price_of(const efi_season_problem *p, int line)
{
    return p->line_clean_s ? p->line_clean_price[line] : p->clean_price;
}

/* Tables of changeovers that are to be looked at: one, or one for each line. */
static int tables_of(const efi_season_problem *p)
{
    return p->line_clean_s ? p->lines : 1;
}

static bool pair_is_good(const efi_season_problem *p, size_t pair)
{
    for (int table = 0; table < tables_of(p); table++) {
        const int64_t clean_s = hours_of(p, table)[pair];
        if (!in_range(price_of(p, table)[pair], 0))
            return false;
        if (clean_s != EFI_SEASON_NEVER &&
            !(in_range(clean_s, 0) && (!p->stations || p->clean_class[pair] < p->classes)))
            return false;
    }
    return true;
}

/* So that the price of all time there is can be added up. */
static bool overtimes_are_good(const efi_season_problem *p)
{
    const int64_t most = INT64_C(1) << 30;
    for (int i = 0; i < p->overtimes && p->overtime_prices; i++)
        if (p->overtime_prices[i] < 0 || p->overtime_prices[i] > most)
            return false;
    return p->overtime_price >= 0 && p->overtime_price <= most;
}

static bool has_overtime(const efi_season_problem *p)
{
    for (int i = 0; i < p->overtimes && p->overtime_prices; i++)
        if (p->overtime_prices[i] > 0)
            return true;
    return p->overtime_price > 0;
}

static bool is_good(const efi_season_problem *p)
{
    if (p->lots < 1 || p->lots > EFI_SEASON_MOST_LOTS || p->lines < 1 || p->lines > EFI_SEASON_MOST_LINES ||
        (p->stations && !p->clean_class))
        return false;
    for (int l = 0; l < p->lots; l++)
        if (!lot_is_good(p, l))
            return false;
    const int side = p->lots + 1;
    for (int from = 0; from < side; from++)
        for (int to = 0; to < side; to++)
            if (from != to && !pair_is_good(p, (size_t)from * (size_t)side + (size_t)to))
                return false;
    return stores_are_good(p->raw, p->raws) && stores_are_good(p->finished, p->finisheds) &&
           in_range(p->restart_s, 0) && in_range(p->straight_s, 0) && overtimes_are_good(p) &&
           in_range(p->raw_price, 0) && in_range(p->finished_price, 0) && in_range(p->move_price, 0) &&
           densities_are_good(p);
}

/* ---- classes of changeovers -----------------------------------------------------------------------------
 */

static bool same_pair(const efi_season_problem *p, int from, int to, int other_from, int other_to)
{
    const size_t side = (size_t)p->lots + 1;
    const size_t a = (size_t)from * side + (size_t)to;
    const size_t b = (size_t)other_from * side + (size_t)other_to;
    bool never = true;
    for (int table = 0; table < tables_of(p); table++) {
        const int64_t *clean_s = hours_of(p, table);
        if (clean_s[a] != clean_s[b] || price_of(p, table)[a] != price_of(p, table)[b])
            return false;
        never = never && clean_s[a] == EFI_SEASON_NEVER;
    }
    return !p->stations || never || p->clean_class[a] == p->clean_class[b];
}

/* May lot `b` be in the class of lot `a`, of which `second` (-1: none) is another? */
static bool same_class(const efi_season_problem *p, int a, int b, int second)
{
    if (!same_pair(p, a, b, b, a) || (second >= 0 && !same_pair(p, a, b, a, second)))
        return false;
    for (int x = p->lots; x >= 0; x--)
        if (x != a && x != b && !(same_pair(p, a, x, b, x) && same_pair(p, x, a, x, b)))
            return false;
    return true;
}

static void find_classes(efi_season_model *model, int *first, int *second)
{
    const efi_season_problem *p = model->problem;
    for (int l = 0; l < p->lots; l++) {
        int k = 0;
        while (k < model->setups && !same_class(p, first[k], l, second[k]))
            k++;
        model->setup_of[l] = k;
        if (k == model->setups) {
            first[model->setups++] = l;
            second[k] = -1;
        } else if (second[k] < 0) {
            second[k] = l;
        }
    }
    model->setup_of[p->lots] = model->setups;
    first[model->setups] = p->lots;
    second[model->setups] = -1;
}

/* About when a lot is to run: halfway from its arrival to its due moment. */
static int64_t middle_s(const efi_season_lot *lot)
{
    return lot->due_s == EFI_SEASON_NONE ? lot->arrives_s : lot->arrives_s / 2 + lot->due_s / 2;
}

/* Adds a lot to those of its class, which are number `first` to `count` - 1. */
static void list_lot(const efi_season_model *model, int lot, int first, int count)
{
    const efi_season_lot *of = model->problem->lot;
    int place = count;
    for (; place > first && middle_s(&of[model->by_setup[place - 1]]) > middle_s(&of[lot]); place--)
        model->by_setup[place] = model->by_setup[place - 1];
    model->by_setup[place] = lot;
}

static ef_status list_classes(efi_season_model *model)
{
    const int lots = model->problem->lots;
    model->by_setup = efi_arena_get(model->arena, (size_t)lots, sizeof *model->by_setup);
    model->first_of = efi_arena_get(model->arena, (size_t)model->setups + 1, sizeof *model->first_of);
    model->in_setup = efi_arena_get(model->arena, (size_t)lots, sizeof *model->in_setup);
    if (!model->by_setup || !model->first_of || !model->in_setup)
        return EF_MEMORY;
    int count = 0;
    for (int k = 0; k < model->setups; k++) {
        model->first_of[k] = count;
        for (int l = 0; l < lots; l++)
            if (model->setup_of[l] == k)
                list_lot(model, l, model->first_of[k], count++);
    }
    model->first_of[model->setups] = count;
    for (int i = 0; i < lots; i++)
        model->in_setup[model->by_setup[i]] = i;
    return EF_OK;
}

static ef_status fill_setups(efi_season_model *model, int table, const int *first, const int *second)
{
    const efi_season_problem *p = model->problem;
    const int64_t *clean_s = hours_of(p, table);
    const size_t side = (size_t)p->lots + 1;
    const size_t classes = (size_t)model->setups + 1;
    efi_season_setup *setup = efi_arena_get(model->arena, classes * classes, sizeof *setup);
    if (!setup)
        return EF_MEMORY;
    for (size_t i = 0; i < classes; i++) {
        for (size_t j = 0; j < classes; j++) {
            const int to = i == j ? second[i] : first[j];
            if (to < 0)
                continue;
            const size_t pair = (size_t)first[i] * side + (size_t)to;
            const bool never = clean_s[pair] == EFI_SEASON_NEVER;
            setup[i * classes + j] = (efi_season_setup){
                .clean_s = never ? 0 : clean_s[pair],
                .value = price_of(p, table)[pair] + (never ? EFI_SEASON_FORBIDDEN_WEIGHT : 0),
                .row = never || !p->stations ? -1 : p->clean_class[pair]};
        }
    }
    model->setup[table] = setup;
    return EF_OK;
}

static ef_status build_setups(efi_season_model *model)
{
    const efi_season_problem *p = model->problem;
    const size_t side = (size_t)p->lots + 1;
    int *first = efi_arena_get(model->arena, side, sizeof *first);
    int *second = efi_arena_get(model->arena, side, sizeof *second);
    model->setup_of = efi_arena_get(model->arena, side, sizeof *model->setup_of);
    if (!first || !second || !model->setup_of)
        return EF_MEMORY;
    find_classes(model, first, second);
    for (int table = 0; table < tables_of(p); table++)
        EF_TRY(fill_setups(model, table, first, second));
    for (int line = tables_of(p); line < p->lines; line++)
        model->setup[line] = model->setup[0];
    return list_classes(model);
}

/* ---- lots and stores ------------------------------------------------------------------------------------
 */

static void fill_hot(efi_season_model *model, int line)
{
    const efi_season_problem *p = model->problem;
    const efi_season_clock *clock = &model->clock[line];
    efi_season_hot *hot = model->hot[line];
    for (int l = 0; l < p->lots; l++) {
        const efi_season_lot *lot = &p->lot[l];
        const int64_t work_s = p->work_s[(size_t)line * (size_t)p->lots + (size_t)l];
        const int64_t urgent_s = lot->due_s < lot->latest_start_s ? lot->due_s : lot->latest_start_s;
        const bool is_fixed = lot->fixed_start_s != EFI_SEASON_NONE;
        hot[l] = (efi_season_hot){
            .arrives_w = efi_season_clock_work(clock, lot->arrives_s),
            .work_s = work_s,
            .due_s = lot->due_s,
            .latest_start_s = lot->latest_start_s,
            .late_price = lot->late_price,
            .wet_price = lot->wet_price,
            .fixed_w = is_fixed ? efi_season_clock_work(clock, lot->fixed_start_s) : -1,
            .has_run = lot->has_run,
            .is_loose = lot->fixed_line >= 0 && lot->fixed_place < 0,
            .urgent_w = urgent_s == EFI_SEASON_NONE ? clock->work_s : efi_season_clock_work(clock, urgent_s),
            .setup = model->setup_of[l],
            .waits = p->has_passes && lot->after >= 0};
        model->has_passes = model->has_passes || hot[l].waits;
    }
}

/* Lots by arrival, those of the same moment by number: insertion, once. */
static void sort_by_arrival(const efi_season_model *model)
{
    const efi_season_problem *p = model->problem;
    for (int l = 0; l < p->lots; l++) {
        int place = l;
        for (; place > 0 && p->lot[model->by_arrival[place - 1]].arrives_s > p->lot[l].arrives_s; place--)
            model->by_arrival[place] = model->by_arrival[place - 1];
        model->by_arrival[place] = l;
    }
}

static void find_followers(const efi_season_model *model)
{
    const efi_season_problem *p = model->problem;
    for (int l = 0; l < p->lots; l++)
        model->follower[l] = model->next_follower[l] = -1;
    for (int l = p->lots - 1; l >= 0 && p->has_passes; l--) {
        const int after = p->lot[l].after;
        if (after < 0)
            continue;
        model->next_follower[l] = model->follower[after];
        model->follower[after] = l;
    }
}

/* Single stores, the smallest first, equal ones by number. */
static int sort_stores(const efi_season_store *store, int stores, efi_season_single *single)
{
    int count = 0;
    for (int s = 0; s < stores; s++) {
        if (store[s].is_shared)
            continue;
        int place = count++;
        const bool by_volume = store[s].holds_l > 0;
        const int64_t mine = by_volume ? store[s].holds_l : store[s].holds_kg;
        for (; place > 0 && (by_volume ? single[place - 1].holds_l : single[place - 1].holds_kg) > mine;
             place--)
            single[place] = single[place - 1];
        single[place] = (efi_season_single){store[s].holds_kg, store[s].holds_l, store[s].clean_s, s};
    }
    return count;
}

/* Are there single stores of both sorts? */
static bool are_mixed(const efi_season_single *single, int count)
{
    for (int i = 1; i < count; i++)
        if ((single[i].holds_l > 0) != (single[0].holds_l > 0))
            return true;
    return false;
}

static ef_status build_lots(efi_season_model *model)
{
    const efi_season_problem *p = model->problem;
    const size_t lots = (size_t)p->lots;
    model->by_arrival = efi_arena_get(model->arena, lots, sizeof *model->by_arrival);
    model->follower = efi_arena_get(model->arena, lots, sizeof *model->follower);
    model->next_follower = efi_arena_get(model->arena, lots, sizeof *model->next_follower);
    model->raw = efi_arena_get(model->arena, (size_t)p->raws, sizeof *model->raw);
    model->finished = efi_arena_get(model->arena, (size_t)p->finisheds, sizeof *model->finished);
    model->raw_fit = efi_arena_get(model->arena, lots, sizeof *model->raw_fit);
    model->finished_fit = efi_arena_get(model->arena, lots, sizeof *model->finished_fit);
    if (!model->by_arrival || !model->follower || !model->next_follower || !model->raw || !model->finished ||
        !model->raw_fit || !model->finished_fit)
        return EF_MEMORY;
    sort_by_arrival(model);
    find_followers(model);
    model->planned = 0;
    for (int l = 0; l < p->lots; l++)
        model->planned += p->lot[l].was_planned;
    model->raws = sort_stores(p->raw, p->raws, model->raw);
    model->finisheds = sort_stores(p->finished, p->finisheds, model->finished);
    model->mixed[0] = are_mixed(model->raw, model->raws);
    model->mixed[1] = are_mixed(model->finished, model->finisheds);
    for (int l = 0; l < p->lots; l++) {
        model->raw_fit[l] = efi_season_fit(model->raw, model->raws, p->lot[l].raw_kg, p->lot[l].raw_kgpm3);
        model->finished_fit[l] = efi_season_fit(model->finished, model->finisheds, p->lot[l].product_kg,
                                                p->lot[l].product_kgpm3);
    }
    return EF_OK;
}

ef_status efi_season_model_build(efi_season_model *model, const efi_season_problem *problem)
{
    *model = (efi_season_model){.problem = problem, .has_overtime = has_overtime(problem)};
    model->is_monotone = problem->restart_s == 0 && !model->has_overtime;
    if (!is_good(problem))
        return EF_USAGE;
    model->arena = efi_arena_new();
    if (!model->arena)
        return EF_MEMORY;
    EF_TRY(build_setups(model));
    EF_TRY(build_lots(model));
    for (int line = 0; line < problem->lines; line++) {
        EF_TRY(efi_season_clock_build(&model->clock[line], problem, line, model->arena));
        model->hot[line] = efi_arena_get(model->arena, (size_t)problem->lots, sizeof *model->hot[line]);
        if (!model->hot[line])
            return EF_MEMORY;
        fill_hot(model, line);
        EF_TRY(efi_season_through_build(model, line));
    }
    return EF_OK;
}

ef_status efi_season_model_again(efi_season_model *model)
{
    for (int l = 0; l < model->problem->lots; l++)
        if (!lot_is_good(model->problem, l))
            return EF_USAGE;
    for (int line = 0; line < model->problem->lines; line++)
        fill_hot(model, line);
    sort_by_arrival(model);
    return EF_OK;
}

void efi_season_model_free(efi_season_model *model)
{
    efi_arena_free(model->arena);
    *model = (efi_season_model){0};
}
