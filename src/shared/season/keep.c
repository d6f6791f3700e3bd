/* SPDX-License-Identifier: GPL-3.0-or-later
 * Stores of a plan that changes a little at a time.
 *
 * What stands in the stores before a lot is told by what has been put away before it and has not left. So
 * where the same lots lie in the same places until the same moments, but for some that have left by then, all
 * that comes after is put away as it was. */
#include "shared/season/keep.h"

#include <string.h>

ef_status efi_season_keep_build(efi_season_keep *keep, const efi_season_model *model, bool finished)
{
    const size_t lots = (size_t)model->problem->lots;
    efi_arena *arena = model->arena;
    *keep = (efi_season_keep){0};
    keep->hold = efi_arena_get(arena, 1, sizeof *keep->hold);
    keep->order = efi_arena_get(arena, lots, sizeof *keep->order);
    keep->place = efi_arena_get(arena, lots, sizeof *keep->place);
    keep->key = efi_arena_get(arena, lots, sizeof *keep->key);
    keep->put = efi_arena_get(arena, lots, sizeof *keep->put);
    keep->mark = efi_arena_get(arena, lots / EFI_SEASON_MARK_LOTS + 1, sizeof *keep->mark);
    keep->trial_order = efi_arena_get(arena, lots, sizeof *keep->trial_order);
    keep->trial_put = efi_arena_get(arena, lots, sizeof *keep->trial_put);
    if (!keep->hold || !keep->order || !keep->place || !keep->key || !keep->put || !keep->mark ||
        !keep->trial_order || !keep->trial_put)
        return EF_MEMORY;
    efi_season_hold_open(keep->hold, model, finished);
    const size_t singles = (size_t)keep->hold->singles;
    for (size_t m = 0; m <= lots / EFI_SEASON_MARK_LOTS; m++) {
        efi_season_mark *mark = &keep->mark[m];
        mark->until_s = efi_arena_get(arena, singles, sizeof *mark->until_s);
        mark->queue = efi_arena_get(arena, finished ? EFI_SEASON_MARK_MORE : 0, sizeof *mark->queue);
        if (!mark->until_s || !mark->queue)
            return EF_MEMORY;
    }
    memcpy(keep->order, model->by_arrival, lots * sizeof *keep->order);
    return EF_OK;
}

/* ---- marks ----------------------------------------------------------------------------------------------
 */

static void set_mark(efi_season_keep *keep, int place, int64_t price)
{
    const efi_season_hold *hold = keep->hold;
    efi_season_mark *mark = &keep->mark[place / EFI_SEASON_MARK_LOTS];
    const int spots = hold->tail - hold->head;
    mark->price = price;
    mark->spots = spots <= EFI_SEASON_MARK_MORE ? spots : -1;
    if (hold->singles > 0)
        memcpy(mark->until_s, hold->until_s, (size_t)hold->singles * sizeof *mark->until_s);
    if (mark->spots > 0)
        memcpy(mark->queue, hold->queue + hold->head, (size_t)spots * sizeof *mark->queue);
}

/* A lot lies where it lies in the plan. */
static void put_as_before(efi_season_keep *keep, int lot)
{
    const efi_season_put *put = &keep->put[lot];
    efi_season_hold_until(keep->hold, keep->key[lot]);
    for (int i = 0; i < put->spots; i++)
        efi_season_hold_take(keep->hold, &put->spot[i]);
}

/* The stores as they stand before a place; the price of all before it. */
static int64_t go_to(efi_season_keep *keep, int place)
{
    efi_season_hold *hold = keep->hold;
    int m = place / EFI_SEASON_MARK_LOTS;
    while (keep->mark[m].spots < 0) /* the first is empty */
        m--;
    const efi_season_mark *mark = &keep->mark[m];
    int64_t price = mark->price;
    efi_season_hold_open(hold, hold->model, hold->finished);
    efi_season_hold_load(hold, mark->until_s, mark->queue, mark->spots);
    for (int i = m * EFI_SEASON_MARK_LOTS; i < place; i++) {
        put_as_before(keep, keep->order[i]);
        price += keep->put[keep->order[i]].price;
    }
    return price;
}

/* ---- changes --------------------------------------------------------------------------------------------
 */

void efi_season_keep_open(efi_season_keep *keep)
{
    keep->first = keep->hold->model->problem->lots;
    keep->last = keep->soonest = keep->latest = -1;
}

static bool comes_before(int64_t a_s, int a, int64_t b_s, int b)
{
    return a_s != b_s ? a_s < b_s : a < b;
}

void efi_season_keep_touch(efi_season_keep *keep, const efi_season_moment *moment, int lot)
{
    const int place = keep->place[lot];
    const int64_t key_s = efi_season_hold_key(keep->hold, moment, lot);
    keep->first = place < keep->first ? place : keep->first;
    keep->last = place > keep->last ? place : keep->last;
    if (keep->soonest < 0 || comes_before(key_s, lot, keep->soonest_s, keep->soonest)) {
        keep->soonest = lot;
        keep->soonest_s = key_s;
    }
    if (keep->latest < 0 || comes_before(keep->latest_s, keep->latest, key_s, lot)) {
        keep->latest = lot;
        keep->latest_s = key_s;
    }
}

