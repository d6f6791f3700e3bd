/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/quantity_read.h"

#include "base/letter.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- the scan ------------------------------------------------------------------------------------------ */

enum {
    LARGEST_EXPONENT = 9
};

bool efi_scan_refuse(efi_scan *s, efi_quantity_fault fault, size_t start, size_t end)
{
    s->error = (efi_quantity_error){.fault = fault, .start = start, .end = end};
    s->mendable = false;
    return false;
}

/* After refuse: the text would likely be right with bytes start .. end-1 replaced by `length` bytes. */
void efi_scan_propose(efi_scan *s, size_t start, size_t end, const char *bytes, size_t length)
{
    if (length >= sizeof s->replacement)
        return;
    memcpy(s->replacement, bytes, length);
    s->replacement[length] = '\0';
    s->mend_start = start;
    s->mend_end = end;
    s->mendable = true;
}

static bool is_high(char c)
{
    return ((unsigned char)c & 0x80u) != 0;
}

static bool at_bytes(const efi_scan *s, size_t at, const char *bytes)
{
    const size_t count = strlen(bytes);
    return at <= s->length && count <= s->length - at && memcmp(s->text + at, bytes, count) == 0;
}

/* The byte at a place, NUL after the end. */
static char byte_at(const efi_scan *s, size_t at)
{
    if (at >= s->length)
        return '\0';
    return s->text[at];
}

/* Bytes of the blank at a place, also of those of typeset text (no-break, thin); 0 when there is none. */
static size_t blank_at(const efi_scan *s, size_t at)
{
    static const char *const blanks[] = {" ", "\t", "\xC2\xA0", "\xE2\x80\xAF", "\xE2\x80\x89"};
    const char c = byte_at(s, at);
    if (c != ' ' && c != '\t' && !is_high(c))
        return 0;
    for (size_t i = 0; i < EF_COUNT(blanks); i++)
        if (at_bytes(s, at, blanks[i]))
            return strlen(blanks[i]);
    return 0;
}

/* The place after any blanks. */
size_t efi_scan_blanks_skip(const efi_scan *s, size_t at)
{
    for (size_t bytes = blank_at(s, at); bytes; bytes = blank_at(s, at))
        at += bytes;
    return at;
}

efi_scan efi_scan_begin(const char *text, size_t length)
{
    efi_scan s = {.text = text, .length = length};
    s.at = efi_scan_blanks_skip(&s, 0);
    size_t end = s.at; /* after the last byte that is no blank */
    for (size_t at = s.at; at < length;) {
        const size_t bytes = blank_at(&s, at);
        at += bytes ? bytes : 1;
        if (!bytes)
            end = at;
    }
    s.length = end;
    return s;
}

/* ---- numbers ------------------------------------------------------------------------------------------- */

static efi_quantity_fault fault_of(efi_number_fault fault)
{
    switch (fault) {
    case EFI_NUMBER_MISSING:
        return EFI_QUANTITY_NUMBER_MISSING;
    case EFI_NUMBER_DECIMAL_COMMA:
        return EFI_QUANTITY_DECIMAL_COMMA;
    case EFI_NUMBER_GROUPED:
        return EFI_QUANTITY_NUMBER_GROUPED;
    case EFI_NUMBER_BASE:
        return EFI_QUANTITY_NUMBER_BASE;
    case EFI_NUMBER_NOT_FINITE:
        return EFI_QUANTITY_NUMBER_NOT_FINITE;
    case EFI_NUMBER_RANGE:
        return EFI_QUANTITY_NUMBER_RANGE;
    case EFI_NUMBER_BAD:
    case EFI_NUMBER_FINE:
        break;
    }
    return EFI_QUANTITY_NUMBER_BAD;
}

/* Reads the number at the scan's place and moves past it. */
static bool number_read(efi_scan *s, double *value)
{
    const efi_number number = efi_number_parse(s->text + s->at, s->length - s->at);
    const size_t end = s->at + number.used;
    if (number.fault != EFI_NUMBER_FINE) {
        efi_scan_refuse(s, fault_of(number.fault), s->at,
                        number.fault == EFI_NUMBER_MISSING ? s->length : end);
        if (number.likely[0])
            efi_scan_propose(s, s->at, end, number.likely, strlen(number.likely));
        return false;
    }
    *value = number.value;
    s->at = end;
    return true;
}

/* ---- units --------------------------------------------------------------------------------------------- */

