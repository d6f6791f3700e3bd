/* SPDX-License-Identifier: GPL-3.0-or-later
 * The part of the language that describes bins in steel. */
#include "model/language_table.h"

#define WORD(code, word) word,
static const char *const shape_words[] = {EFI_SHAPE_LIST(WORD) NULL};
static const char *const hopper_words[] = {EFI_HOPPER_LIST(WORD) NULL};
static const char *const gate_words[] = {EFI_GATE_LIST(WORD) NULL};
#undef WORD

/* Trade words for the same things, to be offered; they are not read. */
static const efi_other_word shape_other_words[] = {
    {"circular", "round"},     {"cylinder", "round"}, {"cylindrical", "round"},
    {"square", "rectangular"}, {NULL, NULL},
};
static const efi_other_word hopper_other_words[] = {
    {"conical", "cone"}, {"pyramidal", "pyramid"}, {"chisel", "wedge"}, {"slot", "wedge"},
    {"plane", "wedge"},  {"flat bottom", "flat"},  {"none", "flat"},    {NULL, NULL},
};

static void prepare_steel(void *item)
{
    efi_steel *steel = item;
    steel->hopper = EFI_HOPPER_UNSAID;
}

/* What a standard bin and the bin of a station share. */
#define SIZE_FIELDS                                                                                          \
    {.key = "shape",                                                                                         \
     .type = EFI_FIELD_CHOICE,                                                                               \
     .required = true,                                                                                       \
     .choices = shape_words,                                                                                 \
     .other_words = shape_other_words,                                                                       \
     .slot = SLOT(efi_steel, shape),                                                                         \
     .meaning = "The body seen from above: `round` or `rectangular`.",                                       \
     .example = "round"},                                                                                    \
        {QUANTITY("diameter", OF(LENGTH), efi_steel, diameter_m, POSITIVE),                                  \
         .meaning = "Inside diameter of a round bin.", .example = "2 m"},                                    \
        {QUANTITY("width", OF(LENGTH), efi_steel, width_m, POSITIVE),                                        \
         .meaning = "Inside, of a rectangular bin.", .example = "1.5 m"},                                    \
        {QUANTITY("length", OF(LENGTH), efi_steel, length_m, POSITIVE),                                      \
         .fallback = "the width (a square bin)", .meaning = "Inside, of a rectangular bin.",                 \
         .example = "2 m"},                                                                                  \
        {QUANTITY("wall height", OF(LENGTH), efi_steel, wall_m, NOT_NEGATIVE),                               \
         .meaning = "Of the upright walls, without the hopper.", .example = "2.4 m"},                        \
        {.key = "hopper",                                                                                    \
         .type = EFI_FIELD_CHOICE,                                                                           \
         .choices = hopper_words,                                                                            \
         .other_words = hopper_other_words,                                                                  \
         .slot = SLOT(efi_steel, hopper),                                                                    \
         .fallback = "`cone` of a round bin, `pyramid` of a rectangular one",                                \
         .meaning = "How it ends below: `cone`; `pyramid`; `wedge`: two sloping sides over a slot as long "  \
                    "as the bin; `flat`: a level floor, on which material stays behind.",                    \
         .example = "wedge"},                                                                                \
        {QUANTITY("hopper angle", OF(ANGLE), efi_steel, hopper_deg, SLOPE),                                  \
         .meaning = "Of the flattest side of the hopper, from level. The valleys between two sides are "     \
                    "flatter still.",                                                                        \
         .example = "55 deg"},                                                                               \
        {QUANTITY("outlet", OF(LENGTH), efi_steel, outlet_m, POSITIVE),                                      \
         .meaning = "Diameter of a round bin's outlet, else its width. It lies in the middle.",              \
         .example = "250 mm"},                                                                               \
    {                                                                                                        \
        QUANTITY("outlet length", OF(LENGTH), efi_steel, outlet_length_m, POSITIVE),                         \
            .fallback = "the width of the outlet; under a wedge the length of the bin",                      \
            .meaning = "Of a rectangular bin's outlet, along the bin's length.", .example = "400 mm"         \
    }

