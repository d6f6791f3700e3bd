/* SPDX-License-Identifier: GPL-3.0-or-later
 * Loading a large scenario: a chain of cleaners, legs and bins, with discharges, for two crops and six
 * materials. Seconds to read and check it from memory (median of several runs), and the bytes its scenario
 * holds for each byte of the file. */
#include "model/scenario.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum {
    REPEATS = 5,
    LARGEST_LINE = 1000
};

static double now_s(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Ends the benchmark when something that must hold does not. */
static void must(bool holds, const char *what)
{
    if (holds)
        return;
    (void)fprintf(stderr, "bench_load: %s\n", what);
    exit(1);
}

/* One stage of the chain. */
static size_t add_stage(char *out, int stage)
{
    const int length = snprintf(
        out, LARGEST_LINE,
        "  Leg %d: {kind: elevator, capacity: 60 m3/h, to: Cleaner %d}\n"
        "  Cleaner %d: # the %d. of them\n"
        "    kind: air-screen cleaner\n"
        "    capacity: {wheat: 15.5 t/h, barley: 12 t/h}\n"
        "    discharges:\n"
        "      dust: {takes: {chaff: 95 %%, light: 30 %%, stones: 2 %%, sound: 0.1 %%}, to: Waste}\n"
        "      screenings:\n"
        "        takes:\n"
        "          small: {wheat: 60 %%, other crops: 55 %%}\n"
        "          broken: 40 %%\n"
        "        to: Waste\n"
        "      seed: {takes: rest, to: Bin %d}\n"
        "  Bin %d: {kind: bin, live volume: 4 m3, to: Leg %d}\n",
        stage, stage, stage, stage, stage, stage, stage + 1);
    must(length > 0 && length < LARGEST_LINE, "a stage is too long");
    return (size_t)length;
}

static char *large_scenario(size_t wanted, size_t *length)
{
    static const char head[] =
        "evenfeed: 1\nplant: {name: Chain}\n"
        "materials: {sound: {wanted: yes}, light: , small: , broken: , chaff: , stones: }\n"
        "crops:\n"
        "  wheat: {density: 0.77 t/m3, receipt: {sound: rest, light: 4 %, small: 3 %, broken: 1 %, chaff: 2 "
        "%}}\n"
        "  barley: {density: 0.62 t/m3, receipt: {sound: rest, light: 6 %, stones: 0.1 %, chaff: 3 %}}\n"
        "stations:\n  Waste: {kind: outlet}\n  Pit: {kind: intake, capacity: 40 t/h, to: Leg 0}\n";
    char *text = malloc(wanted + 4 * (size_t)LARGEST_LINE);
    must(text != NULL, "no memory");
    size_t used = sizeof head - 1;
    memcpy(text, head, used);
    int stage = 0;
    while (used < wanted)
        used += add_stage(text + used, stage++);
    const int tail = snprintf(text + used, LARGEST_LINE, "  Leg %d: {kind: outlet, product: yes}\n", stage);
    *length = used + (size_t)tail;
    return text;
}

static int by_value(const void *a, const void *b)
{
    const double left = *(const double *)a;
    const double right = *(const double *)b;
    return (left > right) - (left < right);
}

static void measure(const char *size, size_t wanted, int repeats)
{
    size_t length;
    char *text = large_scenario(wanted, &length);
    double seconds[REPEATS] = {0};
    double held = 0.0;
    for (int i = 0; i < repeats; i++) {
        ef_diags *diags = ef_diags_new();
        ef_scenario *scenario = NULL;
        const double start = now_s();
        must(ef_scenario_read("chain", text, length, diags, &scenario) == EF_OK, "the scenario is not read");
        seconds[i] = now_s() - start;
        must(ef_diags_count(diags) == 0, "there are findings");
        held = (double)(efi_arena_bytes(scenario->arena) + length);
        ef_scenario_free(scenario);
        ef_diags_free(diags);
    }
    qsort(seconds, (size_t)repeats, sizeof *seconds, by_value);
    (void)printf("load,%s,%.4g,s,%.2g,\n", size, seconds[repeats / 2], seconds[repeats - 1] - seconds[0]);
    (void)printf("load memory per file byte,%s,%.4g,1,0,\n", size, held / (double)length);
    free(text);
}

int main(void)
{
    if (getenv("EF_BENCH_SMALLEST")) {
        measure("100 kB", 100000, 1);
        return 0;
    }
    measure("100 kB", 100000, REPEATS);
    measure("1 MB", 1000000, REPEATS);
    measure("10 MB", 10000000, REPEATS);
    return 0;
}
