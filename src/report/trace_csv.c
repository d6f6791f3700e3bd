/* SPDX-License-Identifier: GPL-3.0-or-later
 * A trace as CSV: its events, its stops, the levels of its bins. */
#include "base/date.h"
#include "base/memory.h"
#include "report/csv_text.h"
#include "report/report.h"

#include <evenfeed/trace.h>
#include <math.h>

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
    efi_text_addf(&out, "at_h,%sstation,machine,what,cause\n", trace->on_calendar ? "at," : "");
    for (int e = 0; e < trace->event_count; e++) {
        const ef_trace_event *event = &trace->events[e];
        add_when(&out, trace, event->at_h);
        add_station(&out, event->station, event->machine);
        efi_csv_text_next(&out, event->what);
        if (event->cause)
            efi_csv_add_text(&out, event->cause);
        efi_csv_end(&out);
    }
    return efi_report_give(&out, text);
}

/* One row a moment, one column each name: the values, shape [moment][count]. */
static ef_status give_moments(const ef_trace *trace, const char *const *names, const char *unit,
                              const double *values, int count, char **text)
{
    efi_text out = {0};
    efi_text_addf(&out, "at_h%s", trace->on_calendar ? ",at" : "");
    for (int k = 0; k < count; k++) {
        efi_text heading = {0};
        efi_text_addf(&heading, "%s [%s]", names[k], unit);
        efi_csv_next(&out);
        out.failed = out.failed || heading.failed;
        efi_csv_add_text(&out, efi_text_get(&heading));
        efi_text_free(&heading);
    }
    efi_csv_end(&out);
    for (int i = 0; i < trace->level_count; i++) {
        efi_csv_add_number(&out, trace->level_h[i]);
        add_moment(&out, trace, trace->level_h[i]);
        for (int k = 0; k < count; k++) {
            efi_csv_next(&out);
            efi_csv_add_number(&out, values[(size_t)i * (size_t)count + (size_t)k]);
        }
        efi_csv_end(&out);
    }
    return efi_report_give(&out, text);
}

ef_status ef_report_trace_levels_csv(const ef_trace *trace, char **text)
{
    const char **names = efi_new((size_t)trace->bin_count, sizeof *names);
    if (!names)
        return EF_MEMORY;
    for (int b = 0; b < trace->bin_count; b++)
        names[b] = trace->bins[b].name;
    const ef_status status = give_moments(trace, names, "t", trace->level_t, trace->bin_count, text);
    efi_free(names);
    return status;
}

ef_status ef_report_trace_feeds_csv(const ef_trace *trace, char **text)
{
    const char **names = efi_new((size_t)trace->station_count, sizeof *names);
    if (!names)
        return EF_MEMORY;
    for (int s = 0; s < trace->station_count; s++)
        names[s] = trace->stations[s].name;
    const ef_status status = give_moments(trace, names, "t/h", trace->feed_tph, trace->station_count, text);
    efi_free(names);
    return status;
}

ef_status ef_report_trace_stops_csv(const ef_trace *trace, char **text)
{
    efi_text out = {0};
    const char *moments = trace->on_calendar ? "from,to," : "";
    efi_text_addf(&out, "station,machine,kind,name,%sfrom_h,to_h,goes_on\n", moments);
    for (int i = 0; i < trace->stop_count; i++) {
        const ef_trace_stop *stop = &trace->stops[i];
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
