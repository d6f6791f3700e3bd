/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/unit.h"

#include <string.h>

/* ---- the table ----------------------------------------------------------------------------------------- */

#define UNIT(n, d, ...)                                                                                      \
    {                                                                                                        \
        n, d, {__VA_ARGS__}, ""                                                                              \
    }
#define MASS     1, 0, 0, 0, 0, 0, 0
#define LENGTH   0, 1, 0, 0, 0, 0, 0
#define VOLUME   0, 3, 0, 0, 0, 0, 0
#define TIME     0, 0, 1, 0, 0, 0, 0
#define PER_TIME 0, 0, -1, 0, 0, 0, 0
#define ENERGY   0, 0, 0, 1, 0, 0, 0
#define POWER    0, 0, -1, 1, 0, 0, 0
#define MONEY    0, 0, 0, 0, 1, 0, 0
#define ANGLE    0, 0, 0, 0, 0, 1, 0
#define BUSHEL   0, 0, 0, 0, 0, 0, 1
#define NUMBER   0, 0, 0, 0, 0, 0, 0

/*
 * One unit is numerator / denominator base units (t, m, h, kWh, deg, bu). Every factor is exact by
 * definition; all numerators and denominators are whole numbers below 2^53 and so exact as doubles, but for
 * those of hp and rad, which are rounded to nearest.
 *
 * SI      BIPM, The International System of Units (SI Brochure), 9th edition, 2019; table 8 for t, min, h, d,
 * l, deg. HB44    NIST Handbook 44, appendix C, General Tables of Units of Measurement. SP811   NIST Special
 * Publication 811 (2008), appendix B.8.
 */
static const efi_unit_row rows[] = {
    {"t", UNIT(1, 1, MASS), "SI: 1 t = 1000 kg"},
    {"kg", UNIT(1, 1000, MASS), "SI"},
    {"g", UNIT(1, 1e6, MASS), "SI"},
    {"q", UNIT(1, 10, MASS), "HB44: 1 (metric) quintal = 100 kg"},
    {"lb", UNIT(45359237, 1e11, MASS), "HB44: 1 lb (avoirdupois) = 0.45359237 kg exactly, agreed 1959"},
    {"oz", UNIT(45359237, 16e11, MASS), "HB44: 1 oz (avoirdupois) = 1/16 lb"},
    {"cwt", UNIT(45359237, 1e9, MASS), "HB44: 1 cwt (short) = 100 lb"},
    {"short_ton", UNIT(20 * 45359237.0, 1e9, MASS), "HB44: 1 short ton = 2000 lb"},
    {"long_ton", UNIT(224 * 45359237.0, 1e10, MASS), "HB44: 1 long ton = 2240 lb"},
    {"m", UNIT(1, 1, LENGTH), "SI"},
    {"cm", UNIT(1, 100, LENGTH), "SI"},
    {"mm", UNIT(1, 1000, LENGTH), "SI"},
    {"ft", UNIT(3048, 1e4, LENGTH), "HB44: 1 ft = 0.3048 m exactly, agreed 1959"},
    {"in", UNIT(254, 1e4, LENGTH), "HB44: 1 in = 2.54 cm exactly"},
    {"l", UNIT(1, 1000, VOLUME), "SI: 1 l = 1 dm3"},
    {"ml", UNIT(1, 1e6, VOLUME), "SI: 1/1000 l"},
    {"hl", UNIT(1, 10, VOLUME), "SI: 100 l"},
    {"bu", UNIT(1, 1, BUSHEL), "HB44: 1 US bushel = 2150.42 in3 exactly; kept as a unit of its own"},
    {"h", UNIT(1, 1, TIME), "SI: 1 h = 3600 s"},
    {"min", UNIT(1, 60, TIME), "SI: 1 min = 60 s"},
    {"s", UNIT(1, 3600, TIME), "SI"},
    {"d", UNIT(24, 1, TIME), "SI: 1 d = 24 h"},
    {"rpm", UNIT(60, 1, PER_TIME), "SP811: revolutions per minute, the revolution counted as a number"},
    {"kWh", UNIT(1, 1, ENERGY), "SP811: 1 kWh = 3.6 MJ"},
    {"MWh", UNIT(1000, 1, ENERGY), "SP811: 1000 kWh"},
    {"Wh", UNIT(1, 1000, ENERGY), "SP811: 1/1000 kWh"},
    {"MJ", UNIT(10, 36, ENERGY), "SP811: 3.6 MJ = 1 kWh"},
    {"kJ", UNIT(1, 3600, ENERGY), "SP811: 3600 kJ = 1 kWh"},
    {"kW", UNIT(1, 1, POWER), "SI: 1 kW = 1 kWh/h"},
    {"MW", UNIT(1000, 1, POWER), "SI: 1000 kW"},
    {"W", UNIT(1, 1000, POWER), "SI"},
    /* 550 x 0.3048 x 0.45359237 x 9.80665 W, with the standard gravity of the 3rd CGPM, 1901 */
    {"hp", UNIT(0.74569987158227022, 1, POWER), "SP811: 1 horsepower (mechanical) = 550 ft lbf/s"},
    {"deg", UNIT(1, 1, ANGLE), "SI: 1 deg = pi/180 rad"},
    {"rad", UNIT(180, EF_PI, ANGLE), "SI"},
    {"%", UNIT(1, 100, NUMBER), "SI, section 5.4.7: % stands for 0.01"},
    {"money", UNIT(1, 1, MONEY), "one unit of the scenario's currency; currencies are not converted"},
};

