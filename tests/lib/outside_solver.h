/* SPDX-License-Identifier: GPL-3.0-or-later
 * A linear program solved by a program that is none of ours: clp (Debian package coinor-clp), run as a
 * process. */
#ifndef TESTS_OUTSIDE_SOLVER_H
#define TESTS_OUTSIDE_SOLVER_H

#include <stdbool.h>

typedef enum outside_outcome {
    OUTSIDE_OPTIMAL,
    OUTSIDE_INFEASIBLE,
    OUTSIDE_UNBOUNDED,
    OUTSIDE_UNCLEAR, /* it said something else, or could not read the file */
} outside_outcome;

typedef struct outside_result {
    outside_outcome outcome;
    double objective; /* when optimal: in double precision, constant of the objective included */
} outside_result;

/* Is the program there? Where it is not, a test calls ef_test_skip. */
bool outside_solver_is_there(void);

/*
 * Solves the linear program in a fixed or free MPS file as minimising; columns marked as integer are taken as
 * continuous. No shell is involved. Fails the running test when the program cannot be run. Rely on optimal or
 * not: an unbounded program with a free column in no row was seen to be called infeasible.
 */
outside_result outside_solver_run(const char *mps_path);

#endif
