/* SPDX-License-Identifier: GPL-3.0-or-later
 * How good the orders of the sequencing engine are, on published sets under EF_BENCHMARKS.
 *
 *   EF_BENCHMARKS    folder of the sets; without it only a made-up problem is run
 *   BENCH_SECONDS    processor seconds for each problem and seed (2)
 *   BENCH_SEEDS      seeds 1 .. N (1)
 *   BENCH_SETS       names of sets, parted by commas (all)
 *   BENCH_CSV        results, one line a run; runs that stand there already are not done again (none)
 *   BENCH_SKIP       take every k-th instance only (1)
 *   BENCH_ONLY       names of instances, parted by commas (all)
 *   BENCH_STOP       a run ends at 1: a proven reference, 2: any reference (0: none)
 *
 * At a proven reference a value cannot change any more; the bound could, so proofs are counted without
 * BENCH_STOP, and in a file of results of their own.
 *
 * Every value is recomputed by the independent evaluator. Prints one line for each set and figure. */
#include "../lib/sequence_files.h"
#include "shared/verify/sequence_check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

typedef struct limits {
    double seconds;
    double started;
    bool has_price; /* end at this price */
    int64_t price;
} limits;

/* One run of one instance. */
typedef struct outcome {
    bool found;
    bool proven;
    double value;
    double bound;
    double seconds;
    int rounds;
} outcome;

/* What a set comes to, over instances and seeds. */
typedef struct totals {
    int runs, with_value, hits, positive, zeros, zeros_found, proven, instances, instances_hit,
        instances_proven, unfound;
    double gap_sum, gap_worst, seconds, best_gap_sum, bound_gap_sum;
    int bound_gaps;
} totals;

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static double number_of(const char *name, double otherwise)
{
    const char *text = getenv(name);
    return text && *text ? strtod(text, NULL) : otherwise;
}

/* Does `name` stand in the list of the variable, or is that list not given? */
static bool is_wanted(const char *variable, const char *name)
{
    const char *at = getenv(variable);
    const size_t length = strlen(name);
    for (bool first = true; at && *at; first = false) {
        at += first ? 0 : 1;
        const size_t word = strcspn(at, ",");
        if (word == length && strncmp(at, name, length) == 0)
            return true;
        at += word;
    }
    const char *list = getenv(variable);
    return !list || !*list;
}

static bool goes_on(void *context, const efi_sequence_progress *progress)
{
    const limits *l = context;
    if (l->has_price && progress->found && progress->value <= l->price)
        return false;
    return now_s() - l->started < l->seconds;
}

/* The price of the reference of a case, when a run is to end there. */
static bool price_to_stop_at(const sequence_case *one, const sequence_file *file, int64_t *price)
{
    const double stop = number_of("BENCH_STOP", 0.0);
    if (!one || !one->has_value || !(stop >= (one->proven ? 1.0 : 2.0)))
        return false;
    const int64_t value = (int64_t)llround(one->value * file->scale);
    *price = file->maximises ? file->offset - value : value;
    return true;
}

/* Solves and recomputes; a difference ends the program. */
static outcome run(const sequence_case *one, const sequence_file *file, double seconds, uint64_t seed)
{
    limits l = {.seconds = seconds, .started = now_s()};
    l.has_price = price_to_stop_at(one, file, &l.price);
    efi_sequence_settings settings = efi_sequence_defaults();
    settings.seed = seed;
    settings.rounds = 100000000;
    settings.go_on = goes_on;
    settings.context = &l;
    efi_sequence_result result;
    const ef_status status = efi_sequence_solve(&file->problem, &settings, &result);
    if (status != EF_OK) {
        fprintf(stderr, "%s: %s\n", file->name, ef_status_text(status));
        exit(1);
    }
    outcome o = {.found = result.found,
                 .proven = result.proven,
                 .seconds = now_s() - l.started,
                 .rounds = result.rounds};
    if (o.found) {
        const efi_sequence_account account = efi_sequence_check(&file->problem, result.order, result.run,
                                                                NULL, NULL);
        if (!efi_sequence_keeps(&account) || account.price != result.value || result.bound > result.value) {
            fprintf(stderr, "%s: the evaluator disagrees\n", file->name);
            exit(1);
        }
        o.value = sequence_file_value(file, result.value);
    }
    o.bound = sequence_file_value(file, result.bound);
    efi_sequence_result_free(&result);
    return o;
}

/* The run that the file of results already holds, if it does. */
static bool look_up(const char *csv, const char *key, outcome *o)
{
    FILE *in = csv ? fopen(csv, "r") : NULL;
    char line[400];
    bool known = false;
    while (in && fgets(line, sizeof line, in)) {
        if (strncmp(line, key, strlen(key)) != 0)
            continue;
        double numbers[6];
        int count = 0;
        char *at = line + strlen(key);
        for (char *end = NULL; count < 6; count++, at = *end == ',' ? end + 1 : end) {
            numbers[count] = strtod(at, &end);
            if (end == at)
                break;
        }
        if (count == 6) {
            const bool found = numbers[0] > 0.0;
            const bool proven = numbers[1] > 0.0;
            o->value = numbers[2];
            o->bound = numbers[3];
            o->seconds = numbers[4];
            o->rounds = (int)numbers[5];
            o->found = found;
            o->proven = proven;
            known = true;
        }
    }
    if (in)
        fclose(in);
    return known;
}

static void note(const char *csv, const char *key, const outcome *o)
{
    FILE *out = csv ? fopen(csv, "a") : NULL;
    if (!out)
        return;
    fprintf(out, "%s%d,%d,%.5f,%.5f,%.2f,%d\n", key, o->found, o->proven, o->value, o->bound, o->seconds,
            o->rounds);
    fclose(out);
}

