/* SPDX-License-Identifier: GPL-3.0-or-later
 * The balance against values worked out by hand; every answer passes through the verifier as well. */
#include "base/memory.h"
#include "base/text.h"

#include "../lib/files.h"
#include "../lib/near.h"
#include "../lib/plants.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define EXACT 1e-12

#define HEAD                                                                                                 \
    "evenfeed: 1\nplant: {name: Plant}\nmaterials: {sound: {wanted: yes}, light: }\n"                        \
    "crops: {wheat: {density: 0.75 t/m3, receipt: {sound: rest, light: 10 %}}}\nstations:\n"
#define PIT "  Pit: {kind: intake, capacity: 40 t/h, to: A}\n"
#define OUT "  Out: {kind: outlet, product: yes}\n"

/* A scenario and its balance. */
typedef struct bench {
    ef_scenario *scenario;
    ef_balance *balance;
    const ef_balance_crop *crop; /* the first */
} bench;

static bench bench_new(const char *text, ef_status expected)
{
    bench b = {.scenario = plant_read(text)};
    b.balance = plant_balance(b.scenario, expected);
    b.crop = &b.balance->crops[0];
    return b;
}

static void bench_free(bench *b)
{
    ef_balance_free(b->balance);
    ef_scenario_free(b->scenario);
}

/* ---- rate, limits, worth --------------------------------------------------------------------------------
 */

static void one_machine_limits_at_its_capacity(void **state)
{
    (void)state;
    bench b = bench_new(HEAD PIT "  A: {kind: machine, capacity: 12 t/h, to: Out}\n" OUT, EF_OK);
    const ef_balance_station *a = plant_station(b.crop, "A");
    assert_true(b.balance->feasible);
    assert_near(b.crop->intake.total_tph, 12.0, EXACT);
    assert_near(b.crop->product.total_tph, 12.0, EXACT);
    assert_near(b.crop->yield, 1.0, EXACT);
    assert_near(b.crop->purity, 0.9, EXACT);
    assert_near(b.crop->intake_per_shift_t, 96.0, EXACT);
    assert_true(a->limits);
    assert_near(a->load, 1.0, EXACT);
    assert_near(a->worth_intake_tph, 1.0, 1e-9);
    assert_near(a->worth_product_tph, 1.0, 1e-9);
    assert_false(plant_station(b.crop, "Pit")->limits);
    assert_near(plant_station(b.crop, "Pit")->slack, 28.0, EXACT);
    bench_free(&b);
}

/* A takes out 10 % of all: 10 t/h into B are 100/9 t/h at the intake. */
static void in_a_series_the_narrowest_for_its_own_feed_limits(void **state)
{
    (void)state;
    bench b = bench_new(HEAD PIT "  A: {kind: machine, capacity: 12 t/h, discharges: {"
                                 "waste: {takes: {light: 100 %}, to: Waste}, on: {takes: rest, to: B}}}\n"
                                 "  B: {kind: machine, capacity: 10 t/h, to: Out}\n"
                                 "  Waste: {kind: outlet}\n" OUT,
                        EF_OK);
    assert_near(b.crop->intake.total_tph, 100.0 / 9.0, EXACT);
    assert_false(plant_station(b.crop, "A")->limits);
    assert_true(plant_station(b.crop, "B")->limits);
    assert_near(plant_station(b.crop, "B")->worth_intake_tph, 10.0 / 9.0, 1e-9);
    assert_near(plant_station(b.crop, "B")->worth_product_tph, 1.0, 1e-9);
    const ef_balance_outlet *waste = plant_outlet(b.crop, "Waste");
    assert_near(waste->share_of_intake, 0.1, EXACT);
    assert_near(waste->wanted_share, 0.0, EXACT);
    assert_near(b.crop->purity, 1.0, EXACT);
    assert_near(b.crop->wanted_recovered, 1.0, EXACT);
    assert_string_equal(b.crop->outlets[0].name, "Out");
    bench_free(&b);
}

