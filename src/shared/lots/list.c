/* SPDX-License-Identifier: GPL-3.0-or-later
 * Which lots run, in which order, and at which steady rates. */
#include "shared/lots/list.h"

#include "base/text.h"

#include <string.h>

static ef_status refuse(efi_text *words, char **reason)
{
    if (reason && !words->failed)
        *reason = words->bytes;
    else
        efi_text_free(words);
    return EF_NO_ANSWER;
}

/* ---- which lots -----------------------------------------------------------------------------------------
 */

ef_status efi_lot_list_refuse_empty(const ef_scenario *scenario, char **reason)
{
    efi_text words = {0};
    if (scenario->lot_count == 0)
        efi_text_add(&words, "the scenario has no lots; they belong under `lots`");
    else
        efi_text_addf(&words,
                      "none of the scenario's %d lots is waiting to be run: they are frozen, running or done",
                      scenario->lot_count);
    return refuse(&words, reason);
}

static ef_status pick(efi_lot_list *list, efi_arena *arena, const int *order, int count, char **reason)
{
    const ef_scenario *scenario = list->scenario;
    const size_t room = (size_t)(order ? count : scenario->lot_count);
    list->lots = efi_arena_get(arena, room, sizeof *list->lots);
    if (!list->lots)
        return EF_MEMORY;
    for (size_t i = 0; i < room; i++) {
        const int l = order ? order[i] : (int)i;
        const efi_scenario_lot *lot = &scenario->lots[l];
        if (order ? lot->state == EFI_LOT_DONE : lot->state != EFI_LOT_WAITING)
            continue;
        list->lots[list->count++] = (efi_listed_lot){
            .lot = l, .of = lot, .tonnes_t = lot->left_t.given ? lot->left_t.value : lot->amount_t.value};
    }
    list->left_out = scenario->lot_count - list->count;
    return list->count > 0 ? EF_OK : efi_lot_list_refuse_empty(scenario, reason);
}

/* ---- cleaning -------------------------------------------------------------------------------------------
 */

static ef_status find_cleaning(efi_lot_list *list, char **reason)
{
    for (int k = 1; k < list->count; k++) {
        efi_listed_lot *lot = &list->lots[k];
        lot->clean = efi_season_clean_down(list->scenario, list->lots[k - 1].of, lot->of,
                                           list->on_line < 0 ? 0 : list->on_line);
        if (!lot->clean.never)
            continue;
        efi_text words = {0};
        efi_text_addf(&words,
                      "lot %s must not follow lot %s, by the rule \"%s\"; put another lot between them, or "
                      "take the order of a plan with --plan",
                      lot->of->name, list->lots[k - 1].of->name, lot->clean.rule->name);
        return refuse(&words, reason);
    }
    return EF_OK;
}

static bool names_stations(const efi_season *season)
{
    for (int r = 0; r < season->changeover_count; r++)
        for (int s = 0; s < season->changeovers[r].station_count; s++)
            if (season->changeovers[r].stations[s].takes_h.given)
                return true;
    return false;
}

/* ---- rates ----------------------------------------------------------------------------------------------
 */

int efi_lot_list_crop(const efi_lot_list *list, int crop)
{
    for (int c = 0; c < list->crop_count; c++)
        if (list->crops[c] == crop)
            return c;
    return -1;
}

static ef_status refuse_crop(const efi_scenario_lot *lot, const char *crop, char **reason)
{
    efi_text words = {0};
    efi_text_addf(&words,
                  "the line cannot run lot %s: the steady balance of %s has no answer; see evenfeed balance "
                  "--crop \"%s\"",
                  lot->name, crop, crop);
    return refuse(&words, reason);
}

static ef_status refuse_line(const efi_lot_list *list, const efi_scenario_lot *lot,
                             const efi_running *running, const efi_running_tangle *tangle, char **reason)
{
    const char *name = list->scenario->lines[list->on_line].name;
    const char *crop = list->scenario->crops[lot->crop].name;
    const efi_line_station *stations = running->line.stations;
    efi_text words = {0};
    if (tangle->from < 0)
        efi_text_addf(
            &words,
            "line %s cannot run lot %s: the steady balance of %s sends nothing to it, as it may where "
            "a split is free and its branch has no `least share`; see evenfeed balance --crop \"%s\"",
            name, lot->name, crop, crop);
    else
        efi_text_addf(&words,
                      "a list of lots runs on each line of its own, but what leaves %s goes to %s as well as "
                      "along line %s, so that a lot of %s would be on both; only a split may part lots "
                      "between lines",
                      stations[tangle->from].of->name, stations[tangle->to].of->name, name, crop);
    return refuse(&words, reason);
}

