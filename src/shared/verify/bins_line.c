/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/verify/bins_line.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    SEGMENTS = 64
};

static int rising(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

static bool is_stopped(const efi_trace *trace, double at_h)
{
    int low = 0;
    int high = trace->stops;
    while (low < high) {
        const int middle = (low + high) / 2;
        if (trace->stop[middle].to_h > at_h)
            high = middle;
        else
            low = middle + 1;
    }
    return low < trace->stops && trace->stop[low].from_h <= at_h;
}

/* All moments at which something changes, and the ends; EF_OK or EF_MEMORY. */
static ef_status list_moments(const ef_bins_feed *feed, const efi_bins_trace *trace, double **moment,
                              size_t *count)
{
    size_t machines = 0;
    size_t most = 2;
    for (int u = 0; u < feed->unit_count; u++)
        machines += (size_t)feed->units[u].machines;
    for (size_t m = 0; m < machines; m++)
        most += 2 * (size_t)trace->stops[m].stops;
    double *at = efi_new(most, sizeof *at);
    if (!at)
        return EF_MEMORY;
    size_t n = 0;
    at[n++] = 0.0;
    at[n++] = trace->hours;
    for (size_t m = 0; m < machines; m++) {
        for (int i = 0; i < trace->stops[m].stops; i++) {
            at[n++] = fmin(trace->stops[m].stop[i].from_h, trace->hours);
            at[n++] = fmin(trace->stops[m].stop[i].to_h, trace->hours);
        }
    }
    qsort(at, n, sizeof *at, rising);
    *moment = at;
    *count = n;
    return EF_OK;
}

/* What each segment could pass at a moment, and what the machines of the steady-feed station that run are set
 * to. */
static double capacities(const ef_bins_feed *feed, const efi_bins_trace *trace, double at_h, double *tph)
{
    double set_tph = 0.0;
    size_t machine = 0;
    for (int i = 0; i < feed->segments; i++)
        tph[i] = INFINITY;
    for (int u = 0; u < feed->unit_count; u++) {
        const ef_bins_unit *unit = &feed->units[u];
        const double each = unit->capacity_tph;
        double sum = 0.0;
        for (int m = 0; m < unit->machines; m++)
            sum += is_stopped(&trace->stops[machine++], at_h) ? 0.0 : each;
        tph[unit->segment] = fmin(tph[unit->segment], sum);
        if (strcmp(unit->station, feed->name) == 0 && !unit->echo)
            set_tph = sum;
    }
    return set_tph;
}

/* The bounds between neighbours at one moment; one pass on and one back are enough, as no bound is negative.
 */
static void relax(const ef_bins_feed *feed, const double *volume_t, double *passed_t)
{
    for (int i = 1; i < feed->segments; i++)
        passed_t[i] = fmin(passed_t[i], passed_t[i - 1] + feed->links[i - 1].start_share * volume_t[i - 1]);
    for (int i = feed->segments - 2; i >= 0; i--)
        passed_t[i] = fmin(passed_t[i], passed_t[i + 1] + (1.0 - feed->links[i].start_share) * volume_t[i]);
}

ef_status efi_bins_shortest(const ef_bins_feed *feed, const double *volume_t, const efi_bins_trace *trace,
                            double *shortfall_t)
{
    double *moment = NULL;
    size_t count = 0;
    double passed_t[SEGMENTS] = {0.0};
    double tph[SEGMENTS];
    double set_t = 0.0;
    if (feed->segments > SEGMENTS)
        return EF_INTERNAL;
    EF_TRY(list_moments(feed, trace, &moment, &count));
    for (size_t e = 0; e + 1 < count; e++) {
        const double hours = moment[e + 1] - moment[e];
        if (!(hours > 0.0))
            continue;
        set_t += capacities(feed, trace, moment[e], tph) * hours;
        for (int i = 0; i < feed->segments; i++)
            passed_t[i] += tph[i] * hours;
        relax(feed, volume_t, passed_t);
    }
    efi_free(moment);
    *shortfall_t = set_t - passed_t[feed->feed_segment];
    return EF_OK;
}
