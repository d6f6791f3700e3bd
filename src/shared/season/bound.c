/* SPDX-License-Identifier: GPL-3.0-or-later
 * Bounds of the cost, by term and in all.
 *
 * In all no plan costs less than the sum over the terms. It costs no less either when terms that have a bound
 * together are taken by that: cleaning and lateness (bound_late.c); lateness and product without room
 * (bound_finished.c); cleaning, lateness, wet lots and raw material without room (bound_follow.c). No term is
 * counted twice, so the greatest of these sums is taken. */
#include "shared/season/bound.h"

#include <stdlib.h>

static int by_time(const void *left, const void *right)
{
    const int64_t a = *(const int64_t *)left;
    const int64_t b = *(const int64_t *)right;
    return (a > b) - (a < b);
}

int efi_season_thin(int64_t *moment, int count, int most, int64_t *kept)
{
    qsort(moment, (size_t)count, sizeof *moment, by_time);
    const int step = (count + most - 1) / most;
    int number = 0;
    for (int i = step > 0 ? (count - 1) % step : 0; i < count; i += step)
        if (number == 0 || moment[i] > kept[number - 1])
            kept[number++] = moment[i];
    return number;
}

int64_t efi_season_hours_before(const efi_season_model *model, int64_t second)
{
    int64_t sum_s = 0;
    for (int line = 0; line < model->problem->lines; line++)
        sum_s += efi_season_clock_work(&model->clock[line], second);
    return sum_s;
}

static int64_t earlier(int64_t a, int64_t b)
{
    return a < b ? a : b;
}

static int64_t later(int64_t a, int64_t b)
{
    return a > b ? a : b;
}

int64_t efi_season_room_kg(const efi_season_model *model, int64_t most_kg)
{
    const efi_season_problem *p = model->problem;
    int64_t densest = 1;
    int64_t sum_kg = 0;
    for (int lot = 0; lot < p->lots; lot++)
        densest = p->lot[lot].raw_kgpm3 > densest ? p->lot[lot].raw_kgpm3 : densest;
    for (int i = 0; i < model->raws; i++)
        sum_kg += earlier(efi_season_holds_kg(&model->raw[i], densest), most_kg);
    return sum_kg;
}

/* Each station k starts no sooner than the delays before it let it. */
int64_t efi_season_alone_end_w(const efi_season_model *model, int line, int lot, int64_t start_w)
{
    const efi_season_through *t = &model->through[line];
    const size_t n = (size_t)t->stations;
    int64_t end_w = start_w;
    if (n == 0)
        return start_w + model->hot[line][lot].work_s;
    for (size_t k = 0; k < n; k++) {
        const int64_t mine_w = start_w + t->delay_s[n - 1] + t->least_s[((size_t)lot * n + k) * n + n - 1];
        end_w = mine_w > end_w ? mine_w : end_w;
    }
    return end_w;
}

/* The station of each line that has most to do in all; 0 on a line without. */
static size_t busiest(const efi_season_model *model, int line)
{
    const size_t n = (size_t)model->through[line].stations;
    size_t best = 0;
    double most = -1.0;
    for (size_t m = 0; m < n; m++) {
        double sum = 0.0;
        for (int l = 0; l < model->problem->lots; l++)
            if (model->hot[line][l].work_s > 0)
                sum += (double)model->problem->stations[line].work_s[(size_t)l * n + m];
        if (sum > most) {
            best = m;
            most = sum;
        }
    }
    return best;
}

/* The least cleaning of a line, or of the one station of it, before a lot that follows another one. */
static int64_t least_clean_s(const efi_season_model *model, int line, int lot, size_t station)
{
    const size_t side = (size_t)model->setups + 1;
    const efi_season_through *t = &model->through[line];
    const int mine = model->setup_of[lot];
    int64_t least_s = INT64_MAX;
    for (int from = 0; from < model->setups; from++) {
        const efi_season_setup *setup = &model->setup[line][(size_t)from * side + (size_t)mine];
        if (setup->value >= EFI_SEASON_FORBIDDEN_WEIGHT ||
            (from == mine && model->first_of[mine + 1] - model->first_of[mine] < 2))
            continue;
        const int64_t clean_s = t->stations == 0 ? setup->clean_s
                                : setup->row < 0
                                    ? 0
                                    : t->clean_s[(size_t)setup->row * (size_t)t->stations + station];
        least_s = earlier(least_s, clean_s);
    }
    return least_s == INT64_MAX ? 0 : least_s;
}

