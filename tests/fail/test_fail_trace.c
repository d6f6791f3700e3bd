/* SPDX-License-Identifier: GPL-3.0-or-later
 * A trace while the n-th allocation fails, n = 1, 2, ... until none does: a plant with a calendar, crews,
 * loads and recorded stops is read, run, verified and reported, or memory is short, and nothing leaks or is
 * changed. */
#include "base/memory.h"

#include "../lib/scenarios.h"

#include <evenfeed/report.h>
#include <evenfeed/trace.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static const char path[] = "scenarios/examples/two-shifts.yaml";

static void a_plant_with_a_table_of_stops_is_read_or_memory_is_short(void **state)
{
    (void)state;
    bool failed = true;
    for (long n = 1; failed; n++) {
        ef_diags *diags = ef_diags_new();
        ef_scenario *scenario = NULL;
        (void)efi_memory_fail_at(n);
        const ef_status status = ef_scenario_load(path, NULL, 0, diags, &scenario);
        failed = efi_memory_fail_at(0) >= n;
        assert_int_equal(status, failed ? EF_MEMORY : EF_OK);
        ef_scenario_free(scenario);
        ef_diags_free(diags);
    }
}

static void a_stretch_is_run_or_memory_is_short(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load(path);
    const ef_trace_settings settings = ef_trace_defaults(scenario);
    bool failed = true;
    long n = 1;
    for (; failed; n++) {
        ef_trace *const untouched = (ef_trace *)(uintptr_t)1;
        ef_trace *trace = untouched;
        char *reason = NULL;
        (void)efi_memory_fail_at(n);
        const ef_status status = ef_trace_run(scenario, &settings, &trace, &reason);
        failed = efi_memory_fail_at(0) >= n;
        assert_int_equal(status, failed ? EF_MEMORY : EF_OK);
        assert_null(reason);
        if (status == EF_OK)
            ef_trace_free(trace);
        else
            assert_ptr_equal(trace, untouched);
    }
    assert_true(n > 50);
    ef_scenario_free(scenario);
}

typedef ef_status report(const ef_trace *trace, char **text);

static ef_status text_of(const ef_trace *trace, char **text)
{
    return ef_report_trace_text(trace, EF_UNITS_METRIC, 40, text);
}

static void a_stretch_is_verified_and_reported_or_memory_is_short(void **state)
{
    (void)state;
    static report *const reports[] = {text_of, ef_report_trace_events_csv, ef_report_trace_stops_csv,
                                      ef_report_trace_levels_csv, ef_report_trace_feeds_csv};
    ef_scenario *scenario = plant_load(path);
    const ef_trace_settings settings = ef_trace_defaults(scenario);
    ef_trace *trace;
    assert_int_equal(ef_trace_run(scenario, &settings, &trace, NULL), EF_OK);
    for (size_t i = 0; i < sizeof reports / sizeof reports[0]; i++) {
        bool failed = true;
        for (long n = 1; failed; n++) {
            char *text = NULL;
            (void)efi_memory_fail_at(n);
            const ef_status status = reports[i](trace, &text);
            failed = efi_memory_fail_at(0) >= n;
            assert_int_equal(status, failed ? EF_MEMORY : EF_OK);
            ef_report_free(text);
        }
    }
    bool failed = true;
    for (long n = 1; failed; n++) {
        char *differences = NULL;
        (void)efi_memory_fail_at(n);
        const ef_status status = ef_trace_verify(scenario, trace, &differences);
        failed = efi_memory_fail_at(0) >= n;
        assert_int_equal(status, failed ? EF_MEMORY : EF_OK);
        assert_null(differences);
    }
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_plant_with_a_table_of_stops_is_read_or_memory_is_short),
        cmocka_unit_test(a_stretch_is_run_or_memory_is_short),
        cmocka_unit_test(a_stretch_is_verified_and_reported_or_memory_is_short),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
