/* SPDX-License-Identifier: GPL-3.0-or-later
 * Statistics of a sample, recomputed by other means than those of shared/statistics: the distribution
 * functions are summed and integrated here. */
#ifndef EFI_VERIFY_SAMPLE_H
#define EFI_VERIFY_SAMPLE_H

#include "base/base.h"

typedef struct efi_sample_limits {
    double value;
    double low;
    double high;
} efi_sample_limits;

/* P(T <= t) of Student's distribution, by the regularised incomplete beta function, itself by its continued
 * fraction (DLMF 8.17.22, Lentz's method); x with P(T <= x) = p, 0.5 < p < 1, by bisection. */
double efi_sample_student(double t, double freedom);
double efi_sample_student_quantile(double p, double freedom);

/* Mean of `count` (>= 2) values, by two passes, with its limits. */
efi_sample_limits efi_sample_mean(const double *values, int count, double confidence);

/* Quantile p of sorted values, between order statistics at rank 1 + p (count - 1). */
double efi_sample_quantile(const double *sorted, int count, double p);

/* The same with limits from order statistics: the largest l with P(B < l) and the smallest u with P(B >= u)
 * at most (1 - confidence)/2, B binomial, by adding up its probabilities. */
efi_sample_limits efi_sample_order(const double *sorted, int count, double p, double confidence);

/* The same where values come in runs of `per`: from the share of each run at or below the quantile. */
efi_sample_limits efi_sample_runs(const double *values, const double *sorted, int runs, int per, double p,
                                  double confidence);

/* Sorts in rising order: heap sort. */
void efi_sample_sort(double *values, int count);

#endif
