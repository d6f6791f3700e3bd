/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/report.h"
#include "base/letter.h"
#include "base/memory.h"

#include <string.h>

void ef_report_free(char *text)
{
    efi_free(text);
}

ef_status efi_report_give(efi_text *from, char **text)
{
    if (!from->bytes)
        efi_text_add(from, "");
    if (from->failed) {
        efi_text_free(from);
        return EF_MEMORY;
    }
    *text = from->bytes;
    memset(from, 0, sizeof *from);
    return EF_OK;
}

void efi_table_add(efi_table *table, const char *cell)
{
    const char *words = cell ? cell : "";
    efi_text_add_bytes(&table->cells, words, strlen(words) + 1);
    table->count++;
}

void efi_table_take(efi_table *table, efi_text *cell)
{
    table->cells.failed = table->cells.failed || cell->failed;
    efi_table_add(table, efi_text_get(cell));
    efi_text_free(cell);
}

enum {
    MOST_COLUMNS = 16,
    COLUMN_GAP = 2
};

static const char *next_cell(const char *cell)
{
    return cell + strlen(cell) + 1;
}

static void print_row(const efi_table *table, const char **cell, const int *width, efi_text *out, int indent)
{
    efi_text_fill(out, ' ', indent);
    int pending = 0; /* blanks owed before the next visible cell, so that no line ends in blanks */
    for (int column = 0; column < table->columns; column++) {
        const int gap = width[column] - efi_text_width(*cell);
        const bool right = table->align[column] == 'r';
        if (**cell) {
            efi_text_fill(out, ' ', pending + (right ? gap : 0));
            efi_text_add(out, *cell);
            pending = right ? 0 : gap;
        } else {
            pending += width[column];
        }
        pending += COLUMN_GAP;
        *cell = next_cell(*cell);
    }
    efi_text_add(out, "\n");
}

static void print_rule(const efi_table *table, const int *width, efi_text *out, int indent)
{
    efi_text_fill(out, ' ', indent);
    for (int column = 0; column < table->columns; column++) {
        efi_text_fill(out, '-', width[column]);
        if (column + 1 < table->columns)
            efi_text_fill(out, ' ', COLUMN_GAP);
    }
    efi_text_add(out, "\n");
}

void efi_table_print(efi_table *table, efi_text *out, int indent, bool heading)
{
    int width[MOST_COLUMNS] = {0};
    const char *cell = efi_text_get(&table->cells);
    if (EF_NEVER(table->columns > MOST_COLUMNS || table->columns < 1) || table->cells.failed) {
        out->failed = true;
        efi_text_free(&table->cells);
        return;
    }
    for (int i = 0; i < table->count; i++) {
        const int wide = efi_text_width(cell);
        if (wide > width[i % table->columns])
            width[i % table->columns] = wide;
        cell = next_cell(cell);
    }
    cell = efi_text_get(&table->cells);
    for (int row = 0; row < table->count / table->columns; row++) {
        print_row(table, &cell, width, out, indent);
        if (row == 0 && heading)
            print_rule(table, width, out, indent);
    }
    efi_text_free(&table->cells);
    table->count = 0;
}

/* Bytes up to the next place where a line may break: a number keeps its unit. */
static size_t next_break(const char *words)
{
    size_t length = strcspn(words, " \n");
    while (length > 0 && words[length] == ' ' && efi_is_digit(words[length - 1]))
        length += 1 + strcspn(words + length + 1, " \n");
    return length;
}

void efi_report_wrap(efi_text *out, const char *words, int indent, int width)
{
    int column = 0;
    while (*words) {
        const size_t length = next_break(words);
        if (length == 0) {
            words++;
            continue;
        }
        const int wide = efi_utf8_count(words, length);
        if (column > 0 && column + 1 + wide > width) {
            efi_text_add(out, "\n");
            column = 0;
        }
        if (column == 0) {
            efi_text_fill(out, ' ', indent);
            column = indent;
        } else {
            efi_text_add(out, " ");
            column++;
        }
        efi_text_add_bytes(out, words, length);
        column += wide;
        words += length;
    }
    efi_text_add(out, "\n");
}

void efi_report_wrap_text(efi_text *out, efi_text *words, int indent, int width)
{
    out->failed = out->failed || words->failed;
    efi_report_wrap(out, efi_text_get(words), indent, width);
    efi_text_free(words);
}
