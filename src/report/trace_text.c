/* SPDX-License-Identifier: GPL-3.0-or-later
 * A trace as text for a terminal. */
#include "base/date.h"
#include "base/display.h"
#include "report/report.h"

#include <evenfeed/trace.h>
#include <math.h>
#include <string.h>

enum {
    WIDTH = 100,
    PICTURE = 60, /* columns of the picture of levels */
    STEPS = 8,    /* heights of a block */
    MARK_COLUMNS = 10
};

static void add_percent(efi_text *out, double share, int decimals)
{
    efi_number_add_fixed(out, share * 100.0, decimals);
    efi_text_add(out, " %");
}

/* "2:07:13" from the start, or where the calendar holds "mon 2026-09-14 06:12:30". */
static void add_clock(efi_text *out, const ef_trace *trace, double hours)
{
    const long long seconds = llround(hours * EFI_HOUR_S);
    if (!trace->on_calendar) {
        efi_text_addf(out, "%lld:%02lld:%02lld", seconds / 3600, seconds / 60 % 60, seconds % 60);
        return;
    }
    const int64_t moment_s = trace->from_moment_s + seconds;
    const int64_t day = efi_moment_day(moment_s);
    const int clock_s = efi_moment_clock(moment_s);
    efi_text_addf(out, "%s ", efi_weekday_short(efi_day_weekday(day)));
    efi_date_add(out, day);
    efi_text_addf(out, " %02d:%02d:%02d", clock_s / 3600, clock_s / 60 % 60, clock_s % 60);
}

/* ---- the picture ----------------------------------------------------------------------------------------
 */

/* Level of a bin at a moment, on the straight line between the moments at which it is known. `*from` is where
 * the search begins, and goes on from there. */
static double level_at(const ef_trace *trace, int bin, double at_h, int *from)
{
    while (*from + 2 < trace->level_count && trace->level_h[*from + 1] <= at_h)
        (*from)++;
    const int i = *from;
    const size_t bins = (size_t)trace->bin_count;
    const double here = trace->level_t[(size_t)i * bins + (size_t)bin];
    if (i + 1 >= trace->level_count)
        return here;
    const double there = trace->level_t[(size_t)(i + 1) * bins + (size_t)bin];
    const double span = trace->level_h[i + 1] - trace->level_h[i];
    return span > 0.0 ? here + (there - here) * (at_h - trace->level_h[i]) / span : here;
}

