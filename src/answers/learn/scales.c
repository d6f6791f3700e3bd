/* SPDX-License-Identifier: GPL-3.0-or-later
 * Scales: how much an hour while their station runs, and which seem off. */
#include "answers/learn/totals.h"
#include "shared/statistics/quantile.h"

#include <math.h>
#include <stdlib.h>

enum {
    LEAST_FOR_LIMITS = 4,
    LEAST_FOR_RESAMPLES = 40
};
/* An adjustment of less than this share of a total says nothing. */
#define TINY_SHARE 1e-3
/* All to one side by chance: less likely than this, both sides together; and off by at least so much in all.
 */
#define ONE_SIDED 0.01
#define OFF_SHARE 2e-3

static int rising(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

static double rounded(double value)
{
    return round(value * 1e6) / 1e6;
}

/* Hours of work in an interval at which the station was not stopped by its own stops. */
static double running_hours(const efi_totals *t, int station, const ef_learn_interval *interval)
{
    const efi_learn_run *run = t->run;
    double hours = efi_learn_worked(run, station, interval->from_s, interval->to_s);
    for (int i = 0; i < run->learn->row_count; i++) {
        const ef_learn_row *row = &run->rows[i];
        if (row->fate != EF_LEARN_USED || run->stops.items[i].station != station)
            continue;
        const int64_t from_s = row->from_s > interval->from_s ? row->from_s : interval->from_s;
        const int64_t to_s = row->to_s < interval->to_s ? row->to_s : interval->to_s;
        hours -= efi_learn_worked(run, station, from_s, to_s) / run->scenario->stations[station].count;
    }
    return fmax(hours, 0.0);
}

/* Tonnes over hours, with limits from drawing intervals anew. */
static ef_status find_rate(const efi_totals *t, int p, const double *tonnes, const double *hours, int count)
{
    ef_learn_scale *scale = &t->scales[p];
    const int resamples = t->run->settings->resamples;
    double *drawn = efi_learn_get(t->run, (size_t)(resamples > count ? resamples : count), sizeof *drawn);
    if (!drawn)
        return EF_MEMORY;
    double all_t = 0.0;
    for (int i = 0; i < count; i++) {
        all_t += tonnes[i];
        scale->running_h += hours[i];
        drawn[i] = tonnes[i] / hours[i];
    }
    scale->has_rate = scale->running_h > 0.0;
    if (!scale->has_rate)
        return EF_OK;
    qsort(drawn, (size_t)count, sizeof *drawn, rising);
    scale->good_rate_tph = rounded(drawn[(int)floor(0.9 * (count - 1) + 0.5)]);
    scale->rate_tph = (ef_learn_limits){rounded(all_t / scale->running_h), 0.0, INFINITY};
    if (count < LEAST_FOR_LIMITS || resamples < LEAST_FOR_RESAMPLES)
        return EF_OK;
    for (int b = 0; b < resamples; b++) {
        efi_random random = efi_random_stream(t->run->settings->seed, (uint64_t)b,
                                              UINT64_C(1) << 41 | (uint64_t)p);
        double sum_t = 0.0;
        double sum_h = 0.0;
        for (int i = 0; i < count; i++) {
            const uint32_t one = efi_random_below(&random, (uint32_t)count);
            sum_t += tonnes[one];
            sum_h += hours[one];
        }
        drawn[b] = sum_t / sum_h;
    }
    qsort(drawn, (size_t)resamples, sizeof *drawn, rising);
    scale->rate_tph.low = rounded(drawn[(int)(0.025 * (resamples - 1))]);
    scale->rate_tph.high = rounded(drawn[(int)ceil(0.975 * (resamples - 1))]);
    return EF_OK;
}

/* Only what runs has a rate: no bins, no outlets, no single discharges. */
static bool has_rate(const efi_totals *t, int p)
{
    const efi_class class = efi_station_class(
        (efi_station_kind)t->run->scenario->stations[t->scales[p].station].kind);
    return !t->scales[p].discharge && class != EFI_CLASS_BIN && class != EFI_CLASS_OUTLET;
}

static ef_status give_rate(const efi_totals *t, int p)
{
    double *tonnes = efi_learn_get(t->run, (size_t)t->interval_count, sizeof *tonnes);
    double *hours = efi_learn_get(t->run, (size_t)t->interval_count, sizeof *hours);
    int count = 0;
    if (!tonnes || !hours)
        return EF_MEMORY;
    for (int i = 0; i < t->interval_count; i++) {
        const double total_t = t->measured_t[i * t->scale_count + p];
        if (!isfinite(total_t))
            continue;
        const double h = running_hours(t, t->scales[p].station, &t->intervals[i]);
        if (!(h > 0.0))
            continue;
        tonnes[count] = total_t;
        hours[count++] = h;
    }
    return count > 0 ? find_rate(t, p, tonnes, hours, count) : EF_OK;
}

/* The capacity of the station, t/h: a volume by the density of the receipt as it comes there. */
static ef_status find_capacities(const efi_totals *t, double *capacity_tph)
{
    const efi_line *line = &t->line;
    double *rate = efi_learn_get(t->run, (size_t)line->intake_count, sizeof *rate);
    double *feed = efi_learn_get(t->run, (size_t)line->station_count * (size_t)line->materials, sizeof *feed);
    if (!rate || !feed)
        return EF_MEMORY;
    for (int j = 0; j < line->intake_count; j++)
        rate[j] = 1.0;
    EF_TRY(efi_line_flows(line, rate, feed));
    for (int s = 0; s < line->station_count; s++) {
        const efi_value capacity = line->stations[s].capacity;
        const double *x = feed + (size_t)s * (size_t)line->materials;
        const double volume = line->has_density ? efi_line_volume(line, x) : 0.0;
        capacity_tph[s] = capacity.given ? capacity.value : 0.0;
        if (capacity.given && capacity.of == EFI_KIND_VOLUME_RATE)
            capacity_tph[s] = volume > 0.0 ? capacity.value * efi_line_total(line, x) / volume : 0.0;
    }
    return EF_OK;
}

/* Which way it was adjusted, and whether that can be chance. */
static void judge_scale(const efi_totals *t, int p)
{
    ef_learn_scale *scale = &t->scales[p];
    for (int i = 0; i < t->interval_count; i++) {
        const double measured_t = t->measured_t[i * t->scale_count + p];
        const double adjusted_t = t->adjusted_t[i * t->scale_count + p];
        if (!isfinite(measured_t))
            continue;
        scale->intervals++;
        scale->measured_t += measured_t;
        scale->adjusted_t += adjusted_t;
        scale->up += adjusted_t - measured_t > TINY_SHARE * measured_t;
        scale->down += measured_t - adjusted_t > TINY_SHARE * measured_t;
    }
    const int all = scale->up + scale->down;
    const int fewer = scale->up < scale->down ? scale->up : scale->down;
    scale->off_share = scale->measured_t > 0.0
                           ? rounded((scale->adjusted_t - scale->measured_t) / scale->measured_t)
                           : 0.0;
    scale->seems_off = scale->checked && all > 0 && 2.0 * efi_binomial_up_to(fewer, 0.5, all) < ONE_SIDED &&
                       fabs(scale->off_share) >= OFF_SHARE;
}

ef_status efi_totals_give_scales(efi_totals *t)
{
    double *capacity_tph = efi_learn_get(t->run, (size_t)t->line.station_count, sizeof *capacity_tph);
    if (!capacity_tph)
        return EF_MEMORY;
    EF_TRY(find_capacities(t, capacity_tph));
    for (int p = 0; p < t->scale_count; p++) {
        ef_learn_scale *scale = &t->scales[p];
        judge_scale(t, p);
        if (!has_rate(t, p))
            continue;
        EF_TRY(give_rate(t, p));
        if (t->points[p].station < 0)
            continue;
        scale->capacity_tph = capacity_tph[t->points[p].station];
        scale->has_capacity = scale->capacity_tph > 0.0;
        scale->capacity_disagrees = scale->has_capacity && scale->has_rate &&
                                    scale->rate_tph.low > scale->capacity_tph;
    }
    return EF_OK;
}
