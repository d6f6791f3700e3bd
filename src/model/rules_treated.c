/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on what passes a treater: treated seed is poisonous to eat and to feed. Every spout that gets some
 * of what a crop brings counts, whichever material it is, so that these checks err on the side of caution. */
#include "model/rules.h"

/* Marks the stations that treated seed of a crop comes to, each with the treater that it comes from; -1: none
 * comes here. */
static void mark_treated(efi_rules *rules, int crop, int *from)
{
    const ef_scenario *scenario = rules->scenario;
    const efi_ways *ways = &rules->by_crop[crop];
    for (int s = 0; s < scenario->station_count; s++)
        from[s] = -1;
    for (int treater = 0; treater < scenario->station_count; treater++) {
        if (scenario->stations[treater].kind != EFI_STATION_TREATER ||
            !efi_rule_reached(rules, crop, treater))
            continue;
        int depth = 0;
        rules->stack[depth++] = treater;
        while (depth > 0) {
            const int s = rules->stack[--depth];
            for (int w = ways->first_out[s]; w < ways->first_out[s + 1]; w++) {
                const int to = ways->way[w].to;
                if (from[to] >= 0 || !rules->carries[crop][w])
                    continue;
                from[to] = treater;
                rules->stack[depth++] = to;
            }
        }
    }
}

/* Marks the stations that material of a crop comes to without passing a treater. */
static void mark_untreated(efi_rules *rules, int crop, bool *untreated)
{
    const ef_scenario *scenario = rules->scenario;
    const efi_ways *ways = &rules->by_crop[crop];
    int depth = 0;
    efi_rule_clear(rules, untreated);
    for (int s = 0; s < scenario->station_count; s++) {
        if (efi_station_receives(&scenario->stations[s], crop)) {
            untreated[s] = true;
            rules->stack[depth++] = s;
        }
    }
    while (depth > 0) {
        const int s = rules->stack[--depth];
        for (int w = ways->first_out[s]; w < ways->first_out[s + 1]; w++) {
            const int to = ways->way[w].to;
            if (untreated[to] || !rules->carries[crop][w] ||
                scenario->stations[to].kind == EFI_STATION_TREATER)
                continue;
            untreated[to] = true;
            rules->stack[depth++] = to;
        }
    }
}

static bool has_treater(const ef_scenario *scenario)
{
    for (int s = 0; s < scenario->station_count; s++)
        if (scenario->stations[s].kind == EFI_STATION_TREATER)
            return true;
    return false;
}

/* ---- outlets ---------------------------------------------------------------------------------------------
 */

static void report_feed(efi_rules *rules, int crop, int s, int treater)
{
    const ef_scenario *scenario = rules->scenario;
    ef_diag draft = efi_rule_station(rules, s, "use");
    draft.message = efi_diags_textf(rules->diags, "%s treated at \"%s\" can reach this outlet for %s",
                                    scenario->crops[crop].name, scenario->stations[treater].name,
                                    efi_use_word((efi_use)scenario->stations[s].use));
    draft.allowed = "treated seed goes to outlets for seed or waste alone";
    draft.likely = "an outlet of its own for what leaves the line after the treater";
    efi_rule_second(rules, &draft, scenario->stations[treater].origin.key, "the treater");
    efi_diags_add(rules->diags, EFI_DIAG_TREATED_FEED, &draft);
}

static void report_unsaid(efi_rules *rules, int crop, int s, int treater)
{
    const ef_scenario *scenario = rules->scenario;
    ef_diag draft = efi_rule_station(rules, s, NULL);
    draft.message = efi_diags_textf(
        rules->diags, "%s treated at \"%s\" comes here, and nothing says what this outlet is for",
        scenario->crops[crop].name, scenario->stations[treater].name);
    draft.allowed = "\"use\", which for treated seed is seed or waste";
    draft.likely = "use: seed";
    efi_rule_second(rules, &draft, scenario->stations[treater].origin.key, "the treater");
    efi_diags_add(rules->diags, EFI_DIAG_TREATED_USE_UNSAID, &draft);
}

typedef void report_outlet(efi_rules *rules, int crop, int s, int treater);

/* Reports each outlet of one of the uses that treated seed comes to, once. */
static void check_outlets(efi_rules *rules, unsigned uses, report_outlet *report)
{
    const ef_scenario *scenario = rules->scenario;
    int *from = rules->number;
    bool *told = rules->mark;
    efi_rule_clear(rules, told);
    for (int crop = 0; has_treater(scenario) && crop < scenario->crop_count; crop++) {
        if (rules->repeats[crop])
            continue;
        mark_treated(rules, crop, from);
        for (int s = 0; s < scenario->station_count; s++) {
            const efi_station *station = &scenario->stations[s];
            if (told[s] || from[s] < 0 || station->kind != EFI_STATION_OUTLET ||
                !(uses & 1u << station->use) ||
                (station->use == EFI_USE_UNSAID && efi_rule_has(station->origin, "use")))
                continue;
            told[s] = true;
            report(rules, crop, s, from[s]);
        }
    }
}

