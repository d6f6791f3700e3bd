/* SPDX-License-Identifier: GPL-3.0-or-later
 * A shift as JSON: everything, in base units. */
#include "report/shift_json.h"

#include "base/date.h"
#include "report/report.h"

void efi_shift_set_estimate(efi_json *json, json_t *object, const char *key, ef_shift_estimate estimate)
{
    efi_json_set_limits(json, object, key, estimate.value, estimate.low, estimate.high);
}

void efi_shift_set_streams(efi_json *json, json_t *object, const ef_shift_stream *streams, int count)
{
    json_t *array = efi_json_array(json);
    for (int s = 0; s < count; s++) {
        json_t *stream = efi_json_object(json);
        efi_json_set_text(json, stream, "name", streams[s].name);
        efi_json_set_flag(json, stream, "product", streams[s].product);
        efi_shift_set_estimate(json, stream, "p10_t", streams[s].p10_t);
        efi_shift_set_estimate(json, stream, "p50_t", streams[s].p50_t);
        efi_shift_set_estimate(json, stream, "p90_t", streams[s].p90_t);
        efi_shift_set_estimate(json, stream, "mean_t", streams[s].mean_t);
        efi_json_append(json, array, stream);
    }
    efi_json_set(json, object, "streams", array);
}

void efi_shift_set_hours(efi_json *json, json_t *object, const double *hours)
{
    json_t *value = efi_json_object(json);
    for (int h = 0; h < EF_SHIFT_HOURS_COUNT; h++)
        efi_json_set_real(json, value, ef_shift_hours_word((ef_shift_hours)h), hours[h]);
    efi_json_set(json, object, "hours_h", value);
}

static void set_date(efi_json *json, json_t *object, const char *key, int64_t day)
{
    efi_text text = {0};
    efi_date_add(&text, day);
    efi_json_take_text(json, object, key, &text);
}

static json_t *groups_json(efi_json *json, const ef_shift *shift)
{
    static const char *const sorts[] = {[EF_SHIFT_ALL] = "all shifts",
                                        [EF_SHIFT_NAMED] = "shift",
                                        [EF_SHIFT_DAY] = "day",
                                        [EF_SHIFT_WEEK] = "week"};
    json_t *groups = efi_json_array(json);
    for (int g = 0; g < shift->group_count; g++) {
        const ef_shift_group *group = &shift->groups[g];
        json_t *object = efi_json_object(json);
        efi_json_set_text(json, object, "of", sorts[group->sort]);
        efi_json_set_text(json, object, "name", group->name);
        efi_json_set_count(json, object, "per_run", group->per_run);
        efi_json_set_real(json, object, "work_h", group->work_h);
        efi_shift_set_streams(json, object, group->streams, group->stream_count);
        efi_json_append(json, groups, object);
    }
    return groups;
}

static json_t *periods_json(efi_json *json, const ef_shift *shift)
{
    json_t *periods = efi_json_array(json);
    for (int p = 0; p < shift->period_count; p++) {
        const ef_shift_period *period = &shift->periods[p];
        json_t *object = efi_json_object(json);
        efi_json_set_text(json, object, "name", period->name);
        if (shift->on_calendar)
            set_date(json, object, "date", period->day);
        efi_json_set_real(json, object, "from_h", period->from_h);
        efi_json_set_real(json, object, "to_h", period->to_h);
        efi_json_set_real(json, object, "work_h", period->work_h);
        efi_json_set_real(json, object, "crew_h", period->crew_h);
        efi_json_set_real(json, object, "paid_h", period->paid_h);
        efi_json_set_real(json, object, "extra", period->extra);
        efi_json_append(json, periods, object);
    }
    return periods;
}

static json_t *station_json(efi_json *json, const ef_shift_station *station)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "name", station->name);
    efi_shift_set_hours(json, object, station->hours);
    efi_json_set_real(json, object, "planned_h", station->planned_h);
    efi_json_set_real(json, object, "warming_h", station->warming_h);
    efi_json_set_real(json, object, "taken_t", station->taken_t);
    efi_json_set_real(json, object, "warm_up_t", station->warm_up_t);
    efi_json_set_real(json, object, "rate_tph", station->rate_tph);
    efi_json_set_flag(json, object, "steady_feed", station->steady_feed);
    efi_json_set_real(json, object, "shortfall_t", station->shortfall_t);
    efi_json_set_real(json, object, "out_of_band_h", station->out_of_band_h);
    efi_json_set_real(json, object, "idle_kwh", station->idle_kwh);
    efi_json_set_real(json, object, "load_kwh", station->load_kwh);
    return object;
}

