/* SPDX-License-Identifier: GPL-3.0-or-later
 * Tonnes by sort of stretch: all shifts, those of one name, days, weeks; and the histogram of all shifts. */
#include "base/tongue.h"
#include "answers/shift/shift.h"

#include "base/date.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    CLASSES = 12
};

static int rising(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

static ef_shift_estimate public_of(efi_estimate estimate)
{
    return (ef_shift_estimate){estimate.value, estimate.low, estimate.high};
}

/* The mean and its limits: of the means of the runs, which are independent. */
static efi_estimate mean_of(const double *values, int runs, int per, double *scratch)
{
    for (int r = 0; r < runs; r++) {
        double sum = 0.0;
        for (int i = 0; i < per; i++)
            sum += values[(size_t)r * (size_t)per + (size_t)i];
        scratch[r] = sum / per;
    }
    return efi_estimate_mean(scratch, runs, EFI_SHIFT_CONFIDENCE);
}

void efi_shift_measure(const double *values, int runs, int per, double *sorted, ef_shift_stream *out)
{
    static const double points[] = {0.1, 0.5, 0.9};
    ef_shift_estimate *const estimates[] = {&out->p10_t, &out->p50_t, &out->p90_t};
    const size_t count = (size_t)runs * (size_t)per;
    out->mean_t = public_of(mean_of(values, runs, per, sorted));
    memcpy(sorted, values, count * sizeof *sorted);
    qsort(sorted, count, sizeof *sorted, rising);
    for (size_t i = 0; i < EF_COUNT(points); i++)
        *estimates[i] = public_of(
            per == 1
                ? efi_estimate_quantile(sorted, runs, points[i], EFI_SHIFT_CONFIDENCE)
                : efi_estimate_cluster_quantile(values, sorted, runs, per, points[i], EFI_SHIFT_CONFIDENCE));
}

static double half_width(ef_shift_estimate e)
{
    const double half = fmax(e.high - e.value, e.value - e.low);
    return e.value > 0.0 ? half / e.value : half > 0.0 ? INFINITY : 0.0;
}

double efi_shift_reached(const ef_shift_stream *stream)
{
    return fmax(half_width(stream->mean_t), half_width(stream->p50_t));
}

/* ---- which shifts belong together -----------------------------------------------------------------------
 */

/* A sort of stretch: which of them each shift of a run is in, -1 for none. */
typedef struct sorting {
    ef_shift_sort of;
    const char *name;
    int *unit; /* shape [periods] */
    int units;
} sorting;

static void sort_all(const ef_shift *shift, const char *name, sorting *out)
{
    for (int p = 0; p < shift->period_count; p++) {
        const bool in = !name || strcmp(shift->periods[p].name, name) == 0;
        out->unit[p] = in ? out->units++ : -1;
    }
}

static void sort_days(const ef_shift *shift, sorting *out)
{
    for (int p = 0; p < shift->period_count; p++) {
        const bool same = p > 0 && shift->periods[p].day == shift->periods[p - 1].day;
        out->unit[p] = same ? out->units - 1 : out->units++;
    }
}

static void sort_weeks(const ef_shift *shift, sorting *out)
{
    out->units = shift->days / EFI_WEEK_DAYS;
    for (int p = 0; p < shift->period_count; p++) {
        const int week = (int)((shift->periods[p].day - shift->from_day) / EFI_WEEK_DAYS);
        out->unit[p] = week < out->units ? week : -1;
    }
}

/* ---- streams --------------------------------------------------------------------------------------------
 */

/* Adds up the tonnes of the shifts of each stretch, run by run: shape [runs][units]. */
static void gather(const ef_shift *shift, const sorting *sort, const double *tonnes, double *values)
{
    memset(values, 0, (size_t)shift->runs * (size_t)sort->units * sizeof *values);
    for (int r = 0; r < shift->runs; r++)
        for (int p = 0; p < shift->period_count; p++)
            if (sort->unit[p] >= 0)
                values[(size_t)r * (size_t)sort->units + (size_t)sort->unit[p]] +=
                    tonnes[(size_t)r * (size_t)shift->period_count + (size_t)p];
}

static ef_status fill_group(efi_shift_run *r, const sorting *sort, double *values, ef_shift_group *out)
{
    const ef_shift *shift = r->shift;
    const size_t shifts = (size_t)shift->runs * (size_t)shift->period_count;
    ef_shift_stream *streams = efi_arena_get(r->arena, 2 + (size_t)shift->outlet_count, sizeof *streams);
    if (!streams)
        return EF_MEMORY;
    *out = (ef_shift_group){.sort = sort->of,
                            .name = sort->name,
                            .per_run = sort->units,
                            .streams = streams,
                            .stream_count = 2 + shift->outlet_count};
    for (int p = 0; p < shift->period_count; p++)
        out->work_h += sort->unit[p] >= 0 ? shift->periods[p].work_h / sort->units : 0.0;
    for (int s = 0; s < out->stream_count; s++) {
        const double *tonnes = s == 0   ? shift->intake_t
                               : s == 1 ? r->product_t
                                        : shift->outlet_t + (size_t)(s - 2) * shifts;
        gather(shift, sort, tonnes, values);
        efi_shift_measure(values, shift->runs, sort->units, r->sorted, &streams[s]);
        streams[s].name = s == 0 ? EFI_TR("intake") : s == 1 ? EFI_TR("product") : shift->outlets[s - 2];
        streams[s].product = s == 1 || (s > 1 && shift->is_product[s - 2]);
    }
    return EF_OK;
}

/* Several names of shifts each get a group of their own. */
static int find_names(const ef_shift *shift, const char **names)
{
    int count = 0;
    for (int p = 0; p < shift->period_count; p++) {
        int k = 0;
        while (k < count && strcmp(names[k], shift->periods[p].name) != 0)
            k++;
        if (k == count)
            names[count++] = shift->periods[p].name;
    }
    return count;
}

static ef_status add_group(efi_shift_run *r, sorting *sort, double *values, ef_shift_group *groups)
{
    return sort->units > 0 ? fill_group(r, sort, values, &groups[r->shift->group_count++]) : EF_OK;
}

static ef_status fill_groups(efi_shift_run *r, const char **names, int *unit, double *values)
{
    ef_shift *shift = r->shift;
    const int name_count = find_names(shift, names);
    ef_shift_group *groups = efi_arena_get(r->arena, (size_t)name_count + 3, sizeof *groups);
    if (!groups)
        return EF_MEMORY;
    shift->groups = groups;
    sorting one = {.of = EF_SHIFT_ALL, .name = EFI_TR("shift"), .unit = unit};
    sort_all(shift, NULL, &one);
    EF_TRY(add_group(r, &one, values, groups));
    if (!shift->on_calendar)
        return EF_OK;
    for (int k = 0; name_count > 1 && k < name_count; k++) {
        one = (sorting){.of = EF_SHIFT_NAMED, .name = names[k], .unit = unit};
        sort_all(shift, names[k], &one);
        EF_TRY(add_group(r, &one, values, groups));
    }
    one = (sorting){.of = EF_SHIFT_DAY, .name = EFI_TR("day"), .unit = unit};
    sort_days(shift, &one);
    EF_TRY(add_group(r, &one, values, groups));
    one = (sorting){.of = EF_SHIFT_WEEK, .name = EFI_TR("week"), .unit = unit};
    sort_weeks(shift, &one);
    return add_group(r, &one, values, groups);
}

/* ---- histogram ------------------------------------------------------------------------------------------
 */

static ef_status fill_histogram(efi_shift_run *r)
{
    ef_shift *shift = r->shift;
    const size_t shifts = (size_t)shift->runs * (size_t)shift->period_count;
    int *histogram = efi_arena_get(r->arena, CLASSES, sizeof *histogram);
    if (!histogram)
        return EF_MEMORY;
    double least = INFINITY;
    double most = -INFINITY;
    for (size_t i = 0; i < shifts; i++) {
        least = fmin(least, r->product_t[i]);
        most = fmax(most, r->product_t[i]);
    }
    shift->histogram_from_t = least;
    shift->histogram_width_t = (most - least) / CLASSES;
    for (size_t i = 0; i < shifts; i++) {
        const double place = most > least ? (r->product_t[i] - least) / (most - least) * CLASSES : 0.0;
        histogram[place < CLASSES ? (int)place : CLASSES - 1]++;
    }
    shift->histogram = histogram;
    shift->histogram_count = CLASSES;
    return EF_OK;
}

static double total(const ef_shift_period *periods, int count)
{
    double work_h = 0.0;
    for (int p = 0; p < count; p++)
        work_h += periods[p].work_h;
    return work_h;
}

ef_status efi_shift_fill_groups(efi_shift_run *r)
{
    ef_shift *shift = r->shift;
    const size_t shifts = (size_t)shift->runs * (size_t)shift->period_count;
    const char **names = efi_new((size_t)shift->period_count, sizeof *names);
    int *unit = efi_new((size_t)shift->period_count, sizeof *unit);
    double *values = efi_new(shifts, sizeof *values);
    ef_status status = names && unit && values ? fill_groups(r, names, unit, values) : EF_MEMORY;
    efi_free(names);
    efi_free(unit);
    efi_free(values);
    EF_TRY(status);
    const double work_h = total(shift->periods, shift->period_count);
    const double intake_t = shift->groups[0].streams[0].mean_t.value * shift->period_count;
    shift->planning_rate_tph = work_h > 0.0 ? intake_t / work_h : 0.0;
    shift->reached = efi_shift_reached(&shift->groups[0].streams[1]);
    return fill_histogram(r);
}
