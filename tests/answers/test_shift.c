/* SPDX-License-Identifier: GPL-3.0-or-later
 * The shift of a scenario: closed solutions, the calendar's hours, the same for any number of threads, memory
 * that runs out. Every answer here passes through its verifier too. */
#include "../lib/near.h"
#include "../lib/shifts.h"

#include "base/memory.h"

#include <evenfeed/report.h>
#include <evenfeed/shift.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/* ---- shifts on their own --------------------------------------------------------------------------------
 */

static void timed_stops_give_the_tonnes_and_the_cost_by_hand(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(shifts_timed);
    ef_shift *shift = shift_for(scenario, 4);
    const ef_shift_station *cleaner = shift_station(shift, "Cleaner");
    assert_near_absolute(cleaner->hours[EF_SHIFT_OWN_STOP], 2.0, 1e-12);
    assert_near_absolute(cleaner->planned_h, 2.0, 1e-12);
    assert_near_absolute(cleaner->hours[EF_SHIFT_FULL_RATE], 6.0, 1e-12);
    assert_near_absolute(shift->groups[0].streams[0].p50_t.value, 60.0, 1e-9);
    assert_near_absolute(shift->groups[0].streams[1].p10_t.value, 54.0, 1e-9);
    assert_near_absolute(shift->availability, 0.75, 1e-12);
    assert_near_absolute(shift->effectiveness, 0.75, 1e-12);
    assert_near_absolute(shift->planning_rate_tph, 7.5, 1e-12);
    /* 6 h at 4 kW and 60 t at 2 kWh/t; 3 people for 8 h; 6 t of chaff bought at 100 and sold at 50 */
    const ef_shift_cost *cost = &shift->cost;
    assert_near_absolute(cost->idle_kwh, 24.0, 1e-9);
    assert_near_absolute(cost->load_kwh, 120.0, 1e-9);
    assert_near_absolute(cost->power, 72.0, 1e-9);
    assert_near_absolute(cost->crew, 480.0, 1e-9);
    assert_near_absolute(cost->shrink, 600.0, 1e-9);
    assert_near_absolute(cost->rejects, 300.0, 1e-9);
    assert_near_absolute(cost->per_t, (72.0 + 480.0 + 600.0 - 300.0) / 54.0, 1e-9);
    /* half as long: an hour more */
    const ef_shift_remedy *remedy = shift_remedy(shift, "Cleaner", "brush");
    assert_near_absolute(remedy->gain_t.value, 9.0, 1e-9);
    assert_near_absolute(remedy->now, 0.5, 1e-12);
    assert_near_absolute(remedy->then, 0.25, 1e-12);
    ef_shift_free(shift);
    ef_scenario_free(scenario);
}

/* Two crops, of which only the second has the stop after tonnes: the first crop's stops keep their names. */
static const char by_crop[] =
    "evenfeed: 1\nplant: {name: Two crops}\nmaterials: {seed: {wanted: yes}}\n"
    "crops: {wheat: {receipt: {seed: 100 %}}, barley: {receipt: {seed: 100 %}}}\nstations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, to: Cleaner}\n"
    "  Cleaner: {kind: machine, capacity: 10 t/h, to: Shed,\n"
    "    stops: {dust: {after: {barley: 20 t}, lasts: 6 min}, choke: {between: 5 h, lasts: 30 min}}}\n"
    "  Shed: {kind: outlet, product: yes}\n";

static void remedies_name_the_stop_that_was_shortened(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(by_crop);
    ef_shift *shift = shift_for(scenario, 50);
    assert_int_equal(shift->remedy_count, 1);
    assert_string_equal(shift->remedies[0].stop, "choke");
    ef_shift_free(shift);
    ef_scenario_free(scenario);
}

static const char locked[] =
    "evenfeed: 1\nplant: {name: Locked}\nmaterials: {seed: {wanted: yes}}\n"
    "crops: {wheat: {receipt: {seed: 100 %}}}\nstations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, to: Cleaner}\n"
    "  Cleaner: {kind: machine, capacity: 10 t/h, to: Shed,\n"
    "    stops: {choke: {every: 4 h, lasts: 30 min, lasts form: fixed, lock-out: 24 min}}}\n"
    "  Shed: {kind: outlet, product: yes}\n";

