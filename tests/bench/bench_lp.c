/* SPDX-License-Identifier: GPL-3.0-or-later
 * Linear programs: first solve of a chain of bins, and 1,000 solves with one bound changed.
 *
 * The chain is a bin in front of a steady machine: in each of n intervals the bin takes in up to a rate that
 * comes and goes, gives out the set rate or falls short, level[e] = level[e-1] + in[e] - out[e] <= volume;
 * cost of volume and shortfall are weighed. 4 n + 1 columns, 2 n rows, one column (the volume) in half of the
 * rows. */
#include "base/random.h"
#include "shared/lp/lp.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum {
    REPEATS = 5,
    RESOLVES = 1000
};

static double now_s(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Ends the benchmark when something that must hold does not. */
static void must(bool holds, const char *what)
{
    if (holds)
        return;
    (void)fprintf(stderr, "bench_lp: %s\n", what);
    exit(1);
}

static int add(efi_lp *lp, efi_lp_bounds bounds, double cost)
{
    int column = 0;
    must(efi_lp_add_column(lp, NULL, bounds, cost, false, &column) == EF_OK, "no column");
    return column;
}

/* A chain of `length` intervals; the volume is column 0 and `levels` gets the column of each level. */
static efi_lp *chain(int length, int *levels)
{
    efi_lp *lp = efi_lp_new();
    efi_random random = efi_random_stream(1, 0, 0);
    must(lp != NULL, "no memory");
    const int volume = add(lp, efi_lp_at_least(0.0), 0.05 * length);
    for (int e = 0; e < length; e++) {
        const double up_tonnes = efi_random_below(&random, 4) == 0 ? 0.0
                                                                   : 1.5 * efi_random_uniform(&random) + 0.5;
        const int in = add(lp, efi_lp_between(0.0, up_tonnes), 0.0);
        const int out = add(lp, efi_lp_between(0.0, 1.0), 0.0);
        const int shortfall = add(lp, efi_lp_between(0.0, 1.0), 1.0 + 0.01 * efi_random_uniform(&random));
        levels[e] = add(lp, efi_lp_at_least(0.0), 0.0);
        efi_lp_entry balance[] = {
            {levels[e], 1.0}, {in, -1.0}, {out, 1.0}, {e ? levels[e - 1] : in, e ? -1.0 : 0.0}};
        const efi_lp_entry demand[] = {{out, 1.0}, {shortfall, 1.0}};
        const efi_lp_entry room[] = {{levels[e], 1.0}, {volume, -1.0}};
        must(efi_lp_add_row(lp, NULL, efi_lp_exactly(0.0), balance, 4, NULL) == EF_OK, "no row");
        must(efi_lp_add_row(lp, NULL, efi_lp_exactly(1.0), demand, 2, NULL) == EF_OK, "no row");
        must(efi_lp_add_row(lp, NULL, efi_lp_at_most(0.0), room, 2, NULL) == EF_OK, "no row");
    }
    return lp;
}

static void solve(efi_lp *lp)
{
    efi_lp_result result;
    must(efi_lp_solve(lp, NULL, &result) == EF_OK, "solve");
    must(result.outcome == EFI_LP_OPTIMAL, efi_lp_outcome_text(result.outcome));
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

static void report(const char *name, int size, double *times, const char *unit, double factor, int count)
{
    qsort(times, (size_t)count, sizeof *times, by_value);
    (void)printf("%s,%d,%.6g,%s,%.3g,\n", name, size, factor * times[count / 2], unit,
                 factor * (times[count - 1] - times[0]));
}

static void run(int length, int repeats)
{
    int *levels = calloc((size_t)length, sizeof *levels);
    double first_s[REPEATS] = {0.0};
    double again_s[REPEATS] = {0.0};
    must(levels != NULL, "no memory");
    for (int k = 0; k < repeats; k++) {
        efi_lp *lp = chain(length, levels);
        double start_s = now_s();
        solve(lp);
        first_s[k] = now_s() - start_s;
        start_s = now_s();
        for (int r = 0; r < RESOLVES; r++) {
            const int column = levels[(r * 37) % length];
            must(efi_lp_set_column_bounds(lp, column,
                                          r % 2 ? efi_lp_at_least(0.0) : efi_lp_between(0.0, 0.5)) == EF_OK,
                 "bound");
            solve(lp);
        }
        again_s[k] = (now_s() - start_s) / RESOLVES;
        efi_lp_free(lp);
    }
    report("lp-first-solve", length, first_s, "ms", 1e3, repeats);
    report("lp-solve-after-one-bound", length, again_s, "ms", 1e3, repeats);
    free(levels);
}

int main(void)
{
    static const int lengths[] = {50, 200, 800};
    const char *smallest = getenv("EF_BENCH_SMALLEST");
    const bool is_short = smallest && smallest[0] == '1';
    for (int k = 0; k < (is_short ? 1 : 3); k++)
        run(lengths[k], is_short ? 1 : REPEATS);
    efi_lp_thread_end();
    return 0;
}
