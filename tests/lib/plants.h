/* SPDX-License-Identifier: GPL-3.0-or-later
 * Random plants for tests: several intakes, machines, splits of every rule, streams that meet, returns, bins
 * with restart and refill levels, steady feeds with warm-up, stops of every kind. */
#ifndef TESTS_PLANTS_H
#define TESTS_PLANTS_H

#include "shared/engine/engine.h"

#define PLANTS_STATIONS 64
#define PLANTS_SPOUTS   128
#define PLANTS_MODES    64

typedef struct plants_plant {
    efi_station station[PLANTS_STATIONS];
    efi_spout spout[PLANTS_SPOUTS];
    efi_stop_mode mode[PLANTS_MODES];
    efi_network network;
    int modes;
} plants_plant;

/* What a random plant may have. */
typedef struct plants_wish {
    int steps; /* stations made beside intakes and outlets, about */
    bool has_stops;
    bool has_latches;  /* restart and refill levels, steady feeds, warm-ups */
    bool has_branches; /* splits, streams that meet, several machines in parallel lines */
    bool has_returns;
} plants_wish;

/* Fills a plant that passes efi_network_check; the same for the same seed and wish. It must stay where it is.
 */
void plants_make(plants_plant *plant, uint64_t seed, const plants_wish *wish);

/* A plain series line: one way on from each station, by-products to free outlets, bins of all sizes, none and
 * no volume. */
void plants_make_series(plants_plant *plant, uint64_t seed);

#endif
