/* SPDX-License-Identifier: GPL-3.0-or-later
 * The part of the language that says how lots follow one another: prices, stores, clean-downs. */
#include "model/language_table.h"

static const char *const change_words[] = {
#define WORD(code, word, meaning) word,
    EFI_CHANGE_LIST(WORD)
#undef WORD
        NULL};

static const efi_other_word other_changes[] = {
    {"any", "anything"},          {"always", "anything"},    {"species", "crop"},  {"cultivar", "variety"},
    {"generation", "class"},      {"color", "colour"},       {"gmo", "trait"},     {"pair", "lot"},
    {"first of season", "first"}, {"end of season", "last"}, {"campaign", "last"}, {NULL, NULL}};

static const char *const store_words[] = {
#define WORD(code, word) word,
    EFI_STORE_LIST(WORD)
#undef WORD
        NULL};

static const efi_other_word other_stores[] = {
    {"intake", "raw"}, {"receiving", "raw"}, {"clean", "finished"}, {"product", "finished"}, {NULL, NULL}};

static const char *const cleaning_words[] = {
#define WORD(code, word, meaning) word,
    EFI_CLEANING_LIST(WORD)
#undef WORD
        NULL};

static void prepare_store(void *item)
{
    ((efi_store *)item)->count = 1;
}

static const efi_field store_fields[] = {
    {.key = "use",
     .type = EFI_FIELD_CHOICE,
     .required = true,
     .choices = store_words,
     .other_words = other_stores,
     .slot = SLOT(efi_store, use),
     .meaning = "What lies in it: `raw` lots before their run, or the `finished` product after it.",
     .example = "raw"},
    {QUANTITY("holds", OF(MASS) | OF(VOLUME), efi_store, holds, POSITIVE), .required = true,
     .meaning = "How much one of them holds. A bushel is one of volume here, as for bins.",
     .example = "60 t"},
    {.key = "count",
     .type = EFI_FIELD_COUNT,
     .slot = SLOT(efi_store, count),
     .fallback = "1",
     .meaning = "How many there are of this kind, side by side; plans number them.",
     .example = "4"},
    {QUANTITY("clean", OF(DURATION), efi_store, clean_h, NOT_NEGATIVE), .fallback = "0 h",
     .meaning = "How long after it has been emptied the next lot may come in.", .example = "2 h"},
    {.key = "shared",
     .type = EFI_FIELD_FLAG,
     .slot = SLOT(efi_store, is_shared),
     .fallback = "no: one lot at a time",
     .meaning = "Of a finished store: does it hold several lots at once, as a floor does with bags?",
     .example = "yes"},
    NOTE(efi_store, "no aeration"),
};
static const efi_block store_block = {
    .title = "stores",
    .intro =
        "Where lots lie before their run and the product after it, by name. A lot that is larger than one "
        "bin takes several. Without raw stores there is always room for raw lots, and the same holds for "
        "finished ones. Who enters a bin to clean it follows the rules for confined spaces of the place.",
    FIELDS(store_fields),
    .size = sizeof(efi_store),
    .most = 100,
    .prepare = prepare_store};

static void prepare_cleaning(void *item)
{
    ((efi_station_cleaning *)item)->station = EFI_UNREAD;
}

static const efi_field cleaning_fields[] = {
    {QUANTITY("takes", OF(DURATION), efi_station_cleaning, takes_h, NOT_NEGATIVE), .required = true,
     .meaning = "How long its cleaning takes.", .example = "45 min"},
    {QUANTITY("bin entry", OF(DURATION), efi_station_cleaning, bin_entry_h, NOT_NEGATIVE),
     .fallback = "0 min: nobody enters it", .meaning = "As of the whole line, where this one is entered.",
     .example = "30 min"},
    NOTE(efi_station_cleaning, "screens out"),
};
static const efi_block cleaning_block = {
    .title = "cleaning of stations",
    .intro = "For lines that are cleaned `station by station`: the stations that this changeover cleans, by "
             "name. Those that are not named are not cleaned.",
    FIELDS(cleaning_fields),
    .size = sizeof(efi_station_cleaning),
    .most = 200,
    .prepare = prepare_cleaning};

