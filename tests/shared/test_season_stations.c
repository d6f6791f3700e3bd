/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lines that are cleaned station by station: by hand, as moments of each part of each lot worked out by code
 * written apart, what a changeover may lose, and against all orders. */
#include "shared/season/season.h"
#include "../lib/season_case.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/* Two stations on line 0, around the clock, two lots. */
static void two_stations(bench *b, int teams)
{
    bench_start(b, 2, 1, 20, true);
    b->p.stations = b->stations;
    b->p.classes = 2;
    b->p.clean_class = b->clean_class;
    b->p.cleaned_before_arrival = true;
    b->clean_class[0 * 3 + 1] = 1;
    b->stations[0] = (efi_season_stations){.stations = 2,
                                           .teams = teams,
                                           .delay_s = b->delay_s[0],
                                           .work_s = b->station_work_s[0],
                                           .room_s = b->room_s[0],
                                           .clean_s = b->station_clean_s[0]};
}

/*
 * The first station needs 2 h for a lot, the second 6 h, with a bin for half a lot between; cleaning takes
 * 3 h and 1 h. The first lot: the second station runs 0-6 h. The first has passed half of it at 1 h, but the
 * bin then fills at a third of that speed: full when (x / 2) - (x / 6) = 1/2 lot, and so the first station is
 * done when the second has passed half: at 3 h. Cleaned 3-6 h, it starts lot 1 at 6 h; the second station is
 * cleaned 6-7 h and runs 7-13 h. The line has lost 1 h, less than the largest of the two: the bin hides the
 * 3 h. Without room the first station is done at 6 h, cleaned until 9 h: 3 h are lost. With one team for both
 * the second is cleaned 9-10 h: 4 h, the sum.
 */
static void a_bin_hides_cleaning(void **state)
{
    (void)state;
    bench b;
    efi_season_run run[MOST];
    two_stations(&b, 2);
    for (int l = 0; l < 2; l++) {
        b.station_work_s[0][2 * l] = 2 * HOUR;
        b.station_work_s[0][2 * l + 1] = 6 * HOUR;
        b.room_s[0][2 * l] = HOUR;
    }
    b.station_clean_s[0][2 + 0] = 3 * HOUR;
    b.station_clean_s[0][2 + 1] = HOUR;
    const int lots[] = {0, 1};
    (void)bench_evaluate(&b, lots, 2, run);
    assert_int_equal(run[0].fed_s, 3 * HOUR);
    assert_int_equal(run[0].end_s, 6 * HOUR);
    assert_int_equal(run[1].clean_from_s, 3 * HOUR);
    assert_int_equal(run[1].clean_to_s, 7 * HOUR);
    assert_int_equal(run[1].start_s, 6 * HOUR);
    assert_int_equal(run[1].station_start_s[1], 7 * HOUR);
    assert_int_equal(run[1].end_s, 13 * HOUR);
    b.room_s[0][0] = b.room_s[0][2] = 0;
    (void)bench_evaluate(&b, lots, 2, run);
    assert_int_equal(run[0].fed_s, 6 * HOUR);
    assert_int_equal(run[1].station_start_s[1], 9 * HOUR);
    b.stations[0].teams = 1;
    (void)bench_evaluate(&b, lots, 2, run);
    assert_int_equal(run[1].station_clean_s[1], 9 * HOUR);
    assert_int_equal(run[1].station_start_s[1], 10 * HOUR);
    bench_end(&b);
}

/* ---- with one station it is the line ---------------------------------------------------------------------
 */

