/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/state.h"

#include <math.h>

/* Events before the cap from which on the stations that have them are noted. */
#define EFI_NOTED_EVENTS 512
/* Tonnes may fail to balance by this share of what has passed. */
#define EFI_MASS_TOLERANCE 1e-9

double efi_station_present_tph(const efi_engine *engine, int i)
{
    const efi_run_station *station = &engine->station[i];
    const int k = engine->run_load[i];
    if (station->running == 0 || efi_lots_closed(engine, i) || (k >= 0 && engine->load[k].dumping == 0))
        return 0.0;
    if (k >= 0 && engine->load[k].dumping < station->running)
        return station->machine_tph * engine->load[k].dumping;
    return station->machine_tph * station->running;
}

void efi_event_note(efi_engine *engine, efi_event_kind kind, int station, int unit, int mode)
{
    engine->event[engine->fired++] = (efi_event){engine->base_h + engine->now_h, kind, station, unit, mode};
}

/* ---- candidates and what happens at them ------------------------------------------------------- */

/* The next level event of a bin: the nearest of the levels ahead of it that have a meaning now. */
static void aim_bin(efi_engine *engine, int b)
{
    efi_run_bin *bin = &engine->bin[b];
    double *slot_h = &engine->slot_h[b];
    *slot_h = INFINITY;
    if (bin->net_tph > 0.0) {
        const bool waits = engine->rates.out_shut[bin->station];
        bin->target_t = waits ? bin->restart_t : bin->full_t;
        bin->target = waits ? EFI_EVENT_RESTART : EFI_EVENT_FULL;
    } else if (bin->net_tph < 0.0) {
        const bool waits = engine->rates.in_shut[bin->station];
        bin->target_t = waits ? bin->refill_t : bin->empty_t;
        bin->target = waits ? EFI_EVENT_REFILL : EFI_EVENT_EMPTY;
    } else {
        return;
    }
    const double at_h = engine->now_h + (bin->target_t - bin->level_t) / bin->net_tph;
    *slot_h = at_h > engine->now_h ? at_h : engine->now_h;
}

void efi_bin_place(efi_engine *engine, const efi_run_bin *bin)
{
    const bool is_empty = !(bin->level_t > bin->empty_t);
    const bool is_full = !(bin->level_t < bin->full_t);
    engine->rates.at[bin->station] = (unsigned char)((is_empty ? EFI_AT_EMPTY : 0) |
                                                     (is_full ? EFI_AT_FULL : 0));
}

static void reach_level(efi_engine *engine, int b)
{
    efi_run_bin *bin = &engine->bin[b];
    efi_rates *rates = &engine->rates;
    efi_bin_settle(bin, (efi_level_at)rates->at[bin->station], engine->now_h);
    bin->level_t = bin->target_t;
    bin->is_changed = true;
    efi_bin_place(engine, bin);
    engine->slot_h[b] = INFINITY;
    if (bin->target == EFI_EVENT_FULL)
        rates->in_shut[bin->station] = bin->refill_t < bin->full_t;
    else if (bin->target == EFI_EVENT_RESTART)
        rates->out_shut[bin->station] = 0;
    else if (bin->target == EFI_EVENT_REFILL)
        rates->in_shut[bin->station] = 0;
    efi_event_note(engine, bin->target, bin->station, 0, 0);
}

static void begin_stop(efi_engine *engine, efi_run_source *source, double *slot_h)
{
    efi_run_station *station = &engine->station[source->station];
    int *active = &engine->active[engine->first_machine[source->station] + source->unit];
    const double length_h = efi_stop_source_duration(&source->source);
    source->is_stopped = true;
    station->stops++;
    if ((*active)++ == 0)
        station->running--;
    efi_event_note(engine, EFI_EVENT_STOP, source->station, source->unit, source->mode);
    if (source->crew >= 0) {
        efi_crew_call(engine, source, length_h);
        return;
    }
    *slot_h = engine->now_h + length_h;
    station->cause_count[source->cause]++;
}

