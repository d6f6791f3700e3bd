/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lists of lots on a plant of several lines: each line as it would run alone, parts of shared stations by
 * hand and by the balance, who runs what, what is refused. */
#include "../lib/lists.h"
#include "../lib/near.h"

#include <evenfeed/balance.h>
#include <math.h>
#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/* A line of its own from pit to bags, with a bin and stops; its stations begin with `name`. */
#define OWN_LINE(name, of, key)                                                                              \
    "  " name " pit: {kind: intake, " of "capacity: 20 t/h, to: " name " cleaner}\n"                         \
    "  " name " cleaner:\n"                                                                                  \
    "    kind: air-screen cleaner\n" key "    capacity: {wheat: 5 t/h, barley: 4 t/h}\n"                     \
    "    stops: {choke: {between: 3 h, lasts: 20 min}, sieves: {every: 3 h, counts: running, lasts: 5 "      \
    "min}}\n"                                                                                                \
    "    discharges:\n"                                                                                      \
    "      air: {takes: {chaff: 100 %}, to: " name " chaff}\n"                                               \
    "      seed: {takes: rest, to: " name " bin}\n"                                                          \
    "  " name " bin: {kind: bin, " of "live volume: 2 m3, to: " name " bagger}\n"                            \
    "  " name " bagger: {kind: bagger, " of "capacity: 6 t/h, stops: {bags: {between: 1 h, lasts: 6 min}}, " \
    "to: " name " bags}\n"                                                                                   \
    "  " name " bags: {kind: outlet, product: yes}\n"                                                        \
    "  " name " chaff: {kind: outlet}\n"

#define SEASON                                                                                               \
    "season:\n  changeovers:\n    other crop: {when: crop, takes: 3 h}\n    any: {when: anything, takes: "   \
    "30 min}\n"

#define TWO_LINES                                                                                            \
    FRAME "lines: {North: , South: }\nstations:\n" OWN_LINE("North", "line: North, ", "    line: North\n")   \
        OWN_LINE("South", "line: South, ", "    line: South\n") SEASON

static const ef_shift_lots *line_of(const ef_shift_lots *lots, const char *name)
{
    for (int i = 0; i < lots->line_count; i++)
        if (strcmp(lots->lines[i].line, name) == 0)
            return &lots->lines[i];
    fail_msg("line %s has no lots", name);
    return &lots->lines[0];
}

static void assert_lots(const ef_shift_lots *line, const char *const *names, int count)
{
    assert_int_equal(line->lot_count, count);
    for (int k = 0; k < count; k++)
        assert_string_equal(line->lots[k].name, names[k]);
}

/* ---- lines without anything in common -------------------------------------------------------------------
 */

static void assert_same_numbers(const double *a, const double *b, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (!(a[i] >= b[i] && a[i] <= b[i])) /* to the last bit */
            fail_msg("number %d is %.17g, alone %.17g", (int)i, a[i], b[i]);
}

/* Is a line of a plant of two, to the last bit, what the same line alone makes of the same list? */
static void assert_as_alone(const ef_shift_lots *line, const char *text)
{
    ef_scenario *scenario = plant_read(text);
    ef_shift_lots *alone = lists_run(scenario, lists_quick());
    const size_t lots = (size_t)alone->runs * (size_t)alone->lot_count;
    assert_int_equal(alone->line_count, 0);
    assert_int_equal(line->lot_count, alone->lot_count);
    assert_int_equal(line->outlet_count, alone->outlet_count);
    assert_int_equal(line->period_count, alone->period_count);
    assert_same_numbers(line->begin_h, alone->begin_h, lots);
    assert_same_numbers(line->end_h, alone->end_h, lots);
    assert_same_numbers(line->in_t, alone->in_t, lots);
    assert_same_numbers(line->outlet_t, alone->outlet_t, lots * (size_t)alone->outlet_count);
    assert_same_numbers(line->run_work_h, alone->run_work_h, (size_t)alone->runs);
    assert_int_equal(line->station_count, alone->station_count);
    for (int s = 0; s < alone->station_count; s++) {
        assert_string_equal(line->stations[s].name, alone->stations[s].name);
        assert_same_numbers(line->stations[s].hours, alone->stations[s].hours, EF_SHIFT_HOURS_COUNT);
    }
    ef_shift_lots_free(alone);
    ef_scenario_free(scenario);
}