int64_t efi_season_first_clean_s(const efi_season_model *model, const efi_season_hope *hope)
{
    int64_t most_s = 0;
    for (int l = 0; l < model->problem->lots; l++)
        most_s = hope[l].is_free ? later(most_s, hope[l].clean_s) : most_s;
    return model->problem->lines * most_s;
}

/* Takes a line into account on which the lot may run. */
static void hope_of_line(const efi_season_model *model, int line, int lot, size_t station,
                         efi_season_hope *hope)
{
    const efi_season_hot *hot = &model->hot[line][lot];
    const efi_season_clock *clock = &model->clock[line];
    const size_t n = (size_t)model->through[line].stations;
    const bool is_set = hot->fixed_w >= 0;
    const int64_t start_w = is_set ? hot->fixed_w : efi_season_clock_work(clock, hope->arrives_s);
    const int64_t start_s = is_set ? model->problem->lot[lot].fixed_start_s
                                   : efi_season_clock_begin(clock, start_w);
    const int64_t end_s = efi_season_clock_end(clock, efi_season_alone_end_w(model, line, lot, start_w));
    const int64_t work_s = n == 0 ? hot->work_s
                                  : model->problem->stations[line].work_s[(size_t)lot * n + station];
    const int64_t clean_s = least_clean_s(model, line, lot, station);
    const int64_t wet_s = start_s > hot->latest_start_s ? start_s - hot->latest_start_s : 0;
    hope->end_s = earlier(hope->end_s, end_s);
    hope->work_s = earlier(hope->work_s, work_s);
    hope->clean_s = earlier(hope->clean_s, clean_s);
    hope->wet = earlier(hope->wet, efi_season_scale(wet_s, hot->wet_price, EFI_SEASON_DAY_S));
}

static void hope_of_lot(const efi_season_model *model, int lot, const size_t station[EFI_SEASON_MOST_LINES],
                        efi_season_hope *all)
{
    const efi_season_problem *p = model->problem;
    const efi_season_lot *of = &p->lot[lot];
    efi_season_hope *hope = &all[lot];
    *hope = (efi_season_hope){.arrives_s = of->arrives_s,
                              .end_s = INT64_MAX,
                              .work_s = INT64_MAX,
                              .clean_s = INT64_MAX,
                              .wet = INT64_MAX,
                              .is_free = of->fixed_line < 0 && of->fixed_start_s == EFI_SEASON_NONE};
    if (of->has_run) { /* it costs nothing any more */
        hope->end_s = of->ended_s;
        hope->work_s = hope->clean_s = hope->wet = 0;
        hope->due_s = EFI_SEASON_NONE;
        return;
    }
    if (p->has_passes && of->after >= 0 && all[of->after].end_s + of->after_s > of->arrives_s)
        hope->arrives_s = all[of->after].end_s + of->after_s;
    for (int line = 0; line < p->lines; line++)
        if (model->hot[line][lot].work_s > 0 && (of->fixed_line < 0 || of->fixed_line == line))
            hope_of_line(model, line, lot, station[line], hope);
    hope->work_s += hope->clean_s;
    const int64_t late_s = of->due_s != EFI_SEASON_NONE && hope->end_s > of->due_s ? hope->end_s - of->due_s
                                                                                   : 0;
    hope->late = efi_season_scale(late_s, of->late_price, EFI_SEASON_DAY_S);
    hope->due_s = of->due_s == EFI_SEASON_NONE || of->late_price == 0 ? EFI_SEASON_NONE : of->due_s + late_s;
}

