/* SPDX-License-Identifier: GPL-3.0-or-later
 * The trace: one simulated stretch of one crop, event by event, for people who want to see it happen. */
#ifndef EVENFEED_TRACE_H
#define EVENFEED_TRACE_H

#include <evenfeed/scenario.h>
#include <evenfeed/status.h>
#include <stdbool.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* One event. */
typedef struct ef_trace_event {
    double at_h;
    const char *what;    /* "empty", "full", "stop", "start" ...; see docs/trace.md */
    const char *station; /* NULL: the whole plant, of several lines the whole of `line` where that is given */
    const char *line;    /* of a list on a plant of several lines: whose it is; NULL: the plant's */
    const char *cause;   /* of a stop or start: its name in the scenario; of a crew: its name; else NULL */
    int machine;         /* of a station with several, from 1; else 0 */
    bool is_routine;     /* a step of a batch */
} ef_trace_event;

/* One stop, of a machine, or of the whole plant by its calendar. */
typedef struct ef_trace_stop {
    const char *station; /* NULL: the whole plant */
    const char *line;    /* as of an event */
    int machine;         /* of a station with several, from 1; else 0 */
    const char *name;    /* in the scenario; "closed" outside shifts and overtime */
    const char *kind;    /* "random stop", "planned stop", "break", "closed" */
    double from_h;
    double to_h;  /* at most the hours of the stretch */
    bool is_open; /* it goes on when the stretch ends */
} ef_trace_stop;

/* One bin. */
typedef struct ef_trace_bin {
    const char *name;
    double full_t;   /* of a list: of the crop of which it holds most; so are the next two */
    double t_per_m3; /* 0 without density */
    double part;     /* of its room that the line has where lines share it; else 1 */
    double least_t;  /* lowest and highest level of the stretch */
    double most_t;
    double mean_t;
    double empty_h, full_h; /* standing at empty and at full */
} ef_trace_bin;

/* One station that is no bin: hours of the stretch by what it was doing, in the order of `states`. */
typedef struct ef_trace_station {
    const char *name;
    double taken_t;
    double held_t;         /* in a batch machine or on a conveyor at the end; 0 for others */
    const double *state_h; /* shape [state_count]; adds up to the hours of the stretch */
    bool steady_feed;
    double set_rate_tph;  /* of a steady-feed station; of a list the greatest */
    double shortfall_t;   /* set rate less feed while not stopped */
    double out_of_band_h; /* running outside its band */
} ef_trace_station;

/* A crew that sees to stops. */
typedef struct ef_trace_crew {
    const char *name;
    int teams;
    long long stops;  /* begun that it sees to */
    long long waited; /* of these: those that had to wait for it */
    double busy_h;    /* hours of all its teams at stops */
    double wait_h;    /* hours of all stops waiting for it */
    int most_busy;    /* most teams at work at once */
} ef_trace_crew;

/* Loads at an intake. */
typedef struct ef_trace_receipts {
    const char *name;
    long long arrivals; /* those turned away too */
    long long turned_away;
    double spilled_t; /* of loads tipped at once: what did not fit */
    double queue_h;   /* hours of all loads at the intake, waiting or being tipped */
} ef_trace_receipts;

/* One lot of a list; hours of the stretch, below 0 for what has not happened within it. */
typedef struct ef_trace_lot {
    const char *name;
    const char *crop;
    double tonnes_t;
    const char *rule;    /* that sets the clean-down before it; NULL: none, or the first lot */
    double clean_h;      /* hours of work that the rule says for the whole line */
    double clean_from_h; /* the first station begins to be cleaned for it */
    double clean_to_h;   /* the last of them is clean */
    double begin_h;      /* its first is taken in */
    double in_h;         /* its last has been taken in */
    double end_h;        /* its last has left */
} ef_trace_lot;

/*
 * Lists of lots on a plant of several lines: each line runs its own, beside the others, and `lines` are their
 * traces, each complete. Of the plant as a whole there are then the stretch, the sums of tonnes, of lots and
 * of the balance, and the events and stops of all lines in the order of time; the rest is with the lines.
 */
