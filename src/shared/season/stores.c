/* SPDX-License-Identifier: GPL-3.0-or-later
 * Who lies in which store, and what finds no room. */
#include "shared/season/model.h"

#include <string.h>

#define TONNE_KG 1000

/* What lies in a shared store. */
typedef struct lying {
    int64_t leaves_s;
    int64_t kg;
    int store;
} lying;

/* Single stores, and from when on each is free. */
typedef struct singles {
    const efi_season_single *single;
    int count;
    int64_t free_s[EFI_SEASON_MOST_STORES];
} singles;

static void open_singles(singles *s, const efi_season_single *single, int count)
{
    s->single = single;
    s->count = count;
    for (int i = 0; i < count; i++)
        s->free_s[i] = INT64_MIN;
}

/* The free one that suits `kg` best: the smallest that holds it, else the largest. -1: none. */
static int find_single(const singles *s, int64_t from_s, int64_t kg)
{
    int best = -1;
    for (int i = 0; i < s->count; i++) {
        if (s->free_s[i] > from_s)
            continue;
        if (s->single[i].holds_kg >= kg)
            return i;
        if (best < 0 || s->single[i].holds_kg > s->single[best].holds_kg)
            best = i;
    }
    return best;
}

/* Puts `kg` into single stores from `from_s` until `until_s`; what finds no room is returned. `count`: places
 * in use; places NULL: not wanted. */
static int64_t put_single(singles *s, int64_t kg, int64_t from_s, int64_t until_s, int count, int *places)
{
    while (kg > 0 && count < EFI_SEASON_STORES_OF_LOT - 1) {
        const int i = find_single(s, from_s, kg);
        if (i < 0)
            break;
        s->free_s[i] = until_s + s->single[i].clean_s;
        kg -= kg < s->single[i].holds_kg ? kg : s->single[i].holds_kg;
        if (places)
            places[count] = s->single[i].store;
        count++;
    }
    return kg;
}

static int64_t room_price(int64_t kg, int64_t seconds, int64_t price)
{
    if (kg == 0 || seconds <= 0)
        return 0;
    return efi_season_scale(efi_season_scale(kg, seconds, EFI_SEASON_DAY_S), price, TONNE_KG);
}

static void clear_places(int *places)
{
    for (int i = 0; i < EFI_SEASON_STORES_OF_LOT && places; i++)
        places[i] = -1;
}

/* When the material of a lot comes. */
static int64_t comes_s(const efi_season_problem *p, const efi_season_moment *moment, int lot)
{
    const efi_season_lot *of = &p->lot[lot];
    return p->has_passes && of->after >= 0 ? moment[of->after].end_s : of->arrives_s;
}

/* Lots by when their material comes, equal ones by number; `order` is nearly sorted from the time before. */
static void sort_by_coming(const efi_season_problem *p, const efi_season_moment *moment, int *order)
{
    for (int i = 1; i < p->lots; i++) {
        const int l = order[i];
        const int64_t mine_s = comes_s(p, moment, l);
        int place = i;
        for (; place > 0; place--) {
            const int64_t sooner_s = mine_s - comes_s(p, moment, order[place - 1]);
            if (sooner_s > 0 || (sooner_s == 0 && order[place - 1] < l))
                break;
            order[place] = order[place - 1];
        }
        order[place] = l;
    }
}

int64_t efi_season_store_raw(const efi_season_model *model, const efi_season_moment *moment, int *order,
                             int64_t limit, efi_season_run *run)
{
    const efi_season_problem *p = model->problem;
    const int *by_coming = model->by_arrival;
    singles s;
    int64_t price = 0;
    if (model->has_passes) {
        sort_by_coming(p, moment, order);
        by_coming = order;
    }
    open_singles(&s, model->raw, model->raws);
    for (int i = 0; i < p->lots && price <= limit; i++) {
        const int l = by_coming[i];
        const int64_t from_s = comes_s(p, moment, l);
        const int64_t waits_s = moment[l].start_s - from_s;
        int *places = run ? run[l].raw : NULL;
        int64_t left = 0;
        clear_places(places);
        if (p->has_raw && waits_s > p->straight_s)
            left = put_single(&s, p->lot[l].raw_kg, from_s, moment[l].fed_s, 0, places);
        price += room_price(left, waits_s, p->raw_price);
        if (run)
            run[l].raw_missing_kg = left;
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

/* Shared stores. */
typedef struct floors {
    int64_t taken_kg[EFI_SEASON_MOST_STORES];
    lying list[EFI_SEASON_MOST_LOTS];
    int count;
} floors;

/* Puts `kg` into shared stores; what finds no room is returned. */
static int64_t put_shared(const efi_season_problem *p, floors *f, int64_t kg, int64_t until_s, int *place,
                          int *places)
{
    for (int s = 0; s < p->finisheds && kg > 0 && *place < EFI_SEASON_STORES_OF_LOT - 1; s++) {
        const int64_t room = p->finished[s].holds_kg - f->taken_kg[s];
        if (!p->finished[s].is_shared || room <= 0)
            continue;
        const int64_t put = kg < room ? kg : room;
        f->taken_kg[s] += put;
        f->list[f->count++] = (lying){until_s, put, s};
        kg -= put;
        if (places)
            places[*place] = s;
        (*place)++;
    }
    return kg;
}

/* Takes out of shared stores what has left by `now_s`. */
static void let_leave(floors *f, int64_t now_s)
{
    int kept = 0;
    for (int i = 0; i < f->count; i++) {
        if (f->list[i].leaves_s <= now_s)
            f->taken_kg[f->list[i].store] -= f->list[i].kg;
        else
            f->list[kept++] = f->list[i];
    }
    f->count = kept;
}

int64_t efi_season_store_finished(const efi_season_model *model, const efi_season_moment *moment, int *order,
                                  int64_t limit, efi_season_run *run)
{
    const efi_season_problem *p = model->problem;
    singles s;
    floors f;
    int64_t price = 0;
    f.count = 0;
    memset(f.taken_kg, 0, (size_t)p->finisheds * sizeof f.taken_kg[0]);
    sort_by_end(moment, order, p->lots);
    open_singles(&s, model->finished, model->finisheds);
    for (int i = 0; i < p->lots && price <= limit; i++) {
        const int l = order[i];
        const efi_season_lot *lot = &p->lot[l];
        const int64_t from_s = moment[l].end_s;
        const int64_t until_s = from_s + lot->leaves_s;
        int64_t left = p->has_finished && lot->leaves_s > 0 ? lot->product_kg : 0;
        int *places = run ? run[l].finished : NULL;
        int place = 0;
        clear_places(places);
        let_leave(&f, from_s);
        const int whole = find_single(&s, from_s, left);
        const bool fits = whole >= 0 && s.single[whole].holds_kg >= left;
        if (!fits && f.count < EFI_SEASON_MOST_LOTS - EFI_SEASON_STORES_OF_LOT)
            left = put_shared(p, &f, left, until_s, &place, places);
        left = put_single(&s, left, from_s, until_s, place, places);
        price += room_price(left, lot->leaves_s, p->finished_price);
        if (run)
            run[l].finished_missing_kg = left;
    }
    return price;
}
