/* SPDX-License-Identifier: GPL-3.0-or-later
 * The semantic checks as a table: which check builds on which, and the run over them. */
#include "model/rules.h"

#include <string.h>

enum {
    MOST_BASES = 6
};

/* What a check needs to be known, besides the codes it builds on. */
typedef enum needs {
    NOTHING = 0,
    WAYS = 1,  /* all kinds and ways on */
    SHARES = 2 /* all shares that discharges take */
} needs;

typedef struct rule {
    efi_diag_code code;
    void (*check)(efi_rules *rules);
    unsigned needs;                  /* of needs */
    efi_diag_code bases[MOST_BASES]; /* codes that must not have been found; closed by EFI_DIAG_TOO_MANY */
} rule;

#define END EFI_DIAG_TOO_MANY
/* What a walk along the spouts builds on. */
#define WALK EFI_DIAG_KEY_TWICE, EFI_DIAG_INTAKE_NONE, EFI_DIAG_WAY_MISSING
/* What it builds on that every time of the day is known. */
#define CLOCKS EFI_DIAG_TIME_EMPTY, EFI_DIAG_TIME_BAD, EFI_DIAG_DAYS_BAD

/* Errors first: once there are very many of them, warnings are left out. */
static const rule rules_table[] = {
    {EFI_DIAG_WANTED_NONE, efi_rule_wanted_none, NOTHING, {END}},
    {EFI_DIAG_DENSITY_TWICE, efi_rule_density_twice, NOTHING, {END}},
    {EFI_DIAG_RECEIPT_UNWANTED, efi_rule_receipt_unwanted, NOTHING, {EFI_DIAG_WANTED_NONE, END}},
    {EFI_DIAG_INTAKE_NONE, efi_rule_intake_none, NOTHING, {END}},
    {EFI_DIAG_OUTLET_NONE, efi_rule_outlet_none, NOTHING, {END}},
    {EFI_DIAG_WAY_TWICE, efi_rule_way_twice, NOTHING, {END}},
    {EFI_DIAG_REST_TWICE, efi_rule_rest_twice, NOTHING, {END}},
    {EFI_DIAG_REST_MISSING, efi_rule_rest_missing, NOTHING, {END}},
    {EFI_DIAG_SHARES_OVER, efi_rule_shares_over, NOTHING, {EFI_DIAG_REST_TWICE, END}},
    {EFI_DIAG_LEAST_FEED_OVER, efi_rule_least_feed_over, NOTHING, {END}},
    {EFI_DIAG_KEY_UNFIT, efi_rule_split_keys, NOTHING, {END}},
    {EFI_DIAG_REST_TWICE, efi_rule_split_rest, NOTHING, {EFI_DIAG_KEY_UNFIT, END}},
    {EFI_DIAG_OUT_OF_RANGE, efi_rule_split_range, NOTHING, {EFI_DIAG_KEY_UNFIT, END}},
    {EFI_DIAG_SPLIT_SUM,
     efi_rule_split_sum,
     NOTHING,
     {EFI_DIAG_KEY_UNFIT, EFI_DIAG_REST_TWICE, EFI_DIAG_OUT_OF_RANGE, END}},
    {EFI_DIAG_INTAKE_FED, efi_rule_intake_fed, NOTHING, {END}},
    {EFI_DIAG_FEEDS_ITSELF, efi_rule_feeds_itself, NOTHING, {END}},
    {EFI_DIAG_WAY_MISSING, efi_rule_way_missing, NOTHING, {EFI_DIAG_KEY_TWICE, END}},
    {EFI_DIAG_UNREACHED, efi_rule_unreached, WAYS, {WALK, END}},
    {EFI_DIAG_DEAD_END, efi_rule_dead_end, WAYS, {WALK, EFI_DIAG_OUTLET_NONE, EFI_DIAG_FEEDS_ITSELF, END}},
    {EFI_DIAG_LOOP_CLOSED,
     efi_rule_loop_closed,
     WAYS | SHARES,
     {WALK, EFI_DIAG_DEAD_END, EFI_DIAG_REST_MISSING, EFI_DIAG_FEEDS_ITSELF}},
    {EFI_DIAG_PRODUCT_UNREACHED,
     efi_rule_product_unreached,
     WAYS,
     {WALK, EFI_DIAG_OUTLET_NONE, EFI_DIAG_DEAD_END, END}},
    {EFI_DIAG_CAPACITY_MISSING, efi_rule_capacity_missing, WAYS, {WALK, END}},
    {EFI_DIAG_DENSITY_MISSING, efi_rule_density_missing, WAYS, {WALK, END}},
    {EFI_DIAG_TIME_EMPTY, efi_rule_time_empty, NOTHING, {END}},
    {EFI_DIAG_END_EARLY, efi_rule_end_early, NOTHING, {END}},
    {EFI_DIAG_MAINTENANCE_WHEN, efi_rule_maintenance_when, NOTHING, {EFI_DIAG_KEY_UNKNOWN, END}},
    {EFI_DIAG_SHIFTS_OVERLAP, efi_rule_shifts_overlap, NOTHING, {EFI_DIAG_TIME_EMPTY, END}},
    {EFI_DIAG_BREAK_OUTSIDE, efi_rule_break_outside, NOTHING, {CLOCKS, END}},
    {EFI_DIAG_BREAKS_OVER, efi_rule_breaks_over, NOTHING, {CLOCKS, EFI_DIAG_SHIFTS_OVERLAP, END}},
    {EFI_DIAG_OVERTIME_OVERLAP,
     efi_rule_overtime_overlap,
     NOTHING,
     {CLOCKS, EFI_DIAG_END_EARLY, EFI_DIAG_SHIFTS_OVERLAP, END}},
    {EFI_DIAG_HOLIDAY_TWICE, efi_rule_holiday_twice, NOTHING, {EFI_DIAG_END_EARLY, END}},
    {EFI_DIAG_DENSITY_ODD, efi_rule_density_odd, NOTHING, {END}},
    {EFI_DIAG_MATERIAL_UNUSED,
     efi_rule_material_unused,
     NOTHING,
     {EFI_DIAG_NAME_UNKNOWN, EFI_DIAG_NAME_RESERVED, EFI_DIAG_RECEIPT_UNWANTED, END}},
    {EFI_DIAG_NAMES_ALIKE, efi_rule_names_alike, NOTHING, {END}},
    {EFI_DIAG_SEPARATES_NOTHING, efi_rule_separates_nothing, NOTHING, {END}},
    {EFI_DIAG_STEADY_WITHOUT_BIN, efi_rule_steady_without_bin, WAYS, {WALK, END}},
};

