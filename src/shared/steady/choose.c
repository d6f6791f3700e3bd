/* SPDX-License-Identifier: GPL-3.0-or-later
 * Choosing the shares of free splits.
 *
 * The aim as a function of the shares is not concave, so: successive linear programs with a trust region,
 * from several starts. At shares a with feeds X the program is loosened to first order (steady.h); its
 * solution proposes new shares, the exact program at those says what they are really worth; a step that does
 * not bring a fair part of what was promised is taken back and the region shrinks. A start ends when the
 * loosened program promises nothing more, which is the first-order condition of an optimum. Where a step
 * loses, as it does when it follows the tangent of a demand that bends away, it is corrected once: the
 * program is loosened again around the shares and rates that were proposed. Starts: the scenario's (room up
 * to the most shares), and each branch of each split at its most. Where no start is feasible, least rates may
 * first be missed at a price, until shares that meet them are found; where a least purity lets nothing pass
 * from any start, it is left out first, and steps from what is best without it look for shares that keep it.
 * Splits by `first with room` are then put in order: earlier branches take from later ones what the aim
 * allows. */
#include "shared/steady/steady.h"

#include <math.h>
#include <string.h>

enum {
    MOST_STEPS = 80,
    MOST_STARTS = 24,
    BISECTIONS = 50,
    MOST_ROUNDS = 8,
    MOST_ROOM_STEPS = 10
};
#define FIRST_TRUST 0.25
#define LEAST_TRUST 1e-10
#define FAIR_PART   0.1
#define GOOD_PART   0.75
/* A correction may go this part of the step's trust. */
#define CORRECTION_PART 0.5
/* What is promised counts as nothing below this share of the aim. */
#define PROMISE_SHARE 1e-10
/* Room is not looked for below this share of a capacity. */
#define LEAST_ROOM 1e-3
/* Making room or putting splits in order may cost at most this share of the aim. */
#define ORDER_SHARE 1e-10
/* A share that cannot grow by this has no room. */
#define LEAST_MOVE 1e-7
/* A share that is over its least by less than this is at its least. */
#define SHARE_TRACE 1e-12
/* What the solver calls optimal may be less than that by this share. */
#define SOLVER_SHARE 1e-6

typedef struct search {
    efi_steady_model *model;
    double *shares;    /* shape [spout]: present */
    double *trial;     /* shape [spout] */
    double *corrected; /* shape [spout] */
    double *rates;     /* shape [intake]: of the last proposal */
    double *start;     /* shape [spout] */
    double *best;      /* shape [spout] */
    double best_value;
    double may_miss; /* share of a least rate, while splits are put in order */
    bool found;
    bool unbounded;
    efi_lp_outcome outcome; /* of the first start */
    efi_steady_search *counts;
} search;

static bool is_branch(const search *s, int spout)
{
    return s->model->change[spout] >= 0;
}

static void read_shares(const search *s, double *shares)
{
    for (int k = 0; k < s->model->line->spout_count; k++)
        if (is_branch(s, k))
            shares[k] = efi_line_branch(s->model->line, k);
}

/* Solves exactly at these shares. Shares that are infeasible, or where the solver fails, have the value
 * -infinity. */
static ef_status evaluate(const search *s, const double *shares, double *value, efi_lp_outcome *outcome)
{
    efi_line *line = s->model->line;
    for (int k = 0; k < line->spout_count; k++)
        if (is_branch(s, k))
            efi_line_set_branch(line, k, shares[k]);
    *value = -INFINITY;
    *outcome = EFI_LP_INFEASIBLE;
    const ef_status status = efi_steady_reshare(s->model);
    if (status == EF_INTERNAL) /* at these shares a loop lets nothing go */
        return EF_OK;
    return status == EF_OK ? efi_steady_solve(s->model, outcome, value) : status;
}

/* Puts shares that are at their least but for rounding exactly there, and what that makes up to the largest:
 * a trace of a share, 1e-17 say, in the program leads the solver astray. */
