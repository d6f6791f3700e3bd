/* SPDX-License-Identifier: GPL-3.0-or-later
 * The calendar's intervals against a slow reference of our own making here, which walks minute by minute and
 * knows nothing of intervals, bisection or base/date.h: weekdays and dates come from the C library's
 * gmtime_r. Hand cases around midnight, holidays, leap day and year end. */
#include "base/memory.h"
#include "base/random.h"
#include "model/scenario.h"
#include "shared/calendar/calendar.h"

#include "../lib/files.h"
#include "../lib/scenarios.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

enum {
    SEED = 20261125,
    CALENDARS = 400,
    MOST = 4,
    MINUTE_S = 60,
    DAY_MINUTES = 1440
};

/* ---- the reference --------------------------------------------------------------------------------------
 */

static int weekday_by_library(int64_t day)
{
    const time_t moment = (time_t)(day * 86400);
    struct tm tm;
    assert_non_null(gmtime_r(&moment, &tm));
    return (tm.tm_wday + 6) % 7;
}

/* Does a time of the day, begun on some day for which `begins` holds, last at this minute? */
typedef bool begins_fn(const efi_calendar *c, const void *item, int64_t day);

static bool lasts(const efi_calendar *c, const void *item, begins_fn *begins, efi_when from, efi_when to,
                  int64_t minute, int64_t *begun)
{
    const int64_t first = from.value / MINUTE_S;
    int64_t length = to.value / MINUTE_S - first;
    if (length <= 0)
        length += DAY_MINUTES;
    /* walk back over every minute at which it might have begun */
    for (int64_t back = 0; back < length; back++) {
        const int64_t start = minute - back;
        const int64_t day = (start - (((start % DAY_MINUTES) + DAY_MINUTES) % DAY_MINUTES)) / DAY_MINUTES;
        if (start - day * DAY_MINUTES == first && begins(c, item, day)) {
            *begun = day;
            return true;
        }
        /* straight to the only minute of that day which counts */
        const int64_t to_first = start - day * DAY_MINUTES - first;
        if (to_first > 0)
            back += to_first - 1;
        else
            back += start - day * DAY_MINUTES;
    }
    return false;
}

static bool shift_begins(const efi_calendar *c, const void *item, int64_t day)
{
    const efi_shift *shift = item;
    for (int i = 0; i < c->holiday_count; i++)
        for (int64_t free = c->holidays[i].date.value; free <= c->holidays[i].last.value; free++)
            if (free == day)
                return false;
    return shift->days.value >> weekday_by_library(day) & 1;
}

static bool overtime_begins(const efi_calendar *c, const void *item, int64_t day)
{
    (void)c;
    const efi_overtime *one = item;
    return day >= one->date.value && day <= one->last.value &&
           (one->days.value >> weekday_by_library(day) & 1);
}

static bool break_begins(const efi_calendar *c, const void *item, int64_t day)
{
    (void)c;
    return ((const efi_break *)item)->days.value >> weekday_by_library(day) & 1;
}

/* Counts the weeks from the first one by stepping through them. */
static bool maintenance_begins(const efi_calendar *c, const void *item, int64_t day)
{
    (void)c;
    const efi_maintenance *one = item;
    if (day < one->first.value || !(one->days.value >> weekday_by_library(day) & 1))
        return false;
    int week = 0;
    for (int64_t d = one->first.value + 1; d <= day; d++)
        if (weekday_by_library(d) == 0)
            week++;
    return week % one->weeks == 0;
}

static bool for_station(const efi_maintenance *one, int station)
{
    bool concerned = one->stations.count == 0;
    for (int i = 0; i < one->stations.count; i++)
        concerned = concerned || one->stations.items[i] == station;
    return concerned;
}