static void where_two_tie_neither_is_worth_anything_alone(void **state)
{
    (void)state;
    bench b = bench_new(HEAD PIT "  A: {kind: machine, capacity: 10 t/h, to: B}\n"
                                 "  B: {kind: machine, capacity: 10 t/h, to: Out}\n" OUT,
                        EF_OK);
    for (int s = 1; s <= 2; s++) {
        assert_true(b.crop->stations[s].limits);
        assert_near_absolute(b.crop->stations[s].worth_intake_tph, 0.0, 1e-9);
        assert_near_absolute(b.crop->stations[s].worth_product_tph, 0.0, 1e-9);
    }
    bench_free(&b);
}

/* 20 m3/h at 0.75 t/m3 are 15 t/h; one m3/h more is 0.75 t/h. */
static void a_capacity_by_volume_counts_by_the_density(void **state)
{
    (void)state;
    bench b = bench_new(HEAD PIT "  A: {kind: elevator, capacity: 20 m3/h, to: Out}\n" OUT, EF_OK);
    const ef_balance_station *a = plant_station(b.crop, "A");
    assert_near(b.crop->intake.total_tph, 15.0, EXACT);
    assert_true(a->capacity_by_volume && a->limits);
    assert_near(a->feed_in_unit, 20.0, EXACT);
    assert_near(a->feed.total_tph, 15.0, EXACT);
    assert_near(a->worth_intake_tph, 0.75, 1e-9);
    bench_free(&b);
}

static void machines_side_by_side_add_up(void **state)
{
    (void)state;
    bench b = bench_new(HEAD PIT "  A: {kind: machine, capacity: 4 t/h, count: 3, to: Out}\n" OUT, EF_OK);
    assert_near(b.crop->intake.total_tph, 12.0, EXACT);
    assert_near(plant_station(b.crop, "A")->capacity, 12.0, EXACT);
    assert_int_equal(plant_station(b.crop, "A")->count, 3);
    bench_free(&b);
}

/* Fresh feed and returns: 20 % of the deck feed comes back, so a deck of 10 t/h takes in 8 t/h. */
static void a_station_in_a_loop_is_held_by_its_feed_with_returns(void **state)
{
    (void)state;
    bench b = bench_new(
        HEAD PIT "  A: {kind: bin, live volume: 4 m3, to: Deck}\n"
                 "  Deck: {kind: density separator, capacity: 10 t/h, discharges: {"
                 "middlings: {takes: {other materials: 20 %}, to: A}, on: {takes: rest, to: Out}}}\n" OUT,
        EF_OK);
    assert_near(b.crop->intake.total_tph, 8.0, EXACT);
    assert_near(plant_station(b.crop, "Deck")->worth_intake_tph, 0.8, 1e-9);
    assert_true(plant_spout(b.crop, "Deck", "middlings")->closes_loop);
    assert_near(plant_spout(b.crop, "Deck", "middlings")->flow.total_tph, 2.0, EXACT);
    assert_near(plant_material(b.balance, plant_spout(b.crop, "Deck", "middlings")->flow, "light"), 0.2,
                EXACT);
    assert_int_equal(b.crop->bin_count, 1);
    assert_near(b.crop->bins[0].rule_t, 2.5, EXACT);
    assert_near(b.crop->bins[0].rule_m3, 2.5 / 0.75, EXACT);
    assert_near(b.crop->bins[0].live_minutes, 60.0 * 4.0 * 0.75 / 10.0, EXACT);
    bench_free(&b);
}

/* The worth is the slope of the greatest intake: against plants with a slightly larger capacity. */
static void the_worth_is_what_a_slightly_larger_machine_brings(void **state)
{
    (void)state;
    double intake[2];
    double product[2];
    double worth_intake = 0.0;
    double worth_product = 0.0;
    for (int i = 0; i < 2; i++) {
        efi_text plant = {0};
        efi_text_add(&plant, HEAD PIT "  A: {kind: machine, capacity: 12 t/h, discharges: {"
                                      "waste: {takes: {light: 60 %, sound: 2 %}, to: Waste},"
                                      " on: {takes: rest, to: B}}}\n");
        efi_text_addf(&plant, "  B: {kind: machine, capacity: %.3f t/h, discharges: {", 5.0 + 0.001 * i);
        efi_text_add(&plant,
                     "back: {takes: {sound: 15 %, light: 35 %}, to: A}, on: {takes: rest, to: Out}}}\n"
                     "  Waste: {kind: outlet}\n" OUT);
        bench b = bench_new(efi_text_get(&plant), EF_OK);
        intake[i] = b.crop->intake.total_tph;
        product[i] = b.crop->product.total_tph;
        if (i == 0) {
            assert_true(plant_station(b.crop, "B")->limits);
            worth_intake = plant_station(b.crop, "B")->worth_intake_tph;
            worth_product = plant_station(b.crop, "B")->worth_product_tph;
        }
        bench_free(&b);
        efi_text_free(&plant);
    }
    assert_near(worth_intake, (intake[1] - intake[0]) / 0.001, 1e-8);
    assert_near(worth_product, (product[1] - product[0]) / 0.001, 1e-8);
}

