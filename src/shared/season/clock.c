/* SPDX-License-Identifier: GPL-3.0-or-later
 * The working time of a line: what of it lies before a second of the calendar, and the other way round. */
#include "shared/season/model.h"

enum {
    LEAST_SHIFT = 11, /* buckets of half an hour */
    MOST_BUCKETS = 1 << 16
};

/* The price of an hour of an interval. */
static int64_t price_of(const efi_season_problem *p, const efi_time_interval *one)
{
    if (one->state != EFI_TIME_OVERTIME)
        return 0;
    const bool listed = p->overtime_prices && one->overtime >= 0 && one->overtime < p->overtimes;
    return listed ? p->overtime_prices[one->overtime] : p->overtime_price;
}

static void add_span(efi_season_clock *clock, const efi_season_problem *p, const efi_time_interval *one)
{
    const bool overtime = one->state == EFI_TIME_OVERTIME;
    const int64_t price = price_of(p, one);
    efi_season_span *last = clock->spans > 0 ? &clock->span[clock->spans - 1] : NULL;
    const bool follows = last && last->to_s == one->from_s;
    if (follows && last->is_overtime == overtime && last->price == price) {
        last->to_s = one->to_s;
        return;
    }
    efi_season_span *span = &clock->span[clock->spans++];
    *span = (efi_season_span){.from_s = one->from_s,
                              .to_s = one->to_s,
                              .price = price,
                              .is_overtime = overtime,
                              .is_fresh = !follows};
}

/* Work and overtime before each span, and the one after all. */
static void add_up(efi_season_clock *clock, int64_t to_s)
{
    clock->span[clock->spans] = (efi_season_span){.from_s = to_s, .to_s = INT64_MAX};
    for (int i = 0; i < clock->spans; i++) {
        const efi_season_span *span = &clock->span[i];
        const int64_t long_s = span->to_s - span->from_s;
        clock->span[i + 1].work_s = span->work_s + long_s;
        clock->span[i + 1].over_s = span->over_s + (span->is_overtime ? long_s : 0);
        clock->span[i + 1].over_price = span->over_price + span->price * long_s;
    }
    clock->work_s = clock->span[clock->spans].work_s;
}

ef_status efi_season_clock_build(efi_season_clock *clock, const efi_season_problem *problem, int line,
                                 efi_arena *arena)
{
    const efi_timetable *time = problem->time[line];
    *clock = (efi_season_clock){.shift = LEAST_SHIFT};
    clock->span = efi_arena_get(arena, (size_t)time->count + 1, sizeof *clock->span);
    if (!clock->span)
        return EF_MEMORY;
    for (int i = 0; i < time->count; i++)
        if (efi_time_works(time->items[i].state))
            add_span(clock, problem, &time->items[i]);
    add_up(clock, time->to_s);
    while (clock->work_s >> clock->shift >= MOST_BUCKETS)
        clock->shift++;
    clock->buckets = (int)(clock->work_s >> clock->shift) + 1;
    clock->bucket = efi_arena_get(arena, (size_t)clock->buckets, sizeof *clock->bucket);
    if (!clock->bucket)
        return EF_MEMORY;
    int span = 0;
    for (int b = 0; b < clock->buckets; b++) {
        while (span < clock->spans && clock->span[span + 1].work_s <= (int64_t)b << clock->shift)
            span++;
        clock->bucket[b] = span;
    }
    return EF_OK;
}

int64_t efi_season_clock_work(const efi_season_clock *clock, int64_t second)
{
    int low = 0; /* spans before it begin at or before `second` */
    int high = clock->spans + 1;
    while (low < high) {
        const int middle = low + (high - low) / 2;
        if (clock->span[middle].from_s <= second)
            low = middle + 1;
        else
            high = middle;
    }
    if (low == 0)
        return 0;
    const efi_season_span *span = &clock->span[low - 1];
    return span->work_s + (second < span->to_s ? second : span->to_s) - span->from_s;
}

efi_season_over efi_season_clock_over(const efi_season_clock *clock, int64_t work)
{
    const efi_season_span *span = efi_season_clock_span(clock, work);
    const int64_t within_s = work - span->work_s;
    return (efi_season_over){span->over_s + (span->is_overtime ? within_s : 0),
                             span->over_price + span->price * within_s};
}

int64_t efi_season_clock_add(const efi_season_clock *clock, int64_t work, int64_t work_s, int64_t restart_s,
                             int *restarts)
{
    int64_t end_w = work + work_s;
    const efi_season_span *span = efi_season_clock_span(clock, work) + 1;
    for (; span - clock->span < clock->spans && span->work_s < end_w; span++) {
        end_w += span->is_fresh ? restart_s : 0;
        if (restarts)
            *restarts += span->is_fresh;
    }
    return end_w;
}
