/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/quantity.h"
#include "base/quantity_read.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const struct {
    const char *name;
    const char *words;
} faults[] = {
#define ROW(name, stable, words) [name] = {stable, words},
    EFI_QUANTITY_FAULT_LIST(ROW)
#undef ROW
};

const char *efi_quantity_fault_name(efi_quantity_fault fault)
{
    return faults[fault].name;
}

const char *efi_quantity_fault_words(efi_quantity_fault fault)
{
    return faults[fault].words;
}

/* ---- bushels ------------------------------------------------------------------------------------------- */

/* `value` times factor^exponent. */
static double scale(double value, double factor, int exponent)
{
    for (int i = 0; i < exponent; i++)
        value *= factor;
    for (int i = 0; i > exponent; i--)
        value /= factor;
    return value;
}

bool efi_quantity_needs_trade_weight(const efi_quantity *quantity)
{
    return quantity->dimension.bushel != 0 && quantity->kind < EFI_KIND_LIMIT &&
           efi_kind_bushel(quantity->kind) == EFI_BUSHEL_BY_WEIGHT;
}

efi_quantity efi_quantity_weigh(efi_quantity quantity, double tonnes_per_bushel)
{
    assert(tonnes_per_bushel > 0.0);
    const int8_t bushels = quantity.dimension.bushel;
    quantity.value = scale(quantity.value, tonnes_per_bushel, bushels);
    quantity.dimension.mass = (int8_t)(quantity.dimension.mass + bushels);
    quantity.dimension.bushel = 0;
    return quantity;
}

efi_quantity efi_quantity_fill(efi_quantity quantity)
{
    const int8_t bushels = quantity.dimension.bushel;
    quantity.value = scale(quantity.value, EFI_BUSHEL_M3, bushels);
    quantity.dimension.length = (int8_t)(quantity.dimension.length + 3 * bushels);
    quantity.dimension.bushel = 0;
    return quantity;
}

/* ---- what is wanted ------------------------------------------------------------------------------------ */

/* The first kind of the set that the quantity is, with bushels taken as `bushel`; EFI_KIND_LIMIT when none
 * is. */
static efi_kind kind_match(efi_kinds kinds, const efi_quantity *quantity, efi_bushel bushel)
{
    efi_dimension dimension = quantity->dimension;
    switch (bushel) {
    case EFI_BUSHEL_NONE:
        break;
    case EFI_BUSHEL_BY_WEIGHT:
        dimension.mass = (int8_t)(dimension.mass + dimension.bushel);
        dimension.bushel = 0;
        break;
    case EFI_BUSHEL_BY_VOLUME:
        dimension = efi_quantity_fill(*quantity).dimension;
        break;
    }
    for (efi_kind kind = 0; kind < EFI_KIND_LIMIT; kind++)
        if ((kinds & EFI_KIND_SET(kind)) && (bushel == EFI_BUSHEL_NONE || efi_kind_bushel(kind) == bushel) &&
            efi_dimension_equal(dimension, efi_kind_dimension(kind)))
            return kind;
    return EFI_KIND_LIMIT;
}

/* A bare number where a share is wanted. */
static bool share_check(efi_scan *s, const efi_reading *r)
{
    if (r->number < 1.0)
        return true;
    if (r->number > 1.0)
        efi_scan_refuse(s, EFI_QUANTITY_SHARE_ABOVE_ONE, r->number_start, r->number_end);
    else
        efi_scan_refuse(s, EFI_QUANTITY_SHARE_AMBIGUOUS, r->number_start, r->number_end);
    if (r->number > 1.0)
        efi_scan_propose(s, r->number_end, r->number_end, " %", 2);
    else
        s->error.offered = "1 %, 100 %";
    return false;
}

