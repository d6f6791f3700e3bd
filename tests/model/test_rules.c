/* SPDX-License-Identifier: GPL-3.0-or-later
 * The checks that walk along the spouts: what leads around a machine, where treated seed may come, which
 * loops unsettle a feed; and networks that look alike but are in order. */
#include "../lib/scenarios.h"

#include <evenfeed/scenario.h>
#include <setjmp.h>
#include <stdbool.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#define HEAD                                                                                                 \
    "evenfeed: 1\nplant: {name: Test}\nmaterials: {seed: {wanted: yes}, large seed: {wanted: yes}, chaff: "  \
    "}\n"                                                                                                    \
    "crops:\n  wheat: {receipt: {seed: rest, large seed: 10 %, chaff: 2 %}}\n"                               \
    "  barley: {receipt: {seed: rest, chaff: 4 %}}\nstations:\n"

/* Stations that many plants below end in. */
#define SHED "  Shed: {kind: outlet, product: yes, use: seed}\n"
#define CART "  Cart: {kind: outlet, use: waste}\n"

/* A machine that takes chaff off to the cart. */
#define CLEANER(name, to)                                                                                    \
    "  " name ": {kind: air-screen cleaner, capacity: 9 t/h, discharges: {dust: {takes: {chaff: 60 %}, to: " \
    "Cart}, seed: {takes: rest, to: " to "}}}\n"

#define SPLIT(name, one, other)                                                                              \
    "  " name ": {kind: split, branches: {one: {share: 60 %, " one "}, other: {" other "}}}\n"
#define PIT(to)           "  Pit: {kind: intake, capacity: 40 t/h, to: " to "}\n"
#define LEG(name, to)     "  " name ": {kind: elevator, capacity: 40 t/h, to: " to "}\n"
#define BIN(name, to)     "  " name ": {kind: bin, live volume: 4 m3, to: " to "}\n"
#define TREATER(name, to) "  " name ": {kind: treater, capacity: 9 t/h, to: " to "}\n"

/* The names and keys of the findings about a plant, in the order of the file. */
static void expect(const char *plant, const char *expected)
{
    char text[8000];
    char found[2000] = "";
    assert_true(snprintf(text, sizeof text, "%s%s", HEAD, plant) < (int)sizeof text);
    const bool has_error = strstr(expected, "by-pass-unmarked") || strstr(expected, "treated-feed") ||
                           strstr(expected, "treated-return") || strstr(expected, "treated-use-unsaid") ||
                           strstr(expected, "wanted-lost");
    ef_diags *diags = scenario_findings(text, strlen(text), has_error ? EF_SCENARIO : EF_OK);
    size_t used = 0;
    for (int i = 0; i < ef_diags_count(diags); i++) {
        const ef_diag *diag = ef_diags_get(diags, i);
        used += (size_t)snprintf(found + used, sizeof found - used, "%s %s\n", diag->name, diag->key);
        assert_true(used < sizeof found);
    }
    ef_diags_free(diags);
    assert_string_equal(found, expected);
}

/* ---- by-passes -------------------------------------------------------------------------------------------
 */

static void a_branch_past_a_machine_needs_its_mark(void **state)
{
    (void)state;
    expect(PIT("Split") SPLIT("Split", "to: Cleaner", "to: Leg") CLEANER("Cleaner", "Leg") LEG("Leg", "Shed")
               SHED CART,
           "by-pass-unmarked stations.Split.branches.other\n");
    expect(PIT("Split") SPLIT("Split", "to: Cleaner", "by-pass: yes, to: Leg") CLEANER("Cleaner", "Leg")
               LEG("Leg", "Shed") SHED CART,
           "");
}

static void a_branch_past_two_machines_is_found_over_bins_and_conveyors(void **state)
{
    (void)state;
    expect(PIT("Split") SPLIT("Split", "to: Low leg", "to: First leg") LEG("First leg", "First bin")
               BIN("First bin", "Cleaner") CLEANER("Cleaner", "Grader") CLEANER("Grader", "Last bin")
                   LEG("Low leg", "Low bin") BIN("Low bin", "Last bin") BIN("Last bin", "Shed") SHED CART,
           "by-pass-unmarked stations.Split.branches.one\n");
}

static void a_branch_to_the_second_of_two_machines_leads_around_the_first(void **state)
{
    (void)state;
    expect(PIT("Split") SPLIT("Split", "to: Cleaner", "to: Grader") CLEANER("Cleaner", "Grader")
               CLEANER("Grader", "Shed") SHED CART,
           "by-pass-unmarked stations.Split.branches.other\n");
}

