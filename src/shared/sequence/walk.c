/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/sequence/walk.h"

/* Has every lot that must run before `lot` been placed among order[0 .. placed-1]? */
static bool is_ready(const efi_model *m, const int *order, int placed, int lot)
{
    const uint64_t *const before = m->before + (size_t)lot * (size_t)m->words;
    int needed = 0;
    for (int i = 0; i < m->n; i++)
        needed += efi_set_has(before, i);
    for (int k = 0; k < placed; k++)
        needed -= efi_set_has(before, order[k]);
    return needed <= 0;
}

/* What makes a lot next: its changeover, how late its limit or due date comes. */
static int64_t urgency(const efi_model *m, int from, int64_t end, int lot)
{
    const int64_t start = efi_model_start(m, from, end, lot);
    if (m->has_limits)
        return (m->latest[lot] == EFI_FAR ? m->horizon : m->latest[lot]) + (start - end);
    if (m->timed)
        return (m->due[lot] == EFI_FAR ? m->horizon : m->due[lot]) + (start - end);
    return m->price[(size_t)from * (size_t)(m->n + 1) + (size_t)lot];
}

void efi_walk_start(const efi_model *m, efi_random *random, int *order)
{
    for (int i = 0; i < m->n; i++)
        order[i] = i;
    int from = m->n;
    int64_t end = 0;
    for (int placed = 0; placed < m->n; placed++) {
        int chosen = -1;
        int64_t least = 0;
        for (int k = placed; k < m->n; k++) {
            if (m->has_pairs && !is_ready(m, order, placed, order[k]))
                continue;
            const int64_t now = urgency(m, from, end, order[k]);
            const bool slip = chosen >= 0 && efi_random_below(random, 8) == 0;
            if (chosen < 0 || (now < least && !slip)) {
                chosen = k;
                least = now;
            }
        }
        if (chosen < 0)
            chosen = placed; /* pairs form a cycle: any order is as wrong */
        const int lot = order[chosen];
        order[chosen] = order[placed];
        order[placed] = lot;
        end = efi_model_start(m, from, end, lot) + m->work[lot];
        from = lot;
    }
}
