/* SPDX-License-Identifier: GPL-3.0-or-later
 * A paper as text for a terminal. */
#include "report/report.h"
#include "report/paper.h"

#include <string.h>

/* ---- tables: cells of several lines become rows whose other cells are empty -----------------------------
 */

/* The next line of a cell from `*rest` on, whose items stand one a line; `*rest` is NULL after the last. */
static void next_item(const char **rest, efi_text *line)
{
    const char *end = strchr(*rest, '\n');
    efi_text_add_bytes(line, *rest, end ? (size_t)(end - *rest) : strlen(*rest));
    *rest = end ? end + 1 : NULL;
}

/* The same of a cell whose items follow each other with commas, in lines of `width`. */
static void next_wrapped(const char **rest, int width, efi_text *line)
{
    while (*rest) {
        efi_text item = {0};
        const char *after = *rest;
        next_item(&after, &item);
        const bool fits = line->length == 0 ||
                          efi_text_width(efi_text_get(line)) + efi_text_width(efi_text_get(&item)) + 2 <=
                              width;
        if (fits) {
            efi_text_addf(line, "%s%s%s", line->length > 0 ? " " : "", efi_text_get(&item), after ? "," : "");
            *rest = after;
        }
        line->failed = line->failed || item.failed;
        efi_text_free(&item);
        if (!fits || line->failed)
            break;
    }
}

static void add_line_cell(efi_table *table, const efi_column *column, const char **rest)
{
    efi_text line = {0};
    if (*rest && column->wrap > 0)
        next_wrapped(rest, column->wrap, &line);
    else if (*rest)
        next_item(rest, &line);
    if (line.failed)
        *rest = NULL;
    efi_table_take(table, &line);
}

static void add_row(efi_table *table, const efi_part *part, const efi_cell *cells)
{
    const char *rest[EFI_TABLE_MOST_COLUMNS];
    for (int i = 0; i < part->column_count; i++)
        rest[i] = cells[i].words;
    bool more = true;
    while (more) {
        more = false;
        for (int i = 0; i < part->column_count; i++) {
            add_line_cell(table, &part->columns[i], &rest[i]);
            more = more || rest[i] != NULL;
        }
    }
}

static void print_table(const efi_part *part, efi_text *out)
{
    char align[EFI_TABLE_MOST_COLUMNS + 1] = {0};
    for (int i = 0; i < part->column_count; i++)
        align[i] = part->columns[i].align;
    efi_table table = {.columns = part->column_count, .align = align};
    for (int i = 0; i < part->column_count && !part->form.bare; i++)
        efi_table_add(&table, part->columns[i].title);
    for (int i = 0; i + part->column_count <= part->cell_count; i += part->column_count)
        add_row(&table, part, &part->cells[i]);
    const int indent = part->depth * EFI_PAPER_INDENT;
    if (!part->form.quiet)
        efi_report_wrap(out, part->form.caption, indent, EFI_PAPER_WIDTH);
    efi_table_print(&table, out, indent, !part->form.bare);
}

/* ---- the paper ------------------------------------------------------------------------------------------
 */

/* Words and those that continue them as one paragraph; returns how many parts that were. */
static int print_words(const efi_part *parts, int count, efi_text *out)
{
    efi_text words = {0};
    int used = 1;
    efi_text_add(&words, parts[0].words);
    for (; used < count && parts[used].goes_on; used++)
        efi_text_addf(&words, " %s", parts[used].words);
    efi_report_wrap_text(out, &words, parts[0].depth * EFI_PAPER_INDENT, EFI_PAPER_WIDTH);
    return used;
}

static void print_item(const efi_part *part, efi_text *out)
{
    efi_text words = {0};
    efi_text_addf(&words, "- %s", part->words);
    efi_report_wrap_text(out, &words, part->depth * EFI_PAPER_INDENT, EFI_PAPER_WIDTH);
}

/* Prints the first part, or the first few; returns how many. */
static int print_part(const efi_part *part, int count, efi_text *out)
{
    const int indent = part->depth * EFI_PAPER_INDENT;
    switch (part->kind) {
    case EFI_PART_HEADING:
        if (!part->quiet)
            efi_report_wrap(out, part->words, indent, EFI_PAPER_WIDTH);
        break;
    case EFI_PART_WORDS:
        return print_words(part, count, out);
    case EFI_PART_LINE:
        efi_text_fill(out, ' ', indent);
        efi_text_addf(out, "%s\n", part->words);
        break;
    case EFI_PART_ITEM:
        print_item(part, out);
        break;
    case EFI_PART_TABLE:
        print_table(part, out);
        break;
    case EFI_PART_PICTURE:
        break;
    case EFI_PART_GAP:
        efi_text_add(out, "\n");
        break;
    }
    return 1;
}

void efi_paper_text(const efi_paper *paper, efi_text *out)
{
    out->failed = out->failed || paper->failed;
    for (int i = 0; i < paper->part_count && !out->failed;)
        i += print_part(&paper->parts[i], paper->part_count - i, out);
}

ef_status efi_paper_give_text(efi_paper *paper, char **text)
{
    efi_text out = {0};
    efi_paper_text(paper, &out);
    efi_paper_free(paper);
    return efi_report_give(&out, text);
}
