/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/sequence/suffix.h"

bool efi_suffixes_get(efi_suffixes *s, const efi_model *model, efi_arena *arena)
{
    const size_t n = (size_t)model->n;
    s->model = model;
    s->room = 3 * model->n + 2;
    s->late_price = 1;
    s->count = efi_arena_get(arena, n + 1, sizeof *s->count);
    s->pieces = efi_arena_get(arena, (n + 1) * (size_t)s->room, sizeof *s->pieces);
    return s->count && s->pieces;
}

/* A place where the slope of a function grows. */
typedef struct bend {
    int64_t at;
    int64_t more;
} bend;

/* The bends that the lot's own lateness adds, in order; `*slope` takes what lies at or before x = 0. */
static int own_bends(const efi_suffixes *s, int lot, bend own[2], int64_t *slope)
{
    const efi_model *const m = s->model;
    const bend due = {m->due[lot] - m->work[lot], m->weight[lot]};
    const bend limit = {m->latest[lot], s->late_price};
    const bend both[2] = {due.at <= limit.at ? due : limit, due.at <= limit.at ? limit : due};
    int count = 0;
    for (int i = 0; i < 2; i++) {
        if (both[i].at <= 0)
            *slope += both[i].more;
        else if (both[i].more > 0 && both[i].at < EFI_FAR)
            own[count++] = both[i];
    }
    return count;
}

/* Appends a bend at x to the pieces of F_k. */
static void add_bend(efi_piece *piece, int *count, int64_t at, int64_t more)
{
    efi_piece *const last = piece + *count - 1;
    if (last->start == at) {
        last->slope += more;
        return;
    }
    last[1] = (efi_piece){at, last->slope + more, last->price + last->slope * (at - last->start)};
    (*count)++;
}

/*
 * F_k(x) = own(x) + price(k, k+1) + F_k+1(max(x + shift, least)): the pieces of F_k+1 moved left by `shift`,
 * flat before x = least - shift, merged with the bends of own. Everything left of x = 0 is folded into the
 * first piece.
 */
static void build_one(efi_suffixes *s, const int *order, int k)
{
    const efi_model *const m = s->model;
    const int lot = order[k];
    const int next = k + 1 < m->n ? order[k + 1] : m->n;
    const size_t arc = (size_t)lot * (size_t)(m->n + 1) + (size_t)next;
    const int64_t shift = m->work[lot] + m->time[arc];
    const int64_t least = m->early ? m->release[next] : m->release[next] + m->time[arc];
    const efi_piece *const rest = s->pieces + (size_t)(k + 1) * (size_t)s->room;
    const int rest_count = s->count[k + 1];
    efi_piece *const piece = s->pieces + (size_t)k * (size_t)s->room;
    bend own[2];
    int64_t slope = 0;
    const int own_count = own_bends(s, lot, own, &slope);
    const int64_t entry = shift > least ? shift : least;
    int r = 0;
    while (r + 1 < rest_count && rest[r + 1].start <= entry)
        r++;
    piece[0].start = 0;
    piece[0].price = efi_suffix_lot_price(s, lot, 0) + m->price[arc] + rest[r].price +
                     rest[r].slope * (entry - rest[r].start);
    piece[0].slope = slope + (least > shift ? 0 : rest[r].slope);
    int count = 1;
    int o = 0;
    int64_t pending = least > shift ? rest[r].slope : 0; /* the slope that begins where waiting ends */
    int64_t pending_at = least - shift;
    if (least <= shift && r + 1 < rest_count) {
        r++;
        pending_at = rest[r].start - shift;
        pending = rest[r].slope - rest[r - 1].slope;
    } else if (least <= shift) {
        r = rest_count;
    }
    while (r < rest_count || o < own_count) {
        if (r >= rest_count || (o < own_count && own[o].at < pending_at)) {
            add_bend(piece, &count, own[o].at, own[o].more);
            o++;
            continue;
        }
        add_bend(piece, &count, pending_at, pending);
        r++;
        if (r < rest_count) {
            pending_at = rest[r].start - shift;
            pending = rest[r].slope - rest[r - 1].slope;
        }
    }
    s->count[k] = count;
}

void efi_suffixes_build(efi_suffixes *s, const int *order, int last)
{
    const int n = s->model->n;
    if (last >= n) {
        s->pieces[(size_t)n * (size_t)s->room] = (efi_piece){0, s->model->makespan_price, 0};
        s->count[n] = 1;
        last = n - 1;
    }
    for (int k = last; k >= 0; k--)
        build_one(s, order, k);
}