/* ---- drafts ---------------------------------------------------------------------------------------------
 */

bool efi_rule_has(efi_origin origin, const char *key)
{
    return efi_node_find(origin.value, key) != NULL;
}

bool efi_rule_has_way(const efi_station *station)
{
    return efi_rule_has(station->origin, "to") || efi_rule_has(station->origin, "discharges") ||
           efi_rule_has(station->origin, "branches");
}

bool efi_rule_flag_unread(efi_origin origin, const char *key)
{
    const efi_node *flag = efi_node_find(origin.value, key);
    return flag && !efi_node_is(flag, "yes") && !efi_node_is(flag, "no");
}

bool efi_rule_only_counted(efi_rules *rules, efi_diag_code code)
{
    if (!efi_diags_full(rules->diags, EF_WARNING))
        return false;
    const ef_diag draft = {.place.file = rules->scenario->tree.sources[0].name};
    efi_diags_add(rules->diags, code, &draft);
    return true;
}

const char *efi_rule_others(efi_rules *rules, int others)
{
    if (others == 0)
        return "";
    return efi_diags_textf(rules->diags, " and %d other crop%s", others, others == 1 ? "" : "s");
}

/* Where to point: at the value of the key, else at the key that owns it. A block is pointed at by its key. */
static const efi_node *pointed_at(efi_origin origin, const char *key)
{
    const efi_node *key_node = key ? efi_node_find_key(origin.value, key) : NULL;
    if (!key_node)
        return origin.key;
    return key_node[1].kind == EFI_NODE_TEXT && !efi_node_is_empty(key_node + 1) ? key_node + 1 : key_node;
}

static ef_diag draft_at(efi_rules *rules, const efi_node *at, const char *path)
{
    ef_diag draft = efi_bind_draft(rules->binder, NULL, at);
    draft.key = path;
    return draft;
}

ef_diag efi_rule_draft(efi_rules *rules, const char *list, const char *name, efi_origin origin,
                       const char *key)
{
    const char *path = efi_diags_textf(rules->diags, "%s.%s%s%s", list, name, key ? "." : "", key ? key : "");
    return draft_at(rules, pointed_at(origin, key), path);
}

ef_diag efi_rule_station(efi_rules *rules, int station, const char *key)
{
    const efi_station *of = &rules->scenario->stations[station];
    return efi_rule_draft(rules, "stations", of->name, of->origin, key);
}

