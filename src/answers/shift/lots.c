/* SPDX-License-Identifier: GPL-3.0-or-later
 * A list of lots: what to run, and the statistics of all runs. */
#include "answers/shift/lots.h"
#include "base/locale.h"
#include "base/threads.h"

#include <math.h>
#include <string.h>

enum {
    MOST_RUNS = 100000,
    USUAL_RUNS = 200,
    ALIKE_RUNS = 2, /* without stops all runs are the same */
    MOST_YEARS = 10,
    MOST_KEPT = 100000000, /* tonnes of streams by shift, of all runs */
    MOST_STRETCH = 64      /* so many times the hours by the balance, and a list has no end */
};
/* Hours of work beyond those by the balance that are laid out at first. */
#define SPARE_H 50.0

typedef struct owned_lots {
    ef_shift_lots lots; /* first, so that the public pointer is the owned one */
    efi_arena *arena;
} owned_lots;

typedef struct run {
    const ef_scenario *scenario;
    const ef_shift_lots_settings *settings;
    ef_shift_lots *out;
    efi_arena *arena; /* of the answer */
    efi_lot_list list;
    efi_lots_watch_plan watch;
    efi_lots_runs runs;
    int64_t from_s; /* second of the calendar at which the list begins */
    efi_timetable time;
    double *scratch; /* shape [runs][whole periods, at least 1] */
    efi_lots_account *sum;
    bool is_late;
} run;

ef_shift_lots_settings ef_shift_lots_defaults(void)
{
    return (ef_shift_lots_settings){.seed = 1};
}

/* ---- the stretch ----------------------------------------------------------------------------------------
 */

/* Gives a sentence over, which it frees otherwise. */
static ef_status refuse(efi_text *words, char **reason)
{
    if (reason && !words->failed)
        *reason = words->bytes;
    else
        efi_text_free(words);
    return EF_NO_ANSWER;
}

static ef_status refuse_calendar(double work_h, char **reason)
{
    efi_text words = {0};
    efi_text_addf(&words,
                  "the calendar does not bring the %.0f hours of work that the list may take within %d years",
                  work_h, MOST_YEARS);
    return refuse(&words, reason);
}

/* The shifts that begin within the horizon. */
static ef_status lay_shifts(run *r, double horizon_h)
{
    const int64_t from_day_s = r->from_s - ((r->from_s % EFI_DAY_S) + EFI_DAY_S) % EFI_DAY_S;
    const ef_shift_settings weeks = {.days = (int)ceil(horizon_h / 24.0) + 2,
                                     .has_from = true,
                                     .from_day = r->scenario->calendar->start.value + from_day_s / EFI_DAY_S};
    efi_shift_plan plan;
    efi_line line = r->list.line;
    EF_TRY(efi_shift_plan_weeks(&plan, r->arena, &line, &weeks));
    const double zero_h = efi_hours_of(r->from_s - from_day_s);
    ef_shift_period *periods = efi_arena_get(r->arena, (size_t)plan.period_count, sizeof *periods);
    if (!periods)
        return EF_MEMORY;
    for (int p = 0; p < plan.period_count; p++) {
        ef_shift_period period = plan.periods[p];
        period.from_h = fmax(period.from_h - zero_h, 0.0);
        period.to_h -= zero_h;
        if (period.to_h > 0.0 && period.to_h <= horizon_h)
            periods[r->runs.periods_most++] = period;
    }
    r->runs.periods = periods;
    return EF_OK;
}

static ef_status lay_blocks(run *r, double horizon_h)
{
    const double shift_h = r->scenario->plant->shift_h.value;
    const int count = (int)floor(horizon_h / shift_h);
    ef_shift_period *periods = efi_arena_get(r->arena, (size_t)count, sizeof *periods);
    if (!periods)
        return EF_MEMORY;
    for (int p = 0; p < count; p++)
        periods[p] = (ef_shift_period){
            .name = "shift", .from_h = p * shift_h, .to_h = (p + 1) * shift_h, .work_h = shift_h};
    r->runs.periods = periods;
    r->runs.periods_most = count;
    return EF_OK;
}

