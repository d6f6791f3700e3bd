/* SPDX-License-Identifier: GPL-3.0-or-later
 * The scenario: one plant as a YAML file, read and checked as a whole. The language is described in
 * docs/scenario.md. */
#ifndef EVENFEED_SCENARIO_H
#define EVENFEED_SCENARIO_H

#include <evenfeed/diag.h>
#include <evenfeed/status.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* A checked scenario. Immutable: any number of threads may read one. */
typedef struct ef_scenario ef_scenario;

/*
 * Reads and checks a scenario file. `path` "-" is standard input. Tables that it names (`file:`) are read
 * relative to it. `settings` (shape [setting_count], NULL when that is 0) are overrides "path=value", applied
 * in order before checking: "stations.Deck.capacity=8 t/h". Findings are added to `diags` (borrowed), all of
 * them in one pass, sorted by position. On EF_OK `*scenario` is set, to be freed with ef_scenario_free;
 * warnings may have been added. EF_SCENARIO: there are errors, see `diags`. EF_FILE: the file cannot be read
 * (errno tells why). EF_MEMORY. Unless EF_OK, `*scenario` is left as it was.
 */
ef_status ef_scenario_load(const char *path, const char *const *settings, int setting_count, ef_diags *diags,
                           ef_scenario **scenario);

/* The same from memory, without settings and tables: `bytes` (length of them, copied) under the name `name`
 * for messages. */
ef_status ef_scenario_read(const char *name, const char *bytes, size_t length, ef_diags *diags,
                           ef_scenario **scenario);

/* Frees a scenario; NULL is allowed. Answers made from it borrow its names and must go first. */
void ef_scenario_free(ef_scenario *scenario);

/* Name of the plant. Lives as long as the scenario. */
const char *ef_scenario_plant(const ef_scenario *scenario);

/* How many crops, stations and materials. */
int ef_scenario_crops(const ef_scenario *scenario);
int ef_scenario_stations(const ef_scenario *scenario);
int ef_scenario_materials(const ef_scenario *scenario);

/* Name of crop `index`, NULL outside; number of the crop with this name, -1 when there is none. */
const char *ef_scenario_crop(const ef_scenario *scenario, int index);
int ef_scenario_find_crop(const ef_scenario *scenario, const char *name);

#ifdef __cplusplus
}
#endif
#endif
