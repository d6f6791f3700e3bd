/* SPDX-License-Identifier: GPL-3.0-or-later
 * Bounds of the price of product without room.
 *
 * The product of a lot lies from the end of its run for `leaves_s`. Let s < t. Lots that cannot end before s
 * and end by t lie there within s .. t + (the longest they lie). Of those that lie at a moment, for any theta
 * > 0, no room is there for
 *
 *   sum of min(kg, theta) - sum over single stores of min(holds, theta) - sum over shared stores of holds
 *
 * at least (a single store takes theta off one lot at most, or all it holds; shared stores take what they
 * hold). Summed up over time each such lot has min(kg, theta) * leaves, and the stores hold that for as long
 * as s .. t + longest. With t the end of the calendar that is a bound of the term, as all lots end by then. A
 * lot that is due before another t ends by then or is late until then: it has the lesser of the two prices,
 * and that is a bound of product without room and lateness together. A lot larger than all stores together
 * never has room for the rest. */
#include "shared/season/bound.h"

enum {
    MOST_STARTS = 48,
    THETAS = 3
};

/* A stretch s .. t, and a theta. */
typedef struct stretch {
    int64_t from_s, to_s;
    bool last; /* it ends with the calendar */
    int64_t theta_kg;
} stretch;

static int64_t holds_at_most(const efi_season_store *store, int64_t densest)
{
    return store->holds_l > 0 ? efi_season_scale(store->holds_l, densest, 1000) + 1 : store->holds_kg;
}

static int64_t room_kg(const efi_season_model *model, int64_t theta_kg)
{
    const efi_season_problem *p = model->problem;
    int64_t densest = 1;
    int64_t sum_kg = 0;
    for (int l = 0; l < p->lots; l++)
        densest = p->lot[l].product_kgpm3 > densest ? p->lot[l].product_kgpm3 : densest;
    for (int s = 0; s < p->finisheds; s++) {
        const int64_t mine_kg = holds_at_most(&p->finished[s], densest);
        sum_kg += !p->finished[s].is_shared && theta_kg < mine_kg ? theta_kg : mine_kg;
    }
    return sum_kg;
}

static bool lies(const efi_season_lot *lot)
{
    return !lot->has_run && lot->product_kg > 0 && lot->leaves_s > 0;
}

/* Money for so many kilograms over so long. */
static double price_of(const efi_season_problem *p, int64_t kg, int64_t seconds)
{
    return (double)kg * (double)seconds / (double)EFI_SEASON_DAY_S * (double)p->finished_price / 1000.0;
}

static double bound_of(const efi_season_model *model, const efi_season_hope *hope, const stretch *at)
{
    const efi_season_problem *p = model->problem;
    double sum = 0.0;
    int64_t longest_s = 0;
    for (int l = 0; l < p->lots; l++) {
        const efi_season_lot *lot = &p->lot[l];
        if (!lies(lot) || hope[l].end_s < at->from_s || (!at->last && hope[l].due_s > at->to_s))
            continue;
        const int64_t kg = lot->product_kg < at->theta_kg ? lot->product_kg : at->theta_kg;
        double mine = price_of(p, kg, lot->leaves_s);
        if (!at->last) {
            const double late = (double)(at->to_s - hope[l].due_s) * (double)lot->late_price /
                                (double)EFI_SEASON_DAY_S;
            mine = late < mine ? late : mine;
        }
        sum += mine;
        longest_s = lot->leaves_s > longest_s ? lot->leaves_s : longest_s;
    }
    return sum - price_of(p, room_kg(model, at->theta_kg), at->to_s + longest_s - at->from_s);
}

/* Lots that are larger than all stores. */
static double alone(const efi_season_model *model)
{
    const efi_season_problem *p = model->problem;
    const int64_t all_kg = room_kg(model, EFI_SEASON_MOST);
    double sum = 0.0;
    for (int l = 0; l < p->lots; l++)
        if (lies(&p->lot[l]) && p->lot[l].product_kg > all_kg)
            sum += price_of(p, p->lot[l].product_kg - all_kg, p->lot[l].leaves_s);
    return sum;
}

