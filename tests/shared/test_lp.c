/* SPDX-License-Identifier: GPL-3.0-or-later
 * Linear programs: building, changing, solving in every way, what comes back. */
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

static const efi_lp_method methods[] = {EFI_LP_AUTO, EFI_LP_DUAL, EFI_LP_PRIMAL, EFI_LP_INTERIOR};
static const efi_lp_presolve presolves[] = {EFI_LP_PRESOLVE_AUTO, EFI_LP_PRESOLVE_ON, EFI_LP_PRESOLVE_OFF};

/* Every method with every presolve, on a program made afresh by `make`; all must come to `expected`. */
static void expect_outcome(efi_lp *(*make)(void), efi_lp_outcome expected, double objective)
{
    for (size_t m = 0; m < EF_COUNT(methods); m++)
        for (size_t p = 0; p < EF_COUNT(presolves); p++) {
            efi_lp *lp = make();
            const efi_lp_options options = program_options(methods[m], presolves[p]);
            const efi_lp_result result = program_solve(lp, &options);
            assert_string_equal(efi_lp_outcome_text(result.outcome), efi_lp_outcome_text(expected));
            assert_int_equal(result.has_point, expected == EFI_LP_OPTIMAL);
            assert_int_equal(result.has_duals, expected == EFI_LP_OPTIMAL);
            assert_int_equal(result.has_bound, expected == EFI_LP_OPTIMAL);
            if (expected == EFI_LP_OPTIMAL) {
                assert_near(result.objective, objective, 1e-7);
                assert_near(result.bound, objective, 1e-6);
            } else {
                assert_null(efi_lp_values(lp));
                assert_null(efi_lp_duals(lp));
            }
            efi_lp_free(lp);
        }
}

static efi_lp *two_products_infeasible(void)
{
    efi_lp *lp = program_two_products();
    PROGRAM_ROW(lp, efi_lp_at_least(100.0), {0, 1.0}, {1, 1.0});
    return lp;
}

/* Infeasible only in its equalities, so that no single row shows it. */
static efi_lp *contradiction(void)
{
    efi_lp *lp = efi_lp_new();
    const int x = program_column(lp, efi_lp_free_bounds(), 1.0);
    const int y = program_column(lp, efi_lp_free_bounds(), 1.0);
    const int z = program_column(lp, efi_lp_free_bounds(), 0.0);
    PROGRAM_ROW(lp, efi_lp_exactly(1.0), {x, 1.0}, {y, 1.0});
    PROGRAM_ROW(lp, efi_lp_exactly(1.0), {y, 1.0}, {z, -1.0});
    PROGRAM_ROW(lp, efi_lp_exactly(1.0), {x, 1.0}, {z, 1.0});
    return lp;
}

static efi_lp *runaway_without_rows(void)
{
    efi_lp *lp = efi_lp_new();
    program_column(lp, efi_lp_at_most(0.0), 1.0);
    return lp;
}

static efi_lp *nothing_at_all(void)
{
    efi_lp *lp = efi_lp_new();
    assert_int_equal(efi_lp_set_constant(lp, 2.5), EF_OK);
    return lp;
}

static efi_lp *rows_without_columns(void)
{
    efi_lp *lp = nothing_at_all();
    program_row(lp, efi_lp_between(-1.0, 1.0), NULL, 0);
    return lp;
}

static efi_lp *an_empty_row_that_asks_for_one(void)
{
    efi_lp *lp = program_two_products();
    program_row(lp, efi_lp_exactly(1.0), NULL, 0);
    return lp;
}

static efi_lp *crossed_bounds(void)
{
    efi_lp *lp = program_two_products();
    assert_int_equal(efi_lp_set_column_bounds(lp, 0, efi_lp_between(3.0, 2.0)), EF_OK);
    return lp;
}

static void textbook_optimum_comes_out_of_every_method(void **state)
{
    (void)state;
    expect_outcome(program_two_products, EFI_LP_OPTIMAL, 36.0);
    expect_outcome(nothing_at_all, EFI_LP_OPTIMAL, 2.5);
    expect_outcome(rows_without_columns, EFI_LP_OPTIMAL, 2.5);
}

static void infeasible_is_told_with_and_without_presolve(void **state)
{
    (void)state;
    expect_outcome(two_products_infeasible, EFI_LP_INFEASIBLE, 0.0);
    expect_outcome(contradiction, EFI_LP_INFEASIBLE, 0.0);
    expect_outcome(an_empty_row_that_asks_for_one, EFI_LP_INFEASIBLE, 0.0);
    expect_outcome(program_infeasible_both_ways, EFI_LP_INFEASIBLE, 0.0);
    expect_outcome(crossed_bounds, EFI_LP_INFEASIBLE, 0.0);
}

