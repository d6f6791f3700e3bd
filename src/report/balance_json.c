/* SPDX-License-Identifier: GPL-3.0-or-later
 * A balance as JSON: everything, in base units. */
#include "report/json.h"
#include "report/report.h"

#include <evenfeed/balance.h>

typedef struct writer {
    efi_json json;
    const ef_balance *balance;
} writer;

static json_t *stream_json(writer *w, const ef_stream *stream)
{
    json_t *object = efi_json_object(&w->json);
    efi_json_set_real(&w->json, object, "total_tph", stream->total_tph);
    json_t *materials = efi_json_object(&w->json);
    for (int m = 0; m < w->balance->material_count; m++)
        efi_json_set_real(&w->json, materials, w->balance->materials[m], stream->material_tph[m]);
    efi_json_set(&w->json, object, "material_tph", materials);
    return object;
}

static json_t *station_json(writer *w, const ef_balance_station *station)
{
    efi_json *json = &w->json;
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "name", station->name);
    efi_json_set_text(json, object, "kind", station->kind);
    efi_json_set_text(json, object, "line", station->line);
    efi_json_set(json, object, "place", efi_json_place(json, &station->place));
    efi_json_set_count(json, object, "machines", station->count);
    efi_json_set(json, object, "feed", stream_json(w, &station->feed));
    efi_json_set_known(json, object, "feed_m3ph", station->has_density, station->feed_m3ph);
    const bool volume = station->capacity_by_volume;
    efi_json_set_known(json, object, "capacity_tph", station->has_capacity && !volume, station->capacity);
    efi_json_set_known(json, object, "capacity_m3ph", station->has_capacity && volume, station->capacity);
    efi_json_set_known(json, object, "slack_tph", station->has_capacity && !volume, station->slack);
    efi_json_set_known(json, object, "slack_m3ph", station->has_capacity && volume, station->slack);
    efi_json_set_known(json, object, "load_share", station->has_capacity, station->load);
    efi_json_set_known(json, object, volume ? "nominal_capacity_m3ph" : "nominal_capacity_tph",
                       station->has_capacity, station->nominal_capacity);
    efi_json_set_known(json, object, "derating_share", station->has_capacity, station->derating);
    efi_json_set_known(json, object, "peak_factor", station->has_capacity, station->peak_factor);
    efi_json_set_real(json, object, "power_kw", station->power_kw);
    efi_json_set_real(json, object, "air_m3ph", station->air_m3ph);
    efi_json_set_real(json, object, "people", station->people);
    if (station->has_capacity)
        efi_json_set(json, object, "capacity_place", efi_json_place(json, &station->capacity_place));
    efi_json_set_flag(json, object, "limits", station->limits);
    const char *intake_worth = volume ? "worth_intake_tph_per_m3ph" : "worth_intake_tph_per_tph";
    const char *product_worth = volume ? "worth_product_tph_per_m3ph" : "worth_product_tph_per_tph";
    efi_json_set_known(json, object, intake_worth, station->limits, station->worth_intake_tph);
    efi_json_set_known(json, object, product_worth, station->limits, station->worth_product_tph);
    const bool value_aim = w->balance->aim == EF_BALANCE_VALUE;
    efi_json_set_known(json, object, volume ? "worth_value_per_m3" : "worth_value_per_t",
                       station->limits && value_aim, station->worth_value);
    efi_json_set_known(json, object, "least_feed_tph", station->has_least_feed, station->least_feed_tph);
    efi_json_set_flag(json, object, "under_least_feed", station->under_least_feed);
    efi_json_set_count(json, object, "enough_machines", station->enough_machines);
    efi_json_set_known(json, object, "steady_band_share", station->steady_feed, station->steady_band);
    return object;
}

static json_t *spout_json(writer *w, const ef_balance_spout *spout)
{
    efi_json *json = &w->json;
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "from", spout->from);
    efi_json_set_text(json, object, "discharge", spout->discharge);
    efi_json_set_text(json, object, "to", spout->to);
    efi_json_set_flag(json, object, "closes_loop", spout->closes_loop);
    efi_json_set(json, object, "flow", stream_json(w, &spout->flow));
    return object;
}

