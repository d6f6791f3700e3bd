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

#endif
