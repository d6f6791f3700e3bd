/* SPDX-License-Identifier: GPL-3.0-or-later
 * The inside of the event engine: its state, and the accounts that are settled when a rate changes. */
#ifndef EFI_STATE_H
#define EFI_STATE_H

#include "shared/engine/engine.h"
#include "shared/engine/flow.h"
#include "shared/engine/moves.h"
#include "shared/engine/rates.h"

#include <math.h>
#include <string.h>

/* Times are kept relative to `base_h`, a multiple of this. */
#define EFI_BLOCK_H 1024.0
/* A gain of a bin, or a gap to a capacity, below this share of the flow is rounding and counts as none. */
#define EFI_SAME_RATE 1e-12

/* Tonnes may fail to balance by this share of what has passed. */
#define EFI_MASS_TOLERANCE 1e-9

/* A compensated sum (Kahan 1965). */
typedef struct efi_sum {
    double sum;
    double carry;
} efi_sum;

static inline void efi_sum_add(efi_sum *sum, double x)
{
    const double y = x - sum->carry;
    const double t = sum->sum + y;
    sum->carry = (t - sum->sum) - y;
    sum->sum = t;
}

/* A station other than a bin. */
typedef struct efi_run_station {
    double since_h;               /* account settled up to here */
    const efi_station_flow *flow; /* in force since then: its own, or one that is remembered */
    efi_station_flow own;
    bool is_changed; /* its machines stopped or started: settle even if its rate stays */
    bool is_steady;
    bool has_ageing; /* some mode counts running hours or tonnes */
    bool is_cold;    /* steady feed: the deck has run empty */
    bool is_warming;
    bool has_turned; /* its warm-up has begun or been broken off at this instant */
    int bin_before;  /* the bin that alone feeds it, or -1 */
    int first_source;
    int sources;
    int machines;
    int running; /* machines with no stop in force */
    int cause_count[EFI_CAUSES];
    int rests;          /* breaks, closed times and the like in force, of all machines */
    double machine_tph; /* capacity of one machine */
    double set_tph;     /* capacity of all */
    double band_tph;
    int64_t stops;
    efi_sum state_h[EFI_STATE_COUNT];
    efi_sum in_t;
    efi_sum shortfall_t;
    efi_sum out_of_band_h;
    efi_sum warm_up_t;
} efi_run_station;

typedef struct efi_run_bin {
    double since_h;
    double level_t;           /* at since_h */
    const efi_bin_flow *flow; /* in force since then: its own, or one that is remembered */
    efi_bin_flow own;
    double empty_t;
    double full_t;
    double restart_t;
    double refill_t;
    double watched_t;
    int station;
    int consumer; /* station after it */
    bool is_changed;
    double cleared_t; /* level when the accounts were cleared */
    efi_sum in_t;
    efi_sum out_t;
    efi_sum level_th;
    efi_sum at_h[4]; /* by efi_level_at */
    efi_sum above_h;
} efi_run_bin;

/* One mode of one machine. */
typedef struct efi_run_source {
    efi_stop_source source;
    double since_h;
    double age_left;  /* h or t until the stop, where it does not count the clock */
    double age_rate;  /* per h */
    bool draws_ahead; /* as nothing but its own stops matters to it */
    double
        ahead; /* then: the next length or amount, drawn before it is wanted, so that nobody waits for it */
    efi_counting counting;
    efi_stop_cause cause;
    bool is_rest; /* no work at all is done meanwhile */
    bool is_stopped;
    int station;
    int unit;
    int mode;
    int crew;        /* -1: needs none; the rest is for those that do */
    bool is_waiting; /* stopped, no team there */
    bool is_new;     /* begins at this instant */
    bool is_begun;   /* a team has been there */
    int64_t ticket;  /* the lower, the earlier it is its turn */
    double waits_since_h;
    double rest_h; /* of its length, while waiting */
} efi_run_source;

typedef struct efi_run_crew {
    int teams;
    int busy;    /* teams at work */
    int waiting; /* stops that wait */
    bool is_on_duty;
    int changes; /* comings and goings so far: 2 for each interval of duty */
    double since_h;
    int64_t stops;
    int64_t waited;
    int most_busy;
    efi_sum busy_h;
    efi_sum wait_h;
} efi_run_crew;

