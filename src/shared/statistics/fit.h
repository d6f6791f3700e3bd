/* SPDX-License-Identifier: GPL-3.0-or-later
 * Distributions fitted to recorded times by maximum likelihood, with confidence limits of the mean and a test
 * of fit. */
#ifndef EFI_FIT_H
#define EFI_FIT_H

#include "shared/statistics/estimate.h"
#include "shared/stops/draw.h"

/* Recorded times, h. Some are known exactly, of some only that they were longer, or no longer, than
 * something. Arrays are borrowed. */
typedef struct efi_times {
    const double *exact; /* shape [exacts], each > 0 */
    int exacts;
    const double *longer; /* shape [longers]: the time was longer than this, > 0 (right-censored) */
    int longers;
    double floor; /* > 0 where floors > 0 */
    int floors;   /* so many times were no longer than `floor` (left-censored) */
    double grain; /* > 0: exact times were rounded to the nearest multiple of this, at least one; 0: not
                     rounded */
} efi_times;

/* Rounded times up to this many grains count as anywhere within their half grain either side (the shortest as
 * anywhere from 0); for longer ones the density at the middle times the grain is as good. */
#define EFI_FIT_GRAINS 12

/* A fitted distribution. */
typedef struct efi_fit {
    efi_draw_kind kind;
    double mean; /* h */
    double
        shape; /* as the scenario gives it: of Weibull and gamma their shape, of lognormal sigma; 0 for others
                */
    double log_likelihood;
    bool good; /* found; else there are too few times, or the search did not end */
} efi_fit;

/* The range in which a shape is looked for; a lognormal sigma between the inverses of these. */
#define EFI_FIT_LEAST_SHAPE 0.2
#define EFI_FIT_MOST_SHAPE  50.0

/* The distribution of this kind with this mean and shape, in the form in which it is drawn. Weibull: scale =
 * mean / gamma(1 + 1/shape); lognormal: mu = ln mean - sigma^2 / 2; gamma: scale = mean / shape. */
efi_distribution efi_fit_distribution(efi_draw_kind kind, double mean, double shape);

/*
 * Log-likelihood of times under a distribution (not fixed): the sum of ln f(x) over the exact (rounded ones:
 * ln of the probability of their grain), ln P(X > x) over the longer and ln P(X <= floor) over those at the
 * floor. Any thread.
 */
double efi_fit_likelihood(const efi_times *times, efi_draw_kind kind, double mean, double shape);

/*
 * Fits a kind (not fixed). Method: Newton's in ln mean and ln shape with differences for derivatives, each
 * step halved until the likelihood grows. Needs one exact time, two for kinds with a shape. Mean and shape
 * are rounded to 7 significant digits, so that they are the same on every machine. Any thread.
 */
efi_fit efi_fit_find(const efi_times *times, efi_draw_kind kind);

/*
 * Limits of the mean of a good fit from the profile likelihood: all means m with
 *
 *   2 (l(fit) - max over shapes of l(m)) <= n ln(1 + t^2 / (n - 1)),   t = Student's (1 + confidence)/2
 * quantile
 *
 * with n - 1 degrees of freedom, n the number of exact times. For large n the right side is the chi-square
 * quantile of the usual rule (Meeker and Escobar, Statistical Methods for Reliability Data, 1998, chapter 8,
 * from memory); this form of it is exact for the median of a lognormal and less hopeful with few times.
 * Infinite or 0 where there is no limit.
 */
efi_estimate efi_fit_mean_limits(const efi_times *times, const efi_fit *fit, double confidence);

/*
 * Limits of the mean of exponential times of which `events` ended within `total_h` hours watched:
 *   2 T / chi2((1 + c)/2, 2 r + 2)  and  2 T / chi2((1 - c)/2, 2 r)       watched for a given time
 *   2 T / chi2((1 + c)/2, 2 r)      and  the same                         watched until the last event
 * Source: Epstein, "Estimation from life test data", Technometrics 2, 1960 (from memory); NIST/SEMATECH
 * e-Handbook of Statistical Methods, 8.4.5.1. Without events value and upper limit are infinite. Any thread.
 */
efi_estimate efi_exponential_limits(double total_h, int events, bool until_event, double confidence);

/*
 * Anderson and Darling's distance between `count` sorted times and a distribution (not fixed):
 *   A2 = -n - 1/n sum (2 i - 1) (ln F(x_i) + ln(1 - F(x_(n + 1 - i))))
 * Source: Anderson and Darling, "A test of goodness of fit", JASA 49, 1954.
 */
double efi_fit_distance(const double *sorted, int count, const efi_distribution *distribution);

/* How the times to be compared came about, for the test of fit. */
typedef struct efi_fit_design {
    bool renewals;  /* one after the other until `total_h` is over; the last is then cut short */
    double total_h; /* renewals */
    int count;      /* else: so many times, those under `floor` only known to be so */
    double floor;   /* 0 for none */
    double grain;   /* to which times are then rounded; 0: not */
} efi_fit_design;

/*
 * The probability that times drawn from the fitted distribution lie as far from their own fit as these do
 * from theirs (parametric bootstrap: draw, fit, measure the distance), (1 + number as far) / (1 + resamples).
 * Small values speak against the kind. NAN for a fit that is not good, or where most draws hold too few
 * times. EF_OK or EF_MEMORY.
 */
ef_status efi_fit_test(const efi_times *times, const efi_fit *fit, const efi_fit_design *design,
                       int resamples, uint64_t seed, uint64_t stream, double *p);

#endif
