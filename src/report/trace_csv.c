/* SPDX-License-Identifier: GPL-3.0-or-later
 * A trace as CSV: its events, its stops, the levels of its bins. */
#include "base/date.h"
#include "report/csv_text.h"
#include "report/report.h"

#include <evenfeed/trace.h>
#include <math.h>
#include <string.h>

/* The moment by the plant's clock, to the second, in a column of its own where the calendar holds. */
static void add_moment(efi_text *out, const ef_trace *trace, double at_h)
{
    if (!trace->on_calendar)
        return;
    efi_csv_next(out);
    efi_moment_add(out, trace->from_moment_s + llround(at_h * EFI_HOUR_S));
}

static void add_when(efi_text *out, const ef_trace *trace, double at_h)
{
    efi_csv_add_number(out, at_h);
    add_moment(out, trace, at_h);
    efi_csv_next(out);
}

/* A cell of its own where there are several lines; empty for the whole plant. */
static void add_line(efi_text *out, const ef_trace *trace, const char *line)
{
    if (trace->line_count == 0)
        return;
    if (line)
        efi_csv_add_text(out, line);
    efi_csv_next(out);
}

/* Two cells; both are empty for the whole plant. */
static void add_station(efi_text *out, const char *station, int machine)
{
    if (station)
        efi_csv_add_text(out, station);
    efi_csv_next(out);
    if (machine > 0)
        efi_text_addf(out, "%d", machine);
    efi_csv_next(out);
}

ef_status ef_report_trace_events_csv(const ef_trace *trace, char **text)
{
    efi_text out = {0};
    efi_text_addf(&out, "%sat_h,%sstation,machine,what,cause\n", trace->line_count > 0 ? "line," : "",
                  trace->on_calendar ? "at," : "");
    for (int e = 0; e < trace->event_count; e++) {
        const ef_trace_event *event = &trace->events[e];
        add_line(&out, trace, event->line);
        add_when(&out, trace, event->at_h);
        add_station(&out, event->station, event->machine);
        efi_csv_text_next(&out, event->what);
        if (event->cause)
            efi_csv_add_text(&out, event->cause);
        efi_csv_end(&out);
    }
    return efi_report_give(&out, text);
}

/* ---- moments: a row each, of several lines line by line; a column each name, which lines may share
 * ---------
 */

/* What is told of a trace: bins with their levels, or stations with their feeds. */
typedef struct told {
    const char *(*name)(const ef_trace *trace, int index);
    int (*count)(const ef_trace *trace);
    const double *(*values)(const ef_trace *trace); /* shape [level_count][count] */
    const char *unit;
} told;

static int list_count(const ef_trace *trace)
{
    return trace->line_count > 0 ? trace->line_count : 1;
}

static const ef_trace *list_of(const ef_trace *trace, int index)
{
    return trace->line_count > 0 ? &trace->lines[index] : trace;
}

static int find_name(const told *t, const ef_trace *list, const char *name)
{
    for (int k = 0; k < t->count(list); k++)
        if (strcmp(t->name(list, k), name) == 0)
            return k;
    return -1;
}

/* Columns: the names of all lists, each once. Calls `add` for each with its place in `list`, -1 where it has
 * none. */
static void each_column(const told *t, const ef_trace *trace, const ef_trace *list, efi_text *out,
                        void (*add)(efi_text *out, const told *t, const char *name, const double *value),
                        const double *values)
{
    for (int i = 0; i < list_count(trace); i++) {
        const ef_trace *one = list_of(trace, i);
        for (int k = 0; k < t->count(one); k++) {
            const char *name = t->name(one, k);
            bool is_new = true;
            for (int j = 0; j < i && is_new; j++)
                is_new = find_name(t, list_of(trace, j), name) < 0;
            if (!is_new)
                continue;
            const int own = list == one ? k : list ? find_name(t, list, name) : -1;
            efi_csv_next(out);
            add(out, t, name, own >= 0 ? values + own : NULL);
        }
    }
}

static void add_heading(efi_text *out, const told *t, const char *name, const double *value)
{
    efi_text heading = {0};
    (void)value;
    efi_text_addf(&heading, "%s [%s]", name, t->unit);
    out->failed = out->failed || heading.failed;
    efi_csv_add_text(out, efi_text_get(&heading));
    efi_text_free(&heading);
}

static void add_value(efi_text *out, const told *t, const char *name, const double *value)
{
    (void)t;
    (void)name;
    if (value)
        efi_csv_add_number(out, *value);
}

static ef_status give_moments(const told *t, const ef_trace *trace, char **text)
{
    efi_text out = {0};
    efi_text_addf(&out, "%sat_h%s", trace->line_count > 0 ? "line," : "", trace->on_calendar ? ",at" : "");
    each_column(t, trace, NULL, &out, add_heading, NULL);
    efi_csv_end(&out);
    for (int l = 0; l < list_count(trace); l++) {
        const ef_trace *list = list_of(trace, l);
        for (int i = 0; i < list->level_count; i++) {
            add_line(&out, trace, list->line);
            efi_csv_add_number(&out, list->level_h[i]);
            add_moment(&out, trace, list->level_h[i]);
            each_column(t, trace, list, &out, add_value,
                        t->values(list) + (size_t)i * (size_t)t->count(list));
            efi_csv_end(&out);
        }
    }
    return efi_report_give(&out, text);
}

static const char *bin_name(const ef_trace *trace, int bin)
{
    return trace->bins[bin].name;
}

static int bin_count(const ef_trace *trace)
{
    return trace->bin_count;
}

static const double *levels(const ef_trace *trace)
{
    return trace->level_t;
}

static const char *station_name(const ef_trace *trace, int station)
{
    return trace->stations[station].name;
}

static int station_count(const ef_trace *trace)
{
    return trace->station_count;
}

static const double *feeds(const ef_trace *trace)
{
    return trace->feed_tph;
}

ef_status ef_report_trace_levels_csv(const ef_trace *trace, char **text)
{
    const told bins = {bin_name, bin_count, levels, "t"};
    return give_moments(&bins, trace, text);
}

ef_status ef_report_trace_feeds_csv(const ef_trace *trace, char **text)
{
    const told stations = {station_name, station_count, feeds, "t/h"};
    return give_moments(&stations, trace, text);
}

ef_status ef_report_trace_stops_csv(const ef_trace *trace, char **text)
{
    efi_text out = {0};
    const char *moments = trace->on_calendar ? "from,to," : "";
    efi_text_addf(&out, "%sstation,machine,kind,name,%sfrom_h,to_h,goes_on\n",
                  trace->line_count > 0 ? "line," : "", moments);
    for (int i = 0; i < trace->stop_count; i++) {
        const ef_trace_stop *stop = &trace->stops[i];
        add_line(&out, trace, stop->line);
        add_station(&out, stop->station, stop->machine);
        efi_csv_text_next(&out, stop->kind);
        efi_csv_add_text(&out, stop->name);
        add_moment(&out, trace, stop->from_h);
        add_moment(&out, trace, stop->to_h);
        efi_csv_next(&out);
        efi_csv_number_next(&out, stop->from_h);
        efi_csv_number_next(&out, stop->to_h);
        efi_csv_add_text(&out, stop->is_open ? "yes" : "no");
        efi_csv_end(&out);
    }
    return efi_report_give(&out, text);
}
