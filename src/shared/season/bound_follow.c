/* SPDX-License-Identifier: GPL-3.0-or-later
 * A bound of cleaning, lateness, wet lots and raw material without room together, from what follows what.
 *
 * On its line each lot comes right after another one or first. Right after lot i, lot j starts no sooner than
 * i can have ended, even if i ran as soon as it came, and the cleaning between them is done; so the pair has
 * a price c(i, j): the changeover, and what j is then late and past its latest start at least. A lot that is
 * due early does not follow one that comes late. A plan for L lines is L ways at most through all lots. Such
 * ways are an arborescence from "nothing" in which each lot has one lot or the end after it. That last
 * condition is taken into the price with multipliers v(i) of either sign, the number of ways with w >= 0:
 *
 *   plan >= least arborescence of c(i, j) + v(i), c(nothing, j) + w
 *           + the least sum of c(i, end) + v(i) over 1 .. L lots i - sum of v - L w,
 *
 * which any v and w make a bound; ascent along subgradients finds good ones (M. Held and R. M. Karp, The
 * traveling-salesman problem and minimum spanning trees, Operations Research 18, 1970, 1138-1162, and part
 * II, Mathematical Programming 1, 1971, 6-25). It begins with the duals of the assignment problem.
 *
 * Raw material. Let W be the lots that wait at a moment, longer than `straight_s` since they came. For any
 * theta > 0 what has no room of them is at least
 *
 *   sum over W of min(kg, theta) - sum over stores of min(what they hold, theta):
 *
 * a lot in stores of which one holds theta or more takes off no more than those stores do; another one has at
 * least kg - (what its stores hold) without room. The price of that, times a share 0 .. 1 for each stretch of
 * time, is at most what the plan pays. It is a price for each lot to wait, which goes into c(i, j) from when
 * j comes to when it starts at least, less a constant: the shares are multipliers like v. */
#include "shared/season/bound.h"
#include "shared/sequence/arborescence.h"
#include "shared/sequence/assignment.h"

#include <string.h>

enum {
    MOST_LOTS = 800,   /* beyond, nothing is said: time and memory grow with the square */
    WORK = 12000000,   /* rounds times pairs */
    MOST_ROUNDS = 300, /* without and with stores, each */
    PATIENCE = 6,      /* rounds without gain before steps become shorter */
    STRETCHES = 128,   /* of time */
    MINUTE_S = 60
};

#define FAR        (INT64_C(1) << 48)
#define HOPED      0.05 /* what the ascent aims at above where it stands, as a share */
#define SHORTER    0.7
#define LEAST_STEP 0.01

typedef struct follow {
    const efi_season_model *model;
    const efi_season_hope *hope;
    int lots;
    int64_t *price; /* shape [to][from], from `lots`: nothing */
    int32_t *start; /* the same: no sooner does `to` start, minutes after `zero_s` */
    int64_t *last;  /* shape [lots]: price of the changeover after it */
    int64_t *turn;  /* shape [lots]: v */
    int64_t ways;   /* w */
    int *from;      /* shape [lots]: the arborescence */
    int *degree;    /* shape [lots + 1]: what comes after each, the end included */
    bool *ends;     /* shape [lots] */
    int64_t zero_s, stretch_s;
    int64_t theta_kg, room_kg;
    int64_t *kg;                  /* shape [lots]: min(kg, theta) of a lot that counts, else 0 */
    double share[STRETCHES];      /* of time: money for a kg and minute */
    double before[STRETCHES + 1]; /* the same summed up over time */
    bool stores;                  /* are looked at */
    efi_arborescence *tree;
} follow;

/* ---- prices of pairs ------------------------------------------------------------------------------------
 */

