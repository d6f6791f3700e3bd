/* SPDX-License-Identifier: GPL-3.0-or-later
 * What sets the volume of a bin: the heaviest demand on it, and the stops that make it up. */
#include "answers/bins/crop.h"
#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    STOPS_MOST = 4, /* listed with a reason */
    BINS = EFI_FLUID_SEGMENTS_MOST - 1
};
/* A bin that has been filled to within this share of its volume is full, or empty. */
#define EDGE_SHARE 1e-6
/* A demand on a bin that had been full, and that uses this share of it, says more than one at the beginning.
 */
#define TYPICAL_SHARE 0.9
/* A shortfall below this, t/h, is rounding. */
#define SHORT_TPH 1e-6

/* A demand on one bin: before the feed it draws the level down from where it stood last at full or at the
 * beginning, behind the feed it fills the room from where the bin stood last empty. */
typedef struct demand {
    int trace;
    double from_h;
    double to_h;
    double used; /* share of what was there at from_h */
    bool from_start;
    bool met;
} demand;

typedef struct watch {
    const efi_path *path;
    const double *volume_t;
    int trace;
    demand best[BINS];
    /* where the bin stood last at its good end */
    double anchor_h[BINS];
    double anchor_left_t[BINS];
    bool from_start[BINS];
} watch;

/* What is left of a bin: its level before the feed, its room behind it. */
static double left_t(const watch *w, int j, const double *level_t)
{
    return w->path->bin[j].before ? level_t[j] : w->volume_t[j] - level_t[j];
}

static bool is_better(const demand *a, const demand *b)
{
    if (a->met != b->met)
        return a->met;
    const bool a_typical = !a->from_start && a->used >= TYPICAL_SHARE;
    const bool b_typical = !b->from_start && b->used >= TYPICAL_SHARE;
    if (a_typical != b_typical)
        return a_typical;
    return a->used > b->used + 1e-9;
}

static void look_at_piece(void *context, const efi_fluid_piece *piece)
{
    watch *w = context;
    for (int j = 0; j < w->path->segments - 1; j++) {
        const double volume_t = w->volume_t[j];
        const double before_t = left_t(w, j, piece->before_t);
        const double after_t = left_t(w, j, piece->after_t);
        if (before_t >= volume_t * (1.0 - EDGE_SHARE)) {
            w->anchor_h[j] = piece->from_h;
            w->anchor_left_t[j] = before_t;
            w->from_start[j] = false;
        }
        if (!(after_t < before_t) || !(w->anchor_left_t[j] > 0.0)) {
            /* standing at its end while the feed is short: the demand is not met */
            if (piece->short_tph > SHORT_TPH && before_t <= volume_t * EDGE_SHARE &&
                w->best[j].trace == w->trace && w->best[j].to_h >= piece->from_h - 1e-9)
                w->best[j].met = false;
            continue;
        }
        const demand one = {.trace = w->trace,
                            .from_h = w->anchor_h[j],
                            .to_h = piece->to_h,
                            .used = (w->anchor_left_t[j] - after_t) / w->anchor_left_t[j],
                            .from_start = w->from_start[j],
                            .met = true};
        if (is_better(&one, &w->best[j]))
            w->best[j] = one;
    }
}

/* ---- the stops of a demand ------------------------------------------------------------------------------
 */

typedef struct stop_list {
    ef_bins_stop stop[STOPS_MOST];
    int count;
    int more;
} stop_list;

/* Keeps the longest, in falling order; of equal ones the first. */
static void keep_stop(stop_list *list, ef_bins_stop one)
{
    int at = list->count;
    while (at > 0 && one.to_h - one.from_h > list->stop[at - 1].to_h - list->stop[at - 1].from_h)
        at--;
    if (list->count == STOPS_MOST) {
        list->more++;
        if (at == STOPS_MOST)
            return;
    } else {
        list->count++;
    }
    for (int i = list->count - 1; i > at; i--)
        list->stop[i] = list->stop[i - 1];
    list->stop[at] = one;
}

