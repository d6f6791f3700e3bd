/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checking a problem, the working time of each line, and lots on a line one after the other. */
#include "shared/season/model.h"

#include <string.h>

#define DAY_S  INT64_C(86400)
#define HOUR_S INT64_C(3600)

int64_t efi_season_scale(int64_t a, int64_t b, int64_t c)
{
    if (b == 0 || a <= INT64_MAX / b)
        return a * b / c;
    const int64_t whole = a / c; /* large: divide first, what is lost is under one unit of b */
    return whole > EFI_SEASON_MOST * 1024 / (b < 1 ? 1 : b) ? EFI_SEASON_MOST * 1024 : whole * b;
}

/* ---- checks ---------------------------------------------------------------------------------------------
 */

static bool in_range(int64_t value, int64_t least)
{
    return value >= least && value <= EFI_SEASON_MOST;
}

static bool lot_is_good(const efi_season_problem *p, int l)
{
    const efi_season_lot *lot = &p->lot[l];
    bool has_line = false;
    for (int line = 0; line < p->lines; line++) {
        const int64_t work_s = p->work_s[(size_t)line * (size_t)p->lots + (size_t)l];
        if (work_s != EFI_SEASON_NEVER && !in_range(work_s, 1))
            return false;
        has_line = has_line || (work_s > 0 && (lot->fixed_line < 0 || lot->fixed_line == line));
    }
    const bool moments = (lot->due_s == EFI_SEASON_NONE || in_range(lot->due_s, -EFI_SEASON_MOST)) &&
                         (lot->latest_start_s == EFI_SEASON_NONE ||
                          in_range(lot->latest_start_s, -EFI_SEASON_MOST)) &&
                         in_range(lot->arrives_s, -EFI_SEASON_MOST);
    return has_line && moments && in_range(lot->late_price, 0) && in_range(lot->wet_price, 0) &&
           in_range(lot->raw_kg, 0) && in_range(lot->product_kg, 0) && in_range(lot->leaves_s, 0) &&
           lot->fixed_line >= -1 && lot->fixed_line < p->lines;
}

static bool stores_are_good(const efi_season_store *store, int stores)
{
    if (stores < 0 || stores > EFI_SEASON_MOST_STORES)
        return false;
    for (int s = 0; s < stores; s++)
        if (!in_range(store[s].holds_kg, 1) || !in_range(store[s].clean_s, 0))
            return false;
    return true;
}

static bool is_good(const efi_season_problem *p)
{
    if (p->lots < 1 || p->lots > EFI_SEASON_MOST_LOTS || p->lines < 1 || p->lines > EFI_SEASON_MOST_LINES ||
        p->has_passes || p->stations)
        return false;
    for (int l = 0; l < p->lots; l++)
        if (!lot_is_good(p, l))
            return false;
    const int side = p->lots + 1;
    for (int from = 0; from < side; from++) {
        for (int to = 0; to < side; to++) {
            const size_t at = (size_t)from * (size_t)side + (size_t)to;
            if (from != to && ((p->clean_s[at] != EFI_SEASON_NEVER && !in_range(p->clean_s[at], 0)) ||
                               !in_range(p->clean_price[at], 0)))
                return false;
        }
    }
    return stores_are_good(p->raw, p->raws) && stores_are_good(p->finished, p->finisheds) &&
           in_range(p->restart_s, 0) && in_range(p->straight_s, 0) && in_range(p->overtime_price, 0) &&
           in_range(p->raw_price, 0) && in_range(p->finished_price, 0);
}

/* ---- preparing ------------------------------------------------------------------------------------------
 */

