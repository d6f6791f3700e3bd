/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <evenfeed/status.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#define NAME(name, code, words) name,
static const ef_status statuses[] = {EF_STATUS_LIST(NAME)};
enum {
    STATUS_COUNT = sizeof statuses / sizeof statuses[0]
};

/* The exit codes as the manual promises them, written out here so that a change of the list is noticed. */
static void every_status_ends_the_program_with_its_promised_code(void **state)
{
    (void)state;
    assert_int_equal(STATUS_COUNT, 8);
    assert_int_equal(ef_status_exit_code(EF_OK), 0);
    assert_int_equal(ef_status_exit_code(EF_NO_ANSWER), 1);
    assert_int_equal(ef_status_exit_code(EF_USAGE), 2);
    assert_int_equal(ef_status_exit_code(EF_SCENARIO), 3);
    assert_int_equal(ef_status_exit_code(EF_FILE), 4);
    assert_int_equal(ef_status_exit_code(EF_MEMORY), 4);
    assert_int_equal(ef_status_exit_code(EF_INTERNAL), 5);
    assert_int_equal(ef_status_exit_code(EF_STOPPED), 130);
}

static void success_is_zero_so_that_a_status_reads_as_a_condition(void **state)
{
    (void)state;
    assert_int_equal(EF_OK, 0);
}

static void every_status_has_words_of_its_own(void **state)
{
    (void)state;
    for (int i = 0; i < STATUS_COUNT; i++) {
        const char *words = ef_status_text(statuses[i]);
        assert_non_null(words);
        assert_true(strlen(words) > 0);
        assert_string_not_equal(words, "unknown status");
        for (int k = 0; k < i; k++)
            assert_string_not_equal(words, ef_status_text(statuses[k]));
    }
}

static void a_status_outside_the_list_is_an_internal_error(void **state)
{
    (void)state;
    assert_string_equal(ef_status_text((ef_status)STATUS_COUNT), "unknown status");
    assert_string_equal(ef_status_text((ef_status)-1), "unknown status");
    assert_int_equal(ef_status_exit_code((ef_status)STATUS_COUNT), ef_status_exit_code(EF_INTERNAL));
    assert_int_equal(ef_status_exit_code((ef_status)-1), ef_status_exit_code(EF_INTERNAL));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_status_ends_the_program_with_its_promised_code),
        cmocka_unit_test(success_is_zero_so_that_a_status_reads_as_a_condition),
        cmocka_unit_test(every_status_has_words_of_its_own),
        cmocka_unit_test(a_status_outside_the_list_is_an_internal_error),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
