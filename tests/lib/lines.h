/* SPDX-License-Identifier: GPL-3.0-or-later
 * Series lines with failures for tests: built from speeds, rates and bins; run in batches; judged by z
 * scores. */
#ifndef TESTS_LINES_H
#define TESTS_LINES_H

#include "shared/engine/engine.h"

#include <stdbool.h>
#include <stdio.h>

#define LINES_MACHINES 10
#define LINES_BATCHES  1000

/* A line of machines with a bin (or none, bin size 0 and no_bins) between each two. */
typedef struct lines_line {
    int machines;
    bool no_bins;
    bool counts_clock; /* time-dependent stops, else operation-dependent ones */
    double speed[LINES_MACHINES];
    double fail_per_h[LINES_MACHINES]; /* 0: never */
    double repair_per_h[LINES_MACHINES];
    double bin[LINES_MACHINES];
    double start[LINES_MACHINES];
    /* filled by lines_describe */
    efi_stop_mode mode[LINES_MACHINES];
    efi_network_station station[2 * LINES_MACHINES];
    efi_network_spout spout[2 * LINES_MACHINES];
    efi_network network;
} lines_line;

/* Fills the network: the first machine is the intake, the last the outlet. Machine i and bin i stand at the
 * stations that the two functions below give. The line must stay where it is while the network is used. */
void lines_describe(lines_line *line);
int lines_machine(const lines_line *line, int i);
int lines_bin(const lines_line *line, int i);

/* Batch means. */
typedef struct lines_batches {
    int batches;
    double batch_h;
    double warm_h;
} lines_batches;

/* What is measured of a batch: value `metric` of it. */
typedef double lines_metric(const efi_engine *engine, const void *context, int metric, double hours);

/*
 * Runs one long replication in batches; mean[m] and error[m] (standard error of the mean, of batch means
 * taken as independent) for m < metrics. Fails the running test when the engine does.
 */
void lines_run(const efi_network *network, uint64_t seed, const lines_batches *batches, lines_metric *measure,
               const void *context, int metrics, double *mean, double *error);

/* The same with the time counted that `bin` spends above `level` (efi_engine_watch_level). */
void lines_run_watching(const efi_network *network, uint64_t seed, const lines_batches *batches, int bin,
                        double level, lines_metric *measure, const void *context, int metrics, double *mean,
                        double *error);

/* Z scores of a set of cases. */
typedef struct lines_scores {
    int cases;
    int above_two;
    int above_four;
    double greatest;
} lines_scores;

/* Judges one estimate: z = (mean - value) / error; prints those above 3 in absolute value with `name` and
 * `what`. Where both the value and the estimate are 0 within 1e-12 it counts as hit. */
void lines_judge(lines_scores *scores, const char *name, const char *what, double mean, double error,
                 double value);

/* No |z| above 4, at most one in ten above 2; prints the numbers when not. */
bool lines_scores_good(const lines_scores *scores);

/* A table in tests/outside/data, opened; the running test fails without it. Skips the header line. */
FILE *lines_open_table(const char *name);

/* The next row of a table, cut into at most `most` fields (quotes honoured); returns how many, 0 at the end.
 */
int lines_read_row(FILE *table, char *room, int room_bytes, char **field, int most);

/* Number in a field; "" and "inf" give INFINITY. */
double lines_number(const char *field);

/* Is EF_SOAK set to 1? Then longer runs. */
bool lines_is_soak(void);

#endif
