/* SPDX-License-Identifier: GPL-3.0-or-later
 * Dates, times and weekdays from text, strictly; what is refused is explained by date_explain.c. */
#include "base/date_explain.h"

#include "base/letter.h"

#include <stdio.h>
#include <string.h>

int efi_date_digits(const char *text, size_t count)
{
    int value = 0;
    for (size_t i = 0; i < count; i++) {
        if (text[i] < '0' || text[i] > '9')
            return -1;
        value = value * 10 + (text[i] - '0');
    }
    return value;
}

void efi_date_refuse(efi_date_error *error, efi_date_fault fault, size_t start, size_t end)
{
    memset(error, 0, sizeof *error);
    error->fault = fault;
    error->start = start;
    error->end = end;
}

bool efi_date_parse(const char *text, size_t length, int64_t *day, efi_date_error *error)
{
    if (length == 10 && text[4] == '-' && text[7] == '-') {
        const int year = efi_date_digits(text, 4);
        const efi_civil civil = {
            .year = year, .month = efi_date_digits(text + 5, 2), .day = efi_date_digits(text + 8, 2)};
        if (year >= 1 && efi_civil_exists(civil)) {
            *day = efi_day_of(civil);
            return true;
        }
    }
    if (error)
        efi_date_explain(text, length, error);
    return false;
}

bool efi_clock_parse(const char *text, size_t length, int *clock_s, efi_date_error *error)
{
    const bool seconds = length == 8 && text[5] == ':';
    if ((length == 5 || seconds) && text[2] == ':') {
        const int hour = efi_date_digits(text, 2);
        const int minute = efi_date_digits(text + 3, 2);
        const int second = seconds ? efi_date_digits(text + 6, 2) : 0;
        const int all = hour * EFI_HOUR_S + minute * 60 + second;
        if (hour >= 0 && minute >= 0 && minute < 60 && second >= 0 && second < 60 && all <= EFI_DAY_S) {
            *clock_s = all;
            return true;
        }
    }
    if (error)
        efi_clock_explain(text, length, error);
    return false;
}

bool efi_moment_parse(const char *text, size_t length, int64_t *moment_s, efi_date_error *error)
{
    int64_t day;
    int clock_s;
    if (length > 11 && (text[10] == 'T' || text[10] == ' ') && efi_date_parse(text, 10, &day, NULL) &&
        efi_clock_parse(text + 11, length - 11, &clock_s, NULL)) {
        *moment_s = day * EFI_DAY_S + clock_s;
        return true;
    }
    if (error)
        efi_moment_explain(text, length, error);
    return false;
}

/* ---- weekdays -------------------------------------------------------------------------------------------
 */

typedef struct scan {
    const char *text;
    size_t length;
    size_t at;
} scan;

static void skip_blanks(scan *s)
{
    while (s->at < s->length && s->text[s->at] == ' ')
        s->at++;
}

/* A word of letters as closed text, cut to the room. */
static void copy_word(char *word, size_t room, const char *text, size_t length)
{
    const size_t kept = length < room - 1 ? length : room - 1;
    memcpy(word, text, kept);
    word[kept] = '\0';
}

enum {
    LONGEST_WORD = 16
};

/* The weekday that a word of the language names, -1 when none. */
static int weekday_find(const char *word)
{
    for (int day = 0; day < EFI_WEEK_DAYS; day++)
        if (efi_text_same_word(word, efi_weekday_short((efi_weekday)day)) ||
            efi_text_same_word(word, efi_weekday_name((efi_weekday)day)))
            return day;
    return -1;
}

/* The word of the language for one that people use, or that is misspelt; NULL when there is none. */
static const char *weekday_meant(const char *word)
{
    static const char *const sorts[] = {"weekdays", "workdays", "weekend",  "weekends",
                                        "everyday", "all",      "every day"};
    static const char *const sort_means[] = {"mon-fri", "mon-fri", "sat, sun", "sat, sun",
                                             "daily",   "daily",   "daily"};
    for (size_t i = 0; i < EF_COUNT(sorts); i++)
        if (efi_text_same_word(word, sorts[i]))
            return sort_means[i];
    for (int day = 0; day < EFI_WEEK_DAYS; day++) {
        const char *name = efi_weekday_name((efi_weekday)day);
        char start[4]; /* of "tues", "Thurs", "Mondays" */
        copy_word(start, sizeof start, word, strlen(word));
        if (efi_text_nearest(word, &name, 1) ||
            efi_text_same_word(start, efi_weekday_short((efi_weekday)day)))
            return efi_weekday_short((efi_weekday)day);
    }
    return NULL;
}

static void likely_replace(const scan *s, efi_date_error *error, const char *by);

/* Reads the name of one day: -1 when there is none, which is then explained. */
static int read_weekday(scan *s, efi_date_error *error)
{
    skip_blanks(s);
    const size_t start = s->at;
    while (s->at < s->length && efi_is_letter(s->text[s->at]))
        s->at++;
    char word[LONGEST_WORD];
    copy_word(word, sizeof word, s->text + start, s->at - start);
    const int found = s->at - start < LONGEST_WORD ? weekday_find(word) : -1;
    if (found >= 0)
        return found;
    if (s->at == start && s->at < s->length)
        efi_date_refuse(error, EFI_WEEKDAYS_FORM, start, s->length);
    else if (s->at == start)
        efi_date_refuse(error, EFI_WEEKDAYS_MISSING, start, start);
    else
        efi_date_refuse(error, EFI_WEEKDAY_UNKNOWN, start, s->at);
    if (s->at > start && s->at - start < LONGEST_WORD)
        likely_replace(s, error, weekday_meant(word));
    return -1;
}

