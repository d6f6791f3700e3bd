/* SPDX-License-Identifier: GPL-3.0-or-later
 * tests/bad/logs: for each diagnostic name about logs the smallest log that shows it, NAME.csv, further forms
 * of the mistake, NAME-FORM.csv, and beside each the full text of its findings. All go with plant.yaml there.
 * With GOLDEN=write in the environment the texts are rewritten instead of compared. */
#include <evenfeed/learn.h>
#include <evenfeed/report.h>

#include "../lib/files.h"
#include "../lib/fixtures.h"
#include "../lib/scenarios.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define FOLDER "tests/bad/logs/"

static bool starts_with(const char *text, const char *start)
{
    return strncmp(text, start, strlen(start)) == 0;
}

/* Learns from one log; the only finding must have the name that the file begins with. */
static bool fixture_holds(const void *scenario, const char *name)
{
    char path[FIXTURES_PATH];
    char text_path[FIXTURES_PATH];
    fixture_path(path, FOLDER, name, ".csv");
    fixture_path(text_path, FOLDER, name, ".txt");
    char *bytes = file_read(path, NULL);
    ef_learn_settings settings = ef_learn_defaults();
    settings.resamples = 0;
    *(starts_with(bytes, "from,") ? &settings.totals : &settings.stops) = (ef_learn_file){.name = path};
    ef_diags *diags = ef_diags_new();
    ef_learn *learn = NULL;
    char *text = NULL;
    const ef_status status = ef_learn_solve(scenario, &settings, diags, &learn, NULL);
    assert_int_equal(ef_report_findings(diags, &text), EF_OK);
    const ef_diag *one = ef_diags_get(diags, 0);
    bool holds = one && ef_diags_count(diags) == 1 && starts_with(name, one->name);
    if (!holds)
        print_message("%s: one finding is wanted, of the name that the file begins with\n%s", path, text);
    holds = holds && (one->severity == EF_ERROR ? EF_SCENARIO : EF_OK) == status &&
            (status == EF_OK) == !!learn;
    holds = fixture_text(text_path, text) && holds;
    ef_report_free(text);
    ef_learn_free(learn);
    ef_diags_free(diags);
    free(bytes);
    return holds;
}

static void every_log_gives_its_one_finding_word_for_word(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load_silent(FOLDER "plant.yaml");
    fixtures_hold(FOLDER, ".csv", 30, fixture_holds, scenario);
    ef_scenario_free(scenario);
}

static bool is_about_logs(const char *name)
{
    return starts_with(name, "log-");
}

static void every_diagnostic_name_about_logs_has_a_log(void **state)
{
    (void)state;
    fixtures_are_there(FOLDER, ".csv", is_about_logs);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_log_gives_its_one_finding_word_for_word),
        cmocka_unit_test(every_diagnostic_name_about_logs_has_a_log),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
