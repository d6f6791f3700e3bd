/* SPDX-License-Identifier: GPL-3.0-or-later
 * Simulated stretches against published figures and closed forms of surge bins, legs and losses. Precision of
 * each beside it; times are drawn on a grid of 2^-20 h. */
#include "../lib/near.h"
#include "../lib/traces.h"

#include <evenfeed/trace.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

static ef_scenario *read_plant(const char *density, const char *materials, const char *receipt,
                               const char *stations)
{
    char text[4096];
    const int length = snprintf(text, sizeof text,
                                "evenfeed: 1\nplant: {name: Test}\nmaterials: {%s}\n"
                                "crops: {wheat: {density: %s, receipt: {%s}}}\nstations:\n%s",
                                materials, density, receipt, stations);
    assert_true(length > 0 && (size_t)length < sizeof text);
    return plant_read(text);
}

static ef_scenario *read_seed(const char *density, const char *stations)
{
    return read_plant(density, "seed: {wanted: yes}", "seed: rest", stations);
}

/* A leg at 47 t/h: 38 s carry 0.496 t and 76 s 0.992 t, "the first metric ton". Source: Transactions of the
 * ASAE 46(6), 1625-1631, 2003 (grain commingling in a bucket elevator leg); the tonnes are 47/3600 t/s x s.
 */
