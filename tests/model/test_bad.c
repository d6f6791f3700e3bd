/* SPDX-License-Identifier: GPL-3.0-or-later
 * tests/bad: for each diagnostic name the smallest scenario that shows it, NAME.yaml, further forms of the
 * mistake, NAME-FORM.yaml, and beside each the full text of its findings. With GOLDEN=write in the
 * environment (`make golden`) the texts are rewritten instead of compared. */
#include <evenfeed/report.h>
#include <evenfeed/scenario.h>

#include "../lib/files.h"
#include "../lib/fixtures.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define FOLDER "tests/bad/"

/* What these need is too long for a file, or no file; the tests below make it. Names that begin with log- are
 * about logs: tests/answers/test_learn_bad.c; with plan- about plans: tests/answers/test_season_plan.c. */
static const char *const generated[] = {"too-many", "setting-bad"};

static bool is_wanted(const char *name)
{
    for (size_t i = 0; i < sizeof generated / sizeof generated[0]; i++)
        if (strcmp(name, generated[i]) == 0)
            return false;
    return strncmp(name, "log-", 4) != 0 && strncmp(name, "plan-", 5) != 0;
}

/* The diagnostic name that a fixture is named for: the longest that it begins with. */
static const char *name_of(const char *fixture, ef_severity *severity)
{
    const char *found = NULL;
    ef_severity one;
    const char *name;
    for (int i = 0; (name = ef_diag_name(i, &one, NULL)) != NULL; i++) {
        const size_t length = strlen(name);
        if (strncmp(fixture, name, length) == 0 && (fixture[length] == '\0' || fixture[length] == '-') &&
            (!found || length > strlen(found))) {
            found = name;
            *severity = one;
        }
    }
    return found;
}

/* Reads one fixture; says what is wrong with what comes out, and returns whether nothing is. */
static bool fixture_holds(const void *context, const char *fixture)
{
    (void)context;
    char text_path[FIXTURES_PATH];
    fixture_path(text_path, FOLDER, fixture, ".txt");
    char path[FIXTURES_PATH];
    fixture_path(path, FOLDER, fixture, ".yaml");
    ef_severity severity = EF_ERROR;
    const char *name = name_of(fixture, &severity);
    ef_diags *diags = ef_diags_new();
    ef_scenario *scenario = NULL;
    char *text = NULL;
    const ef_status status = ef_scenario_load(path, NULL, 0, diags, &scenario);
    assert_int_equal(ef_report_findings(diags, &text), EF_OK);
    bool holds = fixture_text(text_path, text);
    const bool one = name && ef_diags_count(diags) == 1 && strcmp(ef_diags_get(diags, 0)->name, name) == 0;
    if (!one)
        print_message("%s: one finding is wanted, of the name that the file begins with\n%s", path, text);
    const bool ended = status == (severity == EF_ERROR ? EF_SCENARIO : EF_OK) &&
                       (status == EF_OK) == !!scenario;
    if (!ended)
        print_message("%s: status \"%s\"\n", path, ef_status_text(status));
    holds = holds && one && ended;
    ef_report_free(text);
    ef_scenario_free(scenario);
    ef_diags_free(diags);
    return holds;
}

static void every_diagnostic_name_has_a_fixture(void **state)
{
    (void)state;
    fixtures_are_there(FOLDER, ".yaml", is_wanted);
}

static void every_fixture_gives_its_one_finding_word_for_word(void **state)
{
    (void)state;
    fixtures_hold(FOLDER, ".yaml", 50, fixture_holds, NULL);
}

static void every_text_belongs_to_a_fixture(void **state)
{
    (void)state;
    char *names[FIXTURES_MOST] = {NULL};
    const int count = fixtures_list(FOLDER, ".txt", names);
    int orphans = 0;
    for (int i = 0; i < count; i++) {
        char path[FIXTURES_PATH];
        fixture_path(path, FOLDER, names[i], ".yaml");
        if (!file_exists(path)) {
            print_message("%s has no scenario\n", names[i]);
            orphans++;
        }
    }
    fixtures_free(names, count);
    assert_int_equal(orphans, 0);
}

/* A plant with `wrong` unknown keys and materials that only differ in case. */
static char *many_mistakes(int wrong, int alike)
{
    char *text = malloc((size_t)(wrong + alike) * 80 + 1000);
    assert_non_null(text);
    int used = sprintf(text, "evenfeed: 1\nplant:\n  name: Test\n");
    for (int i = 0; i < wrong; i++)
        used += sprintf(text + used, "  qqqqqq%d: 1\n", i);
    used += sprintf(text + used, "materials: {seed: {wanted: yes}}\n"
                                 "crops: {wheat: {receipt: {seed: 100 %%}}}\nstations:\n"
                                 "  Pit: {kind: intake, capacity: 40 t/h, to: Leg0}\n");
    for (int i = 0; i < alike; i++)
        used += sprintf(text + used, "  %s%d: {kind: elevator, capacity: 40 t/h, to: %s%d}\n",
                        i % 2 ? "leg" : "Leg", i / 2, (i + 1) % 2 ? "leg" : "Leg", (i + 1) / 2);
    (void)sprintf(text + used, "  %s%d: {kind: outlet, product: yes}\n", alike % 2 ? "leg" : "Leg",
                  alike / 2);
    return text;
}

