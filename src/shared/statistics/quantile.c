/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/statistics/quantile.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <pthread.h>

static void silence_gsl(void)
{
    gsl_set_error_handler_off();
}

/* The default handler of GSL ends the process when an inverse does not converge. */
static void prepare_gsl(void)
{
    static pthread_once_t once = PTHREAD_ONCE_INIT;
    (void)pthread_once(&once, silence_gsl);
}

double efi_quantile_normal(double p)
{
    prepare_gsl();
    return gsl_cdf_ugaussian_Pinv(p);
}

double efi_quantile_gamma(double p, double shape, double scale)
{
    prepare_gsl();
    return gsl_cdf_gamma_Pinv(p, shape, scale);
}

double efi_quantile_student(double p, double freedom)
{
    prepare_gsl();
    return gsl_cdf_tdist_Pinv(p, freedom);
}

double efi_quantile_chi_square(double p, double freedom)
{
    return efi_quantile_gamma(p, 0.5 * freedom, 2.0);
}

double efi_normal_up_to(double x)
{
    prepare_gsl();
    return gsl_cdf_ugaussian_P(x);
}

double efi_normal_above(double x)
{
    prepare_gsl();
    return gsl_cdf_ugaussian_Q(x);
}

double efi_gamma_up_to(double x, double shape, double scale)
{
    prepare_gsl();
    return gsl_cdf_gamma_P(x, shape, scale);
}

double efi_gamma_above(double x, double shape, double scale)
{
    prepare_gsl();
    return gsl_cdf_gamma_Q(x, shape, scale);
}

double efi_binomial_up_to(int k, double p, int n)
{
    prepare_gsl();
    return k < 0 ? 0.0 : gsl_cdf_binomial_P((unsigned)k, p, (unsigned)n);
}
