/* SPDX-License-Identifier: GPL-3.0-or-later
 * Totals adjusted least so that balances hold: least absolute deviations as a linear program.
 *
 *   sets       i intervals, k spouts, j intakes, b bins that can hold something, p scales with a total in i
 *   given      y[i,p] totals, t[p] what the scale usually shows (median), full[b], G[i,s] feeds of the first
 * solve variables  f[i,k] >= 0        tonnes on a spout r[i,j] >= 0        tonnes received 0 <= l[i,b] <=
 * full[b]  level at the end of the interval; l0[i,b] at its beginning where it does not follow on the one
 * before; g+[i,b], g-[i,b] >= 0 what the bin gained and lost a+[i,p], a-[i,p] >= 0   the adjustment up and
 * down s[k] >= 0          share of a discharge, common to all intervals; e+[i,k], e-[i,k] >= 0 minimise   sum
 * (a+ + a-) / t[p]  +  GAIN sum (g+ + g-) / T  +  SHARE sum (e+ + e-) / mean G balance    what comes into s =
 * what goes out of it + g+ - g- level      l[i,b] = l[before,b] + g+ - g- scale      flow at p = y[i,p] + a+
 * - a- share      f[i,k] - s[k] G[i,from(k)] = e+ - e-     where the scales fix all of a station's flows sum
 * sum over the discharges of a station of s[k] = 1
 *
 * Adjustments weigh each scale by what it usually shows: scales are wrong by so many per cent, not by so many
 * tonnes. GAIN and SHARE are small: a bin takes up what scales cannot explain otherwise within its volume,
 * and common shares decide between adjustments that are as small as each other. The first solve has no
 * shares; it gives G. Source of the method: Crowe, "Data reconciliation: progress and challenges", J. Process
 * Control 6, 1996, for balances; Bloomfield and Steiger, Least Absolute Deviations, 1983, for the objective
 * (both from memory). */
#include "answers/learn/totals.h"
#include "shared/lp/lp.h"

#include <math.h>

#define GAIN 0.02
/* The second solve may be worse in z by this share, so that rounding leaves it a solution. */
#define SLACK 1e-7

/* The program and where its columns are. */
typedef struct program {
    efi_totals *t;
    efi_lp *lp;
    int *flow;     /* shape [interval][spout] */
    int *received; /* shape [interval][intake] */
    int *gained;   /* shape [interval][station of the line]: the column of g+, g- is the next; -1 */
    int *level;    /* the same: of l; -1 */
    int *up;       /* shape [interval][scale]: the column of a+, a- is the next; -1 */
    int *share;    /* shape [spout]; -1 */
    double most;   /* of z in the second solve */
    efi_lp_entry *entry;
    int entries;
} program;

static void put(program *p, int column, double value)
{
    p->entry[p->entries++] = (efi_lp_entry){column, value};
}

static ef_status add_row(program *p, efi_lp_bounds bounds)
{
    const ef_status status = efi_lp_add_row(p->lp, NULL, bounds, p->entry, p->entries, NULL);
    p->entries = 0;
    return status;
}

static ef_status add_column(program *p, double price, int *column)
{
    return efi_lp_add_column(p->lp, NULL, efi_lp_at_least(0.0), price, false, column);
}

/* z may not grow, and is no longer what is minimised. */
static ef_status hold_first(program *p)
{
    const int columns = efi_lp_columns(p->lp);
    efi_lp_entry *entry = efi_learn_get(p->t->run, (size_t)columns, sizeof *entry);
    int entries = 0;
    if (!entry)
        return EF_MEMORY;
    for (int c = 0; c < columns; c++) {
        const double price = efi_lp_objective(p->lp, c);
        if (price == 0.0)
            continue;
        entry[entries++] = (efi_lp_entry){c, price};
        EF_TRY(efi_lp_set_objective(p->lp, c, 0.0));
    }
    return efi_lp_add_row(p->lp, NULL, efi_lp_at_most(p->most), entry, entries, NULL);
}

/* What comes into a station, as entries. */
static void put_feed(program *p, int interval, int station)
{
    const efi_line *line = &p->t->line;
    for (int k = 0; k < line->spout_count; k++)
        if (line->spouts[k].to == station)
            put(p, p->flow[interval * line->spout_count + k], 1.0);
    for (int j = 0; j < line->intake_count; j++)
        if (line->intakes[j] == station)
            put(p, p->received[interval * line->intake_count + j], 1.0);
}

static double largest_typical(const efi_totals *t)
{
    double most = 0.0;
    for (int i = 0; i < t->scale_count; i++)
        most = fmax(most, t->points[i].typical_t);
    return most > 0.0 ? most : 1.0;
}

static ef_status add_flows(program *p, int interval)
{
    const efi_line *line = &p->t->line;
    for (int k = 0; k < line->spout_count; k++)
        EF_TRY(add_column(p, 0.0, &p->flow[interval * line->spout_count + k]));
    for (int j = 0; j < line->intake_count; j++)
        EF_TRY(add_column(p, 0.0, &p->received[interval * line->intake_count + j]));
    return EF_OK;
}

