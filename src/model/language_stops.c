/* SPDX-License-Identifier: GPL-3.0-or-later
 * The part of the language that describes time: how stations stop, how receipts come. */
#include "model/language_table.h"

static const char *const form_words[] = {
#define WORD(code, word, meaning) word,
    EFI_FORM_LIST(WORD)
#undef WORD
        NULL};

/* In the order of efi_counts. */
static const char *const counts_words[] = {"running", "clock", NULL};

static void prepare_stop(void *item)
{
    efi_stop *stop = item;
    stop->counts = EFI_COUNTS_UNSAID;
    stop->crew = -1;
    stop->days = (efi_when){.value = EFI_WEEKDAYS_ALL, .given = true};
    stop->lasts_form = -1;
}

static void prepare_receipts(void *item)
{
    efi_receipts *receipts = item;
    receipts->queue = -1;
    receipts->days = (efi_when){.value = EFI_WEEKDAYS_WORK, .given = true};
}

static const efi_field stop_fields[] = {
    {QUANTITY("between", OF(DURATION), efi_stop, between_h, POSITIVE),
     .meaning = "For a random stop: the mean time between two of them.", .example = "9 h"},
    {QUANTITY("every", OF(DURATION), efi_stop, every_h, POSITIVE),
     .meaning = "For a planned stop: the time from one to the next.", .example = "4 h"},
    {QUANTITY("after", OF(MASS), efi_stop, after_t, POSITIVE), .by_crop = true,
     .meaning = "For a planned stop that goes by what has passed: the tonnes from one to the next.",
     .example = "60 t"},
    {.key = "at",
     .type = EFI_FIELD_CLOCKS,
     .slot = SLOT(efi_stop, at),
     .meaning =
         "For a planned stop at times of the day: when it begins. Without a calendar a run begins on a "
         "Monday at 06:00.",
     .example = "[06:00, 18:00]"},
    {.key = "days",
     .type = EFI_FIELD_WEEKDAYS,
     .slot = SLOT(efi_stop, days),
     .fallback = "daily",
     .meaning = "For a stop at times of the day: the days on which it begins.",
     .example = "mon-fri"},
    {QUANTITY("lasts", OF(DURATION), efi_stop, lasts_h, POSITIVE), .required = true,
     .meaning = "How long it lasts; the mean, where its form is not `fixed`.", .example = "12 min"},
    {QUANTITY("lock-out", OF(DURATION), efi_stop, lockout_h, NOT_NEGATIVE), .fallback = "0 min",
     .meaning = "The least length, however quick the repair: isolating, locking, testing for zero energy, "
                "giving back. "
                "Local rules say what must be done.",
     .example = "10 min"},
    {QUANTITY("bin entry", OF(DURATION), efi_stop, bin_entry_h, NOT_NEGATIVE),
     .fallback = "0 min: nobody enters a bin",
     .meaning = "Where somebody enters a bin, silo or pit to end the stop: what it takes, once all is locked "
                "out, until they may: permit, tests of the air, harness and lifeline, somebody on watch. It "
                "comes on top of the lock-out; the stop is never shorter than both together. Local rules "
                "say what must be done, and who may.",
     .example = "30 min"},
    {.key = "crew",
     .type = EFI_FIELD_CREW,
     .slot = SLOT(efi_stop, crew),
     .fallback =
         "anybody: it is seen to at once, but rests while the plant is closed (a stop at times of the day "
         "goes on)",
     .meaning = "Who sees to it; its length begins when they come.",
     .example = "fitters"},
    {.key = "counts",
     .type = EFI_FIELD_CHOICE,
     .choices = counts_words,
     .slot = SLOT(efi_stop, counts),
     .fallback = "running for random stops, clock for planned ones",
     .meaning = "What the time until a stop counts: `running` hours at full rate (half rate counts half, "
                "standing still "
                "nothing), or hours of the `clock`.",
     .example = "clock"},
    {.key = "between form",
     .type = EFI_FIELD_CHOICE,
     .choices = form_words,
     .slot = SLOT(efi_stop, between_form),
     .fallback = "exponential",
     .meaning =
         "How the times between random stops spread about their mean: `exponential`, `weibull`, `lognormal`, "
         "`gamma` or `fixed`.",
     .example = "weibull"},
    {QUANTITY("between shape", OF(COUNT), efi_stop, between_shape, POSITIVE),
     .meaning = "Shape of that form: of Weibull and gamma their shape, of lognormal sigma of the logarithm.",
     .example = "1.5"},
    {.key = "lasts form",
     .type = EFI_FIELD_CHOICE,
     .choices = form_words,
     .slot = SLOT(efi_stop, lasts_form),
     .fallback = "exponential for random stops, fixed for planned ones",
     .meaning = "The same for the lengths.",
     .example = "lognormal"},
    {QUANTITY("lasts shape", OF(COUNT), efi_stop, lasts_shape, POSITIVE),
     .meaning = "The same for the lengths.", .example = "0.8"},
    NOTE(efi_stop, "from last season's log"),
};

