/* SPDX-License-Identifier: GPL-3.0-or-later
 * The lots of a list as they pass the line: when each begins, is in, and has left; clean-downs. */
#include "base/tongue.h"
#include "answers/trace/trace_inside.h"
#include "shared/engine/rates.h"

#include <math.h>
#include <string.h>

const char efi_trace_has_left[] = EFI_TR("lot has left");

ef_status efi_trace_begin_lots(efi_trace_run *run)
{
    const efi_lot_list *list = run->list;
    run->lots = efi_arena_get(run->arena, (size_t)list->count, sizeof *run->lots);
    run->passed = efi_arena_get(run->arena, (size_t)list->count, sizeof *run->passed);
    if (!run->lots || !run->passed)
        return EF_MEMORY;
    run->takers = 0;
    for (int n = 0; n < run->plant.network.stations; n++) {
        run->takers += !efi_station_is_free(&run->plant.stations[n]);
        if (run->plant.stations[n].kind == EFI_NETWORK_INTAKE)
            run->intake = n;
    }
    for (int k = 0; k < list->count; k++) {
        const efi_listed_lot *of = &list->lots[k];
        run->lots[k] = (ef_trace_lot){.name = of->of->name,
                                      .crop = list->scenario->crops[of->of->crop].name,
                                      .tonnes_t = of->tonnes_t,
                                      .rule = of->clean.rule ? of->clean.rule->name : NULL,
                                      .clean_h = of->clean.clean_h,
                                      .clean_from_h = -1.0,
                                      .clean_to_h = -1.0,
                                      .begin_h = -1.0,
                                      .in_h = -1.0,
                                      .end_h = -1.0};
    }
    run->trace->lots = run->lots;
    run->trace->lot_count = list->count;
    return EF_OK;
}

bool efi_trace_is_step(const efi_trace_run *run, const efi_event *event)
{
    return run->list && (event->kind == EFI_EVENT_LOT_BEGINS || event->kind == EFI_EVENT_LOT_ENDED) &&
           event->station != run->intake;
}

void efi_trace_note_lot(efi_trace_run *run, const efi_event *event)
{
    ef_trace_lot *lot = &run->lots[event->unit < run->list->count && event->unit >= 0 ? event->unit : 0];
    if (event->kind == EFI_EVENT_LOT_ENDED && event->station == run->intake)
        lot->in_h = event->at_h;
    if (event->kind == EFI_EVENT_CLEANING && lot->clean_from_h < 0.0)
        lot->clean_from_h = event->at_h;
    if (event->kind == EFI_EVENT_CLEANED)
        lot->clean_to_h = event->at_h;
    if (event->kind == EFI_EVENT_LOT_ENDED && ++run->passed[event->unit] == run->takers) {
        lot->end_h = event->at_h;
        efi_trace_add_event(
            run, (ef_trace_event){.at_h = event->at_h, .what = efi_trace_has_left, .cause = lot->name});
    }
    const int taken = efi_engine_lot(run->engine, run->intake);
    if (taken < run->list->count && run->lots[taken].begin_h < 0.0 &&
        efi_engine_rate_tph(run->engine, run->intake) > 0.0)
        run->lots[taken].begin_h = event->at_h;
}

/* ---- its end --------------------------------------------------------------------------------------------
 */

/* The run is looked at this often, h. */
#define STEP_H 100.0

typedef struct counter {
    int *passed; /* shape [lots] */
    int takers;
    int last;
    double end_h;
} counter;

static void count_event(void *context, const efi_engine *engine, const efi_event *event)
{
    counter *c = context;
    (void)engine;
    if (event->kind == EFI_EVENT_LOT_ENDED && ++c->passed[event->unit] == c->takers && event->unit == c->last)
        c->end_h = event->at_h;
}

ef_status efi_trace_find_end(efi_trace_run *run, double hours, double *end_h, efi_trouble *trouble)
{
    efi_engine *engine = NULL;
    counter c = {.passed = run->passed, .takers = run->takers, .last = run->list->count - 1, .end_h = -1.0};
    ef_status status = efi_lot_list_engine(run->list, false, &engine, trouble);
    if (status == EF_SCENARIO)
        status = EF_NO_ANSWER;
    if (status == EF_OK) {
        efi_engine_watch(engine, count_event, &c);
        efi_engine_start(engine, run->settings->seed, run->settings->replication);
    }
    for (int step = 1; status == EF_OK && c.end_h < 0.0 && step * STEP_H <= hours; step++)
        status = efi_engine_run(engine, step * STEP_H, trouble);
    efi_engine_free(engine);
    *end_h = c.end_h;
    return status == EF_OK && c.end_h < 0.0 ? EF_NO_ANSWER : status;
}
