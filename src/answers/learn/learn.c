/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answers/learn/learn.h"
#include "base/locale.h"
#include "model/beside.h"

#include <math.h>
#include <string.h>

/* The answer and its memory. */
typedef struct holder {
    ef_learn learn;
    efi_arena *arena;
} holder;

ef_learn_settings ef_learn_defaults(void)
{
    return (ef_learn_settings){.seed = 1, .resamples = 400};
}

void *efi_learn_get(const efi_learn_run *run, size_t count, size_t size)
{
    return efi_arena_get(run->arena, count, size);
}

/* ---- hours ----------------------------------------------------------------------------------------------
 */

int64_t efi_learn_elapsed(const efi_learn_run *run, int64_t from_s, int64_t to_s)
{
    const int64_t elapsed_s = efi_clock_elapsed((efi_clock_rule)run->settings->clock_rule, from_s, to_s,
                                                NULL);
    return elapsed_s > 0 ? elapsed_s : 0;
}

static int64_t calendar_second(const efi_learn_run *run, int64_t moment_s)
{
    const int64_t second = moment_s - run->scenario->calendar->start.value * EFI_DAY_S;
    if (second < run->table.from_s)
        return run->table.from_s;
    return second > run->table.to_s ? run->table.to_s : second;
}

int64_t efi_learn_calendar_worked(const efi_learn_run *run, int64_t from_s, int64_t to_s)
{
    return from_s >= to_s
               ? 0
               : efi_timetable_worked(&run->table, calendar_second(run, from_s), calendar_second(run, to_s));
}

bool efi_learn_has_running(const efi_learn_run *run, int station)
{
    return run->table.count > 0 || run->spans[station].count > 0;
}

double efi_learn_worked(const efi_learn_run *run, int station, int64_t from_s, int64_t to_s)
{
    const efi_learn_spans *spans = &run->spans[station];
    const bool by_calendar = run->table.count > 0;
    if (from_s >= to_s)
        return 0.0;
    if (!by_calendar && spans->count == 0)
        return (double)efi_learn_elapsed(run, from_s, to_s) / EFI_HOUR_S;
    int64_t worked_s = by_calendar ? efi_learn_calendar_worked(run, from_s, to_s) : 0;
    for (int i = 0; i < spans->count; i++) {
        const int64_t a = spans->items[i].from_s > from_s ? spans->items[i].from_s : from_s;
        const int64_t b = spans->items[i].to_s < to_s ? spans->items[i].to_s : to_s;
        if (a >= b)
            continue;
        if (by_calendar && !spans->items[i].flows)
            worked_s -= efi_learn_calendar_worked(run, a, b);
        if (!by_calendar && spans->items[i].flows)
            worked_s += efi_learn_elapsed(run, a, b);
    }
    return (double)worked_s / EFI_HOUR_S;
}

double efi_learn_closed(const efi_learn_run *run, int64_t from_s, int64_t to_s)
{
    int64_t seconds[EFI_TIME_STATES];
    if (run->table.count == 0 || from_s >= to_s)
        return 0.0;
    efi_timetable_totals(&run->table, calendar_second(run, from_s), calendar_second(run, to_s), seconds);
    return (double)seconds[EFI_TIME_CLOSED] / EFI_HOUR_S;
}

/* ---- what the logs watch --------------------------------------------------------------------------------
 */

static ef_status read_file(const ef_learn_file *file, ef_learn_file *read, char **bytes, const char **failed)
{
    *read = *file;
    if (!file->name || file->bytes)
        return EF_OK;
    const ef_status status = efi_file_read(file->name, bytes, &read->length);
    read->bytes = *bytes;
    if (status != EF_OK && failed)
        *failed = file->name;
    return status;
}

static efi_log log_of(const efi_learn_run *run)
{
    return (efi_log){.scenario = run->scenario,
                     .crop = run->settings->crop,
                     .arena = run->arena,
                     .diags = run->diags,
                     .rule = (efi_clock_rule)run->settings->clock_rule};
}

/* The time watched: that of the log of stops, without one that of the totals, unless it is told; totals
 * outside of what is told are not used. */
