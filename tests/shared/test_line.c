/* SPDX-License-Identifier: GPL-3.0-or-later
 * The line of a crop: order, returns, exact flows against values worked out by hand. */
#include "base/base.h"
#include "base/memory.h"
#include "base/text.h"
#include "shared/line/line.h"

#include "../lib/near.h"
#include "../lib/plants.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#define EXACT 1e-13

#define HEAD                                                                                                 \
    "evenfeed: 1\nplant: {name: Plant}\nmaterials: {sound: {wanted: yes}, light: }\n"                        \
    "crops: {wheat: {receipt: {sound: rest, light: 10 %}}, oats: {receipt: {sound: rest}}}\nstations:\n"

/* A scenario, the line of one of its crops, and the feeds for given rates. */
typedef struct bench {
    ef_scenario *scenario;
    efi_arena *arena;
    efi_line line;
    double *feed_tph;
} bench;

static bench bench_new(const char *text, int crop)
{
    bench b = {.scenario = plant_read(text), .arena = efi_arena_new()};
    assert_non_null(b.arena);
    assert_int_equal(efi_line_build(&b.line, b.arena, b.scenario, crop), EF_OK);
    b.feed_tph = efi_arena_get(b.arena, (size_t)b.line.station_count * (size_t)b.line.materials,
                               sizeof *b.feed_tph);
    assert_non_null(b.feed_tph);
    return b;
}

static void bench_free(bench *b)
{
    efi_arena_free(b->arena);
    ef_scenario_free(b->scenario);
}

static int position(const bench *b, const char *name)
{
    for (int s = 0; s < b->line.station_count; s++)
        if (strcmp(b->line.stations[s].of->name, name) == 0)
            return s;
    fail_msg("no station %s", name);
    return -1;
}

static double total(const bench *b, const char *name)
{
    return efi_line_total(&b->line, b->feed_tph + (size_t)position(b, name) * (size_t)b->line.materials);
}

/* Names of the stations in order, parted by blanks, against what is expected. */
static void assert_order(const bench *b, const char *expected)
{
    efi_text names = {0};
    for (int s = 0; s < b->line.station_count; s++)
        efi_text_addf(&names, "%s%s", s ? " " : "", b->line.stations[s].of->name);
    assert_string_equal(efi_text_get(&names), expected);
    efi_text_free(&names);
}

/* ---- order ----------------------------------------------------------------------------------------------
 */

static void stations_come_after_those_that_feed_them(void **state)
{
    (void)state;
    bench b = bench_new(HEAD
                        "  Out: {kind: outlet, product: yes}\n"
                        "  C: {kind: machine, capacity: 9 t/h, to: Out}\n"
                        "  B: {kind: machine, capacity: 9 t/h, discharges: {x: {takes: {light: 50 %}, to: C},"
                        " y: {takes: rest, to: A}}}\n"
                        "  A: {kind: machine, capacity: 9 t/h, to: C}\n"
                        "  Pit: {kind: intake, capacity: 9 t/h, to: B}\n",
                        0);
    assert_order(&b, "Pit B A C Out");
    assert_int_equal(b.line.loop_count, 0);
    assert_int_equal(b.line.spout_count, 5);
    bench_free(&b);
}

static void a_crop_sees_only_the_stations_on_its_way(void **state)
{
    (void)state;
    static const char text[] = HEAD
        "  Pit: {kind: intake, capacity: 9 t/h, to: {wheat: A, oats: B}}\n"
        "  A: {kind: machine, capacity: {wheat: 5 t/h}, count: 2, to: B}\n"
        "  B: {kind: machine, capacity: {wheat: 9 t/h, oats: 7 t/h}, least feed: {oats: 3 t/h}, to: Out}\n"
        "  Out: {kind: outlet, product: yes, least rate: {oats: 2 t/h}}\n";
    bench wheat = bench_new(text, 0);
    bench oats = bench_new(text, 1);
    assert_order(&wheat, "Pit A B Out");
    assert_order(&oats, "Pit B Out");
    assert_near(wheat.line.stations[1].capacity.value, 10.0, EXACT);
    assert_false(wheat.line.stations[2].least_feed.given);
    assert_near(oats.line.stations[1].capacity.value, 7.0, EXACT);
    assert_near(oats.line.stations[1].least_feed.value, 3.0, EXACT);
    assert_near(oats.line.stations[2].least_rate.value, 2.0, EXACT);
    assert_false(wheat.line.stations[3].least_rate.given);
    bench_free(&wheat);
    bench_free(&oats);
}

