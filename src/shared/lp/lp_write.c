/* SPDX-License-Identifier: GPL-3.0-or-later
 * A model as text, free MPS or CPLEX LP. */
#include "base/file.h"
#include "base/locale.h"
#include "base/text.h"
#include "shared/lp/lp_inside.h"
#include "shared/lp/lp_names.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    LONGEST_LINE = 100,
    NUMBER_ROOM = 32
};

static const char *const reserved_names[] = {"objective", "minus_objective", "constant_one"};

typedef struct writer {
    const efi_lp *lp;
    efi_text text;
    const char **columns;
    const char **rows;
    size_t line_start; /* of the line that is being filled */
    bool has_one;      /* the column constant_one is there */
} writer;

/* The shortest of 15 or 17 digits that reads back as the same number. */
static const char *number_text(double number, char *room)
{
    (void)snprintf(room, NUMBER_ROOM, "%.15g", number);
    if (strtod(room, NULL) != number)
        (void)snprintf(room, NUMBER_ROOM, "%.17g", number);
    return room;
}

/* ---- CPLEX LP ---- */

/* One term of a sum, on a new line when this one is full. */
static void term_add(writer *w, double factor, const char *name)
{
    char number[NUMBER_ROOM];
    if (w->text.length - w->line_start > LONGEST_LINE) {
        efi_text_add(&w->text, "\n ");
        w->line_start = w->text.length;
    }
    efi_text_addf(&w->text, " %c %s %s", signbit(factor) ? '-' : '+', number_text(fabs(factor), number),
                  name);
}

/* The format has no sum without terms. */
static bool needs_one(const efi_lp *lp)
{
    bool needs = lp->constant != 0.0 || lp->column_count == 0;
    for (int i = 0; i < lp->row_count && !needs; i++) {
        needs = true;
        for (int k = 0; k < lp->rows[i].count && needs; k++)
            needs = lp->rows[i].entries[k].value == 0.0;
    }
    return needs;
}

static void cplex_objective(writer *w, const bool *is_used)
{
    const efi_lp *lp = w->lp;
    efi_text_add(&w->text, lp->sense == EFI_LP_MAXIMISE ? "Maximize\n" : "Minimize\n");
    w->line_start = w->text.length;
    efi_text_addf(&w->text, " %s:", reserved_names[0]);
    for (int j = 0; j < lp->column_count; j++)
        if (lp->columns[j].objective != 0.0 || !is_used[j])
            term_add(w, lp->columns[j].objective, w->columns[j]);
    if (w->has_one)
        term_add(w, lp->constant, reserved_names[2]);
    efi_text_add(&w->text, "\n");
}

static void cplex_row(writer *w, int i, const char *suffix, const char *relation, double side)
{
    char number[NUMBER_ROOM];
    const efi_lp_row *row = &w->lp->rows[i];
    w->line_start = w->text.length;
    efi_text_addf(&w->text, " %s%s:", w->rows[i], suffix);
    bool is_empty = true;
    for (int k = 0; k < row->count; k++) {
        if (row->entries[k].value == 0.0)
            continue;
        term_add(w, row->entries[k].value, w->columns[row->entries[k].column]);
        is_empty = false;
    }
    if (is_empty)
        term_add(w, 0.0, reserved_names[2]);
    efi_text_addf(&w->text, " %s %s\n", relation, number_text(side, number));
}

static void cplex_rows(writer *w)
{
    efi_text_add(&w->text, "Subject To\n");
    for (int i = 0; i < w->lp->row_count; i++) {
        const efi_lp_bounds b = w->lp->rows[i].bounds;
        if (b.has_lower && b.has_upper && b.lower == b.upper) {
            cplex_row(w, i, "", "=", b.lower);
            continue;
        }
        if (b.has_upper)
            cplex_row(w, i, "", "<=", b.upper);
        if (b.has_lower)
            cplex_row(w, i, b.has_upper ? ".low" : "", ">=", b.lower);
    }
}

static void cplex_bounds(writer *w)
{
    char lower[NUMBER_ROOM];
    char upper[NUMBER_ROOM];
    efi_text_add(&w->text, "Bounds\n");
    if (w->has_one)
        efi_text_addf(&w->text, " %s = 1\n", reserved_names[2]);
    for (int j = 0; j < w->lp->column_count; j++) {
        const efi_lp_bounds b = w->lp->columns[j].bounds;
        const char *name = w->columns[j];
        if (b.has_lower && b.has_upper && b.lower == b.upper)
            efi_text_addf(&w->text, " %s = %s\n", name, number_text(b.lower, lower));
        else if (b.has_upper)
            efi_text_addf(&w->text, " %s <= %s <= %s\n", b.has_lower ? number_text(b.lower, lower) : "-inf",
                          name, number_text(b.upper, upper));
        else if (!b.has_lower)
            efi_text_addf(&w->text, " %s free\n", name);
        else if (b.lower != 0.0)
            efi_text_addf(&w->text, " %s >= %s\n", name, number_text(b.lower, lower));
    }
}

