/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of semantic checks share. A check looks at one thing and adds findings of one name. */
#ifndef EFI_RULES_H
#define EFI_RULES_H

#include "model/bind.h"
#include "model/ways.h"

/* A smaller share of a material is none: what rounding leaves of "rest". */
#define EFI_RULE_NO_SHARE 1e-9

/* A season, and what is far from it, days: a hundred years; our choice. */
#define EFI_RULE_MOST_DAYS INT64_C(36525)

/* What the checks work with. */
typedef struct efi_rules {
    efi_binder *binder;
    const ef_scenario *scenario;
    ef_diags *diags;
    efi_ways all;        /* spouts of all crops together */
    efi_ways *by_crop;   /* shape [crop] */
    bool *reached;       /* shape [crop][station]: material of the crop comes here */
    bool *mark;          /* shape [station], scratch */
    bool *mark_too;      /* shape [station], scratch */
    int *stack;          /* shape [station], scratch */
    bool *pairs;         /* shape [station][material], scratch; only where something is turned */
    bool *pairs_too;     /* the same */
    int *pair_stack;     /* the same */
    int *number;         /* shape [station], scratch */
    int *number_too;     /* shape [station], scratch */
    bool **carries;      /* shape [crop][way of that crop]: the spout gets some of what the crop brings */
    bool *repeats;       /* shape [crop]: goes the same ways as the crop before, and every spout that carries
                            something of       the one does of the other: what follows from that was told */
    double *intakes_tph; /* shape [crop]: what all intakes together may take; NaN when not known */
    bool *way_mark;      /* shape [way of a crop], scratch */
    bool ways_known;     /* no kind of station and no way on is unread: what follows from the ways holds */
    bool shares_known;   /* no share that a discharge takes, or a machine turns, is unread */
    bool turns_known;    /* no share that a machine turns is unread */
} efi_rules;

/* The beginning of a finding about a key of a named thing: `key` NULL for the thing itself. The position is
 * that of the value, or of the name where the key is absent. */
ef_diag efi_rule_draft(efi_rules *rules, const char *list, const char *name, efi_origin origin,
                       const char *key);
/* The same for a station, and for a key of one of its discharges. */
ef_diag efi_rule_station(efi_rules *rules, int station, const char *key);
ef_diag efi_rule_discharge(efi_rules *rules, int station, int discharge, const char *key);

/* The same for a key of the plant, and for a key inside a block of a station ("screw"). */
ef_diag efi_rule_plant(efi_rules *rules, const char *key);
ef_diag efi_rule_within(efi_rules *rules, int station, const char *block, const char *key);

/* The same for a key of the season, and for a lot; the value that a lot has for a key, NULL without. */
ef_diag efi_rule_season(efi_rules *rules, const char *key);
ef_diag efi_rule_lot(efi_rules *rules, int lot, const char *key);
const efi_node *efi_rule_lot_value(const efi_rules *rules, int lot, const char *key);

/* Looks for a name, and reports it at `key` when there is none. */
void efi_rule_find(efi_rules *rules, efi_names names, const efi_node *node, const char *key);

/* Adds that no seed class has this name. */
void efi_rule_report_class(efi_rules *rules, ef_diag draft, const char *class);

/* The same for what a crop's receipt holds of a material. */
ef_diag efi_rule_receipt(efi_rules *rules, int crop, int material);

/* Adds "first in ..." as second position; nothing when `node` is NULL. */
void efi_rule_second(efi_rules *rules, ef_diag *draft, const efi_node *node, const char *words);

/* Does the file give this key, well or badly? */
bool efi_rule_has(efi_origin origin, const char *key);

/* Does the file give a way on, well or badly? */
bool efi_rule_has_way(const efi_station *station);

/* Does the file give this flag, but neither as yes nor as no? */
bool efi_rule_flag_unread(efi_origin origin, const char *key);

/* Are there so many warnings that one more of this code is not worth its texts? Then it is counted here. */
bool efi_rule_only_counted(efi_rules *rules, efi_diag_code code);

/* " and 3 other crops" for a finding that holds for `others` more; "" for none. */
const char *efi_rule_others(efi_rules *rules, int others);

/* A number for a message, with four significant digits; lives as long as the findings. */
const char *efi_rule_number(efi_rules *rules, double value);

/* Makes marks, shape [station], false. */
void efi_rule_clear(const efi_rules *rules, bool *marks);

