/* SPDX-License-Identifier: GPL-3.0-or-later
 * Replications on threads: blocks of runs, rounds of blocks, and when to stop. */
#include "answers/shift/shift.h"
#include "base/threads.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    ROUND = 16,           /* blocks of a round, handed out to the threads */
    BLOCK_OF_SHIFTS = 32, /* shifts of a block: enough to be worth an engine, few enough to share out */
    BLOCK_OF_WEEKS = 2    /* runs */
};
/* With a precision asked for, estimates are looked at when there are this many times the runs of the last
 * look. */
#define LOOK_AGAIN 1.25

typedef struct work {
    const efi_replicas *replicas;
    int block;               /* runs of a block */
    int first;               /* run of the round */
    int last;                /* one past the last of the round */
    efi_shift_account *sums; /* shape [ROUND][stations]; NULL: not wanted */
    efi_trouble *troubles;   /* shape [ROUND] */
} work;

/* One engine with what is beside it. */
typedef struct bench {
    const work *work;
    efi_engine *engine;
    efi_watch watch;
    efi_shift_account *sums; /* shape [stations], of the block; NULL: not wanted */
    efi_trouble *trouble;
    int run;
} bench;

/* ---- accounts -------------------------------------------------------------------------------------------
 */

ef_shift_hours efi_shift_hours_of(efi_state state)
{
    switch (state) {
    case EFI_STATE_CLOSED:
        return EF_SHIFT_CLOSED;
    case EFI_STATE_BREAK:
        return EF_SHIFT_BREAK;
    case EFI_STATE_CLEAN_DOWN:
        return EF_SHIFT_CLEAN_DOWN;
    case EFI_STATE_NO_CREW:
        return EF_SHIFT_CREW;
    case EFI_STATE_PLANNED_STOP:
    case EFI_STATE_RANDOM_STOP:
        return EF_SHIFT_OWN_STOP;
    case EFI_STATE_WARM_UP:
    case EFI_STATE_WAITING:
        return EF_SHIFT_START_UP;
    case EFI_STATE_BLOCKED:
        return EF_SHIFT_BLOCKED;
    case EFI_STATE_STARVED:
        return EF_SHIFT_STARVED;
    case EFI_STATE_SLOW:
        return EF_SHIFT_SLOW;
    case EFI_STATE_WORKING:
    case EFI_STATE_FULL_RATE:
        return EF_SHIFT_FULL_RATE;
    }
    return EF_SHIFT_STARVED;
}

static void add_states(efi_shift_account *sum, const efi_account *account, const efi_watch_hours *watched,
                       bool parted)
{
    for (int s = 0; s < EFI_STATE_COUNT; s++)
        if (!parted || (s != EFI_STATE_STARVED && s != EFI_STATE_WAITING))
            sum->hours[efi_shift_hours_of((efi_state)s)] += account->state_h[s];
    sum->planned_h += account->state_h[EFI_STATE_PLANNED_STOP];
    sum->warming_h += account->state_h[EFI_STATE_WARM_UP];
    if (!parted)
        return;
    sum->hours[EF_SHIFT_STARVED] += watched->starved_h[false];
    sum->hours[EF_SHIFT_START_UP] += watched->waiting_h[false];
    sum->hours[EF_SHIFT_NO_MATERIAL] += watched->starved_h[true] + watched->waiting_h[true];
}

/* Reads what is counted of the run into the sums of the block. */
static void read_accounts(bench *b)
{
    const efi_replicas *r = b->work->replicas;
    for (int n = 0; n < r->network->stations; n++) {
        efi_account account;
        efi_engine_read(b->engine, n, &account);
        efi_shift_account *sum = &b->sums[n];
        if (r->network->station[n].kind != EFI_NETWORK_BIN)
            add_states(sum, &account, &b->watch.hours[n], r->watch->seeks_material);
        sum->taken_t += account.in_t;
        sum->warm_up_t += account.warm_up_t;
        sum->shortfall_t += account.shortfall_t;
        sum->out_of_band_h += account.out_of_band_h;
        sum->level_th += account.level_th;
        sum->empty_h += account.empty_h;
        sum->full_h += account.full_h;
    }
}

static void add_account(efi_shift_account *sum, const efi_shift_account *one)
{
    for (int h = 0; h < EF_SHIFT_HOURS_COUNT; h++)
        sum->hours[h] += one->hours[h];
    sum->planned_h += one->planned_h;
    sum->warming_h += one->warming_h;
    sum->taken_t += one->taken_t;
    sum->warm_up_t += one->warm_up_t;
    sum->shortfall_t += one->shortfall_t;
    sum->out_of_band_h += one->out_of_band_h;
    sum->level_th += one->level_th;
    sum->empty_h += one->empty_h;
    sum->full_h += one->full_h;
}