static void drop_traces(const efi_line *line, const efi_line_split *split, double *shares)
{
    int largest = split->first_spout;
    double dropped = 0.0;
    for (int k = split->first_spout; k < split->first_spout + split->count; k++) {
        const double above = shares[k] - efi_line_branch_least(line, k);
        if (shares[k] > shares[largest])
            largest = k;
        if (fabs(above) < SHARE_TRACE) {
            shares[k] = efi_line_branch_least(line, k);
            dropped += above;
        }
    }
    shares[largest] += dropped;
}

/* Shares that the program loosened around `shares` proposes, kept within bounds and adding up to one, go to
 * `trial`; what it promises to `promise`, -INFINITY when it cannot be solved to tolerance, which may happen
 * where next to nothing may flow. */
static ef_status solve_loosened(const search *s, const double *shares, double *promise)
{
    const efi_line *line = s->model->line;
    efi_lp_result result;
    EF_TRY(efi_steady_optimise(s->model->lp, &result));
    if (result.outcome == EFI_LP_UNBOUNDED) { /* no limit is left: the caller took them off */
        *promise = INFINITY;
        return EF_OK;
    }
    if (result.outcome != EFI_LP_OPTIMAL) {
        *promise = -INFINITY;
        return EF_OK;
    }
    *promise = result.objective;
    const double *values = efi_lp_values(s->model->lp);
    for (int i = 0; i < line->split_count; i++) {
        const efi_line_split *split = &line->splits[i];
        double sum = 0.0;
        for (int k = split->first_spout; k < split->first_spout + split->count; k++) {
            const double share = shares[k] + values[s->model->change[k]];
            s->trial[k] = fmin(fmax(share, efi_line_branch_least(line, k)), efi_line_branch_most(line, k));
            sum += s->trial[k];
        }
        for (int k = split->first_spout; k < split->first_spout + split->count; k++)
            s->trial[k] /= sum;
        drop_traces(line, split, s->trial);
    }
    return EF_OK;
}

static ef_status propose(const search *s, const double *shares, double trust, double *promise)
{
    EF_TRY(efi_steady_loosen(s->model, trust, true));
    return solve_loosened(s, shares, promise);
}

/* Corrects the step that was proposed from the present shares and lost; what is reached then in `there`. */
static ef_status correct(const search *s, double trust, double *there)
{
    double promise;
    efi_lp_outcome outcome;
    efi_steady_stand(s->model, s->rates);
    memcpy(s->corrected, s->trial, (size_t)s->model->line->spout_count * sizeof *s->trial);
    EF_TRY(propose(s, s->corrected, CORRECTION_PART * trust, &promise));
    *there = -INFINITY;
    return promise > -INFINITY ? evaluate(s, s->trial, there, &outcome) : EF_OK;
}

/* Steps from the present shares to where nothing more is promised. */
static ef_status climb(search *s, double *value)
{
    const size_t bytes = (size_t)s->model->line->spout_count * sizeof *s->shares;
    efi_lp_outcome outcome;
    double trust = FIRST_TRUST;
    for (int step = 0; step < MOST_STEPS && trust >= LEAST_TRUST; step++) {
        double promise;
        EF_TRY(propose(s, s->shares, trust, &promise));
        if (!(promise < INFINITY)) {
            s->unbounded = true;
            return EF_OK;
        }
        const double promised = promise - *value;
        if (!(promised > PROMISE_SHARE * (1.0 + fabs(*value))))
            break;
        s->counts->steps++;
        for (int i = 0; i < s->model->line->intake_count; i++)
            s->rates[i] = efi_lp_values(s->model->lp)[s->model->rate[i]];
        double there;
        EF_TRY(evaluate(s, s->trial, &there, &outcome));
        if (there < *value)
            EF_TRY(correct(s, trust, &there));
        const double kept = (there - *value) / promised;
        if (kept >= FAIR_PART) {
            memcpy(s->shares, s->trial, bytes);
            *value = there;
            trust = kept >= GOOD_PART ? fmin(2.0 * trust, 1.0) : trust;
        } else {
            trust *= 0.25;
            EF_TRY(evaluate(s, s->shares, value, &outcome));
        }
    }
    return EF_OK;
}

