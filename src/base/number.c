/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/number.h"
#include "base/letter.h"
#include "base/tongue.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    MOST_DIGITS = 100,
    MOST_EXPONENT = 9999,
    MOST_DECIMALS = 6
};

/* Half a unit of the last of MOST_DECIMALS decimals. */
static const double LEAST_SHOWN = 0.5e-6;

/* ---- what breaks digits into groups -------------------------------------------------------------------- */

/* Breaks that people put between digits; the blanks are space, no-break, narrow no-break and thin space. */
static const struct {
    const char *bytes;
    size_t length;
    char role; /* ',' and '.' may be decimal signs; ' ' only counts before three digits; '_' never is one */
} breaks[] = {
    {",", 1, ','},
    {".", 1, '.'},
    {" ", 1, ' '},
    {"\xC2\xA0", 2, ' '},
    {"_", 1, '_'},
    {"\xE2\x80\xAF", 3, ' '},
    {"'", 1, '_'},
    {"\xE2\x80\x89", 3, ' '},
    {"\xE2\x80\x99", 3, '_'},
};

/* Length of the break at `text`, 0 when there is none; its role goes to `*role`. */
static size_t break_at(const char *text, size_t length, char *role)
{
    for (size_t i = 0; i < EF_COUNT(breaks); i++)
        if (breaks[i].length <= length && memcmp(text, breaks[i].bytes, breaks[i].length) == 0) {
            *role = breaks[i].role;
            return breaks[i].length;
        }
    return 0;
}

static size_t digits_at(const char *text, size_t length)
{
    size_t count = 0;
    while (count < length && efi_is_digit(text[count]))
        count++;
    return count;
}

/* ---- the digits and breaks before an exponent ---------------------------------------------------------- */

/* The run of digits and breaks at the start of a number, without its sign. */
typedef struct mantissa {
    size_t used;              /* bytes */
    char digits[MOST_DIGITS]; /* all digits in order */
    int digit_count;          /* may exceed MOST_DIGITS: then the rest was dropped */
    int last_group;           /* digits after the last break, or all when there is none */
    int first_group;          /* digits before the first break */
    int break_count;          /* breaks of any role */
    bool even_groups;         /* every group between the first and the last break has three digits */
    char last_role,
        other_roles; /* role of the last break; the one role of all before it, '?' when they differ */
} mantissa;

static void mantissa_add_digits(mantissa *run, const char *text, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (run->digit_count < MOST_DIGITS)
            run->digits[run->digit_count] = text[i];
        run->digit_count++;
    }
    run->last_group = (int)count;
    run->used += count;
}

static void mantissa_add_break(mantissa *run, size_t bytes, char role)
{
    if (run->break_count == 0)
        run->first_group = run->last_group;
    else if (run->last_group != 3)
        run->even_groups = false;
    if (run->break_count == 1)
        run->other_roles = run->last_role;
    else if (run->break_count > 1 && run->other_roles != run->last_role)
        run->other_roles = '?';
    run->last_role = role;
    run->break_count++;
    run->used += bytes;
}

/* Reads digits and breaks for as long as each break is followed by digits (a blank: by exactly three). */
static mantissa mantissa_read(const char *text, size_t length)
{
    mantissa run = {.even_groups = true};
    mantissa_add_digits(&run, text, digits_at(text, length));
    for (;;) {
        char role = 0;
        const size_t bytes = break_at(text + run.used, length - run.used, &role);
        if (bytes == 0)
            break;
        const size_t count = digits_at(text + run.used + bytes, length - run.used - bytes);
        if (count == 0 || (role == ' ' && (count != 3 || run.last_group == 0)))
            break;
        mantissa_add_break(&run, bytes, role);
        mantissa_add_digits(&run, text + run.used, count);
    }
    if (run.break_count == 0)
        run.first_group = run.last_group;
    return run;
}

/* Are all breaks but the last of one role, between groups of three? */
static bool groups_fine(const mantissa *run)
{
    return run->other_roles != '?' && run->even_groups && run->first_group >= 1 && run->first_group <= 3;
}

/*
 * What the breaks of a run mean; `*decimals` becomes the number of its closing digits that are decimals as it
 * was likely meant, -1 when there is no telling.
 */
