/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "programs.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

int program_column(efi_lp *lp, efi_lp_bounds bounds, double objective)
{
    int index = -1;
    assert_int_equal(efi_lp_add_column(lp, NULL, bounds, objective, false, &index), EF_OK);
    return index;
}

int program_integer_column(efi_lp *lp, efi_lp_bounds bounds, double objective)
{
    int index = -1;
    assert_int_equal(efi_lp_add_column(lp, NULL, bounds, objective, true, &index), EF_OK);
    return index;
}

int program_row(efi_lp *lp, efi_lp_bounds bounds, const efi_lp_entry *entries, int count)
{
    int index = -1;
    assert_int_equal(efi_lp_add_row(lp, NULL, bounds, entries, count, &index), EF_OK);
    return index;
}

efi_lp_result program_solve(efi_lp *lp, const efi_lp_options *options)
{
    efi_lp_result result;
    memset(&result, 0x5a, sizeof result);
    assert_int_equal(efi_lp_solve(lp, options, &result), EF_OK);
    return result;
}

efi_lp_options program_options(efi_lp_method method, efi_lp_presolve presolve)
{
    efi_lp_options options = efi_lp_defaults();
    options.method = method;
    options.presolve = presolve;
    return options;
}

efi_lp *program_two_products(void)
{
    efi_lp *lp = efi_lp_new();
    assert_non_null(lp);
    efi_lp_set_sense(lp, EFI_LP_MAXIMISE);
    const int x = program_column(lp, efi_lp_at_least(0.0), 3.0);
    const int y = program_column(lp, efi_lp_at_least(0.0), 5.0);
    PROGRAM_ROW(lp, efi_lp_at_most(4.0), {x, 1.0});
    PROGRAM_ROW(lp, efi_lp_at_most(12.0), {y, 2.0});
    PROGRAM_ROW(lp, efi_lp_at_most(18.0), {x, 3.0}, {y, 2.0});
    return lp;
}

efi_lp *program_chain(int length)
{
    efi_lp *lp = efi_lp_new();
    efi_lp_set_sense(lp, EFI_LP_MAXIMISE);
    for (int k = 0; k < length; k++)
        program_column(lp, efi_lp_between(0.0, 1e6), 1.0);
    PROGRAM_ROW(lp, efi_lp_at_most(1.0), {0, 1.0});
    for (int k = 1; k < length; k++)
        PROGRAM_ROW(lp, efi_lp_at_most(1.0), {k, 1.0}, {k - 1, -1.0});
    return lp;
}

efi_lp *program_runaway(void)
{
    efi_lp *lp = efi_lp_new();
    efi_lp_set_sense(lp, EFI_LP_MAXIMISE);
    const int x = program_column(lp, efi_lp_at_least(0.0), 1.0);
    const int y = program_column(lp, efi_lp_at_least(0.0), 1.0);
    PROGRAM_ROW(lp, efi_lp_at_most(1.0), {x, 1.0}, {y, -1.0});
    PROGRAM_ROW(lp, efi_lp_at_least(-1.0), {x, 1.0}, {y, -1.0});
    return lp;
}

efi_lp *program_infeasible_both_ways(void)
{
    efi_lp *lp = efi_lp_new();
    efi_lp_set_sense(lp, EFI_LP_MAXIMISE);
    const int x = program_column(lp, efi_lp_at_least(0.0), 1.0);
    const int y = program_column(lp, efi_lp_at_least(0.0), 1.0);
    PROGRAM_ROW(lp, efi_lp_exactly(1.0), {x, 1.0}, {y, -1.0});
    PROGRAM_ROW(lp, efi_lp_exactly(1.0), {x, -1.0}, {y, 1.0});
    return lp;
}

int program_leave_solver(void **state)
{
    (void)state;
    efi_lp_thread_end();
    return 0;
}
