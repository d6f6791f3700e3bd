/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/moves.h"

#include "shared/engine/state.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>
#include <string.h>

enum {
    MOST_STATE_BITS = 10,
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
    moves->bin_at = sizeof(efi_move_state) + (size_t)engine->passes * sizeof(efi_move_station);
    moves->move_at = moves->bin_at + (size_t)engine->bins * sizeof(efi_move_bin);
    moves->state_bytes = moves->move_at + (size_t)engine->slots * sizeof(efi_move);
    moves->state_bits = MOST_STATE_BITS;
    while (moves->state_bits > LEAST_STATE_BITS && (moves->state_bytes << moves->state_bits) > MOST_BYTES)
        moves->state_bits--;
    moves->states = efi_arena_get(engine->arena, (size_t)1 << moves->state_bits, moves->state_bytes);
    return moves->states ? EF_OK : EF_MEMORY;
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

static efi_move_bin *bins_of(const efi_moves *moves, efi_move_state *state)
{
    return (efi_move_bin *)(void *)((unsigned char *)state + moves->bin_at);
}

/* By slot of the event. */
static efi_move *moves_of(const efi_moves *moves, efi_move_state *state)
{
    return (efi_move *)(void *)((unsigned char *)state + moves->move_at);
}

/* Where the state of the present key lies or is to lie: one of a few places, the first if all are taken. */
static efi_move_state *find_state(const efi_moves *moves)
{
    const uint64_t last = (UINT64_C(1) << moves->state_bits) - 1;
    const uint64_t first = moves->key * UINT64_C(0x9e3779b97f4a7c15) >> (64 - moves->state_bits);
    for (uint64_t k = first; k < first + PROBES; k++) {
        void *state = moves->states + (k & last) * moves->state_bytes;
        const uint64_t key = ((efi_move_state *)state)->key;
        if (key == moves->key || key == 0)
            return state;
    }
    return (efi_move_state *)(void *)(moves->states + first * moves->state_bytes);
}

/* Notes what is in force in a state. */
static void note_state(const efi_engine *engine, efi_move_state *state)
{
    state->is_live = false;
    for (int k = 0; k < engine->passes; k++) {
        const efi_run_station *station = &engine->station[engine->pass[k]];
        const double share_tph = efi_station_share_tph(station);
        const double ageing = share_tph / station->machine_tph;
        const bool in_tonnes = station->sources > 0 &&
                               engine->source[station->first_source].counting == EFI_COUNT_TONNES;
        state->is_live = state->is_live || station->rate_tph > 0.0 || station->running < station->machines;
        stations_of(state)[k] = (efi_move_station){
            .rate_tph = station->rate_tph,
            .share_tph = share_tph,
            .ageing = ageing,
            .state = station->state,
            .least_left = (in_tonnes ? share_tph : ageing) > 0.0 ? 0.0F : 1.0F};
    }
    for (int b = 0; b < engine->bins; b++) {
        const efi_run_bin *bin = &engine->bin[b];
        const bool moves = fabs(bin->net_tph) > 0.0;
        bins_of(engine->moves, state)[b] = (efi_move_bin){.net_tph = moves ? bin->net_tph : 0.0,
                                                          .inflow_tph = bin->inflow_tph,
                                                          .outflow_tph = bin->outflow_tph,
                                                          .target_t = moves ? bin->target_t : INFINITY,
                                                          .target = bin->target,
                                                          .at = engine->rates.at[bin->station]};
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

/* Solves and looks at everything; remembers the move where there was one event, in the slot given, else -1.
 */
static void move_anew(efi_engine *engine, int slot)
{
    efi_moves *moves = engine->moves;
    efi_move_state *from = moves->present;
    efi_move_state *to = find_state(moves);
    const uint64_t key = moves->key;
    uint64_t changed[2] = {0, 0};
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

static inline void put_station(efi_engine *engine, efi_run_station *station, const efi_move_station *place)
{
    efi_station_settle(station, engine->now_h);
    station->rate_tph = place->rate_tph;
    station->state = place->state;
    station->is_changed = false;
    if (!station->has_ageing)
        return;
    const int k = station->first_source;
    efi_run_source *source = &engine->source[k];
    if (station->sources > 1)
        efi_sources_aim(engine, source->station, place->share_tph, place->ageing);
    else if (!source->is_stopped)
        efi_source_aim(source, source->counting == EFI_COUNT_TONNES ? place->share_tph : place->ageing,
                       (double)place->least_left, engine->now_h, &engine->slot_h[engine->first_stop + k]);
}

/* One whose account is settled. */
static inline void put_bin(efi_run_bin *bin, const efi_move_bin *place, unsigned char *at, double now_h,
                           double *slot_h)
{
    bin->inflow_tph = place->inflow_tph;
    bin->outflow_tph = place->outflow_tph;
    bin->net_tph = place->net_tph;
    bin->target_t = place->target_t;
    bin->target = place->target;
    bin->is_changed = false;
    *at = place->at;
    const double at_h = now_h + (place->target_t - bin->level_t) / place->net_tph;
    *slot_h = at_h > now_h ? at_h : now_h;
}

/* Where the event itself was; a station may be stopped, for one cause or another. */
static void put_own(efi_engine *engine, int slot, efi_move_state *state)
{
    if (slot < engine->bins) {
        put_bin(&engine->bin[slot], &bins_of(engine->moves, state)[slot],
                &engine->rates.at[engine->bin[slot].station], engine->now_h, &engine->slot_h[slot]);
        return;
    }
    const int i = engine->source[slot - engine->first_stop].station;
    efi_run_station *station = &engine->station[i];
    put_station(engine, station, &stations_of(state)[engine->moves->pass[i]]);
    if (station->running == 0)
        station->state = efi_station_state(engine, i, station);
}

static void move_again(efi_engine *engine, int slot, const efi_move *move)
{
    efi_moves *moves = engine->moves;
    efi_move_state *state = move->to;
    moves->present = state;
    moves->key = state->after_key;
    put_own(engine, slot, state);
    const efi_move_station *station = stations_of(state);
    for (uint32_t left = move->stations; left; left &= left - 1) {
        const int k = __builtin_ctz(left);
        put_station(engine, &engine->station[engine->pass[k]], &station[k]);
    }
    const efi_move_bin *place = bins_of(moves, state);
    const double now_h = engine->now_h;
    for (uint32_t left = move->bins; left; left &= left - 1) {
        const int b = __builtin_ctz(left);
        efi_run_bin *bin = &engine->bin[b];
        unsigned char *at = &engine->rates.at[bin->station];
        efi_bin_settle(bin, (efi_level_at)*at, now_h);
        put_bin(bin, &place[b], at, now_h, &engine->slot_h[b]);
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
    efi_engine_check_mass(engine);
}
#else
static void assert_moved(efi_engine *engine)
{
    (void)engine;
}
#endif

/* Which slots are due, as bits. */
static uint64_t due_slots(const efi_engine *engine)
{
    int64_t now;
    memcpy(&now, &engine->now_h, sizeof now);
    uint64_t due = 0;
    for (int k = (engine->slots - 1) / 4 * 4; k >= 0; k -= 4) { /* there is room for whole fours */
        due += due + (efi_slot_order(engine, k + 3) <= now);
        due += due + (efi_slot_order(engine, k + 2) <= now);
        due += due + (efi_slot_order(engine, k + 1) <= now);
        due += due + (efi_slot_order(engine, k) <= now);
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
        efi_stop_change(engine, slot - engine->first_stop);
        refresh_station(engine, engine->source[slot - engine->first_stop].station);
    }
}

void efi_moves_step(efi_engine *engine)
{
    const efi_moves *moves = engine->moves;
    const uint64_t due = due_slots(engine);
    const int slot = __builtin_ctzll(due);
    engine->fired = 0;
    apply(engine, slot);
    if (due & (due - 1)) {
        for (uint64_t left = due & (due - 1); left; left &= left - 1)
            apply(engine, __builtin_ctzll(left));
        move_anew(engine, -1);
        return;
    }
    const efi_move *move = &moves_of(moves, moves->present)[slot];
    if (move->to && move->to->key == moves->key) {
        move_again(engine, slot, move);
        assert_moved(engine);
    } else {
        move_anew(engine, slot);
    }
}
