/* SPDX-License-Identifier: GPL-3.0-or-later
 * Every command that writes tables, once with decimal points and once with decimal commas, compared as
 * Python's csv reads them (tests/outside/csv_pairs.py). */
#include "base/base.h"

#include "../lib/files.h"
#include "../lib/python.h"
#include "../lib/skip.h"

#include <jansson.h>
#include <stdlib.h>

enum {
    MOST_ARGUMENTS = 20,
};

/* Runs the program with these arguments (NULL closes them), its tables going to `folder`. */
static void write_tables(const char *const *arguments, const char *option, const char *folder,
                         const char *comma)
{
    const char *command[MOST_ARGUMENTS + 4] = {program_path()};
    int count = 1;
    assert_non_null(command[0]);
    for (; *arguments; arguments++) {
        assert_true(count < MOST_ARGUMENTS);
        command[count++] = *arguments;
    }
    command[count++] = option;
    command[count++] = folder;
    command[count] = comma;
    command_result result = command_run(command, NULL);
    if (result.exit_code != 0)
        fail_msg("%s: %s", command[1], result.err);
    command_result_free(&result);
}

/* Numbers with decimals in the tables of a call, -1 without Python; fails where the two forms differ. */
static int compare(const char *const *arguments, const char *option, int least_files)
{
    char name[64];
    (void)snprintf(name, sizeof name, "%s-points", arguments[0]);
    char *points = scratch_path(name);
    (void)snprintf(name, sizeof name, "%s-commas", arguments[0]);
    char *commas = scratch_path(name);
    write_tables(arguments, option, points, NULL);
    write_tables(arguments, option, commas, "--decimal-comma");
    const char *const script[] = {"tests/outside/csv_pairs.py", points, commas, NULL};
    json_t *counts = python_json(script);
    int numbers = -1;
    if (counts) {
        assert_true(json_integer_value(json_object_get(counts, "files")) >= least_files);
        numbers = (int)json_integer_value(json_object_get(counts, "numbers"));
        json_decref(counts);
    }
    free(points);
    free(commas);
    return numbers;
}

#define COMPARE(option, files, ...) compare((const char *const[]){__VA_ARGS__, NULL}, option, files)

static void tables_differ_in_their_commas_alone(void **state)
{
    (void)state;
    const int numbers[] = {
        COMPARE("--csv", 7, "shift", "scenarios/examples/week-and-cost.yaml", "--runs", "2"),
        COMPARE("--csv", 4, "trace", "scenarios/examples/two-shifts.yaml", "--hours", "5 h"),
        COMPARE("--csv", 7, "season", "scenarios/seasons/cereal-seed.yaml", "--steps", "20"),
        COMPARE("--out", 20, "report", "scenarios/cereal-seed.yaml", "--csv", "--runs", "2", "--traces", "5",
                "--no-remedies"),
    };
    for (size_t i = 0; i < EF_COUNT(numbers); i++) {
        if (numbers[i] < 0)
            ef_test_skip("there is no python3");
        assert_true(numbers[i] > 20);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tables_differ_in_their_commas_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
