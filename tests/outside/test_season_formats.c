/* SPDX-License-Identifier: GPL-3.0-or-later
 * What is written of a season, read by parsers that are not ours (tests/outside/season_formats.py): the
 * calendar file by the Python package icalendar 4 or later (RFC 5545; Debian: python3-icalendar), tables and
 * the plan by Python's csv in strict mode (RFC 4180), JSON by Python's json. */
#include "base/base.h"

#include "../lib/files.h"
#include "../lib/python.h"
#include "../lib/seasons.h"
#include "../lib/skip.h"

#include <evenfeed/report.h>
#include <jansson.h>
#include <stdlib.h>
#include <string.h>

enum {
    ROOM = 40
};

/* What the script makes of a text; NULL when there is no Python, or not with that package. */
static json_t *read_outside(const char *kind, const char *text)
{
    char *path = scratch_path(kind);
    file_write(path, text, strlen(text));
    const char *const arguments[] = {"tests/outside/season_formats.py", kind, path, NULL};
    json_t *found = python_json(arguments);
    free(path);
    return found;
}

static const char *word_of(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    if (!json_is_string(value))
        fail_msg("%s is no text", key);
    return json_string_value(value);
}

/* "2026-09-07T12:30:00", worked out apart from the program for days of September 2026. */
static void format_moment(char *room, int64_t moment)
{
    const int64_t first = seasons_moment(-6, 0.0); /* 2026-09-01 */
    const int64_t second = moment - first;
    (void)snprintf(room, ROOM, "2026-09-%02dT%02d:%02d:%02d", (int)(second / 86400) + 1,
                   (int)(second / 3600 % 24), (int)(second / 60 % 60), (int)(second % 60));
}

/* The event of a name that begins at a moment; NULL without one. */
static const json_t *event_of(const json_t *events, const char *category, const char *lot, int64_t start)
{
    char expected[ROOM];
    format_moment(expected, start);
    for (size_t i = 0; i < json_array_size(events); i++) {
        const json_t *event = json_array_get(events, i);
        const json_t *first = json_array_get(json_object_get(event, "categories"), 0);
        if (strcmp(json_string_value(first), category) == 0 && strstr(word_of(event, "summary"), lot) &&
            strcmp(word_of(event, "start"), expected) == 0)
            return event;
    }
    return NULL;
}

static void check_event(const json_t *events, const char *category, const char *lot, int64_t start,
                        int64_t end, const char *line)
{
    char expected[ROOM];
    const json_t *event = event_of(events, category, lot, start);
    if (!event)
        fail_msg("no %s of %s", category, lot);
    format_moment(expected, end);
    assert_string_equal(word_of(event, "end"), expected);
    assert_string_equal(word_of(event, "location"), line);
    assert_string_equal(word_of(event, "stamp"), "2026-09-07T06:00:00+00:00");
}

static void check_uids(const json_t *events)
{
    for (size_t a = 0; a < json_array_size(events); a++)
        for (size_t b = 0; b < a; b++)
            assert_string_not_equal(word_of(json_array_get(events, a), "uid"),
                                    word_of(json_array_get(events, b), "uid"));
}

static void icalendar_reads_the_calendar_file(void **state)
{
    (void)state;
    const ef_season *season = seasons_by_hand();
    char *text = NULL;
    assert_int_equal(ef_report_season_ics(season, EF_UNITS_METRIC, &text), EF_OK);
    json_t *root = read_outside("ics", text);
    ef_report_free(text);
    if (!root)
        ef_test_skip("there is no python3 with the package icalendar");
    const json_t *events = json_object_get(root, "events");
    size_t expected = 0;
    assert_string_equal(word_of(root, "version"), "2.0");
    assert_int_equal(json_array_size(json_object_get(root, "problems")), 0);
    assert_int_equal(json_array_size(json_object_get(root, "others")), 0);
    for (int r = 0; r < season->run_count; r++) {
        const ef_season_run *run = &season->runs[r];
        const char *lot = season->lots[run->lot].name;
        const char *line = season->lines[run->line].name;
        check_event(events, "RUN", lot, run->start, run->end, line);
        expected++;
        if (run->clean_to > run->clean_from) {
            check_event(events, "CLEAN-DOWN", lot, run->clean_from, run->clean_to, line);
            expected++;
        }
    }
    check_event(events, "CLEAN-DOWN", "after the last lot", season->lines[1].last_clean_from,
                season->lines[1].last_clean_to, "South");
    assert_int_equal(json_array_size(events), expected + 1);
    check_uids(events);
    const json_t *second = event_of(events, "RUN", "W2, north; field", season->runs[1].start);
    assert_non_null(second);
    assert_string_equal(word_of(second, "summary"), "North: W2, north; field, wheat Tamar C1, 48.5 t");
    assert_non_null(strstr(word_of(second, "description"), season->lots[1].note));
    json_decref(root);
}

/* The cell of a row in the column of a heading. */
static const char *cell_of(const json_t *rows, size_t row, const char *heading)
{
    const json_t *headings = json_array_get(rows, 0);
    for (size_t c = 0; c < json_array_size(headings); c++)
        if (strcmp(json_string_value(json_array_get(headings, c)), heading) == 0)
            return json_string_value(json_array_get(json_array_get(rows, row), c));
    fail_msg("no column %s", heading);
    return "";
}

