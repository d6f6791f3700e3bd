/* SPDX-License-Identifier: GPL-3.0-or-later
 * The part of the language that describes stations. */
#include "model/language_table.h"

/* Sets of kinds, as bits. */
#define IN_CLASS(code, class, wanted)                                                                        \
    | (EFI_CLASS_##class == EFI_CLASS_##wanted ? 1u << EFI_STATION_##code : 0u)
#define IF_INTAKE(code, word, class, separates, meaning)   IN_CLASS(code, class, INTAKE)
#define IF_MACHINE(code, word, class, separates, meaning)  IN_CLASS(code, class, MACHINE)
#define IF_CONVEYOR(code, word, class, separates, meaning) IN_CLASS(code, class, CONVEYOR)
#define INTAKES                                            (0u EFI_STATION_LIST(IF_INTAKE))
#define MACHINES                                           (0u EFI_STATION_LIST(IF_MACHINE))
#define CONVEYORS                                          (0u EFI_STATION_LIST(IF_CONVEYOR))
#define KIND(code)                                         (1u << EFI_STATION_##code)
#define WORKING                                            (INTAKES | MACHINES | CONVEYORS)

static const char *const kind_words[] = {
#define WORD(code, word, class, separates, meaning) word,
    EFI_STATION_LIST(WORD)
#undef WORD
        NULL};

/* Trade words for the same things, to be offered; they are not read. */
static const efi_other_word kind_other_words[] = {
    {"pit", "intake"},
    {"reception", "intake"},
    {"pre-cleaner", "scalper"},
    {"cleaner", "air-screen cleaner"},
    {"air screen", "air-screen cleaner"},
    {"fanning mill", "air-screen cleaner"},
    {"indented cylinder", "length grader"},
    {"indent cylinder", "length grader"},
    {"trieur", "length grader"},
    {"cylinder grader", "width grader"},
    {"velvet roll", "roll mill"},
    {"spiral", "spiral separator"},
    {"stoner", "destoner"},
    {"gravity separator", "density separator"},
    {"gravity table", "density separator"},
    {"specific gravity separator", "density separator"},
    {"color sorter", "optical sorter"},
    {"colour sorter", "optical sorter"},
    {"scale", "weigher"},
    {"bagging scale", "bagger"},
    {"leg", "elevator"},
    {"bucket elevator", "elevator"},
    {"auger", "screw conveyor"},
    {"belt", "belt conveyor"},
    {"hopper", "bin"},
    {"silo", "bin"},
    {"tank", "bin"},
    {"surge bin", "bin"},
    {"holding bin", "bin"},
    {"product", "outlet"},
    {NULL, NULL},
};

static const char *const split_words[] = {
#define WORD(code, word, meaning) word,
    EFI_SPLIT_LIST(WORD)
#undef WORD
        NULL};

/* In the order of efi_use. */
static const char *const use_words[] = {
#define WORD(code, word) word,
    EFI_USE_LIST(WORD)
#undef WORD
        NULL};

static void prepare_station(void *item)
{
    efi_station *station = item;
    station->kind = EFI_STATION_UNKNOWN;
    station->count = 1;
    station->line = -1;
    station->use = EFI_USE_UNSAID;
}

static void prepare_buckets(void *item)
{
    efi_buckets *buckets = item;
    buckets->rows = 1;
}

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
    NOTE(efi_discharge, "top deck"),
};
static const efi_block discharge_block = {.title = "discharges",
                                          .intro = "The outlet streams of one machine, by name. The shares "
                                                   "hold near the rate at which they were measured.",
                                          FIELDS(discharge_fields),
                                          .size = sizeof(efi_discharge),
                                          .names = EFI_NAMES_NONE,
                                          .most = EFI_MOST_DISCHARGES};

static const efi_field branch_fields[] = {
    {QUANTITY("share", OF(SHARE), efi_discharge, branch_share, SHARE), .by_crop = true,
     .meaning = "What this branch gets, under the rule `fixed`. One branch may go without: it gets the rest.",
     .example = "60 %"},
    {QUANTITY("least share", OF(SHARE), efi_discharge, least_share, SHARE), .fallback = "0 %",
     .meaning = "The least it gets, under the rule `free`.", .example = "20 %"},
    {QUANTITY("most share", OF(SHARE), efi_discharge, most_share, SHARE), .fallback = "100 %",
     .meaning = "The most it gets, under the rule `free`.", .example = "70 %"},
    {.key = "by-pass",
     .type = EFI_FIELD_FLAG,
     .slot = SLOT(efi_discharge, by_pass),
     .fallback = "no",
     .meaning = "May material be led around a machine here? Without this mark no answer does so.",
     .example = "yes"},
    {.key = "to",
     .type = EFI_FIELD_STATION,
     .required = true,
     .by_crop = true,
     .slot = SLOT(efi_discharge, to),
     .meaning = "The station its spout leads to.",
     .example = "Deck 2"},
    NOTE(efi_discharge, "manual slide"),
};
static const efi_block branch_block = {
    .title = "branches",
    .intro = "The ways out of a split, by name. Every branch has the composition of what comes in.",
    FIELDS(branch_fields),
    .size = sizeof(efi_discharge),
    .names = EFI_NAMES_NONE,
    .most = EFI_MOST_DISCHARGES};