/* Working time of a line at which lot `from` lets the next one in, no sooner; of `lots`: nothing. */
static int64_t gone_w(const follow *f, int line, int from)
{
    const efi_season_model *model = f->model;
    if (from == f->lots || model->hot[line][from].has_run)
        return 0;
    const efi_season_hot *hot = &model->hot[line][from];
    const efi_season_through *t = &model->through[line];
    const size_t n = (size_t)t->stations;
    const int64_t start_w = hot->fixed_w >= 0
                                ? hot->fixed_w
                                : efi_season_clock_work(&model->clock[line], f->hope[from].arrives_s);
    if (n == 0)
        return start_w + hot->work_s;
    const int64_t least_s = t->least_s[(size_t)from * n * n];
    return start_w + (least_s > 0 ? least_s : 0);
}

static bool is_placed(const efi_season_lot *lot)
{
    return lot->fixed_line >= 0 && lot->fixed_place >= 0;
}

/* Must `to` wait for `from`, or for one that waits for it? */
static bool waits_for(const efi_season_problem *p, int to, int from)
{
    for (int at = p->has_passes ? p->lot[to].after : -1; at >= 0; at = p->lot[at].after)
        if (at == from)
            return true;
    return false;
}

/* The first place of lots with places on a line; -1: none. */
static int first_place(const efi_season_problem *p, int line)
{
    int first = -1;
    for (int l = 0; l < p->lots; l++)
        if (is_placed(&p->lot[l]) && p->lot[l].fixed_line == line &&
            (first < 0 || p->lot[l].fixed_place < first))
            first = p->lot[l].fixed_place;
    return first;
}

static bool may_run(const follow *f, int line, int lot)
{
    const int fixed = f->model->problem->lot[lot].fixed_line;
    return f->model->hot[line][lot].work_s > 0 && (fixed < 0 || fixed == line);
}

/* May `to` come right after `from` on a line? `place`: the first place there. */
static bool may_follow(const follow *f, int line, int from, int to, int place)
{
    const efi_season_problem *p = f->model->problem;
    const bool placed = is_placed(&p->lot[to]);
    if (from == to || !may_run(f, line, to))
        return false;
    if (from == f->lots)
        return place < 0 || (placed && p->lot[to].fixed_place == place);
    if (!may_run(f, line, from) || waits_for(p, from, to))
        return false;
    return !placed || (is_placed(&p->lot[from]) && p->lot[from].fixed_place <= p->lot[to].fixed_place);
}

/* What a line does to lot `to`, of which `arrives_w` is the working time before its arrival. */
typedef struct pair {
    int line, from, to;
    int64_t gone_w, arrives_w;
} pair;

/* Start and end at least; false: its fixed start is missed, or it does not fit into the calendar. */
static bool times_of(const follow *f, const pair *at, int64_t *start_s, int64_t *end_s)
{
    const efi_season_model *model = f->model;
    const efi_season_problem *p = model->problem;
    const efi_season_hot *hot = &model->hot[at->line][at->to];
    const efi_season_clock *clock = &model->clock[at->line];
    const efi_season_through *t = &model->through[at->line];
    const efi_season_setup *setup = efi_season_setup_of(model, at->line, at->from, at->to);
    const int64_t cleaned_s = t->stations == 0  ? setup->clean_s
                              : setup->row >= 0 ? t->clean_s[(size_t)setup->row * (size_t)t->stations]
                                                : 0;
    int64_t start_w = at->gone_w;
    if (!p->cleaned_before_arrival && !hot->is_loose && at->arrives_w > start_w)
        start_w = at->arrives_w;
    start_w += cleaned_s;
    if (hot->is_loose && start_w > hot->fixed_w)
        return false;
    if (hot->fixed_w >= 0)
        start_w = hot->fixed_w;
    else if (at->arrives_w > start_w)
        start_w = at->arrives_w;
    const int64_t end_w = efi_season_alone_end_w(model, at->line, at->to, start_w);
    if (end_w > clock->work_s)
        return false;
    *start_s = hot->fixed_w >= 0 ? p->lot[at->to].fixed_start_s : efi_season_clock_begin(clock, start_w);
    *end_s = efi_season_clock_end(clock, end_w);
    return true;
}

