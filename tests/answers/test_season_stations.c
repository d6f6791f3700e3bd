/* SPDX-License-Identifier: GPL-3.0-or-later
 * Seasons of lines that are cleaned station by station, by hand: what a changeover loses at the slowest
 * station lies between its own cleaning and the sum of all, and is the more the smaller the bin; and when
 * such a line is cleared after all, the answer says why. */
#include "base/text.h"

#include "../lib/scenarios.h"

#include <evenfeed/season.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#define HOUR INT64_C(3600)

typedef struct answer {
    ef_scenario *scenario;
    ef_season *season;
} answer;

/* Two lots of 24 t, around the clock. `after` is where the cleaner sends its seed, `more` stations besides,
 * `rule` what another variety takes. */
static answer ask_rule(int teams, const char *after, const char *more, const char *rule)
{
    efi_text text = {0};
    answer a = {0};
    char *reason = NULL;
    char *differences = NULL;
    efi_text_addf(
        &text,
        "evenfeed: 1\nplant: {name: By hand}\nmaterials: {seed: {wanted: yes}}\n"
        "crops: {wheat: {density: 0.75 t/m3, receipt: {seed: 100 %%}}}\n"
        "stations:\n"
        "  Pit: {kind: intake, capacity: 50 t/h, to: Cleaner}\n"
        "  Cleaner: {kind: machine, capacity: 12 t/h, to: %s}\n%s"
        "  Deck: {kind: machine, capacity: 4 t/h, to: Seed}\n"
        "  Seed: {kind: outlet, product: yes, use: seed}\n"
        "calendar: {start: 2026-09-07, shifts: {day: {days: daily, from: 00:00, to: 12:00}, night: "
        "{days: daily, from: 12:00, to: 24:00}}}\n"
        "season:\n  planning rate: {wheat: 4 t/h}\n  cleaning: station by station\n"
        "  teams: %d\n  cleaned before arrival: yes\n"
        "  changeovers: {variety: {when: variety, %s}}\n"
        "lots:\n  A: {crop: wheat, variety: x, amount: 24 t, due: 2026-09-07T06:00, late: 99 EUR/h}\n"
        "  B: {crop: wheat, variety: y, amount: 24 t}\n",
        after, more, teams, rule);
    assert_false(text.failed);
    a.scenario = plant_read(text.bytes);
    ef_season_settings settings = ef_season_defaults();
    settings.simulated = 0;
    settings.rate_runs = 20;
    assert_int_equal(ef_season_run_plan(a.scenario, &settings, &a.season, &reason), EF_OK);
    assert_int_equal(ef_season_verify(a.scenario, a.season, &differences), EF_OK);
    efi_text_free(&text);
    return a;
}

static answer ask(int teams, const char *after, const char *more)
{
    return ask_rule(teams, after, more, "stations: {Cleaner: {takes: 3 h}, Deck: {takes: 1 h}}");
}

static void done(answer *a)
{
    ef_season_free(a->season);
    ef_scenario_free(a->scenario);
}

/* B's run, with what the slowest station stands before it. */
static void assert_loss(int teams, const char *after, const char *more, double stands_h, int64_t end_s)
{
    answer a = ask(teams, after, more);
    const ef_season_run *run = &a.season->runs[1];
    assert_true(a.season->lines[0].by_station);
    assert_false(a.season->cleared_lines);
    assert_string_equal(a.season->lots[run->lot].name, "B");
    assert_int_equal(run->cleaned_count, 2);
    assert_true(fabs(run->stands_h - stands_h) < 1e-9);
    assert_int_equal(run->end - a.season->at, end_s);
    done(&a);
}

/*
 * At 4 t/h the deck works 6 h on 24 t. The cleaner, 4 / 12 loaded in the balance where the deck is full,
 * could pass them in 2 h. Cleaning takes 3 h at the cleaner and 1 h at the deck.
 *
 * Without a bin the cleaner ends A with the deck, at 6 h, and both ask for a team then. Two teams: the
 * cleaner is clean at 9 h, the deck long before; B starts at both at 9 h: the deck stands 3 h, the largest.
 * One team: first the cleaner, 6-9 h, then the deck, 9-10 h: it stands 4 h, the sum.
 *
 * A bin of 4 m3 holds 3 t, an eighth of A. The cleaner can be an eighth of A ahead, so it ends when the deck
 * has passed seven eighths, at 5.25 h. One team: cleaner 5.25-8.25 h, deck 8.25-9.25 h: it stands 3.25 h. Two
 * teams: B comes to the deck at 8.25 h: it stands 2.25 h.
 *
 * A bin of 16 m3 holds 12 t, half of A: the cleaner ends at 3 h and is clean at 6 h, when the deck ends. It
 * is cleaned 6-7 h by either number of teams: it stands its own 1 h, and no line can lose less.
 */
