/* SPDX-License-Identifier: GPL-3.0-or-later
 * Free splits against a fine grid of fixed shares, the relaxation as a bound, the order of `first with room`.
 */
#include "base/random.h"
#include "../lib/files.h"
#include "../lib/near.h"
#include "../lib/plants.h"

#include <evenfeed/balance.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    ROOM = 8192,
    GRID = 1000
};

/* A solved balance and its scenario, freed together. */
typedef struct solved {
    ef_scenario *scenario;
    ef_balance *balance;
    const ef_balance_crop *crop;
} solved;

static solved solve(const char *text, ef_balance_aim aim)
{
    solved s = {.scenario = plant_read(text)};
    ef_balance_settings settings = ef_balance_defaults();
    settings.aim = aim;
    settings.ladder = strstr(text, "rule: fixed") ? 0 : 3;
    const ef_status status = ef_balance_solve(s.scenario, &settings, &s.balance);
    assert_true(status == EF_OK || status == EF_NO_ANSWER);
    if (!strstr(text, "rule: fixed")) /* of the many fixed ones of a grid only the best matters */
        plant_verify(s.scenario, s.balance);
    s.crop = &s.balance->crops[0];
    return s;
}

static void release(solved *s)
{
    ef_balance_free(s->balance);
    ef_scenario_free(s->scenario);
}

static double share_of(const solved *s, int split, int branch)
{
    return s->crop->splits[split].branches[branch].share;
}

/* The text with the two "@" places filled in, in order. */
static void fill_in(char *text, const char *form, const char *rule, const char *first)
{
    const char *values[2] = {rule, first};
    size_t used = 0;
    int place = 0;
    for (const char *in = form; *in; in++) {
        if (*in != '@') {
            text[used++] = *in;
        } else {
            assert_in_range(place, 0, 1);
            memcpy(text + used, values[place], strlen(values[place]));
            used += strlen(values[place++]);
        }
        assert_true(used < ROOM - 100);
    }
    text[used] = '\0';
}

/* The best of GRID + 1 fixed shares of a plant whose text has two places for a percentage. */
static double best_of_grid(const char *form, ef_balance_aim aim, double *best_share)
{
    double best = -INFINITY;
    for (int i = 0; i <= GRID; i++) {
        char text[ROOM];
        const double share = (double)i / GRID;
        char first[64];
        snprintf(first, sizeof first, "share: %.12g %%", share * 100.0);
        fill_in(text, form, "fixed", first);
        solved s = solve(text, aim);
        const double value = aim == EF_BALANCE_VALUE ? s.crop->value_per_h : s.crop->intake.total_tph;
        if (s.crop->feasible && value > best) {
            best = value;
            *best_share = share;
        }
        release(&s);
    }
    return best;
}

static solved solve_free(const char *form, ef_balance_aim aim)
{
    char text[ROOM];
    fill_in(text, form, "free", "least share: 0 %");
    return solve(text, aim);
}

/* The chosen shares are at least as good as the grid's best, the bound is above both. */
static void check_against_grid(const char *form, ef_balance_aim aim)
{
    double grid_share;
    const double grid = best_of_grid(form, aim, &grid_share);
    solved s = solve_free(form, aim);
    assert_true(s.crop->feasible);
    const double value = aim == EF_BALANCE_VALUE ? s.crop->value_per_h : s.crop->intake.total_tph;
    assert_true(value >= grid - 1e-9 * fabs(grid));
    assert_true(s.crop->has_bound);
    assert_true(s.crop->bound >= value - 1e-9 * fabs(value));
    assert_true(s.crop->gap >= 0.0);
    for (int r = 0; r < s.crop->rung_count; r++)
        assert_true(s.crop->rungs[r].check <= 1e-7);
    release(&s);
}

#define HEAD                                                                                                 \
    "evenfeed: 1\n"                                                                                          \
    "plant: {name: Test}\n"                                                                                  \
    "materials: {sound: {wanted: yes}, light: , chaff: }\n"                                                  \
    "crops:\n"                                                                                               \
    "  wheat: {density: 0.75 t/m3, price: 150 EUR/t, receipt: {sound: rest, light: 6 %, chaff: 3 %}}\n"      \
    "stations:\n"                                                                                            \
    "  Pit: {kind: intake, capacity: 60 t/h, to: Bin}\n"