static ef_status cplex_text(writer *w)
{
    const efi_lp *lp = w->lp;
    bool *is_used = efi_new((size_t)lp->column_count, sizeof *is_used);
    if (!is_used)
        return EF_MEMORY;
    for (int i = 0; i < lp->row_count; i++)
        for (int k = 0; k < lp->rows[i].count; k++)
            if (lp->rows[i].entries[k].value != 0.0)
                is_used[lp->rows[i].entries[k].column] = true;
    w->has_one = needs_one(lp);
    cplex_objective(w, is_used);
    cplex_rows(w);
    cplex_bounds(w);
    if (lp->integer_count > 0)
        efi_text_add(&w->text, "Generals\n");
    for (int j = 0; j < lp->column_count; j++)
        if (lp->columns[j].is_integer)
            efi_text_addf(&w->text, " %s\n", w->columns[j]);
    efi_text_add(&w->text, "End\n");
    efi_free(is_used);
    return EF_OK;
}

/* ---- free MPS ---- */

static const char *mps_objective_name(const writer *w)
{
    return reserved_names[w->lp->sense == EFI_LP_MAXIMISE ? 1 : 0];
}

/* A number of the objective as MPS has it. */
static double mps_cost(const writer *w, double cost)
{
    return w->lp->sense == EFI_LP_MAXIMISE && cost != 0.0 ? -cost : cost;
}

static void mps_rows(writer *w)
{
    efi_text_addf(&w->text, "NAME evenfeed FREE\nROWS\n N %s\n", mps_objective_name(w));
    for (int i = 0; i < w->lp->row_count; i++) {
        const efi_lp_bounds b = w->lp->rows[i].bounds;
        char type = 'N';
        if (b.has_upper)
            type = b.has_lower && b.lower == b.upper ? 'E' : 'L';
        else if (b.has_lower)
            type = 'G';
        efi_text_addf(&w->text, " %c %s\n", type, w->rows[i]);
    }
}

static void mps_field(writer *w, const char *first, const char *second, double number)
{
    char room[NUMBER_ROOM];
    efi_text_addf(&w->text, " %s %s %s\n", first, second, number_text(number, room));
}

/* The model's entries by column: those of column j are at starts[j] .. starts[j + 1] - 1, by row. */
typedef struct by_columns {
    size_t *starts; /* shape [column + 2] */
    int *rows;      /* shape [entry] */
    double *values; /* shape [entry] */
} by_columns;

static void by_columns_free(by_columns *turned)
{
    efi_free(turned->starts);
    efi_free(turned->rows);
    efi_free(turned->values);
}

static ef_status by_columns_make(const efi_lp *lp, by_columns *turned)
{
    turned->starts = efi_new((size_t)lp->column_count + 2, sizeof *turned->starts);
    turned->rows = efi_new(lp->entry_count, sizeof *turned->rows);
    turned->values = efi_new(lp->entry_count, sizeof *turned->values);
    if (!turned->starts || !turned->rows || !turned->values)
        return EF_MEMORY;
    /* Counts two places on, then starts one place on, which filling moves to where they belong. */
    for (int i = 0; i < lp->row_count; i++)
        for (int k = 0; k < lp->rows[i].count; k++)
            turned->starts[lp->rows[i].entries[k].column + 2]++;
    for (int j = 0; j < lp->column_count; j++)
        turned->starts[j + 2] += turned->starts[j + 1];
    for (int i = 0; i < lp->row_count; i++)
        for (int k = 0; k < lp->rows[i].count; k++) {
            const size_t at = turned->starts[lp->rows[i].entries[k].column + 1]++;
            turned->rows[at] = i;
            turned->values[at] = lp->rows[i].entries[k].value;
        }
    return EF_OK;
}

static void mps_column(writer *w, const by_columns *turned, int j)
{
    const double cost = w->lp->columns[j].objective;
    if (cost != 0.0 || turned->starts[j] == turned->starts[j + 1])
        mps_field(w, w->columns[j], mps_objective_name(w), mps_cost(w, cost));
    for (size_t at = turned->starts[j]; at < turned->starts[j + 1]; at++)
        mps_field(w, w->columns[j], w->rows[turned->rows[at]], turned->values[at]);
}

