/* SPDX-License-Identifier: GPL-3.0-or-later
 * Slopes of the optimum by a bound, on degenerate programs above all. */
#include "base/random.h"
#include "shared/lp/lp.h"

#include "../lib/near.h"
#include "../lib/programs.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static double slope(const efi_lp *lp, efi_lp_side side, int index, efi_lp_direction direction)
{
    const efi_lp_bound bound = {side, index};
    double found = (double)NAN;
    assert_int_equal(efi_lp_slopes(lp, &bound, 1, direction, &found), EF_OK);
    return found;
}

static void slopes_of_a_degenerate_optimum_are_the_hand_values(void **state)
{
    (void)state;
    /*
     * A series of machines: max r, r <= 10 by the first, r <= 10 by the second, r <= 12 by the third. Two
     * bind at once: more of either alone is worth 0, less of either costs 1; the third is worth nothing both
     * ways.
     */
    efi_lp *lp = efi_lp_new();
    efi_lp_set_sense(lp, EFI_LP_MAXIMISE);
    const int r = program_column(lp, efi_lp_between(0.0, 10.0), 1.0);
    PROGRAM_ROW(lp, efi_lp_at_most(10.0), {r, 1.0});
    PROGRAM_ROW(lp, efi_lp_at_most(24.0), {r, 2.0});
    program_solve(lp, NULL);
    assert_near(slope(lp, EFI_LP_COLUMN_UPPER, r, EFI_LP_GROW), 0.0, 1e-9);
    assert_near(slope(lp, EFI_LP_ROW_UPPER, 0, EFI_LP_GROW), 0.0, 1e-9);
    assert_near(slope(lp, EFI_LP_COLUMN_UPPER, r, EFI_LP_SHRINK), 1.0, 1e-9);
    assert_near(slope(lp, EFI_LP_ROW_UPPER, 0, EFI_LP_SHRINK), 1.0, 1e-9);
    assert_near(slope(lp, EFI_LP_ROW_UPPER, 1, EFI_LP_GROW), 0.0, 1e-9);
    assert_near(slope(lp, EFI_LP_ROW_UPPER, 1, EFI_LP_SHRINK), 0.0, 1e-9);
    /* Alone it binds: one more is worth 1 up to the next. */
    assert_int_equal(efi_lp_set_column_bounds(lp, r, efi_lp_between(0.0, 9.0)), EF_OK);
    program_solve(lp, NULL);
    double right = (double)NAN;
    assert_int_equal(efi_lp_right_slope(lp, (efi_lp_bound){EFI_LP_COLUMN_UPPER, r}, &right), EF_OK);
    assert_near(right, 1.0, 1e-9);
    efi_lp_free(lp);
}

static void slope_into_an_infeasible_program_is_infinite(void **state)
{
    (void)state;
    efi_lp *lp = efi_lp_new();
    const int x = program_column(lp, efi_lp_between(0.0, 5.0), 1.0);
    PROGRAM_ROW(lp, efi_lp_at_least(5.0), {x, 1.0});
    assert_near(program_solve(lp, NULL).objective, 5.0, 1e-9);
    assert_true(slope(lp, EFI_LP_ROW_LOWER, 0, EFI_LP_GROW) == (double)INFINITY);
    assert_near(slope(lp, EFI_LP_ROW_LOWER, 0, EFI_LP_SHRINK), 1.0, 1e-9);
    assert_true(slope(lp, EFI_LP_COLUMN_UPPER, x, EFI_LP_SHRINK) == (double)-INFINITY);
    assert_near(slope(lp, EFI_LP_COLUMN_UPPER, x, EFI_LP_GROW), 0.0, 1e-9);
    assert_near(slope(lp, EFI_LP_COLUMN_LOWER, x, EFI_LP_GROW), 0.0, 1e-9);
    efi_lp_set_sense(lp, EFI_LP_MAXIMISE);
    assert_near(program_solve(lp, NULL).objective, 5.0, 1e-9);
    assert_true(slope(lp, EFI_LP_ROW_LOWER, 0, EFI_LP_GROW) == (double)-INFINITY);
    assert_true(slope(lp, EFI_LP_COLUMN_UPPER, x, EFI_LP_SHRINK) == (double)INFINITY);
    assert_near(slope(lp, EFI_LP_COLUMN_UPPER, x, EFI_LP_GROW), 1.0, 1e-9);
    efi_lp_free(lp);
}

