/* SPDX-License-Identifier: GPL-3.0-or-later
 * Tables beside the scenario (`file:`) and values set on the command line: what they make of it, and what
 * they say when they cannot. */
#include "../lib/files.h"
#include "../lib/near.h"
#include "../lib/plants.h"

#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define EXACT 1e-9

/* Two crops and one deck; what stands under `stations` besides pit and outlet is up to the test. */
#define HEAD                                                                                                 \
    "evenfeed: 1\nplant: {name: Test}\nmaterials: {seed: {wanted: yes}, light: }\n"                          \
    "crops:\n  wheat: {receipt: {seed: 92 %, light: 8 %}}\n  spring barley: {receipt: {seed: 90 %, light: "  \
    "10 %}}\n"                                                                                               \
    "stations:\n"                                                                                            \
    "  Pit: {kind: intake, capacity: 60 t/h, to: Deck}\n"                                                    \
    "  Seed: {kind: outlet, product: yes}\n"
static const char with_table[] = HEAD "  file: table.csv\n  Deck: {kind: machine, to: Seed}\n";
static const char plain[] = HEAD "  Deck: {kind: machine, capacity: 9 t/h, to: Seed}\n";

/* The capacity that the answer gives a station, t/h. */
static double capacity_of(const ef_scenario *scenario, const char *crop, const char *station)
{
    ef_balance *balance = plant_balance(scenario, EF_OK);
    const double capacity = plant_station(plant_crop(balance, crop), station)->capacity;
    ef_balance_free(balance);
    return capacity;
}

/* Loads a scenario with its table (NULL: none is written) and settings; the findings as text in `*findings`,
 * freed with ef_report_free. NULL when there are errors. */
static ef_scenario *load(const char *yaml, const char *table, const char *const *settings, int count,
                         char **findings)
{
    char *scenario_path = scratch_path("plant.yaml");
    file_write(scenario_path, yaml, strlen(yaml));
    if (table) {
        char *table_path = scratch_path("table.csv");
        file_write(table_path, table, strlen(table));
        free(table_path);
    }
    ef_diags *diags = ef_diags_new();
    ef_scenario *scenario = NULL;
    const ef_status status = ef_scenario_load(scenario_path, settings, count, diags, &scenario);
    assert_true(status == EF_OK || status == EF_SCENARIO);
    assert_int_equal(ef_report_findings(diags, findings), EF_OK);
    ef_diags_free(diags);
    free(scenario_path);
    return scenario;
}

static ef_scenario *load_good(const char *yaml, const char *table, const char *const *settings, int count)
{
    char *findings;
    ef_scenario *scenario = load(yaml, table, settings, count, &findings);
    if (!scenario)
        (void)fprintf(stderr, "%s", findings);
    ef_report_free(findings);
    assert_non_null(scenario);
    return scenario;
}

/* Loading must fail, and say this. */
static void check_refused(const char *yaml, const char *table, const char *setting, const char *expected)
{
    char *findings;
    ef_scenario *scenario = load(yaml, table, &setting, setting ? 1 : 0, &findings);
    assert_null(scenario);
    if (!strstr(findings, expected))
        (void)fprintf(stderr, "expected: %s\nfound:\n%s", expected, findings);
    assert_non_null(strstr(findings, expected));
    ef_report_free(findings);
}

static void check_table(const char *table, double wheat_tph, double barley_tph)
{
    ef_scenario *scenario = load_good(with_table, table, NULL, 0);
    assert_near_relative(capacity_of(scenario, "wheat", "Deck"), wheat_tph, EXACT);
    assert_near_relative(capacity_of(scenario, "spring barley", "Deck"), barley_tph, EXACT);
    ef_scenario_free(scenario);
}

/* ---- tables ---------------------------------------------------------------------------------------------
 */

static void a_row_adds_to_the_block_of_its_name(void **state)
{
    (void)state;
    check_table("station,capacity,note\nDeck,8 t/h,rebuilt\n", 8.0, 8.0);
}

static void a_table_of_one_value_for_each_station_is_no_list_of_values(void **state)
{
    (void)state;
    check_table("station,capacity [t/h]\nDeck,8\n", 8.0, 8.0);
}

/* Loading must fail with these findings in the table and no others; they come last. */
static void check_all(const char *table, const char *expected)
{
    char *findings;
    ef_scenario *scenario = load(with_table, table, NULL, 0, &findings);
    assert_null(scenario);
    char *path = scratch_path("");
    for (char *at = strstr(findings, path); at; at = strstr(findings, path))
        memmove(at, at + strlen(path), strlen(at + strlen(path)) + 1);
    const char *of_table = strstr(findings, "table.csv");
    assert_non_null(of_table);
    assert_string_equal(of_table, expected);
    free(path);
    ef_report_free(findings);
}

