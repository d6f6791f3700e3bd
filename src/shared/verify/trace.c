/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a trace: mass between events, levels, feeds, stops and hours, recomputed from what the
 * trace itself says happened and from the scenario, without the engine. */
#include "base/locale.h"
#include "base/memory.h"
#include "model/scenario.h"
#include "shared/calendar/calendar.h"
#include "shared/verify/bin_volume.h"
#include "shared/verify/differences.h"
#include "shared/verify/trace_lots.h"

#include <evenfeed/trace.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Tonnes may differ by this share of what was taken in, and one tonne; hours by this; times drawn or given
 * lie on a grid, h. */
#define MASS_SHARE 1e-9
#define HOURS      1e-6
#define GRID_H     0x1p-19
/* A bin that holds no more than this may be empty or filling: rounding of what passes through it, t. */
#define EMPTY_T 1e-9

typedef struct span {
    double from_h;
    double to_h;
} span;

typedef struct check {
    const ef_scenario *scenario;
    const ef_trace *claim;
    efi_differences *list;
    int crop;
    int *station;   /* shape [station_count]: of the scenario */
    span *stops;    /* shape [stop_count], scratch */
    int moments;    /* those up to which levels and feeds are complete */
    double floor_t; /* tonnes that are rounding */
} check;

static const efi_station *of(const check *c, int s)
{
    return &c->scenario->stations[c->station[s]];
}

static double level_t(const check *c, int moment, int bin)
{
    return c->claim->level_t[(size_t)moment * (size_t)c->claim->bin_count + (size_t)bin];
}

static double feed_tph(const check *c, int moment, int s)
{
    return c->claim->feed_tph[(size_t)moment * (size_t)c->claim->station_count + (size_t)s];
}

static double length_h(const check *c, int moment)
{
    return c->claim->level_h[moment + 1] - c->claim->level_h[moment];
}

static bool is_instant(const efi_station *station)
{
    return station->receipts && station->receipts->instant;
}

static bool holds(const efi_station *station)
{
    return station->batch || station->travel_h.given;
}

/* ---- the stretch ----------------------------------------------------------------------------------------
 */

/* Hours of the stretch by the calendar. */
typedef struct calendar_sum {
    double work_h;
    double closed_h;
    double break_h;
} calendar_sum;

static calendar_sum calendar_hours(const check *c)
{
    const efi_calendar *calendar = c->scenario->calendar;
    const int64_t begin_s = c->claim->from_moment_s - efi_calendar_moment(calendar, 0);
    const int64_t end_s = begin_s + efi_seconds_of(c->claim->hours);
    calendar_sum sum = {0.0, 0.0, 0.0};
    for (int64_t at = begin_s; at < end_s;) {
        const efi_time_interval one = efi_calendar_at(calendar, EFI_WHOLE_PLANT, at);
        const int64_t to = one.to_s < end_s ? one.to_s : end_s;
        const double length_h = (double)(to - at) / EFI_HOUR_S;
        sum.work_h += one.state == EFI_TIME_SHIFT || one.state == EFI_TIME_OVERTIME ? length_h : 0.0;
        sum.closed_h += one.state == EFI_TIME_CLOSED ? length_h : 0.0;
        sum.break_h += one.state == EFI_TIME_BREAK ? length_h : 0.0;
        at = to;
    }
    return sum;
}

static void check_stretch(const check *c)
{
    const ef_trace *trace = c->claim;
    const double worked_h = trace->on_calendar ? calendar_hours(c).work_h : trace->hours;
    efi_differ_number(c->list, "the hours of work", "h", trace->worked_h, worked_h, 1.0 / EFI_HOUR_S);
    for (int i = 0; i + 1 < trace->level_count; i++)
        if (!(trace->level_h[i] < trace->level_h[i + 1])) {
            efi_differ(c->list, "the moments of the levels do not rise at %.10g h", trace->level_h[i]);
            return;
        }
    if (trace->level_count < 2 || trace->level_h[0] != 0.0 ||
        trace->level_h[trace->level_count - 1] != trace->hours)
        efi_differ(c->list, "the levels do not reach from the beginning to the end");
}

