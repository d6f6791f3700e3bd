/* SPDX-License-Identifier: GPL-3.0-or-later
 * How long writing a report takes, all answers at hand, and how large it is, for the bundled scenarios. */
#include <evenfeed/report.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum {
    SCENARIOS = 4,
    MOST_CROPS = 32,
    TIMES = 5
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

/* All answers about a plant; false when one cannot be had. */
static bool answer(const ef_scenario *scenario, ef_report_answers *answers, ef_balance **balance,
                   ef_bins **bins, ef_shift **shifts)
{
    ef_balance_settings balancing = ef_balance_defaults();
    ef_bins_settings sizing = ef_bins_defaults();
    ef_shift_settings running = ef_shift_defaults();
    balancing.ladder = 4;
    sizing.traces = 20;
    running.runs = 100;
    running.remedies = false;
    if (ef_balance_solve(scenario, &balancing, balance) != EF_OK ||
        ef_bins_run(scenario, &sizing, bins) != EF_OK)
        return false;
    for (int c = 0; c < ef_scenario_crops(scenario) && c < MOST_CROPS; c++) {
        running.crop = c;
        if (ef_shift_run(scenario, &running, &shifts[c], NULL) != EF_OK)
            return false;
        answers->shift_count++;
    }
    answers->plant = ef_scenario_plant(scenario);
    answers->scenario_file = "plant.yaml";
    answers->balance = *balance;
    answers->bins = *bins;
    answers->shifts = (const ef_shift *const *)shifts;
    return true;
}

static bool measure(const char *name, const ef_report_answers *answers)
{
    double seconds[TIMES];
    size_t bytes = 0;
    for (int i = 0; i < TIMES; i++) {
        char *text;
        const double start = now_s();
        if (ef_report_html(answers, &text) != EF_OK)
            return false;
        seconds[i] = now_s() - start;
        bytes = strlen(text);
        ef_report_free(text);
    }
    qsort(seconds, TIMES, sizeof *seconds, by_value);
    printf("report-html,%s,%.6g,s,%.2g,\n", name, seconds[TIMES / 2], seconds[TIMES - 1] - seconds[0]);
    printf("report-html-size,%s,%zu,B,,\n", name, bytes);
    return true;
}

static bool measure_workbook(const char *name, const ef_report_answers *answers)
{
    char path[] = "/tmp/evenfeed-bench-XXXXXX";
    const int file = mkstemp(path);
    if (file < 0)
        return false;
    (void)close(file);
    const double start = now_s();
    const bool good = ef_report_workbook(answers, path) == EF_OK;
    printf("report-workbook,%s,%.6g,s,,\n", name, now_s() - start);
    (void)unlink(path);
    return good;
}

/* A season of 400 lots alone: its first plan, which is written as any other. */
static bool run_season(void)
{
    ef_season_settings settings = ef_season_defaults();
    ef_diags *diags = ef_diags_new();
    ef_scenario *scenario = NULL;
    ef_season *season = NULL;
    ef_report_answers answers = {.scenario_file = "plant.yaml"};
    settings.rounds = 0;
    bool good = diags &&
                ef_scenario_load("scenarios/seasons/pulses-export.yaml", NULL, 0, diags, &scenario) == EF_OK;
    good = good && ef_season_run_plan(scenario, &settings, &season, NULL) == EF_OK;
    if (good) {
        answers.plant = ef_scenario_plant(scenario);
        answers.season = season;
        good = measure("season of 400 lots", &answers) && measure_workbook("season of 400 lots", &answers);
    }
    ef_season_free(season);
    ef_scenario_free(scenario);
    ef_diags_free(diags);
    return good;
}

static bool run(const char *name)
{
    char path[100];
    ef_diags *diags = ef_diags_new();
    ef_scenario *scenario = NULL;
    ef_balance *balance = NULL;
    ef_bins *bins = NULL;
    ef_shift *shifts[MOST_CROPS] = {NULL};
    ef_report_answers answers = {0};
    (void)snprintf(path, sizeof path, "scenarios/%s.yaml", name);
    bool good = diags && ef_scenario_load(path, NULL, 0, diags, &scenario) == EF_OK;
    good = good && answer(scenario, &answers, &balance, &bins, shifts) && measure(name, &answers);
    for (int c = 0; c < MOST_CROPS; c++)
        ef_shift_free(shifts[c]);
    ef_bins_free(bins);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
    ef_diags_free(diags);
    return good;
}

int main(void)
{
    static const char *const names[SCENARIOS] = {"cereal-seed", "clover-grass-seed", "pulses-export",
                                                 "soybean-seed"};
    const bool smallest = getenv("EF_BENCH_SMALLEST") != NULL;
    for (int i = 0; i < (smallest ? 1 : SCENARIOS); i++)
        if (!run(names[i]))
            return 1;
    return smallest || run_season() ? 0 : 1;
}
