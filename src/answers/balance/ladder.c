/* SPDX-License-Identifier: GPL-3.0-or-later
 * The ladder: what limits next, at what rate, and how much to buy to get there.
 *
 * A rung takes the limits off the smallest set of what binds that lets the aim grow (one that is worth
 * something alone, the most valuable first; else the smallest set that is), solves, and buys for everything
 * taken off so far just what the new rate asks for. It is checked by solving the plant with these purchases
 * afresh. What is bought stays bought: a later rung never has less of it, though with shares to choose, or
 * with several intakes, its best rates may leave some of an earlier purchase unused. */
#include "answers/balance/balance.h"

#include <math.h>
#include <string.h>

/* Limits by number: stations of the line, then power. */
typedef struct ladder {
    efi_steady_model *model;
    efi_arena *arena;
    int count;        /* stations + 1 */
    int *row;         /* shape [count], -1 where there is no limit */
    double *original; /* shape [count]: upper bound of the row */
    bool *raised;     /* shape [count] */
    double *bought;   /* shape [count]: so far, above the original */
    double *shares;   /* shape [spout]: of the rung, while it is checked */
    int *binding;     /* shape [count], scratch */
    int binding_count;
} ladder;

enum {
    MOST_TOGETHER = 16,
    MOST_TRIMS = 40
};
/* Trimming a purchase may cost this share of the aim, and ends when it is known to this share. */
#define TRIM_SHARE 1e-10
/* What was found to be enough gets this share more, so that rounding does not make it too little. */
#define ROOM_SHARE 1e-9
/* A rung counts when the plant with its purchases, solved afresh, reaches its aim within this share. */
#define MOST_CHECK 1e-6

static double used_by(const ladder *l, int limit)
{
    const efi_line *line = l->model->line;
    const double *feeds = l->model->feeds;
    if (limit == line->station_count)
        return efi_line_power(line, feeds) - line->idle_kw;
    const double *feed = feeds + (size_t)limit * (size_t)line->materials;
    return line->stations[limit].capacity.of == EFI_KIND_VOLUME_RATE ? efi_line_volume(line, feed)
                                                                     : efi_line_total(line, feed);
}

static void find_binding(ladder *l)
{
    l->binding_count = 0;
    for (int i = 0; i < l->count; i++)
        if (l->row[i] >= 0 && !l->raised[i] &&
            used_by(l, i) >= l->original[i] * (1.0 - EFI_STEADY_LIMIT_SHARE))
            l->binding[l->binding_count++] = i;
}

static ef_status set_limit(ladder *l, int limit, bool off)
{
    return efi_lp_set_row_bounds(l->model->lp, l->row[limit],
                                 off ? efi_lp_free_bounds() : efi_lp_at_most(l->original[limit]));
}

/* Solves with the limits as they are. Where it does not come out, `*value` is INFINITY when nothing limits
 * and else -INFINITY. */
static ef_status solve(ladder *l, double *value, bool *solved)
{
    efi_lp_outcome outcome;
    efi_steady_search counts;
    EF_TRY(efi_steady_choose(l->model, l->arena, &outcome, value, &counts));
    *solved = outcome == EFI_LP_OPTIMAL;
    if (!*solved)
        *value = outcome == EFI_LP_UNBOUNDED ? INFINITY : -INFINITY;
    return EF_OK;
}

static void keep_shares(const ladder *l)
{
    for (int b = 0; b < l->model->branch_count; b++)
        l->shares[l->model->branches[b]] = efi_line_branch(l->model->line, l->model->branches[b]);
}

static void put_shares_back(const ladder *l)
{
    for (int b = 0; b < l->model->branch_count; b++)
        efi_line_set_branch(l->model->line, l->model->branches[b], l->shares[l->model->branches[b]]);
}

/* What the aim grows by with the limits as they are; 0 for what is no more than rounding. Most of what gains
 * at all does so from the present shares; where nothing does, the whole search is made. */
static ef_status find_gain(ladder *l, double before, double *gain)
{
    efi_lp_outcome outcome;
    efi_steady_search counts;
    const double least = EFI_STEADY_LIMIT_SHARE * (1.0 + fabs(before));
    *gain = 0.0;
    for (int whole = 0; whole < (l->model->branch_count > 0 ? 2 : 1) && !(*gain > 0.0); whole++) {
        double value = -INFINITY;
        put_shares_back(l);
        EF_TRY(whole ? efi_steady_choose(l->model, l->arena, &outcome, &value, &counts)
                     : efi_steady_improve(l->model, l->arena, &outcome, &value));
        if (outcome == EFI_LP_UNBOUNDED)
            *gain = INFINITY;
        else if (outcome == EFI_LP_OPTIMAL && value > before + least)
            *gain = value - before;
    }
    put_shares_back(l);
    return EF_OK;
}

