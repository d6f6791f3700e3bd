/* SPDX-License-Identifier: GPL-3.0-or-later
 * What is printed of a season made by hand: the work order, the plan file, tables, JSON, the calendar file.
 * Texts are compared with tests/report/season/; with GOLDEN=write in the environment they are rewritten. */
#include "base/base.h"
#include "base/memory.h"
#include "report/season_view.h"

#include "../lib/fixtures.h"
#include "../lib/seasons.h"

#include <evenfeed/report.h>
#include <jansson.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#define FOLDER "tests/report/season/"

enum {
    CHART_WIDTH = 100,
    LINE_OCTETS = 75
};

static void check_golden(const char *name, char *text)
{
    char path[FIXTURES_PATH];
    fixture_path(path, FOLDER, name, "");
    assert_true(fixture_text(path, text));
    ef_report_free(text);
}

static char *text_of(const ef_season *season, ef_units units)
{
    char *text = NULL;
    assert_int_equal(ef_report_season_text(season, units, &text), EF_OK);
    return text;
}

static void the_work_order_reads_as_it_should(void **state)
{
    (void)state;
    check_golden("work-order.txt", text_of(seasons_by_hand(), EF_UNITS_METRIC));
    check_golden("work-order-us.txt", text_of(seasons_by_hand(), EF_UNITS_US));
}

static void trouble_stands_before_the_order_of_work(void **state)
{
    (void)state;
    char *text = text_of(seasons_by_hand(), EF_UNITS_METRIC);
    const char *const parts[] = {"Do not follow",        "Trouble first", "North: order of work",
                                 "South: order of work", "week by week",  "Costs in EUR"};
    const char *at = text;
    for (size_t i = 0; i < EF_COUNT(parts); i++) {
        const char *next = strstr(at, parts[i]);
        if (!next)
            print_message("%s does not come\n", parts[i]);
        assert_non_null(next);
        at = next;
    }
    ef_report_free(text);
}

/* A season with nothing wrong says so, and has no table of trouble. */
static void a_season_without_trouble_says_so(void **state)
{
    (void)state;
    ef_season season = *seasons_by_hand();
    ef_season_run run = season.runs[0];
    season.runs = &run;
    season.run_count = 1;
    season.forbidden = season.late_lots = season.wet_lots = season.roomless_lots = season.moved_lots = 0;
    season.has_previous = false;
    season.gap_share = 0.0;
    season.end = run.end;
    char *text = text_of(&season, EF_UNITS_METRIC);
    assert_non_null(
        strstr(text, "The lot is run by Mon 2026-09-07 11:00: no lot is late, and all find room."));
    assert_non_null(strstr(text, "and no plan costs less"));
    assert_null(strstr(text, "Trouble"));
    assert_null(strstr(text, "moved"));
    ef_report_free(text);
    season.run_count = 0;
    text = text_of(&season, EF_UNITS_METRIC);
    assert_non_null(strstr(text, "There is nothing left to run."));
    ef_report_free(text);
}

/* Where words stand in a text that holds them. */
static size_t offset_of(const char *text, const char *words)
{
    const char *at = strstr(text, words);
    assert_non_null(at);
    return at ? (size_t)(at - text) : 0;
}

/* More lots in trouble than the table has room for: the others are named below it. */
static void no_lot_in_trouble_is_left_out(void **state)
{
    (void)state;
    enum {
        MANY = 60
    };
    ef_season season = *seasons_by_hand();
    static ef_season_lot lots[MANY];
    static ef_season_run runs[MANY];
    static char names[MANY][16];
    for (int i = 0; i < MANY; i++) {
        (void)snprintf(names[i], sizeof names[i], "L%02d", i);
        lots[i] = season.lots[3];
        lots[i].name = names[i];
        runs[i] = season.runs[3];
        runs[i].lot = runs[i].place = i;
        runs[i].late_days = i % 2 ? 2.5 : 0.0;
        runs[i].late_cost = i % 2 ? 100.0 + i : 0.0;
        runs[i].held_by = EF_SEASON_HELD_BY_NOTHING;
    }
    season.lots = lots;
    season.runs = runs;
    season.lot_count = season.run_count = MANY;
    char *text = NULL;
    assert_int_equal(ef_report_season_text(&season, EF_UNITS_METRIC, &text), EF_OK);
    const size_t order = offset_of(text, "North: order of work");
    for (int i = 0; i < MANY; i++)
        assert_true((offset_of(text, names[i]) < order) == (i % 2 == 1));
    assert_non_null(strstr(text, "10 more: L19 late by 2.5 d; L17 late by 2.5 d"));
    ef_report_free(text);
}

