/* SPDX-License-Identifier: GPL-3.0-or-later
 * Learning from a plant's logs: how often and how long its stations stop, what they really make in an hour,
 * what their discharges take, and where the scenario says otherwise.
 *
 * The log of stops is a CSV table with the columns station, from, to and, where wanted, reason; the log of
 * totals one with from, to, station (or outlet) and tonnes. Other columns are left alone. Times are those of
 * the plant's own clock. Logs as they come are not always clean: what is wrong is named with its row and
 * column, as a warning, and dealt with as docs/learn.md says. */
#ifndef EVENFEED_LEARN_H
#define EVENFEED_LEARN_H

#include <evenfeed/diag.h>
#include <evenfeed/scenario.h>
#include <evenfeed/status.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* A value with its 95 % confidence limits; 0 and infinite where the log gives none. */
typedef struct ef_learn_limits {
    double value;
    double low;
    double high;
} ef_learn_limits;

/* One form fitted to recorded times. */
typedef struct ef_learn_form {
    const char *form; /* as the scenario writes it: "weibull" */
    double mean_h;
    double shape; /* as the scenario gives it; 0 for forms without */
    double log_likelihood;
    double criterion; /* Akaike's, corrected for few times; less is better */
    double p;         /* of the test of fit; not a number where it was not tested */
} ef_learn_form;

/* Recorded times of one sort, between stops or lengths of stops, and what follows from them. */
typedef struct ef_learn_times {
    const double *exact_h; /* shape [exact_count], in the order of the log */
    int exact_count;
    const double *longer_h; /* shape [longer_count]: cut short by the end of the log */
    int longer_count;
    double floor_h; /* lock-out, where some lengths are no longer */
    int floor_count;
    double grain_h;    /* the log's times are multiples of this; 0: written to the second */
    double watched_h;  /* between stops: all hours watched, also before the first stop */
    int watched_stops; /* and how many stops ended such hours */
    ef_learn_limits mean_h;
    const char *method;         /* by which the limits were found, a sentence for people */
    const ef_learn_form *forms; /* shape [form_count]; 0 when there are too few times to tell forms apart */
    int form_count;
    int best;          /* among the forms, -1 when there are none and when `fixed` fits best */
    bool is_fixed;     /* all times are nearly the same */
    const char *form;  /* the best form, also where it was only assumed ("exponential") */
    double shape;      /* of it, 0 for forms without */
    bool enough;       /* the limits are within a factor of three of each other */
    int more_stops;    /* how many more would likely make them so */
    double more_h;     /* and about how many hours that takes; 0 unknown */
    bool has_scenario; /* the scenario says something that can be compared */
    double scenario_mean_h;
    const char *scenario_form;
    double scenario_shape;
    bool mean_disagrees; /* the scenario's mean lies outside the limits */
    bool form_disagrees; /* the scenario's form is far less likely than the best */
} ef_learn_times;

/* One reason for which a station stops. */
typedef struct ef_learn_stop {
    const char *reason; /* as the scenario names it, else as the log does; "" not said */
    bool in_scenario;
    bool planned;           /* the scenario has it as planned */
    ef_place place;         /* where the scenario describes it; file NULL when it does not */
    int stops;              /* in the log */
    bool counts_running;    /* times between stops are running hours, else hours of the clock */
    bool asked_running;     /* the scenario counts running hours */
    ef_learn_times between; /* from the end of a stop to the next of the same reason */
    ef_learn_times lasts;
    double lost_h;      /* sum of the lengths */
    double lockout_h;   /* of the scenario; 0 for none */
    double bin_entry_h; /* the same; no stop is shorter than both together */
    int under_lockout;  /* lengths shorter than that */
    const char
        *setting; /* "stations.Deck.stops.choke={between: 9.5 h, lasts: 7 min}"; NULL: nothing to suggest
                   */
} ef_learn_stop;

typedef struct ef_learn_station {
    const char *name;
    int machines; /* side by side; times between stops are those of one machine */
    bool in_log;
    double watched_h; /* hours that one machine ran (or of the clock) while the log watched */
    bool watched_running;
    double lost_h;
    double availability; /* watched / (watched + lost); 1 without stops */
    const ef_learn_stop *stops;
    int stop_count;
} ef_learn_station;

/* What became of a row of the log of stops. */
typedef enum ef_learn_fate {
    EF_LEARN_USED,
    EF_LEARN_LENGTH_UNKNOWN, /* counted as a stop; how long it lasted is not known */
    EF_LEARN_OPEN_AT_END,    /* the same, but it lasted at least to the end of the log */
    EF_LEARN_NOT_USED
} ef_learn_fate;

/* One row of the log of stops, as it was understood. */
typedef struct ef_learn_row {
    int line;       /* in the file */
    int station;    /* among `stations`; -1 not known */
    int stop;       /* among its stops; -1 */
    int64_t from_s; /* seconds of the clock from 1970-01-01T00:00, after what was mended */
    int64_t to_s;
    double length_h; /* without hours in which the plant is closed */
    ef_learn_fate fate;
} ef_learn_row;

