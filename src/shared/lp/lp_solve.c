/* SPDX-License-Identifier: GPL-3.0-or-later
 * One solve: which methods are tried in which order, what GLPK's answers mean, and that they hold. */
#include "shared/lp/lp_glpk.h"

#include <limits.h>
#include <math.h>
#include <string.h>
#include <time.h>

/*
 * GLPK's simplex asks nobody while it runs, so it runs in slices of iterations, each from the basis of the
 * one before. Slices grow: short ones of equal length may undo each other's work for ever (seen on the Netlib
 * problem sc105 with 20 iterations). They are counted in iterations and the same whether or not anybody may
 * stop the solve, so that the vertex found depends on neither clock nor caller.
 */
enum {
    FIRST_SLICE_ITERATIONS = 2000,
    SLICE_GROWTH_DIVISOR = 8
};

/* GLPK's simplex may cycle for ever on a degenerate program (seen on steady rates with shares loosened). More
 * iterations than this for each row and column, or than the first slice, are taken for that, and the next
 * method is tried. */
#define MOST_ITERATIONS_EACH 20
/* Of the simplex, on the scaled program, where asked for. */
#define FINE_TOLERANCE 1e-9

static double clock_s(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

int efi_lp_time_left(efi_lp_run *run)
{
    const efi_lp_options *options = run->options;
    if (options->should_stop && options->should_stop(options->stop_context))
        run->is_stopped = true;
    if (!options->has_time_limit)
        return INT_MAX;
    const double left_ms = 1000.0 * (options->time_limit_s - (clock_s() - run->started_s));
    if (left_ms < 1.0) {
        run->is_stopped = true;
        return 0;
    }
    return left_ms < (double)INT_MAX ? (int)left_ms : INT_MAX;
}

int efi_lp_simplex(efi_lp_run *run, glp_prob *problem, bool primal)
{
    glp_smcp control;
    glp_init_smcp(&control);
    control.msg_lev = GLP_MSG_OFF;
    control.meth = primal ? GLP_PRIMAL : GLP_DUALP;
    if (run->options->is_fine)
        control.tol_bnd = control.tol_dj = FINE_TOLERANCE;
    const int before = glp_get_it_cnt(problem);
    const double most = FIRST_SLICE_ITERATIONS + MOST_ITERATIONS_EACH * ((double)glp_get_num_rows(problem) +
                                                                         glp_get_num_cols(problem));
    int slice = FIRST_SLICE_ITERATIONS;
    int code = GLP_EITLIM;
    while (code == GLP_EITLIM && glp_get_it_cnt(problem) - before < most) {
        control.tm_lim = efi_lp_time_left(run);
        if (run->is_stopped)
            break;
        control.it_lim = slice;
        code = glp_simplex(problem, &control);
        if (slice < INT_MAX / 2)
            slice += slice / SLICE_GROWTH_DIVISOR;
    }
    if (code == GLP_ETMLIM)
        run->is_stopped = true;
    run->result->iterations += glp_get_it_cnt(problem) - before;
    return code;
}

/*
 * The same, and when there is said to be no optimum once more from the basis of all rows. The basis it
 * started from may be all but singular: in a long line with returns the triangular one of glp_adv_basis
 * expresses each station by the one below it, and the errors grow along the line until nothing seems
 * feasible.
 */
static int simplex_confirmed(efi_lp_run *run, glp_prob *problem, bool primal)
{
    const int code = efi_lp_simplex(run, problem, primal);
    const int status = glp_get_status(problem);
    if (code != 0 || run->is_stopped || (status != GLP_NOFEAS && status != GLP_UNBND))
        return code;
    glp_std_basis(problem);
    return efi_lp_simplex(run, problem, primal);
}

/* ---- taking what GLPK found ---- */

static void take_basic(efi_lp *lp)
{
    glp_prob *problem = lp->mirror.problem;
    for (int j = 0; j < lp->column_count; j++)
        lp->values[j] = glp_get_col_prim(problem, j + 1);
    for (int i = 0; i < lp->row_count; i++)
        lp->duals[i] = glp_get_row_dual(problem, i + 1);
}

static void take_interior(efi_lp *lp)
{
    glp_prob *problem = lp->mirror.problem;
    for (int j = 0; j < lp->column_count; j++)
        lp->values[j] = glp_ipt_col_prim(problem, j + 1);
    for (int i = 0; i < lp->row_count; i++)
        lp->duals[i] = glp_ipt_row_dual(problem, i + 1);
}

static bool settle(efi_lp_run *run, efi_lp_outcome outcome)
{
    run->result->outcome = outcome;
    if (outcome == EFI_LP_INFEASIBLE || outcome == EFI_LP_UNBOUNDED)
        run->result->has_bound = false;
    return true;
}

/* Settles on the optimum that was taken, if it passes the check. */
static bool settle_optimum(efi_lp_run *run)
{
    efi_lp *lp = run->lp;
    lp->has_duals = true;
    lp->has_point = efi_lp_check(lp, run->result);
    lp->has_duals = lp->has_point;
    return lp->has_point && settle(run, EFI_LP_OPTIMAL);
}

/* Settles on where the simplex stood on the model itself when it was stopped: a feasible point or none. */
static bool settle_stopped(efi_lp_run *run)
{
    efi_lp *lp = run->lp;
    lp->has_duals = false;
    lp->has_point = false;
    if (glp_get_prim_stat(lp->mirror.problem) == GLP_FEAS) {
        take_basic(lp);
        lp->has_point = efi_lp_check(lp, run->result);
    }
    return settle(run, lp->has_point ? EFI_LP_STOPPED_FEASIBLE : EFI_LP_STOPPED);
}

/* ---- the methods; each returns whether it settled the run ---- */

/*
 * What glp_simplex does with presolve on, in steps, so that it can be stopped. Where the presolver itself
 * sees that there is no optimum it cannot always say whether the program is infeasible or unbounded (it may
 * be both in the dual); that is left to the next method.
 */
static bool try_presolved(efi_lp_run *run)
{
    glp_prob *problem = run->lp->mirror.problem;
    bool is_settled = false;
    glp_prep *presolver = glp_npp_alloc_wksp();
    glp_prob *reduced = glp_create_prob();
    glp_npp_load_prob(presolver, problem, GLP_SOL, GLP_OFF);
    if (glp_npp_preprocess1(presolver, 0) != 0)
        goto done;
    glp_npp_build_prob(presolver, reduced);
    glp_scale_prob(reduced, GLP_SF_AUTO);
    glp_adv_basis(reduced, 0);
    const int code = simplex_confirmed(run, reduced, run->options->method == EFI_LP_PRIMAL);
    if (run->is_stopped) {
        is_settled = settle_stopped(run);
    } else if (code == 0 && glp_get_status(reduced) == GLP_NOFEAS) {
        is_settled = settle(run, EFI_LP_INFEASIBLE);
    } else if (code == 0 && glp_get_status(reduced) == GLP_UNBND) {
        is_settled = settle(run, EFI_LP_UNBOUNDED);
    } else if (code == 0 && glp_get_status(reduced) == GLP_OPT) {
        glp_npp_postprocess(presolver, reduced);
        glp_npp_obtain_sol(presolver, problem);
        run->lp->mirror.has_basis = true;
        take_basic(run->lp);
        is_settled = settle_optimum(run);
    }
done:
    glp_delete_prob(reduced);
    glp_npp_free_wksp(presolver);
    return is_settled;
}

static bool try_simplex(efi_lp_run *run, bool primal)
{
    efi_lp_mirror *mirror = &run->lp->mirror;
    if (!mirror->is_scaled && !(run->options->keeps_scale && mirror->has_scale)) {
        glp_scale_prob(mirror->problem, GLP_SF_AUTO);
        mirror->is_scaled = mirror->has_scale = true;
    }
    if (!mirror->has_basis)
        glp_adv_basis(mirror->problem, 0);
    const int code = simplex_confirmed(run, mirror->problem, primal);
    mirror->has_basis = code == 0 || run->is_stopped;
    if (run->is_stopped)
        return settle_stopped(run);
    if (code != 0)
        return false;
    switch (glp_get_status(mirror->problem)) {
    case GLP_OPT:
        take_basic(run->lp);
        return settle_optimum(run);
    case GLP_NOFEAS:
        return settle(run, EFI_LP_INFEASIBLE);
    case GLP_UNBND:
        return settle(run, EFI_LP_UNBOUNDED);
    default:
        return false;
    }
}

static bool try_interior(efi_lp_run *run)
{
    glp_prob *problem = run->lp->mirror.problem;
    glp_iptcp control;
    glp_init_iptcp(&control);
    control.msg_lev = GLP_MSG_OFF;
    if (glp_interior(problem, &control) != 0 || glp_ipt_status(problem) != GLP_OPT)
        return false;
    take_interior(run->lp);
    return settle_optimum(run);
}

/* From the basis of all rows. */
static bool try_afresh(efi_lp_run *run, bool primal)
{
    glp_std_basis(run->lp->mirror.problem);
    run->lp->mirror.has_basis = true;
    return try_simplex(run, primal);
}

void efi_lp_solve_linear(efi_lp_run *run)
{
    const efi_lp_options *options = run->options;
    const efi_lp_mirror *mirror = &run->lp->mirror;
    const bool presolve = options->presolve == EFI_LP_PRESOLVE_ON ||
                          (options->presolve == EFI_LP_PRESOLVE_AUTO && !mirror->has_basis);
    const bool primal = options->method == EFI_LP_PRIMAL ||
                        (options->method == EFI_LP_AUTO && run->lp->only_costs_differ);
    (void)efi_lp_time_left(run);
    const bool settled = (run->is_stopped && settle_stopped(run)) ||
                         (options->method == EFI_LP_INTERIOR && try_interior(run)) ||
                         (presolve && try_presolved(run)) || try_simplex(run, primal) ||
                         try_simplex(run, !primal) || try_afresh(run, true) || try_afresh(run, false);
    if (!settled)
        run->result->outcome = EFI_LP_FAILED;
    run->lp->only_costs_differ = run->result->outcome == EFI_LP_OPTIMAL && mirror->has_basis;
}

/* ---- the whole solve ---- */

/* Makes the four arrays of the solution and the space of the check. */
static ef_status solution_make(efi_lp *lp)
{
    const size_t columns = (size_t)lp->column_count;
    const size_t rows = (size_t)lp->row_count;
    lp->has_point = lp->has_duals = lp->is_current = lp->is_optimal = false;
    efi_free(lp->values);
    lp->values = efi_new(4 * columns + 2 * rows, sizeof *lp->values);
    if (!lp->values)
        return EF_MEMORY;
    lp->reduced_costs = lp->values + columns;
    lp->activities = lp->reduced_costs + columns;
    lp->duals = lp->activities + rows;
    lp->check_space = lp->duals + rows;
    return EF_OK;
}

/* Does a lower bound stand above its upper, by more than the tolerance? */
static bool is_empty(efi_lp_bounds b)
{
    return b.has_lower && b.has_upper && b.lower - b.upper > EFI_LP_ACTIVE_TOLERANCE * (1.0 + fabs(b.upper));
}

static bool has_empty_bounds(const efi_lp *lp)
{
    for (int j = 0; j < lp->column_count; j++)
        if (is_empty(lp->columns[j].bounds))
            return true;
    for (int i = 0; i < lp->row_count; i++)
        if (is_empty(lp->rows[i].bounds))
            return true;
    return false;
}

static void solve_guarded(void *argument)
{
    efi_lp_run *run = argument;
    efi_lp_mirror_update(run->lp);
    if (run->lp->integer_count > 0 && !run->options->relax_integers)
        efi_lp_solve_integer(run);
    else
        efi_lp_solve_linear(run);
}

static bool options_are_good(const efi_lp_options *options)
{
    return (!options->has_time_limit || options->time_limit_s >= 0.0) && options->gap_share >= 0.0;
}

ef_status efi_lp_solve(efi_lp *lp, const efi_lp_options *options, efi_lp_result *result)
{
    const efi_lp_options defaults = efi_lp_defaults();
    efi_lp_result found = {.outcome = EFI_LP_INFEASIBLE};
    efi_lp_run run = {lp, options ? options : &defaults, &found, clock_s(), false};
    if (!options_are_good(run.options))
        return EF_USAGE;
    EF_TRY(solution_make(lp));
    if (!has_empty_bounds(lp)) {
        if (!efi_lp_mirror_is_here(lp))
            efi_lp_mirror_drop(lp);
        EF_TRY(efi_lp_mirror_prepare(lp));
        const ef_status status = efi_glpk_guarded(solve_guarded, &run);
        efi_lp_mirror_release(lp);
        if (status != EF_OK) {
            efi_lp_mirror_drop(lp);
            lp->has_point = lp->has_duals = false;
            return status;
        }
    }
    found.has_point = lp->has_point;
    found.has_duals = lp->has_duals;
    lp->is_current = true;
    lp->is_optimal = found.outcome == EFI_LP_OPTIMAL;
    *result = found;
    return EF_OK;
}
