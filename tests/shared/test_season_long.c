/* SPDX-License-Identifier: GPL-3.0-or-later
 * Long seasons: what a change costs is worked out only as far as it reaches, and searched by parts. Each
 * value is that of the plan worked out from the beginning, and plans do not depend on threads. */
#include "base/memory.h"
#include "base/random.h"
#include "shared/season/walk.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

enum {
    MOST = 304,
    SIDE = MOST + 1,
    STATIONS = 3,
    STORES = 9,
    FAMILIES = 5,
    HOUR = 3600,
    DAY = 86400
};

typedef struct season {
    efi_season_problem p;
    efi_season_lot lot[MOST];
    int64_t work_s[2 * MOST];
    int64_t clean_s[SIDE * SIDE], clean_price[SIDE * SIDE];
    uint16_t clean_class[SIDE * SIDE];
    int64_t station_work_s[2 * MOST * STATIONS], room_s[2 * MOST * STATIONS];
    int64_t station_clean_s[3 * STATIONS], delay_s[STATIONS];
    efi_season_stations stations[2];
    efi_season_store raw[STORES], finished[STORES];
    efi_calendar calendar;
    efi_shift shift;
    efi_timetable time;
    const efi_timetable *times[2];
} season;

static int64_t below(efi_random *random, int count)
{
    return (int64_t)efi_random_below(random, (uint32_t)count);
}

static void draw_lots(season *s, efi_random *random, int lots)
{
    for (int l = 0; l < lots; l++) {
        const int64_t arrives_s = below(random, lots * 6) * HOUR;
        s->lot[l] = (efi_season_lot){.arrives_s = arrives_s,
                                     .due_s = arrives_s + (1 + below(random, 12)) * DAY,
                                     .latest_start_s = below(random, 3) ? EFI_SEASON_NONE
                                                                        : arrives_s + 3 * DAY,
                                     .late_price = 1000 * (10 + below(random, 90)),
                                     .wet_price = 1000 * (10 + below(random, 90)),
                                     .raw_kg = 1000 * (10 + below(random, 50)),
                                     .leaves_s = below(random, 5) * DAY,
                                     .fixed_line = -1,
                                     .fixed_start_s = EFI_SEASON_NONE,
                                     .after = -1};
        s->lot[l].product_kg = s->lot[l].raw_kg * 9 / 10;
        s->work_s[l] = s->lot[l].raw_kg * HOUR / 12000;
        s->work_s[lots + l] = below(random, 9) ? s->lot[l].raw_kg * HOUR / 9000 : EFI_SEASON_NEVER;
    }
}

static void draw_changeovers(season *s, efi_random *random, int lots)
{
    int family[SIDE];
    for (int l = 0; l <= lots; l++)
        family[l] = (int)below(random, FAMILIES);
    for (int i = 0; i <= lots; i++) {
        for (int j = 0; j <= lots; j++) {
            const int at = i * (lots + 1) + j;
            const int steps = i == lots || j == lots ? 0 : family[i] == family[j] ? 1 : 2;
            s->clean_class[at] = (uint16_t)steps;
            s->clean_s[at] = steps * (HOUR / 2) * (1 + (family[i] > family[j]));
            s->clean_price[at] = steps * 30000;
        }
    }
}

/* Few stores, so that some lots find no room. */
static void draw_stores(season *s, efi_random *random)
{
    for (int i = 0; i < STORES; i++) {
        s->raw[i] = (efi_season_store){.holds_kg = 1000 * (15 + below(random, 30)), .clean_s = HOUR};
        s->finished[i] = (efi_season_store){.holds_kg = 1000 * (15 + below(random, 30)), .clean_s = 2 * HOUR};
    }
    s->finished[1].is_shared = s->finished[STORES - 1].is_shared = true;
}

static void add_stations(season *s, efi_random *random, int lots)
{
    for (int line = 0; line < 2; line++) {
        for (int l = 0; l < lots; l++) {
            for (int m = 0; m < STATIONS; m++) {
                const int at = (line * lots + l) * STATIONS + m;
                const int64_t work_s = s->work_s[line * lots + l];
                s->station_work_s[at] = work_s < 0 ? 1 : work_s * (3 + below(random, 2)) / 4;
                s->room_s[at] = work_s < 0 ? 1 : work_s / 8;
            }
        }
        s->stations[line] = (efi_season_stations){STATIONS,
                                                  1,
                                                  s->delay_s,
                                                  s->station_work_s + line * lots * STATIONS,
                                                  s->room_s + line * lots * STATIONS,
                                                  s->station_clean_s};
    }
    for (int k = 0; k < 3 * STATIONS; k++)
        s->station_clean_s[k] = (int64_t)(k / STATIONS) * (HOUR / 4) * (1 + k % STATIONS);
    s->p.stations = s->stations;
    s->p.classes = 3;
    s->p.clean_class = s->clean_class;
}

static void add_passes(season *s, efi_random *random, int lots)
{
    s->p.has_passes = true;
    for (int l = 1; l < lots; l++) {
        if (below(random, 4))
            continue;
        s->lot[l].after = l - 1;
        s->lot[l].after_s = below(random, 4) * DAY;
        s->lot[l].arrives_s = s->lot[l - 1].arrives_s;
        s->lot[l].due_s = s->lot[l - 1].due_s + (4 + below(random, 8)) * DAY;
    }
}