static ef_status try_start(search *s)
{
    efi_lp_outcome outcome;
    double value;
    EF_TRY(evaluate(s, s->shares, &value, &outcome));
    if (s->counts->starts++ == 0)
        s->outcome = outcome;
    s->unbounded = s->unbounded || outcome == EFI_LP_UNBOUNDED;
    if (outcome != EFI_LP_OPTIMAL || s->unbounded)
        return EF_OK;
    EF_TRY(climb(s, &value));
    if (!(value > -INFINITY))
        return EF_OK;
    if (!s->found || value > s->best_value + PROMISE_SHARE * (1.0 + fabs(value))) {
        s->found = true;
        s->best_value = value;
        memcpy(s->best, s->shares, (size_t)s->model->line->spout_count * sizeof *s->best);
    }
    return EF_OK;
}

/* The largest share of a least rate that is missing at the present rates and shares. */
static double share_missed(const efi_steady_model *model)
{
    const efi_line *line = model->line;
    double missed = 0.0;
    for (int s = 0; s < line->station_count; s++) {
        const double *feed = model->feeds + (size_t)s * (size_t)line->materials;
        if (model->least_row[s] >= 0)
            missed = fmax(missed, 1.0 - efi_line_total(line, feed) / line->stations[s].least_rate.value);
    }
    return missed;
}

/*
 * What the aim is when `part` of the best share of branch way[0] goes to branch way[1]; -INFINITY when it
 * cannot. Leaves these shares in `trial`. A loss that the solver may have made itself, from the basis of
 * other shares, is looked at afresh; least rates must be met with something to spare, or the same shares may
 * fail them later.
 */
static ef_status try_move(const search *s, const efi_line_split *split, const int way[2], double part,
                          double *value)
{
    efi_lp_outcome outcome;
    memcpy(s->trial, s->best, (size_t)s->model->line->spout_count * sizeof *s->trial);
    s->trial[way[0]] -= part;
    s->trial[way[1]] += part;
    drop_traces(s->model->line, split, s->trial);
    EF_TRY(evaluate(s, s->trial, value, &outcome));
    const double loss = s->best_value - *value;
    if (loss > 0.0 && loss <= SOLVER_SHARE * (1.0 + fabs(s->best_value))) {
        double again;
        efi_lp_forget_basis(s->model->lp);
        EF_TRY(evaluate(s, s->trial, &again, &outcome));
        *value = fmax(*value, again);
    }
    if (!(share_missed(s->model) <= s->may_miss))
        *value = -INFINITY;
    return EF_OK;
}

/* Moves as much of one branch's share to another as keeps the aim, found by bisection, unless not even
 * LEAST_MOVE does. `*moved` tells whether it did. */
static ef_status move_share(search *s, const efi_line_split *split, int from, int to, bool *moved)
{
    const int way[2] = {from, to};
    const efi_line *line = s->model->line;
    const size_t bytes = (size_t)line->spout_count * sizeof *s->best;
    const double enough = s->best_value - ORDER_SHARE * (1.0 + fabs(s->best_value));
    const double room = fmin(s->best[from] - efi_line_branch_least(line, from),
                             efi_line_branch_most(line, to) - s->best[to]);
    double low = 0.0;
    double high = room;
    for (int i = 0; i < BISECTIONS && room > LEAST_MOVE && high - low > 1e-12; i++) {
        double part = low + 0.5 * (high - low);
        if (i < 2)
            part = i == 0 ? room : LEAST_MOVE;
        double value;
        EF_TRY(try_move(s, split, way, part, &value));
        if (value >= enough)
            low = part;
        else if (i == 1)
            return EF_OK;
        else
            high = part;
    }
    if (!(low > 0.0))
        return EF_OK;
    double value;
    *moved = true;
    EF_TRY(try_move(s, split, way, low, &value));
    memcpy(s->best, s->trial, bytes);
    return EF_OK;
}

