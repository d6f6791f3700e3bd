/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the rest of an order costs as a function of when it starts: convex, piecewise linear, kept for every
 * position. */
#ifndef EFI_SEQUENCE_SUFFIX_H
#define EFI_SEQUENCE_SUFFIX_H

#include "shared/sequence/model.h"

/* One piece: from `start` on (up to the next piece) the price is `price + slope * (x - start)`. */
typedef struct efi_piece {
    int64_t start;
    int64_t slope;
    int64_t price;
} efi_piece;

/*
 * For position k of an order, pieces[k * room .. + count[k] - 1] is F_k(x): lateness, makespan and
 * changeovers of the lots at k, k+1, ... when work on lot k starts at x >= 0. Position n is the end. F_k
 * depends only on the lots from k on, so a move that changes positions up to k - 1 leaves it valid.
 */
typedef struct efi_suffixes {
    const efi_model *model;
    int room;
    int *count;         /* [n+1] */
    efi_piece *pieces;  /* [n+1, room] */
    int64_t late_price; /* for one tick past a latest start, which the search may break on its way */
} efi_suffixes;

/* Takes memory for `model` from `arena`; false without memory. */
bool efi_suffixes_get(efi_suffixes *suffixes, const efi_model *model, efi_arena *arena);

/* Rebuilds F_k for k = last, last - 1, ..., 0 of `order`; those above must be right (last = n: all). */
void efi_suffixes_build(efi_suffixes *suffixes, const int *order, int last);

/* F_k(x). */
static inline int64_t efi_suffix_price(const efi_suffixes *suffixes, int k, int64_t x)
{
    const efi_piece *piece = suffixes->pieces + (size_t)k * (size_t)suffixes->room;
    int count = suffixes->count[k];
    while (count > 1) {
        const int half = count / 2;
        piece = piece[half].start <= x ? piece + half : piece;
        count -= half;
    }
    return piece->price + piece->slope * (x - piece->start);
}

/* The price of lateness of `lot` when its work starts at `start`. */
static inline int64_t efi_suffix_lot_price(const efi_suffixes *suffixes, int lot, int64_t start)
{
    const efi_model *const m = suffixes->model;
    const int64_t late = start + m->work[lot] - m->due[lot];
    const int64_t past = start - m->latest[lot];
    return (late > 0 ? m->weight[lot] * late : 0) + (past > 0 ? suffixes->late_price * past : 0);
}

#endif