static double gap_of(const sequence_case *one, const sequence_file *file, double value)
{
    const double worse = file->maximises ? one->value - value : value - one->value;
    return 100.0 * worse / one->value;
}

static void add_run(totals *t, const sequence_case *one, const sequence_file *file, const outcome *o,
                    double *best_gap)
{
    t->runs++;
    t->seconds += o->seconds;
    t->proven += o->proven;
    t->unfound += !o->found && !o->proven;
    if (o->found && o->value > 0.0 && !file->maximises) {
        t->bound_gap_sum += 100.0 * (o->value - o->bound) / o->value;
        t->bound_gaps++;
    }
    if (!one->has_value || !o->found)
        return;
    t->with_value++;
    if (one->value > 0.0) {
        const double gap = gap_of(one, file, o->value);
        if (one->proven && gap < -1e-6) {
            fprintf(stderr, "%s: %.5f beats the proven %.5f\n", one->name, o->value, one->value);
            exit(1);
        }
        t->positive++;
        t->gap_sum += gap;
        t->gap_worst = gap > t->gap_worst ? gap : t->gap_worst;
        t->hits += gap < 1e-6;
        *best_gap = gap < *best_gap ? gap : *best_gap;
    } else {
        t->zeros++;
        t->zeros_found += o->value == 0.0;
        t->hits += o->value == 0.0;
        *best_gap = o->value == 0.0 ? 0.0 : *best_gap;
    }
}

static void print_set(const char *name, const char *size, const totals *t)
{
    printf("%s hits (runs equal to the reference),%s,%d,of runs,,%d\n", name, size, t->hits, t->with_value);
    printf("%s instances hit by the best seed,%s,%d,instances,,%d\n", name, size, t->instances_hit,
           t->instances);
    if (t->positive > 0)
        printf("%s mean gap (spread: largest),%s,%.4f,%%,%.4f,0\n", name, size, t->gap_sum / t->positive,
               t->gap_worst);
    if (t->zeros > 0)
        printf("%s zero optima found,%s,%d,of runs,,%d\n", name, size, t->zeros_found, t->zeros);
    if (t->bound_gaps > 0)
        printf("%s mean gap to own bound,%s,%.4f,%%,,\n", name, size, t->bound_gap_sum / t->bound_gaps);
    printf("%s proven,%s,%d,of runs,,%d\n", name, size, t->proven, t->runs);
    printf("%s without an order,%s,%d,of runs,,0\n", name, size, t->unfound);
    printf("%s mean time,%s,%.2f,s,,\n", name, size, t->runs > 0 ? t->seconds / t->runs : 0.0);
}

static int bench_set(sequence_set set, const char *root, double seconds, int seeds)
{
    int count;
    sequence_case *cases = sequence_set_list(set, root, &count);
    const char *csv = getenv("BENCH_CSV");
    const int skip = (int)number_of("BENCH_SKIP", 1.0);
    totals t = {0};
    for (int i = 0; cases && i < count; i += skip) {
        sequence_file file;
        if (!is_wanted("BENCH_ONLY", cases[i].name))
            continue;
        if (!sequence_file_read(set, root, cases[i].name, &file)) {
            fprintf(stderr, "%s cannot be read\n", cases[i].name);
            free(cases);
            return 1;
        }
        double best_gap = HUGE_VAL;
        int proven = 0;
        for (int seed = 1; seed <= seeds; seed++) {
            char key[200];
            snprintf(key, sizeof key, "%s,%s,%g,%d,", sequence_set_name(set), cases[i].name, seconds, seed);
            outcome o;
            if (!look_up(csv, key, &o)) {
                o = run(&cases[i], &file, seconds, (uint64_t)seed);
                note(csv, key, &o);
            }
            add_run(&t, &cases[i], &file, &o, &best_gap);
            proven |= o.proven;
        }
        t.instances += cases[i].has_value;
        t.instances_hit += cases[i].has_value && best_gap < 1e-6;
        t.instances_proven += proven;
        sequence_file_free(&file);
    }
    char size[64];
    snprintf(size, sizeof size, "%g s x %d seeds", seconds, seeds);
    if (cases)
        print_set(sequence_set_name(set), size, &t);
    free(cases);
    return 0;
}

/* A made-up problem, so that something is run where the sets are not. */
static int bench_small(void)
{
    enum {
        LOTS = 8
    };
    int64_t setup[(LOTS + 1) * (LOTS + 1)], work[LOTS], due[LOTS], weight[LOTS];
    for (int i = 0; i < (LOTS + 1) * (LOTS + 1); i++)
        setup[i] = i * 37 % 11;
    for (int j = 0; j < LOTS; j++) {
        work[j] = 10 + j * 7 % 5;
        due[j] = 15 + j * 53 % 60;
        weight[j] = 1 + j % 3;
    }
    const sequence_file file = {
        .name = "made up",
        .scale = 1.0,
        .problem = {.lots = LOTS, .setup_time = setup, .work = work, .due = due, .weight = weight}};
    const outcome o = run(NULL, &file, 1.0, 1);
    printf("order of lots proven,%d lots,%d,of runs,,1\n", LOTS, o.proven);
    return o.proven ? 0 : 1;
}

int main(void)
{
    const char *root = getenv("EF_BENCHMARKS");
    int failed = bench_small();
    if (getenv("EF_BENCH_SMALLEST") || !root)
        return failed;
    for (int set = 0; set < SEQUENCE_SETS; set++) {
        if (is_wanted("BENCH_SETS", sequence_set_name((sequence_set)set)))
            failed |= bench_set((sequence_set)set, root, number_of("BENCH_SECONDS", 2.0),
                                (int)number_of("BENCH_SEEDS", 1.0));
        fflush(stdout);
    }
    return failed;
}
