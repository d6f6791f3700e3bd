/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the keys of the language mean: values by crop, shares, units, defaults. */
#include "base/base.h"
#include "model/scenario.h"

#include "../lib/near.h"
#include "../lib/scenarios.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

enum {
    ROOM = 8192
};

#define MATERIALS                                                                                            \
    "evenfeed: 1\nplant: {name: Test}\n"                                                                     \
    "materials: {sound: {wanted: yes}, light: , chaff: {density: 0.1 t/m3}}\n"
#define CROPS                                                                                                \
    "crops:\n"                                                                                               \
    "  wheat: {density: 0.75 t/m3, trade weight: 60 lb/bu, receipt: {sound: rest, light: 5 %, chaff: 2 "     \
    "%}}\n"                                                                                                  \
    "  barley: {test weight: 62 kg/hl, trade weight: 48 lb/bu, receipt: {sound: 9/10, light: 0.07, chaff: "  \
    "3 "                                                                                                     \
    "%}}\n"                                                                                                  \
    "  oats: {trade weight: 32 lb/bu, receipt: {sound: 100 %}}\n"
#define OUTLETS                                                                                              \
    "  Dust: {kind: outlet}\n  Shed: {kind: outlet, product: yes}\n"                                         \
    "  Pit 3: {kind: intake, capacity: 1 t/h, to: Shed}\n  Pit 4: {kind: intake, capacity: 1 t/h, to: "      \
    "Dust}\n"

/* A plant of three crops whose pit leads to a station of these lines, which leads to the outlets. */
static ef_scenario *plant_with(const char *station)
{
    char text[ROOM];
    assert_true(snprintf(text, sizeof text,
                         "%sstations:\n  Pit: {kind: intake, capacity: 90 t/h, to: X}\n%s%s", MATERIALS CROPS,
                         station, OUTLETS) < ROOM);
    return plant_read(text);
}

/* The first finding of the same plant, which must be an error of this name, at this column. */
static void expect_first(const char *station, const char *name, int column)
{
    char text[ROOM];
    assert_true(snprintf(text, sizeof text,
                         "%sstations:\n  Pit: {kind: intake, capacity: 90 t/h, to: X}\n%s%s", MATERIALS CROPS,
                         station, OUTLETS) < ROOM);
    ef_diags *diags = scenario_findings(text, strlen(text), EF_SCENARIO);
    assert_int_equal(ef_diags_count(diags), 1);
    assert_string_equal(ef_diags_get(diags, 0)->name, name);
    assert_int_equal(ef_diags_get(diags, 0)->place.column, column);
    ef_diags_free(diags);
}

static const efi_station *station_of(const ef_scenario *scenario, const char *name)
{
    const int station = efi_index_find(&scenario->station_index, name, strlen(name));
    assert_true(station >= 0);
    return &scenario->stations[station];
}

static double share(const ef_scenario *scenario, const efi_discharge *discharge, const char *crop,
                    const char *material)
{
    const int c = efi_index_find(&scenario->crop_index, crop, strlen(crop));
    const int m = efi_index_find(&scenario->material_index, material, strlen(material));
    assert_true(c >= 0 && m >= 0);
    return discharge->share[c * scenario->material_count + m];
}

static void one_value_holds_for_every_crop(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_with("  X: {kind: machine, capacity: 12.5 t/h, to: Shed}\n");
    const efi_station *x = station_of(scenario, "X");
    for (int crop = 0; crop < 3; crop++) {
        assert_true(x->capacity[crop].given);
        assert_near(x->capacity[crop].value, 12.5, 1e-15);
        assert_int_equal(x->capacity[crop].of, EFI_KIND_MASS_RATE);
    }
    ef_scenario_free(scenario);
}