static void a_stop_is_never_shortened_below_its_lock_out(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(locked);
    ef_shift *shift = shift_for(scenario, 2);
    assert_true(shift->remedies[0].held_by_lockout);
    assert_near_absolute(shift->remedies[0].then, 0.4, 1e-12);
    /* two stops a shift, each 6 min shorter, at 10 t/h */
    assert_near_absolute(shift->remedies[0].gain_t.value, 2.0,
                         1e-4); /* drawn lengths lie on a grid of 2^-20 h */
    ef_shift_free(shift);
    ef_scenario_free(scenario);
}

static const char entered[] =
    "evenfeed: 1\nplant: {name: Entered}\nmaterials: {seed: {wanted: yes}}\n"
    "crops: {wheat: {receipt: {seed: 100 %}}}\nstations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, to: Cleaner}\n"
    "  Cleaner: {kind: machine, capacity: 10 t/h, to: Shed,\n"
    "    stops: {bridged: {every: 4 h, lasts: 60 min, lock-out: 15 min, bin entry: 33 min}}}\n"
    "  Shed: {kind: outlet, product: yes}\n";

/* Neither 15 nor 33 min are more than half of 60 min, but nobody enters before all is locked out: 48 min. */
static void a_stop_with_a_bin_entry_takes_lock_out_and_entry(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(entered);
    ef_shift *shift = shift_for(scenario, 2);
    const ef_shift_remedy *remedy = &shift->remedies[0];
    assert_true(remedy->held_by_lockout);
    assert_near_absolute(remedy->bin_entry_h, 0.55, 1e-12);
    assert_near_absolute(remedy->now, 1.0, 1e-12);
    assert_near_absolute(remedy->then, 0.8, 1e-12);
    /* two stops a shift, each 12 min shorter, at 10 t/h */
    assert_near_absolute(remedy->gain_t.value, 4.0, 1e-4);
    ef_shift_free(shift);
    ef_scenario_free(scenario);
}

/* A load of 20 t every 4 h for a line of 10 t/h: half of the time there is nothing, and it is nobody's stop.
 */
static const char loads[] =
    "evenfeed: 1\nplant: {name: Loads}\nmaterials: {seed: {wanted: yes}}\n"
    "crops: {wheat: {density: 0.8 t/m3, receipt: {seed: 100 %}}}\nstations:\n"
    "  Pit: {kind: intake, capacity: 10 t/h, receipts: {load: 20 t, every: 4 h, form: fixed}, to: Bin}\n"
    "  Bin: {kind: bin, live volume: 2 m3, start level: 0 %, to: Cleaner}\n"
    "  Cleaner: {kind: machine, capacity: 10 t/h, to: Shed}\n"
    "  Shed: {kind: outlet, product: yes}\n";

static void want_of_loads_is_no_material_all_along_the_line(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(loads);
    ef_shift *shift = shift_for(scenario, 3);
    static const char *const names[] = {"Pit", "Cleaner", "Shed"};
    for (size_t i = 0; i < 3; i++) {
        const ef_shift_station *station = shift_station(shift, names[i]);
        assert_near_absolute(station->hours[EF_SHIFT_NO_MATERIAL], 4.0, 1e-9);
        assert_near_absolute(station->hours[EF_SHIFT_STARVED], 0.0, 1e-9);
    }
    ef_shift_free(shift);
    ef_scenario_free(scenario);
}

/* A stop of the cleaner starves what follows, though loads are there. */
static void a_stop_before_it_leaves_a_station_starved(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(shifts_timed);
    ef_shift *shift = shift_for(scenario, 2);
    assert_near_absolute(shift_station(shift, "Shed")->hours[EF_SHIFT_STARVED], 2.0, 1e-9);
    assert_near_absolute(shift_station(shift, "Pit")->hours[EF_SHIFT_BLOCKED], 2.0, 1e-9);
    ef_shift_free(shift);
    ef_scenario_free(scenario);
}

