/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "near.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

bool near_is(double actual, double expected, double tolerance)
{
    if (isinf(actual) || isinf(expected) || !isfinite(tolerance))
        return actual == expected && !isnan(tolerance);
    return fabs(actual - expected) <= tolerance;
}

double near_mixed(double expected, double share)
{
    return share * fmax(1.0, fabs(expected));
}

double near_relative(double expected, double share)
{
    return share * fabs(expected);
}

void near_check(double actual, double expected, double tolerance, const char *expression, const char *file,
                int line)
{
    if (near_is(actual, expected, tolerance))
        return;
    print_error("%s is %.17g, expected %.17g within %.3g; they differ by %.3g\n", expression, actual,
                expected, tolerance, fabs(actual - expected));
    _fail(file, line);
}
