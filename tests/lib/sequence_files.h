/* SPDX-License-Identifier: GPL-3.0-or-later
 * Readers for published sequencing benchmark files, and their tables of reference values. */
#ifndef TESTS_SEQUENCE_FILES_H
#define TESTS_SEQUENCE_FILES_H

#include "shared/sequence/sequence.h"

enum {
    SEQUENCE_NAME_ROOM = 64
};

/* One problem with all its arrays. Free with sequence_file_free. */
typedef struct sequence_file {
    char name[SEQUENCE_NAME_ROOM];
    efi_sequence_problem problem;
    int64_t *arrays[16];
    int array_count;
    int (*before)[2];
    double scale;   /* ticks or price units for one of the file's */
    int64_t offset; /* the file's value is offset - price (profits) or price, over scale */
    bool maximises;
} sequence_file;

/* One instance of a set. */
typedef struct sequence_case {
    char name[SEQUENCE_NAME_ROOM];
    bool has_value;
    double value; /* reference */
    bool proven;  /* the reference is a proven optimum */
} sequence_case;

/* name, folder under the benchmark folder, ending of its files, table of values, column of the value */
#define SEQUENCE_SET_LIST(X)                                                                                 \
    X(SEQUENCE_ATSP, "atsp", "atsp", ".atsp", "optima.csv", 2)                                               \
    X(SEQUENCE_OPEN, "atsp-open", "atsp", ".atsp", "open-sequence-optima.csv", 2)                            \
    X(SEQUENCE_TWT, "sdst-twt", "sdst-twt", ".instance", "optima.csv", 1)                                    \
    X(SEQUENCE_OAS_PROFIT, "oas-profit", "oas-rj-sdst", ".txt", "optima.csv", 4)                             \
    X(SEQUENCE_OAS_AFTER, "oas-after-release", "oas-rj-sdst", ".txt", "optima.csv", 5)                       \
    X(SEQUENCE_OAS_BEFORE, "oas-before-release", "oas-rj-sdst", ".txt", "optima.csv", 6)                     \
    X(SEQUENCE_TW, "tw-afg", "tw-afg", ".tw", "optima.csv", 2)                                               \
    X(SEQUENCE_SOP, "sop", "sop", ".sop", "optima.csv", 2)

typedef enum sequence_set {
#define SEQUENCE_SET_ENUM(id, name, folder, ending, table, column) id,
    SEQUENCE_SET_LIST(SEQUENCE_SET_ENUM)
#undef SEQUENCE_SET_ENUM
    SEQUENCE_SETS
} sequence_set;

const char *sequence_set_name(sequence_set set);

/* The instances of a set under the folder `root`, sorted by name; their number in `count`, NULL when the
 * folder cannot be read. Free with free(). */
sequence_case *sequence_set_list(sequence_set set, const char *root, int *count);

/* Reads one instance; false when the file is not as it should be. */
bool sequence_file_read(sequence_set set, const char *root, const char *name, sequence_file *file);
void sequence_file_free(sequence_file *file);

/* The value in the file's own terms. */
double sequence_file_value(const sequence_file *file, int64_t price);

#endif
