/* SPDX-License-Identifier: GPL-3.0-or-later
 * Linear and mixed-integer programs: build, change, solve, read; the one place that calls GLPK.
 *
 *   optimise  constant + sum_j c_j x_j
 *   subject to  lower_i <= sum_j a_ij x_j <= upper_i   for every row i
 *               lower_j <= x_j <= upper_j              for every column j
 *               x_j whole                              for every integer column j
 *
 * An efi_lp keeps its own copy of the model and hands changes to GLPK when it is solved. So wrong arguments
 * are refused here (GLPK would end the process), and what GLPK answers is checked against the model.
 *
 * Threads. An efi_lp belongs to one thread at a time: from its first solve or write on it is solved and freed
 * on that thread. A thread that used any ends with efi_lp_thread_end().
 *
 * Limits. 100 million rows or columns, 500 million entries. GLPK allocates on its own and cannot report a
 * failed allocation; such an event, like any error inside GLPK, comes back as EF_INTERNAL. It costs the
 * thread its GLPK state, which every efi_lp of the thread makes anew from its own copy at its next solve.
 *
 * Warm start. The first solve goes through GLPK's presolver to the dual simplex. It leaves a basis, and each
 * later solve starts from there without presolve; new rows (cuts) and changed bounds keep such a basis dual
 * feasible. Same calls, same numbers: nothing depends on the clock unless a time limit or a stop strikes.
 *
 * NULL is not allowed for any pointer unless said so. Indices count from 0. */
#ifndef EFI_LP_H
#define EFI_LP_H

#include "base/base.h"

#include <stdbool.h>

/* Tolerances of the check that every answer of GLPK passes (no unit: shares of the scale told). */

/* A bound b is kept when it is missed by at most this times (1 + |b| + EFI_LP_CANCEL_SHARE times the sum of
 * the absolute terms of the row). */
#define EFI_LP_PRIMAL_TOLERANCE 1e-6
/* A reduced cost or dual of the wrong sign counts as zero up to this times (1 + |c_j| + EFI_LP_CANCEL_SHARE
 * times the sum of the absolute terms c_j and a_ij y_i). */
#define EFI_LP_DUAL_TOLERANCE 1e-6
/* Primal and dual objective are equal when they differ by at most this times (1 + |objective| +
 * EFI_LP_CANCEL_SHARE times the sum of the absolute terms of either). */
#define EFI_LP_GAP_TOLERANCE 1e-6
/* What terms that cancel add to the scale of a sum. */
#define EFI_LP_CANCEL_SHARE 1e-3
/* A value is at its bound b when it is within this times (1 + |b|) of it. */
#define EFI_LP_ACTIVE_TOLERANCE 1e-7

typedef struct efi_lp efi_lp;

typedef enum efi_lp_sense {
    EFI_LP_MINIMISE,
    EFI_LP_MAXIMISE,
} efi_lp_sense;

/* Bounds of a row or column; a bound that is not there has has_... false and any value. A lower bound above
 * the upper makes the program infeasible; it is no error. */
typedef struct efi_lp_bounds {
    double lower;
    double upper;
    bool has_lower;
    bool has_upper;
} efi_lp_bounds;

static inline efi_lp_bounds efi_lp_free_bounds(void)
{
    return (efi_lp_bounds){0.0, 0.0, false, false};
}

static inline efi_lp_bounds efi_lp_at_least(double lower)
{
    return (efi_lp_bounds){lower, 0.0, true, false};
}

static inline efi_lp_bounds efi_lp_at_most(double upper)
{
    return (efi_lp_bounds){0.0, upper, false, true};
}

static inline efi_lp_bounds efi_lp_between(double lower, double upper)
{
    return (efi_lp_bounds){lower, upper, true, true};
}

static inline efi_lp_bounds efi_lp_exactly(double value)
{
    return (efi_lp_bounds){value, value, true, true};
}

/* One coefficient of a row. */
typedef struct efi_lp_entry {
    int column;
    double value;
} efi_lp_entry;

