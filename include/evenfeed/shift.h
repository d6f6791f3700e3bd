/* SPDX-License-Identifier: GPL-3.0-or-later
 * The shift: how many tonnes a shift makes, a poor, a middling and a good one, where the hours go, what a
 * tonne costs, what to mend first. */
#ifndef EVENFEED_SHIFT_H
#define EVENFEED_SHIFT_H

#include <evenfeed/scenario.h>
#include <evenfeed/status.h>
#include <stdbool.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* A value with its 95 % confidence limits; they are infinite where too few shifts were run to give one. */
typedef struct ef_shift_estimate {
    double value;
    double low;
    double high;
} ef_shift_estimate;

/* Tonnes of one stream in one stretch of a sort: the intake, the product, or one outlet. */
typedef struct ef_shift_stream {
    const char *name;
    bool product;
    ef_shift_estimate mean_t;
    ef_shift_estimate p10_t; /* a poor one: one in ten makes no more */
    ef_shift_estimate p50_t; /* a middling one */
    ef_shift_estimate p90_t; /* a good one: one in ten makes more */
} ef_shift_stream;

/* The sorts of stretches that are told apart. */
typedef enum ef_shift_sort {
    EF_SHIFT_ALL,   /* every counted shift, overtime included */
    EF_SHIFT_NAMED, /* the shifts of one name */
    EF_SHIFT_DAY,   /* what began on one day, of days on which any did */
    EF_SHIFT_WEEK   /* seven days, counted from the first */
} ef_shift_sort;

typedef struct ef_shift_group {
    ef_shift_sort sort;
    const char *name;               /* "shift", the name of a shift, "day", "week" */
    int per_run;                    /* so many of them in each run */
    double work_h;                  /* mean hours of work in one */
    const ef_shift_stream *streams; /* shape [stream_count]: the intake, the product, then the outlets */
    int stream_count;
} ef_shift_group;

/* One counted shift of a run. */
typedef struct ef_shift_period {
    const char *name; /* of the shift or the overtime; "shift" without calendar */
    int64_t day;      /* on which it begins: days from 1970-01-01; 0 without calendar */
    double from_h;    /* from the beginning of what is counted */
    double to_h;
    double work_h; /* without breaks and plant-wide maintenance */
    double crew_h; /* people times hours, breaks included */
    double paid_h; /* the same, overtime times its price factor */
    double extra;  /* what overtime costs on top, money */
} ef_shift_period;

/* Where hours go: each moment belongs to the first that applies. Name, word, meaning. */
#define EF_SHIFT_HOURS_LIST(SAY)                                                                             \
    SAY(EF_SHIFT_CLOSED, "closed", "outside the shifts")                                                     \
    SAY(EF_SHIFT_BREAK, "break", "a break at which all stop")                                                \
    SAY(EF_SHIFT_CLEAN_DOWN, "clean-down", "cleaned between two lots")                                       \
    SAY(EF_SHIFT_OWN_STOP, "own stop", "stopped itself, planned or by chance")                               \
    SAY(EF_SHIFT_CREW, "waiting for crew", "stopped, and nobody is free to mend it")                         \
    SAY(EF_SHIFT_START_UP, "start-up", "waiting for its bin after it ran empty, and warming up")             \
    SAY(EF_SHIFT_NO_MATERIAL, "no material", "no load or lot at the intake")                                 \
    SAY(EF_SHIFT_BLOCKED, "blocked", "no room behind it")                                                    \
    SAY(EF_SHIFT_STARVED, "starved", "nothing comes from the stations before it")                            \
    SAY(EF_SHIFT_SLOW, "slow", "runs below its rate")                                                        \
    SAY(EF_SHIFT_FULL_RATE, "full rate", "runs as it should")

typedef enum ef_shift_hours {
#define EF_SHIFT_HOURS_ENUM(name, word, meaning) name,
    EF_SHIFT_HOURS_LIST(EF_SHIFT_HOURS_ENUM)
#undef EF_SHIFT_HOURS_ENUM
} ef_shift_hours;
#define EF_SHIFT_HOURS_COUNT 11

/* The word and the meaning; never NULL. Any thread. */
const char *ef_shift_hours_word(ef_shift_hours hours);
const char *ef_shift_hours_meaning(ef_shift_hours hours);

/* Where the hours of a station go, in the mean of all runs. */
typedef struct ef_shift_station {
    const char *name;
    double hours[EF_SHIFT_HOURS_COUNT]; /* add up to counted_h */
    double planned_h;                   /* part of the own stops: planned ones, maintenance too */
    double warming_h;                   /* part of the start-up: running, product going back */
    double taken_t;
    double warm_up_t; /* of that, fed while warming up */
    double rate_tph;  /* set rate or capacity of all its machines; infinite without */
    bool steady_feed;
    double shortfall_t;   /* set rate less feed while not stopped */
    double out_of_band_h; /* running outside the band of its set rate */
    double idle_kwh;      /* idle power over the hours not closed, in break, cleaned or stopped */
    double load_kwh;      /* energy by tonnes */
} ef_shift_station;

