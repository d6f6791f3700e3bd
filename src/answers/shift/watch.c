/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answers/shift/watch.h"

#include <string.h>

/* ---- what is looked for ---------------------------------------------------------------------------------
 */

static void find_feeders(efi_watch_plan *plan)
{
    const efi_network *network = plan->network;
    int used = 0;
    for (int n = 0; n < network->stations; n++) {
        plan->first_feeder[n] = used;
        for (int k = 0; k < network->spouts; k++)
            if (network->spout[k].to == n && !network->spout[k].is_return)
                plan->feeder[used++] = network->spout[k].from;
    }
    plan->first_feeder[network->stations] = used;
}

ef_status efi_watch_plan_build(efi_watch_plan *plan, efi_arena *arena, const efi_network *network,
                               double counted_h, int grid, int parts)
{
    const size_t stations = (size_t)network->stations;
    *plan = (efi_watch_plan){.network = network, .grid = grid * parts};
    plan->bin = efi_arena_get(arena, stations, sizeof *plan->bin);
    plan->order = efi_arena_get(arena, stations, sizeof *plan->order);
    plan->first_feeder = efi_arena_get(arena, stations + 1, sizeof *plan->first_feeder);
    plan->feeder = efi_arena_get(arena, (size_t)network->spouts, sizeof *plan->feeder);
    plan->grid_h = efi_arena_get(arena, (size_t)plan->grid, sizeof *plan->grid_h);
    if (!plan->bin || !plan->order || !plan->first_feeder || !plan->feeder || !plan->grid_h)
        return EF_MEMORY;
    for (int g = 0; g < plan->grid; g++) {
        const int part = g / grid;
        plan->grid_h[g] = counted_h * part + counted_h * (g % grid) / (grid - 1);
    }
    for (int n = 0; n < network->stations; n++) {
        if (network->station[n].kind == EFI_NETWORK_BIN)
            plan->bin[plan->bins++] = n;
        plan->seeks_material = plan->seeks_material || network->station[n].loads.is_used;
    }
    find_feeders(plan);
    int stuck;
    return efi_network_order(network, plan->order, &stuck);
}

/* ---- one run --------------------------------------------------------------------------------------------
 */

ef_status efi_watch_build(efi_watch *watch, const efi_watch_plan *plan)
{
    const size_t stations = (size_t)plan->network->stations;
    *watch = (efi_watch){.plan = plan};
    watch->hours = efi_new(stations, sizeof *watch->hours);
    watch->state = efi_new(stations, sizeof *watch->state);
    watch->lacks = efi_new(stations, sizeof *watch->lacks);
    watch->before_t = efi_new((size_t)plan->bins, sizeof *watch->before_t);
    watch->gain_tph = efi_new((size_t)plan->bins, sizeof *watch->gain_tph);
    if (watch->hours && watch->state && watch->lacks && watch->before_t && watch->gain_tph)
        return EF_OK;
    efi_watch_free(watch);
    return EF_MEMORY;
}

void efi_watch_free(efi_watch *watch)
{
    efi_free(watch->hours);
    efi_free(watch->state);
    efi_free(watch->lacks);
    efi_free(watch->before_t);
    efi_free(watch->gain_tph);
    *watch = (efi_watch){0};
}

/* Does a station get nothing for want of material? An intake that has none; a station that is starved, or
 * waits for its bin, where that holds for all that feed it; a bin likewise. */
static bool lacks_material(const efi_watch_plan *plan, const unsigned char *state, const bool *lacking, int n)
{
    const efi_network_kind kind = plan->network->station[n].kind;
    const bool empty_handed = state[n] == EFI_STATE_STARVED || state[n] == EFI_STATE_WAITING;
    if (kind == EFI_NETWORK_INTAKE)
        return empty_handed;
    bool lacks = kind == EFI_NETWORK_BIN || empty_handed;
    for (int f = plan->first_feeder[n]; lacks && f < plan->first_feeder[n + 1]; f++)
        lacks = lacking[plan->feeder[f]];
    return lacks;
}

void efi_watch_find_lacking(const efi_watch_plan *plan, const unsigned char *state, bool *lacks)
{
    for (int i = 0; i < plan->network->stations; i++)
        lacks[plan->order[i]] = lacks_material(plan, state, lacks, plan->order[i]);
}

/* Notes what holds from now on. */
static void look(efi_watch *watch, const efi_engine *engine)
{
    const efi_watch_plan *plan = watch->plan;
    for (int b = 0; b < plan->bins; b++) {
        watch->before_t[b] = efi_engine_level_t(engine, plan->bin[b]);
        watch->gain_tph[b] = efi_engine_gain_tph(engine, plan->bin[b]);
    }
    for (int n = 0; n < plan->network->stations; n++)
        if (plan->network->station[n].kind != EFI_NETWORK_BIN)
            watch->state[n] = (unsigned char)efi_engine_state(engine, n);
    if (plan->seeks_material)
        efi_watch_find_lacking(plan, watch->state, watch->lacks);
}

static void add_hours(efi_watch *watch, double hours)
{
    for (int n = 0; n < watch->plan->network->stations; n++) {
        if (watch->plan->network->station[n].kind == EFI_NETWORK_BIN)
            continue;
        if (watch->state[n] == EFI_STATE_STARVED)
            watch->hours[n].starved_h[watch->lacks[n]] += hours;
        else if (watch->state[n] == EFI_STATE_WAITING)
            watch->hours[n].waiting_h[watch->lacks[n]] += hours;
    }
}

/* Levels at the hours of the grid between the last look and `now_h`: straight lines. */
static void add_levels(efi_watch *watch, double now_h)
{
    const efi_watch_plan *plan = watch->plan;
    while (watch->next < plan->grid && watch->origin_h + plan->grid_h[watch->next] <= now_h) {
        const double hours = watch->origin_h + plan->grid_h[watch->next] - watch->at_h;
        for (int b = 0; b < plan->bins; b++)
            watch->level_t[watch->next * plan->bins + b] = watch->before_t[b] + watch->gain_tph[b] * hours;
        watch->next++;
    }
}

static void move_to(efi_watch *watch, double now_h)
{
    if (watch->plan->seeks_material && now_h > watch->at_h)
        add_hours(watch, now_h - watch->at_h);
    if (watch->level_t)
        add_levels(watch, now_h);
    watch->at_h = now_h;
}

static void watch_event(void *context, const efi_engine *engine, const efi_event *event)
{
    efi_watch *watch = context;
    move_to(watch, event->at_h);
    look(watch, engine);
}

void efi_watch_begin(efi_watch *watch, efi_engine *engine, double *level_t)
{
    watch->origin_h = watch->at_h = efi_engine_now_h(engine);
    watch->next = 0;
    watch->level_t = level_t;
    memset(watch->hours, 0, (size_t)watch->plan->network->stations * sizeof *watch->hours);
    look(watch, engine);
    if (watch->plan->seeks_material || level_t)
        efi_engine_watch(engine, watch_event, watch);
}

void efi_watch_settle(efi_watch *watch, const efi_engine *engine)
{
    move_to(watch, efi_engine_now_h(engine));
    look(watch, engine);
}

void efi_watch_end(efi_watch *watch, efi_engine *engine)
{
    efi_watch_settle(watch, engine);
    /* the hour of the last one may lie a rounding behind the end */
    for (int b = 0; watch->level_t && watch->next < watch->plan->grid && b < watch->plan->bins; b++)
        watch->level_t[watch->next * watch->plan->bins + b] = watch->before_t[b];
    efi_engine_watch(engine, NULL, NULL);
}
