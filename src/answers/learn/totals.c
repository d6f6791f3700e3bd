/* SPDX-License-Identifier: GPL-3.0-or-later
 * The log of totals as a table of intervals and scales on the line of one crop. */
#include "answers/learn/totals.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

double efi_totals_feed(const efi_totals *t, int interval, int station)
{
    const double *flow_t = t->flow_t + (size_t)interval * (size_t)t->line.spout_count;
    double feed_t = 0.0;
    for (int k = 0; k < t->line.spout_count; k++)
        feed_t += t->line.spouts[k].to == station ? flow_t[k] : 0.0;
    for (int i = 0; i < t->line.intake_count; i++)
        feed_t += t->line.intakes[i] == station ? t->received_t[interval * t->line.intake_count + i] : 0.0;
    return feed_t;
}

bool efi_totals_shares(const efi_totals *t, int station)
{
    return t->line.first_out[station + 1] - t->line.first_out[station] > 1 &&
           t->line.stations[station].class != EFI_CLASS_BIN;
}

/* ---- the table ------------------------------------------------------------------------------------------
 */

static int find_scale(const efi_totals *t, const efi_log_total *total)
{
    const efi_station *station = &t->run->scenario->stations[total->station];
    const char *discharge = total->discharge >= 0 ? station->discharges.items[total->discharge].name : NULL;
    for (int p = 0; p < t->scale_count; p++)
        if (t->scales[p].station == total->station && t->scales[p].discharge == discharge)
            return p;
    return -1;
}

static efi_point point_of(const efi_totals *t, const efi_log_total *total)
{
    efi_point point = {-1, -1, 0.0};
    for (int s = 0; s < t->line.station_count; s++)
        if (t->line.stations[s].station == total->station)
            point.station = s;
    if (total->discharge < 0 || point.station < 0)
        return point;
    const efi_discharge *of = &t->run->scenario->stations[total->station].discharges.items[total->discharge];
    for (int k = t->line.first_out[point.station]; k < t->line.first_out[point.station + 1]; k++)
        if (t->line.spouts[k].discharge == of)
            point.spout = k;
    if (point.spout < 0)
        point.station = -1;
    return point;
}

static ef_status add_scale(efi_totals *t, const efi_log_total *total)
{
    const efi_station *station = &t->run->scenario->stations[total->station];
    ef_learn_scale *scale = &t->scales[t->scale_count];
    *scale = (ef_learn_scale){.name = station->name, .station = total->station};
    if (total->discharge >= 0) {
        efi_text name = {0};
        scale->discharge = station->discharges.items[total->discharge].name;
        efi_text_addf(&name, "%s.%s", station->name, scale->discharge);
        scale->name = name.failed ? NULL : efi_arena_text(t->run->arena, efi_text_get(&name), name.length);
        efi_text_free(&name);
        if (!scale->name)
            return EF_MEMORY;
    }
    t->points[t->scale_count] = point_of(t, total);
    t->scale_count++;
    return EF_OK;
}

static ef_status find_scales(efi_totals *t)
{
    const efi_total_log *log = &t->run->totals;
    t->scales = efi_learn_get(t->run, (size_t)log->count, sizeof *t->scales);
    t->points = efi_learn_get(t->run, (size_t)log->count, sizeof *t->points);
    if (!t->scales || !t->points)
        return EF_MEMORY;
    for (int i = 0; i < log->count; i++)
        if (log->items[i].used && find_scale(t, &log->items[i]) < 0)
            EF_TRY(add_scale(t, &log->items[i]));
    return EF_OK;
}

/* The items are in order of time, so those of one interval stand together. */
static ef_status find_intervals(efi_totals *t)
{
    const efi_total_log *log = &t->run->totals;
    t->intervals = efi_learn_get(t->run, (size_t)log->count, sizeof *t->intervals);
    if (!t->intervals)
        return EF_MEMORY;
    for (int i = 0; i < log->count; i++) {
        const efi_log_total *total = &log->items[i];
        const ef_learn_interval *last = t->interval_count ? &t->intervals[t->interval_count - 1] : NULL;
        if (total->used && (!last || last->from_s != total->from_s || last->to_s != total->to_s))
            t->intervals[t->interval_count++] = (ef_learn_interval){.from_s = total->from_s,
                                                                    .to_s = total->to_s};
    }
    return EF_OK;
}