/* An intake with loads. */
typedef struct efi_run_loads {
    int station;
    int bin; /* run bin behind an instant one, else -1 */
    efi_random gap_random;
    efi_random size_random;
    int64_t waiting;                  /* loads behind those being dumped */
    int dumping;                      /* at most the pits that the intake has */
    double left_t[EFI_MACHINES_MOST]; /* shape [dumping], of each, at since_h */
    double rate_tph;                  /* of all together */
    int interval;                     /* of the hours in which loads come: the one looked at last */
    double since_h;
    int64_t arrivals;
    int64_t turned_away;
    efi_sum spilled_t;
    efi_sum queue_h;
} efi_run_loads;

typedef enum efi_batch_phase {
    EFI_BATCH_FILLS,
    EFI_BATCH_WORKS,
    EFI_BATCH_DISCHARGES
} efi_batch_phase;

/* A batch machine. */
typedef struct efi_run_batch {
    int station;
    efi_batch_phase phase;
    double since_h;
    double left;      /* until the phase ends: t, or h of work, at since_h */
    double left_rate; /* per h */
    double out_tph;
    double charge_t; /* within, at since_h */
    double cleared_t;
    efi_sum out_t;
} efi_run_batch;

/* A stretch of a conveyor with a delay, evenly laden. */
typedef struct efi_belt_piece {
    double rate_tph; /* comes off at this rate at full speed */
    double length_h; /* hours it takes to come off at full speed */
    int lot;         /* of what lies there; means nothing where nothing lies or without lots */
} efi_belt_piece;

/* A conveyor with a delay. */
typedef struct efi_run_belt {
    int station;
    double since_h;
    double speed; /* share of full speed */
    double out_tph;
    int room;
    efi_belt_piece *piece; /* shape [room], a ring; grows as needed */
    int first;             /* at the discharge */
    int count;             /* >= 1; lengths add up to the delay, at since_h */
    double cleared_t;
    efi_sum out_t;
} efi_run_belt;

/* What a station does about lots. */
typedef enum efi_lot_phase {
    EFI_LOT_OPEN,
    EFI_LOT_CLEANED, /* clean-down in hand */
    EFI_LOT_WAITED   /* intake: clean, but the lot may not be taken in yet */
} efi_lot_phase;

typedef struct efi_run_lot {
    int lot; /* open for, or being cleaned for; bins: at the inlet; number of lots: none left */
    efi_lot_phase phase;
    double clean_left_h;  /* of a clean-down that waits or rests */
    bool clean_waits;     /* for a team */
    int64_t clean_ticket; /* the lower, the earlier it is its turn */
    bool is_indifferent;  /* free outlet */
    int group;            /* first station of those it shares a loop with, itself where there is none */
    int next_member;      /* next station of the group, -1 at the end */
} efi_run_lot;

#define EFI_LAYERS 16

/* Lots on top of each other in a bin. */
typedef struct efi_run_layers {
    double since_h;
    int first;
    int count; /* >= 1; the last is the lot at the inlet */
    int lot[EFI_LAYERS];
    double amount_t[EFI_LAYERS];
} efi_run_layers;

