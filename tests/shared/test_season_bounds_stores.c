/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bounds of the season engine where stores are short: no order of small cases costs less, in any term or
 * in all; and cases by hand in which stores are counted rather than weighed, product lies too long, and lots
 * cannot follow each other. */
#include "shared/season/bound.h"
#include "../lib/season_case.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

enum {
    CASES = 3000
};

/* Some stores, smaller than the lots or larger but too few; by mass or by volume. */
static void make_short(bench *b, efi_random *random)
{
    bench_add_stores(b, random);
    b->p.raws = (int)bench_below(random, 4);
    b->p.finisheds = (int)bench_below(random, 4);
    b->p.raw_price = 1000 * bench_below(random, 40);
    b->p.finished_price = 1000 * bench_below(random, 40);
    const bool by_volume = bench_below(random, 4) == 0;
    for (int s = 0; s < 3; s++) {
        const int most = bench_below(random, 2) ? 80 : 12;
        b->raw[s] = (efi_season_store){.holds_kg = 1000 * (1 + bench_below(random, most)),
                                       .clean_s = bench_below(random, 2) * HOUR};
        b->finished[s] = (efi_season_store){.holds_kg = 1000 * (1 + bench_below(random, most)),
                                            .is_shared = bench_below(random, 3) == 0};
        if (by_volume) {
            b->raw[s].holds_l = b->raw[s].holds_kg * 10 / 7;
            b->finished[s].holds_l = b->finished[s].holds_kg * 10 / 7;
        }
    }
    for (int l = 0; l < b->p.lots; l++) {
        b->lot[l].raw_kgpm3 = 600 + bench_below(random, 300);
        b->lot[l].product_kgpm3 = 600 + bench_below(random, 300);
        b->lot[l].leaves_s = bench_below(random, 4) * bench_below(random, 30) * DAY;
    }
}

/* The calendar ends soon after the last lot, so that not all that lies long can lie apart. */
static void cut_calendar(bench *b, int days)
{
    for (int line = 0; line < b->p.lines; line++) {
        efi_timetable_free(&b->time[line]);
        b->time[line] = (efi_timetable){0};
        assert_int_equal(
            efi_timetable_build(&b->time[line], &b->calendar, EFI_WHOLE_PLANT, 0, (int64_t)days * DAY),
            EF_OK);
    }
}

/* Overtime of two prices. */
static void price_apart(bench *b)
{
    static const int64_t prices[] = {30000, 80000};
    for (int line = 0; line < b->p.lines; line++)
        for (int i = 0; i < b->time[line].count; i++)
            if (b->time[line].items[i].state == EFI_TIME_OVERTIME)
                b->time[line].items[i].overtime = i / 5 % 2;
    b->p.overtime_prices = prices;
    b->p.overtimes = 2;
}

static void make_case(bench *b, efi_random *random, uint64_t kind)
{
    bench_random(b, random, 3 + (int)bench_below(random, 2), 1 + (int)bench_below(random, 2));
    const int spread = kind % 3 ? 4000 : 300;
    for (int l = 0; l < b->p.lots; l++) {
        efi_season_lot *lot = &b->lot[l];
        lot->arrives_s = bench_below(random, spread) * MINUTE;
        if (bench_below(random, 4))
            lot->due_s = lot->arrives_s + bench_below(random, 3000) * MINUTE;
        lot->late_price = 1000 * bench_below(random, kind % 2 ? 2000 : 100);
        for (int line = 0; line < b->p.lines; line++)
            if (b->work_s[line * b->p.lots + l] > 0)
                b->work_s[line * b->p.lots + l] = (60 + bench_below(random, 400)) * MINUTE;
    }
    for (int i = 0; kind % 5 < 3 && i < (b->p.lots + 1) * (b->p.lots + 1); i++) /* least cleaning */
        b->clean_s[i] = b->clean_s[i] == EFI_SEASON_NEVER ? b->clean_s[i] : b->clean_s[i] + HOUR;
    make_short(b, random);
    if ((kind & 24) == 8)
        bench_add_passes(b, random);
    if ((kind & 24) == 16)
        bench_add_stations(b, random, STATIONS);
    if (kind % 7 < 4)
        cut_calendar(b, 6 + (int)bench_below(random, 10));
    if (kind % 11 < 4) {
        bench_add_overtime(b);
        price_apart(b);
    }
    b->p.straight_s = bench_below(random, 3) * HOUR;
    if (kind % 6 == 0) {
        const int lot = (int)bench_below(random, b->p.lots);
        b->lot[lot].fixed_line = 0;
        b->lot[lot].fixed_place = (int)bench_below(random, 2) - 1;
        if (b->lot[lot].fixed_place < 0 || bench_below(random, 2))
            b->lot[lot].fixed_start_s = bench_below(random, 60) * HOUR;
        b->work_s[lot] = b->work_s[lot] > 0 ? b->work_s[lot] : HOUR;
    }
}

