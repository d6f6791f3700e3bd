/* SPDX-License-Identifier: GPL-3.0-or-later
 * The season of a scenario: small ones worked out by hand, rules for cleaning, plans that are taken up. */
#include "../lib/near.h"
#include "../lib/scenarios.h"

#include "base/memory.h"

#include <evenfeed/report.h>
#include <evenfeed/season.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#define HOUR INT64_C(3600)
#define DAY  INT64_C(86400)

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
    ef_scenario *scenario = plant_read(PLANT "season:\n"
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

#define THREE_AND(more)                                                                                      \
    PLANT "season:\n"                                                                                        \
          "  restart: 0 min\n"                                                                               \
          "  late: 240 EUR/d\n" more "  changeovers: {crops: {when: crop, takes: 2 h}}\n"                    \
          "lots:\n"                                                                                          \
          "  A: {crop: wheat, amount: 50 t}\n"                                                               \
          "  B: {crop: barley, amount: 30 t, due: 2026-09-07T16:00}\n"                                       \
          "  C: {crop: wheat, amount: 40 t}\n"
#define THREE THREE_AND("")

static ef_season_plan *plan_of(const ef_scenario *scenario, const char *table)
{
    ef_season_plan *read = NULL;
    ef_diags *diags = ef_diags_new();
    assert_int_equal(ef_season_plan_read(scenario, "plan.csv", table, strlen(table), diags, &read), EF_OK);
    ef_diags_free(diags);
    return read;
}

static ef_season_settings quick(void)
{
    ef_season_settings settings = ef_season_defaults();
    settings.rounds = 3;
    settings.simulated = 0;
    settings.rate_runs = 2;
    return settings;
}

/*
 * A, C, B as somebody wrote it: A 06:00 to 11:00, C to 15:00, an hour of cleaning until the shift ends and
 * one on Tuesday, B from 07:00 to 10:00. It is 18 h late at 240 EUR a day: 180 EUR, and 80 EUR of cleaning.
 * Our own order costs 80.
 */
static void an_order_by_hand_is_priced_as_it_is(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(THREE);
    ef_season_plan *by_hand = plan_of(scenario, "lot\nA\nC\nB\n");
    ef_season_settings settings = quick();
    settings.plan = by_hand;
    settings.keep_order = true;
    ef_season *season = plan(scenario, settings);
    assert_true(season->kept_order && season->has_ours);
    assert_int_equal(season->runs[2].lot, 1);
    assert_int_equal(season->runs[2].clean_from, season->from + 15 * HOUR);
    assert_int_equal(season->runs[2].clean_to, season->from + DAY + 7 * HOUR);
    assert_int_equal(season->runs[2].end, season->from + DAY + 10 * HOUR);
    assert_near(season->cost.term[EF_SEASON_LATE], 180.0, 1e-9);
    assert_near(season->cost.total, 260.0, 1e-9);
    assert_near(season->ours.total, 80.0, 1e-9);
    assert_int_equal(season->moved_lots, 0);
    /* C before B or after it: A, B, C cleans twice and B ends at 16:00 on Monday, in time */
    assert_true(season->runs[2].has_earlier);
    assert_near(season->runs[2].earlier_cost, 160.0 - 260.0, 1e-9);
    ef_season_free(season);
    ef_season_plan_free(by_hand);
    ef_scenario_free(scenario);
}

/*
 * Taken up at 13:00 on Monday, the plan B, A, C: B has run from 06:00 to 09:00; A runs since 11:00, two hours
 * and 20 t of it are done; C has not begun. So A ends at 16:00 as before and keeps its line, C follows.
 */
static void what_has_run_and_runs_is_kept(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(THREE);
    ef_season_plan *before = plan_of(scenario, "lot\nB\nA\nC\n");
    ef_season_settings settings = quick();
    settings.plan = before;
    settings.has_at = true;
    settings.at = 20703 * DAY + 13 * HOUR; /* 2026-09-07 is day 20703 of 1970 */
    ef_season *season = plan(scenario, settings);
    assert_int_equal(season->at, season->from + 13 * HOUR);
    assert_int_equal(season->lots[1].state, EF_SEASON_DONE);
    assert_int_equal(season->lots[0].state, EF_SEASON_RUNNING);
    assert_near(season->lots[0].left_t, 30.0, 1e-9);
    assert_int_equal(run_of(season, "B")->end, season->from + 9 * HOUR);
    assert_int_equal(run_of(season, "A")->start, season->from + 11 * HOUR);
    assert_int_equal(run_of(season, "A")->end, season->from + 16 * HOUR);
    assert_int_equal(run_of(season, "C")->start, season->from + DAY + 6 * HOUR);
    assert_int_equal(run_of(season, "C")->before, 0);
    assert_near(season->cost.total, 0.0, 1e-9); /* what was cleaned before is no longer counted */
    ef_season_free(season);
    ef_season_plan_free(before);
    ef_scenario_free(scenario);
}

/*
 * The plan A, C, B costs 260; with B first it costs 80. Moving one lot costs 50 by default: B moves, and the
 * plan costs 130. At 300 a lot nothing moves.
 */
static void a_moved_lot_has_its_price(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(THREE);
    ef_season_plan *before = plan_of(scenario, "lot\nA\nC\nB\n");
    ef_season_settings settings = quick();
    settings.plan = before;
    ef_season *season = plan(scenario, settings);
    assert_int_equal(season->moved_lots, 1);
    assert_true(run_of(season, "B")->is_moved);
    assert_near(season->cost.term[EF_SEASON_MOVES], 50.0, 1e-9);
    assert_near(season->cost.total, 130.0, 1e-9);
    ef_season_free(season);
    ef_season_plan_free(before);
    ef_scenario_free(scenario);
    scenario = plant_read(THREE_AND("  move: 300 EUR\n"));
    before = plan_of(scenario, "lot\nA\nC\nB\n");
    settings.plan = before;
    season = plan(scenario, settings);
    assert_int_equal(season->moved_lots, 0);
    assert_near(season->cost.total, 260.0, 1e-9);
    ef_season_free(season);
    ef_season_plan_free(before);
    ef_scenario_free(scenario);
}

/* B must start at 08:00 on Tuesday. Before it there is room for A or C and the cleaning; not for both. */
static void a_frozen_lot_keeps_its_start(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        PLANT "season:\n"
              "  restart: 0 min\n"
              "  changeovers: {crops: {when: crop, takes: 2 h}}\n"
              "lots:\n"
              "  A: {crop: wheat, amount: 60 t}\n"
              "  B: {crop: barley, amount: 30 t, state: frozen, starts: 2026-09-08T08:00}\n"
              "  C: {crop: wheat, amount: 50 t}\n");
    ef_season *season = plan(scenario, quick());
    assert_int_equal(season->forbidden, 0);
    assert_int_equal(run_of(season, "B")->start, season->from + DAY + 8 * HOUR);
    assert_int_equal(run_of(season, "B")->end, season->from + DAY + 11 * HOUR);
    assert_int_equal(run_of(season, "B")->held_by, EF_SEASON_HELD_BY_STATE);
    ef_season_free(season);
    ef_scenario_free(scenario);
}

