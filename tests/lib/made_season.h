/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season made up at random, for tests of what shows one: it obeys no rules but those of the struct. */
#ifndef MADE_SEASON_H
#define MADE_SEASON_H

#include <evenfeed/season.h>
#include <stdint.h>

/* So many lots on so many lines from 2026-09-01 on, each line filled one after another over some `days`;
 * every 7th lot is late, some lie in stores, some find no room. Free it with made_season_free. */
ef_season *made_season(int lots, int lines, int stores, int days, uint64_t seed);
void made_season_free(ef_season *season);

#endif
