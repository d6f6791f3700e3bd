/* SPDX-License-Identifier: GPL-3.0-or-later
 * The small simplex of the verifiers: a textbook program, the three outcomes, and random programs against
 * GLPK. */
#include "base/memory.h"
#include "base/random.h"
#include "shared/lp/lp.h"
#include "shared/verify/small_lp.h"

#include "../lib/near.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* A program of 3 rows and 2 columns. */
static efi_small_lp *three_rows(const double *cell, const double *limit, const double *aim)
{
    efi_small_lp *lp = efi_small_lp_new(3, 2);
    assert_non_null(lp);
    memcpy(lp->cell, cell, 6 * sizeof *cell);
    memcpy(lp->limit, limit, 3 * sizeof *limit);
    memcpy(lp->aim, aim, 2 * sizeof *aim);
    return lp;
}

/* Hillier and Lieberman, Introduction to Operations Research, the Wyndor Glass example: 36 at (2, 6). */
static void the_textbook_example_is_solved(void **state)
{
    (void)state;
    const double cell[] = {1, 0, 0, 2, 3, 2};
    const double limit[] = {4, 12, 18};
    const double aim[] = {3, 5};
    efi_small_lp *lp = three_rows(cell, limit, aim);
    efi_small_outcome outcome;
    double best;
    double x[2];
    assert_int_equal(efi_small_lp_solve(lp, &outcome, &best, x), EF_OK);
    assert_int_equal(outcome, EFI_SMALL_OPTIMAL);
    assert_near(best, 36.0, 1e-12);
    assert_near(x[0], 2.0, 1e-12);
    assert_near(x[1], 6.0, 1e-12);
    efi_small_lp_free(lp);
}

static void what_contradicts_itself_has_no_answer(void **state)
{
    (void)state;
    const double cell[] = {1, 1, -1, -1, 1, 0};
    const double limit[] = {1, -2, 5};
    const double aim[] = {1, 1};
    efi_small_lp *lp = three_rows(cell, limit, aim);
    efi_small_outcome outcome;
    double best;
    assert_int_equal(efi_small_lp_solve(lp, &outcome, &best, NULL), EF_OK);
    assert_int_equal(outcome, EFI_SMALL_INFEASIBLE);
    efi_small_lp_free(lp);
}

static void what_nothing_holds_has_no_end(void **state)
{
    (void)state;
    const double cell[] = {1, -1, -1, -1, 1, -2};
    const double limit[] = {1, -2, 5};
    const double aim[] = {1, 1};
    efi_small_lp *lp = three_rows(cell, limit, aim);
    efi_small_outcome outcome;
    double best;
    assert_int_equal(efi_small_lp_solve(lp, &outcome, &best, NULL), EF_OK);
    assert_int_equal(outcome, EFI_SMALL_UNBOUNDED);
    efi_small_lp_free(lp);
}

static double between(efi_random *random, double least, double most)
{
    return least + (most - least) * efi_random_uniform(random);
}

/* Small whole numbers, so that many programs are degenerate. */
static efi_small_lp *random_program(efi_random *random)
{
    const int rows = 1 + (int)efi_random_below(random, 7);
    const int columns = 1 + (int)efi_random_below(random, 5);
    efi_small_lp *lp = efi_small_lp_new(rows, columns);
    assert_non_null(lp);
    for (int cell = 0; cell < rows * columns; cell++)
        lp->cell[cell] = (double)efi_random_below(random, 7) - (efi_random_below(random, 4) == 0 ? 4.0 : 1.0);
    for (int i = 0; i < rows; i++)
        lp->limit[i] = (double)efi_random_below(random, 9) - 2.0;
    for (int j = 0; j < columns; j++)
        lp->aim[j] = efi_random_below(random, 3) == 0 ? 0.0 : between(random, -1.0, 3.0);
    return lp;
}

static efi_lp_result by_glpk(const efi_small_lp *small)
{
    efi_lp *lp = efi_lp_new();
    assert_non_null(lp);
    efi_lp_set_sense(lp, EFI_LP_MAXIMISE);
    efi_lp_entry entries[8];
    for (int j = 0; j < small->columns; j++)
        assert_int_equal(efi_lp_add_column(lp, NULL, efi_lp_at_least(0.0), small->aim[j], false, NULL),
                         EF_OK);
    for (int i = 0; i < small->rows; i++) {
        for (int j = 0; j < small->columns; j++)
            entries[j] = (efi_lp_entry){j, small->cell[i * small->columns + j]};
        assert_int_equal(
            efi_lp_add_row(lp, NULL, efi_lp_at_most(small->limit[i]), entries, small->columns, NULL), EF_OK);
    }
    efi_lp_result result;
    assert_int_equal(efi_lp_solve(lp, NULL, &result), EF_OK);
    efi_lp_free(lp);
    return result;
}

static void random_programs_come_out_as_with_glpk(void **state)
{
    (void)state;
    int count[3] = {0};
    const uint64_t seed = 4711;
    print_message("seed %d\n", (int)seed);
    for (uint64_t number = 0; number < 3000; number++) {
        efi_random random = efi_random_stream(seed, number, 0);
        efi_small_lp *lp = random_program(&random);
        const efi_lp_result right = by_glpk(lp);
        efi_small_outcome outcome;
        double best = 0.0;
        assert_int_equal(efi_small_lp_solve(lp, &outcome, &best, NULL), EF_OK);
        assert_int_equal(outcome == EFI_SMALL_OPTIMAL, right.outcome == EFI_LP_OPTIMAL);
        assert_int_equal(outcome == EFI_SMALL_INFEASIBLE, right.outcome == EFI_LP_INFEASIBLE);
        assert_int_equal(outcome == EFI_SMALL_UNBOUNDED, right.outcome == EFI_LP_UNBOUNDED);
        if (outcome == EFI_SMALL_OPTIMAL)
            assert_near(best, right.objective, 1e-7);
        count[outcome]++;
        efi_small_lp_free(lp);
    }
    efi_lp_thread_end();
    assert_true(count[EFI_SMALL_OPTIMAL] > 300 && count[EFI_SMALL_INFEASIBLE] > 100 &&
                count[EFI_SMALL_UNBOUNDED] > 100);
}

static void without_memory_there_is_no_program(void **state)
{
    (void)state;
    for (long n = 1; n <= 4; n++) {
        (void)efi_memory_fail_at(n);
        assert_null(efi_small_lp_new(2, 2));
        (void)efi_memory_fail_at(0);
    }
    efi_small_lp *lp = efi_small_lp_new(2, 2);
    assert_non_null(lp);
    efi_small_outcome outcome;
    double best;
    for (long n = 1; n <= 3; n++) {
        (void)efi_memory_fail_at(n);
        assert_int_equal(efi_small_lp_solve(lp, &outcome, &best, NULL), EF_MEMORY);
        (void)efi_memory_fail_at(0);
    }
    efi_small_lp_free(lp);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_textbook_example_is_solved),
        cmocka_unit_test(what_contradicts_itself_has_no_answer),
        cmocka_unit_test(what_nothing_holds_has_no_end),
        cmocka_unit_test(random_programs_come_out_as_with_glpk),
        cmocka_unit_test(without_memory_there_is_no_program),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
