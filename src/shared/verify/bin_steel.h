/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of bins in steel. */
#ifndef EFI_VERIFY_BIN_STEEL_H
#define EFI_VERIFY_BIN_STEEL_H

#include "model/scenario.h"
#include "shared/verify/differences.h"

#include <evenfeed/steel.h>

/*
 * Compares a bin in steel that fits with what it must be: volumes by columns, heights, sheet, the law of the
 * outlet, and that it keeps within what its station gives and limits and holds what is asked. `station`: its
 * number. Adds a line for each difference. A bin that does not fit is not looked at: that nothing would do is
 * not proved here.
 */
void efi_verify_steel(const ef_scenario *scenario, int station, const ef_steel *steel, efi_differences *list);

#endif
