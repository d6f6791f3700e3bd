/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/statistics/estimate.h"
#include "shared/statistics/quantile.h"

#include <math.h>
#include <stddef.h>

/* A rank that rounding keeps just below a whole number is that number. */
#define RANK_SLACK 1e-6

efi_estimate efi_estimate_mean(const double *values, int count, double confidence)
{
    assert(count >= 1);
    double mean = 0.0;
    double squares = 0.0; /* Welford's running sums: no cancellation */
    for (int i = 0; i < count; i++) {
        const double difference = values[i] - mean;
        mean += difference / (i + 1);
        squares += difference * (values[i] - mean);
    }
    if (count < 2)
        return (efi_estimate){mean, -INFINITY, INFINITY};
    const double error = sqrt(squares / (count - 1) / count);
    const double half = efi_quantile_student(0.5 + 0.5 * confidence, count - 1) * error;
    return (efi_estimate){mean, mean - half, mean + half};
}

double efi_quantile_of(const double *sorted, int count, double p)
{
    const double rank = p * (count - 1);
    const int below = (int)floor(rank);
    const int above = below + 1 < count ? below + 1 : below;
    return sorted[below] + (rank - below) * (sorted[above] - sorted[below]);
}

efi_estimate efi_estimate_quantile(const double *sorted, int count, double p, double confidence)
{
    assert(count >= 1);
    const double value = efi_quantile_of(sorted, count, p);
    const double tail = 0.5 * (1.0 - confidence);
    /* order statistics count from 1: l - 1 successes at the most happen with probability <= tail */
    int low = 0;
    int high = count;
    while (low < high) {
        const int middle = (low + high + 1) / 2;
        if (efi_binomial_up_to(middle - 1, p, count) <= tail)
            low = middle;
        else
            high = middle - 1;
    }
    const int lower = low;
    low = 1;
    high = count + 1;
    while (low < high) {
        const int middle = (low + high) / 2;
        if (1.0 - efi_binomial_up_to(middle - 1, p, count) <= tail)
            high = middle;
        else
            low = middle + 1;
    }
    const int upper = low;
    return (efi_estimate){value, lower >= 1 ? sorted[lower - 1] : -INFINITY,
                          upper <= count ? sorted[upper - 1] : INFINITY};
}

efi_estimate efi_estimate_cluster_quantile(const double *values, const double *sorted, int clusters, int per,
                                           double p, double confidence)
{
    assert(clusters >= 2 && per >= 1);
    const double value = efi_quantile_of(sorted, clusters * per, p);
    double mean = 0.0;
    double squares = 0.0;
    for (int c = 0; c < clusters; c++) {
        int below = 0;
        for (int i = 0; i < per; i++)
            below += values[(size_t)c * (size_t)per + (size_t)i] <= value;
        const double difference = (double)below / per - mean;
        mean += difference / (c + 1);
        squares += difference * ((double)below / per - mean);
    }
    const double error = sqrt(squares / (clusters - 1) / clusters);
    const double half = efi_quantile_student(0.5 + 0.5 * confidence, clusters - 1) * error;
    const int lower = (int)floor(clusters * per * (p - half) + RANK_SLACK);
    const int upper = (int)floor(clusters * per * (p + half) + RANK_SLACK) + 1;
    return (efi_estimate){value, lower >= 1 ? sorted[lower - 1] : -INFINITY,
                          upper <= clusters * per ? sorted[upper - 1] : INFINITY};
}
