/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/statistics/fit.h"
#include "base/memory.h"
#include "shared/statistics/quantile.h"

#include <math.h>
#include <stdlib.h>

/* A step of this much in ln mean or ln shape for derivatives. */
#define STEP 1e-4
/* Newton's method has ended when neither moves by more. */
#define STILL 1e-10
enum {
    MOST_STEPS = 60,
    MOST_HALVINGS = 40
};

/* What the likelihood needs of the exact times; the sums of powers are made anew for each shape. Rounded
 * times of few grains are counted by grain and in none of the sums. */
typedef struct sums {
    const efi_times *times;
    int grains[EFI_FIT_GRAINS + 1]; /* how many times of 0, 1, 2 ... grains */
    bool has_grains;
    int count; /* of the others */
    double x;
    double log_x;
    double log_x2;
} sums;

/* Is it a rounded time of few grains? */
static bool in_grains(const efi_times *times, double x)
{
    return times->grain > 0.0 && x < (EFI_FIT_GRAINS + 0.5) * times->grain;
}

static sums sums_of(const efi_times *times)
{
    sums s = {.times = times};
    for (int i = 0; i < times->exacts; i++) {
        if (in_grains(times, times->exact[i])) {
            s.grains[(int)floor(times->exact[i] / times->grain + 0.5)]++;
            s.has_grains = true;
            continue;
        }
        const double l = log(times->exact[i]);
        s.count++;
        s.x += times->exact[i];
        s.log_x += l;
        s.log_x2 += l * l;
    }
    return s;
}

efi_distribution efi_fit_distribution(efi_draw_kind kind, double mean, double shape)
{
    switch (kind) {
    case EFI_WEIBULL:
        return (efi_distribution){kind, mean / tgamma(1.0 + 1.0 / shape), shape};
    case EFI_LOGNORMAL:
        return (efi_distribution){kind, log(mean) - 0.5 * shape * shape, shape};
    case EFI_GAMMA:
        return (efi_distribution){kind, mean / shape, shape};
    case EFI_FIXED:
    case EFI_EXPONENTIAL:
        break;
    }
    return (efi_distribution){kind, mean, 0.0};
}

/* ln P(X > x). */
static double log_above(const efi_distribution *d, double x)
{
    switch (d->kind) {
    case EFI_EXPONENTIAL:
        return -x / d->a;
    case EFI_WEIBULL:
        return -pow(x / d->a, d->b);
    case EFI_LOGNORMAL:
        return log(efi_normal_above((log(x) - d->a) / d->b));
    case EFI_GAMMA:
        return log(efi_gamma_above(x, d->b, d->a));
    case EFI_FIXED:
        break;
    }
    return x < d->a ? 0.0 : -INFINITY;
}

/* ln P(X <= x). */
static double log_up_to(const efi_distribution *d, double x)
{
    switch (d->kind) {
    case EFI_EXPONENTIAL:
        return log(-expm1(-x / d->a));
    case EFI_WEIBULL:
        return log(-expm1(-pow(x / d->a, d->b)));
    case EFI_LOGNORMAL:
        return log(efi_normal_up_to((log(x) - d->a) / d->b));
    case EFI_GAMMA:
        return log(efi_gamma_up_to(x, d->b, d->a));
    case EFI_FIXED:
        break;
    }
    return x >= d->a ? 0.0 : -INFINITY;
}

/* Sum of ln f over the exact times. */
static double log_density(const sums *s, const efi_distribution *d)
{
    const int n = s->count;
    double power = 0.0;
    switch (d->kind) {
    case EFI_EXPONENTIAL:
        return -n * log(d->a) - s->x / d->a;
    case EFI_WEIBULL:
        for (int i = 0; i < s->times->exacts; i++)
            if (!in_grains(s->times, s->times->exact[i]))
                power += pow(s->times->exact[i] / d->a, d->b);
        return n * (log(d->b) - d->b * log(d->a)) + (d->b - 1.0) * s->log_x - power;
    case EFI_LOGNORMAL:
        return -s->log_x - n * (log(d->b) + 0.5 * log(2.0 * EF_PI)) -
               (s->log_x2 - 2.0 * d->a * s->log_x + n * d->a * d->a) / (2.0 * d->b * d->b);
    case EFI_GAMMA:
        return (d->b - 1.0) * s->log_x - s->x / d->a - n * (d->b * log(d->a) + lgamma(d->b));
    case EFI_FIXED:
        break;
    }
    return -INFINITY;
}

