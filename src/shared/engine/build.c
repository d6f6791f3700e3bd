/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/state.h"

#include <math.h>

efi_engine_settings efi_engine_defaults(void)
{
    return (efi_engine_settings){.event_cap_per_h = 200000, .is_general = false};
}

/* ---- building ---------------------------------------------------------------------------------- */

static int machines_of(const efi_network_station *station)
{
    return station->kind == EFI_NETWORK_BIN || station->kind == EFI_NETWORK_SPLIT ? 1 : station->machines;
}

static bool is_loaded(const efi_network_station *station)
{
    return station->kind == EFI_NETWORK_INTAKE && station->loads.is_used;
}

static bool warms_up(const efi_network_station *station)
{
    return station->kind == EFI_NETWORK_MACHINE && station->steady.is_steady &&
           station->steady.warm_up_h > 0.0;
}

/* Numbers of everything, and the first slot of each kind. */
static int count_parts(efi_engine *engine)
{
    const efi_network *network = engine->network;
    int machines = 0;
    for (int i = 0; i < network->stations; i++) {
        const efi_network_station *station = &network->station[i];
        engine->bins += station->kind == EFI_NETWORK_BIN;
        engine->loads += is_loaded(station);
        engine->warms += warms_up(station);
        engine->batches += efi_station_is_batch(station);
        engine->belts += efi_station_is_belt(station);
        machines += machines_of(station);
        if (station->kind != EFI_NETWORK_BIN && station->kind != EFI_NETWORK_SPLIT)
            engine->sources += station->machines * station->modes;
        engine->has_latches = engine->has_latches || warms_up(station) ||
                              (station->kind == EFI_NETWORK_BIN &&
                               station->bin.restart_t > station->bin.empty_t);
    }
    engine->first_crew = engine->bins;
    engine->first_stop = engine->first_crew + network->crews;
    engine->first_warm = engine->first_stop + engine->sources;
    engine->first_batch = engine->first_warm + engine->warms;
    engine->first_belt = engine->first_batch + engine->batches;
    engine->first_clean = engine->first_belt + engine->belts;
    const bool has_lots = engine->settings.lots > 0;
    engine->first_layer = engine->first_clean + (has_lots ? network->stations : 0);
    engine->first_lot = engine->first_layer + (has_lots ? engine->bins : 0);
    engine->first_dumped = engine->first_lot + (has_lots ? 2 : 0);
    engine->first_arrival = engine->first_dumped + engine->loads;
    engine->slots = engine->first_arrival + engine->loads;
    return machines;
}

