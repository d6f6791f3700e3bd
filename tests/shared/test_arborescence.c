/* SPDX-License-Identifier: GPL-3.0-or-later
 * The least arborescence against all ways of giving each node one edge into it. */
#include "base/random.h"
#include "shared/sequence/arborescence.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

enum {
    MOST = 7
};

/* Does each node come from the root, the last one? */
static bool is_arborescence(int nodes, const int *from)
{
    for (int v = 0; v < nodes - 1; v++) {
        int at = v;
        for (int steps = 0; at != nodes - 1; at = from[at])
            if (++steps >= nodes)
                return false;
    }
    return true;
}

static int64_t sum_of(int nodes, const int64_t *price, const int *from)
{
    int64_t sum = 0;
    for (int v = 0; v < nodes - 1; v++)
        sum += price[v * nodes + from[v]];
    return sum;
}

/* Counts through all choices, like the digits of a number. */
static int64_t least_of_all(int nodes, const int64_t *price)
{
    int from[MOST] = {0};
    int64_t least = INT64_MAX;
    for (;;) {
        bool loops = false;
        for (int v = 0; v < nodes - 1; v++)
            loops = loops || from[v] == v;
        if (!loops && is_arborescence(nodes, from) && sum_of(nodes, price, from) < least)
            least = sum_of(nodes, price, from);
        int v = 0;
        while (v < nodes - 1 && ++from[v] == nodes)
            from[v++] = 0;
        if (v == nodes - 1)
            return least;
    }
}

static void no_arborescence_costs_less(void **state)
{
    (void)state;
    const uint64_t seed = 5521;
    efi_arborescence *a = efi_arborescence_new(MOST);
    assert_non_null(a);
    print_message("seed %llu\n", (unsigned long long)seed);
    for (uint64_t i = 0; i < 300; i++) {
        efi_random random = efi_random_stream(seed, i, 0);
        const int nodes = 2 + (int)efi_random_below(&random, i % 20 == 0 ? MOST - 1 : MOST - 2);
        int64_t kept[MOST * MOST];
        int from[MOST];
        int64_t *price = efi_arborescence_prices(a, nodes);
        for (int k = 0; k < nodes * nodes; k++) /* few prices make circles, and circles of circles */
            kept[k] = price[k] = (int64_t)efi_random_below(&random, i % 3 ? 4 : 1000) - (i % 2 ? 2 : 0);
        const int64_t least = efi_arborescence_solve(a, from);
        assert_true(is_arborescence(nodes, from));
        assert_int_equal(sum_of(nodes, kept, from), least);
        assert_int_equal(least, least_of_all(nodes, kept));
        memcpy(price, kept, (size_t)(nodes * nodes) * sizeof *price);
        assert_int_equal(efi_arborescence_solve(a, NULL), least);
    }
    efi_arborescence_free(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(no_arborescence_costs_less)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
