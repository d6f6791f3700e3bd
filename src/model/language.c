/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/language.h"

#define SLOT(type, member) offsetof(type, member)
#define CLASS(name)        (1u << EFI_CLASS_##name)
#define OF(name)           EFI_KIND_SET(EFI_KIND_##name)
#define FIELDS(table)      .fields = (table), .count = (int)EF_COUNT(table)

static const char *const kind_words[] = {
#define WORD(code, word, class, separates, meaning) word,
    EFI_STATION_LIST(WORD)
#undef WORD
        NULL};

static const char *const unit_words[] = {"metric", "us", NULL};

static void prepare_plant(void *item)
{
    efi_plant *plant = item;
    plant->name = "";
    plant->shift_h = (efi_value){.value = 8.0, .given = true, .of = EFI_KIND_DURATION};
    plant->surge_rule_h = (efi_value){.value = 0.25, .given = true, .of = EFI_KIND_DURATION};
}

static void prepare_station(void *item)
{
    efi_station *station = item;
    station->kind = EFI_STATION_UNKNOWN;
    station->count = 1;
}

static const efi_field plant_fields[] = {
    {.key = "name",
     .type = EFI_FIELD_TEXT,
     .required = true,
     .slot = SLOT(efi_plant, name),
     .meaning = "What the plant is called in the answers.",
     .example = "North shed"},
    {.key = "note",
     .type = EFI_FIELD_TEXT,
     .slot = SLOT(efi_plant, note),
     .meaning = "Anything worth saying about the whole.",
     .example = "Invented figures"},
    {.key = "shift length",
     .type = EFI_FIELD_QUANTITY,
     .quantities = OF(DURATION),
     .range = EFI_RANGE_POSITIVE,
     .slot = SLOT(efi_plant, shift_h),
     .fallback = "8 h (common practice)",
     .meaning = "Hours of one shift.",
     .example = "8 h"},
    {.key = "surge rule",
     .type = EFI_FIELD_QUANTITY,
     .quantities = OF(DURATION),
     .range = EFI_RANGE_POSITIVE,
     .slot = SLOT(efi_plant, surge_rule_h),
     .fallback = "15 min (common practice)",
     .meaning =
         "The rule of thumb that answers are compared with: so many minutes of feed, returns included, "
         "in the bin above a steady-feed station.",
     .example = "15 min"},
    {.key = "units",
     .type = EFI_FIELD_CHOICE,
     .choices = unit_words,
     .slot = SLOT(efi_plant, units),
     .fallback = "metric",
     .meaning = "The units of printed answers; `--units` overrides it.",
     .example = "us"},
};
static const efi_block plant_block = {.title = "plant",
                                      .intro = "The plant as a whole.",
                                      FIELDS(plant_fields),
                                      .size = sizeof(efi_plant),
                                      .prepare = prepare_plant};

static const efi_field material_fields[] = {
    {.key = "wanted",
     .type = EFI_FIELD_FLAG,
     .slot = SLOT(efi_material, wanted),
     .fallback = "no",
     .meaning = "Is it what the plant wants to keep?",
     .example = "yes"},
    {.key = "density",
     .type = EFI_FIELD_QUANTITY,
     .quantities = OF(DENSITY),
     .range = EFI_RANGE_POSITIVE,
     .slot = SLOT(efi_material, density_tpm3),
     .fallback = "that of the crop",
     .meaning = "Its own bulk density, where it differs much from the crop's (chaff, hulls).",
     .example = "0.12 t/m3"},
    {.key = "note",
     .type = EFI_FIELD_TEXT,
     .slot = SLOT(efi_material, note),
     .meaning = "Anything worth saying.",
     .example = "through the 2.2 mm slot"},
};
static const efi_block material_block = {
    .title = "materials",
    .intro = "The constituents of the stream, by name: sound seed, small seed, broken, chaff, stones and so "
             "on. At least "
             "one is wanted. A name with nothing after the colon is enough for the others.",
    FIELDS(material_fields),
    .size = sizeof(efi_material),
    .names = EFI_NAMES_MATERIALS,
    .most = 100};

