/* SPDX-License-Identifier: GPL-3.0-or-later
 * Volumes of bins: by hand where a closed form exists, else against points thrown at random, and how they
 * must move with the dimensions. */
#include "model/bin_shape.h"

#include "../lib/near.h"
#include "base/base.h"
#include "base/random.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#define EXACT     1e-12
#define CONVERGED 1e-8

static double tangent(double deg)
{
    return tan(deg * EF_PI / 180.0);
}

static efi_bin_shape round_flat(double diameter_m, double wall_m, double outlet_m)
{
    return (efi_bin_shape){.is_round = true,
                           .is_flat = true,
                           .length_m = diameter_m,
                           .width_m = diameter_m,
                           .wall_m = wall_m,
                           .outlet_x_m = outlet_m / 2.0,
                           .outlet_y_m = outlet_m / 2.0};
}

static efi_bin_shape square_flat(double length_m, double width_m, double wall_m)
{
    return (efi_bin_shape){.is_flat = true,
                           .length_m = length_m,
                           .width_m = width_m,
                           .wall_m = wall_m,
                           .outlet_x_m = 0.05,
                           .outlet_y_m = 0.05};
}

/* Gives a bin a hopper whose flattest side has this angle. */
static void give_hopper(efi_bin_shape *shape, double deg)
{
    const double run_x = shape->length_m / 2.0 - shape->outlet_x_m;
    const double run_y = shape->width_m / 2.0 - shape->outlet_y_m;
    shape->is_flat = false;
    shape->hopper_m = (shape->is_round ? run_y : fmax(run_x, run_y)) * tangent(deg);
    shape->slope_x = run_x > 0.0 ? shape->hopper_m / run_x : INFINITY;
    shape->slope_y = shape->hopper_m / run_y;
}

static double headspace(const efi_bin_shape *shape, double repose_deg)
{
    const efi_bin_volumes volumes = efi_bin_fill(shape, repose_deg, repose_deg, true);
    return volumes.level_m3 - volumes.filled_m3;
}

/* ---- by hand --------------------------------------------------------------------------------------------
 */

/* Diameter 2 m, walls 2 m, outlet 0.25 m, cone at 45 degrees: hopper (1 - 0.125) m = 0.875 m high;
 * pi 2 + pi 0.875 / 3 (1 + 0.125 + 0.015625). The heap at 28 degrees loses 2/3 pi tan 28. */
static void a_round_bin_with_a_cone_by_hand(void **state)
{
    (void)state;
    efi_bin_shape shape = round_flat(2.0, 2.0, 0.25);
    give_hopper(&shape, 45.0);
    const efi_bin_volumes volumes = efi_bin_fill(&shape, 28.0, 28.0, true);
    const double level = EF_PI * 2.0 + EF_PI * 0.875 / 3.0 * 1.140625;
    assert_near_relative(volumes.level_m3, level, EXACT);
    assert_near_relative(volumes.filled_m3, level - 2.0 / 3.0 * EF_PI * tangent(28.0), EXACT);
    assert_near_relative(volumes.live_m3, volumes.filled_m3, EXACT);
    assert_near_absolute(volumes.dead_m3, 0.0, EXACT);
    /* walls pi 2 2, cone pi (1 + 0.125) times its side 0.875 sqrt 2 */
    assert_near_relative(efi_bin_area(&shape), EF_PI * 4.0 + EF_PI * 1.125 * 0.875 * sqrt(2.0), EXACT);
}

/* A freeboard f lowers the whole heap: pi R^2 f less. */
static void freeboard_takes_a_slice(void **state)
{
    (void)state;
    efi_bin_shape shape = round_flat(2.0, 2.0, 0.25);
    const double before = efi_bin_fill(&shape, 28.0, 28.0, true).filled_m3;
    shape.freeboard_m = 0.15;
    assert_near_relative(efi_bin_fill(&shape, 28.0, 28.0, true).filled_m3, before - EF_PI * 0.15, EXACT);
}

/* On a flat floor there stays what lies below the funnel that rises from the outlet's edge q:
 * int_q^R 2 pi r (r - q) tan e dr = 2 pi tan e ((R^3 - q^3)/3 - q (R^2 - q^2)/2). */