/* One screen changed after every 12 h of work, 24 min each, at 10 t/h: 80 t x 12 / 12.4 a shift in the long
 * run, whichever shifts of the run the changes fall into, and however many a shift sees. */
static const char cycle[] =
    "evenfeed: 1\nplant: {name: Cycle}\nmaterials: {seed: {wanted: yes}}\n"
    "crops: {wheat: {receipt: {seed: 100 %}}}\nstations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, to: Cleaner}\n"
    "  Cleaner: {kind: machine, capacity: 10 t/h, to: Shed,\n"
    "    stops: {screens: {every: 12 h, counts: running, lasts: 24 min, lasts form: fixed}}}\n"
    "  Shed: {kind: outlet, product: yes}\n";

static void limits_hold_the_mean_of_the_long_run(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(cycle);
    for (int single = 0; single < 2; single++) {
        ef_shift_settings settings = ef_shift_defaults();
        settings.single = single;
        settings.shifts = 4000;
        settings.remedies = false;
        ef_shift *shift = shift_of(scenario, settings);
        const ef_shift_estimate mean = shift->groups[0].streams[1].mean_t;
        assert_int_equal(shift->runs, single ? 4000 : 80);
        assert_int_equal(shift->parts, single ? 1 : 50);
        assert_near_absolute(shift->counted_h, 8.0, 0.0);
        assert_near_absolute(mean.value, 80.0 * 12.0 / 12.4, 2.0 * (mean.high - mean.low));
        /* 50 shifts see 32 or 33 changes of 4 t: runs differ by 4/50 t, single shifts by 4 t */
        assert_true(mean.high - mean.low < (single ? 0.15 : 0.02));
        assert_near_absolute(shift_station(shift, "Cleaner")->hours[EF_SHIFT_OWN_STOP], 8.0 * 0.4 / 12.4,
                             0.01);
        ef_shift_free(shift);
    }
    ef_scenario_free(scenario);
}

/* Mean product of the shifts of all runs from `first` on, `count` of them, t. */
static double mean_of_shifts(const ef_shift *shift, int first, int count)
{
    double sum = 0.0;
    for (int o = 0; o < shift->outlet_count; o++)
        for (int r = 0; r < shift->runs && shift->is_product[o]; r++)
            for (int p = first; p < first + count; p++)
                sum += shift->outlet_t[((size_t)o * (size_t)shift->runs + (size_t)r) *
                                           (size_t)shift->period_count +
                                       (size_t)p];
    return sum / shift->runs / count;
}

/*
 * The first shifts that count must make what the last ones make. Here the screens stop every 3 running hours,
 * at four fifths of their capacity every 4 h or so, and the deck every 8 h: it takes some 25 shifts until
 * they are in step, and the line makes 0.8 % more then. The standard error of either mean is 0.02 % or so.
 */
static void the_warm_up_lasts_until_stops_are_in_step(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/clover-grass-seed.yaml");
    ef_shift_settings settings = ef_shift_defaults();
    settings.crop = ef_scenario_find_crop(scenario, "ryegrass");
    settings.shifts = 10000;
    settings.remedies = false;
    ef_shift *shift = shift_of(scenario, settings);
    const double last_t = mean_of_shifts(shift, 40, 10);
    assert_near_absolute(mean_of_shifts(shift, 0, 10), last_t, 0.0015 * last_t);
    ef_shift_free(shift);
    ef_scenario_free(scenario);
}

/* By hand: 400 m3 at 0.75 t/m3 hold 300 t, which pass in 30 h at 10 t/h; three times that, made up to whole
 * shifts of 8 h, are 96 h. Half as much as the least of ten shifts. A bin without end counts for a hundred
 * shifts. */
