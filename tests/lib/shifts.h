/* SPDX-License-Identifier: GPL-3.0-or-later
 * Shifts of scenarios, for tests: whatever goes wrong here fails the running test. */
#ifndef TESTS_SHIFTS_H
#define TESTS_SHIFTS_H

#include "scenarios.h"

#include <evenfeed/shift.h>

/* Runs shifts and passes them through their verifier, which must find nothing. Freed with ef_shift_free. */
ef_shift *shift_of(const ef_scenario *scenario, ef_shift_settings settings);

/* Fails the running test, showing what differs, unless the verifier agrees with the shift. */
void shift_verify(const ef_scenario *scenario, const ef_shift *shift);

/* The part of an answer with this name; it must be there. A remedy without `stop` (NULL) is that of a bin. */
const ef_shift_station *shift_station(const ef_shift *shift, const char *name);
const ef_shift_group *shift_group(const ef_shift *shift, const char *name);
const ef_shift_remedy *shift_remedy(const ef_shift *shift, const char *station, const char *stop);

#endif
