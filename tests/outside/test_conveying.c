/* SPDX-License-Identifier: GPL-3.0-or-later
 * Capacities of conveyors from their size, and lines in parallel, against published figures. The source and
 * what it prints stand beside each case. */
#include "../lib/near.h"
#include "../lib/plants.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

enum {
    ROOM = 2000
};
#define EXACT 1e-12

/* Capacity of the conveyor "Mover" that these keys describe, m3/h, in a plant that is otherwise without
 * limits. */
static double capacity_of(const char *kind, const char *keys)
{
    char text[ROOM];
    const int length = snprintf(text, sizeof text,
                                "evenfeed: 1\nplant: {name: Test}\nmaterials: {seed: {wanted: yes}}\n"
                                "crops: {wheat: {density: 0.772 t/m3, receipt: {seed: rest}}}\nstations:\n"
                                "  Pit: {kind: intake, capacity: 9000 t/h, to: Mover}\n"
                                "  Mover: {kind: %s, %s, to: Out}\n"
                                "  Out: {kind: outlet, product: yes}\n",
                                kind, keys);
    assert_in_range(length, 1, ROOM - 1);
    ef_scenario *scenario = plant_read(text);
    ef_balance *balance = plant_balance(scenario, EF_OK);
    const ef_balance_station *mover = plant_station(&balance->crops[0], "Mover");
    assert_true(mover->capacity_by_volume);
    assert_true(mover->limits);
    const double capacity = mover->capacity;
    ef_balance_free(balance);
    ef_scenario_free(scenario);
    return capacity;
}

/* 15 m/min, 4 buckets a metre, 5 litre each: 60 buckets/min, 0.3 m3/min. Source: trade page on bucket
 * elevators. */
static void buckets_lift_what_a_trade_page_says(void **state)
{
    (void)state;
    assert_near_relative(capacity_of("elevator", "buckets: {volume: 5 l, spacing: 250 mm, speed: 15 m/min}"),
                         0.3 * 60.0, EXACT);
    assert_near_relative(
        capacity_of("elevator",
                    "buckets: {volume: 5 l, spacing: 250 mm, speed: 15 m/min, fill: 80 %, rows: 2}"),
        0.3 * 60.0 * 0.8 * 2.0, EXACT);
}

/* Area 0.02 m2, 1.5 m/s, 800 kg/m3: 86.4 t/h. Source: study notes for an engineering entrance exam
 * (arithmetic only). */
static void a_belt_moves_area_times_speed(void **state)
{
    (void)state;
    assert_near_relative(capacity_of("belt conveyor", "belt: {area: 0.02 m2, speed: 1.5 m/s}") * 0.8, 86.4,
                         EXACT);
}

/* D 150 mm, pitch 200 mm, 60 rpm, 40 % fill, no shaft: 0.0848 m3/min, 5.09 m3/h. Source: the same notes. */
static void a_screw_moves_what_the_notes_say(void **state)
{
    (void)state;
    const double m3ph = capacity_of("screw conveyor",
                                    "screw: {diameter: 150 mm, pitch: 200 mm, speed: 60 rpm, fill: 40 %}");
    assert_near_absolute(m3ph / 60.0, 0.0848, 5e-5);
    assert_near_absolute(m3ph, 5.09, 5e-3);
}

/* Capacity at 1 rpm, full pitch, 45 % loading, ft3/h. Source: capacity table of CEMA 350, from memory;
 * tolerance 2.5 %. */
static void screws_agree_with_the_standard_table(void **state)
{
    (void)state;
    static const struct {
        double diameter_in, shaft_in, table_ft3ph;
    } rows[] = {{6, 2.375, 2.23}, {9, 2.875, 8.20}, {12, 3.5, 19.40}, {16, 4.5, 46.70}, {24, 4.5, 164.0}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char keys[200];
        snprintf(keys, sizeof keys, "screw: {diameter: %g in, shaft: %g in, speed: 1 rpm}",
                 rows[i].diameter_in, rows[i].shaft_in);
        const double ft3_m3 = 0.3048 * 0.3048 * 0.3048;
        assert_near_relative(capacity_of("screw conveyor", keys) / ft3_m3, rows[i].table_ft3ph, 0.025);
    }
}

/* Inclined screws keep 80-90 % at 10-20 degrees and 60-70 % at 20-30 degrees of their level capacity. Source:
 * a trade guide; the lower end is taken. */
static void an_inclined_screw_keeps_what_a_trade_guide_says(void **state)
{
    (void)state;
    const double level = capacity_of("screw conveyor", "screw: {diameter: 200 mm, speed: 90 rpm}");
    const double steep = capacity_of("screw conveyor",
                                     "screw: {diameter: 200 mm, speed: 90 rpm, incline: 15 deg}");
    const double steeper = capacity_of("screw conveyor",
                                       "screw: {diameter: 200 mm, speed: 90 rpm, incline: 30 deg}");
    assert_in_range((int)(100.0 * steep / level + 0.5), 80, 90);
    assert_in_range((int)(100.0 * steeper / level + 0.5), 60, 70);
}

