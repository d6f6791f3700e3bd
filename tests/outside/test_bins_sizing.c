/* SPDX-License-Identifier: GPL-3.0-or-later
 * Sizes of bins against what others give: timetables worked by hand
 * (tests/outside/data/bins/deterministic.csv: range of a cumulative flow, sequent peak), lines with stops
 * that count the clock against exact chains (data/lines/three-machine.csv, two-machine.csv: Gershwin 1994 and
 * others, see docs/validation.md), and the best split of a total over two bins (data/lines/bin-split.csv). */
#include "../lib/lines.h"
#include "../lib/near.h"
#include "answers/bins/sizing.h"
#include "base/random.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* ---- timetables -----------------------------------------------------------------------------------------
 */

#define UNITS_MOST 12
#define STOPS_MOST 32

typedef struct timetable {
    efi_fluid_unit unit[UNITS_MOST];
    efi_trace trace[UNITS_MOST];
    efi_interval stop[UNITS_MOST][STOPS_MOST];
    double start_share[1];
    efi_fluid_line line;
} timetable;

static void add_machine(timetable *t, int segment, int station, double tph)
{
    const int u = t->line.units++;
    t->trace[u].stop = t->stop[u];
    t->unit[u] = (efi_fluid_unit){segment, station, tph, &t->trace[u]};
}

static void add_stop(timetable *t, int unit, double from_h, double to_h)
{
    if (to_h > from_h)
        t->stop[unit][t->trace[unit].stops++] = (efi_interval){from_h, to_h};
}

static void begin(timetable *t, double hours, int feed_station, double start_share)
{
    memset(t, 0, sizeof *t);
    t->start_share[0] = start_share;
    t->line = (efi_fluid_line){.segments = 2,
                               .unit = t->unit,
                               .feed_station = feed_station,
                               .start_share = t->start_share,
                               .to_h = hours};
}

/* The smallest bin with which nothing that can be prevented is short. */
static double smallest(const timetable *t)
{
    const efi_sizing_bin bin = {.cost = 1.0, .most_t = 1000.0};
    const efi_sizing sizing = {.traces = 1, .line = &t->line, .bin = &bin, .tail_share = 1.0, .threads = 1};
    const efi_sizing_aim aim = {.target_t = 0.0};
    double volume_t = NAN;
    efi_sizing_result result;
    efi_sizing_search *search = efi_sizing_open(&sizing);
    assert_non_null(search);
    assert_int_equal(efi_sizing_solve(search, &aim, &volume_t, &result), EF_OK);
    efi_sizing_close(search);
    assert_near_absolute(result.shortfall_t, 0.0, 1e-5);
    return volume_t;
}

/* An inflow that must not be held up, and an outflow from `from_h` to `to_h` of every day; the day begins
 * when the outflow ends, with an empty bin. */
static double day_bin(double in_tph, double out_tph, double from_h, double to_h)
{
    timetable t;
    begin(&t, 72.0, 0, 0.0);
    add_machine(&t, 0, 0, in_tph);
    add_machine(&t, 1, 1, out_tph);
    const double closed_h = 24.0 - (to_h - from_h);
    for (int day = 0; day < 3; day++)
        add_stop(&t, 1, 24.0 * day, 24.0 * day + closed_h);
    return smallest(&t);
}

/* Inflow by periods; what is more than the bin takes is spilled. A machine for each period, two rounds, the
 * bin full at the start. */
static double periods_bin(const double *in, int periods, double out)
{
    timetable t;
    begin(&t, 2.0 * periods, 1, 1.0);
    for (int k = 0; k < periods; k++) {
        add_machine(&t, 0, 0, in[k]);
        add_stop(&t, k, 0.0, k);
        add_stop(&t, k, k + 1.0, periods + k);
        add_stop(&t, k, periods + k + 1.0, 2.0 * periods);
    }
    add_machine(&t, 1, 1, out);
    return smallest(&t);
}

