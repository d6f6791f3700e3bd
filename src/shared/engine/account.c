/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/state.h"

#include <math.h>

void efi_load_settle(efi_run_loads *load, double now_h)
{
    const double hours = now_h - load->since_h;
    load->since_h = now_h;
    if (!(hours > 0.0))
        return;
    for (int i = 0; i < load->dumping; i++)
        load->left_t[i] -= load->rate_tph / load->dumping * hours;
    efi_sum_add(&load->queue_h, (double)(load->waiting + load->dumping) * hours);
}

void efi_engine_settle(efi_engine *engine)
{
    for (int k = 0; k < engine->passes; k++)
        efi_station_settle(&engine->station[engine->pass[k]], engine->now_h);
    for (int b = 0; b < engine->bins; b++)
        efi_bin_settle(&engine->bin[b], engine->now_h);
    for (int k = 0; k < engine->sources; k++)
        efi_source_settle(&engine->source[k], engine->now_h);
    for (int c = 0; c < engine->network->crews; c++)
        efi_crew_settle(&engine->crew[c], engine->now_h);
    if (engine->lot)
        efi_lots_settle(engine);
    for (int k = 0; k < engine->batches; k++)
        efi_batch_settle(&engine->batch[k], engine->now_h);
    for (int k = 0; k < engine->belts; k++)
        efi_belt_settle(&engine->belt[k], engine->now_h);
    for (int k = 0; k < engine->loads; k++)
        efi_load_settle(&engine->load[k], engine->now_h);
}

void efi_engine_clear(efi_engine *engine)
{
    const efi_sum none = {0.0, 0.0};
    for (int k = 0; k < engine->passes; k++) {
        efi_run_station *station = &engine->station[engine->pass[k]];
        for (int s = 0; s < EFI_STATE_COUNT; s++)
            station->state_h[s] = none;
        station->in_t = station->shortfall_t = station->out_of_band_h = station->warm_up_t = none;
        station->stops = 0;
    }
    for (int b = 0; b < engine->bins; b++) {
        efi_run_bin *bin = &engine->bin[b];
        bin->in_t = bin->out_t = bin->level_th = bin->above_h = none;
        for (int at = 0; at < 4; at++)
            bin->at_h[at] = none;
        bin->cleared_t = bin->level_t;
    }
    for (int c = 0; c < engine->network->crews; c++)
        efi_crew_clear(&engine->crew[c]);
    for (int k = 0; k < engine->batches; k++) {
        engine->batch[k].out_t = none;
        engine->batch[k].cleared_t = engine->batch[k].charge_t;
    }
    for (int k = 0; k < engine->belts; k++) {
        engine->belt[k].out_t = none;
        engine->belt[k].cleared_t = efi_belt_content_t(&engine->belt[k]);
    }
    for (int k = 0; k < engine->loads; k++) {
        efi_run_loads *load = &engine->load[k];
        load->arrivals = load->turned_away = 0;
        load->spilled_t = load->queue_h = none;
    }
}

static void read_bin(const efi_run_bin *bin, efi_account *account)
{
    account->in_t = bin->in_t.sum;
    account->out_t = bin->out_t.sum;
    account->level_t = bin->level_t;
    account->level_th = bin->level_th.sum;
    account->empty_h = bin->at_h[EFI_AT_EMPTY].sum + bin->at_h[EFI_AT_BOTH].sum;
    account->full_h = bin->at_h[EFI_AT_FULL].sum + bin->at_h[EFI_AT_BOTH].sum;
    account->above_h = bin->above_h.sum;
}