static efi_calendar_state state_by_reference(const efi_calendar *c, int station, int64_t minute,
                                             int64_t *begun)
{
    efi_calendar_state state = EFI_TIME_CLOSED;
    int64_t ignored;
    *begun = c->start.value;
    for (int i = 0; i < c->overtime_count; i++) {
        int64_t day;
        if (!lasts(c, &c->overtimes[i], overtime_begins, c->overtimes[i].from, c->overtimes[i].to, minute,
                   &day) ||
            (state == EFI_TIME_OVERTIME && day >= *begun))
            continue;
        state = EFI_TIME_OVERTIME;
        *begun = day;
    }
    for (int i = c->shift_count - 1; i >= 0; i--)
        if (lasts(c, &c->shifts[i], shift_begins, c->shifts[i].from, c->shifts[i].to, minute, begun))
            state = EFI_TIME_SHIFT;
    if (state == EFI_TIME_CLOSED)
        return state;
    for (int i = 0; i < c->break_count; i++)
        if (!c->breaks[i].staggered &&
            lasts(c, &c->breaks[i], break_begins, c->breaks[i].from, c->breaks[i].to, minute, &ignored))
            state = EFI_TIME_BREAK;
    for (int i = 0; i < c->maintenance_count; i++) {
        const efi_maintenance *one = &c->maintenances[i];
        if (!for_station(one, station))
            continue;
        if (one->days.given ? lasts(c, one, maintenance_begins, one->from, one->to, minute, &ignored)
                            : one->begin.value <= minute * MINUTE_S && minute * MINUTE_S < one->end.value)
            state = EFI_TIME_MAINTENANCE;
    }
    return state;
}

/* ---- random calendars -----------------------------------------------------------------------------------
 */

typedef struct random_calendar {
    efi_calendar calendar;
    efi_shift shifts[MOST];
    efi_break breaks[MOST];
    efi_holiday holidays[MOST];
    efi_overtime overtimes[MOST];
    efi_maintenance maintenances[MOST];
    int station;
} random_calendar;

static efi_when when(int64_t value)
{
    return (efi_when){.value = value, .given = true};
}

static int64_t below(efi_random *random, int64_t count)
{
    return efi_random_below(random, (uint32_t)count);
}

static efi_when random_days(efi_random *random)
{
    return when(1 + below(random, 127));
}

static void random_clocks(efi_random *random, efi_when *from, efi_when *to)
{
    *from = when(below(random, DAY_MINUTES) * MINUTE_S);
    const int64_t length = 1 + below(random, below(random, 3) ? 480 : DAY_MINUTES - 1);
    *to = when((from->value + length * MINUTE_S) % EFI_DAY_S);
}

/* Shifts and overtime whose shifts do not overlap: each gets its own part of the day. */
static void random_fill(random_calendar *r, efi_random *random)
{
    memset(r, 0, sizeof *r);
    efi_calendar *c = &r->calendar;
    *c = (efi_calendar){.start = when(20000 + below(random, 2000)),
                        .shifts = r->shifts,
                        .breaks = r->breaks,
                        .holidays = r->holidays,
                        .overtimes = r->overtimes,
                        .maintenances = r->maintenances};
    c->shift_count = (int)below(random, MOST);
    for (int i = 0; i < c->shift_count; i++) {
        const int64_t part = DAY_MINUTES / c->shift_count;
        const int64_t turn = below(random, DAY_MINUTES);
        const int64_t from = i == 0 ? turn : r->shifts[0].from.value / MINUTE_S + i * part;
        r->shifts[i].days = random_days(random);
        r->shifts[i].from = when(from % DAY_MINUTES * MINUTE_S);
        r->shifts[i].to = when((from + 1 + below(random, part - 1)) % DAY_MINUTES * MINUTE_S);
    }
    c->break_count = (int)below(random, MOST);
    for (int i = 0; i < c->break_count; i++) {
        r->breaks[i].days = random_days(random);
        r->breaks[i].staggered = below(random, 3) == 0;
        random_clocks(random, &r->breaks[i].from, &r->breaks[i].to);
    }
    c->holiday_count = (int)below(random, MOST);
    for (int i = 0; i < c->holiday_count; i++) {
        r->holidays[i].date = when(c->start.value + below(random, 21));
        r->holidays[i].last = when(r->holidays[i].date.value + below(random, 3));
    }
    c->overtime_count = (int)below(random, MOST);
    for (int i = 0; i < c->overtime_count; i++) {
        r->overtimes[i].date = when(c->start.value + below(random, 21));
        r->overtimes[i].last = when(r->overtimes[i].date.value + below(random, 9));
        r->overtimes[i].days = random_days(random);
        random_clocks(random, &r->overtimes[i].from, &r->overtimes[i].to);
    }
    c->maintenance_count = (int)below(random, MOST);
    for (int i = 0; i < c->maintenance_count; i++) {
        efi_maintenance *one = &r->maintenances[i];
        one->weeks = 1 + (int)below(random, 3);
        one->first = when(c->start.value - 10 + below(random, 20));
        if (below(random, 2)) {
            one->days = random_days(random);
            random_clocks(random, &one->from, &one->to);
        } else {
            one->begin = when((c->start.value * DAY_MINUTES + below(random, 20 * DAY_MINUTES)) * MINUTE_S);
            one->end = when(one->begin.value + (1 + below(random, 3 * DAY_MINUTES)) * MINUTE_S);
        }
        if (below(random, 2))
            one->stations = (efi_station_list){.items = &r->station, .count = 1};
    }
    r->station = 3;
}

