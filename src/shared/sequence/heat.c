/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/sequence/heat.h"

/*
 * Simulated annealing (S. Kirkpatrick, C. D. Gelatt and M. P. Vecchi, Science 220, 1983) over local optima
 * (O. Martin, S. W. Otto and E. W. Felten, Complex Systems 5, 1991): an order worse by d is gone on from with
 * a chance of about 2^(-d / heat). The limit is drawn, as heat * -log2(u) for u uniform in (0, 1], not the
 * chance worked out; the logarithm is made straight between powers of two, which changes a chance by 6 % at
 * most and needs no library.
 */

enum {
    FIRST_CYCLE = 20000000, /* steps */
    LONGEST_CYCLE = 320000000,
    FINE = 1 << 11,
    HOT = 12, /* sixteenths of the unit */
    COLD = 6
};

static void find_cycle(efi_heat *heat, uint64_t step)
{
    if (heat->steps == 0)
        *heat = (efi_heat){step, FIRST_CYCLE};
    while (step - heat->began >= heat->steps) {
        heat->began += heat->steps;
        if (heat->steps < LONGEST_CYCLE)
            heat->steps *= 2;
    }
}

/* FINE * -log2(u), for u drawn from (0, 1]: halvings of chance, straight between whole numbers. */
static int64_t draw_halvings(efi_random *random)
{
    uint64_t bits = efi_random_bits(random) | 1u;
    int64_t halvings = 0;
    for (; !(bits >> 63); bits <<= 1)
        halvings += FINE;
    return halvings + FINE - (int64_t)(bits >> 52 & (FINE - 1));
}

int64_t efi_heat_slack(efi_heat *heat, efi_random *random, uint64_t step, int64_t unit)
{
    find_cycle(heat, step);
    const int64_t cooled = (int64_t)((step - heat->began) * FINE / heat->steps);
    const int64_t sixteenths = (int64_t)HOT * FINE - (HOT - COLD) * cooled; /* FINE times */
    const int64_t halvings = draw_halvings(random);
    /* Parted in two, so that large units do not pass the range. */
    const int64_t share = sixteenths * halvings / FINE; /* of 16 * FINE, less than 2^21 */
    const int64_t whole = 16 * FINE;
    return unit / whole * share + unit % whole * share / whole;
}
