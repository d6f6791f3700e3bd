/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/moves.h"

#include "shared/engine/state.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>
#include <string.h>

enum {
    MOST_STATE_BITS = 11,
    LEAST_STATE_BITS = 4,
    PROBES = 8,
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
    const size_t passes = (size_t)engine->passes;
    const size_t bins = (size_t)engine->bins;
    const size_t stations = (size_t)moves->stations;
    const size_t bytes = sizeof *moves->state + passes * sizeof(efi_move_station) +
                         bins * sizeof(efi_move_bin) + stations * sizeof(efi_move);
    moves->state_bits = MOST_STATE_BITS;
    while (moves->state_bits > LEAST_STATE_BITS && (bytes << moves->state_bits) > MOST_BYTES)
        moves->state_bits--;
    const size_t states = (size_t)1 << moves->state_bits;
    moves->state = efi_arena_get(engine->arena, states, sizeof *moves->state);
    efi_move_station *station = efi_arena_get(engine->arena, states * passes + 1, sizeof *station);
    efi_move_bin *bin = efi_arena_get(engine->arena, states * bins + 1, sizeof *bin);
    efi_move *move = efi_arena_get(engine->arena, states * stations + 1, sizeof *move);
    if (!moves->state || !station || !bin || !move)
        return EF_MEMORY;
    for (size_t s = 0; s < states; s++) {
        moves->state[s].station = station + s * passes;
        moves->state[s].bin = bin + s * bins;
        moves->state[s].move = move + s * stations;
    }
    return EF_OK;
}

ef_status efi_moves_build(efi_engine *engine)
{
    const efi_network *network = engine->network;
    if (!engine->series || engine->loads > 0 || network->crews > 0 || engine->has_latches ||
        engine->passes > EFI_MOVES_PLACES || engine->bins > EFI_MOVES_PLACES || engine->slots > 64)
        return EF_OK;
    const size_t stations = (size_t)network->stations;
    efi_moves *made = efi_arena_get(engine->arena, 1, sizeof *made);
    if (!made)
        return EF_MEMORY;
    made->stations = network->stations;
    made->shift = efi_arena_get(engine->arena, stations, sizeof *made->shift);
    made->mask = efi_arena_get(engine->arena, stations, sizeof *made->mask);
    made->number = efi_arena_get(engine->arena, stations, sizeof *made->number);
    if (!made->shift || !made->mask || !made->number)
        return EF_MEMORY;
    for (int k = 0; k < engine->passes; k++)
        made->number[engine->pass[k]] = k;
    for (int b = 0; b < engine->bins; b++)
        made->number[engine->bin[b].station] = b;
    if (!lay_bits(engine, made))
        return EF_OK;
    EF_TRY(take_table(engine, made));
    engine->moves = made;
    return EF_OK;
}

/* ---- keys -------------------------------------------------------------------------------------- */

/* Brings the bits of a station or bin up to date. */
static void refresh_key(efi_engine *engine, int i)
{
    efi_moves *moves = engine->moves;
    const efi_rates *rates = &engine->rates;
    const unsigned value = engine->run_bin[i] >= 0 ? rates->at[i] | (unsigned)rates->in_shut[i] << 2
                                                   : (unsigned)engine->station[i].running;
    moves->key = (moves->key & ~moves->mask[i]) | ((uint64_t)value << moves->shift[i] & moves->mask[i]);
}

void efi_moves_start(efi_engine *engine)
{
    engine->moves->key = EFI_KEY_MARK;
    engine->moves->present = -1;
    for (int i = 0; i < engine->moves->stations; i++)
        refresh_key(engine, i);
}

/* ---- moves for the first time ------------------------------------------------------------------ */

/* Where the state of the present key lies or is to lie: one of a few places, the first if all are taken. */
static int find_state(const efi_moves *moves)
{
    const uint64_t last = (UINT64_C(1) << moves->state_bits) - 1;
    const uint64_t first = moves->key * UINT64_C(0x9e3779b97f4a7c15) >> (64 - moves->state_bits);
    for (uint64_t k = first; k < first + PROBES; k++)
        if (moves->state[k & last].key == moves->key || moves->state[k & last].key == 0)
            return (int)(k & last);
    return (int)first;
}

/* Notes what is in force in a state. */
static void note_state(const efi_engine *engine, efi_move_state *state)
{
    state->is_live = false;
    for (int k = 0; k < engine->passes; k++) {
        const efi_run_station *station = &engine->station[engine->pass[k]];
        const double share_tph = efi_station_share_tph(station);
        state->is_live = state->is_live || station->rate_tph > 0.0 || station->running < station->machines;
        state->station[k] = (efi_move_station){.rate_tph = station->rate_tph,
                                               .share_tph = share_tph,
                                               .ageing = share_tph / station->machine_tph,
                                               .state = station->state};
    }
    for (int b = 0; b < engine->bins; b++) {
        const efi_run_bin *bin = &engine->bin[b];
        const bool has_aim = fabs(bin->net_tph) > 0.0;
        state->bin[b] = (efi_move_bin){.net_tph = bin->net_tph,
                                       .inflow_tph = bin->inflow_tph,
                                       .outflow_tph = bin->outflow_tph,
                                       .target_t = bin->target_t,
                                       .aim_t = has_aim ? bin->target_t : INFINITY,
                                       .aim_tph = has_aim ? bin->net_tph : 1.0,
                                       .target = bin->target,
                                       .at = engine->rates.at[bin->station]};
    }
}

