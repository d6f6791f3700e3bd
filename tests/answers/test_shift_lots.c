/* SPDX-License-Identifier: GPL-3.0-or-later
 * A list of lots: times worked out by hand, mass of every lot, clean-downs by the rules and by the calendar,
 * what is refused, what the verifier finds. Every answer here passes through its verifier too. */
#include "../lib/lists.h"
#include "../lib/near.h"

#include "base/memory.h"

#include <evenfeed/report.h>
#include <evenfeed/shift_lots.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static const ef_shift_lots_station *station_of(const ef_shift_lots *lots, const char *name)
{
    for (int s = 0; s < lots->station_count; s++)
        if (strcmp(lots->stations[s].name, name) == 0)
            return &lots->stations[s];
    fail_msg("no station %s", name);
    return &lots->stations[0];
}

/* ---- times by hand --------------------------------------------------------------------------------------
 */

static void a_cleared_line_takes_its_tonnes_over_the_rates_and_its_clean_downs(void **state)
{
    (void)state;
    /* 10 t and 15 t of wheat at 5 t/h, 8 t of barley at 4 t/h: 2 h, 3 h, 2 h; between them 1.5 h for the
     * other variety and 3 h for the other crop. Nothing stops, nothing holds anything. */
    ef_scenario *scenario = plant_read(TWO_CROPS "season:\n  changeovers:\n    " TWO_RULES THREE_LOTS);
    ef_shift_lots *lots = lists_run(scenario, lists_quick());
    const double begin_h[] = {0.0, 3.5, 9.5};
    const double end_h[] = {2.0, 6.5, 11.5};
    assert_int_equal(lots->lot_count, 3);
    for (int k = 0; k < 3; k++) {
        assert_near(lots->begin_h[k], begin_h[k], 1e-5);
        assert_near(lots->end_h[k], end_h[k], 1e-5);
    }
    assert_near(lots->balance_h, 7.0, 1e-9);
    assert_near(lots->clean_h, 4.5, 1e-9);
    assert_near(lots->work_h.mean.value, 11.5, 1e-5);
    /* all stations are cleaned, and the shares change with the crop */
    assert_near(station_of(lots, "Cleaner")->hours[EF_SHIFT_CLEAN_DOWN], 4.5, 1e-5);
    assert_near(station_of(lots, "Bagger")->hours[EF_SHIFT_CLEAN_DOWN], 4.5, 1e-5);
    assert_near(lots->lots[1].product_t, 13.5, 1e-9);
    assert_near(lots->lots[2].product_t, 6.4, 1e-9);
    ef_shift_lots_free(lots);
    ef_scenario_free(scenario);
}

static void the_bundled_list_takes_what_a_pencil_says(void **state)
{
    (void)state;
    /* lots-and-season.yaml: all limited by the cleaner at 8 t/h, 576 t; clean-downs by its rules, lot by lot:
     * other variety 2 h, treated to untreated 4 h, other variety 2 h, other crop 3 h, any two 20 min, other
     * crop 3 h, other treatment 30 min. No stops. */
    ef_scenario *scenario = plant_load("scenarios/examples/lots-and-season.yaml");
    ef_shift_lots *lots = lists_run(scenario, lists_quick());
    static const double clean_h[] = {0.0, 2.0, 4.0, 2.0, 3.0, 1.0 / 3.0, 3.0, 0.5};
    assert_int_equal(lots->lot_count, 8);
    assert_int_equal(lots->left_out, 1); /* W-101 is frozen */
    for (int k = 0; k < 8; k++)
        assert_near(lots->lots[k].clean_h, clean_h[k], 1e-12);
    assert_near(lots->work_h.mean.value, 576.0 / 8.0 + 14.0 + 5.0 / 6.0, 1e-4);
    ef_shift_lots_free(lots);
    ef_scenario_free(scenario);
}

#define IN_TURN(teams)                                                                                       \
    TWO_CROPS "season:\n"                                                                                    \
              "  cleaning: station by station\n"                                                             \
              "  teams: " teams "\n"                                                                         \
              "  changeovers:\n"                                                                             \
              "    any: {when: anything, stations: {Cleaner: {takes: 1 h}, Bagger: {takes: 30 min}}}\n"      \
              "lots:\n  A: {crop: wheat, amount: 10 t}\n  B: {crop: wheat, amount: 10 t}\n"

