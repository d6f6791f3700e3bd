/* SPDX-License-Identifier: GPL-3.0-or-later
 * The model: columns, rows and entries, kept here and listed as changed until GLPK has been told. */
#include "shared/lp/lp_inside.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* GLPK's own limits. */
enum {
    MOST_LINES = 100000000,
    MOST_ENTRIES = 500000000
};

efi_lp *efi_lp_new(void)
{
    efi_lp *lp = efi_new(1, sizeof *lp);
    efi_arena *names = efi_arena_new();
    if (!lp || !names) {
        efi_free(lp);
        efi_arena_free(names);
        return NULL;
    }
    lp->names = names;
    lp->mirror.changed_row = EFI_LP_LIST_END;
    lp->mirror.changed_column = EFI_LP_LIST_END;
    return lp;
}

void efi_lp_free(efi_lp *lp)
{
    if (!lp)
        return;
    efi_lp_mirror_drop(lp);
    efi_lp_mirror_release(lp);
    for (int i = 0; i < lp->row_count; i++)
        efi_free(lp->rows[i].entries);
    efi_free(lp->rows);
    efi_free(lp->columns);
    efi_free(lp->values);
    efi_arena_free(lp->names);
    efi_free(lp);
}

/* ---- what changed ---- */

static void column_changed(efi_lp *lp, int column)
{
    lp->is_current = false;
    efi_lp_column *c = &lp->columns[column];
    if (column >= lp->mirror.columns)
        return;
    if (c->next_changed != EFI_LP_NOT_LISTED)
        return;
    c->next_changed = lp->mirror.changed_column;
    lp->mirror.changed_column = column;
}

static void row_changed(efi_lp *lp, int row)
{
    lp->is_current = false;
    lp->only_costs_differ = false;
    efi_lp_row *r = &lp->rows[row];
    if (row >= lp->mirror.rows)
        return;
    if (r->next_changed != EFI_LP_NOT_LISTED)
        return;
    r->next_changed = lp->mirror.changed_row;
    lp->mirror.changed_row = row;
}

static bool is_column(const efi_lp *lp, int column)
{
    return column >= 0 && column < lp->column_count;
}

static bool is_row(const efi_lp *lp, int row)
{
    return row >= 0 && row < lp->row_count;
}

static bool bounds_are_numbers(efi_lp_bounds bounds)
{
    return (!bounds.has_lower || isfinite(bounds.lower)) && (!bounds.has_upper || isfinite(bounds.upper));
}

/* A copy of a name in the model's arena; NULL stays NULL. */
static ef_status name_copy(efi_lp *lp, const char *name, const char **copy)
{
    *copy = NULL;
    if (!name)
        return EF_OK;
    *copy = efi_arena_text(lp->names, name, strlen(name));
    return *copy ? EF_OK : EF_MEMORY;
}

/* ---- objective and columns ---- */

void efi_lp_set_sense(efi_lp *lp, efi_lp_sense sense)
{
    lp->sense = sense;
    lp->is_current = false;
}

ef_status efi_lp_set_constant(efi_lp *lp, double constant)
{
    if (!isfinite(constant))
        return EF_USAGE;
    lp->constant = constant;
    lp->is_current = false;
    return EF_OK;
}

ef_status efi_lp_add_column(efi_lp *lp, const char *name, efi_lp_bounds bounds, double objective,
                            bool is_integer, int *column)
{
    if (!bounds_are_numbers(bounds) || !isfinite(objective) || lp->column_count >= MOST_LINES)
        return EF_USAGE;
    const char *copy;
    EF_TRY(name_copy(lp, name, &copy));
    if (efi_grow(&lp->columns, (size_t)lp->column_count, &lp->column_room, sizeof *lp->columns) != 0)
        return EF_MEMORY;
    const int index = lp->column_count++;
    lp->only_costs_differ = false;
    lp->columns[index] = (efi_lp_column){copy, bounds, objective, is_integer, EFI_LP_NOT_LISTED};
    lp->integer_count += is_integer;
    column_changed(lp, index);
    if (column)
        *column = index;
    return EF_OK;
}

ef_status efi_lp_set_column_bounds(efi_lp *lp, int column, efi_lp_bounds bounds)
{
    if (!is_column(lp, column) || !bounds_are_numbers(bounds))
        return EF_USAGE;
    lp->columns[column].bounds = bounds;
    lp->only_costs_differ = false;
    column_changed(lp, column);
    return EF_OK;
}

