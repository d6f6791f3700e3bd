/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/quantity.h"
#include "base/random.h"
#include "../lib/near.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#define SET      EFI_KIND_SET
#define ANY_RATE (SET(EFI_KIND_MASS_RATE) | SET(EFI_KIND_VOLUME_RATE))

enum {
    SEED = 20260114
};

static bool read_as(const char *text, efi_kinds kinds, efi_quantity *quantity, efi_quantity_error *error)
{
    return efi_quantity_parse(text, strlen(text), kinds, quantity, error);
}

/* Reads a text that must be right, to the last bits of its value. */
static efi_quantity assert_read(const char *text, efi_kinds kinds, efi_kind kind, double expected)
{
    efi_quantity quantity = {0};
    efi_quantity_error error;
    if (!read_as(text, kinds, &quantity, &error))
        fail_msg("\"%s\": %s", text, efi_quantity_fault_name(error.fault));
    if (quantity.kind != kind)
        fail_msg("\"%s\" was taken for %s", text, efi_kind_words(quantity.kind));
    if (!near_is(quantity.value, expected, near_relative(expected, 1e-15)))
        fail_msg("\"%s\" is %.17g, expected %.17g", text, quantity.value, expected);
    return quantity;
}

/* A text that must be refused: the fault, the bytes of the culprit as text, and what is likely ("" for
 * nothing). */
static efi_quantity_error assert_refused(const char *text, efi_kinds kinds, efi_quantity_fault fault,
                                         const char *culprit, const char *likely)
{
    efi_quantity quantity = {.value = 42.0};
    efi_quantity_error error;
    memset(&error, 0xAB, sizeof error);
    if (read_as(text, kinds, &quantity, &error))
        fail_msg("\"%s\" was read as %.17g", text, quantity.value);
    assert_true(quantity.value == 42.0);
    assert_true(error.start <= error.end && error.end <= strlen(text));
    const size_t length = error.end - error.start;
    if (error.fault != fault || length != strlen(culprit) ||
        memcmp(text + error.start, culprit, length) != 0 || strcmp(error.likely, likely) != 0)
        fail_msg("\"%s\": %s at \"%.*s\", likely \"%s\"", text, efi_quantity_fault_name(error.fault),
                 (int)length, text + error.start, error.likely);
    return error;
}

/* ---- what is read -------------------------------------------------------------------------------------- */

static void a_rate_is_read_with_and_without_blanks(void **state)
{
    (void)state;
    const efi_kinds rate = SET(EFI_KIND_MASS_RATE);
    assert_read("12 t/h", rate, EFI_KIND_MASS_RATE, 12.0);
    assert_read("12t/h", rate, EFI_KIND_MASS_RATE, 12.0);
    assert_read("  12  t / h\t", rate, EFI_KIND_MASS_RATE, 12.0);
    assert_read("12\xC2\xA0t/h", rate, EFI_KIND_MASS_RATE, 12.0);
    assert_read("1.2e1 t/h", rate, EFI_KIND_MASS_RATE, 12.0);
    assert_read("12 tonnes per hour", rate, EFI_KIND_MASS_RATE, 12.0);
    assert_read("12 t.h^-1", rate, EFI_KIND_MASS_RATE, 12.0);
    assert_read("12 t·h^-1", rate, EFI_KIND_MASS_RATE, 12.0);
    assert_read("200 kg/min", rate, EFI_KIND_MASS_RATE, 12.0);
    assert_read("9 kg/h", rate, EFI_KIND_MASS_RATE, 0.009);
    assert_read("-12 t/h", rate, EFI_KIND_MASS_RATE, -12.0);
    assert_read("0 t/h", rate, EFI_KIND_MASS_RATE, 0.0);
}

static void names_of_two_words_are_read_with_blank_hyphen_or_underscore(void **state)
{
    (void)state;
    const efi_kinds mass = SET(EFI_KIND_MASS);
    assert_read("2 short_ton", mass, EFI_KIND_MASS, 2.0 * 0.90718474);
    assert_read("2 short tons", mass, EFI_KIND_MASS, 2.0 * 0.90718474);
    assert_read("2 short-tons", mass, EFI_KIND_MASS, 2.0 * 0.90718474);
    assert_read("2 long tons", mass, EFI_KIND_MASS, 2.0 * 1.0160469088);
    assert_read("2 metric tons", mass, EFI_KIND_MASS, 2.0);
    assert_read("2 short tons/h", SET(EFI_KIND_MASS_RATE), EFI_KIND_MASS_RATE, 2.0 * 0.90718474);
}

