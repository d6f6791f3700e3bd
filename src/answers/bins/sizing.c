/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 *   minimise   cost(S) + price e
 *   subject to theta >= L[k] + sum_j gradient[k][j] (S[j] - S[k][j])   for each cut k
 *              theta - e <= target,  least[j] <= S[j] <= most[j],  theta, e >= 0  (e = 0 without a price)
 */
#include "answers/bins/sizing.h"

#include "base/memory.h"
#include "base/threads.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    MOST_ROUNDS = 1000,
    BLOCK = 8, /* traces of one job */
    BINS = EFI_FLUID_SEGMENTS_MOST - 1
};
#define GAP_SHARE 1e-8
/* The search also ends where the bound stands still and no more than this is missing: the tolerance of the
 * master program is then all that is left. */
#define STILL_SHARE 1e-6

/* ---- the shortfall over all traces ----------------------------------------------------------------------
 */

typedef struct passes {
    const efi_sizing *sizing;
    const double *volume_t;
    double *shortfall_t; /* shape [traces] */
    double *gradient;    /* shape [traces][bins] */
    int bins;
} passes;

static ef_status run_block(void *context, int block)
{
    const passes *p = context;
    for (int i = block * BLOCK; i < (block + 1) * BLOCK && i < p->sizing->traces; i++)
        EF_TRY(efi_fluid_run(&p->sizing->line[i], p->volume_t, &p->shortfall_t[i],
                             p->gradient + (size_t)i * (size_t)p->bins));
    return EF_OK;
}

typedef struct ranked {
    double shortfall_t;
    int trace;
} ranked;

static int worst_first(const void *left, const void *right)
{
    const ranked *a = left;
    const ranked *b = right;
    if (a->shortfall_t < b->shortfall_t || a->shortfall_t > b->shortfall_t)
        return a->shortfall_t > b->shortfall_t ? -1 : 1;
    return (a->trace > b->trace) - (a->trace < b->trace);
}

/* What each trace counts: 1 / traces, or 1 / (tail traces) for the worst, the last of them in part. */
static ef_status weigh(const passes *p, double *weight)
{
    const int traces = p->sizing->traces;
    const double counted = p->sizing->tail_share * traces;
    if (!(p->sizing->tail_share < 1.0)) {
        for (int i = 0; i < traces; i++)
            weight[i] = 1.0 / traces;
        return EF_OK;
    }
    ranked *order = efi_new((size_t)traces, sizeof *order);
    if (!order)
        return EF_MEMORY;
    for (int i = 0; i < traces; i++)
        order[i] = (ranked){p->shortfall_t[i], i};
    qsort(order, (size_t)traces, sizeof *order, worst_first);
    for (int i = 0; i < traces; i++)
        weight[order[i].trace] = fmin(1.0, fmax(0.0, counted - i)) / counted;
    efi_free(order);
    return EF_OK;
}

static void add_up(const passes *p, const double *weight, double *shortfall_t, double *gradient)
{
    *shortfall_t = 0.0;
    for (int j = 0; gradient && j < p->bins; j++)
        gradient[j] = 0.0;
    for (int i = 0; i < p->sizing->traces; i++) {
        *shortfall_t += weight[i] * p->shortfall_t[i];
        for (int j = 0; gradient && j < p->bins; j++)
            gradient[j] += weight[i] * p->gradient[(size_t)i * (size_t)p->bins + (size_t)j];
    }
}

static ef_status open_passes(passes *p, const efi_sizing *sizing, const double *volume_t)
{
    const size_t traces = (size_t)sizing->traces;
    *p = (passes){.sizing = sizing, .volume_t = volume_t, .bins = efi_sizing_bins(sizing)};
    p->shortfall_t = efi_new(traces, sizeof *p->shortfall_t);
    p->gradient = efi_new(traces * (size_t)p->bins, sizeof *p->gradient);
    return p->shortfall_t && p->gradient ? EF_OK : EF_MEMORY;
}

static void close_passes(passes *p)
{
    efi_free(p->shortfall_t);
    efi_free(p->gradient);
}