static void a_given_order_is_priced_beside_ours(void **state)
{
    (void)state;
    ef_season season = *seasons_by_hand();
    season.kept_order = season.has_ours = true;
    season.ours = season.cost;
    season.ours.term[EF_SEASON_CLEANING] = 400.5;
    season.ours.total = 872.0;
    char *text = text_of(&season, EF_UNITS_METRIC);
    assert_non_null(strstr(text, "The best order found by search costs 872.00 EUR"));
    assert_non_null(strstr(text, "clean-downs         455.50  400.50       55.00"));
    assert_non_null(strstr(text, "together            927.00  872.00       55.00"));
    ef_report_free(text);
}

/* Counts the lines of the chart in a text, none of which may be wider than a terminal or end in a blank. */
static int check_chart(const char *text)
{
    const char *line = strstr(text, "The season week by week");
    int lines = 0;
    assert_non_null(line);
    for (; line && strncmp(line, "  Costs in EUR", 14) != 0 && *line; lines++) {
        const char *end = strchr(line, '\n');
        if (!end) {
            fail_msg("a line does not end: %s", line);
            return 0;
        }
        assert_true(end - line <= CHART_WIDTH);
        assert_true(end == line || end[-1] != ' ');
        line = end + 1;
    }
    return lines;
}

static void the_chart_fits_a_terminal(void **state)
{
    (void)state;
    char *text = text_of(seasons_by_hand(), EF_UNITS_METRIC);
    assert_int_equal(check_chart(text), 2 + 2 * 4 + 1);
    ef_report_free(text);
}

/* A plant that works every day: ten signs a day, still within the width. */
static void a_week_of_seven_days_fits_too(void **state)
{
    (void)state;
    ef_season season = *seasons_by_hand();
    const ef_season_stretch always[] = {{0, season.from, season.end, EF_SEASON_SHIFT},
                                        {1, season.from, season.end, EF_SEASON_OVERTIME_TIME}};
    season.stretches = always;
    season.stretch_count = 2;
    char *text = text_of(&season, EF_UNITS_METRIC);
    assert_non_null(strstr(text, "Sun 09-13"));
    assert_true(check_chart(text) >= 2 + 2 * 4 + 1);
    ef_report_free(text);
}

static void a_day_that_begins_with_cleaning_is_drawn(void **state)
{
    (void)state;
    ef_season season = *seasons_by_hand();
    const ef_season_stretch day[] = {{0, season.from, season.from + 3600, EF_SEASON_DAILY_CLEAN}};
    season.stretches = day;
    season.stretch_count = 1;
    char *text = NULL;
    assert_int_equal(ef_report_season_svg(&season, 0, EF_UNITS_METRIC, &text), EF_OK);
    assert_non_null(strstr(text, ">daily cleaning<"));
    ef_report_free(text);
}

static void the_plan_and_the_tables_are_as_written(void **state)
{
    (void)state;
    char *text = NULL;
    assert_int_equal(ef_report_season_plan(seasons_by_hand(), &text), EF_OK);
    check_golden("plan.csv", text);
    for (int t = 0; ef_report_season_table(t); t++) {
        assert_int_equal(ef_report_season_csv(seasons_by_hand(), t, &text), EF_OK);
        check_golden(ef_report_season_table(t), text);
    }
    assert_null(ef_report_season_table(-1));
}

static void the_calendar_file_is_as_written(void **state)
{
    (void)state;
    char *text = NULL;
    assert_int_equal(ef_report_season_ics(seasons_by_hand(), EF_UNITS_METRIC, &text), EF_OK);
    check_golden("season.ics", text);
}

