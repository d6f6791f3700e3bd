/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scenarios.h"

#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static void show(const ef_diags *diags, const char *text)
{
    char *findings = NULL;
    if (ef_report_findings(diags, &findings) == EF_OK)
        (void)fprintf(stderr, "%s\n%s", text, findings); /* print_error cuts long words */
    ef_report_free(findings);
}

/* Fails the running test, showing what was found, unless the scenario could be read. Frees the findings. */
static void must_be_read(ef_status status, ef_diags *diags, const char *text)
{
    if (status != EF_OK)
        show(diags, text);
    ef_diags_free(diags);
    assert_int_equal(status, EF_OK);
}

ef_scenario *plant_read(const char *text)
{
    ef_diags *diags = ef_diags_new();
    assert_non_null(diags);
    ef_scenario *scenario = NULL;
    must_be_read(ef_scenario_read("plant.yaml", text, strlen(text), diags, &scenario), diags, text);
    return scenario;
}

ef_scenario *plant_read_stations(const char *stations, const char *rest)
{
    char text[4096];
    const int length = snprintf(text, sizeof text,
                                "evenfeed: 1\n"
                                "plant: {name: Test}\n"
                                "materials: {seed: {wanted: yes}}\n"
                                "crops: {wheat: {density: 0.8 t/m3, receipt: {seed: rest}}}\n"
                                "stations:\n%s%s",
                                stations, rest);
    assert_true(length > 0 && (size_t)length < sizeof text);
    return plant_read(text);
}

ef_scenario *plant_load(const char *path)
{
    ef_diags *diags = ef_diags_new();
    assert_non_null(diags);
    ef_scenario *scenario = NULL;
    must_be_read(ef_scenario_load(path, NULL, 0, diags, &scenario), diags, path);
    return scenario;
}

ef_scenario *plant_load_silent(const char *path)
{
    ef_diags *diags = ef_diags_new();
    assert_non_null(diags);
    ef_scenario *scenario = NULL;
    const ef_status status = ef_scenario_load(path, NULL, 0, diags, &scenario);
    const int count = ef_diags_count(diags);
    if (count > 0)
        show(diags, path);
    ef_diags_free(diags);
    assert_int_equal(status, EF_OK);
    assert_int_equal(count, 0);
    return scenario;
}

ef_diags *scenario_findings(const char *bytes, size_t length, ef_status expected)
{
    ef_diags *diags = ef_diags_new();
    assert_non_null(diags);
    ef_scenario *scenario = NULL;
    const ef_status status = ef_scenario_read("t.yaml", bytes, length, diags, &scenario);
    if (status != expected)
        show(diags, "t.yaml");
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
