/* SPDX-License-Identifier: GPL-3.0-or-later
 * Bins sized for scenarios, for tests: whatever goes wrong here fails the running test. */
#ifndef TESTS_BINS_H
#define TESTS_BINS_H

#include "scenarios.h"

#include <evenfeed/bins.h>
#include <stdbool.h>

/* A plant up to its raw bin, with wheat alone; what follows begins with a station Cleaner. */
#define BINS_HEAD                                                                                            \
    "evenfeed: 1\n"                                                                                          \
    "plant: {name: Test, shift length: 8 h}\n"                                                               \
    "materials: {sound: {wanted: yes}, light: }\n"                                                           \
    "crops: {wheat: {density: 0.8 t/m3, receipt: {sound: 100 %, light: 0 %}}}\n"                             \
    "stations:\n"                                                                                            \
    "  Pit: {kind: intake, capacity: 40 t/h, to: Raw bin}\n"                                                 \
    "  Raw bin: {kind: bin, live volume: 100 m3, to: Cleaner}\n"

/*
 * That plant with a deck that takes 10 t/h and sends a fifth back to its bin, 8 t/h net. `stops`: keys of the
 * cleaner; `bin`: more keys of the holding bin. Valid until the next call.
 */
const char *bins_loop(const char *stops, const char *bin);

/* A small plant with loads, a stop and standard sizes for its holding bin. */
extern const char bins_small[];

/* Settings that do for a test: few traces, two threads. */
ef_bins_settings bins_quick(void);

/* Sizes bins and passes the answer through the verifier, which must find nothing. Freed with ef_bins_free. */
ef_bins *bins_of(const ef_scenario *scenario, const ef_bins_settings *settings);

/* The bin of this name; it must be there. */
const ef_bins_bin *bins_bin(const ef_bins *bins, int crop, const char *name);

/* The note of this kind on the first crop; it must be there. */
ef_bins_note bins_note(const ef_bins *bins, ef_bins_note_kind kind);

/* Does the text say this, wherever its lines break? It is printed when it does not. */
bool bins_say(const ef_bins *bins, const char *words);

#endif