/* ---- building and changing ----
 * All of these return EF_OK; EF_USAGE, with nothing changed, for an index out of range or a number that is
 * not finite; EF_MEMORY, with nothing changed. */

/* An empty program that minimises, or NULL without memory. The caller frees it with efi_lp_free. */
efi_lp *efi_lp_new(void);

/* Frees it; NULL is allowed. On the thread that solved it. */
void efi_lp_free(efi_lp *lp);

/*
 * Releases what GLPK keeps for the calling thread. Does nothing while an efi_lp solved on this thread still
 * lives, so it may be called after every job on a shared thread.
 */
void efi_lp_thread_end(void);

/* Minimise (the default) or maximise. */
void efi_lp_set_sense(efi_lp *lp, efi_lp_sense sense);

/* The constant of the objective, 0 by default. */
ef_status efi_lp_set_constant(efi_lp *lp, double constant);

/*
 * Adds a column, whose number goes to `column` unless that is NULL. `name` is any text or NULL; it is copied,
 * need not be unique and appears in written files only (see efi_lp_write).
 */
ef_status efi_lp_add_column(efi_lp *lp, const char *name, efi_lp_bounds bounds, double objective,
                            bool is_integer, int *column);

/*
 * Adds a row of `count` entries (NULL allowed when 0), whose number goes to `row` unless that is NULL.
 * Entries may come in any order; those of one column are added up. `name` as for columns.
 */
ef_status efi_lp_add_row(efi_lp *lp, const char *name, efi_lp_bounds bounds, const efi_lp_entry *entries,
                         int count, int *row);

ef_status efi_lp_set_column_bounds(efi_lp *lp, int column, efi_lp_bounds bounds);
ef_status efi_lp_set_row_bounds(efi_lp *lp, int row, efi_lp_bounds bounds);
ef_status efi_lp_set_objective(efi_lp *lp, int column, double objective);
ef_status efi_lp_set_integer(efi_lp *lp, int column, bool is_integer);

/* Sets one coefficient, whether it was there before or not. */
ef_status efi_lp_set_entry(efi_lp *lp, int row, int column, double value);

/* Replaces all entries of a row, as in efi_lp_add_row. */
ef_status efi_lp_set_row(efi_lp *lp, int row, const efi_lp_entry *entries, int count);

/* The next solve starts afresh: with presolve, without the basis of earlier ones. */
void efi_lp_forget_basis(efi_lp *lp);

/* ---- reading the model; an index out of range is a programming error (assert) ---- */

int efi_lp_columns(const efi_lp *lp);
int efi_lp_rows(const efi_lp *lp);
efi_lp_sense efi_lp_get_sense(const efi_lp *lp);
efi_lp_bounds efi_lp_column_bounds(const efi_lp *lp, int column);
efi_lp_bounds efi_lp_row_bounds(const efi_lp *lp, int row);
double efi_lp_objective(const efi_lp *lp, int column);
bool efi_lp_is_integer(const efi_lp *lp, int column);

/* The name given, NULL when there was none. */
const char *efi_lp_column_name(const efi_lp *lp, int column);
const char *efi_lp_row_name(const efi_lp *lp, int row);

/* Entries of a row, sorted by column, their number in `count`; valid until that row changes. */
const efi_lp_entry *efi_lp_row_entries(const efi_lp *lp, int row, int *count);

/* ---- solving ---- */

typedef enum efi_lp_method {
    EFI_LP_AUTO,     /* dual simplex; primal when only the objective changed since the last optimum */
    EFI_LP_DUAL,     /* dual simplex */
    EFI_LP_PRIMAL,   /* primal simplex */
    EFI_LP_INTERIOR, /* interior point; where it does not converge, simplex decides. No basis, no vertex */
} efi_lp_method;

typedef enum efi_lp_presolve {
    EFI_LP_PRESOLVE_AUTO, /* on when there is no basis to start from */
    EFI_LP_PRESOLVE_ON,
    EFI_LP_PRESOLVE_OFF,
} efi_lp_presolve;