/* Levels of a bin over what is counted of a run. */
typedef struct ef_shift_bin {
    const char *name;
    double full_t;
    double t_per_m3;     /* 0 without density */
    double mean_t;       /* over all runs */
    double empty_h;      /* standing at empty, in the mean */
    double full_h;       /* standing at full */
    const double *p10_t; /* shape [grid_count], over the first envelope_runs runs; as are the two below */
    const double *p50_t;
    const double *p90_t;
    const double *sample_t; /* shape [sample_count]: levels of the first run */
} ef_shift_bin;

/* What a tonne of product costs. Amounts are means of what is counted of a run; money in the scenario's
 * currency. A price that is absent counts as 0. */
typedef struct ef_shift_cost {
    bool has_energy_price, has_labour_price, has_receipt_price, has_reject_price;
    double product_t;
    double idle_kwh, load_kwh, energy_price; /* money per kWh */
    double power;                            /* (idle_kwh + load_kwh) energy_price */
    double crew_h, paid_h, labour_price;     /* money per hour of one person */
    double extra;                            /* of overtime, on top */
    double crew;                             /* paid_h labour_price + extra */
    double rejects_t, receipt_price;         /* money per t */
    double shrink;  /* rejects_t receipt_price: paid as receipt, not in the product */
    double rejects; /* what the rejects bring, each at its price */
    double total;   /* power + crew + shrink - rejects */
    double per_t;   /* total / product_t; 0 without product */
} ef_shift_cost;

/* One thing that could be mended, and what a shift would gain. */
typedef struct ef_shift_remedy {
    const char *station;
    const char *stop;         /* its stops shortened by half; NULL: the bin enlarged by half */
    bool held_by_lockout;     /* half would be below the lock-out: shortened to that */
    double now;               /* mean length of a stop, h; live volume, t */
    double then;              /* as tried */
    ef_shift_estimate gain_t; /* tonnes of product a shift, from the same random numbers */
} ef_shift_remedy;

typedef struct ef_shift {
    const char *plant;
    const char *scenario_file;
    const char *crop;
    const char *currency;     /* "" when the scenario names none */
    double trade_weight_tpbu; /* of the crop, t for each bushel; 0 when it has none */
    uint64_t seed;
    int runs;         /* simulated independently of each other */
    double precision; /* asked for, share of the product; 0: none */
    bool precise;     /* that was reached */
    double reached;   /* half width of the wider of the limits of mean and middle product, as a share */
    bool on_calendar; /* a run is a stretch of the plant's own weeks; else shifts one after the other */
    int64_t from_day; /* its first day, days from 1970-01-01; 0 without calendar */
    int days;         /* 0 without calendar */
    double warm_up_h; /* simulated before each run, not counted */
    double counted_h; /* hours that accounts, cost and levels cover: the days of a run; without calendar those
                         of a shift */
    int parts; /* so many times that in a run, of which they are the mean: 1; without calendar its shifts */
    const ef_shift_period *periods; /* shape [period_count]: the shifts of a run */
    int period_count;
    const char *const *outlets; /* shape [outlet_count] */
    const bool *is_product;     /* shape [outlet_count] */
    int outlet_count;
    const double *intake_t; /* shape [runs][period_count] */
    const double *outlet_t; /* shape [outlet_count][runs][period_count] */
    const double *stock_t; /* shape [runs][period_count]: gain of bins, and of conveyors with a travel time */
    const ef_shift_group *groups; /* shape [group_count]; the first has all shifts */
    int group_count;
    double balance_intake_t; /* of the steady balance in the mean hours of work of a shift, before stops */
    double balance_product_t;
    double histogram_from_t, histogram_width_t; /* of the product of all shifts */
    const int *histogram;                       /* shape [histogram_count]: shifts in each class */
    int histogram_count;
    const ef_shift_station *stations; /* those that are no bins */
    int station_count;
    int account; /* the station whose account is the line's: its steady-feed station, or the most loaded */
    double availability;      /* ISO 22400-2 (from memory), of that station: running over planned time */
    double performance;       /* taken over set rate or capacity times running time */
    double quality;           /* what did not have to go back in warm-up over what was taken */
    double effectiveness;     /* the product of the three */
    double planning_rate_tph; /* intake an hour of work, stops included: what a season can be planned with */
    ef_shift_cost cost;
    const double
        *grid_h; /* shape [grid_count]: hours of the envelopes, from the beginning of what is counted */
    int grid_count;
    int envelope_runs;
    const double *sample_h; /* shape [sample_count]: hours at which the levels of the first run are known */
    int sample_count;
    const ef_shift_bin *bins; /* shape [bin_count] */
    int bin_count;
    const ef_shift_remedy *remedies; /* greatest gain first */
    int remedy_count;
} ef_shift;

