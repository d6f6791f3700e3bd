/* SPDX-License-Identifier: GPL-3.0-or-later
 * The scenario language as one table: it drives reading, messages and the generated reference
 * docs/scenario.md. */
#ifndef EFI_LANGUAGE_H
#define EFI_LANGUAGE_H

#include "model/scenario.h"

#include <stddef.h>

/* What may stand after a key, and the C type of its slot in the struct. */
typedef enum efi_field_type {
    EFI_FIELD_TEXT,      /* any text: const char * */
    EFI_FIELD_NAME,      /* a text that can be a name: const char * */
    EFI_FIELD_FLAG,      /* yes or no: bool */
    EFI_FIELD_COUNT,     /* a whole number: int */
    EFI_FIELD_CHOICE,    /* one of `choices`: int, the choice's position */
    EFI_FIELD_QUANTITY,  /* a number with a unit: efi_value, or by crop const efi_value * */
    EFI_FIELD_STATION,   /* the name of a station, always by crop: const int * */
    EFI_FIELD_RECEIPT,   /* a share for each material: const double * */
    EFI_FIELD_TAKES,     /* the same by crop, or "rest": the share and rest of an efi_discharge */
    EFI_FIELD_TURNS,     /* of each material, shares that become others: const double *, see efi_station */
    EFI_FIELD_LINE,      /* the name of a line: int */
    EFI_FIELD_CREW,      /* the name of a crew: int */
    EFI_FIELD_CROP,      /* the name of a crop: int; numbers without a crop of their own go by it */
    EFI_FIELD_LOT,       /* the name of a lot: int */
    EFI_FIELD_DATE,      /* a date: efi_when; so are the next three */
    EFI_FIELD_CLOCK,     /* a time of the day */
    EFI_FIELD_MOMENT,    /* a date with a time of the day */
    EFI_FIELD_WEEKDAYS,  /* a set of weekdays */
    EFI_FIELD_INSTANT,   /* a moment, or hours from the start of the calendar: efi_when; `finish` makes it a
                            moment */
    EFI_FIELD_BY_DATE,   /* a date or a moment: efi_by_date; of a date its beginning, or its end (`to_end`) */
    EFI_FIELD_TEXTS,     /* a text or a list of them: const char *const *, and the count */
    EFI_FIELD_CLOCKS,    /* a time of the day or a list of them: efi_clock_list */
    EFI_FIELD_STATIONS,  /* the name of a station or a list of them: efi_station_list */
    EFI_FIELD_CROPS,     /* the name of a crop or a list of them: efi_crop_list */
    EFI_FIELD_LINES,     /* the name of a line or a list of them: efi_line_list */
    EFI_FIELD_MATERIALS, /* the name of a material or a list of them: efi_material_list */
    EFI_FIELD_BLOCK,     /* a block of fields: a pointer to its struct, NULL when absent */
    EFI_FIELD_NAMED /* names, each with a block of fields: pointer to structs that begin with name and origin
                     */
} efi_field_type;

typedef enum efi_range {
    EFI_RANGE_POSITIVE,
    EFI_RANGE_NOT_NEGATIVE,
    EFI_RANGE_ANY,
    EFI_RANGE_SHARE,
    EFI_RANGE_SLOPE,
    EFI_RANGE_LEVEL, /* 0 to under 90 degrees */
    EFI_RANGE_ONE_UP
} efi_range;

/* The lists whose names other places may refer to. */
typedef enum efi_names {
    EFI_NAMES_NONE,
    EFI_NAMES_MATERIALS,
    EFI_NAMES_CROPS,
    EFI_NAMES_LINES,
    EFI_NAMES_STATIONS,
    EFI_NAMES_CREWS,
    EFI_NAMES_LOTS
} efi_names;

/* A word that other people use for one of ours. */
typedef struct efi_other_word {
    const char *word;
    const char *ours;
} efi_other_word;

struct efi_block;

typedef struct efi_field {
    const char *key;
    efi_field_type type;
    bool required;
    bool by_crop;         /* may differ by crop */
    bool to_end;          /* a date alone means the end of that day, 24:00 */
    unsigned kinds;       /* of station, bits 1 << efi_station_kind; 0: goes with all */
    efi_kinds quantities; /* of kinds of quantity */
    efi_range range;
    size_t slot;       /* offset in the struct */
    size_t count_slot; /* NAMED, TEXTS: offset of the count */
    const struct efi_block *block;
    const char *const *choices;        /* closed by NULL */
    const efi_other_word *other_words; /* of choices, closed by a NULL word; NULL: none */
    const char *fallback;              /* what holds when the key is absent, in words; NULL: nothing */
    const char *meaning;               /* one sentence, for people */
    const char *example;
} efi_field;

typedef struct efi_block {
    const char *title; /* of its section in the reference */
    const char *intro; /* a paragraph, for people */
    const efi_field *fields;
    int count;
    size_t size; /* of the struct */
    efi_names names;
    int most;                    /* named: how many there may be */
    bool numbered;               /* named, at the top: rows of a table beside the scenario have no names */
    void (*prepare)(void *item); /* sets the defaults that are not zero; may be NULL */
} efi_block;

/* The whole file. */
extern const efi_block efi_language;

/* The plant of a scenario that describes none: all defaults. */
void efi_plant_defaults(efi_plant *plant);

/* The same for its season, but for what depends on other keys. */
void efi_season_usual(efi_season *season);

/* Words of the language that cannot be names. */
#define EFI_WORD_REST            "rest"
#define EFI_WORD_OTHER_CROPS     "other crops"
#define EFI_WORD_OTHER_MATERIALS "other materials"
#define EFI_WORD_FILE            "file"

/* Words for a range ("more than 0"), and whether a value lies in it; NaN does not. */
const char *efi_range_words(efi_range range);
bool efi_range_holds(efi_range range, double value);

#endif
