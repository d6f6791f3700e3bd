/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/csv.h"
#include "base/text.h"

#include <string.h>
#include <unistr.h>

typedef struct reader {
    efi_csv *csv;
    efi_arena *arena;
    ef_diags *diags;
    efi_csv_cell *cells; /* growing, shape [count] */
    size_t count;
    size_t room;
    size_t at;       /* byte */
    uint32_t line;   /* of `at` */
    uint32_t column; /* of `at` */
    bool failed;
} reader;

const efi_csv_cell *efi_csv_at(const efi_csv *csv, int row, int column)
{
    return &csv->cells[(size_t)row * (size_t)csv->columns + (size_t)column];
}

ef_place efi_csv_place(const efi_csv *csv, const efi_csv_cell *cell)
{
    return (ef_place){.file = csv->name,
                      .line = (int)cell->line,
                      .column = (int)cell->column,
                      .end_column = (int)cell->end_column};
}

/* The line that holds byte `at`, cut at some length. */
static const char *line_text(const efi_csv *csv, efi_arena *arena, uint32_t line)
{
    enum {
        LONGEST = 200
    };
    size_t start = 0;
    for (uint32_t l = 1; l < line && start < csv->length; start++)
        l += csv->bytes[start] == '\n';
    size_t end = start;
    while (end < csv->length && csv->bytes[end] != '\n' && csv->bytes[end] != '\r' && end - start < LONGEST)
        end++;
    while (end > start && end < csv->length && ((unsigned char)csv->bytes[end] & 0xC0u) == 0x80u)
        end--;
    return efi_arena_text(arena, csv->bytes + start, end - start);
}

ef_diag efi_csv_draft(const efi_csv *csv, efi_arena *arena, int row, int column)
{
    const efi_csv_cell *cell = efi_csv_at(csv, row, column);
    const efi_csv_cell *heading = efi_csv_at(csv, 0, column);
    return (ef_diag){.place = efi_csv_place(csv, cell),
                     .key = efi_arena_text(arena, heading->text, heading->length),
                     .found = efi_arena_text(arena, cell->text, cell->length),
                     .excerpt = line_text(csv, arena, cell->line)};
}

static void report(reader *r, efi_diag_code code, const efi_csv_cell *cell, const char *message,
                   const char *likely)
{
    if (efi_diags_full(r->diags, EF_ERROR)) {
        const ef_diag more = {.place = {.file = r->csv->name}};
        efi_diags_add(r->diags, code, &more);
        return;
    }
    const ef_diag draft = {.place = efi_csv_place(r->csv, cell),
                           .message = message,
                           .likely = likely,
                           .excerpt = line_text(r->csv, r->arena, cell->line)};
    efi_diags_add(r->diags, code, &draft);
}

static char now(const reader *r)
{
    return r->at < r->csv->length ? r->csv->bytes[r->at] : '\0';
}

static void step(reader *r)
{
    const char c = r->csv->bytes[r->at++];
    if (c == '\n') {
        r->line++;
        r->column = 1;
    } else if (((unsigned char)now(r) & 0xC0u) != 0x80u || r->at == r->csv->length) {
        r->column++;
    }
}

static bool at_line_end(const reader *r)
{
    return r->at >= r->csv->length || now(r) == '\n' ||
           (now(r) == '\r' && r->at + 1 < r->csv->length && r->csv->bytes[r->at + 1] == '\n');
}

static bool at_cell_end(const reader *r)
{
    return at_line_end(r) || now(r) == r->csv->separator;
}

/* A cell in quotes: `at` is on the opening one. Leaves `at` after the closing one. */
static void read_quoted(reader *r, efi_csv_cell *cell)
{
    efi_text text = {0};
    step(r);
    size_t from = r->at;
    for (;;) {
        if (r->at >= r->csv->length) {
            report(r, EFI_DIAG_CSV_SYNTAX, cell, "a quote that is not closed", "a closing quote");
            break;
        }
        if (now(r) != '"') {
            step(r);
            continue;
        }
        efi_text_add_bytes(&text, r->csv->bytes + from, r->at - from);
        step(r);
        from = r->at;
        if (now(r) != '"')
            break;
        step(r); /* a doubled quote stands for one: keep the second */
    }
    if (r->at >= r->csv->length && from < r->at)
        efi_text_add_bytes(&text, r->csv->bytes + from, r->at - from);
    cell->text = efi_arena_text(r->arena, efi_text_get(&text), text.length);
    cell->length = (uint32_t)text.length;
    r->failed = r->failed || text.failed || !cell->text;
    efi_text_free(&text);
}

static efi_csv_cell read_cell(reader *r)
{
    while (!at_cell_end(r) && now(r) == ' ')
        step(r);
    efi_csv_cell cell = {.text = r->csv->bytes + r->at, .line = r->line, .column = r->column};
    cell.end_column = cell.column;
    if (now(r) == '"' && r->at < r->csv->length) {
        cell.quoted = true;
        read_quoted(r, &cell);
        cell.end_column = r->line == cell.line ? r->column : cell.column + 1;
        while (!at_cell_end(r) && now(r) == ' ')
            step(r);
        if (!at_cell_end(r))
            report(r, EFI_DIAG_CSV_SYNTAX, &cell, "text after a closing quote",
                   "a doubled quote inside the quotes");
    }
    while (!at_cell_end(r)) {
        const bool blank = now(r) == ' ';
        step(r);
        if (!blank && !cell.quoted) {
            cell.length = (uint32_t)((size_t)(r->csv->bytes + r->at - cell.text));
            cell.end_column = r->column;
        }
    }
    return cell;
}

