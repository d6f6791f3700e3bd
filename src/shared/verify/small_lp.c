/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/verify/small_lp.h"
#include "base/memory.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

/* Coefficients below this are rounding (the caller scales to about 1), and so are reduced costs below this
 * share of the largest of the objective. */
#define ROUNDING 1e-11
/* The artificial variable counts as driven out below this. */
#define INFEASIBLE_ABOVE 1e-9

/*
 * The dictionary: each basic variable is its right side less a combination of the others, and so is the
 * negated objective. Variables 0 .. columns - 1 are those of the program, then comes one slack for each row,
 * last the artificial one.
 */
typedef struct dictionary {
    int rows;
    int columns; /* of the program; the dictionary has one more, which the artificial variable enters by */
    double *
        cell; /* shape [rows + 1][columns + 2]: row `rows` is the objective, the last column the right side */
    int *basic;   /* shape [rows]: which variable a row defines */
    int *outside; /* shape [columns + 1]: which variable a column stands for */
} dictionary;

efi_small_lp *efi_small_lp_new(int rows, int columns)
{
    efi_small_lp *lp = efi_new(1, sizeof *lp);
    if (!lp)
        return NULL;
    lp->rows = rows;
    lp->columns = columns;
    lp->cell = efi_new((size_t)rows * (size_t)columns, sizeof *lp->cell);
    lp->limit = efi_new((size_t)rows, sizeof *lp->limit);
    lp->aim = efi_new((size_t)columns, sizeof *lp->aim);
    if (lp->cell && lp->limit && lp->aim)
        return lp;
    efi_small_lp_free(lp);
    return NULL;
}

void efi_small_lp_free(efi_small_lp *lp)
{
    if (!lp)
        return;
    efi_free(lp->cell);
    efi_free(lp->limit);
    efi_free(lp->aim);
    efi_free(lp);
}

void efi_small_lp_clear(efi_small_lp *lp)
{
    memset(lp->cell, 0, (size_t)lp->rows * (size_t)lp->columns * sizeof *lp->cell);
    memset(lp->limit, 0, (size_t)lp->rows * sizeof *lp->limit);
    memset(lp->aim, 0, (size_t)lp->columns * sizeof *lp->aim);
}

static double *row_of(const dictionary *d, int row)
{
    return d->cell + (size_t)row * ((size_t)d->columns + 2);
}

static double *right_side(const dictionary *d, int row)
{
    return row_of(d, row) + d->columns + 1;
}

/* The variable of `column` becomes basic in `row`, and the one that was basic there leaves. */
static void pivot(dictionary *d, int row, int column)
{
    double *chosen = row_of(d, row);
    const double inverse = 1.0 / chosen[column];
    chosen[column] = 1.0;
    for (int j = 0; j < d->columns + 2; j++)
        chosen[j] *= inverse;
    for (int i = 0; i <= d->rows; i++) {
        double *other = row_of(d, i);
        const double factor = other[column];
        if (i == row || factor == 0.0)
            continue;
        other[column] = 0.0;
        for (int j = 0; j < d->columns + 2; j++)
            other[j] -= factor * chosen[j];
    }
    const int leaving = d->basic[row];
    d->basic[row] = d->outside[column];
    d->outside[column] = leaving;
}

/* The column to enter, of those that improve the objective: the one that does most for each unit or, when
 * being careful, the one with the smallest variable; -1 for none. */
static int choose_column(const dictionary *d, int artificial, double rounding, bool careful)
{
    const double *objective = row_of(d, d->rows);
    int chosen = -1;
    for (int j = 0; j < d->columns + 1; j++) {
        if (!(objective[j] > rounding) || d->outside[j] == artificial)
            continue;
        if (chosen < 0 || (careful ? d->outside[j] < d->outside[chosen] : objective[j] > objective[chosen]))
            chosen = j;
    }
    return chosen;
}

/* The row that stops a column from growing first; among equals the one with the largest coefficient, since
 * small ones spoil the digits, or when being careful the one with the smallest variable. -1 when none does.
 */
static int choose_row(const dictionary *d, int column, bool careful)
{
    int chosen = -1;
    double least = INFINITY;
    for (int i = 0; i < d->rows; i++) {
        const double rise = row_of(d, i)[column];
        if (!(rise > ROUNDING))
            continue;
        const double room = fmax(*right_side(d, i), 0.0) / rise;
        const bool equal = chosen >= 0 && room == least;
        const bool better = equal &&
                            (careful ? d->basic[i] < d->basic[chosen] : rise > row_of(d, chosen)[column]);
        if (room < least || better) {
            least = room;
            chosen = i;
        }
    }
    return chosen;
}