static json_t *outlet_json(writer *w, const ef_balance_outlet *outlet)
{
    efi_json *json = &w->json;
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "name", outlet->name);
    efi_json_set(json, object, "place", efi_json_place(json, &outlet->place));
    efi_json_set_flag(json, object, "product", outlet->product);
    efi_json_set(json, object, "flow", stream_json(w, &outlet->flow));
    efi_json_set_real(json, object, "share_of_intake", outlet->share_of_intake);
    efi_json_set_real(json, object, "wanted_share", outlet->wanted_share);
    efi_json_set_real(json, object, "wanted_recovered_share", outlet->wanted_recovered);
    efi_json_set_known(json, object, "least_rate_tph", outlet->has_least_rate, outlet->least_rate_tph);
    efi_json_set_known(json, object, "least_purity_share", outlet->has_least_purity, outlet->least_purity);
    efi_json_set_text(json, object, "use", outlet->use);
    efi_json_set_known(json, object, "price_per_t", outlet->has_price, outlet->price);
    efi_json_set_known(json, object, "value_per_h", outlet->has_price, outlet->value_per_h);
    efi_json_set_known(json, object, outlet->holds_by_volume ? "holds_m3" : "holds_t", outlet->has_holds,
                       outlet->holds);
    efi_json_set_known(json, object, "fills_h", outlet->has_holds && outlet->fills_h > 0.0, outlet->fills_h);
    return object;
}

static json_t *bin_json(writer *w, const ef_balance_bin *bin)
{
    efi_json *json = &w->json;
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "name", bin->name);
    efi_json_set_text(json, object, "feeds", bin->feeds);
    efi_json_set(json, object, "place", efi_json_place(json, &bin->place));
    efi_json_set_real(json, object, "feed_tph", bin->feed_tph);
    efi_json_set_known(json, object, "feed_m3ph", bin->has_density, bin->feed_m3ph);
    efi_json_set_real(json, object, "rule_h", bin->rule_h);
    efi_json_set_real(json, object, "rule_t", bin->rule_t);
    efi_json_set_known(json, object, "rule_m3", bin->has_density, bin->rule_m3);
    efi_json_set_known(json, object, "rule_bushel_by_volume", bin->has_density, bin->rule_bushel);
    efi_json_set_known(json, object, "live_m3", bin->has_live, bin->live_m3);
    efi_json_set_known(json, object, "live_t", bin->has_live && bin->has_density, bin->live_t);
    efi_json_set_known(json, object, "live_min", bin->has_live && bin->has_density, bin->live_minutes);
    return object;
}

static json_t *conflict_json(writer *w, const ef_balance_conflict *conflict)
{
    static const char *const words[] = {[EF_BALANCE_LEAST_RATE] = "least rate",
                                        [EF_BALANCE_LEAST_PURITY] = "least purity",
                                        [EF_BALANCE_POWER] = "power limit"};
    efi_json *json = &w->json;
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "demand", words[conflict->demand]);
    efi_json_set_text(json, object, "outlet", conflict->outlet);
    efi_json_set(json, object, "place", efi_json_place(json, &conflict->place));
    const bool rate = conflict->demand == EF_BALANCE_LEAST_RATE;
    const bool purity = conflict->demand == EF_BALANCE_LEAST_PURITY;
    const bool power = conflict->demand == EF_BALANCE_POWER;
    efi_json_set_known(json, object, "demanded_tph", rate, conflict->demanded_tph);
    efi_json_set_known(json, object, "most_tph", rate, conflict->most_tph);
    efi_json_set_known(json, object, "demanded_share", purity, conflict->demanded_share);
    efi_json_set_known(json, object, "reached_share", purity, conflict->reached_share);
    efi_json_set_known(json, object, "idle_kw", power, conflict->idle_kw);
    efi_json_set_known(json, object, "limit_kw", power, conflict->limit_kw);
    json_t *limiting = efi_json_array(json);
    for (int i = 0; i < conflict->limiting_count; i++)
        efi_json_append(json, limiting, efi_json_text(json, conflict->limiting[i]));
    efi_json_set(json, object, "limiting", limiting);
    return object;
}

