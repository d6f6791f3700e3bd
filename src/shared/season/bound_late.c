/* SPDX-License-Identifier: GPL-3.0-or-later
 * Bounds that see the working time there is.
 *
 * Below, lots are the free ones (not fixed to a line), a lot has the moment r(j) before which it is not
 * there, due moment d(j) (not before the soonest it can end: what it is late until then is counted
 * elsewhere), price w(j) of a day late and at least p(j) hours of cleaning and work on any line; C(a, b) are
 * the working hours of all lines within a .. b, and so many more as the first lot on each may have been
 * cleaned for before a. A line works on one free lot at a time. */
#include "shared/season/bound.h"

#include <stdlib.h>
#include <string.h>

enum {
    MOST_POINTS = 192,
    MOST_STARTS = 96,
    TAIL = 64
};

typedef struct points {
    int64_t at_s[2 * MOST_POINTS + TAIL + 2];
    int count;
} points;

static bool counts(const efi_season_hope *hope)
{
    return hope->is_free && hope->due_s != EFI_SEASON_NONE;
}

/* ---- lateness -------------------------------------------------------------------------------------------
 */

typedef struct ratio {
    double weight; /* w / p */
    int lot;
} ratio;

static int by_weight(const void *left, const void *right)
{
    const ratio *a = left;
    const ratio *b = right;
    return a->weight != b->weight ? (a->weight > b->weight) - (a->weight < b->weight)
                                  : (a->lot > b->lot) - (a->lot < b->lot);
}

/*
 * Weighted lateness is the integral over time of the prices of the lots that are due and have not ended. Let
 * s < t and take the lots with s <= r(j), d(j) <= t. At a moment u > t those that have ended took their work
 * from the hours within s .. u, so the rest holds at least (sum of p(j)) - C(s, u) hours of work: its price
 * is at least that of the fractional knapsack which gathers so many hours at the least w(j) / p(j).
 */
static int64_t weight_of(const efi_season_model *model, const efi_season_hope *hope, const ratio *order,
                         int count, int64_t from_s, int64_t due_s, int64_t hours_s)
{
    int64_t left_s = -hours_s;
    for (int i = 0; i < count; i++) {
        const efi_season_hope *one = &hope[order[i].lot];
        left_s += one->arrives_s >= from_s && one->due_s <= due_s ? one->work_s : 0;
    }
    int64_t weight = 0;
    for (int i = 0; i < count && left_s > 0; i++) {
        const efi_season_hope *one = &hope[order[i].lot];
        if (one->arrives_s < from_s || one->due_s > due_s)
            continue;
        const int64_t price = model->problem->lot[order[i].lot].late_price;
        weight += left_s >= one->work_s ? price : efi_season_scale(left_s, price, one->work_s);
        left_s -= one->work_s;
    }
    return weight;
}

int64_t efi_season_end_of_time(const efi_season_model *model)
{
    int64_t to_s = INT64_MIN;
    for (int line = 0; line < model->problem->lines; line++) {
        const efi_season_clock *clock = &model->clock[line];
        const int64_t end_s = clock->span[clock->spans].from_s;
        to_s = end_s > to_s ? end_s : to_s;
    }
    return to_s;
}

/* Moments between which the price of what is due and undone is bounded: due moments, then on to the end. */
static void find_points(const efi_season_model *model, int64_t *moment, int count, points *p)
{
    const int64_t to_s = efi_season_end_of_time(model);
    p->count = efi_season_thin(moment, count, MOST_POINTS, p->at_s);
    const int64_t last_s = p->at_s[p->count - 1];
    for (int i = 1; i <= TAIL && to_s > last_s; i++) { /* denser at first */
        const int64_t at_s = last_s + (to_s - last_s) / (TAIL * TAIL) * i * i;
        if (at_s > p->at_s[p->count - 1])
            p->at_s[p->count++] = at_s;
    }
}