/* Takes a line into account in the price of a pair. */
static void price_on(const follow *f, const pair *at, int64_t *price, int64_t *least_s)
{
    const efi_season_hot *hot = &f->model->hot[at->line][at->to];
    int64_t mine = efi_season_setup_of(f->model, at->line, at->from, at->to)->value;
    int64_t start_s = INT64_MIN;
    int64_t end_s = INT64_MIN;
    if (mine >= EFI_SEASON_FORBIDDEN_WEIGHT || (!hot->has_run && !times_of(f, at, &start_s, &end_s)))
        return;
    if (end_s > hot->due_s)
        mine += efi_season_scale(end_s - hot->due_s, hot->late_price, EFI_SEASON_DAY_S);
    if (start_s > hot->latest_start_s)
        mine += efi_season_scale(start_s - hot->latest_start_s, hot->wet_price, EFI_SEASON_DAY_S);
    *price = mine < *price ? mine : *price;
    *least_s = start_s < *least_s ? start_s : *least_s;
}

static void price_line(const follow *f, int line, const int64_t *gone, int64_t *least_s)
{
    const efi_season_clock *clock = &f->model->clock[line];
    const size_t side = (size_t)f->lots + 1;
    const int place = first_place(f->model->problem, line);
    for (int to = 0; to < f->lots; to++) {
        pair at = {.line = line, .to = to};
        at.arrives_w = efi_season_clock_work(clock, f->hope[to].arrives_s);
        for (int from = 0; from <= f->lots; from++) {
            const size_t i = (size_t)to * side + (size_t)from;
            at.from = from;
            at.gone_w = gone[from];
            if (may_follow(f, line, from, to, place))
                price_on(f, &at, &f->price[i], &least_s[i]);
        }
        const int64_t close = efi_season_setup_of(f->model, line, to, f->lots)->value;
        if (may_run(f, line, to) && close < f->last[to] && close < EFI_SEASON_FORBIDDEN_WEIGHT)
            f->last[to] = close;
    }
}

/* All pairs, over the lines on which each costs least. */
static ef_status price_all(follow *f)
{
    const size_t side = (size_t)f->lots + 1;
    const size_t cells = side * (size_t)f->lots;
    int64_t *gone = efi_new(side, sizeof *gone);
    int64_t *least_s = efi_new(cells, sizeof *least_s);
    if (gone && least_s) {
        for (size_t i = 0; i < cells; i++) {
            f->price[i] = FAR;
            least_s[i] = INT64_MAX;
        }
        for (int l = 0; l < f->lots; l++)
            f->last[l] = FAR;
        for (int line = 0; line < f->model->problem->lines; line++) {
            for (int from = 0; from <= f->lots; from++)
                gone[from] = from < f->lots && !may_run(f, line, from) ? 0 : gone_w(f, line, from);
            price_line(f, line, gone, least_s);
        }
        for (size_t i = 0; i < cells; i++) {
            const int64_t after_s = least_s[i] == INT64_MAX || least_s[i] < f->zero_s
                                        ? 0
                                        : least_s[i] - f->zero_s;
            const int64_t minutes = after_s / MINUTE_S;
            f->start[i] = (int32_t)(minutes < INT32_MAX ? minutes : INT32_MAX);
        }
    }
    const ef_status status = gone && least_s ? EF_OK : EF_MEMORY;
    efi_free(gone);
    efi_free(least_s);
    return status;
}

/* ---- stores ---------------------------------------------------------------------------------------------
 */

static bool counts(const follow *f, int lot)
{
    const efi_season_problem *p = f->model->problem;
    return f->hope[lot].is_free && p->lot[lot].raw_kg > 0 && !(p->has_passes && p->lot[lot].after >= 0);
}