static const efi_field derating_fields[] = {
    {QUANTITY("moisture above", OF(SHARE), efi_derating, moisture_above, SHARE),
     .meaning = "Up to this moisture of the receipt nothing is lost.", .example = "15 %"},
    {QUANTITY("per point of moisture", OF(SHARE), efi_derating, per_moisture, SHARE),
     .meaning = "Share of the capacity lost for each percentage point of moisture above.", .example = "3 %"},
    {QUANTITY("trash above", OF(SHARE), efi_derating, trash_above, SHARE),
     .meaning = "Up to this share of unwanted material in the receipt nothing is lost.", .example = "5 %"},
    {QUANTITY("per point of trash", OF(SHARE), efi_derating, per_trash, SHARE),
     .meaning = "Share of the capacity lost for each percentage point of unwanted material above.",
     .example = "2 %"},
};
static const efi_block derating_block = {.title = "derating",
                                         .intro = "How wet and trashy receipts lower a machine's capacity: "
                                                  "linearly, and never by more than nine tenths.",
                                         FIELDS(derating_fields),
                                         .size = sizeof(efi_derating),
                                         .names = EFI_NAMES_NONE};

static const efi_field bucket_fields[] = {
    {QUANTITY("volume", OF(VOLUME), efi_buckets, volume_m3, POSITIVE), .required = true,
     .meaning = "What one bucket holds when it is level full.", .example = "5 l"},
    {QUANTITY("spacing", OF(LENGTH), efi_buckets, spacing_m, POSITIVE), .required = true,
     .meaning = "From one bucket to the next along the belt.", .example = "250 mm"},
    {QUANTITY("speed", OF(VELOCITY), efi_buckets, speed_mph, POSITIVE), .required = true,
     .meaning = "Of the belt.", .example = "1.5 m/s"},
    {QUANTITY("fill", OF(SHARE), efi_buckets, fill, SHARE), .fallback = "100 %",
     .meaning = "How full the buckets run.", .example = "80 %"},
    {.key = "rows",
     .type = EFI_FIELD_COUNT,
     .slot = SLOT(efi_buckets, rows),
     .fallback = "1",
     .meaning = "Buckets side by side.",
     .example = "2"},
};
static const efi_block bucket_block = {
    .title = "buckets",
    .intro = "What an elevator lifts, from its buckets: volume x fill x speed / spacing x rows.",
    FIELDS(bucket_fields),
    .size = sizeof(efi_buckets),
    .names = EFI_NAMES_NONE,
    .prepare = prepare_buckets};

static const efi_field screw_fields[] = {
    {QUANTITY("diameter", OF(LENGTH), efi_screw, diameter_m, POSITIVE), .required = true,
     .meaning = "Outside diameter of the flight.", .example = "200 mm"},
    {QUANTITY("shaft", OF(LENGTH), efi_screw, shaft_m, NOT_NEGATIVE), .fallback = "0 mm",
     .meaning = "Diameter of the shaft.", .example = "60 mm"},
    {QUANTITY("pitch", OF(LENGTH), efi_screw, pitch_m, POSITIVE), .fallback = "the diameter (full pitch)",
     .meaning = "Distance from flight to flight.", .example = "200 mm"},
    {QUANTITY("speed", OF(ROTATION), efi_screw, speed_per_h, POSITIVE), .required = true, .meaning = "Turns.",
     .example = "90 rpm"},
    {QUANTITY("fill", OF(SHARE), efi_screw, fill, SHARE), .fallback = "45 % (free-flowing grain)",
     .meaning = "Trough loading.", .example = "30 %"},
    {QUANTITY("incline", OF(ANGLE), efi_screw, incline_deg, LEVEL), .fallback = "0 deg",
     .meaning = "Slope upwards. Up to 10 degrees counts full, to 20 degrees 80 %, to 30 degrees 60 %; "
                "steeper screws need "
                "a measured `capacity`.",
     .example = "15 deg"},
};
static const efi_block screw_block = {.title = "screw",
                                      .intro = "What a screw conveyor moves, from its size: a quarter of pi "
                                               "x (diameter squared - shaft squared) x pitch x "
                                               "turns x fill.",
                                      FIELDS(screw_fields),
                                      .size = sizeof(efi_screw),
                                      .names = EFI_NAMES_NONE};

