/* SPDX-License-Identifier: GPL-3.0-or-later
 * The workbook of a report, read by openpyxl (tests/outside/workbook_cells.py): cells hold the numbers of the
 * answers, formats and charts are there; and the same answers give the same bytes. */
#include "base/base.h"

#include "../lib/files.h"
#include "../lib/near.h"
#include "../lib/python.h"
#include "../lib/scenarios.h"
#include "../lib/skip.h"

#include <errno.h>
#include <evenfeed/report.h>
#include <jansson.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum {
    RUNS = 60
};

typedef struct answers {
    ef_scenario *scenario;
    ef_balance *balance;
    ef_bins *bins;
    ef_shift *shifts[2];
    ef_report_answers all;
} answers;

static void find_answers(answers *a)
{
    char *reason = NULL;
    *a = (answers){.scenario = plant_load("scenarios/cereal-seed.yaml")};
    ef_balance_settings balance = ef_balance_defaults();
    balance.ladder = 3;
    assert_int_equal(ef_balance_solve(a->scenario, &balance, &a->balance), EF_OK);
    ef_bins_settings bins = ef_bins_defaults();
    bins.traces = 20;
    assert_int_equal(ef_bins_run(a->scenario, &bins, &a->bins), EF_OK);
    for (int crop = 0; crop < 2; crop++) {
        ef_shift_settings shift = ef_shift_defaults();
        shift.crop = crop;
        shift.runs = RUNS;
        shift.remedies = false;
        assert_int_equal(ef_shift_run(a->scenario, &shift, &a->shifts[crop], &reason), EF_OK);
    }
    a->all = (ef_report_answers){.plant = ef_scenario_plant(a->scenario),
                                 .scenario_file = "scenarios/cereal-seed.yaml",
                                 .command = "evenfeed report scenarios/cereal-seed.yaml --workbook",
                                 .units = EF_UNITS_METRIC,
                                 .balance = a->balance,
                                 .bins = a->bins,
                                 .shifts = (const ef_shift *const *)a->shifts,
                                 .shift_count = 2};
}

static void free_answers(answers *a)
{
    for (int crop = 0; crop < 2; crop++)
        ef_shift_free(a->shifts[crop]);
    ef_bins_free(a->bins);
    ef_balance_free(a->balance);
    ef_scenario_free(a->scenario);
}

/* What openpyxl makes of a workbook; NULL when there is no Python with it. */
static json_t *read_outside(const char *path)
{
    const char *const arguments[] = {"tests/outside/workbook_cells.py", path, NULL};
    return python_json(arguments);
}

static const json_t *cell_at(const json_t *sheet, const char *what, size_t row, size_t column)
{
    return json_array_get(json_array_get(json_object_get(sheet, what), row), column);
}

/* Row and column below a heading, in the row whose first cell is `first`, from `from` on; fails without. */
static size_t row_of(const json_t *sheet, const char *first, size_t from)
{
    const size_t count = json_array_size(json_object_get(sheet, "rows"));
    for (size_t row = from; row < count; row++) {
        const char *words = json_string_value(cell_at(sheet, "rows", row, 0));
        if (words && strcmp(words, first) == 0)
            return row;
    }
    fail_msg("no row \"%s\"", first);
    return 0;
}

static size_t column_of(const json_t *sheet, size_t row, const char *title)
{
    for (size_t column = 0; column < json_array_size(json_array_get(json_object_get(sheet, "rows"), row));
         column++) {
        const char *words = json_string_value(cell_at(sheet, "rows", row, column));
        if (words && strcmp(words, title) == 0)
            return column;
    }
    fail_msg("no column \"%s\"", title);
    return 0;
}

static double number_at(const json_t *sheet, size_t row, size_t column)
{
    const json_t *cell = cell_at(sheet, "rows", row, column);
    if (!json_is_number(cell))
        fail_msg("no number in row %zu, column %zu", row + 1, column + 1);
    return json_number_value(cell);
}

