/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/display.h"
#include "base/tongue.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
    SHOWN_DIGITS = 3,
    MONEY_DECIMALS = 2
};

/* Below this in base units (1 mg, 1 mm3, 4 us) a result is what rounding left of 0: no reason for a small
 * unit. */
static const double DUST = 1e-9;

/* Half a unit in the last of three digits: 999.6 kg is 1.00 t. */
static const double ROUNDS_UP = 1.0005;

/*
 * Which unit for which magnitude: the first row of a kind and a system whose `below` exceeds the largest
 * magnitude of the column. `below` is in base units; the last row of each takes all. Rows in bushels apply
 * only where a trade weight is known. "$" stands for the currency. The choice of units is common practice in
 * the trade.
 */
typedef struct choice {
    efi_kind kind;
    ef_units units;
    double below;
    const char *unit;
} choice;

#define SHORT_TON 0.90718474 /* t, as in unit.c */
#define FOOT      0.3048     /* m */
#define METRIC(kind, below, unit)                                                                            \
    {                                                                                                        \
        EFI_KIND_##kind, EF_UNITS_METRIC, below, unit                                                        \
    }
#define US(kind, below, unit)                                                                                \
    {                                                                                                        \
        EFI_KIND_##kind, EF_UNITS_US, below, unit                                                            \
    }
#define BOTH(kind, below, unit) METRIC(kind, below, unit), US(kind, below, unit)

static const choice choices[] = {
    METRIC(MASS, 1.0, "kg"),
    METRIC(MASS, INFINITY, "t"),
    US(MASS, INFINITY, "bu"),
    US(MASS, 10.0 * SHORT_TON, "lb"),
    US(MASS, INFINITY, "short_ton"),
    METRIC(MASS_RATE, 1.0, "kg/h"),
    METRIC(MASS_RATE, INFINITY, "t/h"),
    US(MASS_RATE, INFINITY, "bu/h"),
    US(MASS_RATE, 10.0 * SHORT_TON, "lb/h"),
    US(MASS_RATE, INFINITY, "short_ton/h"),
    METRIC(ENERGY_PER_MASS, INFINITY, "kWh/t"),
    US(ENERGY_PER_MASS, INFINITY, "kWh/bu"),
    US(ENERGY_PER_MASS, INFINITY, "kWh/short_ton"),
    METRIC(MONEY_PER_MASS, INFINITY, "$/t"),
    US(MONEY_PER_MASS, INFINITY, "$/bu"),
    US(MONEY_PER_MASS, INFINITY, "$/short_ton"),
    METRIC(VOLUME_PER_MASS, 1.0, "l/t"),
    METRIC(VOLUME_PER_MASS, INFINITY, "m3/t"),
    US(VOLUME_PER_MASS, INFINITY, "ft3/short_ton"),
    METRIC(TRADE_WEIGHT, INFINITY, "kg/bu"),
    US(TRADE_WEIGHT, INFINITY, "lb/bu"),
    METRIC(DENSITY, INFINITY, "t/m3"),
    US(DENSITY, INFINITY, "lb/bu"),
    METRIC(VOLUME, 0.1, "l"),
    METRIC(VOLUME, INFINITY, "m3"),
    US(VOLUME, INFINITY, "ft3"),
    METRIC(VOLUME_RATE, INFINITY, "m3/h"),
    US(VOLUME_RATE, INFINITY, "ft3/h"),
    METRIC(MONEY_PER_VOLUME, INFINITY, "$/m3"),
    US(MONEY_PER_VOLUME, INFINITY, "$/ft3"),
    BOTH(DURATION, 1.0 / 60.0, "s"),
    BOTH(DURATION, 1.0, "min"),
    BOTH(DURATION, INFINITY, "h"),
    BOTH(SHARE, INFINITY, "%"),
    BOTH(COUNT, INFINITY, ""),
    BOTH(ANGLE, INFINITY, "°"),
    METRIC(LENGTH, 1.0, "mm"),
    METRIC(LENGTH, INFINITY, "m"),
    US(LENGTH, FOOT, "in"),
    US(LENGTH, INFINITY, "ft"),
    METRIC(AREA, 0.1, "cm2"),
    METRIC(AREA, INFINITY, "m2"),
    US(AREA, FOOT *FOOT, "in2"),
    US(AREA, INFINITY, "ft2"),
    METRIC(VELOCITY, INFINITY, "m/s"),
    US(VELOCITY, INFINITY, "ft/min"),
    BOTH(ROTATION, INFINITY, "rpm"),
    BOTH(PER_TIME, 1.0, "/d"),
    BOTH(PER_TIME, INFINITY, "/h"),
    BOTH(ENERGY, INFINITY, "kWh"),
    METRIC(POWER, INFINITY, "kW"),
    US(POWER, INFINITY, "hp"),
    BOTH(MONEY, INFINITY, "$"),
    BOTH(MONEY_PER_ENERGY, INFINITY, "$/kWh"),
    BOTH(MONEY_PER_TIME, INFINITY, "$/h"),
    METRIC(MONEY_PER_AREA, INFINITY, "$/m2"),
    US(MONEY_PER_AREA, INFINITY, "$/ft2"),
    BOTH(MONEY_PER_POWER, INFINITY, "$/kW"),
    METRIC(MONEY_PER_MASS_TIME, INFINITY, "$/t/d"),
    US(MONEY_PER_MASS_TIME, INFINITY, "$/bu/d"),
    US(MONEY_PER_MASS_TIME, INFINITY, "$/short_ton/d"),
};