static void crops_that_are_not_named_get_the_value_of_other_crops(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_with(
        "  X: {kind: machine, capacity: {other crops: 9 t/h, barley: 7 t/h}, least feed: {oats: 2 t/h}, "
        "to: {wheat: Shed, other crops: Dust}}\n"
        "  Y: {kind: machine, capacity: 1 t/h, to: Shed}\n  Pit 2: {kind: intake, capacity: 1 t/h, to: Y}\n");
    const efi_station *x = station_of(scenario, "X");
    assert_near(x->capacity[0].value, 9.0, 1e-15);
    assert_near(x->capacity[1].value, 7.0, 1e-15);
    assert_near(x->capacity[2].value, 9.0, 1e-15);
    assert_false(x->least_feed[0].given);
    assert_false(x->least_feed[1].given);
    assert_near(x->least_feed[2].value, 2.0, 1e-15);
    assert_ptr_equal(&scenario->stations[x->to[0]], station_of(scenario, "Shed"));
    assert_ptr_equal(&scenario->stations[x->to[1]], station_of(scenario, "Dust"));
    assert_ptr_equal(&scenario->stations[x->to[2]], station_of(scenario, "Dust"));
    ef_scenario_free(scenario);
}

static void a_crop_that_is_not_known_is_shown_once(void **state)
{
    (void)state;
    expect_first("  X: {kind: machine, capacity: {wheat: 9 t/h, barlei: 7 t/h, oats: 7 t/h}, to: Shed}\n",
                 "name-unknown", 47);
    expect_first("  X: {kind: machine, capacity: 9 t/h, to: {wheat: Shed, rye: Shed, other crops: Shed}}\n",
                 "name-unknown", 57);
}

static void a_wrong_value_of_other_crops_is_shown_once(void **state)
{
    (void)state;
    expect_first("  X: {kind: machine, capacity: {other crops: 9, barley: 7 t/h}, to: Shed}\n",
                 "unit-missing", 46);
    expect_first("  X: {kind: machine, capacity: 9 t/h, to: {other crops: Shad, barley: Shed}}\n",
                 "name-unknown", 57);
    expect_first("  X: {kind: machine, capacity: -9 t/h, to: Shed}\n", "out-of-range", 32);
}

/* Trade weights: wheat 60, barley 48, oats 32 lb/bu (7 CFR and state statutes, as in NIST Handbook 130);
 * 1 lb = 0.45359237 kg. 1000 bu/h of wheat are then 27.2155422 t/h. */
static void a_rate_in_bushels_is_weighed_by_the_trade_weight_of_each_crop(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_with("  X: {kind: machine, capacity: 1000 bu/h, to: Shed}\n");
    const efi_station *x = station_of(scenario, "X");
    assert_near(x->capacity[0].value, 27.2155422, 1e-14);
    assert_near(x->capacity[1].value, 48 * 0.45359237, 1e-14);
    assert_near(x->capacity[2].value, 32 * 0.45359237, 1e-14);
    assert_int_equal(x->capacity[2].of, EFI_KIND_MASS_RATE);
    ef_scenario_free(scenario);
}

/* 2150.42 in3 = 0.03523907016688 m3: NIST Handbook 44, appendix C. */
static void a_bushel_of_live_volume_is_a_measure_not_a_weight(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_with("  X: {kind: bin, live volume: 100 bu, to: Shed}\n");
    assert_near(station_of(scenario, "X")->live_m3.value, 3.523907016688, 1e-14);
    ef_scenario_free(scenario);
}

static void a_test_weight_is_a_density_by_volume(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        MATERIALS "crops:\n"
                  "  wheat: {test weight: 60 lb/bu, receipt: {sound: rest, light: 1 %, chaff: 1 %}}\n"
                  "stations:\n  Pit: {kind: intake, capacity: 90 t/h, to: Shed}\n"
                  "  Shed: {kind: outlet, product: yes}\n");
    /* 60 lb in 2150.42 in3: 772.3116 kg/m3 */
    assert_near(scenario->crops[0].density_tpm3.value, 0.7723116, 1e-7);
    assert_near(efi_scenario_density(scenario, 0, 0).value, 0.7723116, 1e-7);
    assert_near(efi_scenario_density(scenario, 0, 2).value, 0.1, 1e-15);
    ef_scenario_free(scenario);
}

