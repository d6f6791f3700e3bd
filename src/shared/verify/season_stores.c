/* SPDX-License-Identifier: GPL-3.0-or-later
 * Who lies where: the stores are those of the scenario; every lot has room or its lack is told; no store
 * holds more than it can at the density of the crop, nor two lots where it may hold one; each is cleaned in
 * between; and no lot lies in another store than the smallest free one that holds it, or the largest. */
#include "shared/verify/season.h"

#include <math.h>
#include <string.h>

/* Tonnes are kilograms inside; a store by volume is filled to a kilogram of each lot. */
#define NEAR_T  0.0015
#define NEAR_M3 0.004

/* The store of the scenario that one of the answer is. */
static const efi_store *store_of(const efi_season_check *c, int number)
{
    const efi_season *season = c->scenario->season;
    for (int s = 0; s < season->store_count; s++) {
        if (number < season->stores[s].count)
            return &season->stores[s];
        number -= season->stores[s].count;
    }
    return NULL;
}

/* Stores of the scenario, one by one. */
static int count_stores(const efi_season_check *c)
{
    int count = 0;
    for (int s = 0; s < c->scenario->season->store_count; s++)
        count += c->scenario->season->stores[s].count;
    return count;
}

static int64_t clean_s(const efi_store *store)
{
    return store->clean_h.given ? (int64_t)(store->clean_h.value * 3600.0 + 0.5) : 0;
}

/* What a tonne of a lot takes in a store, in the measure of the store. */
static double measure(const efi_season_check *c, const efi_store *store, int lot)
{
    if (store->holds.of != EFI_KIND_VOLUME)
        return 1.0;
    const efi_value density = c->scenario->crops[c->scenario->lots[lot].crop].density_tpm3;
    return 1.0 / (density.given ? density.value : 1.0);
}

static void check_overlaps(const efi_season_check *c, const ef_season_stay *stay, const efi_store *store)
{
    double sum = 0.0;
    for (int k = 0; k < c->claim->stay_count; k++) {
        const ef_season_stay *other = &c->claim->stays[k];
        if (other->store != stay->store)
            continue;
        const bool meets = other->from <= stay->from && stay->from < other->to;
        if (meets)
            sum += other->amount_t * measure(c, store, other->lot);
        if (store->is_shared || other->lot == stay->lot)
            continue;
        if (other->from <= stay->from && stay->from < other->to + clean_s(store))
            efi_differ(c->list, "%s holds %s until its cleaning is over, and is given to another lot before",
                       c->claim->stores[stay->store].name, c->scenario->lots[other->lot].name);
    }
    const bool by_volume = store->holds.of == EFI_KIND_VOLUME;
    if (!(sum <= store->holds.value + (by_volume ? NEAR_M3 : NEAR_T)))
        efi_differ(c->list, "%s holds %.3f %s, which is more than it can", c->claim->stores[stay->store].name,
                   sum, by_volume ? "m3" : "t");
}

/* Is a store of one lot free when a lot finds no room? */
static bool is_free(const efi_season_check *c, int number, const efi_store *store, int64_t moment)
{
    for (int k = 0; k < c->claim->stay_count; k++) {
        const ef_season_stay *stay = &c->claim->stays[k];
        if (stay->store == number && stay->from <= moment && moment < stay->to + clean_s(store))
            return false;
    }
    return true;
}

/* What a store holds of a lot, tonnes. */
static double holds_t(const efi_season_check *c, const efi_store *store, int lot)
{
    return store->holds.value / measure(c, store, lot);
}

/* Has the run of a lot a store among its own? */
static bool is_told(const efi_season_check *c, const ef_season_stay *stay)
{
    const ef_season_run *run = c->lot[stay->lot].claim;
    const int *places = stay->finished ? run->finished : run->raw;
    for (int i = 0; i < EF_SEASON_MOST_STORES && places[i] >= 0; i++)
        if (places[i] == stay->store)
            return true;
    return false;
}

/*
 * The choice of a store that holds one lot: what lies in it is not what another free store would have been
 * taken for. A free store that holds all that lies there goes before a larger one, and before any that is
 * full and leaves a rest a free larger one. What is free is seen without those that were filled at this
 * moment, so nothing is told that might be right.
 */