static void a_flat_floor_keeps_what_lies_below_the_funnel(void **state)
{
    (void)state;
    const efi_bin_shape shape = round_flat(3.0, 4.0, 0.4);
    const efi_bin_volumes volumes = efi_bin_fill(&shape, 25.0, 30.0, false);
    const double q = 0.2;
    const double r = 1.5;
    const double dead = 2.0 * EF_PI * tangent(30.0) *
                        ((r * r * r - q * q * q) / 3.0 - q * (r * r - q * q) / 2.0);
    assert_near_relative(volumes.dead_m3, dead, EXACT);
    assert_near_relative(volumes.live_m3,
                         EF_PI * r * r * 4.0 - 2.0 / 3.0 * EF_PI * r * r * r * tangent(25.0) - dead, EXACT);
}

/* Low walls and a steep heap: a cone of radius and height 1 m, pi/3, however wide the floor. */
static void a_heap_that_does_not_reach_the_wall_is_a_cone(void **state)
{
    (void)state;
    const double diameters[] = {2.0, 6.0, 18.0};
    for (size_t d = 0; d < EF_COUNT(diameters); d++) {
        const double diameter = diameters[d];
        efi_bin_shape shape = round_flat(diameter, 1.0, 0.1);
        assert_near_relative(efi_bin_fill(&shape, 45.0, 45.0, true).filled_m3, EF_PI / 3.0, EXACT);
        for (int i = 0; i <= 10; i++) {
            shape.inlet_x_m = (diameter - 2.0) / 2.0 * i / 10.0;
            assert_near_absolute(efi_bin_fill(&shape, 45.0, 45.0, true).filled_m3, EF_PI / 3.0,
                                 1e-9 * efi_bin_level(&shape));
        }
    }
}

/* The mean distance of a square's points from its centre is side (sqrt 2 + asinh 1) / 6, from a corner twice
 * that; the headspace is tan times the area times that distance. */
static void a_square_bin_loses_its_mean_distance_from_the_fill_point(void **state)
{
    (void)state;
    efi_bin_shape shape = square_flat(2.0, 2.0, 6.0);
    const double to_centre = 2.0 * (sqrt(2.0) + asinh(1.0)) / 6.0;
    assert_near_relative(headspace(&shape, 28.0), 4.0 * to_centre * tangent(28.0), CONVERGED);
    shape.inlet_x_m = shape.inlet_y_m = 1.0;
    assert_near_relative(headspace(&shape, 28.0), 8.0 * to_centre * tangent(28.0), CONVERGED);
}

/* The mean distance of a disc's points from a point of its rim is 32 R / (9 pi). */
static void a_round_bin_filled_at_the_wall_loses_its_mean_distance_from_the_rim(void **state)
{
    (void)state;
    efi_bin_shape shape = round_flat(4.0, 6.0, 0.3);
    shape.inlet_x_m = 2.0;
    assert_near_relative(headspace(&shape, 28.0), 32.0 / 9.0 * 8.0 * tangent(28.0), CONVERGED);
}

/* Square 2 m, walls 1 m, pyramid at 60 degrees to 0.2 m: height 0.9 tan 60, a third of it times
 * (4 + 0.04 + 0.4). Valley: tan 60 / sqrt 2. */
static void a_pyramid_by_hand(void **state)
{
    (void)state;
    efi_bin_shape shape = square_flat(2.0, 2.0, 1.0);
    shape.outlet_x_m = shape.outlet_y_m = 0.1;
    give_hopper(&shape, 60.0);
    const double h = 0.9 * tangent(60.0);
    assert_near_relative(efi_bin_level(&shape), 4.0 + h / 3.0 * 4.44, EXACT);
    assert_near_relative(efi_bin_fill(&shape, 1e-9, 1e-9, true).filled_m3, 4.0 + h / 3.0 * 4.44, CONVERGED);
    assert_near_relative(efi_bin_valley(&shape), tangent(60.0) / sqrt(2.0), EXACT);
    /* walls 8, four trapezia (2 + 0.2) / 2 wide, hypot(h, 0.9) long */
    assert_near_relative(efi_bin_area(&shape), 8.0 + 4.0 * 1.1 * hypot(h, 0.9), EXACT);
}

/* 3 m long, 2 m wide, walls 1 m, a slot of 0.2 m over the length, 50 degrees: height 0.9 tan 50, section
 * (2 + 0.2) / 2 times it, 3 m long. */