static double stop_bin(double hours, double out_tph)
{
    timetable t;
    begin(&t, 24.0, 1, 1.0);
    add_machine(&t, 0, 0, 1000.0);
    add_machine(&t, 1, 1, out_tph);
    add_stop(&t, 0, 5.0, 5.0 + hours);
    return smallest(&t);
}

/* Three trucks dumped at once, that is within `pulse_h`: none may be held up. */
static double trucks_bin(double pulse_h)
{
    timetable t;
    begin(&t, 10.0, 0, 0.0);
    add_machine(&t, 0, 0, 30.0 / pulse_h);
    add_machine(&t, 1, 1, 40.0);
    add_stop(&t, 0, pulse_h, 0.25);
    add_stop(&t, 0, 0.25 + pulse_h, 0.5);
    add_stop(&t, 0, 0.5 + pulse_h, 10.0);
    return smallest(&t);
}

static void timetables_have_the_smallest_bin_that_was_worked_out_by_hand(void **state)
{
    (void)state;
    static const double inflow[] = {1.0, 3.0, 3.0, 5.0, 8.0, 6.0, 7.0, 2.0, 1.0};
    FILE *table = lines_open_table("bins/deterministic.csv");
    char room[1024];
    char *field[8];
    int seen = 0;
    while (lines_read_row(table, room, sizeof room, field, 8) > 0) {
        const double value = lines_number(field[3]);
        double found = NAN;
        double tolerance = 1e-6;
        switch (field[0][2]) {
        case '1':
            found = day_bin(8.0, 19.2, 7.0, 17.0);
            break;
        case '2':
            found = day_bin(8.0, 12.0, 6.0, 22.0);
            break;
        case '3':
            found = periods_bin(inflow, 9, 3.5);
            break;
        case '4':
            found = stop_bin(2.5, 10.0);
            break;
        case '5': /* while the last truck is dumped 40 t/h leave */
            found = trucks_bin(1e-6);
            tolerance = 1e-5;
            break;
        default:
            fail_msg("a row that is not known: %s", field[0]);
        }
        if (!(fabs(found - value) <= tolerance * value))
            print_message("%s: %g, expected %g\n", field[0], found, value);
        assert_near_relative(found, value, tolerance);
        seen++;
    }
    (void)fclose(table);
    assert_int_equal(seen, 5);
}

/* Worked examples of this project, after the common rule: 12 t/h come, 10 t/h go, 2.5 t usable, empty at the
 * start. The bin is full after 2.5/(12 - 10) = 1.25 h, so a stop that begins then is bridged for 2.5/10 h =
 * 15 min, and one of 30 min leaves 15 min short, 2.5 t. A stop that begins after 1 h finds 2 t. */
static void a_bin_fills_by_the_difference_and_lasts_what_it_holds(void **state)
{
    (void)state;
    static const double volume_t[] = {2.5};
    double shortfall_t = NAN;
    timetable t;
    begin(&t, 4.0, 1, 0.0);
    add_machine(&t, 0, 0, 12.0);
    add_machine(&t, 1, 1, 10.0);
    add_stop(&t, 0, 1.25, 1.5);
    assert_int_equal(efi_fluid_run(&t.line, volume_t, &shortfall_t, NULL), EF_OK);
    assert_near_absolute(shortfall_t, 0.0, 1e-12);
    t.stop[0][0].to_h = 1.75;
    assert_int_equal(efi_fluid_run(&t.line, volume_t, &shortfall_t, NULL), EF_OK);
    assert_near_absolute(shortfall_t, 2.5, 1e-12);
    t.stop[0][0] = (efi_interval){1.0, 1.25};
    assert_int_equal(efi_fluid_run(&t.line, volume_t, &shortfall_t, NULL), EF_OK);
    assert_near_absolute(shortfall_t, 0.5, 1e-12);
}

/* A screen change of 6 min at 10 t/h takes 1 t (rate times stop). */
static void a_stop_takes_the_rate_times_its_length(void **state)
{
    (void)state;
    assert_near_relative(stop_bin(0.1, 10.0), 1.0, 1e-6);
}

