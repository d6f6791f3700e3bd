/* SPDX-License-Identifier: GPL-3.0-or-later
 * Small seasons as mixed-integer programs for GLPK (through shared/lp): two lines, changeovers, arrivals, due
 * dates, latest starts, passes, two stations with wide rooms, a calendar of one shift a day. Stores, whose
 * rule is no choice of a program, are checked against all orders elsewhere.
 *
 *   y[k, i, j]  lot j follows lot i on line k (number `lots`: nothing)
 *   r[j]        arrival; s[m, j], e[m, j] start and end of station m, all in minutes of working time
 *   q[j]        with shifts: days that are over when lot j ends
 *
 *   sum over k, i of y[k, i, j] = 1; as many y into j as out of it on each line; one out of nothing each line
 *   s[m, j] >= e[m, i] + c[m, i, j] - M (1 - sum over k of y[k, i, j])
 *   s[0, j] >= r[j] (+ sum of y c[0, i, j] where cleaning waits for the arrival; s[m, j] the same)
 *   s[1, j] >= s[0, j] + d, e[m, j] >= s[m, j] + sum over k of work, e[1, j] >= e[0, j] + d
 *   r[j] >= arrival, r[j] >= e[last, after(j)] + after(j)'s delay
 *   late[j] >= (moment of e[last, j]) - due, wet[j] >= s[0, j] - latest start
 *
 * With shifts from 06:00 to 14:00 the moment of an end e is 6 h + e + 16 h q, q whole, e <= 8 h (q + 1). */
#include "shared/lp/lp.h"
#include "shared/season/season.h"
#include "../lib/season_case.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

enum {
    MOST_ENTRIES = 2 * (MOST + 1) * (MOST + 1)
};

#define FAR_MIN 20000.0

typedef struct program {
    const bench *b;
    efi_lp *lp;
    bool shifts;
    int stations; /* 1 without */
    int y[2][MOST + 1][MOST + 1];
    int r[MOST], s[2][MOST], e[2][MOST];
    efi_lp_entry entry[MOST_ENTRIES];
    int entries;
} program;

static int column(program *p, efi_lp_bounds bounds, double price, bool is_integer)
{
    int number = -1;
    assert_int_equal(efi_lp_add_column(p->lp, NULL, bounds, price, is_integer, &number), EF_OK);
    return number;
}

static void put(program *p, int number, double value)
{
    p->entry[p->entries++] = (efi_lp_entry){number, value};
}

static void row(program *p, efi_lp_bounds bounds)
{
    assert_int_equal(efi_lp_add_row(p->lp, NULL, bounds, p->entry, p->entries, NULL), EF_OK);
    p->entries = 0;
}

static double minutes(int64_t seconds)
{
    return (double)seconds / MINUTE;
}

static double clean_min(const program *p, int station, int from, int to)
{
    const bench *b = p->b;
    const int pair = from * (b->p.lots + 1) + to;
    if (!b->p.stations)
        return minutes(b->clean_s[pair]);
    return minutes(b->station_clean_s[0][b->clean_class[pair] * p->stations + station]);
}

static void add_columns(program *p)
{
    const bench *b = p->b;
    const int lots = b->p.lots;
    for (int k = 0; k < b->p.lines; k++)
        for (int i = 0; i <= lots; i++)
            for (int j = 0; j <= lots; j++) {
                const int pair = i * (lots + 1) + j;
                const bool never = (i == j && i < lots) || (i != j && b->clean_s[pair] < 0) ||
                                   (j < lots && b->work_s[k * lots + j] < 0);
                const double price = i == j ? 0.0 : (double)b->clean_price[pair];
                p->y[k][i][j] = column(p, efi_lp_between(0.0, never ? 0.0 : 1.0), price, true);
            }
    for (int j = 0; j < lots; j++) {
        const double arrives = p->shifts ? minutes(efi_timetable_worked(&b->time[0], 0, b->lot[j].arrives_s))
                                         : minutes(b->lot[j].arrives_s);
        p->r[j] = column(p, efi_lp_at_least(arrives), 0.0, false);
        for (int m = 0; m < p->stations; m++) {
            p->s[m][j] = column(p, efi_lp_at_least(0.0), 0.0, false);
            p->e[m][j] = column(p, efi_lp_at_least(0.0), 0.0, false);
        }
    }
}

