/* SPDX-License-Identifier: GPL-3.0-or-later
 * What was learned from logs as JSON: everything but the single rows, in base units. */
#include "base/date.h"
#include "report/json.h"
#include "report/report.h"

#include <math.h>

static void set_limits(efi_json *json, json_t *object, const char *key, ef_learn_limits limits)
{
    efi_json_set_limits(json, object, key, limits.value, limits.low, limits.high);
}

static void set_moment(efi_json *json, json_t *object, const char *key, int64_t moment_s)
{
    efi_text text = {0};
    efi_moment_add(&text, moment_s);
    efi_json_take_text(json, object, key, &text);
}

static json_t *form_json(efi_json *json, const ef_learn_form *form)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "form", form->form);
    efi_json_set_real(json, object, "mean_h", form->mean_h);
    efi_json_set_real(json, object, "shape", form->shape);
    efi_json_set_real(json, object, "log_likelihood", form->log_likelihood);
    efi_json_set_real(json, object, "criterion", form->criterion);
    efi_json_set_real(json, object, "p", form->p);
    return object;
}

static json_t *times_json(efi_json *json, const ef_learn_times *times)
{
    json_t *object = efi_json_object(json);
    set_limits(json, object, "mean_h", times->mean_h);
    efi_json_set_text(json, object, "method", times->method);
    efi_json_set_text(json, object, "form", times->form);
    efi_json_set_real(json, object, "shape", times->shape);
    efi_json_set_real(json, object, "watched_h", times->watched_h);
    efi_json_set_count(json, object, "watched_stops", times->watched_stops);
    efi_json_set_reals(json, object, "exact_h", times->exact_h, (size_t)times->exact_count);
    efi_json_set_reals(json, object, "longer_than_h", times->longer_h, (size_t)times->longer_count);
    efi_json_set_real(json, object, "lock_out_h", times->floor_h);
    efi_json_set_real(json, object, "rounded_to_h", times->grain_h);
    efi_json_set_count(json, object, "at_lock_out", times->floor_count);
    json_t *forms = efi_json_array(json);
    for (int i = 0; i < times->form_count; i++)
        efi_json_append(json, forms, form_json(json, &times->forms[i]));
    efi_json_set(json, object, "forms", forms);
    efi_json_set_flag(json, object, "enough", times->enough);
    efi_json_set_count(json, object, "more_stops", times->more_stops);
    efi_json_set_real(json, object, "more_h", times->more_h);
    if (!times->has_scenario)
        return object;
    json_t *scenario = efi_json_object(json);
    efi_json_set_real(json, scenario, "mean_h", times->scenario_mean_h);
    efi_json_set_text(json, scenario, "form", times->scenario_form);
    efi_json_set_real(json, scenario, "shape", times->scenario_shape);
    efi_json_set_flag(json, scenario, "mean_disagrees", times->mean_disagrees);
    efi_json_set_flag(json, scenario, "form_disagrees", times->form_disagrees);
    efi_json_set(json, object, "scenario", scenario);
    return object;
}

static json_t *stop_json(efi_json *json, const ef_learn_stop *stop, bool in_log)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "reason", stop->reason);
    efi_json_set_flag(json, object, "in_scenario", stop->in_scenario);
    efi_json_set_flag(json, object, "planned", stop->planned);
    if (stop->in_scenario)
        efi_json_set(json, object, "place", efi_json_place(json, &stop->place));
    efi_json_set_count(json, object, "stops", stop->stops);
    if (!in_log)
        return object;
    efi_json_set_text(json, object, "counts", stop->counts_running ? "running" : "clock");
    efi_json_set_real(json, object, "lost_h", stop->lost_h);
    efi_json_set_real(json, object, "lock_out_h", stop->lockout_h);
    efi_json_set_real(json, object, "bin_entry_h", stop->bin_entry_h);
    efi_json_set_count(json, object, "under_lock_out", stop->under_lockout);
    efi_json_set(json, object, "between", times_json(json, &stop->between));
    efi_json_set(json, object, "lasts", times_json(json, &stop->lasts));
    efi_json_set_text(json, object, "setting", stop->setting);
    return object;
}

static json_t *stations_json(efi_json *json, const ef_learn *learn)
{
    json_t *array = efi_json_array(json);
    for (int s = 0; s < learn->station_count; s++) {
        const ef_learn_station *station = &learn->stations[s];
        json_t *object = efi_json_object(json);
        efi_json_set_text(json, object, "name", station->name);
        efi_json_set_count(json, object, "machines", station->machines);
        efi_json_set_flag(json, object, "in_log", station->in_log);
        efi_json_set_real(json, object, "watched_h", station->watched_h);
        efi_json_set_text(json, object, "watched", station->watched_running ? "running" : "clock");
        efi_json_set_real(json, object, "lost_h", station->lost_h);
        efi_json_set_real(json, object, "availability", station->availability);
        json_t *stops = efi_json_array(json);
        for (int i = 0; i < station->stop_count; i++)
            efi_json_append(json, stops, stop_json(json, &station->stops[i], station->in_log));
        efi_json_set(json, object, "stops", stops);
        efi_json_append(json, array, object);
    }
    return array;
}

