/* SPDX-License-Identifier: GPL-3.0-or-later
 * The scenario as checked, typed data: what the file says, in tonnes, hours and cubic metres, immutable once
 * loaded. */
#ifndef EFI_SCENARIO_H
#define EFI_SCENARIO_H

#include "base/tongue.h"
#include "base/quantity.h"
#include "model/calendar.h"
#include "model/node.h"
#include "model/season.h"

#include <evenfeed/scenario.h>
#include <evenfeed/units.h>

/* What a kind of station does with material; decides which keys go with it. */
typedef enum efi_class {
    EFI_CLASS_INTAKE,
    EFI_CLASS_MACHINE,
    EFI_CLASS_CONVEYOR,
    EFI_CLASS_BIN,
    EFI_CLASS_SPLIT,
    EFI_CLASS_OUTLET
} efi_class;

/* code, word in the scenario, class, whether it separates, what it is */
#define EFI_STATION_LIST(X)                                                                                  \
    X(INTAKE, EFI_TR("intake"), INTAKE, false, "a pit or hopper where receipts arrive")                      \
    X(SCALPER, EFI_TR("scalper"), MACHINE, true, "takes straw, stones and other coarse matter off early")    \
    X(ASPIRATOR, EFI_TR("aspirator"), MACHINE, true, "lifts chaff and light matter off with air")            \
    X(DEBEARDER, EFI_TR("debearder"), MACHINE, false, "rubs awns and clusters off")                          \
    X(HULLER, EFI_TR("huller"), MACHINE, true, "rubs hulls off, or scarifies hard seed")                     \
    X(AIR_SCREEN, EFI_TR("air-screen cleaner"), MACHINE, true,                                               \
      "screens and air in one machine: the basic cleaning")                                                  \
    X(LENGTH, EFI_TR("length grader"), MACHINE, true, "indented cylinders or discs: parts by length")        \
    X(WIDTH, EFI_TR("width grader"), MACHINE, true,                                                          \
      "slotted or round-hole screens: parts by width or thickness")                                          \
    X(ROLLS, EFI_TR("roll mill"), MACHINE, true, "velvet rolls: takes rough seed out of smooth")             \
    X(SPIRAL, EFI_TR("spiral separator"), MACHINE, true, "parts round from flat seed as they roll down")     \
    X(DESTONER, EFI_TR("destoner"), MACHINE, true, "takes stones and earth out on an inclined air deck")     \
    X(DENSITY, EFI_TR("density separator"), MACHINE, true,                                                   \
      "an air-fluidised deck that parts heavy from light seed")                                              \
    X(OPTICAL, EFI_TR("optical sorter"), MACHINE, true, "takes out what looks wrong, by colour or shape")    \
    X(TREATER, EFI_TR("treater"), MACHINE, false, "puts a protectant or coating on the seed")                \
    X(WEIGHER, EFI_TR("weigher"), MACHINE, false, "a bulk scale")                                            \
    X(BAGGER, EFI_TR("bagger"), MACHINE, false, "fills bags or big bags")                                    \
    X(MACHINE, EFI_TR("machine"), MACHINE, false, "any other machine")                                       \
    X(ELEVATOR, EFI_TR("elevator"), CONVEYOR, false, "a bucket elevator (leg)")                              \
    X(SCREW, EFI_TR("screw conveyor"), CONVEYOR, false, "moves material with a turning screw")               \
    X(BELT, EFI_TR("belt conveyor"), CONVEYOR, false, "moves material on a belt")                            \
    X(CONVEYOR, EFI_TR("conveyor"), CONVEYOR, false, "any other conveyor: chain, vibrating, air")            \
    X(SPLIT, EFI_TR("split"), SPLIT, false,                                                                  \
      "parts the stream over branches, each with the same composition")                                      \
    X(BIN, EFI_TR("bin"), BIN, false, "holds material between two stations")                                 \
    X(OUTLET, EFI_TR("outlet"), OUTLET, false, "where material leaves the line")

