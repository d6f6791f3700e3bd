/* SPDX-License-Identifier: GPL-3.0-or-later
 * Shares of discharges from balanced totals, with limits by drawing intervals anew, and those of the
 * scenario.
 *
 * Least absolute deviations with a sum: minimise sum over k, i of |f[i,k] - s[k] F[i]| subject to sum s[k]
 * = 1. Each s[k] has its own convex sum, so at the optimum all have the same slope: s[k] is the quantile of
 * f[i,k] / F[i], weighted by F[i], at a level that all discharges share, and which makes the quantiles add up
 * to 1. Without the sum it is the weighted median. */
#include "answers/learn/totals.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    LEAST_INTERVALS = 4, /* with fewer no limits are given */
    HALVINGS = 60
};

/* One ratio of flow to feed. */
typedef struct ratio {
    double value;
    double feed_t;
    int interval;
} ratio;

/* The discharges of one station that can be seen, and their ratios. */
typedef struct station_ratios {
    ratio *items[EFI_MOST_DISCHARGES];   /* each shape [count], rising */
    double *weight[EFI_MOST_DISCHARGES]; /* shape [count]: weights summed up to and with each */
    int spout[EFI_MOST_DISCHARGES];
    int spouts;
    int count;
    bool has_sum; /* all discharges are among them */
} station_ratios;

static int by_value(const void *left, const void *right)
{
    const ratio *a = left;
    const ratio *b = right;
    if (a->value != b->value)
        return a->value < b->value ? -1 : 1;
    return (a->interval > b->interval) - (a->interval < b->interval);
}

/* Sums weights: feed times how often the interval was drawn. */
static double sum_weights(station_ratios *r, const int *times)
{
    double all = 0.0;
    for (int d = 0; d < r->spouts; d++) {
        all = 0.0;
        for (int i = 0; i < r->count; i++) {
            all += r->items[d][i].feed_t * times[r->items[d][i].interval];
            r->weight[d][i] = all;
        }
    }
    return all;
}

/* The first ratio up to which there is more than `level` of the weight; where `with` at least that. */
static double quantile(const station_ratios *r, int d, double level, bool with)
{
    int low = 0;
    int high = r->count - 1;
    while (low < high) {
        const int middle = (low + high) / 2;
        const bool reached = with ? r->weight[d][middle] >= level : r->weight[d][middle] > level;
        if (reached)
            high = middle;
        else
            low = middle + 1;
    }
    return r->items[d][low].value;
}

static double sum_at(const station_ratios *r, double level, bool with)
{
    double sum = 0.0;
    for (int d = 0; d < r->spouts; d++)
        sum += quantile(r, d, level, with);
    return sum;
}

/* The shares for these draws. */
static void find_shares(station_ratios *r, const int *times, double *share)
{
    const double all = sum_weights(r, times);
    double low = 0.0;
    double high = all;
    for (int i = 0; i < HALVINGS && r->has_sum; i++) {
        const double middle = 0.5 * (low + high);
        if (sum_at(r, middle, false) >= 1.0)
            high = middle;
        else
            low = middle;
    }
    if (!r->has_sum)
        low = high = 0.5 * all;
    /* the quantiles below and above the common level, and between them so that the sum is 1 */
    const double below = sum_at(r, low, true);
    const double above = sum_at(r, high, false);
    const double part = r->has_sum && above > below ? (1.0 - below) / (above - below)
                        : r->has_sum                ? 0.0
                                                    : 0.5;
    for (int d = 0; d < r->spouts; d++) {
        const double from = quantile(r, d, low, true);
        share[d] = from + fmin(fmax(part, 0.0), 1.0) * (quantile(r, d, high, false) - from);
    }
}

/* ---- what can be seen -----------------------------------------------------------------------------------
 */

static bool is_known(const efi_totals *t, int interval, int spout)
{
    return t->known[interval * t->line.spout_count + spout];
}

