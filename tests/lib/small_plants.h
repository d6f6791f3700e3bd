/* SPDX-License-Identifier: GPL-3.0-or-later
 * Small plants for tests: stations by kind, and an engine that runs or fails the test. */
#ifndef TESTS_SMALL_PLANTS_H
#define TESTS_SMALL_PLANTS_H

#include "shared/engine/engine.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#define COUNT(array) ((int)(sizeof(array) / sizeof((array)[0])))
#define NETWORK(places, ways)                                                                                \
    {                                                                                                        \
        .stations = COUNT(places), .station = places, .spouts = COUNT(ways), .spout = ways                   \
    }

static inline efi_engine *build(const efi_network *network)
{
    efi_engine *engine = NULL;
    efi_trouble trouble;
    if (efi_engine_build(network, NULL, &engine, &trouble) != EF_OK)
        fail_msg("%s", efi_trouble_text(trouble.kind));
    efi_engine_start(engine, 1, 0);
    return engine;
}

static inline void run(efi_engine *engine, double until_h)
{
    efi_trouble trouble;
    if (efi_engine_run(engine, until_h, &trouble) != EF_OK)
        fail_msg("at %g h: %s", trouble.at_h, efi_trouble_text(trouble.kind));
}

static inline efi_account read_account(const efi_engine *engine, int station)
{
    efi_account account;
    efi_engine_read(engine, station, &account);
    return account;
}

static inline efi_network_station machine(uint64_t key, double capacity_tph)
{
    return (efi_network_station){
        .kind = EFI_NETWORK_MACHINE, .key = key, .capacity_tph = capacity_tph, .machines = 1};
}

static inline efi_network_station intake(double capacity_tph)
{
    return (efi_network_station){
        .kind = EFI_NETWORK_INTAKE, .key = 900, .capacity_tph = capacity_tph, .machines = 1};
}

static inline efi_network_station outlet(uint64_t key, double capacity_tph)
{
    return (efi_network_station){
        .kind = EFI_NETWORK_OUTLET, .key = key, .capacity_tph = capacity_tph, .machines = 1};
}

static inline efi_network_station bin(uint64_t key, double full_t, double start_t)
{
    return (efi_network_station){.kind = EFI_NETWORK_BIN,
                                 .key = key,
                                 .bin = {.full_t = full_t, .start_t = start_t, .refill_t = full_t}};
}

static inline efi_network_station with_mode(efi_network_station station, const efi_stop_mode *mode)
{
    station.modes = 1;
    station.mode = mode;
    return station;
}

#endif
