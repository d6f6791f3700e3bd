/* SPDX-License-Identifier: GPL-3.0-or-later
 * What happens during a stretch, written down: events, stops, levels of the bins. */
#include "base/tongue.h"
#include "answers/trace/trace_inside.h"

#include <math.h>
#include <string.h>

typedef efi_trace_run run;

/* ---- levels ---------------------------------------------------------------------------------------------
 */

/* Makes room for `count` numbers. */
static bool make_room(double **array, size_t *room, size_t count)
{
    size_t wanted = *room ? *room : 1024;
    while (wanted < count)
        wanted *= 2;
    if (wanted == *room)
        return true;
    double *grown = efi_resize(*array, wanted, sizeof *grown);
    if (!grown)
        return false;
    *array = grown;
    *room = wanted;
    return true;
}

void efi_trace_note_levels(run *r, double at_h)
{
    const size_t bins = (size_t)r->trace->bin_count;
    const size_t passes = (size_t)r->pass_count;
    if (r->level_count > 0 && r->level_h[r->level_count - 1] == at_h)
        r->level_count--;
    const size_t at = r->level_count;
    if (r->failed || !make_room(&r->level_t, &r->level_t_room, (at + 1) * bins) ||
        !make_room(&r->feed_tph, &r->feed_room, (at + 1) * passes) ||
        efi_grow(&r->level_h, at, &r->level_room, sizeof *r->level_h) != 0) {
        r->failed = true;
        return;
    }
    for (size_t i = 0; i < bins; i++)
        r->level_t[at * bins + i] = efi_engine_level_t(r->engine, r->bins[i]);
    for (size_t i = 0; i < passes; i++)
        r->feed_tph[at * passes + i] = efi_engine_rate_tph(r->engine, r->passes[i]);
    r->level_h[r->level_count++] = at_h;
}

/* ---- stops ----------------------------------------------------------------------------------------------
 */

static const char *kind_of(efi_stop_cause cause)
{
    switch (cause) {
    case EFI_CAUSE_RANDOM:
        return efi_state_text(EFI_STATE_RANDOM_STOP);
    case EFI_CAUSE_PLANNED:
        return efi_state_text(EFI_STATE_PLANNED_STOP);
    case EFI_CAUSE_BREAK:
        return efi_state_text(EFI_STATE_BREAK);
    case EFI_CAUSE_CLOSED:
        return efi_state_text(EFI_STATE_CLOSED);
    }
    return "";
}

static void open_stop(run *r, const ef_trace_event *event, efi_trace_mode of, efi_stop_cause cause)
{
    if (efi_grow(&r->stops, r->stop_count, &r->stop_room, sizeof *r->stops) != 0 ||
        efi_grow(&r->stop_of, r->stop_count, &r->stop_of_room, sizeof *r->stop_of) != 0) {
        r->failed = true;
        return;
    }
    r->stop_of[r->stop_count] = of;
    r->stops[r->stop_count++] = (ef_trace_stop){.station = event->station,
                                                .machine = event->machine,
                                                .name = event->cause,
                                                .kind = kind_of(cause),
                                                .from_h = event->at_h,
                                                .to_h = r->trace->hours,
                                                .is_open = true};
}

/* Ends the last stop of that mode. */
static void close_stop(run *r, double at_h, efi_trace_mode of)
{
    for (size_t i = r->stop_count; i-- > 0;) {
        const efi_trace_mode one = r->stop_of[i];
        if (one.station != of.station || one.unit != of.unit || one.mode != of.mode)
            continue;
        r->stops[i].to_h = at_h;
        r->stops[i].is_open = false;
        return;
    }
}

/* ---- events ---------------------------------------------------------------------------------------------
 */

/* Has the plant as a whole been written down for this event? All its stations stop and start at once. */
static bool is_known(run *r, const efi_event *event, int time)
{
    double *last_h = &r->common_h[time][event->kind == EFI_EVENT_START];
    if (*last_h == event->at_h)
        return true;
    *last_h = event->at_h;
    return false;
}

static const char *what_of(const efi_event *event, int time)
{
    if (time == EFI_PLANT_CLOSED)
        return event->kind == EFI_EVENT_STOP ? EFI_TR("closes") : EFI_TR("opens");
    return efi_event_text(event->kind);
}

static bool is_of_crew(const efi_event *event)
{
    return event->kind == EFI_EVENT_CREW_COMES || event->kind == EFI_EVENT_CREW_GOES;
}

/* What people would not see happen: the crew that stands for anybody, the head and tail of what is on a
 * conveyor. */
static bool is_hidden(const run *r, const efi_event *event)
{
    if (event->kind == EFI_EVENT_BELT)
        return true;
    return is_of_crew(event) && r->plant.stations[event->station].mode[event->mode].crew == r->plant.anybody;
}

void efi_trace_add_event(run *r, ef_trace_event event)
{
    if (efi_grow(&r->events, r->event_count, &r->event_room, sizeof *r->events) != 0)
        r->failed = true;
    else
        r->events[r->event_count++] = event;
}

