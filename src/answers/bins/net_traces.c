/* SPDX-License-Identifier: GPL-3.0-or-later
 * The linear program of each trace of a network, kept from one set of volumes to the next; see net.h. */
#include "answers/bins/net.h"
#include "base/memory.h"

#include <math.h>
#include <string.h>

enum {
    BINS_MOST = EFI_FLUID_SEGMENTS_MOST - 1,
    ENTRIES_MOST = 256,
    KEPT = 8 /* volumes remembered at which a trace is not short */
};
/* A shortfall below this, t, is rounding of the solver. */
#define ROUNDING_T 1e-7
/* A slope below this, t short for each t of volume, is rounding of the solver. */
#define NO_SLOPE 1e-9

typedef struct program {
    efi_lp *lp;
    int intervals;
    double set_t; /* weighed: what would be short if nothing passed */
    double enough_t[KEPT][BINS_MOST];
    int kept, next;
} program;

struct efi_net_traces {
    const efi_net *net;
    int traces;
    double hours;
    efi_trace *stops; /* shape [traces][machines] */
    program *program; /* shape [traces] */
    int *next;        /* scratch, shape [machines] */
    double *gate_t;   /* scratch, shape [gates] */
    efi_lp_entry *entry;
};

/* ---- laying ---------------------------------------------------------------------------------------------
 */

static ef_status lay_trace(const efi_net_traces *t, uint64_t seed, int trace)
{
    const efi_net *net = t->net;
    efi_trace *at = t->stops + (size_t)trace * (size_t)net->machines;
    for (int u = 0; u < net->units; u++) {
        const efi_net_unit *unit = &net->unit[u];
        const efi_network_station *of = &net->plant->network.station[unit->station];
        efi_trace_basis basis = unit->basis;
        basis.horizon_h = t->hours;
        for (int m = 0; m < unit->machines; m++)
            EF_TRY(efi_trace_lay(of->mode, of->modes, of->key, m, seed, (uint64_t)trace, &basis, at++));
    }
    return EF_OK;
}

ef_status efi_net_lay(const efi_net *net, uint64_t seed, int traces, double hours, efi_net_traces **laid)
{
    const size_t count = (size_t)traces;
    efi_net_traces *t = efi_new(1, sizeof *t);
    if (!t)
        return EF_MEMORY;
    *t = (efi_net_traces){.net = net, .traces = traces, .hours = hours};
    t->stops = efi_new(count * (size_t)net->machines, sizeof *t->stops);
    t->program = efi_new(count, sizeof *t->program);
    t->next = efi_new((size_t)net->machines, sizeof *t->next);
    t->gate_t = efi_new((size_t)net->gates, sizeof *t->gate_t);
    t->entry = efi_new((size_t)net->sources + 4, sizeof *t->entry);
    ef_status status = t->stops && t->program && t->next && t->gate_t && t->entry ? EF_OK : EF_MEMORY;
    for (int i = 0; status == EF_OK && i < traces; i++)
        status = lay_trace(t, seed, i);
    if (status != EF_OK) {
        efi_net_free(t);
        return status;
    }
    *laid = t;
    return EF_OK;
}

void efi_net_free(efi_net_traces *traces)
{
    if (!traces)
        return;
    for (int i = 0; traces->program && i < traces->traces; i++)
        efi_lp_free(traces->program[i].lp);
    for (size_t i = 0; traces->stops && i < (size_t)traces->traces * (size_t)traces->net->machines; i++)
        efi_trace_free(&traces->stops[i]);
    efi_free(traces->stops);
    efi_free(traces->program);
    efi_free(traces->next);
    efi_free(traces->gate_t);
    efi_free(traces->entry);
    efi_free(traces);
}

/* ---- the grid -------------------------------------------------------------------------------------------
 */

/* Capacities in force at `now_h`: of each gate into gate_t, t/h, and all weighed set rates. Returns the hour
 * of the next change. `next` is kept from call to call, 0 at the beginning. */
