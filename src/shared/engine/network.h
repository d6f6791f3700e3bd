/* SPDX-License-Identifier: GPL-3.0-or-later
 * The flat description of a plant that the event engine runs, and its checks. */
#ifndef EFI_NETWORK_H
#define EFI_NETWORK_H

#include "base/base.h"
#include "base/text.h"
#include "base/tongue.h"
#include "shared/stops/stops.h"

#include <stdbool.h>

/*
 * Flows are scalar tonnes: for one crop the composition along the line is that of the steady balance, so a
 * machine sends fixed shares of what it takes to its spouts, and capacities are in t/h of the crop at hand.
 */

/* Most spouts that may meet at, or leave, one station; most identical machines of one. */
#define EFI_SPOUTS_MOST   64
#define EFI_MACHINES_MOST 64

#define EFI_NETWORK_KINDS(X)                                                                                 \
    X(EFI_NETWORK_INTAKE, "intake")                                                                          \
    X(EFI_NETWORK_MACHINE, "machine")                                                                        \
    X(EFI_NETWORK_CONVEYOR, "conveyor")                                                                      \
    X(EFI_NETWORK_BIN, "bin")                                                                                \
    X(EFI_NETWORK_SPLIT, "split")                                                                            \
    X(EFI_NETWORK_OUTLET, "outlet")

typedef enum efi_network_kind {
#define EFI_NETWORK_ENUM(name, words) name,
    EFI_NETWORK_KINDS(EFI_NETWORK_ENUM)
#undef EFI_NETWORK_ENUM
} efi_network_kind;

/* How a split divides what it takes: by the spouts' shares; all to the first branch with room, the rest to
 * the next; or in proportion to the capacities of the machines next on each branch, those that run first. */
typedef enum efi_network_split {
    EFI_NETWORK_BY_SHARES,
    EFI_NETWORK_FIRST,
    EFI_NETWORK_BY_CAPACITY
} efi_network_split;

/* Levels of a bin, t; empty_t <= start_t, restart_t, refill_t <= full_t. The level stays within empty_t ..
 * full_t. */
typedef struct efi_network_bin {
    double empty_t;
    double full_t;    /* INFINITY for a bin without limit */
    double start_t;   /* level at hour 0 */
    double restart_t; /* once empty, the station after it waits for this level; empty_t: no waiting */
    double refill_t; /* once full, all but returns wait until it has sunk to this level; full_t: no waiting */
} efi_network_bin;

/* A station that works properly only within a band of its set rate (its capacity). */
typedef struct efi_network_steady {
    bool is_steady;
    double least_tph;  /* least feed: below it the machine waits for its bin's restart level; 0 for none */
    double band_share; /* half width of the band around the set rate, say 0.02 */
    double warm_up_h;  /* after an empty deck; 0 for none */
    int warm_spout;    /* spout that takes the whole product meanwhile: a return or the way to an outlet */
} efi_network_steady;

/* One size of load, and its share of their number. */
typedef struct efi_load_size {
    double load_t; /* > 0 */
    double share;  /* > 0; all together 1 within 1e-9 */
} efi_load_size;

/* Material that comes to an intake in loads. An intake of several machines has so many pits: each takes one
 * load at a time, and loads that are being dumped share what the pits that run take evenly. Absent (is_used
 * false): it always has material. */
typedef struct efi_network_loads {
    bool is_used;
    efi_distribution gap_h; /* between arrivals (exponential: Poisson arrivals; fixed: a timetable) */
    bool has_first;
    double first_h;            /* hour of the first arrival; else drawn from gap_h */
    int intervals;             /* the hours in which loads come; 0: all */
    const efi_interval *open;  /* shape [intervals], h, rising, not overlapping; `gap_h` counts these hours */
    efi_distribution load_t;   /* size of a load */
    int sizes;                 /* 0: as `load_t` says */
    const efi_load_size *size; /* shape [sizes]: one of these, by chance */
    bool is_instant; /* dumped at once into the bin behind the intake, what does not fit is spilled */
    int queue_limit; /* loads waiting behind those being dumped; a further one is turned away; < 0: none is
                      */
} efi_network_loads;

/* A machine that takes a charge, works on it and discharges it. Absent (is_used false): it works while
 * material passes. */
typedef struct efi_network_batch {
    bool is_used;
    double charge_t;      /* taken at up to the station's capacity before work begins; > 0 */
    double work_h;        /* with nothing going in or out; >= 0 */
    double discharge_tph; /* most it gives afterwards; > 0 */
} efi_network_batch;

