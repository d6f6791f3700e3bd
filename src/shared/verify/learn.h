/* SPDX-License-Identifier: GPL-3.0-or-later
 * The parts of verifying what was learned from logs. */
#ifndef EFI_VERIFY_LEARN_H
#define EFI_VERIFY_LEARN_H

#include "model/scenario.h"
#include "shared/verify/differences.h"

#include <evenfeed/learn.h>

/* Forms, means and limits of recorded times (learn_times.c). */
void efi_verify_times(efi_differences *list, const ef_learn_times *times, bool between, const char *what);

/* Scales, flows and shares (learn_totals.c). EF_OK or EF_MEMORY. */
ef_status efi_verify_totals(efi_differences *list, const ef_scenario *scenario, const ef_learn *learn);

#endif
