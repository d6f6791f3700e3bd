/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a balance notices every kind of wrong answer: each field of the answer is made wrong in
 * turn. */
#include "base/base.h"
#include "base/memory.h"
#include "shared/verify/differences.h"

#include "../lib/plants.h"
#include "../lib/spoil.h"

#include <evenfeed/report.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define HEAD                                                                                                 \
    "evenfeed: 1\n"                                                                                          \
    "plant: {name: Plant}\n"                                                                                 \
    "materials: {sound: {wanted: yes}, light: , chaff: {density: 0.1 t/m3}}\n"                               \
    "crops:\n"                                                                                               \
    "  wheat: {density: 0.77 t/m3, trade weight: 60 lb/bu, receipt: {sound: rest, light: 5 %, chaff: 2 "     \
    "%}}\n"                                                                                                  \
    "  barley: {density: 0.62 t/m3, receipt: {sound: rest, light: 8 %, chaff: 4 %}}\n"                       \
    "  clover: {receipt: {sound: rest, light: 12 %}}\n"

/* Returns, bins above a steady-feed station, machines side by side under their least feed, capacities by
 * volume, a station for some crops only, least rates that are met. */
static const char rich[] = HEAD
    "stations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, to: {clover: Cleaner, other crops: Leg}}\n"
    "  Leg: {kind: elevator, capacity: 40 m3/h, to: Cleaner}\n"
    "  Cleaner:\n"
    "    kind: air-screen cleaner\n"
    "    capacity: {barley: 9.5 t/h, other crops: 15 t/h}\n"
    "    discharges:\n"
    "      screenings: {takes: {chaff: 95 %, light: 30 %, sound: 1 %}, to: Screenings}\n"
    "      seed: {takes: rest, to: Bin}\n"
    "  Bin: {kind: bin, live volume: 4 m3, to: Feeder}\n"
    "  Feeder: {kind: conveyor, capacity: 60 t/h, to: Deck}\n"
    "  Return bin: {kind: bin, to: Deck}\n"
    "  Deck:\n"
    "    kind: density separator\n"
    "    capacity: 5 t/h\n"
    "    count: 2\n"
    "    least feed: 3 t/h\n"
    "    discharges:\n"
    "      middlings: {takes: {sound: 12 %, light: 30 %}, to: Return bin}\n"
    "      lights: {takes: {light: 60 %, sound: 1 %}, to: Screenings}\n"
    "      heavies: {takes: rest, to: Treater}\n"
    "  Treater: {kind: treater, capacity: 6 t/h, count: 3, least feed: 4 t/h, to: Product}\n"
    "  Screenings: {kind: outlet, least rate: 0.1 t/h}\n"
    "  Product: {kind: outlet, product: yes, use: seed}\n";

/* Demands that cannot be met, alone and together. */
static const char torn[] = HEAD
    "stations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, to: Bin}\n"
    "  Bin: {kind: bin, live volume: 2 m3, to: Deck}\n"
    "  Other bin: {kind: bin, to: Deck}\n"
    "  Deck:\n"
    "    kind: density separator\n"
    "    capacity: 10 t/h\n"
    "    discharges:\n"
    "      lights: {takes: {chaff: 90 %, light: 60 %, sound: 1 %}, to: Screenings}\n"
    "      middlings: {takes: {sound: 10 %}, to: Other bin}\n"
    "      heavies: {takes: rest, to: Product}\n"
    "  Screenings: {kind: outlet, least rate: 2 t/h}\n"
    "  Product: {kind: outlet, product: yes, use: seed, least rate: 12 t/h}\n";

