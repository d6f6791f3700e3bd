/* SPDX-License-Identifier: GPL-3.0-or-later
 * Bins: how much live volume keeps each steady-feed station at its set rate while everything round it stops.
 */
#ifndef EVENFEED_BINS_H
#define EVENFEED_BINS_H

#include <evenfeed/scenario.h>
#include <evenfeed/status.h>
#include <evenfeed/steel.h>
#include <stdbool.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Shortfalls are told in full-feed hours: tonnes short at a steady-feed station over its set rate. Hours of a
 * trace count from its beginning; a trace is several shifts in a row. */

/* What the volumes have to achieve, on top of what no volume can prevent. */
typedef enum ef_bins_aim {
    EF_BINS_NONE_SHORT, /* nothing short in any trace */
    EF_BINS_MEAN,       /* at most so many full-feed hours a shift in the mean */
    EF_BINS_TAIL,       /* the worst share of shifts short by at most so many in the mean */
    EF_BINS_PRICE       /* least cost of volume and of tonnes short a shift together */
} ef_bins_aim;

/* A value with its 95 % confidence limits. */
typedef struct ef_bins_estimate {
    double value;
    double low;
    double high;
} ef_bins_estimate;

/* One stop that a bin has to bridge. */
typedef struct ef_bins_stop {
    const char *station;
    const char *stop; /* its name in the scenario; NULL: no load came */
    int machine;      /* of a station with several, from 1; else 0 */
    double from_h;
    double to_h;
} ef_bins_stop;

/* What sets a volume: the heaviest demand on the bin that it still meets. */
typedef struct ef_bins_reason {
    int trace; /* of the traces for sizing, from 0 */
    double from_h;
    double to_h; /* the bin runs from full (or the beginning) to its lowest, or from empty to its fullest */
    double used_share;         /* of what it held, or had room for, at from_h */
    bool from_start;           /* from_h is the beginning of the trace */
    bool met;                  /* without a shortfall */
    const ef_bins_stop *stops; /* shape [stop_count], the longest first: those that took part */
    int stop_count;
    int more_stops; /* not listed */
} ef_bins_reason;

/* Why the volume of a bin was, or was not, chosen. */
typedef enum ef_bins_choice {
    EF_BINS_SIZED,
    EF_BINS_KEPT,          /* the scenario says so */
    EF_BINS_NOTHING_STOPS, /* its far side never stops and keeps up */
    EF_BINS_OFF_PATH       /* it does not lie on the way to or from a steady-feed station */
} ef_bins_choice;

/* One bin for one crop. */
typedef struct ef_bins_bin {
    const char *name;
    ef_bins_choice choice;
    const char *feed; /* the steady-feed station that sets its volume; NULL: off the path */
    bool before;      /* before that station, else behind it */
    bool holding;     /* right before it */
    bool parts_lines; /* the stream parts before it, to other lines too */
    bool has_now;
    double now_m3;
    bool has_rule; /* the rule is about holding bins alone */
    double rule_m3;
    double optimum_m3; /* of least cost for the traces */
    double needed_m3;  /* the same as it can be built: a standard size, or rounded up */
    double t_per_m3;
    double through_tph; /* passes it at the set rate, net of returns */
    double drawn_tph;   /* the most that the station after it takes */
    double lasts_h; /* the needed volume at what is drawn from it, or comes to it: of a holding bin returns
                       included */
    bool at_most;   /* it may not be larger */
    bool has_reason;
    ef_bins_reason reason;
} ef_bins_bin;

/* What one set of volumes does in the event engine, on traces not used for sizing, shift by shift. */
typedef struct ef_bins_check {
    bool is_run;
    double volume_m3;               /* all bins that are sized */
    ef_bins_estimate short_share;   /* of shifts that are short at all */
    ef_bins_estimate short_h;       /* full-feed hours a shift */
    ef_bins_estimate out_of_band_h; /* not stopped, but its feed outside the band, a shift: starved, waiting
                                       for its bin, blocked or slow */
    ef_bins_estimate out_of_band_p95_h; /* one shift in twenty has more */
    ef_bins_estimate lost_t;            /* tonnes of feed lost a shift */
} ef_bins_check;

/* What becomes of the rule here, by its shortfall on fresh traces, all other bins as they are. */
typedef enum ef_bins_verdict {
    EF_BINS_RULE_UNTRIED,
    EF_BINS_RULE_SHORT,   /* it misses the aim */
    EF_BINS_RULE_ENOUGH,  /* it meets it, with a volume near the one recommended */
    EF_BINS_RULE_GENEROUS /* it meets it with more than is recommended */
} ef_bins_verdict;

typedef struct ef_bins_point {
    double short_h;   /* full-feed hours a shift on the traces for sizing */
    double volume_m3; /* all bins of the path that are sized */
    double cost;
} ef_bins_point;

