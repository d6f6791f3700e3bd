/* SPDX-License-Identifier: GPL-3.0-or-later
 * The season of a scenario as data: lots, what has to be cleaned between them, where they lie, and what delay
 * and trouble cost. */
#ifndef EFI_MODEL_SEASON_H
#define EFI_MODEL_SEASON_H

#include "model/calendar.h"
#include "model/value.h"

/* What a lot is told apart by besides its crop: code, key in the scenario, what it is. Texts; absent is a
 * value of its own ("untreated"). */
#define EFI_TRAIT_LIST(X)                                                                                    \
    X(VARIETY, "variety", "the variety")                                                                     \
    X(CLASS, "class", "the seed class, one of the season's `classes`")                                       \
    X(TREATMENT, "treatment", "what it is treated with; none: untreated")                                    \
    X(ALLERGEN, "allergen", "what makes it unfit to mix with food that must be free of it")                  \
    X(TRAIT, "trait", "a genetic trait that must not spread to other lots")                                  \
    X(COLOUR, "colour", "the colour, where a few seeds of another one show")                                 \
    X(PRODUCT, "product", "what is made of it: bulk, bags of 25 kg ...")

typedef enum efi_lot_trait {
#define EFI_TRAIT_ENUM(code, key, meaning) EFI_LOT_##code,
    EFI_TRAIT_LIST(EFI_TRAIT_ENUM)
#undef EFI_TRAIT_ENUM
    EFI_LOT_TRAITS
} efi_lot_trait;

/* How far a lot has come. */
#define EFI_LOT_STATE_LIST(X)                                                                                \
    X(WAITING, "waiting", "still to be planned")                                                             \
    X(FROZEN, "frozen", "planned for a line and a start that must stay")                                     \
    X(RUNNING, "running", "on its line now")                                                                 \
    X(DONE, "done", "finished: only what has to be cleaned after it counts")

typedef enum efi_lot_state {
#define EFI_LOT_STATE_ENUM(code, word, meaning) EFI_LOT_##code,
    EFI_LOT_STATE_LIST(EFI_LOT_STATE_ENUM)
#undef EFI_LOT_STATE_ENUM
    EFI_LOT_STATES
} efi_lot_state;

/* A date, or a moment, as `efi_when` in seconds from 1970-01-01T00:00. Of a date its beginning, or its end
 * (24:00) where the key is one by which something must be done: already counted in `moment`. */
typedef struct efi_by_date {
    efi_when moment;
    bool whole_day; /* the file gives a date alone */
} efi_by_date;

/* One grower's or field's tonnes of one crop, variety and class. */
typedef struct efi_scenario_lot {
    const char *name;
    efi_origin origin;
    int crop;                          /* the only one where none is named; EFI_UNREAD */
    const char *trait[EFI_LOT_TRAITS]; /* NULL when absent */
    efi_value amount_t;                /* as received */
    efi_value left_t;           /* of a running lot what is still to be run; of a done one 0; else all */
    efi_value moisture;         /* share, wet basis; else the crop's */
    efi_by_date arrives;        /* a date: its beginning; absent: there from the season's start */
    efi_by_date arrives_latest; /* of an arrival still unknown; the plan counts with it */
    efi_by_date due;            /* of a date the end of that day; absent: any time */
    efi_by_date latest_start;   /* of a date the end of that day; of a wet lot */
    efi_value priority;         /* times the season's price of a day late; default 1 */
    efi_value late_ph;          /* money per hour late; instead of the season's */
    efi_value wet_ph;           /* money per hour after the latest start */
    efi_value rate_tph;         /* planning rate of this lot */
    efi_line_list lines;        /* that may run it; none: every line that can run its crop */
    int line;           /* of a frozen, running or done lot: its line, the only one where none is named;
                           EFI_NOWHERE, EFI_UNREAD */
    efi_by_date starts; /* of a frozen, running or done lot */
    int after;          /* number of the lot that must have ended; EFI_NOWHERE, EFI_UNREAD */
    efi_value wait_h;   /* and so much time since: laboratory */
    int state;          /* efi_lot_state */
    const char *note;
} efi_scenario_lot;

/* In a rule for cleaning the word for a trait that is absent; a lot that says it has none. */
#define EFI_TRAIT_NONE "none"

/* When a rule for cleaning applies. */
#define EFI_CHANGE_LIST(X)                                                                                   \
    X(ANY, "anything", "between any two lots")                                                               \
    X(CROP, "crop", "the crop changes")                                                                      \
    X(VARIETY, "variety", "the variety changes")                                                             \
    X(CLASS, "class", "the seed class changes")                                                              \
    X(CLASS_DOWN, "class down", "the seed class goes down")                                                  \
    X(CLASS_UP, "class up", "the seed class goes up")                                                        \
    X(TREATMENT, "treatment", "the treatment changes")                                                       \
    X(ALLERGEN, "allergen", "the allergen changes")                                                          \
    X(TRAIT, "trait", "the genetic trait changes")                                                           \
    X(COLOUR, "colour", "the colour changes")                                                                \
    X(PRODUCT, "product", "the product changes")                                                             \
    X(LOT, "lot", "from one lot to another, both named: goes before all other rules")                        \
    X(FIRST, "first", "before the first lot of a line")                                                      \
    X(LAST, "last", "after the last lot of a line")