static void add_picture(efi_text *out, const ef_trace *trace, int bin)
{
    static const char *const blocks[STEPS + 1] = {"_", "▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
    int from = 0;
    for (int column = 0; column < PICTURE; column++) {
        const double at_h = trace->hours * (column + 0.5) / PICTURE;
        const double share = level_at(trace, bin, at_h, &from) / trace->bins[bin].full_t;
        const int step = share <= 0.0 ? 0 : share >= 1.0 ? STEPS : 1 + (int)(share * (STEPS - 1));
        efi_text_add(out, blocks[step]);
    }
}

/* Hours between two marks of the ruler, at least ten columns. */
static double mark_step_h(double hours)
{
    static const double steps_h[] = {1.0 / 60.0, 1.0 / 30.0, 1.0 / 12.0, 1.0 / 6.0, 0.25, 0.5,
                                     1.0,        2.0,        3.0,        6.0,       12.0, 24.0,
                                     48.0,       168.0,      336.0,      672.0};
    const int count = (int)(sizeof steps_h / sizeof steps_h[0]);
    int i = 0;
    while (i + 1 < count && steps_h[i] * PICTURE < MARK_COLUMNS * hours)
        i++;
    return steps_h[i];
}

/* "06:30" or, where marks are days apart, "09-14"; without a calendar the time from the start, "6:30". */
static void add_mark(efi_text *out, const ef_trace *trace, long long second, bool days)
{
    if (!trace->on_calendar) {
        efi_text_addf(out, "|%lld:%02lld", second / 3600, second / 60 % 60);
        return;
    }
    const int64_t moment_s = trace->from_moment_s + second;
    const efi_civil civil = efi_civil_of(efi_moment_day(moment_s));
    const int clock_s = efi_moment_clock(moment_s);
    if (days)
        efi_text_addf(out, "|%02d-%02d", civil.month, civil.day);
    else
        efi_text_addf(out, "|%02d:%02d", clock_s / 3600, clock_s / 60 % 60);
}

/* The ruler above the pictures: a mark where each step of time begins. */
static void add_ruler(efi_text *out, const ef_trace *trace)
{
    const double step_h = mark_step_h(trace->hours);
    const long long step_s = llround(step_h * EFI_HOUR_S);
    const long long phase_s = trace->on_calendar ? trace->from_moment_s % step_s : 0;
    size_t column = 0;
    for (long long at_s = phase_s > 0 ? step_s - phase_s : 0;; at_s += step_s) {
        const double place = (double)at_s / EFI_HOUR_S / trace->hours * PICTURE;
        efi_text mark = {0};
        add_mark(&mark, trace, at_s, step_h >= 24.0);
        if (!(place + (double)mark.length <= PICTURE)) {
            efi_text_free(&mark);
            break;
        }
        for (; column < (size_t)place; column++)
            efi_text_add(out, " ");
        out->failed = out->failed || mark.failed;
        efi_text_add(out, efi_text_get(&mark));
        column += mark.length;
        efi_text_free(&mark);
    }
}

/* What the plant as a whole does: works, or what it stops for. */
static void add_plant_picture(efi_text *out, const ef_trace *trace)
{
    int stop = 0;
    for (int column = 0; column < PICTURE; column++) {
        const double at_h = trace->hours * (column + 0.5) / PICTURE;
        while (stop < trace->stop_count && (trace->stops[stop].station || trace->stops[stop].to_h <= at_h))
            stop++;
        const bool stands = stop < trace->stop_count && trace->stops[stop].from_h <= at_h;
        efi_text_add(out, !stands                             ? "─"
                          : trace->stops[stop].kind[0] == 'b' ? "b"
                          : trace->stops[stop].kind[0] == 'p' ? "m"
                                                              : " ");
    }
}

static void add_picture_row(efi_table *table, const char *name, void (*add)(efi_text *, const ef_trace *),
                            const ef_trace *trace)
{
    efi_text cell = {0};
    add(&cell, trace);
    efi_table_add(table, name);
    efi_table_take(table, &cell);
    for (int i = 2; i < table->columns; i++)
        efi_table_add(table, "");
}

static void add_bins(efi_text *out, const ef_trace *trace, ef_units units)
{
    efi_text words = {0};
    efi_text_add(&words, "Levels of the bins, from the start to the end; each column is ");
    efi_display_add_duration(&words, trace->hours / PICTURE);
    efi_text_add(&words, ", _ is empty and █ full");
    if (trace->on_calendar)
        efi_text_add(&words, "; the plant works where a line is drawn, b is a break, m maintenance");
    efi_report_wrap_text(out, &words, 0, WIDTH);
    efi_table table = {.columns = 5, .align = "llrrr"};
    static const char *const heading[] = {"Bin", "Level", "Full", "Mean", "Empty for"};
    for (int i = 0; i < table.columns; i++)
        efi_table_add(&table, heading[i]);
    add_picture_row(&table, "", add_ruler, trace);
    if (trace->on_calendar)
        add_picture_row(&table, "The plant", add_plant_picture, trace);
    for (int b = 0; b < trace->bin_count; b++) {
        const ef_trace_bin *bin = &trace->bins[b];
        efi_text cell = {0};
        efi_table_add(&table, bin->name);
        add_picture(&cell, trace, b);
        efi_table_take(&table, &cell);
        efi_display_add_alone(&cell, EFI_KIND_MASS, units, bin->full_t, trace->trade_weight_tpbu, NULL);
        efi_table_take(&table, &cell);
        add_percent(&cell, bin->mean_t / bin->full_t, 0);
        efi_table_take(&table, &cell);
        efi_display_add_duration(&cell, bin->empty_h);
        efi_table_take(&table, &cell);
    }
    efi_table_print(&table, out, 2, true);
    efi_text_add(out, "\n");
}

/* ---- stations -------------------------------------------------------------------------------------------
 */

/* What a station did, most first: "full rate 81 %, starved 12 %". */
static void add_states(efi_text *out, const ef_trace *trace, const ef_trace_station *station)
{
    bool first = true;
    double last = INFINITY;
    int last_index = -1;
    for (int said = 0; said < trace->state_count; said++) {
        int best = -1;
        for (int s = 0; s < trace->state_count; s++) {
            const double hours = station->state_h[s];
            const bool left = hours < last || (hours == last && s > last_index);
            if (left && (best < 0 || hours > station->state_h[best]))
                best = s;
        }
        if (best < 0 || !(station->state_h[best] / trace->hours >= 0.0005))
            return;
        efi_text_addf(out, "%s%s ", first ? "" : ", ", trace->states[best]);
        add_percent(out, station->state_h[best] / trace->hours, 1);
        first = false;
        last = station->state_h[best];
        last_index = best;
    }
}

static void add_stations(efi_text *out, const ef_trace *trace, ef_units units)
{
    efi_table table = {.columns = 3, .align = "lrl"};
    efi_table_add(&table, "Station");
    efi_table_add(&table, "Taken");
    efi_table_add(&table, "Of the time");
    for (int s = 0; s < trace->station_count; s++) {
        const ef_trace_station *station = &trace->stations[s];
        efi_text cell = {0};
        efi_table_add(&table, station->name);
        efi_display_add_alone(&cell, EFI_KIND_MASS, units, station->taken_t, trace->trade_weight_tpbu, NULL);
        efi_table_take(&table, &cell);
        add_states(&cell, trace, station);
        efi_table_take(&table, &cell);
    }
    efi_table_print(&table, out, 2, true);
    efi_text_add(out, "\n");
}

static void add_steady(efi_text *out, const ef_trace *trace, ef_units units)
{
    for (int s = 0; s < trace->station_count; s++) {
        const ef_trace_station *station = &trace->stations[s];
        if (!station->steady_feed)
            continue;
        efi_text words = {0};
        efi_text_addf(&words, "%s, set to ", station->name);
        efi_display_add_alone(&words, EFI_KIND_MASS_RATE, units, station->set_rate_tph,
                              trace->trade_weight_tpbu, NULL);
        efi_text_add(&words, ", was short of ");
        efi_display_add_alone(&words, EFI_KIND_MASS, units, station->shortfall_t, trace->trade_weight_tpbu,
                              NULL);
        efi_text_add(&words, " while it was not stopped, and ran outside its band for ");
        efi_display_add_duration(&words, station->out_of_band_h);
        efi_text_add(&words, ".");
        efi_report_wrap_text(out, &words, 0, WIDTH);
    }
}

static void add_receipts(efi_text *out, const ef_trace *trace, ef_units units)
{
    for (int i = 0; i < trace->receipts_count; i++) {
        const ef_trace_receipts *one = &trace->receipts[i];
        const long long taken = one->arrivals - one->turned_away;
        efi_text words = {0};
        efi_text_addf(&words, "%s: %lld load%s came", one->name, one->arrivals,
                      one->arrivals == 1 ? "" : "s");
        if (one->turned_away > 0)
            efi_text_addf(&words, ", %lld of them turned away", one->turned_away);
        if (one->spilled_t > 0.0) {
            efi_text_add(&words, ", ");
            efi_display_add_alone(&words, EFI_KIND_MASS, units, one->spilled_t, trace->trade_weight_tpbu,
                                  NULL);
            efi_text_add(&words, " did not fit");
        }
        if (taken > 0 && one->queue_h > 0.0) {
            efi_text_add(&words, "; a load that was taken was there for ");
            efi_display_add_duration(&words, one->queue_h / (double)taken);
            efi_text_add(&words, " in the mean");
        }
        efi_text_add(&words, ".");
        efi_report_wrap_text(out, &words, 0, WIDTH);
    }
}

static void add_crews(efi_text *out, const ef_trace *trace)
{
    efi_table table = {.columns = 6, .align = "lrrrrr"};
    static const char *const heading[] = {"Crew", "Teams", "Stops", "Waited for it", "Waiting", "At work"};
    for (int i = 0; i < table.columns; i++)
        efi_table_add(&table, heading[i]);
    for (int c = 0; c < trace->crew_count; c++) {
        const ef_trace_crew *crew = &trace->crews[c];
        efi_text cell = {0};
        efi_table_add(&table, crew->name);
        efi_table_addf(&table, "%d", crew->teams);
        efi_table_addf(&table, "%lld", crew->stops);
        efi_table_addf(&table, "%lld", crew->waited);
        efi_display_add_duration(&cell, crew->wait_h);
        efi_table_take(&table, &cell);
        efi_display_add_duration(&cell, crew->busy_h);
        efi_table_take(&table, &cell);
    }
    efi_table_print(&table, out, 2, true);
    efi_text_add(out, "\n");
}

/* ---- events ---------------------------------------------------------------------------------------------
 */

static void add_event(efi_table *table, const ef_trace *trace, const ef_trace_event *event)
{
    efi_text cell = {0};
    add_clock(&cell, trace, event->at_h);
    efi_table_take(table, &cell);
    if (event->machine > 0)
        efi_table_addf(table, "%s, machine %d", event->station, event->machine);
    else
        efi_table_add(table, event->station ? event->station : "The plant");
    if (event->cause && (event->station || strcmp(event->cause, "closed") != 0))
        efi_table_addf(table, "%s (%s)", event->what, event->cause);
    else
        efi_table_add(table, event->what);
}

static void add_events(efi_text *out, const ef_trace *trace, int most)
{
    int routine = 0;
    for (int e = 0; e < trace->event_count; e++)
        routine += trace->events[e].is_routine;
    const int others = trace->event_count - routine;
    if (others == 0 || most == 0)
        return;
    efi_table table = {.columns = 3, .align = "rll"};
    static const char *const heading[] = {"At", "Station", "What"};
    for (int i = 0; i < table.columns; i++)
        efi_table_add(&table, heading[i]);
    int shown = 0;
    for (int e = 0; e < trace->event_count && shown < most; e++) {
        if (trace->events[e].is_routine)
            continue;
        add_event(&table, trace, &trace->events[e]);
        shown++;
    }
    efi_table_print(&table, out, 2, true);
    if (others > shown || trace->events_cut)
        efi_text_addf(out, "  ... and %s%d more; --events N shows more, --csv DIR writes all\n",
                      trace->events_cut ? "at least " : "", others - shown);
    if (routine > 0)
        efi_text_addf(out, "  %d steps of batches are not shown; --csv DIR writes them too\n", routine);
    efi_text_add(out, "\n");
}

static void add_headline(efi_text *out, const ef_trace *trace, ef_units units)
{
    efi_text words = {0};
    efi_text_addf(&words, "%s: ", trace->crop);
    efi_display_add_duration(&words, trace->hours);
    if (trace->on_calendar) {
        efi_text_add(&words, " from ");
        efi_text_addf(&words, "%s ", efi_weekday_name(efi_day_weekday(efi_moment_day(trace->from_moment_s))));
        efi_date_add(&words, efi_moment_day(trace->from_moment_s));
        efi_text_add(&words, " ");
        efi_clock_add(&words, efi_moment_clock(trace->from_moment_s));
        efi_text_add(&words, ", of which ");
        efi_display_add_duration(&words, trace->worked_h);
        efi_text_add(&words, " are worked,");
    }
    efi_text_add(&words, " took in ");
    efi_display_add_alone(&words, EFI_KIND_MASS, units, trace->intake_t, trace->trade_weight_tpbu, NULL);
    efi_text_add(&words, " and made ");
    efi_display_add_alone(&words, EFI_KIND_MASS, units, trace->product_t, trace->trade_weight_tpbu, NULL);
    efi_text_add(&words, " of product: ");
    efi_display_add_alone(&words, EFI_KIND_MASS_RATE, units,
                          trace->worked_h > 0.0 ? trace->intake_t / trace->worked_h : 0.0,
                          trace->trade_weight_tpbu, NULL);
    efi_text_add(&words, trace->on_calendar ? " at the intake in the hours worked, against "
                                            : " at the intake, against ");
    efi_display_add_alone(&words, EFI_KIND_MASS_RATE, units, trace->balance_tph, trace->trade_weight_tpbu,
                          NULL);
    efi_text_add(&words, " in the steady balance without stops.");
    efi_report_wrap_text(out, &words, 0, WIDTH);
}

static const char notes[] =
    "This is one stretch of chance, not an average: another seed gives another. Flows "
    "are exact between events; times are ";
static const char from_start[] = "hours, minutes and seconds from the start.";
static const char by_clock[] = "those of the plant's clock.";

ef_status ef_report_trace_text(const ef_trace *trace, ef_units units, int most_events, char **text)
{
    efi_text out = {0};
    efi_text_addf(&out, "%s: %s, seed %llu\n\n", trace->plant, trace->scenario_file,
                  (unsigned long long)trace->seed);
    add_headline(&out, trace, units);
    add_steady(&out, trace, units);
    add_receipts(&out, trace, units);
    efi_text_add(&out, "\n");
    if (trace->bin_count > 0)
        add_bins(&out, trace, units);
    add_stations(&out, trace, units);
    if (trace->crew_count > 0)
        add_crews(&out, trace);
    add_events(&out, trace, most_events);
    efi_text words = {0};
    efi_text_addf(&words, "%s%s", notes, trace->on_calendar ? by_clock : from_start);
    efi_report_wrap_text(&out, &words, 0, WIDTH);
    return efi_report_give(&out, text);
}
