/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the shift share: what a run is, replications of it, and the parts of the answer. */
#ifndef EFI_SHIFT_H
#define EFI_SHIFT_H

#include "answers/shift/watch.h"
#include "shared/engine/choke.h"
#include "shared/plant/running.h"
#include "shared/statistics/estimate.h"

#include <evenfeed/shift.h>

/* The confidence of all limits. */
#define EFI_SHIFT_CONFIDENCE 0.95

/* What is simulated in one run: a warm-up, then the shifts whose tonnes are kept. Accounts cover the parts
 * from the end of the warm-up on; with a calendar the last shift may reach past that. */
typedef struct efi_shift_plan {
    double warm_up_h;
    double counted_h;
    int parts; /* so many times counted_h make up a run: without calendar its shifts, else 1 */
    const ef_shift_period *periods; /* shape [period_count], rising and apart */
    int period_count;
    bool on_calendar;
    int64_t from_s; /* second of the calendar at hour 0 of the engine */
    int64_t from_day;
    int days;
} efi_shift_plan;

/* Does a stop of the scenario go by the time of the day, or by the date? Then a shift is simulated on its
 * own. */
bool efi_shift_goes_by_clock(const ef_scenario *scenario);

/* Whole shifts in which levels at the start are forgotten, and stops at even intervals of several kinds have
 * fallen into step, h: at least ten. */
double efi_shift_warm_up_h(const efi_running *running, double shift_h);

/* Fifty shifts one after the other, after those to warm up, or a single one after three; and the plant's own
 * weeks, after one to warm up. EF_OK, EF_MEMORY; EF_USAGE when no shift begins within the days. */
ef_status efi_shift_plan_shifts(efi_shift_plan *plan, efi_arena *arena, const efi_running *running,
                                const ef_shift_settings *settings);
ef_status efi_shift_plan_weeks(efi_shift_plan *plan, efi_arena *arena, const efi_line *line,
                               const ef_shift_settings *settings);

/* Account of one station; times in h. */
typedef struct efi_shift_account {
    double hours[EF_SHIFT_HOURS_COUNT];
    double planned_h;
    double warming_h;
    double taken_t;
    double warm_up_t;
    double shortfall_t;
    double out_of_band_h;
    double level_th;
    double empty_h;
    double full_h;
} efi_shift_account;

/* Where the hours of a state of the engine go. Starved and waiting ones are parted by the watch. */
ef_shift_hours efi_shift_hours_of(efi_state state);

/* Replications of one network, independent of each other. */
typedef struct efi_replicas {
    const efi_network *network;
    const efi_shift_plan *plan;
    const efi_watch_plan *watch;
    uint64_t seed;
    int runs; /* at most */
    int threads;
    double precision;     /* stop when the estimates of the product are within this share; 0: at `runs` */
    int streams;          /* stations whose tonnes are kept shift by shift */
    const int *stream_of; /* shape [streams]: station of the network */
    const bool *counts;   /* shape [streams]: it is product */
    double *tonnes;       /* shape [streams][runs][periods], receives what each took in each shift */
    double *stock_t;      /* shape [runs][periods], receives the gain of bins and charges; NULL: not wanted */
    efi_shift_account *means; /* shape [stations], receives mean accounts of a part; NULL: not wanted */
    double *level_t; /* shape [envelope_runs][parts][grid][bins], receives levels; NULL: not wanted */
    int envelope_runs;
    efi_choke *chokes; /* shape [runs], receives the loops that choked; NULL: not wanted */
} efi_replicas;

/*
 * Runs them in blocks on threads; what is added up is so in the order of the blocks, and whether to stop is
 * looked at after whole rounds of them. `*done` receives how many runs were made. EF_OK; EF_NO_ANSWER with
 * `trouble` when the network cannot run; EF_MEMORY, EF_INTERNAL.
 */
ef_status efi_replicas_run(const efi_replicas *replicas, int *done, efi_trouble *trouble);

/* The engine of a run: the plant has been at work for long when it begins. As efi_engine_build. */
ef_status efi_shift_engine(const efi_network *network, efi_engine **engine, efi_trouble *trouble);

/* Adds up the streams that count, shift by shift, for the first `done` runs; `sum` has shape [done][periods].
 */
void efi_replicas_product(const efi_replicas *replicas, int done, double *sum);

/*
 * Mean and quantiles of values that come in `runs` runs of `per` each, shape [runs][per]. With one a run the
 * limits of quantiles come from order statistics, else from the spread between runs. `sorted` is scratch of
 * that shape.
 */
void efi_shift_measure(const double *values, int runs, int per, double *sorted, ef_shift_stream *out);

/* The half width of the wider of the limits of mean and middle, as a share of it; infinite without. */
double efi_shift_reached(const ef_shift_stream *stream);

/* One answer in the making. */
typedef struct efi_shift_run {
    const ef_scenario *scenario;
    const ef_shift_settings *settings;
    ef_shift *shift;
    efi_arena *arena;
    efi_running running;
    efi_shift_plan plan;
    efi_watch_plan watch;
    efi_replicas replicas;    /* as the plant is */
    double *product_t;        /* shape [runs][periods] */
    double *sorted;           /* shape [runs][periods]: scratch */
    efi_shift_account *means; /* shape [stations of the network] */
    int grid;                 /* hours of the envelopes, in each part */
} efi_shift_run;

static inline const efi_station *efi_shift_station_of(const efi_shift_run *r, int n)
{
    return r->running.line.stations[r->running.plant.line_station[n]].of;
}

/* Parts of the answer, each EF_OK or EF_MEMORY. */
ef_status efi_shift_fill_groups(efi_shift_run *r);
ef_status efi_shift_fill_accounts(efi_shift_run *r);
void efi_shift_fill_cost(efi_shift_run *r);
/* Also EF_NO_ANSWER, EF_INTERNAL as efi_replicas_run. */
ef_status efi_shift_fill_levels(efi_shift_run *r);
ef_status efi_shift_fill_remedies(efi_shift_run *r);

#endif