static void one_station_is_the_line(void **state)
{
    (void)state;
    const uint64_t seed = 52;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (uint64_t i = 0; i < 200; i++) {
        efi_random random = efi_random_stream(seed, i, 0);
        static bench b;
        efi_season_run line[MOST];
        efi_season_run station[MOST];
        int lots[MOST];
        bench_random(&b, &random, MOST, 2);
        bench_add_stores(&b, &random);
        bench_add_overtime(&b);
        if (i % 2)
            bench_add_passes(&b, &random);
        for (int l = 0; l < MOST; l++)
            lots[l] = l;
        b.lot[0].fixed_line = 0;
        b.lot[0].fixed_start_s = 5 * DAY + bench_below(&random, 24) * HOUR;
        for (int k = 0; k < 2 * MOST; k++)
            b.work_s[k] = b.work_s[k] > 0 ? b.work_s[k] : HOUR;
        for (int k = 0; k < (MOST + 1) * (MOST + 1); k++)
            b.clean_s[k] = b.clean_s[k] < 0 ? -1 : b.clean_s[k] / (30 * MINUTE) * 30 * MINUTE;
        const efi_season_cost of_line = bench_evaluate(&b, lots, MOST / 2, line);
        bench_add_stations(&b, &random, 1);
        for (int k = 0; k < (MOST + 1) * (MOST + 1); k++)
            b.clean_class[k] = (uint16_t)(b.clean_s[k] < 0 ? 0 : b.clean_s[k] / (30 * MINUTE));
        for (int n = 0; n < 2; n++) {
            memcpy(b.station_work_s[n], b.work_s + n * MOST, MOST * sizeof b.work_s[0]);
            for (int k = 0; k < CLASSES; k++)
                b.station_clean_s[n][k] = 30 * MINUTE * k;
        }
        const efi_season_cost of_station = bench_evaluate(&b, lots, MOST / 2, station);
        assert_memory_equal(&of_line, &of_station, sizeof of_line);
        for (int l = 0; l < MOST; l++) {
            assert_int_equal(line[l].start_s, station[l].start_s);
            assert_int_equal(line[l].end_s, station[l].end_s);
            assert_int_equal(line[l].end_s, station[l].fed_s);
            assert_int_equal(line[l].overtime_s, station[l].overtime_s);
            assert_int_equal(line[l].restarts, station[l].restarts);
        }
        bench_end(&b);
    }
}

/* ---- part by part ---------------------------------------------------------------------------------------
 */

/* Moments, in working time, at which each station has passed 0, 1 .. PARTS parts of a lot. */
typedef struct parts {
    int64_t at[STATIONS][PARTS + 1];
} parts;

/* When the cleaning of each station ends: stations in the order in which they ask, each to the team that is
 * free first. */
static void clean_all(const efi_season_stations *s, const int64_t *clean_s, const int64_t *asked,
                      int64_t *team, int64_t *clean_until)
{
    bool done[STATIONS] = {false};
    for (int round = 0; round < s->stations; round++) {
        int next = 0;
        while (done[next])
            next++;
        for (int m = next + 1; m < s->stations; m++)
            if (!done[m] && asked[m] < asked[next])
                next = m;
        done[next] = true;
        clean_until[next] = asked[next];
        if (clean_s[next] == 0)
            continue;
        int first = 0;
        for (int i = 1; i < s->teams; i++)
            first = team[i] < team[first] ? i : first;
        team[first] = (team[first] > asked[next] ? team[first] : asked[next]) + clean_s[next];
        clean_until[next] = team[first];
    }
}

/* Raises the moments of a lot until every rule holds: the least that do. */
static void run_parts(const efi_season_stations *s, int lot, const int64_t *earliest, parts *p)
{
    const int n = s->stations;
    for (int m = 0; m < n; m++)
        for (int x = 0; x <= PARTS; x++)
            p->at[m][x] = earliest[m];
    for (bool changed = true; changed;) {
        changed = false;
        for (int m = 0; m < n; m++) {
            const int64_t part_s = s->work_s[lot * n + m] / PARTS;
            const int64_t room = m + 1 < n ? s->room_s[lot * n + m] / part_s : 0;
            for (int x = 0; x <= PARTS; x++) {
                int64_t least = x > 0 ? p->at[m][x - 1] + part_s : 0;
                if (m > 0 && p->at[m - 1][x] + s->delay_s[m] > least)
                    least = p->at[m - 1][x] + s->delay_s[m];
                if (m + 1 < n && x >= room && p->at[m + 1][x - room] - s->delay_s[m + 1] > least)
                    least = p->at[m + 1][x - room] - s->delay_s[m + 1];
                if (least > p->at[m][x]) {
                    p->at[m][x] = least;
                    changed = true;
                }
            }
        }
    }
}

/* The least moment by which `work` of working time have passed; as an end. */
static int64_t real_end(const bench *b, int line, int64_t work)
{
    int64_t end = 0;
    assert_true(efi_timetable_add_work(&b->time[line], 0, work, &end));
    return end;
}

