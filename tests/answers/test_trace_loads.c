/* SPDX-License-Identifier: GPL-3.0-or-later
 * Loads at an intake and machines that work batch by batch, against hand-worked queues and cycles. */
#include "../lib/near.h"
#include "../lib/traces.h"

#include <evenfeed/balance.h>
#include <evenfeed/trace.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/* Drawn amounts lie on a grid of 2^-20. */
#define GRID 2e-6

/* The hours of all events of one sort at one station; how many there are. */
static int hours_of(const ef_trace *trace, const char *station, const char *what, double *at_h, int most)
{
    int count = 0;
    for (int e = 0; e < trace->event_count; e++)
        if (trace->events[e].station && strcmp(trace->events[e].station, station) == 0 &&
            strcmp(trace->events[e].what, what) == 0 && count < most)
            at_h[count++] = trace->events[e].at_h;
    return count;
}

static void check_hours(const ef_trace *trace, const char *station, const char *what, const double *expected,
                        int count)
{
    double at_h[64] = {0.0};
    assert_true(hours_of(trace, station, what, at_h, 64) >= count);
    for (int i = 0; i < count; i++)
        assert_near_absolute(at_h[i], expected[i], 8.0 * GRID);
}

/* A load of 4 t every 10 min; a pit takes 20 min for one. One pit: load n comes at n/6 h and is done at 1/6 +
 * n/3 h. Two pits: each is done 20 min after it came. */
static void two_pits_take_two_loads_at_a_time(void **state)
{
    (void)state;
    static const double one[] = {0.5, 5.0 / 6.0, 7.0 / 6.0, 1.5};
    static const double two[] = {0.5, 4.0 / 6.0, 5.0 / 6.0, 1.0, 7.0 / 6.0};
    for (int pits = 1; pits <= 2; pits++) {
        char stations[512];
        (void)snprintf(
            stations, sizeof stations,
            "  Pit: {kind: intake, capacity: 12 t/h, count: %d, receipts: {load: 4 t, every: 10 min, "
            "form: fixed}, to: Shed}\n"
            "  Shed: {kind: outlet, product: yes}\n",
            pits);
        ef_scenario *scenario = plant_read_stations(stations, "");
        ef_trace *trace = trace_for(scenario, 2.0);
        check_hours(trace, "Pit", "dumped", pits == 1 ? one : two, pits == 1 ? 4 : 5);
        /* in the second hour two pits are both busy all the time: 24 t, one takes 12 t */
        assert_near_absolute(trace->intake_t,
                             pits == 1 ? 12.0 * (2.0 - 1.0 / 6.0) : 12.0 / 6.0 + 24.0 * (2.0 - 2.0 / 6.0),
                             1e-3);
        ef_trace_free(trace);
        ef_scenario_free(scenario);
    }
}

/* At most one load waits: of those at 10, 20, 30, 40, 50, 60 min the first is tipped until 40 min, the second
 * waits from 20, that of 30 is turned away, that of 40 comes as the second begins and waits, those of 50 and
 * 60 are turned away. */
