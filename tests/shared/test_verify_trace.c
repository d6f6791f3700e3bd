/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a trace: it accepts what the engine gives, on bundled and random plants, and tells each
 * number that is made wrong. */
#include "base/random.h"

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

/* Something must be told, and it must hold these words. */
static void check_told(const ef_scenario *scenario, const ef_trace *trace, const char *words)
{
    char *differences = NULL;
    assert_int_equal(ef_trace_verify(scenario, trace, &differences), EF_INTERNAL);
    if (!strstr(differences, words))
        print_error("not told: %s\n%s", words, differences);
    assert_non_null(strstr(differences, words));
    ef_report_free(differences);
}

static void every_crop_of_every_bundled_plant_is_accepted(void **state)
{
    (void)state;
    static const char *const paths[] = {
        "scenarios/cereal-seed.yaml",         "scenarios/soybean-seed.yaml",
        "scenarios/clover-grass-seed.yaml",   "scenarios/pulses-export.yaml",
        "scenarios/examples/two-shifts.yaml", "scenarios/examples/batch-treater.yaml",
        "scenarios/examples/two-decks.yaml",  "scenarios/examples/shared-leg.yaml"};
    for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++) {
        ef_scenario *scenario = plant_load(paths[i]);
        ef_trace_settings settings = ef_trace_defaults(scenario);
        settings.hours = 170.0;
        for (settings.crop = 0; settings.crop < ef_scenario_crops(scenario); settings.crop++)
            for (int stops = 0; stops < 2; stops++) {
                settings.without_stops = stops == 0;
                settings.seed = 11 + (uint64_t)i;
                ef_trace_free(trace_of(scenario, settings)); /* which calls the verifier */
            }
        ef_scenario_free(scenario);
    }
}