/* ---- lines with random stops ----------------------------------------------------------------------------
 */

#define MACHINES 3
#define RUNS     400

typedef struct random_line {
    double mu[MACHINES], p[MACHINES], r[MACHINES], bin[MACHINES - 1];
    double share[MACHINES]; /* running: failures that count running time are laid by it */
} random_line;

typedef struct laid_line {
    efi_fluid_unit unit[MACHINES];
    efi_trace trace[MACHINES];
    double start_share[MACHINES - 1];
    efi_fluid_line line;
} laid_line;

static void lay(laid_line *l, const random_line *of, uint64_t run, double hours)
{
    memset(l, 0, sizeof *l);
    for (int i = 0; i < MACHINES; i++) {
        const efi_stop_mode mode = {.counting = EFI_COUNT_RUNNING,
                                    .gap = {EFI_EXPONENTIAL, 1.0 / of->p[i], 0.0},
                                    .duration = {EFI_EXPONENTIAL, 1.0 / of->r[i], 0.0}};
        const efi_trace_basis basis = {hours, of->share[i], of->mu[i]};
        assert_int_equal(efi_trace_lay(&mode, 1, (uint64_t)i, 0, 11, run, &basis, &l->trace[i]), EF_OK);
        l->unit[i] = (efi_fluid_unit){i, i, of->mu[i], &l->trace[i]};
    }
    l->start_share[0] = l->start_share[1] = 0.5;
    l->line = (efi_fluid_line){.segments = MACHINES,
                               .units = MACHINES,
                               .unit = l->unit,
                               .feed_station = MACHINES - 1,
                               .start_share = l->start_share,
                               .from_h = 500.0,
                               .to_h = hours};
}

static void free_laid(laid_line *l)
{
    for (int i = 0; i < MACHINES; i++)
        efi_trace_free(&l->trace[i]);
}

/* Throughput after the first 500 h: what the last machine was set to while it ran, less what was short. */
static double throughput(const laid_line *l, const double *bin)
{
    double shortfall_t = NAN;
    double set_t = 0.0;
    const efi_trace *last = &l->trace[MACHINES - 1];
    assert_int_equal(efi_fluid_run(&l->line, bin, &shortfall_t, NULL), EF_OK);
    const double hours = l->line.to_h - l->line.from_h;
    double stopped_h = 0.0;
    for (int k = 0; k < last->stops; k++)
        stopped_h += fmax(0.0, fmin(last->stop[k].to_h, l->line.to_h) -
                                   fmax(last->stop[k].from_h, l->line.from_h));
    set_t = l->unit[MACHINES - 1].capacity_tph * (hours - stopped_h);
    return (set_t - shortfall_t) / hours;
}

/* Stops that go by the clock: the recursion alone gives the throughput of the exact chain. */
static void lines_with_stops_by_the_clock_have_the_exact_throughput(void **state)
{
    (void)state;
    FILE *table = lines_open_table("lines/three-machine.csv");
    char room[1024];
    char *field[24];
    lines_scores scores = {0};
    while (lines_read_row(table, room, sizeof room, field, 24) > 0) {
        if (strcmp(field[1], "TDF") != 0)
            continue;
        random_line of = {.share = {1.0, 1.0, 1.0}};
        for (int i = 0; i < MACHINES; i++) {
            of.mu[i] = lines_number(field[2 + 3 * i]);
            of.p[i] = lines_number(field[3 + 3 * i]);
            of.r[i] = lines_number(field[4 + 3 * i]);
        }
        of.bin[0] = lines_number(field[11]);
        of.bin[1] = lines_number(field[12]);
        double sum = 0.0;
        double squares = 0.0;
        for (int run = 0; run < RUNS; run++) {
            laid_line l;
            lay(&l, &of, (uint64_t)run, 5500.0);
            const double one = throughput(&l, of.bin);
            free_laid(&l);
            sum += one;
            squares += one * one;
        }
        const double mean = sum / RUNS;
        const double error = sqrt((squares / RUNS - mean * mean) / (RUNS - 1));
        assert_true(error < 0.002 * mean);
        lines_judge(&scores, field[0], "throughput", mean, error, lines_number(field[13]));
    }
    (void)fclose(table);
    assert_true(scores.cases >= 2);
    assert_true(lines_scores_good(&scores));
}

