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

/* Blanks as wide as the first `characters` of a line; tabs stay tabs. Returns false when the line is shorter.
 */
static bool add_indent(efi_text *text, const char *line, int characters)
{
    while (characters > 0 && *line) {
        size_t bytes = 1;
        while (((unsigned char)line[bytes] & 0xC0u) == 0x80u)
            bytes++;
        char one[8] = {0};
        memcpy(one, line, bytes < sizeof one ? bytes : sizeof one - 1);
        if (*line == '\t')
            efi_text_add(text, "\t");
        else
            efi_text_fill(text, ' ', efi_text_width(one));
        line += bytes;
        characters--;
    }
    return characters == 0;
}

static void add_excerpt(efi_text *text, const ef_diag *diag)
{
    const int length = efi_utf8_count(diag->excerpt, strlen(diag->excerpt));
    if (diag->excerpt[0] == '\0' || diag->place.column > length + 1)
        return;
    efi_text_addf(text, "%5d | %s\n      | ", diag->place.line, diag->excerpt);
    (void)add_indent(text, diag->excerpt, diag->place.column - 1);
    int marks = diag->place.end_column - diag->place.column;
    if (marks > length - diag->place.column + 1)
        marks = length - diag->place.column + 1;
    efi_text_fill(text, '^', marks > 1 ? marks : 1);
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
