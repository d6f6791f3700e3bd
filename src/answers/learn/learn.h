/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the parts of learning from logs share: the run, running hours, and the steps in their order. */
#ifndef EFI_LEARN_H
#define EFI_LEARN_H

#include "answers/learn/logs.h"
#include "shared/calendar/calendar.h"
#include "shared/statistics/fit.h"

/* A stretch of the clock. */
typedef struct efi_learn_span {
    int64_t from_s;
    int64_t to_s;
    bool flows; /* something passed the station */
} efi_learn_span;

/* When something passed a station, by the log of totals; rising, not overlapping. */
typedef struct efi_learn_spans {
    efi_learn_span *items; /* shape [count] */
    int count;
} efi_learn_spans;

typedef struct efi_learn_run {
    const ef_scenario *scenario;
    const ef_learn_settings *settings;
    efi_arena *arena; /* of the answer */
    ef_diags *diags;
    ef_learn *learn;
    ef_learn_row *rows;         /* those of the answer, to be filled */
    ef_learn_station *stations; /* the same */
    ef_learn_stop **stops_of;   /* shape [station]: the same */
    const char **lines;         /* the same: settings */
    efi_stop_log stops;
    efi_total_log totals;
    bool has_stops, has_totals;
    efi_timetable table;    /* of the time watched; empty without shifts */
    efi_learn_spans *spans; /* shape [station of the scenario] */
} efi_learn_run;

/* The confidence of all limits. */
#define EFI_LEARN_CONFIDENCE 0.95

/* Seconds of the clock between two moments, changes of the clock taken into account. */
int64_t efi_learn_elapsed(const efi_learn_run *run, int64_t from_s, int64_t to_s);

/* Can running hours be told from those of the clock at this station? */
bool efi_learn_has_running(const efi_learn_run *run, int station);

/* Hours between two moments at which the station worked, its own stops aside: by the calendar, and where
 * totals tell, only while something passed it. Without either, hours of the clock. */
double efi_learn_worked(const efi_learn_run *run, int station, int64_t from_s, int64_t to_s);

/* Seconds of work by the calendar, which there must be. */
int64_t efi_learn_calendar_worked(const efi_learn_run *run, int64_t from_s, int64_t to_s);

/* Hours between two moments at which the plant is closed by the calendar; 0 without one. */
double efi_learn_closed(const efi_learn_run *run, int64_t from_s, int64_t to_s);

/* Memory of the answer. */
void *efi_learn_get(const efi_learn_run *run, size_t count, size_t size);

/* The steps. Each returns EF_OK, EF_MEMORY or EF_INTERNAL. */
ef_status efi_learn_times(efi_learn_run *run);   /* stations, stops, rows: times.c */
ef_status efi_learn_totals(efi_learn_run *run);  /* scales, intervals, shares: reconcile.c */
ef_status efi_learn_suggest(efi_learn_run *run); /* settings: suggest.c */

/* Judges recorded times: form, mean with limits, whether there are enough (judge.c). `stream` sets the draws
 * of one test apart from those of others. */
typedef struct efi_learn_case {
    bool between; /* times between stops, else lengths */
    bool many;    /* machines side by side: forms cannot be told */
    uint64_t stream;
} efi_learn_case;
ef_status efi_learn_judge(const efi_learn_run *run, const efi_learn_case *about, ef_learn_times *times);

/* Compares with what the scenario says; `shape` as it gives it, 0 for forms without. `at_least`: the mean
 * learned is only an upper bound of what the scenario means. */
void efi_learn_compare(ef_learn_times *times, double mean_h, efi_form form, double shape, bool at_least);

#endif
