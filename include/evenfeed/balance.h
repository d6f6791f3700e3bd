/* SPDX-License-Identifier: GPL-3.0-or-later
 * The balance: for each crop the rate the line holds, what limits it, and what every station and outlet gets.
 *
 * The rates are steady rates without stops. Shares hold near the rate at which they were measured. */
#ifndef EVENFEED_BALANCE_H
#define EVENFEED_BALANCE_H

#include <evenfeed/diag.h>
#include <evenfeed/scenario.h>
#include <evenfeed/status.h>
#include <stdbool.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What the balance makes as large as it can. */
#define EF_BALANCE_AIM_LIST(X)                                                                               \
    X(EF_BALANCE_RATE, "rate", "the rate of intake")                                                         \
    X(EF_BALANCE_VALUE, "value", "the value of what leaves, less receipt and energy")

typedef enum ef_balance_aim {
#define EF_BALANCE_AIM_ENUM(name, word, words) name,
    EF_BALANCE_AIM_LIST(EF_BALANCE_AIM_ENUM)
#undef EF_BALANCE_AIM_ENUM
} ef_balance_aim;

/* Material on the move: t/h in all and by material. */
typedef struct ef_stream {
    double total_tph;
    const double *material_tph; /* shape [material] */
} ef_stream;

/* What one station has to do. */
typedef struct ef_balance_station {
    const char *name;
    const char *kind; /* as written in the scenario */
    const char *line; /* the line it belongs to; NULL when shared */
    ef_place place;   /* where the scenario describes it */
    int count;        /* identical machines side by side */
    ef_stream feed;   /* all of them together, returns included */
    double feed_m3ph; /* by the densities of its materials; has_density says whether that is known */
    bool has_density;
    bool has_capacity;
    bool capacity_by_volume; /* capacity, feed_in_unit and slack are m3/h, else t/h */
    double nominal_capacity; /* of all machines together, as given */
    double derating;         /* what wet or trashy receipts leave of it, 0.1 to 1 */
    double peak_factor;      /* peaks over the mean, >= 1 */
    double capacity;         /* what the mean feed may be: nominal_capacity x derating / peak_factor */
    double feed_in_unit;     /* the feed in the unit of the capacity */
    double slack;            /* capacity - feed_in_unit */
    double load;             /* feed_in_unit / capacity, 0 to 1 */
    ef_place capacity_place; /* where the scenario gives it */
    bool limits;             /* at its capacity in the best balance */
    double
        worth_intake_tph; /* where it limits: t/h more intake for each unit more of capacity (t/h or m3/h) */
    double worth_product_tph; /* the same in t/h of product */
    double worth_value;       /* money per hour for each unit more, when that is the aim */
    bool has_least_feed;
    double least_feed_tph; /* of all machines together */
    bool under_least_feed; /* fed less than that */
    int enough_machines; /* under_least_feed with count > 1: with this many machines each gets its least; else
                            0 */
    bool steady_feed;
    double steady_band; /* share of the set rate */
    double power_kw;
    double air_m3ph; /* 0 when not given */
    double people;   /* 0 when not given */
} ef_balance_station;

/* What leaves at one outlet. */
typedef struct ef_balance_outlet {
    const char *name;
    ef_place place;
    bool product;
    ef_stream flow;
    double share_of_intake;  /* its t/h over those of the intake */
    double wanted_share;     /* wanted material in it: for a product its purity; 0 when nothing arrives */
    double wanted_recovered; /* of the wanted material received, or made on the line out of other, the share
                                that leaves here */
    bool has_least_rate;
    double least_rate_tph;
    bool has_least_purity;
    double least_purity; /* share */
    const char *use;     /* as written in the scenario; NULL when not said */
    bool has_price;
    double price;       /* money per t, below 0 for a cost */
    double value_per_h; /* money */
    bool has_holds;     /* a cart, box or bay */
    bool holds_by_volume;
    double holds;            /* t, or m3 by volume */
    const char *holds_words; /* as the scenario gives it, "2 short_ton"; NULL when not given */
    double fills_h; /* how long until it is full; 0 when nothing arrives or the volume is not known */
} ef_balance_outlet;

