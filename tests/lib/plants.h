/* SPDX-License-Identifier: GPL-3.0-or-later
 * Balances of scenarios, for tests: whatever goes wrong here fails the running test. */
#ifndef TESTS_PLANTS_H
#define TESTS_PLANTS_H

#include "scenarios.h"

#include <evenfeed/balance.h>

/*
 * Balances all crops, which must return `expected` (EF_OK, or EF_NO_ANSWER), and passes the answer through
 * ef_balance_verify, which must find nothing. Freed with ef_balance_free.
 */
ef_balance *plant_balance(const ef_scenario *scenario, ef_status expected);

/* The same with settings of one's own. */
ef_balance *plant_balance_as(const ef_scenario *scenario, const ef_balance_settings *settings,
                             ef_status expected);

/* Fails the running test, showing what differs, unless the verifier agrees with the answer. */
void plant_verify(const ef_scenario *scenario, const ef_balance *balance);

/* The part of an answer with this name; it must be there. */
const ef_balance_crop *plant_crop(const ef_balance *balance, const char *name);
const ef_balance_station *plant_station(const ef_balance_crop *crop, const char *name);
const ef_balance_outlet *plant_outlet(const ef_balance_crop *crop, const char *name);
const ef_balance_spout *plant_spout(const ef_balance_crop *crop, const char *from, const char *discharge);

/* Flow of one material in a stream, t/h; the material must be there. */
double plant_material(const ef_balance *balance, ef_stream stream, const char *material);

#endif
