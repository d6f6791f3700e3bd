/* SPDX-License-Identifier: GPL-3.0-or-later
 * Who lies in which store, and what finds no room. */
#include "shared/season/stores.h"

#include <string.h>

#define TONNE_KG 1000

void efi_season_hold_open(efi_season_hold *hold, const efi_season_model *model, bool finished)
{
    hold->model = model;
    hold->finished = finished;
    hold->single = finished ? model->finished : model->raw;
    hold->singles = finished ? model->finisheds : model->raws;
    hold->mixed = model->mixed[finished];
    hold->head = hold->tail = 0;
    hold->now_s = INT64_MIN;
    for (int i = 0; i < hold->singles; i++)
        hold->until_s[i] = INT64_MIN;
    if (finished)
        memset(hold->taken, 0, (size_t)model->problem->finisheds * sizeof hold->taken[0]);
}

void efi_season_hold_until(efi_season_hold *hold, int64_t now_s)
{
    hold->now_s = now_s;
    while (hold->head < hold->tail && hold->queue[hold->head].until_s <= now_s) {
        const efi_season_spot *spot = &hold->queue[hold->head++];
        hold->taken[spot->at] -= spot->taken;
    }
}

void efi_season_hold_take(efi_season_hold *hold, const efi_season_spot *spot)
{
    if (spot->taken == 0) {
        hold->until_s[spot->at] = spot->until_s;
        return;
    }
    int place = hold->tail++;
    for (; place > hold->head && hold->queue[place - 1].until_s > spot->until_s; place--)
        hold->queue[place] = hold->queue[place - 1];
    hold->queue[place] = *spot;
    hold->taken[spot->at] += spot->taken;
}

void efi_season_hold_load(efi_season_hold *hold, const int64_t *until_s, const efi_season_spot *spot,
                          int spots)
{
    for (int i = 0; i < hold->singles; i++)
        hold->until_s[i] = until_s[i];
    hold->tail = spots;
    for (int i = 0; i < spots; i++) {
        hold->queue[i] = spot[i];
        hold->taken[spot[i].at] += spot[i].taken;
    }
}

static void note_spot(efi_season_hold *hold, efi_season_put *put, const efi_season_spot *spot)
{
    efi_season_hold_take(hold, spot);
    put->spot[put->spots++] = *spot;
}

/* ---- stores of one lot ----------------------------------------------------------------------------------
 */

static inline bool is_free(const efi_season_hold *s, int i)
{
    return s->until_s[i] <= s->now_s;
}

/* What a store holds of the lot. */
static inline int64_t holds_kg(const efi_season_hold *s, int i)
{
    return efi_season_holds_kg(&s->single[i], s->kg_per_m3);
}

/* The same as find_single where stores are in no order of size. */
static int find_mixed(const efi_season_hold *s, int64_t kg)
{
    int best = -1;
    int64_t best_kg = 0;
    for (int i = 0; i < s->singles; i++) {
        const int64_t mine_kg = holds_kg(s, i);
        if (!is_free(s, i))
            continue;
        if (best < 0 ||
            (mine_kg >= kg ? best_kg < kg || mine_kg < best_kg : best_kg < kg && mine_kg > best_kg)) {
            best = i;
            best_kg = mine_kg;
        }
    }
    return best;
}

/* The free one that suits `kg` best: the smallest from number `fit` on (those hold all there is), else the
 * largest. -1: none. */
static int find_single(const efi_season_hold *s, int fit, int64_t kg)
{
    if (s->mixed)
        return find_mixed(s, kg);
    for (int i = fit; i < s->singles; i++)
        if (is_free(s, i))
            return i;
    int best = fit - 1;
    while (best >= 0 && !is_free(s, best))
        best--;
    for (int i = best - 1; i >= 0 && holds_kg(s, i) == holds_kg(s, best); i--)
        best = is_free(s, i) ? i : best; /* of equal ones that of the lowest number */
    return best;
}

/* Puts `kg`, which the stores from number `fit` on hold, into free ones until `until_s`; what finds no room
 * is returned. */
static int64_t put_single(efi_season_hold *s, int64_t kg, int fit, int64_t until_s, efi_season_put *put)
{
    while (kg > 0 && put->spots < EFI_SEASON_SPOTS) {
        const int i = find_single(s, fit, kg);
        const int64_t room_kg = i < 0 ? 0 : holds_kg(s, i);
        if (room_kg <= 0)
            break;
        const int64_t put_kg = kg < room_kg ? kg : room_kg;
        const efi_season_spot spot = {.until_s = until_s + s->single[i].clean_s, .kg = put_kg, .at = i};
        kg -= put_kg;
        note_spot(s, put, &spot);
        if (kg > 0)
            fit = efi_season_fit(s->single, s->singles, kg, s->kg_per_m3);
    }
    return kg;
}

static int64_t room_price(int64_t kg, int64_t seconds, int64_t price)
{
    if (kg == 0 || seconds <= 0)
        return 0;
    return efi_season_scale(efi_season_scale(kg, seconds, EFI_SEASON_DAY_S), price, TONNE_KG);
}

