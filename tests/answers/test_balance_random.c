/* SPDX-License-Identifier: GPL-3.0-or-later
 * Random plants: lines with returns, skips, side outlets, several crops, ways by crop, several intakes; every
 * balance passes through the verifier. EF_SEED=N, EF_CASES=N and EF_FIRST_CASE=N pick others; with EF_PLAIN=1
 * every intake receives all crops and every outlet wants what the plant wants. */
#include "base/random.h"
#include "base/text.h"

#include "../lib/plants.h"

#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum {
    USUAL_SEED = 20240607,
    USUAL_CASES = 600
};

/* A plant in the making. Crop 0 passes all its stations S0, S1, ... in a row; others may skip some. */
typedef struct maker {
    efi_random random;
    efi_random pits;  /* for what came later, so that the older plants stay as they were */
    efi_random turns; /* the same, for what machines turn into other material */
    efi_text text;
    int intakes;
    int stations;
    int outlets; /* O0 is the product */
    int crops;
    int materials;
    bool has_power;
    bool has_prices;
    bool free_splits;
    bool turning; /* some machines turn material into other */
    bool plain;   /* every intake receives all crops, every outlet wants what the plant wants */
} maker;

static int below(maker *m, int count)
{
    return (int)efi_random_below(&m->random, (uint32_t)count);
}

static double between(maker *m, double least, double most)
{
    return least + (most - least) * efi_random_uniform(&m->random);
}

static bool chance(maker *m, double share)
{
    return efi_random_uniform(&m->random) < share;
}

static void write_head(maker *m)
{
    efi_text_add(&m->text, "evenfeed: 1\nplant: {name: Random");
    if (m->has_power)
        efi_text_addf(&m->text, ", power limit: %.3f kW, energy price: %.3f EUR/kWh", between(m, 5.0, 300.0),
                      between(m, 0.05, 0.5));
    efi_text_add(&m->text, "}\nmaterials:\n  M0: {wanted: yes}\n");
    for (int i = 1; i < m->materials; i++) {
        if (chance(m, 0.3))
            efi_text_addf(&m->text, "  M%d: {density: %.3f t/m3}\n", i, between(m, 0.06, 1.2));
        else
            efi_text_addf(&m->text, "  M%d: %s\n", i, chance(m, 0.2) ? "{wanted: yes}" : "");
    }
    efi_text_add(&m->text, "crops:\n");
    for (int c = 0; c < m->crops; c++) {
        efi_text_addf(&m->text, "  C%d: {density: %.3f t/m3, receipt: {M0: rest", c, between(m, 0.3, 0.85));
        for (int i = 1; i < m->materials; i++)
            if (chance(m, 0.8))
                efi_text_addf(&m->text, ", M%d: %.3f %%", i, between(m, 0.01, 40.0 / m->materials));
        efi_text_add(&m->text, "}");
        if (m->has_prices)
            efi_text_addf(&m->text, ", price: %.2f EUR/t", between(m, 50.0, 250.0));
        if (chance(m, 0.3))
            efi_text_addf(&m->text, ", moisture: %.1f %%", between(m, 8.0, 25.0));
        efi_text_add(&m->text, "}\n");
    }
}

/* A station after `s`, or the product outlet when there is none. */
static void write_station_name(maker *m, int s)
{
    if (s < m->stations)
        efi_text_addf(&m->text, "S%d", s);
    else
        efi_text_add(&m->text, "O0");
}

/* The main way on from station `s`: the next one, or for a crop other than the first sometimes the one after.
 */
static void write_main_way(maker *m, int s)
{
    if (m->crops > 1 && chance(m, 0.2)) {
        efi_text_addf(&m->text, "{C%d: ", 1 + below(m, m->crops - 1));
        write_station_name(m, s + 2);
        efi_text_add(&m->text, ", other crops: ");
        write_station_name(m, s + 1);
        efi_text_add(&m->text, "}");
    } else {
        write_station_name(m, s + 1);
    }
}

