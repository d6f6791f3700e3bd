/* SPDX-License-Identifier: GPL-3.0-or-later
 * A list of lots run one after the other, many times over: how long it takes, tonnes a shift, where the hours
 * go, and what each lot makes. */
#ifndef EVENFEED_SHIFT_LOTS_H
#define EVENFEED_SHIFT_LOTS_H

#include <evenfeed/shift.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Something measured once in each run: its mean, and what it is at the least in one run of ten (10), in half
 * of them (50), and in nine of ten (90). */
typedef struct ef_shift_spread {
    ef_shift_estimate mean;
    ef_shift_estimate p10;
    ef_shift_estimate p50;
    ef_shift_estimate p90;
} ef_shift_spread;

/* One lot of the list. Hours count from the beginning of the list. */
typedef struct ef_shift_lot {
    const char *name;
    const char *crop;
    double trade_weight_tpbu; /* of its crop; 0 without */
    double tonnes_t;          /* taken in */
    double balance_tph;       /* intake of the steady balance of its crop */
    const char *rule;         /* that sets the clean-down before it; NULL: none matches, or the first lot */
    double clean_h;           /* hours of work that the rule says for the whole line; 0 before the first */
    double flush_t;           /* seed lost with it, as the rule says; not part of the tonnes here */
    ef_shift_spread begin_h;  /* its first is taken in */
    ef_shift_spread end_h;    /* its last has left */
    ef_shift_spread work_h;   /* hours of work between the two */
    double rate_tph;          /* tonnes over the mean of that */
    double product_t;         /* in the mean */
} ef_shift_lot;

/* Hours of one station over the list, in the mean of all runs. */
typedef struct ef_shift_lots_station {
    const char *name;
    double hours[EF_SHIFT_HOURS_COUNT]; /* add up to the mean hours of the list */
    double planned_h;                   /* part of the own stops: planned ones, maintenance too */
    double taken_t;
    bool steady_feed;
} ef_shift_lots_station;

/* What a line has of a station that other lines use too, by the balance: over its crops the least and the
 * most. */
typedef struct ef_shift_lots_part {
    const char *station;
    double least; /* share of its capacity, and of a bin's room */
    double most;
} ef_shift_lots_part;

/*
 * On a plant of several lines each line runs a list of its own, beside the others: `lines` are those lists,
 * each with all that is said below. Of the plant as a whole there are then the sums: lots, tonnes, hours by
 * the balance and of clean-downs together; the hours until the last line has ended, and of a shift the
 * streams of intake and product alone. What goes by lot, outlet or station is with the lines.
 */
