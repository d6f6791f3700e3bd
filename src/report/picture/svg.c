/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/picture/svg.h"
#include "base/number.h"

#include <string.h>

/* Advance widths of the printable ASCII characters in hundredths of the size, as measured of DejaVu Sans, one
 * of the widest of the common sans-serif faces: in others words take less. */
static const unsigned char advance[] = {
    32, 41, 46, 84, 64, 96, 78, 28, 40,  40, 50, 84, 32, 37, 32, 34, 64, 64, 64, 64, 64, 64, 64, 64,
    64, 64, 34, 34, 84, 84, 84, 54, 100, 69, 69, 70, 78, 64, 58, 78, 76, 30, 30, 66, 56, 87, 75, 79,
    61, 79, 70, 64, 62, 74, 69, 99, 69,  62, 69, 40, 34, 40, 84, 50, 50, 62, 64, 55, 64, 62, 36, 64,
    64, 28, 28, 58, 28, 98, 64, 62, 64,  64, 42, 53, 40, 64, 60, 82, 60, 60, 53, 64, 34, 64, 84};
#define OTHER_WIDTH 0.72 /* of the size, any other letter */
#define FIRST_WIDE  0xe3 /* first byte in UTF-8 of the scripts from U+3000 on, whose letters are square */

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

double efi_svg_width_of(const char *words, size_t length, double size)
{
    double width = 0.0;
    for (size_t i = 0; i < length; i++) {
        const unsigned char c = (unsigned char)words[i];
        if (c >= ' ' && c <= '~')
            width += 0.01 * advance[c - ' '];
        else if (c >= FIRST_WIDE)
            width += 1.0;
        else if (c >= 0xc0) /* first byte of a character */
            width += OTHER_WIDTH;
    }
    return size * width;
}

double efi_svg_width(const char *words, double size)
{
    return efi_svg_width_of(words, strlen(words), size);
}

double efi_svg_width_bold(const char *words, double size)
{
    return EFI_SVG_BOLD * efi_svg_width(words, size);
}
