/* SPDX-License-Identifier: GPL-3.0-or-later
 * The shift: replications of the line of one crop, their statistics, where the hours go, what to mend first.
 */
#include "answers/shift/shift.h"
#include "base/date.h"
#include "base/locale.h"
#include "base/threads.h"

#include <string.h>

enum {
    MOST_RUNS = 1000000,
    MOST_DAYS = 366,
    MOST_SHIFTS = 20000000, /* of all runs together */
    USUAL_SHIFTS = 2000,
    USUAL_STRETCHES = 200,
    PRECISE = 50,          /* so many times the usual, where a precision is asked for and no number of runs */
    MOST_ENVELOPES = 1000, /* enough for a picture */
    GRID = 61
};

typedef struct owned_shift {
    ef_shift shift; /* first, so that the public pointer is the owned one */
    efi_arena *arena;
} owned_shift;

ef_shift_settings ef_shift_defaults(void)
{
    return (ef_shift_settings){.seed = 1, .remedies = true};
}

const char *ef_shift_hours_word(ef_shift_hours hours)
{
    static const char *const words[] = {
#define WORD(name, word, meaning) word,
        EF_SHIFT_HOURS_LIST(WORD)
#undef WORD
    };
    return (size_t)hours < EF_COUNT(words) ? words[hours] : "";
}

const char *ef_shift_hours_meaning(ef_shift_hours hours)
{
    static const char *const meanings[] = {
#define MEANING(name, word, meaning) meaning,
        EF_SHIFT_HOURS_LIST(MEANING)
#undef MEANING
    };
    return (size_t)hours < EF_COUNT(meanings) ? meanings[hours] : "";
}

/* ---- what to run ----------------------------------------------------------------------------------------
 */

/* The intakes, then the outlets. */
static ef_status find_streams(efi_shift_run *r)
{
    const efi_network *network = &r->running.plant.network;
    const size_t stations = (size_t)network->stations;
    int *stream_of = efi_arena_get(r->arena, stations, sizeof *stream_of);
    bool *counts = efi_arena_get(r->arena, stations, sizeof *counts);
    const char **outlets = efi_arena_get(r->arena, stations, sizeof *outlets);
    bool *is_product = efi_arena_get(r->arena, stations, sizeof *is_product);
    if (!stream_of || !counts || !outlets || !is_product)
        return EF_MEMORY;
    for (int pass = 0; pass < 2; pass++) {
        for (int n = 0; n < network->stations; n++) {
            if (network->station[n].kind != (pass == 0 ? EFI_NETWORK_INTAKE : EFI_NETWORK_OUTLET))
                continue;
            const bool product = pass == 1 && efi_shift_station_of(r, n)->product;
            counts[r->replicas.streams] = product;
            stream_of[r->replicas.streams++] = n;
            if (pass == 1) {
                is_product[r->shift->outlet_count] = product;
                outlets[r->shift->outlet_count++] = network->station[n].name;
            }
        }
    }
    r->replicas.stream_of = stream_of;
    r->replicas.counts = counts;
    r->shift->outlets = outlets;
    r->shift->is_product = is_product;
    return EF_OK;
}

static ef_status take_memory(efi_shift_run *r)
{
    efi_replicas *replicas = &r->replicas;
    const size_t shifts = (size_t)replicas->runs * (size_t)r->plan.period_count;
    const size_t levels = (size_t)r->watch.grid * (size_t)r->watch.bins;
    const int most = MOST_ENVELOPES / r->plan.parts;
    replicas->envelope_runs = replicas->runs < most ? replicas->runs : most;
    r->means = efi_arena_get(r->arena, (size_t)replicas->network->stations, sizeof *r->means);
    replicas->tonnes = efi_arena_get(r->arena, (size_t)replicas->streams * shifts, sizeof *replicas->tonnes);
    replicas->stock_t = efi_arena_get(r->arena, shifts, sizeof *replicas->stock_t);
    replicas->chokes = efi_arena_get(r->arena, (size_t)replicas->runs, sizeof *replicas->chokes);
    replicas->level_t = efi_new((size_t)replicas->envelope_runs * levels, sizeof *replicas->level_t);
    replicas->means = r->means;
    return r->means && replicas->chokes && replicas->tonnes && replicas->stock_t && replicas->level_t
               ? EF_OK
               : EF_MEMORY;
}

/* A sentence about settings that cannot be; left alone without memory. */
static ef_status refuse(efi_text *words, char **reason)
{
    if (reason && !words->failed)
        *reason = words->bytes;
    else
        efi_text_free(words);
    return EF_USAGE;
}

