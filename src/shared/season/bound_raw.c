/* SPDX-License-Identifier: GPL-3.0-or-later
 * A bound of the price of raw material without room.
 *
 * The price of a lot is what of it has no room, times how long it waits: the integral over time of what lies
 * without room. Let s < t and take the free lots that wait for no other and are there within s .. t, the last
 * of them `straight_s` before t. Those of them that have started by t have ended, with their work and least
 * cleaning from the working hours within s .. t, or are among the few that are under way: one on each line,
 * on a line with stations one in each station. The others wait, longer than `straight_s`, and lie in stores
 * of their own. For any theta > 0 what has no room of them is at least
 *
 *   sum over them of min(kg, theta) - sum over stores of min(what they hold, theta):
 *
 * a lot that lies in a store which holds theta or more takes off no more than that store does; any other one
 * has at least kg - (what its stores hold) without room. With theta the largest lot this weighs kilograms,
 * with a small theta it counts lots and stores. What has been started is at most the fractional knapsack of
 * the working hours, which gathers the most for each hour, and those under way at most the largest. */
#include "shared/season/bound.h"

#include <stdlib.h>

enum {
    MOST_POINTS = 192,
    MOST_STARTS = 48,
    THETAS = 4
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
    int64_t theta_kg, room_kg, under_way_kg;
} loads;

static int64_t weight_kg(const loads *l, int i)
{
    const int64_t kg = l->model->problem->lot[l->order[i].lot].raw_kg;
    return kg < l->theta_kg ? kg : l->theta_kg;
}

/* Kilograms without room of lots that are there within from_s .. to_s, once `left_s` hours have been worked.
 */
static int64_t missing_kg(const loads *l, int64_t from_s, int64_t to_s, int64_t left_s)
{
    int64_t kg = -l->under_way_kg - l->room_kg;
    for (int i = 0; i < l->count; i++) {
        const efi_season_hope *hope = &l->hope[l->order[i].lot];
        if (hope->arrives_s < from_s || hope->arrives_s > to_s)
            continue;
        const int64_t mine_kg = weight_kg(l, i);
        if (left_s < hope->work_s) /* what is left of the hours: rounded up */
            kg += mine_kg - (left_s > 0 ? efi_season_scale(left_s, mine_kg, hope->work_s) + 1 : 0);
        left_s -= hope->work_s;
    }
    return kg > 0 ? kg : 0;
}

static void gather(loads *l)
{
    const efi_season_problem *p = l->model->problem;
    for (int lot = 0; lot < p->lots; lot++)
        if (l->hope[lot].is_free && p->lot[lot].raw_kg > 0 && !(p->has_passes && p->lot[lot].after >= 0))
            l->order[l->count++].lot = lot;
}

/* Takes another theta: what is gathered first for each hour, the room, and those under way. */
static void weigh(loads *l, int64_t theta_kg)
{
    int under_way = 0;
    int64_t largest_kg = 0;
    l->theta_kg = theta_kg;
    for (int i = 0; i < l->count; i++) {
        const int64_t kg = weight_kg(l, i);
        l->order[i].ratio = (double)kg / (double)l->hope[l->order[i].lot].work_s;
        largest_kg = kg > largest_kg ? kg : largest_kg;
    }
    qsort(l->order, (size_t)l->count, sizeof *l->order, by_ratio);
    for (int line = 0; line < l->model->problem->lines; line++) {
        const int stations = l->model->through[line].stations;
        under_way += stations > 1 ? stations : 1;
    }
    l->under_way_kg = under_way * largest_kg;
    l->room_kg = efi_season_room_kg(l->model, theta_kg);
}

/* The largest lot, the mean one, and two between and below. */
static void find_thetas(const loads *l, int64_t theta_kg[THETAS])
{
    int64_t sum_kg = 0;
    int64_t largest_kg = 0;
    for (int i = 0; i < l->count; i++) {
        const int64_t kg = l->model->problem->lot[l->order[i].lot].raw_kg;
        sum_kg += kg;
        largest_kg = kg > largest_kg ? kg : largest_kg;
    }
    const int64_t mean_kg = sum_kg / l->count;
    theta_kg[0] = largest_kg;
    theta_kg[1] = mean_kg + (largest_kg - mean_kg) / 4;
    theta_kg[2] = mean_kg;
    theta_kg[3] = mean_kg / 2;
}

/* Where time is parted, and what lies without room in each part at least. */
typedef struct parts {
    int64_t at_s[MOST_POINTS], start_s[MOST_STARTS];
    int64_t most_kg[MOST_POINTS];
    int points, starts;
} parts;

static void find_parts(const loads *l, int64_t *moment, parts *at)
{
    for (int i = 0; i < l->count; i++)
        moment[i] = l->hope[l->order[i].lot].arrives_s;
    at->points = efi_season_thin(moment, l->count, MOST_POINTS, at->at_s);
    at->starts = efi_season_thin(moment, l->count, MOST_STARTS, at->start_s);
    at->start_s[0] = moment[0];
}

/* The end of a part; after the last arrival a day, which is as good as any. */
static int64_t until_s(const loads *l, const parts *at, int i)
{
    return l->model->problem->straight_s +
           (i + 1 < at->points ? at->at_s[i + 1] : at->at_s[i] + EFI_SEASON_DAY_S);
}

static void find_missing(const loads *l, parts *at)
{
    const int64_t slack_s = efi_season_first_clean_s(l->model, l->hope);
    for (int i = 0; i < at->points; i++) {
        const int64_t hours_s = efi_season_hours_before(l->model, until_s(l, at, i)) + slack_s;
        for (int k = 0; k < at->starts && at->start_s[k] <= at->at_s[i]; k++) {
            const int64_t mine_kg = missing_kg(l, at->start_s[k], at->at_s[i],
                                               hours_s - efi_season_hours_before(l->model, at->start_s[k]));
            at->most_kg[i] = mine_kg > at->most_kg[i] ? mine_kg : at->most_kg[i];
        }
    }
}

ef_status efi_season_bound_raw(const efi_season_model *model, const efi_season_hope *hope, int64_t *bound)
{
    const efi_season_problem *p = model->problem;
    const size_t lots = (size_t)p->lots;
    loads l = {.model = model, .hope = hope};
    l.order = efi_arena_get(model->arena, lots, sizeof *l.order);
    int64_t *moment = efi_arena_get(model->arena, lots, sizeof *moment);
    int64_t theta_kg[THETAS];
    parts at = {0};
    int64_t kg_days = 0;
    *bound = 0;
    if (!l.order || !moment)
        return EF_MEMORY;
    if (!p->has_raw || p->raw_price == 0)
        return EF_OK;
    gather(&l);
    if (l.count == 0)
        return EF_OK;
    find_thetas(&l, theta_kg);
    find_parts(&l, moment, &at);
    for (int i = 0; i < THETAS; i++) {
        if (theta_kg[i] == 0)
            continue;
        weigh(&l, theta_kg[i]);
        find_missing(&l, &at);
    }
    for (int i = 0; i < at.points; i++)
        kg_days += efi_season_scale(until_s(&l, &at, i) - at.at_s[i] - p->straight_s, at.most_kg[i],
                                    EFI_SEASON_DAY_S);
    kg_days -= kg_days < p->lots ? kg_days : p->lots; /* each lot's are rounded down, and its price */
    const int64_t price = efi_season_scale(kg_days, p->raw_price, 1000);
    *bound = price > p->lots ? price - p->lots : 0;
    return EF_OK;
}