/* Prices, power, fixed shares, a purity that is met, carts. */
static const char costly[] =
    "evenfeed: 1\nplant: {name: Plant, power limit: 60 kW, energy price: 0.2 EUR/kWh, people: 4}\n"
    "lines: {Line 1: }\n"
    "materials: {sound: {wanted: yes}, chaff: {density: 0.1 t/m3}}\n"
    "crops:\n"
    "  wheat: {density: 0.77 t/m3, price: 180 EUR/t, moisture: 18 %, receipt: {sound: rest, chaff: 5 %}}\n"
    "stations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, idle power: 2 kW, to: Leg}\n"
    "  Leg: {kind: elevator, capacity: 30 m3/h, peak factor: 1.2, idle power: 3 kW, energy: 0.2 kWh/t, to: "
    "Ways}\n"
    "  Ways: {kind: split, branches: {one: {share: 60 %, to: Cleaner}, two: {to: Old "
    "cleaner}}}\n"
    "  Cleaner: {kind: air-screen cleaner, line: Line 1, capacity: 12 t/h, count: 2, air: 3000 m3/h, people: "
    "1,\n"
    "    derating: {moisture above: 16 %, per point of moisture: 4 %}, idle power: 5 kW, energy: 1 kWh/t,\n"
    "    discharges: {waste: {takes: {chaff: 90 %, sound: 1 %}, to: Waste}, seed: {takes: rest, to: Good}}}\n"
    "  Old cleaner: {kind: air-screen cleaner, capacity: 9 t/h, energy: 3 kWh/t,\n"
    "    discharges: {waste: {takes: {chaff: 60 %, sound: 2 %}, to: Waste}, seed: {takes: rest, to: Good}}}\n"
    "  Waste: {kind: outlet, use: feed, price: 60 EUR/t, holds: 2 m3}\n"
    "  Good: {kind: outlet, product: yes, use: seed, price: 320 EUR/t, least purity: 97 %, holds: 6 t}\n";

/* Shares to be chosen: a free split with two machines that separate differently, one after it in order. */
static const char chosen[] =
    "evenfeed: 1\nplant: {name: Plant, power limit: 45 kW, energy price: 0.2 EUR/kWh}\n"
    "materials: {sound: {wanted: yes}, light: , chaff: }\n"
    "crops:\n"
    "  wheat: {density: 0.75 t/m3, price: 150 EUR/t, receipt: {sound: rest, light: 6 %, chaff: 3 %}}\n"
    "stations:\n"
    "  Pit: {kind: intake, capacity: 60 t/h, to: Ways}\n"
    "  Ways: {kind: split, rule: free, branches: {one: {to: Deck, least share: 5 %}, two: {to: Old deck, "
    "most "
    "share: 90 %}}}\n"
    "  Deck: {kind: density separator, capacity: 8 t/h, energy: 2 kWh/t, discharges: {\n"
    "    m: {takes: {sound: 20 %, light: 30 %}, to: Ways}, l: {takes: {light: 50 %, chaff: 90 %}, to: "
    "Lights},\n"
    "    h: {takes: rest, to: Legs}}}\n"
    "  Old deck: {kind: density separator, capacity: 6 t/h, energy: 1 kWh/t, discharges: {\n"
    "    m: {takes: {sound: 5 %, chaff: 20 %}, to: Ways}, l: {takes: {sound: 2 %, light: 40 %, chaff: 40 "
    "%},\n"
    "    to: Lights}, h: {takes: rest, to: Legs}}}\n"
    "  Legs: {kind: split, rule: first with room, branches: {a: {to: Leg}, b: {to: Small leg}, c: {to: Leg "
    "3}}}\n"
    "  Leg: {kind: elevator, capacity: 4 t/h, to: Seed}\n"
    "  Small leg: {kind: elevator, capacity: 3 t/h, to: Seed}\n"
    "  Leg 3: {kind: elevator, capacity: 12 m3/h, to: Seed}\n"
    "  Lights: {kind: outlet, price: 60 EUR/t, least rate: 0.2 t/h}\n"
    "  Seed: {kind: outlet, product: yes, price: 320 EUR/t, least purity: 95 %}\n";

/* A purity out of reach. */
static const char dirty[] =
    "evenfeed: 1\nplant: {name: Plant}\nmaterials: {sound: {wanted: yes}, chaff: }\n"
    "crops: {wheat: {receipt: {sound: rest, chaff: 5 %}}}\nstations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, to: Cleaner}\n"
    "  Cleaner: {kind: air-screen cleaner, capacity: 12 t/h,\n"
    "    discharges: {waste: {takes: {chaff: 60 %}, to: Waste}, seed: {takes: rest, to: Good}}}\n"
    "  Waste: {kind: outlet}\n"
    "  Good: {kind: outlet, product: yes, least purity: 99 %}\n";