/* Two unequal decks under one bin, both returning middlings to it. */
static const char two_decks[] = HEAD
    "  Bin: {kind: bin, live volume: 5 m3, to: Split}\n"
    "  Split: {kind: split, rule: @, branches: {a: {@, to: Deck 1}, b: {to: Deck 2}}}\n"
    "  Deck 1:\n"
    "    kind: density separator\n"
    "    capacity: 10 t/h\n"
    "    discharges:\n"
    "      middlings: {takes: {sound: 12 %, light: 30 %}, to: Bin}\n"
    "      lights: {takes: {sound: 1 %, light: 60 %, chaff: 95 %}, to: Rejects}\n"
    "      heavies: {takes: rest, to: Seed}\n"
    "  Deck 2:\n"
    "    kind: density separator\n"
    "    capacity: 5 t/h\n"
    "    discharges:\n"
    "      middlings: {takes: {sound: 25 %, light: 35 %, chaff: 10 %}, to: Bin}\n"
    "      lights: {takes: {sound: 2 %, light: 50 %, chaff: 85 %}, to: Rejects}\n"
    "      heavies: {takes: rest, to: Seed}\n"
    "  Rejects: {kind: outlet, use: feed, price: 60 EUR/t}\n"
    "  Seed: {kind: outlet, product: yes, use: seed, price: 320 EUR/t}\n";

/* A cleaner with a by-pass and a least purity behind it: as much as possible goes round. */
static const char by_pass[] = HEAD
    "  Bin: {kind: bin, live volume: 5 m3, to: Split}\n"
    "  Split: {kind: split, rule: @, branches: {a: {@, to: Cleaner}, b: {by-pass: yes, to: Leg}}}\n"
    "  Cleaner:\n"
    "    kind: air-screen cleaner\n"
    "    capacity: 8 t/h\n"
    "    discharges:\n"
    "      screenings: {takes: {chaff: 97 %, light: 70 %, sound: 1 %}, to: Rejects}\n"
    "      seed: {takes: rest, to: Leg}\n"
    "  Leg: {kind: elevator, capacity: 40 m3/h, to: Seed}\n"
    "  Rejects: {kind: outlet, use: feed, price: 60 EUR/t}\n"
    "  Seed: {kind: outlet, product: yes, use: food, least purity: 93.5 %, price: 200 EUR/t}\n";

/* A slow deck that keeps more against a fast one that loses more: rate and value pull apart. */
static const char slow_or_fast[] = HEAD
    "  Bin: {kind: bin, live volume: 5 m3, to: Split}\n"
    "  Split: {kind: split, rule: @, branches: {a: {@, to: Slow}, b: {to: Fast}}}\n"
    "  Slow:\n"
    "    kind: density separator\n"
    "    capacity: 4 t/h\n"
    "    discharges:\n"
    "      lights: {takes: {light: 80 %, chaff: 99 %}, to: Rejects}\n"
    "      heavies: {takes: rest, to: Joint leg}\n"
    "  Fast:\n"
    "    kind: density separator\n"
    "    capacity: 12 t/h\n"
    "    discharges:\n"
    "      lights: {takes: {sound: 60 %, light: 80 %, chaff: 99 %}, to: Rejects}\n"
    "      heavies: {takes: rest, to: Joint leg}\n"
    "  Joint leg: {kind: elevator, capacity: 12 m3/h, to: Seed}\n"
    "  Rejects: {kind: outlet, use: feed, price: 20 EUR/t}\n"
    "  Seed: {kind: outlet, product: yes, use: seed, price: 320 EUR/t}\n";

static void two_unequal_decks_get_shares_as_good_as_the_finest_grid(void **state)
{
    (void)state;
    check_against_grid(two_decks, EF_BALANCE_RATE);
    check_against_grid(two_decks, EF_BALANCE_VALUE);
}

static void a_by_pass_is_used_as_far_as_the_purity_allows(void **state)
{
    (void)state;
    check_against_grid(by_pass, EF_BALANCE_RATE);
    solved s = solve_free(by_pass, EF_BALANCE_RATE);
    assert_near_absolute(s.crop->purity, 0.935, 1e-7);
    assert_true(share_of(&s, 0, 1) > 0.1);
    release(&s);
}