static void write_side_way(maker *m, int s)
{
    const double kind = efi_random_uniform(&m->random);
    if (kind < 0.4 && s > 0)
        efi_text_addf(&m->text, "S%d", below(m, s)); /* a return */
    else if (kind < 0.6)
        write_station_name(m, s + 1 + below(m, 4));
    else
        efi_text_addf(&m->text, "O%d", below(m, m->outlets));
}

static void write_discharges(maker *m, int s)
{
    const int sides = 1 + below(m, 3);
    efi_text_add(&m->text, "    discharges:\n");
    for (int d = 0; d < sides; d++) {
        efi_text_addf(&m->text, "      D%d: {takes: {", d);
        bool any = false;
        for (int i = 0; i < m->materials; i++) {
            if (chance(m, 0.3))
                continue;
            const double most = i == 0 ? 25.0 : 99.0;
            if (m->crops > 1 && chance(m, 0.2))
                efi_text_addf(&m->text, "%sM%d: {C0: %.4f %%, other crops: %.4f %%}", any ? ", " : "", i,
                              between(m, 0.0, most / sides), between(m, 0.0, most / sides));
            else
                efi_text_addf(&m->text, "%sM%d: %.4f %%", any ? ", " : "", i, between(m, 0.0, most / sides));
            any = true;
        }
        efi_text_addf(&m->text, "%s}, to: ", any ? "" : "M0: 1 %");
        write_side_way(m, s);
        efi_text_add(&m->text, "}\n");
    }
    efi_text_add(&m->text, "      main: {takes: rest, to: ");
    write_main_way(m, s);
    efi_text_add(&m->text, "}\n");
}

static void write_capacity(maker *m, bool with_least)
{
    const bool by_volume = chance(m, 0.25);
    /* round figures, so that stations tie now and then */
    const double capacity = chance(m, 0.5) ? 5.0 * (1 + below(m, 8)) : between(m, 2.0, 60.0);
    if (m->crops > 1 && chance(m, 0.3))
        efi_text_addf(&m->text, "    capacity: {C1: %.3f %s, other crops: %.3f %s}\n", capacity * 0.9,
                      by_volume ? "m3/h" : "t/h", capacity, by_volume ? "m3/h" : "t/h");
    else
        efi_text_addf(&m->text, "    capacity: %.3f %s\n", capacity, by_volume ? "m3/h" : "t/h");
    if (with_least && !by_volume && chance(m, 0.4))
        efi_text_addf(&m->text, "    least feed: %.3f t/h\n", capacity * between(m, 0.1, 0.85));
    if (chance(m, 0.3))
        efi_text_addf(&m->text, "    count: %d\n", 1 + below(m, 4));
    if (m->has_power && chance(m, 0.6))
        efi_text_addf(&m->text, "    idle power: %.2f kW\n    energy: %.3f kWh/t\n", between(m, 0.0, 3.0),
                      between(m, 0.0, 4.0));
    if (chance(m, 0.1))
        efi_text_addf(&m->text, "    people: %d\n", 1 + below(m, 3));
}

static void write_derating(maker *m)
{
    if (chance(m, 0.2))
        efi_text_addf(
            &m->text,
            "    air: %d m3/h\n    derating: {moisture above: %.1f %%, per point of moisture: %.2f %%, "
            "trash above: %.1f %%, per point of trash: %.2f %%}\n",
            100 * (1 + below(m, 90)), between(m, 10.0, 20.0), between(m, 0.0, 9.0), between(m, 0.0, 20.0),
            between(m, 0.0, 5.0));
}

/* A split over the next station, which takes what is left, and others. Any branch may lead around a machine.
 */
