/* SPDX-License-Identifier: GPL-3.0-or-later
 * Parts of a plan that are searched one after the other: some lots of each line that run at about the same
 * time. */
#include "shared/season/walk.h"

enum {
    LOTS_OF_PART = 128
};

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
    int open = 0;
    efi_season_walk_return(walk);
    for (int line = 0; line < lines; line++)
        open += room_of(walk, line);
    int place = (int)efi_random_below(&walk->random, (uint32_t)open);
    int line = 0;
    while (place >= room_of(walk, line))
        place -= room_of(walk, line++);
    lay_part(walk, line, walk->parts.before[line] + place, LOTS_OF_PART / lines);
    int lots = 0;
    for (int k = 0; k < lines; k++)
        lots += walk->row[k].count - walk->before[k] - walk->after[k];
    walk->parts.changes = lots * walk->parts.of_lot;
    if (walk->parts.changes < EFI_SEASON_COOLINGS)
        walk->parts.changes = EFI_SEASON_COOLINGS;
    walk->parts.left = walk->parts.changes;
    walk->heat = walk->parts.heat;
}