/* Power that does not do for the stations alone. */
static const char weak[] =
    "evenfeed: 1\nplant: {name: Plant, power limit: 6 kW}\nmaterials: {sound: {wanted: yes}}\n"
    "crops: {wheat: {receipt: {sound: rest}}}\nstations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, idle power: 3 kW, to: Mill}\n"
    "  Mill: {kind: machine, capacity: 12 t/h, idle power: 4 kW, energy: 1 kWh/t, to: Out}\n"
    "  Out: {kind: outlet, product: yes}\n";

/* ---- the fields of an answer ------------------------------------------------------------
 */

#define STATION(member, kind) SPOIL_FIELD(ef_balance_station, member, kind)
static const spoil_field station_fields[] = {
    STATION(name, WORDS),
    STATION(kind, WORDS),
    STATION(line, OPTION),
    STATION(place, PLACE),
    STATION(count, COUNT),
    STATION(feed, STREAM),
    STATION(feed_m3ph, NUMBER),
    STATION(has_density, FLAG),
    STATION(has_capacity, FLAG),
    STATION(capacity_by_volume, FLAG),
    STATION(nominal_capacity, NUMBER),
    STATION(derating, NUMBER),
    STATION(peak_factor, NUMBER),
    STATION(capacity, NUMBER),
    STATION(feed_in_unit, NUMBER),
    STATION(slack, NUMBER),
    STATION(load, NUMBER),
    STATION(capacity_place, PLACE),
    STATION(limits, FLAG),
    STATION(worth_intake_tph, NUMBER),
    STATION(worth_product_tph, NUMBER),
    STATION(worth_value, NUMBER),
    STATION(has_least_feed, FLAG),
    STATION(least_feed_tph, NUMBER),
    STATION(under_least_feed, FLAG),
    STATION(enough_machines, COUNT),
    STATION(steady_feed, FLAG),
    STATION(steady_band, NUMBER),
    STATION(power_kw, NUMBER),
    STATION(air_m3ph, NUMBER),
    STATION(people, NUMBER),
};

#define OUTLET(member, kind) SPOIL_FIELD(ef_balance_outlet, member, kind)
static const spoil_field outlet_fields[] = {
    OUTLET(name, WORDS),
    OUTLET(place, PLACE),
    OUTLET(product, FLAG),
    OUTLET(flow, STREAM),
    OUTLET(share_of_intake, NUMBER),
    OUTLET(wanted_share, NUMBER),
    OUTLET(wanted_recovered, NUMBER),
    OUTLET(has_least_rate, FLAG),
    OUTLET(least_rate_tph, NUMBER),
    OUTLET(has_least_purity, FLAG),
    OUTLET(least_purity, NUMBER),
    OUTLET(use, OPTION),
    OUTLET(has_price, FLAG),
    OUTLET(price, NUMBER),
    OUTLET(value_per_h, NUMBER),
    OUTLET(has_holds, FLAG),
    OUTLET(holds_by_volume, FLAG),
    OUTLET(holds, NUMBER),
    OUTLET(holds_words, WORDS),
    OUTLET(fills_h, NUMBER),
};

#define SPOUT(member, kind) SPOIL_FIELD(ef_balance_spout, member, kind)
static const spoil_field spout_fields[] = {
    SPOUT(from, WORDS),       SPOUT(discharge, WORDS), SPOUT(to, WORDS),
    SPOUT(closes_loop, FLAG), SPOUT(flow, STREAM),
};

#define BIN(member, kind) SPOIL_FIELD(ef_balance_bin, member, kind)
static const spoil_field bin_fields[] = {
    BIN(name, WORDS),         BIN(feeds, WORDS),         BIN(place, PLACE),   BIN(feed_tph, NUMBER),
    BIN(feed_m3ph, NUMBER),   BIN(rule_h, NUMBER),       BIN(rule_t, NUMBER), BIN(rule_m3, NUMBER),
    BIN(rule_bushel, NUMBER), BIN(has_density, FLAG),    BIN(has_live, FLAG), BIN(live_m3, NUMBER),
    BIN(live_t, NUMBER),      BIN(live_minutes, NUMBER),
};