/* Other spellings people type. */
static const struct {
    const char *spelling;
    const char *name;
} aliases[] = {
    {"tonne", "t"},
    {"tonnes", "t"},
    {"metric_ton", "t"},
    {"metric_tons", "t"},
    {"kgs", "kg"},
    {"kilo", "kg"},
    {"kilos", "kg"},
    {"kilogram", "kg"},
    {"kilograms", "kg"},
    {"gram", "g"},
    {"grams", "g"},
    {"quintal", "q"},
    {"quintals", "q"},
    {"lbs", "lb"},
    {"pound", "lb"},
    {"pounds", "lb"},
    {"ounce", "oz"},
    {"ounces", "oz"},
    {"hundredweight", "cwt"},
    {"short_cwt", "cwt"},
    {"short_tons", "short_ton"},
    {"long_tons", "long_ton"},
    {"metre", "m"},
    {"metres", "m"},
    {"meter", "m"},
    {"meters", "m"},
    {"centimetre", "cm"},
    {"centimetres", "cm"},
    {"centimeter", "cm"},
    {"centimeters", "cm"},
    {"millimetre", "mm"},
    {"millimetres", "mm"},
    {"millimeter", "mm"},
    {"millimeters", "mm"},
    {"foot", "ft"},
    {"feet", "ft"},
    {"inch", "in"},
    {"inches", "in"},
    {"L", "l"},
    {"litre", "l"},
    {"litres", "l"},
    {"liter", "l"},
    {"liters", "l"},
    {"mL", "ml"},
    {"hL", "hl"},
    {"hectolitre", "hl"},
    {"hectolitres", "hl"},
    {"hectoliter", "hl"},
    {"hectoliters", "hl"},
    {"bushel", "bu"},
    {"bushels", "bu"},
    {"hr", "h"},
    {"hrs", "h"},
    {"hour", "h"},
    {"hours", "h"},
    {"mins", "min"},
    {"minute", "min"},
    {"minutes", "min"},
    {"sec", "s"},
    {"secs", "s"},
    {"second", "s"},
    {"seconds", "s"},
    {"day", "d"},
    {"days", "d"},
    {"watt", "W"},
    {"watts", "W"},
    {"kilowatt", "kW"},
    {"kilowatts", "kW"},
    {"horsepower", "hp"},
    {"°", "deg"},
    {"degree", "deg"},
    {"degrees", "deg"},
    {"radian", "rad"},
    {"radians", "rad"},
    {"percent", "%"},
};

/* Names that are no unit of ours: what they most likely stand for, or the several things they can mean. */
static const struct {
    const char *name; /* in any case */
    const char *means;
    const char *offered;
} guesses[] = {
    {"ton", NULL, "t, short_ton, long_ton"},
    {"tons", NULL, "t, short_ton, long_ton"},
    {"$", NULL, "USD, CAD, AUD or another currency code"},
    {"€", "EUR", NULL},
    {"£", "GBP", NULL},
    {"mt", "t", NULL},
    {"tph", "t/h", NULL},
    {"kgh", "kg/h", NULL},
    {"kph", "kg/h", NULL},
    {"bph", "bu/h", NULL},
    {"pph", "lb/h", NULL},
    {"cfh", "ft3/h", NULL},
    {"cfm", "ft3/min", NULL},
    {"cmh", "m3/h", NULL},
    {"fpm", "ft/min", NULL},
    {"mps", "m/s", NULL},
    {"cbm", "m3", NULL},
    {"cum", "m3", NULL},
    {"cf", "ft3", NULL},
    {"cuft", "ft3", NULL},
    {"sqft", "ft2", NULL},
    {"sqm", "m2", NULL},
    {"pcf", "lb/ft3", NULL},
    {"ppb", "lb/bu", NULL},
    {"º", "deg", NULL},
};

/* Alphabetic codes of ISO 4217 of currencies one pays in: no funds, metals or test codes. */
static const char currencies[] =
    "AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BHD BIF BMD BND BOB BRL BSD BTN BWP BYN BZD CAD "
    "CDF CHF CLP CNY COP CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GNF GTQ "
    "GYD HKD HNL HTG HUF IDR ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR KMF KPW KRW KWD KYD KZT LAK LBP LKR "
    "LRD LSL LYD MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN "
    "PGK PHP PKR PLN PYG QAR RON RSD RUB RWF SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SYP SZL THB TJS "
    "TMT TND TOP TRY TTD TWD TZS UAH UGX USD UYU UZS VES VND VUV WST XAF XCD XOF XPF YER ZAR ZMW ";

