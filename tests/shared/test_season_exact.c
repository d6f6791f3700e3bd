/* SPDX-License-Identifier: GPL-3.0-or-later
 * Small seasons on one line: what is proven is the least over all orders, each worked out on its own. */
#include "shared/season/exact.h"
#include "../lib/season_case.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

static void proven_against_all_orders(void **state)
{
    (void)state;
    const uint64_t seed = 4711;
    int proven = 0;
    int bettered = 0;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (uint64_t i = 0; i < 120; i++) {
        efi_random random = efi_random_stream(seed, i, 0);
        static bench b;
        bench_random(&b, &random, 2 + (int)bench_below(&random, 5), 1);
        if (i % 3 == 1)
            bench_add_stations(&b, &random, 2);
        if (i % 4 >= 2)
            bench_add_stores(&b, &random);
        if (i % 3 == 0)
            bench_add_passes(&b, &random);
        if (i % 5 == 0)
            bench_add_overtime(&b);
        const int64_t least = bench_least(&b);
        efi_season_result result = bench_solve(&b, 1, 1, 1);
        if (result.cost.forbidden == 0) {
            assert_int_equal(result.cost.total, least);
            assert_int_equal(result.bound.total, least);
            proven++;
        } else {
            assert_true(result.bound.total <= least);
        }
        efi_season_result_free(&result);
        result = bench_solve(&b, 1, 1,
                             0); /* the first plan alone: nothing is proven that the bound does not */
        bettered += result.cost.total > least || result.cost.forbidden > 0;
        efi_season_result_free(&result);
        bench_end(&b);
    }
    print_message("%d proven, %d better than the first plan\n", proven, bettered);
    assert_true(proven > 60 && bettered > 5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(proven_against_all_orders),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