ef_status efi_lp_set_objective(efi_lp *lp, int column, double objective)
{
    if (!is_column(lp, column) || !isfinite(objective))
        return EF_USAGE;
    lp->columns[column].objective = objective;
    column_changed(lp, column);
    return EF_OK;
}

ef_status efi_lp_set_integer(efi_lp *lp, int column, bool is_integer)
{
    if (!is_column(lp, column))
        return EF_USAGE;
    lp->integer_count += (int)is_integer - (int)lp->columns[column].is_integer;
    lp->columns[column].is_integer = is_integer;
    column_changed(lp, column);
    return EF_OK;
}

/* ---- rows ---- */

static int by_column(const void *a, const void *b)
{
    const int x = ((const efi_lp_entry *)a)->column;
    const int y = ((const efi_lp_entry *)b)->column;
    return (x > y) - (x < y);
}

static bool entries_are_good(const efi_lp *lp, const efi_lp_entry *entries, int count)
{
    if (count < 0)
        return false;
    for (int k = 0; k < count; k++)
        if (!is_column(lp, entries[k].column) || !isfinite(entries[k].value))
            return false;
    return true;
}

static bool is_sorted(const efi_lp_entry *entries, int count)
{
    for (int k = 1; k < count; k++)
        if (entries[k - 1].column >= entries[k].column)
            return false;
    return true;
}

/*
 * A sorted copy with the entries of one column added up. Their sum is that of the order in which they came
 * only up to rounding, since qsort is not stable; so among equal columns it adds from small to large value.
 */
static int by_column_then_value(const void *a, const void *b)
{
    const int order = by_column(a, b);
    if (order)
        return order;
    const double x = ((const efi_lp_entry *)a)->value;
    const double y = ((const efi_lp_entry *)b)->value;
    return (x > y) - (x < y);
}

static ef_status entries_copy(const efi_lp *lp, const efi_lp_entry *entries, int count, efi_lp_entry **copy,
                              int *copy_count)
{
    if (!entries_are_good(lp, entries, count))
        return EF_USAGE;
    efi_lp_entry *sorted = efi_new((size_t)count, sizeof *sorted);
    if (!sorted)
        return EF_MEMORY;
    if (count)
        memcpy(sorted, entries, (size_t)count * sizeof *sorted);
    int kept = count;
    if (!is_sorted(sorted, count)) {
        qsort(sorted, (size_t)count, sizeof *sorted, by_column_then_value);
        kept = 0;
        for (int k = 0; k < count; k++)
            if (kept > 0 && sorted[kept - 1].column == sorted[k].column)
                sorted[kept - 1].value += sorted[k].value;
            else
                sorted[kept++] = sorted[k];
    }
    for (int k = 0; k < kept; k++)
        if (!isfinite(sorted[k].value)) {
            efi_free(sorted);
            return EF_USAGE;
        }
    *copy = sorted;
    *copy_count = kept;
    return EF_OK;
}

ef_status efi_lp_add_row(efi_lp *lp, const char *name, efi_lp_bounds bounds, const efi_lp_entry *entries,
                         int count, int *row)
{
    if (!bounds_are_numbers(bounds) || lp->row_count >= MOST_LINES)
        return EF_USAGE;
    efi_lp_entry *copy;
    int copy_count;
    EF_TRY(entries_copy(lp, entries, count, &copy, &copy_count));
    const char *name_kept = NULL;
    ef_status status = EF_USAGE;
    if (lp->entry_count + (size_t)copy_count > MOST_ENTRIES)
        goto fail;
    status = name_copy(lp, name, &name_kept);
    if (status != EF_OK)
        goto fail;
    status = EF_MEMORY;
    if (efi_grow(&lp->rows, (size_t)lp->row_count, &lp->row_room, sizeof *lp->rows) != 0)
        goto fail;
    const int index = lp->row_count++;
    lp->rows[index] = (efi_lp_row){name_kept, bounds, copy, copy_count, false, EFI_LP_NOT_LISTED};
    lp->entry_count += (size_t)copy_count;
    row_changed(lp, index);
    if (row)
        *row = index;
    return EF_OK;
fail:
    efi_free(copy);
    return status;
}

ef_status efi_lp_set_row_bounds(efi_lp *lp, int row, efi_lp_bounds bounds)
{
    if (!is_row(lp, row) || !bounds_are_numbers(bounds))
        return EF_USAGE;
    lp->rows[row].bounds = bounds;
    row_changed(lp, row);
    return EF_OK;
}

