/* SPDX-License-Identifier: GPL-3.0-or-later
 * Dates, times, weekdays and lists of stations of the language. */
#include "model/bind.h"

#include <math.h>
#include <string.h>

enum {
    MOST_CLOCKS = 100
};

static efi_diag_code code_of(const efi_field *field, efi_date_fault fault)
{
    if (field->type == EFI_FIELD_WEEKDAYS)
        return EFI_DIAG_DAYS_BAD;
    switch (fault) {
    case EFI_CLOCK_MISSING:
    case EFI_CLOCK_FORM:
    case EFI_CLOCK_HALF:
    case EFI_CLOCK_NONE:
        return EFI_DIAG_TIME_BAD;
    case EFI_DATE_ZONE:
        return field->type == EFI_FIELD_DATE ? EFI_DIAG_DATE_BAD : EFI_DIAG_TIME_BAD;
    case EFI_DATE_FORM:
    case EFI_DATE_ORDER:
    case EFI_DATE_AMBIGUOUS:
    case EFI_DATE_YEAR:
    case EFI_DATE_NONE:
    case EFI_DATE_TRAILING:
    case EFI_WEEKDAYS_MISSING:
    case EFI_WEEKDAYS_FORM:
    case EFI_WEEKDAY_UNKNOWN:
    case EFI_WEEKDAY_TWICE:
    case EFI_DATE_FAULT_LIMIT:
        break;
    }
    return EFI_DIAG_DATE_BAD;
}

static const char *allowed_for(const efi_field *field, const efi_date_error *error)
{
    if (error->offered[0])
        return error->offered;
    if (field->type == EFI_FIELD_DATE)
        return "a date such as 2026-11-25: year, month, day";
    if (field->type == EFI_FIELD_CLOCK || field->type == EFI_FIELD_CLOCKS)
        return "a time from 00:00 to 24:00, such as 06:30";
    if (field->type == EFI_FIELD_MOMENT)
        return "a date and a time, such as 2026-11-25T06:30";
    if (field->type == EFI_FIELD_BY_DATE)
        return "a date such as 2026-11-25, or a date and a time, such as 2026-11-25T06:30";
    if (field->type == EFI_FIELD_INSTANT)
        return "a date and a time, such as 2026-11-25T06:30, or hours from the start of the calendar, such "
               "as 26.5 "
               "h";
    return "mon, tue, wed, thu, fri, sat, sun, spans such as mon-fri, several with commas, daily";
}

/* Is it a date of a table's column in an order that spreadsheets write? Then the whole column is likely to
 * be, and is told once, at its heading. */
static bool tell_column(efi_binder *b, const efi_node *node, const efi_path *path,
                        const efi_date_error *error)
{
    const bool by_order = error->fault == EFI_DATE_ORDER || error->fault == EFI_DATE_AMBIGUOUS ||
                          error->fault == EFI_DATE_YEAR;
    if (!by_order || !b->scenario->tree.sources[node->source].is_table || !path ||
        !efi_node_is_heading(path->key))
        return false;
    ef_diag draft = efi_bind_draft(b, path, path->key);
    if (efi_diags_told(b->diags, EFI_DIAG_DATE_BAD, &draft.place))
        return true;
    draft.found = efi_bind_shown(b, node);
    draft.message = efi_diags_textf(b->diags, "the dates of this column: \"%s\" %s", draft.found,
                                    efi_date_fault_words(error->fault));
    draft.allowed =
        "dates such as 2026-11-25: give the column the format YYYY-MM-DD in the spreadsheet and save "
        "it again";
    draft.likely = error->likely[0] ? error->likely
                   : error->offered[0]
                       ? efi_diags_textf(b->diags, "one of %s for the first of them", error->offered)
                       : NULL;
    draft.second = efi_tree_place(&b->scenario->tree, node);
    draft.second_words = "the first such date";
    efi_diags_add(b->diags, EFI_DIAG_DATE_BAD, &draft);
    return true;
}