static void powers_are_read_in_every_usual_spelling(void **state)
{
    (void)state;
    const efi_kinds volume = SET(EFI_KIND_VOLUME);
    static const char *const cubic_metres[] = {"5 m3",   "5 m^3",   "5 m³",  "5 cubic metres",
                                               "5 cu m", "5 m.m.m", "5 m2*m"};
    for (size_t i = 0; i < EF_COUNT(cubic_metres); i++)
        assert_read(cubic_metres[i], volume, EFI_KIND_VOLUME, 5.0);
    assert_read("5 cu ft", volume, EFI_KIND_VOLUME, 5.0 * 0.028316846592);
    assert_read("5 ft3", volume, EFI_KIND_VOLUME, 5.0 * 0.028316846592);
    assert_read("5 in3", volume, EFI_KIND_VOLUME, 5.0 * 1.6387064e-5);
    assert_read("5 sq ft", SET(EFI_KIND_AREA), EFI_KIND_AREA, 5.0 * 0.09290304);
    assert_read("300 cm2", SET(EFI_KIND_AREA), EFI_KIND_AREA, 0.03);
    assert_read("250 l", volume, EFI_KIND_VOLUME, 0.25);
}

static void durations_may_be_sums(void **state)
{
    (void)state;
    const efi_kinds duration = SET(EFI_KIND_DURATION);
    assert_read("8 h", duration, EFI_KIND_DURATION, 8.0);
    assert_read("90 min", duration, EFI_KIND_DURATION, 1.5);
    assert_read("1 h 30 min", duration, EFI_KIND_DURATION, 1.5);
    assert_read("1h30min", duration, EFI_KIND_DURATION, 1.5);
    assert_read("-1 h 30 min", duration, EFI_KIND_DURATION, -1.5);
    assert_read("1 d 2 hours 3 minutes 36 seconds", duration, EFI_KIND_DURATION, 26.06);
    assert_read("5 ft 6 in", SET(EFI_KIND_LENGTH), EFI_KIND_LENGTH, 1.6764);
    assert_read("5ft6in", SET(EFI_KIND_LENGTH), EFI_KIND_LENGTH, 1.6764);
    assert_read("5ft6.5in", SET(EFI_KIND_LENGTH), EFI_KIND_LENGTH, 1.6891);
}

static void shares_are_percentages_fractions_or_numbers_below_one(void **state)
{
    (void)state;
    const efi_kinds share = SET(EFI_KIND_SHARE);
    assert_read("12 %", share, EFI_KIND_SHARE, 0.12);
    assert_read("12%", share, EFI_KIND_SHARE, 0.12);
    assert_read("12 percent", share, EFI_KIND_SHARE, 0.12);
    assert_read("100 %", share, EFI_KIND_SHARE, 1.0);
    assert_read("1 %", share, EFI_KIND_SHARE, 0.01);
    assert_read("1/8", share, EFI_KIND_SHARE, 0.125);
    assert_read("1 / 8", share, EFI_KIND_SHARE, 0.125);
    assert_read("1/1", share, EFI_KIND_SHARE, 1.0);
    assert_read("0/3", share, EFI_KIND_SHARE, 0.0);
    assert_read("0.125", share, EFI_KIND_SHARE, 0.125);
    assert_read("0", share, EFI_KIND_SHARE, 0.0);
    assert_read("-0.1", share, EFI_KIND_SHARE, -0.1);
    assert_read("5 kg/t", share, EFI_KIND_SHARE, 0.005);
}

static void other_kinds_are_read_in_their_usual_units(void **state)
{
    (void)state;
    assert_read("3", SET(EFI_KIND_COUNT), EFI_KIND_COUNT, 3.0);
    assert_read("45°", SET(EFI_KIND_ANGLE), EFI_KIND_ANGLE, 45.0);
    assert_read("1 rad", SET(EFI_KIND_ANGLE), EFI_KIND_ANGLE, 180.0 / EF_PI);
    assert_read("1.5 m/s", SET(EFI_KIND_VELOCITY), EFI_KIND_VELOCITY, 5400.0);
    assert_read("200 ft/min", SET(EFI_KIND_VELOCITY), EFI_KIND_VELOCITY, 3657.6);
    assert_read("60 rpm", SET(EFI_KIND_ROTATION), EFI_KIND_ROTATION, 3600.0);
    assert_read("30/h", SET(EFI_KIND_PER_TIME), EFI_KIND_PER_TIME, 30.0);
    assert_read("30 1/min", SET(EFI_KIND_PER_TIME), EFI_KIND_PER_TIME, 1800.0);
    assert_read("30 per hour", SET(EFI_KIND_PER_TIME), EFI_KIND_PER_TIME, 30.0);
    assert_read("7.2 MJ", SET(EFI_KIND_ENERGY), EFI_KIND_ENERGY, 2.0);
    assert_read("5 hp", SET(EFI_KIND_POWER), EFI_KIND_POWER, 5.0 * 0.74569987158227022);
    assert_read("5 kWh/h", SET(EFI_KIND_POWER), EFI_KIND_POWER, 5.0);
    assert_read("5 kW.h", SET(EFI_KIND_ENERGY), EFI_KIND_ENERGY, 5.0);
    assert_read("5 kWh/t", SET(EFI_KIND_ENERGY_PER_MASS), EFI_KIND_ENERGY_PER_MASS, 5.0);
    assert_read("2 ml/kg", SET(EFI_KIND_VOLUME_PER_MASS), EFI_KIND_VOLUME_PER_MASS, 0.002);
    assert_read("78 kg/hl", SET(EFI_KIND_DENSITY), EFI_KIND_DENSITY, 0.78);
    assert_read("0.78 t/m3", SET(EFI_KIND_DENSITY), EFI_KIND_DENSITY, 0.78);
    assert_read("780 kg/m³", SET(EFI_KIND_DENSITY), EFI_KIND_DENSITY, 0.78);
}