static void check_shift(const json_t *root, const char *name, const ef_shift *shift)
{
    const json_t *sheet = json_object_get(root, name);
    assert_non_null(sheet);
    const size_t head = row_of(sheet, "Stream", 0);
    for (int s = 0; s < shift->groups[0].stream_count; s++) {
        const ef_shift_stream *stream = &shift->groups[0].streams[s];
        const size_t row = row_of(sheet, stream->name, head);
        assert_near(number_at(sheet, row, column_of(sheet, head, "Poor (P10) [t]")), stream->p10_t.value,
                    1e-12);
        assert_near(number_at(sheet, row, column_of(sheet, head, "Mean [t]")), stream->mean_t.value, 1e-12);
        assert_near(number_at(sheet, row, column_of(sheet, head, "Mean high [t]")), stream->mean_t.high,
                    1e-12);
    }
    /* the cells that the histogram's chart stands on */
    const size_t bars = row_of(sheet, "Product from [t]", 0);
    for (int i = 0; i < shift->histogram_count; i++)
        assert_near(number_at(sheet, bars + 1 + (size_t)i, 1), shift->histogram[i], 0.0);
    /* those of the hours of each station, whose rows add up to what is counted */
    const size_t hours = row_of(sheet, "Station", bars);
    for (int i = 0; i < shift->station_count; i++) {
        double sum = 0.0;
        for (size_t h = 0; h < EF_SHIFT_HOURS_COUNT; h++)
            sum += number_at(sheet, hours + 1 + (size_t)i, 1 + h);
        assert_near(sum, shift->counted_h, 1e-9);
    }
    assert_int_equal(json_integer_value(json_object_get(sheet, "charts")), 2 + shift->bin_count);
}

static void check_balance(const json_t *root, const ef_balance *balance)
{
    const json_t *sheet = json_object_get(root, "Balance");
    const json_t *overview = json_object_get(root, "Overview");
    assert_non_null(sheet);
    assert_non_null(overview);
    const size_t head = row_of(overview, "Crop", 0);
    size_t ladder = 0;
    for (int c = 0; c < balance->crop_count; c++) {
        const ef_balance_crop *crop = &balance->crops[c];
        const size_t row = row_of(overview, crop->name, head);
        const size_t column = column_of(overview, head, "Intake [t/h]");
        assert_near(number_at(overview, row, column), crop->intake.total_tph, 1e-12);
        /* the cells of the chart, whose first rung is the plant as it is */
        do
            ladder = row_of(sheet, "Rung", ladder) + 1;
        while (!json_is_string(cell_at(sheet, "rows", ladder, 0)));
        assert_string_equal(json_string_value(cell_at(sheet, "rows", ladder, 0)), "now");
        for (int r = 0; r < crop->rung_count; r++)
            assert_near(number_at(sheet, ladder + 1 + (size_t)r, 1), crop->rungs[r].intake_tph, 1e-12);
    }
    assert_string_equal(json_string_value(cell_at(overview, "formats", row_of(overview, "wheat", head),
                                                  column_of(overview, head, "Intake [t/h]"))),
                        "0.00");
}

static void openpyxl_reads_the_numbers_of_the_answers(void **state)
{
    (void)state;
    answers a;
    find_answers(&a);
    char *path = scratch_path("report.xlsx");
    assert_int_equal(ef_report_workbook(&a.all, path), EF_OK);
    json_t *root = read_outside(path);
    if (root) {
        check_shift(root, "Shift wheat", a.shifts[0]);
        check_shift(root, "Shift barley", a.shifts[1]);
        check_balance(root, a.balance);
        assert_non_null(json_object_get(root, "Bins"));
        json_decref(root);
    }
    free(path);
    free_answers(&a);
    if (!root)
        ef_test_skip("there is no python3 with the package openpyxl");
}

/* A moment as openpyxl understands the cell, which must be a date to it, to the second. */
static void check_moment(const json_t *sheet, size_t row, const char *title, size_t head, int64_t moment)
{
    char expected[32];
    const time_t seconds = (time_t)moment;
    struct tm parts;
    assert_non_null(gmtime_r(&seconds, &parts));
    assert_true(strftime(expected, sizeof expected, "%Y-%m-%dT%H:%M:%S", &parts) > 0);
    const char *found = json_string_value(cell_at(sheet, "rows", row, column_of(sheet, head, title)));
    if (!found || strncmp(found, expected, strlen(expected)) != 0)
        fail_msg("%s in row %zu is %s, not %s", title, row + 1, found ? found : "no date", expected);
}

