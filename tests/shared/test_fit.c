/* SPDX-License-Identifier: GPL-3.0-or-later
 * Fits against closed forms, GSL's densities and published data. */
#include "shared/statistics/fit.h"

#include "../lib/near.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_sf_psi.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

/* Millions of turns until 23 ball bearings failed: Lieblein and Zelen, "Statistical investigation of the
 * fatigue life of deep-groove ball bearings", J. Res. NBS 57, 1956 (from memory, as reprinted in textbooks).
 */
static const double bearings[] = {17.88, 28.92, 33.00,  41.52,  42.12,  45.60,  48.48, 51.84,
                                  51.96, 54.12, 55.56,  67.80,  68.64,  68.64,  68.88, 84.12,
                                  93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.40};
enum {
    BEARINGS = sizeof bearings / sizeof bearings[0]
};

static efi_times of_bearings(void)
{
    return (efi_times){.exact = bearings, .exacts = BEARINGS};
}

/* Shape 2.10 and scale 81.9: Lawless, Statistical Models and Methods for Lifetime Data, 2003 (from memory).
 */
static void weibull_fit_of_the_ball_bearings_is_the_published_one(void **state)
{
    (void)state;
    const efi_times times = of_bearings();
    const efi_fit fit = efi_fit_find(&times, EFI_WEIBULL);
    const efi_distribution d = efi_fit_distribution(EFI_WEIBULL, fit.mean, fit.shape);
    assert_true(fit.good);
    assert_near_absolute(d.b, 2.102, 0.005);
    assert_near_absolute(d.a, 81.87, 0.05);
}

/* The likelihood equation sum x^k ln x / sum x^k - 1/k = mean ln x, and scale^k = mean x^k. */
static void weibull_fit_meets_its_likelihood_equations(void **state)
{
    (void)state;
    const efi_times times = of_bearings();
    const efi_fit fit = efi_fit_find(&times, EFI_WEIBULL);
    const efi_distribution d = efi_fit_distribution(EFI_WEIBULL, fit.mean, fit.shape);
    double power = 0.0, power_log = 0.0, logs = 0.0;
    for (int i = 0; i < BEARINGS; i++) {
        power += pow(bearings[i], d.b);
        power_log += pow(bearings[i], d.b) * log(bearings[i]);
        logs += log(bearings[i]);
    }
    assert_near_absolute(power_log / power - 1.0 / d.b, logs / BEARINGS, 1e-6);
    assert_near_relative(pow(d.a, d.b), power / BEARINGS, 1e-6);
}

static void lognormal_fit_has_mean_and_spread_of_the_logarithms(void **state)
{
    (void)state;
    const efi_times times = of_bearings();
    const efi_fit fit = efi_fit_find(&times, EFI_LOGNORMAL);
    double sum = 0.0, squares = 0.0;
    for (int i = 0; i < BEARINGS; i++)
        sum += log(bearings[i]);
    for (int i = 0; i < BEARINGS; i++)
        squares += pow(log(bearings[i]) - sum / BEARINGS, 2.0);
    const double sigma = sqrt(squares / BEARINGS);
    assert_near_relative(fit.shape, sigma, 1e-6);
    assert_near_relative(fit.mean, exp(sum / BEARINGS + 0.5 * sigma * sigma), 1e-6);
}

/* ln k - psi(k) = ln mean x - mean ln x, the digamma function from GSL; the mean is that of the times. */
static void gamma_fit_meets_its_likelihood_equations(void **state)
{
    (void)state;
    const efi_times times = of_bearings();
    const efi_fit fit = efi_fit_find(&times, EFI_GAMMA);
    double sum = 0.0, logs = 0.0;
    for (int i = 0; i < BEARINGS; i++) {
        sum += bearings[i];
        logs += log(bearings[i]);
    }
    assert_near_relative(fit.mean, sum / BEARINGS, 1e-6);
    assert_near_absolute(log(fit.shape) - gsl_sf_psi(fit.shape), log(sum / BEARINGS) - logs / BEARINGS, 1e-6);
}

static void exponential_fit_is_all_hours_over_the_events(void **state)
{
    (void)state;
    const double longer[] = {12.5, 40.0};
    const efi_times times = {.exact = bearings, .exacts = BEARINGS, .longer = longer, .longers = 2};
    double sum = 52.5;
    for (int i = 0; i < BEARINGS; i++)
        sum += bearings[i];
    assert_near_relative(efi_fit_find(&times, EFI_EXPONENTIAL).mean, sum / BEARINGS, 1e-6);
}

