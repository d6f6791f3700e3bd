/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season as JSON: everything, in base units. */
#include "report/json.h"
#include "report/report.h"
#include "report/season_view.h"

static void set_moment(efi_json *json, json_t *object, const char *key, int64_t moment)
{
    efi_text text = {0};
    efi_season_add_moment(&text, moment);
    efi_json_set_text(json, object, key, moment == EF_SEASON_NONE ? NULL : efi_text_get(&text));
    json->failed = json->failed || text.failed;
    efi_text_free(&text);
}

static void set_whole(efi_json *json, json_t *object, const char *key, uint64_t value)
{
    json_t *number = json_integer((json_int_t)value);
    json->failed = json->failed || !number;
    efi_json_set(json, object, key, number);
}

static const char *name_of(const ef_season *season, int lot)
{
    return lot >= 0 ? season->lots[lot].name : NULL;
}

static json_t *lot_json(efi_json *json, const ef_season_lot *lot)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "name", lot->name);
    efi_json_set_text(json, object, "crop", lot->crop);
    efi_json_set_text(json, object, "variety", lot->variety);
    efi_json_set_text(json, object, "class", lot->seed_class);
    efi_json_set_text(json, object, "treatment", lot->treatment);
    efi_json_set_text(json, object, "allergen", lot->allergen);
    efi_json_set_text(json, object, "trait", lot->trait);
    efi_json_set_text(json, object, "colour", lot->colour);
    efi_json_set_text(json, object, "product", lot->product);
    efi_json_set_text(json, object, "note", lot->note);
    efi_json_set_text(json, object, "state", efi_season_state_word(lot->state));
    efi_json_set_real(json, object, "amount_t", lot->amount_t);
    efi_json_set_real(json, object, "left_t", lot->left_t);
    efi_json_set_real(json, object, "product_t", lot->product_t);
    efi_json_set_known(json, object, "moisture_share", lot->moisture > 0.0, lot->moisture);
    efi_json_set_count(json, object, "certification_lots", lot->certification_lots);
    set_moment(json, object, "arrives", lot->arrives);
    set_moment(json, object, "arrives_latest", lot->arrives_latest);
    set_moment(json, object, "due", lot->due);
    set_moment(json, object, "latest_start", lot->latest_start);
    efi_json_set_real(json, object, "late_cost_per_day", lot->late_per_day);
    efi_json_set_real(json, object, "wet_cost_per_day", lot->wet_per_day);
    efi_json_set_text(json, object, "after", *lot->after ? lot->after : NULL);
    efi_json_set_real(json, object, "wait_h", lot->wait_h);
    return object;
}

static json_t *stores_of_json(efi_json *json, const ef_season *season, const int *stores)
{
    json_t *array = efi_json_array(json);
    for (int i = 0; i < EF_SEASON_MOST_STORES && stores[i] >= 0; i++)
        efi_json_append(json, array, efi_json_text(json, season->stores[stores[i]].name));
    return array;
}

static json_t *cleaning_json(efi_json *json, const ef_season_run *run)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "rule", *run->rule ? run->rule : NULL);
    efi_json_set_flag(json, object, "forbidden", run->forbidden);
    set_moment(json, object, "start", run->clean_from);
    set_moment(json, object, "end", run->clean_to);
    efi_json_set_real(json, object, "work_h", run->clean_h);
    efi_json_set_real(json, object, "flush_t", run->flush_t);
    efi_json_set_real(json, object, "people", run->clean_people);
    efi_json_set_real(json, object, "cost", run->clean_cost);
    if (run->cleaned_count > 0) {
        json_t *array = efi_json_array(json);
        for (int i = 0; i < run->cleaned_count; i++) {
            json_t *one = efi_json_object(json);
            efi_json_set_text(json, one, "station", run->cleaned[i].station);
            set_moment(json, one, "start", run->cleaned[i].from);
            set_moment(json, one, "end", run->cleaned[i].to);
            efi_json_set_real(json, one, "work_h", run->cleaned[i].clean_h);
            efi_json_append(json, array, one);
        }
        efi_json_set(json, object, "stations", array);
        efi_json_set_real(json, object, "slowest_station_stands_h", run->stands_h);
    }
    return object;
}

