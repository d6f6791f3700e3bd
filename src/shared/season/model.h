/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the season engine share: the working time of each line, and what one lot does to a line.
 *
 * Inside, a moment of a line is the working time of the line that lies before it ("work"), so that adding is
 * all there is to it; the clock turns it into seconds of the calendar and back.
 */
#ifndef EFI_SEASON_MODEL_H
#define EFI_SEASON_MODEL_H

#include "base/memory.h"
#include "shared/season/season.h"

/* A forbidden changeover weighs more than any price. */
#define EFI_SEASON_FORBIDDEN_WEIGHT (INT64_C(1) << 49)
#define EFI_SEASON_DAY_S            INT64_C(86400)
#define EFI_SEASON_HOUR_S           INT64_C(3600)

/* A stretch of working time. */
typedef struct efi_season_span {
    int64_t from_s, to_s;
    int64_t work_s;     /* before it */
    int64_t over_s;     /* overtime before it, */
    int64_t over_price; /* and the same times its price of an hour */
    int64_t price;      /* of an hour; 0: no overtime, or it costs nothing */
    bool is_overtime;
    bool is_fresh; /* after a pause */
} efi_season_span;

typedef struct efi_season_clock {
    efi_season_span *span; /* shape [spans], and one that begins where the calendar ends and never does */
    int spans;
    int shift;   /* bucket of a moment: work >> shift */
    int *bucket; /* shape [buckets]: span that holds its first moment */
    int buckets;
    int64_t work_s; /* in all */
} efi_season_clock;

/* What a lot is on a line. */
typedef struct efi_season_hot {
    int64_t arrives_w, work_s;
    int64_t due_s, latest_start_s, late_price, wet_price;
    int64_t fixed_w; /* -1: none */
    bool has_run;    /* and takes no time any more */
    bool is_loose;   /* its start is fixed, its place is not */
    int64_t
        urgent_w; /* its due moment or latest start, whichever is first; the end of the calendar: neither */
    int setup;    /* class of changeovers */
    bool waits;   /* for another lot */
} efi_season_hot;

/* A changeover between two classes. */
typedef struct efi_season_setup {
    int64_t clean_s; /* 0 where it must not be */
    int64_t value;   /* price, and the weight of one that must not be */
    int row;         /* of the stations' cleaning */
} efi_season_setup;

/* What is known of a line with stations. */
typedef struct efi_season_through {
    int stations, teams;
    int64_t delay_s[EFI_SEASON_MOST_STATIONS]; /* from the first station */
    int64_t *least_s; /* shape [lots][stations k][stations m]: what lies between start_k and end_m of a lot,
                         but for delays; -1: nothing */
    const int64_t *clean_s;
} efi_season_through;

/* A store that holds one lot at a time. */
typedef struct efi_season_single {
    int64_t holds_kg, holds_l, clean_s;
    int store;
} efi_season_single;

typedef struct efi_season_model {
    const efi_season_problem *problem;
    efi_season_clock clock[EFI_SEASON_MOST_LINES];
    efi_season_hot *hot[EFI_SEASON_MOST_LINES]; /* shape [lots] each */
    efi_season_through through[EFI_SEASON_MOST_LINES];
    int setups; /* classes of lots whose changeovers are alike; number `setups` is "nothing" */
    efi_season_setup *setup[EFI_SEASON_MOST_LINES]; /* shape [setups + 1][setups + 1]; one for all lines where
                                                       rules do not differ */
    int *setup_of;                                  /* shape [lots + 1] */
    int *by_setup;                     /* shape [lots]: lots by class, and by when they are to run */
    int *in_setup;                     /* shape [lots]: where each lot is in it */
    int *first_of;                     /* shape [setups + 1]: where each class begins */
    int *by_arrival;                   /* shape [lots] */
    int *follower;                     /* shape [lots]: first lot that waits for it, -1: none */
    int *next_follower;                /* shape [lots]: the next that waits for the same one */
    bool has_passes;                   /* any lot waits */
    bool has_overtime;                 /* that has a price */
    bool is_monotone;                  /* a line that is later never costs less */
    efi_season_single *raw, *finished; /* shape [raws], [finisheds]: single stores, the smallest first */
    int raws, finisheds;
    bool mixed[2]; /* raw, finished: by mass and by volume, so that their order depends on the lot */
    int planned;   /* lots that an earlier plan had */
    int *raw_fit, *finished_fit; /* shape [lots]: the first of them that holds the lot, or its product */
    efi_arena *arena;
} efi_season_model;