static void stations_are_cleaned_in_turn_by_so_many_teams(void **state)
{
    (void)state;
    /* Both end the lot at 2 h. Two teams: clean at 3 h and 2.5 h, so B runs from 3 to 5. One team cleans the
     * cleaner until 3 h, then the bagger until 3.5 h, when B can pass: it ends at 5.5. */
    static const struct {
        const char *text;
        double end_h;
        double waits_h;
    } cases[] = {{IN_TURN("2"), 5.0, 0.0}, {IN_TURN("1"), 5.5, 1.0}};
    for (size_t i = 0; i < 2; i++) {
        ef_scenario *scenario = plant_read(cases[i].text);
        ef_shift_lots *lots = lists_run(scenario, lists_quick());
        assert_near(lots->end_h[1], cases[i].end_h, 1e-5);
        assert_near(station_of(lots, "Cleaner")->hours[EF_SHIFT_CLEAN_DOWN], 1.0, 1e-5);
        assert_near(station_of(lots, "Bagger")->hours[EF_SHIFT_CLEAN_DOWN], 0.5, 1e-5);
        assert_near(station_of(lots, "Bagger")->hours[EF_SHIFT_CREW], cases[i].waits_h, 1e-5);
        ef_shift_lots_free(lots);
        ef_scenario_free(scenario);
    }
}

static void clean_downs_rest_while_nobody_works(void **state)
{
    (void)state;
    /* Work from 06:00 to 10:00 with a break from 09:00 to 09:30 and maintenance of the whole plant from 06:00
     * to 06:30 on the second day. A runs from 06:00 to 08:00; 3 h of cleaning: 1 h to the break, half an hour
     * to the end of work, 1.5 h on the next day from 06:30 to 08:00; B, 5 t, until 09:00, where the break
     * begins. */
    ef_scenario *scenario = plant_read(
        TWO_CROPS "calendar:\n"
                  "  start: 2026-09-07\n"
                  "  shifts: {early: {days: daily, from: 06:00, to: 10:00}}\n"
                  "  breaks: {tea: {from: 09:00, to: 09:30}}\n"
                  "  maintenance: {belts: {begin: 2026-09-08T06:00, end: 2026-09-08T06:30}}\n"
                  "season:\n  changeovers:\n    any: {when: anything, takes: 3 h}\n"
                  "lots:\n  A: {crop: wheat, amount: 10 t}\n  B: {crop: wheat, amount: 5 t}\n");
    ef_shift_lots *lots = lists_run(scenario, lists_quick());
    assert_near(lots->end_h[0], 2.0, 1e-5);
    assert_near(lots->begin_h[1], 26.0, 1e-5);
    assert_near(lots->end_h[1], 27.0, 1e-5);
    assert_near(lots->work_h.mean.value, 6.0, 1e-5);
    const ef_shift_lots_station *cleaner = station_of(lots, "Cleaner");
    assert_near(cleaner->hours[EF_SHIFT_CLEAN_DOWN], 3.0, 1e-5);
    assert_near(cleaner->hours[EF_SHIFT_BREAK], 0.5, 1e-5);
    assert_near(cleaner->hours[EF_SHIFT_CLOSED], 20.0, 1e-5);
    assert_near(cleaner->hours[EF_SHIFT_OWN_STOP], 0.5, 1e-5);
    assert_int_equal(lots->period_count, 1);
    ef_shift_lots_free(lots);
    ef_scenario_free(scenario);
}

static void a_bin_holds_the_tonnes_of_the_crop_at_hand(void **state)
{
    (void)state;
    /* 10 m3 are 8 t of wheat and 5 t of barley. The cleaner brings 10 t/h, of which 9 t/h (8 t/h of barley)
     * go on, the bagger takes 2 t/h. Of 40 t of wheat 36 go through the bagger, which begins at 0: the lot
     * ends at 18 h. The bin is full at 8/7 h, then the cleaner is held to 2/0.9 t/h. Barley the same, 5 t at
     * 5/6 h, from 18 h on: 40 t give 32 and end at 34 h. At which hour a lot is all in says how much the bin
     * holds. */
    ef_scenario *scenario = plant_read(
        FRAME "stations:\n"
              "  Pit: {kind: intake, capacity: 20 t/h, to: Cleaner}\n"
              "  Cleaner:\n"
              "    kind: air-screen cleaner\n"
              "    capacity: 10 t/h\n"
              "    discharges:\n"
              "      air: {takes: {chaff: 100 %}, to: Chaff}\n"
              "      seed: {takes: rest, to: Bin}\n"
              "  Bin: {kind: bin, live volume: 10 m3, to: Bagger}\n"
              "  Bagger: {kind: bagger, capacity: 2 t/h, to: Bags}\n"
              "  Bags: {kind: outlet, product: yes}\n"
              "  Chaff: {kind: outlet}\n"
              "lots:\n  A: {crop: wheat, amount: 40 t}\n  B: {crop: barley, amount: 40 t}\n");
    ef_shift_lots *lots = lists_run(scenario, lists_quick());
    assert_near(lots->end_h[0], 18.0, 1e-5);
    assert_near(lots->end_h[1], 34.0, 1e-5);
    /* in 8/7 h come 80/7 t, the rest at 20/9 t/h, so A is in at 14 h; barley: in 5/6 h 50/6 t, the rest
     * at 2.5 t/h: 13.5 h. The pit takes while it is at it, else it waits for the line to clear. */
    assert_near(station_of(lots, "Cleaner")->hours[EF_SHIFT_NO_MATERIAL], 34.0 - 14.0 - 13.5, 1e-5);
    ef_shift_lots_free(lots);
    ef_scenario_free(scenario);
}