/* One branch of a split, and a split. */
typedef struct ef_balance_branch {
    const char *name;
    const char *to; /* station */
    double share;
    double least_share, most_share; /* 0 and 1 where not given; both the share itself where it is fixed */
    bool by_pass;
} ef_balance_branch;

typedef struct ef_balance_split {
    const char *name;
    const char *rule; /* as written in the scenario */
    ef_place place;
    bool chosen; /* its shares were chosen by the answer */
    const ef_balance_branch *branches;
    int branch_count;
} ef_balance_split;

/* What to buy for one rung of the ladder: capacity of a station, or power. */
typedef struct ef_balance_purchase {
    const char *station; /* NULL: power, kW */
    bool by_volume;      /* m3/h, else t/h */
    double more;         /* in all, against the scenario */
    double capacity;     /* what the mean feed may then be; kW for power */
} ef_balance_purchase;

/* One rung: with these purchases the line reaches this, and then these limit. */
typedef struct ef_balance_rung {
    const ef_balance_purchase *purchases;
    int purchase_count;
    double intake_tph;
    double product_tph;
    double value_per_h;        /* money, when that is the aim */
    const char *const *limits; /* the stations that limit now, NULL for power */
    int limit_count;           /* 0: nothing limits any more */
    double check;              /* relative difference when the plant with these purchases is solved afresh */
} ef_balance_rung;

/* One spout. */
typedef struct ef_balance_spout {
    const char *from;      /* station */
    const char *discharge; /* "" where the station has a single way on */
    const char *to;        /* station */
    bool closes_loop;      /* a return: leads back to a station that it comes from */
    ef_stream flow;
} ef_balance_spout;

/* A bin above a steady-feed station, against the rule of thumb of so many minutes of that station's feed. */
typedef struct ef_balance_bin {
    const char *name;
    const char *feeds; /* the steady-feed station */
    ef_place place;
    double feed_tph; /* of that station, returns included, at the balance */
    double feed_m3ph;
    double rule_h;
    double rule_t;
    double rule_m3;      /* 0 without density */
    double rule_bushel;  /* by volume, 2150.42 in3; 0 without density */
    bool has_density;    /* of the crop, so that volumes are known */
    bool has_live;       /* the scenario gives its live volume */
    double live_m3;      /* of it */
    double live_t;       /* 0 without density */
    double live_minutes; /* how long that feeds the station; 0 without density or feed */
} ef_balance_bin;

/* A demand that cannot be met, and what stands against it. */
typedef enum ef_balance_demand {
    EF_BALANCE_LEAST_RATE,
    EF_BALANCE_LEAST_PURITY,
    EF_BALANCE_POWER
} ef_balance_demand;

typedef struct ef_balance_conflict {
    ef_balance_demand demand;
    const char *outlet;    /* NULL for power */
    ef_place place;        /* where the demand stands */
    double demanded_share; /* of wanted material, least purity */
    double reached_share;  /* what the line reaches */
    double idle_kw;        /* power: what the stations draw before a tonne passes */
    double limit_kw;
    double demanded_tph;
    double most_tph;             /* the most this outlet can get, other demands left aside */
    const char *const *limiting; /* shape [limiting_count]: the stations that hold it there */
    int limiting_count;
} ef_balance_conflict;

