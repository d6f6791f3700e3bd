/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the season share: rates, rules for cleaning, the engine's problem, and a plan that is
 * taken up. */
#ifndef EFI_ANSWERS_SEASON_H
#define EFI_ANSWERS_SEASON_H

#include "base/memory.h"
#include "model/scenario.h"
#include "shared/season/season.h"

#include <evenfeed/season.h>

/* ---- a plan that is taken up ----------------------------------------------------------------------------
 */

/* One lot on its line, in the order of the line. */
typedef struct efi_plan_lot {
    int lot;       /* of the scenario */
    int64_t start; /* seconds from 1970-01-01T00:00; EF_SEASON_NONE: not given */
    int64_t end;   /* the same */
} efi_plan_lot;

typedef struct efi_plan_line {
    efi_plan_lot *lots; /* shape [count]; no lot is named twice in a plan */
    int count;
} efi_plan_line;

/* Made by ef_season_plan_read; all in its arena. */
struct ef_season_plan {
    efi_arena *arena;
    efi_plan_line *lines; /* shape [line_count] */
    int line_count;       /* as efi_season_lines says of the scenario */
};

/* ---- lines ----------------------------------------------------------------------------------------------
 */

/* Lines to plan for: those of the scenario, or one that stands for all of it. */
int efi_season_lines(const ef_scenario *scenario);

/* What a line is called: "line" where the scenario names none. Valid as long as the scenario. */
const char *efi_season_line_name(const ef_scenario *scenario, int line);

#endif