/* Each lot once; on each line in as out. */
static void add_flow(program *p)
{
    const bench *b = p->b;
    const int lots = b->p.lots;
    for (int j = 0; j < lots; j++) {
        for (int k = 0; k < b->p.lines; k++)
            for (int i = 0; i <= lots; i++)
                put(p, p->y[k][i][j], 1.0);
        row(p, efi_lp_exactly(1.0));
    }
    for (int k = 0; k < b->p.lines; k++) {
        for (int j = 0; j <= lots; j++)
            put(p, p->y[k][lots][j], 1.0);
        row(p, efi_lp_exactly(1.0));
        for (int j = 0; j < lots; j++) {
            for (int i = 0; i <= lots; i++) {
                put(p, p->y[k][i][j], 1.0);
                put(p, p->y[k][j][i], -1.0);
            }
            row(p, efi_lp_exactly(0.0));
        }
    }
}

/* start >= `base` (a column) + cleaning of what comes before, on an empty line too. */
static void add_cleaning_after(program *p, int start, int base, int station, int j)
{
    const int lots = p->b->p.lots;
    put(p, start, 1.0);
    if (base >= 0)
        put(p, base, -1.0);
    for (int k = 0; k < p->b->p.lines; k++)
        for (int i = 0; i <= lots; i++)
            if (i != j)
                put(p, p->y[k][i][j], -clean_min(p, station, i, j));
    row(p, efi_lp_at_least(0.0));
}

static void add_starts(program *p, int m, int j)
{
    const bench *b = p->b;
    for (int i = 0; i < b->p.lots; i++) {
        if (i == j)
            continue;
        put(p, p->s[m][j], 1.0);
        put(p, p->e[m][i], -1.0);
        for (int k = 0; k < b->p.lines; k++)
            put(p, p->y[k][i][j], -FAR_MIN);
        row(p, efi_lp_at_least(clean_min(p, m, i, j) - FAR_MIN));
    }
    add_cleaning_after(p, p->s[m][j], b->p.cleaned_before_arrival ? -1 : p->r[j], m, j);
    put(p, p->s[m][j], 1.0);
    put(p, m == 0 ? p->r[j] : p->s[m - 1][j], -1.0);
    row(p, efi_lp_at_least(m == 0 ? 0.0 : minutes(b->delay_s[0][m])));
}

static void add_ends(program *p, int m, int j)
{
    const bench *b = p->b;
    put(p, p->e[m][j], 1.0);
    put(p, p->s[m][j], -1.0);
    for (int k = 0; k < b->p.lines; k++)
        for (int i = 0; i <= b->p.lots; i++)
            put(p, p->y[k][i][j],
                b->p.stations ? -minutes(b->station_work_s[k][j * p->stations + m])
                              : -minutes(b->work_s[k * b->p.lots + j]));
    row(p, efi_lp_at_least(0.0));
    if (m == 0)
        return;
    put(p, p->e[m][j], 1.0);
    put(p, p->e[m - 1][j], -1.0);
    row(p, efi_lp_at_least(minutes(b->delay_s[0][m])));
}

static void add_prices(program *p, int j)
{
    const efi_season_lot *lot = &p->b->lot[j];
    const int end = p->e[p->stations - 1][j];
    if (p->b->p.has_passes && lot->after >= 0) {
        put(p, p->r[j], 1.0);
        put(p, p->e[p->stations - 1][lot->after], -1.0);
        row(p, efi_lp_at_least(minutes(lot->after_s)));
    }
    if (lot->due_s != EFI_SEASON_NONE) {
        const int late = column(p, efi_lp_at_least(0.0), (double)lot->late_price / (24 * 60), false);
        put(p, late, 1.0);
        put(p, end, -1.0);
        if (p->shifts) {
            const int days = column(p, efi_lp_between(0.0, 60.0), 0.0, true);
            put(p, days, -16.0 * 60.0);
            row(p, efi_lp_at_least(6.0 * 60.0 - minutes(lot->due_s)));
            put(p, days, 8.0 * 60.0);
            put(p, end, -1.0);
            row(p, efi_lp_at_least(-8.0 * 60.0));
        } else {
            row(p, efi_lp_at_least(-minutes(lot->due_s)));
        }
    }
    if (lot->latest_start_s != EFI_SEASON_NONE && !p->shifts) {
        const int wet = column(p, efi_lp_at_least(0.0), (double)lot->wet_price / (24 * 60), false);
        put(p, wet, 1.0);
        put(p, p->s[0][j], -1.0);
        row(p, efi_lp_at_least(-minutes(lot->latest_start_s)));
    }
}

