/* SPDX-License-Identifier: GPL-3.0-or-later
 * Which flows the scales of an interval fix, and which scales the others check: linear algebra on the
 * balances.
 *
 *   unknowns   what flows on each spout, and what each intake receives
 *   equations  for each station but outlets: what comes in = what goes out; for each scale: a flow, or a sum
 * of flows, is known
 *
 * A flow is fixed when every solution of the equations without right sides has 0 there: when in the reduced
 * form of the matrix its column is a pivot whose row holds nothing else. What bins gain is left aside here.
 */
#include "answers/learn/totals.h"

#include <math.h>
#include <string.h>

/* Entries are sums of ones; what is smaller is rounding. */
#define NOTHING 1e-9

typedef struct matrix {
    int rows, columns;
    double *cell; /* shape [room][columns] */
} matrix;

static double *row_of(const matrix *m, int row)
{
    return m->cell + (size_t)row * (size_t)m->columns;
}

/* The flow that a scale shows, as a row. */
static void add_point(const efi_totals *t, const efi_point *point, double *row)
{
    for (int k = 0; k < t->line.spout_count; k++)
        row[k] += point->spout >= 0 ? k == point->spout : t->line.spouts[k].to == point->station;
    for (int i = 0; i < t->line.intake_count && point->spout < 0; i++)
        row[t->line.spout_count + i] += t->line.intakes[i] == point->station;
}

static void add_balances(const efi_totals *t, matrix *m)
{
    for (int s = 0; s < t->line.station_count; s++) {
        if (t->line.first_out[s] == t->line.first_out[s + 1])
            continue;
        double *row = row_of(m, m->rows++);
        memset(row, 0, (size_t)m->columns * sizeof *row);
        const efi_point feed = {s, -1, 0.0};
        add_point(t, &feed, row);
        for (int k = t->line.first_out[s]; k < t->line.first_out[s + 1]; k++)
            row[k] -= 1.0;
    }
}

/* Gauss and Jordan, the largest pivot of each column; pivot[column] is its row or -1. */
static void reduce(matrix *m, int *pivot)
{
    int next = 0;
    for (int c = 0; c < m->columns; c++) {
        int best = next;
        pivot[c] = -1;
        for (int r = next; r < m->rows; r++)
            if (fabs(row_of(m, r)[c]) > fabs(row_of(m, best)[c]))
                best = r;
        if (next >= m->rows || fabs(row_of(m, best)[c]) <= NOTHING)
            continue;
        for (int j = 0; j < m->columns; j++) {
            const double kept = row_of(m, best)[j];
            row_of(m, best)[j] = row_of(m, next)[j];
            row_of(m, next)[j] = kept;
        }
        double *top = row_of(m, next);
        const double scale = 1.0 / top[c];
        for (int j = 0; j < m->columns; j++)
            top[j] *= scale;
        for (int r = 0; r < m->rows; r++) {
            const double factor = row_of(m, r)[c];
            for (int j = 0; r != next && factor != 0.0 && j < m->columns; j++)
                row_of(m, r)[j] -= factor * top[j];
        }
        pivot[c] = next++;
    }
}

static bool is_alone(const matrix *m, const int *pivot, int column)
{
    if (pivot[column] < 0)
        return false;
    const double *row = row_of(m, pivot[column]);
    for (int j = 0; j < m->columns; j++)
        if (j != column && fabs(row[j]) > NOTHING)
            return false;
    return true;
}

/* Is the flow of a scale fixed by the reduced equations: does its row reduce to nothing? */
static bool is_fixed(const efi_totals *t, const matrix *m, const int *pivot, const efi_point *point,
                     double *row)
{
    memset(row, 0, (size_t)m->columns * sizeof *row);
    add_point(t, point, row);
    for (int c = 0; c < m->columns; c++)
        if (pivot[c] >= 0 && fabs(row[c]) > NOTHING) {
            const double factor = row[c];
            for (int j = 0; j < m->columns; j++)
                row[j] -= factor * row_of(m, pivot[c])[j];
        }
    for (int c = 0; c < m->columns; c++)
        if (fabs(row[c]) > NOTHING)
            return false;
    return true;
}

/* The equations of the balances and of these scales, reduced. */
static void build(const efi_totals *t, matrix *m, const bool *present, int left_out, int *pivot)
{
    m->rows = 0;
    add_balances(t, m);
    for (int p = 0; p < t->scale_count; p++) {
        if (!present[p] || p == left_out || t->points[p].station < 0)
            continue;
        double *row = row_of(m, m->rows++);
        memset(row, 0, (size_t)m->columns * sizeof *row);
        add_point(t, &t->points[p], row);
    }
    reduce(m, pivot);
}

ef_status efi_totals_observe(efi_totals *t)
{
    const size_t spouts = (size_t)t->line.spout_count;
    const size_t stations = (size_t)t->line.station_count;
    matrix m = {.columns = t->line.spout_count + t->line.intake_count};
    const size_t rows = stations + (size_t)t->scale_count;
    m.cell = efi_learn_get(t->run, rows * (size_t)m.columns, sizeof *m.cell);
    int *pivot = efi_learn_get(t->run, (size_t)m.columns, sizeof *pivot);
    double *row = efi_learn_get(t->run, (size_t)m.columns, sizeof *row);
    bool *present = efi_learn_get(t->run, (size_t)t->scale_count * 2, sizeof *present);
    if (!m.cell || !pivot || !row || !present)
        return EF_MEMORY;
    bool *before = present + t->scale_count;
    for (int i = 0; i < t->interval_count; i++) {
        bool same = i > 0;
        for (int p = 0; p < t->scale_count; p++) {
            present[p] = isfinite(t->measured_t[(size_t)i * (size_t)t->scale_count + (size_t)p]);
            same = same && present[p] == before[p];
            before[p] = present[p];
        }
        if (same) {
            memcpy(t->known + (size_t)i * spouts, t->known + (size_t)(i - 1) * spouts,
                   spouts * sizeof *t->known);
            memcpy(t->feed_known + (size_t)i * stations, t->feed_known + (size_t)(i - 1) * stations,
                   stations * sizeof *t->feed_known);
            continue;
        }
        build(t, &m, present, -1, pivot);
        for (size_t k = 0; k < spouts; k++)
            t->known[(size_t)i * spouts + k] = is_alone(&m, pivot, (int)k);
        for (size_t s = 0; s < stations; s++) {
            const efi_point feed = {(int)s, -1, 0.0};
            t->feed_known[(size_t)i * stations + s] = is_fixed(t, &m, pivot, &feed, row);
        }
        for (int p = 0; p < t->scale_count; p++) {
            if (!present[p] || t->points[p].station < 0 || t->scales[p].checked)
                continue;
            build(t, &m, present, p, pivot);
            t->scales[p].checked = is_fixed(t, &m, pivot, &t->points[p], row);
        }
    }
    return EF_OK;
}