/*
 * A crew: teams that see to stops. A stop whose mode names a crew (efi_stop_mode) lasts until a team has come
 * and has been at it for its drawn or given length; a team sees to one stop at a time. Stops wait in the
 * order in which they began, those of one instant by station, machine and mode, whatever their cause. Arrays
 * and texts are borrowed.
 */
typedef struct efi_network_crew {
    const char *name;  /* for messages; NULL allowed */
    bool is_unlimited; /* a team for every stop, at all hours */
    int teams;         /* >= 1, unless unlimited */
    bool has_duty;     /* works in the hours of `duty` only; else at all hours */
    int intervals;
    const efi_interval *duty; /* shape [intervals], h, rising, not overlapping; none: the crew never comes */
    bool breaks_off; /* a stop in hand when duty ends rests and goes on, before all others, when duty begins;
                        else its team stays until it is over */
} efi_network_crew;

/* One station. Arrays and texts are borrowed. Fields of other kinds are not looked at. */
typedef struct efi_network_station {
    const char *name; /* for messages; NULL allowed */
    efi_network_kind kind;
    uint64_t key;        /* names its random streams; keeps them when other stations come and go; < 2^40 */
    double capacity_tph; /* all but bins: most it takes, of one machine; INFINITY for no limit */
    int machines;        /* intake, machine, conveyor, outlet: identical ones in parallel, 1 .. 64 */
    int modes;
    const efi_stop_mode
        *mode; /* shape [modes]; each of the machines has all of them, with streams of its own */
    efi_network_split split;   /* split */
    efi_network_bin bin;       /* bin */
    efi_network_steady steady; /* machine */
    efi_network_loads loads;   /* intake */
    efi_network_batch batch;   /* machine; then `machines` is 1 and it is no steady feed */
    double delay_h; /* conveyor: hours that material takes from its feed to its discharge at full speed; 0:
                       none */
} efi_network_station;

/* A directed connection. */
typedef struct efi_network_spout {
    int from;
    int to;
    double
        share; /* of what the station takes; intake, machine, conveyor, split by shares: they add up to 1 */
    bool is_return; /* closes a loop: goes first where streams meet */
} efi_network_spout;

/* A plant of one or several lines; a plain description, borrowed by everything that uses it. */
typedef struct efi_network {
    int stations;
    const efi_network_station *station; /* shape [stations] */
    int spouts;
    const efi_network_spout *spout; /* shape [spouts] */
    int crews;
    const efi_network_crew *crew; /* shape [crews] */
} efi_network;

/*
 * A lot: what one grower or field has sent, or one crop. Lots pass in the order of their array, never mixed:
 * a station begins one when all that feeds it has ended the one before and its own clean-down is over; free
 * outlets take any. Arrays are borrowed.
 */
typedef struct efi_lot {
    double tonnes_t;            /* at the intake; > 0 */
    double arrives_h;           /* not taken in before; >= 0 */
    const double *capacity_tph; /* shape [stations], of one machine, for this lot; NULL: as described */
    const double *share;        /* shape [spouts], for this lot; NULL: as described */
    const double
        *clean_h;        /* shape [stations]: clean-down before this lot (not before the first); NULL: none */
    double line_clean_h; /* clean-down of the whole line before this lot (not before the first), begun when
                            all stations have ended the one before; needs a line that is cleared; 0: none */
    const efi_network_bin *bin; /* shape [stations]: full, restart and refill levels of bins for this lot, the
                                   rest as described; NULL: as described */
} efi_lot;