static void a_trace_that_is_cut_short_is_accepted(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/examples/two-shifts.yaml");
    ef_trace_settings settings = ef_trace_defaults(scenario);
    settings.hours = 500.0;
    settings.most_events = 50;
    ef_trace *trace = trace_of(scenario, settings);
    assert_true(trace->events_cut);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

/* A plant of a pit, three machines and bins of random sizes between, with random stops, calendar and crew. */
static void write_random_plant(efi_random *random, char *text, size_t room)
{
    double u[16];
    for (int i = 0; i < 16; i++)
        u[i] = efi_random_uniform(random);
    (void)snprintf(text, room,
                   "evenfeed: 1\nplant: {name: Random}\nmaterials: {seed: {wanted: yes}, light: }\n"
                   "crops: {wheat: {density: 0.8 t/m3, receipt: {seed: rest, light: %d %%}}}\n"
                   "crews: {fitters: {teams: %d}}\n"
                   "stations:\n"
                   "  Pit: {kind: intake, capacity: %.3f t/h, count: %d, receipts: {load: %.3f t, every: "
                   "%.1f min}, to: A}\n"
                   "  A: {kind: bin, live volume: %.3f m3, to: Mill}\n"
                   "  Mill:\n    kind: air-screen cleaner\n    capacity: %.3f t/h\n    count: %d\n"
                   "    stops: {jam: {between: %.2f h, lasts: %.1f min, crew: fitters}, clean: {every: 3 h, "
                   "lasts: 7 min}}\n"
                   "    discharges: {out: {takes: {light: 60 %%}, to: Waste}, seed: {takes: rest, to: B}}\n"
                   "  B: {kind: bin, live volume: %.3f m3, restart level: %d %%, to: Deck}\n"
                   "  Deck:\n    kind: density separator\n    capacity: %.3f t/h\n    warm-up: 2 min\n"
                   "    stops: {jam: {between: %.2f h, lasts: 9 min, crew: fitters}, look: {at: [07:30, "
                   "12:00], lasts: 5 min}}\n"
                   "    discharges: {back: {takes: {seed: 8 %%}, to: B}, seed: {takes: rest, to: Shed}}\n"
                   "  Waste: {kind: outlet}\n  Shed: {kind: outlet, product: yes}\n"
                   "calendar:\n  start: 2026-09-07\n  shifts: {day: {from: 06:00, to: %02d:00}}\n"
                   "  breaks: {tea: {from: 10:00, to: 10:%02d}}\n"
                   "  maintenance: {belts: {days: tue, from: 08:00, to: 09:00, stations: Mill}}\n"
                   "recorded stops: {choke: {station: Mill, from: %.2f h, to: %.2f h}}\n",
                   1 + (int)(u[0] * 9.0), 1 + (int)(u[1] * 2.0), 10.0 + 40.0 * u[2], 1 + (int)(u[3] * 2.0),
                   3.0 + 20.0 * u[4], 20.0 + 60.0 * u[5], 10.0 + 60.0 * u[6], 6.0 + 8.0 * u[7],
                   1 + (int)(u[8] * 2.0), 1.0 + 9.0 * u[9], 4.0 + 20.0 * u[10], 1.0 + 5.0 * u[11],
                   (int)(u[12] * 40.0), 6.0 + 6.0 * u[13], 1.0 + 9.0 * u[14], 13 + (int)(u[15] * 8.0),
                   10 + (int)(u[0] * 40.0), 6.0 + u[1], 7.5 + u[2]);
}

static void random_plants_on_random_calendars_are_accepted(void **state)
{
    (void)state;
    const uint64_t seed = 20260907;
    print_message("seed %llu\n", (unsigned long long)seed);
    efi_random random = efi_random_stream(seed, 0, 0);
    for (int plant = 0; plant < 60; plant++) {
        char text[4096];
        write_random_plant(&random, text, sizeof text);
        ef_scenario *scenario = plant_read(text);
        ef_trace_settings settings = ef_trace_defaults(scenario);
        settings.hours = 24.0 * 9.0;
        settings.seed = (uint64_t)plant;
        ef_trace *trace = trace_of(scenario, settings);
        assert_true(trace->stop_count > 5 && trace->intake_t > 10.0);
        ef_trace_free(trace);
        ef_scenario_free(scenario);
    }
}

/* ---- numbers made wrong ---------------------------------------------------------------------------------
 */

/* Copies of the arrays of a trace, to be made wrong. */
typedef struct copy {
    ef_trace trace;
    ef_trace_stop stops[400];
    ef_trace_station stations[32];
    ef_trace_bin bins[8];
    ef_trace_receipts receipts[4];
    ef_trace_crew crews[4];
    double *level_t;
    double *feed_tph;
    double *level_h;
    double *state_h;
} copy;

static double *copied(const double *from, size_t count)
{
    double *to = calloc(count, sizeof *to);
    assert_non_null(to);
    memcpy(to, from, count * sizeof *to);
    return to;
}

static copy *copy_of(const ef_trace *trace)
{
    copy *c = calloc(1, sizeof *c);
    assert_non_null(c);
    assert_true(trace->stop_count <= 400 && trace->station_count <= 32 && trace->bin_count <= 8);
    c->trace = *trace;
    memcpy(c->stops, trace->stops, (size_t)trace->stop_count * sizeof *c->stops);
    memcpy(c->stations, trace->stations, (size_t)trace->station_count * sizeof *c->stations);
    memcpy(c->bins, trace->bins, (size_t)trace->bin_count * sizeof *c->bins);
    memcpy(c->receipts, trace->receipts, (size_t)trace->receipts_count * sizeof *c->receipts);
    memcpy(c->crews, trace->crews, (size_t)trace->crew_count * sizeof *c->crews);
    c->level_t = copied(trace->level_t, (size_t)trace->level_count * (size_t)trace->bin_count);
    c->feed_tph = copied(trace->feed_tph, (size_t)trace->level_count * (size_t)trace->station_count);
    c->level_h = copied(trace->level_h, (size_t)trace->level_count);
    c->state_h = copied(trace->stations[0].state_h, (size_t)trace->state_count);
    c->stations[0].state_h = c->state_h;
    c->trace.stops = c->stops;
    c->trace.stations = c->stations;
    c->trace.bins = c->bins;
    c->trace.receipts = c->receipts;
    c->trace.crews = c->crews;
    c->trace.level_t = c->level_t;
    c->trace.feed_tph = c->feed_tph;
    c->trace.level_h = c->level_h;
    return c;
}

static void copy_free(copy *c)
{
    free(c->level_t);
    free(c->feed_tph);
    free(c->level_h);
    free(c->state_h);
    free(c);
}

/* The first stop of that kind and station (NULL: the plant). */
static int find_stop(const copy *c, const char *station, const char *name)
{
    for (int i = 0; i < c->trace.stop_count; i++)
        if ((station ? c->stops[i].station && strcmp(c->stops[i].station, station) == 0
                     : !c->stops[i].station) &&
            strcmp(c->stops[i].name, name) == 0)
            return i;
    fail_msg("no stop %s", name);
    return 0;
}

static int find_station(const copy *c, const char *name)
{
    for (int s = 0; s < c->trace.station_count; s++)
        if (strcmp(c->stations[s].name, name) == 0)
            return s;
    fail_msg("no station %s", name);
    return 0;
}

enum {
    WRONGS = 26
};

static void make_wrong(copy *c, int wrong)
{
    const size_t middle = (size_t)c->trace.level_count / 2;
    const size_t bins = (size_t)c->trace.bin_count;
    const size_t stations = (size_t)c->trace.station_count;
    const int cleaner = find_station(c, "Cleaner");
    const int laid = find_stop(c, "Cleaner", "choke");
    switch (wrong) {
    case 0:
        c->trace.intake_t *= 1.0001;
        break;
    case 1:
        c->trace.product_t *= 1.0001;
        break;
    case 2:
        c->trace.worked_h += 0.5;
        break;
    case 3:
        c->trace.imbalance_t = 0.01;
        break;
    case 4:
        c->level_t[middle * bins] += 1000.0;
        break;
    case 5:
        c->level_t[((size_t)c->trace.level_count - 1) * bins] += 0.1;
        break;
    case 6:
        c->feed_tph[middle * stations + (size_t)cleaner] += 100.0;
        break;
    case 7:
        c->stations[cleaner].taken_t += 0.1;
        break;
    case 8:
        c->state_h[0] += 0.1;
        break;
    case 9:
        c->stops[laid].from_h += 0.01;
        break;
    case 10:
        c->stops[laid].to_h = c->stops[laid].from_h;
        break;
    case 11:
        c->stops[find_stop(c, "Cleaner", "sieves checked")].from_h += 0.1;
        break;
    case 12:
        c->stops[find_stop(c, NULL, "closed")].to_h -= 1.0;
        break;
    case 13:
        c->stops[find_stop(c, NULL, "breakfast")].to_h += 0.25;
        break;
    case 14:
        c->bins[0].mean_t *= 1.001;
        break;
    case 15:
        c->bins[0].least_t -= 0.1;
        break;
    case 16:
        c->bins[0].most_t += 0.1;
        break;
    case 17:
        c->bins[1].empty_h += 0.1;
        break;
    case 18:
        c->bins[1].full_h += 0.1;
        break;
    case 19:
        c->bins[0].full_t += 1.0;
        break;
    case 20:
        c->receipts[0].arrivals++;
        break;
    case 21:
        c->receipts[0].turned_away++;
        break;
    case 22:
        c->crews[0].busy_h = 1e6;
        break;
    case 23:
        c->crews[0].most_busy = 9;
        break;
    case 24:
        c->level_h[middle] = c->level_h[middle + 1];
        break;
    default:
        c->stops[find_stop(c, NULL, "closed")].is_open = true;
        break;
    }
}

static void each_number_made_wrong_is_told(void **state)
{
    (void)state;
    static const char *const told[WRONGS] = {"what was taken in",  "the product",
                                             "the hours of work",  "its own account",
                                             "lies outside it",    "do not balance",
                                             "it takes",           "what it took",
                                             "its hours together", "the recorded stop of Cleaner",
                                             "a stop from",        "which is none of its times",
                                             "the hours closed",   "the hours of breaks",
                                             "its mean level",     "its least level",
                                             "its highest level",  "its hours empty",
                                             "its hours full",     "what it holds",
                                             "loads that came",    "loads turned away",
                                             "were at work for",   "of 1 teams were at work at once",
                                             "do not rise",        "a stop that goes on"};
    ef_scenario *scenario = plant_load("scenarios/examples/two-shifts.yaml");
    ef_trace_settings settings = ef_trace_defaults(scenario);
    settings.hours = 100.0;
    ef_trace *trace = trace_of(scenario, settings);
    for (int wrong = 0; wrong < WRONGS; wrong++) {
        copy *c = copy_of(trace);
        trace_verify(scenario, &c->trace);
        make_wrong(c, wrong);
        check_told(scenario, &c->trace, told[wrong]);
        copy_free(c);
    }
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

/* A tonne that vanishes between two events is told where no conveyor or batch holds any. */
static void a_level_that_does_not_follow_from_the_feeds_is_told(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/cereal-seed.yaml");
    ef_trace_settings settings = ef_trace_defaults(scenario);
    settings.hours = 8.0;
    ef_trace *trace = trace_of(scenario, settings);
    copy *c = copy_of(trace);
    const size_t middle = (size_t)trace->level_count / 2;
    c->level_t[middle * (size_t)trace->bin_count] += 1e-4;
    check_told(scenario, &c->trace, "come in beyond what goes out");
    copy_free(c);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_crop_of_every_bundled_plant_is_accepted),
        cmocka_unit_test(a_trace_that_is_cut_short_is_accepted),
        cmocka_unit_test(random_plants_on_random_calendars_are_accepted),
        cmocka_unit_test(each_number_made_wrong_is_told),
        cmocka_unit_test(a_level_that_does_not_follow_from_the_feeds_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