/* Turns a unit with bushels into one of the kind's own dimension; false when that does not work out. */
static bool bushels_settle(efi_kind kind, efi_unit *unit, double tonnes_per_bushel)
{
    const efi_dimension wanted = efi_kind_dimension(kind);
    if (efi_dimension_equal(unit->dimension, wanted))
        return true;
    /* Numerator and denominator stay apart, so that only the bushel itself can round. */
    efi_quantity bushels = {.value = 1.0, .dimension = unit->dimension, .kind = kind};
    const efi_bushel bushel = efi_kind_bushel(kind);
    if (bushel == EFI_BUSHEL_NONE || (bushel == EFI_BUSHEL_BY_WEIGHT && !(tonnes_per_bushel > 0.0)))
        return false;
    bushels = bushel == EFI_BUSHEL_BY_WEIGHT ? efi_quantity_weigh(bushels, tonnes_per_bushel)
                                             : efi_quantity_fill(bushels);
    if (!efi_dimension_equal(bushels.dimension, wanted))
        return false;
    unit->numerator *= bushels.value;
    unit->dimension = wanted;
    return true;
}

/* Decimals for a column whose largest value, as shown, is `largest`. */
static int decimals_for(efi_kind kind, double largest)
{
    if (kind == EFI_KIND_MONEY)
        return fabs(largest) < 999.995 ? MONEY_DECIMALS : 0;
    if (kind == EFI_KIND_COUNT && largest == floor(largest))
        return 0;
    const int decimals = efi_number_decimals(largest, SHOWN_DIGITS);
    if (efi_kind_dimension(kind).money > 0 && decimals < MONEY_DECIMALS && fabs(largest) < 999.995)
        return MONEY_DECIMALS;
    return decimals;
}

/* As efi_display_in, the unit being shown as `name`. */
static bool display_make(efi_kind kind, const char *unit, const char *name, double largest,
                         double tonnes_per_bushel, efi_display *display)
{
    efi_display made = {.unit = {.numerator = 1.0, .denominator = 1.0}};
    const size_t length = strlen(unit);
    if (strlen(name) >= sizeof made.name || (length == 0) != (kind == EFI_KIND_COUNT))
        return false;
    if (length > 0 && !efi_unit_parse(unit, length, &made.unit))
        return false;
    if (!bushels_settle(kind, &made.unit, tonnes_per_bushel))
        return false;
    memcpy(made.name, name, strlen(name) + 1);
    made.closed_up = name[0] == '/' || strcmp(name, "°") == 0;
    made.decimals = decimals_for(kind, efi_display_value(&made, largest));
    *display = made;
    return true;
}

