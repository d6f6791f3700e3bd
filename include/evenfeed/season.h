/* SPDX-License-Identifier: GPL-3.0-or-later
 * The season: in which order the lots of a scenario run, on which line, on which day, from and into which
 * store, so that lateness, cleaning, overtime and trouble with storage cost least.
 *
 * Moments are seconds from 1970-01-01T00:00 of the plant's own clock, EF_SEASON_NONE where there is none. */
#ifndef EVENFEED_SEASON_H
#define EVENFEED_SEASON_H

#include <evenfeed/diag.h>
#include <evenfeed/scenario.h>
#include <evenfeed/status.h>
#include <stdbool.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#define EF_SEASON_NONE        INT64_MAX
#define EF_SEASON_MOST_STORES 8 /* that one lot may lie in */

/* The terms of the cost. */
typedef enum ef_season_term {
    EF_SEASON_CLEANING, /* labour, flushed seed and other cost of cleaning between lots */
    EF_SEASON_LATE,     /* days after the due date, each at its lot's price */
    EF_SEASON_WET,      /* days after the latest start of lots that do not keep */
    EF_SEASON_OVERTIME, /* hours worked outside the shifts */
    EF_SEASON_RAW,      /* tonnes and days without room before the run */
    EF_SEASON_FINISHED, /* the same after the run */
    EF_SEASON_MOVES     /* lots that an earlier plan had in another place */
} ef_season_term;
#define EF_SEASON_TERMS 7

/* The word ("late lots") and the meaning, in English; never NULL. Any thread. */
const char *ef_season_term_word(ef_season_term term);
const char *ef_season_term_meaning(ef_season_term term);

/* How far a lot has come: as in the scenario, or in the plan that was taken up. */
typedef enum ef_season_state {
    EF_SEASON_WAITING,
    EF_SEASON_FROZEN,
    EF_SEASON_RUNNING,
    EF_SEASON_DONE
} ef_season_state;

/* What keeps a lot from running earlier. */
typedef enum ef_season_holds {
    EF_SEASON_HELD_BY_NOTHING, /* it runs at the first moment of the season */
    EF_SEASON_HELD_BY_ARRIVAL,
    EF_SEASON_HELD_BY_LINE,       /* the lot before it on its line */
    EF_SEASON_HELD_BY_FIRST_PASS, /* the lot it comes after, and the laboratory */
    EF_SEASON_HELD_BY_CALENDAR,
    EF_SEASON_HELD_BY_STATE /* it is frozen, running or done */
} ef_season_holds;

/* One lot: what is asked for. */
typedef struct ef_season_lot {
    const char *name;
    const char *crop;
    const char *variety; /* "" when absent; so are the next six */
    const char *seed_class;
    const char *treatment;
    const char *allergen;
    const char *trait;
    const char *colour;
    const char *product;
    const char *note;
    ef_season_state state;
    double trade_weight_tpbu; /* t of a bushel of its crop, for people who read bushels; 0 without */
    double amount_t;          /* as received */
    double left_t;            /* still to be run */
    double product_t;         /* what becomes of that: by the shares of the balance */
    double moisture;          /* share, 0 when unknown */
    int certification_lots; /* that the product of the whole lot has to be divided into by weight; 0: unknown
                             */
    int64_t arrives, arrives_latest, due, latest_start;
    double late_per_day; /* money */
    double wet_per_day;
    const char *after; /* name of the lot it comes after; "" */
    double wait_h;
} ef_season_lot;

/* Where a planning rate comes from. */
typedef enum ef_season_rate_source {
    EF_SEASON_RATE_NONE,      /* the line cannot run the crop */
    EF_SEASON_RATE_LOT,       /* the lot's own */
    EF_SEASON_RATE_SEASON,    /* the season's `planning rate` */
    EF_SEASON_RATE_SIMULATED, /* shifts simulated with all stops: as `evenfeed shift` says */
    EF_SEASON_RATE_BALANCE    /* the steady balance, where shifts cannot be simulated */
} ef_season_rate_source;