static void money_keeps_the_currency_it_was_given_in(void **state)
{
    (void)state;
    efi_quantity price = assert_read("0.15 EUR/kWh", SET(EFI_KIND_MONEY_PER_ENERGY),
                                     EFI_KIND_MONEY_PER_ENERGY, 0.15);
    assert_string_equal(price.currency, "EUR");
    price = assert_read("12 USD/short_ton", SET(EFI_KIND_MONEY_PER_MASS), EFI_KIND_MONEY_PER_MASS,
                        12.0 / 0.90718474);
    assert_string_equal(price.currency, "USD");
    price = assert_read("12 money/h", SET(EFI_KIND_MONEY_PER_TIME), EFI_KIND_MONEY_PER_TIME, 12.0);
    assert_string_equal(price.currency, "");
    price = assert_read("4000 CAD", SET(EFI_KIND_MONEY), EFI_KIND_MONEY, 4000.0);
    assert_string_equal(price.currency, "CAD");
    price = assert_read("12 %", SET(EFI_KIND_SHARE) | SET(EFI_KIND_MONEY), EFI_KIND_SHARE, 0.12);
    assert_string_equal(price.currency, "");
}

/* ---- bushels ------------------------------------------------------------------------------------------- */

static void a_bushel_is_a_volume_where_a_volume_is_wanted(void **state)
{
    (void)state;
    const double bushel_m3 = 2150.42 * 0.0254 * 0.0254 * 0.0254;
    efi_quantity bin = assert_read("1500 bu", SET(EFI_KIND_VOLUME), EFI_KIND_VOLUME, 1500.0 * bushel_m3);
    assert_false(efi_quantity_needs_trade_weight(&bin));
    assert_true(efi_dimension_equal(bin.dimension, efi_kind_dimension(EFI_KIND_VOLUME)));
    assert_read("1500 bu/h", SET(EFI_KIND_VOLUME_RATE), EFI_KIND_VOLUME_RATE, 1500.0 * bushel_m3);
    assert_read("58 lb/bu", SET(EFI_KIND_DENSITY), EFI_KIND_DENSITY, 58.0 * 0.00045359237 / bushel_m3);
    assert_read("2 USD/bu", SET(EFI_KIND_MONEY_PER_VOLUME), EFI_KIND_MONEY_PER_VOLUME, 2.0 / bushel_m3);
}

static void a_bushel_waits_for_the_trade_weight_where_a_mass_is_wanted(void **state)
{
    (void)state;
    const double wheat_tpbu = 60.0 * 0.00045359237;
    efi_quantity rate = assert_read("1000 bu/h", SET(EFI_KIND_MASS_RATE), EFI_KIND_MASS_RATE, 1000.0);
    assert_true(efi_quantity_needs_trade_weight(&rate));
    rate = efi_quantity_weigh(rate, wheat_tpbu);
    assert_false(efi_quantity_needs_trade_weight(&rate));
    assert_true(efi_dimension_equal(rate.dimension, efi_kind_dimension(EFI_KIND_MASS_RATE)));
    assert_near_relative(rate.value, 27.2155422, 1e-15);
    efi_quantity price = assert_read("0.40 USD/bu", SET(EFI_KIND_MONEY_PER_MASS), EFI_KIND_MONEY_PER_MASS,
                                     0.4);
    price = efi_quantity_weigh(price, wheat_tpbu);
    assert_true(efi_dimension_equal(price.dimension, efi_kind_dimension(EFI_KIND_MONEY_PER_MASS)));
    assert_near_relative(price.value, 0.4 / wheat_tpbu, 1e-15);
}

