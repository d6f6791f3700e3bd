/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answers/order/lots.h"
#include "base/csv.h"
#include "base/letter.h"
#include "base/locale.h"
#include "base/quantity.h"
#include "model/beside.h"

#include <string.h>

enum {
    MOST_LOTS = 1000
};

/* The longest time in a table: a hundred years. */
#define LONGEST_H (100.0 * 8766.0)

typedef enum column {
    LOT,
    HOURS,
    ARRIVAL,
    DUE,
    PRIORITY,
    LATEST_START,
    LATEST_END,
    AFTER,
    COLUMNS
} column;

static const char *const headings[COLUMNS] = {"lot",      "hours",        "arrival",    "due",
                                              "priority", "latest start", "latest end", "after"};

/* Reading: the lots so far, and where findings go. */
typedef struct reader {
    ef_lots *lots;
    efi_arena *arena; /* of the lots */
    ef_diags *diags;
    int place[COLUMNS];        /* of a heading in the table, -1 not there */
    const char *unit[COLUMNS]; /* that the heading gives its column, NULL none */
    const char *matrix_unit;   /* that the corner gives the matrix, NULL none */
    const char *pair;          /* the changeover that is being read, NULL elsewhere */
    efi_csv table;
    efi_csv matrix;
} reader;

static const char *text_of(reader *r, const efi_csv_cell *cell)
{
    return efi_arena_text(r->arena, cell->text, cell->length);
}

/* A finding about one cell. */
static void report(reader *r, const efi_csv *csv, int row, int at, efi_diag_code code, const char *message,
                   const char *allowed, const char *likely)
{
    ef_diag draft = efi_csv_draft(csv, r->arena, row, at);
    if (row == 0 || r->pair || !draft.key || !*draft.key)
        draft.key = NULL; /* a heading has none of its own, a changeover is named by both lots */
    draft.message = message;
    draft.allowed = allowed;
    draft.likely = likely && *likely ? likely : NULL;
    efi_diags_add(r->diags, code, &draft);
}

static bool is_same(const efi_csv_cell *cell, const char *name)
{
    return strlen(name) == cell->length && memcmp(cell->text, name, cell->length) == 0;
}

static int find_lot(const ef_lots *lots, const char *name, size_t length)
{
    for (int i = 0; i < lots->count; i++)
        if (strlen(lots->name[i]) == length && memcmp(lots->name[i], name, length) == 0)
            return i;
    return -1;
}

static efi_diag_code code_of(efi_quantity_fault fault)
{
    if (fault == EFI_QUANTITY_UNIT_MISSING)
        return EFI_DIAG_UNIT_MISSING;
    if (fault == EFI_QUANTITY_UNIT_UNKNOWN)
        return EFI_DIAG_UNIT_UNKNOWN;
    return fault == EFI_QUANTITY_UNIT_UNFIT ? EFI_DIAG_UNIT_UNFIT : EFI_DIAG_NUMBER_BAD;
}

/*
 * Is the comma at `at` a decimal comma? Only where commas do not part the columns, between digits, and not
 * where it could as well part thousands ("1,250"): then the number is refused with its likely reading.
 */
static bool is_decimal_comma(const char *text, size_t length, size_t at)
{
    size_t first = at, last = at + 1;
    while (first > 0 && efi_is_digit(text[first - 1]))
        first--;
    while (last < length && efi_is_digit(text[last]))
        last++;
    const bool between = first < at && last > at + 1;
    const bool alone = (first == 0 || text[first - 1] != ',') && (last == length || text[last] != ',');
    return between && alone && (last != at + 4 || text[first] == '0');
}

/* The text of a cell with decimal points; NULL without memory. */
static char *number_text(reader *r, const efi_csv *csv, const efi_csv_cell *cell)
{
    char *text = efi_arena_text(r->arena, cell->text, cell->length);
    for (size_t at = 0; text && csv->separator != ',' && at < cell->length; at++)
        if (text[at] == ',' && is_decimal_comma(cell->text, cell->length, at))
            text[at] = '.';
    return text;
}

static const char time_fits[] = "a time such as 12 h, 90 min, 2 d or 1 h 30 min";

