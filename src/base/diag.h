/* SPDX-License-Identifier: GPL-3.0-or-later
 * How the library adds a diagnostic; the table of their names is in base/diag_names.h. */
#ifndef EFI_DIAG_H
#define EFI_DIAG_H

#include "base/base.h"
#include "base/diag_names.h"
#include "base/memory.h"

#include <evenfeed/diag.h>
#include <stdbool.h>

typedef enum efi_diag_code {
#define EFI_DIAG_ENUM(code, name, severity, meaning) EFI_DIAG_##code,
    EFI_DIAG_LIST(EFI_DIAG_ENUM)
#undef EFI_DIAG_ENUM
    EFI_DIAG_COUNT
} efi_diag_code;

/* At most this many findings of a severity are kept; how many more there are is said after them. */
enum {
    EFI_DIAG_MOST = 200
};

/*
 * Adds a finding. `draft` gives all but severity and name, which come from the table of codes; its texts are
 * copied (NULL stays NULL). Never fails visibly: without memory the list remembers it, see efi_diags_failed.
 */
void efi_diags_add(ef_diags *diags, efi_diag_code code, const ef_diag *draft);

/* Would a finding of this severity only be counted, because there are so many? Then a draft is not worth its
 * texts. Once there are that many errors, warnings are only counted too. */
bool efi_diags_full(const ef_diags *diags, ef_severity severity);

/* A text with the lifetime of the list, for drafts; NULL without memory, "" when the list is full of errors.
 */
const char *efi_diags_textf(ef_diags *diags, const char *format, ...) EF_PRINTF(2, 3);

/* Is a finding of this code kept that begins at the same place? */
bool efi_diags_told(const ef_diags *diags, efi_diag_code code, const ef_place *place);

/* How many findings had this code, kept or not; how many errors there were. */
int efi_diags_count_code(const ef_diags *diags, efi_diag_code code);
int efi_diags_errors(const ef_diags *diags);

/* Was memory short while findings were added? */
bool efi_diags_failed(const ef_diags *diags);

/* Puts the findings in order of file, line, column, then order of creation, and adds how many were left out.
 */
void efi_diags_sort(ef_diags *diags);

#endif