/* North loses a fifth before M, so it is taken first: 5 t/h, as A allows; 4 of them reach M, and South fills
 * M up with
 * 6. One more in A lets 1 more in from North, but 0.8 less from South. */
static void of_two_intakes_the_one_that_burdens_less_is_served_first(void **state)
{
    (void)state;
    bench b = bench_new("evenfeed: 1\nplant: {name: Plant}\nmaterials: {sound: {wanted: yes}}\n"
                        "crops: {wheat: {receipt: {sound: rest}}}\nstations:\n"
                        "  North: {kind: intake, capacity: 40 t/h, to: A}\n"
                        "  South: {kind: intake, capacity: 40 t/h, to: M}\n"
                        "  A: {kind: machine, capacity: 5 t/h, discharges: {"
                        "waste: {takes: {sound: 20 %}, to: Waste}, on: {takes: rest, to: M}}}\n"
                        "  M: {kind: machine, capacity: 10 t/h, to: Out}\n"
                        "  Waste: {kind: outlet}\n" OUT,
                        EF_OK);
    assert_near(plant_station(b.crop, "North")->feed.total_tph, 5.0, EXACT);
    assert_near(plant_station(b.crop, "South")->feed.total_tph, 6.0, EXACT);
    assert_near(b.crop->intake.total_tph, 11.0, EXACT);
    assert_near(plant_station(b.crop, "A")->worth_intake_tph, 0.2, 1e-9);
    assert_near_absolute(plant_station(b.crop, "A")->worth_product_tph, 0.0, 1e-9);
    assert_near(plant_station(b.crop, "M")->worth_intake_tph, 1.0, 1e-9);
    assert_near(plant_station(b.crop, "M")->worth_product_tph, 1.0, 1e-9);
    bench_free(&b);
}

static void each_crop_has_its_own_capacities_and_ways(void **state)
{
    (void)state;
    bench b = bench_new(
        "evenfeed: 1\nplant: {name: Plant}\nmaterials: {sound: {wanted: yes}}\n"
        "crops: {wheat: {receipt: {sound: rest}}, oats: {receipt: {sound: rest}}}\nstations:\n"
        "  Pit: {kind: intake, capacity: 40 t/h, to: {wheat: A, oats: B}}\n"
        "  A: {kind: machine, capacity: {wheat: 5 t/h}, to: B}\n"
        "  B: {kind: machine, capacity: {wheat: 9 t/h, other crops: 7 t/h}, to: Out}\n" OUT,
        EF_OK);
    const ef_balance_crop *oats = plant_crop(b.balance, "oats");
    assert_near(b.crop->intake.total_tph, 5.0, EXACT);
    assert_near(oats->intake.total_tph, 7.0, EXACT);
    assert_int_equal(b.crop->station_count, 4);
    assert_int_equal(oats->station_count, 3);
    bench_free(&b);
}

/* ---- least feeds ----------------------------------------------------------------------------------------
 */

#define SHORT_OF_FEED(pit, capacity, count, least)                                                           \
    HEAD "  Pit: {kind: intake, capacity: " pit ", to: A}\n  A: {kind: machine, capacity: " capacity         \
         ", count: " count ", least feed: " least ", to: Out}\n" OUT

static void check_enough(const char *text, bool under, int enough)
{
    bench b = bench_new(text, EF_OK);
    const ef_balance_station *a = plant_station(b.crop, "A");
    assert_true(a->has_least_feed);
    assert_int_equal(a->under_least_feed, under);
    assert_int_equal(a->enough_machines, enough);
    bench_free(&b);
}