struct efi_engine {
    const efi_network *network;
    efi_engine_settings settings;
    efi_arena *arena;
    efi_rates rates;
    efi_series *series; /* NULL: the general solver */
    efi_moves *moves;   /* NULL: rates are solved after every event */
    double base_h;      /* whole blocks gone by */
    double now_h;       /* since base_h */
    int64_t events;
    bool is_stuck; /* a run failed: must be started anew */
    /* candidates: slot_h[k] is the time of the k-th, since base_h; kinds in order of rank */
    int slots;
    double *slot_h; /* shape [slots rounded up to 4], INFINITY where none is due */
    int first_crew;
    int first_stop;
    int first_warm;
    int first_batch;
    int first_belt;
    int first_clean; /* by station, where there are lots */
    int first_layer; /* by bin, the same */
    int first_lot;   /* end of the intake's lot, arrival of the next */
    int first_dumped;
    int first_arrival;
    int bins;
    int sources;
    int warms;
    int batches;
    int belts;
    int loads;
    efi_run_bin *bin;       /* shape [bins] */
    efi_run_source *source; /* shape [sources], by station, machine, mode */
    efi_run_crew *crew;     /* shape [crews of the network] */
    int64_t next_ticket;    /* of stops that call a crew */
    int *warm;              /* shape [warms]: stations with a warm-up */
    efi_run_batch *batch;   /* shape [batches] */
    efi_run_belt *belt;     /* shape [belts] */
    efi_run_lot *lot;       /* shape [stations]; NULL without lots */
    efi_run_layers *layers; /* shape [bins]; NULL without lots */
    int intake;             /* with lots: the one */
    int clean_busy;         /* teams at work */
    int64_t clean_tickets;
    int line_cleaned;  /* the lot for which the whole line has been cleaned, or is being so */
    bool cleans_line;  /* the whole line is being cleaned */
    double lot_left_t; /* of the lot at the intake, at lot_since_h */
    double lot_since_h;
    double lot_rate_tph;
    efi_run_loads *load;      /* shape [loads] */
    efi_run_station *station; /* shape [stations] */
    int *active;              /* shape [machines of all stations]: stops in force */
    int *first_machine;       /* shape [stations] into active */
    int passes;
    int *pass;        /* shape [passes]: stations other than bins */
    int *run_bin;     /* shape [stations]: index of a bin, or -1 */
    int *run_batch;   /* shape [stations]: index of a batch machine, or -1 */
    int *run_belt;    /* shape [stations]: index of a conveyor with a delay, or -1 */
    int *run_load;    /* shape [stations]: index of an intake with loads, or -1 */
    bool has_latches; /* restart levels or warm-ups: rates may have consequences */
    /* events of the present instant */
    int fired;
    bool notes_events; /* for a watcher, or as there are suspiciously many */
    efi_event *event;  /* shape [slots and what else an instant may bring] */
    /* guard against endless loops */
    int hour; /* of the last events, since base_h */
    int64_t hour_events;
    bool *is_marked; /* shape [stations] */
    efi_engine_watcher *watcher;
    void *watcher_context;
};

/* Part of the straight line from `from` to `to` over `hours` that lies above `level`, h. */
static inline double efi_hours_above(double from, double to, double level, double hours)
{
    const bool starts = from > level;
    const bool ends = to > level;
    if (starts == ends)
        return starts ? hours : 0.0;
    const double share = (level - from) / (to - from);
    return ends ? hours * (1.0 - share) : hours * share;
}

/* Bring one account up to `now_h`, by what has been in force until then. */
static inline void efi_station_settle(efi_run_station *station, double now_h)
{
    const double hours = now_h - station->since_h;
    station->since_h = now_h;
    if (!(hours > 0.0))
        return;
    const efi_station_flow *flow = station->flow;
    const double tonnes = flow->rate_tph * hours;
    efi_sum_add(&station->state_h[flow->state], hours);
    efi_sum_add(&station->in_t, tonnes);
    if (!station->is_steady)
        return;
    if (flow->state < EFI_STATE_CLEAN_DOWN)
        efi_sum_add(&station->shortfall_t, (station->set_tph - flow->rate_tph) * hours);
    if (flow->rate_tph > 0.0 && !(fabs(station->set_tph - flow->rate_tph) <= station->band_tph))
        efi_sum_add(&station->out_of_band_h, hours);
    if (station->is_warming)
        efi_sum_add(&station->warm_up_t, tonnes);
}

static inline void efi_bin_settle(efi_run_bin *bin, double now_h)
{
    const double hours = now_h - bin->since_h;
    bin->since_h = now_h;
    if (!(hours > 0.0))
        return;
    const efi_bin_flow *flow = bin->flow;
    const double before_t = bin->level_t;
    const double after_t = before_t + flow->net_tph * hours;
    bin->level_t = after_t;
    efi_sum_add(&bin->in_t, flow->inflow_tph * hours);
    efi_sum_add(&bin->out_t, flow->outflow_tph * hours);
    efi_sum_add(&bin->level_th, 0.5 * (before_t + after_t) * hours);
    efi_sum_add(&bin->at_h[flow->at], hours);
    if (bin->watched_t < INFINITY)
        efi_sum_add(&bin->above_h, efi_hours_above(before_t, after_t, bin->watched_t, hours));
}
void efi_load_settle(efi_run_loads *load, double now_h);