static double read_gates(efi_net_traces *t, int trace, double now_h, double *set_tph)
{
    const efi_net *net = t->net;
    const efi_trace *at = t->stops + (size_t)trace * (size_t)net->machines;
    double change_h = t->hours;
    int machine = 0;
    *set_tph = 0.0;
    for (int g = 0; g < net->gates; g++)
        t->gate_t[g] = INFINITY;
    for (int u = 0; u < net->units; u++) {
        const efi_net_unit *unit = &net->unit[u];
        double running_tph = 0.0;
        for (int m = 0; m < unit->machines; m++, machine++) {
            const efi_trace *stops = &at[machine];
            int *next = &t->next[machine];
            while (*next < stops->stops && !(stops->stop[*next].to_h > now_h))
                (*next)++;
            const bool left = *next < stops->stops;
            const bool stopped = left && !(stops->stop[*next].from_h > now_h);
            if (left)
                change_h = fmin(change_h, stopped ? stops->stop[*next].to_h : stops->stop[*next].from_h);
            running_tph += stopped ? 0.0 : unit->capacity_tph;
        }
        t->gate_t[unit->gate] = fmin(t->gate_t[unit->gate], running_tph / unit->scale);
        for (int f = 0; f < net->feeds; f++)
            if (net->feed[f].unit == u)
                *set_tph += net->feed[f].weight * running_tph;
    }
    return change_h;
}

static void restart_grid(const efi_net_traces *t)
{
    memset(t->next, 0, (size_t)t->net->machines * sizeof *t->next);
}

int efi_net_intervals(const efi_net_traces *traces)
{
    efi_net_traces t = *traces;
    int most = 0;
    for (int i = 0; i < t.traces; i++) {
        int count = 0;
        double set_tph = 0.0;
        restart_grid(&t);
        for (double now_h = 0.0; now_h < t.hours; count++)
            now_h = read_gates(&t, i, now_h, &set_tph);
        most = count > most ? count : most;
    }
    return most;
}

/* ---- rows and columns -----------------------------------------------------------------------------------
 */

/* One trace on its way into a program. */
typedef struct adding {
    efi_net_traces *traces;
    efi_lp *lp;
    const int *volume; /* columns of the volumes; NULL: levels are bounded by numbers later */
    int row_short;     /* -1: what passes goes to the objective */
    int *level;        /* shape [bins]: columns of the last levels */
    int *source;       /* shape [sources]: columns of the interval */
} adding;

static ef_status add_row_of(const adding *a, const double *per_source, efi_lp_bounds bounds)
{
    int count = 0;
    for (int v = 0; v < a->traces->net->sources; v++)
        if (fabs(per_source[v]) > 0.0)
            a->traces->entry[count++] = (efi_lp_entry){a->source[v], per_source[v]};
    return efi_lp_add_row(a->lp, NULL, bounds, a->traces->entry, count, NULL);
}

/* Sources of the interval, bounded by the gates that concern one alone, and what they do for the feeds. */
static ef_status add_sources(const adding *a, double hours)
{
    const efi_net *net = a->traces->net;
    for (int v = 0; v < net->sources; v++) {
        double most_tph = INFINITY;
        double worth = 0.0;
        for (int g = 0; g < net->gates; g++)
            if (net->gate[g].only == v)
                most_tph = fmin(most_tph, a->traces->gate_t[g]);
        for (int f = 0; f < net->feeds; f++)
            worth += net->feed[f].weight * net->feed[f].per_source[v];
        EF_TRY(efi_lp_add_column(
            a->lp, NULL, isfinite(most_tph) ? efi_lp_between(0.0, most_tph * hours) : efi_lp_at_least(0.0),
            a->row_short < 0 ? -worth : 0.0, false, &a->source[v]));
        if (a->row_short >= 0 && fabs(worth) > 0.0)
            EF_TRY(efi_lp_set_entry(a->lp, a->row_short, a->source[v], worth));
    }
    return EF_OK;
}

