/* SPDX-License-Identifier: GPL-3.0-or-later
 * A trace as CSV: its events, its stops, the levels of its bins. */
#include "base/date.h"
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
        efi_csv_add_text(&out, event->what);
        efi_csv_next(&out);
        if (event->cause)
            efi_csv_add_text(&out, event->cause);
        efi_csv_end(&out);
    }
    return efi_report_give(&out, text);
}

ef_status ef_report_trace_levels_csv(const ef_trace *trace, char **text)
{
    efi_text out = {0};
    efi_text_addf(&out, "at_h%s", trace->on_calendar ? ",at" : "");
    for (int b = 0; b < trace->bin_count; b++) {
        efi_text heading = {0};
        efi_text_addf(&heading, "%s [t]", trace->bins[b].name);
        efi_csv_next(&out);
        efi_csv_add_text(&out, efi_text_get(&heading));
        efi_text_free(&heading);
    }
    efi_csv_end(&out);
    for (int i = 0; i < trace->level_count; i++) {
        efi_csv_add_number(&out, trace->level_h[i]);
        add_moment(&out, trace, trace->level_h[i]);
        for (int b = 0; b < trace->bin_count; b++) {
            efi_csv_next(&out);
            efi_csv_add_number(&out, trace->level_t[(size_t)i * (size_t)trace->bin_count + (size_t)b]);
        }
        efi_csv_end(&out);
    }
    return efi_report_give(&out, text);
}

ef_status ef_report_trace_stops_csv(const ef_trace *trace, char **text)
{
    efi_text out = {0};
    const char *moments = trace->on_calendar ? "from,to," : "";
    efi_text_addf(&out, "station,machine,kind,name,%sfrom_h,to_h,goes_on\n", moments);
    for (int i = 0; i < trace->stop_count; i++) {
        const ef_trace_stop *stop = &trace->stops[i];
        add_station(&out, stop->station, stop->machine);
        efi_csv_add_text(&out, stop->kind);
        efi_csv_next(&out);
        efi_csv_add_text(&out, stop->name);
        add_moment(&out, trace, stop->from_h);
        add_moment(&out, trace, stop->to_h);
        efi_csv_next(&out);
        efi_csv_add_number(&out, stop->from_h);
        efi_csv_next(&out);
        efi_csv_add_number(&out, stop->to_h);
        efi_csv_next(&out);
        efi_csv_add_text(&out, stop->is_open ? "yes" : "no");
        efi_csv_end(&out);
    }
    return efi_report_give(&out, text);
}