/* Splits by `first with room`: each branch in turn takes from the last, then from the last but one, and so on
 * to the next after it. Room may open again when later branches, or other splits, are put in order, so it is
 * gone over until nothing moves. */
static ef_status put_in_order(search *s)
{
    const efi_line *line = s->model->line;
    efi_lp_outcome outcome;
    double value;
    bool any = false;
    for (int i = 0; i < line->split_count; i++)
        any = any || line->splits[i].rule == EFI_SPLIT_FIRST;
    if (!any)
        return EF_OK;
    EF_TRY(evaluate(s, s->best, &value, &outcome));
    s->may_miss = fmax(0.5 * EFI_STEADY_RATE_SLACK, share_missed(s->model) + ORDER_SHARE);
    bool moved = true;
    for (int round = 0; round < MOST_ROUNDS && moved; round++) {
        moved = false;
        for (int i = 0; i < line->split_count; i++) {
            const efi_line_split *split = &line->splits[i];
            const int end = split->first_spout + split->count;
            for (int k = split->first_spout; split->rule == EFI_SPLIT_FIRST && k < end; k++)
                for (int later = end - 1; later > k; later--)
                    EF_TRY(move_share(s, split, later, k, &moved));
        }
    }
    return EF_OK;
}

/* Raises a branch as far as its most share and the least shares of the others allow; the others give in
 * proportion to what they have above their least. */
static void put_at_most(const efi_line *line, const efi_line_split *split, int branch, double *shares)
{
    double least = 0.0;
    double above = 0.0;
    for (int k = split->first_spout; k < split->first_spout + split->count; k++) {
        if (k != branch) {
            least += efi_line_branch_least(line, k);
            above += shares[k] - efi_line_branch_least(line, k);
        }
    }
    const double share = fmin(efi_line_branch_most(line, branch), 1.0 - least);
    const double scale = above > 0.0 ? fmax(1.0 - share - least, 0.0) / above : 0.0;
    for (int k = split->first_spout; above > 0.0 && k < split->first_spout + split->count; k++) {
        const double kept = efi_line_branch_least(line, k);
        shares[k] = k == branch ? share : kept + (shares[k] - kept) * scale;
    }
}

static ef_status run_starts(search *s, const double *start)
{
    efi_line *line = s->model->line;
    const size_t bytes = (size_t)line->spout_count * sizeof *s->shares;
    memcpy(s->shares, start, bytes);
    EF_TRY(try_start(s));
    for (int i = 0; i < line->split_count; i++) {
        const efi_line_split *split = &line->splits[i];
        for (int k = split->first_spout; k < split->first_spout + split->count; k++) {
            if (s->counts->starts >= MOST_STARTS)
                return EF_OK;
            memcpy(s->shares, start, bytes);
            put_at_most(line, split, k, s->shares);
            EF_TRY(try_start(s));
        }
    }
    return EF_OK;
}

static bool stands_still(const search *s)
{
    for (int i = 0; i < s->model->line->intake_count; i++)
        if (s->model->rates[i] > 0.0)
            return false;
    return true;
}

/* Puts least purities in force or takes them off; returns whether there are any. */
static ef_status set_purities(const search *s, bool in_force, bool *any)
{
    *any = false;
    for (int o = 0; o < s->model->line->station_count; o++) {
        const int row = s->model->purity_row[o];
        if (row < 0)
            continue;
        *any = true;
        EF_TRY(
            efi_lp_set_row_bounds(s->model->lp, row, in_force ? efi_lp_at_least(0.0) : efi_lp_free_bounds()));
    }
    return EF_OK;
}

/* Steps of several sizes towards the purities from where the line would stand without them, and climbs from
 * the first that lets something pass. */