/* What one run is, and the network for it. */
static ef_status lay_plan(efi_shift_run *r, char **reason)
{
    const ef_shift_settings *settings = r->settings;
    const bool weeks = r->scenario->calendar->is_given && !settings->without_calendar;
    const ef_status status = weeks ? efi_shift_plan_weeks(&r->plan, r->arena, &r->running.line, settings)
                                   : efi_shift_plan_shifts(&r->plan, r->arena, &r->running, settings);
    if (status == EF_USAGE) {
        efi_text words = {0};
        efi_text_addf(&words, "no shift begins in the %d day%s from ", r->plan.days,
                      r->plan.days == 1 ? "" : "s");
        efi_date_add(&words, r->plan.from_day);
        return refuse(&words, reason);
    }
    EF_TRY(status);
    const efi_shift_plan *plan = &r->plan;
    const double last_h = plan->periods[plan->period_count - 1].to_h;
    const double counted_h = plan->parts * plan->counted_h;
    const double end_h = plan->warm_up_h + (last_h > counted_h ? last_h : counted_h);
    const efi_plant_options options = {
        .on_calendar = plan->on_calendar, .from_s = plan->from_s, .hours = end_h};
    EF_TRY(efi_running_lay(&r->running, r->arena, &options));
    efi_trouble trouble;
    const ef_status checked = efi_network_check(&r->running.plant.network, &trouble);
    if (checked == EF_SCENARIO)
        efi_running_explain(&r->running.plant.network, &trouble, reason);
    return checked == EF_SCENARIO ? EF_NO_ANSWER : checked;
}

static int find_runs(const ef_shift_settings *settings, const efi_shift_plan *plan)
{
    if (settings->runs > 0)
        return settings->runs;
    if (settings->shifts > 0) {
        const int runs = (settings->shifts + plan->period_count - 1) / plan->period_count;
        return runs < 2 ? 2 : runs;
    }
    const int usual = plan->on_calendar ? USUAL_STRETCHES : USUAL_SHIFTS / plan->parts;
    return settings->precision > 0.0 ? PRECISE * usual : usual;
}

static ef_status prepare(efi_shift_run *r, char **reason)
{
    const ef_shift_settings *settings = r->settings;
    EF_TRY(lay_plan(r, reason));
    const efi_shift_plan *plan = &r->plan;
    r->replicas = (efi_replicas){.network = &r->running.plant.network,
                                 .plan = plan,
                                 .watch = &r->watch,
                                 .seed = settings->seed,
                                 .runs = find_runs(settings, plan),
                                 .threads = settings->threads > 0 ? settings->threads
                                                                  : efi_threads_available(),
                                 .precision = settings->precision};
    if ((double)r->replicas.runs * plan->period_count > MOST_SHIFTS) {
        efi_text words = {0};
        efi_text_addf(&words, "%d runs of %d shifts each are more than the %d shifts that can be kept",
                      r->replicas.runs, plan->period_count, MOST_SHIFTS);
        return refuse(&words, reason);
    }
    EF_TRY(find_streams(r));
    r->grid = GRID;
    EF_TRY(
        efi_watch_plan_build(&r->watch, r->arena, r->replicas.network, plan->counted_h, GRID, plan->parts));
    return take_memory(r);
}

/* ---- the answer -----------------------------------------------------------------------------------------
 */

/* With fewer runs than there was room for, moves the tonnes of the streams together; the intakes are added
 * up. */
static ef_status keep_tonnes(efi_shift_run *r, int done)
{
    ef_shift *shift = r->shift;
    efi_replicas *replicas = &r->replicas;
    const size_t room = (size_t)replicas->runs * (size_t)r->plan.period_count;
    const size_t shifts = (size_t)done * (size_t)r->plan.period_count;
    const int intakes = replicas->streams - shift->outlet_count;
    for (int s = 1; s < intakes; s++)
        for (size_t i = 0; i < shifts; i++)
            replicas->tonnes[i] += replicas->tonnes[(size_t)s * room + i];
    double *outlet_t = replicas->tonnes + (size_t)intakes * shifts;
    for (int o = 0; o < shift->outlet_count; o++)
        memmove(outlet_t + (size_t)o * shifts, replicas->tonnes + (size_t)(intakes + o) * room,
                shifts * sizeof *outlet_t);
    replicas->runs = shift->runs = done;
    shift->intake_t = replicas->tonnes;
    shift->outlet_t = outlet_t;
    shift->stock_t = replicas->stock_t;
    if (shift->envelope_runs > done)
        shift->envelope_runs = done;
    r->product_t = efi_arena_get(r->arena, shifts, sizeof *r->product_t);
    r->sorted = efi_arena_get(r->arena, shifts, sizeof *r->sorted);
    if (!r->product_t || !r->sorted)
        return EF_MEMORY;
    efi_replicas_product(replicas, done, r->product_t);
    return EF_OK;
}

static void fill_balance(efi_shift_run *r)
{
    ef_shift *shift = r->shift;
    const efi_line *line = &r->running.line;
    double work_h = 0.0;
    for (int p = 0; p < shift->period_count; p++)
        work_h += shift->periods[p].work_h / shift->period_count;
    for (int i = 0; i < line->intake_count; i++)
        shift->balance_intake_t += r->running.model.rates[i] * work_h;
    for (int s = 0; s < line->station_count; s++)
        if (line->stations[s].of->product)
            shift->balance_product_t += efi_line_total(line, r->running.model.feeds +
                                                                 (size_t)s * (size_t)line->materials) *
                                        work_h;
}

