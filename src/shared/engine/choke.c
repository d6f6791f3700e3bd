/* SPDX-License-Identifier: GPL-3.0-or-later
 * Two sets of stations. Shut: those that take nothing (or in doubt may not) because of something that can
 * end: a stop, a clean-down, a batch at work, a bin that waits for its level, somebody who is served first;
 * and all whose way leads to one of them. Held: those that stand, are not shut, and are held up by another of
 * them. As each of these waits for one that waits too, some lie on a loop, and nothing but a hand can set it
 * going. */
#include "shared/engine/choke.h"

#include "base/memory.h"

#include <math.h>

typedef struct view {
    const efi_engine *engine;
    const efi_network *network;
    bool *shut; /* shape [stations] */
    bool *held; /* the same */
    int *loop;  /* shape [stations], as efi_network_loops */
} view;

/* Does it pass on what comes by one way, where another is shut? */
static bool chooses_its_way(const efi_network_station *station)
{
    return station->kind == EFI_NETWORK_SPLIT && station->split != EFI_NETWORK_BY_SHARES;
}

/* Is there a way from station i to one of `set`, or where it chooses its way no other? */
static bool leads_to(const view *v, int i, const bool *set)
{
    const efi_network *network = v->network;
    const bool all = chooses_its_way(&network->station[i]);
    bool any = false;
    for (int e = 0; e < network->spouts; e++) {
        if (network->spout[e].from != i)
            continue;
        if (all && !set[network->spout[e].to])
            return false;
        any = any || set[network->spout[e].to];
    }
    return any;
}

/* ---- shut -----------------------------------------------------------------------------------------------
 */

static bool is_full(const view *v, int i)
{
    return !(efi_engine_level_t(v->engine, i) < v->network->station[i].bin.full_t);
}

/* By itself, whatever comes after it. */
static bool is_shut_itself(const view *v, int i)
{
    const efi_network_station *station = &v->network->station[i];
    const bool runs = efi_engine_rate_tph(v->engine, i) > 0.0;
    if (station->kind == EFI_NETWORK_BIN)
        return is_full(v, i) ? runs : efi_engine_level_t(v->engine, i) > station->bin.refill_t;
    if (efi_engine_is_stopped(v->engine, i))
        return true;
    if (station->kind == EFI_NETWORK_OUTLET && !(station->capacity_tph < INFINITY))
        return false;
    const efi_state state = efi_engine_state(v->engine, i);
    return runs || (state != EFI_STATE_STARVED && state != EFI_STATE_BLOCKED);
}

/* Does something on the loop of station i run or rest? Then the engine may yet ease it, as it does with loops
 * of which all stands. */
static bool loop_is_alive(const view *v, int i)
{
    int members = 0;
    bool is_alive = false;
    for (int k = 0; k < v->network->stations; k++) {
        if (v->loop[k] != v->loop[i])
            continue;
        const bool is_bin = v->network->station[k].kind == EFI_NETWORK_BIN;
        if (efi_engine_rate_tph(v->engine, k) > 0.0 || (!is_bin && efi_engine_is_stopped(v->engine, k)))
            is_alive = true;
        members++;
    }
    return is_alive && members > 1;
}

static void find_shut(const view *v)
{
    const int stations = v->network->stations;
    for (int i = 0; i < stations; i++)
        v->shut[i] = is_shut_itself(v, i) || loop_is_alive(v, i);
    for (bool changed = true; changed;) {
        changed = false;
        for (int i = 0; i < stations; i++) {
            const bool has_room = v->network->station[i].kind == EFI_NETWORK_BIN && !is_full(v, i);
            if (v->shut[i] || has_room || !leads_to(v, i, v->shut))
                continue;
            v->shut[i] = changed = true;
        }
    }
}

/* ---- held -----------------------------------------------------------------------------------------------
 */

static bool stands(const view *v, int i)
{
    if (v->shut[i] || v->network->station[i].kind == EFI_NETWORK_OUTLET)
        return false;
    if (v->network->station[i].kind == EFI_NETWORK_BIN)
        return is_full(v, i);
    return efi_engine_state(v->engine, i) == EFI_STATE_BLOCKED;
}

/* Is any left? */
static bool find_held(const view *v)
{
    const int stations = v->network->stations;
    for (int i = 0; i < stations; i++)
        v->held[i] = stands(v, i);
    bool any = true;
    for (bool changed = true; changed && any;) {
        changed = any = false;
        for (int i = 0; i < stations; i++) {
            if (!v->held[i])
                continue;
            v->held[i] = leads_to(v, i, v->held);
            changed = changed || !v->held[i];
            any = any || v->held[i];
        }
    }
    return any;
}

/* ---- the loop -------------------------------------------------------------------------------------------
 */

/* The one that holds up a station of those held. */
static int holder_of(const view *v, int i)
{
    int e = 0;
    while (v->network->spout[e].from != i || !v->held[v->network->spout[e].to])
        e++;
    return v->network->spout[e].to;
}

/* The loop that the first of them comes to, going from each to what holds it up. */
static void name_loop(const view *v, efi_choke *choke)
{
    int at = 0;
    while (!v->held[at])
        at++;
    for (int step = 0; step < v->network->stations; step++) /* by then it is on the loop */
        at = holder_of(v, at);
    for (int i = 0; i < v->network->stations && choke->stations < EFI_TROUBLE_STATIONS; i++) {
        bool is_on = i == at;
        for (int next = holder_of(v, at); next != at && !is_on; next = holder_of(v, next))
            is_on = next == i;
        if (is_on)
            choke->station[choke->stations++] = i;
    }
}

/* Where nothing is blocked, nothing has choked. */
static bool any_is_blocked(const efi_engine *engine, const efi_network *network)
{
    for (int i = 0; i < network->stations; i++)
        if (network->station[i].kind != EFI_NETWORK_BIN && efi_engine_state(engine, i) == EFI_STATE_BLOCKED)
            return true;
    return false;
}

ef_status efi_choke_find(const efi_engine *engine, const efi_network *network, efi_choke *choke)
{
    const size_t stations = (size_t)network->stations;
    *choke = (efi_choke){0};
    if (efi_engine_is_series(engine) || !any_is_blocked(engine, network))
        return EF_OK;
    bool *room = efi_new(2 * stations, sizeof *room);
    int *loop = efi_new(stations, sizeof *loop);
    ef_status status = room && loop ? efi_network_loops(network, loop) : EF_MEMORY;
    if (status == EF_OK) {
        const view v = {
            .engine = engine, .network = network, .shut = room, .held = room + stations, .loop = loop};
        find_shut(&v);
        if (find_held(&v))
            name_loop(&v, choke);
    }
    efi_free(room);
    efi_free(loop);
    return status;
}