/* A lot that comes, is done in 12 h of work: best before or behind the others, where nothing is cleaned more.
 */
static void one_more_lot_goes_where_it_costs_least(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(THREE);
    ef_season_settings settings = quick();
    ef_season_question question = {
        .crop = 1, .amount_t = 20.0, .arrives = EF_SEASON_NONE, .due = EF_SEASON_NONE};
    ef_season_answer *answer = NULL;
    char *reason = NULL;
    assert_int_equal(ef_season_when(scenario, &settings, &question, &answer, &reason), EF_OK);
    /* beside B, before the cleaning, for nothing: B still ends at 11:00 at the latest, before 16:00 */
    assert_near(answer->cheapest.cost, 0.0, 1e-9);
    assert_int_equal(answer->cheapest.others_late, 0);
    assert_int_equal(answer->earliest.place, 0);
    assert_int_equal(answer->earliest.end, answer->season->from + 8 * HOUR);
    assert_int_equal(answer->offer_count, 4);
    assert_true(answer->offers[3].cost > 79.0);
    ef_season_answer_free(answer);
    ef_scenario_free(scenario);
}

static void threads_do_not_matter(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(THREE);
    char *text[2];
    for (int t = 0; t < 2; t++) {
        ef_season_settings settings = ef_season_defaults();
        settings.rounds = 2;
        settings.rate_runs = 20;
        settings.threads = 1 + t;
        ef_season *season = plan(scenario, settings);
        assert_int_equal(ef_report_season_json(season, &text[t]), EF_OK);
        ef_season_free(season);
    }
    assert_string_equal(text[0], text[1]);
    ef_report_free(text[0]);
    ef_report_free(text[1]);
    ef_scenario_free(scenario);
}

