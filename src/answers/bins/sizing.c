/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 *   minimise   sum_j cost[j] S[j] + price e
 *   subject to theta >= mean[k] + sum_j gradient[k][j] (S[j] - S[k][j])   for each cut k
 *              theta - e <= target,  0 <= S[j] <= most[j],  theta, e >= 0
 */
#include "answers/bins/sizing.h"

#include "base/memory.h"
#include "base/threads.h"
#include "shared/lp/lp.h"

#include <math.h>
#include <string.h>

enum {
    MOST_ROUNDS = 1000,
    BLOCK = 8, /* traces of one job */
    BINS = EFI_FLUID_SEGMENTS_MOST - 1
};
#define GAP_SHARE 1e-8

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

ef_status efi_sizing_mean(const efi_sizing *sizing, const double *volume_t, double *shortfall_t,
                          double *gradient)
{
    const size_t traces = (size_t)sizing->traces;
    const int bins = sizing->line[0].segments - 1;
    passes p = {.sizing = sizing, .volume_t = volume_t, .bins = bins};
    p.shortfall_t = efi_new(traces, sizeof *p.shortfall_t);
    p.gradient = efi_new(traces * (size_t)bins, sizeof *p.gradient);
    ef_status status = p.shortfall_t && p.gradient ? EF_OK : EF_MEMORY;
    if (status == EF_OK)
        status = efi_threads_run(sizing->threads, (sizing->traces + BLOCK - 1) / BLOCK, run_block, &p);
    if (status == EF_OK) {
        *shortfall_t = 0.0;
        for (size_t i = 0; i < traces; i++)
            *shortfall_t += p.shortfall_t[i] / (double)traces;
        for (int j = 0; gradient && j < bins; j++) {
            gradient[j] = 0.0;
            for (size_t i = 0; i < traces; i++)
                gradient[j] += p.gradient[i * (size_t)bins + (size_t)j] / (double)traces;
        }
    }
    efi_free(p.shortfall_t);
    efi_free(p.gradient);
    return status;
}

typedef struct master {
    const efi_sizing *sizing;
    efi_lp *lp;
    int bins; /* columns 0 .. bins - 1 are volumes, then theta, then e */
    double best[BINS];
    double best_value;
    efi_sizing_result *result;
} master;

static ef_status build(master *m)
{
    const efi_sizing *sizing = m->sizing;
    for (int j = 0; j < m->bins; j++) {
        const efi_lp_bounds within = {0.0, sizing->most_t[j], true, true};
        EF_TRY(efi_lp_add_column(m->lp, NULL, within, sizing->cost[j], false, NULL));
    }
    const efi_lp_bounds positive = {.has_lower = true};
    EF_TRY(efi_lp_add_column(m->lp, "shortfall", positive, 0.0, false, NULL));
    EF_TRY(efi_lp_add_column(m->lp, "excess", positive, sizing->price, false, NULL));
    const efi_lp_entry entries[] = {{m->bins, 1.0}, {m->bins + 1, -1.0}};
    const efi_lp_bounds most = {.upper = sizing->target_t, .has_upper = true};
    return efi_lp_add_row(m->lp, "target", most, entries, 2, NULL);
}

/* Evaluates a point, keeps it when it is the best so far, and adds its cut. */
static ef_status add_cut(master *m, const double *point)
{
    efi_lp_entry entries[BINS + 1];
    double gradient[BINS] = {0.0};
    double mean_t = 0.0;
    EF_TRY(efi_sizing_mean(m->sizing, point, &mean_t, gradient));
    double cost = 0.0;
    double least = mean_t;
    for (int j = 0; j < m->bins; j++) {
        cost += m->sizing->cost[j] * point[j];
        least -= gradient[j] * point[j];
        entries[j] = (efi_lp_entry){j, -gradient[j]};
    }
    const double value = cost + m->sizing->price * fmax(0.0, mean_t - m->sizing->target_t);
    if (value < m->best_value) {
        m->best_value = value;
        memcpy(m->best, point, (size_t)m->bins * sizeof *point);
        m->result->shortfall_t = mean_t;
        m->result->cost = cost;
    }
    entries[m->bins] = (efi_lp_entry){m->bins, 1.0};
    m->result->cuts++;
    const efi_lp_bounds above = {.lower = least, .has_lower = true};
    return efi_lp_add_row(m->lp, NULL, above, entries, m->bins + 1, NULL);
}

static ef_status search(master *m)
{
    const efi_lp_options options = efi_lp_defaults();
    double point[BINS];
    EF_TRY(build(m));
    EF_TRY(add_cut(m, m->sizing->most_t));
    for (int round = 0; round < MOST_ROUNDS; round++) {
        efi_lp_result solved;
        EF_TRY(efi_lp_solve(m->lp, &options, &solved));
        if (solved.outcome != EFI_LP_OPTIMAL)
            return EF_NO_ANSWER;
        m->result->bound = solved.objective;
        if (m->best_value - solved.objective <= GAP_SHARE * fmax(m->best_value, GAP_SHARE))
            return EF_OK;
        memcpy(point, efi_lp_values(m->lp), (size_t)m->bins * sizeof *point);
        EF_TRY(add_cut(m, point));
        for (int j = 0; j < m->bins; j++)
            point[j] = 0.5 * (point[j] + m->best[j]);
        EF_TRY(add_cut(m, point));
    }
    return EF_NO_ANSWER;
}

ef_status efi_sizing_solve(const efi_sizing *sizing, double *volume_t, efi_sizing_result *result)
{
    *result = (efi_sizing_result){0};
    master m = {.sizing = sizing, .bins = sizing->line[0].segments - 1, .best_value = INFINITY};
    if (m.bins > BINS)
        return EF_USAGE;
    m.result = result;
    m.lp = efi_lp_new();
    const ef_status status = m.lp ? search(&m) : EF_MEMORY;
    if (status == EF_OK)
        memcpy(volume_t, m.best, (size_t)m.bins * sizeof *volume_t);
    efi_lp_free(m.lp);
    return status;
}