const efi_block efi_language_stop = {
    .title = "stops",
    .intro = "The ways in which one station stops, by name. A stop is random (`between`) or planned "
             "(`every`, `after` or `at`); exactly one of the four is given. Random times have the given mean "
             "whatever their form.",
    FIELDS(stop_fields),
    .size = sizeof(efi_stop),
    .names = EFI_NAMES_NONE,
    .most = 20,
    .prepare = prepare_stop};

static const efi_field record_fields[] = {
    {.key = "station",
     .type = EFI_FIELD_STATIONS,
     .required = true,
     .slot = SLOT(efi_record, stations),
     .meaning = "Which station stands, all its machines.",
     .example = "Cleaner"},
    {.key = "from",
     .type = EFI_FIELD_INSTANT,
     .required = true,
     .quantities = OF(DURATION),
     .range = EFI_RANGE_NOT_NEGATIVE,
     .slot = SLOT(efi_record, from),
     .meaning = "When it stops.",
     .example = "2026-09-07T08:10"},
    {.key = "to",
     .type = EFI_FIELD_INSTANT,
     .required = true,
     .quantities = OF(DURATION),
     .range = EFI_RANGE_NOT_NEGATIVE,
     .slot = SLOT(efi_record, to),
     .meaning = "When it runs again.",
     .example = "2026-09-07T08:25"},
    {.key = "planned",
     .type = EFI_FIELD_FLAG,
     .slot = SLOT(efi_record, planned),
     .fallback = "no",
     .meaning = "Was it planned? Else it counts as a random stop.",
     .example = "yes"},
    {.key = "cause",
     .type = EFI_FIELD_TEXT,
     .slot = SLOT(efi_record, cause),
     .meaning = "What it was; printed with the stop.",
     .example = "choke"},
    NOTE(efi_record, "from the operator's book"),
};
const efi_block efi_language_record = {
    .title = "recorded stops",
    .intro =
        "Stops at known moments, each under a name of its own: what a log holds, or what is foreseen. They "
        "come on top of the stops of the stations. Kept in a table (`file:`) they need no names: each row is "
        "one stop, its columns are the keys below (`station,from,to,cause`).",
    FIELDS(record_fields),
    .size = sizeof(efi_record),
    .names = EFI_NAMES_NONE,
    .most = 100000,
    .numbered = true};

static const efi_field sort_fields[] = {
    {QUANTITY("load", OF(MASS), efi_load_sort, load_t, POSITIVE), .by_crop = true, .required = true,
     .meaning = "What one load of this sort brings.", .example = "24 t"},
    {QUANTITY("share", OF(SHARE), efi_load_sort, share, SHARE), .required = true,
     .meaning = "How many of all loads are of this sort. Together the sorts are 100 %.", .example = "70 %"},
    NOTE(efi_load_sort, "with a trailer"),
};
static const efi_block sort_block = {.title = "sorts",
                                     .intro = "Sorts of load, by name.",
                                     FIELDS(sort_fields),
                                     .size = sizeof(efi_load_sort),
                                     .names = EFI_NAMES_NONE,
                                     .most = 20};

