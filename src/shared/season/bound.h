/* SPDX-License-Identifier: GPL-3.0-or-later
 * What no plan can cost less than. */
#ifndef EFI_SEASON_BOUND_H
#define EFI_SEASON_BOUND_H

#include "shared/season/model.h"

/* By term, and in all. Plans that may be followed (nothing forbidden) cost no less. EF_OK, EF_MEMORY. */
ef_status efi_season_bound(const efi_season_model *model, efi_season_cost *bound);

#endif