static void a_branch_straight_to_the_product_leads_around_the_cleaning(void **state)
{
    (void)state;
    expect(PIT("Split") SPLIT("Split", "to: Shed", "to: Cleaner") CLEANER("Cleaner", "Shed") SHED CART,
           "by-pass-unmarked stations.Split.branches.one\n");
}

static void a_branch_may_lead_around_a_machine_for_one_crop_alone(void **state)
{
    (void)state;
    expect(PIT("Split") SPLIT("Split", "to: Cleaner", "to: {wheat: Grader, barley: Leg}")
               CLEANER("Cleaner", "Leg") CLEANER("Grader", "Leg") LEG("Leg", "Shed") SHED CART,
           "by-pass-unmarked stations.Split.branches.other\n");
}

static void two_unequal_decks_under_one_bin_are_no_by_pass(void **state)
{
    (void)state;
#define DECK(name, rate, middlings)                                                                          \
    "  " name ": {kind: density separator, capacity: " rate " t/h, discharges: {lights: {takes: {chaff: 70 " \
    "%}, to: Cart}, middlings: {takes: {seed: 12 %, chaff: 10 %}, to: " middlings                            \
    "}, heavies: {takes: rest, to: Leg}}}\n"
    expect(PIT("Bin") BIN("Bin", "Split") SPLIT("Split", "to: Large deck", "to: Small deck")
               DECK("Large deck", "8", "Bin") DECK("Small deck", "5", "Bin") LEG("Leg", "Shed") SHED CART,
           "");
}

static void middlings_of_one_deck_to_the_deck_beside_it_are_no_by_pass(void **state)
{
    (void)state;
    expect(PIT("Bin") BIN("Bin", "Split") SPLIT("Split", "to: Large deck", "to: Side bin")
               DECK("Large deck", "8", "Side bin") BIN("Side bin", "Small deck")
                   DECK("Small deck", "5", "Bin") LEG("Leg", "Shed") SHED CART,
           "");
}

static void middlings_of_two_decks_to_a_third_are_no_by_pass(void **state)
{
    (void)state;
    expect(PIT("Bin") BIN("Bin", "Split") SPLIT("Split", "to: Large deck", "to: Small deck")
               DECK("Large deck", "8", "Third bin") DECK("Small deck", "5", "Third bin")
                   BIN("Third bin", "Third deck") DECK("Third deck", "2", "Third bin") LEG("Leg", "Shed")
                       SHED CART,
           "");
}

static void one_machine_beside_two_in_a_row_is_no_by_pass(void **state)
{
    (void)state;
    expect(PIT("Split") SPLIT("Split", "to: Scalper", "to: Large cleaner") CLEANER("Scalper", "Small cleaner")
               CLEANER("Small cleaner", "Leg") CLEANER("Large cleaner", "Leg") LEG("Leg", "Shed") SHED CART,
           "");
}

static void a_branch_to_an_outlet_of_its_own_is_no_by_pass(void **state)
{
    (void)state;
    expect(PIT("Split") SPLIT("Split", "to: Raw", "to: Cleaner") CLEANER("Cleaner", "Shed") SHED CART
           "  Raw: {kind: outlet, product: yes, use: feed}\n",
           "");
    expect(PIT("Split") SPLIT("Split", "to: Cart", "to: Cleaner") CLEANER("Cleaner", "Shed") SHED CART, "");
}

static void what_follows_where_branches_have_met_is_no_matter_of_the_first_split(void **state)
{
    (void)state;
    expect(PIT("Split") SPLIT("Split", "to: Left leg", "to: Right leg") LEG("Left leg", "Bin")
               LEG("Right leg", "Bin") BIN("Bin", "Next")
                   SPLIT("Next", "to: Cleaner", "by-pass: yes, to: Leg") CLEANER("Cleaner", "Leg")
                       LEG("Leg", "Shed") SHED CART,
           "");
    expect(PIT("Split") SPLIT("Split", "to: Left leg", "to: Right leg") LEG("Left leg", "Bin")
               LEG("Right leg", "Bin") BIN("Bin", "Next") SPLIT("Next", "to: Cleaner", "to: Leg")
                   CLEANER("Cleaner", "Leg") LEG("Leg", "Shed") SHED CART,
           "by-pass-unmarked stations.Next.branches.other\n");
}

