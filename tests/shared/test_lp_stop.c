/* SPDX-License-Identifier: GPL-3.0-or-later
 * Linear programs that are stopped on their way, or fail: what comes back, and that all goes on after it. */
#include "base/memory.h"
#include "shared/lp/lp.h"

#include "../lib/near.h"
#include "../lib/programs.h"

#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <glpk.h>

static const efi_lp_method methods[] = {EFI_LP_AUTO, EFI_LP_DUAL, EFI_LP_PRIMAL, EFI_LP_INTERIOR};

static bool stop_at_once(void *context)
{
    ++*(int *)context;
    return true;
}

static void stop_before_the_first_step_leaves_no_point(void **state)
{
    (void)state;
    for (size_t m = 0; m < EF_COUNT(methods); m++)
        for (int whole = 0; whole < 2; whole++) {
            efi_lp *lp = program_two_products();
            assert_int_equal(efi_lp_set_integer(lp, 0, whole), EF_OK);
            int calls = 0;
            efi_lp_options options = program_options(methods[m], EFI_LP_PRESOLVE_AUTO);
            options.should_stop = stop_at_once;
            options.stop_context = &calls;
            const efi_lp_result result = program_solve(lp, &options);
            assert_int_equal(result.outcome, EFI_LP_STOPPED);
            assert_false(result.has_point);
            assert_true(calls >= 1);
            assert_null(efi_lp_values(lp));
            assert_near(program_solve(lp, NULL).objective, 36.0, 1e-9);
            efi_lp_free(lp);
        }
}

static bool stop_at_third(void *context)
{
    return ++*(int *)context >= 3;
}

static void stop_on_the_way_of_the_primal_simplex_leaves_a_feasible_point(void **state)
{
    (void)state;
    /* The origin is feasible, and 6,000 columns take more than the first slice of iterations. */
    const int length = 6000;
    efi_lp *lp = program_chain(length);
    int calls = 0;
    efi_lp_options options = program_options(EFI_LP_PRIMAL, EFI_LP_PRESOLVE_OFF);
    options.should_stop = stop_at_third;
    options.stop_context = &calls;
    const efi_lp_result result = program_solve(lp, &options);
    assert_int_equal(result.outcome, EFI_LP_STOPPED_FEASIBLE);
    assert_true(result.has_point && !result.has_duals && !result.has_bound);
    assert_int_equal(calls, 3);
    double sum = 0.0;
    for (int k = 0; k < length; k++) {
        const double before = k > 0 ? efi_lp_values(lp)[k - 1] : 0.0;
        assert_true(efi_lp_values(lp)[k] <= before + 1.0 + 1e-6);
        sum += efi_lp_values(lp)[k];
    }
    assert_near(result.objective, sum, 1e-9);
    assert_true(sum < 0.5 * length * (length + 1.0));
    assert_near(program_solve(lp, NULL).objective, 0.5 * length * (length + 1.0), 1e-9);
    efi_lp_free(lp);
}

static void time_limit_of_zero_stops_at_once(void **state)
{
    (void)state;
    efi_lp *lp = program_two_products();
    efi_lp_options options = efi_lp_defaults();
    options.has_time_limit = true;
    assert_int_equal(program_solve(lp, &options).outcome, EFI_LP_STOPPED);
    options.time_limit_s = 60.0;
    assert_int_equal(program_solve(lp, &options).outcome, EFI_LP_OPTIMAL);
    efi_lp_free(lp);
}

/* ---- when things fail ---- */

