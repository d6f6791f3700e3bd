/* SPDX-License-Identifier: GPL-3.0-or-later
 * From a bin of steel to its live volume and back. Every bin passes through the verifier. */
#include "answers/bins/steel.h"

#include "../lib/near.h"
#include "../lib/plants.h"
#include "../lib/shifts.h"
#include "../lib/steel.h"
#include "../lib/traces.h"
#include "base/random.h"
#include "model/bin_shape.h"
#include "shared/verify/bin_steel.h"

#include <evenfeed/trace.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

/* The same for one question, where only the answer in plain numbers is wanted. */
static ef_steel asked(const char *bin, const char *top, double live_m3)
{
    ef_scenario *scenario = steel_plant(STEEL_WHEAT, bin, top);
    efi_arena *arena = efi_arena_new();
    ef_steel steel = steel_bin_for(scenario, live_m3, arena);
    steel.crops = NULL;
    steel.station = steel.crop = NULL;
    efi_arena_free(arena);
    ef_scenario_free(scenario);
    return steel;
}

/* ---- a bin as it is -------------------------------------------------------------------------------------
 */

/* Round, 2 m, walls 1.2 m, cone at 50 degrees to 0.25 m, freeboard 0.15 m: hopper 0.875 tan 50 = 1.04278 m;
 * level pi 1.2 + pi 1.04278 / 3 (1 + 0.125 + 0.015625); less pi 0.15 and 2/3 pi tan 28 (wheat). */
static void a_bin_as_it_is_by_hand(void **state)
{
    (void)state;
    ef_scenario *scenario = steel_plant(
        STEEL_WHEAT,
        "steel: {shape: round, diameter: 2 m, wall height: 1.2 m, "
        "hopper angle: 50 deg, outlet: 250 mm, freeboard: 150 mm, clearance: 2 m}, ",
        "");
    efi_arena *arena = efi_arena_new();
    const efi_steel_need need[2] = {{.crop = 0, .rate_tph = 5.0}, {.crop = 1}};
    ef_steel steel;
    assert_int_equal(efi_steel_of(scenario, STEEL_BIN, need, 2, arena, &steel), EF_OK);
    steel_verify(scenario, &steel);
    assert_int_equal(steel.why, EF_STEEL_FITS);
    const double hopper = 0.875 * tan(50.0 * EF_PI / 180.0);
    const double level = EF_PI * 1.2 + EF_PI * hopper / 3.0 * 1.140625;
    assert_near_relative(steel.size.hopper_m, hopper, 1e-12);
    assert_near_relative(steel.size.height_m, 3.2 + hopper, 1e-12);
    assert_near_relative(steel.size.level_m3, level, 1e-12);
    assert_int_equal(steel.crop_count, 2);
    const double lost = EF_PI * 0.15 + 2.0 / 3.0 * EF_PI * tan(28.0 * EF_PI / 180.0);
    assert_near_relative(steel.crops[0].live_m3, level - lost, 1e-12);
    assert_true(steel.crops[1].live_m3 < steel.crops[0].live_m3); /* oats lie steeper */
    assert_true(steel.crops[0].cleans_out);
    assert_near_absolute(steel.crops[0].margin_deg, 22.0, 1e-9);
    assert_int_equal(steel.crops[0].flow, EF_STEEL_FLOW_UNKNOWN);
    assert_near_absolute(steel.crops[0].particle_mm, 4.0, 1e-12);
    /* 0.58 0.78 sqrt(9.80665) (0.25 - 1.4 0.004)^2.5 3600 */
    assert_near_relative(steel.crops[0].outlet_tph, 0.58 * 0.78 * sqrt(9.80665) * pow(0.2444, 2.5) * 3600.0,
                         1e-12);
    assert_near_absolute(steel.crops[0].least_outlet_m, 0.024, 1e-12);
    /* the scenario's own live volume is the same */
    assert_near_absolute(efi_station_live_m3(&scenario->stations[STEEL_BIN], 0).value, steel.crops[0].live_m3,
                         1e-6);
    efi_arena_free(arena);
    ef_scenario_free(scenario);
}

/* Smooth walls and a steep cone: mass flow; the same cone at 45 degrees, or a flat floor: funnel flow. The
 * limit for 28 degrees of internal friction and 0.3 on the wall, 16.70 degrees, by hand: acos((1 - 0.46947) /
 * 0.93894) = 55.59; asin(0.28735 / 0.46947) = 37.74; (55.59 + 16.70 + 37.74) / 2 = 55.0. */