/* Lays calendar, shifts and network for so many hours of work. */
static ef_status lay(run *r, double work_h, char **reason)
{
    const efi_calendar *calendar = r->scenario->calendar;
    double horizon_h = work_h;
    if (r->out->on_calendar) {
        int64_t end_s;
        const int64_t most_s = (int64_t)MOST_YEARS * 366 * EFI_DAY_S;
        efi_timetable_free(&r->time);
        r->time = (efi_timetable){0};
        EF_TRY(efi_timetable_build(&r->time, calendar, EFI_WHOLE_PLANT, r->from_s, r->from_s + most_s));
        if (!efi_timetable_add_work(&r->time, r->from_s, efi_seconds_of(work_h), &end_s))
            return refuse_calendar(work_h, reason);
        horizon_h = efi_hours_of(end_s - r->from_s);
    }
    const efi_plant_options options = {.without_stops = r->settings->without_stops,
                                       .on_calendar = r->out->on_calendar,
                                       .from_s = r->from_s,
                                       .hours = horizon_h};
    EF_TRY(efi_lot_list_lay(&r->list, r->arena, &options, reason));
    r->runs.periods_most = 0;
    r->runs.horizon_h = horizon_h;
    EF_TRY(r->out->on_calendar ? lay_shifts(r, horizon_h) : lay_blocks(r, horizon_h));
    return efi_lots_watch_plan_build(&r->watch, r->arena, &r->list);
}

static ef_status take_memory(run *r)
{
    efi_lots_runs *runs = &r->runs;
    const size_t count = (size_t)runs->runs;
    const size_t lots = (size_t)r->list.count;
    const size_t outlets = (size_t)r->watch.outlets;
    runs->begin_h = efi_arena_get(r->arena, count * lots, sizeof *runs->begin_h);
    runs->end_h = efi_arena_get(r->arena, count * lots, sizeof *runs->end_h);
    runs->in_t = efi_arena_get(r->arena, count * lots, sizeof *runs->in_t);
    runs->outlet_t = efi_arena_get(r->arena, count * lots * outlets, sizeof *runs->outlet_t);
    runs->period_t = efi_arena_get(r->arena, count * (size_t)runs->periods_most * (1 + outlets),
                                   sizeof *runs->period_t);
    runs->whole = efi_arena_get(r->arena, count, sizeof *runs->whole);
    runs->sum = r->sum = efi_arena_get(r->arena, (size_t)r->list.plant.network.stations, sizeof *r->sum);
    const bool all = runs->begin_h && runs->end_h && runs->in_t && runs->outlet_t && runs->period_t &&
                     runs->whole && runs->sum;
    return all ? EF_OK : EF_MEMORY;
}

/* Is there room for the tonnes of all shifts? */
static ef_status check_room(const run *r, char **reason)
{
    efi_text words = {0};
    if ((double)r->runs.runs * r->runs.periods_most * (1 + r->watch.outlets) <= MOST_KEPT)
        return EF_OK;
    efi_text_addf(&words, "%d runs of up to %d shifts are more than can be kept; ask for fewer runs",
                  r->runs.runs, r->runs.periods_most);
    return refuse(&words, reason);
}

/* Runs the list, with more and more of the calendar laid out until all runs end within it. */
static ef_status simulate(run *r, char **reason)
{
    efi_trouble trouble = {0};
    const double least_h = efi_lot_list_least_h(&r->list) + SPARE_H;
    for (int stretch = 2; stretch <= MOST_STRETCH; stretch *= 2) {
        EF_TRY(lay(r, stretch * least_h, reason));
        EF_TRY(check_room(r, reason));
        EF_TRY(take_memory(r));
        const ef_status status = efi_lots_runs_run(&r->runs, &trouble);
        if (status == EF_NO_ANSWER)
            efi_running_explain(&r->list.plant.network, &trouble, reason);
        EF_TRY(status);
        if (!r->is_late)
            return EF_OK;
    }
    efi_text words = {0};
    efi_text_addf(
        &words,
        "the list does not end within %d times the hours that it takes without stops; see evenfeed trace "
        "--lots for what holds it up",
        MOST_STRETCH);
    return refuse(&words, reason);
}

