/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bounds of the season engine: no order of small cases costs less, in any term or in all, and each bound
 * says something in some of them. */
#include "shared/season/bound.h"
#include "../lib/season_case.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/* Lots of few classes that are due soon after they come. */
static void make_classes(bench *b, efi_random *random)
{
    const int classes = 2 + (int)bench_below(random, 3);
    const int side = b->p.lots + 1;
    int64_t clean_s[5][5];
    int64_t price[5][5];
    int of[MOST + 1];
    for (int i = 0; i < 5; i++) {
        for (int j = 0; j < 5; j++) {
            clean_s[i][j] = i == j ? 10 * MINUTE : (30 + bench_below(random, 90)) * MINUTE;
            if (i != j && bench_below(random, 12) == 0)
                clean_s[i][j] = EFI_SEASON_NEVER;
            price[i][j] = i == j ? 1000 : 1000 * bench_below(random, 200);
        }
    }
    for (int l = 0; l < b->p.lots; l++)
        of[l] = (int)bench_below(random, classes);
    of[b->p.lots] = 4;
    for (int i = 0; i < side; i++) {
        for (int j = 0; j < side; j++) {
            b->clean_s[i * side + j] = clean_s[of[i]][of[j]];
            b->clean_price[i * side + j] = price[of[i]][of[j]];
        }
    }
}

static void make_tight(bench *b, efi_random *random, uint64_t kind)
{
    bench_random(b, random, 3 + (int)bench_below(random, 3), 1 + (int)bench_below(random, 2));
    if (kind % 2)
        make_classes(b, random);
    const int spread = kind % 3 ? 3000 : 600;
    for (int l = 0; l < b->p.lots; l++) {
        efi_season_lot *lot = &b->lot[l];
        lot->arrives_s = bench_below(random, spread) * MINUTE;
        lot->due_s = lot->arrives_s + bench_below(random, 2000) * MINUTE;
        lot->late_price = 1000 * bench_below(random, kind % 2 ? 1000 : 100);
        for (int line = 0; line < b->p.lines; line++)
            if (b->work_s[line * b->p.lots + l] > 0)
                b->work_s[line * b->p.lots + l] = (60 + bench_below(random, 400)) * MINUTE;
    }
    if (kind & 4)
        bench_add_stores(b, random);
    for (int s = 0; s < 2 && (kind & 4); s++)
        b->raw[s].holds_kg = 1000 * (2 + bench_below(random, 10));
    if ((kind & 24) == 8)
        bench_add_passes(b, random);
    if ((kind & 24) == 16)
        bench_add_stations(b, random, STATIONS);
    if (kind % 5 == 0)
        bench_add_overtime(b);
    b->p.straight_s = bench_below(random, 3) * HOUR;
    if (kind % 7 == 0) {
        const int lot = (int)bench_below(random, b->p.lots);
        b->lot[lot].fixed_line = 0;
        b->lot[lot].fixed_start_s = bench_below(random, 60) * HOUR;
        b->work_s[lot] = b->work_s[lot] > 0 ? b->work_s[lot] : HOUR;
    }
}

/* Two or three lots of each class, some days apart. */
static void make_batches(bench *b, efi_random *random)
{
    const int classes = 3;
    bench_start(b, 6, 1 + (int)bench_below(random, 2), 90, true);
    for (int l = 0; l < 6; l++) {
        efi_season_lot *lot = &b->lot[l];
        lot->arrives_s = l / classes * bench_below(random, 200) * HOUR;
        lot->due_s = lot->arrives_s + bench_below(random, 48) * HOUR;
        lot->late_price = 1000 * bench_below(random, 60);
        for (int line = 0; line < b->p.lines; line++)
            b->work_s[line * 6 + l] = (1 + bench_below(random, 8)) * HOUR;
        for (int k = 0; k < 6; k++) {
            b->clean_price[l * 7 + k] = l % classes == k % classes ? 5000
                                                                   : 1000 * (80 + bench_below(random, 40));
            b->clean_s[l * 7 + k] = 20 * MINUTE;
        }
    }
    for (int l = 0; l < 6; l++) /* classes keep their changeovers */
        for (int k = 0; k < 6; k++)
            b->clean_price[l * 7 + k] =
                b->clean_price[l % classes * 7 + (k % classes == l % classes ? l : k % classes)];
}

typedef struct counts {
    int cases, late, late_alone, wet, raw, together, reached;
} counts;

