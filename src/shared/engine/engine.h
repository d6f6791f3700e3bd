/* SPDX-License-Identifier: GPL-3.0-or-later
 * The event engine: runs a network of stations and bins through time, exactly, from event to event. */
#ifndef EFI_ENGINE_H
#define EFI_ENGINE_H

#include "shared/engine/network.h"

#include <stdint.h>

/*
 * Flows are constant between events, so levels are straight lines and nothing happens between two events. The
 * next event is the nearest of the candidates below. Those of one instant are applied in this order, by kind
 * and then by station (and within a station by machine and mode), before rates are computed again (rates.h
 * has the mathematics):
 *
 * - level: a bin reaches empty, full, its restart or its refill level; the level is then exactly that
 * - crew: a crew comes on duty or goes off
 * - stop: a stop begins or ends
 * - warm-up: the warm-up of a steady-feed station ends
 * - batch: a batch machine is full, has done its work, or is empty
 * - belt: what comes off a conveyor with a delay changes
 * - clean: a station's clean-down ends
 * - layer: a bin has given out the last of a lot
 * - lot: the last of a lot has been taken in; the next has arrived
 * - dumped: a load at an intake has been dumped
 * - arrival: a load arrives
 *
 * Until the next stop count: clock hours; running hours, at the speed v of a capacity C ageing v/C hours an
 * hour, none while starved, blocked or stopped; or tonnes.
 *
 * A stop that names a crew begins when it is due; its length begins when a team comes, until when it waits.
 * Stops waiting for one crew are seen to in the order in which they began, those of one instant in the order
 * above. What a mode counts by the clock goes on from the true end of the stop; a clock time that has gone by
 * meanwhile is left out.
 *
 * A bin with a restart level that runs empty, with less coming in than what the station after it takes (with
 * a least feed: less than that), keeps that station waiting until the level is reached. A bin with a refill
 * level that is full takes nothing but returns until it has sunk to that level. A steady-feed station that
 * has run empty warms up when it is fed again: its whole product goes to its warm-up spout; a stop or an
 * empty deck meanwhile begins it anew.
 *
 * A batch machine takes its charge, works on it with its spouts shut, then discharges it; a stop holds all
 * three up. A charge that is not full waits. Its running hours pass at v/C while it fills, as on the clock
 * while it works, and as its discharge to the most it may be.
 *
 * A conveyor with a delay carries what it takes in order, evenly spread as it came, from its feed to its
 * discharge in that many hours at full speed; it begins empty. It runs at full speed, empty or not, unless it
 * is stopped or what comes next takes less than it brings: then all that is on it goes slower in that
 * measure (as a belt that is stopped and started by what comes next does on average), and it takes no more
 * than that share of its capacity. Full speed times its capacity is the most it takes; what it takes may lie
 * thinner. While it is stopped nothing goes on or off, and what is on it stays where it is.
 *
 * Times within a run are kept as whole blocks of 1024 h and a rest, so that a long run is as exact as a short
 * one. Memory does not grow with simulated time. Same network, seed and replication: same bytes on every
 * machine.
 *
 * Lots (network.h): a station that has ended a lot is cleaned at once, whether the next has come or not. A
 * bin takes the next lot on top of what it holds where it needs no clean-down and is on no loop (at
 * most 16 lots in a bin), else when it has run empty and is clean; what is left of a lot is run out whatever
 * the restart level. A conveyor with a delay takes the next lot behind the
 * last of the one before on the same terms, if it has one discharge, else when that has come off. A bin whose
 * levels change with the lot takes it when it has run empty.
 *
 * Clean-downs rest while the station is closed, in a break, or stopped by a mode that says so; other stops
 * do not hold them up. Bins and splits rest with the intake. With so many teams (settings) stations wait for
 * one in the order in which they ended their lots, those of one instant in the order of the stations; a team
 * that rests stays.
 */

/* What a station is doing; the account gives every instant to one of them. Where a station of several
 * machines has some that run, its stops do not show. */
#define EFI_STATES(SAY)                                                                                      \
    SAY(EFI_STATE_FULL_RATE, "full rate") /* within 1e-12 of its capacity */                                 \
    SAY(EFI_STATE_SLOW, "slow")           /* fed or relieved at less than its capacity */                    \
    SAY(EFI_STATE_WORKING, "working")     /* batch machine: on its charge, or discharging it */              \
    SAY(EFI_STATE_WARM_UP, "warm-up")                                                                        \
    SAY(EFI_STATE_STARVED, "starved")                                                                        \
    SAY(EFI_STATE_WAITING, "waiting") /* for the restart level of the bin before it */                       \
    SAY(EFI_STATE_BLOCKED, "blocked")                                                                        \
    SAY(EFI_STATE_CLEAN_DOWN, "clean-down")                                                                  \
    SAY(EFI_STATE_NO_CREW, "waiting for crew") /* stopped, and no stop of its own in hand */                 \
    SAY(EFI_STATE_RANDOM_STOP, "random stop")                                                                \
    SAY(EFI_STATE_PLANNED_STOP, "planned stop")                                                              \
    SAY(EFI_STATE_BREAK, "break")                                                                            \
    SAY(EFI_STATE_CLOSED, "closed")

