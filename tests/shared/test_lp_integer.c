/* SPDX-License-Identifier: GPL-3.0-or-later
 * Programs with integer columns. */
#include "base/random.h"
#include "shared/lp/lp.h"

#include "../lib/near.h"
#include "../lib/programs.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/*
 * Knapsack of six things, capacity 100; `best` by trying all 64 subsets.
 */
static const double knapsack_worth[] = {24.0, 13.0, 23.0, 15.0, 16.0, 30.0};
static const double knapsack_weight[] = {35.0, 21.0, 37.0, 24.0, 27.0, 49.0};

static double knapsack_best(void)
{
    double best = 0.0;
    for (unsigned subset = 0; subset < 64; subset++) {
        double worth = 0.0;
        double weight = 0.0;
        for (unsigned k = 0; k < 6; k++)
            if (subset & (1u << k)) {
                worth += knapsack_worth[k];
                weight += knapsack_weight[k];
            }
        if (weight <= 100.0 && worth > best)
            best = worth;
    }
    return best;
}

static efi_lp *knapsack(bool minimises)
{
    efi_lp *lp = efi_lp_new();
    efi_lp_entry entries[6];
    efi_lp_set_sense(lp, minimises ? EFI_LP_MINIMISE : EFI_LP_MAXIMISE);
    for (int k = 0; k < 6; k++)
        entries[k] = (efi_lp_entry){
            program_integer_column(lp, efi_lp_between(0.0, 1.0),
                                   minimises ? -knapsack_worth[k] : knapsack_worth[k]),
            knapsack_weight[k]};
    program_row(lp, efi_lp_at_most(100.0), entries, 6);
    return lp;
}

static void knapsack_is_that_of_full_enumeration(void **state)
{
    (void)state;
    const double best = knapsack_best();
    for (int minimises = 0; minimises < 2; minimises++)
        for (int cuts = 0; cuts < 2; cuts++) {
            efi_lp *lp = knapsack(minimises);
            efi_lp_options options = efi_lp_defaults();
            options.use_cuts = cuts;
            const efi_lp_result result = program_solve(lp, &options);
            assert_int_equal(result.outcome, EFI_LP_OPTIMAL);
            assert_near(result.objective, minimises ? -best : best, 1e-9);
            assert_true(result.has_bound && !result.has_duals);
            assert_near(result.bound, result.objective, 1e-6);
            for (int k = 0; k < 6; k++)
                assert_true(efi_lp_values(lp)[k] == 0.0 || efi_lp_values(lp)[k] == 1.0);
            options.relax_integers = true;
            const efi_lp_result relaxed = program_solve(lp, &options);
            assert_true(relaxed.has_duals);
            assert_true(minimises ? relaxed.objective < -best - 0.01 : relaxed.objective > best + 0.01);
            efi_lp_free(lp);
        }
}

static void integer_outcomes_are_told_apart(void **state)
{
    (void)state;
    /* 2x = 1 has no whole x, though the relaxation has one; x <= 1 and x >= 2 has neither. */
    efi_lp *lp = efi_lp_new();
    const int x = program_integer_column(lp, efi_lp_between(0.0, 10.0), 1.0);
    const int y = program_column(lp, efi_lp_at_least(0.0), 0.0);
    PROGRAM_ROW(lp, efi_lp_exactly(1.0), {x, 2.0}, {y, 1.0});
    PROGRAM_ROW(lp, efi_lp_at_most(0.0), {y, 1.0});
    assert_int_equal(program_solve(lp, NULL).outcome, EFI_LP_INFEASIBLE);
    assert_int_equal(efi_lp_set_row_bounds(lp, 0, efi_lp_exactly(100.0)), EF_OK);
    assert_int_equal(program_solve(lp, NULL).outcome, EFI_LP_INFEASIBLE);
    assert_int_equal(efi_lp_set_row_bounds(lp, 0, efi_lp_at_least(1.0)), EF_OK);
    assert_near(program_solve(lp, NULL).objective, 1.0, 1e-9);
    efi_lp_free(lp);

    lp = program_runaway();
    assert_int_equal(efi_lp_set_integer(lp, 0, true), EF_OK);
    assert_int_equal(program_solve(lp, NULL).outcome, EFI_LP_UNBOUNDED);
    efi_lp_free(lp);
    lp = program_infeasible_both_ways();
    assert_int_equal(efi_lp_set_integer(lp, 0, true), EF_OK);
    assert_int_equal(program_solve(lp, NULL).outcome, EFI_LP_INFEASIBLE);
    efi_lp_free(lp);
}

/*
 * A market split: rows sum_j a_ij x_j = floor(sum_j a_ij / 2) with random a in 0..99, elastic with cost 1 on
 * the misses: small, and yet hours of branching. Source: G. Cornuejols and M. Dawande, A class of hard small
 * 0-1 programs, INFORMS J. Computing 11 (1999) 205-210 (from memory).
 */
