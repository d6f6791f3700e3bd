/* SPDX-License-Identifier: GPL-3.0-or-later
 * A paper on a page. */
#include "base/letter.h"
#include "base/tongue.h"
#include "report/html/html.h"
#include "report/picture/svg.h"

#include <string.h>

void efi_html_words(efi_text *out, const char *words)
{
    efi_svg_words(out, words);
}

#define NO_BREAK_SPACE "\xc2\xa0"

/* The length of a date at the beginning of some words, "2026-09-30", which browsers would break; 0 without.
 */
static size_t date_length(const char *words)
{
    size_t length = 0;
    int hyphens = 0;
    while (efi_is_digit(words[length]) ||
           (words[length] == '-' && length > 0 && efi_is_digit(words[length + 1])))
        hyphens += words[length++] == '-';
    return hyphens > 0 ? length : 0;
}

void efi_html_prose(efi_text *out, const char *words)
{
    efi_text glued = {0};
    char before = ' ';
    while (*words) {
        const bool glue = *words == ' ' && efi_is_digit(before);
        const size_t date = before == ' ' ? date_length(words) : 0;
        const size_t used = date > 0 ? date : 1;
        if (date > 0) {
            efi_html_words(out, efi_text_get(&glued));
            out->failed = out->failed || glued.failed;
            efi_text_free(&glued);
            efi_text_addf(out, "<span class=\"s\">%.*s</span>", (int)date, words);
        } else {
            efi_text_add_bytes(&glued, glue ? NO_BREAK_SPACE : words, glue ? strlen(NO_BREAK_SPACE) : 1);
        }
        before = words[used - 1];
        words += used;
    }
    efi_html_words(out, efi_text_get(&glued));
    out->failed = out->failed || glued.failed;
    efi_text_free(&glued);
}

/* ---- tables ---------------------------------------------------------------------------------------------
 */

enum {
    UNBROKEN_SIGNS = 16,
    SORTED_ROWS = 5, /* tables with fewer are seen at one look */
    SHORT_ROWS = 14  /* tables with no more are not broken on paper */
};

/* Items of a cell: with commas, or each on a line of its own. */
static void add_items(efi_text *out, const char *words, bool with_commas)
{
    efi_text line = {0};
    for (const char *end = strchr(words, '\n'); end; end = strchr(words, '\n')) {
        line.length = 0;
        efi_text_add_bytes(&line, words, (size_t)(end - words));
        (with_commas ? efi_html_prose : efi_html_words)(out, efi_text_get(&line));
        efi_text_add(out, with_commas ? ", " : "<br>");
        words = end + 1;
    }
    (with_commas ? efi_html_prose : efi_html_words)(out, words);
    out->failed = out->failed || line.failed;
    efi_text_free(&line);
}

/* A number for the script that sorts; nothing else reads it. */
static void add_sort_key(efi_text *out, const efi_cell *cell)
{
    if (cell->is_moment)
        efi_text_addf(out, " data-n=\"%lld\"", (long long)cell->moment);
    if (!cell->has_value)
        return;
    efi_text_add(out, " data-n=\"");
    efi_number_add_significant(out, cell->base, 12);
    efi_text_add(out, "\"");
}

/* Signs in the longest line of a cell: bytes are near enough. */
static size_t width_of(const char *words)
{
    size_t widest = 0;
    while (*words) {
        const size_t length = strcspn(words, "\n");
        widest = length > widest ? length : widest;
        words += length + (words[length] == '\n');
    }
    return widest;
}

/* A number; many items one after the other; so few signs that they are not broken; or "". */
static const char *class_of(const efi_column *column, const efi_cell *cell)
{
    if (column->align == 'r')
        return " class=\"n\"";
    if (column->wrap > 0)
        return " class=\"w\"";
    return width_of(cell->words) <= UNBROKEN_SIGNS ? " class=\"s\"" : "";
}

static void add_cell(efi_text *out, const efi_column *column, const efi_cell *cell, bool heads_row)
{
    efi_text_addf(out, heads_row ? "<th scope=\"row\"%s" : "<td%s", class_of(column, cell));
    add_sort_key(out, cell);
    efi_text_add(out, cell->strong ? "><strong>" : ">");
    add_items(out, cell->words, column->wrap > 0);
    efi_text_addf(out, "%s</%s>", cell->strong ? "</strong>" : "", heads_row ? "th" : "td");
}

static void add_head(efi_text *out, const efi_part *part)
{
    efi_text_add(out, "<thead><tr>");
    for (int i = 0; i < part->column_count; i++) {
        const efi_column *column = &part->columns[i];
        if (column->drawn)
            continue;
        const bool named = column->title[0] != '\0';
        efi_text_addf(out, named ? "<th scope=\"col\"%s>" : "<td%s>",
                      column->align == 'r' ? " class=\"n\"" : "");
        efi_html_words(out, column->title);
        efi_text_add(out, named ? "</th>" : "</td>");
    }
    efi_text_add(out, "</tr></thead>\n<tbody>\n");
}

