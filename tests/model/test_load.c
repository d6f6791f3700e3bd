/* SPDX-License-Identifier: GPL-3.0-or-later
 * Reading a file as a whole: what is found in one pass, in which order, at which places, under any locale. */
#include "../lib/comma_locale.h"
#include "../lib/files.h"
#include "../lib/scenarios.h"
#include "../lib/skip.h"

#include <evenfeed/report.h>
#include <evenfeed/scenario.h>

#include <errno.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define GOOD                                                                                                 \
    "evenfeed: 1\n"                                                                                          \
    "plant: {name: Test}\n"                                                                                  \
    "materials: {seed: {wanted: yes}}\n"                                                                     \
    "crops: {wheat: {receipt: {seed: 100 %}}}\n"                                                             \
    "stations:\n"                                                                                            \
    "  Pit: {kind: intake, capacity: 40 t/h, to: Shed}\n"                                                    \
    "  Shed: {kind: outlet, product: yes}\n"

/* Compares the findings of a text, as lines, with what is expected. */
static void expect_findings(const char *text, const char *expected)
{
    ef_diags *diags = scenario_findings(text, strlen(text), EF_SCENARIO);
    char lines[4096];
    findings_summary(diags, lines, sizeof lines);
    ef_diags_free(diags);
    assert_string_equal(lines, expected);
}

static void mistakes_of_all_kinds_come_in_one_pass_in_the_order_of_the_file(void **state)
{
    (void)state;
    expect_findings("evenfeed: 1\n"
                    "plant: {name: Test, shift length: 8}\n"
                    "materials: {seed: {wanted: yes}, chaff: , seed: }\n"
                    "crops:\n"
                    "  wheat: {recipt: {seed: 95 %, chaff: 2 %}}\n"
                    "  barley: {receipt: {seed: rest, stones: 1 %}}\n"
                    "stations:\n"
                    "  Pit: {kind: intake, capacity: 40 tons/h, to: Cleaner}\n"
                    "  Cleaner:\n"
                    "    kind: air-screen cleaner\n"
                    "    capacity: {wheat: 12 t/h, barley: 0 t/h}\n"
                    "    discharges:\n"
                    "      dust: {takes: {chaff: 90}, to: Dust}\n"
                    "      seed: {takes: {seed: 100 %}, to: Shde}\n"
                    "  Dust: {kind: outlet}\n"
                    "  Shed: {kind: outlet, product: yes, colour: red}\n",
                    "2:35-36 unit-missing plant.shift length\n"
                    "3:43-47 key-twice materials.seed\n"
                    "5:11-17 key-unknown crops.wheat.recipt\n"
                    "5:11-17 receipt-sum crops.wheat.receipt\n"
                    "6:34-40 name-unknown crops.barley.receipt.stones\n"
                    "8:36-40 unit-unknown stations.Pit.capacity\n"
                    "11:39-44 out-of-range stations.Cleaner.capacity.barley\n"
                    "13:29-31 share-bad stations.Cleaner.discharges.dust.takes.chaff\n"
                    "14:40-44 name-unknown stations.Cleaner.discharges.seed.to\n"
                    "16:38-44 key-unknown stations.Shed.colour\n");
}

static void a_syntax_error_half_way_still_shows_what_was_wrong_before_it(void **state)
{
    (void)state;
    expect_findings("evenfeed: 1\n"
                    "plant: {name: Test, shift length: 8}\n"
                    "materials: {seed: {wanted: maybe}}\n"
                    "crops: {wheat: {receipt: {seed: 100 %}}\n"
                    "stations:\n"
                    "  Pit: {kind: intake, capacity: 40 t/h, to: Shed}\n",
                    "2:35-36 unit-missing plant.shift length\n"
                    "3:28-33 value-unknown materials.seed.wanted\n"
                    "4:8-9 yaml-syntax -\n");
}

static void nothing_is_said_to_be_missing_behind_a_syntax_error(void **state)
{
    (void)state;
    expect_findings("evenfeed: 1\nplant:\n  name: Test\nmaterials\ncrops: {wheat: {receipt: {seed: rest}}}\n",
                    "4:1-2 yaml-syntax -\n");
}

