/* SPDX-License-Identifier: GPL-3.0-or-later
 * One simulated stretch: steady rates, network, engine, accounts. */
#include "answers/trace/trace_inside.h"
#include "base/locale.h"
#include "shared/calendar/calendar.h"
#include "shared/plant/running.h"

#include <math.h>
#include <string.h>

enum {
    MOST_HOURS = 10000
};

/* 0001-01-01 and 9999-12-31. */
#define FIRST_MOMENT (INT64_C(-719162) * EFI_DAY_S)
#define LAST_MOMENT  (INT64_C(2932896) * EFI_DAY_S)

typedef struct owned_trace {
    ef_trace trace; /* first, so that the public pointer is the owned one */
    efi_arena *arena;
} owned_trace;

ef_trace_settings ef_trace_defaults(const ef_scenario *scenario)
{
    (void)scenario;
    return (ef_trace_settings){.seed = 1, .most_events = 100000};
}

/* ---- accounts -------------------------------------------------------------------------------------------
 */

typedef efi_trace_run run;

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

static ef_status read_crews(run *r)
{
    const ef_scenario *scenario = r->line->scenario;
    ef_trace_crew *crews = efi_arena_get(r->arena, (size_t)scenario->crew_count, sizeof *crews);
    if (!crews)
        return EF_MEMORY;
    for (int c = 0; c < scenario->crew_count; c++) {
        efi_crew_account account;
        efi_engine_read_crew(r->engine, c, &account);
        crews[c] = (ef_trace_crew){.name = scenario->crews[c].name,
                                   .teams = scenario->crews[c].teams,
                                   .stops = account.stops,
                                   .waited = account.waited,
                                   .busy_h = account.busy_h,
                                   .wait_h = account.wait_h,
                                   .most_busy = account.most_busy};
    }
    r->trace->crews = crews;
    r->trace->crew_count = scenario->crew_count;
    return EF_OK;
}

static ef_status read_receipts(run *r)
{
    const int stations = r->plant.network.stations;
    ef_trace_receipts *receipts = efi_arena_get(r->arena, (size_t)stations, sizeof *receipts);
    if (!receipts)
        return EF_MEMORY;
    for (int n = 0; n < stations; n++) {
        if (!r->plant.stations[n].loads.is_used)
            continue;
        efi_account account;
        efi_engine_read(r->engine, n, &account);
        receipts[r->trace->receipts_count++] = (ef_trace_receipts){.name = r->plant.stations[n].name,
                                                                   .arrivals = account.arrivals,
                                                                   .turned_away = account.turned_away,
                                                                   .spilled_t = account.spilled_t,
                                                                   .queue_h = account.queue_h};
    }
    r->trace->receipts = receipts;
    return EF_OK;
}

/* What a steady-feed station is set to; of a list the greatest. */
static double set_rate_of(const run *r, int n)
{
    double capacity_tph = r->list ? 0.0 : r->plant.stations[n].capacity_tph;
    for (int k = 0; r->list && k < r->list->count; k++)
        capacity_tph = fmax(capacity_tph, r->list->engine_lots[k].capacity_tph[n]);
    return capacity_tph * r->plant.stations[n].machines;
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
            .held_t = account.level_t,
            .state_h = state_h,
            .steady_feed = of->steady.is_steady,
            .set_rate_tph = of->steady.is_steady ? set_rate_of(r, n) : 0.0,
            .shortfall_t = account.shortfall_t,
            .out_of_band_h = account.out_of_band_h};
        const efi_station *in_scenario = r->line->stations[r->plant.line_station[n]].of;
        r->trace->intake_t += of->kind == EFI_NETWORK_INTAKE ? account.in_t : 0.0;
        r->trace->product_t += in_scenario->product ? account.in_t : 0.0;
    }
    r->trace->stations = stations;
    EF_TRY(read_crews(r));
    EF_TRY(read_receipts(r));
    r->trace->imbalance_t = efi_engine_imbalance_t(r->engine);
    return EF_OK;
}

/* ---- the run --------------------------------------------------------------------------------------------
 */

