/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/threads.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

enum {
    JOBS = 200
};

typedef struct slots {
    int done[JOBS];
    int fails_from;
} slots;

static ef_status count_up(void *context, int index)
{
    slots *all = context;
    all->done[index]++;
    if (index >= all->fails_from)
        return index == all->fails_from ? EF_FILE : EF_INTERNAL;
    return EF_OK;
}

static void every_job_runs_once_for_any_number_of_threads(void **state)
{
    (void)state;
    const int threads[] = {0, 1, 2, 3, 8, 1000};
    for (size_t t = 0; t < EF_COUNT(threads); t++) {
        slots all = {.fails_from = JOBS};
        assert_int_equal(efi_threads_run(threads[t], JOBS, count_up, &all), EF_OK);
        for (int i = 0; i < JOBS; i++)
            assert_int_equal(all.done[i], 1);
    }
}

static void the_failure_of_the_lowest_index_is_reported(void **state)
{
    (void)state;
    for (int threads = 1; threads <= 4; threads++) {
        slots all = {.fails_from = 17};
        assert_int_equal(efi_threads_run(threads, JOBS, count_up, &all), EF_FILE);
        for (int i = 0; i <= 17; i++)
            assert_int_equal(all.done[i], 1);
    }
}

static void no_jobs_is_no_work(void **state)
{
    (void)state;
    slots all = {.fails_from = 0};
    assert_int_equal(efi_threads_run(4, 0, count_up, &all), EF_OK);
    assert_int_equal(all.done[0], 0);
}

static void there_is_at_least_one_processor(void **state)
{
    (void)state;
    assert_true(efi_threads_available() >= 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_job_runs_once_for_any_number_of_threads),
        cmocka_unit_test(the_failure_of_the_lowest_index_is_reported),
        cmocka_unit_test(no_jobs_is_no_work),
        cmocka_unit_test(there_is_at_least_one_processor),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
