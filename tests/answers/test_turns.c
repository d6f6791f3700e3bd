/* SPDX-License-Identifier: GPL-3.0-or-later
 * Machines that turn one material into others: cases worked by hand beside each test, and a loop as a
 * geometric series. Every balance passes through the verifier. */
#include "../lib/near.h"
#include "../lib/plants.h"

#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#define EXACT 1e-12

/* Debearder D, then a cleaner. Per t/h of barley: seed 0.90, cluster 0.08, awns 0.02 come in.
 *   cluster: 75 % becomes seed, 20 % awns, 5 % stays; seed: 1 % becomes broken
 *   g[seed]    = 0.90 x 0.99 + 0.08 x 0.75 = 0.951
 *   g[broken]  = 0.90 x 0.01               = 0.009
 *   g[awns]    = 0.02 + 0.08 x 0.20        = 0.036
 *   g[cluster] = 0.08 x 0.05               = 0.004       sum 1
 * The cleaner takes 50 % of awns, all clusters: dust 0.018 + 0.004 = 0.022; product 0.978. */
static const char debearder[] =
    "evenfeed: 1\nplant: {name: Plant}\n"
    "materials: {seed: {wanted: yes}, cluster: {density: 0.4 t/m3}, awns: {density: 0.1 t/m3}, broken: }\n"
    "crops:\n"
    "  barley: {density: 0.6 t/m3, receipt: {seed: 90 %, cluster: 8 %, awns: 2 %}}\n"
    "  oats: {density: 0.5 t/m3, receipt: {seed: 90 %, cluster: 8 %, awns: 2 %}}\n"
    "stations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, to: D}\n"
    "  D:\n"
    "    kind: debearder\n"
    "    capacity: 5 t/h\n"
    "    turns: {cluster: {seed: {barley: 75 %, oats: 45 %}, awns: 20 %}, seed: {broken: 1 %}}\n"
    "    to: C\n"
    "  C:\n"
    "    kind: air-screen cleaner\n"
    "    capacity: 40 m3/h\n"
    "    discharges: {dust: {takes: {cluster: 100 %, awns: 50 %}, to: Dust}, main: {takes: rest, to: Seed}}\n"
    "  Dust: {kind: outlet}\n"
    "  Seed: {kind: outlet, product: yes}\n";

