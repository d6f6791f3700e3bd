/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/display.h"
#include "base/memory.h"
#include "base/random.h"
#include "../lib/near.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

enum {
    SEED = 20260114
};

static const double WHEAT_TPBU = 60.0 * 0.00045359237; /* trade weight 60 lb/bu */
static const double NONE = 0.0;

static void assert_alone(efi_kind kind, ef_units units, double value, double tonnes_per_bushel,
                         const char *expected)
{
    efi_text text = {0};
    efi_display_add_alone(&text, kind, units, value, tonnes_per_bushel, "EUR");
    assert_string_equal(efi_text_get(&text), expected);
    efi_text_free(&text);
}

static void mass_rates_have_three_digits_or_their_whole_number(void **state)
{
    (void)state;
    assert_alone(EFI_KIND_MASS_RATE, EF_UNITS_METRIC, 9.2361, NONE, "9.24 t/h");
    assert_alone(EFI_KIND_MASS_RATE, EF_UNITS_METRIC, 12.0, NONE, "12.0 t/h");
    assert_alone(EFI_KIND_MASS_RATE, EF_UNITS_METRIC, 1234.4, NONE, "1234 t/h");
    assert_alone(EFI_KIND_MASS_RATE, EF_UNITS_METRIC, 0.0853, NONE, "85.3 kg/h");
    assert_alone(EFI_KIND_MASS_RATE, EF_UNITS_METRIC, -9.2361, NONE, "-9.24 t/h");
    assert_alone(EFI_KIND_MASS_RATE, EF_UNITS_METRIC, 0.0, NONE, "0 t/h");
    assert_alone(EFI_KIND_MASS_RATE, EF_UNITS_METRIC, -1e-20, NONE, "0 t/h");
    assert_alone(EFI_KIND_MASS_RATE, EF_UNITS_METRIC, (double)NAN, NONE, "n/a");
    assert_alone(EFI_KIND_MASS_RATE, EF_UNITS_METRIC, (double)INFINITY, NONE, "n/a");
}

static void us_mass_rates_are_in_bushels_with_a_trade_weight_else_in_pounds_or_short_tons(void **state)
{
    (void)state;
    assert_alone(EFI_KIND_MASS_RATE, EF_UNITS_US, 27.2155422, WHEAT_TPBU, "1000 bu/h");
    assert_alone(EFI_KIND_MASS_RATE, EF_UNITS_US, 5.44310844, NONE, "12000 lb/h");
    assert_alone(EFI_KIND_MASS_RATE, EF_UNITS_US, 27.2155422, NONE, "30.0 short_ton/h");
    assert_alone(EFI_KIND_MASS, EF_UNITS_US, 27.2155422, WHEAT_TPBU, "1000 bu");
    assert_alone(EFI_KIND_MONEY_PER_MASS, EF_UNITS_US, 10.0, WHEAT_TPBU, "0.272 EUR/bu");
    assert_alone(EFI_KIND_ENERGY_PER_MASS, EF_UNITS_US, 10.0, NONE, "9.07 kWh/short_ton");
}

