/* SPDX-License-Identifier: GPL-3.0-or-later
 * Distributions of times and amounts, drawn by inversion from one uniform and laid on a fixed grid. */
#ifndef EFI_DRAW_H
#define EFI_DRAW_H

#include "base/random.h"
#include "base/tongue.h"

#include <stdbool.h>

/* The grid of drawn amounts: 2^-20 h (3.4 ms) for hours, 2^-20 t for tonnes. Rounding to it makes a draw the
 * same on every machine, although the last bit of log and exp is not. */
#define EFI_GRID_STEP 0x1p-20
/* Longer than any horizon: draws are cut here, so that sums of them stay exact multiples of the grid. */
#define EFI_GRID_MOST 0x1p32

/*
 * The kinds, with the meaning of the two parameters a and b and the distribution function F(x), x >= 0.
 *   fixed        a                       the value a > 0 itself; b unused
 *   exponential  a                       1 - exp(-x/a), mean a > 0; b unused
 *   weibull      a scale, b shape        1 - exp(-(x/a)^b), a > 0, b > 0
 *   lognormal    a = mu, b = sigma       Phi((ln x - a)/b), a finite, b > 0
 *   gamma        a scale, b shape        P(b, x/a), the regularised lower incomplete gamma, a > 0, b > 0
 */
#define EFI_DRAW_KINDS(X)                                                                                    \
    X(EFI_FIXED, EFI_TR("fixed"))                                                                            \
    X(EFI_EXPONENTIAL, EFI_TR("exponential"))                                                                \
    X(EFI_WEIBULL, EFI_TR("weibull"))                                                                        \
    X(EFI_LOGNORMAL, EFI_TR("lognormal"))                                                                    \
    X(EFI_GAMMA, EFI_TR("gamma"))

typedef enum efi_draw_kind {
#define EFI_DRAW_ENUM(name, words) name,
    EFI_DRAW_KINDS(EFI_DRAW_ENUM)
#undef EFI_DRAW_ENUM
} efi_draw_kind;

/* One distribution; a plain value. */
typedef struct efi_distribution {
    efi_draw_kind kind;
    double a;
    double b;
} efi_distribution;

/* The word for a kind ("weibull"); never NULL. */
const char *efi_draw_kind_text(efi_draw_kind kind);

/* Are the parameters finite and within the ranges above? */
bool efi_distribution_valid(const efi_distribution *distribution);

/* Mean of a valid distribution, before rounding to the grid. */
double efi_distribution_mean(const efi_distribution *distribution);

/*
 * Quantile x with F(x) = uniform, of a valid distribution, before rounding to the grid; 0 < uniform <= 1.
 *   exponential -a ln u, Weibull a (-ln u)^(1/b): with u for 1 - u, both being uniform, so they fall as u
 * grows; lognormal exp(a + b Phi^-1(u)), gamma a P^-1(b, u). May be infinite at uniform = 1. Any thread.
 */
double efi_distribution_quantile(const efi_distribution *distribution, double uniform);

/* The nearest multiple of EFI_GRID_STEP, at least one step and at most EFI_GRID_MOST; NaN gives the most. */
double efi_grid_round(double amount);

/*
 * What is left of an amount in which somebody who knows nothing of it looks in, on the grid: the stationary
 * excess, density (1 - F(x)) / mean. Where he looks in, the whole is met in proportion to its length, and he
 * stands anywhere in it: x = v L, v uniform, L of the length-biased distribution x f(x) / mean. That is
 *   Weibull a G^(1/b), G gamma with shape 1 + 1/b; lognormal with mu + sigma^2; gamma with shape b + 1.
 * Takes exactly two uniforms. Source: D. R. Cox, Renewal Theory (1962), section 5.4 (from memory).
 */
double efi_distribution_remaining(const efi_distribution *distribution, efi_random *random);

/* One draw on the grid; takes exactly one uniform from `random`, for fixed ones too, so that streams stay
 * aligned. */
double efi_distribution_draw(const efi_distribution *distribution, efi_random *random);

#endif
