/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/number.h"
#include "base/random.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum {
    SEED = 20260114
};

static efi_number parse(const char *text)
{
    return efi_number_parse(text, strlen(text));
}

/* The bits, so that 0 and -0 differ and a wrong last bit shows. */
static uint64_t bits_of(double value)
{
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    return bits;
}

static void assert_reads_as(const char *text, double expected, size_t used)
{
    const efi_number number = parse(text);
    if (number.fault != EFI_NUMBER_FINE || bits_of(number.value) != bits_of(expected) || number.used != used)
        fail_msg("\"%s\": fault %d, %.17g (expected %.17g), %zu bytes (expected %zu)", text,
                 (int)number.fault, number.value, expected, number.used, used);
}

static void numbers_are_read_to_the_nearest_double(void **state)
{
    (void)state;
    assert_reads_as("12", 12.0, 2);
    assert_reads_as("+12", 12.0, 3);
    assert_reads_as("-0.5", -0.5, 4);
    assert_reads_as(".5", 0.5, 2);
    assert_reads_as("0", 0.0, 1);
    assert_reads_as("-0", 0.0, 2);
    assert_reads_as("007", 7.0, 3);
    assert_reads_as("1e3", 1000.0, 3);
    assert_reads_as("2.5E-2", 0.025, 6);
    /* Ties and near ties: 2^53 + 1 lies half way, and a 1 far behind tips it. */
    assert_reads_as("9007199254740993", 9007199254740992.0, 16);
    assert_reads_as("9007199254740993.0000000000000000000000000001", 9007199254740994.0, 45);
    /* Two powers of ten that are no doubles, with hard neighbours. */
    assert_reads_as("1e23", 1e23, 4);
    assert_reads_as("8.41e21", 8.41e21, 7);
    assert_reads_as("1.7976931348623157e308", 1.7976931348623157e308, 22);
    assert_reads_as("2.2250738585072014e-308", 2.2250738585072014e-308, 23);
}

static void what_follows_a_number_is_left_alone(void **state)
{
    (void)state;
    assert_reads_as("12 t/h", 12.0, 2);
    assert_reads_as("12t", 12.0, 2);
    assert_reads_as("5e", 5.0, 1);
    assert_reads_as("5 e3", 5.0, 1);
    assert_reads_as("5EUR", 5.0, 1);
    assert_reads_as("1/8", 1.0, 1);
    assert_reads_as("1 30", 1.0, 1);
    assert_reads_as("0 bu", 0.0, 1);
    assert_reads_as("0bu", 0.0, 1);
    assert_reads_as("12, 13", 12.0, 2);
    assert_reads_as("12-13", 12.0, 2);
}

static void digits_beyond_the_given_length_are_not_read(void **state)
{
    (void)state;
    const efi_number number = efi_number_parse("12345", 2);
    assert_int_equal(number.fault, EFI_NUMBER_FINE);
    assert_true(number.value == 12.0);
    assert_int_equal(number.used, 2);
    assert_int_equal(efi_number_parse("1", 0).fault, EFI_NUMBER_MISSING);
}