static void by_weight_wins_where_both_fit_and_an_exact_kind_before_either(void **state)
{
    (void)state;
    efi_quantity rate = assert_read("600 bu/h", ANY_RATE, EFI_KIND_MASS_RATE, 600.0);
    assert_true(efi_quantity_needs_trade_weight(&rate));
    assert_read("18 m3/h", ANY_RATE, EFI_KIND_VOLUME_RATE, 18.0);
    efi_quantity weight = assert_read("60 lb/bu", SET(EFI_KIND_TRADE_WEIGHT) | SET(EFI_KIND_DENSITY),
                                      EFI_KIND_TRADE_WEIGHT, 60.0 * 0.00045359237);
    assert_false(efi_quantity_needs_trade_weight(&weight));
}

/* ---- what is refused ----------------------------------------------------------------------------------- */

static void a_number_without_a_unit_points_at_the_value(void **state)
{
    (void)state;
    assert_refused("12", ANY_RATE, EFI_QUANTITY_UNIT_MISSING, "12", "12 t/h");
    assert_refused(" 12 ", ANY_RATE, EFI_QUANTITY_UNIT_MISSING, "12", "12 t/h");
    assert_refused("0.78", SET(EFI_KIND_DENSITY), EFI_QUANTITY_UNIT_MISSING, "0.78", "0.78 t/m3");
    assert_refused("30", SET(EFI_KIND_DURATION), EFI_QUANTITY_UNIT_MISSING, "30", "30 h");
    assert_refused("1/8", SET(EFI_KIND_DURATION), EFI_QUANTITY_UNIT_MISSING, "1/8", "");
    assert_refused("1h30", SET(EFI_KIND_DURATION), EFI_QUANTITY_UNIT_MISSING, "30", "1h30 min");
    assert_refused("2 t 30", SET(EFI_KIND_MASS), EFI_QUANTITY_UNIT_MISSING, "30", "");
}

static void a_badly_written_number_comes_with_the_likely_one(void **state)
{
    (void)state;
    assert_refused("1,000 bu/h", ANY_RATE, EFI_QUANTITY_NUMBER_GROUPED, "1,000", "1000 bu/h");
    assert_refused("1 000 bu/h", ANY_RATE, EFI_QUANTITY_NUMBER_GROUPED, "1 000", "1000 bu/h");
    assert_refused("1_000 bu/h", ANY_RATE, EFI_QUANTITY_NUMBER_GROUPED, "1_000", "1000 bu/h");
    assert_refused("1,5 t/h", ANY_RATE, EFI_QUANTITY_DECIMAL_COMMA, "1,5", "1.5 t/h");
    assert_refused("12,5%", SET(EFI_KIND_SHARE), EFI_QUANTITY_DECIMAL_COMMA, "12,5", "12.5%");
    assert_refused("1 h 7,5 min", SET(EFI_KIND_DURATION), EFI_QUANTITY_DECIMAL_COMMA, "7,5", "1 h 7.5 min");
    assert_refused("0x10 t/h", ANY_RATE, EFI_QUANTITY_NUMBER_BASE, "0x10", "");
    assert_refused("inf t/h", ANY_RATE, EFI_QUANTITY_NUMBER_NOT_FINITE, "inf", "");
    assert_refused(".nan", ANY_RATE, EFI_QUANTITY_NUMBER_NOT_FINITE, ".nan", "");
    assert_refused("1e999 t/h", ANY_RATE, EFI_QUANTITY_NUMBER_RANGE, "1e999", "");
    assert_refused("1e-307 g", SET(EFI_KIND_MASS), EFI_QUANTITY_NUMBER_RANGE, "1e-307 g", "");
    assert_refused("-", ANY_RATE, EFI_QUANTITY_NUMBER_BAD, "-", "");
    assert_refused("1:30", SET(EFI_KIND_DURATION), EFI_QUANTITY_NUMBER_BAD, "1:30", "1 h 30 min");
    assert_refused("1:30", ANY_RATE, EFI_QUANTITY_NUMBER_BAD, "1:30", "");
    assert_refused("1/0", SET(EFI_KIND_SHARE), EFI_QUANTITY_NUMBER_RANGE, "0", "");
    assert_refused("1/1,5", SET(EFI_KIND_SHARE), EFI_QUANTITY_DECIMAL_COMMA, "1,5", "1/1.5");
    assert_refused("1/8", SET(EFI_KIND_COUNT), EFI_QUANTITY_NUMBER_BAD, "1/8", "");
}