/* Of a plant of several lines: leaves that of the list. */
static ef_status keep_line(const efi_lot_list *list, efi_arena *arena, const efi_scenario_lot *lot,
                           efi_running *running, char **reason)
{
    efi_running_tangle tangle;
    if (list->on_line < 0)
        return EF_OK;
    const ef_status status = efi_running_keep_line(running, arena, list->on_line, &tangle);
    return status == EF_NO_ANSWER ? refuse_line(list, lot, running, &tangle, reason) : status;
}

static double product_share(const efi_running *running)
{
    const efi_line *line = &running->line;
    double product_tph = 0.0;
    for (int s = 0; s < line->station_count; s++)
        if (line->stations[s].of->product)
            product_tph += efi_line_total(line, running->model.feeds + (size_t)s * (size_t)line->materials);
    return product_tph / running->rate_tph;
}

static ef_status add_crop(efi_lot_list *list, efi_arena *arena, const efi_listed_lot *lot, char **reason)
{
    const int crop = lot->of->crop;
    list->crops[list->crop_count] = crop;
    efi_running *running = &list->running[list->crop_count++];
    const ef_status status = efi_running_build(running, arena, list->scenario, crop);
    if (status == EF_NO_ANSWER || (status == EF_OK && !(running->rate_tph > 0.0)))
        return refuse_crop(lot->of, list->scenario->crops[crop].name, reason);
    EF_TRY(status);
    EF_TRY(keep_line(list, arena, lot->of, running, reason));
    for (int s = 0; s < running->line.station_count; s++) {
        const efi_station *of = running->line.stations[s].of;
        if (running->part && !(running->part[s] > 0.0))
            continue;
        list->has_batches = list->has_batches || (of->batch && of->batch->charge_t[crop].given);
        list->has_loads = list->has_loads || of->receipts;
    }
    return EF_OK;
}

static ef_status find_rates(efi_lot_list *list, efi_arena *arena, char **reason)
{
    const size_t crops = (size_t)list->scenario->crop_count;
    list->crops = efi_arena_get(arena, crops, sizeof *list->crops);
    list->running = efi_arena_get(arena, crops, sizeof *list->running);
    if (!list->crops || !list->running)
        return EF_MEMORY;
    for (int k = 0; k < list->count; k++) {
        efi_listed_lot *lot = &list->lots[k];
        if (efi_lot_list_crop(list, lot->of->crop) < 0)
            EF_TRY(add_crop(list, arena, lot, reason));
        const efi_running *running = &list->running[efi_lot_list_crop(list, lot->of->crop)];
        lot->balance_tph = running->rate_tph;
        lot->product_share = product_share(running);
    }
    return EF_OK;
}

ef_status efi_lot_list_build(efi_lot_list *list, efi_arena *arena, const ef_scenario *scenario, int line,
                             const int *order, int count, char **reason)
{
    const efi_season *season = scenario->season;
    *list = (efi_lot_list){.scenario = scenario, .on_line = line};
    list->is_cleared_after_all = season->cleaning == EFI_CLEANING_STATIONS && !names_stations(season);
    list->is_line_clear = season->cleaning == EFI_CLEANING_LINE || list->is_cleared_after_all;
    EF_TRY(pick(list, arena, order, count, reason));
    EF_TRY(find_cleaning(list, reason));
    return find_rates(list, arena, reason);
}

void efi_lot_list_free(efi_lot_list *list)
{
    for (int c = 0; c < list->crop_count; c++)
        efi_running_free(&list->running[c]);
}

double efi_lot_list_least_h(const efi_lot_list *list)
{
    double hours = 0.0;
    for (int k = 0; k < list->count; k++)
        hours += list->lots[k].tonnes_t / list->lots[k].balance_tph +
                 (list->is_line_clear ? list->lots[k].clean.clean_h : 0.0);
    return hours;
}