/* ---- mass, order, chance --------------------------------------------------------------------------------
 */

static void bundled_lists_pass_the_verifier_for_any_number_of_threads(void **state)
{
    (void)state;
    static const char *const files[] = {"scenarios/examples/cleaned-in-turn.yaml",
                                        "scenarios/seasons/clover-grass-seed.yaml",
                                        "scenarios/seasons/cereal-seed.yaml"};
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        ef_scenario *scenario = plant_load(files[i]);
        ef_shift_lots_settings settings = lists_quick();
        settings.runs = 10;
        ef_shift_lots *one = lists_run(scenario, settings);
        settings.threads = 3;
        ef_shift_lots *three = lists_run(scenario, settings);
        const size_t count = (size_t)one->runs * (size_t)one->lot_count;
        assert_memory_equal(one->end_h, three->end_h, count * sizeof *one->end_h);
        assert_memory_equal(one->outlet_t, three->outlet_t,
                            count * (size_t)one->outlet_count * sizeof *one->outlet_t);
        for (int s = 0; s < one->station_count; s++)
            assert_memory_equal(one->stations[s].hours, three->stations[s].hours,
                                sizeof one->stations[s].hours);
        ef_shift_lots_free(one);
        ef_shift_lots_free(three);
        ef_scenario_free(scenario);
    }
}

static void an_order_is_kept_and_its_clean_downs_are_its_own(void **state)
{
    (void)state;
    /* C, A, B: 3 h for the other crop, 1.5 h for the other variety; done lots stay out. */
    ef_scenario *scenario = plant_read(TWO_CROPS
                                       "season:\n  changeovers:\n    " TWO_RULES THREE_LOTS
                                       "  D: {crop: wheat, amount: 9 t, state: done}\n"
                                       "  E: {crop: wheat, amount: 20 t, left: 5 t, state: running}\n");
    static const int order[] = {3, 2, 4, 0, 1};
    ef_shift_lots_settings settings = lists_quick();
    settings.lots = order;
    settings.lot_count = 5;
    ef_shift_lots *lots = lists_run(scenario, settings);
    static const char *const names[] = {"C", "E", "A", "B"};
    assert_int_equal(lots->lot_count, 4);
    for (int k = 0; k < 4; k++)
        assert_string_equal(lots->lots[k].name, names[k]);
    assert_near(lots->tonnes_t, 8.0 + 5.0 + 10.0 + 15.0, 1e-12);
    assert_near(lots->work_h.mean.value, 2.0 + 3.0 + 1.0 + 1.5 + 2.0 + 1.5 + 3.0, 1e-5);
    ef_shift_lots_free(lots);
    ef_scenario_free(scenario);
}

/* ---- what is refused ------------------------------------------------------------------------------------
 */

static void assert_refused(const char *text, const char *words)
{
    ef_scenario *scenario = plant_read(text);
    ef_shift_lots *lots = NULL;
    char *reason = NULL;
    const ef_shift_lots_settings settings = lists_quick();
    assert_int_equal(ef_shift_lots_run(scenario, &settings, &lots, &reason), EF_NO_ANSWER);
    assert_non_null(reason);
    if (!strstr(reason, words))
        fail_msg("\"%s\" does not say \"%s\"", reason, words);
    ef_report_free(reason);
    ef_scenario_free(scenario);
}

static void what_cannot_run_is_refused_by_name(void **state)
{
    (void)state;
    assert_refused(TWO_CROPS, "the scenario has no lots; they belong under `lots`");
    assert_refused(TWO_CROPS "lots:\n  A: {crop: wheat, amount: 9 t, state: done}\n",
                   "none of the scenario's 1 lots is waiting");
    assert_refused(TWO_CROPS "season:\n  changeovers:\n    never so: {when: crop, never: yes}\n" THREE_LOTS,
                   "lot C must not follow lot B, by the rule \"never so\"");
}