static json_t *hours_json(efi_json *json, const ef_shift *shift)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "account_of", shift->stations[shift->account].name);
    efi_json_set_real(json, object, "availability_share", shift->availability);
    efi_json_set_real(json, object, "performance_share", shift->performance);
    efi_json_set_real(json, object, "quality_share", shift->quality);
    efi_json_set_real(json, object, "effectiveness_share", shift->effectiveness);
    json_t *stations = efi_json_array(json);
    for (int s = 0; s < shift->station_count; s++)
        efi_json_append(json, stations, station_json(json, &shift->stations[s]));
    efi_json_set(json, object, "stations", stations);
    return object;
}

static json_t *cost_json(efi_json *json, const ef_shift *shift)
{
    const ef_shift_cost *cost = &shift->cost;
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "currency", shift->currency);
    efi_json_set_real(json, object, "product_t", cost->product_t);
    efi_json_set_real(json, object, "idle_kwh", cost->idle_kwh);
    efi_json_set_real(json, object, "load_kwh", cost->load_kwh);
    efi_json_set_known(json, object, "energy_price_per_kwh", cost->has_energy_price, cost->energy_price);
    efi_json_set_real(json, object, "power", cost->power);
    efi_json_set_real(json, object, "crew_h", cost->crew_h);
    efi_json_set_real(json, object, "paid_h", cost->paid_h);
    efi_json_set_known(json, object, "labour_price_per_h", cost->has_labour_price, cost->labour_price);
    efi_json_set_real(json, object, "extra", cost->extra);
    efi_json_set_real(json, object, "crew", cost->crew);
    efi_json_set_real(json, object, "rejects_t", cost->rejects_t);
    efi_json_set_known(json, object, "receipt_price_per_t", cost->has_receipt_price, cost->receipt_price);
    efi_json_set_real(json, object, "shrink", cost->shrink);
    efi_json_set_known(json, object, "rejects", cost->has_reject_price, cost->rejects);
    efi_json_set_real(json, object, "total", cost->total);
    efi_json_set_real(json, object, "per_t", cost->per_t);
    return object;
}

static json_t *bins_json(efi_json *json, const ef_shift *shift)
{
    json_t *object = efi_json_object(json);
    efi_json_set_count(json, object, "envelope_runs", shift->envelope_runs);
    efi_json_set_reals(json, object, "envelope_h", shift->grid_h, (size_t)shift->grid_count);
    efi_json_set_reals(json, object, "sample_h", shift->sample_h, (size_t)shift->sample_count);
    json_t *bins = efi_json_array(json);
    for (int b = 0; b < shift->bin_count; b++) {
        const ef_shift_bin *bin = &shift->bins[b];
        json_t *one = efi_json_object(json);
        efi_json_set_text(json, one, "name", bin->name);
        efi_json_set_real(json, one, "full_t", bin->full_t);
        efi_json_set_real(json, one, "t_per_m3", bin->t_per_m3);
        efi_json_set_real(json, one, "mean_t", bin->mean_t);
        efi_json_set_real(json, one, "empty_h", bin->empty_h);
        efi_json_set_real(json, one, "full_h", bin->full_h);
        efi_json_set_reals(json, one, "p10_t", bin->p10_t, (size_t)shift->grid_count);
        efi_json_set_reals(json, one, "p50_t", bin->p50_t, (size_t)shift->grid_count);
        efi_json_set_reals(json, one, "p90_t", bin->p90_t, (size_t)shift->grid_count);
        efi_json_set_reals(json, one, "sample_t", bin->sample_t, (size_t)shift->sample_count);
        efi_json_append(json, bins, one);
    }
    efi_json_set(json, object, "bins", bins);
    return object;
}

static json_t *remedies_json(efi_json *json, const ef_shift *shift)
{
    json_t *remedies = efi_json_array(json);
    for (int i = 0; i < shift->remedy_count; i++) {
        const ef_shift_remedy *remedy = &shift->remedies[i];
        json_t *object = efi_json_object(json);
        efi_json_set_text(json, object, "station", remedy->station);
        efi_json_set_text(json, object, "stop", remedy->stop);
        efi_json_set_flag(json, object, "held_by_lockout", remedy->held_by_lockout);
        if (remedy->stop)
            efi_json_set_real(json, object, "bin_entry_h", remedy->bin_entry_h);
        efi_json_set_real(json, object, remedy->stop ? "now_h" : "now_t", remedy->now);
        efi_json_set_real(json, object, remedy->stop ? "then_h" : "then_t", remedy->then);
        efi_shift_set_estimate(json, object, "gain_t", remedy->gain_t);
        efi_json_append(json, remedies, object);
    }
    return remedies;
}

static json_t *histogram_json(efi_json *json, const ef_shift *shift)
{
    json_t *object = efi_json_object(json);
    efi_json_set_real(json, object, "from_t", shift->histogram_from_t);
    efi_json_set_real(json, object, "width_t", shift->histogram_width_t);
    json_t *shifts = efi_json_array(json);
    for (int c = 0; c < shift->histogram_count; c++)
        efi_json_append(json, shifts, json_integer(shift->histogram[c]));
    efi_json_set(json, object, "shifts", shifts);
    return object;
}

