/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/lots/deal.h"

#include "shared/lots/list.h"
#include "shared/lots/rules.h"
#include "shared/plant/running.h"

#include <math.h>

/* Hours added where one lot must never follow another: more than any list takes. */
#define NEVER_H 1e9

typedef struct dealer {
    const ef_scenario *scenario;
    efi_arena *arena;
    int lines;
    double *rate_tph; /* shape [crops][lines]; 0: it cannot; below 0: not looked at yet */
    double *until_h;  /* shape [lines]: of the lots that it has been given */
    int *last;        /* shape [lines]: the last of them, -1 */
} dealer;

/* What a line takes of a crop in the balance in which all lines run; 0: nothing. */
static ef_status find_rate(const dealer *d, int crop, int line, double *rate_tph)
{
    efi_arena *arena = efi_arena_new();
    efi_running running = {0};
    efi_running_tangle tangle;
    if (!arena)
        return EF_MEMORY;
    ef_status status = efi_running_build(&running, arena, d->scenario, crop);
    if (status == EF_OK && running.rate_tph > 0.0)
        status = efi_running_keep_line(&running, arena, line, &tangle);
    *rate_tph = status == EF_OK ? running.rate_tph : 0.0;
    efi_running_free(&running);
    efi_arena_free(arena);
    return status == EF_NO_ANSWER ? EF_OK : status;
}

static bool may_run(const efi_scenario_lot *lot, int line)
{
    for (int i = 0; i < lot->lines.count; i++)
        if (lot->lines.items[i] == line)
            return true;
    return lot->lines.count == 0;
}

/* Until when a line would be at work with this lot, later than any other where the lot must not follow its
 * last; infinite where it cannot run it. */
static ef_status find_end(dealer *d, int l, int line, double *until_h)
{
    const efi_scenario_lot *lot = &d->scenario->lots[l];
    double *rate_tph = &d->rate_tph[lot->crop * d->lines + line];
    efi_clean_down clean = {0};
    if (*rate_tph < 0.0)
        EF_TRY(find_rate(d, lot->crop, line, rate_tph));
    if (d->last[line] >= 0)
        clean = efi_season_clean_down(d->scenario, &d->scenario->lots[d->last[line]], lot, line);
    const double tonnes_t = lot->left_t.given ? lot->left_t.value : lot->amount_t.value;
    *until_h = *rate_tph > 0.0
                   ? d->until_h[line] + clean.clean_h + tonnes_t / *rate_tph + (clean.never ? NEVER_H : 0.0)
                   : INFINITY;
    return EF_OK;
}

/* The line for a lot. */
static ef_status choose(dealer *d, int l, int *line)
{
    double best_h = INFINITY;
    *line = -1;
    for (int i = 0; i < d->lines; i++) {
        double until_h;
        if (!may_run(&d->scenario->lots[l], i))
            continue;
        EF_TRY(find_end(d, l, i, &until_h));
        if (*line >= 0 && !(until_h < best_h))
            continue;
        *line = i;
        best_h = until_h;
    }
    *line = *line < 0 ? 0 : *line;
    d->until_h[*line] = best_h < INFINITY ? best_h : d->until_h[*line];
    d->last[*line] = l;
    return EF_OK;
}

static ef_status start(dealer *d)
{
    const size_t rates = (size_t)d->scenario->crop_count * (size_t)d->lines;
    d->rate_tph = efi_arena_get(d->arena, rates, sizeof *d->rate_tph);
    d->until_h = efi_arena_get(d->arena, (size_t)d->lines, sizeof *d->until_h);
    d->last = efi_arena_get(d->arena, (size_t)d->lines, sizeof *d->last);
    if (!d->rate_tph || !d->until_h || !d->last)
        return EF_MEMORY;
    for (size_t i = 0; i < rates; i++)
        d->rate_tph[i] = -1.0;
    for (int line = 0; line < d->lines; line++)
        d->last[line] = -1;
    return EF_OK;
}

/* Sorts lots by line, keeping their order. */
static ef_status sort(efi_lots_deal *deal, efi_arena *arena, const int *lot, const int *line, int count)
{
    deal->first = efi_arena_get(arena, (size_t)deal->lines + 1, sizeof *deal->first);
    deal->lots = efi_arena_get(arena, (size_t)count, sizeof *deal->lots);
    if (!deal->first || !deal->lots)
        return EF_MEMORY;
    int next = 0;
    for (int i = 0; i < deal->lines; i++) {
        deal->first[i] = next;
        for (int k = 0; k < count; k++)
            if (line[k] == i)
                deal->lots[next++] = lot[k];
    }
    deal->first[deal->lines] = next;
    return EF_OK;
}

ef_status efi_lots_deal_build(efi_lots_deal *deal, efi_arena *arena, const ef_scenario *scenario,
                              const int *order, const int *line_of, int count, char **reason)
{
    dealer d = {.scenario = scenario, .arena = arena, .lines = scenario->line_count};
    const int room = order ? count : scenario->lot_count;
    int *lot = efi_arena_get(arena, (size_t)room, sizeof *lot);
    int *line = efi_arena_get(arena, (size_t)room, sizeof *line);
    int found = 0;
    *deal = (efi_lots_deal){.lines = scenario->line_count};
    if (!lot || !line)
        return EF_MEMORY;
    EF_TRY(start(&d));
    for (int k = 0; k < room; k++) {
        const int l = order ? order[k] : k;
        const int state = scenario->lots[l].state;
        if (order ? state == EFI_LOT_DONE : state != EFI_LOT_WAITING)
            continue;
        lot[found] = l;
        if (order && line_of)
            line[found] = line_of[k];
        else
            EF_TRY(choose(&d, l, &line[found]));
        found++;
    }
    return found > 0 ? sort(deal, arena, lot, line, found) : efi_lot_list_refuse_empty(scenario, reason);
}
