/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rates are the greatest that fit: every segment at its capacity, after an empty bin no faster than the
 * segment before, before a full bin no faster than the segment after. Levels b[i] are straight lines until
 * bin k reaches a bound at tau; with D[i][j] = d b[i] / d S[j] and q = in - out of a bin, d tau / d S[j] =
 * ([k becomes full and j = k] - D[k][j]) / q[k] D[i][j]       += (q[i] before - q[i] after) d tau / d S[j]
 *   gradient[j]   += (feed after - feed before) d tau / d S[j]
 * Ends of stops do not depend on S. Bins that reach a bound at one instant go by their number.
 */
#include "answers/bins/fluid.h"

#include <math.h>
#include <string.h>

#define BINS (EFI_FLUID_SEGMENTS_MOST - 1)

/* More changes of bins than this between two changes of stops are an endless loop. */
enum {
    MOST_CHANGES = 100000
};

typedef enum mode {
    EMPTY,
    BETWEEN,
    FULL
} mode;

typedef struct pass {
    const efi_fluid_line *line;
    int bins;
    double volume[BINS];
    double level[BINS];
    mode mode[BINS];
    double slope[BINS][BINS]; /* D */
    double capacity[EFI_FLUID_SEGMENTS_MOST];
    double rate[EFI_FLUID_SEGMENTS_MOST];
    double flow[BINS]; /* q: in less out */
    double set_tph;    /* of the machines of the steady-feed station that run */
    int feed_segment;
    bool counted;
    double shortfall_t;
    double gradient[BINS];
    int next[EFI_FLUID_UNITS_MOST]; /* stop of the unit that has not ended yet */
    efi_fluid_watcher *watch;
    void *context;
    double now_h; /* kept for the watcher */
} pass;

double efi_fluid_capacity(const efi_fluid_line *line, int *next, double now_h, double *capacity_tph,
                          double *set_tph)
{
    double change_h = INFINITY;
    for (int i = 0; i < line->segments; i++)
        capacity_tph[i] = INFINITY;
    for (int u = 0; u < line->units;) {
        const efi_fluid_unit *first = &line->unit[u];
        double running_tph = 0.0;
        for (; u < line->units && line->unit[u].station == first->station; u++) {
            const efi_trace *trace = line->unit[u].stops;
            while (next[u] < trace->stops && !(trace->stop[next[u]].to_h > now_h))
                next[u]++;
            const bool left = next[u] < trace->stops;
            const bool stopped = left && !(trace->stop[next[u]].from_h > now_h);
            if (left)
                change_h = fmin(change_h, stopped ? trace->stop[next[u]].to_h : trace->stop[next[u]].from_h);
            running_tph += stopped ? 0.0 : line->unit[u].capacity_tph;
        }
        capacity_tph[first->segment] = fmin(capacity_tph[first->segment], running_tph);
        if (first->station == line->feed_station)
            *set_tph = running_tph;
    }
    return change_h;
}

int efi_fluid_feed_segment(const efi_fluid_line *line)
{
    for (int u = 0; u < line->units; u++)
        if (line->unit[u].station == line->feed_station)
            return line->unit[u].segment;
    return 0;
}

/* The greatest rates that fit, what they do to each bin, and which bins leave their bound. */
static void set_rates(pass *p)
{
    memcpy(p->rate, p->capacity, sizeof p->rate);
    for (bool changed = true; changed;) {
        changed = false;
        for (int i = 0; i < p->bins; i++) {
            double *slow = p->mode[i] == EMPTY ? &p->rate[i + 1] : &p->rate[i];
            const double most = p->mode[i] == EMPTY ? p->rate[i] : p->rate[i + 1];
            if (p->mode[i] != BETWEEN && *slow > most) {
                *slow = most;
                changed = true;
            }
        }
    }
    for (int i = 0; i < p->bins; i++) {
        p->flow[i] = p->rate[i] - p->rate[i + 1];
        if ((p->mode[i] == EMPTY && p->flow[i] > 0.0) || (p->mode[i] == FULL && p->flow[i] < 0.0))
            p->mode[i] = BETWEEN;
    }
}

/* Hours until the first bin reaches a bound, and which. */
static double next_bound(const pass *p, int *bin)
{
    double least_h = INFINITY;
    for (int i = 0; i < p->bins; i++) {
        double way_h = INFINITY;
        if (p->flow[i] > 0.0 && p->mode[i] != FULL)
            way_h = (p->volume[i] - p->level[i]) / p->flow[i];
        else if (p->flow[i] < 0.0 && p->mode[i] != EMPTY)
            way_h = p->level[i] / -p->flow[i];
        if (way_h < least_h) {
            least_h = way_h;
            *bin = i;
        }
    }
    return fmax(least_h, 0.0);
}

