/* SPDX-License-Identifier: GPL-3.0-or-later
 * Plan files: what the program writes is read as it was, what people and spreadsheets make of it too, and
 * what is wrong is said. tests/bad/plans holds for each diagnostic name about plans, and other mistakes, a
 * plan NAME.csv and beside it the full text of its findings; all go with plant.yaml there. With GOLDEN=write
 * in the environment the texts are rewritten instead of compared. */
#include "answers/season/season.h"
#include "base/memory.h"

#include "../lib/fixtures.h"
#include "../lib/scenarios.h"
#include "../lib/seasons.h"

#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#define FOLDER "tests/bad/plans/"

enum {
    DAY_S = 86400
};

static ef_scenario *plant(void)
{
    return plant_load_silent(FOLDER "plant.yaml");
}

/* Reads a plan that is right; the number of warnings goes to `warnings` unless that is NULL. */
static ef_season_plan *read_good(const ef_scenario *scenario, const char *bytes, size_t length, int *warnings)
{
    ef_diags *diags = ef_diags_new();
    ef_season_plan *plan = NULL;
    char *text = NULL;
    const ef_status status = ef_season_plan_read(scenario, "plan.csv", bytes, length, diags, &plan);
    assert_int_equal(ef_report_findings(diags, &text), EF_OK);
    if (status != EF_OK || (!warnings && ef_diags_count(diags) > 0))
        print_message("%s", text);
    assert_int_equal(status, EF_OK);
    if (warnings)
        *warnings = ef_diags_count(diags);
    else
        assert_int_equal(ef_diags_count(diags), 0);
    ef_report_free(text);
    ef_diags_free(diags);
    return plan;
}

/* "A B | C D": the lots of each line in order. */
static void check_order(const ef_scenario *scenario, const ef_season_plan *plan, const char *expected)
{
    char order[500] = "";
    for (int l = 0; l < plan->line_count; l++) {
        (void)snprintf(order + strlen(order), sizeof order - strlen(order), "%s", l ? "| " : "");
        for (int i = 0; i < plan->lines[l].count; i++)
            (void)snprintf(order + strlen(order), sizeof order - strlen(order), "%s ",
                           scenario->lots[plan->lines[l].lots[i].lot].name);
    }
    assert_string_equal(order, expected);
}

static void check_read(const char *bytes, size_t length, const char *expected)
{
    ef_scenario *scenario = plant();
    ef_season_plan *plan = read_good(scenario, bytes, length, NULL);
    check_order(scenario, plan, expected);
    ef_season_plan_free(plan);
    ef_scenario_free(scenario);
}

static void lot_and_line_are_enough(void **state)
{
    (void)state;
    static const char text[] = "lot,line\nB1,North\nW1,North\nW2,South\n-12,South\n";
    check_read(text, sizeof text - 1, "B1 W1 | W2 -12 ");
}

static void columns_may_stand_in_any_order(void **state)
{
    (void)state;
    static const char text[] = "Late [d],LINE,clean_down (h),Lot\n1,South,2,W1\n,South,,W2\n,North,,B1\n"
                               ",South,,'-12\n";
    check_read(text, sizeof text - 1, "B1 | W1 W2 -12 ");
}

/* As a spreadsheet of a country with decimal commas saves it: a byte order mark, semicolons, CR LF. */
static void a_spreadsheet_may_have_saved_it(void **state)
{
    (void)state;
    static const char text[] = "\xEF\xBB\xBFline;lot;tonnes;start;end;note\r\n"
                               "North;W1;60,0;07.09.2026 06:00;07.09.2026 21:15:00;\"first; then wait\"\r\n"
                               "South;W2;48,5;2026-09-07 12:30:00;;\r\n"
                               "South;B1;1.075;;;\r\n"
                               ";-12;30;;;\r\n";
    ef_scenario *scenario = plant();
    int warnings = 0;
    ef_season_plan *plan = read_good(scenario, text, sizeof text - 1, &warnings);
    assert_int_equal(warnings, 1); /* 1.075 t are not 75 t */
    check_order(scenario, plan, "W1 | W2 B1 ");
    assert_int_equal(plan->lines[0].lots[0].start, seasons_moment(0, 6));
    assert_int_equal(plan->lines[0].lots[0].end, seasons_moment(0, 21.25));
    assert_int_equal(plan->lines[1].lots[0].start, seasons_moment(0, 12.5));
    assert_int_equal(plan->lines[1].lots[0].end, EF_SEASON_NONE);
    ef_season_plan_free(plan);
    ef_scenario_free(scenario);
}

static void tabs_part_columns_too(void **state)
{
    (void)state;
    static const char text[] = "lot\tline\nW1\tSouth\nW2\tNorth\nB1\tNorth\n-12\tSouth";
    check_read(text, sizeof text - 1, "W2 B1 | W1 -12 ");
}

