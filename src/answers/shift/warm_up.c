/* SPDX-License-Identifier: GPL-3.0-or-later
 * How long a run without a calendar must go before its shifts count: until what it began with is forgotten.
 */
#include "answers/shift/shift.h"

#include <math.h>

enum {
    FEWEST_SHIFTS = 10,
    MOST_OF_BINS = 100, /* beyond that runs cost more than they tell */
    MOST_IN_STEP = 40,
    PASSAGES = 3, /* of all bins one after the other; our choice */
    INTERVALS = 30
};

/* Hours in which all that the bins can hold passes them one after the other at the steady balance. */
static double passage_h(const efi_running *running)
{
    const efi_line *line = &running->line;
    double hours = 0.0;
    for (int s = 0; s < line->station_count; s++) {
        const efi_station *of = line->stations[s].of;
        if (of->kind != EFI_STATION_BIN)
            continue;
        const efi_value live_m3 = efi_station_live_m3(of, line->crop);
        const double *feed_tph = running->model.feeds + (size_t)s * (size_t)line->materials;
        const double flow_m3ph = efi_line_volume(line, feed_tph);
        if (live_m3.given && flow_m3ph > 0.0)
            hours += live_m3.value / flow_m3ph;
    }
    return hours;
}

/* Hours from one stop of a kind to the next where that is always the same, else 0. */
static double interval_h(const efi_stop *stop, int crop, double feed_tph)
{
    if (stop->between_h.given)
        return stop->between_form == EFI_FORM_FIXED ? stop->between_h.value + stop->lasts_h.value : 0.0;
    if (stop->after_t)
        return stop->after_t[crop].given && feed_tph > 0.0
                   ? stop->after_t[crop].value / feed_tph + stop->lasts_h.value
                   : 0.0;
    if (!stop->every_h.given)
        return 0.0;
    return stop->every_h.value + (stop->counts == EFI_COUNTS_RUNNING ? stop->lasts_h.value : 0.0);
}

/*
 * Kinds of stop that each come at even intervals slip against one another, until they fall into step: one
 * puts off the other where it starves, blocks or coincides with it. Where one gains a thirtieth of the
 * interval each time, it has met the other after thirty. 0 with fewer than two such kinds.
 */
static double in_step_h(const efi_running *running)
{
    const efi_line *line = &running->line;
    double longest_h = 0.0;
    int kinds = 0;
    for (int s = 0; s < line->station_count; s++) {
        const efi_stops *stops = &line->stations[s].of->stops;
        const double feed_tph = efi_line_total(line,
                                               running->model.feeds + (size_t)s * (size_t)line->materials);
        for (int i = 0; i < stops->count; i++) {
            const double hours = interval_h(&stops->items[i], line->crop, feed_tph);
            kinds += hours > 0.0;
            longest_h = fmax(longest_h, hours);
        }
    }
    return kinds < 2 ? 0.0 : INTERVALS * longest_h;
}

double efi_shift_warm_up_h(const efi_running *running, double shift_h)
{
    const double in_step = fmin(in_step_h(running), MOST_IN_STEP * shift_h);
    const double bins = fmin(PASSAGES * passage_h(running), MOST_OF_BINS * shift_h);
    return fmax(FEWEST_SHIFTS, ceil(fmax(in_step, bins) / shift_h)) * shift_h;
}