static void a_spout_back_closes_a_loop_and_one_forward_does_not(void **state)
{
    (void)state;
    bench b = bench_new(
        HEAD "  Pit: {kind: intake, capacity: 9 t/h, to: A}\n"
             "  A: {kind: machine, capacity: 9 t/h, to: B}\n"
             "  B: {kind: machine, capacity: 9 t/h, discharges: {back: {takes: {light: 50 %}, to: A},"
             " skip: {takes: {sound: 10 %}, to: Out}, on: {takes: rest, to: C}}}\n"
             "  C: {kind: machine, capacity: 9 t/h, to: Out}\n"
             "  Out: {kind: outlet, product: yes}\n",
        0);
    assert_int_equal(b.line.loop_count, 1);
    for (int k = 0; k < b.line.spout_count; k++)
        assert_int_equal(b.line.spouts[k].closes_loop, strcmp(b.line.spouts[k].discharge->name, "back") == 0);
    assert_string_equal(b.line.spouts[b.line.loops[0]].discharge->name, "back");
    bench_free(&b);
}

/* ---- flows ----------------------------------------------------------------------------------------------
 */

/* X = F / (1 - r): fresh feed 8 t/h and 20 % of the deck feed returned make 10 t/h on the deck, 2 t/h
 * returned; lights of 5 % are 0.5 t/h, heavies 7.5 t/h. Geometric series, closed form. */
static void a_return_of_a_fifth_makes_ten_of_eight(void **state)
{
    (void)state;
    bench b = bench_new(HEAD "  Pit: {kind: intake, capacity: 40 t/h, to: Bin}\n"
                             "  Bin: {kind: bin, to: Deck}\n"
                             "  Deck: {kind: density separator, capacity: 10 t/h, discharges: {"
                             "middlings: {takes: {sound: 20 %, light: 20 %}, to: Bin}, "
                             "lights: {takes: {sound: 5 %, light: 5 %}, to: Waste}, "
                             "heavies: {takes: rest, to: Out}}}\n"
                             "  Waste: {kind: outlet}\n  Out: {kind: outlet, product: yes}\n",
                        0);
    const double rate = 8.0;
    assert_int_equal(efi_line_flows(&b.line, &rate, b.feed_tph), EF_OK);
    assert_near(total(&b, "Deck"), 10.0, EXACT);
    assert_near(total(&b, "Bin"), 10.0, EXACT);
    assert_near(total(&b, "Waste"), 0.5, EXACT);
    assert_near(total(&b, "Out"), 7.5, EXACT);
    const double *deck = b.feed_tph + (size_t)position(&b, "Deck") * 2;
    assert_near(deck[0], 9.0, EXACT);
    assert_near(deck[1], 1.0, EXACT);
    bench_free(&b);
}

/*
 * A loop in a loop: A -> B -> C -> out, with p = 25 % of C back to B and q = 50 % of C back to A. For 1 t/h
 * in: c = b, b = a + p c, a = 1 + q c, so c = 1 / (1 - p - q) = 4, b = 4, a = 3.
 */