/* Does the aim grow when the members of `set` (bits over binding) are off? */
static ef_status gains(ladder *l, unsigned set, double before, double *gain)
{
    for (int i = 0; i < l->binding_count; i++)
        if (set & 1u << i)
            EF_TRY(set_limit(l, l->binding[i], true));
    EF_TRY(find_gain(l, before, gain));
    for (int i = 0; i < l->binding_count; i++)
        if (set & 1u << i)
            EF_TRY(set_limit(l, l->binding[i], false));
    return EF_OK;
}

static int members(unsigned set)
{
    int count = 0;
    for (; set; set &= set - 1)
        count++;
    return count;
}

/* The smallest set of what binds that gains, the one that gains most among equals; 0 when none does. */
static ef_status choose_set(ladder *l, double before, unsigned *chosen)
{
    *chosen = 0;
    const int n = l->binding_count < MOST_TOGETHER ? l->binding_count : MOST_TOGETHER;
    const int largest = n <= 8 ? n : 2; /* all subsets of a few; of many, pairs and then all together */
    double best = 0.0;
    for (int size = 1; size <= largest && !*chosen; size++) {
        for (unsigned set = 1; set < 1u << n; set++) {
            double gain = 0.0;
            if (members(set) == size)
                EF_TRY(gains(l, set, before, &gain));
            if (gain > best) {
                best = gain;
                *chosen = set;
            }
        }
    }
    if (!*chosen && n > largest) {
        const unsigned all = (1u << n) - 1u;
        EF_TRY(gains(l, all, before, &best));
        *chosen = best > 0.0 ? all : 0;
    }
    return EF_OK;
}

static ef_balance_purchase purchase_of(const ladder *l, int limit, double more)
{
    const efi_line *line = l->model->line;
    if (limit == line->station_count)
        return (ef_balance_purchase){.more = more, .capacity = line->power_limit_kw + more};
    const efi_line_station *station = &line->stations[limit];
    return (ef_balance_purchase){.station = station->of->name,
                                 .by_volume = station->capacity.of == EFI_KIND_VOLUME_RATE,
                                 .more = more,
                                 .capacity = l->original[limit] + more};
}

static double product_of(const efi_steady_model *model)
{
    const efi_line *line = model->line;
    double product = 0.0;
    for (int s = 0; s < line->station_count; s++)
        if (line->stations[s].of->product)
            product += efi_line_total(line, model->feeds + (size_t)s * (size_t)line->materials);
    return product;
}

static double intake_of(const efi_steady_model *model)
{
    double intake = 0.0;
    for (int i = 0; i < model->line->intake_count; i++)
        intake += model->rates[i];
    return intake;
}

/* Puts the shares back that were kept; limits may have changed since. */
static ef_status go_back(const ladder *l)
{
    efi_lp_outcome outcome;
    double value;
    put_shares_back(l);
    EF_TRY(efi_steady_reshare(l->model));
    return efi_steady_solve(l->model, &outcome, &value);
}

/* Solves with the purchases in place; how far the aim is from `value`. Takes the limits off again. */
static ef_status check_rung(ladder *l, double value, double *check)
{
    keep_shares(l);
    for (int i = 0; i < l->count; i++)
        if (l->raised[i])
            EF_TRY(efi_lp_set_row_bounds(l->model->lp, l->row[i],
                                         efi_lp_at_most(l->original[i] + l->bought[i])));
    double again;
    bool solved;
    EF_TRY(solve(l, &again, &solved));
    *check = solved ? fabs(again - value) / fmax(fabs(value), 1e-12) : INFINITY;
    for (int i = 0; i < l->count; i++)
        if (l->raised[i])
            EF_TRY(set_limit(l, i, true));
    return go_back(l);
}

/* Solves at the present shares with one limit in place; does the aim stay? What it is then goes to `*there`.
 */
static ef_status keeps_aim(ladder *l, int limit, double bound, double value, bool *keeps, double *there)
{
    efi_lp_outcome outcome;
    EF_TRY(efi_lp_set_row_bounds(l->model->lp, l->row[limit], efi_lp_at_most(bound)));
    EF_TRY(efi_steady_solve(l->model, &outcome, there));
    *keeps = outcome == EFI_LP_OPTIMAL && *there >= value - TRIM_SHARE * (1.0 + fabs(value));
    return EF_OK;
}

/*
 * Where intakes can stand in for each other the best rates are not unique, and those found may ask for more
 * of what was taken off than is needed. So each in turn is lowered as far as the aim allows, but not below
 * what is bought, by bisection, the others staying where they are. What little one has cost is not held
 * against the next. Leaves rates and feeds of the last, and the limits off as they were.
 */
