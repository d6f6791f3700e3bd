/* SPDX-License-Identifier: GPL-3.0-or-later
 * New rates put in force: accounts are settled by the old ones, and new candidates follow. */
#include "shared/engine/state.h"

#include <assert.h>
#include <stddef.h>
#include <math.h>

/* The next level event of a bin: the nearest of the levels ahead of it that have a meaning now. */
static void aim_bin(efi_engine *engine, int b)
{
    const efi_run_bin *bin = &engine->bin[b];
    efi_bin_flow *flow = &engine->bin[b].own;
    double *slot_h = &engine->slot_h[b];
    *slot_h = INFINITY;
    if (flow->net_tph > 0.0) {
        const bool waits = engine->rates.out_shut[bin->station];
        flow->target_t = waits ? bin->restart_t : bin->full_t;
        flow->target = waits ? EFI_EVENT_RESTART : EFI_EVENT_FULL;
    } else if (flow->net_tph < 0.0) {
        const bool waits = engine->rates.in_shut[bin->station];
        flow->target_t = waits ? bin->refill_t : bin->empty_t;
        flow->target = waits ? EFI_EVENT_REFILL : EFI_EVENT_EMPTY;
    } else {
        return;
    }
    flow->hours_each = 1.0 / flow->net_tph;
    const double at_h = engine->now_h + (flow->target_t - bin->level_t) * flow->hours_each;
    *slot_h = at_h > engine->now_h ? at_h : engine->now_h;
}

void efi_bin_place(efi_engine *engine, const efi_run_bin *bin)
{
    const bool is_empty = !(bin->level_t > bin->empty_t);
    const bool is_full = !(bin->level_t < bin->full_t);
    engine->rates.at[bin->station] = (unsigned char)((is_empty ? EFI_AT_EMPTY : 0) |
                                                     (is_full ? EFI_AT_FULL : 0));
}

efi_state efi_station_state(const efi_engine *engine, int i, const efi_run_station *station)
{
    static const efi_state stopped[EFI_CAUSES] = {EFI_STATE_RANDOM_STOP, EFI_STATE_PLANNED_STOP,
                                                  EFI_STATE_BREAK, EFI_STATE_CLOSED};
    const efi_rates *rates = &engine->rates;
    const bool is_cleaned = engine->lot && engine->lot[i].phase == EFI_LOT_CLEANED;
    if (station->running == 0)
        for (int c = EFI_CAUSES - 1; c >= 0; c--)
            if (station->cause_count[c] > 0 &&
                (!is_cleaned || c >= EFI_CAUSE_BREAK || (c == EFI_CAUSE_PLANNED && station->rests > 0)))
                return stopped[c];
    if (is_cleaned)
        return engine->lot[i].clean_waits ? EFI_STATE_NO_CREW : EFI_STATE_CLEAN_DOWN;
    if (station->running == 0)
        return EFI_STATE_NO_CREW;
    if (engine->run_batch[i] >= 0)
        return efi_batch_state(engine, engine->run_batch[i]);
    const double rate_tph = rates->through_tph[i];
    const double capacity_tph = rates->capacity_tph[i];
    if (rate_tph > 0.0) {
        if (station->is_warming)
            return EFI_STATE_WARM_UP;
        const bool is_full = !(capacity_tph < INFINITY) || rate_tph >= capacity_tph * (1.0 - EFI_SAME_RATE);
        return is_full ? EFI_STATE_FULL_RATE : EFI_STATE_SLOW;
    }
    if (station->bin_before >= 0 && rates->out_shut[station->bin_before])
        return EFI_STATE_WAITING;
    return !(rates->supply_tph[i] > 0.0) || !(capacity_tph > 0.0) ? EFI_STATE_STARVED : EFI_STATE_BLOCKED;
}

/* The sources of a station, at its rate in force. */
static void aim_sources(efi_engine *engine, const efi_run_station *station, int i)
{
    const double share_tph = efi_station_share_tph(station);
    const double ageing = engine->run_batch[i] >= 0 ? efi_batch_ageing(engine, engine->run_batch[i])
                                                    : share_tph / station->machine_tph;
    efi_sources_aim(engine, i, share_tph, ageing);
}

/* False: all is as it was. */
static bool put_station(efi_engine *engine, int i)
{
    efi_run_station *station = &engine->station[i];
    const double rate_tph = engine->rates.through_tph[i];
    const bool is_same = rate_tph == station->flow->rate_tph;
    if (is_same && !station->is_changed && rate_tph > 0.0)
        return false; /* only a station that stands still may do so for another reason than before */
    const efi_state state = efi_station_state(engine, i, station);
    if (is_same && !station->is_changed && state == station->flow->state)
        return false;
    efi_station_settle(station, engine->now_h);
    station->own = (efi_station_flow){rate_tph, state};
    station->flow = &station->own;
    station->is_changed = false;
    if (station->has_ageing)
        aim_sources(engine, station, i);
    return true;
}

