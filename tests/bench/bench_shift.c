/* SPDX-License-Identifier: GPL-3.0-or-later
 * How long shifts take, on one and two threads, what remedies and weeks add, and how memory grows with the
 * shifts. */
#include <evenfeed/scenario.h>
#include <evenfeed/shift.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum {
    SCENARIOS = 4,
    SMALL = 40,
    FEW = 1000,
    MANY = 10000
};

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static ef_scenario *load(const char *path)
{
    ef_diags *diags = ef_diags_new();
    ef_scenario *scenario = NULL;
    if (diags && ef_scenario_load(path, NULL, 0, diags, &scenario) != EF_OK)
        scenario = NULL;
    ef_diags_free(diags);
    return scenario;
}

/* Seconds that so many shifts take; negative when they cannot be run. */
static double time_runs(const ef_scenario *scenario, int shifts, int threads, bool remedies)
{
    ef_shift_settings settings = ef_shift_defaults();
    settings.shifts = shifts;
    settings.threads = threads;
    settings.remedies = remedies;
    ef_shift *shift;
    const double start = now_s();
    if (ef_shift_run(scenario, &settings, &shift, NULL) != EF_OK)
        return -1.0;
    const double seconds = now_s() - start;
    ef_shift_free(shift);
    return seconds;
}

static int by_value(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

/* Median of three and half their range; 0 when it fails. */
static double print(const char *name, const char *size, const ef_scenario *scenario, int shifts, int threads,
                    bool remedies, int times)
{
    double seconds[3] = {0.0};
    for (int i = 0; i < times; i++)
        seconds[i] = time_runs(scenario, shifts, threads, remedies);
    qsort(seconds, (size_t)times, sizeof *seconds, by_value);
    if (seconds[0] < 0.0)
        return 0.0;
    printf("%s,%s,%.3f,s,%.3f,\n", name, size, seconds[times / 2], 0.5 * (seconds[times - 1] - seconds[0]));
    return seconds[times / 2];
}

/* Most memory that a process of its own takes for so many shifts, MB; negative when it fails. */
static double most_mb(const char *path, int shifts)
{
    int ends[2];
    if (pipe(ends) != 0)
        return -1.0;
    const pid_t child = fork();
    if (child == 0) {
        ef_scenario *scenario = load(path);
        double mb = -1.0;
        struct rusage usage;
        if (scenario && time_runs(scenario, shifts, 1, false) >= 0.0 && getrusage(RUSAGE_SELF, &usage) == 0)
            mb = (double)usage.ru_maxrss / 1024.0;
        _exit(write(ends[1], &mb, sizeof mb) == (ssize_t)sizeof mb ? 0 : 1);
    }
    double mb = -1.0;
    close(ends[1]);
    if (child > 0 && read(ends[0], &mb, sizeof mb) != (ssize_t)sizeof mb)
        mb = -1.0;
    close(ends[0]);
    int status = 0;
    return child > 0 && waitpid(child, &status, 0) == child ? mb : -1.0;
}

int main(void)
{
    static const char *const paths[SCENARIOS] = {"scenarios/cereal-seed.yaml", "scenarios/soybean-seed.yaml",
                                                 "scenarios/clover-grass-seed.yaml",
                                                 "scenarios/pulses-export.yaml"};
    const bool smallest = getenv("EF_BENCH_SMALLEST") != NULL;
    const int few = smallest ? SMALL : FEW;
    const int many = smallest ? 2 * SMALL : MANY;
    const int times = smallest ? 1 : 3;
    int failed = 0;
    for (int i = 0; i < (smallest ? 1 : SCENARIOS); i++) {
        ef_scenario *scenario = load(paths[i]);
        char size[80];
        if (!scenario)
            return 1;
        (void)snprintf(size, sizeof size, "%s %d shifts", strrchr(paths[i], '/') + 1, many);
        const double one_s = print("shift on one thread", size, scenario, many, 1, false, times);
        const double two_s = print("shift on two threads", size, scenario, many, 2, false, times);
        const double few_mb = most_mb(paths[i], few);
        const double many_mb = most_mb(paths[i], many);
        failed |= !(one_s > 0.0) || !(two_s > 0.0) || few_mb < 0.0 || many_mb < 0.0;
        if (!failed) {
            printf("shift: one thread over two,%s,%.2f,ratio,0,2\n", size, one_s / two_s);
            printf("shift: memory over that of %d shifts,%s,%.2f,ratio,0,1\n", few, size, many_mb / few_mb);
        }
        if (i == 0) {
            (void)snprintf(size, sizeof size, "%s %d shifts", strrchr(paths[i], '/') + 1, few);
            failed |= !(print("shift with remedies", size, scenario, few, 2, true, times) > 0.0);
        }
        ef_scenario_free(scenario);
    }
    ef_scenario *weeks = load("scenarios/examples/week-and-cost.yaml");
    failed |= !weeks || !(print("weeks of a calendar", smallest ? "4 weeks" : "200 weeks", weeks,
                                smallest ? 40 : 2000, 2, false, times) > 0.0);
    ef_scenario_free(weeks);
    return failed;
}