/* ---- statistics -----------------------------------------------------------------------------------------
 */

ef_shift_spread efi_lots_spread(const double *values, int runs, double *sorted)
{
    ef_shift_stream stream;
    efi_shift_measure(values, runs, 1, sorted, &stream);
    return (ef_shift_spread){stream.mean_t, stream.p10_t, stream.p50_t, stream.p90_t};
}

static ef_shift_spread spread_of(const run *r, const double *values)
{
    return efi_lots_spread(values, r->runs.runs, r->scratch);
}

/* Hours of work in so many hours from the beginning of the list. */
static double worked_h(const run *r, double hours)
{
    if (!r->out->on_calendar)
        return hours;
    const double second = hours * EFI_HOUR_S;
    const int64_t whole_s = r->from_s + (int64_t)floor(second);
    const efi_time_interval *now = &r->time.items[efi_timetable_find(&r->time, whole_s)];
    const double rest_s = efi_time_works(now->state) ? second - floor(second) : 0.0;
    return ((double)efi_timetable_worked(&r->time, r->from_s, whole_s) + rest_s) / EFI_HOUR_S;
}

/* Means of one outlet or of all products of a lot over the runs. */
static double product_of(const run *r, int lot)
{
    double sum = 0.0;
    for (int i = 0; i < r->runs.runs; i++)
        for (int o = 0; o < r->watch.outlets; o++)
            if (r->out->is_product[o])
                sum += r->runs.outlet_t[((size_t)i * (size_t)r->list.count + (size_t)lot) *
                                            (size_t)r->watch.outlets +
                                        (size_t)o];
    return sum / r->runs.runs;
}

static void fill_lot(const run *r, int k, double *values, ef_shift_lot *out)
{
    const efi_listed_lot *listed = &r->list.lots[k];
    const efi_crop *crop = &r->scenario->crops[listed->of->crop];
    const size_t lots = (size_t)r->list.count;
    *out = (ef_shift_lot){.name = listed->of->name,
                          .crop = crop->name,
                          .trade_weight_tpbu = crop->trade_weight_tpbu.value,
                          .tonnes_t = listed->tonnes_t,
                          .balance_tph = listed->balance_tph,
                          .rule = listed->clean.rule ? listed->clean.rule->name : NULL,
                          .clean_h = listed->clean.clean_h,
                          .flush_t = listed->clean.flush_t,
                          .product_t = product_of(r, k)};
    for (size_t i = 0; i < (size_t)r->runs.runs; i++)
        values[i] = r->runs.begin_h[i * lots + (size_t)k];
    out->begin_h = spread_of(r, values);
    for (size_t i = 0; i < (size_t)r->runs.runs; i++)
        values[i] = r->runs.end_h[i * lots + (size_t)k];
    out->end_h = spread_of(r, values);
    for (size_t i = 0; i < (size_t)r->runs.runs; i++)
        values[i] = worked_h(r, r->runs.end_h[i * lots + (size_t)k]) -
                    worked_h(r, r->runs.begin_h[i * lots + (size_t)k]);
    out->work_h = spread_of(r, values);
    out->rate_tph = out->work_h.mean.value > 0.0 ? out->tonnes_t / out->work_h.mean.value : 0.0;
}

static ef_status fill_lots(run *r)
{
    ef_shift_lots *out = r->out;
    const size_t lots = (size_t)r->list.count;
    const size_t runs = (size_t)r->runs.runs;
    ef_shift_lot *lot = efi_arena_get(r->arena, lots, sizeof *lot);
    double *values = efi_arena_get(r->arena, runs, sizeof *values);
    double *work = efi_arena_get(r->arena, runs, sizeof *work);
    if (!lot || !values || !work)
        return EF_MEMORY;
    for (int k = 0; k < r->list.count; k++) {
        fill_lot(r, k, values, &lot[k]);
        out->tonnes_t += lot[k].tonnes_t;
        out->balance_h += lot[k].tonnes_t / lot[k].balance_tph;
        out->clean_h += lot[k].clean_h;
    }
    for (size_t i = 0; i < runs; i++) {
        values[i] = r->runs.end_h[i * lots + lots - 1];
        work[i] = worked_h(r, values[i]);
    }
    out->lots = lot;
    out->lot_count = r->list.count;
    out->list_h = spread_of(r, values);
    out->work_h = spread_of(r, work);
    out->run_work_h = work;
    out->rate_tph = out->tonnes_t / out->work_h.mean.value;
    out->begin_h = r->runs.begin_h;
    out->end_h = r->runs.end_h;
    out->in_t = r->runs.in_t;
    out->outlet_t = r->runs.outlet_t;
    return EF_OK;
}