static void set_stores(efi_json *json, json_t *object, const ef_season *season, const ef_season_run *run)
{
    efi_json_set(json, object, "from_stores", stores_of_json(json, season, run->raw));
    set_moment(json, object, "from_stores_start", run->raw_from);
    set_moment(json, object, "from_stores_end", run->raw_to);
    efi_json_set_real(json, object, "raw_missing_t", run->raw_missing_t);
    efi_json_set(json, object, "to_stores", stores_of_json(json, season, run->finished));
    set_moment(json, object, "to_stores_start", run->finished_from);
    set_moment(json, object, "to_stores_end", run->finished_to);
    efi_json_set_real(json, object, "finished_missing_t", run->finished_missing_t);
}

static json_t *run_json(efi_json *json, const ef_season *season, const ef_season_run *run)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "lot", name_of(season, run->lot));
    efi_json_set_count(json, object, "place", run->place + 1);
    efi_json_set_text(json, object, "before", name_of(season, run->before));
    efi_json_set_text(json, object, "shift", *run->shift ? run->shift : NULL);
    efi_json_set(json, object, "clean_down", cleaning_json(json, run));
    set_moment(json, object, "start", run->start);
    set_moment(json, object, "end", run->end);
    efi_json_set_real(json, object, "work_h", run->work_h);
    efi_json_set_count(json, object, "restarts", run->restarts);
    efi_json_set_flag(json, object, "fits", run->fits);
    efi_json_set_flag(json, object, "misses_start", run->misses_start);
    efi_json_set_flag(json, object, "waits_in_vain", run->waits_in_vain);
    efi_json_set_real(json, object, "rate_tph", run->rate_tph);
    efi_json_set_text(json, object, "rate_source", efi_season_rate_word(run->rate_source));
    set_stores(json, object, season, run);
    efi_json_set_real(json, object, "late_days", run->late_days);
    efi_json_set_real(json, object, "wet_days", run->wet_days);
    efi_json_set_known(json, object, "chance_late_share", run->chance_late >= 0.0, run->chance_late);
    efi_json_set_known(json, object, "late_p90_days", run->chance_late >= 0.0, run->late_days_p90);
    efi_json_set_real(json, object, "late_cost", run->late_cost);
    efi_json_set_real(json, object, "wet_cost", run->wet_cost);
    efi_json_set_real(json, object, "overtime_h", run->overtime_h);
    efi_json_set_real(json, object, "overtime_cost", run->overtime_cost);
    efi_json_set_real(json, object, "raw_cost", run->raw_cost);
    efi_json_set_real(json, object, "finished_cost", run->finished_cost);
    efi_json_set_text(json, object, "held_by", efi_season_holds_word(run->held_by));
    efi_json_set_known(json, object, "earlier_cost", run->has_earlier, run->earlier_cost);
    efi_json_set_known(json, object, "later_cost", run->has_later, run->later_cost);
    efi_json_set_flag(json, object, "moved", run->is_moved);
    return object;
}

static json_t *stretches_json(efi_json *json, const ef_season *season, int line)
{
    json_t *array = efi_json_array(json);
    for (int i = 0; i < season->stretch_count; i++) {
        const ef_season_stretch *stretch = &season->stretches[i];
        if (stretch->line != line)
            continue;
        json_t *object = efi_json_object(json);
        efi_json_set_text(json, object, "state", efi_season_time_word(stretch->state));
        set_moment(json, object, "start", stretch->from);
        set_moment(json, object, "end", stretch->to);
        efi_json_append(json, array, object);
    }
    return array;
}

/* How crops pass the stations of a line that is cleaned station by station. */
static json_t *passages_json(efi_json *json, const ef_season *season, int line)
{
    json_t *array = efi_json_array(json);
    for (int i = 0; i < season->passage_count; i++) {
        const ef_season_passage *passage = &season->passages[i];
        if (passage->line != line)
            continue;
        json_t *object = efi_json_object(json);
        efi_json_set_text(json, object, "crop", passage->crop);
        efi_json_set_text(json, object, "station", passage->station);
        efi_json_set_real(json, object, "share_of_work", passage->work_share);
        efi_json_set_real(json, object, "delay_h", passage->delay_h);
        efi_json_set_real(json, object, "room_t", passage->room_t);
        efi_json_append(json, array, object);
    }
    return array;
}