/* Does a character of more than one byte that is no part of a name stand here: a sign, an exponent, a blank?
 */
static bool sign_at(const efi_scan *s, size_t at)
{
    static const char *const signs[] = {"·", "²", "³", "−"};
    for (size_t i = 0; i < EF_COUNT(signs); i++)
        if (at_bytes(s, at, signs[i]))
            return true;
    return blank_at(s, at) > 0;
}

/* The place after the word at `at`: letters and underscores, or a run of other characters that is no sign. */
static size_t word_end(const efi_scan *s, size_t at)
{
    size_t end = at;
    while (efi_is_letter(byte_at(s, end)) || byte_at(s, end) == '_' ||
           (is_high(byte_at(s, end)) && !sign_at(s, end)))
        end++;
    if (end == at && (byte_at(s, at) == '%' || byte_at(s, at) == '$'))
        end++;
    return end;
}

/* A unit of two words joined by one blank or hyphen, "short tons": its end, or 0 when there is none. */
static size_t two_words_find(const efi_scan *s, size_t at, size_t first_end, efi_unit *unit,
                             const char **name)
{
    const size_t gap = byte_at(s, first_end) == '-' ? 1 : blank_at(s, first_end);
    const size_t second = first_end + gap;
    const size_t end = word_end(s, second);
    char joined[32];
    const size_t first_length = first_end - at;
    const size_t second_length = end - second;
    if (gap == 0 || second_length == 0 || first_length + 1 + second_length > sizeof joined)
        return 0;
    memcpy(joined, s->text + at, first_length);
    joined[first_length] = '_';
    memcpy(joined + first_length + 1, s->text + second, second_length);
    return efi_unit_find(joined, first_length + 1 + second_length, unit, name) ? end : 0;
}

/* Reads the name of a unit and moves past it. */
static bool name_read(efi_scan *s, efi_unit *unit, const char **name)
{
    const size_t start = s->at;
    const size_t end = word_end(s, start);
    if (end == start)
        return efi_scan_refuse(s, EFI_QUANTITY_UNIT_BROKEN, start, start < s->length ? start + 1 : start);
    const size_t two = two_words_find(s, start, end, unit, name);
    if (two) {
        s->at = two;
        return true;
    }
    if (efi_unit_find(s->text + start, end - start, unit, name)) {
        s->at = end;
        return true;
    }
    const char *nearest = NULL;
    const char *offered = NULL;
    efi_unit_guess(s->text + start, end - start, &nearest, &offered);
    efi_scan_refuse(s, offered ? EFI_QUANTITY_UNIT_AMBIGUOUS : EFI_QUANTITY_UNIT_UNKNOWN, start, end);
    s->error.nearest = nearest;
    s->error.offered = offered;
    if (nearest)
        efi_scan_propose(s, start, end, nearest, strlen(nearest));
    return false;
}

static bool is_length(const efi_unit *unit)
{
    return efi_dimension_equal(unit->dimension, (efi_dimension){.length = 1});
}

/* Reads "square", "sq", "cubic" or "cu" before a name and moves past it: 2 or 3; 0 when there is none. */
static int power_word_read(efi_scan *s)
{
    static const struct {
        const char *word;
        int power;
    } words[] = {{"square", 2}, {"sq", 2}, {"cubic", 3}, {"cu", 3}};
    for (size_t i = 0; i < EF_COUNT(words); i++) {
        const size_t end = s->at + strlen(words[i].word);
        if (at_bytes(s, s->at, words[i].word) && blank_at(s, end)) {
            s->at = efi_scan_blanks_skip(s, end);
            return words[i].power;
        }
    }
    return 0;
}

/* Reads the exponent after a name, if any, and moves past it: ^2, ^-1, ², and after a length a bare 2. */
static bool exponent_read(efi_scan *s, const efi_unit *unit, int *exponent)
{
    *exponent = 1;
    if (at_bytes(s, s->at, "²") || at_bytes(s, s->at, "³")) {
        *exponent = at_bytes(s, s->at, "²") ? 2 : 3;
        s->at += strlen("²");
        return true;
    }
    const bool raised = byte_at(s, s->at) == '^';
    const bool negative = raised && byte_at(s, s->at + 1) == '-';
    const size_t digit = s->at + raised + negative;
    const char next = byte_at(s, digit + 1);
    const bool one_digit = efi_is_digit(byte_at(s, digit)) && !efi_is_digit(next);
    if (raised && !one_digit)
        return efi_scan_refuse(s, EFI_QUANTITY_UNIT_BROKEN, s->at, digit < s->length ? digit + 1 : digit);
    /* "5ft6in" and "5ft6.5in" are sums: a bare digit is an exponent only where no number goes on. */
    const bool goes_on = efi_is_letter(next) || (next == '.' && efi_is_digit(byte_at(s, digit + 2)));
    if (!raised && !(one_digit && is_length(unit) && !goes_on))
        return true;
    *exponent = byte_at(s, digit) - '0';
    if (negative)
        *exponent = -*exponent;
    s->at = digit + 1;
    return true;
}