static void end_stop(efi_engine *engine, efi_run_source *source, double *slot_h)
{
    efi_run_station *station = &engine->station[source->station];
    int *active = &engine->active[engine->first_machine[source->station] + source->unit];
    source->is_stopped = false;
    const double gap = efi_stop_source_gap(&source->source);
    *slot_h = source->counting == EFI_COUNT_CLOCK ? engine->now_h + gap : INFINITY;
    source->age_left = source->counting == EFI_COUNT_CLOCK ? 0.0 : gap;
    station->cause_count[source->cause]--;
    if (--(*active) == 0)
        station->running++;
    efi_event_note(engine, EFI_EVENT_START, source->station, source->unit, source->mode);
    if (source->crew >= 0)
        efi_crew_release(engine, source->crew);
}

static void change_stop(efi_engine *engine, int k)
{
    efi_run_source *source = &engine->source[k];
    double *slot_h = &engine->slot_h[engine->first_stop + k];
    efi_source_settle(source, engine->now_h);
    source->age_rate = 0.0;
    if (source->is_stopped)
        end_stop(engine, source, slot_h);
    else
        begin_stop(engine, source, slot_h);
    engine->station[source->station].is_changed = true;
    if (engine->lot && source->is_rest) {
        engine->station[source->station].rests += source->is_stopped ? 1 : -1;
        efi_lots_hold(engine, source->station);
    }
    if (engine->run_batch[source->station] >= 0)
        efi_batch_prepare(engine, engine->run_batch[source->station]);
    else if (engine->run_belt[source->station] >= 0)
        efi_belt_prepare(engine, engine->run_belt[source->station]);
    else
        engine->rates.capacity_tph[source->station] = efi_station_present_tph(engine, source->station);
}

/* ---- rates and their consequences -------------------------------------------------------------- */

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

/* When the sources that count running hours or tonnes are due at the present rate. */
static void aim_sources(efi_engine *engine, const efi_run_station *station, int i)
{
    const int *active = engine->active + engine->first_machine[i];
    for (int k = station->first_source; k < station->first_source + station->sources; k++) {
        efi_run_source *source = &engine->source[k];
        if (source->counting == EFI_COUNT_CLOCK || source->is_stopped)
            continue;
        efi_source_settle(source, engine->now_h);
        double rate = 0.0;
        if (active[source->unit] == 0) {
            const double share_tph = station->running == 1 ? station->rate_tph
                                                           : station->rate_tph / station->running;
            if (source->counting == EFI_COUNT_TONNES)
                rate = share_tph;
            else if (engine->run_batch[i] >= 0)
                rate = efi_batch_ageing(engine, engine->run_batch[i]);
            else
                rate = share_tph / station->machine_tph;
        }
        source->age_rate = rate;
        const double left = source->age_left > 0.0 ? source->age_left : 0.0;
        engine->slot_h[engine->first_stop + k] = rate > 0.0 ? engine->now_h + left / rate : INFINITY;
    }
}

static void put_station(efi_engine *engine, int i)
{
    efi_run_station *station = &engine->station[i];
    const double rate_tph = engine->rates.through_tph[i];
    const bool is_same = rate_tph == station->rate_tph;
    if (is_same && !station->is_changed && rate_tph > 0.0)
        return; /* only a station that stands still may do so for another reason than before */
    const efi_state state = efi_station_state(engine, i, station);
    if (is_same && !station->is_changed && state == station->state)
        return;
    efi_station_settle(station, engine->now_h);
    station->rate_tph = rate_tph;
    station->state = state;
    station->is_changed = false;
    if (station->has_ageing)
        aim_sources(engine, station, i);
}

/* What a bin gains, t/h; differences that are rounding are none. */
double efi_bin_gain_tph(double inflow_tph, double outflow_tph)
{
    const double net_tph = inflow_tph - outflow_tph;
    const double flow_tph = inflow_tph > outflow_tph ? inflow_tph : outflow_tph;
    return fabs(net_tph) <= EFI_SAME_RATE * flow_tph ? 0.0 : net_tph;
}

