/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the trace share. */
#ifndef EFI_TRACE_INSIDE_H
#define EFI_TRACE_INSIDE_H

#include "base/memory.h"
#include "shared/engine/choke.h"
#include "shared/plant/plant.h"

#include <evenfeed/trace.h>

/* Whose stop one is, in the network. */
typedef struct efi_trace_mode {
    int station; /* -1: the plant's */
    int unit;
    int mode;
} efi_trace_mode;

/* What one run works with. */
typedef struct efi_trace_run {
    const ef_trace_settings *settings;
    ef_trace *trace;
    efi_arena *arena;
    const efi_line *line;
    efi_plant_network plant;
    efi_engine *engine;
    int *bins;         /* shape [bin_count]: stations of the network */
    ef_trace_bin *bin; /* shape [bin_count] */
    ef_trace_event *events;
    size_t event_count, event_room;
    ef_trace_stop *stops;
    efi_trace_mode *stop_of; /* of each of the stops */
    size_t stop_count, stop_room, stop_of_room;
    double common_h[EFI_PLANT_TIMES][2]; /* when the plant as a whole last stopped and started for it */
    double *level_h;
    size_t level_count, level_room;
    double *level_t; /* shape [level_count][bin_count] */
    size_t level_t_room;
    double *feed_tph; /* shape [level_count][stations that are no bins] */
    size_t feed_room;
    int *passes; /* shape [pass_count]: stations of the network that are no bins */
    int pass_count;
    efi_choke choke; /* the first one, from trace->choked_h on */
    bool failed;
} efi_trace_run;

/* Gets ready to write down what happens. Call before the engine runs. */
void efi_trace_begin(efi_trace_run *run);

/* Notes the levels of all bins and the feeds of all stations at the engine's present moment. */
void efi_trace_note_levels(efi_trace_run *run, double at_h);

/* Looks whether a loop has choked by now, until one has. */
void efi_trace_look_for_choke(efi_trace_run *run, double at_h);

/* An efi_engine_watcher; `context` is the run. */
void efi_trace_watch(void *context, const efi_engine *engine, const efi_event *event);

/* Moves what was written down into the arena and the trace. EF_OK or EF_MEMORY. */
ef_status efi_trace_keep(efi_trace_run *run);

#endif