static void a_line_of_its_own_runs_as_it_would_alone(void **state)
{
    (void)state;
    /* Wheat at 5 t/h by the balance on both lines: A to North, B to South, C to South which is done first (4
     * h against 6 h), and so on. */
    ef_scenario *scenario = plant_read(TWO_LINES "lots:\n"
                                                 "  A: {crop: wheat, amount: 30 t}\n"
                                                 "  B: {crop: wheat, amount: 20 t}\n"
                                                 "  C: {crop: barley, amount: 24 t}\n"
                                                 "  D: {crop: wheat, amount: 25 t}\n"
                                                 "  E: {crop: wheat, amount: 10 t}\n");
    ef_shift_lots *lots = lists_run(scenario, lists_quick());
    assert_int_equal(lots->line_count, 2);
    assert_true(lots->is_dealt);
    /* North 6 h; South 4 h; C: North 6 + 3 + 6 = 15, South 4 + 3 + 6 = 13; D: North 6 + 0.5 + 5 = 11.5; E:
     * North 11.5 + 0.5 + 2 = 14, South 13 + 3 + 2 = 18 */
    static const char *const north[] = {"A", "D", "E"};
    static const char *const south[] = {"B", "C"};
    assert_lots(line_of(lots, "North"), north, 3);
    assert_lots(line_of(lots, "South"), south, 2);
    assert_int_equal(line_of(lots, "North")->part_count, 0);
    assert_near(lots->tonnes_t, 109.0, 1e-12);
    for (int r = 0; r < lots->runs; r++)
        assert_near(lots->run_work_h[r],
                    fmax(line_of(lots, "North")->run_work_h[r], line_of(lots, "South")->run_work_h[r]), 0.0);
    assert_as_alone(line_of(lots, "North"), FRAME "stations:\n" OWN_LINE("North", "", "") SEASON
                    "lots:\n"
                    "  A: {crop: wheat, amount: 30 t}\n"
                    "  D: {crop: wheat, amount: 25 t}\n"
                    "  E: {crop: wheat, amount: 10 t}\n");
    assert_as_alone(line_of(lots, "South"), FRAME "stations:\n" OWN_LINE("South", "", "") SEASON
                    "lots:\n"
                    "  B: {crop: wheat, amount: 20 t}\n"
                    "  C: {crop: barley, amount: 24 t}\n");
    ef_shift_lots_free(lots);
    ef_scenario_free(scenario);
}

#define FIVE_LOTS                                                                                            \
    "lots:\n"                                                                                                \
    "  A: {crop: wheat, amount: 10 t}\n"                                                                     \
    "  B: {crop: wheat, amount: 10 t, lines: South}\n"                                                       \
    "  C: {crop: wheat, amount: 10 t, lines: South}\n"                                                       \
    "  D: {crop: wheat, amount: 10 t, lines: South}\n"                                                       \
    "  E: {crop: wheat, amount: 10 t, state: done, line: South}\n"

static void lots_go_where_they_may_and_a_plan_is_kept(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(TWO_LINES FIVE_LOTS);
    ef_shift_lots *lots = lists_run(scenario, lists_quick());
    static const char *const south[] = {"B", "C", "D"};
    assert_lots(line_of(lots, "South"), south, 3);
    assert_int_equal(lots->left_out, 1);
    ef_shift_lots_free(lots);

    static const int order[] = {3, 0, 4, 2, 1};
    static const int lines[] = {1, 1, 1, 1, 1};
    static const char *const planned[] = {"D", "A", "C", "B"};
    ef_shift_lots_settings settings = lists_quick();
    settings.lots = order;
    settings.lines = lines;
    settings.lot_count = 5;
    lots = lists_run(scenario, settings);
    assert_int_equal(lots->line_count, 1);
    assert_false(lots->is_dealt);
    assert_lots(&lots->lines[0], planned, 4);
    assert_int_equal(lots->idle_line_count, 1);
    assert_string_equal(lots->idle_lines[0], "North");
    ef_shift_lots_free(lots);

    static const int wrong[] = {0, 1, 2, 0, 1};
    settings.lines = wrong;
    assert_int_equal(ef_shift_lots_run(scenario, &settings, &lots, NULL), EF_USAGE);
    ef_scenario_free(scenario);
}