/* A bin; of a list as it is for the lot of which it holds most. */
static ef_trace_bin describe_bin(const run *r, int n)
{
    ef_trace_bin bin = {.name = r->plant.stations[n].name,
                        .full_t = r->plant.stations[n].bin.full_t,
                        .t_per_m3 = r->plant.t_per_m3[n],
                        .part = 1.0};
    for (int c = 0; r->list && c < r->list->crop_count; c++) { /* the first that passes it describes it */
        bin.part = efi_lot_list_part(r->list, c, n);
        if (bin.part > 0.0)
            break;
    }
    const double room_m3 = bin.full_t / bin.t_per_m3 / bin.part;
    for (int k = 0; r->list && k < r->list->count; k++) {
        const double full_t = r->list->engine_lots[k].bin[n].full_t;
        if (!(full_t > bin.full_t))
            continue;
        bin.full_t = full_t;
        bin.part = efi_lot_list_part(r->list, efi_lot_list_crop(r->list, r->list->lots[k].of->crop), n);
        bin.t_per_m3 = full_t / room_m3 / bin.part;
    }
    return bin;
}

static ef_status find_bins(run *r)
{
    const size_t stations = (size_t)r->plant.network.stations;
    r->bins = efi_arena_get(r->arena, stations, sizeof *r->bins);
    r->bin = efi_arena_get(r->arena, stations, sizeof *r->bin);
    r->passes = efi_arena_get(r->arena, stations, sizeof *r->passes);
    if (!r->bins || !r->bin || !r->passes)
        return EF_MEMORY;
    for (int n = 0; n < r->plant.network.stations; n++) {
        if (r->plant.stations[n].kind != EFI_NETWORK_BIN) {
            r->passes[r->pass_count++] = n;
            continue;
        }
        r->bins[r->trace->bin_count] = n;
        r->bin[r->trace->bin_count++] = describe_bin(r, n);
    }
    r->trace->bins = r->bin;
    return EF_OK;
}

static ef_status name_choked(run *r)
{
    const char **names = efi_arena_get(r->arena, (size_t)r->choke.stations, sizeof *names);
    if (!names)
        return EF_MEMORY;
    for (int i = 0; i < r->choke.stations; i++)
        names[i] = r->plant.stations[r->choke.station[i]].name;
    r->trace->choked = names;
    r->trace->choked_count = r->choke.stations;
    return EF_OK;
}

static ef_status simulate(run *r, char **reason)
{
    efi_trouble trouble;
    efi_engine_settings settings = efi_engine_defaults();
    settings.is_general = true;
    ef_status status = r->list ? efi_lot_list_engine(r->list, false, &r->engine, &trouble)
                               : efi_engine_build(&r->plant.network, &settings, &r->engine, &trouble);
    if (status == EF_SCENARIO) {
        efi_running_explain(&r->plant.network, &trouble, reason);
        return EF_NO_ANSWER;
    }
    EF_TRY(status);
    efi_trace_begin(r);
    efi_engine_watch(r->engine, efi_trace_watch, r);
    efi_engine_start(r->engine, r->settings->seed, r->settings->replication);
    status = efi_engine_run(r->engine, 0.0, &trouble);
    if (status == EF_OK) {
        efi_trace_note_levels(r, 0.0);
        status = efi_engine_run(r->engine, r->trace->hours, &trouble);
    }
    if (status == EF_NO_ANSWER)
        efi_running_explain(&r->plant.network, &trouble, reason);
    EF_TRY(status);
    efi_trace_note_levels(r, r->trace->hours);
    if (r->failed)
        return EF_MEMORY;
    EF_TRY(name_choked(r));
    EF_TRY(read_accounts(r));
    return efi_trace_keep(r);
}

static ef_status run_line(run *r, efi_running *running, char **reason)
{
    const efi_plant_options options = {.without_stops = r->settings->without_stops,
                                       .without_receipts = r->settings->without_stops,
                                       .on_calendar = r->trace->on_calendar,
                                       .from_s = r->plant.from_s,
                                       .hours = r->trace->hours};
    r->trace->balance_tph = running->rate_tph;
    EF_TRY(efi_running_lay(running, r->arena, &options));
    r->plant = running->plant;
    EF_TRY(name_states(r));
    EF_TRY(find_bins(r));
    return simulate(r, reason);
}