/*
 * Maharashtra State Seeds Corporation, seed processing and storage page: 22 plants of 110 t/h in all process
 * 66,000 t in the first season and 49,500 t in the second: 600 h and 450 h of work. A plant of 8 t/h gets
 * 8/110 of it: 4,800 t and 3,600 t. By our calendar of one shift of eight hours a day that is 75 days, and 56
 * days and two hours.
 */
static void hours_of_a_state_network_of_plants(void **state)
{
    (void)state;
    static const struct {
        int lots;
        int64_t end_s;
    } seasons[] = {{12, 74 * DAY + 14 * HOUR}, {9, 56 * DAY + 8 * HOUR}};
    for (int i = 0; i < 2; i++) {
        char text[4000] = PLANT "";
        char *shift = strstr(text, "to: 16:00");
        char *rate = strstr(text, "capacity: 10 t/h");
        assert_non_null(shift);
        assert_non_null(rate);
        shift[strlen("to: 1")] = '4';
        rate[strlen("capacity: ")] = ' ';
        rate[strlen("capacity: 1")] = '8';
        strcat(text, "season: {restart: 0 min}\nlots:\n");
        for (int l = 0; l < seasons[i].lots; l++)
            snprintf(text + strlen(text), 60, "  L%d: {crop: wheat, amount: 400 t}\n", l);
        ef_scenario *scenario = plant_read(text);
        ef_season *season = plan(scenario, quick());
        assert_int_equal(season->end - season->from, seasons[i].end_s);
        ef_season_free(season);
        ef_scenario_free(scenario);
    }
}

/* ---- all orders of small cases --------------------------------------------------------------------------
 */

typedef struct all_orders {
    const ef_scenario *scenario;
    int lots, lines;
    int order[8]; /* lots, and from `lots` on the ends of lines */
    bool used[8];
    double least;
    int tried;
} all_orders;

/* Prices one order by way of a plan file; forbidden ones are passed over. */
static void price(all_orders *all)
{
    char table[400] = "lot,line\n";
    int line = 0;
    for (int i = 0; i < all->lots + all->lines - 1; i++) {
        if (all->order[i] >= all->lots) {
            line++;
            continue;
        }
        snprintf(table + strlen(table), 20, "L%d,%s\n", all->order[i], line == 0 ? "N" : "S");
    }
    ef_season_plan *given = plan_of(all->scenario, table);
    ef_season_settings settings = quick();
    settings.rounds = 0;
    settings.plan = given;
    settings.keep_order = true;
    ef_season *season = plan(all->scenario, settings);
    if (season->forbidden == 0 && season->cost.total < all->least)
        all->least = season->cost.total;
    all->tried++;
    ef_season_free(season);
    ef_season_plan_free(given);
}