/* ---- shared stations ------------------------------------------------------------------------------------
 */

static double part_of(const ef_shift_lots *line, const char *station)
{
    for (int p = 0; p < line->part_count; p++)
        if (strcmp(line->parts[p].station, station) == 0) {
            assert_near(line->parts[p].least, line->parts[p].most, 1e-12);
            return line->parts[p].least;
        }
    return 1.0;
}

static void a_line_has_its_part_of_what_it_shares(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(SHARED_LEG "lots:\n"
                                                  "  N1: {crop: wheat, amount: 12 t, lines: North}\n"
                                                  "  N2: {crop: wheat, amount: 18 t, lines: North}\n"
                                                  "  S1: {crop: wheat, amount: 12 t, lines: South}\n");
    ef_shift_lots *lots = lists_run(scenario, lists_quick());
    const ef_shift_lots *north = line_of(lots, "North");
    const ef_shift_lots *south = line_of(lots, "South");
    /* 6 and 4 t/h of the leg; chaff 0.6 and 0.2 t/h on the screw */
    assert_near(part_of(north, "Pit"), 0.6, 1e-9);
    assert_near(part_of(south, "Leg"), 0.4, 1e-9);
    assert_near(part_of(north, "Screw"), 0.75, 1e-9);
    assert_near(part_of(south, "Screw"), 0.25, 1e-9);
    assert_near(part_of(south, "South cleaner"), 1.0, 0.0);
    assert_near(north->lots[0].balance_tph, 6.0, 1e-9);
    assert_near(north->end_h[0], 2.0, 1e-5);
    assert_near(north->end_h[1], 5.0, 1e-5);
    assert_near(south->end_h[0], 3.0, 1e-5);
    assert_near(lots->work_h.mean.value, 5.0, 1e-5);
    ef_shift_lots_free(lots);
    ef_scenario_free(scenario);
}