/* Back to hour 0, the first arrival ahead. */
void efi_load_start(efi_engine *engine, int k, uint64_t seed, uint64_t replication);
void efi_batch_settle(efi_run_batch *batch, double now_h);
void efi_belt_settle(efi_run_belt *belt, double now_h);
static inline void efi_source_settle(efi_run_source *source, double now_h)
{
    source->age_left -= source->age_rate * (now_h - source->since_h);
    source->since_h = now_h;
}

/* Bring all accounts up to the present. */
void efi_engine_settle(efi_engine *engine);

/* The time of a slot as a whole number: in the same order, as none is negative. */
static inline int64_t efi_slot_order(const efi_engine *engine, int k)
{
    int64_t order;
    memcpy(&order, &engine->slot_h[k], sizeof order);
    return order;
}

/* put.c, engine.c: used by the parts below as well. */

/* Notes an event of the present instant, for the watcher and the guard. */
void efi_event_note(efi_engine *engine, efi_event_kind kind, int station, int unit, int mode);
/* What a station may take now: its running machines, none without a load. */
double efi_station_present_tph(const efi_engine *engine, int i);
/* What a station does at the rates just solved. */
efi_state efi_station_state(const efi_engine *engine, int i, const efi_run_station *station);
/* A level, a stop or its end is due: the bin, the source. What a stop means to the capacity of its station,
 * to lots and batches is the caller's business. */
void efi_level_reach(efi_engine *engine, int b);
void efi_stop_flip(efi_engine *engine, int k);
/* Sets whether a bin stands at empty or full, by its level. */
void efi_bin_place(efi_engine *engine, const efi_run_bin *bin);
/* What a bin gains, t/h; differences that are rounding are none. */
double efi_bin_gain_tph(double inflow_tph, double outflow_tph);
/* Solves the rates for the present state: EF_OK or EF_NO_ANSWER. */
ef_status efi_engine_solve(efi_engine *engine);
/* New rates after the events of an instant, and with them new candidates. */
ef_status efi_rates_put(efi_engine *engine);
/* Puts the rates just solved in force everywhere: settles accounts, finds candidates. Adds the stations and
 * bins for which anything has changed to the sets, a bit for each by its number (beyond 64: modulo that). */
void efi_put_all(efi_engine *engine, uint64_t *stations, uint64_t *bins);

/* In debug builds, at every instant: what the intakes give is what the outlets take and the bins gain. */
void efi_engine_check_mass(const efi_engine *engine);

/* What each machine that runs takes. */
static inline double efi_station_share_tph(const efi_run_station *station)
{
    return station->running == 1 ? station->flow->rate_tph : station->flow->rate_tph / station->running;
}

/* When a source that counts running hours or tonnes is due, where it ages that fast, by one each so many
 * hours; `least_left`: 0, or 1 where it does not age, so that it is never due, however little is left. */
static inline void efi_source_aim(efi_run_source *source, double age_rate, double hours_each,
                                  double least_left, double now_h, double *slot_h)
{
    efi_source_settle(source, now_h);
    source->age_rate = age_rate;
    const double left = source->age_left > least_left ? source->age_left : least_left;
    *slot_h = now_h + left * hours_each;
}

/* When the sources of a station that count running hours or tonnes are due, where each machine that runs
 * takes `share_tph` and ages `ageing` hours an hour. */
static inline void efi_sources_aim(efi_engine *engine, int i, double share_tph, double ageing)
{
    const efi_run_station *station = &engine->station[i];
    const int *active = engine->active + engine->first_machine[i];
    for (int k = station->first_source; k < station->first_source + station->sources; k++) {
        efi_run_source *source = &engine->source[k];
        if (source->counting == EFI_COUNT_CLOCK || source->is_stopped)
            continue;
        const double running = source->counting == EFI_COUNT_TONNES ? share_tph : ageing;
        const double rate = active[source->unit] == 0 ? running : 0.0;
        efi_source_aim(source, rate, 1.0 / rate, rate > 0.0 ? 0.0 : 1.0, engine->now_h,
                       &engine->slot_h[engine->first_stop + k]);
    }
}

