/* SPDX-License-Identifier: GPL-3.0-or-later
 * Sizing five stations with four free bins: the fast form by traces of an eight-hour shift, beside the plain
 * program in GLPK and, where python3 has SciPy, in HiGHS; each pair must have one optimum. Memory at the
 * largest size. */
#include "answers/bins/sizing.h"
#include "base/memory.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define SEGMENTS 5
#define BINS     (SEGMENTS - 1)
#define HOURS    8.0
#define REPEATS  3

typedef struct traces {
    int count;
    efi_fluid_unit *unit; /* shape [count][SEGMENTS] */
    efi_trace *stops;     /* the same */
    efi_fluid_line *line; /* shape [count] */
    double start_share[BINS];
    efi_sizing_bin bin[BINS];
    efi_sizing sizing;
    double least_t; /* shortfall at the greatest volumes */
} traces;

static void must(bool good, const char *what)
{
    if (good)
        return;
    fprintf(stderr, "bench_bins: %s\n", what);
    exit(1);
}

static double seconds(clockid_t which)
{
    struct timespec now;
    (void)clock_gettime(which, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void lay(traces *t)
{
    static const double rate_tph[SEGMENTS] = {12.0, 11.5, 10.0, 11.5, 12.0};
    static const efi_stop_mode mode = {.counting = EFI_COUNT_CLOCK,
                                       .gap = {EFI_EXPONENTIAL, 4.0, 0.0},
                                       .duration = {EFI_EXPONENTIAL, 0.2, 0.0}};
    const efi_trace_basis basis = {HOURS, 1.0, 1.0};
    for (int i = 0; i < t->count; i++) {
        for (int s = 0; s < SEGMENTS; s++) {
            const int at = i * SEGMENTS + s;
            must(efi_trace_lay(&mode, 1, (uint64_t)s, 0, 1, (uint64_t)i, &basis, &t->stops[at]) == EF_OK,
                 "no trace");
            t->unit[at] = (efi_fluid_unit){s, s, rate_tph[s], &t->stops[at]};
        }
        t->line[i] = (efi_fluid_line){.segments = SEGMENTS,
                                      .units = SEGMENTS,
                                      .unit = &t->unit[(ptrdiff_t)i * SEGMENTS],
                                      .feed_station = 2,
                                      .start_share = t->start_share,
                                      .to_h = HOURS};
    }
}

static traces *make(int count, int threads)
{
    traces *t = calloc(1, sizeof *t);
    must(t != NULL, "no memory");
    t->count = count;
    t->unit = calloc((size_t)count * SEGMENTS, sizeof *t->unit);
    t->stops = calloc((size_t)count * SEGMENTS, sizeof *t->stops);
    t->line = calloc((size_t)count, sizeof *t->line);
    must(t->unit && t->stops && t->line, "no memory");
    lay(t);
    double most_t[BINS];
    for (int j = 0; j < BINS; j++) {
        t->start_share[j] = 0.5;
        t->bin[j] = (efi_sizing_bin){.cost = 1.0 + 0.1 * j, .most_t = 50.0};
        most_t[j] = 50.0;
    }
    t->sizing = (efi_sizing){
        .traces = count, .line = t->line, .bin = t->bin, .tail_share = 1.0, .threads = threads};
    must(efi_sizing_shortfall(&t->sizing, most_t, &t->least_t, NULL) == EF_OK, "no pass");
    return t;
}

static void drop(traces *t)
{
    for (int i = 0; i < t->count * SEGMENTS; i++)
        efi_trace_free(&t->stops[i]);
    free(t->unit);
    free(t->stops);
    free(t->line);
    free(t);
}

/* At most 1.2 min of full feed a shift in the mean. */
static efi_sizing_aim aim_of(const traces *t)
{
    return (efi_sizing_aim){.target_t = t->least_t + 0.2};
}

static double fast(const traces *t, int *cuts)
{
    const efi_sizing_aim aim = aim_of(t);
    double volume_t[BINS];
    efi_sizing_result result;
    efi_sizing_search *search = efi_sizing_open(&t->sizing);
    must(search != NULL, "no memory");
    must(efi_sizing_solve(search, &aim, volume_t, &result) == EF_OK, "not solved");
    efi_sizing_close(search);
    *cuts = result.cuts;
    return result.cost;
}

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Median and spread of the fast form, in processor seconds of all threads and by the clock. */
static double time_fast(const traces *t, const char *name, int repeats, double *cost, double target)
{
    double cpu_s[REPEATS] = {0.0};
    double wall_s[REPEATS] = {0.0};
    int cuts = 0;
    for (int r = 0; r < repeats; r++) {
        const double cpu = seconds(CLOCK_PROCESS_CPUTIME_ID);
        const double wall = seconds(CLOCK_MONOTONIC);
        *cost = fast(t, &cuts);
        cpu_s[r] = seconds(CLOCK_PROCESS_CPUTIME_ID) - cpu;
        wall_s[r] = seconds(CLOCK_MONOTONIC) - wall;
    }
    qsort(cpu_s, (size_t)repeats, sizeof *cpu_s, rising);
    qsort(wall_s, (size_t)repeats, sizeof *wall_s, rising);
    printf("%s,%d,%.4f,s of processor,%.4f,\n", name, t->count, cpu_s[repeats / 2],
           cpu_s[repeats - 1] - cpu_s[0]);
    printf("%s-clock,%d,%.4f,s,%.4f,%g\n", name, t->count, wall_s[repeats / 2],
           wall_s[repeats - 1] - wall_s[0], target);
    printf("%s-cuts,%d,%d,cuts,0,\n", name, t->count, cuts);
    return cpu_s[repeats / 2];
}

static efi_lp *plain(const traces *t)
{
    const efi_sizing_aim aim = aim_of(t);
    int column[BINS];
    efi_lp *lp = NULL;
    must(efi_sizing_plain(&t->sizing, &aim, &lp, column) == EF_OK, "no program");
    return lp;
}

static void compare(double cost, double other, const char *with)
{
    if (fabs(cost - other) <= 1e-6 * other)
        return;
    fprintf(stderr, "bench_bins: %.10g by the fast form, %.10g by %s\n", cost, other, with);
    exit(1);
}

static void against_glpk(int count)
{
    traces *t = make(count, 1);
    double cost = 0.0;
    const double fast_s = time_fast(t, "bins-fast-1-thread", REPEATS, &cost, 0.0);
    efi_lp *lp = plain(t);
    efi_lp_result result;
    const double started = seconds(CLOCK_PROCESS_CPUTIME_ID);
    must(efi_lp_solve(lp, NULL, &result) == EF_OK && result.outcome == EFI_LP_OPTIMAL,
         "GLPK finds no optimum");
    const double glpk_s = seconds(CLOCK_PROCESS_CPUTIME_ID) - started;
    compare(cost, result.objective, "GLPK");
    printf("bins-plain-glpk,%d,%.3f,s of processor,0,5\n", count, glpk_s);
    printf("bins-glpk-over-fast,%d,%.1f,times,0,\n", count, glpk_s / fast_s);
    efi_lp_free(lp);
    drop(t);
}

/* Seconds that HiGHS takes for the file, below 0 where there is no SciPy. */
static double run_highs(const char *path, double *objective)
{
    char command[512];
    char answer[128] = "";
    (void)snprintf(command, sizeof command,
                   "for p in python3 /usr/bin/python3; do if $p -c 'import scipy' 2>/dev/null; then exec $p "
                   "tests/bench/highs.py '%s'; fi; done",
                   path);
    FILE *pipe = popen(command, "r"); // NOLINT(cert-env33-c): a fixed command of a benchmark
    must(pipe != NULL, "no pipe");
    const bool read = fgets(answer, sizeof answer, pipe) != NULL;
    (void)pclose(pipe);
    char *end = NULL;
    const double taken_s = read ? strtod(answer, &end) : -1.0;
    *objective = read ? strtod(end, NULL) : 0.0;
    return taken_s;
}

static void against_highs(int count)
{
    traces *t = make(count, 1);
    char path[256];
    double cost = 0.0;
    double objective = 0.0;
    const char *folder = getenv("TMPDIR");
    (void)snprintf(path, sizeof path, "%s/bench-bins-%ld.mps", folder ? folder : "/tmp", (long)getpid());
    const double fast_s = time_fast(t, "bins-fast-1-thread", REPEATS, &cost, 0.0);
    efi_lp *lp = plain(t);
    printf("bins-plain-columns,%d,%d,columns,0,\n", count, efi_lp_columns(lp));
    must(efi_lp_write(lp, path, EFI_LP_FREE_MPS, true) == EF_OK, "the program is not written");
    efi_lp_free(lp);
    const double highs_s = run_highs(path, &objective);
    (void)remove(path);
    if (highs_s < 0.0) {
        fprintf(stderr, "bench_bins: no SciPy, so no HiGHS\n");
    } else {
        compare(cost, objective, "HiGHS");
        printf("bins-plain-highs,%d,%.3f,s of processor,0,\n", count, highs_s);
        printf("bins-highs-over-fast,%d,%.1f,times,0,50\n", count, highs_s / fast_s);
    }
    drop(t);
}

int main(void)
{
    const char *smallest = getenv("EF_BENCH_SMALLEST");
    const bool is_short = smallest && smallest[0] == '1';
    against_glpk(is_short ? 10 : 100);
    if (!is_short) {
        against_highs(1000);
        double cost = 0.0;
        for (int count = 10000; count <= 100000; count *= 10) {
            traces *t = make(count, 2);
            (void)time_fast(t, "bins-fast-2-threads", count < 100000 ? REPEATS : 1, &cost,
                            count == 100000 ? 30.0 : 0.0);
            drop(t);
        }
        struct rusage usage;
        (void)getrusage(RUSAGE_SELF, &usage);
        printf("bins-memory,100000,%.0f,MB,0,1000\n", (double)usage.ru_maxrss / 1024.0);
    }
    efi_lp_thread_end();
    return 0;
}