static void unbounded_is_told_with_and_without_presolve(void **state)
{
    (void)state;
    expect_outcome(program_runaway, EFI_LP_UNBOUNDED, 0.0);
    expect_outcome(runaway_without_rows, EFI_LP_UNBOUNDED, 0.0);
}

static void values_activities_duals_and_reduced_costs_are_those_of_the_textbook(void **state)
{
    (void)state;
    efi_lp *lp = program_two_products();
    program_solve(lp, NULL);
    assert_near(efi_lp_values(lp)[0], 2.0, 1e-9);
    assert_near(efi_lp_values(lp)[1], 6.0, 1e-9);
    assert_near(efi_lp_activities(lp)[0], 2.0, 1e-9);
    assert_near(efi_lp_activities(lp)[1], 12.0, 1e-9);
    assert_near(efi_lp_activities(lp)[2], 18.0, 1e-9);
    assert_near(efi_lp_duals(lp)[0], 0.0, 1e-9);
    assert_near(efi_lp_duals(lp)[1], 1.5, 1e-9);
    assert_near(efi_lp_duals(lp)[2], 1.0, 1e-9);
    assert_near(efi_lp_reduced_costs(lp)[0], 0.0, 1e-9);
    assert_near(efi_lp_reduced_costs(lp)[1], 0.0, 1e-9);
    efi_lp_free(lp);
}

static void duals_have_the_sign_of_a_derivative_when_minimising_too(void **state)
{
    (void)state;
    /* min 2x + 3y, x + y >= 4, x <= 3: optimum 9 at (3, 1); one more on the row costs 3, on x's bound -1. */
    efi_lp *lp = efi_lp_new();
    const int x = program_column(lp, efi_lp_between(0.0, 3.0), 2.0);
    const int y = program_column(lp, efi_lp_at_least(0.0), 3.0);
    PROGRAM_ROW(lp, efi_lp_at_least(4.0), {x, 1.0}, {y, 1.0});
    assert_near(program_solve(lp, NULL).objective, 9.0, 1e-9);
    assert_near(efi_lp_duals(lp)[0], 3.0, 1e-9);
    assert_near(efi_lp_reduced_costs(lp)[x], -1.0, 1e-9);
    efi_lp_free(lp);
}

static void entries_of_one_column_are_added_up_and_sorted(void **state)
{
    (void)state;
    efi_lp *lp = efi_lp_new();
    const int x = program_column(lp, efi_lp_at_least(0.0), 1.0);
    const int y = program_column(lp, efi_lp_at_least(0.0), 0.0);
    const int r = PROGRAM_ROW(lp, efi_lp_at_least(6.0), {y, 1.0}, {x, 1.0}, {y, -1.0}, {x, 2.0});
    int count = 0;
    const efi_lp_entry *entries = efi_lp_row_entries(lp, r, &count);
    assert_int_equal(count, 2);
    assert_int_equal(entries[0].column, x);
    assert_near(entries[0].value, 3.0, 0.0);
    assert_int_equal(entries[1].column, y);
    assert_near(entries[1].value, 0.0, 0.0);
    assert_near(program_solve(lp, NULL).objective, 2.0, 1e-9);
    efi_lp_free(lp);
}

