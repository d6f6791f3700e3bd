/* SPDX-License-Identifier: GPL-3.0-or-later
 * What differs between two scenarios, key by key, as they were read: tables and settings are in, comments and
 * the order of keys are not. */
#ifndef EFI_DIFFERENCE_H
#define EFI_DIFFERENCE_H

#include "model/scenario.h"

/* One value that differs. Texts live in the arena given. */
typedef struct efi_difference {
    const char *path;  /* "stations.Deck.capacity" */
    const char *here;  /* as written, cut where it is long; NULL: absent */
    const char *there; /* the same */
} efi_difference;

typedef struct efi_difference_list {
    efi_difference *items; /* shape [count] */
    int count;
    int more; /* further ones, left out */
} efi_difference_list;

/* Lists the first `most` of them, in the order of `here`, then of `there`; notes are left out. EF_OK or
 * EF_MEMORY. */
ef_status efi_scenario_differences(const ef_scenario *here, const ef_scenario *there, efi_arena *arena,
                                   int most, efi_difference_list *list);

#endif