static void write_split(maker *m, int s)
{
    const int sides = 1 + below(m, 2);
    const bool in_order = m->free_splits && chance(m, 0.5);
    const char *chosen = in_order ? "first with room" : "free";
    efi_text_addf(&m->text, "    kind: split\n    rule: %s\n    branches:\n",
                  m->free_splits ? chosen : "fixed");
    for (int b = 0; b < sides; b++) {
        efi_text_addf(&m->text, "      B%d: {by-pass: yes, ", b);
        if (!m->free_splits)
            efi_text_addf(&m->text, "share: %.3f %%, ", between(m, 1.0, 80.0 / sides));
        else if (!in_order && chance(m, 0.5))
            efi_text_addf(&m->text, "most share: %.3f %%, ", between(m, 10.0, 90.0 / sides));
        efi_text_add(&m->text, "to: ");
        if (chance(m, 0.2))
            efi_text_addf(&m->text, "O%d", below(m, m->outlets));
        else
            write_station_name(m, s + 1 + below(m, 4));
        efi_text_add(&m->text, "}\n");
    }
    efi_text_add(&m->text, "      main: {by-pass: yes, to: ");
    write_main_way(m, s);
    efi_text_add(&m->text, "}\n");
}

/* Some of one material becomes others; in every second plant no machine does that. */
static void write_turns(maker *m)
{
    if (m->plain || !m->turning || m->materials < 2 || efi_random_uniform(&m->turns) < 0.6)
        return;
    efi_text_add(&m->text, "    turns: {");
    const int from = (int)efi_random_below(&m->turns, (uint32_t)m->materials);
    const double most = from == 0 ? 40.0 : 99.0;
    efi_text_addf(&m->text, "M%d: {", from);
    bool any = false;
    for (int into = 0; into < m->materials; into++) {
        if (into == from || (any && efi_random_uniform(&m->turns) < 0.5))
            continue;
        const double share = most * efi_random_uniform(&m->turns) / m->materials;
        if (m->crops > 1 && efi_random_uniform(&m->turns) < 0.3)
            efi_text_addf(&m->text, "%sM%d: {C0: %.4f %%, other crops: %.4f %%}", any ? ", " : "", into,
                          share, share / 3.0);
        else
            efi_text_addf(&m->text, "%sM%d: %.4f %%", any ? ", " : "", into, share);
        any = true;
    }
    efi_text_add(&m->text, "}}\n");
}

static void write_station(maker *m, int s)
{
    const double kind = efi_random_uniform(&m->random);
    efi_text_addf(&m->text, "  S%d:\n", s);
    if (kind < 0.2) {
        efi_text_add(&m->text, "    kind: bin\n");
        if (chance(m, 0.7))
            efi_text_addf(&m->text, "    live volume: %.2f m3\n", between(m, 0.5, 50.0));
    } else if (kind < 0.35) {
        efi_text_add(&m->text, "    kind: conveyor\n");
        write_capacity(m, false);
        if (chance(m, 0.3))
            efi_text_addf(&m->text, "    peak factor: %.3f\n", between(m, 1.0, 1.6));
    } else if (kind < 0.42) {
        write_split(m, s);
        return;
    } else {
        efi_text_addf(&m->text, "    kind: %s\n", kind < 0.65 ? "density separator" : "machine");
        write_capacity(m, true);
        write_derating(m);
        write_turns(m);
        write_discharges(m, s);
        return;
    }
    efi_text_add(&m->text, "    to: ");
    write_main_way(m, s);
    efi_text_add(&m->text, "\n");
}

