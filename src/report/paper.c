/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/paper.h"
#include "base/tongue.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <string.h>

void efi_paper_free(efi_paper *paper)
{
    for (int i = 0; i < paper->part_count; i++) {
        efi_free(paper->parts[i].cells);
        efi_free(paper->parts[i].svg);
    }
    efi_free(paper->parts);
    efi_arena_free(paper->arena);
    *paper = (efi_paper){.with_pictures = paper->with_pictures};
}

/* A copy that lives as long as the paper; "" when that fails, so that readers need not ask. */
static const char *keep(efi_paper *paper, const char *words)
{
    if (!paper->arena && !paper->failed)
        paper->arena = efi_arena_new();
    const char *copy = paper->arena ? efi_arena_text(paper->arena, words, strlen(words)) : NULL;
    if (!copy)
        paper->failed = true;
    return copy ? copy : "";
}

/* A new part; NULL when the paper has failed. */
static efi_part *add_part(efi_paper *paper, efi_part_kind kind)
{
    if (paper->failed ||
        efi_grow(&paper->parts, (size_t)paper->part_count, &paper->part_room, sizeof *paper->parts) != 0) {
        paper->failed = true;
        return NULL;
    }
    efi_part *part = &paper->parts[paper->part_count++];
    *part = (efi_part){.kind = kind, .depth = paper->depth, .words = "", .name = ""};
    return part;
}

void efi_paper_gap(efi_paper *paper)
{
    (void)add_part(paper, EFI_PART_GAP);
}

void efi_paper_heading(efi_paper *paper, int level, bool quiet, const char *words)
{
    efi_part *part = add_part(paper, EFI_PART_HEADING);
    if (!part)
        return;
    part->level = level;
    part->quiet = quiet;
    part->words = keep(paper, words);
}

void efi_paper_title(efi_paper *paper, efi_text *words)
{
    paper->depth = 0;
    paper->failed = paper->failed || words->failed;
    efi_paper_heading(paper, 1, false, efi_text_get(words));
    efi_paper_gap(paper);
    efi_text_free(words);
}

void efi_paper_words(efi_paper *paper, efi_role role, const char *words)
{
    efi_part *part = *words ? add_part(paper, EFI_PART_WORDS) : NULL;
    if (!part)
        return;
    part->role = role;
    part->words = keep(paper, words);
}

void efi_paper_say(efi_paper *paper, efi_role role, efi_text *words)
{
    paper->failed = paper->failed || words->failed;
    efi_paper_words(paper, role, efi_text_get(words));
    efi_text_free(words);
}

void efi_paper_goes_on(efi_paper *paper, efi_role role, const char *words)
{
    const int before = paper->part_count;
    efi_paper_words(paper, role, words);
    if (paper->part_count > before && before > 0 && paper->parts[before - 1].kind == EFI_PART_WORDS)
        paper->parts[before].goes_on = true;
}

void efi_paper_item(efi_paper *paper, efi_text *words)
{
    efi_part *part = add_part(paper, EFI_PART_ITEM);
    if (part)
        part->words = keep(paper, efi_text_get(words));
    paper->failed = paper->failed || words->failed;
    efi_text_free(words);
}

const char *efi_paper_phrase(efi_paper *paper, const char *format, ...)
{
    efi_text words = {0};
    va_list arguments;
    va_start(arguments, format);
    efi_text_addfv(&words, format, arguments);
    va_end(arguments);
    const char *kept = keep(paper, efi_text_get(&words));
    paper->failed = paper->failed || words.failed;
    efi_text_free(&words);
    return kept ? kept : "";
}

void efi_paper_wordsf(efi_paper *paper, efi_role role, const char *format, ...)
{
    efi_text words = {0};
    va_list arguments;
    va_start(arguments, format);
    efi_text_addfv(&words, format, arguments);
    va_end(arguments);
    efi_paper_say(paper, role, &words);
}

void efi_paper_linef(efi_paper *paper, const char *format, ...)
{
    efi_text words = {0};
    va_list arguments;
    va_start(arguments, format);
    efi_text_addfv(&words, format, arguments);
    va_end(arguments);
    efi_part *part = add_part(paper, EFI_PART_LINE);
    if (part)
        part->words = keep(paper, efi_text_get(&words));
    paper->failed = paper->failed || words.failed;
    efi_text_free(&words);
}

void efi_paper_picture(efi_paper *paper, const char *name, ef_status status, char **svg)
{
    if (status != EF_OK) {
        paper->failed = paper->failed || status != EF_NO_ANSWER;
        return;
    }
    efi_part *part = add_part(paper, EFI_PART_PICTURE);
    if (part) {
        part->name = keep(paper, name);
        part->svg = *svg;
    } else {
        efi_free(*svg);
    }
    *svg = NULL;
}