static void a_wedge_by_hand(void **state)
{
    (void)state;
    efi_bin_shape shape = square_flat(3.0, 2.0, 1.0);
    shape.outlet_x_m = 1.5;
    shape.outlet_y_m = 0.1;
    give_hopper(&shape, 50.0);
    const double h = 0.9 * tangent(50.0);
    assert_near_relative(efi_bin_level(&shape), 6.0 + 1.1 * h * 3.0, EXACT);
    assert_near_relative(efi_bin_fill(&shape, 1e-9, 1e-9, true).filled_m3, 6.0 + 1.1 * h * 3.0, CONVERGED);
    assert_near_relative(efi_bin_valley(&shape), tangent(50.0), EXACT);
    /* walls 10, two sides 3 m by hypot(h, 0.9), two upright ends */
    assert_near_relative(efi_bin_area(&shape), 10.0 + 6.0 * hypot(h, 0.9) + 2.0 * 1.1 * h, EXACT);
}

/* ---- at random ------------------------------------------------------------------------------------------
 */

typedef struct any_bin {
    efi_bin_shape shape;
    double repose_deg;
    double emptying_deg;
    bool cleans_out;
} any_bin;

static double within(efi_random *random, double from, double to)
{
    return from + (to - from) * efi_random_uniform(random);
}

static any_bin any(efi_random *random)
{
    any_bin bin = {.repose_deg = within(random, 5.0, 45.0),
                   .emptying_deg = within(random, 5.0, 45.0),
                   .cleans_out = efi_random_below(random, 3) == 0};
    efi_bin_shape *shape = &bin.shape;
    shape->is_round = efi_random_below(random, 2) == 0;
    shape->width_m = within(random, 0.5, 5.0);
    shape->length_m = shape->is_round ? shape->width_m : shape->width_m * within(random, 1.0, 2.0);
    shape->wall_m = within(random, 0.0, 4.0);
    shape->outlet_y_m = shape->width_m / 2.0 * within(random, 0.05, 0.4);
    shape->outlet_x_m = shape->is_round ? shape->outlet_y_m : shape->outlet_y_m * within(random, 1.0, 1.5);
    const uint32_t hopper = efi_random_below(random, 4);
    shape->is_flat = hopper == 0;
    if (hopper == 1 && !shape->is_round)
        shape->outlet_x_m = shape->length_m / 2.0; /* a wedge */
    if (!shape->is_flat)
        give_hopper(shape, within(random, 10.0, 75.0));
    if (efi_random_below(random, 3) > 0) {
        shape->inlet_x_m = shape->length_m / 2.0 * within(random, 0.0, 1.0);
        shape->inlet_y_m = shape->is_round ? 0.0 : shape->width_m / 2.0 * within(random, 0.0, 1.0);
    }
    shape->freeboard_m = (shape->wall_m + shape->hopper_m) * within(random, 0.0, 0.3);
    return bin;
}

/* Is a point inside the bin, and does what lies there fill it, or run out of it? */
static void look(const any_bin *bin, double x, double y, double z, bool *level, bool *filled, bool *live)
{
    const efi_bin_shape *s = &bin->shape;
    const double r = hypot(x, y);
    *level = *filled = *live = false;
    if (s->is_round ? r > s->width_m / 2.0 : fabs(x) > s->length_m / 2.0 || fabs(y) > s->width_m / 2.0)
        return;
    const double out_x = s->is_round ? 0.0 : fmax(0.0, fabs(x) - s->outlet_x_m);
    const double out_y = fmax(0.0, (s->is_round ? r : fabs(y)) - s->outlet_y_m);
    if (!s->is_flat && ((out_x > 0.0 && z < out_x * s->slope_x) || z < out_y * s->slope_y))
        return;
    const double top = s->hopper_m + s->wall_m;
    *level = z < top;
    const double away = hypot(x - s->inlet_x_m, y - s->inlet_y_m);
    *filled = z < top - s->freeboard_m - tangent(bin->repose_deg) * away;
    *live = *filled && (bin->cleans_out || z > tangent(bin->emptying_deg) * hypot(out_x, out_y));
}

/* Counts of points against volumes: within 5 standard deviations, which one volume in some two million
 * exceeds by chance. */