/* Does an interval follow on the one before: does nothing pass between them? Without a calendar that is taken
 * to be so wherever they do not overlap, for totals are written down while a plant works. */
static bool follows(const efi_totals *t, int interval)
{
    const int64_t from_s = interval > 0 ? t->intervals[interval - 1].to_s : 0;
    const int64_t to_s = t->intervals[interval].from_s;
    if (interval == 0 || from_s > to_s)
        return false;
    return !t->run->learn->has_calendar || efi_learn_calendar_worked(t->run, from_s, to_s) == 0;
}

/* Levels of one bin: they go on from the interval before where this one follows on it. */
static ef_status add_level(program *p, int interval, int station, double price)
{
    const efi_totals *t = p->t;
    const int cell = interval * t->line.station_count + station;
    const efi_lp_bounds room = efi_lp_between(0.0, t->full_t[station]);
    int before;
    EF_TRY(add_column(p, price, &p->gained[cell]));
    EF_TRY(add_column(p, price, NULL));
    EF_TRY(efi_lp_add_column(p->lp, NULL, room, 0.0, false, &p->level[cell]));
    if (follows(t, interval))
        before = p->level[cell - t->line.station_count];
    else
        EF_TRY(efi_lp_add_column(p->lp, NULL, room, 0.0, false, &before));
    put(p, p->level[cell], 1.0);
    put(p, before, -1.0);
    put(p, p->gained[cell], -1.0);
    put(p, p->gained[cell] + 1, 1.0);
    return add_row(p, efi_lp_exactly(0.0));
}

static ef_status add_balances(program *p, int interval)
{
    const efi_line *line = &p->t->line;
    const double price = GAIN / largest_typical(p->t);
    for (int s = 0; s < line->station_count; s++) {
        const int cell = interval * line->station_count + s;
        p->gained[cell] = p->level[cell] = -1;
        if (line->first_out[s] == line->first_out[s + 1])
            continue;
        if (p->t->full_t[s] > 0.0)
            EF_TRY(add_level(p, interval, s, price));
        put_feed(p, interval, s);
        for (int k = line->first_out[s]; k < line->first_out[s + 1]; k++)
            put(p, p->flow[interval * line->spout_count + k], -1.0);
        if (p->gained[cell] >= 0) {
            put(p, p->gained[cell], -1.0);
            put(p, p->gained[cell] + 1, 1.0);
        }
        EF_TRY(add_row(p, efi_lp_exactly(0.0)));
    }
    return EF_OK;
}

static ef_status add_scales(program *p, int interval)
{
    const efi_totals *t = p->t;
    for (int s = 0; s < t->scale_count; s++) {
        const int cell = interval * t->scale_count + s;
        const efi_point *point = &t->points[s];
        p->up[cell] = -1;
        if (!isfinite(t->measured_t[cell]) || point->station < 0)
            continue;
        const double price = 1.0 / (point->typical_t > 0.0 ? point->typical_t : largest_typical(t));
        EF_TRY(add_column(p, price, &p->up[cell]));
        EF_TRY(add_column(p, price, NULL));
        if (point->spout >= 0)
            put(p, p->flow[interval * t->line.spout_count + point->spout], 1.0);
        else
            put_feed(p, interval, point->station);
        put(p, p->up[cell], -1.0);
        put(p, p->up[cell] + 1, 1.0);
        EF_TRY(add_row(p, efi_lp_exactly(t->measured_t[cell])));
    }
    return EF_OK;
}

/* ---- shares ---------------------------------------------------------------------------------------------
 */

static bool all_known(const efi_totals *t, int interval, int station)
{
    for (int k = t->line.first_out[station]; k < t->line.first_out[station + 1]; k++)
        if (!t->known[interval * t->line.spout_count + k])
            return false;
    return true;
}

static ef_status add_deviations(program *p, int station, double price)
{
    const efi_totals *t = p->t;
    for (int i = 0; i < t->interval_count; i++) {
        const double feed_t = efi_totals_feed(t, i, station);
        if (!(feed_t > 0.0) || !all_known(t, i, station))
            continue;
        for (int k = t->line.first_out[station]; k < t->line.first_out[station + 1]; k++) {
            int over;
            EF_TRY(add_column(p, price, &over));
            EF_TRY(add_column(p, price, NULL));
            put(p, p->flow[i * t->line.spout_count + k], 1.0);
            put(p, p->share[k], -feed_t);
            put(p, over, -1.0);
            put(p, over + 1, 1.0);
            EF_TRY(add_row(p, efi_lp_exactly(0.0)));
        }
    }
    return EF_OK;
}

