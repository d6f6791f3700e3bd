/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/state.h"

#include <math.h>
#include <string.h>

/* Events before the cap from which on the stations that have them are noted. */
#define EFI_NOTED_EVENTS 512

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
    const int k = engine->fired++;
    if (engine->notes_events)
        engine->event[k] = (efi_event){engine->base_h + engine->now_h, kind, station, unit, mode};
}

/* ---- what happens at candidates ------------------------------------------------------- */

void efi_level_reach(efi_engine *engine, int b)
{
    efi_run_bin *bin = &engine->bin[b];
    efi_rates *rates = &engine->rates;
    efi_bin_settle(bin, engine->now_h);
    const efi_event_kind target = bin->flow->target;
    bin->level_t = bin->flow->target_t;
    bin->is_changed = true;
    efi_bin_place(engine, bin);
    engine->slot_h[b] = INFINITY;
    const bool is_full = target == EFI_EVENT_FULL;
    const bool is_over = is_full || target == EFI_EVENT_REFILL;
    unsigned char *in_shut = &rates->in_shut[bin->station];
    *in_shut = (unsigned char)((*in_shut & !is_over) | (is_full & (bin->refill_t < bin->full_t)));
    rates->out_shut[bin->station] &= target != EFI_EVENT_RESTART;
    efi_event_note(engine, target, bin->station, 0, 0);
}

static void begin_stop(efi_engine *engine, efi_run_source *source, double *slot_h)
{
    efi_run_station *station = &engine->station[source->station];
    int *active = &engine->active[engine->first_machine[source->station] + source->unit];
    const double length_h = source->draws_ahead ? source->ahead : efi_stop_source_duration(&source->source);
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
    const double gap = source->draws_ahead ? source->ahead : efi_stop_source_gap(&source->source);
    *slot_h = source->counting == EFI_COUNT_CLOCK ? engine->now_h + gap : INFINITY;
    source->age_left = source->counting == EFI_COUNT_CLOCK ? 0.0 : gap;
    station->cause_count[source->cause]--;
    if (--(*active) == 0)
        station->running++;
    efi_event_note(engine, EFI_EVENT_START, source->station, source->unit, source->mode);
    if (source->crew >= 0)
        efi_crew_release(engine, source->crew);
}

void efi_stop_flip(efi_engine *engine, int k)
{
    efi_run_source *source = &engine->source[k];
    double *slot_h = &engine->slot_h[engine->first_stop + k];
    efi_source_settle(source, engine->now_h);
    source->age_rate = 0.0;
    if (source->is_stopped) {
        end_stop(engine, source, slot_h);
        if (source->draws_ahead)
            source->ahead = efi_stop_source_duration(&source->source);
    } else {
        begin_stop(engine, source, slot_h);
        if (source->draws_ahead)
            source->ahead = efi_stop_source_gap(&source->source);
    }
    engine->station[source->station].is_changed = true;
}

static void change_stop(efi_engine *engine, int k)
{
    const efi_run_source *source = &engine->source[k];
    efi_stop_flip(engine, k);
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

/* ---- the loop ----------------------------------------------------------------------------- */

/* A slot, and its time as a number in the same order. */
typedef struct efi_due {
    int64_t order;
    int64_t slot;
} efi_due;

/* The earlier of two slots. */
static inline efi_due earlier(efi_due a, efi_due b)
{
    a.slot = b.order < a.order ? b.slot : a.slot;
    a.order = b.order < a.order ? b.order : a.order;
    return a;
}

static inline efi_due due_at(const efi_engine *engine, int k)
{
    return (efi_due){efi_slot_order(engine, k), k};
}

/* The slot that is due next; any of them, where they are several. */
static efi_due next_due(const efi_engine *engine)
{
    efi_due a = due_at(engine, 0);
    efi_due b = due_at(engine, 1);
    efi_due c = due_at(engine, 2);
    efi_due d = due_at(engine, 3);
    for (int k = 4; k < engine->slots; k += 4) {
        a = earlier(a, due_at(engine, k));
        b = earlier(b, due_at(engine, k + 1));
        c = earlier(c, due_at(engine, k + 2));
        d = earlier(d, due_at(engine, k + 3));
    }
    return earlier(earlier(a, b), earlier(c, d));
}

static void apply_slot(efi_engine *engine, int k)
{
    if (k < engine->first_crew)
        efi_level_reach(engine, k);
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
    const int hour = (int)engine->now_h;
    engine->hour_events = engine->hour_events * (hour == engine->hour) + engine->fired;
    engine->hour = hour;
    if (engine->hour_events + EFI_NOTED_EVENTS < engine->settings.event_cap_per_h)
        return true;
    for (int k = 0; k < engine->fired && engine->notes_events; k++)
        engine->is_marked[engine->event[k].station] = true;
    engine->notes_events = true;
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
    if (engine->moves && efi_moves_live(engine->moves))
        return false;
    for (int k = 0; k < engine->passes; k++) {
        const efi_run_station *station = &engine->station[engine->pass[k]];
        if (station->flow->rate_tph > 0.0 || station->running < station->machines)
            return false;
        is_blocked = is_blocked || station->flow->state == EFI_STATE_BLOCKED;
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
        if (engine->station[engine->batch[k].station].flow->state == EFI_STATE_BLOCKED)
            trouble->kind = EFI_TROUBLE_BATCH;
    for (int k = 0; k < engine->passes; k++)
        if (engine->station[engine->pass[k]].flow->state == EFI_STATE_BLOCKED)
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
    engine->hour -= (int)EFI_BLOCK_H;
    engine->base_h += EFI_BLOCK_H;
    engine->now_h = 0.0;
}

/* Up to `until_h` within the present block. */
static ef_status run_block(efi_engine *engine, double until_h, efi_trouble *trouble)
{
    for (;;) {
        const efi_due due = next_due(engine);
        double at_h;
        memcpy(&at_h, &due.order, sizeof at_h);
        if (!(at_h < until_h)) {
            engine->now_h = until_h;
            return EF_OK;
        }
        engine->now_h = at_h;
        if (engine->moves) {
            efi_moves_step(engine, (int)due.slot, at_h);
        } else {
            apply_instant(engine);
            const ef_status status = efi_rates_put(engine);
            if (status != EF_OK)
                return report_rates(engine, status, trouble);
        }
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
    engine->notes_events = engine->watcher != NULL;
    const ef_status status = efi_rates_put(engine);
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