static ef_status take_memory(efi_engine *engine, int machines)
{
    efi_arena *arena = engine->arena;
    const size_t stations = (size_t)engine->network->stations + 1;
    const size_t slots = ((size_t)engine->slots + 4) / 4 * 4;
    engine->slot_h = efi_arena_get(arena, slots, sizeof *engine->slot_h);
    /* with lots one instant may end and begin one at every station, and a bin may give out all its layers */
    const size_t passed = engine->settings.lots > 0 ? stations * (6 + EFI_LAYERS) : 0;
    const size_t crewed = engine->network->crews > 0 ? 2 * (size_t)engine->sources : 0; /* come and go */
    engine->event = efi_arena_get(arena, slots + passed + crewed, sizeof *engine->event);
    engine->crew = efi_arena_get(arena, (size_t)engine->network->crews + 1, sizeof *engine->crew);
    engine->bin = efi_arena_get(arena, (size_t)engine->bins + 1, sizeof *engine->bin);
    engine->source = efi_arena_get(arena, (size_t)engine->sources + 1, sizeof *engine->source);
    engine->warm = efi_arena_get(arena, (size_t)engine->warms + 1, sizeof *engine->warm);
    engine->batch = efi_arena_get(arena, (size_t)engine->batches + 1, sizeof *engine->batch);
    engine->belt = efi_arena_get(arena, (size_t)engine->belts + 1, sizeof *engine->belt);
    engine->load = efi_arena_get(arena, (size_t)engine->loads + 1, sizeof *engine->load);
    engine->station = efi_arena_get(arena, stations, sizeof *engine->station);
    engine->active = efi_arena_get(arena, (size_t)machines + 1, sizeof *engine->active);
    engine->first_machine = efi_arena_get(arena, stations, sizeof *engine->first_machine);
    engine->pass = efi_arena_get(arena, stations, sizeof *engine->pass);
    engine->run_bin = efi_arena_get(arena, stations, sizeof *engine->run_bin);
    engine->run_batch = efi_arena_get(arena, stations, sizeof *engine->run_batch);
    engine->run_belt = efi_arena_get(arena, stations, sizeof *engine->run_belt);
    engine->run_load = efi_arena_get(arena, stations, sizeof *engine->run_load);
    engine->is_marked = efi_arena_get(arena, stations, sizeof *engine->is_marked);
    const bool is_complete = engine->slot_h && engine->event && engine->crew && engine->bin &&
                             engine->source && engine->warm && engine->batch && engine->run_batch &&
                             engine->load && engine->station && engine->active && engine->first_machine &&
                             engine->pass && engine->run_bin && engine->belt && engine->run_belt &&
                             engine->run_load && engine->is_marked;
    if (is_complete && engine->settings.lots > 0) {
        engine->lot = efi_arena_get(arena, stations, sizeof *engine->lot);
        engine->layers = efi_arena_get(arena, (size_t)engine->bins + 1, sizeof *engine->layers);
    }
    const bool has_lots = engine->settings.lots == 0 || (engine->lot && engine->layers);
    return is_complete && has_lots ? EF_OK : EF_MEMORY;
}

static void describe_bin(efi_engine *engine, int i, int b)
{
    const efi_rates *rates = &engine->rates;
    const efi_network_bin *bin = &engine->network->station[i].bin;
    engine->run_bin[i] = b;
    engine->bin[b] = (efi_run_bin){
        .station = i,
        .consumer = engine->network->spout[rates->out_spout[rates->out_start[i]]].to,
        .empty_t = bin->empty_t,
        .full_t = bin->full_t,
        .restart_t = bin->restart_t,
        .refill_t = bin->refill_t,
        .watched_t = INFINITY};
}

/* The bin that alone feeds a station, or -1. */
static int bin_before(const efi_rates *rates, int i)
{
    if (rates->in_start[i + 1] != rates->in_start[i] + 1)
        return -1;
    const int from = rates->network->spout[rates->in_spout[rates->in_start[i]]].from;
    return rates->network->station[from].kind == EFI_NETWORK_BIN ? from : -1;
}

/* The station's modes, machine by machine, become sources from `source` on. Returns how many. */
static int describe_station(efi_engine *engine, int i, int source, int machine)
{
    const efi_network_station *described = &engine->network->station[i];
    efi_run_station *station = &engine->station[i];
    const int modes = described->kind == EFI_NETWORK_SPLIT ? 0 : described->modes;
    *station = (efi_run_station){.machines = machines_of(described),
                                 .machine_tph = described->capacity_tph,
                                 .bin_before = bin_before(&engine->rates, i),
                                 .first_source = source,
                                 .is_steady = described->kind == EFI_NETWORK_MACHINE &&
                                              described->steady.is_steady};
    station->set_tph = station->machine_tph * station->machines;
    station->band_tph = station->is_steady ? described->steady.band_share * station->set_tph : 0.0;
    station->sources = modes * station->machines;
    engine->first_machine[i] = machine;
    for (int k = 0; k < station->sources; k++) {
        const efi_stop_mode *mode = &described->mode[k % modes];
        engine->source[source + k] = (efi_run_source){.counting = mode->counting,
                                                      .cause = mode->cause,
                                                      .is_rest = mode->is_rest ||
                                                                 mode->cause >= EFI_CAUSE_BREAK,
                                                      .station = i,
                                                      .unit = k / modes,
                                                      .mode = k % modes,
                                                      .crew = mode->has_crew ? mode->crew : -1,
                                                      .draws_ahead = mode->counting != EFI_COUNT_CLOCK};
        station->has_ageing = station->has_ageing || mode->counting != EFI_COUNT_CLOCK;
    }
    return station->sources;
}

