/* SPDX-License-Identifier: GPL-3.0-or-later
 * How long a balance takes: the whole program on the bundled scenarios, and capacity variations through the
 * library. */
#include <evenfeed/balance.h>
#include <evenfeed/scenario.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>
#include <fcntl.h>

enum {
    MOST_RUNS = 21,
    SCENARIOS = 4,
    VARIATIONS = 1000
};

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static int by_value(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

/* Prints median and half the interquartile range of `count` times, in `unit` of `scale` per second. */
static void print(const char *name, const char *size, double *seconds, int count, double scale,
                  const char *unit)
{
    qsort(seconds, (size_t)count, sizeof *seconds, by_value);
    const double spread = 0.5 * (seconds[3 * count / 4] - seconds[count / 4]);
    printf("%s,%s,%.3f,%s,%.3f,\n", name, size, seconds[count / 2] * scale, unit, spread * scale);
}

/* Runs the program with these arguments, output thrown away; false when it fails. */
static bool run_program(const char *program, const char *scenario)
{
    const pid_t child = fork();
    if (child == 0) {
        const int nothing = open("/dev/null", O_WRONLY);
        dup2(nothing, 1);
        dup2(nothing, 2);
        execl(program, program, "balance", scenario, "--ladder", "10", (char *)NULL);
        _exit(127);
    }
    int status = 0;
    return child > 0 && waitpid(child, &status, 0) == child && WIFEXITED(status) && WEXITSTATUS(status) == 0;
}

static int bench_program(const char *program, const char *scenario, int runs)
{
    double seconds[MOST_RUNS] = {0};
    for (int i = 0; i < runs; i++) {
        const double start = now_s();
        if (!run_program(program, scenario))
            return 1;
        seconds[i] = now_s() - start;
    }
    const char *name = strrchr(scenario, '/');
    print("balance all crops with a ladder of 10: whole process", name ? name + 1 : scenario, seconds, runs,
          1e3, "ms");
    return 0;
}

static int bench_variations(const char *path, const char *station, double from, double to, int count)
{
    ef_diags *diags = ef_diags_new();
    ef_scenario *scenario = NULL;
    if (!diags || ef_scenario_load(path, NULL, 0, diags, &scenario) != EF_OK)
        return 1;
    double capacity[VARIATIONS];
    double intake[VARIATIONS];
    for (int i = 0; i < count; i++)
        capacity[i] = from + (to - from) * (double)((i * 617) % count) / (double)count;
    double seconds[3] = {0};
    int failed = 0;
    for (int run = 0; run < 3; run++) {
        const double start = now_s();
        failed |= ef_balance_vary(scenario, 0, station, capacity, count, intake) != EF_OK;
        seconds[run] = now_s() - start;
    }
    char size[32];
    snprintf(size, sizeof size, "%d variations", count);
    if (!failed)
        print("capacity variations through the library", size, seconds, 3, 1e3, "ms");
    ef_scenario_free(scenario);
    ef_diags_free(diags);
    return failed;
}

int main(void)
{
    static const char *const scenarios[SCENARIOS] = {
        "scenarios/cereal-seed.yaml", "scenarios/soybean-seed.yaml", "scenarios/clover-grass-seed.yaml",
        "scenarios/pulses-export.yaml"};
    const char *smallest = getenv("EF_BENCH_SMALLEST");
    const char *program = getenv("EF_PROGRAM");
    const int runs = smallest ? 1 : MOST_RUNS;
    int failed = bench_variations(scenarios[0], "Density separator", 4.0, 16.0, smallest ? 10 : VARIATIONS);
    for (int i = 0; program && i < (smallest ? 1 : SCENARIOS); i++)
        failed |= bench_program(program, scenarios[i], runs);
    return failed;
}