/* The intervals in which something came in and the spout's flow and the feed are fixed. */
static bool is_usable(const efi_totals *t, int interval, int station, const station_ratios *r)
{
    if (!t->feed_known[interval * t->line.station_count + station] ||
        !(efi_totals_feed(t, interval, station) > 0.0))
        return false;
    for (int d = 0; d < r->spouts; d++)
        if (!is_known(t, interval, r->spout[d]))
            return false;
    return true;
}

static bool ever_known(const efi_totals *t, int station, int spout)
{
    for (int i = 0; i < t->interval_count; i++)
        if (is_known(t, i, spout) && t->feed_known[i * t->line.station_count + station])
            return true;
    return false;
}

static ef_status collect(const efi_totals *t, int station, station_ratios *r)
{
    const efi_line *line = &t->line;
    for (int k = line->first_out[station]; k < line->first_out[station + 1]; k++)
        if (ever_known(t, station, k))
            r->spout[r->spouts++] = k;
    r->has_sum = r->spouts == line->first_out[station + 1] - line->first_out[station];
    for (int d = 0; d < r->spouts; d++) {
        r->items[d] = efi_learn_get(t->run, (size_t)t->interval_count, sizeof *r->items[d]);
        r->weight[d] = efi_learn_get(t->run, (size_t)t->interval_count, sizeof *r->weight[d]);
        if (!r->items[d] || !r->weight[d])
            return EF_MEMORY;
    }
    for (int i = 0; i < t->interval_count; i++) {
        if (r->spouts == 0 || !is_usable(t, i, station, r))
            continue;
        const double feed_t = efi_totals_feed(t, i, station);
        for (int d = 0; d < r->spouts; d++)
            r->items[d][r->count] = (ratio){t->flow_t[i * line->spout_count + r->spout[d]] / feed_t, feed_t,
                                            i};
        r->count++;
    }
    for (int d = 0; d < r->spouts; d++)
        qsort(r->items[d], (size_t)r->count, sizeof *r->items[d], by_value);
    return EF_OK;
}

/* ---- limits ---------------------------------------------------------------------------------------------
 */

