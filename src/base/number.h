/* SPDX-License-Identifier: GPL-3.0-or-later
 * Numbers as people write them, to double and back; correctly rounded and the same under every locale. */
#ifndef EFI_NUMBER_H
#define EFI_NUMBER_H

#include "base/text.h"

/* fault, stable name, words that follow the quoted text */
#define EFI_NUMBER_FAULT_LIST(X)                                                                             \
    X(EFI_NUMBER_MISSING, "number-missing", "does not start with a number")                                  \
    X(EFI_NUMBER_BAD, "number-bad", "is not written as a number")                                            \
    X(EFI_NUMBER_DECIMAL_COMMA, "number-decimal-comma", "has a decimal comma; write a point")                \
    X(EFI_NUMBER_GROUPED, "number-grouped", "has its digits in groups; write them without a break")          \
    X(EFI_NUMBER_BASE, "number-base", "is not a decimal number")                                             \
    X(EFI_NUMBER_NOT_FINITE, "number-not-finite", "is not a finite number")                                  \
    X(EFI_NUMBER_RANGE, "number-range", "is too large, too small or too long a number")

typedef enum efi_number_fault {
    EFI_NUMBER_FINE,
#define EFI_NUMBER_ENUM(name, stable, words) name,
    EFI_NUMBER_FAULT_LIST(EFI_NUMBER_ENUM)
#undef EFI_NUMBER_ENUM
} efi_number_fault;

enum {
    EFI_NUMBER_ROOM = 128
};

/* What efi_number_parse found at the start of a text. */
typedef struct efi_number {
    efi_number_fault fault;
    size_t used;                  /* bytes of the number, or of what stands in its place */
    double value;                 /* when fault is EFI_NUMBER_FINE, else 0 */
    char likely[EFI_NUMBER_ROOM]; /* after a fault: the number most likely meant, "" when there is no telling
                                   */
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

/* Adds the shortest such form, from 15 digits, that efi_number_parse reads back as the very same double. */
void efi_number_add_exact(efi_text *text, double value);

/*
 * How many decimals show `magnitude` with `digits` significant digits, and smaller numbers beside it to the
 * same step: 0 .. 12; 0 when the whole number already has as many; digits - 1 for 0 and what is not finite.
 */
int efi_number_decimals(double magnitude, int digits);

#endif
