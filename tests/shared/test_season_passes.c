/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lots that wait for others: by hand, minute by minute by code written apart, against all orders. */
#include "shared/season/season.h"
#include "../lib/season_case.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/*
 * Shifts from 06:00 to 14:00, two lines. Lot 0 (6 h) on line 0 runs 06:00-12:00; lot 1 is its second pass,
 * 30 h in the laboratory, so there at 18:00 of the next day: on line 1 it runs from 06:00 of the third, 4 h.
 * Lot 2 runs on line 1 before it. Room for 10 t of the 20 t that lie from noon of the first day until the
 * third: 10 t for 42 h at 8 a tonne and day: 140.
 */
static void second_pass_waits_for_the_laboratory(void **state)
{
    (void)state;
    bench b;
    efi_season_run run[MOST];
    bench_start(&b, 3, 2, 9, false);
    b.p.has_passes = b.p.has_raw = true;
    b.p.raws = 1;
    b.p.raw_price = 8;
    b.raw[0] = (efi_season_store){.holds_kg = 10000};
    b.lot[0].after = b.lot[2].after = -1;
    b.lot[1].after_s = 30 * HOUR;
    b.lot[1].raw_kg = 20000;
    b.work_s[0] = 6 * HOUR;
    b.work_s[3 + 1] = 4 * HOUR;
    const efi_season_cost cost = bench_evaluate(&b, (const int[]){0, 2, 1}, 1, run);
    assert_int_equal(run[0].end_s, 12 * HOUR);
    assert_int_equal(run[1].arrives_s, 42 * HOUR);
    assert_int_equal(run[1].start_s, 2 * DAY + 6 * HOUR);
    assert_int_equal(run[1].end_s, 2 * DAY + 10 * HOUR);
    assert_int_equal(run[1].raw[0], 0);
    assert_int_equal(run[1].raw_missing_kg, 10000);
    assert_int_equal(cost.raw, 10 * 8 * 42 / 24);
    assert_int_equal(cost.forbidden, 0);
    bench_end(&b);
}

static void what_waits_in_vain_is_forbidden(void **state)
{
    (void)state;
    bench b;
    efi_season_run run[MOST];
    bench_start(&b, 4, 2, 9, true);
    b.p.has_passes = true;
    b.lot[0].after = b.lot[2].after = -1;
    b.lot[1].after = 0;
    b.lot[3].after = 2;
    efi_season_cost cost = bench_evaluate(&b, (const int[]){1, 0, 2, 3}, 2, run); /* second pass first */
    assert_int_equal(cost.forbidden, 1);
    assert_true(run[1].waits_in_vain && !run[0].waits_in_vain);
    assert_int_equal(run[1].start_s, 0);
    cost = bench_evaluate(&b, (const int[]){1, 2, 3, 0}, 2, run); /* each line waits for the other */
    assert_int_equal(cost.forbidden, 1);
    assert_true(run[1].waits_in_vain && !run[3].waits_in_vain);
    assert_int_equal(run[3].start_s, 2 * HOUR); /* once lot 2 has run, second on line 0 */
    cost = bench_evaluate(&b, (const int[]){0, 3, 2, 1}, 2, run);
    assert_int_equal(cost.forbidden, 0);
    efi_season_cost again;
    b.lot[0].after = 1; /* a circle */
    int lots[] = {0, 1, 2, 3};
    const efi_season_order order = {.lot = lots, .first = {0, 2, 4}};
    assert_int_equal(efi_season_evaluate(&b.p, &order, NULL, &again), EF_USAGE);
    b.lot[0].after = 4;
    assert_int_equal(efi_season_evaluate(&b.p, &order, NULL, &again), EF_USAGE);
    bench_end(&b);
}

/* ---- minute by minute -----------------------------------------------------------------------------------
 */

/* A line and what it does in this minute. */
typedef struct line_now {
    int place, to;   /* of its lots; the next one */
    int last;        /* lot; `lots`: none */
    int64_t clean_s; /* still to be done */
    int64_t work_s;
    bool runs, cleans; /* the next lot; cleaning has been set out for it */
    bool paused;
} line_now;

typedef struct clock_now {
    const bench *b;
    const int *lots;
    int64_t end_s[MOST]; /* -1: has not run */
    int64_t price;
    int forbidden;
} clock_now;

static bool is_there(const clock_now *c, int lot, int64_t now)
{
    const efi_season_lot *of = &c->b->lot[lot];
    if (of->arrives_s > now)
        return false;
    return of->after < 0 || (c->end_s[of->after] >= 0 && c->end_s[of->after] + of->after_s <= now);
}

/* Everything a line can do at `now` without time going on. */
static void at_once(clock_now *c, line_now *line, int number, int64_t now)
{
    const bench *b = c->b;
    while (line->place < line->to) {
        const int lot = c->lots[line->place];
        const efi_season_lot *of = &b->lot[lot];
        if (!line->runs) {
            const int pair = line->last * (b->p.lots + 1) + lot;
            if (!line->cleans) {
                line->cleans = true;
                line->clean_s = b->clean_s[pair] > 0 ? b->clean_s[pair] : 0;
                c->forbidden += b->clean_s[pair] < 0;
                c->price += b->clean_price[pair];
            }
            if (line->clean_s > 0 || !is_there(c, lot, now) || !bench_works(b, now))
                return;
            c->price += of->latest_start_s < now ? (now - of->latest_start_s) * of->wet_price / DAY : 0;
            line->runs = true;
            line->paused = false;
            line->work_s = b->work_s[number * b->p.lots + lot];
        }
        if (line->work_s > 0)
            return;
        c->end_s[lot] = now;
        c->price += of->due_s < now ? (now - of->due_s) * of->late_price / DAY : 0;
        line->last = lot;
        line->place++;
        line->runs = line->cleans = false;
    }
}

