/* SPDX-License-Identifier: GPL-3.0-or-later
 * A bound of the price of raw material without room.
 *
 * The price of a lot is what of it has no room, times how long it waits: the integral over time of what lies
 * without room. Let s < t and take the free lots that wait for no other and are there within s .. t, the last
 * of them `straight_s` before t. Those of them that have started by t have ended, with their work from the
 * working hours within s .. t, or are among the few that are under way: one on each line, on a line with
 * stations one in each station. So at most the fractional knapsack of the working hours, which gathers the
 * most kilograms for each hour, and that number times the largest lot have started. The others wait, longer
 * than `straight_s`, and lie in stores of their own: what is more than all stores hold has no room.
 */
#include "shared/season/bound.h"

#include <stdlib.h>

enum {
    MOST_POINTS = 192,
    MOST_STARTS = 48
};

typedef struct load {
    double ratio; /* kilograms an hour */
    int lot;
} load;

static int by_ratio(const void *left, const void *right)
{
    const load *a = left;
    const load *b = right;
    return a->ratio != b->ratio ? (a->ratio < b->ratio) - (a->ratio > b->ratio)
                                : (a->lot > b->lot) - (a->lot < b->lot);
}

typedef struct loads {
    const efi_season_model *model;
    const efi_season_hope *hope;
    load *order; /* shape [count] */
    int count;
    int64_t under_way_kg, room_kg;
} loads;

/* Kilograms without room of lots that are there within from_s .. to_s, once `left_s` hours have been worked.
 */
static int64_t missing_kg(const loads *l, int64_t from_s, int64_t to_s, int64_t left_s)
{
    int64_t kg = -l->under_way_kg - l->room_kg;
    for (int i = 0; i < l->count; i++) {
        const efi_season_hope *hope = &l->hope[l->order[i].lot];
        if (hope->arrives_s < from_s || hope->arrives_s > to_s)
            continue;
        const int64_t mine_kg = l->model->problem->lot[l->order[i].lot].raw_kg;
        if (left_s < hope->work_s) /* what is left of the hours: rounded up */
            kg += mine_kg - (left_s > 0 ? efi_season_scale(left_s, mine_kg, hope->work_s) + 1 : 0);
        left_s -= hope->work_s;
    }
    return kg > 0 ? kg : 0;
}

static void gather(loads *l)
{
    const efi_season_problem *p = l->model->problem;
    int64_t largest_kg = 0;
    for (int lot = 0; lot < p->lots; lot++) {
        const int64_t kg = p->lot[lot].raw_kg;
        if (!l->hope[lot].is_free || kg == 0 || (p->has_passes && p->lot[lot].after >= 0))
            continue;
        l->order[l->count++] = (load){(double)kg / (double)l->hope[lot].work_s, lot};
        largest_kg = kg > largest_kg ? kg : largest_kg;
    }
    qsort(l->order, (size_t)l->count, sizeof *l->order, by_ratio);
    for (int line = 0; line < p->lines; line++) {
        const int stations = l->model->through[line].stations;
        l->under_way_kg += largest_kg * (stations > 1 ? stations : 1);
    }
    int64_t densest = 1; /* stores by volume hold most of it */
    for (int lot = 0; lot < p->lots; lot++)
        densest = p->lot[lot].raw_kgpm3 > densest ? p->lot[lot].raw_kgpm3 : densest;
    for (int i = 0; i < l->model->raws; i++)
        l->room_kg += efi_season_holds_kg(&l->model->raw[i], densest);
}

ef_status efi_season_bound_raw(const efi_season_model *model, const efi_season_hope *hope, int64_t *bound)
{
    const efi_season_problem *p = model->problem;
    const size_t lots = (size_t)p->lots;
    loads l = {.model = model, .hope = hope};
    l.order = efi_arena_get(model->arena, lots, sizeof *l.order);
    int64_t *moment = efi_arena_get(model->arena, lots, sizeof *moment);
    int64_t at_s[MOST_POINTS];
    int64_t start_s[MOST_STARTS];
    *bound = 0;
    if (!l.order || !moment)
        return EF_MEMORY;
    if (!p->has_raw || p->raw_price == 0)
        return EF_OK;
    gather(&l);
    if (l.count == 0)
        return EF_OK;
    for (int i = 0; i < l.count; i++)
        moment[i] = hope[l.order[i].lot].arrives_s;
    const int points = efi_season_thin(moment, l.count, MOST_POINTS, at_s);
    const int starts = efi_season_thin(moment, l.count, MOST_STARTS, start_s);
    start_s[0] = moment[0];
    int64_t kg_days = 0;
    for (int i = 0; i < points; i++) { /* after the last arrival a day, which is as good as any */
        const int64_t from_s = at_s[i] + p->straight_s;
        const int64_t to_s = i + 1 < points ? at_s[i + 1] + p->straight_s : from_s + EFI_SEASON_DAY_S;
        int64_t most_kg = 0;
        for (int k = 0; k < starts && start_s[k] <= at_s[i]; k++) {
            const int64_t hours_s = efi_season_hours_before(model, to_s) -
                                    efi_season_hours_before(model, start_s[k]);
            const int64_t mine_kg = missing_kg(&l, start_s[k], at_s[i], hours_s);
            most_kg = mine_kg > most_kg ? mine_kg : most_kg;
        }
        kg_days += efi_season_scale(to_s - from_s, most_kg, EFI_SEASON_DAY_S);
    }
    kg_days -= kg_days < p->lots ? kg_days : p->lots; /* each lot's are rounded down, and its price */
    const int64_t price = efi_season_scale(kg_days, p->raw_price, 1000);
    *bound = price > p->lots ? price - p->lots : 0;
    return EF_OK;
}
