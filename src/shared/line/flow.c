/* SPDX-License-Identifier: GPL-3.0-or-later
 * Exact steady flows, and what streams entering somewhere cause; the mathematics is in line.h. */
#include "shared/line/line.h"

#include <math.h>
#include <string.h>

/* A pivot smaller than this means a loop that lets nothing go (of shares, which are of size one). */
#define LEAST_PIVOT 1e-12

/*
 * Passes: first one for each load, with the torn spouts carrying nothing, then one for each torn spout, with
 * nothing entering but one t/h of every material on that spout. All materials go through at once. Loads are
 * what enters the line: each source on its own, or, without sources, the receipts of all intakes together.
 */
typedef struct system {
    const efi_line *line;
    const double *rate_tph;         /* shape [intake]; NULL with sources */
    const efi_line_source *sources; /* shape [load] */
    int loads;
    double *x;        /* shape [pass][station][material] */
    double *matrix;   /* shape [loop][loop + load]: the right sides come last */
    double *feed_tph; /* shape [load][station][material] */
} system;

static double *row_of(const system *sys, double *array, int pass, int station)
{
    const efi_line *line = sys->line;
    return array + ((size_t)pass * (size_t)line->station_count + (size_t)station) * (size_t)line->materials;
}

static void enter(const system *sys, double *to, const double *stream_tph, double factor)
{
    for (int m = 0; m < sys->line->materials; m++)
        to[m] += factor * stream_tph[m];
}

/* What enters in a pass, the rest being 0. */
static void start(const system *sys, int pass)
{
    const efi_line *line = sys->line;
    if (pass >= sys->loads) {
        double *to = row_of(sys, sys->x, pass, line->spouts[line->loops[pass - sys->loads]].to);
        for (int m = 0; m < line->materials; m++)
            to[m] = 1.0;
    } else if (sys->sources) {
        const efi_line_source *source = &sys->sources[pass];
        enter(sys, row_of(sys, sys->x, pass, source->station), source->stream_tph, 1.0);
    } else {
        for (int i = 0; i < line->intake_count; i++)
            enter(sys, row_of(sys, sys->x, pass, line->intakes[i]), line->receipt, sys->rate_tph[i]);
    }
}

static void forward(const system *sys, int pass)
{
    const efi_line *line = sys->line;
    start(sys, pass);
    for (int k = 0; k < line->spout_count; k++) {
        const efi_line_spout *spout = &line->spouts[k];
        if (spout->closes_loop)
            continue;
        const double *from = row_of(sys, sys->x, pass, spout->from);
        double *to = row_of(sys, sys->x, pass, spout->to);
        for (int m = 0; m < line->materials; m++)
            to[m] += spout->share[m] * from[m];
    }
}

/* What spout `loop` of the loops carries of a material in a pass. */
static double carried(const system *sys, int loop, int pass, int material)
{
    const efi_line_spout *spout = &sys->line->spouts[sys->line->loops[loop]];
    return spout->share[material] * row_of(sys, sys->x, pass, spout->from)[material];
}

/* Gaussian elimination with row pivoting on `n` equations with `sides` right sides, which become solutions.
 */
static bool eliminate(double *matrix, int n, int sides)
{
    const size_t width = (size_t)n + (size_t)sides;
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
        for (size_t side = (size_t)n; side < width; side++)
            matrix[(size_t)row * width + side] /= matrix[(size_t)row * width + (size_t)row];
    return true;
}

/* Does anything enter of this material? */
static bool is_present(const system *sys, int material)
{
    for (int load = 0; load < sys->loads; load++) {
        if (sys->sources && sys->sources[load].stream_tph[material] != 0.0)
            return true;
        for (int i = 0; !sys->sources && i < sys->line->intake_count; i++)
            if (sys->rate_tph[i] * sys->line->receipt[material] != 0.0)
                return true;
    }
    return false;
}

/* Adds what the torn spouts carry of a material, t = c + B t, and the feeds that go with it. */
static bool close_loops(const system *sys, int material)
{
    const efi_line *line = sys->line;
    const int n = line->loop_count;
    const size_t width = (size_t)n + (size_t)sys->loads;
    for (int row = 0; row < n; row++) {
        for (int column = 0; column < n; column++)
            sys->matrix[(size_t)row * width + (size_t)column] = (row == column) - carried(sys, row,
                                                                                          sys->loads + column,
                                                                                          material);
        for (int load = 0; load < sys->loads; load++)
            sys->matrix[(size_t)row * width + (size_t)(n + load)] = carried(sys, row, load, material);
    }
    if (!eliminate(sys->matrix, n, sys->loads))
        return false;
    for (int loop = 0; loop < n; loop++) {
        for (int load = 0; load < sys->loads; load++) {
            const double amount = sys->matrix[(size_t)loop * width + (size_t)(n + load)];
            for (int s = 0; amount != 0.0 && s < line->station_count; s++)
                row_of(sys, sys->feed_tph, load,
                       s)[material] += amount * row_of(sys, sys->x, sys->loads + loop, s)[material];
        }
    }
    return true;
}

static ef_status solve(system *sys)
{
    const efi_line *line = sys->line;
    const size_t n = (size_t)line->loop_count;
    const size_t loads = (size_t)sys->loads;
    const size_t cells = (size_t)line->station_count * (size_t)line->materials;
    sys->x = efi_new((loads + n) * cells, sizeof *sys->x);
    sys->matrix = efi_new(n * (n + loads), sizeof *sys->matrix);
    ef_status status = sys->x && sys->matrix ? EF_OK : EF_MEMORY;
    for (int pass = 0; status == EF_OK && pass < sys->loads + line->loop_count; pass++)
        forward(sys, pass);
    if (status == EF_OK && cells > 0)
        memcpy(sys->feed_tph, sys->x, loads * cells * sizeof *sys->x);
    for (int m = 0; status == EF_OK && n > 0 && m < line->materials; m++)
        if (is_present(sys, m) && !close_loops(sys, m))
            status = EF_INTERNAL;
    efi_free(sys->x);
    efi_free(sys->matrix);
    return status;
}

ef_status efi_line_flows(const efi_line *line, const double *rate_tph, double *feed_tph)
{
    system sys = {.line = line, .rate_tph = rate_tph, .loads = 1, .feed_tph = feed_tph};
    return solve(&sys);
}

ef_status efi_line_responses(const efi_line *line, const efi_line_source *sources, int count,
                             double *feed_tph)
{
    system sys = {.line = line, .sources = sources, .loads = count, .feed_tph = feed_tph};
    return solve(&sys);
}
