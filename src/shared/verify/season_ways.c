/* SPDX-License-Identifier: GPL-3.0-or-later
 * Which stations of a line are cleaned on their own, from the rules and the ways of the scenario alone. How
 * long each works and what the bins hold comes from the balance and is taken as given, within its limits. */
#include "shared/verify/season.h"

#include <math.h>
#include <string.h>

/* Does seed of a crop come from an intake to a product of a line without a station (-1: with all)? Over and
 * over, until nothing more is reached. */
static bool comes_through(const efi_season_check *c, int crop, int line, int without, bool *reached)
{
    const ef_scenario *scenario = c->scenario;
    for (int s = 0; s < scenario->station_count; s++)
        reached[s] = false;
    for (bool more = true; more;) {
        more = false;
        for (int s = 0; s < scenario->station_count; s++) {
            const efi_station *station = &scenario->stations[s];
            const bool mine = scenario->line_count == 0 || station->line < 0 || station->line == line;
            if (!reached[s] && mine && s != without && station->kind == EFI_STATION_INTAKE &&
                efi_station_receives(station, crop))
                more = reached[s] = true;
            for (int d = 0; reached[s] && d < station->discharges.count; d++) {
                const int to = station->discharges.items[d].to[crop];
                if (to < 0 || to == without || reached[to])
                    continue;
                const int of = scenario->stations[to].line;
                if (scenario->line_count == 0 || of < 0 || of == line)
                    more = reached[to] = true;
            }
        }
    }
    for (int s = 0; s < scenario->station_count; s++)
        if (reached[s] && scenario->stations[s].product)
            return true;
    return false;
}

/* Stations that the rules of a line name, into `named` (shape [station], false). */
static int find_named(const ef_scenario *scenario, int line, bool *named)
{
    int count = 0;
    for (int r = 0; r < scenario->season->changeover_count; r++) {
        const efi_changeover *rule = &scenario->season->changeovers[r];
        bool mine = rule->lines.count == 0;
        for (int i = 0; i < rule->lines.count; i++)
            mine = mine || rule->lines.items[i] == line;
        for (int s = 0; s < rule->station_count && mine; s++) {
            const int one = rule->stations[s].station;
            const efi_station_cleaning *cleaning = &rule->stations[s];
            const bool takes = cleaning->takes_h.given && cleaning->takes_h.value > 0.0;
            const bool entered = cleaning->bin_entry_h.given && cleaning->bin_entry_h.value > 0.0;
            const bool counts = one >= 0 && (takes || entered) &&
                                (scenario->line_count == 0 || scenario->stations[one].line < 0 ||
                                 scenario->stations[one].line == line);
            count += counts && !named[one];
            if (counts)
                named[one] = true;
        }
    }
    return count;
}

static int crop_of(const ef_scenario *scenario, const char *name)
{
    for (int crop = 0; crop < scenario->crop_count; crop++)
        if (strcmp(scenario->crops[crop].name, name) == 0)
            return crop;
    return -1;
}

/* The passages of one crop on a line, from number `first` on. */
static void check_crop(const efi_season_check *c, int first, int count, const bool *named, bool *reached)
{
    const ef_season_passage *list = &c->claim->passages[first];
    const int crop = crop_of(c->scenario, list->crop);
    double most = 0.0;
    for (int m = 0; m < count; m++) {
        const int found = efi_index_find(&c->scenario->station_index, list[m].station,
                                         strlen(list[m].station));
        most = fmax(most, list[m].work_share);
        if (!(list[m].work_share >= 0.0 && list[m].room_t >= 0.0 && list[m].delay_h >= 0.0))
            efi_differ(c->list, "%s: share, room or delay at %s is below 0", list->crop, list[m].station);
        if (crop < 0 || found < 0 || !named[found]) {
            efi_differ(c->list, "%s is no station that a rule for the line names", list[m].station);
            continue;
        }
        if (comes_through(c, crop, list->line, found, reached))
            efi_differ(c->list, "%s comes to a product past %s", list->crop, list[m].station);
        for (int other = 0; other < count;
             other++) { /* without it those before are reached, those after not */
            const int next = efi_index_find(&c->scenario->station_index, list[other].station,
                                            strlen(list[other].station));
            if (other != m && next >= 0 && reached[next] != (other < m))
                efi_differ(c->list, "%s and %s are not in the order of the way", list[m].station,
                           list[other].station);
        }
        c->through[list->line].station[m] = found;
    }
    efi_differ_number(c->list, "the share of the slowest station", "", most, 1.0, 1e-9);
}

static void check_line(const efi_season_check *c, int line, bool *named, bool *reached)
{
    const bool wanted = c->scenario->season->cleaning == EFI_CLEANING_STATIONS;
    const ef_season_line *claim = &c->claim->lines[line];
    const int count = wanted ? find_named(c->scenario, line, named) : 0;
    c->list->subject = claim->name;
    if (!claim->by_station) {
        if (wanted != (*claim->cleared != '\0'))
            efi_differ(c->list, "it says without reason why the line is cleared, or not why");
        return;
    }
    if (!wanted || count == 0 || count > 8) {
        efi_differ(c->list, "the scenario does not ask for cleaning station by station");
        return;
    }
    c->through[line].count = count;
    for (int i = 0; i < c->claim->passage_count;) {
        const ef_season_passage *one = &c->claim->passages[i];
        int crops = 1;
        while (i + crops < c->claim->passage_count && one[crops].line == one->line &&
               strcmp(one[crops].crop, one->crop) == 0)
            crops++;
        if (one->line == line && crops == count)
            check_crop(c, i, crops, named, reached);
        else if (one->line == line)
            efi_differ(c->list, "%s passes %d stations, the rules name %d", one->crop, crops, count);
        i += crops;
    }
}

ef_status efi_season_check_ways(efi_season_check *c)
{
    const size_t stations = (size_t)c->scenario->station_count;
    bool *reached = efi_arena_get(c->arena, stations, sizeof *reached);
    if (!reached)
        return EF_MEMORY;
    for (int line = 0; line < c->lines; line++) {
        bool *named = efi_arena_get(c->arena, stations, sizeof *named);
        if (!named)
            return EF_MEMORY;
        check_line(c, line, named, reached);
    }
    c->list->subject = NULL;
    return EF_OK;
}
