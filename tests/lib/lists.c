/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "lists.h"

#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

bool lists_verified(const ef_scenario *scenario, const ef_shift_lots *lots, bool shown)
{
    char *differences = NULL;
    const ef_status status = ef_shift_lots_verify(scenario, lots, &differences);
    assert_true(status == EF_OK || status == EF_INTERNAL);
    if (shown && status != EF_OK)
        print_error("%.2000s", differences);
    ef_report_free(differences);
    return status == EF_OK;
}

ef_shift_lots *lists_run(const ef_scenario *scenario, ef_shift_lots_settings settings)
{
    ef_shift_lots *lots;
    char *reason = NULL;
    const ef_status status = ef_shift_lots_run(scenario, &settings, &lots, &reason);
    if (status != EF_OK)
        print_error("status %d: %s\n", (int)status, reason ? reason : "");
    ef_report_free(reason);
    assert_int_equal(status, EF_OK);
    assert_true(lists_verified(scenario, lots, true));
    return lots;
}

ef_shift_lots_settings lists_quick(void)
{
    ef_shift_lots_settings settings = ef_shift_lots_defaults();
    settings.runs = 6;
    settings.threads = 1;
    return settings;
}

bool lists_trace_verified(const ef_scenario *scenario, const ef_trace *trace, bool shown)
{
    char *differences = NULL;
    const ef_status status = ef_trace_verify(scenario, trace, &differences);
    if (shown && status != EF_OK)
        print_error("%.2000s", differences ? differences : "");
    ef_report_free(differences);
    return status == EF_OK;
}

ef_trace *lists_trace(const ef_scenario *scenario, double hours)
{
    ef_trace_settings settings = ef_trace_defaults(scenario);
    ef_trace *trace = NULL;
    char *reason = NULL;
    settings.lots = true;
    settings.hours = hours;
    const ef_status status = ef_trace_run(scenario, &settings, &trace, &reason);
    if (status != EF_OK)
        print_error("status %d: %s\n", (int)status, reason ? reason : "");
    ef_report_free(reason);
    assert_int_equal(status, EF_OK);
    assert_true(lists_trace_verified(scenario, trace, true));
    return trace;
}
