/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/workbook/book.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>
#include <xlsxwriter.h>

enum {
    MOST_FORMATS = 128,
    NAME_LENGTH = 31,  /* of a sheet, in characters */
    WORDS_WIDTH = 110, /* columns of words before they are broken */
    MOST_WIDTH = 44,   /* of a column of a table */
    LEAST_WIDTH = 9,
    CHART_ROWS = 20,
    LOOKS = 6,
    FROZEN_ROWS = 1
};

/* A format of numbers that was made already. */
typedef struct number_format {
    char pattern[64];
    bool strong;
    lxw_format *format;
} number_format;

struct efi_sheet {
    efi_book *book;
    lxw_worksheet *at;
    char name[4 * NAME_LENGTH + 1];
    lxw_row_t row; /* the next one */
    int width[2 * EFI_TABLE_MOST_COLUMNS * 2];
};

struct efi_book {
    lxw_workbook *workbook;
    lxw_format *look[LOOKS];
    lxw_format *head, *head_right, *cell, *strong, *moment, *moment_strong;
    number_format formats[MOST_FORMATS];
    int format_count;
    efi_sheet *sheets; /* shape [sheet_count] */
    int sheet_count;
    efi_arena *arena;
    bool failed;
};

/* ---- formats --------------------------------------------------------------------------------------------
 */

static lxw_format *new_format(efi_book *book, double size, bool bold, lxw_color_t colour)
{
    lxw_format *format = workbook_add_format(book->workbook);
    if (!format) {
        book->failed = true;
        return NULL;
    }
    format_set_font_size(format, size);
    if (bold)
        format_set_bold(format);
    if (colour != 0)
        format_set_font_color(format, colour);
    return format;
}

static void make_formats(efi_book *book)
{
    const lxw_color_t grey = 0x595959;
    const lxw_color_t red = 0x9C1C12;
    book->look[EFI_LOOK_PLAIN] = new_format(book, 11, false, 0);
    book->look[EFI_LOOK_TITLE] = new_format(book, 16, true, 0);
    book->look[EFI_LOOK_HEADING] = new_format(book, 13, true, 0);
    book->look[EFI_LOOK_CAPTION] = new_format(book, 11, true, 0);
    book->look[EFI_LOOK_NOTE] = new_format(book, 10, false, grey);
    book->look[EFI_LOOK_WARNING] = new_format(book, 11, true, red);
    book->cell = new_format(book, 11, false, 0);
    book->strong = new_format(book, 11, true, 0);
    book->head = new_format(book, 11, true, 0);
    book->head_right = new_format(book, 11, true, 0);
    book->moment = new_format(book, 11, false, 0);
    book->moment_strong = new_format(book, 11, true, 0);
    if (book->failed)
        return;
    format_set_bottom(book->head, LXW_BORDER_THIN);
    format_set_bottom(book->head_right, LXW_BORDER_THIN);
    format_set_align(book->head_right, LXW_ALIGN_RIGHT);
    format_set_text_wrap(book->cell);
    format_set_text_wrap(book->strong);
    format_set_text_wrap(book->head);
    format_set_text_wrap(book->head_right);
    format_set_align(book->cell, LXW_ALIGN_VERTICAL_TOP);
    format_set_align(book->strong, LXW_ALIGN_VERTICAL_TOP);
    for (int strong = 0; strong < 2; strong++) {
        lxw_format *moment = strong ? book->moment_strong : book->moment;
        format_set_num_format(moment, "yyyy-mm-dd hh:mm");
        format_set_align(moment, LXW_ALIGN_VERTICAL_TOP);
        format_set_align(moment, LXW_ALIGN_LEFT);
    }
}

