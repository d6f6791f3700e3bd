/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/state.h"

#include <limits.h>
#include <math.h>

static const efi_network_crew *described(const efi_engine *engine, int c)
{
    return &engine->network->crew[c];
}

void efi_crew_settle(efi_run_crew *crew, double now_h)
{
    const double hours = now_h - crew->since_h;
    crew->since_h = now_h;
    if (!(hours > 0.0))
        return;
    if (crew->busy > 0)
        efi_sum_add(&crew->busy_h, crew->busy * hours);
    if (crew->waiting > 0)
        efi_sum_add(&crew->wait_h, crew->waiting * hours);
}

static double *slot_of(efi_engine *engine, const efi_run_source *source)
{
    return &engine->slot_h[engine->first_stop + (source - engine->source)];
}

/* The stop that has waited longest for the crew; there is one. */
static efi_run_source *first_waiting(efi_engine *engine, int c)
{
    efi_run_source *first = engine->source;
    int64_t lowest = INT64_MAX;
    for (int k = 0; k < engine->sources; k++) {
        efi_run_source *source = &engine->source[k];
        if (source->crew == c && source->is_waiting && source->ticket < lowest) {
            first = source;
            lowest = source->ticket;
        }
    }
    return first;
}

/* A team comes to a stop. */
static void come(efi_engine *engine, efi_run_crew *crew, efi_run_source *source)
{
    const double waited_h = engine->now_h - source->waits_since_h;
    efi_stop_source_wait(&source->source, waited_h);
    source->is_waiting = false;
    *slot_of(engine, source) = engine->now_h + source->rest_h;
    crew->waiting--;
    crew->busy++;
    if (crew->busy > crew->most_busy)
        crew->most_busy = crew->busy;
    if (!source->is_begun) {
        source->is_begun = true;
        crew->stops++;
        crew->waited += waited_h > 0.0;
    }
    engine->station[source->station].cause_count[source->cause]++;
    engine->station[source->station].is_changed = true;
    if (!source->is_new)
        efi_event_note(engine, EFI_EVENT_CREW_COMES, source->station, source->unit, source->mode);
}

/* Free teams come to what has waited longest. */
static void serve(efi_engine *engine, int c)
{
    efi_run_crew *crew = &engine->crew[c];
    while (crew->waiting > 0 && crew->is_on_duty && crew->busy < crew->teams)
        come(engine, crew, first_waiting(engine, c));
}

void efi_crew_call(efi_engine *engine, efi_run_source *source, double length_h)
{
    efi_run_crew *crew = &engine->crew[source->crew];
    efi_crew_settle(crew, engine->now_h);
    source->rest_h = length_h;
    source->waits_since_h = engine->now_h;
    source->ticket = engine->next_ticket++;
    source->is_begun = false;
    source->is_waiting = true;
    *slot_of(engine, source) = INFINITY;
    crew->waiting++;
    source->is_new = true;
    serve(engine, source->crew);
    source->is_new = false;
}

void efi_crew_release(efi_engine *engine, int c)
{
    efi_crew_settle(&engine->crew[c], engine->now_h);
    engine->crew[c].busy--;
    serve(engine, c);
}

/* Its stops in hand rest, but for those that end at this instant. */
static void break_off(efi_engine *engine, int c)
{
    efi_run_crew *crew = &engine->crew[c];
    for (int k = 0; k < engine->sources; k++) {
        efi_run_source *source = &engine->source[k];
        double *slot_h = slot_of(engine, source);
        if (source->crew != c || !source->is_stopped || source->is_waiting || !(*slot_h > engine->now_h))
            continue;
        source->rest_h = *slot_h - engine->now_h;
        source->waits_since_h = engine->now_h;
        source->is_waiting = true;
        *slot_h = INFINITY;
        crew->waiting++;
        crew->busy--;
        engine->station[source->station].cause_count[source->cause]--;
        engine->station[source->station].is_changed = true;
        efi_event_note(engine, EFI_EVENT_CREW_GOES, source->station, source->unit, source->mode);
    }
}

/* The c-th crew's next coming or going, as hour since base_h; INFINITY after the last. */
static double next_change_h(const efi_engine *engine, int c)
{
    const efi_network_crew *crew = described(engine, c);
    const int change = engine->crew[c].changes;
    if (crew->is_unlimited || !crew->has_duty || change / 2 >= crew->intervals)
        return INFINITY;
    const efi_interval *interval = &crew->duty[change / 2];
    const double at_h = change % 2 == 0 ? interval->from_h : interval->to_h;
    return (at_h < 0.5 * EFI_GRID_STEP ? 0.0 : efi_grid_round(at_h)) - engine->base_h;
}

void efi_crew_change(efi_engine *engine, int c)
{
    efi_run_crew *crew = &engine->crew[c];
    const bool was_on_duty = crew->is_on_duty;
    efi_crew_settle(crew, engine->now_h);
    double at_h = next_change_h(engine, c);
    while (at_h <= engine->now_h) { /* intervals that touch are one */
        crew->is_on_duty = crew->changes % 2 == 0;
        crew->changes++;
        at_h = next_change_h(engine, c);
    }
    engine->slot_h[engine->first_crew + c] = at_h;
    if (was_on_duty && !crew->is_on_duty && described(engine, c)->breaks_off)
        break_off(engine, c);
    serve(engine, c);
}

void efi_crew_start(efi_engine *engine, int c)
{
    const efi_network_crew *crew = described(engine, c);
    engine->crew[c] = (efi_run_crew){.teams = crew->is_unlimited ? INT_MAX : crew->teams,
                                     .is_on_duty = crew->is_unlimited || !crew->has_duty};
    engine->slot_h[engine->first_crew + c] = next_change_h(engine, c);
}

void efi_crew_clear(efi_run_crew *crew)
{
    const efi_sum none = {0.0, 0.0};
    crew->stops = crew->waited = 0;
    crew->busy_h = crew->wait_h = none;
    crew->most_busy = crew->busy;
}

void efi_engine_read_crew(const efi_engine *engine, int crew, efi_crew_account *account)
{
    assert(crew >= 0 && crew < engine->network->crews);
    const efi_run_crew *one = &engine->crew[crew];
    *account = (efi_crew_account){.stops = one->stops,
                                  .waited = one->waited,
                                  .busy_h = one->busy_h.sum,
                                  .wait_h = one->wait_h.sum,
                                  .most_busy = one->most_busy};
}