/* A number without unit, or a fraction: takes it for a count or a share, or says which unit is missing. */
static bool bare_match(efi_scan *s, const efi_reading *r, efi_kinds kinds, efi_quantity *quantity)
{
    const bool share = (kinds & EFI_KIND_SET(EFI_KIND_SHARE)) != 0;
    const bool count = (kinds & EFI_KIND_SET(EFI_KIND_COUNT)) != 0;
    if (r->form == EFI_READING_BARE && count) {
        quantity->kind = EFI_KIND_COUNT;
        return true;
    }
    if (share) {
        quantity->kind = EFI_KIND_SHARE;
        return r->form == EFI_READING_FRACTION || share_check(s, r);
    }
    if (kinds == EFI_KIND_SET(EFI_KIND_COUNT))
        return efi_scan_refuse(s, EFI_QUANTITY_NUMBER_BAD, r->number_start, r->number_end);
    efi_scan_refuse(s, EFI_QUANTITY_UNIT_MISSING, r->number_start, r->number_end);
    for (efi_kind kind = 0; kind < EFI_KIND_LIMIT; kind++) {
        const char *units = efi_kind_units(kind);
        if (!(kinds & EFI_KIND_SET(kind)) || !*units)
            continue;
        char likely[32];
        const int length = snprintf(likely, sizeof likely, " %.*s", (int)strcspn(units, " "), units);
        efi_scan_propose(s, r->number_end, r->number_end, likely, (size_t)length);
        break;
    }
    return false;
}

/* Is one of the two the other with something after it from a "/" on? "t" and "t/h" */
static bool begins_same(const char *a, size_t a_length, const char *b, size_t b_length)
{
    const size_t least = a_length < b_length ? a_length : b_length;
    if (a_length == b_length || memcmp(a, b, least) != 0)
        return false;
    return (a_length > least ? a[least] : b[least]) == '/';
}

/* The unit is none of those wanted: proposes the first wanted one that begins alike, t/h for t. */
static bool unfit_refuse(efi_scan *s, const efi_reading *r, efi_kinds kinds)
{
    if (kinds == EFI_KIND_SET(EFI_KIND_COUNT)) {
        efi_scan_refuse(s, EFI_QUANTITY_UNIT_UNWANTED, r->unit_start, s->length);
        efi_scan_propose(s, r->number_end, s->length, "", 0);
        return false;
    }
    efi_scan_refuse(s, EFI_QUANTITY_UNIT_UNFIT, r->unit_start, r->unit_end);
    const char *written = r->unit_name ? r->unit_name : s->text + r->unit_start;
    const size_t length = r->unit_name ? strlen(r->unit_name) : r->unit_end - r->unit_start;
    for (efi_kind kind = 0; kind < EFI_KIND_LIMIT && !s->mendable; kind++) {
        if (!(kinds & EFI_KIND_SET(kind)))
            continue;
        for (const char *unit = efi_kind_units(kind); *unit; unit += strspn(unit, " ")) {
            const size_t unit_length = strcspn(unit, " ");
            if (!s->mendable && begins_same(unit, unit_length, written, length))
                efi_scan_propose(s, r->unit_start, r->unit_end, unit, unit_length);
            unit += unit_length;
        }
    }
    return false;
}

/* Gives the quantity the kind of the set that it is, bushels by volume converted. */
static bool kinds_match(efi_scan *s, const efi_reading *r, efi_kinds kinds, efi_quantity *quantity)
{
    if (r->form != EFI_READING_WITH_UNIT)
        return bare_match(s, r, kinds, quantity);
    /* A number with a unit is no count, though "%" has the same dimension. */
    const efi_kinds measured = kinds & ~EFI_KIND_SET(EFI_KIND_COUNT);
    efi_kind kind = kind_match(measured, quantity, EFI_BUSHEL_NONE);
    if (kind == EFI_KIND_LIMIT && quantity->dimension.bushel != 0)
        kind = kind_match(measured, quantity, EFI_BUSHEL_BY_WEIGHT);
    if (kind == EFI_KIND_LIMIT && quantity->dimension.bushel != 0) {
        kind = kind_match(measured, quantity, EFI_BUSHEL_BY_VOLUME);
        if (kind != EFI_KIND_LIMIT)
            *quantity = efi_quantity_fill(*quantity);
    }
    if (kind == EFI_KIND_LIMIT)
        return unfit_refuse(s, r, kinds);
    quantity->kind = kind;
    return true;
}

