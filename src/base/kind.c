/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/kind.h"

#include <string.h>

#define EXPONENTS(...)                                                                                       \
    {                                                                                                        \
        __VA_ARGS__                                                                                          \
    }

static const struct {
    const char *words;
    efi_dimension dimension;
    efi_bushel bushel;
    const char *units;
    const char *also;
} kinds_table[] = {
#define ROW(name, words, exponents, bushel, units, also)                                                     \
    [name] = {words, EXPONENTS exponents, EFI_BUSHEL_##bushel, units, also},
    EFI_KIND_LIST(ROW)
#undef ROW
};

_Static_assert(EFI_KIND_LIMIT <= 32, "efi_kinds has 32 bits");

const char *efi_kind_words(efi_kind kind)
{
    return kinds_table[kind].words;
}

efi_dimension efi_kind_dimension(efi_kind kind)
{
    return kinds_table[kind].dimension;
}

efi_bushel efi_kind_bushel(efi_kind kind)
{
    return kinds_table[kind].bushel;
}

const char *efi_kind_units(efi_kind kind)
{
    return kinds_table[kind].units;
}

void efi_kinds_add_words(efi_text *text, efi_kinds kinds)
{
    bool first = true;
    for (efi_kind kind = 0; kind < EFI_KIND_LIMIT; kind++) {
        if (!(kinds & EFI_KIND_SET(kind)))
            continue;
        efi_text_addf(text, "%s%s", first ? "" : " or ", kinds_table[kind].words);
        first = false;
    }
}

/* Does `list`, names between blanks, hold the name of `length` bytes? */
static bool list_holds(const char *list, const char *name, size_t length)
{
    while (*list) {
        const size_t count = strcspn(list, " ");
        if (count == length && memcmp(list, name, count) == 0)
            return true;
        list += count;
        list += strspn(list, " ");
    }
    return false;
}

/* Was the unit offered for a kind of the set that stands before `kind`? */
static bool offered_before(efi_kinds kinds, efi_kind kind, const char *name, size_t length)
{
    for (efi_kind before = 0; before < kind; before++)
        if ((kinds & EFI_KIND_SET(before)) && list_holds(kinds_table[before].units, name, length))
            return true;
    return false;
}

/* Was what else is read already said for a kind of the set that stands before `kind`? */
static bool also_before(efi_kinds kinds, efi_kind kind)
{
    for (efi_kind before = 0; before < kind; before++)
        if ((kinds & EFI_KIND_SET(before)) && kinds_table[before].also &&
            strcmp(kinds_table[before].also, kinds_table[kind].also) == 0)
            return true;
    return false;
}

void efi_kinds_add_units(efi_text *text, efi_kinds kinds)
{
    const char *separator = "";
    for (efi_kind kind = 0; kind < EFI_KIND_LIMIT; kind++) {
        if (!(kinds & EFI_KIND_SET(kind)))
            continue;
        for (const char *name = kinds_table[kind].units; *name; name += strspn(name, " ")) {
            const size_t length = strcspn(name, " ");
            if (!offered_before(kinds, kind, name, length)) {
                const bool weighed = kinds_table[kind].bushel == EFI_BUSHEL_BY_WEIGHT && strstr(name, "bu") &&
                                     strstr(name, "bu") < name + length;
                efi_text_addf(text, "%s%.*s%s", separator, (int)length, name,
                              weighed ? " with a trade weight" : "");
                separator = ", ";
            }
            name += length;
        }
        if (kinds_table[kind].also && !also_before(kinds, kind)) {
            efi_text_addf(text, "%s%s", separator, kinds_table[kind].also);
            separator = ", ";
        }
    }
}