static void other_kinds_have_units_that_suit_their_size(void **state)
{
    (void)state;
    assert_alone(EFI_KIND_VOLUME, EF_UNITS_METRIC, 3.2373, NONE, "3.24 m3");
    assert_alone(EFI_KIND_VOLUME, EF_UNITS_METRIC, 0.0352391, NONE, "35.2 l");
    assert_alone(EFI_KIND_VOLUME, EF_UNITS_US, 3.2373, NONE, "114 ft3");
    assert_alone(EFI_KIND_VOLUME_RATE, EF_UNITS_US, 18.0, NONE, "636 ft3/h");
    assert_alone(EFI_KIND_DENSITY, EF_UNITS_METRIC, 0.7723116, NONE, "0.772 t/m3");
    assert_alone(EFI_KIND_DENSITY, EF_UNITS_US, 0.7723116, NONE, "60.0 lb/bu");
    assert_alone(EFI_KIND_TRADE_WEIGHT, EF_UNITS_US, WHEAT_TPBU, NONE, "60.0 lb/bu");
    assert_alone(EFI_KIND_LENGTH, EF_UNITS_METRIC, 0.15, NONE, "150 mm");
    assert_alone(EFI_KIND_LENGTH, EF_UNITS_METRIC, 2.4, NONE, "2.40 m");
    assert_alone(EFI_KIND_LENGTH, EF_UNITS_US, 0.1524, NONE, "6.00 in");
    assert_alone(EFI_KIND_LENGTH, EF_UNITS_US, 3.048, NONE, "10.0 ft");
    assert_alone(EFI_KIND_DURATION, EF_UNITS_METRIC, 8.0, NONE, "8.00 h");
    assert_alone(EFI_KIND_DURATION, EF_UNITS_US, 0.25, NONE, "15.0 min");
    assert_alone(EFI_KIND_SHARE, EF_UNITS_METRIC, 0.1234, NONE, "12.3 %");
    assert_alone(EFI_KIND_ANGLE, EF_UNITS_METRIC, 45.0, NONE, "45.0°");
    assert_alone(EFI_KIND_VELOCITY, EF_UNITS_METRIC, 5400.0, NONE, "1.50 m/s");
    assert_alone(EFI_KIND_VELOCITY, EF_UNITS_US, 5400.0, NONE, "295 ft/min");
    assert_alone(EFI_KIND_ROTATION, EF_UNITS_METRIC, 3600.0, NONE, "60.0 rpm");
    assert_alone(EFI_KIND_PER_TIME, EF_UNITS_METRIC, 30.0, NONE, "30.0/h");
    assert_alone(EFI_KIND_POWER, EF_UNITS_US, 0.74569987158227022, NONE, "1.00 hp");
    assert_alone(EFI_KIND_COUNT, EF_UNITS_METRIC, 12345.0, NONE, "12345");
    assert_alone(EFI_KIND_COUNT, EF_UNITS_METRIC, 2.5, NONE, "2.50");
}

static void money_has_cents_until_it_is_too_large_for_them(void **state)
{
    (void)state;
    assert_alone(EFI_KIND_MONEY, EF_UNITS_METRIC, 12.5, NONE, "12.50 EUR");
    assert_alone(EFI_KIND_MASS_RATE, EF_UNITS_METRIC, 0.99999999, NONE, "1.00 t/h");
    assert_alone(EFI_KIND_MASS_RATE, EF_UNITS_METRIC, 0.9994, NONE, "999 kg/h");
    assert_alone(EFI_KIND_MONEY, EF_UNITS_METRIC, 999.99, NONE, "999.99 EUR");
    assert_alone(EFI_KIND_MONEY, EF_UNITS_METRIC, 999.999, NONE, "1000 EUR");
    assert_alone(EFI_KIND_MONEY, EF_UNITS_METRIC, 40000.0, NONE, "40000 EUR");
    assert_alone(EFI_KIND_MONEY, EF_UNITS_METRIC, 0.0, NONE, "0.00 EUR");
    assert_alone(EFI_KIND_MONEY_PER_MASS, EF_UNITS_METRIC, 4.2, NONE, "4.20 EUR/t");
    assert_alone(EFI_KIND_MONEY_PER_MASS, EF_UNITS_METRIC, 124.25, NONE, "124.25 EUR/t");
    assert_alone(EFI_KIND_MONEY_PER_ENERGY, EF_UNITS_METRIC, 0.1234, NONE, "0.123 EUR/kWh");
    efi_text text = {0};
    efi_display_add_alone(&text, EFI_KIND_MONEY_PER_TIME, EF_UNITS_METRIC, 25.0, NONE, NULL);
    efi_text_add(&text, ", ");
    efi_display_add_alone(&text, EFI_KIND_MONEY_PER_TIME, EF_UNITS_METRIC, 25.0, NONE, "Taler");
    assert_string_equal(efi_text_get(&text), "25.00 money/h, 25.00 Taler/h");
    efi_text_free(&text);
}

static void a_column_shares_unit_and_decimals(void **state)
{
    (void)state;
    static const double rates_tph[] = {9.24, 0.085, 0.0, 12.4};
    const efi_display display = efi_display_choose(EFI_KIND_MASS_RATE, EF_UNITS_METRIC, 12.4, NONE, NULL);
    efi_text text = {0};
    for (size_t i = 0; i < EF_COUNT(rates_tph); i++) {
        efi_display_add_number(&text, &display, rates_tph[i]);
        efi_text_add(&text, " ");
    }
    efi_text_add(&text, display.name);
    assert_string_equal(efi_text_get(&text), "9.2 0.1 0.0 12.4 t/h");
    efi_text_free(&text);
}