static inline bool efi_rule_reached(const efi_rules *rules, int crop, int station)
{
    return rules->reached[(size_t)crop * (size_t)rules->scenario->station_count + (size_t)station];
}

/* The checks, one for each code; see the table in rules.c. */
void efi_rule_wanted_none(efi_rules *rules);
void efi_rule_density_twice(efi_rules *rules);
void efi_rule_density_odd(efi_rules *rules);
void efi_rule_receipt_unwanted(efi_rules *rules);
void efi_rule_material_unused(efi_rules *rules);
void efi_rule_names_alike(efi_rules *rules);

void efi_rule_intake_none(efi_rules *rules);
void efi_rule_crop_not_received(efi_rules *rules);
void efi_rule_outlet_none(efi_rules *rules);
void efi_rule_way_twice(efi_rules *rules);
void efi_rule_rest_twice(efi_rules *rules);
void efi_rule_rest_missing(efi_rules *rules);
void efi_rule_turns_nothing(efi_rules *rules);
void efi_rule_shares_over(efi_rules *rules);
void efi_rule_least_feed_over(efi_rules *rules);
void efi_rule_separates_nothing(efi_rules *rules);

void efi_rule_split_keys(efi_rules *rules);
void efi_rule_split_rest(efi_rules *rules);
void efi_rule_split_sum(efi_rules *rules);

void efi_rule_time_empty(efi_rules *rules);
void efi_rule_end_early(efi_rules *rules);
void efi_rule_maintenance_when(efi_rules *rules);
void efi_rule_shifts_overlap(efi_rules *rules);
void efi_rule_break_outside(efi_rules *rules);
void efi_rule_breaks_over(efi_rules *rules);
void efi_rule_overtime_overlap(efi_rules *rules);
void efi_rule_holiday_twice(efi_rules *rules);

void efi_rule_stop_when(efi_rules *rules);
void efi_rule_shape_missing(efi_rules *rules);
void efi_rule_key_idle(efi_rules *rules);
void efi_rule_stop_long(efi_rules *rules);
void efi_rule_lock_out_over(efi_rules *rules);
void efi_rule_instant_without_bin(efi_rules *rules);
void efi_rule_record_unfit(efi_rules *rules);
void efi_rule_calendar_missing(efi_rules *rules);
void efi_rule_records_overlap(efi_rules *rules);
void efi_rule_crew_hours(efi_rules *rules);
void efi_rule_crew_unused(efi_rules *rules);
void efi_rule_travel_unfit(efi_rules *rules);
void efi_rule_batch_unfit(efi_rules *rules);
void efi_rule_loads_which(efi_rules *rules);
void efi_rule_loads_sum(efi_rules *rules);
void efi_rule_receipts_hours(efi_rules *rules);

void efi_rule_intake_fed(efi_rules *rules);
void efi_rule_feeds_itself(efi_rules *rules);
void efi_rule_way_missing(efi_rules *rules);
void efi_rule_unreached(efi_rules *rules);
void efi_rule_dead_end(efi_rules *rules);
void efi_rule_loop_closed(efi_rules *rules);
void efi_rule_product_unreached(efi_rules *rules);
void efi_rule_capacity_missing(efi_rules *rules);
void efi_rule_density_missing(efi_rules *rules);
void efi_rule_steady_without_bin(efi_rules *rules);

