/* SPDX-License-Identifier: GPL-3.0-or-later
 * A list of lots in a trace: hours worked out by hand, events, what is refused, what the verifier finds. */
#include "../lib/lists.h"
#include "../lib/near.h"

#include "base/memory.h"

#include <evenfeed/report.h>
#include <evenfeed/trace.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static const char plant[] = TWO_CROPS "season:\n  changeovers:\n    " TWO_RULES THREE_LOTS;

static void lots_come_in_leave_and_are_cleaned_for_as_worked_out(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(plant);
    ef_trace *trace = lists_trace(scenario, 0.0);
    const double begin_h[] = {0.0, 3.5, 9.5};
    const double end_h[] = {2.0, 6.5, 11.5};
    const double clean_from_h[] = {-1.0, 2.0, 6.5};
    assert_int_equal(trace->lot_count, 3);
    for (int k = 0; k < 3; k++) {
        const ef_trace_lot *lot = &trace->lots[k];
        assert_near(lot->begin_h, begin_h[k], 1e-5);
        assert_near(lot->in_h, end_h[k], 1e-5); /* nothing between the pit and the bags holds any */
        assert_near(lot->end_h, end_h[k], 1e-5);
        assert_near(lot->clean_from_h, clean_from_h[k], 1e-5);
        assert_near(lot->clean_to_h, k == 0 ? -1.0 : begin_h[k], 1e-5);
    }
    assert_true(trace->line_clear);
    assert_true(trace->hours > 11.5 && trace->hours < 11.5 + 2.0 / 3600.0);
    assert_near(trace->intake_t, 33.0, 1e-9);
    assert_near(trace->product_t, 9.0 + 13.5 + 6.4, 1e-9);
    assert_near(trace->balance_tph, 33.0 / 7.0, 1e-9);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

/* Events with these words, of this lot where it is given. */
static int count_events(const ef_trace *trace, const char *what, const char *lot)
{
    int count = 0;
    for (int e = 0; e < trace->event_count; e++)
        count += strcmp(trace->events[e].what, what) == 0 &&
                 (!lot || (trace->events[e].cause && strcmp(trace->events[e].cause, lot) == 0));
    return count;
}

static void every_boundary_of_a_lot_is_an_event(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(plant);
    ef_trace *trace = lists_trace(scenario, 0.0);
    static const char *const names[] = {"A", "B", "C"};
    for (int k = 0; k < 3; k++) {
        assert_int_equal(count_events(trace, "lot ended", names[k]),
                         3); /* pit, cleaner, bagger; outlets take any */
        assert_int_equal(count_events(trace, "lot has left", names[k]), 1);
        assert_int_equal(count_events(trace, "clean-down", names[k]), k > 0);
        assert_int_equal(count_events(trace, "cleaned", names[k]), k > 0);
    }
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

static void a_station_is_not_short_while_it_is_cleaned(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/seasons/clover-grass-seed.yaml");
    ef_trace *trace = lists_trace(scenario, 0.0);
    static const char *const shorts[] = {"slow", "warm-up", "starved", "waiting", "blocked"};
    for (int s = 0; s < trace->station_count; s++) {
        const ef_trace_station *station = &trace->stations[s];
        double short_h = 0.0;
        for (int i = 0; i < trace->state_count; i++)
            for (size_t k = 0; k < sizeof shorts / sizeof *shorts; k++)
                short_h += strcmp(trace->states[i], shorts[k]) == 0 ? station->state_h[i] : 0.0;
        if (station->steady_feed)
            assert_true(station->shortfall_t > 0.0 &&
                        station->shortfall_t <= station->set_rate_tph * short_h + 1e-9);
    }
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

static void a_stretch_may_end_within_the_list(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(plant);
    ef_trace *trace = lists_trace(scenario, 5.0);
    assert_near(trace->intake_t, 10.0 + 7.5, 1e-5);
    assert_true(trace->lots[1].end_h < 0.0 && trace->lots[2].begin_h < 0.0);
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

static void bundled_lists_pass_the_verifier_and_are_printed(void **state)
{
    (void)state;
    static const char *const files[] = {"scenarios/examples/cleaned-in-turn.yaml",
                                        "scenarios/seasons/clover-grass-seed.yaml",
                                        "scenarios/seasons/cereal-seed.yaml"};
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        ef_scenario *scenario = plant_load(files[i]);
        ef_trace *trace = lists_trace(scenario, 0.0);
        char *text = NULL;
        for (int k = 0; k < trace->lot_count; k++)
            assert_true(trace->lots[k].end_h > 0.0);
        assert_int_equal(ef_report_trace_text(trace, EF_UNITS_METRIC, 20, &text), EF_OK);
        assert_non_null(strstr(text, trace->lots[trace->lot_count - 1].name));
        ef_report_free(text);
        ef_trace_free(trace);
        ef_scenario_free(scenario);
    }
}

static void the_verifier_finds_lots_that_are_spoilt(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/seasons/clover-grass-seed.yaml");
    ef_trace *trace = lists_trace(scenario, 0.0);
    ef_trace_lot *lot = (ef_trace_lot *)(uintptr_t)&trace->lots[4];
    double *const numbers[] = {&lot->tonnes_t, &lot->clean_h,    &lot->begin_h,
                               &lot->in_h,     &lot->clean_to_h, &lot->clean_from_h};
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        const double kept = *numbers[i];
        *numbers[i] = kept - 0.2;
        if (lists_trace_verified(scenario, trace, false))
            fail_msg("number %d is spoilt and not found", (int)i);
        *numbers[i] = kept;
    }
    assert_true(lists_trace_verified(scenario, trace, true));
    ef_trace_free(trace);
    ef_scenario_free(scenario);
}

static void orders_that_cannot_be_are_refused(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(plant);
    static const int none[] = {9};
    ef_trace_settings settings = ef_trace_defaults(scenario);
    ef_trace *trace = NULL;
    settings.lots = true;
    settings.order = none;
    settings.order_count = 1;
    assert_int_equal(ef_trace_run(scenario, &settings, &trace, NULL), EF_USAGE);
    ef_scenario_free(scenario);
}

static void memory_that_runs_out_is_told(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(plant);
    ef_trace_settings settings = ef_trace_defaults(scenario);
    settings.lots = true;
    ef_status status = EF_MEMORY;
    for (long n = 1; status == EF_MEMORY && n < 100000; n++) {
        ef_trace *trace = NULL;
        efi_memory_fail_at(n);
        status = ef_trace_run(scenario, &settings, &trace, NULL);
        efi_memory_fail_at(0);
        if (status == EF_OK)
            ef_trace_free(trace);
    }
    assert_int_equal(status, EF_OK);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lots_come_in_leave_and_are_cleaned_for_as_worked_out),
        cmocka_unit_test(every_boundary_of_a_lot_is_an_event),
        cmocka_unit_test(a_station_is_not_short_while_it_is_cleaned),
        cmocka_unit_test(a_stretch_may_end_within_the_list),
        cmocka_unit_test(bundled_lists_pass_the_verifier_and_are_printed),
        cmocka_unit_test(the_verifier_finds_lots_that_are_spoilt),
        cmocka_unit_test(orders_that_cannot_be_are_refused),
        cmocka_unit_test(memory_that_runs_out_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
