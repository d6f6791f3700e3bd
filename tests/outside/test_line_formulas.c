/* SPDX-License-Identifier: GPL-3.0-or-later
 * Two-machine formulas, and laws of longer lines that hold without a closed solution (Gershwin 1994; Dallery
 * and Gershwin 1992): reversal, flow and idle time, bounds from the two-machine lines within, and monotony
 * along one set of traces. */
#include "../lib/lines.h"
#include "../lib/near.h"
#include "../lib/two_machine.h"
#include "base/random.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

static void the_formulas_give_the_two_machine_table(void **state)
{
    (void)state;
    FILE *table = lines_open_table("lines/two-machine.csv");
    char room[512];
    char *field[24];
    int rows = 0;
    while (lines_read_row(table, room, sizeof room, field, 24) >= 15) {
        two_machine line = {.counts_clock = strcmp(field[1], "TDF") == 0, .bin = lines_number(field[8])};
        for (int i = 0; i < 2; i++) {
            line.mu[i] = lines_number(field[2 + 3 * i]);
            line.p[i] = lines_number(field[3 + 3 * i]);
            line.r[i] = lines_number(field[4 + 3 * i]);
        }
        const two_machine_answer answer = two_machine_solve(&line);
        assert_near_relative(answer.throughput, lines_number(field[9]), 1e-7);
        assert_near_absolute(answer.level, lines_number(field[10]), 1e-6);
        assert_near_absolute(answer.empty, lines_number(field[11]), 1e-6);
        assert_near_absolute(answer.full, lines_number(field[12]), 1e-6);
        assert_near_absolute(answer.starved, lines_number(field[13]), 1e-6);
        assert_near_absolute(answer.blocked, lines_number(field[14]), 1e-6);
        rows++;
    }
    fclose(table);
    assert_int_equal(rows, 16);
}

/* ---- random lines
 * ------------------------------------------------------------------------------------------- */

static double between(efi_random *random, double low, double high)
{
    return low + (high - low) * efi_random_uniform(random);
}

static void random_line(lines_line *line, uint64_t seed, int machines, bool has_equal_speeds)
{
    efi_random random = efi_random_stream(seed, 4, 4);
    *line = (lines_line){.machines = machines};
    for (int i = 0; i < machines; i++) {
        line->speed[i] = has_equal_speeds ? 10.0 : between(&random, 8.0, 14.0);
        line->repair_per_h[i] = between(&random, 0.5, 4.0);
        line->fail_per_h[i] = line->repair_per_h[i] * between(&random, 0.03, 0.2);
        line->bin[i] = between(&random, 1.0, 8.0);
    }
}

static lines_line reversed(const lines_line *line)
{
    lines_line turned = *line;
    const int n = line->machines;
    for (int i = 0; i < n; i++) {
        turned.speed[i] = line->speed[n - 1 - i];
        turned.fail_per_h[i] = line->fail_per_h[n - 1 - i];
        turned.repair_per_h[i] = line->repair_per_h[n - 1 - i];
        if (i + 1 < n)
            turned.bin[i] = line->bin[n - 2 - i];
    }
    return turned;
}

/* 0: throughput; from 1: mean levels; from 20: starved and blocked shares of machine i at 20 + i and 40 + i.
 */
#define METRICS 60
static double measure(const efi_engine *engine, const void *context, int metric, double hours)
{
    const lines_line *line = context;
    efi_account account;
    if (metric == 0) {
        efi_engine_read(engine, lines_machine(line, line->machines - 1), &account);
        return account.in_t / hours;
    }
    if (metric < line->machines) {
        efi_engine_read(engine, lines_bin(line, metric - 1), &account);
        return account.level_th / hours;
    }
    const int i = metric % 20;
    if (metric < 20 || i >= line->machines)
        return 0.0;
    efi_engine_read(engine, lines_machine(line, i), &account);
    return account.state_h[metric < 40 ? EFI_STATE_STARVED : EFI_STATE_BLOCKED] / hours;
}

