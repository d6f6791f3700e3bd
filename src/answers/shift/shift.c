/* SPDX-License-Identifier: GPL-3.0-or-later
 * The shift: replications of the line of one crop, their statistics, and what to mend first. */
#include "answers/shift/shift.h"
#include "base/locale.h"
#include "base/threads.h"
#include "shared/statistics/estimate.h"
#include "shared/steady/steady.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    MOST_RUNS = 1000000,
    CLASSES = 12,
    WARM_UP_SHIFTS = 3 /* so that the levels at the start are forgotten */
};
#define CONFIDENCE 0.95

typedef struct owned_shift {
    ef_shift shift; /* first, so that the public pointer is the owned one */
    efi_arena *arena;
} owned_shift;

typedef struct run {
    const ef_shift_settings *settings;
    ef_shift *shift;
    efi_arena *arena;
    const efi_line *line;
    const efi_steady_model *model;
    efi_plant_network plant;
    int threads;
    int streams; /* intakes, then outlets */
    int intake_streams;
    int *stream_of;     /* shape [streams]: station of the network */
    double *tonnes;     /* shape [streams][runs] */
    double *product_t;  /* shape [runs] */
    double *scratch;    /* shape [runs] */
    efi_account *means; /* shape [stations of the network] */
} run;

ef_shift_settings ef_shift_defaults(void)
{
    return (ef_shift_settings){.runs = 2000, .seed = 1, .remedies = true};
}

static const efi_station *station_of(const run *r, int n)
{
    return r->line->stations[r->plant.line_station[n]].of;
}

/* ---- statistics -----------------------------------------------------------------------------------------
 */

