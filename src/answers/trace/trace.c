/* SPDX-License-Identifier: GPL-3.0-or-later
 * One simulated stretch: steady rates, network, engine with a watcher that writes down what happens. */
#include "base/locale.h"
#include "shared/engine/engine.h"
#include "shared/plant/plant.h"
#include "shared/steady/steady.h"

#include <evenfeed/trace.h>
#include <math.h>
#include <string.h>

enum {
    MOST_HOURS = 10000
};

typedef struct owned_trace {
    ef_trace trace; /* first, so that the public pointer is the owned one */
    efi_arena *arena;
} owned_trace;

/* What one run works with. */
typedef struct run {
    const ef_trace_settings *settings;
    ef_trace *trace;
    efi_arena *arena;
    const efi_line *line;
    efi_plant_network plant;
    efi_engine *engine;
    int *bins;         /* shape [bin_count]: stations of the network */
    ef_trace_bin *bin; /* shape [bin_count] */
    ef_trace_event *events;
    size_t event_count, event_room;
    double *level_h;
    size_t level_count, level_room;
    double *level_t; /* shape [level_count][bin_count] */
    size_t level_t_room;
    bool failed;
} run;

ef_trace_settings ef_trace_defaults(const ef_scenario *scenario)
{
    return (ef_trace_settings){.seed = 1, .hours = scenario->plant->shift_h.value, .most_events = 100000};
}

/* ---- writing down ---------------------------------------------------------------------------------------
 */

static void note_levels(run *r, double at_h)
{
    const size_t bins = (size_t)r->trace->bin_count;
    if (r->level_count > 0 && r->level_h[r->level_count - 1] == at_h)
        r->level_count--;
    while (!r->failed && r->level_t_room < (r->level_count + 1) * bins) {
        const size_t room = r->level_t_room ? 2 * r->level_t_room : 64 * (bins + 1);
        double *grown = efi_resize(r->level_t, room, sizeof *grown);
        r->failed = !grown;
        if (grown) {
            r->level_t = grown;
            r->level_t_room = room;
        }
    }
    if (r->failed || efi_grow(&r->level_h, r->level_count, &r->level_room, sizeof *r->level_h) != 0) {
        r->failed = true;
        return;
    }
    for (size_t i = 0; i < bins; i++)
        r->level_t[r->level_count * bins + i] = efi_engine_level_t(r->engine, r->bins[i]);
    r->level_h[r->level_count++] = at_h;
}

static void watch(void *context, const efi_engine *engine, const efi_event *event)
{
    run *r = context;
    (void)engine;
    if (r->failed || r->event_count >= (size_t)r->settings->most_events) {
        r->trace->events_cut = true;
        return;
    }
    if (efi_grow(&r->events, r->event_count, &r->event_room, sizeof *r->events) != 0) {
        r->failed = true;
        return;
    }
    const efi_station *of = r->line->stations[r->plant.line_station[event->station]].of;
    const bool stop = event->kind == EFI_EVENT_STOP || event->kind == EFI_EVENT_START;
    const bool named = stop && event->mode >= 0 && event->mode < of->stops.count;
    r->events[r->event_count++] = (ef_trace_event){.at_h = event->at_h,
                                                   .what = efi_event_text(event->kind),
                                                   .station = of->name,
                                                   .cause = named ? of->stops.items[event->mode].name : NULL,
                                                   .machine = of->count > 1 && stop ? event->unit + 1 : 0};
    note_levels(r, event->at_h);
}

/* ---- accounts -------------------------------------------------------------------------------------------
 */

static ef_status name_states(run *r)
{
    const char **states = efi_arena_get(r->arena, EFI_STATE_COUNT, sizeof *states);
    if (!states)
        return EF_MEMORY;
    for (int i = 0; i < EFI_STATE_COUNT; i++)
        states[i] = efi_state_text((efi_state)i);
    r->trace->states = states;
    r->trace->state_count = EFI_STATE_COUNT;
    return EF_OK;
}

