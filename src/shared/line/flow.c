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
 * Where material is turned into other, there is a pass for each torn spout and material that can be in it.
 */
typedef struct torn {
    int spout; /* that closes a loop */
    int material;
} torn;

typedef struct system {
    const efi_line *line;
    const double *rate_tph;         /* shape [intake]; NULL with sources */
    const efi_line_source *sources; /* shape [load] */
    int loads;
    double *x;        /* shape [pass][station][material] */
    double *matrix;   /* shape [loop][loop + load]: the right sides come last */
    double *feed_tph; /* shape [load][station][material] */
    torn *torn;       /* shape [torn_count], where material is turned into other; else NULL */
    int torn_count;
    double *left; /* shape [material], scratch: what leaves a station */
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
    if (pass >= sys->loads && sys->torn) {
        const torn *one = &sys->torn[pass - sys->loads];
        row_of(sys, sys->x, pass, line->spouts[one->spout].to)[one->material] = 1.0;
    } else if (pass >= sys->loads) {
        double *to = row_of(sys, sys->x, pass, line->spouts[line->loops[pass - sys->loads]].to);
        for (int m = 0; m < line->materials; m++)
            to[m] = 1.0;
    } else if (sys->sources) {
        const efi_line_source *source = &sys->sources[pass];
        enter(sys, row_of(sys, sys->x, pass, source->station), source->stream_tph, 1.0);
    } else {
        for (int i = 0; sys->rate_tph && i < line->intake_count; i++)
            enter(sys, row_of(sys, sys->x, pass, line->intakes[i]), line->receipt, sys->rate_tph[i]);
    }
}

/* Adds what the spouts of a station carry, those that close loops aside, to where they lead. */
static void hand_on(const system *sys, int pass, int station)
{
    const efi_line *line = sys->line;
    const double *from = efi_line_leaving(line, station, row_of(sys, sys->x, pass, station), sys->left);
    for (int k = line->first_out[station]; k < line->first_out[station + 1]; k++) {
        const efi_line_spout *spout = &line->spouts[k];
        double *to = row_of(sys, sys->x, pass, spout->to);
        for (int m = 0; !spout->closes_loop && m < line->materials; m++)
            to[m] += spout->share[m] * from[m];
    }
}