static json_t *line_json(efi_json *json, const ef_season *season, int number)
{
    const ef_season_line *line = &season->lines[number];
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "name", line->name);
    efi_json_set_flag(json, object, "cleaned_station_by_station", line->by_station);
    efi_json_set_text(json, object, "cleared_because",
                      line->cleared && *line->cleared ? line->cleared : NULL);
    if (line->by_station)
        efi_json_set(json, object, "stations", passages_json(json, season, number));
    efi_json_set_real(json, object, "open_h", line->open_h);
    efi_json_set_real(json, object, "work_h", line->work_h);
    efi_json_set_real(json, object, "clean_h", line->clean_h);
    efi_json_set_real(json, object, "idle_h", line->idle_h);
    efi_json_set_real(json, object, "overtime_h", line->overtime_h);
    json_t *last = efi_json_object(json);
    efi_json_set_text(json, last, "rule", *line->last_rule ? line->last_rule : NULL);
    set_moment(json, last, "start", line->last_clean_from);
    set_moment(json, last, "end", line->last_clean_to);
    efi_json_set_real(json, last, "cost", line->last_clean_cost);
    efi_json_set(json, object, "last_clean_down", last);
    json_t *runs = efi_json_array(json);
    for (int r = 0; r < season->run_count; r++)
        if (season->runs[r].line == number)
            efi_json_append(json, runs, run_json(json, season, &season->runs[r]));
    efi_json_set(json, object, "runs", runs);
    efi_json_set(json, object, "calendar", stretches_json(json, season, number));
    return object;
}

static json_t *rates_json(efi_json *json, const ef_season *season)
{
    json_t *array = efi_json_array(json);
    for (int i = 0; i < season->rate_count; i++) {
        const ef_season_rate *rate = &season->rates[i];
        json_t *object = efi_json_object(json);
        efi_json_set_text(json, object, "crop", rate->crop);
        efi_json_set_text(json, object, "line", rate->line);
        efi_json_set_real(json, object, "rate_tph", rate->rate_tph);
        efi_json_set_real(json, object, "line_share", rate->line_share);
        efi_json_set_real(json, object, "product_share", rate->product_share);
        efi_json_set_text(json, object, "source", efi_season_rate_word(rate->source));
        efi_json_set_real(json, object, "spread_share", rate->spread);
        efi_json_append(json, array, object);
    }
    return array;
}

static json_t *stay_json(efi_json *json, const ef_season *season, const ef_season_stay *stay)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "lot", name_of(season, stay->lot));
    efi_json_set_text(json, object, "for", stay->finished ? "finished" : "raw");
    set_moment(json, object, "start", stay->from);
    set_moment(json, object, "end", stay->to);
    efi_json_set_real(json, object, "amount_t", stay->amount_t);
    return object;
}

static json_t *stays_json(efi_json *json, const ef_season *season, int store)
{
    json_t *array = efi_json_array(json);
    for (int i = 0; i < season->stay_count; i++)
        if (season->stays[i].store == store)
            efi_json_append(json, array, stay_json(json, season, &season->stays[i]));
    return array;
}

static json_t *stores_json(efi_json *json, const ef_season *season)
{
    json_t *array = efi_json_array(json);
    for (int s = 0; s < season->store_count; s++) {
        const ef_season_store *store = &season->stores[s];
        json_t *object = efi_json_object(json);
        efi_json_set_text(json, object, "name", store->name);
        efi_json_set_text(json, object, "for", store->finished ? "finished" : "raw");
        efi_json_set_flag(json, object, "shared", store->shared);
        efi_json_set_known(json, object, "holds_t", store->holds_t > 0.0, store->holds_t);
        efi_json_set_known(json, object, "holds_m3", store->holds_m3 > 0.0, store->holds_m3);
        efi_json_set_real(json, object, "clean_h", store->clean_h);
        efi_json_set_real(json, object, "most_t", store->most_t);
        efi_json_set(json, object, "stays", stays_json(json, season, s));
        efi_json_append(json, array, object);
    }
    return array;
}

static json_t *cost_json(efi_json *json, const ef_season_cost *cost)
{
    json_t *object = efi_json_object(json);
    for (int t = 0; t < EF_SEASON_TERMS; t++)
        efi_json_set_real(json, object, ef_season_term_word((ef_season_term)t), cost->term[t]);
    efi_json_set_real(json, object, "together", cost->total);
    return object;
}