static void what_a_leg_carries_comes_off_after_its_travel_time(void **state)
{
    (void)state;
    ef_scenario *scenario = read_seed("0.75 t/m3",
                                      "  Pit: {kind: intake, capacity: 47 t/h, to: Leg}\n"
                                      "  Leg: {kind: elevator, capacity: 47 t/h, travel time: 38 s, "
                                      "to: Shed}\n"
                                      "  Shed: {kind: outlet, product: yes}\n");
    ef_trace *trace = trace_for(scenario, 76.0 / 3600.0);
    assert_near_absolute(trace->intake_t, 0.992, 0.0005);
    assert_near_absolute(trace->product_t, 0.496, 0.0005);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

/* A quarter of an hour at 10 t/h: 2.5 t, of wheat at 772.31 kg/m3 3.237 m3 (rounded to the litre). The bin,
 * full, feeds for a quarter of an hour when nothing comes. Source: trade rule, common practice; closed form.
 */
static void a_bin_by_the_quarter_hour_rule_feeds_for_a_quarter_of_an_hour(void **state)
{
    (void)state;
    ef_scenario *scenario = read_seed(
        "772.31 kg/m3", "  Pit: {kind: intake, capacity: 12 t/h, to: Bin, stops: {out: {every: 1 h, "
                        "lasts: 30 min}}}\n"
                        "  Bin: {kind: bin, live volume: 3.237 m3, start level: 100 %, to: Deck}\n"
                        "  Deck: {kind: machine, capacity: 10 t/h, steady feed: 2 %, to: Shed}\n"
                        "  Shed: {kind: outlet, product: yes}\n");
    ef_trace *trace = trace_for(scenario, 1.4);
    assert_near_absolute(trace->bins[0].full_t, 2.5, 0.0005);
    assert_near_absolute(trace_event_h(trace, "Bin", "empty", 0), 1.25, 0.00005);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

/* Upstream 12 t/h, downstream 10 t/h, a bin of 2.5 t, upstream on and off between half and 70 %: 0.5 t at 2
 * t/h is 0.25 h on, at 10 t/h 0.05 h off. What lies below half is not drawn on, so the bin here holds 1.75 t
 * and refills from 1.25 t. Source: closed form. */
static void on_and_off_between_two_levels_keeps_its_cycle(void **state)
{
    (void)state;
    ef_scenario *scenario = read_seed("1 t/m3",
                                      "  Pit: {kind: intake, capacity: 12 t/h, to: Bin}\n"
                                      "  Bin: {kind: bin, live volume: 1.75 m3, start level: 5/7, refill "
                                      "level: 5/7, to: Deck}\n"
                                      "  Deck: {kind: machine, capacity: 10 t/h, to: Shed}\n"
                                      "  Shed: {kind: outlet, product: yes}\n");
    ef_trace *trace = trace_for(scenario, 30.1);
    for (int cycle = 0; cycle < 100; cycle++) {
        assert_near_absolute(trace_event_h(trace, "Bin", "full", cycle), 0.30 * cycle + 0.25,
                             1e-9 * (cycle + 1));
        assert_near_absolute(trace_event_h(trace, "Bin", "refill level", cycle), 0.30 * (cycle + 1),
                             1e-9 * (cycle + 1));
    }
    /* a duty of 10/12 */
    assert_near_absolute(trace_station(trace, "Pit")->state_h[0] / 30.1, 10.0 / 12.0, 0.005);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

/* A screen change of 6 min at 10 t/h needs 1.0 t; with 0.9 t the feed is short of 0.1 t. Source: closed form.
 */
static void a_screen_change_is_covered_by_its_minutes_of_feed(void **state)
{
    (void)state;
    static const char *const volumes[] = {"1.0001", "0.9"};
    static const double short_t[] = {0.0, 0.1};
    for (int i = 0; i < 2; i++) {
        char stations[512];
        (void)snprintf(
            stations, sizeof stations,
            "  Pit: {kind: intake, capacity: 12 t/h, to: Cleaner}\n"
            "  Cleaner: {kind: machine, capacity: 12 t/h, to: Bin, stops: {screens: {every: 4 h, lasts: 6 "
            "min}}}\n"
            "  Bin: {kind: bin, live volume: %s m3, start level: 100 %%, to: Deck}\n"
            "  Deck: {kind: machine, capacity: 10 t/h, steady feed: 2 %%, to: Shed}\n"
            "  Shed: {kind: outlet, product: yes}\n",
            volumes[i]);
        ef_scenario *scenario = read_seed("1 t/m3", stations);
        ef_trace *trace = trace_for(scenario, 5.0);
        assert_near_absolute(trace_station(trace, "Deck")->shortfall_t, short_t[i], 1e-4);
        ef_trace_free(trace);
        ef_scenario_free(scenario);
    }
}

/* Losses of 1, 5, 2, 3 and 1 % of the feed of each stage leave 0.99 x 0.95 x 0.98 x 0.97 x 0.99 = 0.88510: 10
 * t/h in are 8.851 t/h at the bagger, and 10 t/h bagged need 11.298 t/h. Source: closed
 * form. */
static void losses_of_stages_multiply(void **state)
{
    (void)state;
    ef_scenario *scenario = read_plant("0.75 t/m3", "seed: {wanted: yes}", "seed: rest",
                                       "  Pit: {kind: intake, capacity: 10 t/h, to: One}\n"
                                       "  One: {kind: scalper, capacity: 20 t/h, discharges: {a: {takes: "
                                       "{seed: 1 %}, to: Out}, b: {takes: rest, to: "
                                       "Two}}}\n"
                                       "  Two: {kind: air-screen cleaner, capacity: 20 t/h, discharges: {a: "
                                       "{takes: {seed: 5 %}, to: Out}, b: {takes: "
                                       "rest, to: Three}}}\n"
                                       "  Three: {kind: length grader, capacity: 20 t/h, discharges: {a: "
                                       "{takes: {seed: 2 %}, to: Out}, b: {takes: "
                                       "rest, to: Four}}}\n"
                                       "  Four: {kind: width grader, capacity: 20 t/h, discharges: {a: "
                                       "{takes: {seed: 3 %}, to: Out}, b: {takes: "
                                       "rest, to: Five}}}\n"
                                       "  Five: {kind: optical sorter, capacity: 20 t/h, discharges: {a: "
                                       "{takes: {seed: 1 %}, to: Out}, b: {takes: "
                                       "rest, to: Bags}}}\n"
                                       "  Out: {kind: outlet}\n"
                                       "  Bags: {kind: outlet, product: yes}\n");
    ef_trace *trace = trace_for(scenario, 10.0);
    assert_near_absolute(trace->intake_t, 100.0, 1e-9);
    assert_near_absolute(trace->product_t / 10.0, 8.851, 0.0005);
    assert_near_absolute(10.0 * trace->intake_t / trace->product_t, 11.298, 0.0005);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_a_leg_carries_comes_off_after_its_travel_time),
        cmocka_unit_test(a_bin_by_the_quarter_hour_rule_feeds_for_a_quarter_of_an_hour),
        cmocka_unit_test(on_and_off_between_two_levels_keeps_its_cycle),
        cmocka_unit_test(a_screen_change_is_covered_by_its_minutes_of_feed),
        cmocka_unit_test(losses_of_stages_multiply),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