static void what_does_not_start_with_a_number_says_so(void **state)
{
    (void)state;
    assert_refused("", ANY_RATE, EFI_QUANTITY_NUMBER_MISSING, "", "");
    assert_refused("   ", ANY_RATE, EFI_QUANTITY_NUMBER_MISSING, "", "");
    assert_refused("t/h", ANY_RATE, EFI_QUANTITY_NUMBER_MISSING, "t/h", "");
    assert_refused("about 12 t/h", ANY_RATE, EFI_QUANTITY_NUMBER_MISSING, "about 12 t/h", "");
    assert_refused("EUR 12/t", SET(EFI_KIND_MONEY_PER_MASS), EFI_QUANTITY_NUMBER_MISSING, "EUR 12/t",
                   "12 EUR/t");
    assert_refused("€12/t", SET(EFI_KIND_MONEY_PER_MASS), EFI_QUANTITY_NUMBER_MISSING, "€12/t", "12 EUR/t");
    const efi_quantity_error error = assert_refused("$12/t", SET(EFI_KIND_MONEY_PER_MASS),
                                                    EFI_QUANTITY_NUMBER_MISSING, "$12/t", "");
    assert_string_equal(error.offered, "USD, CAD, AUD or another currency code");
}

static void an_unknown_unit_names_the_nearest_known_one(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        const char *culprit;
        const char *nearest; /* "" for none */
        const char *likely;
    } cases[] = {
        {"12 tonens/h", "tonens", "tonnes", "12 tonnes/h"},
        {"12 T/h", "T", "t", "12 t/h"},
        {"12 Kg/h", "Kg", "kg", "12 kg/h"},
        {"12 tph", "tph", "t/h", "12 t/h"},
        {"1000 BPH", "BPH", "bu/h", "1000 bu/h"},
        {"12 MT/h", "MT", "t", "12 t/h"},
        {"100 cfm", "cfm", "ft3/min", "100 ft3/min"},
        {"12 t/houre", "houre", "hour", "12 t/hour"},
        {"12 x/h", "x", "", ""},
        {"12 furlongs/h", "furlongs", "", ""},
        {"12 т/ч", "т", "", ""},
    };
    for (size_t i = 0; i < EF_COUNT(cases); i++) {
        const efi_quantity_error error = assert_refused(cases[i].text, ANY_RATE, EFI_QUANTITY_UNIT_UNKNOWN,
                                                        cases[i].culprit, cases[i].likely);
        assert_string_equal(error.nearest ? error.nearest : "", cases[i].nearest);
        assert_null(error.offered);
    }
}

static void a_ton_alone_is_not_guessed(void **state)
{
    (void)state;
    static const char *const texts[] = {"12 ton/h", "12 tons/h", "12 Tons/h"};
    static const char *const culprits[] = {"ton", "tons", "Tons"};
    for (size_t i = 0; i < EF_COUNT(texts); i++) {
        const efi_quantity_error error = assert_refused(texts[i], ANY_RATE, EFI_QUANTITY_UNIT_AMBIGUOUS,
                                                        culprits[i], "");
        assert_string_equal(error.offered, "t, short_ton, long_ton");
    }
}

static void a_unit_of_another_kind_is_mended_where_it_begins_alike(void **state)
{
    (void)state;
    assert_refused("12 t", ANY_RATE, EFI_QUANTITY_UNIT_UNFIT, "t", "12 t/h");
    assert_refused("12 tonnes", ANY_RATE, EFI_QUANTITY_UNIT_UNFIT, "tonnes", "12 t/h");
    assert_refused("12 kg/h", SET(EFI_KIND_MASS), EFI_QUANTITY_UNIT_UNFIT, "kg/h", "12 kg");
    assert_refused("12 EUR", SET(EFI_KIND_MONEY_PER_MASS), EFI_QUANTITY_UNIT_UNFIT, "EUR", "12 EUR/t");
    assert_refused("12 h", ANY_RATE, EFI_QUANTITY_UNIT_UNFIT, "h", "");
    assert_refused("12 %", ANY_RATE, EFI_QUANTITY_UNIT_UNFIT, "%", "");
    assert_refused("12 %", SET(EFI_KIND_MASS), EFI_QUANTITY_UNIT_UNFIT, "%", "");
    assert_refused("12 bu", SET(EFI_KIND_LENGTH), EFI_QUANTITY_UNIT_UNFIT, "bu", "");
    assert_refused("60 lb/bu", SET(EFI_KIND_MASS), EFI_QUANTITY_UNIT_UNFIT, "lb/bu", "60 lb");
}

static void a_unit_where_a_bare_number_is_wanted_is_out_of_place(void **state)
{
    (void)state;
    assert_refused("3 t", SET(EFI_KIND_COUNT), EFI_QUANTITY_UNIT_UNWANTED, "t", "3");
    assert_refused("3 pcs", SET(EFI_KIND_COUNT), EFI_QUANTITY_UNIT_UNWANTED, "pcs", "3");
    assert_refused("3 %", SET(EFI_KIND_COUNT), EFI_QUANTITY_UNIT_UNWANTED, "%", "3");
}