static const efi_field belt_fields[] = {
    {QUANTITY("area", OF(AREA), efi_belt, area_m2, POSITIVE), .required = true,
     .meaning = "Cross-section of the load on the belt.", .example = "0.02 m2"},
    {QUANTITY("speed", OF(VELOCITY), efi_belt, speed_mph, POSITIVE), .required = true,
     .meaning = "Of the belt.", .example = "1.5 m/s"},
};
static const efi_block belt_block = {.title = "belt",
                                     .intro = "What a belt conveyor moves: area x speed.",
                                     FIELDS(belt_fields),
                                     .size = sizeof(efi_belt),
                                     .names = EFI_NAMES_NONE};

static const efi_field station_fields[] = {
    {.key = "kind",
     .type = EFI_FIELD_CHOICE,
     .required = true,
     .choices = kind_words,
     .other_words = kind_other_words,
     .slot = SLOT(efi_station, kind),
     .meaning = "What it is; see the kinds below.",
     .example = "density separator"},
    {.key = "line",
     .type = EFI_FIELD_LINE,
     .slot = SLOT(efi_station, line),
     .fallback = "shared by all lines",
     .meaning = "The line it belongs to.",
     .example = "North"},
    {.key = "receives",
     .type = EFI_FIELD_CROPS,
     .kinds = INTAKES,
     .slot = SLOT(efi_station, receives),
     .fallback = "every crop",
     .meaning = "The crops that come in here, where each has a pit of its own or some pits are not for all.",
     .example = "[wheat, barley]"},
    {QUANTITY("capacity", OF(MASS_RATE) | OF(VOLUME_RATE), efi_station, capacity, POSITIVE), .by_crop = true,
     .kinds = WORKING,
     .meaning =
         "The most that one machine may take, by weight or, as conveyors do, by volume. Intakes, machines "
         "and "
         "conveyors need one for every crop that passes, unless it follows from buckets, screw or belt.",
     .example = "{wheat: 12 t/h, barley: 9 t/h}"},
    {.key = "buckets",
     .type = EFI_FIELD_BLOCK,
     .kinds = KIND(ELEVATOR),
     .block = &bucket_block,
     .slot = SLOT(efi_station, buckets),
     .meaning = "The elevator's buckets, instead of a capacity."},
    {.key = "screw",
     .type = EFI_FIELD_BLOCK,
     .kinds = KIND(SCREW),
     .block = &screw_block,
     .slot = SLOT(efi_station, screw),
     .meaning = "The screw's size, instead of a capacity."},
    {.key = "belt",
     .type = EFI_FIELD_BLOCK,
     .kinds = KIND(BELT),
     .block = &belt_block,
     .slot = SLOT(efi_station, belt),
     .meaning = "The belt's load, instead of a capacity."},
    {QUANTITY("travel time", OF(DURATION), efi_station, travel_h, POSITIVE), .kinds = CONVEYORS,
     .fallback = "nothing",
     .meaning = "How long material is on its way from feed to discharge; counts in `trace` and `shift`.",
     .example = "45 s"},
    {QUANTITY("peak factor", OF(COUNT), efi_station, peak_factor, ONE_UP), .kinds = CONVEYORS | KIND(INTAKE),
     .fallback = "1",
     .meaning =
         "Peaks over the mean feed that it must take: the mean may then be the capacity divided by this.",
     .example = "1.25"},
    {.key = "batch",
     .type = EFI_FIELD_BLOCK,
     .kinds = MACHINES,
     .block = &efi_language_batch,
     .slot = SLOT(efi_station, batch),
     .fallback = "material passes while it works",
     .meaning = "A machine that works batch by batch, instead of a capacity."},
    {.key = "derating",
     .type = EFI_FIELD_BLOCK,
     .kinds = MACHINES,
     .block = &derating_block,
     .slot = SLOT(efi_station, derating),
     .meaning = "Less capacity for wet or trashy receipts."},
    {.key = "count",
     .type = EFI_FIELD_COUNT,
     .kinds = WORKING,
     .slot = SLOT(efi_station, count),
     .fallback = "1",
     .meaning = "Identical machines side by side that share the feed evenly. Unequal ones are stations "
                "behind a split.",
     .example = "2"},
    {QUANTITY("least feed", OF(MASS_RATE), efi_station, least_feed, NOT_NEGATIVE), .by_crop = true,
     .kinds = MACHINES,
     .meaning = "The least that one machine must be fed to work properly, say to keep a deck covered.",
     .example = "4 t/h"},
    {QUANTITY("steady feed", OF(SHARE), efi_station, steady_band, SHARE), .kinds = MACHINES,
     .fallback = "2 % for a density separator (common practice), none for others",
     .meaning = "Makes this a steady-feed station: while it runs, its feed must stay within this band of its "
                "set rate.",
     .example = "2 %"},
    {QUANTITY("idle power", OF(POWER), efi_station, idle_kw, NOT_NEGATIVE), .kinds = WORKING,
     .meaning = "What one machine draws while the line runs, whatever passes.", .example = "7.5 kW"},
    {QUANTITY("energy", OF(ENERGY_PER_MASS), efi_station, energy_kwhpt, NOT_NEGATIVE), .by_crop = true,
     .kinds = WORKING, .meaning = "What it draws on top for each tonne that passes.", .example = "0.8 kWh/t"},
    {QUANTITY("air", OF(VOLUME_RATE), efi_station, air_m3ph, NOT_NEGATIVE), .kinds = MACHINES,
     .meaning = "Air that one machine needs.", .example = "6000 m3/h"},
    {QUANTITY("people", OF(COUNT), efi_station, people, NOT_NEGATIVE), .kinds = WORKING,
     .meaning = "How many people it takes to run this station; a half is one who minds two.",
     .example = "0.5"},
    {.key = "to",
     .type = EFI_FIELD_STATION,
     .by_crop = true,
     .kinds = WORKING | KIND(BIN),
     .slot = SLOT(efi_station, to),
     .meaning = "The next station, where everything goes one way. Else give `discharges`.",
     .example = "Leg 2"},
    {.key = "discharges",
     .type = EFI_FIELD_NAMED,
     .kinds = MACHINES | CONVEYORS,
     .block = &discharge_block,
     .slot = SLOT(efi_station, discharges.items),
     .count_slot = SLOT(efi_station, discharges.count),
     .meaning = "The outlet streams, where there is more than one."},
    {.key = "turns",
     .type = EFI_FIELD_TURNS,
     .kinds = MACHINES,
     .slot = SLOT(efi_station, turns),
     .fallback = "every material leaves as it came",
     .meaning = "What the machine makes of what it takes, as a huller, a debearder or rolls do: of each "
                "material named, these shares become other materials, and the rest stays what it is. The "
                "discharges then take their shares of what was made; capacity, load and power go by the "
                "feed as it comes in. No weight is gained or lost.",
     .example = "{seed in hull: {hulled seed: 70 %, hulls: 25 %}, hulled seed: {broken: 1 %}}"},
    {.key = "rule",
     .type = EFI_FIELD_CHOICE,
     .kinds = KIND(SPLIT),
     .choices = split_words,
     .slot = SLOT(efi_station, split_rule),
     .fallback = "fixed",
     .meaning = "How the split shares out what comes in: `fixed`: each branch gets its share; `free`: the "
                "answer chooses "
                "the shares that serve its aim best; `first with room`: the first branch gets all that it "
                "can take, then "
                "the next.",
     .example = "free"},
    {.key = "branches",
     .type = EFI_FIELD_NAMED,
     .required = true,
     .kinds = KIND(SPLIT),
     .block = &branch_block,
     .slot = SLOT(efi_station, discharges.items),
     .count_slot = SLOT(efi_station, discharges.count),
     .meaning = "The ways out of a split."},
    {QUANTITY("live volume", OF(VOLUME), efi_station, live_m3, NOT_NEGATIVE), .kinds = KIND(BIN),
     .fallback = "what follows from `steel`",
     .meaning =
         "Volume usable between empty and full, after repose losses. A bushel here is a measure of volume.",
     .example = "4 m3"},
    {.key = "sizing",
     .type = EFI_FIELD_BLOCK,
     .kinds = KIND(BIN),
     .block = &efi_language_bin_choice,
     .slot = SLOT(efi_station, choice),
     .fallback = "any volume, at the same cost for each m3",
     .meaning = "What may be chosen about its volume when bins are sized, and what it costs."},
    {.key = "steel",
     .type = EFI_FIELD_BLOCK,
     .kinds = KIND(BIN),
     .block = &efi_language_steel,
     .slot = SLOT(efi_station, steel),
     .meaning =
         "The dimensions of the bin, from which its live volume follows; or the limits within which one "
         "is to be found."},
    {.key = "product",
     .type = EFI_FIELD_FLAG,
     .kinds = KIND(OUTLET),
     .slot = SLOT(efi_station, product),
     .fallback = "no",
     .meaning = "Is what arrives here a product of the line?",
     .example = "yes"},
    {.key = "use",
     .type = EFI_FIELD_CHOICE,
     .kinds = KIND(OUTLET),
     .choices = use_words,
     .slot = SLOT(efi_station, use),
     .fallback = "not said",
     .meaning = "What becomes of it: `seed`, `food`, `feed` or `waste`. Treated seed may reach neither food "
                "nor feed.",
     .example = "feed"},
    {.key = "wanted",
     .type = EFI_FIELD_MATERIALS,
     .kinds = KIND(OUTLET),
     .slot = SLOT(efi_station, wanted),
     .fallback = "what the plant wants",
     .meaning =
         "The materials that count as wanted here, where a product is only some of what the plant wants: "
         "one of two crops grown together, or one size.",
     .example = "[large seed]"},
    {QUANTITY("least rate", OF(MASS_RATE), efi_station, least_rate, NOT_NEGATIVE), .by_crop = true,
     .kinds = KIND(OUTLET),
     .meaning =
         "What this outlet must get, say by contract. If the line cannot give it, the answer says why.",
     .example = "6 t/h"},
    {QUANTITY("least purity", OF(SHARE), efi_station, least_purity, SHARE), .by_crop = true,
     .kinds = KIND(OUTLET), .meaning = "The least share of wanted material in what arrives here.",
     .example = "98 %"},
    {QUANTITY("price", OF(MONEY_PER_MASS), efi_station, price, ANY), .by_crop = true, .kinds = KIND(OUTLET),
     .meaning = "What a tonne earns here; below 0 what its disposal costs.", .example = "420 EUR/t"},
    {QUANTITY("holds", OF(MASS) | OF(VOLUME), efi_station, holds, POSITIVE), .by_crop = true,
     .kinds = KIND(OUTLET),
     .meaning = "What the cart, box or bay at this outlet holds before somebody must empty it.",
     .example = "1.5 t"},
    {.key = "stops",
     .type = EFI_FIELD_NAMED,
     .kinds = WORKING,
     .block = &efi_language_stop,
     .slot = SLOT(efi_station, stops.items),
     .count_slot = SLOT(efi_station, stops.count),
     .meaning = "The ways in which it stops: cleaning, blockages, breakdowns. Each machine of the station "
                "has them."},
    {.key = "receipts",
     .type = EFI_FIELD_BLOCK,
     .kinds = INTAKES,
     .block = &efi_language_receipts,
     .slot = SLOT(efi_station, receipts),
     .fallback = "material is always there",
     .meaning = "Loads that come to this intake."},
    {QUANTITY("start level", OF(SHARE), efi_station, start_level, SHARE), .kinds = KIND(BIN),
     .fallback = "50 %", .meaning = "How full it is when a run begins.", .example = "30 %"},
    {QUANTITY("restart level", OF(SHARE), efi_station, restart_level, SHARE), .kinds = KIND(BIN),
     .fallback = "0 %", .meaning = "Once it has run empty, the station after it waits for this level.",
     .example = "20 %"},
    {QUANTITY("refill level", OF(SHARE), efi_station, refill_level, SHARE), .kinds = KIND(BIN),
     .fallback = "100 %",
     .meaning = "Once it is full, what fills it waits until it has sunk to this level; returns do not wait.",
     .example = "90 %"},
    {QUANTITY("warm-up", OF(DURATION), efi_station, warm_up_h, NOT_NEGATIVE), .kinds = MACHINES,
     .fallback = "0 min",
     .meaning = "Of a steady-feed station that has run empty: how long its whole product goes back before it "
                "is good "
                "again.",
     .example = "3 min"},
    NOTE(efi_station, "rebuilt last winter"),
};

const efi_block efi_language_station = {
    .title = "stations",
    .intro =
        "Anything material passes, by name, in any order. Which keys go with a station depends on its kind.",
    FIELDS(station_fields),
    .size = sizeof(efi_station),
    .names = EFI_NAMES_STATIONS,
    .most = 200000,
    .prepare = prepare_station};
