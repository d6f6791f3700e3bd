/* SPDX-License-Identifier: GPL-3.0-or-later
 * Volumes of least cost: the fast form against the plain program, here and by a solver that is none of ours,
 * for all aims; standard sizes and fixed costs against trying everything. */
#include "../lib/files.h"
#include "../lib/near.h"
#include "../lib/outside_solver.h"
#include "../lib/skip.h"
#include "answers/bins/sizing.h"
#include "base/random.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define SEGMENTS 5
#define BINS     (SEGMENTS - 1)
#define TRACES   12
#define STOPS    6
#define FEED     2

/* Random lines, two machines side by side in the third segment, the steady feed. */
typedef struct random_lines {
    efi_fluid_unit unit[TRACES][SEGMENTS + 1];
    efi_trace trace[TRACES][SEGMENTS + 1];
    efi_interval stop[TRACES][SEGMENTS + 1][STOPS];
    double start_share[BINS];
    efi_fluid_line line[TRACES];
    efi_sizing_bin bin[BINS];
    efi_sizing sizing;
} random_lines;

static double between(efi_random *random, double from, double to)
{
    return from + (to - from) * efi_random_uniform(random);
}

static void lay(random_lines *r, efi_random *random, int t, int u)
{
    double now_h = efi_grid_round(between(random, 0.0, 2.0));
    efi_trace *trace = &r->trace[t][u];
    trace->stop = r->stop[t][u];
    for (int k = 0; k < STOPS && now_h < 8.0; k++) {
        const double to_h = efi_grid_round(now_h + between(random, 0.05, 0.6));
        trace->stop[trace->stops++] = (efi_interval){now_h, to_h};
        now_h = efi_grid_round(to_h + between(random, 0.3, 2.5));
    }
}

static random_lines *make(uint64_t seed)
{
    random_lines *r = calloc(1, sizeof *r);
    assert_non_null(r);
    efi_random random = efi_random_stream(seed, 7, 0);
    double capacity[SEGMENTS];
    for (int i = 0; i < SEGMENTS; i++)
        capacity[i] = i == FEED ? 2.5 : between(&random, 5.5, 8.0);
    for (int j = 0; j < BINS; j++) {
        r->start_share[j] = between(&random, 0.0, 1.0);
        r->bin[j] = (efi_sizing_bin){.cost = between(&random, 0.5, 2.0), .most_t = 15.0};
    }
    for (int t = 0; t < TRACES; t++) {
        for (int u = 0; u <= SEGMENTS; u++) {
            const int segment = u <= FEED ? u : u - 1;
            lay(r, &random, t, u);
            r->unit[t][u] = (efi_fluid_unit){segment, segment, capacity[segment], &r->trace[t][u]};
        }
        r->line[t] = (efi_fluid_line){.segments = SEGMENTS,
                                      .units = SEGMENTS + 1,
                                      .unit = r->unit[t],
                                      .feed_station = FEED,
                                      .start_share = r->start_share,
                                      .to_h = 8.0};
    }
    r->sizing = (efi_sizing){
        .traces = TRACES, .line = r->line, .bin = r->bin, .tail_share = 1.0, .threads = 2};
    return r;
}

static efi_sizing_result solve(const efi_sizing *sizing, const efi_sizing_aim *aim, double *volume)
{
    efi_sizing_result result;
    efi_sizing_search *search = efi_sizing_open(sizing);
    assert_non_null(search);
    assert_int_equal(efi_sizing_solve(search, aim, volume, &result), EF_OK);
    efi_sizing_close(search);
    return result;
}

static double plain_optimum(const efi_sizing *sizing, const efi_sizing_aim *aim, const char *path)
{
    efi_lp *lp = NULL;
    int column[BINS];
    efi_lp_result result;
    assert_int_equal(efi_sizing_plain(sizing, aim, &lp, column), EF_OK);
    assert_int_equal(efi_lp_solve(lp, NULL, &result), EF_OK);
    assert_int_equal(result.outcome, EFI_LP_OPTIMAL);
    if (path)
        assert_int_equal(efi_lp_write(lp, path, EFI_LP_FREE_MPS, true), EF_OK);
    efi_lp_free(lp);
    return result.objective;
}

/* L at the greatest volumes: no target below it can be met. */
static double least_shortfall(const efi_sizing *sizing)
{
    double most[BINS];
    double shortfall_t = NAN;
    for (int j = 0; j < BINS; j++)
        most[j] = sizing->bin[j].most_t;
    assert_int_equal(efi_sizing_shortfall(sizing, most, &shortfall_t, NULL), EF_OK);
    return shortfall_t;
}

/* Each aim in turn: nothing beyond what is unavoidable, so much in the mean, a price, the tail. */
static efi_sizing_aim aim_of(random_lines *r, uint64_t seed)
{
    r->sizing.tail_share = seed % 4 == 3 ? 0.3 : 1.0;
    const double least_t = least_shortfall(&r->sizing);
    switch (seed % 4) {
    case 0:
        return (efi_sizing_aim){.target_t = least_t};
    case 1:
        return (efi_sizing_aim){.target_t = least_t + 0.3};
    case 2:
        return (efi_sizing_aim){.target_t = 0.0, .priced = true, .price = 3.0};
    default:
        return (efi_sizing_aim){.target_t = least_t + 0.5};
    }
}