static ef_status run_passes(passes *p)
{
    const efi_sizing *sizing = p->sizing;
    if (sizing->pass)
        return sizing->pass(sizing->program, p->volume_t, p->shortfall_t, p->gradient);
    return efi_threads_run(sizing->threads, (sizing->traces + BLOCK - 1) / BLOCK, run_block, p);
}

static ef_status add_passes(const passes *p, double *shortfall_t, double *gradient)
{
    double *weight = efi_new((size_t)p->sizing->traces, sizeof *weight);
    const ef_status status = weight ? weigh(p, weight) : EF_MEMORY;
    if (status == EF_OK)
        add_up(p, weight, shortfall_t, gradient);
    efi_free(weight);
    return status;
}

ef_status efi_sizing_shortfall(const efi_sizing *sizing, const double *volume_t, double *shortfall_t,
                               double *gradient)
{
    passes p;
    ef_status status = open_passes(&p, sizing, volume_t);
    if (status == EF_OK)
        status = run_passes(&p);
    if (status == EF_OK)
        status = add_passes(&p, shortfall_t, gradient);
    close_passes(&p);
    return status;
}

/* ---- volumes and their cost -----------------------------------------------------------------------------
 */

static double size_cost(const efi_sizing_bin *bin, int size)
{
    return bin->size_cost ? bin->size_cost[size] : bin->cost * bin->size[size] + bin->fixed_cost;
}

/* Cost of the size nearest to a volume; between sizes, where nothing is built, it says little. */
static double cost_of_size(const efi_sizing_bin *bin, double volume_t)
{
    int best = 0;
    for (int k = 1; k < bin->sizes; k++)
        if (fabs(bin->size[k] - volume_t) < fabs(bin->size[best] - volume_t))
            best = k;
    return size_cost(bin, best);
}

double efi_sizing_cost(const efi_sizing *sizing, const double *volume_t)
{
    double cost = 0.0;
    for (int j = 0; j < efi_sizing_bins(sizing); j++) {
        const efi_sizing_bin *bin = &sizing->bin[j];
        if (volume_t[j] > EFI_FLUID_LEAST_T)
            cost += bin->sizes > 0 ? cost_of_size(bin, volume_t[j])
                                   : bin->cost * volume_t[j] + bin->fixed_cost;
    }
    return cost;
}

/* S - sum of size z = 0, sum of z <= 1 (= 1 where some volume must be), z whole; the fixed cost goes with z.
 */
static ef_status add_sizes(efi_lp *lp, const efi_sizing_bin *bin, int column)
{
    const bool needed = bin->least_t > 0.0;
    const efi_lp_bounds once = {
        .lower = needed ? 1.0 : 0.0, .upper = 1.0, .has_lower = needed, .has_upper = true};
    int amounts = -1;
    int choice = -1;
    const efi_lp_entry whole = {column, 1.0};
    EF_TRY(efi_lp_add_row(lp, NULL, efi_lp_exactly(0.0), &whole, 1, &amounts));
    EF_TRY(efi_lp_add_row(lp, NULL, once, NULL, 0, &choice));
    for (int k = 0; k < bin->sizes; k++) {
        int z = -1;
        const bool fits = bin->size[k] >= bin->least_t && bin->size[k] <= bin->most_t;
        EF_TRY(
            efi_lp_add_column(lp, NULL, efi_lp_between(0.0, fits ? 1.0 : 0.0), size_cost(bin, k), true, &z));
        EF_TRY(efi_lp_set_entry(lp, amounts, z, -bin->size[k]));
        EF_TRY(efi_lp_set_entry(lp, choice, z, 1.0));
    }
    return EF_OK;
}

ef_status efi_sizing_add_volumes(efi_lp *lp, const efi_sizing *sizing, int *column)
{
    for (int j = 0; j < efi_sizing_bins(sizing); j++) {
        const efi_sizing_bin *bin = &sizing->bin[j];
        const bool free_size = bin->most_t > bin->least_t;
        const bool by_size = free_size && bin->sizes > 0;
        EF_TRY(efi_lp_add_column(lp, "volume", efi_lp_between(by_size ? 0.0 : bin->least_t, bin->most_t),
                                 by_size ? 0.0 : bin->cost, false, &column[j]));
        if (by_size) {
            EF_TRY(add_sizes(lp, bin, column[j]));
        } else if (free_size && bin->fixed_cost > 0.0) {
            int y = -1;
            EF_TRY(efi_lp_add_column(lp, NULL, efi_lp_between(0.0, 1.0), bin->fixed_cost, true, &y));
            const efi_lp_entry entries[] = {{column[j], 1.0}, {y, -bin->most_t}};
            EF_TRY(efi_lp_add_row(lp, NULL, efi_lp_at_most(0.0), entries, 2, NULL));
        }
    }
    return EF_OK;
}

