/* SPDX-License-Identifier: GPL-3.0-or-later
 * The line as one crop sees it: the stations it passes in order, the spouts between them, capacities and
 * least feeds of all machines of a station together, and the exact flows for given intake rates. */
#ifndef EFI_LINE_H
#define EFI_LINE_H

#include "model/scenario.h"

typedef struct efi_line_station {
    int station; /* in the scenario */
    const efi_station *of;
    efi_class class;
    efi_value nominal;      /* capacity of all machines as given, t/h or m3/h (see `of`) */
    double derating;        /* what moisture and trash leave of it, 0.1 to 1 */
    double peak_factor;     /* what peaks ask for over the mean, >= 1 */
    efi_value capacity;     /* what the mean feed may be: nominal x derating / peak_factor */
    efi_value least_feed;   /* all machines, t/h */
    efi_value least_rate;   /* t/h, of an outlet */
    efi_value least_purity; /* share, of an outlet */
    double price;           /* money per t, of an outlet; 0 when absent */
    double idle_kw;         /* all machines */
    double energy_kwhpt;
    int split;           /* number of its free split, -1 */
    const double *turns; /* shape [material][material]: the share of what comes in as the first that leaves as
                            the second; NULL: all leaves as it came */
} efi_line_station;

typedef struct efi_line_spout {
    int from, to; /* stations of the line */
    const efi_discharge *discharge;
    const double *share; /* shape [material]: what it takes of the material that leaves `from` */
    bool closes_loop;    /* leads back to a station from which its own start is reached */
} efi_line_spout;

/* A split whose shares are to be chosen. Its branches are the spouts first_spout .. first_spout + count - 1.
 */
typedef struct efi_line_split {
    int station; /* of the line */
    int first_spout;
    int count;
    efi_split_rule rule; /* free or first with room */
} efi_line_split;

typedef struct efi_line {
    const ef_scenario *scenario;
    int crop;
    const efi_crop *of;
    int materials;
    const double *receipt; /* shape [material] */
    double *m3_per_t;      /* shape [material]; 0 where the density is unknown */
    bool *passes;          /* shape [material]: in the receipt, or made of what is */
    bool has_turns;        /* some station turns material into other */
    bool has_density;      /* of every material that passes */
    efi_line_station
        *stations; /* shape [station_count]; a station comes after those that feed it, returns aside */
    int station_count;
    efi_line_spout *spouts; /* shape [spout_count], in order of `from`, then of the discharge */
    int spout_count;
    int *first_out; /* shape [station_count + 1]: spouts of a station */
    int *intakes;   /* shape [intake_count]: stations of the line */
    int intake_count;
    int *loops; /* shape [loop_count]: the spouts that close loops */
    int loop_count;
    efi_line_split *splits; /* shape [split_count]: those with shares to be chosen */
    int split_count;
    double *branch_share; /* shape [spout_count][materials]: storage of the shares of branches to be chosen */
    double idle_kw;       /* all stations together */
    bool has_power_limit;
    double power_limit_kw;
} efi_line;

/* Builds the line of a crop in `arena`. The scenario must outlive it. EF_OK or EF_MEMORY. */
ef_status efi_line_build(efi_line *line, efi_arena *arena, const ef_scenario *scenario, int crop);

/* Sets the share of one branch of a split with shares to be chosen, and reads it. */
void efi_line_set_branch(efi_line *line, int spout, double share);
double efi_line_branch(const efi_line *line, int spout);

/* The least and the most share of a branch. */
double efi_line_branch_least(const efi_line *line, int spout);
double efi_line_branch_most(const efi_line *line, int spout);

/*
 * Exact steady flows for given intake rates.
 *
 *   x[s,m] = R[s] receipt[m] (intakes)  +  sum over spouts k into s of share[k,m] g[from(k),m]
 *   g[s,m] = sum over materials j of turns[s,j,m] x[s,j]   (x[s,m] where nothing is turned)
 *
 * Solved material by material: the spouts that close loops are torn, x is an affine function of what they
 * carry, one forward pass for each gives it, and a linear system in as many unknowns as there are loops is
 * solved by elimination with pivoting. Where material is turned into other, the materials hang together: the
 * unknowns are what each torn spout carries of each material that can be in it.
 *
 * rate_tph   R, shape [intake_count], t/h
 * feed_tph   receives x, shape [station_count][materials], t/h
 * Returns EF_OK; EF_MEMORY; EF_INTERNAL when a loop lets nothing go (a checked scenario has none).
 */
ef_status efi_line_flows(const efi_line *line, const double *rate_tph, double *feed_tph);

/* A stream that enters a station of the line, t/h; parts of it may be below 0. */
typedef struct efi_line_source {
    int station;
    const double *stream_tph; /* shape [material] */
} efi_line_source;

/*
 * The feeds that each of `count` streams would cause on its own, the intakes standing still; as
 * efi_line_flows. feed_tph has shape [source][station][material].
 */
ef_status efi_line_responses(const efi_line *line, const efi_line_source *sources, int count,
                             double *feed_tph);

/* What leaves a station, shape [material], when `feed_tph` comes in: the feed itself where nothing is turned,
 * else computed into `room`. */
const double *efi_line_leaving(const efi_line *line, int station, const double *feed_tph, double *room);

/* Do the stations draw all the power there is, but for rounding, before a tonne passes? */
bool efi_line_lacks_power(const efi_line *line);

/* Total of a feed, t/h, and its volume, m3/h (0 without density). `feed_tph` has shape [material]. */
double efi_line_total(const efi_line *line, const double *feed_tph);
double efi_line_volume(const efi_line *line, const double *feed_tph);

/* Power drawn at these feeds, kW: idle and by tonne. `feed_tph` has shape [station][material]. */
double efi_line_power(const efi_line *line, const double *feed_tph);

#endif
