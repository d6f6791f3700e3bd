/* SPDX-License-Identifier: GPL-3.0-or-later
 * The event engine against a model of the same line in SimPy 3 (Debian: python3-simpy3 or python3-simpy), a
 * general-purpose library for discrete-event simulation. Judged by z scores of batch means. Skipped, and
 * counted as such, where it is not installed. */
#include "../lib/lines.h"
#include "../lib/simpy.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>
#include <math.h>

static double measure(const efi_engine *engine, const void *context, int metric, double hours)
{
    const lines_line *line = context;
    efi_account account;
    if (metric == 0) {
        efi_engine_read(engine, lines_machine(line, line->machines - 1), &account);
        return account.in_t / hours;
    }
    efi_engine_read(engine, lines_bin(line, metric - 1), &account);
    return account.level_th / hours;
}

static void a_line_of_five_agrees_with_a_model_in_simpy(void **state)
{
    (void)state;
    static const double speed_tph[5] = {12.0, 11.0, 10.0, 11.0, 12.0}; /* as in the script */
    lines_line line = {.machines = 5};
    for (int i = 0; i < 5; i++) {
        line.speed[i] = speed_tph[i];
        line.fail_per_h[i] = 1.0 / 8.0;
        line.repair_per_h[i] = 1.0 / 0.4;
        line.bin[i] = 2.5;
        line.start[i] = 1.25;
    }
    lines_describe(&line);
    const lines_batches batches = {4000, 200.0, 200.0};
    double mean[SIMPY_METRICS];
    double error[SIMPY_METRICS];
    lines_run(&line.network, 1, &batches, measure, &line, SIMPY_METRICS, mean, error);
    lines_scores scores = {0};
    for (int seed = 1; seed <= 4; seed++) {
        simpy_result result;
        if (!simpy_run(seed, 300, 200.0, &result)) {
            print_message("no python3 with SimPy\n");
            skip();
        }
        for (int m = 0; m < SIMPY_METRICS; m++)
            lines_judge(&scores, "SimPy", m == 0 ? "throughput" : "mean level", mean[m],
                        hypot(error[m], result.error[m]), result.mean[m]);
        assert_true(fabs(result.mean[0] - mean[0]) <= 0.005 * mean[0]);
    }
    assert_int_equal(scores.cases, 4 * SIMPY_METRICS);
    assert_true(lines_scores_good(&scores));
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_line_of_five_agrees_with_a_model_in_simpy)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