static void flow_goes_by_the_published_limit(void **state)
{
    (void)state;
    static const struct {
        const char *hopper;
        ef_steel_flow flow;
    } cases[] = {{"hopper angle: 60 deg", EF_STEEL_FLOW_MASS},
                 {"hopper angle: 57 deg", EF_STEEL_FLOW_FUNNEL}, /* within 3 degrees of the limit */
                 {"hopper angle: 45 deg", EF_STEEL_FLOW_FUNNEL},
                 {"hopper: flat", EF_STEEL_FLOW_FUNNEL}};
    for (size_t i = 0; i < EF_COUNT(cases); i++) {
        char bin[300];
        (void)snprintf(bin, sizeof bin,
                       "steel: {shape: round, diameter: 2 m, wall height: 2 m, %s, outlet: 250 mm, "
                       "wall friction: 0.3}, ",
                       cases[i].hopper);
        ef_scenario *scenario = steel_plant(STEEL_WHEAT, bin, "");
        efi_arena *arena = efi_arena_new();
        const efi_steel_need need = {.crop = 0};
        ef_steel steel;
        assert_int_equal(efi_steel_of(scenario, STEEL_BIN, &need, 1, arena, &steel), EF_OK);
        steel_verify(scenario, &steel);
        assert_int_equal(steel.crops[0].flow, cases[i].flow);
        assert_near_absolute(steel.crops[0].mass_from_deg, 55.0, 0.05);
        efi_arena_free(arena);
        ef_scenario_free(scenario);
    }
}

static void what_is_no_bin_or_not_complete_is_refused(void **state)
{
    (void)state;
    ef_scenario *scenario = steel_plant(STEEL_WHEAT, "live volume: 3 m3, ", "");
    efi_arena *arena = efi_arena_new();
    const efi_steel_need need = {.crop = 0, .live_m3 = 1.0};
    ef_steel steel;
    assert_int_equal(efi_steel_of(scenario, STEEL_BIN, &need, 1, arena, &steel), EF_USAGE);
    assert_int_equal(efi_steel_of(scenario, 0, &need, 1, arena, &steel), EF_USAGE);
    assert_int_equal(efi_steel_for(scenario, 0, &need, 1, arena, &steel), EF_USAGE);
    assert_int_equal(efi_steel_for(scenario, STEEL_BIN, &need, 0, arena, &steel), EF_USAGE);
    efi_arena_free(arena);
    ef_scenario_free(scenario);
}

enum {
    ROOM = 3000
};

/* A line with a deck, its bin described by these keys. */
static ef_scenario *line_with(const char *bin)
{
    char text[ROOM];
    const int length = snprintf(
        text, sizeof text,
        "evenfeed: 1\nplant: {name: Test}\nmaterials: {seed: {wanted: yes}, light: }\n"
        "crops:\n  wheat: {" STEEL_WHEAT ", receipt: {seed: rest, light: 3 %%}}\n"
        "  oats: {" STEEL_OATS ", receipt: {seed: rest, light: 3 %%}}\n"
        "stations:\n  Pit: {kind: intake, capacity: 12 t/h, to: Bin, stops: {jam: {every: 1 h, lasts: 20 "
        "min}}}\n"
        "  Bin: {kind: bin, %s, to: Deck}\n  Deck: {kind: density separator, capacity: 10 t/h, discharges: "
        "{heavy: {takes: rest, to: Out}, light: {takes: {light: 80 %%}, to: Cart}}}\n"
        "  Out: {kind: outlet, product: yes}\n  Cart: {kind: outlet}\n",
        bin);
    assert_in_range(length, 1, ROOM - 1);
    return plant_read(text);
}