static void a_marked_by_pass_further_down_makes_the_branch_before_it_no_by_pass(void **state)
{
    (void)state;
    expect(PIT("Split") SPLIT("Split", "to: Inner", "to: Large cleaner")
               SPLIT("Inner", "to: Small cleaner", "by-pass: yes, to: Leg") CLEANER("Small cleaner", "Leg")
                   CLEANER("Large cleaner", "Leg") LEG("Leg", "Shed") SHED CART,
           "");
}

static void each_of_two_graded_products_is_a_main_stream(void **state)
{
    (void)state;
    expect(PIT("Split") SPLIT("Split", "to: Grader",
                              "to: Large bin") "  Grader: {kind: width grader, capacity: 9 t/h, discharges: "
                                               "{large: {takes: {large seed: 95 %}, to: "
                                               "Large bin}, dust: {takes: {chaff: 90 %}, to: Cart}, small: "
                                               "{takes: rest, to: Shed}}}\n" BIN("Large bin", "Large")
                                                   SHED CART
           "  Large: {kind: outlet, product: yes, use: seed}\n",
           "by-pass-unmarked stations.Split.branches.other\n");
}

static void a_mark_where_nothing_is_led_around_is_useless(void **state)
{
    (void)state;
    expect(PIT("Split") SPLIT("Split", "to: Small cleaner", "by-pass: yes, to: Large cleaner")
               CLEANER("Small cleaner", "Shed") CLEANER("Large cleaner", "Shed") SHED CART,
           "by-pass-useless stations.Split.branches.other.by-pass\n");
    /* of use to barley alone */
    expect(PIT("Split") SPLIT("Split", "to: Cleaner", "by-pass: yes, to: {wheat: Grader, barley: Leg}")
               CLEANER("Cleaner", "Leg") CLEANER("Grader", "Leg") LEG("Leg", "Shed") SHED CART,
           "");
}

/* ---- treated seed ----------------------------------------------------------------------------------------
 */

static void treated_seed_to_feed_is_found_over_machines_and_bins(void **state)
{
    (void)state;
    expect(PIT("Treater") TREATER("Treater", "Bin")
               BIN("Bin", "Sorter") "  Sorter: {kind: optical sorter, capacity: 9 t/h, discharges: {reject: "
                                    "{takes: {chaff: 90 %, seed: 1 "
                                    "%}, to: Cart}, accept: {takes: rest, to: Shed}}}\n" SHED
                                    "  Cart: {kind: outlet, use: feed}\n",
           "treated-feed stations.Cart.use\n");
}

static void what_leaves_before_the_treater_may_be_fed(void **state)
{
    (void)state;
    expect(PIT("Cleaner") CLEANER("Cleaner", "Treater") TREATER("Treater", "Shed") SHED
           "  Cart: {kind: outlet, use: feed}\n",
           "");
}

static void only_the_crop_that_is_treated_counts(void **state)
{
    (void)state;
#define BY_CROP(wheat, barley) "{wheat: " wheat ", barley: " barley "}"
    expect(PIT("Leg") LEG("Leg", BY_CROP("Treater", "Cleaner")) TREATER("Treater", "Shed")
               CLEANER("Cleaner", BY_CROP("Shed", "Feed")) SHED CART
           "  Feed: {kind: outlet, product: yes, use: feed}\n",
           "never-removed crops.wheat.receipt.chaff\n");
    expect(PIT("Leg") LEG("Leg", BY_CROP("Treater", "Cleaner")) TREATER("Treater", "Cleaner")
               CLEANER("Cleaner", BY_CROP("Shed", "Feed")) SHED CART
           "  Feed: {kind: outlet, product: yes, use: feed}\n",
           "");
    expect(PIT("Leg") LEG("Leg", BY_CROP("Treater", "Cleaner")) TREATER("Treater", "Cleaner")
               CLEANER("Cleaner", BY_CROP("Feed", "Shed")) SHED CART
           "  Feed: {kind: outlet, product: yes, use: feed}\n",
           "treated-feed stations.Feed.use\n");
}

static void a_discharge_that_takes_nothing_brings_no_treated_seed(void **state)
{
    (void)state;
#define SORTER(takes)                                                                                        \
    "  Sorter: {kind: optical sorter, capacity: 9 t/h, discharges: {reject: {takes: {" takes                 \
    "}, to: Feed}, dust: {takes: {chaff: 50 %}, to: Cart}, accept: {takes: rest, to: Shed}}}\n"
    expect(PIT("Leg") LEG("Leg", BY_CROP("Treater", "Sorter")) TREATER("Treater", "Sorter")
               SORTER("seed: {barley: 5 %}") SHED CART "  Feed: {kind: outlet, use: feed}\n",
           "");
    expect(PIT("Leg") LEG("Leg", BY_CROP("Treater", "Sorter")) TREATER("Treater", "Sorter")
               SORTER("seed: {wheat: 0.01 %}") SHED CART "  Feed: {kind: outlet, use: feed}\n",
           "treated-feed stations.Feed.use\n");
}