static ef_status step_to_purities(search *s, const double *shares, const double *rates)
{
    efi_lp_outcome outcome;
    double value;
    for (int step = 0; ldexp(FIRST_TRUST, step) <= 1.0; step++) {
        const double trust = ldexp(FIRST_TRUST, step);
        double promise;
        memcpy(s->shares, shares, (size_t)s->model->line->spout_count * sizeof *s->shares);
        EF_TRY(evaluate(s, s->shares, &value, &outcome));
        efi_steady_stand(s->model, rates);
        EF_TRY(propose(s, s->shares, trust, &promise));
        if (!(promise > -INFINITY && promise < INFINITY))
            continue;
        memcpy(s->shares, s->trial, (size_t)s->model->line->spout_count * sizeof *s->shares);
        EF_TRY(evaluate(s, s->shares, &value, &outcome));
        if (outcome == EFI_LP_OPTIMAL && !stands_still(s))
            return try_start(s);
    }
    return EF_OK;
}

/* For a best that stands still, or none: looks at what the line does without least purities. */
static ef_status rescue_purities(search *s, efi_arena *arena)
{
    const efi_line *line = s->model->line;
    const search before = *s;
    bool any;
    double *rates = efi_arena_get(arena, (size_t)line->intake_count, sizeof *rates);
    double *shares = efi_arena_get(arena, (size_t)line->spout_count, sizeof *shares);
    double *kept = efi_arena_get(arena, (size_t)line->spout_count, sizeof *kept);
    if (!rates || !shares || !kept)
        return EF_MEMORY;
    memcpy(kept, s->best, (size_t)line->spout_count * sizeof *kept);
    EF_TRY(set_purities(s, false, &any));
    if (!any)
        return EF_OK;
    s->found = false;
    EF_TRY(run_starts(s, s->start));
    const bool found = s->found && !s->unbounded;
    if (found) {
        efi_lp_outcome outcome;
        double value;
        EF_TRY(evaluate(s, s->best, &value, &outcome));
        memcpy(shares, s->best, (size_t)line->spout_count * sizeof *shares);
        memcpy(rates, s->model->rates, (size_t)line->intake_count * sizeof *rates);
    }
    EF_TRY(set_purities(s, true, &any));
    memcpy(s->best, kept, (size_t)line->spout_count * sizeof *kept);
    s->best_value = before.best_value;
    s->found = before.found;
    s->unbounded = before.unbounded;
    s->outcome = before.outcome;
    return found ? step_to_purities(s, shares, rates) : EF_OK;
}

/* The share of its capacity that the fullest station has free among those whose feed depends on shares. */
static double room_at(const efi_steady_model *model)
{
    const efi_line *line = model->line;
    double room = 1.0;
    for (int s = 0; s < line->station_count; s++) {
        if (!model->shared_out[s])
            continue;
        const double *feed = model->feeds + (size_t)s * (size_t)line->materials;
        const bool by_volume = line->stations[s].capacity.of == EFI_KIND_VOLUME_RATE;
        const double used = by_volume ? efi_line_volume(line, feed) : efi_line_total(line, feed);
        room = fmin(room, 1.0 - used / efi_lp_row_bounds(model->lp, model->capacity_row[s]).upper);
    }
    return room;
}

/* Where free shares may vary at no cost to the aim, takes those that leave most room at the stations they
 * feed: else one of these may be full by accident, and pass for one that limits. */
static ef_status make_room(search *s)
{
    const size_t bytes = (size_t)s->model->line->spout_count * sizeof *s->best;
    efi_lp_outcome outcome;
    double value;
    double trust = FIRST_TRUST;
    for (int step = 0; step < MOST_ROOM_STEPS && trust >= LEAST_ROOM; step++) {
        double promise;
        double there;
        EF_TRY(evaluate(s, s->best, &value, &outcome));
        const double enough = value - ORDER_SHARE * (1.0 + fabs(value));
        EF_TRY(efi_steady_make_room(s->model, trust, enough));
        EF_TRY(solve_loosened(s, s->best, &promise));
        const double here = room_at(s->model);
        if (!(promise > here + LEAST_ROOM && promise < INFINITY))
            return EF_OK;
        EF_TRY(evaluate(s, s->trial, &there, &outcome));
        if (there >= enough && room_at(s->model) > here + FAIR_PART * (promise - here)) {
            memcpy(s->best, s->trial, bytes);
            s->best_value = fmin(s->best_value, there);
        } else {
            trust *= 0.25;
        }
    }
    return EF_OK;
}

