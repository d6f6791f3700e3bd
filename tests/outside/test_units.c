/* SPDX-License-Identifier: GPL-3.0-or-later
 * Units against the udunits2 library and its database, and against published conversions and worked examples.
 * "exact" is 1e-9 relative, as those examples suggest, or tighter where ours is defined by the same whole
 * numbers. */
#include "base/display.h"
#include "base/quantity.h"
#include "../lib/near.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>
#include <udunits2.h>

/* ---- udunits2 ------------------------------------------------------------------------------------------ */

/*
 * Our names for which udunits2 has none, another meaning, or fewer digits. Its file gives oz, cwt, hp and bu
 * to 7 digits: the first three are built here from what it has exactly, bu is left at 1e-8. It has no
 * quintal, the degree under its full name only, and the watt hour as a product only. Its rpm counts a
 * revolution as 2 pi rad, ours as a number.
 */
static const struct {
    const char *name;
    const char *theirs;
} translations[] = {
    {"kWh", "kW h"},  {"MWh", "MW h"},    {"Wh", "W h"},
    {"q", "100 kg"},  {"oz", "pound/16"}, {"cwt", "100 pound"},
    {"rpm", "1/min"}, {"deg", "degree"},  {"hp", "550 foot pound 9.80665 m/s2 / s"},
    {"bu", "bushel"},
};

/* The same for spellings: words of two, plurals and abbreviations that udunits2 does not have. */
static const struct {
    const char *spelling;
    const char *theirs;
} respellings[] = {
    {"kgs", "kg"},
    {"kilo", "kg"},
    {"kilos", "kg"},
    {"quintal", "100 kg"},
    {"quintals", "100 kg"},
    {"lbs", "pound"},
    {"ounce", "pound/16"},
    {"ounces", "pound/16"},
    {"hundredweight", "100 pound"},
    {"short_cwt", "100 pound"},
    {"hrs", "hr"},
    {"mins", "min"},
    {"secs", "s"},
    {"horsepower", "550 foot pound 9.80665 m/s2 / s"},
};

static const char *theirs_for(const char *ours)
{
    for (size_t i = 0; i < EF_COUNT(translations); i++)
        if (strcmp(translations[i].name, ours) == 0)
            return translations[i].theirs;
    for (size_t i = 0; i < EF_COUNT(respellings); i++)
        if (strcmp(respellings[i].spelling, ours) == 0)
            return respellings[i].theirs;
    return ours;
}

/* udunits2's own unit for our base unit of this dimension: one of the seven, as no row has several. */
static const char *base_for(efi_dimension dimension)
{
    static const struct {
        efi_dimension dimension;
        const char *base;
    } bases[] = {
        {{.mass = 1}, "1000 kg"},
        {{.length = 1}, "m"},
        {{.length = 3}, "m3"},
        {{.time = 1}, "h"},
        {{.time = -1}, "1/h"},
        {{.energy = 1}, "3.6e6 J"},
        {{.energy = 1, .time = -1}, "1000 W"},
        {{.angle = 1}, "degree"},
        {{.bushel = 1}, "m3"},
        {{0}, "1"},
    };
    for (size_t i = 0; i < EF_COUNT(bases); i++)
        if (efi_dimension_equal(bases[i].dimension, dimension))
            return bases[i].base;
    return NULL;
}

/* How many of the unit `to` one unit `from` is, by udunits2; NaN when it knows either not or they do not
 * convert. */
static double converted(ut_system *system, const char *from, const char *to)
{
    double result = (double)NAN;
    ut_unit *a = ut_parse(system, from, UT_UTF8);
    ut_unit *b = ut_parse(system, to, UT_UTF8);
    cv_converter *converter = a && b ? ut_get_converter(a, b) : NULL;
    if (converter)
        result = cv_convert_double(converter, 1.0);
    cv_free(converter);
    ut_free(a);
    ut_free(b);
    return result;
}

/* Compares one name of ours, in base units, with udunits2. */
static void compare(ut_system *system, const char *name, const efi_unit *unit)
{
    const bool bushel = unit->dimension.bushel != 0;
    const double ours = unit->numerator / unit->denominator * (bushel ? EFI_BUSHEL_M3 : 1.0);
    const double theirs = converted(system, theirs_for(name), base_for(unit->dimension));
    if (!near_is(ours, theirs, near_relative(theirs, bushel ? 1e-8 : 1e-14)))
        fail_msg("%s is %.17g, by udunits2 (%s in %s) %.17g", name, ours, theirs_for(name),
                 base_for(unit->dimension), theirs);
}

