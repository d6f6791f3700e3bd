/* SPDX-License-Identifier: GPL-3.0-or-later
 * Recorded times judged again: likelihoods from the densities as textbooks give them, time by time; no form
 * near the one found is likelier; limits where the likelihood, or the chi-square distribution, puts them. */
#include "shared/verify/learn.h"

#include "shared/statistics/quantile.h"

#include <math.h>
#include <string.h>

/* A greatest likelihood may be off by this. */
#define LIKELIHOOD_SLACK 1e-5
/* Limits have their loss to this. */
#define LOSS_SLACK 1e-3
/* Rounded times of up to so many grains count by their grain, see EFI_FIT_GRAINS. */
#define GRAINS     12.5
#define CONFIDENCE 0.95
#define ENOUGH     3.0
#define FIXED      0.1

typedef enum form {
    EXPONENTIAL,
    WEIBULL,
    LOGNORMAL,
    GAMMA,
    FORMS
} form;

static const char *const form_words[FORMS] = {"exponential", "weibull", "lognormal", "gamma"};

static int form_of(const char *word)
{
    for (int f = 0; f < FORMS; f++)
        if (strcmp(form_words[f], word) == 0)
            return f;
    return -1;
}

/* P(X > x), and the logarithm of the density. */
static double above(form f, double x, double mean, double shape)
{
    switch (f) {
    case WEIBULL:
        return exp(-pow(x * tgamma(1.0 + 1.0 / shape) / mean, shape));
    case LOGNORMAL:
        return 0.5 * erfc((log(x / mean) + 0.5 * shape * shape) / (shape * sqrt(2.0)));
    case GAMMA:
        return efi_gamma_above(x, shape, mean / shape);
    case EXPONENTIAL:
    case FORMS:
        break;
    }
    return exp(-x / mean);
}

static double log_density(form f, double x, double mean, double shape)
{
    double z;
    double scale;
    switch (f) {
    case WEIBULL:
        scale = mean / tgamma(1.0 + 1.0 / shape);
        return log(shape / scale) + (shape - 1.0) * log(x / scale) - pow(x / scale, shape);
    case LOGNORMAL:
        z = (log(x / mean) + 0.5 * shape * shape) / shape;
        return -0.5 * z * z - log(x * shape * sqrt(2.0 * EF_PI));
    case GAMMA:
        scale = mean / shape;
        return (shape - 1.0) * log(x / scale) - x / scale - log(scale) - lgamma(shape);
    case EXPONENTIAL:
    case FORMS:
        break;
    }
    return -x / mean - log(mean);
}

static double log_one(const ef_learn_times *t, form f, double x, double mean, double shape)
{
    const double grain = t->grain_h;
    if (!(grain > 0.0))
        return log_density(f, x, mean, shape);
    if (x >= GRAINS * grain)
        return log_density(f, x, mean, shape) + log(grain);
    const double k = fmax(floor(x / grain + 0.5), 1.0);
    const double lower = k > 1.5 ? above(f, (k - 0.5) * grain, mean, shape) : 1.0;
    return log(lower - above(f, (k + 0.5) * grain, mean, shape));
}

static double likelihood(const ef_learn_times *t, form f, double mean, double shape)
{
    double sum = 0.0;
    for (int i = 0; i < t->exact_count; i++)
        sum += log_one(t, f, t->exact_h[i], mean, shape);
    for (int i = 0; i < t->longer_count; i++)
        sum += log(above(f, t->longer_h[i], mean, shape));
    if (t->floor_count > 0)
        sum += t->floor_count * log(1.0 - above(f, t->floor_h, mean, shape));
    return sum;
}

/* The greatest likelihood with this mean: golden section in ln shape about a shape. */
static double best_of_shapes(const ef_learn_times *t, form f, double mean, double around)
{
    const double golden = 0.6180339887498949;
    double low = log(around) - 1.5;
    double high = log(around) + 1.5;
    if (f == EXPONENTIAL)
        return likelihood(t, f, mean, 0.0);
    for (int i = 0; i < 60; i++) {
        const double a = high - golden * (high - low);
        const double b = low + golden * (high - low);
        if (likelihood(t, f, mean, exp(a)) >= likelihood(t, f, mean, exp(b)))
            high = b;
        else
            low = a;
    }
    return likelihood(t, f, mean, exp(0.5 * (low + high)));
}

static void check_form(efi_differences *list, const ef_learn_times *t, const ef_learn_form *claimed,
                       const char *what)
{
    const int f = form_of(claimed->form);
    if (f < 0) {
        efi_differ(list, "%s: there is no form \"%s\"", what, claimed->form);
        return;
    }
    if (!isfinite(claimed->log_likelihood))
        return;
    const double l = likelihood(t, (form)f, claimed->mean_h, claimed->shape);
    if (!(fabs(l - claimed->log_likelihood) <= 1e-6 * (1.0 + fabs(l))))
        efi_differ(list, "%s: log-likelihood of %s is %.9g, recomputed %.9g", what, claimed->form,
                   claimed->log_likelihood, l);
    static const double steps[] = {0.999, 1.001, 0.97, 1.03, 0.7, 1.4};
    for (size_t i = 0; i < EF_COUNT(steps); i++)
        for (size_t j = 0; j < EF_COUNT(steps) + 1; j++) {
            const double shape = claimed->shape * (j < EF_COUNT(steps) ? steps[j] : 1.0);
            const bool inside = f == EXPONENTIAL || (shape >= 0.2 && shape <= 5.0);
            if (inside && likelihood(t, (form)f, claimed->mean_h * steps[i], shape) > l + LIKELIHOOD_SLACK) {
                efi_differ(list, "%s: %s with mean %.6g h and shape %.6g is likelier than what was found",
                           what, claimed->form, claimed->mean_h * steps[i], shape);
                return;
            }
        }
}

