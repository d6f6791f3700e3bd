/* SPDX-License-Identifier: GPL-3.0-or-later
 * Random numbers: xoshiro256** streams, one for each (seed, a, b), the same on every machine. */
#ifndef EFI_RANDOM_H
#define EFI_RANDOM_H

#include <stdint.h>

/* One stream; a plain value, copied freely, not shared between threads. */
typedef struct efi_random {
    uint64_t word[4];
} efi_random;

/*
 * The stream of (seed, a, b), say of seed, replication and station. Streams of different triples are
 * independent for all practical purposes: the state is filled by splitmix64 from a mix of the three.
 * Source: Blackman and Vigna, "Scrambled linear pseudorandom number generators", ACM TOMS 47 (2021);
 * Steele, Lea and Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014.
 */
efi_random efi_random_stream(uint64_t seed, uint64_t a, uint64_t b);

/* The next 64 bits. */
uint64_t efi_random_bits(efi_random *random);

/* Uniform in the open interval (0, 1): (bits >> 11 + 1/2) 2^-53. */
double efi_random_uniform(efi_random *random);

/* Uniform among 0 .. count - 1 without bias (count >= 1); by rejection, so it may take more than one draw. */
uint32_t efi_random_below(efi_random *random, uint32_t count);

#endif