double efi_bin_gain_tph(double inflow_tph, double outflow_tph)
{
    const double net_tph = inflow_tph - outflow_tph;
    const double flow_tph = inflow_tph > outflow_tph ? inflow_tph : outflow_tph;
    return fabs(net_tph) <= EFI_SAME_RATE * flow_tph ? 0.0 : net_tph;
}

/* False: all is as it was. */
static bool put_bin(efi_engine *engine, int b)
{
    efi_run_bin *bin = &engine->bin[b];
    efi_rates *rates = &engine->rates;
    const double inflow_tph = rates->inflow_tph[bin->station];
    const double outflow_tph = rates->through_tph[bin->station];
    const bool is_same = inflow_tph == bin->flow->inflow_tph && outflow_tph == bin->flow->outflow_tph;
    if (is_same && !bin->is_changed)
        return false;
    unsigned char *at = &rates->at[bin->station];
    efi_bin_settle(bin, engine->now_h);
    double net_tph = efi_bin_gain_tph(inflow_tph, outflow_tph);
    const bool leaves = (*at == EFI_AT_EMPTY && net_tph > 0.0) || (*at == EFI_AT_FULL && net_tph < 0.0);
    if (leaves)
        *at = EFI_AT_BETWEEN;
    else if (*at != EFI_AT_BETWEEN)
        net_tph = 0.0;
    bin->own = (efi_bin_flow){
        .inflow_tph = inflow_tph, .outflow_tph = outflow_tph, .net_tph = net_tph, .at = (efi_level_at)*at};
    bin->flow = &bin->own;
    bin->is_changed = false;
    aim_bin(engine, b);
    return true;
}

ef_status efi_engine_solve(efi_engine *engine)
{
    if (engine->series) {
        efi_series_solve(engine->series, &engine->rates);
        return EF_OK;
    }
    return efi_rates_solve(&engine->rates);
}

#ifndef NDEBUG
void efi_engine_check_mass(const efi_engine *engine)
{
    double gain = 0.0;
    double sum = 1.0;
    for (int k = 0; k < engine->passes; k++) {
        const int i = engine->pass[k];
        const double rate = engine->station[i].flow->rate_tph;
        const efi_network_kind kind = engine->network->station[i].kind;
        gain += kind == EFI_NETWORK_INTAKE ? rate : kind == EFI_NETWORK_OUTLET ? -rate : 0.0;
        sum += rate;
    }
    for (int b = 0; b < engine->bins; b++)
        gain -= engine->bin[b].flow->net_tph;
    for (int k = 0; k < engine->batches; k++)
        gain -= engine->station[engine->batch[k].station].flow->rate_tph - engine->batch[k].out_tph;
    for (int k = 0; k < engine->belts; k++)
        gain -= engine->station[engine->belt[k].station].flow->rate_tph - engine->belt[k].out_tph;
    assert(fabs(gain) <= EFI_MASS_TOLERANCE * sum);
}
#else
void efi_engine_check_mass(const efi_engine *engine)
{
    (void)engine;
}
#endif

void efi_put_all(efi_engine *engine, uint64_t *stations, uint64_t *bins)
{
    for (int k = 0; k < engine->passes; k++)
        *stations |= (uint64_t)put_station(engine, engine->pass[k]) << (k & 63);
    for (int b = 0; b < engine->bins; b++)
        *bins |= (uint64_t)put_bin(engine, b) << (b & 63);
}

ef_status efi_rates_put(efi_engine *engine)
{
    if (engine->moves) {
        efi_moves_begin(engine);
        efi_engine_check_mass(engine);
        return EF_OK;
    }
    if (engine->lot) {
        efi_lots_settle(engine);
        efi_lots_pass(engine);
    }
    EF_TRY(efi_engine_solve(engine));
    if (engine->has_latches)
        EF_TRY(efi_latches_settle(engine));
    for (int k = 0; k < engine->batches; k++)
        engine->station[engine->batch[k].station].is_changed = true; /* its discharge may have changed */
    uint64_t changed[2] = {0, 0};
    efi_put_all(engine, &changed[0], &changed[1]);
    for (int k = 0; k < engine->batches; k++)
        efi_batch_put(engine, k);
    for (int k = 0; k < engine->belts; k++)
        EF_TRY(efi_belt_put(engine, k));
    for (int k = 0; k < engine->loads; k++)
        efi_load_put(engine, k);
    if (engine->lot)
        efi_lots_put(engine);
    efi_engine_check_mass(engine);
    return EF_OK;
}
