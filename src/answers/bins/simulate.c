/* SPDX-License-Identifier: GPL-3.0-or-later
 * Volumes in the event engine, on traces of its own. */
#include "answers/bins/crop.h"
#include "base/memory.h"
#include "base/threads.h"
#include "shared/statistics/estimate.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    BLOCK = 8,          /* runs of one job */
    FRESH = 1000000000, /* replications from here on are not used for sizing */
    BLOCKS_MOST = 1000000 / BLOCK
};
#define CONFIDENCE 0.95
/* A shift that is short by less, h of full feed, is not short: under four seconds. */
#define SHORT_H 1e-3

typedef struct simulation {
    efi_bins_crop *crop;
    const efi_plant_network *plant;
    uint64_t first;
    efi_bins_shifts *shifts;
    int *station;          /* shape [feeds]: in this network */
    efi_trouble *troubles; /* shape [blocks] */
} simulation;

static ef_status run_one(const simulation *s, efi_engine *engine, int run, efi_trouble *trouble)
{
    const efi_bins_crop *crop = s->crop;
    const int shifts = crop->settings->shifts;
    efi_engine_start(engine, crop->settings->seed, s->first + (uint64_t)run);
    for (int k = 0; k < shifts; k++) {
        efi_engine_clear(engine);
        EF_TRY(efi_engine_run(engine, (k + 1) * crop->bins->shift_h, trouble));
        for (int f = 0; f < crop->feed_count; f++) {
            const efi_network_station *of = &s->plant->network.station[s->station[f]];
            const size_t at = (size_t)run * (size_t)shifts + (size_t)k;
            efi_account account;
            efi_engine_read(engine, s->station[f], &account);
            s->shifts[f].lost_t[at] = account.shortfall_t;
            s->shifts[f].short_h[at] = account.shortfall_t / (of->capacity_tph * of->machines);
            s->shifts[f].out_h[at] = account.out_of_band_h + account.state_h[EFI_STATE_STARVED] +
                                     account.state_h[EFI_STATE_WAITING] + account.state_h[EFI_STATE_BLOCKED];
        }
    }
    return EF_OK;
}

static ef_status run_block(void *context, int block)
{
    const simulation *s = context;
    const int runs = s->crop->settings->traces;
    efi_engine *engine = NULL;
    efi_trouble *trouble = &s->troubles[block];
    ef_status status = efi_engine_build(&s->plant->network, NULL, &engine, trouble);
    if (status == EF_SCENARIO)
        status = EF_NO_ANSWER;
    for (int run = block * BLOCK; status == EF_OK && run < (block + 1) * BLOCK && run < runs; run++)
        status = run_one(s, engine, run, trouble);
    efi_engine_free(engine);
    return status;
}

/* Tells the first trouble: EF_NO_ANSWER, or EF_MEMORY. */
static ef_status explain(const simulation *s, int blocks)
{
    for (int b = 0; b < blocks; b++)
        if (s->troubles[b].kind != EFI_TROUBLE_NONE) {
            EF_TRY(efi_bins_tell_trouble(s->crop, &s->plant->network, &s->troubles[b]));
            break;
        }
    return EF_NO_ANSWER;
}

static ef_status run_blocks(simulation *s)
{
    const int blocks = (s->crop->settings->traces + BLOCK - 1) / BLOCK;
    s->troubles = efi_new((size_t)blocks, sizeof *s->troubles);
    if (!s->troubles)
        return EF_MEMORY;
    ef_status status = efi_threads_run(s->crop->threads, blocks, run_block, s);
    if (status == EF_NO_ANSWER)
        status = explain(s, blocks);
    efi_free(s->troubles);
    return status;
}

ef_status efi_bins_simulate(efi_bins_crop *crop, const double *live_m3, uint64_t first,
                            efi_bins_shifts *shifts)
{
    efi_arena *arena = efi_arena_new();
    if (!arena)
        return EF_MEMORY;
    efi_plant_network plant;
    const efi_plant_options options = {.without_receipts = !crop->settings->with_receipts,
                                       .start_empty = crop->settings->with_receipts,
                                       .live_m3 = live_m3,
                                       .set_share = crop->set_share};
    simulation s = {.crop = crop, .plant = &plant, .first = first, .shifts = shifts};
    s.station = efi_arena_get(arena, (size_t)crop->feed_count, sizeof *s.station);
    ef_status status = s.station ? efi_plant_build(&plant, arena, &crop->line, crop->feeds_tph, &options)
                                 : EF_MEMORY;
    for (int f = 0; status == EF_OK && f < crop->feed_count; f++)
        s.station[f] = plant.of_line[crop->feed[f].line_station];
    if (status == EF_OK)
        status = run_blocks(&s);
    efi_arena_free(arena);
    return status;
}

