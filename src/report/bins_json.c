/* SPDX-License-Identifier: GPL-3.0-or-later
 * Sized bins as JSON: everything, in base units. */
#include "report/json.h"
#include "report/report.h"
#include "report/steel.h"

#include <evenfeed/bins.h>

static const char *choice_word(ef_bins_choice choice)
{
    switch (choice) {
    case EF_BINS_SIZED:
        return "sized";
    case EF_BINS_KEPT:
        return "kept";
    case EF_BINS_NOTHING_STOPS:
        return "nothing stops";
    case EF_BINS_OFF_PATH:
        return "off the path";
    }
    return "";
}

static const char *verdict_word(ef_bins_verdict verdict)
{
    switch (verdict) {
    case EF_BINS_RULE_UNTRIED:
        return NULL;
    case EF_BINS_RULE_SHORT:
        return "not enough";
    case EF_BINS_RULE_ENOUGH:
        return "enough";
    case EF_BINS_RULE_GENEROUS:
        return "more than enough";
    }
    return NULL;
}

static const char *note_word(ef_bins_note_kind kind)
{
    switch (kind) {
    case EF_BINS_LONG_STOP:
        return "long stop";
    case EF_BINS_NO_BIN_BETWEEN:
        return "no bin between";
    case EF_BINS_SLOW_REFILL:
        return "slow refill";
    case EF_BINS_BELOW_LEAST:
        return "set rate below least feed";
    case EF_BINS_AT_MOST:
        return "at most";
    case EF_BINS_NO_ROOM:
        return "no room";
    case EF_BINS_WITHOUT_DENSITY:
        return "without density";
    case EF_BINS_TOO_LONG:
        return "too long";
    }
    return "";
}

static const char *aim_word(ef_bins_aim aim)
{
    switch (aim) {
    case EF_BINS_NONE_SHORT:
        return "none short";
    case EF_BINS_MEAN:
        return "mean";
    case EF_BINS_TAIL:
        return "tail";
    case EF_BINS_PRICE:
        return "price";
    }
    return "";
}

static void set_estimate(efi_json *json, json_t *object, const char *key, ef_bins_estimate e)
{
    efi_json_set_limits(json, object, key, e.value, e.low, e.high);
}

static json_t *check_json(efi_json *json, const ef_bins_check *check)
{
    json_t *object = efi_json_object(json);
    if (!check->is_run)
        return object;
    efi_json_set_real(json, object, "volume_m3", check->volume_m3);
    set_estimate(json, object, "short_share", check->short_share);
    set_estimate(json, object, "short_h", check->short_h);
    set_estimate(json, object, "out_of_band_h", check->out_of_band_h);
    set_estimate(json, object, "out_of_band_p95_h", check->out_of_band_p95_h);
    set_estimate(json, object, "lost_t", check->lost_t);
    return object;
}

static json_t *reason_json(efi_json *json, const ef_bins_reason *reason)
{
    json_t *object = efi_json_object(json);
    efi_json_set_count(json, object, "trace", reason->trace);
    efi_json_set_real(json, object, "from_h", reason->from_h);
    efi_json_set_real(json, object, "to_h", reason->to_h);
    efi_json_set_real(json, object, "used_share", reason->used_share);
    efi_json_set_flag(json, object, "from_start", reason->from_start);
    efi_json_set_flag(json, object, "met", reason->met);
    json_t *stops = efi_json_array(json);
    for (int i = 0; i < reason->stop_count; i++) {
        json_t *stop = efi_json_object(json);
        efi_json_set_text(json, stop, "station", reason->stops[i].station);
        efi_json_set_text(json, stop, "stop", reason->stops[i].stop);
        efi_json_set_count(json, stop, "machine", reason->stops[i].machine);
        efi_json_set_real(json, stop, "from_h", reason->stops[i].from_h);
        efi_json_set_real(json, stop, "to_h", reason->stops[i].to_h);
        efi_json_append(json, stops, stop);
    }
    efi_json_set(json, object, "stops", stops);
    efi_json_set_count(json, object, "more_stops", reason->more_stops);
    return object;
}

static json_t *bin_json(efi_json *json, const ef_bins_bin *bin)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "name", bin->name);
    efi_json_set_text(json, object, "choice", choice_word(bin->choice));
    efi_json_set_text(json, object, "feed", bin->feed);
    efi_json_set_flag(json, object, "before", bin->before);
    efi_json_set_flag(json, object, "holding", bin->holding);
    efi_json_set_flag(json, object, "parts_lines", bin->parts_lines);
    efi_json_set_known(json, object, "now_m3", bin->has_now, bin->now_m3);
    efi_json_set_known(json, object, "rule_m3", bin->has_rule, bin->rule_m3);
    efi_json_set_real(json, object, "optimum_m3", bin->optimum_m3);
    efi_json_set_real(json, object, "needed_m3", bin->needed_m3);
    efi_json_set_real(json, object, "density_tpm3", bin->t_per_m3);
    efi_json_set_real(json, object, "through_tph", bin->through_tph);
    efi_json_set_real(json, object, "lasts_h", bin->lasts_h);
    efi_json_set_flag(json, object, "at_most", bin->at_most);
    if (bin->has_reason)
        efi_json_set(json, object, "reason", reason_json(json, &bin->reason));
    return object;
}