/* Compares every minute of 24 days, then the questions about them at random moments. */
static void compare(const random_calendar *r, int station, uint64_t number, efi_random *random)
{
    enum {
        DAYS = 24,
        BEFORE = 2,
        MINUTES = DAYS * DAY_MINUTES
    };
    static int64_t worked[MINUTES + 1];
    static bool works[MINUTES];
    const efi_calendar *c = &r->calendar;
    const int64_t origin = -BEFORE * (int64_t)EFI_DAY_S;
    efi_timetable t;
    assert_int_equal(efi_timetable_build(&t, c, station, origin, origin + MINUTES * MINUTE_S), EF_OK);
    assert_int_equal(t.items[0].from_s, origin);
    assert_int_equal(t.items[t.count - 1].to_s, origin + MINUTES * MINUTE_S);
    int at = 0;
    worked[0] = 0;
    for (int m = 0; m < MINUTES; m++) {
        const int64_t second = origin + (int64_t)m * MINUTE_S;
        int64_t begun;
        const efi_calendar_state state = state_by_reference(
            c, station, c->start.value * DAY_MINUTES + second / MINUTE_S, &begun);
        if (second == t.items[at].to_s) {
            assert_int_equal(t.items[at + 1].from_s, second);
            at++;
        }
        const efi_time_interval *one = &t.items[at];
        if (one->state != state || one->day != begun - c->start.value ||
            (state != EFI_TIME_CLOSED) != (one->shift >= 0 || one->overtime >= 0))
            fail_msg("seed %d, calendar %d, station %d, minute %d: state %d day %d, reference %d day %d",
                     SEED, (int)number, station, m, (int)one->state, (int)one->day, (int)state,
                     (int)(begun - c->start.value));
        works[m] = state == EFI_TIME_SHIFT || state == EFI_TIME_OVERTIME;
        worked[m + 1] = worked[m] + (works[m] ? MINUTE_S : 0);
    }
    assert_int_equal(at, t.count - 1);
    for (int i = 0; i < 40; i++) {
        const int a = (int)below(random, MINUTES);
        const int b = a + (int)below(random, MINUTES - a + 1);
        const int64_t from = origin + (int64_t)a * MINUTE_S;
        const int64_t to = origin + (int64_t)b * MINUTE_S;
        int64_t totals[EFI_TIME_STATES];
        assert_int_equal(efi_timetable_worked(&t, from, to), worked[b] - worked[a]);
        efi_timetable_totals(&t, from, to, totals);
        assert_int_equal(totals[EFI_TIME_SHIFT] + totals[EFI_TIME_OVERTIME], worked[b] - worked[a]);
        assert_int_equal(totals[0] + totals[1] + totals[2] + totals[3] + totals[4], to - from);
        int next = a;
        while (next < MINUTES && !works[next])
            next++;
        int64_t found = -77;
        assert_int_equal(efi_timetable_next_work(&t, from, &found), next < MINUTES);
        assert_int_equal(found, next < MINUTES ? origin + (int64_t)next * MINUTE_S : -77);
        const int64_t work = below(random, 3000) * MINUTE_S;
        int end = a;
        while (end < MINUTES && worked[end] - worked[a] < work)
            end++;
        const bool reached = worked[end] - worked[a] >= work;
        found = -77;
        assert_int_equal(efi_timetable_add_work(&t, from, work, &found), reached);
        assert_int_equal(found, reached ? origin + (int64_t)end * MINUTE_S : -77);
        int restarts = 0;
        for (int m = a + 1; m < b; m++)
            restarts += works[m] && !works[m - 1];
        assert_int_equal(efi_timetable_restarts(&t, from, to), restarts);
    }
    efi_timetable_free(&t);
}

static void random_calendars_agree_with_a_walk_by_minutes(void **state)
{
    (void)state;
    static random_calendar r;
    for (uint64_t number = 0; number < CALENDARS; number++) {
        efi_random random = efi_random_stream(SEED, number, 0);
        random_fill(&r, &random);
        compare(&r, number % 2 ? EFI_WHOLE_PLANT : 3, number, &random);
    }
}

/* ---- by hand --------------------------------------------------------------------------------------------
 */

