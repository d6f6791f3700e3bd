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

static int add_lots(int *to, const int *lot, int count)
{
    if (count > 0)
        memcpy(to, lot, (size_t)count * sizeof *lot);
    return count;
}

/* Of the plan, or as the trials would have it. */
static int64_t price_of(const bench *b, const efi_season_walk *walk, bool trials)
{
    int lots[MOST];
    efi_season_order order = {.lot = lots};
    efi_season_cost cost;
    int count = 0;
    for (int line = 0; line < b->p.lines; line++) {
        const efi_season_row *row = &walk->row[line];
        const efi_season_trial *trial = NULL;
        for (int t = 0; trials && t < walk->trials; t++)
            trial = walk->trial[t].line == line ? &walk->trial[t] : trial;
        order.first[line] = count;
        count += add_lots(lots + count, row->lot, trial ? trial->from : row->count);
        if (!trial)
            continue;
        count += add_lots(lots + count, trial->lot, trial->count);
        count += add_lots(lots + count, row->lot + trial->until, row->count - trial->until);
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

/* Tables of changeovers for each line. */
static void add_tables(bench *b, efi_random *random)
{
    static int64_t hours[(MOST + 1) * (MOST + 1)];
    static int64_t price[(MOST + 1) * (MOST + 1)];
    static const int64_t *line_hours[2];
    static const int64_t *line_price[2];
    for (int i = 0; i < (b->p.lots + 1) * (b->p.lots + 1); i++) {
        hours[i] = bench_below(random, 8) ? bench_below(random, 150) * MINUTE : EFI_SEASON_NEVER;
        price[i] = bench_below(random, 40) * 10000;
    }
    line_hours[0] = b->clean_s;
    line_hours[1] = hours;
    line_price[0] = b->clean_price;
    line_price[1] = price;
    b->p.line_clean_s = line_hours;
    b->p.line_clean_price = line_price;
}

/* Stores by volume beside those by mass. */
static void add_volumes(bench *b, efi_random *random)
{
    b->raw[0].holds_l = 1000 * (10 + bench_below(random, 80));
    b->finished[bench_below(random, 2)].holds_l = 1000 * (10 + bench_below(random, 80));
    for (int l = 0; l < b->p.lots; l++) {
        b->lot[l].raw_kgpm3 = 500 + bench_below(random, 400);
        b->lot[l].product_kgpm3 = 500 + bench_below(random, 400);
    }
}

/* An earlier plan of some of the lots. */
static void add_plan(bench *b, efi_random *random)
{
    b->p.move_price = bench_below(random, 50) * 1000;
    for (int l = 0; l < b->p.lots; l++) {
        b->lot[l].was_planned = bench_below(random, 4) > 0;
        b->lot[l].was_line = (int)bench_below(random, b->p.lines);
        b->lot[l].was_place = (l * 5) % b->p.lots;
    }
}

/* A lot that has run, one that runs first, one with a start but no place. */
static void add_states(bench *b, efi_random *random)
{
    for (int l = 0; l < 3; l++) {
        efi_season_lot *lot = &b->lot[l];
        const int line = (int)bench_below(random, b->p.lines);
        lot->fixed_line = line;
        lot->fixed_place = l == 2 ? -1 : l;
        lot->has_run = l == 0;
        lot->fixed_start_s = l == 0   ? -30 * HOUR
                             : l == 1 ? EFI_SEASON_NONE
                                      : (30 + bench_below(random, 300)) * HOUR;
        lot->ended_s = l == 0 ? -bench_below(random, 20) * HOUR : 0;
        lot->after = -1;
        for (int k = 0; k < b->p.lines; k++)
            b->work_s[k * b->p.lots + l] = k == line ? 5 * HOUR : EFI_SEASON_NEVER;
    }
}

static void make_more(bench *b, efi_random *random, uint64_t kind)
{
    bench_random(b, random, 6 + (int)bench_below(random, MOST - 5), 1 + (int)bench_below(random, 2));
    bench_add_stores(b, random);
    if (kind & 16)
        bench_add_passes(b, random);
    if (kind & 1)
        add_tables(b, random);
    if (kind & 2)
        add_volumes(b, random);
    if (kind & 4)
        add_plan(b, random);
    if (kind & 8)
        add_states(b, random);
}

static void value_is_that_of_the_plan(void **state)
{
    (void)state;
    const uint64_t seed = 4001;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (uint64_t i = 0; i < 256; i++) {
        efi_random random = efi_random_stream(seed, i, 0);
        static bench b;
        static efi_season_walk walk;
        efi_season_model model;
        if (i < 128)
            make(&b, &random, i % 32);
        else
            make_more(&b, &random, i % 32);
        assert_int_equal(efi_season_model_build(&model, &b.p), EF_OK);
        assert_int_equal(efi_season_walk_build(&walk, &model), EF_OK);
        walk.random = efi_random_stream(seed, i, 1);
        efi_season_walk_first(&walk);
        assert_int_equal(walk.value, price_of(&b, &walk, false));
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
            if (!took && !b.p.has_passes && b.p.restart_s == 0) /* else some good ones are turned down */
                assert_true(price_of(&b, &walk, true) > before);
            taken += took;
            assert_int_equal(walk.value, price_of(&b, &walk, false));
            assert_true(walk.best_value <= walk.value);
        }
        assert_true(taken > 0);
        efi_season_model_free(&model);
        bench_end(&b);
    }
}

/* The lots that are told to have moved are as few as can be: all but a longest rising row of places. */
static void moved_lots_are_as_few_as_can_be(void **state)
{
    (void)state;
    bench b;
    efi_season_run run[MOST];
    bench_start(&b, 6, 1, 40, false);
    b.p.move_price = 1000;
    for (int l = 0; l < 6; l++) {
        b.lot[l].was_planned = l != 5;
        b.lot[l].was_place = l;
    }
    const int kept[] = {0, 1, 2, 3, 4, 5};
    assert_int_equal(bench_evaluate(&b, kept, 6, run).moves, 0);
    const int to_the_end[] = {1, 2, 5, 3, 4, 0}; /* lot 0 alone; lot 5 was in no plan */
    assert_int_equal(bench_evaluate(&b, to_the_end, 6, run).moves, 1000);
    assert_true(run[0].is_moved && !run[5].is_moved && !run[4].is_moved);
    const int turned[] = {4, 3, 2, 1, 0, 5}; /* any one may stay */
    assert_int_equal(bench_evaluate(&b, turned, 6, run).moves, 4000);
    bench_end(&b);
}

/* A lot that has run takes no time, but its product still lies in the only store, and what comes after it is
 * cleaned after it; a lot without room for its start in time is late for it. */
static void what_has_run_takes_no_time(void **state)
{
    (void)state;
    bench b;
    efi_season_run run[MOST];
    bench_start(&b, 2, 1, 40, false);
    b.lot[0] = (efi_season_lot){.due_s = EFI_SEASON_NONE,
                                .latest_start_s = EFI_SEASON_NONE,
                                .fixed_start_s = -10 * HOUR,
                                .has_run = true,
                                .ended_s = -5 * HOUR,
                                .product_kg = 50000,
                                .leaves_s = DAY};
    b.lot[1].product_kg = 50000;
    b.lot[1].leaves_s = DAY;
    b.lot[1].fixed_line = 0;
    b.lot[1].fixed_place = -1;
    b.lot[1].fixed_start_s = 8 * HOUR;
    b.clean_s[0 * 3 + 1] = 2 * HOUR; /* 06:00 to 08:00: just in time */
    b.finished[0] = (efi_season_store){.holds_kg = 60000};
    b.p.finisheds = 1;
    b.p.has_finished = true;
    const int lots[] = {0, 1};
    assert_int_equal(bench_evaluate(&b, lots, 2, run).forbidden, 0);
    assert_int_equal(run[1].start_s, 8 * HOUR);
    assert_int_equal(run[1].end_s, 9 * HOUR);
    assert_int_equal(run[0].finished_kg[0], 50000);
    assert_int_equal(run[1].finished_missing_kg, 50000); /* until 19:00 */
    b.clean_s[0 * 3 + 1] = 2 * HOUR + MINUTE;
    assert_int_equal(bench_evaluate(&b, lots, 2, run).forbidden, 1);
    assert_true(run[1].misses_start);
    assert_int_equal(run[1].start_s, 8 * HOUR + MINUTE);
    bench_end(&b);
}

/* 60 m3 hold 48 t at 800 kg/m3 and 30 t at 500. */
static void a_store_by_volume_holds_what_the_density_lets_it(void **state)
{
    (void)state;
    bench b;
    efi_season_run run[MOST];
    bench_start(&b, 2, 1, 40, false);
    b.raw[0] = (efi_season_store){.holds_l = 60000};
    b.raw[1] = (efi_season_store){.holds_kg = 35000};
    b.p.raws = 2;
    b.p.has_raw = true;
    for (int l = 0; l < 2; l++) {
        b.lot[l].raw_kg = 40000;
        b.lot[l].raw_kgpm3 = b.lot[l].product_kgpm3 = l == 0 ? 800 : 500;
    }
    const int lots[] = {0, 1};
    (void)bench_evaluate(&b, lots, 2, run);
    assert_int_equal(run[0].raw[0], 0); /* the silo holds it, the bin does not */
    assert_int_equal(run[1].raw[0], 1);
    assert_int_equal(run[1].raw_kg[0], 35000);
    assert_int_equal(run[1].raw_missing_kg, 5000);
    b.lot[0].raw_kgpm3 = 500; /* now the bin is the larger one: 35 t, and the rest in the silo */
    (void)bench_evaluate(&b, lots, 2, run);
    assert_int_equal(run[0].raw[0], 1);
    assert_int_equal(run[0].raw[1], 0);
    assert_int_equal(run[0].raw_kg[1], 5000);
    bench_end(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(value_is_that_of_the_plan),
        cmocka_unit_test(moved_lots_are_as_few_as_can_be),
        cmocka_unit_test(what_has_run_takes_no_time),
        cmocka_unit_test(a_store_by_volume_holds_what_the_density_lets_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