/* What can be wrong with a network, and what can go wrong while it runs. */
#define EFI_TROUBLES(X)                                                                                      \
    X(EFI_TROUBLE_NONE, EFI_TR("no trouble"))                                                                \
    X(EFI_TROUBLE_NUMBER, EFI_TR("a number is out of range"))                                                \
    X(EFI_TROUBLE_STOPS, EFI_TR("a stop mode is out of range"))                                              \
    X(EFI_TROUBLE_LEVELS, EFI_TR("bin levels are not in order: empty <= start, restart, refill <= full"))    \
    X(EFI_TROUBLE_SPOUT_END,                                                                                 \
      EFI_TR("a spout leads from or to a station that does not exist or cannot have it"))                    \
    X(EFI_TROUBLE_SPOUTS, EFI_TR("the number of spouts does not fit the kind of station"))                   \
    X(EFI_TROUBLE_SHARES, EFI_TR("the shares of a station's spouts do not add up to 1"))                     \
    X(EFI_TROUBLE_LOOP, EFI_TR("a loop has no spout marked as a return"))                                    \
    X(EFI_TROUBLE_UNLIMITED, EFI_TR("nothing limits the flow between the stores before and after"))          \
    X(EFI_TROUBLE_LEAST_FEED,                                                                                \
      EFI_TR("a least feed needs a bin right before it with a restart level above empty"))                   \
    X(EFI_TROUBLE_WARM_UP, EFI_TR("a warm-up needs a spout of the station for its product"))                 \
    X(EFI_TROUBLE_LOADS, EFI_TR("instant loads need a bin, and nothing else, right behind the intake"))      \
    X(EFI_TROUBLE_CREW,                                                                                      \
      EFI_TR("a stop names a crew that is not there, or a crew's teams or hours are out of range"))          \
    X(EFI_TROUBLE_DELAY, EFI_TR("a transport delay needs a single conveyor with a capacity"))                \
    X(EFI_TROUBLE_LOTS,                                                                                      \
      EFI_TR("lots need one intake without loads, no batch machines, and numbers in range"))                 \
    X(EFI_TROUBLE_RATES, EFI_TR("the rates do not settle"))                                                  \
    X(EFI_TROUBLE_EVENTS,                                                                                    \
      EFI_TR("too many events within an hour: stations start and stop each other endlessly"))                \
    X(EFI_TROUBLE_STANDSTILL, EFI_TR("nothing runs, though nothing is stopped: what comes round a loop and " \
                                     "what it meets block each other"))                                      \
    X(EFI_TROUBLE_BATCH, EFI_TR("nothing runs: part of a batch comes back before its machine; give what "    \
                                "comes back a bin of its own"))                                              \
    X(EFI_TROUBLE_MASS, EFI_TR("tonnes in, tonnes out and levels do not balance"))

typedef enum efi_trouble_kind {
#define EFI_TROUBLE_ENUM(name, words) name,
    EFI_TROUBLES(EFI_TROUBLE_ENUM)
#undef EFI_TROUBLE_ENUM
} efi_trouble_kind;

#define EFI_TROUBLE_STATIONS 8

/* A trouble: data, not text. */
typedef struct efi_trouble {
    efi_trouble_kind kind;
    int stations;
    int station[EFI_TROUBLE_STATIONS]; /* those concerned, rising; the first EFI_TROUBLE_STATIONS of them */
    int spout;                         /* -1 where none is meant */
    double at_h;                       /* while running: the hour */
} efi_trouble;

/* Words of a kind of trouble; never NULL. */
const char *efi_trouble_text(efi_trouble_kind kind);

/* Adds the names of the stations that it is about, in quotes with commas between (their number where they
 * have none); nothing where it is about none. */
void efi_trouble_where(const efi_trouble *trouble, const efi_network *network, efi_text *text);

/* Adds a sentence about the trouble to `text`: its words and, after a colon, where. */
void efi_trouble_write(const efi_trouble *trouble, const efi_network *network, efi_text *text);

/* The word for a kind of station; never NULL. */
const char *efi_network_kind_text(efi_network_kind kind);

/*
 * Checks everything the engine relies on. EF_OK, EF_SCENARIO with the first trouble found in `trouble`
 * (never NULL), or EF_MEMORY.
 */
ef_status efi_network_check(const efi_network *network, efi_trouble *trouble);

/* Checks lots for a checked network. EF_OK, or EF_SCENARIO with `trouble` (never NULL). */
ef_status efi_lots_check(const efi_network *network, const efi_lot *lot, int lots, efi_trouble *trouble);

/*
 * Marks the returns: depth-first from the intakes in the order of the stations, spouts in their own order; a
 * spout that leads back to a station on the way that led there closes a loop. Sets is_return of every one of
 * `spout` (shape [network->spouts], the caller's copy of network->spout or that array itself). EF_OK or
 * EF_MEMORY.
 */
ef_status efi_network_mark_returns(const efi_network *network, efi_network_spout *spout);

/*
 * Finds the loops: stations that can be reached from each other. `loop` has shape [stations]: the first
 * station of those i shares a loop with, i itself where there is none. EF_OK or EF_MEMORY.
 */
ef_status efi_network_loops(const efi_network *network, int *loop);

/*
 * An order of the stations in which every spout that is not a return leads onwards. `order` has shape
 * [stations]. EF_OK; EF_SCENARIO when there is a loop without a return, with `*stuck` a station on or behind
 * it; EF_MEMORY.
 */
ef_status efi_network_order(const efi_network *network, int *order, int *stuck);

#endif
