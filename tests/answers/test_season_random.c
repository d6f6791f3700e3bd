/* SPDX-License-Identifier: GPL-3.0-or-later
 * Random scenarios through the whole season: every plan passes its verifier, plans are written, read, taken
 * up again at some moment and kept as they are, and answers that were altered are caught. */
#include "base/random.h"

#include "../lib/random_season.h"
#include "../lib/spoil.h"

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
    SCENARIOS = 200,
    SEED = 20261125
};

static int below(efi_random *random, int count)
{
    return (int)efi_random_below(random, (uint32_t)count);
}

/* ---- one scenario ---------------------------------------------------------------------------------------
 */

static ef_scenario *read_text(const char *text)
{
    ef_diags *diags = ef_diags_new();
    ef_scenario *scenario = NULL;
    const ef_status status = ef_scenario_read("random.yaml", text, strlen(text), diags, &scenario);
    assert_true(status == EF_OK || status == EF_SCENARIO); /* two lots running on one line, say */
    ef_diags_free(diags);
    return scenario;
}

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

static void assert_verified(const ef_scenario *scenario, const ef_season *season, const char *text,
                            int number)
{
    char *differences = NULL;
    const ef_status status = ef_season_verify(scenario, season, &differences);
    if (status != EF_OK) {
        char *shown = NULL;
        if (ef_report_season_text(season, EF_UNITS_METRIC, &shown) == EF_OK)
            fprintf(stderr, "%s\n", shown);
        ef_report_free(shown);
        fprintf(stderr, "scenario %d of seed %d:\n%s\n%s", number, SEED, text, differences);
    }
    ef_report_free(differences);
    assert_int_equal(status, EF_OK);
    count_stations(season);
}