/* Where a line stands after some of its lots. */
typedef struct efi_season_state {
    int64_t at_w;
    int64_t value; /* of all so far: cleaning, late, wet, overtime, forbidden changeovers */
    int64_t sure;  /* the part of it that does not depend on times: cleaning and forbidden changeovers */
    int64_t over;  /* the part that is overtime */
    int last;      /* lot; `lots`: none yet */
    bool holds;    /* it starts no earlier, however early the line stands before it */
} efi_season_state;

/* The same of the stations of a line. */
typedef struct efi_season_depth {
    int64_t end_w[EFI_SEASON_MOST_STATIONS];
    int64_t team_w[EFI_SEASON_MOST_STATIONS]; /* teams are free, the first first */
} efi_season_depth;

/* Checks the problem and prepares. EF_OK, EF_USAGE, EF_MEMORY; free it in any case. */
ef_status efi_season_model_build(efi_season_model *model, const efi_season_problem *problem);
void efi_season_model_free(efi_season_model *model);

/* Lots and hours of work have changed: what is known of them anew. EF_OK, EF_USAGE. */
ef_status efi_season_model_again(efi_season_model *model);

/* a * b / c, rounded down, or a large number where that is too large. a, b >= 0, c > 0. */
static inline int64_t efi_season_scale(int64_t a, int64_t b, int64_t c)
{
    const int64_t most = EFI_SEASON_FORBIDDEN_WEIGHT / 2;
    if ((uint64_t)(a | b) >> 31 == 0)
        return a * b / c;
    if (b == 0 || a <= INT64_MAX / b)
        return a * b / c < most ? a * b / c : most;
    const int64_t whole = a / c; /* large: divide first, what is lost is under one unit of b */
    return whole > most / b ? most : whole * b;
}

/* ---- clock ----------------------------------------------------------------------------------------------
 */

ef_status efi_season_clock_build(efi_season_clock *clock, const efi_season_problem *problem, int line,
                                 efi_arena *arena);

/* Work before a second of the calendar. */
int64_t efi_season_clock_work(const efi_season_clock *clock, int64_t second);

/* The span that holds a moment, as a beginning: span->work_s <= work. */
static inline const efi_season_span *efi_season_clock_span(const efi_season_clock *clock, int64_t work)
{
    const int64_t bucket = work >> clock->shift;
    const efi_season_span *span =
        &clock->span[bucket < clock->buckets ? clock->bucket[bucket] : clock->spans];
    while (span - clock->span < clock->spans && span[1].work_s <= work)
        span++;
    return span;
}

/* The moment as the second at which something begins, and as that at which it ends. */
static inline int64_t efi_season_clock_begin(const efi_season_clock *clock, int64_t work)
{
    const efi_season_span *span = efi_season_clock_span(clock, work);
    return span->from_s + (work - span->work_s);
}

static inline int64_t efi_season_clock_end(const efi_season_clock *clock, int64_t work)
{
    const efi_season_span *span = efi_season_clock_span(clock, work);
    if (span->work_s == work && span > clock->span)
        return span[-1].from_s + (work - span[-1].work_s);
    return span->from_s + (work - span->work_s);
}

/* Overtime before a moment. */
typedef struct efi_season_over {
    int64_t s, price; /* seconds, and the same times the price of an hour */
} efi_season_over;
efi_season_over efi_season_clock_over(const efi_season_clock *clock, int64_t work);

/* Overtime from one moment to another. */
static inline efi_season_over efi_season_clock_between(const efi_season_clock *clock, int64_t from_w,
                                                       int64_t to_w)
{
    const efi_season_over from = efi_season_clock_over(clock, from_w);
    const efi_season_over to = efi_season_clock_over(clock, to_w);
    return (efi_season_over){to.s - from.s, to.price - from.price};
}

static inline efi_season_over efi_season_over_add(efi_season_over a, efi_season_over b)
{
    return (efi_season_over){a.s + b.s, a.price + b.price};
}

/* The moment at which `work_s` are done from a moment on, with `restart_s` more after each pause within;
 * `restarts` (NULL: not wanted) counts those. */
