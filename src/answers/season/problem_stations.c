/* SPDX-License-Identifier: GPL-3.0-or-later
 * The engine's problem of lines that are cleaned station by station. */
#include "answers/season/problem.h"

#include <math.h>
#include <string.h>

bool efi_season_by_station(const efi_season_case *of, int line)
{
    return of->way && of->way[line].count > 0;
}

/* ---- work and room --------------------------------------------------------------------------------------
 */

static int64_t at_least_one(int64_t seconds)
{
    return seconds > 0 ? seconds : 1;
}

/* The slowest station has the hours of the line; a room is the share of the lot that it holds, in hours of
 * the station before it. */
static void fill_lot(const efi_season_case *of, int line, int e, int64_t *work_s, int64_t *room_s)
{
    const int l = of->lot_of[e];
    const efi_line_way *way = &of->way[line];
    const efi_crop_way *crop = &way->crop[of->lots[l].crop];
    const int64_t line_s = of->problem.work_s[(size_t)line * (size_t)of->problem.lots + (size_t)e];
    for (int m = 0; m < way->count; m++) {
        const double held = of->now[l].left_t > 0.0 ? crop->room_t[m] / of->now[l].left_t : 0.0;
        work_s[m] = at_least_one(line_s > 0 ? llround(crop->share[m] * (double)line_s) : 0);
        room_s[m] = efi_season_whole(floor(fmin(held, 1e6) * (double)work_s[m]), 1.0);
    }
}

static ef_status fill_times(efi_season_case *of, int line, efi_season_stations *into)
{
    const efi_line_way *way = &of->way[line];
    const size_t n = (size_t)way->count;
    const size_t lots = (size_t)of->problem.lots;
    int64_t *work_s = efi_arena_get(of->arena, lots * n, sizeof *work_s);
    int64_t *room_s = efi_arena_get(of->arena, lots * n, sizeof *room_s);
    int64_t *delay_s = efi_arena_get(of->arena, n, sizeof *delay_s);
    if (!work_s || !room_s || !delay_s)
        return EF_MEMORY;
    for (size_t m = 0; m < n; m++)
        delay_s[m] = efi_season_whole(way->delay_h[m], EFI_HOUR_S);
    for (size_t e = 0; e < lots; e++)
        fill_lot(of, line, (int)e, work_s + e * n, room_s + e * n);
    *into = (efi_season_stations){.stations = way->count,
                                  .teams = of->scenario->season->teams > 0 ? of->scenario->season->teams : 1,
                                  .delay_s = delay_s,
                                  .work_s = work_s,
                                  .room_s = room_s};
    return EF_OK;
}

/* ---- classes of changeovers -----------------------------------------------------------------------------
 */

/* What decides what is cleaned: the rule of each line (-1: none), and the crop after. */
typedef struct class_key {
    int rule[EFI_SEASON_MOST_LINES];
    int crop;
} class_key;

typedef struct class_list {
    class_key *key;
    size_t count, room;
} class_list;

static class_key key_of(const efi_season_case *of, int from, int to)
{
    const efi_scenario_lot *before = from < of->problem.lots ? &of->lots[of->lot_of[from]] : NULL;
    const efi_scenario_lot *after = &of->lots[of->lot_of[to]];
    class_key key = {.crop = after->crop};
    for (int line = 0; line < of->lines; line++) {
        const efi_clean_down clean = efi_season_clean_down(of->scenario, before, after, line);
        key.rule[line] = clean.rule ? (int)(clean.rule - of->scenario->season->changeovers) : -1;
    }
    return key;
}

/* The number of a key, added where it is new; -1: no memory. */
static int find_class(class_list *list, const class_key *key, size_t guess)
{
    if (guess < list->count && memcmp(&list->key[guess], key, sizeof *key) == 0)
        return (int)guess;
    for (size_t i = 0; i < list->count; i++)
        if (memcmp(&list->key[i], key, sizeof *key) == 0)
            return (int)i;
    if (efi_grow(&list->key, list->count, &list->room, sizeof *list->key) != 0)
        return -1;
    list->key[list->count++] = *key;
    return (int)list->count - 1;
}

static ef_status fill_classes(efi_season_case *of, class_list *list)
{
    const int lots = of->problem.lots;
    const size_t side = (size_t)lots + 1;
    uint16_t *class = efi_arena_get(of->arena, side * side, sizeof *class);
    if (!class)
        return EF_MEMORY;
    class_key none = {.crop = -1};
    memset(none.rule, -1, sizeof none.rule);
    int last = find_class(list, &none, 0); /* number 0: nothing is cleaned */
    for (int from = 0; from <= lots && last >= 0; from++) {
        for (int to = 0; to < lots && last >= 0; to++) {
            const efi_lot_now *now = &of->now[of->lot_of[to]];
            if (from == to || now->state == EF_SEASON_DONE || now->state == EF_SEASON_RUNNING)
                continue;
            const class_key key = key_of(of, from, to);
            last = find_class(list, &key, (size_t)last);
            if (last > UINT16_MAX)
                return EF_INTERNAL;
            class[(size_t)from * side + (size_t)to] = (uint16_t)last;
        }
    }
    of->problem.clean_class = class;
    of->problem.classes = (int)list->count;
    return last < 0 ? EF_MEMORY : EF_OK;
}

static ef_status fill_hours(const efi_season_case *of, int line, const class_list *list,
                            efi_season_stations *into)
{
    const efi_line_way *way = &of->way[line];
    const size_t n = (size_t)way->count;
    int64_t *clean_s = efi_arena_get(of->arena, list->count * n, sizeof *clean_s);
    if (!clean_s)
        return EF_MEMORY;
    for (size_t i = 0; i < list->count; i++) {
        const int number = list->key[i].rule[line];
        const efi_changeover *rule = number >= 0 ? &of->scenario->season->changeovers[number] : NULL;
        for (int m = 0; m < way->count && rule; m++)
            clean_s[i * n + (size_t)m] = efi_season_whole(
                efi_season_station_hours(of->scenario, way, rule, list->key[i].crop, m), EFI_HOUR_S);
    }
    into->clean_s = clean_s;
    return EF_OK;
}

/* ---- all of it ------------------------------------------------------------------------------------------
 */

static ef_status fill_all(efi_season_case *of, efi_season_stations *stations)
{
    class_list list = {0};
    ef_status status = fill_classes(of, &list);
    for (int line = 0; line < of->lines && status == EF_OK; line++) {
        if (!efi_season_by_station(of, line))
            continue;
        status = fill_times(of, line, &stations[line]);
        if (status == EF_OK)
            status = fill_hours(of, line, &list, &stations[line]);
    }
    of->problem.stations = stations;
    efi_free(list.key);
    return status;
}

ef_status efi_season_fill_stations(efi_season_case *of)
{
    bool any = false;
    of->way = NULL;
    if (of->scenario->season->cleaning != EFI_CLEANING_STATIONS)
        return EF_OK;
    efi_season_stations *stations = efi_arena_get(of->arena, (size_t)of->lines, sizeof *stations);
    efi_line_way *way = efi_arena_get(of->arena, (size_t)of->lines, sizeof *way);
    if (!stations || !way)
        return EF_MEMORY;
    for (int line = 0; line < of->lines; line++) {
        EF_TRY(efi_season_find_way(of->rates, of->arena, line, &way[line]));
        any = any || way[line].count > 0;
    }
    of->way = way;
    return any ? fill_all(of, stations) : EF_OK;
}
