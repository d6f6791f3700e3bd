/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/date_explain.h"

#include "base/letter.h"

#include <stdio.h>
#include <string.h>

enum {
    MOST_TOKENS = 6,
    LONGEST_NUMBER = 8
};

/* Digits or letters without a break. */
typedef struct token {
    size_t start;
    size_t end;
    int number; /* -1 for letters and for numbers that are too long */
} token;

typedef struct tokens {
    const char *text;
    token item[MOST_TOKENS];
    int count; /* -1 when there are too many */
} tokens;

static tokens tokens_of(const char *text, size_t length)
{
    tokens all = {.text = text};
    for (size_t i = 0; i < length && all.count >= 0;) {
        const size_t start = i;
        if (efi_is_digit(text[i]))
            while (i < length && efi_is_digit(text[i]))
                i++;
        else
            while (i < length && efi_is_letter(text[i]))
                i++;
        if (i == start) {
            i++;
            continue;
        }
        if (all.count == MOST_TOKENS) {
            all.count = -1;
            break;
        }
        const bool number = efi_is_digit(text[start]) && i - start <= LONGEST_NUMBER;
        all.item[all.count++] = (token){
            .start = start, .end = i, .number = number ? efi_date_digits(text + start, i - start) : -1};
    }
    return all;
}

static size_t token_length(const tokens *all, int index)
{
    return all->item[index].end - all->item[index].start;
}

/* Is the token this word, or at least the first `least` letters of it? */
static bool token_is(const tokens *all, int index, const char *word, size_t least)
{
    const size_t length = token_length(all, index);
    if (length < least || length > strlen(word))
        return false;
    for (size_t i = 0; i < length; i++)
        if (efi_lower(all->text[all->item[index].start + i]) != word[i])
            return false;
    return true;
}

/* Writes the date as it is read; false when there is no such day. */
static bool write_date(char *likely, int year, int month, int day)
{
    const efi_civil civil = {.year = year, .month = month, .day = day};
    if (year < 1 || year > 9999 || !efi_civil_exists(civil))
        return false;
    (void)snprintf(likely, EFI_DATE_LIKELY_ROOM, "%04d-%02d-%02d", year, month, day);
    return true;
}

/* ---- dates ----------------------------------------------------------------------------------------------
 */

/* The month that a token names in letters, 0 for none. */
static int month_named(const tokens *all, int index)
{
    static const char *const names[] = {"january",   "february", "march",    "april",
                                        "may",       "june",     "july",     "august",
                                        "september", "october",  "november", "december"};
    for (int m = 0; m < 12; m++)
        if (token_is(all, index, names[m], 3))
            return m + 1;
    return 0;
}

/* Year first and the parts well separated, but the day does not exist. */
static void explain_missing_day(const tokens *all, efi_date_error *error)
{
    const int year = all->item[0].number;
    const int month = all->item[1].number;
    const int day = all->item[2].number;
    const int wrong = year < 1 ? 0 : month < 1 || month > 12 ? 1 : 2;
    efi_date_refuse(error, EFI_DATE_NONE, all->item[wrong].start, all->item[wrong].end);
    if (wrong == 1)
        (void)write_date(error->likely, year, day, month);
    for (int last = 31; wrong == 2 && day > 28 && day <= 31 && last >= 28; last--)
        if (write_date(error->likely, year, month, last))
            break;
}

/* Two numbers and a year after them. */
static void explain_year_last(const tokens *all, size_t length, efi_date_error *error)
{
    const int first = all->item[0].number;
    const int second = all->item[1].number;
    const bool short_year = token_length(all, 2) == 2;
    const int year = all->item[2].number + (short_year ? 2000 : 0);
    char day_first[EFI_DATE_LIKELY_ROOM];
    char month_first[EFI_DATE_LIKELY_ROOM];
    const bool dotted = all->text[all->item[0].end] == '.';
    const bool as_day = write_date(day_first, year, second, first);
    const bool as_month = !dotted && write_date(month_first, year, first, second);
    if (!as_day && !as_month) {
        efi_date_refuse(error, EFI_DATE_NONE, 0, length);
        return;
    }
    if (as_day && as_month && first != second) {
        efi_date_refuse(error, EFI_DATE_AMBIGUOUS, 0, length);
        (void)snprintf(error->offered, sizeof error->offered, "%.10s, %.10s", month_first, day_first);
        return;
    }
    efi_date_refuse(error, short_year ? EFI_DATE_YEAR : EFI_DATE_ORDER, 0, length);
    memcpy(error->likely, as_day ? day_first : month_first, sizeof error->likely);
}