/* The balance of one crop. */
typedef struct ef_balance_crop {
    const char *name;
    ef_place place;
    bool feasible; /* false: demands contradict each other, see conflicts; the flows are then all 0 */
    ef_stream intake;
    ef_stream product;       /* of all product outlets */
    double yield;            /* product over intake */
    double wanted_recovered; /* of the wanted material received or made, the share in the products */
    double wanted_made_tph;  /* wanted material that machines make of other; 0 where nothing is turned */
    double purity;           /* wanted share of the product */
    double shift_h;
    double intake_per_shift_t;  /* rate times hours, before stops */
    double product_per_shift_t; /* the same */
    bool has_trade_weight;
    double trade_weight_tpbu;
    const ef_balance_station
        *stations; /* shape [station_count]: those the crop passes, in order from the intake */
    int station_count;
    const ef_balance_spout *spouts;
    int spout_count;
    const ef_balance_outlet *outlets; /* products first */
    int outlet_count;
    const ef_balance_bin *bins;
    int bin_count;
    const ef_balance_conflict *conflicts;
    int conflict_count;
    const ef_balance_split *splits;
    int split_count;
    const ef_balance_rung *rungs; /* of the ladder, where asked for */
    int rung_count;
    double value_per_h; /* money: what leaves, less receipt and energy; 0 without prices */
    bool has_bound;     /* shares were chosen: no choice can do better than `bound` */
    double bound;       /* t/h of intake, or money per hour: what the aim is */
    double gap;         /* (bound - reached) / bound, 0 or more */
    int search_starts;  /* of the choice of shares */
    int search_steps;
    double power_kw;
    bool has_power_limit;
    double power_limit_kw;
    bool power_limits;
    double power_worth_intake_tph;  /* where it limits: t/h more intake for each kW more */
    double power_worth_product_tph; /* the same in t/h of product */
    double power_worth_value;       /* money per hour for each kW more, when that is the aim */
    double kwh_per_t;               /* of product */
    double air_m3ph;
    double people; /* asked for by the stations */
    bool has_people_limit;
    double people_limit;
    double primal_error; /* share by which the solver's rates were put right; 0 for rounding */
} ef_balance_crop;

/* The balance of one or more crops. Borrows names from its scenario. */
typedef struct ef_balance {
    const char *plant;
    const char *scenario_file;
    const char *const *materials; /* shape [material_count] */
    const bool *wanted;           /* shape [material_count] */
    int material_count;
    ef_balance_aim aim;
    const char *currency;         /* "" when none is named */
    const ef_balance_crop *crops; /* shape [crop_count] */
    int crop_count;
    bool feasible; /* of every crop */
} ef_balance;

typedef struct ef_balance_settings {
    int crop;             /* number of the crop, or -1 for all */
    const char *write_lp; /* write the LP of the (first) crop to this file, NULL for none */
    bool overwrite;       /* an existing file may be replaced */
    ef_balance_aim aim;
    int ladder;          /* rungs at the most, 0 for none */
    bool has_surge_rule; /* else the scenario's */
    double surge_rule_h;
} ef_balance_settings;

/* All crops, greatest rate, no ladder, nothing written, the scenario's rule. */
ef_balance_settings ef_balance_defaults(void);

/*
 * Balances the line. On EF_OK or EF_NO_ANSWER (some crop has demands that contradict each other) `*balance`
 * is set, to be freed with ef_balance_free before the scenario. EF_USAGE: no such crop. EF_FILE: the LP could
 * not be written. EF_MEMORY, EF_INTERNAL. Threads may balance the same scenario at the same time.
 */
ef_status ef_balance_solve(const ef_scenario *scenario, const ef_balance_settings *settings,
                           ef_balance **balance);

void ef_balance_free(ef_balance *balance);

/*
 * The intake of one crop for many capacities of one station, each solved from the one before (a warm start).
 *
 * crop          number of the crop
 * station       name of the station; it must have a capacity for the crop
 * capacity      shape [count]: what the mean feed of all its machines may be, t/h, or m3/h where the scenario
 * gives it by volume; each > 0 intake_tph    receives the greatest intake, shape [count]; 0 where demands
 * then contradict each other EF_OK; EF_USAGE: no such crop or station, a capacity that is not positive;
 * EF_MEMORY, EF_INTERNAL. Unless EF_OK, `intake_tph` is unspecified. Threads may vary the same scenario at
 * the same time.
 */
ef_status ef_balance_vary(const ef_scenario *scenario, int crop, const char *station, const double *capacity,
                          int count, double *intake_tph);

/* The word of an aim, "rate" or "value"; never NULL. Any thread. */
const char *ef_balance_aim_word(ef_balance_aim aim);

/*
 * Recomputes what the balance claims from the scenario, with none of the solver's code: flows station by
 * station, shares, capacities, the optimum, products, rule of thumb. What differs by more than 1e-6 relative
 * is described in `*differences`, one line each (NULL when all agrees), to be freed with ef_report_free.
 * EF_OK: all agrees; EF_INTERNAL: it does not; EF_MEMORY.
 */
ef_status ef_balance_verify(const ef_scenario *scenario, const ef_balance *balance, char **differences);

#ifdef __cplusplus
}
#endif
#endif