/* level - level before - gain = 0; before the first: start share S, a number or a column. */
static ef_status add_level(const adding *a, int b, bool first)
{
    const efi_net *net = a->traces->net;
    const efi_net_bin *bin = &net->bin[b];
    efi_lp_entry *entry = a->traces->entry;
    int count = 0;
    int column = -1;
    EF_TRY(efi_lp_add_column(a->lp, NULL, efi_lp_at_least(0.0), 0.0, false, &column));
    entry[count++] = (efi_lp_entry){column, 1.0};
    if (!first)
        entry[count++] = (efi_lp_entry){a->level[b], -1.0};
    else if (a->volume)
        entry[count++] = (efi_lp_entry){a->volume[b], -bin->start_share};
    for (int v = 0; v < net->sources; v++)
        if (fabs(bin->gain[v]) > 0.0)
            entry[count++] = (efi_lp_entry){a->source[v], -bin->gain[v]};
    EF_TRY(efi_lp_add_row(a->lp, NULL, efi_lp_exactly(0.0), entry, count, NULL));
    if (a->volume) {
        const efi_lp_entry room[] = {{column, 1.0}, {a->volume[b], -1.0}};
        EF_TRY(efi_lp_add_row(a->lp, NULL, efi_lp_at_most(0.0), room, 2, NULL));
    }
    a->level[b] = column;
    return EF_OK;
}

static ef_status add_interval(const adding *a, double hours, bool first)
{
    const efi_net *net = a->traces->net;
    EF_TRY(add_sources(a, hours));
    for (int b = 0; b < net->bins; b++)
        EF_TRY(add_level(a, b, first));
    for (int g = 0; g < net->gates; g++)
        if (net->gate[g].only < 0 && isfinite(a->traces->gate_t[g]))
            EF_TRY(add_row_of(a, net->gate[g].per_source, efi_lp_at_most(a->traces->gate_t[g] * hours)));
    for (int p = 0; p < net->partings; p++)
        EF_TRY(add_row_of(a, net->parting[p], efi_lp_exactly(0.0)));
    return EF_OK;
}

static ef_status add_intervals(const adding *a, int trace, int *intervals, double *set_t)
{
    *intervals = 0;
    *set_t = 0.0;
    restart_grid(a->traces);
    for (double now_h = 0.0; now_h < a->traces->hours; (*intervals)++) {
        double set_tph = 0.0;
        const double end_h = read_gates(a->traces, trace, now_h, &set_tph);
        EF_TRY(add_interval(a, end_h - now_h, *intervals == 0));
        *set_t += set_tph * (end_h - now_h);
        now_h = end_h;
    }
    return EF_OK;
}

ef_status efi_net_add(void *traces, int trace, efi_lp *lp, const int *volume, int *short_column)
{
    efi_net_traces *t = traces;
    int level[BINS_MOST] = {0};
    int source[ENTRIES_MOST];
    int row = -1;
    int intervals = 0;
    double set_t = 0.0;
    if (t->net->sources > ENTRIES_MOST)
        return EF_USAGE;
    EF_TRY(efi_lp_add_column(lp, "short", efi_lp_at_least(0.0), 0.0, false, short_column));
    const efi_lp_entry own = {*short_column, 1.0};
    EF_TRY(efi_lp_add_row(lp, "set", efi_lp_exactly(0.0), &own, 1, &row));
    const adding a = {t, lp, volume, row, level, source};
    EF_TRY(add_intervals(&a, trace, &intervals, &set_t));
    return efi_lp_set_row_bounds(lp, row, efi_lp_exactly(set_t));
}

/* ---- one trace at given volumes -------------------------------------------------------------------------
 */

