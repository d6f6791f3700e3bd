/* SPDX-License-Identifier: GPL-3.0-or-later
 * Comparing doubles in tests: in double precision, with both values shown, and NaN never passes.
 *
 *   assert_near(actual, expected, tolerance)    |actual - expected| <= tolerance max(1, |expected|)
 *   assert_near_absolute(actual, expected, by)  |actual - expected| <= by
 *   assert_near_relative(actual, expected, by)  |actual - expected| <= by |expected|
 *
 * Equal infinities are near each other; nothing else is near an infinity. */
#ifndef TESTS_NEAR_H
#define TESTS_NEAR_H

#include <stdbool.h>

/* Is `actual` equal to `expected` or within `tolerance` (same unit, finite, >= 0) of it? False for every NaN.
 */
bool near_is(double actual, double expected, double tolerance);

/* Fails the running test, naming `expression` and its place, unless near_is(actual, expected, tolerance). */
void near_check(double actual, double expected, double tolerance, const char *expression, const char *file,
                int line);

/* The tolerance of assert_near: `share` of the larger of 1 and |expected|. */
double near_mixed(double expected, double share);

/* The tolerance of assert_near_relative: `share` of |expected|. */
double near_relative(double expected, double share);

#define assert_near_absolute(actual, expected, by)                                                           \
    near_check((actual), (expected), (by), #actual, __FILE__, __LINE__)
#define assert_near_relative(actual, expected, by)                                                           \
    near_check((actual), (expected), near_relative((expected), (by)), #actual, __FILE__, __LINE__)
#define assert_near(actual, expected, tolerance)                                                             \
    near_check((actual), (expected), near_mixed((expected), (tolerance)), #actual, __FILE__, __LINE__)

#endif