static efi_number_fault mantissa_judge(const mantissa *run, int *decimals)
{
    *decimals = run->break_count ? run->last_group : 0;
    if (run->break_count == 0 || (run->break_count == 1 && run->last_role == '.'))
        return EFI_NUMBER_FINE;
    const bool three = run->last_group == 3 && run->first_group >= 1 && run->first_group <= 3;
    if (run->break_count == 1) {
        if (run->last_role == ',' && !(three && run->digits[0] != '0'))
            return EFI_NUMBER_DECIMAL_COMMA;
        *decimals = 0; /* 1,000 or 1_0 */
        return EFI_NUMBER_GROUPED;
    }
    if (run->other_roles == run->last_role) {
        *decimals = groups_fine(run) && three ? 0 : -1; /* 1,000,000 */
        if (run->last_role == '_')
            *decimals = 0;
        return *decimals == 0 ? EFI_NUMBER_GROUPED : EFI_NUMBER_BAD;
    }
    if (!groups_fine(run) || (run->last_role != '.' && run->last_role != ',')) {
        *decimals = -1;
        return EFI_NUMBER_BAD;
    }
    return run->last_role == '.' ? EFI_NUMBER_GROUPED : EFI_NUMBER_DECIMAL_COMMA; /* 1,000.5; 1.000,5 */
}

/* ---- what is no decimal number ------------------------------------------------------------------------- */

/* Length of "inf", "infinity" or "nan" in any case, perhaps after a point; 0 when there is none. */
static size_t not_finite_at(const char *text, size_t length)
{
    static const char *const words[] = {"infinity", "inf", "nan"};
    const size_t start = length > 0 && text[0] == '.' ? 1 : 0;
    for (size_t i = 0; i < EF_COUNT(words); i++) {
        const size_t count = strlen(words[i]);
        if (count > length - start)
            continue;
        size_t same = 0;
        while (same < count && efi_lower(text[start + same]) == words[i][same])
            same++;
        const bool ends = start + count == length || !efi_is_letter(text[start + count]);
        if (same == count && ends)
            return start + count;
    }
    return 0;
}

/* Length of a number in another base, 0x1F, 0b101, 0o17; 0 when there is none. */
static size_t other_base_at(const char *text, size_t length)
{
    if (length < 3 || text[0] != '0')
        return 0;
    const char base = efi_lower(text[1]);
    const char first = efi_lower(text[2]);
    const bool hex = base == 'x' && (efi_is_digit(first) || (first >= 'a' && first <= 'f') || first == '.');
    if (!hex && !((base == 'b' || base == 'o') && efi_is_digit(first)))
        return 0;
    size_t used = 2;
    while (used < length && (efi_is_digit(text[used]) || efi_is_letter(text[used]) || text[used] == '.'))
        used++;
    return used;
}

/* Bytes of a minus sign (U+2212) or a dash (U+2013) at `text`, 0 when there is none. */
static size_t typeset_minus_at(const char *text, size_t length)
{
    if (length < 3)
        return 0;
    return memcmp(text, "\xE2\x88\x92", 3) == 0 || memcmp(text, "\xE2\x80\x93", 3) == 0 ? 3 : 0;
}

/* Bytes of an exponent, e+05, at `text`; its value, cut off at +-MOST_EXPONENT, goes to `*exponent`. */
static size_t exponent_at(const char *text, size_t length, int *exponent)
{
    *exponent = 0;
    if (length < 2 || efi_lower(text[0]) != 'e')
        return 0;
    size_t used = 1;
    const bool negative = text[used] == '-';
    if (text[used] == '-' || text[used] == '+')
        used++;
    const size_t count = digits_at(text + used, length - used);
    if (count == 0)
        return 0;
    for (size_t i = 0; i < count; i++)
        if (*exponent < MOST_EXPONENT)
            *exponent = *exponent * 10 + (text[used + i] - '0');
    if (*exponent > MOST_EXPONENT)
        *exponent = MOST_EXPONENT;
    if (negative)
        *exponent = -*exponent;
    return used + count;
}

/* ---- text to number ------------------------------------------------------------------------------------ */

