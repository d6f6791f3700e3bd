/* SPDX-License-Identifier: GPL-3.0-or-later
 * From a bin of steel to its live volume, and from a live volume to a bin of steel.
 *
 * The geometry itself is in model/bin_shape.h, the laws of the outlet and of flow in model/bin_flow.h; the
 * loader uses both, so that a bin whose dimensions are given has its live volume everywhere (see
 * efi_station_live_m3 in model/scenario.h). Results are the public structs of evenfeed/steel.h, ready to be
 * shown: text by efi_steel_add_text, JSON by efi_steel_json (report/steel.h).
 */
#ifndef EFI_ANSWER_STEEL_H
#define EFI_ANSWER_STEEL_H

#include "base/memory.h"
#include "model/scenario.h"

#include <evenfeed/status.h>
#include <evenfeed/steel.h>

/* What one crop asks of a bin. */
typedef struct efi_steel_need {
    int crop;
    double live_m3;  /* > 0; not used by efi_steel_of */
    double rate_tph; /* what the station after the bin takes at the most; 0: not known */
} efi_steel_need;

/*
 * The bin as its dimensions say. `need` shape [needs]: the crops that pass it. On EF_OK `*steel` holds
 * everything, with texts in `arena` or in the scenario. EF_USAGE: it is no bin, its dimensions are not
 * complete (efi_steel_is_complete in model/bin_steel.h), or there are no needs. EF_MEMORY.
 */
ef_status efi_steel_of(const ef_scenario *scenario, int station, const efi_steel_need *need, int needs,
                       efi_arena *arena, ef_steel *steel);

/*
 * A bin that holds at least the live volume that every need asks, within what the station's `steel` block
 * fixes or limits (shape, diameter, sides, hopper angle, outlet, headroom, most width, proportion; all that
 * is not said has a default of common practice, named in the notes). Where the scenario lists standard bins,
 * the smallest of them that fits; else made to measure with the least area of steel, or the proportion that
 * is given. A station without a `steel` block is given a round bin with a cone.
 *
 * EF_OK, also when nothing fits or something that it takes is not known: then `steel->fits` is false and
 * `steel->reason` says why in plain words. EF_USAGE: it is no bin, or there are no needs. EF_MEMORY.
 */
ef_status efi_steel_for(const ef_scenario *scenario, int station, const efi_steel_need *need, int needs,
                        efi_arena *arena, ef_steel *steel);

#endif