/* The format that shows so many decimals, and the unit where the column's title does not say it. */
static lxw_format *number_format_of(efi_book *book, int decimals, const char *unit, bool strong)
{
    efi_text pattern = {0};
    lxw_format *found = NULL;
    efi_text_add(&pattern, "0");
    for (int i = 0; i < decimals; i++)
        efi_text_add(&pattern, i == 0 ? ".0" : "0");
    if (strcmp(unit, "%") == 0)
        efi_text_add(&pattern, " %");
    else if (*unit && !strchr(unit, '"'))
        efi_text_addf(&pattern, "\" %s\"", unit);
    const char *words = efi_text_get(&pattern);
    for (int i = 0; i < book->format_count && !found; i++)
        if (book->formats[i].strong == strong && strcmp(book->formats[i].pattern, words) == 0)
            found = book->formats[i].format;
    if (!found && !pattern.failed && book->format_count < MOST_FORMATS &&
        pattern.length < sizeof book->formats[0].pattern) {
        number_format *fresh = &book->formats[book->format_count];
        fresh->format = new_format(book, 11, strong, 0);
        if (fresh->format) {
            format_set_num_format(fresh->format, words);
            format_set_align(fresh->format, LXW_ALIGN_VERTICAL_TOP);
            memcpy(fresh->pattern, words, pattern.length + 1);
            fresh->strong = strong;
            found = fresh->format;
            book->format_count++;
        }
    }
    book->failed = book->failed || pattern.failed;
    efi_text_free(&pattern);
    return found ? found : strong ? book->strong : book->cell;
}

/* ---- books and sheets -----------------------------------------------------------------------------------
 */

/* Can the file be made? libxlsxwriter would say so on standard error. */
static ef_status make_file(const char *path)
{
    FILE *file = fopen(path, "wb");
    return file && fclose(file) == 0 ? EF_OK : EF_FILE;
}

ef_status efi_book_new(const char *path, efi_book **made)
{
    EF_TRY(make_file(path));
    efi_arena *arena = efi_arena_new();
    efi_book *book = arena ? efi_arena_get(arena, 1, sizeof *book) : NULL;
    if (!book) {
        efi_arena_free(arena);
        return EF_MEMORY;
    }
    book->arena = arena;
    book->workbook = workbook_new(path);
    if (!book->workbook) {
        efi_arena_free(arena);
        return EF_MEMORY;
    }
    /* no clock: the same answers make the same file */
    lxw_doc_properties properties = {.title = (char *)(uintptr_t) "evenfeed", .created = 946684800};
    workbook_set_properties(book->workbook, &properties);
    make_formats(book);
    *made = book;
    return EF_OK;
}

static void set_widths(efi_sheet *sheet)
{
    for (size_t i = 0; i < EF_COUNT(sheet->width); i++)
        if (sheet->width[i] > 0)
            worksheet_set_column(sheet->at, (lxw_col_t)i, (lxw_col_t)i, (double)sheet->width[i] + 1.5, NULL);
}

ef_status efi_book_close(efi_book *book)
{
    for (int i = 0; i < book->sheet_count; i++)
        set_widths(&book->sheets[i]);
    errno = 0;
    const lxw_error error = workbook_close(book->workbook);
    const bool failed = book->failed;
    efi_arena_free(book->arena);
    if (error != LXW_NO_ERROR && error != LXW_ERROR_MEMORY_MALLOC_FAILED)
        return EF_FILE;
    return failed || error != LXW_NO_ERROR ? EF_MEMORY : EF_OK;
}

/* Is the name taken, capital letters or not? */
static bool is_taken(const efi_book *book, const char *name)
{
    for (int i = 0; i < book->sheet_count; i++)
        if (strcasecmp(book->sheets[i].name, name) == 0)
            return true;
    return false;
}

/* The first characters of `name` that a sheet may have, and a number behind them unless that is 1. */
static void make_name(char *out, size_t room, const char *name, int number)
{
    char behind[16] = "";
    if (number > 1)
        (void)snprintf(behind, sizeof behind, " %d", number);
    const size_t most = NAME_LENGTH - strlen(behind);
    size_t length = 0;
    size_t characters = 0;
    for (; *name && length + 8 < room; name++) {
        const bool begins = ((unsigned char)*name & 0xC0) != 0x80;
        if (begins && characters == most)
            break;
        if (strchr("[]:*?/\\'", *name))
            continue;
        characters += begins;
        out[length++] = *name;
    }
    (void)snprintf(out + length, room - length, "%s", behind);
}