static void wrong_arguments_are_refused_and_change_nothing(void **state)
{
    (void)state;
    efi_lp *lp = program_two_products();
    int index = 77;
    const efi_lp_entry beyond = {2, 1.0};
    const efi_lp_entry before = {-1, 1.0};
    const efi_lp_entry no_number = {0, (double)NAN};
    const efi_lp_entry overflow[] = {{0, 1e308}, {0, 1e308}};
    const efi_lp_bounds no_bounds = efi_lp_at_most((double)INFINITY);
    const efi_lp_bounds fine = efi_lp_at_least(0.0);
    assert_int_equal(efi_lp_add_row(lp, NULL, fine, &beyond, 1, &index), EF_USAGE);
    assert_int_equal(efi_lp_add_row(lp, NULL, fine, &before, 1, &index), EF_USAGE);
    assert_int_equal(efi_lp_add_row(lp, NULL, fine, &no_number, 1, &index), EF_USAGE);
    assert_int_equal(efi_lp_add_row(lp, NULL, fine, overflow, 2, &index), EF_USAGE);
    assert_int_equal(efi_lp_add_row(lp, NULL, fine, NULL, -1, &index), EF_USAGE);
    assert_int_equal(efi_lp_add_row(lp, NULL, no_bounds, NULL, 0, &index), EF_USAGE);
    assert_int_equal(efi_lp_add_column(lp, NULL, no_bounds, 0.0, false, &index), EF_USAGE);
    assert_int_equal(efi_lp_add_column(lp, NULL, fine, (double)NAN, false, &index), EF_USAGE);
    assert_int_equal(efi_lp_set_column_bounds(lp, 2, fine), EF_USAGE);
    assert_int_equal(efi_lp_set_column_bounds(lp, 0, no_bounds), EF_USAGE);
    assert_int_equal(efi_lp_set_row_bounds(lp, -1, fine), EF_USAGE);
    assert_int_equal(efi_lp_set_row_bounds(lp, 3, fine), EF_USAGE);
    assert_int_equal(efi_lp_set_objective(lp, 2, 1.0), EF_USAGE);
    assert_int_equal(efi_lp_set_objective(lp, 0, (double)-INFINITY), EF_USAGE);
    assert_int_equal(efi_lp_set_integer(lp, -1, true), EF_USAGE);
    assert_int_equal(efi_lp_set_entry(lp, 3, 0, 1.0), EF_USAGE);
    assert_int_equal(efi_lp_set_entry(lp, 0, 2, 1.0), EF_USAGE);
    assert_int_equal(efi_lp_set_entry(lp, 0, 0, (double)NAN), EF_USAGE);
    assert_int_equal(efi_lp_set_row(lp, 3, NULL, 0), EF_USAGE);
    assert_int_equal(efi_lp_set_row(lp, 0, &beyond, 1), EF_USAGE);
    assert_int_equal(efi_lp_set_constant(lp, (double)NAN), EF_USAGE);
    assert_int_equal(index, 77);
    assert_int_equal(efi_lp_rows(lp), 3);
    assert_int_equal(efi_lp_columns(lp), 2);
    assert_near(program_solve(lp, NULL).objective, 36.0, 1e-9);

    efi_lp_options options = efi_lp_defaults();
    efi_lp_result result = {.objective = 5.0};
    options.has_time_limit = true;
    options.time_limit_s = (double)NAN;
    assert_int_equal(efi_lp_solve(lp, &options, &result), EF_USAGE);
    options = efi_lp_defaults();
    options.gap_share = -0.1;
    assert_int_equal(efi_lp_solve(lp, &options, &result), EF_USAGE);
    assert_near(result.objective, 5.0, 0.0);
    efi_lp_free(lp);
}

static void every_kind_of_change_shows_in_the_next_solve(void **state)
{
    (void)state;
    efi_lp *lp = program_two_products();
    assert_near(program_solve(lp, NULL).objective, 36.0, 1e-9);
    /* Hand values: the optimum is at a corner of plants 2 and 3 all along, until the entry changes. */
    assert_int_equal(efi_lp_set_row_bounds(lp, 2, efi_lp_at_most(21.0)), EF_OK);
    assert_near(program_solve(lp, NULL).objective, 39.0, 1e-9); /* x = 3, y = 6 */
    assert_int_equal(efi_lp_set_column_bounds(lp, 0, efi_lp_between(0.0, 1.0)), EF_OK);
    assert_near(program_solve(lp, NULL).objective, 33.0, 1e-9); /* x = 1, y = 6 */
    assert_int_equal(efi_lp_set_objective(lp, 1, -1.0), EF_OK);
    assert_near(program_solve(lp, NULL).objective, 3.0, 1e-9); /* x = 1, y = 0 */
    assert_int_equal(efi_lp_set_entry(lp, 0, 1, -1.0), EF_OK);
    assert_int_equal(efi_lp_set_row_bounds(lp, 0, efi_lp_at_most(-2.0)), EF_OK);
    assert_near(program_solve(lp, NULL).objective, 0.0, 1e-9); /* y >= x + 2: 3x - y = 2x - 2 at x = 1 */
    assert_int_equal(efi_lp_set_row(lp, 0, (const efi_lp_entry[]){{0, 2.0}}, 1), EF_OK);
    assert_int_equal(efi_lp_set_row_bounds(lp, 0, efi_lp_at_most(1.0)), EF_OK);
    assert_near(program_solve(lp, NULL).objective, 1.5, 1e-9); /* x = 1/2 */
    assert_int_equal(efi_lp_set_constant(lp, 10.0), EF_OK);
    assert_near(program_solve(lp, NULL).objective, 11.5, 1e-9);
    efi_lp_set_sense(lp, EFI_LP_MINIMISE);
    assert_near(program_solve(lp, NULL).objective, 4.0, 1e-9); /* y = 6 */
    const int z = program_column(lp, efi_lp_between(-2.0, 5.0), 1.0);
    assert_near(program_solve(lp, NULL).objective, 2.0, 1e-9);
    PROGRAM_ROW(lp, efi_lp_at_least(7.5), {z, 1.0}, {1, 1.0});
    assert_near(program_solve(lp, NULL).objective, 5.5, 1e-9); /* y + z = 7.5, y = 6 */
    efi_lp_free(lp);
}