static void every_failed_allocation_is_reported_and_leaves_the_program_usable(void **state)
{
    (void)state;
    bool passed = false;
    for (long n = 1; n < 200 && !passed; n++) {
        (void)efi_memory_fail_at(n);
        efi_lp *lp = efi_lp_new();
        ef_status status = lp ? EF_OK : EF_MEMORY;
        int x = -1;
        double found = 0.0;
        efi_lp_result result = {.outcome = EFI_LP_FAILED};
        if (status == EF_OK)
            status = efi_lp_add_column(lp, "x", efi_lp_at_least(1.0), 2.0, false, &x);
        if (status == EF_OK)
            status = efi_lp_add_row(lp, "r", efi_lp_at_most(3.0), &(efi_lp_entry){x, 1.0}, 1, NULL);
        if (status == EF_OK)
            status = efi_lp_solve(lp, NULL, &result);
        if (status == EF_OK)
            status = efi_lp_slopes(lp, &(efi_lp_bound){EFI_LP_COLUMN_LOWER, x}, 1, EFI_LP_GROW, &found);
        (void)efi_memory_fail_at(0);
        passed = status == EF_OK;
        if (!passed)
            assert_int_equal(status, EF_MEMORY);
        if (lp && efi_lp_columns(lp) == 1)
            assert_near(program_solve(lp, NULL).objective, 2.0, 1e-9);
        if (passed)
            assert_near(found, 2.0, 1e-9);
        efi_lp_free(lp);
    }
    assert_true(passed);
}

static void error_inside_the_solver_is_a_status_and_others_survive_it(void **state)
{
    (void)state;
    efi_lp *small = program_two_products();
    assert_near(program_solve(small, NULL).objective, 36.0, 1e-9);
    efi_lp *large = program_chain(4000);
    efi_lp_result result = {.objective = 5.0};
    glp_mem_limit(1); /* megabyte; GLPK ends the process when it needs more, unless it is caught */
    assert_int_equal(efi_lp_solve(large, NULL, &result), EF_INTERNAL);
    assert_near(result.objective, 5.0, 0.0);
    assert_null(efi_lp_values(large));
    assert_near(program_solve(small, NULL).objective, 36.0, 1e-9);
    assert_near(program_solve(large, NULL).objective, 4000.0 * 4001.0 / 2.0, 1e-9);
    efi_lp_free(small);
    efi_lp_free(large);
}

static void *solve_on_a_thread(void *argument)
{
    double *objectives = argument;
    for (int k = 0; k < 5; k++) {
        efi_lp *lp = program_chain(50 + k);
        efi_lp_result result = {.objective = 0.0};
        if (efi_lp_solve(lp, NULL, &result) == EF_OK)
            objectives[k] = result.objective;
        efi_lp_free(lp);
    }
    efi_lp_thread_end();
    return NULL;
}

static void threads_solve_side_by_side(void **state)
{
    (void)state;
    enum {
        THREADS = 4
    };
    pthread_t threads[THREADS];
    double objectives[THREADS][5] = {{0.0}};
    efi_lp *mine = program_two_products();
    program_solve(mine, NULL);
    for (int t = 0; t < THREADS; t++)
        assert_int_equal(pthread_create(&threads[t], NULL, solve_on_a_thread, objectives[t]), 0);
    for (int t = 0; t < THREADS; t++)
        assert_int_equal(pthread_join(threads[t], NULL), 0);
    for (int t = 0; t < THREADS; t++)
        for (int k = 0; k < 5; k++)
            assert_near(objectives[t][k], 0.5 * (50.0 + k) * (51.0 + k), 1e-9);
    /* Ending a thread's use does nothing while a program of its own lives. */
    efi_lp_thread_end();
    assert_int_equal(program_solve(mine, NULL).iterations, 0);
    efi_lp_free(mine);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(stop_before_the_first_step_leaves_no_point),
        cmocka_unit_test(stop_on_the_way_of_the_primal_simplex_leaves_a_feasible_point),
        cmocka_unit_test(time_limit_of_zero_stops_at_once),
        cmocka_unit_test(every_failed_allocation_is_reported_and_leaves_the_program_usable),
        cmocka_unit_test(error_inside_the_solver_is_a_status_and_others_survive_it),
        cmocka_unit_test(threads_solve_side_by_side),
    };
    return cmocka_run_group_tests(tests, NULL, program_leave_solver);
}