static void too_many_machines_for_the_feed_are_told(void **state)
{
    (void)state;
    check_enough(SHORT_OF_FEED("11 t/h", "8 t/h", "3", "5 t/h"), true, 2);   /* 5.5 each */
    check_enough(SHORT_OF_FEED("11 t/h", "5.4 t/h", "3", "5 t/h"), true, 0); /* two would be over 5.4 */
    check_enough(SHORT_OF_FEED("15 t/h", "8 t/h", "3", "5 t/h"), false, 0);  /* just enough */
    check_enough(SHORT_OF_FEED("4 t/h", "8 t/h", "3", "5 t/h"), true, 0);    /* not even for one */
    check_enough(SHORT_OF_FEED("4 t/h", "8 t/h", "1", "5 t/h"), true, 0);    /* there is but one */
    check_enough(SHORT_OF_FEED("10 t/h", "8 t/h", "3", "5 t/h"), true, 2);   /* exactly two */
    check_enough(SHORT_OF_FEED("5 t/h", "8 m3/h", "4", "1.7 t/h"), true, 2); /* two take 12 t/h */
}

/* ---- demands --------------------------------------------------------------------------------------------
 */

static void a_demand_that_can_be_met_changes_nothing(void **state)
{
    (void)state;
    bench b = bench_new(HEAD PIT "  A: {kind: machine, capacity: 10 t/h, to: Out}\n"
                                 "  Out: {kind: outlet, product: yes, least rate: 10 t/h}\n",
                        EF_OK);
    assert_near(b.crop->intake.total_tph, 10.0, EXACT);
    assert_int_equal(b.crop->conflict_count, 0);
    assert_true(plant_outlet(b.crop, "Out")->has_least_rate);
    bench_free(&b);
}

static void a_demand_above_the_line_is_explained(void **state)
{
    (void)state;
    bench b = bench_new(HEAD PIT "  A: {kind: machine, capacity: 10 t/h, discharges: {"
                                 "waste: {takes: {light: 50 %}, to: Waste}, on: {takes: rest, to: B}}}\n"
                                 "  B: {kind: machine, capacity: 20 t/h, to: Out}\n"
                                 "  Waste: {kind: outlet}\n"
                                 "  Out: {kind: outlet, product: yes, least rate: 12 t/h}\n",
                        EF_NO_ANSWER);
    assert_false(b.crop->feasible);
    assert_false(b.balance->feasible);
    assert_int_equal(b.crop->conflict_count, 1);
    const ef_balance_conflict *conflict = &b.crop->conflicts[0];
    assert_string_equal(conflict->outlet, "Out");
    assert_near(conflict->demanded_tph, 12.0, EXACT);
    assert_near(conflict->most_tph, 9.5, 1e-9);
    assert_int_equal(conflict->limiting_count, 1);
    assert_string_equal(conflict->limiting[0], "A");
    assert_int_equal(conflict->place.line, 10);
    assert_near(b.crop->intake.total_tph, 0.0, EXACT);
    bench_free(&b);
}

/* Half of each intake goes over M (10 t/h in all), half to an outlet of its own, each of which must get 8
 * t/h: either could alone (10 t/h), both cannot. */
static void demands_that_contradict_each_other_are_explained(void **state)
{
    (void)state;
    bench b = bench_new("evenfeed: 1\nplant: {name: Plant}\nmaterials: {sound: {wanted: yes}}\n"
                        "crops: {wheat: {receipt: {sound: rest}}}\nstations:\n"
                        "  North: {kind: intake, capacity: 40 t/h, to: North cleaner}\n  North cleaner: "
                        "{kind: machine, capacity: 40 t/h, discharges: {"
                        "own: {takes: {sound: 50 %}, to: One}, shared: {takes: rest, to: M}}}\n"
                        "  South: {kind: intake, capacity: 40 t/h, to: South cleaner}\n  South cleaner: "
                        "{kind: machine, capacity: 40 t/h, discharges: {"
                        "own: {takes: {sound: 50 %}, to: Two}, shared: {takes: rest, to: M}}}\n"
                        "  M: {kind: machine, capacity: 10 t/h, to: Out}\n"
                        "  One: {kind: outlet, least rate: 8 t/h}\n"
                        "  Two: {kind: outlet, least rate: 8 t/h}\n" OUT,
                        EF_NO_ANSWER);
    assert_int_equal(b.crop->conflict_count, 1);
    assert_near(b.crop->conflicts[0].most_tph, 10.0, 1e-9);
    assert_near(b.crop->conflicts[0].demanded_tph, 8.0, EXACT);
    assert_int_equal(b.crop->conflicts[0].limiting_count, 1);
    assert_string_equal(b.crop->conflicts[0].limiting[0], "M");
    bench_free(&b);
}