static void large_bins_take_longer_to_warm_up(void **state)
{
    (void)state;
    static const struct {
        double live_m3, warm_up_h;
    } cases[] = {{200.0, 80.0}, {400.0, 96.0}, {40000.0, 800.0}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[1000];
        (void)snprintf(text, sizeof text,
                       "evenfeed: 1\nplant: {name: Store}\nmaterials: {seed: {wanted: yes}}\n"
                       "crops: {wheat: {density: 0.75 t/m3, receipt: {seed: 100 %%}}}\nstations:\n"
                       "  Pit: {kind: intake, capacity: 40 t/h, to: Store}\n"
                       "  Store: {kind: bin, live volume: %g m3, to: Cleaner}\n"
                       "  Cleaner: {kind: machine, capacity: 10 t/h, to: Shed}\n"
                       "  Shed: {kind: outlet, product: yes}\n",
                       cases[i].live_m3);
        ef_scenario *scenario = plant_read(text);
        ef_shift_settings settings = ef_shift_defaults();
        settings.runs = 2;
        settings.remedies = false;
        ef_shift *shift = shift_of(scenario, settings);
        assert_near_absolute(shift->warm_up_h, cases[i].warm_up_h, 1e-9);
        ef_shift_free(shift);
        ef_scenario_free(scenario);
    }
}

/* Crews, a travel time, a stop at a time of the day, recorded stops: all in one week. */
static const char everything[] =
    "evenfeed: 1\nplant: {name: Everything, people: 4}\nmaterials: {seed: {wanted: yes}}\n"
    "crops: {wheat: {density: 0.8 t/m3, receipt: {seed: 100 %}}}\n"
    "crews: {fitter: {teams: 1}}\nstations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, receipts: {load: 20 t, every: 3 h, queue: 1}, to: Leg}\n"
    "  Leg: {kind: belt conveyor, capacity: 12 t/h, travel time: 90 s, to: Bin}\n"
    "  Bin: {kind: bin, live volume: 10 m3, restart level: 20 %, to: Mill}\n"
    "  Mill: {kind: machine, capacity: 10 t/h, to: Bin 2, stops: {choke: {between: 2 h, lasts: 30 min, crew: "
    "fitter},\n"
    "    look: {at: 10:00, days: mon, lasts: 6 min, lasts form: fixed}}}\n"
    "  Bin 2: {kind: bin, live volume: 4 m3, to: Bagger}\n"
    "  Bagger: {kind: bagger, capacity: 11 t/h, to: Shed, stops: {needle: {between: 2 h, lasts: 30 min, "
    "crew: fitter}}}\n"
    "  Shed: {kind: outlet, product: yes}\n"
    "recorded stops: {power cut: {station: [Mill, Bagger], from: 2026-09-01T08:00, to: 2026-09-01T09:00}}\n"
    "calendar: {start: 2026-08-31, shifts: {day: {days: mon-fri, from: 06:00, to: 14:00}}}\n";

/* What goes by the time of the day needs the shift to begin when work does. */
static void stops_by_the_clock_keep_shifts_single(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(everything);
    ef_shift_settings settings = ef_shift_defaults();
    settings.without_calendar = true;
    settings.remedies = false;
    settings.shifts = 3;
    ef_shift *shift = shift_of(scenario, settings);
    assert_int_equal(shift->period_count, 1);
    assert_int_equal(shift->runs, 3);
    ef_shift_free(shift);
    settings.shifts = 1; /* two runs at the least, or there are no limits */
    shift = shift_of(scenario, settings);
    assert_int_equal(shift->runs, 2);
    ef_shift_free(shift);
    ef_scenario_free(scenario);
}

/* ---- weeks ----------------------------------------------------------------------------------------------
 */

static const char weeks[] =
    "evenfeed: 1\nplant: {name: Weeks, people: 4, labour price: 10 EUR/h}\n"
    "materials: {seed: {wanted: yes}}\n"
    "crops: {wheat: {density: 0.8 t/m3, receipt: {seed: 100 %}}}\nstations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, to: Cleaner}\n"
    "  Cleaner: {kind: machine, capacity: 10 t/h, to: Bin}\n"
    "  Bin: {kind: bin, live volume: 10 m3, to: Bagger}\n"
    "  Bagger: {kind: bagger, capacity: 10 t/h, to: Shed}\n"
    "  Shed: {kind: outlet, product: yes}\n"
    "calendar:\n  start: 2026-08-31\n  shifts:\n"
    "    early: {days: mon-fri, from: 06:00, to: 14:00}\n"
    "    night: {days: mon-fri, from: 22:00, to: 06:00, people: 3}\n"
    "  breaks: {breakfast: {from: 09:00, to: 09:15}, meal: {from: 02:00, to: 02:30}}\n"
    "  holidays: {Harvest Monday: {date: 2026-09-07}}\n"
    "  overtime: {rush: {date: 2026-09-05, from: 07:00, to: 12:00, price factor: 1.5, cost: 60 EUR/h}}\n"
    "  maintenance: {Belts: {days: fri, from: 12:30, to: 14:00, weeks: 2, stations: [Cleaner]}}\n";