/* Lots without a line are to be planned; that is no finding. */
static void a_row_without_a_line_leaves_the_lot_to_be_planned(void **state)
{
    (void)state;
    static const char text[] = "lot,line\nB1,\nW1,North\nW2,\n-12,South\n";
    check_read(text, sizeof text - 1, "W1 | -12 ");
}

static void a_plant_of_one_line_needs_no_column_for_it(void **state)
{
    (void)state;
    static const char text[] = "lot\nW2\nW1\n";
    static const char with_line[] = "lot,line\nW2,line\nW1,\n";
    ef_scenario *scenario = plant_load_silent(FOLDER "one-line.yaml");
    ef_season_plan *plan = read_good(scenario, text, sizeof text - 1, NULL);
    check_order(scenario, plan, "W2 W1 ");
    ef_season_plan_free(plan);
    plan = read_good(scenario, with_line, sizeof with_line - 1, NULL);
    check_order(scenario, plan, "W2 ");
    ef_season_plan_free(plan);
    ef_scenario_free(scenario);
}

/* ---- what the program writes ----------------------------------------------------------------------------
 */

enum {
    LOTS = 4
};

/* A season of the lots of plant.yaml as a plan would have them. */
typedef struct written {
    ef_season season;
    ef_season_lot lots[LOTS];
    ef_season_run runs[LOTS];
    ef_season_line lines[2];
} written;

static void fill_lot(ef_season_lot *lot, const ef_scenario *scenario, int number)
{
    const efi_scenario_lot *from = &scenario->lots[number];
    const char *const *trait = from->trait;
    *lot = (ef_season_lot){.name = from->name,
                           .crop = scenario->crops[from->crop].name,
                           .variety = trait[EFI_LOT_VARIETY] ? trait[EFI_LOT_VARIETY] : "",
                           .seed_class = trait[EFI_LOT_CLASS] ? trait[EFI_LOT_CLASS] : "",
                           .note = from->note ? from->note : "",
                           .state = (ef_season_state)from->state,
                           .amount_t = from->amount_t.value,
                           .due = from->due.moment.given ? from->due.moment.value : EF_SEASON_NONE};
}

/* The lots in this order, the first `on_first` of them on the first line. */
static void fill(written *w, const ef_scenario *scenario, const int *order, int on_first)
{
    *w = (written){.lines = {{.name = "North", .last_rule = ""}, {.name = "South", .last_rule = ""}}};
    for (int i = 0; i < LOTS; i++) {
        fill_lot(&w->lots[i], scenario, i);
        w->runs[i] = (ef_season_run){.lot = order[i],
                                     .line = i < on_first ? 0 : 1,
                                     .rule = i % 2 ? "=new, \"crop\"" : "",
                                     .clean_h = i / 3.0,
                                     .late_days = i * 0.37,
                                     .start = seasons_moment(i, 6),
                                     .end = seasons_moment(i, 7.625),
                                     .raw = {-1},
                                     .finished = {-1}};
    }
    w->season = (ef_season){.plant = "",
                            .lots = w->lots,
                            .lot_count = LOTS,
                            .runs = w->runs,
                            .run_count = LOTS,
                            .lines = w->lines,
                            .line_count = 2};
}

/* The same plan with decimal commas is read as the same. */
static void check_with_comma(const ef_scenario *scenario, const ef_season_plan *plan, const char *text)
{
    char *other = NULL;
    assert_int_equal(ef_report_csv_with_comma(text, &other), EF_OK);
    assert_non_null(strchr(other, ';'));
    ef_season_plan *read = read_good(scenario, other, strlen(other), NULL);
    assert_int_equal(read->line_count, plan->line_count);
    for (int l = 0; l < plan->line_count; l++) {
        assert_int_equal(read->lines[l].count, plan->lines[l].count);
        for (int i = 0; i < plan->lines[l].count; i++) {
            assert_int_equal(read->lines[l].lots[i].lot, plan->lines[l].lots[i].lot);
            assert_int_equal(read->lines[l].lots[i].start, plan->lines[l].lots[i].start);
            assert_int_equal(read->lines[l].lots[i].end, plan->lines[l].lots[i].end);
        }
    }
    ef_season_plan_free(read);
    ef_report_free(other);
}

/* Written, read, and written again from what was read: the same bytes, and nothing to complain of. */
static void a_written_plan_is_read_as_it_was(void **state)
{
    (void)state;
    ef_scenario *scenario = plant();
    static const int orders[][LOTS] = {{0, 1, 2, 3}, {2, 0, 3, 1}, {1, 0, 2, 3}};
    for (int o = 0; o < 3; o++) {
        written w;
        char *text = NULL;
        char *again = NULL;
        fill(&w, scenario, orders[o], o + 1);
        assert_int_equal(ef_report_season_plan(&w.season, &text), EF_OK);
        ef_season_plan *plan = read_good(scenario, text, strlen(text), NULL);
        check_with_comma(scenario, plan, text);
        int r = 0;
        for (int l = 0; l < plan->line_count; l++) {
            for (int i = 0; i < plan->lines[l].count; i++) {
                const efi_plan_lot *lot = &plan->lines[l].lots[i];
                assert_int_equal(w.runs[r].lot, lot->lot);
                assert_int_equal(w.runs[r].line, l);
                assert_int_equal(w.runs[r].start, lot->start);
                assert_int_equal(w.runs[r].end, lot->end);
                w.runs[r].lot = lot->lot;
                w.runs[r].line = l;
                w.runs[r].start = lot->start;
                w.runs[r++].end = lot->end;
            }
        }
        assert_int_equal(r, LOTS);
        assert_int_equal(ef_report_season_plan(&w.season, &again), EF_OK);
        assert_string_equal(text, again);
        ef_report_free(text);
        ef_report_free(again);
        ef_season_plan_free(plan);
    }
    ef_scenario_free(scenario);
}