/* A finding about a time; those of the matrix name both lots. */
static void report_time(reader *r, const efi_csv *csv, int row, int at, efi_diag_code code, const char *words,
                        const char *likely)
{
    const char *message = r->pair ? efi_diags_textf(r->diags, "%s: %s", r->pair, words) : words;
    const bool unit = code == EFI_DIAG_UNIT_MISSING;
    const char *allowed = unit && r->pair
                              ? "a time such as 90 min; or a unit in the first cell of the table, "
                                "as in (min)"
                          : unit    ? "a time such as 12 h; or a unit in the heading, as in hours (h)"
                          : r->pair ? "a time such as 90 min, 0 for none, - where the second must not follow"
                                    : time_fits;
    report(r, csv, row, at, code, message, allowed, likely);
}

/* A time of 0 or more, in `unit` when it has none itself (NULL: it must); false after a finding. */
static bool read_hours(reader *r, const efi_csv *csv, int row, int at, const char *unit, double *hours)
{
    const efi_csv_cell *cell = efi_csv_at(csv, row, at);
    efi_quantity quantity;
    efi_quantity_error error;
    if (cell->length == 1 && *cell->text == '0') {
        *hours = 0.0;
        return true;
    }
    if (cell->length == 0) {
        report_time(r, csv, row, at, EFI_DIAG_VALUE_EMPTY, "nothing stands here", NULL);
        return false;
    }
    const char *text = number_text(r, csv, cell);
    if (!text)
        return false;
    const efi_kinds kinds = EFI_KIND_SET(EFI_KIND_DURATION);
    bool fine = efi_quantity_parse(text, strlen(text), kinds, &quantity, &error);
    if (!fine && unit && error.fault == EFI_QUANTITY_UNIT_MISSING) {
        const char *whole = efi_diags_textf(r->diags, "%s %s", text, unit);
        fine = whole && efi_quantity_parse(whole, strlen(whole), kinds, &quantity, &error);
    }
    if (!fine) {
        report_time(
            r, csv, row, at, code_of(error.fault),
            efi_diags_textf(r->diags, "\"%s\" %s", text_of(r, cell), efi_quantity_fault_words(error.fault)),
            error.likely);
        return false;
    }
    if (!(quantity.value >= 0.0 && quantity.value <= LONGEST_H)) {
        report_time(
            r, csv, row, at, EFI_DIAG_OUT_OF_RANGE,
            efi_diags_textf(r->diags, "\"%s\" is no time from 0 to a hundred years", text_of(r, cell)), NULL);
        return false;
    }
    *hours = quantity.value;
    return true;
}

/* The unit in round brackets at the end of a heading, cut off it; NULL without one. */
static const char *cut_unit(reader *r, const efi_csv *csv, int at, char *heading)
{
    char *open = strrchr(heading, '(');
    const size_t length = strlen(heading);
    if (!open || heading[length - 1] != ')')
        return NULL;
    heading[length - 1] = '\0';
    const char *unit = open + 1;
    while (open > heading && open[-1] == ' ')
        open--;
    *open = '\0';
    const char *one = efi_diags_textf(r->diags, "1 %s", unit);
    efi_quantity quantity;
    if (one && efi_quantity_parse(one, strlen(one), EFI_KIND_SET(EFI_KIND_DURATION), &quantity, NULL))
        return unit;
    report(r, csv, 0, at, EFI_DIAG_UNIT_UNKNOWN, efi_diags_textf(r->diags, "(%s) is no unit of time", unit),
           "(min), (h) or (d)", NULL);
    return "h"; /* so that its cells are not reported as well */
}

/* The cell of a column that may be missing or empty: `otherwise` then. */
static void read_optional(reader *r, int row, column which, double otherwise, double *hours)
{
    const int at = r->place[which];
    *hours = otherwise;
    if (at < 0 || efi_csv_at(&r->table, row, at)->length == 0)
        return;
    if (read_hours(r, &r->table, row, at, r->unit[which], hours) && which != DUE)
        r->lots->has_limits = true;
}