typedef enum efi_station_kind {
#define EFI_STATION_ENUM(code, word, class, separates, meaning) EFI_STATION_##code,
    EFI_STATION_LIST(EFI_STATION_ENUM)
#undef EFI_STATION_ENUM
    EFI_STATION_LIMIT,
    EFI_STATION_UNKNOWN = EFI_STATION_LIMIT /* the file says something else; already reported */
} efi_station_kind;

struct efi_station;
/* Is it an intake at which this crop comes in? Any crop will do when `crop` is below 0; where the list of
 * crops could not be read, every crop does. */
bool efi_station_receives(const struct efi_station *station, int crop);

struct ef_scenario;
/* Does a material count as wanted at an outlet? */
bool efi_station_wants(const struct ef_scenario *scenario, const struct efi_station *outlet, int material);

/* Word, class and meaning of a kind; the class of an unknown kind is that of a machine. */
const char *efi_station_word(efi_station_kind kind);
efi_class efi_station_class(efi_station_kind kind);
bool efi_station_separates(efi_station_kind kind);
const char *efi_station_meaning(efi_station_kind kind);

/* In place of a station: there is none, or the file names one that cannot be found (already reported). */
enum {
    EFI_NOWHERE = -1,
    EFI_UNREAD = -2
};

typedef struct efi_plant {
    efi_origin origin;
    const char *name;
    const char *note;         /* NULL when absent */
    efi_value shift_h;        /* default 8 h, common practice */
    efi_value surge_rule_h;   /* default a quarter of an hour, common practice */
    efi_value power_limit_kw; /* what the connection or the generator gives */
    efi_value energy_price;   /* money per kWh */
    efi_value labour_price;   /* money per hour of one person */
    efi_value people;         /* on a shift */
    int units;                /* ef_units */
} efi_plant;

/* A line of a plant that has several; stations that belong to none are shared. */
typedef struct efi_line_name {
    const char *name;
    efi_origin origin;
    const char *note;
} efi_line_name;

typedef struct efi_material {
    const char *name;
    efi_origin origin;
    bool wanted;
    efi_value density_tpm3; /* else the crop's */
    const char *note;
} efi_material;

typedef struct efi_crop {
    const char *name;
    efi_origin origin;
    efi_value density_tpm3; /* from density or test weight */
    efi_value test_weight_tpm3;
    efi_value trade_weight_tpbu;
    efi_value repose_deg;   /* when filling */
    efi_value emptying_deg; /* when emptying; after `finish` that when filling unless given */
    efi_value internal_deg; /* effective angle of internal friction */
    efi_value particle_m;   /* size of a kernel */
    efi_value moisture;     /* share, wet basis */
    efi_value price;        /* money per t of receipt */
    efi_value lot_t;        /* most finished seed that one certification lot may hold */
    const double *receipt;  /* shape [material]: share of the receipt, sums to 1 */
    const bool *passes; /* shape [material]: in the receipt, or made of what is at some station; NULL without
                           receipt */
    const char *note;
} efi_crop;

/* One outlet stream of a station, or one branch of a split, and where its spout leads. */
typedef struct efi_discharge {
    const char *name; /* "" when the station has a single way on */
    efi_origin origin;
    const double *share; /* shape [crop][material], 0 to 1; complete after `finish`. Of a split whose shares
                            are free: a feasible start */
    bool rest;           /* takes what the others leave */
    const int *to;       /* shape [crop]: station, or EFI_NOWHERE when the crop does not go there */
    const efi_value *branch_share; /* shape [crop], of a split with fixed shares; NULL when absent */
    efi_value least_share;         /* of a split with free shares */
    efi_value most_share;
    bool by_pass; /* may lead around a machine */
    const char *note;
} efi_discharge;

enum {
    EFI_MOST_DISCHARGES = 20 /* of one station */
};

typedef struct efi_discharges {
    efi_discharge *items; /* shape [count] */
    int count;
} efi_discharges;