ef_status efi_trace_find_worked(run *r, const ef_scenario *scenario)
{
    ef_trace *trace = r->trace;
    const int64_t from_s = r->plant.from_s;
    trace->worked_h = trace->hours;
    if (!trace->on_calendar)
        return EF_OK;
    efi_timetable timetable;
    const int64_t to_s = from_s + (int64_t)ceil(trace->hours * EFI_HOUR_S);
    EF_TRY(efi_timetable_build(&timetable, scenario->calendar, EFI_WHOLE_PLANT, from_s, to_s));
    trace->worked_h = fmin(efi_hours_of(efi_timetable_worked(&timetable, from_s, to_s)), trace->hours);
    efi_timetable_free(&timetable);
    return EF_OK;
}

/* Lays a list for so many hours of the stretch. */
static ef_status lay_list(run *r, efi_lot_list *list, double hours, char **reason)
{
    const efi_plant_options options = {.without_stops = r->settings->without_stops,
                                       .on_calendar = r->trace->on_calendar,
                                       .from_s = r->plant.from_s,
                                       .hours = hours};
    const int64_t from_s = r->plant.from_s;
    EF_TRY(efi_lot_list_lay(list, r->arena, &options, reason));
    r->plant = list->plant;
    r->plant.from_s = from_s;
    r->line = &list->line;
    return EF_OK;
}

ef_status efi_trace_find_hours(run *r, efi_lot_list *list, const ef_scenario *scenario, char **reason)
{
    efi_trouble trouble = {0};
    double hours = 0.0;
    EF_TRY(lay_list(r, list, MOST_HOURS, reason));
    EF_TRY(efi_trace_begin_lots(r));
    const ef_status status = efi_trace_find_end(r, MOST_HOURS, &hours, &trouble);
    if (status == EF_NO_ANSWER && trouble.kind != EFI_TROUBLE_NONE) {
        efi_running_explain(&r->plant.network, &trouble, reason);
        return status;
    }
    if (status == EF_NO_ANSWER) {
        efi_text words = {0};
        efi_text_addf(&words, "the list does not end within %d h; --hours shows part of it", MOST_HOURS);
        if (reason && !words.failed)
            *reason = words.bytes;
        else
            efi_text_free(&words);
    }
    EF_TRY(status);
    r->trace->hours = (floor(hours * EFI_HOUR_S) + 1.0) / EFI_HOUR_S; /* so that its end is seen */
    return efi_trace_find_worked(r, scenario);
}

ef_status efi_trace_build_list(run *r, efi_lot_list *list, const ef_scenario *scenario, int line,
                               const int *order, int count, char **reason)
{
    EF_TRY(efi_lot_list_build(list, r->arena, scenario, line, order, count, reason));
    r->list = list;
    r->trace->crop = scenario->crops[list->lots[0].of->crop].name;
    r->trace->trade_weight_tpbu = scenario->crops[list->lots[0].of->crop].trade_weight_tpbu.value;
    r->trace->line_clear = list->is_line_clear;
    double tonnes_t = 0.0;
    double hours = 0.0;
    for (int k = 0; k < list->count; k++) {
        tonnes_t += list->lots[k].tonnes_t;
        hours += list->lots[k].tonnes_t / list->lots[k].balance_tph;
    }
    r->trace->balance_tph = tonnes_t / hours;
    return EF_OK;
}

ef_status efi_trace_run_list(run *r, efi_lot_list *list, char **reason)
{
    EF_TRY(lay_list(r, list, r->trace->hours, reason));
    EF_TRY(efi_trace_begin_lots(r));
    EF_TRY(name_states(r));
    EF_TRY(find_bins(r));
    return simulate(r, reason);
}

static ef_status run_list(run *r, efi_lot_list *list, const ef_scenario *scenario, char **reason)
{
    EF_TRY(efi_trace_build_list(r, list, scenario, -1, r->settings->order, r->settings->order_count, reason));
    if (!(r->settings->hours > 0.0))
        EF_TRY(efi_trace_find_hours(r, list, scenario, reason));
    return efi_trace_run_list(r, list, reason);
}

void efi_trace_free_run(run *r)
{
    efi_engine_free(r->engine);
    efi_free(r->events);
    efi_free(r->stops);
    efi_free(r->stop_of);
    efi_free(r->level_h);
    efi_free(r->level_t);
    efi_free(r->feed_tph);
}