typedef struct efi_lp_options {
    efi_lp_method method;
    efi_lp_presolve presolve;
    bool has_time_limit;
    double time_limit_s; /* wall time in seconds, >= 0 */
    /* Called now and then; true stops the solve. Must not use any efi_lp. NULL: never stop. A simplex stops
     * within about an eighth of the time it has taken so far; the interior point, the presolver and a single
     * node of a branch and bound are not interrupted. */
    bool (*should_stop)(void *context);
    void *stop_context;
    bool is_fine; /* linear programs: the simplex goes on to 1e-9 where it usually stops at 1e-7 */
    /* Changed entries do not count for how the simplex scales the program: for many solves of a small program
     * whose entries keep their size. */
    bool keeps_scale;
    bool relax_integers; /* solve the linear relaxation, with duals */
    bool use_cuts;       /* integer programs: Gomory, rounding, cover and clique cuts */
    double gap_share; /* integer programs: good enough when |objective - bound| <= this times |objective| */
} efi_lp_options;

/* Automatic method and presolve, no limits, no cuts, gap 0. */
efi_lp_options efi_lp_defaults(void);

/* name, words */
#define EFI_LP_OUTCOME_LIST(X)                                                                               \
    X(EFI_LP_OPTIMAL, "optimal") /* checked; integer programs: within gap_share */                           \
    X(EFI_LP_INFEASIBLE, "infeasible")                                                                       \
    X(EFI_LP_UNBOUNDED, "unbounded") /* integer programs: the relaxation is */                               \
    X(EFI_LP_STOPPED_FEASIBLE, "stopped with a feasible point")                                              \
    X(EFI_LP_STOPPED, "stopped without a feasible point")                                                    \
    X(EFI_LP_FAILED, "failed") /* no answer passed the check */

typedef enum efi_lp_outcome {
#define EFI_LP_OUTCOME_ENUM(name, words) name,
    EFI_LP_OUTCOME_LIST(EFI_LP_OUTCOME_ENUM)
#undef EFI_LP_OUTCOME_ENUM
} efi_lp_outcome;

/* Words for an outcome; never NULL. */
const char *efi_lp_outcome_text(efi_lp_outcome outcome);

typedef struct efi_lp_result {
    efi_lp_outcome outcome;
    bool has_point;      /* objective and efi_lp_values are there */
    bool has_duals;      /* efi_lp_duals and efi_lp_reduced_costs are there */
    bool has_bound;      /* no feasible point can be better than `bound` */
    double objective;    /* computed here from the values */
    double bound;        /* linear: the dual objective; integer: the best proven bound */
    double primal_error; /* largest miss of a bound, on the scale of EFI_LP_PRIMAL_TOLERANCE */
    double dual_error;   /* largest wrong sign, on the scale of EFI_LP_DUAL_TOLERANCE; 0 without duals */
    double gap;          /* primal against dual objective on its scale; 0 without duals */
    long iterations;     /* of the simplex; not those inside a branch and bound */
} efi_lp_result;

/*
 * Solves it; `options` may be NULL for the defaults. Returns EF_OK with the outcome in `result`, also for
 * infeasible, stopped and failed; EF_USAGE when an option is no number or negative; EF_MEMORY; EF_INTERNAL
 * when GLPK raised an error. On other returns than EF_OK `result` is not touched and there is no solution.
 */
ef_status efi_lp_solve(efi_lp *lp, const efi_lp_options *options, efi_lp_result *result);

/*
 * The solution of the last solve, NULL when it gave none; valid until the next solve or efi_lp_free, for the
 * rows and columns there were then.
 *   values         x_j, shape [column]; those of integer columns are whole
 *   activities     sum_j a_ij x_j, shape [row]
 *   duals          y_i, shape [row]: change of the optimum per unit of the row's binding bound, for either
 * sense reduced_costs  c_j - sum_i a_ij y_i, shape [column]: the same for the bound at which x_j stands Duals
 * of a degenerate optimum are not unique: for the worth of a bound use efi_lp_slopes.
 */
