/* SPDX-License-Identifier: GPL-3.0-or-later
 * Small seasons on one line: the best of all orders. */
#ifndef EFI_SEASON_EXACT_H
#define EFI_SEASON_EXACT_H

#include "shared/season/model.h"

enum {
    EFI_SEASON_MOST_EXACT = 9 /* lots */
};

/*
 * Looks through all orders of one line of at most so many lots, from an order in which nothing is forbidden
 * and its cost on; of an order that has begun nothing is looked at that must cost as much as the best so far.
 * `lot` (shape [lots]) and `value` become the best. `proven`: all were looked at; false, with nothing
 * changed, for other seasons, and past a limit of steps that is the same on every machine. EF_OK, EF_MEMORY.
 */
ef_status efi_season_exact(const efi_season_model *model, int *lot, int64_t *value, bool *proven);

#endif
