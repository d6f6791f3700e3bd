/* SPDX-License-Identifier: GPL-3.0-or-later
 * Reads catalogues in the form of GNU gettext's .mo files ("The Format of GNU MO Files" in its manual): a
 * header of numbers of four bytes, then tables of lengths and places of the originals, in order, and of their
 * translations. A context stands before its original, with an EOT between; forms of a plural are closed by
 * NULs. */
#include "base/tongue.h"

#include <stdint.h>
#include <string.h>

enum {
    COUNT_AT = 8,
    ORIGINALS_AT = 12,
    TRANSLATIONS_AT = 16,
    NUMBER = 4,
    ENTRY = 8 /* a length and a place */
};
#define CONTEXT_ENDS '\004'

static _Thread_local const efi_catalogue *spoken;

void efi_tongue_set(const efi_catalogue *catalogue)
{
    spoken = catalogue;
}

const char *ef_tongue_tag(int index)
{
    return index == 0 ? "en" : efi_catalogues[index - 1].tag;
}

const char *ef_tongue_name(int index)
{
    return index == 0 ? "English" : efi_catalogues[index - 1].name;
}

ef_status ef_tongue_use(const char *tag)
{
    for (int i = 0; ef_tongue_tag(i); i++) {
        if (strcmp(ef_tongue_tag(i), tag) != 0)
            continue;
        spoken = i == 0 ? NULL : &efi_catalogues[i - 1];
        return EF_OK;
    }
    return EF_USAGE;
}

const char *ef_tongue_used(void)
{
    return spoken ? spoken->tag : "en";
}

/* ---- looking up -----------------------------------------------------------------------------------------
 */

static uint32_t number_at(const efi_catalogue *c, size_t at)
{
    const unsigned char *b = c->bytes + at;
    return (uint32_t)b[0] | (uint32_t)b[1] << 8 | (uint32_t)b[2] << 16 | (uint32_t)b[3] << 24;
}

static const char *text_at(const efi_catalogue *c, size_t table_at, uint32_t index)
{
    return (const char *)c->bytes + number_at(c, number_at(c, table_at) + (size_t)index * ENTRY + NUMBER);
}

/* Compares context and original with a key of the table: strcmp of the two as one. */
static int compare(const char *context, const char *english, const char *key)
{
    if (context) {
        const size_t length = strlen(context);
        const int order = strncmp(context, key, length);
        if (order != 0)
            return order;
        if (key[length] != CONTEXT_ENDS)
            return (unsigned char)key[length] > CONTEXT_ENDS ? -1 : 1;
        key += length + 1;
    }
    return strcmp(english, key);
}

/* The translation with this number of a form; NULL when there is none. */
static const char *find(const char *context, const char *english, unsigned long form)
{
    uint32_t low = 0;
    uint32_t high = spoken ? number_at(spoken, COUNT_AT) : 0;
    while (low < high) {
        const uint32_t middle = low + (high - low) / 2;
        const int order = compare(context, english, text_at(spoken, ORIGINALS_AT, middle));
        if (order == 0) {
            const char *words = text_at(spoken, TRANSLATIONS_AT, middle);
            for (; form > 0; form--)
                words += strlen(words) + 1;
            return *words ? words : NULL;
        }
        if (order < 0)
            high = middle;
        else
            low = middle + 1;
    }
    return NULL;
}

const char *efi_tr(const char *english)
{
    const char *found = *english ? find(NULL, english, 0) : NULL;
    const char *behind = found ? NULL : strchr(english, CONTEXT_ENDS);
    return found ? found : behind ? behind + 1 : english;
}

const char *efi_tr_in(const char *context, const char *english)
{
    const char *found = find(context, english, 0);
    return found ? found : english;
}

const char *efi_tr_n(const char *one, const char *many, long long count)
{
    const unsigned long n = (unsigned long)(count < 0 ? -count : count);
    const char *found = spoken ? find(NULL, one, spoken->plural(n)) : NULL;
    return found ? found : count == 1 ? one : many;
}
