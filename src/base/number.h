/* SPDX-License-Identifier: GPL-3.0-or-later
 * Numbers as people write them, to double and back; correctly rounded and the same under every locale. */
#ifndef EFI_NUMBER_H
#define EFI_NUMBER_H

#include "base/text.h"

/* What can be wrong with a number; the words for it are in quantity.h. */
typedef enum efi_number_fault {
    EFI_NUMBER_FINE,
    EFI_NUMBER_MISSING,       /* does not start with a digit, a sign or a point */
    EFI_NUMBER_BAD,           /* not written as one */
    EFI_NUMBER_DECIMAL_COMMA, /* 1,5 */
    EFI_NUMBER_GROUPED,       /* 1,000 or 1 000 or 1_000 */
    EFI_NUMBER_BASE,          /* 0x1F */
    EFI_NUMBER_NOT_FINITE,    /* inf, nan */
    EFI_NUMBER_RANGE          /* no normal double, or more than 100 digits */
} efi_number_fault;

enum {
    EFI_NUMBER_ROOM = 128
};

/* What efi_number_parse found at the start of a text. */
typedef struct efi_number {
    efi_number_fault fault;
    size_t used;                  /* bytes of the number, or of what stands in its place */
    double value;                 /* when fault is EFI_NUMBER_FINE, else 0 */
    char likely[EFI_NUMBER_ROOM]; /* after a fault: the number likely meant, or "" */
} efi_number;

/*
 * Reads the number at the start of `text` (`length` bytes, no blanks before it):
 * [+-] (digits [. digits] | . digits) [(e|E) [+-] digits], at most 100 digits. What follows it is left alone,
 * except that a break between groups of three digits (comma, point, blank, apostrophe, underscore) is seen
 * and refused. Rounded to the nearest double. Any thread, any locale.
 */
efi_number efi_number_parse(const char *text, size_t length);

/*
 * Adds `value` with `decimals` (0 .. 20) digits after the point, never "-0", never an exponent. Not finite:
 * "n/a".
 */
void efi_number_add_fixed(efi_text *text, double value, int decimals);

/*
 * Adds `value` rounded to `digits` (1 .. 17) significant digits, without closing zeros, never "-0"; with an
 * exponent only under 1e-6 or from 1e15. With 12 digits this is the form for JSON. Not finite: "n/a", which
 * is not JSON, so ask before.
 */
void efi_number_add_significant(efi_text *text, double value, int digits);

/* The two for people: with the decimal mark of the calling thread's language (tongue.h). */
void efi_number_say_fixed(efi_text *text, double value, int decimals);
void efi_number_say_significant(efi_text *text, double value, int digits);

/* Adds the shortest such form, from 15 digits, that efi_number_parse reads back as the very same double. */
void efi_number_add_exact(efi_text *text, double value);

/*
 * How many decimals show `magnitude` with `digits` significant digits, and smaller numbers beside it to the
 * same step: 0 .. 6; 0 when the whole number already has as many, when even six would show only zeros, and
 * for what is not finite.
 */
int efi_number_decimals(double magnitude, int digits);

#endif