static void slopes_are_refused_without_a_current_optimum(void **state)
{
    (void)state;
    efi_lp *lp = program_two_products();
    const efi_lp_bound upper = {EFI_LP_ROW_UPPER, 0};
    double found = 7.0;
    assert_int_equal(efi_lp_right_slope(lp, upper, &found), EF_USAGE); /* not solved */
    program_solve(lp, NULL);
    assert_int_equal(efi_lp_right_slope(lp, (efi_lp_bound){EFI_LP_ROW_LOWER, 0}, &found), EF_USAGE);
    assert_int_equal(efi_lp_right_slope(lp, (efi_lp_bound){EFI_LP_ROW_UPPER, 3}, &found), EF_USAGE);
    assert_int_equal(efi_lp_right_slope(lp, (efi_lp_bound){EFI_LP_COLUMN_LOWER, -1}, &found), EF_USAGE);
    assert_int_equal(efi_lp_set_row_bounds(lp, 0, efi_lp_at_most(5.0)), EF_OK);
    assert_int_equal(efi_lp_right_slope(lp, upper, &found), EF_USAGE); /* changed */
    assert_int_equal(efi_lp_set_integer(lp, 0, true), EF_OK);
    program_solve(lp, NULL);
    assert_int_equal(efi_lp_right_slope(lp, upper, &found), EF_USAGE); /* no duals */
    assert_near(found, 7.0, 0.0);
    efi_lp_free(lp);
}

enum {
    RANDOM_COLUMNS = 12,
    RANDOM_ROWS = 9
};

/* Small whole numbers everywhere, so that many optima are degenerate. */
static efi_lp *random_program(uint64_t seed)
{
    efi_random random = efi_random_stream(seed, 1, 0);
    efi_lp *lp = efi_lp_new();
    efi_lp_set_sense(lp, seed % 2 ? EFI_LP_MAXIMISE : EFI_LP_MINIMISE);
    for (int j = 0; j < RANDOM_COLUMNS; j++)
        program_column(lp, efi_lp_between(0.0, 1.0 + efi_random_below(&random, 3)),
                       (double)efi_random_below(&random, 5) - 2.0);
    for (int i = 0; i < RANDOM_ROWS; i++) {
        efi_lp_entry entries[RANDOM_COLUMNS];
        int count = 0;
        for (int j = 0; j < RANDOM_COLUMNS; j++)
            if (efi_random_below(&random, 3) == 0)
                entries[count++] = (efi_lp_entry){j, (double)efi_random_below(&random, 4) - 1.0};
        const double upper = (double)efi_random_below(&random, 4);
        const bool is_equal = efi_random_below(&random, 5) == 0;
        program_row(lp, is_equal ? efi_lp_exactly(0.0) : efi_lp_between(-upper, upper), entries, count);
    }
    return lp;
}

static ef_status bound_move(efi_lp *lp, efi_lp_bound bound, double step)
{
    const bool is_column = bound.side == EFI_LP_COLUMN_LOWER || bound.side == EFI_LP_COLUMN_UPPER;
    efi_lp_bounds b = is_column ? efi_lp_column_bounds(lp, bound.index) : efi_lp_row_bounds(lp, bound.index);
    if (bound.side == EFI_LP_COLUMN_LOWER || bound.side == EFI_LP_ROW_LOWER)
        b.lower += step;
    else
        b.upper += step;
    return is_column ? efi_lp_set_column_bounds(lp, bound.index, b)
                     : efi_lp_set_row_bounds(lp, bound.index, b);
}

/*
 * The slope by finite difference: steps are halved until two agree, which a piecewise linear optimum does
 * from some step on. Infinite when the program is infeasible at every step. Solved afresh each time.
 */
static double difference_slope(uint64_t seed, efi_lp_bound bound, double direction, double optimum)
{
    double last = (double)NAN;
    for (int halvings = 6; halvings <= 12; halvings++) {
        const double step = ldexp(1.0, -halvings);
        efi_lp *lp = random_program(seed);
        const double worst = efi_lp_get_sense(lp) == EFI_LP_MINIMISE ? (double)INFINITY : (double)-INFINITY;
        assert_int_equal(bound_move(lp, bound, direction * step), EF_OK);
        const efi_lp_result result = program_solve(lp, NULL);
        double quotient = direction * worst;
        if (result.outcome == EFI_LP_OPTIMAL)
            quotient = (result.objective - optimum) / (direction * step);
        else
            assert_int_equal(result.outcome, EFI_LP_INFEASIBLE);
        efi_lp_free(lp);
        if (near_is(quotient, last, 1e-8))
            return quotient;
        last = quotient;
    }
    fail_msg("seed %lu: the differences do not settle", (unsigned long)seed);
    return last;
}