static void read_bin(const run *r, int index, const efi_account *account)
{
    ef_trace_bin *bin = &r->bin[index];
    bin->mean_t = account->level_th / r->trace->hours;
    bin->empty_h = account->empty_h;
    bin->full_h = account->full_h;
    bin->least_t = INFINITY;
    for (size_t i = 0; i < r->level_count; i++) {
        const double level = r->level_t[i * (size_t)r->trace->bin_count + (size_t)index];
        bin->least_t = fmin(bin->least_t, level);
        bin->most_t = fmax(bin->most_t, level);
    }
}

static ef_status read_accounts(run *r)
{
    ef_trace_station *stations = efi_arena_get(r->arena, (size_t)r->plant.network.stations, sizeof *stations);
    if (!stations)
        return EF_MEMORY;
    int bins = 0;
    for (int n = 0; n < r->plant.network.stations; n++) {
        efi_account account;
        efi_engine_read(r->engine, n, &account);
        const efi_network_station *of = &r->plant.stations[n];
        if (of->kind == EFI_NETWORK_BIN) {
            read_bin(r, bins++, &account);
            continue;
        }
        double *state_h = efi_arena_get(r->arena, EFI_STATE_COUNT, sizeof *state_h);
        if (!state_h)
            return EF_MEMORY;
        memcpy(state_h, account.state_h, sizeof account.state_h);
        stations[r->trace->station_count++] = (ef_trace_station){
            .name = of->name,
            .taken_t = account.in_t,
            .state_h = state_h,
            .steady_feed = of->steady.is_steady,
            .set_rate_tph = of->steady.is_steady ? of->capacity_tph * of->machines : 0.0,
            .shortfall_t = account.shortfall_t,
            .out_of_band_h = account.out_of_band_h};
        const efi_station *in_scenario = r->line->stations[r->plant.line_station[n]].of;
        r->trace->intake_t += of->kind == EFI_NETWORK_INTAKE ? account.in_t : 0.0;
        r->trace->product_t += in_scenario->product ? account.in_t : 0.0;
    }
    r->trace->stations = stations;
    r->trace->imbalance_t = efi_engine_imbalance_t(r->engine);
    return EF_OK;
}

static ef_status keep_events(run *r)
{
    const size_t bins = (size_t)r->trace->bin_count;
    ef_trace_event *events = efi_arena_get(r->arena, r->event_count, sizeof *events);
    double *level_h = efi_arena_get(r->arena, r->level_count, sizeof *level_h);
    double *level_t = efi_arena_get(r->arena, r->level_count * bins, sizeof *level_t);
    if (!events || !level_h || !level_t)
        return EF_MEMORY;
    if (r->event_count)
        memcpy(events, r->events, r->event_count * sizeof *events);
    if (r->level_count)
        memcpy(level_h, r->level_h, r->level_count * sizeof *level_h);
    if (r->level_count > 0 && bins > 0)
        memcpy(level_t, r->level_t, r->level_count * bins * sizeof *level_t);
    r->trace->events = events;
    r->trace->event_count = (int)r->event_count;
    r->trace->level_h = level_h;
    r->trace->level_t = level_t;
    r->trace->level_count = (int)r->level_count;
    return EF_OK;
}

/* ---- the run --------------------------------------------------------------------------------------------
 */

static ef_status find_bins(run *r)
{
    const size_t stations = (size_t)r->plant.network.stations;
    r->bins = efi_arena_get(r->arena, stations, sizeof *r->bins);
    r->bin = efi_arena_get(r->arena, stations, sizeof *r->bin);
    if (!r->bins || !r->bin)
        return EF_MEMORY;
    for (int n = 0; n < r->plant.network.stations; n++) {
        if (r->plant.stations[n].kind != EFI_NETWORK_BIN)
            continue;
        r->bins[r->trace->bin_count] = n;
        r->bin[r->trace->bin_count++] = (ef_trace_bin){.name = r->plant.stations[n].name,
                                                       .full_t = r->plant.stations[n].bin.full_t,
                                                       .t_per_m3 = r->plant.t_per_m3[n]};
    }
    r->trace->bins = r->bin;
    return EF_OK;
}

