/* SPDX-License-Identifier: GPL-3.0-or-later
 * Two plants over the same shifts: what is matched, what must be alike, what is refused. Every answer here
 * passes through its verifier too. */
#include "../lib/near.h"
#include "../lib/shifts.h"

#include <evenfeed/report.h>
#include <evenfeed/shift.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static ef_shift_comparison *comparison_of(const ef_scenario *here, const ef_scenario *there,
                                          ef_shift_settings settings)
{
    ef_shift_comparison *comparison;
    char *differences = NULL;
    assert_int_equal(ef_shift_compare(here, there, &settings, &comparison, NULL), EF_OK);
    const ef_status status = ef_shift_comparison_verify(here, there, comparison, &differences);
    if (status != EF_OK)
        print_error("%s", differences ? differences : "");
    ef_report_free(differences);
    assert_int_equal(status, EF_OK);
    return comparison;
}

static void a_plant_does_not_differ_from_itself(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/cereal-seed.yaml");
    ef_shift_settings settings = ef_shift_defaults();
    settings.runs = 50;
    ef_shift_comparison *same = comparison_of(scenario, scenario, settings);
    for (int s = 0; s < same->stream_count; s++) {
        assert_true(same->streams[s].more_t.value == 0.0);
        assert_true(same->streams[s].more_t.low == 0.0 && same->streams[s].more_t.high == 0.0);
    }
    assert_int_equal(same->change_count, 0);
    assert_true(same->better_share == 0.0 && same->worse_share == 0.0);
    ef_shift_comparison_free(same);
    ef_scenario_free(scenario);
}

/* Of two plants one has a bin that asks for a longer warm-up: both get it, so that their shifts are the same
 * ones. */
static void plants_that_are_compared_warm_up_alike(void **state)
{
    (void)state;
    static const char text[] = "evenfeed: 1\nplant: {name: Store}\nmaterials: {seed: {wanted: yes}}\n"
                               "crops: {wheat: {density: 0.75 t/m3, receipt: {seed: 100 %%}}}\nstations:\n"
                               "  Pit: {kind: intake, capacity: 40 t/h, to: Store}\n"
                               "  Store: {kind: bin, live volume: %s m3, to: Cleaner}\n"
                               "  Cleaner: {kind: machine, capacity: 10 t/h, stops: {choke: {between: 5 h, "
                               "lasts: 12 min}}, to: Shed}\n"
                               "  Shed: {kind: outlet, product: yes}\n";
    char small[1000];
    char large[1000];
    (void)snprintf(small, sizeof small, text, "100");
    (void)snprintf(large, sizeof large, text, "400");
    ef_scenario *plants[] = {plant_read(small), plant_read(large)};
    for (int i = 0; i < 2; i++) {
        ef_shift_settings settings = ef_shift_defaults();
        settings.runs = 4;
        settings.remedies = false;
        ef_shift_comparison *comparison = comparison_of(plants[i], plants[1 - i], settings);
        assert_near_absolute(comparison->here->warm_up_h, 96.0, 1e-9);
        assert_near_absolute(comparison->there->warm_up_h, 96.0, 1e-9);
        assert_int_equal(comparison->here->runs, 4);
        assert_int_equal(comparison->there->runs, 4);
        /* the cleaner never lacks seed: the same stops, the same tonnes */
        assert_near_absolute(comparison->streams[1].more_t.low, 0.0, 1e-9);
        assert_near_absolute(comparison->streams[1].more_t.high, 0.0, 1e-9);
        shift_verify(plants[i], comparison->here);
        shift_verify(plants[1 - i], comparison->there);
        ef_shift_comparison_free(comparison);
    }
    ef_scenario_free(plants[0]);
    ef_scenario_free(plants[1]);
}