/* A copy made with what can be read of a program, so never solved before. */
static efi_lp *copy_of(const efi_lp *lp)
{
    efi_lp *copy = efi_lp_new();
    assert_non_null(copy);
    efi_lp_set_sense(copy, efi_lp_get_sense(lp));
    for (int j = 0; j < efi_lp_columns(lp); j++)
        assert_int_equal(efi_lp_add_column(copy, efi_lp_column_name(lp, j), efi_lp_column_bounds(lp, j),
                                           efi_lp_objective(lp, j), efi_lp_is_integer(lp, j), NULL),
                         EF_OK);
    for (int i = 0; i < efi_lp_rows(lp); i++) {
        int count = 0;
        const efi_lp_entry *entries = efi_lp_row_entries(lp, i, &count);
        assert_int_equal(
            efi_lp_add_row(copy, efi_lp_row_name(lp, i), efi_lp_row_bounds(lp, i), entries, count, NULL),
            EF_OK);
    }
    return copy;
}

/* One change of any kind, of a program with at least one row and column. */
static void change_at_random(efi_lp *lp, efi_random *random)
{
    const int i = (int)efi_random_below(random, (uint32_t)efi_lp_rows(lp));
    const int j = (int)efi_random_below(random, (uint32_t)efi_lp_columns(lp));
    const double value = 2.0 * efi_random_uniform(random) - 0.5;
    ef_status status = EF_OK;
    switch (efi_random_below(random, 7)) {
    case 0:
        status = efi_lp_set_row_bounds(lp, i, efi_lp_between(-1.0, 2.0 + value));
        break;
    case 1:
        status = efi_lp_set_column_bounds(lp, j, efi_lp_between(0.0, 1.0 + value));
        break;
    case 2:
        status = efi_lp_set_objective(lp, j, value);
        break;
    case 3:
        program_column(lp, efi_lp_between(-1.0, 1.0), value);
        break;
    case 4:
        PROGRAM_ROW(lp, efi_lp_at_most(2.0 + value), {j, 1.0}, {0, value});
        break;
    default:
        status = efi_lp_set_entry(lp, i, j, efi_random_below(random, 4) ? value : 0.0);
        break;
    }
    assert_int_equal(status, EF_OK);
}

static void program_changed_at_random_solves_like_one_made_afresh(void **state)
{
    (void)state;
    int optimal = 0;
    for (uint64_t seed = 1; seed <= 20; seed++) {
        efi_random random = efi_random_stream(seed, 3, 0);
        efi_lp *lp = program_two_products();
        for (int change = 0; change < 60; change++) {
            change_at_random(lp, &random);
            if (efi_random_below(&random, 2) == 0)
                continue;
            efi_lp *copy = copy_of(lp);
            const efi_lp_result warm = program_solve(lp, NULL);
            const efi_lp_result cold = program_solve(copy, NULL);
            if (warm.outcome != cold.outcome)
                print_error("seed %lu, change %d\n", (unsigned long)seed, change);
            assert_int_equal(warm.outcome, cold.outcome);
            if (warm.has_point)
                assert_near(warm.objective, cold.objective, 1e-8);
            optimal += warm.outcome == EFI_LP_OPTIMAL;
            efi_lp_free(copy);
        }
        efi_lp_free(lp);
    }
    assert_true(optimal >= 300);
}

static void one_coefficient_can_be_set_wherever_it_stands(void **state)
{
    (void)state;
    efi_lp *lp = efi_lp_new();
    for (int j = 0; j < 5; j++)
        program_column(lp, efi_lp_at_least(0.0), 1.0);
    const int r = PROGRAM_ROW(lp, efi_lp_at_least(1.0), {3, 1.0}, {1, 1.0});
    static const efi_lp_entry set[] = {{2, 5.0}, {0, 4.0}, {4, 3.0}, {1, 2.0}, {2, 7.0}};
    for (size_t k = 0; k < EF_COUNT(set); k++) {
        assert_near(program_solve(lp, NULL).objective, k == 0 ? 1.0 : 1.0 / 5.0, 1e-9);
        assert_int_equal(efi_lp_set_entry(lp, r, set[k].column, set[k].value), EF_OK);
    }
    assert_near(program_solve(lp, NULL).objective, 1.0 / 7.0, 1e-9);
    static const double expected[] = {4.0, 2.0, 7.0, 1.0, 3.0};
    int count = 0;
    const efi_lp_entry *entries = efi_lp_row_entries(lp, r, &count);
    assert_int_equal(count, 5);
    for (int k = 0; k < count; k++) {
        assert_int_equal(entries[k].column, k);
        assert_near(entries[k].value, expected[k], 0.0);
    }
    efi_lp_free(lp);
}

