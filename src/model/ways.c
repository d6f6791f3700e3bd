/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/ways.h"

#include <string.h>

/* The ways of one discharge: one for a crop, or each different target for all. Returns how many were added.
 */
static int add_ways(const ef_scenario *scenario, int crop, int station, int discharge, efi_way *out)
{
    const int *to = scenario->stations[station].discharges.items[discharge].to;
    if (!to)
        return 0;
    int count = 0;
    const int first = crop == EFI_ALL_CROPS ? 0 : crop;
    const int last = crop == EFI_ALL_CROPS ? scenario->crop_count - 1 : crop;
    for (int c = first; c <= last; c++) {
        bool known = to[c] < 0;
        for (int earlier = first; earlier < c && !known; earlier++)
            known = to[earlier] == to[c];
        if (known)
            continue;
        if (out)
            out[count] = (efi_way){.from = station, .discharge = discharge, .to = to[c]};
        count++;
    }
    return count;
}

static int each_way(const ef_scenario *scenario, int crop, efi_ways *ways)
{
    int count = 0;
    for (int s = 0; s < scenario->station_count; s++) {
        if (ways->first_out)
            ways->first_out[s] = count;
        for (int d = 0; d < scenario->stations[s].discharges.count; d++)
            count += add_ways(scenario, crop, s, d, ways->way ? ways->way + count : NULL);
    }
    if (ways->first_out)
        ways->first_out[scenario->station_count] = count;
    return count;
}

ef_status efi_ways_build(efi_ways *ways, efi_arena *arena, const ef_scenario *scenario, int crop)
{
    memset(ways, 0, sizeof *ways);
    const size_t stations = (size_t)scenario->station_count;
    const size_t count = (size_t)each_way(scenario, crop, ways);
    ways->way = efi_arena_get(arena, count, sizeof *ways->way);
    ways->into = efi_arena_get(arena, count, sizeof *ways->into);
    ways->first_out = efi_arena_get(arena, stations + 1, sizeof *ways->first_out);
    ways->first_in = efi_arena_get(arena, stations + 2, sizeof *ways->first_in);
    if (!ways->way || !ways->into || !ways->first_out || !ways->first_in)
        return EF_MEMORY;
    ways->count = each_way(scenario, crop, ways);
    /* counting sort by target: first_in is shifted by one while it counts */
    for (int w = 0; w < ways->count; w++)
        ways->first_in[ways->way[w].to + 2]++;
    for (size_t s = 2; s < stations + 2; s++)
        ways->first_in[s] += ways->first_in[s - 1];
    for (int w = 0; w < ways->count; w++)
        ways->into[ways->first_in[ways->way[w].to + 1]++] = w;
    return EF_OK;
}

bool efi_ways_carries(const ef_scenario *scenario, const efi_way *way, int crop, int material)
{
    if (material < 0)
        return true;
    const double *share = scenario->stations[way->from].discharges.items[way->discharge].share;
    return share && share[(size_t)crop * (size_t)scenario->material_count + (size_t)material] > 0.0;
}

void efi_ways_down(const efi_ways *ways, const ef_scenario *scenario, int crop, int material, bool *reached,
                   int *stack)
{
    int depth = 0;
    for (int s = 0; s < scenario->station_count; s++) {
        if (efi_station_receives(&scenario->stations[s], crop)) {
            reached[s] = true;
            stack[depth++] = s;
        }
    }
    while (depth > 0) {
        const int s = stack[--depth];
        for (int w = ways->first_out[s]; w < ways->first_out[s + 1]; w++) {
            const int to = ways->way[w].to;
            if (!reached[to] && efi_ways_carries(scenario, &ways->way[w], crop, material)) {
                reached[to] = true;
                stack[depth++] = to;
            }
        }
    }
}

void efi_ways_up(const efi_ways *ways, const ef_scenario *scenario, int crop, int material, bool *drained,
                 int *stack)
{
    int depth = 0;
    for (int s = 0; s < scenario->station_count; s++) {
        if (scenario->stations[s].kind == EFI_STATION_OUTLET) {
            drained[s] = true;
            stack[depth++] = s;
        }
    }
    while (depth > 0) {
        const int s = stack[--depth];
        for (int i = ways->first_in[s]; i < ways->first_in[s + 1]; i++) {
            const efi_way *way = &ways->way[ways->into[i]];
            if (!drained[way->from] && efi_ways_carries(scenario, way, crop, material)) {
                drained[way->from] = true;
                stack[depth++] = way->from;
            }
        }
    }
}

int efi_ways_bins_above(const efi_ways *ways, const ef_scenario *scenario, int station, int *bins, int room,
                        bool *seen, int *stack)
{
    int count = 0;
    int head = 0;
    int tail = 0;
    stack[tail++] = station;
    seen[station] = true;
    while (head < tail) {
        const int s = stack[head++];
        for (int i = ways->first_in[s]; i < ways->first_in[s + 1]; i++) {
            const int from = ways->way[ways->into[i]].from;
            if (seen[from])
                continue;
            seen[from] = true;
            const efi_station *above = &scenario->stations[from];
            if (above->kind == EFI_STATION_BIN) {
                if (count < room)
                    bins[count] = from;
                count++;
            } else if (above->kind == EFI_STATION_SPLIT ||
                       (above->kind != EFI_STATION_INTAKE && above->discharges.count == 1)) {
                stack[tail++] = from;
            }
        }
    }
    seen[station] = false;
    for (int i = 0; i < tail; i++)
        for (int k = ways->first_in[stack[i]]; k < ways->first_in[stack[i] + 1]; k++)
            seen[ways->way[ways->into[k]].from] = false;
    return count;
}