static void a_receipt_adds_up_with_what_is_left_for_the_rest(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_with("  X: {kind: machine, capacity: 9 t/h, to: Shed}\n");
    const double *wheat = scenario->crops[0].receipt;
    assert_near(wheat[0], 0.93, 1e-15);
    assert_near(wheat[1], 0.05, 1e-15);
    assert_near(wheat[2], 0.02, 1e-15);
    const double *barley = scenario->crops[1].receipt;
    assert_near(barley[0], 0.90, 1e-15);
    assert_near(barley[1], 0.07, 1e-15);
    assert_near(barley[2], 0.03, 1e-15);
    assert_near(scenario->crops[2].receipt[1], 0.0, 0.0);
    ef_scenario_free(scenario);
}

static void thirds_in_percent_add_up_near_enough_and_are_put_right(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        "evenfeed: 1\nplant: {name: Test}\nmaterials: {a: {wanted: yes}, b: , c: }\n"
        "crops: {x: {receipt: {a: 33.33333 %, b: 33.33333 %, c: 33.33334 %}}, y: {receipt: {a: 1/3, b: 1/3, "
        "c: "
        "1/3}}}\n"
        "stations:\n  Pit: {kind: intake, capacity: 90 t/h, to: Shed}\n  Shed: {kind: outlet, product: "
        "yes}\n");
    for (int crop = 0; crop < 2; crop++) {
        const double *receipt = scenario->crops[crop].receipt;
        assert_near(receipt[0] + receipt[1] + receipt[2], 1.0, 1e-15);
        assert_near(receipt[0], 1.0 / 3.0, 1e-7);
    }
    ef_scenario_free(scenario);
}

static void discharges_take_shares_by_material_and_crop_and_one_the_rest(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_with(
        "  X:\n    kind: air-screen cleaner\n    capacity: 9 t/h\n    discharges:\n"
        "      dust: {takes: {chaff: 90 %, light: {barley: 40 %, other crops: 30 %}}, to: Dust}\n"
        "      light: {takes: {sound: 1 %, other materials: {wheat: 5 %}}, to: Dust}\n"
        "      seed: {takes: rest, to: Shed}\n");
    const efi_discharge *out = station_of(scenario, "X")->discharges.items;
    assert_near(share(scenario, &out[0], "wheat", "chaff"), 0.90, 1e-15);
    assert_near(share(scenario, &out[0], "wheat", "light"), 0.30, 1e-15);
    assert_near(share(scenario, &out[0], "barley", "light"), 0.40, 1e-15);
    assert_near(share(scenario, &out[0], "oats", "sound"), 0.0, 0.0);
    assert_near(share(scenario, &out[1], "wheat", "chaff"), 0.05, 1e-15);
    assert_near(share(scenario, &out[1], "wheat", "sound"), 0.01, 1e-15);
    assert_near(share(scenario, &out[1], "oats", "chaff"), 0.0, 0.0);
    assert_near(share(scenario, &out[2], "wheat", "sound"), 0.99, 1e-15);
    assert_near(share(scenario, &out[2], "wheat", "chaff"), 0.05, 1e-15);
    assert_near(share(scenario, &out[2], "barley", "light"), 0.60, 1e-15);
    assert_true(out[2].rest);
    ef_scenario_free(scenario);
}

static void a_wrong_share_of_other_materials_is_shown_once(void **state)
{
    (void)state;
    expect_first("  X:\n    kind: air-screen cleaner\n    capacity: 9 t/h\n    discharges:\n"
                 "      dust: {takes: {other materials: 90}, to: Dust}\n"
                 "      seed: {takes: rest, to: Shed}\n",
                 "share-bad", 39);
}

