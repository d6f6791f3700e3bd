/* SPDX-License-Identifier: GPL-3.0-or-later
 * All pictures while the n-th allocation fails: one is drawn, the same as ever, or memory is short, and
 * nothing leaks or is changed. */
#include "base/memory.h"

#include "../lib/made_season.h"
#include "../lib/scenarios.h"

#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

/* Every allocation of the first hundred fails once, then ever fewer of them: they repeat themselves. */
static long next_after(long n)
{
    return n < 100 ? n + 1 : n + n / 40;
}

/* Draws all pictures of some answers with failing allocations; how many pictures. */
static int draw_all(const ef_picture_source *source)
{
    int count = 0;
    for (int i = 0; ef_picture_at(i); i++) {
        const ef_picture *picture = ef_picture_at(i);
        char *whole = NULL;
        if (ef_picture_parts(picture, source) == 0)
            continue;
        assert_int_equal(ef_picture_svg(picture, source, 0, EF_UNITS_METRIC, &whole), EF_OK);
        bool failed = true;
        for (long n = 1; failed; n = next_after(n)) {
            char *const untouched = (char *)(uintptr_t)1;
            char *svg = untouched;
            (void)efi_memory_fail_at(n);
            const ef_status status = ef_picture_svg(picture, source, 0, EF_UNITS_METRIC, &svg);
            failed = efi_memory_fail_at(0) >= n;
            if (status != (failed ? EF_MEMORY : EF_OK))
                fail_msg("%s: status %d when allocation %ld fails", picture->name, (int)status, n);
            if (status == EF_OK) {
                assert_string_equal(svg, whole);
                ef_report_free(svg);
            } else {
                assert_ptr_equal(svg, untouched);
            }
        }
        ef_report_free(whole);
        count++;
    }
    return count;
}

static void pictures_of_a_plant_are_drawn_or_memory_is_short(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/cereal-seed.yaml");
    ef_balance_settings balance_settings = ef_balance_defaults();
    ef_bins_settings bins_settings = ef_bins_defaults();
    ef_shift_settings shift_settings = ef_shift_defaults();
    const ef_trace_settings trace_settings = ef_trace_defaults(scenario);
    balance_settings.ladder = 2;
    bins_settings.traces = 4;
    shift_settings.runs = 20;
    shift_settings.remedies = false;
    ef_balance *balance;
    ef_bins *bins;
    ef_trace *trace;
    ef_shift *shift;
    assert_int_equal(ef_balance_solve(scenario, &balance_settings, &balance), EF_OK);
    assert_int_equal(ef_bins_run(scenario, &bins_settings, &bins), EF_OK);
    assert_int_equal(ef_trace_run(scenario, &trace_settings, &trace, NULL), EF_OK);
    assert_int_equal(ef_shift_run(scenario, &shift_settings, &shift, NULL), EF_OK);
    const ef_picture_source source = {.balance = balance, .bins = bins, .trace = trace, .shift = shift};
    assert_int_equal(draw_all(&source), 8);
    ef_balance_free(balance);
    ef_bins_free(bins);
    ef_trace_free(trace);
    ef_shift_free(shift);
    ef_scenario_free(scenario);
}

static void pictures_of_a_season_are_drawn_or_memory_is_short(void **state)
{
    (void)state;
    ef_season *season = made_season(12, 2, 3, 20, 1);
    const ef_picture_source source = {.season = season};
    assert_int_equal(draw_all(&source), 2);
    made_season_free(season);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pictures_of_a_plant_are_drawn_or_memory_is_short),
        cmocka_unit_test(pictures_of_a_season_are_drawn_or_memory_is_short),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