/* Shares of one station where the scales fix its flows in some interval. */
static ef_status add_shares(program *p, int station)
{
    const efi_totals *t = p->t;
    double sum_t = 0.0;
    int seen = 0;
    for (int i = 0; i < t->interval_count; i++) {
        const double feed_t = efi_totals_feed(t, i, station);
        if (feed_t > 0.0 && all_known(t, i, station)) {
            sum_t += feed_t;
            seen++;
        }
    }
    if (seen == 0)
        return EF_OK;
    for (int k = t->line.first_out[station]; k < t->line.first_out[station + 1]; k++) {
        EF_TRY(add_column(p, 0.0, &p->share[k]));
        put(p, p->share[k], 1.0);
    }
    EF_TRY(add_row(p, efi_lp_exactly(1.0)));
    return add_deviations(p, station, seen / sum_t);
}

/* ---- solving --------------------------------------------------------------------------------------------
 */

static ef_status build(program *p, bool with_shares)
{
    const efi_totals *t = p->t;
    p->lp = efi_lp_new();
    if (!p->lp)
        return EF_MEMORY;
    for (int k = 0; k < t->line.spout_count; k++)
        p->share[k] = -1;
    for (int i = 0; i < t->interval_count; i++) {
        EF_TRY(add_flows(p, i));
        EF_TRY(add_balances(p, i));
        EF_TRY(add_scales(p, i));
    }
    if (with_shares)
        EF_TRY(hold_first(p));
    for (int s = 0; with_shares && s < t->line.station_count; s++)
        if (efi_totals_shares(t, s))
            EF_TRY(add_shares(p, s));
    return EF_OK;
}

/* To a millionth of a tonne, so that it is the same on every machine. */
static double rounded(double tonnes)
{
    return round(tonnes * 1e6) / 1e6;
}

static void take(program *p, const double *x)
{
    efi_totals *t = p->t;
    const efi_line *line = &t->line;
    for (int i = 0; i < t->interval_count; i++) {
        for (int k = 0; k < line->spout_count; k++)
            t->flow_t[i * line->spout_count + k] = rounded(x[p->flow[i * line->spout_count + k]]);
        for (int j = 0; j < line->intake_count; j++)
            t->received_t[i * line->intake_count + j] = rounded(x[p->received[i * line->intake_count + j]]);
        for (int s = 0; s < line->station_count; s++) {
            const int g = p->gained[i * line->station_count + s];
            if (g >= 0)
                t->gain_t[i * t->run->scenario->station_count + line->stations[s].station] = rounded(
                    x[g] - x[g + 1]);
        }
        for (int s = 0; s < t->scale_count; s++) {
            const int up = p->up[i * t->scale_count + s];
            if (up >= 0)
                t->adjusted_t[i * t->scale_count + s] = rounded(t->measured_t[i * t->scale_count + s] +
                                                                x[up] - x[up + 1]);
        }
    }
}

static ef_status solve(program *p, bool with_shares)
{
    efi_lp_result result = {0};
    ef_status status = build(p, with_shares);
    if (status == EF_OK)
        status = efi_lp_solve(p->lp, NULL, &result);
    if (status == EF_OK && result.outcome != EFI_LP_OPTIMAL)
        status = EF_INTERNAL;
    if (status == EF_OK) {
        take(p, efi_lp_values(p->lp));
        p->most = result.objective * (1.0 + SLACK) + SLACK;
    }
    efi_lp_free(p->lp);
    efi_lp_thread_end();
    return status;
}

static double objective_of(const efi_totals *t)
{
    double sum = 0.0;
    for (int i = 0; i < t->interval_count; i++)
        for (int s = 0; s < t->scale_count; s++) {
            const int cell = i * t->scale_count + s;
            const double typical_t = t->points[s].typical_t > 0.0 ? t->points[s].typical_t
                                                                  : largest_typical(t);
            if (isfinite(t->measured_t[cell]))
                sum += fabs(t->adjusted_t[cell] - t->measured_t[cell]) / typical_t;
        }
    return sum;
}

ef_status efi_totals_reconcile(efi_totals *t)
{
    const size_t n = (size_t)t->interval_count;
    const size_t stations = n * (size_t)t->line.station_count;
    program p = {.t = t};
    p.flow = efi_learn_get(t->run, n * (size_t)t->line.spout_count, sizeof *p.flow);
    p.received = efi_learn_get(t->run, n * (size_t)t->line.intake_count, sizeof *p.received);
    p.gained = efi_learn_get(t->run, stations, sizeof *p.gained);
    p.level = efi_learn_get(t->run, stations, sizeof *p.level);
    p.up = efi_learn_get(t->run, n * (size_t)t->scale_count, sizeof *p.up);
    p.share = efi_learn_get(t->run, (size_t)t->line.spout_count, sizeof *p.share);
    p.entry = efi_learn_get(t->run, 2 * (size_t)t->line.spout_count + (size_t)t->line.intake_count + 8,
                            sizeof *p.entry);
    if (!p.flow || !p.received || !p.gained || !p.level || !p.up || !p.share || !p.entry)
        return EF_MEMORY;
    if (t->interval_count == 0)
        return EF_OK;
    EF_TRY(solve(&p, false));
    EF_TRY(solve(&p, true));
    t->run->learn->objective = objective_of(t);
    return EF_OK;
}
