/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/display.h"
#include "base/locale.h"
#include "../lib/comma_locale.h"

#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* What the C library prints for 1.5 under the locale of the thread: "1.5" or "1,5". */
static const char *printed(char text[16])
{
    (void)snprintf(text, 16, "%.1f", 1.5);
    return text;
}

static int comma_end(void **state)
{
    (void)state;
    comma_locale_end();
    return 0;
}

/* Begins a test that needs a decimal comma; leaves it, counted, where there is none to be had. */
static void comma_needed(const char *test)
{
    if (comma_locale_begin())
        return;
    printf("SKIP %s: no locale with a decimal comma, and localedef cannot make one\n", test);
    skip();
}

static void inside_the_guard_the_decimal_sign_is_a_point(void **state)
{
    (void)state;
    comma_needed("inside_the_guard_the_decimal_sign_is_a_point");
    char text[16];
    efi_locale outer;
    efi_locale inner;
    assert_string_equal(printed(text), "1,5");
    assert_int_equal(efi_locale_enter(&outer), EF_OK);
    assert_string_equal(printed(text), "1.5");
    assert_true(strtod("1.5", NULL) == 1.5);
    assert_int_equal(efi_locale_enter(&inner), EF_OK);
    assert_string_equal(printed(text), "1.5");
    efi_locale_leave(&inner);
    assert_string_equal(printed(text), "1.5");
    efi_locale_leave(&outer);
    assert_string_equal(printed(text), "1,5");
}

static void *print_elsewhere(void *text)
{
    (void)printed(text);
    return NULL;
}

static void the_guard_of_one_thread_leaves_the_others_alone(void **state)
{
    (void)state;
    comma_needed("the_guard_of_one_thread_leaves_the_others_alone");
    char text[16];
    pthread_t thread;
    efi_locale guard;
    assert_int_equal(efi_locale_enter(&guard), EF_OK);
    assert_int_equal(pthread_create(&thread, NULL, print_elsewhere, text), 0);
    assert_int_equal(pthread_join(thread, NULL), 0);
    efi_locale_leave(&guard);
    assert_string_equal(text, "1,5");
}

static void a_guard_that_was_not_entered_may_be_left(void **state)
{
    (void)state;
    efi_locale guard = {0};
    efi_locale_leave(&guard);
    assert_int_equal(efi_locale_enter(&guard), EF_OK);
    efi_locale_leave(&guard);
    efi_locale_leave(&guard);
}

/* Without any guard: reading and printing of our own do not look at the locale. */
static void numbers_and_quantities_are_the_same_under_a_decimal_comma(void **state)
{
    (void)state;
    comma_needed("numbers_and_quantities_are_the_same_under_a_decimal_comma");
    efi_quantity quantity;
    assert_true(efi_quantity_parse("1.5e1 t/h", 9, EFI_KIND_SET(EFI_KIND_MASS_RATE), &quantity, NULL));
    assert_true(quantity.value == 15.0);
    assert_int_equal(efi_number_parse("1,5", 3).fault, EFI_NUMBER_DECIMAL_COMMA);
    efi_text text = {0};
    efi_number_add_fixed(&text, 1234.5, 2);
    efi_text_add(&text, " ");
    efi_number_add_significant(&text, 0.125, 12);
    efi_text_add(&text, " ");
    efi_number_add_exact(&text, 0.1 + 0.2);
    efi_text_add(&text, " ");
    efi_display_add_alone(&text, EFI_KIND_MASS_RATE, EF_UNITS_METRIC, 9.236, 0.0, NULL);
    efi_text_add(&text, " ");
    efi_display_add_duration(&text, 2.5 / 60.0);
    assert_string_equal(efi_text_get(&text), "1234.50 0.125 0.30000000000000004 9.24 t/h 2.5 min");
    efi_text_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_teardown(inside_the_guard_the_decimal_sign_is_a_point, comma_end),
        cmocka_unit_test_teardown(the_guard_of_one_thread_leaves_the_others_alone, comma_end),
        cmocka_unit_test(a_guard_that_was_not_entered_may_be_left),
        cmocka_unit_test_teardown(numbers_and_quantities_are_the_same_under_a_decimal_comma, comma_end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
