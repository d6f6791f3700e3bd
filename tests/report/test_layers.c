/* SPDX-License-Identifier: GPL-3.0-or-later
 * The layered layout: nothing overlaps, arrows run down and past boxes, small drawings known by hand. */
#include "base/random.h"
#include "report/picture/layers.h"

#include "../lib/near.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum {
    MOST = 60,
    MOST_ARROWS = 120
};

typedef struct drawing {
    efi_layers_box box[MOST];
    efi_layers_arrow arrow[MOST_ARROWS];
    efi_layers layers;
} drawing;

static void start(drawing *d, int boxes)
{
    memset(d, 0, sizeof *d);
    d->layers = (efi_layers){.box = d->box, .boxes = boxes, .arrow = d->arrow, .gap_x = 20.0, .gap_y = 40.0};
    for (int b = 0; b < boxes; b++)
        d->box[b] = (efi_layers_box){.width = 100.0, .height = 40.0};
}

static void lead(drawing *d, int from, int to, bool back)
{
    d->arrow[d->layers.arrows++] = (efi_layers_arrow){
        .from = from, .to = to, .width = 4.0, .closes_loop = back};
}

static double left(const efi_layers_box *box)
{
    return box->x - 0.5 * box->width;
}

static double right(const efi_layers_box *box)
{
    return box->x + 0.5 * box->width;
}

static double top(const efi_layers_box *box)
{
    return box->y - 0.5 * box->height;
}

static double bottom(const efi_layers_box *box)
{
    return box->y + 0.5 * box->height;
}

/* Does the straight piece from a to b pass through the inside of a box? (Tried at many points.) */
static bool passes(efi_layers_point a, efi_layers_point b, const efi_layers_box *box)
{
    for (int i = 0; i <= 50; i++) {
        const double t = i / 50.0;
        const double x = a.x + t * (b.x - a.x);
        const double y = a.y + t * (b.y - a.y);
        if (x > left(box) + 0.5 && x < right(box) - 0.5 && y > top(box) + 0.5 && y < bottom(box) - 0.5)
            return true;
    }
    return false;
}

static void check_boxes(const drawing *d)
{
    for (int i = 0; i < d->layers.boxes; i++) {
        const efi_layers_box *a = &d->box[i];
        assert_true(left(a) >= -1e-9 && right(a) <= d->layers.width + 1e-9);
        assert_true(top(a) >= -1e-9 && bottom(a) <= d->layers.height + 1e-9);
        for (int j = i + 1; j < d->layers.boxes; j++) {
            const efi_layers_box *b = &d->box[j];
            const bool apart = right(a) + 19.99 <= left(b) || right(b) + 19.99 <= left(a) ||
                               bottom(a) + 39.99 <= top(b) || bottom(b) + 39.99 <= top(a);
            assert_true(apart);
        }
    }
}

static void check_arrows(const drawing *d)
{
    for (int a = 0; a < d->layers.arrows; a++) {
        const efi_layers_arrow *arrow = &d->arrow[a];
        assert_true(arrow->points >= 2);
        const efi_layers_box *from = &d->box[arrow->from];
        const efi_layers_box *to = &d->box[arrow->to];
        const efi_layers_point first = arrow->point[0];
        const efi_layers_point last = arrow->point[arrow->points - 1];
        assert_true(first.x >= left(from) - 1e-9 && first.x <= right(from) + 1e-9);
        assert_true(last.x >= left(to) - 1e-9 && last.x <= right(to) + 1e-9);
        if (!arrow->closes_loop) {
            assert_near_absolute(first.y, bottom(from), 1e-9);
            assert_near_absolute(last.y, top(to), 1e-9);
        }
        for (int i = 1; i < arrow->points; i++) {
            assert_true(arrow->closes_loop || arrow->point[i].y > arrow->point[i - 1].y);
            for (int b = 0; b < d->layers.boxes; b++)
                assert_false(passes(arrow->point[i - 1], arrow->point[i], &d->box[b]));
        }
    }
}

static void check(const drawing *d)
{
    check_boxes(d);
    check_arrows(d);
}

/* An arrow of a drawing: from, to, and BACK where it closes a loop. */
enum {
    BACK = 1
};

typedef int way[3];

static void draw_ways(drawing *d, int boxes, const way *ways, size_t count)
{
    start(d, boxes);
    for (size_t w = 0; w < count; w++)
        lead(d, ways[w][0], ways[w][1], ways[w][2] == BACK);
    assert_int_equal(efi_layers_place(&d->layers), EF_OK);
    check(d);
}