static void a_single_way_on_takes_everything(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_with("  X: {kind: machine, capacity: 9 t/h, to: Shed}\n");
    const efi_station *x = station_of(scenario, "X");
    assert_int_equal(x->discharges.count, 1);
    assert_string_equal(x->discharges.items[0].name, "");
    assert_near(share(scenario, &x->discharges.items[0], "oats", "chaff"), 1.0, 0.0);
    ef_scenario_free(scenario);
}

static void what_is_not_given_has_the_usual_value(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_with(
        "  X:\n    kind: density separator\n    capacity: 9 t/h\n    discharges:\n"
        "      lights: {takes: {light: 90 %}, to: Dust}\n"
        "      seed: {takes: rest, to: Shed}\n");
    assert_near(scenario->plant->shift_h.value, 8.0, 0.0);
    assert_near(scenario->plant->surge_rule_h.value, 0.25, 0.0);
    assert_int_equal(scenario->plant->units, EF_UNITS_METRIC);
    const efi_station *x = station_of(scenario, "X");
    assert_int_equal(x->count, 1);
    assert_true(x->steady_band.given);
    assert_near(x->steady_band.value, 0.02, 1e-15);
    assert_false(station_of(scenario, "Pit")->steady_band.given);
    assert_false(station_of(scenario, "Dust")->product);
    assert_false(scenario->materials[1].wanted);
    assert_null(x->least_feed);
    assert_null(x->note);
    assert_false(scenario->crops[0].moisture.given);
    ef_scenario_free(scenario);
}

static void what_is_given_replaces_the_usual_value(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        "evenfeed: 1\nplant: {name: Test, shift length: 1 d, surge rule: 20 min, units: us, note: x}\n"
        "materials: {a: {wanted: yes}}\ncrops: {x: {receipt: {a: 100 %}, repose: 28 deg, moisture: 14 %}}\n"
        "stations:\n  Pit: {kind: intake, capacity: 90 t/h, to: B}\n"
        "  B: {kind: bin, to: X, live volume: 0 m3}\n"
        "  X: {kind: machine, capacity: 2000 lb/h, count: 3, steady feed: 5 %, to: Shed}\n"
        "  Shed: {kind: outlet, product: yes, least rate: 1 short_ton/h}\n");
    assert_near(scenario->plant->shift_h.value, 24.0, 0.0);
    assert_near(scenario->plant->surge_rule_h.value, 1.0 / 3.0, 1e-15);
    assert_int_equal(scenario->plant->units, EF_UNITS_US);
    assert_string_equal(scenario->plant->note, "x");
    assert_near(scenario->crops[0].repose_deg.value, 28.0, 1e-15);
    assert_near(scenario->crops[0].moisture.value, 0.14, 1e-15);
    const efi_station *x = station_of(scenario, "X");
    assert_int_equal(x->count, 3);
    assert_near(x->steady_band.value, 0.05, 1e-15);
    assert_near(x->capacity[0].value, 0.90718474, 1e-15);
    assert_near(station_of(scenario, "Shed")->least_rate[0].value, 0.90718474, 1e-15);
    assert_true(station_of(scenario, "B")->live_m3.given);
    ef_scenario_free(scenario);
}

static void branches_of_a_split_get_their_shares_and_one_the_rest(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_with(
        "  X:\n    kind: split\n    branches:\n"
        "      a: {share: {wheat: 60 %, other crops: 1/4}, to: Dust}\n      b: {to: Shed}\n");
    const efi_discharge *out = station_of(scenario, "X")->discharges.items;
    assert_near(share(scenario, &out[0], "wheat", "chaff"), 0.60, 1e-15);
    assert_near(share(scenario, &out[0], "oats", "sound"), 0.25, 1e-15);
    assert_near(share(scenario, &out[1], "wheat", "chaff"), 0.40, 1e-15);
    assert_near(share(scenario, &out[1], "oats", "sound"), 0.75, 1e-15);
    ef_scenario_free(scenario);
}

