/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answers/bins/path.h"

#include "base/memory.h"

#include <math.h>
#include <string.h>

enum {
    SEGMENTS = EFI_FLUID_SEGMENTS_MOST
};
/* What tips at once comes within this time, h: a step that no stop notices. */
#define AT_ONCE_H 0x1p-10

/* A walk over one network. A segment is known by the lowest of its stations. */
typedef struct walk {
    const efi_plant_network *plant;
    const efi_network *network;
    const double *flow_tph;
    efi_path *path;
    efi_arena *arena;
    bool *leads_on;  /* shape [stations]: to a product, by spouts that close no loop */
    int *segment_of; /* shape [stations]: the lowest station of its segment; -1: a bin, or leads to no product
                      */
    int *place;      /* shape [stations]: segment of the path that the station is in, -1 */
    double *back_tph; /* shape [stations]: passes in the balance, but comes from another segment */
    int segment[SEGMENTS];
    int before[SEGMENTS]; /* bin before the segment, -1 */
    int count;
} walk;

static bool is_bin(const walk *w, int station)
{
    return w->network->station[station].kind == EFI_NETWORK_BIN;
}

static double flow_of(const walk *w, const efi_network_spout *spout)
{
    return spout->share * w->flow_tph[spout->from];
}

/* ---- segments -------------------------------------------------------------------------------------------
 */

static void mark_leads_on(const walk *w, const bool *is_product)
{
    for (int n = 0; n < w->network->stations; n++)
        w->leads_on[n] = is_product[n];
    for (bool changed = true; changed;) {
        changed = false;
        for (int k = 0; k < w->network->spouts; k++) {
            const efi_network_spout *spout = &w->network->spout[k];
            if (!spout->is_return && w->leads_on[spout->to] && !w->leads_on[spout->from])
                changed = w->leads_on[spout->from] = true;
        }
    }
}

/* Joins what no bin parts, until nothing changes. */
static void join_segments(const walk *w)
{
    for (int n = 0; n < w->network->stations; n++)
        w->segment_of[n] = w->leads_on[n] && !is_bin(w, n) ? n : -1;
    for (bool changed = true; changed;) {
        changed = false;
        for (int k = 0; k < w->network->spouts; k++) {
            const efi_network_spout *spout = &w->network->spout[k];
            int *from = &w->segment_of[spout->from];
            int *to = &w->segment_of[spout->to];
            if (spout->is_return || *from < 0 || *to < 0 || *from == *to)
                continue;
            *from = *to = *from < *to ? *from : *to;
            changed = true;
        }
    }
}

/* The bin that brings the segment most, -1; and how many do. */
static int bin_before(const walk *w, int segment, int *count)
{
    int best = -1;
    double most = 0.0;
    *count = 0;
    for (int k = 0; k < w->network->spouts; k++) {
        const efi_network_spout *spout = &w->network->spout[k];
        if (spout->is_return || !is_bin(w, spout->from) || w->segment_of[spout->to] != segment)
            continue;
        (*count)++;
        if (flow_of(w, spout) > most) {
            most = flow_of(w, spout);
            best = spout->from;
        }
    }
    return best;
}

/* The segment that brings a bin most, -1; and how many spouts from others do. */
static int segment_before(const walk *w, int bin, int *others)
{
    int best = -1;
    double most = 0.0;
    *others = 0;
    for (int k = 0; k < w->network->spouts; k++) {
        const efi_network_spout *spout = &w->network->spout[k];
        const int segment = w->segment_of[spout->from];
        if (spout->is_return || spout->to != bin || segment < 0)
            continue;
        *others += best >= 0 && segment != best;
        if (flow_of(w, spout) > most) {
            most = flow_of(w, spout);
            best = segment;
        }
    }
    return best;
}

/* The bin that gets most from the segment, -1; and how many do. */
static int bin_behind(const walk *w, int segment, int *count)
{
    int best = -1;
    double most = 0.0;
    *count = 0;
    for (int k = 0; k < w->network->spouts; k++) {
        const efi_network_spout *spout = &w->network->spout[k];
        if (spout->is_return || !is_bin(w, spout->to) || !w->leads_on[spout->to] ||
            w->segment_of[spout->from] != segment)
            continue;
        (*count)++;
        if (flow_of(w, spout) > most) {
            most = flow_of(w, spout);
            best = spout->to;
        }
    }
    return best;
}