static ef_status prepare(search *s, efi_arena *arena)
{
    const efi_line *line = s->model->line;
    const size_t spouts = (size_t)line->spout_count;
    s->shares = efi_arena_get(arena, spouts, sizeof *s->shares);
    s->trial = efi_arena_get(arena, spouts, sizeof *s->trial);
    s->corrected = efi_arena_get(arena, spouts, sizeof *s->corrected);
    s->rates = efi_arena_get(arena, (size_t)line->intake_count, sizeof *s->rates);
    s->best = efi_arena_get(arena, spouts, sizeof *s->best);
    s->start = efi_arena_get(arena, spouts, sizeof *s->start);
    if (!s->shares || !s->trial || !s->corrected || !s->rates || !s->best || !s->start)
        return EF_MEMORY;
    read_shares(s, s->start);
    return EF_OK;
}

ef_status efi_steady_improve(efi_steady_model *model, efi_arena *arena, efi_lp_outcome *outcome,
                             double *value)
{
    efi_steady_search counts = {0};
    search s = {.model = model, .counts = &counts};
    if (model->line->split_count == 0)
        return efi_steady_solve(model, outcome, value);
    EF_TRY(prepare(&s, arena));
    memcpy(s.shares, s.start, (size_t)model->line->spout_count * sizeof *s.shares);
    EF_TRY(try_start(&s));
    *outcome = s.unbounded ? EFI_LP_UNBOUNDED : s.outcome;
    return s.found ? evaluate(&s, s.best, value, outcome) : EF_OK;
}

ef_status efi_steady_choose(efi_steady_model *model, efi_arena *arena, efi_lp_outcome *outcome, double *value,
                            efi_steady_search *counts)
{
    *counts = (efi_steady_search){0};
    if (model->line->split_count == 0)
        return efi_steady_solve(model, outcome, value);
    search s = {.model = model, .counts = counts};
    EF_TRY(prepare(&s, arena));
    EF_TRY(run_starts(&s, s.start));
    if (s.unbounded) {
        *outcome = EFI_LP_UNBOUNDED;
        return EF_OK;
    }
    if (s.found) {
        EF_TRY(evaluate(&s, s.best, value, outcome));
        if (stands_still(&s))
            EF_TRY(rescue_purities(&s, arena));
    }
    if (!s.found) {
        EF_TRY(efi_steady_elastic(model, true));
        s.counts->starts = 0;
        EF_TRY(run_starts(&s, s.start));
        bool met = false;
        if (s.found) {
            EF_TRY(evaluate(&s, s.best, value, outcome));
            met = share_missed(model) <= EFI_STEADY_LIMIT_SHARE;
        }
        EF_TRY(efi_steady_elastic(model, false));
        s.outcome = EFI_LP_INFEASIBLE;
        s.found = false;
        if (met) {
            memcpy(s.shares, s.best, (size_t)model->line->spout_count * sizeof *s.shares);
            EF_TRY(try_start(&s));
        }
    }
    if (!s.found) {
        *outcome = s.outcome;
        return EF_OK;
    }
    EF_TRY(make_room(&s));
    EF_TRY(put_in_order(&s));
    EF_TRY(evaluate(&s, s.best, value, outcome));
    if (*value >= s.best_value - ORDER_SHARE * (1.0 + fabs(s.best_value)))
        return EF_OK;
    efi_lp_forget_basis(model->lp);
    return evaluate(&s, s.best, value, outcome);
}