/* Lots after those they wait for. */
static void hope_of_all(const efi_season_model *model, efi_season_hope *hope, int *order)
{
    const efi_season_problem *p = model->problem;
    size_t station[EFI_SEASON_MOST_LINES] = {0};
    int count = 0;
    for (int line = 0; line < p->lines; line++)
        station[line] = busiest(model, line);
    for (int l = 0; l < p->lots; l++)
        if (!p->has_passes || p->lot[l].after < 0)
            order[count++] = l;
    for (int i = 0; i < count; i++) {
        hope_of_lot(model, order[i], station, hope);
        for (int l = model->follower[order[i]]; l >= 0; l = model->next_follower[l])
            order[count++] = l;
    }
}

/* Overtime at a price above `above`: the least such price, and the hours at it. */
static int64_t next_price(const efi_season_model *model, int64_t above, int64_t *hours_s)
{
    int64_t least = INT64_MAX;
    *hours_s = 0;
    for (int line = 0; line < model->problem->lines; line++) {
        const efi_season_clock *clock = &model->clock[line];
        for (int i = 0; i < clock->spans; i++) {
            const efi_season_span *span = &clock->span[i];
            if (span->price <= above || span->price > least)
                continue;
            *hours_s = (span->price < least ? 0 : *hours_s) + span->to_s - span->from_s;
            least = span->price;
        }
    }
    return least;
}

/* Overtime: work and cleaning that find no hours without a price up to the end of the calendar, in the
 * cheapest hours there are. Holds because work beyond the calendar is forbidden, and each hour of a line
 * holds one hour of the station looked at. */
static int64_t bound_overtime(const efi_season_model *model, const efi_season_hope *hope)
{
    int64_t left_s = -efi_season_first_clean_s(model, hope);
    int64_t bound = 0;
    int64_t price = 0;
    for (int l = 0; l < model->problem->lots; l++)
        left_s += hope[l].is_free ? hope[l].work_s : 0;
    for (int line = 0; line < model->problem->lines; line++)
        for (int i = 0; i < model->clock[line].spans; i++)
            left_s -= model->clock[line].span[i].price == 0
                          ? model->clock[line].span[i].to_s - model->clock[line].span[i].from_s
                          : 0;
    while (left_s > 0) {
        int64_t hours_s;
        price = next_price(model, price, &hours_s);
        if (hours_s == 0)
            break;
        bound += efi_season_scale(earlier(left_s, hours_s), price, EFI_SEASON_HOUR_S);
        left_s -= hours_s;
    }
    return bound > model->problem->lots ? bound - model->problem->lots : 0; /* each lot is rounded down */
}

ef_status efi_season_bound(const efi_season_model *model, efi_season_cost *bound)
{
    const size_t lots = (size_t)model->problem->lots;
    efi_season_hope *hope = efi_arena_get(model->arena, lots, sizeof *hope);
    int *order = efi_arena_get(model->arena, lots, sizeof *order);
    int64_t alone = 0;
    int64_t changes = 0;
    int64_t followed = 0;
    int64_t stored = 0;
    int64_t lying = 0;
    if (!hope || !order)
        return EF_MEMORY;
    *bound = (efi_season_cost){0};
    hope_of_all(model, hope, order);
    for (size_t l = 0; l < lots; l++) {
        alone += hope[l].late;
        bound->wet += hope[l].wet;
    }
    EF_TRY(efi_season_bound_cleaning(model, &bound->cleaning));
    EF_TRY(efi_season_bound_late(model, hope, &bound->late));
    EF_TRY(efi_season_bound_changes(model, hope, &changes));
    EF_TRY(efi_season_bound_raw(model, hope, &bound->raw));
    EF_TRY(efi_season_bound_finished(model, hope, &bound->finished, &lying));
    EF_TRY(efi_season_bound_follow(model, hope, &followed, &stored));
    bound->late += alone;
    bound->overtime = bound_overtime(model, hope);
    const int64_t waiting = later(bound->late + bound->finished, alone + lying);
    const int64_t apart = bound->cleaning + waiting;
    const int64_t together = alone + changes + bound->finished;
    const int64_t in_turn = later(followed + bound->raw, stored) + bound->finished;
    bound->total = later(later(apart, together) + bound->wet + bound->raw, in_turn) + bound->overtime;
    return EF_OK;
}
