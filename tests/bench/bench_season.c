/* SPDX-License-Identifier: GPL-3.0-or-later
 * The season engine on invented seasons of two lines, with stores and a calendar: time to the first plan,
 * cost after some seconds against the bound, time of a change, ten times the lots, memory.
 * EF_BENCH_SMALLEST=1: 40 lots only; EF_BENCH_SEED: of the search. */
#include "base/memory.h"
#include "base/random.h"
#include "shared/season/season.h"

#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <time.h>

enum {
    MOST = 2000,
    STATIONS = 4,
    STORES = 20,
    HOUR = 3600,
    DAY = 86400,
    WEEK = 7 * DAY,
    FAMILIES = 6,
    TEN = 10
};

typedef struct season {
    efi_season_problem p;
    efi_season_lot lot[MOST];
    int64_t work_s[2 * MOST];
    int64_t *clean_s, *clean_price;
    efi_season_store raw[STORES], finished[STORES];
    efi_calendar calendar;
    efi_shift shift[2];
    efi_timetable time;
    const efi_timetable *times[2];
    efi_season_stations stations[2];
    uint16_t *clean_class;
    int64_t *station_work_s, *room_s; /* shape [2][lots][STATIONS] */
    int64_t station_clean_s[7 * STATIONS], delay_s[STATIONS];
} season;

