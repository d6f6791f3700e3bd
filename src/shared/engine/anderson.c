/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/anderson.h"

#include <math.h>

/* A difference that lies in the span of the others but for this share of its length says nothing new. */
#define DEPENDENT 1e-10

ef_status efi_anderson_build(efi_anderson *anderson, int n, efi_arena *arena)
{
    const size_t length = (size_t)n + 1;
    *anderson = (efi_anderson){.n = n};
    double **const vectors[] = {&anderson->x_last, &anderson->f_last};
    for (size_t k = 0; k < EF_COUNT(vectors); k++)
        if (!(*vectors[k] = efi_arena_get(arena, length, sizeof(double))))
            return EF_MEMORY;
    double **const columns[] = {&anderson->dx, &anderson->df, &anderson->q};
    for (size_t k = 0; k < EF_COUNT(columns); k++)
        if (!(*columns[k] = efi_arena_get(arena, length * EFI_ANDERSON_DEPTH, sizeof(double))))
            return EF_MEMORY;
    return EF_OK;
}

void efi_anderson_start(efi_anderson *anderson)
{
    anderson->stored = anderson->next = 0;
    anderson->has_last = false;
}

static double dot(const double *a, const double *b, int n)
{
    double sum = 0.0;
    for (int i = 0; i < n; i++)
        sum += a[i] * b[i];
    return sum;
}

/* f of entry i; 0 where it is infinite. */
static double step_of(const double *x, const double *fx, int i)
{
    return x[i] < INFINITY && fx[i] < INFINITY ? fx[i] - x[i] : 0.0;
}

/* Adds the newest difference as a column. */
static void learn(efi_anderson *anderson, const double *x, const double *fx)
{
    const int n = anderson->n;
    double *dx = anderson->dx + (size_t)anderson->next * (size_t)n;
    double *df = anderson->df + (size_t)anderson->next * (size_t)n;
    for (int i = 0; i < n; i++) {
        const double f = step_of(x, fx, i);
        const bool is_finite = x[i] < INFINITY && fx[i] < INFINITY && anderson->x_last[i] < INFINITY;
        if (anderson->has_last) {
            dx[i] = is_finite ? x[i] - anderson->x_last[i] : 0.0;
            df[i] = is_finite ? f - anderson->f_last[i] : 0.0;
        }
        anderson->x_last[i] = x[i];
        anderson->f_last[i] = f;
    }
    if (anderson->has_last) {
        anderson->next = (anderson->next + 1) % EFI_ANDERSON_DEPTH;
        if (anderson->stored < EFI_ANDERSON_DEPTH)
            anderson->stored++;
    }
    anderson->has_last = true;
}

void efi_anderson_next(efi_anderson *anderson, const double *x, double *fx)
{
    learn(anderson, x, fx);
    const int n = anderson->n;
    const int columns = anderson->stored;
    double r[EFI_ANDERSON_DEPTH][EFI_ANDERSON_DEPTH] = {{0.0}};
    double along[EFI_ANDERSON_DEPTH] = {0.0}; /* Q' f */
    bool is_used[EFI_ANDERSON_DEPTH] = {false};
    for (int c = 0; c < columns; c++) {
        double *q = anderson->q + (size_t)c * (size_t)n;
        const double *df = anderson->df + (size_t)c * (size_t)n;
        for (int i = 0; i < n; i++)
            q[i] = df[i];
        const double length = sqrt(dot(df, df, n));
        for (int p = 0; p < c; p++) {
            const double *earlier = anderson->q + (size_t)p * (size_t)n;
            if (!is_used[p])
                continue;
            r[p][c] = dot(earlier, q, n);
            for (int i = 0; i < n; i++)
                q[i] -= r[p][c] * earlier[i];
        }
        const double left = sqrt(dot(q, q, n));
        is_used[c] = left > DEPENDENT * length;
        if (!is_used[c])
            continue;
        r[c][c] = left;
        for (int i = 0; i < n; i++)
            q[i] /= left;
        along[c] = dot(q, anderson->f_last, n);
    }
    for (int c = columns - 1; c >= 0; c--) {
        if (!is_used[c])
            continue;
        double g = along[c];
        for (int p = c + 1; p < columns; p++)
            if (is_used[p])
                g -= r[c][p] * along[p];
        g /= r[c][c];
        along[c] = g;
        const double *dx = anderson->dx + (size_t)c * (size_t)n;
        const double *df = anderson->df + (size_t)c * (size_t)n;
        for (int i = 0; i < n; i++)
            if (fx[i] < INFINITY)
                fx[i] -= g * (dx[i] + df[i]);
    }
}