typedef struct counts {
    int cases, raw, finished, overtime, followed, reached;
} counts;

/* Each bound by itself, then all. */
static void check(const bench *b, uint64_t number, counts *c)
{
    efi_season_model model;
    efi_season_cost bound;
    efi_season_cost least;
    if (!bench_least_terms(b, &least))
        return;
    assert_int_equal(efi_season_model_build(&model, &b->p), EF_OK);
    assert_int_equal(efi_season_bound(&model, &bound), EF_OK);
    efi_season_model_free(&model);
    if (bound.raw > least.raw || bound.finished > least.finished || bound.late > least.late ||
        bound.cleaning > least.cleaning || bound.wet > least.wet || bound.overtime > least.overtime ||
        bound.total > least.total)
        fail_msg("case %llu: a bound is above the least", (unsigned long long)number);
    const int64_t sum = bound.cleaning + bound.late + bound.wet + bound.overtime + bound.raw + bound.finished;
    c->cases++;
    c->raw += bound.raw > 0;
    c->finished += bound.finished > 0;
    c->overtime += bound.overtime > 0;
    c->followed += bound.total > sum;
    c->reached += 100 * bound.total >= 80 * least.total;
}

static void no_order_costs_less_where_stores_are_short(void **state)
{
    (void)state;
    const uint64_t seed = 88001;
    counts c = {0};
    print_message("seed %llu\n", (unsigned long long)seed);
    for (uint64_t i = 0; i < CASES; i++) {
        efi_random random = efi_random_stream(seed, i, 0);
        static bench b;
        make_case(&b, &random, i);
        check(&b, i, &c);
        bench_end(&b);
    }
    print_message("%d cases; above 0: raw %d, finished %d, overtime %d; together above the sum %d; within "
                  "20 %% %d\n",
                  c.cases, c.raw, c.finished, c.overtime, c.followed, c.reached);
    assert_true(c.cases > 1000 && c.raw > 50 && c.finished > 50 && c.followed > 300 && c.reached > 50);
}

static efi_season_cost bound_of(const bench *b)
{
    efi_season_model model;
    efi_season_cost bound;
    assert_int_equal(efi_season_model_build(&model, &b->p), EF_OK);
    assert_int_equal(efi_season_bound(&model, &bound), EF_OK);
    efi_season_model_free(&model);
    return bound;
}

/*
 * Around the clock, six lots of 10 t and 24 h that come at hour 0; two stores of 50 t, 1 a tonne and day.
 * They start at 0, 24 ... 120 h. By weight there is room for all but each store holds one lot: stored are the
 * first two that come and wait. The first one runs straight in, so four have no room, 10 t each: those that
 * start last but for the stored ones. Least: stored are lots 1 and 2 (by number), which run last: the others
 * wait 0, 1, 2, 3 days: 60.
 */
static void stores_are_counted(void **state)
{
    (void)state;
    bench b;
    bench_start(&b, 6, 1, 20, true);
    b.p.has_raw = true;
    b.p.raws = 2;
    b.p.raw_price = 1000;
    b.raw[0] = b.raw[1] = (efi_season_store){.holds_kg = 50000};
    for (int l = 0; l < 6; l++) {
        b.work_s[l] = DAY;
        b.lot[l].raw_kg = 10000;
    }
    const efi_season_cost bound = bound_of(&b);
    efi_season_cost least;
    assert_true(bench_least_terms(&b, &least));
    print_message("bound %lld of %lld\n", (long long)bound.raw, (long long)least.raw);
    assert_int_equal(least.raw, 60000);
    assert_true(bound.raw > 0 && bound.raw <= 60000);
    bench_end(&b);
}