/* A month by its name, a day and a year in any order. */
static bool explain_month_name(const tokens *all, size_t length, efi_date_error *error)
{
    int month = 0;
    int year = 0;
    int day = 0;
    for (int i = 0; i < all->count; i++) {
        if (month_named(all, i))
            month = month_named(all, i);
        else if (token_length(all, i) == 4 && all->item[i].number > 0)
            year = all->item[i].number;
        else if (token_length(all, i) <= 2 && all->item[i].number > 0)
            day = all->item[i].number;
    }
    if (all->count < 3 || !month)
        return false;
    efi_date_refuse(error, EFI_DATE_FORM, 0, length);
    (void)write_date(error->likely, year, month, day);
    return true;
}

static bool all_numbers(const tokens *all, int count)
{
    for (int i = 0; i < count; i++)
        if (all->item[i].number < 0)
            return false;
    return all->count >= count;
}

/* What stands behind a date that can be read. */
static void explain_rest(const char *text, size_t length, efi_date_error *error)
{
    efi_date_refuse(error, EFI_DATE_TRAILING, 10, length);
    memcpy(error->likely, text, 10);
}

void efi_date_explain(const char *text, size_t length, efi_date_error *error)
{
    int64_t ignored;
    if (length > 10 && !efi_is_digit(text[10]) && efi_date_parse(text, 10, &ignored, NULL)) {
        explain_rest(text, length, error);
        return;
    }
    const tokens all = tokens_of(text, length);
    if (explain_month_name(&all, length, error))
        return;
    efi_date_refuse(error, EFI_DATE_FORM, 0, length);
    if (all.count == 1 && length == 8 && all.item[0].number >= 0) {
        (void)write_date(error->likely, all.item[0].number / 10000, all.item[0].number / 100 % 100,
                         all.item[0].number % 100);
    } else if (all.count == 3 && all_numbers(&all, 3) && all.item[0].start == 0 &&
               all.item[2].end == length) {
        const bool year_first = token_length(&all, 0) == 4;
        if (year_first &&
            write_date(error->likely, all.item[0].number, all.item[1].number, all.item[2].number))
            return;
        if (year_first)
            explain_missing_day(&all, error);
        else if (token_length(&all, 2) == 4 || token_length(&all, 2) == 2)
            explain_year_last(&all, length, error);
    }
}

/* ---- times of the day -----------------------------------------------------------------------------------
 */

typedef struct clock_reading {
    int number[3]; /* hours, minutes, seconds */
    int numbers;
    size_t start[3], end[3];
    bool morning, afternoon;
    bool strange; /* something that is no part of a time */
} clock_reading;

/* Takes a word behind or between the numbers: h, o'clock, am, p.m. */
static void clock_word(const tokens *all, int index, clock_reading *r)
{
    const bool split = index + 1 < all->count && token_is(all, index + 1, "m", 1); /* "p.m." */
    if (token_is(all, index, "am", 2) || (split && token_is(all, index, "a", 1)))
        r->morning = true;
    else if (token_is(all, index, "pm", 2) || (split && token_is(all, index, "p", 1)))
        r->afternoon = true;
    else if (!token_is(all, index, "h", 1) && !token_is(all, index, "m", 1))
        r->strange = true;
}

static void clock_number(const tokens *all, int index, clock_reading *r)
{
    const size_t length = token_length(all, index);
    const int number = all->item[index].number;
    const bool closed_up = r->numbers == 0 && (length == 4 || length == 3); /* 0630, 630 */
    if (number < 0 || r->numbers == 3 || (length > 2 && !closed_up)) {
        r->strange = true;
        return;
    }
    r->start[r->numbers] = all->item[index].start;
    r->end[r->numbers] = all->item[index].end;
    r->number[r->numbers++] = closed_up ? number / 100 : number;
    if (closed_up) {
        r->start[1] = all->item[index].start;
        r->end[1] = all->item[index].end;
        r->number[r->numbers++] = number % 100;
    }
}

static clock_reading clock_read(const char *text, size_t length)
{
    const tokens all = tokens_of(text, length);
    clock_reading r = {.strange = all.count < 1 || !efi_is_digit(text[0])};
    for (int i = 0; i < all.count && !r.strange; i++) {
        if (efi_is_digit(text[all.item[i].start]))
            clock_number(&all, i, &r);
        else
            clock_word(&all, i, &r);
    }
    if (memchr(text, '-', length) || memchr(text, '+', length))
        r.strange = true;
    return r;
}

