/* SPDX-License-Identifier: GPL-3.0-or-later
 * The trace of a scenario: steady rates reached without stops, accounts that add up, the same again for the
 * same seed. */
#include "../lib/near.h"
#include "../lib/traces.h"

#include <evenfeed/balance.h>
#include <evenfeed/report.h>
#include <evenfeed/trace.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* Tonnes taken in between two hours of a run without stops. */
static double taken_between(const ef_scenario *scenario, int crop, double from_h, double to_h)
{
    ef_trace_settings settings = ef_trace_defaults(scenario);
    settings.crop = crop;
    settings.without_stops = true;
    settings.hours = from_h;
    ef_trace *first = trace_of(scenario, settings);
    settings.hours = to_h;
    ef_trace *second = trace_of(scenario, settings);
    const double taken_t = second->intake_t - first->intake_t;
    assert_near_absolute(second->imbalance_t, 0.0, 1e-9 * second->intake_t);
    ef_trace_free(first);
    ef_trace_free(second);
    return taken_t;
}

static void without_stops_every_bundled_line_settles_at_its_balance(void **state)
{
    (void)state;
    static const char *const paths[] = {"scenarios/cereal-seed.yaml", "scenarios/soybean-seed.yaml",
                                        "scenarios/clover-grass-seed.yaml", "scenarios/pulses-export.yaml"};
    for (size_t i = 0; i < 4; i++) {
        ef_scenario *scenario = plant_load(paths[i]);
        for (int crop = 0; crop < ef_scenario_crops(scenario); crop++) {
            ef_balance_settings settings = ef_balance_defaults();
            settings.crop = crop;
            ef_balance *balance;
            assert_int_equal(ef_balance_solve(scenario, &settings, &balance), EF_OK);
            const double taken_t = taken_between(scenario, crop, 1000.0, 1100.0);
            assert_near_relative(taken_t / 100.0, balance->crops[0].intake.total_tph, 1e-9);
            ef_balance_free(balance);
        }
        ef_scenario_free(scenario);
    }
}

static const char stopping[] =
    "evenfeed: 1\n"
    "plant: {name: Test}\n"
    "materials: {sound: {wanted: yes}, light: }\n"
    "crops: {wheat: {density: 0.75 t/m3, receipt: {sound: rest, light: 6 %}}}\n"
    "stations:\n"
    "  Pit: {kind: intake, capacity: 30 t/h, to: Raw bin}\n"
    "  Raw bin: {kind: bin, live volume: 20 m3, to: Cleaner}\n"
    "  Cleaner:\n"
    "    kind: air-screen cleaner\n"
    "    capacity: 12 t/h\n"
    "    stops:\n"
    "      screens: {every: 4 h, lasts: 6 min}\n"
    "      choke: {between: 7 h, lasts: 9 min, lasts form: lognormal, lasts shape: 0.7, lock-out: 4 min}\n"
    "    discharges:\n"
    "      screenings: {takes: {light: 50 %}, to: Rejects}\n"
    "      seed: {takes: rest, to: Deck bin}\n"
    "  Deck bin: {kind: bin, live volume: 4 m3, restart level: 20 %, to: Deck}\n"
    "  Deck:\n"
    "    kind: density separator\n"
    "    capacity: 10 t/h\n"
    "    least feed: 6 t/h\n"
    "    warm-up: 3 min\n"
    "    discharges:\n"
    "      middlings: {takes: {sound: 10 %}, to: Deck bin}\n"
    "      lights: {takes: {light: 70 %}, to: Rejects}\n"
    "      heavies: {takes: rest, to: Seed}\n"
    "  Rejects: {kind: outlet}\n"
    "  Seed: {kind: outlet, product: yes}\n";