static ef_season *plan(const ef_scenario *scenario, const ef_season_settings *settings, const char *text,
                       int number)
{
    ef_season *season = NULL;
    char *reason = NULL;
    const ef_status status = ef_season_run_plan(scenario, settings, &season, &reason);
    if (status != EF_OK && status != EF_NO_ANSWER)
        fprintf(stderr, "scenario %d of seed %d: status %d\n%s", number, SEED, (int)status, text);
    ef_report_free(reason);
    assert_true(status == EF_OK || status == EF_NO_ANSWER);
    if (season)
        assert_verified(scenario, season, text, number);
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
        fprintf(stderr, "scenario %d of seed %d: %.3f kept, %.3f before\n%s", number, SEED, kept->cost.total,
                season->cost.total, text);
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
                fprintf(stderr, "scenario %d of seed %d, from %lld s on: lot %d\n%s", number, SEED,
                        (long long)(settings.at - season->from), was->lot, text);
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
    print_message("seed %d\n", SEED);
    for (int i = 0; i < SCENARIOS; i++) {
        efi_random random = efi_random_stream(SEED, (uint64_t)i, 0);
        char *text = random_season_text(&random);
        ef_scenario *scenario = read_text(text);
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

/* ---- altered answers ------------------------------------------------------------------------------------
 */

/* An answer of which arrays may be altered. */
typedef struct altered {
    ef_season season;
    ef_season_run *runs;
    ef_season_lot *lots;
    ef_season_stay *stays;
    ef_season_line *lines;
} altered;

static altered copy_of(const ef_season *season)
{
    altered a = {.season = *season,
                 .runs = spoil_copy(season->runs, season->run_count, sizeof *season->runs),
                 .lots = spoil_copy(season->lots, season->lot_count, sizeof *season->lots),
                 .stays = spoil_copy(season->stays, season->stay_count, sizeof *season->stays),
                 .lines = spoil_copy(season->lines, season->line_count, sizeof *season->lines)};
    a.season.runs = a.runs;
    a.season.lots = a.lots;
    a.season.stays = a.stays;
    a.season.lines = a.lines;
    return a;
}

/* Each alters one thing; false where there is nothing to alter. */
static bool later_start(altered *a, int r)
{
    a->runs[r].start += 60;
    return a->lots[a->runs[r].lot].state != EF_SEASON_DONE &&
           a->lots[a->runs[r].lot].state != EF_SEASON_RUNNING;
}
static bool later_end(altered *a, int r)
{
    a->runs[r].end += 60;
    return a->lots[a->runs[r].lot].state != EF_SEASON_DONE;
}
static bool other_rule(altered *a, int r)
{
    a->runs[r].rule = "another rule";
    return a->lots[a->runs[r].lot].state == EF_SEASON_WAITING;
}
static bool cheaper_cleaning(altered *a, int r)
{
    a->runs[r].clean_cost -= 1.0;
    return a->lots[a->runs[r].lot].state == EF_SEASON_WAITING;
}
static bool less_late(altered *a, int r)
{
    a->runs[r].late_days += 0.01;
    return a->lots[a->runs[r].lot].state != EF_SEASON_DONE;
}
static bool more_rate(altered *a, int r)
{
    a->runs[r].rate_tph *= 1.01;
    return a->lots[a->runs[r].lot].state != EF_SEASON_DONE;
}
static bool more_restarts(altered *a, int r)
{
    a->runs[r].restarts++;
    return a->lots[a->runs[r].lot].state != EF_SEASON_DONE;
}
static bool other_lot(altered *a, int r)
{
    const int other = (r + 1) % a->season.run_count;
    const int kept = a->runs[r].lot;
    a->runs[r].lot = a->runs[other].lot;
    a->runs[other].lot = kept;
    return other != r;
}
static bool twice(altered *a, int r)
{
    a->runs[r].lot = a->runs[(r + 1) % a->season.run_count].lot;
    return a->season.run_count > 1;
}
static bool moved(altered *a, int r)
{
    a->runs[r].is_moved = true;
    return true;
}
static bool cheaper(altered *a, int r)
{
    a->season.cost.total -= 1.0;
    return r == 0;
}
static bool cheaper_term(altered *a, int r)
{
    a->season.cost.term[r % EF_SEASON_TERMS] += 1.0;
    a->season.cost.total += 1.0;
    return true;
}
static bool high_bound(altered *a, int r)
{
    a->season.bound.term[EF_SEASON_CLEANING] = a->season.cost.term[EF_SEASON_CLEANING] + 1.0;
    return r == 0 && a->season.forbidden == 0;
}
static bool more_forbidden(altered *a, int r)
{
    a->season.forbidden++;
    return r == 0;
}
static bool less_stored(altered *a, int r)
{
    if (r >= a->season.stay_count)
        return false;
    a->stays[r].amount_t -= 0.5;
    return true;
}
static bool longer_stored(altered *a, int r)
{
    if (r >= a->season.stay_count)
        return false;
    a->stays[r].to += 60;
    return true;
}
static bool same_store(altered *a, int r)
{
    if (r >= a->season.stay_count || a->stays[r].store >= 0)
        return false;
    for (int s = 0; s < a->season.store_count; s++)
        if (a->season.stores[s].finished == a->stays[r].finished)
            a->stays[r].store = s; /* what finds no room is put into the last, which must be full */
    return a->stays[r].store >= 0;
}
static bool cheaper_last(altered *a, int r)
{
    a->lines[0].last_clean_cost += 1.0;
    return r == 0;
}
static bool other_due(altered *a, int r)
{
    a->lots[a->runs[r].lot].due = 0;
    return true;
}
static bool sure(altered *a, int r)
{
    a->runs[r].chance_late = 0.123456;
    return a->season.seasons_simulated > 0;
}

static bool later_station(altered *a, int r)
{
    static ef_season_cleaned cleaned[8];
    if (a->runs[r].cleaned_count == 0)
        return false;
    memcpy(cleaned, a->runs[r].cleaned, (size_t)a->runs[r].cleaned_count * sizeof *cleaned);
    cleaned[a->runs[r].cleaned_count - 1].from += 60;
    a->runs[r].cleaned = cleaned;
    return true;
}
static bool less_stands(altered *a, int r)
{
    if (a->runs[r].cleaned_count == 0)
        return false;
    a->runs[r].stands_h += 0.01;
    return true;
}
static bool one_station_fewer(altered *a, int r)
{
    if (a->runs[r].cleaned_count == 0)
        return false;
    a->runs[r].cleaned_count--;
    return true;
}
static bool cleared_after_all(altered *a, int r)
{
    if (!a->lines[0].by_station)
        return false;
    a->lines[0].by_station = false;
    return r == 0;
}

static void altered_answers_are_caught(void **state)
{
    static const struct {
        const char *name;
        bool (*alter)(altered *a, int run);
    } changes[] = {{"later start", later_start},
                   {"later end", later_end},
                   {"other rule", other_rule},
                   {"cheaper cleaning", cheaper_cleaning},
                   {"less late", less_late},
                   {"more rate", more_rate},
                   {"more restarts", more_restarts},
                   {"other lot", other_lot},
                   {"twice", twice},
                   {"moved", moved},
                   {"cheaper", cheaper},
                   {"cheaper term", cheaper_term},
                   {"high bound", high_bound},
                   {"more forbidden", more_forbidden},
                   {"less stored", less_stored},
                   {"longer stored", longer_stored},
                   {"same store", same_store},
                   {"cheaper last", cheaper_last},
                   {"other due", other_due},
                   {"sure", sure},
                   {"later station", later_station},
                   {"less stands", less_stands},
                   {"one station fewer", one_station_fewer},
                   {"cleared after all", cleared_after_all}};
    int caught[sizeof changes / sizeof changes[0]] = {0};
    (void)state;
    for (int i = 0; i < 40; i++) {
        efi_random random = efi_random_stream(SEED, (uint64_t)i, 0);
        char *text = random_season_text(&random);
        ef_scenario *scenario = read_text(text);
        ef_season_settings settings = ef_season_defaults();
        settings.rounds = 0;
        settings.simulated = 20;
        settings.rate_runs = 20;
        ef_season *season = scenario ? plan(scenario, &settings, text, i) : NULL;
        for (size_t k = 0; season && k < sizeof changes / sizeof changes[0]; k++) {
            for (int r = 0; r < season->run_count; r++) {
                altered a = copy_of(season);
                char *differences = NULL;
                if (changes[k].alter(&a, r)) {
                    if (ef_season_verify(scenario, &a.season, &differences) == EF_OK)
                        fprintf(stderr, "scenario %d of seed %d: not caught: %s, run %d\n%s", i, SEED,
                                changes[k].name, r, text);
                    assert_non_null(differences);
                    caught[k]++;
                }
                ef_report_free(differences);
                free(a.runs);
                free(a.lots);
                free(a.stays);
                free(a.lines);
            }
        }
        ef_season_free(season);
        ef_scenario_free(scenario);
        free(text);
    }
    for (size_t k = 0; k < sizeof changes / sizeof changes[0]; k++)
        assert_true(caught[k] > 0);
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
        cmocka_unit_test(altered_answers_are_caught),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