/* ---- mass -----------------------------------------------------------------------------------------------
 */

/* Over the whole stretch: in, out, and what bins, batches and conveyors have gained. */
static void check_mass(const check *c)
{
    const ef_trace *trace = c->claim;
    double in_t = 0.0;
    double out_t = 0.0;
    double product_t = 0.0;
    double gained_t = 0.0;
    for (int s = 0; s < trace->station_count; s++) {
        const efi_station *station = of(c, s);
        const double taken_t = trace->stations[s].taken_t;
        in_t += station->kind == EFI_STATION_INTAKE ? taken_t : 0.0;
        out_t += station->kind == EFI_STATION_OUTLET ? taken_t : 0.0;
        product_t += station->product ? taken_t : 0.0;
        gained_t += trace->stations[s].held_t;
    }
    for (int b = 0; b < trace->bin_count && trace->level_count > 0; b++)
        gained_t += level_t(c, trace->level_count - 1, b) - level_t(c, 0, b);
    efi_differ_number(c->list, "what was taken in", "t", trace->intake_t, in_t, c->floor_t);
    efi_differ_number(c->list, "the product", "t", trace->product_t, product_t, c->floor_t);
    if (!(fabs(in_t - out_t - gained_t) <= c->floor_t))
        efi_differ(c->list, "%.12g t in, %.12g t out and %.12g t gained do not balance", in_t, out_t,
                   gained_t);
    if (!(fabs(trace->imbalance_t) <= c->floor_t))
        efi_differ(c->list, "its own account misses %.3g t", trace->imbalance_t);
}

/* From one event to the next: levels of all bins together, from the feeds of intakes and outlets. */
static void check_mass_between(const check *c)
{
    const ef_trace *trace = c->claim;
    for (int s = 0; s < trace->station_count; s++)
        if (holds(of(c, s)) || is_instant(of(c, s)))
            return; /* what is on a conveyor, in a batch or tipped at once is not in these figures */
    for (int i = 0; i + 1 < c->moments; i++) {
        double net_tph = 0.0;
        double gained_t = 0.0;
        for (int s = 0; s < trace->station_count; s++) {
            net_tph += of(c, s)->kind == EFI_STATION_INTAKE ? feed_tph(c, i, s) : 0.0;
            net_tph -= of(c, s)->kind == EFI_STATION_OUTLET ? feed_tph(c, i, s) : 0.0;
        }
        for (int b = 0; b < trace->bin_count; b++)
            gained_t += level_t(c, i + 1, b) - level_t(c, i, b);
        if (!(fabs(net_tph * length_h(c, i) - gained_t) <= c->floor_t))
            efi_differ(c->list, "from %.10g h on %.10g t come in beyond what goes out, and bins gain %.10g t",
                       trace->level_h[i], net_tph * length_h(c, i), gained_t);
    }
}

/* ---- bins -----------------------------------------------------------------------------------------------
 */