static json_t *units_json(efi_json *json, const ef_bins_feed *feed)
{
    json_t *array = efi_json_array(json);
    for (int u = 0; u < feed->unit_count; u++) {
        const ef_bins_unit *unit = &feed->units[u];
        json_t *object = efi_json_object(json);
        efi_json_set_text(json, object, "station", unit->station);
        efi_json_set_count(json, object, "segment", unit->segment);
        efi_json_set_count(json, object, "machines", unit->machines);
        efi_json_set_flag(json, object, "loads", unit->arrivals);
        efi_json_set_flag(json, object, "by_its_stops_alone", unit->echo);
        efi_json_set_real(json, object, "capacity_tph", unit->capacity_tph);
        efi_json_set_real(json, object, "balance_tph", unit->flow_tph);
        efi_json_set_real(json, object, "returned_tph", unit->back_tph);
        efi_json_set_real(json, object, "load_share", unit->running_share);
        efi_json_append(json, array, object);
    }
    return array;
}

static json_t *links_json(efi_json *json, const ef_bins_feed *feed)
{
    json_t *array = efi_json_array(json);
    for (int j = 0; feed->links && j < feed->segments - 1; j++) {
        const ef_bins_link *link = &feed->links[j];
        json_t *object = efi_json_object(json);
        efi_json_set_text(json, object, "bin", link->bin);
        efi_json_set_real(json, object, "t_per_t", link->t_per_t);
        efi_json_set_real(json, object, "start_share", link->start_share);
        efi_json_set_real(json, object, "volume_t", link->volume_t);
        efi_json_set_real(json, object, "least_t", link->least_t);
        efi_json_set_real(json, object, "most_t", link->most_t);
        efi_json_set_real(json, object, "cost_per_t", link->cost_per_t);
        efi_json_append(json, array, object);
    }
    return array;
}

/* The curve: an array for each quantity. */
static json_t *curve_json(efi_json *json, const ef_bins_feed *feed)
{
    json_t *object = efi_json_object(json);
    json_t *short_h = efi_json_array(json);
    json_t *volume = efi_json_array(json);
    json_t *cost = efi_json_array(json);
    for (int i = 0; i < feed->curve_count; i++) {
        efi_json_append(json, short_h, efi_json_real(json, feed->curve[i].short_h));
        efi_json_append(json, volume, efi_json_real(json, feed->curve[i].volume_m3));
        efi_json_append(json, cost, efi_json_real(json, feed->curve[i].cost));
    }
    efi_json_set(json, object, "short_h", short_h);
    efi_json_set(json, object, "volume_m3", volume);
    efi_json_set(json, object, "cost", cost);
    efi_json_set_count(json, object, "knee", feed->knee);
    return object;
}

static json_t *feed_json(efi_json *json, const ef_bins_feed *feed)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "name", feed->name);
    efi_json_set_real(json, object, "balance_tph", feed->balance_tph);
    efi_json_set_real(json, object, "set_tph", feed->set_tph);
    efi_json_set_real(json, object, "net_tph", feed->net_tph);
    efi_json_set_flag(json, object, "lowered", feed->lowered);
    efi_json_set_text(json, object, "slow", feed->slow);
    efi_json_set_real(json, object, "line_share", feed->line_share);
    efi_json_set_real(json, object, "unavoidable_h", feed->unavoidable_h);
    efi_json_set_real(json, object, "target_h", feed->target_h);
    efi_json_set_real(json, object, "sized_h", feed->sized_h);
    efi_json_set_real(json, object, "engine_h", feed->engine_h);
    efi_json_set_flag(json, object, "batches", feed->batches);
    efi_json_set_flag(json, object, "timed", feed->timed);
    efi_json_set_text(json, object, "form",
                      feed->form == EF_BINS_RECURSION ? "recursion on a series line"
                                                      : "program of the network for each trace");
    efi_json_set_count(json, object, "feeds_sized_together", feed->together);
    efi_json_set_count(json, object, "traces_in_program", feed->program_traces);
    efi_json_set_flag(json, object, "split_before", feed->split_before);
    efi_json_set_flag(json, object, "parallel_before", feed->parallel_before);
    efi_json_set_flag(json, object, "parallel_behind", feed->parallel_behind);
    efi_json_set_flag(json, object, "long_loop", feed->long_loop);
    efi_json_set_flag(json, object, "many_intakes", feed->many_intakes);
    efi_json_set_flag(json, object, "feed_between", feed->feed_between);
    efi_json_set_count(json, object, "segments", feed->segments);
    efi_json_set_count(json, object, "feed_segment", feed->feed_segment);
    efi_json_set_count(json, object, "cuts", feed->cuts);
    efi_json_set_real(json, object, "gap_share", feed->gap_share);
    efi_json_set_count(json, object, "tightened", feed->tightened);
    efi_json_set_flag(json, object, "met", feed->met);
    efi_json_set_text(json, object, "rule_is", verdict_word(feed->verdict));
    efi_json_set(json, object, "now", check_json(json, &feed->now));
    efi_json_set(json, object, "rule", check_json(json, &feed->rule));
    efi_json_set(json, object, "recommended", check_json(json, &feed->recommended));
    efi_json_set(json, object, "curve", curve_json(json, feed));
    efi_json_set(json, object, "units", units_json(json, feed));
    efi_json_set(json, object, "bins", links_json(json, feed));
    return object;
}

