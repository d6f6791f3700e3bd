/* SPDX-License-Identifier: GPL-3.0-or-later
 * Plain lines whose moves are remembered give the events and accounts of the general solver, to the last bit:
 * random lines with events of one instant, with more states than are remembered, started again and again. */
#include "shared/engine/state.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

enum {
    MACHINES = 12,
    STATIONS = 3 * MACHINES,
    MODES = 3,
    LINES = 100,
    RUNS = 2
};

typedef struct plain_line {
    efi_network_station station[STATIONS];
    efi_network_spout spout[STATIONS];
    efi_stop_mode mode[STATIONS][MODES];
    efi_network network;
} plain_line;

/* One of a few values, so that events fall together. */
static double coarse(efi_random *random, double step, uint32_t values)
{
    return step * (1.0 + (double)efi_random_below(random, values));
}

static void draw_modes(plain_line *line, int i, efi_random *random, bool is_coarse)
{
    efi_network_station *station = &line->station[i];
    station->modes = (int)efi_random_below(random, MODES + 1);
    station->mode = line->mode[i];
    for (int m = 0; m < station->modes; m++) {
        const efi_draw_kind kind = is_coarse ? EFI_FIXED : EFI_EXPONENTIAL;
        efi_stop_mode *mode = &line->mode[i][m];
        *mode = (efi_stop_mode){.counting = (efi_counting)efi_random_below(random, 3),
                                .cause = (efi_stop_cause)efi_random_below(random, EFI_CAUSES),
                                .gap = {kind, coarse(random, 0.5, 24), 0.0},
                                .duration = {kind, coarse(random, 0.25, 4), 0.0}};
        if (mode->counting == EFI_COUNT_TONNES)
            mode->gap.a *= 8.0;
        if (efi_random_below(random, 4) == 0) {
            mode->has_first = true;
            mode->first = 0.25 * (double)efi_random_below(random, 8);
        }
    }
}

static int add_station(plain_line *line, efi_network_kind kind)
{
    const int i = line->network.stations++;
    line->station[i] = (efi_network_station){.kind = kind, .key = (uint64_t)i, .machines = 1};
    return i;
}

static void add_spout(plain_line *line, int from, int to, double share)
{
    line->spout[line->network.spouts++] = (efi_network_spout){.from = from, .to = to, .share = share};
}

static int add_bin(plain_line *line, efi_random *random)
{
    const int i = add_station(line, EFI_NETWORK_BIN);
    const double full_t = 0.5 * (double)efi_random_below(random, 6);
    efi_network_bin *bin = &line->station[i].bin;
    *bin = (efi_network_bin){.full_t = full_t, .refill_t = full_t, .start_t = 0.5 * full_t};
    if (full_t > 0.0 && efi_random_below(random, 4) == 0)
        bin->refill_t = 0.5 * full_t;
    return i;
}

/* A line of machines; coarse ones have figures that make events fall together. */
static void draw_line(plain_line *line, uint64_t seed)
{
    efi_random random = efi_random_stream(seed, 0, 0);
    const bool is_coarse = seed % 2 == 0;
    const int machines = 2 + (int)efi_random_below(&random, MACHINES - 1);
    *line = (plain_line){.network.stations = 0};
    int last = -1;
    double passed = 1.0;
    for (int m = 0; m < machines; m++) {
        const int bin = m > 0 && efi_random_below(&random, 4) > 0 ? add_bin(line, &random) : -1;
        const int i = add_station(line, m == 0              ? EFI_NETWORK_INTAKE
                                        : m == machines - 1 ? EFI_NETWORK_OUTLET
                                                            : EFI_NETWORK_MACHINE);
        line->station[i].machines = m > 0 && m < machines - 1 ? 1 + (int)efi_random_below(&random, 3) : 1;
        line->station[i].capacity_tph = coarse(&random, 1.0, 4) + 4.0;
        draw_modes(line, i, &random, is_coarse);
        if (last >= 0) {
            add_spout(line, last, bin >= 0 ? bin : i, passed);
            if (bin >= 0)
                add_spout(line, bin, i, 1.0);
        }
        const bool loses = m > 0 && m < machines - 1 && efi_random_below(&random, 4) == 0;
        if (loses) {
            const int waste = add_station(line, EFI_NETWORK_OUTLET);
            line->station[waste].capacity_tph = INFINITY;
            add_spout(line, i, waste, 0.25);
        }
        passed = loses ? 0.75 : 1.0;
        last = i;
    }
    line->network.station = line->station;
    line->network.spout = line->spout;
}

