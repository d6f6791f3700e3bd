/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the balance share. */
#ifndef EFI_BALANCE_H
#define EFI_BALANCE_H

#include "shared/steady/steady.h"

#include <evenfeed/balance.h>

/*
 * Explains why demands cannot be met at all: the power limit, or each least rate that is out of reach, with
 * the most that its outlet can get and the stations that hold it there. Where shares are to be
 * chosen the relaxation is asked. The model is changed and of no further use. EF_OK, EF_MEMORY, EF_INTERNAL.
 */
ef_status efi_balance_explain(efi_steady_model *model, efi_arena *arena, ef_balance_crop *crop);

/* Lists the least purities that are missed when they are not asked for; none when the line stands still for
 * another reason. The model then loses its purity rows;
 * without any it is left at shares that keep them, to be chosen again. */
ef_status efi_balance_explain_purity(efi_steady_model *model, efi_arena *arena, ef_balance_crop *crop);

/* Fills in a crop of the answer from the rates and feeds of a solved model; `*stations` are its stations, for
 * the worth. */
ef_status efi_balance_fill(ef_balance_crop *crop, efi_arena *arena, const efi_steady_model *model,
                           double surge_rule_h, ef_balance_station **stations);

/* Slopes of aim, intake and product when the upper bound of a row grows. */
ef_status efi_balance_worth_of(efi_steady_model *model, int row, double *aim_slope, double *intake_slope,
                               double *product_slope);

/* Fills in the worth of what limits. The model is solved at its best shares, and left so. */
ef_status efi_balance_worth(efi_steady_model *model, ef_balance_crop *crop, ef_balance_station *stations);

/* The rungs of the ladder, `most` of them at the most. The model is left with its capacities as they were. */
ef_status efi_balance_ladder(efi_steady_model *model, efi_arena *arena, int most, ef_balance_crop *crop);

#endif