typedef struct ef_shift_settings {
    int crop;
    int runs;   /* 2 to 1,000,000, where `shifts` is 0; 0 with it: 200 stretches of the calendar, or 2,000
                   shifts without, and at most 50 times that with a precision */
    int shifts; /* as many runs as hold so many shifts, at least two; 1 to 20,000,000; 0: not asked for */
    double precision; /* stop when the limits of mean and middle product are within this share of them; 0: at
                         `runs` */
    uint64_t seed;
    int threads;           /* the answer does not depend on it; 0: as many as there are processors */
    bool remedies;         /* also try what to mend first */
    bool without_calendar; /* shifts one after the other, even if the scenario has a calendar */
    bool single;           /* without calendar: one shift in a run */
    bool has_from;         /* else the calendar's start */
    int64_t from_day;      /* days from 1970-01-01 */
    int days;              /* 1 to 366; 0: seven. Only with a calendar */
} ef_shift_settings;

/* The first crop, seed 1, all processors, with remedies, and the usual runs. */
ef_shift_settings ef_shift_defaults(void);

/*
 * Simulates shifts. Where the scenario has a calendar a run is a stretch of the plant's own weeks, else
 * fifty shifts one after the other; ages and levels carry over through it. Where stops of the scenario go by
 * the time of the day it is one shift that begins when work does. On EF_OK `*shift` is set, to be freed with
 * ef_shift_free before the scenario. EF_USAGE: settings out of range, or (with
 * `*reason`) no shift begins in the days asked for. EF_NO_ANSWER: as ef_trace_run, with `*reason`. EF_MEMORY,
 * EF_INTERNAL. Same scenario and settings: same answer on every machine and for any number of threads.
 */
ef_status ef_shift_run(const ef_scenario *scenario, const ef_shift_settings *settings, ef_shift **shift,
                       char **reason);

void ef_shift_free(ef_shift *shift);

/*
 * Recomputes an answer from the scenario and its own shift-by-shift tonnes, without the engine: accounts,
 * mass of every shift, quantiles and limits, effectiveness, cost, order of the remedies. EF_OK; EF_INTERNAL
 * with a line for each difference in `*differences`, to be freed with ef_report_free; EF_MEMORY.
 */
ef_status ef_shift_verify(const ef_scenario *scenario, const ef_shift *shift, char **differences);

/* One value that differs between two scenarios, as written; NULL where it is absent. */
typedef struct ef_shift_change {
    const char *path; /* "stations.Deck.capacity" */
    const char *here;
    const char *there;
} ef_shift_change;

/* Tonnes a shift of one stream, here less there. */
typedef struct ef_shift_difference {
    const char *name;
    bool product;
    bool is_here; /* there is such an outlet */
    bool is_there;
    double here_t; /* means; 0 where there is none */
    double there_t;
    ef_shift_estimate more_t; /* mean of the differences run by run */
} ef_shift_difference;

/* A station of the one, the other or both, matched by name: its number among the stations, -1 where it is
 * not. */
typedef struct ef_shift_pair {
    const char *name;
    int here;
    int there;
} ef_shift_pair;

/* Two plants on the same random numbers. */
typedef struct ef_shift_comparison {
    const ef_shift *here;
    const ef_shift *there;
    int shifts; /* differences are for one of so many shifts of a run; 1 where their numbers are not the same:
                   of a whole run */
    const ef_shift_difference *streams; /* shape [stream_count]: intake, product, then the outlets by name */
    int stream_count;
    double better_share;           /* of the runs: more product here */
    double worse_share;            /* less */
    const ef_shift_pair *stations; /* shape [station_count] */
    int station_count;
    const ef_shift_change *changes; /* shape [change_count]: what differs between the scenarios */
    int change_count;
    int more_changes; /* left out */
} ef_shift_comparison;

/*
 * Simulates `here` as ef_shift_run and `there` with as many runs on the same random numbers: every stop of a
 * station of the same name meets the same draws. The crop of the settings is that of `here`, of which `there`
 * has one of the same name. On EF_OK `*comparison` is set, to be freed with ef_shift_comparison_free before
 * both scenarios. EF_USAGE as ef_shift_run, when `there` has no such crop, and when one of them runs on a
 * calendar and the other not. Else as ef_shift_run.
 */
ef_status ef_shift_compare(const ef_scenario *here, const ef_scenario *there,
                           const ef_shift_settings *settings, ef_shift_comparison **comparison,
                           char **reason);

void ef_shift_comparison_free(ef_shift_comparison *comparison);

/* Verifies both answers, and recomputes the differences from their shifts. As ef_shift_verify. */
ef_status ef_shift_comparison_verify(const ef_scenario *here, const ef_scenario *there,
                                     const ef_shift_comparison *comparison, char **differences);

#ifdef __cplusplus
}
#endif
#endif
