/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on the crews that see to stops, and on what takes its time: travel, batches. */
#include "model/rules.h"

static ef_diag draft_crew(efi_rules *rules, const efi_crew *crew, const char *key)
{
    return efi_rule_draft(rules, "crews", crew->name, crew->origin, key);
}

void efi_rule_crew_hours(efi_rules *rules)
{
    for (int i = 0; i < rules->scenario->crew_count; i++) {
        const efi_crew *crew = &rules->scenario->crews[i];
        const bool from = efi_rule_has(crew->origin, "from");
        const bool to = efi_rule_has(crew->origin, "to");
        const bool on_call = crew->on_call && (from || to);
        if (from == to && !on_call)
            continue;
        ef_diag draft = draft_crew(rules, crew, on_call ? "on call" : from ? "from" : "to");
        draft.message = on_call ? "it has hours of its own and comes at all hours at the same time"
                                : efi_diags_textf(rules->diags, "it does not say when its hours %s",
                                                  from ? "end" : "begin");
        draft.allowed = "from and to; or on call; or none of them: it works while the plant is open";
        efi_diags_add(rules->diags, EFI_DIAG_CREW_HOURS, &draft);
    }
}

void efi_rule_crew_unused(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int i = 0; i < scenario->crew_count; i++) {
        bool used = false;
        for (int s = 0; s < scenario->station_count && !used; s++)
            for (int k = 0; k < scenario->stations[s].stops.count && !used; k++)
                used = scenario->stations[s].stops.items[k].crew == i;
        if (used || efi_rule_only_counted(rules, EFI_DIAG_CREW_UNUSED))
            continue;
        const efi_crew *crew = &scenario->crews[i];
        ef_diag draft = draft_crew(rules, crew, NULL);
        draft.message = efi_diags_textf(rules->diags, "no stop is seen to by \"%s\"", crew->name);
        draft.likely = efi_diags_textf(rules->diags, "\"crew: %s\" at the stops it sees to, or take it out",
                                       crew->name);
        efi_diags_add(rules->diags, EFI_DIAG_CREW_UNUSED, &draft);
    }
}

void efi_rule_travel_unfit(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_station *station = &scenario->stations[s];
        if (!station->travel_h.given || station->count == 1)
            continue;
        ef_diag draft = efi_rule_station(rules, s, "travel time");
        draft.message = "it is that of several conveyors, and each has a feed of its own";
        draft.allowed = "a travel time of a single conveyor";
        draft.likely = "a station for each, behind a split";
        efi_rule_second(rules, &draft, efi_node_find_key(station->origin.value, "count"),
                        "how many they are");
        efi_diags_add(rules->diags, EFI_DIAG_TRAVEL_UNFIT, &draft);
    }
}