/* Two machines and a bin: `up` before it, `down` behind; rates of failing 0: never. Throughput of one long
 * trace after the first 500 h: what comes out of the last machine. */
static double pair_throughput(const double *mu, const double *p, const double *r, double bin, uint64_t run,
                              double hours, int feed)
{
    efi_fluid_unit unit[2];
    efi_trace trace[2] = {{0}};
    const double half = 0.5;
    for (int i = 0; i < 2; i++) {
        const efi_stop_mode mode = {.counting = EFI_COUNT_CLOCK,
                                    .gap = {EFI_EXPONENTIAL, p[i] > 0.0 ? 1.0 / p[i] : 1.0, 0.0},
                                    .duration = {EFI_EXPONENTIAL, p[i] > 0.0 ? 1.0 / r[i] : 1.0, 0.0}};
        const efi_trace_basis basis = {hours, 1.0, 1.0};
        assert_int_equal(efi_trace_lay(&mode, p[i] > 0.0, (uint64_t)i, 0, 5, run, &basis, &trace[i]), EF_OK);
        unit[i] = (efi_fluid_unit){i, i, mu[i], &trace[i]};
    }
    const efi_fluid_line line = {.segments = 2,
                                 .units = 2,
                                 .unit = unit,
                                 .feed_station = feed,
                                 .start_share = &half,
                                 .from_h = 500.0,
                                 .to_h = hours};
    double shortfall_t = NAN;
    double running_h = hours - 500.0;
    assert_int_equal(efi_fluid_run(&line, &bin, &shortfall_t, NULL), EF_OK);
    for (int k = 0; k < trace[feed].stops; k++)
        running_h -= fmax(0.0,
                          fmin(trace[feed].stop[k].to_h, hours) - fmax(trace[feed].stop[k].from_h, 500.0));
    efi_trace_free(&trace[0]);
    efi_trace_free(&trace[1]);
    return (mu[feed] * running_h - shortfall_t) / (hours - 500.0);
}

static void judge_pair(lines_scores *scores, const char *name, const double *mu, const double *p,
                       const double *r, double bin, int feed, double value)
{
    double sum = 0.0;
    double squares = 0.0;
    for (int run = 0; run < RUNS; run++) {
        const double one = pair_throughput(mu, p, r, bin, (uint64_t)run, 4500.0, feed);
        sum += one;
        squares += one * one;
    }
    const double mean = sum / RUNS;
    const double error = sqrt(fmax(squares / RUNS - mean * mean, 0.0) / (RUNS - 1));
    assert_true(error < 0.005 * mean);
    lines_judge(scores, name, "throughput", mean, error, value);
}

/* A source that comes and goes over a bin with a steady drain (Kosten 1974; Anick, Mitra and Sondhi 1982),
 * and a steady feed to a machine that stops by the clock (finite dam): throughput of the recursion against
 * the closed solutions. */
static void single_bins_have_the_throughput_of_closed_solutions(void **state)
{
    (void)state;
    char room[1024];
    char *field[24];
    lines_scores scores = {0};
    FILE *table = lines_open_table("bins/onoff-source.csv");
    while (lines_read_row(table, room, sizeof room, field, 24) > 0) {
        if (!isfinite(lines_number(field[5])))
            continue;
        const double mu[] = {lines_number(field[1]), lines_number(field[4])};
        const double p[] = {lines_number(field[2]), 0.0};
        const double r[] = {lines_number(field[3]), 0.0};
        judge_pair(&scores, field[0], mu, p, r, lines_number(field[5]), 1, lines_number(field[13]));
    }
    (void)fclose(table);
    table = lines_open_table("bins/steady-feed.csv");
    while (lines_read_row(table, room, sizeof room, field, 24) > 0) {
        if (strcmp(field[1], "TDF") != 0)
            continue;
        const double mu[] = {lines_number(field[2]), lines_number(field[3])};
        const double p[] = {0.0, lines_number(field[4])};
        const double r[] = {0.0, lines_number(field[5])};
        judge_pair(&scores, field[0], mu, p, r, lines_number(field[6]), 0, lines_number(field[7]));
    }
    (void)fclose(table);
    assert_true(scores.cases >= 6);
    assert_true(lines_scores_good(&scores));
}