static ef_status build_clock(efi_season_model *model, int line)
{
    const efi_timetable *time = model->problem->time[line];
    efi_season_clock *clock = &model->clock[line];
    clock->span = efi_arena_get(model->arena, (size_t)time->count, sizeof *clock->span);
    if (!clock->span)
        return EF_MEMORY;
    clock->to_s = time->to_s;
    for (int i = 0; i < time->count; i++) {
        const efi_time_interval *one = &time->items[i];
        if (!efi_time_works(one->state))
            continue;
        efi_season_span *last = clock->spans > 0 ? &clock->span[clock->spans - 1] : NULL;
        const bool overtime = one->state == EFI_TIME_OVERTIME;
        const bool follows = last && last->to_s == one->from_s;
        if (follows && last->is_overtime == overtime)
            last->to_s = one->to_s;
        else
            clock->span[clock->spans++] = (efi_season_span){one->from_s, one->to_s, overtime, !follows};
    }
    return EF_OK;
}

/* Lots by arrival, those of the same moment by number: insertion, once. */
static void sort_by_arrival(const efi_season_model *model)
{
    const efi_season_problem *p = model->problem;
    for (int l = 0; l < p->lots; l++) {
        int place = l;
        for (; place > 0 && p->lot[model->by_arrival[place - 1]].arrives_s > p->lot[l].arrives_s; place--)
            model->by_arrival[place] = model->by_arrival[place - 1];
        model->by_arrival[place] = l;
    }
}

ef_status efi_season_model_build(efi_season_model *model, const efi_season_problem *problem)
{
    *model = (efi_season_model){.problem = problem};
    if (!is_good(problem))
        return EF_USAGE;
    model->arena = efi_arena_new();
    if (!model->arena)
        return EF_MEMORY;
    model->by_arrival = efi_arena_get(model->arena, (size_t)problem->lots, sizeof *model->by_arrival);
    if (!model->by_arrival)
        return EF_MEMORY;
    sort_by_arrival(model);
    for (int line = 0; line < problem->lines; line++)
        EF_TRY(build_clock(model, line));
    return EF_OK;
}

void efi_season_model_free(efi_season_model *model)
{
    efi_arena_free(model->arena);
    *model = (efi_season_model){0};
}

/* ---- lots one after the other ---------------------------------------------------------------------------
 */

/* A hand of the clock of one line, and what it has passed. */
typedef struct hand {
    const efi_season_clock *clock;
    int span;
    int64_t at_s;
    int64_t overtime_s;
    int restarts;
    bool ended; /* the calendar has */
} hand;

/* On to the first working moment at or after `moment_s`. */
static void wait_until(hand *h, int64_t moment_s)
{
    if (moment_s > h->at_s)
        h->at_s = moment_s;
    while (h->span < h->clock->spans && h->clock->span[h->span].to_s <= h->at_s)
        h->span++;
    h->ended = h->ended || h->span == h->clock->spans;
    if (h->ended)
        h->at_s = h->clock->to_s > h->at_s ? h->clock->to_s : h->at_s;
    else if (h->clock->span[h->span].from_s > h->at_s)
        h->at_s = h->clock->span[h->span].from_s;
}

/* Works for `work_s`, and `restart_s` more after each pause. */
static void work_for(hand *h, int64_t work_s, int64_t restart_s)
{
    int64_t left_s = work_s;
    wait_until(h, h->at_s);
    while (left_s > 0 && !h->ended) {
        const efi_season_span *span = &h->clock->span[h->span];
        const int64_t most_s = span->to_s - h->at_s;
        const int64_t done_s = left_s < most_s ? left_s : most_s;
        h->at_s += done_s;
        h->overtime_s += span->is_overtime ? done_s : 0;
        left_s -= done_s;
        if (left_s == 0)
            break;
        wait_until(h, h->at_s);
        if (!h->ended && h->clock->span[h->span].is_fresh) {
            left_s += restart_s;
            h->restarts++;
        }
    }
    if (h->ended)
        h->at_s += left_s; /* beyond the calendar, so that less left over is better */
}

efi_season_state efi_season_begin(const efi_season_model *model, int line)
{
    return (efi_season_state){.at_s = model->problem->time[line]->from_s, .last = model->problem->lots};
}