#define PLANT                                                                                                \
    "evenfeed: 1\nplant: {name: Test, people: 4}\nmaterials: {seed: {wanted: yes}}\n"                        \
    "crops: {wheat: {receipt: {seed: 100 %}}}\nstations:\n  Pit: {kind: intake, capacity: 40 t/h, to: "      \
    "Shed}\n  Shed: {kind: outlet, product: yes}\n"

/* The intervals of `days` days from the start, as "day.hour state" lines: "0 06:00 shift". */
static void assert_intervals(const char *calendar, int station, int from_day, int days, const char *expected)
{
    static const char *const words[] = {"closed", "shift", "overtime", "break", "maintenance"};
    efi_text text = {0};
    efi_text_addf(&text, "%s%s", PLANT, calendar);
    ef_scenario *scenario = plant_read(efi_text_get(&text));
    efi_text_free(&text);
    efi_timetable t;
    assert_int_equal(efi_timetable_build(&t, scenario->calendar, station, from_day * (int64_t)EFI_DAY_S,
                                         (from_day + days) * (int64_t)EFI_DAY_S),
                     EF_OK);
    for (int i = 0; i < t.count; i++) {
        efi_text_addf(&text, "%s%s ", i ? "; " : "",
                      efi_weekday_short(efi_day_weekday(
                          efi_moment_day(efi_calendar_moment(scenario->calendar, t.items[i].from_s)))));
        efi_clock_add(&text, efi_moment_clock(t.items[i].from_s));
        efi_text_addf(&text, " %s", words[t.items[i].state]);
        if (t.items[i].state != EFI_TIME_CLOSED)
            assert_true(t.items[i].has_people && t.items[i].people > 0.0);
    }
    assert_string_equal(efi_text_get(&text), expected);
    efi_text_free(&text);
    efi_timetable_free(&t);
    ef_scenario_free(scenario);
}

static void without_a_calendar_one_shift_runs_on_working_days(void **state)
{
    (void)state;
    assert_intervals(
        "", EFI_WHOLE_PLANT, 4, 4,
        "fri 00:00 closed; fri 06:00 shift; fri 14:00 closed; mon 06:00 shift; mon 14:00 closed");
}

static void a_friday_night_shift_ends_on_saturday(void **state)
{
    (void)state;
    assert_intervals(
        "calendar:\n  start: 2026-08-31\n  shifts: {night: {days: fri, from: 22:00, to: 06:00}}\n"
        "  breaks: {tea: {days: sat, from: 02:00, to: 02:15}}\n",
        EFI_WHOLE_PLANT, 4, 3,
        "fri 00:00 closed; fri 22:00 shift; sat 02:00 break; sat 02:15 shift; sat 06:00 closed");
}

static void a_shift_that_began_before_a_holiday_runs_to_its_end(void **state)
{
    (void)state;
    assert_intervals(
        "calendar:\n  start: 2026-08-31\n  shifts: {night: {days: daily, from: 22:00, to: 06:00}}\n"
        "  holidays: {Founders: {date: 2026-09-02}}\n",
        EFI_WHOLE_PLANT, 1, 3,
        "tue 00:00 shift; tue 06:00 closed; tue 22:00 shift; wed 06:00 closed; thu 22:00 shift");
}

static void leap_day_and_year_end_are_days_like_others(void **state)
{
    (void)state;
    /* 2028-02-28 is a Monday (date -d, GNU coreutils), the 29th exists */
    assert_intervals(
        "calendar:\n  start: 2028-02-28\n  shifts: {day: {days: tue-wed, from: 00:00, to: 24:00}}\n",
        EFI_WHOLE_PLANT, 0, 4, "mon 00:00 closed; tue 00:00 shift; wed 00:00 shift; thu 00:00 closed");
    /* 2026-12-31 is the Thursday of ISO week 53 */
    assert_intervals("calendar:\n  start: 2026-12-28\n  shifts: {late: {days: thu, from: 20:00, to: 04:00}}\n"
                     "  holidays: {New Year: {date: 2027-01-01}}\n",
                     EFI_WHOLE_PLANT, 3, 2, "thu 00:00 closed; thu 20:00 shift; fri 04:00 closed");
}

