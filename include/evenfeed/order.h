/* SPDX-License-Identifier: GPL-3.0-or-later
 * Order: in which order one line runs its lots, from a table of lots and a table of changeovers alone.
 *
 * The table of lots has a heading and a row for each lot. Its columns, in any order:
 *
 *     lot           name
 *     hours         time the line works on it, "12 h", "1 d 4 h"
 *     arrival       earliest start, counted from the beginning of the plan; empty: there from the beginning
 *     due           when it should be finished; empty: any time
 *     priority      weight of an hour late, a number; empty: 1
 *     latest start  must have started by then; empty: no limit
 *     latest end    must be finished by then; empty: no limit
 *     after         names of lots that must run before it, with + between them
 *
 * Only lot and hours must be there. The table of changeovers has the names of lots as heading and in its
 * first column: in row A and column B the time between the end of A and the start of B. "-" means that B must
 * not follow A. A row "start" gives the time before the first lot, a column "end" the time after the last;
 * without them it is 0.
 *
 * A heading may end with the unit of the bare numbers below it, "hours (h)"; so may the first cell of the
 * changeovers. Where commas do not part the columns, "8,5 h" has a decimal comma. */
#ifndef EVENFEED_ORDER_H
#define EVENFEED_ORDER_H

#include <evenfeed/diag.h>
#include <evenfeed/status.h>
#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Lots and changeovers as read and checked. Immutable: any number of threads may read them. */
typedef struct ef_lots ef_lots;

/*
 * Reads both files. Findings are added to `diags` (borrowed), all in one pass. On EF_OK `*lots` is set, to be
 * freed with ef_lots_free. EF_SCENARIO: there are errors, see `diags`. EF_FILE: a file cannot be read (errno
 * tells why; `*failed`, unless NULL, is its path). EF_MEMORY. Unless EF_OK, `*lots` is left as it was.
 */
ef_status ef_lots_load(const char *lots_path, const char *changeovers_path, ef_diags *diags, ef_lots **lots,
                       const char **failed);

/* The same from memory: bytes under names for messages. */
ef_status ef_lots_read(const char *lots_name, const char *lots_bytes, size_t lots_length,
                       const char *changeovers_name, const char *changeovers_bytes, size_t changeovers_length,
                       ef_diags *diags, ef_lots **lots);

void ef_lots_free(ef_lots *lots);
int ef_lots_count(const ef_lots *lots);

/* How far a search has come. */
typedef struct ef_order_progress {
    bool found;
    double value;
    double bound;
    int rounds;
} ef_order_progress;

/* What is wanted. A price of 0 leaves its term out; the value is the sum of the others. */
typedef struct ef_order_settings {
    double changeover_price; /* for an hour of changeover, 0 .. 1e6, to 3 decimals */
    double late_price;       /* for an hour late of a lot of priority 1 */
    double end_price;        /* for each hour until the end */
    bool closed; /* after the last lot comes the first again; with changeover_price alone, no other column
                  * than lot and hours, and neither start nor end */
    bool cleaned_before_arrival; /* the changeover may begin before the lot is there */
    unsigned long long seed;
    int threads; /* no influence on the result */
    int rounds;  /* most rounds of search: the same number gives the same order */
    bool (*go_on)(void *context,
                  const ef_order_progress *progress); /* between rounds; false: stop. NULL: never */
    void *context;
} ef_order_settings;

/* One lot in its place. */
typedef struct ef_order_row {
    const char *lot; /* borrowed from the lots */
    double changeover_h;
    double start_h;
    double end_h;
    double late_h;
} ef_order_row;

/* The answer. */
typedef struct ef_order {
    bool proven;  /* no order has a smaller value */
    bool stopped; /* by go_on */
    int count;
    ef_order_row *rows;  /* shape [count] */
    double changeover_h; /* sum, with what follows the last lot */
    double late_h;       /* sum of hours late times priority */
    double end_h;
    double value;
    double bound;     /* no order has a smaller value than this */
    double gap_share; /* (value - bound) / value; 0 when the value is 0 */
    int rounds;
    unsigned long long steps;
} ef_order;

/* Changeover 1, late 1, end 0, open, cleaning waits for the lot, seed 1, one thread, 200 rounds. */
ef_order_settings ef_order_defaults(void);

/*
 * Orders the lots. EF_OK with `*order` (free with ef_order_free; the lots must live as long). EF_NO_ANSWER:
 * no order keeps the limits, or none was found; *proven tells which. EF_USAGE: settings out of range, or
 * `closed` with what does not go with it. EF_MEMORY, EF_INTERNAL. Unless EF_OK, `*order` is left as it was.
 */
ef_status ef_order_solve(const ef_lots *lots, const ef_order_settings *settings, ef_order **order,
                         bool *proven);
void ef_order_free(ef_order *order);

#ifdef __cplusplus
}
#endif
#endif