/*
 * Around the clock for 2 days, three lots of 10 t and an hour of work whose product lies for 4 days, one
 * store of 40 t, 1 a tonne and day. All end within hours 1 .. 48, so at the latest at hour 144 all are gone:
 * the store holds one at a time. One that ended at hour 48 would find the store free only after hour 97; so
 * two have no room: 2 x 10 x 4 = 80. The bound: 3 x 10 t x 4 d, less 10 t over 143 h: 60.4, and less what
 * rounding takes.
 */
static void product_lies_too_long(void **state)
{
    (void)state;
    bench b;
    bench_start(&b, 3, 1, 2, true);
    b.p.has_finished = true;
    b.p.finisheds = 1;
    b.p.finished_price = 1000;
    b.finished[0] = (efi_season_store){.holds_kg = 40000};
    for (int l = 0; l < 3; l++) {
        b.lot[l].product_kg = 10000;
        b.lot[l].leaves_s = 4 * (int64_t)DAY;
    }
    const efi_season_cost bound = bound_of(&b);
    efi_season_cost least;
    assert_true(bench_least_terms(&b, &least));
    print_message("bound %lld of %lld\n", (long long)bound.finished, (long long)least.finished);
    assert_int_equal(least.finished, 80000);
    assert_true(bound.finished > 60000 && bound.finished <= 60420);
    assert_true(bound.total >= bound.finished);
    bench_end(&b);
}

/*
 * The same in a long calendar, all due after a day at 1000 a day: to wait would cost more than no room, so
 * the bound of both together is above 0, while each alone is 0.
 */
static void product_lies_too_long_or_is_late(void **state)
{
    (void)state;
    bench b;
    bench_start(&b, 3, 1, 90, true);
    b.p.has_finished = true;
    b.p.finisheds = 1;
    b.p.finished_price = 1000;
    b.finished[0] = (efi_season_store){.holds_kg = 40000};
    for (int l = 0; l < 3; l++) {
        b.lot[l].product_kg = 10000;
        b.lot[l].leaves_s = 4 * (int64_t)DAY;
        b.lot[l].due_s = DAY;
        b.lot[l].late_price = 1000000;
    }
    const efi_season_cost bound = bound_of(&b);
    assert_int_equal(bench_least(&b), 80000);
    print_message("bound %lld of 80000\n", (long long)bound.total);
    assert_int_equal(bound.finished, 0);
    assert_int_equal(bound.late, 0);
    assert_true(bound.total > 10000 && bound.total <= 80000);
    bench_end(&b);
}

/*
 * Four lots on one line around the clock, two classes: 100 from one to the other, 0 within. A and B are there
 * and due at hour 0 .. 24, A' and B' come on day 20; a day late costs 1000. A, A', B, B' would be one change,
 * but B would be 19 days late; A, B, B', A' are two. Without times it is 1 x 100. Least 200.
 */
static void what_is_due_early_does_not_follow_what_comes_late(void **state)
{
    (void)state;
    bench b;
    bench_start(&b, 4, 1, 60, true);
    for (int l = 0; l < 4; l++) {
        b.lot[l].arrives_s = l < 2 ? 0 : 20 * (int64_t)DAY;
        b.lot[l].due_s = l < 2 ? DAY : 21 * (int64_t)DAY;
        b.lot[l].late_price = 1000000;
        for (int k = 0; k < 4; k++)
            b.clean_price[l * 5 + k] = l % 2 == k % 2 ? 0 : 100000;
    }
    const efi_season_cost bound = bound_of(&b);
    assert_int_equal(bench_least(&b), 200000);
    assert_int_equal(bound.cleaning, 100000);
    print_message("bound %lld of 200000\n", (long long)bound.total);
    assert_true(bound.total > 190000 && bound.total <= 200000);
    bench_end(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_order_costs_less_where_stores_are_short),
        cmocka_unit_test(stores_are_counted),
        cmocka_unit_test(product_lies_too_long),
        cmocka_unit_test(product_lies_too_long_or_is_late),
        cmocka_unit_test(what_is_due_early_does_not_follow_what_comes_late),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