static const efi_field crop_fields[] = {
    {.key = "density",
     .type = EFI_FIELD_QUANTITY,
     .quantities = OF(DENSITY),
     .range = EFI_RANGE_POSITIVE,
     .slot = SLOT(efi_crop, density_tpm3),
     .meaning = "Bulk density as it lies in bins and buckets: turns m3 into t.",
     .example = "0.78 t/m3"},
    {.key = "test weight",
     .type = EFI_FIELD_QUANTITY,
     .quantities = OF(DENSITY),
     .range = EFI_RANGE_POSITIVE,
     .slot = SLOT(efi_crop, test_weight_tpm3),
     .meaning = "The measured weight of a full bushel or hectolitre; the same thing as `density`, so give "
                "one of the two.",
     .example = "61 lb/bu"},
    {.key = "trade weight",
     .type = EFI_FIELD_QUANTITY,
     .quantities = OF(TRADE_WEIGHT),
     .range = EFI_RANGE_POSITIVE,
     .slot = SLOT(efi_crop, trade_weight_tpbu),
     .meaning =
         "The legal weight of a bushel in trade: turns bu into t. Needed for rates in bushels. It is not the "
         "measured test weight.",
     .example = "60 lb/bu"},
    {.key = "repose",
     .type = EFI_FIELD_QUANTITY,
     .quantities = OF(ANGLE),
     .range = EFI_RANGE_SLOPE,
     .slot = SLOT(efi_crop, repose_deg),
     .meaning = "Angle of repose when filling.",
     .example = "28 deg"},
    {.key = "moisture",
     .type = EFI_FIELD_QUANTITY,
     .quantities = OF(SHARE),
     .range = EFI_RANGE_SHARE,
     .slot = SLOT(efi_crop, moisture),
     .meaning = "Moisture of the receipt, wet basis.",
     .example = "14 %"},
    {.key = "receipt",
     .type = EFI_FIELD_RECEIPT,
     .required = true,
     .slot = SLOT(efi_crop, receipt),
     .meaning = "What a typical receipt holds: a share by weight for each material, one of which may be "
                "`rest`. Together "
                "they are 100 %.",
     .example = "{sound seed: rest, chaff: 2 %}"},
    {.key = "note",
     .type = EFI_FIELD_TEXT,
     .slot = SLOT(efi_crop, note),
     .meaning = "Anything worth saying.",
     .example = "harvest of a wet year"},
};
static const efi_block crop_block = {.title = "crops",
                                     .intro = "What the line runs, by name.",
                                     FIELDS(crop_fields),
                                     .size = sizeof(efi_crop),
                                     .names = EFI_NAMES_CROPS,
                                     .most = 300};

static const efi_field discharge_fields[] = {
    {.key = "takes",
     .type = EFI_FIELD_TAKES,
     .required = true,
     .slot = SLOT(efi_discharge, share),
     .meaning = "The share it takes of each material that comes in; a share may differ by crop. `other "
                "materials` stands "
                "for those not listed, which otherwise count as 0 %. One discharge of the station is `rest`: "
                "it takes what "
                "the others leave.",
     .example = "{chaff: 90 %, broken: 30 %}"},
    {.key = "to",
     .type = EFI_FIELD_STATION,
     .required = true,
     .by_crop = true,
     .slot = SLOT(efi_discharge, to),
     .meaning = "The station its spout leads to. A spout may lead back up the line, as middlings do.",
     .example = "Screenings"},
    {.key = "note",
     .type = EFI_FIELD_TEXT,
     .slot = SLOT(efi_discharge, note),
     .meaning = "Anything worth saying.",
     .example = "top deck"},
};
static const efi_block discharge_block = {.title = "discharges",
                                          .intro = "The outlet streams of one station, by name. The shares "
                                                   "hold near the rate at which they were measured.",
                                          FIELDS(discharge_fields),
                                          .size = sizeof(efi_discharge),
                                          .names = EFI_NAMES_NONE,
                                          .most = 20};

