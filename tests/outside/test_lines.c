/* SPDX-License-Identifier: GPL-3.0-or-later
 * The event engine against exact and independently simulated values of lines with failures: all tables of
 * tests/outside/data/lines. The tables: two-machine by the closed solutions (Gershwin 1994, Dubois and
 * Forestier 1982), checked by a Markov chain on a grid; three-machine and bin-split by that chain; long-lines
 * by another simulation; limits by Buzacott 1967. Judged by z scores of batch means: none above 4, at most
 * one in ten above 2, and throughput to 0.3 %. */
#include "../lib/lines.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#define FIELDS 24

/* Of a line: throughput, then the mean level of each bin; then of the first bin empty, full, and machine 2
 * starved, machine 1 blocked. */
static double measure_line(const efi_engine *engine, const void *context, int metric, double hours)
{
    const lines_line *line = context;
    efi_account account;
    const int bins = line->no_bins ? 0 : line->machines - 1;
    if (metric == 0) {
        efi_engine_read(engine, lines_machine(line, line->machines - 1), &account);
        return account.in_t / hours;
    }
    if (metric <= bins) {
        efi_engine_read(engine, lines_bin(line, metric - 1), &account);
        return account.level_th / hours;
    }
    switch (metric - bins) {
    case 1:
        efi_engine_read(engine, lines_bin(line, 0), &account);
        return account.empty_h / hours;
    case 2:
        efi_engine_read(engine, lines_bin(line, 0), &account);
        return account.full_h / hours;
    case 3:
        efi_engine_read(engine, lines_machine(line, 1), &account);
        return account.state_h[EFI_STATE_STARVED] / hours;
    default:
        efi_engine_read(engine, lines_machine(line, 0), &account);
        return account.state_h[EFI_STATE_BLOCKED] / hours;
    }
}

/* Batches of some thousand of the slowest repairs; EF_SOAK=1 ten times as many. */
static lines_batches batches_for(const lines_line *line, double repairs)
{
    double slowest_h = 0.0;
    for (int i = 0; i < line->machines; i++) {
        const double cycle_h = 1.0 / line->fail_per_h[i] + 1.0 / line->repair_per_h[i];
        slowest_h = cycle_h > slowest_h ? cycle_h : slowest_h;
    }
    const int batches = lines_is_soak() ? 1000 : 100;
    return (lines_batches){batches, slowest_h * repairs, slowest_h * repairs};
}

static void judge_throughput(const char *name, double mean, double value)
{
    if (!(fabs(mean / value - 1.0) <= 0.003))
        fail_msg("%s: throughput %.7g, expected %.7g within 0.3 %%", name, mean, value);
}

static void judge_two_machine_lines(lines_scores *scores)
{
    static const char *const what[] = {"throughput", "mean level", "empty", "full", "starved", "blocked"};
    FILE *table = lines_open_table("lines/two-machine.csv");
    char room[512];
    char *field[FIELDS];
    int rows = 0;
    while (lines_read_row(table, room, sizeof room, field, FIELDS) >= 15) {
        lines_line line = {.machines = 2, .counts_clock = strcmp(field[1], "TDF") == 0};
        for (int i = 0; i < 2; i++) {
            line.speed[i] = lines_number(field[2 + 3 * i]);
            line.fail_per_h[i] = lines_number(field[3 + 3 * i]);
            line.repair_per_h[i] = lines_number(field[4 + 3 * i]);
        }
        line.bin[0] = lines_number(field[8]);
        lines_describe(&line);
        const lines_batches batches = batches_for(&line, 1000.0);
        double mean[6];
        double error[6];
        lines_run(&line.network, 1, &batches, measure_line, &line, 6, mean, error);
        judge_throughput(field[0], mean[0], lines_number(field[9]));
        for (int m = 0; m < 6; m++)
            lines_judge(scores, field[0], what[m], mean[m], error[m], lines_number(field[9 + m]));
        rows++;
    }
    fclose(table);
    assert_int_equal(rows, 16);
}

