/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the answer `season` share. */
#ifndef EFI_ANSWERS_SEASON_H
#define EFI_ANSWERS_SEASON_H

#include "base/memory.h"
#include "model/scenario.h"

#include <evenfeed/season.h>

/* One row of a plan file. */
typedef struct efi_planned {
    int lot;            /* its number in the scenario */
    int line;           /* number of its line; -1: the row has none, the lot is still to be planned */
    int state;          /* efi_lot_state; -1: the row does not say */
    int64_t start, end; /* seconds from 1970-01-01T00:00; EF_SEASON_NONE: the row does not say */
    const char *note;   /* as typed; "" */
} efi_planned;

/* An order of lots as a plan file gives it: on each line the order of the rows. Every lot stands once at
 * most; lots of the scenario may be missing. */
struct ef_season_plan {
    efi_arena *arena; /* of everything here */
    const efi_planned *rows;
    int count;
};

#endif