/* FNV-1a. */
static uint64_t mix(uint64_t hash, const void *bytes, size_t count)
{
    const unsigned char *byte = bytes;
    for (size_t k = 0; k < count; k++)
        hash = (hash ^ byte[k]) * UINT64_C(1099511628211);
    return hash;
}

static void note_event(void *context, const efi_engine *engine, const efi_event *event)
{
    uint64_t *hash = context;
    const efi_network *network = engine->network;
    const double number[] = {event->at_h, (double)event->kind, (double)event->station, (double)event->unit,
                             (double)event->mode};
    *hash = mix(*hash, number, sizeof number);
    for (int i = 0; i < network->stations; i++) {
        const bool is_bin = network->station[i].kind == EFI_NETWORK_BIN;
        const double now[] = {efi_engine_rate_tph(engine, i),
                              is_bin ? efi_engine_level_t(engine, i) : (double)efi_engine_state(engine, i),
                              is_bin ? efi_engine_gain_tph(engine, i) : 0.0};
        *hash = mix(*hash, now, sizeof now);
    }
}

/* The hash of everything seen in a run of two stretches. */
static uint64_t run_line(efi_engine *engine, uint64_t seed, uint64_t replication)
{
    uint64_t hash = UINT64_C(14695981039346656037);
    efi_trouble trouble;
    efi_engine_watch(engine, note_event, &hash);
    efi_engine_start(engine, seed, replication);
    static const double until_h[] = {150.0, 750.0};
    for (size_t k = 0; k < sizeof until_h / sizeof until_h[0]; k++) {
        const ef_status status = efi_engine_run(engine, until_h[k], &trouble);
        hash = mix(hash, &status, sizeof status);
        if (status != EF_OK)
            return mix(hash, &trouble.kind, sizeof trouble.kind);
        for (int i = 0; i < engine->network->stations; i++) {
            efi_account account;
            efi_engine_read(engine, i, &account);
            hash = mix(hash, &account, sizeof account); /* nothing but numbers of 8 bytes: no padding */
        }
        efi_engine_clear(engine);
    }
    return hash;
}

static efi_engine *build(const plain_line *line, bool is_general)
{
    efi_engine_settings settings = efi_engine_defaults();
    settings.is_general = is_general;
    efi_engine *engine = NULL;
    efi_trouble trouble;
    assert_int_equal(efi_engine_build(&line->network, &settings, &engine, &trouble), EF_OK);
    return engine;
}

static void remembered_moves_give_the_bytes_of_the_general_solver(void **state)
{
    (void)state;
    static plain_line line;
    int64_t events = 0;
    int remembering = 0;
    for (uint64_t seed = 1; seed <= LINES; seed++) {
        draw_line(&line, seed);
        efi_engine *fast = build(&line, false);
        remembering += fast->moves != NULL;
        for (uint64_t run = 0; run < RUNS; run++) {
            efi_engine *general = build(&line, true);
            assert_null(general->moves);
            if (run_line(fast, seed, run) != run_line(general, seed, run))
                fail_msg("seed %llu, run %llu: they differ", (unsigned long long)seed,
                         (unsigned long long)run);
            assert_int_equal(efi_engine_events(fast), efi_engine_events(general));
            events += efi_engine_events(fast);
            efi_engine_free(general);
        }
        efi_engine_free(fast);
    }
    print_message("%d of %d lines remember their moves, %lld events\n", remembering, LINES,
                  (long long)events);
    assert_true(remembering > LINES / 2 && events > 200 * (int64_t)LINES);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(remembered_moves_give_the_bytes_of_the_general_solver)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
