/* SPDX-License-Identifier: GPL-3.0-or-later
 * Derating, peaks, power, people, carts and money against figures worked out by hand. */
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
    ROOM = 4000
};
#define EXACT 1e-9

/* A plant of three stations and a cleaner, with keys of the plant, of the crop and of the machine to be
 * filled in. */
static ef_scenario *plant_with(const char *plant, const char *crop, const char *machine, const char *more)
{
    char text[ROOM];
    const int length = snprintf(
        text, sizeof text,
        "evenfeed: 1\nplant: {name: Test%s}\nmaterials: {seed: {wanted: yes}, light: }\n"
        "crops: {wheat: {density: 0.75 t/m3, receipt: {seed: 92 %%, light: 8 %%}%s}}\nstations:\n"
        "  Pit: {kind: intake, capacity: 30 t/h, to: Cleaner}\n"
        "  Cleaner: {kind: air-screen cleaner, capacity: 10 t/h%s, discharges: {"
        "screenings: {takes: {light: 75 %%}, to: Cart}, seed: {takes: rest, to: Seed}}}\n%s",
        plant, crop, machine, more);
    assert_in_range(length, 1, ROOM - 1);
    return plant_read(text);
}

static const char outlets[] =
    "  Cart: {kind: outlet, use: feed}\n  Seed: {kind: outlet, product: yes, use: seed}\n";

static double intake_of(ef_scenario *scenario)
{
    ef_balance *balance = plant_balance(scenario, EF_OK);
    const double intake = balance->crops[0].intake.total_tph;
    ef_balance_free(balance);
    ef_scenario_free(scenario);
    return intake;
}

/* 17 % moisture is two points above 15 %, at 4 % each; 8 % unwanted is three points above 5 %, at 5 % each:
 * 1 - 0.08 - 0.15 = 0.77. */
static void wet_and_trashy_receipts_lower_a_capacity_linearly(void **state)
{
    (void)state;
    const double intake = intake_of(
        plant_with("", ", moisture: 17 %",
                   ", derating: {moisture above: 15 %, per point of moisture: 4 %, trash above: 5 %, "
                   "per point of trash: 5 %}",
                   outlets));
    assert_near_relative(intake, 7.7, EXACT);
}

static void derating_keeps_a_tenth_at_least(void **state)
{
    (void)state;
    const double intake = intake_of(plant_with(
        "", ", moisture: 30 %", ", derating: {moisture above: 15 %, per point of moisture: 10 %}", outlets));
    assert_near_relative(intake, 1.0, EXACT);
}

/* A leg of 12 m3/h at 0.75 t/m3 carries 9 t/h; with peaks of 1.25 over the mean, 7.2 t/h in the mean. */
static void a_leg_keeps_room_for_peaks(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        "evenfeed: 1\nplant: {name: Test}\nmaterials: {seed: {wanted: yes}}\n"
        "crops: {wheat: {density: 0.75 t/m3, receipt: {seed: rest}}}\nstations:\n"
        "  Pit: {kind: intake, capacity: 30 t/h, to: Leg}\n"
        "  Leg: {kind: elevator, capacity: 12 m3/h, peak factor: 1.25, to: Seed}\n"
        "  Seed: {kind: outlet, product: yes}\n");
    assert_near_relative(intake_of(scenario), 7.2, EXACT);
}

/* 20 kW in all, 8 kW of them idle: the other 12 kW carry 12 / 1.5 = 8 t/h at 1.5 kWh/t; one kW more is worth
 * 1 / 1.5 t/h. */