static void scale_account(efi_shift_account *sum, double share)
{
    for (int h = 0; h < EF_SHIFT_HOURS_COUNT; h++)
        sum->hours[h] *= share;
    sum->planned_h *= share;
    sum->warming_h *= share;
    sum->taken_t *= share;
    sum->warm_up_t *= share;
    sum->shortfall_t *= share;
    sum->out_of_band_h *= share;
    sum->level_th *= share;
    sum->empty_h *= share;
    sum->full_h *= share;
}

/* ---- one run --------------------------------------------------------------------------------------------
 */

/* What is in bins and charges, and on conveyors with a delay. */
static double stock_t(const bench *b)
{
    const efi_network *network = b->work->replicas->network;
    double stock = 0.0;
    for (int n = 0; n < network->stations; n++) {
        if (network->station[n].kind == EFI_NETWORK_BIN) {
            stock += efi_engine_level_t(b->engine, n);
        } else if (network->station[n].batch.is_used || network->station[n].delay_h > 0.0) {
            efi_account account;
            efi_engine_read(b->engine, n, &account);
            stock += account.level_t;
        }
    }
    return stock;
}

/* Hours of a run that accounts cover. */
static double all_counted_h(const efi_shift_plan *plan)
{
    return plan->parts * plan->counted_h;
}

/* Runs on to an hour of what is counted; where the account ends before, it is read on the way. */
static ef_status run_to(bench *b, double hours)
{
    const efi_replicas *r = b->work->replicas;
    const double end_h = r->plan->warm_up_h + all_counted_h(r->plan);
    const double to_h = r->plan->warm_up_h + hours;
    if (efi_engine_now_h(b->engine) < end_h && to_h >= end_h) {
        EF_TRY(efi_engine_run(b->engine, end_h, b->trouble));
        efi_watch_end(&b->watch, b->engine);
        if (b->sums)
            read_accounts(b);
    }
    return to_h > efi_engine_now_h(b->engine) ? efi_engine_run(b->engine, to_h, b->trouble) : EF_OK;
}

static double *tonnes_at(const bench *b, int stream, int period)
{
    const efi_replicas *r = b->work->replicas;
    const size_t run = (size_t)stream * (size_t)r->runs + (size_t)b->run;
    return &r->tonnes[run * (size_t)r->plan->period_count + (size_t)period];
}

/* Adds `sign` times what each stream has taken so far to its tonnes of a shift. */
static void add_taken(const bench *b, int period, double sign)
{
    const efi_replicas *r = b->work->replicas;
    for (int s = 0; s < r->streams; s++) {
        efi_account account;
        efi_engine_read(b->engine, r->stream_of[s], &account);
        *tonnes_at(b, s, period) += sign * account.in_t;
    }
    if (r->stock_t)
        r->stock_t[(size_t)b->run * (size_t)r->plan->period_count + (size_t)period] += sign * stock_t(b);
}

static void begin_watch(bench *b)
{
    const efi_replicas *r = b->work->replicas;
    const size_t levels = (size_t)r->watch->grid * (size_t)r->watch->bins;
    const bool wanted = r->level_t && b->run < r->envelope_runs;
    efi_watch_begin(&b->watch, b->engine, wanted ? r->level_t + (size_t)b->run * levels : NULL);
}

/* At the end of a shift, when the plant is not closed yet: has a loop choked? */
static ef_status look_for_choke(const bench *b)
{
    efi_choke *chokes = b->work->replicas->chokes;
    if (!chokes || chokes[b->run].stations > 0)
        return EF_OK;
    return efi_choke_find(b->engine, b->work->replicas->network, &chokes[b->run]);
}

static ef_status run_one(bench *b)
{
    const efi_replicas *r = b->work->replicas;
    if (r->chokes)
        r->chokes[b->run] = (efi_choke){0};
    efi_engine_watch(b->engine, NULL, NULL);
    efi_engine_start(b->engine, r->seed, (uint64_t)b->run);
    EF_TRY(efi_engine_run(b->engine, r->plan->warm_up_h, b->trouble));
    efi_engine_clear(b->engine);
    begin_watch(b);
    for (int p = 0; p < r->plan->period_count; p++) {
        for (int s = 0; s < r->streams; s++)
            *tonnes_at(b, s, p) = 0.0;
        if (r->stock_t)
            r->stock_t[(size_t)b->run * (size_t)r->plan->period_count + (size_t)p] = 0.0;
        EF_TRY(run_to(b, r->plan->periods[p].from_h));
        add_taken(b, p, -1.0);
        EF_TRY(run_to(b, r->plan->periods[p].to_h));
        add_taken(b, p, 1.0);
        EF_TRY(look_for_choke(b));
    }
    return run_to(b, all_counted_h(r->plan));
}

ef_status efi_shift_engine(const efi_network *network, efi_engine **engine, efi_trouble *trouble)
{
    efi_engine_settings settings = efi_engine_defaults();
    settings.has_past = true;
    return efi_engine_build(network, &settings, engine, trouble);
}