/* Rate of one crop on one line. */
typedef struct ef_season_rate {
    const char *crop;
    const char *line;
    double rate_tph;   /* intake per hour of work; 0: cannot run */
    double line_share; /* that the line takes of the plant's rate while all lines run; 1 in a plant of one.
                          Only where the rate is simulated or of the balance, else 0 */
    double product_share;
    ef_season_rate_source source; /* of lots without a rate of their own */
    double spread; /* of simulated shifts: standard deviation of their tonnes over the mean; 0: not simulated
                    */
} ef_season_rate;

/* One station that is cleaned on its own before a lot. */
typedef struct ef_season_cleaned {
    const char *station;
    int64_t from, to;
    double clean_h; /* of working time */
} ef_season_cleaned;

/* How a crop passes one station of a line that is cleaned station by station. */
typedef struct ef_season_passage {
    int line;
    const char *crop;
    const char *station;
    double work_share; /* of a lot's hours that it works: its load in the balance over that of the slowest */
    double delay_h;    /* from the station before, the same for all crops; 0 for the first */
    double room_t;     /* intake of the line that fits into the bins between it and the next */
} ef_season_passage;

/* One lot in the plan. */
typedef struct ef_season_run {
    int lot;                      /* its number */
    int line;                     /* its number */
    int place;                    /* on its line, from 0 */
    int before;                   /* number of the lot that ran before it on the line, -1 */
    const char *shift;            /* on duty at its start; "" */
    int64_t clean_from, clean_to; /* equal without cleaning; station by station from the first to begin to the
                                     last to end, which may be after the start */
    int64_t start, end;
    const ef_season_cleaned *cleaned; /* shape [cleaned_count]: station by station, along the line */
    int cleaned_count;
    double stands_h; /* station by station: working time from the end of the lot before at the slowest station
                        to the start of this one there; 0 without a lot before */
    double clean_h;  /* of working time */
    double work_h;   /* the same, restarts included */
    double rate_tph;
    ef_season_rate_source rate_source;
    const char *rule; /* that set the cleaning; "" when none matched */
    bool forbidden;   /* the rule says never */
    double flush_t;
    double clean_people;
    double clean_cost; /* money; as are the next five */
    double late_cost, wet_cost, overtime_cost, raw_cost, finished_cost;
    double late_days, wet_days; /* 0 or more */
    double overtime_h;
    int restarts;
    bool fits;          /* ends within the calendar */
    bool misses_start;  /* it is frozen, and the line is not ready at its moment */
    bool waits_in_vain; /* it runs although the lot that it comes after has not ended, with its wait */
    double raw_missing_t, finished_missing_t;
    int raw[EF_SEASON_MOST_STORES]; /* numbers of stores, -1 after the last */
    int finished[EF_SEASON_MOST_STORES];
    int64_t raw_from, raw_to; /* it lies there; equal when it needs none */
    int64_t finished_from, finished_to;
    double
        chance_late; /* share of simulated seasons in which it is late; < 0: not simulated or without due */
    double late_days_p90; /* days late in one of ten of them */
    ef_season_holds held_by;
    bool has_earlier, has_later; /* it could change places with its neighbour on the line */
    double earlier_cost;         /* money that it would cost more in all; below 0: less */
    double later_cost;
    int was_line, was_place; /* in the plan that was taken up; -1: it was in none */
    bool is_moved; /* against the plan that was taken up: on another line, or not among the greatest number of
                      lots of its line that keep their order */
} ef_season_run;

typedef struct ef_season_line {
    const char *name;
    bool by_station;     /* it is cleaned station by station */
    const char *cleared; /* why it is not although the scenario wants it; "" */
    const char *cleared_by,
        *cleared_why;      /* what `cleared` is made of: a name or "", and a text with %s for it */
    const char *last_rule; /* cleaning after the last lot; "" */
    int64_t last_clean_from, last_clean_to;
    double last_clean_cost;
    double open_h;  /* working time from the season's start to the end of the last lot */
    double work_h;  /* of that on lots */
    double clean_h; /* station by station: in which the slowest station stands for it */
    double idle_h;
    double overtime_h;
} ef_season_line;