static void weeks_follow_the_calendar(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(weeks);
    ef_shift_settings settings = ef_shift_defaults();
    settings.runs = 2;
    settings.days = 14;
    ef_shift *shift = shift_of(scenario, settings);
    /* 9 early shifts (a holiday), 9 nights, and the overtime; the Friday night of the second week ends on
     * Saturday */
    assert_int_equal(shift->period_count, 19);
    assert_int_equal(shift_group(shift, "early")->per_run, 9);
    assert_int_equal(shift_group(shift, "night")->per_run, 9);
    assert_int_equal(shift_group(shift, "rush")->per_run, 1);
    assert_int_equal(shift_group(shift, "day")->per_run, 10);
    assert_int_equal(shift_group(shift, "week")->per_run, 2);
    /* 10 t/h for 7 h 45 min, 7 h 30 min, 5 h less breakfast */
    assert_near_absolute(shift_group(shift, "early")->streams[1].p90_t.value, 77.5, 1e-9);
    assert_near_absolute(shift_group(shift, "night")->streams[1].p50_t.value, 75.0, 1e-9);
    assert_near_absolute(shift_group(shift, "rush")->streams[1].p50_t.value, 47.5, 1e-9);
    /* on two Fridays out of two weeks one maintenance: 1.5 h of the cleaner, bridged by 4 t of the half-full
     * bin */
    const ef_shift_station *cleaner = shift_station(shift, "Cleaner");
    assert_near_absolute(cleaner->hours[EF_SHIFT_OWN_STOP], 1.5, 1e-9);
    assert_near_absolute(cleaner->planned_h, 1.5, 1e-9);
    assert_near_absolute(cleaner->hours[EF_SHIFT_BREAK], 9 * 0.25 + 9 * 0.5 + 0.25, 1e-9);
    assert_near_absolute(cleaner->hours[EF_SHIFT_CLOSED], 336.0 - 9 * 8.0 - 9 * 8.0 - 5.0, 1e-9);
    /* crews: 4 for the early shifts, 3 at night, 4 at one and a half for the overtime */
    assert_near_absolute(shift->cost.crew_h, 9 * 32.0 + 9 * 24.0 + 20.0, 1e-9);
    assert_near_absolute(shift->cost.paid_h, 9 * 32.0 + 9 * 24.0 + 30.0, 1e-9);
    assert_near_absolute(shift->cost.crew, 10.0 * (9 * 32.0 + 9 * 24.0 + 30.0) + 300.0, 1e-9);
    ef_shift_free(shift);
    ef_scenario_free(scenario);
}

static void weeks_may_begin_on_any_day_and_be_left_out(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(weeks);
    ef_shift_settings settings = ef_shift_defaults();
    settings.runs = 2;
    settings.days = 1;
    settings.has_from = true;
    settings.from_day = 20703; /* Monday 2026-09-07, the holiday */
    ef_shift *shift = NULL;
    assert_int_equal(ef_shift_run(scenario, &settings, &shift, NULL), EF_USAGE);
    settings.from_day += 4; /* Friday 2026-09-11 */
    shift = shift_of(scenario, settings);
    assert_int_equal(shift->period_count, 2);
    assert_string_equal(shift->periods[1].name, "night");
    assert_near_absolute(shift->periods[1].to_h, 30.0, 1e-12);
    ef_shift_free(shift);
    settings = ef_shift_defaults();
    settings.runs = 2;
    settings.without_calendar = true;
    shift = shift_of(scenario, settings);
    assert_int_equal(shift->period_count, 50);
    assert_near_absolute(shift->groups[0].streams[1].p50_t.value, 80.0, 1e-9);
    ef_shift_free(shift);
    ef_scenario_free(scenario);
}