static void loads_beyond_the_queue_are_turned_away(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read_stations(
        "  Pit: {kind: intake, capacity: 12 t/h, receipts: {load: 6 t, every: "
        "10 min, form: fixed, queue: 1}, to: "
        "Shed}\n"
        "  Shed: {kind: outlet, product: yes}\n",
        "");
    ef_trace *trace = trace_for(scenario, 1.1);
    assert_int_equal(trace->receipts_count, 1);
    assert_int_equal(trace->receipts[0].arrivals, 6);
    assert_int_equal(trace->receipts[0].turned_away, 3);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

/* A bin of 16 t that starts empty, nothing leaves it for the first hours: 10 t fit, of the next 10 t 4 t are
 * spilled. */
static void loads_tipped_at_once_spill_what_does_not_fit(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read_stations(
        "  Pit: {kind: intake, capacity: 60 t/h, receipts: {load: 10 t, "
        "every: 1 h, form: fixed, instant: yes}, to: "
        "Bin}\n"
        "  Bin: {kind: bin, live volume: 20 m3, start level: 0 %, to: Mill}\n"
        "  Mill: {kind: machine, capacity: 10 t/h, to: Shed}\n"
        "  Shed: {kind: outlet, product: yes}\n",
        "recorded stops: {shut: {station: Mill, from: 0 h, to: 12 h}}\n");
    ef_trace *trace = trace_for(scenario, 2.5);
    assert_near_absolute(trace->receipts[0].spilled_t, 4.0, 1e-9);
    assert_near_absolute(trace->level_t[trace->level_count - 1], 16.0, 1e-12);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

/* From 08:00 to 10:00 of a plant that works from 06:00 to 14:00, one load every 45 min of these hours: 08:45,
 * 09:30, and 15 min of the next day on: 08:15, 09:00, 09:45. The stretch begins at 06:00. Without hours of
 * their own they come while the plant is open; at all hours they wait at its gate. */
static void loads_come_in_their_hours(void **state)
{
    (void)state;
    static const char *const hours[] = {", from: 08:00, to: 10:00", "", ", all hours: yes"};
    static const double expected[3][5] = {
        {2.75, 3.5, 26.25, 27.0, 27.75}, {0.75, 1.5, 2.25, 3.0, 3.75}, {0.75, 1.5, 2.25, 3.0, 3.75}};
    /* 8 open hours and 6.1 of the next day hold 18 times 45 min, 30.1 h hold 40 */
    static const int arrivals[] = {5, 18, 40};
    for (int i = 0; i < 3; i++) {
        char stations[512];
        (void)snprintf(
            stations, sizeof stations,
            "  Pit: {kind: intake, capacity: 12 t/h, receipts: {load: 3 t, every: 45 min, form: fixed%s}, "
            "to: Shed}\n"
            "  Shed: {kind: outlet, product: yes}\n",
            hours[i]);
        ef_scenario *scenario = plant_read_stations(
            stations, "calendar: {start: 2026-09-07, shifts: {day: {from: 06:00, to: 14:00}}}\n");
        ef_trace *trace = trace_for(scenario, 30.1);
        check_hours(trace, "Pit", "arrived", expected[i], 5);
        assert_int_equal(trace->receipts[0].arrivals, arrivals[i]);
        ef_trace_free(trace);
        ef_scenario_free(scenario);
    }
}

/* Lorries of 24 t, 3 of 4 loads, trailers of 9 t, 1 of 4: a mean of 20.25 t with a deviation of 6.495 t. Over
 * n loads the mean lies within 4 deviations / sqrt(n). Source: central limit theorem; a wrong share of 20 or
 * 30 % would be 12 deviations off. */
static void sorts_of_load_come_in_their_shares(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read_stations(
        "  Pit: {kind: intake, capacity: 1000 t/h, receipts: {every: 30 min, "
        "sorts: {lorry: {load: 24 t, share: 75 "
        "%}, trailer: {load: 9 t, share: 25 %}}}, to: Shed}\n"
        "  Shed: {kind: outlet, product: yes}\n",
        "");
    ef_trace *trace = trace_for(scenario, 8000.0);
    const double loads = (double)trace->receipts[0].arrivals;
    assert_true(loads > 15000.0);
    assert_near_absolute(trace->intake_t / loads, 20.25, 4.0 * 6.495 / sqrt(loads) + 24.0 / loads);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

/* 450 kg at 30 t/h: 54 s to fill, 72 s of work, 54 s to empty: 3 min a batch, 9 t/h. */
static void batches_take_their_cycle(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read_stations(
        "  Pit: {kind: intake, capacity: 40 t/h, to: Bin}\n"
        "  Bin: {kind: bin, live volume: 5 m3, to: Treater}\n"
        "  Treater: {kind: treater, batch: {charge: 450 kg, fill rate: 30 "
        "t/h, work: 72 s, discharge rate: 30 t/h}, "
        "to: Shed}\n"
        "  Shed: {kind: outlet, product: yes, use: seed}\n",
        "");
    ef_balance_settings settings = ef_balance_defaults();
    ef_balance *balance;
    assert_int_equal(ef_balance_solve(scenario, &settings, &balance), EF_OK);
    assert_near_relative(balance->crops[0].intake.total_tph, 9.0, 1e-9);
    ef_balance_free(balance);
    static const double charged[] = {0.015, 0.065, 0.115};
    static const double worked[] = {0.035, 0.085, 0.135};
    static const double discharged[] = {0.05, 0.1, 0.15};
    ef_trace *trace = trace_for(scenario, 100.01);
    check_hours(trace, "Treater", "charged", charged, 3);
    check_hours(trace, "Treater", "worked", worked, 3);
    check_hours(trace, "Treater", "discharged", discharged, 3);
    assert_near_absolute(trace->product_t, 900.0, 0.03);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(two_pits_take_two_loads_at_a_time),
        cmocka_unit_test(loads_beyond_the_queue_are_turned_away),
        cmocka_unit_test(loads_tipped_at_once_spill_what_does_not_fit),
        cmocka_unit_test(loads_come_in_their_hours),
        cmocka_unit_test(sorts_of_load_come_in_their_shares),
        cmocka_unit_test(batches_take_their_cycle),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
