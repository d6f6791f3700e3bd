/* SPDX-License-Identifier: GPL-3.0-or-later
 * GLPK's environment, and bringing GLPK's copy of a model up to date. */
#include "shared/lp/lp_glpk.h"

#include <setjmp.h>

/*
 * What GLPK holds for this thread. GLPK keeps its environment for each thread, so what we know about it must
 * be kept so as well: how many of our models live in it, and how many environments the thread has lost to
 * errors before. The address tells threads apart.
 */
static _Thread_local struct {
    unsigned number;
    int models;
} environment;

static void jump_out(void *info)
{
    longjmp(*(jmp_buf *)info, 1);
}

static int swallow(void *info, const char *words)
{
    (void)info;
    (void)words;
    return 1;
}

ef_status efi_glpk_guarded(void (*work)(void *argument), void *argument)
{
    jmp_buf escape;
    const int was = glp_term_out(GLP_OFF);
    glp_term_hook(swallow, NULL); /* an error switches the terminal on again */
    if (setjmp(escape) == 0) {
        glp_error_hook(jump_out, &escape);
        work(argument);
        glp_error_hook(NULL, NULL);
        glp_term_hook(NULL, NULL);
        (void)glp_term_out(was);
        return EF_OK;
    }
    (void)glp_free_env();
    environment.number++;
    environment.models = 0;
    return EF_INTERNAL;
}

void efi_lp_thread_end(void)
{
    if (environment.models == 0)
        (void)glp_free_env();
}

bool efi_lp_mirror_is_here(const efi_lp *lp)
{
    const efi_lp_mirror *mirror = &lp->mirror;
    return mirror->problem && mirror->thread == &environment && mirror->environment == environment.number;
}

void efi_lp_mirror_drop(efi_lp *lp)
{
    efi_lp_mirror *mirror = &lp->mirror;
    assert(!mirror->problem || mirror->thread == &environment);
    if (efi_lp_mirror_is_here(lp)) {
        glp_delete_prob(mirror->problem);
        environment.models--;
    }
    for (int i = 0; i < mirror->rows; i++) {
        lp->rows[i].next_changed = EFI_LP_NOT_LISTED;
        lp->rows[i].entries_changed = false;
    }
    for (int j = 0; j < mirror->columns; j++)
        lp->columns[j].next_changed = EFI_LP_NOT_LISTED;
    *mirror = (efi_lp_mirror){.changed_row = EFI_LP_LIST_END, .changed_column = EFI_LP_LIST_END};
}

/* ---- working space ---- */

ef_status efi_lp_mirror_prepare(efi_lp *lp)
{
    const bool loads_all = lp->mirror.rows == 0;
    size_t longest = 0;
    for (int i = 0; i < lp->row_count; i++)
        if ((size_t)lp->rows[i].count > longest)
            longest = (size_t)lp->rows[i].count;
    const size_t size = 1 + (loads_all ? lp->entry_count : longest);
    efi_lp_mirror_release(lp);
    lp->index_space = efi_new(size, sizeof *lp->index_space);
    lp->value_space = efi_new(size, sizeof *lp->value_space);
    if (loads_all)
        lp->row_space = efi_new(size, sizeof *lp->row_space);
    if (lp->index_space && lp->value_space && (lp->row_space || !loads_all))
        return EF_OK;
    efi_lp_mirror_release(lp);
    return EF_MEMORY;
}

void efi_lp_mirror_release(efi_lp *lp)
{
    efi_free(lp->index_space);
    efi_free(lp->row_space);
    efi_free(lp->value_space);
    lp->index_space = NULL;
    lp->row_space = NULL;
    lp->value_space = NULL;
}

/* ---- telling GLPK ---- */

static int type_of(efi_lp_bounds bounds)
{
    if (bounds.has_lower && bounds.has_upper)
        return bounds.lower < bounds.upper ? GLP_DB : GLP_FX;
    if (bounds.has_lower)
        return GLP_LO;
    return bounds.has_upper ? GLP_UP : GLP_FR;
}

static void tell_column(const efi_lp *lp, glp_prob *problem, int j)
{
    const efi_lp_column *column = &lp->columns[j];
    const efi_lp_bounds b = column->bounds;
    glp_set_col_kind(problem, j + 1, column->is_integer ? GLP_IV : GLP_CV);
    glp_set_col_bnds(problem, j + 1, type_of(b), b.lower, b.upper);
    glp_set_obj_coef(problem, j + 1, column->objective);
}

static void tell_row_bounds(const efi_lp *lp, glp_prob *problem, int i)
{
    const efi_lp_bounds b = lp->rows[i].bounds;
    glp_set_row_bnds(problem, i + 1, type_of(b), b.lower, b.upper);
}

static void tell_row_entries(const efi_lp *lp, glp_prob *problem, int i)
{
    const efi_lp_row *row = &lp->rows[i];
    int length = 0;
    for (int k = 0; k < row->count; k++) {
        if (row->entries[k].value == 0.0)
            continue;
        length++;
        lp->index_space[length] = row->entries[k].column + 1;
        lp->value_space[length] = row->entries[k].value;
    }
    glp_set_mat_row(problem, i + 1, length, lp->index_space, lp->value_space);
}