static void random_two_machine_lines_meet_the_formulas(void **state)
{
    (void)state;
    lines_scores scores = {0};
    const lines_batches batches = {lines_is_soak() ? 800 : 80, 1e3, 1e3};
    for (uint64_t seed = 1; seed <= 16; seed++) {
        lines_line line;
        random_line(&line, seed, 2, seed % 4 == 0);
        line.counts_clock = seed % 2 == 0;
        lines_describe(&line);
        double mean[METRICS];
        double error[METRICS];
        lines_run(&line.network, seed, &batches, measure, &line, 42, mean, error);
        const two_machine two = {.mu = {line.speed[0], line.speed[1]},
                                 .p = {line.fail_per_h[0], line.fail_per_h[1]},
                                 .r = {line.repair_per_h[0], line.repair_per_h[1]},
                                 .bin = line.bin[0],
                                 .counts_clock = line.counts_clock};
        const two_machine_answer answer = two_machine_solve(&two);
        lines_judge(&scores, "random line", "throughput", mean[0], error[0], answer.throughput);
        lines_judge(&scores, "random line", "level", mean[1], error[1], answer.level);
        lines_judge(&scores, "random line", "starved", mean[21], error[21], answer.starved);
        lines_judge(&scores, "random line", "blocked", mean[40], error[40], answer.blocked);
    }
    assert_int_equal(scores.cases, 64);
    assert_true(lines_scores_good(&scores));
}

static void a_line_turned_round_makes_as_much(void **state)
{
    (void)state;
    lines_scores scores = {0};
    const lines_batches batches = {lines_is_soak() ? 800 : 200, 1e3, 1e3};
    for (uint64_t seed = 101; seed <= 130; seed++) {
        lines_line line;
        random_line(&line, seed, 3 + (int)(seed % 3), false);
        line.counts_clock = seed % 2 == 0;
        lines_line turned = reversed(&line);
        lines_describe(&line);
        lines_describe(&turned);
        double mean[METRICS];
        double error[METRICS];
        double turned_mean[METRICS];
        double turned_error[METRICS];
        lines_run(&line.network, seed, &batches, measure, &line, line.machines, mean, error);
        lines_run(&turned.network, seed + 5000, &batches, measure, &turned, line.machines, turned_mean,
                  turned_error);
        lines_judge(&scores, "turned line", "throughput", mean[0], hypot(error[0], turned_error[0]),
                    turned_mean[0]);
        for (int b = 0; b + 1 < line.machines; b++) {
            const int back = line.machines - 1 - b;
            lines_judge(&scores, "turned line", "level", mean[1 + b], hypot(error[1 + b], turned_error[back]),
                        line.bin[b] - turned_mean[back]);
        }
    }
    assert_true(scores.cases > 100);
    assert_true(lines_scores_good(&scores));
}

static void flow_is_what_availability_and_idle_time_leave(void **state)
{
    (void)state;
    /* Equal speeds mu, failures while running: flow/mu = e (1 - starved - blocked) for each machine. */
    lines_scores scores = {0};
    const lines_batches batches = {lines_is_soak() ? 800 : 80, 1e3, 1e3};
    for (uint64_t seed = 201; seed <= 206; seed++) {
        lines_line line;
        random_line(&line, seed, 4, true);
        lines_describe(&line);
        double mean[METRICS];
        double error[METRICS];
        lines_run(&line.network, seed, &batches, measure, &line, METRICS, mean, error);
        for (int i = 0; i < 4; i++) {
            const double e = line.repair_per_h[i] / (line.repair_per_h[i] + line.fail_per_h[i]);
            const double expected = 10.0 * e * (1.0 - mean[20 + i] - mean[40 + i]);
            lines_judge(&scores, "idle time", "flow", mean[0],
                        10.0 * hypot(error[0] / 10.0, hypot(error[20 + i], error[40 + i])), expected);
        }
    }
    assert_int_equal(scores.cases, 24);
    assert_true(lines_scores_good(&scores));
}