static void slopes_of_random_degenerate_programs_are_the_finite_differences(void **state)
{
    (void)state;
    int compared = 0;
    int two_sided = 0; /* kinks: left and right slope differ, so no dual could tell both */
    for (uint64_t seed = 1; seed <= 25; seed++) {
        efi_lp *lp = random_program(seed);
        const efi_lp_result base = program_solve(lp, NULL);
        if (base.outcome != EFI_LP_OPTIMAL) {
            efi_lp_free(lp);
            continue;
        }
        for (int side = EFI_LP_COLUMN_LOWER; side <= EFI_LP_ROW_UPPER; side++) {
            const int count = side <= EFI_LP_COLUMN_UPPER ? RANDOM_COLUMNS : RANDOM_ROWS;
            for (int index = 0; index < count; index++) {
                const efi_lp_bound bound = {(efi_lp_side)side, index};
                const double right = slope(lp, bound.side, index, EFI_LP_GROW);
                const double left = slope(lp, bound.side, index, EFI_LP_SHRINK);
                const double right_expected = difference_slope(seed, bound, 1.0, base.objective);
                const double left_expected = difference_slope(seed, bound, -1.0, base.objective);
                if (!near_is(right, right_expected, 1e-6) || !near_is(left, left_expected, 1e-6))
                    print_error("seed %lu side %d index %d\n", (unsigned long)seed, side, index);
                assert_near_absolute(right, right_expected, 1e-6);
                assert_near_absolute(left, left_expected, 1e-6);
                compared++;
                two_sided += !near_is(left, right, 1e-6);
            }
        }
        /* The program itself was left alone. */
        assert_int_equal(program_solve(lp, NULL).iterations, 0);
        assert_near(program_solve(lp, NULL).objective, base.objective, 0.0);
        efi_lp_free(lp);
    }
    assert_true(compared >= 500);
    assert_true(two_sided >= 50);
}

static void slopes_after_the_interior_point_are_the_same(void **state)
{
    (void)state;
    efi_lp *lp = program_two_products();
    const efi_lp_options options = program_options(EFI_LP_INTERIOR, EFI_LP_PRESOLVE_AUTO);
    assert_near(program_solve(lp, &options).objective, 36.0, 1e-6);
    assert_near(slope(lp, EFI_LP_ROW_UPPER, 0, EFI_LP_GROW), 0.0, 1e-6);
    assert_near(slope(lp, EFI_LP_ROW_UPPER, 1, EFI_LP_GROW), 1.5, 1e-6);
    assert_near(slope(lp, EFI_LP_ROW_UPPER, 2, EFI_LP_GROW), 1.0, 1e-6);
    efi_lp_free(lp);
}

static bool never_stop(void *context)
{
    (void)context;
    return false;
}

static void same_calls_give_the_same_bits(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 10; seed++) {
        efi_lp *a = random_program(seed);
        efi_lp *b = random_program(seed);
        efi_lp_options watched = efi_lp_defaults();
        watched.should_stop = never_stop;
        watched.has_time_limit = true;
        watched.time_limit_s = 1000.0;
        const efi_lp_result first = program_solve(a, NULL);
        const efi_lp_result second = program_solve(b, &watched);
        assert_int_equal(first.outcome, second.outcome);
        if (first.has_point)
            assert_memory_equal(efi_lp_values(a), efi_lp_values(b), RANDOM_COLUMNS * sizeof(double));
        efi_lp_free(a);
        efi_lp_free(b);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(slopes_of_a_degenerate_optimum_are_the_hand_values),
        cmocka_unit_test(slope_into_an_infeasible_program_is_infinite),
        cmocka_unit_test(slopes_are_refused_without_a_current_optimum),
        cmocka_unit_test(slopes_of_random_degenerate_programs_are_the_finite_differences),
        cmocka_unit_test(slopes_after_the_interior_point_are_the_same),
        cmocka_unit_test(same_calls_give_the_same_bits),
    };
    return cmocka_run_group_tests(tests, NULL, program_leave_solver);
}
