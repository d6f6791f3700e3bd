/* SPDX-License-Identifier: GPL-3.0-or-later
 * A plant as the event engine runs it: the line of one crop at its steady rates, as a flat network with stops
 * and bins. */
#ifndef EFI_PLANT_H
#define EFI_PLANT_H

#include "shared/engine/network.h"
#include "shared/line/line.h"

/*
 * What becomes of the scenario:
 *   shares      a spout takes, of all that its station takes, the share that it has in the steady balance;
 * what the balance sends nothing through is left out capacity    as given, after derating, in t/h at the
 * composition of the balance; the peak factor is left out, since peaks are there. A steady-feed station runs
 * at its set rate, which is its feed in the balance bins        their live volume in t; without one they hold
 * nothing. Half full at the start unless the scenario says splits      fixed and free ones by the shares of
 * the balance, `first with room` in order least feed  where the bin right before the station has a restart
 * level warm-up     the product goes to the return of the station, else to its smallest discharge
 */
typedef struct efi_plant_network {
    efi_network network;
    efi_network_station *stations; /* shape [network.stations] */
    efi_network_spout *spouts;     /* shape [network.spouts] */
    int *line_station;             /* shape [network.stations]: station of the line */
    int *of_line;     /* shape [line stations]: station of the network, -1 where nothing passes */
    double *t_per_m3; /* shape [network.stations]: t of what is in the station, 0 without density */
} efi_plant_network;

typedef struct efi_plant_options {
    bool without_stops;    /* everything runs */
    bool without_receipts; /* material is always there */
    const double
        *live_m3; /* shape [line stations]: of bins, in place of what the scenario says; NULL: as it says */
    const double *set_share; /* shape [line stations]: set rate of a steady-feed station over its feed in the
                                balance; NULL: all of it */
} efi_plant_options;

/*
 * Builds the network in `arena` from a line and its steady feeds (shape [station][material], t/h). The line
 * must outlive it. `options` NULL: stops and receipts as the scenario says. EF_OK or EF_MEMORY.
 */
ef_status efi_plant_build(efi_plant_network *plant, efi_arena *arena, const efi_line *line,
                          const double *feed_tph, const efi_plant_options *options);

/* The number of a station by its name that its random streams go by; it keeps it when other stations come and
 * go. */
uint64_t efi_plant_key(const char *name);

/* A random time of the scenario with this mean, as the engine draws it. */
efi_distribution efi_plant_distribution(efi_form form, double mean, double shape);

/* The stop mode of the engine for a stop of the scenario, for a crop. */
efi_stop_mode efi_plant_stop_mode(const efi_stop *stop, int crop);

#endif
