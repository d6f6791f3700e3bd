/* SPDX-License-Identifier: GPL-3.0-or-later
 * Writing CSV (RFC 4180). */
#ifndef EFI_CSV_TEXT_H
#define EFI_CSV_TEXT_H

#include "base/text.h"

/* Tables are made with commas between cells and decimal points. Text that could be taken for such a number is
 * quoted, so that ef_report_csv_with_comma can tell all numbers from all text. */

/* Adds a cell of text: quoted where it must be or looks like a decimal number, an apostrophe before what a
 * spreadsheet would take for a formula. */
void efi_csv_add_text(efi_text *out, const char *words);

/* Adds a number with 12 significant digits; nothing when it is not finite. */
void efi_csv_add_number(efi_text *out, double value);

/* Between two cells, and after the last. */
void efi_csv_next(efi_text *out);
void efi_csv_end(efi_text *out);

/* A whole cell with what comes behind it: the next one, or the end of the row. */
void efi_csv_text_next(efi_text *out, const char *words);
void efi_csv_number_next(efi_text *out, double value);
void efi_csv_number_end(efi_text *out, double value);

#endif
