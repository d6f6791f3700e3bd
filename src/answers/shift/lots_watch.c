/* SPDX-License-Identifier: GPL-3.0-or-later
 * Beside an engine that runs a list of lots: what of which lot comes in and goes out, and what stations do.
 */
#include "answers/shift/lots.h"
#include "shared/engine/rates.h"

#include <string.h>

/* ---- what is looked for ---------------------------------------------------------------------------------
 */

static void find_stations(efi_lots_watch_plan *plan, const efi_network *network)
{
    for (int n = 0; n < network->stations; n++) {
        plan->outlet_of[n] = -1;
        plan->takers += !efi_station_is_free(&network->station[n]);
        if (network->station[n].kind == EFI_NETWORK_INTAKE)
            plan->intake = n;
        if (network->station[n].kind != EFI_NETWORK_OUTLET)
            continue;
        plan->outlet_of[n] = plan->outlets;
        plan->outlet[plan->outlets++] = n;
    }
    for (int e = 0; e < network->spouts; e++)
        if (plan->outlet_of[network->spout[e].to] >= 0)
            plan->way[plan->ways++] = e;
}

ef_status efi_lots_watch_plan_build(efi_lots_watch_plan *plan, efi_arena *arena, const efi_lot_list *list)
{
    const efi_network *network = &list->plant.network;
    *plan = (efi_lots_watch_plan){.list = list};
    plan->outlet_of = efi_arena_get(arena, (size_t)network->stations, sizeof *plan->outlet_of);
    plan->outlet = efi_arena_get(arena, (size_t)network->stations, sizeof *plan->outlet);
    plan->way = efi_arena_get(arena, (size_t)network->spouts, sizeof *plan->way);
    if (!plan->outlet_of || !plan->outlet || !plan->way)
        return EF_MEMORY;
    find_stations(plan, network);
    return efi_watch_plan_build(&plan->material, arena, network, 1.0, 2, 1);
}

/* ---- one run --------------------------------------------------------------------------------------------
 */

ef_status efi_lots_watch_build(efi_lots_watch *watch, const efi_lots_watch_plan *plan)
{
    const size_t stations = (size_t)plan->list->plant.network.stations;
    const size_t lots = (size_t)plan->list->count;
    const size_t outlets = (size_t)plan->outlets;
    *watch = (efi_lots_watch){.plan = plan};
    watch->state = efi_new(stations, sizeof *watch->state);
    watch->lacks = efi_new(stations, sizeof *watch->lacks);
    watch->rate_tph = efi_new(stations, sizeof *watch->rate_tph);
    watch->way_tph = efi_new((size_t)plan->ways, sizeof *watch->way_tph);
    watch->way_lot = efi_new((size_t)plan->ways, sizeof *watch->way_lot);
    watch->passed = efi_new(lots, sizeof *watch->passed);
    watch->account = efi_new(stations, sizeof *watch->account);
    watch->begin_h = efi_new(lots, sizeof *watch->begin_h);
    watch->end_h = efi_new(lots, sizeof *watch->end_h);
    watch->in_t = efi_new(lots, sizeof *watch->in_t);
    watch->outlet_t = efi_new(lots * outlets, sizeof *watch->outlet_t);
    watch->total_t = efi_new(1 + outlets, sizeof *watch->total_t);
    const bool all = watch->state && watch->lacks && watch->rate_tph && watch->way_tph && watch->way_lot &&
                     watch->passed && watch->account && watch->begin_h && watch->end_h && watch->in_t &&
                     watch->outlet_t && watch->total_t;
    return all ? EF_OK : EF_MEMORY;
}

void efi_lots_watch_free(efi_lots_watch *watch)
{
    efi_free(watch->state);
    efi_free(watch->lacks);
    efi_free(watch->rate_tph);
    efi_free(watch->way_tph);
    efi_free(watch->way_lot);
    efi_free(watch->passed);
    efi_free(watch->account);
    efi_free(watch->begin_h);
    efi_free(watch->end_h);
    efi_free(watch->in_t);
    efi_free(watch->outlet_t);
    efi_free(watch->total_t);
    *watch = (efi_lots_watch){0};
}

/* Where the hours of a station go: what it gets nothing of for want of a lot at the intake is told apart. */
static ef_shift_hours hours_of(const efi_lots_watch *watch, int n)
{
    const efi_state state = (efi_state)watch->state[n];
    const bool empty_handed = state == EFI_STATE_STARVED || state == EFI_STATE_WAITING;
    return empty_handed && watch->lacks[n] ? EF_SHIFT_NO_MATERIAL : efi_shift_hours_of(state);
}

