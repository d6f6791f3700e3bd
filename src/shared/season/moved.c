/* SPDX-License-Identifier: GPL-3.0-or-later
 * Which lots an earlier plan had elsewhere: all but a longest rising subsequence of their places (M. L.
 * Fredman, On computing the length of longest increasing subsequences, Discrete Mathematics 11 (1975) 29-35).
 */
#include "shared/season/model.h"

/* Places so far: least[k] is the least place with which k + 1 lots in order can end. */
static int add_lots(const efi_season_problem *p, int line, const int *lot, int count, int *least, int length)
{
    for (int i = 0; i < count; i++) {
        const efi_season_lot *of = &p->lot[lot[i]];
        if (!of->was_planned || of->was_line != line)
            continue;
        int at = length;
        if (length > 0 && of->was_place <= least[length - 1]) {
            int low = 0;
            at = length - 1;
            while (low < at) {
                const int middle = low + (at - low) / 2;
                if (least[middle] < of->was_place)
                    low = middle + 1;
                else
                    at = middle;
            }
        }
        least[at] = of->was_place;
        length += at == length;
    }
    return length;
}

int efi_season_kept(const efi_season_problem *problem, int line, const efi_season_sequence *sequence,
                    int *least)
{
    int length = add_lots(problem, line, sequence->lot, sequence->from, least, 0);
    length = add_lots(problem, line, sequence->middle, sequence->middles, least, length);
    return add_lots(problem, line, sequence->lot + sequence->until, sequence->count - sequence->until, least,
                    length);
}

void efi_season_mark_moved(const efi_season_problem *problem, int line, const int *lot, int count,
                           int *scratch, efi_season_run *run)
{
    int *length_at = scratch; /* of the longest that ends with each lot */
    int *least = scratch + problem->lots;
    int length = 0;
    for (int i = 0; i < count; i++) {
        const efi_season_lot *of = &problem->lot[lot[i]];
        run[lot[i]].is_moved = of->was_planned;
        length_at[i] = 0;
        if (!of->was_planned || of->was_line != line)
            continue;
        (void)add_lots(problem, line, &lot[i], 1, least, length);
        int at = 0;
        while (least[at] != of->was_place)
            at++;
        length_at[i] = at + 1;
        length = at + 1 > length ? at + 1 : length;
    }
    int place = -1; /* of the kept lot behind */
    for (int i = count - 1; i >= 0 && length > 0; i--) {
        const int mine = problem->lot[lot[i]].was_place;
        if (length_at[i] != length || (place >= 0 && mine >= place))
            continue;
        run[lot[i]].is_moved = false;
        place = mine;
        length--;
    }
}
