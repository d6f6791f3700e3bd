/* SPDX-License-Identifier: GPL-3.0-or-later
 * Runs the model of a line in SimPy (tests/outside/simpy_line.py), where python3 with SimPy is there. */
#ifndef TESTS_SIMPY_H
#define TESTS_SIMPY_H

#include <stdbool.h>

#define SIMPY_METRICS 5 /* tonnes an hour, then the mean level of each of four bins */

/* What the script prints. */
typedef struct simpy_result {
    double mean[SIMPY_METRICS];
    double error[SIMPY_METRICS];
    double hours;
    double events;
    double seconds; /* of the processor */
} simpy_result;

/* False when there is no python3 with SimPy, or the script fails. From the top of the repository. */
bool simpy_run(int seed, int batches, double batch_h, simpy_result *result);

#endif