static void every_name_is_what_udunits2_says(void **state)
{
    (void)state;
    ut_set_error_message_handler(ut_ignore);
    ut_system *system = ut_read_xml(NULL);
    assert_non_null(system);
    int compared = 0;
    for (int i = 0; i < efi_unit_count(); i++) {
        const efi_unit_row *row = efi_unit_at(i);
        if (row->unit.dimension.money == 0) { /* money is nothing udunits2 knows */
            compare(system, row->name, &row->unit);
            compared++;
        }
    }
    assert_int_equal(compared, efi_unit_count() - 1);
    for (int i = 0; i < efi_unit_alias_count(); i++) {
        const char *name;
        const char *spelling = efi_unit_alias_at(i, &name);
        efi_unit unit;
        assert_true(efi_unit_find(spelling, strlen(spelling), &unit, &name));
        compare(system, spelling, &unit);
    }
    ut_free_system(system);
}

static void products_and_powers_are_what_udunits2_says(void **state)
{
    (void)state;
    static const struct {
        const char *ours;
        const char *theirs;
        const char *base;
    } cases[] = {
        {"lb/h", "pound/h", "1000 kg/h"},
        {"short_ton/h", "short_ton/h", "1000 kg/h"},
        {"kg/hl", "kg/hl", "1000 kg/m3"},
        {"lb/ft3", "pound/ft3", "1000 kg/m3"},
        {"ft3/min", "ft3/min", "m3/h"},
        {"in3", "in3", "m3"},
        {"ft2", "ft2", "m2"},
        {"ft/min", "ft/min", "m/h"},
        {"MJ/t", "MJ/(1000 kg)", "3.6e6 J/(1000 kg)"},
        {"1/d", "1/d", "1/h"},
        {"l/min", "l/min", "m3/h"},
    };
    ut_set_error_message_handler(ut_ignore);
    ut_system *system = ut_read_xml(NULL);
    assert_non_null(system);
    for (size_t i = 0; i < EF_COUNT(cases); i++) {
        efi_unit unit;
        assert_true(efi_unit_parse(cases[i].ours, strlen(cases[i].ours), &unit));
        const double theirs = converted(system, cases[i].theirs, cases[i].base);
        if (!near_is(unit.numerator / unit.denominator, theirs, near_relative(theirs, 1e-14)))
            fail_msg("%s is %.17g, by udunits2 %.17g", cases[i].ours, unit.numerator / unit.denominator,
                     theirs);
    }
    ut_free_system(system);
}

/* ---- published values ---------------------------------------------------------------------------------- */

static efi_quantity quantity_of(const char *text, efi_kind kind)
{
    efi_quantity quantity = {0};
    efi_quantity_error error;
    if (!efi_quantity_parse(text, strlen(text), EFI_KIND_SET(kind), &quantity, &error))
        fail_msg("\"%s\": %s", text, efi_quantity_fault_name(error.fault));
    return quantity;
}

/* In base units, by efi_kind. */
static double value_of(const char *text, efi_kind kind)
{
    return quantity_of(text, kind).value;
}

/*
 * 1 US bushel = 2150.42 in3 = 0.03523907017 m3. Source: NIST Office of Weights and Measures, "Determining
 * Reference Test Weight per Bushel Value of Grains", 2013; 35.23907016688 l in a units reference. Tolerance
 * 1e-9 (first, 10 digits printed) and exact.
 */
static void a_bushel_is_2150_42_cubic_inches(void **state)
{
    (void)state;
    assert_near_relative(value_of("1 bu", EFI_KIND_VOLUME), 0.03523907017, 1e-9);
    assert_near_relative(value_of("1 bu", EFI_KIND_VOLUME), 35.23907016688e-3, 1e-13);
    assert_near_relative(value_of("1 bu", EFI_KIND_VOLUME), value_of("2150.42 in3", EFI_KIND_VOLUME), 1e-15);
    /* bushels in a cubic foot, to the printed digits: Iowa Grain Warehouse Bureau, bin-measuring sheet */
    assert_near_relative(value_of("1 ft3", EFI_KIND_VOLUME) / value_of("1 bu", EFI_KIND_VOLUME), 0.803564,
                         1e-6);
    /* cubic feet in a bushel: Univ. of Minnesota Extension, "Calculating Bushels", 1999 */
    assert_near_relative(value_of("1 bu", EFI_KIND_VOLUME) / value_of("1 ft3", EFI_KIND_VOLUME), 1.244456,
                         1e-6);
}