static int rising(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

static ef_shift_estimate public_of(efi_estimate estimate)
{
    return (ef_shift_estimate){estimate.value, estimate.low, estimate.high};
}

static void fill_stream(const run *r, const char *name, bool product, const double *tonnes,
                        ef_shift_stream *out)
{
    const int runs = r->settings->runs;
    *out = (ef_shift_stream){.name = name, .product = product};
    out->mean_t = public_of(efi_estimate_mean(tonnes, runs, CONFIDENCE));
    memcpy(r->scratch, tonnes, (size_t)runs * sizeof *tonnes);
    qsort(r->scratch, (size_t)runs, sizeof *r->scratch, rising);
    out->p10_t = public_of(efi_estimate_quantile(r->scratch, runs, 0.1, CONFIDENCE));
    out->p50_t = public_of(efi_estimate_quantile(r->scratch, runs, 0.5, CONFIDENCE));
    out->p90_t = public_of(efi_estimate_quantile(r->scratch, runs, 0.9, CONFIDENCE));
}

/* Adds the tonnes of some streams up, shift by shift. */
static void add_streams(const run *r, int from, int to, bool products, double *sum)
{
    const int runs = r->settings->runs;
    memset(sum, 0, (size_t)runs * sizeof *sum);
    for (int s = from; s < to; s++) {
        if (products && !station_of(r, r->stream_of[s])->product)
            continue;
        for (int i = 0; i < runs; i++)
            sum[i] += r->tonnes[(size_t)s * (size_t)runs + (size_t)i];
    }
}

static ef_status fill_histogram(run *r)
{
    ef_shift *shift = r->shift;
    int *histogram = efi_arena_get(r->arena, CLASSES, sizeof *histogram);
    if (!histogram)
        return EF_MEMORY;
    double least = INFINITY;
    double most = 0.0;
    for (int i = 0; i < r->settings->runs; i++) {
        least = fmin(least, r->product_t[i]);
        most = fmax(most, r->product_t[i]);
    }
    shift->histogram_from_t = least;
    shift->histogram_width_t = (most - least) / CLASSES;
    for (int i = 0; i < r->settings->runs; i++) {
        const double place = most > least ? (r->product_t[i] - least) / (most - least) * CLASSES : 0.0;
        histogram[place < CLASSES ? (int)place : CLASSES - 1]++;
    }
    shift->histogram = histogram;
    shift->histogram_count = CLASSES;
    return EF_OK;
}

static ef_status fill_streams(run *r)
{
    ef_shift *shift = r->shift;
    const size_t runs = (size_t)r->settings->runs;
    ef_shift_stream *outlets = efi_arena_get(r->arena, (size_t)r->streams, sizeof *outlets);
    double *intake = efi_arena_get(r->arena, runs, sizeof *intake);
    if (!outlets || !intake)
        return EF_MEMORY;
    add_streams(r, 0, r->intake_streams, false, intake);
    add_streams(r, r->intake_streams, r->streams, true, r->product_t);
    fill_stream(r, "intake", false, intake, &shift->intake);
    fill_stream(r, "product", true, r->product_t, &shift->product);
    for (int s = r->intake_streams; s < r->streams; s++) {
        const efi_station *of = station_of(r, r->stream_of[s]);
        fill_stream(r, of->name, of->product, r->tonnes + (size_t)s * runs, &outlets[shift->outlet_count++]);
    }
    shift->outlets = outlets;
    shift->planning_rate_tph = shift->intake.mean_t.value / shift->shift_h;
    return fill_histogram(r);
}

/* ---- accounts -------------------------------------------------------------------------------------------
 */

/* The station whose account is the line's: the first steady-feed station, else the most loaded one. */
static int account_station(const run *r)
{
    int best = -1;
    double best_load = -1.0;
    for (int n = 0; n < r->plant.network.stations; n++) {
        const efi_network_station *of = &r->plant.stations[n];
        if (of->steady.is_steady)
            return n;
        const bool works = of->kind == EFI_NETWORK_MACHINE || of->kind == EFI_NETWORK_CONVEYOR;
        const double capacity = of->capacity_tph * of->machines;
        const double load = works && isfinite(capacity) ? r->means[n].in_t / capacity : -1.0;
        if (load > best_load) {
            best = n;
            best_load = load;
        }
    }
    return best;
}

/* Effectiveness by ISO 22400-2 (from memory): availability x performance x quality. Quality counts what went
 * back in warm-up as not good. */
static void fill_effectiveness(ef_shift *shift, const efi_network_station *of, const efi_account *mean)
{
    const double running_h = mean->state_h[EFI_STATE_FULL_RATE] + mean->state_h[EFI_STATE_SLOW] +
                             mean->state_h[EFI_STATE_WARM_UP];
    const double could_t = of->capacity_tph * of->machines * running_h;
    shift->availability = running_h / shift->shift_h;
    shift->performance = could_t > 0.0 ? mean->in_t / could_t : 0.0;
    shift->quality = mean->in_t > 0.0 ? 1.0 - mean->warm_up_t / mean->in_t : 0.0;
    shift->effectiveness = shift->availability * shift->performance * shift->quality;
}

static ef_status fill_accounts(run *r)
{
    ef_shift *shift = r->shift;
    const size_t stations = (size_t)r->plant.network.stations;
    ef_shift_station *out = efi_arena_get(r->arena, stations, sizeof *out);
    const char **states = efi_arena_get(r->arena, EFI_STATE_COUNT, sizeof *states);
    double *state_h = efi_arena_get(r->arena, stations * EFI_STATE_COUNT, sizeof *state_h);
    if (!out || !states || !state_h)
        return EF_MEMORY;
    for (int i = 0; i < EFI_STATE_COUNT; i++)
        states[i] = efi_state_text((efi_state)i);
    const int account = account_station(r);
    for (int n = 0; n < r->plant.network.stations; n++) {
        const efi_network_station *of = &r->plant.stations[n];
        if (of->kind == EFI_NETWORK_BIN)
            continue;
        double *own = state_h + (size_t)n * EFI_STATE_COUNT;
        memcpy(own, r->means[n].state_h, sizeof r->means[n].state_h);
        if (n == account) {
            shift->account = shift->station_count;
            fill_effectiveness(shift, of, &r->means[n]);
        }
        out[shift->station_count++] = (ef_shift_station){.name = of->name,
                                                         .state_h = own,
                                                         .taken_t = r->means[n].in_t,
                                                         .steady_feed = of->steady.is_steady,
                                                         .shortfall_t = r->means[n].shortfall_t,
                                                         .out_of_band_h = r->means[n].out_of_band_h};
    }
    shift->stations = out;
    shift->states = states;
    shift->state_count = EFI_STATE_COUNT;
    return EF_OK;
}

/* ---- replications ---------------------------------------------------------------------------------------
 */

static void explain(const run *r, const efi_trouble *trouble, char **reason)
{
    efi_text text = {0};
    efi_trouble_write(trouble, &r->plant.network, &text);
    if (reason && !text.failed)
        *reason = text.bytes;
    else
        efi_text_free(&text);
}

static ef_status replicate(const run *r, efi_account *means, char **reason)
{
    const efi_replicas replicas = {.network = &r->plant.network,
                                   .seed = r->settings->seed,
                                   .runs = r->settings->runs,
                                   .threads = r->threads,
                                   .warm_up_h = r->shift->warm_up_h,
                                   .shift_h = r->shift->shift_h,
                                   .streams = r->streams,
                                   .stream_of = r->stream_of,
                                   .tonnes = r->tonnes,
                                   .means = means};
    efi_trouble trouble = {0};
    const ef_status status = efi_replicas_run(&replicas, &trouble);
    if (status == EF_NO_ANSWER)
        explain(r, &trouble, reason);
    return status;
}

/* ---- remedies -------------------------------------------------------------------------------------------
 */

/* Runs the changed network on the same random numbers and fills in the gain against the runs as they are. */
static ef_status try_remedy(run *r, ef_shift_remedy *remedy, double *gains)
{
    EF_TRY(replicate(r, NULL, NULL));
    add_streams(r, r->intake_streams, r->streams, true, gains);
    for (int i = 0; i < r->settings->runs; i++)
        gains[i] -= r->product_t[i];
    remedy->gain_t = public_of(efi_estimate_mean(gains, r->settings->runs, CONFIDENCE));
    return EF_OK;
}

/* Halves the length of a stop, not below its lock-out. */
static efi_distribution halved(const efi_stop_mode *mode, bool *held)
{
    efi_distribution duration = mode->duration;
    double share = 0.5;
    const double mean = efi_distribution_mean(&duration);
    *held = mean * share < mode->lockout_h;
    if (*held)
        share = fmin(mode->lockout_h / mean, 1.0);
    if (duration.kind == EFI_LOGNORMAL)
        duration.a += log(share);
    else
        duration.a *= share;
    return duration;
}

static ef_status try_stops(run *r, int n, ef_shift_remedy *remedies, double *gains)
{
    efi_network_station *station = &r->plant.stations[n];
    efi_stop_mode *modes = efi_arena_get(r->arena, (size_t)station->modes, sizeof *modes);
    if (!modes)
        return EF_MEMORY;
    const efi_stop_mode *as_it_is = station->mode;
    for (int m = 0; m < station->modes; m++) {
        ef_shift_remedy *remedy = &remedies[r->shift->remedy_count++];
        *remedy = (ef_shift_remedy){.station = station->name, .stop = station_of(r, n)->stops.items[m].name};
        memcpy(modes, as_it_is, (size_t)station->modes * sizeof *modes);
        modes[m].duration = halved(&modes[m], &remedy->held_by_lockout);
        station->mode = modes;
        EF_TRY(try_remedy(r, remedy, gains));
    }
    station->mode = as_it_is;
    return EF_OK;
}

static ef_status try_bin(run *r, int n, ef_shift_remedy *remedies, double *gains)
{
    efi_network_station *station = &r->plant.stations[n];
    const efi_network_bin as_it_is = station->bin;
    ef_shift_remedy *remedy = &remedies[r->shift->remedy_count++];
    *remedy = (ef_shift_remedy){.station = station->name};
    station->bin.full_t *= 1.5;
    station->bin.start_t *= 1.5;
    station->bin.refill_t *= 1.5;
    const ef_status status = try_remedy(r, remedy, gains);
    station->bin = as_it_is;
    return status;
}

static int by_gain(const void *left, const void *right)
{
    const ef_shift_remedy *a = left;
    const ef_shift_remedy *b = right;
    if (a->gain_t.value != b->gain_t.value)
        return a->gain_t.value > b->gain_t.value ? -1 : 1;
    const int station = strcmp(a->station, b->station);
    return station ? station : strcmp(a->stop ? a->stop : "", b->stop ? b->stop : "");
}

static ef_status fill_remedies(run *r)
{
    int most = 0;
    for (int n = 0; n < r->plant.network.stations; n++)
        most += r->plant.stations[n].modes + (r->plant.stations[n].kind == EFI_NETWORK_BIN);
    ef_shift_remedy *remedies = efi_arena_get(r->arena, (size_t)most, sizeof *remedies);
    double *gains = efi_arena_get(r->arena, (size_t)r->settings->runs, sizeof *gains);
    if (!remedies || !gains)
        return EF_MEMORY;
    for (int n = 0; n < r->plant.network.stations; n++) {
        if (r->plant.stations[n].kind == EFI_NETWORK_BIN)
            EF_TRY(try_bin(r, n, remedies, gains));
        else if (r->plant.stations[n].modes > 0)
            EF_TRY(try_stops(r, n, remedies, gains));
    }
    qsort(remedies, (size_t)r->shift->remedy_count, sizeof *remedies, by_gain);
    r->shift->remedies = remedies;
    return EF_OK;
}

/* ---- the run --------------------------------------------------------------------------------------------
 */

static ef_status take_memory(run *r)
{
    const size_t stations = (size_t)r->plant.network.stations;
    const size_t runs = (size_t)r->settings->runs;
    r->stream_of = efi_arena_get(r->arena, stations, sizeof *r->stream_of);
    r->means = efi_arena_get(r->arena, stations, sizeof *r->means);
    if (!r->stream_of || !r->means)
        return EF_MEMORY;
    for (int pass = 0; pass < 2; pass++) {
        for (int n = 0; n < r->plant.network.stations; n++)
            if (r->plant.stations[n].kind == (pass == 0 ? EFI_NETWORK_INTAKE : EFI_NETWORK_OUTLET))
                r->stream_of[r->streams++] = n;
        r->intake_streams = pass == 0 ? r->streams : r->intake_streams;
    }
    r->tonnes = efi_arena_get(r->arena, (size_t)r->streams * runs, sizeof *r->tonnes);
    r->product_t = efi_arena_get(r->arena, runs, sizeof *r->product_t);
    r->scratch = efi_arena_get(r->arena, runs, sizeof *r->scratch);
    return r->tonnes && r->product_t && r->scratch ? EF_OK : EF_MEMORY;
}

static void fill_balance(run *r)
{
    const efi_steady_model *model = r->model;
    for (int i = 0; i < r->line->intake_count; i++)
        r->shift->balance_intake_t += model->rates[i] * r->shift->shift_h;
    for (int s = 0; s < r->line->station_count; s++)
        if (r->line->stations[s].of->product)
            r->shift->balance_product_t += efi_line_total(r->line,
                                                          model->feeds +
                                                              (size_t)s * (size_t)r->line->materials) *
                                           r->shift->shift_h;
}

static ef_status run_line(run *r, efi_steady_model *model, char **reason)
{
    efi_lp_outcome outcome;
    efi_steady_search counts;
    double value;
    EF_TRY(efi_steady_choose(model, r->arena, &outcome, &value, &counts));
    if (outcome != EFI_LP_OPTIMAL)
        return EF_NO_ANSWER;
    r->model = model;
    fill_balance(r);
    EF_TRY(efi_plant_build(&r->plant, r->arena, r->line, model->feeds, NULL));
    EF_TRY(take_memory(r));
    EF_TRY(replicate(r, r->means, reason));
    EF_TRY(fill_streams(r));
    EF_TRY(fill_accounts(r));
    return r->settings->remedies ? fill_remedies(r) : EF_OK;
}

static ef_status run_crop(const ef_scenario *scenario, const ef_shift_settings *settings, owned_shift *owned,
                          char **reason)
{
    ef_shift *shift = &owned->shift;
    shift->plant = scenario->plant->name;
    shift->scenario_file = scenario->tree.sources[0].name;
    shift->crop = scenario->crops[settings->crop].name;
    shift->trade_weight_tpbu = scenario->crops[settings->crop].trade_weight_tpbu.value;
    shift->seed = settings->seed;
    shift->runs = settings->runs;
    shift->shift_h = scenario->plant->shift_h.value;
    shift->warm_up_h = WARM_UP_SHIFTS * shift->shift_h;
    efi_line line;
    EF_TRY(efi_line_build(&line, owned->arena, scenario, settings->crop));
    efi_steady_model model;
    run r = {.settings = settings, .shift = shift, .arena = owned->arena, .line = &line};
    r.threads = settings->threads > 0 ? settings->threads : efi_threads_available();
    ef_status status = efi_steady_build(&model, owned->arena, &line, EF_BALANCE_RATE);
    if (status == EF_OK)
        status = run_line(&r, &model, reason);
    efi_lp_free(model.lp);
    efi_lp_thread_end();
    return status;
}

ef_status ef_shift_run(const ef_scenario *scenario, const ef_shift_settings *settings, ef_shift **shift,
                       char **reason)
{
    const bool in_range = settings->runs >= 2 && settings->runs <= MOST_RUNS && settings->threads >= 0;
    if (settings->crop < 0 || settings->crop >= scenario->crop_count || !in_range)
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
