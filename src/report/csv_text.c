/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/csv_text.h"
#include "base/number.h"

#include <math.h>
#include <string.h>

void efi_csv_add_text(efi_text *out, const char *words)
{
    const size_t length = strlen(words);
    const bool formula = *words != '\0' && strchr("=+-@", *words) != NULL;
    const bool edges = length > 0 && (words[0] == ' ' || words[length - 1] == ' ');
    if (!formula && !edges && strpbrk(words, "\",;\t\r\n") == NULL) {
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
