/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a trace of lists on several lines: what they make together. */
#include "shared/verify/trace_lots.h"

#include <string.h>

static bool same_word(const char *a, const char *b)
{
    return a && b ? strcmp(a, b) == 0 : a == b;
}

/* ---- sums -----------------------------------------------------------------------------------------------
 */

static void check_sums(const ef_trace *trace, efi_differences *list)
{
    int lots = 0;
    double balance_tph = 0.0;
    double intake_t = 0.0;
    double product_t = 0.0;
    for (int i = 0; i < trace->line_count; i++) {
        const ef_trace *line = &trace->lines[i];
        lots += line->lot_count;
        balance_tph += line->balance_tph;
        intake_t += line->intake_t;
        product_t += line->product_t;
        efi_differ_number(list, "the hours of a line", "h", line->hours, trace->hours, 0.0);
        for (int j = 0; j < i; j++)
            if (same_word(line->line, trace->lines[j].line))
                efi_differ(list, "line %s is there twice", line->line);
    }
    efi_differ_count(list, "the lots", trace->lot_count, lots);
    efi_differ_number(list, "the intake of the balance", "t/h", trace->balance_tph, balance_tph, 1e-9);
    efi_differ_number(list, "the tonnes taken in", "t", trace->intake_t, intake_t, 1e-9);
    efi_differ_number(list, "the tonnes of product", "t", trace->product_t, product_t, 1e-9);
}

/* So often a lot of the scenario is in a list. */
static int times_run(const ef_trace *trace, const char *name)
{
    int times = 0;
    for (int i = 0; i < trace->line_count; i++)
        for (int k = 0; k < trace->lines[i].lot_count; k++)
            times += strcmp(trace->lines[i].lots[k].name, name) == 0;
    return times;
}

static void check_lots(const ef_scenario *scenario, const ef_trace *trace, efi_differences *list)
{
    for (int l = 0; l < scenario->lot_count; l++)
        if (times_run(trace, scenario->lots[l].name) > 1)
            efi_differ(list, "lot %s is on several lines", scenario->lots[l].name);
}

/* ---- events and stops -----------------------------------------------------------------------------------
 */

static bool same_event(const ef_trace_event *a, const ef_trace_event *b)
{
    return !(a->at_h < b->at_h) && !(a->at_h > b->at_h) && a->machine == b->machine &&
           same_word(a->what, b->what) && same_word(a->station, b->station) && same_word(a->cause, b->cause);
}

/* The events of a line are among those of the plant, in their order. */
static void check_line_events(const ef_trace *trace, const ef_trace *line, efi_differences *list)
{
    int at = 0;
    int missing = 0;
    for (int e = 0; e < line->event_count; e++) {
        int next = at;
        while (next < trace->event_count &&
               !(same_event(&trace->events[next], &line->events[e]) &&
                 (!trace->events[next].line || same_word(trace->events[next].line, line->line))))
            next++;
        missing += next == trace->event_count;
        at = next < trace->event_count ? next + 1 : at;
    }
    if (missing > 0)
        efi_differ(list, "%d events of line %s are not among those of the plant", missing, line->line);
}

static void check_events(const ef_trace *trace, efi_differences *list)
{
    int whole = 0;
    int of_lines = 0;
    for (int e = 0; e < trace->event_count; e++) {
        whole += trace->events[e].line == NULL;
        if (e > 0 && trace->events[e].at_h < trace->events[e - 1].at_h)
            efi_differ(list, "event %d comes before the one before it", e + 1);
    }
    for (int i = 0; i < trace->line_count; i++) {
        of_lines += trace->lines[i].event_count;
        check_line_events(trace, &trace->lines[i], list);
    }
    if (!trace->events_cut) /* those of the plant as a whole every line has */
        efi_differ_count(list, "the events", trace->event_count + whole * (trace->line_count - 1), of_lines);
}

static void check_stops(const ef_trace *trace, efi_differences *list)
{
    int whole = 0;
    int of_lines = 0;
    for (int s = 0; s < trace->stop_count; s++) {
        whole += trace->stops[s].line == NULL;
        if (s > 0 && trace->stops[s].from_h < trace->stops[s - 1].from_h)
            efi_differ(list, "stop %d begins before the one before it", s + 1);
    }
    for (int i = 0; i < trace->line_count; i++)
        of_lines += trace->lines[i].stop_count;
    if (!trace->events_cut)
        efi_differ_count(list, "the stops", trace->stop_count + whole * (trace->line_count - 1), of_lines);
}

void efi_trace_check_lines(const ef_scenario *scenario, const ef_trace *trace, efi_differences *list)
{
    list->crop = "the plant";
    check_sums(trace, list);
    check_lots(scenario, trace, list);
    check_events(trace, list);
    check_stops(trace, list);
}