static json_t *split_json(writer *w, const ef_balance_split *split)
{
    efi_json *json = &w->json;
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "name", split->name);
    efi_json_set_text(json, object, "rule", split->rule);
    efi_json_set(json, object, "place", efi_json_place(json, &split->place));
    efi_json_set_flag(json, object, "chosen", split->chosen);
    json_t *branches = efi_json_array(json);
    for (int i = 0; i < split->branch_count; i++) {
        const ef_balance_branch *branch = &split->branches[i];
        json_t *one = efi_json_object(json);
        efi_json_set_text(json, one, "name", branch->name);
        efi_json_set_text(json, one, "to", branch->to);
        efi_json_set_real(json, one, "share", branch->share);
        efi_json_set_real(json, one, "least_share", branch->least_share);
        efi_json_set_real(json, one, "most_share", branch->most_share);
        efi_json_set_flag(json, one, "by_pass", branch->by_pass);
        efi_json_append(json, branches, one);
    }
    efi_json_set(json, object, "branches", branches);
    return object;
}

static json_t *purchase_json(writer *w, const ef_balance_purchase *purchase)
{
    efi_json *json = &w->json;
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "station", purchase->station);
    const bool power = !purchase->station;
    efi_json_set_real(json, object,
                      power                 ? "more_kw"
                      : purchase->by_volume ? "more_m3ph"
                                            : "more_tph",
                      purchase->more);
    efi_json_set_real(json, object,
                      power                 ? "power_limit_kw"
                      : purchase->by_volume ? "capacity_m3ph"
                                            : "capacity_tph",
                      purchase->capacity);
    return object;
}

static json_t *rung_json(writer *w, const ef_balance_rung *rung)
{
    efi_json *json = &w->json;
    json_t *object = efi_json_object(json);
    efi_json_set_real(json, object, "intake_tph", rung->intake_tph);
    efi_json_set_real(json, object, "product_tph", rung->product_tph);
    efi_json_set_known(json, object, "value_per_h", w->balance->aim == EF_BALANCE_VALUE, rung->value_per_h);
    json_t *purchases = efi_json_array(json);
    for (int i = 0; i < rung->purchase_count; i++)
        efi_json_append(json, purchases, purchase_json(w, &rung->purchases[i]));
    efi_json_set(json, object, "purchases", purchases);
    json_t *limits = efi_json_array(json);
    for (int i = 0; i < rung->limit_count; i++)
        efi_json_append(json, limits, efi_json_text(json, rung->limits[i] ? rung->limits[i] : "power"));
    efi_json_set(json, object, "then_limits", limits);
    efi_json_set_real(json, object, "check_difference_share", rung->check);
    return object;
}

static void add_lists(writer *w, json_t *object, const ef_balance_crop *crop)
{
    efi_json *json = &w->json;
    json_t *stations = efi_json_array(json);
    for (int i = 0; i < crop->station_count; i++)
        efi_json_append(json, stations, station_json(w, &crop->stations[i]));
    efi_json_set(json, object, "stations", stations);
    json_t *spouts = efi_json_array(json);
    for (int i = 0; i < crop->spout_count; i++)
        efi_json_append(json, spouts, spout_json(w, &crop->spouts[i]));
    efi_json_set(json, object, "spouts", spouts);
    json_t *outlets = efi_json_array(json);
    for (int i = 0; i < crop->outlet_count; i++)
        efi_json_append(json, outlets, outlet_json(w, &crop->outlets[i]));
    efi_json_set(json, object, "outlets", outlets);
    json_t *bins = efi_json_array(json);
    for (int i = 0; i < crop->bin_count; i++)
        efi_json_append(json, bins, bin_json(w, &crop->bins[i]));
    efi_json_set(json, object, "bins", bins);
    json_t *conflicts = efi_json_array(json);
    for (int i = 0; i < crop->conflict_count; i++)
        efi_json_append(json, conflicts, conflict_json(w, &crop->conflicts[i]));
    efi_json_set(json, object, "conflicts", conflicts);
    json_t *splits = efi_json_array(json);
    for (int i = 0; i < crop->split_count; i++)
        efi_json_append(json, splits, split_json(w, &crop->splits[i]));
    efi_json_set(json, object, "splits", splits);
    json_t *rungs = efi_json_array(json);
    for (int i = 0; i < crop->rung_count; i++)
        efi_json_append(json, rungs, rung_json(w, &crop->rungs[i]));
    efi_json_set(json, object, "ladder", rungs);
}