static void what_a_debearder_makes_is_as_worked_by_hand(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(debearder);
    ef_balance *balance = plant_balance(scenario, EF_OK);
    const ef_balance_crop *barley = plant_crop(balance, "barley");
    assert_near_relative(barley->intake.total_tph, 5.0, EXACT);
    const ef_stream out = plant_station(barley, "C")->feed;
    assert_near_relative(plant_material(balance, out, "seed"), 5.0 * 0.951, EXACT);
    assert_near_relative(plant_material(balance, out, "broken"), 5.0 * 0.009, EXACT);
    assert_near_relative(plant_material(balance, out, "awns"), 5.0 * 0.036, EXACT);
    assert_near_relative(plant_material(balance, out, "cluster"), 5.0 * 0.004, EXACT);
    /* capacity by volume of what was made: 0.96 / 0.6 + 0.004 / 0.4 + 0.036 / 0.1 = 1.97 m3 a tonne */
    assert_near_relative(plant_station(barley, "C")->feed_m3ph, 5.0 * 1.97, EXACT);
    assert_near_relative(plant_outlet(barley, "Dust")->flow.total_tph, 5.0 * 0.022, EXACT);
    assert_near_relative(plant_outlet(barley, "Seed")->flow.total_tph, 5.0 * 0.978, EXACT);
    /* wanted: 0.90 received, 0.06 made; 0.951 of 0.96 kept, the rest broken */
    assert_near_relative(barley->wanted_made_tph, 5.0 * 0.06, EXACT);
    assert_near_relative(barley->wanted_recovered, 0.951 / 0.96, EXACT);
    assert_near_relative(plant_outlet(barley, "Seed")->wanted_recovered, 0.951 / 0.96, EXACT);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

static void shares_turned_may_differ_by_crop(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(debearder);
    ef_balance *balance = plant_balance(scenario, EF_OK);
    const ef_balance_crop *oats = plant_crop(balance, "oats");
    const ef_stream out = plant_station(oats, "C")->feed;
    assert_near_relative(plant_material(balance, out, "seed"), 5.0 * (0.891 + 0.08 * 0.45), EXACT);
    assert_near_relative(plant_material(balance, out, "cluster"), 5.0 * 0.08 * 0.35, EXACT);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

/* Seed in hull all returns: of R t/h received, t = 0.6 is hulled each time, so the huller gets
 * R (1 + 0.4 + 0.4^2 + ...) = R / 0.6. It takes 3 t/h: R = 1.8 t/h. All becomes seed and hulls in the
 * proportion 0.45 to 0.15: 1.35 t/h of seed, 0.45 t/h of hulls. */
static void a_return_to_the_huller_is_a_geometric_series(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        "evenfeed: 1\nplant: {name: Plant}\nmaterials: {seed: {wanted: yes}, in hull: , hulls: }\n"
        "crops: {sainfoin: {receipt: {in hull: rest}}}\nstations:\n"
        "  Pit: {kind: intake, capacity: 40 t/h, to: Huller}\n"
        "  Huller: {kind: huller, capacity: 3 t/h, turns: {in hull: {seed: 45 %, hulls: 15 %}}, to: Sieve}\n"
        "  Sieve:\n    kind: width grader\n    capacity: 9 t/h\n    discharges:\n"
        "      back: {takes: {in hull: 100 %}, to: Huller}\n"
        "      hulls: {takes: {hulls: 100 %}, to: Waste}\n"
        "      seed: {takes: rest, to: Seed}\n"
        "  Waste: {kind: outlet, use: waste}\n  Seed: {kind: outlet, product: yes}\n");
    ef_balance *balance = plant_balance(scenario, EF_OK);
    const ef_balance_crop *crop = plant_crop(balance, "sainfoin");
    assert_near_relative(crop->intake.total_tph, 1.8, EXACT);
    assert_near_relative(plant_spout(crop, "Sieve", "back")->flow.total_tph, 1.2, EXACT);
    assert_near_relative(plant_outlet(crop, "Seed")->flow.total_tph, 1.35, EXACT);
    assert_near_relative(plant_outlet(crop, "Waste")->flow.total_tph, 0.45, EXACT);
    assert_near_relative(crop->purity, 1.0, EXACT);
    assert_near_relative(crop->wanted_recovered, 1.0, EXACT);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

/* The bundled case. Feeds of the huller per t/h received: in hull h, hulled s, hulls 0.02, broken 0.01.
 *   h = 0.97 + 0.96 x 0.25 h            => h = 0.97 / 0.76
 *   s = 0.02 (0.55 h + 0.97 s)          => s = 0.011 h / 0.9806
 * The huller takes 2 t/h. */
static void the_bundled_hulling_line_is_as_worked_by_hand(void **state)
{
    (void)state;
    const double h = 0.97 / 0.76;
    const double s = 0.011 * h / 0.9806;
    const double rate = 2.0 / (h + s + 0.03);
    ef_scenario *scenario = plant_load("scenarios/examples/huller.yaml");
    ef_balance *balance = plant_balance(scenario, EF_OK);
    const ef_balance_crop *crop = plant_crop(balance, "sainfoin");
    assert_near_relative(crop->intake.total_tph, rate, EXACT);
    assert_near_relative(plant_material(balance, plant_outlet(crop, "Seed")->flow, "hulled seed"),
                         rate * 0.98 * (0.55 * h + 0.97 * s), EXACT);
    assert_near_relative(plant_material(balance, plant_outlet(crop, "Seed")->flow, "seed in hull"),
                         rate * 0.04 * 0.25 * h, EXACT);
    assert_near_relative(crop->wanted_made_tph, rate * 0.55 * h, EXACT);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

/* What a machine makes of a material leaves by its own discharges: of 10 t/h in hull 6 become seed and 2
 * hulls; the hulls leave at 50 %. */
static void discharges_take_shares_of_what_was_made(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        "evenfeed: 1\nplant: {name: Plant}\nmaterials: {seed: {wanted: yes}, in hull: , hulls: }\n"
        "crops: {sainfoin: {receipt: {in hull: rest}}}\nstations:\n"
        "  Pit: {kind: intake, capacity: 10 t/h, to: Huller}\n"
        "  Huller:\n    kind: huller\n    capacity: 30 t/h\n    turns: {in hull: {seed: 60 %, hulls: 20 %}}\n"
        "    discharges:\n      hulls: {takes: {hulls: 50 %}, to: Waste}\n"
        "      in hull: {takes: {in hull: 100 %}, to: Waste}\n      seed: {takes: rest, to: Seed}\n"
        "  Waste: {kind: outlet, use: waste}\n  Seed: {kind: outlet, product: yes}\n");
    ef_balance *balance = plant_balance(scenario, EF_OK);
    const ef_balance_crop *crop = plant_crop(balance, "sainfoin");
    assert_near_relative(plant_spout(crop, "Huller", "hulls")->flow.total_tph, 1.0, EXACT);
    assert_near_relative(plant_spout(crop, "Huller", "in hull")->flow.total_tph, 2.0, EXACT);
    assert_near_relative(plant_spout(crop, "Huller", "seed")->flow.total_tph, 7.0, EXACT);
    assert_near_relative(plant_station(crop, "Huller")->feed.total_tph, 10.0, EXACT);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

#define HULLER(turns)                                                                                        \
    "evenfeed: 1\nplant: {name: Plant}\nmaterials: {seed: {wanted: yes}, in hull: , hulls: }\n"              \
    "crops: {sainfoin: {receipt: {in hull: rest, seed: 10 %}}}\nstations:\n"                                 \
    "  Pit: {kind: intake, capacity: 10 t/h, to: Huller}\n"                                                  \
    "  Huller: {kind: huller, capacity: 30 t/h, turns: {" turns "}, to: Sieve}\n"                            \
    "  Sieve:\n    kind: width grader\n    capacity: 30 t/h\n    discharges:\n"                              \
    "      hulls: {takes: {hulls: 50 %, in hull: 90 %}, to: Waste}\n"                                        \
    "      seed: {takes: rest, to: Seed}\n"                                                                  \
    "  Waste: {kind: outlet, use: waste}\n  Seed: {kind: outlet, product: yes}\n"

/* The verifier tells the balance of a line that turns less, more or something else from the right one. */
static void the_verifier_tells_what_was_turned_otherwise(void **state)
{
    (void)state;
    static const char *const others[] = {HULLER("in hull: {seed: 59 %, hulls: 20 %}"),
                                         HULLER("in hull: {seed: 61 %, hulls: 20 %}"),
                                         HULLER("seed: {hulls: 1 %}")};
    ef_scenario *scenario = plant_read(HULLER("in hull: {seed: 60 %, hulls: 20 %}"));
    ef_balance *balance = plant_balance(scenario, EF_OK);
    for (size_t i = 0; i < sizeof others / sizeof *others; i++) {
        ef_scenario *other = plant_read(others[i]);
        char *differences = NULL;
        assert_int_equal(ef_balance_verify(other, balance, &differences), EF_INTERNAL);
        assert_non_null(strstr(differences, "Sieve"));
        assert_non_null(strstr(differences, "the wanted material made"));
        ef_report_free(differences);
        ef_scenario_free(other);
    }
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_a_debearder_makes_is_as_worked_by_hand),
        cmocka_unit_test(shares_turned_may_differ_by_crop),
        cmocka_unit_test(a_return_to_the_huller_is_a_geometric_series),
        cmocka_unit_test(the_bundled_hulling_line_is_as_worked_by_hand),
        cmocka_unit_test(discharges_take_shares_of_what_was_made),
        cmocka_unit_test(the_verifier_tells_what_was_turned_otherwise),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