static ef_status run_block(void *context, int index)
{
    work *w = context;
    const efi_replicas *r = w->replicas;
    const int from = w->first + index * w->block;
    const int to = from + w->block < w->last ? from + w->block : w->last;
    bench b = {.work = w, .trouble = &w->troubles[index]};
    b.sums = w->sums ? w->sums + (size_t)index * (size_t)r->network->stations : NULL;
    EF_TRY(efi_watch_build(&b.watch, r->watch));
    ef_status status = efi_shift_engine(r->network, &b.engine, b.trouble);
    if (status == EF_SCENARIO)
        status = EF_NO_ANSWER;
    for (b.run = from; status == EF_OK && b.run < to; b.run++)
        status = run_one(&b);
    efi_engine_free(b.engine);
    efi_watch_free(&b.watch);
    return status;
}

/* ---- rounds ---------------------------------------------------------------------------------------------
 */

void efi_replicas_product(const efi_replicas *replicas, int done, double *sum)
{
    const size_t periods = (size_t)replicas->plan->period_count;
    const size_t count = (size_t)done * periods;
    memset(sum, 0, count * sizeof *sum);
    for (int s = 0; s < replicas->streams; s++) {
        const double *tonnes = replicas->tonnes + (size_t)s * (size_t)replicas->runs * periods;
        for (size_t i = 0; replicas->counts[s] && i < count; i++)
            sum[i] += tonnes[i];
    }
}

/* Are the estimates of the first `done` runs as close as asked for? */
static ef_status look_at(const efi_replicas *r, int done, bool *enough)
{
    const size_t count = (size_t)done * (size_t)r->plan->period_count;
    double *product = efi_new(2 * count, sizeof *product);
    if (!product)
        return EF_MEMORY;
    ef_shift_stream stream;
    efi_replicas_product(r, done, product);
    efi_shift_measure(product, done, r->plan->period_count, product + count, &stream);
    *enough = efi_shift_reached(&stream) <= r->precision;
    efi_free(product);
    return EF_OK;
}

static void find_trouble(const work *w, efi_trouble *trouble)
{
    for (int b = 0; b < ROUND; b++) {
        if (w->troubles[b].kind != EFI_TROUBLE_NONE) {
            *trouble = w->troubles[b];
            return;
        }
    }
}

static ef_status run_round(work *w, efi_trouble *trouble)
{
    const efi_replicas *r = w->replicas;
    const size_t stations = (size_t)r->network->stations;
    const int blocks = (w->last - w->first + w->block - 1) / w->block;
    memset(w->troubles, 0, ROUND * sizeof *w->troubles);
    if (w->sums)
        memset(w->sums, 0, ROUND * stations * sizeof *w->sums);
    const ef_status status = efi_threads_run(r->threads, blocks, run_block, w);
    if (status == EF_NO_ANSWER)
        find_trouble(w, trouble);
    EF_TRY(status);
    for (int b = 0; w->sums && b < blocks; b++)
        for (size_t n = 0; n < stations; n++)
            add_account(&r->means[n], &w->sums[(size_t)b * stations + n]);
    return EF_OK;
}

static ef_status run_rounds(work *w, int *done, efi_trouble *trouble)
{
    const efi_replicas *r = w->replicas;
    const int round = ROUND * w->block;
    double look = 0.0;
    bool enough = false;
    for (*done = 0; *done < r->runs && !enough; *done = w->last) {
        w->first = *done;
        w->last = r->runs - *done < round ? r->runs : *done + round;
        EF_TRY(run_round(w, trouble));
        if (!(r->precision > 0.0) || w->last < look)
            continue;
        EF_TRY(look_at(r, w->last, &enough));
        look = LOOK_AGAIN * w->last;
    }
    for (int n = 0; r->means && n < r->network->stations; n++)
        scale_account(&r->means[n], 1.0 / *done / r->plan->parts);
    return EF_OK;
}

ef_status efi_replicas_run(const efi_replicas *replicas, int *done, efi_trouble *trouble)
{
    const size_t stations = (size_t)replicas->network->stations;
    work w = {.replicas = replicas};
    w.block = replicas->plan->on_calendar
                  ? BLOCK_OF_WEEKS
                  : (BLOCK_OF_SHIFTS + replicas->plan->parts - 1) / replicas->plan->parts;
    w.troubles = efi_new(ROUND, sizeof *w.troubles);
    w.sums = replicas->means ? efi_new(ROUND * stations, sizeof *w.sums) : NULL;
    ef_status status = w.troubles && (w.sums || !replicas->means) ? EF_OK : EF_MEMORY;
    if (status == EF_OK && replicas->means)
        memset(replicas->means, 0, stations * sizeof *replicas->means);
    if (status == EF_OK)
        status = run_rounds(&w, done, trouble);
    efi_free(w.troubles);
    efi_free(w.sums);
    return status;
}
