/* SPDX-License-Identifier: GPL-3.0-or-later
 * The log of stops: rows as they come, put in order, twice-told and overlapping ones named and taken apart.
 */
#include "answers/learn/logs.h"

#include <stdlib.h>
#include <string.h>

/* Later than all moments of a log; stands for an end that is not known. */
#define NO_END INT64_MIN
enum {
    LEAST_FOR_STEPS = 10
};
/* A longer stop is a slip of the pen. */
#define LONGEST_S (60 * (int64_t)EFI_DAY_S)

/* One row, as far as it can be read; false when it cannot be used at all. */
static bool read_row(efi_stop_log *s, int row, efi_log_stop *stop)
{
    efi_log *log = &s->log;
    *stop = (efi_log_stop){.row = row};
    stop->reason = efi_log_text(log, row, log->reason);
    if (!efi_log_station(log, row, &stop->station, NULL) ||
        !efi_log_moment(log, row, log->from, &stop->from_s))
        return false;
    stop->to_s = NO_END;
    if (efi_csv_at(&log->csv, row, log->to)->length == 0)
        return true;
    int64_t to_s;
    if (!efi_log_moment(log, row, log->to, &to_s))
        return false;
    stop->to_s = to_s;
    if (efi_log_elapsed(log, row, stop->from_s, to_s, &stop->elapsed_s)) {
        if (stop->elapsed_s > LONGEST_S) {
            efi_log_report(log, row, log->to, EFI_DIAG_LOG_LENGTH,
                           "lasts more than 60 days; counted as a stop, its length is left out", NULL, NULL);
            stop->to_s = stop->from_s;
            stop->fate = EF_LEARN_LENGTH_UNKNOWN;
        } else if (stop->to_s < stop->from_s) { /* the clock was put back */
            stop->to_s = stop->from_s + stop->elapsed_s;
        }
        return true;
    }
    if (to_s == stop->from_s) {
        efi_log_report(log, row, log->to, EFI_DIAG_LOG_LENGTH,
                       "a stop that lasts no time; counted as a stop, its length is left out", NULL, NULL);
        stop->fate = EF_LEARN_LENGTH_UNKNOWN;
        return true;
    }
    efi_log_report(log, row, log->to, EFI_DIAG_LOG_LENGTH,
                   "ends before it begins; counted as a stop, its length is left out",
                   "an end after the beginning", NULL);
    stop->to_s = stop->from_s;
    stop->fate = EF_LEARN_LENGTH_UNKNOWN;
    return true;
}

static void widen(efi_stop_log *s, int64_t moment_s)
{
    if (s->last_s < s->first_s) {
        s->first_s = s->last_s = moment_s;
        return;
    }
    s->first_s = moment_s < s->first_s ? moment_s : s->first_s;
    s->last_s = moment_s > s->last_s ? moment_s : s->last_s;
}

/* Names rows that lie years away from the one in the middle, and leaves them out; notes first and last
 * moment. */
static ef_status drop_far(efi_stop_log *s)
{
    int kept = 0;
    int64_t *from_s = efi_arena_get(s->log.arena, (size_t)s->count, sizeof *from_s);
    if (!from_s)
        return EF_MEMORY;
    for (int i = 0; i < s->count; i++)
        from_s[i] = s->items[i].from_s;
    const int64_t middle_s = efi_log_middle(from_s, s->count);
    for (int i = 0; i < s->count; i++) {
        const efi_log_stop stop = s->items[i];
        const int64_t away_s = stop.from_s > middle_s ? stop.from_s - middle_s : middle_s - stop.from_s;
        if (away_s > EFI_LOG_FAR_S) {
            efi_log_report(&s->log, stop.row, s->log.from, EFI_DIAG_LOG_TIME,
                           "lies years away from the other rows; the row is not used", NULL, NULL);
            s->unread++;
            continue;
        }
        s->items[kept++] = stop;
        widen(s, stop.from_s);
        if (stop.to_s != NO_END)
            widen(s, stop.to_s);
    }
    s->count = kept;
    return EF_OK;
}

