/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/sequence/assignment.h"
#include "base/memory.h"

#include <stdbool.h>

typedef struct scratch {
    int *row_of;      /* [size + 1] row of a column, -1 none; column `size` is where a path begins */
    int *way;         /* [size + 1] column before this one on the shortest path */
    int64_t *nearest; /* [size + 1] length of the shortest path to a column */
    bool *done;       /* [size + 1] */
} scratch;

static bool get_scratch(scratch *s, int size)
{
    const size_t count = (size_t)size + 1;
    s->row_of = efi_new(count, sizeof *s->row_of);
    s->way = efi_new(count, sizeof *s->way);
    s->nearest = efi_new(count, sizeof *s->nearest);
    s->done = efi_new(count, sizeof *s->done);
    return s->row_of && s->way && s->nearest && s->done;
}

static void free_scratch(scratch *s)
{
    efi_free(s->row_of);
    efi_free(s->way);
    efi_free(s->nearest);
    efi_free(s->done);
}

/* One step of Dijkstra: settles column `at`, returns the next nearest; duals move so that its slack is 0. */
static int settle(scratch *s, int size, const int64_t *price, int at, int64_t *row_dual, int64_t *column_dual)
{
    s->done[at] = true;
    const int row = s->row_of[at];
    int64_t least = INT64_MAX;
    int next = -1;
    for (int j = 0; j < size; j++) {
        if (s->done[j])
            continue;
        const int64_t slack = price[(size_t)row * (size_t)size + (size_t)j] - row_dual[row] - column_dual[j];
        if (slack < s->nearest[j]) {
            s->nearest[j] = slack;
            s->way[j] = at;
        }
        if (s->nearest[j] < least) {
            least = s->nearest[j];
            next = j;
        }
    }
    for (int j = 0; j <= size; j++) {
        if (s->done[j]) {
            row_dual[s->row_of[j]] += least;
            if (j < size)
                column_dual[j] -= least;
        } else {
            s->nearest[j] -= least;
        }
    }
    return next;
}

ef_status efi_assignment_solve(int size, const int64_t *price, int *column_of, int64_t *row_dual,
                               int64_t *column_dual, int64_t *least)
{
    scratch s = {0};
    if (!get_scratch(&s, size)) {
        free_scratch(&s);
        return EF_MEMORY;
    }
    for (int j = 0; j < size; j++) {
        s.row_of[j] = -1;
        row_dual[j] = 0;
        column_dual[j] = 0;
    }
    for (int row = 0; row < size; row++) {
        for (int j = 0; j <= size; j++) {
            s.nearest[j] = INT64_MAX / 2;
            s.done[j] = false;
        }
        s.row_of[size] = row;
        int at = size;
        do
            at = settle(&s, size, price, at, row_dual, column_dual);
        while (s.row_of[at] >= 0);
        while (at != size) {
            const int before = s.way[at];
            s.row_of[at] = s.row_of[before];
            at = before;
        }
    }
    *least = 0;
    for (int j = 0; j < size; j++) {
        column_of[s.row_of[j]] = j;
        *least += row_dual[j] + column_dual[j];
    }
    free_scratch(&s);
    return EF_OK;
}
