/* SPDX-License-Identifier: GPL-3.0-or-later
 * The fluid recursion: one pass along a trace gives the shortfall of the steady feed and its exact gradient
 * in the volumes of the bins. */
#ifndef EFI_FLUID_H
#define EFI_FLUID_H

#include "shared/stops/trace.h"

#include <evenfeed/status.h>

#define EFI_FLUID_SEGMENTS_MOST 16
#define EFI_FLUID_UNITS_MOST    128

/* A bin never counts as smaller than this, t: at no volume it would be full and empty at once. */
#define EFI_FLUID_LEAST_T 1e-6

/* One machine with its stops on the clock (borrowed). */
typedef struct efi_fluid_unit {
    int segment;
    int station;         /* machines of one number work side by side */
    double capacity_tph; /* > 0; may be infinite where another station of its segment limits */
    const efi_trace *stops;
} efi_fluid_unit;

/*
 * Segments 0 .. segments - 1 in series, bin i between segment i and i + 1. The stations within a segment have
 * no store between them: its capacity is the least of theirs at the time. Everything is in tonnes of one
 * measure, what goes through net of returns: where a share r of the feed X of a station goes back to the bin
 * before it, that bin drains at X (1 - r), so the station counts as taking X (1 - r).
 */
typedef struct efi_fluid_line {
    int segments;
    int units;
    const efi_fluid_unit *unit; /* shape [units], by rising segment, then station */
    int feed_station;           /* its capacity is the set rate */
    const double *start_share;  /* shape [segments - 1]: level at hour 0 over volume, 0 .. 1 */
    double from_h;              /* counted from here, >= 0 */
    double to_h;                /* to here, > from_h */
} efi_fluid_line;

/*
 * Shortfall: set rate of what runs of the steady-feed station less what passes, t, over the counted hours.
 * `volume_t` and `gradient` (d shortfall / d volume; NULL: not wanted) have shape [segments - 1]. At a kink
 * the gradient is that of one side, a subgradient. Counted from hour 0 the
 * shortfall is convex in the volumes; counted from later it is the difference of two convex functions. EF_OK;
 * EF_USAGE for more segments or units than the most; EF_INTERNAL when events do not end. Any thread.
 */
ef_status efi_fluid_run(const efi_fluid_line *line, const double *volume_t, double *shortfall_t,
                        double *gradient);

/*
 * Capacities in force at `now_h`: of each segment, shape [segments], and of the machines of the steady-feed
 * station that run. `next` has shape [units], 0 at the beginning, and is kept from call to call; `now_h`
 * rises. Returns the hour of the next change, infinite when none is left.
 */
double efi_fluid_capacity(const efi_fluid_line *line, int *next, double now_h, double *capacity_tph,
                          double *set_tph);

/* The segment of the steady-feed station. */
int efi_fluid_feed_segment(const efi_fluid_line *line);

/* A piece of a pass over which all rates are constant. Arrays have shape [segments - 1]. */
typedef struct efi_fluid_piece {
    double from_h;
    double to_h;
    const double *before_t; /* levels at its ends */
    const double *after_t;
    double short_tph;
} efi_fluid_piece;

typedef void efi_fluid_watcher(void *context, const efi_fluid_piece *piece);

/* As efi_fluid_run without a gradient; tells `watch` every piece, those of no length left out. */
ef_status efi_fluid_watch(const efi_fluid_line *line, const double *volume_t, efi_fluid_watcher *watch,
                          void *context, double *shortfall_t);

#endif
