/* SPDX-License-Identifier: GPL-3.0-or-later
 * Draws, stop modes and traces. Distributions are compared with GSL's by Kolmogorov-Smirnov, seed fixed. */
#include "shared/stops/stops.h"
#include "shared/stops/trace.h"

#include "../lib/near.h"
#include "base/memory.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#define DRAWS 20000

static int compare_doubles(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

static double reference_cdf(const efi_distribution *d, double x)
{
    switch (d->kind) {
    case EFI_FIXED:
        return x < d->a ? 0.0 : 1.0;
    case EFI_EXPONENTIAL:
        return gsl_cdf_exponential_P(x, d->a);
    case EFI_WEIBULL:
        return gsl_cdf_weibull_P(x, d->a, d->b);
    case EFI_LOGNORMAL:
        return gsl_cdf_lognormal_P(x, d->a, d->b);
    case EFI_GAMMA:
        return gsl_cdf_gamma_P(x, d->b, d->a);
    }
    return (double)NAN;
}

static void draws_follow_the_distributions_of_gsl(void **state)
{
    (void)state;
    static const efi_distribution cases[] = {
        {EFI_EXPONENTIAL, 3.0, 0.0}, {EFI_EXPONENTIAL, 0.05, 0.0}, {EFI_WEIBULL, 2.0, 0.7},
        {EFI_WEIBULL, 8.0, 3.5},     {EFI_LOGNORMAL, -1.0, 0.5},   {EFI_LOGNORMAL, 2.0, 1.3},
        {EFI_GAMMA, 0.5, 0.6},       {EFI_GAMMA, 1.5, 4.0},
    };
    double *draw = malloc(DRAWS * sizeof *draw);
    assert_non_null(draw);
    for (size_t c = 0; c < sizeof cases / sizeof cases[0]; c++) {
        efi_random random = efi_random_stream(5, c, 0);
        double sum = 0.0;
        double squares = 0.0;
        for (int i = 0; i < DRAWS; i++) {
            draw[i] = efi_distribution_draw(&cases[c], &random);
            sum += draw[i];
            squares += draw[i] * draw[i];
        }
        qsort(draw, DRAWS, sizeof *draw, compare_doubles);
        double greatest = 0.0;
        for (int i = 0; i < DRAWS; i++) {
            const double p = reference_cdf(&cases[c], draw[i]);
            greatest = fmax(greatest, fmax(fabs(p - (double)i / DRAWS), fabs((double)(i + 1) / DRAWS - p)));
        }
        /* Kolmogorov's limit at 0.1 %: 1.95. */
        if (!(greatest * sqrt(DRAWS) <= 1.95))
            fail_msg("case %zu: Kolmogorov-Smirnov %.3f", c, greatest * sqrt(DRAWS));
        const double mean = sum / DRAWS;
        const double error = sqrt((squares / DRAWS - mean * mean) / DRAWS);
        assert_near_absolute(mean, efi_distribution_mean(&cases[c]), 4.0 * error);
    }
    free(draw);
}

/* The stationary excess: density (1 - F(x)) / mean, F from GSL, by the trapezoidal rule up to each draw. */
static void what_remains_follows_the_stationary_excess(void **state)
{
    (void)state;
    static const efi_distribution cases[] = {{EFI_FIXED, 8.0, 0.0},      {EFI_EXPONENTIAL, 3.0, 0.0},
                                             {EFI_WEIBULL, 2.0, 0.7},    {EFI_WEIBULL, 8.0, 3.5},
                                             {EFI_LOGNORMAL, -1.0, 0.5}, {EFI_LOGNORMAL, 2.0, 1.3},
                                             {EFI_GAMMA, 0.5, 0.6},      {EFI_GAMMA, 1.5, 4.0}};
    double *draw = malloc(DRAWS * sizeof *draw);
    assert_non_null(draw);
    for (size_t c = 0; c < sizeof cases / sizeof cases[0]; c++) {
        efi_random random = efi_random_stream(6, c, 0);
        const double mean = efi_distribution_mean(&cases[c]);
        for (int i = 0; i < DRAWS; i++)
            draw[i] = efi_distribution_remaining(&cases[c], &random);
        qsort(draw, DRAWS, sizeof *draw, compare_doubles);
        double greatest = 0.0;
        double p = 0.0;
        for (int i = 0; i < DRAWS; i++) {
            const double from = i > 0 ? draw[i - 1] : 0.0;
            const double tail = 0.5 *
                                (2.0 - reference_cdf(&cases[c], from) - reference_cdf(&cases[c], draw[i]));
            p += tail * (draw[i] - from) / mean;
            greatest = fmax(greatest, fmax(fabs(p - (double)i / DRAWS), fabs((double)(i + 1) / DRAWS - p)));
        }
        if (!(greatest * sqrt(DRAWS) <= 1.95))
            fail_msg("case %zu: Kolmogorov-Smirnov %.3f", c, greatest * sqrt(DRAWS));
    }
    free(draw);
}

/* A stop every 8 h begins anywhere in the first 8, and every 8 h from then on; without a past at 8 h. */
static void a_past_moves_the_first_stop_only(void **state)
{
    (void)state;
    efi_stop_mode mode = {.schedule = EFI_STOPS_EVERY,
                          .counting = EFI_COUNT_CLOCK,
                          .every = 8.0,
                          .duration = {EFI_FIXED, 0.5, 0.0}};
    double sum = 0.0;
    for (int counting = 0; counting < 2; counting++) {
        mode.counting = counting ? EFI_COUNT_RUNNING : EFI_COUNT_CLOCK;
        for (uint64_t r = 0; r < 1000; r++) {
            efi_stop_source source;
            efi_stop_source_start(&source, &mode, 3, r, 1);
            efi_stop_source_look_in(&source);
            const double first = efi_stop_source_gap(&source);
            assert_true(first >= 0.0 && first <= 8.0);
            sum += first;
            assert_near_absolute(efi_stop_source_duration(&source), 0.5, 1e-12);
            assert_near_absolute(efi_stop_source_gap(&source), counting ? 8.0 : 7.5, 1e-12);
        }
    }
    assert_near_absolute(sum / 2000.0, 4.0, 4.0 * 8.0 / sqrt(12.0 * 2000.0));
    mode.has_first = true;
    mode.first = 1.0;
    efi_stop_source told;
    efi_stop_source_start(&told, &mode, 3, 0, 1);
    efi_stop_source_look_in(&told);
    assert_near_absolute(efi_stop_source_gap(&told), 1.0, 1e-12);
}

static void quantiles_invert_the_distributions_of_gsl(void **state)
{
    (void)state;
    static const efi_distribution cases[] = {{EFI_EXPONENTIAL, 3.0, 0.0},
                                             {EFI_WEIBULL, 2.0, 0.7},
                                             {EFI_LOGNORMAL, 2.0, 1.3},
                                             {EFI_GAMMA, 1.5, 4.0}};
    for (size_t c = 0; c < sizeof cases / sizeof cases[0]; c++)
        for (int k = 0; k <= 20; k++) {
            const double u = 0.001 + 0.0499 * k;
            const double p = reference_cdf(&cases[c], efi_distribution_quantile(&cases[c], u));
            const bool falls = cases[c].kind == EFI_EXPONENTIAL || cases[c].kind == EFI_WEIBULL;
            assert_near_absolute(p, falls ? 1.0 - u : u, 1e-9);
        }
}

static void draws_lie_on_the_grid_and_are_at_least_one_step(void **state)
{
    (void)state;
    static const efi_distribution cases[] = {{EFI_EXPONENTIAL, 1e-6, 0.0},
                                             {EFI_EXPONENTIAL, 500.0, 0.0},
                                             {EFI_LOGNORMAL, 0.0, 2.0},
                                             {EFI_GAMMA, 1e-3, 0.1}};
    for (size_t c = 0; c < sizeof cases / sizeof cases[0]; c++) {
        efi_random random = efi_random_stream(9, c, 0);
        for (int i = 0; i < 5000; i++) {
            const double x = efi_distribution_draw(&cases[c], &random);
            assert_true(x >= EFI_GRID_STEP);
            assert_true(x * 0x1p20 <= floor(x * 0x1p20));
        }
    }
    assert_true(efi_grid_round(0.0) >= EFI_GRID_STEP && efi_grid_round(0.0) <= EFI_GRID_STEP);
    assert_near_absolute(efi_grid_round(1.0 + 0.4 * EFI_GRID_STEP), 1.0, 0.0);
    assert_near_absolute(efi_grid_round((double)INFINITY), EFI_GRID_MOST, 0.0);
    assert_near_absolute(efi_grid_round((double)NAN), EFI_GRID_MOST, 0.0);
}

static void one_draw_takes_one_uniform_whatever_the_kind(void **state)
{
    (void)state;
    for (int kind = EFI_FIXED; kind <= EFI_GAMMA; kind++) {
        const efi_distribution one = {(efi_draw_kind)kind, 1.5, 2.0};
        efi_random a = efi_random_stream(3, 1, 1);
        efi_random b = a;
        efi_distribution_draw(&one, &a);
        efi_random_uniform(&b);
        assert_true(efi_random_bits(&a) == efi_random_bits(&b));
        assert_true(efi_distribution_valid(&one));
        assert_true(strlen(efi_draw_kind_text(one.kind)) > 0);
    }
}

static void parameters_out_of_range_are_refused(void **state)
{
    (void)state;
    static const efi_distribution bad[] = {{EFI_FIXED, 0.0, 0.0},       {EFI_EXPONENTIAL, -1.0, 0.0},
                                           {EFI_WEIBULL, 1.0, 0.0},     {EFI_WEIBULL, 0.0, 1.0},
                                           {EFI_GAMMA, 1.0, -2.0},      {EFI_LOGNORMAL, 0.0, 0.0},
                                           {EFI_EXPONENTIAL, NAN, 0.0}, {EFI_LOGNORMAL, INFINITY, 1.0}};
    for (size_t k = 0; k < sizeof bad / sizeof bad[0]; k++)
        assert_false(efi_distribution_valid(&bad[k]));
    const efi_distribution good = {EFI_FIXED, 0.5, 0.0};
    const double falling_h[] = {3.0, 2.0};
    const efi_interval overlapping[] = {{0.0, 2.0}, {1.0, 3.0}};
    efi_stop_mode mode = {.gap = bad[0], .duration = good};
    assert_int_equal(efi_stop_mode_check(&mode), EFI_STOP_BAD_GAP);
    mode = (efi_stop_mode){.gap = good, .duration = bad[1]};
    assert_int_equal(efi_stop_mode_check(&mode), EFI_STOP_BAD_DURATION);
    mode = (efi_stop_mode){.gap = good, .duration = good, .lockout_h = -1.0};
    assert_int_equal(efi_stop_mode_check(&mode), EFI_STOP_BAD_DURATION);
    mode = (efi_stop_mode){.schedule = EFI_STOPS_EVERY, .duration = good};
    assert_int_equal(efi_stop_mode_check(&mode), EFI_STOP_BAD_GAP);
    mode = (efi_stop_mode){.schedule = EFI_STOPS_AT, .duration = good, .ats = 2, .at_h = falling_h};
    assert_int_equal(efi_stop_mode_check(&mode), EFI_STOP_BAD_LIST);
    mode = (efi_stop_mode){
        .schedule = EFI_STOPS_AT, .duration = good, .ats = 1, .at_h = falling_h, .period_h = 2.0};
    assert_int_equal(efi_stop_mode_check(&mode), EFI_STOP_BAD_LIST);
    mode = (efi_stop_mode){.schedule = EFI_STOPS_LIST, .intervals = 2, .list = overlapping};
    assert_int_equal(efi_stop_mode_check(&mode), EFI_STOP_BAD_LIST);
    mode.counting = EFI_COUNT_RUNNING;
    assert_int_equal(efi_stop_mode_check(&mode), EFI_STOP_BAD_COUNTING);
    mode = (efi_stop_mode){.gap = good, .duration = good, .has_first = true, .first = -1.0};
    assert_int_equal(efi_stop_mode_check(&mode), EFI_STOP_BAD_GAP);
    mode = (efi_stop_mode){.gap = good, .duration = good};
    assert_int_equal(efi_stop_mode_check(&mode), EFI_STOP_GOOD);
}

/* ---- schedules -------------------------------------------------------------------------------------------
 */

static void assert_stops(const efi_stop_mode *mode, double horizon_h, const efi_interval *expected, int count)
{
    efi_trace trace = {0};
    const efi_trace_basis basis = {horizon_h, 1.0, 1.0};
    assert_int_equal(efi_stop_mode_check(mode), EFI_STOP_GOOD);
    assert_int_equal(efi_trace_lay(mode, 1, 1, 0, 1, 0, &basis, &trace), EF_OK);
    assert_int_equal(trace.stops, count);
    for (int i = 0; i < count; i++) {
        assert_near_absolute(trace.stop[i].from_h, expected[i].from_h, 1e-6);
        assert_near_absolute(trace.stop[i].to_h, expected[i].to_h, 1e-6);
    }
    efi_trace_free(&trace);
}

static void planned_stops_begin_every_so_many_hours(void **state)
{
    (void)state;
    const efi_stop_mode mode = {
        .schedule = EFI_STOPS_EVERY, .every = 4.0, .duration = {EFI_FIXED, 0.25, 0.0}};
    const efi_interval expected[] = {{4.0, 4.25}, {8.0, 8.25}, {12.0, 12.25}};
    assert_stops(&mode, 14.0, expected, 3);
    efi_stop_mode early = mode;
    early.has_first = true;
    early.first = 0.0;
    const efi_interval from_start[] = {{0.0, 0.25}, {4.0, 4.25}};
    assert_stops(&early, 8.0, from_start, 2);
    efi_stop_mode overlong = mode; /* a stop that lasts into the next begins no new one */
    overlong.duration.a = 5.0;
    const efi_interval every_second[] = {{4.0, 9.0}, {12.0, 17.0}};
    assert_stops(&overlong, 16.0, every_second, 2);
}

static void breaks_come_at_clock_times_of_each_day(void **state)
{
    (void)state;
    const double at_h[] = {9.5, 12.0};
    const efi_stop_mode mode = {.schedule = EFI_STOPS_AT,
                                .cause = EFI_CAUSE_BREAK,
                                .duration = {EFI_FIXED, 0.5, 0.0},
                                .ats = 2,
                                .at_h = at_h,
                                .period_h = 24.0};
    const efi_interval expected[] = {{9.5, 10.0}, {12.0, 12.5}, {33.5, 34.0}, {36.0, 36.5}};
    assert_stops(&mode, 48.0, expected, 4);
    efi_stop_mode once = mode;
    once.period_h = 0.0;
    assert_stops(&once, 48.0, expected, 2);
}

static void recorded_stops_are_laid_as_recorded(void **state)
{
    (void)state;
    const efi_interval list[] = {{0.0, 1.0}, {2.5, 2.75}, {7.0, 9.0}};
    const efi_stop_mode mode = {.schedule = EFI_STOPS_LIST, .intervals = 3, .list = list};
    assert_stops(&mode, 8.0, list, 3);
    assert_stops(&mode, 7.0, list, 2);
    double gap[5];
    double duration_h[5];
    efi_trace_sequence(&mode, 1, 0, 0, 5, gap, duration_h);
    assert_true(gap[3] >= INFINITY && duration_h[3] <= 0.0);
}

static void a_lockout_is_the_least_repair(void **state)
{
    (void)state;
    const efi_stop_mode mode = {
        .gap = {EFI_EXPONENTIAL, 5.0, 0.0}, .duration = {EFI_EXPONENTIAL, 0.5, 0.0}, .lockout_h = 0.25};
    efi_stop_mode without = mode;
    without.lockout_h = 0.0;
    double gap[200];
    double locked_h[200];
    double free_h[200];
    efi_trace_sequence(&mode, 1, 0, 7, 200, gap, locked_h);
    efi_trace_sequence(&without, 1, 0, 7, 200, gap, free_h);
    int raised = 0;
    for (int i = 0; i < 200; i++) {
        assert_near_absolute(locked_h[i], fmax(free_h[i], 0.25), 0.0);
        raised += free_h[i] < 0.25;
    }
    assert_true(raised > 40 && raised < 140); /* 1 - exp(-0.5) = 39 % expected */
}

/* ---- traces -----------------------------------------------------------------------------------------------
 */

static void a_trace_belongs_to_seed_replication_station_and_mode(void **state)
{
    (void)state;
    const efi_stop_mode mode = {.gap = {EFI_EXPONENTIAL, 5.0, 0.0}, .duration = {EFI_EXPONENTIAL, 0.5, 0.0}};
    double first[8];
    double other[8];
    double duration_h[8];
    efi_trace_sequence(&mode, 1, 2, efi_stop_stream(3, 0, 0), 8, first, duration_h);
    efi_trace_sequence(&mode, 1, 2, efi_stop_stream(3, 0, 0), 8, other, duration_h);
    assert_memory_equal(first, other, sizeof first);
    const struct {
        uint64_t seed;
        uint64_t replication;
        uint64_t stream;
    } different[] = {{2, 2, efi_stop_stream(3, 0, 0)},
                     {1, 3, efi_stop_stream(3, 0, 0)},
                     {1, 2, efi_stop_stream(4, 0, 0)},
                     {1, 2, efi_stop_stream(3, 1, 0)},
                     {1, 2, efi_stop_stream(3, 0, 1)}};
    for (size_t k = 0; k < sizeof different / sizeof different[0]; k++) {
        efi_trace_sequence(&mode, different[k].seed, different[k].replication, different[k].stream, 8, other,
                           duration_h);
        assert_memory_not_equal(first, other, sizeof first);
    }
    /* The same uniforms behind another mean: longer gaps in proportion, up to the grid. */
    efi_stop_mode longer = mode;
    longer.gap.a = 10.0;
    efi_trace_sequence(&longer, 1, 2, efi_stop_stream(3, 0, 0), 8, other, duration_h);
    for (int i = 0; i < 8; i++)
        assert_near_absolute(other[i], 2.0 * first[i], 2.0 * EFI_GRID_STEP);
}

static void stops_of_several_modes_are_merged_on_the_clock(void **state)
{
    (void)state;
    const efi_interval list[] = {{1.0, 3.0}, {3.5, 4.0}};
    const efi_stop_mode modes[] = {
        {.schedule = EFI_STOPS_EVERY, .every = 2.0, .duration = {EFI_FIXED, 0.5, 0.0}},
        {.schedule = EFI_STOPS_LIST, .intervals = 2, .list = list},
    };
    efi_trace trace = {0};
    const efi_trace_basis basis = {8.0, 1.0, 1.0};
    assert_int_equal(efi_trace_lay(modes, 2, 1, 0, 1, 0, &basis, &trace), EF_OK);
    const efi_interval expected[] = {{1.0, 3.0}, {3.5, 4.5}, {6.0, 6.5}};
    assert_int_equal(trace.stops, 3);
    for (int i = 0; i < 3; i++) {
        assert_near_absolute(trace.stop[i].from_h, expected[i].from_h, 1e-6);
        assert_near_absolute(trace.stop[i].to_h, expected[i].to_h, 1e-6);
    }
    assert_near_absolute(efi_trace_stopped_h(&trace, 8.0), 3.5, 1e-6);
    assert_near_absolute(efi_trace_stopped_h(&trace, 2.0), 1.0, 1e-6);
    efi_trace_free(&trace);
    assert_null(trace.stop);
}

static void running_hours_and_tonnes_are_laid_at_the_expected_use(void **state)
{
    (void)state;
    const efi_trace_basis basis = {20.0, 0.8, 10.0};
    const efi_stop_mode running = {.schedule = EFI_STOPS_EVERY,
                                   .counting = EFI_COUNT_RUNNING,
                                   .every = 4.0,
                                   .duration = {EFI_FIXED, 0.5, 0.0}};
    efi_stop_mode tonnes = running;
    tonnes.counting = EFI_COUNT_TONNES;
    tonnes.every = 40.0;
    /* 4 running hours, or 40 t at 10 t/h, take 4/0.8 = 5 h of clock; then 0.5 h of stop. */
    const efi_interval expected[] = {{5.0, 5.5}, {10.5, 11.0}, {16.0, 16.5}};
    efi_trace trace = {0};
    for (int k = 0; k < 2; k++) {
        assert_int_equal(efi_trace_lay(k == 0 ? &running : &tonnes, 1, 1, 0, 1, 0, &basis, &trace), EF_OK);
        assert_int_equal(trace.stops, 3);
        for (int i = 0; i < 3; i++)
            assert_near_absolute(trace.stop[i].from_h, expected[i].from_h, 1e-5);
    }
    efi_trace_free(&trace);
}

static void a_trace_without_memory_is_refused_and_empty(void **state)
{
    (void)state;
    const efi_stop_mode mode = {.gap = {EFI_EXPONENTIAL, 0.1, 0.0}, .duration = {EFI_EXPONENTIAL, 0.1, 0.0}};
    const efi_trace_basis basis = {50.0, 1.0, 1.0};
    for (long n = 1;; n++) {
        efi_trace trace = {0};
        efi_memory_fail_at(n);
        const ef_status status = efi_trace_lay(&mode, 1, 1, 0, 1, 0, &basis, &trace);
        efi_memory_fail_at(0);
        const int stops = trace.stops;
        efi_trace_free(&trace);
        if (status == EF_OK) {
            assert_true(n > 3 && stops > 100);
            return;
        }
        assert_int_equal(status, EF_MEMORY);
        assert_int_equal(stops, 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(draws_follow_the_distributions_of_gsl),
        cmocka_unit_test(quantiles_invert_the_distributions_of_gsl),
        cmocka_unit_test(what_remains_follows_the_stationary_excess),
        cmocka_unit_test(a_past_moves_the_first_stop_only),
        cmocka_unit_test(draws_lie_on_the_grid_and_are_at_least_one_step),
        cmocka_unit_test(one_draw_takes_one_uniform_whatever_the_kind),
        cmocka_unit_test(parameters_out_of_range_are_refused),
        cmocka_unit_test(planned_stops_begin_every_so_many_hours),
        cmocka_unit_test(breaks_come_at_clock_times_of_each_day),
        cmocka_unit_test(recorded_stops_are_laid_as_recorded),
        cmocka_unit_test(a_lockout_is_the_least_repair),
        cmocka_unit_test(a_trace_belongs_to_seed_replication_station_and_mode),
        cmocka_unit_test(stops_of_several_modes_are_merged_on_the_clock),
        cmocka_unit_test(running_hours_and_tonnes_are_laid_at_the_expected_use),
        cmocka_unit_test(a_trace_without_memory_is_refused_and_empty),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