void efi_engine_read(const efi_engine *engine, int station, efi_account *account)
{
    assert(station >= 0 && station < engine->network->stations);
    *account = (efi_account){0};
    if (engine->run_bin[station] >= 0) {
        read_bin(&engine->bin[engine->run_bin[station]], account);
        return;
    }
    const efi_run_station *one = &engine->station[station];
    for (int s = 0; s < EFI_STATE_COUNT; s++)
        account->state_h[s] = one->state_h[s].sum;
    account->in_t = account->out_t = one->in_t.sum;
    account->stops = one->stops;
    account->shortfall_t = one->shortfall_t.sum;
    account->out_of_band_h = one->out_of_band_h.sum;
    account->warm_up_t = one->warm_up_t.sum;
    if (engine->run_batch[station] >= 0) {
        account->out_t = engine->batch[engine->run_batch[station]].out_t.sum;
        account->level_t = engine->batch[engine->run_batch[station]].charge_t;
    }
    if (engine->run_belt[station] >= 0) {
        account->out_t = engine->belt[engine->run_belt[station]].out_t.sum;
        account->level_t = efi_belt_content_t(&engine->belt[engine->run_belt[station]]);
    }
    if (engine->run_load[station] >= 0) {
        const efi_run_loads *load = &engine->load[engine->run_load[station]];
        account->arrivals = load->arrivals;
        account->turned_away = load->turned_away;
        account->spilled_t = load->spilled_t.sum;
        account->queue_h = load->queue_h.sum;
    }
}

double efi_engine_imbalance_t(const efi_engine *engine)
{
    efi_sum sum = {0.0, 0.0};
    for (int k = 0; k < engine->passes; k++) {
        const int i = engine->pass[k];
        if (engine->network->station[i].kind == EFI_NETWORK_INTAKE)
            efi_sum_add(&sum, engine->station[i].in_t.sum);
        else if (engine->network->station[i].kind == EFI_NETWORK_OUTLET)
            efi_sum_add(&sum, -engine->station[i].in_t.sum);
    }
    for (int b = 0; b < engine->bins; b++)
        efi_sum_add(&sum, engine->bin[b].cleared_t - engine->bin[b].level_t);
    for (int k = 0; k < engine->batches; k++)
        efi_sum_add(&sum, engine->batch[k].cleared_t - engine->batch[k].charge_t);
    for (int k = 0; k < engine->belts; k++)
        efi_sum_add(&sum, engine->belt[k].cleared_t - efi_belt_content_t(&engine->belt[k]));
    return sum.sum;
}

void efi_engine_watch_level(efi_engine *engine, int bin, double level_t)
{
    assert(engine->run_bin[bin] >= 0);
    engine->bin[engine->run_bin[bin]].watched_t = level_t;
}

double efi_engine_level_t(const efi_engine *engine, int bin)
{
    assert(engine->run_bin[bin] >= 0);
    const efi_run_bin *one = &engine->bin[engine->run_bin[bin]];
    return one->level_t + one->flow->net_tph * (engine->now_h - one->since_h);
}

double efi_engine_gain_tph(const efi_engine *engine, int bin)
{
    assert(engine->run_bin[bin] >= 0);
    return engine->bin[engine->run_bin[bin]].flow->net_tph;
}

double efi_engine_rate_tph(const efi_engine *engine, int station)
{
    const int b = engine->run_bin[station];
    return b >= 0 ? engine->bin[b].flow->outflow_tph : engine->station[station].flow->rate_tph;
}

double efi_engine_flow_tph(const efi_engine *engine, int spout)
{
    return engine->series ? (double)NAN : engine->rates.flow_tph[spout];
}

efi_state efi_engine_state(const efi_engine *engine, int station)
{
    assert(engine->run_bin[station] < 0);
    return engine->station[station].flow->state;
}

bool efi_engine_is_stopped(const efi_engine *engine, int station)
{
    return engine->run_bin[station] < 0 && engine->station[station].running == 0;
}

bool efi_engine_is_warming(const efi_engine *engine, int station)
{
    return engine->run_bin[station] < 0 && engine->station[station].is_warming;
}

const char *efi_state_text(efi_state state)
{
    static const char *const words[] = {
#define EFI_STATE_WORDS(name, words_of_state) words_of_state,
        EFI_STATES(EFI_STATE_WORDS)
#undef EFI_STATE_WORDS
    };
    return (size_t)state < EF_COUNT(words) ? words[state] : "";
}

const char *efi_event_text(efi_event_kind kind)
{
    static const char *const words[] = {
#define EFI_EVENT_WORDS(name, words_of_kind) words_of_kind,
        EFI_EVENTS(EFI_EVENT_WORDS)
#undef EFI_EVENT_WORDS
    };
    return (size_t)kind < EF_COUNT(words) ? words[kind] : "";
}
