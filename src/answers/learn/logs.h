/* SPDX-License-Identifier: GPL-3.0-or-later
 * The two logs as tables: cells to moments, stations and amounts, with findings; rows to clean stops and
 * totals. */
#ifndef EFI_LEARN_LOGS_H
#define EFI_LEARN_LOGS_H

#include "base/clock_change.h"
#include "base/csv.h"
#include "model/scenario.h"

#include <evenfeed/learn.h>

/* Rows further than five years from the one in the middle of the log are slips of the pen. */
#define EFI_LOG_FAR_S (5 * 366 * (int64_t)EFI_DAY_S)

/* One log while it is read. */
typedef struct efi_log {
    const ef_scenario *scenario;
    int crop;
    efi_arena *arena;
    ef_diags *diags;
    efi_csv csv;
    efi_clock_rule rule;
    int from, to; /* columns, -1 without */
    int station;
    int reason;
    int amount;
} efi_log;

/* Reads the table and finds its columns; `is_totals` says which they are. False when it cannot be used
 * (reported, or without memory, which `*status` tells). */
bool efi_log_open(efi_log *log, const ef_learn_file *file, bool is_totals, ef_status *status);

/* A finding about a cell; texts may be NULL. */
void efi_log_report(efi_log *log, int row, int column, efi_diag_code code, const char *message,
                    const char *allowed, const char *likely);

/* What a cell says: false after a finding. Of a time that is written otherwise but can only be meant in one
 * way there is a finding, and it is used. */
bool efi_log_moment(efi_log *log, int row, int column, int64_t *moment_s);
/* The station that a cell names; `discharge` (NULL: not allowed) receives the number of one named after a
 * dot, else -1. */
bool efi_log_station(efi_log *log, int row, int *station, int *discharge);
/* Tonnes, 0 or more. */
bool efi_log_tonnes(efi_log *log, int row, double *tonnes);

/* The cell's text, closed by NUL; "" for an empty cell or column -1; NULL without memory. */
const char *efi_log_text(efi_log *log, int row, int column);

/*
 * Seconds between two moments of a row. Negative ones are mended where only a clock put back explains them,
 * and where the rule is not known such nights are named. False (reported) when the end lies at or before the
 * beginning.
 */
bool efi_log_elapsed(efi_log *log, int row, int64_t from_s, int64_t to_s, int64_t *elapsed_s);

/* The moment in the middle when they are in order, 0 of none; puts them in order. */
int64_t efi_log_middle(int64_t *moments_s, int count);

/* ---- the log of stops ---- */

/* One stop as understood. */
typedef struct efi_log_stop {
    int row;            /* of the table */
    int station;        /* of the scenario */
    const char *reason; /* as written, "" when not said */
    int64_t from_s;
    int64_t to_s;      /* from_s when the end is not known */
    int64_t elapsed_s; /* of from to to, by the rule */
    ef_learn_fate fate;
} efi_log_stop;

typedef struct efi_stop_log {
    efi_log log;
    efi_log_stop *items;     /* shape [count], by station and time; those not used last of their station */
    int count;               /* all rows of the table whose station and beginning could be read */
    int unread;              /* rows of which they could not */
    int64_t first_s, last_s; /* of all that could be read; last_s < first_s: nothing */
    int64_t grain_s;         /* all times are multiples of this, a minute or more; 0: they are not */
} efi_stop_log;

/*
 * Reads and cleans it. EF_OK, also when nothing can be used (which is reported as an error); EF_MEMORY.
 * `stops` may then not be used when its items are NULL.
 */
ef_status efi_stop_log_read(efi_stop_log *stops, const ef_learn_file *file);

/* ---- the log of totals ---- */

typedef struct efi_log_total {
    int row;
    int station;
    int discharge; /* of the station; -1: what comes in */
    int64_t from_s;
    int64_t to_s;
    double tonnes;
    bool used;
} efi_log_total;

typedef struct efi_total_log {
    efi_log log;
    efi_log_total *items; /* shape [count], by time, then by row */
    int count;
    int unread;
    int64_t first_s, last_s;
} efi_total_log;

/* As efi_stop_log_read. */
ef_status efi_total_log_read(efi_total_log *totals, const ef_learn_file *file);

#endif
