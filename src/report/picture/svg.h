/* SPDX-License-Identifier: GPL-3.0-or-later
 * Writing SVG 1.1 (W3C Recommendation, 2011) as text. */
#ifndef EFI_SVG_H
#define EFI_SVG_H

#include "base/text.h"

/* Adds words with & < > " turned into entities; control characters are left out. */
void efi_svg_words(efi_text *out, const char *words);

/* Adds a length or coordinate with at most two decimals. */
void efi_svg_number(efi_text *out, double value);

/* Adds  name="value" with a blank before it. */
void efi_svg_attribute(efi_text *out, const char *name, double value);

/* Adds letters M, L, C ... and their coordinates: "C1 2 3 4 5 6". */
void efi_svg_step(efi_text *out, char letter, const double *coordinates, int count);

/* Adds  <text ...>words</text>  at a point. `classes` go into its class; `anchor` is start, middle or end. */
void efi_svg_text(efi_text *out, double x, double y, const char *anchor, const char *classes,
                  const char *words);

/* Width of words in pixels at a size: an estimate on the wide side, since the reader's letters are not known.
 */
double efi_svg_width(const char *words, double size);
double efi_svg_width_bold(const char *words, double size);

/* The same for so many bytes, plain; bold letters are EFI_SVG_BOLD times as wide. */
#define EFI_SVG_BOLD 1.12
double efi_svg_width_of(const char *words, size_t length, double size);

#endif