int64_t efi_season_clock_add(const efi_season_clock *clock, int64_t work, int64_t work_s, int64_t restart_s,
                             int *restarts);

/* ---- lots one after the other ---------------------------------------------------------------------------
 */

void efi_season_begin(const efi_season_model *model, int line, efi_season_state *state,
                      efi_season_depth *depth);

/* When a lot runs, and when the last of it has gone into the line. */
typedef struct efi_season_moment {
    int64_t start_s, end_s, fed_s;
} efi_season_moment;

/* A lot to be run next on a line. */
typedef struct efi_season_step {
    int line, lot;
    int64_t arrives_w; /* on that line, whatever it waits for */
} efi_season_step;

/* Runs it: `state` and `depth` (of a line with stations) become those after it; `run` (NULL: not wanted) gets
 * all but place, waits and stores. */
void efi_season_next(const efi_season_model *model, const efi_season_step *step, efi_season_state *state,
                     efi_season_depth *depth, efi_season_moment *moment, efi_season_run *run);

/* The step of a lot that waits for none. */
static inline efi_season_step efi_season_step_of(const efi_season_model *model, int line, int lot)
{
    return (efi_season_step){line, lot, model->hot[line][lot].arrives_w};
}

/* The changeover from one lot (`lots`: nothing) to another. */
static inline const efi_season_setup *efi_season_setup_of(const efi_season_model *model, int line, int from,
                                                          int to)
{
    return &model->setup[line][(size_t)model->setup_of[from] * ((size_t)model->setups + 1) +
                               (size_t)model->setup_of[to]];
}

/* The changeover after the last lot of a line. */
static inline int64_t efi_season_close(const efi_season_model *model, int line, const efi_season_state *state)
{
    const int lots = model->problem->lots;
    return state->last == lots ? 0 : efi_season_setup_of(model, line, state->last, lots)->value;
}

/* A line with stations: as efi_season_next, which calls it. */
void efi_season_pass(const efi_season_model *model, const efi_season_step *step, efi_season_state *state,
                     efi_season_depth *depth, efi_season_moment *moment, efi_season_run *run);
ef_status efi_season_through_build(efi_season_model *model, int line);

/* What follows from when a lot runs. */
typedef struct efi_season_when {
    int64_t start_w, end_w, fed_w;
    efi_season_over over;
    bool is_fixed; /* start_s is that of the lot */
    bool misses;   /* a fixed start */
} efi_season_when;

/* Adds it to the state. */
void efi_season_settle(const efi_season_model *model, const efi_season_step *step,
                       const efi_season_when *when, efi_season_state *state, efi_season_moment *moment,
                       efi_season_run *run);

/* ---- an earlier plan ------------------------------------------------------------------------------------
 */

/* The greatest number of lots of a line (those before `from`, `middle`, those from `until` on) that an
 * earlier plan had there and in this order; lots without earlier plan are passed over. `least` (shape [lots])
 * is scratch. */
typedef struct efi_season_sequence {
    const int *lot;
    int count;
    const int *middle;
    int middles;
    int from, until;
} efi_season_sequence;
int efi_season_kept(const efi_season_problem *problem, int line, const efi_season_sequence *sequence,
                    int *least);

/* Marks the lots of a line that have moved. `scratch` has shape [2 lots]. */
void efi_season_mark_moved(const efi_season_problem *problem, int line, const int *lot, int count,
                           int *scratch, efi_season_run *run);

/* Does the search look at an earlier plan at all? */
static inline bool efi_season_has_moves(const efi_season_model *model)
{
    return model->planned > 0 && model->problem->move_price > 0;
}

/* ---- stores ---------------------------------------------------------------------------------------------
 */

/* What a store holds of a lot of this density. */
static inline int64_t efi_season_holds_kg(const efi_season_single *single, int64_t kg_per_m3)
{
    return single->holds_l > 0 ? efi_season_scale(single->holds_l, kg_per_m3, 1000) : single->holds_kg;
}

/* The first single store that holds `kg` (the smallest, where they are in order of size); their number: none.
 */
static inline int efi_season_fit(const efi_season_single *single, int count, int64_t kg, int64_t kg_per_m3)
{
    int fit = 0;
    while (fit < count && efi_season_holds_kg(&single[fit], kg_per_m3) < kg)
        fit++;
    return fit;
}

#endif