typedef enum efi_change {
#define EFI_CHANGE_ENUM(code, word, meaning) EFI_CHANGE_##code,
    EFI_CHANGE_LIST(EFI_CHANGE_ENUM)
#undef EFI_CHANGE_ENUM
    EFI_CHANGES
} efi_change;

/* Cleaning at one station, where lines are cleaned station by station. */
typedef struct efi_station_cleaning {
    const char *name; /* of the station */
    efi_origin origin;
    int station; /* after `finish`; EFI_UNREAD */
    efi_value takes_h;
    efi_value bin_entry_h; /* before it, where somebody enters: see efi_clean_hours */
    const char *note;
} efi_station_cleaning;

/* A rule: the first in the file that matches a changeover sets it. A changeover that none matches takes no
 * cleaning. */
typedef struct efi_changeover {
    const char *name;
    efi_origin origin;
    int when;            /* efi_change */
    const char *from;    /* the lot before must have this: the name of what `when` is about, or where it is
                            about nothing of the lot (anything, first, last) its name, crop or any trait; see
                            efi_trait_is; NULL: any */
    const char *to;      /* the lot after */
    efi_line_list lines; /* none: every line */
    efi_value takes_h;
    efi_value bin_entry_h;          /* before it, where somebody enters: see efi_clean_hours */
    efi_value flush_t;              /* seed lost with it */
    efi_value people;               /* at work on it; else the plant's */
    efi_value cost;                 /* money on top of labour and flushed seed */
    bool never;                     /* must not follow */
    efi_station_cleaning *stations; /* shape [station_count] */
    int station_count;
    const char *note;
} efi_changeover;

/* What a store is for. */
#define EFI_STORE_LIST(X) X(RAW, "raw") X(FINISHED, "finished")

typedef enum efi_store_use {
#define EFI_STORE_ENUM(code, word) EFI_STORE_##code,
    EFI_STORE_LIST(EFI_STORE_ENUM)
#undef EFI_STORE_ENUM
} efi_store_use;

/* Where lots lie before their run, or the product after it. */
typedef struct efi_store {
    const char *name;
    efi_origin origin;
    int use;         /* efi_store_use */
    int count;       /* identical ones, >= 1: "Bin 1", "Bin 2" ... */
    efi_value holds; /* t, or m3 (see `of`) at the lot's density */
    efi_value clean_h;
    bool is_shared; /* holds several lots at once (a floor); finished stores only */
    const char *note;
} efi_store;

/* How a line is cleaned. */
#define EFI_CLEANING_LIST(X)                                                                                 \
    X(LINE, "line clear", "the whole line is empty and clean before the next lot enters")                    \
    X(STATIONS, "station by station", "a station is cleaned as soon as it is empty")

typedef enum efi_cleaning {
#define EFI_CLEANING_ENUM(code, word, meaning) EFI_CLEANING_##code,
    EFI_CLEANING_LIST(EFI_CLEANING_ENUM)
#undef EFI_CLEANING_ENUM
} efi_cleaning;

/* Planning, prices. Defaults are filled in by `finish` and listed in docs/scenario.md. */
typedef struct efi_season {
    bool is_given;
    efi_when from;              /* date; default the calendar's start */
    efi_when to;                /* date, the last day; default 366 days */
    const char *const *classes; /* shape [class_count], highest first */
    int class_count;
    const efi_value *rate_tph;   /* shape [crop]: planning rates; NULL or not given: simulated */
    efi_value late_ph;           /* money per hour that a lot is late */
    efi_value wet_ph;            /* money per hour after a latest start */
    efi_value no_room_pth;       /* money per t and hour without room */
    efi_value move_cost;         /* money for each lot that a new plan moves against an old one */
    efi_value restart_h;         /* lost whenever the line starts again within a lot */
    efi_value daily_clean_h;     /* before the first work of each day */
    efi_value least_clean_h;     /* locking out: no cleaning is shorter */
    efi_value straight_h;        /* a lot that starts so soon after its arrival needs no raw store */
    efi_value collected_h;       /* the product is collected so long after the run */
    int cleaning;                /* efi_cleaning */
    int teams;                   /* that clean at the same time, station by station; >= 1 */
    bool cleaned_before_arrival; /* the cleaning may begin before the lot is there */
    efi_store *stores;           /* shape [store_count] */
    int store_count;
    efi_changeover *changeovers; /* shape [changeover_count], in the order of the file */
    int changeover_count;
    const char *note;
} efi_season;

/* Hours of a cleaning of which a rule says so many: where there is any, or a bin is entered, no less than the
 * season's least, then the bin entry, one after the other as for stops (efi_stop_least_h). */
double efi_clean_hours(const efi_season *season, double clean_h, efi_value bin_entry_h);

/* Is a trait what a rule says, EFI_TRAIT_NONE standing for an absent one? */
bool efi_trait_is(const char *trait, const char *word);

/* Position of a class among the season's, -1 when it is not there. */
int efi_season_class(const efi_season *season, const char *class);

/* The word of a state, a change; the key of a trait. Valid for ever. */
const char *efi_lot_state_word(efi_lot_state state);
const char *efi_change_word(efi_change change);
const char *efi_trait_key(efi_lot_trait trait);

/* The trait that a change is about; EFI_LOT_TRAITS: none. */
efi_lot_trait efi_change_trait(efi_change when);

#endif