/* Balance, trace and shift of a bin in steel are those of the same bin with its live volume written down. */
static void every_answer_sees_the_volume_that_follows(void **state)
{
    (void)state;
    ef_scenario *steel = line_with(
        "steel: {shape: round, diameter: 1.6 m, wall height: 1 m, hopper angle: 50 deg, "
        "outlet: 250 mm, inlet offset: 200 mm}");
    for (int crop = 0; crop < 2; crop++) {
        const double live_m3 = efi_station_live_m3(&steel->stations[STEEL_BIN], crop).value;
        char keys[100];
        (void)snprintf(keys, sizeof keys, "live volume: %.17g m3", live_m3);
        ef_scenario *plain = line_with(keys);
        const ef_scenario *both[2] = {steel, plain};
        ef_balance *balance[2] = {NULL};
        ef_trace *trace[2] = {NULL};
        ef_shift *shift[2] = {NULL};
        for (int i = 0; i < 2; i++) {
            balance[i] = plant_balance(both[i], EF_OK);
            ef_trace_settings settings = ef_trace_defaults(both[i]);
            settings.crop = crop;
            trace[i] = trace_of(both[i], settings);
            ef_shift_settings shifts = ef_shift_defaults();
            shifts.crop = crop;
            shifts.runs = 3;
            shift[i] = shift_of(both[i], shifts);
        }
        assert_true(balance[0]->crops[crop].bins[0].has_live);
        assert_near_absolute(balance[0]->crops[crop].bins[0].live_m3, live_m3, 0.0);
        assert_near_absolute(balance[0]->crops[crop].bins[0].live_minutes,
                             balance[1]->crops[crop].bins[0].live_minutes, 0.0);
        assert_true(trace[0]->bins[0].full_t > 0.0);
        assert_near_absolute(trace[0]->bins[0].full_t, trace[1]->bins[0].full_t, 0.0);
        assert_near_absolute(trace[0]->product_t, trace[1]->product_t, 0.0);
        assert_near_absolute(shift[0]->bins[0].full_t, trace[0]->bins[0].full_t, 0.0);
        assert_near_absolute(shift[0]->groups[0].streams[1].mean_t.value,
                             shift[1]->groups[0].streams[1].mean_t.value, 0.0);
        for (int i = 0; i < 2; i++) {
            ef_trace_free(trace[i]);
            ef_shift_free(shift[i]);
            ef_balance_free(balance[i]);
        }
        ef_scenario_free(plain);
    }
    ef_scenario_free(steel);
}

/* ---- a bin for a live volume ----------------------------------------------------------------------------
 */

/* Without limits a round bin with a cone: no width of the grid, with walls by hand, takes less steel. The
 * heap of wheat never reaches the hopper where walls are over R tan 28 + freeboard; lower ones are left out.
 */
static void no_other_width_takes_less_steel(void **state)
{
    (void)state;
    const double volumes[] = {0.5, 1.0, 3.0, 8.0, 20.0, 60.0};
    for (size_t v = 0; v < EF_COUNT(volumes); v++) {
        const ef_steel steel = asked("", "", volumes[v]);
        assert_int_equal(steel.why, EF_STEEL_FITS);
        assert_true(steel.found && steel.chose_hopper && steel.chose_outlet && steel.chose_freeboard);
        int compared = 0;
        for (int i = 6; i < 200; i++) {
            const double r = i * 0.05 / 2.0;
            const double q = steel.size.outlet_m / 2.0;
            const double slope = tan(28.0 * EF_PI / 180.0);
            const double h = r - q; /* 45 degrees */
            if (h <= 0.0)
                continue;
            const double hopper = EF_PI * h / 3.0 * (r * r + r * q + q * q);
            const double lost = 2.0 / 3.0 * EF_PI * r * r * r * slope;
            const double wall = (volumes[v] + lost - hopper) / (EF_PI * r * r) + 0.15;
            if (wall < 0.15 + r * slope)
                continue;
            compared++;
            const double sheet = 2.0 * EF_PI * r * wall + EF_PI * (r + q) * h * sqrt(2.0);
            /* the walls are rounded up by 10 mm at the most */
            assert_true(steel.size.steel_m2 <= sheet + 2.0 * EF_PI * r * 0.01 + 1e-9);
        }
        assert_true(compared > 5);
    }
}