static json_t *scale_json(efi_json *json, const ef_learn_scale *scale)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "name", scale->name);
    efi_json_set_count(json, object, "intervals", scale->intervals);
    efi_json_set_real(json, object, "measured_t", scale->measured_t);
    efi_json_set_real(json, object, "adjusted_t", scale->adjusted_t);
    efi_json_set_real(json, object, "running_h", scale->running_h);
    if (scale->has_rate) {
        set_limits(json, object, "rate_tph", scale->rate_tph);
        efi_json_set_real(json, object, "good_rate_tph", scale->good_rate_tph);
    }
    if (scale->has_capacity)
        efi_json_set_real(json, object, "capacity_tph", scale->capacity_tph);
    efi_json_set_flag(json, object, "capacity_disagrees", scale->capacity_disagrees);
    efi_json_set_flag(json, object, "checked", scale->checked);
    efi_json_set_count(json, object, "adjusted_up", scale->up);
    efi_json_set_count(json, object, "adjusted_down", scale->down);
    efi_json_set_real(json, object, "off_share", scale->off_share);
    json_t *rivals = efi_json_array(json);
    for (int i = 0; i < scale->rival_count; i++)
        efi_json_append(json, rivals, efi_json_text(json, scale->rivals[i]));
    efi_json_set(json, object, "not_told_from", rivals);
    efi_json_set_flag(json, object, "seems_off", scale->seems_off);
    return object;
}

static json_t *share_json(efi_json *json, const ef_learn_share *share)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "station", share->station);
    efi_json_set_text(json, object, "discharge", share->discharge);
    efi_json_set(json, object, "place", efi_json_place(json, &share->place));
    efi_json_set_flag(json, object, "seen", share->seen);
    if (share->seen)
        set_limits(json, object, "share", share->share);
    efi_json_set_real(json, object, "scenario_share", share->scenario_share);
    efi_json_set_flag(json, object, "disagrees", share->disagrees);
    return object;
}

static void set_totals(efi_json *json, json_t *root, const ef_learn *learn)
{
    json_t *scales = efi_json_array(json);
    for (int i = 0; i < learn->scale_count; i++)
        efi_json_append(json, scales, scale_json(json, &learn->scales[i]));
    efi_json_set(json, root, "scales", scales);
    json_t *shares = efi_json_array(json);
    for (int i = 0; i < learn->share_count; i++)
        efi_json_append(json, shares, share_json(json, &learn->shares[i]));
    efi_json_set(json, root, "shares", shares);
    json_t *intervals = efi_json_array(json);
    for (int i = 0; i < learn->interval_count; i++) {
        json_t *object = efi_json_object(json);
        set_moment(json, object, "from", learn->intervals[i].from_s);
        set_moment(json, object, "to", learn->intervals[i].to_s);
        efi_json_set_reals(json, object, "measured_t", learn->intervals[i].measured_t,
                           (size_t)learn->scale_count);
        efi_json_set_reals(json, object, "adjusted_t", learn->intervals[i].adjusted_t,
                           (size_t)learn->scale_count);
        efi_json_append(json, intervals, object);
    }
    efi_json_set(json, root, "intervals", intervals);
}

ef_status ef_report_learn_json(const ef_learn *learn, char **text)
{
    efi_json json = {0};
    json_t *root = efi_json_document(&json, "learn.schema.json");
    efi_json_set_text(&json, root, "plant", learn->plant);
    efi_json_set_text(&json, root, "scenario", learn->scenario_file);
    efi_json_set_text(&json, root, "crop", learn->crop);
    efi_json_set_text(&json, root, "stops_log", learn->stops_file);
    efi_json_set_text(&json, root, "totals_log", learn->totals_file);
    set_moment(&json, root, "since", learn->since_s);
    set_moment(&json, root, "until", learn->until_s);
    efi_json_set_real(&json, root, "clock_h", learn->clock_h);
    efi_json_set_real(&json, root, "worked_h", learn->worked_h);
    efi_json_set_flag(&json, root, "has_calendar", learn->has_calendar);
    efi_json_set_real(&json, root, "seed", (double)learn->seed);
    efi_json_set_count(&json, root, "resamples", learn->resamples);
    efi_json_set_count(&json, root, "stop_rows_used", learn->rows_used);
    efi_json_set_count(&json, root, "stop_rows_of_unknown_length", learn->rows_length_unknown);
    efi_json_set_count(&json, root, "stop_rows_not_used", learn->rows_not_used);
    efi_json_set_count(&json, root, "total_rows_used", learn->totals_used);
    efi_json_set_count(&json, root, "total_rows_not_used", learn->totals_not_used);
    efi_json_set_count(&json, root, "disagreements", learn->disagreements);
    efi_json_set(&json, root, "stations", stations_json(&json, learn));
    set_totals(&json, root, learn);
    return efi_json_give(&json, root, text);
}
