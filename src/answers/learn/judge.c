/* SPDX-License-Identifier: GPL-3.0-or-later
 * Recorded times to a form, a mean with its limits, and the verdicts that follow. */
#include "answers/learn/learn.h"

#include <math.h>

enum {
    LEAST_FOR_FORMS = 8, /* with fewer exact times no form is told from another */
    LEAST_FOR_FIXED = 3
};
/* Times whose standard deviation is at most this share of their mean are taken as always the same. */
#define FIXED_SPREAD 0.1
/* A form with a shape is preferred to the exponential when its criterion is better by more than this, and the
 * scenario's form is doubted when it is worse by more than the second: "substantial" and "considerably less"
 * support (Burnham and Anderson, Model Selection and Multimodel Inference, 2002, section 2.6; from memory).
 */
#define BETTER_BY 2.0
#define WORSE_BY  7.0
/* Limits within this factor of each other are enough to plan with. */
#define ENOUGH_FACTOR 3.0

static const efi_draw_kind kinds[] = {EFI_EXPONENTIAL, EFI_WEIBULL, EFI_LOGNORMAL, EFI_GAMMA};

static efi_times sample_of(const ef_learn_times *times)
{
    return (efi_times){.exact = times->exact_h,
                       .exacts = times->exact_count,
                       .longer = times->longer_h,
                       .longers = times->longer_count,
                       .floor = times->floor_h,
                       .floors = times->floor_count,
                       .grain = times->grain_h};
}

/* Akaike's criterion with the correction for few times (Hurvich and Tsai, Biometrika 76, 1989). */
static double criterion_of(double log_likelihood, int parameters, int times)
{
    const double k = parameters;
    return 2.0 * k - 2.0 * log_likelihood + 2.0 * k * (k + 1.0) / fmax(times - k - 1.0, 1.0);
}

static double mean_of(const ef_learn_times *times)
{
    double sum = 0.0;
    for (int i = 0; i < times->exact_count; i++)
        sum += times->exact_h[i];
    return sum / fmax(times->exact_count, 1.0);
}

static bool is_fixed(const ef_learn_times *times)
{
    if (times->exact_count < LEAST_FOR_FIXED || times->floor_count > 0)
        return false;
    const double mean = mean_of(times);
    double squares = 0.0;
    for (int i = 0; i < times->exact_count; i++)
        squares += (times->exact_h[i] - mean) * (times->exact_h[i] - mean);
    return sqrt(squares / (times->exact_count - 1)) <= FIXED_SPREAD * mean;
}

/* Fits all forms; chooses one. */
static ef_status fit_forms(const efi_learn_run *run, ef_learn_times *times, efi_fit *fits)
{
    const efi_times sample = sample_of(times);
    ef_learn_form *forms = efi_learn_get(run, EF_COUNT(kinds), sizeof *forms);
    if (!forms)
        return EF_MEMORY;
    for (size_t k = 0; k < EF_COUNT(kinds); k++) {
        fits[k] = efi_fit_find(&sample, kinds[k]);
        const double l = fits[k].good ? fits[k].log_likelihood : -INFINITY;
        forms[k] = (ef_learn_form){.form = efi_draw_kind_text(kinds[k]),
                                   .mean_h = fits[k].mean,
                                   .shape = fits[k].shape,
                                   .log_likelihood = l,
                                   .criterion = criterion_of(l, k == 0 ? 1 : 2, sample.exacts),
                                   .p = NAN};
    }
    int best = 0;
    for (int k = 1; k < (int)EF_COUNT(kinds); k++)
        if (forms[k].criterion < (best ? forms[best].criterion : forms[0].criterion - BETTER_BY))
            best = k;
    times->forms = forms;
    times->form_count = EF_COUNT(kinds);
    times->best = best;
    return EF_OK;
}