static void tell_all_entries(const efi_lp *lp, glp_prob *problem)
{
    int length = 0;
    for (int i = 0; i < lp->row_count; i++) {
        const efi_lp_row *row = &lp->rows[i];
        for (int k = 0; k < row->count; k++) {
            if (row->entries[k].value == 0.0)
                continue;
            length++;
            lp->row_space[length] = i + 1;
            lp->index_space[length] = row->entries[k].column + 1;
            lp->value_space[length] = row->entries[k].value;
        }
    }
    glp_load_matrix(problem, length, lp->row_space, lp->index_space, lp->value_space);
}

static void tell_objective(const efi_lp *lp, glp_prob *problem)
{
    glp_set_obj_dir(problem, lp->sense == EFI_LP_MAXIMISE ? GLP_MAX : GLP_MIN);
    glp_set_obj_coef(problem, 0, lp->constant);
}

glp_prob *efi_glpk_build(const efi_lp *lp)
{
    glp_prob *problem = glp_create_prob();
    tell_objective(lp, problem);
    if (lp->column_count > 0)
        glp_add_cols(problem, lp->column_count);
    for (int j = 0; j < lp->column_count; j++)
        tell_column(lp, problem, j);
    if (lp->row_count > 0)
        glp_add_rows(problem, lp->row_count);
    for (int i = 0; i < lp->row_count; i++)
        tell_row_bounds(lp, problem, i);
    tell_all_entries(lp, problem);
    return problem;
}

static void tell_changed_columns(efi_lp *lp)
{
    efi_lp_mirror *mirror = &lp->mirror;
    while (mirror->changed_column != EFI_LP_LIST_END) {
        const int j = mirror->changed_column;
        tell_column(lp, mirror->problem, j);
        mirror->changed_column = lp->columns[j].next_changed;
        lp->columns[j].next_changed = EFI_LP_NOT_LISTED;
    }
    if (lp->column_count > mirror->columns)
        glp_add_cols(mirror->problem, lp->column_count - mirror->columns);
    for (int j = mirror->columns; j < lp->column_count; j++)
        tell_column(lp, mirror->problem, j);
    mirror->columns = lp->column_count;
}

static void tell_changed_rows(efi_lp *lp)
{
    efi_lp_mirror *mirror = &lp->mirror;
    while (mirror->changed_row != EFI_LP_LIST_END) {
        const int i = mirror->changed_row;
        tell_row_bounds(lp, mirror->problem, i);
        if (lp->rows[i].entries_changed) {
            tell_row_entries(lp, mirror->problem, i);
            mirror->is_scaled = false;
        }
        lp->rows[i].entries_changed = false;
        mirror->changed_row = lp->rows[i].next_changed;
        lp->rows[i].next_changed = EFI_LP_NOT_LISTED;
    }
    if (lp->row_count > mirror->rows) {
        glp_add_rows(mirror->problem, lp->row_count - mirror->rows);
        mirror->is_scaled = mirror->has_scale = false;
    }
    for (int i = mirror->rows; i < lp->row_count; i++) {
        tell_row_bounds(lp, mirror->problem, i);
        tell_row_entries(lp, mirror->problem, i);
    }
    mirror->rows = lp->row_count;
}

void efi_lp_mirror_update(efi_lp *lp)
{
    efi_lp_mirror *mirror = &lp->mirror;
    if (mirror->problem) {
        tell_objective(lp, mirror->problem);
        tell_changed_columns(lp);
        tell_changed_rows(lp);
        return;
    }
    mirror->problem = efi_glpk_build(lp);
    mirror->thread = &environment;
    mirror->environment = environment.number;
    mirror->rows = lp->row_count;
    mirror->columns = lp->column_count;
    environment.models++;
}

/* ---- a basis from another model ---- */

struct borrowing {
    efi_lp *to;
    const efi_lp *from;
};

static void basis_copy(void *argument)
{
    const struct borrowing *pair = argument;
    efi_lp_mirror_update(pair->to);
    glp_prob *to = pair->to->mirror.problem;
    glp_prob *from = pair->from->mirror.problem;
    for (int i = 1; i <= pair->to->row_count; i++)
        glp_set_row_stat(to, i, glp_get_row_stat(from, i));
    for (int j = 1; j <= pair->to->column_count; j++)
        glp_set_col_stat(to, j, glp_get_col_stat(from, j));
    pair->to->mirror.has_basis = true;
}

ef_status efi_lp_basis_borrow(efi_lp *to, const efi_lp *from)
{
    if (!from->mirror.has_basis || !efi_lp_mirror_is_here(from))
        return EF_OK;
    assert(to->row_count == from->mirror.rows && to->column_count == from->mirror.columns);
    EF_TRY(efi_lp_mirror_prepare(to));
    struct borrowing pair = {to, from};
    const ef_status status = efi_glpk_guarded(basis_copy, &pair);
    efi_lp_mirror_release(to);
    return status;
}