static void add_cell(reader *r, efi_csv_cell cell)
{
    if (efi_grow(&r->cells, r->count, &r->room, sizeof *r->cells) != 0)
        r->failed = true;
    else
        r->cells[r->count++] = cell;
}

/* One line of the file; returns its number of cells, 0 when it holds no text. */
static int read_row(reader *r)
{
    const size_t before = r->count;
    const int most = r->csv->columns > 0 ? r->csv->columns : EFI_CSV_MOST_COLUMNS;
    int cells = 0;
    bool text = false;
    for (;;) {
        const efi_csv_cell cell = read_cell(r);
        text = text || cell.length > 0;
        if (cells < most)
            add_cell(r, cell);
        else if (cells == most && cell.length > 0)
            report(r, EFI_DIAG_CSV_SYNTAX, &cell,
                   efi_diags_textf(r->diags, "a row of more than the %d cells of the heading", most), NULL);
        cells++;
        if (at_line_end(r))
            break;
        step(r); /* the separator */
    }
    while (r->at < r->csv->length && now(r) != '\n')
        step(r);
    if (r->at < r->csv->length)
        step(r);
    if (!text) {
        r->count = before;
        return 0;
    }
    return cells < most ? cells : most;
}

static char choose_separator(const char *bytes, size_t length)
{
    static const char candidates[] = {',', ';', '\t'};
    int count[sizeof candidates] = {0};
    bool quoted = false;
    for (size_t i = 0; i < length && bytes[i] != '\n'; i++) {
        quoted = quoted != (bytes[i] == '"');
        for (size_t c = 0; c < sizeof candidates; c++)
            count[c] += !quoted && bytes[i] == candidates[c];
    }
    size_t best = 0;
    for (size_t c = 1; c < sizeof candidates; c++)
        if (count[c] > count[best])
            best = c;
    return candidates[best];
}

static void read_rows(reader *r)
{
    while (r->at < r->csv->length && !r->failed) {
        const int cells = read_row(r);
        if (cells == 0)
            continue;
        if (r->csv->columns == 0)
            r->csv->columns = cells;
        r->csv->rows++;
        const efi_csv_cell empty = {
            .text = "", .line = r->line > 1 ? r->line - 1 : 1, .column = 1, .end_column = 1};
        for (int c = cells; c < r->csv->columns; c++)
            add_cell(r, empty);
    }
}

static bool is_text(reader *r)
{
    const uint8_t *bytes = (const uint8_t *)r->csv->bytes;
    const uint8_t *broken = r->csv->length ? u8_check(bytes, r->csv->length) : NULL;
    const char *nul = r->csv->length ? memchr(r->csv->bytes, '\0', r->csv->length) : NULL;
    if (!broken && !nul)
        return true;
    const char *bad = broken ? (const char *)broken : nul;
    efi_csv_cell at = {.text = bad, .line = 1, .column = 1};
    for (const char *c = r->csv->bytes; c < bad; c++) {
        at.column = *c == '\n' ? 1 : at.column + (((unsigned char)*c & 0xC0u) != 0x80u);
        at.line += *c == '\n';
    }
    at.end_column = at.column + 1;
    const ef_diag draft = {
        .place = efi_csv_place(r->csv, &at),
        .message = efi_diags_textf(r->diags, "byte 0x%02X is not UTF-8 text", (unsigned)(unsigned char)*bad),
        .allowed = "UTF-8 text",
        .likely = "save the table as CSV with the encoding UTF-8"};
    efi_diags_add(r->diags, EFI_DIAG_NOT_TEXT, &draft);
    return false;
}

ef_status efi_csv_read(efi_csv *csv, efi_arena *arena, const char *name, const char *bytes, size_t length,
                       ef_diags *diags)
{
    if (length >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0) {
        bytes += 3;
        length -= 3;
    }
    *csv = (efi_csv){.name = name, .bytes = bytes, .length = length};
    reader r = {.csv = csv, .arena = arena, .diags = diags, .line = 1, .column = 1};
    if (length > EFI_CSV_MOST_BYTES) {
        const ef_diag draft = {.place = {.file = name}, .message = "the table is larger than 64 MiB"};
        efi_diags_add(diags, EFI_DIAG_TOO_LARGE, &draft);
        return EF_OK;
    }
    csv->separator = choose_separator(bytes, length);
    if (is_text(&r))
        read_rows(&r);
    csv->cells = r.failed ? NULL : efi_arena_get(arena, r.count, sizeof *csv->cells);
    const bool good = csv->cells != NULL;
    if (good && r.count)
        memcpy(csv->cells, r.cells, r.count * sizeof *csv->cells);
    efi_free(r.cells);
    return good ? EF_OK : EF_MEMORY;
}

int efi_csv_column(const efi_csv *csv, const char *name)
{
    for (int c = 0; csv->rows > 0 && c < csv->columns; c++) {
        const efi_csv_cell *cell = efi_csv_at(csv, 0, c);
        char heading[64];
        if (cell->length >= sizeof heading)
            continue;
        memcpy(heading, cell->text, cell->length);
        heading[cell->length] = '\0';
        if (efi_text_same_word(heading, name))
            return c;
    }
    return -1;
}