ef_status efi_bins_shifts_take(const efi_bins_crop *crop, efi_bins_shifts *shifts)
{
    const size_t count = (size_t)crop->settings->traces * (size_t)crop->settings->shifts;
    for (int f = 0; f < crop->feed_count; f++) {
        shifts[f].short_h = efi_arena_get(crop->arena, count, sizeof(double));
        shifts[f].out_h = efi_arena_get(crop->arena, count, sizeof(double));
        shifts[f].lost_t = efi_arena_get(crop->arena, count, sizeof(double));
        if (!shifts[f].short_h || !shifts[f].out_h || !shifts[f].lost_t)
            return EF_MEMORY;
    }
    return EF_OK;
}

/* ---- what the shifts say --------------------------------------------------------------------------------
 */

static int rising(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

static double sum_of(const double *value, size_t count)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++)
        sum += value[i];
    return sum;
}

/* The mean of `value`, or that of the worst share of it. */
static double measure_of(const efi_bins_crop *crop, const double *value, size_t count)
{
    if (crop->settings->aim != EF_BINS_TAIL)
        return sum_of(value, count) / (double)count;
    double *sorted = efi_new(count, sizeof *sorted);
    if (!sorted)
        return INFINITY;
    memcpy(sorted, value, count * sizeof *sorted);
    qsort(sorted, count, sizeof *sorted, rising);
    const double counted = crop->settings->tail_share * (double)count;
    double sum = 0.0;
    for (size_t i = 0; i < count; i++)
        sum += sorted[count - 1 - i] * fmin(1.0, fmax(0.0, counted - (double)i));
    efi_free(sorted);
    return sum / counted;
}

double efi_bins_measure(const efi_bins_crop *crop, const efi_bins_shifts *shifts)
{
    return measure_of(crop, shifts->short_h, (size_t)crop->settings->traces * (size_t)crop->settings->shifts);
}

/* The same of all feeds of the network together, as its program measures them, on the traces that it has. */
static double measure_net(const efi_bins_crop *crop, const efi_bins_shifts *shifts)
{
    const efi_bins_net *net = &crop->net;
    const size_t count = (size_t)net->trace_count * (size_t)crop->settings->shifts;
    double *sum = efi_new(count, sizeof *sum);
    if (!sum)
        return INFINITY;
    for (int f = 0, k = 0; f < crop->feed_count; f++) {
        if (!crop->feed[f].in_net)
            continue;
        for (size_t i = 0; i < count; i++)
            sum[i] += net->net.feed[k].weight * shifts[f].lost_t[i] / net->full_tph;
        k++;
    }
    const double measure = measure_of(crop, sum, count);
    efi_free(sum);
    return measure;
}

/* The mean over shifts; its limits from the means of the traces, whose shifts are not independent. */
static ef_bins_estimate mean_of(const efi_bins_crop *crop, const double *value, double *scratch)
{
    const int shifts = crop->settings->shifts;
    const int traces = crop->settings->traces;
    for (int i = 0; i < traces; i++)
        scratch[i] = sum_of(value + (size_t)i * (size_t)shifts, (size_t)shifts) / shifts;
    const efi_estimate e = efi_estimate_mean(scratch, traces, CONFIDENCE);
    return (ef_bins_estimate){e.value, e.low, e.high};
}

static ef_bins_estimate share_short(const efi_bins_crop *crop, const double *short_h, double *scratch)
{
    const int shifts = crop->settings->shifts;
    const int traces = crop->settings->traces;
    for (int i = 0; i < traces; i++) {
        scratch[i] = 0.0;
        for (int k = 0; k < shifts; k++)
            scratch[i] += short_h[(size_t)i * (size_t)shifts + (size_t)k] > SHORT_H ? 1.0 / shifts : 0.0;
    }
    const efi_estimate e = efi_estimate_mean(scratch, traces, CONFIDENCE);
    return (ef_bins_estimate){e.value, fmax(e.low, 0.0), fmin(e.high, 1.0)};
}

