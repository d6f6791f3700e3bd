/* SPDX-License-Identifier: GPL-3.0-or-later
 * The semantic checks as a table: which check builds on which, and the run over them. */
#include "base/number.h"
#include "base/text.h"
#include "model/rules.h"

#include <math.h>
#include <string.h>

enum {
    MOST_BASES = 18
};

/* What a check needs to be known, besides the codes it builds on. */
typedef enum needs {
    NOTHING = 0,
    WAYS = 1,   /* all kinds and ways on */
    SHARES = 2, /* all shares that discharges take and machines turn */
    TURNS = 4   /* all shares that machines turn */
} needs;

typedef struct rule {
    efi_diag_code code;
    void (*check)(efi_rules *rules);
    unsigned needs;                  /* of needs */
    efi_diag_code bases[MOST_BASES]; /* codes that must not have been found; closed by EFI_DIAG_TOO_MANY */
} rule;

#define END EFI_DIAG_TOO_MANY
/* What a walk along the spouts builds on. */
#define WALK EFI_DIAG_KEY_TWICE, EFI_DIAG_INTAKE_NONE, EFI_DIAG_CROP_NOT_RECEIVED, EFI_DIAG_WAY_MISSING
/* What it builds on that every time of the day is known. */
#define CLOCKS EFI_DIAG_TIME_EMPTY, EFI_DIAG_TIME_BAD, EFI_DIAG_DAYS_BAD

/* What the dimensions of a bin build on. */
#define BIN_KEYS EFI_DIAG_STEEL_UNFIT, EFI_DIAG_KEY_UNFIT, EFI_DIAG_VALUE_UNKNOWN

/* What a walk along the spouts that carry something builds on. */
#define FLOW                                                                                                 \
    WALK, EFI_DIAG_OUTLET_NONE, EFI_DIAG_INTAKE_FED, EFI_DIAG_DEAD_END, EFI_DIAG_FEEDS_ITSELF,               \
        EFI_DIAG_REST_MISSING, EFI_DIAG_REST_TWICE, EFI_DIAG_SHARES_OVER, EFI_DIAG_SPLIT_SUM,                \
        EFI_DIAG_SPLIT_ROOM