static void mps_columns(writer *w, const by_columns *turned)
{
    bool is_inside = false; /* among integer columns */
    int markers = 0;
    efi_text_add(&w->text, "COLUMNS\n");
    for (int j = 0; j < w->lp->column_count; j++) {
        if (w->lp->columns[j].is_integer != is_inside) {
            is_inside = !is_inside;
            efi_text_addf(&w->text, " M%d 'MARKER' '%s'\n", ++markers, is_inside ? "INTORG" : "INTEND");
        }
        mps_column(w, turned, j);
    }
    if (is_inside)
        efi_text_addf(&w->text, " M%d 'MARKER' 'INTEND'\n", ++markers);
    if (w->has_one)
        mps_field(w, reserved_names[2], mps_objective_name(w), mps_cost(w, w->lp->constant));
}

static void mps_right_sides(writer *w)
{
    const efi_lp *lp = w->lp;
    efi_text_add(&w->text, "RHS\n");
    for (int i = 0; i < lp->row_count; i++) {
        const efi_lp_bounds b = lp->rows[i].bounds;
        const double side = b.has_upper ? b.upper : b.lower;
        if ((b.has_upper || b.has_lower) && side != 0.0)
            mps_field(w, "RHS", w->rows[i], side);
    }
    efi_text_add(&w->text, "RANGES\n");
    for (int i = 0; i < lp->row_count; i++) {
        const efi_lp_bounds b = lp->rows[i].bounds;
        if (b.has_lower && b.has_upper && b.lower != b.upper)
            mps_field(w, "RANGES", w->rows[i], b.upper - b.lower);
    }
}

static void mps_bounds(writer *w)
{
    efi_text_add(&w->text, "BOUNDS\n");
    for (int j = 0; j < w->lp->column_count; j++) {
        const efi_lp_column *column = &w->lp->columns[j];
        const efi_lp_bounds b = column->bounds;
        const char *name = w->columns[j];
        if (b.has_lower && b.has_upper && b.lower == b.upper) {
            mps_field(w, "FX BOUNDS", name, b.lower);
            continue;
        }
        if (!b.has_lower)
            efi_text_addf(&w->text, " %s BOUNDS %s\n", b.has_upper ? "MI" : "FR", name);
        else if (b.lower != 0.0)
            mps_field(w, "LO BOUNDS", name, b.lower);
        if (b.has_upper)
            mps_field(w, "UP BOUNDS", name, b.upper);
        else if (b.has_lower && column->is_integer) /* readers differ on the default of integer columns */
            efi_text_addf(&w->text, " PL BOUNDS %s\n", name);
    }
    if (w->has_one)
        mps_field(w, "FX BOUNDS", reserved_names[2], 1.0);
}

static ef_status mps_text(writer *w)
{
    by_columns turned = {0};
    w->has_one = w->lp->constant != 0.0;
    const ef_status status = by_columns_make(w->lp, &turned);
    if (status == EF_OK) {
        mps_rows(w);
        mps_columns(w, &turned);
        mps_right_sides(w);
        mps_bounds(w);
        efi_text_add(&w->text, "ENDATA\n");
    }
    by_columns_free(&turned);
    return status;
}

/* ---- the whole ---- */

static bool bounds_cross(efi_lp_bounds b)
{
    return b.has_lower && b.has_upper && b.lower > b.upper;
}

static bool can_write(const efi_lp *lp, efi_lp_format format)
{
    if (format == EFI_LP_FIXED_MPS)
        return false;
    for (int j = 0; j < lp->column_count; j++)
        if (bounds_cross(lp->columns[j].bounds))
            return false;
    for (int i = 0; i < lp->row_count; i++)
        if (bounds_cross(lp->rows[i].bounds))
            return false;
    return true;
}

static ef_status text_make(writer *w, efi_lp_format format, efi_arena *arena)
{
    w->columns = efi_arena_get(arena, (size_t)w->lp->column_count, sizeof *w->columns);
    w->rows = efi_arena_get(arena, (size_t)w->lp->row_count, sizeof *w->rows);
    if (!w->columns || !w->rows)
        return EF_MEMORY;
    EF_TRY(
        efi_lp_names_make(w->lp, reserved_names, (int)EF_COUNT(reserved_names), arena, w->columns, w->rows));
    EF_TRY(format == EFI_LP_CPLEX ? cplex_text(w) : mps_text(w));
    return w->text.failed ? EF_MEMORY : EF_OK;
}

ef_status efi_lp_write(const efi_lp *lp, const char *path, efi_lp_format format, bool force)
{
    if (!can_write(lp, format))
        return EF_USAGE;
    writer w = {.lp = lp};
    efi_arena *arena = efi_arena_new();
    efi_locale locale;
    ef_status status = efi_locale_enter(&locale);
    if (status == EF_OK)
        status = arena ? text_make(&w, format, arena) : EF_MEMORY;
    efi_locale_leave(&locale);
    if (status == EF_OK)
        status = efi_file_put(path, w.text.bytes, w.text.length, force);
    const int reason = errno;
    efi_text_free(&w.text);
    efi_arena_free(arena);
    errno = reason;
    return status;
}