/* crews.c: stops that need a crew; c is the index of the crew. */

/* Brings its account up to `now_h`. */
void efi_crew_settle(efi_run_crew *crew, double now_h);
/* A stop of that length begins and calls its crew, which comes at once or later. */
void efi_crew_call(efi_engine *engine, efi_run_source *source, double length_h);
/* A team has done with a stop and goes to the next. */
void efi_crew_release(efi_engine *engine, int c);
/* The crew comes on duty or goes off. */
void efi_crew_change(efi_engine *engine, int c);
/* Fresh at hour 0. */
void efi_crew_start(efi_engine *engine, int c);
/* Sets its account to zero. */
void efi_crew_clear(efi_run_crew *crew);

/* loads.c: material that comes in loads; k is the index of the intake among those with loads. */
void efi_load_arrive(efi_engine *engine, int k);
void efi_load_end(efi_engine *engine, int k);
void efi_load_put(efi_engine *engine, int k); /* the rate just solved, and when the load will be dumped */

/* batches.c: batch machines; k is the index among them. */

/* Empty and ready to be filled. */
void efi_batch_start(efi_engine *engine, int k);
/* What it may take and give now, after its phase has changed or it has stopped or started. */
void efi_batch_prepare(efi_engine *engine, int k);
/* The end of the present phase. */
void efi_batch_end(efi_engine *engine, int k);
/* The rates just solved, and when the phase will end. */
void efi_batch_put(efi_engine *engine, int k);
/* What it does, while not stopped. */
efi_state efi_batch_state(const efi_engine *engine, int k);
/* How fast it ages, running hours an hour. */
double efi_batch_ageing(const efi_engine *engine, int k);

/* belts.c: conveyors with a delay; k is the index among them. */

#define EFI_BELT_PIECES 16 /* room for so many at the start */

/* Empty. */
void efi_belt_start(efi_engine *engine, int k);
/* What it may take and bring now, after it has stopped or started. */
void efi_belt_prepare(efi_engine *engine, int k);
/* The piece at the discharge has come off. */
void efi_belt_end(efi_engine *engine, int k);
/* The rates just solved, and when the piece will have come off. EF_OK or EF_MEMORY. */
ef_status efi_belt_put(efi_engine *engine, int k);
/* What is on it. */
double efi_belt_content_t(const efi_run_belt *belt);
bool efi_belt_is_empty(const efi_run_belt *belt);
/* With lots: the lot that comes off next, where none lies there the one that is taken. */
int efi_belt_lot(const efi_engine *engine, int k);

/* lots.c: lots and clean-downs; nothing without lots. */

/* Forms the groups. */
void efi_lots_build(efi_engine *engine);
/* Everything empty and open for the first lot. */
void efi_lots_start(efi_engine *engine);
/* The slot k after first_clean is due. */
void efi_lots_apply(efi_engine *engine, int k);
/* Passes lots on from station to station as far as they go at this instant. */
void efi_lots_pass(efi_engine *engine);
/* The rates just solved, and when lots and layers will end. */
void efi_lots_put(efi_engine *engine);
/* Brings layers and the lot at the intake up to the present. */
void efi_lots_settle(efi_engine *engine);
/* A break or a closed time of the station has begun or ended: clean-downs rest meanwhile. */
void efi_lots_hold(efi_engine *engine, int i);
/* Is the bin running out the last of a lot? Then its restart level does not count. */
bool efi_lots_run_out(const efi_engine *engine, int bin_station);
/* Is the station closed to material, for a clean-down or because its lot may not come in yet? */
static inline bool efi_lots_closed(const efi_engine *engine, int i)
{
    return engine->lot && engine->lot[i].phase != EFI_LOT_OPEN;
}

/* latches.c: restart levels and warm-ups. */

/* Ends the warm-up of the w-th station that has one. */
void efi_warm_up_end(efi_engine *engine, int w);
/* Lets bins that have run empty hold back, and warm-ups begin and break off, until nothing changes any more;
 * solves the rates anew each time. EF_OK or EF_NO_ANSWER. */
ef_status efi_latches_settle(efi_engine *engine);

#endif
