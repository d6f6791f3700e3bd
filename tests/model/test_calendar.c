/* SPDX-License-Identifier: GPL-3.0-or-later
 * The keys of the calendar and what holds when they are absent. */
#include "base/text.h"
#include "model/scenario.h"

#include "../lib/files.h"
#include "../lib/scenarios.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define STATIONS                                                                                             \
    "materials: {seed: {wanted: yes}}\ncrops: {wheat: {receipt: {seed: 100 %}}}\nstations:\n"                \
    "  Pit: {kind: intake, capacity: 40 t/h, to: Leg}\n  Leg: {kind: elevator, capacity: 40 t/h, to: "       \
    "Shed}\n"                                                                                                \
    "  Shed: {kind: outlet, product: yes}\n"
#define PLANT "evenfeed: 1\nplant: {name: Test, people: 4}\n" STATIONS

static int64_t day_of(int year, int month, int day)
{
    return efi_day_of((efi_civil){.year = year, .month = month, .day = day});
}

/* The only shift of a plant with this shift length. */
static void assert_usual_shift(const char *shift_length, int64_t from_s, int64_t to_s, int length_s)
{
    efi_text text = {0};
    efi_text_addf(&text, "evenfeed: 1\nplant: {name: Test, shift length: %s}\n%s", shift_length, STATIONS);
    ef_scenario *scenario = plant_read(efi_text_get(&text));
    const efi_calendar *calendar = scenario->calendar;
    assert_int_equal(calendar->shift_count, 1);
    assert_int_equal(calendar->shifts[0].days.value, EFI_WEEKDAYS_WORK);
    assert_int_equal(calendar->shifts[0].from.value, from_s);
    assert_int_equal(calendar->shifts[0].to.value, to_s);
    assert_int_equal(efi_clock_span(calendar->shifts[0].from.value, calendar->shifts[0].to.value), length_s);
    assert_false(calendar->shifts[0].people.given);
    assert_int_equal(calendar->start.value, day_of(2001, 1, 1));
    assert_int_equal(efi_day_weekday(calendar->start.value), EFI_MONDAY);
    efi_text_free(&text);
    ef_scenario_free(scenario);
}

static void without_a_calendar_one_shift_of_the_plants_length_begins_at_six(void **state)
{
    (void)state;
    assert_usual_shift("8 h", 6 * EFI_HOUR_S, 14 * EFI_HOUR_S, 8 * EFI_HOUR_S);
    assert_usual_shift("18 h", 6 * EFI_HOUR_S, 24 * EFI_HOUR_S, 18 * EFI_HOUR_S);
    assert_usual_shift("20 h", 6 * EFI_HOUR_S, 2 * EFI_HOUR_S, 20 * EFI_HOUR_S);
    assert_usual_shift("24 h", 0, EFI_DAY_S, EFI_DAY_S);
    assert_usual_shift("0.01 s", 6 * EFI_HOUR_S, 6 * EFI_HOUR_S + 1, 1);
}

