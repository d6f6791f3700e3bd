/* SPDX-License-Identifier: GPL-3.0-or-later
 * Traces: one realisation of all stops of a machine, as a sequence and laid on the clock. */
#ifndef EFI_TRACE_H
#define EFI_TRACE_H

#include "base/base.h"
#include "shared/stops/stops.h"

#include <stddef.h>

/*
 * The first `count` running amounts and stop lengths of one mode: `gap` (h, or t where the mode counts
 * tonnes) and `duration_h`, shape [count] each, given by the caller. The same numbers that the event engine
 * meets for the same (seed, replication, stream). After the last stop of a list the gap is INFINITY and the
 * length 0. Any thread.
 */
void efi_trace_sequence(const efi_stop_mode *mode, uint64_t seed, uint64_t replication, uint64_t stream,
                        int count, double *gap, double *duration_h);

/* Stops laid on the clock: rising, not touching each other. Zero-initialise; free with efi_trace_free. */
typedef struct efi_trace {
    efi_interval *stop; /* shape [stops], h */
    int stops;
    size_t room;
} efi_trace;

/* How stops that do not count the clock are laid on it. */
typedef struct efi_trace_basis {
    double horizon_h;     /* stops that begin before it are laid; the last may reach past it; > 0 */
    double running_share; /* expected share of the time not stopped that the machine runs, at full rate, 0 <
                             .. <= 1 */
    double rate_tph;      /* its rate then, t/h, > 0; for stops after so many tonnes */
} efi_trace_basis;

/*
 * Lays all `modes` of one machine (unit `unit` of the station with `station_key`) on the clock over the
 * horizon and merges what overlaps. A running gap g becomes g / running_share hours of clock after the end of
 * the mode's last stop, g tonnes become g / (running_share rate_tph): an approximation where stations wait
 * for each other, since the true share differs from hour to hour; modes counted by the clock are laid
 * exactly. `trace` is emptied first and keeps its room. Returns EF_OK or EF_MEMORY (trace then empty). Any
 * thread.
 */
ef_status efi_trace_lay(const efi_stop_mode *modes, int mode_count, uint64_t station_key, int unit,
                        uint64_t seed, uint64_t replication, const efi_trace_basis *basis, efi_trace *trace);

/* Hours stopped within 0 .. until_h. */
double efi_trace_stopped_h(const efi_trace *trace, double until_h);

/* Frees what the trace holds and zeroes it. */
void efi_trace_free(efi_trace *trace);

#endif
