/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lists of lots on a plant of several lines: a trace of each, beside each other, and the events of all. */
#include "answers/trace/trace_inside.h"
#include "shared/lots/deal.h"

#include <math.h>
#include <string.h>

typedef struct line_run {
    efi_trace_run run;
    efi_lot_list list;
} line_run;

typedef struct lanes {
    efi_trace_run *plant;
    const ef_scenario *scenario;
    ef_trace *traces; /* shape [count] */
    line_run *lane;   /* shape [count] */
    int count;
} lanes;

/* ---- each line ------------------------------------------------------------------------------------------
 */

/* A lane for each line that has lots. */
static ef_status build_lanes(lanes *l, const efi_lots_deal *deal, char **reason)
{
    const efi_trace_run *plant = l->plant;
    l->traces = efi_arena_get(plant->arena, (size_t)deal->lines, sizeof *l->traces);
    l->lane = efi_arena_get(plant->arena, (size_t)deal->lines, sizeof *l->lane);
    if (!l->traces || !l->lane)
        return EF_MEMORY;
    for (int line = 0; line < deal->lines; line++) {
        const int count = deal->first[line + 1] - deal->first[line];
        if (count == 0)
            continue;
        ef_trace *trace = &l->traces[l->count];
        line_run *one = &l->lane[l->count++];
        *trace = *plant->trace;
        trace->line = l->scenario->lines[line].name;
        one->run = (efi_trace_run){.settings = plant->settings, .trace = trace, .arena = plant->arena};
        one->run.plant.from_s = plant->plant.from_s;
        EF_TRY(efi_trace_build_list(&one->run, &one->list, l->scenario, line, deal->lots + deal->first[line],
                                    count, reason));
    }
    return EF_OK;
}

/* All lines run until the last has ended. */
static ef_status find_hours(const lanes *l, char **reason)
{
    double hours = l->plant->settings->hours;
    for (int i = 0; i < l->count && !(l->plant->settings->hours > 0.0); i++) {
        EF_TRY(efi_trace_find_hours(&l->lane[i].run, &l->lane[i].list, l->scenario, reason));
        hours = fmax(hours, l->traces[i].hours);
    }
    l->plant->trace->hours = hours;
    EF_TRY(efi_trace_find_worked(l->plant, l->scenario));
    for (int i = 0; i < l->count; i++) {
        l->traces[i].hours = hours;
        l->traces[i].worked_h = l->plant->trace->worked_h;
    }
    return EF_OK;
}

static bool shares(const efi_lot_list *list)
{
    bool any = false;
    double least;
    double most;
    for (int n = 0; n < list->plant.network.stations; n++)
        any = any || efi_lot_list_shares(list, n, &least, &most);
    return any;
}

static ef_status run_lanes(const lanes *l, char **reason)
{
    for (int i = 0; i < l->count; i++)
        EF_TRY(efi_trace_run_list(&l->lane[i].run, &l->lane[i].list, reason));
    for (int i = 0; i < l->count; i++)
        l->plant->trace->shares_stations = l->plant->trace->shares_stations || shares(&l->lane[i].list);
    return EF_OK;
}

/* ---- together -------------------------------------------------------------------------------------------
 */

/* Does it happen to the plant as a whole, as by its calendar? Then every line has it. */
static bool is_of_plant(const lanes *l, int lane, const ef_trace_event *event)
{
    const bool of_line = l->traces[lane].line_clear &&
                         (strcmp(event->what, efi_event_text(EFI_EVENT_CLEANING)) == 0 ||
                          strcmp(event->what, efi_event_text(EFI_EVENT_CLEANED)) == 0);
    return !event->station && !of_line && strcmp(event->what, efi_trace_has_left) != 0;
}

/* The lane whose next event comes first, of those of one moment the first; -1: all have been taken. */
static int next_event(const lanes *l, const int *next)
{
    int best = -1;
    for (int i = 0; i < l->count; i++)
        if (next[i] < l->traces[i].event_count &&
            (best < 0 || l->traces[i].events[next[i]].at_h < l->traces[best].events[next[best]].at_h))
            best = i;
    return best;
}