static void every_key_of_the_calendar_is_read(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        PLANT
        "calendar:\n  start: 2026-08-31\n"
        "  shifts:\n    day: {from: 06:00, to: 14:00}\n"
        "    night: {days: sun-thu, from: '22:00', to: 06:00, people: 3, note: two of them new}\n"
        "  breaks:\n    tea: {from: 09:00, to: 09:15}\n    turns: {days: mon, from: 11:00, to: 12:00, "
        "staggered: yes}\n"
        "  holidays:\n    Founders: {date: 2026-09-02}\n    Winter: {date: 2026-12-24, last: 2026-12-26}\n"
        "  overtime:\n    rush: {date: 2026-10-03, last: 2026-10-31, days: sat, from: 06:00, to: 12:00, "
        "price factor: 1.5, cost: 60 EUR/h}\n"
        "  maintenance:\n    yearly: {begin: 2026-07-06 06:00, end: 2026-07-10T14:00}\n"
        "    belts: {days: fri, from: 12:00, to: 14:00, weeks: 2, stations: [Leg, Pit]}\n"
        "    leg: {days: mon, from: 12:00, to: 12:30, first: 2026-09-14, stations: Leg}\n");
    const efi_calendar *c = scenario->calendar;
    assert_int_equal(c->start.value, day_of(2026, 8, 31));
    assert_int_equal(c->shift_count, 2);
    assert_string_equal(c->shifts[1].name, "night");
    assert_int_equal(c->shifts[1].days.value, 0x4F);
    assert_int_equal(efi_clock_span(c->shifts[1].from.value, c->shifts[1].to.value), 8 * EFI_HOUR_S);
    assert_true(c->shifts[0].people.value == 4.0 && c->shifts[1].people.value == 3.0);
    assert_int_equal(c->breaks[0].days.value, EFI_WEEKDAYS_ALL);
    assert_false(c->breaks[0].staggered);
    assert_true(c->breaks[1].staggered);
    assert_int_equal(c->holidays[0].last.value, day_of(2026, 9, 2));
    assert_int_equal(c->holidays[1].last.value, day_of(2026, 12, 26));
    assert_int_equal(c->overtimes[0].days.value, EFI_WEEKDAY_SET(EFI_SATURDAY));
    assert_true(c->overtimes[0].price_factor.value == 1.5 && c->overtimes[0].cost_ph.value == 60.0);
    assert_true(c->overtimes[0].people.value == 4.0);
    assert_string_equal(scenario->currency, "EUR");
    assert_int_equal(c->maintenances[0].end.value - c->maintenances[0].begin.value, 104 * EFI_HOUR_S);
    assert_false(efi_maintenance_recurs(&c->maintenances[0]));
    assert_int_equal(c->maintenances[0].stations.count, 0);
    assert_int_equal(c->maintenances[1].weeks, 2);
    assert_int_equal(c->maintenances[1].first.value, c->start.value);
    assert_int_equal(c->maintenances[1].stations.count, 2);
    assert_int_equal(c->maintenances[1].stations.items[0], 1);
    assert_int_equal(c->maintenances[1].stations.items[1], 0);
    assert_int_equal(c->maintenances[2].weeks, 1);
    assert_int_equal(c->maintenances[2].first.value, day_of(2026, 9, 14));
    assert_int_equal(c->maintenances[2].stations.count, 1);
    ef_scenario_free(scenario);
}

/* All findings of a plant with these lines in its calendar, as "line:column-end name key" lines. */
static void assert_findings(const char *lines, const char *expected)
{
    efi_text text = {0};
    char summary[2000];
    efi_text_addf(&text, "%scalendar:\n  start: 2026-08-31\n%s", PLANT, lines);
    ef_diags *diags = scenario_findings(efi_text_get(&text), text.length, EF_SCENARIO);
    findings_summary(diags, summary, sizeof summary);
    assert_string_equal(summary, expected);
    ef_diags_free(diags);
    efi_text_free(&text);
}

static void what_cannot_be_read_hides_what_would_follow_from_it(void **state)
{
    (void)state;
    assert_findings("  shifts: {day: {from: 6:00, to: 14:00}}\n  breaks: {tea: {from: 22:00, to: 22:15}}\n",
                    "11:24-28 time-bad calendar.shifts.day.from\n");
    assert_findings(
        "  shifts: {day: {days: Mo-Fr, from: 06:00, to: 14:00}}\n  breaks: {tea: {from: 22:00, to: "
        "22:15}}\n",
        "11:24-26 days-bad calendar.shifts.day.days\n");
    assert_findings("  maintenance: {belts: {days: fri, from: 12:00, to: 14:00, stations: []}}\n",
                    "11:60-68 value-empty calendar.maintenance.belts.stations\n");
    assert_findings("  maintenance: {belts: {}}\n", "11:17-22 maintenance-when calendar.maintenance.belts\n");
}

/* The page shows a whole scenario: its first block of YAML. */
static void the_calendar_of_the_page_is_in_order(void **state)
{
    (void)state;
    char *page = file_read("docs/calendar.md", NULL);
    char *from = strstr(page, "```yaml\nevenfeed: 1\n");
    assert_non_null(from);
    from += strlen("```yaml\n");
    char *to = strstr(from, "```");
    assert_non_null(to);
    *to = '\0';
    ef_scenario *scenario = plant_read(from);
    const efi_calendar *c = scenario->calendar;
    assert_int_equal(c->shift_count, 2);
    assert_true(c->break_count > 0 && c->holiday_count > 0 && c->overtime_count > 0 &&
                c->maintenance_count > 0);
    ef_scenario_free(scenario);
    free(page);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(without_a_calendar_one_shift_of_the_plants_length_begins_at_six),
        cmocka_unit_test(every_key_of_the_calendar_is_read),
        cmocka_unit_test(what_cannot_be_read_hides_what_would_follow_from_it),
        cmocka_unit_test(the_calendar_of_the_page_is_in_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
