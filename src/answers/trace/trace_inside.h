/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the trace share. */
#ifndef EFI_TRACE_INSIDE_H
#define EFI_TRACE_INSIDE_H

#include "base/memory.h"
#include "shared/engine/choke.h"
#include "shared/engine/engine.h"
#include "shared/lots/list.h"
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
    efi_choke choke;          /* the first one, from trace->choked_h on */
    const efi_lot_list *list; /* NULL: one crop runs on */
    ef_trace_lot *lots;       /* shape [lot_count] */
    int *passed;              /* shape [lot_count]: stations that have ended it */
    int takers;               /* stations that take part in lots */
    int intake;               /* of the list */
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

/* Notes what an event means for the lots of a list; the station is NULL for what the line as a whole has done
 * (lots.c). */
void efi_trace_note_lot(efi_trace_run *run, const efi_event *event);

/* Gets ready for the lots of a list. EF_OK or EF_MEMORY (lots.c). */
ef_status efi_trace_begin_lots(efi_trace_run *run);

/* The word for the event that a lot has left its line. */
extern const char efi_trace_has_left[];

/* Is this the step of a lot from station to station, which the line as a whole does not see? */
bool efi_trace_is_step(const efi_trace_run *run, const efi_event *event);

/* The hour at which a list ends, by a run before the one that is written down: EF_OK; EF_NO_ANSWER with
 * `trouble` when it cannot run or (its kind none) does not end within the hours; EF_MEMORY, EF_INTERNAL. */
ef_status efi_trace_find_end(efi_trace_run *run, double hours, double *end_h, efi_trouble *trouble);

/* Adds an event that the engine does not have. */
void efi_trace_add_event(efi_trace_run *run, ef_trace_event event);

/* Moves what was written down into the arena and the trace. EF_OK or EF_MEMORY. */
ef_status efi_trace_keep(efi_trace_run *run);

/* Gives back what is not in the arena; the list is the caller's. */
void efi_trace_free_run(efi_trace_run *run);

/*
 * The steps of a list, each as ef_trace_run: builds it, of `order` (shape [count], NULL: the lots that wait)
 * on a line of a plant of several or -1, and says what the trace can say of it before it runs; looks for the
 * hours until it ends, for trace->hours and trace->worked_h; runs it so long (trace.c).
 */
ef_status efi_trace_build_list(efi_trace_run *run, efi_lot_list *list, const ef_scenario *scenario, int line,
                               const int *order, int count, char **reason);
ef_status efi_trace_find_hours(efi_trace_run *run, efi_lot_list *list, const ef_scenario *scenario,
                               char **reason);
ef_status efi_trace_run_list(efi_trace_run *run, efi_lot_list *list, char **reason);

/* The hours of work of the stretch. EF_OK or EF_MEMORY. */
ef_status efi_trace_find_worked(efi_trace_run *run, const ef_scenario *scenario);

/* Lists on a plant of several lines; `run` is the plant's, with its stretch laid (lines.c). */
ef_status efi_trace_run_lines(efi_trace_run *run, const ef_scenario *scenario, char **reason);

#endif
