/* SPDX-License-Identifier: GPL-3.0-or-later
 * Totals balanced again: what comes into a station leaves it or stays in its bin, adjusted totals are those
 * of the flows, no interval could do with less adjustment, no transfer between two discharges fits better. */
#include "shared/verify/learn.h"

#include "base/memory.h"
#include "shared/verify/small_lp.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Sums of tonnes rounded to a millionth. */
#define TONNE_SLACK 1e-4
/* The least adjustment may be missed by this share, and sums by this. */
#define LEAST_SLACK 1e-4
/* What a bin's gain costs beside an adjustment; see the answer. */
#define GAIN 0.02

typedef struct totals {
    efi_differences *list;
    const ef_scenario *scenario;
    const ef_learn *learn;
    double *typical_t; /* shape [scale] */
    double largest_t;
} totals;

static bool leaves(const totals *t, int station)
{
    for (int k = 0; k < t->learn->spout_count; k++)
        if (t->learn->spouts[k].from == station)
            return true;
    return false;
}

static bool is_intake(const totals *t, int station)
{
    return efi_station_class((efi_station_kind)t->scenario->stations[station].kind) == EFI_CLASS_INTAKE;
}

/* Does this spout carry what the scale shows? For an intake what it gives away stands for what it receives.
 */
static bool is_at(const totals *t, const ef_learn_scale *scale, int spout)
{
    const ef_learn_spout *of = &t->learn->spouts[spout];
    if (scale->discharge)
        return of->from == scale->station && strcmp(of->discharge, scale->discharge) == 0;
    return is_intake(t, scale->station) ? of->from == scale->station : of->to == scale->station;
}

static bool is_on_line(const totals *t, const ef_learn_scale *scale)
{
    for (int k = 0; k < t->learn->spout_count; k++)
        if (is_at(t, scale, k))
            return true;
    return false;
}

/* ---- one interval ---------------------------------------------------------------------------------------
 */

static void check_balances(const totals *t, const ef_learn_interval *interval)
{
    for (int s = 0; s < t->learn->scenario_stations; s++) {
        double in_t = 0.0;
        double out_t = 0.0;
        if (!leaves(t, s) || is_intake(t, s))
            continue;
        for (int k = 0; k < t->learn->spout_count; k++) {
            in_t += t->learn->spouts[k].to == s ? interval->flow_t[k] : 0.0;
            out_t += t->learn->spouts[k].from == s ? interval->flow_t[k] : 0.0;
        }
        if (!(fabs(in_t - out_t - interval->gain_t[s]) <= TONNE_SLACK))
            efi_differ(t->list, "%s takes %.9g t, gives %.9g t and gains %.9g t",
                       t->scenario->stations[s].name, in_t, out_t, interval->gain_t[s]);
        if (interval->gain_t[s] != 0.0 &&
            efi_station_class((efi_station_kind)t->scenario->stations[s].kind) != EFI_CLASS_BIN)
            efi_differ(t->list, "%s is no bin, but gains", t->scenario->stations[s].name);
    }
    for (int k = 0; k < t->learn->spout_count; k++)
        if (!(interval->flow_t[k] >= -TONNE_SLACK))
            efi_differ(t->list, "a spout carries %.9g t", interval->flow_t[k]);
}

static void check_adjusted(const totals *t, const ef_learn_interval *interval)
{
    for (int p = 0; p < t->learn->scale_count; p++) {
        const ef_learn_scale *scale = &t->learn->scales[p];
        double flow_t = 0.0;
        if (!isfinite(interval->measured_t[p]) || !is_on_line(t, scale))
            continue;
        for (int k = 0; k < t->learn->spout_count; k++)
            flow_t += is_at(t, scale, k) ? interval->flow_t[k] : 0.0;
        if (!(fabs(flow_t - interval->adjusted_t[p]) <= TONNE_SLACK))
            efi_differ(t->list, "%s is adjusted to %.9g t, the flows there are %.9g t", scale->name,
                       interval->adjusted_t[p], flow_t);
    }
}