static void maintenance_each_second_week_counts_from_its_first(void **state)
{
    (void)state;
    assert_intervals(
        "calendar:\n  start: 2026-12-21\n  shifts: {day: {days: wed, from: 06:00, to: 14:00}}\n"
        "  maintenance: {Belts: {days: wed, from: 12:00, to: 16:00, weeks: 2, first: 2026-12-25}}\n",
        EFI_WHOLE_PLANT, 2, 22,
        "wed 00:00 closed; wed 06:00 shift; wed 14:00 closed; wed 06:00 shift; wed 14:00 closed; "
        "wed 06:00 shift; wed 12:00 maintenance; wed 14:00 closed; wed 06:00 shift; wed 14:00 closed");
}

static void maintenance_of_a_station_leaves_the_others_running(void **state)
{
    (void)state;
    const char *calendar =
        "calendar:\n  start: 2026-08-31\n"
        "  maintenance: {Pit: {begin: 2026-08-31T08:00, end: 2026-08-31T09:00, stations: [Pit]}}\n";
    assert_intervals(
        calendar, 0, 0, 1,
        "mon 00:00 closed; mon 06:00 shift; mon 08:00 maintenance; mon 09:00 shift; mon 14:00 closed");
    assert_intervals(calendar, 1, 0, 1, "mon 00:00 closed; mon 06:00 shift; mon 14:00 closed");
}

/* 75 shifts of eight hours are 600 h (references: a state network's season of 66,000 t on 110 t/h). */
static void six_hundred_hours_are_fifteen_weeks_of_one_shift(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(PLANT "calendar:\n  start: 2026-08-31\n");
    efi_timetable t;
    int64_t end = 0;
    int64_t totals[EFI_TIME_STATES];
    assert_int_equal(
        efi_timetable_build(&t, scenario->calendar, EFI_WHOLE_PLANT, 0, 105 * (int64_t)EFI_DAY_S), EF_OK);
    assert_true(efi_timetable_add_work(&t, 0, efi_seconds_of(66000.0 / 110.0), &end));
    assert_int_equal(end, (14 * 7 + 4) * EFI_DAY_S + 14 * EFI_HOUR_S);
    assert_false(efi_timetable_add_work(&t, 0, efi_seconds_of(600.0) + 1, &end));
    efi_timetable_totals(&t, 7 * EFI_DAY_S, 14 * EFI_DAY_S, totals);
    assert_int_equal(totals[EFI_TIME_SHIFT], 40 * EFI_HOUR_S);
    assert_int_equal(totals[EFI_TIME_CLOSED], 128 * EFI_HOUR_S);
    assert_int_equal(efi_timetable_restarts(&t, 6 * EFI_HOUR_S, end), 74);
    efi_timetable_free(&t);
    ef_scenario_free(scenario);
}

/* The hours that docs/calendar.md gives for its own example, in its first week and in the one after. */
static void the_page_tells_the_hours_of_its_example(void **state)
{
    (void)state;
    char *page = file_read("docs/calendar.md", NULL);
    assert_non_null(strstr(page, "76 h 15 min a week"));
    char *from = strstr(page, "evenfeed: 1\n");
    assert_non_null(from);
    *strstr(from, "```") = '\0';
    ef_scenario *scenario = plant_read(from);
    efi_timetable plant;
    efi_timetable cleaner;
    const int64_t week_s = 7 * (int64_t)EFI_DAY_S;
    assert_int_equal(efi_timetable_build(&plant, scenario->calendar, EFI_WHOLE_PLANT, 0, 3 * week_s), EF_OK);
    assert_int_equal(efi_timetable_build(&cleaner, scenario->calendar, 1, 0, 3 * week_s), EF_OK);
    assert_true(efi_hours_of(efi_timetable_worked(&plant, 0, week_s)) == 76.25);
    assert_true(efi_hours_of(efi_timetable_worked(&plant, week_s, 2 * week_s)) == 76.25);
    assert_true(efi_hours_of(efi_timetable_worked(&cleaner, 0, week_s)) == 74.75);
    assert_true(efi_hours_of(efi_timetable_worked(&cleaner, week_s, 2 * week_s)) == 76.25);
    /* Harvest Monday takes both its shifts */
    assert_true(efi_hours_of(efi_timetable_worked(&plant, 2 * week_s, 3 * week_s)) == 61.0);
    /* midday is staggered: noted, and worked */
    const efi_time_interval *midday = &plant.items[efi_timetable_find(&plant, 12 * EFI_HOUR_S + 60)];
    assert_int_equal(midday->state, EFI_TIME_SHIFT);
    assert_int_equal(midday->pause, 1);
    assert_true(midday->people == 4.0);
    const efi_time_interval *night = &plant.items[efi_timetable_find(&plant, 26 * EFI_HOUR_S)];
    assert_int_equal(night->state, EFI_TIME_BREAK);
    assert_int_equal(night->pause, 2);
    assert_int_equal(night->shift, 1);
    assert_int_equal(night->day, 0);
    assert_true(night->people == 3.0);
    efi_timetable_free(&plant);
    efi_timetable_free(&cleaner);
    ef_scenario_free(scenario);
    free(page);
}