/* Every row has as many cells as the heading. */
static void check_rows(const json_t *rows, const char *table)
{
    for (size_t r = 1; r < json_array_size(rows); r++)
        if (json_array_size(json_array_get(rows, r)) != json_array_size(json_array_get(rows, 0)))
            fail_msg("%s: row %zu", table, r + 1);
}

static void csv_of_python_reads_the_plan_and_every_table(void **state)
{
    (void)state;
    const ef_season *season = seasons_by_hand();
    char *text = NULL;
    assert_int_equal(ef_report_season_plan(season, &text), EF_OK);
    json_t *rows = read_outside("csv", text);
    ef_report_free(text);
    if (!rows)
        ef_test_skip("there is no python3");
    assert_int_equal(json_array_size(rows), season->run_count + 1);
    check_rows(rows, "plan");
    for (int r = 0; r < season->run_count; r++) {
        const ef_season_lot *lot = &season->lots[season->runs[r].lot];
        assert_string_equal(cell_of(rows, (size_t)r + 1, "lot"), lot->name);
        assert_string_equal(cell_of(rows, (size_t)r + 1, "line"), season->lines[season->runs[r].line].name);
        assert_true(strtod(cell_of(rows, (size_t)r + 1, "tonnes"), NULL) == lot->amount_t);
    }
    assert_string_equal(cell_of(rows, 2, "note"), season->lots[1].note);
    assert_string_equal(cell_of(rows, 2, "due"), "2026-09-08");
    json_decref(rows);
    for (int t = 0; ef_report_season_table(t); t++) {
        assert_int_equal(ef_report_season_csv(season, t, &text), EF_OK);
        rows = read_outside("csv", text);
        ef_report_free(text);
        assert_true(json_array_size(rows) > 1);
        check_rows(rows, ef_report_season_table(t));
        if (t == 0)
            assert_string_equal(cell_of(rows, 2, "note"), season->lots[1].note);
        json_decref(rows);
    }
}

/* Of the same table once with points and once with commas: cells that are numbers differ in that alone, all
 * others not at all. Returns how many numbers have decimals. */
static int check_commas(const json_t *points, const json_t *commas, const char *table)
{
    int decimals = 0;
    assert_int_equal(json_array_size(points), json_array_size(commas));
    for (size_t r = 0; r < json_array_size(points); r++) {
        const json_t *row = json_array_get(points, r);
        assert_int_equal(json_array_size(row), json_array_size(json_array_get(commas, r)));
        for (size_t c = 0; c < json_array_size(row); c++) {
            const char *point = json_string_value(json_array_get(row, c));
            const char *comma = json_string_value(json_array_get(json_array_get(commas, r), c));
            char *end;
            (void)strtod(point, &end);
            const char *at = *point && !*end ? strchr(point, '.') : NULL;
            if (strlen(point) != strlen(comma))
                fail_msg("%s: \"%s\" became \"%s\"", table, point, comma);
            for (size_t i = 0; point[i]; i++)
                if (comma[i] != (point + i == at ? ',' : point[i]))
                    fail_msg("%s: \"%s\" became \"%s\"", table, point, comma);
            decimals += at != NULL;
        }
    }
    return decimals;
}

static void csv_of_python_reads_decimal_commas(void **state)
{
    (void)state;
    int decimals = 0;
    int tables = 0;
    for (int t = -1; t < 0 || ef_report_season_table(t); t++) {
        char *text = NULL;
        char *other = NULL;
        const ef_status status = t < 0 ? ef_report_season_plan(seasons_by_hand(), &text)
                                       : ef_report_season_csv(seasons_by_hand(), t, &text);
        assert_int_equal(status, EF_OK);
        assert_int_equal(ef_report_csv_with_comma(text, &other), EF_OK);
        json_t *points = read_outside("csv", text);
        json_t *commas = read_outside("semicolon", other);
        ef_report_free(text);
        ef_report_free(other);
        if (!points || !commas)
            ef_test_skip("there is no python3");
        decimals += check_commas(points, commas, t < 0 ? "plan" : ef_report_season_table(t));
        tables++;
        json_decref(points);
        json_decref(commas);
    }
    assert_true(tables > 2 && decimals > tables);
}

static void json_of_python_reads_the_same(void **state)
{
    (void)state;
    char *text = NULL;
    json_error_t error;
    assert_int_equal(ef_report_season_json(seasons_by_hand(), &text), EF_OK);
    json_t *root = read_outside("json", text);
    json_t *ours = json_loads(text, JSON_REJECT_DUPLICATES, &error);
    ef_report_free(text);
    assert_non_null(ours);
    if (!root) {
        json_decref(ours);
        ef_test_skip("there is no python3");
    }
    assert_true(json_equal(root, ours));
    json_decref(root);
    json_decref(ours);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(icalendar_reads_the_calendar_file),
        cmocka_unit_test(csv_of_python_reads_the_plan_and_every_table),
        cmocka_unit_test(csv_of_python_reads_decimal_commas),
        cmocka_unit_test(json_of_python_reads_the_same),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