/* Adds `times` the exponent to `*sum`; false when that leaves what a dimension can hold. */
static bool exponent_add(int8_t *sum, int8_t exponent, int times)
{
    const int result = *sum + exponent * times;
    if (result < -LARGEST_EXPONENT || result > LARGEST_EXPONENT)
        return false;
    *sum = (int8_t)result;
    return true;
}

/* Multiplies `*product` by unit^times; false when an exponent or a factor leaves its range. */
static bool unit_multiply(efi_unit *product, const efi_unit *unit, int times)
{
    efi_dimension *sum = &product->dimension;
    const efi_dimension *part = &unit->dimension;
    if (!exponent_add(&sum->mass, part->mass, times) || !exponent_add(&sum->length, part->length, times) ||
        !exponent_add(&sum->time, part->time, times) || !exponent_add(&sum->energy, part->energy, times) ||
        !exponent_add(&sum->money, part->money, times) || !exponent_add(&sum->angle, part->angle, times) ||
        !exponent_add(&sum->bushel, part->bushel, times))
        return false;
    for (int i = 0; i < times; i++) {
        product->numerator *= unit->numerator;
        product->denominator *= unit->denominator;
    }
    for (int i = 0; i > times; i--) {
        product->numerator *= unit->denominator;
        product->denominator *= unit->numerator;
    }
    return isnormal(product->numerator) && isnormal(product->denominator);
}

/* Does the word "per" stand here? */
static bool per_at(const efi_scan *s, size_t at)
{
    return at_bytes(s, at, "per") && blank_at(s, at + 3);
}

/* Reads a sign between factors with the blanks around it and moves past it: '/', '*', or NUL when there is
 * none. */
static char sign_read(efi_scan *s)
{
    const size_t sign = efi_scan_blanks_skip(s, s->at);
    size_t end = sign;
    char result = '\0';
    if (byte_at(s, sign) == '/' || byte_at(s, sign) == '*') {
        result = byte_at(s, sign);
        end = sign + 1;
    } else if (byte_at(s, sign) == '.' || at_bytes(s, sign, "·")) {
        result = '*';
        end = sign + (byte_at(s, sign) == '.' ? 1 : strlen("·"));
    } else if (per_at(s, sign)) {
        result = '/';
        end = sign + 3;
    }
    if (result)
        s->at = efi_scan_blanks_skip(s, end);
    return result;
}

/* Multiplies `*product` by the factor at the scan's place (divides after '/') and moves past it. */
static bool factor_read(efi_scan *s, char sign, efi_unit *product, const char **name)
{
    const size_t start = s->at;
    efi_unit unit;
    int exponent = power_word_read(s);
    if (!name_read(s, &unit, name))
        return false;
    if (exponent != 0 && !is_length(&unit))
        return efi_scan_refuse(s, EFI_QUANTITY_UNIT_BROKEN, start, s->at);
    if (exponent == 0 && !exponent_read(s, &unit, &exponent))
        return false;
    if (exponent != 1)
        *name = NULL;
    if (unit.currency[0] && product->currency[0] && strcmp(unit.currency, product->currency) != 0)
        return efi_scan_refuse(s, EFI_QUANTITY_CURRENCY_MIXED, start, s->at);
    if (unit.currency[0])
        memcpy(product->currency, unit.currency, sizeof product->currency);
    if (!unit_multiply(product, &unit, sign == '/' ? -exponent : exponent))
        return efi_scan_refuse(s, EFI_QUANTITY_UNIT_BROKEN, start, s->at);
    return true;
}

