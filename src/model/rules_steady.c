/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on steady-feed stations and the bins above them. */
#include "model/rules.h"

#include <string.h>

/* A band wider than this is no steady feed; common practice is 2 %. From memory. */
#define MOST_BAND 0.20

static bool reached_by_any(const efi_rules *rules, int s)
{
    for (int crop = 0; crop < rules->scenario->crop_count; crop++)
        if (efi_rule_reached(rules, crop, s))
            return true;
    return false;
}

/* Marks the stations whose feed comes from a bin over conveyors and machines with a single way on alone. */
static void mark_below_bins(efi_rules *rules, bool *below)
{
    const ef_scenario *scenario = rules->scenario;
    int depth = 0;
    memset(below, 0, (size_t)scenario->station_count * sizeof *below);
    for (int s = 0; s < scenario->station_count; s++)
        if (scenario->stations[s].kind == EFI_STATION_BIN)
            rules->stack[depth++] = s;
    while (depth > 0) {
        const int s = rules->stack[--depth];
        for (int w = rules->all.first_out[s]; w < rules->all.first_out[s + 1]; w++) {
            const int to = rules->all.way[w].to;
            const efi_station *next = &scenario->stations[to];
            const bool passes_on = next->kind == EFI_STATION_SPLIT || next->discharges.count == 1;
            if (!below[to] && next->kind != EFI_STATION_BIN && passes_on)
                rules->stack[depth++] = to;
            below[to] = true;
        }
    }
}

void efi_rule_steady_without_bin(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    bool *below = rules->mark;
    mark_below_bins(rules, below);
    for (int s = 0; s < scenario->station_count; s++) {
        if (!scenario->stations[s].steady_band.given || below[s] || !reached_by_any(rules, s) ||
            efi_rule_only_counted(rules, EFI_DIAG_STEADY_WITHOUT_BIN))
            continue;
        ef_diag draft = efi_rule_station(rules, s, NULL);
        draft.message = "a steady feed is wanted here, but no bin stands above to even it out";
        draft.likely = "a station of kind \"bin\" that leads here";
        efi_diags_add(rules->diags, EFI_DIAG_STEADY_WITHOUT_BIN, &draft);
    }
}

/* Marks the bins from which a steady-feed station is fed over splits and stations with a single way on
 * alone, each with the nearest such station that was found first; -1: none. */
static void mark_bins_above(efi_rules *rules, int *below)
{
    const ef_scenario *scenario = rules->scenario;
    bool *seen = rules->mark;
    int head = 0;
    int tail = 0;
    efi_rule_clear(rules, seen);
    for (int s = 0; s < scenario->station_count; s++) {
        below[s] = -1;
        if (!scenario->stations[s].steady_band.given || !reached_by_any(rules, s))
            continue;
        seen[s] = true;
        below[s] = s;
        rules->stack[tail++] = s;
    }
    while (head < tail) {
        const int s = rules->stack[head++];
        for (int i = rules->all.first_in[s]; i < rules->all.first_in[s + 1]; i++) {
            const int from = rules->all.way[rules->all.into[i]].from;
            const efi_station *above = &scenario->stations[from];
            if (seen[from] || (above->kind != EFI_STATION_SPLIT && above->discharges.count != 1))
                continue;
            seen[from] = true;
            below[from] = below[s];
            if (above->kind != EFI_STATION_BIN && above->kind != EFI_STATION_INTAKE)
                rules->stack[tail++] = from;
        }
    }
}

/* Does the bin give a wall height? Then what else is missing is said elsewhere. */
static bool has_wall(const efi_station *bin)
{
    return bin->steel && (bin->steel->wall_m.given || bin->steel->wall_m.bad);
}

void efi_rule_live_volume_missing(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    int *below = rules->number;
    mark_bins_above(rules, below);
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_station *bin = &scenario->stations[s];
        if (bin->kind != EFI_STATION_BIN || below[s] < 0 || efi_rule_has(bin->origin, "live volume") ||
            bin->live_by_crop_m3 || has_wall(bin) ||
            efi_rule_only_counted(rules, EFI_DIAG_LIVE_VOLUME_MISSING))
            continue;
        ef_diag draft = efi_rule_station(rules, s, NULL);
        draft.message = efi_diags_textf(
            rules->diags, "this bin holds the feed of \"%s\" steady, but nothing says how much it holds",
            scenario->stations[below[s]].name);
        draft.likely = "live volume: 4 m3";
        efi_rule_second(rules, &draft, scenario->stations[below[s]].origin.key, "the steady-feed station");
        efi_diags_add(rules->diags, EFI_DIAG_LIVE_VOLUME_MISSING, &draft);
    }
}

void efi_rule_steady_band_wide(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_value band = rules->scenario->stations[s].steady_band;
        if (!band.given || band.value <= MOST_BAND || efi_rule_only_counted(rules, EFI_DIAG_STEADY_BAND_WIDE))
            continue;
        ef_diag draft = efi_rule_station(rules, s, "steady feed");
        draft.message = efi_diags_textf(rules->diags, "a feed that may swing by %s %% is not steady",
                                        efi_rule_number(rules, band.value * 100.0));
        draft.allowed = "2 % is usual, 20 % wide";
        draft.likely = "2 %, or no \"steady feed\" where it need not be";
        efi_diags_add(rules->diags, EFI_DIAG_STEADY_BAND_WIDE, &draft);
    }
}
