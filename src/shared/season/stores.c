/* SPDX-License-Identifier: GPL-3.0-or-later
 * Who lies in which store, and what finds no room. */
#include "shared/season/model.h"

#include <string.h>

#define TONNE_KG 1000

/* What lies in a shared store. */
typedef struct lying {
    int64_t leaves_s;
    int64_t taken; /* kg, or l in a store by volume */
    int store;
} lying;

enum {
    WORD = 64,
    WORDS = (EFI_SEASON_MOST_STORES + WORD - 1) / WORD
};

/* When a store is free again. */
typedef struct freed {
    int64_t free_s;
    int single;
} freed;

/* Single stores, the smallest first: a bit for each that is free now, and a queue of the others. */
typedef struct singles {
    const efi_season_single *single;
    bool mixed;        /* by mass and by volume: in no order of size */
    int64_t kg_per_m3; /* of the lot that is being put away */
    int count, words;
    uint64_t free[WORDS];
    freed
        queue[EFI_SEASON_MOST_LOTS * EFI_SEASON_STORES_OF_LOT]; /* shape [head..tail - 1], the first first */
    int head, tail;
} singles;

static void open_singles(singles *s, const efi_season_single *single, int count, bool mixed)
{
    s->single = single;
    s->count = count;
    s->mixed = mixed;
    s->head = s->tail = 0;
    s->words = (count + WORD - 1) / WORD;
    for (int w = 0; w < s->words; w++) {
        const int bits = count - w * WORD;
        s->free[w] = bits >= WORD ? UINT64_MAX : bits > 0 ? (UINT64_C(1) << bits) - 1 : 0;
    }
}

/* Where a lot is put. */
typedef struct spots {
    int *store; /* NULL: not wanted */
    int64_t *kg;
    int count;
} spots;

static void note_spot(spots *at, int store, int64_t kg)
{
    if (at->store) {
        at->store[at->count] = store;
        at->kg[at->count] = kg;
    }
    at->count++;
}

static bool is_free(const singles *s, int i)
{
    return s->free[i / WORD] >> (i % WORD) & 1;
}

/* What a store holds of the lot. */
static inline int64_t holds_kg(const singles *s, int i)
{
    return efi_season_holds_kg(&s->single[i], s->kg_per_m3);
}

/* Time goes on to `now_s`. */
static inline void open_until(singles *s, int64_t now_s)
{
    while (s->head < s->tail && s->queue[s->head].free_s <= now_s) {
        const int i = s->queue[s->head++].single;
        s->free[i / WORD] |= UINT64_C(1) << (i % WORD);
    }
}

static void close_single(singles *s, int i, int64_t free_s)
{
    int place = s->tail++;
    for (; place > s->head && s->queue[place - 1].free_s > free_s; place--)
        s->queue[place] = s->queue[place - 1];
    s->queue[place] = (freed){free_s, i};
    s->free[i / WORD] &= ~(UINT64_C(1) << (i % WORD));
}