/* ---- the search -----------------------------------------------------------------------------------------
 */

/* A place where the shortfall is known. */
typedef struct point {
    double volume_t[BINS];
    double shortfall_t;
    double cost;
} point;

struct efi_sizing_search {
    const efi_sizing *sizing;
    efi_lp *lp;
    int bins;
    int column[BINS];
    int theta, excess, target_row;
    int first_each; /* theta of the first trace, where each has its own; -1: one for all */
    point *points;  /* those that may be built */
    size_t point_count, point_room;
    bool whole; /* sizes or fixed costs: half way points may not be built */
    int cuts;
    double least_shortfall_t; /* at the greatest volumes */
};

static bool goes_on(const efi_sizing *sizing)
{
    return !sizing->go_on || sizing->go_on(sizing->context);
}

/* theta = mean of those of each trace: where a pass is dear, cuts of each save rounds. */
static ef_status build_each(efi_sizing_search *s)
{
    int sum = -1;
    const efi_lp_entry all = {s->theta, 1.0};
    EF_TRY(efi_lp_add_row(s->lp, NULL, efi_lp_exactly(0.0), &all, 1, &sum));
    for (int i = 0; i < s->sizing->traces; i++) {
        int column = -1;
        EF_TRY(efi_lp_add_column(s->lp, NULL, efi_lp_at_least(0.0), 0.0, false, &column));
        EF_TRY(efi_lp_set_entry(s->lp, sum, column, -1.0 / s->sizing->traces));
        s->first_each = i == 0 ? column : s->first_each;
    }
    return EF_OK;
}

static ef_status build(efi_sizing_search *s)
{
    EF_TRY(efi_sizing_add_volumes(s->lp, s->sizing, s->column));
    EF_TRY(efi_lp_add_column(s->lp, "shortfall", efi_lp_at_least(0.0), 0.0, false, &s->theta));
    EF_TRY(efi_lp_add_column(s->lp, "excess", efi_lp_at_least(0.0), 0.0, false, &s->excess));
    const efi_lp_entry entries[] = {{s->theta, 1.0}, {s->excess, -1.0}};
    EF_TRY(efi_lp_add_row(s->lp, "target", efi_lp_at_most(0.0), entries, 2, &s->target_row));
    s->first_each = -1;
    return s->sizing->pass && !(s->sizing->tail_share < 1.0) ? build_each(s) : EF_OK;
}

static bool chooses_whole(const efi_sizing *sizing)
{
    for (int j = 0; j < efi_sizing_bins(sizing); j++)
        if (sizing->bin[j].most_t > sizing->bin[j].least_t &&
            (sizing->bin[j].sizes > 0 || sizing->bin[j].fixed_cost > 0.0))
            return true;
    return false;
}

efi_sizing_search *efi_sizing_open(const efi_sizing *sizing)
{
    efi_sizing_search *s = efi_new(1, sizeof *s);
    if (!s)
        return NULL;
    s->sizing = sizing;
    s->bins = efi_sizing_bins(sizing);
    s->whole = chooses_whole(sizing);
    s->lp = efi_lp_new();
    if (!s->lp || s->bins > BINS || build(s) != EF_OK) {
        efi_sizing_close(s);
        return NULL;
    }
    return s;
}

void efi_sizing_close(efi_sizing_search *search)
{
    if (!search)
        return;
    efi_lp_free(search->lp);
    efi_free(search->points);
    efi_free(search);
}

