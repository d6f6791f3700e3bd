/* SPDX-License-Identifier: GPL-3.0-or-later
 * The kinds of quantity a field can ask for: dimension, words, and the units that fit. */
#ifndef EFI_KIND_H
#define EFI_KIND_H

#include "base/unit.h"

/* What a bushel is where a kind is wanted. */
typedef enum efi_bushel {
    EFI_BUSHEL_NONE,      /* out of place, or part of the kind's own dimension */
    EFI_BUSHEL_BY_WEIGHT, /* a mass: the crop's trade weight */
    EFI_BUSHEL_BY_VOLUME  /* 2150.42 in3 */
} efi_bushel;

/*
 * kind, words, exponents of (mass, length, time, energy, money, angle, bushel), what a bushel is, the units
 * that fit in the order in which they are offered (the first is the likely one), what else is read (or NULL).
 * The order decides where a field accepts several kinds: the first that matches is taken.
 */
#define EFI_KIND_LIST(X)                                                                                     \
    X(EFI_KIND_MASS, "a mass", (1, 0, 0, 0, 0, 0, 0), BY_WEIGHT, "t kg lb short_ton cwt bu", NULL)           \
    X(EFI_KIND_MASS_RATE, "a mass rate", (1, 0, -1, 0, 0, 0, 0), BY_WEIGHT,                                  \
      "t/h kg/h lb/h short_ton/h bu/h", NULL)                                                                \
    X(EFI_KIND_ENERGY_PER_MASS, "an energy per mass", (-1, 0, 0, 1, 0, 0, 0), BY_WEIGHT,                     \
      "kWh/t kWh/short_ton kWh/bu MJ/t", NULL)                                                               \
    X(EFI_KIND_MONEY_PER_MASS, "money per mass", (-1, 0, 0, 0, 1, 0, 0), BY_WEIGHT,                          \
      "EUR/t USD/short_ton USD/bu", "any currency code")                                                     \
    X(EFI_KIND_VOLUME_PER_MASS, "a volume per mass", (-1, 3, 0, 0, 0, 0, 0), NONE, "l/t ml/kg m3/t ft3/t",   \
      NULL)                                                                                                  \
    X(EFI_KIND_TRADE_WEIGHT, "a trade weight", (1, 0, 0, 0, 0, 0, -1), NONE, "lb/bu kg/bu", NULL)            \
    X(EFI_KIND_DENSITY, "a density", (1, -3, 0, 0, 0, 0, 0), BY_VOLUME, "t/m3 kg/m3 kg/hl lb/bu lb/ft3",     \
      NULL)                                                                                                  \
    X(EFI_KIND_VOLUME, "a volume", (0, 3, 0, 0, 0, 0, 0), BY_VOLUME, "m3 l hl ft3 bu", NULL)                 \
    X(EFI_KIND_VOLUME_RATE, "a volume rate", (0, 3, -1, 0, 0, 0, 0), BY_VOLUME,                              \
      "m3/h l/min ft3/h ft3/min bu/h", NULL)                                                                 \
    X(EFI_KIND_MONEY_PER_VOLUME, "money per volume", (0, -3, 0, 0, 1, 0, 0), BY_VOLUME,                      \
      "EUR/m3 USD/ft3 USD/bu", "any currency code")                                                          \
    X(EFI_KIND_DURATION, "a duration", (0, 0, 1, 0, 0, 0, 0), NONE, "h min s d", "sums such as 1 h 30 min")  \
    X(EFI_KIND_SHARE, "a share", (0, 0, 0, 0, 0, 0, 0), NONE, "%",                                           \
      "a number below 1, a fraction such as 1/8")                                                            \
    X(EFI_KIND_COUNT, "a number", (0, 0, 0, 0, 0, 0, 0), NONE, "", "a number without unit")                  \
    X(EFI_KIND_ANGLE, "an angle", (0, 0, 0, 0, 0, 1, 0), NONE, "deg rad", NULL)                              \
    X(EFI_KIND_LENGTH, "a length", (0, 1, 0, 0, 0, 0, 0), NONE, "m cm mm ft in", "sums such as 5 ft 6 in")   \
    X(EFI_KIND_AREA, "an area", (0, 2, 0, 0, 0, 0, 0), NONE, "m2 cm2 ft2 in2", NULL)                         \
    X(EFI_KIND_VELOCITY, "a velocity", (0, 1, -1, 0, 0, 0, 0), NONE, "m/s m/min ft/min ft/s", NULL)          \
    X(EFI_KIND_ROTATION, "a speed of rotation", (0, 0, -1, 0, 0, 0, 0), NONE, "rpm 1/min 1/s", NULL)         \
    X(EFI_KIND_PER_TIME, "a number per time", (0, 0, -1, 0, 0, 0, 0), NONE, "1/h 1/min 1/d", NULL)           \
    X(EFI_KIND_ENERGY, "an energy", (0, 0, 0, 1, 0, 0, 0), NONE, "kWh MWh MJ", NULL)                         \
    X(EFI_KIND_POWER, "a power", (0, 0, -1, 1, 0, 0, 0), NONE, "kW W hp", NULL)                              \
    X(EFI_KIND_MONEY, "money", (0, 0, 0, 0, 1, 0, 0), NONE, "EUR USD", "any currency code")                  \
    X(EFI_KIND_MONEY_PER_ENERGY, "money per energy", (0, 0, 0, -1, 1, 0, 0), NONE,                           \
      "EUR/kWh USD/kWh EUR/MWh", "any currency code")                                                        \
    X(EFI_KIND_MONEY_PER_TIME, "money per time", (0, 0, -1, 0, 1, 0, 0), NONE, "EUR/h USD/h EUR/d",          \
      "any currency code")                                                                                   \
    X(EFI_KIND_MONEY_PER_AREA, "money per area", (0, -2, 0, 0, 1, 0, 0), NONE, "EUR/m2 USD/ft2",             \
      "any currency code")                                                                                   \
    X(EFI_KIND_MONEY_PER_POWER, "money per power", (0, 0, 1, -1, 1, 0, 0), NONE, "EUR/kW USD/kW",            \
      "any currency code")                                                                                   \
    X(EFI_KIND_MONEY_PER_MASS_TIME, "money per mass and time", (-1, 0, -1, 0, 1, 0, 0), BY_WEIGHT,           \
      "EUR/t/d USD/short_ton/d USD/bu/d EUR/t/h", "any currency code")