static void enumerate(all_orders *all, int at)
{
    const int places = all->lots + all->lines - 1;
    if (at == places)
        price(all);
    for (int i = 0; i < places; i++) {
        if (all->used[i])
            continue;
        all->used[i] = true;
        all->order[at] = i;
        enumerate(all, at + 1);
        all->used[i] = false;
    }
}

static const char small_plant[] =
    "evenfeed: 1\n"
    "plant: {name: Small, labour price: 20 EUR/h, people: 2}\n"
    "lines: {N: , S: }\n"
    "materials: {seed: {wanted: yes}, chaff: }\n"
    "crops:\n"
    "  wheat: {density: 0.75 t/m3, receipt: {seed: rest, chaff: 10 %}, price: 200 EUR/t}\n"
    "  barley: {density: 0.6 t/m3, receipt: {seed: rest, chaff: 20 %}, price: 150 EUR/t}\n"
    "stations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, to: Fork}\n"
    "  Fork: {kind: split, rule: free, branches: {a: {to: North}, b: {to: South}}}\n"
    "  North: {kind: air-screen cleaner, line: N, capacity: 10 t/h, discharges: {air: {takes: {chaff: 100 "
    "%}, to: "
    "Dust}, clean: {takes: rest, to: Seed}}}\n"
    "  South: {kind: air-screen cleaner, line: S, capacity: 6 t/h, discharges: {air: {takes: {chaff: 100 %}, "
    "to: "
    "Dust}, clean: {takes: rest, to: Seed}}}\n"
    "  Dust: {kind: outlet, use: waste}\n"
    "  Seed: {kind: outlet, product: yes, use: seed}\n"
    "calendar:\n"
    "  start: 2026-09-07\n"
    "  shifts: {day: {days: mon-fri, from: 06:00, to: 16:00}}\n"
    "  overtime: {saturday: {date: 2026-09-12, from: 06:00, to: 12:00, price factor: 1.5}}\n"
    "season:\n"
    "  planning rate: {wheat: 7 t/h, barley: 5 t/h}\n"
    "  restart: 10 min\n"
    "  move: 0 EUR\n"
    "  stores:\n"
    "    Silo: {use: raw, holds: 80 m3, count: 2, clean: 1 h}\n"
    "    Floor: {use: finished, holds: 60 t, shared: yes}\n"
    "  changeovers:\n"
    "    here: {when: crop, lines: S, takes: 4 h}\n"
    "    crops: {when: crop, takes: 2 h, flush: 100 kg}\n"
    "    up: {when: class up, takes: 1 h, never: no}\n"
    "  classes: [basic, certified]\n"
    "lots:\n"
    "  L0: {crop: wheat, class: basic, amount: 70 t, due: 2026-09-08}\n"
    "  L1: {crop: barley, class: certified, amount: 40 t, arrives: 2026-09-07T12:00, due: 2026-09-09}\n"
    "  L2: {crop: wheat, class: certified, amount: 55 t, due: 2026-09-09, latest start: 2026-09-08}\n"
    "  L3: {crop: barley, class: basic, amount: 30 t, arrives: 2026-09-08, after: L0, wait: 5 h}\n";

/* All 120 orders of four lots on two lines with all that a season knows, each priced and verified. */
static void no_order_of_a_small_case_costs_less(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(small_plant);
    all_orders all = {.scenario = scenario, .lots = 4, .lines = 2, .least = 1e18};
    enumerate(&all, 0);
    assert_int_equal(all.tried, 120);
    ef_season *season = plan(scenario, quick());
    assert_near(season->cost.total, all.least, 1e-9);
    assert_true(season->bound.total <= all.least + 1e-9);
    ef_season_free(season);
    ef_scenario_free(scenario);
}