static void find_thetas(const efi_season_problem *p, int64_t theta_kg[THETAS])
{
    int64_t sum_kg = 0;
    int64_t count = 0;
    theta_kg[0] = 1;
    for (int l = 0; l < p->lots; l++) {
        if (!lies(&p->lot[l]))
            continue;
        theta_kg[0] = p->lot[l].product_kg > theta_kg[0] ? p->lot[l].product_kg : theta_kg[0];
        sum_kg += p->lot[l].product_kg;
        count++;
    }
    theta_kg[1] = count > 0 ? sum_kg / count + 1 : 1;
    theta_kg[2] = theta_kg[1] / 2 + 1;
}

/* Beginnings of stretches: when lots can end. */
static int find_starts(const efi_season_model *model, const efi_season_hope *hope, int64_t *moment)
{
    int count = 0;
    for (int l = 0; l < model->problem->lots; l++)
        if (lies(&model->problem->lot[l]))
            moment[count++] = hope[l].end_s;
    return count;
}

/* Their ends: when lots have been late for so long that it costs as much as no room. */
static int find_ends(const efi_season_model *model, const efi_season_hope *hope, int64_t *moment)
{
    const efi_season_problem *p = model->problem;
    int count = 0;
    for (int l = 0; l < p->lots; l++) {
        const efi_season_lot *lot = &p->lot[l];
        if (!lies(lot) || hope[l].due_s == EFI_SEASON_NONE)
            continue;
        const double days = price_of(p, lot->product_kg, lot->leaves_s) / (double)lot->late_price;
        moment[count++] = hope[l].due_s +
                          (int64_t)((days < 1000.0 ? days : 1000.0) * (double)EFI_SEASON_DAY_S);
    }
    return count;
}

static int64_t sure(const efi_season_problem *p, double price)
{
    const double less = price - (double)p->lots * ((double)p->finished_price / 1000.0 + 2.0); /* rounded */
    const int64_t most = EFI_SEASON_FORBIDDEN_WEIGHT / 4;
    return less <= 0.0 ? 0 : (int64_t)(less < (double)most ? less * (1.0 - 1e-9) : (double)most);
}

ef_status efi_season_bound_finished(const efi_season_model *model, const efi_season_hope *hope,
                                    int64_t *bound, int64_t *with_late)
{
    const efi_season_problem *p = model->problem;
    int64_t *moment = efi_arena_get(model->arena, (size_t)p->lots, sizeof *moment);
    int64_t start_s[MOST_STARTS + 1];
    int64_t end_s[MOST_STARTS + 1];
    int64_t theta_kg[THETAS];
    *bound = *with_late = 0;
    if (!moment)
        return EF_MEMORY;
    if (!p->has_finished || p->finished_price == 0)
        return EF_OK;
    find_thetas(p, theta_kg);
    int count = find_starts(model, hope, moment);
    const int starts = count > 0 ? efi_season_thin(moment, count, MOST_STARTS, start_s) : 0;
    if (starts > 0)
        start_s[0] = moment[0];
    count = find_ends(model, hope, moment);
    const int ends = count > 0 ? efi_season_thin(moment, count, MOST_STARTS, end_s) : 0;
    end_s[ends] = efi_season_end_of_time(model);
    double best = alone(model);
    double together = best;
    for (int i = 0; i < starts * THETAS; i++) {
        for (int to = 0; to <= ends; to++) {
            const stretch at = {start_s[i / THETAS], end_s[to], to == ends, theta_kg[i % THETAS]};
            const double mine = at.to_s > at.from_s ? bound_of(model, hope, &at) : 0.0;
            best = at.last && mine > best ? mine : best;
            together = mine > together ? mine : together;
        }
    }
    *bound = sure(p, best);
    *with_late = sure(p, together);
    return EF_OK;
}