/* The form taken has the least criterion, a shape only when that pays. */
static void check_choice(efi_differences *list, const ef_learn_times *t, const char *what)
{
    int best = 0;
    for (int i = 0; i < t->form_count; i++) {
        const int parameters = i == 0 ? 1 : 2;
        const double n = t->exact_count;
        const double expected = 2.0 * (parameters - t->forms[i].log_likelihood) +
                                2.0 * parameters * (parameters + 1) / fmax(n - parameters - 1.0, 1.0);
        efi_differ_number(list, "criterion", "", t->forms[i].criterion, expected, 1e-6);
        if (i > 0 && expected < (best ? t->forms[best].criterion : t->forms[0].criterion - 2.0))
            best = i;
    }
    efi_differ_count(list, what, t->best, best);
}

static void check_loss(efi_differences *list, const ef_learn_times *t, const char *what)
{
    const ef_learn_form *taken = t->best >= 0 ? &t->forms[t->best] : NULL;
    const form f = taken ? (form)form_of(taken->form) : EXPONENTIAL;
    const int n = t->exact_count;
    if (n < 2 || (int)f < 0)
        return;
    const double student = efi_quantile_student(0.5 + 0.5 * CONFIDENCE, n - 1);
    const double most = 0.5 * n * log(1.0 + student * student / (n - 1));
    const double l = likelihood(t, f, t->mean_h.value, taken ? taken->shape : 0.0);
    const double limits[] = {t->mean_h.low, t->mean_h.high};
    for (int i = 0; i < 2; i++) {
        if (!(limits[i] > 0.0 && isfinite(limits[i])))
            continue;
        const double loss = l -
                            best_of_shapes(t, f, limits[i], taken && taken->shape > 0.0 ? taken->shape : 1.0);
        if (!(fabs(loss - most) <= LOSS_SLACK * (1.0 + most)))
            efi_differ(list, "%s: at the limit %.6g h the likelihood has lost %.6g, should be %.6g", what,
                       limits[i], loss, most);
    }
}

/* Chi-square limits, by the probabilities they stand for. */
static void check_chi_square(efi_differences *list, const ef_learn_times *t, bool between, const char *what)
{
    const double events = between ? t->watched_stops : t->exact_count;
    const double total_h = between ? t->watched_h : t->mean_h.value * events;
    if (between && events > 0)
        efi_differ_number(list, what, "h", t->mean_h.value, total_h / events, 1e-9);
    if (t->mean_h.low > 0.0) {
        const double p = efi_gamma_above(2.0 * total_h / t->mean_h.low, events + (between ? 1.0 : 0.0), 2.0);
        if (!(fabs(p - 0.025) <= 1e-6))
            efi_differ(list, "%s: the lower limit is passed with probability %.6g, should be 0.025", what, p);
    }
    if (isfinite(t->mean_h.high)) {
        const double p = efi_gamma_up_to(2.0 * total_h / t->mean_h.high, events, 2.0);
        if (!(fabs(p - 0.025) <= 1e-6))
            efi_differ(list, "%s: the upper limit is passed with probability %.6g, should be 0.025", what, p);
    }
}

static void check_fixed(efi_differences *list, const ef_learn_times *t, const char *what)
{
    double sum = 0.0;
    double squares = 0.0;
    const int n = t->exact_count;
    for (int i = 0; i < n; i++)
        sum += t->exact_h[i];
    for (int i = 0; i < n; i++)
        squares += pow(t->exact_h[i] - sum / n, 2.0);
    const double deviation = sqrt(squares / (n - 1));
    efi_differ_number(list, what, "h", t->mean_h.value, sum / n, 1e-9);
    efi_differ_number(list, what, "h", t->mean_h.high,
                      sum / n + efi_quantile_student(0.975, n - 1) * deviation / sqrt(n), 1e-9);
    if (!(deviation <= FIXED * sum / n * (1.0 + 1e-9)))
        efi_differ(list, "%s: the times are not nearly the same", what);
}

void efi_verify_times(efi_differences *list, const ef_learn_times *t, bool between, const char *what)
{
    if (t->is_fixed) {
        check_fixed(list, t, what);
    } else if (t->form_count > 0) {
        for (int i = 0; i < t->form_count; i++)
            check_form(list, t, &t->forms[i], what);
        check_choice(list, t, what);
    }
    if (!t->is_fixed && (t->best > 0 || t->floor_count > 0))
        check_loss(list, t, what);
    else if (!t->is_fixed)
        check_chi_square(list, t, between, what);
    efi_differ_flag(list, "enough", t->enough, t->mean_h.high <= ENOUGH * t->mean_h.low);
    if (!t->enough && t->more_stops < 1)
        efi_differ(list, "%s: the log is short, but no more stops are asked for", what);
}
