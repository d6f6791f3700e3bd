/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/sequence/tour_bound.h"
#include "shared/lp/lp.h"
#include "shared/sequence/tour_cuts.h"

#include <string.h>

/*
 * Branch and cut (M. Padberg and G. Rinaldi, SIAM Review 33, 1991). With x[i,j] = 1 when j follows i, nodes 0
 * .. n, node n standing for "nothing":
 *
 *   minimise    sum price[i,j] x[i,j]
 *   subject to  sum_j x[i,j] = 1, sum_i x[i,j] = 1 for all nodes,
 *               the cuts of tour_cuts.h,  0 <= x <= 1.
 *
 * The assignment problem gives duals first: an arc whose reduced cost lifts the bound to `upper` is never
 * used and gets no column. Of the open branches the one of the least bound is next, so the bound of all rises
 * as the work goes on.
 */

enum {
    MOST_COLUMNS = 30000,
    MOST_ROUNDS_OF_CUTS = 200,
    WORK_EACH = 2,           /* steps of a walk that take as long as one iteration does for a row or column */
    ITERATIONS_AROUND = 30,  /* iterations that take as long as what is done around a solve */
    ITERATIONS_ASKED = 2000, /* at least so many come between two questions whether to stop */
    MOST_ENTRIES = 100000000 /* iterations times rows and columns of one solve, some seconds */
};

/* A bound that a linear program gives is trusted to this share (EFI_LP_GAP_TOLERANCE is coarser than what is
 * seen). */
#define LP_TRUST_SHARE 1e-7

typedef struct fixing {
    int column;
    bool used;
    int before; /* index of the fixing above it, -1 at the root */
} fixing;

typedef struct branch {
    int fixing; /* the last one, -1 at the root */
    int64_t bound;
    int rounds;
} branch;

struct efi_tour_bound {
    const efi_model *model;
    efi_arena *arena;
    int size;
    int *follower;
    int *order;
    efi_lp *lp; /* NULL before the first step */
    int arcs;
    efi_tour_arc *arc; /* [arcs] one for each column */
    bool *out;         /* [arcs] never used in an order cheaper than `upper` */
    efi_tour_cuts *cuts;
    fixing *fixings;
    size_t fixing_count;
    size_t fixing_room;
    branch *open; /* branches not yet settled */
    size_t open_count;
    size_t open_room;
    branch at; /* the branch at hand, when has_branch */
    bool has_branch;
    int64_t value;
    uint64_t work;
    int questions; /* whether to stop, left in this solve */
    bool stuck;    /* no more can be done */
};

static int64_t arc_price(const efi_tour_bound *b, int i, int j)
{
    return b->model->price[(size_t)i * (size_t)b->size + (size_t)j];
}

ef_status efi_tour_bound_new(const efi_model *model, efi_tour_bound **bound)
{
    const size_t size = (size_t)model->n + 1;
    efi_arena *const arena = efi_arena_new();
    efi_tour_bound *const b = arena ? efi_arena_get(arena, 1, sizeof *b) : NULL;
    if (!b) {
        efi_arena_free(arena);
        return EF_MEMORY;
    }
    b->model = model;
    b->arena = arena;
    b->size = (int)size;
    b->follower = efi_arena_get(arena, size, sizeof(int));
    b->order = efi_arena_get(arena, size, sizeof(int));
    if (!b->follower || !b->order) {
        efi_arena_free(arena);
        return EF_MEMORY;
    }
    b->value = model->assignment;
    *bound = b;
    return EF_OK;
}

static void drop_program(efi_tour_bound *b)
{
    efi_lp_free(b->lp);
    b->lp = NULL;
    efi_tour_cuts_free(b->cuts);
    b->cuts = NULL;
    efi_free(b->arc);
    b->arc = NULL;
    efi_free(b->out);
    b->out = NULL;
}

void efi_tour_bound_free(efi_tour_bound *b)
{
    if (!b)
        return;
    drop_program(b);
    efi_lp_thread_end();
    efi_free(b->fixings);
    efi_free(b->open);
    efi_arena_free(b->arena);
}

int64_t efi_tour_bound_value(const efi_tour_bound *bound)
{
    return bound->value + bound->model->constant;
}

uint64_t efi_tour_bound_work(const efi_tour_bound *bound)
{
    return bound->work;
}

static ef_status push(efi_tour_bound *b, branch added)
{
    if (efi_grow(&b->open, b->open_count, &b->open_room, sizeof *b->open) != 0)
        return EF_MEMORY;
    b->open[b->open_count++] = added;
    return EF_OK;
}

