/* SPDX-License-Identifier: GPL-3.0-or-later
 * The scenario as checked, typed data: what the file says, in tonnes, hours and cubic metres, immutable once
 * loaded. */
#ifndef EFI_SCENARIO_H
#define EFI_SCENARIO_H

#include "base/quantity.h"
#include "model/node.h"

#include <evenfeed/scenario.h>
#include <evenfeed/units.h>

/* What a kind of station does with material; decides which keys go with it. */
typedef enum efi_class {
    EFI_CLASS_INTAKE,
    EFI_CLASS_MACHINE,
    EFI_CLASS_CONVEYOR,
    EFI_CLASS_BIN,
    EFI_CLASS_OUTLET
} efi_class;

/* code, word in the scenario, class, whether it separates, what it is */
#define EFI_STATION_LIST(X)                                                                                  \
    X(INTAKE, "intake", INTAKE, false, "a pit or hopper where receipts arrive")                              \
    X(SCALPER, "scalper", MACHINE, true, "takes straw, stones and other coarse matter off early")            \
    X(ASPIRATOR, "aspirator", MACHINE, true, "lifts chaff and light matter off with air")                    \
    X(DEBEARDER, "debearder", MACHINE, false, "rubs awns and clusters off")                                  \
    X(HULLER, "huller", MACHINE, true, "rubs hulls off, or scarifies hard seed")                             \
    X(AIR_SCREEN, "air-screen cleaner", MACHINE, true, "screens and air in one machine: the basic cleaning") \
    X(LENGTH, "length grader", MACHINE, true, "indented cylinders or discs: parts by length")                \
    X(WIDTH, "width grader", MACHINE, true, "slotted or round-hole screens: parts by width or thickness")    \
    X(ROLLS, "roll mill", MACHINE, true, "velvet rolls: takes rough seed out of smooth")                     \
    X(SPIRAL, "spiral separator", MACHINE, true, "parts round from flat seed as they roll down")             \
    X(DESTONER, "destoner", MACHINE, true, "takes stones and earth out on an inclined air deck")             \
    X(DENSITY, "density separator", MACHINE, true, "an air-fluidised deck that parts heavy from light seed") \
    X(OPTICAL, "optical sorter", MACHINE, true, "takes out what looks wrong, by colour or shape")            \
    X(TREATER, "treater", MACHINE, false, "puts a protectant or coating on the seed")                        \
    X(WEIGHER, "weigher", MACHINE, false, "a bulk scale")                                                    \
    X(BAGGER, "bagger", MACHINE, false, "fills bags or big bags")                                            \
    X(MACHINE, "machine", MACHINE, false, "any other machine")                                               \
    X(ELEVATOR, "elevator", CONVEYOR, false, "a bucket elevator (leg)")                                      \
    X(CONVEYOR, "conveyor", CONVEYOR, false, "a belt, screw, chain or vibrating conveyor")                   \
    X(BIN, "bin", BIN, false, "holds material between two stations")                                         \
    X(OUTLET, "outlet", OUTLET, false, "where material leaves the line")

typedef enum efi_station_kind {
#define EFI_STATION_ENUM(code, word, class, separates, meaning) EFI_STATION_##code,
    EFI_STATION_LIST(EFI_STATION_ENUM)
#undef EFI_STATION_ENUM
    EFI_STATION_LIMIT,
    EFI_STATION_UNKNOWN = EFI_STATION_LIMIT /* the file says something else; already reported */
} efi_station_kind;

/* Word, class and meaning of a kind; the class of an unknown kind is that of a machine. */
const char *efi_station_word(efi_station_kind kind);
efi_class efi_station_class(efi_station_kind kind);
bool efi_station_separates(efi_station_kind kind);
const char *efi_station_meaning(efi_station_kind kind);

/* A number that may be absent; `value` is in the base unit of `of`. */
typedef struct efi_value {
    double value;
    bool given;
    efi_kind of; /* kind of quantity */
} efi_value;

/* Where a named thing stands: its key and its value in the file. */
typedef struct efi_origin {
    const efi_node *key;
    const efi_node *value;
} efi_origin;

typedef struct efi_plant {
    efi_origin origin;
    const char *name;
    const char *note;       /* NULL when absent */
    efi_value shift_h;      /* default 8 h, common practice */
    efi_value surge_rule_h; /* default a quarter of an hour, common practice */
    int units;              /* ef_units */
} efi_plant;

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
    efi_value repose_deg;
    efi_value moisture;    /* share, wet basis */
    const double *receipt; /* shape [material]: share of the receipt, sums to 1 */
    const char *note;
} efi_crop;

/* One outlet stream of a station, and where its spout leads. */
typedef struct efi_discharge {
    const char *name; /* "" when the station has a single way on */
    efi_origin origin;
    const double
        *share;    /* shape [crop][material], 0 to 1; NULL until `finish` fills in what takes the rest */
    bool rest;     /* takes what the others leave */
    const int *to; /* shape [crop]: station, -1 when the crop does not go there */
    const char *note;
} efi_discharge;

typedef struct efi_discharges {
    efi_discharge *items; /* shape [count] */
    int count;
} efi_discharges;

typedef struct efi_station {
    const char *name;
    efi_origin origin;
    int kind;                    /* efi_station_kind */
    int count;                   /* identical machines side by side, >= 1 */
    const efi_value *capacity;   /* shape [crop], of one machine: t/h, or m3/h (see `of`); NULL when absent */
    const efi_value *least_feed; /* shape [crop], t/h of one machine; NULL when absent */
    efi_value steady_band;       /* share of the set rate; given for a steady-feed station */
    efi_value live_m3;           /* of a bin */
    const efi_value *least_rate; /* shape [crop], t/h that an outlet must get; NULL when absent */
    bool product;                /* of an outlet: what arrives here is the product */
    const int *to;               /* shape [crop], the single way on; NULL when absent */
    efi_discharges discharges;
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
    efi_plant plant;
    efi_material *materials; /* shape [material_count] */
    int material_count;
    efi_crop *crops; /* shape [crop_count] */
    int crop_count;
    efi_station *stations; /* shape [station_count] */
    int station_count;
    efi_index material_index, crop_index, station_index;
};

/* Position of a name in a list, or -1. `name` has `length` bytes. */
int efi_index_find(const efi_index *index, const char *name, size_t length);

/* Density of a material of a crop, t/m3: its own, else the crop's. Not given when neither is. */
efi_value efi_scenario_density(const ef_scenario *scenario, int crop, int material);

#endif