static ef_status describe_belt(efi_engine *engine, int i, int k)
{
    engine->run_belt[i] = k;
    engine->belt[k] = (efi_run_belt){.station = i, .room = EFI_BELT_PIECES};
    engine->belt[k].piece = efi_arena_get(engine->arena, EFI_BELT_PIECES, sizeof(efi_belt_piece));
    return engine->belt[k].piece ? EF_OK : EF_MEMORY;
}

static ef_status describe_parts(efi_engine *engine)
{
    const efi_network *network = engine->network;
    int bins = 0;
    int sources = 0;
    int machines = 0;
    int warms = 0;
    int batches = 0;
    int belts = 0;
    int loads = 0;
    for (int i = 0; i < network->stations; i++) {
        const efi_network_station *station = &network->station[i];
        engine->run_bin[i] = engine->run_load[i] = engine->run_batch[i] = engine->run_belt[i] = -1;
        if (station->kind == EFI_NETWORK_BIN) {
            describe_bin(engine, i, bins++);
            continue;
        }
        engine->pass[engine->passes++] = i;
        sources += describe_station(engine, i, sources, machines);
        machines += machines_of(station);
        if (warms_up(station))
            engine->warm[warms++] = i;
        if (efi_station_is_batch(station)) {
            engine->run_batch[i] = batches;
            engine->batch[batches++] = (efi_run_batch){.station = i};
        }
        if (efi_station_is_belt(station))
            EF_TRY(describe_belt(engine, i, belts++));
        if (is_loaded(station)) {
            engine->run_load[i] = loads;
            engine->load[loads++] = (efi_run_loads){.station = i, .bin = -1};
        }
    }
    for (int k = 0; k < engine->loads; k++) {
        efi_run_loads *load = &engine->load[k];
        const int spout = engine->rates.out_spout[engine->rates.out_start[load->station]];
        if (network->station[load->station].loads.is_instant)
            load->bin = engine->run_bin[network->spout[spout].to];
    }
    return EF_OK;
}

static ef_status build_parts(efi_engine *engine)
{
    const int machines = count_parts(engine);
    EF_TRY(take_memory(engine, machines));
    EF_TRY(efi_rates_build(&engine->rates, engine->network, engine->arena));
    EF_TRY(describe_parts(engine));
    if (engine->lot) {
        engine->rates.has_one_sweep = false;
        efi_lots_build(engine);
    }
    if (!engine->rates.has_one_sweep)
        EF_TRY(efi_rates_remember(&engine->rates, engine->arena));
    if (engine->settings.is_general)
        return EF_OK;
    EF_TRY(efi_series_build(&engine->rates, engine->arena, &engine->series));
    return efi_moves_build(engine);
}

ef_status efi_engine_build(const efi_network *network, const efi_engine_settings *settings,
                           efi_engine **engine, efi_trouble *trouble)
{
    EF_TRY(efi_network_check(network, trouble));
    if (settings && settings->lots > 0)
        EF_TRY(efi_lots_check(network, settings->lot, settings->lots, trouble));
    efi_arena *arena = efi_arena_new();
    efi_engine *made = arena ? efi_arena_get(arena, 1, sizeof *made) : NULL;
    if (!made) {
        efi_arena_free(arena);
        return EF_MEMORY;
    }
    made->network = network;
    made->settings = settings ? *settings : efi_engine_defaults();
    made->arena = arena;
    const ef_status status = build_parts(made);
    if (status != EF_OK) {
        efi_arena_free(arena);
        return status;
    }
    made->is_stuck = true; /* until it is started */
    *engine = made;
    return EF_OK;
}

void efi_engine_free(efi_engine *engine)
{
    if (engine)
        efi_arena_free(engine->arena);
}