static void fill_plan(efi_shift_run *r)
{
    ef_shift *shift = r->shift;
    shift->on_calendar = r->plan.on_calendar;
    shift->from_day = r->plan.from_day;
    shift->days = r->plan.days;
    shift->warm_up_h = r->plan.warm_up_h;
    shift->counted_h = r->plan.counted_h;
    shift->parts = r->plan.parts;
    shift->periods = r->plan.periods;
    shift->period_count = r->plan.period_count;
    shift->envelope_runs = r->replicas.envelope_runs;
}

static ef_status fill_choked(efi_shift_run *r)
{
    ef_shift *shift = r->shift;
    const efi_choke *first = NULL;
    for (int run = 0; run < shift->runs; run++) {
        const efi_choke *choke = &r->replicas.chokes[run];
        shift->choked_runs += choke->stations > 0;
        first = !first && choke->stations > 0 ? choke : first;
    }
    if (!first)
        return EF_OK;
    const char **names = efi_arena_get(r->arena, (size_t)first->stations, sizeof *names);
    if (!names)
        return EF_MEMORY;
    for (int i = 0; i < first->stations; i++)
        names[i] = r->running.plant.stations[first->station[i]].name;
    shift->choked = names;
    shift->choked_count = first->stations;
    return EF_OK;
}

static ef_status replicate(efi_shift_run *r, char **reason)
{
    efi_trouble trouble = {0};
    int done;
    const ef_status status = efi_replicas_run(&r->replicas, &done, &trouble);
    if (status == EF_NO_ANSWER)
        efi_running_explain(&r->running.plant.network, &trouble, reason);
    EF_TRY(status);
    return keep_tonnes(r, done);
}

static ef_status answer(efi_shift_run *r, char **reason)
{
    EF_TRY(efi_running_build(&r->running, r->arena, r->scenario, r->settings->crop));
    EF_TRY(prepare(r, reason));
    fill_plan(r);
    fill_balance(r);
    EF_TRY(replicate(r, reason));
    EF_TRY(fill_choked(r));
    EF_TRY(efi_shift_fill_groups(r));
    r->shift->precise = r->settings->precision > 0.0 && r->shift->reached <= r->settings->precision;
    EF_TRY(efi_shift_fill_accounts(r));
    efi_shift_fill_cost(r);
    EF_TRY(efi_shift_fill_levels(r));
    return r->settings->remedies ? efi_shift_fill_remedies(r) : EF_OK;
}

static ef_status run_crop(const ef_scenario *scenario, const ef_shift_settings *settings, owned_shift *owned,
                          char **reason)
{
    ef_shift *shift = &owned->shift;
    const efi_crop *crop = &scenario->crops[settings->crop];
    shift->plant = scenario->plant->name;
    shift->scenario_file = scenario->tree.sources[0].name;
    shift->crop = crop->name;
    shift->currency = scenario->currency;
    shift->trade_weight_tpbu = crop->trade_weight_tpbu.value;
    shift->seed = settings->seed;
    shift->precision = settings->precision;
    efi_shift_run *r = efi_arena_get(owned->arena, 1, sizeof *r);
    if (!r)
        return EF_MEMORY;
    r->scenario = scenario;
    r->settings = settings;
    r->shift = shift;
    r->arena = owned->arena;
    const ef_status status = answer(r, reason);
    efi_running_free(&r->running);
    efi_free(r->replicas.level_t);
    return status;
}

static bool in_range(const ef_scenario *scenario, const ef_shift_settings *settings)
{
    const bool runs = settings->runs == 0 || (settings->runs >= 2 && settings->runs <= MOST_RUNS);
    const bool shifts = settings->shifts == 0 ||
                        (settings->shifts > 0 && settings->shifts <= MOST_SHIFTS && settings->runs == 0);
    const bool precision = settings->precision >= 0.0 && settings->precision < 1.0;
    const bool days = settings->days >= 0 && settings->days <= MOST_DAYS;
    const bool weeks = (scenario->calendar->is_given && !settings->without_calendar) ||
                       (settings->days == 0 && !settings->has_from);
    return settings->crop >= 0 && settings->crop < scenario->crop_count && runs && shifts && precision &&
           days && weeks && settings->threads >= 0 && settings->least_warm_up_h >= 0.0;
}

ef_status ef_shift_run(const ef_scenario *scenario, const ef_shift_settings *settings, ef_shift **shift,
                       char **reason)
{
    if (!in_range(scenario, settings))
        return EF_USAGE;
    efi_locale locale;
    EF_TRY(efi_locale_enter(&locale));
    owned_shift *owned = efi_new(1, sizeof *owned);
    if (owned)
        owned->arena = efi_arena_new();
    const ef_status status = owned && owned->arena ? run_crop(scenario, settings, owned, reason) : EF_MEMORY;
    efi_locale_leave(&locale);
    if (status != EF_OK) {
        if (owned)
            ef_shift_free(&owned->shift);
        return status;
    }
    *shift = &owned->shift;
    return EF_OK;
}

void ef_shift_free(ef_shift *shift)
{
    if (!shift)
        return;
    owned_shift *owned = (owned_shift *)(void *)shift;
    efi_arena_free(owned->arena);
    efi_free(owned);
}
