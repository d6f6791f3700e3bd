/* SPDX-License-Identifier: GPL-3.0-or-later
 * Pictures of ladders, shifts and traces: what is read back from the drawing is what the answer says. */
#include "base/base.h"
#include "report/picture/frame.h"

#include "../lib/near.h"
#include "../lib/scenarios.h"

#include <evenfeed/report.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define STRIP 52.0  /* px: height of a strip of levels */
#define PIXEL 0.006 /* coordinates are written to a hundredth */

/* The number after `words` from `text` on; `*after` (may be NULL) moves behind it. */
static double number_after(const char *text, const char *words, const char **after)
{
    const char *at = strstr(text, words);
    if (!at) {
        fail_msg("not in the picture: %s", words);
        return 0.0;
    }
    if (after)
        *after = at + strlen(words);
    return strtod(at + strlen(words), NULL);
}

/* The next bar from `text` (NULL: none) on whose class begins with `classes`: left, top, width, height. NULL
 * when none is left. */
static const char *next_bar(const char *text, const char *classes, double bar[4])
{
    static const char *const names[] = {" x=\"", " y=\"", " width=\"", " height=\""};
    static const char begin[] = "<rect class=\"";
    const char *at = text ? strstr(text, begin) : NULL;
    while (at && strncmp(at + strlen(begin), classes, strlen(classes)) != 0)
        at = strstr(at + 1, begin);
    if (!at)
        return NULL;
    for (int i = 0; i < 4; i++)
        bar[i] = number_after(at, names[i], NULL);
    return at + 1;
}

/* ---- scales ---------------------------------------------------------------------------------------------
 */

static void test_scales(void **state)
{
    (void)state;
    const efi_axis hours = efi_axis_make(0.0, 8.0, 100.0, 500.0, 8, false);
    assert_near(hours.step, 1.0, 1e-12);
    assert_near(efi_axis_at(&hours, 0.0), 100.0, 1e-12);
    assert_near(efi_axis_at(&hours, 6.0), 400.0, 1e-12);
    const efi_axis tonnes = efi_axis_make(23.0, 71.0, 0.0, 100.0, 5, true);
    assert_near(tonnes.step, 10.0, 1e-12);
    assert_near(tonnes.from, 20.0, 1e-12);
    assert_near(tonnes.to, 80.0, 1e-12);
    const efi_axis small = efi_axis_make(0.0, 0.13, 100.0, 0.0, 5, true);
    assert_near(small.step, 0.05, 1e-12);
    assert_int_equal(small.decimals, 2);
    assert_near(small.to, 0.15, 1e-12);
    assert_near(efi_axis_at(&small, 0.15), 0.0, 1e-9);
    assert_near(efi_axis_hours(8.0, 0.0, 400.0).step, 1.0, 1e-12);
    assert_near(efi_axis_hours(168.0, 0.0, 400.0).step, 24.0, 1e-12);
    assert_near(efi_axis_hours(100.0, 0.0, 400.0).step, 24.0, 1e-12);
    assert_near(efi_axis_hours(0.5, 0.0, 400.0).step, 0.1, 1e-12);
    const efi_axis one = efi_axis_make(3.0, 3.0, 0.0, 1.0, 4, false); /* nothing to part: still a scale */
    assert_true(isfinite(efi_axis_at(&one, 3.0)));
}

/* ---- the ladder -----------------------------------------------------------------------------------------
 */

