/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/stops/trace.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

void efi_trace_sequence(const efi_stop_mode *mode, uint64_t seed, uint64_t replication, uint64_t stream,
                        int count, double *gap, double *duration_h)
{
    efi_stop_source source;
    efi_stop_source_start(&source, mode, seed, replication, stream);
    for (int i = 0; i < count; i++) {
        gap[i] = efi_stop_source_gap(&source);
        duration_h[i] = gap[i] < INFINITY ? efi_stop_source_duration(&source) : 0.0;
    }
}

/* Hours of clock that an amount until the next stop takes. */
static double clock_gap_h(const efi_stop_mode *mode, const efi_trace_basis *basis, double gap)
{
    switch (mode->counting) {
    case EFI_COUNT_CLOCK:
        return gap;
    case EFI_COUNT_RUNNING:
        return efi_grid_round(gap / basis->running_share);
    case EFI_COUNT_TONNES:
        return efi_grid_round(gap / (basis->running_share * basis->rate_tph));
    }
    return gap;
}

static ef_status add_mode(const efi_stop_mode *mode, uint64_t seed, uint64_t replication, uint64_t stream,
                          const efi_trace_basis *basis, efi_trace *trace)
{
    efi_stop_source source;
    efi_stop_source_start(&source, mode, seed, replication, stream);
    double now_h = 0.0;
    for (;;) {
        now_h += clock_gap_h(mode, basis, efi_stop_source_gap(&source));
        if (!(now_h < basis->horizon_h))
            return EF_OK;
        if (efi_grow(&trace->stop, (size_t)trace->stops, &trace->room, sizeof *trace->stop) != 0)
            return EF_MEMORY;
        const double to_h = now_h + efi_stop_source_duration(&source);
        trace->stop[trace->stops++] = (efi_interval){now_h, to_h};
        now_h = to_h;
    }
}

static int compare_intervals(const void *a, const void *b)
{
    const efi_interval *x = a;
    const efi_interval *y = b;
    if (x->from_h < y->from_h || x->from_h > y->from_h)
        return x->from_h < y->from_h ? -1 : 1;
    return (x->to_h > y->to_h) - (x->to_h < y->to_h);
}

/* Sorts, and joins what overlaps or touches; equal intervals are equal, so an unstable sort does no harm. */
static void merge_stops(efi_trace *trace)
{
    if (trace->stops < 2)
        return;
    qsort(trace->stop, (size_t)trace->stops, sizeof *trace->stop, compare_intervals);
    int last = 0;
    for (int i = 1; i < trace->stops; i++) {
        const efi_interval one = trace->stop[i];
        if (one.from_h > trace->stop[last].to_h)
            trace->stop[++last] = one;
        else if (one.to_h > trace->stop[last].to_h)
            trace->stop[last].to_h = one.to_h;
    }
    trace->stops = last + 1;
}

ef_status efi_trace_lay(const efi_stop_mode *modes, int mode_count, uint64_t station_key, int unit,
                        uint64_t seed, uint64_t replication, const efi_trace_basis *basis, efi_trace *trace)
{
    assert(basis->horizon_h > 0.0 && basis->running_share > 0.0 && basis->rate_tph > 0.0);
    trace->stops = 0;
    for (int i = 0; i < mode_count; i++) {
        const uint64_t stream = efi_stop_stream(station_key, unit, i);
        if (add_mode(&modes[i], seed, replication, stream, basis, trace) != EF_OK) {
            trace->stops = 0;
            return EF_MEMORY;
        }
    }
    merge_stops(trace);
    return EF_OK;
}

double efi_trace_stopped_h(const efi_trace *trace, double until_h)
{
    double stopped_h = 0.0;
    for (int i = 0; i < trace->stops && trace->stop[i].from_h < until_h; i++)
        stopped_h += fmin(trace->stop[i].to_h, until_h) - trace->stop[i].from_h;
    return stopped_h;
}

void efi_trace_free(efi_trace *trace)
{
    efi_free(trace->stop);
    *trace = (efi_trace){0};
}