static ef_status read_text(const char *text, ef_diags **diags)
{
    ef_scenario *scenario = NULL;
    *diags = ef_diags_new();
    const ef_status status = ef_scenario_read("many.yaml", text, strlen(text), *diags, &scenario);
    ef_scenario_free(scenario);
    return status;
}

static void the_200_errors_found_first_are_shown_and_the_others_counted_last(void **state)
{
    (void)state;
    char *text = many_mistakes(1234, 0);
    ef_diags *diags;
    assert_int_equal(read_text(text, &diags), EF_SCENARIO);
    assert_int_equal(ef_diags_count(diags), 201);
    assert_int_equal(ef_diags_count_of(diags, EF_ERROR), 200);
    assert_int_equal(ef_diags_get(diags, 0)->place.line, 4);
    assert_int_equal(ef_diags_get(diags, 199)->place.line, 203);
    const ef_diag *last = ef_diags_get(diags, 200);
    assert_string_equal(last->name, "too-many");
    assert_int_equal(last->severity, EF_WARNING);
    assert_string_equal(last->message, "1034 more findings are left out; mend these first");
    assert_string_equal(last->place.file, "many.yaml");
    assert_int_equal(last->place.line, 0);
    ef_diags_free(diags);
    free(text);
}

static void exactly_200_errors_are_not_too_many(void **state)
{
    (void)state;
    char *text = many_mistakes(200, 0);
    ef_diags *diags;
    assert_int_equal(read_text(text, &diags), EF_SCENARIO);
    assert_int_equal(ef_diags_count(diags), 200);
    ef_diags_free(diags);
    free(text);
}

static void many_warnings_do_not_make_a_scenario_bad(void **state)
{
    (void)state;
    char *text = many_mistakes(0, 600);
    ef_diags *diags;
    assert_int_equal(read_text(text, &diags), EF_OK);
    assert_int_equal(ef_diags_count_of(diags, EF_ERROR), 0);
    assert_int_equal(ef_diags_count(diags), 201);
    assert_string_equal(ef_diags_get(diags, 200)->message,
                        "100 more findings are left out; mend these first");
    ef_diags_free(diags);
    free(text);
}

static void a_list_full_from_one_file_still_tells_the_next_file_from_a_good_one(void **state)
{
    (void)state;
    char *text = many_mistakes(300, 0);
    char *good = many_mistakes(0, 0);
    char *bad = many_mistakes(1, 0);
    ef_diags *diags = ef_diags_new();
    ef_scenario *scenario = NULL;
    assert_int_equal(ef_scenario_read("a", text, strlen(text), diags, &scenario), EF_SCENARIO);
    assert_int_equal(ef_scenario_read("b", bad, strlen(bad), diags, &scenario), EF_SCENARIO);
    assert_null(scenario);
    assert_int_equal(ef_scenario_read("c", good, strlen(good), diags, &scenario), EF_OK);
    assert_non_null(scenario);
    ef_scenario_free(scenario);
    ef_diags_free(diags);
    free(text);
    free(good);
    free(bad);
}

static void a_setting_that_leads_nowhere_is_shown_as_it_was_typed(void **state)
{
    (void)state;
    const char *const settings[] = {"stations.Pit.capacity=9 t/h", "stations.Pti.capacity=9 t/h", "9 t/h"};
    ef_diags *diags = ef_diags_new();
    ef_scenario *scenario = NULL;
    assert_int_equal(ef_scenario_load(FOLDER "separates-nothing.yaml", settings, 3, diags, &scenario),
                     EF_SCENARIO);
    assert_null(scenario);
    assert_int_equal(ef_diags_count_of(diags, EF_ERROR), 2);
    char *text = NULL;
    assert_int_equal(ef_report_findings(diags, &text), EF_OK);
    assert_non_null(strstr(text, "--set: error: nothing is found at \"Pti.capacity\" in "
                                 "\"stations.Pti.capacity\" [setting-bad]\n"));
    assert_non_null(strstr(text, "--set: error: \"9 t/h\" is not a setting [setting-bad]\n"));
    ef_report_free(text);
    ef_diags_free(diags);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_diagnostic_name_has_a_fixture),
        cmocka_unit_test(every_fixture_gives_its_one_finding_word_for_word),
        cmocka_unit_test(every_text_belongs_to_a_fixture),
        cmocka_unit_test(the_200_errors_found_first_are_shown_and_the_others_counted_last),
        cmocka_unit_test(exactly_200_errors_are_not_too_many),
        cmocka_unit_test(many_warnings_do_not_make_a_scenario_bad),
        cmocka_unit_test(a_setting_that_leads_nowhere_is_shown_as_it_was_typed),
        cmocka_unit_test(a_list_full_from_one_file_still_tells_the_next_file_from_a_good_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