static void every_hour_of_a_station_is_given_to_one_state(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(stopping);
    ef_trace_settings settings = ef_trace_defaults(scenario);
    settings.hours = 500.0;
    ef_trace *trace = trace_of(scenario, settings);
    for (int s = 0; s < trace->station_count; s++) {
        double sum = 0.0;
        for (int i = 0; i < trace->state_count; i++)
            sum += trace->stations[s].state_h[i];
        assert_near_relative(sum, 500.0, 1e-9);
    }
    assert_true(trace->event_count > 200);
    assert_near_absolute(trace->imbalance_t, 0.0, 1e-9 * trace->intake_t);
    assert_true(trace->intake_t < 500.0 * trace->balance_tph + 20.0);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

static void events_come_in_order_and_levels_stay_in_their_bins(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(stopping);
    ef_trace_settings settings = ef_trace_defaults(scenario);
    settings.hours = 200.0;
    ef_trace *trace = trace_of(scenario, settings);
    bool cause_seen = false;
    for (int e = 1; e < trace->event_count; e++) {
        assert_true(trace->events[e].at_h >= trace->events[e - 1].at_h);
        cause_seen = cause_seen || (trace->events[e].cause && strcmp(trace->events[e].cause, "choke") == 0);
    }
    assert_true(cause_seen);
    for (int i = 0; i < trace->level_count; i++) {
        assert_true(i == 0 || trace->level_h[i] > trace->level_h[i - 1]);
        for (int b = 0; b < trace->bin_count; b++) {
            const double level = trace->level_t[(size_t)i * (size_t)trace->bin_count + (size_t)b];
            assert_true(level >= -1e-12 && level <= trace->bins[b].full_t + 1e-12);
        }
    }
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

static char *events_of(const ef_scenario *scenario, uint64_t seed)
{
    ef_trace_settings settings = ef_trace_defaults(scenario);
    settings.seed = seed;
    settings.hours = 100.0;
    ef_trace *trace = trace_of(scenario, settings);
    char *text;
    assert_int_equal(ef_report_trace_events_csv(trace, &text), EF_OK);
    ef_trace_free(trace);
    return text;
}

static void the_same_seed_gives_the_same_stretch_and_another_seed_another(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(stopping);
    char *one = events_of(scenario, 7);
    char *again = events_of(scenario, 7);
    char *other = events_of(scenario, 8);
    assert_string_equal(one, again);
    assert_true(strcmp(one, other) != 0);
    ef_report_free(one);
    ef_report_free(again);
    ef_report_free(other);
    ef_scenario_free(scenario);
}

static double first_event(const ef_trace *trace, const char *station, const char *what)
{
    for (int e = 0; e < trace->event_count; e++)
        if (strcmp(trace->events[e].station, station) == 0 && strcmp(trace->events[e].what, what) == 0)
            return trace->events[e].at_h;
    return -1.0;
}

/* Upstream 12 t/h, downstream 10 t/h, 2.5 t between them, empty at the start: full after 2.5 / (12 - 10)
 * = 1.25 h; when the feed then stops, at 2 h, what follows runs on for 2.5 / 10 h. Source: closed form
 * (piecewise constant flows). */
static void a_bin_fills_by_the_difference_and_feeds_on_for_its_level(void **state)
{
    (void)state;
    static const char text[] = "evenfeed: 1\n"
                               "plant: {name: Test}\n"
                               "materials: {sound: {wanted: yes}}\n"
                               "crops: {wheat: {density: 0.8 t/m3, receipt: {sound: rest}}}\n"
                               "stations:\n"
                               "  Pit:\n"
                               "    kind: intake\n"
                               "    capacity: 12 t/h\n"
                               "    stops: {jam: {every: 2 h, lasts: 30 min}}\n"
                               "    to: Bin\n"
                               "  Bin: {kind: bin, live volume: 3.125 m3, start level: 0 %, to: Deck}\n"
                               "  Deck: {kind: machine, capacity: 10 t/h, steady feed: 2 %, to: Seed}\n"
                               "  Seed: {kind: outlet, product: yes}\n";
    ef_scenario *scenario = plant_read(text);
    ef_trace_settings settings = ef_trace_defaults(scenario);
    settings.hours = 2.5;
    ef_trace *trace = trace_of(scenario, settings);
    assert_near_absolute(first_event(trace, "Bin", "full"), 1.25, 1e-9);
    assert_near_absolute(first_event(trace, "Bin", "empty"), 2.25, 1e-9);
    /* short of 10 t/h for the quarter of an hour that the bin did not cover */
    for (int s = 0; s < trace->station_count; s++)
        if (strcmp(trace->stations[s].name, "Deck") == 0)
            assert_near_absolute(trace->stations[s].shortfall_t, 2.5, 1e-9);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(without_stops_every_bundled_line_settles_at_its_balance),
        cmocka_unit_test(every_hour_of_a_station_is_given_to_one_state),
        cmocka_unit_test(events_come_in_order_and_levels_stay_in_their_bins),
        cmocka_unit_test(the_same_seed_gives_the_same_stretch_and_another_seed_another),
        cmocka_unit_test(a_bin_fills_by_the_difference_and_feeds_on_for_its_level),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