static void read_priority(reader *r, int row, double *priority)
{
    *priority = 1.0;
    const efi_csv_cell *cell = r->place[PRIORITY] >= 0 ? efi_csv_at(&r->table, row, r->place[PRIORITY])
                                                       : NULL;
    if (!cell || cell->length == 0)
        return;
    const char *text = number_text(r, &r->table, cell);
    if (!text)
        return;
    const efi_number number = efi_number_parse(text, cell->length);
    if (number.fault == EFI_NUMBER_FINE && number.used == cell->length && number.value >= 0.0 &&
        number.value <= 1e6)
        *priority = number.value;
    else
        report(r, &r->table, row, r->place[PRIORITY], EFI_DIAG_NUMBER_BAD,
               efi_diags_textf(r->diags, "\"%s\" is no priority", text_of(r, cell)),
               "a number from 0 to 1000000", number.likely);
}

/* Finds the columns by their headings. */
static void read_headings(reader *r)
{
    for (int c = 0; c < COLUMNS; c++)
        r->place[c] = -1;
    for (int at = 0; at < r->table.columns; at++) {
        const efi_csv_cell *cell = efi_csv_at(&r->table, 0, at);
        char *word = efi_arena_text(r->arena, cell->text, cell->length);
        const char *unit = word ? cut_unit(r, &r->table, at, word) : NULL;
        int which = 0;
        while (word && which < COLUMNS && !efi_text_same_word(word, headings[which]))
            which++;
        if (!word)
            return;
        if (which == COLUMNS)
            report(r, &r->table, 0, at, EFI_DIAG_KEY_UNKNOWN,
                   efi_diags_textf(r->diags, "no column of a table of lots is called \"%s\"", word),
                   "lot, hours, arrival, due, priority, latest start, latest end, after",
                   efi_text_nearest(word, headings, COLUMNS));
        else if (r->place[which] >= 0)
            report(r, &r->table, 0, at, EFI_DIAG_KEY_TWICE, "this column stands twice", "each column once",
                   NULL);
        else {
            r->place[which] = at;
            r->unit[which] = unit;
        }
    }
    for (int c = LOT; c <= HOURS; c++)
        if (r->place[c] < 0)
            report(r, &r->table, 0, 0, EFI_DIAG_KEY_MISSING,
                   c == LOT ? "the table of lots has no column \"lot\""
                            : "the table of lots has no column \"hours\"",
                   "a column for the name of each lot and one for its hours", headings[c]);
}

static void read_name(reader *r, int row)
{
    const efi_csv_cell *cell = efi_csv_at(&r->table, row, r->place[LOT]);
    const int lot = row - 1;
    if (cell->length == 0)
        report(r, &r->table, row, r->place[LOT], EFI_DIAG_VALUE_EMPTY, "this lot has no name", "a name",
               NULL);
    else if (is_same(cell, "start") || is_same(cell, "end"))
        report(r, &r->table, row, r->place[LOT], EFI_DIAG_NAME_RESERVED,
               "start and end stand for what is before the first lot and after the last", "another name",
               NULL);
    else if (find_lot(r->lots, cell->text, cell->length) >= 0)
        report(r, &r->table, row, r->place[LOT], EFI_DIAG_KEY_TWICE, "this lot stands twice", "each lot once",
               NULL);
    r->lots->name[lot] = text_of(r, cell);
    r->lots->count = row;
}

/* Which of the names a misspelt one likely means. */
static const char *nearest_lot(const reader *r, const char *word)
{
    return efi_text_nearest(word, r->lots->name, r->lots->count);
}