static ef_bins_estimate p95_of(const efi_bins_crop *crop, const double *value, double *scratch)
{
    const size_t count = (size_t)crop->settings->traces * (size_t)crop->settings->shifts;
    memcpy(scratch, value, count * sizeof *scratch);
    qsort(scratch, count, sizeof *scratch, rising);
    const efi_estimate e = efi_estimate_quantile(scratch, (int)count, 0.95, CONFIDENCE);
    return (ef_bins_estimate){e.value, e.low, e.high};
}

static double sized_volume(const efi_bins_crop *crop, const double *live_m3)
{
    double sum = 0.0;
    for (int b = 0; b < crop->bin_count; b++)
        sum += crop->bin[b].choice == EF_BINS_SIZED ? live_m3[crop->bin_line[b]] : 0.0;
    return sum;
}

static ef_status check(efi_bins_crop *crop, const double *live_m3, efi_bins_shifts *shifts, double *scratch,
                       int which)
{
    EF_TRY(efi_bins_simulate(crop, live_m3, FRESH, shifts));
    for (int f = 0; f < crop->feed_count; f++) {
        ef_bins_feed *out = crop->feed[f].out;
        ef_bins_check *c = which == 0 ? &out->now : which == 1 ? &out->rule : &out->recommended;
        c->is_run = true;
        c->volume_m3 = sized_volume(crop, live_m3);
        c->short_share = share_short(crop, shifts[f].short_h, scratch);
        c->short_h = mean_of(crop, shifts[f].short_h, scratch);
        c->out_of_band_h = mean_of(crop, shifts[f].out_h, scratch);
        c->lost_t = mean_of(crop, shifts[f].lost_t, scratch);
        c->out_of_band_p95_h = p95_of(crop, shifts[f].out_h, scratch);
    }
    return EF_OK;
}

/* Missed by less than this share, an aim counts as met: fresh traces have their chances. */
#define MISS_SHARE 0.02
/* Full-feed hours a shift that fresh traces may be short where none may be: what chance leaves. */
#define NONE_H (1.0 / 600.0)
/* More than the recommended volume by this share is generous. */
#define GENEROUS_SHARE 0.2

static void judge_rule(const efi_bins_crop *crop, const efi_bins_feed *feed, const double *recommended_m3)
{
    ef_bins_feed *out = feed->out;
    const ef_bins_aim aim = crop->settings->aim;
    if (feed->path.segments == 0 || feed->path.feed_segment == 0 ||
        (aim != EF_BINS_MEAN && aim != EF_BINS_NONE_SHORT))
        return;
    const efi_path_bin *holding = &feed->path.bin[feed->path.feed_segment - 1];
    const ef_bins_bin *bin = holding->station >= 0 ? efi_bins_bin_of(crop, holding->station) : NULL;
    if (!bin || bin->choice != EF_BINS_SIZED)
        return;
    const double aim_h = aim == EF_BINS_MEAN ? crop->settings->aim_h : NONE_H;
    const double recommended = recommended_m3[crop->plant.line_station[holding->station]];
    if (!(out->rule.short_h.value <= out->unavoidable_h + aim_h * (1.0 + MISS_SHARE)))
        out->verdict = EF_BINS_RULE_SHORT;
    else
        out->verdict = bin->rule_m3 > recommended * (1.0 + GENEROUS_SHARE) ? EF_BINS_RULE_GENEROUS
                                                                           : EF_BINS_RULE_ENOUGH;
}

ef_status efi_bins_confirm(efi_bins_crop *crop, const double *recommended_m3)
{
    const size_t count = (size_t)crop->settings->traces * (size_t)crop->settings->shifts;
    efi_bins_shifts *shifts = efi_arena_get(crop->arena, (size_t)crop->feed_count, sizeof *shifts);
    double *scratch = efi_arena_get(crop->arena, count, sizeof *scratch);
    if (!shifts || !scratch)
        return EF_MEMORY;
    EF_TRY(efi_bins_shifts_take(crop, shifts));
    EF_TRY(check(crop, crop->now_m3, shifts, scratch, 0));
    EF_TRY(check(crop, crop->rule_m3, shifts, scratch, 1));
    EF_TRY(check(crop, recommended_m3, shifts, scratch, 2));
    for (int f = 0; f < crop->feed_count; f++)
        judge_rule(crop, &crop->feed[f], recommended_m3);
    return EF_OK;
}

/* ---- tightening -----------------------------------------------------------------------------------------
 */