static void check_choice(const efi_season_check *c, const ef_season_stay *stay, const efi_store *mine)
{
    const double mine_t = holds_t(c, mine, stay->lot);
    const bool is_full = stay->amount_t > mine_t - NEAR_T;
    for (int s = 0; s < c->claim->store_count; s++) {
        const efi_store *other = store_of(c, s);
        if (s == stay->store || !other || other->use != mine->use || other->is_shared ||
            !is_free(c, s, other, stay->from))
            continue;
        const double other_t = holds_t(c, other, stay->lot);
        const bool smaller = !is_full && other_t < mine_t - NEAR_T && other_t > stay->amount_t + NEAR_T;
        const bool whole = mine->is_shared && other_t > stay->amount_t + NEAR_T && !is_full;
        if (smaller && !mine->is_shared)
            efi_differ(c->list, "it lies in %s, and %s is smaller, free and holds it",
                       c->claim->stores[stay->store].name, c->claim->stores[s].name);
        else if (whole && other_t > c->lot[stay->lot].product_t + NEAR_T)
            efi_differ(c->list, "it lies in %s with others, and %s is free and holds it",
                       c->claim->stores[stay->store].name, c->claim->stores[s].name);
    }
}

/* The answer's list of stores is the scenario's, and the most in each what lies there. */
static void check_list(const efi_season_check *c)
{
    c->list->subject = NULL;
    efi_differ_count(c->list, "stores", c->claim->store_count, count_stores(c));
    for (int s = 0; s < c->claim->store_count; s++) {
        const ef_season_store *claim = &c->claim->stores[s];
        const efi_store *store = store_of(c, s);
        double most_t = 0.0;
        if (!store)
            continue;
        const bool by_volume = store->holds.of == EFI_KIND_VOLUME;
        c->list->subject = claim->name;
        efi_differ_flag(c->list, "is for product", claim->finished, store->use == EFI_STORE_FINISHED);
        efi_differ_flag(c->list, "holds several lots", claim->shared, store->is_shared);
        efi_differ_number(c->list, "it holds", "t", claim->holds_t, by_volume ? 0.0 : store->holds.value,
                          1e-9);
        efi_differ_number(c->list, "it holds", "m3", claim->holds_m3, by_volume ? store->holds.value : 0.0,
                          1e-9);
        efi_differ_number(c->list, "its cleaning", "h", claim->clean_h, (double)clean_s(store) / 3600.0,
                          1.0 / 3600.0);
        for (int k = 0; k < c->claim->stay_count; k++) {
            double sum_t = 0.0;
            for (int o = 0; o < c->claim->stay_count && c->claim->stays[k].store == s; o++) {
                const ef_season_stay *other = &c->claim->stays[o];
                if (other->store == s && other->from <= c->claim->stays[k].from &&
                    c->claim->stays[k].from < other->to)
                    sum_t += other->amount_t;
            }
            most_t = sum_t > most_t ? sum_t : most_t;
        }
        efi_differ_number(c->list, "the most in it", "t", claim->most_t, most_t, NEAR_T);
    }
    c->list->subject = NULL;
}

static void check_stay(const efi_season_check *c, const ef_season_stay *stay)
{
    if (stay->lot < 0 || stay->lot >= c->scenario->lot_count || !(stay->amount_t > 0.0)) {
        efi_differ(c->list, "a store holds a lot that there is not, or nothing of it");
        return;
    }
    const efi_lot_check *lot = &c->lot[stay->lot];
    if (!lot->claim)
        return;
    const int64_t from = stay->finished ? lot->claim->finished_from : lot->claim->raw_from;
    const int64_t to = stay->finished ? lot->claim->finished_to : lot->claim->raw_to;
    c->list->subject = c->scenario->lots[stay->lot].name;
    if (stay->from != from || stay->to != to)
        efi_differ(c->list, "it lies in a store at another time than its run says");
    if (stay->store < 0)
        return;
    const efi_store *store = stay->store < c->claim->store_count ? store_of(c, stay->store) : NULL;
    if (!store || (store->use == EFI_STORE_FINISHED) != stay->finished) {
        efi_differ(c->list, "it lies in a store that is not for that");
        return;
    }
    if (!is_told(c, stay))
        efi_differ(c->list, "it lies in %s, which its run does not say", c->claim->stores[stay->store].name);
    check_overlaps(c, stay, store);
    check_choice(c, stay, store);
}