typedef enum efi_kind {
#define EFI_KIND_ENUM(name, words, exponents, bushel, units, also) name,
    EFI_KIND_LIST(EFI_KIND_ENUM)
#undef EFI_KIND_ENUM
    EFI_KIND_LIMIT /* how many there are */
} efi_kind;

/* A set of kinds: EFI_KIND_SET(EFI_KIND_MASS_RATE) | EFI_KIND_SET(EFI_KIND_VOLUME_RATE). */
typedef uint32_t efi_kinds;
#define EFI_KIND_SET(kind) ((efi_kinds)1 << (kind))

/* All of these are valid for ever and may be called by any thread. */
const char *efi_kind_words(efi_kind kind); /* "a mass rate" */
efi_dimension efi_kind_dimension(efi_kind kind);
efi_bushel efi_kind_bushel(efi_kind kind);
const char *
efi_kind_units(efi_kind kind); /* names between blanks; the first is the likely one; "" for a count */

/* Adds the words for a set: "a mass rate or a volume rate". */
void efi_kinds_add_words(efi_text *text, efi_kinds kinds);

/*
 * Adds what fits a set, for the "allowed" of a message: "t/h, kg/h, lb/h, short_ton/h, bu/h with a trade
 * weight, m3/h, ..."; a unit that fits two kinds of the set stands once.
 */
void efi_kinds_add_units(efi_text *text, efi_kinds kinds);

#endif