#define WORKING (CLASS(MACHINE) | CLASS(CONVEYOR))

static const efi_field station_fields[] = {
    {.key = "kind",
     .type = EFI_FIELD_CHOICE,
     .required = true,
     .choices = kind_words,
     .slot = SLOT(efi_station, kind),
     .meaning = "What it is; see the kinds below.",
     .example = "density separator"},
    {.key = "capacity",
     .type = EFI_FIELD_QUANTITY,
     .by_crop = true,
     .classes = WORKING | CLASS(INTAKE),
     .quantities = OF(MASS_RATE) | OF(VOLUME_RATE),
     .range = EFI_RANGE_POSITIVE,
     .slot = SLOT(efi_station, capacity),
     .meaning = "The most that one machine may take, by weight or, as conveyors do, by volume. Intakes, "
                "machines and "
                "conveyors need one for every crop that passes.",
     .example = "{wheat: 12 t/h, barley: 9 t/h}"},
    {.key = "count",
     .type = EFI_FIELD_COUNT,
     .classes = WORKING | CLASS(INTAKE),
     .slot = SLOT(efi_station, count),
     .fallback = "1",
     .meaning = "Identical machines side by side that share the feed evenly.",
     .example = "2"},
    {.key = "least feed",
     .type = EFI_FIELD_QUANTITY,
     .by_crop = true,
     .classes = CLASS(MACHINE),
     .quantities = OF(MASS_RATE),
     .range = EFI_RANGE_NOT_NEGATIVE,
     .slot = SLOT(efi_station, least_feed),
     .meaning = "The least that one machine must be fed to work properly, say to keep a deck covered.",
     .example = "4 t/h"},
    {.key = "steady feed",
     .type = EFI_FIELD_QUANTITY,
     .classes = CLASS(MACHINE),
     .quantities = OF(SHARE),
     .range = EFI_RANGE_SHARE,
     .slot = SLOT(efi_station, steady_band),
     .fallback = "2 % for a density separator (common practice), none for others",
     .meaning = "Makes this a steady-feed station: while it runs, its feed must stay within this band of its "
                "set rate.",
     .example = "2 %"},
    {.key = "to",
     .type = EFI_FIELD_STATION,
     .by_crop = true,
     .classes = WORKING | CLASS(INTAKE) | CLASS(BIN),
     .slot = SLOT(efi_station, to),
     .meaning = "The next station, where everything goes one way. Else give `discharges`.",
     .example = "Leg 2"},
    {.key = "discharges",
     .type = EFI_FIELD_NAMED,
     .classes = WORKING | CLASS(INTAKE),
     .block = &discharge_block,
     .slot = SLOT(efi_station, discharges.items),
     .count_slot = SLOT(efi_station, discharges.count),
     .meaning = "The outlet streams, where there is more than one.",
     .example = NULL},
    {.key = "live volume",
     .type = EFI_FIELD_QUANTITY,
     .classes = CLASS(BIN),
     .quantities = OF(VOLUME),
     .range = EFI_RANGE_NOT_NEGATIVE,
     .slot = SLOT(efi_station, live_m3),
     .meaning =
         "Volume usable between empty and full, after repose losses. A bushel here is a measure of volume.",
     .example = "4 m3"},
    {.key = "product",
     .type = EFI_FIELD_FLAG,
     .classes = CLASS(OUTLET),
     .slot = SLOT(efi_station, product),
     .fallback = "no",
     .meaning = "Is what arrives here a product of the line?",
     .example = "yes"},
    {.key = "least rate",
     .type = EFI_FIELD_QUANTITY,
     .by_crop = true,
     .classes = CLASS(OUTLET),
     .quantities = OF(MASS_RATE),
     .range = EFI_RANGE_NOT_NEGATIVE,
     .slot = SLOT(efi_station, least_rate),
     .meaning =
         "What this outlet must get, say by contract. If the line cannot give it, the answer says why.",
     .example = "6 t/h"},
    {.key = "note",
     .type = EFI_FIELD_TEXT,
     .slot = SLOT(efi_station, note),
     .meaning = "Anything worth saying.",
     .example = "rebuilt last winter"},
};
static const efi_block station_block = {
    .title = "stations",
    .intro =
        "Anything material passes, by name, in any order. Which keys go with a station depends on its kind.",
    FIELDS(station_fields),
    .size = sizeof(efi_station),
    .names = EFI_NAMES_STATIONS,
    .most = 200000,
    .prepare = prepare_station};