static const efi_field changeover_fields[] = {
    {.key = "when",
     .type = EFI_FIELD_CHOICE,
     .required = true,
     .choices = change_words,
     .other_words = other_changes,
     .slot = SLOT(efi_changeover, when),
     .meaning = "What must change from one lot to the next for the rule to apply.",
     .example = "crop"},
    {.key = "from",
     .type = EFI_FIELD_NAME,
     .slot = SLOT(efi_changeover, from),
     .fallback = "any",
     .meaning = "Only after a lot that has this: the crop for `when: crop`, the variety for `when: variety` "
                "and so on, the lot's name for `when: lot`; `none` for a lot that has none.",
     .example = "rapeseed"},
    {.key = "to",
     .type = EFI_FIELD_NAME,
     .slot = SLOT(efi_changeover, to),
     .fallback = "any",
     .meaning = "Only before a lot that has this.",
     .example = "winter wheat"},
    {.key = "lines",
     .type = EFI_FIELD_LINES,
     .slot = SLOT(efi_changeover, lines),
     .fallback = "every line",
     .meaning = "The lines on which it holds.",
     .example = "North"},
    {QUANTITY("takes", OF(DURATION), efi_changeover, takes_h, NOT_NEGATIVE), .fallback = "0 h",
     .meaning = "Hours of cleaning.", .example = "3 h"},
    {QUANTITY("bin entry", OF(DURATION), efi_changeover, bin_entry_h, NOT_NEGATIVE),
     .fallback = "0 min: nobody enters a bin",
     .meaning = "Where somebody enters a bin, pit or leg to clean it: what it takes, once all is locked out, "
                "until they may: permit, tests of the air, harness and lifeline, somebody on watch. The "
                "cleaning is never shorter than this and `least clean` together. Local rules say what must "
                "be done, and who may.",
     .example = "30 min"},
    {QUANTITY("flush", OF(MASS), efi_changeover, flush_t, NOT_NEGATIVE), .fallback = "nothing",
     .meaning = "Seed of the next lot that is lost to flush the line.", .example = "80 kg"},
    {QUANTITY("people", OF(COUNT), efi_changeover, people, NOT_NEGATIVE), .fallback = "those of the plant",
     .meaning = "How many people clean, at the plant's labour price.", .example = "2"},
    {QUANTITY("cost", OF(MONEY), efi_changeover, cost, NOT_NEGATIVE), .fallback = "nothing on top",
     .meaning = "What it costs on top of labour and flushed seed.", .example = "40 EUR"},
    {.key = "never",
     .type = EFI_FIELD_FLAG,
     .slot = SLOT(efi_changeover, never),
     .fallback = "no",
     .meaning = "Must the one never follow the other?",
     .example = "yes"},
    {.key = "stations",
     .type = EFI_FIELD_NAMED,
     .block = &cleaning_block,
     .slot = SLOT(efi_changeover, stations),
     .count_slot = SLOT(efi_changeover, station_count),
     .fallback = "the whole line, for as long as `takes` says",
     .meaning = "Cleaning station by station: what is cleaned, and for how long."},
    NOTE(efi_changeover, "cups off the boot"),
};

static const efi_block changeover_block = {
    .title = "changeovers",
    .intro = "Rules for the cleaning between two lots, by name. The first in the file that applies sets it; "
             "rules for two named lots (`when: lot`) go before all others. What no rule covers takes no "
             "cleaning. `when` says what changes"
#define MEANS(code, word, meaning) "; `" word "`: " meaning
    EFI_CHANGE_LIST(MEANS)
#undef MEANS
        ".",
    FIELDS(changeover_fields),
    .size = sizeof(efi_changeover),
    .most = 500};