static ef_status trim(ladder *l, double value)
{
    bool keeps = l->model->line->intake_count > 1;
    double there = value;
    if (!keeps)
        return EF_OK;
    for (int i = 0; i < l->count; i++) {
        double low = l->original[i] + l->bought[i];
        double high = l->raised[i] ? used_by(l, i) : low;
        for (int step = 0; step < MOST_TRIMS && high > low * (1.0 + TRIM_SHARE); step++) {
            const double middle = step == 0 ? low : low + 0.5 * (high - low);
            EF_TRY(keeps_aim(l, i, middle, value, &keeps, &there));
            if (keeps)
                high = fmin(middle, fmax(used_by(l, i), l->original[i] + l->bought[i]));
            else
                low = middle;
        }
        if (!l->raised[i])
            continue;
        EF_TRY(keeps_aim(l, i, fmax(high, low) * (1.0 + ROOM_SHARE), value, &keeps, &there));
        value = keeps ? fmin(value, there) : value;
    }
    for (int i = 0; i < l->count; i++)
        if (l->raised[i])
            EF_TRY(set_limit(l, i, true));
    efi_lp_outcome outcome;
    return keeps ? EF_OK : efi_steady_solve(l->model, &outcome, &value);
}

static ef_status fill_rung(ladder *l, double value, ef_balance_rung *rung)
{
    ef_balance_purchase *purchases = efi_arena_get(l->arena, (size_t)l->count, sizeof *purchases);
    const char **limits = efi_arena_get(l->arena, (size_t)l->count, sizeof *limits);
    if (!purchases || !limits)
        return EF_MEMORY;
    rung->purchases = purchases;
    rung->limits = limits;
    rung->intake_tph = intake_of(l->model);
    rung->product_tph = product_of(l->model);
    rung->value_per_h = l->model->aim == EF_BALANCE_VALUE ? value - efi_steady_idle_cost(l->model->line)
                                                          : 0.0;
    for (int i = 0; i < l->count; i++) {
        if (!l->raised[i])
            continue;
        l->bought[i] = fmax(used_by(l, i) - l->original[i], l->bought[i]);
        if (l->bought[i] > 0.0)
            purchases[rung->purchase_count++] = purchase_of(l, i, l->bought[i]);
    }
    find_binding(l);
    for (int i = 0; i < l->binding_count; i++)
        limits[rung->limit_count++] = l->binding[i] < l->model->line->station_count
                                          ? l->model->line->stations[l->binding[i]].of->name
                                          : NULL;
    return check_rung(l, value, &rung->check);
}

static ef_status climb(ladder *l, int most, ef_balance_crop *crop, ef_balance_rung *rungs)
{
    double value;
    bool solved;
    EF_TRY(solve(l, &value, &solved));
    for (int rung = 0; rung < most && solved; rung++) {
        const double before = value;
        find_binding(l);
        unsigned chosen;
        keep_shares(l);
        EF_TRY(choose_set(l, value, &chosen));
        if (!chosen)
            break;
        for (int i = 0; i < l->binding_count; i++) {
            if (!(chosen & 1u << i))
                continue;
            l->raised[l->binding[i]] = true;
            EF_TRY(set_limit(l, l->binding[i], true));
        }
        EF_TRY(solve(l, &value, &solved));
        if (!solved)
            break; /* nothing limits any more */
        EF_TRY(trim(l, value));
        EF_TRY(fill_rung(l, value, &rungs[crop->rung_count]));
        if (!(value > before && rungs[crop->rung_count].check <= MOST_CHECK))
            break; /* the search over shares lost its way: no rung rather than a doubtful one */
        crop->rung_count++;
    }
    return EF_OK;
}

ef_status efi_balance_ladder(efi_steady_model *model, efi_arena *arena, int most, ef_balance_crop *crop)
{
    const efi_line *line = model->line;
    ladder l = {.model = model, .arena = arena, .count = line->station_count + 1};
    const size_t count = (size_t)l.count;
    l.row = efi_arena_get(arena, count, sizeof *l.row);
    l.original = efi_arena_get(arena, count, sizeof *l.original);
    l.raised = efi_arena_get(arena, count, sizeof *l.raised);
    l.bought = efi_arena_get(arena, count, sizeof *l.bought);
    l.shares = efi_arena_get(arena, (size_t)line->spout_count, sizeof *l.shares);
    l.binding = efi_arena_get(arena, count, sizeof *l.binding);
    ef_balance_rung *rungs = efi_arena_get(arena, (size_t)most, sizeof *rungs);
    if (!l.row || !l.original || !l.raised || !l.bought || !l.shares || !l.binding || !rungs)
        return EF_MEMORY;
    for (int i = 0; i < l.count; i++) {
        l.row[i] = i < line->station_count ? model->capacity_row[i] : model->power_row;
        l.original[i] = l.row[i] >= 0 ? efi_lp_row_bounds(model->lp, l.row[i]).upper : 0.0;
    }
    crop->rungs = rungs;
    ef_status status = climb(&l, most, crop, rungs);
    for (int i = 0; i < l.count && status == EF_OK; i++)
        if (l.raised[i])
            status = set_limit(&l, i, false);
    return status;
}