/* Theta is what a lot has on average; time is parted from the first lot to a while after the last. */
static void look_at_stores(follow *f)
{
    const efi_season_problem *p = f->model->problem;
    int64_t sum_kg = 0;
    int64_t first_s = INT64_MAX;
    int64_t last_s = INT64_MIN;
    int count = 0;
    for (int l = 0; l < f->lots; l++) {
        if (!counts(f, l))
            continue;
        const int64_t at_s = p->lot[l].arrives_s;
        sum_kg += p->lot[l].raw_kg;
        count++;
        first_s = at_s < first_s ? at_s : first_s;
        last_s = at_s > last_s ? at_s : last_s;
    }
    f->stores = p->has_raw && p->raw_price > 0 && count > 0;
    f->zero_s = count > 0 ? first_s + p->straight_s : 0;
    f->stretch_s = MINUTE_S;
    if (!f->stores)
        return;
    f->theta_kg = sum_kg / count > 0 ? sum_kg / count : 1;
    f->stretch_s = ((last_s - first_s) / (STRETCHES - STRETCHES / 4) / MINUTE_S + 1) * MINUTE_S;
    f->room_kg = efi_season_room_kg(f->model, f->theta_kg);
    for (int l = 0; l < f->lots; l++)
        if (counts(f, l))
            f->kg[l] = p->lot[l].raw_kg < f->theta_kg ? p->lot[l].raw_kg : f->theta_kg;
}

/* Money for a kg from the beginning to a minute. */
static double shares_until(const follow *f, int64_t minute)
{
    const int64_t stretch = f->stretch_s / MINUTE_S;
    const int64_t i = minute / stretch;
    if (minute <= 0)
        return 0.0;
    return i >= STRETCHES ? f->before[STRETCHES]
                          : f->before[i] + f->share[i] * (double)(minute - i * stretch);
}

static void add_up_shares(follow *f)
{
    const int64_t stretch = f->stretch_s / MINUTE_S;
    for (int i = 0; i < STRETCHES; i++)
        f->before[i + 1] = f->before[i] + f->share[i] * (double)stretch;
}

/* When lot `to` begins to count as waiting: minutes. Rounded up. */
static int64_t waits_from(const follow *f, int lot)
{
    const efi_season_problem *p = f->model->problem;
    return (p->lot[lot].arrives_s + p->straight_s - f->zero_s + MINUTE_S - 1) / MINUTE_S;
}

/* ---- the bound ------------------------------------------------------------------------------------------
 */

static void fill_prices(const follow *f)
{
    const int n = f->lots;
    const size_t side = (size_t)n + 1;
    int64_t *price = efi_arborescence_prices(f->tree, n + 1);
    for (int to = 0; to < n; to++) {
        const int64_t *mine = f->price + (size_t)to * side;
        int64_t *into = price + (size_t)to * side;
        for (int from = 0; from < n; from++)
            into[from] = mine[from] + f->turn[from];
        into[n] = mine[n] + f->ways;
        if (!f->stores || f->kg[to] == 0)
            continue;
        const int32_t *start = f->start + (size_t)to * side;
        const int64_t since = waits_from(f, to);
        const double sum = shares_until(f, since);
        for (int from = 0; from <= n; from++)
            if (start[from] > since)
                into[from] += (int64_t)((double)f->kg[to] * (shares_until(f, start[from]) - sum));
    }
}

/* The least ends: one, and up to a line's number as long as they take off. */
static int64_t end_ways(const follow *f)
{
    int64_t sum = 0;
    memset(f->ends, 0, (size_t)f->lots * sizeof *f->ends);
    for (int k = 0; k < f->model->problem->lines; k++) {
        int best = -1;
        for (int l = 0; l < f->lots; l++)
            if (!f->ends[l] && (best < 0 || f->last[l] + f->turn[l] < f->last[best] + f->turn[best]))
                best = l;
        if (best < 0 || (k > 0 && f->last[best] + f->turn[best] >= 0))
            break;
        f->ends[best] = true;
        sum += f->last[best] + f->turn[best];
    }
    return sum;
}

