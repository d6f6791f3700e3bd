/* SPDX-License-Identifier: GPL-3.0-or-later
 * Means and quantiles of independent samples, with their confidence limits. */
#ifndef EFI_ESTIMATE_H
#define EFI_ESTIMATE_H

#include "base/base.h"

/* A value and the limits between which the true one lies with the confidence asked for; infinite where the
 * sample is too short to give one. */
typedef struct efi_estimate {
    double value;
    double low;
    double high;
} efi_estimate;

/*
 * Mean of `count` (>= 1) independent values: value +- t s / sqrt(n), t the quantile of Student's distribution
 * with n - 1 degrees of freedom. `confidence` lies between 0 and 1. Source: any text on statistics; holds for
 * large n whatever the distribution, for small n where it is near normal. Any thread.
 */
efi_estimate efi_estimate_mean(const double *values, int count, double confidence);

/*
 * Quantile p (0 < p < 1) of independent values sorted in rising order: the value interpolated between order
 * statistics at rank 1 + p (n - 1), and distribution-free limits from order statistics: the largest l with
 * P(B < l) <= (1 - confidence)/2 and the smallest u with P(B >= u) <= the same, B binomial (n, p). Source:
 * David and Nagaraja, Order Statistics (2003), section 7.1 (from memory). Any thread.
 */
efi_estimate efi_estimate_quantile(const double *sorted, int count, double p, double confidence);

/* The value of efi_estimate_quantile alone; p from 0 to 1. */
double efi_quantile_of(const double *sorted, int count, double p);

/*
 * Quantile p of values that come in `clusters` (>= 2) independent runs of `per` each, those of one run
 * depending on each other: `values` has shape [clusters][per], `sorted` all n of them in rising order. With F
 * the share of values at or below the quantile, taken run by run, and h = t s / sqrt(clusters), s the
 * standard deviation of F between runs and t Student's, the limits are the order statistics of rank n (p -
 * h), rounded down, and n (p + h), rounded down, plus 1. Infinite where there are none such. Source:
 * Woodruff, Confidence intervals for medians and other position measures, JASA 47 (1952) (from memory). Any
 * thread.
 */
efi_estimate efi_estimate_cluster_quantile(const double *values, const double *sorted, int clusters, int per,
                                           double p, double confidence);

#endif