/* The lots named in "after", with + between them. */
static ef_status read_after(reader *r, int row, size_t *room)
{
    if (r->place[AFTER] < 0)
        return EF_OK;
    const efi_csv_cell *cell = efi_csv_at(&r->table, row, r->place[AFTER]);
    size_t at = 0;
    while (at < cell->length) {
        size_t end = at;
        while (end < cell->length && cell->text[end] != '+')
            end++;
        size_t from = at, to = end;
        while (from < to && cell->text[from] == ' ')
            from++;
        while (to > from && cell->text[to - 1] == ' ')
            to--;
        const int first = find_lot(r->lots, cell->text + from, to - from);
        const char *word = efi_arena_text(r->arena, cell->text + from, to - from);
        if (!word)
            return EF_MEMORY;
        if (first < 0 || first == row - 1)
            report(r, &r->table, row, r->place[AFTER], EFI_DIAG_NAME_UNKNOWN,
                   efi_diags_textf(
                       r->diags, first < 0 ? "there is no lot \"%s\"" : "lot \"%s\" cannot run after itself",
                       word),
                   "names of other lots, with + between them", nearest_lot(r, word));
        else {
            if (efi_grow(&r->lots->before, (size_t)r->lots->pairs, room, sizeof *r->lots->before) != 0)
                return EF_MEMORY;
            r->lots->before[r->lots->pairs][0] = first;
            r->lots->before[r->lots->pairs++][1] = row - 1;
            r->lots->has_limits = true;
        }
        at = end + 1;
    }
    return EF_OK;
}

static ef_status get_lots(reader *r, size_t count)
{
    ef_lots *l = r->lots;
    double **const columns[] = {&l->work_h,   &l->arrival_h,      &l->due_h,
                                &l->priority, &l->latest_start_h, &l->latest_end_h};
    for (size_t i = 0; i < EF_COUNT(columns); i++)
        if (!(*columns[i] = efi_arena_get(r->arena, count, sizeof(double))))
            return EF_MEMORY;
    l->name = efi_arena_get(r->arena, count, sizeof *l->name);
    l->changeover_h = efi_arena_get(r->arena, (count + 1) * (count + 1), sizeof(double));
    return l->name && l->changeover_h ? EF_OK : EF_MEMORY;
}

static ef_status read_lots(reader *r)
{
    read_headings(r);
    const int count = r->table.rows - 1;
    if (count < 1 || count > MOST_LOTS) {
        report(r, &r->table, 0, 0, count < 1 ? EFI_DIAG_VALUE_EMPTY : EFI_DIAG_TOO_LARGE,
               count < 1 ? "no lot stands below the heading" : "there are too many lots", "1 to 1000 lots",
               NULL);
        return EF_OK;
    }
    EF_TRY(get_lots(r, (size_t)count));
    if (r->place[LOT] < 0 || r->place[HOURS] < 0)
        return EF_OK;
    for (int row = 1; row <= count; row++) {
        const int lot = row - 1;
        read_name(r, row);
        if (!r->lots->name[lot])
            return EF_MEMORY;
        (void)read_hours(r, &r->table, row, r->place[HOURS], r->unit[HOURS], &r->lots->work_h[lot]);
        read_optional(r, row, ARRIVAL, 0.0, &r->lots->arrival_h[lot]);
        read_optional(r, row, DUE, EFI_LOTS_NONE, &r->lots->due_h[lot]);
        read_optional(r, row, LATEST_START, EFI_LOTS_NONE, &r->lots->latest_start_h[lot]);
        read_optional(r, row, LATEST_END, EFI_LOTS_NONE, &r->lots->latest_end_h[lot]);
        read_priority(r, row, &r->lots->priority[lot]);
    }
    size_t room = 0;
    for (int row = 1; row <= count; row++)
        EF_TRY(read_after(r, row, &room));
    return EF_OK;
}

/* The lot (or `count` for the word) that a heading of the matrix names; -1 after a finding. */
static int read_matrix_name(reader *r, int row, int at, const char *reserved)
{
    const efi_csv_cell *cell = efi_csv_at(&r->matrix, row, at);
    if (is_same(cell, reserved)) {
        r->lots->has_ends = true;
        return r->lots->count;
    }
    const int lot = find_lot(r->lots, cell->text, cell->length);
    const char *word = text_of(r, cell);
    if (lot < 0 && word)
        report(r, &r->matrix, row, at, EFI_DIAG_NAME_UNKNOWN,
               efi_diags_textf(r->diags, "\"%s\" is no lot of the table of lots", word),
               row == 0 ? "a name from the table of lots, or end" : "a name from the table of lots, or start",
               nearest_lot(r, word));
    return lot;
}

