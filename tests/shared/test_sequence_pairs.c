/* SPDX-License-Identifier: GPL-3.0-or-later
 * Search where some lots run before others: the walk's own accounts against full evaluation, its heat, and
 * that neither threads nor meetings change what comes out. */
#include "base/memory.h"
#include "shared/sequence/heat.h"
#include "shared/sequence/walk.h"
#include "shared/verify/sequence_check.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

enum {
    MOST = 70,
    MOST_PAIRS = 400
};

typedef struct made_problem {
    efi_sequence_problem p;
    int64_t setup[(MOST + 1) * (MOST + 1)];
    int before[MOST_PAIRS][2];
} made_problem;

/* Lots with pairs that agree with some order drawn, so that an order exists; few changeovers forbidden. */
static void make_random(made_problem *made, efi_random *random, int lots)
{
    memset(made, 0, sizeof *made);
    int rank[MOST] = {0};
    for (int j = 0; j < lots; j++) {
        const int other = (int)efi_random_below(random, (uint32_t)j + 1);
        rank[j] = j;
        rank[j] = rank[other];
        rank[other] = j;
    }
    const uint32_t dearest = 2 + efi_random_below(random, 1000);
    for (int i = 0; i < (lots + 1) * (lots + 1); i++)
        made->setup[i] = efi_random_below(random, 60) == 0 ? EFI_SEQUENCE_FORBIDDEN
                                                           : (int64_t)efi_random_below(random, dearest);
    const int wanted = (int)efi_random_below(random, MOST_PAIRS);
    int pairs = 0;
    for (int k = 0; k < wanted; k++) {
        const int i = (int)efi_random_below(random, (uint32_t)lots);
        const int j = (int)efi_random_below(random, (uint32_t)lots);
        if (rank[i] >= rank[j])
            continue;
        made->before[pairs][0] = i;
        made->before[pairs++][1] = j;
    }
    made->p = (efi_sequence_problem){.lots = lots,
                                     .setup_price = 1,
                                     .setup_time = made->setup,
                                     .pairs = pairs,
                                     .before = (const int(*)[2])made->before};
}

static bool keeps_pairs(const made_problem *made, const int *order)
{
    int place[MOST];
    memset(place, -1, sizeof place);
    for (int k = 0; k < made->p.lots; k++)
        place[order[k]] = k;
    for (int j = 0; j < made->p.lots; j++)
        if (place[j] < 0)
            return false;
    for (int k = 0; k < made->p.pairs; k++)
        if (place[made->before[k][0]] >= place[made->before[k][1]])
            return false;
    return true;
}

/* What the walk claims of its best order, added up move by move, is what the order costs. */
static bool is_sound(const made_problem *made, const efi_model *model, const efi_walk_best *best)
{
    int64_t broken;
    const int64_t price = efi_model_price(model, best->order, best->run, &broken);
    const efi_sequence_account account = efi_sequence_check(&made->p, best->order, best->run, NULL, NULL);
    return best->run == made->p.lots && keeps_pairs(made, best->order) && broken == best->broken &&
           price == best->price && efi_sequence_keeps(&account) == (broken == 0) &&
           (broken > 0 || account.price == price);
}

static void changes_add_up_to_full_evaluations_and_no_pair_is_broken(void **state)
{
    (void)state;
    const efi_walk_kind *const kind = &efi_pairs_walk;
    int found = 0;
    for (uint64_t seed = 1; seed <= 60; seed++) {
        efi_random random = efi_random_stream(71, seed, 0);
        made_problem made;
        make_random(&made, &random, 2 + (int)efi_random_below(&random, MOST - 1));
        efi_model model;
        assert_int_equal(efi_model_build(&made.p, &model), EF_OK);
        void *const walk = kind->make(&model, seed, (int)(seed % 4));
        assert_non_null(walk);
        for (int turn = 0; turn < 40; turn++) {
            int start[MOST];
            efi_walk_start(&model, &random, start);
            if (turn % 8 == 7)
                kind->adopt(walk, start);
            kind->run(walk, turn < 20 ? 1 : 2000);
            if (!is_sound(&made, &model, kind->best(walk)))
                fail_msg("seed %d, turn %d", (int)seed, turn);
        }
        found += kind->best(walk)->broken == 0;
        kind->free(walk);
        efi_model_free(&model);
    }
    assert_true(found > 40);
}

/* The least price over all orders, by going through them; INT64_MAX when none keeps all. */
static int64_t least_of_all(const made_problem *made, int *order, int placed)
{
    const int lots = made->p.lots;
    if (placed == lots) {
        const efi_sequence_account account = efi_sequence_check(&made->p, order, lots, NULL, NULL);
        return efi_sequence_keeps(&account) ? account.price : INT64_MAX;
    }
    int64_t least = INT64_MAX;
    for (int k = placed; k < lots; k++) {
        const int lot = order[k];
        order[k] = order[placed];
        order[placed] = lot;
        const int64_t price = least_of_all(made, order, placed + 1);
        least = price < least ? price : least;
        order[placed] = order[k];
        order[k] = lot;
    }
    return least;
}