static void every_outlet_of_treated_seed_says_its_use(void **state)
{
    (void)state;
    expect(PIT("Treater") TREATER("Treater", "Cleaner")
               CLEANER("Cleaner", "Shed") "  Shed: {kind: outlet, product: yes}\n  Cart: {kind: outlet}\n",
           "treated-use-unsaid stations.Shed\ntreated-use-unsaid stations.Cart\n");
}

static void treated_seed_that_comes_back_is_found_at_the_spout_that_brings_it(void **state)
{
    (void)state;
#define AGAIN(to)                                                                                            \
    "  Sorter: {kind: optical sorter, capacity: 9 t/h, discharges: {dust: {takes: {chaff: 50 %}, to: "       \
    "Cart}, "                                                                                                \
    "again: {takes: {seed: 5 %}, to: " to "}, accept: {takes: rest, to: Shed}}}\n"
    expect(PIT("Bin") BIN("Bin", "Leg") LEG("Leg", "Treater") TREATER("Treater", "Sorter") AGAIN("Bin")
               SHED CART,
           "treated-return stations.Sorter.discharges.again.to\n");
    /* straight to the treater */
    expect(PIT("Bin") BIN("Bin", "Treater") TREATER("Treater", "Sorter") AGAIN("Treater") SHED CART,
           "treated-return stations.Sorter.discharges.again.to\n");
    /* over a leg of its own to before the cleaning */
    expect(PIT("Bin") BIN("Bin", "Cleaner") CLEANER("Cleaner", "Treater") TREATER("Treater", "Sorter")
               AGAIN("Back leg") LEG("Back leg", "Bin") SHED CART,
           "treated-return stations.Back leg.to\n");
}

static void a_loop_after_the_treater_is_no_return_to_it(void **state)
{
    (void)state;
    expect(PIT("Treater") TREATER("Treater", "Bin") BIN("Bin", "Sorter") AGAIN("Bin") SHED CART, "");
}

static void a_loop_of_a_crop_that_is_not_treated_is_no_return(void **state)
{
    (void)state;
    expect(PIT("Bin") BIN("Bin", BY_CROP("Treater", "Sorter")) TREATER("Treater", "Sorter")
               AGAIN(BY_CROP("Rework", "Bin")) SHED CART "  Rework: {kind: outlet, use: seed}\n",
           "");
}

static void two_treaters_in_a_row_treat_twice_and_return_nothing(void **state)
{
    (void)state;
    expect(PIT("Cleaner") CLEANER("Cleaner", "Treater") TREATER("Treater", "Coater") TREATER("Coater", "Shed")
               SHED CART,
           "");
}

static void untreated_seed_that_joins_treated_seed_is_found_where_it_joins(void **state)
{
    (void)state;
    expect(PIT("Cleaner") CLEANER("Cleaner", "Split") SPLIT("Split", "to: Treater", "by-pass: yes, to: Leg")
               TREATER("Treater", "Leg") LEG("Leg", "Shed") SHED CART,
           "treated-mixed stations.Split.branches.other.to\n");
}

static void treated_and_untreated_waste_may_share_a_cart(void **state)
{
    (void)state;
    expect(PIT("Cleaner") CLEANER("Cleaner", "Treater") TREATER("Treater", "Sorter") CLEANER("Sorter", "Shed")
               SHED CART,
           "");
}

static void two_treaters_side_by_side_mix_nothing(void **state)
{
    (void)state;
    expect(PIT("Cleaner") CLEANER("Cleaner", "Split") SPLIT("Split", "to: Treater", "to: Coater")
               TREATER("Treater", "Leg") TREATER("Coater", "Leg") LEG("Leg", "Shed") SHED CART,
           "");
}

static void crops_with_and_without_treatment_share_stations_after_the_treater(void **state)
{
    (void)state;
    expect(PIT("Cleaner") CLEANER("Cleaner", BY_CROP("Treater", "Leg")) TREATER("Treater", "Leg")
               LEG("Leg", "Shed") SHED CART,
           "");
}

/* ---- loops -----------------------------------------------------------------------------------------------
 */

