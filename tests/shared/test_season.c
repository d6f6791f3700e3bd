/* SPDX-License-Identifier: GPL-3.0-or-later
 * The season engine: plans worked out minute by minute by code written apart, all orders of small cases, the
 * sequencing engine on one line, and hand-worked calendars and stores. */
#include "base/memory.h"
#include "base/random.h"
#include "shared/season/season.h"
#include "shared/sequence/sequence.h"
#include "../lib/season_case.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* ---- by hand --------------------------------------------------------------------------------------------
 */

/*
 * Two lots of 6 h in shifts from 06:00 to 14:00, 2 h of cleaning between them. The first runs 06:00-12:00,
 * cleaning 12:00-14:00; the second 06:00-12:00 of the next day. It was due at noon of the first day: a whole
 * day late, at 500 a day. With 7 h of work the first ends at 13:00, an hour of cleaning is left for the next
 * day, and the second runs 07:00-14:00.
 */
static void test_shift_end(void **state)
{
    (void)state;
    bench b;
    efi_season_run run[MOST];
    const int lots[] = {0, 1};
    bench_start(&b, 2, 1, 5, false);
    b.work_s[0] = b.work_s[1] = 6 * HOUR;
    b.clean_s[0 * 3 + 1] = 2 * HOUR;
    b.clean_price[0 * 3 + 1] = 70;
    b.lot[1].due_s = 12 * HOUR;
    b.lot[1].late_price = 500;
    efi_season_cost cost = bench_evaluate(&b, lots, 2, run);
    assert_int_equal(run[0].start_s, 6 * HOUR);
    assert_int_equal(run[0].end_s, 12 * HOUR);
    assert_int_equal(run[1].clean_from_s, 12 * HOUR);
    assert_int_equal(run[1].clean_to_s, 14 * HOUR);
    assert_int_equal(run[1].start_s, DAY + 6 * HOUR);
    assert_int_equal(run[1].end_s, DAY + 12 * HOUR);
    assert_int_equal(cost.late, 500);
    assert_int_equal(cost.cleaning, 70);
    assert_int_equal(cost.total, 570);
    b.work_s[0] = b.work_s[1] = 7 * HOUR;
    (void)bench_evaluate(&b, lots, 2, run);
    assert_int_equal(run[1].clean_to_s, DAY + 7 * HOUR);
    assert_int_equal(run[1].end_s, DAY + 14 * HOUR);
    bench_end(&b);
}

/* 10 h of work with 30 min lost at each restart: 06:00-14:00, then 2 h 30 min on the next day. */
static void test_restart(void **state)
{
    (void)state;
    bench b;
    efi_season_run run[MOST];
    const int lots[] = {0};
    bench_start(&b, 1, 1, 5, false);
    b.work_s[0] = 10 * HOUR;
    b.p.restart_s = 30 * MINUTE;
    (void)bench_evaluate(&b, lots, 1, run);
    assert_int_equal(run[0].restarts, 1);
    assert_int_equal(run[0].end_s, DAY + 8 * HOUR + 30 * MINUTE);
    bench_end(&b);
}

/* A lot that arrives at 10:00 with 1 h of cleaning before it: clean by 07:00 if that may be done before it is
 * there, and runs from 10:00; else it runs from 11:00. */
static void test_cleaning_before_arrival(void **state)
{
    (void)state;
    bench b;
    efi_season_run run[MOST];
    const int lots[] = {0};
    bench_start(&b, 1, 1, 5, false);
    b.lot[0].arrives_s = 10 * HOUR;
    b.clean_s[1 * 2 + 0] = HOUR;
    (void)bench_evaluate(&b, lots, 1, run);
    assert_int_equal(run[0].start_s, 11 * HOUR);
    b.p.cleaned_before_arrival = true;
    (void)bench_evaluate(&b, lots, 1, run);
    assert_int_equal(run[0].clean_from_s, 6 * HOUR);
    assert_int_equal(run[0].clean_to_s, 7 * HOUR);
    assert_int_equal(run[0].start_s, 10 * HOUR);
    bench_end(&b);
}

/*
 * Around the clock, three lots of 24 h and 50 t that all arrive at 0, raw stores of 40 t and 60 t. The first
 * starts at once and needs no store. The second takes the 60 t store, the third finds the 40 t one: 10 t lie
 * outside for two days, at 3 a tonne and day. Product: 45 t each, fetched after 36 h, a store of 50 t and a
 * floor of 30 t: the first takes the store until 60 h, the second, ready at 48 h, the floor but for 15 t (36
 * h at 2 a tonne and day: 45), until 84 h; the third, ready at 72 h, the store.
 */