/* How a split shares out what comes in. */
#define EFI_SPLIT_LIST(X)                                                                                    \
    X(FIXED, EFI_TR("fixed"), "each branch gets its share")                                                  \
    X(FREE, EFI_TR("free"), "the answer chooses the shares that serve its aim best")                         \
    X(FIRST, EFI_TR("first with room"), "the first branch gets all that it can take, then the next")

typedef enum efi_split_rule {
#define EFI_SPLIT_ENUM(code, word, meaning) EFI_SPLIT_##code,
    EFI_SPLIT_LIST(EFI_SPLIT_ENUM)
#undef EFI_SPLIT_ENUM
} efi_split_rule;

/* What an outlet is for; decides where treated seed may go. */
#define EFI_USE_LIST(X) X(SEED, "seed") X(FOOD, "food") X(FEED, "feed") X(WASTE, "waste")

typedef enum efi_use {
#define EFI_USE_ENUM(code, word) EFI_USE_##code,
    EFI_USE_LIST(EFI_USE_ENUM)
#undef EFI_USE_ENUM
    EFI_USE_UNSAID
} efi_use;

/* The least share of a capacity that derating leaves, however wet or trashy the receipt. */
#define EFI_LEAST_DERATING 0.1

/* Less capacity for wet or trashy receipts. Shares, 0 to 1. */
typedef struct efi_derating {
    efi_value moisture_above; /* no loss up to here */
    efi_value per_moisture;   /* share of the capacity lost for each percentage point above */
    efi_value trash_above;    /* the same for what is not wanted in the receipt */
    efi_value per_trash;
} efi_derating;

/* What the capacity of a conveyor follows from. */
typedef struct efi_buckets {
    efi_value volume_m3; /* of one bucket, filled level */
    efi_value spacing_m; /* between buckets along the belt */
    efi_value speed_mph; /* of the belt, m/h */
    efi_value fill;      /* share */
    int rows;            /* side by side */
} efi_buckets;

typedef struct efi_screw {
    efi_value diameter_m;
    efi_value shaft_m;
    efi_value pitch_m;
    efi_value speed_per_h; /* turns */
    efi_value fill;        /* share */
    efi_value incline_deg;
} efi_screw;

typedef struct efi_belt {
    efi_value area_m2; /* of the load's cross-section */
    efi_value speed_mph;
} efi_belt;

/* The body of a bin, its hopper, and how its outlet lies. */
#define EFI_SHAPE_LIST(X)  X(ROUND, "round") X(RECTANGULAR, "rectangular")
#define EFI_HOPPER_LIST(X) X(CONE, "cone") X(PYRAMID, "pyramid") X(WEDGE, "wedge") X(FLAT, "flat")
#define EFI_GATE_LIST(X)   X(BOTTOM, "bottom") X(SIDE, "side")

typedef enum efi_shape {
#define EFI_SHAPE_ENUM(code, word) EFI_SHAPE_##code,
    EFI_SHAPE_LIST(EFI_SHAPE_ENUM)
#undef EFI_SHAPE_ENUM
} efi_shape;

typedef enum efi_hopper {
#define EFI_HOPPER_ENUM(code, word) EFI_HOPPER_##code,
    EFI_HOPPER_LIST(EFI_HOPPER_ENUM)
#undef EFI_HOPPER_ENUM
    EFI_HOPPER_UNSAID
} efi_hopper;

typedef enum efi_gate {
#define EFI_GATE_ENUM(code, word) EFI_GATE_##code,
    EFI_GATE_LIST(EFI_GATE_ENUM)
#undef EFI_GATE_ENUM
} efi_gate;

/* A bin in steel: of a station what is known of it and what limits it, of a standard bin its size. Inside
 * dimensions. */