static void a_bare_share_of_one_or_more_is_not_guessed(void **state)
{
    (void)state;
    const efi_kinds share = SET(EFI_KIND_SHARE);
    assert_refused("12", share, EFI_QUANTITY_SHARE_ABOVE_ONE, "12", "12 %");
    assert_refused("1.5", share, EFI_QUANTITY_SHARE_ABOVE_ONE, "1.5", "1.5 %");
    efi_quantity_error error = assert_refused("1", share, EFI_QUANTITY_SHARE_AMBIGUOUS, "1", "");
    assert_string_equal(error.offered, "1 %, 100 %");
    error = assert_refused("1.00", share, EFI_QUANTITY_SHARE_AMBIGUOUS, "1.00", "");
    assert_string_equal(error.offered, "1 %, 100 %");
}

static void a_broken_unit_points_at_the_break(void **state)
{
    (void)state;
    assert_refused("12 t/", ANY_RATE, EFI_QUANTITY_UNIT_BROKEN, "/", "");
    assert_refused("12 t//h", ANY_RATE, EFI_QUANTITY_UNIT_BROKEN, "//", "");
    assert_refused("12 /", ANY_RATE, EFI_QUANTITY_UNIT_BROKEN, "/", "");
    assert_refused("12 m^x/h", ANY_RATE, EFI_QUANTITY_UNIT_BROKEN, "^x", "");
    assert_refused("12 m^", ANY_RATE, EFI_QUANTITY_UNIT_BROKEN, "^", "");
    assert_refused("12 m^10", ANY_RATE, EFI_QUANTITY_UNIT_BROKEN, "^1", "");
    assert_refused("12 m^9.m", ANY_RATE, EFI_QUANTITY_UNIT_BROKEN, ".m", "");
    assert_refused("12 cubic t", ANY_RATE, EFI_QUANTITY_UNIT_BROKEN, "cubic t", "");
}

static void what_does_not_belong_is_pointed_at(void **state)
{
    (void)state;
    assert_refused("12 t/h)", ANY_RATE, EFI_QUANTITY_TEXT_TRAILING, ")", "12 t/h");
    assert_refused("12 t/h or so", ANY_RATE, EFI_QUANTITY_TEXT_TRAILING, "or so", "12 t/h");
    assert_refused("12 (t/h)", ANY_RATE, EFI_QUANTITY_TEXT_TRAILING, "(t/h)", "");
    assert_refused("12 t h", ANY_RATE, EFI_QUANTITY_TEXT_TRAILING, "h", "12 t/h");
    assert_refused("12 t5", SET(EFI_KIND_MASS), EFI_QUANTITY_UNIT_MISSING, "5", "");
    assert_refused("1/8 t", SET(EFI_KIND_MASS), EFI_QUANTITY_TEXT_TRAILING, "t", "");
    assert_refused("1 2", SET(EFI_KIND_COUNT), EFI_QUANTITY_TEXT_TRAILING, "2", "");
    efi_quantity quantity;
    efi_quantity_error error;
    assert_false(efi_quantity_parse("12 t/h\0", 7, ANY_RATE, &quantity, &error));
    assert_int_equal(error.fault, EFI_QUANTITY_TEXT_TRAILING);
    assert_int_equal(error.start, 6);
}

static void sums_must_be_of_one_dimension_and_go_down(void **state)
{
    (void)state;
    const efi_kinds duration = SET(EFI_KIND_DURATION);
    assert_refused("30 min 1 h", duration, EFI_QUANTITY_SUM_ORDER, "1 h", "");
    assert_refused("1 h 2 h", duration, EFI_QUANTITY_SUM_ORDER, "2 h", "");
    assert_refused("1 h 30 kg", duration, EFI_QUANTITY_SUM_ORDER, "30 kg", "");
    assert_refused("50 % 2 %", SET(EFI_KIND_SHARE), EFI_QUANTITY_SUM_ORDER, "2 %", "");
    assert_refused("1 h 30 mn", duration, EFI_QUANTITY_UNIT_UNKNOWN, "mn", "");
}

static void two_currencies_in_one_quantity_are_refused(void **state)
{
    (void)state;
    assert_refused("12 EUR/USD", SET(EFI_KIND_SHARE), EFI_QUANTITY_CURRENCY_MIXED, "USD", "");
    efi_quantity quantity;
    assert_true(efi_quantity_parse_any("12 EUR/EUR", 10, &quantity, NULL));
    assert_string_equal(quantity.currency, "");
}