typedef struct ef_shift_lots {
    const char *line;                  /* NULL: the plant is one line, or this is the plant as a whole */
    const struct ef_shift_lots *lines; /* shape [line_count]: of those that have lots; none: one line */
    int line_count;
    bool is_dealt;                 /* no plan says which line runs a lot: they were dealt out */
    const char *const *idle_lines; /* shape [idle_line_count]: lines without lots */
    int idle_line_count;
    const ef_shift_lots_part *parts; /* shape [part_count], of a line: stations that it shares */
    int part_count;
    const char *plant;
    const char *scenario_file;
    uint64_t seed;
    int runs;
    bool by_plan;           /* the order is that of a plan, else that of the scenario */
    int left_out;           /* lots of the scenario that are not in the list */
    bool without_stops;     /* nothing stops but what the calendar stops */
    bool line_clear;        /* the whole line is cleaned, else station by station */
    bool cleared_after_all; /* the season cleans station by station, but no rule names a station */
    int teams;              /* station by station: stations cleaned at the same time */
    bool has_batches;       /* batch machines count with their mean rate */
    bool has_loads;         /* loads at intakes are left out */
    bool on_calendar;
    int64_t from_moment_s;    /* the list begins here by the plant's clock; 0 without calendar */
    const ef_shift_lot *lots; /* shape [lot_count], in the order in which they run; NULL: see `lines` */
    int lot_count;
    double tonnes_t;            /* of all of them */
    double balance_h;           /* hours of work of their tonnes at the rates of the balance */
    double clean_h;             /* and of the clean-downs by the rules, of the whole line */
    ef_shift_spread list_h;     /* from the first tonne in to the last out */
    ef_shift_spread work_h;     /* hours of work in that; without calendar the same */
    const char *const *outlets; /* shape [outlet_count] */
    const bool *is_product;     /* shape [outlet_count] */
    int outlet_count;
    const double *begin_h;          /* shape [runs][lot_count] */
    const double *end_h;            /* the same */
    const double *in_t;             /* the same: taken in */
    const double *outlet_t;         /* shape [runs][lot_count][outlet_count] */
    const double *run_work_h;       /* shape [runs] */
    const ef_shift_period *periods; /* shape [period_count]: shifts that lie within the list in every run;
                                       their hours count from its beginning */
    int period_count;
    double shift_work_h;            /* mean hours of work of one */
    const double *shift_intake_t;   /* shape [runs][period_count] */
    const double *shift_outlet_t;   /* shape [outlet_count][runs][period_count] */
    const ef_shift_stream *streams; /* shape [stream_count]: a shift's intake, product, then the outlets; none
                                       where no shift lies within the list */
    int stream_count;
    const ef_shift_lots_station *stations; /* shape [station_count]: those that are no bins and no splits */
    int station_count;
    int account;     /* the station whose account is the line's */
    double rate_tph; /* tonnes of the list over the mean hours of work: clean-downs and stops included */
} ef_shift_lots;

typedef struct ef_shift_lots_settings {
    const int *lots; /* shape [lot_count]: numbers of lots in the order in which they run, of which those that
                        are done are left out; NULL: those that are waiting, in the order of the scenario */
    int lot_count;
    const int *lines; /* shape [lot_count]: the line that runs each; NULL: lots are dealt out to those lines
                         that may run them, each to the one where it would be done first by the balance.
                         Plants of one line do not look at it */
    int runs;         /* 2 to 100,000; 0: 200 */
    uint64_t seed;
    int threads;           /* the answer does not depend on it; 0: as many as there are processors */
    bool without_stops;    /* nothing stops but what the calendar stops */
    bool without_calendar; /* the plant works day and night */
    bool has_from;         /* else the calendar's start */
    int64_t from_day;      /* the list begins with the first work on or after this day, from 1970-01-01 */
} ef_shift_lots_settings;

/* The waiting lots, seed 1, all processors, 200 runs. */
ef_shift_lots_settings ef_shift_lots_defaults(void);

/*
 * Runs the list. Each run begins with the line empty and clean, and ends when the last of the last lot has
 * left. On EF_OK `*lots` is set, to be freed with ef_shift_lots_free before the scenario. EF_USAGE: settings
 * out of range. EF_NO_ANSWER with a sentence in `*reason` (may be NULL) to be freed with ef_report_free:
 * there are no lots to run, a lot cannot run, two must not follow each other, lots of several lines cannot be
 * told apart, the calendar is too short. EF_MEMORY, EF_INTERNAL. Same scenario and settings: same answer on
 * every machine and for any number of threads.
 */
ef_status ef_shift_lots_run(const ef_scenario *scenario, const ef_shift_lots_settings *settings,
                            ef_shift_lots **lots, char **reason);

void ef_shift_lots_free(ef_shift_lots *lots);

/*
 * Recomputes the answer from the scenario and its own runs, without the engine: order and mass of every lot,
 * clean-downs by the rules, hours of work by the calendar, accounts, quantiles and limits. EF_OK; EF_INTERNAL
 * with a line for each difference in `*differences`, to be freed with ef_report_free; EF_MEMORY.
 */
ef_status ef_shift_lots_verify(const ef_scenario *scenario, const ef_shift_lots *lots, char **differences);

#ifdef __cplusplus
}
#endif
#endif
