/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the season engine share: the working time of each line, and what one lot does to a line.
 */
#ifndef EFI_SEASON_MODEL_H
#define EFI_SEASON_MODEL_H

#include "base/memory.h"
#include "shared/season/season.h"

/* A stretch of working time. */
typedef struct efi_season_span {
    int64_t from_s, to_s;
    bool is_overtime;
    bool is_fresh; /* after a pause */
} efi_season_span;

typedef struct efi_season_clock {
    efi_season_span *span; /* shape [spans] */
    int spans;
    int64_t to_s; /* end of the calendar */
} efi_season_clock;

typedef struct efi_season_model {
    const efi_season_problem *problem;
    efi_season_clock clock[EFI_SEASON_MOST_LINES];
    int *by_arrival; /* shape [lots] */
    efi_arena *arena;
} efi_season_model;

/* Where a line stands after some of its lots. */
typedef struct efi_season_state {
    int64_t at_s;
    int span;      /* that holds or follows at_s */
    int last;      /* lot; `lots`: none yet */
    int64_t price; /* of all so far: cleaning, late, wet, overtime */
    int forbidden;
} efi_season_state;

/* Checks the problem and prepares. EF_OK, EF_USAGE, EF_MEMORY; free it in any case. */
ef_status efi_season_model_build(efi_season_model *model, const efi_season_problem *problem);
void efi_season_model_free(efi_season_model *model);

/* a * b / c, rounded down; the largest number where that is too large. a, b >= 0, c > 0. */
int64_t efi_season_scale(int64_t a, int64_t b, int64_t c);

efi_season_state efi_season_begin(const efi_season_model *model, int line);

/* When a lot runs. */
typedef struct efi_season_moment {
    int64_t start_s, end_s;
} efi_season_moment;

/* Runs a lot next on a line. `run` (NULL: not wanted) gets all but the stores. */
efi_season_state efi_season_next(const efi_season_model *model, int line, const efi_season_state *state,
                                 int lot, efi_season_moment *moment, efi_season_run *run);

/* What would become of a lot that had a line for itself, without cleaning: no plan can end it sooner there.
 */
void efi_season_alone(const efi_season_model *model, int line, int lot, efi_season_run *run);

/* The changeover after the last lot of a line. */
void efi_season_close(const efi_season_model *model, const efi_season_state *state, int64_t *price,
                      int *forbidden);

/* Price of what finds no room, for the moments of all lots (shape [lots]). `order` (shape [lots]) is scratch
 * that holds any order of the lots; `run` (shape [lots], NULL: not wanted) gets the stores. */
int64_t efi_season_store_raw(const efi_season_model *model, const efi_season_moment *moment,
                             efi_season_run *run);
int64_t efi_season_store_finished(const efi_season_model *model, const efi_season_moment *moment, int *order,
                                  efi_season_run *run);

#endif