static void one_likely_text_may_mend_several_faults(void **state)
{
    (void)state;
    assert_refused("1,000 bph", ANY_RATE, EFI_QUANTITY_NUMBER_GROUPED, "1,000", "1000 bu/h");
    assert_refused("1,5 T", ANY_RATE, EFI_QUANTITY_DECIMAL_COMMA, "1,5", "1.5 t/h");
    assert_refused("12,5", SET(EFI_KIND_SHARE), EFI_QUANTITY_DECIMAL_COMMA, "12,5", "12.5 %");
}

static void a_likely_text_that_would_not_fit_is_left_out(void **state)
{
    (void)state;
    char text[200] = "1,5 t/h";
    memset(text + 7, ' ', 150);
    memcpy(text + 157, "x", 2);
    assert_refused(text, ANY_RATE, EFI_QUANTITY_DECIMAL_COMMA, "1,5", "");
}

static void the_error_may_be_left_out(void **state)
{
    (void)state;
    efi_quantity quantity;
    assert_false(efi_quantity_parse("12", 2, ANY_RATE, &quantity, NULL));
}

static void every_fault_has_a_name_and_words(void **state)
{
    (void)state;
    for (efi_quantity_fault fault = 0; fault < EFI_QUANTITY_FAULT_LIMIT; fault++) {
        assert_true(strlen(efi_quantity_fault_name(fault)) > 0);
        assert_true(strlen(efi_quantity_fault_words(fault)) > 0);
        for (efi_quantity_fault other = 0; other < fault; other++)
            assert_string_not_equal(efi_quantity_fault_name(fault), efi_quantity_fault_name(other));
    }
}

/* ---- units and kinds ----------------------------------------------------------------------------------- */

static void no_name_stands_twice_and_every_alias_leads_somewhere(void **state)
{
    (void)state;
    for (int i = 0; i < efi_unit_count(); i++) {
        for (int k = 0; k < i; k++)
            assert_string_not_equal(efi_unit_at(i)->name, efi_unit_at(k)->name);
        assert_true(strlen(efi_unit_at(i)->authority) > 0);
    }
    for (int i = 0; i < efi_unit_alias_count(); i++) {
        const char *name;
        const char *row_name;
        const char *spelling = efi_unit_alias_at(i, &name);
        efi_unit unit;
        assert_true(efi_unit_find(spelling, strlen(spelling), &unit, &row_name));
        assert_string_equal(row_name, name);
        for (int k = 0; k < efi_unit_count(); k++)
            assert_string_not_equal(spelling, efi_unit_at(k)->name);
        for (int k = 0; k < i; k++)
            assert_string_not_equal(spelling, efi_unit_alias_at(k, &name));
    }
}

static void a_unit_alone_is_read_to_its_end(void **state)
{
    (void)state;
    efi_unit unit = {0};
    assert_true(efi_unit_parse("m3/min", 6, &unit));
    assert_true(unit.numerator == 60.0 && unit.denominator == 1.0);
    assert_true(efi_unit_parse("1/h", 3, &unit));
    assert_true(efi_dimension_equal(unit.dimension, efi_kind_dimension(EFI_KIND_PER_TIME)));
    static const char *const none[] = {"", "t/", "t h", "12", "ton", "t/h)"};
    for (size_t i = 0; i < EF_COUNT(none); i++) {
        unit.numerator = 7.0;
        assert_false(efi_unit_parse(none[i], strlen(none[i]), &unit));
        assert_true(unit.numerator == 7.0);
    }
}

static void every_unit_that_a_kind_offers_is_read_as_that_kind(void **state)
{
    (void)state;
    for (efi_kind kind = 0; kind < EFI_KIND_LIMIT; kind++) {
        assert_true(strlen(efi_kind_words(kind)) > 0);
        for (const char *unit = efi_kind_units(kind); *unit; unit += strspn(unit, " ")) {
            char text[64] = "2 ";
            const size_t length = strcspn(unit, " ");
            strncat(text, unit, length);
            efi_quantity quantity;
            if (!read_as(text, SET(kind), &quantity, NULL) || quantity.kind != kind)
                fail_msg("\"%s\" is not %s", text, efi_kind_words(kind));
            unit += length;
        }
    }
}

static void assert_words(efi_kinds kinds, const char *words, const char *units)
{
    efi_text text = {0};
    efi_kinds_add_words(&text, kinds);
    assert_string_equal(efi_text_get(&text), words);
    efi_text_free(&text);
    efi_kinds_add_units(&text, kinds);
    assert_string_equal(efi_text_get(&text), units);
    efi_text_free(&text);
}