static void settings_out_of_range_are_refused(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(TWO_CROPS THREE_LOTS);
    static const int none[] = {7};
    ef_shift_lots *lots = NULL;
    ef_shift_lots_settings settings = lists_quick();
    settings.runs = 1;
    assert_int_equal(ef_shift_lots_run(scenario, &settings, &lots, NULL), EF_USAGE);
    settings = lists_quick();
    settings.has_from = true; /* no calendar */
    assert_int_equal(ef_shift_lots_run(scenario, &settings, &lots, NULL), EF_USAGE);
    settings = lists_quick();
    settings.lots = none;
    settings.lot_count = 1;
    assert_int_equal(ef_shift_lots_run(scenario, &settings, &lots, NULL), EF_USAGE);
    ef_scenario_free(scenario);
}

/* ---- the verifier ---------------------------------------------------------------------------------------
 */

/* Each number of an answer spoilt in its turn must be found. */
static void the_verifier_finds_what_is_spoilt(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/seasons/clover-grass-seed.yaml");
    ef_shift_lots *lots = lists_run(scenario, lists_quick());
    double *const numbers[] = {
        &lots->tonnes_t,
        &lots->balance_h,
        &lots->clean_h,
        &lots->rate_tph,
        &lots->list_h.p50.value,
        &lots->list_h.mean.high,
        &lots->work_h.p90.value,
        (double *)(uintptr_t)&lots->lots[2].tonnes_t,
        (double *)(uintptr_t)&lots->lots[2].clean_h,
        (double *)(uintptr_t)&lots->lots[2].product_t,
        (double *)(uintptr_t)&lots->lots[2].rate_tph,
        (double *)(uintptr_t)&lots->lots[2].end_h.p10.value,
        (double *)(uintptr_t)&lots->lots[2].work_h.p50.value,
        (double *)(uintptr_t)&lots->in_t[3],
        (double *)(uintptr_t)&lots->outlet_t[3 * lots->outlet_count],
        (double *)(uintptr_t)&lots->begin_h[3],
        (double *)(uintptr_t)&lots->end_h[3],
        (double *)(uintptr_t)&lots->run_work_h[1],
        (double *)(uintptr_t)&lots->periods[0].work_h,
        (double *)(uintptr_t)&lots->shift_intake_t[1],
        (double *)(uintptr_t)&lots->shift_outlet_t[1],
        (double *)(uintptr_t)&lots->streams[1].p50_t.value,
        (double *)(uintptr_t)&lots->stations[lots->account].hours[EF_SHIFT_CLEAN_DOWN],
        (double *)(uintptr_t)&lots->stations[1].hours[EF_SHIFT_SLOW],
    };
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        const double kept = *numbers[i];
        *numbers[i] = kept * 1.01 + 0.01;
        if (lists_verified(scenario, lots, false))
            fail_msg("number %d is spoilt and not found", (int)i);
        *numbers[i] = kept;
    }
    assert_true(lists_verified(scenario, lots, true));
    ef_shift_lots_free(lots);
    ef_scenario_free(scenario);
}

static void memory_that_runs_out_is_told(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(TWO_CROPS "season:\n  changeovers:\n    " TWO_RULES THREE_LOTS);
    ef_shift_lots_settings settings = lists_quick();
    settings.runs = 2;
    ef_status status = EF_MEMORY;
    long n = 1;
    for (; status == EF_MEMORY && n < 100000; n++) {
        ef_shift_lots *lots = NULL;
        char *reason = NULL;
        efi_memory_fail_at(n);
        status = ef_shift_lots_run(scenario, &settings, &lots, &reason);
        efi_memory_fail_at(0);
        ef_report_free(reason);
        if (status == EF_OK)
            ef_shift_lots_free(lots);
    }
    assert_int_equal(status, EF_OK);
    assert_true(n > 20);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_cleared_line_takes_its_tonnes_over_the_rates_and_its_clean_downs),
        cmocka_unit_test(the_bundled_list_takes_what_a_pencil_says),
        cmocka_unit_test(stations_are_cleaned_in_turn_by_so_many_teams),
        cmocka_unit_test(clean_downs_rest_while_nobody_works),
        cmocka_unit_test(a_bin_holds_the_tonnes_of_the_crop_at_hand),
        cmocka_unit_test(bundled_lists_pass_the_verifier_for_any_number_of_threads),
        cmocka_unit_test(an_order_is_kept_and_its_clean_downs_are_its_own),
        cmocka_unit_test(what_cannot_run_is_refused_by_name),
        cmocka_unit_test(settings_out_of_range_are_refused),
        cmocka_unit_test(the_verifier_finds_what_is_spoilt),
        cmocka_unit_test(memory_that_runs_out_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