static void a_discharge_that_takes_nothing_of_a_crop_needs_no_way_for_it(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_with(
        "  X:\n    kind: split\n    branches:\n"
        "      a: {share: {wheat: 60 %}, to: {wheat: Dust}}\n      b: {to: Shed}\n");
    const efi_discharge *out = station_of(scenario, "X")->discharges.items;
    assert_int_equal(out[0].to[1], EFI_NOWHERE);
    assert_near(share(scenario, &out[1], "barley", "sound"), 1.0, 0.0);
    ef_scenario_free(scenario);
}

static void a_material_of_no_crop_may_be_without_density_where_volumes_count(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        "evenfeed: 1\nplant: {name: Test}\nmaterials: {a: {wanted: yes, density: 0.7 t/m3}}\n"
        "crops: {x: {receipt: {a: 100 %}}}\n"
        "stations:\n  Pit: {kind: intake, capacity: 90 m3/h, to: Shed}\n  Shed: {kind: outlet, product: "
        "yes}\n");
    assert_near(efi_scenario_density(scenario, 0, 0).value, 0.7, 1e-15);
    ef_scenario_free(scenario);
}

static void every_kind_of_station_has_a_word_that_is_read(void **state)
{
    (void)state;
    for (int kind = 0; kind < EFI_STATION_LIMIT; kind++) {
        char text[ROOM];
        const efi_class class = efi_station_class((efi_station_kind)kind);
        const char *keys = class == EFI_CLASS_OUTLET  ? "product: yes"
                           : class == EFI_CLASS_BIN   ? "to: Shed"
                           : class == EFI_CLASS_SPLIT ? "branches: {a: {share: 100 %, to: Shed}}"
                                                      : "capacity: 9 t/h, to: Shed";
        assert_true(snprintf(text, sizeof text,
                             "evenfeed: 1\nplant: {name: Test}\nmaterials: {a: {wanted: yes}}\n"
                             "crops: {x: {receipt: {a: 100 %%}}}\nstations:\n"
                             "  Pit: {kind: intake, capacity: 90 t/h, to: %s}\n  X: {kind: %s, %s}\n"
                             "  Shed: {kind: outlet, product: yes, use: seed}\n  Pit 2: {kind: intake, "
                             "capacity: 9 t/h, to: "
                             "Shed}\n",
                             class == EFI_CLASS_INTAKE ? "Shed" : "X",
                             efi_station_word((efi_station_kind)kind), keys) < ROOM);
        ef_scenario *scenario = plant_read(text);
        assert_int_equal(station_of(scenario, "X")->kind, kind);
        ef_scenario_free(scenario);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_value_holds_for_every_crop),
        cmocka_unit_test(crops_that_are_not_named_get_the_value_of_other_crops),
        cmocka_unit_test(a_crop_that_is_not_known_is_shown_once),
        cmocka_unit_test(a_wrong_value_of_other_crops_is_shown_once),
        cmocka_unit_test(a_rate_in_bushels_is_weighed_by_the_trade_weight_of_each_crop),
        cmocka_unit_test(a_bushel_of_live_volume_is_a_measure_not_a_weight),
        cmocka_unit_test(a_test_weight_is_a_density_by_volume),
        cmocka_unit_test(a_receipt_adds_up_with_what_is_left_for_the_rest),
        cmocka_unit_test(thirds_in_percent_add_up_near_enough_and_are_put_right),
        cmocka_unit_test(discharges_take_shares_by_material_and_crop_and_one_the_rest),
        cmocka_unit_test(a_wrong_share_of_other_materials_is_shown_once),
        cmocka_unit_test(a_single_way_on_takes_everything),
        cmocka_unit_test(what_is_not_given_has_the_usual_value),
        cmocka_unit_test(what_is_given_replaces_the_usual_value),
        cmocka_unit_test(branches_of_a_split_get_their_shares_and_one_the_rest),
        cmocka_unit_test(a_discharge_that_takes_nothing_of_a_crop_needs_no_way_for_it),
        cmocka_unit_test(a_material_of_no_crop_may_be_without_density_where_volumes_count),
        cmocka_unit_test(every_kind_of_station_has_a_word_that_is_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