int efi_unit_count(void)
{
    return (int)EF_COUNT(rows);
}

const efi_unit_row *efi_unit_at(int index)
{
    assert(index >= 0 && index < efi_unit_count());
    return &rows[index];
}

int efi_unit_alias_count(void)
{
    return (int)EF_COUNT(aliases);
}

const char *efi_unit_alias_at(int index, const char **name)
{
    assert(index >= 0 && index < efi_unit_alias_count());
    *name = aliases[index].name;
    return aliases[index].spelling;
}

/* ---- looking up ---------------------------------------------------------------------------------------- */

static bool same_bytes(const char *word, const char *name, size_t length)
{
    return strlen(word) == length && memcmp(word, name, length) == 0;
}

static const efi_unit_row *row_find(const char *name, size_t length)
{
    for (size_t i = 0; i < EF_COUNT(rows); i++)
        if (same_bytes(rows[i].name, name, length))
            return &rows[i];
    return NULL;
}

/* Is it a currency code? The table has one code every four bytes. */
static bool currency_find(const char *name, size_t length)
{
    if (length != 3)
        return false;
    for (size_t i = 0; i + 3 < sizeof currencies; i += 4)
        if (memcmp(currencies + i, name, 3) == 0)
            return true;
    return false;
}

bool efi_unit_find(const char *name, size_t length, efi_unit *unit, const char **row_name)
{
    const efi_unit_row *row = row_find(name, length);
    for (size_t i = 0; !row && i < EF_COUNT(aliases); i++)
        if (same_bytes(aliases[i].spelling, name, length))
            row = row_find(aliases[i].name, strlen(aliases[i].name));
    if (row) {
        *unit = row->unit;
        *row_name = row->name;
        return true;
    }
    if (!currency_find(name, length))
        return false;
    *unit = (efi_unit)UNIT(1, 1, MONEY);
    memcpy(unit->currency, name, length);
    *row_name = NULL;
    return true;
}

void efi_unit_guess(const char *name, size_t length, const char **nearest, const char **offered)
{
    enum {
        LONGEST_GUESS = 32
    };
    *nearest = NULL;
    *offered = NULL;
    char word[LONGEST_GUESS];
    if (length >= sizeof word || length == 0)
        return;
    memcpy(word, name, length);
    word[length] = '\0';
    for (size_t i = 0; i < EF_COUNT(guesses); i++)
        if (efi_text_same_word(word, guesses[i].name)) {
            *nearest = guesses[i].means;
            *offered = guesses[i].offered;
            return;
        }
    const char *words[EF_COUNT(rows) + EF_COUNT(aliases)];
    int count = 0;
    for (size_t i = 0; i < EF_COUNT(rows); i++)
        words[count++] = rows[i].name;
    for (size_t i = 0; i < EF_COUNT(aliases); i++)
        words[count++] = aliases[i].spelling;
    /* Of one or two letters every other short name is "near", so there only the case may differ. */
    for (int i = 0; i < count && !*nearest; i++)
        if (efi_text_same_word(word, words[i]))
            *nearest = words[i];
    if (!*nearest && length > 2)
        *nearest = efi_text_nearest(word, words, count);
}

/* ---- dimensions ---------------------------------------------------------------------------------------- */

bool efi_dimension_equal(efi_dimension a, efi_dimension b)
{
    return a.mass == b.mass && a.length == b.length && a.time == b.time && a.energy == b.energy &&
           a.money == b.money && a.angle == b.angle && a.bushel == b.bushel;
}

void efi_dimension_add(efi_text *text, efi_dimension dimension)
{
    const struct {
        const char *name;
        int exponent;
    } parts[] = {{"t", dimension.mass},     {"m", dimension.length},    {"h", dimension.time},
                 {"kWh", dimension.energy}, {"money", dimension.money}, {"deg", dimension.angle},
                 {"bu", dimension.bushel}};
    bool first = true;
    bool divides = false;
    for (size_t i = 0; i < EF_COUNT(parts); i++) {
        if (parts[i].exponent < 0)
            divides = true;
        if (parts[i].exponent <= 0)
            continue;
        efi_text_addf(text, "%s%s", first ? "" : ".", parts[i].name);
        if (parts[i].exponent > 1)
            efi_text_addf(text, "^%d", parts[i].exponent);
        first = false;
    }
    if (first && divides)
        efi_text_add(text, "1");
    for (size_t i = 0; i < EF_COUNT(parts); i++) {
        if (parts[i].exponent >= 0)
            continue;
        efi_text_addf(text, "/%s", parts[i].name);
        if (parts[i].exponent < -1)
            efi_text_addf(text, "^%d", -parts[i].exponent);
    }
}