static void check_lack(const efi_season_check *c, int lot, bool finished, double missing_t)
{
    const ef_season_run *run = c->lot[lot].claim;
    const int64_t from = finished ? run->finished_from : run->raw_from;
    const int *places = finished ? run->finished : run->raw;
    int used = 0;
    while (used < EF_SEASON_MOST_STORES && places[used] >= 0)
        used++;
    if (!(missing_t > NEAR_T) || used >= EF_SEASON_MOST_STORES - 1)
        return;
    for (int s = 0; s < c->claim->store_count; s++) {
        const efi_store *store = store_of(c, s);
        if (store && (store->use == EFI_STORE_FINISHED) == finished && !store->is_shared &&
            is_free(c, s, store, from))
            efi_differ(c->list, "%.1f t find no room, but %s is free", missing_t, c->claim->stores[s].name);
    }
}

/* Does a scenario count room of this use at all? */
static bool counts_room(const efi_season_check *c, bool finished)
{
    for (int s = 0; s < c->scenario->season->store_count; s++)
        if ((c->scenario->season->stores[s].use == EFI_STORE_FINISHED) == finished)
            return true;
    return false;
}

static double stored_t(const efi_season_check *c, int lot, bool finished, double *missing_t)
{
    double sum_t = 0.0;
    *missing_t = 0.0;
    for (int k = 0; k < c->claim->stay_count; k++) {
        const ef_season_stay *stay = &c->claim->stays[k];
        if (stay->lot != lot || stay->finished != finished)
            continue;
        sum_t += stay->amount_t;
        *missing_t += stay->store < 0 ? stay->amount_t : 0.0;
    }
    return sum_t;
}

static void check_lot(efi_season_check *c, int l)
{
    const efi_season *season = c->scenario->season;
    const efi_lot_check *lot = &c->lot[l];
    const ef_season_run *run = lot->claim;
    const int64_t straight_s = season->straight_h.given ? (int64_t)(season->straight_h.value * 3600.0 + 0.5)
                                                        : 0;
    const int64_t leaves_s = season->collected_h.given ? (int64_t)(season->collected_h.value * 3600.0 + 0.5)
                                                       : 0;
    const double no_room_ptd = (season->no_room_pth.given ? season->no_room_pth.value : 0.0) * 24.0;
    double missing_t;
    c->list->subject = c->scenario->lots[l].name;
    const int64_t waits_s = lot->start - lot->comes;
    const bool lies = counts_room(c, false) && waits_s > straight_s && lot->raw_t > 0.0;
    double sum_t = stored_t(c, l, false, &missing_t);
    efi_differ_number(c->list, "raw tonnes in stores", "t", sum_t, lies ? lot->raw_t : 0.0, NEAR_T);
    efi_differ_number(c->list, "raw tonnes without room", "t", run->raw_missing_t, missing_t, NEAR_T);
    if (lies && (run->raw_from != lot->comes || run->raw_to != lot->fed))
        efi_differ(c->list, "it lies in raw stores at another time than from its coming until the last of it "
                            "has gone into the line");
    check_lack(c, l, false, missing_t);
    const double raw = lies ? missing_t * (double)waits_s / 86400.0 * no_room_ptd : 0.0;
    efi_differ_number(c->list, "cost without raw room", "", run->raw_cost, raw, EFI_VERIFY_MONEY);
    c->term[EF_SEASON_RAW] += raw;
    const bool stays = counts_room(c, true) && leaves_s > 0 && lot->product_t > 0.0;
    sum_t = stored_t(c, l, true, &missing_t);
    efi_differ_number(c->list, "finished tonnes in stores", "t", sum_t, stays ? lot->product_t : 0.0, NEAR_T);
    efi_differ_number(c->list, "finished tonnes without room", "t", run->finished_missing_t, missing_t,
                      NEAR_T);
    if (stays && (run->finished_from != lot->end || run->finished_to != lot->end + leaves_s))
        efi_differ(c->list, "its product lies in stores at another time than from the run to its collection");
    check_lack(c, l, true, missing_t);
    const double finished = stays ? missing_t * (double)leaves_s / 86400.0 * no_room_ptd : 0.0;
    efi_differ_number(c->list, "cost without finished room", "", run->finished_cost, finished,
                      EFI_VERIFY_MONEY);
    c->term[EF_SEASON_FINISHED] += finished;
}

void efi_season_check_stores(efi_season_check *c)
{
    check_list(c);
    for (int k = 0; k < c->claim->stay_count; k++)
        check_stay(c, &c->claim->stays[k]);
    for (int l = 0; l < c->scenario->lot_count; l++)
        if (c->lot[l].claim && c->lot[l].is_worked_out)
            check_lot(c, l);
    c->list->subject = NULL;
}
