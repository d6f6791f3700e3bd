/* SPDX-License-Identifier: GPL-3.0-or-later
 * Events per second of the event engine: five stations, four bins, exponential stops counting running time;
 * both solvers, and a plant with splits and a loop; and how many times as many hours of the line it simulates
 * a second as a model of it in SimPy does, where that is installed. */
#include "../lib/simpy.h"
#include "shared/engine/engine.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#define STATIONS 9
#define REPEATS  5

typedef struct line {
    efi_network_station station[STATIONS];
    efi_network_spout spout[STATIONS - 1];
    efi_stop_mode mode[STATIONS];
    efi_network network;
} line;

static void describe_line(line *l)
{
    static const double rate_tph[5] = {12.0, 11.0, 10.0, 11.0, 12.0};
    *l = (line){0};
    for (int i = 0; i < STATIONS; i++) {
        efi_network_station *station = &l->station[i];
        station->key = (uint64_t)i;
        station->machines = 1;
        if (i % 2 == 1) {
            station->kind = EFI_NETWORK_BIN;
            station->bin = (efi_network_bin){.full_t = 2.5, .start_t = 1.25, .refill_t = 2.5};
        } else {
            station->kind = i == 0              ? EFI_NETWORK_INTAKE
                            : i == STATIONS - 1 ? EFI_NETWORK_OUTLET
                                                : EFI_NETWORK_MACHINE;
            station->capacity_tph = rate_tph[i / 2];
            l->mode[i] = (efi_stop_mode){.counting = EFI_COUNT_RUNNING,
                                         .gap = {EFI_EXPONENTIAL, 8.0, 0.0},
                                         .duration = {EFI_EXPONENTIAL, 0.4, 0.0}};
            station->modes = 1;
            station->mode = &l->mode[i];
        }
        if (i > 0)
            l->spout[i - 1] = (efi_network_spout){.from = i - 1, .to = i, .share = 1.0};
    }
    l->network = (efi_network){
        .stations = STATIONS, .station = l->station, .spouts = STATIONS - 1, .spout = l->spout};
}

/* Scalper, two cleaners in parallel behind a split, and a deck that returns middlings to the bin above it. */
enum {
    PIT,
    SCALPER,
    FIRST_BIN,
    SPLIT,
    CLEANER_A,
    CLEANER_B,
    HOLDING,
    DECK,
    PRODUCT,
    WASTE,
    PLANT_STATIONS
};

typedef struct plant {
    efi_network_station station[PLANT_STATIONS];
    efi_network_spout spout[14];
    efi_stop_mode mode;
    efi_network network;
} plant;

static void describe_plant(plant *p)
{
    static const double capacity_tph[PLANT_STATIONS] = {14.0, 14.0, 0.0,  INFINITY, 7.0,
                                                        7.0,  0.0,  12.0, INFINITY, INFINITY};
    static const efi_network_spout spout[] = {
        {PIT, SCALPER, 1.0, false},       {SCALPER, FIRST_BIN, 0.97, false}, {SCALPER, WASTE, 0.03, false},
        {FIRST_BIN, SPLIT, 1.0, false},   {SPLIT, CLEANER_A, 0.0, false},    {SPLIT, CLEANER_B, 0.0, false},
        {CLEANER_A, HOLDING, 0.9, false}, {CLEANER_A, WASTE, 0.1, false},    {CLEANER_B, HOLDING, 0.9, false},
        {CLEANER_B, WASTE, 0.1, false},   {HOLDING, DECK, 1.0, false},       {DECK, HOLDING, 0.15, true},
        {DECK, PRODUCT, 0.8, false},      {DECK, WASTE, 0.05, false}};
    *p = (plant){.mode = {.counting = EFI_COUNT_RUNNING,
                          .gap = {EFI_EXPONENTIAL, 8.0, 0.0},
                          .duration = {EFI_EXPONENTIAL, 0.4, 0.0}}};
    for (int i = 0; i < PLANT_STATIONS; i++) {
        efi_network_station *station = &p->station[i];
        const bool is_bin = i == FIRST_BIN || i == HOLDING;
        station->kind = i == PIT       ? EFI_NETWORK_INTAKE
                        : is_bin       ? EFI_NETWORK_BIN
                        : i == SPLIT   ? EFI_NETWORK_SPLIT
                        : i >= PRODUCT ? EFI_NETWORK_OUTLET
                                       : EFI_NETWORK_MACHINE;
        station->key = (uint64_t)i;
        station->machines = 1;
        station->split = EFI_NETWORK_BY_CAPACITY;
        station->capacity_tph = capacity_tph[i];
        station->bin = (efi_network_bin){.full_t = 2.5, .start_t = 1.25, .refill_t = 2.5};
        if (station->kind == EFI_NETWORK_MACHINE) {
            station->modes = 1;
            station->mode = &p->mode;
        }
    }
    for (int e = 0; e < 14; e++)
        p->spout[e] = spout[e];
    p->network = (efi_network){
        .stations = PLANT_STATIONS, .station = p->station, .spouts = 14, .spout = p->spout};
}