void efi_season_usual(efi_season *season)
{
    season->late_ph = (efi_value){.value = 100.0 / 24.0, .given = true, .of = EFI_KIND_MONEY_PER_TIME};
    season->wet_ph = (efi_value){.value = 500.0 / 24.0, .given = true, .of = EFI_KIND_MONEY_PER_TIME};
    season->no_room_pth = (efi_value){.value = 2.0 / 24.0, .given = true, .of = EFI_KIND_MONEY_PER_MASS_TIME};
    season->move_cost = (efi_value){.value = 50.0, .given = true, .of = EFI_KIND_MONEY};
    season->restart_h = (efi_value){.value = 10.0 / 60.0, .given = true, .of = EFI_KIND_DURATION};
    season->daily_clean_h = (efi_value){.value = 0.0, .given = true, .of = EFI_KIND_DURATION};
    season->least_clean_h = (efi_value){.value = 0.25, .given = true, .of = EFI_KIND_DURATION};
    season->straight_h = (efi_value){.value = 0.0, .given = true, .of = EFI_KIND_DURATION};
    season->collected_h = (efi_value){.value = 24.0, .given = true, .of = EFI_KIND_DURATION};
    season->cleaning = EFI_CLEANING_LINE;
    season->teams = 1;
}

static void prepare_season(void *item)
{
    efi_season_usual(item);
}

static const efi_field season_fields[] = {
    {.key = "from",
     .type = EFI_FIELD_DATE,
     .slot = SLOT(efi_season, from),
     .fallback = "the start of the calendar; without a calendar the first day that a lot names",
     .meaning = "The first day of the season: nothing is planned before it.",
     .example = "2026-09-07"},
    {.key = "to",
     .type = EFI_FIELD_DATE,
     .slot = SLOT(efi_season, to),
     .fallback = "366 days in all",
     .meaning = "The last day of the season.",
     .example = "2026-11-30"},
    {.key = "classes",
     .type = EFI_FIELD_TEXTS,
     .slot = SLOT(efi_season, classes),
     .count_slot = SLOT(efi_season, class_count),
     .fallback = "classes have no order",
     .meaning = "The seed classes, the highest first: what goes down or up goes by them.",
     .example = "[pre-basic, basic, certified, commercial]"},
    {QUANTITY("planning rate", OF(MASS_RATE), efi_season, rate_tph, POSITIVE), .by_crop = true,
     .fallback = "what simulated shifts make",
     .meaning = "Intake that a line makes for each hour of work, stops included.",
     .example = "{winter wheat: 7.5 t/h, other crops: 6 t/h}"},
    {QUANTITY("late", OF(MONEY_PER_TIME), efi_season, late_ph, NOT_NEGATIVE),
     .fallback = "100 a day, in the scenario's money (our choice)",
     .meaning = "What it costs that a lot ends after it is due, for a lot of priority 1.",
     .example = "150 EUR/d"},
    {QUANTITY("wet", OF(MONEY_PER_TIME), efi_season, wet_ph, NOT_NEGATIVE),
     .fallback = "500 a day, in the scenario's money (our choice)",
     .meaning = "What it costs that a lot begins after its latest start.", .example = "800 EUR/d"},
    {QUANTITY("no room", OF(MONEY_PER_MASS_TIME), efi_season, no_room_pth, NOT_NEGATIVE),
     .fallback = "2 for a tonne and day, in the scenario's money (our choice)",
     .meaning = "What it costs that a lot or its product finds no store.", .example = "3 EUR/t/d"},
    {QUANTITY("move", OF(MONEY), efi_season, move_cost, NOT_NEGATIVE),
     .fallback = "50, in the scenario's money (our choice)",
     .meaning = "What it costs to move a lot that an earlier plan had elsewhere: calls, changed orders.",
     .example = "30 EUR"},
    {QUANTITY("restart", OF(DURATION), efi_season, restart_h, NOT_NEGATIVE),
     .fallback = "10 min (our choice)",
     .meaning = "What is lost whenever a line starts again within a lot, after a night or a break.",
     .example = "15 min"},
    {QUANTITY("daily clean", OF(DURATION), efi_season, daily_clean_h, NOT_NEGATIVE), .fallback = "0 min",
     .meaning = "Cleaning before the first work of each day.", .example = "20 min"},
    {QUANTITY("least clean", OF(DURATION), efi_season, least_clean_h, NOT_NEGATIVE),
     .fallback = "15 min (our choice)",
     .meaning = "No cleaning is shorter: locking out and giving back. Where a bin is entered the rule's "
                "`bin entry` comes on top.",
     .example = "30 min"},
    {QUANTITY("straight", OF(DURATION), efi_season, straight_h, NOT_NEGATIVE),
     .fallback = "0 h: every lot is stored first",
     .meaning = "A lot whose run begins so soon after its arrival needs no raw store.", .example = "4 h"},
    {QUANTITY("collected", OF(DURATION), efi_season, collected_h, NOT_NEGATIVE),
     .fallback = "1 d (our choice)",
     .meaning = "How long after the run the product leaves the finished store.", .example = "3 d"},
    {.key = "cleaning",
     .type = EFI_FIELD_CHOICE,
     .choices = cleaning_words,
     .slot = SLOT(efi_season, cleaning),
     .fallback = "line clear (common practice for seed)",
     .meaning = "`line clear`: the whole line is empty and clean before the next lot enters; `station by "
                "station`: a station is cleaned as soon as it is empty.",
     .example = "station by station"},
    {.key = "teams",
     .type = EFI_FIELD_COUNT,
     .slot = SLOT(efi_season, teams),
     .fallback = "1",
     .meaning = "Cleaning station by station: at how many stations at the same time.",
     .example = "2"},
    {.key = "cleaned before arrival",
     .type = EFI_FIELD_FLAG,
     .slot = SLOT(efi_season, cleaned_before_arrival),
     .fallback = "no",
     .meaning = "May the cleaning for a lot begin before the lot is there?",
     .example = "yes"},
    {.key = "stores",
     .type = EFI_FIELD_NAMED,
     .block = &store_block,
     .slot = SLOT(efi_season, stores),
     .count_slot = SLOT(efi_season, store_count),
     .fallback = "there is always room",
     .meaning = "Where lots lie before their run, and the product after it."},
    {.key = "changeovers",
     .type = EFI_FIELD_NAMED,
     .block = &changeover_block,
     .slot = SLOT(efi_season, changeovers),
     .count_slot = SLOT(efi_season, changeover_count),
     .fallback = "nothing is cleaned between lots",
     .meaning = "What has to be cleaned between two lots."},
    NOTE(efi_season, "as talked over in July"),
};

