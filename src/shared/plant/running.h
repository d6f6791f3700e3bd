/* SPDX-License-Identifier: GPL-3.0-or-later
 * From a scenario and one of its crops to what the event engine runs: line, steady rates, network. */
#ifndef EFI_RUNNING_H
#define EFI_RUNNING_H

#include "shared/plant/plant.h"
#include "shared/steady/steady.h"

/* Its parts point at each other: it stays where it is. Zero-initialise it. */
typedef struct efi_running {
    efi_line line;
    efi_steady_model model; /* solved: rates and feeds of the steady balance */
    double rate_tph;        /* intake of the steady balance */
    efi_plant_network plant;
} efi_running;

/*
 * Builds the line and solves its steady rates, arrays in `arena`. To be freed with efi_running_free also
 * after a failure, on the same thread. EF_OK; EF_NO_ANSWER when the demands of the steady balance contradict
 * each other; EF_MEMORY, EF_INTERNAL.
 */
ef_status efi_running_build(efi_running *running, efi_arena *arena, const ef_scenario *scenario, int crop);

/* Then builds the network, as efi_plant_build. */
ef_status efi_running_lay(efi_running *running, efi_arena *arena, const efi_plant_options *options);

/* Frees what is not in the arena. */
void efi_running_free(efi_running *running);

/* A sentence about a trouble in `*reason` (NULL: not wanted), to be freed with ef_report_free; left alone
 * without memory. */
void efi_running_explain(const efi_running *running, const efi_trouble *trouble, char **reason);

#endif