static double seconds_now(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static int compare_doubles(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

static efi_engine *build(const char *name, const efi_network *network, bool is_general)
{
    efi_engine_settings settings = efi_engine_defaults();
    settings.is_general = is_general;
    efi_engine *engine = NULL;
    efi_trouble trouble;
    if (efi_engine_build(network, &settings, &engine, &trouble) == EF_OK)
        return engine;
    fprintf(stderr, "%s: %s\n", name, efi_trouble_text(trouble.kind));
    return NULL;
}

/* Processor seconds of one run; negative when it fails. */
static double time_run(const char *name, efi_engine *engine, int replication, double hours)
{
    efi_trouble trouble;
    efi_engine_start(engine, 1, (uint64_t)replication);
    const double began_s = seconds_now();
    if (efi_engine_run(engine, hours, &trouble) == EF_OK)
        return seconds_now() - began_s;
    fprintf(stderr, "%s: %s\n", name, efi_trouble_text(trouble.kind));
    return -1.0;
}

/* Prints the median and half the range of `repeats` values. */
static void print_figure(const char *name, double size, const char *unit, double *value, int repeats,
                         double target)
{
    qsort(value, (size_t)repeats, sizeof *value, compare_doubles);
    printf("%s,%.0f,%.4g,%s,%.2g,%g\n", name, size, value[repeats / 2], unit,
           0.5 * (value[repeats - 1] - value[0]), target);
}

/* Million events a second; what is aimed at (0: nothing). */
static int measure(const char *name, const efi_network *network, bool is_general, double hours, double target)
{
    efi_engine *engine = build(name, network, is_general);
    double million_per_s[REPEATS];
    int64_t events = 0;
    double took_s = engine ? 0.0 : -1.0;
    for (int r = 0; r < REPEATS && took_s >= 0.0; r++) {
        took_s = time_run(name, engine, r, hours);
        events = engine ? efi_engine_events(engine) : 0;
        million_per_s[r] = 1e-6 * (double)events / took_s;
    }
    efi_engine_free(engine);
    if (took_s < 0.0)
        return 1;
    print_figure(name, (double)events, "million events/s", million_per_s, REPEATS, target);
    return 0;
}

/*
 * The same line in SimPy, in turns with ours so that both meet the same processor: hours of the line
 * simulated a second. Both go from event to event (as many an hour), both on one core; reading the program in
 * and starting Python do not count.
 */
static int compare_with_simpy(const efi_network *network, bool is_small)
{
    efi_engine *engine = build("engine-times-simpy", network, false);
    const double hours = is_small ? 2e3 : 2e6; /* some tenths of a second, as in SimPy */
    const int repeats = is_small ? 1 : REPEATS;
    double times[REPEATS];
    simpy_result result = {0};
    int done = 0;
    bool has_failed = !engine;
    while (!has_failed && done < repeats && simpy_run(done, is_small ? 10 : 100, 200.0, &result)) {
        const double took_s = time_run("engine-times-simpy", engine, done, hours);
        has_failed = took_s < 0.0;
        times[done++] = hours / took_s / (result.hours / result.seconds);
    }
    efi_engine_free(engine);
    if (done > 0 && !has_failed)
        print_figure("engine-times-simpy", result.events, "times the hours simulated a second", times, done,
                     100.0);
    return has_failed;
}

int main(void)
{
    const char *smallest = getenv("EF_BENCH_SMALLEST");
    const bool is_small = smallest && *smallest == '1';
    const double hours = is_small ? 2e3 : 4e5;
    line l;
    describe_line(&l);
    int failed = measure("engine-series-line", &l.network, false, hours, 10.0);
    failed |= measure("engine-general-line", &l.network, true, hours, 2.0);
    plant p;
    describe_plant(&p);
    failed |= measure("engine-branched-plant", &p.network, true, hours, 0.0);
    failed |= compare_with_simpy(&l.network, is_small);
    return failed;
}