static void a_column_may_be_in_a_unit_of_the_callers_choice(void **state)
{
    (void)state;
    efi_display display;
    efi_text text = {0};
    assert_true(efi_display_in(EFI_KIND_VOLUME, "bu", 52.8586, NONE, &display));
    efi_display_add(&text, &display, 52.8586);
    assert_true(efi_display_in(EFI_KIND_MASS_RATE, "bu/h", 27.2155422, WHEAT_TPBU, &display));
    efi_text_add(&text, ", ");
    efi_display_add(&text, &display, 27.2155422);
    assert_true(efi_display_in(EFI_KIND_MASS_RATE, "kg/min", 12.0, NONE, &display));
    efi_text_add(&text, ", ");
    efi_display_add(&text, &display, 12.0);
    assert_string_equal(efi_text_get(&text), "1500 bu, 1000 bu/h, 200 kg/min");
    assert_near_relative(efi_display_value(&display, 9.0), 150.0, 1e-15);
    efi_text_free(&text);
}

static void a_unit_that_does_not_fit_leaves_the_display_alone(void **state)
{
    (void)state;
    efi_display display = {.decimals = 77};
    assert_false(efi_display_in(EFI_KIND_MASS_RATE, "bu/h", 1.0, NONE, &display));
    assert_false(efi_display_in(EFI_KIND_MASS_RATE, "m3/h", 1.0, WHEAT_TPBU, &display));
    assert_false(efi_display_in(EFI_KIND_MASS_RATE, "ton/h", 1.0, NONE, &display));
    assert_false(efi_display_in(EFI_KIND_MASS_RATE, "", 1.0, NONE, &display));
    assert_false(efi_display_in(EFI_KIND_COUNT, "t", 1.0, NONE, &display));
    assert_false(efi_display_in(EFI_KIND_LENGTH, "bu", 1.0, WHEAT_TPBU, &display));
    assert_false(efi_display_in(EFI_KIND_MASS, "bu2", 1.0, WHEAT_TPBU, &display));
    assert_false(efi_display_in(EFI_KIND_MASS, "bu/t", 1.0, WHEAT_TPBU, &display));
    assert_false(efi_display_in(EFI_KIND_MASS, "kg.m.m.m.m.m.m/m/m/m/m/m/m", 1.0, NONE, &display));
    assert_int_equal(display.decimals, 77);
}

static void every_kind_has_a_unit_in_both_systems(void **state)
{
    (void)state;
    for (efi_kind kind = 0; kind < EFI_KIND_LIMIT; kind++)
        for (ef_units units = EF_UNITS_METRIC; units <= EF_UNITS_US; units++) {
            const efi_display display = efi_display_choose(kind, units, 1.0, NONE, NULL);
            assert_true((display.name[0] == '\0') == (kind == EFI_KIND_COUNT));
            assert_true(efi_dimension_equal(display.unit.dimension, efi_kind_dimension(kind)));
        }
}

/* What is printed is read back as the same quantity, to half a unit of the last printed digit. */
static void what_is_printed_is_read_back(void **state)
{
    (void)state;
    efi_random random = efi_random_stream(SEED, 5, 0);
    for (int i = 0; i < 40000; i++) {
        const efi_kind kind = (efi_kind)efi_random_below(&random, EFI_KIND_LIMIT);
        const ef_units units = (ef_units)efi_random_below(&random, 2);
        const double bushel_t = efi_random_below(&random, 2) ? WHEAT_TPBU : NONE;
        const double value = efi_random_uniform(&random) *
                             pow(10.0, (double)efi_random_below(&random, 12) - 6.0);
        const efi_display display = efi_display_choose(kind, units, value, bushel_t, "USD");
        efi_text text = {0};
        efi_display_add(&text, &display, value);
        efi_quantity back = {0};
        efi_quantity_error error = {0};
        const bool read = efi_quantity_parse(efi_text_get(&text), text.length, EFI_KIND_SET(kind), &back,
                                             &error);
        if (read && efi_quantity_needs_trade_weight(&back))
            back = efi_quantity_weigh(back, bushel_t);
        const double step = pow(10.0, -display.decimals) * display.unit.numerator / display.unit.denominator;
        if (!read || back.kind != kind ||
            !(fabs(back.value - value) <= 0.5 * step * (1.0 + 1e-9) + 1e-15 * value))
            fail_msg("seed %d, case %d: %.17g as %s is \"%s\", read back as %.17g (%s)", SEED, i, value,
                     efi_kind_words(kind), efi_text_get(&text), back.value,
                     efi_quantity_fault_name(error.fault));
        efi_text_free(&text);
    }
}