static void check_bin(const check *c, int b)
{
    const ef_trace_bin *bin = &c->claim->bins[b];
    double level_th = 0.0;
    double least_t = INFINITY;
    double most_t = 0.0;
    double empty_h = 0.0;
    double hardly_h = 0.0; /* holding next to nothing, empty or not */
    double full_h = 0.0;
    for (int i = 0; i < c->claim->level_count; i++) {
        const double here = level_t(c, i, b);
        least_t = fmin(least_t, here);
        most_t = fmax(most_t, here);
        if (!(here >= -c->floor_t && here <= bin->full_t + c->floor_t))
            efi_differ(c->list, "its level of %.10g t at %.10g h lies outside it", here,
                       c->claim->level_h[i]);
        if (i + 1 >= c->claim->level_count)
            break;
        const double there = level_t(c, i + 1, b);
        level_th += 0.5 * (here + there) * length_h(c, i);
        empty_h += here <= 0.0 && there <= 0.0 ? length_h(c, i) : 0.0;
        hardly_h += here <= EMPTY_T && there <= EMPTY_T ? length_h(c, i) : 0.0;
        full_h += here >= bin->full_t && there >= bin->full_t ? length_h(c, i) : 0.0;
    }
    efi_differ_number(c->list, "its least level", "t", bin->least_t, least_t, c->floor_t);
    efi_differ_number(c->list, "its highest level", "t", bin->most_t, most_t, c->floor_t);
    if (c->claim->events_cut)
        return;
    efi_differ_number(c->list, "its mean level", "t", bin->mean_t, level_th / c->claim->hours, c->floor_t);
    if (!(bin->empty_h >= empty_h - HOURS && bin->empty_h <= hardly_h + HOURS))
        efi_differ(c->list, "its hours empty are given as %.10g h, recomputed %.10g h to %.10g h",
                   bin->empty_h, empty_h, hardly_h);
    if (c->claim->lot_count == 0) /* what is full changes with the crop */
        efi_differ_number(c->list, "its hours full", "h", bin->full_h, full_h, HOURS);
}

static void check_bins(const check *c)
{
    bool tipped = false; /* at once, so that levels jump at an event */
    for (int s = 0; s < c->scenario->station_count; s++)
        tipped = tipped || is_instant(&c->scenario->stations[s]);
    for (int b = 0; b < c->claim->bin_count && !tipped; b++) {
        const ef_trace_bin *bin = &c->claim->bins[b];
        const int station = efi_index_find(&c->scenario->station_index, bin->name, strlen(bin->name));
        c->list->subject = bin->name;
        if (station < 0)
            efi_differ(c->list, "there is no such bin");
        else
            efi_verify_full(c->list, c->scenario, &c->scenario->stations[station], c->crop, bin->full_t,
                            bin->t_per_m3 * bin->part, 1e-12);
        if (!(bin->part > 0.0 && bin->part <= 1.0) || (!c->claim->line && bin->part < 1.0))
            efi_differ(c->list, "%.9g of its room is told to be the line's", bin->part);
        check_bin(c, b);
    }
    c->list->subject = NULL;
}

/* ---- stops ----------------------------------------------------------------------------------------------
 */

static int by_start(const void *left, const void *right)
{
    const span *a = left;
    const span *b = right;
    return (a->from_h > b->from_h) - (a->from_h < b->from_h);
}

/* The times at which a station of one machine stands, by its own stops and the plant's, merged. */
static int merge_stops(const check *c, const char *station)
{
    int count = 0;
    for (int i = 0; i < c->claim->stop_count; i++) {
        const ef_trace_stop *stop = &c->claim->stops[i];
        if (!stop->station || strcmp(stop->station, station) == 0)
            c->stops[count++] = (span){stop->from_h, stop->to_h};
    }
    qsort(c->stops, (size_t)count, sizeof *c->stops, by_start);
    int merged = 0;
    for (int i = 0; i < count; i++) {
        if (merged > 0 && c->stops[i].from_h <= c->stops[merged - 1].to_h)
            c->stops[merged - 1].to_h = fmax(c->stops[merged - 1].to_h, c->stops[i].to_h);
        else
            c->stops[merged++] = c->stops[i];
    }
    return merged;
}

