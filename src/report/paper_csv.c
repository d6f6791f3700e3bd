/* SPDX-License-Identifier: GPL-3.0-or-later
 * A table of a paper as CSV: a number is a number, its unit in the title of the column, or in a column of its
 * own where it is not always the same. */
#include "base/tongue.h"
#include "report/csv_text.h"
#include "report/paper.h"

#include <string.h>

/* What the cells of a column hold. */
typedef struct shape {
    const char *unit; /* of all numbers; NULL: they differ */
    bool has_values, has_limits;
} shape;

static shape shape_of(const efi_part *part, int column)
{
    shape s = {.unit = ""};
    for (int i = column; i < part->cell_count; i += part->column_count) {
        const efi_cell *cell = &part->cells[i];
        if (!cell->has_value)
            continue;
        if (!s.has_values)
            s.unit = cell->unit;
        else if (s.unit && strcmp(s.unit, cell->unit) != 0)
            s.unit = NULL;
        s.has_values = true;
        s.has_limits = s.has_limits || cell->has_limits;
    }
    return s;
}

static void add_title(efi_text *out, const efi_column *column, const shape *s, const char *of)
{
    efi_text words = {0};
    const char *unit = s->unit ? s->unit : "";
    efi_text_addf(&words, "%s%s%s", *column->title ? column->title : efi_tr("Remark"), *of ? " " : "", of);
    if (!efi_column_says(column, unit))
        efi_text_addf(&words, " [%s]", unit);
    efi_csv_add_text(out, efi_text_get(&words));
    out->failed = out->failed || words.failed;
    efi_text_free(&words);
}

static void add_titles(efi_text *out, const efi_column *column, const shape *s)
{
    add_title(out, column, s, "");
    if (!s->unit) {
        efi_csv_next(out);
        add_title(out, column, s, efi_tr_in("column", "unit"));
    }
    if (s->has_limits) {
        efi_csv_next(out);
        add_title(out, column, s, efi_tr_in("column", "low"));
        efi_csv_next(out);
        add_title(out, column, s, efi_tr_in("column", "high"));
    }
}

/* Items of a cell, with commas between them. */
static void add_words(efi_text *out, const char *words)
{
    efi_text line = {0};
    for (; *words; words++)
        efi_text_add_bytes(&line, *words == '\n' ? ", " : words, *words == '\n' ? 2 : 1);
    efi_csv_add_text(out, efi_text_get(&line));
    out->failed = out->failed || line.failed;
    efi_text_free(&line);
}

static void add_cells(efi_text *out, const efi_cell *cell, const shape *s)
{
    if (cell->has_value)
        efi_csv_add_number(out, cell->value);
    else
        add_words(out, cell->words);
    if (!s->unit) {
        efi_csv_next(out);
        efi_csv_add_text(out, cell->has_value ? cell->unit : "");
    }
    if (s->has_limits) {
        efi_csv_next(out);
        if (cell->has_limits)
            efi_csv_add_number(out, cell->low);
        efi_csv_next(out);
        if (cell->has_limits)
            efi_csv_add_number(out, cell->high);
    }
}

void efi_paper_csv(const efi_part *table, efi_text *out)
{
    shape shapes[EFI_TABLE_MOST_COLUMNS];
    bool first = true;
    for (int i = 0; i < table->column_count; i++) {
        shapes[i] = shape_of(table, i);
        if (table->columns[i].drawn)
            continue;
        if (!first)
            efi_csv_next(out);
        first = false;
        add_titles(out, &table->columns[i], &shapes[i]);
    }
    efi_csv_end(out);
    for (int row = 0; row < table->cell_count / table->column_count; row++) {
        first = true;
        for (int i = 0; i < table->column_count; i++) {
            if (table->columns[i].drawn)
                continue;
            if (!first)
                efi_csv_next(out);
            first = false;
            add_cells(out, &table->cells[row * table->column_count + i], &shapes[i]);
        }
        efi_csv_end(out);
    }
}