static void small_bins_push_the_loss_towards_the_sum(void **state)
{
    (void)state;
    const char *const small = "  Bin: {kind: bin, live volume: 4 m3, to: Deck}\n";
    const char *const large = "  Bin: {kind: bin, live volume: 16 m3, to: Deck}\n";
    assert_loss(1, "Deck", "", 4.0, 16 * HOUR);
    assert_loss(2, "Deck", "", 3.0, 15 * HOUR);
    assert_loss(1, "Bin", small, 3.25, 15 * HOUR + 900);
    assert_loss(2, "Bin", small, 2.25, 14 * HOUR + 900);
    assert_loss(1, "Bin", large, 1.0, 13 * HOUR);
    assert_loss(2, "Bin", large, 1.0, 13 * HOUR);
}

/* A leg of 5 min: the deck has A from 0 h 05 to 6 h 05, and is clean at 7 h 05 while B is there since 6 h. */
static void travel_is_a_delay(void **state)
{
    (void)state;
    assert_loss(2, "Bin",
                "  Bin: {kind: bin, live volume: 16 m3, to: Leg}\n"
                "  Leg: {kind: elevator, capacity: 40 t/h, travel time: 5 min, to: Deck}\n",
                1.0, 13 * HOUR + 300);
}

/*
 * Where somebody enters, the least of a cleaning, 15 min where nothing is said, and the bin entry of 2 h 45
 * min follow one another: the cleaner takes 3 h, whatever `takes` says below that, and all is as above: 3 h
 * with two teams, 4 h with one. A rule that names no station is that of the slowest: the deck stands 3 h.
 */
static void a_bin_that_is_entered_takes_locking_out_and_the_permit(void **state)
{
    (void)state;
    static const struct {
        int teams;
        const char *rule;
        double stands_h;
        double clean_h; /* of the whole line */
    } cases[] = {
        {2, "stations: {Cleaner: {takes: 1 h, bin entry: 165 min}, Deck: {takes: 1 h}}", 3.0, 3.0},
        {1, "stations: {Cleaner: {takes: 0 h, bin entry: 165 min}, Deck: {takes: 1 h}}", 4.0, 4.0},
        {1, "stations: {Cleaner: {takes: 200 min, bin entry: 165 min}, Deck: {takes: 40 min}}", 4.0, 4.0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        answer a = ask_rule(cases[i].teams, "Deck", "", cases[i].rule);
        assert_true(a.season->lines[0].by_station);
        assert_true(fabs(a.season->runs[1].stands_h - cases[i].stands_h) < 1e-9);
        assert_true(fabs(a.season->runs[1].clean_h - cases[i].clean_h) < 1e-9);
        done(&a);
    }
}

/* Where the line is cleaned as a whole: 15 min and 105 min; a longer time stays as it is. */
static void a_whole_line_with_a_bin_that_is_entered(void **state)
{
    (void)state;
    static const char *const rules[] = {"takes: 1 h, bin entry: 105 min", "takes: 0 h, bin entry: 105 min",
                                        "takes: 2 h, bin entry: 15 min"};
    for (size_t i = 0; i < sizeof rules / sizeof rules[0]; i++) {
        answer a = ask_rule(1, "Deck", "", rules[i]);
        assert_false(a.season->lines[0].by_station);
        assert_true(fabs(a.season->runs[1].clean_h - 2.0) < 1e-9);
        assert_int_equal(a.season->runs[1].end - a.season->at, 14 * HOUR);
        done(&a);
    }
}

/* Two cleaners side by side: seed goes past each of them on another way. Cleared: 6 h, 3 + 1 h with one team,
 * 6 h. */
static void side_by_side_the_line_is_cleared(void **state)
{
    (void)state;
    answer a = ask(1, "Fork",
                   "  Fork: {kind: split, rule: free, branches: {one: {to: Deck}, other: {to: Deck 2}}}\n"
                   "  Deck 2: {kind: machine, capacity: 4 t/h, to: Seed}\n");
    assert_false(a.season->lines[0].by_station);
    assert_true(a.season->cleared_lines);
    assert_string_equal(a.season->lines[0].cleared, "Deck is passed by some seed on another way");
    assert_int_equal(a.season->runs[1].cleaned_count, 0);
    assert_int_equal(a.season->runs[1].end - a.season->at, 16 * HOUR);
    done(&a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(small_bins_push_the_loss_towards_the_sum),
        cmocka_unit_test(travel_is_a_delay),
        cmocka_unit_test(a_bin_that_is_entered_takes_locking_out_and_the_permit),
        cmocka_unit_test(a_whole_line_with_a_bin_that_is_entered),
        cmocka_unit_test(side_by_side_the_line_is_cleared),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