static void power_limits_a_line_by_what_is_left_over_idling(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_with(", power limit: 20 kW", "", ", idle power: 8 kW, energy: 1.5 kWh/t",
                                       outlets);
    ef_balance *balance = plant_balance(scenario, EF_OK);
    const ef_balance_crop *crop = &balance->crops[0];
    assert_near_relative(crop->intake.total_tph, 8.0, EXACT);
    assert_true(crop->power_limits);
    assert_near_relative(crop->power_kw, 20.0, EXACT);
    assert_near_relative(crop->power_worth_intake_tph, 1.0 / 1.5, 1e-6);
    assert_near_relative(crop->kwh_per_t, 20.0 / crop->product.total_tph, EXACT);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

/* The plant with this power limit, at the best value; the scenario is the caller's. */
static ef_balance *balance_at_power(const char *plant, ef_scenario **scenario)
{
    ef_balance_settings settings = ef_balance_defaults();
    settings.aim = EF_BALANCE_VALUE;
    *scenario = plant_with(plant, ", price: 190 EUR/t", ", idle power: 8 kW, energy: 1.5 kWh/t",
                           "  Cart: {kind: outlet, use: waste, price: -20 EUR/t}\n"
                           "  Seed: {kind: outlet, product: yes, use: seed, price: 300 EUR/t}\n");
    return plant_balance_as(*scenario, &settings, EF_OK);
}

/* By value a kW more is worth money: what 10 W more bring, a hundred times over; each tonne brings
 * 0.94 x 300 - 0.06 x 20 - 190 - 1.5 x 0.2 and takes 1.5 kWh. */
static void by_value_a_kw_more_is_worth_money_an_hour(void **state)
{
    (void)state;
    ef_scenario *scenario;
    ef_scenario *more;
    ef_balance *balance = balance_at_power(", power limit: 20 kW, energy price: 0.2 EUR/kWh", &scenario);
    ef_balance *above = balance_at_power(", power limit: 20.01 kW, energy price: 0.2 EUR/kWh", &more);
    const ef_balance_crop *crop = &balance->crops[0];
    assert_true(crop->power_limits);
    assert_near_relative(crop->power_worth_value, 90.5 / 1.5, 1e-9);
    assert_near_relative(crop->power_worth_value, (above->crops[0].value_per_h - crop->value_per_h) / 0.01,
                         1e-6);
    assert_near_relative(crop->power_worth_intake_tph, 1.0 / 1.5, 1e-6);
    assert_near_relative(crop->power_worth_product_tph, 0.94 / 1.5, 1e-6);
    ef_balance_free(above);
    ef_scenario_free(more);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

static void idling_above_the_power_limit_is_explained(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_with(", power limit: 5 kW", "", ", idle power: 8 kW, energy: 1.5 kWh/t",
                                       outlets);
    ef_balance *balance = plant_balance(scenario, EF_NO_ANSWER);
    const ef_balance_crop *crop = &balance->crops[0];
    assert_false(crop->feasible);
    assert_int_equal(crop->conflict_count, 1);
    assert_int_equal(crop->conflicts[0].demand, EF_BALANCE_POWER);
    assert_near_relative(crop->conflicts[0].idle_kw, 8.0, EXACT);
    assert_near_relative(crop->conflicts[0].limit_kw, 5.0, EXACT);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

/* 22.5 t/h of receipt bring 1.8 t/h of light seed, all of which goes to the cart: 1.5 t fill in 50 min. */
static void a_cart_of_a_tonne_and_a_half_fills_in_fifty_minutes(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        "evenfeed: 1\nplant: {name: Test}\nmaterials: {seed: {wanted: yes}, light: }\n"
        "crops: {wheat: {receipt: {seed: 92 %, light: 8 %}}}\nstations:\n"
        "  Pit: {kind: intake, capacity: 22.5 t/h, to: Cleaner}\n"
        "  Cleaner: {kind: air-screen cleaner, capacity: 30 t/h, discharges: {"
        "screenings: {takes: {light: 100 %}, to: Cart}, seed: {takes: rest, to: Seed}}}\n"
        "  Cart: {kind: outlet, holds: 1.5 t}\n  Seed: {kind: outlet, product: yes}\n");
    ef_balance *balance = plant_balance(scenario, EF_OK);
    const ef_balance_outlet *cart = plant_outlet(&balance->crops[0], "Cart");
    assert_near_relative(cart->flow.total_tph, 1.8, EXACT);
    assert_near_relative(cart->fills_h, 50.0 / 60.0, EXACT);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

/* 10 t/h bring 0.8 t/h of light seed, 75 % of which, 0.6 t/h, go to the cart: 1.5 t are full after 2.5 h. */
static void a_cart_fills_by_what_comes(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_with("", "", "",
                                       "  Cart: {kind: outlet, use: feed, holds: 1.5 t}\n"
                                       "  Seed: {kind: outlet, product: yes, use: seed, holds: 20 m3}\n");
    ef_balance *balance = plant_balance(scenario, EF_OK);
    const ef_balance_crop *crop = &balance->crops[0];
    assert_near_relative(plant_outlet(crop, "Cart")->fills_h, 2.5, EXACT);
    assert_near_relative(plant_outlet(crop, "Seed")->fills_h, 20.0 / (9.4 / 0.75), EXACT);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

/* 9.4 t/h of seed at 300, 0.6 t/h of screenings at -20, 10 t/h of receipt at 190, 23 kW at 0.2:
 * 2820 - 12 - 1900 - 4.6 = 903.4 an hour. */
static void money_is_what_leaves_less_receipt_and_energy(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_with(", energy price: 0.2 EUR/kWh", ", price: 190 EUR/t",
                                       ", idle power: 8 kW, energy: 1.5 kWh/t",
                                       "  Cart: {kind: outlet, use: waste, price: -20 EUR/t}\n"
                                       "  Seed: {kind: outlet, product: yes, use: seed, price: 300 EUR/t}\n");
    ef_balance_settings settings = ef_balance_defaults();
    settings.aim = EF_BALANCE_VALUE;
    ef_balance *balance = plant_balance_as(scenario, &settings, EF_OK);
    assert_near_relative(balance->crops[0].value_per_h, 903.4, EXACT);
    /* one t/h more capacity: 90.8 less 0.3 for energy */
    const ef_balance_station *cleaner = plant_station(&balance->crops[0], "Cleaner");
    assert_true(cleaner->limits);
    assert_near_relative(cleaner->worth_value, 0.94 * 300.0 - 0.06 * 20.0 - 190.0 - 1.5 * 0.2, 1e-6);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

/* Where every tonne loses money the best that the aim `value` can do is to stand still. */
static void a_line_that_loses_money_stands_still_for_the_value(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_with("", ", price: 400 EUR/t", "",
                                       "  Cart: {kind: outlet, use: waste}\n"
                                       "  Seed: {kind: outlet, product: yes, use: seed, price: 300 EUR/t}\n");
    ef_balance_settings settings = ef_balance_defaults();
    settings.aim = EF_BALANCE_VALUE;
    ef_balance *balance = plant_balance_as(scenario, &settings, EF_OK);
    assert_near_absolute(balance->crops[0].intake.total_tph, 0.0, 1e-9);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

/* Two products on 10 kW. Bulk earns 300 - 200 = 100 a tonne on 1 kWh, bags 420 - 200 = 220 on 2 kWh, 110 for
 * each kWh. The rate fills bulk first: 8 t/h on 8 kW and 1 t/h of bags on 2 kW, 9 t/h for 800 + 220 = 1020.
 * The value makes bags only: 5 t/h for 1100. */
static void value_and_rate_choose_different_shares_under_a_power_limit(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        "evenfeed: 1\nplant: {name: Test, power limit: 10 kW}\nmaterials: {seed: {wanted: yes}}\n"
        "crops: {wheat: {price: 200 EUR/t, receipt: {seed: rest}}}\nstations:\n"
        "  Pit: {kind: intake, capacity: 30 t/h, to: Split}\n"
        "  Split: {kind: split, rule: free, branches: {bulk: {to: Weigher}, bags: {to: Bagger}}}\n"
        "  Weigher: {kind: weigher, capacity: 8 t/h, energy: 1 kWh/t, to: Bulk}\n"
        "  Bagger: {kind: bagger, capacity: 8 t/h, energy: 2 kWh/t, to: Bags}\n"
        "  Bulk: {kind: outlet, product: yes, price: 300 EUR/t}\n"
        "  Bags: {kind: outlet, product: yes, price: 420 EUR/t}\n");
    ef_balance_settings settings = ef_balance_defaults();
    ef_balance *rate = plant_balance_as(scenario, &settings, EF_OK);
    assert_near_relative(rate->crops[0].intake.total_tph, 9.0, 1e-7);
    assert_near_relative(rate->crops[0].value_per_h, 1020.0, 1e-7);
    assert_near_absolute(rate->crops[0].gap, 0.0, 1e-7);
    settings.aim = EF_BALANCE_VALUE;
    ef_balance *value = plant_balance_as(scenario, &settings, EF_OK);
    assert_near_relative(value->crops[0].intake.total_tph, 5.0, 1e-7);
    assert_near_relative(value->crops[0].value_per_h, 1100.0, 1e-7);
    assert_near_relative(value->crops[0].bound, 1100.0, 1e-7);
    ef_balance_free(rate);
    ef_balance_free(value);
    ef_scenario_free(scenario);
}

static void people_and_air_add_up(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_with(", people: 2", "", ", people: 0.5, air: 6000 m3/h, count: 2", outlets);
    ef_balance *balance = plant_balance(scenario, EF_OK);
    const ef_balance_crop *crop = &balance->crops[0];
    assert_near_relative(crop->people, 0.5, EXACT);
    assert_true(crop->has_people_limit);
    assert_near_relative(crop->air_m3ph, 12000.0, EXACT);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(wet_and_trashy_receipts_lower_a_capacity_linearly),
        cmocka_unit_test(derating_keeps_a_tenth_at_least),
        cmocka_unit_test(a_leg_keeps_room_for_peaks),
        cmocka_unit_test(power_limits_a_line_by_what_is_left_over_idling),
        cmocka_unit_test(by_value_a_kw_more_is_worth_money_an_hour),
        cmocka_unit_test(idling_above_the_power_limit_is_explained),
        cmocka_unit_test(a_cart_of_a_tonne_and_a_half_fills_in_fifty_minutes),
        cmocka_unit_test(a_cart_fills_by_what_comes),
        cmocka_unit_test(money_is_what_leaves_less_receipt_and_energy),
        cmocka_unit_test(a_line_that_loses_money_stands_still_for_the_value),
        cmocka_unit_test(value_and_rate_choose_different_shares_under_a_power_limit),
        cmocka_unit_test(people_and_air_add_up),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