static const efi_field receipts_fields[] = {
    {QUANTITY("load", OF(MASS), efi_receipts, load_t, POSITIVE), .by_crop = true,
     .meaning = "What one load brings, where all are alike. Else give `sorts`.", .example = "24 t"},
    {.key = "sorts",
     .type = EFI_FIELD_NAMED,
     .block = &sort_block,
     .slot = SLOT(efi_receipts, sorts),
     .count_slot = SLOT(efi_receipts, sort_count),
     .meaning = "Loads of several sizes; which comes next is chance."},
    {QUANTITY("every", OF(DURATION), efi_receipts, every_h, POSITIVE), .required = true,
     .meaning = "The mean time from one arrival to the next.", .example = "40 min"},
    {.key = "form",
     .type = EFI_FIELD_CHOICE,
     .choices = form_words,
     .slot = SLOT(efi_receipts, form),
     .fallback = "exponential (they come at random)",
     .meaning = "How the times between arrivals spread about their mean; `fixed` is a timetable.",
     .example = "fixed"},
    {QUANTITY("shape", OF(COUNT), efi_receipts, shape, POSITIVE),
     .meaning = "Shape of that form, as for stops.", .example = "2"},
    {.key = "days",
     .type = EFI_FIELD_WEEKDAYS,
     .slot = SLOT(efi_receipts, days),
     .fallback = "mon-fri",
     .meaning = "With hours of its own: the days on which they begin, but for holidays.",
     .example = "mon-sat"},
    {.key = "from",
     .type = EFI_FIELD_CLOCK,
     .slot = SLOT(efi_receipts, from),
     .fallback = "while the plant is open; without a calendar at all hours",
     .meaning = "When loads begin to come. The time between arrivals counts these hours.",
     .example = "07:00"},
    {.key = "to",
     .type = EFI_FIELD_CLOCK,
     .slot = SLOT(efi_receipts, to),
     .meaning = "When the last may come; at or before `from` means the next day.",
     .example = "17:00"},
    {.key = "all hours",
     .type = EFI_FIELD_FLAG,
     .slot = SLOT(efi_receipts, all_hours),
     .fallback = "no",
     .meaning = "Do loads come at all hours, when the plant is closed too? They wait then.",
     .example = "yes"},
    {.key = "queue",
     .type = EFI_FIELD_COUNT,
     .slot = SLOT(efi_receipts, queue),
     .fallback = "any number",
     .meaning = "How many loads may wait; a further one is turned away.",
     .example = "3"},
    {.key = "instant",
     .type = EFI_FIELD_FLAG,
     .slot = SLOT(efi_receipts, instant),
     .fallback = "no",
     .meaning = "Is a load tipped at once into the bin right behind the intake? Else it is tipped at the "
                "intake's capacity.",
     .example = "yes"},
};

const efi_block efi_language_receipts = {
    .title = "receipts",
    .intro =
        "Loads that come to an intake. Without this block the intake always has material. An intake with "
        "a `count` has so many pits; each takes one load at a time.",
    FIELDS(receipts_fields),
    .size = sizeof(efi_receipts),
    .names = EFI_NAMES_NONE,
    .prepare = prepare_receipts};

static const efi_field batch_fields[] = {
    {QUANTITY("charge", OF(MASS), efi_batch, charge_t, POSITIVE), .by_crop = true, .required = true,
     .meaning = "What one batch holds.", .example = "450 kg"},
    {QUANTITY("fill rate", OF(MASS_RATE), efi_batch, fill_tph, POSITIVE), .required = true,
     .meaning = "How fast it takes its charge, at most.", .example = "30 t/h"},
    {QUANTITY("work", OF(DURATION), efi_batch, work_h, NOT_NEGATIVE), .required = true,
     .meaning = "How long it works on the charge, with nothing going in or out.", .example = "72 s"},
    {QUANTITY("discharge rate", OF(MASS_RATE), efi_batch, discharge_tph, POSITIVE), .required = true,
     .meaning = "How fast it gives the charge off, at most.", .example = "30 t/h"},
};
const efi_block efi_language_batch = {.title = "batch",
                                      .intro = "A machine that takes a charge, works on it and gives it off, "
                                               "such as a batch treater. Its capacity is "
                                               "one charge in the time that filling, work and discharge take "
                                               "together. The bin above holds what comes "
                                               "meanwhile.",
                                      FIELDS(batch_fields),
                                      .size = sizeof(efi_batch),
                                      .names = EFI_NAMES_NONE};
