/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/stops/draw.h"

#include "base/base.h"
#include "shared/statistics/quantile.h"

#include <math.h>
#include <stddef.h>
#include <stdint.h>

const char *efi_draw_kind_text(efi_draw_kind kind)
{
    static const char *const words[] = {
#define EFI_DRAW_WORDS(name, words_of_kind) words_of_kind,
        EFI_DRAW_KINDS(EFI_DRAW_WORDS)
#undef EFI_DRAW_WORDS
    };
    return (size_t)kind < EF_COUNT(words) ? words[kind] : "";
}

bool efi_distribution_valid(const efi_distribution *distribution)
{
    const double a = distribution->a;
    const double b = distribution->b;
    switch (distribution->kind) {
    case EFI_FIXED:
    case EFI_EXPONENTIAL:
        return isfinite(a) && a > 0.0;
    case EFI_WEIBULL:
    case EFI_GAMMA:
        return isfinite(a) && a > 0.0 && isfinite(b) && b > 0.0;
    case EFI_LOGNORMAL:
        return isfinite(a) && isfinite(b) && b > 0.0;
    }
    return false;
}

double efi_distribution_mean(const efi_distribution *distribution)
{
    const double a = distribution->a;
    const double b = distribution->b;
    switch (distribution->kind) {
    case EFI_FIXED:
    case EFI_EXPONENTIAL:
        return a;
    case EFI_WEIBULL:
        return a * tgamma(1.0 + 1.0 / b);
    case EFI_LOGNORMAL:
        return exp(a + 0.5 * b * b);
    case EFI_GAMMA:
        return a * b;
    }
    return 0.0;
}

double efi_distribution_quantile(const efi_distribution *distribution, double uniform)
{
    const double a = distribution->a;
    const double b = distribution->b;
    switch (distribution->kind) {
    case EFI_FIXED:
        return a;
    case EFI_EXPONENTIAL:
        return -a * log(uniform);
    case EFI_WEIBULL:
        return a * pow(-log(uniform), 1.0 / b);
    case EFI_LOGNORMAL:
        return exp(a + b * efi_quantile_normal(uniform));
    case EFI_GAMMA:
        return efi_quantile_gamma(uniform, b, a);
    }
    return a;
}

double efi_grid_round(double amount)
{
    if (!(amount < EFI_GRID_MOST))
        return EFI_GRID_MOST;
    const int64_t steps = (int64_t)(amount * 0x1p20 + 0.5);
    return steps >= 1 ? (double)steps * EFI_GRID_STEP : EFI_GRID_STEP;
}

/* Quantile of the length-biased distribution. */
static double length_biased(const efi_distribution *distribution, double uniform)
{
    const double a = distribution->a;
    const double b = distribution->b;
    switch (distribution->kind) {
    case EFI_FIXED:
        return a;
    case EFI_EXPONENTIAL:
        return efi_quantile_gamma(uniform, 2.0, a);
    case EFI_WEIBULL:
        return a * pow(efi_quantile_gamma(uniform, 1.0 + 1.0 / b, 1.0), 1.0 / b);
    case EFI_LOGNORMAL:
        return exp(a + b * b + b * efi_quantile_normal(uniform));
    case EFI_GAMMA:
        return efi_quantile_gamma(uniform, b + 1.0, a);
    }
    return a;
}

double efi_distribution_remaining(const efi_distribution *distribution, efi_random *random)
{
    const double uniform = efi_random_uniform(random);
    const double share = efi_random_uniform(random);
    if (distribution->kind == EFI_EXPONENTIAL) /* forgets how long it has lasted */
        return efi_grid_round(efi_distribution_quantile(distribution, uniform));
    return efi_grid_round(share * length_biased(distribution, uniform));
}

double efi_distribution_draw(const efi_distribution *distribution, efi_random *random)
{
    return efi_grid_round(efi_distribution_quantile(distribution, efi_random_uniform(random)));
}
