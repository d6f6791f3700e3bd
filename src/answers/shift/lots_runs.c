/* SPDX-License-Identifier: GPL-3.0-or-later
 * All runs of a list of lots, in blocks on threads. */
#include "answers/shift/lots.h"
#include "base/threads.h"

#include <string.h>

enum {
    BLOCK = 4 /* runs: enough to be worth an engine, few enough to share out */
};

typedef struct work {
    const efi_lots_runs *runs;
    efi_lots_account *sums; /* shape [blocks][stations] */
    efi_trouble *troubles;  /* shape [blocks] */
    bool *late;             /* shape [blocks] */
} work;

typedef struct bench {
    const efi_lots_runs *runs;
    efi_engine *engine;
    efi_lots_watch watch;
    efi_lots_account *sums; /* shape [stations], of the block */
    efi_trouble *trouble;
    int run;
} bench;

static ef_status run_to(bench *b, double to_h)
{
    if (to_h > efi_engine_now_h(b->engine))
        EF_TRY(efi_engine_run(b->engine, to_h, b->trouble));
    efi_lots_watch_settle(&b->watch);
    return EF_OK;
}

static bool has_ended(const bench *b)
{
    return b->watch.ended == b->runs->list->count;
}

/* Adds `sign` times all that has passed so far to the tonnes of a period. */
static void add_passed(const bench *b, int period, double sign)
{
    const size_t streams = 1 + (size_t)b->watch.plan->outlets;
    double *into = b->runs->period_t +
                   ((size_t)b->run * (size_t)b->runs->periods_most + (size_t)period) * streams;
    for (size_t s = 0; s < streams; s++)
        into[s] += sign * b->watch.total_t[s];
}

static void keep(bench *b)
{
    const efi_lots_runs *r = b->runs;
    const size_t lots = (size_t)r->list->count;
    const size_t outlets = (size_t)b->watch.plan->outlets;
    const size_t run = (size_t)b->run;
    memcpy(r->begin_h + run * lots, b->watch.begin_h, lots * sizeof *r->begin_h);
    memcpy(r->end_h + run * lots, b->watch.end_h, lots * sizeof *r->end_h);
    memcpy(r->in_t + run * lots, b->watch.in_t, lots * sizeof *r->in_t);
    memcpy(r->outlet_t + run * lots * outlets, b->watch.outlet_t, lots * outlets * sizeof *r->outlet_t);
    const double end_h = b->watch.end_h[lots - 1];
    for (int p = 0; p < r->periods_most && r->periods[p].to_h <= end_h; p++)
        r->whole[run] = p + 1;
    for (int n = 0; n < r->list->plant.network.stations; n++) {
        const efi_lots_account *one = &b->watch.account[n];
        for (int h = 0; h < EF_SHIFT_HOURS_COUNT; h++)
            b->sums[n].hours[h] += one->hours[h];
        b->sums[n].planned_h += one->planned_h;
        b->sums[n].taken_t += one->taken_t;
    }
}

static ef_status run_one(bench *b, bool *is_late)
{
    const efi_lots_runs *r = b->runs;
    efi_lots_watch_begin(&b->watch, b->engine);
    efi_engine_start(b->engine, r->seed, (uint64_t)b->run);
    EF_TRY(efi_engine_run(b->engine, 0.0, b->trouble));
    for (int p = 0; p < r->periods_most && !has_ended(b); p++) {
        EF_TRY(run_to(b, r->periods[p].from_h));
        add_passed(b, p, -1.0);
        EF_TRY(run_to(b, r->periods[p].to_h));
        add_passed(b, p, 1.0);
    }
    if (!has_ended(b))
        EF_TRY(run_to(b, r->horizon_h));
    if (has_ended(b))
        keep(b);
    else
        *is_late = true;
    return EF_OK;
}

static ef_status run_block(void *context, int index)
{
    const work *w = context;
    const efi_lots_runs *r = w->runs;
    const int to = (index + 1) * BLOCK < r->runs ? (index + 1) * BLOCK : r->runs;
    bench b = {.runs = r,
               .sums = w->sums + (size_t)index * (size_t)r->list->plant.network.stations,
               .trouble = &w->troubles[index]};
    ef_status status = efi_lots_watch_build(&b.watch, r->watch);
    if (status == EF_OK)
        status = efi_lot_list_engine(r->list, r->has_past, &b.engine, b.trouble);
    if (status == EF_SCENARIO)
        status = EF_NO_ANSWER;
    for (b.run = index * BLOCK; status == EF_OK && b.run < to && !w->late[index]; b.run++)
        status = run_one(&b, &w->late[index]);
    efi_engine_free(b.engine);
    efi_lots_watch_free(&b.watch);
    return status;
}

static void gather(const work *w, int blocks)
{
    const efi_lots_runs *r = w->runs;
    const int stations = r->list->plant.network.stations;
    memset(r->sum, 0, (size_t)stations * sizeof *r->sum);
    for (int i = 0; i < blocks * stations; i++) {
        efi_lots_account *sum = &r->sum[i % stations];
        for (int h = 0; h < EF_SHIFT_HOURS_COUNT; h++)
            sum->hours[h] += w->sums[i].hours[h];
        sum->planned_h += w->sums[i].planned_h;
        sum->taken_t += w->sums[i].taken_t;
    }
    *r->is_late = false;
    for (int b = 0; b < blocks; b++)
        *r->is_late = *r->is_late || w->late[b];
}

static void find_trouble(const work *w, int blocks, efi_trouble *trouble)
{
    for (int b = blocks - 1; b >= 0; b--)
        if (w->troubles[b].kind != EFI_TROUBLE_NONE)
            *trouble = w->troubles[b];
}

ef_status efi_lots_runs_run(const efi_lots_runs *runs, efi_trouble *trouble)
{
    const int blocks = (runs->runs + BLOCK - 1) / BLOCK;
    work w = {.runs = runs};
    w.sums = efi_new((size_t)blocks * (size_t)runs->list->plant.network.stations, sizeof *w.sums);
    w.troubles = efi_new((size_t)blocks, sizeof *w.troubles);
    w.late = efi_new((size_t)blocks, sizeof *w.late);
    ef_status status = w.sums && w.troubles && w.late ? EF_OK : EF_MEMORY;
    if (status == EF_OK)
        status = efi_threads_run(runs->threads, blocks, run_block, &w);
    if (status == EF_OK)
        gather(&w, blocks);
    else if (status == EF_NO_ANSWER)
        find_trouble(&w, blocks, trouble);
    efi_free(w.sums);
    efi_free(w.troubles);
    efi_free(w.late);
    return status;
}