/* ---- starting ---------------------------------------------------------------------------------- */

static void start_bin(efi_engine *engine, efi_run_bin *bin)
{
    const efi_network_bin *described = &engine->network->station[bin->station].bin;
    const bool is_full = !(described->start_t < described->full_t);
    bin->since_h = 0.0;
    bin->level_t = bin->cleared_t = described->start_t;
    bin->is_changed = true;
    efi_bin_place(engine, bin);
    bin->own = (efi_bin_flow){.at = engine->rates.at[bin->station]};
    bin->flow = &bin->own;
    engine->rates.out_shut[bin->station] = 0;
    engine->rates.in_shut[bin->station] = is_full && described->refill_t < described->full_t;
}

static void start_station(efi_engine *engine, int i)
{
    efi_run_station *station = &engine->station[i];
    station->since_h = 0.0;
    station->own = (efi_station_flow){.state = EFI_STATE_STARVED};
    station->flow = &station->own;
    station->is_changed = true;
    station->is_cold = station->is_warming = false;
    station->running = station->machines;
    station->rests = 0;
    for (int c = 0; c < EFI_CAUSES; c++)
        station->cause_count[c] = 0;
    for (int m = 0; m < station->machines; m++)
        engine->active[engine->first_machine[i] + m] = 0;
    engine->rates.capacity_tph[i] = engine->run_load[i] >= 0 ? 0.0 : station->set_tph;
}

static void start_source(efi_engine *engine, int k, uint64_t seed, uint64_t replication)
{
    efi_run_source *source = &engine->source[k];
    const efi_network_station *station = &engine->network->station[source->station];
    efi_stop_source_start(&source->source, &station->mode[source->mode], seed, replication,
                          efi_stop_stream(station->key, source->unit, source->mode));
    if (engine->settings.has_past)
        efi_stop_source_look_in(&source->source);
    source->since_h = source->age_rate = source->age_left = 0.0;
    source->is_stopped = source->is_waiting = source->is_new = source->is_begun = false;
    source->waits_since_h = source->rest_h = 0.0;
    const double gap = efi_stop_source_gap(&source->source);
    if (source->counting == EFI_COUNT_CLOCK)
        engine->slot_h[engine->first_stop + k] = gap;
    else
        source->age_left = gap;
    if (source->draws_ahead)
        source->ahead = efi_stop_source_duration(&source->source);
}

void efi_engine_start(efi_engine *engine, uint64_t seed, uint64_t replication)
{
    const int padded = (engine->slots + 4) / 4 * 4;
    for (int k = 0; k < padded; k++)
        engine->slot_h[k] = INFINITY;
    engine->base_h = engine->now_h = 0.0;
    engine->events = engine->hour_events = 0;
    engine->hour = 0;
    engine->is_stuck = false;
    engine->fired = 0;
    for (int b = 0; b < engine->bins; b++)
        start_bin(engine, &engine->bin[b]);
    for (int k = 0; k < engine->passes; k++)
        start_station(engine, engine->pass[k]);
    for (int i = 0; i < engine->network->stations; i++) {
        engine->is_marked[i] = false;
        engine->rates.ease[i] = EFI_LOOP_PLAIN;
    }
    for (int e = 0; e < engine->network->spouts; e++)
        efi_rates_set_share(&engine->rates, e, engine->rates.base_share[e]);
    for (int k = 0; k < engine->sources; k++)
        start_source(engine, k, seed, replication);
    engine->next_ticket = 0;
    for (int c = 0; c < engine->network->crews; c++)
        efi_crew_start(engine, c);
    for (int k = 0; k < engine->batches; k++)
        efi_batch_start(engine, k);
    for (int k = 0; k < engine->belts; k++)
        efi_belt_start(engine, k);
    for (int k = 0; k < engine->loads; k++)
        efi_load_start(engine, k, seed, replication);
    if (engine->lot)
        efi_lots_start(engine);
    if (engine->moves)
        efi_moves_start(engine);
    efi_engine_clear(engine);
}
