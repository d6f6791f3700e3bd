/* SPDX-License-Identifier: GPL-3.0-or-later
 * Scenarios of seasons at random, for tests: one to three lines, with and without stations that are cleaned
 * one after the other, calendars, rules, stores, lots in every state. */
#ifndef TESTS_RANDOM_SEASON_H
#define TESTS_RANDOM_SEASON_H

#include "base/random.h"

/*
 * The text of a scenario, the same for the same state of `random`; now and then a wrong one, of which reading
 * says EF_SCENARIO (two lots running on one line, say). The caller frees with free.
 */
char *random_season_text(efi_random *random);

#endif
