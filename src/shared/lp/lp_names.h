/* SPDX-License-Identifier: GPL-3.0-or-later
 * Names for written models: unique, in [A-Za-z0-9_], the same each time. */
#ifndef EFI_LP_NAMES_H
#define EFI_LP_NAMES_H

#include "shared/lp/lp.h"
#include "base/memory.h"

/*
 * Names of all columns to columns[efi_lp_columns(lp)] and of all rows to rows[efi_lp_rows(lp)], in the arena.
 * No two are equal, columns and rows together, letter case told apart, nor equal to one of the
 * `reserved_count` reserved names (which follow these rules themselves).
 *   - every byte outside [A-Za-z0-9_] becomes an underscore, and names are cut at 48 bytes;
 *   - a name is put behind "n_" when it is empty, does not begin with a letter, might be read as a number
 *     (e or E and a digit), or is a word of the CPLEX LP format in any case;
 *   - columns without a name are called c1, c2, ..., rows r1, r2, ..., by their place counted from 1;
 *   - columns come before rows and low places before high: the first keeps its name, later equals get _2, _3
 *     and so on, passing over names that are taken.
 * Returns EF_OK or EF_MEMORY.
 */
ef_status efi_lp_names_make(const efi_lp *lp, const char *const *reserved, int reserved_count,
                            efi_arena *arena, const char **columns, const char **rows);

#endif