/* sign digits times 10^exponent as the nearest double; false when that is no normal number, nor zero. */
static bool value_of(bool negative, const mantissa *run, int exponent, double *value)
{
    /* Without a decimal point the text means the same to strtod under every locale. */
    char text[MOST_DIGITS + 32];
    const int length = snprintf(text, sizeof text, "%s%.*se%d", negative ? "-" : "", run->digit_count,
                                run->digits, exponent);
    if (EF_NEVER(length < 0 || (size_t)length >= sizeof text))
        return false;
    bool zero = true;
    for (int i = 0; i < run->digit_count; i++)
        zero = zero && run->digits[i] == '0';
    const int before = errno;
    *value = zero ? 0.0 : strtod(text, NULL);
    errno = before;
    return zero || isnormal(*value);
}

/* Writes the number as it was likely meant: sign, digits with `decimals` of them after a point, exponent. */
static void likely_write(efi_number *number, bool negative, const mantissa *run, int decimals,
                         const char *exponent, size_t exponent_bytes)
{
    if (decimals < 0 || run->digit_count > MOST_DIGITS || exponent_bytes > 8)
        return;
    const int whole = run->digit_count - decimals;
    (void)snprintf(number->likely, sizeof number->likely, "%s%.*s%s%.*s%.*s", negative ? "-" : "",
                   whole > 0 ? whole : 1, whole > 0 ? run->digits : "0", decimals > 0 ? "." : "", decimals,
                   run->digits + whole, (int)exponent_bytes, exponent);
}

static efi_number refuse(efi_number_fault fault, size_t used)
{
    return (efi_number){.fault = fault, .used = used};
}

efi_number efi_number_parse(const char *text, size_t length)
{
    const size_t typeset = typeset_minus_at(text, length);
    const bool negative = typeset > 0 || (length > 0 && text[0] == '-');
    const size_t start = typeset ? typeset : negative || (length > 0 && text[0] == '+') ? 1 : 0;
    const char *rest = text + start;
    const size_t room = length - start;
    const size_t not_finite = not_finite_at(rest, room);
    if (not_finite)
        return refuse(EFI_NUMBER_NOT_FINITE, start + not_finite);
    const size_t other_base = other_base_at(rest, room);
    if (other_base)
        return refuse(EFI_NUMBER_BASE, start + other_base);

    const mantissa run = mantissa_read(rest, room);
    if (run.digit_count == 0)
        return refuse(start ? EFI_NUMBER_BAD : EFI_NUMBER_MISSING, start);
    int decimals = 0;
    int exponent = 0;
    efi_number number = {.fault = mantissa_judge(&run, &decimals)};
    number.used = start + run.used;
    const size_t exponent_bytes = exponent_at(text + number.used, length - number.used, &exponent);
    const char *exponent_text = text + number.used;
    number.used += exponent_bytes;
    const bool dangling = exponent_bytes == 0 && number.used < length && text[number.used] == '.';
    if (number.fault == EFI_NUMBER_FINE && (typeset || dangling)) {
        number.fault = EFI_NUMBER_BAD; /* a typeset minus, or nothing after the point */
        number.used += dangling;
    }
    if (number.fault != EFI_NUMBER_FINE) {
        likely_write(&number, negative, &run, decimals, exponent_text, exponent_bytes);
        return number;
    }
    if (run.digit_count > MOST_DIGITS || !value_of(negative, &run, exponent - decimals, &number.value)) {
        number.fault = EFI_NUMBER_RANGE;
        number.value = 0.0;
    }
    return number;
}

/* ---- number to text ------------------------------------------------------------------------------------ */

/* A double as d.ddd x 10^exponent: printed by the C library, whose decimal sign is dropped whatever it is. */
typedef struct decimal {
    bool negative;
    char digits[20]; /* the significant digits, without a point */
    int count;
    int exponent;
} decimal;

static decimal decimal_of(double value, int digits)
{
    char text[64];
    (void)snprintf(text, sizeof text, "%.*e", digits - 1, fabs(value));
    decimal result = {.negative = value < 0.0};
    const char *at = text;
    for (; *at && *at != 'e'; at++)
        if (efi_is_digit(*at) && result.count < (int)sizeof result.digits)
            result.digits[result.count++] = *at;
    if (*at == 'e')
        result.exponent = (int)strtol(at + 1, NULL, 10);
    return result;
}