/* The same as find_single where stores are in no order of size. */
static int find_mixed(const singles *s, int64_t kg)
{
    int best = -1;
    int64_t best_kg = 0;
    for (int i = 0; i < s->count; i++) {
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
static int find_single(const singles *s, int fit, int64_t kg)
{
    if (s->mixed)
        return find_mixed(s, kg);
    for (int w = fit / WORD; w < s->words; w++) {
        const uint64_t word = w == fit / WORD ? s->free[w] >> (fit % WORD) << (fit % WORD) : s->free[w];
        if (word != 0)
            return w * WORD + __builtin_ctzll(word);
    }
    for (int w = s->words - 1; w >= 0; w--) {
        if (s->free[w] == 0)
            continue;
        int best = w * WORD + WORD - 1 - __builtin_clzll(s->free[w]);
        for (int i = best - 1; i >= 0 && holds_kg(s, i) == holds_kg(s, best); i--)
            best = is_free(s, i) ? i : best; /* of equal ones that of the lowest number */
        return best;
    }
    return -1;
}

/* Puts `kg`, which the stores from number `fit` on hold, into free ones until `until_s`; what finds no room
 * is returned. */
static int64_t put_single(singles *s, int64_t kg, int fit, int64_t until_s, spots *at)
{
    while (kg > 0 && at->count < EFI_SEASON_STORES_OF_LOT - 1) {
        const int i = find_single(s, fit, kg);
        const int64_t room_kg = i < 0 ? 0 : holds_kg(s, i);
        if (room_kg <= 0)
            break;
        const int64_t put_kg = kg < room_kg ? kg : room_kg;
        close_single(s, i, until_s + s->single[i].clean_s);
        kg -= put_kg;
        note_spot(at, s->single[i].store, put_kg);
        if (kg > 0)
            fit = efi_season_fit(s->single, s->count, kg, s->kg_per_m3);
    }
    return kg;
}

static int64_t room_price(int64_t kg, int64_t seconds, int64_t price)
{
    if (kg == 0 || seconds <= 0)
        return 0;
    return efi_season_scale(efi_season_scale(kg, seconds, EFI_SEASON_DAY_S), price, TONNE_KG);
}

static spots open_spots(int *store, int64_t *kg)
{
    for (int i = 0; i < EFI_SEASON_STORES_OF_LOT && store; i++) {
        store[i] = -1;
        kg[i] = 0;
    }
    return (spots){store, kg, 0};
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
    open_singles(&s, model->raw, model->raws, model->mixed[0]);
    for (int i = 0; i < p->lots && price <= limit; i++) {
        const int l = by_coming[i];
        const int64_t from_s = comes_s(p, moment, l);
        const int64_t waits_s = moment[l].start_s - from_s;
        spots at = run ? open_spots(run[l].raw, run[l].raw_kg) : (spots){0};
        int64_t left = 0;
        s.kg_per_m3 = p->lot[l].raw_kgpm3;
        if (p->has_raw && waits_s > p->straight_s) {
            open_until(&s, from_s);
            left = put_single(&s, p->lot[l].raw_kg, model->raw_fit[l], moment[l].fed_s, &at);
        }
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
    int64_t taken[EFI_SEASON_MOST_STORES]; /* kg, or l in a store by volume */
    lying list[EFI_SEASON_MOST_LOTS];
    int count;
} floors;

/* Puts `kg` into shared stores; what finds no room is returned. */
static int64_t put_shared(const efi_season_problem *p, floors *f, const efi_season_lot *lot, int64_t kg,
                          int64_t until_s, spots *at)
{
    for (int s = 0; s < p->finisheds && kg > 0 && at->count < EFI_SEASON_STORES_OF_LOT - 1; s++) {
        const efi_season_store *store = &p->finished[s];
        const bool by_volume = store->holds_l > 0;
        const int64_t left = (by_volume ? store->holds_l : store->holds_kg) - f->taken[s];
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
        f->taken[s] += taken;
        f->list[f->count++] = (lying){until_s, taken, s};
        kg -= put_kg;
        note_spot(at, s, put_kg);
    }
    return kg;
}

/* Takes out of shared stores what has left by `now_s`. */
static void let_leave(floors *f, int64_t now_s)
{
    int kept = 0;
    for (int i = 0; i < f->count; i++) {
        if (f->list[i].leaves_s <= now_s)
            f->taken[f->list[i].store] -= f->list[i].taken;
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
    memset(f.taken, 0, (size_t)p->finisheds * sizeof f.taken[0]);
    sort_by_end(moment, order, p->lots);
    open_singles(&s, model->finished, model->finisheds, model->mixed[1]);
    for (int i = 0; i < p->lots && price <= limit; i++) {
        const int l = order[i];
        const efi_season_lot *lot = &p->lot[l];
        const int64_t from_s = moment[l].end_s;
        const int64_t until_s = from_s + lot->leaves_s;
        int64_t left = p->has_finished && lot->leaves_s > 0 ? lot->product_kg : 0;
        spots at = run ? open_spots(run[l].finished, run[l].finished_kg) : (spots){0};
        s.kg_per_m3 = lot->product_kgpm3;
        let_leave(&f, from_s);
        open_until(&s, from_s);
        int fit = model->finished_fit[l];
        const int whole = find_single(&s, fit, left);
        if ((whole < 0 || holds_kg(&s, whole) < left) &&
            f.count < EFI_SEASON_MOST_LOTS - EFI_SEASON_STORES_OF_LOT) {
            left = put_shared(p, &f, lot, left, until_s, &at);
            fit = efi_season_fit(s.single, s.count, left, s.kg_per_m3);
        }
        left = put_single(&s, left, fit, until_s, &at);
        price += room_price(left, lot->leaves_s, p->finished_price);
        if (run)
            run[l].finished_missing_kg = left;
    }
    return price;
}
