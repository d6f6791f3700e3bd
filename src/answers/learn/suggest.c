/* SPDX-License-Identifier: GPL-3.0-or-later
 * What was learned as settings of the scenario, one a line, for `--set @FILE`. */
#include "answers/learn/learn.h"

#include <math.h>
#include <string.h>

enum {
    DIGITS = 4
};

/* Hours as a person writes them: minutes under an hour. */
static void add_hours(efi_text *text, double hours)
{
    const bool minutes = hours < 1.0;
    efi_number_add_significant(text, minutes ? hours * 60.0 : hours, DIGITS);
    efi_text_add(text, minutes ? " min" : " h");
}

static void add_form(efi_text *text, const char *key, const ef_learn_times *times)
{
    efi_text_addf(text, ", %s form: %s", key, times->form);
    if (times->shape > 0.0) {
        efi_text_addf(text, ", %s shape: ", key);
        efi_number_add_significant(text, times->shape, DIGITS);
    }
}

static bool is_known(const ef_learn_times *times)
{
    return isfinite(times->mean_h.value) && times->mean_h.value > 0.0 && isfinite(times->mean_h.high);
}

/* "{between: 9.5 h, lasts: 7 min, lasts form: lognormal, lasts shape: 0.7}" */
static void add_block(efi_text *text, const ef_learn_stop *stop)
{
    const bool every = stop->planned || (!stop->in_scenario && stop->between.is_fixed);
    efi_text_add(text, every ? "{every: " : "{between: ");
    add_hours(text, stop->between.mean_h.value);
    if (every || !stop->counts_running)
        efi_text_addf(text, ", counts: %s", stop->counts_running ? "running" : "clock");
    if (!every && strcmp(stop->between.form, "exponential") != 0)
        add_form(text, "between", &stop->between);
    efi_text_add(text, ", lasts: ");
    add_hours(text, stop->lasts.mean_h.value);
    if (strcmp(stop->lasts.form, every ? "fixed" : "exponential") != 0)
        add_form(text, "lasts", &stop->lasts);
    if (stop->lockout_h > 0.0) {
        efi_text_add(text, ", lock-out: ");
        add_hours(text, stop->lockout_h);
    }
    if (stop->bin_entry_h > 0.0) {
        efi_text_add(text, ", bin entry: ");
        add_hours(text, stop->bin_entry_h);
    }
    efi_text_addf(text, ", note: from a log of %d stop%s}", stop->stops, stop->stops == 1 ? "" : "s");
}

static const char *kept(const efi_learn_run *run, efi_text *text)
{
    const char *copy = text->failed ? NULL : efi_arena_text(run->arena, efi_text_get(text), text->length);
    efi_text_free(text);
    return copy;
}

/* The setting of one kind of stop. A station without stops in the scenario has no block to put it in:
 * `alone`. */
static const char *setting_of(const efi_learn_run *run, const ef_learn_station *station,
                              const ef_learn_stop *stop, bool alone)
{
    efi_text text = {0};
    const char *name = *stop->reason ? stop->reason : "not said";
    efi_text_addf(&text, "stations.%s.stops%s%s=%s%s%s", station->name, alone ? "" : ".", alone ? "" : name,
                  alone ? "{\"" : "", alone ? name : "", alone ? "\": " : "");
    add_block(&text, stop);
    efi_text_add(&text, alone ? "}" : "");
    return kept(run, &text);
}

/* Names that cannot stand in a setting. */
static bool is_awkward(const char *name)
{
    return strpbrk(name, "=\"\\\r\n") != NULL;
}

static int stops_of(const ef_scenario *scenario, const char *station)
{
    const int s = efi_index_find(&scenario->station_index, station, strlen(station));
    return s >= 0 ? scenario->stations[s].stops.count : 0;
}

