/* SPDX-License-Identifier: GPL-3.0-or-later
 * Quantiles and distribution functions of the standard distributions: the one place that calls GSL. */
#ifndef EFI_QUANTILE_H
#define EFI_QUANTILE_H

/* All by GSL, whose error handler is switched off: where an inverse does not converge the result is NaN. Any
 * thread. */

/* x with P(X <= x) = p, 0 < p < 1, of the standard normal distribution. */
double efi_quantile_normal(double p);

/* The same of the gamma distribution with this shape and scale, both > 0; infinite at p = 1. */
double efi_quantile_gamma(double p, double shape, double scale);

/* The same of Student's distribution with `freedom` > 0 degrees of freedom. */
double efi_quantile_student(double p, double freedom);

/* x with P(X <= x) = p of the chi-square distribution with `freedom` > 0 degrees of freedom. */
double efi_quantile_chi_square(double p, double freedom);

/* P(X <= x) and P(X > x) of the standard normal distribution, each exact in its own tail. */
double efi_normal_up_to(double x);
double efi_normal_above(double x);

/* The same of the gamma distribution with this shape and scale, both > 0; x >= 0. */
double efi_gamma_up_to(double x, double shape, double scale);
double efi_gamma_above(double x, double shape, double scale);

/* P(B <= k) of a binomial variable of n trials with probability p; 0 for k < 0. */
double efi_binomial_up_to(int k, double p, int n);

#endif