typedef enum efi_state {
#define EFI_STATE_ENUM(name, words) name,
    EFI_STATES(EFI_STATE_ENUM)
#undef EFI_STATE_ENUM
} efi_state;
#define EFI_STATE_COUNT 13

/* The word for a state; never NULL. */
const char *efi_state_text(efi_state state);

#define EFI_EVENTS(SAY)                                                                                      \
    SAY(EFI_EVENT_EMPTY, "empty")                                                                            \
    SAY(EFI_EVENT_FULL, "full")                                                                              \
    SAY(EFI_EVENT_RESTART, "restart level")                                                                  \
    SAY(EFI_EVENT_REFILL, "refill level")                                                                    \
    SAY(EFI_EVENT_STOP, "stop")                                                                              \
    SAY(EFI_EVENT_START, "start")                                                                            \
    SAY(EFI_EVENT_CREW_COMES, "crew comes") /* to a stop that has waited for it */                           \
    SAY(EFI_EVENT_CREW_GOES, "crew goes")   /* off duty, from a stop that is not over */                     \
    SAY(EFI_EVENT_BELT, "belt")             /* what comes off a conveyor with a delay changes */             \
    SAY(EFI_EVENT_WARM, "warm")                                                                              \
    SAY(EFI_EVENT_CHARGED, "charged")                                                                        \
    SAY(EFI_EVENT_WORKED, "worked")                                                                          \
    SAY(EFI_EVENT_DISCHARGED, "discharged")                                                                  \
    SAY(EFI_EVENT_DUMPED, "dumped")                                                                          \
    SAY(EFI_EVENT_ARRIVED, "arrived")                                                                        \
    SAY(EFI_EVENT_TURNED_AWAY, "turned away")                                                                \
    SAY(EFI_EVENT_LOT_ENDED, "lot ended")   /* at the station; `unit` is the lot */                          \
    SAY(EFI_EVENT_LOT_BEGINS, "lot begins") /* the station is open for it; `unit` is the lot */              \
    SAY(EFI_EVENT_CLEANING, "clean-down") /* begins, before lot `unit`; of the whole line: at the intake */  \
    SAY(EFI_EVENT_CLEANED, "cleaned")     /* that clean-down has ended */

typedef enum efi_event_kind {
#define EFI_EVENT_ENUM(name, words) name,
    EFI_EVENTS(EFI_EVENT_ENUM)
#undef EFI_EVENT_ENUM
} efi_event_kind;

/* The word for a kind of event; never NULL. */
const char *efi_event_text(efi_event_kind kind);

typedef struct efi_event {
    double at_h;
    efi_event_kind kind;
    int station;
    int unit; /* stop, start, crew: the machine of the station; lots: the lot; else 0 */
    int mode; /* stop, start, crew: its mode; else 0 */
} efi_event;

/* One station's account since the last efi_engine_clear. */
typedef struct efi_account {
    double state_h[EFI_STATE_COUNT]; /* adds up to the time since then; bins: all 0 */
    double in_t;                     /* taken (bins: gone in) */
    double out_t;  /* come out of bins, batch machines and conveyors with a delay; others: as in_t */
    int64_t stops; /* stops begun, of all its machines and modes */
    /* steady-feed stations */
    double shortfall_t;   /* set rate less feed, over the time neither stopped nor cleaned */
    double out_of_band_h; /* running outside the band around the set rate */
    double warm_up_t;     /* fed during warm-up */
    /* bins */
    double level_t;  /* now; batch machines: the charge within; conveyors with a delay: what is on them */
    double level_th; /* integral of the level over time */
    double empty_h;  /* standing at empty */
    double full_h;   /* standing at full */
    double above_h;  /* above the level given to efi_engine_watch_level */
    /* intakes with loads */
    int64_t arrivals; /* loads come, those turned away too */
    int64_t turned_away;
    double spilled_t; /* of instant loads: what did not fit */
    double queue_h;   /* integral of the loads waiting or being dumped over time */
} efi_account;