static void an_outlet_that_gets_nothing_cannot_get_its_least(void **state)
{
    (void)state;
    bench b = bench_new(HEAD PIT "  A: {kind: machine, capacity: 10 t/h, discharges: {"
                                 "waste: {takes: {light: 0 %}, to: Waste}, on: {takes: rest, to: Out}}}\n"
                                 "  Waste: {kind: outlet, least rate: 1 t/h}\n" OUT,
                        EF_NO_ANSWER);
    assert_int_equal(b.crop->conflict_count, 1);
    assert_near_absolute(b.crop->conflicts[0].most_tph, 0.0, 1e-12);
    bench_free(&b);
}

/* ---- bins -----------------------------------------------------------------------------------------------
 */

static void a_bin_that_the_crop_does_not_pass_is_not_above_its_deck(void **state)
{
    (void)state;
    bench b = bench_new(
        "evenfeed: 1\nplant: {name: Plant}\nmaterials: {sound: {wanted: yes}}\n"
        "crops: {wheat: {receipt: {sound: rest}}, oats: {receipt: {sound: rest}}}\nstations:\n"
        "  Pit: {kind: intake, capacity: 40 t/h, to: {wheat: Wheat bin, oats: Oat bin}}\n"
        "  Wheat bin: {kind: bin, to: Deck}\n"
        "  Oat bin: {kind: bin, to: Deck}\n"
        "  Deck: {kind: machine, steady feed: 2 %, capacity: 10 t/h, to: Out}\n" OUT,
        EF_OK);
    for (int c = 0; c < 2; c++) {
        assert_int_equal(b.balance->crops[c].bin_count, 1);
        assert_string_equal(b.balance->crops[c].bins[0].name, c == 0 ? "Wheat bin" : "Oat bin");
    }
    bench_free(&b);
}

static void no_bin_above_a_deck_is_left_out(void **state)
{
    (void)state;
    enum {
        BINS = 20
    };
    efi_text plant = {0};
    efi_text_add(&plant, HEAD PIT "  A: {kind: machine, capacity: 40 t/h, discharges: {\n");
    for (int bin = 0; bin < BINS; bin++)
        efi_text_addf(&plant, "    d%d: {takes: %s, to: Bin %d}%s\n", bin, bin ? "{sound: 5 %}" : "rest", bin,
                      bin + 1 < BINS ? "," : "}}");
    for (int bin = 0; bin < BINS; bin++)
        efi_text_addf(&plant, "  Bin %d: {kind: bin, to: Deck}\n", bin);
    efi_text_add(&plant, "  Deck: {kind: machine, steady feed: 2 %, capacity: 10 t/h, to: Out}\n" OUT);
    bench b = bench_new(efi_text_get(&plant), EF_OK);
    assert_int_equal(b.crop->bin_count, BINS);
    bench_free(&b);
    efi_text_free(&plant);
}

/* ---- derating and peaks ---------------------------------------------------------------------------------
 */

/* 10 t/h; 20 % moisture is 4 points above 16, at 5 % a point 0.8 is left; 10 % trash is 6 points above 4, at
 * 2 % a point another 0.12 goes: 6.8 t/h. A conveyor of 20 t/h with peaks of 1.25 carries 16 t/h in the mean.
 */
static void wet_and_trashy_receipts_and_peaks_take_capacity(void **state)
{
    (void)state;
    bench b = bench_new(
        "evenfeed: 1\nplant: {name: Plant}\nmaterials: {sound: {wanted: yes}, light: }\n"
        "crops: {wheat: {moisture: 20 %, receipt: {sound: rest, light: 10 %}}}\nstations:\n"
        "  Pit: {kind: intake, capacity: 40 t/h, to: Belt}\n"
        "  Belt: {kind: conveyor, capacity: 20 t/h, peak factor: 1.25, to: A}\n"
        "  A: {kind: machine, capacity: 10 t/h, derating: {moisture above: 16 %, "
        "per point of moisture: 5 %, trash above: 4 %, per point of trash: 2 %}, to: Out}\n" OUT,
        EF_OK);
    assert_near(b.crop->intake.total_tph, 6.8, EXACT);
    assert_near(plant_station(b.crop, "Belt")->capacity, 16.0, EXACT);
    bench_free(&b);
}

