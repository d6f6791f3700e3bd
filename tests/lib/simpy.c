/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "simpy.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool read_numbers(const char *text, double *number, int count)
{
    for (int k = 0; k < count; k++) {
        char *end;
        number[k] = strtod(text, &end);
        if (end == text)
            return false;
        text = end;
    }
    return true;
}

static bool run_with(const char *python, int seed, int batches, double batch_h, double *number, int count)
{
    char command[256];
    char line[512];
    snprintf(command, sizeof command, "%s tests/outside/simpy_line.py %d %d %.17g 2>/dev/null", python, seed,
             batches, batch_h);
    FILE *output = popen(command, "r"); // NOLINT(cert-env33-c): fixed text and numbers
    if (!output)
        return false;
    const bool has_line = fgets(line, sizeof line, output) != NULL;
    return pclose(output) == 0 && has_line && read_numbers(line, number, count);
}

bool simpy_run(int seed, int batches, double batch_h, simpy_result *result)
{
    /* the first python3 need not be the system's, whose packages are meant */
    static const char *const pythons[] = {"python3", "/usr/bin/python3"};
    double number[2 * SIMPY_METRICS + 3];
    const int count = (int)(sizeof number / sizeof *number);
    bool has_run = false;
    for (size_t p = 0; !has_run && p < sizeof pythons / sizeof *pythons; p++)
        has_run = run_with(pythons[p], seed, batches, batch_h, number, count);
    if (!has_run)
        return false;
    for (int m = 0; m < SIMPY_METRICS; m++) {
        result->mean[m] = number[2 * m];
        result->error[m] = number[2 * m + 1];
    }
    result->hours = number[2 * SIMPY_METRICS];
    result->events = number[2 * SIMPY_METRICS + 1];
    result->seconds = number[2 * SIMPY_METRICS + 2];
    return true;
}