static void the_value_may_ask_for_other_shares_than_the_rate(void **state)
{
    (void)state;
    check_against_grid(slow_or_fast, EF_BALANCE_RATE);
    check_against_grid(slow_or_fast, EF_BALANCE_VALUE);
    solved rate = solve_free(slow_or_fast, EF_BALANCE_RATE);
    solved value = solve_free(slow_or_fast, EF_BALANCE_VALUE);
    assert_true(value.crop->value_per_h > rate.crop->value_per_h + 1.0);
    assert_true(value.crop->intake.total_tph < rate.crop->intake.total_tph - 0.1);
    release(&rate);
    release(&value);
}

static const char parallel[] = HEAD
    "  Bin: {kind: bin, live volume: 5 m3, to: Split}\n"
    "  Split: {kind: split, rule: @, branches: {a: {@, to: One}, b: {to: Two}, c: {to: Three}}}\n"
    "  One: {kind: machine, capacity: 2 t/h, to: Seed}\n"
    "  Two: {kind: machine, capacity: 3 t/h, to: Seed}\n"
    "  Three: {kind: machine, capacity: 5 t/h, to: Seed}\n"
    "  Seed: {kind: outlet, product: yes, use: seed, price: 320 EUR/t}\n";

static void plain_machines_in_parallel_are_filled_by_capacity(void **state)
{
    (void)state;
    solved s = solve_free(parallel, EF_BALANCE_RATE);
    assert_near_relative(s.crop->intake.total_tph, 10.0, 1e-9);
    assert_near_relative(share_of(&s, 0, 0), 0.2, 1e-9);
    assert_near_relative(share_of(&s, 0, 1), 0.3, 1e-9);
    assert_near_relative(share_of(&s, 0, 2), 0.5, 1e-9);
    assert_near_absolute(s.crop->gap, 0.0, 1e-9);
    release(&s);
}

/* The leg limits, at 12 t/h; any shares that send no more than 8 and 6 t/h on do. Most room is left where
 * both machines are equally full: 12 : 14 of either. */
static void shares_that_are_as_good_leave_most_room(void **state)
{
    (void)state;
    solved s = solve("evenfeed: 1\nplant: {name: Test}\nmaterials: {seed: {wanted: yes}}\n"
                     "crops: {wheat: {receipt: {seed: rest}}}\nstations:\n"
                     "  Pit: {kind: intake, capacity: 40 t/h, to: Leg}\n"
                     "  Leg: {kind: elevator, capacity: 12 t/h, to: Ways}\n"
                     "  Ways: {kind: split, rule: free, branches: {a: {to: A}, b: {to: B}}}\n"
                     "  A: {kind: machine, capacity: 8 t/h, to: Out}\n"
                     "  B: {kind: machine, capacity: 6 t/h, to: Out}\n"
                     "  Out: {kind: outlet, product: yes}\n",
                     EF_BALANCE_RATE);
    assert_near_relative(s.crop->intake.total_tph, 12.0, 1e-9);
    assert_near_relative(share_of(&s, 0, 0), 8.0 / 14.0, 2e-3);
    for (int i = 0; i < s.crop->station_count; i++)
        assert_int_equal(s.crop->stations[i].limits, strcmp(s.crop->stations[i].name, "Leg") == 0);
    release(&s);
}