/* ---- rounding --------------------------------------------------------------------------------------------
 */

static void an_error_of_the_presolver_does_not_stay(void **state)
{
    (void)state;
    char *text = file_read("tests/answers/data/rounding.yaml", NULL);
    bench b = bench_new(text, EF_OK);
    assert_true(plant_station(b.crop, "S1")->limits);
    assert_true(b.crop->primal_error < 1e-12);
    bench_free(&b);
    free(text);
}

/* Each of 200 machines returns 5 % of the sound and 30 % of the light material to one or two stations above
 * it. */
static void a_long_line_with_returns_is_solved(void **state)
{
    (void)state;
    enum {
        MACHINES = 200
    };
    efi_text plant = {0};
    efi_text_add(&plant, HEAD "  Pit: {kind: intake, capacity: 400 t/h, to: M0}\n");
    for (int i = 0; i < MACHINES; i++) {
        efi_text_addf(&plant, "  M%d: {kind: machine, capacity: %d t/h, discharges: {", i, 20 + 7 * i % 61);
        if (i > 1)
            efi_text_addf(&plant, "back: {takes: {sound: 5 %%, light: 30 %%}, to: M%d}, ", i - 1 - i % 2);
        efi_text_add(&plant, "on: {takes: rest, to: ");
        if (i + 1 < MACHINES)
            efi_text_addf(&plant, "M%d}}}\n", i + 1);
        else
            efi_text_add(&plant, "Out}}}\n" OUT);
    }
    bench b = bench_new(efi_text_get(&plant), EF_OK);
    assert_int_equal(b.crop->station_count, MACHINES + 2);
    assert_near(b.crop->yield, 1.0, EXACT);
    bench_free(&b);
    efi_text_free(&plant);
}

/* ---- settings -------------------------------------------------------------------------------------------
 */

static const char two_crops[] =
    "evenfeed: 1\nplant: {name: Plant, surge rule: 20 min, shift length: 10 h}\nmaterials: {sound: {wanted: "
    "yes}}\n"
    "crops: {wheat: {receipt: {sound: rest}}, oats: {receipt: {sound: rest}}}\nstations:\n"
    "  Pit: {kind: intake, capacity: {wheat: 30 t/h, oats: 20 t/h}, to: Bin}\n"
    "  Bin: {kind: bin, to: Deck}\n"
    "  Deck: {kind: machine, steady feed: 1 %, capacity: 60 t/h, to: Out}\n" OUT;

static void one_crop_can_be_asked_for(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(two_crops);
    ef_balance_settings settings = ef_balance_defaults();
    settings.crop = 1;
    settings.has_surge_rule = true;
    settings.surge_rule_h = 0.5;
    ef_balance *balance = NULL;
    assert_int_equal(ef_balance_solve(scenario, &settings, &balance), EF_OK);
    plant_verify(scenario, balance);
    assert_int_equal(balance->crop_count, 1);
    assert_string_equal(balance->crops[0].name, "oats");
    assert_near(balance->crops[0].intake_per_shift_t, 200.0, EXACT);
    assert_near(balance->crops[0].bins[0].rule_t, 10.0, EXACT);
    assert_false(balance->crops[0].bins[0].has_density);
    ef_balance_free(balance);
    settings.has_surge_rule = false;
    assert_int_equal(ef_balance_solve(scenario, &settings, &balance), EF_OK);
    assert_near(balance->crops[0].bins[0].rule_t, 20.0 / 3.0, EXACT);
    ef_balance_free(balance);
    balance = NULL;
    settings.crop = 2;
    assert_int_equal(ef_balance_solve(scenario, &settings, &balance), EF_USAGE);
    assert_null(balance);
    ef_scenario_free(scenario);
}