static void the_fast_form_has_the_optimum_of_the_plain_program(void **state)
{
    (void)state;
    double sum = 0.0;
    for (uint64_t seed = 1; seed <= 24; seed++) {
        random_lines *r = make(seed);
        efi_sizing_aim aim = aim_of(r, seed);
        double volume[BINS];
        const efi_sizing_result result = solve(&r->sizing, &aim, volume);
        aim.target_t += aim.priced ? 0.0 : 1e-9; /* the least shortfall, when the target, to rounding */
        const double value = result.cost + (aim.priced ? aim.price * result.shortfall_t : 0.0);
        const double plain = plain_optimum(&r->sizing, &aim, NULL);
        if (fabs(value - plain) > 1e-6 * plain + 1e-5)
            print_message("seed %d\n", (int)seed);
        assert_near_relative(value, plain, 2e-6);
        assert_true(result.bound <= value * (1.0 + 1e-7));
        sum += value;
        free(r);
    }
    assert_true(sum > 24.0);
}

static void a_solver_of_others_finds_the_same_in_the_exported_program(void **state)
{
    (void)state;
    if (!outside_solver_is_there())
        ef_test_skip("clp is not installed");
    char *path = scratch_path("plain.mps");
    for (uint64_t seed = 1; seed <= 8; seed++) {
        random_lines *r = make(seed);
        const efi_sizing_aim aim = aim_of(r, seed);
        double volume[BINS];
        const efi_sizing_result result = solve(&r->sizing, &aim, volume);
        const double value = result.cost + (aim.priced ? aim.price * result.shortfall_t : 0.0);
        (void)plain_optimum(&r->sizing, &(efi_sizing_aim){aim.target_t + 1e-9, aim.priced, aim.price}, path);
        const outside_result outside = outside_solver_run(path);
        assert_int_equal(outside.outcome, OUTSIDE_OPTIMAL);
        assert_near_relative(value, outside.objective, 2e-6);
        free(r);
    }
    free(path);
}

/* A search that goes from aim to aim finds what a fresh one finds. */
static void what_one_aim_taught_serves_the_next(void **state)
{
    (void)state;
    random_lines *r = make(5);
    const double least_t = least_shortfall(&r->sizing);
    efi_sizing_search *search = efi_sizing_open(&r->sizing);
    assert_non_null(search);
    double before = INFINITY;
    for (int i = 0; i < 5; i++) {
        const efi_sizing_aim aim = {.target_t = least_t + 0.2 * i};
        double volume[BINS];
        double fresh[BINS];
        efi_sizing_result result;
        assert_int_equal(efi_sizing_solve(search, &aim, volume, &result), EF_OK);
        assert_near_relative(result.cost, solve(&r->sizing, &aim, fresh).cost, 1e-6);
        assert_true(result.cost <= before);
        before = result.cost;
    }
    efi_sizing_close(search);
    free(r);
}

/* Every combination of sizes tried one by one. */
static void standard_sizes_and_fixed_costs_are_chosen_as_by_trying_all(void **state)
{
    (void)state;
    static const double size[] = {0.5, 1.0, 2.0, 4.0, 8.0};
    const int choices = 6; /* none, or one of five */
    for (uint64_t seed = 1; seed <= 4; seed++) {
        random_lines *r = make(seed);
        for (int j = 0; j < BINS; j++) {
            r->bin[j].fixed_cost = 1.5;
            r->bin[j].size = size;
            r->bin[j].sizes = 5;
            r->bin[j].most_t = 8.0;
        }
        const efi_sizing_aim aim = {.target_t = least_shortfall(&r->sizing) + 0.4};
        double volume[BINS];
        const efi_sizing_result result = solve(&r->sizing, &aim, volume);
        double best = INFINITY;
        for (int c = 0; c < choices * choices * choices * choices; c++) {
            double trial[BINS];
            double shortfall_t = 0.0;
            int rest = c;
            for (int j = 0; j < BINS; j++, rest /= choices)
                trial[j] = rest % choices == 0 ? 0.0 : size[rest % choices - 1];
            const double cost = efi_sizing_cost(&r->sizing, trial);
            if (cost >= best)
                continue;
            assert_int_equal(efi_sizing_shortfall(&r->sizing, trial, &shortfall_t, NULL), EF_OK);
            best = shortfall_t <= aim.target_t + EFI_SIZING_SLACK_T ? cost : best;
        }
        assert_near_relative(result.cost, best, 1e-7);
        free(r);
    }
}

static bool never(void *context)
{
    (void)context;
    return false;
}

static bool a_few_times(void *context)
{
    int *left = context;
    return (*left)-- > 0;
}

static void a_stopped_search_gives_the_best_so_far(void **state)
{
    (void)state;
    random_lines *r = make(9);
    double volume[BINS];
    efi_sizing_result result;
    const efi_sizing_aim aim = {.target_t = least_shortfall(&r->sizing) + 0.3};
    r->sizing.go_on = never;
    efi_sizing_search *search = efi_sizing_open(&r->sizing);
    assert_int_equal(efi_sizing_solve(search, &aim, volume, &result), EF_STOPPED);
    efi_sizing_close(search);
    int left = 4;
    r->sizing.go_on = a_few_times;
    r->sizing.context = &left;
    search = efi_sizing_open(&r->sizing);
    assert_int_equal(efi_sizing_solve(search, &aim, volume, &result), EF_OK);
    efi_sizing_close(search);
    assert_true(result.stopped);
    assert_true(result.shortfall_t <= aim.target_t + EFI_SIZING_SLACK_T);
    free(r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_fast_form_has_the_optimum_of_the_plain_program),
        cmocka_unit_test(a_solver_of_others_finds_the_same_in_the_exported_program),
        cmocka_unit_test(what_one_aim_taught_serves_the_next),
        cmocka_unit_test(standard_sizes_and_fixed_costs_are_chosen_as_by_trying_all),
        cmocka_unit_test(a_stopped_search_gives_the_best_so_far),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