static void check(const bench *b, counts *c)
{
    efi_season_model model;
    efi_season_cost bound;
    efi_season_cost least;
    if (!bench_least_terms(b, &least)) /* nothing is allowed */
        return;
    assert_int_equal(efi_season_model_build(&model, &b->p), EF_OK);
    assert_int_equal(efi_season_bound(&model, &bound), EF_OK);
    efi_season_model_free(&model);
    assert_true(bound.cleaning <= least.cleaning);
    assert_true(bound.late <= least.late);
    assert_true(bound.wet <= least.wet);
    assert_true(bound.overtime <= least.overtime);
    assert_true(bound.raw <= least.raw);
    assert_true(bound.finished <= least.finished);
    assert_true(bound.total <= least.total);
    c->cases++;
    c->late += bound.late > 0;
    c->wet += bound.wet > 0;
    c->raw += bound.raw > 0;
    c->together += bound.total > bound.cleaning + bound.late + bound.wet + bound.overtime + bound.raw;
    c->reached += 100 * bound.total >= 80 * least.total;
}

static void no_order_costs_less(void **state)
{
    (void)state;
    const uint64_t seed = 77002;
    counts c = {0};
    print_message("seed %llu\n", (unsigned long long)seed);
    for (uint64_t i = 0; i < 180; i++) {
        efi_random random = efi_random_stream(seed, i, 0);
        static bench b;
        if (i % 6 == 5)
            make_batches(&b, &random);
        else
            make_tight(&b, &random, i);
        check(&b, &c);
        bench_end(&b);
    }
    print_message("%d cases; above 0: late %d, wet %d, raw %d; together above the sum %d; within 20 %% %d\n",
                  c.cases, c.late, c.wet, c.raw, c.together, c.reached);
    assert_true(c.cases > 100 && c.late > 20 && c.wet > 5 && c.raw > 5 && c.together > 5 && c.reached > 5);
}

/*
 * One line around the clock, three lots of 10 h, there and due at 0, 24 a day late: none can end before 10 h,
 * 20 h, 30 h: 60 in all (24 a day is 1 an hour). Alone each has 10; the bound must see that they wait for
 * each other. It looks at moments 5 minutes to hours apart, so it comes near and not above.
 */
static void lots_wait_for_each_other(void **state)
{
    (void)state;
    bench b;
    efi_season_model model;
    efi_season_cost bound;
    bench_start(&b, 3, 1, 4, true);
    for (int l = 0; l < 3; l++) {
        b.work_s[l] = 10 * HOUR;
        b.lot[l].due_s = 0;
        b.lot[l].late_price = 24000;
    }
    assert_int_equal(efi_season_model_build(&model, &b.p), EF_OK);
    assert_int_equal(efi_season_bound(&model, &bound), EF_OK);
    efi_season_model_free(&model);
    assert_int_equal(bench_least(&b), 60000);
    print_message("bound %lld of 60000\n", (long long)bound.late);
    assert_true(bound.late > 30000 + 10000 && bound.late <= 60000);
    bench_end(&b);
}

/*
 * Three classes on one line, cleaning 100 between them and nothing within; two lots of each, one that is
 * due early and one that comes late, at such a price that each class must be entered twice: 2 x 3 - 1 = 5
 * changes, less one where the last class of the first round is the first of the second: 400. By
 * assignment and arborescence alone it is 200.
 */
static void classes_come_again(void **state)
{
    (void)state;
    bench b;
    efi_season_model model;
    efi_season_cost bound;
    bench_start(&b, 6, 1, 60, true);
    for (int l = 0; l < 6; l++) {
        b.lot[l].arrives_s = l < 3 ? 0 : 20 * (int64_t)DAY;
        b.lot[l].due_s = l < 3 ? DAY : 21 * (int64_t)DAY;
        b.lot[l].late_price = 1000000;
        for (int k = 0; k < 6; k++)
            b.clean_price[l * 7 + k] = l % 3 == k % 3 ? 0 : 100000;
    }
    assert_int_equal(efi_season_model_build(&model, &b.p), EF_OK);
    assert_int_equal(efi_season_bound(&model, &bound), EF_OK);
    efi_season_model_free(&model);
    assert_int_equal(bench_least(&b), 400000);
    assert_int_equal(bound.cleaning, 200000);
    assert_int_equal(bound.total, 400000);
    bench_end(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_order_costs_less),
        cmocka_unit_test(lots_wait_for_each_other),
        cmocka_unit_test(classes_come_again),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