static json_t *shift_json(efi_json *json, const ef_shift *shift)
{
    json_t *root = efi_json_document(json, "shift.schema.json");
    efi_json_set_text(json, root, "plant", shift->plant);
    efi_json_set_text(json, root, "scenario", shift->scenario_file);
    efi_json_set_text(json, root, "crop", shift->crop);
    efi_json_set(json, root, "seed", json_integer((json_int_t)shift->seed));
    efi_json_set_count(json, root, "runs", shift->runs);
    json_t *choked = efi_json_array(json);
    for (int i = 0; i < shift->choked_count; i++)
        efi_json_append(json, choked, efi_json_text(json, shift->choked[i]));
    efi_json_set_count(json, root, "choked_runs", shift->choked_runs);
    efi_json_set(json, root, "choked", choked);
    efi_json_set_known(json, root, "precision_asked_share", shift->precision > 0.0, shift->precision);
    efi_json_set_real(json, root, "precision_reached_share", shift->reached);
    efi_json_set_flag(json, root, "on_calendar", shift->on_calendar);
    if (shift->on_calendar) {
        set_date(json, root, "from", shift->from_day);
        efi_json_set_count(json, root, "days", shift->days);
    }
    efi_json_set_real(json, root, "warm_up_h", shift->warm_up_h);
    efi_json_set_real(json, root, "counted_h", shift->counted_h);
    efi_json_set_real(json, root, "confidence_share", 0.95);
    efi_json_set_real(json, root, "planning_rate_tph", shift->planning_rate_tph);
    efi_json_set_real(json, root, "balance_intake_t", shift->balance_intake_t);
    efi_json_set_real(json, root, "balance_product_t", shift->balance_product_t);
    efi_json_set(json, root, "amounts", groups_json(json, shift));
    efi_json_set(json, root, "histogram", histogram_json(json, shift));
    efi_json_set(json, root, "hours", hours_json(json, shift));
    efi_json_set(json, root, "cost", cost_json(json, shift));
    efi_json_set(json, root, "remedies", remedies_json(json, shift));
    efi_json_set(json, root, "levels", bins_json(json, shift));
    efi_json_set(json, root, "shifts", periods_json(json, shift));
    return root;
}

/* ---- two plants -----------------------------------------------------------------------------------------
 */

static json_t *difference_json(efi_json *json, const ef_shift_difference *difference)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "name", difference->name);
    efi_json_set_flag(json, object, "product", difference->product);
    efi_json_set_known(json, object, "here_t", difference->is_here, difference->here_t);
    efi_json_set_known(json, object, "there_t", difference->is_there, difference->there_t);
    efi_shift_set_estimate(json, object, "more_t", difference->more_t);
    return object;
}

static json_t *comparison_json(efi_json *json, const ef_shift_comparison *comparison)
{
    json_t *root = efi_json_document(json, "shift-comparison.schema.json");
    json_t *changes = efi_json_array(json);
    for (int i = 0; i < comparison->change_count; i++) {
        json_t *object = efi_json_object(json);
        efi_json_set_text(json, object, "path", comparison->changes[i].path);
        efi_json_set_text(json, object, "here", comparison->changes[i].here);
        efi_json_set_text(json, object, "there", comparison->changes[i].there);
        efi_json_append(json, changes, object);
    }
    efi_json_set(json, root, "changes", changes);
    efi_json_set_count(json, root, "more_changes", comparison->more_changes);
    efi_json_set_text(json, root, "differences_of",
                      comparison->shifts > 1 || !comparison->here->on_calendar ? "shift" : "run");
    json_t *streams = efi_json_array(json);
    for (int s = 0; s < comparison->stream_count; s++)
        efi_json_append(json, streams, difference_json(json, &comparison->streams[s]));
    efi_json_set(json, root, "differences", streams);
    efi_json_set_real(json, root, "better_share", comparison->better_share);
    efi_json_set_real(json, root, "worse_share", comparison->worse_share);
    efi_json_set(json, root, "here", shift_json(json, comparison->here));
    efi_json_set(json, root, "there", shift_json(json, comparison->there));
    return root;
}

ef_status ef_report_shift_comparison_json(const ef_shift_comparison *comparison, char **text)
{
    efi_json json = {0};
    json_t *root = comparison_json(&json, comparison);
    return efi_json_give(&json, root, text);
}

ef_status ef_report_shift_json(const ef_shift *shift, char **text)
{
    efi_json json = {0};
    json_t *root = shift_json(&json, shift);
    return efi_json_give(&json, root, text);
}
