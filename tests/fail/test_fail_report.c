/* SPDX-License-Identifier: GPL-3.0-or-later
 * Writing a report with the n-th allocation failing, n = 1, 2, ... until all goes well: each failure comes
 * back as such, and nothing is lost. */
#include "../lib/bins.h"
#include "../lib/plants.h"
#include "../lib/short_memory.h"

#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

/* The page, then all tables; the first status that is not EF_OK. */
static ef_status report_all(const void *context)
{
    const ef_report_answers *answers = context;
    char *text = NULL;
    char *name = NULL;
    ef_status status = ef_report_html(answers, &text);
    for (int i = 0; status == EF_OK; i++) {
        ef_report_free(text);
        ef_report_free(name);
        text = name = NULL;
        status = ef_report_csv(answers, i, &name, &text);
    }
    return status == EF_NO_ANSWER ? EF_OK : status;
}

static void every_failed_allocation_comes_back(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(bins_small);
    ef_balance *balance = plant_balance(scenario, EF_OK);
    ef_bins_settings sizing = ef_bins_defaults();
    ef_shift_settings running = ef_shift_defaults();
    ef_bins *bins = NULL;
    ef_shift *shift = NULL;
    sizing.traces = 4;
    running.runs = 4;
    running.remedies = false;
    assert_int_equal(ef_bins_run(scenario, &sizing, &bins), EF_OK);
    assert_int_equal(ef_shift_run(scenario, &running, &shift, NULL), EF_OK);
    const ef_report_answers answers = {.plant = "Test",
                                       .scenario_file = "plant.yaml",
                                       .command = "evenfeed report plant.yaml",
                                       .balance = balance,
                                       .bins = bins,
                                       .shifts = (const ef_shift *const *)&shift,
                                       .shift_count = 1};
    assert_true(short_memory(report_all, &answers, 500, 400, 800) > 500);
    ef_shift_free(shift);
    ef_bins_free(bins);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_failed_allocation_comes_back)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
