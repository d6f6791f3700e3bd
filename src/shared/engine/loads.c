/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/state.h"

#include <math.h>

static double draw_size(const efi_network_loads *loads, efi_random *random)
{
    if (loads->sizes == 0)
        return efi_distribution_draw(&loads->load_t, random);
    const double uniform = efi_random_uniform(random);
    double sum = 0.0;
    int i = 0;
    for (; i + 1 < loads->sizes; i++) {
        sum += loads->size[i].share;
        if (uniform <= sum)
            break;
    }
    return efi_grid_round(loads->size[i].load_t);
}

static double on_grid(double at_h)
{
    return at_h < 0.5 * EFI_GRID_STEP ? 0.0 : efi_grid_round(at_h);
}

/* The hour, counted from base_h, at which the next load comes: a gap of hours in which loads come after
 * `at_h`. INFINITY when those hours are over. */
static double next_arrival_h(const efi_engine *engine, efi_run_loads *load, double at_h)
{
    const efi_network_loads *loads = &engine->network->station[load->station].loads;
    double left_h = efi_distribution_draw(&loads->gap_h, &load->gap_random);
    if (loads->intervals == 0)
        return at_h + left_h;
    double clock_h = engine->base_h + at_h;
    for (; load->interval < loads->intervals; load->interval++) {
        const double from_h = on_grid(loads->open[load->interval].from_h);
        const double to_h = on_grid(loads->open[load->interval].to_h);
        const double since_h = clock_h > from_h ? clock_h : from_h;
        if (since_h + left_h < to_h)
            return since_h + left_h - engine->base_h;
        left_h -= to_h > since_h ? to_h - since_h : 0.0;
    }
    return INFINITY;
}

void efi_load_start(efi_engine *engine, int k, uint64_t seed, uint64_t replication)
{
    efi_run_loads *load = &engine->load[k];
    const efi_network_station *station = &engine->network->station[load->station];
    load->gap_random = efi_random_stream(seed, replication,
                                         efi_stop_stream(station->key, EFI_ARRIVAL_UNIT, 0));
    load->size_random = efi_random_stream(seed, replication,
                                          efi_stop_stream(station->key, EFI_ARRIVAL_UNIT, 1));
    load->waiting = 0;
    load->dumping = load->interval = 0;
    load->rate_tph = load->since_h = 0.0;
    const double first_h = next_arrival_h(engine, load, 0.0);
    engine->slot_h[engine->first_arrival + k] = station->loads.has_first ? station->loads.first_h : first_h;
}

static void begin_dumping(efi_engine *engine, efi_run_loads *load)
{
    const efi_network_loads *loads = &engine->network->station[load->station].loads;
    load->left_t[load->dumping++] = draw_size(loads, &load->size_random);
    engine->station[load->station].is_changed = true;
    engine->rates.capacity_tph[load->station] = efi_station_present_tph(engine, load->station);
}

/* Of the loads being dumped, the one with the least left. */
static int least_left(const efi_run_loads *load)
{
    int least = 0;
    for (int i = 1; i < load->dumping; i++)
        if (load->left_t[i] < load->left_t[least])
            least = i;
    return least;
}

void efi_load_end(efi_engine *engine, int k)
{
    efi_run_loads *load = &engine->load[k];
    efi_load_settle(load, engine->now_h);
    engine->slot_h[engine->first_dumped + k] = INFINITY;
    load->left_t[least_left(load)] = load->left_t[load->dumping - 1];
    load->dumping--;
    load->rate_tph = 0.0; /* until the rates of this instant are known */
    engine->station[load->station].is_changed = true;
    engine->rates.capacity_tph[load->station] = efi_station_present_tph(engine, load->station);
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
    const double load_t = draw_size(&engine->network->station[load->station].loads, &load->size_random);
    efi_bin_settle(bin, engine->now_h);
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
    engine->slot_h[engine->first_arrival + k] = next_arrival_h(engine, load, engine->now_h);
    load->arrivals++;
    efi_event_kind kind = EFI_EVENT_ARRIVED;
    if (loads->is_instant) {
        dump_at_once(engine, load);
    } else if (load->dumping < engine->network->station[load->station].machines) {
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
    const double rate_tph = load->dumping > 0 ? engine->rates.through_tph[load->station] : 0.0;
    efi_load_settle(load, engine->now_h);
    load->rate_tph = rate_tph;
    if (!(rate_tph > 0.0)) {
        engine->slot_h[engine->first_dumped + k] = INFINITY;
        return;
    }
    const double least_t = load->left_t[least_left(load)];
    const double left_t = least_t > 0.0 ? least_t : 0.0;
    engine->slot_h[engine->first_dumped + k] = engine->now_h + left_t / (rate_tph / load->dumping);
}