static void test_stores(void **state)
{
    (void)state;
    bench b;
    efi_season_run run[MOST];
    const int lots[] = {0, 1, 2};
    bench_start(&b, 3, 1, 20, true);
    for (int l = 0; l < 3; l++) {
        b.work_s[l] = DAY;
        b.lot[l].raw_kg = 50000;
        b.lot[l].product_kg = 45000;
        b.lot[l].leaves_s = 36 * HOUR;
    }
    b.raw[0] = (efi_season_store){.holds_kg = 40000};
    b.raw[1] = (efi_season_store){.holds_kg = 60000};
    b.finished[0] = (efi_season_store){.holds_kg = 50000};
    b.finished[1] = (efi_season_store){.holds_kg = 30000, .is_shared = true};
    b.p.raws = b.p.finisheds = 2;
    b.p.has_raw = b.p.has_finished = true;
    b.p.raw_price = 3;
    b.p.finished_price = 2;
    const efi_season_cost cost = bench_evaluate(&b, lots, 3, run);
    assert_int_equal(run[0].raw[0], -1);
    assert_int_equal(run[1].raw[0], 1);
    assert_int_equal(run[2].raw[0], 0);
    assert_int_equal(run[2].raw_missing_kg, 10000);
    assert_int_equal(cost.raw, 10 * 2 * 3);
    assert_int_equal(run[0].finished[0], 0);
    assert_int_equal(run[1].finished[0], 1);
    assert_int_equal(run[1].finished_missing_kg, 15000);
    assert_int_equal(run[2].finished[0], 0);
    assert_int_equal(cost.finished, 45);
    bench_end(&b);
}

static void test_usage(void **state)
{
    (void)state;
    bench b;
    efi_season_cost cost;
    bench_start(&b, 2, 2, 5, false);
    int lots[] = {0, 0};
    efi_season_order order = {.lot = lots, .first = {0, 1, 2}};
    assert_int_equal(efi_season_evaluate(&b.p, &order, NULL, &cost), EF_USAGE); /* one lot twice */
    lots[1] = 1;
    assert_int_equal(efi_season_evaluate(&b.p, &order, NULL, &cost), EF_OK);
    b.work_s[2 + 1] = EFI_SEASON_NEVER;
    assert_int_equal(efi_season_evaluate(&b.p, &order, NULL, &cost), EF_USAGE); /* not on that line */
    b.work_s[1] = EFI_SEASON_NEVER;
    order.first[1] = 2;
    assert_int_equal(efi_season_evaluate(&b.p, &order, NULL, &cost), EF_USAGE); /* a lot without a line */
    b.work_s[1] = HOUR;
    assert_int_equal(efi_season_evaluate(&b.p, &order, NULL, &cost), EF_OK);
    b.lot[1].fixed_line = 0;
    assert_int_equal(efi_season_evaluate(&b.p, &order, NULL, &cost), EF_USAGE); /* fixed ones go first */
    bench_end(&b);
}

/* ---- minute by minute -----------------------------------------------------------------------------------
 */

/* Minutes on, from `now`, until a lot has been cleaned for and may start. */
static int64_t walk_to_start(const bench *b, int lot, int64_t clean_s, int64_t now)
{
    int64_t left_s = clean_s;
    while (left_s > 0 || now < b->lot[lot].arrives_s || !bench_works(b, now)) {
        const bool may_clean = b->p.cleaned_before_arrival || now >= b->lot[lot].arrives_s;
        left_s -= left_s > 0 && may_clean && bench_works(b, now) ? MINUTE : 0;
        now += MINUTE;
    }
    return now;
}

/* Minutes on until its work is done. */
static int64_t walk_to_end(const bench *b, int64_t work_s, int64_t now)
{
    bool paused = false;
    for (int64_t left_s = work_s; left_s > 0; now += MINUTE) {
        if (!bench_works(b, now)) {
            paused = true;
            continue;
        }
        left_s += paused ? b->p.restart_s : 0;
        paused = false;
        left_s -= MINUTE;
    }
    return now;
}

/* Price of the lots from place `from` to `to` on a line, forbidden changeovers at 2^40 each; stores left
 * aside. Times are whole minutes. */