#define CONFLICT(member, kind) SPOIL_FIELD(ef_balance_conflict, member, kind)
static const spoil_field conflict_fields[] = {
    CONFLICT(demand, COUNT),          CONFLICT(outlet, OPTION),         CONFLICT(place, PLACE),
    CONFLICT(demanded_share, NUMBER), CONFLICT(reached_share, NUMBER),  CONFLICT(idle_kw, NUMBER),
    CONFLICT(limit_kw, NUMBER),       CONFLICT(demanded_tph, NUMBER),   CONFLICT(most_tph, NUMBER),
    CONFLICT(limiting, OTHERWISE),    CONFLICT(limiting_count, LENGTH),
};

#define BRANCH(member, kind) SPOIL_FIELD(ef_balance_branch, member, kind)
static const spoil_field branch_fields[] = {
    BRANCH(name, WORDS),         BRANCH(to, WORDS),          BRANCH(share, NUMBER),
    BRANCH(least_share, NUMBER), BRANCH(most_share, NUMBER), BRANCH(by_pass, FLAG),
};

#define SPLIT(member, kind) SPOIL_FIELD(ef_balance_split, member, kind)
static const spoil_field split_fields[] = {
    SPLIT(name, WORDS),  SPLIT(rule, WORDS),         SPLIT(place, PLACE),
    SPLIT(chosen, FLAG), SPLIT(branches, OTHERWISE), SPLIT(branch_count, LENGTH),
};

#define PURCHASE(member, kind) SPOIL_FIELD(ef_balance_purchase, member, kind)
static const spoil_field purchase_fields[] = {
    PURCHASE(station, OPTION),
    PURCHASE(by_volume, FLAG),
    PURCHASE(more, NUMBER),
    PURCHASE(capacity, NUMBER),
};

#define RUNG(member, kind) SPOIL_FIELD(ef_balance_rung, member, kind)
static const spoil_field rung_fields[] = {
    RUNG(purchases, OTHERWISE), RUNG(purchase_count, LENGTH), RUNG(intake_tph, NUMBER),
    RUNG(product_tph, NUMBER),  RUNG(value_per_h, NUMBER),    RUNG(limits, OTHERWISE),
    RUNG(limit_count, LENGTH),  RUNG(check, NUMBER),
};

#define CROP(member, kind) SPOIL_FIELD(ef_balance_crop, member, kind)
static const spoil_field crop_fields[] = {
    CROP(name, WORDS),
    CROP(place, PLACE),
    CROP(feasible, FLAG),
    CROP(intake, STREAM),
    CROP(product, STREAM),
    CROP(yield, NUMBER),
    CROP(wanted_recovered, NUMBER),
    CROP(wanted_made_tph, NUMBER),
    CROP(purity, NUMBER),
    CROP(shift_h, NUMBER),
    CROP(intake_per_shift_t, NUMBER),
    CROP(product_per_shift_t, NUMBER),
    CROP(has_trade_weight, FLAG),
    CROP(trade_weight_tpbu, NUMBER),
    CROP(stations, OTHERWISE),
    CROP(station_count, LENGTH),
    CROP(spouts, OTHERWISE),
    CROP(spout_count, LENGTH),
    CROP(outlets, OTHERWISE),
    CROP(outlet_count, LENGTH),
    CROP(bins, OTHERWISE),
    CROP(bin_count, LENGTH),
    CROP(conflicts, OTHERWISE),
    CROP(conflict_count, LENGTH),
    CROP(splits, OTHERWISE),
    CROP(split_count, LENGTH),
    CROP(rungs, OTHERWISE),
    CROP(rung_count, NEVER),
    CROP(value_per_h, NUMBER),
    CROP(has_bound, FLAG),
    CROP(bound, NUMBER),
    CROP(gap, NUMBER),
    CROP(search_starts, NEVER),
    CROP(search_steps, NEVER),
    CROP(power_kw, NUMBER),
    CROP(has_power_limit, FLAG),
    CROP(power_limit_kw, NUMBER),
    CROP(power_limits, FLAG),
    CROP(power_worth_intake_tph, NUMBER),
    CROP(power_worth_product_tph, NUMBER),
    CROP(power_worth_value, NUMBER),
    CROP(kwh_per_t, NUMBER),
    CROP(air_m3ph, NUMBER),
    CROP(people, NUMBER),
    CROP(has_people_limit, FLAG),
    CROP(people_limit, NUMBER),
    CROP(primal_error, NUMBER),
};