static void a_return_past_the_bin_of_a_deck_is_found(void **state)
{
    (void)state;
    expect(PIT("Bin") BIN("Bin", "Feeder") LEG("Feeder", "Deck") DECK("Deck", "8", "Feeder")
               LEG("Leg", "Shed") SHED CART,
           "loop-without-bin stations.Deck.discharges.middlings.to\n");
    expect(PIT("Bin") BIN("Bin", "Feeder") LEG("Feeder", "Deck") DECK("Deck", "8", "Back leg")
               LEG("Back leg", "Bin") LEG("Leg", "Shed") SHED CART,
           "");
}

static void a_return_without_a_bin_is_fine_where_no_feed_must_be_steady(void **state)
{
    (void)state;
    expect(PIT("Leg") LEG("Leg", "Sorter") AGAIN("Leg") SHED CART, "");
}

static void conveyors_in_a_ring_are_found_once(void **state)
{
    (void)state;
    expect(PIT("Leg") LEG("Leg", "Split") SPLIT("Split", "to: Cleaner", "to: Chain") LEG("Chain", "Back leg")
               LEG("Back leg", "Leg") CLEANER("Cleaner", "Shed") SHED CART,
           "loop-of-conveyors stations.Back leg.to\n");
}

static void a_wanted_material_that_is_lost_for_one_crop_is_found(void **state)
{
    (void)state;
    expect(
        PIT("Grader") "  Grader: {kind: width grader, capacity: 9 t/h, discharges: {large: {takes: {large "
                      "seed: "
                      "{wheat: 100 %}, chaff: 20 %}, to: Cart}, small: {takes: rest, to: Shed}}}\n" SHED CART,
        "wanted-lost crops.wheat.receipt.large seed\n");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_branch_past_a_machine_needs_its_mark),
        cmocka_unit_test(a_branch_past_two_machines_is_found_over_bins_and_conveyors),
        cmocka_unit_test(a_branch_to_the_second_of_two_machines_leads_around_the_first),
        cmocka_unit_test(a_branch_straight_to_the_product_leads_around_the_cleaning),
        cmocka_unit_test(a_branch_may_lead_around_a_machine_for_one_crop_alone),
        cmocka_unit_test(two_unequal_decks_under_one_bin_are_no_by_pass),
        cmocka_unit_test(middlings_of_one_deck_to_the_deck_beside_it_are_no_by_pass),
        cmocka_unit_test(middlings_of_two_decks_to_a_third_are_no_by_pass),
        cmocka_unit_test(one_machine_beside_two_in_a_row_is_no_by_pass),
        cmocka_unit_test(a_branch_to_an_outlet_of_its_own_is_no_by_pass),
        cmocka_unit_test(what_follows_where_branches_have_met_is_no_matter_of_the_first_split),
        cmocka_unit_test(a_marked_by_pass_further_down_makes_the_branch_before_it_no_by_pass),
        cmocka_unit_test(each_of_two_graded_products_is_a_main_stream),
        cmocka_unit_test(a_mark_where_nothing_is_led_around_is_useless),
        cmocka_unit_test(treated_seed_to_feed_is_found_over_machines_and_bins),
        cmocka_unit_test(what_leaves_before_the_treater_may_be_fed),
        cmocka_unit_test(only_the_crop_that_is_treated_counts),
        cmocka_unit_test(a_discharge_that_takes_nothing_brings_no_treated_seed),
        cmocka_unit_test(every_outlet_of_treated_seed_says_its_use),
        cmocka_unit_test(treated_seed_that_comes_back_is_found_at_the_spout_that_brings_it),
        cmocka_unit_test(a_loop_after_the_treater_is_no_return_to_it),
        cmocka_unit_test(a_loop_of_a_crop_that_is_not_treated_is_no_return),
        cmocka_unit_test(two_treaters_in_a_row_treat_twice_and_return_nothing),
        cmocka_unit_test(untreated_seed_that_joins_treated_seed_is_found_where_it_joins),
        cmocka_unit_test(treated_and_untreated_waste_may_share_a_cart),
        cmocka_unit_test(two_treaters_side_by_side_mix_nothing),
        cmocka_unit_test(crops_with_and_without_treatment_share_stations_after_the_treater),
        cmocka_unit_test(a_return_past_the_bin_of_a_deck_is_found),
        cmocka_unit_test(a_return_without_a_bin_is_fine_where_no_feed_must_be_steady),
        cmocka_unit_test(conveyors_in_a_ring_are_found_once),
        cmocka_unit_test(a_wanted_material_that_is_lost_for_one_crop_is_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