ef_status efi_season_bound_late(const efi_season_model *model, const efi_season_hope *hope, int64_t *bound)
{
    const int lots = model->problem->lots;
    ratio *order = efi_arena_get(model->arena, (size_t)lots, sizeof *order);
    int64_t *moment = efi_arena_get(model->arena, (size_t)lots, sizeof *moment);
    int64_t start_s[MOST_STARTS + 1];
    points p;
    int count = 0;
    *bound = 0;
    if (!order || !moment)
        return EF_MEMORY;
    for (int l = 0; l < lots; l++)
        if (counts(&hope[l]))
            order[count++] = (ratio){(double)model->problem->lot[l].late_price / (double)hope[l].work_s, l};
    if (count == 0)
        return EF_OK;
    qsort(order, (size_t)count, sizeof *order, by_weight);
    for (int i = 0; i < count; i++)
        moment[i] = hope[order[i].lot].arrives_s;
    const int starts = efi_season_thin(moment, count, MOST_STARTS, start_s);
    start_s[0] = moment[0]; /* all of them */
    for (int i = 0; i < count; i++)
        moment[i] = hope[order[i].lot].due_s;
    find_points(model, moment, count, &p);
    const int64_t slack_s = efi_season_first_clean_s(model, hope);
    for (int i = 0; i + 1 < p.count; i++) {
        int64_t most = 0;
        const int64_t hours_s = efi_season_hours_before(model, p.at_s[i + 1]) + slack_s;
        for (int k = 0; k < starts && start_s[k] < p.at_s[i]; k++) {
            const int64_t mine = weight_of(model, hope, order, count, start_s[k], p.at_s[i],
                                           hours_s - efi_season_hours_before(model, start_s[k]));
            most = mine > most ? mine : most;
        }
        *bound += efi_season_scale(p.at_s[i + 1] - p.at_s[i], most, EFI_SEASON_DAY_S);
    }
    *bound = *bound > lots ? *bound - lots : 0; /* the price of each lot is rounded down */
    return EF_OK;
}

/* ---- changes of class -----------------------------------------------------------------------------------
 */

/*
 * Let s < t. A free lot j with s <= r(j), d(j) <= t starts within s .. t, or is late until t at least. A line
 * on which lots of k classes start within s .. t has k - 1 changes of class there, each before a lot that
 * starts within s .. t. So with the classes F that have such lots, either class f has a lot that starts
 * there, or all its lots are late until t, at a price P(f). Over all lines (L of them) that costs at least
 *   sum over F of min(P(f), extra(f)) - the L largest of these,
 * extra(f) being what a change into f costs more than the least there is before a lot of f: the first class
 * of each line comes without. Stretches s .. t that do not overlap count different lots and changes, so their
 * costs add up; the best choice of stretches is found from left to right.
 */
static int64_t changes_within(const efi_season_model *model, const int64_t *late, const int64_t *extra)
{
    int64_t largest[EFI_SEASON_MOST_LINES] = {0};
    int64_t sum = 0;
    for (int f = 0; f < model->setups; f++) {
        int64_t mine = late[f] < extra[f] ? late[f] : extra[f];
        sum += mine;
        for (int line = 0; line < model->problem->lines; line++) {
            if (mine > largest[line]) {
                const int64_t other = largest[line];
                largest[line] = mine;
                mine = other;
            }
        }
    }
    for (int line = 0; line < model->problem->lines; line++)
        sum -= largest[line];
    return sum;
}

static void add_late(const efi_season_model *model, const efi_season_hope *hope, int64_t from_s, int64_t to_s,
                     int64_t *late)
{
    memset(late, 0, (size_t)model->setups * sizeof *late);
    for (int l = 0; l < model->problem->lots; l++)
        if (counts(&hope[l]) && hope[l].arrives_s >= from_s && hope[l].due_s < to_s)
            late[model->setup_of[l]] += efi_season_scale(to_s - hope[l].due_s,
                                                         model->problem->lot[l].late_price, EFI_SEASON_DAY_S);
}

ef_status efi_season_bound_changes(const efi_season_model *model, const efi_season_hope *hope, int64_t *bound)
{
    const int lots = model->problem->lots;
    efi_season_entries e;
    EF_TRY(efi_season_find_entries(model, &e));
    int64_t *moment = efi_arena_get(model->arena, 2 * (size_t)lots, sizeof *moment);
    int64_t *late = efi_arena_get(model->arena, (size_t)model->setups, sizeof *late);
    int64_t best[2 * MOST_POINTS] = {0};
    points p;
    int count = 0;
    if (!moment || !late)
        return EF_MEMORY;
    for (int l = 0; l < lots; l++) {
        if (!counts(&hope[l]))
            continue;
        moment[count++] = hope[l].arrives_s;
        moment[count++] = hope[l].due_s;
    }
    p.count = count > 0 ? efi_season_thin(moment, count, MOST_POINTS, p.at_s) : 0;
    if (p.count > 0 && efi_season_end_of_time(model) > p.at_s[p.count - 1])
        p.at_s[p.count++] = efi_season_end_of_time(model);
    for (int to = 1; to < p.count; to++) {
        best[to] = best[to - 1];
        for (int from = 0; from < to; from++) {
            add_late(model, hope, p.at_s[from], p.at_s[to], late);
            const int64_t mine = best[from] + changes_within(model, late, e.extra);
            best[to] = mine > best[to] ? mine : best[to];
        }
    }
    const int64_t less = model->problem->lines * e.less;
    *bound = e.sum - less + (p.count > 0 ? best[p.count - 1] : 0);
    *bound = *bound > 0 ? *bound : 0;
    return EF_OK;
}