const efi_block efi_language_season = {
    .title = "season",
    .intro = "How lots follow one another: when, at what price of delay and trouble, with which cleaning and "
             "where they lie. Everything has a default, so that `lots` alone make a season. The page on "
             "awkward cases (how-to-describe.md) has an example.",
    FIELDS(season_fields),
    .size = sizeof(efi_season),
    .prepare = prepare_season};

const char *efi_change_word(efi_change change)
{
    return change_words[change];
}

efi_lot_trait efi_change_trait(efi_change when)
{
    switch (when) {
    case EFI_CHANGE_VARIETY:
        return EFI_LOT_VARIETY;
    case EFI_CHANGE_CLASS:
    case EFI_CHANGE_CLASS_DOWN:
    case EFI_CHANGE_CLASS_UP:
        return EFI_LOT_CLASS;
    case EFI_CHANGE_TREATMENT:
        return EFI_LOT_TREATMENT;
    case EFI_CHANGE_ALLERGEN:
        return EFI_LOT_ALLERGEN;
    case EFI_CHANGE_TRAIT:
        return EFI_LOT_TRAIT;
    case EFI_CHANGE_COLOUR:
        return EFI_LOT_COLOUR;
    case EFI_CHANGE_PRODUCT:
        return EFI_LOT_PRODUCT;
    case EFI_CHANGE_ANY:
    case EFI_CHANGE_CROP:
    case EFI_CHANGE_LOT:
    case EFI_CHANGE_FIRST:
    case EFI_CHANGE_LAST:
    case EFI_CHANGES:
        break;
    }
    return EFI_LOT_TRAITS;
}