static efi_lp *market_split(int rows, int columns)
{
    efi_lp *lp = efi_lp_new();
    efi_random random = efi_random_stream(4711, 0, 0);
    efi_lp_entry *entries = calloc((size_t)columns + 2, sizeof *entries);
    assert_non_null(entries);
    for (int j = 0; j < columns; j++)
        program_integer_column(lp, efi_lp_between(0.0, 1.0), 0.0);
    for (int i = 0; i < rows; i++) {
        double sum = 0.0;
        for (int j = 0; j < columns; j++) {
            entries[j] = (efi_lp_entry){j, (double)efi_random_below(&random, 100)};
            sum += entries[j].value;
        }
        entries[columns] = (efi_lp_entry){program_column(lp, efi_lp_at_least(0.0), 1.0), 1.0};
        entries[columns + 1] = (efi_lp_entry){program_column(lp, efi_lp_at_least(0.0), 1.0), -1.0};
        program_row(lp, efi_lp_exactly(floor(sum / 2.0)), entries, columns + 2);
    }
    free(entries);
    return lp;
}

static bool stop_after(void *context)
{
    return --*(int *)context <= 0;
}

static void stopped_branch_and_bound_keeps_incumbent_and_bound(void **state)
{
    (void)state;
    efi_lp *lp = market_split(5, 40);
    int calls = 3000;
    efi_lp_options options = efi_lp_defaults();
    options.should_stop = stop_after;
    options.stop_context = &calls;
    const efi_lp_result stopped = program_solve(lp, &options);
    assert_int_equal(stopped.outcome, EFI_LP_STOPPED_FEASIBLE);
    assert_true(stopped.has_point && stopped.has_bound);
    assert_true(stopped.bound <= stopped.objective + 1e-9);
    assert_true(stopped.bound >= -1e-9);
    double misses = 0.0;
    for (int j = 40; j < 50; j++)
        misses += efi_lp_values(lp)[j];
    assert_near(stopped.objective, misses, 1e-9);

    options = efi_lp_defaults();
    options.has_time_limit = true;
    options.time_limit_s = 0.2;
    const efi_lp_result timed = program_solve(lp, &options);
    assert_true(timed.outcome == EFI_LP_STOPPED_FEASIBLE || timed.outcome == EFI_LP_STOPPED);
    assert_true(timed.has_bound && timed.bound >= -1e-9);
    efi_lp_free(lp);
}

static void accepted_gap_ends_branching_with_a_bound_that_shows_it(void **state)
{
    (void)state;
    efi_lp *lp = knapsack(false);
    efi_lp_options options = efi_lp_defaults();
    options.gap_share = 0.5;
    const efi_lp_result result = program_solve(lp, &options);
    assert_int_equal(result.outcome, EFI_LP_OPTIMAL);
    assert_true(result.bound >= knapsack_best() - 1e-9);
    assert_true(result.bound - result.objective <= 0.5 * fabs(result.objective) + 1e-9);
    efi_lp_free(lp);
}

static void tiny_share_of_a_fixed_cost_is_not_taken_for_nothing(void **state)
{
    (void)state;
    /* x >= 0.005, x <= 10000 y, y whole: y = 5e-7 would do for the solver's tolerance of whole numbers. */
    efi_lp *lp = efi_lp_new();
    const int y = program_integer_column(lp, efi_lp_between(0.0, 1.0), 100.0);
    const int x = program_column(lp, efi_lp_at_least(0.0), 1.0);
    const int z = program_column(lp, efi_lp_at_least(0.0), 1e5);
    PROGRAM_ROW(lp, efi_lp_at_most(0.0), {x, 1.0}, {y, -1e4});
    PROGRAM_ROW(lp, efi_lp_exactly(0.005), {x, 1.0}, {z, 1.0});
    const efi_lp_result result = program_solve(lp, NULL);
    assert_int_equal(result.outcome, EFI_LP_OPTIMAL);
    assert_true(efi_lp_values(lp)[x] <= 1e4 * efi_lp_values(lp)[y] + 1e-6);
    assert_near(result.objective,
                100.0 * efi_lp_values(lp)[y] + efi_lp_values(lp)[x] + 1e5 * efi_lp_values(lp)[z], 1e-9);
    efi_lp_free(lp);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(knapsack_is_that_of_full_enumeration),
        cmocka_unit_test(integer_outcomes_are_told_apart),
        cmocka_unit_test(stopped_branch_and_bound_keeps_incumbent_and_bound),
        cmocka_unit_test(accepted_gap_ends_branching_with_a_bound_that_shows_it),
        cmocka_unit_test(tiny_share_of_a_fixed_cost_is_not_taken_for_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, program_leave_solver);
}