static int segment_behind(const walk *w, int bin)
{
    for (int k = 0; k < w->network->spouts; k++)
        if (w->network->spout[k].from == bin)
            return w->segment_of[w->network->spout[k].to];
    return -1;
}

static bool is_on_path(const walk *w, int segment)
{
    for (int i = 0; i < w->count; i++)
        if (w->segment[i] == segment)
            return true;
    return false;
}

/* Segments before that of the feed, put in front of it one after the other. */
static ef_status walk_up(walk *w)
{
    for (;;) {
        int bins = 0;
        int others = 0;
        const int bin = bin_before(w, w->segment[0], &bins);
        const int segment = bin < 0 ? -1 : segment_before(w, bin, &others);
        if (bins > 1 || others > 0)
            w->path->notes |= EFI_PATH_PARALLEL_BEFORE;
        if (segment < 0 || is_on_path(w, segment))
            return EF_OK;
        if (w->count == SEGMENTS)
            return EF_USAGE;
        memmove(w->segment + 1, w->segment, (size_t)w->count * sizeof *w->segment);
        memmove(w->before + 1, w->before, (size_t)w->count * sizeof *w->before);
        int fed = 0;
        (void)bin_behind(w, segment, &fed);
        if (fed > 1)
            w->path->notes |= EFI_PATH_SPLIT_BEFORE;
        w->segment[0] = segment;
        w->before[0] = -1;
        w->before[1] = bin;
        w->count++;
        w->path->feed_segment++;
    }
}

static ef_status walk_down(walk *w)
{
    for (;;) {
        int bins = 0;
        const int bin = bin_behind(w, w->segment[w->count - 1], &bins);
        const int segment = bin < 0 ? -1 : segment_behind(w, bin);
        if (bins > 1)
            w->path->notes |= EFI_PATH_PARALLEL_BEHIND;
        if (segment < 0 || is_on_path(w, segment))
            return EF_OK;
        if (w->count == SEGMENTS)
            return EF_USAGE;
        w->before[w->count] = bin;
        w->segment[w->count++] = segment;
    }
}

/* Where each station is: its own segment, or that of the first which sends to it and leads to no product. */
static void place_stations(walk *w)
{
    for (int n = 0; n < w->network->stations; n++) {
        w->place[n] = -1;
        for (int i = 0; i < w->count; i++)
            if (w->segment_of[n] >= 0 && w->segment_of[n] == w->segment[i])
                w->place[n] = i;
    }
    for (bool changed = true; changed;) {
        changed = false;
        for (int k = 0; k < w->network->spouts; k++) {
            const efi_network_spout *spout = &w->network->spout[k];
            if (spout->is_return || w->place[spout->from] < 0 || w->place[spout->to] >= 0 ||
                w->leads_on[spout->to] || is_bin(w, spout->to))
                continue;
            w->place[spout->to] = w->place[spout->from];
            changed = true;
        }
    }
}

/* ---- returns --------------------------------------------------------------------------------------------
 */

/* From which segment to which a spout carries back over at least one bin; false where it does not. */
static bool crosses_back(const walk *w, const efi_network_spout *spout, int *from, int *to)
{
    *from = w->place[spout->from];
    *to = w->place[spout->to];
    for (int i = 0; *to < 0 && i + 1 < w->count; i++)
        if (spout->to == w->before[i + 1])
            *to = i;
    return spout->is_return && *from >= 0 && *to >= 0 && *from > *to;
}

static void spread_returns(walk *w)
{
    for (int k = 0; k < w->network->spouts; k++) {
        const efi_network_spout *spout = &w->network->spout[k];
        int from = 0;
        int to = 0;
        if (!crosses_back(w, spout, &from, &to))
            continue;
        if (from > to + 1)
            w->path->notes |= EFI_PATH_LONG_LOOP;
        if (!is_bin(w, spout->to))
            w->back_tph[spout->to] += flow_of(w, spout);
    }
    /* stations come after those that feed them, so one pass is enough */
    for (int k = 0; k < w->network->spouts; k++) {
        const efi_network_spout *spout = &w->network->spout[k];
        const int place = w->place[spout->from];
        if (!spout->is_return && place >= 0 && place == w->place[spout->to])
            w->back_tph[spout->to] += spout->share * w->back_tph[spout->from];
    }
}