/* Whatever the shares do from rung to rung, no purchase shrinks. */
static void purchases_only_grow(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/pulses-export.yaml");
    ef_balance_settings settings = ef_balance_defaults();
    settings.ladder = 10;
    ef_balance *balance = NULL;
    assert_int_equal(ef_balance_solve(scenario, &settings, &balance), EF_OK);
    plant_verify(scenario, balance);
    int kept = 0;
    for (int c = 0; c < balance->crop_count; c++) {
        const ef_balance_crop *crop = &balance->crops[c];
        for (int r = 1; r < crop->rung_count; r++) {
            const ef_balance_rung *before = &crop->rungs[r - 1];
            for (int p = 0; p < before->purchase_count; p++) {
                const char *of = before->purchases[p].station ? before->purchases[p].station : "";
                bool found = false;
                for (int q = 0; q < crop->rungs[r].purchase_count; q++) {
                    const ef_balance_purchase *now = &crop->rungs[r].purchases[q];
                    if (strcmp(now->station ? now->station : "", of) != 0)
                        continue;
                    found = true;
                    assert_true(now->more >= before->purchases[p].more);
                    kept += now->more <= before->purchases[p].more;
                }
                assert_true(found);
            }
        }
    }
    assert_true(kept > 0); /* some purchase is as it was, which would else have been free to shrink */
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

static void first_with_room_fills_the_branches_in_order(void **state)
{
    (void)state;
    char text[ROOM];
    /* the intake limits at 4 t/h: One takes its 2, Two the other 2, Three nothing */
    fill_in(text, parallel, "first with room", "note: first");
    char *intake = strstr(text, "60 t/h");
    assert_non_null(intake);
    memcpy(intake, " 4 t/h", 6);
    solved s = solve(text, EF_BALANCE_RATE);
    assert_near_relative(s.crop->intake.total_tph, 4.0, 1e-9);
    assert_near_absolute(share_of(&s, 0, 0), 0.5, 1e-7);
    assert_near_absolute(share_of(&s, 0, 1), 0.5, 1e-7);
    assert_near_absolute(share_of(&s, 0, 2), 0.0, 1e-7);
    release(&s);
}

/* The intake limits at 9 t/h of the 10 that the three can take: One must be full though Two and Three cannot
 * share what is left evenly. */
static void first_with_room_fills_the_first_also_where_the_others_are_unequal(void **state)
{
    (void)state;
    char text[ROOM];
    fill_in(text, parallel, "first with room", "note: first");
    char *intake = strstr(text, "60 t/h");
    assert_non_null(intake);
    memcpy(intake, " 9 t/h", 6);
    solved s = solve(text, EF_BALANCE_RATE);
    assert_near_relative(s.crop->intake.total_tph, 9.0, 1e-9);
    assert_near_absolute(share_of(&s, 0, 0), 2.0 / 9.0, 1e-7);
    assert_near_absolute(share_of(&s, 0, 1), 3.0 / 9.0, 1e-7);
    assert_near_absolute(share_of(&s, 0, 2), 4.0 / 9.0, 1e-7);
    release(&s);
}

/* Both splits lead on to the same machine: what the second hands back to its first branch gives the first
 * split room again. */
static void first_with_room_holds_for_two_splits_that_share_a_machine(void **state)
{
    (void)state;
    solved s = solve(HEAD "  Bin: {kind: bin, live volume: 5 m3, to: S1}\n"
                          "  S1: {kind: split, rule: first with room, branches: {a: {to: A}, b: {to: S2}}}\n"
                          "  S2: {kind: split, rule: first with room, branches: {c: {to: C}, d: {to: A}}}\n"
                          "  A: {kind: machine, capacity: 6 t/h, to: Leg}\n"
                          "  C: {kind: machine, capacity: 5 t/h, to: Leg}\n"
                          "  Leg: {kind: elevator, capacity: 8 t/h, to: Seed}\n"
                          "  Seed: {kind: outlet, product: yes, use: seed, price: 320 EUR/t}\n",
                     EF_BALANCE_RATE);
    assert_near_relative(s.crop->intake.total_tph, 8.0, 1e-9);
    assert_near_absolute(share_of(&s, 0, 0), 0.75, 1e-7);
    assert_near_absolute(share_of(&s, 1, 0), 1.0, 1e-7);
    release(&s);
}

static void least_and_most_shares_are_kept(void **state)
{
    (void)state;
    char text[ROOM];
    fill_in(text, parallel, "free", "most share: 10 %");
    solved s = solve(text, EF_BALANCE_RATE);
    /* a gets at most a tenth; b and c then fill up at 3/x and 5/x of the rest: 0.9 R <= 8 */
    assert_near_relative(s.crop->intake.total_tph, 8.0 / 0.9, 1e-8);
    assert_near_relative(share_of(&s, 0, 0), 0.1, 1e-8);
    release(&s);
}

/* Two outlets, of which one must be purer than what comes in. */
#define IMPURE(more)                                                                                         \
    "evenfeed: 1\nplant: {name: Test}\nmaterials: {seed: {wanted: yes}, light: }\n"                          \
    "crops: {wheat: {receipt: {seed: 92 %, light: 8 %}}}\nstations:\n"                                       \
    "  Pit: {kind: intake, capacity: 30 t/h, to: Split}\n"                                                   \
    "  Split: {kind: split, rule: free, branches: "                                                          \
    "{a: {to: One, least share: 10 %}, b: {to: Two, least share: 10 %}}}\n"                                  \
    "  One: {kind: machine, capacity: 5 t/h, to: Good}\n"                                                    \
    "  Two: {kind: machine, capacity: 5 t/h, to: Plain}\n"                                                   \
    "  Good: {kind: outlet, product: yes, least purity: 95 %}\n"                                             \
    "  Plain: {kind: outlet, product: yes" more "}\n"

/* Both branches must get a tenth, and what one of them gets can never be pure enough: no share of 0 may slip
 * through. */
static void a_least_share_is_kept_where_it_makes_a_demand_impossible(void **state)
{
    (void)state;
    solved s = solve(IMPURE(""), EF_BALANCE_RATE);
    assert_false(s.crop->feasible);
    assert_int_equal(s.crop->conflict_count, 1);
    assert_int_equal(s.crop->conflicts[0].demand, EF_BALANCE_LEAST_PURITY);
    assert_string_equal(s.crop->conflicts[0].outlet, "Good");
    release(&s);
}

/* With a least rate beside it that alone is easy, the purity is still what is named. */
static void a_purity_out_of_reach_is_named_beside_a_least_rate_within_it(void **state)
{
    (void)state;
    solved s = solve(IMPURE(", least rate: 1 t/h"), EF_BALANCE_RATE);
    assert_false(s.crop->feasible);
    assert_int_equal(s.crop->conflict_count, 1);
    assert_int_equal(s.crop->conflicts[0].demand, EF_BALANCE_LEAST_PURITY);
    assert_near_relative(s.crop->conflicts[0].reached_share, 0.92, 1e-9);
    release(&s);
}

/* The pit gives 6 t/h and the ramp 10, to a leg of 40 t/h: 24 t/h more of the ramp do, since the pit goes on.
 */
static void a_rung_buys_no_more_than_is_missing_where_intakes_can_stand_in_for_each_other(void **state)
{
    (void)state;
    solved s = solve("evenfeed: 1\nplant: {name: Test}\nmaterials: {sound: {wanted: yes}}\n"
                     "crops: {wheat: {receipt: {sound: rest}}}\nstations:\n"
                     "  Pit: {kind: intake, capacity: 6 t/h, to: Mill}\n"
                     "  Ramp: {kind: intake, capacity: 10 t/h, to: Leg}\n"
                     "  Mill: {kind: machine, capacity: 20 t/h, to: Leg}\n"
                     "  Leg: {kind: elevator, capacity: 40 t/h, to: Out}\n"
                     "  Out: {kind: outlet, product: yes}\n",
                     EF_BALANCE_RATE);
    assert_near_relative(s.crop->intake.total_tph, 16.0, 1e-9);
    assert_true(s.crop->rung_count > 0);
    const ef_balance_rung *rung = &s.crop->rungs[0];
    assert_near_relative(rung->intake_tph, 40.0, 1e-9);
    assert_int_equal(rung->purchase_count, 1);
    assert_string_equal(rung->purchases[0].station, "Ramp");
    assert_near_relative(rung->purchases[0].more, 24.0, 1e-7);
    release(&s);
}

/* Random plants at which the choice of shares went wrong: least rates that can just be met were called out of
 * reach, and an earlier branch was left with room. */
static void awkward_plants_have_answers_that_the_verifier_accepts(void **state)
{
    (void)state;
    static const char *const paths[] = {"tests/answers/data/edge-of-rate.yaml",
                                        "tests/answers/data/order-of-three.yaml"};
    for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++) {
        char *text = file_read(paths[i], NULL);
        for (int aim = 0; aim < 2; aim++) {
            solved s = solve(text, aim == 0 ? EF_BALANCE_RATE : EF_BALANCE_VALUE);
            assert_true(s.balance->feasible);
            release(&s);
        }
        free(text);
    }
}

