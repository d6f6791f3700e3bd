/* SPDX-License-Identifier: GPL-3.0-or-later
 * Learning from logs, verifying and reporting with the n-th allocation of the library failing, n = 1, 2, ...
 * until none fails: the status says so, nothing is handed out. Memory that GLPK, jansson and GSL take for
 * themselves is not covered. */
#include "base/memory.h"

#include "../lib/scenarios.h"

#include <evenfeed/learn.h>
#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

enum {
    MOST_ALLOCATIONS = 20000
};

static const char plant[] =
    "evenfeed: 1\nplant: {name: Test}\nmaterials: {seed: {wanted: yes}, chaff: }\n"
    "crops: {wheat: {density: 0.8 t/m3, receipt: {seed: 90 %, chaff: 10 %}}}\nstations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, to: Cleaner}\n"
    "  Cleaner: {kind: machine, capacity: 9 t/h, stops: {choke: {between: 10 h, lasts: 1 h, lock-out: 20 "
    "min}}, discharges: "
    "{chaff: {takes: {chaff: 100 %}, to: Out}, seed: {takes: rest, to: Bin}}}\n"
    "  Bin: {kind: bin, live volume: 3 m3, to: Shed}\n"
    "  Out: {kind: outlet}\n"
    "  Shed: {kind: outlet, product: yes}\n"
    "calendar: {start: 2026-08-31, shifts: {day: {days: daily, from: 06:00, to: 22:00}}}\n";

static const char stops[] = "station,from,to,reason\n"
                            "Cleaner,2026-09-01 06:00,2026-09-01 07:00,choke\n"
                            "Cleaner,2026-09-01 06:30,2026-09-01 07:30,belt\n"
                            "Cleaner,2026-09-02 06:00,2026-09-02 06:10,choke\n"
                            "Cleanr,2026-09-02 09:00,2026-09-02 10:00,choke\n"
                            "Cleaner,2026-09-02 12:00,2026-09-02 13:00,chok\n"
                            "Cleaner,2026-09-03 06:00,2026-09-03 07:10,choke\n"
                            "Cleaner,2026-09-03 09:00,2026-09-03 10:30,choke\n"
                            "Cleaner,2026-09-03 12:00,2026-09-03 12:40,choke\n"
                            "Cleaner,2026-09-03 15:00,2026-09-03 15:30,choke\n"
                            "Cleaner,2026-09-04 06:00,2026-09-04 08:00,choke\n"
                            "Cleaner,2026-09-04 12:00,2026-09-04 12:50,choke\n"
                            "Cleaner,2026-09-05 12:00,2026-09-05 12:30,choke\n"
                            "Cleaner,2026-09-06 12:00,2026-09-06 13:30,choke\n"
                            "Cleaner,2026-09-06 15:00,,choke\n";
static const char totals[] = "from,to,station,tonnes\n"
                             "2026-09-01 06:00,2026-09-01 16:00,Cleaner,100\n"
                             "2026-09-01 06:00,2026-09-01 16:00,Shed,90\n"
                             "2026-09-01 06:00,2026-09-01 16:00,Out,\"8,0\"\n"
                             "2026-09-02 06:00,2026-09-02 16:00,Cleaner,100\n"
                             "2026-09-02 06:00,2026-09-02 16:00,Shed,90\n"
                             "2026-09-02 06:00,2026-09-02 16:00,Cleaner.chaff,10\n";

static ef_learn_settings settings_of(void)
{
    ef_learn_settings settings = ef_learn_defaults();
    settings.stops = (ef_learn_file){"stops.csv", stops, sizeof stops - 1};
    settings.totals = (ef_learn_file){"totals.csv", totals, sizeof totals - 1};
    settings.resamples = 50;
    return settings;
}

static void logs_are_learned_from_or_memory_is_short(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(plant);
    const ef_learn_settings settings = settings_of();
    bool failed = true;
    long n = 1;
    for (; failed && n < MOST_ALLOCATIONS; n++) {
        ef_diags *diags = ef_diags_new();
        ef_learn *learn = NULL;
        (void)efi_memory_fail_at(n);
        const ef_status status = ef_learn_solve(scenario, &settings, diags, &learn, NULL);
        failed = efi_memory_fail_at(0) >= n;
        if (status != (failed ? EF_MEMORY : EF_OK))
            print_message("allocation %ld: status \"%s\"\n", n, ef_status_text(status));
        assert_int_equal(status, failed ? EF_MEMORY : EF_OK);
        assert_true((status == EF_OK) == (learn != NULL));
        ef_learn_free(learn);
        ef_diags_free(diags);
    }
    assert_false(failed);
    assert_true(n > 50);
    ef_scenario_free(scenario);
}

typedef ef_status report_function(const ef_scenario *scenario, const ef_learn *learn, char **text);

static ef_status text_of(const ef_scenario *scenario, const ef_learn *learn, char **text)
{
    (void)scenario;
    return ef_report_learn_text(learn, EF_UNITS_METRIC, text);
}

static ef_status settings_text(const ef_scenario *scenario, const ef_learn *learn, char **text)
{
    (void)scenario;
    return ef_report_learn_settings(learn, text);
}

static ef_status json_of(const ef_scenario *scenario, const ef_learn *learn, char **text)
{
    (void)scenario;
    return ef_report_learn_json(learn, text);
}

static void fail_each(report_function *report)
{
    ef_scenario *scenario = plant_read(plant);
    const ef_learn_settings settings = settings_of();
    ef_diags *diags = ef_diags_new();
    ef_learn *learn = NULL;
    assert_int_equal(ef_learn_solve(scenario, &settings, diags, &learn, NULL), EF_OK);
    bool failed = true;
    for (long n = 1; failed && n < MOST_ALLOCATIONS; n++) {
        char *text = NULL;
        (void)efi_memory_fail_at(n);
        const ef_status status = report(scenario, learn, &text);
        failed = efi_memory_fail_at(0) >= n;
        if (status != (failed ? EF_MEMORY : EF_OK))
            print_message("allocation %ld: %s\n", n, text ? text : ef_status_text(status));
        assert_int_equal(status, failed ? EF_MEMORY : EF_OK);
        ef_report_free(text);
    }
    assert_false(failed);
    ef_learn_free(learn);
    ef_diags_free(diags);
    ef_scenario_free(scenario);
}

static void what_was_learned_is_printed_or_memory_is_short(void **state)
{
    (void)state;
    fail_each(text_of);
    fail_each(settings_text);
    fail_each(json_of);
}

static void what_was_learned_is_verified_or_memory_is_short(void **state)
{
    (void)state;
    fail_each(ef_learn_verify);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(logs_are_learned_from_or_memory_is_short),
        cmocka_unit_test(what_was_learned_is_printed_or_memory_is_short),
        cmocka_unit_test(what_was_learned_is_verified_or_memory_is_short),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
