/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/verify/sample.h"

#include <math.h>

/* ---- distributions --------------------------------------------------------------------------------------
 */

enum {
    MOST_TERMS = 10000
};

/* The continued fraction of the incomplete beta function, by Lentz's method. */
static double beta_fraction(double a, double b, double x)
{
    const double tiny = 1e-300;
    double c = 1.0;
    double d = 1.0 - (a + b) * x / (a + 1.0);
    d = 1.0 / (fabs(d) < tiny ? tiny : d);
    double f = d;
    for (int m = 1; m < MOST_TERMS; m++) {
        const double even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        const double odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        const double terms[] = {even, odd};
        double change = 1.0;
        for (int k = 0; k < 2; k++) {
            d = 1.0 + terms[k] * d;
            d = 1.0 / (fabs(d) < tiny ? tiny : d);
            c = 1.0 + terms[k] / c;
            c = fabs(c) < tiny ? tiny : c;
            change = c * d;
            f *= change;
        }
        if (fabs(change - 1.0) <= 1e-15)
            break;
    }
    return f;
}

/* Regularised incomplete beta function I_x(a, b), 0 <= x <= 1. */
static double beta_share(double a, double b, double x)
{
    if (!(x > 0.0))
        return 0.0;
    if (!(x < 1.0))
        return 1.0;
    const double front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x));
    if (x < (a + 1.0) / (a + b + 2.0))
        return front * beta_fraction(a, b, x) / a;
    return 1.0 - front * beta_fraction(b, a, 1.0 - x) / b;
}

double efi_sample_student(double t, double freedom)
{
    const double tail = 0.5 * beta_share(0.5 * freedom, 0.5, freedom / (freedom + t * t));
    return t > 0.0 ? 1.0 - tail : tail;
}

double efi_sample_student_quantile(double p, double freedom)
{
    double low = 0.0;
    double high = 1.0;
    while (efi_sample_student(high, freedom) < p)
        high *= 2.0;
    for (int i = 0; i < 200 && low < high; i++) {
        const double middle = 0.5 * (low + high);
        if (efi_sample_student(middle, freedom) < p)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

/* ---- samples --------------------------------------------------------------------------------------------
 */

efi_sample_limits efi_sample_mean(const double *values, int count, double confidence)
{
    double sum = 0.0;
    for (int i = 0; i < count; i++)
        sum += values[i];
    const double mean = sum / count;
    double squares = 0.0;
    for (int i = 0; i < count; i++)
        squares += (values[i] - mean) * (values[i] - mean);
    const double half = efi_sample_student_quantile(0.5 + 0.5 * confidence, count - 1) *
                        sqrt(squares / (count - 1) / count);
    return (efi_sample_limits){mean, mean - half, mean + half};
}

double efi_sample_quantile(const double *sorted, int count, double p)
{
    const double rank = p * (count - 1);
    const int below = (int)rank;
    return below + 1 < count ? sorted[below] + (rank - below) * (sorted[below + 1] - sorted[below])
                             : sorted[count - 1];
}

efi_sample_limits efi_sample_order(const double *sorted, int count, double p, double confidence)
{
    const double tail = 0.5 * (1.0 - confidence);
    /* twelve standard deviations below the mean the probabilities, some 1e-32, are too small to count */
    const double spread = 12.0 * sqrt(count * p * (1.0 - p) + 1.0);
    int k = count * p > spread ? (int)(count * p - spread) : 0;
    double one = exp(lgamma(count + 1.0) - lgamma(k + 1.0) - lgamma(count - k + 1.0) + k * log(p) +
                     (count - k) * log1p(-p));
    double up_to = one; /* P(B <= k) */
    int lower = up_to <= tail ? k + 1 : 0;
    int upper = up_to >= 1.0 - tail ? k + 1 : count + 1;
    while (k < count && upper > count) {
        one *= (double)(count - k) / (k + 1) * p / (1.0 - p);
        up_to += one;
        k++;
        lower = up_to <= tail ? k + 1 : lower;
        upper = up_to >= 1.0 - tail ? k + 1 : upper;
    }
    return (efi_sample_limits){efi_sample_quantile(sorted, count, p),
                               lower >= 1 ? sorted[lower - 1] : -INFINITY,
                               upper <= count ? sorted[upper - 1] : INFINITY};
}

efi_sample_limits efi_sample_runs(const double *values, const double *sorted, int runs, int per, double p,
                                  double confidence)
{
    const int count = runs * per;
    const double value = efi_sample_quantile(sorted, count, p);
    double sum = 0.0;
    double squares = 0.0;
    for (int pass = 0; pass < 2; pass++) {
        const double mean = sum / runs;
        for (int r = 0; r < runs; r++) {
            int below = 0;
            for (int i = 0; i < per; i++)
                below += values[r * per + i] <= value;
            const double share = (double)below / per;
            sum += pass == 0 ? share : 0.0;
            squares += pass == 1 ? (share - mean) * (share - mean) : 0.0;
        }
    }
    const double half = efi_sample_student_quantile(0.5 + 0.5 * confidence, runs - 1) *
                        sqrt(squares / (runs - 1) / runs);
    /* ranks that are whole but for rounding are whole */
    const int lower = (int)floor(count * (p - half) + 1e-6);
    const int upper = (int)floor(count * (p + half) + 1e-6) + 1;
    return (efi_sample_limits){value, lower >= 1 ? sorted[lower - 1] : -INFINITY,
                               upper <= count ? sorted[upper - 1] : INFINITY};
}

/* Moves the value at `root` down to its place among `count`. */
static void sink(double *values, int root, int count)
{
    const double moved = values[root];
    int child = 2 * root + 1;
    while (child < count) {
        if (child + 1 < count && values[child + 1] > values[child])
            child++;
        if (!(values[child] > moved))
            break;
        values[root] = values[child];
        root = child;
        child = 2 * root + 1;
    }
    values[root] = moved;
}

void efi_sample_sort(double *values, int count)
{
    for (int root = count / 2 - 1; root >= 0; root--)
        sink(values, root, count);
    for (int last = count - 1; last > 0; last--) {
        const double most = values[0];
        values[0] = values[last];
        values[last] = most;
        sink(values, 0, last);
    }
}
