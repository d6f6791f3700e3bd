/* SPDX-License-Identifier: GPL-3.0-or-later
 * A paper: what an answer has to say, in order, before anybody decides how it is shown. The writers of the
 * answers fill it; paper_text.c prints it on a terminal, html/ on a page.
 *
 * A part is a heading, words (one paragraph), a line, an item, a table, a picture, or a gap. What is added
 * after a failed allocation is dropped and `failed` stays true, so one check at the end is enough. */
#ifndef EFI_PAPER_H
#define EFI_PAPER_H

#include "base/display.h"
#include "base/memory.h"
#include "base/text.h"

#include <evenfeed/status.h>
#include <stdbool.h>
#include <stdint.h>

enum {
    EFI_PAPER_WIDTH = 100, /* columns of a terminal */
    EFI_PAPER_INDENT = 2,  /* of one depth */
    EFI_TABLE_MOST_COLUMNS = 16
};

typedef enum efi_part_kind {
    EFI_PART_HEADING,
    EFI_PART_WORDS,
    EFI_PART_LINE,
    EFI_PART_ITEM,
    EFI_PART_TABLE,
    EFI_PART_PICTURE,
    EFI_PART_GAP /* a new group begins: an empty line on a terminal */
} efi_part_kind;

/* What words are to their reader. */
typedef enum efi_role {
    EFI_VERDICT, /* to be repeated to others */
    EFI_DETAIL,
    EFI_NOTE,    /* how it was come by, and where it holds */
    EFI_WARNING, /* something here does not work as it is */
    EFI_CAUTION  /* people can be hurt */
} efi_role;

/* One cell: what is printed, and where that is a number the number itself as shown, so that a spreadsheet
 * can have it: `value` in `unit` with `decimals`. Lines of `words` are items of a list. */
typedef struct efi_cell {
    const char *words; /* never NULL */
    bool has_value;
    double value;
    double base; /* the number in base units (t, h, m3, shares): to compare cells in different units */
    int decimals;
    const char *unit; /* "" for none */
    bool has_limits;  /* 95 % confidence, in the same unit */
    double low, high;
    bool is_moment; /* no number but this moment by the plant's clock, in seconds from 1970 */
    int64_t moment;
    bool strong; /* to be seen first */
} efi_cell;

typedef struct efi_column {
    const char *title; /* with the unit, where all cells share one that they do not say themselves; marked by
                          EFI_TR, it is said in the reader's language */
    char align;        /* 'l' or 'r' */
    int wrap;   /* items of a cell follow each other with commas, in lines of at most so many columns of a
                   terminal; 0: an item a line */
    bool drawn; /* a bar made of characters: for terminals only */
} efi_column;

/* How a table is shown. */
typedef struct efi_table_form {
    const char *name;    /* of the table within its paper, for file names: "stations" */
    const char *caption; /* never NULL; as the titles of columns */
    bool quiet;          /* the caption goes without saying on a terminal */
    bool bare;           /* so do the titles of the columns */
    bool drawn;          /* all of it is a picture made of characters: for terminals only */
} efi_table_form;

typedef struct efi_part {
    efi_part_kind kind;
    int depth;
    int level;         /* of a heading: 1 is the title of the paper */
    bool quiet;        /* a heading that goes without saying on a terminal */
    efi_role role;     /* of words */
    bool goes_on;      /* words that continue those before on a terminal */
    const char *words; /* of a heading, words, a line; what a picture shows, for those who do not see it */
    const char *name;  /* of a picture within its paper: "flow" */
    char *svg;         /* of a picture; owned */
    efi_table_form form;
    const efi_column *columns; /* shape [column_count] */
    int column_count;
    efi_cell *cells; /* shape [cell_count], row by row; owned */
    int cell_count;
    size_t cell_room;
} efi_part;

typedef struct efi_paper {
    bool with_pictures; /* pictures are wanted; else efi_paper_picture is not to be called */
    int depth;          /* of the parts that are added next: how far they stand in on a terminal */
    efi_part *parts;    /* shape [part_count] */
    int part_count;
    size_t part_room;
    efi_arena *arena; /* of all texts but pictures */
    bool failed;
} efi_paper;

