/* SPDX-License-Identifier: GPL-3.0-or-later
 * Loading with the n-th allocation of the library failing, n = 1, 2, ... until none fails: the status says
 * so, nothing is handed out, and (under the address sanitizer) nothing leaks. Memory that libyaml and
 * libunistring take for themselves is not covered. */
#include "base/memory.h"

#include "../lib/files.h"

#include <evenfeed/report.h>
#include <evenfeed/scenario.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum {
    MOST_ALLOCATIONS = 100000
};

/* A scenario with a mistake of nearly every kind, so that most findings are drafted. */
static const char bad_text[] =
    "evenfeed: 1\n"
    "plant: {name: Test, shift length: 8, unit: us, surge rule: 15 km}\n"
    "materials: {seed: {wanted: yes}, chaff: {density: 9 x}, Seed: , rest: , chaff: }\n"
    "crops:\n"
    "  wheat: {recipt: {seed: 95 %, chaff: 2 %}, density: 77 t/m3, test weight: 5 lb/bu}\n"
    "  barley: {receipt: {seed: rest, stones: 1 %, chaff: rest}}\n"
    "  rye: {receipt: {seed: 100 %}}\n"
    "stations:\n"
    "  Pit: {kind: intake, capacity: 40 bu/h, count: 0, to: Cleaner}\n"
    "  Cleaner:\n"
    "    kind: air-screen cleaner\n"
    "    capacity: {wheat: 12 t/h, oats: 0 t/h, other crops: about 5}\n"
    "    live volume: 4 m3\n"
    "    discharges:\n"
    "      dust: {takes: {chaff: 90}, to: Dust}\n"
    "      seed: {takes: {seed: 60 %, other materials: *x}, to: Shde}\n"
    "      light: {takes: {seed: 60 %}, to: [Shed]}\n"
    "    to: Shed\n"
    "  Split: {kind: split, branches: {a: {share: 60 %, to: Shed}, b: {share: 60 %, to: Shed}}}\n"
    "  Scale: {kind: scale, capacity: 9 t/h, least feed: 12 t/h}\n"
    "  Dust: {kind: outlet, product: true, price: 5 USD/t, line: North}\n"
    "  Shed: {kind: outlet, product: yes, price: 5 EUR/t}\n"
    "  \"She\\td\": {kind: outlet\n";

/* One that only the checks along the spouts find fault with. */
static const char odd_text[] =
    "evenfeed: 1\n"
    "plant: {name: Test}\n"
    "materials: {seed: {wanted: yes}, chaff: , stones: , Stones: }\n"
    "crops: {wheat: {receipt: {seed: rest, chaff: 2 %}}, barley: {receipt: {chaff: 100 %}}}\n"
    "stations:\n"
    "  Pit: {kind: intake, capacity: 40 m3/h, to: {wheat: Bin, barley: Deck}}\n"
    "  Bin: {kind: bin, to: Deck}\n"
    "  Deck:\n"
    "    kind: density separator\n"
    "    discharges:\n"
    "      back: {takes: {chaff: 100 %}, to: Bin}\n"
    "      seed: {takes: rest, to: Shed}\n"
    "  Leg: {kind: elevator, capacity: 4 t/h, to: Pit}\n"
    "  leg: {kind: elevator, capacity: 4 t/h, to: leg}\n"
    "  Shed: {kind: outlet, product: yes}\n";

/* Reads with the n-th allocation failing; returns whether one failed. */
static bool read_failing(const char *text, long n, ef_status otherwise)
{
    ef_diags *diags = ef_diags_new();
    assert_non_null(diags);
    ef_scenario *const untouched = (ef_scenario *)(uintptr_t)1;
    ef_scenario *scenario = untouched;
    (void)efi_memory_fail_at(n);
    const ef_status status = ef_scenario_read("t.yaml", text, strlen(text), diags, &scenario);
    const bool failed = efi_memory_fail_at(0) >= n;
    assert_int_equal(status, failed ? EF_MEMORY : otherwise);
    if (status == EF_OK) {
        assert_ptr_not_equal(scenario, untouched);
        ef_scenario_free(scenario);
    } else {
        assert_ptr_equal(scenario, untouched);
    }
    ef_diags_free(diags);
    return failed;
}

/* Lets every allocation fail once. */
static void fail_each_allocation(const char *text, ef_status otherwise)
{
    long n = 1;
    while (read_failing(text, n, otherwise)) {
        n++;
        assert_true(n < MOST_ALLOCATIONS);
    }
    assert_true(n > 10);
}

static void a_good_scenario_is_read_or_memory_is_short(void **state)
{
    (void)state;
    char *text = file_read("scenarios/cereal-seed.yaml", NULL);
    fail_each_allocation(text, EF_OK);
    free(text);
}

