/* SPDX-License-Identifier: GPL-3.0-or-later
 * Programs with integer columns: root relaxation, then GLPK's branch and bound on the presolved program.
 *
 * The same steps as glp_intopt with presolve on, taken one by one so that the root can be stopped and its
 * optimum kept as a bound. */
#include "shared/lp/lp_glpk.h"

#include <float.h>
#include <math.h>

/* Keeps the best proven bound and passes a stop on; GLPK calls it at every step of every node. */
static void watch(glp_tree *tree, void *info)
{
    efi_lp_run *run = info;
    const int best = glp_ios_best_node(tree);
    if (best != 0) {
        const double bound = glp_ios_node_bound(tree, best);
        if (fabs(bound) < DBL_MAX) {
            run->result->bound = bound;
            run->result->has_bound = true;
        }
    }
    (void)efi_lp_time_left(run);
    if (run->is_stopped)
        glp_ios_terminate(tree);
}

/* Branch and bound on a program whose basis is that of the root's optimum; GLPK's return code. */
static int branch(efi_lp_run *run, glp_prob *reduced)
{
    const int cuts = run->options->use_cuts ? GLP_ON : GLP_OFF;
    glp_iocp control;
    glp_init_iocp(&control);
    control.msg_lev = GLP_MSG_OFF;
    control.gmi_cuts = cuts;
    control.mir_cuts = cuts;
    control.cov_cuts = cuts;
    control.clq_cuts = cuts;
    control.mip_gap = run->options->gap_share;
    control.cb_func = watch;
    control.cb_info = run;
    control.tm_lim = efi_lp_time_left(run);
    if (run->is_stopped)
        return GLP_ESTOP;
    return glp_intopt(reduced, &control);
}

/* Solves the columns that are not integer again, the others fixed at the values that were taken; without
 * limits, since this may be what is left to do after a stop. */
static bool solve_rest(efi_lp *lp)
{
    glp_smcp control;
    glp_init_smcp(&control);
    control.msg_lev = GLP_MSG_OFF;
    glp_prob *fixed = glp_create_prob();
    glp_copy_prob(fixed, lp->mirror.problem, GLP_OFF);
    for (int j = 0; j < lp->column_count; j++)
        if (lp->columns[j].is_integer)
            glp_set_col_bnds(fixed, j + 1, GLP_FX, lp->values[j], lp->values[j]);
    glp_adv_basis(fixed, 0);
    const bool is_solved = glp_simplex(fixed, &control) == 0 && glp_get_status(fixed) == GLP_OPT;
    for (int j = 0; is_solved && j < lp->column_count; j++)
        if (!lp->columns[j].is_integer)
            lp->values[j] = glp_get_col_prim(fixed, j + 1);
    glp_delete_prob(fixed);
    return is_solved;
}

/*
 * Takes the incumbent. GLPK calls a value whole when it is within 1e-5 of it and rounds it in its answer,
 * which may then miss a row (a fixed cost of x <= 10000 y pays y = 1e-6 for x = 1e-2). So when the rounded
 * values fail the check, the others are solved again.
 */
static bool take_whole(efi_lp_run *run)
{
    efi_lp *lp = run->lp;
    for (int j = 0; j < lp->column_count; j++) {
        const double value = glp_mip_col_val(lp->mirror.problem, j + 1);
        lp->values[j] = lp->columns[j].is_integer ? round(value) : value;
    }
    efi_lp_result checked = {0};
    if (!efi_lp_check(lp, &checked) && !(solve_rest(lp) && efi_lp_check(lp, &checked)))
        return false;
    run->result->objective = checked.objective;
    run->result->primal_error = checked.primal_error;
    lp->has_point = true;
    return true;
}

/* Reads what branch and bound came to. */
static void conclude(efi_lp_run *run, glp_prep *presolver, glp_prob *reduced, int code)
{
    efi_lp_result *result = run->result;
    const int status = glp_mip_status(reduced);
    const bool has_incumbent = status == GLP_OPT || status == GLP_FEAS;
    bool is_taken = false;
    if (has_incumbent) {
        glp_npp_postprocess(presolver, reduced);
        glp_npp_obtain_sol(presolver, run->lp->mirror.problem);
        is_taken = take_whole(run);
    }
    if (code == GLP_ETMLIM || code == GLP_ESTOP) {
        run->is_stopped = true;
        result->outcome = is_taken ? EFI_LP_STOPPED_FEASIBLE : EFI_LP_STOPPED;
    } else if ((code == 0 || code == GLP_EMIPGAP) && is_taken) {
        result->outcome = EFI_LP_OPTIMAL;
        if (code == 0) {
            result->bound = result->objective;
            result->has_bound = true;
        }
    } else if (code == 0 && status == GLP_NOFEAS) {
        result->outcome = EFI_LP_INFEASIBLE;
        result->has_bound = false;
    } else {
        result->outcome = EFI_LP_FAILED;
    }
}

/* The relaxation decides: either there is no optimum at all, or it failed or was stopped. */
static void fall_back(efi_lp_run *run)
{
    efi_lp_solve_linear(run);
    run->lp->has_point = run->lp->has_duals = false;
    if (run->result->outcome == EFI_LP_STOPPED_FEASIBLE)
        run->result->outcome = EFI_LP_STOPPED;
    if (run->result->outcome == EFI_LP_OPTIMAL)
        run->result->outcome = EFI_LP_FAILED;
}

void efi_lp_solve_integer(efi_lp_run *run)
{
    glp_prep *presolver = glp_npp_alloc_wksp();
    glp_prob *reduced = glp_create_prob();
    glp_npp_load_prob(presolver, run->lp->mirror.problem, GLP_MIP, GLP_OFF);
    const int presolved = glp_npp_preprocess1(presolver, 1);
    int root = GLP_EFAIL;
    if (presolved == 0) {
        glp_npp_build_prob(presolver, reduced);
        glp_scale_prob(reduced, GLP_SF_AUTO);
        glp_adv_basis(reduced, 0);
        root = efi_lp_simplex(run, reduced, false);
    }
    if (root == 0 && glp_get_status(reduced) == GLP_OPT) {
        run->result->bound = glp_get_obj_val(reduced);
        run->result->has_bound = true;
        conclude(run, presolver, reduced, branch(run, reduced));
    } else if (presolved == GLP_ENOPFS || (root == 0 && glp_get_status(reduced) == GLP_NOFEAS)) {
        run->result->outcome = EFI_LP_INFEASIBLE;
    } else {
        fall_back(run);
    }
    glp_delete_prob(reduced);
    glp_npp_free_wksp(presolver);
}