/* One scale: a station, outlet or discharge whose totals are in the log. */
typedef struct ef_learn_scale {
    const char *name;
    int station;           /* of the scenario */
    const char *discharge; /* NULL: what comes into the station */
    int intervals;
    double measured_t; /* in all */
    double adjusted_t; /* after adjustment */
    double running_h;  /* of its station, in those intervals */
    bool has_rate;
    ef_learn_limits rate_tph; /* tonnes over running hours */
    double good_rate_tph;     /* one interval in ten was better */
    bool has_capacity;
    double capacity_tph;       /* of all its machines, by the scenario */
    bool capacity_disagrees;   /* the rate lies above it */
    bool checked;              /* other scales say something about it */
    int up, down;              /* intervals in which it was adjusted up, and down */
    double off_share;          /* adjustment over what was measured, in all */
    const char *const *rivals; /* shape [rival_count]: scales that the balances cannot tell from this one: */
    int rival_count;           /* what is off here might as well be off there */
    bool seems_off;            /* all to one side, and more often than chance would have it */
} ef_learn_scale;

/* What one discharge takes of what comes into its station, by weight. */
typedef struct ef_learn_share {
    const char *station;
    const char *discharge;
    ef_place place;
    bool seen; /* the scales fix it; else the other fields are 0 */
    ef_learn_limits share;
    double scenario_share; /* at the composition of the scenario's receipt */
    bool disagrees;        /* the scenario's lies outside the limits */
} ef_learn_share;

/* Totals of one interval. */
typedef struct ef_learn_interval {
    int64_t from_s;
    int64_t to_s;
    const double *measured_t; /* shape [scale_count]; not a number where there is no total */
    const double *adjusted_t; /* the same */
    const double *flow_t;     /* shape [spout_count]: tonnes on each spout */
    const double *gain_t;     /* shape [scenario_stations]: what a bin gained; 0 for others */
    const bool *known;        /* shape [spout_count]: the scales fix what flowed there */
} ef_learn_interval;

/* A spout of the network that the totals were balanced on. */
typedef struct ef_learn_spout {
    int from; /* station of the scenario */
    int to;
    const char *discharge; /* "" for a single way on */
} ef_learn_spout;

typedef struct ef_learn {
    const char *plant;
    const char *scenario_file;
    const char *crop; /* whose ways and trade weight the totals take */
    double trade_weight_tpbu;
    const char *stops_file;   /* NULL: no log of stops */
    const char *totals_file;  /* NULL: no log of totals */
    int64_t since_s, until_s; /* what the logs watch */
    double clock_h;           /* how long that is */
    double worked_h;          /* hours of work in it by the calendar; those of the clock without one */
    bool has_calendar;
    int clock_rule; /* as in the settings */
    uint64_t seed;
    int resamples;
    const ef_learn_row *rows;
    int row_count;
    int rows_used, rows_length_unknown, rows_not_used;
    const ef_learn_station
        *stations; /* those with stops in the scenario or the log, in the scenario's order */
    int station_count;
    int totals_rows, totals_used, totals_not_used;
    const ef_learn_scale *scales;
    int scale_count;
    const ef_learn_share *shares; /* of stations with several discharges that the crop passes */
    int share_count;
    const ef_learn_interval *intervals; /* in order of time */
    int interval_count;
    const ef_learn_spout *spouts;
    int spout_count;
    int scenario_stations;
    double objective; /* sum of adjustments, each over the median total of its scale */
    int disagreements;
    const char *const *settings; /* shape [setting_count]: lines for `--set @FILE`; comments begin with # */
    int setting_count;
} ef_learn;

/* One log: a path, or bytes under a name for messages. */
typedef struct ef_learn_file {
    const char *name;  /* NULL: there is none */
    const char *bytes; /* NULL: read from the file of that name */
    size_t length;
} ef_learn_file;

typedef struct ef_learn_settings {
    ef_learn_file stops;
    ef_learn_file totals;
    int crop;
    bool has_since, has_until; /* else the first and the last moment in the logs */
    int64_t since_s, until_s;
    int clock_rule; /* nights on which the clock is changed: 0 none, 1 European Union, 2 United States */
    uint64_t seed;
    int resamples; /* for tests of fit and limits of shares; 0 to 100,000 */
} ef_learn_settings;

/* No logs, the first crop, no clock changes, seed 1, 400 resamples. */
ef_learn_settings ef_learn_defaults(void);

/*
 * Learns. Findings about the logs are added to `diags` (borrowed). On EF_OK `*learn` is set, to be freed with
 * ef_learn_free before the scenario. EF_SCENARIO: a log cannot be used at all, see `diags`. EF_FILE: one
 * cannot be read (errno tells why; `*failed`, unless NULL, is its name). EF_USAGE: no log, no such crop,
 * settings out of range. EF_MEMORY, EF_INTERNAL. Unless EF_OK, `*learn` is left as it was. Same logs,
 * scenario and seed: same answer on every machine. Any thread.
 */
ef_status ef_learn_solve(const ef_scenario *scenario, const ef_learn_settings *settings, ef_diags *diags,
                         ef_learn **learn, const char **failed);

void ef_learn_free(ef_learn *learn);

/*
 * Recomputes what was learned from the rows and totals, with none of its code: hours between stops, means and
 * limits, that no form near those given is likelier, that what comes into a station leaves it, that no shift
 * of shares fits better. What differs is described in `*differences`, one line each (NULL when all agrees),
 * to be freed with ef_report_free. EF_OK: all agrees; EF_INTERNAL: it does not; EF_MEMORY.
 */
ef_status ef_learn_verify(const ef_scenario *scenario, const ef_learn *learn, char **differences);

#ifdef __cplusplus
}
#endif
#endif