/* Where the stretch begins, in seconds of the calendar. */
static int64_t begin_of(const ef_scenario *scenario, const ef_trace_settings *settings)
{
    const efi_calendar *calendar = scenario->calendar;
    const int64_t moment_s = settings->from_moment_s - efi_calendar_moment(calendar, 0);
    switch (settings->from) {
    case EF_TRACE_FROM_WORK:
        return efi_calendar_next_work(calendar, 0);
    case EF_TRACE_FROM_DAY:
        return efi_calendar_next_work(calendar, moment_s);
    case EF_TRACE_FROM_MOMENT:
        break;
    }
    return moment_s;
}

/* Hours to the end of the shift or overtime that is on at a second, else a shift of the plant's length. */
static double usual_hours(const ef_scenario *scenario, bool on_calendar, int64_t from_s)
{
    const efi_calendar *calendar = scenario->calendar;
    const efi_time_interval on = efi_calendar_at(calendar, EFI_WHOLE_PLANT, from_s);
    if (!on_calendar || on.state == EFI_TIME_CLOSED)
        return scenario->plant->shift_h.value;
    const bool is_shift = on.shift != EFI_NO_ITEM;
    const efi_when from = is_shift ? calendar->shifts[on.shift].from : calendar->overtimes[on.overtime].from;
    const efi_when to = is_shift ? calendar->shifts[on.shift].to : calendar->overtimes[on.overtime].to;
    const int64_t end_s = on.day * EFI_DAY_S + from.value + efi_clock_span(from.value, to.value);
    return efi_hours_of(end_s - from_s);
}

/* The stretch and its hours of work. */
static ef_status lay_stretch(run *r, const ef_scenario *scenario)
{
    ef_trace *trace = r->trace;
    const int64_t from_s = begin_of(scenario, r->settings);
    r->plant.from_s = from_s;
    trace->from_moment_s = efi_calendar_moment(scenario->calendar, from_s);
    trace->without_stops = r->settings->without_stops;
    trace->on_calendar = scenario->calendar->is_given && !r->settings->without_calendar;
    trace->hours = r->settings->hours > 0.0 ? r->settings->hours
                                            : usual_hours(scenario, trace->on_calendar, from_s);
    return efi_trace_find_worked(r, scenario);
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
    efi_running running = {0};
    efi_lot_list list = {0};
    run r = {.settings = settings, .trace = trace, .arena = owned->arena, .line = &running.line};
    EF_TRY(lay_stretch(&r, scenario));
    ef_status status = EF_OK;
    if (settings->lots && scenario->line_count > 1) {
        status = efi_trace_run_lines(&r, scenario, reason);
    } else if (settings->lots) {
        status = run_list(&r, &list, scenario, reason);
    } else {
        status = efi_running_build(&running, owned->arena, scenario, settings->crop);
        if (status == EF_OK)
            status = run_line(&r, &running, reason);
    }
    efi_running_free(&running);
    efi_lot_list_free(&list);
    efi_trace_free_run(&r);
    return status;
}

static bool is_line(const ef_scenario *scenario, const ef_trace_settings *settings, int k)
{
    return scenario->line_count < 2 || !settings->order_lines ||
           (settings->order_lines[k] >= 0 && settings->order_lines[k] < scenario->line_count);
}

static bool order_exists(const ef_scenario *scenario, const ef_trace_settings *settings)
{
    bool exists = !settings->order || settings->order_count > 0;
    for (int k = 0; settings->order && k < settings->order_count; k++)
        exists = exists && settings->order[k] >= 0 && settings->order[k] < scenario->lot_count &&
                 is_line(scenario, settings, k);
    return exists;
}

ef_status ef_trace_run(const ef_scenario *scenario, const ef_trace_settings *settings, ef_trace **trace,
                       char **reason)
{
    const bool in_range = settings->hours >= 0.0 && settings->hours <= MOST_HOURS &&
                          settings->most_events >= 0 && settings->from_moment_s >= FIRST_MOMENT &&
                          settings->from_moment_s <= LAST_MOMENT;
    if (settings->crop < 0 || settings->crop >= scenario->crop_count || !in_range ||
        !order_exists(scenario, settings))
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
