/* SPDX-License-Identifier: GPL-3.0-or-later
 * Scenarios from text or a file, for tests: whatever goes wrong here fails the running test. */
#ifndef TESTS_SCENARIOS_H
#define TESTS_SCENARIOS_H

#include <evenfeed/scenario.h>
#include <stddef.h>

/* Reads a scenario that must be without errors; warnings are allowed. Freed with ef_scenario_free. */
ef_scenario *plant_read(const char *text);

/* The same of one crop of a wanted material: wheat of seed, 0.8 t/m3. `stations` is what stands below that
 * key, `rest` whole keys that follow it. */
ef_scenario *plant_read_stations(const char *stations, const char *rest);

/* The same from a file, with the tables beside it. */
ef_scenario *plant_load(const char *path);

/* The same of one without any findings, warnings neither. */
ef_scenario *plant_load_silent(const char *path);

/*
 * The findings of `length` bytes under the name "t.yaml"; fails the running test unless reading ends with
 * `expected`. A scenario is freed. The caller frees the list with ef_diags_free.
 */
ef_diags *scenario_findings(const char *bytes, size_t length, ef_status expected);

/* The findings as lines "line:column-end name key", one for each, at most `room` - 1 bytes, in `lines`. */
void findings_summary(const ef_diags *diags, char *lines, size_t room);

#endif