static void second_solve_starts_from_the_basis_of_the_first(void **state)
{
    (void)state;
    efi_lp *lp = program_chain(200);
    const efi_lp_options cold = program_options(EFI_LP_DUAL, EFI_LP_PRESOLVE_OFF);
    const efi_lp_result first = program_solve(lp, &cold);
    assert_near(first.objective, 200.0 * 201.0 / 2.0, 1e-9);
    assert_true(first.iterations > 100);
    assert_int_equal(program_solve(lp, NULL).iterations, 0);
    assert_int_equal(efi_lp_set_column_bounds(lp, 100, efi_lp_between(0.0, 50.0)), EF_OK);
    const efi_lp_result second = program_solve(lp, NULL);
    /* x_100 .. x_199 are lower by 101 - 50. */
    assert_near(second.objective, 200.0 * 201.0 / 2.0 - 51.0 * 100.0, 1e-9);
    assert_true(second.iterations >= 1 && second.iterations <= 10);
    efi_lp_forget_basis(lp);
    const efi_lp_result third = program_solve(lp, &cold);
    assert_true(third.iterations > 100);
    assert_near(third.objective, second.objective, 1e-9);
    efi_lp_free(lp);
}

static void solve_after_presolve_starts_from_its_basis_too(void **state)
{
    (void)state;
    efi_lp *lp = program_two_products();
    const efi_lp_options presolved = program_options(EFI_LP_DUAL, EFI_LP_PRESOLVE_ON);
    program_solve(lp, &presolved);
    const efi_lp_options direct = program_options(EFI_LP_DUAL, EFI_LP_PRESOLVE_OFF);
    assert_int_equal(program_solve(lp, &direct).iterations, 0);
    efi_lp_free(lp);
}

static void rows_added_round_by_round_reach_the_optimum_of_all_at_once(void **state)
{
    (void)state;
    /* Cuts on a disc: max x + y, x cos a + y sin a <= 1; the optimum over 64 directions, 45 degrees among
     * them, is sqrt 2. */
    efi_lp *lp = efi_lp_new();
    efi_lp_set_sense(lp, EFI_LP_MAXIMISE);
    const int x = program_column(lp, efi_lp_between(-10.0, 10.0), 1.0);
    const int y = program_column(lp, efi_lp_between(-10.0, 10.0), 1.0);
    double last = 21.0;
    for (int k = 0; k < 64; k++) {
        const double angle = 2.0 * EF_PI * (double)((k * 29) % 64) / 64.0;
        PROGRAM_ROW(lp, efi_lp_at_most(1.0), {x, cos(angle)}, {y, sin(angle)});
        const efi_lp_result result = program_solve(lp, NULL);
        assert_int_equal(result.outcome, EFI_LP_OPTIMAL);
        assert_true(result.objective <= last + 1e-9);
        last = result.objective;
    }
    assert_near(last, sqrt(2.0), 1e-9);
    efi_lp_free(lp);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(textbook_optimum_comes_out_of_every_method),
        cmocka_unit_test(infeasible_is_told_with_and_without_presolve),
        cmocka_unit_test(unbounded_is_told_with_and_without_presolve),
        cmocka_unit_test(values_activities_duals_and_reduced_costs_are_those_of_the_textbook),
        cmocka_unit_test(duals_have_the_sign_of_a_derivative_when_minimising_too),
        cmocka_unit_test(entries_of_one_column_are_added_up_and_sorted),
        cmocka_unit_test(wrong_arguments_are_refused_and_change_nothing),
        cmocka_unit_test(every_kind_of_change_shows_in_the_next_solve),
        cmocka_unit_test(program_changed_at_random_solves_like_one_made_afresh),
        cmocka_unit_test(one_coefficient_can_be_set_wherever_it_stands),
        cmocka_unit_test(second_solve_starts_from_the_basis_of_the_first),
        cmocka_unit_test(solve_after_presolve_starts_from_its_basis_too),
        cmocka_unit_test(rows_added_round_by_round_reach_the_optimum_of_all_at_once),
    };
    return cmocka_run_group_tests(tests, NULL, program_leave_solver);
}
