/* SPDX-License-Identifier: GPL-3.0-or-later
 * Descent to a local optimum for orders whose price depends on times: moves, what they cost, which to try. */
#ifndef EFI_SEQUENCE_DESCENT_H
#define EFI_SEQUENCE_DESCENT_H

#include "shared/sequence/suffix.h"

/*
 * An order with its times and the lots whose moves wait to be looked at. Moves are the exchange of the
 * neighbouring segments at positions a .. b-1 and b .. c-1 (so every move of one lot or a block) and the swap
 * of the lots at two positions; those that break a pair are left out. Latest starts may be broken, at
 * suffixes.late_price for each tick.
 */
typedef struct efi_descent {
    const efi_model *model;
    efi_suffixes suffixes;
    int *order;      /* [n] */
    int64_t price;   /* of `order`, broken limits priced */
    uint64_t steps;  /* moves looked at */
    int64_t *end;    /* [n] end of the lot at a position */
    int64_t *so_far; /* [n] price up to and with the lot at a position */
    int *spare;      /* [n] */
    int *queue;      /* [n] ring of waiting lots */
    bool *queued;    /* [n] */
    int queue_first;
    int queue_count;
    bool *follows; /* [n] must run after a lot of the segment at hand */
} efi_descent;

/* Takes memory for `model` from `arena`; false without memory. */
bool efi_descent_get(efi_descent *descent, const efi_model *model, efi_arena *arena);

/* Takes over an order that keeps all pairs. */
void efi_descent_take(efi_descent *descent, const int *order);

/* A lot waits; those near a position wait, because the changeover into it changed. */
void efi_descent_enqueue(efi_descent *descent, int lot);
void efi_descent_enqueue_around(efi_descent *descent, int position);

/* Makes the best move at the position of one waiting lot after the other until none waits. */
void efi_descent_run(efi_descent *descent);

/* May segment b .. c-1 run before a .. b-1, as far as pairs go? */
bool efi_descent_may_exchange(const efi_descent *descent, int a, int b, int c);

/* Exchanges the segments; after one or more of it within positions from .. to-1 comes efi_descent_renew. */
void efi_descent_exchange(efi_descent *descent, int a, int b, int c);
void efi_descent_renew(efi_descent *descent, int from, int to);

#endif