/* ---- mistakes -------------------------------------------------------------------------------------------
 */

static bool fixture_holds(const void *scenario, const char *name)
{
    char path[FIXTURES_PATH];
    char text_path[FIXTURES_PATH];
    fixture_path(path, FOLDER, name, ".csv");
    fixture_path(text_path, FOLDER, name, ".txt");
    ef_diags *diags = ef_diags_new();
    ef_season_plan *plan = NULL;
    char *text = NULL;
    const ef_status status = ef_season_plan_load(scenario, path, diags, &plan);
    assert_int_equal(ef_report_findings(diags, &text), EF_OK);
    bool holds = ef_diags_count(diags) > 0;
    holds = holds && status == (ef_diags_count_of(diags, EF_ERROR) > 0 ? EF_SCENARIO : EF_OK) &&
            (status == EF_OK) == (plan != NULL);
    for (int i = 0; strncmp(name, "plan-", 5) == 0 && i < ef_diags_count(diags); i++)
        holds = holds &&
                strncmp(name, ef_diags_get(diags, i)->name, strlen(ef_diags_get(diags, i)->name)) == 0;
    if (!holds)
        print_message("%s: a finding is wanted, and only of the name that the file begins with\n%s", path,
                      text);
    holds = fixture_text(text_path, text) && holds;
    ef_report_free(text);
    ef_season_plan_free(plan);
    ef_diags_free(diags);
    return holds;
}

static void every_wrong_plan_gives_its_findings_word_for_word(void **state)
{
    (void)state;
    ef_scenario *scenario = plant();
    fixtures_hold(FOLDER, ".csv", 7, fixture_holds, scenario);
    ef_scenario_free(scenario);
}

static bool is_about_plans(const char *name)
{
    return strncmp(name, "plan-", 5) == 0;
}

static void every_diagnostic_name_about_plans_has_a_plan(void **state)
{
    (void)state;
    fixtures_are_there(FOLDER, ".csv", is_about_plans);
}

static void a_file_that_is_not_there_is_no_plan(void **state)
{
    (void)state;
    ef_scenario *scenario = plant();
    ef_diags *diags = ef_diags_new();
    ef_season_plan *plan = NULL;
    assert_int_equal(ef_season_plan_load(scenario, FOLDER "nowhere", diags, &plan), EF_FILE);
    assert_null(plan);
    ef_season_plan_free(plan);
    ef_diags_free(diags);
    ef_scenario_free(scenario);
}

static void a_plan_is_read_or_memory_is_short(void **state)
{
    (void)state;
    static const char text[] = "lot,line,tonnes,due,start,extra\nW1,North,59,2026-09-08,2026-09-07T06:00,\n"
                               "\"W2\",South,48.5,,soon,\nB3,,,,,\n";
    ef_scenario *scenario = plant();
    bool failed = true;
    for (long n = 1; failed; n++) {
        ef_season_plan *plan = NULL;
        ef_diags *diags = ef_diags_new();
        (void)efi_memory_fail_at(n);
        const ef_status status = ef_season_plan_read(scenario, "p.csv", text, sizeof text - 1, diags, &plan);
        failed = efi_memory_fail_at(0) >= n;
        assert_int_equal(status, failed ? EF_MEMORY : EF_SCENARIO);
        assert_null(plan);
        ef_diags_free(diags);
    }
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lot_and_line_are_enough),
        cmocka_unit_test(columns_may_stand_in_any_order),
        cmocka_unit_test(a_spreadsheet_may_have_saved_it),
        cmocka_unit_test(tabs_part_columns_too),
        cmocka_unit_test(a_row_without_a_line_leaves_the_lot_to_be_planned),
        cmocka_unit_test(a_plant_of_one_line_needs_no_column_for_it),
        cmocka_unit_test(a_written_plan_is_read_as_it_was),
        cmocka_unit_test(every_wrong_plan_gives_its_findings_word_for_word),
        cmocka_unit_test(every_diagnostic_name_about_plans_has_a_plan),
        cmocka_unit_test(a_file_that_is_not_there_is_no_plan),
        cmocka_unit_test(a_plan_is_read_or_memory_is_short),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
