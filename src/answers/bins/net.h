/* SPDX-License-Identifier: GPL-3.0-or-later
 * The network of a plant that is no plain line, for sizing: a linear program for each trace. */
#ifndef EFI_NET_H
#define EFI_NET_H

#include "answers/bins/sizing.h"
#include "shared/plant/plant.h"

#include <stdint.h>

/*
 * Sources v are the stations and spouts at which a flow may be chosen: each intake, what leaves a bin, and
 * each branch of a split that divides by room. What station n takes is x[n] = sum over v of a[n,v] y[v], with
 * shares as in the balance, what comes back without a bin between summed to its end. On the event-aligned
 * grid of a trace, e an interval without a change,
 *
 *   minimise    sum over feeds f of weight[f] (set tonnes[f] - sum over e of x[f,e])
 *   subject to  0 <= x[n,e] <= capacity of what runs of n in e
 *               level[b,e] = level[b,e-1] + in[b,e] - out[b,e],  0 <= level[b,e] <= S[b]
 *               level[b,-1] = start share[b] S[b]
 *               what a split divided by room takes = sum of its branches
 *
 * All steady-feed stations of the network are in one program, else one would be fed at the cost of another;
 * the shortfall is their sum, in tonnes by `weight`. It is convex in S and never rises with it; reduced costs
 * of the levels at S and the dual of the first level give a cut that holds for all S.
 */
typedef struct efi_net_bin {
    int station; /* of the network */
    double start_share;
    double *gain; /* shape [sources]: in less out, of each tonne of a source */
} efi_net_bin;

/* Stations whose flow is in one proportion to the sources: the tightest of them limits. */
typedef struct efi_net_gate {
    double *per_source; /* shape [sources], the first that counts is 1 */
    int only;           /* the one source that counts, -1: several */
} efi_net_gate;

/* A station that limits or stops. */
typedef struct efi_net_unit {
    int station;
    int machines;
    int gate;
    double scale;        /* x = scale times the gate's flow */
    double capacity_tph; /* of one machine; may be infinite */
    efi_trace_basis basis;
} efi_net_unit;

typedef struct efi_net_feed {
    int station;
    int unit;
    double weight;
    double *per_source; /* shape [sources] */
} efi_net_feed;

typedef struct efi_net {
    const efi_plant_network *plant;
    int sources;
    const int *source_station; /* shape [sources]: where it begins */
    const efi_net_bin *bin;    /* shape [bins] */
    int bins;
    const efi_net_gate *gate; /* shape [gates] */
    int gates;
    const efi_net_unit *unit; /* shape [units] */
    int units;
    int machines;
    const efi_net_feed *feed; /* shape [feeds] */
    int feeds;
    double **parting; /* shape [partings][sources]: 0 = sum of these, for each split divided by room */
    int partings;
} efi_net;

/* What the program needs to be told about one steady-feed station. */
typedef struct efi_net_steady {
    int station;   /* of the network */
    double weight; /* of a tonne short */
} efi_net_steady;

/*
 * Builds it in `arena`. `flow_tph`, shape [stations of the network]: what each takes in the balance;
 * `load_share`, the same shape: the set rate over the balance, for the expected load of a station. EF_OK;
 * EF_USAGE for more bins than are sized together; EF_MEMORY.
 */
ef_status efi_net_build(efi_net *net, efi_arena *arena, const efi_plant_network *plant,
                        const double *flow_tph, const double *load_share, const efi_net_steady *steady,
                        int feeds);

/* ---- traces ---- */

typedef struct efi_net_traces efi_net_traces;

/* Lays the stops of `traces` traces of `hours`, the same draws as those of a path. EF_OK or EF_MEMORY. */
ef_status efi_net_lay(const efi_net *net, uint64_t seed, int traces, double hours, efi_net_traces **laid);

/* NULL is allowed. On the thread that solved the programs. */
void efi_net_free(efi_net_traces *traces);

/* Intervals of the longest of the first `traces` traces. */
int efi_net_intervals(const efi_net_traces *traces);

/* As efi_sizing_pass: shortfall and cut of every trace, each by a linear program kept from call to call. */
ef_status efi_net_pass(void *traces, const double *volume_t, double *shortfall_t, double *gradient);

/* As efi_sizing_trace: the rows and columns of one trace in a program for all, with volumes as columns. */
ef_status efi_net_add(void *traces, int trace, efi_lp *lp, const int *volume, int *short_column);

#endif
