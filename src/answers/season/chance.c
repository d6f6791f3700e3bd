/* SPDX-License-Identifier: GPL-3.0-or-later
 * How often each lot is late: the order of the plan in many seasons whose shifts make what simulated ones
 * made.
 *
 * In each season the hours of each lot are drawn by bootstrap: shift after shift of work makes the planned
 * rate times the tonnes of a simulated shift of that crop over their mean, until the lot is through. A lot
 * whose arrival is uncertain comes at a moment between `arrives` and `arrives latest`, each as likely as the
 * other. Every lot of every season has a random stream of its own, so threads do not matter.
 * (B. Efron, Bootstrap methods: another look at the jackknife, Annals of Statistics 7 (1979) 1-26.)
 */
#include "answers/season/order.h"
#include "base/random.h"
#include "base/threads.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    BLOCK = 20,           /* seasons of one job */
    MOST_TIMES_HOURS = 50 /* a lot takes no longer than so many times its planned hours */
};

typedef struct draw {
    const efi_season_case *of;
    const efi_season_worked *worked;
    int seasons;
    float *late_days; /* shape [lots][seasons] */
} draw;

/* ---- one lot --------------------------------------------------------------------------------------------
 */

/* Hours that a lot of planned `work_h` takes. */
static double draw_hours(const efi_crop_rate *rate, double work_h, efi_random *random)
{
    double left_h = work_h;
    double taken_h = 0.0;
    if (rate->factors == 0 || !(rate->shift_h > 0.0))
        return work_h;
    while (taken_h < MOST_TIMES_HOURS * (work_h + rate->shift_h)) {
        const double factor = rate->factor[efi_random_below(random, (uint32_t)rate->factors)];
        const double made_h = rate->shift_h * factor;
        if (made_h >= left_h)
            return taken_h + left_h / factor;
        left_h -= made_h;
        taken_h += rate->shift_h;
    }
    return taken_h;
}

static void draw_lot(const efi_season_case *of, int season, int e, efi_season_lot *lot, int64_t *work_s)
{
    const efi_scenario_lot *from = &of->lots[of->lot_of[e]];
    efi_random random = efi_random_stream(of->settings->seed, (uint64_t)season, (uint64_t)of->lot_of[e]);
    const double u = efi_random_uniform(&random);
    if (lot->has_run)
        return;
    if (from->arrives_latest.moment.given && from->arrives.moment.given) {
        const int64_t first_s = efi_season_to_second(of->scenario, from->arrives.moment.value);
        const int64_t window_s = lot->arrives_s - first_s;
        if (window_s > 0)
            lot->arrives_s = first_s + (int64_t)(u * (double)window_s);
    }
    const efi_random kept = random;
    for (int line = 0; line < of->lines; line++) { /* the same shifts, on whichever line */
        int64_t *mine_s = &work_s[(size_t)line * (size_t)of->problem.lots + (size_t)e];
        random = kept;
        if (*mine_s <= 0)
            continue;
        const double hours = draw_hours(&of->rates->crop[from->crop], efi_hours_of(*mine_s), &random);
        *mine_s = efi_season_whole(hours, EFI_HOUR_S);
        *mine_s = *mine_s > 0 ? *mine_s : 1;
    }
}

/* ---- seasons --------------------------------------------------------------------------------------------
 */

typedef struct season_case {
    efi_season_problem problem;
    efi_season_lot *lot;
    int64_t *work_s;
    efi_season_stations *stations; /* shape [lines]; NULL: all lines are cleared */
    int64_t *station_work_s[EFI_SEASON_MOST_LINES], *station_room_s[EFI_SEASON_MOST_LINES];
    int *order;
    efi_season_run *run;
} season_case;

/* Room for the hours of stations. */
static ef_status copy_stations(const efi_season_problem *p, efi_arena *arena, season_case *c)
{
    if (!p->stations)
        return EF_OK;
    c->stations = efi_arena_get(arena, (size_t)p->lines, sizeof *c->stations);
    if (!c->stations)
        return EF_MEMORY;
    memcpy(c->stations, p->stations, (size_t)p->lines * sizeof *c->stations);
    c->problem.stations = c->stations;
    for (int line = 0; line < p->lines; line++) {
        const size_t count = (size_t)p->lots * (size_t)p->stations[line].stations;
        if (count == 0)
            continue;
        c->station_work_s[line] = efi_arena_get(arena, count, sizeof(int64_t));
        c->station_room_s[line] = efi_arena_get(arena, count, sizeof(int64_t));
        if (!c->station_work_s[line] || !c->station_room_s[line])
            return EF_MEMORY;
        c->stations[line].work_s = c->station_work_s[line];
        c->stations[line].room_s = c->station_room_s[line];
    }
    return EF_OK;
}

