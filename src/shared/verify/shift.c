/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a shift: amounts, their quantiles and limits, mass of every shift. */
#include "shared/verify/shift.h"
#include "base/date.h"
#include "base/locale.h"
#include "base/memory.h"
#include "shared/verify/sample.h"

#include <math.h>
#include <string.h>

int efi_shift_check_find(const efi_shift_check *c, const char *name)
{
    return name ? efi_index_find(&c->scenario->station_index, name, strlen(name)) : -1;
}

/* Both infinite with the same sign, or the same number. */
static bool same_limit(double claimed, double expected)
{
    if (isinf(claimed) || isinf(expected))
        return claimed == expected;
    return efi_differ_same(claimed, expected, 1e-9);
}

void efi_shift_check_estimate(const efi_shift_check *c, const char *what, ef_shift_estimate claimed,
                              double value, double low, double high)
{
    if (!efi_differ_same(claimed.value, value, 1e-9) || !same_limit(claimed.low, low) ||
        !same_limit(claimed.high, high))
        efi_differ(c->list, "%s is given as %.10g (%.10g to %.10g), recomputed %.10g (%.10g to %.10g)", what,
                   claimed.value, claimed.low, claimed.high, value, low, high);
}

/* ---- groups ---------------------------------------------------------------------------------------------
 */

typedef struct amounts {
    const efi_shift_check *check;
    double *product_t; /* shape [runs][periods] */
    double *values;    /* shape [runs][stretches] */
    double *sorted;    /* the same shape */
    int *stretch;      /* shape [periods]: which of the group's stretches it is in, -1 for none */
    int stretches;
} amounts;

static size_t all_shifts(const ef_shift *shift)
{
    return (size_t)shift->runs * (size_t)shift->period_count;
}

/* Parts the shifts of a run into the stretches of a group. */
static void part(amounts *a, const ef_shift_group *group)
{
    const ef_shift *shift = a->check->claim;
    a->stretches = 0;
    for (int p = 0; p < shift->period_count; p++) {
        const ef_shift_period *period = &shift->periods[p];
        int in = -1;
        switch (group->sort) {
        case EF_SHIFT_ALL:
            in = p;
            break;
        case EF_SHIFT_NAMED:
            in = strcmp(period->name, group->name) == 0 ? a->stretches : -1;
            break;
        case EF_SHIFT_DAY:
            in = p > 0 && period->day == shift->periods[p - 1].day ? a->stretches - 1 : a->stretches;
            break;
        case EF_SHIFT_WEEK:
            in = (int)((period->day - shift->from_day) / EFI_WEEK_DAYS);
            in = in < shift->days / EFI_WEEK_DAYS ? in : -1;
            break;
        }
        a->stretch[p] = in;
        a->stretches = in >= a->stretches ? in + 1 : a->stretches;
    }
    if (group->sort == EF_SHIFT_WEEK)
        a->stretches = shift->days / EFI_WEEK_DAYS;
}

static void check_stream(amounts *a, const ef_shift_stream *stream, const double *tonnes)
{
    const efi_shift_check *c = a->check;
    const ef_shift *shift = c->claim;
    const int runs = shift->runs;
    const int per = a->stretches;
    memset(a->values, 0, (size_t)runs * (size_t)per * sizeof *a->values);
    for (size_t i = 0; i < all_shifts(shift); i++) {
        const int in = a->stretch[i % (size_t)shift->period_count];
        if (in >= 0)
            a->values[i / (size_t)shift->period_count * (size_t)per + (size_t)in] += tonnes[i];
    }
    for (int r = 0; r < runs; r++) {
        a->sorted[r] = 0.0;
        for (int i = 0; i < per; i++)
            a->sorted[r] += a->values[r * per + i] / per;
    }
    const efi_sample_limits mean = efi_sample_mean(a->sorted, runs, EFI_VERIFY_CONFIDENCE);
    efi_shift_check_estimate(c, "the mean", stream->mean_t, mean.value, mean.low, mean.high);
    memcpy(a->sorted, a->values, (size_t)runs * (size_t)per * sizeof *a->sorted);
    efi_sample_sort(a->sorted, runs * per);
    const double points[] = {0.1, 0.5, 0.9};
    const ef_shift_estimate claimed[] = {stream->p10_t, stream->p50_t, stream->p90_t};
    static const char *const names[] = {"P10", "P50", "P90"};
    for (int k = 0; k < 3; k++) {
        const efi_sample_limits limits = per == 1 ? efi_sample_order(a->sorted, runs, points[k],
                                                                     EFI_VERIFY_CONFIDENCE)
                                                  : efi_sample_runs(a->values, a->sorted, runs, per,
                                                                    points[k], EFI_VERIFY_CONFIDENCE);
        efi_shift_check_estimate(c, names[k], claimed[k], limits.value, limits.low, limits.high);
    }
}