/* Nothing is taken while it stands; the hours it stands are those of its account. */
static void check_standing(const check *c, int s)
{
    static const char *const stopped[] = {"waiting for crew", "random stop", "planned stop", "break",
                                          "closed"};
    const ef_trace *trace = c->claim;
    const int count = merge_stops(c, trace->stations[s].name);
    double stands_h = 0.0;
    int at = 0;
    for (int i = 0; i < count; i++)
        stands_h += c->stops[i].to_h - c->stops[i].from_h;
    for (int i = 0; i + 1 < c->moments; i++) {
        const double middle_h = trace->level_h[i] + 0.5 * length_h(c, i);
        while (at < count && c->stops[at].to_h <= middle_h)
            at++;
        if (at < count && c->stops[at].from_h <= middle_h && feed_tph(c, i, s) > 0.0)
            efi_differ(c->list, "it takes %.10g t/h at %.10g h, while it stands", feed_tph(c, i, s),
                       middle_h);
    }
    double account_h = 0.0;
    for (int i = 0; i < trace->state_count; i++)
        for (size_t k = 0; k < EF_COUNT(stopped); k++)
            account_h += strcmp(trace->states[i], stopped[k]) == 0 ? trace->stations[s].state_h[i] : 0.0;
    if (trace->lot_count == 0) /* what stops while it is cleaned counts as clean-down */
        efi_differ_number(c->list, "its hours of standing", "h", account_h, stands_h, HOURS);
}

/* A stop at times of the day begins at one of them. */
static void check_clock(const check *c, const ef_trace_stop *stop, const efi_stop *planned)
{
    const int64_t moment_s = c->claim->from_moment_s + llround(stop->from_h * EFI_HOUR_S);
    const int64_t day = efi_moment_day(moment_s);
    const int clock_s = efi_moment_clock(moment_s);
    bool found = false;
    for (int i = 0; i < planned->at.count; i++) {
        const int64_t on = planned->at.items[i] == EFI_DAY_S && clock_s == 0 ? day - 1 : day;
        const int at_s = on < day ? EFI_DAY_S : clock_s;
        found = found || (planned->at.items[i] == at_s &&
                          (planned->days.value & (int64_t)EFI_WEEKDAY_SET(efi_day_weekday(on))));
    }
    if (!found)
        efi_differ(c->list, "\"%s\" begins at %.10g h, which is none of its times", stop->name, stop->from_h);
}

static void check_stop(const check *c, const ef_trace_stop *stop)
{
    const int s = stop->station
                      ? efi_index_find(&c->scenario->station_index, stop->station, strlen(stop->station))
                      : -1;
    c->list->subject = stop->station;
    if (!(stop->from_h >= 0.0 && stop->from_h < stop->to_h && stop->to_h <= c->claim->hours))
        efi_differ(c->list, "a stop from %.10g to %.10g h", stop->from_h, stop->to_h);
    if (stop->is_open && stop->to_h != c->claim->hours)
        efi_differ(c->list, "a stop that goes on ends at %.10g h", stop->to_h);
    for (int i = 0; s >= 0 && i < c->scenario->stations[s].stops.count; i++) {
        const efi_stop *planned = &c->scenario->stations[s].stops.items[i];
        if (planned->at.count > 0 && strcmp(planned->name, stop->name) == 0)
            check_clock(c, stop, planned);
    }
    c->list->subject = NULL;
}

/* Is there a stop of the station from one hour to the other? */
static bool is_laid(const check *c, const char *station, double from_h, double to_h)
{
    for (int i = 0; i < c->claim->stop_count; i++) {
        const ef_trace_stop *stop = &c->claim->stops[i];
        if (stop->station && strcmp(stop->station, station) == 0 && fabs(stop->from_h - from_h) <= GRID_H &&
            fabs(stop->to_h - to_h) <= GRID_H)
            return true;
    }
    return false;
}

/* Every recorded stop of the stretch is there as it was. */
static void check_records(const check *c)
{
    const ef_trace *trace = c->claim;
    for (int i = 0; i < c->scenario->record_count && !trace->without_stops; i++) {
        const efi_record *record = &c->scenario->records[i];
        const double from_h = (double)(record->from.value - trace->from_moment_s) / EFI_HOUR_S;
        const double to_h = (double)(record->to.value - trace->from_moment_s) / EFI_HOUR_S;
        for (int s = 0; s < trace->station_count && to_h > 0.0 && from_h < trace->hours; s++)
            for (int k = 0; k < record->stations.count; k++)
                if (record->stations.items[k] == c->station[s] &&
                    !is_laid(c, trace->stations[s].name, fmax(from_h, 0.0), fmin(to_h, trace->hours)))
                    efi_differ(c->list, "the recorded stop of %s from %.10g to %.10g h is missing",
                               trace->stations[s].name, from_h, to_h);
    }
}