/* Reads the unit at the scan's place and moves past it; `*name` as in reading. */
static bool unit_read(efi_scan *s, efi_unit *product, const char **name)
{
    *product = (efi_unit){.numerator = 1.0, .denominator = 1.0};
    *name = NULL;
    char sign = '*';
    size_t sign_start = s->at;
    if (byte_at(s, s->at) == '1' && byte_at(s, efi_scan_blanks_skip(s, s->at + 1)) == '/')
        s->at++;
    if (byte_at(s, efi_scan_blanks_skip(s, s->at)) == '/' || per_at(s, s->at))
        sign = sign_read(s);
    const bool inverse = sign == '/';
    int factors = 0;
    for (; sign; factors++) {
        const size_t start = s->at;
        if (!factor_read(s, sign, product, name)) {
            /* The sign before a missing name is part of what is wrong: "t/", "t//h". */
            if (s->error.fault == EFI_QUANTITY_UNIT_BROKEN && s->error.start == start)
                s->error.start = sign_start;
            return false;
        }
        sign_start = efi_scan_blanks_skip(s, s->at);
        sign = sign_read(s);
    }
    if (factors > 1 || inverse)
        *name = NULL;
    if (product->dimension.money == 0)
        product->currency[0] = '\0';
    return true;
}

bool efi_unit_parse(const char *text, size_t length, efi_unit *unit)
{
    efi_scan s = {.text = text, .length = length};
    efi_unit found;
    const char *name;
    if (!unit_read(&s, &found, &name) || s.at != length)
        return false;
    *unit = found;
    return true;
}

/* ---- the whole text ------------------------------------------------------------------------------------ */

/* `number` of this unit in base units; false when that is neither a normal number nor zero. */
bool efi_reading_convert(double number, const efi_unit *unit, double *value)
{
    *value = number * unit->numerator / unit->denominator;
    return number == 0.0 || isnormal(*value);
}

/* Reads the rest of a fraction, "/8", if there is one, and moves past it. */
static bool fraction_read(efi_scan *s, efi_reading *r)
{
    const size_t sign = efi_scan_blanks_skip(s, s->at);
    const size_t start = efi_scan_blanks_skip(s, sign + 1);
    if (byte_at(s, sign) != '/' || !efi_is_digit(byte_at(s, start)))
        return true;
    double divisor = 0.0;
    s->at = start;
    if (!number_read(s, &divisor))
        return false;
    const double quotient = divisor != 0.0 ? r->number / divisor : 0.0;
    if (divisor == 0.0 || !(r->number == 0.0 || isnormal(quotient)))
        return efi_scan_refuse(s, EFI_QUANTITY_NUMBER_RANGE, start, s->at);
    r->form = EFI_READING_FRACTION;
    r->number = quotient;
    r->number_end = s->at;
    return true;
}

/* "1:30" is a duration to many; says so when that is what stands at the number of `r`. */
static bool clock_refuse(efi_scan *s, const efi_reading *r)
{
    const size_t minutes = s->at + 1;
    const bool clock = byte_at(s, s->at) == ':' && efi_is_digit(byte_at(s, minutes)) &&
                       efi_is_digit(byte_at(s, minutes + 1)) && minutes + 2 == s->length;
    if (!clock)
        return efi_scan_refuse(s, EFI_QUANTITY_TEXT_TRAILING, efi_scan_blanks_skip(s, s->at), s->length);
    efi_scan_refuse(s, EFI_QUANTITY_NUMBER_BAD, r->number_start, s->length);
    char likely[32];
    const size_t hours = s->at - r->number_start;
    const int length = snprintf(likely, sizeof likely, "%.*s h %.2s min", (int)(hours < 9 ? hours : 9),
                                s->text + r->number_start, s->text + minutes);
    efi_scan_propose(s, r->number_start, s->length, likely, (size_t)length);
    return false;
}

/* Does a unit start here, whether we know it or not? */
static bool unit_begins(const efi_scan *s, size_t at)
{
    const char c = byte_at(s, at);
    return efi_is_letter(c) || is_high(c) || c == '%' || c == '$' || c == '/' || c == '_' ||
           (c == '1' && byte_at(s, efi_scan_blanks_skip(s, at + 1)) == '/');
}