static void put_bin(efi_engine *engine, int b)
{
    efi_run_bin *bin = &engine->bin[b];
    efi_rates *rates = &engine->rates;
    const double inflow_tph = rates->inflow_tph[bin->station];
    const double outflow_tph = rates->through_tph[bin->station];
    const bool is_same = inflow_tph == bin->inflow_tph && outflow_tph == bin->outflow_tph;
    if (is_same && !bin->is_changed)
        return;
    unsigned char *at = &rates->at[bin->station];
    efi_bin_settle(bin, (efi_level_at)*at, engine->now_h);
    bin->inflow_tph = inflow_tph;
    bin->outflow_tph = outflow_tph;
    bin->net_tph = efi_bin_gain_tph(inflow_tph, outflow_tph);
    bin->is_changed = false;
    const bool leaves = (*at == EFI_AT_EMPTY && bin->net_tph > 0.0) ||
                        (*at == EFI_AT_FULL && bin->net_tph < 0.0);
    if (leaves)
        *at = EFI_AT_BETWEEN;
    else if (*at != EFI_AT_BETWEEN)
        bin->net_tph = 0.0;
    aim_bin(engine, b);
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
/* At every instant: what the intakes give is what the outlets take and the bins gain. */
static void assert_mass(const efi_engine *engine)
{
    double gain = 0.0;
    double sum = 1.0;
    for (int k = 0; k < engine->passes; k++) {
        const int i = engine->pass[k];
        const double rate = engine->rates.through_tph[i];
        const efi_network_kind kind = engine->network->station[i].kind;
        gain += kind == EFI_NETWORK_INTAKE ? rate : kind == EFI_NETWORK_OUTLET ? -rate : 0.0;
        sum += rate;
    }
    for (int b = 0; b < engine->bins; b++)
        gain -= engine->bin[b].net_tph;
    for (int k = 0; k < engine->batches; k++)
        gain -= engine->rates.through_tph[engine->batch[k].station] - engine->batch[k].out_tph;
    for (int k = 0; k < engine->belts; k++)
        gain -= engine->rates.through_tph[engine->belt[k].station] - engine->belt[k].out_tph;
    assert(fabs(gain) <= EFI_MASS_TOLERANCE * sum);
}
#else
static void assert_mass(const efi_engine *engine)
{
    (void)engine;
}
#endif

/* New rates after the events of an instant, and with them new candidates. */
static ef_status put_rates(efi_engine *engine)
{
    if (engine->lot) {
        efi_lots_settle(engine);
        efi_lots_pass(engine);
    }
    EF_TRY(efi_engine_solve(engine));
    if (engine->has_latches)
        EF_TRY(efi_latches_settle(engine));
    for (int k = 0; k < engine->batches; k++)
        engine->station[engine->batch[k].station].is_changed = true; /* its discharge may have changed */
    for (int k = 0; k < engine->passes; k++)
        put_station(engine, engine->pass[k]);
    for (int b = 0; b < engine->bins; b++)
        put_bin(engine, b);
    for (int k = 0; k < engine->batches; k++)
        efi_batch_put(engine, k);
    for (int k = 0; k < engine->belts; k++)
        EF_TRY(efi_belt_put(engine, k));
    for (int k = 0; k < engine->loads; k++)
        efi_load_put(engine, k);
    if (engine->lot)
        efi_lots_put(engine);
    assert_mass(engine);
    return EF_OK;
}

/* ---- the loop ----------------------------------------------------------------------------- */

static double next_slot_h(const efi_engine *engine)
{
    const double *slot_h = engine->slot_h;
    double a = slot_h[0];
    double b = slot_h[1];
    double c = slot_h[2];
    double d = slot_h[3];
    for (int k = 4; k < engine->slots; k += 4) {
        a = slot_h[k] < a ? slot_h[k] : a;
        b = slot_h[k + 1] < b ? slot_h[k + 1] : b;
        c = slot_h[k + 2] < c ? slot_h[k + 2] : c;
        d = slot_h[k + 3] < d ? slot_h[k + 3] : d;
    }
    a = b < a ? b : a;
    c = d < c ? d : c;
    return c < a ? c : a;
}

static void apply_slot(efi_engine *engine, int k)
{
    if (k < engine->first_crew)
        reach_level(engine, k);
    else if (k < engine->first_stop)
        efi_crew_change(engine, k - engine->first_crew);
    else if (k < engine->first_warm)
        change_stop(engine, k - engine->first_stop);
    else if (k < engine->first_batch)
        efi_warm_up_end(engine, k - engine->first_warm);
    else if (k < engine->first_belt)
        efi_batch_end(engine, k - engine->first_batch);
    else if (k < engine->first_clean)
        efi_belt_end(engine, k - engine->first_belt);
    else if (k < engine->first_dumped)
        efi_lots_apply(engine, k - engine->first_clean);
    else if (k < engine->first_arrival)
        efi_load_end(engine, k - engine->first_dumped);
    else
        efi_load_arrive(engine, k - engine->first_arrival);
}

/* All events of the present instant, in order of kind and station. */
static void apply_instant(efi_engine *engine)
{
    engine->fired = 0;
    for (int k = 0; k < engine->slots; k++)
        if (engine->slot_h[k] <= engine->now_h)
            apply_slot(engine, k);
}

static void report_stations(const efi_engine *engine, efi_trouble *trouble)
{
    for (int i = 0; i < engine->network->stations && trouble->stations < EFI_TROUBLE_STATIONS; i++)
        if (engine->is_marked[i])
            trouble->station[trouble->stations++] = i;
}

/* Counts events by the hour; false when there are too many. */
static bool guard_events(efi_engine *engine, efi_trouble *trouble)
{
    if (engine->now_h >= engine->hour_ends_h) {
        engine->hour_ends_h = floor(engine->now_h) + 1.0;
        engine->hour_events = 0;
    }
    engine->hour_events += engine->fired;
    if (engine->hour_events + EFI_NOTED_EVENTS < engine->settings.event_cap_per_h)
        return true;
    for (int k = 0; k < engine->fired; k++)
        engine->is_marked[engine->event[k].station] = true;
    if (engine->hour_events < engine->settings.event_cap_per_h)
        return true;
    *trouble = (efi_trouble){.kind = EFI_TROUBLE_EVENTS, .spout = -1, .at_h = engine->base_h + engine->now_h};
    report_stations(engine, trouble);
    return false;
}

/*
 * Does all stand still for good? No flow, no stop in force, nothing due but stops to begin and loads to
 * arrive, and a station that is blocked: full bins hold each other up, as in a loop that has choked.
 */
static bool stands_still(const efi_engine *engine)
{
    bool is_blocked = false;
    for (int k = 0; k < engine->passes; k++) {
        const efi_run_station *station = &engine->station[engine->pass[k]];
        if (station->rate_tph > 0.0 || station->running < station->machines)
            return false;
        is_blocked = is_blocked || station->state == EFI_STATE_BLOCKED;
    }
    for (int k = 0; k < engine->first_crew; k++)
        if (engine->slot_h[k] < INFINITY)
            return false;
    for (int k = engine->first_warm; k < engine->first_arrival; k++)
        if (engine->slot_h[k] < INFINITY)
            return false;
    return is_blocked;
}

static ef_status report_standstill(efi_engine *engine, efi_trouble *trouble)
{
    *trouble = (efi_trouble){
        .kind = EFI_TROUBLE_STANDSTILL, .spout = -1, .at_h = engine->base_h + engine->now_h};
    for (int k = 0; k < engine->batches; k++)
        if (engine->station[engine->batch[k].station].state == EFI_STATE_BLOCKED)
            trouble->kind = EFI_TROUBLE_BATCH;
    for (int k = 0; k < engine->passes; k++)
        if (engine->station[engine->pass[k]].state == EFI_STATE_BLOCKED)
            engine->is_marked[engine->pass[k]] = true;
    report_stations(engine, trouble);
    return EF_NO_ANSWER;
}

static void call_watcher(const efi_engine *engine)
{
    for (int k = 0; k < engine->fired; k++)
        engine->watcher(engine->watcher_context, engine, &engine->event[k]);
}

/* Why rates could not be put: memory, or a spout that does not settle. */
static ef_status report_rates(efi_engine *engine, ef_status status, efi_trouble *trouble)
{
    if (status != EF_NO_ANSWER)
        return status;
    const int spout = engine->rates.unsettled_spout;
    *trouble = (efi_trouble){
        .kind = EFI_TROUBLE_RATES, .spout = spout, .at_h = engine->base_h + engine->now_h};
    engine->is_marked[engine->network->spout[spout].from] = true;
    engine->is_marked[engine->network->spout[spout].to] = true;
    report_stations(engine, trouble);
    return EF_NO_ANSWER;
}

/* Moves the origin of time one block on: exact, as all times due are multiples of their last bit. */
static void shift_block(efi_engine *engine)
{
    efi_engine_settle(engine);
    for (int k = 0; k < engine->slots; k++)
        engine->slot_h[k] -= EFI_BLOCK_H;
    for (int k = 0; k < engine->passes; k++)
        engine->station[engine->pass[k]].since_h = 0.0;
    for (int b = 0; b < engine->bins; b++)
        engine->bin[b].since_h = 0.0;
    for (int k = 0; k < engine->sources; k++)
        engine->source[k].since_h = 0.0;
    for (int k = 0; k < engine->sources; k++)
        engine->source[k].waits_since_h -= EFI_BLOCK_H;
    for (int c = 0; c < engine->network->crews; c++)
        engine->crew[c].since_h = 0.0;
    for (int b = 0; engine->lot && b < engine->bins; b++)
        engine->layers[b].since_h = 0.0;
    engine->lot_since_h = 0.0;
    for (int k = 0; k < engine->batches; k++)
        engine->batch[k].since_h = 0.0;
    for (int k = 0; k < engine->belts; k++)
        engine->belt[k].since_h = 0.0;
    for (int k = 0; k < engine->loads; k++)
        engine->load[k].since_h = 0.0;
    engine->hour_ends_h -= EFI_BLOCK_H;
    engine->base_h += EFI_BLOCK_H;
    engine->now_h = 0.0;
}

/* Up to `until_h` within the present block. */
static ef_status run_block(efi_engine *engine, double until_h, efi_trouble *trouble)
{
    for (;;) {
        const double at_h = next_slot_h(engine);
        if (!(at_h < until_h)) {
            engine->now_h = until_h;
            return EF_OK;
        }
        engine->now_h = at_h;
        apply_instant(engine);
        const ef_status status = put_rates(engine);
        if (status != EF_OK)
            return report_rates(engine, status, trouble);
        engine->events += engine->fired;
        if (!guard_events(engine, trouble))
            return EF_NO_ANSWER;
        if (engine->watcher)
            call_watcher(engine);
        if (stands_still(engine))
            return report_standstill(engine, trouble);
    }
}

static bool mass_balances(const efi_engine *engine)
{
    double passed_t = 1.0;
    for (int k = 0; k < engine->passes; k++)
        passed_t += engine->station[engine->pass[k]].in_t.sum;
    for (int b = 0; b < engine->bins; b++)
        passed_t += engine->bin[b].level_t + engine->bin[b].cleared_t;
    return fabs(efi_engine_imbalance_t(engine)) <= EFI_MASS_TOLERANCE * passed_t;
}

static ef_status run_to(efi_engine *engine, double until_h, efi_trouble *trouble)
{
    engine->fired = 0;
    const ef_status status = put_rates(engine);
    if (status != EF_OK)
        return report_rates(engine, status, trouble);
    if (engine->watcher)
        call_watcher(engine);
    if (stands_still(engine))
        return report_standstill(engine, trouble);
    while (until_h - engine->base_h > EFI_BLOCK_H) {
        EF_TRY(run_block(engine, EFI_BLOCK_H, trouble));
        shift_block(engine);
    }
    EF_TRY(run_block(engine, until_h - engine->base_h, trouble));
    efi_engine_settle(engine);
    if (mass_balances(engine))
        return EF_OK;
    *trouble = (efi_trouble){.kind = EFI_TROUBLE_MASS, .spout = -1, .at_h = until_h};
    return EF_INTERNAL;
}

ef_status efi_engine_run(efi_engine *engine, double until_h, efi_trouble *trouble)
{
    assert(!engine->is_stuck && until_h >= efi_engine_now_h(engine));
    *trouble = (efi_trouble){.kind = EFI_TROUBLE_NONE, .spout = -1};
    const ef_status status = run_to(engine, until_h, trouble);
    engine->is_stuck = status != EF_OK;
    return status;
}

double efi_engine_now_h(const efi_engine *engine)
{
    return engine->base_h + engine->now_h;
}

int64_t efi_engine_events(const efi_engine *engine)
{
    return engine->events;
}

bool efi_engine_is_series(const efi_engine *engine)
{
    return engine->series != NULL;
}

void efi_engine_watch(efi_engine *engine, efi_engine_watcher *watcher, void *context)
{
    engine->watcher = watcher;
    engine->watcher_context = context;
}
