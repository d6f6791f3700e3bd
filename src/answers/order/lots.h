/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lots and changeovers as the tables give them, in hours. */
#ifndef EFI_ORDER_LOTS_H
#define EFI_ORDER_LOTS_H

#include "base/memory.h"

#include <evenfeed/order.h>

/* In hours of a limit: none; of a changeover: not allowed. */
#define EFI_LOTS_NONE (-1.0)

struct ef_lots {
    efi_arena *arena;
    int count;
    const char **name;      /* [count] */
    double *work_h;         /* [count] */
    double *arrival_h;      /* [count] 0 when there from the beginning */
    double *due_h;          /* [count] or EFI_LOTS_NONE */
    double *priority;       /* [count] */
    double *latest_start_h; /* [count] or EFI_LOTS_NONE */
    double *latest_end_h;   /* [count] or EFI_LOTS_NONE */
    double *changeover_h;   /* [count + 1, count + 1] from, to; index count: start (row), end (column) */
    bool has_ends;          /* a row "start" or a column "end" was given */
    bool has_limits;        /* some arrival, latest start, latest end or pair was given */
    int pairs;
    int (*before)[2]; /* [pairs] */
};

#endif
