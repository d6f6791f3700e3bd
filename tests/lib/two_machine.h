/* SPDX-License-Identifier: GPL-3.0-or-later
 * The closed solution of two machines with a bin between them, exponential running times and repairs. */
#ifndef TESTS_TWO_MACHINE_H
#define TESTS_TWO_MACHINE_H

#include <stdbool.h>

typedef struct two_machine {
    double mu[2];      /* top speeds, t/h */
    double p[2];       /* failures per h */
    double r[2];       /* repairs per h */
    double bin;        /* N, t */
    bool counts_clock; /* time-dependent failures, else operation-dependent: an up machine at speed v fails at
                          p v/mu */
} two_machine;

typedef struct two_machine_answer {
    double throughput; /* t/h */
    double level;      /* mean, t */
    double empty;      /* probabilities */
    double full;
    double starved; /* machine 2 up and standing before an empty bin */
    double blocked; /* machine 1 up and standing behind a full bin */
} two_machine_answer;

/*
 * Density on 0 < x < N: f(x, a1, a2) = sum over j of C_j exp(lambda_j x) Y1j^a1 Y2j^a2, a = 1 up, 0 down;
 * masses at 0 and N from the balance there; all scaled to probability one. Equal speeds: one term, Y = (r1 +
 * r2)/(p1 + p2), lambda = (p2 r1 - p1 r2) (1/(p1 + p2) + 1/(r1 + r2))/mu. Else p1 Y1 - r1 = K = r2 - p2 Y2,
 * mu_1 lambda = -K (1 + Y1)/Y1, with the two roots K of (mu1 - mu2) K^2 + (mu2 (r2 - r1 - p1) - mu1 (r2 + p2
 * - r1)) K + mu2 r2 (r1 + p1) - mu1 r1 (r2 + p2) = 0. Sources: Zimmern 1956; Wijngaard 1979; Gershwin and
 * Schick 1980; Dubois and Forestier 1982; Gershwin 1994, "Manufacturing Systems Engineering" (named from
 * memory; re-derived, and checked against the tables in tests/outside/data/lines).
 */
two_machine_answer two_machine_solve(const two_machine *line);

#endif