/* P(X <= x). */
static double up_to(const efi_distribution *d, double x)
{
    switch (d->kind) {
    case EFI_EXPONENTIAL:
        return -expm1(-x / d->a);
    case EFI_WEIBULL:
        return -expm1(-pow(x / d->a, d->b));
    case EFI_LOGNORMAL:
        return efi_normal_up_to((log(x) - d->a) / d->b);
    case EFI_GAMMA:
        return efi_gamma_up_to(x, d->b, d->a);
    case EFI_FIXED:
        break;
    }
    return x >= d->a ? 1.0 : 0.0;
}

/* Sum of ln P over the rounded times of few grains: 0 and 1 grain lie below 1.5, k grains from k - 0.5 to k +
 * 0.5. */
static double log_grains(const sums *s, const efi_distribution *d)
{
    double sum = 0.0;
    double below = 0.0;
    for (int k = 1; k <= EFI_FIT_GRAINS; k++) {
        const double above = up_to(d, (k + 0.5) * s->times->grain);
        const int count = s->grains[k] + (k == 1 ? s->grains[0] : 0);
        if (count > 0)
            sum += count * log(above - below);
        below = above;
    }
    return sum;
}

static double likelihood(const sums *s, efi_draw_kind kind, double mean, double shape)
{
    const efi_distribution d = efi_fit_distribution(kind, mean, shape);
    double sum = log_density(s, &d);
    if (s->times->grain > 0.0)
        sum += s->count * log(s->times->grain);
    if (s->has_grains)
        sum += log_grains(s, &d);
    for (int i = 0; i < s->times->longers; i++)
        sum += log_above(&d, s->times->longer[i]);
    if (s->times->floors > 0)
        sum += s->times->floors * log_up_to(&d, s->times->floor);
    return sum;
}

double efi_fit_likelihood(const efi_times *times, efi_draw_kind kind, double mean, double shape)
{
    const sums s = sums_of(times);
    return likelihood(&s, kind, mean, shape);
}

/* ---- the search -----------------------------------------------------------------------------------------
 */

/* A point of the search: u = ln mean, v = ln shape. */
typedef struct point {
    double u;
    double v;
} point;

static double at(const sums *s, efi_draw_kind kind, point p)
{
    return likelihood(s, kind, exp(p.u), exp(p.v));
}

static bool has_shape(efi_draw_kind kind)
{
    return kind == EFI_WEIBULL || kind == EFI_LOGNORMAL || kind == EFI_GAMMA;
}

static double clamp_v(efi_draw_kind kind, double v)
{
    const double least = kind == EFI_LOGNORMAL ? -log(EFI_FIT_MOST_SHAPE) : log(EFI_FIT_LEAST_SHAPE);
    const double most = kind == EFI_LOGNORMAL ? -log(EFI_FIT_LEAST_SHAPE) : log(EFI_FIT_MOST_SHAPE);
    return fmin(fmax(v, least), most);
}

/* Where to begin: from mean and spread of all times, taken as exact. */
static point begin(const sums *s, efi_draw_kind kind)
{
    const efi_times *t = s->times;
    double x = 0.5 * t->floors * t->floor;
    double l = s->log_x;
    double l2 = s->log_x2;
    for (int k = 0; k <= EFI_FIT_GRAINS && s->has_grains; k++) {
        const double log_k = log(fmax(k, 1.0) * t->grain);
        l += s->grains[k] * log_k;
        l2 += s->grains[k] * log_k * log_k;
    }
    for (int i = 0; i < t->exacts; i++)
        x += t->exact[i];
    for (int i = 0; i < t->longers; i++)
        x += t->longer[i];
    const double mean = x / fmax(t->exacts + 0.5 * t->floors, 1.0);
    const double spread = t->exacts > 1 ? l2 / t->exacts - pow(l / t->exacts, 2.0) : 1.0;
    const double sigma = sqrt(fmax(spread, 1e-4));
    double shape = sigma; /* lognormal */
    if (kind == EFI_WEIBULL)
        shape = EF_PI / sqrt(6.0) / sigma; /* the spread of ln X is pi / (shape sqrt 6) */
    if (kind == EFI_GAMMA)
        shape = 1.0 / (sigma * sigma);
    return (point){log(mean), clamp_v(kind, log(shape))};
}

/* Gradient and second derivatives by central differences. */
typedef struct slopes {
    double u, v;
    double uu, uv, vv;
} slopes;

static slopes slopes_at(const sums *s, efi_draw_kind kind, point p, double here)
{
    const double e = STEP;
    const double up = at(s, kind, (point){p.u + e, p.v});
    const double down = at(s, kind, (point){p.u - e, p.v});
    slopes d = {.u = (up - down) / (2.0 * e), .uu = (up - 2.0 * here + down) / (e * e)};
    if (!has_shape(kind))
        return d;
    const double right = at(s, kind, (point){p.u, p.v + e});
    const double left = at(s, kind, (point){p.u, p.v - e});
    const double both = at(s, kind, (point){p.u + e, p.v + e});
    const double none = at(s, kind, (point){p.u - e, p.v - e});
    d.v = (right - left) / (2.0 * e);
    d.vv = (right - 2.0 * here + left) / (e * e);
    d.uv = (both - up - right + 2.0 * here - down - left + none) / (2.0 * e * e);
    return d;
}