static void set_heads(efi_json *json, json_t *root, const ef_season *season)
{
    efi_json_set_text(json, root, "plant", season->plant);
    efi_json_set_text(json, root, "scenario_file", season->scenario_file);
    efi_json_set_text(json, root, "currency", *season->currency ? season->currency : NULL);
    set_whole(json, root, "seed", season->seed);
    efi_json_set_count(json, root, "rounds", season->rounds);
    set_whole(json, root, "steps", season->steps);
    efi_json_set_flag(json, root, "stopped", season->stopped);
    efi_json_set_flag(json, root, "cleared_lines", season->cleared_lines);
    set_moment(json, root, "from", season->from);
    set_moment(json, root, "to", season->to);
    set_moment(json, root, "at", season->at);
    set_moment(json, root, "end", season->end);
    efi_json_set_count(json, root, "forbidden", season->forbidden);
    efi_json_set_count(json, root, "late_lots", season->late_lots);
    efi_json_set_count(json, root, "wet_lots", season->wet_lots);
    efi_json_set_count(json, root, "lots_without_room", season->roomless_lots);
    efi_json_set_real(json, root, "late_days", season->late_days);
    efi_json_set_real(json, root, "clean_h", season->clean_h);
    efi_json_set_real(json, root, "flush_t", season->flush_t);
    efi_json_set_real(json, root, "overtime_h", season->overtime_h);
    efi_json_set(json, root, "cost", cost_json(json, &season->cost));
    efi_json_set(json, root, "no_plan_costs_less_than", cost_json(json, &season->bound));
    efi_json_set_real(json, root, "gap_share", season->gap_share);
    efi_json_set_flag(json, root, "kept_order", season->kept_order);
    efi_json_set(json, root, "ours",
                 season->has_ours ? cost_json(json, &season->ours) : efi_json_text(json, NULL));
    efi_json_set_flag(json, root, "took_up_a_plan", season->has_previous);
    efi_json_set_count(json, root, "moved_lots", season->moved_lots);
    efi_json_set_count(json, root, "seasons_simulated", season->seasons_simulated);
}

static json_t *season_json(efi_json *json, const ef_season *season)
{
    json_t *root = efi_json_document(json, "season.schema.json");
    set_heads(json, root, season);
    json_t *lots = efi_json_array(json);
    for (int l = 0; l < season->lot_count; l++)
        efi_json_append(json, lots, lot_json(json, &season->lots[l]));
    efi_json_set(json, root, "lots", lots);
    json_t *lines = efi_json_array(json);
    for (int l = 0; l < season->line_count; l++)
        efi_json_append(json, lines, line_json(json, season, l));
    efi_json_set(json, root, "lines", lines);
    efi_json_set(json, root, "rates", rates_json(json, season));
    efi_json_set(json, root, "stores", stores_json(json, season));
    efi_json_set(json, root, "no_room", stays_json(json, season, -1));
    return root;
}

ef_status ef_report_season_json(const ef_season *season, char **text)
{
    efi_json json = {0};
    return efi_json_give(&json, season_json(&json, season), text);
}

/* ---- a lot that might come ------------------------------------------------------------------------------
 */

static json_t *offer_json(efi_json *json, const ef_season *season, const ef_season_offer *offer)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "line", season->lines[offer->line].name);
    efi_json_set_count(json, object, "place", offer->place + 1);
    efi_json_set_text(json, object, "behind", *offer->behind ? offer->behind : NULL);
    set_moment(json, object, "start", offer->start);
    set_moment(json, object, "end", offer->end);
    efi_json_set_real(json, object, "cost", offer->cost);
    efi_json_set_real(json, object, "cost_to_others", offer->others_cost);
    efi_json_set_count(json, object, "others_late", offer->others_late);
    return object;
}

ef_status ef_report_when_json(const ef_season_answer *answer, char **text)
{
    efi_json json = {0};
    json_t *root = efi_json_document(&json, "when.schema.json");
    efi_json_set_text(&json, root, "crop", answer->crop);
    efi_json_set_real(&json, root, "amount_t", answer->amount_t);
    set_moment(&json, root, "arrives", answer->arrives);
    set_moment(&json, root, "due", answer->due);
    efi_json_set_text(&json, root, "currency", *answer->season->currency ? answer->season->currency : NULL);
    if (answer->offer_count > 0) {
        efi_json_set(&json, root, "cheapest", offer_json(&json, answer->season, &answer->cheapest));
        efi_json_set(&json, root, "earliest", offer_json(&json, answer->season, &answer->earliest));
    }
    json_t *offers = efi_json_array(&json);
    for (int i = 0; i < answer->offer_count; i++)
        efi_json_append(&json, offers, offer_json(&json, answer->season, &answer->offers[i]));
    efi_json_set(&json, root, "offers", offers);
    efi_json_set(&json, root, "season", season_json(&json, answer->season));
    return efi_json_give(&json, root, text);
}