static const efi_field steel_fields[] = {
    SIZE_FIELDS,
    {.key = "gate",
     .type = EFI_FIELD_CHOICE,
     .choices = gate_words,
     .slot = SLOT(efi_steel, gate),
     .fallback = "bottom",
     .meaning =
         "How the outlet lies: `bottom`: level; `side`: upright in a wall of the hopper, where it passes "
         "37 % to 50 % of the same opening laid flat.",
     .example = "side"},
    {QUANTITY("inlet offset", OF(LENGTH), efi_steel, inlet_offset_m, NOT_NEGATIVE), .fallback = "0 m",
     .meaning =
         "From the middle of the bin to where material falls in, along its length. Filled off-centre, a "
         "bin holds less.",
     .example = "0.4 m"},
    {QUANTITY("inlet offset across", OF(LENGTH), efi_steel, inlet_across_m, NOT_NEGATIVE), .fallback = "0 m",
     .meaning = "The same along the width of a rectangular bin.", .example = "0.2 m"},
    {QUANTITY("freeboard", OF(LENGTH), efi_steel, freeboard_m, NOT_NEGATIVE),
     .fallback = "0 m; 150 mm of a bin to be found (common practice)",
     .meaning = "Kept free between the peak of the heap and the top of the walls, for spout and full-level "
                "probe.",
     .example = "150 mm"},
    {QUANTITY("wall friction", OF(COUNT) | OF(ANGLE), efi_steel, wall_friction, POSITIVE), .by_crop = true,
     .meaning = "Of the crop on the hopper's wall, as a coefficient or as an angle. Material slides off a "
                "hopper that is steeper.",
     .example = "0.35"},
    {QUANTITY("clearance", OF(LENGTH), efi_steel, clearance_m, NOT_NEGATIVE), .fallback = "0 m",
     .meaning = "From the floor up to the outlet: room for gate, feeder and machine.", .example = "2.1 m"},
    {QUANTITY("headroom", OF(LENGTH), efi_steel, headroom_m, POSITIVE), .fallback = "as much as it takes",
     .meaning = "From the floor up to what the bin must stay below: ceiling, beam or end of the spout.",
     .example = "6.5 m"},
    {QUANTITY("most width", OF(LENGTH), efi_steel, most_width_m, POSITIVE), .fallback = "as wide as it takes",
     .meaning = "Of a bin to be found: its diameter or longer side.", .example = "2.5 m"},
    {QUANTITY("proportion", OF(COUNT), efi_steel, proportion, NOT_NEGATIVE),
     .fallback = "the one that takes least steel",
     .meaning = "Of a bin to be found: height of the walls over diameter or width.", .example = "1.5"},
    NOTE(efi_steel, "mild steel, 3 mm"),
};

const efi_block efi_language_steel = {
    .title = "steel",
    .intro =
        "A bin as it is built. With shape, diameter or width, wall height, outlet and, unless the floor is "
        "flat, hopper angle its live volume follows for each crop from its angle of repose. What is left "
        "out is to be found for a live volume.",
    FIELDS(steel_fields),
    .size = sizeof(efi_steel),
    .names = EFI_NAMES_NONE,
    .prepare = prepare_steel};

static const efi_field standard_bin_fields[] = {
    SIZE_FIELDS,
    {QUANTITY("cost", OF(MONEY), efi_steel, cost, NOT_NEGATIVE),
     .fallback = "what `sizing` of the bin makes of its live volume",
     .meaning = "What a bin of this size costs, set up.", .example = "5200 EUR"},
    NOTE(efi_steel, "in stock"),
};

const efi_block efi_language_standard_bin = {
    .title = "standard bins",
    .intro = "Sizes of bins to choose from, by name. Each needs all its dimensions.",
    FIELDS(standard_bin_fields),
    .size = sizeof(efi_steel),
    .names = EFI_NAMES_NONE,
    .most = 200,
    .prepare = prepare_steel};