/* Newton's step where the likelihood is curved downwards, else a short one uphill. */
static point step_of(const slopes *d, bool shaped, bool mean_moves)
{
    point step = {0};
    const double turn = d->uu * d->vv - d->uv * d->uv;
    if (shaped && mean_moves && d->uu < 0.0 && turn > 0.0) {
        step = (point){(d->uv * d->v - d->vv * d->u) / turn, (d->uv * d->u - d->uu * d->v) / turn};
    } else {
        if (mean_moves)
            step.u = d->uu < 0.0 ? -d->u / d->uu : copysign(0.1, d->u);
        if (shaped)
            step.v = d->vv < 0.0 ? -d->v / d->vv : copysign(0.1, d->v);
    }
    const double longest = fmax(fabs(step.u), fabs(step.v));
    const double most = 1.0;
    return longest > most ? (point){step.u * most / longest, step.v * most / longest} : step;
}

/* Climbs to the greatest likelihood; with the mean held where `mean_moves` is false. */
static bool climb(const sums *s, efi_draw_kind kind, bool mean_moves, point *p, double *best)
{
    double here = at(s, kind, *p);
    for (int i = 0; i < MOST_STEPS && isfinite(here); i++) {
        const slopes d = slopes_at(s, kind, *p, here);
        point step = step_of(&d, has_shape(kind), mean_moves);
        point next = *p;
        double there = -INFINITY;
        for (int h = 0; h < MOST_HALVINGS; h++) {
            next = (point){p->u + step.u, clamp_v(kind, p->v + step.v)};
            there = at(s, kind, next);
            if (there >= here - 1e-12 * fabs(here))
                break;
            step = (point){0.5 * step.u, 0.5 * step.v};
        }
        if (!(there >= here - 1e-12 * fabs(here)))
            next = *p;
        const double moved = fmax(fabs(next.u - p->u), fabs(next.v - p->v));
        if (next.u != p->u || next.v != p->v)
            here = there;
        *p = next;
        if (moved <= STILL) {
            *best = here;
            return true;
        }
    }
    *best = here;
    return isfinite(here);
}

/* To 7 significant digits: what differs between machines lies below. */
static double rounded(double value)
{
    if (!(value > 0.0) || !isfinite(value))
        return value;
    const double scale = pow(10.0, 6.0 - floor(log10(value)));
    return round(value * scale) / scale;
}

efi_fit efi_fit_find(const efi_times *times, efi_draw_kind kind)
{
    efi_fit fit = {.kind = kind};
    const sums s = sums_of(times);
    if (EF_NEVER(kind == EFI_FIXED) || times->exacts < (has_shape(kind) ? 2 : 1))
        return fit;
    point p = begin(&s, kind);
    double best = -INFINITY;
    if (!climb(&s, kind, true, &p, &best))
        return fit;
    fit.mean = rounded(exp(p.u));
    fit.shape = has_shape(kind) ? rounded(exp(p.v)) : 0.0;
    fit.log_likelihood = likelihood(&s, kind, fit.mean, fit.shape);
    fit.good = isfinite(fit.log_likelihood) && isfinite(fit.mean);
    return fit;
}

/* ---- limits of the mean ---------------------------------------------------------------------------------
 */

/* How far below the best likelihood the best one with this mean lies; `v` is where to begin, and is moved. */
static double loss_at(const sums *s, const efi_fit *fit, double u, double *v)
{
    point p = {u, *v};
    double best = -INFINITY;
    if (!climb(s, fit->kind, false, &p, &best))
        return INFINITY;
    *v = p.v;
    return fit->log_likelihood - best;
}

/* The mean on one side (`direction` 1 or -1) at which the loss reaches `most`. */
static double limit_of(const sums *s, const efi_fit *fit, double most, double direction)
{
    const double longest = 12.0; /* e^12: a mean that the times do not bound */
    const double u = log(fit->mean);
    double v = has_shape(fit->kind) ? log(fit->shape) : 0.0;
    double inside = 0.0;
    double outside = 0.05;
    while (loss_at(s, fit, u + direction * outside, &v) < most) {
        inside = outside;
        outside *= 1.5;
        if (outside > longest)
            return direction > 0.0 ? INFINITY : 0.0;
    }
    for (int i = 0; i < 60 && outside - inside > 1e-9; i++) {
        const double middle = 0.5 * (inside + outside);
        if (loss_at(s, fit, u + direction * middle, &v) < most)
            inside = middle;
        else
            outside = middle;
    }
    return exp(u + direction * 0.5 * (inside + outside));
}