static void a_line_lies_between_its_bounds(void **state)
{
    (void)state;
    const lines_batches batches = {40, 1e3, 1e3};
    for (uint64_t seed = 301; seed <= 312; seed++) {
        lines_line line;
        random_line(&line, seed, 3 + (int)(seed % 4), false);
        lines_describe(&line);
        double mean[METRICS];
        double error[METRICS];
        lines_run(&line.network, seed, &batches, measure, &line, 1, mean, error);
        double slowest = INFINITY;
        double upper = INFINITY;
        for (int i = 0; i < line.machines; i++)
            slowest = fmin(slowest, line.speed[i]);
        double stops = 1.0;
        for (int i = 0; i < line.machines; i++)
            stops += line.fail_per_h[i] * slowest / line.speed[i] / line.repair_per_h[i];
        for (int i = 0; i + 1 < line.machines; i++) {
            const two_machine two = {.mu = {line.speed[i], line.speed[i + 1]},
                                     .p = {line.fail_per_h[i], line.fail_per_h[i + 1]},
                                     .r = {line.repair_per_h[i], line.repair_per_h[i + 1]},
                                     .bin = line.bin[i]};
            upper = fmin(upper, two_machine_solve(&two).throughput);
        }
        if (!(mean[0] >= slowest / stops - 3.0 * error[0] && mean[0] <= upper + 3.0 * error[0]))
            fail_msg("seed %d: %.6g is not within %.6g .. %.6g", (int)seed, mean[0], slowest / stops, upper);
    }
}

/* ---- one set of traces
 * ---------------------------------------------------------------------------------------- */

#define HORIZONS 20

static void made_by(const lines_line *line, uint64_t seed, double made_t[HORIZONS])
{
    efi_engine *engine = NULL;
    efi_trouble trouble;
    assert_int_equal(efi_engine_build(&line->network, NULL, &engine, &trouble), EF_OK);
    efi_engine_start(engine, seed, 0);
    for (int k = 0; k < HORIZONS; k++) {
        assert_int_equal(efi_engine_run(engine, 17.0 * (k + 1), &trouble), EF_OK);
        efi_account account;
        efi_engine_read(engine, lines_machine(line, line->machines - 1), &account);
        made_t[k] = account.in_t;
    }
    efi_engine_free(engine);
}

static void more_bin_or_speed_never_makes_less_of_the_same_stops(void **state)
{
    (void)state;
    const int lines = lines_is_soak() ? 20000 : 400;
    for (int n = 0; n < lines; n++) {
        const uint64_t seed = 7000 + (uint64_t)n;
        lines_line line;
        random_line(&line, seed, 2 + n % 5, n % 3 == 0);
        line.counts_clock = true;
        lines_describe(&line);
        double before_t[HORIZONS];
        double after_t[HORIZONS];
        made_by(&line, seed, before_t);
        const int i = n % (line.machines - 1);
        if (n % 2 == 0)
            line.bin[i] *= 1.3;
        else
            line.speed[i] *= 1.3;
        lines_describe(&line);
        made_by(&line, seed, after_t);
        for (int k = 0; k < HORIZONS; k++)
            if (!(after_t[k] >= before_t[k] - 1e-9 * before_t[k]))
                fail_msg("seed %d: %.9g t become %.9g t", (int)seed, before_t[k], after_t[k]);
    }
}

static void without_stops_the_line_runs_at_its_slowest_station(void **state)
{
    (void)state;
    for (uint64_t seed = 401; seed <= 440; seed++) {
        lines_line line;
        random_line(&line, seed, 2 + (int)(seed % 8), false);
        double slowest = INFINITY;
        for (int i = 0; i < line.machines; i++) {
            line.fail_per_h[i] = 0.0;
            slowest = fmin(slowest, line.speed[i]);
        }
        lines_describe(&line);
        efi_engine *engine = NULL;
        efi_trouble trouble;
        assert_int_equal(efi_engine_build(&line.network, NULL, &engine, &trouble), EF_OK);
        efi_engine_start(engine, seed, 0);
        assert_int_equal(efi_engine_run(engine, 1e4, &trouble), EF_OK);
        for (int i = 0; i < line.machines; i++)
            assert_near_relative(efi_engine_rate_tph(engine, lines_machine(&line, i)), slowest, 1e-12);
        efi_engine_free(engine);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_formulas_give_the_two_machine_table),
        cmocka_unit_test(random_two_machine_lines_meet_the_formulas),
        cmocka_unit_test(a_line_turned_round_makes_as_much),
        cmocka_unit_test(flow_is_what_availability_and_idle_time_leave),
        cmocka_unit_test(a_line_lies_between_its_bounds),
        cmocka_unit_test(more_bin_or_speed_never_makes_less_of_the_same_stops),
        cmocka_unit_test(without_stops_the_line_runs_at_its_slowest_station),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