/*
 * Bushels per tonne by trade weight, as printed in a grain unit-conversion note (48, 56, 60 lb) and a
 * Canadian trade table (the others). Tolerance 0.02 %, for the printed figures of 22 and 14 lb are rounded.
 */
static void bushels_per_tonne_are_as_the_trade_tables_print_them(void **state)
{
    (void)state;
    static const struct {
        const char *trade_weight;
        double bushels_per_tonne;
    } rows[] = {
        {"48 lb/bu", 45.9296}, {"56 lb/bu", 39.368}, {"60 lb/bu", 36.7437}, {"50 lb/bu", 44.092},
        {"34 lb/bu", 64.842},  {"30 lb/bu", 73.487}, {"22 lb/bu", 100.200}, {"14 lb/bu", 157.500},
    };
    for (size_t i = 0; i < EF_COUNT(rows); i++) {
        const double bushel_t = value_of(rows[i].trade_weight, EFI_KIND_TRADE_WEIGHT);
        const efi_quantity tonne = efi_quantity_weigh(quantity_of("1 bu", EFI_KIND_MASS), bushel_t);
        assert_near_relative(1.0 / tonne.value, rows[i].bushels_per_tonne, 2e-4);
        /* and the other way, through the display */
        efi_display display;
        assert_true(efi_display_in(EFI_KIND_MASS, "bu", 1.0, bushel_t, &display));
        assert_near_relative(efi_display_value(&display, 1.0), rows[i].bushels_per_tonne, 2e-4);
    }
    assert_near_relative(value_of("48 lb/bu", EFI_KIND_TRADE_WEIGHT), 0.021772, 2e-4);
    assert_near_relative(value_of("56 lb/bu", EFI_KIND_TRADE_WEIGHT), 0.0254, 2e-4);
    assert_near_relative(value_of("60 lb/bu", EFI_KIND_TRADE_WEIGHT), 0.0272155, 2e-4);
}

/*
 * Definitions only: 1000 bu/h of wheat (60 lb, Arkansas Code 4-18-331; Univ. of Missouri Extension G4020) and
 * the density that 60 lb in a bushel make. 1 lb/bu = 12.87186 kg/m3 follows from both definitions.
 */
static void the_fixed_points_of_trade_weight_and_test_weight_hold(void **state)
{
    (void)state;
    const double wheat_tpbu = value_of("60 lb/bu", EFI_KIND_TRADE_WEIGHT);
    const efi_quantity rate = efi_quantity_weigh(quantity_of("1000 bu/h", EFI_KIND_MASS_RATE), wheat_tpbu);
    assert_near_relative(rate.value, 27.2155422, 1e-15);
    assert_near_relative(value_of("60 lb/bu", EFI_KIND_DENSITY), 0.7723116, 1e-7);
    assert_near_relative(value_of("1 lb/bu", EFI_KIND_DENSITY), 12.87186e-3, 1e-6);
    assert_near_relative(value_of("1.287186 kg/hl", EFI_KIND_DENSITY), 12.87186e-3, 1e-14);
    /* a farmer co-op line of 600 bu/h of wheat, 16.3 t/h: Alberta Seed Guide, spring 2019; printed to three
     * digits */
    const efi_quantity line = efi_quantity_weigh(quantity_of("600 bu/h", EFI_KIND_MASS_RATE), wheat_tpbu);
    assert_near_relative(line.value, 16.3, 0.005);
    /* 10,000 to 15,000 lb/h are 4.5 to 6.8 t/h: US farm press, Oregon, 2011; printed to two digits */
    assert_near_relative(value_of("10000 lb/h", EFI_KIND_MASS_RATE), 4.5, 0.01);
    assert_near_relative(value_of("15000 lb/h", EFI_KIND_MASS_RATE), 6.8, 0.01);
}

/*
 * Truck 910 bu x 56 lb = 50,960 lb = 23.11 t; 26 short tons = 23.59 t; 52,500 bu of maize = 1,333.6 t; 1,500
 * short tons = 1,360.8 t. Source: Iowa Dept of Transportation comparison table, with the products written
 * out. Exact to the printed digits.
 */