static void stops_for_the_engine_are_rising_and_apart(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        PLANT "calendar:\n  start: 2026-08-31\n  breaks: {tea: {from: 09:00, to: 09:15}, "
              "end: {from: 13:45, to: 14:30}, turns: {from: 11:00, to: 12:00, staggered: yes}}\n");
    efi_timetable t;
    efi_interval *stops = NULL;
    int count = 0;
    assert_int_equal(efi_timetable_build(&t, scenario->calendar, EFI_WHOLE_PLANT, 0, 2 * (int64_t)EFI_DAY_S),
                     EF_OK);
    assert_int_equal(efi_timetable_stops(&t, EFI_TIME_SET(EFI_TIME_BREAK), 0, &stops, &count), EF_OK);
    assert_int_equal(count, 4);
    assert_true(stops[0].from_h == 9.0 && stops[0].to_h == 9.25);
    assert_true(stops[3].from_h == 37.75 && stops[3].to_h == 38.0);
    const efi_stop_mode mode = {.schedule = EFI_STOPS_LIST,
                                .cause = EFI_CAUSE_BREAK,
                                .counting = EFI_COUNT_CLOCK,
                                .intervals = count,
                                .list = stops};
    assert_int_equal(efi_stop_mode_check(&mode), EFI_STOP_GOOD);
    efi_free(stops);
    assert_int_equal(efi_timetable_stops(&t, EFI_TIME_SET(EFI_TIME_BREAK) | EFI_TIME_SET(EFI_TIME_CLOSED), 0,
                                         &stops, &count),
                     EF_OK);
    assert_int_equal(count, 5); /* the break before the end and the night are one */
    assert_true(stops[2].from_h == 13.75 && stops[2].to_h == 30.0);
    efi_free(stops);
    efi_timetable_free(&t);
    ef_scenario_free(scenario);
}

static void an_empty_stretch_or_one_of_ages_is_refused(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(PLANT);
    efi_timetable t = {.count = -5};
    assert_int_equal(efi_timetable_build(&t, scenario->calendar, EFI_WHOLE_PLANT, 5, 5), EF_USAGE);
    assert_int_equal(
        efi_timetable_build(&t, scenario->calendar, EFI_WHOLE_PLANT, 0, INT64_C(40000) * EFI_DAY_S),
        EF_USAGE);
    assert_int_equal(t.count, -5);
    ef_scenario_free(scenario);
}

static void without_memory_nothing_is_lost(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(PLANT);
    efi_timetable t = {.count = -5};
    ef_status status = EF_MEMORY;
    int failures = 0;
    for (long n = 1; status == EF_MEMORY; n++) {
        (void)efi_memory_fail_at(n);
        status = efi_timetable_build(&t, scenario->calendar, EFI_WHOLE_PLANT, 0, 100 * (int64_t)EFI_DAY_S);
        failures += status == EF_MEMORY;
        assert_true(status == EF_OK || t.count == -5);
    }
    (void)efi_memory_fail_at(0);
    assert_int_equal(status, EF_OK);
    assert_true(failures >= 2);
    efi_timetable_free(&t);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(random_calendars_agree_with_a_walk_by_minutes),
        cmocka_unit_test(without_a_calendar_one_shift_runs_on_working_days),
        cmocka_unit_test(a_friday_night_shift_ends_on_saturday),
        cmocka_unit_test(a_shift_that_began_before_a_holiday_runs_to_its_end),
        cmocka_unit_test(leap_day_and_year_end_are_days_like_others),
        cmocka_unit_test(maintenance_each_second_week_counts_from_its_first),
        cmocka_unit_test(maintenance_of_a_station_leaves_the_others_running),
        cmocka_unit_test(six_hundred_hours_are_fifteen_weeks_of_one_shift),
        cmocka_unit_test(the_page_tells_the_hours_of_its_example),
        cmocka_unit_test(stops_for_the_engine_are_rising_and_apart),
        cmocka_unit_test(an_empty_stretch_or_one_of_ages_is_refused),
        cmocka_unit_test(without_memory_nothing_is_lost),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