static ef_status test_form(const efi_learn_run *run, const efi_learn_case *about, ef_learn_times *times,
                           const efi_fit *fit)
{
    const efi_times sample = sample_of(times);
    double total_h = 0.0;
    for (int i = 0; i < sample.exacts; i++)
        total_h += sample.exact[i];
    for (int i = 0; i < sample.longers; i++)
        total_h += sample.longer[i];
    const efi_fit_design design = {.renewals = about->between,
                                   .total_h = total_h,
                                   .count = sample.exacts + sample.floors,
                                   .floor = sample.floors > 0 ? sample.floor : 0.0,
                                   .grain = sample.grain};
    ef_learn_form *forms = efi_arena_get(run->arena, (size_t)times->form_count, sizeof *forms);
    if (!forms)
        return EF_MEMORY;
    for (int k = 0; k < times->form_count; k++)
        forms[k] = times->forms[k];
    times->forms = forms;
    return efi_fit_test(&sample, fit, &design, run->settings->resamples, run->settings->seed, about->stream,
                        &forms[times->best].p);
}

static ef_learn_limits limits_of(efi_estimate e)
{
    return (ef_learn_limits){e.value, e.low, e.high};
}

/* Mean and limits as for exponential times. */
static void take_exponential(const efi_learn_case *about, ef_learn_times *times)
{
    const efi_times sample = sample_of(times);
    if (about->between) {
        times->mean_h = limits_of(
            efi_exponential_limits(times->watched_h, times->watched_stops, false, EFI_LEARN_CONFIDENCE));
        times->method = "all hours watched over the stops in them; chi-square limits, exponential";
        return;
    }
    const efi_fit fit = efi_fit_find(&sample, EFI_EXPONENTIAL);
    if (sample.floors > 0) {
        times->mean_h = fit.good ? limits_of(efi_fit_mean_limits(&sample, &fit, EFI_LEARN_CONFIDENCE))
                                 : (ef_learn_limits){INFINITY, 0.0, INFINITY};
        times->method =
            "greatest likelihood with lengths at the lock-out counted as no longer than that; limits from "
            "the likelihood, exponential";
        return;
    }
    /* without rounding the fitted mean is the sum of all lengths over the number of those that ended */
    times->mean_h = limits_of(efi_exponential_limits(fit.good ? fit.mean * sample.exacts : 0.0, sample.exacts,
                                                     true, EFI_LEARN_CONFIDENCE));
    times->method = "mean length; chi-square limits, exponential";
}

static void take_fixed(ef_learn_times *times)
{
    times->mean_h = limits_of(efi_estimate_mean(times->exact_h, times->exact_count, EFI_LEARN_CONFIDENCE));
    times->mean_h.low = fmax(times->mean_h.low, 0.0);
    times->method = "mean with limits by Student's t, always nearly the same";
    times->is_fixed = true;
    times->best = -1;
    times->form = efi_draw_kind_text(EFI_FIXED);
}

/* Stops after which the limits of an exponential mean are within ENOUGH_FACTOR of each other. */
static int enough_exponential(bool between)
{
    int stops = 1;
    for (;; stops++) {
        const efi_estimate e = efi_exponential_limits(1.0, stops, !between, EFI_LEARN_CONFIDENCE);
        if (e.high <= ENOUGH_FACTOR * e.low)
            return stops;
    }
}

static void judge_number(const efi_learn_case *about, ef_learn_times *times)
{
    const ef_learn_limits m = times->mean_h;
    times->enough = m.high <= ENOUGH_FACTOR * m.low;
    if (times->enough)
        return;
    const bool exponential = times->best <= 0 && !times->is_fixed && times->floor_count == 0;
    const int have = about->between && exponential ? times->watched_stops : times->exact_count;
    int need = have + 1;
    if (exponential)
        need = enough_exponential(about->between);
    else if (m.low > 0.0 && isfinite(m.high))
        need = (int)ceil(have * pow(log(m.high / m.low) / log(ENOUGH_FACTOR), 2.0));
    times->more_stops = need > have ? need - have : 1;
    if (about->between && isfinite(m.value))
        times->more_h = times->more_stops * m.value;
}

