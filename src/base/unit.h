/* SPDX-License-Identifier: GPL-3.0-or-later
 * The units evenfeed knows: names, dimension, exact factor and its authority. */
#ifndef EFI_UNIT_H
#define EFI_UNIT_H

#include "base/text.h"

#include <stdbool.h>
#include <stdint.h>

/*
 * Exponents of the base units t, m, h, kWh, money, deg and bu. Volume is length^3, power energy/time. A
 * bushel is a base unit of its own: what it comes to depends on the field (quantity.h). Shares and counts
 * have all zero.
 */
typedef struct efi_dimension {
    int8_t mass;   /* t */
    int8_t length; /* m */
    int8_t time;   /* h */
    int8_t energy; /* kWh */
    int8_t money;  /* one unit of whatever currency */
    int8_t angle;  /* deg */
    int8_t bushel; /* bu */
} efi_dimension;

bool efi_dimension_equal(efi_dimension a, efi_dimension b);

/* Adds the base unit of a dimension as efi_quantity_parse reads it: "t/h", "1/h", "m^3"; nothing when all
 * zero. */
void efi_dimension_add(efi_text *text, efi_dimension dimension);

/*
 * A unit: one of it is numerator / denominator base units. Both are kept because most factors are ratios of
 * whole numbers, so that 9 kg becomes the double nearest to 0.009 t, not 9 times a rounded 0.001.
 */
typedef struct efi_unit {
    double numerator;
    double denominator;
    efi_dimension dimension;
    char currency[4]; /* ISO 4217 code when one was named, else "" */
} efi_unit;

/* A row of the table, for listing and for tests. */
typedef struct efi_unit_row {
    const char *name; /* as we print it */
    efi_unit unit;
    const char *authority; /* where the factor comes from */
} efi_unit_row;

/* Number of rows, and the row of an index from 0 to that number - 1. Any thread. */
int efi_unit_count(void);
const efi_unit_row *efi_unit_at(int index);

/* Number of other spellings; the spelling of an index, with the name of its row in `name`. Any thread. */
int efi_unit_alias_count(void);
const char *efi_unit_alias_at(int index, const char **name);

/*
 * The unit of this exact name, other spelling or currency code (`length` bytes at `name`); `*row_name`
 * becomes the name we print, valid for ever, NULL for a currency code. False, both outputs unchanged, when
 * there is none.
 */
bool efi_unit_find(const char *name, size_t length, efi_unit *unit, const char **row_name);

/*
 * For a name that efi_unit_find does not know. A name that means several units gives their list in `*offered`
 * ("t, short_ton, long_ton"), one that is near a known name or a common abbreviation gives that in
 * `*nearest`; each is NULL where it does not apply. The texts are valid for ever.
 */
void efi_unit_guess(const char *name, size_t length, const char **nearest, const char **offered);

#endif