typedef struct ef_trace {
    const char *line; /* NULL: the plant is one line, or this is the plant as a whole */
    const struct ef_trace
        *lines; /* shape [line_count]: of those that have lots; none: one line, or one crop */
    int line_count;
    bool is_dealt;        /* no plan says which line runs a lot: they were dealt out (shift_lots.h) */
    bool shares_stations; /* lines have parts of stations that others use too */
    const char *plant;
    const char *scenario_file;
    const char *crop;         /* of a list: of its first lot */
    double trade_weight_tpbu; /* of the crop, t for each bushel; 0 when it has none */
    const ef_trace_lot
        *lots; /* shape [lot_count], in the order in which they run; NULL: one crop runs on, or see `lines` */
    int lot_count;
    bool line_clear; /* of a list: the whole line is cleaned, else station by station */
    uint64_t seed;
    double hours;
    bool without_stops;    /* nothing stops, material is always there */
    bool on_calendar;      /* the calendar of the scenario holds */
    int64_t from_moment_s; /* hour 0 by the plant's clock, seconds from 1970-01-01T00:00 */
    double worked_h;       /* hours of work by the calendar; without one: `hours` */
    double balance_tph;    /* intake of the steady balance; of a list its tonnes over its hours by it */
    double intake_t;
    double product_t;
    const ef_trace_event *events; /* shape [event_count], in order */
    int event_count;
    bool events_cut;            /* there were more than are kept; stops and levels are cut with them */
    const ef_trace_stop *stops; /* shape [stop_count], in the order in which they begin */
    int stop_count;
    const ef_trace_bin *bins;
    int bin_count;
    const double
        *level_h; /* shape [level_count]: moments at which levels are known, rising; straight lines between */
    const double *level_t; /* shape [level_count][bin_count] */
    const double
        *feed_tph; /* shape [level_count][station_count]: what each station takes from that moment on */
    int level_count;
    const ef_trace_station *stations;
    int station_count;
    const ef_trace_receipts *receipts; /* shape [receipts_count]: intakes with loads */
    int receipts_count;
    const ef_trace_crew *crews; /* shape [crew_count] */
    int crew_count;
    const char *const *states; /* shape [state_count]: words for what a station can be doing */
    int state_count;
    const char *const *choked; /* shape [choked_count]: stations of a loop (the first eight) that hold each
                                  other up for good while others run; the first such loop */
    int choked_count;          /* 0: none */
    double choked_h;           /* the hour from which on they stand */
    double imbalance_t;        /* tonnes in, less out, less what bins have gained: 0 but for rounding */
} ef_trace;

/* When a stretch begins. */
typedef enum ef_trace_from {
    EF_TRACE_FROM_WORK,  /* where work first begins by the calendar */
    EF_TRACE_FROM_DAY,   /* where work first begins on or after the day of `from_moment_s` */
    EF_TRACE_FROM_MOMENT /* at `from_moment_s` */
} ef_trace_from;

typedef struct ef_trace_settings {
    int crop;         /* number of the crop */
    bool lots;        /* run a list of lots instead: `order`, or those that are waiting where it is NULL */
    const int *order; /* shape [order_count]: numbers of lots, of which those that are done are left out */
    int order_count;
    const int *order_lines; /* shape [order_count]: the line that runs each, on a plant of several; NULL: they
                               are dealt out as in shift_lots.h */
    uint64_t seed;
    uint64_t replication;
    double hours; /* of the stretch, at most 10,000; 0: to the end of the shift or overtime it begins in, else
                     one shift of the plant's length; of a list to its end */
    int most_events;       /* kept at the most */
    bool without_stops;    /* nothing stops, material is always there */
    bool without_calendar; /* the plant works day and night */
    ef_trace_from from;
    int64_t from_moment_s; /* seconds from 1970-01-01T00:00, by the plant's clock; years 1 to 9999 */
} ef_trace_settings;

/* The first crop, seed 1, replication 0, the first shift, 100,000 events. */
ef_trace_settings ef_trace_defaults(const ef_scenario *scenario);

/*
 * Simulates one stretch. On EF_OK `*trace` is set, to be freed with ef_trace_free before the scenario.
 * EF_USAGE: no such crop, hours or moment out of range. EF_NO_ANSWER: the demands of the steady balance
 * contradict each other (see ef_balance_solve), or the line cannot run as described; `*reason` (may be NULL)
 * is then a sentence to be freed with ef_report_free. EF_MEMORY, EF_INTERNAL. Same scenario and settings,
 * same answer on every machine. Threads may trace the same scenario at the same time.
 */
ef_status ef_trace_run(const ef_scenario *scenario, const ef_trace_settings *settings, ef_trace **trace,
                       char **reason);

void ef_trace_free(ef_trace *trace);

/*
 * Recomputes a trace without the engine: mass from event to event and as a whole, levels, what every station
 * took, hours and stops, from what the trace says happened and from the scenario. EF_OK; EF_INTERNAL with a
 * line for each difference in `*differences`, to be freed with ef_report_free; EF_MEMORY.
 */
ef_status ef_trace_verify(const ef_scenario *scenario, const ef_trace *trace, char **differences);

#ifdef __cplusplus
}
#endif
#endif