void efi_number_add_fixed(efi_text *text, double value, int decimals)
{
    assert(decimals >= 0 && decimals <= 20);
    if (!isfinite(value)) {
        efi_text_add(text, "n/a");
        return;
    }
    char printed[352]; /* 309 digits before the point, 20 after it */
    (void)snprintf(printed, sizeof printed, "%.*f", decimals, fabs(value));
    if (value < 0.0 && strpbrk(printed, "123456789"))
        efi_text_add(text, "-");
    const size_t whole = digits_at(printed, strlen(printed));
    efi_text_add_bytes(text, printed, whole);
    if (decimals > 0) {
        const char *fraction = printed + whole;
        while (*fraction && !efi_is_digit(*fraction))
            fraction++;
        efi_text_add(text, ".");
        efi_text_add(text, fraction);
    }
}

void efi_number_add_significant(efi_text *text, double value, int digits)
{
    assert(digits >= 1 && digits <= 17);
    if (!isfinite(value)) {
        efi_text_add(text, "n/a");
        return;
    }
    if (value == 0.0) {
        efi_text_add(text, "0");
        return;
    }
    decimal number = decimal_of(value, digits);
    while (number.count > 1 && number.digits[number.count - 1] == '0')
        number.count--;
    const bool scientific = number.exponent < -6 || number.exponent >= 15;
    int whole = scientific ? 1 : number.exponent + 1; /* digits before the point; <= 0 for 0.00ddd */
    if (number.negative)
        efi_text_add(text, "-");
    if (whole <= 0) {
        efi_text_add(text, "0.");
        efi_text_fill(text, '0', -whole);
        efi_text_add_bytes(text, number.digits, (size_t)number.count);
        return;
    }
    const int shown = whole < number.count ? whole : number.count;
    efi_text_add_bytes(text, number.digits, (size_t)shown);
    efi_text_fill(text, '0', whole - shown);
    if (number.count > whole) {
        efi_text_add(text, ".");
        efi_text_add_bytes(text, number.digits + whole, (size_t)(number.count - whole));
    }
    if (scientific)
        efi_text_addf(text, "e%d", number.exponent);
}

void efi_number_add_exact(efi_text *text, double value)
{
    int digits = 15;
    for (; isfinite(value) && digits < 17; digits++) {
        char printed[64];
        const decimal number = decimal_of(fabs(value), digits);
        /* As in value_of: without a decimal sign, so that no locale matters. */
        (void)snprintf(printed, sizeof printed, "%.*se%d", number.count, number.digits,
                       number.exponent - number.count + 1);
        if (strtod(printed, NULL) == fabs(value))
            break;
    }
    efi_number_add_significant(text, value, digits);
}

enum {
    PRINTED_ROOM = 384 /* sign, 309 digits, point, 20 decimals */
};

/* Adds a number that was written with a point as the language writes it. */
static void say(efi_text *text, const char *words)
{
    const char *point = strchr(words, '.');
    if (point) {
        efi_text_add_bytes(text, words, (size_t)(point - words));
        efi_text_add(text, efi_tr_in("decimal mark", "."));
        words = point + 1;
    }
    efi_text_add(text, strcmp(words, "n/a") == 0 ? efi_tr("n/a") : words);
}

void efi_number_say_fixed(efi_text *text, double value, int decimals)
{
    char printed[PRINTED_ROOM];
    efi_text number = efi_text_fixed(printed, sizeof printed);
    efi_number_add_fixed(&number, value, decimals);
    say(text, printed);
}

void efi_number_say_significant(efi_text *text, double value, int digits)
{
    char printed[PRINTED_ROOM];
    efi_text number = efi_text_fixed(printed, sizeof printed);
    efi_number_add_significant(&number, value, digits);
    say(text, printed);
}

int efi_number_decimals(double magnitude, int digits)
{
    assert(digits >= 1 && digits <= 17);
    if (!isfinite(magnitude) || fabs(magnitude) < LEAST_SHOWN)
        return 0;
    const int decimals = digits - 1 - decimal_of(magnitude, digits).exponent;
    return decimals < 0 ? 0 : decimals > MOST_DECIMALS ? MOST_DECIMALS : decimals;
}
