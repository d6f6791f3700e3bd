/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/language.h"
#include "model/language_table.h"

#include <float.h>

static const char *const unit_words[] = {"metric", "us", NULL};

void efi_plant_defaults(efi_plant *plant)
{
    plant->name = "";
    plant->shift_h = (efi_value){.value = 8.0, .given = true, .of = EFI_KIND_DURATION};
    plant->surge_rule_h = (efi_value){.value = 0.25, .given = true, .of = EFI_KIND_DURATION};
}

static void prepare_plant(void *item)
{
    efi_plant_defaults(item);
}

static const efi_field plant_fields[] = {
    {.key = "name",
     .type = EFI_FIELD_NAME,
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
    {.key = "power limit",
     .type = EFI_FIELD_QUANTITY,
     .quantities = OF(POWER),
     .range = EFI_RANGE_POSITIVE,
     .slot = SLOT(efi_plant, power_limit_kw),
     .fallback = "no limit",
     .meaning = "The most that all stations together may draw.",
     .example = "160 kW"},
    {.key = "energy price",
     .type = EFI_FIELD_QUANTITY,
     .quantities = OF(MONEY_PER_ENERGY),
     .range = EFI_RANGE_NOT_NEGATIVE,
     .slot = SLOT(efi_plant, energy_price),
     .fallback = "energy costs nothing",
     .meaning = "What a kWh costs.",
     .example = "0.22 EUR/kWh"},
    {.key = "labour price",
     .type = EFI_FIELD_QUANTITY,
     .quantities = OF(MONEY_PER_TIME),
     .range = EFI_RANGE_NOT_NEGATIVE,
     .slot = SLOT(efi_plant, labour_price),
     .fallback = "labour costs nothing",
     .meaning = "What an hour of one person costs; counts in the cost of a tonne, not in the balance.",
     .example = "28 EUR/h"},
    {.key = "people",
     .type = EFI_FIELD_QUANTITY,
     .quantities = OF(COUNT),
     .range = EFI_RANGE_POSITIVE,
     .slot = SLOT(efi_plant, people),
     .fallback = "not counted",
     .meaning = "How many people a shift has for all lines together.",
     .example = "4"},
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
     .meaning = "Angle of repose when filling. A bin whose live volume follows from its `steel` needs it.",
     .example = "28 deg"},
    {QUANTITY("emptying repose", OF(ANGLE), efi_crop, emptying_deg, SLOPE), .fallback = "that when filling",
     .meaning = "Angle of repose when emptying: at which material stays behind on a flat floor.",
     .example = "30 deg"},
    {QUANTITY("internal friction", OF(ANGLE), efi_crop, internal_deg, SLOPE),
     .fallback = "the angle of repose when emptying (common practice for free-flowing seed)",
     .meaning = "Effective angle of internal friction, from a shear test: decides with the wall friction "
                "whether a bin flows in mass.",
     .example = "30 deg"},
    {QUANTITY("particle size", OF(LENGTH), efi_crop, particle_m, POSITIVE),
     .meaning = "Size of a kernel: the diameter of a ball of its volume. What an outlet passes, and when it "
                "arches, goes by it.",
     .example = "4 mm"},
    {.key = "moisture",
     .type = EFI_FIELD_QUANTITY,
     .quantities = OF(SHARE),
     .range = EFI_RANGE_SHARE,
     .slot = SLOT(efi_crop, moisture),
     .meaning = "Moisture of the receipt, wet basis.",
     .example = "14 %"},
    {.key = "price",
     .type = EFI_FIELD_QUANTITY,
     .quantities = OF(MONEY_PER_MASS),
     .range = EFI_RANGE_NOT_NEGATIVE,
     .slot = SLOT(efi_crop, price),
     .fallback = "the receipt costs nothing",
     .meaning = "What the plant pays for the receipt; counts for the aim `value`.",
     .example = "190 EUR/t"},
    {QUANTITY("largest lot", OF(MASS), efi_crop, lot_t, POSITIVE),
     .fallback = "certification lots are not counted",
     .meaning =
         "The most finished seed that one certification lot may hold; a season says how many of them a "
         "lot makes, the run is not cut.",
     .example = "30 t"},
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

static const efi_field line_fields[] = {NOTE(efi_line_name, "installed in spring")};
static const efi_block line_block = {
    .title = "lines",
    .intro = "The lines of a plant that has several, by name, at most four. A station says with `line` to "
             "which it belongs; "
             "those that do not are shared. Lines may share intake, bins, people and power.",
    FIELDS(line_fields),
    .size = sizeof(efi_line_name),
    .names = EFI_NAMES_LINES,
    .most = 4};

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
    {.key = "lines",
     .type = EFI_FIELD_NAMED,
     .block = &line_block,
     .slot = SLOT(ef_scenario, lines),
     .count_slot = SLOT(ef_scenario, line_count),
     .meaning = "The lines, where there are several."},
    {.key = "crews",
     .type = EFI_FIELD_NAMED,
     .block = &efi_language_crew,
     .slot = SLOT(ef_scenario, crews),
     .count_slot = SLOT(ef_scenario, crew_count),
     .fallback = "there is always somebody to see to a stop while the plant is open",
     .meaning = "Who sees to stops."},
    {.key = "stations",
     .type = EFI_FIELD_NAMED,
     .required = true,
     .block = &efi_language_station,
     .slot = SLOT(ef_scenario, stations),
     .count_slot = SLOT(ef_scenario, station_count),
     .meaning = "Anything material passes.",
     .example = NULL},
    {.key = "standard bins",
     .type = EFI_FIELD_NAMED,
     .block = &efi_language_standard_bin,
     .slot = SLOT(ef_scenario, standard_bins),
     .count_slot = SLOT(ef_scenario, standard_bin_count),
     .fallback = "bins are made to measure",
     .meaning = "Sizes of bins to choose from."},
    {.key = "calendar",
     .type = EFI_FIELD_BLOCK,
     .block = &efi_language_calendar,
     .slot = SLOT(ef_scenario, calendar),
     .fallback =
         "one shift a day of the plant's shift length, Monday to Friday from 06:00 (common practice); hours "
         "count from Monday 2001-01-01",
     .meaning = "When the plant works."},
    {.key = "recorded stops",
     .type = EFI_FIELD_NAMED,
     .block = &efi_language_record,
     .slot = SLOT(ef_scenario, records),
     .count_slot = SLOT(ef_scenario, record_count),
     .meaning = "Stops at known moments, from a log or foreseen."},
    {.key = "season",
     .type = EFI_FIELD_BLOCK,
     .block = &efi_language_season,
     .slot = SLOT(ef_scenario, season),
     .fallback = "all defaults",
     .meaning = "How lots follow one another: prices, stores, what has to be cleaned between them."},
    {.key = "lots",
     .type = EFI_FIELD_NAMED,
     .block = &efi_language_lot,
     .slot = SLOT(ef_scenario, lots),
     .count_slot = SLOT(ef_scenario, lot_count),
     .meaning = "What is to be run in the season, lot by lot."},
};