static void add_table(efi_text *out, const efi_part *part)
{
    if (part->form.drawn || part->cell_count == 0)
        return;
    const int rows = part->cell_count / part->column_count;
    efi_text_addf(out, "<div class=\"scroll%s\" role=\"group\" tabindex=\"0\" aria-label=\"",
                  rows <= SHORT_ROWS ? " short" : "");
    efi_html_words(out, part->form.caption);
    efi_text_addf(out, "\"><table data-name=\"%s\"%s><caption>", part->form.name,
                  !part->form.bare && rows >= SORTED_ROWS ? " data-sort" : "");
    efi_html_words(out, part->form.caption);
    efi_text_add(out, "</caption>\n");
    add_head(out, part);
    for (int row = 0; row < rows; row++) {
        efi_text_add(out, "<tr>");
        bool first = true;
        for (int i = 0; i < part->column_count; i++) {
            if (part->columns[i].drawn)
                continue;
            add_cell(out, &part->columns[i], &part->cells[row * part->column_count + i], first);
            first = false;
        }
        efi_text_add(out, "</tr>\n");
    }
    efi_text_add(out, "</tbody></table></div>\n");
}

/* ---- words ----------------------------------------------------------------------------------------------
 */

static bool goes_first(const efi_part *part)
{
    return part->kind == EFI_PART_WORDS && (part->role == EFI_VERDICT || part->role == EFI_WARNING);
}

static void add_words(efi_page *page, const efi_part *part)
{
    static const char *const before[] = {[EFI_VERDICT] = "<p class=\"verdict\">",
                                         [EFI_DETAIL] = "<p>",
                                         [EFI_NOTE] = "<p class=\"note\">",
                                         [EFI_WARNING] = "<p class=\"warning\"><strong>"};
    if (part->role == EFI_CAUTION) {
        for (int i = 0; i < page->cautions.part_count; i++)
            if (strcmp(page->cautions.parts[i].words, part->words) == 0)
                return;
        efi_paper_words(&page->cautions, EFI_CAUTION, part->words);
        return;
    }
    efi_text_add(page->out, before[part->role]);
    if (part->role == EFI_WARNING)
        efi_text_addf(page->out, "%s</strong> ", efi_tr("Attention:"));
    efi_html_prose(page->out, part->words);
    efi_text_add(page->out, "</p>\n");
}

static bool is_listed(const efi_part *part)
{
    return part->kind == EFI_PART_LINE || part->kind == EFI_PART_ITEM;
}

static void add_line(efi_text *out, const efi_part *parts, int i, int from, int to)
{
    if (i == from || !is_listed(&parts[i - 1]))
        efi_text_add(out, "<ul class=\"lines\">\n");
    efi_text_add(out, "<li>");
    efi_html_prose(out, parts[i].words);
    efi_text_add(out, "</li>\n");
    if (i + 1 == to || !is_listed(&parts[i + 1]))
        efi_text_add(out, "</ul>\n");
}

/* ---- the paper ------------------------------------------------------------------------------------------
 */

static void add_heading(efi_page *page, const efi_part *part, int level)
{
    const int at = level + part->level - 2 < 6 ? level + part->level - 2 : 6;
    efi_text_addf(page->out, "<h%d id=\"h%d\">", at, ++page->headings);
    efi_html_words(page->out, part->words);
    efi_text_addf(page->out, "</h%d>\n", at);
}

static void add_part(efi_page *page, const efi_part *parts, int i, int from, int to)
{
    switch (parts[i].kind) {
    case EFI_PART_WORDS:
        if (!goes_first(&parts[i]))
            add_words(page, &parts[i]);
        break;
    case EFI_PART_LINE:
    case EFI_PART_ITEM:
        add_line(page->out, parts, i, from, to);
        break;
    case EFI_PART_TABLE:
        add_table(page->out, &parts[i]);
        break;
    case EFI_PART_PICTURE:
        efi_html_picture(page, parts[i].name, parts[i].svg);
        break;
    case EFI_PART_HEADING:
    case EFI_PART_GAP:
        break;
    }
}

/* The first tall picture before any table, where there are words that it can stand beside; -1. */
static int find_tall(const efi_part *parts, int from, int to)
{
    int tall = -1;
    bool words = false;
    for (int i = from; i < to && parts[i].kind != EFI_PART_TABLE; i++) {
        words = words || parts[i].kind == EFI_PART_WORDS;
        if (tall < 0 && parts[i].kind == EFI_PART_PICTURE && efi_html_picture_is_tall(parts[i].svg))
            tall = i;
    }
    return words ? tall : -1;
}

/* The parts from..to-1, among which is no heading. */
static void add_group(efi_page *page, const efi_part *parts, int from, int to)
{
    const int tall = find_tall(parts, from, to);
    int i = from;
    efi_text_add(page->out, tall >= 0 ? "<div class=\"beside\"><div>\n" : "");
    for (int k = from; k < to; k++)
        if (goes_first(&parts[k]))
            add_words(page, &parts[k]);
    for (; tall >= 0 && i < to && parts[i].kind != EFI_PART_TABLE; i++)
        if (i != tall)
            add_part(page, parts, i, from, to);
    if (tall >= 0) {
        efi_text_add(page->out, "</div>\n");
        add_part(page, parts, tall, from, to);
        efi_text_add(page->out, "</div>\n");
    }
    for (; i < to; i++)
        add_part(page, parts, i, from, to);
}

void efi_html_paper(efi_page *page, const efi_paper *paper, int level)
{
    page->out->failed = page->out->failed || paper->failed;
    for (int from = 0; from < paper->part_count;) {
        int to = from + 1;
        if (paper->parts[from].kind == EFI_PART_HEADING && paper->parts[from].level > 1)
            add_heading(page, &paper->parts[from], level);
        while (to < paper->part_count && paper->parts[to].kind != EFI_PART_HEADING)
            to++;
        add_group(page, paper->parts, from, to);
        from = to;
    }
    page->out->failed = page->out->failed || page->cautions.failed;
}