static double price_of(const totals *t, int scale)
{
    return 1.0 / (t->typical_t[scale] > 0.0 ? t->typical_t[scale] : t->largest_t);
}

/* What a bin can hold, t; 0 for others and where it is not known. */
static double room_of(const totals *t, int station)
{
    const efi_station *of = &t->scenario->stations[station];
    const int crop = ef_scenario_find_crop(t->scenario, t->learn->crop);
    double m3_per_t = 0.0;
    if (efi_station_class((efi_station_kind)of->kind) != EFI_CLASS_BIN || !of->live_m3.given || crop < 0)
        return 0.0;
    for (int m = 0; m < t->scenario->material_count; m++) {
        const efi_value density = efi_scenario_density(t->scenario, crop, m);
        const double share = t->scenario->crops[crop].receipt[m];
        if (share > 0.0 && !density.given)
            return 0.0;
        m3_per_t += share > 0.0 ? share / density.value : 0.0;
    }
    return m3_per_t > 0.0 ? of->live_m3.value / m3_per_t : 0.0;
}

/* ---- least adjustment -----------------------------------------------------------------------------------
 */

/* Adds a column to both rows of an equation. */
static void set_both(efi_small_lp *lp, int row, int column, double value)
{
    lp->cell[row * lp->columns + column] += value;
    lp->cell[(row + 1) * lp->columns + column] -= value;
}

/* The program of one interval alone; bins may gain and lose all they hold. Columns: spouts, then up and down
 * of each scale, then gain and loss of each station. Returns the number of rows. */
static int fill_program(const totals *t, const ef_learn_interval *interval, efi_small_lp *lp)
{
    const int spouts = t->learn->spout_count;
    const int scales = t->learn->scale_count;
    int row = 0;
    for (int s = 0; s < t->learn->scenario_stations; s++) {
        const int gain = spouts + 2 * scales + 2 * s;
        const double room = room_of(t, s);
        if (!leaves(t, s) || is_intake(t, s))
            continue;
        for (int k = 0; k < spouts; k++)
            set_both(lp, row, k, (t->learn->spouts[k].to == s) - (t->learn->spouts[k].from == s));
        if (room > 0.0) {
            set_both(lp, row, gain, -1.0);
            set_both(lp, row, gain + 1, 1.0);
            lp->aim[gain] = lp->aim[gain + 1] = -GAIN / t->largest_t;
            lp->cell[(row + 2) * lp->columns + gain] = lp->cell[(row + 3) * lp->columns + gain + 1] = 1.0;
            lp->limit[row + 2] = lp->limit[row + 3] = room;
            row += 2;
        }
        row += 2;
    }
    for (int p = 0; p < scales; p++) {
        const int up = spouts + 2 * p;
        if (!isfinite(interval->measured_t[p]) || !is_on_line(t, &t->learn->scales[p]))
            continue;
        for (int k = 0; k < spouts; k++)
            if (is_at(t, &t->learn->scales[p], k))
                set_both(lp, row, k, 1.0);
        set_both(lp, row, up, -1.0);
        set_both(lp, row, up + 1, 1.0);
        lp->limit[row] = interval->measured_t[p];
        lp->limit[row + 1] = -interval->measured_t[p];
        lp->aim[up] = lp->aim[up + 1] = -price_of(t, p);
        row += 2;
    }
    return row;
}