/* Two lines of 600 bu/h at one site and one at another: up to 1,800 bu/h, 48.99 t/h of wheat; the new site's
 * 600 bu/h is half of what there was and a third of what there is. Source: Alberta Seed Guide, spring 2019,
 * p. 48 ("by one-third"). */
static void three_lines_of_600_bushels_make_1800(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        "evenfeed: 1\nplant: {name: Co-op, units: us}\nmaterials: {seed: {wanted: yes}}\n"
        "crops: {wheat: {trade weight: 60 lb/bu, receipt: {seed: rest}}}\n"
        "lines: {One: , Two: , New site: }\nstations:\n"
        "  Pit: {kind: intake, capacity: 9000 bu/h, to: Split}\n"
        "  Split: {kind: split, rule: free, branches: {one: {to: Line 1}, two: {to: Line 2}, new: {to: Line "
        "3}}}\n"
        "  Line 1: {kind: machine, line: One, capacity: 600 bu/h, to: Out}\n"
        "  Line 2: {kind: machine, line: Two, capacity: 600 bu/h, to: Out}\n"
        "  Line 3: {kind: machine, line: New site, capacity: 600 bu/h, to: Out}\n"
        "  Out: {kind: outlet, product: yes}\n");
    ef_balance *balance = plant_balance(scenario, EF_OK);
    const ef_balance_crop *crop = &balance->crops[0];
    assert_near_absolute(crop->intake.total_tph, 48.99, 0.005);
    assert_near_relative(crop->intake.total_tph / crop->trade_weight_tpbu, 1800.0, 1e-9);
    const double new_site = plant_station(crop, "Line 3")->feed.total_tph;
    assert_near_relative(new_site / crop->intake.total_tph, 1.0 / 3.0, 1e-9);
    assert_near_relative(new_site / (crop->intake.total_tph - new_site), 0.5, 1e-9);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

/* Screening soft wheat takes DON down by 16 % in the mean; the screenings hold 4.7 times what the cleaned
 * wheat holds: their share is 0.16 / (0.84 x 3.7) = 5.15 %. Source: Cereal Chemistry 62:467-469, 1985
 * (averages over eleven lots, so an order of magnitude). A screen that takes 5.15 % of the grain and the
 * matching share of the toxin must show both figures. */
static void screenings_of_five_per_cent_take_a_sixth_of_the_toxin(void **state)
{
    (void)state;
    /* toxin drawn a thousand times too heavy, 0.01 % of the receipt, so that its weight does not disturb the
     * shares */
    ef_scenario *scenario = plant_read(
        "evenfeed: 1\nplant: {name: Screen}\nmaterials: {wheat: {wanted: yes}, toxin: }\n"
        "crops: {soft: {receipt: {wheat: rest, toxin: 0.01 %}}}\nstations:\n"
        "  Pit: {kind: intake, capacity: 10 t/h, to: Screen}\n"
        "  Screen: {kind: air-screen cleaner, capacity: 30 t/h, discharges: {"
        "screenings: {takes: {wheat: 5.15 %, toxin: 20.33 %}, to: Screenings}, "
        "cleaned: {takes: rest, to: Cleaned}}}\n"
        "  Screenings: {kind: outlet}\n  Cleaned: {kind: outlet, product: yes}\n");
    ef_balance *balance = plant_balance(scenario, EF_OK);
    const ef_balance_crop *crop = &balance->crops[0];
    const ef_balance_outlet *cleaned = plant_outlet(crop, "Cleaned");
    const ef_balance_outlet *screenings = plant_outlet(crop, "Screenings");
    const double raw = plant_material(balance, crop->intake, "toxin") / crop->intake.total_tph;
    const double clean = plant_material(balance, cleaned->flow, "toxin") / cleaned->flow.total_tph;
    const double off = plant_material(balance, screenings->flow, "toxin") / screenings->flow.total_tph;
    assert_near_absolute(screenings->share_of_intake, 0.0515, 5e-4);
    assert_near_absolute(1.0 - clean / raw, 0.16, 0.005);
    assert_near_absolute(off / clean, 4.7, 0.05);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(buckets_lift_what_a_trade_page_says),
        cmocka_unit_test(a_belt_moves_area_times_speed),
        cmocka_unit_test(a_screw_moves_what_the_notes_say),
        cmocka_unit_test(screws_agree_with_the_standard_table),
        cmocka_unit_test(an_inclined_screw_keeps_what_a_trade_guide_says),
        cmocka_unit_test(three_lines_of_600_bushels_make_1800),
        cmocka_unit_test(screenings_of_five_per_cent_take_a_sixth_of_the_toxin),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