/* Reads and matches a text once; what is likely is left to the caller. `kinds` 0: anything. */
static bool parse_once(efi_scan *s, efi_kinds kinds, efi_quantity *quantity)
{
    efi_reading r;
    efi_quantity found = {.kind = EFI_KIND_LIMIT};
    if (!efi_reading_read(s, &r)) {
        /* Where no unit is wanted it does not matter what is wrong with it. */
        if (r.form == EFI_READING_WITH_UNIT && kinds == EFI_KIND_SET(EFI_KIND_COUNT))
            (void)unfit_refuse(s, &r, kinds);
        return false;
    }
    if (!efi_reading_convert(r.number, &r.unit, &found.value))
        return efi_scan_refuse(s, EFI_QUANTITY_NUMBER_RANGE, r.number_start, r.number_end);
    found.dimension = r.unit.dimension;
    memcpy(found.currency, r.unit.currency, sizeof found.currency);
    if (kinds && !kinds_match(s, &r, kinds, &found))
        return false;
    *quantity = found;
    return true;
}

/* ---- the likely text ----------------------------------------------------------------------------------- */

/* `text` of the scan with its mend applied, in `out`; false when it does not fit. */
static bool mend_apply(const efi_scan *s, char out[EFI_QUANTITY_LIKELY_ROOM])
{
    const size_t begin = efi_scan_blanks_skip(s, 0);
    const size_t before = s->mend_start - begin;
    const size_t middle = strlen(s->replacement);
    const size_t after = s->length - s->mend_end;
    if (before + middle + after >= EFI_QUANTITY_LIKELY_ROOM)
        return false;
    memcpy(out, s->text + begin, before);
    memcpy(out + before, s->replacement, middle);
    memcpy(out + before + middle, s->text + s->mend_end, after);
    size_t length = before + middle + after;
    while (length > 0 && out[length - 1] == ' ')
        length--;
    out[length] = '\0';
    return true;
}

/* Mends the text of a failed scan, again where the mended one has another fault, until it parses or no idea
 * is left. */
static void likely_find(const efi_scan *failed, efi_kinds kinds, char likely[EFI_QUANTITY_LIKELY_ROOM])
{
    enum {
        MOST_MENDS = 4
    };
    char texts[2][EFI_QUANTITY_LIKELY_ROOM];
    efi_scan s = *failed;
    for (int mend = 0; mend < MOST_MENDS && s.mendable; mend++) {
        char *text = texts[mend % 2];
        efi_quantity ignored;
        if (!mend_apply(&s, text))
            return;
        s = efi_scan_begin(text, strlen(text));
        if (parse_once(&s, kinds, &ignored)) {
            memcpy(likely, text, strlen(text) + 1);
            return;
        }
    }
}

static bool parse(const char *text, size_t length, efi_kinds kinds, efi_quantity *quantity,
                  efi_quantity_error *error)
{
    efi_scan s = efi_scan_begin(text, length);
    if (parse_once(&s, kinds, quantity))
        return true;
    if (error) {
        *error = s.error;
        likely_find(&s, kinds, error->likely);
    }
    return false;
}

bool efi_quantity_parse(const char *text, size_t length, efi_kinds kinds, efi_quantity *quantity,
                        efi_quantity_error *error)
{
    assert(kinds != 0);
    return parse(text, length, kinds, quantity, error);
}

bool efi_quantity_parse_any(const char *text, size_t length, efi_quantity *quantity,
                            efi_quantity_error *error)
{
    return parse(text, length, 0, quantity, error);
}

void efi_quantity_add_exact(efi_text *text, const efi_quantity *quantity)
{
    efi_text unit = {0};
    efi_dimension_add(&unit, quantity->dimension);
    efi_number_add_exact(text, quantity->value);
    if (unit.length > 0)
        efi_text_addf(text, " %s", unit.bytes);
    text->failed = text->failed || unit.failed;
    efi_text_free(&unit);
}