static void nested_loops_add_up(void **state)
{
    (void)state;
    bench b = bench_new(HEAD "  Pit: {kind: intake, capacity: 40 t/h, to: A}\n"
                             "  A: {kind: machine, capacity: 10 t/h, to: B}\n"
                             "  B: {kind: machine, capacity: 10 t/h, to: C}\n"
                             "  C: {kind: machine, capacity: 10 t/h, discharges: {"
                             "inner: {takes: {other materials: 25 %}, to: B}, "
                             "outer: {takes: {other materials: 50 %}, to: A}, on: {takes: rest, to: Out}}}\n"
                             "  Out: {kind: outlet, product: yes}\n",
                        1);
    const double rate = 1.0;
    assert_int_equal(b.line.loop_count, 2);
    assert_int_equal(efi_line_flows(&b.line, &rate, b.feed_tph), EF_OK);
    assert_near(total(&b, "A"), 3.0, EXACT);
    assert_near(total(&b, "B"), 4.0, EXACT);
    assert_near(total(&b, "C"), 4.0, EXACT);
    assert_near(total(&b, "Out"), 1.0, EXACT);
    bench_free(&b);
}

/*
 * Three returns into one station M: from X 20 %, from Y 25 %, from Z 1/3 of what each gets, X, Y and Z in
 * series below M. For 6 t/h in: x = m, y = 0.8 x, z = 0.75 y = 0.6 m, out = 2/3 z = 0.4 m = 6, so m = 15, y =
 * 12, z = 9.
 */
static void several_loops_through_one_station_add_up(void **state)
{
    (void)state;
    bench b = bench_new(HEAD "  Pit: {kind: intake, capacity: 40 t/h, to: M}\n"
                             "  M: {kind: bin, to: X}\n"
                             "  X: {kind: machine, capacity: 40 t/h, discharges: {"
                             "back: {takes: {other materials: 20 %}, to: M}, on: {takes: rest, to: Y}}}\n"
                             "  Y: {kind: machine, capacity: 40 t/h, discharges: {"
                             "back: {takes: {other materials: 25 %}, to: M}, on: {takes: rest, to: Z}}}\n"
                             "  Z: {kind: machine, capacity: 40 t/h, discharges: {"
                             "back: {takes: {other materials: 1/3}, to: M}, on: {takes: rest, to: Out}}}\n"
                             "  Out: {kind: outlet, product: yes}\n",
                        0);
    const double rate = 6.0;
    assert_int_equal(b.line.loop_count, 3);
    assert_int_equal(efi_line_flows(&b.line, &rate, b.feed_tph), EF_OK);
    assert_near(total(&b, "M"), 15.0, EXACT);
    assert_near(total(&b, "X"), 15.0, EXACT);
    assert_near(total(&b, "Y"), 12.0, EXACT);
    assert_near(total(&b, "Z"), 9.0, EXACT);
    assert_near(total(&b, "Out"), 6.0, EXACT);
    bench_free(&b);
}

/* 99.9 % of the light material goes round: x = F / (1 - 0.999), a thousandfold. */
static void a_loop_that_lets_little_go_multiplies(void **state)
{
    (void)state;
    bench b = bench_new(HEAD "  Pit: {kind: intake, capacity: 40 t/h, to: A}\n"
                             "  A: {kind: machine, capacity: 40 t/h, discharges: {"
                             "back: {takes: {light: 99.9 %}, to: B}, on: {takes: rest, to: Out}}}\n"
                             "  B: {kind: bin, to: A}\n"
                             "  Out: {kind: outlet, product: yes}\n",
                        0);
    const double rate = 1.0;
    assert_int_equal(efi_line_flows(&b.line, &rate, b.feed_tph), EF_OK);
    const double *a = b.feed_tph + (size_t)position(&b, "A") * 2;
    assert_near(a[0], 0.9, EXACT);
    assert_near_relative(a[1], 100.0, 1e-12);
    bench_free(&b);
}