static void write_plant(maker *m)
{
    write_head(m);
    efi_text_add(&m->text, "stations:\n");
    for (int i = 0; i < m->intakes; i++) {
        efi_text_addf(&m->text, "  I%d:\n    kind: intake\n", i);
        if (!m->plain && efi_random_uniform(&m->pits) < 0.4)
            efi_text_addf(&m->text, "    receives: C%d\n",
                          (int)efi_random_below(&m->pits, (uint32_t)m->crops));
        write_capacity(m, false);
        efi_text_addf(&m->text, "    to: S%d\n", i == 0 ? 0 : below(m, m->stations));
    }
    for (int s = 0; s < m->stations; s++)
        write_station(m, s);
    efi_text_add(&m->text, "  Feed line: {kind: machine, capacity: 900 t/h, discharges: {");
    for (int o = 1; o < m->outlets; o++)
        efi_text_addf(&m->text, "D%d: {takes: {M0: 0.01 %%}, to: O%d}, ", o, o);
    efi_text_add(&m->text, "main: {takes: rest, to: S0}}}\n");
    efi_text_add(&m->text, "  Pit: {kind: intake, capacity: 30 t/h, to: Feed line}\n");
    for (int o = 0; o < m->outlets; o++) {
        efi_text_addf(&m->text, "  O%d: {kind: outlet, product: %s", o,
                      o == 0 || chance(m, 0.2) ? "yes" : "no");
        if (m->has_prices)
            efi_text_addf(&m->text, ", price: %.2f EUR/t",
                          o == 0 ? between(m, 150.0, 500.0) : between(m, -30.0, 150.0));
        if (!m->plain && efi_random_uniform(&m->pits) < 0.3)
            efi_text_addf(&m->text, ", wanted: M%d", (int)efi_random_below(&m->pits, (uint32_t)m->materials));
        if (chance(m, 0.1))
            efi_text_addf(&m->text, ", least purity: %.3f %%", between(m, 40.0, 99.0));
        if (chance(m, 0.2))
            efi_text_addf(&m->text, ", holds: %.2f %s", between(m, 0.5, 9.0), chance(m, 0.5) ? "t" : "m3");
        if (chance(m, 0.15))
            efi_text_addf(&m->text, ", least rate: %.3f t/h", between(m, 0.0, o == 0 ? 4.0 : 0.3));
        efi_text_add(&m->text, "}\n");
    }
}

static int from_environment(const char *name, int fallback)
{
    const char *words = getenv(name);
    return words ? (int)strtol(words, NULL, 10) : fallback;
}

/* What the cases were like, to be sure that each kind was among them. */
typedef struct tally {
    int balances;
    int conflicts;
    int loops;
    int ties;
    int by_volume;
    int bins;
    int several_intakes;
    int splits;
    int chosen;
    int power;
    int rungs;
    int standing; /* nothing is worth doing, say for its value */
} tally;

static void count_crop(tally *t, const ef_balance_crop *crop)
{
    int limiting = 0;
    int intakes = 0;
    t->balances += crop->feasible;
    t->conflicts += !crop->feasible;
    t->bins += crop->bin_count > 0;
    t->splits += crop->split_count > 0;
    t->chosen += crop->has_bound;
    t->power += crop->feasible && crop->power_limits;
    t->rungs += crop->rung_count;
    t->standing += crop->feasible && !(crop->intake.total_tph > 0.0);
    for (int s = 0; s < crop->station_count; s++) {
        limiting += crop->stations[s].limits;
        t->by_volume += crop->stations[s].limits && crop->stations[s].capacity_by_volume;
        intakes += strcmp(crop->stations[s].kind, "intake") == 0;
    }
    t->ties += limiting > 1;
    t->several_intakes += intakes > 1;
    bool loops = false;
    for (int k = 0; k < crop->spout_count; k++)
        loops = loops || crop->spouts[k].closes_loop;
    t->loops += loops;
}

