/* SPDX-License-Identifier: GPL-3.0-or-later
 * The trace on the plant's own clock, against hand-worked days: a night shift, a holiday, a break,
 * maintenance, overtime, and what stands still while the plant is closed. */
#include "../lib/files.h"
#include "../lib/near.h"
#include "../lib/traces.h"

#include <evenfeed/report.h>
#include <evenfeed/trace.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* Monday 2026-09-07T00:00. Source: days between dates by the Gregorian calendar, python3 datetime. */
#define MONDAY_S (INT64_C(20703) * 86400)
#define HOUR_S   INT64_C(3600)

/* Drawn lengths lie on a grid of 2^-20 h. */
#define GRID_H 2e-6

/* On a calendar from that Monday on. */
static ef_scenario *read_parts(const char *stations, const char *calendar)
{
    char rest[1024];
    const int length = snprintf(rest, sizeof rest, "calendar:\n  start: 2026-09-07\n%s", calendar);
    assert_true(length > 0 && (size_t)length < sizeof rest);
    return plant_read_stations(stations, rest);
}

static ef_trace *trace_from(const ef_scenario *scenario, int64_t moment_s, double hours)
{
    ef_trace_settings settings = ef_trace_defaults(scenario);
    settings.from = EF_TRACE_FROM_MOMENT;
    settings.from_moment_s = moment_s;
    settings.hours = hours;
    return trace_of(scenario, settings);
}

static const char two_stations[] = "  Pit: {kind: intake, capacity: 10 t/h, to: Shed}\n"
                                   "  Shed: {kind: outlet, product: yes}\n";

