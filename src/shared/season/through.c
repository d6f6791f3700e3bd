/* SPDX-License-Identifier: GPL-3.0-or-later
 * What one more lot does to a line that is cleaned station by station.
 *
 * Within a lot, let T_m(x) be the moment at which station m has passed its part x, 0 <= x <= 1, f(m) the part
 * that the room between m and m + 1 holds, D(m) the delays from the first station. The least T with
 *
 *   T_m(0) >= start_m,  T_m(y) - T_m(x) >= (y - x) t(m) for y >= x,
 *   T_m(x) >= T_(m-1)(x) + D(m) - D(m-1),
 *   T_m(x) >= T_(m+1)(x - f(m)) - (D(m+1) - D(m)) for x >= f(m)
 *
 * is the longest way to (m, x) from any (k, 0): along x at t(j) in station j, to the next station at no cost
 * but the delay, and back from m + 1 to m against a gain of f(m) in x. Of a way to x = 1 what counts is which
 * stations it visits and how much x is left to be worked off in the slowest of them: so it goes straight from
 * k to some j, works there, and on to m. Hence
 *
 *   end_m = max over k of start_k + D(m) - D(k) + max over j of (1 - F(k, j, m)) t(j),
 *
 * F the sum of f over the stations passed backwards, F <= 1. The inner maximum depends on the lot alone.
 */
#include "shared/season/model.h"

/* A sum of shares is 1 when it is within this of it. */
#define ROUNDING 1e-9

static bool is_good(const efi_season_model *model, int line)
{
    const efi_season_problem *p = model->problem;
    const efi_season_stations *s = &p->stations[line];
    if (s->stations < 0 || s->stations > EFI_SEASON_MOST_STATIONS)
        return false;
    if (s->stations == 0)
        return true;
    if (s->teams < 1 || p->classes < 1 || !p->clean_class)
        return false;
    const size_t stations = (size_t)s->stations;
    for (size_t m = 1; m < stations; m++)
        if (s->delay_s[m] < 0 || s->delay_s[m] > EFI_SEASON_MOST)
            return false;
    for (size_t l = 0; l < (size_t)p->lots; l++)
        for (size_t m = 0; m < stations && p->work_s[(size_t)line * (size_t)p->lots + l] >= 0; m++)
            if (s->work_s[l * stations + m] < 1 || s->work_s[l * stations + m] > EFI_SEASON_MOST ||
                (m + 1 < stations &&
                 (s->room_s[l * stations + m] < 0 || s->room_s[l * stations + m] > EFI_SEASON_MOST)))
                return false;
    for (size_t i = 0; i < (size_t)p->classes * stations; i++)
        if (s->clean_s[i] < 0 || s->clean_s[i] > EFI_SEASON_MOST)
            return false;
    return true;
}

/* F on the way from station k to j: what is passed backwards. */
static double held(const double *share, int k, int j)
{
    double sum = 0.0;
    for (int m = j; m < k; m++)
        sum += share[m];
    return sum;
}

static void fill_least(const efi_season_stations *s, int lot, int64_t *least_s)
{
    const int n = s->stations;
    double share[EFI_SEASON_MOST_STATIONS] = {0};
    const int64_t *work_s = s->work_s + (size_t)lot * (size_t)n;
    const int64_t *room_s = s->room_s + (size_t)lot * (size_t)n;
    for (int m = 0; m + 1 < n; m++)
        share[m] = (double)room_s[m] / (double)work_s[m];
    for (int k = 0; k < n; k++) {
        for (int m = 0; m < n; m++) {
            int64_t most_s = -1;
            for (int j = 0; j < n; j++) {
                const double left = 1.0 - (held(share, k, j) + held(share, j, m));
                const int64_t mine_s = left >= -ROUNDING ? (int64_t)(left * (double)work_s[j] + 0.5) : -1;
                most_s = mine_s > most_s ? mine_s : most_s;
            }
            least_s[k * n + m] = most_s;
        }
    }
}