static void a_walk_comes_to_the_least_of_all_orders_of_seven_lots(void **state)
{
    (void)state;
    int found = 0;
    for (uint64_t seed = 1; seed <= 40; seed++) {
        efi_random random = efi_random_stream(72, seed, 0);
        made_problem made;
        make_random(&made, &random, 7);
        made.p.pairs = made.p.pairs < 5 ? made.p.pairs : 5;
        efi_model model;
        assert_int_equal(efi_model_build(&made.p, &model), EF_OK);
        void *const walk = efi_pairs_walk.make(&model, seed, 0);
        assert_non_null(walk);
        efi_pairs_walk.run(walk, 100000);
        const efi_walk_best *const best = efi_pairs_walk.best(walk);
        int order[7] = {0, 1, 2, 3, 4, 5, 6};
        const int64_t least = least_of_all(&made, order, 0);
        if ((best->broken == 0 ? best->price : INT64_MAX) != least)
            fail_msg("seed %d: %ld, least %ld", (int)seed, (long)best->price, (long)least);
        found += best->broken == 0;
        efi_pairs_walk.free(walk);
        efi_model_free(&model);
    }
    assert_true(found > 30);
}

static efi_sequence_result solve(const efi_sequence_problem *p, int threads)
{
    efi_sequence_settings settings = efi_sequence_defaults();
    settings.rounds = 18; /* walks meet after 16 */
    settings.threads = threads;
    efi_sequence_result result;
    assert_int_equal(efi_sequence_solve(p, &settings, &result), EF_OK);
    return result;
}

static void any_number_of_threads_gives_the_same_order(void **state)
{
    (void)state;
    efi_random random = efi_random_stream(73, 0, 0);
    made_problem made;
    make_random(&made, &random, MOST);
    assert_true(made.p.pairs > 20);
    efi_sequence_result one = solve(&made.p, 1);
    efi_sequence_result four = solve(&made.p, 4);
    assert_true(one.found);
    assert_int_equal(four.value, one.value);
    assert_int_equal(four.rounds, one.rounds);
    assert_int_equal(four.steps, one.steps);
    assert_memory_equal(four.order, one.order, MOST * sizeof *one.order);
    efi_sequence_result_free(&one);
    efi_sequence_result_free(&four);
}

/* ---- heat ---- */

enum {
    DRAWS = 40000
};

/* Of DRAWS draws at `step`, how many give more than `limit`. */
static int draws_above(uint64_t step, int64_t unit, int64_t limit)
{
    efi_heat heat = {0};
    efi_random random = efi_random_stream(74, step, (uint64_t)limit);
    int above = 0;
    (void)efi_heat_slack(&heat, &random, 0, unit);
    for (int k = 0; k < DRAWS; k++)
        above += efi_heat_slack(&heat, &random, step, unit) > limit;
    return above;
}

/* Is `count` of DRAWS within four standard deviations of this chance? */
static bool is_near(int count, double chance)
{
    const double apart = count - DRAWS * chance;
    return apart * apart <= 16.0 * DRAWS * chance * (1.0 - chance);
}

static void each_heat_more_halves_the_chance(void **state)
{
    (void)state;
    const int64_t unit = INT64_C(1) << 40;
    double chance = 1.0;
    for (int k = 1; k <= 8; k++) {
        chance /= 2.0;
        assert_true(is_near(draws_above(0, unit, unit / 4 * 3 * k), chance));
    }
    /* Straight between: 3/4 where 2^-0.5 = 0.71. */
    assert_true(is_near(draws_above(0, unit, unit / 8 * 3), 0.75));
}

static void heat_halves_in_a_cycle_and_cycles_double(void **state)
{
    (void)state;
    const int64_t unit = INT64_C(1) << 40;
    static const uint64_t hot[] = {0, 20000000, 60000000, 140000000, 300000000, 620000000, 940000000};
    for (size_t k = 0; k < EF_COUNT(hot); k++) {
        assert_true(is_near(draws_above(hot[k], unit, unit / 4 * 3), 0.5));
        if (k > 0) /* just before: half the heat, but for what a 2048th of a cycle makes */
            assert_true(is_near(draws_above(hot[k] - 1, unit, unit / 8 * 3 + unit / 4096), 0.5));
    }
    assert_true(is_near(draws_above(10000000, unit, unit / 16 * 9), 0.5));
}

static void units_of_any_size_are_taken(void **state)
{
    (void)state;
    efi_heat heat = {0};
    efi_random random = efi_random_stream(75, 0, 0);
    const int64_t most = INT64_C(1) << 56;
    int64_t largest = 0;
    for (int k = 0; k < DRAWS; k++) {
        assert_int_equal(efi_heat_slack(&heat, &random, (uint64_t)k * 1000003, 0), 0);
        const int64_t slack = efi_heat_slack(&heat, &random, (uint64_t)k * 1000003, most);
        assert_true(slack >= 0);
        largest = slack > largest ? slack : largest;
    }
    assert_true(largest > most * 4 && largest < most / 4 * 3 * 64);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(changes_add_up_to_full_evaluations_and_no_pair_is_broken),
        cmocka_unit_test(a_walk_comes_to_the_least_of_all_orders_of_seven_lots),
        cmocka_unit_test(any_number_of_threads_gives_the_same_order),
        cmocka_unit_test(each_heat_more_halves_the_chance),
        cmocka_unit_test(heat_halves_in_a_cycle_and_cycles_double),
        cmocka_unit_test(units_of_any_size_are_taken),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