static int64_t walk_line(const bench *b, const int *lots, int line, int from, int to)
{
    const int side = b->p.lots + 1;
    int64_t price = 0;
    int64_t now = 0;
    int last = b->p.lots;
    for (int i = from; i < to; i++) {
        const efi_season_lot *lot = &b->lot[lots[i]];
        const int64_t clean_s = b->clean_s[last * side + lots[i]];
        price += clean_s == EFI_SEASON_NEVER ? INT64_C(1) << 40 : 0;
        now = walk_to_start(b, lots[i], clean_s > 0 ? clean_s : 0, now);
        price += lot->latest_start_s < now ? (now - lot->latest_start_s) * lot->wet_price / DAY : 0;
        now = walk_to_end(b, b->work_s[line * b->p.lots + lots[i]], now);
        price += lot->due_s < now ? (now - lot->due_s) * lot->late_price / DAY : 0;
        price += b->clean_price[last * side + lots[i]];
        last = lots[i];
    }
    if (last < b->p.lots) {
        price += b->clean_price[last * side + b->p.lots];
        price += b->clean_s[last * side + b->p.lots] < 0 ? INT64_C(1) << 40 : 0;
    }
    return price;
}

static int64_t walk_price(const bench *b, const int *lots, int first_line)
{
    const int64_t price = walk_line(b, lots, 0, 0, first_line);
    return b->p.lines == 1 ? price : price + walk_line(b, lots, 1, first_line, b->p.lots);
}

static void test_walk(void **state)
{
    (void)state;
    const uint64_t seed = 411;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (uint64_t i = 0; i < 300; i++) {
        efi_random random = efi_random_stream(seed, i, 0);
        bench b;
        bench_random(&b, &random, 1 + (int)bench_below(&random, MOST), 1 + (int)(i % 2));
        int lots[MOST] = {0};
        for (int l = 0; l < b.p.lots; l++) {
            const int other = (int)bench_below(&random, l + 1);
            lots[l] = lots[other];
            lots[other] = l;
            if (b.work_s[l] == EFI_SEASON_NEVER)
                b.work_s[l] = HOUR;
        }
        const int first = b.p.lines == 1 ? b.p.lots : (int)bench_below(&random, b.p.lots + 1);
        const efi_season_cost cost = bench_evaluate(&b, lots, first, NULL);
        const int64_t expected = walk_price(&b, lots, first);
        assert_int_equal(cost.total, expected & ((INT64_C(1) << 40) - 1));
        assert_int_equal(cost.forbidden, expected >> 40);
        bench_end(&b);
    }
}

/* ---- the best of all orders -----------------------------------------------------------------------------
 */

static void test_enumeration(void **state)
{
    (void)state;
    const uint64_t seed = 20261125;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (uint64_t i = 0; i < 40; i++) {
        efi_random random = efi_random_stream(seed, i, 1);
        bench b;
        bench_random(&b, &random, 2 + (int)bench_below(&random, 4), 1 + (int)(i % 2));
        if (i % 4 >= 2)
            bench_add_stores(&b, &random);
        const int64_t least = bench_least(&b);
        efi_season_result result = bench_solve(&b, 1, 1, 8);
        const int64_t found = result.cost.total + ((int64_t)result.cost.forbidden << 40);
        assert_int_equal(found, least);
        assert_true(result.bound.total <= least);
        assert_true(result.bound.cleaning <= result.cost.cleaning || result.cost.forbidden > 0);
        efi_season_result_free(&result);
        bench_end(&b);
    }
}

/* The line as a single station; cleaning of 0 .. CLASSES - 1 times 25 minutes. */
static void one_station(bench *b, efi_random *random)
{
    bench_add_stations(b, random, 1);
    for (int k = 0; k < 9 * 9; k++) {
        b->clean_class[k] = (uint16_t)(b->clean_s[k] / (25 * MINUTE));
        b->clean_s[k] = b->clean_class[k] * 25 * MINUTE;
    }
    for (int k = 0; k < CLASSES; k++)
        b->station_clean_s[0][k] = 25 * MINUTE * k;
    for (int l = 0; l < 8; l++)
        b->station_work_s[0][l] = b->work_s[l];
}

/* One line that never closes, no stores: the same problem as that of the sequencing engine, whose value is
 * proven; with lots that wait for others as its "this lot before that one", and with a single station. */