static const efi_field file_fields[] = {
    {.key = "evenfeed",
     .type = EFI_FIELD_COUNT,
     .required = true,
     .slot = SLOT(ef_scenario, version),
     .meaning = "The version of this language: 1.",
     .example = "1"},
    {.key = "plant",
     .type = EFI_FIELD_BLOCK,
     .required = true,
     .block = &plant_block,
     .slot = SLOT(ef_scenario, plant),
     .meaning = "The plant as a whole.",
     .example = NULL},
    {.key = "materials",
     .type = EFI_FIELD_NAMED,
     .required = true,
     .block = &material_block,
     .slot = SLOT(ef_scenario, materials),
     .count_slot = SLOT(ef_scenario, material_count),
     .meaning = "The constituents of the stream.",
     .example = NULL},
    {.key = "crops",
     .type = EFI_FIELD_NAMED,
     .required = true,
     .block = &crop_block,
     .slot = SLOT(ef_scenario, crops),
     .count_slot = SLOT(ef_scenario, crop_count),
     .meaning = "What the line runs.",
     .example = NULL},
    {.key = "stations",
     .type = EFI_FIELD_NAMED,
     .required = true,
     .block = &station_block,
     .slot = SLOT(ef_scenario, stations),
     .count_slot = SLOT(ef_scenario, station_count),
     .meaning = "Anything material passes.",
     .example = NULL},
};

const efi_block efi_language = {
    .title = "The file",
    .intro = "A scenario is one YAML file: keys and values, with indentation for what belongs to what.",
    FIELDS(file_fields),
    .size = sizeof(ef_scenario)};

static const struct {
    const char *word;
    const char *meaning;
    efi_class class;
    bool separates;
} kinds[EFI_STATION_LIMIT + 1] = {
#define KIND(code, word_, class_, separates_, meaning_)                                                      \
    {.word = word_, .meaning = meaning_, .class = EFI_CLASS_##class_, .separates = separates_},
    EFI_STATION_LIST(KIND)
#undef KIND
        {.word = "unknown", .meaning = "", .class = EFI_CLASS_MACHINE, .separates = false},
};

const char *efi_station_word(efi_station_kind kind)
{
    return kinds[kind].word;
}

efi_class efi_station_class(efi_station_kind kind)
{
    return kinds[kind].class;
}

bool efi_station_separates(efi_station_kind kind)
{
    return kinds[kind].separates;
}

const char *efi_station_meaning(efi_station_kind kind)
{
    return kinds[kind].meaning;
}

const char *efi_range_words(efi_range range)
{
    switch (range) {
    case EFI_RANGE_POSITIVE:
        return "more than 0";
    case EFI_RANGE_NOT_NEGATIVE:
        return "0 or more";
    case EFI_RANGE_SHARE:
        return "from 0 % to 100 %";
    case EFI_RANGE_SLOPE:
        return "between 0 and 90 degrees";
    }
    return "";
}

bool efi_range_holds(efi_range range, double value)
{
    switch (range) {
    case EFI_RANGE_POSITIVE:
        return value > 0.0;
    case EFI_RANGE_NOT_NEGATIVE:
        return value >= 0.0;
    case EFI_RANGE_SHARE:
        return value >= 0.0 && value <= 1.0;
    case EFI_RANGE_SLOPE:
        return value > 0.0 && value < 90.0;
    }
    return false;
}