/* ---- the bundled scenarios ------------------------------------------------------------------------------
 */

static void bundled_scenarios_pass_their_verifier(void **state)
{
    (void)state;
    static const char *const paths[] = {"scenarios/cereal-seed.yaml",
                                        "scenarios/soybean-seed.yaml",
                                        "scenarios/clover-grass-seed.yaml",
                                        "scenarios/pulses-export.yaml",
                                        "scenarios/examples/two-shifts.yaml",
                                        "scenarios/examples/week-and-cost.yaml",
                                        "scenarios/examples/batch-treater.yaml",
                                        "scenarios/examples/re-sort.yaml",
                                        "scenarios/examples/two-decks.yaml"};
    for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++) {
        ef_scenario *scenario = plant_load(paths[i]);
        for (int crop = 0; crop < ef_scenario_crops(scenario); crop++) {
            ef_shift_settings settings = ef_shift_defaults();
            settings.crop = crop;
            settings.runs = 12;
            ef_shift_free(shift_of(scenario, settings));
        }
        ef_scenario_free(scenario);
    }
}

static char *json_of(const ef_scenario *scenario, ef_shift_settings settings)
{
    ef_shift *shift = shift_of(scenario, settings);
    char *text;
    assert_int_equal(ef_report_shift_json(shift, &text), EF_OK);
    ef_shift_free(shift);
    return text;
}

static void threads_change_nothing(void **state)
{
    (void)state;
    ef_scenario *scenarios[] = {plant_read(everything), plant_read(everything)};
    for (int i = 0; i < 2; i++) {
        ef_shift_settings settings = ef_shift_defaults();
        settings.without_calendar = i == 0;
        settings.runs = i == 0 ? 1100 : 40;
        settings.precision = i == 0 ? 0.012 : 0.0;
        settings.threads = 1;
        char *one = json_of(scenarios[i], settings);
        settings.threads = 5;
        char *five = json_of(scenarios[i], settings);
        assert_string_equal(one, five);
        ef_report_free(one);
        ef_report_free(five);
        ef_scenario_free(scenarios[i]);
    }
}

static void precision_ends_the_runs_early_and_says_so(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(everything);
    ef_shift_settings settings = ef_shift_defaults();
    settings.without_calendar = true;
    settings.remedies = false;
    settings.precision = 0.03;
    ef_shift *loose = shift_of(scenario, settings);
    assert_true(loose->precise);
    assert_true(loose->reached <= 0.03);
    settings.precision = 0.015;
    ef_shift *tight = shift_of(scenario, settings);
    assert_true(tight->precise);
    assert_true(tight->runs > loose->runs);
    assert_true(tight->reached <= 0.015);
    /* the first runs are the same ones */
    assert_memory_equal(loose->intake_t, tight->intake_t, (size_t)loose->runs * sizeof(double));
    assert_memory_equal(loose->outlet_t, tight->outlet_t, (size_t)loose->runs * sizeof(double));
    settings.runs = 300;
    ef_shift *short_of = shift_of(scenario, settings);
    assert_false(short_of->precise);
    assert_int_equal(short_of->runs, 300);
    ef_shift_free(loose);
    ef_shift_free(tight);
    ef_shift_free(short_of);
    ef_scenario_free(scenario);
}

static void waiting_for_a_crew_is_an_account_of_its_own(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(everything);
    ef_shift_settings settings = ef_shift_defaults();
    settings.runs = 40;
    ef_shift *shift = shift_of(scenario, settings);
    assert_true(shift_station(shift, "Mill")->hours[EF_SHIFT_CREW] > 0.1);
    assert_true(shift_station(shift, "Bagger")->hours[EF_SHIFT_CREW] > 0.1);
    assert_true(shift_station(shift, "Mill")->hours[EF_SHIFT_OWN_STOP] > 1.1);
    assert_true(shift_station(shift, "Mill")->hours[EF_SHIFT_NO_MATERIAL] > 0.1);
    assert_int_equal(shift->remedy_count, 5); /* three stops and two bins; what is on record stays as it is */
    ef_shift_free(shift);
    settings.without_calendar = true;
    ef_shift_free(shift_of(scenario, settings));
    ef_scenario_free(scenario);
}