static void loads_of_truck_and_barge_agree(void **state)
{
    (void)state;
    const double maize_tpbu = value_of("56 lb/bu", EFI_KIND_TRADE_WEIGHT);
    const efi_quantity truck = efi_quantity_weigh(quantity_of("910 bu", EFI_KIND_MASS), maize_tpbu);
    assert_near_relative(truck.value, value_of("50960 lb", EFI_KIND_MASS), 1e-15);
    assert_near_absolute(truck.value, 23.11, 0.01); /* cut off, not rounded: 23.11507 */
    assert_near_absolute(value_of("26 short tons", EFI_KIND_MASS), 23.59, 0.005);
    const efi_quantity barge = efi_quantity_weigh(quantity_of("52500 bu", EFI_KIND_MASS), maize_tpbu);
    assert_near_absolute(barge.value, 1333.6, 0.05);
    assert_near_absolute(value_of("1500 short tons", EFI_KIND_MASS), 1360.8, 0.05);
}

/*
 * Bucket elevator: 15 m/min, 4 buckets/m, 5 l each: 60 buckets/min, 0.3 m3/min, 18 m3/h; wheat at 772
 * kg/m3: 13.9 t/h. Source: a trade page on bucket elevators. Tolerance exact (the t/h to its three printed
 * digits).
 */
static void a_bucket_elevator_lifts_what_its_buckets_hold(void **state)
{
    (void)state;
    const double buckets_ph = value_of("15 m/min", EFI_KIND_VELOCITY) * 4.0;
    assert_near_relative(buckets_ph, value_of("60 1/min", EFI_KIND_PER_TIME), 1e-15);
    const double rate_m3ph = buckets_ph * value_of("5 l", EFI_KIND_VOLUME);
    assert_near_relative(rate_m3ph, value_of("0.3 m3/min", EFI_KIND_VOLUME_RATE), 1e-15);
    assert_near_relative(rate_m3ph, value_of("18 m3/h", EFI_KIND_VOLUME_RATE), 1e-15);
    assert_near_absolute(rate_m3ph * value_of("772 kg/m3", EFI_KIND_DENSITY), 13.9, 0.05);
}

/* Belt: 0.02 m2 x 1.5 m/s x 800 kg/m3 = 86.4 t/h. Source: study notes, the arithmetic only. Exact. */
static void a_belt_carries_area_times_velocity_times_density(void **state)
{
    (void)state;
    const double rate_tph = value_of("0.02 m2", EFI_KIND_AREA) * value_of("1.5 m/s", EFI_KIND_VELOCITY) *
                            value_of("800 kg/m3", EFI_KIND_DENSITY);
    assert_near_relative(rate_tph, 86.4, 1e-14);
}

/* 124 m3 of heaped wheat at 0.75 t/m3 are 93 t; the same store holds 93 x 0.62 / 0.75 = 76.88 t of barley.
 * Source: extension sheet "Storage capacity", examples and table 2. Exact. */
static void a_store_holds_volume_times_density(void **state)
{
    (void)state;
    const double store_m3 = value_of("124 m3", EFI_KIND_VOLUME);
    assert_near_relative(store_m3 * value_of("0.75 t/m3", EFI_KIND_DENSITY), 93.0, 1e-9);
    assert_near_relative(store_m3 * value_of("62 kg/hl", EFI_KIND_DENSITY), 76.88, 1e-9);
}

/* Mechanical horsepower is 745.69987158 W (NIST SP 811, B.8: 7.456 999 E+02). */
static void a_horsepower_is_745_6999_watts(void **state)
{
    (void)state;
    assert_near_relative(value_of("1 hp", EFI_KIND_POWER), 0.7456999, 1e-7);
    assert_near_relative(value_of("1 hp", EFI_KIND_POWER), 550.0 * 0.3048 * 0.45359237 * 9.80665 / 1000.0,
                         1e-15);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_name_is_what_udunits2_says),
        cmocka_unit_test(products_and_powers_are_what_udunits2_says),
        cmocka_unit_test(a_bushel_is_2150_42_cubic_inches),
        cmocka_unit_test(bushels_per_tonne_are_as_the_trade_tables_print_them),
        cmocka_unit_test(the_fixed_points_of_trade_weight_and_test_weight_hold),
        cmocka_unit_test(loads_of_truck_and_barge_agree),
        cmocka_unit_test(a_bucket_elevator_lifts_what_its_buckets_hold),
        cmocka_unit_test(a_belt_carries_area_times_velocity_times_density),
        cmocka_unit_test(a_store_holds_volume_times_density),
        cmocka_unit_test(a_horsepower_is_745_6999_watts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
