/* SPDX-License-Identifier: GPL-3.0-or-later
 * Sizing the bins of a plant: what people are told when there is nothing to size, or no volume helps. */
#include "../lib/bins.h"
#include "../lib/near.h"

#include <evenfeed/bins.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static void without_stops_there_is_nothing_to_size_against(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(bins_loop("", "live volume: 2 m3,"));
    ef_bins_settings settings = bins_quick();
    ef_bins *bins = bins_of(scenario, &settings);
    assert_int_equal(bins->crops[0].anything_stops, false);
    assert_true(bins_say(bins, "wheat: nothing to size against"));
    assert_near_relative(bins->bins[1].recommended_m3, 2.0, 1e-12);
    ef_bins_free(bins);
    ef_scenario_free(scenario);
}

static void a_bin_that_is_kept_stays(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(bins_loop("stops: {screens: {every: 4 h, lasts: 30 min}},",
                                                 "live volume: 1 m3, sizing: {keep: yes},"));
    ef_bins_settings settings = bins_quick();
    ef_bins *bins = bins_of(scenario, &settings);
    assert_int_equal(bins_bin(bins, 0, "Holding bin")->choice, EF_BINS_KEPT);
    assert_near_relative(bins->bins[1].recommended_m3, 1.0, 1e-12);
    assert_true(bins_say(bins, "kept as the scenario asks"));
    ef_bins_free(bins);
    ef_scenario_free(scenario);
}

/* Repairs longer than the shift, a line that cannot refill, no headroom. */
static void an_absurd_plant_is_explained_in_its_own_words(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        BINS_HEAD "  Cleaner: {kind: machine, capacity: 10 t/h, stops: {drive: {between: 60 h, "
                  "lasts: 20 h}}, to: Holding bin}\n"
                  "  Holding bin: {kind: bin, live volume: 2 m3, sizing: {most: 3 m3}, to: Deck}\n"
                  "  Deck:\n    kind: density separator\n    capacity: 9.9 t/h\n"
                  "    least feed: 9 t/h\n    discharges:\n"
                  "      lights: {takes: {light: 60 %}, to: Shed}\n"
                  "      heavies: {takes: rest, to: Bagger}\n"
                  "  Bagger: {kind: bagger, capacity: 12 t/h, stops: {bags: {between: 1 h, lasts: "
                  "3 min}}, to: Shed}\n"
                  "  Shed: {kind: outlet, product: yes}\n");
    ef_bins_settings settings = bins_quick();
    ef_bins *bins = bins_of(scenario, &settings);
    assert_true(bins->crops[0].feeds[0].lowered);
    assert_string_equal(bins->crops[0].feeds[0].slow, "Cleaner");
    (void)bins_note(bins, EF_BINS_LONG_STOP);
    (void)bins_note(bins, EF_BINS_NO_BIN_BETWEEN);
    (void)bins_note(bins, EF_BINS_NO_ROOM);
    (void)bins_note(bins, EF_BINS_BELOW_LEAST);
    assert_true(bins_say(
        bins, "Cleaner: drive lasts 20 h in the mean, longer than a shift of 8 h. No surge bin is meant for "
              "that"));
    assert_true(bins_say(bins, "Bagger stops, and there is no bin between it and Deck"));
    assert_true(bins_say(bins, "There is too little room for bins such as Holding bin"));
    assert_true(bins_say(bins, "its deck would not be covered"));
    ef_bins_free(bins);
    settings.rate_share = 1.0;
    bins = bins_of(scenario, &settings);
    assert_true(bins_note(bins, EF_BINS_SLOW_REFILL).value < 1.0);
    assert_true(bins_say(bins, "bins run down and do not fill again"));
    ef_bins_free(bins);
    ef_scenario_free(scenario);
}

/* A cleaner that chokes every other hour beside a slower grader that never stops: it is the cleaner that is
 * slow. A bin of more than a shift of feed is called what it is. */
static void who_is_slow_and_what_is_absurd_is_said(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(BINS_HEAD
                                       "  Cleaner: {kind: machine, capacity: 12 t/h, stops: {choke: "
                                       "{between: 2 h, lasts: 1 h}}, to: Grader}\n"
                                       "  Grader: {kind: machine, capacity: 11 t/h, to: Holding bin}\n"
                                       "  Holding bin: {kind: bin, live volume: 2 m3, to: Deck}\n"
                                       "  Deck: {kind: density separator, capacity: 10 t/h, discharges: "
                                       "{heavies: {takes: rest, to: Shed}}}\n"
                                       "  Shed: {kind: outlet, product: yes}\n");
    ef_bins_settings settings = bins_quick();
    settings.rate_share = 1.0;
    ef_bins *bins = bins_of(scenario, &settings);
    assert_string_equal(bins_note(bins, EF_BINS_SLOW_REFILL).station, "Cleaner");
    assert_true(bins_bin(bins, 0, "Holding bin")->lasts_h > bins->shift_h);
    assert_true(bins_say(bins, "That is more than a shift of feed, which nobody builds to bridge stops"));
    ef_bins_free(bins);
    ef_scenario_free(scenario);
}

static void a_plant_without_steady_feed_is_told_so(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        BINS_HEAD "  Cleaner: {kind: machine, capacity: 10 t/h, stops: {drive: {between: 9 h, "
                  "lasts: 20 min}}, to: Shed}\n"
                  "  Shed: {kind: outlet, product: yes}\n");
    ef_bins_settings settings = bins_quick();
    ef_bins *bins = bins_of(scenario, &settings);
    assert_true(bins_say(bins, "no station is a steady feed"));
    ef_bins_free(bins);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(without_stops_there_is_nothing_to_size_against),
        cmocka_unit_test(a_bin_that_is_kept_stays),
        cmocka_unit_test(an_absurd_plant_is_explained_in_its_own_words),
        cmocka_unit_test(who_is_slow_and_what_is_absurd_is_said),
        cmocka_unit_test(a_plant_without_steady_feed_is_told_so),
    };
    return cmocka_run_group_tests_name("bins in words", tests, NULL, NULL);
}