static void one_misspelt_station_hides_no_other_mistake(void **state)
{
    (void)state;
    expect_findings("evenfeed: 1\n"
                    "plant: {name: Test}\n"
                    "materials: {seed: {wanted: yes}}\n"
                    "crops: {wheat: {receipt: {seed: 50 %}}}\n"
                    "stations:\n"
                    "  Pit: {kind: intake, capacity: 40 t/h, to: Leg}\n"
                    "  Leg 1: {kind: elevator, capacity: 40, to: Shed}\n"
                    "  Scale: {kind: weigher, capacity: 40 t/h}\n"
                    "  Shed: {kind: outlet, product: yes}\n",
                    "4:17-24 receipt-sum crops.wheat.receipt\n"
                    "6:45-48 name-unknown stations.Pit.to\n"
                    "7:37-39 unit-missing stations.Leg 1.capacity\n"
                    "8:3-8 way-missing stations.Scale\n");
}

static void carets_stand_under_the_culprit_also_behind_wide_characters(void **state)
{
    (void)state;
    const char text[] = "evenfeed: 1\n"
                        "plant: {name: Test}\n"
                        "materials: {种子: {wanted: yes}}\n"
                        "crops: {小麦: {receipt: {种子: 100 %}}}\n"
                        "stations:\n"
                        "  料斗: {kind: intake, capacity: 40, to: 仓库}\n"
                        "  仓: {kind: outlet, product: yes}\n";
    ef_diags *diags = scenario_findings(text, strlen(text), EF_SCENARIO);
    char *report = NULL;
    assert_int_equal(ef_report_findings(diags, &report), EF_OK);
    ef_diags_free(diags);
    assert_string_equal(
        report,
        "t.yaml:6:32: error: stations.料斗.capacity: \"40\" has no unit [unit-missing]\n"
        "    6 |   料斗: {kind: intake, capacity: 40, to: 仓库}\n"
        "      |                                  ^^\n"
        "  allowed: t/h, kg/h, lb/h, short_ton/h, bu/h with a trade weight, m3/h, l/min, ft3/h, ft3/min\n"
        "  likely:  40 t/h\n"
        "t.yaml:6:40: error: stations.料斗.to: no station is called \"仓库\" [name-unknown]\n"
        "    6 |   料斗: {kind: intake, capacity: 40, to: 仓库}\n"
        "      |                                          ^^^^\n"
        "  allowed: 仓, 料斗\n"
        "  likely:  a line for \"仓库\" under stations\n"
        "2 errors\n");
    ef_report_free(report);
}

static void tabs_before_the_culprit_stay_tabs_above_the_caret(void **state)
{
    (void)state;
    const char text[] = "evenfeed:\t1\nplant: {name: Test}\nmaterials: {seed: {wanted:\tperhaps}}\n";
    ef_diags *diags = scenario_findings(text, strlen(text), EF_SCENARIO);
    char *report = NULL;
    assert_int_equal(ef_report_findings(diags, &report), EF_OK);
    ef_diags_free(diags);
    assert_non_null(strstr(report, "    3 | materials: {seed: {wanted:\tperhaps}}\n"
                                   "      |                           \t^^^^^^^\n"));
    ef_report_free(report);
}

/* A copy of `text` with CR LF line ends, behind a byte order mark. */
static char *as_from_another_system(const char *text)
{
    char *copy = calloc(2 * strlen(text) + 4, 1);
    assert_non_null(copy);
    char *out = copy;
    memcpy(out, "\xEF\xBB\xBF", 3);
    out += 3;
    for (const char *in = text; *in; in++) {
        if (*in == '\n')
            *out++ = '\r';
        *out++ = *in;
    }
    return copy;
}

