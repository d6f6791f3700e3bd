/* SPDX-License-Identifier: GPL-3.0-or-later
 * Ways of altering what a season says of rates, shares and stores: the verifier catches each. */
#include "../lib/scenarios.h"
#include "../lib/spoil.h"

#include <evenfeed/report.h>
#include <evenfeed/season.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* Invented: two lines, rates by simulation, a small silo, a large one, a bin and a floor. */
static const char plant[] =
    "evenfeed: 1\n"
    "plant: {name: Test, labour price: 20 EUR/h, people: 2}\n"
    "lines: {N: , S: }\n"
    "materials: {seed: {wanted: yes}, chaff: }\n"
    "crops: {wheat: {density: 0.8 t/m3, receipt: {seed: rest, chaff: 6 %}, price: 200 EUR/t}}\n"
    "stations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, to: Fork}\n"
    "  Fork: {kind: split, rule: free, branches: {a: {to: North}, b: {to: South}}}\n"
    "  North: {kind: machine, line: N, capacity: 10 t/h, to: Seed}\n"
    "  South: {kind: machine, line: S, capacity: 6 t/h, to: Seed}\n"
    "  Seed: {kind: outlet, product: yes}\n"
    "calendar:\n"
    "  start: 2026-09-07\n"
    "  shifts: {day: {days: mon-fri, from: 06:00, to: 16:00}}\n"
    "season:\n"
    "  no room: 2 EUR/t/d\n"
    "  stores:\n"
    "    Silo: {use: raw, holds: 50 m3, clean: 1 h}\n"
    "    Large silo: {use: raw, holds: 90 m3, clean: 1 h}\n"
    "    Hall: {use: raw, holds: 200 m3, clean: 1 h}\n"
    "    Bin: {use: finished, holds: 35 t}\n"
    "    Floor: {use: finished, holds: 400 t, shared: yes}\n"
    "  collected: 1 d\n"
    "lots:\n"
    "  A: {crop: wheat, amount: 30 t, arrives: 2026-09-07}\n"
    "  B: {crop: wheat, amount: 30 t, arrives: 2026-09-14}\n"
    "  C: {crop: wheat, amount: 60 t, arrives: 2026-09-21}\n"
    "  D: {crop: wheat, amount: 20 t, arrives: 2026-09-28, rate: 4 t/h}\n";

typedef struct altered {
    ef_season season;
    ef_season_run *runs;
    ef_season_stay *stays;
    ef_season_store *stores;
    ef_season_rate *rates;
} altered;

static altered copy_of(const ef_season *season)
{
    altered a = {.season = *season,
                 .runs = spoil_copy(season->runs, season->run_count, sizeof *season->runs),
                 .stays = spoil_copy(season->stays, season->stay_count, sizeof *season->stays),
                 .stores = spoil_copy(season->stores, season->store_count, sizeof *season->stores),
                 .rates = spoil_copy(season->rates, season->rate_count, sizeof *season->rates)};
    a.season.runs = a.runs;
    a.season.stays = a.stays;
    a.season.stores = a.stores;
    a.season.rates = a.rates;
    return a;
}

/* Each alters one thing; false where there is nothing to alter. */
static bool one_share_more(altered *a)
{
    a->rates[0].line_share += 0.05;
    return true;
}

/* Rate and share go together, but all shares are more than one. */
static bool all_of_one_line_more(altered *a)
{
    a->rates[0].line_share *= 1.1;
    a->rates[0].rate_tph *= 1.1;
    for (int r = 0; r < a->season.run_count; r++) /* and so do the runs */
        if (a->runs[r].line == 0 && a->runs[r].rate_source != EF_SEASON_RATE_LOT)
            a->runs[r].rate_tph *= 1.1;
    return true;
}

static bool given_for_the_season(altered *a)
{
    a->rates[0].source = EF_SEASON_RATE_SEASON;
    return true;
}

static bool two_sources(altered *a)
{
    a->rates[0].source = a->rates[0].source == EF_SEASON_RATE_SIMULATED ? EF_SEASON_RATE_BALANCE
                                                                        : EF_SEASON_RATE_SIMULATED;
    return true;
}

static bool no_rate_on_a_line(altered *a)
{
    a->rates[0].line = a->rates[1].line;
    return true;
}

static bool more_product_than_seed(altered *a)
{
    a->rates[0].product_share = a->rates[1].product_share = 1.2;
    return true;
}

static bool rate_of_the_lot(altered *a)
{
    for (int r = 0; r < a->season.run_count; r++)
        if (a->runs[r].rate_source == EF_SEASON_RATE_LOT) {
            a->runs[r].rate_source = EF_SEASON_RATE_SIMULATED;
            return true;
        }
    return false;
}

static bool less_work(altered *a)
{
    a->runs[0].work_h -= 0.5;
    return true;
}

