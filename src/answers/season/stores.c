/* SPDX-License-Identifier: GPL-3.0-or-later
 * The stores of a season, one by one. */
#include "answers/season/problem.h"
#include "base/text.h"

static const char *name_of(efi_arena *arena, const efi_store *store, int number)
{
    if (store->count <= 1)
        return store->name;
    efi_text text = {0};
    efi_text_addf(&text, "%s %d", store->name, number + 1);
    const char *name = text.failed ? NULL : efi_arena_text(arena, efi_text_get(&text), text.length);
    efi_text_free(&text);
    return name;
}

ef_status efi_season_find_stores(efi_season_case *of)
{
    const efi_season *season = of->scenario->season;
    int count = 0;
    for (int s = 0; s < season->store_count; s++)
        count += season->stores[s].count;
    ef_season_store *stores = efi_arena_get(of->arena, (size_t)count, sizeof *stores);
    efi_season_store *rooms[2];
    int used[2] = {0, 0};
    for (int u = 0; u < 2; u++) {
        rooms[u] = efi_arena_get(of->arena, (size_t)count, sizeof *rooms[u]);
        of->store_of[u] = efi_arena_get(of->arena, (size_t)count, sizeof *of->store_of[u]);
        if (!rooms[u] || !of->store_of[u] || !stores)
            return EF_MEMORY;
    }
    of->store_count = 0;
    for (int s = 0; s < season->store_count; s++) {
        const efi_store *store = &season->stores[s];
        const int u = store->use == EFI_STORE_FINISHED;
        const bool by_volume = store->holds.of == EFI_KIND_VOLUME;
        const double clean_h = store->clean_h.given ? store->clean_h.value : 0.0;
        const int64_t holds = efi_season_whole(store->holds.value, 1000.0); /* kg or l */
        for (int i = 0; i < store->count; i++) {
            rooms[u][used[u]] = (efi_season_store){.holds_kg = by_volume ? 0 : holds,
                                                   .holds_l = by_volume ? holds : 0,
                                                   .clean_s = efi_season_whole(clean_h, EFI_HOUR_S),
                                                   .is_shared = store->is_shared};
            of->store_of[u][used[u]++] = of->store_count;
            stores[of->store_count] = (ef_season_store){.name = name_of(of->arena, store, i),
                                                        .finished = u == 1,
                                                        .shared = store->is_shared,
                                                        .holds_t = by_volume ? 0.0 : store->holds.value,
                                                        .holds_m3 = by_volume ? store->holds.value : 0.0,
                                                        .clean_h = clean_h};
            if (!stores[of->store_count++].name)
                return EF_MEMORY;
        }
    }
    of->stores = stores;
    of->problem.raw = rooms[0];
    of->problem.raws = used[0];
    of->problem.finished = rooms[1];
    of->problem.finisheds = used[1];
    of->problem.has_raw = used[0] > 0;
    of->problem.has_finished = used[1] > 0;
    return EF_OK;
}