/* The stops of the plant as a whole are what the calendar says. */
static void check_calendar(const check *c)
{
    const calendar_sum expected = c->claim->on_calendar ? calendar_hours(c) : (calendar_sum){0.0, 0.0, 0.0};
    double closed_h = 0.0;
    double break_h = 0.0;
    for (int i = 0; i < c->claim->stop_count; i++) {
        const ef_trace_stop *stop = &c->claim->stops[i];
        if (stop->station)
            continue;
        closed_h += strcmp(stop->kind, "closed") == 0 ? stop->to_h - stop->from_h : 0.0;
        break_h += strcmp(stop->kind, "break") == 0 ? stop->to_h - stop->from_h : 0.0;
    }
    efi_differ_number(c->list, "the hours closed", "h", closed_h, expected.closed_h, 1.0 / EFI_HOUR_S);
    efi_differ_number(c->list, "the hours of breaks", "h", break_h, expected.break_h, 1.0 / EFI_HOUR_S);
}

/* ---- stations -------------------------------------------------------------------------------------------
 */

/* The most it may take, t/h; INFINITY where that is not said by weight. */
static double most_tph(const check *c, int s)
{
    const efi_station *station = of(c, s);
    const ef_trace_station *claim = &c->claim->stations[s];
    if (claim->steady_feed)
        return claim->set_rate_tph;
    if (station->batch && c->claim->lot_count == 0)
        return station->batch->fill_tph.value;
    if (c->claim->lot_count > 0)
        return efi_trace_check_most(c->scenario, c->claim, station);
    if (!station->capacity || !station->capacity[c->crop].given ||
        station->capacity[c->crop].of != EFI_KIND_MASS_RATE)
        return INFINITY;
    return station->capacity[c->crop].value * station->count;
}

static void check_station(const check *c, int s)
{
    const ef_trace *trace = c->claim;
    const ef_trace_station *claim = &trace->stations[s];
    const double most = most_tph(c, s);
    double hours = 0.0;
    double taken_t = 0.0;
    for (int i = 0; i < trace->state_count; i++) {
        hours += claim->state_h[i];
        if (!(claim->state_h[i] >= 0.0))
            efi_differ(c->list, "it was %s for %.10g h", trace->states[i], claim->state_h[i]);
    }
    efi_differ_number(c->list, "its hours together", "h", hours, trace->hours, HOURS);
    for (int i = 0; i + 1 < c->moments; i++) {
        const double feed = feed_tph(c, i, s);
        taken_t += feed * length_h(c, i);
        if (!(feed >= 0.0 && feed <= most * (1.0 + MASS_SHARE)))
            efi_differ(c->list, "it takes %.10g t/h at %.10g h, which is not from 0 to %.10g t/h", feed,
                       trace->level_h[i], most);
    }
    if (!trace->events_cut && !is_instant(of(c, s)))
        efi_differ_number(c->list, "what it took", "t", claim->taken_t, taken_t, c->floor_t);
    if (of(c, s)->count == 1 && of(c, s)->kind != EFI_STATION_SPLIT && of(c, s)->kind != EFI_STATION_BIN &&
        !trace->events_cut && !is_instant(of(c, s)))
        check_standing(c, s);
}

/* Loads come and turned away are as many as their events. */
static void check_receipts(const check *c)
{
    for (int i = 0; i < c->claim->receipts_count && !c->claim->events_cut; i++) {
        const ef_trace_receipts *claim = &c->claim->receipts[i];
        int arrived = 0;
        int turned_away = 0;
        for (int e = 0; e < c->claim->event_count; e++) {
            const ef_trace_event *event = &c->claim->events[e];
            if (!event->station || strcmp(event->station, claim->name) != 0)
                continue;
            arrived += strcmp(event->what, "arrived") == 0;
            turned_away += strcmp(event->what, "turned away") == 0;
        }
        c->list->subject = claim->name;
        efi_differ_count(c->list, "loads that came", (int)claim->arrivals, arrived + turned_away);
        efi_differ_count(c->list, "loads turned away", (int)claim->turned_away, turned_away);
    }
    c->list->subject = NULL;
}