static void explain(const run *r, const efi_trouble *trouble, char **reason)
{
    efi_text text = {0};
    efi_trouble_write(trouble, &r->plant.network, &text);
    if (reason && !text.failed)
        *reason = text.bytes;
    else
        efi_text_free(&text);
}

static ef_status simulate(run *r, char **reason)
{
    efi_trouble trouble;
    efi_engine_settings settings = efi_engine_defaults();
    settings.is_general = true;
    ef_status status = efi_engine_build(&r->plant.network, &settings, &r->engine, &trouble);
    if (status == EF_SCENARIO) {
        explain(r, &trouble, reason);
        return EF_NO_ANSWER;
    }
    EF_TRY(status);
    efi_engine_watch(r->engine, watch, r);
    efi_engine_start(r->engine, r->settings->seed, r->settings->replication);
    note_levels(r, 0.0);
    status = efi_engine_run(r->engine, r->settings->hours, &trouble);
    if (status == EF_NO_ANSWER)
        explain(r, &trouble, reason);
    EF_TRY(status);
    note_levels(r, r->settings->hours);
    if (r->failed)
        return EF_MEMORY;
    EF_TRY(read_accounts(r));
    return keep_events(r);
}

static ef_status run_line(run *r, efi_steady_model *model, char **reason)
{
    efi_lp_outcome outcome;
    efi_steady_search counts;
    const efi_plant_options options = {.without_stops = r->settings->without_stops,
                                       .without_receipts = r->settings->without_stops};
    EF_TRY(efi_steady_choose(model, r->arena, &outcome, &r->trace->balance_tph, &counts));
    if (outcome != EFI_LP_OPTIMAL)
        return EF_NO_ANSWER;
    EF_TRY(efi_plant_build(&r->plant, r->arena, r->line, model->feeds, &options));
    EF_TRY(name_states(r));
    EF_TRY(find_bins(r));
    return simulate(r, reason);
}

static ef_status run_crop(const ef_scenario *scenario, const ef_trace_settings *settings, owned_trace *owned,
                          char **reason)
{
    ef_trace *trace = &owned->trace;
    trace->plant = scenario->plant->name;
    trace->scenario_file = scenario->tree.sources[0].name;
    trace->crop = scenario->crops[settings->crop].name;
    trace->trade_weight_tpbu = scenario->crops[settings->crop].trade_weight_tpbu.value;
    trace->seed = settings->seed;
    trace->hours = settings->hours;
    efi_line line;
    EF_TRY(efi_line_build(&line, owned->arena, scenario, settings->crop));
    efi_steady_model model;
    run r = {.settings = settings, .trace = trace, .arena = owned->arena, .line = &line};
    ef_status status = efi_steady_build(&model, owned->arena, &line, EF_BALANCE_RATE);
    if (status == EF_OK)
        status = run_line(&r, &model, reason);
    efi_lp_free(model.lp);
    efi_lp_thread_end();
    efi_engine_free(r.engine);
    efi_free(r.events);
    efi_free(r.level_h);
    efi_free(r.level_t);
    return status;
}

ef_status ef_trace_run(const ef_scenario *scenario, const ef_trace_settings *settings, ef_trace **trace,
                       char **reason)
{
    const bool in_range = settings->hours > 0.0 && settings->hours <= MOST_HOURS &&
                          settings->most_events >= 0;
    if (settings->crop < 0 || settings->crop >= scenario->crop_count || !in_range)
        return EF_USAGE;
    efi_locale locale;
    EF_TRY(efi_locale_enter(&locale));
    owned_trace *owned = efi_new(1, sizeof *owned);
    if (owned)
        owned->arena = efi_arena_new();
    const ef_status status = owned && owned->arena ? run_crop(scenario, settings, owned, reason) : EF_MEMORY;
    efi_locale_leave(&locale);
    if (status != EF_OK) {
        if (owned)
            ef_trace_free(&owned->trace);
        return status;
    }
    *trace = &owned->trace;
    return EF_OK;
}

void ef_trace_free(ef_trace *trace)
{
    if (!trace)
        return;
    owned_trace *owned = (owned_trace *)(void *)trace;
    efi_arena_free(owned->arena);
    efi_free(owned);
}