static void test_ladder(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/cereal-seed.yaml");
    ef_balance_settings settings = ef_balance_defaults();
    settings.ladder = 4;
    ef_balance *balance;
    char *svg;
    assert_int_equal(ef_balance_solve(scenario, &settings, &balance), EF_OK);
    const ef_balance_crop *crop = &balance->crops[0];
    assert_true(crop->rung_count >= 2);
    assert_int_equal(ef_report_ladder_svg(balance, 0, EF_UNITS_METRIC, &svg), EF_OK);
    double now[4] = {0.0};
    const char *at = next_bar(svg, "bar now", now);
    assert_non_null(at);
    const double pixels_per_tph = now[2] / crop->intake.total_tph;
    for (int r = 0; r < crop->rung_count; r++) {
        double bar[4] = {0.0};
        at = next_bar(at, "bar\"", bar);
        assert_non_null(at);
        assert_near_absolute(bar[0], now[0], PIXEL);
        assert_near_absolute(bar[2], crop->rungs[r].intake_tph * pixels_per_tph, 3 * PIXEL);
    }
    double beyond[4] = {0.0};
    assert_null(next_bar(at, "bar", beyond));
    ef_report_free(svg);
    ef_balance_free(balance);
    settings.ladder = 0;
    assert_int_equal(ef_balance_solve(scenario, &settings, &balance), EF_OK);
    assert_int_equal(ef_report_ladder_svg(balance, 0, EF_UNITS_METRIC, &svg), EF_NO_ANSWER);
    assert_int_equal(ef_report_ladder_svg(balance, 9, EF_UNITS_METRIC, &svg), EF_USAGE);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

/* ---- shifts ---------------------------------------------------------------------------------------------
 */

static ef_shift *some_shifts(const ef_scenario *scenario)
{
    ef_shift_settings settings = ef_shift_defaults();
    settings.runs = 200;
    settings.remedies = false;
    ef_shift *shift;
    assert_int_equal(ef_shift_run(scenario, &settings, &shift, NULL), EF_OK);
    return shift;
}

/* Bars stand side by side, and their heights are as the counts. */
static void test_tonnes(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/cereal-seed.yaml");
    ef_shift *shift = some_shifts(scenario);
    char *svg;
    assert_int_equal(ef_report_tonnes_svg(shift, EF_UNITS_METRIC, &svg), EF_OK);
    int most = 0;
    for (int c = 0; c < shift->histogram_count; c++)
        most = shift->histogram[c] > shift->histogram[most] ? c : most;
    double bars[64][4] = {{0.0}};
    assert_true(shift->histogram_count <= 64);
    const char *at = svg;
    for (int c = 0; c < shift->histogram_count; c++) {
        at = next_bar(at, "bar part", bars[c]);
        assert_non_null(at);
        if (c > 0)
            assert_near_absolute(bars[c][0], bars[c - 1][0] + bars[c - 1][2], 2 * PIXEL);
    }
    for (int c = 0; c < shift->histogram_count; c++) {
        const double share = (double)shift->histogram[c] / shift->histogram[most];
        assert_near_absolute(bars[c][3], share * bars[most][3], 2 * PIXEL);
        assert_near_absolute(bars[c][1] + bars[c][3], bars[most][1] + bars[most][3], 2 * PIXEL);
    }
    ef_report_free(svg);
    ef_shift_free(shift);
    ef_scenario_free(scenario);
}

/* The parts of each bar are as long as their hours and fill the shift. */
static void test_hours(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/cereal-seed.yaml");
    ef_shift *shift = some_shifts(scenario);
    char *svg;
    assert_int_equal(ef_report_hours_svg(shift, &svg), EF_OK);
    int drawn = 0;
    double full = 0.0;
    for (int n = 0; n < shift->station_count; n++) {
        const ef_shift_station *station = &shift->stations[n];
        double sum = 0.0;
        for (int h = 0; h < EF_SHIFT_HOURS_COUNT; h++) {
            char words[160];
            (void)snprintf(words, sizeof words, "<title>%s: %s ", station->name,
                           ef_shift_hours_word((ef_shift_hours)h));
            const char *title = strstr(svg, words);
            if (!title)
                continue;
            const char *bar = title;
            while (strncmp(bar, "<rect", 5) != 0)
                bar--;
            const double width = number_after(bar, " width=\"", NULL);
            full = full > 0.0 ? full : width / station->hours[h] * shift->counted_h;
            assert_near_absolute(width, full * station->hours[h] / shift->counted_h, 0.01 * full);
            sum += width;
        }
        if (sum > 0.0) {
            assert_near_absolute(sum, full, 0.01 * full);
            drawn++;
        }
    }
    assert_true(drawn >= 3);
    assert_non_null(strstr(svg, shift->stations[shift->account].name));
    ef_report_free(svg);
    ef_shift_free(shift);
    ef_scenario_free(scenario);
}

/* ---- traces ---------------------------------------------------------------------------------------------
 */

/* The line of each bin starts and ends where its level does, and reaches its least and greatest level. */
static void test_levels(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/cereal-seed.yaml");
    const ef_trace_settings settings = ef_trace_defaults(scenario);
    ef_trace *trace;
    char *svg;
    assert_int_equal(ef_trace_run(scenario, &settings, &trace, NULL), EF_OK);
    assert_int_equal(ef_report_levels_svg(trace, EF_UNITS_METRIC, &svg), EF_OK);
    const char *at = svg;
    for (int b = 0; b < trace->bin_count; b++) {
        const ef_trace_bin *bin = &trace->bins[b];
        at = strstr(at, "class=\"level\" d=\"M");
        if (!at) {
            fail_msg("no line for %s", bin->name);
            return;
        }
        const char *c = at + strlen("class=\"level\" d=\"");
        double least = INFINITY;
        double most = -INFINITY;
        double first = NAN;
        double last = NAN;
        while (*c == 'M' || *c == 'L') {
            char *end;
            (void)strtod(c + 1, &end);
            last = strtod(end, &end);
            first = isnan(first) ? last : first;
            least = fmin(least, last);
            most = fmax(most, last);
            c = end;
        }
        const double span = most - least; /* y grows downwards */
        const double tonnes = bin->most_t - bin->least_t;
        assert_near_absolute(span / STRIP, tonnes / bin->full_t, 0.001);
        const double *level = trace->level_t + b;
        const size_t step = (size_t)trace->bin_count;
        const double end_t = level[(size_t)(trace->level_count - 1) * step];
        assert_near_absolute((last - first) / STRIP, (level[0] - end_t) / bin->full_t, 0.001);
        at++;
    }
    assert_null(strstr(at, "class=\"level\" d="));
    ef_report_free(svg);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_scales), cmocka_unit_test(test_ladder), cmocka_unit_test(test_tonnes),
        cmocka_unit_test(test_hours),  cmocka_unit_test(test_levels),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
