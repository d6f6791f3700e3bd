/* SPDX-License-Identifier: GPL-3.0-or-later
 * The log of totals: rows as they come, put in order, twice-told and overlapping ones named. */
#include "answers/learn/logs.h"

#include <stdlib.h>

static bool read_row(efi_total_log *t, int row, efi_log_total *total)
{
    efi_log *log = &t->log;
    *total = (efi_log_total){.row = row, .used = true};
    int64_t elapsed_s;
    if (!efi_log_station(log, row, &total->station, &total->discharge) ||
        !efi_log_moment(log, row, log->from, &total->from_s) ||
        !efi_log_moment(log, row, log->to, &total->to_s) || !efi_log_tonnes(log, row, &total->tonnes))
        return false;
    if (efi_log_elapsed(log, row, total->from_s, total->to_s, &elapsed_s))
        return true;
    efi_log_report(log, row, log->to, EFI_DIAG_LOG_LENGTH,
                   "ends at or before its beginning; the row is not used", "an end after the beginning",
                   NULL);
    return false;
}

static int by_point_and_time(const void *left, const void *right)
{
    const efi_log_total *a = left;
    const efi_log_total *b = right;
    if (a->station != b->station)
        return a->station < b->station ? -1 : 1;
    if (a->discharge != b->discharge)
        return a->discharge < b->discharge ? -1 : 1;
    if (a->from_s != b->from_s)
        return a->from_s < b->from_s ? -1 : 1;
    return (a->row > b->row) - (a->row < b->row);
}

static int by_time(const void *left, const void *right)
{
    const efi_log_total *a = left;
    const efi_log_total *b = right;
    if (a->from_s != b->from_s)
        return a->from_s < b->from_s ? -1 : 1;
    if (a->to_s != b->to_s)
        return a->to_s < b->to_s ? -1 : 1;
    return (a->row > b->row) - (a->row < b->row);
}

/* Words about another row: before and after its line in the file. */
static const char *row_words(efi_total_log *t, const char *before, int row, const char *after)
{
    return efi_diags_textf(t->log.diags, "%s row %d%s", before, (int)efi_csv_at(&t->log.csv, row, 0)->line,
                           after);
}

/* Of two totals of one scale at the same time the first is used. */
static void clean(efi_total_log *t)
{
    int before = -1;
    for (int i = 0; i < t->count; i++) {
        efi_log_total *total = &t->items[i];
        const efi_log_total *last = before >= 0 ? &t->items[before] : NULL;
        if (!last || last->station != total->station || last->discharge != total->discharge ||
            total->from_s >= last->to_s) {
            before = i;
            continue;
        }
        total->used = false;
        const bool same = last->from_s == total->from_s && last->to_s == total->to_s;
        if (same && last->tonnes == total->tonnes)
            efi_log_report(&t->log, total->row, t->log.station, EFI_DIAG_LOG_TWICE,
                           row_words(t, "the same as", last->row, "; used once"), NULL, NULL);
        else
            efi_log_report(
                &t->log, total->row, t->log.from, EFI_DIAG_LOG_OVERLAP,
                row_words(t, "not used:", last->row, " has a total of this scale for the same time"), NULL,
                NULL);
    }
}

/* As for stops. */
static ef_status drop_far(efi_total_log *t)
{
    int kept = 0;
    int64_t *from_s = efi_arena_get(t->log.arena, (size_t)t->count, sizeof *from_s);
    if (!from_s)
        return EF_MEMORY;
    for (int i = 0; i < t->count; i++)
        from_s[i] = t->items[i].from_s;
    const int64_t middle_s = efi_log_middle(from_s, t->count);
    for (int i = 0; i < t->count; i++) {
        const efi_log_total total = t->items[i];
        const int64_t away_s = total.from_s > middle_s ? total.from_s - middle_s : middle_s - total.from_s;
        if (away_s > EFI_LOG_FAR_S || total.to_s - total.from_s > EFI_LOG_FAR_S) {
            efi_log_report(&t->log, total.row, t->log.from, EFI_DIAG_LOG_TIME,
                           "lies years away from the other rows; the row is not used", NULL, NULL);
            t->unread++;
            continue;
        }
        t->first_s = kept == 0 || total.from_s < t->first_s ? total.from_s : t->first_s;
        t->last_s = kept == 0 || total.to_s > t->last_s ? total.to_s : t->last_s;
        t->items[kept++] = total;
    }
    t->count = kept;
    return EF_OK;
}

static void look_at_order(efi_total_log *t)
{
    int64_t latest_s = INT64_MIN;
    int back = 0;
    for (int i = 1; i < t->count; i++)
        back += t->items[i].from_s < t->items[i - 1].from_s;
    for (int i = 0; i < t->count; i++) {
        const bool late = t->items[i].from_s < latest_s;
        if (late) {
            efi_log_report(&t->log, t->items[i].row, t->log.from, EFI_DIAG_LOG_ORDER,
                           2 * back > t->count ? "the log runs backwards; put in order"
                                               : "this total is older than one in a row above; put in order",
                           NULL, NULL);
            if (2 * back > t->count)
                return;
        } else {
            latest_s = t->items[i].from_s;
        }
    }
}

ef_status efi_total_log_read(efi_total_log *t, const ef_learn_file *file)
{
    ef_status status;
    t->first_s = 0;
    t->last_s = -1;
    if (!efi_log_open(&t->log, file, true, &status))
        return status;
    t->items = efi_arena_get(t->log.arena, (size_t)t->log.csv.rows, sizeof *t->items);
    if (!t->items)
        return EF_MEMORY;
    for (int row = 1; row < t->log.csv.rows; row++) {
        if (!read_row(t, row, &t->items[t->count])) {
            t->unread++;
            continue;
        }
        t->count++;
    }
    EF_TRY(drop_far(t));
    look_at_order(t);
    qsort(t->items, (size_t)t->count, sizeof *t->items, by_point_and_time);
    clean(t);
    qsort(t->items, (size_t)t->count, sizeof *t->items, by_time);
    if (t->count == 0) {
        const ef_diag draft = {.place = {.file = file->name}, .message = "no row of the log can be used"};
        efi_diags_add(t->log.diags, EFI_DIAG_LOG_EMPTY, &draft);
    }
    return EF_OK;
}
