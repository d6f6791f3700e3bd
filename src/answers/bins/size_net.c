/* SPDX-License-Identifier: GPL-3.0-or-later
 * Volumes of the feeds whose way is no plain series, by the program of the network. */
#include "answers/bins/crop.h"
#include "base/memory.h"

#include <math.h>
#include <string.h>

enum {
    TRACES_MOST = 40, /* a linear program each */
    TRACES_LEAST = 10,
    INTERVALS_MOST = 8000 /* of all of them */
};
/* Linear programs are solved to some 1e-9; the search ends at this share. */
#define GAP_SHARE 1e-6

/* Where the recursion would be inexact. */
#define NO_SERIES                                                                                            \
    (EFI_PATH_PARALLEL_BEFORE | EFI_PATH_PARALLEL_BEHIND | EFI_PATH_SPLIT_BEFORE | EFI_PATH_LONG_LOOP)

/* ---- which ----------------------------------------------------------------------------------------------
 */

static bool share_a_bin(const efi_path *a, const efi_path *b)
{
    for (int i = 0; i < a->segments - 1; i++)
        for (int j = 0; j < b->segments - 1; j++)
            if (a->bin[i].station >= 0 && a->bin[i].station == b->bin[j].station)
                return true;
    return false;
}

/* Those that are no series, and those that share a bin with one of them. */
static void mark_feeds(efi_bins_crop *crop)
{
    for (int f = 0; f < crop->feed_count; f++)
        crop->feed[f].in_net = crop->feed[f].path.segments > 1 && (crop->feed[f].path.notes & NO_SERIES) != 0;
    for (bool changed = true; changed;) {
        changed = false;
        for (int f = 0; f < crop->feed_count; f++)
            for (int g = 0; g < crop->feed_count && !crop->feed[f].in_net; g++)
                if (crop->feed[g].in_net && share_a_bin(&crop->feed[f].path, &crop->feed[g].path))
                    changed = crop->feed[f].in_net = true;
    }
}

/* The set rate over the balance for each station: of the feeds on whose path it is, in the mean; else 1. */
static void share_loads(const efi_bins_crop *crop, double *load_share)
{
    for (int n = 0; n < crop->plant.network.stations; n++) {
        double sum = 0.0;
        int count = 0;
        for (int f = 0; f < crop->feed_count; f++) {
            const efi_path *path = &crop->feed[f].path;
            bool on_it = false;
            for (int u = 0; u < path->units; u++)
                on_it = on_it || path->unit[u].station == n;
            sum += on_it ? path->rate_share : 0.0;
            count += on_it;
        }
        load_share[n] = count > 0 ? sum / count : 1.0;
    }
}

static ef_status build_net(efi_bins_crop *crop)
{
    efi_bins_net *net = &crop->net;
    double *load_share = efi_arena_get(crop->arena, (size_t)crop->plant.network.stations, sizeof *load_share);
    efi_net_steady *steady = efi_arena_get(crop->arena, (size_t)crop->feed_count, sizeof *steady);
    if (!load_share || !steady)
        return EF_MEMORY;
    share_loads(crop, load_share);
    for (int f = 0; f < crop->feed_count; f++) {
        const efi_bins_feed *feed = &crop->feed[f];
        if (!feed->in_net)
            continue;
        if (net->feeds == 0)
            net->full_tph = feed->out->set_tph;
        const bool tonnes = crop->settings->aim == EF_BINS_PRICE;
        steady[net->feeds++] = (efi_net_steady){.station = feed->station,
                                                .weight = tonnes ? 1.0 : net->full_tph / feed->out->set_tph};
    }
    return net->feeds > 0 ? efi_net_build(&net->net, crop->arena, &crop->plant, crop->flow_tph, load_share,
                                          steady, net->feeds)
                          : EF_OK;
}

/* As many traces as a program each allows. */
static ef_status lay_traces(efi_bins_crop *crop)
{
    efi_bins_net *net = &crop->net;
    const double hours = crop->settings->shifts * crop->bins->shift_h;
    net->trace_count = crop->settings->traces < TRACES_MOST ? crop->settings->traces : TRACES_MOST;
    EF_TRY(efi_net_lay(&net->net, crop->settings->seed, net->trace_count, hours, &net->traces));
    const int most = INTERVALS_MOST / efi_net_intervals(net->traces);
    if (most >= net->trace_count || net->trace_count <= TRACES_LEAST)
        return EF_OK;
    efi_net_free(net->traces);
    net->traces = NULL;
    net->trace_count = most > TRACES_LEAST ? most : TRACES_LEAST;
    return efi_net_lay(&net->net, crop->settings->seed, net->trace_count, hours, &net->traces);
}