/* Improves the objective, whose largest coefficient is `most`, to its end; careful, so that it cannot cycle,
 * when that takes long. `artificial` never enters. Returns false when there is no end. */
static bool climb(dictionary *d, int artificial, double most)
{
    const long quick = 50 + 2L * (d->rows + d->columns);
    for (long step = 0;; step++) {
        const bool careful = step > quick;
        const int column = choose_column(d, artificial, ROUNDING * most, careful);
        if (column < 0)
            return true;
        const int row = choose_row(d, column, careful);
        if (row < 0)
            return false;
        pivot(d, row, column);
    }
}

/* Finds a first point when some limit is negative; false when there is none. */
static bool start(dictionary *d, int artificial)
{
    int lowest = 0;
    for (int i = 1; i < d->rows; i++)
        if (*right_side(d, i) < *right_side(d, lowest))
            lowest = i;
    if (d->rows == 0 || !(*right_side(d, lowest) < 0.0))
        return true;
    for (int i = 0; i < d->rows; i++)
        row_of(d, i)[d->columns] = -1.0;
    row_of(d, d->rows)[d->columns] = -1.0;
    pivot(d, lowest, d->columns);
    climb(d, -1, 1.0); /* bounded: the artificial variable is not below 0 */
    for (int i = 0; i < d->rows; i++) {
        if (d->basic[i] != artificial)
            continue;
        if (*right_side(d, i) > INFEASIBLE_ABOVE)
            return false;
        int widest = 0;
        for (int j = 1; j < d->columns + 1; j++)
            if (fabs(row_of(d, i)[j]) > fabs(row_of(d, i)[widest]))
                widest = j;
        pivot(d, i, widest);
    }
    return true;
}

/* Writes the objective of the program in terms of what is outside the basis now. */
static void aim_at(dictionary *d, const efi_small_lp *lp)
{
    double *objective = row_of(d, d->rows);
    memset(objective, 0, ((size_t)d->columns + 2) * sizeof *objective);
    for (int j = 0; j < d->columns + 1; j++)
        if (d->outside[j] < d->columns)
            objective[j] = lp->aim[d->outside[j]];
    for (int i = 0; i < d->rows; i++) {
        const double weight = d->basic[i] < d->columns ? lp->aim[d->basic[i]] : 0.0;
        for (int j = 0; weight != 0.0 && j < d->columns + 2; j++)
            objective[j] -= weight * row_of(d, i)[j];
    }
}

static void load(dictionary *d, const efi_small_lp *lp)
{
    for (int i = 0; i < d->rows; i++) {
        memcpy(row_of(d, i), lp->cell + (size_t)i * (size_t)d->columns,
               (size_t)d->columns * sizeof *lp->cell);
        *right_side(d, i) = lp->limit[i];
        d->basic[i] = d->columns + i;
    }
    for (int j = 0; j < d->columns; j++)
        d->outside[j] = j;
    d->outside[d->columns] = d->columns + d->rows;
}

static void solve(dictionary *d, const efi_small_lp *lp, efi_small_outcome *outcome, double *best, double *x)
{
    const int artificial = d->columns + d->rows;
    load(d, lp);
    if (!start(d, artificial)) {
        *outcome = EFI_SMALL_INFEASIBLE;
        return;
    }
    double most = 0.0;
    for (int j = 0; j < d->columns; j++)
        most = fmax(most, fabs(lp->aim[j]));
    aim_at(d, lp);
    if (!climb(d, artificial, most)) {
        *outcome = EFI_SMALL_UNBOUNDED;
        return;
    }
    *outcome = EFI_SMALL_OPTIMAL;
    *best = -*right_side(d, d->rows);
    for (int j = 0; x && j < d->columns; j++)
        x[j] = 0.0;
    for (int i = 0; x && i < d->rows; i++)
        if (d->basic[i] < d->columns)
            x[d->basic[i]] = fmax(*right_side(d, i), 0.0);
}

ef_status efi_small_lp_solve(const efi_small_lp *lp, efi_small_outcome *outcome, double *best, double *x)
{
    dictionary d = {.rows = lp->rows, .columns = lp->columns};
    d.cell = efi_new(((size_t)d.rows + 1) * ((size_t)d.columns + 2), sizeof *d.cell);
    d.basic = efi_new((size_t)d.rows, sizeof *d.basic);
    d.outside = efi_new((size_t)d.columns + 1, sizeof *d.outside);
    const ef_status status = d.cell && d.basic && d.outside ? EF_OK : EF_MEMORY;
    if (status == EF_OK)
        solve(&d, lp, outcome, best, x);
    efi_free(d.cell);
    efi_free(d.basic);
    efi_free(d.outside);
    return status;
}