/* The least that the adjustments and gains of all intervals can cost, each interval for itself. */
static ef_status least_cost(const totals *t, double *least)
{
    const int rows = 4 * t->learn->scenario_stations + 2 * t->learn->scale_count;
    const int columns = t->learn->spout_count + 2 * t->learn->scale_count + 2 * t->learn->scenario_stations;
    *least = 0.0;
    for (int i = 0; i < t->learn->interval_count; i++) {
        efi_small_lp *lp = efi_small_lp_new(rows, columns);
        efi_small_outcome outcome = EFI_SMALL_INFEASIBLE;
        double best = 0.0;
        if (!lp)
            return EF_MEMORY;
        (void)fill_program(t, &t->learn->intervals[i], lp);
        const ef_status status = efi_small_lp_solve(lp, &outcome, &best, NULL);
        efi_small_lp_free(lp);
        EF_TRY(status);
        if (outcome != EFI_SMALL_OPTIMAL)
            efi_differ(t->list, "interval %d cannot be balanced at all", i + 1);
        *least -= best;
    }
    return EF_OK;
}

static ef_status check_least(const totals *t)
{
    double adjusted = 0.0;
    double gained = 0.0;
    double least;
    bool has_bins = false;
    for (int s = 0; s < t->learn->scenario_stations; s++)
        has_bins = has_bins || (leaves(t, s) && room_of(t, s) > 0.0);
    for (int i = 0; i < t->learn->interval_count; i++) {
        const ef_learn_interval *interval = &t->learn->intervals[i];
        for (int p = 0; p < t->learn->scale_count; p++)
            if (isfinite(interval->measured_t[p]))
                adjusted += fabs(interval->adjusted_t[p] - interval->measured_t[p]) * price_of(t, p);
        for (int s = 0; s < t->learn->scenario_stations; s++)
            gained += fabs(interval->gain_t[s]) * GAIN / t->largest_t;
    }
    efi_differ_number(t->list, "sum of adjustments", "", t->learn->objective, adjusted, LEAST_SLACK);
    EF_TRY(least_cost(t, &least));
    const double claimed = adjusted + gained;
    if (claimed < least - LEAST_SLACK * (1.0 + least))
        efi_differ(t->list, "the adjustments cost %.9g, which is less than is possible, %.9g", claimed,
                   least);
    if (!has_bins && claimed > least + LEAST_SLACK * (1.0 + least))
        efi_differ(t->list, "the adjustments cost %.9g, %.9g would do", claimed, least);
    return EF_OK;
}

/* ---- shares ---------------------------------------------------------------------------------------------
 */

static int spout_of(const totals *t, const ef_learn_share *share)
{
    for (int k = 0; k < t->learn->spout_count; k++)
        if (strcmp(t->scenario->stations[t->learn->spouts[k].from].name, share->station) == 0 &&
            strcmp(t->learn->spouts[k].discharge, share->discharge) == 0)
            return k;
    return -1;
}

/* Sum of |flow - share x feed| over the intervals in which all flows out of the station are known. */
static double deviation(const totals *t, int spout, double share)
{
    const int station = t->learn->spouts[spout].from;
    double sum = 0.0;
    for (int i = 0; i < t->learn->interval_count; i++) {
        const ef_learn_interval *interval = &t->learn->intervals[i];
        double feed_t = 0.0;
        bool known = true;
        for (int k = 0; k < t->learn->spout_count; k++) {
            known = known && (t->learn->spouts[k].from != station || interval->known[k]);
            feed_t += t->learn->spouts[k].to == station ? interval->flow_t[k] : 0.0;
        }
        if (known && feed_t > 0.0)
            sum += fabs(interval->flow_t[spout] - share * feed_t);
    }
    return sum;
}

/* Of a separable convex sum with a fixed total no transfer between two is better at the optimum, and only
 * there. */
static void check_transfers(const totals *t, int first, int count)
{
    const double step = 1e-4;
    double sum = 0.0;
    for (int a = first; a < first + count; a++) {
        const ef_learn_share *from = &t->learn->shares[a];
        sum += from->share.value;
        for (int b = first; b < first + count; b++) {
            const ef_learn_share *to = &t->learn->shares[b];
            const int ka = spout_of(t, from);
            const int kb = spout_of(t, to);
            if (a == b || ka < 0 || kb < 0 || from->share.value < step)
                continue;
            const double now = deviation(t, ka, from->share.value) + deviation(t, kb, to->share.value);
            const double moved = deviation(t, ka, from->share.value - step) +
                                 deviation(t, kb, to->share.value + step);
            if (moved < now - TONNE_SLACK * (1.0 + now * 1e-3))
                efi_differ(t->list, "%s: %s less and %s more would fit better", from->station,
                           from->discharge, to->discharge);
        }
    }
    efi_differ_number(t->list, "sum of the shares of a station", "", sum, 1.0, 1e-6);
}

