/* SPDX-License-Identifier: GPL-3.0-or-later
 * What to mend first: every stop halved, every bin enlarged by half, on the same random numbers. */
#include "answers/shift/shift.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SHORTER 0.5
#define LARGER  1.5

typedef struct attempt {
    efi_shift_run *run;
    efi_replicas replicas; /* of the changed network: the product alone */
    double *gain_t;        /* shape [runs][periods], then [runs] */
    ef_shift_remedy *remedies;
} attempt;

/* Runs the network as it is now and fills in the gain against the plant as it was. */
static ef_status try_remedy(attempt *a, ef_shift_remedy *remedy)
{
    const ef_shift *shift = a->run->shift;
    const int per = shift->period_count;
    int done;
    efi_trouble trouble;
    EF_TRY(efi_replicas_run(&a->replicas, &done, &trouble));
    efi_replicas_product(&a->replicas, done, a->gain_t);
    for (int r = 0; r < shift->runs; r++) {
        double gain = 0.0;
        for (int p = 0; p < per; p++) {
            const size_t i = (size_t)r * (size_t)per + (size_t)p;
            gain += a->gain_t[i] - a->run->product_t[i];
        }
        a->gain_t[r] = gain / per;
    }
    const efi_estimate e = efi_estimate_mean(a->gain_t, shift->runs, EFI_SHIFT_CONFIDENCE);
    remedy->gain_t = (ef_shift_estimate){e.value, e.low, e.high};
    return EF_OK;
}

/* ---- stops ----------------------------------------------------------------------------------------------
 */

/* Mean length of the stops of a mode, h. */
static double mean_h(const efi_stop_mode *mode)
{
    if (mode->schedule != EFI_STOPS_LIST)
        return fmax(efi_distribution_mean(&mode->duration), mode->lockout_h);
    double sum = 0.0;
    for (int i = 0; i < mode->intervals; i++)
        sum += mode->list[i].to_h - mode->list[i].from_h;
    return mode->intervals > 0 ? sum / mode->intervals : 0.0;
}

/* Stops on record end earlier, each at its lock-out at the earliest. */
static ef_status shorten_list(attempt *a, efi_stop_mode *mode, double share)
{
    efi_interval *list = efi_arena_get(a->run->arena, (size_t)mode->intervals, sizeof *list);
    if (!list)
        return EF_MEMORY;
    for (int i = 0; i < mode->intervals; i++) {
        const double hours = mode->list[i].to_h - mode->list[i].from_h;
        list[i] = mode->list[i];
        list[i].to_h = list[i].from_h + fmin(fmax(hours * share, mode->lockout_h), hours);
    }
    mode->list = list;
    return EF_OK;
}

/* Shortens the stops of a mode by half, in the mean not below the lock-out, which holds for each of them too.
 */
static ef_status shorten(attempt *a, efi_stop_mode *mode, ef_shift_remedy *remedy)
{
    const double now_h = mean_h(mode);
    double share = SHORTER;
    remedy->now = now_h;
    remedy->held_by_lockout = now_h * share < mode->lockout_h;
    if (remedy->held_by_lockout)
        share = fmin(mode->lockout_h / now_h, 1.0);
    remedy->then = now_h * share;
    if (mode->schedule == EFI_STOPS_LIST)
        return shorten_list(a, mode, share);
    if (mode->duration.kind == EFI_LOGNORMAL)
        mode->duration.a += log(share);
    else
        mode->duration.a *= share;
    return EF_OK;
}

/* What a stop of a station needs until a bin may be entered, h. */
static double bin_entry_h(const efi_stops *stops, const char *name)
{
    for (int i = 0; i < stops->count; i++)
        if (strcmp(stops->items[i].name, name) == 0 && stops->items[i].bin_entry_h.given)
            return stops->items[i].bin_entry_h.value;
    return 0.0;
}

static ef_status try_stops(attempt *a, int n)
{
    efi_plant_network *plant = &a->run->running.plant;
    efi_network_station *station = &plant->stations[n];
    const efi_line *line = plant->line;
    const efi_station *of = &line->scenario->stations[line->stations[plant->line_station[n]].station];
    const efi_stop_mode *as_it_is = station->mode;
    efi_stop_mode *modes = efi_arena_get(a->run->arena, (size_t)station->modes, sizeof *modes);
    if (!modes)
        return EF_MEMORY;
    ef_status status = EF_OK;
    for (int m = 0; m < plant->own_modes[n] && status == EF_OK; m++) {
        ef_shift_remedy *remedy = &a->remedies[a->run->shift->remedy_count++];
        *remedy = (ef_shift_remedy){.station = station->name,
                                    .stop = plant->mode_name[n][m],
                                    .bin_entry_h = bin_entry_h(&of->stops, plant->mode_name[n][m])};
        memcpy(modes, as_it_is, (size_t)station->modes * sizeof *modes);
        status = shorten(a, &modes[m], remedy);
        station->mode = modes;
        if (status == EF_OK)
            status = try_remedy(a, remedy);
    }
    station->mode = as_it_is;
    return status;
}