static json_t *note_json(efi_json *json, const ef_bins_note *note)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "kind", note_word(note->kind));
    efi_json_set_text(json, object, "feed", note->feed);
    efi_json_set_text(json, object, "station", note->station);
    efi_json_set_text(json, object, "stop", note->stop);
    efi_json_set_real(json, object, "value", note->value);
    efi_json_set_real(json, object, "other", note->other);
    return object;
}

static json_t *crop_json(efi_json *json, const ef_bins_crop *crop)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "name", crop->name);
    efi_json_set_flag(json, object, "feasible", crop->feasible);
    efi_json_set_text(json, object, "trouble", crop->trouble);
    efi_json_set_flag(json, object, "anything_stops", crop->anything_stops);
    json_t *feeds = efi_json_array(json);
    for (int f = 0; f < crop->feed_count; f++)
        efi_json_append(json, feeds, feed_json(json, &crop->feeds[f]));
    efi_json_set(json, object, "steady_feeds", feeds);
    json_t *bins = efi_json_array(json);
    for (int b = 0; b < crop->bin_count; b++)
        efi_json_append(json, bins, bin_json(json, &crop->bins[b]));
    efi_json_set(json, object, "bins", bins);
    json_t *notes = efi_json_array(json);
    for (int i = 0; i < crop->note_count; i++)
        efi_json_append(json, notes, note_json(json, &crop->notes[i]));
    efi_json_set(json, object, "notes", notes);
    return object;
}

static json_t *whole_json(efi_json *json, const ef_bins *bins, const ef_bins_whole *whole)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "name", whole->name);
    efi_json_set_text(json, object, "choice", choice_word(whole->choice));
    efi_json_set_known(json, object, "now_m3", whole->has_now, whole->now_m3);
    efi_json_set_known(json, object, "rule_m3", whole->has_rule, whole->rule_m3);
    efi_json_set_real(json, object, "recommended_m3", whole->recommended_m3);
    if (whole->steel)
        efi_json_set(json, object, "steel", efi_steel_json(json, whole->steel));
    efi_json_set_text(json, object, "crop", whole->crop >= 0 ? bins->crops[whole->crop].name : NULL);
    return object;
}

ef_status ef_report_bins_json(const ef_bins *bins, char **text)
{
    efi_json document = {0};
    efi_json *json = &document;
    json_t *root = efi_json_document(json, "bins.schema.json");
    efi_json_set_text(json, root, "plant", bins->plant);
    efi_json_set_text(json, root, "scenario", bins->scenario_file);
    efi_json_set_text(json, root, "currency", bins->currency);
    efi_json_set_real(json, root, "seed", (double)bins->seed);
    efi_json_set_count(json, root, "traces", bins->traces);
    efi_json_set_count(json, root, "shifts", bins->shifts);
    efi_json_set_real(json, root, "shift_h", bins->shift_h);
    efi_json_set_real(json, root, "rule_h", bins->rule_h);
    efi_json_set_flag(json, root, "with_receipts", bins->with_receipts);
    efi_json_set_text(json, root, "aim", aim_word(bins->aim));
    efi_json_set_real(json, root, "aim_h", bins->aim_h);
    efi_json_set_known(json, root, "tail_share", bins->aim == EF_BINS_TAIL, bins->tail_share);
    efi_json_set_known(json, root, "price", bins->aim == EF_BINS_PRICE, bins->price);
    efi_json_set_flag(json, root, "stopped", bins->stopped);
    json_t *wholes = efi_json_array(json);
    for (int b = 0; b < bins->bin_count; b++)
        efi_json_append(json, wholes, whole_json(json, bins, &bins->bins[b]));
    efi_json_set(json, root, "bins", wholes);
    json_t *crops = efi_json_array(json);
    for (int c = 0; c < bins->crop_count; c++)
        efi_json_append(json, crops, crop_json(json, &bins->crops[c]));
    efi_json_set(json, root, "crops", crops);
    return efi_json_give(json, root, text);
}