static void find_window(efi_learn_run *run)
{
    const ef_learn_settings *settings = run->settings;
    ef_learn *learn = run->learn;
    const bool by_stops = run->has_stops;
    learn->since_s = by_stops ? run->stops.first_s : run->totals.first_s;
    learn->until_s = by_stops ? run->stops.last_s : run->totals.last_s;
    if (settings->has_since)
        learn->since_s = settings->since_s;
    if (settings->has_until)
        learn->until_s = settings->until_s;
    for (int i = 0; i < run->totals.count; i++) {
        efi_log_total *total = &run->totals.items[i];
        total->used = total->used && !(settings->has_since && total->from_s < settings->since_s) &&
                      !(settings->has_until && total->to_s > settings->until_s);
    }
    learn->clock_h = (double)efi_learn_elapsed(run, learn->since_s, learn->until_s) / EFI_HOUR_S;
}

/* The calendar from the first to the last moment of both logs. */
static ef_status build_table(efi_learn_run *run)
{
    const efi_calendar *calendar = run->scenario->calendar;
    int64_t from_s = run->learn->since_s;
    int64_t to_s = run->learn->until_s;
    /* the shift of a plant that names none is no evidence about a real one */
    if (calendar->shift_count == 0 || !calendar->shifts[0].origin.key)
        return EF_OK;
    if (run->has_totals && run->totals.last_s >= run->totals.first_s) {
        from_s = run->totals.first_s < from_s ? run->totals.first_s : from_s;
        to_s = run->totals.last_s > to_s ? run->totals.last_s : to_s;
    }
    const int64_t start_s = calendar->start.value * EFI_DAY_S;
    EF_TRY(efi_timetable_build(&run->table, calendar, EFI_WHOLE_PLANT, from_s - start_s, to_s - start_s + 1));
    run->learn->has_calendar = true;
    return EF_OK;
}

/* Of each station the times at which something passed, by one of its scales: that of its feed if there is
 * one. */
static ef_status find_spans(efi_learn_run *run)
{
    const size_t stations = (size_t)run->scenario->station_count;
    run->spans = efi_learn_get(run, stations, sizeof *run->spans);
    int *scale = efi_learn_get(run, stations, sizeof *scale);
    if (!run->spans || !scale)
        return EF_MEMORY;
    for (size_t s = 0; s < stations; s++)
        scale[s] = EFI_MOST_DISCHARGES;
    for (int i = 0; i < run->totals.count; i++) {
        const efi_log_total *total = &run->totals.items[i];
        if (total->used && total->discharge < scale[total->station])
            scale[total->station] = total->discharge;
    }
    for (size_t s = 0; s < stations; s++) {
        efi_learn_spans *spans = &run->spans[s];
        for (int i = 0; i < run->totals.count; i++)
            spans->count += run->totals.items[i].used && run->totals.items[i].station == (int)s &&
                            run->totals.items[i].discharge == scale[s];
        spans->items = efi_learn_get(run, (size_t)spans->count, sizeof *spans->items);
        if (!spans->items)
            return EF_MEMORY;
        spans->count = 0;
        for (int i = 0; i < run->totals.count; i++) {
            const efi_log_total *total = &run->totals.items[i];
            if (total->used && total->station == (int)s && total->discharge == scale[s])
                spans->items[spans->count++] = (efi_learn_span){total->from_s, total->to_s,
                                                                total->tonnes > 0.0};
        }
    }
    return EF_OK;
}

/* ---- all of it ------------------------------------------------------------------------------------------
 */

/* The name under which the answer tells of a log; NULL without one. */
static ef_status keep_name(const efi_learn_run *run, const ef_learn_file *file, const char **name)
{
    *name = file->name ? efi_arena_text(run->arena, file->name, strlen(file->name)) : NULL;
    return file->name && !*name ? EF_MEMORY : EF_OK;
}

static ef_status read_logs(efi_learn_run *run, const ef_learn_file *stops, const ef_learn_file *totals)
{
    const int errors = efi_diags_errors(run->diags);
    run->has_stops = stops->name != NULL;
    run->has_totals = totals->name != NULL;
    run->stops.log = run->totals.log = log_of(run);
    EF_TRY(keep_name(run, stops, &run->learn->stops_file));
    EF_TRY(keep_name(run, totals, &run->learn->totals_file));
    if (run->has_stops)
        EF_TRY(efi_stop_log_read(&run->stops, stops));
    if (run->has_totals)
        EF_TRY(efi_total_log_read(&run->totals, totals));
    return efi_diags_errors(run->diags) > errors ? EF_SCENARIO : EF_OK;
}

