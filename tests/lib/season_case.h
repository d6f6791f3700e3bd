/* SPDX-License-Identifier: GPL-3.0-or-later
 * Small seasons for tests: a problem with room for its arrays, drawn at random or filled by hand. */
#ifndef EFT_SEASON_CASE_H
#define EFT_SEASON_CASE_H

#include "base/random.h"
#include "shared/season/season.h"

enum {
    MOST = 12,
    STATIONS = 4,
    CLASSES = 5,
    PARTS = 12, /* of a lot: what lies in the rooms are whole parts */
    MINUTE = 60,
    HOUR = 3600,
    DAY = 86400
};

typedef struct bench {
    efi_season_problem p;
    efi_season_lot lot[MOST];
    int64_t work_s[2 * MOST];
    int64_t clean_s[(MOST + 1) * (MOST + 1)];
    int64_t clean_price[(MOST + 1) * (MOST + 1)];
    uint16_t clean_class[(MOST + 1) * (MOST + 1)];
    efi_season_store raw[4];
    efi_season_store finished[4];
    efi_calendar calendar;
    efi_shift shift[2];
    efi_timetable time[2];
    const efi_timetable *times[2];
    efi_season_stations stations[2];
    int64_t delay_s[2][STATIONS];
    int64_t station_work_s[2][MOST * STATIONS];
    int64_t room_s[2][MOST * STATIONS];
    int64_t station_clean_s[2][CLASSES * STATIONS];
} bench;

/* `days` days of work from 06:00 to 14:00, every day of the week, from hour 0 on; `open`: around the clock.
 */
void bench_start(bench *b, int lots, int lines, int days, bool open);
void bench_end(bench *b);

/* Is work going on? */
bool bench_works(const bench *b, int64_t second);

int64_t bench_below(efi_random *random, int count);

/* What an order costs: those of line 0 are the first `first_line`. */
efi_season_cost bench_evaluate(const bench *b, const int *lots, int first_line, efi_season_run *run);

/* A season drawn at random: shifts, arrivals, due dates, latest starts, changeovers, some forbidden. */
void bench_random(bench *b, efi_random *random, int lots, int lines);
void bench_add_stores(bench *b, efi_random *random);

/* Some hours of the shifts become overtime, at a price that makes whole seconds whole. */
void bench_add_overtime(bench *b);

/* Some lots wait for others. */
void bench_add_passes(bench *b, efi_random *random);

/* Up to STATIONS stations on each line; works and rooms are such that all parts are whole seconds. */
void bench_add_stations(bench *b, efi_random *random, int most);

/* Total and forbidden of the best of all orders, as total + forbidden * 2^40. */
int64_t bench_least(const bench *b);

/* The least of each term of the cost, over the orders in which nothing is forbidden; false: there is none. */
bool bench_least_terms(const bench *b, efi_season_cost *least);

efi_season_result bench_solve(const bench *b, uint64_t seed, int threads, int rounds);

#endif