/* Lots of the plan that come before that. */
static int count_before(const efi_season_keep *keep, int64_t key_s, int lot)
{
    int low = 0;
    int high = keep->hold->model->problem->lots;
    while (low < high) {
        const int middle = low + (high - low) / 2;
        const int other = keep->order[middle];
        if (comes_before(keep->key[other], other, key_s, lot))
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* The places among which the lots that are touched come, before and after the change. */
static void find_window(efi_season_keep *keep, const efi_season_moment *moment)
{
    const int soonest = count_before(keep, keep->soonest_s, keep->soonest);
    const int latest = count_before(keep, keep->latest_s, keep->latest);
    keep->from = soonest < keep->first ? soonest : keep->first;
    keep->until = latest > keep->last + 1 ? latest : keep->last + 1;
    const int count = keep->until - keep->from;
    memcpy(keep->trial_order, keep->order + keep->from, (size_t)count * sizeof *keep->order);
    efi_season_hold_sort(keep->hold, moment, keep->trial_order, count);
}

/* Until when stores differ because of a lot: spots that are not the same are gone then. */
static int64_t differs_until(const efi_season_put *a, const efi_season_put *b)
{
    const int most = a->spots > b->spots ? a->spots : b->spots;
    int64_t until_s = INT64_MIN;
    for (int i = 0; i < most; i++) {
        const efi_season_spot *x = &a->spot[i];
        const efi_season_spot *y = &b->spot[i];
        if (i < a->spots && i < b->spots && x->at == y->at && x->until_s == y->until_s &&
            x->taken == y->taken)
            continue;
        if (i < a->spots && x->until_s > until_s)
            until_s = x->until_s;
        if (i < b->spots && y->until_s > until_s)
            until_s = y->until_s;
    }
    return until_s;
}

bool efi_season_keep_try(efi_season_keep *keep, const efi_season_moment *moment, int64_t limit)
{
    const int lots = keep->hold->model->problem->lots;
    keep->trial_value = keep->value;
    keep->from = keep->until = keep->stop = 0;
    if (keep->last < 0)
        return keep->value <= limit;
    find_window(keep, moment);
    int64_t rest = keep->value - go_to(keep, keep->from); /* of the plan: it may all be saved */
    int64_t differs_s = INT64_MIN;
    int i = keep->from;
    for (; i < lots; i++) {
        const int lot = i < keep->until ? keep->trial_order[i - keep->from] : keep->order[i];
        efi_season_put *put = &keep->trial_put[i - keep->from];
        if (i >= keep->until && keep->key[lot] >= differs_s)
            break;
        efi_season_hold_put(keep->hold, moment, lot, put);
        const int64_t until_s = differs_until(put, &keep->put[lot]);
        differs_s = until_s > differs_s ? until_s : differs_s;
        rest -= keep->put[lot].price;
        keep->trial_value += put->price - keep->put[lot].price;
        if (keep->trial_value - rest > limit)
            return false;
    }
    keep->stop = i;
    return keep->trial_value <= limit;
}

void efi_season_keep_take(efi_season_keep *keep, const efi_season_moment *moment)
{
    const int lots = keep->hold->model->problem->lots;
    const int64_t more = keep->trial_value - keep->value;
    if (keep->last < 0)
        return;
    for (int i = keep->from; i < keep->until; i++) {
        const int lot = keep->trial_order[i - keep->from];
        keep->order[i] = lot;
        keep->place[lot] = i;
        keep->key[lot] = efi_season_hold_key(keep->hold, moment, lot);
    }
    for (int i = keep->from; i < keep->stop; i++)
        keep->put[keep->order[i]] = keep->trial_put[i - keep->from];
    keep->value = keep->trial_value;
    int64_t price = go_to(keep, keep->from);
    for (int i = keep->from; i <= keep->stop; i++) {
        if (i % EFI_SEASON_MARK_LOTS == 0)
            set_mark(keep, i, price);
        if (i == keep->stop)
            break;
        put_as_before(keep, keep->order[i]);
        price += keep->put[keep->order[i]].price;
    }
    for (int m = keep->stop / EFI_SEASON_MARK_LOTS + 1; more != 0 && m <= lots / EFI_SEASON_MARK_LOTS; m++)
        keep->mark[m].price += more;
}

void efi_season_keep_begin(efi_season_keep *keep, const efi_season_moment *moment)
{
    const int lots = keep->hold->model->problem->lots;
    int64_t price = 0;
    efi_season_hold_open(keep->hold, keep->hold->model, keep->hold->finished);
    efi_season_hold_sort(keep->hold, moment, keep->order, lots);
    for (int i = 0; i < lots; i++) {
        const int lot = keep->order[i];
        if (i % EFI_SEASON_MARK_LOTS == 0)
            set_mark(keep, i, price);
        keep->place[lot] = i;
        keep->key[lot] = efi_season_hold_key(keep->hold, moment, lot);
        efi_season_hold_put(keep->hold, moment, lot, &keep->put[lot]);
        price += keep->put[lot].price;
    }
    if (lots % EFI_SEASON_MARK_LOTS == 0)
        set_mark(keep, lots, price);
    keep->value = price;
}
