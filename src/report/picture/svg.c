/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/picture/svg.h"
#include "base/number.h"

#include <string.h>

#define LETTER_WIDTH 0.58 /* of the size: common sans-serif letters, from memory */

void efi_svg_words(efi_text *out, const char *words)
{
    for (const char *c = words; *c; c++) {
        switch (*c) {
        case '&':
            efi_text_add(out, "&amp;");
            break;
        case '<':
            efi_text_add(out, "&lt;");
            break;
        case '>':
            efi_text_add(out, "&gt;");
            break;
        case '"':
            efi_text_add(out, "&quot;");
            break;
        default:
            if ((unsigned char)*c >= 0x20)
                efi_text_add_bytes(out, c, 1);
        }
    }
}

void efi_svg_number(efi_text *out, double value)
{
    efi_text number = {0};
    efi_number_add_fixed(&number, value, 2);
    size_t length = number.length;
    while (length > 0 && number.bytes[length - 1] == '0')
        length--;
    if (length > 0 && number.bytes[length - 1] == '.')
        length--;
    if (number.failed)
        out->failed = true;
    else
        efi_text_add_bytes(out, number.bytes, length);
    efi_text_free(&number);
}

void efi_svg_attribute(efi_text *out, const char *name, double value)
{
    efi_text_addf(out, " %s=\"", name);
    efi_svg_number(out, value);
    efi_text_add(out, "\"");
}

void efi_svg_step(efi_text *out, char letter, const double *coordinates, int count)
{
    efi_text_add_bytes(out, &letter, 1);
    for (int i = 0; i < count; i++) {
        if (i > 0)
            efi_text_add(out, " ");
        efi_svg_number(out, coordinates[i]);
    }
}

void efi_svg_text(efi_text *out, double x, double y, const char *anchor, const char *classes,
                  const char *words)
{
    efi_text_addf(out, "<text class=\"%s\" text-anchor=\"%s\"", classes, anchor);
    efi_svg_attribute(out, "x", x);
    efi_svg_attribute(out, "y", y);
    efi_text_add(out, ">");
    efi_svg_words(out, words);
    efi_text_add(out, "</text>\n");
}

double efi_svg_width(const char *words, double size)
{
    return LETTER_WIDTH * size * efi_text_width(words);
}
