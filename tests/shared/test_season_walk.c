/* SPDX-License-Identifier: GPL-3.0-or-later
 * The walk of the season engine: after any number of changes its value is that of its plan worked out from
 * the beginning. */
#include "shared/season/walk.h"
#include "../lib/season_case.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static int64_t price_of(const bench *b, const efi_season_walk *walk)
{
    int lots[MOST];
    efi_season_order order = {.lot = lots};
    efi_season_cost cost;
    int count = 0;
    for (int line = 0; line < b->p.lines; line++) {
        order.first[line] = count;
        memcpy(lots + count, walk->row[line].lot, (size_t)walk->row[line].count * sizeof *lots);
        count += walk->row[line].count;
    }
    order.first[b->p.lines] = count;
    assert_int_equal(count, b->p.lots);
    assert_int_equal(efi_season_evaluate(&b->p, &order, NULL, &cost), EF_OK);
    return cost.total + cost.forbidden * EFI_SEASON_FORBIDDEN_WEIGHT;
}

static void make(bench *b, efi_random *random, uint64_t kind)
{
    bench_random(b, random, 4 + (int)bench_below(random, MOST - 3), 1 + (int)bench_below(random, 2));
    if (kind & 1)
        bench_add_stores(b, random);
    if (kind & 2)
        bench_add_stations(b, random, STATIONS);
    if (kind & 4)
        bench_add_passes(b, random);
    if (kind & 8)
        bench_add_overtime(b);
    if (kind & 16) {
        const int lot = (int)bench_below(random, b->p.lots);
        b->lot[lot].fixed_line = b->p.lines - 1;
        b->lot[lot].fixed_start_s = bench_below(random, 100) * HOUR;
        for (int line = 0; line < b->p.lines; line++)
            b->work_s[line * b->p.lots + lot] = HOUR;
    }
}

static void value_is_that_of_the_plan(void **state)
{
    (void)state;
    const uint64_t seed = 4001;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (uint64_t i = 0; i < 128; i++) {
        efi_random random = efi_random_stream(seed, i, 0);
        static bench b;
        static efi_season_walk walk;
        efi_season_model model;
        make(&b, &random, i % 32);
        assert_int_equal(efi_season_model_build(&model, &b.p), EF_OK);
        assert_int_equal(efi_season_walk_build(&walk, &model), EF_OK);
        walk.random = efi_random_stream(seed, i, 1);
        efi_season_walk_first(&walk);
        assert_int_equal(walk.value, price_of(&b, &walk));
        int taken = 0;
        for (int change = 0; change < 300; change++) {
            if (!efi_season_walk_draw(&walk))
                continue;
            /* some get worse, so that there is something to win back */
            const int64_t before = walk.value;
            const bool any = bench_below(&random, 4) == 0;
            const bool took = efi_season_walk_try(&walk, any ? INT64_MAX / 2 : walk.value);
            assert_true(took || walk.value == before);
            assert_true(!took || any || walk.value <= before);
            taken += took;
            assert_int_equal(walk.value, price_of(&b, &walk));
            assert_true(walk.best_value <= walk.value);
        }
        assert_true(taken > 0);
        efi_season_model_free(&model);
        bench_end(&b);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(value_is_that_of_the_plan),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