static ef_status merge_events(const lanes *l, int *next)
{
    ef_trace *all = l->plant->trace;
    size_t count = 0;
    for (int i = 0; i < l->count; i++)
        count += (size_t)l->traces[i].event_count;
    ef_trace_event *events = efi_arena_get(l->plant->arena, count, sizeof *events);
    if (!events)
        return EF_MEMORY;
    for (int i = next_event(l, next); i >= 0; i = next_event(l, next)) {
        ef_trace_event event = l->traces[i].events[next[i]++];
        const bool of_plant = is_of_plant(l, i, &event);
        if (of_plant && i > 0)
            continue;
        event.line = of_plant ? NULL : l->traces[i].line;
        events[all->event_count++] = event;
    }
    all->events = events;
    return EF_OK;
}

static int next_stop(const lanes *l, const int *next)
{
    int best = -1;
    for (int i = 0; i < l->count; i++)
        if (next[i] < l->traces[i].stop_count &&
            (best < 0 || l->traces[i].stops[next[i]].from_h < l->traces[best].stops[next[best]].from_h))
            best = i;
    return best;
}

static ef_status merge_stops(const lanes *l, int *next)
{
    ef_trace *all = l->plant->trace;
    size_t count = 0;
    for (int i = 0; i < l->count; i++)
        count += (size_t)l->traces[i].stop_count;
    ef_trace_stop *stops = efi_arena_get(l->plant->arena, count, sizeof *stops);
    if (!stops)
        return EF_MEMORY;
    for (int i = next_stop(l, next); i >= 0; i = next_stop(l, next)) {
        ef_trace_stop stop = l->traces[i].stops[next[i]++];
        if (!stop.station && i > 0)
            continue;
        stop.line = stop.station ? l->traces[i].line : NULL;
        stops[all->stop_count++] = stop;
    }
    all->stops = stops;
    return EF_OK;
}

static ef_status put_together(const lanes *l)
{
    ef_trace *all = l->plant->trace;
    int *next = efi_arena_get(l->plant->arena, (size_t)l->count, sizeof *next);
    int *next_of_stops = efi_arena_get(l->plant->arena, (size_t)l->count, sizeof *next_of_stops);
    if (!next || !next_of_stops)
        return EF_MEMORY;
    all->lines = l->traces;
    all->line_count = l->count;
    all->crop = l->traces[0].crop;
    all->trade_weight_tpbu = l->traces[0].trade_weight_tpbu;
    all->line_clear = l->traces[0].line_clear;
    for (int i = 0; i < l->count; i++) {
        all->lot_count += l->traces[i].lot_count;
        all->balance_tph += l->traces[i].balance_tph;
        all->intake_t += l->traces[i].intake_t;
        all->product_t += l->traces[i].product_t;
        all->imbalance_t += l->traces[i].imbalance_t;
        all->events_cut = all->events_cut || l->traces[i].events_cut;
    }
    EF_TRY(merge_events(l, next));
    return merge_stops(l, next_of_stops);
}

ef_status efi_trace_run_lines(efi_trace_run *plant, const ef_scenario *scenario, char **reason)
{
    const ef_trace_settings *settings = plant->settings;
    lanes l = {.plant = plant, .scenario = scenario};
    efi_lots_deal deal;
    EF_TRY(efi_lots_deal_build(&deal, plant->arena, scenario, settings->order, settings->order_lines,
                               settings->order_count, reason));
    ef_status status = build_lanes(&l, &deal, reason);
    if (status == EF_OK)
        status = find_hours(&l, reason);
    if (status == EF_OK)
        status = run_lanes(&l, reason);
    for (int i = 0; i < l.count; i++) {
        efi_lot_list_free(&l.lane[i].list);
        efi_trace_free_run(&l.lane[i].run);
    }
    plant->trace->is_dealt = !settings->order || !settings->order_lines;
    return status == EF_OK ? put_together(&l) : status;
}