static void assert_duration(double hours, const char *expected)
{
    efi_text text = {0};
    efi_display_add_duration(&text, hours);
    assert_string_equal(efi_text_get(&text), expected);
    efi_text_free(&text);
}

static void durations_are_said_as_people_say_them(void **state)
{
    (void)state;
    assert_duration(0.0, "0 s");
    assert_duration(-1e-9, "0 s");
    assert_duration(40.0 / 3600.0, "40 s");
    assert_duration(59.4 / 3600.0, "59 s");
    assert_duration(59.6 / 3600.0, "1 min");
    assert_duration(2.5 / 60.0, "2.5 min");
    assert_duration(9.94 / 60.0, "9.9 min");
    assert_duration(9.96 / 60.0, "10 min");
    assert_duration(50.0 / 60.0, "50 min");
    assert_duration(59.6 / 60.0, "1 h");
    assert_duration(85.0 / 60.0, "1 h 25 min");
    assert_duration(-85.0 / 60.0, "-1 h 25 min");
    assert_duration(8.0, "8 h");
    assert_duration(52.5, "52 h 30 min");
    assert_duration((double)NAN, "n/a");
}

static void durations_in_words_are_read_back(void **state)
{
    (void)state;
    efi_random random = efi_random_stream(SEED, 6, 0);
    for (int i = 0; i < 20000; i++) {
        const double hours = efi_random_uniform(&random) *
                             pow(10.0, (double)efi_random_below(&random, 6) - 3.0);
        const double minutes = hours * 60.0;
        const double step_min = minutes < 1.0 ? 1.0 / 60.0 : minutes < 10.0 ? 0.1 : 1.0;
        efi_text text = {0};
        efi_display_add_duration(&text, hours);
        efi_quantity back = {0};
        if (!efi_quantity_parse(efi_text_get(&text), text.length, EFI_KIND_SET(EFI_KIND_DURATION), &back,
                                NULL) ||
            !(fabs(back.value * 60.0 - minutes) <= 0.5 * step_min + 1e-9))
            fail_msg("seed %d, case %d: %.17g h is \"%s\", read back as %.17g h", SEED, i, hours,
                     efi_text_get(&text), back.value);
        efi_text_free(&text);
    }
}

static void without_memory_the_text_says_that_it_failed(void **state)
{
    (void)state;
    const efi_quantity quantity = {.value = 12.0, .dimension = {.mass = 1, .time = -1}};
    for (long n = 1; n <= 2; n++) {
        efi_text text = {0};
        efi_memory_fail_at(n);
        efi_quantity_add_exact(&text, &quantity);
        efi_memory_fail_at(0);
        assert_true(text.failed);
        efi_text_free(&text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(mass_rates_have_three_digits_or_their_whole_number),
        cmocka_unit_test(us_mass_rates_are_in_bushels_with_a_trade_weight_else_in_pounds_or_short_tons),
        cmocka_unit_test(other_kinds_have_units_that_suit_their_size),
        cmocka_unit_test(money_has_cents_until_it_is_too_large_for_them),
        cmocka_unit_test(a_column_shares_unit_and_decimals),
        cmocka_unit_test(a_column_may_be_in_a_unit_of_the_callers_choice),
        cmocka_unit_test(a_unit_that_does_not_fit_leaves_the_display_alone),
        cmocka_unit_test(every_kind_has_a_unit_in_both_systems),
        cmocka_unit_test(what_is_printed_is_read_back),
        cmocka_unit_test(durations_are_said_as_people_say_them),
        cmocka_unit_test(durations_in_words_are_read_back),
        cmocka_unit_test(without_memory_the_text_says_that_it_failed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