/* What returns over the bin before segment `i`, t/h in the balance. */
static double returned_over(const walk *w, int i)
{
    double sum_tph = 0.0;
    for (int k = 0; k < w->network->spouts; k++) {
        int from = 0;
        int to = 0;
        if (crosses_back(w, &w->network->spout[k], &from, &to) && from >= i && to < i)
            sum_tph += flow_of(w, &w->network->spout[k]);
    }
    return sum_tph;
}

/* ---- units ----------------------------------------------------------------------------------------------
 */

static const efi_network_station *station_of(const walk *w, int n)
{
    return &w->network->station[n];
}

double efi_path_machine_tph(const efi_network_station *of)
{
    const efi_network_batch *batch = &of->batch;
    if (!batch->is_used)
        return of->capacity_tph;
    return batch->charge_t /
           (batch->charge_t / of->capacity_tph + batch->work_h + batch->charge_t / batch->discharge_tph);
}

bool efi_path_acts(const efi_network_station *of)
{
    return of->kind != EFI_NETWORK_BIN && of->kind != EFI_NETWORK_SPLIT &&
           (isfinite(of->capacity_tph) || of->modes > 0);
}

static bool is_side(const walk *w, int n)
{
    return w->segment_of[n] < 0 && !is_bin(w, n);
}

/* Does a station of segment `place` send to a side station, by whatever way along side stations? Such a way
 * is short: conveyors of what is cleaned out. */
static bool sends_to_side(const walk *w, int place, int side, int depth)
{
    for (int k = 0; k < w->network->spouts; k++) {
        const efi_network_spout *spout = &w->network->spout[k];
        if (spout->to != side || spout->is_return)
            continue;
        if (w->segment_of[spout->from] >= 0 && w->place[spout->from] == place)
            return true;
        if (depth > 0 && is_side(w, spout->from) && sends_to_side(w, place, spout->from, depth - 1))
            return true;
    }
    return false;
}

static bool is_of_segment(const walk *w, int n, int place)
{
    return w->segment_of[n] >= 0 ? w->place[n] == place : is_side(w, n) && sends_to_side(w, place, n, 4);
}

/* Capacity of one machine in the measure; see path.h. */
static double measured_capacity(const walk *w, int n)
{
    const efi_network_station *of = station_of(w, n);
    const double back_tph = w->back_tph[n] * (n == w->path->feed ? 0.0 : w->path->rate_share);
    const double fresh_tph = w->flow_tph[n] - w->back_tph[n];
    const double all_tph = efi_path_machine_tph(of) * of->machines - back_tph;
    if (!isfinite(all_tph) || !(fresh_tph > 0.0))
        return INFINITY;
    return fmax(all_tph, 0.0) / fresh_tph * w->path->net_tph / of->machines;
}

efi_trace_basis efi_path_basis(const efi_network_station *of, double flow_tph, double load_share)
{
    const double all_tph = efi_path_machine_tph(of) * of->machines;
    const bool limited = isfinite(all_tph) && all_tph > 0.0;
    return (efi_trace_basis){.running_share = limited ? fmin(1.0, flow_tph * load_share / all_tph) : 1.0,
                             .rate_tph = limited ? efi_path_machine_tph(of)
                                                 : fmax(flow_tph * load_share / of->machines, 1e-9)};
}

static void add_unit(walk *w, efi_path_unit *unit, int segment, int n, bool echo)
{
    efi_path *path = w->path;
    const efi_network_station *of = station_of(w, n);
    unit[path->units++] = (efi_path_unit){.segment = segment,
                                          .station = n,
                                          .echo = echo,
                                          .capacity_tph = echo ? INFINITY : measured_capacity(w, n),
                                          .flow_tph = w->flow_tph[n],
                                          .back_tph = w->back_tph[n],
                                          .basis = efi_path_basis(of, w->flow_tph[n], path->rate_share)};
    path->machines += of->machines;
    if (of->batch.is_used)
        path->notes |= EFI_PATH_BATCHES;
    bool waits = of->delay_h > 0.0;
    for (int i = 0; i < of->modes; i++)
        waits = waits || of->mode[i].has_crew;
    if (waits)
        path->notes |= EFI_PATH_TIMED;
}