/* ---- what goes wrong ------------------------------------------------------------------------------------
 */

static void settings_out_of_range_are_refused(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(shifts_timed);
    ef_shift *shift = NULL;
    ef_shift_settings settings = ef_shift_defaults();
    settings.runs = 1;
    assert_int_equal(ef_shift_run(scenario, &settings, &shift, NULL), EF_USAGE);
    settings = ef_shift_defaults();
    settings.runs = settings.shifts = 100; /* one of the two */
    assert_int_equal(ef_shift_run(scenario, &settings, &shift, NULL), EF_USAGE);
    settings = ef_shift_defaults();
    settings.crop = 1;
    assert_int_equal(ef_shift_run(scenario, &settings, &shift, NULL), EF_USAGE);
    settings = ef_shift_defaults();
    settings.days = 7; /* without a calendar */
    assert_int_equal(ef_shift_run(scenario, &settings, &shift, NULL), EF_USAGE);
    settings = ef_shift_defaults();
    settings.precision = 1.0;
    assert_int_equal(ef_shift_run(scenario, &settings, &shift, NULL), EF_USAGE);
    assert_null(shift);
    ef_scenario_free(scenario);
}

static void memory_may_run_out_anywhere(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(weeks);
    ef_shift_settings settings = ef_shift_defaults();
    settings.runs = 2;
    settings.days = 7;
    settings.threads = 1;
    ef_status status = EF_MEMORY;
    for (long n = 1; status == EF_MEMORY && n < 100000; n++) {
        ef_shift *shift = NULL;
        char *text = NULL;
        char *differences = NULL;
        efi_memory_fail_at(n);
        status = ef_shift_run(scenario, &settings, &shift, NULL);
        if (status == EF_OK)
            status = ef_report_shift_text(shift, EF_UNITS_METRIC, &text);
        if (status == EF_OK)
            status = ef_shift_verify(scenario, shift, &differences);
        efi_memory_fail_at(0);
        assert_true(status == EF_OK || status == EF_MEMORY);
        assert_null(differences);
        ef_report_free(text);
        ef_shift_free(shift);
    }
    assert_int_equal(status, EF_OK);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(timed_stops_give_the_tonnes_and_the_cost_by_hand),
        cmocka_unit_test(remedies_name_the_stop_that_was_shortened),
        cmocka_unit_test(a_stop_is_never_shortened_below_its_lock_out),
        cmocka_unit_test(a_stop_with_a_bin_entry_takes_lock_out_and_entry),
        cmocka_unit_test(want_of_loads_is_no_material_all_along_the_line),
        cmocka_unit_test(a_stop_before_it_leaves_a_station_starved),
        cmocka_unit_test(limits_hold_the_mean_of_the_long_run),
        cmocka_unit_test(the_warm_up_lasts_until_stops_are_in_step),
        cmocka_unit_test(large_bins_take_longer_to_warm_up),
        cmocka_unit_test(stops_by_the_clock_keep_shifts_single),
        cmocka_unit_test(weeks_follow_the_calendar),
        cmocka_unit_test(weeks_may_begin_on_any_day_and_be_left_out),
        cmocka_unit_test(bundled_scenarios_pass_their_verifier),
        cmocka_unit_test(threads_change_nothing),
        cmocka_unit_test(precision_ends_the_runs_early_and_says_so),
        cmocka_unit_test(waiting_for_a_crew_is_an_account_of_its_own),
        cmocka_unit_test(settings_out_of_range_are_refused),
        cmocka_unit_test(memory_may_run_out_anywhere),
    };
    return cmocka_run_group_tests_name("shift", tests, NULL, NULL);
}
