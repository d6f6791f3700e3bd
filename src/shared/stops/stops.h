/* SPDX-License-Identifier: GPL-3.0-or-later
 * Stop modes of a station, and the stream of running amounts and stop lengths that one of them gives. */
#ifndef EFI_STOPS_H
#define EFI_STOPS_H

#include "shared/stops/draw.h"

#include <stdint.h>

/* What the amount until the next stop is counted in.
 *   clock    hours of the clock, whatever the station does, from the end of the last stop
 *   running  hours of the station at full rate; at the speed v of a capacity c it ages v/c hours an hour
 *   tonnes   tonnes taken by the station */
typedef enum efi_counting {
    EFI_COUNT_CLOCK,
    EFI_COUNT_RUNNING,
    EFI_COUNT_TONNES
} efi_counting;

/* Whose stop it is, for the account; where several are in force the last of this list counts. */
typedef enum efi_stop_cause {
    EFI_CAUSE_RANDOM,
    EFI_CAUSE_PLANNED,
    EFI_CAUSE_BREAK,
    EFI_CAUSE_CLOSED
} efi_stop_cause;
#define EFI_CAUSES 4

/* How the stops of a mode are laid out.
 *   drawn  amount until the stop from `gap`, its length from `duration`
 *   every  one stop each `every` (clock: from start to start; running, tonnes: between stops), length from
 * `duration` at     at the hours `at_h` of each period of `period_h` (0: once only), length from `duration`;
 * clock only list   the recorded intervals `list`; clock only */
typedef enum efi_stop_schedule {
    EFI_STOPS_DRAWN,
    EFI_STOPS_EVERY,
    EFI_STOPS_AT,
    EFI_STOPS_LIST
} efi_stop_schedule;

/* An interval of the clock, h; from_h < to_h. */
typedef struct efi_interval {
    double from_h;
    double to_h;
} efi_interval;

/* One mode of stopping. Arrays are borrowed. */
typedef struct efi_stop_mode {
    efi_stop_schedule schedule;
    efi_stop_cause cause;
    efi_counting counting;
    efi_distribution gap;      /* drawn: h or t, by `counting` */
    efi_distribution duration; /* drawn, every, at: h */
    double lockout_h;          /* the least length of a stop; 0 for none */
    bool has_first;
    double first; /* drawn, every: amount until the first stop, h or t; else drawn, or one `every` */
    double every; /* every: h or t, > 0 */
    int ats;
    const double *at_h; /* shape [ats], h from the start of a period, rising */
    double period_h;    /* at: h, 0 or more than the last of at_h */
    int intervals;
    const efi_interval *list; /* shape [intervals], rising, not overlapping */
    bool has_crew; /* only the event engine looks at this: the length of a stop begins when the crew comes */
    int crew;      /* index among the crews of the network */
    bool is_rest;  /* only the event engine looks at this: no work at all is done meanwhile, cleaning neither,
                      as  in breaks and closed times */
} efi_stop_mode;

/* What can be wrong with a mode. */
typedef enum efi_stop_fault {
    EFI_STOP_GOOD,
    EFI_STOP_BAD_GAP,      /* parameters of `gap`, `every` or `first` out of range */
    EFI_STOP_BAD_DURATION, /* parameters of `duration` or `lockout_h` out of range */
    EFI_STOP_BAD_COUNTING, /* clock times or a list counted in running hours or tonnes */
    EFI_STOP_BAD_LIST      /* times not rising, overlapping, negative or not finite */
} efi_stop_fault;

/* Checks a mode; EFI_STOP_GOOD when the functions below may be used with it. */
efi_stop_fault efi_stop_mode_check(const efi_stop_mode *mode);

/*
 * The stream of one mode of one machine: a number that stands beside seed and replication in
 * efi_random_stream. `station_key` is the station's own number (0 .. 2^40 - 1), which it keeps when other
 * stations come and go; `unit` counts identical machines of the station and `mode` its modes (both below
 * 4096).
 */
uint64_t efi_stop_stream(uint64_t station_key, int unit, int mode);

/* In place of a unit, beyond any machine's: the streams of an intake's loads, with mode 0 for the times
 * between them and mode 1 for their sizes. */
#define EFI_ARRIVAL_UNIT 4095

/* A running source of stops; a plain value, not shared between threads. The mode is borrowed. */
typedef struct efi_stop_source {
    const efi_stop_mode *mode;
    efi_random random;
    double first;   /* amount until the first stop; negative: as after any stop */
    double clock_h; /* clock modes: where the last stop ended, exact on the grid */
    int64_t taken;  /* stops given so far */
    int64_t period; /* at: the period, and in `next` the place in it, of the next start; list: `next` alone */
    int next;
} efi_stop_source;

/* Starts a source at clock 0 for (seed, replication, stream), the last from efi_stop_stream. */
void efi_stop_source_start(efi_stop_source *source, const efi_stop_mode *mode, uint64_t seed,
                           uint64_t replication, uint64_t stream);

/*
 * Right after starting: the station has been at work for long, and hour 0 lies anywhere between two stops;
 * else it has just been mended. Nothing for clock times, lists and modes that say when their first stop is.
 */
void efi_stop_source_look_in(efi_stop_source *source);

/*
 * The amount until the next stop begins: hours of clock after the end of the last one, running hours or
 * tonnes, by the mode's counting; on the grid; 0 where a clock time has come already; INFINITY when no stop
 * is left. Call in turn with efi_stop_source_duration.
 */
double efi_stop_source_gap(efi_stop_source *source);

/* The length of the stop that begins now, h, on the grid, at least the lock-out and at least one step. */
double efi_stop_source_duration(efi_stop_source *source);

/* The stop whose length was asked for last ends `waited_h` later than by that length; >= 0. */
void efi_stop_source_wait(efi_stop_source *source, double waited_h);

#endif