void efi_paper_table(efi_paper *paper, const efi_table_form *form, const efi_column *columns, int count)
{
    efi_part *part = EF_NEVER(count < 1 || count > EFI_TABLE_MOST_COLUMNS) ? NULL
                                                                           : add_part(paper, EFI_PART_TABLE);
    if (!part) {
        paper->failed = true;
        return;
    }
    part->form = *form;
    part->form.name = part->name = keep(paper, form->name);
    part->form.caption = part->words = keep(paper, efi_tr(form->caption));
    efi_column *copy = paper->failed ? NULL : efi_arena_get(paper->arena, (size_t)count, sizeof *copy);
    if (!copy) {
        paper->failed = true;
        return;
    }
    for (int i = 0; i < count; i++) {
        copy[i] = columns[i];
        copy[i].title = keep(paper, efi_tr(columns[i].title));
    }
    part->columns = copy;
    part->column_count = count;
}

void efi_paper_table_say(efi_paper *paper, const efi_table_form *form, efi_text *caption,
                         const efi_column *columns, int count)
{
    efi_table_form captioned = *form;
    captioned.caption = efi_text_get(caption);
    paper->failed = paper->failed || caption->failed;
    efi_paper_table(paper, &captioned, columns, count);
    efi_text_free(caption);
}

bool efi_column_says(const efi_column *column, const char *unit)
{
    const size_t title = strlen(column->title);
    const size_t length = strlen(unit);
    if (length == 0)
        return true;
    if (title < length || strcmp(column->title + title - length, unit) != 0)
        return false;
    return title == length || !isalnum((unsigned char)column->title[title - length - 1]);
}

/* ---- cells ----------------------------------------------------------------------------------------------
 */

void efi_paper_cell(efi_paper *paper, const char *words)
{
    if (paper->failed)
        return;
    efi_part *table = &paper->parts[paper->part_count - 1];
    assert(table->kind == EFI_PART_TABLE);
    if (efi_grow(&table->cells, (size_t)table->cell_count, &table->cell_room, sizeof *table->cells) != 0) {
        paper->failed = true;
        return;
    }
    table->cells[table->cell_count++] = (efi_cell){.words = words ? keep(paper, words) : "", .unit = ""};
}

void efi_paper_take(efi_paper *paper, efi_text *words)
{
    paper->failed = paper->failed || words->failed;
    efi_paper_cell(paper, efi_text_get(words));
    efi_text_free(words);
}

void efi_paper_cellf(efi_paper *paper, const char *format, ...)
{
    efi_text words = {0};
    va_list arguments;
    va_start(arguments, format);
    efi_text_addfv(&words, format, arguments);
    va_end(arguments);
    efi_paper_take(paper, &words);
}

/* The cell added last; NULL when the paper has failed. */
static efi_cell *last_cell(efi_paper *paper)
{
    if (paper->failed)
        return NULL;
    const efi_part *table = &paper->parts[paper->part_count - 1];
    assert(table->kind == EFI_PART_TABLE && table->cell_count > 0);
    return &table->cells[table->cell_count - 1];
}

void efi_paper_value(efi_paper *paper, double value, int decimals, const char *unit)
{
    efi_cell *cell = last_cell(paper);
    if (!cell || !isfinite(value))
        return;
    cell->has_value = true;
    cell->value = cell->base = value;
    cell->decimals = decimals;
    cell->unit = *unit ? keep(paper, unit) : "";
}

/* What efi_paper_value says of a quantity in base units. */
static void value_by(efi_paper *paper, const efi_display *display, double value)
{
    efi_paper_value(paper, efi_display_value(display, value), display->decimals, display->name);
    efi_cell *cell = last_cell(paper);
    if (cell)
        cell->base = value;
}

void efi_paper_limits(efi_paper *paper, double low, double high)
{
    efi_cell *cell = last_cell(paper);
    if (!cell || !isfinite(low) || !isfinite(high))
        return;
    cell->has_limits = true;
    cell->low = low;
    cell->high = high;
}

void efi_paper_strong(efi_paper *paper)
{
    efi_cell *cell = last_cell(paper);
    if (cell)
        cell->strong = true;
}

void efi_paper_moment(efi_paper *paper, int64_t moment_s)
{
    efi_cell *cell = last_cell(paper);
    if (!cell)
        return;
    cell->is_moment = true;
    cell->moment = moment_s;
}

void efi_paper_show(efi_paper *paper, const efi_display *display, double value)
{
    efi_text words = {0};
    efi_display_add(&words, display, value);
    efi_paper_take(paper, &words);
    value_by(paper, display, value);
}

void efi_paper_number(efi_paper *paper, const efi_display *display, double value)
{
    efi_text words = {0};
    efi_display_add_number(&words, display, value);
    efi_paper_take(paper, &words);
    value_by(paper, display, value);
}

void efi_paper_percent(efi_paper *paper, double share, int decimals)
{
    efi_text words = {0};
    efi_number_say_fixed(&words, share * 100.0, decimals);
    efi_text_add(&words, " %");
    efi_paper_take(paper, &words);
    efi_paper_value(paper, share * 100.0, decimals, "%");
}

void efi_paper_duration(efi_paper *paper, double hours)
{
    efi_text words = {0};
    efi_display_add_duration(&words, hours);
    efi_paper_take(paper, &words);
    efi_paper_value(paper, hours, 3, "h");
}

void efi_paper_count(efi_paper *paper, long long count)
{
    efi_paper_cellf(paper, "%lld", count);
    efi_paper_value(paper, (double)count, 0, "");
}
