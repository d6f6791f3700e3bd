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

/* A number that may be unknown: null then. */
static void set_known(writer *w, json_t *object, const char *key, bool known, double value)
{
    if (known)
        efi_json_set_real(&w->json, object, key, value);
    else
        efi_json_set_text(&w->json, object, key, NULL);
}

static json_t *station_json(writer *w, const ef_balance_station *station)
{
    efi_json *json = &w->json;
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "name", station->name);
    efi_json_set_text(json, object, "kind", station->kind);
    efi_json_set(json, object, "place", efi_json_place(json, &station->place));
    efi_json_set_count(json, object, "machines", station->count);
    efi_json_set(json, object, "feed", stream_json(w, &station->feed));
    set_known(w, object, "feed_m3ph", station->has_density, station->feed_m3ph);
    const bool volume = station->capacity_by_volume;
    set_known(w, object, "capacity_tph", station->has_capacity && !volume, station->capacity);
    set_known(w, object, "capacity_m3ph", station->has_capacity && volume, station->capacity);
    set_known(w, object, "slack_tph", station->has_capacity && !volume, station->slack);
    set_known(w, object, "slack_m3ph", station->has_capacity && volume, station->slack);
    set_known(w, object, "load_share", station->has_capacity, station->load);
    if (station->has_capacity)
        efi_json_set(json, object, "capacity_place", efi_json_place(json, &station->capacity_place));
    efi_json_set_flag(json, object, "limits", station->limits);
    const char *intake_worth = volume ? "worth_intake_tph_per_m3ph" : "worth_intake_tph_per_tph";
    const char *product_worth = volume ? "worth_product_tph_per_m3ph" : "worth_product_tph_per_tph";
    set_known(w, object, intake_worth, station->limits, station->worth_intake_tph);
    set_known(w, object, product_worth, station->limits, station->worth_product_tph);
    set_known(w, object, "least_feed_tph", station->has_least_feed, station->least_feed_tph);
    efi_json_set_flag(json, object, "under_least_feed", station->under_least_feed);
    efi_json_set_count(json, object, "enough_machines", station->enough_machines);
    set_known(w, object, "steady_band_share", station->steady_feed, station->steady_band);
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
    set_known(w, object, "least_rate_tph", outlet->has_least_rate, outlet->least_rate_tph);
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
    set_known(w, object, "feed_m3ph", bin->has_density, bin->feed_m3ph);
    efi_json_set_real(json, object, "rule_h", bin->rule_h);
    efi_json_set_real(json, object, "rule_t", bin->rule_t);
    set_known(w, object, "rule_m3", bin->has_density, bin->rule_m3);
    set_known(w, object, "rule_bushel_by_volume", bin->has_density, bin->rule_bushel);
    set_known(w, object, "live_m3", bin->has_live, bin->live_m3);
    set_known(w, object, "live_t", bin->has_live && bin->has_density, bin->live_t);
    set_known(w, object, "live_min", bin->has_live && bin->has_density, bin->live_minutes);
    return object;
}

static json_t *conflict_json(writer *w, const ef_balance_conflict *conflict)
{
    efi_json *json = &w->json;
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "outlet", conflict->outlet);
    efi_json_set(json, object, "place", efi_json_place(json, &conflict->place));
    efi_json_set_real(json, object, "demanded_tph", conflict->demanded_tph);
    efi_json_set_real(json, object, "most_tph", conflict->most_tph);
    json_t *limiting = efi_json_array(json);
    for (int i = 0; i < conflict->limiting_count; i++)
        efi_json_append(json, limiting, efi_json_text(json, conflict->limiting[i]));
    efi_json_set(json, object, "limiting", limiting);
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
    efi_json_set_real(json, object, "purity_share", crop->purity);
    efi_json_set_real(json, object, "shift_h", crop->shift_h);
    efi_json_set_real(json, object, "intake_per_shift_before_stops_t", crop->intake_per_shift_t);
    efi_json_set_real(json, object, "product_per_shift_before_stops_t", crop->product_per_shift_t);
    set_known(w, object, "trade_weight_t_per_bu", crop->has_trade_weight, crop->trade_weight_tpbu);
    efi_json_set_real(json, object, "solver_error_share", crop->primal_error);
    add_lists(w, object, crop);
    return object;
}

ef_status ef_report_balance_json(const ef_balance *balance, char **text)
{
    writer w = {.balance = balance};
    efi_json *json = &w.json;
    json_t *root = efi_json_object(json);
    efi_json_set_text(json, root, "answer", "balance");
    efi_json_set_text(json, root, "evenfeed_version", EF_VERSION);
    efi_json_set_text(json, root, "plant", balance->plant);
    efi_json_set_text(json, root, "scenario", balance->scenario_file);
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
