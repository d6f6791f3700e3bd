/* SPDX-License-Identifier: GPL-3.0-or-later
 * The helpers the other tests stand on. */
#include "../lib/files.h"
#include "../lib/near.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void near_keeps_to_its_tolerance(void **state)
{
    (void)state;
    assert_true(near_is(1.0, 1.0, 0.0));
    assert_true(near_is(1.0, 1.25, 0.25));
    assert_false(near_is(1.0, nextafter(1.25, 2.0), 0.25));
    assert_false(near_is(1.0, 1.0 + 1e-12, 1e-13));
}

static void near_never_passes_a_nan(void **state)
{
    (void)state;
    assert_false(near_is(NAN, 1.0, 1e300));
    assert_false(near_is(1.0, NAN, 1e300));
    assert_false(near_is(NAN, NAN, 1e300));
    assert_false(near_is(1.0, 1.0, NAN));
    assert_false(near_is((double)INFINITY, (double)INFINITY, NAN));
}

static void near_takes_infinity_only_for_itself(void **state)
{
    (void)state;
    assert_true(near_is((double)INFINITY, (double)INFINITY, 0.0));
    assert_false(near_is((double)INFINITY, -(double)INFINITY, (double)INFINITY));
    assert_false(near_is(1.0, (double)INFINITY, (double)INFINITY));
    assert_false(near_is(1.0, 1e9, (double)INFINITY));
}

static void tolerances_scale_with_the_expected_value(void **state)
{
    (void)state;
    assert_near(0.5e-6, 0.0, 1e-6);
    assert_near(1000.0005, 1000.0, 1e-6);
    assert_near_relative(2e-9, 2.0000000001e-9, 1e-9);
    assert_false(near_is(1.1e-9, 1e-9, near_relative(1e-9, 0.01)));
    assert_false(near_is(1000.002, 1000.0, near_mixed(1000.0, 1e-6)));
}

static void a_file_comes_back_as_it_was_written(void **state)
{
    (void)state;
    const char bytes[] = {'a', '\0', '\r', '\n', (char)0xff};
    char *path = scratch_path("bytes");
    assert_false(file_exists(path));
    file_write(path, bytes, sizeof bytes);
    size_t length = 0;
    char *back = file_read(path, &length);
    assert_int_equal(length, sizeof bytes);
    assert_memory_equal(back, bytes, sizeof bytes);
    assert_int_equal(back[length], '\0');
    free(back);
    free(path);
}

static void a_command_gives_output_error_and_exit_code(void **state)
{
    (void)state;
    const char *const arguments[] = {"sh", "-c", "cat; echo \"$1\" >&2; exit 3", "sh", "two  words", NULL};
    command_result result = command_run(arguments, "input\n");
    assert_int_equal(result.exit_code, 3);
    assert_string_equal(result.out, "input\n");
    assert_string_equal(result.err, "two  words\n");
    assert_int_equal(result.out_length, 6);
    command_result_free(&result);
}

static void a_command_ended_by_a_signal_shows_it(void **state)
{
    (void)state;
    const char *const arguments[] = {"sh", "-c", "kill -9 $$", NULL};
    command_result result = command_run(arguments, NULL);
    assert_int_equal(result.exit_code, 128 + 9);
    assert_int_equal(result.out_length, 0);
    command_result_free(&result);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(near_keeps_to_its_tolerance),
        cmocka_unit_test(near_never_passes_a_nan),
        cmocka_unit_test(near_takes_infinity_only_for_itself),
        cmocka_unit_test(tolerances_scale_with_the_expected_value),
        cmocka_unit_test(a_file_comes_back_as_it_was_written),
        cmocka_unit_test(a_command_gives_output_error_and_exit_code),
        cmocka_unit_test(a_command_ended_by_a_signal_shows_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