static void a_wrong_heading_is_told_once(void **state)
{
    (void)state;
    char *findings;
    assert_null(
        load(with_table, "station,capacity [t/h],leest feed [t/h]\nDeck,8,1\nSeed,,2\n", NULL, 0, &findings));
    const char *told = strstr(findings, "the heading \"leest feed\" means nothing here [key-unknown]\n"
                                        "    1 | station,capacity [t/h],leest feed [t/h]\n"
                                        "      |                        ^^^^^^^^^^^^^^^^\n");
    assert_non_null(told);
    assert_non_null(strstr(told, "\n  likely:  least feed\n1 error, 1 warning\n"));
    assert_null(strstr(told + 1, "the heading"));
    ef_report_free(findings);
}

static void a_wrong_crop_in_a_heading_is_told_once(void **state)
{
    (void)state;
    check_all(
        "station,capacity.wheat [t/h],capacity.sprung barley [t/h]\nDeck,8,7\nX,8,8\n",
        "table.csv:1:30: error: stations.Deck.capacity.sprung barley: no crop is called \"sprung "
        "barley\" [name-unknown]\n"
        "    1 | station,capacity.wheat [t/h],capacity.sprung barley [t/h]\n"
        "      |                              ^^^^^^^^^^^^^^^^^^^^^^^^^^^^\n"
        "  allowed: spring barley, wheat\n"
        "  likely:  spring barley\n"
        "table.csv:3:1: error: stations.X: the scenario has nothing called \"X\" under stations, and for "
        "something new the row lacks \"kind\" [name-unknown]\n"
        "    3 | X,8,8\n"
        "      | ^\n"
        "  allowed: a name that stands in the scenario, or a column \"kind\"\n"
        "2 errors\n");
}

static void a_misspelt_row_is_told_with_the_name_that_was_meant(void **state)
{
    (void)state;
    check_all(
        "station,capacity [t/h],note\nDeck,8,x\nSeeed,9,\n",
        "table.csv:3:1: error: stations.Seeed: the scenario has nothing called \"Seeed\" under stations, "
        "and for something new the row lacks \"kind\" [name-unknown]\n"
        "    3 | Seeed,9,\n"
        "      | ^^^^^\n"
        "  allowed: a name that stands in the scenario, or a column \"kind\"\n"
        "  likely:  Seed\n"
        "1 error\n");
}

static void a_column_that_does_not_fit_a_row_is_told_at_its_cell(void **state)
{
    (void)state;
    check_refused(with_table, "station,capacity [t/h],note\nDeck,8,x\nSeed,9,\n", NULL,
                  "table.csv:3:6: error: stations.Seed.capacity: \"capacity\" does not go with a station of "
                  "kind \"outlet\"");
    check_refused(with_table, "station,capacity [t/h],least feed.wheat [t/h]\nDeck,8,9\n", NULL,
                  "table.csv:2:8: error: stations.Deck.least feed");
}

static void a_unit_in_the_heading_goes_with_bare_numbers_only(void **state)
{
    (void)state;
    check_table("station,capacity [kg/h],note\nDeck,8000,x\n", 8.0, 8.0);
    check_table("station,capacity [kg/h],note\nDeck,8 t/h,x\n", 8.0, 8.0);
    check_table("station,capacity[ t/h ],note\nDeck,8.5,x\n", 8.5, 8.5);
}

static void a_heading_with_dots_leads_into_blocks(void **state)
{
    (void)state;
    check_table("station,capacity.wheat [t/h],capacity.spring barley [t/h]\nDeck,8,6.5\n", 8.0, 6.5);
    check_table("station,capacity.wheat [t/h],capacity.other crops [kg/h]\nDeck,8,6500\n", 8.0, 6.5);
}

static void semicolons_tabs_quotes_and_marks_of_spreadsheets_are_taken(void **state)
{
    (void)state;
    check_table("station;capacity.wheat [t/h];capacity.spring barley [t/h]\r\nDeck;8;6.5\r\n", 8.0, 6.5);
    check_table("station\tcapacity [t/h]\tcount\nDeck\t8\t2\n", 16.0, 16.0);
    check_table("\xEF\xBB\xBFstation,capacity,note\n\"Deck\",\"8 t/h\",\"one, or \"\"so\"\"\"\n", 8.0, 8.0);
}

