/* SPDX-License-Identifier: GPL-3.0-or-later
 * Models from files, with GLPK's readers. */
#include "base/locale.h"
#include "shared/lp/lp_glpk.h"

typedef struct reading {
    const char *path;
    efi_lp_format format;
    efi_lp *lp;
    /* Working space for one row, as GLPK fills it (from 1) and as the model takes it. */
    int *indices;
    double *values;
    efi_lp_entry *entries;
    ef_status status;
} reading;

static efi_lp_bounds bounds_of(int type, double lower, double upper)
{
    switch (type) {
    case GLP_LO:
        return efi_lp_at_least(lower);
    case GLP_UP:
        return efi_lp_at_most(upper);
    case GLP_DB:
        return efi_lp_between(lower, upper);
    case GLP_FX:
        return efi_lp_exactly(lower);
    default:
        return efi_lp_free_bounds();
    }
}

static ef_status columns_take(efi_lp *lp, glp_prob *problem)
{
    efi_lp_set_sense(lp, glp_get_obj_dir(problem) == GLP_MAX ? EFI_LP_MAXIMISE : EFI_LP_MINIMISE);
    EF_TRY(efi_lp_set_constant(lp, glp_get_obj_coef(problem, 0)));
    for (int j = 1; j <= glp_get_num_cols(problem); j++)
        EF_TRY(efi_lp_add_column(
            lp, glp_get_col_name(problem, j),
            bounds_of(glp_get_col_type(problem, j), glp_get_col_lb(problem, j), glp_get_col_ub(problem, j)),
            glp_get_obj_coef(problem, j), glp_get_col_kind(problem, j) != GLP_CV, NULL));
    return EF_OK;
}

static ef_status rows_take(reading *r, glp_prob *problem)
{
    const size_t size = (size_t)glp_get_num_cols(problem) + 1;
    r->indices = efi_new(size, sizeof *r->indices);
    r->values = efi_new(size, sizeof *r->values);
    r->entries = efi_new(size, sizeof *r->entries);
    if (!r->indices || !r->values || !r->entries)
        return EF_MEMORY;
    for (int i = 1; i <= glp_get_num_rows(problem); i++) {
        const int length = glp_get_mat_row(problem, i, r->indices, r->values);
        for (int k = 0; k < length; k++)
            r->entries[k] = (efi_lp_entry){r->indices[k + 1] - 1, r->values[k + 1]};
        EF_TRY(efi_lp_add_row(
            r->lp, glp_get_row_name(problem, i),
            bounds_of(glp_get_row_type(problem, i), glp_get_row_lb(problem, i), glp_get_row_ub(problem, i)),
            r->entries, length, NULL));
    }
    return EF_OK;
}

static int file_read(const reading *r, glp_prob *problem)
{
    switch (r->format) {
    case EFI_LP_FREE_MPS:
        return glp_read_mps(problem, GLP_MPS_FILE, NULL, r->path);
    case EFI_LP_FIXED_MPS:
        return glp_read_mps(problem, GLP_MPS_DECK, NULL, r->path);
    case EFI_LP_CPLEX:
        return glp_read_lp(problem, NULL, r->path);
    }
    return -1;
}

static void read_guarded(void *argument)
{
    reading *r = argument;
    glp_prob *problem = glp_create_prob();
    if (file_read(r, problem) == 0) {
        r->status = columns_take(r->lp, problem);
        if (r->status == EF_OK)
            r->status = rows_take(r, problem);
        if (r->status == EF_USAGE)
            r->status = EF_FILE;
    }
    glp_delete_prob(problem);
}

ef_status efi_lp_read(const char *path, efi_lp_format format, efi_lp **lp)
{
    reading r = {.path = path, .format = format, .lp = efi_lp_new(), .status = EF_FILE};
    efi_locale locale;
    ef_status status = efi_locale_enter(&locale);
    if (status == EF_OK)
        status = r.lp ? efi_glpk_guarded(read_guarded, &r) : EF_MEMORY;
    efi_locale_leave(&locale);
    if (status == EF_OK)
        status = r.status;
    efi_free(r.indices);
    efi_free(r.values);
    efi_free(r.entries);
    if (status == EF_OK)
        *lp = r.lp;
    else
        efi_lp_free(r.lp);
    return status;
}
