/* SPDX-License-Identifier: GPL-3.0-or-later
 * Sizing, verifying and reporting bins with the n-th allocation failing, n = 1, 2, ... until all goes well:
 * each failure comes back as such, and nothing is lost. */
#include "../lib/bins.h"
#include "../lib/short_memory.h"

#include <evenfeed/bins.h>
#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

typedef struct call {
    const ef_scenario *scenario;
    const ef_bins_settings *settings;
} call;

/* Everything once; the first status that is not EF_OK. */
static ef_status run_all(const void *context)
{
    const call *of = context;
    ef_bins *bins = NULL;
    char *text = NULL;
    ef_status status = ef_bins_run(of->scenario, of->settings, &bins);
    if (status != EF_OK)
        return status;
    status = ef_bins_verify(of->scenario, bins, &text);
    if (status == EF_OK || status == EF_INTERNAL)
        ef_report_free(text);
    if (status == EF_OK)
        status = ef_report_bins_text(bins, EF_UNITS_METRIC, &text);
    if (status == EF_OK) {
        ef_report_free(text);
        status = ef_report_bins_json(bins, &text);
    }
    if (status == EF_OK)
        ef_report_free(text);
    ef_bins_free(bins);
    return status;
}

static void every_failed_allocation_comes_back(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(bins_small);
    ef_bins_settings settings = ef_bins_defaults();
    settings.traces = 2;
    settings.shifts = 1;
    settings.threads = 1;
    settings.with_receipts = true;
    const call of = {.scenario = scenario, .settings = &settings};
    /* all of the first, then every so many: a run takes milliseconds */
    assert_true(short_memory(run_all, &of, 100, 400, 400) > 200);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_failed_allocation_comes_back)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
