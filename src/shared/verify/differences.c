/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/verify/differences.h"

#include <math.h>
#include <string.h>

void efi_differ(efi_differences *list, const char *format, ...)
{
    list->count++;
    if (list->count > EFI_MOST_DIFFERENCES)
        return;
    efi_text_add(&list->text, list->crop ? list->crop : "the balance");
    if (list->subject) {
        efi_text_add(&list->text, ", ");
        efi_text_add(&list->text, list->subject);
    }
    efi_text_add(&list->text, ": ");
    va_list arguments;
    va_start(arguments, format);
    efi_text_addfv(&list->text, format, arguments);
    va_end(arguments);
    efi_text_add(&list->text, "\n");
}

bool efi_differ_same(double claimed, double expected, double floor)
{
    if (!isfinite(claimed) || !isfinite(expected))
        return false;
    return fabs(claimed - expected) <= EFI_DIFFERENCE_SHARE * fmax(fabs(claimed), fabs(expected)) + floor;
}

void efi_differ_number(efi_differences *list, const char *what, const char *unit, double claimed,
                       double expected, double floor)
{
    if (!efi_differ_same(claimed, expected, floor))
        efi_differ(list, "%s is given as %.10g%s%s, recomputed %.10g%s%s", what, claimed, *unit ? " " : "",
                   unit, expected, *unit ? " " : "", unit);
}

void efi_differ_flag(efi_differences *list, const char *what, bool claimed, bool expected)
{
    if (claimed != expected)
        efi_differ(list, "\"%s\" is given as %s, recomputed %s", what, claimed ? "yes" : "no",
                   expected ? "yes" : "no");
}

void efi_differ_count(efi_differences *list, const char *what, int claimed, int expected)
{
    if (claimed != expected)
        efi_differ(list, "%s is given as %d, recomputed %d", what, claimed, expected);
}

void efi_differ_words(efi_differences *list, const char *what, const char *claimed, const char *expected)
{
    if (strcmp(claimed, expected) != 0)
        efi_differ(list, "%s is given as \"%s\", in the scenario it is \"%s\"", what, claimed, expected);
}

void efi_differ_place(efi_differences *list, const char *what, ef_place claimed, ef_place expected)
{
    const char *file = claimed.file ? claimed.file : "";
    const char *expected_file = expected.file ? expected.file : "";
    if (strcmp(file, expected_file) != 0 || claimed.line != expected.line ||
        claimed.column != expected.column || claimed.end_column != expected.end_column)
        efi_differ(list, "%s is given as %s:%d:%d-%d, it is %s:%d:%d-%d", what, file, claimed.line,
                   claimed.column, claimed.end_column, expected_file, expected.line, expected.column,
                   expected.end_column);
}

ef_status efi_differences_end(efi_differences *list, ef_status status, char **text)
{
    *text = NULL;
    if (list->count > EFI_MOST_DIFFERENCES)
        efi_text_addf(&list->text, "and %ld more differences\n", list->count - EFI_MOST_DIFFERENCES);
    if (list->text.failed)
        status = EF_MEMORY;
    if (status == EF_OK && list->count > 0) {
        *text = list->text.bytes;
        return EF_INTERNAL;
    }
    efi_text_free(&list->text);
    return status;
}