/* Adds the days of one span, "fri" or "fri-mon". */
static bool read_span(scan *s, efi_weekdays *weekdays, efi_date_error *error)
{
    skip_blanks(s);
    const size_t start = s->at;
    const int first = read_weekday(s, error);
    if (first < 0)
        return false;
    const size_t first_end = s->at;
    int last = first;
    skip_blanks(s);
    if (s->at < s->length && s->text[s->at] == '-') {
        s->at++;
        last = read_weekday(s, error);
        if (last < 0)
            return false;
    } else {
        s->at = first_end;
    }
    const size_t end = s->at;
    for (int day = first;; day = (day + 1) % EFI_WEEK_DAYS) {
        if (*weekdays & 1u << day) {
            efi_date_refuse(error, EFI_WEEKDAY_TWICE, start, end);
            return false;
        }
        *weekdays |= 1u << day;
        if (day == last)
            return true;
    }
}

static bool read_weekdays(const char *text, size_t length, efi_weekdays *weekdays, efi_date_error *error)
{
    scan s = {.text = text, .length = length};
    if (length > 0 && (text[0] == ' ' || text[length - 1] == ' ')) {
        efi_date_refuse(error, EFI_WEEKDAYS_FORM, 0, length);
        return false;
    }
    char word[LONGEST_WORD];
    copy_word(word, sizeof word, text, length);
    if (length < LONGEST_WORD && efi_text_same_word(word, "daily")) {
        *weekdays = EFI_WEEKDAYS_ALL;
        return true;
    }
    efi_weekdays found = 0;
    for (;;) {
        if (!read_span(&s, &found, error))
            return false;
        skip_blanks(&s);
        if (s.at == length)
            break;
        if (text[s.at] != ',') {
            efi_date_refuse(error, EFI_WEEKDAYS_FORM, s.at, length);
            return false;
        }
        s.at++;
    }
    *weekdays = found;
    return true;
}

/* Proposes the text with the culprit replaced, if that can be read. */
static void likely_replace(const scan *s, efi_date_error *error, const char *by)
{
    char likely[EFI_DATE_LIKELY_ROOM];
    const size_t room = sizeof likely;
    if (!by || s->length - (error->end - error->start) + strlen(by) >= room)
        return;
    const size_t used = (size_t)snprintf(likely, room, "%.*s%s%.*s", (int)error->start, s->text, by,
                                         (int)(s->length - error->end), s->text + error->end);
    efi_weekdays ignored;
    efi_date_error further;
    if (read_weekdays(likely, used, &ignored, &further))
        memcpy(error->likely, likely, used + 1);
    else if (further.likely[0])
        memcpy(error->likely, further.likely, sizeof error->likely);
}

enum {
    LONGEST_TEXT = 200
};

/* The bytes at the beginning of `text` that join days elsewhere, and what joins them here; 0 for none. */
static size_t joint_find(const char *text, size_t length, bool after_joint, char *ours)
{
    static const struct {
        const char *found;
        char ours;
    } joints[] = {{" to ", '-'}, {" until ", '-'}, {" through ", '-'}, {"\xE2\x80\x93", '-'},
                  {"..", '-'},   {" and ", ','},   {" & ", ','},       {"&", ','},
                  {"/", ','},    {";", ','},       {"+", ','},         {" ", ','}};
    for (size_t j = 0; j < EF_COUNT(joints); j++) {
        const size_t size = strlen(joints[j].found);
        if (size <= length && !after_joint && memcmp(text, joints[j].found, size) == 0) {
            *ours = joints[j].ours;
            return size;
        }
    }
    return 0;
}

/* Proposes the same days joined as they are joined here: "mon to fri", "sat & sun", "mon/wed". */
static void likely_joined(const char *text, size_t length, efi_date_error *error)
{
    char joined[LONGEST_TEXT];
    size_t used = 0;
    for (size_t i = 0; i < length;) {
        const bool after_joint = used > 0 && (joined[used - 1] == ',' || joined[used - 1] == '-');
        char ours = text[i];
        const size_t taken = joint_find(text + i, length - i, after_joint, &ours);
        joined[used++] = ours;
        i += taken ? taken : 1;
    }
    efi_weekdays ignored;
    efi_date_error further;
    if (used < sizeof error->likely && read_weekdays(joined, used, &ignored, &further)) {
        memcpy(error->likely, joined, used);
        error->likely[used] = '\0';
    }
}

bool efi_weekdays_parse(const char *text, size_t length, efi_weekdays *weekdays, efi_date_error *error)
{
    efi_date_error found;
    if (length > LONGEST_TEXT) {
        efi_date_refuse(&found, EFI_WEEKDAYS_FORM, 0, length);
    } else {
        if (read_weekdays(text, length, weekdays, &found))
            return true;
        if (found.likely[0] == '\0' && error)
            likely_joined(text, length, &found);
    }
    if (error)
        *error = found;
    return false;
}