efi_estimate efi_fit_mean_limits(const efi_times *times, const efi_fit *fit, double confidence)
{
    const sums s = sums_of(times);
    const int n = times->exacts;
    if (!fit->good || n < 2)
        return (efi_estimate){fit->mean, 0.0, INFINITY};
    const double t = efi_quantile_student(0.5 + 0.5 * confidence, n - 1);
    const double most = 0.5 * n * log1p(t * t / (n - 1));
    return (efi_estimate){fit->mean, rounded(limit_of(&s, fit, most, -1.0)),
                          rounded(limit_of(&s, fit, most, 1.0))};
}

efi_estimate efi_exponential_limits(double total_h, int events, bool until_event, double confidence)
{
    const double upper = 0.5 + 0.5 * confidence;
    const double more = until_event ? 0.0 : 2.0;
    efi_estimate e = {INFINITY, 0.0, INFINITY};
    if (events > 0) {
        e.value = rounded(total_h / events);
        e.high = rounded(2.0 * total_h / efi_quantile_chi_square(1.0 - upper, 2.0 * events));
    }
    if (2 * events + more > 0)
        e.low = rounded(2.0 * total_h / efi_quantile_chi_square(upper, 2.0 * events + more));
    return e;
}

/* ---- test of fit ----------------------------------------------------------------------------------------
 */

double efi_fit_distance(const double *sorted, int count, const efi_distribution *d)
{
    double sum = 0.0;
    for (int i = 0; i < count; i++) {
        const double below = fmax(log_up_to(d, sorted[i]), -700.0);
        const double above = fmax(log_above(d, sorted[count - 1 - i]), -700.0);
        sum += (2 * i + 1) * (below + above);
    }
    return -count - sum / count;
}

static int rising(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

/* One set of times drawn as the design says; `room` of them at the most, the last may go to `longer`. */
static efi_times draw(const efi_distribution *d, const efi_fit_design *design, efi_random *random,
                      double *exact, int room, double *longer)
{
    efi_times times = {.exact = exact, .longer = longer, .floor = design->floor, .grain = design->grain};
    double left = design->total_h;
    while (times.exacts + times.floors < (design->renewals ? room : design->count)) {
        const double x = efi_distribution_draw(d, random);
        if (design->renewals && x > left) {
            if (left > 0.0) {
                *longer = left;
                times.longers = 1;
            }
            break;
        }
        left -= x;
        const double seen = design->grain > 0.0 ? fmax(floor(x / design->grain + 0.5), 1.0) * design->grain
                                                : x;
        if (seen <= design->floor * (1.0 + 1e-9))
            times.floors++;
        else
            exact[times.exacts++] = seen;
    }
    return times;
}

/* Distance of times from their own fit; negative when they cannot be fitted. Sorts `exact`. */
static double own_distance(const efi_times *times, double *exact, efi_draw_kind kind)
{
    const efi_fit fit = efi_fit_find(times, kind);
    if (!fit.good)
        return -1.0;
    qsort(exact, (size_t)times->exacts, sizeof *exact, rising);
    const efi_distribution d = efi_fit_distribution(kind, fit.mean, fit.shape);
    return efi_fit_distance(exact, times->exacts, &d);
}

ef_status efi_fit_test(const efi_times *times, const efi_fit *fit, const efi_fit_design *design,
                       int resamples, uint64_t seed, uint64_t stream, double *p)
{
    *p = NAN;
    if (!fit->good || resamples < 1)
        return EF_OK;
    const int room = 4 * (times->exacts + times->floors) + 100;
    double *exact = efi_new((size_t)room, sizeof *exact);
    if (!exact)
        return EF_MEMORY;
    for (int i = 0; i < times->exacts; i++)
        exact[i] = times->exact[i];
    qsort(exact, (size_t)times->exacts, sizeof *exact, rising);
    const efi_distribution d = efi_fit_distribution(fit->kind, fit->mean, fit->shape);
    const double found = efi_fit_distance(exact, times->exacts, &d);
    int as_far = 0;
    int tried = 0;
    for (int i = 0; i < resamples; i++) {
        efi_random random = efi_random_stream(seed, (uint64_t)i, stream);
        double longer;
        const efi_times drawn = draw(&d, design, &random, exact, room, &longer);
        const double distance = own_distance(&drawn, exact, fit->kind);
        tried += distance >= 0.0;
        as_far += distance >= found;
    }
    if (2 * tried > resamples)
        *p = (1.0 + as_far) / (1.0 + tried);
    efi_free(exact);
    return EF_OK;
}