/* The mode of a station that gives each interval: all others are made silent, which leaves it its stream. */
static ef_status add_mode(const efi_bins_crop *crop, const efi_path_unit *unit, int machine, int mode,
                          const demand *d, stop_list *list)
{
    static const efi_stop_mode silent = {.schedule = EFI_STOPS_LIST};
    const efi_network_station *of = &crop->plant.stations[unit->station];
    const efi_station *station = crop->line.stations[crop->plant.line_station[unit->station]].of;
    efi_stop_mode *modes = efi_new((size_t)of->modes, sizeof *modes);
    efi_trace trace = {0};
    efi_trace_basis basis = unit->basis;
    basis.horizon_h = crop->settings->shifts * crop->bins->shift_h;
    if (!modes)
        return EF_MEMORY;
    for (int i = 0; i < of->modes; i++)
        modes[i] = i == mode ? of->mode[i] : silent;
    const ef_status status = efi_trace_lay(modes, of->modes, of->key, machine, crop->settings->seed,
                                           (uint64_t)d->trace, &basis, &trace);
    for (int i = 0; status == EF_OK && i < trace.stops; i++)
        if (trace.stop[i].from_h < d->to_h && trace.stop[i].to_h > d->from_h)
            keep_stop(list, (ef_bins_stop){
                                .station = of->name,
                                .stop = mode < station->stops.count ? station->stops.items[mode].name : "",
                                .machine = of->machines > 1 ? machine + 1 : 0,
                                .from_h = trace.stop[i].from_h,
                                .to_h = trace.stop[i].to_h});
    efi_trace_free(&trace);
    efi_free(modes);
    return status;
}

/* Times without a load that reach into the demand, where they are longer than a stop is. */
static void add_gaps(const efi_bins_crop *crop, const efi_bins_feed *feed, const efi_path_unit *unit,
                     const demand *d, stop_list *list)
{
    const efi_fluid_line *line = &feed->lines.line[d->trace];
    for (int u = 0; u < line->units; u++) {
        if (&feed->path.unit[line->unit[u].station] != unit)
            continue;
        const efi_trace *gaps = line->unit[u].stops;
        for (int i = 0; i < gaps->stops; i++)
            if (gaps->stop[i].from_h < d->to_h && gaps->stop[i].to_h > d->from_h)
                keep_stop(list, (ef_bins_stop){.station = crop->plant.stations[unit->station].name,
                                               .from_h = gaps->stop[i].from_h,
                                               .to_h = gaps->stop[i].to_h});
    }
}

/* What stopped on the far side of bin j during a demand. */
static ef_status list_stops(const efi_bins_crop *crop, const efi_bins_feed *feed, int j, const demand *d,
                            stop_list *list)
{
    const efi_path *path = &feed->path;
    for (int u = 0; u < path->units; u++) {
        const efi_path_unit *unit = &path->unit[u];
        const bool far_side = path->bin[j].before ? unit->segment <= j : unit->segment > j;
        if (!far_side || unit->echo)
            continue;
        if (unit->arrivals) {
            add_gaps(crop, feed, unit, d, list);
            continue;
        }
        const efi_network_station *of = &crop->plant.stations[unit->station];
        for (int m = 0; m < of->machines; m++)
            for (int mode = 0; mode < of->modes; mode++)
                EF_TRY(add_mode(crop, unit, m, mode, d, list));
    }
    return EF_OK;
}

static ef_status keep_reason(efi_bins_crop *crop, const efi_bins_feed *feed, int j, const demand *d)
{
    ef_bins_bin *bin = efi_bins_bin_of(crop, feed->path.bin[j].station);
    stop_list list = {0};
    if (!bin || bin->choice != EF_BINS_SIZED || bin->feed != feed->out->name || !(d->used > 0.0))
        return EF_OK;
    EF_TRY(list_stops(crop, feed, j, d, &list));
    ef_bins_stop *stops = efi_arena_get(crop->arena, STOPS_MOST, sizeof *stops);
    if (!stops)
        return EF_MEMORY;
    memcpy(stops, list.stop, sizeof list.stop);
    bin->has_reason = list.count > 0;
    bin->reason = (ef_bins_reason){.trace = d->trace,
                                   .from_h = d->from_h,
                                   .to_h = d->to_h,
                                   .used_share = d->used,
                                   .from_start = d->from_start,
                                   .met = d->met,
                                   .stops = stops,
                                   .stop_count = list.count,
                                   .more_stops = list.more};
    return EF_OK;
}

ef_status efi_bins_explain(efi_bins_crop *crop, efi_bins_feed *feed)
{
    watch w = {.path = &feed->path, .volume_t = feed->volume_t};
    const int bins = feed->path.segments - 1;
    for (int t = 0; t < crop->settings->traces; t++) {
        double shortfall_t = 0.0;
        w.trace = t;
        for (int j = 0; j < bins; j++) {
            const double level_t = w.volume_t[j] * feed->path.bin[j].start_share;
            w.anchor_h[j] = 0.0;
            w.anchor_left_t[j] = feed->path.bin[j].before ? level_t : w.volume_t[j] - level_t;
            w.from_start[j] = true;
        }
        EF_TRY(efi_fluid_watch(&feed->lines.line[t], w.volume_t, look_at_piece, &w, &shortfall_t));
    }
    for (int j = 0; j < bins; j++)
        if (feed->path.bin[j].station >= 0)
            EF_TRY(keep_reason(crop, feed, j, &w.best[j]));
    return EF_OK;
}