/* A crew is at work for no longer than its teams could be. */
static void check_crews(const check *c)
{
    for (int i = 0; i < c->claim->crew_count; i++) {
        const ef_trace_crew *crew = &c->claim->crews[i];
        c->list->subject = crew->name;
        if (!(crew->busy_h >= 0.0 && crew->busy_h <= crew->teams * c->claim->hours + HOURS))
            efi_differ(c->list, "its %d teams were at work for %.10g h", crew->teams, crew->busy_h);
        if (crew->most_busy > crew->teams || crew->waited > crew->stops)
            efi_differ(c->list, "%d of %d teams were at work at once, %lld of %lld stops waited",
                       crew->most_busy, crew->teams, crew->waited, crew->stops);
    }
    c->list->subject = NULL;
}

/* ---- all ------------------------------------------------------------------------------------------------
 */

static bool find_stations(const check *c)
{
    const efi_index *index = &c->scenario->station_index;
    for (int s = 0; s < c->claim->station_count; s++) {
        const char *name = c->claim->stations[s].name;
        c->station[s] = efi_index_find(index, name, strlen(name));
        if (c->station[s] < 0) {
            efi_differ(c->list, "there is no station \"%s\"", name);
            return false;
        }
    }
    return c->crop >= 0;
}

static void check_all(check *c)
{
    const ef_trace *trace = c->claim;
    if (!find_stations(c))
        return;
    for (int s = 0; s < trace->station_count; s++)
        c->floor_t += MASS_SHARE * (1.0 + fabs(trace->stations[s].taken_t));
    c->moments = trace->events_cut ? trace->level_count - 1 : trace->level_count;
    check_stretch(c);
    check_mass(c);
    check_mass_between(c);
    check_bins(c);
    for (int i = 0; i < trace->stop_count; i++)
        check_stop(c, &trace->stops[i]);
    if (!trace->events_cut) {
        check_records(c);
        check_calendar(c);
    }
    for (int s = 0; s < trace->station_count; s++) {
        c->list->subject = trace->stations[s].name;
        check_station(c, s);
    }
    c->list->subject = NULL;
    check_receipts(c);
    check_crews(c);
    if (trace->lot_count > 0)
        efi_trace_check_lots(c->scenario, trace, c->list);
}

static ef_status check_trace(const ef_scenario *scenario, const ef_trace *trace, efi_differences *list)
{
    check c = {.scenario = scenario,
               .claim = trace,
               .list = list,
               .crop = efi_index_find(&scenario->crop_index, trace->crop, strlen(trace->crop)),
               .station = efi_new((size_t)trace->station_count, sizeof(int)),
               .stops = efi_new((size_t)trace->stop_count, sizeof(span))};
    const bool ready = c.station && c.stops;
    list->crop = trace->line ? trace->line : trace->crop;
    if (ready)
        check_all(&c);
    efi_free(c.station);
    efi_free(c.stops);
    return ready ? EF_OK : EF_MEMORY;
}

ef_status ef_trace_verify(const ef_scenario *scenario, const ef_trace *trace, char **differences)
{
    efi_locale locale;
    EF_TRY(efi_locale_enter(&locale));
    efi_differences list = {0};
    ef_status status = EF_OK;
    if (trace->line_count == 0)
        status = check_trace(scenario, trace, &list);
    for (int i = 0; status == EF_OK && i < trace->line_count; i++)
        status = check_trace(scenario, &trace->lines[i], &list);
    if (trace->line_count > 0)
        efi_trace_check_lines(scenario, trace, &list);
    status = efi_differences_end(&list, status, differences);
    efi_locale_leave(&locale);
    return status;
}