static void forward(const system *sys, int pass)
{
    start(sys, pass);
    for (int s = 0; s < sys->line->station_count; s++)
        hand_on(sys, pass, s);
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
        for (int i = 0; sys->rate_tph && i < sys->line->intake_count; i++)
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

/* ---- where material is turned into other ------------------------------------------------------------------
 */

/* Marks what a spout brings of what is present at its start; returns whether something new is. */
static bool bring(const system *sys, const efi_line_spout *spout, bool *present)
{
    const efi_line *line = sys->line;
    const size_t materials = (size_t)line->materials;
    const double *turns = line->stations[spout->from].turns;
    const bool *from = present + (size_t)spout->from * materials;
    bool *to = present + (size_t)spout->to * materials;
    bool more = false;
    for (size_t m = 0; m < materials; m++) {
        for (size_t k = turns ? 0 : m; from[m] && k < (turns ? materials : m + 1); k++) {
            if (to[k] || !(spout->share[k] > 0.0) || (turns && !(turns[m * materials + k] > 0.0)))
                continue;
            to[k] = more = true;
        }
    }
    return more;
}

/* Does what closes a loop carry the material, when this is present at its start? */
static bool may_carry(const system *sys, const efi_line_spout *spout, const bool *present, size_t material)
{
    const size_t materials = (size_t)sys->line->materials;
    const double *turns = sys->line->stations[spout->from].turns;
    bool leaves = !turns && present[(size_t)spout->from * materials + material];
    for (size_t m = 0; turns && m < materials; m++)
        leaves = leaves ||
                 (present[(size_t)spout->from * materials + m] && turns[m * materials + material] > 0.0);
    return leaves && spout->share[material] > 0.0;
}

/* Lists what the torn spouts may carry of what enters. */
static void list_torn(system *sys, bool *present)
{
    const efi_line *line = sys->line;
    const size_t materials = (size_t)line->materials;
    for (int m = 0; m < line->materials; m++) {
        for (int load = 0; sys->sources && load < sys->loads; load++)
            if (sys->sources[load].stream_tph[m] != 0.0)
                present[(size_t)sys->sources[load].station * materials + (size_t)m] = true;
        for (int i = 0; !sys->sources && i < line->intake_count; i++)
            present[(size_t)line->intakes[i] * materials + (size_t)m] = line->receipt[m] > 0.0;
    }
    bool more = true;
    while (more) {
        more = false;
        for (int k = 0; k < line->spout_count; k++)
            more = bring(sys, &line->spouts[k], present) || more;
    }
    for (int loop = 0; loop < line->loop_count; loop++)
        for (int m = 0; m < line->materials; m++)
            if (may_carry(sys, &line->spouts[line->loops[loop]], present, (size_t)m))
                sys->torn[sys->torn_count++] = (torn){line->loops[loop], m};
}

/* What a torn spout carries of its material in a pass. */
static double carried_turned(const system *sys, const torn *one, int pass)
{
    const efi_line_spout *spout = &sys->line->spouts[one->spout];
    const double *leaving = efi_line_leaving(sys->line, spout->from, row_of(sys, sys->x, pass, spout->from),
                                             sys->left);
    return spout->share[one->material] * leaving[one->material];
}

/* As close_loops, for all materials together. */
static bool close_turned(const system *sys)
{
    const int n = sys->torn_count;
    const size_t width = (size_t)n + (size_t)sys->loads;
    const size_t cells = (size_t)sys->line->station_count * (size_t)sys->line->materials;
    for (int row = 0; row < n; row++) {
        double *equation = sys->matrix + (size_t)row * width;
        for (int column = 0; column < n; column++)
            equation[column] = (row == column) - carried_turned(sys, &sys->torn[row], sys->loads + column);
        for (int load = 0; load < sys->loads; load++)
            equation[n + load] = carried_turned(sys, &sys->torn[row], load);
    }
    if (!eliminate(sys->matrix, n, sys->loads))
        return false;
    for (int row = 0; row < n; row++) {
        for (int load = 0; load < sys->loads; load++) {
            const double amount = sys->matrix[(size_t)row * width + (size_t)(n + load)];
            const double *unit = sys->x + (size_t)(sys->loads + row) * cells;
            for (size_t i = 0; amount != 0.0 && i < cells; i++)
                sys->feed_tph[(size_t)load * cells + i] += amount * unit[i];
        }
    }
    return true;
}

static ef_status solve_turned(system *sys)
{
    const efi_line *line = sys->line;
    const size_t loads = (size_t)sys->loads;
    const size_t materials = (size_t)line->materials;
    const size_t cells = (size_t)line->station_count * materials;
    bool *present = efi_new(cells, sizeof *present);
    sys->torn = efi_new((size_t)line->loop_count * materials + 1, sizeof *sys->torn);
    sys->left = efi_new(materials, sizeof *sys->left);
    ef_status status = present && sys->torn && sys->left ? EF_OK : EF_MEMORY;
    if (status == EF_OK)
        list_torn(sys, present);
    const size_t n = (size_t)sys->torn_count;
    sys->x = status == EF_OK ? efi_new((loads + n) * cells, sizeof *sys->x) : NULL;
    sys->matrix = status == EF_OK ? efi_new(n * (n + loads) + 1, sizeof *sys->matrix) : NULL;
    if (!sys->x || !sys->matrix)
        status = EF_MEMORY;
    for (int pass = 0; status == EF_OK && pass < sys->loads + sys->torn_count; pass++)
        forward(sys, pass);
    if (status == EF_OK && cells > 0)
        memcpy(sys->feed_tph, sys->x, loads * cells * sizeof *sys->x);
    if (status == EF_OK && n > 0 && !close_turned(sys))
        status = EF_INTERNAL;
    efi_free(present);
    efi_free(sys->torn);
    efi_free(sys->left);
    efi_free(sys->x);
    efi_free(sys->matrix);
    return status;
}

static ef_status solve(system *sys)
{
    const efi_line *line = sys->line;
    if (line->has_turns)
        return solve_turned(sys);
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