static int rising(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

static double rounded(double share)
{
    return round(share * 1e7) / 1e7;
}

/* Draws intervals anew, as many as there are; limits are the quantiles of the shares (percentile bootstrap:
 * Efron and Tibshirani, An Introduction to the Bootstrap, 1993, chapter 13; from memory). */
static ef_status find_limits(const efi_totals *t, int station, station_ratios *r, ef_learn_limits *limits)
{
    const int resamples = t->run->settings->resamples;
    int *times = efi_learn_get(t->run, (size_t)t->interval_count, sizeof *times);
    double *drawn = efi_learn_get(t->run, (size_t)resamples * (size_t)r->spouts, sizeof *drawn);
    double share[EFI_MOST_DISCHARGES];
    if (!times || !drawn)
        return EF_MEMORY;
    for (int i = 0; i < t->interval_count; i++)
        times[i] = 1;
    find_shares(r, times, share);
    for (int d = 0; d < r->spouts; d++)
        limits[d] = (ef_learn_limits){rounded(share[d]), 0.0, 1.0};
    if (r->count < LEAST_INTERVALS || resamples < 40)
        return EF_OK;
    for (int b = 0; b < resamples; b++) {
        efi_random random = efi_random_stream(t->run->settings->seed, (uint64_t)b,
                                              UINT64_C(1) << 40 | (uint64_t)station);
        memset(times, 0, (size_t)t->interval_count * sizeof *times);
        for (int i = 0; i < r->count; i++)
            times[r->items[0][efi_random_below(&random, (uint32_t)r->count)].interval]++;
        find_shares(r, times, share);
        for (int d = 0; d < r->spouts; d++)
            drawn[d * resamples + b] = share[d];
    }
    for (int d = 0; d < r->spouts; d++) {
        double *one = drawn + d * resamples;
        qsort(one, (size_t)resamples, sizeof *one, rising);
        limits[d].low = rounded(one[(int)(0.025 * (resamples - 1))]);
        limits[d].high = rounded(one[(int)ceil(0.975 * (resamples - 1))]);
    }
    return EF_OK;
}

/* ---- the scenario ---------------------------------------------------------------------------------------
 */

/* What each discharge takes of a feed of the composition that the scenario's receipt has there, shape
 * [spout]. */
static ef_status scenario_shares(const efi_totals *t, double *share)
{
    const efi_line *line = &t->line;
    double *rate = efi_learn_get(t->run, (size_t)line->intake_count, sizeof *rate);
    double *feed = efi_learn_get(t->run, (size_t)line->station_count * (size_t)line->materials, sizeof *feed);
    double *room = efi_learn_get(t->run, (size_t)line->materials, sizeof *room);
    if (!rate || !feed || !room)
        return EF_MEMORY;
    for (int j = 0; j < line->intake_count; j++)
        rate[j] = 1.0;
    EF_TRY(efi_line_flows(line, rate, feed));
    for (int k = 0; k < line->spout_count; k++) {
        const double *x = feed + (size_t)line->spouts[k].from * (size_t)line->materials;
        const double all = efi_line_total(line, x);
        const double *leaving = efi_line_leaving(line, line->spouts[k].from, x, room);
        for (int m = 0; m < line->materials; m++)
            share[k] += all > 0.0 ? line->spouts[k].share[m] * leaving[m] / all : 0.0;
    }
    return EF_OK;
}

static bool has_own_shares(const efi_line_station *station)
{
    return station->class != EFI_CLASS_SPLIT || station->split < 0;
}

static ef_status give_station(const efi_totals *t, int station, const double *scenario_share,
                              ef_learn_share *shares)
{
    const efi_line *line = &t->line;
    const efi_line_station *of = &line->stations[station];
    station_ratios r = {.spouts = 0};
    ef_learn_limits limits[EFI_MOST_DISCHARGES];
    EF_TRY(collect(t, station, &r));
    if (r.count > 0)
        EF_TRY(find_limits(t, station, &r, limits));
    const int first = line->first_out[station];
    for (int k = first; k < line->first_out[station + 1]; k++) {
        const efi_discharge *discharge = line->spouts[k].discharge;
        shares[k - first] = (ef_learn_share){.station = of->of->name,
                                             .discharge = discharge ? discharge->name : "",
                                             .scenario_share = scenario_share[k]};
        if (discharge)
            shares[k - first].place = efi_tree_place(&t->run->scenario->tree, discharge->origin.key);
    }
    for (int d = 0; d < r.spouts && r.count > 0; d++) {
        ef_learn_share *share = &shares[r.spout[d] - first];
        share->seen = true;
        share->share = limits[d];
        share->disagrees = has_own_shares(of) &&
                           (share->scenario_share < limits[d].low || share->scenario_share > limits[d].high);
    }
    return EF_OK;
}

ef_status efi_totals_give_shares(efi_totals *t)
{
    ef_learn_share *shares = efi_learn_get(t->run, (size_t)t->line.spout_count, sizeof *shares);
    double *scenario_share = efi_learn_get(t->run, (size_t)t->line.spout_count, sizeof *scenario_share);
    if (!shares || !scenario_share)
        return EF_MEMORY;
    EF_TRY(scenario_shares(t, scenario_share));
    int count = 0;
    for (int s = 0; s < t->line.station_count; s++) {
        if (!efi_totals_shares(t, s))
            continue;
        EF_TRY(give_station(t, s, scenario_share, shares + count));
        count += t->line.first_out[s + 1] - t->line.first_out[s];
    }
    t->run->learn->shares = shares;
    t->run->learn->share_count = count;
    return EF_OK;
}