efi_sheet *efi_book_sheet(efi_book *book, const char *name)
{
    enum {
        MOST_SHEETS = 400
    };
    if (!book->sheets)
        book->sheets = efi_arena_get(book->arena, MOST_SHEETS, sizeof *book->sheets);
    if (!book->sheets || book->sheet_count == MOST_SHEETS) {
        book->failed = true;
        return NULL;
    }
    efi_sheet fresh = {.book = book};
    for (int number = 1; number == 1 || is_taken(book, fresh.name); number++)
        make_name(fresh.name, sizeof fresh.name, name, number);
    fresh.at = workbook_add_worksheet(book->workbook, fresh.name);
    if (!fresh.at) {
        book->failed = true;
        return NULL;
    }
    worksheet_set_paper(fresh.at, 9); /* A4 */
    worksheet_set_landscape(fresh.at);
    worksheet_fit_to_pages(fresh.at, 1, 0);
    worksheet_gridlines(fresh.at, LXW_HIDE_ALL_GRIDLINES);
    worksheet_freeze_panes(fresh.at, FROZEN_ROWS, 0);
    book->sheets[book->sheet_count] = fresh;
    return &book->sheets[book->sheet_count++];
}

/* ---- words and tables -----------------------------------------------------------------------------------
 */

static void put_words(efi_sheet *sheet, lxw_row_t row, int column, const char *words, lxw_format *format)
{
    if (*words && worksheet_write_string(sheet->at, row, (lxw_col_t)column, words, format) != LXW_NO_ERROR)
        sheet->book->failed = true;
}

static void put_number(efi_sheet *sheet, lxw_row_t row, int column, double value, lxw_format *format)
{
    if (isfinite(value) &&
        worksheet_write_number(sheet->at, row, (lxw_col_t)column, value, format) != LXW_NO_ERROR)
        sheet->book->failed = true;
}

void efi_sheet_gap(efi_sheet *sheet)
{
    if (sheet)
        sheet->row++;
}

void efi_sheet_words(efi_sheet *sheet, efi_look look, const char *words)
{
    if (!sheet || !words)
        return;
    while (*words == ' ' || *words == '\n')
        words++;
    while (*words) {
        size_t length = strcspn(words, "\n");
        if (length > WORDS_WIDTH) {
            size_t cut = WORDS_WIDTH;
            while (cut > 0 && words[cut] != ' ')
                cut--;
            length = cut > 0 ? cut : length;
        }
        efi_text line = {0};
        efi_text_add_bytes(&line, words, length);
        put_words(sheet, sheet->row++, 0, efi_text_get(&line), sheet->book->look[look]);
        sheet->book->failed = sheet->book->failed || line.failed;
        efi_text_free(&line);
        words += length;
        while (*words == ' ' || *words == '\n')
            words++;
    }
}

static void widen(efi_sheet *sheet, int column, int width)
{
    const int most = width > MOST_WIDTH ? MOST_WIDTH : width < LEAST_WIDTH ? LEAST_WIDTH : width;
    if (sheet->width[column] < most)
        sheet->width[column] = most;
}

/* The longest line of some words. */
static int width_of(const char *words)
{
    int widest = 0;
    while (*words) {
        const size_t length = strcspn(words, "\n");
        efi_text line = {0};
        efi_text_add_bytes(&line, words, length);
        const int width = efi_text_width(efi_text_get(&line));
        efi_text_free(&line);
        widest = width > widest ? width : widest;
        words += length + (words[length] == '\n');
    }
    return widest;
}

/* What a column of a table becomes: itself, or with its confidence limits three. */
typedef struct place {
    int column;       /* first in the sheet; -1: left out */
    const char *unit; /* of all its numbers, said in the title; NULL: they differ, and each says its own */
    bool has_values, has_limits;
} place;

static place place_of(const efi_part *table, int index, int column)
{
    place p = {.column = table->columns[index].drawn ? -1 : column, .unit = ""};
    for (int i = index; i < table->cell_count; i += table->column_count) {
        const efi_cell *cell = &table->cells[i];
        if (!cell->has_value)
            continue;
        if (!p.has_values)
            p.unit = cell->unit;
        else if (p.unit && strcmp(p.unit, cell->unit) != 0)
            p.unit = NULL;
        p.has_values = true;
        p.has_limits = p.has_limits || cell->has_limits;
    }
    return p;
}