/* Arcs that an order cheaper than `upper` may use. */
static ef_status choose_arcs(efi_tour_bound *b, int64_t upper)
{
    const size_t size = (size_t)b->size;
    b->arc = efi_new(size * size, sizeof *b->arc);
    if (!b->arc)
        return EF_MEMORY;
    b->arcs = 0;
    for (int i = 0; i < b->size; i++)
        for (int j = 0; j < b->size; j++) {
            const int64_t reduced = arc_price(b, i, j) - b->model->row_dual[i] - b->model->column_dual[j];
            if (i != j && arc_price(b, i, j) < b->model->forbidden_price &&
                b->model->assignment + reduced < upper)
                b->arc[b->arcs++] = (efi_tour_arc){i, j};
        }
    return EF_OK;
}

static ef_status add_degree_row(efi_tour_bound *b, int node, bool out, efi_lp_entry *entries)
{
    int count = 0;
    for (int a = 0; a < b->arcs; a++)
        if ((out ? b->arc[a].from : b->arc[a].to) == node)
            entries[count++] = (efi_lp_entry){a, 1.0};
    return efi_lp_add_row(b->lp, NULL, efi_lp_exactly(1.0), entries, count, NULL);
}

static ef_status build_program(efi_tour_bound *b, int64_t upper)
{
    EF_TRY(choose_arcs(b, upper));
    b->out = efi_new((size_t)b->arcs + 1, sizeof *b->out);
    if (!b->out)
        return EF_MEMORY;
    if (b->arcs > MOST_COLUMNS) {
        b->stuck = true;
        return EF_OK;
    }
    b->lp = efi_lp_new();
    EF_TRY(b->lp ? EF_OK : EF_MEMORY);
    for (int a = 0; a < b->arcs; a++)
        EF_TRY(efi_lp_add_column(b->lp, NULL, efi_lp_between(0.0, 1.0),
                                 (double)arc_price(b, b->arc[a].from, b->arc[a].to), false, NULL));
    efi_lp_entry *const entries = efi_new((size_t)b->arcs + 1, sizeof *entries);
    ef_status status = entries ? EF_OK : EF_MEMORY;
    for (int i = 0; i < b->size && status == EF_OK; i++) {
        status = add_degree_row(b, i, true, entries);
        if (status == EF_OK)
            status = add_degree_row(b, i, false, entries);
    }
    efi_free(entries);
    EF_TRY(status);
    b->cuts = efi_tour_cuts_new(b->model, b->arc, b->arcs);
    EF_TRY(b->cuts ? EF_OK : EF_MEMORY);
    b->open_count = 0;
    b->fixing_count = 0;
    b->has_branch = false;
    return push(b, (branch){-1, b->model->assignment, 0});
}

/* All columns free except those that the branch fixes. */
static ef_status apply_branch(efi_tour_bound *b)
{
    for (int a = 0; a < b->arcs; a++)
        if (!b->out[a] &&
            (efi_lp_column_bounds(b->lp, a).lower > 0.5 || efi_lp_column_bounds(b->lp, a).upper < 0.5))
            EF_TRY(efi_lp_set_column_bounds(b->lp, a, efi_lp_between(0.0, 1.0)));
    for (int f = b->at.fixing; f >= 0; f = b->fixings[f].before)
        EF_TRY(efi_lp_set_column_bounds(b->lp, b->fixings[f].column,
                                        efi_lp_exactly(b->fixings[f].used ? 1.0 : 0.0)));
    return EF_OK;
}

/* The bound of all is the least of the open branches and the one at hand. */
static void raise_value(efi_tour_bound *b)
{
    int64_t least = b->has_branch ? b->at.bound : EFI_FAR;
    for (size_t i = 0; i < b->open_count; i++)
        least = b->open[i].bound < least ? b->open[i].bound : least;
    if (least > b->value && least < EFI_FAR)
        b->value = least;
}

/* Takes up the open branch of the least bound. */
static ef_status next_branch(efi_tour_bound *b, int64_t upper)
{
    size_t least = 0;
    for (size_t i = 1; i < b->open_count; i++)
        if (b->open[i].bound < b->open[least].bound)
            least = i;
    if (b->open_count == 0 || b->open[least].bound >= upper) {
        b->value = upper;
        b->open_count = 0;
        return EF_OK;
    }
    b->at = b->open[least];
    b->open[least] = b->open[--b->open_count];
    b->has_branch = true;
    raise_value(b);
    return apply_branch(b);
}

/* Columns whose reduced cost lifts the bound to `upper` are never used again; only at the root, where nothing
 * is fixed. */
static ef_status drop_columns(efi_tour_bound *b, double objective, int64_t upper)
{
    const double *const reduced = efi_lp_reduced_costs(b->lp);
    if (b->at.fixing >= 0 || !reduced)
        return EF_OK;
    const double spare = (double)(upper - 1) - objective + LP_TRUST_SHARE * (1.0 + objective);
    for (int a = 0; a < b->arcs; a++)
        b->out[a] = b->out[a] || reduced[a] > spare;
    for (int a = 0; a < b->arcs; a++)
        if (b->out[a] && efi_lp_column_bounds(b->lp, a).upper > 0.5)
            EF_TRY(efi_lp_set_column_bounds(b->lp, a, efi_lp_exactly(0.0)));
    return EF_OK;
}

