/* SPDX-License-Identifier: GPL-3.0-or-later
 * The traces of a path: its stops laid on the clock, as the fluid recursion takes them. */
#include "answers/bins/path.h"
#include "base/memory.h"
#include "base/threads.h"

#include <math.h>

typedef struct laying {
    const efi_path *path;
    efi_path_lines *lines;
    uint64_t seed;
    double hours;
} laying;

/* The loads as what is between them: stopped but while one tips. */
static ef_status lay_arrivals(const laying *l, const efi_network_station *intake, int trace, efi_trace *out)
{
    efi_random random = efi_random_stream(l->seed, (uint64_t)trace,
                                          efi_stop_stream(intake->key, EFI_ARRIVAL_UNIT, 0));
    double free_h = 0.0; /* the last load has come by then */
    double at_h = 0.0;
    for (bool first = true; free_h < l->hours; first = false) {
        const double gap_h = efi_distribution_draw(&intake->loads.gap_h, &random);
        at_h = first && intake->loads.has_first ? intake->loads.first_h : at_h + gap_h;
        const double from_h = fmax(at_h, free_h);
        if (from_h > free_h) {
            if (efi_grow(&out->stop, (size_t)out->stops, &out->room, sizeof *out->stop) != 0)
                return EF_MEMORY;
            out->stop[out->stops++] = (efi_interval){free_h, fmin(from_h, l->hours)};
        }
        free_h = from_h + l->path->tip_h;
    }
    return EF_OK;
}

/* Gives back the room that a trace does not need. */
static void trim(efi_trace *trace)
{
    efi_interval *fits = trace->stops > 0 ? efi_resize(trace->stop, (size_t)trace->stops, sizeof *fits)
                                          : NULL;
    if (fits) {
        trace->stop = fits;
        trace->room = (size_t)trace->stops;
    }
}

static ef_status lay_trace(const laying *l, int trace)
{
    const efi_path *path = l->path;
    efi_path_lines *lines = l->lines;
    const size_t first = (size_t)trace * (size_t)lines->units;
    int at = 0;
    for (int u = 0; u < path->units; u++) {
        const efi_path_unit *from = &path->unit[u];
        const efi_network_station *of = &path->plant->network.station[from->station];
        efi_trace_basis basis = from->basis;
        basis.horizon_h = l->hours;
        for (int m = 0; m < (from->arrivals ? 1 : of->machines); m++, at++) {
            efi_trace *stops = &lines->stops[first + (size_t)at];
            EF_TRY(from->arrivals ? lay_arrivals(l, of, trace, stops)
                                  : efi_trace_lay(of->mode, of->modes, of->key, m, l->seed, (uint64_t)trace,
                                                  &basis, stops));
            trim(stops);
            lines->unit[first + (size_t)at] = (efi_fluid_unit){
                .segment = from->segment, .station = u, .capacity_tph = from->capacity_tph, .stops = stops};
        }
    }
    return EF_OK;
}

enum {
    BLOCK = 64 /* traces of one job */
};

static ef_status lay_block(void *context, int block)
{
    const laying *l = context;
    for (int t = block * BLOCK; t < (block + 1) * BLOCK && t < l->lines->traces; t++)
        EF_TRY(lay_trace(l, t));
    return EF_OK;
}

static int feed_unit(const efi_path *path)
{
    for (int u = 0; u < path->units; u++)
        if (path->unit[u].station == path->feed && !path->unit[u].echo)
            return u;
    return -1;
}

ef_status efi_path_lay(const efi_path *path, uint64_t seed, int traces, double hours, int threads,
                       efi_path_lines *lines)
{
    const size_t count = (size_t)traces;
    const size_t units = (size_t)path->machines;
    *lines = (efi_path_lines){.traces = traces, .units = path->machines};
    lines->line = efi_new(count, sizeof *lines->line);
    lines->unit = efi_new(count * units, sizeof *lines->unit);
    lines->stops = efi_new(count * units, sizeof *lines->stops);
    lines->start_share = efi_new((size_t)path->segments, sizeof *lines->start_share);
    if (!lines->line || !lines->unit || !lines->stops || !lines->start_share) {
        efi_path_lines_free(lines);
        return EF_MEMORY;
    }
    for (int i = 0; i < path->segments - 1; i++)
        lines->start_share[i] = path->bin[i].start_share;
    for (size_t t = 0; t < count; t++)
        lines->line[t] = (efi_fluid_line){.segments = path->segments,
                                          .units = path->machines,
                                          .unit = lines->unit + t * units,
                                          .feed_station = feed_unit(path),
                                          .start_share = lines->start_share,
                                          .to_h = hours};
    laying l = {path, lines, seed, hours};
    const ef_status status = efi_threads_run(threads, (traces + BLOCK - 1) / BLOCK, lay_block, &l);
    if (status != EF_OK)
        efi_path_lines_free(lines);
    return status;
}

void efi_path_lines_free(efi_path_lines *lines)
{
    for (size_t i = 0; lines->stops && i < (size_t)lines->traces * (size_t)lines->units; i++)
        efi_trace_free(&lines->stops[i]);
    efi_free(lines->line);
    efi_free(lines->unit);
    efi_free(lines->stops);
    efi_free(lines->start_share);
    *lines = (efi_path_lines){0};
}