ef_status efi_season_through_build(efi_season_model *model, int line)
{
    const efi_season_problem *p = model->problem;
    efi_season_through *through = &model->through[line];
    *through = (efi_season_through){0};
    if (!p->stations)
        return EF_OK;
    if (!is_good(model, line))
        return EF_USAGE;
    const efi_season_stations *s = &p->stations[line];
    const size_t square = (size_t)s->stations * (size_t)s->stations;
    through->stations = s->stations;
    through->teams = s->teams < s->stations ? s->teams : s->stations;
    through->clean_s = s->clean_s;
    for (int m = 1; m < s->stations; m++)
        through->delay_s[m] = through->delay_s[m - 1] + s->delay_s[m];
    if (s->stations == 0)
        return EF_OK;
    through->least_s = efi_arena_get(model->arena, square * (size_t)p->lots, sizeof *through->least_s);
    if (!through->least_s)
        return EF_MEMORY;
    for (int l = 0; l < p->lots; l++)
        if (p->work_s[(size_t)line * (size_t)p->lots + (size_t)l] > 0)
            fill_least(s, l, through->least_s + square * (size_t)l);
    return EF_OK;
}

/* ---- cleaning -------------------------------------------------------------------------------------------
 */

/* What is cleaned when. */
typedef struct cleaning {
    int64_t from_w[EFI_SEASON_MOST_STATIONS], to_w[EFI_SEASON_MOST_STATIONS];
    int64_t first_w, last_w; /* of all; both 0 without any */
} cleaning;

/* The team that is free first takes on a station; the list stays sorted. */
static int64_t take_team(int64_t *team_w, int teams, int64_t asked_w, int64_t clean_s)
{
    const int64_t from_w = team_w[0] > asked_w ? team_w[0] : asked_w;
    int place = 0;
    for (; place + 1 < teams && team_w[place + 1] < from_w + clean_s; place++)
        team_w[place] = team_w[place + 1];
    team_w[place] = from_w + clean_s;
    return from_w;
}

static void clean(const efi_season_through *t, const int64_t *clean_s, int64_t arrives_w,
                  efi_season_depth *depth, cleaning *c)
{
    int order[EFI_SEASON_MOST_STATIONS];
    int count = 0;
    c->first_w = c->last_w = 0;
    for (int m = 0; m < t->stations; m++) {
        c->from_w[m] = c->to_w[m] = depth->end_w[m] > arrives_w ? depth->end_w[m] : arrives_w;
        if (clean_s[m] == 0)
            continue;
        int place = count++;
        for (; place > 0 && c->from_w[order[place - 1]] > c->from_w[m]; place--)
            order[place] = order[place - 1];
        order[place] = m;
    }
    for (int i = 0; i < count; i++) {
        const int m = order[i];
        c->from_w[m] = take_team(depth->team_w, t->teams, c->from_w[m], clean_s[m]);
        c->to_w[m] = c->from_w[m] + clean_s[m];
        c->first_w = i == 0 || c->from_w[m] < c->first_w ? c->from_w[m] : c->first_w;
        c->last_w = c->to_w[m] > c->last_w ? c->to_w[m] : c->last_w;
    }
}

/* ---- running --------------------------------------------------------------------------------------------
 */

static void find_starts(const efi_season_through *t, const efi_season_hot *hot, int64_t arrives_w,
                        const cleaning *c, int64_t start_w[EFI_SEASON_MOST_STATIONS])
{
    start_w[0] = c->to_w[0] > arrives_w ? c->to_w[0] : arrives_w;
    if (hot->fixed_w >= 0 && !(hot->is_loose && c->to_w[0] > hot->fixed_w))
        start_w[0] = hot->fixed_w;
    else if (hot->is_loose)
        start_w[0] = c->to_w[0];
    for (int m = 1; m < t->stations; m++) {
        const int64_t fed_w = start_w[m - 1] + t->delay_s[m] - t->delay_s[m - 1];
        start_w[m] = c->to_w[m] > fed_w ? c->to_w[m] : fed_w;
    }
}

static void find_ends(const efi_season_model *model, const efi_season_step *step,
                      const int64_t start_w[EFI_SEASON_MOST_STATIONS], efi_season_depth *depth)
{
    const efi_season_through *t = &model->through[step->line];
    const efi_season_clock *clock = &model->clock[step->line];
    const int n = t->stations;
    const int64_t restart_s = model->problem->restart_s;
    const int64_t *least_s = t->least_s + (size_t)step->lot * (size_t)n * (size_t)n;
    for (int m = 0; m < n; m++) {
        int64_t end_w = m > 0 ? depth->end_w[m - 1] + t->delay_s[m] - t->delay_s[m - 1] : 0;
        for (int k = 0; k < n; k++) {
            const int64_t from_w = start_w[k] + t->delay_s[m] - t->delay_s[k];
            const int64_t most_s = least_s[k * n + m];
            if (most_s < 0)
                continue;
            const int64_t mine_w = restart_s == 0
                                       ? from_w + most_s
                                       : efi_season_clock_add(clock, from_w, most_s, restart_s, NULL);
            end_w = mine_w > end_w ? mine_w : end_w;
        }
        depth->end_w[m] = end_w;
    }
}