/* RFC 5545, 3.1: lines end with CR LF and have at most 75 octets; a character is never parted. */
static void lines_of_the_calendar_file_are_folded(void **state)
{
    (void)state;
    char *text = NULL;
    int folded = 0;
    assert_int_equal(ef_report_season_ics(seasons_by_hand(), EF_UNITS_METRIC, &text), EF_OK);
    for (const char *at = text; *at;) {
        const char *end = strstr(at, "\r\n");
        assert_non_null(end);
        assert_true(end - at <= LINE_OCTETS);
        assert_true(end > at);
        for (const char *c = at; c < end; c++)
            assert_true(*c != '\n' && *c != '\r');
        const unsigned char first = (unsigned char)at[*at == ' ' ? 1 : 0];
        assert_true((first & 0xC0u) != 0x80u);
        folded += *at == ' ';
        at = end + 2;
    }
    assert_true(folded > 10);
    ef_report_free(text);
}

static double number_of(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    assert_true(json_is_number(value));
    return json_number_value(value);
}

static const char *word_of(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    assert_true(json_is_string(value));
    return json_string_value(value);
}

/* Read back by jansson: every lot, run and store, and moments as they are. */
static void the_json_holds_everything(void **state)
{
    (void)state;
    const ef_season *season = seasons_by_hand();
    char *text = NULL;
    assert_int_equal(ef_report_season_json(season, &text), EF_OK);
    json_error_t error;
    json_t *root = json_loads(text, JSON_REJECT_DUPLICATES, &error);
    assert_non_null(root);
    assert_int_equal(json_array_size(json_object_get(root, "lots")), season->lot_count);
    const json_t *lines = json_object_get(root, "lines");
    assert_int_equal(json_array_size(lines), season->line_count);
    size_t runs = 0;
    for (size_t l = 0; l < json_array_size(lines); l++)
        runs += json_array_size(json_object_get(json_array_get(lines, l), "runs"));
    assert_int_equal(runs, season->run_count);
    const json_t *second = json_array_get(json_object_get(json_array_get(lines, 0), "runs"), 1);
    assert_string_equal(word_of(second, "lot"), "W2, north; field");
    assert_string_equal(word_of(second, "start"), "2026-09-07T12:30");
    assert_string_equal(word_of(second, "end"), "2026-09-08T08:37:30");
    assert_true(number_of(second, "chance_late_share") == 0.034);
    assert_true(number_of(json_object_get(second, "clean_down"), "cost") == 75.5);
    assert_int_equal(json_array_size(json_object_get(second, "from_stores")), 2);
    const json_t *third = json_array_get(json_object_get(json_array_get(lines, 0), "runs"), 2);
    assert_true(json_is_null(json_object_get(third, "chance_late_share")));
    const json_t *peas = json_array_get(json_object_get(root, "lots"), 4);
    assert_true(json_is_null(json_object_get(peas, "due")));
    assert_true(number_of(json_object_get(root, "cost"), "together") == 927.0);
    assert_true(number_of(root, "gap_share") == 0.546925566343);
    assert_int_equal(json_array_size(json_object_get(root, "stores")), season->store_count);
    assert_int_equal(json_array_size(json_object_get(root, "no_room")), 1);
    json_decref(root);
    ef_report_free(text);
}

/* On a page the season is drawn too, by lines and by stores. */
static void a_paper_with_pictures_has_both(void **state)
{
    (void)state;
    efi_paper paper = {.with_pictures = true};
    int season = 0;
    int stores = 0;
    efi_season_paper(&paper, seasons_by_hand(), EF_UNITS_METRIC);
    assert_false(paper.failed);
    for (int i = 0; i < paper.part_count; i++) {
        if (paper.parts[i].kind != EFI_PART_PICTURE)
            continue;
        assert_non_null(strstr(paper.parts[i].svg, "<svg"));
        season += strncmp(paper.parts[i].name, "season", 6) == 0;
        stores += strncmp(paper.parts[i].name, "stores", 6) == 0;
    }
    assert_true(season >= 1 && season < 20);
    assert_true(stores >= 1 && stores < 20);
    efi_paper_free(&paper);
}

/* ---- a lot that might come ------------------------------------------------------------------------------
 */

static ef_season_answer answer_by_hand(ef_season *season, const ef_season_offer *offers, int count)
{
    return (ef_season_answer){.crop = "barley",
                              .amount_t = 120.0,
                              .arrives = EF_SEASON_NONE,
                              .due = EF_SEASON_NONE,
                              .season = season,
                              .cheapest = offers[0],
                              .earliest = offers[count - 1],
                              .offers = offers,
                              .offer_count = count};
}