static ef_status entries_replace(efi_lp *lp, int row, efi_lp_entry *entries, int count)
{
    efi_lp_row *r = &lp->rows[row];
    const size_t total = lp->entry_count - (size_t)r->count + (size_t)count;
    if (total > MOST_ENTRIES) {
        efi_free(entries);
        return EF_USAGE;
    }
    efi_free(r->entries);
    r->entries = entries;
    r->count = count;
    lp->entry_count = total;
    r->entries_changed = true;
    row_changed(lp, row);
    return EF_OK;
}

ef_status efi_lp_set_row(efi_lp *lp, int row, const efi_lp_entry *entries, int count)
{
    if (!is_row(lp, row))
        return EF_USAGE;
    efi_lp_entry *copy;
    int copy_count;
    EF_TRY(entries_copy(lp, entries, count, &copy, &copy_count));
    return entries_replace(lp, row, copy, copy_count);
}

ef_status efi_lp_set_entry(efi_lp *lp, int row, int column, double value)
{
    if (!is_row(lp, row) || !is_column(lp, column) || !isfinite(value))
        return EF_USAGE;
    efi_lp_row *r = &lp->rows[row];
    const efi_lp_entry wanted = {column, value};
    efi_lp_entry *found = NULL;
    if (r->count > 0)
        found = bsearch(&wanted, r->entries, (size_t)r->count, sizeof wanted, by_column);
    if (found) {
        found->value = value;
        r->entries_changed = true;
        row_changed(lp, row);
        return EF_OK;
    }
    efi_lp_entry *more = efi_new((size_t)r->count + 1, sizeof *more);
    if (!more)
        return EF_MEMORY;
    int k = 0;
    for (; k < r->count && r->entries[k].column < column; k++)
        more[k] = r->entries[k];
    more[k] = wanted;
    for (; k < r->count; k++)
        more[k + 1] = r->entries[k];
    return entries_replace(lp, row, more, r->count + 1);
}

void efi_lp_forget_basis(efi_lp *lp)
{
    lp->mirror.has_basis = false;
}

/* ---- reading ---- */

int efi_lp_columns(const efi_lp *lp)
{
    return lp->column_count;
}

int efi_lp_rows(const efi_lp *lp)
{
    return lp->row_count;
}

efi_lp_sense efi_lp_get_sense(const efi_lp *lp)
{
    return lp->sense;
}

efi_lp_bounds efi_lp_column_bounds(const efi_lp *lp, int column)
{
    assert(is_column(lp, column));
    return lp->columns[column].bounds;
}

efi_lp_bounds efi_lp_row_bounds(const efi_lp *lp, int row)
{
    assert(is_row(lp, row));
    return lp->rows[row].bounds;
}

double efi_lp_objective(const efi_lp *lp, int column)
{
    assert(is_column(lp, column));
    return lp->columns[column].objective;
}

bool efi_lp_is_integer(const efi_lp *lp, int column)
{
    assert(is_column(lp, column));
    return lp->columns[column].is_integer;
}

const char *efi_lp_column_name(const efi_lp *lp, int column)
{
    assert(is_column(lp, column));
    return lp->columns[column].name;
}

const char *efi_lp_row_name(const efi_lp *lp, int row)
{
    assert(is_row(lp, row));
    return lp->rows[row].name;
}

const efi_lp_entry *efi_lp_row_entries(const efi_lp *lp, int row, int *count)
{
    assert(is_row(lp, row));
    *count = lp->rows[row].count;
    return lp->rows[row].entries;
}

const double *efi_lp_values(const efi_lp *lp)
{
    return lp->has_point ? lp->values : NULL;
}

const double *efi_lp_activities(const efi_lp *lp)
{
    return lp->has_point ? lp->activities : NULL;
}

const double *efi_lp_duals(const efi_lp *lp)
{
    return lp->has_duals ? lp->duals : NULL;
}

const double *efi_lp_reduced_costs(const efi_lp *lp)
{
    return lp->has_duals ? lp->reduced_costs : NULL;
}

efi_lp_options efi_lp_defaults(void)
{
    return (efi_lp_options){.method = EFI_LP_AUTO, .presolve = EFI_LP_PRESOLVE_AUTO};
}

const char *efi_lp_outcome_text(efi_lp_outcome outcome)
{
    switch (outcome) {
#define OUTCOME_CASE(name, words)                                                                            \
    case name:                                                                                               \
        return words;
        EFI_LP_OUTCOME_LIST(OUTCOME_CASE)
#undef OUTCOME_CASE
    }
    return "unknown outcome";
}