/* Must what segment `place` sends back pass this station of another segment? */
static bool holds_up(const walk *w, int n, int place)
{
    if (w->place[n] < 0 || w->place[n] >= place || !(w->back_tph[n] > 0.0) || station_of(w, n)->modes == 0)
        return false;
    for (int k = 0; k < w->network->spouts; k++) {
        int from = 0;
        int to = 0;
        if (crosses_back(w, &w->network->spout[k], &from, &to) && from == place && to == w->place[n])
            return true;
    }
    return false;
}

/* What a segment passes when nothing in it is stopped. */
static double full_capacity(const walk *w, int segment)
{
    const efi_path *path = w->path;
    double least_tph = INFINITY;
    for (int u = 0; u < path->units; u++) {
        const efi_path_unit *unit = &path->unit[u];
        if (unit->segment == segment && !unit->arrivals && !unit->echo)
            least_tph = fmin(least_tph, unit->capacity_tph * station_of(w, unit->station)->machines);
    }
    return least_tph;
}

/* Loads tip at the pace of what lies behind the pit, those that are dumped at once in next to no time. */
static void pace_loads(const walk *w, efi_path_unit *unit, bool instant)
{
    efi_path *path = w->path;
    const double pace_tph = full_capacity(w, 1);
    path->tip_h = instant || !isfinite(pace_tph) ? AT_ONCE_H : fmax(path->load_t / pace_tph, AT_ONCE_H);
    unit->capacity_tph = path->load_t / path->tip_h;
}

static ef_status add_units(walk *w)
{
    efi_path *path = w->path;
    const size_t most = (size_t)w->network->stations * (size_t)(2 * w->count) + 1;
    efi_path_unit *unit = efi_arena_get(w->arena, most, sizeof *unit);
    if (!unit)
        return EF_MEMORY;
    path->unit = unit;
    const bool instant = path->loads_of >= 0 && station_of(w, path->loads_of)->loads.is_instant;
    const int shift = path->loads_of >= 0 && !instant ? 1 : 0;
    if (path->loads_of >= 0) {
        unit[path->units++] = (efi_path_unit){.segment = 0,
                                              .station = path->loads_of,
                                              .arrivals = true,
                                              .flow_tph = w->flow_tph[path->loads_of],
                                              .capacity_tph = INFINITY};
        path->machines++;
    }
    for (int i = 0; i < w->count; i++) {
        for (int n = 0; n < w->network->stations; n++) {
            if (!efi_path_acts(station_of(w, n)) || (instant && n == path->loads_of))
                continue;
            if (is_of_segment(w, n, i))
                add_unit(w, unit, i + shift, n, false);
            else if (holds_up(w, n, i))
                add_unit(w, unit, i + shift, n, true);
            if (n != path->feed && station_of(w, n)->steady.is_steady && w->place[n] >= 0)
                path->notes |= EFI_PATH_FEED_BETWEEN;
        }
    }
    if (path->loads_of >= 0)
        pace_loads(w, &unit[0], instant);
    path->segments = w->count + shift;
    path->feed_segment += shift;
    return path->segments > SEGMENTS || path->machines > EFI_FLUID_UNITS_MOST ? EF_USAGE : EF_OK;
}

/* ---- bins -----------------------------------------------------------------------------------------------
 */

static double into_bin(const walk *w, int bin)
{
    double sum_tph = 0.0;
    for (int k = 0; k < w->network->spouts; k++)
        sum_tph += w->network->spout[k].to == bin ? flow_of(w, &w->network->spout[k]) : 0.0;
    return sum_tph;
}

static bool stops_within(const walk *w, int from, int to)
{
    const efi_path *path = w->path;
    for (int u = 0; u < path->units; u++) {
        const efi_path_unit *unit = &path->unit[u];
        if (unit->segment >= from && unit->segment < to &&
            (unit->arrivals || station_of(w, unit->station)->modes > 0))
            return true;
    }
    return false;
}

/*
 * Does the volume of the bin between segments j and j + 1 matter? Where its far side never stops and is no
 * slower than the segment on its near side, that segment never waits for it. Where it is slower, it must be
 * able to go on while something between the bin and the steady-feed station stands.
 */
