/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scenarios.h"

#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static void show(const ef_diags *diags)
{
    char *text = NULL;
    assert_int_equal(ef_report_findings(diags, &text), EF_OK);
    print_message("%s", text);
    ef_report_free(text);
}

ef_scenario *scenario_good(const char *text)
{
    ef_diags *diags = ef_diags_new();
    assert_non_null(diags);
    ef_scenario *scenario = NULL;
    const ef_status status = ef_scenario_read("t.yaml", text, strlen(text), diags, &scenario);
    if (status != EF_OK)
        show(diags);
    ef_diags_free(diags);
    assert_int_equal(status, EF_OK);
    return scenario;
}

ef_diags *scenario_findings(const char *bytes, size_t length, ef_status expected)
{
    ef_diags *diags = ef_diags_new();
    assert_non_null(diags);
    ef_scenario *scenario = NULL;
    const ef_status status = ef_scenario_read("t.yaml", bytes, length, diags, &scenario);
    if (status != expected)
        show(diags);
    assert_int_equal(status, expected);
    assert_true((scenario != NULL) == (status == EF_OK));
    ef_scenario_free(scenario);
    return diags;
}

void findings_summary(const ef_diags *diags, char *lines, size_t room)
{
    size_t used = 0;
    lines[0] = '\0';
    for (int i = 0; i < ef_diags_count(diags); i++) {
        const ef_diag *diag = ef_diags_get(diags, i);
        const int length = snprintf(lines + used, room - used, "%d:%d-%d %s %s\n", diag->place.line,
                                    diag->place.column, diag->place.end_column, diag->name,
                                    diag->key ? diag->key : "-");
        assert_true(length > 0 && (size_t)length < room - used);
        used += (size_t)length;
    }
}
