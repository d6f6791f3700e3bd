/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lists of lots on a plant of several lines: each line as it would run alone, parts of shared stations, who
 * runs what, what is refused, what the verifiers find. Every answer passes through its verifier. */
#include "../lib/near.h"

#include "base/memory.h"
#include "base/text.h"

#include <evenfeed/balance.h>
#include <evenfeed/report.h>
#include <evenfeed/shift_lots.h>
#include <evenfeed/trace.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#define SEED 20261126

#define FRAME                                                                                                \
    "evenfeed: 1\nplant: {name: Lots (invented), labour price: 28 EUR/h, people: 2}\nmaterials: {sound: "    \
    "{wanted: yes}, chaff: }\ncrops:\n"                                                                      \
    "  wheat: {density: 0.8 t/m3, receipt: {sound: rest, chaff: 10 %}}\n"                                    \
    "  barley: {density: 0.5 t/m3, receipt: {sound: rest, chaff: 20 %}}\n"

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

static ef_scenario *load(const char *path)
{
    ef_diags *diags = ef_diags_new();
    ef_scenario *scenario = NULL;
    assert_int_equal(ef_scenario_load(path, NULL, 0, diags, &scenario), EF_OK);
    ef_diags_free(diags);
    return scenario;
}

static bool is_verified(const ef_scenario *scenario, const ef_shift_lots *lots, bool shown)
{
    char *differences = NULL;
    const ef_status status = ef_shift_lots_verify(scenario, lots, &differences);
    assert_true(status == EF_OK || status == EF_INTERNAL);
    if (shown && status != EF_OK)
        print_error("%.2000s", differences);
    ef_report_free(differences);
    return status == EF_OK;
}

static ef_shift_lots *run_lists(const ef_scenario *scenario, ef_shift_lots_settings settings)
{
    ef_shift_lots *lots;
    char *reason = NULL;
    const ef_status status = ef_shift_lots_run(scenario, &settings, &lots, &reason);
    if (status != EF_OK)
        print_error("status %d: %s\n", (int)status, reason ? reason : "");
    ef_report_free(reason);
    assert_int_equal(status, EF_OK);
    assert_true(is_verified(scenario, lots, true));
    return lots;
}

static ef_shift_lots_settings quick(void)
{
    ef_shift_lots_settings settings = ef_shift_lots_defaults();
    settings.runs = 6;
    settings.threads = 1;
    return settings;
}

static bool trace_is_verified(const ef_scenario *scenario, const ef_trace *trace, bool shown)
{
    char *differences = NULL;
    const ef_status status = ef_trace_verify(scenario, trace, &differences);
    if (shown && status != EF_OK)
        print_error("%.2000s", differences ? differences : "");
    ef_report_free(differences);
    return status == EF_OK;
}

static bool trace_agrees(const ef_scenario *scenario)
{
    ef_trace_settings settings = ef_trace_defaults(scenario);
    ef_trace *trace = NULL;
    settings.lots = true;
    if (ef_trace_run(scenario, &settings, &trace, NULL) != EF_OK)
        return false;
    const bool agrees = trace_is_verified(scenario, trace, true);
    ef_trace_free(trace);
    return agrees;
}

static ef_trace *trace_lists(const ef_scenario *scenario, double hours)
{
    ef_trace_settings settings = ef_trace_defaults(scenario);
    ef_trace *trace = NULL;
    char *reason = NULL;
    settings.lots = true;
    settings.hours = hours;
    const ef_status status = ef_trace_run(scenario, &settings, &trace, &reason);
    if (status != EF_OK)
        print_error("status %d: %s\n", (int)status, reason ? reason : "");
    ef_report_free(reason);
    assert_int_equal(status, EF_OK);
    assert_true(trace_is_verified(scenario, trace, true));
    return trace;
}

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
        if (memcmp(&a[i], &b[i], sizeof *a) != 0)
            fail_msg("number %d is %.17g, alone %.17g", (int)i, a[i], b[i]);
}