static void line_ends_and_byte_order_mark_change_no_finding(void **state)
{
    (void)state;
    const char bad[] =
        "evenfeed: 1\nplant: {name: Test, shift length: 8}\nmaterials:\n  seed: {wanted: yes}\n"
        "  chaff:\ncrops:\n  wheat:\n    receipt:\n      seed: 50 %\n      chaff: 2 %\n";
    ef_diags *plain = scenario_findings(bad, strlen(bad), EF_SCENARIO);
    char *copy = as_from_another_system(bad);
    ef_diags *other = scenario_findings(copy, strlen(copy), EF_SCENARIO);
    free(copy);
    char *plain_text = NULL;
    char *other_text = NULL;
    assert_int_equal(ef_report_findings(plain, &plain_text), EF_OK);
    assert_int_equal(ef_report_findings(other, &other_text), EF_OK);
    assert_int_equal(ef_diags_count(plain), 3);
    assert_string_equal(other_text, plain_text);
    ef_report_free(plain_text);
    ef_report_free(other_text);
    ef_diags_free(plain);
    ef_diags_free(other);
    copy = as_from_another_system(GOOD);
    ef_scenario_free(plant_read(copy));
    free(copy);
}

static void comments_quoted_names_and_blank_lines_are_part_of_a_good_file(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        "# a plant\n\n---\nevenfeed: \"1\" # the version\nplant:\n  name: 'Shed \"A\"'\n"
        "materials:\n  \"seed, sound\": {wanted: yes}\n"
        "crops:\n  'wheat: winter': {receipt: {\"seed, sound\": 100 %}}\n"
        "stations:\n  Pit 1: {kind: intake, capacity: \"40 t/h\", to: '#2'}\n"
        "  '#2': {kind: outlet, product: yes}\n...\n");
    assert_string_equal(ef_scenario_plant(scenario), "Shed \"A\"");
    assert_int_equal(ef_scenario_crops(scenario), 1);
    assert_int_equal(ef_scenario_stations(scenario), 2);
    assert_int_equal(ef_scenario_materials(scenario), 1);
    assert_string_equal(ef_scenario_crop(scenario, 0), "wheat: winter");
    assert_null(ef_scenario_crop(scenario, 1));
    assert_null(ef_scenario_crop(scenario, -1));
    assert_int_equal(ef_scenario_find_crop(scenario, "wheat: winter"), 0);
    assert_int_equal(ef_scenario_find_crop(scenario, "wheat"), -1);
    ef_scenario_free(scenario);
    ef_scenario_free(NULL);
}

static void a_key_given_twice_is_found_among_a_thousand(void **state)
{
    (void)state;
    char *text = malloc(200000);
    assert_non_null(text);
    int used = sprintf(text, "evenfeed: 1\nplant: {name: Test}\nmaterials: {seed: {wanted: yes}}\n"
                             "crops: {wheat: {receipt: {seed: 100 %%}}}\nstations:\n");
    for (int i = 0; i < 1000; i++)
        used += sprintf(text + used, "  Bin %d: {kind: bin, to: Shed}\n", i);
    (void)sprintf(text + used, "  Bin 500: {kind: bin, to: Shed}\n  Shed: {kind: outlet, product: yes}\n"
                               "  Pit: {kind: intake, capacity: 9 t/h, to: Shed}\n");
    ef_diags *diags = scenario_findings(text, strlen(text), EF_SCENARIO);
    free(text);
    assert_int_equal(ef_diags_count(diags), 1);
    const ef_diag *diag = ef_diags_get(diags, 0);
    assert_string_equal(diag->name, "key-twice");
    assert_int_equal(diag->place.line, 1006);
    assert_int_equal(diag->second.line, 506);
    ef_diags_free(diags);
}

static void findings_are_the_same_under_a_comma_locale(void **state)
{
    (void)state;
    const char bad[] = "evenfeed: 1\nplant: {name: Test, shift length: 8.5}\n"
                       "materials: {seed: {wanted: yes}}\n"
                       "crops: {wheat: {density: 77.5 t/m3, receipt: {seed: 97.5 %}}}\n";
    ef_diags *plain = scenario_findings(bad, strlen(bad), EF_SCENARIO);
    char *plain_text = NULL;
    assert_int_equal(ef_report_findings(plain, &plain_text), EF_OK);
    ef_diags_free(plain);
    if (!comma_locale_begin()) {
        ef_report_free(plain_text);
        ef_test_skip("no locale with a decimal comma, and localedef cannot make one");
    }
    ef_diags *comma = scenario_findings(bad, strlen(bad), EF_SCENARIO);
    char *comma_text = NULL;
    assert_int_equal(ef_report_findings(comma, &comma_text), EF_OK);
    comma_locale_end();
    ef_diags_free(comma);
    assert_string_equal(comma_text, plain_text);
    ef_report_free(comma_text);
    ef_report_free(plain_text);
}