/* Solves and looks at everything; remembers the move where `station` (-1: none) is where its one event was.
 */
static void move_anew(efi_engine *engine, int station)
{
    efi_moves *moves = engine->moves;
    const int from = moves->present;
    const uint64_t key = moves->key;
    const int to = find_state(moves);
    efi_move_state *state = &moves->state[to];
    uint64_t changed[2] = {0, 0};
    efi_series_solve(engine->series, &engine->rates);
    efi_put_all(engine, &changed[0], &changed[1]);
    for (int b = 0; b < engine->bins; b++)
        refresh_key(engine, engine->bin[b].station);
    if (state->key != key) {
        state->key = key;
        state->after_key = moves->key;
        note_state(engine, state);
        for (int i = 0; i < moves->stations; i++)
            state->move[i].to = -1;
    }
    moves->present = to;
    if (station < 0 || from < 0 || from == to)
        return;
    changed[engine->run_bin[station] >= 0] &= ~(UINT64_C(1) << moves->number[station]);
    moves->state[from].move[station] = (efi_move){
        .stations = (uint32_t)changed[0], .bins = (uint32_t)changed[1], .to = to};
}

/* ---- moves remembered -------------------------------------------------------------------------- */

static inline void put_station(efi_engine *engine, int i, const efi_move_station *place)
{
    efi_run_station *station = &engine->station[i];
    efi_station_settle(station, engine->now_h);
    station->rate_tph = place->rate_tph;
    station->state = place->state;
    station->is_changed = false;
    if (station->has_ageing)
        efi_sources_aim(engine, i, place->share_tph, place->ageing);
}

static inline void put_bin(efi_engine *engine, int b, const efi_move_bin *place)
{
    efi_run_bin *bin = &engine->bin[b];
    bin->inflow_tph = place->inflow_tph;
    bin->outflow_tph = place->outflow_tph;
    bin->net_tph = place->net_tph;
    bin->target_t = place->target_t;
    bin->target = place->target;
    bin->is_changed = false;
    engine->rates.at[bin->station] = place->at;
    const double at_h = engine->now_h + (place->aim_t - bin->level_t) / place->aim_tph;
    engine->slot_h[b] = at_h > engine->now_h ? at_h : engine->now_h;
}

/* Where the event itself was: a bin is settled already; a station may be stopped, for one cause or another.
 */
static void put_own(efi_engine *engine, int i, const efi_move_state *state)
{
    const int number = engine->moves->number[i];
    if (engine->run_bin[i] >= 0) {
        put_bin(engine, number, &state->bin[number]);
        return;
    }
    put_station(engine, i, &state->station[number]);
    if (engine->station[i].running == 0)
        engine->station[i].state = efi_station_state(engine, i, &engine->station[i]);
}

static void move_again(efi_engine *engine, int station, const efi_move *move)
{
    efi_moves *moves = engine->moves;
    const efi_move_state *state = &moves->state[move->to];
    moves->present = move->to;
    moves->key = state->after_key;
    put_own(engine, station, state);
    for (uint32_t left = move->stations; left; left &= left - 1) {
        const int k = __builtin_ctz(left);
        put_station(engine, engine->pass[k], &state->station[k]);
    }
    for (uint32_t left = move->bins; left; left &= left - 1) {
        const int b = __builtin_ctz(left);
        efi_bin_settle(&engine->bin[b], (efi_level_at)engine->rates.at[engine->bin[b].station],
                       engine->now_h);
        put_bin(engine, b, &state->bin[b]);
    }
}

#ifndef NDEBUG
/* Solved anew, everything is as it is. */
static void assert_moved(efi_engine *engine)
{
    uint64_t changed[2] = {0, 0};
    efi_series_solve(engine->series, &engine->rates);
    efi_put_all(engine, &changed[0], &changed[1]);
    assert(changed[0] == 0 && changed[1] == 0);
}
#else
static void assert_moved(efi_engine *engine)
{
    (void)engine;
}
#endif

void efi_moves_put(efi_engine *engine)
{
    efi_moves *moves = engine->moves;
    for (int k = 0; k < engine->fired; k++)
        refresh_key(engine, engine->event[k].station);
    if (moves->present < 0 || engine->fired != 1) {
        move_anew(engine, -1);
        return;
    }
    const int station = engine->event[0].station;
    const efi_move *move = &moves->state[moves->present].move[station];
    if (move->to >= 0 && moves->state[move->to].key == moves->key) {
        move_again(engine, station, move);
        assert_moved(engine);
    } else {
        move_anew(engine, station);
    }
}
