/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lists of lots on a plant of several lines: random plants, what the verifiers find, short memory. */
#include "../lib/lists.h"

#include "base/memory.h"
#include "base/text.h"

#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#define SEED 20261126

static bool trace_agrees(const ef_scenario *scenario)
{
    ef_trace_settings settings = ef_trace_defaults(scenario);
    ef_trace *trace = NULL;
    settings.lots = true;
    if (ef_trace_run(scenario, &settings, &trace, NULL) != EF_OK)
        return false;
    const bool agrees = lists_trace_verified(scenario, trace, true);
    ef_trace_free(trace);
    return agrees;
}

/* ---- the verifiers, and the number of threads -----------------------------------------------------------
 */

static void the_verifier_finds_what_is_spoilt(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/seasons/pulses-export.yaml");
    ef_shift_lots_settings settings = lists_quick();
    settings.runs = 2;
    ef_shift_lots *lots = lists_run(scenario, settings);
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
        if (lists_verified(scenario, lots, false))
            fail_msg("number %d is spoilt and not found", (int)i);
        *numbers[i] = kept;
    }
    ef_shift_lot *lot = (ef_shift_lot *)(uintptr_t)&north->lots[1];
    const char *name = lot->name;
    lot->name = lots->lines[1].lots[1].name; /* on two lines, and another is missing */
    assert_false(lists_verified(scenario, lots, false));
    lot->name = name;
    lots->left_out++;
    assert_false(lists_verified(scenario, lots, false));
    lots->left_out--;
    assert_true(lists_verified(scenario, lots, true));
    ef_shift_lots_free(lots);
    ef_scenario_free(scenario);
}

static void a_trace_of_lines_is_verified_event_by_event(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/seasons/pulses-export.yaml");
    ef_trace *trace = lists_trace(scenario, 100.0);
    assert_int_equal(trace->line_count, 2);
    ef_trace_event *event = (ef_trace_event *)(uintptr_t)&trace->events[trace->event_count / 2];
    const double kept_h = event->at_h;
    event->at_h += 0.25;
    assert_false(lists_trace_verified(scenario, trace, false));
    event->at_h = kept_h;
    trace->event_count--;
    assert_false(lists_trace_verified(scenario, trace, false));
    trace->event_count++;
    trace->stop_count--;
    assert_false(lists_trace_verified(scenario, trace, false));
    trace->stop_count++;
    trace->product_t += 1.0;
    assert_false(lists_trace_verified(scenario, trace, false));
    trace->product_t -= 1.0;
    ef_trace_bin *bin = (ef_trace_bin *)(uintptr_t)&trace->lines[0].bins[0];
    bin->part *= 0.9;
    assert_false(lists_trace_verified(scenario, trace, false));
    bin->part /= 0.9;
    assert_true(lists_trace_verified(scenario, trace, true));
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
    static const char *const rules[] = {"fixed", "free"};
    const char *rule = rules[random_below(state, 2)];
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
            efi_text_addf(out, "      b%d: {least share: 15 %%, to: %s cleaner}\n", i, line_names[i]);
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
    ef_shift_lots_settings settings = lists_quick();
    char *texts[2];
    settings.threads = 2;
    ef_shift_lots *two = lists_run(scenario, settings);
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
    const ef_shift_lots_settings settings = lists_quick();
    const ef_status status = ef_shift_lots_run(scenario, &settings, &lots, &reason);
    const bool agree = status == EF_OK && lists_verified(scenario, lots, true);
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
        ef_scenario *scenario = plant_read(efi_text_get(&text));
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
    ef_shift_lots_settings settings = lists_quick();
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
    ef_scenario *scenario = plant_read(SHARED_LEG "lots:\n"
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

typedef ef_status printer(const void *answer, int table, char **text);

static ef_status print_lots(const void *answer, int table, char **text)
{
    const ef_shift_lots *lots = answer;
    return table < 0    ? ef_report_shift_lots_text(lots, EF_UNITS_METRIC, text)
           : table == 9 ? ef_report_shift_lots_json(lots, text)
                        : ef_report_shift_lots_csv(lots, table, text);
}

static ef_status print_trace(const void *answer, int table, char **text)
{
    const ef_trace *trace = answer;
    return table < 0    ? ef_report_trace_text(trace, EF_UNITS_METRIC, 20, text)
           : table == 0 ? ef_report_trace_events_csv(trace, text)
           : table == 1 ? ef_report_trace_stops_csv(trace, text)
           : table == 2 ? ef_report_trace_levels_csv(trace, text)
                        : ef_report_trace_feeds_csv(trace, text);
}

/* Prints with the n-th allocation failing, n = 1, 2, ... until one passes. */
static void assert_told_or_printed(printer *print, const void *answer, int table)
{
    ef_status status = EF_MEMORY;
    char *whole = NULL;
    assert_int_equal(print(answer, table, &whole), EF_OK);
    for (long n = 1; status == EF_MEMORY && n < 100000; n++) {
        char *text = NULL;
        efi_memory_fail_at(n);
        status = print(answer, table, &text);
        efi_memory_fail_at(0);
        if (status == EF_OK)
            assert_string_equal(text, whole);
        else
            assert_null(text);
        ef_report_free(text);
    }
    assert_int_equal(status, EF_OK);
    ef_report_free(whole);
}

static void lines_are_printed_or_memory_is_short(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(SHARED_LEG "lots:\n"
                                                  "  A: {crop: wheat, amount: 12 t}\n"
                                                  "  B: {crop: barley, amount: 18 t}\n"
                                                  "  C: {crop: wheat, amount: 12 t}\n");
    ef_shift_lots *lots = lists_run(scenario, lists_quick());
    ef_trace *trace = lists_trace(scenario, 0.0);
    for (int table = -1; table < 4; table++) {
        assert_told_or_printed(print_lots, lots, table);
        assert_told_or_printed(print_trace, trace, table);
    }
    assert_told_or_printed(print_lots, lots, 9);
    ef_trace_free(trace);
    ef_shift_lots_free(lots);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_verifier_finds_what_is_spoilt),
        cmocka_unit_test(a_trace_of_lines_is_verified_event_by_event),
        cmocka_unit_test(random_plants_pass_the_verifiers),
        cmocka_unit_test(memory_that_runs_out_is_told),
        cmocka_unit_test(lines_are_printed_or_memory_is_short),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