static void minute(const clock_now *c, line_now *line, int64_t now)
{
    const bench *b = c->b;
    if (line->place == line->to)
        return;
    if (!bench_works(b, now)) {
        line->paused = true;
        return;
    }
    if (line->runs) {
        line->work_s += line->paused ? b->p.restart_s : 0;
        line->paused = false;
        line->work_s -= MINUTE;
    } else if (line->clean_s > 0 && (b->p.cleaned_before_arrival || is_there(c, c->lots[line->place], now))) {
        line->clean_s -= MINUTE;
    }
}

/* Price of an order in which nothing waits in vain, forbidden changeovers at 2^40 each; -1 when something
 * does: nothing has ended for a long time. */
static int64_t walk_price(const bench *b, const int *lots, int first)
{
    clock_now c = {.b = b, .lots = lots};
    line_now line[2] = {{.place = 0, .to = first, .last = b->p.lots},
                        {.place = first, .to = b->p.lots, .last = b->p.lots}};
    for (int l = 0; l < b->p.lots; l++)
        c.end_s[l] = -1;
    for (int64_t now = 0; line[0].place < line[0].to || line[1].place < line[1].to; now += MINUTE) {
        if (now > 119 * (int64_t)DAY)
            return -1;
        for (int round = 0; round < b->p.lots + 1;
             round++) /* an end on one line may start a lot on the other */
            for (int i = 0; i < b->p.lines; i++)
                at_once(&c, &line[i], i, now);
        for (int i = 0; i < b->p.lines; i++)
            minute(&c, &line[i], now);
    }
    for (int i = 0; i < b->p.lines; i++) {
        if (line[i].last == b->p.lots)
            continue;
        c.price += b->clean_price[line[i].last * (b->p.lots + 1) + b->p.lots];
        c.forbidden += b->clean_s[line[i].last * (b->p.lots + 1) + b->p.lots] < 0;
    }
    return c.price + ((int64_t)c.forbidden << 40);
}

static void passes_minute_by_minute(void **state)
{
    (void)state;
    const uint64_t seed = 90125;
    int good = 0;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (uint64_t i = 0; i < 150; i++) {
        efi_random random = efi_random_stream(seed, i, 0);
        bench b;
        bench_random(&b, &random, 2 + (int)bench_below(&random, 7), 1 + (int)(i % 2));
        bench_add_passes(&b, &random);
        int lots[MOST] = {0};
        for (int l = 0; l < b.p.lots; l++) {
            const int other = (int)bench_below(&random, 3) ? l : (int)bench_below(&random, l + 1);
            lots[l] = lots[other];
            lots[other] = l;
            for (int line = 0; line < b.p.lines; line++)
                if (b.work_s[line * b.p.lots + l] == EFI_SEASON_NEVER)
                    b.work_s[line * b.p.lots + l] = HOUR;
        }
        const int first = b.p.lines == 1 ? b.p.lots : (int)bench_below(&random, b.p.lots + 1);
        efi_season_run run[MOST];
        const efi_season_cost cost = bench_evaluate(&b, lots, first, run);
        const int64_t expected = walk_price(&b, lots, first);
        bool in_vain = false;
        for (int l = 0; l < b.p.lots; l++)
            in_vain = in_vain || run[l].waits_in_vain;
        assert_int_equal(in_vain, expected < 0);
        if (!in_vain) {
            assert_int_equal(cost.total, expected & ((INT64_C(1) << 40) - 1));
            assert_int_equal(cost.forbidden, expected >> 40);
            good++;
        }
        bench_end(&b);
    }
    print_message("%d of 150 orders wait for nothing in vain\n", good);
    assert_true(good > 50 && good < 150);
}

static void passes_against_all_orders(void **state)
{
    (void)state;
    const uint64_t seed = 31;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (uint64_t i = 0; i < 24; i++) {
        efi_random random = efi_random_stream(seed, i, 0);
        bench b;
        bench_random(&b, &random, 2 + (int)bench_below(&random, 4), 1 + (int)(i % 2));
        bench_add_passes(&b, &random);
        if (i % 4 >= 2)
            bench_add_stores(&b, &random);
        if (i % 3 == 0)
            bench_add_overtime(&b);
        const int64_t least = bench_least(&b);
        efi_season_result result = bench_solve(&b, 1, 1, 12);
        assert_int_equal(result.cost.total + ((int64_t)result.cost.forbidden << 40), least);
        assert_true(result.bound.total <= least);
        efi_season_result_free(&result);
        bench_end(&b);
    }
}

/* Lots of which none waits: the same as without. */
static void no_passes_cost_nothing(void **state)
{
    (void)state;
    efi_random random = efi_random_stream(8, 0, 0);
    bench b;
    bench_random(&b, &random, MOST, 2);
    bench_add_stores(&b, &random);
    efi_season_result without = bench_solve(&b, 3, 1, 6);
    b.p.has_passes = true;
    for (int l = 0; l < MOST; l++)
        b.lot[l].after = -1;
    efi_season_result with = bench_solve(&b, 3, 1, 6);
    assert_memory_equal(with.lot, without.lot, MOST * sizeof *with.lot);
    assert_int_equal(with.cost.total, without.cost.total);
    efi_season_result_free(&with);
    efi_season_result_free(&without);
    bench_end(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(second_pass_waits_for_the_laboratory),
        cmocka_unit_test(what_waits_in_vain_is_forbidden),
        cmocka_unit_test(passes_minute_by_minute),
        cmocka_unit_test(passes_against_all_orders),
        cmocka_unit_test(no_passes_cost_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