static void two_free_splits_in_a_row_do_not_trip_over_each_other(void **state)
{
    (void)state;
    static const char cascade[] = HEAD
        "  Bin: {kind: bin, live volume: 5 m3, to: S1}\n"
        "  S1: {kind: split, rule: @, branches: {a: {@, to: A}, b: {to: S2}}}\n"
        "  A: {kind: machine, capacity: 3 t/h, to: Seed}\n"
        "  S2: {kind: split, rule: free, branches: {b: {to: B}, c: {to: C}}}\n"
        "  B: {kind: machine, capacity: 4 t/h, to: Seed}\n"
        "  C: {kind: machine, capacity: 6 t/h, to: Seed}\n"
        "  Seed: {kind: outlet, product: yes, use: seed, price: 320 EUR/t}\n";
    solved s = solve_free(cascade, EF_BALANCE_RATE);
    assert_near_relative(s.crop->intake.total_tph, 13.0, 1e-9);
    release(&s);
}

/* Two machines with random shares and a random return each, against the grid. */
static void random_pairs_of_machines_are_never_below_the_grid(void **state)
{
    (void)state;
    enum {
        CASES = 6
    };
    const uint64_t seed = 20261125;
    print_message("seed %llu\n", (unsigned long long)seed);
    efi_random random = efi_random_stream(seed, 0, 0);
    for (int i = 0; i < CASES; i++) {
        double u[12];
        for (int k = 0; k < 12; k++)
            u[k] = efi_random_uniform(&random);
        char form[ROOM];
        snprintf(
            form, sizeof form,
            "evenfeed: 1\nplant: {name: Test}\nmaterials: {sound: {wanted: yes}, light: , chaff: }\ncrops:\n"
            "  wheat: {density: 0.75 t/m3, receipt: {sound: rest, light: %.3f %%, chaff: %.3f %%}}\n"
            "stations:\n  Pit: {kind: intake, capacity: 60 t/h, to: Bin}\n"
            "  Bin: {kind: bin, live volume: 5 m3, to: Split}\n"
            "  Split: {kind: split, rule: @, branches: {a: {@, to: A}, b: {to: B}}}\n"
            "  A: {kind: density separator, capacity: %.3f t/h, discharges: {m: {takes: {sound: %.3f %%, "
            "light: "
            "%.3f %%}, to: Bin}, l: {takes: {light: %.3f %%, chaff: 90 %%}, to: Lights}, h: {takes: rest, "
            "to: "
            "Seed leg}}}\n"
            "  B: {kind: density separator, capacity: %.3f t/h, discharges: {m: {takes: {sound: %.3f %%, "
            "chaff: "
            "%.3f %%}, to: Bin}, l: {takes: {light: %.3f %%, chaff: 40 %%}, to: Lights}, h: {takes: rest, "
            "to: "
            "Seed leg}}}\n"
            "  Lights: {kind: machine, capacity: %.3f t/h, to: Rejects}\n"
            "  Seed leg: {kind: elevator, capacity: %.3f m3/h, to: Seed}\n"
            "  Rejects: {kind: outlet}\n  Seed: {kind: outlet, product: yes}\n",
            2.0 + 20.0 * u[0], 1.0 + 10.0 * u[1], 4.0 + 8.0 * u[2], 40.0 * u[3], 40.0 * u[4],
            10.0 + 40.0 * u[5], 4.0 + 8.0 * u[6], 40.0 * u[7], 40.0 * u[8], 60.0 * u[9], 1.0 + 2.0 * u[10],
            10.0 + 10.0 * u[11]);
        check_against_grid(form, EF_BALANCE_RATE);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plain_machines_in_parallel_are_filled_by_capacity),
        cmocka_unit_test(shares_that_are_as_good_leave_most_room),
        cmocka_unit_test(purchases_only_grow),
        cmocka_unit_test(first_with_room_fills_the_branches_in_order),
        cmocka_unit_test(first_with_room_fills_the_first_also_where_the_others_are_unequal),
        cmocka_unit_test(first_with_room_holds_for_two_splits_that_share_a_machine),
        cmocka_unit_test(least_and_most_shares_are_kept),
        cmocka_unit_test(a_least_share_is_kept_where_it_makes_a_demand_impossible),
        cmocka_unit_test(a_purity_out_of_reach_is_named_beside_a_least_rate_within_it),
        cmocka_unit_test(a_rung_buys_no_more_than_is_missing_where_intakes_can_stand_in_for_each_other),
        cmocka_unit_test(awkward_plants_have_answers_that_the_verifier_accepts),
        cmocka_unit_test(two_free_splits_in_a_row_do_not_trip_over_each_other),
        cmocka_unit_test(two_unequal_decks_get_shares_as_good_as_the_finest_grid),
        cmocka_unit_test(a_by_pass_is_used_as_far_as_the_purity_allows),
        cmocka_unit_test(the_value_may_ask_for_other_shares_than_the_rate),
        cmocka_unit_test(random_pairs_of_machines_are_never_below_the_grid),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