/* Two branches: the arc that is nearest to half used, and not. */
static ef_status split(efi_tour_bound *b, const double *x)
{
    int chosen = -1;
    double nearest = 0.5;
    for (int a = 0; a < b->arcs; a++) {
        const double off = x[a] > 0.5 ? x[a] - 0.5 : 0.5 - x[a];
        if (off < nearest - 1e-6) {
            nearest = off;
            chosen = a;
        }
    }
    if (chosen < 0) {
        b->stuck = true;
        return EF_OK;
    }
    for (int used = 0; used < 2; used++) {
        if (efi_grow(&b->fixings, b->fixing_count, &b->fixing_room, sizeof *b->fixings) != 0)
            return EF_MEMORY;
        b->fixings[b->fixing_count] = (fixing){chosen, used == 1, b->at.fixing};
        EF_TRY(push(b, (branch){(int)b->fixing_count++, b->at.bound, 0}));
    }
    b->has_branch = false;
    return EF_OK;
}

/* Reads the order from a solution of zeros and ones without broken cuts; false when it is no tour. */
static bool read_order(efi_tour_bound *b, const double *x)
{
    for (int a = 0; a < b->arcs; a++) {
        if (x[a] > 1e-5 && x[a] < 1.0 - 1e-5)
            return false;
        if (x[a] >= 0.5)
            b->follower[b->arc[a].from] = b->arc[a].to;
    }
    int node = b->model->n;
    for (int k = 0; k < b->model->n; k++) {
        node = b->follower[node];
        if (node == b->model->n)
            return false;
        b->order[k] = node;
    }
    return b->follower[node] == b->model->n;
}

/* The least whole price that a program of this objective allows. */
static int64_t whole_bound(double objective)
{
    const double safe = objective - LP_TRUST_SHARE * (1.0 + objective) - 1e-6;
    const int64_t down = (int64_t)safe;
    return (double)down < safe ? down + 1 : down;
}

static ef_status settle(efi_tour_bound *b, double objective, int64_t upper, const int **order)
{
    const int64_t whole = whole_bound(objective);
    if (whole > b->at.bound)
        b->at.bound = whole;
    raise_value(b);
    if (b->at.bound >= upper) {
        b->has_branch = false;
        return EF_OK;
    }
    EF_TRY(drop_columns(b, objective, upper));
    const double *const x = efi_lp_values(b->lp);
    int added = 0;
    EF_TRY(efi_tour_cuts_add(b->cuts, b->lp, x, &added));
    b->at.rounds++;
    if (added > 0 && b->at.rounds < MOST_ROUNDS_OF_CUTS)
        return EF_OK;
    if (added == 0 && read_order(b, x)) {
        *order = b->order;
        b->has_branch = false;
        return EF_OK;
    }
    return split(b, x);
}

/* A program that takes too long is given up, by count and not by the clock. */
static bool is_too_long(void *context)
{
    efi_tour_bound *const b = context;
    return b->questions-- <= 0;
}

static ef_status solve_program(efi_tour_bound *b, efi_lp_result *result)
{
    const int size = efi_lp_rows(b->lp) + efi_lp_columns(b->lp);
    efi_lp_options options = efi_lp_defaults();
    options.should_stop = is_too_long;
    options.stop_context = b;
    b->questions = 3 + MOST_ENTRIES / ITERATIONS_ASKED / size;
    EF_TRY(efi_lp_solve(b->lp, &options, result));
    b->work += (uint64_t)(result->iterations + ITERATIONS_AROUND) * (uint64_t)size * WORK_EACH;
    return EF_OK;
}

ef_status efi_tour_bound_step(efi_tour_bound *b, int64_t upper, const int **order, bool *done)
{
    *order = NULL;
    upper -= b->model->constant;
    if (b->value < upper && !b->stuck && !b->lp)
        EF_TRY(build_program(b, upper));
    if (b->value < upper && !b->stuck && !b->has_branch)
        EF_TRY(next_branch(b, upper));
    *done = b->value >= upper || b->stuck;
    if (*done || !b->has_branch)
        return EF_OK;
    efi_lp_result result;
    EF_TRY(solve_program(b, &result));
    if (result.outcome == EFI_LP_INFEASIBLE) {
        b->has_branch = false;
        return EF_OK;
    }
    if (result.outcome != EFI_LP_OPTIMAL || !result.has_duals) {
        b->stuck = true;
        *done = true;
        return EF_OK;
    }
    return settle(b, result.objective < result.bound ? result.objective : result.bound, upper, order);
}