static bool is_of_lot(const efi_event *event)
{
    return event->kind == EFI_EVENT_LOT_BEGINS || event->kind == EFI_EVENT_LOT_ENDED ||
           event->kind == EFI_EVENT_CLEANING || event->kind == EFI_EVENT_CLEANED;
}

static void note_event(run *r, const efi_event *event)
{
    const efi_station *of = r->line->stations[r->plant.line_station[event->station]].of;
    const bool stop = event->kind == EFI_EVENT_STOP || event->kind == EFI_EVENT_START;
    const bool crew = is_of_crew(event);
    if (is_hidden(r, event))
        return;
    const int time = stop ? efi_plant_common_time(&r->plant, event->station, event->mode) : -1;
    if (time >= 0 && is_known(r, event, time))
        return;
    if (efi_grow(&r->events, r->event_count, &r->event_room, sizeof *r->events) != 0) {
        r->failed = true;
        return;
    }
    ef_trace_event *note = &r->events[r->event_count++];
    *note = (ef_trace_event){.at_h = event->at_h,
                             .what = what_of(event, time),
                             .is_routine = event->kind == EFI_EVENT_CHARGED ||
                                           event->kind == EFI_EVENT_WORKED ||
                                           event->kind == EFI_EVENT_DISCHARGED || efi_trace_is_step(r, event),
                             .station = time >= 0 ? NULL : of->name,
                             .machine = of->count > 1 && (stop || crew) && time < 0 ? event->unit + 1 : 0};
    if (is_of_lot(event))
        note->cause = r->lots[event->unit].name;
    if (r->list && r->list->is_line_clear &&
        (event->kind == EFI_EVENT_CLEANING || event->kind == EFI_EVENT_CLEANED))
        note->station = NULL;
    if (crew)
        note->cause = r->plant.network.crew[r->plant.stations[event->station].mode[event->mode].crew].name;
    if (!stop)
        return;
    const efi_stop_cause cause = r->plant.stations[event->station].mode[event->mode].cause;
    note->cause = efi_plant_stop_name(&r->plant, event->station, event->mode, event->at_h,
                                      event->kind == EFI_EVENT_STOP);
    const efi_trace_mode mode = time >= 0 ? (efi_trace_mode){-1, 0, time}
                                          : (efi_trace_mode){event->station, event->unit, event->mode};
    if (event->kind == EFI_EVENT_STOP)
        open_stop(r, note, mode, cause);
    else
        close_stop(r, event->at_h, mode);
}

void efi_trace_begin(run *r)
{
    for (int k = 0; k < EFI_PLANT_TIMES; k++)
        r->common_h[k][0] = r->common_h[k][1] = -INFINITY;
}

void efi_trace_look_for_choke(run *r, double at_h)
{
    if (r->choke.stations > 0 || r->failed)
        return;
    r->failed = efi_choke_find(r->engine, &r->plant.network, &r->choke) != EF_OK;
    r->trace->choked_h = r->choke.stations > 0 ? at_h : 0.0;
}

void efi_trace_watch(void *context, const efi_engine *engine, const efi_event *event)
{
    run *r = context;
    (void)engine;
    if (r->failed)
        return;
    efi_trace_look_for_choke(r, event->at_h);
    if (r->event_count >= (size_t)r->settings->most_events) {
        r->trace->events_cut = true;
        return;
    }
    note_event(r, event);
    if (r->list)
        efi_trace_note_lot(r, event);
    efi_trace_note_levels(r, event->at_h);
}

ef_status efi_trace_keep(run *r)
{
    const size_t bins = (size_t)r->trace->bin_count;
    ef_trace_event *events = efi_arena_get(r->arena, r->event_count, sizeof *events);
    ef_trace_stop *stops = efi_arena_get(r->arena, r->stop_count, sizeof *stops);
    double *level_h = efi_arena_get(r->arena, r->level_count, sizeof *level_h);
    double *level_t = efi_arena_get(r->arena, r->level_count * bins, sizeof *level_t);
    const size_t feeds = r->level_count * (size_t)r->pass_count;
    double *feed_tph = efi_arena_get(r->arena, feeds, sizeof *feed_tph);
    if (!events || !stops || !level_h || !level_t || !feed_tph)
        return EF_MEMORY;
    if (r->event_count)
        memcpy(events, r->events, r->event_count * sizeof *events);
    if (r->stop_count)
        memcpy(stops, r->stops, r->stop_count * sizeof *stops);
    if (r->level_count)
        memcpy(level_h, r->level_h, r->level_count * sizeof *level_h);
    if (r->level_count > 0 && bins > 0)
        memcpy(level_t, r->level_t, r->level_count * bins * sizeof *level_t);
    if (feeds > 0)
        memcpy(feed_tph, r->feed_tph, feeds * sizeof *feed_tph);
    r->trace->feed_tph = feed_tph;
    r->trace->events = events;
    r->trace->event_count = (int)r->event_count;
    r->trace->stops = stops;
    r->trace->stop_count = (int)r->stop_count;
    r->trace->level_h = level_h;
    r->trace->level_t = level_t;
    r->trace->level_count = (int)r->level_count;
    return EF_OK;
}
