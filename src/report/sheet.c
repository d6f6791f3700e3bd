/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/sheet.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

void efi_sheet_free(efi_sheet *sheet)
{
    for (int i = 0; i < sheet->part_count; i++) {
        efi_free(sheet->parts[i].cells);
        efi_free(sheet->parts[i].svg);
    }
    efi_free(sheet->parts);
    efi_arena_free(sheet->arena);
    *sheet = (efi_sheet){.with_pictures = sheet->with_pictures};
}

/* A copy that lives as long as the sheet; "" when that fails, so that readers need not ask. */
static const char *keep(efi_sheet *sheet, const char *words)
{
    if (!sheet->arena && !sheet->failed)
        sheet->arena = efi_arena_new();
    const char *copy = sheet->arena ? efi_arena_text(sheet->arena, words, strlen(words)) : NULL;
    if (!copy)
        sheet->failed = true;
    return copy ? copy : "";
}

/* A new part; NULL when the sheet has failed. */
static efi_part *add_part(efi_sheet *sheet, efi_part_kind kind)
{
    if (sheet->failed ||
        efi_grow(&sheet->parts, (size_t)sheet->part_count, &sheet->part_room, sizeof *sheet->parts) != 0) {
        sheet->failed = true;
        return NULL;
    }
    efi_part *part = &sheet->parts[sheet->part_count++];
    *part = (efi_part){.kind = kind, .depth = sheet->depth, .words = "", .name = ""};
    return part;
}

void efi_sheet_gap(efi_sheet *sheet)
{
    (void)add_part(sheet, EFI_PART_GAP);
}

void efi_sheet_heading(efi_sheet *sheet, int level, bool quiet, const char *words)
{
    efi_part *part = add_part(sheet, EFI_PART_HEADING);
    if (!part)
        return;
    part->level = level;
    part->quiet = quiet;
    part->words = keep(sheet, words);
}

void efi_sheet_title(efi_sheet *sheet, efi_text *words)
{
    sheet->depth = 0;
    sheet->failed = sheet->failed || words->failed;
    efi_sheet_heading(sheet, 1, false, efi_text_get(words));
    efi_sheet_gap(sheet);
    efi_text_free(words);
}

void efi_sheet_words(efi_sheet *sheet, efi_role role, const char *words)
{
    efi_part *part = *words ? add_part(sheet, EFI_PART_WORDS) : NULL;
    if (!part)
        return;
    part->role = role;
    part->words = keep(sheet, words);
}

void efi_sheet_say(efi_sheet *sheet, efi_role role, efi_text *words)
{
    sheet->failed = sheet->failed || words->failed;
    efi_sheet_words(sheet, role, efi_text_get(words));
    efi_text_free(words);
}

void efi_sheet_goes_on(efi_sheet *sheet, efi_role role, const char *words)
{
    const int before = sheet->part_count;
    efi_sheet_words(sheet, role, words);
    if (sheet->part_count > before && before > 0 && sheet->parts[before - 1].kind == EFI_PART_WORDS)
        sheet->parts[before].goes_on = true;
}

void efi_sheet_linef(efi_sheet *sheet, const char *format, ...)
{
    efi_text words = {0};
    va_list arguments;
    va_start(arguments, format);
    efi_text_addfv(&words, format, arguments);
    va_end(arguments);
    efi_part *part = add_part(sheet, EFI_PART_LINE);
    if (part)
        part->words = keep(sheet, efi_text_get(&words));
    sheet->failed = sheet->failed || words.failed;
    efi_text_free(&words);
}

void efi_sheet_picture(efi_sheet *sheet, const char *name, ef_status status, char **svg)
{
    if (status != EF_OK) {
        sheet->failed = sheet->failed || status != EF_NO_ANSWER;
        return;
    }
    efi_part *part = add_part(sheet, EFI_PART_PICTURE);
    if (part) {
        part->name = keep(sheet, name);
        part->svg = *svg;
    } else {
        efi_free(*svg);
    }
    *svg = NULL;
}

void efi_sheet_table(efi_sheet *sheet, const efi_table_form *form, const efi_column *columns, int count)
{
    efi_part *part = EF_NEVER(count < 1 || count > EFI_TABLE_MOST_COLUMNS) ? NULL
                                                                           : add_part(sheet, EFI_PART_TABLE);
    if (!part) {
        sheet->failed = true;
        return;
    }
    part->form = *form;
    part->form.name = part->name = keep(sheet, form->name);
    part->form.caption = part->words = keep(sheet, form->caption);
    efi_column *copy = sheet->failed ? NULL : efi_arena_get(sheet->arena, (size_t)count, sizeof *copy);
    if (!copy) {
        sheet->failed = true;
        return;
    }
    for (int i = 0; i < count; i++) {
        copy[i] = columns[i];
        copy[i].title = keep(sheet, columns[i].title);
    }
    part->columns = copy;
    part->column_count = count;
}