static void judge_three_machine_lines(lines_scores *scores)
{
    static const char *const what[] = {"throughput", "level 1", "level 2"};
    FILE *table = lines_open_table("lines/three-machine.csv");
    char room[512];
    char *field[FIELDS];
    int rows = 0;
    while (lines_read_row(table, room, sizeof room, field, FIELDS) >= 18) {
        lines_line line = {.machines = 3, .counts_clock = strcmp(field[1], "TDF") == 0};
        for (int i = 0; i < 3; i++) {
            line.speed[i] = lines_number(field[2 + 3 * i]);
            line.fail_per_h[i] = lines_number(field[3 + 3 * i]);
            line.repair_per_h[i] = lines_number(field[4 + 3 * i]);
        }
        line.bin[0] = lines_number(field[11]);
        line.bin[1] = lines_number(field[12]);
        lines_describe(&line);
        const lines_batches batches = batches_for(&line, 1000.0);
        double mean[3];
        double error[3];
        lines_run(&line.network, 2, &batches, measure_line, &line, 3, mean, error);
        judge_throughput(field[0], mean[0], lines_number(field[13]));
        for (int m = 0; m < 3; m++)
            lines_judge(scores, field[0], what[m], mean[m], error[m], lines_number(field[13 + m]));
        rows++;
    }
    fclose(table);
    assert_int_equal(rows, 6);
}

/* One set: 16 lines with six numbers, 6 lines with three. */
static void two_and_three_machine_lines_meet_the_exact_solutions(void **state)
{
    (void)state;
    lines_scores scores = {0};
    judge_two_machine_lines(&scores);
    judge_three_machine_lines(&scores);
    assert_int_equal(scores.cases, 16 * 6 + 6 * 3);
    assert_true(lines_scores_good(&scores));
}

/* "14 .02 1|8|12 .1 .5|..." or, without bins, "10 0.1 1 | 12 0.2 1.5". */
static void parse_line(const char *text, bool has_bins, lines_line *line)
{
    char copy[512];
    snprintf(copy, sizeof copy, "%s", text);
    int part = 0;
    for (char *at = strtok(copy, "|"); at; at = strtok(NULL, "|"), part++) {
        const int i = has_bins ? part / 2 : part;
        assert_true(i < LINES_MACHINES);
        char *end;
        if (has_bins && part % 2 == 1) {
            line->bin[i] = strtod(at, NULL);
            continue;
        }
        line->speed[i] = strtod(at, &end);
        line->fail_per_h[i] = strtod(end, &end);
        line->repair_per_h[i] = strtod(end, &end);
        line->machines = i + 1;
    }
}

static void long_lines_agree_with_another_simulation(void **state)
{
    (void)state;
    FILE *table = lines_open_table("lines/long-lines.csv");
    char room[1024];
    char *field[FIELDS];
    lines_scores scores = {0};
    int rows = 0;
    while (lines_read_row(table, room, sizeof room, field, FIELDS) >= 6) {
        lines_line line = {.counts_clock = strcmp(field[1], "TDF") == 0};
        parse_line(field[2], true, &line);
        lines_describe(&line);
        const lines_batches batches = batches_for(&line, 600.0);
        double mean[LINES_MACHINES];
        double error[LINES_MACHINES];
        lines_run(&line.network, 3, &batches, measure_line, &line, line.machines, mean, error);
        const double value = lines_number(field[3]);
        judge_throughput(field[0], mean[0], value);
        const double table_error = lines_number(field[4]) / 1.96;
        lines_judge(&scores, field[0], "throughput", mean[0], hypot(error[0], table_error), value);
        char *at = field[5];
        for (int b = 0; b + 1 < line.machines; b++) {
            /* The table gives no error of its levels: its runs were about as long as ours. */
            const double level = strtod(at, &at);
            lines_judge(&scores, field[0], "mean level", mean[1 + b], error[1 + b] * 1.5, level);
        }
        rows++;
    }
    fclose(table);
    assert_int_equal(rows, 5);
    assert_true(lines_scores_good(&scores));
}

static void judge_limit(lines_scores *scores, const char *name, lines_line *line, const char *what,
                        double value)
{
    lines_describe(line);
    const lines_batches batches = batches_for(line, 2000.0);
    double mean[1];
    double error[1];
    lines_run(&line->network, 4, &batches, measure_line, line, 1, mean, error);
    judge_throughput(name, mean[0], value);
    lines_judge(scores, name, what, mean[0], error[0], value);
}