static void add_hours(efi_lots_watch *watch, double hours)
{
    const efi_network *network = &watch->plan->list->plant.network;
    for (int n = 0; n < network->stations; n++) {
        efi_lots_account *account = &watch->account[n];
        account->taken_t += watch->rate_tph[n] * hours;
        if (network->station[n].kind == EFI_NETWORK_BIN)
            continue;
        account->hours[hours_of(watch, n)] += hours;
        account->planned_h += watch->state[n] == EFI_STATE_PLANNED_STOP ? hours : 0.0;
    }
}

static void add_tonnes(efi_lots_watch *watch, double hours)
{
    const efi_lots_watch_plan *plan = watch->plan;
    const double in_t = watch->rate_tph[plan->intake] * hours;
    watch->total_t[0] += in_t;
    if (watch->intake_lot < plan->list->count)
        watch->in_t[watch->intake_lot] += in_t;
    for (int w = 0; w < plan->ways; w++) {
        const int outlet = plan->outlet_of[plan->list->plant.network.spout[plan->way[w]].to];
        const double out_t = watch->way_tph[w] * hours;
        watch->total_t[1 + outlet] += out_t;
        if (watch->way_lot[w] < plan->list->count)
            watch->outlet_t[watch->way_lot[w] * plan->outlets + outlet] += out_t;
    }
}

static void move_to(efi_lots_watch *watch, double now_h)
{
    const double hours = now_h - watch->at_h;
    watch->at_h = now_h;
    if (!(hours > 0.0) || watch->ended == watch->plan->list->count)
        return;
    add_hours(watch, hours);
    add_tonnes(watch, hours);
}

/* Notes what holds from now on. */
static void look(efi_lots_watch *watch)
{
    const efi_lots_watch_plan *plan = watch->plan;
    const efi_network *network = &plan->list->plant.network;
    const efi_engine *engine = watch->engine;
    for (int n = 0; n < network->stations; n++) {
        watch->rate_tph[n] = efi_engine_rate_tph(engine, n);
        if (network->station[n].kind != EFI_NETWORK_BIN)
            watch->state[n] = (unsigned char)efi_engine_state(engine, n);
    }
    efi_watch_find_lacking(&plan->material, watch->state, watch->lacks);
    for (int w = 0; w < plan->ways; w++) {
        watch->way_tph[w] = efi_engine_flow_tph(engine, plan->way[w]);
        watch->way_lot[w] = efi_engine_lot(engine, network->spout[plan->way[w]].from);
    }
    watch->intake_lot = efi_engine_lot(engine, plan->intake);
    const bool takes = watch->intake_lot < plan->list->count && watch->rate_tph[plan->intake] > 0.0;
    if (takes && watch->begin_h[watch->intake_lot] < 0.0)
        watch->begin_h[watch->intake_lot] = watch->at_h;
}

static void watch_event(void *context, const efi_engine *engine, const efi_event *event)
{
    efi_lots_watch *watch = context;
    (void)engine;
    move_to(watch, event->at_h);
    if (event->kind == EFI_EVENT_LOT_ENDED && ++watch->passed[event->unit] == watch->plan->takers) {
        watch->end_h[event->unit] = event->at_h;
        watch->ended++;
    }
    look(watch);
}

void efi_lots_watch_begin(efi_lots_watch *watch, efi_engine *engine)
{
    const size_t stations = (size_t)watch->plan->list->plant.network.stations;
    const size_t lots = (size_t)watch->plan->list->count;
    const size_t outlets = (size_t)watch->plan->outlets;
    watch->engine = engine;
    watch->at_h = 0.0;
    watch->ended = 0;
    watch->intake_lot = 0;
    memset(watch->state, EFI_STATE_STARVED, stations * sizeof *watch->state);
    memset(watch->lacks, 0, stations * sizeof *watch->lacks);
    memset(watch->rate_tph, 0, stations * sizeof *watch->rate_tph);
    memset(watch->way_tph, 0, (size_t)watch->plan->ways * sizeof *watch->way_tph);
    memset(watch->way_lot, 0, (size_t)watch->plan->ways * sizeof *watch->way_lot);
    memset(watch->passed, 0, lots * sizeof *watch->passed);
    memset(watch->account, 0, stations * sizeof *watch->account);
    memset(watch->in_t, 0, lots * sizeof *watch->in_t);
    memset(watch->outlet_t, 0, lots * outlets * sizeof *watch->outlet_t);
    memset(watch->total_t, 0, (1 + outlets) * sizeof *watch->total_t);
    for (size_t k = 0; k < lots; k++)
        watch->begin_h[k] = watch->end_h[k] = -1.0;
    efi_engine_watch(engine, watch_event, watch);
}

void efi_lots_watch_settle(efi_lots_watch *watch)
{
    move_to(watch, efi_engine_now_h(watch->engine));
    look(watch);
}