static void a_file_reads_like_its_bytes_and_is_named_in_the_findings(void **state)
{
    (void)state;
    char *path = scratch_path("mine.yaml");
    file_write(path, GOOD, strlen(GOOD));
    ef_diags *diags = ef_diags_new();
    ef_scenario *scenario = NULL;
    assert_int_equal(ef_scenario_load(path, NULL, 0, diags, &scenario), EF_OK);
    assert_string_equal(ef_scenario_plant(scenario), "Test");
    ef_scenario_free(scenario);
    scenario = NULL;
    file_write(path, "evenfeed: 2\n", 12);
    assert_int_equal(ef_scenario_load(path, NULL, 0, diags, &scenario), EF_SCENARIO);
    assert_null(scenario);
    assert_string_equal(ef_diags_get(diags, 0)->place.file, path);
    ef_diags_free(diags);
    free(path);
}

static void a_file_that_cannot_be_read_says_why_in_errno(void **state)
{
    (void)state;
    ef_diags *diags = ef_diags_new();
    ef_scenario *scenario = NULL;
    assert_int_equal(ef_scenario_load("tests/no such file.yaml", NULL, 0, diags, &scenario), EF_FILE);
    assert_int_equal(errno, ENOENT);
    assert_int_equal(ef_scenario_load("tests", NULL, 0, diags, &scenario), EF_FILE);
    assert_int_equal(errno, EISDIR);
    assert_null(scenario);
    assert_int_equal(ef_diags_count(diags), 0);
    ef_diags_free(diags);
}

static void every_text_of_a_finding_is_kept_when_the_scenario_is_gone(void **state)
{
    (void)state;
    const char bad[] = "evenfeed: 1\nplant: {name: Test, surge rule: 15}\n";
    ef_diags *diags = scenario_findings(bad, strlen(bad), EF_SCENARIO);
    const ef_diag *diag = ef_diags_get(diags, 3);
    assert_string_equal(diag->place.file, "t.yaml");
    assert_string_equal(diag->key, "plant.surge rule");
    assert_string_equal(diag->found, "15");
    assert_string_equal(diag->excerpt, "plant: {name: Test, surge rule: 15}");
    assert_string_equal(diag->likely, "15 h");
    assert_null(ef_diags_get(diags, 4));
    assert_null(ef_diags_get(diags, -1));
    ef_diags_free(diags);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(mistakes_of_all_kinds_come_in_one_pass_in_the_order_of_the_file),
        cmocka_unit_test(a_syntax_error_half_way_still_shows_what_was_wrong_before_it),
        cmocka_unit_test(nothing_is_said_to_be_missing_behind_a_syntax_error),
        cmocka_unit_test(one_misspelt_station_hides_no_other_mistake),
        cmocka_unit_test(carets_stand_under_the_culprit_also_behind_wide_characters),
        cmocka_unit_test(tabs_before_the_culprit_stay_tabs_above_the_caret),
        cmocka_unit_test(line_ends_and_byte_order_mark_change_no_finding),
        cmocka_unit_test(comments_quoted_names_and_blank_lines_are_part_of_a_good_file),
        cmocka_unit_test(a_key_given_twice_is_found_among_a_thousand),
        cmocka_unit_test(findings_are_the_same_under_a_comma_locale),
        cmocka_unit_test(a_file_reads_like_its_bytes_and_is_named_in_the_findings),
        cmocka_unit_test(a_file_that_cannot_be_read_says_why_in_errno),
        cmocka_unit_test(every_text_of_a_finding_is_kept_when_the_scenario_is_gone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