static ef_status get_arrays(efi_totals *t)
{
    const size_t n = (size_t)t->interval_count;
    const size_t p = (size_t)t->scale_count;
    const size_t k = (size_t)t->line.spout_count;
    const size_t s = (size_t)t->run->scenario->station_count;
    t->measured_t = efi_learn_get(t->run, n * p, sizeof(double));
    t->adjusted_t = efi_learn_get(t->run, n * p, sizeof(double));
    t->flow_t = efi_learn_get(t->run, n * k, sizeof(double));
    t->received_t = efi_learn_get(t->run, n * (size_t)t->line.intake_count, sizeof(double));
    t->gain_t = efi_learn_get(t->run, n * s, sizeof(double));
    t->full_t = efi_learn_get(t->run, (size_t)t->line.station_count, sizeof(double));
    t->known = efi_learn_get(t->run, n * k, sizeof(bool));
    t->feed_known = efi_learn_get(t->run, n * (size_t)t->line.station_count, sizeof(bool));
    if (!t->measured_t || !t->adjusted_t || !t->flow_t || !t->received_t || !t->gain_t || !t->full_t ||
        !t->known || !t->feed_known)
        return EF_MEMORY;
    for (size_t i = 0; i < n; i++) {
        t->intervals[i].measured_t = t->measured_t + i * p;
        t->intervals[i].adjusted_t = t->adjusted_t + i * p;
        t->intervals[i].flow_t = t->flow_t + i * k;
        t->intervals[i].known = t->known + i * k;
        t->intervals[i].gain_t = t->gain_t + i * s;
    }
    return EF_OK;
}

static int rising(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

static ef_status fill_measured(efi_totals *t)
{
    const efi_total_log *log = &t->run->totals;
    const size_t p = (size_t)t->scale_count;
    double *sorted = efi_learn_get(t->run, (size_t)t->interval_count, sizeof *sorted);
    if (!sorted)
        return EF_MEMORY;
    for (size_t i = 0; i < (size_t)t->interval_count * p; i++)
        t->measured_t[i] = t->adjusted_t[i] = NAN;
    int at = 0;
    for (int i = 0; i < log->count; i++) {
        const efi_log_total *total = &log->items[i];
        if (!total->used)
            continue;
        while (t->intervals[at].from_s != total->from_s || t->intervals[at].to_s != total->to_s)
            at++;
        const size_t cell = (size_t)at * p + (size_t)find_scale(t, total);
        t->measured_t[cell] = t->adjusted_t[cell] = total->tonnes;
    }
    for (int s = 0; s < t->scale_count; s++) {
        int count = 0;
        for (int i = 0; i < t->interval_count; i++)
            if (t->measured_t[(size_t)i * p + (size_t)s] > 0.0)
                sorted[count++] = t->measured_t[(size_t)i * p + (size_t)s];
        qsort(sorted, (size_t)count, sizeof *sorted, rising);
        t->points[s].typical_t = count ? sorted[count / 2] : 0.0;
    }
    return EF_OK;
}

/* What bins of the line can hold, by the density of the receipt. */
static void find_bins(efi_totals *t)
{
    double m3_per_t = 0.0;
    for (int m = 0; m < t->line.materials; m++)
        m3_per_t += t->line.receipt[m] * t->line.m3_per_t[m];
    for (int s = 0; s < t->line.station_count; s++) {
        const efi_line_station *station = &t->line.stations[s];
        if (station->class == EFI_CLASS_BIN && station->of->live_m3.given && t->line.has_density &&
            m3_per_t > 0.0)
            t->full_t[s] = station->of->live_m3.value / m3_per_t;
    }
}

/* ---- to the answer --------------------------------------------------------------------------------------
 */

static ef_status give_spouts(efi_totals *t)
{
    ef_learn_spout *spouts = efi_learn_get(t->run, (size_t)t->line.spout_count, sizeof *spouts);
    if (!spouts)
        return EF_MEMORY;
    for (int k = 0; k < t->line.spout_count; k++) {
        const efi_line_spout *spout = &t->line.spouts[k];
        spouts[k] = (ef_learn_spout){.from = t->line.stations[spout->from].station,
                                     .to = t->line.stations[spout->to].station,
                                     .discharge = spout->discharge ? spout->discharge->name : ""};
    }
    t->run->learn->spouts = spouts;
    t->run->learn->spout_count = t->line.spout_count;
    return EF_OK;
}

static void count_rows(efi_totals *t)
{
    ef_learn *learn = t->run->learn;
    for (int i = 0; i < t->run->totals.count; i++)
        learn->totals_used += t->run->totals.items[i].used;
    learn->totals_rows = t->run->totals.count + t->run->totals.unread;
    learn->totals_not_used = learn->totals_rows - learn->totals_used;
}

ef_status efi_learn_totals(efi_learn_run *run)
{
    efi_totals t = {.run = run};
    EF_TRY(efi_line_build(&t.line, run->arena, run->scenario, run->settings->crop));
    count_rows(&t);
    EF_TRY(find_scales(&t));
    EF_TRY(find_intervals(&t));
    EF_TRY(get_arrays(&t));
    EF_TRY(fill_measured(&t));
    find_bins(&t);
    EF_TRY(efi_totals_observe(&t));
    EF_TRY(efi_totals_reconcile(&t));
    EF_TRY(efi_totals_give_scales(&t));
    EF_TRY(efi_totals_give_shares(&t));
    EF_TRY(give_spouts(&t));
    run->learn->scales = t.scales;
    run->learn->scale_count = t.scale_count;
    run->learn->intervals = t.intervals;
    run->learn->interval_count = t.interval_count;
    return EF_OK;
}