/* The line that a steady-feed station was taken for: stations in segments, a bin after each but the last, all
 * in tonnes net of returns of what the steady-feed station takes. docs/bins.md has the mathematics. */
typedef struct ef_bins_unit {
    const char *station;
    int segment;
    int machines;
    bool arrivals; /* the loads that come to the station, an intake, of load_t each */
    bool echo;     /* its stops also hold up this segment, since what goes back passes it */
    double load_t;
    double capacity_tph;  /* of one machine; infinite where nothing limits it */
    double flow_tph;      /* what the station takes in the steady balance, tonnes as they are */
    double back_tph;      /* of that, what comes back from another segment */
    double running_share; /* its expected load: stops that count running time are laid on the clock by it */
    double rate_tph;      /* of one machine, tonnes as they are */
} ef_bins_unit;

typedef struct ef_bins_link {
    const char *bin; /* NULL: the loads that wait at the intake */
    double t_per_t;  /* tonnes in the bin for each tonne of the line */
    double start_share;
    double volume_t; /* chosen, tonnes of the line */
    double least_t;
    double most_t;
    double cost_per_t; /* of a tonne of the line; fixed costs and sizes aside */
    bool by_size;      /* standard sizes, or a fixed cost */
} ef_bins_link;

/* How the shortfall on a trace was worked out for the volumes of least cost. */
typedef enum ef_bins_form {
    EF_BINS_RECURSION,     /* a series line, by the fluid recursion */
    EF_BINS_TRACE_PROGRAMS /* the whole network, by a linear program for each trace, all its steady-feed
                              stations together */
} ef_bins_form;

/* One steady-feed station. */
typedef struct ef_bins_feed {
    const char *name;
    double balance_tph; /* its feed in the steady balance, returns included */
    double set_tph;     /* the set rate that the bins are sized for */
    bool lowered;       /* below the balance: the rest of the line, stops included, does not bring more */
    const char *slow;   /* the station that limits what the rest of the line brings; NULL: none stops */
    double line_share;  /* what the rest of the line can pass in the mean, over what this station takes at its
                           rate in the balance */
    ef_bins_form form;
    int together;       /* steady-feed stations that are sized by one program; the four figures in hours below
                           are their sum (with a price: of tonnes, over the set rate of the first) */
    int program_traces; /* of all traces, those that the program is made of */
    double unavoidable_h; /* full-feed hours a shift that no volume prevents */
    double sized_h;       /* full-feed hours a shift on the traces for sizing at the chosen volumes */
    double engine_h;      /* the same by the event engine with the same stops */
    bool batches, timed, split_before, parallel_before, parallel_behind, long_loop, many_intakes,
        feed_between; /* where the path is no plain
            series */
    int segments;
    int stations;
    int feed_segment;
    double net_tph;            /* what passes the steady-feed station at the set rate, net of returns */
    const ef_bins_unit *units; /* shape [unit_count], by rising segment */
    int unit_count;
    const ef_bins_link *links; /* shape [segments - 1] */
    double target_h;  /* full-feed hours a shift aimed at on the traces for sizing; not with a price */
    int cuts;         /* of the master program */
    double gap_share; /* between its bound and the volumes found */
    int tightened;    /* how often the aim was tightened because fresh traces missed it */
    bool met;         /* the aim, on fresh traces */
    ef_bins_check now, rule, recommended;
    ef_bins_verdict verdict;
    const ef_bins_point *curve; /* shape [curve_count], rising shortfall */
    int curve_count;
    int knee; /* point of the curve after which volume is saved at a dear price, -1 */
} ef_bins_feed;

/* Something a person should know. */
typedef enum ef_bins_note_kind {
    EF_BINS_LONG_STOP,      /* station, stop: lasts `value` h in the mean, longer than the shift */
    EF_BINS_NO_BIN_BETWEEN, /* station stops without a bin between it and `feed` */
    EF_BINS_SLOW_REFILL,    /* station: brings `value` of what `feed` takes in the mean, stops included */
    EF_BINS_BELOW_LEAST,    /* `feed`: the set rate, `value` t/h, is below its least feed, `other` t/h */
    EF_BINS_AT_MOST,        /* station, a bin: would have to be larger than its most, `value` m3 */
    EF_BINS_NO_ROOM, /* station, a bin: with the room there is `value` full-feed hours a shift are short
                        whatever is built, with as much as one likes `other` */
    EF_BINS_WITHOUT_DENSITY, /* station, a bin: left out, since the crop has no density */
    EF_BINS_TOO_LONG         /* `feed`: more bins or machines in a row than are looked at */
} ef_bins_note_kind;

typedef struct ef_bins_note {
    ef_bins_note_kind kind;
    const char *feed;
    const char *station;
    const char *stop;
    double value;
    double other;
} ef_bins_note;