static void check_season(const json_t *root, const ef_season *season)
{
    const json_t *work = json_object_get(root, "Order of work");
    const json_t *sheet = json_object_get(root, "Season");
    assert_non_null(work);
    assert_non_null(sheet);
    const size_t head = row_of(work, "Line", 0);
    for (int r = 0; r < season->run_count; r++) {
        const ef_season_run *run = &season->runs[r];
        const ef_season_lot *lot = &season->lots[run->lot];
        const size_t row = head + 1 + (size_t)r;
        const json_t *name = cell_at(work, "rows", row, column_of(work, head, "Lot"));
        assert_string_equal(json_string_value(name), lot->name);
        check_moment(work, row, "Starts", head, run->start);
        check_moment(work, row, "Ends", head, run->end);
        if (lot->due != EF_SEASON_NONE)
            check_moment(work, row, "Due", head, lot->due);
        assert_near(number_at(work, row, column_of(work, head, "Amount [t]")), lot->left_t, 1e-12);
        assert_near(number_at(work, row, column_of(work, head, "Late [d]")), run->late_days, 1e-12);
    }
    /* the cells that the chart of costs stands on */
    const size_t costs = row_of(sheet, "Kind", 0);
    for (int t = 0; t < EF_SEASON_TERMS; t++) {
        assert_near(number_at(sheet, costs + 1 + (size_t)t, 1), season->cost.term[t], 1e-12);
        assert_near(number_at(sheet, costs + 1 + (size_t)t, 2), season->bound.term[t], 1e-12);
    }
    assert_int_equal(json_integer_value(json_object_get(sheet, "charts")), 1);
}

static void openpyxl_reads_a_season(void **state)
{
    (void)state;
    const char *file = "scenarios/seasons/clover-grass-seed.yaml";
    ef_scenario *scenario = plant_load(file);
    ef_season *season;
    char *reason = NULL;
    ef_season_settings settings = ef_season_defaults();
    settings.rounds = 0;
    settings.rate_runs = RUNS;
    assert_int_equal(ef_season_run_plan(scenario, &settings, &season, &reason), EF_OK);
    const ef_report_answers all = {.plant = ef_scenario_plant(scenario),
                                   .scenario_file = file,
                                   .command = "evenfeed report",
                                   .season = season};
    char *path = scratch_path("season.xlsx");
    assert_int_equal(ef_report_workbook(&all, path), EF_OK);
    json_t *root = read_outside(path);
    const bool lacking = !root;
    if (root)
        check_season(root, season);
    json_decref(root);
    free(path);
    ef_season_free(season);
    ef_scenario_free(scenario);
    if (lacking)
        ef_test_skip("there is no python3 with the package openpyxl");
}

static void the_same_answers_give_the_same_bytes(void **state)
{
    (void)state;
    answers a;
    size_t length[2];
    char *bytes[2];
    find_answers(&a);
    for (int i = 0; i < 2; i++) {
        char *path = scratch_path(i == 0 ? "first.xlsx" : "second.xlsx");
        assert_int_equal(ef_report_workbook(&a.all, path), EF_OK);
        bytes[i] = file_read(path, &length[i]);
        free(path);
    }
    assert_int_equal(length[0], length[1]);
    assert_memory_equal(bytes[0], bytes[1], length[0]);
    free(bytes[0]);
    free(bytes[1]);
    free_answers(&a);
}

static void a_place_that_cannot_be_written_is_told(void **state)
{
    (void)state;
    answers a;
    find_answers(&a);
    assert_int_equal(ef_report_workbook(&a.all, "/nowhere/at/all/report.xlsx"), EF_FILE);
    assert_int_equal(errno, ENOENT);
    free_answers(&a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(openpyxl_reads_the_numbers_of_the_answers),
        cmocka_unit_test(openpyxl_reads_a_season),
        cmocka_unit_test(the_same_answers_give_the_same_bytes),
        cmocka_unit_test(a_place_that_cannot_be_written_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
