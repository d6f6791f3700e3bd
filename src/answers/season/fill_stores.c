/* SPDX-License-Identifier: GPL-3.0-or-later
 * Who lies in which store, when. */
#include "answers/season/fill.h"

#include <stdlib.h>

static int by_store(const void *left, const void *right)
{
    const ef_season_stay *a = left;
    const ef_season_stay *b = right;
    if (a->store != b->store)
        return a->store < b->store ? -1 : 1;
    if (a->from != b->from)
        return a->from < b->from ? -1 : 1;
    return a->lot < b->lot ? -1 : a->lot > b->lot;
}

typedef struct list {
    ef_season_stay *stays;
    int count;
} list;

static void add_stay(list *to, const ef_season_stay *stay, int store, int64_t kg)
{
    if (kg <= 0)
        return;
    to->stays[to->count] = *stay;
    to->stays[to->count].store = store;
    to->stays[to->count++].amount_t = (double)kg / 1000.0;
}

static void add_stays(list *to, const ef_season_run *run, const efi_season_run *from, bool finished)
{
    const int *places = finished ? run->finished : run->raw;
    const int64_t *kg = finished ? from->finished_kg : from->raw_kg;
    const ef_season_stay stay = {.finished = finished,
                                 .lot = run->lot,
                                 .from = finished ? run->finished_from : run->raw_from,
                                 .to = finished ? run->finished_to : run->raw_to};
    for (int i = 0; i < EF_SEASON_MOST_STORES && places[i] >= 0; i++)
        add_stay(to, &stay, places[i], kg[i]);
    add_stay(to, &stay, -1, finished ? from->finished_missing_kg : from->raw_missing_kg);
}

/* The most that lies in each store at any time. */
static void find_most(const list *all, ef_season_store *stores)
{
    for (int i = 0; i < all->count; i++) {
        const ef_season_stay *stay = &all->stays[i];
        double sum_t = 0.0;
        for (int k = 0; stay->store >= 0 && k < all->count; k++) {
            const ef_season_stay *other = &all->stays[k];
            if (other->store == stay->store && other->from <= stay->from && other->to > stay->from)
                sum_t += other->amount_t;
        }
        if (stay->store >= 0 && sum_t > stores[stay->store].most_t)
            stores[stay->store].most_t = sum_t;
    }
}

ef_status efi_season_fill_stays(const efi_season_case *of, const efi_season_worked *worked, ef_season *season)
{
    const size_t most = (size_t)of->problem.lots * 2 * (EF_SEASON_MOST_STORES + 1);
    list all = {.stays = efi_arena_get(of->arena, most, sizeof *all.stays)};
    ef_season_store *stores = efi_arena_get(of->arena, (size_t)of->store_count, sizeof *stores);
    if (!all.stays || !stores)
        return EF_MEMORY;
    for (int s = 0; s < of->store_count; s++)
        stores[s] = of->stores[s];
    for (int r = 0; r < season->run_count; r++) {
        const ef_season_run *run = &season->runs[r];
        const int e = of->now[run->lot].engine;
        if (run->raw_from < run->raw_to)
            add_stays(&all, run, &worked->run[e], false);
        if (run->finished_from < run->finished_to)
            add_stays(&all, run, &worked->run[e], true);
    }
    find_most(&all, stores);
    qsort(all.stays, (size_t)all.count, sizeof *all.stays, by_store);
    season->stores = stores;
    season->store_count = of->store_count;
    season->stays = all.stays;
    season->stay_count = all.count;
    return EF_OK;
}
