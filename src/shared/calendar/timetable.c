/* SPDX-License-Identifier: GPL-3.0-or-later
 * The intervals of a stretch of time, and the questions one may ask of them. */
#include "base/memory.h"
#include "shared/calendar/calendar.h"

/* A hundred years of 365.25 days. */
#define LONGEST_S (INT64_C(36525) * EFI_DAY_S)

static bool same_kind(const efi_time_interval *a, const efi_time_interval *b)
{
    return a->state == b->state && a->shift == b->shift && a->overtime == b->overtime &&
           a->pause == b->pause && a->maintenance == b->maintenance && a->day == b->day;
}

/* Adds the intervals one by one, joining those of the same kind. False without memory. */
static bool collect(efi_timetable *t, const efi_calendar *calendar, int station)
{
    size_t room = 0;
    size_t count = 0;
    for (int64_t at = t->from_s; at < t->to_s;) {
        efi_time_interval one = efi_calendar_at(calendar, station, at);
        if (one.to_s > t->to_s)
            one.to_s = t->to_s;
        at = one.to_s;
        if (count > 0 && same_kind(&t->items[count - 1], &one)) {
            t->items[count - 1].to_s = one.to_s;
            continue;
        }
        if (efi_grow(&t->items, count, &room, sizeof *t->items) != 0)
            return false;
        t->items[count++] = one;
    }
    t->count = (int)count;
    return true;
}

ef_status efi_timetable_build(efi_timetable *timetable, const efi_calendar *calendar, int station,
                              int64_t from_s, int64_t to_s)
{
    if (from_s >= to_s || to_s - from_s > LONGEST_S)
        return EF_USAGE;
    efi_timetable built = {.from_s = from_s, .to_s = to_s};
    if (collect(&built, calendar, station))
        built.worked_s = efi_new((size_t)built.count + 1, sizeof *built.worked_s);
    if (!built.worked_s) {
        efi_timetable_free(&built);
        return EF_MEMORY;
    }
    for (int i = 0; i < built.count; i++) {
        const efi_time_interval *one = &built.items[i];
        built.worked_s[i + 1] = built.worked_s[i] +
                                (efi_time_works(one->state) ? one->to_s - one->from_s : 0);
    }
    *timetable = built;
    return EF_OK;
}

void efi_timetable_free(efi_timetable *timetable)
{
    efi_free(timetable->items);
    efi_free(timetable->worked_s);
    *timetable = (efi_timetable){0};
}

int efi_timetable_find(const efi_timetable *timetable, int64_t second)
{
    assert(second >= timetable->from_s && second < timetable->to_s);
    int low = 0;
    int high = timetable->count - 1;
    while (low < high) {
        const int middle = low + (high - low + 1) / 2;
        if (timetable->items[middle].from_s <= second)
            low = middle;
        else
            high = middle - 1;
    }
    return low;
}

/* Seconds of work from the beginning of the timetable. */
static int64_t worked_before(const efi_timetable *t, int64_t second)
{
    if (second == t->to_s)
        return t->worked_s[t->count];
    const int at = efi_timetable_find(t, second);
    const bool works = efi_time_works(t->items[at].state);
    return t->worked_s[at] + (works ? second - t->items[at].from_s : 0);
}

int64_t efi_timetable_worked(const efi_timetable *timetable, int64_t from_s, int64_t to_s)
{
    assert(from_s <= to_s);
    return worked_before(timetable, to_s) - worked_before(timetable, from_s);
}

void efi_timetable_totals(const efi_timetable *timetable, int64_t from_s, int64_t to_s,
                          int64_t seconds[EFI_TIME_STATES])
{
    for (int state = 0; state < EFI_TIME_STATES; state++)
        seconds[state] = 0;
    if (from_s >= to_s)
        return;
    for (int i = efi_timetable_find(timetable, from_s);
         i < timetable->count && timetable->items[i].from_s < to_s; i++) {
        const efi_time_interval *one = &timetable->items[i];
        const int64_t from = one->from_s > from_s ? one->from_s : from_s;
        const int64_t to = one->to_s < to_s ? one->to_s : to_s;
        seconds[one->state] += to - from;
    }
}

bool efi_timetable_next_work(const efi_timetable *timetable, int64_t second, int64_t *next_s)
{
    if (second >= timetable->to_s)
        return false;
    int i = efi_timetable_find(timetable, second);
    while (i < timetable->count && !efi_time_works(timetable->items[i].state))
        i++;
    if (i == timetable->count)
        return false;
    *next_s = timetable->items[i].from_s > second ? timetable->items[i].from_s : second;
    return true;
}

bool efi_timetable_add_work(const efi_timetable *timetable, int64_t second, int64_t work_s, int64_t *end_s)
{
    assert(work_s >= 0);
    if (work_s == 0) {
        *end_s = second;
        return true;
    }
    const int64_t done_s = worked_before(timetable, second);
    if (work_s > timetable->worked_s[timetable->count] - done_s)
        return false;
    const int64_t wanted_s = done_s + work_s;
    /* the last interval before which less than that is done: work goes on in it */
    int low = 0;
    int high = timetable->count - 1;
    while (low < high) {
        const int middle = low + (high - low + 1) / 2;
        if (timetable->worked_s[middle] < wanted_s)
            low = middle;
        else
            high = middle - 1;
    }
    *end_s = timetable->items[low].from_s + (wanted_s - timetable->worked_s[low]);
    return true;
}

int efi_timetable_restarts(const efi_timetable *timetable, int64_t from_s, int64_t to_s)
{
    int restarts = 0;
    if (from_s >= to_s)
        return 0;
    for (int i = efi_timetable_find(timetable, from_s) + 1;
         i < timetable->count && timetable->items[i].from_s < to_s; i++)
        restarts += efi_time_works(timetable->items[i].state) &&
                    !efi_time_works(timetable->items[i - 1].state);
    return restarts;
}

ef_status efi_timetable_stops(const efi_timetable *timetable, unsigned states, int64_t zero_s,
                              efi_interval **intervals, int *count)
{
    efi_interval *list = efi_new((size_t)timetable->count, sizeof *list);
    if (!list)
        return EF_MEMORY;
    int used = 0;
    bool open = false;
    for (int i = 0; i < timetable->count; i++) {
        const efi_time_interval *one = &timetable->items[i];
        const bool wanted = (states & EFI_TIME_SET(one->state)) != 0;
        if (wanted && !open)
            list[used++].from_h = efi_hours_of(one->from_s - zero_s);
        if (wanted)
            list[used - 1].to_h = efi_hours_of(one->to_s - zero_s);
        open = wanted;
    }
    *intervals = list;
    *count = used;
    return EF_OK;
}
