/* SPDX-License-Identifier: GPL-3.0-or-later
 * What was learned from a log of stops, recomputed from its rows: hours between and lengths by a walk through
 * the calendar, interval by interval. */
#include "shared/verify/learn.h"

#include "base/clock_change.h"
#include "base/locale.h"
#include "base/memory.h"
#include "shared/calendar/calendar.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEAST_H (0.5 / 60.0)
/* Two sums of the same hours may differ by this, h. */
#define HOUR_SLACK 1e-7

typedef struct verifier {
    const ef_scenario *scenario;
    const ef_learn *learn;
    efi_differences *list;
} verifier;

/* One station's rows, used ones only, in order of time. */
typedef struct station_rows {
    const ef_learn_station *station;
    int number; /* in the answer */
    const ef_learn_row **rows;
    int count;
    bool by_totals; /* running hours also go by totals: not recomputed here */
} station_rows;

static double clock_hours(const verifier *v, int64_t from_s, int64_t to_s)
{
    const int64_t elapsed_s = efi_clock_elapsed((efi_clock_rule)v->learn->clock_rule, from_s, to_s, NULL);
    return elapsed_s > 0 ? (double)elapsed_s / EFI_HOUR_S : 0.0;
}

/* Hours of work, and hours closed, between two moments, by the calendar. */
static void walk_calendar(const verifier *v, int64_t from_s, int64_t to_s, double *worked_h, double *closed_h)
{
    const int64_t start_s = v->scenario->calendar->start.value * EFI_DAY_S;
    int64_t at = from_s - start_s;
    int64_t worked = 0;
    int64_t closed = 0;
    while (at < to_s - start_s) {
        const efi_time_interval now = efi_calendar_at(v->scenario->calendar, EFI_WHOLE_PLANT, at);
        const int64_t end = now.to_s < to_s - start_s ? now.to_s : to_s - start_s;
        worked += efi_time_works(now.state) ? end - at : 0;
        closed += now.state == EFI_TIME_CLOSED ? end - at : 0;
        at = end;
    }
    *worked_h = (double)worked / EFI_HOUR_S;
    *closed_h = (double)closed / EFI_HOUR_S;
}

static double worked_hours(const verifier *v, int64_t from_s, int64_t to_s)
{
    double worked_h = clock_hours(v, from_s, to_s);
    double closed_h;
    if (from_s >= to_s)
        return 0.0;
    if (v->learn->has_calendar)
        walk_calendar(v, from_s, to_s, &worked_h, &closed_h);
    return worked_h;
}