/* The hours of stations, and what rooms are worth in them, go with those of the line. */
static void stretch_stations(const efi_season_problem *p, season_case *c)
{
    for (int line = 0; c->stations && line < p->lines; line++) {
        const efi_season_stations *from = &p->stations[line];
        for (int e = 0; e < p->lots && from->stations > 0; e++) {
            const size_t one = (size_t)line * (size_t)p->lots + (size_t)e;
            const double factor = p->work_s[one] > 0 ? (double)c->work_s[one] / (double)p->work_s[one] : 1.0;
            for (int m = 0; m < from->stations; m++) {
                const size_t i = (size_t)e * (size_t)from->stations + (size_t)m;
                const int64_t work_s = llround((double)from->work_s[i] * factor);
                c->station_work_s[line][i] = work_s > 0 ? work_s : 1;
                c->station_room_s[line][i] = (int64_t)((double)from->room_s[i] * factor);
            }
        }
    }
}

static void set_season(const draw *d, int season, season_case *c)
{
    const efi_season_problem *p = &d->of->problem;
    memcpy(c->lot, p->lot, (size_t)p->lots * sizeof *c->lot);
    memcpy(c->work_s, p->work_s, (size_t)p->lots * (size_t)p->lines * sizeof *c->work_s);
    for (int e = 0; e < p->lots; e++)
        draw_lot(d->of, season, e, &c->lot[e], c->work_s);
    stretch_stations(p, c);
}

/* The engine's problem of one season; with stations their hours are stretched like those of the line. */
static ef_status judge_season(const draw *d, int season, season_case *c, efi_season_judge **judge)
{
    const efi_season_problem *p = &d->of->problem;
    efi_season_cost cost;
    efi_season_order order = d->worked->order;
    set_season(d, season, c);
    if (c->stations) { /* what it knows of them is made once */
        efi_season_judge_free(*judge);
        *judge = NULL;
    }
    if (!*judge)
        EF_TRY(efi_season_judge_new(&c->problem, judge));
    else
        EF_TRY(efi_season_judge_again(*judge));
    memcpy(c->order, order.lot, (size_t)p->lots * sizeof *c->order);
    order.lot = c->order;
    EF_TRY(efi_season_judge_order(*judge, &order, c->run, &cost));
    for (int e = 0; e < p->lots; e++)
        d->late_days[(size_t)e * (size_t)d->seasons + (size_t)season] = (float)c->run[e].late_s / EFI_DAY_S;
    return EF_OK;
}

static ef_status run_block(void *context, int index)
{
    const draw *d = context;
    const efi_season_problem *p = &d->of->problem;
    const size_t lots = (size_t)p->lots;
    efi_arena *arena = efi_arena_new();
    efi_season_judge *judge = NULL;
    season_case c = {.problem = *p};
    ef_status status = EF_MEMORY;
    if (arena) {
        c.lot = efi_arena_get(arena, lots, sizeof *c.lot);
        c.work_s = efi_arena_get(arena, lots * (size_t)p->lines, sizeof *c.work_s);
        c.order = efi_arena_get(arena, lots, sizeof *c.order);
        c.run = efi_arena_get(arena, lots, sizeof *c.run);
        c.problem.lot = c.lot;
        c.problem.work_s = c.work_s;
        status = c.lot && c.work_s && c.order && c.run ? copy_stations(p, arena, &c) : EF_MEMORY;
    }
    for (int s = index * BLOCK; status == EF_OK && s < d->seasons && s < (index + 1) * BLOCK; s++)
        status = judge_season(d, s, &c, &judge);
    efi_season_judge_free(judge);
    efi_arena_free(arena);
    return status;
}

/* ---- into the runs --------------------------------------------------------------------------------------
 */

static int by_days(const void *left, const void *right)
{
    const float a = *(const float *)left;
    const float b = *(const float *)right;
    return a < b ? -1 : a > b;
}

static void tell(const draw *d, int e, ef_season_run *run)
{
    float *days = &d->late_days[(size_t)e * (size_t)d->seasons];
    int late = 0;
    for (int s = 0; s < d->seasons; s++)
        late += days[s] > 0.0f;
    qsort(days, (size_t)d->seasons, sizeof *days, by_days);
    run->chance_late = (double)late / d->seasons;
    run->late_days_p90 = (double)days[(d->seasons * 9 + 9) / 10 - 1];
}

ef_status efi_season_fill_chances(const efi_season_case *of, const efi_season_worked *worked,
                                  ef_season *season)
{
    draw d = {.of = of, .worked = worked, .seasons = of->settings->simulated};
    if (d.seasons == 0)
        return EF_OK;
    const int threads = of->settings->threads > 0 ? of->settings->threads : efi_threads_available();
    d.late_days = efi_new((size_t)of->problem.lots * (size_t)d.seasons, sizeof *d.late_days);
    ef_season_run *runs = efi_arena_get(of->arena, (size_t)season->run_count, sizeof *runs);
    ef_status status = d.late_days && runs ? EF_OK : EF_MEMORY;
    if (status == EF_OK)
        status = efi_threads_run(threads, (d.seasons + BLOCK - 1) / BLOCK, run_block, &d);
    for (int r = 0; status == EF_OK && r < season->run_count; r++) {
        const int e = of->now[season->runs[r].lot].engine;
        runs[r] = season->runs[r];
        if (!of->problem.lot[e].has_run && of->problem.lot[e].due_s != EFI_SEASON_NONE)
            tell(&d, e, &runs[r]);
    }
    if (status == EF_OK) {
        season->runs = runs;
        season->seasons_simulated = d.seasons;
    }
    efi_free(d.late_days);
    return status;
}
