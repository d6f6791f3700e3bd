/* SPDX-License-Identifier: GPL-3.0-or-later
 * What is in force at a station and at a bin from one instant at which it changes to the next. */
#ifndef EFI_FLOW_H
#define EFI_FLOW_H

#include "shared/engine/engine.h"
#include "shared/engine/rates.h"

/* At a station that is no bin. */
typedef struct efi_station_flow {
    double rate_tph;
    efi_state state;
} efi_station_flow;

/* At a bin. */
typedef struct efi_bin_flow {
    double inflow_tph;
    double outflow_tph;
    double net_tph;    /* gain; exactly 0 where it stays as it is */
    double hours_each; /* the reciprocal: hours that a gain of a tonne takes; negative where it falls */
    double target_t;   /* level of the next event */
    efi_event_kind target;
    efi_level_at at;
} efi_bin_flow;

#endif
