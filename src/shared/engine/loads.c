/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/state.h"

#include <math.h>

static void begin_dumping(efi_engine *engine, efi_run_loads *load)
{
    const efi_network_loads *loads = &engine->network->station[load->station].loads;
    load->is_dumping = true;
    load->left_t = efi_distribution_draw(&loads->load_t, &load->size_random);
    engine->station[load->station].is_changed = true;
    engine->rates.capacity_tph[load->station] = efi_station_present_tph(engine, load->station);
}

void efi_load_end(efi_engine *engine, int k)
{
    efi_run_loads *load = &engine->load[k];
    efi_load_settle(load, engine->now_h);
    engine->slot_h[engine->first_dumped + k] = INFINITY;
    load->rate_tph = 0.0;
    load->left_t = 0.0;
    load->is_dumping = false;
    engine->station[load->station].is_changed = true;
    engine->rates.capacity_tph[load->station] = 0.0;
    if (load->waiting > 0) {
        load->waiting--;
        begin_dumping(engine, load);
    }
    efi_event_note(engine, EFI_EVENT_DUMPED, load->station, 0, 0);
}

/* A load that is in the bin the moment it arrives. */
static void dump_at_once(efi_engine *engine, efi_run_loads *load)
{
    efi_run_bin *bin = &engine->bin[load->bin];
    efi_rates *rates = &engine->rates;
    const double load_t = efi_distribution_draw(&engine->network->station[load->station].loads.load_t,
                                                &load->size_random);
    efi_bin_settle(bin, (efi_level_at)rates->at[bin->station], engine->now_h);
    const double space_t = rates->in_shut[bin->station] ? 0.0 : bin->full_t - bin->level_t;
    const bool fits = load_t < space_t;
    const double taken_t = fits ? load_t : space_t > 0.0 ? space_t : 0.0;
    if (!rates->in_shut[bin->station])
        bin->level_t = fits ? bin->level_t + load_t : bin->full_t;
    efi_bin_place(engine, bin);
    bin->is_changed = true;
    if (!fits)
        rates->in_shut[bin->station] = bin->refill_t < bin->full_t;
    if (rates->out_shut[bin->station] && bin->level_t >= bin->restart_t)
        rates->out_shut[bin->station] = 0;
    efi_sum_add(&bin->in_t, taken_t);
    efi_sum_add(&engine->station[load->station].in_t, taken_t);
    efi_sum_add(&load->spilled_t, load_t - taken_t);
}

void efi_load_arrive(efi_engine *engine, int k)
{
    efi_run_loads *load = &engine->load[k];
    const efi_network_loads *loads = &engine->network->station[load->station].loads;
    efi_load_settle(load, engine->now_h);
    engine->slot_h[engine->first_arrival + k] = engine->now_h +
                                                efi_distribution_draw(&loads->gap_h, &load->gap_random);
    load->arrivals++;
    efi_event_kind kind = EFI_EVENT_ARRIVED;
    if (loads->is_instant) {
        dump_at_once(engine, load);
    } else if (!load->is_dumping) {
        begin_dumping(engine, load);
    } else if (loads->queue_limit < 0 || load->waiting < loads->queue_limit) {
        load->waiting++;
    } else {
        load->turned_away++;
        kind = EFI_EVENT_TURNED_AWAY;
    }
    efi_event_note(engine, kind, load->station, 0, 0);
}

void efi_load_put(efi_engine *engine, int k)
{
    efi_run_loads *load = &engine->load[k];
    const double rate_tph = load->is_dumping ? engine->rates.through_tph[load->station] : 0.0;
    efi_load_settle(load, engine->now_h);
    load->rate_tph = rate_tph;
    const double left_t = load->left_t > 0.0 ? load->left_t : 0.0;
    engine->slot_h[engine->first_dumped + k] = rate_tph > 0.0 ? engine->now_h + left_t / rate_tph : INFINITY;
}