/* Densities and tails from GSL, times of every sort. */
static void the_likelihood_is_the_sum_that_gsl_gives(void **state)
{
    (void)state;
    const double longer[] = {150.0};
    const efi_times times = {
        .exact = bearings, .exacts = BEARINGS, .longer = longer, .longers = 1, .floor = 15.0, .floors = 3};
    const double mean = 70.0;
    const double shape = 1.7;
    const double scale = mean / tgamma(1.0 + 1.0 / shape);
    const double mu = log(mean) - 0.5 * shape * shape;
    double exponential = log(gsl_cdf_exponential_Q(150.0, mean)) + 3 * log(gsl_cdf_exponential_P(15.0, mean));
    double weibull = log(gsl_cdf_weibull_Q(150.0, scale, shape)) +
                     3 * log(gsl_cdf_weibull_P(15.0, scale, shape));
    double lognormal = log(gsl_cdf_lognormal_Q(150.0, mu, shape)) +
                       3 * log(gsl_cdf_lognormal_P(15.0, mu, shape));
    double gamma = log(gsl_cdf_gamma_Q(150.0, shape, mean / shape)) +
                   3 * log(gsl_cdf_gamma_P(15.0, shape, mean / shape));
    for (int i = 0; i < BEARINGS; i++) {
        exponential += log(gsl_ran_exponential_pdf(bearings[i], mean));
        weibull += log(gsl_ran_weibull_pdf(bearings[i], scale, shape));
        lognormal += log(gsl_ran_lognormal_pdf(bearings[i], mu, shape));
        gamma += log(gsl_ran_gamma_pdf(bearings[i], shape, mean / shape));
    }
    assert_near_relative(efi_fit_likelihood(&times, EFI_EXPONENTIAL, mean, 0.0), exponential, 1e-12);
    assert_near_relative(efi_fit_likelihood(&times, EFI_WEIBULL, mean, shape), weibull, 1e-12);
    assert_near_relative(efi_fit_likelihood(&times, EFI_LOGNORMAL, mean, shape), lognormal, 1e-12);
    assert_near_relative(efi_fit_likelihood(&times, EFI_GAMMA, mean, shape), gamma, 1e-12);
}

/* Rounded to whole grains: each counts as its grain, the first from 0; GSL's distribution function. */
static void rounded_times_count_as_anywhere_in_their_grain(void **state)
{
    (void)state;
    const double exact[] = {1.0, 2.0, 5.0, 30.0};
    const efi_times times = {.exact = exact, .exacts = 4, .grain = 1.0};
    const double wanted = log(gsl_cdf_exponential_P(1.5, 6.0)) +
                          log(gsl_cdf_exponential_P(2.5, 6.0) - gsl_cdf_exponential_P(1.5, 6.0)) +
                          log(gsl_cdf_exponential_P(5.5, 6.0) - gsl_cdf_exponential_P(4.5, 6.0)) +
                          log(gsl_ran_exponential_pdf(30.0, 6.0));
    assert_near_relative(efi_fit_likelihood(&times, EFI_EXPONENTIAL, 6.0, 0.0), wanted, 1e-12);
}

/* By hand for five events in 100 h: 200 / chi2(0.975, 12) = 200 / 23.337, 200 / chi2(0.025, 10) = 200
 * / 3.2470; the quantiles stand in any table, and GSL gives more digits. */
static void limits_of_an_exponential_mean_are_those_of_the_chi_square_table(void **state)
{
    (void)state;
    const efi_estimate e = efi_exponential_limits(100.0, 5, false, 0.95);
    assert_near_absolute(e.value, 20.0, 1e-12);
    assert_near_absolute(e.low, 200.0 / 23.337, 1e-3);
    assert_near_absolute(e.high, 200.0 / 3.2470, 1e-2);
    assert_near_relative(e.low, 200.0 / gsl_cdf_chisq_Pinv(0.975, 12.0), 1e-6);
    assert_near_relative(efi_exponential_limits(100.0, 5, true, 0.95).low,
                         200.0 / gsl_cdf_chisq_Pinv(0.975, 10.0), 1e-6);
    const efi_estimate none = efi_exponential_limits(100.0, 0, false, 0.95);
    assert_true(isinf(none.value) && isinf(none.high));
    assert_near_relative(none.low, 100.0 / -log(0.025), 1e-6);
}