/* The lines of bin-split.csv, whose failures count running time: A01 is L01 and A02 is L02 of
 * three-machine.csv with 20 t in all, A03 is given in full with the table. */
static random_line split_line(int number)
{
    switch (number) {
    case 1:
        return (random_line){.mu = {1, 1, 1}, .p = {.01, .01, .01}, .r = {.1, .1, .1}};
    case 2:
        return (random_line){.mu = {14, 12, 10}, .p = {.05, .1, .08}, .r = {.5, 1.0, .8}};
    default:
        return (random_line){.mu = {10, 8, 10}, .p = {.1, .05, .2}, .r = {.5, .4, 1.0}};
    }
}

/* Laid on the clock at the load that the line has, failures that count running time lead to a split of the
 * total that is as good as the best one to 0.05 %. */
static void the_best_split_of_a_total_is_found_with_stops_on_the_clock(void **state)
{
    (void)state;
    enum {
        SPLITS = 32
    };
    double first[4][SPLITS] = {{0.0}};
    double exact[4][SPLITS] = {{0.0}};
    int count[4] = {0};
    FILE *table = lines_open_table("lines/bin-split.csv");
    char room[256];
    char *field[8];
    while (lines_read_row(table, room, sizeof room, field, 8) > 0) {
        const int line = field[0][2] - '0';
        assert_true(line >= 1 && line <= 3 && count[line] < SPLITS);
        first[line][count[line]] = lines_number(field[1]);
        assert_near_absolute(lines_number(field[1]) + lines_number(field[2]), 20.0, 1e-9);
        exact[line][count[line]++] = lines_number(field[3]);
    }
    (void)fclose(table);
    for (int line = 1; line <= 3; line++) {
        random_line of = split_line(line);
        double most = 0.0;
        double sum[SPLITS] = {0.0};
        for (int k = 0; k < count[line]; k++)
            most = fmax(most, exact[line][k]);
        /* a machine that passes X at mu while up runs X / (mu availability) of that time */
        for (int i = 0; i < MACHINES; i++)
            of.share[i] = fmin(1.0, most / (of.mu[i] * of.r[i] / (of.r[i] + of.p[i])));
        for (int run = 0; run < RUNS; run++) {
            laid_line l;
            lay(&l, &of, (uint64_t)run, 2500.0);
            for (int k = 0; k < count[line]; k++)
                sum[k] += throughput(&l, (double[]){first[line][k], 20.0 - first[line][k]});
            free_laid(&l);
        }
        int best = 0;
        for (int k = 1; k < count[line]; k++)
            best = sum[k] > sum[best] ? k : best;
        assert_true(count[line] == 9);
        if (!(exact[line][best] >= most * (1.0 - 5e-4)))
            print_message("A0%d: first bin %g gives %g, best %g\n", line, first[line][best],
                          exact[line][best], most);
        assert_true(exact[line][best] >= most * (1.0 - 5e-4));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(timetables_have_the_smallest_bin_that_was_worked_out_by_hand),
        cmocka_unit_test(a_bin_fills_by_the_difference_and_lasts_what_it_holds),
        cmocka_unit_test(a_stop_takes_the_rate_times_its_length),
        cmocka_unit_test(lines_with_stops_by_the_clock_have_the_exact_throughput),
        cmocka_unit_test(single_bins_have_the_throughput_of_closed_solutions),
        cmocka_unit_test(the_best_split_of_a_total_is_found_with_stops_on_the_clock),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