bool efi_display_in(efi_kind kind, const char *unit, double largest, double tonnes_per_bushel,
                    efi_display *display)
{
    return display_make(kind, unit, unit, largest, tonnes_per_bushel, display);
}

efi_display efi_display_choose(efi_kind kind, ef_units units, double largest, double tonnes_per_bushel,
                               const char *currency)
{
    efi_display display = {.unit = {.numerator = 1.0, .denominator = 1.0}};
    /* as it is shown: what rounds up to the next unit is in that unit */
    const double magnitude = isfinite(largest) && fabs(largest) >= DUST ? fabs(largest) * ROUNDS_UP
                                                                        : HUGE_VAL;
    const char *money = currency && currency[0] ? currency : "money";
    for (size_t i = 0; i < EF_COUNT(choices); i++) {
        const choice *row = &choices[i];
        if (row->kind != kind || row->units != units || !(magnitude < row->below || row->below == HUGE_VAL))
            continue;
        char unit[sizeof display.name];
        char name[sizeof display.name];
        const bool in_money = row->unit[0] == '$';
        (void)snprintf(unit, sizeof unit, "%s%s", in_money ? "money" : "", row->unit + in_money);
        (void)snprintf(name, sizeof name, "%.8s%s", in_money ? money : "", row->unit + in_money);
        if (display_make(kind, unit, name, largest, tonnes_per_bushel, &display))
            return display;
    }
    (void)EF_NEVER(true); /* each kind and system has a row that takes all */
    return display;
}

double efi_display_value(const efi_display *display, double value)
{
    return value * display->unit.denominator / display->unit.numerator;
}

void efi_display_add_number(efi_text *text, const efi_display *display, double value)
{
    efi_number_say_fixed(text, efi_display_value(display, value), display->decimals);
}

void efi_display_add(efi_text *text, const efi_display *display, double value)
{
    efi_display_add_number(text, display, value);
    if (isfinite(value) && display->name[0])
        efi_text_addf(text, "%s%s", display->closed_up ? "" : " ", display->name);
}

void efi_display_add_alone(efi_text *text, efi_kind kind, ef_units units, double value,
                           double tonnes_per_bushel, const char *currency)
{
    const efi_display display = efi_display_choose(kind, units, value, tonnes_per_bushel, currency);
    efi_display_add(text, &display, value);
}

void efi_display_add_duration(efi_text *text, double hours)
{
    if (!isfinite(hours)) {
        efi_text_add(text, efi_tr("n/a"));
        return;
    }
    const double length = fabs(hours);
    const double seconds = round(length * 3600.0);
    const double tenths = round(length * 600.0); /* of a minute */
    const double minutes = round(length * 60.0);
    if (hours < 0.0 && seconds > 0.0)
        efi_text_add(text, "-");
    if (seconds < 60.0) {
        efi_number_say_fixed(text, seconds, 0);
        efi_text_add(text, " s"); /* the symbols of units are those of every language */
    } else if (tenths < 100.0) {
        efi_number_say_significant(text, tenths / 10.0, 2);
        efi_text_add(text, " min");
    } else {
        const double whole_hours = floor(minutes / 60.0);
        const double rest = minutes - 60.0 * whole_hours;
        if (whole_hours > 0.0) {
            efi_number_say_fixed(text, whole_hours, 0);
            efi_text_add(text, rest > 0.0 ? " h " : " h");
        }
        if (whole_hours == 0.0 || rest > 0.0) {
            efi_number_say_fixed(text, rest, 0);
            efi_text_add(text, " min");
        }
    }
}