static void empty_cells_are_left_out(void **state)
{
    (void)state;
    check_table("station,capacity [t/h],least feed [t/h],note\nDeck,8,,\n", 8.0, 8.0);
}

static void rows_of_other_names_are_new_stations(void **state)
{
    (void)state;
    ef_scenario *scenario = load_good(
        HEAD "  file: table.csv\n",
        "station,kind,capacity,to\nDeck,machine,8 t/h,Leg\nLeg,elevator,7 t/h,Seed\n", NULL, 0);
    assert_int_equal(ef_scenario_stations(scenario), 4);
    assert_near_relative(capacity_of(scenario, "wheat", "Leg"), 7.0, EXACT);
    ef_scenario_free(scenario);
}

/* A receipt as a table of materials and shares. */
static void two_columns_are_keys_and_values(void **state)
{
    (void)state;
    ef_scenario *scenario = load_good(
        "evenfeed: 1\nplant: {name: Test}\nmaterials: {seed: {wanted: yes}, light: }\n"
        "crops: {wheat: {receipt: {file: table.csv}}}\nstations:\n"
        "  Pit: {kind: intake, capacity: 60 t/h, to: Seed}\n  Seed: {kind: outlet, product: yes}\n",
        "material,share\nseed,rest\nlight,12.5 %\n", NULL, 0);
    ef_balance *balance = plant_balance(scenario, EF_OK);
    assert_near_relative(balance->crops[0].purity, 0.875, EXACT);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

static void what_stands_in_both_is_an_error_that_names_both_places(void **state)
{
    (void)state;
    static const char both[] = HEAD "  file: table.csv\n  Deck: {kind: machine, capacity: 9 t/h, to: Seed}\n";
    char *findings;
    assert_null(load(both, "station,capacity,note\nDeck,8 t/h,x\n", NULL, 0, &findings));
    assert_non_null(strstr(findings, "[key-twice]"));
    assert_non_null(strstr(findings, "table.csv:1:9:"));
    assert_non_null(strstr(findings, "plant.yaml:11:"));
    ef_report_free(findings);
}

static void a_wrong_value_is_marked_in_the_table(void **state)
{
    (void)state;
    check_refused(with_table, "station,capacity,note\nDeck,fast,x\n", NULL, "table.csv:2:6: error");
    check_refused(with_table, "station,capacity,note\nDeck,8,x\n", NULL, "[unit-missing]");
    check_refused(with_table, "station,capacity [kWh],note\nDeck,8,x\n", NULL, "[unit-unfit]");
    check_refused(with_table, "station,capacity [t/h],note\nDeck,\"8,5\",x\n", NULL, "table.csv:2:6: error");
    check_refused(with_table, "station,capacity [t/h],speed\nDeck,8,x\n", NULL, "[key-unknown]");
}

static void a_row_longer_than_the_heading_is_refused(void **state)
{
    (void)state;
    check_refused(with_table, "station,capacity,note\nDeck,8 t/h,x,y\n", NULL, "table.csv:2:14: error");
}

static void a_table_that_is_not_there_is_told_where_it_is_named(void **state)
{
    (void)state;
    check_refused(HEAD "  file: nowhere.csv\n  Deck: {kind: machine, capacity: 9 t/h, to: Seed}\n", NULL,
                  NULL, "plant.yaml:10:9: error: stations.file: ");
}

static void a_scenario_that_comes_from_no_file_has_none_beside_it(void **state)
{
    (void)state;
    ef_diags *diags = ef_diags_new();
    ef_scenario *scenario = NULL;
    assert_int_equal(ef_scenario_read("t", with_table, strlen(with_table), diags, &scenario), EF_SCENARIO);
    assert_null(scenario);
    assert_string_equal(ef_diags_get(diags, 0)->name, "file-unread");
    ef_diags_free(diags);
}

/* ---- settings -------------------------------------------------------------------------------------------
 */

static void check_set(const char *setting, double wheat_tph, double barley_tph)
{
    ef_scenario *scenario = load_good(plain, NULL, &setting, 1);
    assert_near_relative(capacity_of(scenario, "wheat", "Deck"), wheat_tph, EXACT);
    assert_near_relative(capacity_of(scenario, "spring barley", "Deck"), barley_tph, EXACT);
    ef_scenario_free(scenario);
}

static void a_setting_replaces_a_value(void **state)
{
    (void)state;
    check_set("stations.Deck.capacity=8 t/h", 8.0, 8.0);
}

static void a_setting_may_be_a_block_in_braces(void **state)
{
    (void)state;
    check_set("stations.Deck.capacity={wheat: 8 t/h, other crops: 6 t/h}", 8.0, 6.0);
}

static void a_setting_adds_a_key(void **state)
{
    (void)state;
    check_set("stations.Deck.count=3", 27.0, 27.0);
}

static void settings_apply_in_order_and_build_on_each_other(void **state)
{
    (void)state;
    static const char *const settings[] = {"stations.Deck.capacity={wheat: 8 t/h, spring barley: 5 t/h}",
                                           "stations.Deck.capacity.spring barley=6 t/h",
                                           "stations.Deck.count=1", "stations.Deck.count=2"};
    ef_scenario *scenario = load_good(plain, NULL, settings, 4);
    assert_near_relative(capacity_of(scenario, "wheat", "Deck"), 16.0, EXACT);
    assert_near_relative(capacity_of(scenario, "spring barley", "Deck"), 12.0, EXACT);
    ef_scenario_free(scenario);
}

static void names_with_dots_and_blanks_are_found(void **state)
{
    (void)state;
    static const char dotted[] = HEAD "  No. 1 deck: {kind: machine, capacity: 9 t/h, to: Seed}\n"
                                      "  Deck: {kind: machine, capacity: 9 t/h, to: No. 1 deck}\n";
    static const char *const settings[] = {"stations.No. 1 deck.capacity=7 t/h"};
    ef_scenario *scenario = load_good(dotted, NULL, settings, 1);
    assert_near_relative(capacity_of(scenario, "wheat", "No. 1 deck"), 7.0, EXACT);
    ef_scenario_free(scenario);
}

static void a_setting_reaches_what_came_from_a_table(void **state)
{
    (void)state;
    static const char *const settings[] = {"stations.Deck.capacity=5 t/h"};
    ef_scenario *scenario = load_good(with_table, "station,capacity,note\nDeck,8 t/h,x\n", settings, 1);
    assert_near_relative(capacity_of(scenario, "wheat", "Deck"), 5.0, EXACT);
    ef_scenario_free(scenario);
}

static void a_setting_is_checked_like_the_file(void **state)
{
    (void)state;
    check_refused(plain, NULL, "stations.Deck.capacity=8", "[unit-missing]");
    check_refused(plain, NULL, "stations.Deck.capacity=8", "--set:1:1: error: stations.Deck.capacity");
    check_refused(plain, NULL, "stations.Deck.speed=8", "[key-unknown]");
    check_refused(plain, NULL, "stations.Deck.to=Nowhere", "[name-unknown]");
    check_refused(plain, NULL, "stations.Deck.capacity={wheat: 8 t/h", "--set:1");
}

/* ---- scenarios beside a scenario ------------------------------------------------------------------------
 */

/* Writes `other` as other.yaml beside, then loads a scenario that names it. */
static ef_scenario *load_with(const char *yaml, const char *other, char **findings)
{
    char *path = scratch_path("other.yaml");
    file_write(path, other, strlen(other));
    free(path);
    return load(yaml, "station,capacity [t/h]\nDeck,8\n", NULL, 0, findings);
}

static void check_with(const char *yaml, const char *other, double wheat_tph)
{
    char *findings;
    ef_scenario *scenario = load_with(yaml, other, &findings);
    if (!scenario)
        (void)fprintf(stderr, "%s", findings);
    ef_report_free(findings);
    assert_non_null(scenario);
    assert_near_relative(capacity_of(scenario, "wheat", "Deck"), wheat_tph, EXACT);
    assert_string_equal(ef_scenario_plant(scenario), "Mine");
    ef_scenario_free(scenario);
}

/* Refused with these words. */
static void check_refused_with(const char *yaml, const char *other, const char *expected)
{
    char *findings;
    ef_scenario *scenario = load_with(yaml, other, &findings);
    if (!strstr(findings, expected))
        (void)fprintf(stderr, "expected: %s\nfound:\n%s", expected, findings);
    assert_null(scenario);
    assert_non_null(strstr(findings, expected));
    ef_report_free(findings);
}

static void another_scenario_gives_what_this_one_does_not_say(void **state)
{
    (void)state;
    check_with("file: other.yaml\nplant: {name: Mine}\n", plain, 9.0);
    check_with("plant: {name: Mine}\nfile: other.yaml\nstations: {Deck: {capacity: 7 t/h}}\n", plain, 7.0);
}

/* The other scenario has a table of its own beside it. */
static void the_other_scenario_may_have_tables_too(void **state)
{
    (void)state;
    check_with("file: other.yaml\nplant: {name: Mine}\n", with_table, 8.0);
}

static void a_block_may_stand_in_a_file_of_its_own(void **state)
{
    (void)state;
    check_with("evenfeed: 1\nplant: {name: Mine}\nmaterials: {seed: {wanted: yes}}\n"
               "crops: {wheat: {receipt: {seed: 100 %}}}\nstations:\n  file: other.yaml\n",
               "Pit: {kind: intake, capacity: 60 t/h, to: Deck}\nDeck: {kind: machine, capacity: 5 t/h, to: "
               "Seed}\nSeed: {kind: outlet, product: yes}\n",
               5.0);
}

static void what_is_wrong_there_is_told_there(void **state)
{
    (void)state;
    static const char mine[] = "file: other.yaml\nplant: {name: Mine}\n";
    check_refused_with(mine, HEAD "  Deck: {kind: machine, capacity: 9, to: Seed}\n",
                       "other.yaml:10:35: error: stations.Deck.capacity: \"9\" has no unit");
    check_refused_with(mine, HEAD "  Deck: {kind: machine, capacity: 9 t/h, capacity: 8 t/h, to: Seed}\n",
                       "other.yaml:10:42: error: stations.Deck.capacity");
    check_refused_with(mine, "- a list\n", "the file holds no keys [file-unread]");
    check_refused_with(mine, "plant: {name: [\n", "[yaml-syntax]");
}

static void files_that_name_one_another_are_refused(void **state)
{
    (void)state;
    check_refused_with("file: other.yaml\nplant: {name: Mine}\n", "file: other.yaml\n",
                       "files that name one another without an end [file-unread]");
}

static void a_setting_that_leads_nowhere_is_refused(void **state)
{
    (void)state;
    check_refused(plain, NULL, "stations.Dekc.capacity=8 t/h", "[setting-bad]");
    check_refused(plain, NULL, "stations.Deck.capacity", "[setting-bad]");
    check_refused(plain, NULL, "=8 t/h", "[setting-bad]");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_row_adds_to_the_block_of_its_name),
        cmocka_unit_test(a_table_of_one_value_for_each_station_is_no_list_of_values),
        cmocka_unit_test(a_wrong_heading_is_told_once),
        cmocka_unit_test(a_wrong_crop_in_a_heading_is_told_once),
        cmocka_unit_test(a_misspelt_row_is_told_with_the_name_that_was_meant),
        cmocka_unit_test(a_column_that_does_not_fit_a_row_is_told_at_its_cell),
        cmocka_unit_test(a_unit_in_the_heading_goes_with_bare_numbers_only),
        cmocka_unit_test(a_heading_with_dots_leads_into_blocks),
        cmocka_unit_test(semicolons_tabs_quotes_and_marks_of_spreadsheets_are_taken),
        cmocka_unit_test(empty_cells_are_left_out),
        cmocka_unit_test(rows_of_other_names_are_new_stations),
        cmocka_unit_test(two_columns_are_keys_and_values),
        cmocka_unit_test(what_stands_in_both_is_an_error_that_names_both_places),
        cmocka_unit_test(a_wrong_value_is_marked_in_the_table),
        cmocka_unit_test(a_row_longer_than_the_heading_is_refused),
        cmocka_unit_test(a_table_that_is_not_there_is_told_where_it_is_named),
        cmocka_unit_test(a_scenario_that_comes_from_no_file_has_none_beside_it),
        cmocka_unit_test(a_setting_replaces_a_value),
        cmocka_unit_test(a_setting_may_be_a_block_in_braces),
        cmocka_unit_test(a_setting_adds_a_key),
        cmocka_unit_test(settings_apply_in_order_and_build_on_each_other),
        cmocka_unit_test(names_with_dots_and_blanks_are_found),
        cmocka_unit_test(a_setting_reaches_what_came_from_a_table),
        cmocka_unit_test(a_setting_is_checked_like_the_file),
        cmocka_unit_test(a_setting_that_leads_nowhere_is_refused),
        cmocka_unit_test(another_scenario_gives_what_this_one_does_not_say),
        cmocka_unit_test(the_other_scenario_may_have_tables_too),
        cmocka_unit_test(a_block_may_stand_in_a_file_of_its_own),
        cmocka_unit_test(what_is_wrong_there_is_told_there),
        cmocka_unit_test(files_that_name_one_another_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
