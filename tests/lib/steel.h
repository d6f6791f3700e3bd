/* SPDX-License-Identifier: GPL-3.0-or-later
 * Bins of steel for tests: a plant with one bin, and the bin for a live volume. Whatever goes wrong here
 * fails the running test. */
#ifndef TESTS_STEEL_H
#define TESTS_STEEL_H

#include "answers/bins/steel.h"

enum {
    STEEL_BIN = 1 /* the station of steel_plant */
};

#define STEEL_WHEAT "density: 0.78 t/m3, repose: 28 deg, particle size: 4 mm"
#define STEEL_OATS  "density: 0.5 t/m3, repose: 32 deg, particle size: 4.5 mm"

/* What may stand above the stations. */
#define STEEL_STANDARD                                                                                       \
    "standard bins:\n"                                                                                       \
    "  Large: {shape: round, diameter: 2.4 m, wall height: 2 m, hopper angle: 50 deg, outlet: 250 mm}\n"     \
    "  Small: {shape: round, diameter: 1.2 m, wall height: 1.2 m, hopper angle: 50 deg, outlet: 250 mm}\n"   \
    "  Middle: {shape: round, diameter: 1.8 m, wall height: 1.8 m, hopper angle: 50 deg, outlet: 250 mm}\n"  \
    "  Square: {shape: rectangular, width: 1.5 m, wall height: 1.8 m, hopper angle: 50 deg, "                \
    "outlet: 250 mm}\n"

/* A plant of wheat and oats with one bin: the keys of wheat, those of the bin, and what stands above the
 * stations. */
ef_scenario *steel_plant(const char *wheat, const char *bin, const char *top);

/* Fails the running test, showing what differs, unless the verifier agrees. */
void steel_verify(const ef_scenario *scenario, const ef_steel *steel);

/* A bin for what is asked, and in `arena` what it takes; verified. */
ef_steel steel_for(const ef_scenario *scenario, const efi_steel_need *need, int needs, efi_arena *arena);

/* A bin for so much wheat. */
ef_steel steel_bin_for(const ef_scenario *scenario, double live_m3, efi_arena *arena);

#endif