typedef struct ef_bins_crop {
    const char *name;
    double trade_weight_tpbu; /* t for each bushel; 0 when it has none */
    bool feasible;            /* the steady balance of this crop has an answer */
    const double *intake_tph; /* shape [intake_count]: rates of that balance */
    int intake_count;
    bool chosen_shares;        /* it chose shares of splits */
    const char *trouble;       /* why the line cannot run: "words: where"; NULL when it can */
    const char *trouble_words; /* the same without the stations; NULL when it can */
    const char *trouble_where; /* the stations, in quotes; "" when it is about none; NULL when it can run */
    bool anything_stops;       /* else there is nothing to size against */
    const ef_bins_feed *feeds; /* shape [feed_count]; none: no steady-feed station */
    int feed_count;
    const ef_bins_bin *bins; /* shape [bin_count] */
    int bin_count;
    const ef_bins_note *notes;
    int note_count;
} ef_bins_crop;

/* One bin over all crops looked at. */
typedef struct ef_bins_whole {
    const char *name;
    ef_bins_choice choice;
    bool has_now;
    double now_m3;
    bool has_rule;
    double rule_m3;
    double recommended_m3;
    int crop;              /* the one that needs most, position among `crops`; -1: none needs any */
    const ef_steel *steel; /* the recommended volume in steel; NULL: none is recommended */
} ef_bins_whole;

typedef struct ef_bins {
    const char *plant;
    const char *scenario_file;
    const char *currency; /* of costs; "" where none is named and volume is what costs */
    bool has_costs;
    double usual_cost; /* of a m3 of a bin that says none: that of the dearest bin; 1 where none says any */
    uint64_t seed;
    int traces; /* for sizing, and as many fresh ones */
    int shifts; /* of a trace */
    double shift_h;
    double rule_h;
    bool with_receipts;
    ef_bins_aim aim;
    double aim_h;
    double tail_share;
    double price;
    bool stopped; /* on request: the best so far */
    const ef_bins_crop *crops;
    int crop_count;
    const ef_bins_whole *bins; /* in the order of the scenario */
    int bin_count;
} ef_bins;

/* How far a search has come. */
typedef struct ef_bins_progress {
    const char *crop;
    const char *doing; /* a word or two */
    double share;      /* done, 0 .. 1 */
} ef_bins_progress;

typedef struct ef_bins_settings {
    int crop;   /* -1: all, and each bin as the crop that needs most asks */
    int traces; /* 1 to 1,000,000 */
    int shifts; /* 1 to 100, in a row in each trace; the tail form takes one */
    uint64_t seed;
    int threads; /* the answer does not depend on it; 0: as many as there are processors */
    ef_bins_aim aim;
    double aim_h;      /* full-feed hours a shift */
    double tail_share; /* 0 < .. < 1 */
    double price;      /* of a tonne short a shift, in the unit of the costs (m3 where there are none) */
    bool has_rule;
    double rule_h;
    double rate_share;    /* set rate over the balance; 0: what the line holds */
    bool with_receipts;   /* loads may be late, too; else material is always there */
    const char *write_lp; /* path of the plain program of the first steady-feed station, .lp: CPLEX LP text,
                             else MPS; NULL: none */
    bool overwrite;
    bool (*go_on)(void *context,
                  const ef_bins_progress *progress); /* false: stop with the best so far; NULL */
    void *context;
} ef_bins_settings;

/* All crops, 200 traces of 5 shifts, seed 1, all processors, at most 1 full-feed minute a shift in the mean.
 */
ef_bins_settings ef_bins_defaults(void);

/*
 * Sizes the bins. On EF_OK `*bins` is set, to be freed with ef_bins_free before the scenario. EF_USAGE:
 * settings out of range. EF_FILE: the program could not be written. EF_STOPPED: stopped before there was
 * anything to tell. EF_MEMORY, EF_INTERNAL. Same scenario and settings: same answer on every machine and for
 * any number of threads. Several threads may use one scenario.
 */
ef_status ef_bins_run(const ef_scenario *scenario, const ef_bins_settings *settings, ef_bins **bins);

void ef_bins_free(ef_bins *bins);

/*
 * Recomputes what the answer claims with none of its code: flows, capacities and the rule from the scenario,
 * the shortfall on every trace as a shortest way, and whether a volume could be smaller, alone or against
 * another. The event engine's figures are only checked for sense. What differs by more than 1e-6 relative is
 * described in `*differences`, one line each (NULL when all agrees), to be freed with ef_report_free. EF_OK:
 * all agrees; EF_INTERNAL: it does not; EF_MEMORY.
 */
ef_status ef_bins_verify(const ef_scenario *scenario, const ef_bins *bins, char **differences);

#ifdef __cplusplus
}
#endif
#endif