static void the_answer_to_when_reads_as_it_should(void **state)
{
    (void)state;
    ef_season season = *seasons_by_hand();
    const ef_season_offer offers[] = {{.line = 0,
                                       .place = 4,
                                       .behind = "B2",
                                       .start = seasons_moment(4, 10),
                                       .end = seasons_moment(8, 12),
                                       .cost = 210.5},
                                      {.line = 1,
                                       .place = 0,
                                       .behind = "",
                                       .start = seasons_moment(0, 7),
                                       .end = seasons_moment(1, 20),
                                       .cost = 480.0,
                                       .others_cost = 300.0,
                                       .others_late = 2}};
    const ef_season_answer answer = answer_by_hand(&season, offers, 2);
    char *text = NULL;
    assert_int_equal(ef_report_when_text(&answer, EF_UNITS_METRIC, &text), EF_OK);
    check_golden("when.txt", text);
    assert_int_equal(ef_report_when_json(&answer, &text), EF_OK);
    json_error_t error;
    json_t *root = json_loads(text, JSON_REJECT_DUPLICATES, &error);
    assert_non_null(root);
    assert_int_equal(json_array_size(json_object_get(root, "offers")), 2);
    const json_t *earliest = json_object_get(root, "earliest");
    assert_true(number_of(earliest, "cost_to_others") == 300.0);
    assert_string_equal(word_of(earliest, "start"), "2026-09-07T07:00");
    assert_true(json_is_null(json_object_get(earliest, "behind")));
    json_decref(root);
    ef_report_free(text);
}

static void an_answer_without_a_place_says_so(void **state)
{
    (void)state;
    ef_season season = *seasons_by_hand();
    const ef_season_offer none = {.behind = ""};
    ef_season_answer answer = answer_by_hand(&season, &none, 1);
    answer.offer_count = 0;
    char *text = NULL;
    assert_int_equal(ef_report_when_text(&answer, EF_UNITS_METRIC, &text), EF_OK);
    assert_non_null(strstr(text, "120 t of barley find no place in this plan."));
    ef_report_free(text);
}

/* ---- memory ---------------------------------------------------------------------------------------------
 */

typedef ef_status report(const ef_season *season, char **text);

static ef_status text_report(const ef_season *season, char **text)
{
    return ef_report_season_text(season, EF_UNITS_METRIC, text);
}

static ef_status calendar_report(const ef_season *season, char **text)
{
    return ef_report_season_ics(season, EF_UNITS_METRIC, text);
}

static ef_status table_report(const ef_season *season, char **text)
{
    return ef_report_season_csv(season, 0, text);
}

static void a_season_is_printed_or_memory_is_short(void **state)
{
    (void)state;
    static report *const reports[] = {text_report, calendar_report, table_report, ef_report_season_plan,
                                      ef_report_season_json};
    for (size_t i = 0; i < EF_COUNT(reports); i++) {
        bool failed = true;
        for (long n = 1; failed; n++) {
            char *text = NULL;
            (void)efi_memory_fail_at(n);
            const ef_status status = reports[i](seasons_by_hand(), &text);
            failed = efi_memory_fail_at(0) >= n;
            assert_int_equal(status, failed ? EF_MEMORY : EF_OK);
            ef_report_free(text);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_work_order_reads_as_it_should),
        cmocka_unit_test(trouble_stands_before_the_order_of_work),
        cmocka_unit_test(a_season_without_trouble_says_so),
        cmocka_unit_test(no_lot_in_trouble_is_left_out),
        cmocka_unit_test(a_given_order_is_priced_beside_ours),
        cmocka_unit_test(the_chart_fits_a_terminal),
        cmocka_unit_test(a_week_of_seven_days_fits_too),
        cmocka_unit_test(a_day_that_begins_with_cleaning_is_drawn),
        cmocka_unit_test(the_plan_and_the_tables_are_as_written),
        cmocka_unit_test(the_calendar_file_is_as_written),
        cmocka_unit_test(lines_of_the_calendar_file_are_folded),
        cmocka_unit_test(the_json_holds_everything),
        cmocka_unit_test(a_paper_with_pictures_has_both),
        cmocka_unit_test(the_answer_to_when_reads_as_it_should),
        cmocka_unit_test(an_answer_without_a_place_says_so),
        cmocka_unit_test(a_season_is_printed_or_memory_is_short),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
