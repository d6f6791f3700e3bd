/* SPDX-License-Identifier: GPL-3.0-or-later
 * Who lies in which store, and what finds no room. */
#include "shared/season/model.h"

#include <string.h>

#define DAY_S    INT64_C(86400)
#define TONNE_KG 1000

/* What a store does during a season. */
typedef struct use {
    int64_t free_s;   /* a store of one lot: from then on */
    int64_t taken_kg; /* a shared one: now */
} use;

/* What lies in a shared store. */
typedef struct lying {
    int64_t leaves_s;
    int64_t kg;
    int store;
} lying;

/* The free single store that suits `kg` best: the smallest that holds it, else the largest. -1: none. */
static int find_single(const efi_season_store *store, int stores, const use *used, int64_t from_s, int64_t kg)
{
    int best = -1;
    for (int s = 0; s < stores; s++) {
        if (store[s].is_shared || used[s].free_s > from_s)
            continue;
        const int64_t mine = store[s].holds_kg;
        const int64_t theirs = best < 0 ? 0 : store[best].holds_kg;
        if (best < 0 || (mine >= kg ? theirs < kg || mine < theirs : theirs < kg && mine > theirs))
            best = s;
    }
    return best;
}

/* Puts `kg` into single stores from `from_s` until `until_s`; what finds no room is returned. */
static int64_t put_single(const efi_season_store *store, int stores, use *used, int64_t kg, int64_t from_s,
                          int64_t until_s, int places[EFI_SEASON_STORES_OF_LOT])
{
    int count = 0;
    while (places[count] >= 0)
        count++;
    while (kg > 0 && count < EFI_SEASON_STORES_OF_LOT - 1) {
        const int s = find_single(store, stores, used, from_s, kg);
        if (s < 0)
            break;
        used[s].free_s = until_s + store[s].clean_s;
        kg -= kg < store[s].holds_kg ? kg : store[s].holds_kg;
        places[count++] = s;
    }
    return kg;
}

static int64_t room_price(int64_t kg, int64_t seconds, int64_t price)
{
    if (kg == 0 || seconds <= 0)
        return 0;
    return efi_season_scale(efi_season_scale(kg, seconds, DAY_S), price, TONNE_KG);
}

static void clear_places(int places[EFI_SEASON_STORES_OF_LOT])
{
    for (int i = 0; i < EFI_SEASON_STORES_OF_LOT; i++)
        places[i] = -1;
}

int64_t efi_season_store_raw(const efi_season_model *model, const efi_season_moment *moment,
                             efi_season_run *run)
{
    const efi_season_problem *p = model->problem;
    use used[EFI_SEASON_MOST_STORES];
    int64_t price = 0;
    for (int s = 0; s < p->raws; s++)
        used[s] = (use){.free_s = INT64_MIN};
    for (int i = 0; i < p->lots; i++) {
        const int l = model->by_arrival[i];
        const efi_season_lot *lot = &p->lot[l];
        const int64_t waits_s = moment[l].start_s - lot->arrives_s;
        int places[EFI_SEASON_STORES_OF_LOT];
        int64_t left = 0;
        clear_places(places);
        if (p->has_raw && waits_s > p->straight_s)
            left = put_single(p->raw, p->raws, used, lot->raw_kg, lot->arrives_s, moment[l].end_s, places);
        price += room_price(left, waits_s, p->raw_price);
        if (run) {
            memcpy(run[l].raw, places, sizeof places);
            run[l].raw_missing_kg = left;
        }
    }
    return price;
}

/* Lots by the end of their run, equal ones by number; `order` is nearly sorted from the time before. */
static void sort_by_end(const efi_season_moment *moment, int *order, int lots)
{
    for (int i = 1; i < lots; i++) {
        const int l = order[i];
        int place = i;
        for (; place > 0; place--) {
            const int other = order[place - 1];
            const int64_t sooner_s = moment[l].end_s - moment[other].end_s;
            if (sooner_s > 0 || (sooner_s == 0 && other < l))
                break;
            order[place] = other;
        }
        order[place] = l;
    }
}

/* Puts `kg` into shared stores; what finds no room is returned. */
static int64_t put_shared(const efi_season_problem *p, use *used, lying *list, int *count, int64_t kg,
                          int64_t until_s, int places[EFI_SEASON_STORES_OF_LOT])
{
    int place = 0;
    while (places[place] >= 0)
        place++;
    for (int s = 0; s < p->finisheds && kg > 0 && place < EFI_SEASON_STORES_OF_LOT - 1; s++) {
        const int64_t room = p->finished[s].holds_kg - used[s].taken_kg;
        if (!p->finished[s].is_shared || room <= 0)
            continue;
        const int64_t put = kg < room ? kg : room;
        used[s].taken_kg += put;
        list[(*count)++] = (lying){until_s, put, s};
        kg -= put;
        places[place++] = s;
    }
    return kg;
}

/* Takes out of shared stores what has left by `now_s`. */
static void let_leave(use *used, lying *list, int *count, int64_t now_s)
{
    int kept = 0;
    for (int i = 0; i < *count; i++) {
        if (list[i].leaves_s <= now_s)
            used[list[i].store].taken_kg -= list[i].kg;
        else
            list[kept++] = list[i];
    }
    *count = kept;
}

int64_t efi_season_store_finished(const efi_season_model *model, const efi_season_moment *moment, int *order,
                                  efi_season_run *run)
{
    const efi_season_problem *p = model->problem;
    use used[EFI_SEASON_MOST_STORES];
    lying list[EFI_SEASON_MOST_LOTS];
    int count = 0;
    int64_t price = 0;
    sort_by_end(moment, order, p->lots);
    for (int s = 0; s < p->finisheds; s++)
        used[s] = (use){.free_s = INT64_MIN};
    for (int i = 0; i < p->lots; i++) {
        const int l = order[i];
        const efi_season_lot *lot = &p->lot[l];
        const int64_t from_s = moment[l].end_s;
        const int64_t until_s = from_s + lot->leaves_s;
        int64_t left = p->has_finished && lot->leaves_s > 0 ? lot->product_kg : 0;
        int places[EFI_SEASON_STORES_OF_LOT];
        clear_places(places);
        let_leave(used, list, &count, from_s);
        const int whole = find_single(p->finished, p->finisheds, used, from_s, left);
        const bool fits = whole >= 0 && p->finished[whole].holds_kg >= left;
        if (!fits && count < EFI_SEASON_MOST_LOTS - EFI_SEASON_STORES_OF_LOT)
            left = put_shared(p, used, list, &count, left, until_s, places);
        left = put_single(p->finished, p->finisheds, used, left, from_s, until_s, places);
        price += room_price(left, lot->leaves_s, p->finished_price);
        if (run) {
            memcpy(run[l].finished, places, sizeof places);
            run[l].finished_missing_kg = left;
        }
    }
    return price;
}