static void a_bad_scenario_has_its_findings_or_memory_is_short(void **state)
{
    (void)state;
    fail_each_allocation(bad_text, EF_SCENARIO);
}

static void an_odd_scenario_has_its_findings_or_memory_is_short(void **state)
{
    (void)state;
    fail_each_allocation(odd_text, EF_SCENARIO);
}

/* Loads a file with settings while the n-th allocation fails, n = 1, 2, ... */
static void fail_each_allocation_of_file(const char *path, const char *const *settings, int count,
                                         ef_status otherwise)
{
    bool failed = true;
    for (long n = 1; failed; n++) {
        ef_diags *diags = ef_diags_new();
        ef_scenario *scenario = NULL;
        (void)efi_memory_fail_at(n);
        const ef_status status = ef_scenario_load(path, settings, count, diags, &scenario);
        failed = efi_memory_fail_at(0) >= n;
        assert_int_equal(status, failed ? EF_MEMORY : otherwise);
        assert_true((scenario != NULL) == (status == EF_OK));
        ef_scenario_free(scenario);
        ef_diags_free(diags);
    }
}

static void a_file_is_read_or_memory_is_short(void **state)
{
    (void)state;
    fail_each_allocation_of_file("tests/bad/names-alike.yaml", NULL, 0, EF_OK);
}

static void tables_and_settings_are_read_or_memory_is_short(void **state)
{
    (void)state;
    const char *const settings[] = {"stations.Pit.capacity={wheat: 9 t/h}", "stations.Pit.count=2"};
    fail_each_allocation_of_file("tests/bad/csv-syntax.yaml", settings, 2, EF_SCENARIO);
    fail_each_allocation_of_file("tests/bad/names-alike.yaml", settings, 2, EF_OK);
    const char *const wrong[] = {"stations.Pti.count=2", "x", "stations.Pit.count=[2"};
    fail_each_allocation_of_file("tests/bad/names-alike.yaml", wrong, 3, EF_SCENARIO);
}

static void lots_and_season_are_read_or_memory_is_short(void **state)
{
    (void)state;
    fail_each_allocation_of_file("scenarios/examples/lots-and-season.yaml", NULL, 0, EF_OK);
    fail_each_allocation_of_file("tests/bad/name-unknown-cell.yaml", NULL, 0, EF_SCENARIO);
    fail_each_allocation_of_file("tests/bad/number-bad-table.yaml", NULL, 0, EF_SCENARIO);
    fail_each_allocation_of_file("tests/bad/after-loop.yaml", NULL, 0, EF_SCENARIO);
    fail_each_allocation_of_file("tests/bad/name-unknown-rule-lot.yaml", NULL, 0, EF_SCENARIO);
    fail_each_allocation_of_file("tests/bad/changeover-unused.yaml", NULL, 0, EF_OK);
}

static void findings_are_reported_or_memory_is_short(void **state)
{
    (void)state;
    ef_diags *diags = ef_diags_new();
    ef_scenario *scenario = NULL;
    assert_int_equal(ef_scenario_read("t.yaml", bad_text, strlen(bad_text), diags, &scenario), EF_SCENARIO);
    bool failed = true;
    for (long n = 1; failed; n++) {
        char *const untouched = (char *)(uintptr_t)1;
        char *report = untouched;
        (void)efi_memory_fail_at(n);
        const ef_status status = ef_report_findings(diags, &report);
        failed = efi_memory_fail_at(0) >= n;
        assert_int_equal(status, failed ? EF_MEMORY : EF_OK);
        if (status == EF_OK)
            ef_report_free(report);
        else
            assert_ptr_equal(report, untouched);
    }
    ef_diags_free(diags);
}

static void a_list_of_findings_is_made_or_memory_is_short(void **state)
{
    (void)state;
    for (long n = 1; n <= 2; n++) {
        (void)efi_memory_fail_at(n);
        assert_null(ef_diags_new());
        (void)efi_memory_fail_at(0);
    }
    ef_diags_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_good_scenario_is_read_or_memory_is_short),
        cmocka_unit_test(a_bad_scenario_has_its_findings_or_memory_is_short),
        cmocka_unit_test(an_odd_scenario_has_its_findings_or_memory_is_short),
        cmocka_unit_test(a_file_is_read_or_memory_is_short),
        cmocka_unit_test(tables_and_settings_are_read_or_memory_is_short),
        cmocka_unit_test(lots_and_season_are_read_or_memory_is_short),
        cmocka_unit_test(findings_are_reported_or_memory_is_short),
        cmocka_unit_test(a_list_of_findings_is_made_or_memory_is_short),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