static void put_title(efi_sheet *sheet, const place *p, const efi_column *column, int offset, const char *of)
{
    efi_text words = {0};
    const char *unit = p->unit ? p->unit : "";
    efi_text_addf(&words, "%s%s", column->title, of);
    if (!efi_column_says(column, unit) && strcmp(unit, "%") != 0)
        efi_text_addf(&words, " [%s]", unit);
    put_words(sheet, sheet->row, p->column + offset, efi_text_get(&words),
              column->align == 'r' ? sheet->book->head_right : sheet->book->head);
    widen(sheet, p->column + offset, efi_text_width(efi_text_get(&words)));
    sheet->book->failed = sheet->book->failed || words.failed;
    efi_text_free(&words);
}

static double shown(const efi_cell *cell, double value)
{
    return strcmp(cell->unit, "%") == 0 ? value / 100.0 : value;
}

#define DAYS_TO_1970 25569 /* from the day 0 of a workbook (ISO/IEC 29500-1, 18.17.4.1: base 1900) */
#define MOMENT_WIDTH 16

/* A moment as a workbook has it: days from 1900, with a format that shows a date. */
static void put_moment(efi_sheet *sheet, lxw_row_t row, int column, const efi_cell *cell)
{
    const double days = (double)cell->moment / 86400.0 + DAYS_TO_1970;
    put_number(sheet, row, column, days, cell->strong ? sheet->book->moment_strong : sheet->book->moment);
    widen(sheet, column, MOMENT_WIDTH);
}

static void put_cell(efi_sheet *sheet, const place *p, const efi_cell *cell)
{
    efi_book *book = sheet->book;
    if (cell->is_moment) {
        put_moment(sheet, sheet->row, p->column, cell);
        return;
    }
    if (!cell->has_value) {
        put_words(sheet, sheet->row, p->column, cell->words, cell->strong ? book->strong : book->cell);
        widen(sheet, p->column, width_of(cell->words));
        return;
    }
    const bool percent = strcmp(cell->unit, "%") == 0;
    lxw_format *format = number_format_of(book, cell->decimals, p->unit && !percent ? "" : cell->unit,
                                          cell->strong);
    put_number(sheet, sheet->row, p->column, shown(cell, cell->value), format);
    widen(sheet, p->column, width_of(cell->words));
    if (p->has_limits && cell->has_limits) {
        put_number(sheet, sheet->row, p->column + 1, shown(cell, cell->low), format);
        put_number(sheet, sheet->row, p->column + 2, shown(cell, cell->high), format);
    }
}

static void put_table(efi_sheet *sheet, const efi_part *table)
{
    place places[EFI_TABLE_MOST_COLUMNS];
    int column = 0;
    efi_sheet_words(sheet, EFI_LOOK_CAPTION, table->form.caption);
    for (int i = 0; i < table->column_count; i++) {
        places[i] = place_of(table, i, column);
        if (places[i].column < 0)
            continue;
        column += places[i].has_limits ? 3 : 1;
        put_title(sheet, &places[i], &table->columns[i], 0, "");
        if (places[i].has_limits) {
            put_title(sheet, &places[i], &table->columns[i], 1, " low");
            put_title(sheet, &places[i], &table->columns[i], 2, " high");
        }
    }
    sheet->row++;
    for (int row = 0; row < table->cell_count / table->column_count; row++, sheet->row++)
        for (int i = 0; i < table->column_count; i++)
            if (places[i].column >= 0)
                put_cell(sheet, &places[i], &table->cells[row * table->column_count + i]);
    sheet->row++;
}

static efi_look look_of(const efi_part *part)
{
    if (part->kind == EFI_PART_HEADING)
        return part->level <= 1 ? EFI_LOOK_TITLE : EFI_LOOK_HEADING;
    if (part->kind != EFI_PART_WORDS)
        return EFI_LOOK_PLAIN;
    if (part->role == EFI_WARNING || part->role == EFI_CAUTION)
        return EFI_LOOK_WARNING;
    return part->role == EFI_VERDICT ? EFI_LOOK_CAPTION
           : part->role == EFI_NOTE  ? EFI_LOOK_NOTE
                                     : EFI_LOOK_PLAIN;
}

