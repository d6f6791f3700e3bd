/* SPDX-License-Identifier: GPL-3.0-or-later
 * Means, quantiles and their limits: against GSL's distributions, and by how often they hold. */
#include "../lib/near.h"

#include "base/random.h"
#include "shared/statistics/estimate.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum {
    MOST = 5000
};

static int rising(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

static void means_have_the_limits_of_students_distribution(void **state)
{
    (void)state;
    double values[50];
    for (int i = 0; i < 50; i++)
        values[i] = 100.0 + sin(i * 1.7) * 3.0;
    const efi_estimate e = efi_estimate_mean(values, 50, 0.95);
    const double half = gsl_cdf_tdist_Pinv(0.975, 49.0) * gsl_stats_sd(values, 1, 50) / sqrt(50.0);
    assert_near(e.value, gsl_stats_mean(values, 1, 50), 1e-14);
    assert_near(e.high, e.value + half, 1e-12);
    assert_near(e.low, e.value - half, 1e-12);
    assert_true(isinf(efi_estimate_mean(values, 1, 0.95).low));
}

/* P(B >= u) = I_p(u, n - u + 1) (DLMF 8.17.5), by GSL's beta distribution. */
static void quantiles_have_the_limits_of_the_beta_distribution(void **state)
{
    (void)state;
    static double sorted[MOST];
    for (int i = 0; i < MOST; i++)
        sorted[i] = i + 1;
    const int counts[] = {2, 5, 28, 29, 100, 999, MOST};
    const double points[] = {0.1, 0.5, 0.9};
    for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
        for (size_t k = 0; k < 3; k++) {
            const int n = counts[i];
            int low = 0;
            while (low < n && 1.0 - gsl_cdf_beta_P(points[k], low + 1.0, (double)n - low) <= 0.025)
                low++;
            int high = n + 1;
            while (high > 1 && gsl_cdf_beta_P(points[k], high - 1.0, n - high + 2.0) <= 0.025)
                high--;
            const efi_estimate e = efi_estimate_quantile(sorted, n, points[k], 0.95);
            assert_true(e.low == (low >= 1 ? (double)low : -(double)INFINITY));
            assert_true(e.high == (high <= n ? (double)high : (double)INFINITY));
            assert_near(e.value, gsl_stats_quantile_from_sorted_data(sorted, 1, (size_t)n, points[k]), 1e-14);
        }
    }
}

/* Runs of seven values that share half of their variance: normal, so the quantiles are known. */
static void limits_of_clustered_quantiles_hold_as_often_as_they_say(void **state)
{
    (void)state;
    enum {
        SAMPLES = 1000,
        CLUSTERS = 60,
        PER = 7
    };
    const uint64_t seed = 20261125;
    const double points[] = {0.1, 0.5, 0.9};
    int held[3] = {0};
    double values[CLUSTERS * PER];
    double sorted[CLUSTERS * PER];
    for (uint64_t sample = 0; sample < SAMPLES; sample++) {
        efi_random random = efi_random_stream(seed, sample, 0);
        for (int c = 0; c < CLUSTERS; c++) {
            const double shared = gsl_cdf_ugaussian_Pinv(efi_random_uniform(&random));
            for (int i = 0; i < PER; i++)
                values[c * PER + i] = (shared + gsl_cdf_ugaussian_Pinv(efi_random_uniform(&random))) *
                                      sqrt(0.5);
        }
        memcpy(sorted, values, sizeof sorted);
        qsort(sorted, (size_t)CLUSTERS * PER, sizeof *sorted, rising);
        for (int k = 0; k < 3; k++) {
            const efi_estimate e = efi_estimate_cluster_quantile(values, sorted, CLUSTERS, PER, points[k],
                                                                 0.95);
            const double truth = gsl_cdf_ugaussian_Pinv(points[k]);
            held[k] += e.low <= truth && truth <= e.high;
        }
    }
    print_message("# seed %llu: limits of 95 %% held in %d, %d, %d of %d samples\n", (unsigned long long)seed,
                  held[0], held[1], held[2], SAMPLES);
    for (int k = 0; k < 3; k++)
        assert_true(held[k] >= 925 && held[k] <= 975);
}

/* One short shift in each run of ten: the poor one lies anywhere between the short and the others. */
static void a_quantile_in_a_gap_has_the_gap_as_its_limits(void **state)
{
    (void)state;
    double values[200];
    double sorted[200];
    for (int i = 0; i < 200; i++)
        values[i] = i % 10 == 9 ? 38.0 : 60.0 + i % 10;
    memcpy(sorted, values, sizeof sorted);
    qsort(sorted, 200, sizeof *sorted, rising);
    const efi_estimate e = efi_estimate_cluster_quantile(values, sorted, 20, 10, 0.1, 0.95);
    assert_true(e.low == 38.0);
    assert_true(e.high == 60.0);
    assert_true(e.value > 38.0 && e.value < 60.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(means_have_the_limits_of_students_distribution),
        cmocka_unit_test(quantiles_have_the_limits_of_the_beta_distribution),
        cmocka_unit_test(limits_of_clustered_quantiles_hold_as_often_as_they_say),
        cmocka_unit_test(a_quantile_in_a_gap_has_the_gap_as_its_limits),
    };
    return cmocka_run_group_tests_name("estimate", tests, NULL, NULL);
}