/* Errors first: once there are very many of them, warnings are left out. */
static const rule rules_table[] = {
    {EFI_DIAG_WANTED_NONE, efi_rule_wanted_none, NOTHING, {END}},
    {EFI_DIAG_DENSITY_TWICE, efi_rule_density_twice, NOTHING, {END}},
    {EFI_DIAG_RECEIPT_UNWANTED, efi_rule_receipt_unwanted, TURNS, {EFI_DIAG_WANTED_NONE, END}},
    {EFI_DIAG_INTAKE_NONE, efi_rule_intake_none, NOTHING, {END}},
    {EFI_DIAG_CROP_NOT_RECEIVED, efi_rule_crop_not_received, NOTHING, {EFI_DIAG_INTAKE_NONE, END}},
    {EFI_DIAG_OUTLET_NONE, efi_rule_outlet_none, NOTHING, {END}},
    {EFI_DIAG_WAY_TWICE, efi_rule_way_twice, NOTHING, {END}},
    {EFI_DIAG_REST_TWICE, efi_rule_rest_twice, NOTHING, {END}},
    {EFI_DIAG_REST_MISSING, efi_rule_rest_missing, NOTHING, {END}},
    {EFI_DIAG_SHARES_OVER, efi_rule_shares_over, NOTHING, {EFI_DIAG_REST_TWICE, END}},
    {EFI_DIAG_SHIFT_LONG, efi_rule_shift_long, NOTHING, {END}},
    {EFI_DIAG_CAPACITY_TWICE, efi_rule_capacity_twice, NOTHING, {EFI_DIAG_KEY_UNFIT, END}},
    {EFI_DIAG_SCREW_STEEP, efi_rule_screw_steep, NOTHING, {EFI_DIAG_KEY_UNFIT, EFI_DIAG_CAPACITY_TWICE, END}},
    {EFI_DIAG_SCREW_SHAFT, efi_rule_screw_shaft, NOTHING, {EFI_DIAG_KEY_UNFIT, END}},
    {EFI_DIAG_CONVEYING_NOTHING, efi_rule_conveying_nothing, NOTHING, {EFI_DIAG_KEY_UNFIT, END}},
    {EFI_DIAG_LEAST_FEED_OVER, efi_rule_least_feed_over, NOTHING, {END}},
    {EFI_DIAG_KEY_UNFIT, efi_rule_split_keys, NOTHING, {END}},
    {EFI_DIAG_REST_TWICE, efi_rule_split_rest, NOTHING, {EFI_DIAG_KEY_UNFIT, END}},
    {EFI_DIAG_BRANCH_RANGE, efi_rule_branch_range, NOTHING, {EFI_DIAG_KEY_UNFIT, END}},
    {EFI_DIAG_SPLIT_SUM,
     efi_rule_split_sum,
     NOTHING,
     {EFI_DIAG_KEY_UNFIT, EFI_DIAG_REST_TWICE, EFI_DIAG_BRANCH_RANGE, END}},
    {EFI_DIAG_SPLIT_ROOM,
     efi_rule_split_room,
     NOTHING,
     {EFI_DIAG_KEY_UNFIT, EFI_DIAG_BRANCH_RANGE, EFI_DIAG_SPLIT_SUM, END}},
    {EFI_DIAG_INTAKE_FED, efi_rule_intake_fed, NOTHING, {END}},
    {EFI_DIAG_FEEDS_ITSELF, efi_rule_feeds_itself, NOTHING, {END}},
    {EFI_DIAG_WAY_MISSING, efi_rule_way_missing, NOTHING, {EFI_DIAG_KEY_TWICE, END}},
    {EFI_DIAG_UNREACHED, efi_rule_unreached, WAYS, {WALK, END}},
    {EFI_DIAG_DEAD_END, efi_rule_dead_end, WAYS, {WALK, EFI_DIAG_OUTLET_NONE, EFI_DIAG_FEEDS_ITSELF, END}},
    {EFI_DIAG_TREATED_FEED, efi_rule_treated_feed, WAYS | SHARES, {FLOW, END}},
    {EFI_DIAG_TREATED_RETURN, efi_rule_treated_return, WAYS | SHARES, {FLOW, END}},
    {EFI_DIAG_TREATED_USE_UNSAID, efi_rule_treated_use_unsaid, WAYS | SHARES, {FLOW, END}},
    {EFI_DIAG_LOOP_CLOSED,
     efi_rule_loop_closed,
     WAYS | SHARES,
     {WALK, EFI_DIAG_DEAD_END, EFI_DIAG_REST_MISSING, EFI_DIAG_FEEDS_ITSELF, END}},
    {EFI_DIAG_PRODUCT_UNREACHED,
     efi_rule_product_unreached,
     WAYS,
     {WALK, EFI_DIAG_OUTLET_NONE, EFI_DIAG_DEAD_END, END}},
    {EFI_DIAG_WANTED_LOST,
     efi_rule_wanted_lost,
     WAYS | SHARES,
     {FLOW, EFI_DIAG_LOOP_CLOSED, EFI_DIAG_PRODUCT_UNREACHED, END}},
    {EFI_DIAG_BY_PASS_UNMARKED, efi_rule_by_pass_unmarked, WAYS | SHARES, {FLOW, END}},
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
    {EFI_DIAG_STOP_WHEN, efi_rule_stop_when, NOTHING, {EFI_DIAG_KEY_UNKNOWN, EFI_DIAG_KEY_TWICE, END}},
    {EFI_DIAG_SHAPE_MISSING, efi_rule_shape_missing, NOTHING, {EFI_DIAG_KEY_UNKNOWN, END}},
    {EFI_DIAG_STOP_LONG, efi_rule_stop_long, NOTHING, {CLOCKS, EFI_DIAG_STOP_WHEN, END}},
    {EFI_DIAG_INSTANT_WITHOUT_BIN, efi_rule_instant_without_bin, WAYS, {WALK, END}},
    {EFI_DIAG_RECORD_UNFIT, efi_rule_record_unfit, NOTHING, {END}},
    {EFI_DIAG_CALENDAR_MISSING, efi_rule_calendar_missing, NOTHING, {EFI_DIAG_KEY_UNKNOWN, END}},
    {EFI_DIAG_RECORDS_OVERLAP, efi_rule_records_overlap, NOTHING, {EFI_DIAG_END_EARLY, END}},
    {EFI_DIAG_CREW_HOURS, efi_rule_crew_hours, NOTHING, {EFI_DIAG_KEY_UNKNOWN, END}},
    {EFI_DIAG_TRAVEL_UNFIT, efi_rule_travel_unfit, NOTHING, {EFI_DIAG_COUNT_BAD, END}},
    {EFI_DIAG_BATCH_UNFIT, efi_rule_batch_unfit, NOTHING, {EFI_DIAG_COUNT_BAD, END}},
    {EFI_DIAG_LOADS_WHICH, efi_rule_loads_which, NOTHING, {EFI_DIAG_KEY_UNKNOWN, END}},
    {EFI_DIAG_LOADS_SUM, efi_rule_loads_sum, NOTHING, {EFI_DIAG_KEY_MISSING, END}},
    {EFI_DIAG_RECEIPTS_HOURS, efi_rule_receipts_hours, NOTHING, {EFI_DIAG_KEY_UNKNOWN, END}},
    {EFI_DIAG_LEAST_RATE_OVER, efi_rule_least_rate_over, WAYS, {WALK, END}},
    {EFI_DIAG_END_EARLY, efi_rule_season_span, NOTHING, {END}},
    {EFI_DIAG_KEY_TWICE, efi_rule_class_twice, NOTHING, {END}},
    {EFI_DIAG_KEY_MISSING, efi_rule_lot_crop_missing, NOTHING, {EFI_DIAG_KEY_UNKNOWN, END}},
    {EFI_DIAG_NAME_UNKNOWN, efi_rule_lot_class_unknown, NOTHING, {END}},
    {EFI_DIAG_OUT_OF_RANGE, efi_rule_lot_range, NOTHING, {END}},
    {EFI_DIAG_LEFT_OVER, efi_rule_left_over, NOTHING, {END}},
    {EFI_DIAG_LOT_TIMES, efi_rule_lot_times, NOTHING, {END}},
    {EFI_DIAG_LOT_OUTSIDE, efi_rule_lot_outside, NOTHING, {EFI_DIAG_END_EARLY, END}},
    {EFI_DIAG_AFTER_LOOP, efi_rule_after_loop, NOTHING, {END}},
    {EFI_DIAG_LOT_PLACE_MISSING, efi_rule_lot_place_missing, NOTHING, {EFI_DIAG_KEY_UNKNOWN, END}},
    {EFI_DIAG_RUNNING_TWICE, efi_rule_running_twice, NOTHING, {END}},
    {EFI_DIAG_LOT_WITHOUT_LINE, efi_rule_lot_without_line, WAYS, {WALK, EFI_DIAG_PRODUCT_UNREACHED, END}},
    {EFI_DIAG_STORE_SHARED, efi_rule_store_shared, NOTHING, {END}},
    {EFI_DIAG_KEY_MISSING, efi_rule_pair_missing, NOTHING, {EFI_DIAG_KEY_UNKNOWN, END}},
    {EFI_DIAG_CLASSES_MISSING, efi_rule_classes_missing, NOTHING, {EFI_DIAG_KEY_UNKNOWN, END}},
    {EFI_DIAG_CHANGEOVER_NEVER, efi_rule_changeover_never, NOTHING, {END}},
    {EFI_DIAG_CHANGEOVER_UNUSED, efi_rule_changeover_words, NOTHING, {END}},
    {EFI_DIAG_CHANGEOVER_UNUSED, efi_rule_changeover_hidden, NOTHING, {END}},
    {EFI_DIAG_KEY_IDLE, efi_rule_lot_key_idle, NOTHING, {EFI_DIAG_KEY_UNKNOWN, EFI_DIAG_VALUE_UNKNOWN, END}},
    {EFI_DIAG_KEY_IDLE,
     efi_rule_season_key_idle,
     NOTHING,
     {EFI_DIAG_KEY_UNKNOWN, EFI_DIAG_VALUE_UNKNOWN, END}},
    {EFI_DIAG_DUE_EARLY, efi_rule_due_early, NOTHING, {EFI_DIAG_LOT_TIMES, EFI_DIAG_OUT_OF_RANGE, END}},
    {EFI_DIAG_LOT_DONE_ODD, efi_rule_lot_done_odd, NOTHING, {EFI_DIAG_LEFT_OVER, END}},
    {EFI_DIAG_NAMES_ALIKE, efi_rule_traits_alike, NOTHING, {END}},
    {EFI_DIAG_STORE_SMALL, efi_rule_store_small, NOTHING, {EFI_DIAG_OUT_OF_RANGE, END}},
    {EFI_DIAG_CLEANING_FREE, efi_rule_cleaning_free, NOTHING, {END}},
    {EFI_DIAG_KEY_IDLE, efi_rule_key_idle, NOTHING, {EFI_DIAG_STOP_WHEN, EFI_DIAG_KEY_UNKNOWN, END}},
    {EFI_DIAG_LOCK_OUT_OVER, efi_rule_lock_out_over, NOTHING, {EFI_DIAG_STOP_WHEN, EFI_DIAG_STOP_LONG, END}},
    {EFI_DIAG_CREW_UNUSED, efi_rule_crew_unused, NOTHING, {EFI_DIAG_NAME_UNKNOWN, END}},
    {EFI_DIAG_SURGE_RULE_LONG, efi_rule_surge_rule_long, NOTHING, {EFI_DIAG_SHIFT_LONG, END}},
    {EFI_DIAG_POWER_SHORT, efi_rule_power_short, WAYS, {WALK, END}},
    {EFI_DIAG_POWER_UNUSED, efi_rule_power_unused, NOTHING, {END}},
    {EFI_DIAG_LABOUR_PRICE_UNUSED, efi_rule_labour_price_unused, NOTHING, {END}},
    {EFI_DIAG_ENERGY_PRICE_UNUSED, efi_rule_energy_price_unused, NOTHING, {END}},
    {EFI_DIAG_PEOPLE_SHORT, efi_rule_people_short, WAYS, {WALK, END}},
    {EFI_DIAG_LINE_UNUSED, efi_rule_line_unused, NOTHING, {EFI_DIAG_NAME_UNKNOWN, END}},
    {EFI_DIAG_MOISTURE_ODD, efi_rule_moisture_odd, NOTHING, {END}},
    {EFI_DIAG_REPOSE_ODD, efi_rule_repose_odd, NOTHING, {END}},
    {EFI_DIAG_TRADE_WEIGHT_ODD, efi_rule_trade_weight_odd, NOTHING, {END}},
    {EFI_DIAG_HOLIDAY_TWICE, efi_rule_holiday_twice, NOTHING, {EFI_DIAG_END_EARLY, END}},
    {EFI_DIAG_DENSITY_ODD, efi_rule_density_odd, NOTHING, {END}},
    {EFI_DIAG_DENSITY_APART,
     efi_rule_density_apart,
     NOTHING,
     {EFI_DIAG_DENSITY_TWICE, EFI_DIAG_DENSITY_ODD, EFI_DIAG_TRADE_WEIGHT_ODD, END}},
    {EFI_DIAG_MATERIAL_UNUSED,
     efi_rule_material_unused,
     TURNS,
     {EFI_DIAG_NAME_UNKNOWN, EFI_DIAG_NAME_RESERVED, EFI_DIAG_RECEIPT_UNWANTED, END}},
    {EFI_DIAG_NAMES_ALIKE, efi_rule_names_alike, NOTHING, {END}},
    {EFI_DIAG_SEPARATES_NOTHING, efi_rule_separates_nothing, NOTHING, {END}},
    {EFI_DIAG_STEADY_WITHOUT_BIN, efi_rule_steady_without_bin, WAYS, {WALK, END}},
    {EFI_DIAG_LIVE_VOLUME_MISSING, efi_rule_live_volume_missing, WAYS, {WALK, END}},
    {EFI_DIAG_SIZING_RANGE, efi_rule_sizing_range, NOTHING, {END}},
    {EFI_DIAG_SIZES_UNFIT, efi_rule_sizes_unfit, NOTHING, {EFI_DIAG_SIZING_RANGE, END}},
    {EFI_DIAG_KEEP_WITHOUT_VOLUME, efi_rule_keep_without_volume, NOTHING, {END}},
    {EFI_DIAG_SIZING_KEPT, efi_rule_sizing_kept, NOTHING, {EFI_DIAG_KEEP_WITHOUT_VOLUME, END}},
    {EFI_DIAG_BIN_COST_MISSING, efi_rule_bin_cost_missing, NOTHING, {END}},
    {EFI_DIAG_STEADY_BAND_WIDE, efi_rule_steady_band_wide, NOTHING, {END}},
    {EFI_DIAG_SPLIT_SINGLE, efi_rule_split_single, NOTHING, {EFI_DIAG_KEY_TWICE, END}},
    {EFI_DIAG_SPLIT_SAME, efi_rule_split_same, NOTHING, {END}},
    {EFI_DIAG_BY_PASS_USELESS,
     efi_rule_by_pass_useless,
     WAYS | SHARES,
     {FLOW, EFI_DIAG_BY_PASS_UNMARKED, EFI_DIAG_SPLIT_SAME, END}},
    {EFI_DIAG_TREATED_MIXED,
     efi_rule_treated_mixed,
     WAYS | SHARES,
     {FLOW, EFI_DIAG_TREATED_FEED, EFI_DIAG_TREATED_RETURN, END}},
    {EFI_DIAG_TAKES_NOTHING, efi_rule_takes_nothing, WAYS | SHARES, {FLOW, EFI_DIAG_RECEIPT_SUM, END}},
    {EFI_DIAG_TURNS_NOTHING, efi_rule_turns_nothing, WAYS | SHARES, {FLOW, EFI_DIAG_RECEIPT_SUM, END}},
    {EFI_DIAG_REST_TAKES_NOTHING,
     efi_rule_rest_takes_nothing,
     WAYS | SHARES,
     {FLOW, EFI_DIAG_RECEIPT_SUM, END}},
    {EFI_DIAG_NEVER_REMOVED,
     efi_rule_never_removed,
     WAYS | SHARES,
     {FLOW, EFI_DIAG_WANTED_NONE, EFI_DIAG_RECEIPT_UNWANTED, EFI_DIAG_LOOP_CLOSED, EFI_DIAG_PRODUCT_UNREACHED,
      END}},
    {EFI_DIAG_LOOP_OF_CONVEYORS,
     efi_rule_loop_of_conveyors,
     WAYS | SHARES,
     {FLOW, EFI_DIAG_LOOP_CLOSED, END}},
    {EFI_DIAG_LOOP_WITHOUT_BIN, efi_rule_loop_without_bin, WAYS | SHARES, {FLOW, EFI_DIAG_LOOP_CLOSED, END}},
    {EFI_DIAG_LEAST_FEED_UNMET,
     efi_rule_least_feed_unmet,
     WAYS | SHARES,
     {FLOW, EFI_DIAG_LEAST_FEED_OVER, END}},
    {EFI_DIAG_DERATING_EMPTY, efi_rule_derating_empty, NOTHING, {END}},
    {EFI_DIAG_MOISTURE_MISSING, efi_rule_moisture_missing, WAYS, {WALK, END}},
    {EFI_DIAG_DERATING_FLOOR, efi_rule_derating_floor, WAYS, {WALK, EFI_DIAG_MOISTURE_ODD, END}},
    {EFI_DIAG_COUNT_ODD, efi_rule_count_odd, NOTHING, {END}},
    {EFI_DIAG_CAPACITY_ODD, efi_rule_capacity_odd, NOTHING, {END}},
    {EFI_DIAG_PRICE_MISSING, efi_rule_price_missing, WAYS, {WALK, END}},
    {EFI_DIAG_PRICE_INVERTED, efi_rule_price_inverted, WAYS, {WALK, EFI_DIAG_PRICE_MISSING, END}},
    {EFI_DIAG_PURITY_OF_REJECT, efi_rule_purity_of_reject, NOTHING, {END}},
    {EFI_DIAG_PRODUCT_TO_WASTE, efi_rule_product_to_waste, NOTHING, {END}},
    {EFI_DIAG_WALL_FRICTION_ODD, efi_rule_wall_friction_odd, NOTHING, {END}},
    {EFI_DIAG_STEEL_UNFIT, efi_rule_steel_unfit, NOTHING, {EFI_DIAG_KEY_UNFIT, EFI_DIAG_VALUE_UNKNOWN, END}},
    {EFI_DIAG_STANDARD_BIN_INCOMPLETE, efi_rule_standard_bin_incomplete, NOTHING, {BIN_KEYS, END}},
    {EFI_DIAG_BIN_SIZE_ODD, efi_rule_bin_size_odd, NOTHING, {BIN_KEYS, END}},
    {EFI_DIAG_OUTLET_WIDE, efi_rule_outlet_wide, NOTHING, {BIN_KEYS, END}},
    {EFI_DIAG_INLET_OUTSIDE, efi_rule_inlet_outside, NOTHING, {BIN_KEYS, END}},
    {EFI_DIAG_FREEBOARD_OVER, efi_rule_freeboard_over, NOTHING, {BIN_KEYS, END}},
    {EFI_DIAG_HEADROOM_SHORT, efi_rule_headroom_short, NOTHING, {BIN_KEYS, EFI_DIAG_OUTLET_WIDE, END}},
    {EFI_DIAG_REPOSE_MISSING, efi_rule_repose_missing, WAYS, {WALK, BIN_KEYS, END}},
    {EFI_DIAG_STEEL_INCOMPLETE, efi_rule_steel_incomplete, NOTHING, {BIN_KEYS, END}},
    {EFI_DIAG_LIVE_VOLUME_APART, efi_rule_live_volume_apart, WAYS, {WALK, BIN_KEYS, END}},
    {EFI_DIAG_HOPPER_FLAT, efi_rule_hopper_flat, WAYS, {WALK, BIN_KEYS, EFI_DIAG_WALL_FRICTION_ODD, END}},
    {EFI_DIAG_PARTICLE_SIZE_ODD, efi_rule_particle_size_odd, NOTHING, {END}},
    {EFI_DIAG_OUTLET_ARCHES,
     efi_rule_outlet_arches,
     WAYS,
     {WALK, BIN_KEYS, EFI_DIAG_OUTLET_WIDE, EFI_DIAG_PARTICLE_SIZE_ODD, END}},
    {EFI_DIAG_OUTLET_SHORT,
     efi_rule_outlet_short,
     WAYS,
     {WALK, BIN_KEYS, EFI_DIAG_OUTLET_WIDE, EFI_DIAG_PARTICLE_SIZE_ODD, EFI_DIAG_OUTLET_ARCHES, END}},
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

void efi_rule_clear(const efi_rules *rules, bool *marks)
{
    memset(marks, 0, (size_t)rules->scenario->station_count * sizeof *marks);
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

/* Where to point: at the value of the key, else at the key that owns it. A block is pointed at by its key,
 * but in a table by its first cell. */
static const efi_node *pointed_at(efi_origin origin, const char *key)
{
    const efi_node *key_node = key ? efi_node_find_key(origin.value, key) : NULL;
    if (!key_node)
        return origin.key;
    if (efi_node_is_heading(key_node))
        return key_node + 1;
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

/* A key of a block at the top of the file. */
static ef_diag draft_in(efi_rules *rules, const char *block, const char *key)
{
    const efi_node *at = efi_node_find_key(rules->scenario->tree.root, block);
    const efi_origin origin = {at, at ? at + 1 : NULL};
    return draft_at(rules, pointed_at(origin, key), efi_diags_textf(rules->diags, "%s.%s", block, key));
}

ef_diag efi_rule_plant(efi_rules *rules, const char *key)
{
    return draft_in(rules, "plant", key);
}

ef_diag efi_rule_season(efi_rules *rules, const char *key)
{
    return draft_in(rules, "season", key);
}

void efi_rule_find(efi_rules *rules, efi_names names, const efi_node *node, const char *key)
{
    if (!key)
        return; /* no memory, which the findings know */
    const efi_node whole = {.kind = EFI_NODE_TEXT, .is.text = key, .length = (uint32_t)strlen(key)};
    const efi_path path = efi_path_to(NULL, &whole);
    (void)efi_bind_find(rules->binder, names, node, &path);
}

ef_diag efi_rule_within(efi_rules *rules, int station, const char *block, const char *key)
{
    const efi_station *of = &rules->scenario->stations[station];
    const efi_node *at = efi_node_find_key(of->origin.value, block);
    const efi_origin origin = {at, at ? at + 1 : NULL};
    const char *list = efi_diags_textf(rules->diags, "stations.%s", of->name);
    return efi_rule_draft(rules, list ? list : "", block, origin, key);
}

ef_diag efi_rule_receipt(efi_rules *rules, int crop, int material)
{
    const efi_crop *of = &rules->scenario->crops[crop];
    const efi_node *at = efi_node_find_key(of->origin.value, "receipt");
    const efi_origin origin = {at, at ? at + 1 : NULL};
    const char *list = efi_diags_textf(rules->diags, "crops.%s", of->name);
    return efi_rule_draft(rules, list ? list : "", "receipt", origin,
                          rules->scenario->materials[material].name);
}

const char *efi_rule_number(efi_rules *rules, double value)
{
    efi_text text = {0};
    efi_number_add_significant(&text, value, 4);
    const char *kept = efi_bind_keep(rules->binder, &text);
    return kept ? kept : "";
}

void efi_rule_second(efi_rules *rules, ef_diag *draft, const efi_node *node, const char *words)
{
    if (!node)
        return;
    draft->second = efi_tree_place(&rules->scenario->tree, node);
    draft->second_words = words;
}

/* What one intake may take of a crop, t/h; NaN when that is not known. */
static double intake_tph(const ef_scenario *scenario, const efi_station *intake, int crop)
{
    const efi_crop *of = &scenario->crops[crop];
    if (!intake->capacity || !intake->capacity[crop].given || !of->receipt)
        return NAN;
    const efi_value capacity = intake->capacity[crop];
    const double peak = intake->peak_factor.given ? intake->peak_factor.value : 1.0;
    double m3_per_t = 1.0;
    if (capacity.of == EFI_KIND_VOLUME_RATE) {
        m3_per_t = 0.0;
        for (int m = 0; m < scenario->material_count; m++) {
            const efi_value density = efi_scenario_density(scenario, crop, m);
            if (of->receipt[m] > 0.0)
                m3_per_t += density.given ? of->receipt[m] / density.value : NAN;
        }
    }
    return capacity.value * intake->count / peak / m3_per_t;
}

static double intakes_tph(const ef_scenario *scenario, int crop)
{
    double sum = 0.0;
    for (int s = 0; s < scenario->station_count; s++)
        if (efi_station_receives(&scenario->stations[s], crop))
            sum += intake_tph(scenario, &scenario->stations[s], crop);
    return sum;
}

/* ---- the run --------------------------------------------------------------------------------------------
 */

/* Do all crops go the same ways? In most plants they do. */
static bool ways_are_same(const ef_scenario *scenario)
{
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_discharges *out = &scenario->stations[s].discharges;
        if (scenario->stations[s].receives.count > 0)
            return false;
        for (int d = 0; d < out->count; d++)
            for (int c = 1; out->items[d].to && c < scenario->crop_count; c++)
                if (out->items[d].to[c] != out->items[d].to[0])
                    return false;
    }
    return true;
}

/* Does a spout get some of what a crop brings? One whose shares are not known does. */
static bool carries_some(const ef_scenario *scenario, const efi_way *way, int crop)
{
    const double *receipt = scenario->crops[crop].receipt;
    const double *share = scenario->stations[way->from].discharges.items[way->discharge].share;
    const size_t materials = (size_t)scenario->material_count;
    bool some = !share || !receipt;
    for (size_t m = 0; m < materials && !some; m++)
        some = efi_crop_passes(scenario, crop, (int)m) &&
               share[(size_t)crop * materials + m] > EFI_RULE_NO_SHARE;
    return some;
}

/* The spouts of a crop: what they reach and carry. `same`: all crops go the same ways. */
static bool prepare_crop(efi_rules *rules, efi_arena *arena, int crop, bool same)
{
    const ef_scenario *scenario = rules->scenario;
    const size_t stations = (size_t)scenario->station_count;
    efi_ways *ways = &rules->by_crop[crop];
    bool *reached = rules->reached + (size_t)crop * stations;
    if (same)
        *ways = rules->all;
    else if (efi_ways_build(ways, arena, scenario, crop) != EF_OK)
        return false;
    bool *carries = efi_arena_get(arena, (size_t)ways->count, sizeof *carries);
    if (!carries)
        return false;
    for (int w = 0; w < ways->count; w++)
        carries[w] = carries_some(scenario, &ways->way[w], crop);
    rules->carries[crop] = carries;
    rules->intakes_tph[crop] = intakes_tph(scenario, crop);
    if (same && crop > 0)
        memcpy(reached, rules->reached, stations * sizeof *reached);
    else
        efi_ways_down(ways, scenario, crop, -1, reached, rules->stack);
    rules->repeats[crop] = same && crop > 0 &&
                           memcmp(carries, rules->carries[crop - 1], (size_t)ways->count * sizeof *carries) ==
                               0;
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
    rules->number = efi_arena_get(arena, stations, sizeof *rules->number);
    rules->number_too = efi_arena_get(arena, stations, sizeof *rules->number_too);
    rules->carries = efi_arena_get(arena, crops, sizeof *rules->carries);
    rules->repeats = efi_arena_get(arena, crops, sizeof *rules->repeats);
    rules->intakes_tph = efi_arena_get(arena, crops, sizeof *rules->intakes_tph);
    if (!rules->by_crop || !rules->reached || !rules->mark || !rules->mark_too || !rules->stack ||
        !rules->number || !rules->number_too || !rules->carries || !rules->repeats || !rules->intakes_tph)
        return false;
    if (scenario->has_turns) {
        const size_t pairs = stations * (size_t)scenario->material_count;
        rules->pairs = efi_arena_get(arena, pairs, sizeof *rules->pairs);
        rules->pairs_too = efi_arena_get(arena, pairs, sizeof *rules->pairs_too);
        rules->pair_stack = efi_arena_get(arena, pairs, sizeof *rules->pair_stack);
        if (!rules->pairs || !rules->pairs_too || !rules->pair_stack)
            return false;
    }
    if (efi_ways_build(&rules->all, arena, scenario, EFI_ALL_CROPS) != EF_OK)
        return false;
    const bool same = ways_are_same(scenario);
    for (int c = 0; c < scenario->crop_count; c++)
        if (!prepare_crop(rules, arena, c, same))
            return false;
    rules->way_mark = efi_arena_get(arena, (size_t)rules->all.count, sizeof *rules->way_mark);
    return rules->way_mark != NULL;
}

/* Is the way on of every crop known, where one is given? */
static bool to_known(const efi_rules *rules, const int *to)
{
    for (int crop = 0; to && crop < rules->scenario->crop_count; crop++)
        if (to[crop] == EFI_UNREAD)
            return false;
    return to != NULL;
}

/* Looks whether the kind, the ways on and the shares of every station could be read; a table beside the
 * scenario that cannot be read may hold any of them. */
static void look_what_is_known(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    const bool tables_known = efi_diags_count_code(rules->diags, EFI_DIAG_FILE_UNREAD) == 0 &&
                              efi_diags_count_code(rules->diags, EFI_DIAG_CSV_SYNTAX) == 0;
    rules->ways_known = rules->shares_known = tables_known;
    rules->turns_known = true;
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
        rules->turns_known = rules->turns_known &&
                             (station->turns || !efi_rule_has(station->origin, "turns"));
    }
    rules->shares_known = rules->shares_known && rules->turns_known;
}

static bool basis_holds(const efi_rules *rules, const rule *one)
{
    if (((one->needs & WAYS) && !rules->ways_known) || ((one->needs & SHARES) && !rules->shares_known) ||
        ((one->needs & TURNS) && !rules->turns_known))
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
