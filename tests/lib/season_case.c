/* SPDX-License-Identifier: GPL-3.0-or-later
 * Small seasons for tests. */
#include "season_case.h"

#include "base/memory.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

/* `days` days of work from 06:00 to 14:00, every day of the week, from hour 0 on; `open`: around the clock.
 */
void bench_start(bench *b, int lots, int lines, int days, bool open)
{
    memset(b, 0, sizeof *b);
    const int64_t from[] = {open ? 0 : 6 * HOUR, 12 * HOUR};
    const int64_t to[] = {open ? 12 * HOUR : 14 * HOUR, 0};
    for (int i = 0; i < 2; i++)
        b->shift[i] = (efi_shift){.name = i == 0 ? "day" : "night",
                                  .days = {.value = EFI_WEEKDAYS_ALL, .given = true},
                                  .from = {.value = from[i], .given = true},
                                  .to = {.value = to[i], .given = true}};
    b->calendar = (efi_calendar){.shifts = b->shift, .shift_count = open ? 2 : 1};
    for (int line = 0; line < lines; line++) {
        b->time[line] = (efi_timetable){0};
        assert_int_equal(
            efi_timetable_build(&b->time[line], &b->calendar, EFI_WHOLE_PLANT, 0, (int64_t)days * DAY),
            EF_OK);
        b->times[line] = &b->time[line];
    }
    b->p = (efi_season_problem){.lots = lots,
                                .lines = lines,
                                .lot = b->lot,
                                .work_s = b->work_s,
                                .time = b->times,
                                .clean_s = b->clean_s,
                                .clean_price = b->clean_price,
                                .raw = b->raw,
                                .finished = b->finished};
    for (int l = 0; l < lots; l++)
        b->lot[l] = (efi_season_lot){.due_s = EFI_SEASON_NONE,
                                     .latest_start_s = EFI_SEASON_NONE,
                                     .fixed_line = -1,
                                     .fixed_start_s = EFI_SEASON_NONE};
    for (int i = 0; i < lines * lots; i++)
        b->work_s[i] = HOUR;
}

void bench_end(bench *b)
{
    for (int line = 0; line < b->p.lines; line++)
        efi_timetable_free(&b->time[line]);
}

efi_season_cost bench_evaluate(const bench *b, const int *lots, int first_line, efi_season_run *run)
{
    int copy[MOST] = {0};
    efi_season_cost cost;
    memcpy(copy, lots, (size_t)b->p.lots * sizeof *copy);
    efi_season_order order = {.lot = copy, .first = {0, first_line, b->p.lots}};
    order.first[b->p.lines] = b->p.lots;
    assert_int_equal(efi_season_evaluate(&b->p, &order, run, &cost), EF_OK);
    return cost;
}

bool bench_works(const bench *b, int64_t second)
{
    return efi_time_works(efi_calendar_at(&b->calendar, EFI_WHOLE_PLANT, second).state);
}

int64_t bench_below(efi_random *random, int count)
{
    return (int64_t)efi_random_below(random, (uint32_t)count);
}

void bench_random(bench *b, efi_random *random, int lots, int lines)
{
    bench_start(b, lots, lines, 120, false);
    b->p.restart_s = bench_below(random, 2) * 20 * MINUTE;
    b->p.cleaned_before_arrival = bench_below(random, 2) == 0;
    for (int l = 0; l < lots; l++) {
        efi_season_lot *lot = &b->lot[l];
        for (int line = 0; line < lines; line++)
            b->work_s[line * lots + l] = (30 + bench_below(random, 900)) * MINUTE;
        lot->arrives_s = bench_below(random, 5000) * MINUTE;
        lot->due_s = bench_below(random, 4) ? lot->arrives_s + bench_below(random, 6000) * MINUTE
                                            : EFI_SEASON_NONE;
        lot->latest_start_s = bench_below(random, 3) ? EFI_SEASON_NONE
                                                     : lot->arrives_s + bench_below(random, 3000) * MINUTE;
        lot->late_price = DAY * bench_below(random, 10); /* so that whole seconds have whole prices */
        lot->wet_price = DAY * bench_below(random, 10);
    }
    if (lines > 1 && bench_below(random, 2))
        b->work_s[bench_below(random, lots)] = EFI_SEASON_NEVER;
    for (int i = 0; i < (lots + 1) * (lots + 1); i++) {
        b->clean_s[i] = bench_below(random, 8) ? bench_below(random, 150) * MINUTE : EFI_SEASON_NEVER;
        b->clean_price[i] = bench_below(random, 40) * 10000;
    }
}

void bench_add_stores(bench *b, efi_random *random)
{
    b->p.raws = b->p.finisheds = 2;
    b->p.has_raw = b->p.has_finished = true;
    b->p.raw_price = b->p.finished_price = 5000;
    for (int s = 0; s < 2; s++) {
        b->raw[s] = (efi_season_store){.holds_kg = 1000 * (10 + bench_below(random, 50)), .clean_s = HOUR};
        b->finished[s] = (efi_season_store){.holds_kg = 1000 * (10 + bench_below(random, 50)),
                                            .is_shared = s == 1};
    }
    for (int l = 0; l < b->p.lots; l++) {
        b->lot[l].raw_kg = 1000 * (5 + bench_below(random, 60));
        b->lot[l].product_kg = b->lot[l].raw_kg * 9 / 10;
        b->lot[l].leaves_s = bench_below(random, 10) * DAY;
    }
}

