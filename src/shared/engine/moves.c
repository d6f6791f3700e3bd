/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/moves.h"

#include "shared/engine/state.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>
#include <string.h>

enum {
    NUMBER_BITS = 12,
    MOST_STATES = 2048,
    MOST_BYTES = 1 << 20
};

/* The highest bit of every key, so that none is 0. */
#define EFI_KEY_MARK (UINT64_C(1) << EFI_MOVES_BITS)

/* ---- building ---------------------------------------------------------------------------------- */

/* How many bits tell the state of a station or bin. */
static int count_bits(const efi_engine *engine, int i)
{
    const efi_network_bin *bin = &engine->network->station[i].bin;
    if (engine->run_bin[i] >= 0)
        return bin->refill_t < bin->full_t ? 3 : 2;
    int bits = 0;
    while (engine->station[i].sources > 0 && engine->station[i].machines >> bits)
        bits++;
    return bits;
}

/* False where the key would be too long. */
static bool lay_bits(const efi_engine *engine, efi_moves *moves)
{
    int shift = 0;
    for (int i = 0; i < moves->stations; i++) {
        const int bits = count_bits(engine, i);
        if (shift + bits > EFI_MOVES_BITS)
            return false;
        moves->shift[i] = shift;
        moves->mask[i] = ((UINT64_C(1) << bits) - 1) << shift;
        shift += bits;
    }
    return true;
}

static ef_status take_table(const efi_engine *engine, efi_moves *moves)
{
    moves->bin_at = sizeof(efi_move_state) + (size_t)engine->passes * sizeof(efi_move_station);
    moves->move_at = moves->bin_at + (size_t)engine->bins * sizeof(efi_bin_flow);
    moves->state_bytes = moves->move_at + (size_t)engine->slots * sizeof(efi_move);
    moves->room = (int)(MOST_BYTES / moves->state_bytes);
    moves->room = moves->room < MOST_STATES ? moves->room : MOST_STATES;
    moves->number = efi_arena_get(engine->arena, (size_t)1 << NUMBER_BITS, sizeof *moves->number);
    moves->states = efi_arena_get(engine->arena, (size_t)moves->room, moves->state_bytes);
    return moves->states && moves->number ? EF_OK : EF_MEMORY;
}

ef_status efi_moves_build(efi_engine *engine)
{
    const efi_network *network = engine->network;
    if (!engine->series || engine->settings.lots > 0 || engine->loads > 0 || network->crews > 0 ||
        engine->has_latches || engine->passes > EFI_MOVES_PLACES || engine->bins > EFI_MOVES_PLACES ||
        engine->slots > 64)
        return EF_OK;
    const size_t stations = (size_t)network->stations;
    efi_moves *made = efi_arena_get(engine->arena, 1, sizeof *made);
    if (!made)
        return EF_MEMORY;
    made->stations = network->stations;
    made->shift = efi_arena_get(engine->arena, stations, sizeof *made->shift);
    made->mask = efi_arena_get(engine->arena, stations, sizeof *made->mask);
    made->pass = efi_arena_get(engine->arena, stations, sizeof *made->pass);
    if (!made->shift || !made->mask || !made->pass)
        return EF_MEMORY;
    for (int k = 0; k < engine->passes; k++)
        made->pass[engine->pass[k]] = k;
    if (!lay_bits(engine, made))
        return EF_OK;
    EF_TRY(take_table(engine, made));
    engine->moves = made;
    return EF_OK;
}

/* ---- states ------------------------------------------------------------------------------------ */

static efi_move_station *stations_of(efi_move_state *state)
{
    return (efi_move_station *)(void *)(state + 1);
}

static efi_bin_flow *bins_of(const efi_moves *moves, efi_move_state *state)
{
    return (efi_bin_flow *)(void *)((unsigned char *)state + moves->bin_at);
}

/* By slot of the event. */
static efi_move *moves_of(const efi_moves *moves, efi_move_state *state)
{
    return (efi_move *)(void *)((unsigned char *)state + moves->move_at);
}

static efi_move_state *state_at(const efi_moves *moves, int number)
{
    return (efi_move_state *)(void *)(moves->states + (size_t)number * moves->state_bytes);
}

/* Forgets all states; what is in force stays so. */
static void forget(efi_engine *engine)
{
    efi_moves *moves = engine->moves;
    for (int k = 0; k < engine->passes; k++) {
        efi_run_station *station = &engine->station[engine->pass[k]];
        station->own = *station->flow;
        station->flow = &station->own;
    }
    for (int b = 0; b < engine->bins; b++) {
        engine->bin[b].own = *engine->bin[b].flow;
        engine->bin[b].flow = &engine->bin[b].own;
    }
    moves->count = 0;
    moves->present = NULL;
    memset(moves->number, 0, ((size_t)1 << NUMBER_BITS) * sizeof *moves->number);
}

