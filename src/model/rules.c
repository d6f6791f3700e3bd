/* SPDX-License-Identifier: GPL-3.0-or-later
 * The semantic checks as a table: which check builds on which, and the run over them. */
#include "model/rules.h"

#include <string.h>

enum {
    MOST_BASES = 6
};

typedef struct rule {
    efi_diag_code code;
    void (*check)(efi_rules *rules);
    efi_diag_code bases[MOST_BASES]; /* codes that must not have been found; closed by EFI_DIAG_TOO_MANY */
} rule;

#define END EFI_DIAG_TOO_MANY
/* What a walk along the spouts builds on. */
#define WAYS EFI_DIAG_NAME_UNKNOWN, EFI_DIAG_INTAKE_NONE, EFI_DIAG_WAY_MISSING

static const rule rules_table[] = {
    {EFI_DIAG_WANTED_NONE, efi_rule_wanted_none, {END}},
    {EFI_DIAG_DENSITY_TWICE, efi_rule_density_twice, {END}},
    {EFI_DIAG_DENSITY_ODD, efi_rule_density_odd, {END}},
    {EFI_DIAG_RECEIPT_UNWANTED, efi_rule_receipt_unwanted, {EFI_DIAG_WANTED_NONE, END}},
    {EFI_DIAG_MATERIAL_UNUSED, efi_rule_material_unused, {EFI_DIAG_RECEIPT_SUM, EFI_DIAG_NAME_UNKNOWN, END}},
    {EFI_DIAG_NAMES_ALIKE, efi_rule_names_alike, {END}},
    {EFI_DIAG_INTAKE_NONE, efi_rule_intake_none, {END}},
    {EFI_DIAG_OUTLET_NONE, efi_rule_outlet_none, {END}},
    {EFI_DIAG_WAY_TWICE, efi_rule_way_twice, {END}},
    {EFI_DIAG_REST_TWICE, efi_rule_rest_twice, {END}},
    {EFI_DIAG_REST_MISSING, efi_rule_rest_missing, {END}},
    {EFI_DIAG_SHARES_OVER, efi_rule_shares_over, {EFI_DIAG_REST_TWICE, END}},
    {EFI_DIAG_LEAST_FEED_OVER, efi_rule_least_feed_over, {END}},
    {EFI_DIAG_SEPARATES_NOTHING, efi_rule_separates_nothing, {END}},
    {EFI_DIAG_INTAKE_FED, efi_rule_intake_fed, {END}},
    {EFI_DIAG_FEEDS_ITSELF, efi_rule_feeds_itself, {END}},
    {EFI_DIAG_WAY_MISSING, efi_rule_way_missing, {EFI_DIAG_NAME_UNKNOWN, END}},
    {EFI_DIAG_UNREACHED, efi_rule_unreached, {WAYS, END}},
    {EFI_DIAG_DEAD_END, efi_rule_dead_end, {WAYS, EFI_DIAG_OUTLET_NONE, END}},
    {EFI_DIAG_LOOP_CLOSED, efi_rule_loop_closed, {WAYS, EFI_DIAG_DEAD_END, EFI_DIAG_REST_MISSING, END}},
    {EFI_DIAG_PRODUCT_UNREACHED,
     efi_rule_product_unreached,
     {WAYS, EFI_DIAG_OUTLET_NONE, EFI_DIAG_DEAD_END, END}},
    {EFI_DIAG_CAPACITY_MISSING, efi_rule_capacity_missing, {WAYS, END}},
    {EFI_DIAG_DENSITY_MISSING, efi_rule_density_missing, {WAYS, END}},
    {EFI_DIAG_STEADY_WITHOUT_BIN, efi_rule_steady_without_bin, {WAYS, END}},
};

/* ---- drafts ---------------------------------------------------------------------------------------------
 */

bool efi_rule_has(efi_origin origin, const char *key)
{
    return efi_node_find(origin.value, key) != NULL;
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
    const char *list = efi_diags_textf(rules->diags, "stations.%s.discharges", of->name);
    return efi_rule_draft(rules, list ? list : "", out->name, out->origin, key);
}

void efi_rule_second(efi_rules *rules, ef_diag *draft, const efi_node *node, const char *words)
{
    draft->second = efi_tree_place(&rules->scenario->tree, node);
    draft->second_words = words;
}

/* ---- the run --------------------------------------------------------------------------------------------
 */

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
    for (int c = 0; c < scenario->crop_count; c++) {
        if (efi_ways_build(&rules->by_crop[c], arena, scenario, c) != EF_OK)
            return false;
        efi_ways_down(&rules->by_crop[c], scenario, c, -1, rules->reached + (size_t)c * stations,
                      rules->stack);
    }
    return true;
}

static bool bases_hold(const efi_rules *rules, const rule *one)
{
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
    for (size_t i = 0; i < EF_COUNT(rules_table) && !b->failed; i++)
        if (bases_hold(&rules, &rules_table[i]))
            rules_table[i].check(&rules);
    efi_arena_free(arena);
}