/* Of random bins the live volume is computed, then walls for it are sought: they come back, to 10 mm. */
static void walls_come_back_from_the_live_volume(void **state)
{
    (void)state;
    const uint64_t seed = 31;
    print_message("seed %llu\n", (unsigned long long)seed);
    static const char *const bodies[] = {"shape: round, outlet: 200 mm, diameter",
                                         "shape: rectangular, outlet: 200 mm, length: 3 m, width",
                                         "shape: rectangular, hopper: wedge, outlet: 150 mm, width"};
    for (uint64_t n = 0; n < 45; n++) {
        efi_random random = efi_random_stream(seed, n, 0);
        const double width = 1.0 + 2.0 * efi_random_uniform(&random);
        const double angle = 20.0 + 45.0 * efi_random_uniform(&random);
        const double offset = efi_random_below(&random, 2) * 0.4 * efi_random_uniform(&random);
        const double wall = 0.2 + floor(300.0 * efi_random_uniform(&random)) / 100.0;
        char keys[300];
        char bin[400];
        (void)snprintf(keys, sizeof keys, "%s: %.3f m, hopper angle: %.1f deg, inlet offset: %.3f m",
                       bodies[n % 3], width, angle, offset);
        (void)snprintf(bin, sizeof bin, "steel: {%s, freeboard: 50 mm, wall height: %.2f m}, ", keys, wall);
        ef_scenario *whole = steel_plant(STEEL_WHEAT, bin, "");
        const double live_m3 = efi_station_live_m3(&whole->stations[STEEL_BIN], 0).value;
        ef_scenario_free(whole);
        (void)snprintf(bin, sizeof bin, "steel: {%s, freeboard: 50 mm}, ", keys);
        const ef_steel steel = asked(bin, "", live_m3);
        assert_int_equal(steel.why, EF_STEEL_FITS);
        assert_false(steel.chose_hopper || steel.chose_outlet || steel.chose_freeboard);
        assert_true(steel.size.wall_m >= wall - 0.01 - 1e-9 && steel.size.wall_m <= wall + 0.01 + 1e-9);
    }
}

/* A bin found for a volume, written into a scenario, has that volume there. */
static void a_bin_that_is_found_holds_what_was_asked_when_it_is_built(void **state)
{
    (void)state;
    const double volumes[] = {0.7, 4.0, 15.0};
    for (size_t v = 0; v < EF_COUNT(volumes); v++) {
        const ef_steel steel = asked("steel: {shape: rectangular, inlet offset: 100 mm}, ", "", volumes[v]);
        assert_int_equal(steel.why, EF_STEEL_FITS);
        char bin[400];
        (void)snprintf(bin, sizeof bin,
                       "steel: {shape: rectangular, width: %.17g m, length: %.17g m, wall height: %.17g m, "
                       "hopper angle: %.17g deg, outlet: %.17g m, inlet offset: 100 mm, freeboard: 150 mm}, ",
                       steel.size.width_m, steel.size.length_m, steel.size.wall_m, steel.size.hopper_deg,
                       steel.size.outlet_m);
        ef_scenario *scenario = steel_plant(STEEL_WHEAT, bin, "");
        const double live_m3 = efi_station_live_m3(&scenario->stations[STEEL_BIN], 0).value;
        assert_true(live_m3 >= volumes[v] * (1.0 - 1e-5));
        assert_true(live_m3 <= volumes[v] + 0.011 * steel.size.width_m * steel.size.length_m);
        ef_scenario_free(scenario);
    }
}

static void more_volume_takes_more_steel(void **state)
{
    (void)state;
    double before = 0.0;
    for (int i = 0; i < 11; i++) {
        const double volume = 0.3 * pow(1.7, i);
        const ef_steel steel = asked("steel: {shape: round, headroom: 9 m}, ", "", volume);
        assert_int_equal(steel.why, EF_STEEL_FITS);
        assert_true(steel.size.steel_m2 >= before - 0.05); /* the walls' 10 mm */
        before = steel.size.steel_m2;
    }
}

/* The need of two crops that is hardest to meet sets the bin. */
static void every_crop_gets_what_it_asks(void **state)
{
    (void)state;
    ef_scenario *scenario = steel_plant(STEEL_WHEAT, "", "");
    efi_arena *arena = efi_arena_new();
    const efi_steel_need need[2] = {{.crop = 0, .live_m3 = 3.0}, {.crop = 1, .live_m3 = 3.0}};
    const ef_steel steel = steel_for(scenario, need, 2, arena);
    assert_int_equal(steel.why, EF_STEEL_FITS);
    assert_true(steel.crops[0].live_m3 > 3.0 && steel.crops[1].live_m3 >= 3.0 - 1e-5);
    efi_arena_free(arena);
    ef_scenario_free(scenario);
}

static void the_proportion_that_is_given_is_kept(void **state)
{
    (void)state;
    const ef_steel steel = asked("steel: {shape: round, proportion: 1.5}, ", "", 5.0);
    assert_int_equal(steel.why, EF_STEEL_FITS);
    assert_near_relative(steel.size.wall_m, 1.5 * steel.size.width_m, 1e-12);
    const ef_steel narrow = asked("steel: {shape: round, proportion: 1.5, most width: 1 m}, ", "", 5.0);
    assert_int_equal(narrow.why, EF_STEEL_NO_WIDTH);
    assert_near_absolute(narrow.there_m, 1.0, 0.0);
    assert_true(narrow.most_m3 > 0.5 && narrow.most_m3 < 5.0);
}