typedef struct efi_steel {
    const char *name; /* of a standard bin; so are origin and cost */
    efi_origin origin;
    efi_value cost;       /* money, set up */
    int shape;            /* efi_shape */
    int hopper;           /* efi_hopper; after `finish` never unsaid */
    int gate;             /* efi_gate */
    efi_value diameter_m; /* of a round bin */
    efi_value width_m;    /* of a rectangular one; so is the length, by default the same */
    efi_value length_m;
    efi_value wall_m;          /* height of the upright walls */
    efi_value hopper_deg;      /* flattest side, from level */
    efi_value outlet_m;        /* diameter, or width */
    efi_value outlet_length_m; /* by default the width; of a wedge the length of the bin */
    efi_value inlet_offset_m;  /* from the middle: along the length */
    efi_value inlet_across_m;  /* and along the width */
    efi_value freeboard_m;     /* top of the walls down to the peak of the heap */
    efi_value clearance_m;     /* floor up to the outlet */
    efi_value headroom_m;      /* floor up to what the bin must stay below */
    efi_value most_width_m;    /* of a bin to be found: its diameter or longer side */
    efi_value proportion;      /* of a bin to be found: height of the walls over diameter or width */
    const efi_value
        *wall_friction; /* shape [crop]: coefficient, or angle in degrees (see `of`); NULL when absent */
    const char *note;
} efi_steel;

/* Forms of a random time. All have the mean that the scenario gives. */
#define EFI_FORM_LIST(X)                                                                                     \
    X(EXPONENTIAL, "exponential", "as likely at any moment, however long it has run")                        \
    X(WEIBULL, "weibull", "shape over 1: more likely the longer it has run")                                 \
    X(LOGNORMAL, "lognormal", "mostly short, now and then long; shape is sigma of the logarithm")            \
    X(GAMMA, "gamma", "a sum of exponential times; shape is how many")                                       \
    X(FIXED, "fixed", "always the mean")

typedef enum efi_form {
#define EFI_FORM_ENUM(code, word, meaning) EFI_FORM_##code,
    EFI_FORM_LIST(EFI_FORM_ENUM)
#undef EFI_FORM_ENUM
} efi_form;

/* What the time until a stop is counted in. */
typedef enum efi_counts {
    EFI_COUNTS_RUNNING,
    EFI_COUNTS_CLOCK,
    EFI_COUNTS_UNSAID
} efi_counts;

/* Who sees to stops. */
typedef struct efi_crew {
    const char *name;
    efi_origin origin;
    int teams;     /* stops at the same time, >= 1 */
    efi_when days; /* of its own hours; given, unless bad */
    efi_when from; /* its own hours; absent: while the plant is open */
    efi_when to;
    bool on_call; /* comes at all hours */
    bool stays;   /* ends what is in hand when its hours are over */
    const char *note;
} efi_crew;

/* One way in which a station stops. Exactly one of every, between, after and at is given. */
typedef struct efi_stop {
    const char *name;
    efi_origin origin;
    efi_value every_h;        /* planned: from one to the next */
    efi_value between_h;      /* random: mean time between failures */
    const efi_value *after_t; /* shape [crop], planned: after so many tonnes; NULL when absent */
    efi_clock_list at;        /* planned: at these times of the day; none when absent */
    efi_when days;            /* on which; given, unless bad */
    efi_value lasts_h;        /* length, or its mean */
    efi_value lockout_h;      /* the least length */
    int crew;                 /* who sees to it, -1 for anybody */
    int counts;               /* efi_counts */
    int between_form;         /* efi_form */
    int lasts_form;           /* efi_form; -1 when not said */
    efi_value between_shape;
    efi_value lasts_shape;
    const char *note;
} efi_stop;

typedef struct efi_stops {
    efi_stop *items; /* shape [count] */
    int count;
} efi_stops;

/* A stop as it was recorded, or as it is foreseen: of some stations, from one moment to another. */
typedef struct efi_record {
    const char *name;
    efi_origin origin;
    efi_station_list stations;
    efi_when from; /* moments */
    efi_when to;
    bool planned;
    const char *cause; /* NULL when absent */
    const char *note;
} efi_record;

