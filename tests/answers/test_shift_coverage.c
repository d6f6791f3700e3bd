/* SPDX-License-Identifier: GPL-3.0-or-later
 * Do the 95 % limits of a shift hold what they say? Of many seeds counted, against values that come from
 * elsewhere: the mean by formula, the quantiles from a simulation of two lines in this file. */
#include "../lib/shifts.h"
#include <evenfeed/shift.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

enum {
    SEEDS = 300,
    FIRST_SEED = 1,
    RUNS = 20,
    TRUE_SHIFTS = 1000000,
    /* Limits that hold 95 times of 100 hold 285 of 300 with a standard deviation of 3.8: binomial(300, 0.95)
       is below 271 with probability 3e-4, above 297 with 3e-5 */
    FEWEST = 271,
    MOST = 297
};

/* 10 t/h, up for 2 h and down for 12 min in the mean, both exponential. */
#define RATE_TPH 10.0
#define UP_H     2.0
#define DOWN_H   0.2
#define SHIFT_H  8.0

static const char plant[] =
    "evenfeed: 1\nplant: {name: Up and down}\nmaterials: {seed: {wanted: yes}}\n"
    "crops: {wheat: {receipt: {seed: 100 %}}}\nstations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, to: Cleaner}\n"
    "  Cleaner: {kind: machine, capacity: 10 t/h, to: Shed, stops: {choke: {between: 2 h, lasts: 12 min}}}\n"
    "  Shed: {kind: outlet, product: yes}\n";

/* ---- the truth ------------------------------------------------------------------------------------------
 */

/* Numbers from 0 to 1, neither included. Source: Steele, Lea and Flood 2014 (splitmix64). */
static double uniform(uint64_t *state)
{
    uint64_t z = *state += UINT64_C(0x9E3779B97F4A7C15);
    z = (z ^ z >> 30) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ z >> 27) * UINT64_C(0x94D049BB133111EB);
    return ((double)((z ^ z >> 31) >> 11) + 0.5) / 9007199254740992.0;
}

static int rising(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

/* Tonnes of shifts one after the other of a machine that is up, then down. Sorted. */
static double *simulated_shifts(void)
{
    double *tonnes = calloc(TRUE_SHIFTS, sizeof *tonnes);
    assert_non_null(tonnes);
    uint64_t state = 20261126;
    bool up = true;
    double left_h = UP_H;
    for (int i = 0; i < TRUE_SHIFTS; i++) {
        double now_h = 0.0;
        while (now_h < SHIFT_H) {
            const double step_h = fmin(left_h, SHIFT_H - now_h);
            tonnes[i] += up ? RATE_TPH * step_h : 0.0;
            now_h += step_h;
            left_h -= step_h;
            if (left_h > 0.0)
                continue;
            up = !up;
            left_h = -log(uniform(&state)) * (up ? UP_H : DOWN_H);
        }
    }
    qsort(tonnes, TRUE_SHIFTS, sizeof *tonnes, rising);
    return tonnes;
}

/* ---- what is counted ------------------------------------------------------------------------------------
 */

enum {
    MEAN,
    P10,
    P50,
    P90,
    ESTIMATES
};

static const char *const names[ESTIMATES] = {"mean", "P10", "P50", "P90"};

/* Would limits that lie `stretch` times as far from the estimate hold it? */
static bool holds(ef_shift_estimate e, double truth, double stretch)
{
    return e.value + stretch * (e.low - e.value) <= truth && truth <= e.value + stretch * (e.high - e.value);
}

static bool is_kept(int held)
{
    return held >= FEWEST && held <= MOST;
}

static void limits_hold_95_times_of_100(void **state)
{
    (void)state;
    double *tonnes = simulated_shifts();
    const double truth[ESTIMATES] = {SHIFT_H * RATE_TPH * UP_H / (UP_H + DOWN_H), tonnes[TRUE_SHIFTS / 10],
                                     tonnes[TRUE_SHIFTS / 2], tonnes[TRUE_SHIFTS / 10 * 9]};
    free(tonnes);
    static const double stretches[] = {1.0, 0.7, 1.6};
    int held[3][ESTIMATES] = {{0}};
    ef_scenario *scenario = plant_read(plant);
    for (uint64_t seed = FIRST_SEED; seed < FIRST_SEED + SEEDS; seed++) {
        ef_shift_settings settings = ef_shift_defaults();
        settings.seed = seed;
        settings.runs = RUNS;
        settings.threads = 1;
        settings.remedies = false;
        ef_shift *shift = shift_of(scenario, settings);
        const ef_shift_stream *product = &shift->groups[0].streams[1];
        const ef_shift_estimate estimates[ESTIMATES] = {product->mean_t, product->p10_t, product->p50_t,
                                                        product->p90_t};
        for (int s = 0; s < 3; s++)
            for (int i = 0; i < ESTIMATES; i++)
                held[s][i] += holds(estimates[i], truth[i], stretches[s]);
        ef_shift_free(shift);
    }
    ef_scenario_free(scenario);
    for (int i = 0; i < ESTIMATES; i++) {
        print_message(
            "%s, %.3f t: of %d seeds from %d the limits of %d hold it, %d were they 0.7 and %d were "
            "they 1.6 times as wide\n",
            names[i], truth[i], SEEDS, FIRST_SEED, held[0][i], held[1][i], held[2][i]);
        assert_true(is_kept(held[0][i]));
        assert_false(is_kept(held[1][i])); /* the count tells limits that are a little too near or too far */
        assert_false(is_kept(held[2][i]));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(limits_hold_95_times_of_100),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