#define BALANCE(member, kind) SPOIL_FIELD(ef_balance, member, kind)
static const spoil_field balance_fields[] = {
    BALANCE(plant, WORDS),      BALANCE(scenario_file, WORDS),   BALANCE(materials, OTHERWISE),
    BALANCE(wanted, OTHERWISE), BALANCE(material_count, LENGTH), BALANCE(aim, OTHERWISE),
    BALANCE(currency, WORDS),   BALANCE(crops, OTHERWISE),       BALANCE(crop_count, LENGTH),
    BALANCE(feasible, FLAG),
};
static const spoil_field aim_field = BALANCE(aim, COUNT);

/* An answer and its scenario. */
typedef struct held {
    const ef_scenario *scenario;
    ef_balance balance;
} held;

static bool is_noticed(const void *context)
{
    const held *of = context;
    char *differences = NULL;
    const ef_status status = ef_balance_verify(of->scenario, &of->balance, &differences);
    const bool noticed = status == EF_INTERNAL && differences && *differences;
    if (status == EF_OK || status == EF_INTERNAL)
        ef_report_free(differences);
    return noticed;
}

static const spoil_field name_fields[] = {{"a name in a list", 0, sizeof(const char *), SPOIL_WORDS}};
static const spoil_field limit_fields[] = {{"a limit in a list", 0, sizeof(const char *), SPOIL_OPTION}};

static void spoil_conflicts(spoil_bench *b, const ef_balance_crop *crop)
{
    SPOIL_EACH(b, conflict_fields, crop->conflicts, crop->conflict_count);
    for (int c = 0; c < crop->conflict_count; c++) {
        ef_balance_conflict *conflict = (ef_balance_conflict *)(uintptr_t)&crop->conflicts[c];
        const char *const *right = conflict->limiting;
        SPOIL_OWN(conflict->limiting, conflict->limiting_count);
        SPOIL_EACH(b, name_fields, conflict->limiting, conflict->limiting_count);
        SPOIL_DISOWN(conflict->limiting);
        conflict->limiting = right;
    }
}

static void spoil_splits(spoil_bench *b, const ef_balance_crop *crop)
{
    SPOIL_EACH(b, split_fields, crop->splits, crop->split_count);
    for (int n = 0; n < crop->split_count; n++) {
        ef_balance_split *split = (ef_balance_split *)(uintptr_t)&crop->splits[n];
        const ef_balance_branch *right = split->branches;
        SPOIL_OWN(split->branches, split->branch_count);
        SPOIL_EACH(b, branch_fields, split->branches, split->branch_count);
        SPOIL_DISOWN(split->branches);
        split->branches = right;
    }
}

static void spoil_rungs(spoil_bench *b, const ef_balance_crop *crop)
{
    SPOIL_EACH(b, rung_fields, crop->rungs, crop->rung_count);
    for (int n = 0; n < crop->rung_count; n++) {
        ef_balance_rung *rung = (ef_balance_rung *)(uintptr_t)&crop->rungs[n];
        const ef_balance_rung right = *rung;
        SPOIL_OWN(rung->purchases, rung->purchase_count);
        SPOIL_OWN(rung->limits, rung->limit_count);
        SPOIL_EACH(b, purchase_fields, rung->purchases, rung->purchase_count);
        SPOIL_EACH(b, limit_fields, rung->limits, rung->limit_count);
        SPOIL_DISOWN(rung->purchases);
        SPOIL_DISOWN(rung->limits);
        *rung = right;
    }
}