/* The timed plant without its brush stop: two hours more at 10 t/h; and with one more outlet. */
static const char unbrushed[] =
    "evenfeed: 1\nplant: {name: Unbrushed, people: 3, labour price: 20 EUR/h, energy price: 0.5 EUR/kWh}\n"
    "materials: {seed: {wanted: yes}, chaff: }\n"
    "crops: {oats: {receipt: {seed: 100 %}}, wheat: {price: 100 EUR/t, receipt: {seed: rest, chaff: 10 "
    "%}}}\nstations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, to: Cleaner}\n"
    "  Cleaner: {kind: machine, capacity: 10 t/h, idle power: 4 kW, energy: 2 kWh/t,\n"
    "    discharges: {waste: {takes: {chaff: 50 %}, to: Waste}, dust: {takes: {chaff: 50 %}, to: Dust},\n"
    "    seed: {takes: rest, to: Shed}}}\n"
    "  Waste: {kind: outlet, use: feed, price: 50 EUR/t}\n"
    "  Dust: {kind: outlet, use: waste}\n"
    "  Shed: {kind: outlet, product: yes}\n";

static void stations_and_crops_are_matched_by_name(void **state)
{
    (void)state;
    ef_scenario *here = plant_read(unbrushed);
    ef_scenario *there = plant_read(shifts_timed);
    ef_shift_settings settings = ef_shift_defaults();
    settings.crop = 1; /* wheat, the first there */
    settings.runs = 3;
    ef_shift_comparison *c = comparison_of(here, there, settings);
    assert_string_equal(c->there->crop, "wheat");
    assert_near_absolute(c->streams[0].more_t.value, 20.0, 1e-9);
    assert_near_absolute(c->streams[1].more_t.value, 18.0, 1e-9);
    assert_true(c->better_share == 1.0);
    bool dust = false;
    for (int s = 2; s < c->stream_count; s++) {
        if (strcmp(c->streams[s].name, "Dust") == 0) {
            dust = true;
            assert_true(c->streams[s].is_here && !c->streams[s].is_there);
            assert_near_absolute(c->streams[s].more_t.value, 4.0, 1e-9);
        }
    }
    assert_true(dust);
    bool stops = false;
    for (int i = 0; i < c->change_count; i++)
        stops = stops || (strcmp(c->changes[i].path, "stations.Cleaner.stops") == 0 && !c->changes[i].here);
    assert_true(stops);
    ef_shift_comparison_free(c);
    ef_scenario_free(here);
    ef_scenario_free(there);
}

static void what_cannot_be_compared_is_refused(void **state)
{
    (void)state;
    char text[2000];
    (void)snprintf(text, sizeof text,
                   "%scalendar: {start: 2026-08-31, shifts: {day: {from: 06:00, to: 14:00}}}\n",
                   shifts_timed);
    ef_scenario *two = plant_read(unbrushed);
    ef_scenario *one = plant_read(shifts_timed);
    ef_scenario *dated = plant_read(text);
    ef_shift_comparison *comparison = NULL;
    ef_shift_settings settings = ef_shift_defaults();
    settings.runs = 2;
    settings.crop = 0; /* oats, which the other does not have */
    assert_int_equal(ef_shift_compare(two, one, &settings, &comparison, NULL), EF_USAGE);
    assert_int_equal(ef_shift_compare(dated, one, &settings, &comparison, NULL), EF_USAGE);
    assert_int_equal(ef_shift_compare(one, dated, &settings, &comparison, NULL), EF_USAGE);
    settings.without_calendar = true;
    ef_shift_comparison_free(comparison_of(one, dated, settings));
    assert_null(comparison);
    ef_scenario_free(two);
    ef_scenario_free(one);
    ef_scenario_free(dated);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_plant_does_not_differ_from_itself),
        cmocka_unit_test(plants_that_are_compared_warm_up_alike),
        cmocka_unit_test(stations_and_crops_are_matched_by_name),
        cmocka_unit_test(what_cannot_be_compared_is_refused),
    };
    return cmocka_run_group_tests_name("shift compare", tests, NULL, NULL);
}
