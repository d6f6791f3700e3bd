/* SPDX-License-Identifier: GPL-3.0-or-later
 * The rings among the spouts, without recursion. */
#include "model/ways.h"

/* A search in depth. Positions in the order of discovery count from 1; 0 is a station not found yet. */
typedef struct search {
    const efi_ways *ways;
    const bool *used;
    int *ring;  /* shape [station], the answer */
    int *found; /* shape [station]: position in the order of discovery */
    int *low;   /* shape [station]: the first position known to be in the same ring */
    int *next;  /* shape [station]: the way to look at next */
    int *path;  /* shape [station]: from where the search began to where it is */
    int *open;  /* shape [station]: found, and in no ring that is closed */
    bool *is_open;
    int order, depth, open_count;
} search;

static void enter(search *at, int s)
{
    at->found[s] = at->low[s] = ++at->order;
    at->next[s] = at->ways->first_out[s];
    at->path[at->depth++] = s;
    at->open[at->open_count++] = s;
    at->is_open[s] = true;
}

/* Takes the ring that was entered at `s` off the open stations. */
static void close_ring(search *at, int s)
{
    int begin = at->open_count;
    int first = s;
    do {
        begin--;
        first = at->open[begin] < first ? at->open[begin] : first;
    } while (at->open[begin] != s);
    for (int i = begin; i < at->open_count; i++) {
        at->ring[at->open[i]] = at->open_count - begin > 1 ? first : -1;
        at->is_open[at->open[i]] = false;
    }
    at->open_count = begin;
}

/* Goes on from the end of the path: one way further, or back. */
static void step(search *at)
{
    const int s = at->path[at->depth - 1];
    if (at->next[s] < at->ways->first_out[s + 1]) {
        const int w = at->next[s]++;
        const int to = at->ways->way[w].to;
        if (!at->used[w])
            return;
        if (at->found[to] == 0)
            enter(at, to);
        else if (at->is_open[to] && at->found[to] < at->low[s])
            at->low[s] = at->found[to];
        return;
    }
    if (at->low[s] == at->found[s])
        close_ring(at, s);
    at->depth--;
    if (at->depth > 0) {
        const int above = at->path[at->depth - 1];
        at->low[above] = at->low[s] < at->low[above] ? at->low[s] : at->low[above];
    }
}

ef_status efi_ways_rings(const efi_ways *ways, int stations, const bool *used, int *ring)
{
    efi_arena *arena = efi_arena_new();
    if (!arena)
        return EF_MEMORY;
    const size_t count = (size_t)stations;
    search at = {.ways = ways,
                 .used = used,
                 .ring = ring,
                 .found = efi_arena_get(arena, count, sizeof(int)),
                 .low = efi_arena_get(arena, count, sizeof(int)),
                 .next = efi_arena_get(arena, count, sizeof(int)),
                 .path = efi_arena_get(arena, count, sizeof(int)),
                 .open = efi_arena_get(arena, count, sizeof(int)),
                 .is_open = efi_arena_get(arena, count, sizeof(bool))};
    const bool room = at.found && at.low && at.next && at.path && at.open && at.is_open;
    for (int s = 0; room && s < stations; s++) {
        if (at.found[s] == 0)
            enter(&at, s);
        while (at.depth > 0)
            step(&at);
    }
    efi_arena_free(arena);
    return room ? EF_OK : EF_MEMORY;
}