void bench_add_overtime(bench *b)
{
    b->p.overtime_price = HOUR;
    for (int line = 0; line < b->p.lines; line++)
        for (int i = 0; i < b->time[line].count; i++)
            if (b->time[line].items[i].state == EFI_TIME_SHIFT && i % 5 > 2)
                b->time[line].items[i].state = EFI_TIME_OVERTIME;
}

void bench_add_passes(bench *b, efi_random *random)
{
    b->p.has_passes = true;
    for (int l = 0; l < b->p.lots; l++) {
        const bool waits = l > 0 && bench_below(random, 2);
        b->lot[l].after = waits ? (int)bench_below(random, l) : -1;
        b->lot[l].after_s = waits ? bench_below(random, 2000) * MINUTE : 0;
    }
}

void bench_add_stations(bench *b, efi_random *random, int most)
{
    const int side = b->p.lots + 1;
    b->p.stations = b->stations;
    b->p.classes = CLASSES;
    b->p.clean_class = b->clean_class;
    for (int i = 0; i < side * side; i++)
        b->clean_class[i] = (uint16_t)bench_below(random, CLASSES);
    for (int line = 0; line < b->p.lines; line++) {
        const int n = 1 + (int)bench_below(random, most);
        b->stations[line] = (efi_season_stations){.stations = n,
                                                  .teams = 1 + (int)bench_below(random, n),
                                                  .delay_s = b->delay_s[line],
                                                  .work_s = b->station_work_s[line],
                                                  .room_s = b->room_s[line],
                                                  .clean_s = b->station_clean_s[line]};
        for (int m = 0; m < n; m++)
            b->delay_s[line][m] = bench_below(random, 2) * bench_below(random, 30) * MINUTE;
        for (int i = 0; i < b->p.lots * n; i++) {
            const int64_t part_s = (1 + bench_below(random, 40)) * MINUTE;
            b->station_work_s[line][i] = PARTS * part_s;
            b->room_s[line][i] = bench_below(random, PARTS + 4) * bench_below(random, 2) * part_s;
        }
        for (int i = 0; i < CLASSES * n; i++)
            b->station_clean_s[line][i] = bench_below(random, 3) ? bench_below(random, 120) * MINUTE : 0;
    }
}

/* Tells `visit` of all orders of lots from place `from` on, and all ways to part them over the lines. */
typedef struct search {
    const bench *b;
    int64_t best;          /* total and forbidden */
    efi_season_cost least; /* by term, of orders in which nothing is forbidden */
    bool found;            /* one of those */
} search;

static int64_t lesser(int64_t a, int64_t b)
{
    return a < b ? a : b;
}

static void look_at(search *s, const int *lots, int first)
{
    const bench *b = s->b;
    for (int i = 0; i < b->p.lots; i++)
        if (b->work_s[(i < first ? 0 : b->p.lots) + lots[i]] < 0)
            return;
    int copy[MOST] = {0};
    efi_season_cost cost;
    memcpy(copy, lots, (size_t)b->p.lots * sizeof *copy);
    efi_season_order order = {.lot = copy, .first = {0, first, b->p.lots}};
    order.first[b->p.lines] = b->p.lots;
    if (efi_season_evaluate(&b->p, &order, NULL, &cost) == EF_USAGE) /* a fixed lot out of its place */
        return;
    const int64_t price = cost.total + ((int64_t)cost.forbidden << 40);
    s->best = price < s->best ? price : s->best;
    if (cost.forbidden > 0)
        return;
    const efi_season_cost *least = s->found ? &s->least : &cost;
    s->least = (efi_season_cost){.cleaning = lesser(cost.cleaning, least->cleaning),
                                 .late = lesser(cost.late, least->late),
                                 .wet = lesser(cost.wet, least->wet),
                                 .overtime = lesser(cost.overtime, least->overtime),
                                 .raw = lesser(cost.raw, least->raw),
                                 .finished = lesser(cost.finished, least->finished),
                                 .total = lesser(cost.total, least->total)};
    s->found = true;
}

static void look_at_all(search *s, int *lots, int from)
{
    const int count = s->b->p.lots;
    if (from == count) {
        for (int first = s->b->p.lines == 1 ? count : 0; first <= count; first++)
            look_at(s, lots, first);
        return;
    }
    for (int i = from; i < count; i++) {
        const int kept = lots[from];
        lots[from] = lots[i];
        lots[i] = kept;
        look_at_all(s, lots, from + 1);
        lots[i] = lots[from];
        lots[from] = kept;
    }
}

static search look(const bench *b)
{
    search s = {.b = b, .best = INT64_MAX};
    int lots[MOST];
    for (int l = 0; l < b->p.lots; l++)
        lots[l] = l;
    look_at_all(&s, lots, 0);
    return s;
}

int64_t bench_least(const bench *b)
{
    return look(b).best;
}

bool bench_least_terms(const bench *b, efi_season_cost *least)
{
    const search s = look(b);
    *least = s.least;
    return s.found;
}

efi_season_result bench_solve(const bench *b, uint64_t seed, int threads, int rounds)
{
    efi_season_settings settings = efi_season_defaults();
    efi_season_result result = {0};
    settings.seed = seed;
    settings.threads = threads;
    settings.rounds = rounds;
    assert_int_equal(efi_season_solve(&b->p, &settings, &result), EF_OK);
    return result;
}