ef_status efi_learn_judge(const efi_learn_run *run, const efi_learn_case *about, ef_learn_times *times)
{
    efi_fit fits[EF_COUNT(kinds)];
    times->best = -1;
    times->form = efi_draw_kind_text(EFI_EXPONENTIAL);
    if (!about->many && is_fixed(times)) {
        take_fixed(times);
    } else if (about->many || times->exact_count < LEAST_FOR_FORMS) {
        take_exponential(about, times);
    } else {
        EF_TRY(fit_forms(run, times, fits));
        const efi_fit *fit = &fits[times->best];
        times->form = efi_draw_kind_text(fit->kind);
        times->shape = fit->shape;
        EF_TRY(test_form(run, about, times, fit));
        const efi_times sample = sample_of(times);
        if (times->best == 0) {
            take_exponential(about, times);
        } else {
            times->mean_h = limits_of(efi_fit_mean_limits(&sample, fit, EFI_LEARN_CONFIDENCE));
            times->method = "greatest likelihood; limits from the likelihood";
        }
    }
    judge_number(about, times);
    return EF_OK;
}

/* ---- the scenario ---------------------------------------------------------------------------------------
 */

static const efi_draw_kind kind_of_form[] = {
    [EFI_FORM_EXPONENTIAL] = EFI_EXPONENTIAL,
    [EFI_FORM_WEIBULL] = EFI_WEIBULL,
    [EFI_FORM_LOGNORMAL] = EFI_LOGNORMAL,
    [EFI_FORM_GAMMA] = EFI_GAMMA,
    [EFI_FORM_FIXED] = EFI_FIXED,
};

/* The greatest likelihood of a form of given shape, over its mean: by golden section in ln mean around a
 * mean. */
static double best_likelihood(const efi_times *sample, efi_draw_kind kind, double shape, double around_h)
{
    const double golden = 0.6180339887498949;
    double low = log(around_h) - 3.0;
    double high = log(around_h) + 3.0;
    double a = high - golden * (high - low);
    double b = low + golden * (high - low);
    double at_a = efi_fit_likelihood(sample, kind, exp(a), shape);
    double at_b = efi_fit_likelihood(sample, kind, exp(b), shape);
    for (int i = 0; i < 60; i++) {
        if (at_a >= at_b) {
            high = b;
            b = a;
            at_b = at_a;
            a = high - golden * (high - low);
            at_a = efi_fit_likelihood(sample, kind, exp(a), shape);
        } else {
            low = a;
            a = b;
            at_a = at_b;
            b = low + golden * (high - low);
            at_b = efi_fit_likelihood(sample, kind, exp(b), shape);
        }
    }
    return fmax(at_a, at_b);
}

static bool form_disagrees(const ef_learn_times *times, efi_draw_kind kind, double shape)
{
    if (times->is_fixed)
        return kind != EFI_FIXED && times->exact_count >= LEAST_FOR_FORMS;
    if (times->form_count == 0)
        return false;
    if (kind == EFI_FIXED)
        return true;
    const efi_times sample = sample_of(times);
    const double l = best_likelihood(&sample, kind, shape, times->forms[times->best].mean_h);
    return criterion_of(l, 1, sample.exacts) > times->forms[times->best].criterion + WORSE_BY;
}

void efi_learn_compare(ef_learn_times *times, double mean_h, efi_form form, double shape, bool at_least)
{
    const efi_draw_kind kind = kind_of_form[form];
    times->has_scenario = true;
    times->scenario_mean_h = mean_h;
    times->scenario_form = efi_draw_kind_text(kind);
    times->scenario_shape = shape;
    times->mean_disagrees = mean_h > times->mean_h.high || (!at_least && mean_h < times->mean_h.low);
    times->form_disagrees = !at_least && form_disagrees(times, kind, shape);
}
