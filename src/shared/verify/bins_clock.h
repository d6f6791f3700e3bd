/* SPDX-License-Identifier: GPL-3.0-or-later
 * Stops at times of the day and recorded ones, day by day from the scenario, for the verifier of bins. */
#ifndef EFI_VERIFY_BINS_CLOCK_H
#define EFI_VERIFY_BINS_CLOCK_H

#include "base/memory.h"
#include "model/scenario.h"
#include "shared/stops/stops.h"

/*
 * Hour 0 is the beginning of the calendar's first day, and the calendar itself stops nothing. Turns `mode`,
 * made of a stop at times of the day, into one at the hours of each day up to `hours`. EF_OK or EF_MEMORY.
 */
ef_status efi_bins_clock_times(const ef_scenario *scenario, const efi_stop *stop, double hours,
                               efi_arena *arena, efi_stop_mode *mode);

/* Recorded stops of a station as modes, random ones first, where there are any that end after hour 0. `mode`
 * has room for two; `*count` is how many were added. EF_OK or EF_MEMORY. */
ef_status efi_bins_records(const ef_scenario *scenario, int station, efi_arena *arena, efi_stop_mode *mode,
                           int *count);

#endif
