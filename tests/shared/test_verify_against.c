/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a balance notices rates that cannot be, or could be greater, and shares that were chosen
 * badly: answers to one plant are held against another. */
#include "base/base.h"

#include "../lib/plants.h"

#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* The report of the verifier on the answer to `solved` held against `against`. */
static char *differences_between(const char *solved, const char *against)
{
    ef_scenario *scenario = plant_read(solved);
    ef_scenario *other = plant_read(against);
    ef_balance *balance = plant_balance(scenario, EF_OK);
    char *differences = NULL;
    assert_int_equal(ef_balance_verify(other, balance, &differences), EF_INTERNAL);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
    ef_scenario_free(other);
    return differences;
}

#define SERIES(pit, mill)                                                                                    \
    "evenfeed: 1\nplant: {name: Plant}\nmaterials: {sound: {wanted: yes}}\ncrops: {wheat: {receipt: "        \
    "{sound: rest}}}\n"                                                                                      \
    "stations:\n"                                                                                            \
    "  Pit: {kind: intake, capacity: " pit " t/h, to: Mill}\n"                                               \
    "  Mill: {kind: machine, capacity: " mill " t/h, to: Out}\n"                                             \
    "  Out: {kind: outlet, product: yes}\n"

static void a_rate_that_could_be_greater_is_noticed(void **state)
{
    (void)state;
    char *differences = differences_between(SERIES("30", "10"), SERIES("30", "12"));
    assert_non_null(
        strstr(differences, "wheat: the greatest intake is given as 10 t/h, recomputed 12 t/h\n"));
    assert_non_null(strstr(differences, "wheat, Mill: the capacity is given as 10 t/h, recomputed 12 t/h\n"));
    ef_report_free(differences);
}

static void a_rate_above_a_capacity_is_noticed(void **state)
{
    (void)state;
    char *differences = differences_between(SERIES("30", "10"), SERIES("30", "09"));
    assert_non_null(
        strstr(differences, "wheat, Mill: the feed of 10 t/h is more than the capacity of 9 t/h\n"));
    ef_report_free(differences);
}

static void stations_in_another_order_are_noticed(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(SERIES("30", "10"));
    ef_balance *right = plant_balance(scenario, EF_OK);
    ef_balance wrong = *right;
    ef_balance_crop crop = right->crops[0];
    const ef_balance_station stations[] = {crop.stations[1], crop.stations[0], crop.stations[2]};
    crop.stations = stations;
    wrong.crops = &crop;
    char *differences = NULL;
    assert_int_equal(ef_balance_verify(scenario, &wrong, &differences), EF_INTERNAL);
    assert_non_null(
        strstr(differences, "the stations are out of order: it feeds \"Mill\", which stands before it"));
    ef_report_free(differences);
    ef_balance_free(right);
    ef_scenario_free(scenario);
}

#define SHARED(rule, limit, capacity)                                                                        \
    "evenfeed: 1\nplant: {name: Plant}\nmaterials: {sound: {wanted: yes}}\ncrops: {wheat: {density: 0.75 "   \
    "t/m3, receipt: {sound: rest}}}\nstations:\n"                                                            \
    "  Pit: {kind: intake, capacity: " capacity " t/h, to: Ways}\n"                                          \
    "  Ways: {kind: split, rule: " rule ", branches: {a: {to: One" limit "}, b: {to: Two}}}\n"               \
    "  One: {kind: machine, capacity: 6 t/h, to: Out}\n"                                                     \
    "  Two: {kind: machine, capacity: 4 t/h, to: Out}\n"                                                     \
    "  Out: {kind: outlet, product: yes}\n"

static void shares_that_could_be_better_are_noticed(void **state)
{
    (void)state;
    char *differences = differences_between(SHARED("free", ", most share: 50 %", "30"),
                                            SHARED("free", "", "30"));
    assert_non_null(strstr(differences,
                           "wheat, Ways: with 0.001 more for the branch \"a\" and less for \"b\" "
                           "the aim is better: 8.016032064\n"));
    assert_non_null(strstr(differences, "the aim passes the bound: "));
    ef_report_free(differences);
}

static void an_earlier_branch_with_room_is_noticed(void **state)
{
    (void)state;
    char *differences = differences_between(SHARED("free", ", most share: 40 %", "5"),
                                            SHARED("first with room", "", "5"));
    assert_non_null(strstr(differences,
                           "wheat, Ways: with 0.001 more for the branch \"a\" and less for \"b\" "
                           "the aim is as good, though that branch comes first: 5\n"));
    ef_report_free(differences);
}

/* A demand is said to be out of reach that other shares meet. */
static void a_conflict_that_other_shares_resolve_is_noticed(void **state)
{
    (void)state;
#define TORN(most)                                                                                           \
    "evenfeed: 1\nplant: {name: Plant}\nmaterials: {sound: {wanted: yes}}\ncrops: {wheat: {receipt: "        \
    "{sound: "                                                                                               \
    "rest}}}\nstations:\n"                                                                                   \
    "  Pit: {kind: intake, capacity: 10 t/h, to: Ways}\n"                                                    \
    "  Ways: {kind: split, rule: free, branches: {a: {to: Seed" most "}, b: {to: Rest}}}\n"                  \
    "  Seed: {kind: outlet, product: yes, least rate: 5 t/h}\n"                                              \
    "  Rest: {kind: outlet}\n"
    ef_scenario *scenario = plant_read(TORN(", most share: 20 %"));
    ef_scenario *other = plant_read(TORN(""));
    ef_balance *balance = plant_balance(scenario, EF_NO_ANSWER);
    char *differences = NULL;
    assert_int_equal(ef_balance_verify(other, balance, &differences), EF_INTERNAL);
    assert_non_null(strstr(differences, "all demands are met, for an aim of 10\n"));
    assert_non_null(strstr(differences, "an outlet gets more than its most, t/h: "));
    ef_report_free(differences);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
    ef_scenario_free(other);
}

/* Of a ladder with chosen shares, where what is reached is known between two bounds only. */
static void a_rung_that_cannot_be_is_noticed(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(SHARED("free", "", "30"));
    ef_balance_settings settings = ef_balance_defaults();
    settings.ladder = 1;
    ef_balance *right = plant_balance_as(scenario, &settings, EF_OK);
    assert_int_equal(right->crops[0].rung_count, 1);
    ef_balance wrong = *right;
    ef_balance_crop crop = right->crops[0];
    ef_balance_rung rung = crop.rungs[0];
    wrong.crops = &crop;
    crop.rungs = &rung;
    const double reached[] = {crop.intake.total_tph * 0.999, rung.intake_tph * 10.0};
    const char *const words[] = {"no more than 10 before it", "is the most it can be"};
    for (size_t i = 0; i < EF_COUNT(reached); i++) {
        char *differences = NULL;
        rung.intake_tph = reached[i];
        assert_int_equal(ef_balance_verify(scenario, &wrong, &differences), EF_INTERNAL);
        assert_non_null(strstr(differences, words[i]));
        ef_report_free(differences);
    }
    ef_balance_free(right);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_rate_that_could_be_greater_is_noticed),
        cmocka_unit_test(a_rate_above_a_capacity_is_noticed),
        cmocka_unit_test(stations_in_another_order_are_noticed),
        cmocka_unit_test(shares_that_could_be_better_are_noticed),
        cmocka_unit_test(an_earlier_branch_with_room_is_noticed),
        cmocka_unit_test(a_conflict_that_other_shares_resolve_is_noticed),
        cmocka_unit_test(a_rung_that_cannot_be_is_noticed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