/* Gives each stop that can be described its setting. */
static ef_status make_settings(efi_learn_run *run)
{
    for (int s = 0; s < run->learn->station_count; s++) {
        const ef_learn_station *station = &run->stations[s];
        bool alone = stops_of(run->scenario, station->name) == 0;
        for (int i = 0; i < station->stop_count; i++) {
            ef_learn_stop *stop = &run->stops_of[s][i];
            const bool by_tonnes = stop->planned && !stop->between.has_scenario;
            if (stop->stops == 0 || !is_known(&stop->between) || !is_known(&stop->lasts) || by_tonnes ||
                is_awkward(stop->reason) || is_awkward(station->name))
                continue;
            stop->setting = setting_of(run, station, stop, alone);
            if (!stop->setting)
                return EF_MEMORY;
            alone = alone && !(stop->between.enough && stop->lasts.enough);
        }
    }
    return EF_OK;
}

static ef_status add_line(efi_learn_run *run, efi_text *text)
{
    const char *line = kept(run, text);
    if (!line)
        return EF_MEMORY;
    run->lines[run->learn->setting_count++] = line;
    return EF_OK;
}

static ef_status add_comment(efi_learn_run *run, const char *format, const char *words)
{
    efi_text text = {0};
    efi_text_addf(&text, "# %s%s", format, words);
    return add_line(run, &text);
}

static ef_status add_stop_line(efi_learn_run *run, const ef_learn_station *station, const ef_learn_stop *stop)
{
    efi_text text = {0};
    if (!stop->setting)
        return EF_OK;
    if (!stop->between.enough || !stop->lasts.enough)
        efi_text_addf(&text, "# too short a log for %s: ", station->name);
    efi_text_add(&text, stop->setting);
    return add_line(run, &text);
}

static ef_status add_share_line(efi_learn_run *run, const ef_learn_share *share)
{
    efi_text text = {0};
    if (!share->seen)
        return EF_OK;
    efi_text_addf(&text, "# %s, %s takes ", share->station, share->discharge);
    efi_number_add_significant(&text, 100.0 * share->share.value, 3);
    efi_text_add(&text, " % of the feed, the scenario ");
    efi_number_add_significant(&text, 100.0 * share->scenario_share, 3);
    efi_text_add(&text, " %; shares go by material: change them by hand");
    return add_line(run, &text);
}

/* A capacity that the plant beats. */
static ef_status add_scale_line(efi_learn_run *run, const ef_learn_scale *scale)
{
    efi_text text = {0};
    const efi_station *station = &run->scenario->stations[scale->station];
    const char *crop = run->scenario->crops[run->settings->crop].name;
    if (!scale->capacity_disagrees || is_awkward(station->name) || is_awkward(crop))
        return EF_OK;
    efi_text_addf(&text, "# stations.%s.capacity.%s=", station->name, crop);
    efi_number_add_significant(&text, scale->rate_tph.value / station->count, DIGITS);
    efi_text_add(&text, " t/h");
    return add_line(run, &text);
}

ef_status efi_learn_suggest(efi_learn_run *run)
{
    ef_learn *learn = run->learn;
    size_t most = 8 + (size_t)learn->scale_count + (size_t)learn->share_count;
    for (int s = 0; s < learn->station_count; s++)
        most += (size_t)learn->stations[s].stop_count;
    run->lines = efi_learn_get(run, most, sizeof *run->lines);
    if (!run->lines)
        return EF_MEMORY;
    learn->settings = run->lines;
    EF_TRY(make_settings(run));
    EF_TRY(add_comment(run, "Learned for ", learn->plant));
    EF_TRY(add_comment(run, "Apply with: evenfeed shift SCENARIO --set @THIS-FILE", ""));
    EF_TRY(add_comment(run, "Look at each line first: a log tells what was, not what will be.", ""));
    for (int s = 0; s < learn->station_count; s++)
        for (int i = 0; i < learn->stations[s].stop_count; i++)
            EF_TRY(add_stop_line(run, &learn->stations[s], &learn->stations[s].stops[i]));
    for (int i = 0; i < learn->scale_count; i++)
        EF_TRY(add_scale_line(run, &learn->scales[i]));
    for (int i = 0; i < learn->share_count; i++)
        EF_TRY(add_share_line(run, &learn->shares[i]));
    return EF_OK;
}
