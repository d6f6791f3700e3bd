/* SPDX-License-Identifier: GPL-3.0-or-later
 * The path of a steady feed: the series line of segments and bins that the network of a plant is for one of
 * its steady-feed stations. */
#ifndef EFI_PATH_H
#define EFI_PATH_H

#include "answers/bins/fluid.h"
#include "shared/plant/plant.h"

#include <stdint.h>

/*
 * Stations joined without a bin between them run and stand still together: they are one segment. Followed are
 * the bins that feed the segment of the steady-feed station, those that feed what comes before, and so on,
 * and those behind it.
 *
 * Everything is measured in tonnes net of returns, as in fluid.h: F is what passes the steady-feed station in
 * the balance less what it sends back before its bin, and a station that takes f in the balance at capacity C
 * passes F C / f of that measure. Where what returns from another segment passes a station, it leaves room
 * for C - back: F (C - back) / (f - back). A bin through which g pass net of returns holds g / F tonnes for
 * each of the measure.
 *
 * Stations that lead to no product (conveyors of what is cleaned out) stop every segment that sends to them.
 * Where what is sent back has to pass a station of another segment, its stops hold up the sender, too.
 */
typedef enum efi_path_note {
    EFI_PATH_SERIES = 0,
    EFI_PATH_PARALLEL_BEFORE = 1, /* several bins or segments feed a segment: the greatest is followed */
    EFI_PATH_PARALLEL_BEHIND = 2, /* several bins are fed: the one that gets most is followed */
    EFI_PATH_SPLIT_BEFORE =
        32, /* a segment before the feed fills other bins, too: in the shares of the balance */
    EFI_PATH_LONG_LOOP = 4,    /* a return passes more than one bin: it is taken as in the balance */
    EFI_PATH_BATCHES = 64,     /* a machine works batch by batch: it is taken at its mean rate */
    EFI_PATH_TIMED = 128,      /* stops wait for crews, or conveyors take their time: left out */
    EFI_PATH_MANY_INTAKES = 8, /* several intakes with loads: material is taken as always there */
    EFI_PATH_FEED_BETWEEN = 16 /* another steady-feed station is on the path */
} efi_path_note;

typedef struct efi_path_bin {
    int station;        /* of the network; -1: the loads that wait at the intake */
    double t_per_t;     /* tonnes in it for each tonne of the measure */
    double start_share; /* level at hour 0 */
    double volume_t;    /* as described, of the measure */
    bool before;        /* before the steady-feed station */
    bool parts_lines; /* before it the stream parts, to other bins too: it keeps them from holding each other
                         up */
    bool matters; /* else its far side, seen from the steady-feed station, never stops and keeps up with what
                     lies next to it, so that no volume changes anything */
} efi_path_bin;

/* One station of a segment, or one that acts on it. */
typedef struct efi_path_unit {
    int segment;
    int station;         /* of the network */
    bool echo;           /* acts by its stops alone; they are those of the station in its own segment */
    bool arrivals;       /* the loads that come to the station, an intake */
    double capacity_tph; /* of one of its machines, of the measure; may be infinite */
    double
        flow_tph; /* what the station takes in the balance, and what of it comes back from another segment */
    double back_tph;
    efi_trace_basis basis;
} efi_path_unit;

typedef struct efi_path {
    const efi_plant_network *plant;
    int feed; /* the steady-feed station, of the network */
    int feed_segment;
    double net_tph; /* F: of the measure, at the set rate of the balance; times rate_share as it runs */
    double rate_share;
    int segments;
    const efi_path_bin *bin;   /* shape [segments - 1] */
    const efi_path_unit *unit; /* shape [units], by rising segment */
    int units;
    int machines;  /* of all units */
    int loads_of;  /* intake with loads, of the network, -1: none */
    double load_t; /* of the measure */
    double tip_h;  /* what a load takes to tip at the pace of the intake; it does not wait for room */
    unsigned notes;
} efi_path;

/*
 * Follows the path of `feed` in `arena`. `flow_tph` has shape [stations of the network]: what each takes in
 * the balance; `is_product` the same: the outlets of product. Steady-feed stations run at `rate_share` of the
 * balance. EF_OK; EF_USAGE for more segments or machines than the recursion takes; EF_MEMORY.
 */
ef_status efi_path_follow(efi_path *path, efi_arena *arena, const efi_plant_network *plant,
                          const double *flow_tph, const bool *is_product, int feed, double rate_share);

/* Does a station limit or stop what passes? All but bins and splits may. */
bool efi_path_acts(const efi_network_station *of);

/* The most that one of its machines takes, t/h; of one that works batch by batch in the mean. */
double efi_path_machine_tph(const efi_network_station *of);

/* What the stops of a station that count running time are laid by, at `load_share` of its feed in the
 * balance. */
efi_trace_basis efi_path_basis(const efi_network_station *of, double flow_tph, double load_share);

/* Traces of a path, as the recursion takes them. Zero-initialise; free with efi_path_lines_free. */
typedef struct efi_path_lines {
    int traces;
    int units;
    efi_fluid_line *line; /* shape [traces] */
    efi_fluid_unit *unit; /* shape [traces][units] */
    efi_trace *stops;     /* shape [traces][units] */
    double *start_share;
} efi_path_lines;

/* Lays the stops of `traces` traces of `hours` on the clock; the same for any number of threads. EF_OK,
 * EF_MEMORY. */
ef_status efi_path_lay(const efi_path *path, uint64_t seed, int traces, double hours, int threads,
                       efi_path_lines *lines);

void efi_path_lines_free(efi_path_lines *lines);

#endif
