/* SPDX-License-Identifier: GPL-3.0-or-later
 * Levels of the bins: envelopes over many runs, and the first run as a sample. */
#include "answers/shift/shift.h"

#include <stdlib.h>
#include <string.h>

static int rising(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

/* ---- envelopes ------------------------------------------------------------------------------------------
 */

static ef_status fill_bin(const efi_shift_run *r, int b, double *column, ef_shift_bin *out)
{
    const efi_watch_plan *watch = &r->watch;
    const int n = watch->bin[b];
    const int parts = r->shift->envelope_runs * r->shift->parts;
    double *p10 = efi_arena_get(r->arena, (size_t)r->grid, sizeof *p10);
    double *p50 = efi_arena_get(r->arena, (size_t)r->grid, sizeof *p50);
    double *p90 = efi_arena_get(r->arena, (size_t)r->grid, sizeof *p90);
    if (!p10 || !p50 || !p90)
        return EF_MEMORY;
    for (int g = 0; g < r->grid; g++) {
        for (int i = 0; i < parts; i++)
            column[i] = r->replicas.level_t[((size_t)i * (size_t)r->grid + (size_t)g) * (size_t)watch->bins +
                                            (size_t)b];
        qsort(column, (size_t)parts, sizeof *column, rising);
        p10[g] = efi_quantile_of(column, parts, 0.1);
        p50[g] = efi_quantile_of(column, parts, 0.5);
        p90[g] = efi_quantile_of(column, parts, 0.9);
    }
    *out = (ef_shift_bin){.name = r->running.plant.stations[n].name,
                          .full_t = r->running.plant.stations[n].bin.full_t,
                          .t_per_m3 = r->running.plant.t_per_m3[n],
                          .mean_t = r->means[n].level_th / r->shift->counted_h,
                          .empty_h = r->means[n].empty_h,
                          .full_h = r->means[n].full_h,
                          .p10_t = p10,
                          .p50_t = p50,
                          .p90_t = p90};
    return EF_OK;
}

/* ---- the sample -----------------------------------------------------------------------------------------
 */

typedef struct recorder {
    const efi_watch_plan *watch;
    double origin_h;
    double *at_h;
    size_t count, room;
    double *level_t; /* shape [count][bins] */
    size_t level_room;
    bool failed;
} recorder;

static void record(recorder *rec, const efi_engine *engine, double at_h)
{
    const size_t bins = (size_t)rec->watch->bins;
    if (rec->count > 0 && rec->at_h[rec->count - 1] == at_h)
        rec->count--;
    while (!rec->failed && rec->level_room < (rec->count + 1) * bins) {
        const size_t room = rec->level_room ? 2 * rec->level_room : 64 * bins;
        double *grown = efi_resize(rec->level_t, room, sizeof *grown);
        rec->failed = !grown;
        rec->level_t = grown ? grown : rec->level_t;
        rec->level_room = grown ? room : rec->level_room;
    }
    if (rec->failed || efi_grow(&rec->at_h, rec->count, &rec->room, sizeof *rec->at_h) != 0) {
        rec->failed = true;
        return;
    }
    for (size_t b = 0; b < bins; b++)
        rec->level_t[rec->count * bins + b] = efi_engine_level_t(engine, rec->watch->bin[b]);
    rec->at_h[rec->count++] = at_h;
}

static void record_event(void *context, const efi_engine *engine, const efi_event *event)
{
    recorder *rec = context;
    if (!rec->failed)
        record(rec, engine, event->at_h - rec->origin_h);
}

static ef_status run_sample(const efi_shift_run *r, recorder *rec)
{
    efi_trouble trouble = {0};
    efi_engine *engine = NULL;
    EF_TRY(efi_shift_engine(&r->running.plant.network, &engine, &trouble));
    efi_engine_start(engine, r->settings->seed, 0);
    ef_status status = efi_engine_run(engine, r->plan.warm_up_h, &trouble);
    if (status == EF_OK) {
        rec->origin_h = r->plan.warm_up_h;
        record(rec, engine, 0.0);
        efi_engine_watch(engine, record_event, rec);
        status = efi_engine_run(engine, r->plan.warm_up_h + r->plan.counted_h, &trouble);
    }
    if (status == EF_OK)
        record(rec, engine, r->plan.counted_h);
    efi_engine_free(engine);
    return status == EF_OK && rec->failed ? EF_MEMORY : status;
}

static ef_status keep_sample(const efi_shift_run *r, const recorder *rec, ef_shift_bin *bins)
{
    double *at_h = efi_arena_get(r->arena, rec->count, sizeof *at_h);
    if (!at_h)
        return EF_MEMORY;
    memcpy(at_h, rec->at_h, rec->count * sizeof *at_h);
    for (int b = 0; b < r->watch.bins; b++) {
        double *level_t = efi_arena_get(r->arena, rec->count, sizeof *level_t);
        if (!level_t)
            return EF_MEMORY;
        for (size_t i = 0; i < rec->count; i++)
            level_t[i] = rec->level_t[i * (size_t)r->watch.bins + (size_t)b];
        bins[b].sample_t = level_t;
    }
    r->shift->sample_h = at_h;
    r->shift->sample_count = (int)rec->count;
    return EF_OK;
}

ef_status efi_shift_fill_levels(efi_shift_run *r)
{
    ef_shift *shift = r->shift;
    if (r->watch.bins == 0)
        return EF_OK;
    ef_shift_bin *bins = efi_arena_get(r->arena, (size_t)r->watch.bins, sizeof *bins);
    double *column = efi_new((size_t)shift->envelope_runs * (size_t)shift->parts, sizeof *column);
    ef_status status = bins && column ? EF_OK : EF_MEMORY;
    for (int b = 0; status == EF_OK && b < r->watch.bins; b++)
        status = fill_bin(r, b, column, &bins[b]);
    efi_free(column);
    EF_TRY(status);
    shift->bins = bins;
    shift->bin_count = r->watch.bins;
    shift->grid_h = r->watch.grid_h;
    shift->grid_count = r->grid;
    recorder rec = {.watch = &r->watch};
    status = run_sample(r, &rec);
    if (status == EF_OK)
        status = keep_sample(r, &rec, bins);
    efi_free(rec.at_h);
    efi_free(rec.level_t);
    return status;
}