/* The state of the present key, or where it is to lie: one with another key. */
static efi_move_state *find_state(efi_engine *engine)
{
    efi_moves *moves = engine->moves;
    if (moves->count == moves->room)
        forget(engine);
    uint64_t k = moves->key * UINT64_C(0x9e3779b97f4a7c15) >> (64 - NUMBER_BITS);
    for (; moves->number[k] > 0; k = (k + 1) % (1 << NUMBER_BITS)) {
        efi_move_state *state = state_at(moves, moves->number[k] - 1);
        if (state->key == moves->key)
            return state;
    }
    efi_move_state *state = state_at(moves, moves->count);
    moves->number[k] = (uint16_t)++moves->count;
    state->key = 0;
    return state;
}

/* Notes what is in force in a state. */
static void note_state(const efi_engine *engine, efi_move_state *state)
{
    state->is_live = false;
    for (int k = 0; k < engine->passes; k++) {
        const efi_run_station *station = &engine->station[engine->pass[k]];
        const double share_tph = efi_station_share_tph(station);
        const bool in_tonnes = station->sources == 1 &&
                               engine->source[station->first_source].counting == EFI_COUNT_TONNES;
        const double age_rate = in_tonnes ? share_tph : share_tph / station->machine_tph;
        state->is_live = state->is_live || station->flow->rate_tph > 0.0 ||
                         station->running < station->machines;
        stations_of(state)[k] = (efi_move_station){.flow = *station->flow,
                                                   .age_rate = age_rate,
                                                   .hours_each = 1.0 / age_rate,
                                                   .least_left = age_rate > 0.0 ? 0.0 : 1.0};
    }
    for (int b = 0; b < engine->bins; b++) {
        efi_bin_flow *flow = &bins_of(engine->moves, state)[b];
        *flow = *engine->bin[b].flow;
        if (!(fabs(flow->net_tph) > 0.0)) {
            flow->net_tph = 0.0;
            flow->target_t = flow->hours_each = INFINITY; /* for ever after now */
        }
    }
}

/* ---- keys -------------------------------------------------------------------------------------- */

static void set_bits(efi_moves *moves, int i, unsigned value)
{
    moves->key = (moves->key & ~moves->mask[i]) | ((uint64_t)value << moves->shift[i] & moves->mask[i]);
}

static void refresh_bin(efi_engine *engine, int i)
{
    set_bits(engine->moves, i, engine->rates.at[i] | (unsigned)engine->rates.in_shut[i] << 2);
}

static void refresh_station(efi_engine *engine, int i)
{
    set_bits(engine->moves, i, (unsigned)engine->station[i].running);
}

void efi_moves_start(efi_engine *engine)
{
    engine->moves->key = EFI_KEY_MARK;
    engine->moves->present = NULL;
    for (int b = 0; b < engine->bins; b++)
        refresh_bin(engine, engine->bin[b].station);
    for (int k = 0; k < engine->passes; k++)
        refresh_station(engine, engine->pass[k]);
}

/* ---- moves for the first time ------------------------------------------------------------------ */

/* What solving the rates starts from; where nothing was solved it has not been kept up. */
static void set_limits(efi_engine *engine)
{
    for (int b = 0; b < engine->bins; b++)
        if (!engine->bin[b].is_changed)
            engine->rates.at[engine->bin[b].station] = (unsigned char)engine->bin[b].flow->at;
    for (int k = 0; k < engine->passes; k++)
        engine->rates.capacity_tph[engine->pass[k]] = efi_station_present_tph(engine, engine->pass[k]);
}

/* Solves and looks at everything; remembers the move where there was one event, in the slot given, else -1.
 */
static void move_anew(efi_engine *engine, int slot)
{
    efi_moves *moves = engine->moves;
    efi_move_state *to = find_state(engine);
    efi_move_state *from = moves->present; /* none where finding it took forgetting all */
    const uint64_t key = moves->key;
    uint64_t changed[2] = {0, 0};
    set_limits(engine);
    efi_series_solve(engine->series, &engine->rates);
    efi_put_all(engine, &changed[0], &changed[1]);
    for (int b = 0; b < engine->bins; b++)
        refresh_bin(engine, engine->bin[b].station);
    if (to->key != key) {
        to->key = key;
        to->after_key = moves->key;
        note_state(engine, to);
        memset(moves_of(moves, to), 0, (size_t)engine->slots * sizeof(efi_move));
    }
    moves->present = to;
    if (slot < 0 || !from || from == to)
        return;
    if (slot < engine->bins)
        changed[1] &= ~(UINT64_C(1) << slot);
    else
        changed[0] &= ~(UINT64_C(1) << moves->pass[engine->source[slot - engine->first_stop].station]);
    moves_of(moves, from)[slot] = (efi_move){
        .to = to, .stations = (uint32_t)changed[0], .bins = (uint32_t)changed[1]};
}

