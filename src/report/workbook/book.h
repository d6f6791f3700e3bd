/* SPDX-License-Identifier: GPL-3.0-or-later
 * A workbook that is being written: the one place that knows libxlsxwriter. Numbers are numbers, with a
 * format that shows them as everywhere else; what is not finite stays an empty cell. */
#ifndef EFI_BOOK_H
#define EFI_BOOK_H

#include "report/paper.h"

typedef struct efi_book efi_book;
typedef struct efi_sheet efi_sheet;

/* A new workbook, to be written to `path` when it is closed. EF_OK, EF_FILE (errno set): the file cannot be
 * made; EF_MEMORY. */
ef_status efi_book_new(const char *path, efi_book **book);

/* Writes the file and frees the book, also after a failure. EF_OK, EF_FILE (errno set), EF_MEMORY. */
ef_status efi_book_close(efi_book *book);

/* A new sheet; signs that a sheet's name cannot have are left out, and a number makes it unique. */
efi_sheet *efi_book_sheet(efi_book *book, const char *name);

/* How words look. */
typedef enum efi_look {
    EFI_LOOK_PLAIN,
    EFI_LOOK_TITLE,
    EFI_LOOK_HEADING,
    EFI_LOOK_CAPTION,
    EFI_LOOK_NOTE,
    EFI_LOOK_WARNING
} efi_look;

/* Words in the first column, broken into rows of a screen's width. */
void efi_sheet_words(efi_sheet *sheet, efi_look look, const char *words);
void efi_sheet_gap(efi_sheet *sheet);

/* Everything a paper says: words, lines and tables one below the other. */
void efi_sheet_paper(efi_sheet *sheet, const efi_paper *paper);

/* One column of numbers or words for a chart. */
typedef struct efi_series {
    const char *title;    /* with its unit */
    const double *values; /* shape [count]; NULL: words */
    const char *const *words;
} efi_series;

typedef enum efi_chart {
    EFI_CHART_COLUMNS,
    EFI_CHART_BARS,
    EFI_CHART_STACKED_BARS,
    EFI_CHART_LINES,
    EFI_CHART_POINTS
} efi_chart;

typedef struct efi_chart_form {
    efi_chart kind;
    const char *title;
    const char *across; /* what the first series is, with its unit: the axis of categories or x */
    const char *up;     /* what the others are */
} efi_chart_form;

/* A table of `series` with `count` rows, and beside it a chart of all but the first over the first, fed by
 * these cells. */
void efi_sheet_chart(efi_sheet *sheet, const efi_chart_form *form, const efi_series *series, int series_count,
                     int count);

#endif