static int64_t beyond(int64_t moment_s, int64_t limit_s)
{
    return limit_s != EFI_SEASON_NONE && moment_s > limit_s ? moment_s - limit_s : 0;
}

/* Runs a lot after `clean_s` of cleaning; prices but that of the cleaning are added. */
static efi_season_state run_lot(const efi_season_model *model, int line, const efi_season_state *state,
                                int lot, int64_t clean_s, efi_season_moment *moment, efi_season_run *run)
{
    const efi_season_problem *p = model->problem;
    const efi_season_lot *of = &p->lot[lot];
    const int64_t work_s = p->work_s[(size_t)line * (size_t)p->lots + (size_t)lot];
    hand h = {.clock = &model->clock[line], .span = state->span, .at_s = state->at_s};
    if (!p->cleaned_before_arrival && of->arrives_s > h.at_s)
        h.at_s = of->arrives_s;
    if (clean_s > 0)
        wait_until(&h, h.at_s);
    const int64_t clean_from_s = h.at_s;
    work_for(&h, clean_s, 0);
    const int64_t clean_to_s = clean_s > 0 ? h.at_s : clean_from_s;
    if (of->fixed_start_s != EFI_SEASON_NONE)
        h = (hand){.clock = h.clock, .at_s = of->fixed_start_s, .overtime_s = h.overtime_s};
    else
        wait_until(&h, of->arrives_s);
    *moment = (efi_season_moment){.start_s = h.at_s};
    h.restarts = 0;
    work_for(&h, work_s > 0 ? work_s : 0, p->restart_s);
    moment->end_s = h.at_s;
    const int64_t late_s = beyond(h.at_s, of->due_s);
    const int64_t wet_s = beyond(moment->start_s, of->latest_start_s);
    if (run)
        *run = (efi_season_run){.line = line,
                                .before = state->last,
                                .clean_from_s = clean_from_s,
                                .clean_to_s = clean_to_s,
                                .start_s = moment->start_s,
                                .end_s = h.at_s,
                                .arrives_s = of->arrives_s,
                                .fed_s = h.at_s,
                                .late_s = late_s,
                                .wet_s = wet_s,
                                .overtime_s = h.overtime_s,
                                .restarts = h.restarts,
                                .fits = !h.ended};
    return (efi_season_state){.at_s = h.at_s,
                              .span = h.span,
                              .last = lot,
                              .price = state->price + efi_season_scale(late_s, of->late_price, DAY_S) +
                                       efi_season_scale(wet_s, of->wet_price, DAY_S) +
                                       efi_season_scale(h.overtime_s, p->overtime_price, HOUR_S),
                              .forbidden = state->forbidden + h.ended + (work_s < 0)};
}

efi_season_state efi_season_next(const efi_season_model *model, int line, const efi_season_state *state,
                                 int lot, efi_season_moment *moment, efi_season_run *run)
{
    const efi_season_problem *p = model->problem;
    const size_t pair = (size_t)state->last * (size_t)(p->lots + 1) + (size_t)lot;
    const bool never = p->clean_s[pair] == EFI_SEASON_NEVER;
    efi_season_state after = run_lot(model, line, state, lot, never ? 0 : p->clean_s[pair], moment, run);
    after.price += p->clean_price[pair];
    after.forbidden += never;
    return after;
}

void efi_season_alone(const efi_season_model *model, int line, int lot, efi_season_run *run)
{
    const efi_season_state begin = efi_season_begin(model, line);
    efi_season_moment moment;
    (void)run_lot(model, line, &begin, lot, 0, &moment, run);
}

void efi_season_close(const efi_season_model *model, const efi_season_state *state, int64_t *price,
                      int *forbidden)
{
    const efi_season_problem *p = model->problem;
    const size_t pair = (size_t)state->last * (size_t)(p->lots + 1) + (size_t)p->lots;
    if (state->last == p->lots)
        return;
    *price += p->clean_price[pair];
    *forbidden += p->clean_s[pair] == EFI_SEASON_NEVER;
}