/* Solves and verifies one plant; prints it when that fails. */
static bool check_case(int seed, int number, bool plain, tally *t)
{
    maker m = {.random = efi_random_stream((uint64_t)seed, (uint64_t)number, 0),
               .pits = efi_random_stream((uint64_t)seed, (uint64_t)number, 1),
               .turns = efi_random_stream((uint64_t)seed, (uint64_t)number, 2)};
    m.plain = plain;
    m.turning = efi_random_uniform(&m.turns) < 0.5;
    m.intakes = chance(&m, 0.3) ? below(&m, 3) : 0; /* besides the one that is always there */
    m.stations = 1 + below(&m, 14);
    m.outlets = 1 + below(&m, 3);
    m.crops = 1 + below(&m, 3);
    m.materials = 1 + below(&m, 4);
    m.has_power = chance(&m, 0.3);
    m.has_prices = chance(&m, 0.4);
    m.free_splits = chance(&m, 0.3);
    write_plant(&m);
    assert_false(m.text.failed);
    ef_scenario *scenario = plant_read(efi_text_get(&m.text));
    ef_balance_settings settings = ef_balance_defaults();
    settings.aim = m.has_prices && chance(&m, 0.7) ? EF_BALANCE_VALUE : EF_BALANCE_RATE;
    settings.ladder = chance(&m, 0.2) ? 3 : 0;
    ef_balance *balance = NULL;
    char *differences = NULL;
    const ef_status solved = ef_balance_solve(scenario, &settings, &balance);
    const bool answered = solved == EF_OK || solved == EF_NO_ANSWER;
    const ef_status verified = answered ? ef_balance_verify(scenario, balance, &differences) : solved;
    if (verified != EF_OK)
        (void)fprintf(stderr, "%s\n%s\nseed %d, case %d: solved %d, verified %d\n", efi_text_get(&m.text),
                      differences ? differences : "", seed, number, (int)solved, (int)verified);
    for (int c = 0; balance && c < balance->crop_count; c++)
        count_crop(t, &balance->crops[c]);
    ef_report_free(differences);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
    efi_text_free(&m.text);
    return verified == EF_OK;
}

static void the_verifier_agrees_with_every_balance_of_a_random_plant(void **state)
{
    (void)state;
    const int seed = from_environment("EF_SEED", USUAL_SEED);
    const int cases = from_environment("EF_CASES", USUAL_CASES);
    const int first = from_environment("EF_FIRST_CASE", 0);
    tally t = {0};
    int failed = 0;
    for (int number = first; number < first + cases; number++)
        failed += !check_case(seed, number, from_environment("EF_PLAIN", 0) != 0, &t);
    print_message(
        "seed %d: %d balances, %d conflicts, %d with loops, %d with ties, %d limited by volume, %d with "
        "bins, "
        "%d with several intakes, %d with splits, %d with chosen shares, %d limited by power, %d rungs, "
        "%d at a standstill\n",
        seed, t.balances, t.conflicts, t.loops, t.ties, t.by_volume, t.bins, t.several_intakes, t.splits,
        t.chosen, t.power, t.rungs, t.standing);
    if (failed > 0)
        print_message("seed %d: %d of %d cases failed\n", seed, failed, cases);
    assert_int_equal(failed, 0);
    if (cases >= USUAL_CASES)
        assert_true(t.balances > cases && t.conflicts > 20 && t.loops > 50 && t.ties > 5 &&
                    t.by_volume > 50 && t.bins > 50 && t.several_intakes > 50 && t.splits > 50 &&
                    t.chosen > 20 && t.power > 20 && t.rungs > 50);
}

/* Cases that an earlier solver got wrong: an inner error, demands called impossible that can be met, an
 * intake of 0, a rung that was not the best. */
static void plants_that_once_went_wrong_are_balanced(void **state)
{
    (void)state;
    static const struct {
        int seed, number;
        bool plain;
    } known[] = {{22, 1490, true},  {25, 369, true},   {27, 924, true},    {21, 594, true},
                 {7, 451, true},    {101, 1920, true}, {102, 2079, true},  {105, 1936, true},
                 {201, 1289, true}, {205, 3200, true}, {206, 600, true},   {208, 894, true},
                 {209, 3781, true}, {409, 1560, true}, {504, 2170, false}, {706, 3470, false}};
    tally t = {0};
    int failed = 0;
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        failed += !check_case(known[i].seed, known[i].number, known[i].plain, &t);
    assert_int_equal(failed, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plants_that_once_went_wrong_are_balanced),
        cmocka_unit_test(the_verifier_agrees_with_every_balance_of_a_random_plant),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
