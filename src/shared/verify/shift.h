/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the verifier of a shift share. */
#ifndef EFI_VERIFY_SHIFT_H
#define EFI_VERIFY_SHIFT_H

#include "model/scenario.h"
#include "shared/verify/differences.h"

#include <evenfeed/shift.h>

/* By this much, h, the hours of an account may miss those of the calendar; tonnes of a shift, t, relative to
 * what was taken, may differ from what came out and stayed. */
#define EFI_VERIFY_HOURS  1e-9
#define EFI_VERIFY_MASS_T 1e-9

#define EFI_VERIFY_CONFIDENCE 0.95

typedef struct efi_shift_check {
    const ef_scenario *scenario;
    const ef_shift *claim;
    efi_differences *list;
    int crop;      /* of the scenario */
    double people; /* on a shift of which nothing else is said */
} efi_shift_check;

/* Number of the station of the scenario with this name, -1 without. */
int efi_shift_check_find(const efi_shift_check *c, const char *name);

/* Finds the people; EF_OK or EF_MEMORY. */
ef_status efi_shift_check_people(efi_shift_check *c, efi_arena *arena);

/* Shifts, amounts and their limits; EF_OK or EF_MEMORY. */
ef_status efi_shift_check_amounts(const efi_shift_check *c);

/* The shifts of a run, and the hours that the calendar gives. */
void efi_shift_check_calendar(const efi_shift_check *c);

/* Where the hours go, effectiveness, cost, levels, remedies. */
void efi_shift_check_hours(const efi_shift_check *c);
void efi_shift_check_cost(const efi_shift_check *c);
void efi_shift_check_levels(const efi_shift_check *c);
void efi_shift_check_remedies(const efi_shift_check *c);

/* Are the three numbers of an estimate as expected? Infinite limits must be so on both sides. */
void efi_shift_check_estimate(const efi_shift_check *c, const char *what, ef_shift_estimate claimed,
                              double value, double low, double high);

#endif
