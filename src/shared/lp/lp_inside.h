/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of this folder share: the model, its copy inside GLPK, and the calls between them. */
#ifndef EFI_LP_INSIDE_H
#define EFI_LP_INSIDE_H

#include "base/memory.h"
#include "shared/lp/lp.h"

#include <stddef.h>

struct glp_prob;

/* Ends of the linked lists of changed rows and columns. */
enum {
    EFI_LP_LIST_END = -1,
    EFI_LP_NOT_LISTED = -2
};

typedef struct efi_lp_column {
    const char *name; /* in the arena; NULL: none */
    efi_lp_bounds bounds;
    double objective;
    bool is_integer;
    int next_changed; /* in the list of what GLPK has not been told yet */
} efi_lp_column;

typedef struct efi_lp_row {
    const char *name;
    efi_lp_bounds bounds;
    efi_lp_entry *entries; /* sorted by column, each column once; owned */
    int count;
    bool entries_changed;
    int next_changed;
} efi_lp_row;

/* The model as GLPK knows it: the first `rows` and `columns` of the model, less what is listed as changed. */
typedef struct efi_lp_mirror {
    struct glp_prob *problem; /* NULL: none yet */
    const void *thread;       /* whose GLPK environment holds it, and which of that thread's environments */
    unsigned environment;
    int rows;
    int columns;
    int changed_row; /* heads of the lists */
    int changed_column;
    bool is_scaled; /* the scale factors fit the entries */
    bool has_scale; /* all rows have scale factors, for these entries or earlier ones */
    bool has_basis; /* left by an earlier solve */
} efi_lp_mirror;

struct efi_lp {
    efi_arena *names;
    efi_lp_sense sense;
    double constant;
    efi_lp_column *columns;
    efi_lp_row *rows;
    int column_count;
    int row_count;
    size_t column_room;
    size_t row_room;
    size_t entry_count;
    int integer_count;
    efi_lp_mirror mirror;
    /* Solution: four arrays in one block that is made anew before each solve; see lp.h for shapes. */
    double *values;
    double *reduced_costs;
    double *activities;
    double *duals;
    bool has_point;
    bool has_duals;
    bool is_current;        /* the model is unchanged since the last solve */
    bool is_optimal;        /* that solve gave an optimum */
    bool only_costs_differ; /* since an optimum with a basis only objective coefficients changed */
    /* Working space of one solve, made with the solution. */
    int *index_space;    /* shape [longest row + 1, or every entry + 1], as needed by GLPK */
    int *row_space;      /* the same shape; NULL unless the whole matrix is loaded */
    double *value_space; /* the same shape */
    double *check_space; /* shape [2, column] */
};

/* ---- lp_glpk.c: GLPK's environment, and bringing it up to date ---- */

/*
 * Runs work(argument) with GLPK silent and its errors caught. EF_OK, or EF_INTERNAL when GLPK raised an
 * error: then all that GLPK held for this thread is gone. `work` must leave what it allocates where its
 * caller can free it. Must not be nested.
 */
ef_status efi_glpk_guarded(void (*work)(void *argument), void *argument);

/* Does GLPK hold this model, on this thread? */
bool efi_lp_mirror_is_here(const efi_lp *lp);

/* Forgets what GLPK was told of this model, releasing it where that is possible. */
void efi_lp_mirror_drop(efi_lp *lp);

/* Makes the working space that efi_lp_mirror_update needs. EF_OK or EF_MEMORY. */
ef_status efi_lp_mirror_prepare(efi_lp *lp);

/* Releases it. */
void efi_lp_mirror_release(efi_lp *lp);

/* Tells GLPK all that changed; only inside efi_glpk_guarded and after efi_lp_mirror_prepare. */
void efi_lp_mirror_update(efi_lp *lp);

/*
 * Starts `to` from the basis of `from`, which has the same rows and columns and was solved on this thread.
 * Does nothing when `from` has no basis. EF_OK, EF_MEMORY, EF_INTERNAL.
 */
ef_status efi_lp_basis_borrow(efi_lp *to, const efi_lp *from);

/* ---- lp_check.c ---- */

/*
 * Computes activities, reduced costs (when lp->has_duals) and objective from values and duals and measures
 * the errors into `result`. True when they pass the tolerances of lp.h: with duals that proves the optimum.
 */
bool efi_lp_check(efi_lp *lp, efi_lp_result *result);

/* ---- lp_solve.c ---- */

/* One solve on its way. */
typedef struct efi_lp_run {
    efi_lp *lp;
    const efi_lp_options *options;
    efi_lp_result *result;
    double started_s;
    bool is_stopped; /* by the caller or the time limit */
} efi_lp_run;

/* Milliseconds left, as GLPK wants them; notes in `run` when the time is up or a stop is wished. */
int efi_lp_time_left(efi_lp_run *run);

/* Simplex on any problem from its present basis, with the run's limits; GLPK's return code. */
int efi_lp_simplex(efi_lp_run *run, struct glp_prob *problem, bool primal);

/* Settles the run's result for a linear program that GLPK has been told. */
void efi_lp_solve_linear(efi_lp_run *run);

/* ---- lp_integer.c ---- */

/* Settles the run's result for a program with integer columns that GLPK has been told. */
void efi_lp_solve_integer(efi_lp_run *run);

#endif
