/* SPDX-License-Identifier: GPL-3.0-or-later
 * Planning, verifying and reporting a season with the n-th allocation failing, n = 1, 2, ... until all goes
 * well: each failure comes back as such, and nothing is lost. */
#include "../lib/plants.h"
#include "../lib/short_memory.h"
#include "base/base.h"

#include <evenfeed/report.h>
#include <evenfeed/season.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static const char plant[] =
    "evenfeed: 1\n"
    "plant: {name: Test, labour price: 20 EUR/h, people: 2}\n"
    "lines: {N: , S: }\n"
    "materials: {seed: {wanted: yes}, chaff: }\n"
    "crops: {wheat: {density: 0.8 t/m3, receipt: {seed: rest, chaff: 6 %}, price: 200 EUR/t}}\n"
    "stations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, to: Fork}\n"
    "  Fork: {kind: split, rule: free, branches: {a: {to: North}, b: {to: South}}}\n"
    "  North: {kind: machine, line: N, capacity: 10 t/h, to: North bin}\n"
    "  North bin: {kind: bin, line: N, live volume: 8 m3, to: Table}\n"
    "  Table: {kind: machine, line: N, capacity: 9 t/h, to: Seed}\n"
    "  South: {kind: machine, line: S, capacity: 6 t/h, to: Seed}\n"
    "  Seed: {kind: outlet, product: yes}\n"
    "calendar:\n"
    "  start: 2026-09-07\n"
    "  shifts: {day: {days: mon-fri, from: 06:00, to: 16:00}}\n"
    "  overtime: {saturday: {date: 2026-09-12, from: 06:00, to: 12:00, price factor: 1.5}}\n"
    "season:\n"
    "  cleaning: station by station\n"
    "  no room: 2 EUR/t/d\n"
    "  stores:\n"
    "    Silo: {use: raw, holds: 50 m3, clean: 1 h}\n"
    "    Floor: {use: finished, holds: 60 t, shared: yes}\n"
    "  collected: 2 d\n"
    "  changeovers: {other: {when: anything, takes: 1 h, stations: {Table: {takes: 30 min}, North: {takes: "
    "20 min}}}}\n"
    "lots:\n"
    "  A: {crop: wheat, amount: 60 t, due: 2026-09-08}\n"
    "  B: {crop: wheat, amount: 70 t, due: 2026-09-08}\n"
    "  C: {crop: wheat, amount: 40 t, arrives: 2026-09-08, after: A, wait: 5 h}\n";

/* Text of one form after the other, dropped. */
static ef_status report(const ef_season *season)
{
    char *text = NULL;
    EF_TRY(ef_report_season_text(season, EF_UNITS_METRIC, &text));
    ef_report_free(text);
    EF_TRY(ef_report_season_json(season, &text));
    ef_report_free(text);
    EF_TRY(ef_report_season_plan(season, &text));
    ef_report_free(text);
    EF_TRY(ef_report_season_ics(season, EF_UNITS_METRIC, &text));
    ef_report_free(text);
    return EF_OK;
}

typedef struct call {
    const ef_scenario *scenario;
    const ef_season_settings *settings;
} call;

/* Everything once; the first status that is not EF_OK. */
static ef_status run_all(const void *context)
{
    const call *of = context;
    ef_season *season = NULL;
    ef_season_answer *answer = NULL;
    char *text = NULL;
    ef_status status = ef_season_run_plan(of->scenario, of->settings, &season, &text);
    if (status != EF_OK)
        return status;
    status = ef_season_verify(of->scenario, season, &text);
    if (status == EF_INTERNAL) {
        print_message("%s", text);
        ef_report_free(text);
    }
    if (status == EF_OK)
        status = report(season);
    ef_season_free(season);
    if (status == EF_OK) {
        const ef_season_question question = {
            .amount_t = 20.0, .arrives = EF_SEASON_NONE, .due = EF_SEASON_NONE};
        status = ef_season_when(of->scenario, of->settings, &question, &answer, &text);
    }
    if (status == EF_OK)
        ef_season_answer_free(answer);
    return status;
}

static void every_failed_allocation_comes_back(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(plant);
    ef_season_settings settings = ef_season_defaults();
    settings.threads = 1;
    settings.rounds = 1;
    settings.simulated = 2;
    settings.rate_runs = 2;
    const call of = {.scenario = scenario, .settings = &settings};
    /* all of the first, then every so many: a run takes milliseconds */
    assert_true(short_memory(run_all, &of, 100, 300, 300) > 200);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_failed_allocation_comes_back)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
