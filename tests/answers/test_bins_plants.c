/* SPDX-License-Identifier: GPL-3.0-or-later
 * Sizing the bins of the bundled plants: every aim through the verifier, the same bytes for any number of
 * threads, a search that is interrupted, settings that are refused. */
#include "../lib/bins.h"
#include "../lib/files.h"
#include "../lib/near.h"
#include "../lib/outside_solver.h"
#include "../lib/skip.h"

#include <evenfeed/bins.h>
#include <evenfeed/report.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

/* ---- every aim, every bundled plant ---------------------------------------------------------------------
 */

/* The plant of the list that is no series line: a program for each trace takes its time, so of it one crop.
 */
#define NETWORK 3

static void every_bundled_plant_is_sized_and_verified(void **state)
{
    (void)state;
    static const char *const paths[] = {"scenarios/cereal-seed.yaml", "scenarios/soybean-seed.yaml",
                                        "scenarios/clover-grass-seed.yaml", "scenarios/pulses-export.yaml"};
    for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++) {
        ef_scenario *scenario = plant_load(paths[i]);
        for (int aim = EF_BINS_NONE_SHORT; aim <= EF_BINS_PRICE; aim++) {
            ef_bins_settings settings = bins_quick();
            settings.traces = i == NETWORK ? 4 : 8;
            settings.crop = i == NETWORK ? 0 : -1;
            settings.aim = (ef_bins_aim)aim;
            settings.aim_h = aim == EF_BINS_TAIL ? 0.1 : 1.0 / 60.0;
            settings.price = 2.0;
            settings.with_receipts = aim == EF_BINS_TAIL;
            ef_bins *bins = bins_of(scenario, &settings);
            for (int c = 0; c < bins->crop_count; c++)
                for (int f = 0; f < bins->crops[c].feed_count; f++) {
                    const ef_bins_feed *feed = &bins->crops[c].feeds[f];
                    assert_true(feed->cuts > 0 && feed->gap_share <= 1e-6);
                    assert_true(feed->recommended.is_run);
                }
            ef_bins_free(bins);
        }
        ef_scenario_free(scenario);
    }
}

/* Off a plain line the engine judges: more than the whole of a shift apart would be another plant. */
static void program_and_engine_agree_on_the_bundled_plants(void **state)
{
    (void)state;
    static const char *const paths[] = {"scenarios/cereal-seed.yaml", "scenarios/soybean-seed.yaml",
                                        "scenarios/clover-grass-seed.yaml", "scenarios/pulses-export.yaml"};
    for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++) {
        ef_scenario *scenario = plant_load(paths[i]);
        ef_bins_settings settings = bins_quick();
        settings.crop = i == NETWORK ? 0 : -1;
        settings.traces = 60; /* with 30 chance still decides whether fresh traces meet the aim */
        ef_bins *bins = bins_of(scenario, &settings);
        for (int c = 0; c < bins->crop_count; c++)
            for (int f = 0; f < bins->crops[c].feed_count; f++) {
                const ef_bins_feed *feed = &bins->crops[c].feeds[f];
                assert_true(fabs(feed->engine_h - feed->sized_h) < 0.01 * bins->shift_h);
                assert_true(feed->met);
            }
        ef_bins_free(bins);
        ef_scenario_free(scenario);
    }
}

/* More is never needed for less: the curve falls. */
static void the_curve_falls_and_its_knee_lies_on_it(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/cereal-seed.yaml");
    ef_bins_settings settings = bins_quick();
    settings.crop = 0;
    ef_bins *bins = bins_of(scenario, &settings);
    const ef_bins_feed *feed = &bins->crops[0].feeds[0];
    assert_true(feed->curve_count > 6);
    for (int i = 1; i < feed->curve_count; i++) {
        assert_true(feed->curve[i].short_h >= feed->curve[i - 1].short_h - 1e-9);
        assert_true(feed->curve[i].cost <= feed->curve[i - 1].cost + 1e-6);
    }
    assert_true(feed->knee > 0 && feed->knee < feed->curve_count - 1);
    ef_bins_free(bins);
    ef_scenario_free(scenario);
}