/* ---- bins -----------------------------------------------------------------------------------------------
 */

static ef_status try_bin(attempt *a, int n)
{
    efi_network_station *station = &a->run->running.plant.stations[n];
    const efi_network_bin as_it_is = station->bin;
    ef_shift_remedy *remedy = &a->remedies[a->run->shift->remedy_count++];
    *remedy = (ef_shift_remedy){
        .station = station->name, .now = as_it_is.full_t, .then = as_it_is.full_t * LARGER};
    station->bin.full_t *= LARGER;
    station->bin.start_t *= LARGER;
    station->bin.refill_t *= LARGER;
    const ef_status status = try_remedy(a, remedy);
    station->bin = as_it_is;
    return status;
}

/* ---- all ------------------------------------------------------------------------------------------------
 */

static int by_gain(const void *left, const void *right)
{
    const ef_shift_remedy *a = left;
    const ef_shift_remedy *b = right;
    if (a->gain_t.value != b->gain_t.value)
        return a->gain_t.value > b->gain_t.value ? -1 : 1;
    const int station = strcmp(a->station, b->station);
    return station ? station : strcmp(a->stop ? a->stop : "", b->stop ? b->stop : "");
}

/* The same runs as the answer's, of the product alone. */
static ef_status prepare(attempt *a)
{
    const efi_shift_run *r = a->run;
    const size_t shifts = (size_t)r->shift->runs * (size_t)r->shift->period_count;
    int most = 0;
    for (int n = 0; n < r->running.plant.network.stations; n++)
        most += r->running.plant.own_modes[n] + (r->running.plant.stations[n].kind == EFI_NETWORK_BIN);
    int *stream_of = efi_arena_get(r->arena, (size_t)r->replicas.streams, sizeof *stream_of);
    bool *counts = efi_arena_get(r->arena, (size_t)r->replicas.streams, sizeof *counts);
    a->remedies = efi_arena_get(r->arena, (size_t)most, sizeof *a->remedies);
    a->gain_t = efi_new(shifts, sizeof *a->gain_t);
    if (!stream_of || !counts || !a->remedies || !a->gain_t)
        return EF_MEMORY;
    a->replicas = (efi_replicas){.network = r->replicas.network,
                                 .plan = r->replicas.plan,
                                 .watch = &r->watch,
                                 .seed = r->replicas.seed,
                                 .runs = r->shift->runs,
                                 .threads = r->replicas.threads,
                                 .stream_of = stream_of,
                                 .counts = counts};
    for (int s = 0; s < r->replicas.streams; s++) {
        if (!r->replicas.counts[s])
            continue;
        counts[a->replicas.streams] = true;
        stream_of[a->replicas.streams++] = r->replicas.stream_of[s];
    }
    a->replicas.tonnes = efi_new((size_t)a->replicas.streams * shifts, sizeof *a->replicas.tonnes);
    return a->replicas.tonnes ? EF_OK : EF_MEMORY;
}

static ef_status try_all(attempt *a)
{
    const efi_plant_network *plant = &a->run->running.plant;
    for (int n = 0; n < plant->network.stations; n++) {
        if (plant->stations[n].kind == EFI_NETWORK_BIN)
            EF_TRY(try_bin(a, n));
        else if (plant->own_modes[n] > 0)
            EF_TRY(try_stops(a, n));
    }
    ef_shift *shift = a->run->shift;
    if (shift->remedy_count > 0)
        qsort(a->remedies, (size_t)shift->remedy_count, sizeof *a->remedies, by_gain);
    shift->remedies = a->remedies;
    return EF_OK;
}

ef_status efi_shift_fill_remedies(efi_shift_run *r)
{
    attempt a = {.run = r};
    ef_status status = prepare(&a);
    if (status == EF_OK)
        status = try_all(&a);
    efi_free(a.gain_t);
    efi_free(a.replicas.tonnes);
    return status;
}