static void an_existing_file_is_not_replaced_unasked(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(two_crops);
    char *path = scratch_path("program.lp");
    file_write(path, "mine", 4);
    ef_balance_settings settings = ef_balance_defaults();
    settings.crop = 0;
    settings.write_lp = path;
    ef_balance *balance = NULL;
    assert_int_equal(ef_balance_solve(scenario, &settings, &balance), EF_FILE);
    assert_null(balance);
    char *kept = file_read(path, NULL);
    assert_string_equal(kept, "mine");
    free(kept);
    settings.overwrite = true;
    assert_int_equal(ef_balance_solve(scenario, &settings, &balance), EF_OK);
    char *written = file_read(path, NULL);
    assert_non_null(strstr(written, "Maximize"));
    free(written);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
    free(path);
}

/* ---- ladder ---------------------------------------------------------------------------------------------
 */

/* The balance is that of the plant as it is, whatever the rungs above it say. */
static void a_ladder_leaves_the_balance_alone(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(HEAD PIT "  A: {kind: machine, capacity: 10 t/h, to: B}\n"
                                                "  B: {kind: machine, capacity: 12 t/h, to: Out}\n" OUT);
    ef_balance_settings settings = ef_balance_defaults();
    settings.ladder = 2;
    ef_balance *balance = plant_balance_as(scenario, &settings, EF_OK);
    const ef_balance_crop *crop = &balance->crops[0];
    assert_near(crop->intake.total_tph, 10.0, EXACT);
    assert_near(plant_material(balance, plant_station(crop, "B")->feed, "sound"), 9.0, EXACT);
    assert_int_equal(crop->rung_count, 2);
    assert_near(crop->rungs[0].intake_tph, 12.0, EXACT);
    assert_near(crop->rungs[1].intake_tph, 40.0, EXACT);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

/* ---- memory ---------------------------------------------------------------------------------------------
 */

static void without_memory_there_is_no_balance(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(two_crops);
    const ef_balance_settings settings = ef_balance_defaults();
    ef_status status = EF_MEMORY;
    ef_balance *balance = NULL;
    int failures = 0;
    for (long n = 1; status != EF_OK && n < 100000; n++) {
        balance = NULL;
        (void)efi_memory_fail_at(n);
        status = ef_balance_solve(scenario, &settings, &balance);
        (void)efi_memory_fail_at(0);
        if (status != EF_OK) {
            assert_int_equal(status, EF_MEMORY);
            assert_null(balance);
            failures++;
        }
    }
    assert_int_equal(status, EF_OK);
    assert_true(failures > 20);
    plant_verify(scenario, balance);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_machine_limits_at_its_capacity),
        cmocka_unit_test(in_a_series_the_narrowest_for_its_own_feed_limits),
        cmocka_unit_test(where_two_tie_neither_is_worth_anything_alone),
        cmocka_unit_test(a_capacity_by_volume_counts_by_the_density),
        cmocka_unit_test(machines_side_by_side_add_up),
        cmocka_unit_test(a_station_in_a_loop_is_held_by_its_feed_with_returns),
        cmocka_unit_test(the_worth_is_what_a_slightly_larger_machine_brings),
        cmocka_unit_test(of_two_intakes_the_one_that_burdens_less_is_served_first),
        cmocka_unit_test(each_crop_has_its_own_capacities_and_ways),
        cmocka_unit_test(too_many_machines_for_the_feed_are_told),
        cmocka_unit_test(a_demand_that_can_be_met_changes_nothing),
        cmocka_unit_test(a_demand_above_the_line_is_explained),
        cmocka_unit_test(demands_that_contradict_each_other_are_explained),
        cmocka_unit_test(an_outlet_that_gets_nothing_cannot_get_its_least),
        cmocka_unit_test(a_bin_that_the_crop_does_not_pass_is_not_above_its_deck),
        cmocka_unit_test(no_bin_above_a_deck_is_left_out),
        cmocka_unit_test(wet_and_trashy_receipts_and_peaks_take_capacity),
        cmocka_unit_test(an_error_of_the_presolver_does_not_stay),
        cmocka_unit_test(a_long_line_with_returns_is_solved),
        cmocka_unit_test(one_crop_can_be_asked_for),
        cmocka_unit_test(an_existing_file_is_not_replaced_unasked),
        cmocka_unit_test(a_ladder_leaves_the_balance_alone),
        cmocka_unit_test(without_memory_there_is_no_balance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
