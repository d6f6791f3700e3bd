/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season made by hand, for tests of what is printed: two lines, eight lots, every kind of trouble, names
 * that need quoting, escaping and folding. All of it is invented. */
#ifndef TESTS_SEASONS_H
#define TESTS_SEASONS_H

#include <evenfeed/season.h>

/* Valid for ever; copy the struct to change it. The season begins on Monday 2026-09-07 at 06:00 and lots run
 * from 06:00 to 22:00 on work days. */
const ef_season *seasons_by_hand(void);

/* The moment of a day (0: Monday 2026-09-07) and hour. */
int64_t seasons_moment(int day, double hour);

#endif