static void points_thrown_at_random_agree(void **state)
{
    (void)state;
    enum {
        BINS = 60,
        POINTS = 100000
    };
    const uint64_t seed = 20261125;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (uint64_t n = 0; n < BINS; n++) {
        efi_random random = efi_random_stream(seed, n, 0);
        const any_bin bin = any(&random);
        const efi_bin_volumes volumes = efi_bin_fill(&bin.shape, bin.repose_deg, bin.emptying_deg,
                                                     bin.cleans_out);
        const double high = bin.shape.hopper_m + bin.shape.wall_m;
        const double box = bin.shape.length_m * bin.shape.width_m * high;
        int counts[3] = {0};
        for (int i = 0; i < POINTS; i++) {
            bool in[3];
            const double x = bin.shape.length_m * within(&random, -0.5, 0.5);
            const double y = bin.shape.width_m * within(&random, -0.5, 0.5);
            look(&bin, x, y, high * efi_random_uniform(&random), &in[0], &in[1], &in[2]);
            for (int k = 0; k < 3; k++)
                counts[k] += in[k];
        }
        const double found[3] = {volumes.level_m3, volumes.filled_m3, volumes.live_m3};
        for (int k = 0; k < 3; k++) {
            const double share = found[k] / box;
            const double deviation = sqrt(fmax(share * (1.0 - share), 1.0 / POINTS) / POINTS);
            assert_near_absolute((double)counts[k] / POINTS, share, 5.0 * deviation);
        }
    }
}

static efi_bin_volumes volumes_of(const any_bin *bin)
{
    return efi_bin_fill(&bin->shape, bin->repose_deg, bin->emptying_deg, bin->cleans_out);
}

/* More wall holds more; a steeper heap, a wider freeboard and a fill point further out hold less; what stays
 * behind grows with its angle. */
static void volumes_move_the_way_they_must(void **state)
{
    (void)state;
    const uint64_t seed = 7;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (uint64_t n = 0; n < 300; n++) {
        efi_random random = efi_random_stream(seed, n, 0);
        const any_bin bin = any(&random);
        const efi_bin_volumes before = volumes_of(&bin);
        const double slack = 1e-8 * before.level_m3;
        assert_true(before.live_m3 >= -slack && before.live_m3 <= before.filled_m3 + slack);
        assert_true(before.filled_m3 <= before.level_m3 + slack);
        any_bin other = bin;
        other.shape.wall_m += 0.1;
        assert_true(volumes_of(&other).live_m3 >= before.live_m3 - slack);
        other = bin;
        other.repose_deg += 2.0;
        assert_true(volumes_of(&other).filled_m3 <= before.filled_m3 + slack);
        other = bin;
        other.emptying_deg += 2.0;
        assert_true(volumes_of(&other).live_m3 <= before.live_m3 + slack);
        other = bin;
        other.shape.freeboard_m += 0.05;
        assert_true(volumes_of(&other).filled_m3 <= before.filled_m3 + slack);
        other = bin;
        other.shape.inlet_x_m *= 0.7;
        other.shape.inlet_y_m *= 0.7;
        assert_true(volumes_of(&other).filled_m3 >= before.filled_m3 - slack);
    }
}

/* Mirrored or turned by a right angle, a bin holds the same. */
static void a_turned_bin_holds_the_same(void **state)
{
    (void)state;
    const uint64_t seed = 11;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (uint64_t n = 0; n < 100; n++) {
        efi_random random = efi_random_stream(seed, n, 0);
        const any_bin bin = any(&random);
        any_bin turned = bin;
        efi_bin_shape *t = &turned.shape;
        t->length_m = bin.shape.width_m;
        t->width_m = bin.shape.length_m;
        t->outlet_x_m = bin.shape.outlet_y_m;
        t->outlet_y_m = bin.shape.outlet_x_m;
        t->slope_x = bin.shape.slope_y;
        t->slope_y = bin.shape.slope_x;
        t->inlet_x_m = -bin.shape.inlet_y_m;
        t->inlet_y_m = bin.shape.inlet_x_m;
        if (bin.shape.is_round)
            t->slope_y = bin.shape.slope_y;
        assert_near_absolute(volumes_of(&turned).live_m3, volumes_of(&bin).live_m3,
                             1e-8 * volumes_of(&bin).level_m3);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_round_bin_with_a_cone_by_hand),
        cmocka_unit_test(freeboard_takes_a_slice),
        cmocka_unit_test(a_flat_floor_keeps_what_lies_below_the_funnel),
        cmocka_unit_test(a_heap_that_does_not_reach_the_wall_is_a_cone),
        cmocka_unit_test(a_square_bin_loses_its_mean_distance_from_the_fill_point),
        cmocka_unit_test(a_round_bin_filled_at_the_wall_loses_its_mean_distance_from_the_rim),
        cmocka_unit_test(a_pyramid_by_hand),
        cmocka_unit_test(a_wedge_by_hand),
        cmocka_unit_test(points_thrown_at_random_agree),
        cmocka_unit_test(volumes_move_the_way_they_must),
        cmocka_unit_test(a_turned_bin_holds_the_same),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
