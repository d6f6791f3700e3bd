/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/random.h"

#include <assert.h>

static uint64_t splitmix(uint64_t *state)
{
    uint64_t z = (*state += 0x9e3779b97f4a7c15u);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

efi_random efi_random_stream(uint64_t seed, uint64_t a, uint64_t b)
{
    uint64_t state = seed;
    state = splitmix(&state) ^ a;
    state = splitmix(&state) ^ b;
    efi_random random;
    for (int i = 0; i < 4; i++)
        random.word[i] = splitmix(&state);
    return random;
}

static uint64_t rotate_left(uint64_t x, int bits)
{
    return (x << bits) | (x >> (64 - bits));
}

uint64_t efi_random_bits(efi_random *random)
{
    uint64_t *s = random->word;
    const uint64_t result = rotate_left(s[1] * 5, 7) * 9;
    const uint64_t t = s[1] << 17;
    s[2] ^= s[0];
    s[3] ^= s[1];
    s[1] ^= s[2];
    s[0] ^= s[3];
    s[2] ^= t;
    s[3] = rotate_left(s[3], 45);
    return result;
}

double efi_random_uniform(efi_random *random)
{
    return ((double)(efi_random_bits(random) >> 11) + 0.5) * 0x1p-53;
}

uint32_t efi_random_below(efi_random *random, uint32_t count)
{
    assert(count > 0);
    const uint32_t least = (uint32_t)(-count) % count;
    for (;;) {
        const uint64_t product = (efi_random_bits(random) >> 32) * count;
        if ((uint32_t)product >= least)
            return (uint32_t)(product >> 32);
    }
}