void efi_sheet_paper(efi_sheet *sheet, const efi_paper *paper)
{
    if (!sheet)
        return;
    sheet->book->failed = sheet->book->failed || paper->failed;
    for (int i = 0; i < paper->part_count && !paper->failed; i++) {
        const efi_part *part = &paper->parts[i];
        if (part->kind == EFI_PART_TABLE && !part->form.drawn)
            put_table(sheet, part);
        else if (part->kind == EFI_PART_GAP)
            sheet->row++;
        else if (part->kind == EFI_PART_HEADING || part->kind == EFI_PART_WORDS ||
                 part->kind == EFI_PART_LINE)
            efi_sheet_words(sheet, look_of(part), part->words);
    }
    sheet->row++;
}

/* ---- charts ---------------------------------------------------------------------------------------------
 */

static lxw_chart *new_chart(efi_book *book, efi_chart kind)
{
    static const uint8_t types[] = {[EFI_CHART_COLUMNS] = LXW_CHART_COLUMN,
                                    [EFI_CHART_BARS] = LXW_CHART_BAR,
                                    [EFI_CHART_STACKED_BARS] = LXW_CHART_BAR_STACKED,
                                    [EFI_CHART_LINES] = LXW_CHART_SCATTER_STRAIGHT,
                                    [EFI_CHART_POINTS] = LXW_CHART_SCATTER_STRAIGHT_WITH_MARKERS};
    return workbook_add_chart(book->workbook, types[kind]);
}

static void put_series(efi_sheet *sheet, const efi_series *series, int column, int count)
{
    put_words(sheet, sheet->row, column, series->title,
              series->values ? sheet->book->head_right : sheet->book->head);
    widen(sheet, column, efi_text_width(series->title));
    for (int i = 0; i < count; i++) {
        const lxw_row_t row = sheet->row + 1 + (lxw_row_t)i;
        if (series->values) {
            put_number(sheet, row, column, series->values[i], number_format_of(sheet->book, 3, "", false));
        } else {
            put_words(sheet, row, column, series->words[i], sheet->book->cell);
            widen(sheet, column, efi_text_width(series->words[i]));
        }
    }
}

static void add_series(efi_sheet *sheet, lxw_chart *chart, int column, int count)
{
    const lxw_row_t first = sheet->row + 1;
    const lxw_row_t last = sheet->row + (lxw_row_t)count;
    lxw_chart_series *series = chart_add_series(chart, NULL, NULL);
    if (!series) {
        sheet->book->failed = true;
        return;
    }
    chart_series_set_categories(series, sheet->name, first, 0, last, 0);
    chart_series_set_values(series, sheet->name, first, (lxw_col_t)column, last, (lxw_col_t)column);
    chart_series_set_name_range(series, sheet->name, sheet->row, (lxw_col_t)column);
}

void efi_sheet_chart(efi_sheet *sheet, const efi_chart_form *form, const efi_series *series, int series_count,
                     int count)
{
    if (!sheet || count < 1)
        return;
    efi_sheet_words(sheet, EFI_LOOK_CAPTION, form->title);
    lxw_chart *chart = new_chart(sheet->book, form->kind);
    if (!chart) {
        sheet->book->failed = true;
        return;
    }
    for (int i = 0; i < series_count; i++)
        put_series(sheet, &series[i], i, count);
    for (int i = 1; i < series_count; i++)
        add_series(sheet, chart, i, count);
    chart_title_set_name(chart, form->title);
    chart_axis_set_name(chart->x_axis, form->across);
    chart_axis_set_name(chart->y_axis, form->up);
    if (form->kind == EFI_CHART_BARS || form->kind == EFI_CHART_STACKED_BARS)
        chart_axis_set_reverse(chart->x_axis); /* the first row at the top */
    if (series_count == 2)
        chart_legend_set_position(chart, LXW_CHART_LEGEND_NONE);
    lxw_chart_options options = {.x_scale = 1.5, .y_scale = 1.3};
    if (worksheet_insert_chart_opt(sheet->at, sheet->row, (lxw_col_t)(series_count + 1), chart, &options) !=
        LXW_NO_ERROR)
        sheet->book->failed = true;
    sheet->row += (lxw_row_t)(count + 2 > CHART_ROWS ? count + 2 : CHART_ROWS);
}