static void what_is_no_plain_number_is_refused_with_the_likely_one(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        efi_number_fault fault;
        size_t used;
        const char *likely;
    } cases[] = {
        {"", EFI_NUMBER_MISSING, 0, ""},
        {"t/h", EFI_NUMBER_MISSING, 0, ""},
        {".", EFI_NUMBER_MISSING, 0, ""},
        {"-", EFI_NUMBER_BAD, 1, ""},
        {"- 5", EFI_NUMBER_BAD, 1, ""},
        {"--5", EFI_NUMBER_BAD, 1, ""},
        {"5.", EFI_NUMBER_BAD, 2, "5"},
        {"1.2.3", EFI_NUMBER_BAD, 5, ""},
        {"1,5,2", EFI_NUMBER_BAD, 5, ""},
        {"12,34.5,6", EFI_NUMBER_BAD, 9, ""},
        {"\xE2\x88\x92"
         "5",
         EFI_NUMBER_BAD, 4, "-5"},
        {"1,5 t/h", EFI_NUMBER_DECIMAL_COMMA, 3, "1.5"},
        {"-1,5", EFI_NUMBER_DECIMAL_COMMA, 4, "-1.5"},
        {",5", EFI_NUMBER_DECIMAL_COMMA, 2, "0.5"},
        {"0,500", EFI_NUMBER_DECIMAL_COMMA, 5, "0.500"},
        {"1234,567", EFI_NUMBER_DECIMAL_COMMA, 8, "1234.567"},
        {"1,5e3", EFI_NUMBER_DECIMAL_COMMA, 5, "1.5e3"},
        {"1.000,5", EFI_NUMBER_DECIMAL_COMMA, 7, "1000.5"},
        {"1 000,5", EFI_NUMBER_DECIMAL_COMMA, 7, "1000.5"},
        {"1,000", EFI_NUMBER_GROUPED, 5, "1000"},
        {"1,000,000", EFI_NUMBER_GROUPED, 9, "1000000"},
        {"1.000.000", EFI_NUMBER_GROUPED, 9, "1000000"},
        {"1,000.5", EFI_NUMBER_GROUPED, 7, "1000.5"},
        {"1 000 bu/h", EFI_NUMBER_GROUPED, 5, "1000"},
        {"1\xC2\xA0"
         "000",
         EFI_NUMBER_GROUPED, 6, "1000"},
        {"1\xE2\x80\xAF"
         "000",
         EFI_NUMBER_GROUPED, 7, "1000"},
        {"1'000", EFI_NUMBER_GROUPED, 5, "1000"},
        {"1_000", EFI_NUMBER_GROUPED, 5, "1000"},
        {"1_0_0", EFI_NUMBER_GROUPED, 5, "100"},
        {"0x1F", EFI_NUMBER_BASE, 4, ""},
        {"-0x10 t/h", EFI_NUMBER_BASE, 5, ""},
        {"0b101", EFI_NUMBER_BASE, 5, ""},
        {"0o17", EFI_NUMBER_BASE, 4, ""},
        {"inf", EFI_NUMBER_NOT_FINITE, 3, ""},
        {"-Infinity", EFI_NUMBER_NOT_FINITE, 9, ""},
        {".inf", EFI_NUMBER_NOT_FINITE, 4, ""},
        {"NaN t/h", EFI_NUMBER_NOT_FINITE, 3, ""},
        {"1e999", EFI_NUMBER_RANGE, 5, ""},
        {"-1e999", EFI_NUMBER_RANGE, 6, ""},
        {"1e-999", EFI_NUMBER_RANGE, 6, ""},
        {"1e99999999999999999999", EFI_NUMBER_RANGE, 22, ""},
        {"4.9e-324", EFI_NUMBER_RANGE, 8, ""},
    };
    for (size_t i = 0; i < EF_COUNT(cases); i++) {
        const efi_number number = parse(cases[i].text);
        if (number.fault != cases[i].fault || number.used != cases[i].used || number.value != 0.0 ||
            strcmp(number.likely, cases[i].likely) != 0)
            fail_msg("\"%s\": fault %d (expected %d), %zu bytes (expected %zu), value %g, likely \"%s\"",
                     cases[i].text, (int)number.fault, (int)cases[i].fault, number.used, cases[i].used,
                     number.value, number.likely);
    }
}

static void a_number_of_more_than_100_digits_is_refused_not_cut(void **state)
{
    (void)state;
    char text[202];
    memset(text, '1', sizeof text);
    assert_int_equal(efi_number_parse(text, 100).fault, EFI_NUMBER_FINE);
    assert_true(efi_number_parse(text, 100).value == strtod("1111111111111111111111e78", NULL));
    const efi_number longer = efi_number_parse(text, 101);
    assert_int_equal(longer.fault, EFI_NUMBER_RANGE);
    assert_int_equal(longer.used, 101);
    text[101] = ',';
    assert_string_equal(efi_number_parse(text, 103).likely, "");
}