/* column >= shortfall + gradient (S - volume). */
static ef_status add_row(efi_sizing_search *s, int column, const double *volume_t, double shortfall_t,
                         const double *gradient)
{
    efi_lp_entry entries[BINS + 1];
    int count = 0;
    double least = shortfall_t;
    for (int j = 0; j < s->bins; j++) {
        least -= gradient[j] * volume_t[j];
        if (fabs(gradient[j]) > 0.0)
            entries[count++] = (efi_lp_entry){s->column[j], -gradient[j]};
    }
    entries[count++] = (efi_lp_entry){column, 1.0};
    s->cuts++;
    return efi_lp_add_row(s->lp, NULL, efi_lp_at_least(least), entries, count, NULL);
}

static ef_status add_rows(efi_sizing_search *s, const passes *p, const point *here, const double *gradient)
{
    if (s->first_each < 0)
        return add_row(s, s->theta, here->volume_t, here->shortfall_t, gradient);
    for (int i = 0; i < s->sizing->traces; i++)
        if (p->shortfall_t[i] > 0.0)
            EF_TRY(add_row(s, s->first_each + i, here->volume_t, p->shortfall_t[i],
                           p->gradient + (size_t)i * (size_t)s->bins));
    return EF_OK;
}

/* Looks at a point and adds its cuts; keeps it where it may be built. */
static ef_status add_cut(efi_sizing_search *s, const double *volume_t, bool may_be_built)
{
    double gradient[BINS] = {0.0};
    point here = {.cost = efi_sizing_cost(s->sizing, volume_t)};
    passes p;
    memcpy(here.volume_t, volume_t, (size_t)s->bins * sizeof *volume_t);
    ef_status status = open_passes(&p, s->sizing, volume_t);
    if (status == EF_OK)
        status = run_passes(&p);
    if (status == EF_OK)
        status = add_passes(&p, &here.shortfall_t, gradient);
    if (status == EF_OK && may_be_built)
        status = efi_grow(&s->points, s->point_count, &s->point_room, sizeof *s->points) == 0 ? EF_OK
                                                                                              : EF_MEMORY;
    if (status == EF_OK && may_be_built)
        s->points[s->point_count++] = here;
    if (status == EF_OK)
        status = add_rows(s, &p, &here, gradient);
    close_passes(&p);
    return status;
}

/* Greatest volumes that may be built: the largest standard size within the most. */
static void greatest(const efi_sizing_search *s, double *volume_t)
{
    for (int j = 0; j < s->bins; j++) {
        const efi_sizing_bin *bin = &s->sizing->bin[j];
        volume_t[j] = bin->most_t;
        if (bin->sizes == 0 || !(bin->most_t > bin->least_t))
            continue;
        volume_t[j] = 0.0;
        for (int k = 0; k < bin->sizes; k++)
            if (bin->size[k] <= bin->most_t)
                volume_t[j] = fmax(volume_t[j], bin->size[k]);
    }
}

static double value_of(const point *p, const efi_sizing_aim *aim, double target_t)
{
    if (aim->priced)
        return p->cost + aim->price * fmax(0.0, p->shortfall_t - target_t);
    return p->shortfall_t <= target_t + EFI_SIZING_SLACK_T ? p->cost : INFINITY;
}

/* The best point so far, -1 when none meets the target. */
static int best_point(const efi_sizing_search *s, const efi_sizing_aim *aim, double target_t, double *value)
{
    int best = -1;
    *value = INFINITY;
    for (size_t i = 0; i < s->point_count; i++) {
        const double own = value_of(&s->points[i], aim, target_t);
        if (own < *value) {
            *value = own;
            best = (int)i;
        }
    }
    return best;
}

static ef_status set_aim(const efi_sizing_search *s, const efi_sizing_aim *aim, double target_t)
{
    EF_TRY(efi_lp_set_row_bounds(s->lp, s->target_row, efi_lp_at_most(target_t)));
    EF_TRY(efi_lp_set_column_bounds(s->lp, s->excess,
                                    aim->priced ? efi_lp_at_least(0.0) : efi_lp_between(0.0, 0.0)));
    return efi_lp_set_objective(s->lp, s->excess, aim->priced ? aim->price : 0.0);
}

/* The optimum of the master program; afresh, and with the usual tolerance, where the fine one leads nowhere.
 */
