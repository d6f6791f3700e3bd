/* SPDX-License-Identifier: GPL-3.0-or-later
 * A list of lots as JSON: everything but single runs, in base units. */
#include "base/date.h"
#include "report/report.h"
#include "report/shift_json.h"

#include <math.h>

static void set_spread(efi_json *json, json_t *object, const char *key, const ef_shift_spread *spread)
{
    json_t *value = efi_json_object(json);
    efi_shift_set_estimate(json, value, "mean", spread->mean);
    efi_shift_set_estimate(json, value, "p10", spread->p10);
    efi_shift_set_estimate(json, value, "p50", spread->p50);
    efi_shift_set_estimate(json, value, "p90", spread->p90);
    efi_json_set(json, object, key, value);
}

static void set_moment(efi_json *json, json_t *object, const char *key, int64_t moment_s)
{
    efi_text text = {0};
    efi_moment_add(&text, moment_s);
    efi_json_take_text(json, object, key, &text);
}

static json_t *lots_json(efi_json *json, const ef_shift_lots *lots)
{
    json_t *array = efi_json_array(json);
    for (int k = 0; k < lots->lot_count; k++) {
        const ef_shift_lot *lot = &lots->lots[k];
        json_t *object = efi_json_object(json);
        efi_json_set_text(json, object, "name", lot->name);
        efi_json_set_text(json, object, "crop", lot->crop);
        efi_json_set_real(json, object, "tonnes_t", lot->tonnes_t);
        efi_json_set_real(json, object, "product_t", lot->product_t);
        efi_json_set_real(json, object, "balance_tph", lot->balance_tph);
        efi_json_set_real(json, object, "rate_tph", lot->rate_tph);
        efi_json_set_text(json, object, "rule", lot->rule);
        efi_json_set_real(json, object, "clean_h", lot->clean_h);
        efi_json_set_real(json, object, "flush_t", lot->flush_t);
        set_spread(json, object, "begin_h", &lot->begin_h);
        set_spread(json, object, "end_h", &lot->end_h);
        set_spread(json, object, "work_h", &lot->work_h);
        efi_json_append(json, array, object);
    }
    return array;
}

static json_t *shifts_json(efi_json *json, const ef_shift_lots *lots)
{
    json_t *object = efi_json_object(json);
    efi_json_set_count(json, object, "per_run", lots->period_count);
    efi_json_set_real(json, object, "work_h", lots->shift_work_h);
    efi_shift_set_streams(json, object, lots->streams, lots->stream_count);
    return object;
}

static json_t *station_json(efi_json *json, const ef_shift_lots_station *station)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "name", station->name);
    efi_shift_set_hours(json, object, station->hours);
    efi_json_set_real(json, object, "planned_h", station->planned_h);
    efi_json_set_real(json, object, "taken_t", station->taken_t);
    efi_json_set_flag(json, object, "steady_feed", station->steady_feed);
    return object;
}

static json_t *hours_json(efi_json *json, const ef_shift_lots *lots)
{
    json_t *object = efi_json_object(json);
    json_t *stations = efi_json_array(json);
    efi_json_set_text(json, object, "account_of", lots->stations[lots->account].name);
    for (int s = 0; s < lots->station_count; s++)
        efi_json_append(json, stations, station_json(json, &lots->stations[s]));
    efi_json_set(json, object, "stations", stations);
    return object;
}

static void set_frame(efi_json *json, json_t *root, const ef_shift_lots *lots)
{
    efi_json_set_text(json, root, "plant", lots->plant);
    efi_json_set_text(json, root, "scenario", lots->scenario_file);
    efi_json_set(json, root, "seed", json_integer((json_int_t)lots->seed));
    efi_json_set_count(json, root, "runs", lots->runs);
    efi_json_set_real(json, root, "confidence_share", 0.95);
    efi_json_set_flag(json, root, "by_plan", lots->by_plan);
    efi_json_set_count(json, root, "left_out", lots->left_out);
    efi_json_set_text(json, root, "cleaning", lots->line_clear ? "line clear" : "station by station");
    efi_json_set_flag(json, root, "loads_left_out", lots->has_loads);
    efi_json_set_flag(json, root, "batches_as_rates", lots->has_batches);
    efi_json_set_flag(json, root, "on_calendar", lots->on_calendar);
    if (lots->on_calendar)
        set_moment(json, root, "from", lots->from_moment_s);
}

/* What one list, or all lines together, took. */
static void set_sums(efi_json *json, json_t *object, const ef_shift_lots *lots)
{
    efi_json_set_real(json, object, "tonnes_t", lots->tonnes_t);
    efi_json_set_real(json, object, "balance_h", lots->balance_h);
    efi_json_set_real(json, object, "clean_h", lots->clean_h);
    efi_json_set_real(json, object, "rate_tph", lots->rate_tph);
    set_spread(json, object, "list_h", &lots->list_h);
    set_spread(json, object, "work_h", &lots->work_h);
}

static json_t *parts_json(efi_json *json, const ef_shift_lots *line)
{
    json_t *parts = efi_json_array(json);
    for (int p = 0; p < line->part_count; p++) {
        json_t *object = efi_json_object(json);
        efi_json_set_text(json, object, "station", line->parts[p].station);
        efi_json_set_real(json, object, "least_share", line->parts[p].least);
        efi_json_set_real(json, object, "most_share", line->parts[p].most);
        efi_json_append(json, parts, object);
    }
    return parts;
}

static json_t *line_json(efi_json *json, const ef_shift_lots *line)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "line", line->line);
    set_sums(json, object, line);
    efi_json_set(json, object, "parts", parts_json(json, line));
    efi_json_set(json, object, "lots", lots_json(json, line));
    efi_json_set(json, object, "shifts", shifts_json(json, line));
    efi_json_set(json, object, "hours", hours_json(json, line));
    return object;
}

static void set_lines(efi_json *json, json_t *root, const ef_shift_lots *lots)
{
    json_t *lines = efi_json_array(json);
    json_t *idle = efi_json_array(json);
    for (int i = 0; i < lots->line_count; i++)
        efi_json_append(json, lines, line_json(json, &lots->lines[i]));
    for (int i = 0; i < lots->idle_line_count; i++)
        efi_json_append(json, idle, json_string(lots->idle_lines[i]));
    efi_json_set_flag(json, root, "dealt", lots->is_dealt);
    efi_json_set(json, root, "idle_lines", idle);
    efi_json_set(json, root, "shifts", shifts_json(json, lots));
    efi_json_set(json, root, "lines", lines);
}

ef_status ef_report_shift_lots_json(const ef_shift_lots *lots, char **text)
{
    efi_json json = {0};
    json_t *root = efi_json_document(&json, "shift-lots.schema.json");
    set_frame(&json, root, lots);
    set_sums(&json, root, lots);
    if (lots->line_count > 0) {
        set_lines(&json, root, lots);
        return efi_json_give(&json, root, text);
    }
    efi_json_set(&json, root, "lots", lots_json(&json, lots));
    efi_json_set(&json, root, "shifts", shifts_json(&json, lots));
    efi_json_set(&json, root, "hours", hours_json(&json, lots));
    return efi_json_give(&json, root, text);
}