/* The bound for these multipliers. */
static int64_t value_of(const follow *f)
{
    fill_prices(f);
    int64_t value = efi_arborescence_solve(f->tree, f->from) + end_ways(f) -
                    f->model->problem->lines * f->ways;
    memset(f->degree, 0, ((size_t)f->lots + 1) * sizeof *f->degree);
    for (int l = 0; l < f->lots; l++) {
        value -= f->turn[l];
        f->degree[f->from[l]]++;
        f->degree[l] += f->ends[l];
    }
    if (f->stores) { /* rounded; and so is each lot's price */
        const efi_season_problem *p = f->model->problem;
        value -= (int64_t)((double)f->room_kg * f->before[STRETCHES]) + 1;
        value -= f->lots * (p->raw_price / 1000 + 2);
    }
    return value;
}

/* Multipliers of turns and ways take a step along what is too much. */
static void step_turns(follow *f, double gain)
{
    double square = 0.0;
    const int over = f->degree[f->lots] - f->model->problem->lines;
    for (int l = 0; l < f->lots; l++)
        square += (double)(f->degree[l] - 1) * (f->degree[l] - 1);
    if (over > 0 || f->ways > 0)
        square += (double)over * over;
    if (square <= 0.0)
        return;
    const double step = gain / square;
    for (int l = 0; l < f->lots; l++)
        f->turn[l] += (int64_t)(step * (f->degree[l] - 1));
    f->ways += (int64_t)(step * over);
    f->ways = f->ways > 0 ? f->ways : 0;
}

/* Kilograms times minutes that wait in each stretch, less the room. */
static void find_waiting(const follow *f, double *waiting)
{
    const size_t side = (size_t)f->lots + 1;
    const int64_t stretch = f->stretch_s / MINUTE_S;
    for (int i = 0; i < STRETCHES; i++)
        waiting[i] = -(double)f->room_kg * (double)stretch;
    for (int l = 0; l < f->lots; l++) {
        if (f->kg[l] == 0)
            continue;
        const int64_t from = waits_from(f, l);
        const int64_t to = f->start[(size_t)l * side + (size_t)f->from[l]];
        for (int64_t i = from > 0 ? from / stretch : 0; i < STRETCHES && i * stretch < to; i++) {
            const int64_t begin = from > i * stretch ? from : i * stretch;
            const int64_t end = to < (i + 1) * stretch ? to : (i + 1) * stretch;
            waiting[i] += end > begin ? (double)f->kg[l] * (double)(end - begin) : 0.0;
        }
    }
}

static void step_shares(follow *f, double gain)
{
    double waiting[STRETCHES];
    double square = 0.0;
    const double most = (double)f->model->problem->raw_price / 1000.0 / (24.0 * 60.0);
    find_waiting(f, waiting);
    for (int i = 0; i < STRETCHES; i++)
        if (waiting[i] > 0.0 || f->share[i] > 0.0)
            square += waiting[i] * waiting[i];
    if (square <= 0.0)
        return;
    for (int i = 0; i < STRETCHES; i++) {
        const double moved = f->share[i] + gain / square * waiting[i];
        f->share[i] = moved < 0.0 ? 0.0 : moved > most ? most : moved;
    }
    add_up_shares(f);
}

/* No bound above what any plan costs: then there is none in which nothing is forbidden. */
static int64_t within(const follow *f, int64_t bound)
{
    const size_t side = (size_t)f->lots + 1;
    const int64_t price = f->model->problem->raw_price;
    int64_t most = 1;
    int64_t kg = 0;
    for (int to = 0; to < f->lots; to++) {
        int64_t dearest = 0;
        for (size_t from = 0; from < side; from++) {
            const int64_t mine = f->price[(size_t)to * side + from];
            dearest = mine < FAR && mine > dearest ? mine : dearest;
        }
        most += dearest + (f->last[to] < FAR ? f->last[to] : 0);
        kg += f->kg[to];
    }
    if (f->stores)
        most += efi_season_scale(efi_season_scale(kg, STRETCHES * f->stretch_s, EFI_SEASON_DAY_S), price,
                                 1000);
    return bound < 0 || bound > most ? 0 : bound;
}

