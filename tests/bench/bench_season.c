/* SPDX-License-Identifier: GPL-3.0-or-later
 * The season engine on invented seasons of two lines, with stores and a calendar: time to the first plan,
 * cost after some seconds against the bound, changes tried a second. EF_BENCH_SMALLEST=1: 40 lots only. */
#include "base/memory.h"
#include "base/random.h"
#include "shared/season/season.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum {
    MOST = 1000,
    STORES = 20,
    HOUR = 3600,
    DAY = 86400,
    FAMILIES = 6
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

/* Lots of six families; within a family cleaning is short. Two shifts, Monday to Saturday. */
static int make(season *s, int lots)
{
    efi_random random = efi_random_stream(1, (uint64_t)lots, 0);
    const size_t side = (size_t)lots + 1;
    int family[MOST] = {0};
    for (int i = 0; i < 2; i++)
        s->shift[i] = (efi_shift){.name = i ? "late" : "early",
                                  .days = {.value = EFI_WEEKDAYS_ALL - 64, .given = true},
                                  .from = {.value = (6 + 8 * i) * HOUR, .given = true},
                                  .to = {.value = (14 + 8 * i) * HOUR, .given = true}};
    s->calendar = (efi_calendar){.shifts = s->shift, .shift_count = 2};
    const int days = 30 + lots; /* far more than is needed */
    if (efi_timetable_build(&s->time, &s->calendar, EFI_WHOLE_PLANT, 0, (int64_t)days * DAY) != EF_OK)
        return 1;
    s->times[0] = s->times[1] = &s->time;
    s->clean_s = efi_new(side * side, sizeof *s->clean_s);
    s->clean_price = efi_new(side * side, sizeof *s->clean_price);
    if (!s->clean_s || !s->clean_price)
        return 1;
    for (int l = 0; l < lots; l++) {
        const int64_t arrives_s = below(&random, lots * 24) * HOUR / 4;
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

typedef struct watch {
    double start_s, most_s;
} watch;

static bool go_on(void *context, const efi_season_progress *progress)
{
    const watch *w = context;
    (void)progress;
    return now_s() - w->start_s < w->most_s;
}

static int run(int lots, double seconds)
{
    static season s;
    s = (season){0};
    if (make(&s, lots) != 0)
        return 1;
    efi_season_settings settings = efi_season_defaults();
    if (getenv("SEED"))
        settings.seed = (uint64_t)atoi(getenv("SEED"));
    if (getenv("WALKS"))
        settings.walks = atoi(getenv("WALKS"));
    watch w = {now_s(), seconds};
    settings.rounds = seconds > 0.0 ? 1000000 : 0;
    settings.go_on = go_on;
    settings.context = &w;
    efi_season_result result;
    if (efi_season_solve(&s.p, &settings, &result) != EF_OK)
        return 1;
    const double took_s = now_s() - w.start_s;
    printf("season_%s,%d,%.3f,s,0,\n", seconds > 0.0 ? "search" : "first", lots, took_s);
    printf("season_cost_after_%.0fs,%d,%.1f,money,0,bound %.1f\n", seconds, lots,
           1e-3 * (double)result.cost.total, 1e-3 * (double)result.bound.total);
    printf("terms clean %lld late %lld raw %lld fin %lld\n", (long long)result.cost.cleaning / 1000,
           (long long)result.cost.late / 1000, (long long)result.cost.raw / 1000,
           (long long)result.cost.finished / 1000);
    if (seconds > 0.0)
        printf("season_changes,%d,%.2f,million/s,0,\n", lots, 1e-6 * (double)result.steps / took_s);
    efi_season_result_free(&result);
    efi_timetable_free(&s.time);
    efi_free(s.clean_s);
    efi_free(s.clean_price);
    return 0;
}

int main(void)
{
    if (getenv("EF_BENCH_SMALLEST"))
        return run(40, 0.2);
    if (getenv("EXP")) {
        double t = atof(getenv("EXP"));
        return run(getenv("N") ? atoi(getenv("N")) : 400, t);
    }
    static const int sizes[] = {40, 400, 1000};
    for (int i = 0; i < 3; i++)
        if (run(sizes[i], 0.0) != 0 || run(sizes[i], 2.0) != 0 || run(sizes[i], 20.0) != 0)
            return 1;
    return 0;
}