static int rising(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

/* The median of the known lengths of a stop, 0 without. */
static ef_status typical_of(const ef_learn_times *lasts, double *typical_h)
{
    const size_t n = (size_t)lasts->exact_count;
    double *sorted = efi_new(n, sizeof *sorted);
    if (!sorted)
        return EF_MEMORY;
    if (n)
        memcpy(sorted, lasts->exact_h, n * sizeof *sorted);
    qsort(sorted, n, sizeof *sorted, rising);
    *typical_h = n ? sorted[n / 2] : 0.0;
    efi_free(sorted);
    return EF_OK;
}

/* When the station ran again after row `i`, as far as is known. */
static ef_status end_of(const verifier *v, const station_rows *r, int i, int64_t *end_s)
{
    const ef_learn_row *row = r->rows[i];
    *end_s = row->to_s;
    if (row->fate == EF_LEARN_LENGTH_UNKNOWN) {
        double typical_h;
        EF_TRY(typical_of(&r->station->stops[row->stop].lasts, &typical_h));
        *end_s = row->from_s + (int64_t)(typical_h * EFI_HOUR_S);
    }
    if (row->fate == EF_LEARN_OPEN_AT_END)
        *end_s = v->learn->until_s;
    if (i + 1 < r->count && *end_s > r->rows[i + 1]->from_s)
        *end_s = r->rows[i + 1]->from_s;
    if (*end_s < row->from_s)
        *end_s = row->from_s;
    return EF_OK;
}

/* Hours that the station ran between the end of row `i` (-1: the beginning of the log) and the beginning of
 * row `j` (count: its end): hours of work in all, less those of the stops between. */
static ef_status running_between(const verifier *v, const station_rows *r, int i, int j, double *hours)
{
    int64_t at_s = v->learn->since_s;
    *hours = 0.0;
    const bool alone = r->station->machines == 1;
    if (i >= 0 && alone)
        EF_TRY(end_of(v, r, i, &at_s));
    else if (i >= 0)
        at_s = r->rows[i]->from_s;
    for (int k = i + 1; k < j && alone; k++) {
        *hours += worked_hours(v, at_s, r->rows[k]->from_s);
        EF_TRY(end_of(v, r, k, &at_s));
    }
    *hours += worked_hours(v, at_s, j < r->count ? r->rows[j]->from_s : v->learn->until_s);
    return EF_OK;
}

/* ---- one kind of stop -----------------------------------------------------------------------------------
 */

static const efi_stop *scenario_stop(const verifier *v, const station_rows *r, const ef_learn_stop *stop)
{
    const int s = efi_index_find(&v->scenario->station_index, r->station->name, strlen(r->station->name));
    for (int i = 0; s >= 0 && i < v->scenario->stations[s].stops.count; i++)
        if (strcmp(v->scenario->stations[s].stops.items[i].name, stop->reason) == 0)
            return &v->scenario->stations[s].stops.items[i];
    return NULL;
}

/* The next row of this stop after row `i`; count when there is none. */
static int next_row(const station_rows *r, int stop, int i)
{
    do
        i++;
    while (i < r->count && r->rows[i]->stop != stop);
    return i;
}

static void check_gap(const verifier *v, const ef_learn_stop *stop, int number, double expected)
{
    if (number >= stop->between.exact_count)
        efi_differ(v->list, "%s: a time between stops is missing", stop->reason);
    else if (!(fabs(stop->between.exact_h[number] - fmax(expected, LEAST_H)) <= HOUR_SLACK))
        efi_differ(v->list, "%s: time %d between stops is %.9g h, recomputed %.9g", stop->reason, number + 1,
                   stop->between.exact_h[number], expected);
}

static ef_status check_gaps(const verifier *v, const station_rows *r, int number)
{
    const ef_learn_stop *stop = &r->station->stops[number];
    const efi_stop *of = scenario_stop(v, r, stop);
    const bool from_start = of && of->every_h.given;
    int gaps = 0;
    if (r->station->machines > 1 || (stop->counts_running && r->by_totals))
        return EF_OK;
    int i = next_row(r, number, -1);
    for (int j = next_row(r, number, i); i < r->count && j < r->count; j = next_row(r, number, i)) {
        double hours;
        EF_TRY(running_between(v, r, i, j, &hours));
        if (!stop->counts_running)
            hours = clock_hours(v, from_start ? r->rows[i]->from_s : r->rows[i]->to_s, r->rows[j]->from_s);
        check_gap(v, stop, gaps++, hours);
        i = j;
    }
    efi_differ_count(v->list, "times between stops", stop->between.exact_count, gaps);
    double left_h = 0.0;
    if (i < r->count)
        EF_TRY(running_between(v, r, i, r->count, &left_h));
    if (i < r->count && stop->counts_running && stop->between.longer_count > 0)
        efi_differ_number(v->list, "time cut short by the end", "h", stop->between.longer_h[0], left_h,
                          HOUR_SLACK);
    return EF_OK;
}

static ef_status check_watched(const verifier *v, const station_rows *r, const ef_learn_stop *stop)
{
    double hours;
    if (!stop->counts_running || r->by_totals)
        return EF_OK;
    EF_TRY(running_between(v, r, -1, r->count, &hours));
    efi_differ_number(v->list, "hours watched", "h", stop->between.watched_h, hours * r->station->machines,
                      HOUR_SLACK);
    return EF_OK;
}

static double length_of(const verifier *v, const ef_learn_row *row)
{
    double worked_h;
    double closed_h = 0.0;
    const double all_h = clock_hours(v, row->from_s, row->to_s);
    if (v->learn->has_calendar)
        walk_calendar(v, row->from_s, row->to_s, &worked_h, &closed_h);
    return fmax(closed_h < all_h - LEAST_H ? all_h - closed_h : all_h, LEAST_H);
}

/* Lengths of the rows against those that were judged: the same ones, those at the lock-out only counted. */
static void check_lengths(const verifier *v, const station_rows *r, int number)
{
    const ef_learn_stop *stop = &r->station->stops[number];
    int stops = 0;
    int exact = 0;
    int floors = 0;
    double lost_h = 0.0;
    const double least_h = stop->lockout_h + stop->bin_entry_h;
    for (int i = next_row(r, number, -1); i < r->count; i = next_row(r, number, i)) {
        const ef_learn_row *row = r->rows[i];
        stops++;
        if (row->fate != EF_LEARN_USED)
            continue;
        const double length_h = length_of(v, row);
        /* a stop lengthened by a clock put back carries its length */
        efi_differ_number(v->list, "length of a stop", "h", row->length_h, length_h, HOUR_SLACK);
        lost_h += length_h;
        if (least_h > 0.0 && length_h <= least_h * (1.0 + 1e-9))
            floors++;
        else if (exact < stop->lasts.exact_count)
            efi_differ_number(v->list, "length of a stop", "h", stop->lasts.exact_h[exact++], length_h,
                              HOUR_SLACK);
    }
    efi_differ_count(v->list, "stops", stop->stops, stops);
    efi_differ_count(v->list, "lengths", stop->lasts.exact_count, exact);
    efi_differ_count(v->list, "lengths at the lock-out", stop->lasts.floor_count, floors);
    efi_differ_number(v->list, "hours lost", "h", stop->lost_h, lost_h, HOUR_SLACK);
}

static void check_scenario(const verifier *v, const station_rows *r, const ef_learn_stop *stop)
{
    const efi_stop *of = scenario_stop(v, r, stop);
    const ef_learn_times *b = &stop->between;
    efi_differ_flag(v->list, "in the scenario", stop->in_scenario, of != NULL);
    if (!of)
        return;
    if (b->has_scenario) {
        const double mean_h = of->between_h.given ? of->between_h.value : of->every_h.value;
        const bool at_least = stop->asked_running && !stop->counts_running;
        efi_differ_number(v->list, "the scenario's time between stops", "h", b->scenario_mean_h, mean_h, 0.0);
        efi_differ_flag(v->list, "disagreement on the time between stops", b->mean_disagrees,
                        mean_h > b->mean_h.high || (!at_least && mean_h < b->mean_h.low));
    }
    if (stop->lasts.has_scenario) {
        efi_differ_number(v->list, "the scenario's length", "h", stop->lasts.scenario_mean_h,
                          of->lasts_h.value, 0.0);
        efi_differ_flag(v->list, "disagreement on the length", stop->lasts.mean_disagrees,
                        of->lasts_h.value > stop->lasts.mean_h.high ||
                            of->lasts_h.value < stop->lasts.mean_h.low);
    }
}

static ef_status check_stop(const verifier *v, const station_rows *r, int number)
{
    const ef_learn_stop *stop = &r->station->stops[number];
    efi_text between = {0};
    efi_text lasts = {0};
    efi_text_addf(&between, "%s, between", stop->reason);
    efi_text_addf(&lasts, "%s, lasts", stop->reason);
    check_lengths(v, r, number);
    ef_status status = check_gaps(v, r, number);
    if (status == EF_OK)
        status = check_watched(v, r, stop);
    check_scenario(v, r, stop);
    efi_verify_times(v->list, &stop->between, true, efi_text_get(&between));
    if (stop->stops > 0)
        efi_verify_times(v->list, &stop->lasts, false, efi_text_get(&lasts));
    v->list->text.failed = v->list->text.failed || between.failed || lasts.failed;
    efi_text_free(&between);
    efi_text_free(&lasts);
    return status;
}

/* ---- all of it ------------------------------------------------------------------------------------------
 */

static int by_time(const void *left, const void *right)
{
    const ef_learn_row *a = *(const ef_learn_row *const *)left;
    const ef_learn_row *b = *(const ef_learn_row *const *)right;
    if (a->from_s != b->from_s)
        return a->from_s < b->from_s ? -1 : 1;
    return (a->line > b->line) - (a->line < b->line);
}

/* Does a scale measure this station or one of its discharges? */
static bool has_scale(const verifier *v, const char *station)
{
    for (int i = 0; i < v->learn->scale_count; i++)
        if (strcmp(v->scenario->stations[v->learn->scales[i].station].name, station) == 0)
            return true;
    return false;
}

static ef_status check_station(const verifier *v, int number, const ef_learn_row **room)
{
    station_rows r = {.station = &v->learn->stations[number], .number = number, .rows = room};
    r.by_totals = has_scale(v, r.station->name);
    v->list->subject = r.station->name;
    double lost_h = 0.0;
    for (int i = 0; i < v->learn->row_count; i++)
        if (v->learn->rows[i].station == number && v->learn->rows[i].fate != EF_LEARN_NOT_USED)
            room[r.count++] = &v->learn->rows[i];
    qsort(room, (size_t)r.count, sizeof *room, by_time);
    for (int i = 0; i < r.station->stop_count && r.station->in_log; i++) {
        EF_TRY(check_stop(v, &r, i));
        lost_h += r.station->stops[i].lost_h;
    }
    efi_differ_number(v->list, "hours lost", "h", r.station->lost_h, lost_h, HOUR_SLACK);
    return EF_OK;
}

static void check_counts(const verifier *v)
{
    int used = 0;
    int unknown = 0;
    for (int i = 0; i < v->learn->row_count; i++) {
        used += v->learn->rows[i].fate == EF_LEARN_USED;
        unknown += v->learn->rows[i].fate == EF_LEARN_LENGTH_UNKNOWN ||
                   v->learn->rows[i].fate == EF_LEARN_OPEN_AT_END;
    }
    efi_differ_count(v->list, "rows used", v->learn->rows_used, used);
    efi_differ_count(v->list, "rows of unknown length", v->learn->rows_length_unknown, unknown);
    efi_differ_number(v->list, "hours of the clock", "h", v->learn->clock_h,
                      clock_hours(v, v->learn->since_s, v->learn->until_s), HOUR_SLACK);
    efi_differ_number(v->list, "hours of work", "h", v->learn->worked_h,
                      worked_hours(v, v->learn->since_s, v->learn->until_s), HOUR_SLACK);
}

static ef_status check_all(const verifier *v)
{
    const ef_learn_row **room = efi_new((size_t)v->learn->row_count, sizeof *room);
    if (!room)
        return EF_MEMORY;
    ef_status status = EF_OK;
    check_counts(v);
    for (int s = 0; s < v->learn->station_count && status == EF_OK; s++)
        status = check_station(v, s, room);
    efi_free(room);
    v->list->subject = NULL;
    return status == EF_OK ? efi_verify_totals(v->list, v->scenario, v->learn) : status;
}

ef_status ef_learn_verify(const ef_scenario *scenario, const ef_learn *learn, char **differences)
{
    efi_differences list = {.crop = "the logs"};
    efi_locale locale;
    EF_TRY(efi_locale_enter(&locale));
    const verifier v = {.scenario = scenario, .learn = learn, .list = &list};
    ef_status status = check_all(&v);
    status = efi_differences_end(&list, status, differences);
    efi_locale_leave(&locale);
    return status;
}