/* From Monday 22:00 to Tuesday 08:00: 8 h of shift less half an hour of break, then 2 h closed. */
static void a_night_shift_runs_past_midnight_and_its_break_stops_all(void **state)
{
    (void)state;
    ef_scenario *scenario = read_parts(two_stations, "  shifts: {night: {from: 22:00, to: 06:00}}\n"
                                                     "  breaks: {meal: {from: 02:00, to: 02:30}}\n");
    ef_trace *trace = trace_from(scenario, MONDAY_S + 22 * HOUR_S, 10.0);
    assert_true(trace->on_calendar);
    assert_near_absolute(trace->worked_h, 7.5, 0.0);
    assert_near_relative(trace->intake_t, 75.0, 1e-12);
    assert_near_absolute(trace_state_h(trace, "Pit", "break"), 0.5, 1e-12);
    assert_near_absolute(trace_state_h(trace, "Pit", "closed"), 2.0, 1e-12);
    assert_near_absolute(trace_event_h(trace, NULL, "stop", 0), 4.0, 0.0);
    assert_near_absolute(trace_event_h(trace, NULL, "start", 0), 4.5, 0.0);
    assert_near_absolute(trace_event_h(trace, NULL, "closes", 0), 8.0, 0.0);
    assert_int_equal(trace->event_count, 3);
    assert_int_equal(trace->stop_count, 2);
    assert_string_equal(trace->stops[0].name, "meal");
    assert_true(trace->stops[1].is_open && trace->stops[1].to_h == 10.0);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

/* Monday to Wednesday, the Tuesday a holiday with overtime from 08:00 to 11:00: 8 + 3 + 8 h. */
static void a_holiday_is_closed_but_for_its_overtime(void **state)
{
    (void)state;
    ef_scenario *scenario = read_parts(two_stations,
                                       "  shifts: {day: {from: 06:00, to: 14:00}}\n"
                                       "  holidays: {fair: {date: 2026-09-08}}\n"
                                       "  overtime: {rush: {date: 2026-09-08, from: 08:00, to: 11:00}}\n");
    ef_trace *trace = trace_from(scenario, MONDAY_S, 72.0);
    assert_near_absolute(trace->worked_h, 19.0, 0.0);
    assert_near_relative(trace->intake_t, 190.0, 1e-12);
    assert_near_absolute(trace_event_h(trace, NULL, "opens", 1), 32.0, 0.0);
    assert_near_absolute(trace_event_h(trace, NULL, "closes", 2), 35.0, 0.0);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

static void a_stretch_begins_with_the_first_work_of_a_day_and_ends_with_its_shift(void **state)
{
    (void)state;
    ef_scenario *scenario = read_parts(two_stations, "  shifts: {day: {from: 06:30, to: 14:00}}\n"
                                                     "  holidays: {fair: {date: 2026-09-07}}\n");
    ef_trace *trace = trace_of(scenario, ef_trace_defaults(scenario));
    assert_int_equal(trace->from_moment_s, MONDAY_S + 24 * HOUR_S + 6 * HOUR_S + HOUR_S / 2);
    assert_near_absolute(trace->hours, 7.5, 0.0);
    ef_trace_free(trace);
    ef_trace_settings settings = ef_trace_defaults(scenario);
    settings.from = EF_TRACE_FROM_DAY;
    settings.from_moment_s = MONDAY_S + 5 * 24 * HOUR_S; /* a Saturday: the next work is on Monday */
    trace = trace_of(scenario, settings);
    assert_int_equal(trace->from_moment_s, MONDAY_S + 7 * 24 * HOUR_S + 6 * HOUR_S + HOUR_S / 2);
    ef_trace_free(trace);
    settings.without_calendar = true;
    settings.hours = 24.0;
    trace = trace_of(scenario, settings);
    assert_false(trace->on_calendar);
    assert_near_relative(trace->intake_t, 240.0, 1e-12);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

/* 12 t/h in, 10 t/h out, 8 t of 16 t at the start. Monday from 06:00 the bin gains 2 t/h until the break at
 * 08:00, keeps its 12 t through it, is full at 10:30 + ... : 4 t at 2 t/h after 08:15 is 10:15. The plant
 * closes at 14:00 with a full bin, and opens the next day with one. */
static void bins_keep_their_level_through_breaks_and_closed_times(void **state)
{
    (void)state;
    ef_scenario *scenario = read_parts("  Pit: {kind: intake, capacity: 12 t/h, to: Bin}\n"
                                       "  Bin: {kind: bin, live volume: 20 m3, to: Mill}\n"
                                       "  Mill: {kind: machine, capacity: 10 t/h, to: Shed}\n"
                                       "  Shed: {kind: outlet, product: yes}\n",
                                       "  shifts: {day: {from: 06:00, to: 14:00}}\n"
                                       "  breaks: {coffee: {from: 08:00, to: 08:15}}\n");
    ef_trace *trace = trace_from(scenario, MONDAY_S + 6 * HOUR_S, 25.0);
    for (int i = 0; i < trace->level_count; i++) {
        const double h = trace->level_h[i];
        const double expected = h <= 2.0    ? 8.0 + 2.0 * h
                                : h <= 2.25 ? 12.0
                                : h <= 4.25 ? 12.0 + 2.0 * (h - 2.25)
                                            : 16.0;
        assert_near_absolute(trace->level_t[i], expected, 1e-9);
    }
    assert_near_absolute(trace_event_h(trace, "Bin", "full", 0), 4.25, 1e-9);
    /* 7.75 h and 1 h at 10 t/h */
    assert_near_relative(trace->product_t, 87.5, 1e-12);
    assert_near_absolute(trace->imbalance_t, 0.0, 1e-9);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

/* A shift from 06:00 to 14:00. After 5 hours of running the mill is cleaned for half an hour, from 11:00;
 * 2.5 h of running are left of the shift, 2.5 h of the next day bring the next, at 08:30. A clock of 5 h
 * counts while the plant is open: 11:00, then 3 h later it closes and 2 h of the next day are left: 08:00. */
static void hours_until_a_stop_stand_still_while_the_plant_is_closed(void **state)
{
    (void)state;
    static const char *const counts[] = {"running", "clock"};
    static const double second_h[] = {26.5, 26.0};
    for (int i = 0; i < 2; i++) {
        char stations[512];
        (void)snprintf(stations, sizeof stations,
                       "  Pit: {kind: intake, capacity: 10 t/h, to: Mill}\n"
                       "  Mill: {kind: machine, capacity: 10 t/h, to: Shed, stops: {clean: {every: 5 h, "
                       "lasts: 30 min, counts: %s}}}\n"
                       "  Shed: {kind: outlet, product: yes}\n",
                       counts[i]);
        ef_scenario *scenario = read_parts(stations, "  shifts: {day: {from: 06:00, to: 14:00}}\n");
        ef_trace *trace = trace_from(scenario, MONDAY_S + 6 * HOUR_S, 30.0);
        assert_near_absolute(trace_event_h(trace, "Mill", "stop", 0), 5.0, GRID_H);
        assert_near_absolute(trace_event_h(trace, "Mill", "start", 0), 5.5, GRID_H);
        assert_near_absolute(trace_event_h(trace, "Mill", "stop", 1), second_h[i], GRID_H);
        ef_trace_free(trace);
        ef_scenario_free(scenario);
    }
}

/* The mill alone is maintained from 12:00 to 14:00 of every second Friday; the pit goes on into the bin. */
static void maintenance_of_one_station_lets_the_others_run(void **state)
{
    (void)state;
    ef_scenario *scenario = read_parts(
        "  Pit: {kind: intake, capacity: 10 t/h, to: Bin}\n"
        "  Bin: {kind: bin, live volume: 100 m3, start level: 10 %, to: Mill}\n"
        "  Mill: {kind: machine, capacity: 10 t/h, to: Shed}\n"
        "  Shed: {kind: outlet, product: yes}\n",
        "  shifts: {day: {from: 06:00, to: 14:00}}\n"
        "  maintenance: {belts: {days: fri, from: 12:00, to: 15:00, weeks: 2, stations: Mill}}\n");
    const int64_t friday_s = MONDAY_S + 4 * 24 * HOUR_S + 6 * HOUR_S;
    ef_trace *trace = trace_from(scenario, friday_s, 8.0);
    assert_near_absolute(trace_state_h(trace, "Mill", "planned stop"), 2.0, 1e-12);
    assert_near_absolute(trace_state_h(trace, "Pit", "planned stop"), 0.0, 0.0);
    assert_near_absolute(trace->level_t[trace->level_count - 1], 8.0 + 20.0, 1e-9);
    assert_near_absolute(trace_event_h(trace, "Mill", "stop", 0), 6.0, 0.0);
    assert_string_equal(trace->stops[0].name, "belts");
    assert_near_absolute(trace->worked_h, 8.0, 0.0);
    ef_trace_free(trace);
    trace = trace_from(scenario, friday_s + 7 * 24 * HOUR_S, 8.0);
    assert_near_absolute(trace_state_h(trace, "Mill", "planned stop"), 0.0, 0.0);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

/* A repair of 2 h that begins an hour before closing rests over night: an hour of it is left for the morning.
 * One at a time of the day goes on through the night. */
static void a_repair_rests_while_the_plant_is_closed(void **state)
{
    (void)state;
    static const char *const when[] = {"every: 7 h", "at: 13:00"};
    static const double end_h[] = {25.0, 9.0};
    for (int i = 0; i < 2; i++) {
        char stations[512];
        (void)snprintf(
            stations, sizeof stations,
            "  Pit: {kind: intake, capacity: 10 t/h, to: Mill}\n"
            "  Mill: {kind: machine, capacity: 10 t/h, to: Shed, stops: {new belt: {%s, lasts: 2 h}}}\n"
            "  Shed: {kind: outlet, product: yes}\n",
            when[i]);
        ef_scenario *scenario = read_parts(stations, "  shifts: {day: {from: 06:00, to: 14:00}}\n");
        ef_trace *trace = trace_from(scenario, MONDAY_S + 6 * HOUR_S, 26.0);
        assert_near_absolute(trace_event_h(trace, "Mill", "stop", 0), 7.0, GRID_H);
        assert_near_absolute(trace_event_h(trace, "Mill", "start", 0), end_h[i], GRID_H);
        ef_trace_free(trace);
        ef_scenario_free(scenario);
    }
}

/* One team of fitters from 07:00 to 12:00. Two mills stop 4 h after 06:00, for 90 min each: the first is
 * mended from 10:00 to 11:30, the second from then on to 12:00 and from 07:00 of the next day to 08:00. A
 * team that stays ends it at 13:00. */
static void stops_wait_for_their_crew_and_its_hours(void **state)
{
    (void)state;
    static const char *const crews[] = {"{from: 07:00, to: 12:00}", "{from: 07:00, to: 12:00, stays: yes}",
                                        "{on call: yes, teams: 2}"};
    static const double end_h[] = {26.0, 7.0, 5.5};
    static const double wait_h[] = {20.5, 1.5, 0.0};
    for (int i = 0; i < 3; i++) {
        char calendar[512];
        (void)snprintf(calendar, sizeof calendar,
                       "  shifts: {day: {from: 06:00, to: 14:00}}\ncrews: {fitters: %s}\n", crews[i]);
        ef_scenario *scenario = read_parts(
            "  Pit: {kind: intake, capacity: 10 t/h, to: Mill A}\n"
            "  Mill A: {kind: machine, capacity: 10 t/h, to: Mill B, stops: {jam: {every: 4 h, lasts: 90 "
            "min, "
            "counts: running, crew: fitters}}}\n"
            "  Mill B: {kind: machine, capacity: 10 t/h, to: Shed, stops: {jam: {every: 4 h, lasts: 90 min, "
            "counts: running, crew: fitters}}}\n"
            "  Shed: {kind: outlet, product: yes}\n",
            calendar);
        ef_trace *trace = trace_from(scenario, MONDAY_S + 6 * HOUR_S, i == 0 ? 27.0 : 8.0);
        assert_near_absolute(trace_event_h(trace, "Mill A", "start", 0), 5.5, GRID_H);
        assert_near_absolute(trace_event_h(trace, "Mill B", "start", 0), end_h[i], 2.0 * GRID_H);
        assert_int_equal(trace->crew_count, 1);
        assert_int_equal(trace->crews[0].stops, 2);
        assert_int_equal(trace->crews[0].waited, i < 2 ? 1 : 0);
        assert_int_equal(trace->crews[0].most_busy, i < 2 ? 1 : 2);
        assert_near_absolute(trace->crews[0].wait_h, wait_h[i], 1e-5);
        assert_near_absolute(trace->crews[0].busy_h, 3.0, 1e-5);
        ef_trace_free(trace);
        ef_scenario_free(scenario);
    }
}

static void csv_files_give_the_moments_of_the_clock(void **state)
{
    (void)state;
    ef_scenario *scenario = read_parts(two_stations, "  shifts: {night: {from: 22:00, to: 06:00}}\n"
                                                     "  breaks: {meal: {from: 02:00, to: 02:30}}\n");
    ef_trace *trace = trace_from(scenario, MONDAY_S + 22 * HOUR_S, 10.0);
    char *text;
    assert_int_equal(ef_report_trace_events_csv(trace, &text), EF_OK);
    assert_string_equal(text, "at_h,at,station,machine,what,cause\n"
                              "4,2026-09-08T02:00,,,stop,meal\n"
                              "4.5,2026-09-08T02:30,,,start,meal\n"
                              "8,2026-09-08T06:00,,,closes,closed\n");
    ef_report_free(text);
    assert_int_equal(ef_report_trace_stops_csv(trace, &text), EF_OK);
    assert_string_equal(text, "station,machine,kind,name,from,to,from_h,to_h,goes_on\n"
                              ",,break,meal,2026-09-08T02:00,2026-09-08T02:30,4,4.5,no\n"
                              ",,closed,closed,2026-09-08T06:00,2026-09-08T08:00,8,10,yes\n");
    ef_report_free(text);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

/* At 06:00 and 18:00 on weekdays, for a quarter of an hour: from Friday 12:00 on Friday 18:00, then Monday
 * 06:00, 66 h later, and 18:00. */
static void a_stop_at_times_of_the_day_begins_then_whatever_the_start(void **state)
{
    (void)state;
    ef_scenario *scenario = read_parts("  Pit: {kind: intake, capacity: 10 t/h, to: Mill}\n"
                                       "  Mill: {kind: machine, capacity: 10 t/h, to: Shed, stops: {round: "
                                       "{at: [18:00, 06:00], days: mon-fri, "
                                       "lasts: 15 min}}}\n"
                                       "  Shed: {kind: outlet, product: yes}\n",
                                       "  shifts: {day: {days: daily, from: 00:00, to: 24:00}}\n");
    ef_trace *trace = trace_from(scenario, MONDAY_S + (4 * 24 + 12) * HOUR_S, 8.0 * 24.0);
    static const double starts_h[] = {6.0, 66.0, 78.0, 90.0, 102.0};
    for (int i = 0; i < 5; i++)
        assert_near_absolute(trace_event_h(trace, "Mill", "stop", i), starts_h[i], 0.0);
    /* the week that follows: Friday evening, ten of Monday to Friday */
    assert_near_absolute(trace_state_h(trace, "Mill", "planned stop"), 11 * 0.25, 1e-5);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

/* A log with a stop before the stretch, one under way at its beginning, two within that touch, and a planned
 * one. */
static void recorded_stops_are_laid_as_they_were(void **state)
{
    (void)state;
    static const char log[] = "station,from,to,cause,planned\n"
                              "Mill,2026-09-07T09:00,2026-09-07T09:30,choke,\n"
                              "Mill,2026-09-07T04:00,2026-09-07T05:00,before,\n"
                              "Mill,2026-09-07T05:30,2026-09-07T06:15,under way,\n"
                              "Mill,2026-09-07 09:30,9.75 h,belt,\n"
                              "Pit,2026-09-07T10:00:30,2026-09-07T10:00:36,sample,yes\n";
    static const char plant[] = "evenfeed: 1\n"
                                "plant: {name: Test}\n"
                                "materials: {seed: {wanted: yes}}\n"
                                "crops: {wheat: {density: 0.8 t/m3, receipt: {seed: rest}}}\n"
                                "stations:\n"
                                "  Pit: {kind: intake, capacity: 10 t/h, to: Bin}\n"
                                "  Bin: {kind: bin, live volume: 100 m3, start level: 0 %, to: Mill}\n"
                                "  Mill: {kind: machine, capacity: 10 t/h, to: Shed}\n"
                                "  Shed: {kind: outlet, product: yes}\n"
                                "calendar:\n  start: 2026-09-07\n"
                                "  shifts: {day: {days: daily, from: 00:00, to: 24:00}}\n"
                                "recorded stops: {file: log.csv}\n";
    char *log_path = scratch_path("log.csv");
    char *path = scratch_path("plant.yaml");
    file_write(log_path, log, strlen(log));
    file_write(path, plant, strlen(plant));
    ef_scenario *scenario = plant_load(path);
    ef_trace *trace = trace_from(scenario, MONDAY_S + 6 * HOUR_S, 6.0);
    static const ef_trace_stop expected[] = {
        {.station = "Mill", .name = "under way", .kind = "random stop", .from_h = 0.0, .to_h = 0.25},
        {.station = "Mill", .name = "choke", .kind = "random stop", .from_h = 3.0, .to_h = 3.5},
        {.station = "Mill", .name = "belt", .kind = "random stop", .from_h = 3.5, .to_h = 3.75},
        {.station = "Pit",
         .name = "sample",
         .kind = "planned stop",
         .from_h = 4.0 + 30.0 / 3600.0,
         .to_h = 4.01}};
    assert_int_equal(trace->stop_count, 4);
    for (int i = 0; i < 4; i++) {
        assert_string_equal(trace->stops[i].station, expected[i].station);
        assert_string_equal(trace->stops[i].name, expected[i].name);
        assert_string_equal(trace->stops[i].kind, expected[i].kind);
        assert_near_absolute(trace->stops[i].from_h, expected[i].from_h, GRID_H);
        assert_near_absolute(trace->stops[i].to_h, expected[i].to_h, GRID_H);
    }
    assert_near_relative(trace->product_t, 50.0, 1e-9);
    assert_near_relative(trace->intake_t, 10.0 * (6.0 - 6.0 / 3600.0), 1e-6);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
    free(log_path);
    free(path);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_night_shift_runs_past_midnight_and_its_break_stops_all),
        cmocka_unit_test(a_holiday_is_closed_but_for_its_overtime),
        cmocka_unit_test(a_stretch_begins_with_the_first_work_of_a_day_and_ends_with_its_shift),
        cmocka_unit_test(bins_keep_their_level_through_breaks_and_closed_times),
        cmocka_unit_test(hours_until_a_stop_stand_still_while_the_plant_is_closed),
        cmocka_unit_test(maintenance_of_one_station_lets_the_others_run),
        cmocka_unit_test(a_stop_at_times_of_the_day_begins_then_whatever_the_start),
        cmocka_unit_test(recorded_stops_are_laid_as_they_were),
        cmocka_unit_test(a_repair_rests_while_the_plant_is_closed),
        cmocka_unit_test(stops_wait_for_their_crew_and_its_hours),
        cmocka_unit_test(csv_files_give_the_moments_of_the_clock),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