static void advance(pass *p, double hours)
{
    double before[BINS];
    if (p->watch)
        memcpy(before, p->level, sizeof before);
    for (int i = 0; i < p->bins; i++)
        if (p->mode[i] == BETWEEN)
            p->level[i] = fmin(fmax(p->level[i] + p->flow[i] * hours, 0.0), p->volume[i]);
    if (p->counted)
        p->shortfall_t += (p->set_tph - p->rate[p->feed_segment]) * hours;
    if (p->watch && hours > 0.0)
        p->watch(p->context, &(efi_fluid_piece){.from_h = p->now_h,
                                                .to_h = p->now_h + hours,
                                                .before_t = before,
                                                .after_t = p->level,
                                                .short_tph = p->set_tph - p->rate[p->feed_segment]});
    p->now_h += hours;
}

/* Bin k has reached its bound: new rates, and what the shift of that instant does to levels and shortfall. */
static void reach_bound(pass *p, int k)
{
    double shift[BINS] = {0.0};
    double before[BINS];
    const bool full = p->flow[k] > 0.0;
    const double feed_before = p->rate[p->feed_segment];
    for (int j = 0; j < p->bins; j++)
        shift[j] = ((full && j == k ? 1.0 : 0.0) - p->slope[k][j]) / p->flow[k];
    memcpy(before, p->flow, (size_t)p->bins * sizeof *before);
    p->level[k] = full ? p->volume[k] : 0.0;
    p->mode[k] = full ? FULL : EMPTY;
    set_rates(p);
    const double feed_jump = p->counted ? p->rate[p->feed_segment] - feed_before : 0.0;
    for (int i = 0; i < p->bins; i++) {
        const double change = before[i] - p->flow[i];
        for (int j = 0; j < p->bins && change != 0.0; j++)
            p->slope[i][j] += change * shift[j];
    }
    for (int j = 0; j < p->bins && feed_jump != 0.0; j++)
        p->gradient[j] += feed_jump * shift[j];
}

/* One stretch in which no stop begins or ends. */
static ef_status run_stretch(pass *p, double hours)
{
    set_rates(p);
    for (int change = 0; change < MOST_CHANGES; change++) {
        int bin = -1;
        const double bound_h = next_bound(p, &bin);
        if (!(bound_h < hours)) {
            advance(p, hours);
            return EF_OK;
        }
        advance(p, bound_h);
        hours -= bound_h;
        reach_bound(p, bin);
    }
    return EF_INTERNAL;
}

static void start(pass *p, const efi_fluid_line *line, const double *volume_t)
{
    memset(p, 0, sizeof *p);
    p->line = line;
    p->bins = line->segments - 1;
    for (int i = 0; i < p->bins; i++) {
        p->volume[i] = fmax(volume_t[i], EFI_FLUID_LEAST_T);
        p->level[i] = p->volume[i] * line->start_share[i];
        p->mode[i] = line->start_share[i] > 0.0 ? line->start_share[i] < 1.0 ? BETWEEN : FULL : EMPTY;
        p->slope[i][i] = line->start_share[i];
    }
    p->feed_segment = efi_fluid_feed_segment(line);
}

static ef_status run_pass(pass *p)
{
    const efi_fluid_line *line = p->line;
    for (double now_h = 0.0; now_h < line->to_h;) {
        p->counted = !(now_h < line->from_h);
        const double until_h = p->counted ? line->to_h : line->from_h;
        const double change_h = fmin(efi_fluid_capacity(line, p->next, now_h, p->capacity, &p->set_tph),
                                     until_h);
        p->now_h = now_h;
        EF_TRY(run_stretch(p, change_h - now_h));
        now_h = change_h;
    }
    return EF_OK;
}

ef_status efi_fluid_watch(const efi_fluid_line *line, const double *volume_t, efi_fluid_watcher *watch,
                          void *context, double *shortfall_t)
{
    if (line->segments > EFI_FLUID_SEGMENTS_MOST || line->units > EFI_FLUID_UNITS_MOST)
        return EF_USAGE;
    pass p;
    start(&p, line, volume_t);
    p.watch = watch;
    p.context = context;
    EF_TRY(run_pass(&p));
    *shortfall_t = p.shortfall_t;
    return EF_OK;
}

ef_status efi_fluid_run(const efi_fluid_line *line, const double *volume_t, double *shortfall_t,
                        double *gradient)
{
    if (line->segments > EFI_FLUID_SEGMENTS_MOST || line->units > EFI_FLUID_UNITS_MOST)
        return EF_USAGE;
    pass p;
    start(&p, line, volume_t);
    EF_TRY(run_pass(&p));
    *shortfall_t = p.shortfall_t;
    if (gradient)
        memcpy(gradient, p.gradient, (size_t)p.bins * sizeof *gradient);
    return EF_OK;
}