void efi_rule_shift_long(efi_rules *rules);
void efi_rule_power_short(efi_rules *rules);
void efi_rule_surge_rule_long(efi_rules *rules);
void efi_rule_power_unused(efi_rules *rules);
void efi_rule_labour_price_unused(efi_rules *rules);
void efi_rule_energy_price_unused(efi_rules *rules);
void efi_rule_people_short(efi_rules *rules);
void efi_rule_line_unused(efi_rules *rules);
void efi_rule_wanted_lost(efi_rules *rules);
void efi_rule_never_removed(efi_rules *rules);
void efi_rule_moisture_odd(efi_rules *rules);
void efi_rule_repose_odd(efi_rules *rules);
void efi_rule_trade_weight_odd(efi_rules *rules);
void efi_rule_density_apart(efi_rules *rules);
void efi_rule_moisture_missing(efi_rules *rules);
void efi_rule_price_inverted(efi_rules *rules);
void efi_rule_branch_range(efi_rules *rules);
void efi_rule_split_room(efi_rules *rules);
void efi_rule_by_pass_unmarked(efi_rules *rules);
void efi_rule_treated_feed(efi_rules *rules);
void efi_rule_treated_return(efi_rules *rules);
void efi_rule_treated_use_unsaid(efi_rules *rules);
void efi_rule_capacity_twice(efi_rules *rules);
void efi_rule_screw_steep(efi_rules *rules);
void efi_rule_screw_shaft(efi_rules *rules);
void efi_rule_conveying_nothing(efi_rules *rules);
void efi_rule_least_rate_over(efi_rules *rules);
void efi_rule_treated_mixed(efi_rules *rules);
void efi_rule_by_pass_useless(efi_rules *rules);
void efi_rule_split_single(efi_rules *rules);
void efi_rule_split_same(efi_rules *rules);
void efi_rule_takes_nothing(efi_rules *rules);
void efi_rule_rest_takes_nothing(efi_rules *rules);
void efi_rule_loop_of_conveyors(efi_rules *rules);
void efi_rule_loop_without_bin(efi_rules *rules);
void efi_rule_least_feed_unmet(efi_rules *rules);
void efi_rule_derating_empty(efi_rules *rules);
void efi_rule_derating_floor(efi_rules *rules);
void efi_rule_steady_band_wide(efi_rules *rules);
void efi_rule_live_volume_missing(efi_rules *rules);
void efi_rule_count_odd(efi_rules *rules);
void efi_rule_capacity_odd(efi_rules *rules);
void efi_rule_sizing_range(efi_rules *rules);
void efi_rule_sizes_unfit(efi_rules *rules);
void efi_rule_keep_without_volume(efi_rules *rules);
void efi_rule_sizing_kept(efi_rules *rules);
void efi_rule_bin_cost_missing(efi_rules *rules);
void efi_rule_price_missing(efi_rules *rules);
void efi_rule_purity_of_reject(efi_rules *rules);
void efi_rule_product_to_waste(efi_rules *rules);

void efi_rule_steel_unfit(efi_rules *rules);
void efi_rule_standard_bin_incomplete(efi_rules *rules);
void efi_rule_bin_size_odd(efi_rules *rules);
void efi_rule_outlet_wide(efi_rules *rules);
void efi_rule_inlet_outside(efi_rules *rules);
void efi_rule_freeboard_over(efi_rules *rules);
void efi_rule_headroom_short(efi_rules *rules);
void efi_rule_repose_missing(efi_rules *rules);
void efi_rule_steel_incomplete(efi_rules *rules);
void efi_rule_live_volume_apart(efi_rules *rules);
void efi_rule_hopper_flat(efi_rules *rules);
void efi_rule_outlet_arches(efi_rules *rules);
void efi_rule_outlet_short(efi_rules *rules);
void efi_rule_wall_friction_odd(efi_rules *rules);
void efi_rule_particle_size_odd(efi_rules *rules);

void efi_rule_season_span(efi_rules *rules);
void efi_rule_class_twice(efi_rules *rules);
void efi_rule_lot_crop_missing(efi_rules *rules);
void efi_rule_lot_class_unknown(efi_rules *rules);
void efi_rule_lot_range(efi_rules *rules);
void efi_rule_left_over(efi_rules *rules);
void efi_rule_lot_times(efi_rules *rules);
void efi_rule_lot_outside(efi_rules *rules);
void efi_rule_after_loop(efi_rules *rules);
void efi_rule_lot_place_missing(efi_rules *rules);
void efi_rule_running_twice(efi_rules *rules);
void efi_rule_lot_without_line(efi_rules *rules);
void efi_rule_due_early(efi_rules *rules);
void efi_rule_lot_done_odd(efi_rules *rules);
void efi_rule_lot_key_idle(efi_rules *rules);
void efi_rule_traits_alike(efi_rules *rules);
void efi_rule_store_shared(efi_rules *rules);
void efi_rule_store_small(efi_rules *rules);
void efi_rule_pair_missing(efi_rules *rules);
void efi_rule_classes_missing(efi_rules *rules);
void efi_rule_changeover_never(efi_rules *rules);
void efi_rule_changeover_words(efi_rules *rules);
void efi_rule_changeover_hidden(efi_rules *rules);
void efi_rule_season_key_idle(efi_rules *rules);
void efi_rule_cleaning_free(efi_rules *rules);

#endif