static void read_changeover(reader *r, int row, int at, int from, int to)
{
    const efi_csv_cell *cell = efi_csv_at(&r->matrix, row, at);
    const int count = r->lots->count;
    double *hours = &r->lots->changeover_h[(size_t)from * (size_t)(count + 1) + (size_t)to];
    if (from == to)
        return;
    if (cell->length == 1 && *cell->text == '-') {
        *hours = EFI_LOTS_NONE;
        return;
    }
    r->pair = efi_diags_textf(r->diags, "from %s to %s", from < count ? r->lots->name[from] : "start",
                              to < count ? r->lots->name[to] : "end");
    (void)read_hours(r, &r->matrix, row, at, r->matrix_unit, hours);
    r->pair = NULL;
}

/* Says which lots the matrix leaves out. */
static void report_missing(reader *r, const bool *seen, const char *what)
{
    for (int i = 0; i < r->lots->count; i++)
        if (!seen[i] && find_lot(r->lots, r->lots->name[i], strlen(r->lots->name[i])) == i)
            report(r, &r->matrix, 0, 0, EFI_DIAG_KEY_MISSING,
                   efi_diags_textf(r->diags, "there is no %s for lot \"%s\"", what, r->lots->name[i]),
                   "a row and a column for every lot", NULL);
}

static ef_status read_matrix(reader *r)
{
    const size_t size = (size_t)r->lots->count + 1;
    bool *const rows = efi_arena_get(r->arena, size, sizeof *rows);
    bool *const columns = efi_arena_get(r->arena, size, sizeof *columns);
    int *const to = efi_arena_get(r->arena, (size_t)r->matrix.columns + 1, sizeof *to);
    if (!rows || !columns || !to)
        return EF_MEMORY;
    char *corner = efi_arena_text(r->arena, efi_csv_at(&r->matrix, 0, 0)->text,
                                  efi_csv_at(&r->matrix, 0, 0)->length);
    if (!corner)
        return EF_MEMORY;
    r->matrix_unit = cut_unit(r, &r->matrix, 0, corner);
    for (int at = 1; at < r->matrix.columns; at++) {
        to[at] = read_matrix_name(r, 0, at, "end");
        if (to[at] >= 0 && columns[to[at]])
            report(r, &r->matrix, 0, at, EFI_DIAG_KEY_TWICE, "this column stands twice", "each lot once",
                   NULL);
        if (to[at] >= 0)
            columns[to[at]] = true;
    }
    for (int row = 1; row < r->matrix.rows; row++) {
        const int from = read_matrix_name(r, row, 0, "start");
        if (from >= 0 && rows[from])
            report(r, &r->matrix, row, 0, EFI_DIAG_KEY_TWICE, "this row stands twice", "each lot once", NULL);
        if (from >= 0)
            rows[from] = true;
        for (int at = 1; at < r->matrix.columns && from >= 0; at++)
            if (to[at] >= 0)
                read_changeover(r, row, at, from, to[at]);
    }
    report_missing(r, rows, "row");
    report_missing(r, columns, "column");
    return EF_OK;
}

/* A lot that cannot keep its own latest times, even as the first. */
static void check_windows(reader *r)
{
    const ef_lots *l = r->lots;
    for (int i = 0; i < l->count; i++) {
        const double latest = l->latest_start_h[i];
        const double end = l->latest_end_h[i];
        const bool starts = latest < 0.0 || l->arrival_h[i] <= latest;
        if (starts && (end < 0.0 || l->arrival_h[i] + l->work_h[i] <= end))
            continue;
        report(r, &r->table, i + 1, r->place[starts ? LATEST_END : LATEST_START], EFI_DIAG_END_EARLY,
               starts ? "this lot cannot end by then: it arrives too late for its hours"
                      : "this lot cannot start by then: it arrives later",
               "a time that its arrival and its hours leave room for; or empty", NULL);
    }
}