static void spoil_crop(spoil_bench *b, ef_balance_crop *crop)
{
    const ef_balance_crop right = *crop;
    spoil(b, crop_fields, EF_COUNT(crop_fields), crop);
    SPOIL_OWN(crop->stations, crop->station_count);
    SPOIL_OWN(crop->spouts, crop->spout_count);
    SPOIL_OWN(crop->outlets, crop->outlet_count);
    SPOIL_OWN(crop->bins, crop->bin_count);
    SPOIL_OWN(crop->conflicts, crop->conflict_count);
    SPOIL_OWN(crop->splits, crop->split_count);
    SPOIL_OWN(crop->rungs, crop->rung_count);
    SPOIL_EACH(b, station_fields, crop->stations, crop->station_count);
    SPOIL_EACH(b, spout_fields, crop->spouts, crop->spout_count);
    SPOIL_EACH(b, outlet_fields, crop->outlets, crop->outlet_count);
    SPOIL_EACH(b, bin_fields, crop->bins, crop->bin_count);
    spoil_conflicts(b, crop);
    spoil_splits(b, crop);
    spoil_rungs(b, crop);
    SPOIL_DISOWN(crop->stations);
    SPOIL_DISOWN(crop->spouts);
    SPOIL_DISOWN(crop->outlets);
    SPOIL_DISOWN(crop->bins);
    SPOIL_DISOWN(crop->conflicts);
    SPOIL_DISOWN(crop->splits);
    SPOIL_DISOWN(crop->rungs);
    *crop = right;
}

/* Makes every field of the answer wrong, one at a time. Returns how many wrong answers that were. */
static int spoil_all(const char *text, ef_balance_aim aim, int ladder, ef_status expected)
{
    ef_scenario *scenario = plant_read(text);
    ef_balance_settings settings = ef_balance_defaults();
    settings.aim = aim;
    settings.ladder = ladder;
    ef_balance *right = plant_balance_as(scenario, &settings, expected);
    held wrong = {.scenario = scenario, .balance = *right};
    spoil_bench b = {.is_noticed = is_noticed, .context = &wrong, .materials = right->material_count};
    spoil(&b, balance_fields, EF_COUNT(balance_fields), &wrong.balance);
    if (right->feasible) /* else what was aimed at shows nowhere */
        spoil(&b, &aim_field, 1, &wrong.balance);
    SPOIL_OWN(wrong.balance.materials, wrong.balance.material_count);
    SPOIL_OWN(wrong.balance.wanted, wrong.balance.material_count);
    SPOIL_OWN(wrong.balance.crops, wrong.balance.crop_count);
    static const spoil_field material = {"a material", 0, sizeof(const char *), SPOIL_WORDS};
    static const spoil_field wanted = {"wanted", 0, sizeof(bool), SPOIL_FLAG};
    for (int m = 0; m < wrong.balance.material_count; m++) {
        spoil(&b, &material, 1, (void *)(uintptr_t)&wrong.balance.materials[m]);
        spoil(&b, &wanted, 1, (void *)(uintptr_t)&wrong.balance.wanted[m]);
    }
    for (int c = 0; c < wrong.balance.crop_count; c++) {
        ef_balance_crop *crop = (ef_balance_crop *)(uintptr_t)&wrong.balance.crops[c];
        spoil_crop(&b, crop);
    }
    plant_verify(scenario, &wrong.balance);
    SPOIL_DISOWN(wrong.balance.materials);
    SPOIL_DISOWN(wrong.balance.wanted);
    SPOIL_DISOWN(wrong.balance.crops);
    ef_balance_free(right);
    ef_scenario_free(scenario);
    assert_int_equal(b.missed, 0);
    return b.tried;
}

/* ---- tests ----------------------------------------------------------------------------------------------
 */

static void every_wrong_number_of_a_balance_is_noticed(void **state)
{
    (void)state;
    const int tried = spoil_all(rich, EF_BALANCE_RATE, 3, EF_OK);
    print_message("%d wrong answers\n", tried);
    assert_true(tried > 2500);
}

static void every_wrong_number_of_a_value_is_noticed(void **state)
{
    (void)state;
    const int tried = spoil_all(costly, EF_BALANCE_VALUE, 3, EF_OK);
    print_message("%d wrong answers\n", tried);
    assert_true(tried > 500);
}