static void check_shares(const totals *t)
{
    for (int first = 0; first < t->learn->share_count;) {
        int count = 1;
        bool seen = t->learn->shares[first].seen;
        while (first + count < t->learn->share_count &&
               strcmp(t->learn->shares[first + count].station, t->learn->shares[first].station) == 0)
            seen = t->learn->shares[first + count++].seen && seen;
        if (seen && !is_intake(t, t->learn->spouts[spout_of(t, &t->learn->shares[first])].from))
            check_transfers(t, first, count);
        for (int i = first; i < first + count; i++) {
            const ef_learn_share *share = &t->learn->shares[i];
            if (share->seen &&
                !(share->share.low <= share->share.value && share->share.value <= share->share.high))
                efi_differ(t->list, "the share of %s, %s lies outside its limits", share->station,
                           share->discharge);
        }
        first += count;
    }
}

/* ---- scales ---------------------------------------------------------------------------------------------
 */

static int rising(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a > b) - (a < b);
}

static void check_scale(const totals *t, int p, double *sorted)
{
    const ef_learn_scale *scale = &t->learn->scales[p];
    double measured_t = 0.0;
    double adjusted_t = 0.0;
    int all = 0;
    int count = 0;
    for (int i = 0; i < t->learn->interval_count; i++) {
        const ef_learn_interval *interval = &t->learn->intervals[i];
        if (!isfinite(interval->measured_t[p]))
            continue;
        all++;
        measured_t += interval->measured_t[p];
        adjusted_t += interval->adjusted_t[p];
        if (interval->measured_t[p] > 0.0)
            sorted[count++] = interval->measured_t[p];
    }
    qsort(sorted, (size_t)count, sizeof *sorted, rising);
    t->typical_t[p] = count ? sorted[count / 2] : 0.0;
    efi_differ_count(t->list, "intervals of a scale", scale->intervals, all);
    efi_differ_number(t->list, "tonnes of a scale", "t", scale->measured_t, measured_t, TONNE_SLACK);
    efi_differ_number(t->list, "adjusted tonnes of a scale", "t", scale->adjusted_t, adjusted_t, TONNE_SLACK);
    if (scale->has_rate && scale->has_capacity)
        efi_differ_flag(t->list, "rate above the capacity", scale->capacity_disagrees,
                        scale->rate_tph.low > scale->capacity_tph);
}

ef_status efi_verify_totals(efi_differences *list, const ef_scenario *scenario, const ef_learn *learn)
{
    totals t = {.list = list, .scenario = scenario, .learn = learn};
    t.typical_t = efi_new((size_t)learn->scale_count, sizeof *t.typical_t);
    double *sorted = efi_new((size_t)learn->interval_count, sizeof *sorted);
    ef_status status = t.typical_t && sorted ? EF_OK : EF_MEMORY;
    for (int p = 0; status == EF_OK && p < learn->scale_count; p++) {
        check_scale(&t, p, sorted);
        t.largest_t = fmax(t.largest_t, t.typical_t[p]);
    }
    t.largest_t = t.largest_t > 0.0 ? t.largest_t : 1.0;
    for (int i = 0; status == EF_OK && i < learn->interval_count; i++) {
        check_balances(&t, &learn->intervals[i]);
        check_adjusted(&t, &learn->intervals[i]);
    }
    if (status == EF_OK)
        check_shares(&t);
    if (status == EF_OK && learn->interval_count > 0)
        status = check_least(&t);
    efi_free(t.typical_t);
    efi_free(sorted);
    return status;
}
