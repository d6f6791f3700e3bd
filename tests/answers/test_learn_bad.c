/* SPDX-License-Identifier: GPL-3.0-or-later
 * tests/bad/logs: for each diagnostic name about logs the smallest log that shows it, NAME.csv, further forms
 * of the mistake, NAME-FORM.csv, and beside each the full text of its findings. All go with plant.yaml there.
 * With GOLDEN=write in the environment the texts are rewritten instead of compared. */
#include <evenfeed/learn.h>
#include <evenfeed/report.h>

#include "../lib/files.h"

#include <dirent.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define FOLDER "tests/bad/logs/"

enum {
    LONGEST_PATH = 300
};

static bool starts_with(const char *text, const char *start)
{
    return strncmp(text, start, strlen(start)) == 0;
}

/* Compares the text with what is expected, and shows it when it differs. */
static bool text_is_expected(const char *path, const char *text)
{
    const char *golden = getenv("GOLDEN");
    if (golden && strcmp(golden, "write") == 0) {
        file_write(path, text, strlen(text));
        return true;
    }
    char *expected = file_exists(path) ? file_read(path, NULL) : NULL;
    const bool same = expected && strcmp(expected, text) == 0;
    free(expected);
    if (!same)
        print_message("%s: found\n%s", path, text);
    return same;
}

/* Learns from one log; the only finding must have the name that the file begins with. */
static bool fixture_holds(const ef_scenario *scenario, const char *file)
{
    char path[LONGEST_PATH];
    char text_path[LONGEST_PATH];
    (void)snprintf(path, sizeof path, FOLDER "%s", file);
    (void)snprintf(text_path, sizeof text_path, FOLDER "%.*s.txt", (int)(strlen(file) - 4), file);
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
    bool holds = one && ef_diags_count(diags) == 1 && starts_with(file, one->name);
    if (!holds)
        print_message("%s: one finding is wanted, of the name that the file begins with\n%s", path, text);
    holds = holds && (one->severity == EF_ERROR ? EF_SCENARIO : EF_OK) == status &&
            (status == EF_OK) == !!learn;
    holds = text_is_expected(text_path, text) && holds;
    ef_report_free(text);
    ef_learn_free(learn);
    ef_diags_free(diags);
    free(bytes);
    return holds;
}

static void every_log_gives_its_one_finding_word_for_word(void **state)
{
    (void)state;
    ef_diags *diags = ef_diags_new();
    ef_scenario *scenario = NULL;
    assert_int_equal(ef_scenario_load(FOLDER "plant.yaml", NULL, 0, diags, &scenario), EF_OK);
    assert_int_equal(ef_diags_count(diags), 0);
    DIR *folder = opendir(FOLDER);
    assert_non_null(folder);
    int count = 0;
    int failed = 0;
    for (const struct dirent *entry = readdir(folder); entry; entry = readdir(folder)) {
        const size_t length = strlen(entry->d_name);
        if (length < 5 || strcmp(entry->d_name + length - 4, ".csv") != 0)
            continue;
        count++;
        failed += !fixture_holds(scenario, entry->d_name);
    }
    (void)closedir(folder);
    ef_scenario_free(scenario);
    ef_diags_free(diags);
    assert_true(count >= 30);
    assert_int_equal(failed, 0);
}

static void every_diagnostic_name_about_logs_has_a_log(void **state)
{
    (void)state;
    int missing = 0;
    const char *name;
    for (int i = 0; (name = ef_diag_name(i, NULL, NULL)) != NULL; i++) {
        char path[LONGEST_PATH];
        (void)snprintf(path, sizeof path, FOLDER "%s.csv", name);
        if (starts_with(name, "log-") && !file_exists(path)) {
            print_message("%s is missing\n", path);
            missing++;
        }
    }
    assert_int_equal(missing, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_log_gives_its_one_finding_word_for_word),
        cmocka_unit_test(every_diagnostic_name_about_logs_has_a_log),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
