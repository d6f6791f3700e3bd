/* SPDX-License-Identifier: GPL-3.0-or-later
 * Leaving a test out, aloud: the runner counts the lines that begin with SKIP. */
#ifndef TESTS_SKIP_H
#define TESTS_SKIP_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

/*
 * Prints "SKIP test-name: reason" and ends the running test as skipped; used in the test's own function,
 * whose name it takes. Anything the test holds must be released before.
 */
#define ef_test_skip(reason)                                                                                 \
    do {                                                                                                     \
        (void)printf("SKIP %s: %s\n", __func__, (reason));                                                   \
        (void)fflush(stdout);                                                                                \
        skip();                                                                                              \
        return;                                                                                              \
    } while (0)

#endif