typedef struct ef_season_store {
    const char *name;
    bool finished;
    bool shared;
    double holds_t;  /* 0: by volume */
    double holds_m3; /* 0: by mass */
    double clean_h;
    double most_t; /* at any time */
} ef_season_store;

/* A stretch in which something lies in a store. */
typedef struct ef_season_stay {
    int store; /* -1: no room was found */
    bool finished;
    int lot;
    int64_t from, to;
    double amount_t;
} ef_season_stay;

/* A stretch of the calendar of a line. */
typedef enum ef_season_time {
    EF_SEASON_CLOSED,
    EF_SEASON_SHIFT,
    EF_SEASON_OVERTIME_TIME,
    EF_SEASON_BREAK,
    EF_SEASON_MAINTENANCE,
    EF_SEASON_DAILY_CLEAN /* the cleaning before the first work of a day */
} ef_season_time;
typedef struct ef_season_stretch {
    int line;
    int64_t from, to;
    ef_season_time state;
} ef_season_stretch;

typedef struct ef_season_cost {
    double term[EF_SEASON_TERMS]; /* money */
    double total;
} ef_season_cost;

typedef struct ef_season {
    const char *plant;
    const char *scenario_file;
    const char *currency; /* "" when the scenario names none */
    uint64_t seed;
    int64_t from, to; /* of the season */
    int64_t at;       /* the moment from which it is planned, the season's start unless asked for */
    const ef_season_lot *lots;
    int lot_count;
    const ef_season_run *runs; /* shape [run_count], line by line, each in its order; lots that are done and
                                  have no start are left out */
    int run_count;
    const ef_season_line *lines;
    int line_count;
    const ef_season_rate *rates; /* shape [rate_count]: crops that have lots, by line */
    int rate_count;
    const ef_season_passage *passages; /* shape [passage_count]: of lines that are cleaned station by station,
                                          by line, crop, and along the line */
    int passage_count;
    const ef_season_store *stores;
    int store_count;
    const ef_season_stay *stays; /* by store, then by time */
    int stay_count;
    const ef_season_stretch *stretches; /* by line, then by time, from `from` to the end of the plan */
    int stretch_count;
    ef_season_cost cost;
    ef_season_cost bound; /* no plan costs less in that term, none less in all */
    double gap_share;     /* (cost - bound) / cost of the totals; 0 when there is no cost */
    int forbidden; /* changeovers that must not be, lots that do not fit, miss their frozen start or wait in
                      vain: 0 in a plan to follow */
    int late_lots, wet_lots, roomless_lots;
    double late_days;
    double clean_h, flush_t, overtime_h;
    int64_t end;        /* of the last lot */
    bool cleared_lines; /* the scenario cleans station by station, but some line is cleared instead: it loses
                           no less time than that would (see `cleared` of lines) */
    bool kept_order;    /* the order was given and only priced */
    bool has_ours;      /* then: what our own search found */
    ef_season_cost ours;
    bool has_previous; /* a plan was taken up */
    int moved_lots;
    int seasons_simulated; /* for the chances */
    int rounds;
    uint64_t steps; /* searched; the same number with the same seed gives the same plan */
    bool stopped;   /* interrupted: the best so far */
} ef_season;

/* An order of lots, read from a plan file; see ef_season_plan_read. */
typedef struct ef_season_plan ef_season_plan;

typedef struct ef_season_progress {
    double cost; /* of the best plan so far */
    double bound;
    int forbidden;
    int rounds;
    uint64_t steps;
} ef_season_progress;

