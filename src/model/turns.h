/* SPDX-License-Identifier: GPL-3.0-or-later
 * Machines that turn one material of the stream into others. */
#ifndef EFI_TURNS_H
#define EFI_TURNS_H

#include "model/bind.h"
#include "model/ways.h"

/* After all is read: which scenario turns anything, and what passes of each crop. */
void efi_turns_finish(efi_binder *b);

/* Marks in `pairs`, shape [station][material], what the intakes receive of a crop: of one material, or of all
 * when it is below 0. */
void efi_turns_receive(const ef_scenario *scenario, int crop, int material, bool *pairs);

/* Follows what is marked in `pairs`, shape [station][material], down the line and through what becomes of it:
 * marks what comes where. `stack` has room for as many pairs. */
void efi_turns_down(const efi_ways *ways, const ef_scenario *scenario, int crop, bool *pairs, int *stack);

/* Marks in `pairs` (cleared by the caller) what at least in part reaches an outlet from where it is. */
void efi_turns_up(const efi_ways *ways, const ef_scenario *scenario, int crop, bool *pairs, int *stack);

#endif