/* Reads the further parts of a sum, " 30 min", and adds them; each has a smaller unit than the one before. */
static bool sum_read(efi_scan *s, efi_reading *r)
{
    efi_unit last = r->unit;
    double sum = 0.0;
    if (!efi_reading_convert(r->number, &r->unit, &sum))
        return efi_scan_refuse(s, EFI_QUANTITY_NUMBER_RANGE, r->number_start, r->unit_end);
    const bool negative = s->text[r->number_start] == '-';
    bool more = false;
    for (size_t start = efi_scan_blanks_skip(s, s->at); efi_is_digit(byte_at(s, start));
         start = efi_scan_blanks_skip(s, s->at)) {
        double number = 0.0;
        double value = 0.0;
        efi_unit unit;
        const char *name;
        s->at = start;
        if (!number_read(s, &number))
            return false;
        const size_t unit_start = efi_scan_blanks_skip(s, s->at);
        if (!unit_begins(s, unit_start)) {
            efi_scan_refuse(s, EFI_QUANTITY_UNIT_MISSING, start, s->at);
            if (unit_start == s->length && r->unit_name && strcmp(r->unit_name, "h") == 0)
                efi_scan_propose(s, s->at, s->at, " min", strlen(" min"));
            return false;
        }
        s->at = unit_start;
        if (!unit_read(s, &unit, &name))
            return false;
        const bool smaller = unit.numerator / unit.denominator < last.numerator / last.denominator;
        if (!efi_dimension_equal(unit.dimension, last.dimension) || !smaller ||
            strcmp(unit.currency, last.currency) != 0)
            return efi_scan_refuse(s, EFI_QUANTITY_SUM_ORDER, start, s->at);
        if (!efi_reading_convert(number, &unit, &value))
            return efi_scan_refuse(s, EFI_QUANTITY_NUMBER_RANGE, start, s->at);
        sum += negative ? -value : value;
        last = unit;
        more = true;
    }
    if (more) {
        r->number = sum;
        r->unit.numerator = r->unit.denominator = 1.0;
    }
    return true;
}

/* A text that starts with its currency, "EUR 12/t": the number is missing in front; proposes "12 EUR/t". */
static bool currency_first_refuse(efi_scan *s)
{
    efi_unit unit;
    const char *name;
    const size_t start = s->at;
    size_t end = start;
    while (efi_is_letter(byte_at(s, end)) || is_high(byte_at(s, end)) || byte_at(s, end) == '$')
        end++;
    const char *code = s->text + start;
    size_t code_length = end - start;
    const char *offered = NULL;
    efi_scan_refuse(s, EFI_QUANTITY_NUMBER_MISSING, start, s->length);
    if (code_length && !efi_unit_find(code, code_length, &unit, &name)) {
        efi_unit_guess(code, code_length, &code, &offered);
        code_length = code ? strlen(code) : 0;
        s->error.offered = offered;
    }
    const size_t number_start = efi_scan_blanks_skip(s, end);
    const efi_number number = efi_number_parse(s->text + number_start, s->length - number_start);
    const size_t number_end = number_start + number.used;
    if (code_length == 0 || number.fault == EFI_NUMBER_MISSING || code_length > 8 ||
        !efi_unit_find(code, code_length, &unit, &name))
        return false;
    char likely[EFI_SCAN_REPLACEMENT_ROOM];
    const int length = snprintf(
        likely, sizeof likely, "%.*s %.*s%.*s", (int)(number.used < 64 ? number.used : 64),
        s->text + number_start, (int)code_length, code,
        (int)(s->length - number_end < 32 ? s->length - number_end : 32), s->text + number_end);
    efi_scan_propose(s, start, s->length, likely, (size_t)length);
    return false;
}

/* Reads the whole text. */
bool efi_reading_read(efi_scan *s, efi_reading *r)
{
    memset(r, 0, sizeof *r);
    r->unit.numerator = r->unit.denominator = 1.0;
    r->number_start = s->at;
    if (!number_read(s, &r->number))
        return s->error.fault == EFI_QUANTITY_NUMBER_MISSING ? currency_first_refuse(s) : false;
    r->number_end = s->at;
    if (!fraction_read(s, r))
        return false;
    const size_t next = efi_scan_blanks_skip(s, s->at);
    if (next == s->length)
        return true;
    if (r->form == EFI_READING_FRACTION || !unit_begins(s, next))
        return clock_refuse(s, r);
    r->form = EFI_READING_WITH_UNIT;
    r->unit_start = s->at = next;
    if (!unit_read(s, &r->unit, &r->unit_name))
        return false;
    r->unit_end = s->at;
    if (!sum_read(s, r))
        return false;
    s->at = efi_scan_blanks_skip(s, s->at);
    if (s->at < s->length) {
        efi_scan_refuse(s, EFI_QUANTITY_TEXT_TRAILING, s->at, s->length);
        efi_scan_propose(s, s->at, s->length, "", 0);
        return false;
    }
    return true;
}