void efi_moves_begin(efi_engine *engine)
{
    move_anew(engine, -1);
}

/* ---- moves remembered -------------------------------------------------------------------------- */

static inline void put_station(efi_engine *engine, efi_run_station *station, const efi_move_station *place,
                               double now_h)
{
    efi_station_settle(station, now_h);
    station->flow = &place->flow;
    if (!station->has_ageing)
        return;
    const int k = station->first_source;
    efi_run_source *source = &engine->source[k];
    if (station->sources > 1)
        efi_sources_aim(engine, source->station, efi_station_share_tph(station), place->age_rate);
    else if (!source->is_stopped)
        efi_source_aim(source, place->age_rate, place->hours_each, place->least_left, now_h,
                       &engine->slot_h[engine->first_stop + k]);
}

/* Where the stop was; the station may stand, for another cause than when the state was noted. */
static inline void put_own_station(efi_engine *engine, int i, const efi_move_station *place, double now_h)
{
    efi_run_station *station = &engine->station[i];
    put_station(engine, station, place, now_h);
    station->is_changed = false;
    if (station->running > 0)
        return;
    const efi_state state = efi_station_state(engine, i, station);
    if (state == place->flow.state)
        return;
    station->own = (efi_station_flow){place->flow.rate_tph, state};
    station->flow = &station->own;
}

/* A bin whose account is settled. */
static inline void put_bin(efi_run_bin *bin, const efi_bin_flow *place, double now_h, double *slot_h)
{
    bin->flow = place;
    const double at_h = now_h + (place->target_t - bin->level_t) * place->hours_each;
    *slot_h = at_h > now_h ? at_h : now_h;
}

static void move_again(efi_engine *engine, int slot, const efi_move *move, double now_h)
{
    efi_moves *moves = engine->moves;
    efi_move_state *state = move->to;
    moves->present = state;
    moves->key = state->after_key;
    const efi_move_station *station = stations_of(state);
    const efi_bin_flow *place = bins_of(moves, state);
    if (slot < engine->bins) {
        put_bin(&engine->bin[slot], &place[slot], now_h, &engine->slot_h[slot]);
        engine->bin[slot].is_changed = false;
    } else {
        const int i = engine->source[slot - engine->first_stop].station;
        put_own_station(engine, i, &station[moves->pass[i]], now_h);
    }
    for (uint32_t left = move->stations; left; left &= left - 1) {
        const int k = __builtin_ctz(left);
        put_station(engine, &engine->station[engine->pass[k]], &station[k], now_h);
    }
    for (uint32_t left = move->bins; left; left &= left - 1) {
        const int b = __builtin_ctz(left);
        efi_bin_settle(&engine->bin[b], now_h);
        put_bin(&engine->bin[b], &place[b], now_h, &engine->slot_h[b]);
    }
}

#ifndef NDEBUG
/* Solved anew, everything is as it is. */
static void assert_moved(efi_engine *engine)
{
    uint64_t changed[2] = {0, 0};
    set_limits(engine);
    efi_series_solve(engine->series, &engine->rates);
    efi_put_all(engine, &changed[0], &changed[1]);
    assert(changed[0] == 0 && changed[1] == 0);
    efi_engine_check_mass(engine);
}
#else
static void assert_moved(efi_engine *engine)
{
    (void)engine;
}
#endif

/* How many slots are due. */
static int count_due(const efi_engine *engine, double now_h)
{
    int64_t now;
    memcpy(&now, &now_h, sizeof now);
    int due = 0;
    for (int k = 0; k < engine->slots; k += 4) { /* there is room for whole fours */
        due += efi_slot_order(engine, k) <= now;
        due += efi_slot_order(engine, k + 1) <= now;
        due += efi_slot_order(engine, k + 2) <= now;
        due += efi_slot_order(engine, k + 3) <= now;
    }
    return due;
}

/* Bins and stops only: none of them makes another due. */
static void apply(efi_engine *engine, int slot)
{
    if (slot < engine->bins) {
        efi_level_reach(engine, slot);
        refresh_bin(engine, engine->bin[slot].station);
    } else {
        efi_stop_flip(engine, slot - engine->first_stop);
        refresh_station(engine, engine->source[slot - engine->first_stop].station);
    }
}

void efi_moves_step(efi_engine *engine, int slot, double now_h)
{
    const efi_moves *moves = engine->moves;
    engine->fired = 0;
    if (count_due(engine, now_h) > 1) {
        for (int k = 0; k < engine->slots; k++)
            if (engine->slot_h[k] <= engine->now_h)
                apply(engine, k);
        move_anew(engine, -1);
        return;
    }
    const efi_move *move = &moves_of(moves, moves->present)[slot];
    apply(engine, slot);
    if (move->to && move->to->key == moves->key) {
        move_again(engine, slot, move, now_h);
        assert_moved(engine);
    } else {
        move_anew(engine, slot);
    }
}
