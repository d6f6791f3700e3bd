/* SPDX-License-Identifier: GPL-3.0-or-later
 * Traces of scenarios, for tests: whatever goes wrong here fails the running test. */
#ifndef TESTS_TRACES_H
#define TESTS_TRACES_H

#include "scenarios.h"

#include <evenfeed/trace.h>

/*
 * Runs a trace and passes it through its verifier, which must find nothing; what came in must be accounted
 * for. Freed with ef_trace_free.
 */
ef_trace *trace_of(const ef_scenario *scenario, ef_trace_settings settings);

/* The same by the default settings, over so many hours. */
ef_trace *trace_for(const ef_scenario *scenario, double hours);

/* Fails the running test, showing what differs, unless the verifier agrees with the trace. */
void trace_verify(const ef_scenario *scenario, const ef_trace *trace);

/* The station of this name, and its hours in a state; both must be there. */
const ef_trace_station *trace_station(const ef_trace *trace, const char *name);
double trace_state_h(const ef_trace *trace, const char *station, const char *state);

/* Hour of the n-th event of that sort, counted from 0; -1 when there are not so many. `station` NULL: of the
 * plant. */
double trace_event_h(const ef_trace *trace, const char *station, const char *what, int number);

#endif
