/* SPDX-License-Identifier: GPL-3.0-or-later
 * Clean stops to times between stops and lengths, by station and reason. */
#include "answers/learn/learn.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Clocks are read to the minute: what is shorter counts as half of one. */
#define LEAST_H (0.5 / 60.0)
/* Under the lock-out by more than this is told; less is how clocks are read. */
#define UNDER_LOCKOUT_H (0.5 / 60.0)

/* One reason at one station while it is collected. */
typedef struct mode {
    const char *reason;
    const efi_stop *scenario; /* NULL: not in the scenario */
    bool running;             /* gaps in running hours */
    double *gap_h;
    int gaps;
    double *length_h;
    int lengths;
    int floors;
    double longer_gap_h;    /* at the end; 0 for none */
    double longer_length_h; /* the same */
    int stops;
    int counted; /* stops that ended hours watched */
    int under_lockout;
    double lost_h;
    double typical_h; /* median of the known lengths */
    double last_h;    /* running hours at the last stop; < 0 before the first */
    int64_t last_from_s, last_to_s;
} mode;

/* One station while it is collected. */
typedef struct collector {
    efi_learn_run *run;
    int station;
    const efi_station *of;
    efi_log_stop *items; /* its stops, in order of time; those not used among them */
    int count;
    mode *modes;
    int mode_count;
    int first_row;    /* of its rows in the answer */
    double running_h; /* all of them */
} collector;

static double hours(int64_t seconds)
{
    return (double)seconds / EFI_HOUR_S;
}

/* ---- reasons --------------------------------------------------------------------------------------------
 */

static bool counts_running(const efi_stop *stop)
{
    if (!stop)
        return true;
    if (stop->counts != EFI_COUNTS_UNSAID)
        return stop->counts == EFI_COUNTS_RUNNING;
    return stop->between_h.given || stop->after_t;
}

static mode *add_mode(collector *c, const char *reason, const efi_stop *stop)
{
    mode *m = &c->modes[c->mode_count++];
    *m = (mode){.reason = reason, .scenario = stop, .last_h = -1.0};
    m->running = counts_running(stop) && efi_learn_has_running(c->run, c->station);
    return m;
}

/* A reason that the scenario does not have, but that looks like one of its own. */
static void look_for_slip(collector *c, const efi_log_stop *item)
{
    const char *names[64];
    int count = 0;
    for (int i = 0; i < c->of->stops.count && count < (int)EF_COUNT(names); i++)
        names[count++] = c->of->stops.items[i].name;
    const char *nearest = *item->reason ? efi_text_nearest(item->reason, names, count) : NULL;
    if (nearest)
        efi_log_report(&c->run->stops.log, item->row, c->run->stops.log.reason, EFI_DIAG_LOG_REASON,
                       efi_diags_textf(c->run->diags,
                                       "%s has no stop \"%s\" in the scenario; taken as a reason of its own",
                                       c->of->name, item->reason),
                       NULL, nearest);
}

/* The mode of a stop; the only one of the scenario where the log gives no reasons at all. */
static int mode_of(collector *c, const efi_log_stop *item)
{
    if (*item->reason == '\0' && c->run->stops.log.reason < 0 && c->of->stops.count == 1)
        return 0;
    for (int m = 0; m < c->mode_count; m++)
        if (efi_text_same_word(item->reason, c->modes[m].reason))
            return m;
    look_for_slip(c, item);
    (void)add_mode(c, item->reason, NULL);
    return c->mode_count - 1;
}

/* ---- lengths --------------------------------------------------------------------------------------------
 */

static double length_of(const collector *c, const efi_log_stop *item)
{
    const double all_h = hours(item->elapsed_s);
    const double closed_h = efi_learn_closed(c->run, item->from_s, item->to_s);
    const double length_h = closed_h < all_h - LEAST_H ? all_h - closed_h : all_h;
    return fmax(length_h, LEAST_H);
}

static void take_length(collector *c, mode *m, const efi_log_stop *item, double length_h)
{
    const double least_h = m->scenario ? efi_stop_least_h(m->scenario) : 0.0;
    m->lost_h += length_h;
    if (least_h > 0.0 && length_h <= least_h * (1.0 + 1e-9)) {
        m->floors++;
        if (length_h < least_h - UNDER_LOCKOUT_H) {
            m->under_lockout++;
            efi_log_report(
                &c->run->stops.log, item->row, c->run->stops.log.to, EFI_DIAG_LOG_LOCKOUT,
                m->scenario->bin_entry_h.given && m->scenario->bin_entry_h.value > 0.0
                    ? "shorter than lock-out and bin entry of the scenario; taken as no longer than both: "
                      "was all isolated and the bin safe to enter, or the time written down wrong?"
                    : "shorter than the lock-out of the scenario; taken as no longer than that: was the "
                      "machine isolated, or the time written down wrong?",
                NULL, NULL);
        }
        return;
    }
    m->length_h[m->lengths++] = length_h;
}