/* Follows "after" from lot to lot until one comes again: then `lot` leads into a ring. */
static ef_status check_rings(reader *r)
{
    const ef_lots *l = r->lots;
    int *const needs = efi_arena_get(r->arena, (size_t)l->count,
                                     sizeof *needs); /* unsettled lots before it */
    if (!needs)
        return EF_MEMORY;
    for (int p = 0; p < l->pairs; p++)
        needs[l->before[p][1]]++;
    for (bool goes_on = true; goes_on;) {
        goes_on = false;
        for (int i = 0; i < l->count; i++) {
            if (needs[i] != 0)
                continue;
            needs[i] = -1;
            goes_on = true;
            for (int p = 0; p < l->pairs; p++)
                needs[l->before[p][1]] -= l->before[p][0] == i;
        }
    }
    for (int i = 0; i < l->count; i++)
        if (needs[i] > 0)
            report(r, &r->table, i + 1, r->place[AFTER], EFI_DIAG_OUT_OF_RANGE,
                   "this lot waits for lots that wait for each other", "pairs that do not form a ring", NULL);
    return EF_OK;
}

static ef_status read_both(reader *r, const char *lots_name, const char *lots_bytes, size_t lots_length,
                           const char *name, const char *bytes, size_t length)
{
    const int errors_before = efi_diags_errors(r->diags);
    EF_TRY(efi_csv_read(&r->table, r->arena, lots_name, lots_bytes, lots_length, r->diags));
    EF_TRY(efi_csv_read(&r->matrix, r->arena, name, bytes, length, r->diags));
    if (r->table.rows < 1 || r->table.columns < 1 || r->matrix.rows < 1 || r->matrix.columns < 1) {
        const ef_diag draft = {.place = {.file = r->table.rows < 1 ? lots_name : name},
                               .message = "the table is empty",
                               .allowed = "a heading and rows below it"};
        efi_diags_add(r->diags, EFI_DIAG_VALUE_EMPTY, &draft);
        return EF_OK;
    }
    EF_TRY(read_lots(r));
    if (r->lots->count == r->table.rows - 1 && r->lots->count > 0)
        EF_TRY(read_matrix(r));
    if (efi_diags_errors(r->diags) > errors_before)
        return EF_OK;
    check_windows(r);
    return check_rings(r);
}

ef_status ef_lots_read(const char *lots_name, const char *lots_bytes, size_t lots_length,
                       const char *changeovers_name, const char *changeovers_bytes, size_t changeovers_length,
                       ef_diags *diags, ef_lots **lots)
{
    efi_locale locale;
    EF_TRY(efi_locale_enter(&locale));
    reader r = {.arena = efi_arena_new(), .diags = diags};
    const int errors_before = efi_diags_errors(diags);
    r.lots = r.arena ? efi_arena_get(r.arena, 1, sizeof *r.lots) : NULL;
    ef_status status = r.lots ? EF_OK : EF_MEMORY;
    if (status == EF_OK) {
        r.lots->arena = r.arena;
        status = read_both(&r, lots_name, lots_bytes, lots_length, changeovers_name, changeovers_bytes,
                           changeovers_length);
    }
    if (status == EF_OK && efi_diags_failed(diags))
        status = EF_MEMORY;
    if (status == EF_OK && efi_diags_errors(diags) > errors_before)
        status = EF_SCENARIO;
    efi_diags_sort(diags);
    if (status == EF_OK)
        *lots = r.lots;
    else if (r.lots)
        ef_lots_free(r.lots);
    else
        efi_arena_free(r.arena);
    efi_locale_leave(&locale);
    return status;
}

ef_status ef_lots_load(const char *lots_path, const char *changeovers_path, ef_diags *diags, ef_lots **lots,
                       const char **failed)
{
    char *lots_bytes = NULL;
    char *bytes = NULL;
    size_t lots_length = 0;
    size_t length = 0;
    const char *at = lots_path;
    ef_status status = efi_file_read(lots_path, &lots_bytes, &lots_length);
    if (status == EF_OK) {
        at = changeovers_path;
        status = efi_file_read(changeovers_path, &bytes, &length);
    }
    if (status != EF_OK && failed)
        *failed = at;
    if (status == EF_OK)
        status = ef_lots_read(lots_path, lots_bytes, lots_length, changeovers_path, bytes, length, diags,
                              lots);
    efi_free(lots_bytes);
    efi_free(bytes);
    return status;
}

void ef_lots_free(ef_lots *lots)
{
    if (!lots)
        return;
    efi_free(lots->before);
    efi_arena_free(lots->arena);
}

int ef_lots_count(const ef_lots *lots)
{
    return lots->count;
}
