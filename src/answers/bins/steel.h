/* SPDX-License-Identifier: GPL-3.0-or-later
 * From a bin of steel to its live volume, and from a live volume to a bin of steel.
 *
 * The geometry itself is in model/bin_shape.h, the laws of the outlet and of flow in model/bin_flow.h; the
 * loader uses both, so that a bin whose dimensions are given has its live volume everywhere (see
 * efi_station_live_m3 in model/scenario.h). Results are the public structs of evenfeed/steel.h, ready to be
 * shown: sentences by efi_steel_add_text, JSON by efi_steel_json (report/steel.h).
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
    double live_m3;  /* > 0; efi_steel_of only passes it on, 0: nothing is asked */
    double rate_tph; /* what the station after the bin takes at the most; 0: not known */
} efi_steel_need;

/*
 * The bin as its dimensions say. `need` shape [needs]: the crops that pass it. On EF_OK `*steel` holds
 * everything, with texts in `arena` or in the scenario; `why` is
 * EF_STEEL_FITS even when it is higher than its headroom (the loader refuses that). EF_USAGE: it is no bin,
 * its dimensions are not complete (efi_steel_is_complete in model/bin_steel.h), or there are no needs.
 * EF_MEMORY.
 */
ef_status efi_steel_of(const ef_scenario *scenario, int station, const efi_steel_need *need, int needs,
                       efi_arena *arena, ef_steel *steel);

/*
 * A bin that holds at least the live volume that every need asks, within what the station's `steel` block
 * fixes or limits: shape, diameter or sides, wall height, hopper angle, outlet, headroom, most width,
 * proportion. What it does not say is chosen by common practice: `chose_hopper` and so on in the result.
 * Where the scenario lists standard bins, and the station's own dimensions are not complete, the smallest of
 * those of its shape that hold enough; else made to measure, in steps of 50 mm of width and 10 mm of height,
 * with the least area of steel. A station without a `steel` block is given a round bin with a cone. Of
 * dimensions that are complete it is asked whether they hold enough.
 *
 * EF_OK, also when nothing fits: then `steel->why` and the numbers beside it say why. EF_USAGE: it is no bin,
 * or there are no needs. EF_MEMORY.
 */
ef_status efi_steel_for(const ef_scenario *scenario, int station, const efi_steel_need *need, int needs,
                        efi_arena *arena, ef_steel *steel);

/*
 * The standard bins of the scenario as sizes of a bin: of each that goes there what it holds of the crop
 * (those of `need`, whose volumes do not matter) that it holds least of, rising, into live_m3, and its number
 * into `standard`; both have shape [standard bins of the scenario]. Returns how many; 0 where there are none,
 * the bin's own dimensions are complete, or an angle of repose is not known.
 */
int efi_steel_standards(const ef_scenario *scenario, int station, const efi_steel_need *need, int needs,
                        double *live_m3, int *standard);

/* What the dearest of the standard bins costs, of a m3 filled level; 0 where none says. */
double efi_steel_dearest(const ef_scenario *scenario);

#endif