static efi_season_over over_after(const efi_season_clock *clock, int64_t before_w, int64_t from_w,
                                  int64_t to_w)
{
    from_w = from_w > before_w ? from_w : before_w;
    return to_w > from_w ? efi_season_clock_between(clock, from_w, to_w) : (efi_season_over){0};
}

/* Overtime from the first to the last of cleaning and of work, each hour once, after the lot before has
 * ended; a lot with a fixed start is counted in full. */
static efi_season_over overtime(const efi_season_clock *clock, const cleaning *c, const efi_season_when *when,
                                int64_t before_w)
{
    const bool cleans = c->last_w > c->first_w;
    const int64_t before_run_w = when->is_fixed ? 0 : before_w;
    if (cleans && !when->is_fixed && when->start_w <= c->last_w)
        return over_after(clock, before_w, c->first_w < when->start_w ? c->first_w : when->start_w,
                          when->end_w);
    const efi_season_over run = over_after(clock, before_run_w, when->start_w, when->end_w);
    return cleans ? efi_season_over_add(over_after(clock, before_w, c->first_w, c->last_w), run) : run;
}

static void tell(const efi_season_model *model, const efi_season_step *step, const cleaning *c,
                 const int64_t start_w[EFI_SEASON_MOST_STATIONS], const efi_season_depth *depth,
                 efi_season_run *run)
{
    const efi_season_clock *clock = &model->clock[step->line];
    *run = (efi_season_run){0};
    if (c->last_w > c->first_w) {
        run->clean_from_s = efi_season_clock_begin(clock, c->first_w);
        run->clean_to_s = efi_season_clock_end(clock, c->last_w);
    } else {
        run->clean_from_s = run->clean_to_s = efi_season_clock_end(clock, c->to_w[0]);
    }
    for (int m = 0; m < model->through[step->line].stations; m++) {
        run->station_clean_s[m] = efi_season_clock_begin(clock, c->from_w[m]);
        run->station_start_s[m] = efi_season_clock_begin(clock, start_w[m]);
        run->station_end_s[m] = efi_season_clock_end(clock, depth->end_w[m]);
    }
}

void efi_season_pass(const efi_season_model *model, const efi_season_step *step, efi_season_state *state,
                     efi_season_depth *depth, efi_season_moment *moment, efi_season_run *run)
{
    const efi_season_problem *p = model->problem;
    const efi_season_through *t = &model->through[step->line];
    const efi_season_clock *clock = &model->clock[step->line];
    const efi_season_hot *hot = &model->hot[step->line][step->lot];
    static const int64_t none[EFI_SEASON_MOST_STATIONS] = {0};
    const int row = efi_season_setup_of(model, step->line, state->last, step->lot)->row;
    const int64_t *clean_s = row < 0 ? none : t->clean_s + (size_t)row * (size_t)t->stations;
    cleaning c;
    int64_t start_w[EFI_SEASON_MOST_STATIONS];
    clean(t, clean_s, p->cleaned_before_arrival || hot->is_loose ? 0 : step->arrives_w, depth, &c);
    find_starts(t, hot, step->arrives_w, &c, start_w);
    find_ends(model, step, start_w, depth);
    efi_season_when when = {.start_w = start_w[0],
                            .end_w = depth->end_w[t->stations - 1],
                            .fed_w = depth->end_w[0],
                            .is_fixed = hot->fixed_w >= 0,
                            .misses = hot->is_loose && start_w[0] > hot->fixed_w};
    if (model->has_overtime || run)
        when.over = overtime(clock, &c, &when, state->at_w);
    if (run) {
        tell(model, step, &c, start_w, depth, run);
        if (t->stations == 1)
            (void)efi_season_clock_add(clock, when.start_w, t->least_s[step->lot], p->restart_s,
                                       &run->restarts);
        else
            (void)efi_season_clock_add(clock, when.start_w, when.end_w - when.start_w, 0, &run->restarts);
    }
    state->holds = false; /* a lot may enter later stations earlier */
    efi_season_settle(model, step, &when, state, moment, run);
}