typedef struct ef_season_settings {
    uint64_t seed;
    int threads;                /* no influence on the answer; 0: as many as there are processors */
    int rounds;                 /* most rounds of search; 0: only the first plan */
    const ef_season_plan *plan; /* to start from; NULL: none */
    bool keep_order;            /* price the plan's order as it is, and search beside it for a better one, in
                                   which moving lots costs nothing */
    bool has_at;
    int64_t at; /* lots that the plan has ended by then are done, those begun are running, nothing else starts
                   before */
    int simulated; /* seasons for the chance of being late; 0: none */
    int rate_runs; /* shifts simulated for each planning rate; 0: 400 */
    bool (*go_on)(void *context,
                  const ef_season_progress *progress); /* between rounds; false: stop. NULL: always
                                                        */
    void *context;
} ef_season_settings;

/* Seed 1, all processors, 200 rounds, 200 simulated seasons. */
ef_season_settings ef_season_defaults(void);

/*
 * Plans the season. On EF_OK `*season` is set, to be freed with ef_season_free before the scenario. A plan
 * with trouble (late, without room, forbidden changeovers that cannot be avoided) is an answer. EF_NO_ANSWER,
 * with `*reason`: there are no lots, or a lot that no line can run. EF_USAGE: settings out of range.
 * EF_MEMORY, EF_INTERNAL.
 */
ef_status ef_season_run_plan(const ef_scenario *scenario, const ef_season_settings *settings,
                             ef_season **season, char **reason);
void ef_season_free(ef_season *season);

/*
 * Recomputes times, rules, stores, cost and bound's side from the scenario and the order of the lots alone,
 * without the engine and minute by minute where that is exact. EF_OK; EF_INTERNAL with a line for each
 * difference in `*differences`, to be freed with ef_report_free; EF_MEMORY.
 */
ef_status ef_season_verify(const ef_scenario *scenario, const ef_season *season, char **differences);

/*
 * Reads a plan file (the CSV that ef_report_season_plan writes; columns `lot` and `line` suffice, the order
 * of the rows is the order on each line). Lots of the scenario that it lacks are put where they cost least.
 * Findings are added to `diags`. EF_OK, EF_SCENARIO, EF_FILE (errno), EF_MEMORY.
 */
ef_status ef_season_plan_load(const ef_scenario *scenario, const char *path, ef_diags *diags,
                              ef_season_plan **plan);
ef_status ef_season_plan_read(const ef_scenario *scenario, const char *name, const char *bytes, size_t length,
                              ef_diags *diags, ef_season_plan **plan);
void ef_season_plan_free(ef_season_plan *plan);

/* The lots of one line of a plan in their order, numbers of the scenario: how many there are; 0 when the plan
 * has no such line. `lots` (NULL: not wanted) has room for them. Any thread. */
int ef_season_plan_order(const ef_season_plan *plan, int line, int *lots);

/* A lot that might come. */
typedef struct ef_season_question {
    int crop;
    double amount_t;
    const char *variety, *seed_class, *treatment; /* NULL: none */
    int64_t arrives;                              /* EF_SEASON_NONE: there from the start */
    int64_t due;                                  /* EF_SEASON_NONE: none */
} ef_season_question;

/* One place where it could go. */
typedef struct ef_season_offer {
    int line;
    int place;          /* before the lot that has this place now */
    const char *behind; /* name of the lot before it; "" */
    int64_t start, end;
    double cost;        /* money more in all; without the lot's own lateness when it has no due date */
    double others_cost; /* of that: what the other lots lose */
    int others_late;    /* lots that become late, or later, by it */
} ef_season_offer;

typedef struct ef_season_answer {
    const char *crop; /* as asked for; so are the next three */
    double amount_t;
    int64_t arrives, due;
    ef_season *season; /* the plan it is put into */
    ef_season_offer cheapest, earliest;
    const ef_season_offer *offers; /* shape [offer_count], by cost: at most ten */
    int offer_count;
} ef_season_answer;

/* Where such a lot would go best in the plan of these settings, and what that costs. As ef_season_run_plan.
 */
ef_status ef_season_when(const ef_scenario *scenario, const ef_season_settings *settings,
                         const ef_season_question *question, ef_season_answer **answer, char **reason);
void ef_season_answer_free(ef_season_answer *answer);

#ifdef __cplusplus
}
#endif
#endif