ef_diag efi_rule_discharge(efi_rules *rules, int station, int discharge, const char *key)
{
    const efi_station *of = &rules->scenario->stations[station];
    const efi_discharge *out = &of->discharges.items[discharge];
    if (out->name[0] == '\0')
        return efi_rule_station(rules, station, key);
    const char *list = efi_diags_textf(rules->diags, "stations.%s.%s", of->name,
                                       of->kind == EFI_STATION_SPLIT ? "branches" : "discharges");
    return efi_rule_draft(rules, list ? list : "", out->name, out->origin, key);
}

void efi_rule_second(efi_rules *rules, ef_diag *draft, const efi_node *node, const char *words)
{
    draft->second = efi_tree_place(&rules->scenario->tree, node);
    draft->second_words = words;
}

/* ---- the run --------------------------------------------------------------------------------------------
 */

/* Do all crops go the same ways? In most plants they do. */
static bool ways_are_same(const ef_scenario *scenario)
{
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_discharges *out = &scenario->stations[s].discharges;
        for (int d = 0; d < out->count; d++)
            for (int c = 1; out->items[d].to && c < scenario->crop_count; c++)
                if (out->items[d].to[c] != out->items[d].to[0])
                    return false;
    }
    return true;
}

static bool prepare(efi_rules *rules, efi_arena *arena)
{
    const ef_scenario *scenario = rules->scenario;
    const size_t stations = (size_t)scenario->station_count;
    const size_t crops = (size_t)scenario->crop_count;
    rules->by_crop = efi_arena_get(arena, crops, sizeof *rules->by_crop);
    rules->reached = efi_arena_get(arena, crops * stations, sizeof *rules->reached);
    rules->mark = efi_arena_get(arena, stations, sizeof *rules->mark);
    rules->mark_too = efi_arena_get(arena, stations, sizeof *rules->mark_too);
    rules->stack = efi_arena_get(arena, stations, sizeof *rules->stack);
    if (!rules->by_crop || !rules->reached || !rules->mark || !rules->mark_too || !rules->stack)
        return false;
    if (efi_ways_build(&rules->all, arena, scenario, EFI_ALL_CROPS) != EF_OK)
        return false;
    const bool same = ways_are_same(scenario);
    for (int c = 0; c < scenario->crop_count; c++) {
        bool *reached = rules->reached + (size_t)c * stations;
        if (same)
            rules->by_crop[c] = rules->all;
        else if (efi_ways_build(&rules->by_crop[c], arena, scenario, c) != EF_OK)
            return false;
        if (same && c > 0)
            memcpy(reached, rules->reached, stations * sizeof *reached);
        else
            efi_ways_down(&rules->by_crop[c], scenario, c, -1, reached, rules->stack);
    }
    return true;
}

/* Is the way on of every crop known, where one is given? */
static bool to_known(const efi_rules *rules, const int *to)
{
    for (int crop = 0; to && crop < rules->scenario->crop_count; crop++)
        if (to[crop] == EFI_UNREAD)
            return false;
    return to != NULL;
}

/* Looks whether the kind, the ways on and the shares of every station could be read. */
static void look_what_is_known(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    rules->ways_known = rules->shares_known = true;
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_station *station = &scenario->stations[s];
        const efi_discharges *out = &station->discharges;
        const bool has_way = efi_rule_has_way(station);
        if (station->kind == EFI_STATION_UNKNOWN || (has_way && out->count == 0))
            rules->ways_known = false;
        for (int d = 0; d < out->count; d++) {
            rules->ways_known = rules->ways_known && to_known(rules, out->items[d].to);
            rules->shares_known = rules->shares_known && (out->items[d].share || out->items[d].rest);
        }
    }
}

static bool basis_holds(const efi_rules *rules, const rule *one)
{
    if (((one->needs & WAYS) && !rules->ways_known) || ((one->needs & SHARES) && !rules->shares_known))
        return false;
    for (int i = 0; i < MOST_BASES && one->bases[i] != END; i++)
        if (efi_diags_count_code(rules->diags, one->bases[i]) > 0)
            return false;
    return true;
}

void efi_rules_run(efi_binder *b)
{
    efi_rules rules = {.binder = b, .scenario = b->scenario, .diags = b->diags};
    efi_arena *arena = efi_arena_new();
    if (!arena || !prepare(&rules, arena))
        b->failed = true;
    look_what_is_known(&rules);
    for (size_t i = 0; i < EF_COUNT(rules_table) && !b->failed; i++)
        if (basis_holds(&rules, &rules_table[i]))
            rules_table[i].check(&rules);
    efi_arena_free(arena);
}