static const char two_overtimes[] =
    "evenfeed: 1\n"
    "plant: {name: Small, labour price: 20 EUR/h, people: 2}\n"
    "materials: {seed: {wanted: yes}}\n"
    "crops: {wheat: {density: 0.75 t/m3, receipt: {seed: 100 %}}}\n"
    "stations:\n"
    "  Pit: {kind: intake, capacity: 10 t/h, to: Seed}\n"
    "  Seed: {kind: outlet, product: yes, use: seed}\n"
    "calendar:\n"
    "  start: 2026-09-07\n"
    "  shifts: {day: {days: mon-fri, from: 06:00, to: 16:00}}\n"
    "  overtime:\n"
    "    saturday: {date: 2026-09-12, from: 06:00, to: 12:00, price factor: 1.5}\n"
    "    sunday: {date: 2026-09-13, from: 06:00, to: 12:00, price factor: 2, people: 3, cost: 15 EUR/h}\n"
    "season: {to: 2026-09-13, planning rate: {wheat: 5 t/h}, restart: 0 min, changeovers: {none: {when: "
    "anything, takes: 0 h}}}\n"
    "lots:\n"
    "  A: {crop: wheat, amount: 250 t}\n"
    "  B: {crop: wheat, amount: 40 t}\n";

/*
 * A takes the 50 hours of the week. B follows at once: 6 hours on Saturday at 2 people x 20 x 1.5 = 60, and 2
 * on Sunday at 3 x 20 x 2 + 15 = 135. Together 360 + 270 = 630; the mean of both windows would say 780. The
 * other way round A has the overtime: 6 h on Saturday and 2 on Sunday again. No plan costs less, and the
 * bound knows: there is no more time without a price, and each lot is rounded down by 0.001 at most.
 */
static void each_hour_of_overtime_has_its_own_price(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(two_overtimes);
    ef_season *season = plan(scenario, quick());
    assert_near(season->cost.term[EF_SEASON_OVERTIME], 630.0, 1e-9);
    assert_near(season->bound.term[EF_SEASON_OVERTIME], 630.0, 0.005 / 630.0);
    double sum = 0.0;
    for (int r = 0; r < season->run_count; r++) {
        sum += season->runs[r].overtime_cost;
        if (season->runs[r].overtime_h > 0.0)
            assert_near(season->runs[r].overtime_h, 8.0, 1e-9);
    }
    assert_near(sum, 630.0, 1e-9);
    ef_season_free(season);
    ef_scenario_free(scenario);
}

/* What cannot be answered says why. */
static void there_is_no_plan_without_lots_or_lines(void **state)
{
    (void)state;
    ef_season *season = NULL;
    char *reason = NULL;
    ef_season_settings settings = quick();
    ef_scenario *scenario = plant_read(PLANT);
    assert_int_equal(ef_season_run_plan(scenario, &settings, &season, &reason), EF_NO_ANSWER);
    assert_non_null(strstr(reason, "no lots"));
    ef_report_free(reason);
    ef_scenario_free(scenario);
    scenario = plant_read(PLANT "lots:\n  A: {crop: wheat, amount: 50 t, state: done}\n");
    assert_int_equal(ef_season_run_plan(scenario, &settings, &season, &reason), EF_NO_ANSWER);
    assert_non_null(strstr(reason, "done"));
    ef_report_free(reason);
    settings.keep_order = true; /* of which plan? */
    assert_int_equal(ef_season_run_plan(scenario, &settings, &season, NULL), EF_USAGE);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(three_lots_follow_one_another),
        cmocka_unit_test(an_order_by_hand_is_priced_as_it_is),
        cmocka_unit_test(what_has_run_and_runs_is_kept),
        cmocka_unit_test(a_moved_lot_has_its_price),
        cmocka_unit_test(a_frozen_lot_keeps_its_start),
        cmocka_unit_test(one_more_lot_goes_where_it_costs_least),
        cmocka_unit_test(threads_do_not_matter),
        cmocka_unit_test(hours_of_a_state_network_of_plants),
        cmocka_unit_test(no_order_of_a_small_case_costs_less),
        cmocka_unit_test(each_hour_of_overtime_has_its_own_price),
        cmocka_unit_test(there_is_no_plan_without_lots_or_lines),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
