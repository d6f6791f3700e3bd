/* SPDX-License-Identifier: GPL-3.0-or-later
 * The season of a scenario: small ones worked out by hand, rules for cleaning, plans that are taken up. */
#include "../lib/near.h"

#include "base/memory.h"

#include <evenfeed/report.h>
#include <evenfeed/season.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define HOUR INT64_C(3600)
#define DAY  INT64_C(86400)

static ef_scenario *read_text(const char *text)
{
    ef_diags *diags = ef_diags_new();
    ef_scenario *scenario = NULL;
    const ef_status status = ef_scenario_read("plant.yaml", text, strlen(text), diags, &scenario);
    if (status != EF_OK) {
        char *findings;
        assert_int_equal(ef_report_findings(diags, &findings), EF_OK);
        print_error("%s", findings);
        ef_report_free(findings);
    }
    ef_diags_free(diags);
    assert_int_equal(status, EF_OK);
    return scenario;
}

static void assert_verified(const ef_scenario *scenario, const ef_season *season)
{
    char *differences = NULL;
    const ef_status status = ef_season_verify(scenario, season, &differences);
    if (status != EF_OK)
        print_error("%s", differences ? differences : "no memory\n");
    ef_report_free(differences);
    assert_int_equal(status, EF_OK);
}

static ef_season *plan(const ef_scenario *scenario, ef_season_settings settings)
{
    ef_season *season = NULL;
    char *reason = NULL;
    const ef_status status = ef_season_run_plan(scenario, &settings, &season, &reason);
    if (status != EF_OK)
        print_error("status %d: %s\n", (int)status, reason ? reason : "");
    ef_report_free(reason);
    assert_int_equal(status, EF_OK);
    assert_verified(scenario, season);
    return season;
}

static const ef_season_run *run_of(const ef_season *season, const char *lot)
{
    for (int r = 0; r < season->run_count; r++)
        if (strcmp(season->lots[season->runs[r].lot].name, lot) == 0)
            return &season->runs[r];
    fail_msg("no run of %s", lot);
    return NULL;
}

/* One line at 10 t/h, a day of ten hours from 06:00 on each day; the first is Monday 2026-09-07. */
#define PLANT                                                                                                \
    "evenfeed: 1\n"                                                                                          \
    "plant: {name: Small, labour price: 20 EUR/h, people: 2}\n"                                              \
    "materials: {seed: {wanted: yes}, chaff: }\n"                                                            \
    "crops:\n"                                                                                               \
    "  wheat: {density: 0.75 t/m3, receipt: {seed: rest, chaff: 10 %}, "                                     \
    "price: 200 EUR/t, largest lot: 30 t}\n"                                                                 \
    "  barley: {density: 0.6 t/m3, receipt: {seed: rest, chaff: 20 %}, price: 150 EUR/t}\n"                  \
    "stations:\n"                                                                                            \
    "  Pit: {kind: intake, capacity: 40 t/h, to: Cleaner}\n"                                                 \
    "  Cleaner:\n"                                                                                           \
    "    kind: air-screen cleaner\n"                                                                         \
    "    capacity: 10 t/h\n"                                                                                 \
    "    discharges: {air: {takes: {chaff: 100 %}, to: Dust}, clean: {takes: rest, to: Seed}}\n"             \
    "  Dust: {kind: outlet, use: waste}\n"                                                                   \
    "  Seed: {kind: outlet, product: yes, use: seed}\n"                                                      \
    "calendar:\n"                                                                                            \
    "  start: 2026-09-07\n"                                                                                  \
    "  shifts: {day: {days: daily, from: 06:00, to: 16:00}}\n"

/*
 * Three lots: 50 t of wheat, 30 t of barley due on the first evening, 40 t of wheat. Barley first: 3 h, then
 * the crop changes (2 h), 9 h of wheat. Cleaning of 2 h by two people at 20 an hour costs 80, so one change
 * is least, and barley has to come first to be in time. 06:00 to 09:00 barley, cleaned until 11:00, five
 * hours of wheat (A) until 16:00, four hours of wheat (C) from 06:00 on the next day; or C first, until
 * 15:00, then A until 16:00 and four hours and a restart of a quarter of an hour on the next day.
 */
static void three_lots_follow_one_another(void **state)
{
    (void)state;
    ef_scenario *scenario = read_text(PLANT "season:\n"
                                            "  restart: 15 min\n"
                                            "  changeovers: {crops: {when: crop, takes: 2 h}}\n"
                                            "lots:\n"
                                            "  A: {crop: wheat, amount: 50 t}\n"
                                            "  B: {crop: barley, amount: 30 t, due: 2026-09-07T16:00}\n"
                                            "  C: {crop: wheat, amount: 40 t, due: 2026-09-08}\n");
    ef_season_settings settings = ef_season_defaults();
    settings.rounds = 3;
    settings.simulated = 0;
    ef_season *season = plan(scenario, settings);
    const int64_t monday = season->from;
    assert_int_equal(season->run_count, 3);
    assert_int_equal(season->late_lots, 0);
    assert_near(season->cost.total, 80.0, 1e-9);
    assert_near(season->cost.term[EF_SEASON_CLEANING], 80.0, 1e-9);
    const ef_season_run *b = run_of(season, "B");
    assert_int_equal(b->place, 0);
    assert_int_equal(b->start, monday + 6 * HOUR);
    assert_int_equal(b->end, monday + 9 * HOUR);
    const ef_season_run *second = &season->runs[1];
    assert_string_equal(second->rule, "crops");
    assert_int_equal(second->clean_from, monday + 9 * HOUR);
    assert_int_equal(second->clean_to, monday + 11 * HOUR);
    assert_int_equal(second->start, monday + 11 * HOUR);
    assert_string_equal(second->shift, "day");
    assert_int_equal(run_of(season, "A")->held_by, EF_SEASON_HELD_BY_LINE);
    assert_near(run_of(season, "A")->rate_tph, 10.0, 1e-9);
    assert_near(season->lots[0].product_t, 45.0, 1e-9);
    assert_int_equal(season->lots[0].certification_lots, 2);
    ef_season_free(season);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(three_lots_follow_one_another),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