/* A sort of load: what one brings, and how many of all loads are like it. */
typedef struct efi_load_sort {
    const char *name;
    efi_origin origin;
    const efi_value *load_t; /* shape [crop] */
    efi_value share;         /* of the number of loads */
    const char *note;
} efi_load_sort;

/* Receipts that come in loads: all alike, or of several sorts. */
typedef struct efi_receipts {
    const efi_value *load_t; /* shape [crop], t of a load; NULL when absent */
    efi_load_sort *sorts;    /* shape [sort_count] */
    int sort_count;
    efi_value every_h; /* mean time between arrivals */
    int form;          /* efi_form, of the time between arrivals */
    efi_value shape;
    efi_when days; /* of its own hours; given, unless bad */
    efi_when from; /* its own hours; absent: while the plant is open */
    efi_when to;
    bool all_hours; /* loads come at all hours */
    int queue;      /* loads that may wait; further ones are turned away; -1: any number */
    bool instant;   /* tipped at once into the bin behind */
} efi_receipts;

/* A machine that takes a charge, works on it and discharges it. */
typedef struct efi_batch {
    const efi_value *charge_t; /* shape [crop] */
    efi_value fill_tph;
    efi_value work_h;
    efi_value discharge_tph;
} efi_batch;

/* One size in which a bin can be had. */
typedef struct efi_bin_size {
    const char *name;
    efi_origin origin;
    efi_value volume_m3; /* live */
    efi_value cost;      /* money; else what the bin's costs make of it */
    const char *note;
} efi_bin_size;

typedef struct efi_bin_sizes {
    efi_bin_size *items; /* shape [count] */
    int count;
} efi_bin_sizes;

/* What may be chosen about the volume of a bin, and at what cost. */
typedef struct efi_bin_choice {
    bool keep;            /* the volume stays as it is */
    efi_value cost;       /* money per m3 of live volume */
    efi_value fixed_cost; /* money, of having the bin at all */
    efi_value least_m3;
    efi_value most_m3;
    efi_bin_sizes sizes;
} efi_bin_choice;

typedef struct efi_station {
    const char *name;
    efi_origin origin;
    int kind;                    /* efi_station_kind */
    int count;                   /* identical machines side by side, >= 1 */
    int line;                    /* number of its line, -1 when shared */
    int split_rule;              /* efi_split_rule */
    int use;                     /* of an outlet: efi_use */
    bool product;                /* of an outlet: what arrives here is the product */
    const efi_value *capacity;   /* shape [crop], of one machine: t/h, or m3/h (see `of`); NULL when absent */
    const efi_value *least_feed; /* shape [crop], t/h of one machine; NULL when absent */
    const efi_value *least_rate; /* shape [crop], t/h that an outlet must get; NULL when absent */
    const efi_value *least_purity; /* shape [crop], share of wanted material at an outlet; NULL when absent */
    const efi_value *price;        /* shape [crop], money per t at an outlet; NULL when absent */
    const efi_value *energy_kwhpt; /* shape [crop], on top of idle_kw for each tonne; NULL when absent */
    const efi_value
        *holds; /* shape [crop], of an outlet's cart or bay: t or m3 (see `of`); NULL when absent */
    const efi_derating *derating; /* NULL when absent; so are the four below */
    const efi_buckets *buckets;
    const efi_screw *screw;
    const efi_belt *belt;
    efi_steel *steel;      /* of a bin */
    efi_value steady_band; /* share of the set rate; given for a steady-feed station */
    efi_value live_m3;     /* of a bin, as the file gives it; see efi_station_live_m3 */
    const efi_value
        *live_by_crop_m3; /* shape [crop], of a bin: what follows from its steel; NULL when nothing does */
    const efi_bin_choice *choice; /* of a bin; NULL when absent */
    efi_value start_level;        /* of a bin: share of the live volume at the beginning */
    efi_value restart_level;      /* once empty, what follows waits for this share */
    efi_value refill_level;       /* once full, what fills it waits until this share */
    efi_value warm_up_h;          /* of a steady-feed station, after an empty deck */
    efi_stops stops;
    const efi_batch *batch;       /* of a machine; NULL: material passes while it works */
    efi_material_list wanted;     /* of an outlet; none: what the plant wants */
    efi_crop_list receives;       /* of an intake; none: every crop */
    const efi_receipts *receipts; /* of an intake; NULL: material is always there */
    efi_value travel_h;           /* of a conveyor: from its feed to its discharge */
    efi_value peak_factor;        /* of a conveyor: peaks over the mean feed */
    efi_value idle_kw;            /* of one machine while the line runs */
    efi_value air_m3ph;           /* of one machine */
    efi_value people;             /* who work at this station while it runs */
    const int *to;                /* shape [crop], the single way on; NULL when absent */
    efi_discharges discharges;
    const double *turns; /* shape [crop][material][material], of a machine: the share of what comes in as the
                            first that leaves as the second; each row adds up to 1. NULL: nothing is turned */
    const char *note;
} efi_station;

