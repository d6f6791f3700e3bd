/* SPDX-License-Identifier: GPL-3.0-or-later
 * The check that every answer of the solver must pass: does it refuse wrong ones? */
#include "shared/lp/lp_inside.h"

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
 * Minimise 2x + 3y + z - 10, x + y >= 4, x - z = 0, 0 <= x <= 3, 0 <= y, z free. x = z = 3, y = 1 costs 2;
 * with y_1 = 3 and y_2 = -1 the reduced costs are 2 - 3 + 1 = 0, 0 and 1 - 1 = 0, so 3 * 4 - 10 = 2 is the
 * dual objective and the optimum. (x + z costs 3 like y: any x in 0..3 is as good.)
 */
static efi_lp *program(void)
{
    efi_lp *lp = efi_lp_new();
    assert_non_null(lp);
    assert_int_equal(efi_lp_set_constant(lp, -10.0), EF_OK);
    assert_int_equal(efi_lp_add_column(lp, "x", efi_lp_between(0.0, 3.0), 2.0, false, NULL), EF_OK);
    assert_int_equal(efi_lp_add_column(lp, "y", efi_lp_at_least(0.0), 3.0, false, NULL), EF_OK);
    assert_int_equal(efi_lp_add_column(lp, "z", efi_lp_free_bounds(), 1.0, false, NULL), EF_OK);
    assert_int_equal(
        efi_lp_add_row(lp, "need", efi_lp_at_least(4.0), (const efi_lp_entry[]){{0, 1.0}, {1, 1.0}}, 2, NULL),
        EF_OK);
    assert_int_equal(
        efi_lp_add_row(lp, "same", efi_lp_exactly(0.0), (const efi_lp_entry[]){{0, 1.0}, {2, -1.0}}, 2, NULL),
        EF_OK);
    assert_near(program_solve(lp, NULL).objective, 2.0, 1e-9);
    return lp;
}

/* What the check says of these values and duals, for the program as it is or with its objective turned. */
static bool says(const double values[3], const double duals[2], bool is_turned, efi_lp_result *result)
{
    efi_lp *lp = program();
    if (is_turned) {
        efi_lp_set_sense(lp, EFI_LP_MAXIMISE);
        lp->constant = -lp->constant;
        for (int j = 0; j < 3; j++)
            lp->columns[j].objective = -lp->columns[j].objective;
    }
    memcpy(lp->values, values, 3 * sizeof *values);
    for (int i = 0; i < 2; i++)
        lp->duals[i] = is_turned ? -duals[i] : duals[i];
    lp->has_duals = true;
    const bool passed = efi_lp_check(lp, result);
    efi_lp_free(lp);
    return passed;
}

static void the_optimum_passes_with_all_errors_zero(void **state)
{
    (void)state;
    for (int is_turned = 0; is_turned < 2; is_turned++) {
        efi_lp_result result = {0};
        assert_true(says((const double[]){3.0, 1.0, 3.0}, (const double[]){3.0, -1.0}, is_turned, &result));
        assert_near(result.objective, is_turned ? -2.0 : 2.0, 1e-12);
        assert_near(result.bound, is_turned ? -2.0 : 2.0, 1e-12);
        assert_true(result.has_bound);
        assert_near_absolute(result.primal_error, 0.0, 1e-12);
        assert_near_absolute(result.dual_error, 0.0, 1e-12);
        assert_near_absolute(result.gap, 0.0, 1e-12);
    }
}

static void wrong_answers_are_refused(void **state)
{
    (void)state;
    static const struct {
        const char *what;
        double values[3];
        double duals[2];
    } wrong[] = {
        {"a column above its upper bound", {3.1, 0.9, 3.1}, {3.0, -1.0}},
        {"a column below its lower bound", {3.0, -0.1, 3.0}, {3.0, -1.0}},
        {"a row below its lower bound", {2.0, 1.0, 2.0}, {3.0, -1.0}},
        {"an equality missed", {3.0, 1.0, 2.9}, {3.0, -1.0}},
        {"feasible, but a tonne too many", {3.0, 2.0, 3.0}, {3.0, -1.0}},
        {"duals too small", {3.0, 1.0, 3.0}, {2.9, -1.0}},
        {"duals too large: y's reduced cost is negative without an upper bound",
         {3.0, 1.0, 3.0},
         {3.5, -1.0}},
        {"a reduced cost of a free column", {3.0, 1.0, 3.0}, {3.0, -0.9}},
        {"a dual of the wrong sign on a row without upper bound", {3.0, 1.0, 3.0}, {-3.0, -1.0}},
        {"a value that is no number", {3.0, (double)NAN, 3.0}, {3.0, -1.0}},
        {"a value that is not finite", {3.0, (double)INFINITY, 3.0}, {3.0, -1.0}},
        {"a dual that is no number", {3.0, 1.0, 3.0}, {(double)NAN, -1.0}},
    };
    for (size_t k = 0; k < EF_COUNT(wrong); k++)
        for (int is_turned = 0; is_turned < 2; is_turned++) {
            efi_lp_result result = {0};
            if (says(wrong[k].values, wrong[k].duals, is_turned, &result))
                fail_msg("%s passed", wrong[k].what);
        }
}