static void count_disagreements(ef_learn *learn)
{
    for (int s = 0; s < learn->station_count; s++)
        for (int i = 0; i < learn->stations[s].stop_count; i++) {
            const ef_learn_stop *stop = &learn->stations[s].stops[i];
            learn->disagreements += stop->between.mean_disagrees + stop->between.form_disagrees +
                                    stop->lasts.mean_disagrees + stop->lasts.form_disagrees;
        }
    for (int i = 0; i < learn->scale_count; i++)
        learn->disagreements += learn->scales[i].capacity_disagrees;
    for (int i = 0; i < learn->share_count; i++)
        learn->disagreements += learn->shares[i].disagrees;
}

static ef_status learn_all(efi_learn_run *run, const ef_learn_file *stops, const ef_learn_file *totals)
{
    EF_TRY(read_logs(run, stops, totals));
    find_window(run);
    if (run->learn->since_s >= run->learn->until_s)
        return EF_USAGE;
    EF_TRY(build_table(run));
    run->learn->worked_h = run->learn->has_calendar ? (double)efi_learn_calendar_worked(
                                                          run, run->learn->since_s, run->learn->until_s) /
                                                          EFI_HOUR_S
                                                    : run->learn->clock_h;
    EF_TRY(find_spans(run));
    if (run->has_stops)
        EF_TRY(efi_learn_times(run));
    if (run->has_totals)
        EF_TRY(efi_learn_totals(run));
    count_disagreements(run->learn);
    EF_TRY(efi_learn_suggest(run));
    return efi_diags_failed(run->diags) ? EF_MEMORY : EF_OK;
}

static bool is_valid(const ef_scenario *scenario, const ef_learn_settings *settings)
{
    return (settings->stops.name || settings->totals.name) && settings->crop >= 0 &&
           settings->crop < scenario->crop_count && settings->resamples >= 0 &&
           settings->resamples <= 100000 && settings->clock_rule >= EFI_CHANGE_NONE &&
           settings->clock_rule <= EFI_CHANGE_US;
}

static ef_status solve(const ef_scenario *scenario, const ef_learn_settings *settings, ef_diags *diags,
                       const ef_learn_file *stops, const ef_learn_file *totals, ef_learn **learn)
{
    efi_arena *arena = efi_arena_new();
    holder *h = arena ? efi_arena_get(arena, 1, sizeof *h) : NULL;
    if (!h) {
        efi_arena_free(arena);
        return EF_MEMORY;
    }
    h->arena = arena;
    const efi_crop *crop = &scenario->crops[settings->crop];
    h->learn = (ef_learn){.plant = scenario->plant->name,
                          .scenario_file = scenario->tree.sources[0].name,
                          .crop = crop->name,
                          .trade_weight_tpbu = crop->trade_weight_tpbu.given ? crop->trade_weight_tpbu.value
                                                                             : 0.0,
                          .clock_rule = settings->clock_rule,
                          .seed = settings->seed,
                          .resamples = settings->resamples,
                          .scenario_stations = scenario->station_count};
    efi_learn_run run = {
        .scenario = scenario, .settings = settings, .arena = arena, .diags = diags, .learn = &h->learn};
    const ef_status status = learn_all(&run, stops, totals);
    efi_timetable_free(&run.table);
    efi_diags_sort(diags);
    if (status == EF_OK)
        *learn = &h->learn;
    else
        efi_arena_free(arena);
    return status;
}

ef_status ef_learn_solve(const ef_scenario *scenario, const ef_learn_settings *settings, ef_diags *diags,
                         ef_learn **learn, const char **failed)
{
    char *bytes[2] = {NULL, NULL};
    ef_learn_file stops = {0};
    ef_learn_file totals = {0};
    efi_locale locale;
    if (!is_valid(scenario, settings))
        return EF_USAGE;
    EF_TRY(efi_locale_enter(&locale));
    ef_status status = read_file(&settings->stops, &stops, &bytes[0], failed);
    if (status == EF_OK)
        status = read_file(&settings->totals, &totals, &bytes[1], failed);
    if (status == EF_OK)
        status = solve(scenario, settings, diags, &stops, &totals, learn);
    efi_free(bytes[0]);
    efi_free(bytes[1]);
    efi_locale_leave(&locale);
    return status;
}

void ef_learn_free(ef_learn *learn)
{
    if (learn)
        efi_arena_free(((holder *)learn)->arena);
}