static void test_as_sequence(void **state)
{
    (void)state;
    const uint64_t seed = 77;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (uint64_t i = 0; i < 25; i++) {
        efi_random random = efi_random_stream(seed, i, 2);
        bench b;
        bench_start(&b, 8, 1, 200, true);
        int64_t release[MOST];
        int64_t due[MOST];
        int64_t weight[MOST];
        int64_t setup_s[(MOST + 1) * (MOST + 1)];
        int64_t setup_price[(MOST + 1) * (MOST + 1)];
        b.p.cleaned_before_arrival = i % 2 == 0;
        for (int l = 0; l < 8; l++) {
            b.work_s[l] = (30 + bench_below(&random, 900)) * MINUTE;
            b.lot[l].arrives_s = release[l] = bench_below(&random, 3000) * MINUTE;
            b.lot[l].due_s = due[l] = release[l] + bench_below(&random, 3000) * MINUTE;
            weight[l] = bench_below(&random, 10);
            b.lot[l].late_price = DAY * weight[l];
        }
        for (int k = 0; k < 9 * 9; k++) {
            b.clean_s[k] = setup_s[k] = bench_below(&random, 100) * MINUTE;
            b.clean_price[k] = setup_price[k] = bench_below(&random, 40) * 1000;
        }
        if (i % 3 == 2)
            one_station(&b, &random);
        memcpy(setup_s, b.clean_s, sizeof setup_s);
        int before[8][2];
        int pairs = 0;
        b.p.has_passes = i % 3 == 1;
        for (int l = 0; l < 8; l++) {
            b.lot[l].after = l > 0 && bench_below(&random, 2) ? (int)bench_below(&random, l) : -1;
            if (!b.p.has_passes || b.lot[l].after < 0)
                continue;
            before[pairs][0] = b.lot[l].after;
            before[pairs++][1] = l;
        }
        const efi_sequence_problem problem = {.lots = 8,
                                              .cleaned_before_release = b.p.cleaned_before_arrival,
                                              .setup_price = 1,
                                              .work = b.work_s,
                                              .weight = weight,
                                              .release = release,
                                              .due = due,
                                              .setup_time = setup_s,
                                              .setup_cost = setup_price,
                                              .pairs = pairs,
                                              .before = (const int(*)[2])before};
        const efi_sequence_settings settings = efi_sequence_defaults();
        efi_sequence_result sequence = {0};
        assert_int_equal(efi_sequence_solve(&problem, &settings, &sequence), EF_OK);
        assert_true(sequence.found && sequence.proven);
        efi_season_result season = bench_solve(&b, 1, 1, 10);
        /* each lot's lateness is rounded down to whole prices: here it is whole */
        assert_int_equal(season.cost.total, sequence.value);
        assert_int_equal(season.cost.forbidden, 0);
        efi_season_result_free(&season);
        efi_sequence_result_free(&sequence);
        bench_end(&b);
    }
}

/* The same plan for one thread and two, and again from its own plan. */
static void test_same_again(void **state)
{
    (void)state;
    efi_random random = efi_random_stream(5, 0, 3);
    bench b;
    bench_random(&b, &random, MOST, 2);
    bench_add_stores(&b, &random);
    b.lot[3].fixed_line = 1;
    b.lot[5].fixed_line = 1;
    b.lot[5].fixed_place = 1;
    b.work_s[3] = b.work_s[5] = b.work_s[MOST + 3] = b.work_s[MOST + 5] = HOUR;
    efi_season_result one = bench_solve(&b, 9, 1, 6);
    efi_season_result two = bench_solve(&b, 9, 2, 6);
    assert_memory_equal(one.lot, two.lot, MOST * sizeof *one.lot);
    assert_memory_equal(one.first, two.first, sizeof one.first);
    assert_int_equal(one.lot[one.first[1]], 3);
    assert_int_equal(one.lot[one.first[1] + 1], 5);
    efi_season_settings settings = efi_season_defaults();
    efi_season_result again = {0};
    settings.rounds = 0;
    settings.start = one.lot;
    settings.start_first = one.first;
    assert_int_equal(efi_season_solve(&b.p, &settings, &again), EF_OK);
    assert_int_equal(again.cost.total, one.cost.total);
    efi_season_result_free(&one);
    efi_season_result_free(&two);
    efi_season_result_free(&again);
    bench_end(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_shift_end),
        cmocka_unit_test(test_restart),
        cmocka_unit_test(test_cleaning_before_arrival),
        cmocka_unit_test(test_stores),
        cmocka_unit_test(test_usage),
        cmocka_unit_test(test_walk),
        cmocka_unit_test(test_enumeration),
        cmocka_unit_test(test_as_sequence),
        cmocka_unit_test(test_same_again),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