/* Climbs from where it stands; the greatest bound on the way. */
static int64_t climb(follow *f, int rounds)
{
    int64_t best = value_of(f);
    double length = 1.0;
    int since = 0;
    for (int i = 1; i < rounds && best < FAR / 2 && length > LEAST_STEP; i++) {
        const double gain = length * (HOPED * (double)(best > 0 ? best : 0) + 1000.0);
        if (f->stores)
            step_shares(f, gain);
        step_turns(f, gain);
        const int64_t mine = value_of(f);
        since = mine > best ? 0 : since + 1;
        best = mine > best ? mine : best;
        if (since >= PATIENCE) {
            length *= SHORTER;
            since = 0;
        }
    }
    return within(f, best);
}

/* The duals of the assignment are where to begin from. */
static ef_status assign(follow *f)
{
    const int lines = f->model->problem->lines;
    const int size = f->lots + lines;
    const size_t side = (size_t)f->lots + 1;
    int64_t *price = efi_new((size_t)size * (size_t)size, sizeof *price);
    int *column = efi_new((size_t)size, sizeof *column);
    int64_t *dual = efi_new(2 * (size_t)size, sizeof *dual);
    int64_t least;
    ef_status status = price && column && dual ? EF_OK : EF_MEMORY;
    for (int i = 0; i < size && status == EF_OK; i++)
        for (int j = 0; j < size; j++)
            price[(size_t)i * (size_t)size + (size_t)j] =
                i >= f->lots && j >= f->lots ? 0
                : j >= f->lots               ? f->last[i]
                : i == j                     ? FAR
                         : f->price[(size_t)j * side + (size_t)(i < f->lots ? i : f->lots)];
    if (status == EF_OK)
        status = efi_assignment_solve(size, price, column, dual, dual + size, &least);
    if (status == EF_OK) {
        for (int l = 0; l < f->lots; l++)
            f->turn[l] = -dual[l];
        f->ways = dual[f->lots] < 0 ? -dual[f->lots] : 0;
    }
    efi_free(price);
    efi_free(column);
    efi_free(dual);
    return status;
}

static ef_status run(follow *f, int64_t *bound, int64_t *with_raw)
{
    const int pairs = f->lots * f->lots;
    const int rounds = WORK / 2 / pairs < MOST_ROUNDS ? WORK / 2 / pairs : MOST_ROUNDS;
    const bool stores = f->stores;
    EF_TRY(price_all(f));
    EF_TRY(assign(f));
    f->stores = false;
    *bound = climb(f, rounds);
    f->stores = stores;
    *with_raw = f->stores ? climb(f, rounds) : 0;
    return EF_OK;
}

ef_status efi_season_bound_follow(const efi_season_model *model, const efi_season_hope *hope, int64_t *bound,
                                  int64_t *with_raw)
{
    const size_t lots = (size_t)model->problem->lots;
    follow f = {.model = model, .hope = hope, .lots = (int)lots};
    *bound = *with_raw = 0;
    if (f.lots > MOST_LOTS)
        return EF_OK;
    efi_arena *arena = efi_arena_new();
    f.tree = efi_arborescence_new(f.lots + 1);
    ef_status status = arena && f.tree ? EF_OK : EF_MEMORY;
    if (status == EF_OK) {
        f.price = efi_arena_get(arena, lots * (lots + 1), sizeof *f.price);
        f.start = efi_arena_get(arena, lots * (lots + 1), sizeof *f.start);
        f.last = efi_arena_get(arena, lots, sizeof *f.last);
        f.turn = efi_arena_get(arena, lots, sizeof *f.turn);
        f.from = efi_arena_get(arena, lots, sizeof *f.from);
        f.degree = efi_arena_get(arena, lots + 1, sizeof *f.degree);
        f.ends = efi_arena_get(arena, lots, sizeof *f.ends);
        f.kg = efi_arena_get(arena, lots, sizeof *f.kg);
        status = f.price && f.start && f.last && f.turn && f.from && f.degree && f.ends && f.kg ? EF_OK
                                                                                                : EF_MEMORY;
    }
    if (status == EF_OK) {
        look_at_stores(&f);
        status = run(&f, bound, with_raw);
    }
    efi_arborescence_free(f.tree);
    efi_arena_free(arena);
    return status;
}
