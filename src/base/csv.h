/* SPDX-License-Identifier: GPL-3.0-or-later
 * Tables as spreadsheets save them (RFC 4180): cells with the place where each stands. */
#ifndef EFI_CSV_H
#define EFI_CSV_H

#include "base/diag.h"
#include "base/memory.h"

#include <stdbool.h>
#include <stdint.h>

/* What the reader accepts. */
enum {
    EFI_CSV_MOST_BYTES = 64 << 20,
    EFI_CSV_MOST_COLUMNS = 1000
};

/* One cell. The text is not closed by NUL; blanks around unquoted text are left out. */
typedef struct efi_csv_cell {
    const char *text;
    uint32_t length;
    uint32_t line;   /* from 1 */
    uint32_t column; /* from 1, characters */
    uint32_t end_column;
    bool quoted;
} efi_csv_cell;

typedef struct efi_csv {
    const char *name;  /* of the file, for messages */
    const char *bytes; /* borrowed */
    size_t length;
    char separator;      /* ',' ';' or a tab */
    int columns;         /* of the first row, which heads the others */
    int rows;            /* the heading included; rows without any text are left out */
    efi_csv_cell *cells; /* shape [rows][columns]; a short row is filled up with empty cells */
} efi_csv;

/*
 * Reads a table from `bytes` (length of them, which must live as long as the arena) named `name`. The
 * separator is the one that the first line holds most of: comma, semicolon or tab. Cells in double quotes may
 * hold separators, line ends and doubled quotes. A byte order mark is skipped; line ends may be LF or CRLF.
 * What is wrong is added to `diags`: text that is not UTF-8, a quote that is not closed or followed by more,
 * a row with more cells than the heading, too large a file. The table then holds what could be read. EF_OK or
 * EF_MEMORY.
 */
ef_status efi_csv_read(efi_csv *csv, efi_arena *arena, const char *name, const char *bytes, size_t length,
                       ef_diags *diags);

/* The cell of a row (0 is the heading) and column. */
const efi_csv_cell *efi_csv_at(const efi_csv *csv, int row, int column);

/* Position in the heading of a column with this name, ignoring case, blanks, hyphens and underscores; -1
 * without. */
int efi_csv_column(const efi_csv *csv, const char *name);

/* Where a cell stands, and the beginning of a finding about it: place, excerpt (in `arena`), key (the heading
 * of its column) and what was found. */
ef_place efi_csv_place(const efi_csv *csv, const efi_csv_cell *cell);
ef_diag efi_csv_draft(const efi_csv *csv, efi_arena *arena, int row, int column);

#endif