static void a_stop_after_tonnes_comes_after_the_part_of_them(void **state)
{
    (void)state;
    /* The leg stops for an hour after each 25 t of both lines, so after 15 t of north and 10 t of
     * south, at 2.5 h. The trace begins just after such a stop. */
    ef_scenario *scenario = plant_read(
        FRAME
        "lines: {North: , South: }\nstations:\n"
        "  Pit: {kind: intake, capacity: 40 t/h, to: Leg}\n"
        "  Leg: {kind: elevator, capacity: 10 t/h, stops: {boot: {after: 25 t, lasts: 1 h}}, to: Flap}\n"
        "  Flap: {kind: split, rule: fixed, branches: {north: {share: 60 %, to: North cleaner}, south: "
        "{share: 40 %, to: South cleaner}}}\n"
        "  North cleaner: {kind: air-screen cleaner, line: North, capacity: 9 t/h, to: North seed}\n"
        "  South cleaner: {kind: air-screen cleaner, line: South, capacity: 9 t/h, to: South seed}\n"
        "  North seed: {kind: outlet, product: yes}\n"
        "  South seed: {kind: outlet, product: yes}\n"
        "lots:\n"
        "  N1: {crop: wheat, amount: 12 t, lines: North}\n"
        "  N2: {crop: wheat, amount: 14 t, lines: North}\n"
        "  S1: {crop: wheat, amount: 12 t, lines: South}\n");
    ef_trace *trace = lists_trace(scenario, 0.0);
    const ef_trace *north = &trace->lines[0];
    assert_string_equal(north->line, "North");
    assert_int_equal(north->stop_count, 1);
    assert_near(north->stops[0].from_h, 2.5, 1e-5);
    assert_near(north->lots[1].end_h, 26.0 / 6.0 + 1.0, 1e-5);
    assert_int_equal(trace->lines[1].stop_count, 1);
    assert_near(trace->lines[1].stops[0].from_h, 2.5, 1e-5);
    assert_near(trace->lines[1].lots[0].end_h, 4.0, 1e-5);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

static void parts_are_those_of_the_balance(void **state)
{
    (void)state;
    /* Two crops on the two lines of the bundled pulse plant: of the feed leg each line has what the balance,
     * which knows of no lots, sends to its bin. */
    ef_scenario *scenario = plant_load("scenarios/seasons/pulses-export.yaml");
    ef_balance_settings settings = ef_balance_defaults();
    ef_balance *balance = NULL;
    double least = 1.0;
    double most = 0.0;
    assert_int_equal(ef_balance_solve(scenario, &settings, &balance), EF_OK);
    for (int c = 0; c < balance->crop_count; c++) {
        double north_tph = 0.0;
        double both_tph = 0.0;
        for (int s = 0; s < balance->crops[c].spout_count; s++) {
            const ef_balance_spout *spout = &balance->crops[c].spouts[s];
            if (strcmp(spout->from, "Line split") != 0)
                continue;
            both_tph += spout->flow.total_tph;
            north_tph += strcmp(spout->to, "North bin") == 0 ? spout->flow.total_tph : 0.0;
        }
        least = fmin(least, north_tph / both_tph);
        most = fmax(most, north_tph / both_tph);
    }
    ef_balance_free(balance);
    ef_shift_lots_settings quickly = lists_quick();
    quickly.runs = 2;
    ef_shift_lots *lots = lists_run(scenario, quickly);
    const ef_shift_lots *north = line_of(lots, "North");
    int found = 0;
    for (int p = 0; p < north->part_count; p++) {
        if (strcmp(north->parts[p].station, "Feed leg") != 0)
            continue;
        assert_near(north->parts[p].least, least, 1e-6);
        assert_near(north->parts[p].most, most, 1e-6);
        found++;
    }
    assert_int_equal(found, 1);
    ef_shift_lots_free(lots);
    ef_scenario_free(scenario);
}

/* ---- what is refused ------------------------------------------------------------------------------------
 */

static void assert_refused(const char *text, const char *words)
{
    ef_scenario *scenario = plant_read(text);
    ef_shift_lots *lots = NULL;
    ef_trace *trace = NULL;
    char *reason = NULL;
    const ef_shift_lots_settings settings = lists_quick();
    ef_trace_settings stretch = ef_trace_defaults(scenario);
    stretch.lots = true;
    assert_int_equal(ef_shift_lots_run(scenario, &settings, &lots, &reason), EF_NO_ANSWER);
    assert_non_null(reason);
    assert_string_equal(reason, words);
    ef_report_free(reason);
    reason = NULL;
    assert_int_equal(ef_trace_run(scenario, &stretch, &trace, &reason), EF_NO_ANSWER);
    assert_non_null(reason);
    assert_string_equal(reason, words);
    ef_report_free(reason);
    ef_scenario_free(scenario);
}

static void what_cannot_run_is_refused_by_name(void **state)
{
    (void)state;
    assert_refused(TWO_LINES "lots:\n  A: {crop: wheat, amount: 9 t, state: done, line: North}\n",
                   "none of the scenario's 1 lots is waiting to be run: they are frozen, running or done");
    /* The scalper sends coarse seed one way and fine seed the other: no lot is on one line. */
    assert_refused(
        FRAME "lines: {North: , South: }\nstations:\n"
              "  Pit: {kind: intake, capacity: 40 t/h, to: Scalper}\n"
              "  Scalper: {kind: scalper, capacity: 20 t/h, discharges: {chaffy: {takes: {chaff: 90 "
              "%, sound: 10 %}, to: South mill}, seed: {takes: rest, to: North cleaner}}}\n"
              "  North cleaner: {kind: weigher, line: North, capacity: 9 t/h, to: Bags}\n"
              "  South mill: {kind: weigher, line: South, capacity: 9 t/h, to: Bags}\n"
              "  Bags: {kind: outlet, product: yes}\n"
              "lots:\n  A: {crop: wheat, amount: 12 t, lines: North}\n",
        "a list of lots runs on each line of its own, but what leaves Scalper goes to South mill as "
        "well as along line North, so that a lot of wheat would be on both; only a split may part "
        "lots between lines");
}

static void a_line_that_cannot_run_a_lot_is_named(void **state)
{
    (void)state;
    /* The south pit takes no barley; a list puts some there. */
    ef_scenario *scenario = plant_read(
        FRAME
        "lines: {North: , South: }\nstations:\n"
        "  North pit: {kind: intake, line: North, capacity: 20 t/h, to: North cleaner}\n"
        "  North cleaner: {kind: air-screen cleaner, line: North, capacity: 9 t/h, discharges: {air: "
        "{takes: {chaff: 100 %}, to: Chaff}, seed: {takes: rest, to: Bags}}}\n"
        "  South pit: {kind: intake, line: South, receives: wheat, capacity: 20 t/h, to: South cleaner}\n"
        "  South cleaner: {kind: air-screen cleaner, line: South, capacity: 9 t/h, discharges: {air: "
        "{takes: {chaff: 100 %}, to: Chaff}, seed: {takes: rest, to: Bags}}}\n"
        "  Chaff: {kind: outlet}\n"
        "  Bags: {kind: outlet, product: yes}\n"
        "lots:\n"
        "  A: {crop: wheat, amount: 9 t}\n"
        "  B: {crop: barley, amount: 9 t}\n"
        "  C: {crop: barley, amount: 9 t}\n");
    static const int order[] = {0, 1};
    static const int lines[] = {0, 1};
    ef_shift_lots_settings settings = lists_quick();
    ef_shift_lots *lots = lists_run(scenario, settings); /* dealt out: both of barley go north */
    static const char *const north[] = {"A", "B", "C"};
    assert_lots(line_of(lots, "North"), north, 3);
    ef_shift_lots_free(lots);
    char *reason = NULL;
    settings.lots = order;
    settings.lines = lines;
    settings.lot_count = 2;
    assert_int_equal(ef_shift_lots_run(scenario, &settings, &lots, &reason), EF_NO_ANSWER);
    assert_string_equal(
        reason,
        "line South cannot run lot B: the steady balance of barley sends nothing to it, as it may where a "
        "split is free and its branch has no `least share`; see evenfeed balance --crop "
        "\"barley\"");
    ef_report_free(reason);
    ef_scenario_free(scenario);
}

static void a_wrong_deal_is_found(void **state)
{
    (void)state;
    /* As a plan: A and B on North, C on South; told as dealt out, B belongs to South. */
    ef_scenario *scenario = plant_read(TWO_LINES "lots:\n"
                                                 "  A: {crop: wheat, amount: 30 t}\n"
                                                 "  B: {crop: wheat, amount: 20 t}\n"
                                                 "  C: {crop: wheat, amount: 24 t}\n");
    static const int order[] = {0, 1, 2};
    static const int lines[] = {0, 0, 1};
    ef_shift_lots_settings settings = lists_quick();
    settings.lots = order;
    settings.lines = lines;
    settings.lot_count = 3;
    ef_shift_lots *lots = lists_run(scenario, settings);
    lots->by_plan = false;
    lots->is_dealt = true;
    char *differences = NULL;
    assert_int_equal(ef_shift_lots_verify(scenario, lots, &differences), EF_INTERNAL);
    assert_non_null(strstr(differences, "lot B was dealt to line North, and line South would be done first"));
    ef_report_free(differences);
    ef_shift_lots_free(lots);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_line_of_its_own_runs_as_it_would_alone),
        cmocka_unit_test(lots_go_where_they_may_and_a_plan_is_kept),
        cmocka_unit_test(a_line_has_its_part_of_what_it_shares),
        cmocka_unit_test(a_stop_after_tonnes_comes_after_the_part_of_them),
        cmocka_unit_test(parts_are_those_of_the_balance),
        cmocka_unit_test(what_cannot_run_is_refused_by_name),
        cmocka_unit_test(a_line_that_cannot_run_a_lot_is_named),
        cmocka_unit_test(a_wrong_deal_is_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