enum {
    MOST_TIGHTENED = 5
};
/* Aimed lower, the next aim is at most this share of the last. */
#define TIGHTER 0.7
/* What the greatest volumes leave on the traces that are used to judge. */
static ef_status measure_least(efi_bins_crop *crop, efi_bins_shifts *shifts, double *least_h)
{
    double *most_m3 = efi_arena_get(crop->arena, (size_t)crop->line.station_count, sizeof *most_m3);
    if (!most_m3)
        return EF_MEMORY;
    memcpy(most_m3, crop->needed_m3, (size_t)crop->line.station_count * sizeof *most_m3);
    for (int f = 0; f < crop->feed_count; f++) {
        const efi_bins_feed *feed = &crop->feed[f];
        for (int j = 0; j < feed->path.segments - 1; j++) {
            const efi_path_bin *bin = &feed->path.bin[j];
            if (bin->station < 0)
                continue;
            const int s = crop->plant.line_station[bin->station];
            most_m3[s] = fmax(most_m3[s],
                              feed->choice[j].most_t * bin->t_per_t / crop->plant.t_per_m3[bin->station]);
        }
    }
    EF_TRY(efi_bins_simulate(crop, most_m3, FRESH / 2, shifts));
    for (int f = 0; f < crop->feed_count; f++)
        least_h[f] = efi_bins_measure(crop, &shifts[f]);
    return EF_OK;
}

/* Lowers an aim that is missed by `over_h` and should be `aim_h`, t beyond what is unavoidable. */
static void lower(double *excess_t, int tightened, double aim_h, double over_h)
{
    const double share = fmin(TIGHTER, aim_h / over_h);
    *excess_t = tightened + 1 < MOST_TIGHTENED ? *excess_t * share : 0.0;
}

/* The aim of all feeds of the network, by the one that misses it most. */
static bool lower_net(efi_bins_crop *crop, double aim_h, double over_h)
{
    int tightened = 0;
    if (!(over_h > 0.0) || !(crop->net.excess_t > 0.0))
        return false;
    for (int f = 0; f < crop->feed_count; f++)
        if (crop->feed[f].in_net)
            tightened = crop->feed[f].out->tightened++;
    lower(&crop->net.excess_t, tightened, aim_h, over_h);
    return true;
}

/* Which feeds miss the aim with the volumes as they are; lowers their aim. */
static bool lower_aims(efi_bins_crop *crop, const efi_bins_shifts *shifts, const double *least_h)
{
    const ef_bins_settings *settings = crop->settings;
    const double aim_h = settings->aim == EF_BINS_NONE_SHORT ? NONE_H : settings->aim_h;
    bool lowered = false;
    double net_over_h = 0.0;
    for (int f = 0; f < crop->feed_count; f++) {
        efi_bins_feed *feed = &crop->feed[f];
        const double over_h = efi_bins_measure(crop, &shifts[f]) - least_h[f];
        feed->out->met = settings->aim == EF_BINS_PRICE || over_h <= aim_h * (1.0 + MISS_SHARE);
        if (!feed->out->met && feed->in_net)
            net_over_h = fmax(net_over_h, over_h);
        if (feed->out->met || !feed->search || !(feed->excess_t > 0.0))
            continue;
        lower(&feed->excess_t, feed->out->tightened, aim_h, over_h);
        feed->out->tightened++;
        lowered = true;
    }
    return lower_net(crop, aim_h, net_over_h) || lowered;
}

ef_status efi_bins_tighten(efi_bins_crop *crop)
{
    efi_bins_shifts *shifts = efi_arena_get(crop->arena, (size_t)crop->feed_count, sizeof *shifts);
    double *least_h = efi_arena_get(crop->arena, (size_t)crop->feed_count, sizeof *least_h);
    if (!shifts || !least_h)
        return EF_MEMORY;
    EF_TRY(efi_bins_shifts_take(crop, shifts));
    EF_TRY(measure_least(crop, shifts, least_h));
    for (int round = 0; round <= MOST_TIGHTENED; round++) {
        EF_TRY(efi_bins_simulate(crop, crop->needed_m3, FRESH / 2, shifts));
        if (!lower_aims(crop, shifts, least_h) || !crop->go_on(crop->context))
            break;
        EF_TRY(efi_bins_size(crop));
    }
    /* the same draws as for sizing, to tell the two models apart */
    EF_TRY(efi_bins_simulate(crop, crop->needed_m3, 0, shifts));
    for (int f = 0; f < crop->feed_count; f++)
        crop->feed[f].out->engine_h = crop->feed[f].in_net ? measure_net(crop, shifts)
                                                           : efi_bins_measure(crop, &shifts[f]);
    return EF_OK;
}