static double now_s(void)
{
    struct timespec t;
    (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static int64_t below(efi_random *random, int count)
{
    return (int64_t)efi_random_below(random, (uint32_t)count);
}

/* Seasons of `each` lots, number `number` and on, one after the other: no lot of one is there before those of
 * the one before are done. Lots of six families; within a family cleaning is short. Two shifts, Monday to
 * Saturday. */
static int make(season *s, int lots, int each, int number)
{
    efi_random random = {{0}};
    const int64_t apart_s = ((int64_t)each * 6 * HOUR / WEEK + 3) * WEEK;
    const size_t side = (size_t)lots + 1;
    int family[MOST] = {0};
    for (int i = 0; i < 2; i++)
        s->shift[i] = (efi_shift){.name = i ? "late" : "early",
                                  .days = {.value = EFI_WEEKDAYS_ALL - 64, .given = true},
                                  .from = {.value = (6 + 8 * i) * HOUR, .given = true},
                                  .to = {.value = (14 + 8 * i) * HOUR, .given = true}};
    s->calendar = (efi_calendar){.shifts = s->shift, .shift_count = 2};
    const int days = 60 + lots; /* far more than is needed */
    if (efi_timetable_build(&s->time, &s->calendar, EFI_WHOLE_PLANT, 0, (int64_t)days * DAY) != EF_OK)
        return 1;
    s->times[0] = s->times[1] = &s->time;
    s->clean_s = efi_new(side * side, sizeof *s->clean_s);
    s->clean_price = efi_new(side * side, sizeof *s->clean_price);
    if (!s->clean_s || !s->clean_price)
        return 1;
    for (int l = 0; l < lots; l++) {
        if (l % each == 0)
            random = efi_random_stream(1, (uint64_t)each, (uint64_t)number + (uint64_t)(l / each));
        const int64_t arrives_s = below(&random, each * 24) * HOUR / 4 + l / each * apart_s;
        family[l] = (int)below(&random, FAMILIES);
        s->lot[l] = (efi_season_lot){.arrives_s = arrives_s,
                                     .due_s = arrives_s + (1 + below(&random, 20)) * DAY,
                                     .latest_start_s = EFI_SEASON_NONE,
                                     .late_price = 1000 * (50 + below(&random, 300)),
                                     .raw_kg = 1000 * (10 + below(&random, 70)),
                                     .fixed_line = -1,
                                     .fixed_start_s = EFI_SEASON_NONE};
        s->lot[l].product_kg = s->lot[l].raw_kg * 9 / 10;
        s->lot[l].leaves_s = below(&random, 6) * DAY;
        s->work_s[l] = s->lot[l].raw_kg * HOUR / 10000;
        s->work_s[lots + l] = s->lot[l].raw_kg * HOUR / 8000;
    }
    for (size_t i = 0; i < side; i++) {
        for (size_t j = 0; j < side; j++) {
            const bool edge = i == side - 1 || j == side - 1;
            const int64_t minutes = edge                     ? 0
                                    : family[i] == family[j] ? 15
                                                             : 60 + 30 * (family[i] > family[j]);
            s->clean_s[i * side + j] = minutes * 60;
            s->clean_price[i * side + j] = minutes * 2000;
        }
    }
    for (int i = 0; i < STORES; i++) {
        s->raw[i] = (efi_season_store){.holds_kg = 1000 * (20 + 4 * i), .clean_s = HOUR};
        s->finished[i] = (efi_season_store){.holds_kg = 1000 * (20 + 4 * i), .is_shared = i == STORES - 1};
    }
    s->p = (efi_season_problem){.lots = lots,
                                .lines = 2,
                                .lot = s->lot,
                                .work_s = s->work_s,
                                .time = s->times,
                                .clean_s = s->clean_s,
                                .clean_price = s->clean_price,
                                .raw = s->raw,
                                .raws = STORES,
                                .finished = s->finished,
                                .finisheds = STORES,
                                .has_raw = true,
                                .has_finished = true,
                                .cleaned_before_arrival = true,
                                .raw_price = 5000,
                                .finished_price = 5000};
    return 0;
}

/* Notes the cost at some moments of a search, and ends it at the last of them or at a share of the bound. */
typedef struct watch {
    int lots;
    const char *name;
    int each, number; /* see make(); each 0: one season */
    double start_s;
    const double *mark_s; /* shape [marks] */
    int marks, next;
    double enough; /* cost; 0: never */
    double took_s; /* until then */
    double nearly; /* another cost, and when it was reached; 0: not */
    double nearly_s;
} watch;

static void tell(const watch *w, double mark_s, double value, double bound)
{
    printf("%s_after_%gs,%d,%.1f,money,0,bound %.1f gap %.1f %%\n", w->name, mark_s, w->lots, 1e-3 * value,
           1e-3 * bound, 100.0 * (value - bound) / bound);
    (void)fflush(stdout);
}

static bool go_on(void *context, const efi_season_progress *progress)
{
    watch *w = context;
    const double passed_s = now_s() - w->start_s;
    w->took_s = passed_s;
    if (w->nearly_s == 0.0 && (double)progress->value <= w->nearly)
        w->nearly_s = passed_s;
    while (w->next < w->marks && passed_s >= w->mark_s[w->next])
        tell(w, w->mark_s[w->next++], (double)progress->value, (double)progress->bound);
    if (w->enough > 0.0 && (double)progress->value <= w->enough)
        return false;
    return w->next < w->marks;
}

static uint64_t seed_more; /* after that of EF_BENCH_SEED */

static int solve(season *s, watch *w, efi_season_result *result)
{
    efi_season_settings settings = efi_season_defaults();
    const char *seed = getenv("EF_BENCH_SEED");
    settings.seed = (seed ? strtoull(seed, NULL, 10) : 1) + seed_more;
    settings.rounds = w->marks > 0 ? 1000000 : 0;
    settings.go_on = go_on;
    settings.context = w;
    w->start_s = now_s();
    return efi_season_solve(&s->p, &settings, result) == EF_OK ? 0 : 1;
}

static void end(season *s)
{
    efi_timetable_free(&s->time);
    efi_free(s->clean_s);
    efi_free(s->clean_price);
    efi_free(s->clean_class);
    efi_free(s->station_work_s);
    efi_free(s->room_s);
}

/* Four stations on each line, and every fourth lot the second pass of the one before it. */
static int add_stations(season *s)
{
    const size_t lots = (size_t)s->p.lots;
    const size_t side = lots + 1;
    s->clean_class = efi_new(side * side, sizeof *s->clean_class);
    s->station_work_s = efi_new(2 * lots * STATIONS, sizeof *s->station_work_s);
    s->room_s = efi_new(2 * lots * STATIONS, sizeof *s->room_s);
    if (!s->clean_class || !s->station_work_s || !s->room_s)
        return 1;
    for (size_t i = 0; i < side * side; i++)
        s->clean_class[i] = (uint16_t)(s->clean_s[i] / (15 * 60)); /* 0, 1, 4, 6 */
    for (int line = 0; line < 2; line++) {
        for (size_t i = 0; i < lots * STATIONS; i++) {
            const size_t at = (size_t)line * lots * STATIONS + i;
            const int64_t work_s = s->work_s[(size_t)line * lots + i / STATIONS];
            s->station_work_s[at] = i % STATIONS == 2 ? work_s : work_s * 3 / 4;
            s->room_s[at] = work_s / 10;
        }
        s->stations[line] = (efi_season_stations){STATIONS,
                                                  2,
                                                  s->delay_s,
                                                  s->station_work_s + (size_t)line * lots * STATIONS,
                                                  s->room_s + (size_t)line * lots * STATIONS,
                                                  s->station_clean_s};
    }
    for (int k = 0; k < 7 * STATIONS; k++)
        s->station_clean_s[k] = (int64_t)(k / STATIONS) * 15 * 60 * (1 + k % STATIONS) / 4;
    s->p.stations = s->stations;
    s->p.classes = 7;
    s->p.clean_class = s->clean_class;
    s->p.has_passes = true;
    for (int l = 0; l < s->p.lots; l++) {
        s->lot[l].after = l % 4 == 3 ? l - 1 : -1;
        s->lot[l].after_s = 3 * DAY;
        s->lot[l].due_s += l % 4 == 3 ? 10 * DAY : 0;
    }
    return 0;
}

/* The cost that is reached in the end goes to `cost`. */
static int run(watch *w, bool stations, double *cost)
{
    static season s;
    s = (season){0};
    efi_season_result result;
    if (make(&s, w->lots, w->each > 0 ? w->each : w->lots, w->number) != 0 ||
        (stations && add_stations(&s) != 0) || solve(&s, w, &result) != 0)
        return 1;
    if (w->marks == 0) {
        printf("%s_first,%d,%.3f,s,0,with bounds\n", w->name, w->lots, now_s() - w->start_s);
        tell(w, 0.0, (double)result.cost.total, (double)result.bound.total);
    } else {
        printf("%s_change,%d,%.2f,us,0,drawn and tried or turned down\n", w->name, w->lots,
               1e6 * w->took_s / (double)result.steps);
    }
    *cost = (double)result.cost.total;
    efi_season_result_free(&result);
    end(&s);
    return 0;
}

static int run_marks(const char *name, int lots, bool stations, const double *mark_s, int marks)
{
    watch first = {.lots = lots, .name = name};
    watch w = {.lots = lots, .name = name, .mark_s = mark_s, .marks = marks};
    double cost = 0.0;
    return run(&first, stations, &cost) || run(&w, stations, &cost);
}

/* What a long season pays for having no ends within: between two seasons that follow each other each line has
 * a changeover that ends and beginnings do not have, at the least one within a family. */
static double joints(int lines)
{
    const int64_t least_price = 15 * 2000;
    return (double)((TEN - 1) * lines * least_price);
}

static int compare(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Ten times the lots: ten seasons, each searched for some seconds, and the same ten as one, until it costs
 * what they cost together. Twice: what it costs alone, and with the least that is paid between them. */
static int run_scaling(int lots, double seconds, double times[2])
{
    const double most_s = 40.0 * seconds;
    watch large = {.lots = TEN * lots, .name = "season_large", .each = lots, .mark_s = &most_s, .marks = 1};
    double cost = 0.0;
    for (int k = 0; k < TEN; k++) {
        watch small = {.lots = lots, .name = "season_small", .number = k, .mark_s = &seconds, .marks = 1};
        if (run(&small, false, &cost) != 0)
            return 1;
        large.enough += cost;
    }
    large.nearly = large.enough + joints(2);
    if (run(&large, false, &cost) != 0)
        return 1;
    times[0] = (cost <= large.enough ? large.took_s : most_s) / seconds;
    times[1] = (large.nearly_s > 0.0 ? large.nearly_s : most_s) / seconds;
    printf(
        "season_ten_times,%d,%.1f,times,0,%s the cost of ten seasons of %d lots in %g s each: %.4f of it\n",
        TEN * lots, times[0], cost <= large.enough ? "time to" : "without reaching", lots, seconds,
        cost / large.enough);
    printf(
        "season_ten_times_joined,%d,%.1f,times,0,the same and one changeover within a family between two of "
        "them on each line%s\n",
        TEN * lots, times[1], large.nearly_s > 0.0 ? "" : ": not reached");
    return 0;
}

/* The same with some seeds of the search: the one in the middle. */
static int run_scalings(int lots, double seconds)
{
    enum {
        SEEDS = 3
    };
    double times[2], alone[SEEDS], joined[SEEDS];
    for (int i = 0; i < SEEDS; i++) {
        seed_more = (uint64_t)i;
        if (run_scaling(lots, seconds, times) != 0)
            return 1;
        alone[i] = times[0];
        joined[i] = times[1];
    }
    seed_more = 0;
    qsort(alone, SEEDS, sizeof *alone, compare);
    qsort(joined, SEEDS, sizeof *joined, compare);
    printf("season_ten_times_middle,%d,%.1f,times,0,of %d seeds; %.1f to %.1f\n", TEN * lots,
           alone[SEEDS / 2], SEEDS, alone[0], alone[SEEDS - 1]);
    printf("season_ten_times_joined_middle,%d,%.1f,times,0,of %d seeds; %.1f to %.1f\n", TEN * lots,
           joined[SEEDS / 2], SEEDS, joined[0], joined[SEEDS - 1]);
    return 0;
}

/* EF_BENCH_LONG=1: ten times the default time too; EF_BENCH_SCALING=1: ten times the lots only. Processor
 * time of one thread throughout. */
int main(void)
{
    static const double marks[] = {2.0, 20.0, 200.0};
    static const double little = 0.1;
    if (getenv("EF_BENCH_SMALLEST"))
        return run_marks("season", 40, false, &little, 1) ||
               run_marks("season_stations", 40, true, &little, 1);
    if (getenv("EF_BENCH_SCALING"))
        return run_scalings(200, 1.0);
    if (run_marks("season", 40, false, marks, 1) ||
        run_marks("season", 400, false, marks, getenv("EF_BENCH_LONG") ? 3 : 2) ||
        run_marks("season_stations", 400, true, marks, 1) || run_scalings(200, 1.0))
        return 1;
    struct rusage usage;
    if (getrusage(RUSAGE_SELF, &usage) == 0)
        printf("season_memory,2000,%.0f,MB,0,the whole program\n", (double)usage.ru_maxrss / 1024.0);
    return 0;
}