/* Two intakes: what each brings adds up, and the flows are linear in the rates. */
static void flows_of_two_intakes_add_up(void **state)
{
    (void)state;
    bench b = bench_new(HEAD "  North pit: {kind: intake, capacity: 40 t/h, to: A}\n"
                             "  South pit: {kind: intake, capacity: 40 t/h, to: B}\n"
                             "  A: {kind: machine, capacity: 10 t/h, discharges: {"
                             "waste: {takes: {light: 100 %}, to: Waste}, on: {takes: rest, to: B}}}\n"
                             "  B: {kind: machine, capacity: 10 t/h, to: Out}\n"
                             "  Waste: {kind: outlet}\n  Out: {kind: outlet, product: yes}\n",
                        0);
    assert_int_equal(b.line.intake_count, 2);
    const bool north_first = b.line.intakes[0] == position(&b, "North pit");
    const double rate[] = {north_first ? 10.0 : 3.0, north_first ? 3.0 : 10.0};
    assert_int_equal(efi_line_flows(&b.line, rate, b.feed_tph), EF_OK);
    assert_near(total(&b, "A"), 10.0, EXACT);
    assert_near(total(&b, "B"), 12.0, EXACT);
    assert_near(total(&b, "Waste"), 1.0, EXACT);
    assert_near(total(&b, "Out"), 12.0, EXACT);
    bench_free(&b);
}

static void volumes_follow_from_the_densities_of_the_materials(void **state)
{
    (void)state;
    bench b = bench_new(
        "evenfeed: 1\nplant: {name: Plant}\n"
        "materials: {sound: {wanted: yes}, chaff: {density: 0.1 t/m3}, straw: }\n"
        "crops: {wheat: {density: 0.8 t/m3, receipt: {sound: rest, chaff: 10 %}},"
        " oats: {receipt: {sound: rest, straw: 1 %}}}\nstations:\n"
        "  Pit: {kind: intake, capacity: 40 t/h, to: Out}\n  Out: {kind: outlet, product: yes}\n",
        0);
    const double rate = 8.0;
    assert_int_equal(efi_line_flows(&b.line, &rate, b.feed_tph), EF_OK);
    assert_true(b.line.has_density);
    assert_near(efi_line_volume(&b.line, b.feed_tph), 7.2 / 0.8 + 0.8 / 0.1, EXACT);
    efi_line oats;
    assert_int_equal(efi_line_build(&oats, b.arena, b.scenario, 1), EF_OK);
    assert_false(oats.has_density);
    bench_free(&b);
}

static void without_memory_there_is_no_line(void **state)
{
    (void)state;
    bench b = bench_new(HEAD "  Pit: {kind: intake, capacity: 40 t/h, to: A}\n"
                             "  A: {kind: machine, capacity: 40 t/h, discharges: {"
                             "back: {takes: {light: 50 %}, to: B}, on: {takes: rest, to: Out}}}\n"
                             "  B: {kind: bin, to: A}\n  Out: {kind: outlet, product: yes}\n",
                        0);
    const double rate = 1.0;
    ef_status status = EF_MEMORY;
    int failures = 0;
    for (long n = 1; status == EF_MEMORY; n++) {
        (void)efi_memory_fail_at(n);
        status = efi_line_flows(&b.line, &rate, b.feed_tph);
        (void)efi_memory_fail_at(0);
        failures += status == EF_MEMORY;
    }
    assert_int_equal(status, EF_OK);
    assert_true(failures >= 2);
    bench_free(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(stations_come_after_those_that_feed_them),
        cmocka_unit_test(a_crop_sees_only_the_stations_on_its_way),
        cmocka_unit_test(a_spout_back_closes_a_loop_and_one_forward_does_not),
        cmocka_unit_test(a_return_of_a_fifth_makes_ten_of_eight),
        cmocka_unit_test(nested_loops_add_up),
        cmocka_unit_test(several_loops_through_one_station_add_up),
        cmocka_unit_test(a_loop_that_lets_little_go_multiplies),
        cmocka_unit_test(flows_of_two_intakes_add_up),
        cmocka_unit_test(volumes_follow_from_the_densities_of_the_materials),
        cmocka_unit_test(without_memory_there_is_no_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