/* Adds the finding, its marks under the culprit where that lies on the line as written. */
static void report(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                   const efi_date_error *error)
{
    if (tell_column(b, node, path, error))
        return;
    ef_diag draft = efi_bind_draft(b, path, node);
    if (!efi_diags_full(b->diags, EF_ERROR)) {
        size_t end = error->end;
        while (end < node->length && ((unsigned char)node->is.text[end] & 0xC0u) == 0x80u)
            end++;
        const int width = efi_utf8_count(node->is.text, node->length);
        efi_node culprit = *node;
        if (end > error->start) {
            culprit.is.text = node->is.text + error->start;
            culprit.length = (uint32_t)(end - error->start);
        }
        if (!node->quoted && end > error->start && draft.place.end_column - draft.place.column == width) {
            draft.place.column += efi_utf8_count(node->is.text, error->start);
            draft.place.end_column = draft.place.column + efi_utf8_count(culprit.is.text, culprit.length);
        }
        draft.message = efi_diags_textf(b->diags, "\"%s\" %s", efi_bind_shown(b, &culprit),
                                        efi_date_fault_words(error->fault));
        draft.allowed = allowed_for(field, error);
        draft.likely = error->likely[0] ? error->likely : NULL;
    }
    efi_diags_add(b->diags, code_of(field, error->fault), &draft);
}

/* Does the text try to be a date? "26.5 h" does not, "2026-9-7 8:10" does. */
static bool looks_like_date(const efi_node *node)
{
    const char *text = node->is.text;
    return node->length > 0 && (memchr(text, ':', node->length) || memchr(text + 1, '-', node->length - 1));
}

/* Hours from the start of the calendar. */
static void bind_hours(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                       efi_when *when)
{
    efi_value hours = {0};
    efi_bind_quantity(b, field, node, path, &hours);
    if (!hours.given)
        return;
    if (hours.value > 1e6)
        efi_bind_report(b, EFI_DIAG_OUT_OF_RANGE, path, node, "so many hours are more than a hundred years",
                        "at most 1000000 h", NULL);
    else
        *when = (efi_when){.value = llround(hours.value * EFI_HOUR_S), .given = true, .is_relative = true};
}

void efi_bind_when(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                   efi_when *when)
{
    *when = (efi_when){.bad = true};
    if (!efi_bind_is_text(b, node, path))
        return;
    if (field->type == EFI_FIELD_INSTANT && !looks_like_date(node)) {
        bind_hours(b, field, node, path, when);
        return;
    }
    efi_date_error error;
    efi_weekdays weekdays = 0;
    int clock_s = 0;
    int64_t value = 0;
    bool good = false;
    if (field->type == EFI_FIELD_WEEKDAYS) {
        good = efi_weekdays_parse(node->is.text, node->length, &weekdays, &error);
        value = weekdays;
    } else if (field->type == EFI_FIELD_CLOCK) {
        good = efi_clock_parse(node->is.text, node->length, &clock_s, &error);
        value = clock_s;
    } else if (field->type == EFI_FIELD_MOMENT || field->type == EFI_FIELD_INSTANT) {
        good = efi_moment_parse(node->is.text, node->length, &value, &error);
    } else {
        good = efi_date_parse(node->is.text, node->length, &value, &error);
    }
    if (good)
        *when = (efi_when){.value = value, .given = true};
    else
        report(b, field, node, path, &error);
}

/* Does a time of the day stand behind the date, well or badly written? */
static bool has_time(const efi_node *node)
{
    enum {
        DATE_LENGTH = 10
    };
    const char *text = node->is.text;
    int64_t ignored;
    if (node->length > 0 && memchr(text, ':', node->length))
        return true;
    if (node->length <= DATE_LENGTH + 1 || !efi_date_parse(text, DATE_LENGTH, &ignored, NULL))
        return false;
    return text[DATE_LENGTH] == ' ' || text[DATE_LENGTH] == 'T' || text[DATE_LENGTH] == 't';
}

void efi_bind_by_date(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                      efi_by_date *when)
{
    *when = (efi_by_date){.moment = {.bad = true}};
    if (!efi_bind_is_text(b, node, path))
        return;
    efi_date_error error;
    int64_t value = 0;
    const bool timed = has_time(node);
    const bool good = timed ? efi_moment_parse(node->is.text, node->length, &value, &error)
                            : efi_date_parse(node->is.text, node->length, &value, &error);
    if (!good) {
        report(b, field, node, path, &error);
        return;
    }
    when->whole_day = !timed;
    if (!timed)
        value = (value + (field->to_end ? 1 : 0)) * EFI_DAY_S;
    when->moment = (efi_when){.value = value, .given = true};
}

void efi_bind_texts(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                    void *into)
{
    const bool several = node->kind == EFI_NODE_LIST;
    const int most = several ? (int)node->length : 1;
    if (several && most == 0)
        efi_bind_report(b, EFI_DIAG_VALUE_EMPTY, path, path->key, "the list holds nothing",
                        "a text, or several in brackets", NULL);
    const char **items = efi_bind_get(b, (size_t)most, sizeof *items);
    int count = 0;
    for (int i = 0; items && i < most; i++) {
        const efi_node *one = several ? &node->is.children[i] : node;
        if (efi_bind_is_text(b, one, path) && efi_bind_is_name(b, one, path))
            items[count++] = efi_bind_text(b, one);
    }
    const char *const *list = items;
    memcpy((char *)into + field->slot, &list, sizeof list);
    memcpy((char *)into + field->count_slot, &count, sizeof count);
}

