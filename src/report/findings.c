/* SPDX-License-Identifier: GPL-3.0-or-later
 * Findings as text for a terminal. */
#include "base/base.h"
#include "base/memory.h"
#include "base/text.h"
#include "report/report.h"

#include <string.h>

static void add_place(efi_text *text, const ef_place *place)
{
    efi_text_add(text, place->file);
    if (place->line > 0)
        efi_text_addf(text, ":%d:%d", place->line, place->column);
}

/* The character at the start of a line, closed by NUL, in `one`; returns its bytes. */
static size_t first_character(const char *line, char one[8])
{
    size_t bytes = 1;
    while (bytes < 7 && ((unsigned char)line[bytes] & 0xC0u) == 0x80u)
        bytes++;
    memset(one, 0, 8);
    memcpy(one, line, bytes);
    return bytes;
}

/* Adds `fill` as wide as the first `characters` of a line, a tab standing for a tab; returns what follows
 * them, which is "" where the line is shorter. */
static const char *add_under(efi_text *text, const char *line, int characters, char fill)
{
    for (int i = 0; i < characters && *line; i++) {
        char one[8];
        const size_t bytes = first_character(line, one);
        if (*line == '\t')
            efi_text_fill(text, fill == ' ' ? '\t' : fill, 1);
        else
            efi_text_fill(text, fill, efi_text_width(one));
        line += bytes;
    }
    return line;
}

static void add_excerpt(efi_text *text, const ef_diag *diag)
{
    const int length = efi_utf8_count(diag->excerpt, strlen(diag->excerpt));
    if (diag->excerpt[0] == '\0' || diag->place.column > length + 1)
        return;
    efi_text_addf(text, "%5d | %s\n      | ", diag->place.line, diag->excerpt);
    const char *marked = add_under(text, diag->excerpt, diag->place.column - 1, ' ');
    const size_t before = text->length;
    (void)add_under(text, marked, diag->place.end_column - diag->place.column, '^');
    if (text->length == before)
        efi_text_add(text, "^");
    efi_text_add(text, "\n");
}

static void add_finding(efi_text *text, const ef_diag *diag)
{
    add_place(text, &diag->place);
    efi_text_addf(text, ": %s: ", diag->severity == EF_ERROR ? "error" : "warning");
    if (diag->key)
        efi_text_addf(text, "%s: ", diag->key);
    efi_text_addf(text, "%s [%s]\n", diag->message, diag->name);
    if (diag->excerpt)
        add_excerpt(text, diag);
    if (diag->allowed)
        efi_text_addf(text, "  allowed: %s\n", diag->allowed);
    if (diag->likely)
        efi_text_addf(text, "  likely:  %s\n", diag->likely);
    if (diag->second.file) {
        efi_text_add(text, "  see:     ");
        add_place(text, &diag->second);
        efi_text_addf(text, ": %s\n", diag->second_words ? diag->second_words : "");
    }
}

static void add_count(efi_text *text, int count, const char *word)
{
    efi_text_addf(text, "%d %s%s", count, word, count == 1 ? "" : "s");
}

ef_status ef_report_findings(const ef_diags *diags, char **text)
{
    efi_text out = {0};
    for (int i = 0; i < ef_diags_count(diags); i++)
        add_finding(&out, ef_diags_get(diags, i));
    const int errors = ef_diags_count_of(diags, EF_ERROR);
    const int warnings = ef_diags_count_of(diags, EF_WARNING);
    if (errors || warnings) {
        if (errors)
            add_count(&out, errors, "error");
        if (errors && warnings)
            efi_text_add(&out, ", ");
        if (warnings)
            add_count(&out, warnings, "warning");
        efi_text_add(&out, "\n");
    }
    return efi_report_give(&out, text);
}