static void describe(const efi_bins_crop *crop)
{
    for (int f = 0; f < crop->feed_count; f++) {
        ef_bins_feed *out = crop->feed[f].out;
        const bool in_net = crop->feed[f].in_net;
        out->form = in_net ? EF_BINS_TRACE_PROGRAMS : EF_BINS_RECURSION;
        out->together = in_net ? crop->net.feeds : 1;
        out->program_traces = in_net ? crop->net.trace_count : crop->settings->traces;
    }
}

/* Where the network has no such program (too many bins, loops that never end), the paths are what there is.
 */
static void leave_net(efi_bins_crop *crop)
{
    crop->net.feeds = 0;
    for (int f = 0; f < crop->feed_count; f++)
        crop->feed[f].in_net = false;
}

ef_status efi_bins_prepare_net(efi_bins_crop *crop)
{
    mark_feeds(crop);
    const ef_status status = build_net(crop);
    if (status == EF_USAGE || status == EF_NO_ANSWER)
        leave_net(crop);
    else
        EF_TRY(status);
    if (crop->net.feeds > 0)
        EF_TRY(lay_traces(crop));
    describe(crop);
    return EF_OK;
}

/* ---- what may be chosen ---------------------------------------------------------------------------------
 */

/* The bin on the path of a feed, as that path sees it; NULL. */
static const efi_path_bin *on_path(const efi_bins_feed *feed, int station, int *j)
{
    for (*j = 0; *j < feed->path.segments - 1; (*j)++)
        if (feed->path.bin[*j].station == station)
            return &feed->path.bin[*j];
    return NULL;
}

/* Does anything stop that is not on the path? */
static bool stops_beside(const efi_bins_crop *crop, const efi_path *path)
{
    const efi_net *net = &crop->net.net;
    for (int u = 0; u < net->units; u++) {
        bool on_it = crop->plant.stations[net->unit[u].station].modes == 0;
        for (int i = 0; i < path->units && !on_it; i++)
            on_it = path->unit[i].station == net->unit[u].station;
        if (!on_it)
            return true;
    }
    return false;
}

/* Does a bin lie on a way, and does its volume matter on one? Where the stream parts before it, what stops
 * another branch stops what comes to it. */
static bool lies_on_path(const efi_bins_crop *crop, int station, bool *matters)
{
    bool any = false;
    *matters = false;
    for (int f = 0; f < crop->feed_count; f++) {
        int j = 0;
        const efi_path_bin *bin = crop->feed[f].in_net ? on_path(&crop->feed[f], station, &j) : NULL;
        any = any || bin;
        *matters = *matters ||
                   (bin && (bin->matters || (bin->parts_lines && stops_beside(crop, &crop->feed[f].path))));
    }
    return any;
}

static double m3_per_t(const efi_bins_crop *crop, int station)
{
    return crop->plant.t_per_m3[station] > 0.0 ? 1.0 / crop->plant.t_per_m3[station] : 1.0;
}

static ef_status choose(efi_bins_crop *crop)
{
    efi_bins_net *net = &crop->net;
    for (int b = 0; b < net->net.bins; b++) {
        const int station = net->net.bin[b].station;
        const efi_bins_place place = {
            .station = station, .m3_per_t = m3_per_t(crop, station), .flow_tph = crop->flow_tph[station]};
        efi_bins_place own = place;
        if (lies_on_path(crop, station, &own.matters) && efi_bins_bin_of(crop, station)) {
            EF_TRY(efi_bins_choose(crop, &own, &net->choice[b]));
            continue;
        }
        const double now_t = crop->now_m3[crop->plant.line_station[station]] / place.m3_per_t;
        const double kept_t = now_t > 0.0 ? now_t : EFI_BINS_MOST_HOURS * place.flow_tph;
        net->choice[b] = (efi_sizing_bin){.least_t = kept_t, .most_t = kept_t};
    }
    return EF_OK;
}

/* What may be chosen about the bins of a path, in its own measure. */
static ef_status choose_on_path(const efi_bins_crop *crop, efi_bins_feed *feed)
{
    const efi_bins_net *net = &crop->net;
    const size_t bins = (size_t)feed->path.segments;
    feed->choice = efi_arena_get(crop->arena, bins, sizeof *feed->choice);
    feed->volume_t = efi_arena_get(crop->arena, bins, sizeof *feed->volume_t);
    if (!feed->choice || !feed->volume_t)
        return EF_MEMORY;
    for (int j = 0; j < feed->path.segments - 1; j++) {
        const efi_path_bin *bin = &feed->path.bin[j];
        feed->choice[j] = (efi_sizing_bin){.least_t = bin->volume_t, .most_t = bin->volume_t};
        feed->volume_t[j] = bin->volume_t;
        for (int b = 0; b < net->net.bins; b++) {
            if (net->net.bin[b].station != bin->station)
                continue;
            feed->choice[j] = net->choice[b];
            feed->choice[j].least_t /= bin->t_per_t;
            feed->choice[j].most_t /= bin->t_per_t;
            feed->choice[j].cost *= bin->t_per_t;
        }
    }
    return EF_OK;
}