/* Names of one list in sorted order, to find them by. */
typedef struct efi_index {
    const char **name; /* shape [count], sorted */
    int *item;         /* shape [count], position in the list */
    int count;
} efi_index;

struct ef_scenario {
    efi_arena *arena;
    char *bytes; /* the file */
    efi_tree tree;
    int version;
    const efi_plant *plant; /* never NULL once loaded */
    efi_line_name *lines;   /* shape [line_count]; empty in a plant with one line */
    int line_count;
    char currency[4]; /* of all money in the scenario; "" when none is named */
    const efi_node *currency_at;
    efi_material *materials; /* shape [material_count] */
    int material_count;
    efi_crop *crops; /* shape [crop_count] */
    int crop_count;
    efi_station *stations; /* shape [station_count] */
    int station_count;
    efi_steel *standard_bins; /* shape [standard_bin_count]; sizes to choose from */
    int standard_bin_count;
    efi_calendar *calendar; /* never NULL once loaded */
    efi_record *records;    /* shape [record_count] */
    int record_count;
    efi_crew *crews; /* shape [crew_count] */
    int crew_count;
    efi_scenario_lot *lots; /* shape [lot_count] */
    int lot_count;
    efi_season *season; /* never NULL once loaded */
    bool has_turns;     /* some station turns material into other */
    efi_index material_index, crop_index, line_index, station_index, crew_index, lot_index;
};

/* Words for a split's rule and an outlet's use; valid for ever. */
const char *efi_split_word(efi_split_rule rule);
const char *efi_use_word(efi_use use);

/* Words for the body of a bin and its hopper; "" for one unsaid. */
const char *efi_shape_word(efi_shape shape);
const char *efi_hopper_word(efi_hopper hopper);

/* Position of a name in a list, or -1. `name` has `length` bytes. */
int efi_index_find(const efi_index *index, const char *name, size_t length);

/* Density of a material of a crop, t/m3: its own, else the crop's. Not given when neither is. */
efi_value efi_scenario_density(const ef_scenario *scenario, int crop, int material);

/* Live volume of a bin for a crop, m3: as given, else as it follows from the bin's steel. Not given when
 * neither is known. */
efi_value efi_station_live_m3(const efi_station *bin, int crop);

/* The share of what comes to a station as `from` that leaves it as `into`. */
double efi_station_turned(const ef_scenario *scenario, const efi_station *station, int crop, int from,
                          int into);

/* Is a material in the receipt of a crop, or made of what is in it? */
bool efi_crop_passes(const ef_scenario *scenario, int crop, int material);

/* Share of the feed that a branch of a split starts with: its fixed share, or a feasible share where shares
 * are free. */
double efi_split_start(const efi_station *split, int branch, int crop);

/* The most of the feed that a branch may get, 0 for a crop that does not go there. */
double efi_split_most(const efi_discharge *branch, int crop);

#endif