static void every_wrong_number_of_chosen_shares_is_noticed(void **state)
{
    (void)state;
    const int tried = spoil_all(chosen, EF_BALANCE_RATE, 0, EF_OK) +
                      spoil_all(chosen, EF_BALANCE_VALUE, 0, EF_OK);
    print_message("%d wrong answers\n", tried);
    assert_true(tried > 1500);
}

static void every_wrong_number_of_a_conflict_is_noticed(void **state)
{
    (void)state;
    const int tried = spoil_all(torn, EF_BALANCE_RATE, 3, EF_NO_ANSWER) +
                      spoil_all(dirty, EF_BALANCE_RATE, 3, EF_NO_ANSWER) +
                      spoil_all(weak, EF_BALANCE_RATE, 3, EF_NO_ANSWER);
    print_message("%d wrong answers\n", tried);
    assert_true(tried > 1500);
}

static void no_field_of_the_answer_is_left_out_here(void **state)
{
    (void)state;
    spoil_check_table(station_fields, EF_COUNT(station_fields), sizeof(ef_balance_station));
    spoil_check_table(outlet_fields, EF_COUNT(outlet_fields), sizeof(ef_balance_outlet));
    spoil_check_table(spout_fields, EF_COUNT(spout_fields), sizeof(ef_balance_spout));
    spoil_check_table(bin_fields, EF_COUNT(bin_fields), sizeof(ef_balance_bin));
    spoil_check_table(conflict_fields, EF_COUNT(conflict_fields), sizeof(ef_balance_conflict));
    spoil_check_table(branch_fields, EF_COUNT(branch_fields), sizeof(ef_balance_branch));
    spoil_check_table(split_fields, EF_COUNT(split_fields), sizeof(ef_balance_split));
    spoil_check_table(purchase_fields, EF_COUNT(purchase_fields), sizeof(ef_balance_purchase));
    spoil_check_table(rung_fields, EF_COUNT(rung_fields), sizeof(ef_balance_rung));
    spoil_check_table(crop_fields, EF_COUNT(crop_fields), sizeof(ef_balance_crop));
    spoil_check_table(balance_fields, EF_COUNT(balance_fields), sizeof(ef_balance));
}

static void an_endless_report_is_cut(void **state)
{
    (void)state;
    efi_differences list = {.crop = "wheat"};
    for (int i = 0; i < EFI_MOST_DIFFERENCES + 7; i++)
        efi_differ_number(&list, "a number", "t/h", 1.0, 2.0, 0.0);
    int lines = 0;
    for (const char *c = efi_text_get(&list.text); *c; c++)
        lines += *c == '\n';
    assert_int_equal(lines, EFI_MOST_DIFFERENCES);
    assert_int_equal(list.count, EFI_MOST_DIFFERENCES + 7);
    efi_text_free(&list.text);
}

static void without_memory_there_is_no_verdict(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(torn);
    ef_balance *balance = plant_balance(scenario, EF_NO_ANSWER);
    char *differences = NULL;
    ef_status status = EF_MEMORY;
    long n = 0;
    for (n = 1; status == EF_MEMORY && n < 100000; n++) {
        differences = NULL;
        (void)efi_memory_fail_at(n);
        status = ef_balance_verify(scenario, balance, &differences);
        (void)efi_memory_fail_at(0);
        if (status == EF_MEMORY)
            assert_null(differences);
    }
    assert_int_equal(status, EF_OK);
    assert_true(n > 20);
    ef_report_free(differences);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_wrong_number_of_a_balance_is_noticed),
        cmocka_unit_test(every_wrong_number_of_a_value_is_noticed),
        cmocka_unit_test(every_wrong_number_of_chosen_shares_is_noticed),
        cmocka_unit_test(every_wrong_number_of_a_conflict_is_noticed),
        cmocka_unit_test(no_field_of_the_answer_is_left_out_here),
        cmocka_unit_test(an_endless_report_is_cut),
        cmocka_unit_test(without_memory_there_is_no_verdict),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
