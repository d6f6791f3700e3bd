/* SPDX-License-Identifier: GPL-3.0-or-later
 * Scenarios of seasons at random, for tests: one to three lines, with and without stations that are cleaned
 * one after the other, calendars, rules, stores, lots in every state. */
#ifndef TESTS_RANDOM_SEASON_H
#define TESTS_RANDOM_SEASON_H

#include "base/random.h"

#include <evenfeed/season.h>

enum {
    RANDOM_SEASON_SEED = 20261125
};

/*
 * The text of a scenario, the same for the same state of `random`; now and then a wrong one, of which reading
 * says EF_SCENARIO (two lots running on one line, say). The caller frees with free.
 */
char *random_season_text(efi_random *random);

/* Reads such a text; NULL of a wrong one. */
ef_scenario *random_season_read(const char *text);

/*
 * Plans it and passes the season through its verifier, which must find nothing; NULL where there is no plan.
 * The running test fails otherwise, showing the text of scenario `number` of the seed.
 */
ef_season *random_season_plan(const ef_scenario *scenario, const ef_season_settings *settings,
                              const char *text, int number);

#endif