static void lines_without_bins_and_with_endless_bins_meet_the_limits(void **state)
{
    (void)state;
    FILE *table = lines_open_table("lines/limits.csv");
    char room[512];
    char *field[FIELDS];
    lines_scores scores = {0};
    while (lines_read_row(table, room, sizeof room, field, FIELDS) >= 5) {
        lines_line line = {.no_bins = true};
        parse_line(field[1], false, &line);
        judge_limit(&scores, field[0], &line, "no bins, running time", lines_number(field[2]));
        line.counts_clock = true;
        judge_limit(&scores, field[0], &line, "no bins, clock time", lines_number(field[3]));
        line.no_bins = false; /* the same with bins of no volume */
        judge_limit(&scores, field[0], &line, "bins of no volume", lines_number(field[3]));
        for (int i = 0; i + 1 < line.machines; i++)
            line.bin[i] = INFINITY;
        /* Deep enough before the slowest machine that equal ones before it do not starve it in this run. */
        for (int i = 0; i + 1 < line.machines; i++)
            line.start[i] = 1e6;
        lines_describe(&line);
        const lines_batches batches = {50, 2e3, 2e3};
        double mean[1];
        double error[1];
        double least = INFINITY;
        double least_error = 0.0;
        for (int i = 0; i < line.machines; i++) {
            lines_line one = line;
            one.machines = 2;
            one.speed[0] = line.speed[i];
            one.fail_per_h[0] = line.fail_per_h[i];
            one.repair_per_h[0] = line.repair_per_h[i];
            one.speed[1] = 1e9; /* what comes through machine i, with all before it deep in stock */
            one.fail_per_h[1] = 0.0;
            one.repair_per_h[1] = 1.0;
            one.start[0] = 0.0;
            lines_describe(&one);
            lines_run(&one.network, 5, &batches, measure_line, &one, 1, mean, error);
            if (mean[0] < least) {
                least = mean[0];
                least_error = error[0];
            }
        }
        lines_judge(&scores, field[0], "endless bins", least, 2.0 * least_error, lines_number(field[4]));
    }
    fclose(table);
    assert_int_equal(scores.cases, 4 * 4);
    assert_true(lines_scores_good(&scores));
}

static void the_best_division_of_bin_volume_is_found(void **state)
{
    (void)state;
    /* A01, A02: L01, L02; A03: (10, .1, .5), (8, .05, .4), (10, .2, 1), all with running-time stops. */
    static const double data[3][9] = {{1, .01, .1, 1, .01, .1, 1, .01, .1},
                                      {14, .05, .5, 12, .1, 1, 10, .08, .8},
                                      {10, .1, .5, 8, .05, .4, 10, .2, 1}};
    FILE *table = lines_open_table("lines/bin-split.csv");
    char room[256];
    char *field[FIELDS];
    lines_scores scores = {0};
    double best_mean[3] = {0};
    double value_there[3] = {0};
    double best_value[3] = {0};
    while (lines_read_row(table, room, sizeof room, field, FIELDS) >= 4) {
        const int k = field[0][2] - '1';
        lines_line line = {.machines = 3};
        for (int i = 0; i < 3; i++) {
            line.speed[i] = data[k][3 * i];
            line.fail_per_h[i] = data[k][3 * i + 1];
            line.repair_per_h[i] = data[k][3 * i + 2];
        }
        line.bin[0] = lines_number(field[1]);
        line.bin[1] = lines_number(field[2]);
        lines_describe(&line);
        const lines_batches batches = batches_for(&line, 600.0);
        double mean[1];
        double error[1];
        lines_run(&line.network, 6, &batches, measure_line, &line, 1, mean, error);
        const double value = lines_number(field[3]);
        lines_judge(&scores, field[0], "throughput", mean[0], error[0], value);
        if (mean[0] > best_mean[k]) {
            best_mean[k] = mean[0];
            value_there[k] = value;
        }
        best_value[k] = value > best_value[k] ? value : best_value[k];
    }
    fclose(table);
    assert_int_equal(scores.cases, 27);
    assert_true(lines_scores_good(&scores));
    for (int k = 0; k < 3; k++)
        if (!(value_there[k] >= best_value[k] * (1.0 - 0.0005)))
            fail_msg("A%02d: the division found gives %.6g, the best %.6g", k + 1, value_there[k],
                     best_value[k]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(two_and_three_machine_lines_meet_the_exact_solutions),
        cmocka_unit_test(long_lines_agree_with_another_simulation),
        cmocka_unit_test(lines_without_bins_and_with_endless_bins_meet_the_limits),
        cmocka_unit_test(the_best_division_of_bin_volume_is_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