/* Power, people, money, and how good the chosen shares are. */
static void add_means(writer *w, json_t *object, const ef_balance_crop *crop)
{
    efi_json *json = &w->json;
    efi_json_set_real(json, object, "value_per_h", crop->value_per_h);
    efi_json_set_real(json, object, "power_kw", crop->power_kw);
    efi_json_set_known(json, object, "power_limit_kw", crop->has_power_limit, crop->power_limit_kw);
    efi_json_set_flag(json, object, "power_limits", crop->power_limits);
    efi_json_set_known(json, object, "power_worth_intake_tph_per_kw", crop->power_limits,
                       crop->power_worth_intake_tph);
    efi_json_set_known(json, object, "power_worth_product_tph_per_kw", crop->power_limits,
                       crop->power_worth_product_tph);
    efi_json_set_known(json, object, "power_worth_value_per_h_per_kw",
                       crop->power_limits && w->balance->aim == EF_BALANCE_VALUE, crop->power_worth_value);
    efi_json_set_real(json, object, "energy_kwh_per_t_product", crop->kwh_per_t);
    efi_json_set_real(json, object, "air_m3ph", crop->air_m3ph);
    efi_json_set_real(json, object, "people", crop->people);
    efi_json_set_known(json, object, "people_limit", crop->has_people_limit, crop->people_limit);
    const bool by_value = w->balance->aim == EF_BALANCE_VALUE;
    efi_json_set_known(json, object, by_value ? "bound_value_per_h" : "bound_intake_tph", crop->has_bound,
                       crop->bound);
    efi_json_set_known(json, object, "gap_share", crop->has_bound, crop->gap);
    efi_json_set_count(json, object, "search_starts", crop->search_starts);
    efi_json_set_count(json, object, "search_steps", crop->search_steps);
}

static json_t *crop_json(writer *w, const ef_balance_crop *crop)
{
    efi_json *json = &w->json;
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "name", crop->name);
    efi_json_set(json, object, "place", efi_json_place(json, &crop->place));
    efi_json_set_flag(json, object, "feasible", crop->feasible);
    efi_json_set(json, object, "intake", stream_json(w, &crop->intake));
    efi_json_set(json, object, "product", stream_json(w, &crop->product));
    efi_json_set_real(json, object, "yield_share", crop->yield);
    efi_json_set_real(json, object, "wanted_recovered_share", crop->wanted_recovered);
    if (crop->wanted_made_tph > 0.0)
        efi_json_set_real(json, object, "wanted_made_tph", crop->wanted_made_tph);
    efi_json_set_real(json, object, "purity_share", crop->purity);
    efi_json_set_real(json, object, "shift_h", crop->shift_h);
    efi_json_set_real(json, object, "intake_per_shift_before_stops_t", crop->intake_per_shift_t);
    efi_json_set_real(json, object, "product_per_shift_before_stops_t", crop->product_per_shift_t);
    efi_json_set_known(json, object, "trade_weight_t_per_bu", crop->has_trade_weight,
                       crop->trade_weight_tpbu);
    efi_json_set_real(json, object, "solver_error_share", crop->primal_error);
    add_means(w, object, crop);
    add_lists(w, object, crop);
    return object;
}

ef_status ef_report_balance_json(const ef_balance *balance, char **text)
{
    writer w = {.balance = balance};
    efi_json *json = &w.json;
    json_t *root = efi_json_document(json, "balance.schema.json");
    efi_json_set_text(json, root, "answer", "balance");
    efi_json_set_text(json, root, "evenfeed_version", EF_VERSION);
    efi_json_set_text(json, root, "plant", balance->plant);
    efi_json_set_text(json, root, "scenario", balance->scenario_file);
    efi_json_set_text(json, root, "aim", ef_balance_aim_word(balance->aim));
    efi_json_set_text(json, root, "currency", balance->currency[0] ? balance->currency : NULL);
    efi_json_set_flag(json, root, "feasible", balance->feasible);
    json_t *materials = efi_json_array(json);
    for (int m = 0; m < balance->material_count; m++) {
        json_t *material = efi_json_object(json);
        efi_json_set_text(json, material, "name", balance->materials[m]);
        efi_json_set_flag(json, material, "wanted", balance->wanted[m]);
        efi_json_append(json, materials, material);
    }
    efi_json_set(json, root, "materials", materials);
    json_t *crops = efi_json_array(json);
    for (int c = 0; c < balance->crop_count; c++)
        efi_json_append(json, crops, crop_json(&w, &balance->crops[c]));
    efi_json_set(json, root, "crops", crops);
    return efi_json_give(json, root, text);
}