/* Begin with {0} or {.with_pictures = true}; free all of it, also after a failure. */
void efi_paper_free(efi_paper *paper);

/* A phrase that lives as long as the paper, as a piece of a longer one; never NULL. */
const char *efi_paper_phrase(efi_paper *paper, const char *format, ...) EF_PRINTF(2, 3);

/* ---- parts; texts are copied --------------------------------------------------------------------------- */

void efi_paper_gap(efi_paper *paper);

/* A heading: level 1 is the title of the paper. A quiet one only gives pages their structure. */
void efi_paper_heading(efi_paper *paper, int level, bool quiet, const char *words);

/* The title of the paper, at depth 0, and a gap; frees the words. */
void efi_paper_title(efi_paper *paper, efi_text *words);

/* A paragraph; nothing when there are no words. The second form frees them, the third is printed. */
void efi_paper_words(efi_paper *paper, efi_role role, const char *words);
void efi_paper_say(efi_paper *paper, efi_role role, efi_text *words);

void efi_paper_wordsf(efi_paper *paper, efi_role role, const char *format, ...) EF_PRINTF(3, 4);

/* Words that continue the paragraph before them on a terminal, and are one of their own on a page. */
void efi_paper_goes_on(efi_paper *paper, efi_role role, const char *words);

/* An item of a list, "- words" on a terminal; frees the words. */
void efi_paper_item(efi_paper *paper, efi_text *words);

/* A line of a list, not broken. */
void efi_paper_linef(efi_paper *paper, const char *format, ...) EF_PRINTF(2, 3);

/* A picture, of which it takes over the SVG; a status other than EF_OK means there is none: EF_NO_ANSWER that
 * there is nothing to draw, all else that the paper fails. So adding a picture is one line:
 *   efi_paper_picture(paper, "flow", ef_report_flow_svg(balance, crop, units, &svg), &svg); */
void efi_paper_picture(efi_paper *paper, const char *name, ef_status status, char **svg);

/* Begins a table, whose cells follow row by row. The second form takes its caption from a text, which it
 * frees. */
void efi_paper_table(efi_paper *paper, const efi_table_form *form, const efi_column *columns, int count);
void efi_paper_table_say(efi_paper *paper, const efi_table_form *form, efi_text *caption,
                         const efi_column *columns, int count);

/* ---- cells of the table that was begun last ------------------------------------------------------------ */

/* A cell of words; NULL for an empty one. The last form frees them. */
void efi_paper_cell(efi_paper *paper, const char *words);
void efi_paper_cellf(efi_paper *paper, const char *format, ...) EF_PRINTF(2, 3);
void efi_paper_take(efi_paper *paper, efi_text *words);

/* The cell added last is this number, as shown in `unit`; its confidence limits; it is to be seen first. */
void efi_paper_value(efi_paper *paper, double value, int decimals, const char *unit);
void efi_paper_limits(efi_paper *paper, double low, double high);
void efi_paper_strong(efi_paper *paper);

/* It is a moment, by which tables are sorted, and which a workbook has as one. */
void efi_paper_moment(efi_paper *paper, int64_t moment_s);

/* A cell "9.24 t/h"; "9.24"; "12.3 %"; "1 h 25 min"; "7". */
void efi_paper_show(efi_paper *paper, const efi_display *display, double value);
void efi_paper_number(efi_paper *paper, const efi_display *display, double value);
void efi_paper_percent(efi_paper *paper, double share, int decimals);
void efi_paper_duration(efi_paper *paper, double hours);
void efi_paper_count(efi_paper *paper, long long count);

/* Does the title of a column end with the unit, as a word of its own, or is there none to be said? */
bool efi_column_says(const efi_column *column, const char *unit);

/* ---- showing --------------------------------------------------------------------------------------------
 */

/* Adds the paper as text for a terminal. */
void efi_paper_text(const efi_paper *paper, efi_text *out);

/* Adds one table as CSV (RFC 4180, LF line ends). */
void efi_paper_csv(const efi_part *table, efi_text *out);

/* Prints the paper as the text of a report function, and frees it. */
ef_status efi_paper_give_text(efi_paper *paper, char **text);

#endif