static bool matters(const walk *w, int j)
{
    const efi_path *path = w->path;
    const bool before = j < path->feed_segment;
    const int far_from = before ? 0 : j + 1;
    const int far_to = before ? j + 1 : path->segments;
    double far_tph = INFINITY;
    if (stops_within(w, far_from, far_to))
        return true;
    for (int i = far_from; i < far_to; i++)
        far_tph = fmin(far_tph, full_capacity(w, i));
    return far_tph < full_capacity(w, before ? j + 1 : j) &&
           (before ? stops_within(w, j + 1, path->feed_segment)
                   : stops_within(w, path->feed_segment + 1, j + 1));
}

static ef_status add_bins(walk *w)
{
    efi_path *path = w->path;
    const int shift = path->segments - w->count;
    efi_path_bin *bin = efi_arena_get(w->arena, (size_t)path->segments, sizeof *bin);
    if (!bin)
        return EF_MEMORY;
    path->bin = bin;
    if (shift > 0) /* trucks are no store: what finds no room when its turn comes goes elsewhere */
        bin[0] = (efi_path_bin){.station = -1,
                                .t_per_t = w->flow_tph[path->loads_of] / path->net_tph,
                                .volume_t = EFI_FLUID_LEAST_T,
                                .before = true};
    for (int i = 1; i < w->count; i++) {
        efi_path_bin *b = &bin[i - 1 + shift];
        const efi_network_bin *of = &station_of(w, w->before[i])->bin;
        b->station = w->before[i];
        b->t_per_t = (into_bin(w, b->station) - returned_over(w, i)) / path->net_tph;
        b->volume_t = of->full_t / b->t_per_t;
        b->start_share = of->full_t > 0.0 ? of->start_t / of->full_t : 0.0;
        b->before = i - 1 + shift < path->feed_segment;
        int fed = 0;
        (void)bin_behind(w, w->segment[i - 1], &fed);
        b->parts_lines = fed > 1;
        b->matters = matters(w, i - 1 + shift);
    }
    return EF_OK;
}

/* ---- the path -------------------------------------------------------------------------------------------
 */

static void find_loads(walk *w)
{
    efi_path *path = w->path;
    int intakes = 0;
    path->loads_of = -1;
    for (int n = 0; n < w->network->stations; n++) {
        if (station_of(w, n)->kind != EFI_NETWORK_INTAKE || w->place[n] < 0)
            continue;
        intakes++;
        if (station_of(w, n)->loads.is_used && w->place[n] == 0)
            path->loads_of = n;
    }
    if (path->loads_of >= 0 && intakes > 1) {
        path->notes |= EFI_PATH_MANY_INTAKES;
        path->loads_of = -1;
    }
    if (path->loads_of >= 0)
        path->load_t = efi_distribution_mean(&station_of(w, path->loads_of)->loads.load_t) /
                       w->flow_tph[path->loads_of] * path->net_tph;
}

static ef_status take_memory(walk *w)
{
    const size_t stations = (size_t)w->network->stations;
    w->leads_on = efi_arena_get(w->arena, stations, sizeof *w->leads_on);
    w->segment_of = efi_arena_get(w->arena, stations, sizeof *w->segment_of);
    w->place = efi_arena_get(w->arena, stations, sizeof *w->place);
    w->back_tph = efi_arena_get(w->arena, stations, sizeof *w->back_tph);
    return w->leads_on && w->segment_of && w->place && w->back_tph ? EF_OK : EF_MEMORY;
}

ef_status efi_path_follow(efi_path *path, efi_arena *arena, const efi_plant_network *plant,
                          const double *flow_tph, const bool *is_product, int feed, double rate_share)
{
    *path = (efi_path){.plant = plant, .feed = feed, .rate_share = rate_share};
    walk w = {.plant = plant, .network = &plant->network, .flow_tph = flow_tph, .path = path, .arena = arena};
    EF_TRY(take_memory(&w));
    mark_leads_on(&w, is_product);
    w.leads_on[feed] = true;
    join_segments(&w);
    w.segment[0] = w.segment_of[feed];
    w.before[0] = -1;
    w.count = 1;
    EF_TRY(walk_up(&w));
    EF_TRY(walk_down(&w));
    place_stations(&w);
    spread_returns(&w);
    path->net_tph = flow_tph[feed] - returned_over(&w, path->feed_segment);
    find_loads(&w);
    EF_TRY(add_units(&w));
    return add_bins(&w);
}