/* Moves what lies in a store, and what the run says of it, into another one. */
static bool move_to(altered *a, const char *from, const char *to)
{
    int target = -1;
    for (int s = 0; s < a->season.store_count; s++)
        if (strcmp(a->stores[s].name, to) == 0)
            target = s;
    for (int k = 0; k < a->season.stay_count && target >= 0; k++) {
        ef_season_stay *stay = &a->stays[k];
        if (stay->store < 0 || strcmp(a->stores[stay->store].name, from) != 0)
            continue;
        for (int r = 0; r < a->season.run_count; r++)
            for (int i = 0; i < EF_SEASON_MOST_STORES && a->runs[r].lot == stay->lot; i++) {
                int *place = stay->finished ? &a->runs[r].finished[i] : &a->runs[r].raw[i];
                *place = *place == stay->store ? target : *place;
            }
        a->stores[target].most_t = stay->amount_t > a->stores[target].most_t ? stay->amount_t
                                                                             : a->stores[target].most_t;
        stay->store = target;
        return true;
    }
    return false;
}

static bool larger_store_than_needed(altered *a)
{
    return move_to(a, "Silo", "Hall");
}

static bool floor_instead_of_bin(altered *a)
{
    return move_to(a, "Bin", "Floor");
}

static bool store_that_the_run_does_not_say(altered *a)
{
    a->runs[0].raw[0] = 2;
    return true;
}

static bool holds_more(altered *a)
{
    a->stores[0].holds_m3 += 10.0;
    return true;
}

static bool for_several_lots(altered *a)
{
    a->stores[0].shared = true;
    return true;
}

static bool for_product(altered *a)
{
    a->stores[0].finished = true;
    return true;
}

static bool less_at_most(altered *a)
{
    a->stores[0].most_t -= 1.0;
    return true;
}

static bool store_of_no_lot(altered *a)
{
    a->stays[0].lot = a->season.lot_count;
    return true;
}

static bool one_store_fewer(altered *a)
{
    a->season.store_count--;
    return true;
}

static bool more_cleaning_in_all(altered *a)
{
    a->season.clean_h += 1.0;
    return true;
}

static bool less_overtime_in_all(altered *a)
{
    a->season.overtime_h += 1.0;
    return true;
}

static bool more_without_room(altered *a)
{
    a->season.roomless_lots++;
    return true;
}

static void each_way_of_altering_is_caught(void **state)
{
    static const struct {
        const char *name;
        bool (*alter)(altered *a);
        const char *told; /* part of what is said */
    } changes[] = {{"one share more", one_share_more, "by the share of the line"},
                   {"all of one line more", all_of_one_line_more, "shares of all lines"},
                   {"given for the season", given_for_the_season, "not from where the answer says"},
                   {"two sources", two_sources, "not of one source"},
                   {"no rate on a line", no_rate_on_a_line, "rates on one line"},
                   {"more product than seed", more_product_than_seed, "more becomes product"},
                   {"rate of the lot", rate_of_the_lot, "not from where the answer says"},
                   {"less work", less_work, "hours of work"},
                   {"larger store than needed", larger_store_than_needed, "is smaller, free and holds it"},
                   {"floor instead of bin", floor_instead_of_bin, "is free and holds it"},
                   {"store that the run does not say", store_that_the_run_does_not_say, "does not say"},
                   {"holds more", holds_more, "it holds"},
                   {"for several lots", for_several_lots, "holds several lots"},
                   {"for product", for_product, "is for product"},
                   {"less at most", less_at_most, "the most in it"},
                   {"store of no lot", store_of_no_lot, "a lot that there is not"},
                   {"one store fewer", one_store_fewer, "stores"},
                   {"more cleaning in all", more_cleaning_in_all, "hours of cleaning in all"},
                   {"less overtime in all", less_overtime_in_all, "overtime in all"},
                   {"more without room", more_without_room, "lots without room"}};
    (void)state;
    ef_scenario *scenario = plant_read(plant);
    ef_season_settings settings = ef_season_defaults();
    ef_season *season = NULL;
    char *text = NULL;
    settings.rounds = 2;
    settings.simulated = 0;
    settings.rate_runs = 10;
    assert_int_equal(ef_season_run_plan(scenario, &settings, &season, &text), EF_OK);
    if (ef_season_verify(scenario, season, &text) != EF_OK)
        fail_msg("%s", text);
    for (size_t k = 0; k < sizeof changes / sizeof changes[0]; k++) {
        altered a = copy_of(season);
        text = NULL;
        if (!changes[k].alter(&a))
            fail_msg("%s: nothing to alter", changes[k].name);
        if (ef_season_verify(scenario, &a.season, &text) == EF_OK || !text || !strstr(text, changes[k].told))
            fail_msg("%s: %s", changes[k].name, text ? text : "not caught");
        ef_report_free(text);
        free(a.runs);
        free(a.stays);
        free(a.stores);
        free(a.rates);
    }
    ef_season_free(season);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(each_way_of_altering_is_caught)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
