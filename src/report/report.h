/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the report floor share: handing over a text, and tables with aligned columns. */
#ifndef EFI_REPORT_H
#define EFI_REPORT_H

#include "base/text.h"

#include <evenfeed/report.h>

/* Hands a finished text over to the caller of a report function, or frees it and returns EF_MEMORY. */
ef_status efi_report_give(efi_text *from, char **text);

/* A table: cells are added row by row, then printed with columns as wide as their widest cell. */
typedef struct efi_table {
    int columns;
    const char *align; /* one letter a column: 'l' or 'r' */
    efi_text cells;    /* all cells, each closed by a NUL */
    int count;         /* cells so far */
} efi_table;

/* Adds one cell; NULL is an empty one. */
void efi_table_add(efi_table *table, const char *cell);

/* Adds a text as one cell and frees it; a text that has failed makes the table fail. */
void efi_table_take(efi_table *table, efi_text *cell);

/* Prints the table with `indent` blanks before each line; a rule of dashes follows the first row when
 * `heading`. The table is empty again afterwards. */
void efi_table_print(efi_table *table, efi_text *out, int indent, bool heading);

/* Adds words with line breaks before `width` columns, each line after `indent` blanks, and a line
 * end. A number and the unit after it stay on one line. */
void efi_report_wrap(efi_text *out, const char *words, int indent, int width);

/* The same for a text, which it frees; one that has failed makes `out` fail. */
void efi_report_wrap_text(efi_text *out, efi_text *words, int indent, int width);

#endif
