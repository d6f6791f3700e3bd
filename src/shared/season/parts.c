/* SPDX-License-Identifier: GPL-3.0-or-later
 * Parts of a plan that are searched one after the other: some lots of each line that run at about the same
 * time. */
#include "shared/season/walk.h"

/* Lots of a line that parts may be of. */
static int room_of(const efi_season_walk *walk, int line)
{
    return walk->row[line].count - walk->parts.before[line] - walk->parts.after[line];
}

/* The part has a place of a line in its middle; on the other lines at the same time. */
static void lay_part(efi_season_walk *walk, int line, int place, int wide)
{
    const efi_season_row *row = &walk->row[line];
    const int64_t start_s = walk->moment[row->lot[place]].start_s;
    for (int k = 0; k < walk->model->problem->lines; k++) {
        const int room = room_of(walk, k);
        const int mine = wide < room ? wide : room;
        const int first = walk->parts.before[k];
        int from = (k == line ? place : efi_season_place_at(walk, k, start_s)) - mine / 2;
        from = from > first + room - mine ? first + room - mine : from;
        from = from < first ? first : from;
        walk->before[k] = from;
        walk->after[k] = walk->row[k].count - from - mine;
    }
}

void efi_season_next_part(efi_season_walk *walk)
{
    const int lines = walk->model->problem->lines;
    efi_season_parts *parts = &walk->parts;
    int line = 0;
    efi_season_walk_return(walk);
    for (int k = 1; k < lines; k++)
        line = room_of(walk, k) > room_of(walk, line) ? k : line;
    const int room = room_of(walk, line);
    const int wide = parts->lots / lines;
    if (parts->at < 0)
        parts->at = (int)efi_random_below(&walk->random, (uint32_t)wide);
    if (room > 0)
        lay_part(walk, line, parts->before[line] + parts->at % room, wide);
    parts->at += wide;
    parts->at -= room > 0 && parts->at >= room ? room : 0;
    int lots = 0;
    for (int k = 0; k < lines; k++)
        lots += walk->row[k].count - walk->before[k] - walk->after[k];
    parts->changes = lots * parts->of_lot;
    if (parts->changes < EFI_SEASON_COOLINGS)
        parts->changes = EFI_SEASON_COOLINGS;
    parts->left = parts->changes;
    walk->heat = parts->heat;
    walk->stays = 0;
}