static void a_set_of_kinds_lists_each_unit_once_in_the_order_people_expect(void **state)
{
    (void)state;
    assert_words(SET(EFI_KIND_MASS_RATE), "a mass rate",
                 "t/h, kg/h, lb/h, short_ton/h, bu/h with a trade weight");
    assert_words(ANY_RATE, "a mass rate or a volume rate",
                 "t/h, kg/h, lb/h, short_ton/h, bu/h with a trade weight, m3/h, l/min, ft3/h, ft3/min");
    assert_words(SET(EFI_KIND_SHARE), "a share", "%, a number below 1, a fraction such as 1/8");
    assert_words(SET(EFI_KIND_COUNT), "a number", "a number without unit");
    assert_words(SET(EFI_KIND_MONEY) | SET(EFI_KIND_MONEY_PER_TIME), "money or money per time",
                 "EUR, USD, any currency code, EUR/h, USD/h, EUR/d");
}

/* ---- there and back ------------------------------------------------------------------------------------ */

static void random_quantities_come_back_from_their_exact_text(void **state)
{
    (void)state;
    efi_random random = efi_random_stream(SEED, 4, 0);
    for (int i = 0; i < 20000; i++) {
        efi_quantity quantity = {.kind = EFI_KIND_LIMIT};
        quantity.value = (efi_random_uniform(&random) - 0.5) *
                         pow(10.0, (double)efi_random_below(&random, 24) - 8.0);
        int8_t *const exponents[] = {&quantity.dimension.mass,  &quantity.dimension.length,
                                     &quantity.dimension.time,  &quantity.dimension.energy,
                                     &quantity.dimension.money, &quantity.dimension.angle,
                                     &quantity.dimension.bushel};
        for (size_t k = 0; k < EF_COUNT(exponents); k++)
            if (efi_random_below(&random, 3) == 0)
                *exponents[k] = (int8_t)((int)efi_random_below(&random, 19) - 9);
        efi_text text = {0};
        efi_quantity_add_exact(&text, &quantity);
        efi_quantity back = {0};
        if (!efi_quantity_parse_any(efi_text_get(&text), text.length, &back, NULL) ||
            back.value != quantity.value || !efi_dimension_equal(back.dimension, quantity.dimension))
            fail_msg("seed %d, case %d: %.17g came back from \"%s\" as %.17g", SEED, i, quantity.value,
                     efi_text_get(&text), back.value);
        efi_text_free(&text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_rate_is_read_with_and_without_blanks),
        cmocka_unit_test(names_of_two_words_are_read_with_blank_hyphen_or_underscore),
        cmocka_unit_test(powers_are_read_in_every_usual_spelling),
        cmocka_unit_test(durations_may_be_sums),
        cmocka_unit_test(shares_are_percentages_fractions_or_numbers_below_one),
        cmocka_unit_test(other_kinds_are_read_in_their_usual_units),
        cmocka_unit_test(money_keeps_the_currency_it_was_given_in),
        cmocka_unit_test(a_bushel_is_a_volume_where_a_volume_is_wanted),
        cmocka_unit_test(a_bushel_waits_for_the_trade_weight_where_a_mass_is_wanted),
        cmocka_unit_test(by_weight_wins_where_both_fit_and_an_exact_kind_before_either),
        cmocka_unit_test(a_number_without_a_unit_points_at_the_value),
        cmocka_unit_test(a_badly_written_number_comes_with_the_likely_one),
        cmocka_unit_test(what_does_not_start_with_a_number_says_so),
        cmocka_unit_test(an_unknown_unit_names_the_nearest_known_one),
        cmocka_unit_test(a_ton_alone_is_not_guessed),
        cmocka_unit_test(a_unit_of_another_kind_is_mended_where_it_begins_alike),
        cmocka_unit_test(a_unit_where_a_bare_number_is_wanted_is_out_of_place),
        cmocka_unit_test(a_bare_share_of_one_or_more_is_not_guessed),
        cmocka_unit_test(a_broken_unit_points_at_the_break),
        cmocka_unit_test(what_does_not_belong_is_pointed_at),
        cmocka_unit_test(sums_must_be_of_one_dimension_and_go_down),
        cmocka_unit_test(two_currencies_in_one_quantity_are_refused),
        cmocka_unit_test(one_likely_text_may_mend_several_faults),
        cmocka_unit_test(a_likely_text_that_would_not_fit_is_left_out),
        cmocka_unit_test(the_error_may_be_left_out),
        cmocka_unit_test(every_fault_has_a_name_and_words),
        cmocka_unit_test(no_name_stands_twice_and_every_alias_leads_somewhere),
        cmocka_unit_test(a_unit_alone_is_read_to_its_end),
        cmocka_unit_test(every_unit_that_a_kind_offers_is_read_as_that_kind),
        cmocka_unit_test(a_set_of_kinds_lists_each_unit_once_in_the_order_people_expect),
        cmocka_unit_test(random_quantities_come_back_from_their_exact_text),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
