/* SPDX-License-Identifier: GPL-3.0-or-later
 * Prints a digest of the accounts of many random plants, run by the number of threads given. Built in several
 * ways by engine_bytes.sh, which compares what they print. */
#include "../lib/networks.h"

#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#define PLANTS 120

typedef struct share {
    int first;
    int step;
    uint64_t *digest; /* shape [PLANTS] */
} share;

/* FNV-1a. */
static uint64_t mix(uint64_t digest, const void *bytes, size_t count)
{
    const unsigned char *byte = bytes;
    for (size_t k = 0; k < count; k++)
        digest = (digest ^ byte[k]) * UINT64_C(1099511628211);
    return digest;
}

static uint64_t run_plant(int k)
{
    networks_plant *plant = malloc(sizeof *plant);
    if (!plant)
        abort();
    const uint64_t seed = 500000 + (uint64_t)k;
    const networks_wish wish = {.steps = 4 + k % 24,
                                .has_stops = true,
                                .has_latches = k % 3 != 0,
                                .has_branches = k % 4 != 0,
                                .has_returns = k % 5 != 0,
                                .has_batches = k % 7 == 0,
                                .has_crews = k % 3 == 1,
                                .has_delays = k % 4 == 1};
    if (k % 6 == 5)
        networks_make_series(plant, seed);
    else
        networks_make(plant, seed, &wish);
    efi_engine *engine = NULL;
    efi_trouble trouble;
    if (efi_engine_build(&plant->network, NULL, &engine, &trouble) != EF_OK)
        abort();
    efi_engine_start(engine, seed, 0);
    const ef_status status = efi_engine_run(engine, 200.0, &trouble);
    uint64_t digest = mix(UINT64_C(14695981039346656037), &status, sizeof status);
    for (int i = 0; i < plant->network.stations; i++) {
        efi_account account;
        efi_engine_read(engine, i, &account);
        digest = mix(digest, &account, sizeof account); /* nothing but numbers of 8 bytes: no padding */
    }
    efi_engine_free(engine);
    free(plant);
    return digest;
}

static void *run_share(void *context)
{
    const share *one = context;
    for (int k = one->first; k < PLANTS; k += one->step)
        one->digest[k] = run_plant(k);
    return NULL;
}

int main(int count, char **word)
{
    static uint64_t digest[PLANTS];
    const int threads = count > 1 && word[1][0] == '2' ? 2 : 1;
    share part[2];
    pthread_t thread[2];
    for (int t = 0; t < threads; t++) {
        part[t] = (share){t, threads, digest};
        if (pthread_create(&thread[t], NULL, run_share, &part[t]) != 0)
            return 1;
    }
    for (int t = 0; t < threads; t++)
        pthread_join(thread[t], NULL);
    printf("%016llx\n", (unsigned long long)mix(UINT64_C(14695981039346656037), digest, sizeof digest));
    return 0;
}