/* A crew's account since the last efi_engine_clear. */
typedef struct efi_crew_account {
    int64_t stops;  /* seen to by it, begun since */
    int64_t waited; /* of these: those that had to wait */
    double busy_h;  /* hours of all teams at stops */
    double wait_h;  /* hours of all stops waiting, those for which it has not come yet too */
    int most_busy;  /* most teams at work at once */
} efi_crew_account;

typedef struct efi_engine_settings {
    int64_t event_cap_per_h; /* more events than this within an hour are an endless loop */
    int lots;
    const efi_lot *lot; /* shape [lots], borrowed as the network is; lots 0: the intake has no end */
    bool is_line_clear; /* a lot is taken in only when all stations are open for it */
    int clean_teams;    /* that many stations are cleaned at the same time; 0: any number */
    bool has_past;   /* hour 0 lies anywhere between two stops of each mode, else all has just been mended */
    bool is_general; /* use the general solver for plain series lines too (for comparison) */
} efi_engine_settings;

/* 200,000 events an hour; the faster solver where it fits. */
efi_engine_settings efi_engine_defaults(void);

typedef struct efi_engine efi_engine;

/*
 * Builds an engine for the network, which is borrowed until efi_engine_free; `settings` NULL: defaults. On
 * success
 * `*engine` is the caller's. EF_OK; EF_SCENARIO with the first trouble of the network in `trouble` (never
 * NULL); EF_MEMORY. An engine belongs to one thread at a time; several may share a network.
 */
ef_status efi_engine_build(const efi_network *network, const efi_engine_settings *settings,
                           efi_engine **engine, efi_trouble *trouble);

/* Frees the engine; NULL is allowed. */
void efi_engine_free(efi_engine *engine);

/* Back to hour 0 with the levels of the description, everything fresh (or with a past, by the settings), and
 * the streams of (seed, replication). */
void efi_engine_start(efi_engine *engine, uint64_t seed, uint64_t replication);

/*
 * Runs on to `until_h` (events at that very hour are left to the next call), after efi_engine_start. EF_OK;
 * EF_NO_ANSWER with `trouble` (never NULL) when rates do not settle, events do not end, or all stands still
 * for good with bins blocking each other; EF_MEMORY; EF_INTERNAL when tonnes do not balance. After any but
 * EF_OK the engine must be started anew.
 */
ef_status efi_engine_run(efi_engine *engine, double until_h, efi_trouble *trouble);

/* The hour reached. */
double efi_engine_now_h(const efi_engine *engine);

/* Events since the start: level, stop, warm-up, dumped and arrival events applied. */
int64_t efi_engine_events(const efi_engine *engine);

/* Is the faster solver in use? */
bool efi_engine_is_series(const efi_engine *engine);

/* Sets the accounts of all stations to zero; levels, ages and stops go on. Call between runs. */
void efi_engine_clear(efi_engine *engine);

/* The account of a station up to the hour reached. Call between runs. */
void efi_engine_read(const efi_engine *engine, int station, efi_account *account);

/* The account of a crew up to the hour reached. Call between runs. */
void efi_engine_read_crew(const efi_engine *engine, int crew, efi_crew_account *account);

/* Tonnes in, less tonnes out, less what bins, batch machines and conveyors have gained since the last
 * clearing: 0 but for rounding. */
double efi_engine_imbalance_t(const efi_engine *engine);

/* Counts the time a bin spends above `level_t`, from now on; INFINITY ends that. */
void efi_engine_watch_level(efi_engine *engine, int bin, double level_t);

/* Level of a bin, and what a station takes (a bin: gives out) at present; valid between runs and within a
 * watch. */
double efi_engine_level_t(const efi_engine *engine, int bin);
double efi_engine_rate_tph(const efi_engine *engine, int station);

/* What a bin gains at present, t/h; valid as above. */
double efi_engine_gain_tph(const efi_engine *engine, int bin);

/* What a spout carries at present; general solver only (else NaN). */
double efi_engine_flow_tph(const efi_engine *engine, int spout);

/* What a station that is no bin does at present; valid between runs and within a watch. */
efi_state efi_engine_state(const efi_engine *engine, int station);

/* Is the station stopped, all its machines? And is it within its warm-up? */
bool efi_engine_is_stopped(const efi_engine *engine, int station);
bool efi_engine_is_warming(const efi_engine *engine, int station);

/* With lots: the lot a station is at (a bin: gives out), the number of lots when it has ended the last; else
 * -1. */
int efi_engine_lot(const efi_engine *engine, int station);

/* Called for every event once the rates after its instant are known. Must not run, start or free the engine.
 */
typedef void efi_engine_watcher(void *context, const efi_engine *engine, const efi_event *event);

/* Sets the watcher, NULL for none. */
void efi_engine_watch(efi_engine *engine, efi_engine_watcher *watcher, void *context);

#endif
