/* SPDX-License-Identifier: GPL-3.0-or-later
 * Random scenarios through the whole season: every plan passes its verifier, plans are written, read, taken
 * up again at some moment and kept as they are. */
#include "base/random.h"

#include "../lib/random_season.h"

#include <evenfeed/report.h>
#include <evenfeed/season.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define DAY INT64_C(86400)

enum {
    SCENARIOS = 200
};

static int below(efi_random *random, int count)
{
    return (int)efi_random_below(random, (uint32_t)count);
}

/* ---- one scenario ---------------------------------------------------------------------------------------
 */

/* Lines of two stations and more that were cleaned station by station, and those of them with a bin between.
 */
static int by_station, with_bins;

static void count_stations(const ef_season *season)
{
    for (int i = 1; i < season->passage_count; i++) {
        const ef_season_passage *one = &season->passages[i];
        if (one->line != one[-1].line || strcmp(one->crop, one[-1].crop) != 0)
            continue;
        by_station++;
        with_bins += one[-1].room_t > 0.0;
    }
}

static ef_season *plan(const ef_scenario *scenario, const ef_season_settings *settings, const char *text,
                       int number)
{
    ef_season *season = random_season_plan(scenario, settings, text, number);
    if (season)
        count_stations(season);
    return season;
}

static ef_season_plan *write_and_read(const ef_scenario *scenario, const ef_season *season)
{
    char *text;
    ef_season_plan *plan_read = NULL;
    ef_diags *diags = ef_diags_new();
    assert_int_equal(ef_report_season_plan(season, &text), EF_OK);
    const ef_status status = ef_season_plan_read(scenario, "plan.csv", text, strlen(text), diags, &plan_read);
    if (status != EF_OK) {
        char *findings;
        assert_int_equal(ef_report_findings(diags, &findings), EF_OK);
        fprintf(stderr, "%s\n%s", text, findings);
        ef_report_free(findings);
    }
    ef_report_free(text);
    ef_diags_free(diags);
    assert_int_equal(status, EF_OK);
    return plan_read;
}

/* The plan is kept: the same cost without lots moved; taken up later, what has run stays as it was. */
static void take_up(efi_random *random, const ef_scenario *scenario, const ef_season *season,
                    const char *text, int number)
{
    ef_season_plan *before = write_and_read(scenario, season);
    ef_season_settings settings = ef_season_defaults();
    settings.rounds = 1;
    settings.simulated = 0;
    settings.rate_runs = 20;
    settings.plan = before;
    settings.keep_order = true;
    ef_season *kept = plan(scenario, &settings, text, number);
    assert_non_null(kept);
    assert_true(kept->kept_order && kept->has_ours);
    assert_int_equal(kept->moved_lots, 0);
    if (kept->cost.total < season->cost.total - 1e-6 || kept->cost.total > season->cost.total + 1e-6)
        fprintf(stderr, "scenario %d of seed %d: %.3f kept, %.3f before\n%s", number, RANDOM_SEASON_SEED,
                kept->cost.total, season->cost.total, text);
    assert_true(kept->cost.total > season->cost.total - 1e-6 && kept->cost.total < season->cost.total + 1e-6);
    ef_season_free(kept);
    settings.keep_order = false;
    settings.has_at = true;
    settings.at = season->from + (int64_t)below(random, 20) * DAY / 2 + below(random, 3600);
    ef_season *later = plan(scenario, &settings, text, number);
    for (int r = 0; later && r < season->run_count; r++) {
        const ef_season_run *was = &season->runs[r];
        for (int k = 0; k < later->run_count; k++) {
            const ef_season_run *now = &later->runs[k];
            if (now->lot != was->lot || was->start >= settings.at)
                continue;
            if (now->line != was->line || now->start != was->start ||
                (was->end <= settings.at && now->end != was->end))
                fprintf(stderr, "scenario %d of seed %d, from %lld s on: lot %d\n%s", number,
                        RANDOM_SEASON_SEED, (long long)(settings.at - season->from), was->lot, text);
            assert_int_equal(now->line, was->line);
            assert_int_equal(now->start, was->start);
            if (was->end <= settings.at)
                assert_int_equal(now->end, was->end);
        }
    }
    ef_season_free(later);
    ef_season_plan_free(before);
}

static void plans_of_random_scenarios_are_what_the_verifier_works_out(void **state)
{
    int planned = 0;
    (void)state;
    print_message("seed %d\n", RANDOM_SEASON_SEED);
    for (int i = 0; i < SCENARIOS; i++) {
        efi_random random = efi_random_stream(RANDOM_SEASON_SEED, (uint64_t)i, 0);
        char *text = random_season_text(&random);
        ef_scenario *scenario = random_season_read(text);
        if (!scenario) {
            free(text);
            continue;
        }
        ef_season_settings settings = ef_season_defaults();
        settings.rounds = below(&random, 3);
        settings.simulated = below(&random, 2) * 20;
        settings.rate_runs = 20;
        settings.threads = 1 + below(&random, 2);
        ef_season *season = plan(scenario, &settings, text, i);
        planned += season != NULL;
        if (season)
            take_up(&random, scenario, season, text, i);
        ef_season_free(season);
        ef_scenario_free(scenario);
        free(text);
    }
    print_message("%d of %d could be planned\n", planned, SCENARIOS);
    assert_true(planned > SCENARIOS / 2);
}

static void many_lines_were_cleaned_station_by_station(void **state)
{
    (void)state;
    print_message("%d ways of crops over several stations, %d with a bin between\n", by_station, with_bins);
    assert_true(by_station > 50 && with_bins > 20);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plans_of_random_scenarios_are_what_the_verifier_works_out),
        cmocka_unit_test(many_lines_were_cleaned_station_by_station),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
