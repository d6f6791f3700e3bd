/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on the crews that see to stops, on what takes its time (travel, batches), and on loads. */
#include "model/rules.h"

#include <math.h>

/* Shares of sorts of load may add up to this much more or less than 1. */
#define SORT_SUM_TOLERANCE 1e-6

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

void efi_rule_batch_unfit(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_station *station = &scenario->stations[s];
        if (!station->batch || (station->count == 1 && !station->steady_band.given))
            continue;
        ef_diag draft = efi_rule_station(rules, s, "batch");
        if (station->count > 1) {
            draft.message = "it is that of several machines, and each has batches of its own";
            draft.likely = "a station for each, behind a split";
            efi_rule_second(rules, &draft, efi_node_find_key(station->origin.value, "count"),
                            "how many they are");
        } else {
            draft.message = "a steady feed and batches exclude each other";
            draft.likely = "take one of the two out";
            efi_rule_second(rules, &draft, efi_node_find_key(station->origin.value, "steady feed"),
                            "the steady feed");
        }
        efi_diags_add(rules->diags, EFI_DIAG_BATCH_UNFIT, &draft);
    }
}

/* ---- loads ----------------------------------------------------------------------------------------------
 */

/* The receipts of a station and their block in the file; NULL where there are none. */
static const efi_receipts *receipts_of(const efi_rules *rules, int s, efi_origin *origin)
{
    const efi_station *station = &rules->scenario->stations[s];
    const efi_node *key = efi_node_find_key(station->origin.value, "receipts");
    *origin = (efi_origin){key, key ? key + 1 : NULL};
    return key ? station->receipts : NULL;
}

void efi_rule_loads_which(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        efi_origin origin;
        const efi_receipts *receipts = receipts_of(rules, s, &origin);
        if (!receipts || efi_rule_has(origin, "load") != efi_rule_has(origin, "sorts"))
            continue;
        const bool both = efi_rule_has(origin, "load");
        ef_diag draft = efi_rule_within(rules, s, "receipts", both ? "load" : NULL);
        draft.found = NULL;
        draft.message = both ? "it says twice what a load brings" : "it does not say what a load brings";
        draft.allowed = "load, where all are alike; else sorts";
        draft.likely = both ? NULL : "load: 24 t";
        if (both)
            efi_rule_second(rules, &draft, efi_node_find_key(origin.value, "sorts"), "the sorts");
        efi_diags_add(rules->diags, EFI_DIAG_LOADS_WHICH, &draft);
    }
}

void efi_rule_loads_sum(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        efi_origin origin;
        const efi_receipts *receipts = receipts_of(rules, s, &origin);
        double sum = 0.0;
        bool known = receipts && receipts->sort_count > 0;
        for (int i = 0; known && i < receipts->sort_count; i++) {
            known = receipts->sorts[i].share.given;
            sum += receipts->sorts[i].share.value;
        }
        if (!known || fabs(sum - 1.0) <= SORT_SUM_TOLERANCE)
            continue;
        ef_diag draft = efi_rule_within(rules, s, "receipts", "sorts");
        draft.message = efi_diags_textf(rules->diags, "the shares of its sorts add up to %s %%",
                                        efi_bind_percent(rules->binder, sum));
        draft.allowed = "100 % together";
        efi_diags_add(rules->diags, EFI_DIAG_LOADS_SUM, &draft);
    }
}

void efi_rule_receipts_hours(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        efi_origin origin;
        const efi_receipts *receipts = receipts_of(rules, s, &origin);
        const bool from = receipts && efi_rule_has(origin, "from");
        const bool to = receipts && efi_rule_has(origin, "to");
        const bool twice = receipts && receipts->all_hours && (from || to);
        if (from == to && !twice)
            continue;
        ef_diag draft = efi_rule_within(rules, s, "receipts", twice ? "all hours" : from ? "from" : "to");
        draft.message = twice ? "they have hours of their own and come at all hours at the same time"
                              : efi_diags_textf(rules->diags, "it does not say when their hours %s",
                                                from ? "end" : "begin");
        draft.allowed = "from and to; or all hours; or none of them: they come while the plant is open";
        efi_diags_add(rules->diags, EFI_DIAG_RECEIPTS_HOURS, &draft);
    }
}