static void check_group(amounts *a, const ef_shift_group *group)
{
    const efi_shift_check *c = a->check;
    const ef_shift *shift = c->claim;
    efi_text subject = {0};
    part(a, group);
    c->list->subject = group->name;
    efi_differ_count(c->list, "how many of them a run has", group->per_run, a->stretches);
    efi_differ_count(c->list, "the number of streams", group->stream_count, shift->outlet_count + 2);
    double work_h = 0.0;
    for (int p = 0; p < shift->period_count; p++)
        work_h += a->stretch[p] >= 0 ? shift->periods[p].work_h : 0.0;
    efi_differ_number(c->list, "the mean hours of work", "h", group->work_h, work_h / a->stretches, 1e-9);
    for (int s = 0; s < group->stream_count && s < shift->outlet_count + 2; s++) {
        const ef_shift_stream *stream = &group->streams[s];
        subject.length = 0;
        efi_text_addf(&subject, "%s, %s", group->name, stream->name);
        c->list->subject = efi_text_get(&subject);
        efi_differ_words(c->list, "the name", stream->name,
                         s == 0   ? "intake"
                         : s == 1 ? "product"
                                  : shift->outlets[s - 2]);
        efi_differ_flag(c->list, "product", stream->product, s == 1 || (s > 1 && shift->is_product[s - 2]));
        check_stream(a, stream,
                     s == 0   ? shift->intake_t
                     : s == 1 ? a->product_t
                              : shift->outlet_t + (size_t)(s - 2) * all_shifts(shift));
    }
    c->list->subject = NULL;
    efi_text_free(&subject);
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

/* In every single shift: taken in = come out + stayed. */
static void check_mass(const efi_shift_check *c)
{
    const ef_shift *shift = c->claim;
    const size_t shifts = all_shifts(shift);
    for (size_t i = 0; i < shifts; i++) {
        double left_t = shift->intake_t[i] - shift->stock_t[i];
        for (int o = 0; o < shift->outlet_count; o++)
            left_t -= shift->outlet_t[(size_t)o * shifts + i];
        if (!(fabs(left_t) <= EFI_VERIFY_MASS_T * (1.0 + fabs(shift->intake_t[i]) + fabs(shift->stock_t[i]))))
            efi_differ(c->list, "in shift %zu of run %zu %.3g t are missing",
                       i % (size_t)shift->period_count + 1, i / (size_t)shift->period_count + 1, left_t);
    }
}

static void check_outlets(const efi_shift_check *c)
{
    const ef_shift *shift = c->claim;
    for (int o = 0; o < shift->outlet_count; o++) {
        const int s = efi_shift_check_find(c, shift->outlets[o]);
        const bool outlet = s >= 0 && efi_station_class((efi_station_kind)c->scenario->stations[s].kind) ==
                                          EFI_CLASS_OUTLET;
        c->list->subject = shift->outlets[o];
        if (!outlet)
            efi_differ(c->list, "the scenario has no such outlet");
        else
            efi_differ_flag(c->list, "product", shift->is_product[o], c->scenario->stations[s].product);
        c->list->subject = NULL;
    }
}

static void check_histogram(const amounts *a)
{
    const efi_shift_check *c = a->check;
    const ef_shift *shift = c->claim;
    double least = INFINITY;
    double most = -INFINITY;
    for (size_t i = 0; i < all_shifts(shift); i++) {
        least = fmin(least, a->product_t[i]);
        most = fmax(most, a->product_t[i]);
    }
    efi_differ_number(c->list, "the least product in the histogram", "t", shift->histogram_from_t, least,
                      1e-9);
    efi_differ_number(c->list, "the width of its classes", "t", shift->histogram_width_t,
                      (most - least) / shift->histogram_count, 1e-9);
    /* a shift on the border of two classes may be in either */
    long all = 0;
    for (int k = 0; k < shift->histogram_count; k++) {
        const double from = shift->histogram_from_t + k * shift->histogram_width_t;
        const double to = from + shift->histogram_width_t;
        const double slack = 1e-9 * (1.0 + fabs(most));
        long within = 0;
        long near = 0;
        for (size_t i = 0; i < all_shifts(shift); i++) {
            within += a->product_t[i] > from + slack && a->product_t[i] < to - slack;
            near += a->product_t[i] >= from - slack && a->product_t[i] <= to + slack;
        }
        all += shift->histogram[k];
        if (shift->histogram[k] < within || shift->histogram[k] > near)
            efi_differ(c->list, "class %d of the histogram has %d shifts, recomputed %ld to %ld", k + 1,
                       shift->histogram[k], within, near);
    }
    if (all != (long)all_shifts(shift))
        efi_differ(c->list, "the histogram has %ld shifts of %ld", all, (long)all_shifts(shift));
}

static double wide(ef_shift_estimate e)
{
    const double half = e.high - e.value > e.value - e.low ? e.high - e.value : e.value - e.low;
    return e.value > 0.0 ? half / e.value : half > 0.0 ? INFINITY : 0.0;
}

static void check_precision(const efi_shift_check *c)
{
    const ef_shift *shift = c->claim;
    const ef_shift_stream *product = &shift->groups[0].streams[1];
    const double mean = wide(product->mean_t);
    const double middle = wide(product->p50_t);
    const double reached = mean > middle ? mean : middle;
    if (!same_limit(shift->reached, reached))
        efi_differ(c->list, "the precision reached is given as %.10g, recomputed %.10g", shift->reached,
                   reached);
    efi_differ_flag(c->list, "precision reached", shift->precise,
                    shift->precision > 0.0 && reached <= shift->precision);
}

static void check_all_amounts(amounts *a)
{
    const efi_shift_check *c = a->check;
    const ef_shift *shift = c->claim;
    memset(a->product_t, 0, all_shifts(shift) * sizeof *a->product_t);
    for (int o = 0; o < shift->outlet_count; o++)
        for (size_t i = 0; shift->is_product[o] && i < all_shifts(shift); i++)
            a->product_t[i] += shift->outlet_t[(size_t)o * all_shifts(shift) + i];
    check_mass(c);
    check_outlets(c);
    if (shift->group_count < 1 || shift->groups[0].sort != EF_SHIFT_ALL) {
        efi_differ(c->list, "the first group is not that of all shifts");
        return;
    }
    for (int g = 0; g < shift->group_count; g++)
        check_group(a, &shift->groups[g]);
    check_precision(c);
    check_histogram(a);
    double work_h = 0.0;
    for (int p = 0; p < shift->period_count; p++)
        work_h += shift->periods[p].work_h;
    double intake_t = 0.0;
    for (size_t i = 0; i < all_shifts(shift); i++)
        intake_t += shift->intake_t[i] / shift->runs;
    efi_differ_number(c->list, "the planning rate", "t/h", shift->planning_rate_tph,
                      work_h > 0.0 ? intake_t / work_h : 0.0, 1e-9);
}

ef_status efi_shift_check_amounts(const efi_shift_check *c)
{
    const size_t shifts = all_shifts(c->claim);
    amounts a = {.check = c};
    a.product_t = efi_new(shifts, sizeof *a.product_t);
    a.values = efi_new(shifts, sizeof *a.values);
    a.sorted = efi_new(shifts, sizeof *a.sorted);
    a.stretch = efi_new((size_t)c->claim->period_count, sizeof *a.stretch);
    const bool ready = a.product_t && a.values && a.sorted && a.stretch;
    if (ready)
        check_all_amounts(&a);
    efi_free(a.product_t);
    efi_free(a.values);
    efi_free(a.sorted);
    efi_free(a.stretch);
    return ready ? EF_OK : EF_MEMORY;
}

static ef_status find_people(efi_shift_check *c)
{
    efi_arena *arena = efi_arena_new();
    const ef_status status = arena ? efi_shift_check_people(c, arena) : EF_MEMORY;
    efi_arena_free(arena);
    return status;
}

static ef_status check_all(efi_shift_check *c)
{
    const ef_shift *claim = c->claim;
    efi_differ_words(c->list, "the plant", claim->plant, c->scenario->plant->name);
    efi_differ_words(c->list, "the currency", claim->currency, c->scenario->currency);
    c->crop = efi_index_find(&c->scenario->crop_index, claim->crop, strlen(claim->crop));
    if (c->crop < 0 || claim->runs < 2 || claim->period_count < 1 || claim->station_count < 1 ||
        claim->account < 0 || claim->account >= claim->station_count) {
        efi_differ(c->list, "the scenario has no such crop, or there is nothing in the answer");
        return EF_OK;
    }
    efi_differ_number(c->list, "the trade weight", "t/bu", claim->trade_weight_tpbu,
                      c->scenario->crops[c->crop].trade_weight_tpbu.value, 0.0);
    EF_TRY(find_people(c));
    efi_shift_check_calendar(c);
    EF_TRY(efi_shift_check_amounts(c));
    efi_shift_check_hours(c);
    efi_shift_check_cost(c);
    efi_shift_check_levels(c);
    efi_shift_check_remedies(c);
    return EF_OK;
}

ef_status ef_shift_verify(const ef_scenario *scenario, const ef_shift *shift, char **differences)
{
    efi_locale locale;
    EF_TRY(efi_locale_enter(&locale));
    efi_differences list = {.crop = shift->crop};
    efi_shift_check c = {.scenario = scenario, .claim = shift, .list = &list};
    ef_status status = check_all(&c);
    status = efi_differences_end(&list, status, differences);
    efi_locale_leave(&locale);
    return status;
}