/* Is a line of a plant of two, to the last bit, what the same line alone makes of the same list? */
static void assert_as_alone(const ef_shift_lots *line, const char *text)
{
    ef_scenario *scenario = read_text(text);
    ef_shift_lots *alone = run_lists(scenario, quick());
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
    ef_scenario *scenario = read_text(TWO_LINES "lots:\n"
                                                "  A: {crop: wheat, amount: 30 t}\n"
                                                "  B: {crop: wheat, amount: 20 t}\n"
                                                "  C: {crop: barley, amount: 24 t}\n"
                                                "  D: {crop: wheat, amount: 25 t}\n"
                                                "  E: {crop: wheat, amount: 10 t}\n");
    ef_shift_lots *lots = run_lists(scenario, quick());
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
    ef_scenario *scenario = read_text(TWO_LINES FIVE_LOTS);
    ef_shift_lots *lots = run_lists(scenario, quick());
    static const char *const south[] = {"B", "C", "D"};
    assert_lots(line_of(lots, "South"), south, 3);
    assert_int_equal(lots->left_out, 1);
    ef_shift_lots_free(lots);

    static const int order[] = {3, 0, 4, 2, 1};
    static const int lines[] = {1, 1, 1, 1, 1};
    static const char *const planned[] = {"D", "A", "C", "B"};
    ef_shift_lots_settings settings = quick();
    settings.lots = order;
    settings.lines = lines;
    settings.lot_count = 5;
    lots = run_lists(scenario, settings);
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

/* The leg is what limits: 10 t/h, of which the split sends 60 % north. Nothing stops or is cleaned. */
#define SHARED_LEG                                                                                           \
    FRAME "lines: {North: , South: }\nstations:\n"                                                           \
          "  Pit: {kind: intake, capacity: 40 t/h, to: Leg}\n"                                               \
          "  Leg: {kind: elevator, capacity: 10 t/h, to: Flap}\n"                                            \
          "  Flap: {kind: split, rule: fixed, branches: {north: {share: 60 %, to: North cleaner}, south: "   \
          "{share: 40 %, to: South cleaner}}}\n"                                                             \
          "  North cleaner: {kind: air-screen cleaner, line: North, capacity: 9 t/h, discharges: {air: "     \
          "{takes: {chaff: 100 %}, to: Screw}, seed: {takes: rest, to: North seed}}}\n"                      \
          "  South cleaner: {kind: air-screen cleaner, line: South, capacity: 9 t/h, discharges: {air: "     \
          "{takes: {chaff: 50 %}, to: Screw}, seed: {takes: rest, to: South seed}}}\n"                       \
          "  Screw: {kind: belt conveyor, capacity: 30 t/h, to: Chaff}\n"                                    \
          "  Chaff: {kind: outlet}\n"                                                                        \
          "  North seed: {kind: outlet, product: yes}\n"                                                     \
          "  South seed: {kind: outlet, product: yes}\n"

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
    ef_scenario *scenario = read_text(SHARED_LEG "lots:\n"
                                                 "  N1: {crop: wheat, amount: 12 t, lines: North}\n"
                                                 "  N2: {crop: wheat, amount: 18 t, lines: North}\n"
                                                 "  S1: {crop: wheat, amount: 12 t, lines: South}\n");
    ef_shift_lots *lots = run_lists(scenario, quick());
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
    ef_scenario *scenario = read_text(
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
    ef_trace *trace = trace_lists(scenario, 0.0);
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
    ef_scenario *scenario = load("scenarios/seasons/pulses-export.yaml");
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
    ef_shift_lots_settings quickly = quick();
    quickly.runs = 2;
    ef_shift_lots *lots = run_lists(scenario, quickly);
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
    ef_scenario *scenario = read_text(text);
    ef_shift_lots *lots = NULL;
    ef_trace *trace = NULL;
    char *reason = NULL;
    const ef_shift_lots_settings settings = quick();
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

/* ---- the verifiers, and the number of threads -----------------------------------------------------------
 */

static void the_verifier_finds_what_is_spoilt(void **state)
{
    (void)state;
    ef_scenario *scenario = load("scenarios/seasons/pulses-export.yaml");
    ef_shift_lots_settings settings = quick();
    settings.runs = 2;
    ef_shift_lots *lots = run_lists(scenario, settings);
    ef_shift_lots *north = (ef_shift_lots *)(uintptr_t)&lots->lines[0];
    double *const numbers[] = {
        &lots->tonnes_t,
        &lots->balance_h,
        &lots->clean_h,
        &lots->rate_tph,
        &lots->list_h.p50.value,
        &lots->work_h.mean.high,
        (double *)(uintptr_t)&lots->run_work_h[1],
        (double *)(uintptr_t)&lots->streams[0].p50_t.value,
        (double *)(uintptr_t)&lots->streams[1].mean_t.value,
        (double *)(uintptr_t)&north->parts[0].most,
        (double *)(uintptr_t)&north->lots[3].clean_h,
        (double *)(uintptr_t)&north->outlet_t[5],
    };
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        const double kept = *numbers[i];
        *numbers[i] = kept * 1.02 + 1.0;
        if (is_verified(scenario, lots, false))
            fail_msg("number %d is spoilt and not found", (int)i);
        *numbers[i] = kept;
    }
    ef_shift_lot *lot = (ef_shift_lot *)(uintptr_t)&north->lots[1];
    const char *name = lot->name;
    lot->name = lots->lines[1].lots[1].name; /* on two lines, and another is missing */
    assert_false(is_verified(scenario, lots, false));
    lot->name = name;
    lots->left_out++;
    assert_false(is_verified(scenario, lots, false));
    lots->left_out--;
    assert_true(is_verified(scenario, lots, true));
    ef_shift_lots_free(lots);
    ef_scenario_free(scenario);
}

static void a_wrong_deal_is_found(void **state)
{
    (void)state;
    /* As a plan: A and B on North, C on South; told as dealt out, B belongs to South. */
    ef_scenario *scenario = read_text(TWO_LINES "lots:\n"
                                                "  A: {crop: wheat, amount: 30 t}\n"
                                                "  B: {crop: wheat, amount: 20 t}\n"
                                                "  C: {crop: wheat, amount: 24 t}\n");
    static const int order[] = {0, 1, 2};
    static const int lines[] = {0, 0, 1};
    ef_shift_lots_settings settings = quick();
    settings.lots = order;
    settings.lines = lines;
    settings.lot_count = 3;
    ef_shift_lots *lots = run_lists(scenario, settings);
    lots->by_plan = false;
    lots->is_dealt = true;
    char *differences = NULL;
    assert_int_equal(ef_shift_lots_verify(scenario, lots, &differences), EF_INTERNAL);
    assert_non_null(strstr(differences, "lot B was dealt to line North, and line South would be done first"));
    ef_report_free(differences);
    ef_shift_lots_free(lots);
    ef_scenario_free(scenario);
}

static void a_trace_of_lines_is_verified_event_by_event(void **state)
{
    (void)state;
    ef_scenario *scenario = load("scenarios/seasons/pulses-export.yaml");
    ef_trace *trace = trace_lists(scenario, 100.0);
    assert_int_equal(trace->line_count, 2);
    ef_trace_event *event = (ef_trace_event *)(uintptr_t)&trace->events[trace->event_count / 2];
    const double kept_h = event->at_h;
    event->at_h += 0.25;
    assert_false(trace_is_verified(scenario, trace, false));
    event->at_h = kept_h;
    trace->event_count--;
    assert_false(trace_is_verified(scenario, trace, false));
    trace->event_count++;
    trace->stop_count--;
    assert_false(trace_is_verified(scenario, trace, false));
    trace->stop_count++;
    trace->product_t += 1.0;
    assert_false(trace_is_verified(scenario, trace, false));
    trace->product_t -= 1.0;
    ef_trace_bin *bin = (ef_trace_bin *)(uintptr_t)&trace->lines[0].bins[0];
    bin->part *= 0.9;
    assert_false(trace_is_verified(scenario, trace, false));
    bin->part /= 0.9;
    assert_true(trace_is_verified(scenario, trace, true));
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

/* ---- random plants --------------------------------------------------------------------------------------
 */

static unsigned random_below(uint64_t *state, unsigned below)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return (unsigned)((*state >> 33) % below);
}

static const char *const line_names[] = {"North", "South", "West"};

/* A number of `low` or up to `span` - 1 more. Drawn one by one, so that all compilers make the same plants.
 */
static unsigned draw(uint64_t *state, unsigned low, unsigned span)
{
    return low + random_below(state, span);
}

/* A pit, a leg and a bin before all lines. */
static void add_shared(efi_text *out, uint64_t *state, int lines)
{
    static const char *const rules[] = {"fixed", "free", "first with room"};
    const char *rule = rules[random_below(state, 3)];
    int rest = 100;
    efi_text_addf(out, "  Pit: {kind: intake, capacity: %u t/h, to: Leg}\n", draw(state, 30, 20));
    efi_text_addf(out, "  Leg: {kind: elevator, capacity: %u t/h, ", draw(state, 8, 20));
    efi_text_addf(out, "stops: {boot: {after: %u t, lasts: 10 min}}, to: Store}\n", draw(state, 20, 60));
    efi_text_addf(out, "  Store: {kind: bin, live volume: %u m3, to: Flap}\n", draw(state, 2, 30));
    efi_text_addf(out, "  Flap:\n    kind: split\n    rule: %s\n    branches:\n", rule);
    for (int i = 0; i < lines; i++) {
        const int share = i + 1 == lines ? rest : (int)draw(state, 20, 20);
        rest -= share;
        if (strcmp(rule, "fixed") == 0)
            efi_text_addf(out, "      b%d: {share: %d %%, to: %s cleaner}\n", i, share, line_names[i]);
        else
            efi_text_addf(out, "      b%d: {to: %s cleaner}\n", i, line_names[i]);
    }
}

static void add_own(efi_text *out, uint64_t *state, const char *name, bool shares, bool returns)
{
    if (!shares)
        efi_text_addf(out, "  %s pit: {kind: intake, line: %s, capacity: %u t/h, to: %s cleaner}\n", name,
                      name, draw(state, 10, 10), name);
    efi_text_addf(out, "  %s cleaner: {kind: air-screen cleaner, line: %s, capacity: %u t/h, ", name, name,
                  draw(state, 3, 8));
    efi_text_addf(out, "stops: {choke: {between: %u h, lasts: 15 min}}, ", draw(state, 1, 9));
    efi_text_addf(out, "discharges: {air: {takes: {chaff: %u %%}, to: Screw}, %s", draw(state, 40, 50),
                  returns ? "again: {takes: {sound: 4 %}, to: Leg}, " : "");
    efi_text_addf(out, "seed: {takes: rest, to: %s bin}}}\n", name);
    efi_text_addf(out, "  %s bin: {kind: bin, line: %s, live volume: %u m3, to: %s bagger}\n", name, name,
                  draw(state, 1, 6), name);
    efi_text_addf(out, "  %s bagger: {kind: bagger, line: %s, capacity: %u t/h, to: %s bags}\n", name, name,
                  draw(state, 3, 9), name);
    efi_text_addf(out, "  %s bags: {kind: outlet, product: yes}\n", name);
}

static void add_lots(efi_text *out, uint64_t *state, int lines)
{
    const int lots = (int)draw(state, 3, 8);
    efi_text_add(out, "lots:\n");
    for (int l = 0; l < lots; l++) {
        const char *crop = random_below(state, 2) == 0 ? "wheat" : "barley";
        const int only = (int)random_below(state, 4);
        efi_text_addf(out, "  L%d: {crop: %s, amount: %u t%s%s}\n", l, crop, draw(state, 4, 30),
                      only < lines ? ", lines: " : "", only < lines ? line_names[only] : "");
    }
}

/* Two or three lines of random machines; half of the plants share pit, leg and a bin before them, to which
 * one line may return some, and some a screw behind them. */
static void make_plant(efi_text *out, uint64_t *state)
{
    const int lines = (int)draw(state, 2, 2);
    const bool shares = random_below(state, 2) == 0;
    const bool returns = shares && random_below(state, 2) == 0;
    const bool in_turn = random_below(state, 2) == 0;
    efi_text_add(out, FRAME "lines: {North: , South: ");
    efi_text_addf(out, "%s}\nstations:\n", lines == 3 ? ", West: " : "");
    if (shares)
        add_shared(out, state, lines);
    for (int i = 0; i < lines; i++)
        add_own(out, state, line_names[i], shares, returns && i == 0);
    efi_text_add(out, random_below(state, 2) == 0
                          ? "  Screw: {kind: belt conveyor, capacity: 40 t/h, to: Chaff}\n"
                            "  Chaff: {kind: outlet}\n"
                          : "  Screw: {kind: outlet}\n");
    efi_text_addf(out, "season:\n  cleaning: %s\n  changeovers:\n",
                  in_turn ? "station by station" : "line clear");
    efi_text_addf(out, "    crop: {when: crop, takes: %u min%s}\n    any: {when: anything, takes: 20 min}\n",
                  draw(state, 30, 90),
                  in_turn ? ", stations: {North bagger: {takes: 25 min}, South bin: {takes: 40 min}}" : "");
    add_lots(out, state, lines);
}

/* To the last bit the same with two threads. */
static void assert_same_for_two_threads(const ef_scenario *scenario, const ef_shift_lots *one)
{
    ef_shift_lots_settings settings = quick();
    char *texts[2];
    settings.threads = 2;
    ef_shift_lots *two = run_lists(scenario, settings);
    assert_int_equal(ef_report_shift_lots_json(one, &texts[0]), EF_OK);
    assert_int_equal(ef_report_shift_lots_json(two, &texts[1]), EF_OK);
    assert_string_equal(texts[0], texts[1]);
    ef_report_free(texts[0]);
    ef_report_free(texts[1]);
    ef_shift_lots_free(two);
}

static bool lists_agree(const ef_scenario *scenario, bool with_threads)
{
    ef_shift_lots *lots = NULL;
    char *reason = NULL;
    const ef_shift_lots_settings settings = quick();
    const ef_status status = ef_shift_lots_run(scenario, &settings, &lots, &reason);
    const bool agree = status == EF_OK && is_verified(scenario, lots, true);
    if (status != EF_OK)
        fprintf(stderr, "status %d: %s\n", (int)status, reason ? reason : "");
    if (agree && with_threads)
        assert_same_for_two_threads(scenario, lots);
    ef_report_free(reason);
    ef_shift_lots_free(lots);
    return agree;
}

static void random_plants_pass_the_verifiers(void **state)
{
    (void)state;
    uint64_t random = SEED;
    for (int number = 0; number < 24; number++) {
        efi_text text = {0};
        make_plant(&text, &random);
        ef_scenario *scenario = read_text(efi_text_get(&text));
        if (!lists_agree(scenario, number < 6) || !trace_agrees(scenario)) {
            fprintf(stderr, "plant %d of seed %d:\n%s", number, SEED, efi_text_get(&text));
            fail();
        }
        ef_scenario_free(scenario);
        efi_text_free(&text);
    }
}

/* ---- memory ---------------------------------------------------------------------------------------------
 */

static ef_status run_short_of_memory(const ef_scenario *scenario, long n, bool traced)
{
    ef_shift_lots_settings settings = quick();
    ef_trace_settings stretch = ef_trace_defaults(scenario);
    ef_shift_lots *lots = NULL;
    ef_trace *trace = NULL;
    char *reason = NULL;
    settings.runs = 2;
    stretch.lots = true;
    efi_memory_fail_at(n);
    const ef_status status = traced ? ef_trace_run(scenario, &stretch, &trace, &reason)
                                    : ef_shift_lots_run(scenario, &settings, &lots, &reason);
    efi_memory_fail_at(0);
    ef_report_free(reason);
    ef_shift_lots_free(lots);
    ef_trace_free(trace);
    return status;
}

static void memory_that_runs_out_is_told(void **state)
{
    (void)state;
    ef_scenario *scenario = read_text(SHARED_LEG "lots:\n"
                                                 "  A: {crop: wheat, amount: 12 t}\n"
                                                 "  B: {crop: barley, amount: 18 t}\n"
                                                 "  C: {crop: wheat, amount: 12 t}\n");
    for (int traced = 0; traced < 2; traced++) {
        ef_status status = EF_MEMORY;
        long n = 1;
        for (; status == EF_MEMORY && n < 100000; n++)
            status = run_short_of_memory(scenario, n, traced != 0);
        assert_int_equal(status, EF_OK);
        assert_true(n > 20);
    }
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
        cmocka_unit_test(the_verifier_finds_what_is_spoilt),
        cmocka_unit_test(a_wrong_deal_is_found),
        cmocka_unit_test(a_trace_of_lines_is_verified_event_by_event),
        cmocka_unit_test(random_plants_pass_the_verifiers),
        cmocka_unit_test(memory_that_runs_out_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
