/* SPDX-License-Identifier: GPL-3.0-or-later
 * Shifts of scenarios, for tests: whatever goes wrong here fails the running test. */
#ifndef TESTS_SHIFTS_H
#define TESTS_SHIFTS_H

#include "scenarios.h"

#include <evenfeed/shift.h>

/* Runs shifts and passes them through their verifier, which must find nothing. Freed with ef_shift_free. */
ef_shift *shift_of(const ef_scenario *scenario, ef_shift_settings settings);

/* The same by the default settings, so many runs. */
ef_shift *shift_for(const ef_scenario *scenario, int runs);

/* Fails the running test, showing what differs, unless the verifier agrees with the shift. */
void shift_verify(const ef_scenario *scenario, const ef_shift *shift);

/* The part of an answer with this name; it must be there. A remedy without `stop` (NULL) is that of a bin. */
const ef_shift_station *shift_station(const ef_shift *shift, const char *name);
const ef_shift_group *shift_group(const ef_shift *shift, const char *name);
const ef_shift_remedy *shift_remedy(const ef_shift *shift, const char *station, const char *stop);

/* 10 t/h for 8 h, with 30 min of stop after every 90 min by the clock: 6 h of running, 60 t. */
extern const char shifts_timed[];

#endif