static void the_answer_does_not_depend_on_threads(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/soybean-seed.yaml");
    char *text[2];
    for (int i = 0; i < 2; i++) {
        ef_bins_settings settings = bins_quick();
        settings.threads = 1 + 2 * i;
        ef_bins *bins = bins_of(scenario, &settings);
        assert_int_equal(ef_report_bins_json(bins, &text[i]), EF_OK);
        ef_bins_free(bins);
    }
    assert_string_equal(text[0], text[1]);
    ef_report_free(text[0]);
    ef_report_free(text[1]);
    ef_scenario_free(scenario);
}

/* ---- the program as a file ------------------------------------------------------------------------------
 */

static void the_exported_program_has_the_cost_that_was_found(void **state)
{
    (void)state;
    if (!outside_solver_is_there())
        ef_test_skip("clp is not installed");
    ef_scenario *scenario = plant_load("scenarios/cereal-seed.yaml");
    char *path = scratch_path("bins.mps");
    ef_bins_settings settings = bins_quick();
    settings.crop = 0;
    settings.traces = 10;
    settings.aim_h = 3.0 / 60.0;
    settings.write_lp = path;
    settings.overwrite = true;
    ef_bins *bins = bins_of(scenario, &settings);
    /* the file holds the aim as it was asked; the answer may have been tightened, the curve was not */
    const outside_result outside = outside_solver_run(path);
    assert_int_equal(outside.outcome, OUTSIDE_OPTIMAL);
    const ef_bins_feed *feed = &bins->crops[0].feeds[0];
    int found = 0;
    for (int i = 0; i < feed->curve_count; i++) {
        if (fabs(feed->curve[i].short_h - feed->unavoidable_h - settings.aim_h) > 1e-6)
            continue;
        assert_near_relative(feed->curve[i].cost, outside.objective, 1e-6);
        found++;
    }
    assert_int_equal(found, 1);
    ef_bins_free(bins);
    free(path);
    ef_scenario_free(scenario);
}

/* ---- calls ----------------------------------------------------------------------------------------------
 */

static bool stop_at(void *context, const ef_bins_progress *progress)
{
    int *left = context;
    assert_non_null(progress->doing);
    return (*left)-- > 0;
}

static void an_interrupted_search_gives_the_best_so_far(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/cereal-seed.yaml");
    for (int after = 0; after < 40; after += 3) {
        ef_bins_settings settings = bins_quick();
        int left = after;
        ef_bins *bins = NULL;
        settings.go_on = stop_at;
        settings.context = &left;
        const ef_status status = ef_bins_run(scenario, &settings, &bins);
        if (status == EF_STOPPED) {
            assert_true(after == 0);
            continue;
        }
        assert_int_equal(status, EF_OK);
        assert_true(bins->stopped);
        assert_true(bins_say(bins, "The search was interrupted"));
        ef_bins_free(bins);
    }
    ef_scenario_free(scenario);
}

static void settings_out_of_range_are_refused(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/cereal-seed.yaml");
    ef_bins *bins = NULL;
    ef_bins_settings settings = ef_bins_defaults();
    settings.traces = 0;
    assert_int_equal(ef_bins_run(scenario, &settings, &bins), EF_USAGE);
    settings = ef_bins_defaults();
    settings.crop = 2;
    assert_int_equal(ef_bins_run(scenario, &settings, &bins), EF_USAGE);
    settings = ef_bins_defaults();
    settings.tail_share = 1.0;
    assert_int_equal(ef_bins_run(scenario, &settings, &bins), EF_USAGE);
    settings = ef_bins_defaults();
    settings.aim_h = NAN;
    assert_int_equal(ef_bins_run(scenario, &settings, &bins), EF_USAGE);
    ef_bins_free(NULL);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_bundled_plant_is_sized_and_verified),
        cmocka_unit_test(program_and_engine_agree_on_the_bundled_plants),
        cmocka_unit_test(the_curve_falls_and_its_knee_lies_on_it),
        cmocka_unit_test(the_answer_does_not_depend_on_threads),
        cmocka_unit_test(the_exported_program_has_the_cost_that_was_found),
        cmocka_unit_test(an_interrupted_search_gives_the_best_so_far),
        cmocka_unit_test(settings_out_of_range_are_refused),
    };
    return cmocka_run_group_tests_name("bins of plants", tests, NULL, NULL);
}
