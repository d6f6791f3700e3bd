/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/csv_text.h"
#include "base/number.h"
#include "report/report.h"

#include <evenfeed/report.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>

/* A cell, not quoted, that changes with the decimal comma. */
static bool has_decimals(const char *cell, size_t length)
{
    bool has_point = false;
    for (size_t i = 0; i < length; i++) {
        if (strchr("0123456789.+-eE", cell[i]) == NULL)
            return false;
        has_point = has_point || cell[i] == '.';
    }
    return has_point;
}

void efi_csv_add_text(efi_text *out, const char *words)
{
    const size_t length = strlen(words);
    const bool formula = *words != '\0' && strchr("=+-@", *words) != NULL;
    const bool edges = length > 0 && (words[0] == ' ' || words[length - 1] == ' ');
    const bool plain = strpbrk(words, "\",;\t\r\n") == NULL && !has_decimals(words, length);
    if (!formula && !edges && plain) {
        efi_text_add(out, words);
        return;
    }
    efi_text_add(out, formula ? "\"'" : "\"");
    for (; *words; words++)
        efi_text_add_bytes(out, *words == '"' ? "\"\"" : words, *words == '"' ? 2 : 1);
    efi_text_add(out, "\"");
}

void efi_csv_add_number(efi_text *out, double value)
{
    if (isfinite(value))
        efi_number_add_significant(out, value, 12);
}

void efi_csv_next(efi_text *out)
{
    efi_text_add(out, ",");
}

void efi_csv_end(efi_text *out)
{
    efi_text_add(out, "\n");
}

void efi_csv_text_next(efi_text *out, const char *words)
{
    efi_csv_add_text(out, words);
    efi_csv_next(out);
}

void efi_csv_number_next(efi_text *out, double value)
{
    efi_csv_add_number(out, value);
    efi_csv_next(out);
}

void efi_csv_number_end(efi_text *out, double value)
{
    efi_csv_add_number(out, value);
    efi_csv_end(out);
}

/* ---- with the decimal comma -----------------------------------------------------------------------------
 */

/* Adds a quoted cell as it is; returns what is behind it. */
static const char *add_quoted(efi_text *out, const char *cell)
{
    const char *end = cell + 1;
    while (*end && (end[0] != '"' || end[1] == '"'))
        end += *end == '"' ? 2 : 1;
    end += *end == '"';
    efi_text_add_bytes(out, cell, (size_t)(end - cell));
    return end;
}

static const char *add_bare(efi_text *out, const char *cell)
{
    const size_t length = strcspn(cell, ",\n");
    if (has_decimals(cell, length)) {
        for (size_t i = 0; i < length; i++)
            efi_text_add_bytes(out, cell[i] == '.' ? "," : cell + i, 1);
    } else {
        efi_text_add_bytes(out, cell, length);
    }
    return cell + length;
}

ef_status ef_report_csv_with_comma(const char *csv, char **text)
{
    efi_text out = {0};
    while (*csv) {
        csv = *csv == '"' ? add_quoted(&out, csv) : add_bare(&out, csv);
        if (*csv)
            efi_text_add(&out, *csv++ == ',' ? ";" : "\n");
    }
    return efi_report_give(&out, text);
}