static ef_status open_net(efi_bins_crop *crop)
{
    efi_bins_net *net = &crop->net;
    const ef_bins_settings *settings = crop->settings;
    double most_t[EFI_FLUID_SEGMENTS_MOST];
    net->choice = efi_arena_get(crop->arena, (size_t)net->net.bins, sizeof *net->choice);
    if (!net->choice)
        return EF_MEMORY;
    EF_TRY(choose(crop));
    for (int f = 0; f < crop->feed_count; f++)
        if (crop->feed[f].in_net)
            EF_TRY(choose_on_path(crop, &crop->feed[f]));
    net->sizing = (efi_sizing){.traces = net->trace_count,
                               .bins = net->net.bins,
                               .pass = efi_net_pass,
                               .add = efi_net_add,
                               .program = net->traces,
                               .gap_share = GAP_SHARE,
                               .bin = net->choice,
                               .tail_share = settings->aim == EF_BINS_TAIL ? settings->tail_share : 1.0,
                               .threads = 1,
                               .go_on = crop->go_on,
                               .context = crop->context};
    net->search = efi_sizing_open(&net->sizing);
    if (!net->search)
        return EF_MEMORY;
    for (int b = 0; b < net->net.bins; b++)
        most_t[b] = net->choice[b].most_t;
    EF_TRY(efi_sizing_shortfall(&net->sizing, most_t, &net->unavoidable_t, NULL));
    net->excess_t = settings->aim == EF_BINS_NONE_SHORT
                        ? 0.0
                        : settings->aim_h * net->full_tph * settings->shifts * net->feeds;
    return EF_OK;
}

/* ---- the search -----------------------------------------------------------------------------------------
 */

efi_sizing_aim efi_bins_net_aim(const efi_bins_crop *crop)
{
    if (crop->settings->aim == EF_BINS_PRICE) /* of a tonne short a shift; a trace has several */
        return (efi_sizing_aim){.priced = true, .price = crop->settings->price / crop->settings->shifts};
    return (efi_sizing_aim){.target_t = crop->net.unavoidable_t + crop->net.excess_t};
}

double efi_bins_net_volume(const efi_bins_crop *crop, const double *volume_t)
{
    const efi_bins_net *net = &crop->net;
    double sum_m3 = 0.0;
    for (int b = 0; b < net->net.bins; b++)
        if (net->choice[b].most_t > net->choice[b].least_t)
            sum_m3 += volume_t[b] * m3_per_t(crop, net->net.bin[b].station);
    return sum_m3;
}

static ef_status keep(efi_bins_crop *crop, efi_bins_feed *feed, const double *volume_t)
{
    for (int b = 0; b < crop->net.net.bins; b++) {
        int j = 0;
        const efi_path_bin *bin = on_path(feed, crop->net.net.bin[b].station, &j);
        if (bin)
            feed->volume_t[j] = volume_t[b] / bin->t_per_t;
    }
    return efi_bins_keep(crop, feed);
}

ef_status efi_bins_size_net(efi_bins_crop *crop)
{
    efi_bins_net *net = &crop->net;
    double volume_t[EFI_FLUID_SEGMENTS_MOST];
    efi_sizing_result result;
    if (net->feeds == 0)
        return EF_OK;
    if (!net->search)
        EF_TRY(open_net(crop));
    const efi_sizing_aim aim = efi_bins_net_aim(crop);
    EF_TRY(efi_sizing_solve(net->search, &aim, volume_t, &result));
    const double full_t = net->full_tph * crop->settings->shifts;
    const double value = result.cost + (aim.priced ? aim.price * result.shortfall_t : 0.0);
    for (int f = 0; f < crop->feed_count; f++) {
        efi_bins_feed *feed = &crop->feed[f];
        if (!feed->in_net)
            continue;
        feed->out->unavoidable_h = net->unavoidable_t / full_t;
        feed->out->sized_h = result.shortfall_t / full_t;
        feed->out->target_h = aim.target_t / full_t;
        feed->out->cuts = result.cuts;
        feed->out->gap_share = value > 0.0 ? fmax(0.0, value - result.bound) / value : 0.0;
        EF_TRY(keep(crop, feed, volume_t));
    }
    return EF_OK;
}