/* Puts `kg` into shared stores; what finds no room is returned. */
static int64_t put_shared(efi_season_hold *hold, const efi_season_lot *lot, int64_t kg, int64_t until_s,
                          efi_season_put *put)
{
    const efi_season_problem *p = hold->model->problem;
    for (int s = 0; s < p->finisheds && kg > 0 && put->spots < EFI_SEASON_SPOTS; s++) {
        const efi_season_store *store = &p->finished[s];
        const bool by_volume = store->holds_l > 0;
        const int64_t left = (by_volume ? store->holds_l : store->holds_kg) - hold->taken[s];
        const int64_t room_kg = by_volume && left > 0 ? efi_season_scale(left, lot->product_kgpm3, 1000)
                                                      : left;
        if (!store->is_shared || room_kg <= 0)
            continue;
        const int64_t put_kg = kg < room_kg ? kg : room_kg;
        int64_t taken = put_kg;
        if (by_volume) { /* rounded up, but never more than is left */
            taken = efi_season_scale(put_kg, 1000, lot->product_kgpm3) + 1;
            taken = taken < left ? taken : left;
        }
        const efi_season_spot spot = {.until_s = until_s, .taken = taken, .kg = put_kg, .at = s};
        kg -= put_kg;
        note_spot(hold, put, &spot);
    }
    return kg;
}

/* ---- lots one after the other ---------------------------------------------------------------------------
 */

static void put_raw(efi_season_hold *hold, const efi_season_moment *moment, int lot, int64_t from_s,
                    efi_season_put *put)
{
    const efi_season_problem *p = hold->model->problem;
    const int64_t waits_s = moment[lot].start_s - from_s;
    hold->kg_per_m3 = p->lot[lot].raw_kgpm3;
    if (p->has_raw && waits_s > p->straight_s) {
        efi_season_hold_until(hold, from_s);
        put->missing_kg = put_single(hold, p->lot[lot].raw_kg, hold->model->raw_fit[lot], moment[lot].fed_s,
                                     put);
    }
    put->price = room_price(put->missing_kg, waits_s, p->raw_price);
}

static void put_finished(efi_season_hold *hold, int lot, int64_t from_s, efi_season_put *put)
{
    const efi_season_problem *p = hold->model->problem;
    const efi_season_lot *of = &p->lot[lot];
    const int64_t until_s = from_s + of->leaves_s;
    int64_t left = p->has_finished && of->leaves_s > 0 ? of->product_kg : 0;
    hold->kg_per_m3 = of->product_kgpm3;
    efi_season_hold_until(hold, from_s);
    int fit = hold->model->finished_fit[lot];
    const int whole = find_single(hold, fit, left);
    if ((whole < 0 || holds_kg(hold, whole) < left) &&
        hold->tail - hold->head < EFI_SEASON_MOST_LOTS - EFI_SEASON_STORES_OF_LOT) {
        left = put_shared(hold, of, left, until_s, put);
        fit = efi_season_fit(hold->single, hold->singles, left, hold->kg_per_m3);
    }
    put->missing_kg = put_single(hold, left, fit, until_s, put);
    put->price = room_price(put->missing_kg, of->leaves_s, p->finished_price);
}

void efi_season_hold_put(efi_season_hold *hold, const efi_season_moment *moment, int lot, efi_season_put *put)
{
    put->spots = 0;
    put->missing_kg = 0;
    const int64_t from_s = efi_season_hold_key(hold, moment, lot);
    if (hold->finished)
        put_finished(hold, lot, from_s, put);
    else
        put_raw(hold, moment, lot, from_s, put);
}

/* ---- all lots -------------------------------------------------------------------------------------------
 */

void efi_season_hold_sort(const efi_season_hold *hold, const efi_season_moment *moment, int *lot, int count)
{
    for (int i = 1; i < count; i++) {
        const int l = lot[i];
        const int64_t mine_s = efi_season_hold_key(hold, moment, l);
        int place = i;
        for (; place > 0; place--) {
            const int other = lot[place - 1];
            const int64_t sooner_s = mine_s - efi_season_hold_key(hold, moment, other);
            if (sooner_s > 0 || (sooner_s == 0 && other < l))
                break;
            lot[place] = other;
        }
        lot[place] = l;
    }
}

static void tell(const efi_season_hold *hold, const efi_season_put *put, efi_season_run *run)
{
    int *store = hold->finished ? run->finished : run->raw;
    int64_t *kg = hold->finished ? run->finished_kg : run->raw_kg;
    for (int i = 0; i < EFI_SEASON_STORES_OF_LOT; i++) {
        const efi_season_spot *spot = &put->spot[i];
        store[i] = -1;
        kg[i] = 0;
        if (i >= put->spots)
            continue;
        store[i] = spot->taken > 0 ? spot->at : hold->single[spot->at].store;
        kg[i] = spot->kg;
    }
    *(hold->finished ? &run->finished_missing_kg : &run->raw_missing_kg) = put->missing_kg;
}

int64_t efi_season_hold_all(efi_season_hold *hold, const efi_season_moment *moment, int *order,
                            efi_season_run *run)
{
    const int lots = hold->model->problem->lots;
    int64_t price = 0;
    efi_season_hold_sort(hold, moment, order, lots);
    for (int i = 0; i < lots; i++) {
        efi_season_put put;
        efi_season_hold_put(hold, moment, order[i], &put);
        tell(hold, &put, &run[order[i]]);
        price += put.price;
    }
    return price;
}
