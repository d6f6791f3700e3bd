/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answers/shift/shift.h"
#include "base/threads.h"

#include <string.h>

/* Runs of one block: large enough to be worth an engine, small enough to share out. */
enum {
    BLOCK = 64
};

typedef struct work {
    const efi_replicas *replicas;
    efi_account *sums;     /* shape [blocks][stations]; NULL: not wanted */
    efi_trouble *troubles; /* shape [blocks] */
} work;

/* Adds what is a time or an amount; counts and levels are not averaged. */
static void add_account(efi_account *sum, const efi_account *one)
{
    for (int i = 0; i < EFI_STATE_COUNT; i++)
        sum->state_h[i] += one->state_h[i];
    sum->in_t += one->in_t;
    sum->out_t += one->out_t;
    sum->shortfall_t += one->shortfall_t;
    sum->out_of_band_h += one->out_of_band_h;
    sum->warm_up_t += one->warm_up_t;
    sum->level_th += one->level_th;
    sum->empty_h += one->empty_h;
    sum->full_h += one->full_h;
    sum->spilled_t += one->spilled_t;
    sum->queue_h += one->queue_h;
}

static ef_status run_one(const work *w, efi_engine *engine, int block, int run)
{
    const efi_replicas *r = w->replicas;
    efi_engine_start(engine, r->seed, (uint64_t)run);
    EF_TRY(efi_engine_run(engine, r->warm_up_h, &w->troubles[block]));
    efi_engine_clear(engine);
    EF_TRY(efi_engine_run(engine, r->warm_up_h + r->shift_h, &w->troubles[block]));
    for (int s = 0; s < r->streams; s++) {
        efi_account account;
        efi_engine_read(engine, r->stream_of[s], &account);
        r->tonnes[(size_t)s * (size_t)r->runs + (size_t)run] = account.in_t;
    }
    for (int n = 0; w->sums && n < r->network->stations; n++) {
        efi_account account;
        efi_engine_read(engine, n, &account);
        add_account(&w->sums[(size_t)block * (size_t)r->network->stations + (size_t)n], &account);
    }
    return EF_OK;
}

static ef_status run_block(void *context, int block)
{
    const work *w = context;
    const int last = (block + 1) * BLOCK < w->replicas->runs ? (block + 1) * BLOCK : w->replicas->runs;
    efi_engine *engine = NULL;
    ef_status status = efi_engine_build(w->replicas->network, NULL, &engine, &w->troubles[block]);
    if (status == EF_SCENARIO)
        status = EF_NO_ANSWER;
    for (int run = block * BLOCK; status == EF_OK && run < last; run++)
        status = run_one(w, engine, block, run);
    efi_engine_free(engine);
    return status;
}

static void finish_means(const work *w, int blocks)
{
    const efi_replicas *r = w->replicas;
    const size_t stations = (size_t)r->network->stations;
    for (size_t n = 0; n < stations; n++) {
        efi_account sum;
        memset(&sum, 0, sizeof sum);
        for (int b = 0; b < blocks; b++)
            add_account(&sum, &w->sums[(size_t)b * stations + n]);
        const double share = 1.0 / r->runs;
        for (int i = 0; i < EFI_STATE_COUNT; i++)
            sum.state_h[i] *= share;
        sum.in_t *= share;
        sum.out_t *= share;
        sum.shortfall_t *= share;
        sum.out_of_band_h *= share;
        sum.warm_up_t *= share;
        sum.level_th *= share;
        sum.empty_h *= share;
        sum.full_h *= share;
        r->means[n] = sum;
    }
}

ef_status efi_replicas_run(const efi_replicas *replicas, efi_trouble *trouble)
{
    const int blocks = (replicas->runs + BLOCK - 1) / BLOCK;
    const size_t stations = (size_t)replicas->network->stations;
    work w = {.replicas = replicas};
    w.troubles = efi_new((size_t)blocks, sizeof *w.troubles);
    w.sums = replicas->means ? efi_new((size_t)blocks * stations, sizeof *w.sums) : NULL;
    ef_status status = w.troubles && (w.sums || !replicas->means) ? EF_OK : EF_MEMORY;
    if (status == EF_OK)
        status = efi_threads_run(replicas->threads, blocks, run_block, &w);
    for (int b = 0; status == EF_NO_ANSWER && b < blocks; b++) {
        if (w.troubles[b].kind != EFI_TROUBLE_NONE) {
            *trouble = w.troubles[b];
            break;
        }
    }
    if (status == EF_OK && replicas->means)
        finish_means(&w, blocks);
    efi_free(w.troubles);
    efi_free(w.sums);
    return status;
}