void efi_sheet_table_say(efi_sheet *sheet, const efi_table_form *form, efi_text *caption,
                         const efi_column *columns, int count)
{
    efi_table_form captioned = *form;
    captioned.caption = efi_text_get(caption);
    sheet->failed = sheet->failed || caption->failed;
    efi_sheet_table(sheet, &captioned, columns, count);
    efi_text_free(caption);
}

/* ---- cells ----------------------------------------------------------------------------------------------
 */

void efi_sheet_cell(efi_sheet *sheet, const char *words)
{
    if (sheet->failed)
        return;
    efi_part *table = &sheet->parts[sheet->part_count - 1];
    assert(table->kind == EFI_PART_TABLE);
    if (efi_grow(&table->cells, (size_t)table->cell_count, &table->cell_room, sizeof *table->cells) != 0) {
        sheet->failed = true;
        return;
    }
    table->cells[table->cell_count++] = (efi_cell){.words = words ? keep(sheet, words) : "", .unit = ""};
}

void efi_sheet_take(efi_sheet *sheet, efi_text *words)
{
    sheet->failed = sheet->failed || words->failed;
    efi_sheet_cell(sheet, efi_text_get(words));
    efi_text_free(words);
}

void efi_sheet_cellf(efi_sheet *sheet, const char *format, ...)
{
    efi_text words = {0};
    va_list arguments;
    va_start(arguments, format);
    efi_text_addfv(&words, format, arguments);
    va_end(arguments);
    efi_sheet_take(sheet, &words);
}

/* The cell added last; NULL when the sheet has failed. */
static efi_cell *last_cell(efi_sheet *sheet)
{
    if (sheet->failed)
        return NULL;
    const efi_part *table = &sheet->parts[sheet->part_count - 1];
    assert(table->kind == EFI_PART_TABLE && table->cell_count > 0);
    return &table->cells[table->cell_count - 1];
}

void efi_sheet_value(efi_sheet *sheet, double value, int decimals, const char *unit)
{
    efi_cell *cell = last_cell(sheet);
    if (!cell || !isfinite(value))
        return;
    cell->has_value = true;
    cell->value = value;
    cell->decimals = decimals;
    cell->unit = *unit ? keep(sheet, unit) : "";
}

void efi_sheet_limits(efi_sheet *sheet, double low, double high)
{
    efi_cell *cell = last_cell(sheet);
    if (!cell || !isfinite(low) || !isfinite(high))
        return;
    cell->has_limits = true;
    cell->low = low;
    cell->high = high;
}

void efi_sheet_strong(efi_sheet *sheet)
{
    efi_cell *cell = last_cell(sheet);
    if (cell)
        cell->strong = true;
}

void efi_sheet_show(efi_sheet *sheet, const efi_display *display, double value)
{
    efi_text words = {0};
    efi_display_add(&words, display, value);
    efi_sheet_take(sheet, &words);
    efi_sheet_value(sheet, efi_display_value(display, value), display->decimals, display->name);
}

void efi_sheet_number(efi_sheet *sheet, const efi_display *display, double value)
{
    efi_text words = {0};
    efi_display_add_number(&words, display, value);
    efi_sheet_take(sheet, &words);
    efi_sheet_value(sheet, efi_display_value(display, value), display->decimals, display->name);
}

void efi_sheet_percent(efi_sheet *sheet, double share, int decimals)
{
    efi_text words = {0};
    efi_number_add_fixed(&words, share * 100.0, decimals);
    efi_text_add(&words, " %");
    efi_sheet_take(sheet, &words);
    efi_sheet_value(sheet, share * 100.0, decimals, "%");
}

void efi_sheet_duration(efi_sheet *sheet, double hours)
{
    efi_text words = {0};
    efi_display_add_duration(&words, hours);
    efi_sheet_take(sheet, &words);
    efi_sheet_value(sheet, hours, 3, "h");
}

void efi_sheet_count(efi_sheet *sheet, long long count)
{
    efi_sheet_cellf(sheet, "%lld", count);
    efi_sheet_value(sheet, (double)count, 0, "");
}