/* Checks each lot of a line that is followed from the beginning. */
static void check_line(const bench *b, const efi_season_run *run, const int *lots, int count, int line)
{
    const efi_season_stations *s = &b->stations[line];
    int64_t end[STATIONS] = {0};
    int64_t team[STATIONS] = {0};
    int last = b->p.lots;
    for (int i = 0; i < count; i++) {
        const int lot = lots[i];
        const int pair = last * (b->p.lots + 1) + lot;
        const int64_t none[STATIONS] = {0};
        const int64_t *clean_s = b->clean_s[pair] < 0
                                     ? none
                                     : b->station_clean_s[line] + b->clean_class[pair] * s->stations;
        const int64_t arrives = efi_timetable_worked(&b->time[line], 0, b->lot[lot].arrives_s);
        int64_t asked[STATIONS] = {0};
        int64_t earliest[STATIONS] = {0};
        parts p;
        for (int m = 0; m < s->stations; m++)
            asked[m] = !b->p.cleaned_before_arrival && arrives > end[m] ? arrives : end[m];
        clean_all(s, clean_s, asked, team, earliest);
        earliest[0] = arrives > earliest[0] ? arrives : earliest[0];
        for (int m = 1; m < s->stations; m++) /* of start_m: not the moment at which it can go on */
            if (earliest[m - 1] + s->delay_s[m] > earliest[m])
                earliest[m] = earliest[m - 1] + s->delay_s[m];
        run_parts(s, lot, earliest, &p);
        for (int m = 0; m < s->stations; m++) {
            end[m] = p.at[m][PARTS];
            assert_int_equal(run[lot].station_end_s[m], real_end(b, line, end[m]));
        }
        assert_int_equal(run[lot].end_s, run[lot].station_end_s[s->stations - 1]);
        assert_int_equal(run[lot].fed_s, run[lot].station_end_s[0]);
        last = lot;
    }
}

static void lots_part_by_part(void **state)
{
    (void)state;
    const uint64_t seed = 1177;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (uint64_t i = 0; i < 150; i++) {
        efi_random random = efi_random_stream(seed, i, 0);
        static bench b;
        efi_season_run run[MOST];
        int lots[MOST];
        bench_random(&b, &random, 6, 2);
        bench_add_stations(&b, &random, STATIONS);
        b.p.restart_s = 0; /* which the parts know nothing of */
        for (int l = 0; l < 6; l++) {
            lots[l] = l;
            b.work_s[l] = b.work_s[6 + l] = HOUR;
            b.lot[l].arrives_s = b.lot[l].arrives_s / 4;
        }
        (void)bench_evaluate(&b, lots, 4, run);
        check_line(&b, run, lots, 4, 0);
        check_line(&b, run, lots + 4, 2, 1);
        bench_end(&b);
    }
}

/* ---- what a changeover loses ----------------------------------------------------------------------------
 */

/* What the slowest station of line 0 loses between two lots, standing or held up, with some rooms. */
static int64_t loss(bench *b, const int64_t *room_s, int slowest)
{
    efi_season_run run[MOST];
    const int n = b->stations[0].stations;
    memcpy(b->room_s[0], room_s, (size_t)(2 * n) * sizeof *room_s);
    (void)bench_evaluate(b, (const int[]){0, 1}, 2, run);
    return run[1].station_end_s[slowest] - run[0].station_end_s[slowest] - b->station_work_s[0][n + slowest];
}

/*
 * Two lots alike, no delays. At the slowest station a changeover loses no less than its own cleaning and no
 * more than the sum of all; with a team for each station no more than the largest. Without any room all
 * stations end together, so then at least the largest is lost, and with a single team the sum. With a team
 * for each, more room never loses more. (That it always lies between the largest and the sum does not hold:
 * see a_bin_hides_cleaning; counted here.)
 */