/* Names what stands before an earlier row of the same station; a table that runs backwards is named once. */
static void look_at_order(efi_stop_log *s, int64_t *latest_s)
{
    int back = 0;
    for (int i = 1; i < s->count; i++)
        back += s->items[i].from_s < s->items[i - 1].from_s;
    if (s->count > 2 && back == s->count - 1) {
        efi_log_report(&s->log, s->items[1].row, s->log.from, EFI_DIAG_LOG_ORDER,
                       "the log runs backwards, the latest stop first; put in order", NULL, NULL);
        return;
    }
    for (int i = 0; i < s->count; i++) {
        int64_t *latest = &latest_s[s->items[i].station];
        if (s->items[i].from_s < *latest)
            efi_log_report(&s->log, s->items[i].row, s->log.from, EFI_DIAG_LOG_ORDER,
                           "this stop began before one in a row above; put in order", NULL, NULL);
        else
            *latest = s->items[i].from_s;
    }
}

static int by_station_and_time(const void *left, const void *right)
{
    const efi_log_stop *a = left;
    const efi_log_stop *b = right;
    if (a->station != b->station)
        return a->station < b->station ? -1 : 1;
    if (a->from_s != b->from_s)
        return a->from_s < b->from_s ? -1 : 1;
    return (a->row > b->row) - (a->row < b->row);
}

/* Words about another row: before and after its line in the file. */
static const char *row_words(efi_stop_log *s, const char *before, int row, const char *after)
{
    return efi_diags_textf(s->log.diags, "%s row %d%s", before, (int)efi_csv_at(&s->log.csv, row, 0)->line,
                           after);
}

static bool is_twice(const efi_log_stop *a, const efi_log_stop *b)
{
    return a->station == b->station && a->from_s == b->from_s && a->to_s == b->to_s &&
           efi_text_same_word(a->reason, b->reason);
}

/* Among the stops that begin at the same moment as `i`, an earlier one that says the same; -1 without. */
static int find_twin(const efi_stop_log *s, int i)
{
    for (int j = i - 1;
         j >= 0 && s->items[j].station == s->items[i].station && s->items[j].from_s == s->items[i].from_s;
         j--)
        if (s->items[j].fate != EF_LEARN_NOT_USED && is_twice(&s->items[j], &s->items[i]))
            return j;
    return -1;
}

/* A stop that begins while `before` still lasts: what is left of it after that one's end, or nothing. */
static void shorten(efi_stop_log *s, efi_log_stop *stop, const efi_log_stop *before)
{
    if (stop->fate == EF_LEARN_LENGTH_UNKNOWN || stop->to_s == NO_END || stop->to_s <= before->to_s) {
        efi_log_report(
            &s->log, stop->row, s->log.from, EFI_DIAG_LOG_OVERLAP,
            row_words(s, "this station is stopped already, by", before->row, "; taken as part of that stop"),
            NULL, NULL);
        stop->fate = EF_LEARN_NOT_USED;
        return;
    }
    efi_log_report(
        &s->log, stop->row, s->log.from, EFI_DIAG_LOG_OVERLAP,
        row_words(s, "this station is still stopped, by", before->row, "; taken to begin when that one ends"),
        NULL, NULL);
    stop->from_s = before->to_s;
    stop->elapsed_s = efi_clock_elapsed(s->log.rule, stop->from_s, stop->to_s, NULL);
}

/* Stops without an end: the last of its station may go on; an earlier one is only counted. */
static void close_open(efi_stop_log *s, efi_log_stop *stop, bool is_last)
{
    if (is_last) {
        efi_log_report(&s->log, stop->row, s->log.to, EFI_DIAG_LOG_OPEN,
                       "has no end; taken to go on at the end of the log", "a time, once it has ended", NULL);
        stop->fate = EF_LEARN_OPEN_AT_END;
    } else {
        efi_log_report(
            &s->log, stop->row, s->log.to, EFI_DIAG_LOG_OPEN,
            "has no end, but the station stopped again later; counted as a stop, its length is left out",
            "a time", NULL);
        stop->fate = EF_LEARN_LENGTH_UNKNOWN;
    }
    stop->to_s = stop->from_s;
}