/* 1: stations, 2: passes, 4: restarts, 8: a lot whose start is fixed, 16: an earlier plan */
static void make(season *s, efi_random *random, int lots, int kind)
{
    *s = (season){0};
    s->shift = (efi_shift){.name = "day",
                           .days = {.value = EFI_WEEKDAYS_ALL - 64, .given = true},
                           .from = {.value = 6 * HOUR, .given = true},
                           .to = {.value = 22 * HOUR, .given = true}};
    s->calendar = (efi_calendar){.shifts = &s->shift, .shift_count = 1};
    assert_int_equal(efi_timetable_build(&s->time, &s->calendar, EFI_WHOLE_PLANT, 0, 2 * (int64_t)lots * DAY),
                     EF_OK);
    s->times[0] = s->times[1] = &s->time;
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
                                .restart_s = kind & 4 ? 900 : 0,
                                .raw_price = 5000,
                                .finished_price = 7000};
    draw_lots(s, random, lots);
    draw_changeovers(s, random, lots);
    draw_stores(s, random);
    if (kind & 1)
        add_stations(s, random, lots);
    if (kind & 2)
        add_passes(s, random, lots);
    if (kind & 8) {
        s->lot[5].fixed_line = 0;
        s->work_s[lots + 5] = EFI_SEASON_NEVER;
        s->lot[5].fixed_place = -1;
        s->lot[5].fixed_start_s = s->lot[5].arrives_s + 4 * DAY;
    }
    s->p.move_price = kind & 16 ? 20000 : 0;
    for (int l = 0; l < lots && kind & 16; l++) {
        s->lot[l].was_planned = below(random, 5) > 0;
        s->lot[l].was_line = (int)below(random, 2);
        s->lot[l].was_place = l;
    }
}

static int64_t price_of(const season *s, const efi_season_walk *walk)
{
    int lots[MOST];
    efi_season_order order = {.lot = lots};
    efi_season_cost cost;
    int count = 0;
    for (int line = 0; line < 2; line++) {
        order.first[line] = count;
        memcpy(lots + count, walk->row[line].lot, (size_t)walk->row[line].count * sizeof *lots);
        count += walk->row[line].count;
    }
    order.first[2] = count;
    assert_int_equal(efi_season_evaluate(&s->p, &order, NULL, &cost), EF_OK);
    return cost.total + cost.forbidden * EFI_SEASON_FORBIDDEN_WEIGHT;
}

/* Changes are mostly taken when they cost little, now and then whatever they cost. */
static void value_is_that_of_the_plan(void **state)
{
    (void)state;
    const uint64_t seed = 5003;
    static season s;
    static efi_season_walk walk;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (int kind = 0; kind < 32; kind++) {
        efi_random random = efi_random_stream(seed, (uint64_t)kind, 0);
        efi_season_model model;
        int taken = 0;
        make(&s, &random, 150, kind);
        assert_int_equal(efi_season_model_build(&model, &s.p), EF_OK);
        assert_int_equal(efi_season_walk_build(&walk, &model), EF_OK);
        walk.random = efi_random_stream(seed, (uint64_t)kind, 1);
        efi_season_walk_first(&walk);
        assert_int_equal(walk.value, price_of(&s, &walk));
        for (int change = 0; change < 1500; change++) {
            if (!efi_season_walk_draw(&walk))
                continue;
            const int64_t most = below(&random, 40) == 0 ? INT64_MAX / 2 : walk.value + below(&random, 30000);
            const bool took = efi_season_walk_try(&walk, most);
            assert_true(!took || walk.value <= most);
            if (took && taken++ % 4 == 0)
                assert_int_equal(walk.value, price_of(&s, &walk));
        }
        assert_int_equal(walk.value, price_of(&s, &walk));
        assert_true(taken > 40);
        efi_season_model_free(&model);
        efi_timetable_free(&s.time);
    }
}

/* Long enough to be searched by parts: the same plan with one thread and two, which costs what it is said to,
 * and no more than a shorter search finds. */
static void long_seasons_do_not_depend_on_threads(void **state)
{
    (void)state;
    static season s;
    for (int kind = 0; kind < 8; kind += 4) {
        efi_random random = efi_random_stream(6007, (uint64_t)kind, 0);
        efi_season_settings settings = efi_season_defaults();
        efi_season_result one, two, more;
        make(&s, &random, MOST, kind);
        settings.rounds = 3;
        settings.least_long = 200;
        assert_int_equal(efi_season_solve(&s.p, &settings, &one), EF_OK);
        settings.threads = 2;
        assert_int_equal(efi_season_solve(&s.p, &settings, &two), EF_OK);
        assert_memory_equal(one.lot, two.lot, MOST * sizeof *one.lot);
        assert_int_equal(one.cost.total, two.cost.total);
        settings.rounds = 6;
        assert_int_equal(efi_season_solve(&s.p, &settings, &more), EF_OK);
        assert_int_equal(more.cost.forbidden, 0);
        assert_true(more.cost.total <= one.cost.total);
        assert_true(more.cost.total >= more.bound.total);
        efi_season_result_free(&one);
        efi_season_result_free(&two);
        efi_season_result_free(&more);
        efi_timetable_free(&s.time);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(value_is_that_of_the_plan),
        cmocka_unit_test(long_seasons_do_not_depend_on_threads),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