/* Boxes and arrows, placed and checked: DRAW(d, 3, {0, 1}, {1, 2}, {2, 0, BACK}). */
#define DRAW(d, boxes, ...)                                                                                  \
    draw_ways((d), (boxes), (const way[]){__VA_ARGS__}, sizeof((const way[]){__VA_ARGS__}) / sizeof(way))

/* One below the other, straight. */
static void test_chain(void **state)
{
    (void)state;
    static drawing d;
    DRAW(&d, 4, {0, 1}, {1, 2}, {2, 3});
    for (int b = 0; b < 4; b++) {
        assert_int_equal(d.box[b].layer, b);
        assert_near(d.box[b].x, 50.0, 1e-9);
        assert_near(d.box[b].y, 20.0 + 80.0 * b, 1e-9);
    }
    assert_near(d.layers.width, 100.0, 1e-9);
    assert_near(d.layers.height, 280.0, 1e-9);
    efi_layers_free(&d.layers);
}

/* 0 feeds 1 and 2, listed so that their users 3 and 4 would cross: 1 to 4, 2 to 3. None is needed. */
static void test_crossing_undone(void **state)
{
    (void)state;
    static drawing d;
    DRAW(&d, 5, {0, 1}, {0, 2}, {1, 4}, {2, 3});
    assert_int_equal(d.layers.crossings, 0);
    assert_near(d.box[0].x, 0.5 * (d.box[1].x + d.box[2].x), 1e-6);
    efi_layers_free(&d.layers);
}

/* Two sources, each to both of two sinks: one crossing cannot be undone. */
static void test_crossing_kept(void **state)
{
    (void)state;
    static drawing d;
    DRAW(&d, 4, {0, 2}, {0, 3}, {1, 2}, {1, 3});
    assert_int_equal(d.layers.crossings, 1);
    efi_layers_free(&d.layers);
}

/* A second intake stands right above its user, not at the top. */
static void test_source_lowered(void **state)
{
    (void)state;
    static drawing d;
    DRAW(&d, 5, {0, 1}, {1, 2}, {2, 3}, {4, 3});
    assert_int_equal(d.box[4].layer, 2);
    efi_layers_free(&d.layers);
}

/* A loop is led back outside; without the mark there is no layout. */
static void test_loop(void **state)
{
    (void)state;
    static drawing d;
    DRAW(&d, 4, {0, 1}, {1, 2}, {2, 3}, {2, 1, BACK});
    assert_true(d.layers.width > 100.0);
    d.arrow[3].closes_loop = false;
    assert_int_equal(efi_layers_place(&d.layers), EF_USAGE);
    efi_layers_free(&d.layers);
}

/* A number from 0 to count - 1. */
static int below(efi_random *random, int count)
{
    return (int)efi_random_below(random, (uint32_t)count);
}

static void make_random(drawing *d, efi_random *random)
{
    const int boxes = 2 + below(random, 39);
    start(d, boxes);
    for (int b = 0; b < boxes; b++) {
        d->box[b].width = 60.0 + below(random, 120);
        d->box[b].height = 30.0 + below(random, 30);
    }
    for (int b = 1; b < boxes; b++)
        lead(d, below(random, b), b, false);
    for (int extra = boxes / 4; extra > 0; extra--) {
        const int a = below(random, boxes);
        const int b = below(random, boxes);
        if (a != b)
            lead(d, a < b ? a : b, a < b ? b : a, false);
    }
    for (int loops = below(random, 4); loops > 0; loops--) {
        const int a = below(random, boxes);
        const int b = below(random, boxes);
        if (a != b)
            lead(d, a > b ? a : b, a > b ? b : a, true);
    }
}

static void test_random(void **state)
{
    (void)state;
    static drawing d;
    static drawing again;
    const uint64_t seed = 20261125;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (uint64_t i = 0; i < 400; i++) {
        efi_random random = efi_random_stream(seed, i, 0);
        make_random(&d, &random);
        again = d;
        again.layers.box = again.box;
        again.layers.arrow = again.arrow;
        assert_int_equal(efi_layers_place(&d.layers), EF_OK);
        assert_int_equal(efi_layers_place(&again.layers), EF_OK);
        assert_memory_equal(d.box, again.box, sizeof d.box);
        check(&d);
        efi_layers_free(&d.layers);
        efi_layers_free(&again.layers);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_chain),         cmocka_unit_test(test_crossing_undone),
        cmocka_unit_test(test_crossing_kept), cmocka_unit_test(test_source_lowered),
        cmocka_unit_test(test_loop),          cmocka_unit_test(test_random),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