static void no_number_in_a_column_that_nothing_needs_is_refused_too(void **state)
{
    (void)state;
    efi_lp *lp = program();
    efi_lp_result result;
    assert_int_equal(efi_lp_add_column(lp, "idle", efi_lp_between(0.0, 1.0), 0.0, false, NULL), EF_OK);
    assert_int_equal(efi_lp_add_column(lp, "last", efi_lp_between(0.0, 1.0), 0.0, false, NULL), EF_OK);
    assert_int_equal(efi_lp_solve(lp, NULL, &result), EF_OK);
    assert_true(efi_lp_check(lp, &result));
    lp->values[3] = (double)NAN;
    assert_false(efi_lp_check(lp, &result));
    assert_false(result.primal_error <= EFI_LP_PRIMAL_TOLERANCE);
    efi_lp_free(lp);
}

static void dual_of_the_wrong_sign_shows_as_such_and_gives_no_bound(void **state)
{
    (void)state;
    efi_lp_result result = {0};
    assert_false(says((const double[]){3.0, 1.0, 3.0}, (const double[]){3.0, -0.9}, false, &result));
    assert_true(result.dual_error > 0.01);
    assert_false(result.has_bound);
    /* Where only the primal side is wrong the dual bound stands. */
    assert_false(says((const double[]){3.0, 2.0, 3.0}, (const double[]){3.0, -1.0}, false, &result));
    assert_true(result.has_bound);
    assert_near(result.bound, 2.0, 1e-12);
}

static void errors_just_inside_the_tolerance_pass_and_just_outside_do_not(void **state)
{
    (void)state;
    /* "need" misses 4 by s on a scale of 1 + 4 + 0.001 * 4; the objective is cheaper by 3 s on a scale of
     * 3 + ..., so the gap is watched too: s is small enough for it. */
    const double scale = 1.0 + 4.0 + EFI_LP_CANCEL_SHARE * 4.0;
    efi_lp_result result = {0};
    (void)says((const double[]){3.0, 1.0 - 0.99e-6 * scale, 3.0}, (const double[]){3.0, -1.0}, false,
               &result);
    assert_true(result.primal_error < EFI_LP_PRIMAL_TOLERANCE);
    assert_near_relative(result.primal_error, 0.99e-6, 1e-3);
    assert_false(
        says((const double[]){3.0, 1.0 - 1.01e-6 * scale, 3.0}, (const double[]){3.0, -1.0}, false, &result));
    assert_true(result.primal_error > EFI_LP_PRIMAL_TOLERANCE);
}

static void long_sums_that_cancel_are_exact(void **state)
{
    (void)state;
    /* 1e8, then 1,000 times 0.1, then -1e8: plain summation misses 100 by 1e-6, and 2^-53 1e8 is 1e-8. */
    enum {
        COUNT = 1002
    };
    efi_lp *lp = efi_lp_new();
    efi_lp_entry entries[COUNT];
    for (int j = 0; j < COUNT; j++) {
        assert_int_equal(efi_lp_add_column(lp, NULL, efi_lp_exactly(1.0), 0.0, false, NULL), EF_OK);
        entries[j] = (efi_lp_entry){j, 0.1};
    }
    entries[0].value = 1e8;
    entries[COUNT - 1].value = -1e8;
    assert_int_equal(efi_lp_add_row(lp, NULL, efi_lp_free_bounds(), entries, COUNT, NULL), EF_OK);
    efi_lp_result result;
    assert_int_equal(efi_lp_solve(lp, NULL, &result), EF_OK);
    assert_near_absolute(efi_lp_activities(lp)[0], 100.0, 1e-11);
    efi_lp_free(lp);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_optimum_passes_with_all_errors_zero),
        cmocka_unit_test(wrong_answers_are_refused),
        cmocka_unit_test(no_number_in_a_column_that_nothing_needs_is_refused_too),
        cmocka_unit_test(dual_of_the_wrong_sign_shows_as_such_and_gives_no_bound),
        cmocka_unit_test(errors_just_inside_the_tolerance_pass_and_just_outside_do_not),
        cmocka_unit_test(long_sums_that_cancel_are_exact),
    };
    return cmocka_run_group_tests(tests, NULL, program_leave_solver);
}