/* Against strtod of the C library, under the "C" locale of the tests. */
static void random_decimals_are_rounded_as_strtod_rounds_them(void **state)
{
    (void)state;
    efi_random random = efi_random_stream(SEED, 1, 0);
    for (int i = 0; i < 20000; i++) {
        char text[64];
        const int whole = (int)efi_random_below(&random, 12);
        const int decimals = 1 + (int)efi_random_below(&random, 25);
        int at = 0;
        for (int digit = 0; digit < whole + 1; digit++)
            text[at++] = (char)('0' + efi_random_below(&random, 10));
        text[at++] = '.';
        for (int digit = 0; digit < decimals; digit++)
            text[at++] = (char)('0' + efi_random_below(&random, 10));
        at += snprintf(text + at, sizeof text - (size_t)at, "e%d", (int)efi_random_below(&random, 500) - 250);
        const efi_number number = efi_number_parse(text, (size_t)at);
        const double expected = strtod(text, NULL);
        if (number.fault != EFI_NUMBER_FINE || number.value != expected || number.used != (size_t)at)
            fail_msg("seed %d, case %d: \"%s\" gave %.17g, strtod %.17g", SEED, i, text, number.value,
                     expected);
    }
}

/* Any finite normal double, all exponents alike. */
static double random_double(efi_random *random)
{
    for (;;) {
        const uint64_t bits = efi_random_bits(random);
        double value;
        memcpy(&value, &bits, sizeof value);
        if (isnormal(value))
            return value;
    }
}

static void the_exact_form_reads_back_as_the_same_double(void **state)
{
    (void)state;
    efi_random random = efi_random_stream(SEED, 2, 0);
    for (int i = 0; i < 20000; i++) {
        double value = random_double(&random);
        if (i % 2)
            value = efi_random_uniform(&random) * 1000.0;
        efi_text text = {0};
        efi_number_add_exact(&text, value);
        const efi_number number = efi_number_parse(efi_text_get(&text), text.length);
        if (number.fault != EFI_NUMBER_FINE || bits_of(number.value) != bits_of(value) ||
            number.used != text.length)
            fail_msg("seed %d, case %d: %.17g came back from \"%s\" as %.17g", SEED, i, value,
                     efi_text_get(&text), number.value);
        efi_text_free(&text);
    }
}

static void twelve_digits_read_back_to_half_a_unit_of_the_twelfth(void **state)
{
    (void)state;
    efi_random random = efi_random_stream(SEED, 3, 0);
    for (int i = 0; i < 20000; i++) {
        const double value = random_double(&random);
        efi_text text = {0};
        efi_number_add_significant(&text, value, 12);
        const efi_number number = efi_number_parse(efi_text_get(&text), text.length);
        if (number.fault != EFI_NUMBER_FINE || !(fabs(number.value - value) <= 5.001e-12 * fabs(value)))
            fail_msg("seed %d, case %d: %.17g came back from \"%s\" as %.17g", SEED, i, value,
                     efi_text_get(&text), number.value);
        efi_text_free(&text);
    }
}

static void assert_significant(double value, int digits, const char *expected)
{
    efi_text text = {0};
    efi_number_add_significant(&text, value, digits);
    assert_string_equal(efi_text_get(&text), expected);
    efi_text_free(&text);
}

static void significant_digits_are_plain_and_without_closing_zeros(void **state)
{
    (void)state;
    assert_significant(0.0, 12, "0");
    assert_significant(-0.0, 12, "0");
    assert_significant(1.0, 12, "1");
    assert_significant(0.1, 12, "0.1");
    assert_significant(-2.5, 12, "-2.5");
    assert_significant(1.0 / 3.0, 12, "0.333333333333");
    assert_significant(2.0 / 3.0, 3, "0.667");
    assert_significant(27.2155422, 12, "27.2155422");
    assert_significant(1234567.0, 3, "1230000");
    assert_significant(9.996, 3, "10");
    assert_significant(1e-6, 12, "0.000001");
    assert_significant(123456789012345.0, 12, "123456789012000");
    assert_significant(9.9e-7, 12, "9.9e-7");
    assert_significant(1e15, 12, "1e15");
    assert_significant(-1.25e300, 12, "-1.25e300");
    assert_significant((double)NAN, 12, "n/a");
    assert_significant(-(double)INFINITY, 12, "n/a");
}