void efi_bind_clocks(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                     efi_clock_list *list)
{
    const bool several = node->kind == EFI_NODE_LIST;
    const int count = several ? (int)node->length : 1;
    *list = (efi_clock_list){.bad = node->unsound || count == 0};
    if (count == 0 && !node->unsound)
        efi_bind_report(b, EFI_DIAG_VALUE_EMPTY, path, path->key, "the list holds nothing",
                        "a time of the day, or several in brackets", NULL);
    if (count > MOST_CLOCKS) {
        efi_bind_report(b, EFI_DIAG_TOO_LARGE, path, path->key,
                        efi_diags_textf(b->diags, "%d times; at most %d can be handled", count, MOST_CLOCKS),
                        NULL, NULL);
        list->bad = true;
        return;
    }
    int *items = efi_bind_get(b, (size_t)count, sizeof *items);
    list->items = items;
    for (int i = 0; items && i < count; i++) {
        const efi_node *one = several ? &node->is.children[i] : node;
        efi_date_error error;
        if (!efi_bind_is_text(b, one, path)) {
            list->bad = true;
        } else if (efi_clock_parse(one->is.text, one->length, &items[list->count], &error)) {
            list->count++;
        } else {
            report(b, field, one, path, &error);
            list->bad = true;
        }
    }
}

static const char *list_words(efi_names names)
{
    if (names == EFI_NAMES_CROPS)
        return "the name of a crop, or several in brackets";
    if (names == EFI_NAMES_LINES)
        return "the name of a line, or several in brackets";
    return names == EFI_NAMES_MATERIALS ? "the name of a material, or several in brackets"
                                        : "the name of a station, or several in brackets";
}

/* Several names in one cell of a table, between commas or semicolons and with or without brackets, as a list;
 * NULL when it is one name, or no memory. */
static efi_node *split_cell(efi_binder *b, const efi_node *cell, int *count)
{
    const char *text = cell->is.text;
    size_t end = cell->length;
    size_t from = 0;
    if (end >= 2 && text[0] == '[' && text[end - 1] == ']') {
        from++;
        end--;
    }
    *count = 1;
    for (size_t i = from; i < end; i++)
        *count += text[i] == ',' || text[i] == ';';
    efi_node *items = *count > 1 || from > 0 ? efi_bind_get(b, (size_t)*count, sizeof *items) : NULL;
    for (int i = 0; items && i < *count; i++) {
        size_t stop = from;
        while (stop < end && text[stop] != ',' && text[stop] != ';')
            stop++;
        const size_t next = stop + 1;
        while (from < stop && text[from] == ' ')
            from++;
        while (stop > from && text[stop - 1] == ' ')
            stop--;
        items[i] = *cell;
        items[i].is.text = text + from;
        items[i].length = (uint32_t)(stop - from);
        if (!cell->quoted) {
            items[i].column += (uint32_t)efi_utf8_count(text, from);
            efi_node_set_width(&items[i], (uint32_t)efi_utf8_count(text + from, stop - from));
        }
        from = next;
    }
    return items;
}

void efi_bind_list(efi_binder *b, efi_names names, const efi_node *node, const efi_path *path,
                   efi_station_list *list)
{
    int count = node->kind == EFI_NODE_LIST ? (int)node->length : 1;
    const efi_node *one = node->kind == EFI_NODE_LIST ? node->is.children : node;
    const bool cell = node->kind == EFI_NODE_TEXT && b->scenario->tree.sources[node->source].is_table;
    if (cell && !efi_bind_knows(b, names, node)) {
        const efi_node *split = split_cell(b, node, &count);
        one = split ? split : node;
        count = split ? count : 1;
    }
    int *items = efi_bind_get(b, (size_t)count, sizeof *items);
    *list = (efi_station_list){.items = items, .bad = node->unsound || count == 0};
    if (count == 0)
        efi_bind_report(b, EFI_DIAG_VALUE_EMPTY, path, path->key, "the list holds nothing", list_words(names),
                        NULL);
    for (int i = 0; items && i < count; i++) {
        const int found = efi_bind_is_text(b, &one[i], path) ? efi_bind_find(b, names, &one[i], path) : -1;
        if (found >= 0)
            items[list->count++] = found;
        else
            list->bad = true;
    }
}