static ef_status build_program(efi_net_traces *t, int trace)
{
    program *p = &t->program[trace];
    int level[BINS_MOST] = {0};
    int source[ENTRIES_MOST];
    if (t->net->sources > ENTRIES_MOST)
        return EF_USAGE;
    p->lp = efi_lp_new();
    if (!p->lp)
        return EF_MEMORY;
    const adding a = {t, p->lp, NULL, -1, level, source};
    return add_intervals(&a, trace, &p->intervals, &p->set_t);
}

/* Column of a level, as add_interval lays them. */
static int level_column(const efi_net *net, int interval, int b)
{
    return interval * (net->sources + net->bins) + net->sources + b;
}

static ef_status set_volumes(const efi_net *net, const program *p, const double *volume_t)
{
    for (int b = 0; b < net->bins; b++) {
        EF_TRY(efi_lp_set_row_bounds(p->lp, b, efi_lp_exactly(net->bin[b].start_share * volume_t[b])));
        for (int e = 0; e < p->intervals; e++)
            EF_TRY(
                efi_lp_set_column_bounds(p->lp, level_column(net, e, b), efi_lp_between(0.0, volume_t[b])));
    }
    return EF_OK;
}

static ef_status solve_program(efi_lp *lp, efi_lp_result *solved)
{
    efi_lp_options options = efi_lp_defaults();
    options.is_fine = true;
    EF_TRY(efi_lp_solve(lp, &options, solved));
    if (solved->outcome == EFI_LP_OPTIMAL && solved->has_duals)
        return EF_OK;
    efi_lp_forget_basis(lp);
    options.is_fine = false;
    EF_TRY(efi_lp_solve(lp, &options, solved));
    return solved->outcome == EFI_LP_OPTIMAL && solved->has_duals ? EF_OK : EF_NO_ANSWER;
}

/* Not short with volumes that are nowhere larger? Then it is not short with these. */
static bool is_enough(const efi_net *net, const program *p, const double *volume_t)
{
    for (int k = 0; k < p->kept; k++) {
        int b = 0;
        while (b < net->bins && p->enough_t[k][b] <= volume_t[b])
            b++;
        if (b == net->bins)
            return true;
    }
    return false;
}

static void keep_enough(const efi_net *net, program *p, const double *volume_t)
{
    memcpy(p->enough_t[p->next], volume_t, (size_t)net->bins * sizeof *volume_t);
    p->next = (p->next + 1) % KEPT;
    p->kept = p->kept < KEPT ? p->kept + 1 : KEPT;
}

static ef_status run_trace(efi_net_traces *t, int trace, const double *volume_t, double *shortfall_t,
                           double *gradient)
{
    const efi_net *net = t->net;
    program *p = &t->program[trace];
    efi_lp_result solved;
    memset(gradient, 0, (size_t)net->bins * sizeof *gradient);
    *shortfall_t = 0.0;
    if (is_enough(net, p, volume_t))
        return EF_OK;
    if (!p->lp)
        EF_TRY(build_program(t, trace));
    EF_TRY(set_volumes(net, p, volume_t));
    EF_TRY(solve_program(p->lp, &solved));
    const double short_t = p->set_t + solved.objective;
    if (!(short_t > ROUNDING_T)) {
        keep_enough(net, p, volume_t);
        return EF_OK;
    }
    *shortfall_t = short_t;
    const double *cost = efi_lp_reduced_costs(p->lp);
    for (int b = 0; b < net->bins; b++) {
        gradient[b] = net->bin[b].start_share * efi_lp_duals(p->lp)[b];
        for (int e = 0; e < p->intervals; e++)
            gradient[b] += fmin(0.0, cost[level_column(net, e, b)]);
        if (!(gradient[b] < -NO_SLOPE))
            gradient[b] = 0.0;
    }
    return EF_OK;
}

ef_status efi_net_pass(void *traces, const double *volume_t, double *shortfall_t, double *gradient)
{
    efi_net_traces *t = traces;
    for (int i = 0; i < t->traces; i++)
        EF_TRY(run_trace(t, i, volume_t, &shortfall_t[i], gradient + (size_t)i * (size_t)t->net->bins));
    return EF_OK;
}
