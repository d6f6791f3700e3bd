/* SPDX-License-Identifier: GPL-3.0-or-later
 * The shortfall of a series line with bins as a shortest way, for the verifier of bins. */
#ifndef EFI_VERIFY_BINS_LINE_H
#define EFI_VERIFY_BINS_LINE_H

#include "shared/stops/trace.h"

#include <evenfeed/bins.h>

/*
 * Let A[i](t) be the tonnes that segment i has passed by t. Nothing can pass but
 *   A[i](t) <= A[i](s) + tonnes that segment i could pass from s to t      s < t
 *   A[i](t) <= A[i-1](t) + level of bin i-1 at hour 0                      its level is not below 0
 *   A[i](t) <= A[i+1](t) + volume of bin i - its level at hour 0           nor above its volume
 * and A[i](0) = 0. The line passes the most that these allow, at every moment and in every segment at once;
 * so A[i](t) is the length of the shortest way from the beginning to (i, t), found in one pass over the
 * moments at which a stop begins or ends. Nothing is simulated and no bin is followed.
 */

/* Stops of every machine of every unit in one trace; shape [machines of all units], in their order. */
typedef struct efi_bins_trace {
    const efi_trace *stops;
    double hours;
} efi_bins_trace;

/*
 * Shortfall of the steady-feed station of `feed`, t of its line, with these volumes (shape [segments - 1]).
 * EF_OK or EF_MEMORY.
 */
ef_status efi_bins_shortest(const ef_bins_feed *feed, const double *volume_t, const efi_bins_trace *trace,
                            double *shortfall_t);

#endif