const efi_block efi_language = {
    .title = "The file",
    .intro = "A scenario is one YAML file: keys and values, with indentation for what belongs to what.",
    FIELDS(file_fields),
    .size = sizeof(ef_scenario)};

const char *efi_range_words(efi_range range)
{
    switch (range) {
    case EFI_RANGE_POSITIVE:
        return "more than 0";
    case EFI_RANGE_NOT_NEGATIVE:
        return "0 or more";
    case EFI_RANGE_ANY:
        return "any number";
    case EFI_RANGE_SHARE:
        return "from 0 % to 100 %";
    case EFI_RANGE_SLOPE:
        return "between 0 and 90 degrees";
    case EFI_RANGE_LEVEL:
        return "from 0 to under 90 degrees";
    case EFI_RANGE_ONE_UP:
        return "1 or more";
    }
    return "";
}

bool efi_range_holds(efi_range range, double value)
{
    switch (range) {
    case EFI_RANGE_POSITIVE:
        return value > 0.0 && value <= DBL_MAX;
    case EFI_RANGE_NOT_NEGATIVE:
        return value >= 0.0 && value <= DBL_MAX;
    case EFI_RANGE_ANY:
        return value >= -DBL_MAX && value <= DBL_MAX;
    case EFI_RANGE_SHARE:
        return value >= 0.0 && value <= 1.0;
    case EFI_RANGE_SLOPE:
        return value > 0.0 && value < 90.0;
    case EFI_RANGE_LEVEL:
        return value >= 0.0 && value < 90.0;
    case EFI_RANGE_ONE_UP:
        return value >= 1.0 && value <= DBL_MAX;
    }
    return false;
}