/* At each limit the best likelihood lies below that of the fit by the amount asked for. */
static void limits_from_the_likelihood_lie_where_the_loss_is_as_great_as_asked_for(void **state)
{
    (void)state;
    const efi_times times = of_bearings();
    const double t = gsl_cdf_tdist_Pinv(0.975, BEARINGS - 1);
    const double most = 0.5 * BEARINGS * log1p(t * t / (BEARINGS - 1));
    const efi_draw_kind kinds[] = {EFI_WEIBULL, EFI_LOGNORMAL, EFI_GAMMA};
    for (int k = 0; k < 3; k++) {
        const efi_fit fit = efi_fit_find(&times, kinds[k]);
        const efi_estimate e = efi_fit_mean_limits(&times, &fit, 0.95);
        const double means[] = {e.low, e.high};
        assert_true(e.low < fit.mean && fit.mean < e.high);
        for (int m = 0; m < 2; m++) {
            double best = -INFINITY; /* over shapes on a fine grid */
            for (int step = -10000; step <= 10000; step++)
                best = fmax(best,
                            efi_fit_likelihood(&times, kinds[k], means[m], fit.shape * exp(step * 1e-4)));
            assert_near_absolute(fit.log_likelihood - best, most, 1e-5);
        }
    }
}

/* Under the fitted kind itself p is even on 0 .. 1; under another it is small. 200 samples of 40, seed 7. */
static void the_test_of_fit_refuses_as_often_as_it_says_and_finds_what_is_wrong(void **state)
{
    (void)state;
    int refused = 0;
    int found = 0;
    for (int sample = 0; sample < 200; sample++) {
        double exact[40];
        efi_random random = efi_random_stream(7, (uint64_t)sample, 0);
        const efi_distribution d = efi_fit_distribution(EFI_WEIBULL, 10.0, 1.5);
        for (int i = 0; i < 40; i++)
            exact[i] = efi_distribution_draw(&d, &random);
        const efi_times times = {.exact = exact, .exacts = 40};
        const efi_fit_design design = {.count = 40};
        double p;
        efi_fit fit = efi_fit_find(&times, EFI_WEIBULL);
        assert_int_equal(efi_fit_test(&times, &fit, &design, 99, 1, (uint64_t)sample, &p), EF_OK);
        refused += p <= 0.1;
        const efi_distribution other = efi_fit_distribution(EFI_LOGNORMAL, 10.0, 1.5);
        for (int i = 0; i < 40; i++)
            exact[i] = efi_distribution_draw(&other, &random);
        fit = efi_fit_find(&times, EFI_EXPONENTIAL);
        assert_int_equal(efi_fit_test(&times, &fit, &design, 99, 1, (uint64_t)sample, &p), EF_OK);
        found += p <= 0.1;
    }
    print_message("refused %d of 200 at 10 %%, found %d of 200\n", refused, found);
    assert_in_range(refused, 6, 37); /* 20 on average; four standard deviations of 4.2 either side */
    assert_true(found >= 160);
}

static void too_few_times_have_no_fit(void **state)
{
    (void)state;
    const efi_times none = {.exacts = 0};
    const efi_times one = {.exact = bearings, .exacts = 1};
    assert_false(efi_fit_find(&none, EFI_EXPONENTIAL).good);
    assert_true(efi_fit_find(&one, EFI_EXPONENTIAL).good);
    assert_false(efi_fit_find(&one, EFI_GAMMA).good);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(weibull_fit_of_the_ball_bearings_is_the_published_one),
        cmocka_unit_test(weibull_fit_meets_its_likelihood_equations),
        cmocka_unit_test(lognormal_fit_has_mean_and_spread_of_the_logarithms),
        cmocka_unit_test(gamma_fit_meets_its_likelihood_equations),
        cmocka_unit_test(exponential_fit_is_all_hours_over_the_events),
        cmocka_unit_test(the_likelihood_is_the_sum_that_gsl_gives),
        cmocka_unit_test(rounded_times_count_as_anywhere_in_their_grain),
        cmocka_unit_test(limits_of_an_exponential_mean_are_those_of_the_chi_square_table),
        cmocka_unit_test(limits_from_the_likelihood_lie_where_the_loss_is_as_great_as_asked_for),
        cmocka_unit_test(the_test_of_fit_refuses_as_often_as_it_says_and_finds_what_is_wrong),
        cmocka_unit_test(too_few_times_have_no_fit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