/* ---- what does not fit ----------------------------------------------------------------------------------
 */

/* The height that is said to be needed is: with it the bin fits, with 10 mm less it does not. So is the
 * volume that is said to fit. */
static void headroom_that_is_missing_is_told_exactly(void **state)
{
    (void)state;
    const ef_steel none = asked("steel: {shape: round, clearance: 2 m, headroom: 4 m}, ", "", 12.0);
    assert_int_equal(none.why, EF_STEEL_NO_HEADROOM);
    assert_near_absolute(none.there_m, 4.0, 0.0);
    assert_true(none.needed_m > 4.0 && none.most_m3 > 0.0 && none.most_m3 < 12.0);
    char bin[200];
    (void)snprintf(bin, sizeof bin, "steel: {shape: round, clearance: 2 m, headroom: %.4f m}, ",
                   none.needed_m + 1e-4);
    assert_int_equal(asked(bin, "", 12.0).why, EF_STEEL_FITS);
    (void)snprintf(bin, sizeof bin, "steel: {shape: round, clearance: 2 m, headroom: %.4f m}, ",
                   none.needed_m - 0.01);
    assert_int_equal(asked(bin, "", 12.0).why, EF_STEEL_NO_HEADROOM);
    assert_int_equal(
        asked("steel: {shape: round, clearance: 2 m, headroom: 4 m}, ", "", none.most_m3 - 0.15).why,
        EF_STEEL_FITS);
}

/* No room at all below the headroom: nothing would fit. */
static void a_machine_that_fills_the_headroom_leaves_nothing(void **state)
{
    (void)state;
    const ef_steel none = asked("steel: {shape: round, clearance: 4 m, headroom: 4 m}, ", "", 1.0);
    assert_int_equal(none.why, EF_STEEL_NO_HEADROOM);
    assert_near_absolute(none.most_m3, 0.0, 0.0);
}

static void dimensions_that_hold_less_are_too_small(void **state)
{
    (void)state;
    const char *const bin = "steel: {shape: round, diameter: 1 m, wall height: 1 m, hopper angle: 50 deg, "
                            "outlet: 200 mm}, ";
    const ef_steel small = asked(bin, "", 5.0);
    assert_int_equal(small.why, EF_STEEL_TOO_SMALL);
    assert_near_absolute(small.asked_m3, 5.0, 0.0);
    assert_true(small.most_m3 > 0.5 && small.most_m3 < 1.0);
    assert_int_equal(asked(bin, "", small.most_m3).why, EF_STEEL_FITS);
    assert_int_equal(asked("steel: {shape: round, diameter: 1 m, outlet: 1500 mm}, ", "", 1.0).why,
                     EF_STEEL_CONTRADICT);
}

static void the_next_standard_size_is_taken(void **state)
{
    (void)state;
    ef_scenario *scenario = steel_plant(STEEL_WHEAT, "", STEEL_STANDARD);
    efi_arena *arena = efi_arena_new();
    const double asked_m3[] = {1.0, 2.0, 6.0};
    const char *const names[] = {"Small", "Middle", "Large"};
    for (size_t i = 0; i < EF_COUNT(names); i++) {
        const ef_steel steel = steel_bin_for(scenario, asked_m3[i], arena);
        assert_int_equal(steel.why, EF_STEEL_FITS);
        assert_string_equal(steel.size.standard, names[i]);
    }
    const ef_steel none = steel_bin_for(scenario, 20.0, arena);
    assert_int_equal(none.why, EF_STEEL_NO_STANDARD);
    assert_true(none.most_m3 > 6.0 && none.most_m3 < 20.0);
    efi_arena_free(arena);
    ef_scenario_free(scenario);
    assert_int_equal(asked("steel: {shape: round, headroom: 2.5 m}, ", STEEL_STANDARD, 2.0).why,
                     EF_STEEL_NO_STANDARD);
    assert_int_equal(asked("steel: {shape: round, most width: 1.5 m}, ", STEEL_STANDARD, 2.0).why,
                     EF_STEEL_NO_STANDARD);
    assert_string_equal(asked("steel: {shape: rectangular}, ", STEEL_STANDARD, 2.0).size.shape,
                        "rectangular");
}