static ef_status solve_master(const efi_sizing_search *s, efi_lp_result *solved)
{
    efi_lp_options options = efi_lp_defaults();
    options.is_fine = true;
    EF_TRY(efi_lp_solve(s->lp, &options, solved));
    if (solved->outcome == EFI_LP_OPTIMAL)
        return EF_OK;
    efi_lp_forget_basis(s->lp);
    EF_TRY(efi_lp_solve(s->lp, &options, solved));
    if (solved->outcome == EFI_LP_OPTIMAL)
        return EF_OK;
    efi_lp_forget_basis(s->lp);
    options = efi_lp_defaults();
    options.presolve = EFI_LP_PRESOLVE_OFF;
    options.method = EFI_LP_PRIMAL;
    EF_TRY(efi_lp_solve(s->lp, &options, solved));
    return solved->outcome == EFI_LP_OPTIMAL ? EF_OK : EF_NO_ANSWER;
}

/* A volume of the master program without its rounding: within its bounds, and of sizes one of them, or none.
 */
static double settled(const efi_sizing_bin *bin, double volume_t)
{
    if (bin->sizes == 0 || !(bin->most_t > bin->least_t))
        return fmin(fmax(volume_t, bin->least_t), bin->most_t);
    double best_t = 0.0;
    for (int k = 0; k < bin->sizes; k++)
        if (fabs(bin->size[k] - volume_t) < fabs(best_t - volume_t))
            best_t = bin->size[k];
    return best_t;
}

/* One round: the master program's point, and the point half way to the best. */
static ef_status run_round(efi_sizing_search *s, const efi_sizing_aim *aim, double target_t, bool *done,
                           double *bound)
{
    double next[BINS] = {0.0};
    double value = 0.0;
    efi_lp_result solved;
    EF_TRY(solve_master(s, &solved));
    (void)best_point(s, aim, target_t, &value);
    const double gap = value - solved.objective;
    const bool stands_still = solved.objective <= *bound && gap <= STILL_SHARE * fabs(value);
    *bound = fmax(*bound, solved.objective);
    const double enough = s->sizing->gap_share > 0.0 ? s->sizing->gap_share : GAP_SHARE;
    *done = stands_still || gap <= enough * fmax(fabs(value), GAP_SHARE);
    if (*done)
        return EF_OK;
    for (int j = 0; j < s->bins; j++)
        next[j] = settled(&s->sizing->bin[j], efi_lp_values(s->lp)[s->column[j]]);
    EF_TRY(add_cut(s, next, true));
    if (s->first_each >= 0)
        return EF_OK; /* cuts of each trace settle without */
    const int best = best_point(s, aim, target_t, &value);
    for (int j = 0; j < s->bins; j++)
        next[j] = 0.5 * (next[j] + s->points[best].volume_t[j]);
    return add_cut(s, next, !s->whole);
}

/* The first cuts, at the greatest volumes. */
static ef_status begin(efi_sizing_search *s)
{
    double most[BINS] = {0.0};
    if (s->point_count > 0)
        return EF_OK;
    greatest(s, most);
    EF_TRY(add_cut(s, most, true));
    s->least_shortfall_t = s->points[0].shortfall_t;
    return EF_OK;
}

ef_status efi_sizing_solve(efi_sizing_search *search, const efi_sizing_aim *aim, double *volume_t,
                           efi_sizing_result *result)
{
    efi_sizing_search *s = search;
    *result = (efi_sizing_result){0};
    if (!goes_on(s->sizing))
        return EF_STOPPED;
    EF_TRY(begin(s));
    const double target_t = aim->priced ? aim->target_t : fmax(aim->target_t, s->least_shortfall_t);
    EF_TRY(set_aim(s, aim, target_t));
    bool done = false;
    for (int round = 0; !done && !result->stopped; round++) {
        if (round == MOST_ROUNDS)
            return EF_NO_ANSWER;
        result->stopped = !goes_on(s->sizing);
        if (!result->stopped)
            EF_TRY(run_round(s, aim, target_t, &done, &result->bound));
    }
    double value = 0.0;
    const point *best = &s->points[best_point(s, aim, target_t, &value)];
    memcpy(volume_t, best->volume_t, (size_t)s->bins * sizeof *volume_t);
    result->shortfall_t = best->shortfall_t;
    result->cost = best->cost;
    result->cuts = s->cuts;
    return EF_OK;
}
