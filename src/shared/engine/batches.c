/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/state.h"

#include <math.h>

static const efi_network_batch *described(const efi_engine *engine, int k)
{
    return &engine->network->station[engine->batch[k].station].batch;
}

void efi_batch_settle(efi_run_batch *batch, double now_h)
{
    const double hours = now_h - batch->since_h;
    batch->since_h = now_h;
    if (!(hours > 0.0))
        return;
    const double moved = batch->left_rate * hours;
    batch->left -= moved;
    if (batch->phase == EFI_BATCH_FILLS)
        batch->charge_t += moved;
    const double given_t = batch->out_tph * hours;
    batch->charge_t -= given_t;
    efi_sum_add(&batch->out_t, given_t);
}

void efi_batch_prepare(efi_engine *engine, int k)
{
    const efi_run_batch *batch = &engine->batch[k];
    const int i = batch->station;
    const bool runs = engine->station[i].running > 0;
    const bool fills = runs && batch->phase == EFI_BATCH_FILLS;
    const bool discharges = runs && batch->phase == EFI_BATCH_DISCHARGES;
    engine->rates.capacity_tph[i] = fills ? engine->station[i].machine_tph : 0.0;
    engine->rates.discharge_tph[i] = discharges ? described(engine, k)->discharge_tph : 0.0;
    engine->station[i].is_changed = true;
}

static void begin_phase(efi_engine *engine, int k, efi_batch_phase phase, double left)
{
    efi_run_batch *batch = &engine->batch[k];
    batch->phase = phase;
    batch->left = left;
    batch->left_rate = 0.0;
    batch->out_tph = 0.0;
    efi_batch_prepare(engine, k);
}

void efi_batch_start(efi_engine *engine, int k)
{
    efi_run_batch *batch = &engine->batch[k];
    batch->since_h = 0.0;
    batch->charge_t = batch->cleared_t = 0.0;
    begin_phase(engine, k, EFI_BATCH_FILLS, described(engine, k)->charge_t);
}

void efi_batch_end(efi_engine *engine, int k)
{
    efi_run_batch *batch = &engine->batch[k];
    const efi_network_batch *what = described(engine, k);
    efi_batch_settle(batch, engine->now_h);
    engine->slot_h[engine->first_batch + k] = INFINITY;
    switch (batch->phase) {
    case EFI_BATCH_FILLS:
        batch->charge_t = what->charge_t;
        efi_event_note(engine, EFI_EVENT_CHARGED, batch->station, 0, 0);
        begin_phase(engine, k, EFI_BATCH_WORKS, what->work_h > 0.0 ? efi_grid_round(what->work_h) : 0.0);
        break;
    case EFI_BATCH_WORKS:
        efi_event_note(engine, EFI_EVENT_WORKED, batch->station, 0, 0);
        begin_phase(engine, k, EFI_BATCH_DISCHARGES, what->charge_t);
        break;
    case EFI_BATCH_DISCHARGES:
        batch->charge_t = 0.0;
        efi_event_note(engine, EFI_EVENT_DISCHARGED, batch->station, 0, 0);
        begin_phase(engine, k, EFI_BATCH_FILLS, what->charge_t);
        break;
    }
}

void efi_batch_put(efi_engine *engine, int k)
{
    efi_run_batch *batch = &engine->batch[k];
    const int i = batch->station;
    efi_batch_settle(batch, engine->now_h);
    batch->out_tph = engine->rates.given_tph[i];
    switch (batch->phase) {
    case EFI_BATCH_FILLS:
        batch->left_rate = engine->rates.through_tph[i];
        break;
    case EFI_BATCH_WORKS:
        batch->left_rate = engine->station[i].running > 0 ? 1.0 : 0.0;
        break;
    case EFI_BATCH_DISCHARGES:
        batch->left_rate = batch->out_tph;
        break;
    }
    const double left = batch->left > 0.0 ? batch->left : 0.0;
    engine->slot_h[engine->first_batch + k] = batch->left_rate > 0.0 ? engine->now_h + left / batch->left_rate
                                                                     : INFINITY;
}

efi_state efi_batch_state(const efi_engine *engine, int k)
{
    const efi_run_batch *batch = &engine->batch[k];
    const int i = batch->station;
    const double rate_tph = engine->rates.through_tph[i];
    switch (batch->phase) {
    case EFI_BATCH_FILLS:
        if (!(rate_tph > 0.0))
            return EFI_STATE_STARVED;
        return rate_tph >= engine->station[i].machine_tph * (1.0 - EFI_SAME_RATE) ? EFI_STATE_FULL_RATE
                                                                                  : EFI_STATE_SLOW;
    case EFI_BATCH_WORKS:
        return EFI_STATE_WORKING;
    case EFI_BATCH_DISCHARGES:
        return engine->rates.given_tph[i] > 0.0 ? EFI_STATE_WORKING : EFI_STATE_BLOCKED;
    }
    return EFI_STATE_STARVED;
}

double efi_batch_ageing(const efi_engine *engine, int k)
{
    const efi_run_batch *batch = &engine->batch[k];
    const int i = batch->station;
    switch (batch->phase) {
    case EFI_BATCH_FILLS:
        return engine->rates.through_tph[i] / engine->station[i].machine_tph;
    case EFI_BATCH_WORKS:
        return 1.0;
    case EFI_BATCH_DISCHARGES:
        return engine->rates.given_tph[i] / described(engine, k)->discharge_tph;
    }
    return 0.0;
}
