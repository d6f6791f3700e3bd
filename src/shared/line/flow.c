/* SPDX-License-Identifier: GPL-3.0-or-later
 * Exact steady flows; the mathematics is in line.h. */
#include "shared/line/line.h"

#include <math.h>
#include <string.h>

/* A pivot smaller than this means a loop that lets nothing go (of shares, which are of size one). */
#define LEAST_PIVOT 1e-12

typedef struct system {
    const efi_line *line;
    int material;
    double *x;      /* shape [station]: feed of this material */
    double *matrix; /* shape [loop][loop + 1], the last column is the right side */
} system;

/* Feeds with the torn spouts carrying nothing but, where `torn` >= 0, one t/h of its own on that one; intakes
 * are counted when `rate` is given. */
static void forward(const system *sys, const double *rate, int torn)
{
    const efi_line *line = sys->line;
    memset(sys->x, 0, (size_t)line->station_count * sizeof *sys->x);
    for (int i = 0; rate && i < line->intake_count; i++)
        sys->x[line->intakes[i]] += rate[i] * line->receipt[sys->material];
    if (torn >= 0)
        sys->x[line->spouts[line->loops[torn]].to] += 1.0;
    for (int k = 0; k < line->spout_count; k++) {
        const efi_line_spout *spout = &line->spouts[k];
        if (!spout->closes_loop)
            sys->x[spout->to] += spout->share[sys->material] * sys->x[spout->from];
    }
}

/* What spout `loop` of the loops carries at the feeds of the last forward pass. */
static double carried(const system *sys, int loop)
{
    const efi_line_spout *spout = &sys->line->spouts[sys->line->loops[loop]];
    return spout->share[sys->material] * sys->x[spout->from];
}

/* Gaussian elimination with row pivoting on `n` equations; the solution ends in the last column. */
static bool eliminate(double *matrix, int n)
{
    const size_t width = (size_t)n + 1;
    for (int column = 0; column < n; column++) {
        int pivot = column;
        for (int row = column + 1; row < n; row++)
            if (fabs(matrix[(size_t)row * width + (size_t)column]) >
                fabs(matrix[(size_t)pivot * width + (size_t)column]))
                pivot = row;
        double *top = matrix + (size_t)column * width;
        double *chosen = matrix + (size_t)pivot * width;
        if (!(fabs(chosen[column]) > LEAST_PIVOT))
            return false;
        for (size_t j = 0; pivot != column && j < width; j++) {
            const double swap = top[j];
            top[j] = chosen[j];
            chosen[j] = swap;
        }
        for (int row = 0; row < n; row++) {
            double *other = matrix + (size_t)row * width;
            const double factor = row == column ? 0.0 : other[column] / top[column];
            for (size_t j = (size_t)column; factor != 0.0 && j < width; j++)
                other[j] -= factor * top[j];
        }
    }
    for (int row = 0; row < n; row++)
        matrix[(size_t)row * width + (size_t)n] /= matrix[(size_t)row * width + (size_t)row];
    return true;
}

/* Solves one material: t = c + B t for what the torn spouts carry, then the feeds that go with it. */
static bool solve_material(const system *sys, const double *rate, double *feed_tph)
{
    const efi_line *line = sys->line;
    const int n = line->loop_count;
    const size_t width = (size_t)n + 1;
    forward(sys, rate, -1);
    for (int s = 0; s < line->station_count; s++)
        feed_tph[(size_t)s * (size_t)line->materials + (size_t)sys->material] = sys->x[s];
    for (int row = 0; row < n; row++)
        sys->matrix[(size_t)row * width + (size_t)n] = carried(sys, row);
    for (int column = 0; column < n; column++) {
        forward(sys, NULL, column);
        for (int row = 0; row < n; row++)
            sys->matrix[(size_t)row * width + (size_t)column] = (row == column) - carried(sys, row);
    }
    if (!eliminate(sys->matrix, n))
        return false;
    for (int column = 0; column < n; column++) {
        const double amount = sys->matrix[(size_t)column * width + (size_t)n];
        if (amount == 0.0)
            continue;
        forward(sys, NULL, column);
        for (int s = 0; s < line->station_count; s++)
            feed_tph[(size_t)s * (size_t)line->materials + (size_t)sys->material] += amount * sys->x[s];
    }
    return true;
}

ef_status efi_line_flows(const efi_line *line, const double *rate_tph, double *feed_tph)
{
    const size_t n = (size_t)line->loop_count;
    system sys = {.line = line};
    sys.x = efi_new((size_t)line->station_count, sizeof *sys.x);
    sys.matrix = efi_new(n * (n + 1), sizeof *sys.matrix);
    ef_status status = sys.x && sys.matrix ? EF_OK : EF_MEMORY;
    for (sys.material = 0; status == EF_OK && sys.material < line->materials; sys.material++)
        if (!solve_material(&sys, rate_tph, feed_tph))
            status = EF_INTERNAL;
    efi_free(sys.x);
    efi_free(sys.matrix);
    return status;
}
