/* SPDX-License-Identifier: GPL-3.0-or-later
 * The part of the language that describes the lots of a season. */
#include "model/language_table.h"

static const char *const state_words[] = {
#define WORD(code, word, meaning) word,
    EFI_LOT_STATE_LIST(WORD)
#undef WORD
        NULL};

static const efi_other_word other_states[] = {
    {"planned", "waiting"}, {"open", "waiting"}, {"fixed", "frozen"},  {"in progress", "running"},
    {"started", "running"}, {"ended", "done"},   {"finished", "done"}, {NULL, NULL}};

static void prepare_lot(void *item)
{
    efi_scenario_lot *lot = item;
    lot->crop = EFI_NOWHERE;
    lot->line = EFI_NOWHERE;
    lot->after = EFI_NOWHERE;
    lot->priority = (efi_value){.value = 1.0, .given = true, .of = EFI_KIND_COUNT};
}

#define TRAIT(code, key_, fallback_, meaning_, example_)                                                     \
    {                                                                                                        \
        .key = key_, .type = EFI_FIELD_NAME, .slot = SLOT(efi_scenario_lot, trait[EFI_LOT_##code]),          \
        .fallback = fallback_, .meaning = meaning_, .example = example_                                      \
    }

#define BY_DATE(key_, member) .key = key_, .type = EFI_FIELD_BY_DATE, .slot = SLOT(efi_scenario_lot, member)

static const efi_field lot_fields[] = {
    {.key = "crop",
     .type = EFI_FIELD_CROP,
     .slot = SLOT(efi_scenario_lot, crop),
     .fallback = "that of a scenario with a single crop; with several it must be given",
     .meaning = "Which of the `crops` it is.",
     .example = "winter wheat"},
    {QUANTITY("amount", OF(MASS), efi_scenario_lot, amount_t, POSITIVE), .required = true,
     .meaning = "How much comes in, as received.", .example = "85 t"},
    TRAIT(VARIETY, "variety", "none, which is a variety of its own", "The variety.", "Amber"),
    TRAIT(CLASS, "class", "none, which is a class of its own",
          "The seed class; one of the season's `classes` where those are given.", "basic"),
    TRAIT(TREATMENT, "treatment", "untreated", "What the seed is treated with.", "red coat"),
    TRAIT(ALLERGEN, "allergen", "none", "What makes it unfit to mix with food that must be free of it.",
          "gluten"),
    TRAIT(TRAIT, "trait", "none", "A genetic trait that must not spread to other lots.",
          "herbicide tolerant"),
    TRAIT(COLOUR, "colour", "none", "The colour, where a few seeds of another one show.", "yellow"),
    TRAIT(PRODUCT, "product", "none", "What is made of it.", "bags of 25 kg"),
    {QUANTITY("moisture", OF(SHARE), efi_scenario_lot, moisture, SHARE), .fallback = "that of the crop",
     .meaning = "Its moisture as received, wet basis; printed beside a latest start, which it does not set.",
     .example = "17 %"},
    {BY_DATE("arrives", arrives), .fallback = "it is there when the season begins",
     .meaning = "When it is there; for an arrival still unknown the earliest.", .example = "2026-09-10"},
    {BY_DATE("arrives latest", arrives_latest), .fallback = "`arrives` is certain",
     .meaning = "For an arrival still unknown: the latest, which the plan counts with.",
     .example = "2026-09-17"},
    {BY_DATE("due", due), .to_end = true, .fallback = "any time will do",
     .meaning = "By when its run must have ended; what is later costs `late`.", .example = "2026-10-01"},
    {BY_DATE("latest start", latest_start), .to_end = true, .fallback = "it keeps",
     .meaning = "For a wet lot: by when its run must have begun; what is later costs `wet`.",
     .example = "2026-09-12T18:00"},
    {QUANTITY("priority", OF(COUNT), efi_scenario_lot, priority, NOT_NEGATIVE), .fallback = "1",
     .meaning = "A day late costs so many times what the season says.", .example = "3"},
    {QUANTITY("late", OF(MONEY_PER_TIME), efi_scenario_lot, late_ph, NOT_NEGATIVE),
     .fallback = "the season's `late` times `priority`",
     .meaning = "What lateness costs for this lot, whatever its priority.", .example = "400 EUR/d"},
    {QUANTITY("wet", OF(MONEY_PER_TIME), efi_scenario_lot, wet_ph, NOT_NEGATIVE),
     .fallback = "the season's `wet`",
     .meaning = "What it costs for this lot to wait beyond its latest start.", .example = "900 EUR/d"},
    {QUANTITY("rate", OF(MASS_RATE), efi_scenario_lot, rate_tph, POSITIVE),
     .fallback = "the planning rate of its crop",
     .meaning = "The planning rate of this lot: intake for each hour of work, stops included.",
     .example = "6.5 t/h"},
    {.key = "lines",
     .type = EFI_FIELD_LINES,
     .slot = SLOT(efi_scenario_lot, lines),
     .fallback = "every line that can run its crop",
     .meaning = "The lines that may run it.",
     .example = "[North, South]"},
    {.key = "state",
     .type = EFI_FIELD_CHOICE,
     .choices = state_words,
     .other_words = other_states,
     .slot = SLOT(efi_scenario_lot, state),
     .fallback = "waiting",
     .meaning = "How far it is: `waiting` to be planned, `frozen` at its line and start, `running` now, or "
                "`done`.",
     .example = "frozen"},
    {.key = "line",
     .type = EFI_FIELD_LINE,
     .slot = SLOT(efi_scenario_lot, line),
     .fallback = "the only line of a plant with one; else a frozen, running or done lot must say it",
     .meaning = "Of a frozen, running or done lot: its line.",
     .example = "North"},
    {BY_DATE("starts", starts), .meaning = "Of a frozen, running or done lot: when its run begins or began.",
     .example = "2026-09-14T06:00"},
    {QUANTITY("left", OF(MASS), efi_scenario_lot, left_t, NOT_NEGATIVE),
     .fallback = "all of it; of a done lot nothing",
     .meaning = "Of a running lot: how much of its amount is still to be run.", .example = "22 t"},
    {.key = "after",
     .type = EFI_FIELD_LOT,
     .slot = SLOT(efi_scenario_lot, after),
     .fallback = "none",
     .meaning = "The lot whose run must have ended before this one begins: the first pass of the same seed, "
                "say.",
     .example = "W-104 clean"},
    {QUANTITY("wait", OF(DURATION), efi_scenario_lot, wait_h, NOT_NEGATIVE), .fallback = "0 h",
     .meaning = "How long after the end of the lot named by `after` this one may begin: the laboratory, say.",
     .example = "10 d"},
    NOTE(efi_scenario_lot, "germination to be watched"),
};

const efi_block efi_language_lot = {
    .title = "lots",
    .intro = "What is to be run in the season, by name: one grower's or field's tonnes of one crop, variety "
             "and class each. A seed that passes the line twice is two lots, the second `after` the first. "
             "With `file: lots.csv` the lots come from a table beside the scenario: its first column holds "
             "their names, its heading the keys, with units as in `amount [t]`.",
    FIELDS(lot_fields),
    .size = sizeof(efi_scenario_lot),
    .names = EFI_NAMES_LOTS,
    .most = 2000,
    .prepare = prepare_lot};

const char *efi_lot_state_word(efi_lot_state state)
{
    return state_words[state];
}

const char *efi_trait_key(efi_lot_trait trait)
{
    static const char *const keys[] = {
#define KEY(code, key, meaning) key,
        EFI_TRAIT_LIST(KEY)
#undef KEY
    };
    return keys[trait];
}
