/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "traces.h"

#include "near.h"

#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

void trace_verify(const ef_scenario *scenario, const ef_trace *trace)
{
    char *differences = NULL;
    const ef_status status = ef_trace_verify(scenario, trace, &differences);
    if (status != EF_OK)
        (void)fprintf(stderr, "the verifier found:\n%s", differences ? differences : "nothing to compare");
    ef_report_free(differences);
    assert_int_equal(status, EF_OK);
}

ef_trace *trace_of(const ef_scenario *scenario, ef_trace_settings settings)
{
    ef_trace *trace = NULL;
    char *reason = NULL;
    const ef_status status = ef_trace_run(scenario, &settings, &trace, &reason);
    if (status != EF_OK)
        (void)fprintf(stderr, "status %d: %s\n", (int)status, reason ? reason : "");
    ef_report_free(reason);
    assert_int_equal(status, EF_OK);
    trace_verify(scenario, trace);
    assert_near_absolute(trace->imbalance_t, 0.0, 1e-9 * (1.0 + trace->intake_t));
    return trace;
}

ef_trace *trace_for(const ef_scenario *scenario, double hours)
{
    ef_trace_settings settings = ef_trace_defaults(scenario);
    settings.hours = hours;
    return trace_of(scenario, settings);
}

const ef_trace_station *trace_station(const ef_trace *trace, const char *name)
{
    for (int s = 0; s < trace->station_count; s++)
        if (strcmp(trace->stations[s].name, name) == 0)
            return &trace->stations[s];
    fail_msg("no station %s", name);
    return &trace->stations[0];
}

double trace_state_h(const ef_trace *trace, const char *station, const char *state)
{
    for (int i = 0; i < trace->state_count; i++)
        if (strcmp(trace->states[i], state) == 0)
            return trace_station(trace, station)->state_h[i];
    fail_msg("no state %s", state);
    return 0.0;
}

double trace_event_h(const ef_trace *trace, const char *station, const char *what, int number)
{
    for (int e = 0; e < trace->event_count; e++) {
        const ef_trace_event *event = &trace->events[e];
        const bool same = station && event->station ? strcmp(event->station, station) == 0
                                                    : station == event->station;
        if (same && strcmp(event->what, what) == 0 && number-- == 0)
            return event->at_h;
    }
    return -1.0;
}