static void what_a_changeover_may_lose(void **state)
{
    (void)state;
    const uint64_t seed = 615;
    int under_largest = 0;
    int64_t lost_small = 0;
    int64_t lost_large = 0;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (uint64_t i = 0; i < 400; i++) {
        efi_random random = efi_random_stream(seed, i, 0);
        static bench b;
        int64_t room_s[3][2 * STATIONS] = {{0}};
        bench_start(&b, 2, 1, 60, true);
        bench_add_stations(&b, &random, STATIONS);
        b.p.cleaned_before_arrival = true;
        const int n = b.stations[0].stations;
        int slowest = 0;
        int64_t largest = 0;
        int64_t sum = 0;
        const int64_t *clean_s = b.station_clean_s[0] + b.clean_class[0 * 3 + 1] * n;
        for (int m = 0; m < n; m++) {
            b.delay_s[0][m] = 0;
            b.station_clean_s[0][b.clean_class[2 * 3 + 0] * n + m] *= b.clean_class[2 * 3] ==
                                                                      b.clean_class[1];
            b.station_work_s[0][n + m] = b.station_work_s[0][m];
            slowest = b.station_work_s[0][m] > b.station_work_s[0][slowest] ? m : slowest;
            largest = clean_s[m] > largest ? clean_s[m] : largest;
            sum += clean_s[m];
            room_s[1][m] = room_s[1][n + m] = b.room_s[0][m];
            room_s[2][m] = room_s[2][n + m] = 2 * b.room_s[0][m] + b.station_work_s[0][m] / PARTS;
        }
        if (b.clean_class[2 * 3] == b.clean_class[1]) { /* before the first lot nothing is cleaned */
            bench_end(&b);
            continue;
        }
        int64_t lost[3];
        for (int r = 0; r < 3; r++) {
            lost[r] = loss(&b, room_s[r], slowest);
            assert_true(lost[r] >= clean_s[slowest] && lost[r] <= sum);
            under_largest += lost[r] < largest;
        }
        assert_true(lost[0] >= largest);
        if (b.stations[0].teams == 1)
            assert_int_equal(lost[0], sum);
        b.stations[0].teams = n;
        for (int r = 0; r < 3; r++) {
            lost[r] = loss(&b, room_s[r], slowest);
            assert_true(lost[r] <= largest);
            assert_true(r == 0 || lost[r] <= lost[r - 1]);
        }
        assert_int_equal(lost[0], largest);
        lost_small += lost[0];
        lost_large += lost[2];
        bench_end(&b);
    }
    print_message("less than the largest is lost in %d cases\n", under_largest);
    assert_true(under_largest > 0 && lost_large < lost_small);
}

/* ---- search ---------------------------------------------------------------------------------------------
 */

static void stations_against_all_orders(void **state)
{
    (void)state;
    const uint64_t seed = 903;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (uint64_t i = 0; i < 24; i++) {
        efi_random random = efi_random_stream(seed, i, 0);
        static bench b;
        bench_random(&b, &random, 2 + (int)bench_below(&random, 4), 1 + (int)(i % 2));
        bench_add_stations(&b, &random, STATIONS);
        if (i % 4 >= 2)
            bench_add_stores(&b, &random);
        if (i % 3 == 0)
            bench_add_passes(&b, &random);
        if (i % 5 == 0)
            bench_add_overtime(&b);
        const int64_t least = bench_least(&b);
        efi_season_result result = bench_solve(&b, 1, 1, 12);
        assert_int_equal(result.cost.total + ((int64_t)result.cost.forbidden << 40), least);
        assert_true(result.bound.total <= least);
        efi_season_result_free(&result);
        bench_end(&b);
    }
}

static void stations_out_of_range(void **state)
{
    (void)state;
    bench b;
    efi_season_cost cost;
    int lots[] = {0, 1};
    const efi_season_order order = {.lot = lots, .first = {0, 2}};
    two_stations(&b, 1);
    assert_int_equal(efi_season_evaluate(&b.p, &order, NULL, &cost), EF_USAGE); /* no work */
    for (int i = 0; i < 4; i++)
        b.station_work_s[0][i] = HOUR;
    assert_int_equal(efi_season_evaluate(&b.p, &order, NULL, &cost), EF_OK);
    b.stations[0].teams = 0;
    assert_int_equal(efi_season_evaluate(&b.p, &order, NULL, &cost), EF_USAGE);
    b.stations[0].teams = 1;
    b.clean_class[1] = 2;
    assert_int_equal(efi_season_evaluate(&b.p, &order, NULL, &cost), EF_USAGE);
    b.clean_class[1] = 1;
    b.room_s[0][0] = -1;
    assert_int_equal(efi_season_evaluate(&b.p, &order, NULL, &cost), EF_USAGE);
    b.room_s[0][0] = 0;
    b.p.clean_class = NULL;
    assert_int_equal(efi_season_evaluate(&b.p, &order, NULL, &cost), EF_USAGE);
    bench_end(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_bin_hides_cleaning),        cmocka_unit_test(one_station_is_the_line),
        cmocka_unit_test(lots_part_by_part),           cmocka_unit_test(what_a_changeover_may_lose),
        cmocka_unit_test(stations_against_all_orders), cmocka_unit_test(stations_out_of_range),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
