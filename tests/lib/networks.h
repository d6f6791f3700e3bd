/* SPDX-License-Identifier: GPL-3.0-or-later
 * Random plants for tests: several intakes, machines, splits of every rule, streams that meet, returns, bins
 * with restart and refill levels, steady feeds with warm-up, stops of every kind. */
#ifndef TESTS_NETWORKS_H
#define TESTS_NETWORKS_H

#include "shared/engine/engine.h"

#define NETWORKS_STATIONS 64
#define NETWORKS_SPOUTS   128
#define NETWORKS_MODES    64
#define NETWORKS_CREWS    3
#define NETWORKS_DUTIES   32

typedef struct networks_plant {
    efi_network_station station[NETWORKS_STATIONS];
    efi_network_spout spout[NETWORKS_SPOUTS];
    efi_stop_mode mode[NETWORKS_MODES];
    efi_network_crew crew[NETWORKS_CREWS];
    efi_interval duty[NETWORKS_CREWS][NETWORKS_DUTIES];
    efi_network network;
    int modes;
} networks_plant;

/* What a random plant may have. */
typedef struct networks_wish {
    int steps; /* stations made beside intakes and outlets, about */
    bool has_stops;
    bool has_latches;  /* restart and refill levels, steady feeds, warm-ups */
    bool has_branches; /* splits, streams that meet, several machines in parallel lines */
    bool has_returns;
    bool has_batches;
    bool has_one_intake;
    bool has_crews;  /* some of the stops need one of up to three crews, of one or two, some with hours */
    bool has_delays; /* conveyors on which material takes its time */
} networks_wish;

/* Fills a plant that passes efi_network_check; the same for the same seed and wish. It must stay where it is.
 */
void networks_make(networks_plant *plant, uint64_t seed, const networks_wish *wish);

/* A plain series line: one way on from each station, by-products to free outlets, bins of all sizes, none and
 * no volume. */
void networks_make_series(networks_plant *plant, uint64_t seed);

#endif