void efi_rule_treated_feed(efi_rules *rules)
{
    check_outlets(rules, 1u << EFI_USE_FOOD | 1u << EFI_USE_FEED, report_feed);
}

void efi_rule_treated_use_unsaid(efi_rules *rules)
{
    check_outlets(rules, 1u << EFI_USE_UNSAID, report_unsaid);
}

/* ---- returns and untreated material ----------------------------------------------------------------------
 */

/* The spout in the ring of a treater by which treated seed comes back to the treater, or to a station where
 * untreated material comes too. */
static const efi_way *way_back(efi_rules *rules, int crop, const int *ring, int treater)
{
    const efi_ways *ways = &rules->by_crop[crop];
    const bool *untreated = rules->mark_too;
    const efi_way *back = NULL;
    for (int w = 0; w < ways->count && !back; w++) {
        const efi_way *way = &ways->way[w];
        if (rules->carries[crop][w] && ring[way->from] == ring[treater] && ring[way->to] == ring[treater] &&
            (!untreated[way->from] || way->from == treater) && (untreated[way->to] || way->to == treater))
            back = way;
    }
    return back;
}

static void report_return(efi_rules *rules, int crop, int treater, const efi_way *back)
{
    const ef_scenario *scenario = rules->scenario;
    ef_diag draft = efi_rule_discharge(rules, back->from, back->discharge, "to");
    draft.message = efi_diags_textf(rules->diags, "%s treated at \"%s\" can come back to it",
                                    scenario->crops[crop].name, scenario->stations[treater].name);
    draft.allowed = "treated seed leads on, never to the treater or to a station before it";
    draft.likely = "the spout to an outlet for seed or waste";
    efi_rule_second(rules, &draft, scenario->stations[treater].origin.key, "the treater");
    efi_diags_add(rules->diags, EFI_DIAG_TREATED_RETURN, &draft);
}

void efi_rule_treated_return(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    int *ring = rules->number;
    bool *told = rules->mark;
    efi_rule_clear(rules, told);
    for (int crop = 0; has_treater(scenario) && crop < scenario->crop_count; crop++) {
        if (rules->repeats[crop])
            continue;
        if (efi_ways_rings(&rules->by_crop[crop], scenario->station_count, rules->carries[crop], ring) !=
            EF_OK) {
            rules->binder->failed = true;
            return;
        }
        mark_untreated(rules, crop, rules->mark_too);
        for (int s = 0; s < scenario->station_count; s++) {
            if (scenario->stations[s].kind != EFI_STATION_TREATER || ring[s] < 0 || told[s] ||
                !efi_rule_reached(rules, crop, s) || efi_diags_full(rules->diags, EF_ERROR))
                continue;
            told[s] = true;
            const efi_way *back = way_back(rules, crop, ring, s);
            if (!EF_NEVER(!back))
                report_return(rules, crop, s, back);
        }
    }
}

/* Does a spout bring untreated material alone to where treated seed comes too? Waste may be mixed; outlets
 * for food and feed, and treaters, are another matter. */
static bool mixes(const efi_rules *rules, const efi_way *way, const int *from, const bool *untreated)
{
    const efi_station *to = &rules->scenario->stations[way->to];
    const bool only_seed = to->kind != EFI_STATION_OUTLET || to->use == EFI_USE_SEED;
    return from[way->to] >= 0 && only_seed && to->kind != EFI_STATION_TREATER && untreated[way->from] &&
           from[way->from] < 0;
}

void efi_rule_treated_mixed(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    int *from = rules->number;
    bool *untreated = rules->mark;
    bool *told = rules->mark_too;
    efi_rule_clear(rules, told);
    for (int crop = 0; has_treater(scenario) && crop < scenario->crop_count; crop++) {
        const efi_ways *ways = &rules->by_crop[crop];
        if (rules->repeats[crop])
            continue;
        mark_treated(rules, crop, from);
        mark_untreated(rules, crop, untreated);
        for (int w = 0; w < ways->count; w++) {
            const efi_way *way = &ways->way[w];
            if (told[way->to] || !rules->carries[crop][w] || !mixes(rules, way, from, untreated) ||
                efi_rule_only_counted(rules, EFI_DIAG_TREATED_MIXED))
                continue;
            told[way->to] = true;
            ef_diag draft = efi_rule_discharge(rules, way->from, way->discharge, "to");
            draft.message = efi_diags_textf(
                rules->diags, "untreated %s joins what was treated at \"%s\" here",
                scenario->crops[crop].name, scenario->stations[from[way->to]].name);
            draft.likely = "lead it to the treater, or to an outlet of its own";
            efi_rule_second(rules, &draft, scenario->stations[from[way->to]].origin.key, "the treater");
            efi_diags_add(rules->diags, EFI_DIAG_TREATED_MIXED, &draft);
        }
    }
}