static void write_clock(char *likely, const int *number)
{
    if (number[2])
        (void)snprintf(likely, EFI_DATE_LIKELY_ROOM, "%02d:%02d:%02d", number[0], number[1], number[2]);
    else
        (void)snprintf(likely, EFI_DATE_LIKELY_ROOM, "%02d:%02d", number[0], number[1]);
}

/* Does the time end with a zone: Z, UTC, +01:00 behind something that can be read? */
static bool explain_zone(const char *text, size_t length, efi_date_error *error)
{
    int ignored;
    for (size_t size = 5; size <= 8; size += 3) {
        if (length <= size || !efi_clock_parse(text, size, &ignored, NULL))
            continue;
        const char *rest = text + size;
        const bool zone = *rest == 'Z' || *rest == '+' || *rest == '-' ||
                          (length - size >= 4 && *rest == ' ' && efi_is_letter(rest[1]) && rest[2] != 'm' &&
                           rest[2] != 'M' && rest[2] != '.');
        if (!zone)
            continue;
        efi_date_refuse(error, EFI_DATE_ZONE, size, length);
        memcpy(error->likely, text, size);
        return true;
    }
    return false;
}

void efi_clock_explain(const char *text, size_t length, efi_date_error *error)
{
    if (explain_zone(text, length, error))
        return;
    efi_date_refuse(error, EFI_DATE_FORM, 0, length);
    error->fault = EFI_CLOCK_FORM;
    clock_reading r = length ? clock_read(text, length) : (clock_reading){.strange = true};
    if (r.strange || r.numbers == 0)
        return;
    const bool half = r.morning || r.afternoon;
    int wrong = -1;
    if (half ? r.number[0] < 1 || r.number[0] > 12 : r.number[0] > 24)
        wrong = 0;
    else if (r.number[1] > 59 || (!half && r.number[0] == 24 && r.number[1] > 0))
        wrong = 1;
    else if (r.number[2] > 59 || (!half && r.number[0] == 24 && r.number[2] > 0))
        wrong = 2;
    if (wrong >= 0) {
        efi_date_refuse(error, EFI_CLOCK_NONE, r.start[wrong], r.end[wrong]);
        return;
    }
    if (half) {
        error->fault = EFI_CLOCK_HALF;
        r.number[0] = r.number[0] % 12 + (r.afternoon ? 12 : 0);
    }
    write_clock(error->likely, r.number);
}

/* ---- moments --------------------------------------------------------------------------------------------
 */

/* The byte behind the date part: a T or blank after which a time seems to come. */
static size_t date_end(const char *text, size_t length)
{
    for (size_t i = 1; i + 1 < length; i++)
        if ((text[i] == 'T' || text[i] == 't' || text[i] == ' ') && efi_is_digit(text[i - 1]) &&
            efi_is_digit(text[i + 1]) && i >= 6)
            return i;
    return length;
}

/* One part of a moment: its likely text, which is the part itself when that can be read; "" when unknown. */
static void part_likely(const char *text, size_t length, bool good, const efi_date_error *error, char *likely)
{
    (void)snprintf(likely, EFI_DATE_LIKELY_ROOM, "%.*s", good ? (int)length : EFI_DATE_LIKELY_ROOM - 1,
                   good ? text : error->likely);
}

void efi_moment_explain(const char *text, size_t length, efi_date_error *error)
{
    const size_t split = date_end(text, length);
    const size_t from = split < length ? split + 1 : length;
    int64_t day;
    int clock_s;
    efi_date_error in_date = {.fault = EFI_DATE_FORM};
    efi_date_error in_clock = {.fault = EFI_CLOCK_FORM};
    const bool date_good = efi_date_parse(text, split, &day, &in_date);
    const bool clock_good = efi_clock_parse(text + from, length - from, &clock_s, &in_clock);
    char date[EFI_DATE_LIKELY_ROOM];
    char clock[EFI_DATE_LIKELY_ROOM];
    part_likely(text, split, date_good, &in_date, date);
    part_likely(text + from, length - from, clock_good, &in_clock, clock);
    if (!date_good) {
        *error = in_date;
    } else if (from == length) {
        efi_date_refuse(error, EFI_CLOCK_MISSING, 0, length);
        (void)snprintf(clock, sizeof clock, "00:00");
    } else if (!clock_good) {
        *error = in_clock;
        error->start += from;
        error->end += from;
    } else { /* joined by a small t */
        efi_date_refuse(error, EFI_CLOCK_FORM, split, split + 1);
    }
    error->offered[0] = date_good ? '\0' : error->offered[0];
    error->likely[0] = '\0';
    if (date[0] && clock[0])
        (void)snprintf(error->likely, sizeof error->likely, "%.10sT%.8s", date, clock);
}