/* Goes through the stops of all stations in order of time. */
static void clean(efi_stop_log *s)
{
    int before = -1; /* the stop used that ends last */
    for (int i = 0; i < s->count; i++) {
        efi_log_stop *stop = &s->items[i];
        const bool many = s->log.scenario->stations[stop->station].count > 1;
        if (before >= 0 && s->items[before].station != stop->station)
            before = -1;
        const int twin = find_twin(s, i);
        if (twin >= 0) {
            efi_log_report(&s->log, stop->row, s->log.station, EFI_DIAG_LOG_TWICE,
                           row_words(s, "the same as", s->items[twin].row, "; used once"), NULL, NULL);
            stop->fate = EF_LEARN_NOT_USED;
            continue;
        }
        if (!many && before >= 0 && stop->from_s < s->items[before].to_s)
            shorten(s, stop, &s->items[before]);
        if (stop->fate == EF_LEARN_NOT_USED)
            continue;
        if (stop->to_s == NO_END)
            close_open(s, stop, i + 1 == s->count || s->items[i + 1].station != stop->station);
        if (before < 0 || stop->to_s >= s->items[before].to_s)
            before = i;
    }
}

/* The largest of the usual steps of a clock of which all times are multiples; that they are of more than a
 * minute by chance must not be likely. */
static int64_t grain_of(const efi_stop_log *s)
{
    static const int64_t steps_s[] = {15 * 60, 10 * 60, 5 * 60, 60};
    for (size_t k = 0; k < EF_COUNT(steps_s); k++) {
        bool all = steps_s[k] == 60 || s->count >= LEAST_FOR_STEPS;
        for (int i = 0; i < s->count && all; i++)
            all = s->items[i].from_s % steps_s[k] == 0 &&
                  (s->items[i].to_s == NO_END || s->items[i].to_s % steps_s[k] == 0);
        if (all)
            return steps_s[k];
    }
    return 0;
}

static int count_used(const efi_stop_log *s)
{
    int used = 0;
    for (int i = 0; i < s->count; i++)
        used += s->items[i].fate != EF_LEARN_NOT_USED;
    return used;
}

ef_status efi_stop_log_read(efi_stop_log *s, const ef_learn_file *file)
{
    ef_status status;
    s->first_s = 0;
    s->last_s = -1;
    if (!efi_log_open(&s->log, file, false, &status))
        return status;
    const size_t rows = (size_t)s->log.csv.rows;
    const size_t stations = (size_t)s->log.scenario->station_count;
    s->items = efi_arena_get(s->log.arena, rows, sizeof *s->items);
    int64_t *latest_s = efi_arena_get(s->log.arena, stations, sizeof *latest_s);
    if (!s->items || !latest_s)
        return EF_MEMORY;
    for (size_t i = 0; i < stations; i++)
        latest_s[i] = INT64_MIN;
    for (int row = 1; row < s->log.csv.rows; row++) {
        efi_log_stop *stop = &s->items[s->count];
        if (!read_row(s, row, stop)) {
            s->unread++;
            continue;
        }
        if (!stop->reason)
            return EF_MEMORY;
        s->count++;
    }
    EF_TRY(drop_far(s));
    look_at_order(s, latest_s);
    s->grain_s = grain_of(s);
    qsort(s->items, (size_t)s->count, sizeof *s->items, by_station_and_time);
    clean(s);
    if (count_used(s) == 0) {
        const ef_diag draft = {.place = {.file = file->name}, .message = "no row of the log can be used"};
        efi_diags_add(s->log.diags, EFI_DIAG_LOG_EMPTY, &draft);
    }
    return EF_OK;
}
