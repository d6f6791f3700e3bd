/* SPDX-License-Identifier: GPL-3.0-or-later
 * Quantity to text: the unit in which people read a kind of quantity, and digits that make sense. */
#ifndef EFI_DISPLAY_H
#define EFI_DISPLAY_H

#include "base/quantity.h"

#include <evenfeed/units.h>

/*
 * How a column of quantities of one kind is printed: all in one unit, with the same decimals. Make it with
 * efi_display_choose or efi_display_in; a plain value, copied freely, read by any thread.
 */
typedef struct efi_display {
    efi_unit unit;  /* numerator / denominator base units; a bushel by weight is already turned into tonnes */
    char name[24];  /* "t/h", "%", "EUR/t" */
    bool closed_up; /* the unit follows the number without a blank: 45°, 30/h */
    int decimals;
} efi_display;

/*
 * The display of a column of `kind` whose largest magnitude is `largest` (base units: t/h, m3, h, share 0..1
 * ...; 0 when all are 0 or unknown): a unit of the system that suits that magnitude, and decimals that give
 * the largest three significant digits, or its whole number when that has more (money: two decimals, none
 * from 1000). `tonnes_per_bushel` is the crop's trade weight, t; 0 when there is none: then nothing that
 * needs one is shown in bushels. `currency` names the money ("EUR"); NULL or "" for a kind without money, or
 * where none was named: "money".
 */
efi_display efi_display_choose(efi_kind kind, ef_units units, double largest, double tonnes_per_bushel,
                               const char *currency);

/*
 * The same in a unit of the caller's choice, such as "bu/h" or "ft3". False, `*display` unchanged, when it is
 * no unit, does not fit the kind, or needs a trade weight that is 0.
 */
bool efi_display_in(efi_kind kind, const char *unit, double largest, double tonnes_per_bushel,
                    efi_display *display);

/* `value` (base units) in the unit of the display, unrounded: for machine-readable columns. */
double efi_display_value(const efi_display *display, double value);

/* Adds the number alone, "9.24"; not finite: "n/a". */
void efi_display_add_number(efi_text *text, const efi_display *display, double value);

/* Adds number and unit, "9.24 t/h", "45°"; not finite: "n/a". */
void efi_display_add(efi_text *text, const efi_display *display, double value);

/* Adds one quantity, chosen for itself: efi_display_choose with its own magnitude, then efi_display_add. */
void efi_display_add_alone(efi_text *text, efi_kind kind, ef_units units, double value,
                           double tonnes_per_bushel, const char *currency);

/*
 * Adds a duration in hours the way people say it: "1 h 25 min", "8 h", "50 min", "2.5 min", "40 s". To the
 * nearest minute; under 10 minutes to a tenth, under one to the second. Not finite: "n/a".
 */
void efi_display_add_duration(efi_text *text, double hours);

#endif