static void the_exact_form_is_as_short_as_a_person_would_write_it(void **state)
{
    (void)state;
    static const struct {
        double value;
        const char *text;
    } cases[] = {
        {0.1, "0.1"}, {0.3, "0.3"}, {12.0, "12"}, {0.1 + 0.2, "0.30000000000000004"}, {1e22, "1e22"}};
    for (size_t i = 0; i < EF_COUNT(cases); i++) {
        efi_text text = {0};
        efi_number_add_exact(&text, cases[i].value);
        assert_string_equal(efi_text_get(&text), cases[i].text);
        efi_text_free(&text);
    }
    efi_text text = {0};
    efi_number_add_exact(&text, (double)NAN);
    assert_string_equal(efi_text_get(&text), "n/a");
    efi_text_free(&text);
}

static void assert_fixed(double value, int decimals, const char *expected)
{
    efi_text text = {0};
    efi_number_add_fixed(&text, value, decimals);
    assert_string_equal(efi_text_get(&text), expected);
    efi_text_free(&text);
}

static void fixed_decimals_never_print_a_negative_zero(void **state)
{
    (void)state;
    assert_fixed(9.236, 2, "9.24");
    assert_fixed(1234.0, 0, "1234");
    assert_fixed(-0.0, 2, "0.00");
    assert_fixed(-0.004, 2, "0.00");
    assert_fixed(-0.006, 2, "-0.01");
    assert_fixed(-0.4, 0, "0");
    assert_fixed(1.0, 20, "1.00000000000000000000");
    assert_fixed((double)NAN, 2, "n/a");
    assert_fixed((double)INFINITY, 2, "n/a");
    efi_text text = {0};
    efi_number_add_fixed(&text, -1.7976931348623157e308, 20);
    assert_int_equal(text.length, 1 + 309 + 1 + 20);
    assert_memory_equal(efi_text_get(&text), "-179769313486231570", 19);
    efi_text_free(&text);
}

static void decimals_follow_the_magnitude_after_rounding(void **state)
{
    (void)state;
    assert_int_equal(efi_number_decimals(9.24, 3), 2);
    assert_int_equal(efi_number_decimals(-9.24, 3), 2);
    assert_int_equal(efi_number_decimals(9.994, 3), 2);
    assert_int_equal(efi_number_decimals(9.996, 3), 1);
    assert_int_equal(efi_number_decimals(99.96, 3), 0);
    assert_int_equal(efi_number_decimals(1234.0, 3), 0);
    assert_int_equal(efi_number_decimals(0.01234, 3), 4);
    assert_int_equal(efi_number_decimals(0.000012, 3), 6);
    assert_int_equal(efi_number_decimals(4e-7, 3), 0);
    assert_int_equal(efi_number_decimals(0.0, 3), 0);
    assert_int_equal(efi_number_decimals((double)NAN, 3), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_are_read_to_the_nearest_double),
        cmocka_unit_test(what_follows_a_number_is_left_alone),
        cmocka_unit_test(digits_beyond_the_given_length_are_not_read),
        cmocka_unit_test(what_is_no_plain_number_is_refused_with_the_likely_one),
        cmocka_unit_test(a_number_of_more_than_100_digits_is_refused_not_cut),
        cmocka_unit_test(random_decimals_are_rounded_as_strtod_rounds_them),
        cmocka_unit_test(the_exact_form_reads_back_as_the_same_double),
        cmocka_unit_test(twelve_digits_read_back_to_half_a_unit_of_the_twelfth),
        cmocka_unit_test(significant_digits_are_plain_and_without_closing_zeros),
        cmocka_unit_test(the_exact_form_is_as_short_as_a_person_would_write_it),
        cmocka_unit_test(fixed_decimals_never_print_a_negative_zero),
        cmocka_unit_test(decimals_follow_the_magnitude_after_rounding),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
