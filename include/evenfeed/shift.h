/* SPDX-License-Identifier: GPL-3.0-or-later
 * The shift: how many tonnes a shift makes, a poor, a middling and a good one, where the hours go, what to
 * mend first. */
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

/* Tonnes a shift of one stream: the intake, the product, or one outlet. */
typedef struct ef_shift_stream {
    const char *name;
    bool product;
    ef_shift_estimate mean_t;
    ef_shift_estimate p10_t; /* a poor shift: one in ten makes no more */
    ef_shift_estimate p50_t; /* a middling one */
    ef_shift_estimate p90_t; /* a good one: one in ten makes more */
} ef_shift_stream;

/* Where the hours of a station go, in the mean of all shifts. */
typedef struct ef_shift_station {
    const char *name;
    const double *state_h; /* shape [state_count]; adds up to the hours of a shift */
    double taken_t;
    bool steady_feed;
    double shortfall_t;   /* set rate less feed while not stopped */
    double out_of_band_h; /* running outside the band of its set rate */
} ef_shift_station;

/* One thing that could be mended, and what a shift would gain. */
typedef struct ef_shift_remedy {
    const char *station;
    const char *stop;         /* its stops shortened by half; NULL: the bin enlarged by half */
    bool held_by_lockout;     /* half would be below the lock-out: shortened to that */
    ef_shift_estimate gain_t; /* tonnes of product a shift, from the same random numbers */
} ef_shift_remedy;

typedef struct ef_shift {
    const char *plant;
    const char *scenario_file;
    const char *crop;
    double trade_weight_tpbu; /* of the crop, t for each bushel; 0 when it has none */
    uint64_t seed;
    int runs; /* shifts simulated, independent of each other */
    double shift_h;
    double warm_up_h; /* simulated before each, not counted */
    ef_shift_stream intake;
    ef_shift_stream product;
    const ef_shift_stream *outlets;
    int outlet_count;
    double balance_intake_t; /* of the steady balance, before stops */
    double balance_product_t;
    double histogram_from_t, histogram_width_t; /* of the product */
    const int *histogram;                       /* shape [histogram_count]: shifts in each class */
    int histogram_count;
    const char *const *states;
    int state_count;
    const ef_shift_station *stations; /* those that are no bins */
    int station_count;
    int account; /* the station whose account is the line's: its steady-feed station, or the one that limits
                  */
    double availability;      /* ISO 22400-2 (from memory), of that station: running time over the shift */
    double performance;       /* taken over set rate or capacity times running time */
    double quality;           /* what did not have to go back in warm-up over what was taken */
    double effectiveness;     /* the product of the three */
    double planning_rate_tph; /* intake a shift hour, stops included: what a season can be planned with */
    const ef_shift_remedy *remedies; /* greatest gain first */
    int remedy_count;
} ef_shift;

typedef struct ef_shift_settings {
    int crop;
    int runs; /* 2 to 1,000,000 */
    uint64_t seed;
    int threads;   /* the answer does not depend on it; 0: as many as there are processors */
    bool remedies; /* also try what to mend first */
} ef_shift_settings;

/* The first crop, 2,000 shifts, seed 1, all processors, with remedies. */
ef_shift_settings ef_shift_defaults(void);

/*
 * Simulates shifts. On EF_OK `*shift` is set, to be freed with ef_shift_free before the scenario. EF_USAGE:
 * settings out of range. EF_NO_ANSWER: as ef_trace_run, with `*reason`. EF_MEMORY, EF_INTERNAL. Same
 * scenario, seed and runs: same answer on every machine and for any number of threads.
 */
ef_status ef_shift_run(const ef_scenario *scenario, const ef_shift_settings *settings, ef_shift **shift,
                       char **reason);

void ef_shift_free(ef_shift *shift);

#ifdef __cplusplus
}
#endif
#endif
