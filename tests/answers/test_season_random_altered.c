/* SPDX-License-Identifier: GPL-3.0-or-later
 * Seasons of random scenarios, altered in one thing: the verifier catches each. */
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
        efi_random random = efi_random_stream(RANDOM_SEASON_SEED, (uint64_t)i, 0);
        char *text = random_season_text(&random);
        ef_scenario *scenario = random_season_read(text);
        ef_season_settings settings = ef_season_defaults();
        settings.rounds = 0;
        settings.simulated = 20;
        settings.rate_runs = 20;
        ef_season *season = scenario ? random_season_plan(scenario, &settings, text, i) : NULL;
        for (size_t k = 0; season && k < sizeof changes / sizeof changes[0]; k++) {
            for (int r = 0; r < season->run_count; r++) {
                altered a = copy_of(season);
                char *differences = NULL;
                if (changes[k].alter(&a, r)) {
                    if (ef_season_verify(scenario, &a.season, &differences) == EF_OK)
                        fprintf(stderr, "scenario %d of seed %d: not caught: %s, run %d\n%s", i,
                                RANDOM_SEASON_SEED, changes[k].name, r, text);
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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(altered_answers_are_caught),
    };
    return cmocka_run_group_tests_name("altered random seasons", tests, NULL, NULL);
}