static int rising(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

/* The median of the known lengths stands in for those that are not known, where running hours are counted. */
static ef_status find_typical(collector *c)
{
    for (int i = 0; i < c->mode_count; i++) {
        mode *m = &c->modes[i];
        double *sorted = efi_learn_get(c->run, (size_t)m->lengths, sizeof *sorted);
        if (!sorted)
            return EF_MEMORY;
        if (m->lengths == 0)
            continue;
        memcpy(sorted, m->length_h, (size_t)m->lengths * sizeof *sorted);
        qsort(sorted, (size_t)m->lengths, sizeof *sorted, rising);
        m->typical_h = sorted[m->lengths / 2];
    }
    return EF_OK;
}

/* ---- times between --------------------------------------------------------------------------------------
 */

/* From the last stop of this mode to this one. */
static double gap_of(const collector *c, const mode *m, const efi_log_stop *item, double running_h)
{
    if (m->running)
        return running_h - m->last_h;
    const bool from_start = m->scenario && m->scenario->every_h.given;
    return hours(efi_learn_elapsed(c->run, from_start ? m->last_from_s : m->last_to_s, item->from_s));
}

static void take_gap(collector *c, mode *m, const efi_log_stop *item, double running_h)
{
    const int64_t since_s = c->run->learn->since_s;
    m->counted += m->running ? running_h > 0.0 : item->from_s > since_s;
    if (m->last_h >= 0.0 && c->of->count == 1)
        m->gap_h[m->gaps++] = fmax(gap_of(c, m, item, running_h), LEAST_H);
    m->last_h = running_h;
    m->last_from_s = item->from_s;
    m->last_to_s = item->to_s;
}

/* The next row that is used; count without. */
static int next_used(const collector *c, int i)
{
    do
        i++;
    while (i < c->count && c->run->rows[c->first_row + i].fate == EF_LEARN_NOT_USED);
    return i;
}

/* Walks through the stops in order of time, counting the hours that the station ran. */
static void walk(collector *c)
{
    double running_h = 0.0;
    const bool alone = c->of->count == 1;
    int64_t at_s = c->run->learn->since_s;
    ef_learn_row *rows = c->run->rows;
    for (int i = 0; i < c->count; i++) {
        const efi_log_stop *item = &c->items[i];
        ef_learn_row *row = &rows[c->first_row + i];
        if (row->fate == EF_LEARN_NOT_USED)
            continue;
        mode *m = &c->modes[row->stop];
        running_h += efi_learn_worked(c->run, c->station, at_s, item->from_s);
        at_s = item->from_s;
        take_gap(c, m, item, running_h);
        if (!alone)
            continue;
        int64_t end_s = item->to_s;
        if (row->fate == EF_LEARN_LENGTH_UNKNOWN)
            end_s = item->from_s + (int64_t)(m->typical_h * EFI_HOUR_S);
        if (row->fate == EF_LEARN_OPEN_AT_END)
            end_s = c->run->learn->until_s;
        const int next = next_used(c, i);
        if (next < c->count && end_s > c->items[next].from_s)
            end_s = c->items[next].from_s;
        at_s = end_s > at_s ? end_s : at_s;
    }
    c->running_h = running_h + efi_learn_worked(c->run, c->station, at_s, c->run->learn->until_s);
}

/* What was still running when the log ended, and the hours watched of each mode. */
static void finish(collector *c, mode *m, ef_learn_times *between)
{
    const int64_t since_s = c->run->learn->since_s;
    const int64_t until_s = c->run->learn->until_s;
    const double clock_h = hours(efi_learn_elapsed(c->run, since_s, until_s));
    const bool from_start = m->scenario && m->scenario->every_h.given;
    between->watched_h = m->running ? c->running_h : fmax(clock_h - (from_start ? 0.0 : m->lost_h), 0.0);
    between->watched_h *= c->of->count;
    between->watched_stops = m->counted;
    if (m->last_h < 0.0 || c->of->count > 1)
        return;
    const double left_h = m->running ? c->running_h - m->last_h
                                     : hours(efi_learn_elapsed(
                                           c->run, from_start ? m->last_from_s : m->last_to_s, until_s));
    m->longer_gap_h = left_h > LEAST_H ? left_h : 0.0;
}

/* ---- to the answer --------------------------------------------------------------------------------------
 */

static ef_place place_of(const collector *c, const efi_stop *stop)
{
    return efi_tree_place(&c->run->scenario->tree, stop->origin.key);
}

static void compare(const mode *m, ef_learn_stop *stop)
{
    const efi_stop *s = m->scenario;
    if (!s)
        return;
    const bool at_least = stop->asked_running && !stop->counts_running;
    if (s->between_h.given)
        efi_learn_compare(&stop->between, s->between_h.value, (efi_form)s->between_form,
                          s->between_shape.value, at_least);
    else if (s->every_h.given)
        efi_learn_compare(&stop->between, s->every_h.value, EFI_FORM_FIXED, 0.0, at_least);
    const efi_form usual = s->between_h.given ? EFI_FORM_EXPONENTIAL : EFI_FORM_FIXED;
    if (stop->stops > 0)
        efi_learn_compare(&stop->lasts, s->lasts_h.value,
                          s->lasts_form >= 0 ? (efi_form)s->lasts_form : usual, s->lasts_shape.value, false);
}

static double value_or_0(efi_value value)
{
    return value.given ? value.value : 0.0;
}

static ef_status give_stop(collector *c, mode *m, int number, ef_learn_stop *stop)
{
    const double least_h = m->scenario ? efi_stop_least_h(m->scenario) : 0.0;
    finish(c, m, &stop->between);
    double *longer = efi_learn_get(c->run, 2, sizeof *longer);
    if (!longer)
        return EF_MEMORY;
    longer[0] = m->longer_gap_h;
    longer[1] = m->longer_length_h;
    *stop = (ef_learn_stop){.reason = m->reason,
                            .in_scenario = m->scenario != NULL,
                            .planned = m->scenario && !m->scenario->between_h.given,
                            .stops = m->stops,
                            .counts_running = m->running,
                            .asked_running = counts_running(m->scenario),
                            .between = stop->between,
                            .lost_h = m->lost_h,
                            .lockout_h = m->scenario ? value_or_0(m->scenario->lockout_h) : 0.0,
                            .bin_entry_h = m->scenario ? value_or_0(m->scenario->bin_entry_h) : 0.0,
                            .under_lockout = m->under_lockout};
    if (m->scenario)
        stop->place = place_of(c, m->scenario);
    stop->between.exact_h = m->gap_h;
    stop->between.exact_count = m->gaps;
    stop->between.longer_h = longer;
    stop->between.longer_count = m->longer_gap_h > 0.0;
    stop->lasts.exact_h = m->length_h;
    stop->lasts.exact_count = m->lengths;
    stop->lasts.longer_h = longer + 1;
    stop->lasts.longer_count = m->longer_length_h > 0.0;
    stop->lasts.floor_count = m->floors;
    stop->lasts.floor_h = m->floors ? least_h : 0.0;
    stop->between.grain_h = stop->lasts.grain_h = hours(c->run->stops.grain_s);
    const uint64_t stream = (uint64_t)c->station << 16 | (uint64_t)number << 1;
    const efi_learn_case between = {.between = true, .many = c->of->count > 1, .stream = stream};
    const efi_learn_case lasts = {.stream = stream | 1u};
    EF_TRY(efi_learn_judge(c->run, &between, &stop->between));
    EF_TRY(efi_learn_judge(c->run, &lasts, &stop->lasts));
    if (!stop->lasts.enough && isfinite(stop->between.mean_h.value))
        stop->lasts.more_h = stop->lasts.more_stops * stop->between.mean_h.value;
    compare(m, stop);
    return EF_OK;
}

/* One row of the answer for each stop that could be read; decides what is used, and for which reason. */
static void give_rows(collector *c)
{
    ef_learn *learn = c->run->learn;
    ef_learn_row *rows = c->run->rows;
    for (int i = 0; i < c->count; i++) {
        const efi_log_stop *item = &c->items[i];
        const bool late = item->from_s > learn->until_s ||
                          (c->run->settings->has_until && item->from_s == learn->until_s);
        const bool outside = item->from_s < learn->since_s || late;
        ef_learn_row *row = &rows[c->first_row + i];
        *row = (ef_learn_row){.line = (int)efi_csv_at(&c->run->stops.log.csv, item->row, 0)->line,
                              .station = learn->station_count,
                              .stop = -1,
                              .from_s = item->from_s,
                              .to_s = item->to_s,
                              .fate = outside ? EF_LEARN_NOT_USED : item->fate};
        if (row->fate == EF_LEARN_NOT_USED) {
            learn->rows_not_used++;
            continue;
        }
        row->stop = mode_of(c, item);
        c->modes[row->stop].stops++;
        learn->rows_used += row->fate == EF_LEARN_USED;
        learn->rows_length_unknown += row->fate != EF_LEARN_USED;
    }
}

static void take_lengths(collector *c)
{
    ef_learn_row *rows = c->run->rows;
    for (int i = 0; i < c->count; i++) {
        const efi_log_stop *item = &c->items[i];
        ef_learn_row *row = &rows[c->first_row + i];
        if (row->fate == EF_LEARN_NOT_USED)
            continue;
        mode *m = &c->modes[row->stop];
        if (row->fate == EF_LEARN_USED) {
            row->length_h = length_of(c, item);
            take_length(c, m, item, row->length_h);
        } else if (row->fate == EF_LEARN_OPEN_AT_END) {
            m->longer_length_h = fmax(hours(efi_learn_elapsed(c->run, item->from_s, c->run->learn->until_s)),
                                      0.0);
        }
    }
}

static ef_status make_modes(collector *c)
{
    const size_t most = (size_t)c->of->stops.count + (size_t)c->count + 1;
    c->modes = efi_learn_get(c->run, most, sizeof *c->modes);
    if (!c->modes)
        return EF_MEMORY;
    for (int i = 0; i < c->of->stops.count; i++)
        (void)add_mode(c, c->of->stops.items[i].name, &c->of->stops.items[i]);
    return EF_OK;
}

/* Room for the times of each mode, once it is known how many stops it has. */
static ef_status make_room(collector *c)
{
    for (int i = 0; i < c->mode_count; i++) {
        mode *m = &c->modes[i];
        m->gap_h = efi_learn_get(c->run, (size_t)m->stops, sizeof(double));
        m->length_h = efi_learn_get(c->run, (size_t)m->stops, sizeof(double));
        if (!m->gap_h || !m->length_h)
            return EF_MEMORY;
    }
    return EF_OK;
}

static ef_status give_station(collector *c)
{
    ef_learn *learn = c->run->learn;
    ef_learn_station *station = &c->run->stations[learn->station_count];
    EF_TRY(make_modes(c));
    give_rows(c);
    EF_TRY(make_room(c));
    take_lengths(c);
    EF_TRY(find_typical(c));
    walk(c);
    ef_learn_stop *stops = efi_learn_get(c->run, (size_t)c->mode_count, sizeof *stops);
    if (!stops)
        return EF_MEMORY;
    c->run->stops_of[learn->station_count] = stops;
    *station = (ef_learn_station){.name = c->of->name,
                                  .machines = c->of->count,
                                  .in_log = c->count > 0,
                                  .watched_h = c->running_h,
                                  .watched_running = efi_learn_has_running(c->run, c->station),
                                  .stops = stops,
                                  .stop_count = c->mode_count};
    for (int i = 0; i < c->mode_count && c->count > 0; i++) {
        EF_TRY(give_stop(c, &c->modes[i], i, &stops[i]));
        station->lost_h += stops[i].lost_h;
    }
    const ef_learn_times unknown = {.best = -1, .form = ""};
    for (int i = 0; i < c->mode_count && c->count == 0; i++)
        stops[i] = (ef_learn_stop){.reason = c->modes[i].reason,
                                   .in_scenario = true,
                                   .planned = !c->modes[i].scenario->between_h.given,
                                   .place = place_of(c, c->modes[i].scenario),
                                   .between = unknown,
                                   .lasts = unknown};
    const double all_h = station->watched_h * station->machines + station->lost_h;
    station->availability = all_h > 0.0 ? station->watched_h * station->machines / all_h : 1.0;
    learn->station_count++;
    return EF_OK;
}

ef_status efi_learn_times(efi_learn_run *run)
{
    const ef_scenario *scenario = run->scenario;
    ef_learn *learn = run->learn;
    run->rows = efi_learn_get(run, (size_t)run->stops.count, sizeof *run->rows);
    run->stations = efi_learn_get(run, (size_t)scenario->station_count, sizeof *run->stations);
    run->stops_of = efi_learn_get(run, (size_t)scenario->station_count, sizeof *run->stops_of);
    if (!run->rows || !run->stations || !run->stops_of)
        return EF_MEMORY;
    learn->rows = run->rows;
    learn->stations = run->stations;
    learn->row_count = run->stops.count;
    learn->rows_not_used = run->stops.unread;
    int at = 0;
    for (int s = 0; s < scenario->station_count; s++) {
        collector c = {.run = run, .station = s, .of = &scenario->stations[s], .first_row = at};
        c.items = run->stops.items + at;
        while (at < run->stops.count && run->stops.items[at].station == s)
            at++;
        c.count = at - c.first_row;
        if (c.count > 0 || c.of->stops.count > 0)
            EF_TRY(give_station(&c));
    }
    return EF_OK;
}