const double *efi_lp_values(const efi_lp *lp);
const double *efi_lp_activities(const efi_lp *lp);
const double *efi_lp_duals(const efi_lp *lp);
const double *efi_lp_reduced_costs(const efi_lp *lp);

/* ---- worth of a bound ---- */

typedef enum efi_lp_side {
    EFI_LP_COLUMN_LOWER,
    EFI_LP_COLUMN_UPPER,
    EFI_LP_ROW_LOWER,
    EFI_LP_ROW_UPPER,
} efi_lp_side;

/* One bound: which side of which row or column. */
typedef struct efi_lp_bound {
    efi_lp_side side;
    int index;
} efi_lp_bound;

typedef enum efi_lp_direction {
    EFI_LP_GROW,
    EFI_LP_SHRINK,
} efi_lp_direction;

/*
 * One-sided derivatives of the optimum with respect to each of `count` bounds b, alone: for EFI_LP_GROW
 * lim (z(b + t) - z(b)) / t, for EFI_LP_SHRINK lim (z(b) - z(b - t)) / t, t falling to 0; to slopes[count].
 * Exact on degenerate optima; the mathematics is in lp_slope.c. Where any such move makes the program
 * infeasible the slope is infinite: GROW +inf when minimising and -inf when maximising, SHRINK the reverse.
 * The last solve must have given an optimum with duals, and the model be unchanged since; `lp` is not
 * touched. Returns EF_OK; EF_USAGE when that is not so, an index is out of range or such a bound is not
 * there; EF_MEMORY; EF_INTERNAL also when a derivative could not be computed to tolerance. On failure slopes
 * is unchanged.
 */
ef_status efi_lp_slopes(const efi_lp *lp, const efi_lp_bound *bounds, int count, efi_lp_direction direction,
                        double *slopes);

/* efi_lp_slopes for one upper bound that grows. */
ef_status efi_lp_right_slope(const efi_lp *lp, efi_lp_bound bound, double *slope);

/* ---- files ---- */

typedef enum efi_lp_format {
    EFI_LP_FREE_MPS,  /* fields parted by blanks */
    EFI_LP_FIXED_MPS, /* fields in fixed places; for reading only */
    EFI_LP_CPLEX,     /* CPLEX LP text */
} efi_lp_format;

/*
 * Writes the model to `path`, whole or not at all: to a new file beside it, renamed at the end. An existing
 * file is refused unless `force`. Names are made unique in [A-Za-z0-9_] first, in a way that depends on the
 * model alone (lp_names.h). Numbers are written so that they read back exactly. Same model, same bytes, under
 * any locale. Neither format has an agreed place for everything:
 *   - a constant is the cost of a column constant_one, fixed at 1 (readers differ in the sign of a right side
 *     of the objective row); that column is there as well where CPLEX LP needs a term;
 *   - MPS does not know the sense: a program that maximises is written as minimising the negated objective,
 *     which is then called minus_objective, else objective;
 *   - in CPLEX LP a row with two bounds becomes two rows, NAME and NAME.low; one without bounds is left out.
 * (Not with GLPK's writers, which keep 10 digits in MPS, leave out an MPS objective when there is a row
 * without bounds, and the constant of a CPLEX LP file.) Returns EF_OK; EF_FILE when the file exists or cannot
 * be written, errno saying why; EF_USAGE for EFI_LP_FIXED_MPS and for a lower bound above its upper, which
 * the formats cannot say; EF_MEMORY.
 */
ef_status efi_lp_write(const efi_lp *lp, const char *path, efi_lp_format format, bool force);

/*
 * Reads a model into a new efi_lp, which the caller frees. MPS files give a program that minimises. Meant for
 * tests and benchmarks: it says whether, not where, a file is wrong. Returns EF_OK; EF_FILE when it cannot be
 * read or parsed, or holds a number that is not finite; EF_MEMORY; EF_INTERNAL. On failure `lp` is unchanged.
 */
ef_status efi_lp_read(const char *path, efi_lp_format format, efi_lp **lp);

#endif