static const efi_station *station_of(const run *r, int n)
{
    return r->list.line.stations[r->list.plant.line_station[n]].of;
}

static ef_status fill_outlets(run *r)
{
    const size_t outlets = (size_t)r->watch.outlets;
    const char **names = efi_arena_get(r->arena, outlets, sizeof *names);
    bool *product = efi_arena_get(r->arena, outlets, sizeof *product);
    if (!names || !product)
        return EF_MEMORY;
    for (int o = 0; o < r->watch.outlets; o++) {
        names[o] = r->list.plant.stations[r->watch.outlet[o]].name;
        product[o] = station_of(r, r->watch.outlet[o])->product;
    }
    r->out->outlets = names;
    r->out->is_product = product;
    r->out->outlet_count = r->watch.outlets;
    return EF_OK;
}

/* ---- shifts ---------------------------------------------------------------------------------------------
 */

/* Puts one stream of all counted shifts together, shape [runs][periods]; -1 is the intake. */
static void gather_shifts(const run *r, int outlet, double *values)
{
    const size_t streams = 1 + (size_t)r->watch.outlets;
    const size_t most = (size_t)r->runs.periods_most;
    const size_t per = (size_t)r->out->period_count;
    for (size_t i = 0; i < (size_t)r->runs.runs; i++)
        for (size_t p = 0; p < per; p++)
            values[i * per + p] = r->runs.period_t[(i * most + p) * streams + (size_t)(outlet + 1)];
}

static ef_status take_scratch(run *r)
{
    int whole = r->runs.periods_most;
    for (int i = 0; i < r->runs.runs; i++)
        whole = r->runs.whole[i] < whole ? r->runs.whole[i] : whole;
    r->out->periods = r->runs.periods;
    r->out->period_count = whole;
    r->scratch = efi_arena_get(r->arena, (size_t)r->runs.runs * (size_t)(whole > 0 ? whole : 1),
                               sizeof *r->scratch);
    return r->scratch ? EF_OK : EF_MEMORY;
}

static ef_status fill_shifts(run *r)
{
    ef_shift_lots *out = r->out;
    const size_t count = (size_t)out->runs * (size_t)out->period_count;
    const size_t outlets = (size_t)out->outlet_count;
    if (out->period_count == 0)
        return EF_OK;
    double *intake = efi_arena_get(r->arena, count, sizeof *intake);
    double *outlet = efi_arena_get(r->arena, count * outlets, sizeof *outlet);
    double *product = efi_arena_get(r->arena, count, sizeof *product);
    ef_shift_stream *streams = efi_arena_get(r->arena, 2 + outlets, sizeof *streams);
    if (!intake || !outlet || !product || !streams)
        return EF_MEMORY;
    gather_shifts(r, -1, intake);
    for (int o = 0; o < out->outlet_count; o++) {
        gather_shifts(r, o, outlet + (size_t)o * count);
        for (size_t i = 0; out->is_product[o] && i < count; i++)
            product[i] += outlet[(size_t)o * count + i];
    }
    for (int s = 0; s < 2 + out->outlet_count; s++) {
        const double *values = s == 0 ? intake : s == 1 ? product : outlet + (size_t)(s - 2) * count;
        efi_shift_measure(values, out->runs, out->period_count, r->scratch, &streams[s]);
        streams[s].name = s == 0 ? "intake" : s == 1 ? "product" : out->outlets[s - 2];
        streams[s].product = s == 1 || (s > 1 && out->is_product[s - 2]);
    }
    for (int p = 0; p < out->period_count; p++)
        out->shift_work_h += out->periods[p].work_h / out->period_count;
    out->shift_intake_t = intake;
    out->shift_outlet_t = outlet;
    out->streams = streams;
    out->stream_count = 2 + out->outlet_count;
    return EF_OK;
}

