/* SPDX-License-Identifier: GPL-3.0-or-later
 * Text to quantity: "12 t/h", "1 h 30 min", "12 %", "60 lb/bu", in base units, or an error that says what is
 * wrong.
 *
 *   quantity = number [unit] | number "/" number | sum
 *   sum      = number unit (number unit)+              one dimension, from large units to small: 1 h 30 min
 *   unit     = ["1"] "/" factor rest | factor rest     "/" for 1/h
 *   rest     = (("/" | "per" | "." | "*" | "·") factor)*   what follows a "/" divides, that one factor only
 *   factor   = name ["^" ["-"] digit | digit | "²" | "³"]  a bare digit only after a length: m3, ft2
 *            | ("square" | "sq" | "cubic" | "cu") name     cu ft
 *
 * with optional blanks between the parts. Names are those of unit.h, in their exact case. */
#ifndef EFI_QUANTITY_H
#define EFI_QUANTITY_H

#include "base/kind.h"
#include "base/number.h"

/* fault, stable name, words that follow the quoted culprit */
#define EFI_QUANTITY_FAULT_LIST(X)                                                                           \
    X(EFI_QUANTITY_NUMBER_MISSING, "number-missing", "does not start with a number")                         \
    X(EFI_QUANTITY_NUMBER_BAD, "number-bad", "is not written as a number")                                   \
    X(EFI_QUANTITY_DECIMAL_COMMA, "number-decimal-comma", "has a decimal comma; write a point")              \
    X(EFI_QUANTITY_NUMBER_GROUPED, "number-grouped", "has its digits in groups; write them without a break") \
    X(EFI_QUANTITY_NUMBER_BASE, "number-base", "is not a decimal number")                                    \
    X(EFI_QUANTITY_NUMBER_NOT_FINITE, "number-not-finite", "is not a finite number")                         \
    X(EFI_QUANTITY_NUMBER_RANGE, "number-range", "is too large, too small or too long a number")             \
    X(EFI_QUANTITY_UNIT_MISSING, "unit-missing", "has no unit")                                              \
    X(EFI_QUANTITY_UNIT_UNKNOWN, "unit-unknown", "is not a known unit")                                      \
    X(EFI_QUANTITY_UNIT_AMBIGUOUS, "unit-ambiguous", "can mean several units")                               \
    X(EFI_QUANTITY_UNIT_BROKEN, "unit-broken", "is not written as a unit")                                   \
    X(EFI_QUANTITY_UNIT_UNFIT, "unit-unfit", "measures something else than is wanted here")                  \
    X(EFI_QUANTITY_UNIT_UNWANTED, "unit-unwanted", "is out of place: a number without unit is wanted")       \
    X(EFI_QUANTITY_CURRENCY_MIXED, "currency-mixed", "names two currencies")                                 \
    X(EFI_QUANTITY_SHARE_ABOVE_ONE, "share-above-one", "is above 1 for a share without %")                   \
    X(EFI_QUANTITY_SHARE_AMBIGUOUS, "share-ambiguous", "can mean 1 % or all of it")                          \
    X(EFI_QUANTITY_SUM_ORDER, "sum-order", "does not add to what stands before it")                          \
    X(EFI_QUANTITY_TEXT_TRAILING, "text-trailing", "does not belong to the quantity")

typedef enum efi_quantity_fault {
#define EFI_QUANTITY_ENUM(name, stable, words) name,
    EFI_QUANTITY_FAULT_LIST(EFI_QUANTITY_ENUM)
#undef EFI_QUANTITY_ENUM
    EFI_QUANTITY_FAULT_LIMIT
} efi_quantity_fault;

/* The stable name ("unit-missing") and the words ("has no unit") of a fault; valid for ever. */
const char *efi_quantity_fault_name(efi_quantity_fault fault);
const char *efi_quantity_fault_words(efi_quantity_fault fault);

enum {
    EFI_QUANTITY_LIKELY_ROOM = 96
};

/* What is wrong with a text. All of it is valid for ever, `likely` as long as the struct. */
typedef struct efi_quantity_error {
    efi_quantity_fault fault;
    size_t start,
        end; /* the culprit: bytes start .. end-1 of the text; start == end where something is missing */
    const char *nearest; /* the known unit nearest to an unknown one, or NULL */
    const char *offered; /* the readings of an ambiguous one, "t, short_ton, long_ton", or NULL */
    char likely[EFI_QUANTITY_LIKELY_ROOM]; /* the whole text as it was likely meant; it does parse; "" if
                                              unknown */
} efi_quantity_error;

/* A quantity: `value` in the base unit of its dimension (t, m, h, kWh, money, deg, bu and their products). */
typedef struct efi_quantity {
    double value;
    efi_dimension dimension;
    efi_kind kind;    /* the kind of the set it was taken for */
    char currency[4]; /* the code that was written, or "" */
} efi_quantity;

/*
 * Reads `length` bytes of `text` (not NULL; need not end with NUL) as a quantity of one of `kinds` (not
 * empty).
 *
 * A share is "12 %", "1/8", or a bare number below 1; a bare 1 and what is above are refused. A count is a
 * bare number, not necessarily whole. Bushels: for kinds by volume they are converted here (one is 2150.42
 * in3) and the result has the kind's dimension. For kinds by weight they are kept:
 * efi_quantity_needs_trade_weight is then true, and efi_quantity_weigh finishes the job once the crop is
 * known. Where a set holds both, by weight wins. Signs and sizes are the caller's to check. On success
 * `*quantity` is filled and `*error` left alone, on failure the reverse. `error` may be NULL. No allocation.
 * Any thread, any locale.
 */
bool efi_quantity_parse(const char *text, size_t length, efi_kinds kinds, efi_quantity *quantity,
                        efi_quantity_error *error);

/*
 * Reads any number with any unit or none, whatever it measures; a bare number, a fraction and a percentage
 * have dimension zero. `quantity->kind` is EFI_KIND_LIMIT, bushels are kept. Otherwise as efi_quantity_parse.
 */
bool efi_quantity_parse_any(const char *text, size_t length, efi_quantity *quantity,
                            efi_quantity_error *error);

/* Reads a unit alone, "t/h" or "1/h", without blanks around it. False, `*unit` unchanged, when it is none. */
bool efi_unit_parse(const char *text, size_t length, efi_unit *unit);

/* Is this a mass, or something per or of a mass, given in bushels, so that it needs a trade weight? */
bool efi_quantity_needs_trade_weight(const efi_quantity *quantity);

/* The same with `tonnes_per_bushel` (t, > 0) for each bushel: 1000 bu/h at 60 lb is 27.2155422 t/h. */
efi_quantity efi_quantity_weigh(efi_quantity quantity, double tonnes_per_bushel);

/* The same with 2150.42 in3 for each bushel: 60 lb/bu is 0.7723116 t/m3. */
efi_quantity efi_quantity_fill(efi_quantity quantity);

/* 2150.42 in3 in m3: NIST Handbook 44, appendix C. */
#define EFI_BUSHEL_M3 0.03523907016688

/* Adds the quantity exactly, in base units, as efi_quantity_parse_any reads it back: "27.2155422 t/h". */
void efi_quantity_add_exact(efi_text *text, const efi_quantity *quantity);

#endif