static void without_an_angle_of_repose_nothing_is_said(void **state)
{
    (void)state;
    ef_scenario *scenario = steel_plant("density: 0.78 t/m3", "live volume: 3 m3, ", "");
    efi_arena *arena = efi_arena_new();
    const ef_steel steel = steel_bin_for(scenario, 3.0, arena);
    assert_int_equal(steel.why, EF_STEEL_NO_REPOSE);
    assert_string_equal(steel.crop, "wheat");
    efi_arena_free(arena);
    ef_scenario_free(scenario);
}

/* ---- the verifier, memory ----------------------------------------------------------------------------
 */

static long differences(const ef_scenario *scenario, const ef_steel *steel)
{
    efi_differences list = {0};
    efi_verify_steel(scenario, STEEL_BIN, steel, &list);
    efi_text_free(&list.text);
    return list.count;
}

static void the_verifier_sees_each_number_that_is_wrong(void **state)
{
    (void)state;
    ef_scenario *scenario = steel_plant(STEEL_WHEAT, "steel: {shape: round, headroom: 6 m, clearance: 1 m}, ",
                                        "");
    efi_arena *arena = efi_arena_new();
    const ef_steel good = steel_bin_for(scenario, 3.0, arena);
    ef_steel_crop crop = good.crops[0];
    ef_steel bad = good;
    bad.crops = &crop;
    double *const numbers[] = {&bad.size.wall_m,   &bad.size.hopper_m,    &bad.size.hopper_deg,
                               &bad.size.outlet_m, &bad.size.freeboard_m, &bad.size.height_m,
                               &bad.size.steel_m2, &bad.size.level_m3,    &bad.size.width_m,
                               &crop.live_m3,      &crop.filled_m3,       &crop.headspace_m3,
                               &crop.outlet_tph,   &bad.size.clearance_m};
    assert_int_equal(differences(scenario, &bad), 0);
    for (size_t i = 0; i < EF_COUNT(numbers); i++) {
        const double kept = *numbers[i];
        *numbers[i] = kept * 1.01 + 0.01;
        assert_true(differences(scenario, &bad) > 0);
        *numbers[i] = kept;
    }
    crop.asked_m3 = crop.live_m3 * 1.01;
    assert_true(differences(scenario, &bad) > 0);
    crop.asked_m3 = 3.0;
    crop.cleans_out = false;
    assert_true(differences(scenario, &bad) > 0);
    efi_arena_free(arena);
    ef_scenario_free(scenario);
}

/* The n-th allocation fails, n = 1, 2, ... until none does: no answer, and nothing lost. */
static void short_memory_is_told(void **state)
{
    (void)state;
    ef_scenario *scenario = steel_plant(STEEL_WHEAT, "", "");
    const efi_steel_need need = {.crop = 0, .live_m3 = 2.0};
    ef_status status = EF_MEMORY;
    int failures = 0;
    for (long n = 1; status == EF_MEMORY; n++) {
        efi_arena *arena = efi_arena_new();
        ef_steel steel = {.crop_count = -1};
        (void)efi_memory_fail_at(n);
        status = efi_steel_for(scenario, STEEL_BIN, &need, 1, arena, &steel);
        (void)efi_memory_fail_at(0);
        failures += status == EF_MEMORY;
        assert_int_equal(steel.crop_count, status == EF_OK ? 1 : -1);
        efi_arena_free(arena);
    }
    assert_int_equal(status, EF_OK);
    assert_true(failures > 0);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_bin_as_it_is_by_hand),
        cmocka_unit_test(flow_goes_by_the_published_limit),
        cmocka_unit_test(what_is_no_bin_or_not_complete_is_refused),
        cmocka_unit_test(every_answer_sees_the_volume_that_follows),
        cmocka_unit_test(no_other_width_takes_less_steel),
        cmocka_unit_test(walls_come_back_from_the_live_volume),
        cmocka_unit_test(a_bin_that_is_found_holds_what_was_asked_when_it_is_built),
        cmocka_unit_test(more_volume_takes_more_steel),
        cmocka_unit_test(every_crop_gets_what_it_asks),
        cmocka_unit_test(the_proportion_that_is_given_is_kept),
        cmocka_unit_test(headroom_that_is_missing_is_told_exactly),
        cmocka_unit_test(a_machine_that_fills_the_headroom_leaves_nothing),
        cmocka_unit_test(dimensions_that_hold_less_are_too_small),
        cmocka_unit_test(the_next_standard_size_is_taken),
        cmocka_unit_test(without_an_angle_of_repose_nothing_is_said),
        cmocka_unit_test(the_verifier_sees_each_number_that_is_wrong),
        cmocka_unit_test(short_memory_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