/* ---- hours ----------------------------------------------------------------------------------------------
 */

/* The first steady-feed station, else the machine or conveyor that runs at its rate longest. */
static void find_account(run *r, const int *network_station)
{
    ef_shift_lots *out = r->out;
    double most_h = -1.0;
    for (int s = 0; s < out->station_count; s++) {
        const efi_network_station *of = &r->list.plant.stations[network_station[s]];
        const bool works = of->kind == EFI_NETWORK_MACHINE || of->kind == EFI_NETWORK_CONVEYOR;
        if (of->steady.is_steady) {
            out->account = s;
            return;
        }
        if (works && out->stations[s].hours[EF_SHIFT_FULL_RATE] > most_h) {
            out->account = s;
            most_h = out->stations[s].hours[EF_SHIFT_FULL_RATE];
        }
    }
}

static ef_status fill_hours(run *r)
{
    const efi_network *network = &r->list.plant.network;
    ef_shift_lots_station *stations = efi_arena_get(r->arena, (size_t)network->stations, sizeof *stations);
    int *of = efi_arena_get(r->arena, (size_t)network->stations, sizeof *of);
    if (!stations || !of)
        return EF_MEMORY;
    for (int n = 0; n < network->stations; n++) {
        const efi_network_station *station = &network->station[n];
        if (station->kind == EFI_NETWORK_BIN || station->kind == EFI_NETWORK_SPLIT)
            continue;
        ef_shift_lots_station *out = &stations[r->out->station_count];
        of[r->out->station_count++] = n;
        *out = (ef_shift_lots_station){.name = station->name,
                                       .planned_h = r->sum[n].planned_h / r->runs.runs,
                                       .taken_t = r->sum[n].taken_t / r->runs.runs,
                                       .steady_feed = station->steady.is_steady};
        for (int h = 0; h < EF_SHIFT_HOURS_COUNT; h++)
            out->hours[h] = r->sum[n].hours[h] / r->runs.runs;
    }
    r->out->stations = stations;
    find_account(r, of);
    return EF_OK;
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

static void fill_frame(run *r)
{
    ef_shift_lots *out = r->out;
    const ef_scenario *scenario = r->scenario;
    out->plant = scenario->plant->name;
    out->scenario_file = scenario->tree.sources[0].name;
    out->seed = r->settings->seed;
    out->by_plan = r->settings->lots != NULL;
    out->left_out = r->list.on_line < 0 ? r->list.left_out : 0; /* of the plant as a whole */
    out->line = r->list.on_line < 0 ? NULL : scenario->lines[r->list.on_line].name;
    out->without_stops = r->settings->without_stops;
    out->line_clear = r->list.is_line_clear;
    out->cleared_after_all = r->list.is_cleared_after_all;
    out->teams = scenario->season->teams;
    out->has_batches = r->list.has_batches;
    out->has_loads = r->list.has_loads;
    out->from_moment_s = out->on_calendar ? efi_calendar_moment(scenario->calendar, r->from_s) : 0;
    out->runs = r->runs.runs;
}

/* The stations that the line shares with others. */
static ef_status fill_parts(run *r)
{
    const efi_network *network = &r->list.plant.network;
    ef_shift_lots_part *parts = efi_arena_get(r->arena, (size_t)network->stations, sizeof *parts);
    if (!parts)
        return EF_MEMORY;
    for (int n = 0; n < network->stations; n++) {
        ef_shift_lots_part *part = &parts[r->out->part_count];
        part->station = network->station[n].name;
        r->out->part_count += efi_lot_list_shares(&r->list, n, &part->least, &part->most);
    }
    r->out->parts = parts;
    return EF_OK;
}

static ef_status answer(run *r, const efi_lots_one *one, char **reason)
{
    const ef_shift_lots_settings *settings = r->settings;
    const efi_calendar *calendar = r->scenario->calendar;
    EF_TRY(efi_lot_list_build(&r->list, r->arena, r->scenario, one->line, one->order, one->count, reason));
    r->out->on_calendar = calendar->is_given && !settings->without_calendar;
    const int64_t day_s = settings->has_from ? (settings->from_day - calendar->start.value) * EFI_DAY_S : 0;
    r->from_s = efi_calendar_next_work(calendar, day_s);
    r->runs = (efi_lots_runs){.list = &r->list,
                              .watch = &r->watch,
                              .seed = settings->seed,
                              .runs = settings->without_stops ? ALIKE_RUNS
                                      : settings->runs > 0    ? settings->runs
                                                              : USUAL_RUNS,
                              .threads = settings->threads > 0 ? settings->threads : efi_threads_available(),
                              .has_past = true,
                              .is_late = &r->is_late};
    EF_TRY(simulate(r, reason));
    fill_frame(r);
    EF_TRY(fill_parts(r));
    EF_TRY(fill_outlets(r));
    EF_TRY(take_scratch(r));
    EF_TRY(fill_lots(r));
    EF_TRY(fill_shifts(r));
    return fill_hours(r);
}

ef_status efi_lots_run_one(const efi_lots_one *one, efi_arena *arena, ef_shift_lots *out, char **reason)
{
    run *r = efi_arena_get(arena, 1, sizeof *r);
    if (!r)
        return EF_MEMORY;
    r->scenario = one->scenario;
    r->settings = one->settings;
    r->out = out;
    r->arena = arena;
    const ef_status status = answer(r, one, reason);
    efi_lot_list_free(&r->list);
    efi_timetable_free(&r->time);
    return status;
}

static ef_status run_all(const ef_scenario *scenario, const ef_shift_lots_settings *settings,
                         owned_lots *owned, char **reason)
{
    const efi_lots_one one = {.scenario = scenario,
                              .settings = settings,
                              .line = -1,
                              .order = settings->lots,
                              .count = settings->lot_count};
    return scenario->line_count > 1
               ? efi_lots_run_lines(scenario, settings, owned->arena, &owned->lots, reason)
               : efi_lots_run_one(&one, owned->arena, &owned->lots, reason);
}

static bool is_line(const ef_scenario *scenario, const ef_shift_lots_settings *settings, int k)
{
    return scenario->line_count < 2 || !settings->lines ||
           (settings->lines[k] >= 0 && settings->lines[k] < scenario->line_count);
}

static bool in_range(const ef_scenario *scenario, const ef_shift_lots_settings *settings)
{
    const bool runs = settings->runs == 0 || (settings->runs >= 2 && settings->runs <= MOST_RUNS);
    const bool from = !settings->has_from || (scenario->calendar->is_given && !settings->without_calendar);
    bool lots = !settings->lots || settings->lot_count > 0;
    for (int k = 0; settings->lots && k < settings->lot_count; k++)
        lots = lots && settings->lots[k] >= 0 && settings->lots[k] < scenario->lot_count &&
               is_line(scenario, settings, k);
    return runs && from && lots && settings->threads >= 0;
}

ef_status ef_shift_lots_run(const ef_scenario *scenario, const ef_shift_lots_settings *settings,
                            ef_shift_lots **lots, char **reason)
{
    if (!in_range(scenario, settings))
        return EF_USAGE;
    efi_locale locale;
    EF_TRY(efi_locale_enter(&locale));
    owned_lots *owned = efi_new(1, sizeof *owned);
    if (owned)
        owned->arena = efi_arena_new();
    const ef_status status = owned && owned->arena ? run_all(scenario, settings, owned, reason) : EF_MEMORY;
    efi_locale_leave(&locale);
    if (status != EF_OK) {
        if (owned)
            ef_shift_lots_free(&owned->lots);
        return status;
    }
    *lots = &owned->lots;
    return EF_OK;
}

void ef_shift_lots_free(ef_shift_lots *lots)
{
    if (!lots)
        return;
    owned_lots *owned = (owned_lots *)(void *)lots;
    efi_arena_free(owned->arena);
    efi_free(owned);
}