/* The least cost, or -1: no order is allowed. */
static double solve(const bench *b, bool shifts)
{
    static program p;
    p = (program){.b = b, .lp = efi_lp_new(), .shifts = shifts};
    p.stations = b->p.stations ? b->stations[0].stations : 1;
    assert_non_null(p.lp);
    add_columns(&p);
    add_flow(&p);
    for (int j = 0; j < b->p.lots; j++) {
        for (int m = 0; m < p.stations; m++) {
            add_starts(&p, m, j);
            add_ends(&p, m, j);
        }
        add_prices(&p, j);
    }
    efi_lp_result result;
    assert_int_equal(efi_lp_solve(p.lp, NULL, &result), EF_OK);
    assert_true(result.outcome == EFI_LP_OPTIMAL || result.outcome == EFI_LP_INFEASIBLE);
    efi_lp_free(p.lp);
    return result.outcome == EFI_LP_OPTIMAL ? result.objective : -1.0;
}

/* A season that such a program can say. */
static void make(bench *b, efi_random *random, uint64_t kind)
{
    const bool shifts = kind % 2;
    bench_random(b, random, 3 + (int)(kind % 4 < 2), 1 + (int)(kind % 4 < 2));
    if (!shifts) { /* the same lots around the clock */
        bench around;
        bench_start(&around, b->p.lots, b->p.lines, 40, true);
        for (int line = 0; line < b->p.lines; line++) {
            efi_timetable_free(&b->time[line]);
            b->time[line] = around.time[line];
        }
    }
    b->p.restart_s = 0;
    for (int l = 0; l < b->p.lots; l++) {
        b->lot[l].arrives_s = bench_below(random, 1500) * MINUTE;
        b->lot[l].late_price = 24 * 60 * bench_below(random, 300);
        b->lot[l].wet_price = shifts ? 0 : 24 * 60 * bench_below(random, 300);
        for (int line = 0; line < b->p.lines; line++)
            if (b->work_s[line * b->p.lots + l] > 0)
                b->work_s[line * b->p.lots + l] = (30 + bench_below(random, 500)) * MINUTE;
    }
    if (!shifts && kind % 3 == 0)
        bench_add_passes(b, random);
    if (kind % 5 < 2) {
        bench_add_stations(b, random, 1);
        b->p.cleaned_before_arrival = true;
        const int n = 2;
        for (int line = 0; line < b->p.lines; line++) {
            b->stations[line].stations = b->stations[line].teams = n;
            b->delay_s[line][1] = 10 * MINUTE;
            for (int i = 0; i < b->p.lots * n; i++) {
                b->station_work_s[line][i] = (30 + bench_below(random, 500)) * MINUTE;
                b->room_s[line][i] = 2 * b->station_work_s[line][i];
            }
            for (int i = 0; i < CLASSES * n; i++)
                b->station_clean_s[line][i] = b->station_clean_s[0][i] = line ? b->station_clean_s[0][i]
                                                                              : bench_below(random, 150) *
                                                                                    MINUTE;
        }
    }
}

static void seasons_as_programs(void **state)
{
    (void)state;
    const uint64_t seed = 3300;
    int solved = 0;
    double sum = 0.0;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (uint64_t i = 0; i < 30; i++) {
        efi_random random = efi_random_stream(seed, i, 0);
        static bench b;
        make(&b, &random, i);
        const double least = solve(&b, i % 2);
        efi_season_result result = bench_solve(&b, 1, 1, 10);
        assert_int_equal(result.cost.forbidden > 0, least < 0.0);
        if (least >= 0.0) {
            assert_true((double)result.cost.total <= least + 0.5 && (double)result.cost.total >= least - 0.5);
            sum += least;
            solved++;
        }
        efi_season_result_free(&result);
        bench_end(&b);
    }
    efi_lp_thread_end();
    print_message("%d of 30 have an order that is allowed; they cost %.0f on average\n", solved,
                  sum / solved);
    assert_true(solved > 15 && sum > 1000.0 * solved);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(seasons_as_programs),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
